//! What of the project is shown, and how: none of it belongs to the project.

use slipsheet_core::geometry::Point;
use slipsheet_document::layer::Slip;
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
    /// Two layers that are held against each other on the sheet.
    pub compare: Option<Compare>,
    /// Whether page numbers lie over the dummy.
    pub numbers: bool,
}

/// How two layers are held against each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum How {
    /// One after the other.
    Blink,
    /// Where they differ.
    Difference,
}

/// What is being compared with the selected layer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Compare {
    pub how: How,
    /// The position of the other layer, when the person chose one.
    pub against: Option<usize>,
}

/// A place of the sheet that is to be looked at.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Spot {
    /// The face; the one that is shown without it.
    pub face: Option<Face>,
    /// The sheet of a booklet, from 0; the one that is shown without it.
    pub sheet: Option<usize>,
    /// The point of the face, mm, and the points per mm; the whole sheet without it.
    pub at: Option<(Point, f32)>,
    /// Whether tight edges are marked as well.
    pub heat: bool,
    /// The position of a layer that slips there for a moment, and how far.
    pub slip: Option<(usize, Slip)>,
}

impl Showing {
    /// What belonged to the sheet that was open before is put away; the wrap's has its own view.
    pub fn of_another_sheet(&mut self, is_wrap: bool) {
        (self.compare, self.alone, self.face) = (None, false, Face::Front);
        if is_wrap {
            self.view = MainView::Sheet;
        }
    }

    /// Whether two layers are compared this way just now.
    pub fn compares(&self, how: How) -> bool {
        self.view == MainView::Sheet && self.compare.is_some_and(|c| c.how == how)
    }
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
            compare: None,
            numbers: false,
        }
    }
}
