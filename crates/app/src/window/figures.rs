//! What the tabs of the four views say: for each the figure that matters there and a caption under it. They are
//! always true: what is not known of the project as it is now says so, and nothing is worked out here but sums.

use std::sync::Arc;

use slipsheet_core::words::{count, percent};
use slipsheet_document::layer::Layer;
use slipsheet_document::printing::Printing;
use slipsheet_editor::{FacePrint, KnownInk, KnownRegister, Session, WholeInk};
use slipsheet_registration::slip::JobSold;

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
    of: Option<LookedAt>,
    /// The study, where it is of this revision.
    study: Option<Arc<KnownRegister>>,
    /// The ink of all that is printed, where it is of this revision.
    inks: Option<Arc<WholeInk>>,
    /// What a copy costs, once the ink of it is known; none where no copies are planned.
    cost: Option<Option<f64>>,
}

/// The revision, and the study and the ink that were there when it was looked at.
struct LookedAt {
    revision: u64,
    study: Option<Arc<KnownRegister>>,
    inks: Option<Arc<WholeInk>>,
}

impl Known {
    /// The ink of the sheet in hand as it is now.
    pub fn ink(&self) -> Option<&KnownInk> {
        self.study.as_ref().and_then(|s| s.ink())
    }

    /// The ink of all that is printed of the project as it is now.
    pub fn inks(&self) -> Option<&Arc<WholeInk>> {
        self.inks.as_ref()
    }
}

impl Desk {
    /// Looks at what is known, where anything changed.
    pub(super) fn look_at_figures(&mut self, session: &Session) {
        let revision = session.revision();
        let (register, inks) = (self.register.clone(), self.inks.clone());
        let same = self.known.of.as_ref().is_some_and(|of| {
            of.revision == revision
                && of.study.as_ref().map(Arc::as_ptr) == register.as_ref().map(Arc::as_ptr)
                && of.inks.as_ref().map(Arc::as_ptr) == inks.as_ref().map(Arc::as_ptr)
        });
        if !same {
            let snapshot = self.snapshot(session);
            let study = register.clone().filter(|r| r.studies(&snapshot));
            self.known.inks = inks.clone().filter(|ink| ink.is_of(&snapshot));
            let cost = |ink: &Arc<WholeInk>| ink.whole(session.project()).verdict.per_copy;
            self.known.cost = self.known.inks.as_ref().map(cost);
            self.known.of = Some(LookedAt { revision, study: register, inks });
            self.known.study = study;
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
            None => self.no_share().map_or_else(|| words(UNKNOWN, "would sell"), |why| words(NOTHING, why)),
        }
    }

    /// How many copies of the job would sell; none while that is worked out, and while scans are missing.
    pub(super) fn sold(&self) -> Option<JobSold> {
        let study = self.desk.known.study.as_ref().filter(|_| self.is_printed())?;
        study.sold(&self.session.project().acceptance)
    }

    /// Why no share of copies is told, where that will not come.
    pub(super) fn no_share(&self) -> Option<&'static str> {
        let failed = || self.desk.known.study.as_ref().is_some_and(|study| study.has_failed());
        if !self.is_printed() {
            Some("nothing is printed")
        } else if failed() {
            Some("nothing to compare")
        } else {
            None
        }
    }

    /// Whether any ink of the sheet is printed.
    fn is_printed(&self) -> bool {
        self.session.printing().sheet.layers.iter().any(|l| l.visible && !l.art.is_empty())
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
