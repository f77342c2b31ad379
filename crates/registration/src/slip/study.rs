//! The slip study: where one ink's edge abuts another's, with how much trap, and how far the inks may slip
//! against each other before a gap shows.
//!
//! At every edge point of the later ink the nearest edge of the earlier one is looked up in its distance
//! transform. Where the two face each other the earlier ink's depth under the point is the trap: with the
//! normal `n` out of the later ink, a slip `d` of the later ink opens a gap of `-d.n - trap`.
//!
//! **Invariant.** Which edges abut depends on the drawing alone, never on what a person accepts. An [`Acceptance`]
//! only judges what was found ([`Study::tolerance`], [`Opening`]), so that a laxer one never gives a lower figure.

mod opening;
mod rose;
mod scan;
mod thin;
mod visible;
mod worst;

pub use opening::Opening;
pub use rose::{DIRECTIONS, Rose, Tolerance};
pub use thin::{Thin, ThinKind};
pub use worst::Worst;

use std::convert::Infallible;
use std::ops::Range;
use std::sync::Arc;

use slipsheet_base::cache::Bytes;
use slipsheet_core::geometry::Point;
use slipsheet_core::press::Press;
use slipsheet_core::units::{Dpi, Size};
use slipsheet_document::acceptance::Acceptance;
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
    /// Which of the study's stretches are theirs.
    pub stretches: Range<usize>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    pub options: StudyOptions,
    pub sheet: Size,
    /// Every stretch where inks abut and a gap would show, by pair and place.
    pub tight: Vec<Tight>,
    /// The pairs that abut, in printing order.
    pub pairs: Vec<PairStudy>,
    /// Strokes and openings that are too thin.
    pub thin: Vec<Thin>,
}

impl Bytes for Study {
    fn bytes(&self) -> usize {
        self.tight.bytes() + self.pairs.bytes() + self.thin.bytes()
    }
}

/// The edges of every ink.
pub(crate) fn edges_of(covers: &Covers) -> Vec<Option<Arc<Edges>>> {
    (0..covers.inks.len()).map(|ink| Edges::of(covers, ink).map(Arc::new)).collect()
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
        Self::gathered((&covers, &edges_of(&covers)), options, go_on)
    }

    pub(crate) fn of_covers(covers: &Covers, options: &StudyOptions) -> Self {
        Self::of_edges((covers, &edges_of(covers)), options)
    }

    /// Of coverages whose edges are known, ink by ink.
    pub(crate) fn of_edges(of: (&Covers, &[Option<Arc<Edges>>]), options: &StudyOptions) -> Self {
        let Ok(study) = Self::gathered(of, options, || Ok::<(), Infallible>(()));
        study
    }

    pub(crate) fn without_edges(options: &StudyOptions, sheet: Size) -> Self {
        Self { options: *options, sheet, tight: Vec::new(), pairs: Vec::new(), thin: Vec::new() }
    }

    /// One of its pairs alone.
    pub(crate) fn alone(&self, pair: &PairStudy) -> Self {
        let tight = self.stretches(pair).to_vec();
        let pair = PairStudy { stretches: 0..tight.len(), ..pair.clone() };
        Self { tight, pairs: vec![pair], ..Self::without_edges(&self.options, self.sheet) }
    }

    fn add(&mut self, found: scan::Found) {
        if let Some(first) = found.tight.first() {
            let (lower, upper, from) = (first.lower, first.upper, self.tight.len());
            let length = found.tight.iter().map(|t| t.length).sum();
            let stretches = from..from + found.tight.len();
            self.pairs.push(PairStudy { lower, upper, length, stretches });
        }
        self.tight.extend(found.tight);
        self.thin.extend(found.thin);
    }

    /// The study, pair by pair for as long as `go_on` has nothing against it.
    fn gathered<E>(
        (covers, edges): (&Covers, &[Option<Arc<Edges>>]),
        options: &StudyOptions,
        go_on: impl Fn() -> Result<(), E>,
    ) -> Result<Self, E> {
        let mut study = Self::without_edges(options, covers.sheet);
        for (upper, upper_edges) in edges.iter().enumerate() {
            for (lower, lower_edges) in edges.iter().take(upper).enumerate() {
                let (Some(upper_edges), Some(lower_edges)) = (upper_edges, lower_edges) else { continue };
                go_on()?;
                let pair = scan::Pair { covers, options, lower, upper, lower_edges, upper_edges };
                study.add(pair.scan());
            }
        }
        study.thin.sort_by(|a, b| a.size.total_cmp(&b.size).then(b.length.total_cmp(&a.length)));
        Ok(study)
    }

    /// How far the inks may slip before a copy would not sell.
    pub fn tolerance(&self, acceptance: &Acceptance) -> Tolerance {
        let of_pair = |pair: &PairStudy| Rose::of(self.stretches(pair), acceptance);
        let pairs: Vec<Rose> = self.pairs.iter().map(of_pair).collect();
        let counted = self.pairs.iter().zip(&pairs).filter(|(p, _)| self.options.counts(p));
        Tolerance { rose: Rose::whole(counted.map(|(_, rose)| rose)), pairs }
    }

    /// The stretches of a pair.
    pub fn stretches(&self, pair: &PairStudy) -> &[Tight] {
        self.tight.get(pair.stretches.clone()).unwrap_or(&[])
    }

    /// The pairs that count for the whole sheet.
    pub fn counted(&self) -> impl Iterator<Item = &PairStudy> {
        self.pairs.iter().filter(|p| self.options.counts(p))
    }
}

#[cfg(test)]
mod closed_forms;
#[cfg(test)]
mod tests;
