//! The slip study: where one ink's edge abuts another's, with how much trap, and how far the inks may slip
//! against each other before a gap shows.
//!
//! At every edge point of the later ink the nearest edge of the earlier one is looked up in its distance
//! transform. Where the two face each other the earlier ink's depth under the point is the trap: with the
//! normal `n` out of the later ink, a slip `d` of the later ink opens a gap of `-d.n - trap`.
//!
//! **Invariant.** Which edges abut depends on the drawing alone, never on the gap and the share that a person
//! accepts. These only judge what was found, so that a laxer acceptance never gives a lower figure.

mod rose;
mod scan;
mod thin;
mod visible;
mod worst;

pub use rose::{DIRECTIONS, Rose};
pub use thin::{Thin, ThinKind};
pub use worst::Worst;

use std::convert::Infallible;

use slipsheet_base::cache::Bytes;
use slipsheet_core::geometry::Point;
use slipsheet_core::press::Press;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;

use super::cover::Covers;
use super::edges::Edges;
use super::{SlipError, slip_between_passes};

/// What a study asks. Lengths are mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StudyOptions {
    pub face: Face,
    pub dpi: Dpi,
    /// The narrowest gap that shows (common practice, no source).
    pub visible_gap: f64,
    /// The share of a pair's abutting length that may open, 0..=1.
    pub share: f64,
    /// The least colour difference (CIEDE2000) between a gap and both its neighbours that shows
    /// (common practice, no source).
    pub least_difference: f64,
    /// Pairs that abut over less than this do not count for the whole sheet.
    pub least_length: f64,
    /// The widest trap looked for.
    pub reach: f64,
    /// Strokes and openings narrower than this are in danger.
    pub thin: f64,
}

impl Default for StudyOptions {
    fn default() -> Self {
        Self {
            face: Face::Front,
            dpi: Dpi::default(),
            visible_gap: 0.15,
            share: 0.05,
            least_difference: 3.0,
            least_length: 5.0,
            reach: 2.0,
            thin: 0.8,
        }
    }
}

impl StudyOptions {
    /// Options for a press: thin is what the slip between two of its passes exceeds in one copy of twenty.
    pub fn of(press: &Press, face: Face) -> Self {
        Self { face, thin: slip_between_passes(press, 0.95).clamp(0.2, 3.0), ..Self::default() }
    }

    /// Whether a pair counts for the whole sheet.
    pub fn counts(&self, pair: &PairStudy) -> bool {
        pair.length >= self.least_length
    }
}

/// What a gap lets be seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Shows {
    Paper,
    /// Another ink, by the index of its layer.
    Ink(usize),
}

/// A stretch of edge where two inks abut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tight {
    /// Layer of the ink printed earlier.
    pub lower: usize,
    /// Layer of the ink printed later.
    pub upper: usize,
    /// Middle of the stretch on the sheet, in mm.
    pub at: Point,
    /// Unit normal, out of the later ink into the earlier one.
    pub normal: Point,
    /// Overlap in mm; negative for a gap as drawn.
    pub trap: f64,
    /// Length in mm.
    pub length: f64,
    pub shows: Shows,
    /// CIEDE2000 between the gap and the neighbour that it is more like.
    pub difference: f64,
}

impl Tight {
    /// Width in mm of the gap (an overlap when negative) after the later ink slips against the earlier one.
    pub fn gap(&self, slip: Point) -> f64 {
        -(slip.x * self.normal.x + slip.y * self.normal.y) - self.trap
    }
}

/// What was found about two inks.
#[derive(Debug, Clone, PartialEq)]
pub struct PairStudy {
    /// Layer of the ink printed earlier.
    pub lower: usize,
    /// Layer of the ink printed later.
    pub upper: usize,
    /// Length in mm over which they abut and a gap would show.
    pub length: f64,
    /// Tolerance by direction of the later ink's slip against the earlier one.
    pub rose: Rose,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    pub options: StudyOptions,
    pub sheet: Size,
    /// Every stretch where inks abut and a gap would show, by pair and place.
    pub tight: Vec<Tight>,
    /// The pairs that abut, in printing order.
    pub pairs: Vec<PairStudy>,
    /// Tolerance by direction, whichever ink slips.
    pub rose: Rose,
    /// Strokes and openings that are too thin.
    pub thin: Vec<Thin>,
}

impl Bytes for Study {
    fn bytes(&self) -> usize {
        self.tight.bytes() + self.pairs.bytes() + self.thin.bytes()
    }
}

impl Study {
    /// Studies a face of a project.
    pub fn of(printing: &Printing, images: &Images, options: &StudyOptions) -> Result<Self, SlipError> {
        Self::of_until(printing, images, options, &|| false)
    }

    /// The same, unless `stop` says so, which is asked before each pair of inks.
    ///
    /// # Errors
    /// See [`SlipError`]; [`SlipError::Cancelled`] when it was stopped.
    pub fn of_until(
        printing: &Printing,
        images: &Images,
        options: &StudyOptions,
        stop: &dyn Fn() -> bool,
    ) -> Result<Self, SlipError> {
        let covers = Covers::of(printing, images, options.face, options.dpi)?;
        let go_on = || if stop() { Err(SlipError::Cancelled) } else { Ok(()) };
        Self::gathered(&covers, options, go_on)
    }

    pub(crate) fn of_covers(covers: &Covers, options: &StudyOptions) -> Self {
        let Ok(study) = Self::gathered(covers, options, || Ok::<(), Infallible>(()));
        study
    }

    /// What a study of coverages says of two inks alone, by the indices of their layers.
    pub(crate) fn of_pair(
        covers: &Covers,
        options: &StudyOptions,
        lower: usize,
        upper: usize,
    ) -> Option<PairStudy> {
        let ink = |layer: usize| covers.inks.iter().position(|i| i.layer == layer);
        let (lower, upper) = (ink(lower)?, ink(upper)?);
        let (lower_edges, upper_edges) = (&Edges::of(covers, lower)?, &Edges::of(covers, upper)?);
        let pair = scan::Pair { covers, options, lower, upper, lower_edges, upper_edges };
        pair_study(&pair.scan().tight, options)
    }

    /// The study, pair by pair for as long as `go_on` has nothing against it.
    fn gathered<E>(
        covers: &Covers,
        options: &StudyOptions,
        go_on: impl Fn() -> Result<(), E>,
    ) -> Result<Self, E> {
        let edges: Vec<Option<Edges>> = (0..covers.inks.len()).map(|k| Edges::of(covers, k)).collect();
        let (mut tight, mut thin, mut pairs) = (Vec::new(), Vec::new(), Vec::new());
        for (upper, upper_edges) in edges.iter().enumerate() {
            for (lower, lower_edges) in edges.iter().take(upper).enumerate() {
                let (Some(upper_edges), Some(lower_edges)) = (upper_edges, lower_edges) else { continue };
                go_on()?;
                let pair = scan::Pair { covers, options, lower, upper, lower_edges, upper_edges };
                let found = pair.scan();
                if let Some(study) = pair_study(&found.tight, options) {
                    pairs.push(study);
                }
                tight.extend(found.tight);
                thin.extend(found.thin);
            }
        }
        thin.sort_by(|a: &Thin, b| a.size.total_cmp(&b.size).then(b.length.total_cmp(&a.length)));
        let counted = pairs.iter().filter(|p| options.counts(p)).map(|p| &p.rose);
        let rose = Rose::whole(counted);
        Ok(Self { options: *options, sheet: covers.sheet, tight, pairs, rose, thin })
    }

    /// The least slip in mm that shows, and its direction in degrees clockwise from the right; `None` when
    /// no slip that was looked for shows.
    pub fn tolerance(&self) -> Option<(f64, f64)> {
        self.rose.least()
    }

    /// The pairs that count for the whole sheet.
    pub fn counted(&self) -> impl Iterator<Item = &PairStudy> {
        self.pairs.iter().filter(|p| self.options.counts(p))
    }

    /// The largest share of any counted pair's abutting length that opens visibly, and the widest gap in mm,
    /// when every layer's points move as `moved` says (layer, place on the sheet in mm, to shift in mm).
    pub fn opened(&self, moved: impl Fn(usize, Point) -> Point) -> Opened {
        let mut worst = Opened::default();
        for pair in self.counted() {
            let stretches = self.tight.iter().filter(|t| (t.lower, t.upper) == (pair.lower, pair.upper));
            let mut open = 0.0;
            for t in stretches {
                let (upper, lower) = (moved(t.upper, t.at), moved(t.lower, t.at));
                let gap = t.gap(Point::new(upper.x - lower.x, upper.y - lower.y));
                worst.gap = worst.gap.max(gap);
                if gap > self.options.visible_gap {
                    open += t.length;
                }
            }
            // Sums in another order may come out a hair above the whole.
            worst.share = worst.share.max((open / pair.length.max(1e-9)).min(1.0));
        }
        worst
    }

    /// Whether no gap shows on a copy that opened so far.
    pub fn holds(&self, opened: &Opened) -> bool {
        opened.share <= self.options.share
    }
}

/// How far a copy opens.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Opened {
    /// The largest share of a pair's abutting length with a visible gap, 0..=1.
    pub share: f64,
    /// The widest gap in mm; 0 when none opens.
    pub gap: f64,
}

fn pair_study(tight: &[Tight], options: &StudyOptions) -> Option<PairStudy> {
    let first = tight.first()?;
    let length = tight.iter().map(|t| t.length).sum();
    let rose = Rose::of(tight, options);
    Some(PairStudy { lower: first.lower, upper: first.upper, length, rose })
}

#[cfg(test)]
mod tests;
