//! The bill, and what a copy costs by the length of the run.

use egui::{Align2, Pos2, RichText, Sense, Stroke, Ui, Vec2};
use slipsheet_booking::cost::Cost;
use slipsheet_core::words::count;
use slipsheet_document::printing::Printing;

use super::Reckoned;
use crate::window::theme;

pub(super) fn table_ui(ui: &mut Ui, printing: &Printing, cost: &Cost, with_inks: bool) {
    let p = theme::of(ui);
    let prices = &printing.job.prices;
    ui.label(theme::heading("Cost"));
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
    if !with_inks && !printing.sheet.layers.is_empty() {
        ui.label(RichText::new("Ink is being measured…").small().color(p.faint));
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
    plot_ui(ui, printing, reckoned);
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

/// The curve, the selling price and the run that is planned, painted by hand.
fn plot_ui(ui: &mut Ui, printing: &Printing, reckoned: &Reckoned) {
    let p = theme::of(ui);
    let size = Vec2::new(ui.available_width(), 214.0);
    let (area, response) = ui.allocate_exact_size(size, Sense::hover());
    response
        .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, "Cost of a copy by run length"));
    let painter = ui.painter_at(area);
    let plot = egui::Rect::from_min_max(area.min + Vec2::new(52.0, 22.0), area.max - Vec2::new(10.0, 38.0));
    painter.rect_filled(plot, theme::SWATCH, p.strip);
    let small = theme::small();
    let selling = printing.job.selling_price.get();
    let most = reckoned.curve.last().map_or(100, |c| c.0).max(1);
    // The first copies cost too much to show; what matters is where the curve flattens.
    let mut seen: Vec<f64> = reckoned.curve.iter().map(|c| c.1).collect();
    seen.sort_by(f64::total_cmp);
    let typical = seen.get(seen.len() / 2).copied().unwrap_or(0.0);
    let top = (typical * 2.6).max(selling * 1.15);
    if top <= 0.0 {
        let text = "Prices and copies give this curve";
        painter.text(plot.center(), Align2::CENTER_CENTER, text, theme::body(), p.faint);
        return;
    }
    let step = round_step(top / 4.0);
    let at = |n: f64, v: f64| {
        Pos2::new(
            plot.left() + plot.width() * (n / f64::from(most)) as f32,
            plot.bottom() - plot.height() * (v / top).min(1.0) as f32,
        )
    };
    let mut v = 0.0;
    while v <= top {
        let y = at(0.0, v).y;
        painter.hline(plot.x_range(), y, Stroke::new(1.0, p.line));
        let text = if step < 1.0 { format!("{v:.2}") } else { format!("{v:.1}") };
        painter.text(Pos2::new(plot.left() - 6.0, y), Align2::RIGHT_CENTER, text, small.clone(), p.faint);
        v += step;
    }
    let along = round_step(f64::from(most) / 4.0).max(1.0);
    let mut n = 0.0;
    while n <= f64::from(most) {
        let x = at(n, 0.0).x;
        let text = format!("{n:.0}");
        painter.text(Pos2::new(x, plot.bottom() + 4.0), Align2::CENTER_TOP, text, small.clone(), p.faint);
        n += along;
    }
    // What the axes are.
    let currency = printing.job.prices.currency.trim();
    let up =
        if currency.is_empty() { "a copy costs".to_owned() } else { format!("a copy costs, {currency}") };
    painter.text(area.min + Vec2::new(4.0, 2.0), Align2::LEFT_TOP, up, small.clone(), p.faint);
    let below = Pos2::new(plot.center().x, area.bottom() - 2.0);
    painter.text(below, Align2::CENTER_BOTTOM, "copies ordered", small.clone(), p.faint);
    if let Some(pays) = reckoned.break_even.filter(|n| *n <= most) {
        let foot = at(f64::from(pays), 0.0);
        let ends = [Pos2::new(foot.x, plot.top()), foot];
        painter.extend(egui::Shape::dashed_line(&ends, Stroke::new(1.5, p.good), 4.0, 3.0));
        let right = foot.x < plot.center().x;
        let (align, dx) = if right { (Align2::LEFT_TOP, 5.0) } else { (Align2::RIGHT_TOP, -5.0) };
        let text = format!("breaks even at {pays}");
        painter.text(Pos2::new(foot.x + dx, plot.top() + 3.0), align, text, small.clone(), p.good);
    }
    if selling > 0.0 {
        let y = at(0.0, selling).y;
        let dashes = egui::Shape::dashed_line(
            &[Pos2::new(plot.left(), y), Pos2::new(plot.right(), y)],
            Stroke::new(1.5, p.faint),
            6.0,
            4.0,
        );
        painter.extend(dashes);
        let end = Pos2::new(plot.right() - 4.0, y - 2.0);
        painter.text(end, Align2::RIGHT_BOTTOM, "selling price", small.clone(), p.faint);
    }
    let line: Vec<Pos2> = reckoned.curve.iter().map(|(n, v)| at(f64::from(*n), *v)).collect();
    painter.with_clip_rect(plot).line(line, Stroke::new(2.0, p.text));
    let planned = (reckoned.cost.copies, reckoned.cost.per_copy);
    if let (copies, Some(each)) = planned
        && copies <= most
    {
        let dot = at(f64::from(copies), each);
        painter.circle(dot, 4.0, p.text, Stroke::new(1.5, p.panel));
        let text = printing.job.prices.amount(each);
        painter.text(dot + Vec2::new(8.0, -6.0), Align2::LEFT_BOTTOM, text, theme::small(), p.text);
    }
}

/// The next of 1, 2, 5, 10, 20 .. (or their tenths) that is no less.
fn round_step(least: f64) -> f64 {
    let decade = 10_f64.powi(least.max(1e-9).log10().floor() as i32);
    let m = least / decade;
    decade
        * if m <= 1.0 {
            1.0
        } else if m <= 2.0 {
            2.0
        } else if m <= 5.0 {
            5.0
        } else {
            10.0
        }
}

#[cfg(test)]
mod tests {
    use super::round_step;

    #[test]
    fn steps_of_an_axis_are_round() {
        for (least, step) in [(0.13, 0.2), (1.0, 1.0), (3.1, 5.0), (60.0, 100.0), (0.004, 0.005)] {
            assert!((round_step(least) - step).abs() < 1e-9, "{least}");
        }
    }
}
