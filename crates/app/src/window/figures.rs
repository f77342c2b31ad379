//! What the tabs of the four views say: for each the figure that matters there and a caption under it. They are
//! always true: what is not known of the project as it is now says so, and nothing is worked out here but sums.

use std::sync::Arc;

use slipsheet_core::words::{count, percent};
use slipsheet_document::layer::Layer;
use slipsheet_document::printing::Printing;
use slipsheet_editor::{FacePrint, KnownInk, KnownRegister, Session};
use slipsheet_registration::slip::JobSold;

use super::booking::cost_of_copy;
use super::context::Context;
use super::{Desk, MainView};

/// Said where something is still being worked out.
const UNKNOWN: &str = "…";
/// Said where there is nothing to work out.
const NOTHING: &str = "–";

/// What a tab says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct TabWords {
    /// The figure.
    pub figure: String,
    /// What stands under it, after the view's name.
    pub caption: String,
}

fn words(figure: impl Into<String>, caption: impl Into<String>) -> TabWords {
    TabWords { figure: figure.into(), caption: caption.into() }
}

/// What is known of the project as it is now, looked at once for each change of it.
#[derive(Default)]
pub(crate) struct Known {
    /// The revision, and the study that was there when it was looked at.
    of: Option<(u64, Option<Arc<KnownRegister>>)>,
    /// The study, where it is of this revision.
    study: Option<Arc<KnownRegister>>,
    /// What a copy costs, once the ink of it is known; none where no copies are planned.
    cost: Option<Option<f64>>,
}

impl Known {
    /// The ink of the project as it is now.
    pub fn ink(&self) -> Option<&KnownInk> {
        self.study.as_ref().and_then(|s| s.ink())
    }
}

impl Desk {
    /// Looks at what is known, where anything changed.
    pub(super) fn look_at_figures(&mut self, session: &Session) {
        let revision = session.revision();
        let register = self.register.clone();
        let same = self.known.of.as_ref().is_some_and(|(r, known)| {
            *r == revision && known.as_ref().map(Arc::as_ptr) == register.as_ref().map(Arc::as_ptr)
        });
        if !same {
            let snapshot = self.snapshot(session);
            let study = register.clone().filter(|r| r.studies(&snapshot));
            let cost = |ink: &KnownInk| cost_of_copy(session.printing(), &ink.uses);
            self.known.cost = study.as_ref().and_then(|s| s.ink()).map(cost);
            (self.known.of, self.known.study) = (Some((revision, register)), study);
        }
        self.run.judge(&session.project().acceptance);
    }
}

impl Context<'_> {
    /// What the tab of a view says.
    pub(super) fn tab_words(&self, view: MainView) -> TabWords {
        match view {
            MainView::Sheet => self.sheet_words(),
            MainView::Dummy => dummy_words(self.session.printing()),
            MainView::Run => self.run_words(),
            MainView::Booking => self.booking_words(),
        }
    }

    /// The print of a layer as it was looked at last.
    pub(super) fn last_print(&self, layer: usize) -> Option<&FacePrint> {
        self.desk.prints.get(layer)?.as_deref()
    }

    /// The print of a layer as it is now; none while it is looked at, or while scans are still to come.
    pub(super) fn print_of(&self, layer: usize) -> Option<&FacePrint> {
        let fresh = self.desk.prints_revision == self.session.revision() || self.desk.known.study.is_some();
        let there = self.session.loading() == 0 && self.session.missing().is_empty();
        self.last_print(layer).filter(|_| fresh && there)
    }

    /// Findings that nobody has accepted; none while they are looked for.
    pub(super) fn open_findings(&self) -> Option<usize> {
        let fresh = self.desk.figures_revision == self.session.revision();
        fresh.then(|| self.desk.findings.iter().filter(|f| f.is_open()).count())
    }

    /// Why there are no figures of the print, where that is so.
    fn lacking(&self) -> Option<String> {
        let printing = self.session.printing();
        if printing.sheet.layers.iter().all(|l| l.art.is_empty()) {
            return Some("no scans yet".to_owned());
        }
        match (self.session.loading(), self.session.missing().len()) {
            (0, 0) => None,
            (0, lost) => Some(format!("{} missing", count(lost, "scan"))),
            (_, _) => Some("loading scans".to_owned()),
        }
    }

    fn sheet_words(&self) -> TabWords {
        let inks = match inks(&self.session.printing().sheet.layers) {
            0 => "No inks".to_owned(),
            n => count(n, "ink"),
        };
        if let Some(lacking) = self.lacking() {
            return words(inks, lacking);
        }
        match self.desk.known.ink().map(|ink| ink.covered) {
            Some(Some(share)) => words(inks, format!("{} covered", percent(share))),
            Some(None) => words(inks, "nothing is printed"),
            None => words(inks, UNKNOWN),
        }
    }

    fn run_words(&self) -> TabWords {
        if let Some(lacking) = self.lacking() {
            let figure = if self.session.loading() > 0 { UNKNOWN } else { NOTHING };
            return words(figure, lacking);
        }
        match self.sold() {
            Some(job) => words(format!("{}/100", job.sold.of_hundred()), "would sell"),
            None if self.desk.known.study.is_some() => words(NOTHING, "nothing to compare"),
            None => words(UNKNOWN, "would sell"),
        }
    }

    /// How many copies of the job would sell; none while that is worked out, and while scans are missing.
    pub(super) fn sold(&self) -> Option<JobSold> {
        self.desk.known.study.as_ref()?.sold(&self.session.project().acceptance)
    }

    fn booking_words(&self) -> TabWords {
        let job = &self.session.printing().job;
        if let Some(lacking) = self.lacking() {
            let figure = if self.session.loading() > 0 { UNKNOWN } else { NOTHING };
            return words(figure, lacking);
        }
        let findings = match self.open_findings() {
            None => UNKNOWN.to_owned(),
            Some(0) => "no findings".to_owned(),
            Some(n) => count(n, "finding"),
        };
        if job.prices.says_nothing() {
            return words(super::sentence(&findings), "no prices yet");
        }
        match self.desk.known.cost {
            // The bill names the currency.
            Some(Some(each)) => words(format!("{:.2} a copy", each.max(0.0)), findings),
            _ if job.copies == 0 => words(super::sentence(&findings), "no copies yet"),
            _ => words(UNKNOWN, findings),
        }
    }
}

/// How many inks are printed; an ink on two layers is one.
fn inks(layers: &[Layer]) -> usize {
    let mut names: Vec<&str> = layers.iter().filter(|l| l.visible).map(|l| l.ink.name.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    names.len()
}

/// Pages, and how the sheet comes to have them.
fn dummy_words(printing: &Printing) -> TabWords {
    let folded = |name: &str| {
        let name = name.split(',').next().unwrap_or(name);
        let mut letters = name.chars();
        // A name that begins with a letter's shape keeps it: Z fold.
        match (letters.next(), letters.clone().next()) {
            (Some(first), Some(second)) if second.is_lowercase() => {
                first.to_lowercase().chain(letters).collect()
            }
            _ => name.to_owned(),
        }
    };
    match (&printing.sheet.booklet, &printing.sheet.fold, printing.sheet.pages()) {
        (Some(_), _, pages) => words(
            count(pages, "page"),
            format!("booklet of {}", count(printing.sheet.printed_sheets(), "sheet")),
        ),
        _ if printing.is_wrap() => words("Wrap", "around the finished piece"),
        (None, Some(fold), pages) if pages > 0 => words(count(pages, "page"), folded(&fold.name)),
        (None, _, _) => words("Flat", "not folded"),
    }
}

#[cfg(test)]
mod tests {
    use slipsheet_core::units::SheetFormat;
    use slipsheet_document::shelf::Shelf;
    use slipsheet_paper::fold;

    use super::*;

    #[test]
    fn the_dummy_tab_names_pages_and_fold() {
        let stock = Shelf::starter().unwrap().stocks[0].clone();
        let mut printing = Printing::new("Walk", SheetFormat::Letter, stock);
        assert_eq!(dummy_words(&printing), words("Flat", "not folded"));
        printing.sheet.fold = fold::find("slit8");
        assert_eq!(dummy_words(&printing), words("8 pages", "slit eight-page sheet"));
        printing.sheet.fold = fold::find("z6");
        assert_eq!(dummy_words(&printing), words("6 pages", "Z fold"));
    }
}
