//! The bill, and what a copy costs by the length of the run.

use egui::{Align2, Color32, RichText, Sense, Ui, Vec2};
use egui_plot::{HLine, Line, LineStyle, PlotPoint, PlotPoints, Points, Text, VLine};
use slipsheet_booking::cost::{Cost, Series};
use slipsheet_core::words::count;
use slipsheet_document::printing::Printing;

use super::Reckoned;
use crate::window::plot::{Axis, plot_ui};
use crate::window::theme;

pub(super) fn table_ui(ui: &mut Ui, printing: &Printing, cost: &Cost, with_inks: bool) {
    let p = theme::of(ui);
    let prices = &printing.job.prices;
    if prices.says_nothing() {
        ui.label(RichText::new("All prices are zero. Enter your shop's on the right.").color(p.faint));
    }
    let mut rows: Vec<Row<'_>> = cost
        .lines
        .iter()
        .map(|line| Row {
            name: line.kind.name(),
            amount: prices.amount(line.amount),
            how: line.how.clone(),
            strong: false,
        })
        .collect();
    let (lines, sheets) = (rows.len(), count(cost.sheets, "sheet"));
    rows.push(Row { name: "Total", amount: prices.amount(cost.total), how: sheets, strong: true });
    if let Some(each) = cost.per_copy {
        let copies = count(cost.copies, "copy");
        rows.push(Row { name: "A copy", amount: prices.amount(each), how: copies, strong: true });
    }
    rows_ui(ui, &rows, lines);
    if !with_inks && !printing.sheet.layers.is_empty() {
        ui.label(RichText::new("Ink is being measured…").small().color(p.faint));
    }
}

/// What each edition costs, and all together.
pub(super) fn editions_ui(ui: &mut Ui, printing: &Printing, series: &Series) {
    let p = theme::of(ui);
    let prices = &printing.job.prices;
    let each = series.editions.iter().map(|e| Row {
        name: &e.name,
        amount: prices.amount(e.cost.total),
        how: format!(
            "{} and {}, {} on {}",
            count(e.copies, "copy"),
            count(e.overs, "over"),
            e.inks.join(", "),
            e.stock
        ),
        strong: false,
    });
    let mut rows: Vec<Row<'_>> = each.collect();
    let all = format!("{}, {}", count(series.copies, "copy"), count(series.sheets, "sheet"));
    rows.push(Row { name: "Total", amount: prices.amount(series.total), how: all, strong: true });
    rows_ui(ui, &rows, rows.len() - 1);
    ui.label(RichText::new(series.order.instruction()).small().color(p.faint));
}

/// Rows of which those from `lines` on are sums.
fn rows_ui(ui: &mut Ui, rows: &[Row<'_>], lines: usize) {
    let widest = |widths: &mut dyn Iterator<Item = f32>| widths.fold(0.0, f32::max);
    let widths = [
        widest(&mut rows.iter().map(|r| text_width(ui, r.name, r.strong))),
        widest(&mut rows.iter().map(|r| text_width(ui, &r.amount, r.strong))),
    ];
    for (i, row) in rows.iter().enumerate() {
        if i == lines {
            ui.separator();
        }
        row.ui(ui, widths, i < lines && i % 2 == 1);
    }
}

/// A line of the bill: what, how much, and how that was counted.
struct Row<'a> {
    name: &'a str,
    amount: String,
    how: String,
    strong: bool,
}

impl Row<'_> {
    /// Name and amount have the widths given, which are those of the widest; how it was counted has the rest.
    fn ui(&self, ui: &mut Ui, [name_width, amount_width]: [f32; 2], striped: bool) {
        const HEIGHT: f32 = 21.0;
        let p = theme::of(ui);
        let (rect, _) = ui.allocate_exact_size(Vec2::new(ui.available_width(), HEIGHT), Sense::hover());
        if striped {
            ui.painter().rect_filled(rect, theme::SWATCH, p.strip);
        }
        let name = rect.left() + 6.0;
        let amount = name + name_width + 12.0;
        let how = amount + amount_width + 16.0;
        let styled = |text: &str| {
            let text = RichText::new(text);
            if self.strong { text.family(theme::strong()) } else { text }
        };
        let left = egui::Layout::left_to_right(egui::Align::Center);
        let right = egui::Layout::right_to_left(egui::Align::Center);
        let mut cell = |from: f32, to: f32, layout: egui::Layout, text: RichText| {
            let area = egui::Rect::from_x_y_ranges(from..=to.max(from), rect.y_range());
            ui.scope_builder(egui::UiBuilder::new().max_rect(area).layout(layout), |ui| {
                ui.add(egui::Label::new(text).truncate());
            });
        };
        cell(name, amount, left, styled(self.name));
        // A point more than its text, which rounding would otherwise cut short.
        cell(amount - 1.0, how - 15.0, right, styled(&self.amount));
        cell(how, rect.right(), left, RichText::new(&self.how).color(p.faint));
    }
}

/// How wide a text of a row is, in points.
fn text_width(ui: &Ui, text: &str, strong: bool) -> f32 {
    let mut font = egui::TextStyle::Body.resolve(ui.style());
    if strong {
        font.family = theme::strong();
    }
    ui.painter().layout_no_wrap(text.to_owned(), font, theme::UNTINTED).size().x
}

pub(super) fn run_ui(ui: &mut Ui, printing: &Printing, reckoned: &Reckoned) {
    let job = &printing.job;
    ui.label(theme::heading("Cost of a copy by run length"));
    curve_ui(ui, printing, reckoned);
    let amount = |v: f64| job.prices.amount(v);
    let selling = job.selling_price.get();
    let text = match reckoned.break_even {
        Some(n) => format!("At {} a copy the run breaks even at {}.", amount(selling), count(n, "copy")),
        None if selling > 0.0 => format!("At {} a copy no run breaks even.", amount(selling)),
        None => "Enter a selling price to see where the run breaks even.".to_owned(),
    };
    ui.label(text);
    let b = &reckoned.budget;
    if b.copies > 0 {
        let each = b.per_copy.map(|v| format!(", {} each", amount(v))).unwrap_or_default();
        ui.label(format!(
            "Budget for {}: {}, {} in all{each}.",
            count(b.copies, "good copy"),
            count(b.sheets, "sheet"),
            amount(b.total)
        ));
    }
}

/// The curve, the selling price and the run that is planned.
fn curve_ui(ui: &mut Ui, printing: &Printing, reckoned: &Reckoned) {
    let p = theme::of(ui);
    // The last number on the axis reaches past the plot.
    let size = Vec2::new(ui.available_width() - theme::GAP * 1.5, 214.0);
    let selling = printing.job.selling_price.get();
    let most = reckoned.curve.last().map_or(100, |c| c.0).max(1);
    // The first copies cost too much to show; what matters is where the curve flattens.
    let mut seen: Vec<f64> = reckoned.curve.iter().map(|c| c.1).collect();
    seen.sort_by(f64::total_cmp);
    let typical = seen.get(seen.len() / 2).copied().unwrap_or(0.0);
    let top = (typical * 2.6).max(selling * 1.15);
    if top <= 0.0 {
        ui.label(RichText::new("Prices and copies give this curve").color(p.faint));
        return;
    }

    let prices = &printing.job.prices;
    let currency = prices.currency.trim();
    let up =
        if currency.is_empty() { "a copy costs".to_owned() } else { format!("a copy costs, {currency}") };
    let amount = |v: f64| if top < 4.0 { format!("{v:.2}") } else { format!("{v:.1}") };
    let copies = |n: f64| format!("{n:.0}");
    let axes = [
        Axis { label: "copies ordered".to_owned(), range: 0.0..=f64::from(most), word: &copies },
        Axis { label: up, range: 0.0..=top, word: &amount },
    ];
    let text = |at: [f64; 2], anchor: Align2, text: String, colour: Color32| {
        let text = RichText::new(text).font(theme::small()).color(colour);
        Text::new("", PlotPoint::from(at), text).anchor(anchor).allow_hover(false)
    };
    // A row keeps it as narrow as it is to be, which a column would not.
    ui.horizontal(|ui| {
        plot_ui(ui, "Cost of a copy by run length", size, axes, |plot| {
            if let Some(pays) = reckoned.break_even.filter(|n| *n <= most) {
                let at = f64::from(pays);
                plot.vline(VLine::new("", at).color(p.good).width(1.5).style(LineStyle::dashed_dense()));
                let anchor = if pays < most / 2 { Align2::LEFT_TOP } else { Align2::RIGHT_TOP };
                plot.text(text([at, top], anchor, format!(" breaks even at {pays} "), p.good));
            }
            if selling > 0.0 {
                plot.hline(
                    HLine::new("", selling).color(p.faint).width(1.5).style(LineStyle::dashed_loose()),
                );
                let end = [f64::from(most), selling];
                plot.text(text(end, Align2::RIGHT_BOTTOM, "selling price ".to_owned(), p.faint));
            }
            let curve: PlotPoints<'_> = reckoned.curve.iter().map(|(n, v)| [f64::from(*n), *v]).collect();
            plot.line(Line::new("a copy costs", curve).color(p.text).width(2.0));
            if let (copies, Some(each)) = (reckoned.cost.copies, reckoned.cost.per_copy)
                && copies <= most
            {
                let at = [f64::from(copies), each];
                plot.points(Points::new("as planned", vec![at]).color(p.text).radius(4.0));
                plot.text(text(at, Align2::LEFT_BOTTOM, format!("  {}", prices.amount(each)), p.text));
            }
        })
    });
}
