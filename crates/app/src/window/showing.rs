//! What of the project is shown, and how: none of it belongs to the project.

use slipsheet_paper::fold::Face;

/// Which view is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum MainView {
    Sheet,
    Dummy,
    Run,
    Booking,
}

/// What is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Showing {
    pub view: MainView,
    pub face: Face,
    /// The sheet of a booklet that is shown, from 0.
    pub booklet_sheet: usize,
    /// Whether the selected layer is shown alone.
    pub alone: bool,
    /// Whether the key that shows the perfect print is held.
    pub perfect: bool,
    pub fold_guides: bool,
    pub page_marks: bool,
    pub rulers: bool,
    /// Whether the other face shows through.
    pub show_through: bool,
    /// Whether lost tones of the selected layer are hatched.
    pub lost_tones: bool,
    /// Whether tight edges are marked on the sheet.
    pub heat: bool,
}

impl Default for Showing {
    fn default() -> Self {
        Self {
            view: MainView::Sheet,
            face: Face::Front,
            booklet_sheet: 0,
            alone: false,
            perfect: false,
            fold_guides: true,
            page_marks: true,
            rulers: true,
            show_through: false,
            lost_tones: false,
            heat: false,
        }
    }
}
