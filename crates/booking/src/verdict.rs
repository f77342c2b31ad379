//! A booking in a few figures, from one place: what it costs, how long it takes, and how many copies come of it.

use serde::{Deserialize, Serialize};

use crate::cost::{Cost, Series, cost, series};
use crate::ink_use::InkUse;
use crate::schedule::{Schedule, printed_sides, too_short};
use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;

/// The whole job, all editions together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Verdict {
    /// Copies that are to be sold or given.
    pub copies: u32,
    /// Sheets printed for them, with overs.
    pub sheets: u32,
    /// How many editions they are; 1 without any.
    pub editions: usize,
    pub total: f64,
    /// `None` without copies.
    pub per_copy: Option<f64>,
    /// Minutes from the first set-up to the end of printing, drying between passes included.
    pub slot_minutes: f64,
    /// Minutes of work by hand.
    pub hand_minutes: f64,
    /// Nothing has a price yet: the total says nothing.
    pub prices_are_zero: bool,
    /// One sentence when the booked slot is too short.
    pub warning: Option<String>,
}

/// All that is printed of a project: the piece in every edition, and the wrap around it.
#[derive(Debug, Clone, PartialEq)]
pub struct Whole {
    pub series: Series,
    /// The printing of the wrap, where it has ink; the sheets of a blank one are in the series.
    pub wrap: Option<Cost>,
    pub verdict: Verdict,
}

impl Whole {
    /// `inks` says how much ink an edition of the piece, or the wrap, takes.
    pub fn of(project: &Project, inks: &mut dyn FnMut(&Printing) -> Vec<InkUse>) -> Self {
        let all = project.main_printing();
        let series = series(&all, inks);
        let piece = Verdict::of(&all, &series);
        let Some(wrap) = project.wrap_printing().filter(|wrap| !printed_sides(wrap).is_empty()) else {
            return Self { series, wrap: None, verdict: piece };
        };
        let inks = inks(&wrap);
        let printed = cost(&wrap, &inks, series.copies);
        Self { series, verdict: piece.with_wrap(&wrap, &printed), wrap: Some(printed) }
    }
}

impl Verdict {
    fn of(printing: &Printing, series: &Series) -> Self {
        Self {
            copies: series.copies,
            sheets: series.sheets,
            editions: series.editions.len(),
            total: series.total,
            per_copy: series.per_copy,
            slot_minutes: series.schedule.slot_minutes,
            hand_minutes: series.schedule.hand_minutes,
            prices_are_zero: printing.job.prices.says_nothing(),
            warning: series.schedule.warning.clone(),
        }
    }

    /// With the printing of the wrap that all copies are put into, after that of the piece.
    fn with_wrap(self, wrap: &Printing, printed: &Cost) -> Self {
        let schedule = Schedule::of(wrap, wrap.run_for(self.copies), self.copies);
        let total = self.total + printed.total;
        let slot_minutes = self.slot_minutes + schedule.slot_minutes;
        Self {
            sheets: self.sheets.saturating_add(printed.sheets),
            total,
            per_copy: (self.copies > 0).then(|| total / f64::from(self.copies)),
            slot_minutes,
            warning: too_short(slot_minutes, wrap.job.slot.get()),
            ..self
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::ink::Ink;
    use slipsheet_core::units::SheetFormat;
    use slipsheet_document::ids::LayerId;
    use slipsheet_document::layer::Layer;
    use slipsheet_document::project::{Project, WrapSheet};
    use slipsheet_document::sheet::Sheet;
    use slipsheet_document::shelf::Shelf;
    use slipsheet_document::terms::{Hand, JobTerms, Minutes, Money, PriceList};
    use slipsheet_document::wrap::{Wrap, WrapKind};

    fn layer(id: LayerId, ink: &Ink) -> Layer {
        Layer::new(id, &ink.name, ink.clone())
    }

    /// A small leaflet of one ink with a sleeve cut from A3.
    fn sleeved() -> Project {
        let shelf = Shelf::starter().unwrap();
        let mut p = Project::new("p", SheetFormat::A5, shelf.stocks[0].clone());
        p.main.fold = slipsheet_paper::fold::find("slit8");
        let id = p.ids.layer();
        p.main.layers.push(layer(id, &shelf.inks[0]));
        let wrap = Wrap { kind: WrapKind::Sleeve, ..Wrap::default() };
        let sheet = Sheet::new(p.ids.sheet(), SheetFormat::A3, shelf.stocks[1].clone());
        p.wrap = Some(Box::new(WrapSheet { wrap, sheet }));
        let prices =
            PriceList { wrap_sheet: Money::new(0.5), master: Money::new(3.0), ..PriceList::default() };
        let hand = Hand { fold: Minutes::new(0.5), ..Hand::default() };
        p.job = JobTerms { copies: 101, overs: 10, prices, hand, slot: Minutes::new(12.0), ..p.job };
        p
    }

    #[test]
    fn a_printed_sleeve_adds_its_printing_and_a_blank_one_only_its_sheets() {
        let mut p = sleeved();
        let verdict = |p: &Project| {
            let whole = Whole::of(p, &mut |_| Vec::new());
            (Verdict::of(&p.main_printing(), &whole.series), whole.verdict)
        };
        let nets = p.main_printing().outer_wrap().unwrap().count() as u32;
        assert!(nets > 1);
        let blank = 101_u32.div_ceil(nets);
        let (piece, whole) = verdict(&p);
        assert_eq!(piece, whole);
        // A master of the piece, and the sheets of the sleeve.
        assert!((piece.total - (3.0 + 0.5 * f64::from(blank))).abs() < 1e-9, "{piece:?}");
        // 5 + 4 + 1.5 minutes before 111 sheets, 90 a minute; by hand half a minute a copy.
        assert!((piece.slot_minutes - (10.5 + 111.0 / 90.0)).abs() < 1e-9);
        assert!((piece.hand_minutes - 50.5).abs() < 1e-9 && piece.warning.is_none() && piece.copies == 101);

        let shelf = Shelf::starter().unwrap();
        let id = p.ids.layer();
        p.wrap.as_mut().unwrap().sheet.layers.push(layer(id, &shelf.inks[1]));
        // Printed, it needs overs in proportion: more sheets, and a master of its own.
        let run = blank + (10 * blank).div_ceil(101);
        let (piece, whole) = verdict(&p);
        assert!((piece.total - (3.0 + 0.5 * f64::from(run))).abs() < 1e-9, "{piece:?}");
        assert!((whole.total - piece.total - 3.0).abs() < 1e-9);
        assert!((whole.slot_minutes - piece.slot_minutes - (10.5 + f64::from(run) / 90.0)).abs() < 1e-9);
        assert_eq!((whole.sheets, whole.hand_minutes), (111 + run, piece.hand_minutes));
        assert!(whole.warning.is_some());
    }
}
