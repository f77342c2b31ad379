//! A calibration is asked about, read, shown and taken over; only the last of these changes anything.

use std::sync::Arc;

use slipsheet_core::units::SheetFormat;
use slipsheet_core::words::count;
use slipsheet_document::edit::{Edit, ProjectEdit};
use slipsheet_document::layer::Layer;
use slipsheet_document::sheet::Sheet;
use slipsheet_document::shelf::Shelf;

use super::Applied;
use crate::calibration::{Calibrated, CalibrationOrder};
use crate::job::Job;
use crate::notice::Notice;
use crate::refused::RequestError;
use crate::request::Effect;
use crate::session::Session;

impl Session {
    /// Formats of the calibration sheets that a scan may turn out to be: the project's own first.
    pub(super) fn sheet_formats(&self) -> Vec<SheetFormat> {
        let usual = [SheetFormat::Letter, SheetFormat::A4, SheetFormat::Tabloid, SheetFormat::A3];
        let own = self.sheet().format;
        let mut all = vec![own];
        all.extend(usual.into_iter().filter(|f| *f != own));
        all
    }

    pub(super) fn calibrate(&self, order: Box<CalibrationOrder>) -> Applied {
        if order.inks.iter().enumerate().any(|(i, a)| order.inks[..i].iter().any(|b| b.name == a.name)) {
            return Err(RequestError::InkTwice);
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
        let ink = |layer: &Layer| {
            let fit = result.inks.iter().find(|i| i.name == layer.ink.name)?;
            Some((layer.id, result.ink(fit, Some(&layer.ink), &note)))
        };
        let inks: Vec<_> = self.project.sheets().flat_map(|s| &s.layers).filter_map(ink).collect();
        let stock =
            |s: &Sheet| (s.stock.name == order.stock.name).then(|| (s.id, result.stock(&s.stock, &note)));
        let stocks = self.project.sheets().filter_map(stock).collect();
        let layers = inks.len();
        self.edit_as("Use a calibration", [Edit::Project(ProjectEdit::Measured(inks, stocks))])?;
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
