//! A calibration is asked about, read, shown and taken over; only the last of these changes anything.

use std::sync::Arc;

use slipsheet_core::units::SheetFormat;
use slipsheet_document::shelf::Shelf;

use super::Applied;
use crate::calibration::{Calibrated, CalibrationOrder};
use crate::command::{CommandError, Effect};
use crate::job::Job;
use crate::notice::Notice;
use crate::session::Session;

impl Session {
    /// Formats of the calibration sheets that a scan may turn out to be: the project's own first.
    pub(super) fn sheet_formats(&self) -> Vec<SheetFormat> {
        let usual = [SheetFormat::Letter, SheetFormat::A4, SheetFormat::Tabloid, SheetFormat::A3];
        let mut all = vec![self.project.sheet];
        all.extend(usual.into_iter().filter(|f| *f != self.project.sheet));
        all
    }

    pub(super) fn calibrate(&self, order: Box<CalibrationOrder>) -> Applied {
        if order.inks.iter().enumerate().any(|(i, a)| order.inks[..i].iter().any(|b| b.name == a.name)) {
            return Err(CommandError::BadName(
                "an ink is named twice: choose another for one of them".to_owned(),
            ));
        }
        Ok(vec![Effect::Start(Job::Calibrate(order))])
    }

    /// Measured solids, curves, overprints and the stock's floor, trapping and n go onto the shelf, and into
    /// the project's layers with these inks and its stock: one step of history.
    pub(super) fn take_calibration(&mut self, calibrated: &Calibrated) -> Applied {
        let (result, order) = (&calibrated.result, &calibrated.order);
        let note = result.note(Some(&order.stock.name));
        let known = Shelf { inks: order.inks.clone(), ..Shelf::default() };
        self.shelf.merge(Shelf::from_calibration(result, &known, Some(&order.stock), &note));
        let before = self.project.clone();
        let mut layers = 0;
        let others = self.project.wrap.iter_mut().flat_map(|w| &mut w.other.layers);
        for layer in self.project.layers.iter_mut().chain(others) {
            if let Some(fit) = result.inks.iter().find(|i| i.name == layer.ink.name) {
                layer.ink = result.ink(fit, Some(&layer.ink), &note);
                layers += 1;
            }
        }
        if self.project.stock.name == order.stock.name {
            self.project.stock = result.stock(&self.project.stock, &note);
        }
        if let Some(other) = self.project.wrap.as_mut().map(|w| &mut w.other)
            && other.stock.name == order.stock.name
        {
            other.stock = result.stock(&other.stock, &note);
        }
        self.project.take_overprints(&self.shelf, true);
        if self.project != before {
            self.history.note("Use a calibration", &before);
            self.revision += 1;
        }
        let count = |n: usize, one: &str| if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") };
        self.tell(Notice::note(format!(
            "Saved {} and {} on {}. {} of this project changed.",
            count(result.inks.len(), "measured ink"),
            count(result.overprints.len(), "overprint"),
            order.stock.name,
            count(layers, "layer")
        )));
        Ok(vec![Effect::SaveShelf])
    }

    pub(super) fn calibrated(&self, outcome: &Result<Arc<Calibrated>, String>) -> Applied {
        Ok(vec![Effect::ShowCalibration(outcome.clone())])
    }
}
