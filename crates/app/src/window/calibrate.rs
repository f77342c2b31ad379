//! Calibration in the window: what is asked before a sheet or a table is read, and what it says, shown before it is
//! used.

mod ask;
mod plot;
mod result;

use slipsheet_editor::CalibrationOffer;

pub(super) use ask::Form;
pub(super) use result::Shown;

use super::SlipsheetApp;
use super::overlays::OpenOverlay;

impl SlipsheetApp {
    /// Asks what has to be known of a calibration.
    pub(super) fn ask_calibration(&mut self, offer: CalibrationOffer) {
        let form = Form::new(offer, &self.session);
        self.overlays.arrive(OpenOverlay::CalibrationForm(Box::new(form)));
    }
}
