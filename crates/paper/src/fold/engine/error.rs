//! Why a scheme cannot be folded, or not into the pages it states.

use crate::fold::scheme::{Face, Turn};

/// What went wrong while folding; columns, rows and steps count from 1 in the sentences.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum FoldError {
    /// The crease runs along a cut.
    #[error("step {step} creases along a slit; crease only the paper beside it")]
    OnSlit {
        /// The step, from 1.
        step: usize,
    },
    /// The paper holds together past the crease's ends.
    #[error("step {step} ends inside the paper; let its crease run through, or slit the sheet there")]
    NotThrough {
        /// The step, from 1.
        step: usize,
    },
    /// An edge is folded already.
    #[error("step {step} folds a crease that is folded already; leave it out")]
    Twice {
        /// The step, from 1.
        step: usize,
    },
    /// The crease does not lie on one line.
    #[error("step {step} has a crease that is not straight once the sheet is folded so far; fold it earlier")]
    Bent {
        /// The step, from 1.
        step: usize,
    },
    /// Paper lies across the crease.
    #[error(
        "in step {step} the panel in {} already reaches past the crease; make it narrower or fold it later", at(*cell)
    )]
    Past {
        /// The step, from 1.
        step: usize,
        /// The panel, column and row from 0.
        cell: (usize, usize),
    },
    /// Paper would go through paper.
    #[error(
        "step {step} would push the panel in {} through the one in {}; fold in another order or the other way",
        at(*cell), at(*by)
    )]
    Blocked {
        /// The step, from 1.
        step: usize,
        /// The panel that moves.
        cell: (usize, usize),
        /// The panel in its way.
        by: (usize, usize),
    },
    /// Page 1 is not outside.
    #[error(
        "page 1 ends inside the stack; it must lie outside, so number the pages anew or fold the other way"
    )]
    CoverInside,
    /// The spine is on the wrong side.
    #[error("the last crease is the spine and must lie along the left edge of page 1")]
    Spine,
    /// Panels of a section do not lie on one another.
    #[error("the panels of a section must all lie on one another; make rows and columns equal")]
    Ragged,
    /// A panel ends as another page.
    #[error("{} ends as page {got}, not as page {stated}", panel(*face, *cell))]
    Page {
        /// Its face.
        face: Face,
        /// Column and row as that face is seen, from 0.
        cell: (usize, usize),
        /// What the scheme says.
        stated: u32,
        /// Where folding puts it.
        got: u32,
    },
    /// A panel ends as no page.
    #[error("{}, page {stated}, is never seen in this reading order", panel(*face, *cell))]
    Unread {
        /// Its face.
        face: Face,
        /// Column and row as that face is seen, from 0.
        cell: (usize, usize),
        /// What the scheme says.
        stated: u32,
    },
    /// A page stands wrongly.
    #[error("page {page} must be turned by {}° on the sheet to stand upright when folded, not by {}°", wanted.degrees(), stated.degrees())]
    Turned {
        /// The page.
        page: u32,
        /// The turn that folding asks for.
        wanted: Turn,
        /// What the scheme says.
        stated: Turn,
    },
    /// A ring has the wrong shape.
    #[error(
        "a slit booklet needs an even number of columns (4 or more) in two rows, printed on one face and slit apart between its outermost columns"
    )]
    NoRing,
    /// A crease of a ring is missing or bends the wrong way.
    #[error("the crease between pages {} and {} of the slit booklet must be a {}", pages.0, pages.1, if *valley { "valley" } else { "mountain" })]
    RingCrease {
        /// The pages on both sides.
        pages: (u32, u32),
        /// Whether the fronts must come together there.
        valley: bool,
    },
}

fn at((column, row): (usize, usize)) -> String {
    format!("column {}, row {}", column + 1, row + 1)
}

fn panel(face: Face, cell: (usize, usize)) -> String {
    format!("the {}’s panel in {}", face.name().to_lowercase(), at(cell))
}
