//! The Booking view: what the job costs, how long it takes and how much of it would sell, what should be looked at, and
//! everything as it will be handed over. The terms and prices stand on the right in place of the inspector.

pub(super) mod choices;
mod costs;
pub(super) mod enlarged;
mod found;
mod handover;
mod terms;
mod timeline;

use std::sync::Arc;

use egui::{RichText, Ui};
use slipsheet_booking::cost::{Cost, break_even, budget, cost, curve};
use slipsheet_booking::verdict::Whole;
use slipsheet_core::words::count;
use slipsheet_document::accepted::Place;
use slipsheet_editor::{Session, WholeInk};

pub(super) use handover::Pages;
pub(super) use terms::terms_ui;
pub(super) use timeline::length;

use super::context::{Component, Context, Wanted};
use super::fold::section;
use super::run::band_words;
use super::{MainView, UiCommand, theme};

/// What the view remembers.
#[derive(Default)]
pub(crate) struct BookingView {
    reckoned: Option<Reckoned>,
    /// The finding that is being accepted: kind, place, and the note so far.
    accepting: Option<(&'static str, Place, String)>,
    open: Open,
}

/// Which of its sections are open.
#[derive(Debug, Clone, Copy, Default)]
struct Open {
    bill: bool,
    editions: bool,
    schedule: bool,
}

/// One of the figures that a job comes to.
struct Figure {
    figure: String,
    caption: &'static str,
    /// What it means here.
    note: String,
}

impl Figure {
    fn new(figure: &str, caption: &'static str, note: &str) -> Self {
        Self { figure: figure.to_owned(), caption, note: note.to_owned() }
    }

    fn ui(&self, ui: &mut Ui) {
        let p = theme::of(ui);
        ui.spacing_mut().item_spacing.y = 2.0;
        ui.add(egui::Label::new(RichText::new(&self.figure).font(theme::large())).truncate());
        ui.label(RichText::new(self.caption).font(theme::strong_body()));
        ui.add(egui::Label::new(RichText::new(&self.note).small().color(p.faint)).wrap());
    }
}

/// Whether the copies that are planned are enough, by the share that would sell.
fn sold_words(copies: u32, overs: u32, share: f64) -> String {
    let sold = (f64::from(copies.saturating_add(overs)) * share).floor() as u32;
    match copies {
        0 => String::new(),
        _ if sold >= copies => format!("about {sold} of the {} printed", copies.saturating_add(overs)),
        _ => format!("about {sold} of the {} printed: too few for {copies}", copies.saturating_add(overs)),
    }
}

/// The figures of one revision.
struct Reckoned {
    revision: u64,
    /// The share of copies that would sell, where it was known.
    share: Option<f64>,
    /// The inks, where their coverage was known.
    inks: Option<Arc<WholeInk>>,
    /// The bill of the present inks and stock.
    cost: Cost,
    budget: Cost,
    curve: Vec<(u32, f64)>,
    break_even: Option<u32>,
    /// All that is printed, edition by edition.
    whole: Whole,
}

impl Reckoned {
    fn new(session: &Session, known: Option<&Arc<WholeInk>>, share: Option<f64>) -> Self {
        let (printing, project) = (&**session.printing(), session.project());
        let job = &printing.job;
        // Coverage is known from the picture; what lies on it follows from the terms.
        let inks = known.map(|known| known.uses(printing)).unwrap_or_default();
        let most = job.copies.saturating_mul(2).clamp(100, 20_000);
        let runs: Vec<u32> = (1..=48).map(|i| (most * i).div_ceil(48).max(1)).collect();
        Self {
            revision: session.revision(),
            share,
            inks: known.cloned(),
            cost: cost(printing, &inks, job.copies),
            budget: budget(printing, &inks, job.wanted(), share),
            curve: curve(printing, &inks, &runs),
            break_even: break_even(printing, &inks),
            whole: known
                .map_or_else(|| Whole::of(project, &mut |_| Vec::new()), |known| known.whole(project)),
        }
    }
}

impl Component for BookingView {
    fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        self.reckon(cx);
        let p = theme::of(ui);
        let frame = egui::Frame::new().fill(p.panel).inner_margin(egui::Margin::same(16));
        frame.show(ui, |ui| {
            ui.set_min_size(ui.available_size());
            egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
                ui.set_max_width(ui.available_width() - theme::SCROLL_ROOM);
                self.figures_ui(ui, cx);
                ui.add_space(theme::GROUP_GAP);
                ui.separator();
                ui.add_space(theme::GAP);
                self.found_ui(ui, cx, out);
                ui.add_space(theme::GROUP_GAP);
                ui.separator();
                ui.add_space(theme::GAP);
                cx.desk.pages.ui(ui, out);
                self.ledger_ui(ui, cx);
            });
        });
    }

    fn order(&mut self, _ctx: &egui::Context, cx: &Context<'_>) -> Option<Wanted> {
        (cx.showing.view == MainView::Booking).then(|| Wanted::Pages(cx.session.settings().pack.form))
    }
}

impl BookingView {
    /// What the job comes to: cost, time, and how many would sell.
    fn figures_ui(&self, ui: &mut Ui, cx: &Context<'_>) {
        let Some(reckoned) = &self.reckoned else { return };
        let (printing, verdict) = (cx.session.printing(), &reckoned.whole.verdict);
        let prices = &printing.job.prices;
        let overs = reckoned.whole.series.editions.iter().map(|e| e.overs).sum::<u32>();
        let copies = verdict.copies;
        let editions = match verdict.editions {
            0 | 1 => String::new(),
            n => format!(" in {}", count(n, "edition")),
        };
        let planned = match (copies, overs) {
            (0, _) => "No copies planned: enter them on the right".to_owned(),
            (n, 0) => format!("{}{editions}", count(n, "copy")),
            (n, o) => format!("{} and {}{editions}", count(n, "copy"), count(o, "over")),
        };
        let cost = match verdict.per_copy {
            _ if verdict.prices_are_zero => {
                let note = format!("{planned}; enter your shop's prices on the right");
                Figure::new("–", "no prices yet", &note)
            }
            Some(each) => {
                let all = format!("{} in all, {planned}", prices.amount(verdict.total));
                Figure::new(&prices.amount(each), "a copy", &all)
            }
            None => Figure::new("–", "a copy", &planned),
        };
        let slot = verdict.slot_minutes;
        let hand = match verdict.hand_minutes {
            none if none <= 0.0 => String::new(),
            minutes => format!("then {} by hand", length(minutes)),
        };
        let time = if copies == 0 {
            Figure::new("–", "at the machine", &planned)
        } else {
            let booked = match printing.job.slot.get() {
                none if none <= 0.0 => hand,
                minutes if slot > minutes + 1e-9 => format!("only {} are booked", length(minutes)),
                minutes => format!("{} are booked", length(minutes)),
            };
            Figure::new(&length(slot), "at the machine, with drying", &booked)
        };
        let sold = match (cx.sold(), cx.lacks()) {
            (Some(job), _) => {
                let sold = job.sold;
                let mut enough = sold_words(copies, overs, sold.share());
                if let Some(band) = job.band {
                    enough = format!("{enough}; {}", band_words(band)).trim_start_matches("; ").to_owned();
                }
                Figure::new(&format!("{}/100", sold.of_hundred()), "would sell", &enough)
            }
            (None, Some(_)) => Figure::new("–", "would sell", "once every scan is there"),
            (None, None) => match cx.no_share() {
                Some(why) => Figure::new("–", "would sell", why),
                None => Figure::new("…", "would sell", "Simulating copies…"),
            },
        };
        ui.columns(3, |columns| {
            for (column, figure) in columns.iter_mut().zip([cost, time, sold]) {
                // A column would spread the words of a line over its width.
                column.with_layout(egui::Layout::top_down(egui::Align::Min), |ui| figure.ui(ui));
            }
        });
    }

    /// The bill, what a copy costs by the length of the run, and the schedule; folded away.
    fn ledger_ui(&mut self, ui: &mut Ui, cx: &Context<'_>) {
        let Some(reckoned) = &self.reckoned else { return };
        let printing = cx.session.printing();
        let total = printing.job.prices.amount(reckoned.whole.verdict.total);
        section(ui, &mut self.open.bill, "Cost, line by line", &total, |ui| {
            if ui.available_width() > 660.0 {
                ui.spacing_mut().item_spacing.x = 28.0;
                ui.columns(2, |columns| {
                    if let [left, right] = columns {
                        for column in [&mut *left, &mut *right] {
                            column.spacing_mut().item_spacing.x = theme::GAP;
                        }
                        costs::table_ui(left, printing, &reckoned.cost, reckoned.inks.is_some());
                        costs::run_ui(right, printing, reckoned);
                    }
                });
                ui.spacing_mut().item_spacing.x = theme::GAP;
            } else {
                costs::table_ui(ui, printing, &reckoned.cost, reckoned.inks.is_some());
                ui.add_space(theme::GROUP_GAP);
                costs::run_ui(ui, printing, reckoned);
            }
        });
        let series = &reckoned.whole.series;
        if series.is_several() {
            let all = count(series.editions.len(), "edition");
            section(ui, &mut self.open.editions, "Editions", &all, |ui| {
                costs::editions_ui(ui, printing, series);
            });
        }
        let says = length(reckoned.whole.verdict.slot_minutes);
        section(ui, &mut self.open.schedule, "Schedule", &says, |ui| {
            timeline::ui(ui, &series.schedule, series.sheets, printing.job.slot.get());
            if reckoned.whole.wrap.is_some() {
                let wrap = length(reckoned.whole.verdict.slot_minutes - series.schedule.slot_minutes);
                ui.label(format!("Then the wrap is printed, {wrap}."));
            }
        });
    }

    fn reckon(&mut self, cx: &Context<'_>) {
        let revision = cx.session.revision();
        let inks = cx.desk.known.inks();
        let share = cx.sold().map(|job| job.sold.share());
        let fresh = |r: &Reckoned| {
            let same_inks = inks.is_none_or(|inks| r.inks.as_ref().is_some_and(|r| Arc::ptr_eq(r, inks)));
            r.revision == revision && r.share == share && same_inks
        };
        if !self.reckoned.as_ref().is_some_and(fresh) {
            self.reckoned = Some(Reckoned::new(cx.session, inks, share));
        }
    }
}
