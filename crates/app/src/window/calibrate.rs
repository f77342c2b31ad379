//! Calibration in the window: what is asked before a sheet or a table is read, and what it says, shown
//! before anything is taken over.

mod ask;
mod plot;
mod result;

use std::collections::VecDeque;
use std::sync::Arc;

use egui::Modal;
use slipsheet_core::calibrate::Recognised;
use slipsheet_core::ink::Ink;
use slipsheet_editor::{CALIBRATING, Calibrated, CalibrationOffer};

use super::{SlipsheetApp, UiCommand, theme};

/// What is open of a calibration.
#[derive(Default)]
pub(crate) struct CalibrationState {
    /// What is asked, one after the other.
    asked: VecDeque<ask::Form>,
    /// What was read.
    shown: Option<result::Shown>,
}

impl CalibrationState {
    /// Whether something of it lies over the window.
    pub fn is_open(&self) -> bool {
        self.shown.is_some() || !self.asked.is_empty()
    }

    /// Shows what was read; why it could not be is said where it was asked.
    pub fn show(&mut self, outcome: Result<Arc<Calibrated>, String>) {
        // Whoever has left the question meanwhile wants no answer.
        let Some(form) = self.asked.front_mut() else { return };
        match outcome {
            Ok(calibrated) => {
                self.asked.pop_front();
                self.shown = Some(result::Shown::of(calibrated));
            }
            Err(why) => form.trouble = Some(super::sentence(&why)),
        }
    }
}

/// What becomes of a question or an answer after a frame.
enum Next {
    Stay,
    Close,
}

impl SlipsheetApp {
    /// Takes up a question about a calibration.
    pub(super) fn ask_calibration(&mut self, offer: CalibrationOffer) {
        let printing = self.session.printing();
        let inks = match &offer {
            CalibrationOffer::Scan { dropped: Some((Recognised { inks, .. }, ..)), .. } => Some(*inks),
            CalibrationOffer::Scan { dropped: None, .. } | CalibrationOffer::Table { .. } => None,
        };
        let form = ask::Form::new(offer, &ask::inks(printing, self.session.shelf()), (printing, inks));
        self.state.calibration.asked.push_back(form);
    }

    pub(super) fn calibration_ui(&mut self, ctx: &egui::Context, out: &mut Vec<UiCommand>) {
        let frame = theme::dialog_frame(ctx);
        if let Some(mut shown) = self.state.calibration.shown.take() {
            let mut next = Next::Stay;
            let response = Modal::new(egui::Id::unique("calibration result")).frame(frame).show(ctx, |ui| {
                next = result::shown_ui(ui, &mut shown, &self.session.printing().sheet.stock.name, out);
            });
            if matches!(next, Next::Stay) && !response.should_close() {
                self.state.calibration.shown = Some(shown);
            }
            return;
        }
        let Some(mut form) = self.state.calibration.asked.pop_front() else { return };
        let reading = self.tasks.running().iter().any(|j| j.label == CALIBRATING);
        let known: Vec<Ink> = ask::inks(self.session.printing(), self.session.shelf());
        let mut next = Next::Stay;
        let response = Modal::new(egui::Id::unique("calibration question")).frame(frame).show(ctx, |ui| {
            ui.set_width(520.0);
            next = ask::form_ui(ui, &mut form, (&self.session, &known, reading), out);
        });
        if matches!(next, Next::Stay) && !response.should_close() {
            self.state.calibration.asked.push_front(form);
        }
    }
}
