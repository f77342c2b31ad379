//! Fold schemes: which page lies where on the sheet and which way up, and how
//! the sheet moves when it is folded.
//!
//! A scheme is data (RON in `assets/folds/`). The sheet is a grid of panels.
//! Each face has its own frame as seen by someone looking at that face, origin
//! at the top left; the back is what one sees after turning the sheet over
//! about its vertical axis.

mod scheme;

pub use scheme::{Binding, Crease, Face, Fold, GridLine, PagePlace, Panel, Scheme, SchemeError, Side, Slit, Turn};

/// The schemes that come with the program, in the order that lists show.
///
/// # Errors
/// When a shipped scheme does not parse or is not consistent; a test holds them to it.
pub fn shipped() -> Result<Vec<Scheme>, SchemeError> {
    const SOURCES: [&str; 7] = [
        include_str!("../../../assets/folds/slit8.ron"),
        include_str!("../../../assets/folds/single4.ron"),
        include_str!("../../../assets/folds/letter6.ron"),
        include_str!("../../../assets/folds/z6.ron"),
        include_str!("../../../assets/folds/z8.ron"),
        include_str!("../../../assets/folds/gate8.ron"),
        include_str!("../../../assets/folds/quarter8.ron"),
    ];
    SOURCES.into_iter().map(Scheme::from_ron).collect()
}

/// The shipped scheme with this id.
pub fn find(id: &str) -> Option<Scheme> {
    shipped().ok()?.into_iter().find(|s| s.id == id)
}
