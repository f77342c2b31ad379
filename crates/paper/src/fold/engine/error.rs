//! Why a scheme cannot be folded, or not into the pages it states.

use crate::fold::scheme::{Face, Turn};

/// What went wrong while folding; columns, rows and steps count from 1 in the sentences.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum FoldError {
    #[error("step {step} creases along a slit; crease only the paper beside it")]
    OnSlit { step: usize },
    #[error("step {step} ends inside the paper; let its crease run through, or slit the sheet there")]
    NotThrough { step: usize },
    #[error("step {step} folds a crease that is folded already; leave it out")]
    Twice { step: usize },
    #[error("step {step} has a crease that is not straight once the sheet is folded so far; fold it earlier")]
    Bent { step: usize },
    #[error(
        "in step {step} the panel in {} already reaches past the crease; make it narrower or fold it later", at(*cell)
    )]
    Past { step: usize, cell: (usize, usize) },
    #[error(
        "step {step} would push the panel in {} through the one in {}; fold in another order or the other way",
        at(*cell), at(*by)
    )]
    Blocked { step: usize, cell: (usize, usize), by: (usize, usize) },
    #[error(
        "page 1 ends inside the stack; it must lie outside, so number the pages anew or fold the other way"
    )]
    CoverInside,
    #[error("the last crease is the spine and must lie along the left edge of page 1")]
    Spine,
    #[error("the panels of a section must all lie on one another; make rows and columns equal")]
    Ragged,
    #[error("{} ends as page {got}, not as page {stated}", panel(*face, *cell))]
    Page { face: Face, cell: (usize, usize), stated: u32, got: u32 },
    #[error("{}, page {stated}, is never seen in this reading order", panel(*face, *cell))]
    Unread { face: Face, cell: (usize, usize), stated: u32 },
    #[error("page {page} must be turned by {}° on the sheet to stand upright when folded, not by {}°", wanted.degrees(), stated.degrees())]
    Turned { page: u32, wanted: Turn, stated: Turn },
    #[error(
        "a slit booklet needs an even number of columns (4 or more) in two rows, printed on one face and slit apart between its outermost columns"
    )]
    NoRing,
    #[error("the crease between pages {} and {} of the slit booklet must be a {}", pages.0, pages.1, if *valley { "valley" } else { "mountain" })]
    RingCrease {
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
