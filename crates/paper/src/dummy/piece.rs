//! What the dummy shows: one folded sheet, or a booklet of several. Its time runs from the flat paper over every step
//! of making to the last page.

use super::bound::Bound;
use super::mesh::Folded;
use super::pages::{marks_of, page_of, places};
use super::timeline::{self, Step};
use super::{DummyView, PageMark};
use crate::booklet;
use crate::construction::Construction;
use crate::fold::{Binding, Panel, Scheme};
use slipsheet_base::units::Size;

/// A folded thing.
#[derive(Debug, Clone, PartialEq)]
pub enum Piece {
    Sheet {
        scheme: Box<Scheme>,
        /// The sheet in mm.
        size: Size,
        /// Its thickness in mm.
        thickness: f64,
        /// Whether it stays flat.
        flat: bool,
    },
    Booklet(Box<Bound>),
}

impl Piece {
    pub fn of(made: &Construction<'_>) -> Self {
        if let Some(bound) = Bound::of(made) {
            return Self::Booklet(Box::new(bound));
        }
        let (size, thickness) = (made.sheet, made.caliper);
        let scheme = made.fold.cloned();
        let flat = scheme.is_none();
        Self::Sheet { scheme: Box::new(scheme.unwrap_or_else(|| flat_scheme(size))), size, thickness, flat }
    }

    /// A name that changes when its time does.
    pub fn key(&self) -> String {
        match self {
            Self::Sheet { scheme, .. } => scheme.id.clone(),
            Self::Booklet(b) => format!("booklet {:?} {}", b.booklet().bound, b.steps().len()),
        }
    }

    /// Whether there is nothing to fold.
    pub fn is_flat(&self) -> bool {
        matches!(self, Self::Sheet { flat: true, .. })
    }

    /// The steps of its time; see [`timeline::steps`].
    pub fn steps(&self) -> Vec<Step> {
        match self {
            Self::Sheet { scheme, .. } => timeline::steps(scheme),
            Self::Booklet(b) => b.steps(),
        }
    }

    /// How far it is folded (0..=1) and how often it is opened at a time.
    pub fn moment(&self, time: f64) -> (f64, f64) {
        match self {
            Self::Sheet { scheme, .. } => timeline::moment(scheme, time),
            Self::Booklet(b) => {
                let folds = b.folds() as f64;
                let time = if time.is_nan() { 0.0 } else { time.clamp(0.0, folds + b.openings() as f64) };
                if time < folds { (time / folds, 0.0) } else { (1.0, time - folds) }
            }
        }
    }

    /// The time at which it is folded and opened so often.
    pub fn time_of_opening(&self, open: f64) -> f64 {
        match self {
            Self::Sheet { scheme, .. } => timeline::time_of_opening(scheme, open),
            Self::Booklet(b) => b.folds() as f64 + open.clamp(0.0, b.openings() as f64),
        }
    }

    /// Pages that come to light, blanks included.
    pub fn pages(&self) -> u32 {
        match self {
            Self::Sheet { scheme, .. } => scheme.pages(),
            Self::Booklet(b) => b.booklet().total(),
        }
    }

    pub fn sheets(&self) -> usize {
        match self {
            Self::Sheet { .. } => 1,
            Self::Booklet(b) => b.booklet().sheets(),
        }
    }

    /// Number of creases of a leaflet, which opens crease by crease; `None` where leaves turn.
    pub fn leaflet(&self) -> Option<usize> {
        match self {
            Self::Sheet { scheme, .. } if scheme.binding == Binding::Leaflet => Some(scheme.creases.len()),
            Self::Sheet { .. } | Self::Booklet(_) => None,
        }
    }

    pub fn summary(&self) -> String {
        match self {
            Self::Sheet { scheme, .. } => scheme.summary.clone(),
            Self::Booklet(b) => {
                let sheets = match b.booklet().sheets() {
                    1 => "one sheet".to_owned(),
                    n => format!("{n} sheets"),
                };
                match b.booklet().bound {
                    booklet::Bound::Saddle => {
                        format!(
                            "Lay {sheets} on one another, fold them in the middle and stitch through the fold."
                        )
                    }
                    booklet::Bound::Perfect => format!(
                        "Lay {sheets} on one another, cut them apart in the middle, put the left halves on the right ones and glue the spine."
                    ),
                }
            }
        }
    }

    /// What to mind when it is made by hand.
    pub fn caution(&self) -> Option<&'static str> {
        const BLADES: &str =
            "Blades: cut away from your fingers, on a mat, with a steel rule; the shop's rules come first.";
        match self {
            Self::Sheet { scheme, .. } => (!scheme.slits.is_empty()).then_some(BLADES),
            Self::Booklet(b) if b.booklet().bound == booklet::Bound::Saddle => Some(
                "Staplers and needles pierce, blades cut: the machine's manual and the shop's staff come first.",
            ),
            Self::Booklet(_) => Some(BLADES),
        }
    }

    /// The paper at one moment.
    pub fn folded(&self, fold: f64, open: f64) -> Folded {
        match self {
            Self::Sheet { scheme, size, thickness, flat: _ } => {
                Folded::new(scheme, *size, fold, open, *thickness)
            }
            Self::Booklet(b) => b.folded(fold, open),
        }
    }

    /// Every page whose middle can be seen in a picture of a moment, in reading order.
    pub fn page_marks(&self, folded: &Folded, (fold, open): (f64, f64), view: &DummyView) -> Vec<PageMark> {
        match self {
            Self::Sheet { scheme, size, .. } => marks_of(folded, &places(scheme, *size), view),
            Self::Booklet(b) => marks_of(folded, &b.places(fold, open), view),
        }
    }

    /// Whether paper lies under a point of the picture, in pixels.
    pub fn is_under(&self, folded: &Folded, view: &DummyView, point: (f64, f64)) -> bool {
        match self {
            Self::Sheet { scheme, size, .. } => {
                page_of(folded, &places(scheme, *size), view, point).is_some()
            }
            Self::Booklet(_) => super::raster::hit(folded, view, point),
        }
    }
}

/// A sheet without folds, so that the dummy of an unfolded project is the sheet itself.
pub fn flat_scheme(sheet: Size) -> Scheme {
    Scheme {
        id: "flat".to_owned(),
        name: "Flat sheet".to_owned(),
        summary: String::new(),
        landscape: sheet.width.get() > sheet.height.get(),
        columns: vec![1.0],
        rows: vec![1.0],
        front: vec![Panel { page: 1, turn: Default::default() }],
        back: vec![],
        creases: vec![],
        slits: vec![],
        binding: Binding::Leaflet,
        order: None,
        shorter: vec![],
    }
}
