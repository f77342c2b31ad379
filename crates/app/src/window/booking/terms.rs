//! The form of terms and prices, in place of the inspector.

use egui::{ComboBox, Grid, RichText, TextEdit, Ui};
use slipsheet_core::units::{Mm, Size};
use slipsheet_document::edit::{Edit, ProjectEdit};
use slipsheet_document::printing::{Printing, WrapPart};
use slipsheet_document::terms::{Grain, ImpressionsBy, JobTerms, LayDown, Minutes, Money, Parent, PriceList};
use slipsheet_editor::{Request, ShelfChange};

use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::{UiCommand, theme};

/// What a step of history is called.
const LABEL: &str = "Change the job";

pub(in crate::window) fn terms_ui(ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
    egui::ScrollArea::vertical().id_salt("terms").auto_shrink([false, false]).show(ui, |ui| {
        // The scroll bar floats; keep fields clear of it.
        ui.set_max_width(ui.available_width() - theme::SCROLL_ROOM);
        let mut job = cx.session.printing().job.clone();
        let mut form = Form { out, changed: false };
        ui.label(theme::heading("Job"));
        job_ui(ui, &mut job, &mut form);
        ui.add_space(theme::GROUP_GAP);
        ui.label(theme::heading("Prices"));
        lists_ui(ui, cx, &mut job, &mut form);
        prices_ui(ui, cx.session.printing(), &mut job.prices, &mut form);
        ui.add_space(theme::GROUP_GAP);
        ui.label(theme::heading("Time"));
        time_ui(ui, cx.session.printing(), &mut job, &mut form);
        if form.changed {
            out.push(Edit::Project(ProjectEdit::Terms(Box::new(job))).into());
        }
    });
}

/// Taking a shop's prices from the shelf, and putting them there.
fn lists_ui(ui: &mut Ui, cx: &Context<'_>, job: &mut JobTerms, form: &mut Form<'_>) {
    let lists = &cx.session.shelf().prices;
    if !lists.is_empty() {
        let current = if job.prices.name.is_empty() { "Choose a shop" } else { &job.prices.name };
        ComboBox::from_id_salt("price lists").selected_text(current.to_owned()).show_ui(ui, |ui| {
            for list in lists {
                if ui.selectable_label(job.prices == *list, &list.name).clicked() {
                    job.prices = list.clone();
                    form.changed = true;
                }
            }
        });
    }
    form.words(ui, "Shop", &mut job.prices.name);
    form.words(ui, "Currency", &mut job.prices.currency);
    let named = !job.prices.name.trim().is_empty();
    let keep = ui.add_enabled(named, egui::Button::new("Save prices to shelf"));
    if keep.on_disabled_hover_text("Name the shop first").clicked() {
        form.out.push(Request::Shelf(ShelfChange::Prices(job.prices.clone())).into());
    }
    ui.add_space(theme::GAP);
}

/// Fields that say whether anything was changed, each drag one step of history.
struct Form<'a> {
    out: &'a mut Vec<UiCommand>,
    changed: bool,
}

impl Form<'_> {
    fn gesture(&mut self, field: &egui::Response) {
        if field.drag_started() || field.gained_focus() {
            self.out.push(Request::BeginGesture(LABEL).into());
        }
        if field.drag_stopped() || field.lost_focus() {
            self.out.push(Request::EndGesture.into());
        }
        self.changed |= field.changed();
    }

    fn number(
        &mut self,
        ui: &mut Ui,
        name: &str,
        value: &mut f64,
        (unit, [least, finest], speed): (&str, [usize; 2], f64),
        most: f64,
    ) {
        let label = ui.label(name);
        let field = ui
            .add(
                drag(value)
                    .range(0.0..=most)
                    .speed(speed)
                    .max_decimals(finest)
                    .min_decimals(least)
                    .suffix(unit),
            )
            .labelled_by(label.id);
        self.gesture(&field);
        ui.end_row();
    }

    fn count(&mut self, ui: &mut Ui, name: &str, value: &mut u32) {
        let label = ui.label(name);
        let field = ui.add(drag(value).range(0..=1_000_000).speed(1.0)).labelled_by(label.id);
        self.gesture(&field);
        ui.end_row();
    }

    fn money(&mut self, ui: &mut Ui, name: &str, value: &mut Money) {
        let mut v = value.get();
        self.number(ui, name, &mut v, ("", [2, 4], 0.01), 1e9);
        *value = Money::new(v);
    }

    fn minutes(&mut self, ui: &mut Ui, name: &str, value: &mut Minutes) {
        let mut v = value.get();
        self.number(ui, name, &mut v, (" min", [0, 2], 0.1), 100_000.0);
        *value = Minutes::new(v);
    }

    fn words(&mut self, ui: &mut Ui, name: &str, value: &mut String) {
        ui.horizontal(|ui| {
            let left = egui::Layout::left_to_right(egui::Align::Center);
            let size = egui::Vec2::new(76.0, 20.0);
            let label = ui.allocate_ui_with_layout(size, left, |ui| {
                ui.set_min_width(76.0);
                ui.label(name)
            });
            let label = label.inner;
            let field =
                ui.add(TextEdit::singleline(value).desired_width(f32::INFINITY)).labelled_by(label.id);
            self.gesture(&field);
        });
    }

    fn pick<T: Copy + PartialEq>(&mut self, ui: &mut Ui, name: &str, value: &mut T, all: &[(T, &str)]) {
        let label = ui.label(name);
        let shown = all.iter().find(|a| a.0 == *value).map_or("", |a| a.1);
        let combo =
            ComboBox::from_id_salt(name).selected_text(shown).width(112.0).truncate().show_ui(ui, |ui| {
                for (choice, name) in all {
                    self.changed |= ui.selectable_value(value, *choice, *name).changed();
                }
            });
        combo.response.labelled_by(label.id);
        ui.end_row();
    }
}

fn grid(ui: &mut Ui, id: &str, rows: impl FnOnce(&mut Ui)) {
    // Both columns and what is between them fit beside the scroll bar; a wider grid would widen all fields.
    Grid::new(id).num_columns(2).min_col_width(122.0).spacing([8.0, 5.0]).show(ui, rows);
}

const GRAINS: [(Grain, &str); 3] =
    [(Grain::Any, "Any"), (Grain::Long, "Along the long side"), (Grain::Short, "Along the short side")];

fn job_ui(ui: &mut Ui, job: &mut JobTerms, form: &mut Form<'_>) {
    grid(ui, "job terms", |ui| {
        form.count(ui, "Copies", &mut job.copies);
        form.count(ui, "Overs", &mut job.overs);
        form.count(ui, "Good copies needed", &mut job.good_copies);
        form.money(ui, "Selling price", &mut job.selling_price);
        form.minutes(ui, "Booked slot", &mut job.slot);
        form.pick(ui, "Grain of the sheet", &mut job.grain, &GRAINS);
    });
    form.words(ui, "Packing", &mut job.packing);
}

fn prices_ui(ui: &mut Ui, printing: &Printing, prices: &mut PriceList, form: &mut Form<'_>) {
    let p = theme::of(ui);
    // Something always stands here: the fields below keep their places while the first price is typed.
    let known = if prices.says_nothing() {
        "All prices are zero. Enter your shop's."
    } else {
        "A price of 0 is not charged."
    };
    ui.label(RichText::new(known).small().color(p.faint));
    grid(ui, "prices", |ui| {
        form.money(ui, "Master", &mut prices.master);
        form.money(ui, "Impression", &mut prices.impression);
        let ways = [(ImpressionsBy::Pass, "One pass"), (ImpressionsBy::Ink, "One ink")];
        form.pick(ui, "An impression is", &mut prices.impressions_by, &ways);
        form.money(ui, "Set-up of a pass", &mut prices.set_up);
        form.money(ui, "Drum change", &mut prices.drum_change);
        form.money(ui, "Hour at the machine", &mut prices.machine_hour);
        form.money(ui, "Hour by hand", &mut prices.hand_hour);
        form.money(ui, "Kilogram of ink", &mut prices.ink_kilogram);
        let mut lay_down = prices.lay_down.get();
        form.number(ui, "Ink on a solid", &mut lay_down, (" g/m²", [1, 1], 0.1), 100.0);
        prices.lay_down = LayDown::new(lay_down);
        form.money(ui, "Sleeve", &mut prices.sleeve);
        if printing.wrap != WrapPart::None {
            form.money(ui, "Sheet of the wrap", &mut prices.wrap_sheet);
        }
        let bought = if prices.parent.is_some() { "Parent sheet" } else { "Sheet of stock" };
        form.money(ui, bought, &mut prices.sheet);
    });
    let mut cut = prices.parent.is_some();
    if ui.checkbox(&mut cut, "Cut from a larger sheet").changed() {
        // 450 x 640 mm, a usual size of stock (common practice, no source).
        let usual = Parent { size: Size::mm(450.0, 640.0), grain: Grain::Any, per_cut: Money::default() };
        prices.parent = cut.then_some(usual);
        form.changed = true;
    }
    if let Some(parent) = &mut prices.parent {
        grid(ui, "parent", |ui| {
            let (mut w, mut h) = (parent.size.width.get(), parent.size.height.get());
            form.number(ui, "Its width", &mut w, (" mm", [1, 1], 1.0), 3000.0);
            form.number(ui, "Its height", &mut h, (" mm", [1, 1], 1.0), 3000.0);
            (parent.size.width, parent.size.height) = (Mm::new(w), Mm::new(h));
            form.pick(ui, "Its grain", &mut parent.grain, &GRAINS);
            form.money(ui, "A cut", &mut parent.per_cut);
        });
    }
}

fn time_ui(ui: &mut Ui, printing: &Printing, job: &mut JobTerms, form: &mut Form<'_>) {
    grid(ui, "times", |ui| {
        form.minutes(ui, "Set-up of a pass", &mut job.prices.set_up_minutes);
        form.minutes(ui, "A master", &mut job.prices.master_minutes);
        form.minutes(ui, "Changing a drum", &mut job.prices.drum_minutes);
        form.minutes(ui, "Drying", &mut job.drying);
    });
    ui.add_space(theme::GAP);
    ui.label(RichText::new("By hand, for each copy").family(theme::strong()));
    grid(ui, "hand", |ui| {
        // What the job has no use for is not asked.
        for (name, minutes) in job.hand.steps_mut(&printing.sheet.construction()) {
            form.minutes(ui, name, minutes);
        }
    });
}
