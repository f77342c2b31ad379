//! Creases in folding order: to be moved up and down, turned over, and told which side moves.

use egui::{RichText, Ui};
use slipsheet_paper::fold::{Crease, Fold, GridLine, LineUse, Scheme, Side, Trial};

use super::super::theme;
use super::editor::Editor;

/// What is wanted of the list.
enum Change {
    Move(usize, usize),
    Remove(usize),
}

pub(super) fn creases_ui(ui: &mut Ui, editor: &mut Editor, trial: &Trial, height: f32) {
    ui.label(theme::heading("Folding order"));
    let trouble = trial.trouble.as_ref().and_then(slipsheet_paper::fold::PlanError::crease);
    let count = editor.plan.scheme.creases.len();
    let mut change = None;
    let area = egui::ScrollArea::vertical().max_height(height - 26.0).min_scrolled_height(height - 26.0);
    area.auto_shrink([false, false]).id_salt("creases").show(ui, |ui| {
        if count == 0 {
            let hint = "No crease yet. Click on a line of the sheet.";
            ui.label(RichText::new(hint).color(theme::of(ui).faint));
        }
        for i in 0..count {
            let Some(crease) = editor.plan.scheme.creases.get(i).copied() else { continue };
            let row =
                egui::Frame::new().inner_margin(egui::Margin::symmetric(4, 2)).corner_radius(theme::CONTROL);
            let p = theme::of(ui);
            let row = if trouble == Some(i) { row.fill(theme::see_through(p.error, 0.22)) } else { row };
            let drawn = row.show(ui, |ui| {
                if let Some(wanted) = crease_ui(ui, editor, (i, count), &crease) {
                    change = Some(wanted);
                }
            });
            // A row is dragged by its grip; where it is let go is its new place.
            if let Some(from) = drawn.response.dnd_release_payload::<usize>() {
                change = Some(Change::Move(*from, i));
            }
            if drawn.response.contains_pointer() {
                editor.marked = Some(i);
            }
        }
    });
    match change {
        Some(Change::Move(from, to)) => editor.plan.move_crease(from, to),
        Some(Change::Remove(i)) => {
            if let Some(crease) = editor.plan.scheme.creases.get(i).copied() {
                let whole = (0, editor.plan.stretches(crease.line));
                editor.plan.use_line(crease.line, crease.span.unwrap_or(whole), LineUse::Plain);
            }
        }
        None => {}
    }
}

fn crease_ui(
    ui: &mut Ui,
    editor: &mut Editor,
    (i, count): (usize, usize),
    crease: &Crease,
) -> Option<Change> {
    let mut change = None;
    ui.spacing_mut().item_spacing.x = 4.0;
    ui.horizontal(|ui| {
        let grip = RichText::new(format!("{}", i + 1)).family(theme::strong());
        ui.dnd_drag_source(egui::Id::unique(("crease grip", i)), i, |ui| ui.label(grip))
            .response
            .on_hover_text("Drag to another place in the order");
        ui.add(egui::Label::new(name(crease)).truncate());
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            let mut small = |text: &str, label: String, on: bool| {
                let button = ui.add_enabled(on, egui::Button::new(text).min_size(egui::vec2(22.0, 22.0)));
                button.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, on, &label));
                if text.is_empty() {
                    arrow(ui, button.rect.center(), label.ends_with("earlier"), on);
                }
                button.on_hover_text(&label).clicked()
            };
            if small("×", format!("Remove crease {}", i + 1), true) {
                change = Some(Change::Remove(i));
            }
            if small("", format!("Fold crease {} later", i + 1), i + 1 < count) {
                change = Some(Change::Move(i, i + 1));
            }
            if small("", format!("Fold crease {} earlier", i + 1), i > 0) {
                change = Some(Change::Move(i, i.saturating_sub(1)));
            }
        });
    });
    ui.horizontal(|ui| {
        ui.add_space(14.0);
        let Some(crease) = editor.plan.scheme.creases.get_mut(i) else { return };
        let fold = if crease.fold == Fold::Valley { "valley" } else { "mountain" };
        let label = format!("Crease {}: {fold}", i + 1);
        let button = ui.small_button(fold);
        theme::named(&button, egui::Role::Button, &label);
        if button.on_hover_text("Valley: the fronts come together; mountain: the backs").clicked() {
            crease.fold = if crease.fold == Fold::Valley { Fold::Mountain } else { Fold::Valley };
        }
        let side = format!("{} moves", side(crease));
        let label = format!("Crease {}: {side}", i + 1);
        let button = ui.small_button(side);
        theme::named(&button, egui::Role::Button, &label);
        if button.on_hover_text("Click to let the other side move").clicked() {
            crease.moves = if crease.moves == Side::Before { Side::After } else { Side::Before };
        }
    });
    change
}

/// An arrow up or down; the fonts have none.
fn arrow(ui: &Ui, at: egui::Pos2, up: bool, on: bool) {
    let p = theme::of(ui);
    let tip = if up { -3.0 } else { 3.0 };
    let points = [(0.0, tip), (-4.0, -tip), (4.0, -tip)].map(|(x, y)| at + egui::vec2(x, y));
    let colour = if on { p.text } else { theme::see_through(p.faint, 0.4) };
    ui.painter().add(egui::Shape::convex_polygon(points.to_vec(), colour, egui::Stroke::NONE));
}

fn side(crease: &Crease) -> &'static str {
    match (crease.line, crease.moves) {
        (GridLine::Vertical(_), Side::Before) => "left side",
        (GridLine::Vertical(_), Side::After) => "right side",
        (GridLine::Horizontal(_), Side::Before) => "upper side",
        (GridLine::Horizontal(_), Side::After) => "lower side",
    }
}

fn name(crease: &Crease) -> String {
    let (line, part, i) = match crease.line {
        GridLine::Vertical(i) => ("Vertical line", "row", i),
        GridLine::Horizontal(i) => ("Horizontal line", "column", i),
    };
    match crease.span {
        None => format!("{line} {i}"),
        Some((from, to)) if from + 1 == to => format!("{line} {i}, {part} {to}"),
        Some((from, to)) => format!("{line} {i}, {part}s {} to {to}", from + 1),
    }
}

/// A sentence for a scheme that has none.
pub(super) fn in_words(scheme: &Scheme) -> String {
    let slit = if scheme.slits.is_empty() { "" } else { "Slit the sheet, then f" };
    let slit = if slit.is_empty() { "F" } else { slit };
    let n = scheme.creases.len();
    format!("{slit}old {n} {} in order; page 1 ends on top.", if n == 1 { "crease" } else { "creases" })
}
