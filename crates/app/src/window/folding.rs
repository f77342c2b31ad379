//! How the sheet is folded, step by step with a drawing each; the printed dummy's few options; and the word on
//! the sheet that what shows through is an estimate.

use egui::{Pos2, Rect, RichText, Sense, Stroke, Ui, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_core::paper;
use slipsheet_document::grain;
use slipsheet_editor::{DummySheetExport, Request};
use slipsheet_files::dummy_sheet::DummySheetOptions;
use slipsheet_paper::fold::Fold;
use slipsheet_paper::steps;
use slipsheet_paper::steps::{FoldStep, StepLineKind};

use super::context::Context;
use super::dialogs::{Next, WIDTH, buttons};
use super::{UiCommand, theme};

/// Side of a step's drawing and width of its words, in points.
const DRAWING: f32 = 108.0;
const WORDS: f32 = 340.0;

pub(super) fn folding_steps_ui(ui: &mut Ui, cx: &Context<'_>) -> Next {
    ui.set_width(WIDTH);
    let printing = cx.session.printing();
    ui.heading("Folding steps");
    let Some(scheme) = printing.sheet.scheme(0) else {
        ui.label("The sheet stays flat; choose a fold first.");
        return buttons(ui, |ui| if ui.button("Close").clicked() { Next::Close } else { Next::Stay });
    };
    let size = printing.sheet.size();
    let p = theme::of(ui);
    ui.label(RichText::new(format!("{}. Seen from the front of the sheet.", scheme.name)).color(p.faint));
    ui.add_space(theme::GAP);
    // Room is left for the heading and the button where the window is low.
    let height = (ui.ctx().content_rect().height() - 220.0).clamp(160.0, 520.0);
    egui::ScrollArea::vertical().max_height(height).show(ui, |ui| {
        for (i, step) in steps::steps(&scheme, size).iter().enumerate() {
            ui.horizontal(|ui| {
                drawing_ui(ui, step);
                ui.add_space(theme::GAP);
                ui.vertical(|ui| {
                    ui.set_width(WORDS);
                    ui.add_space(theme::GAP);
                    ui.label(theme::heading(&format!("Step {}", i + 1)));
                    ui.add(egui::Label::new(&step.words).wrap());
                });
            });
            ui.add_space(theme::GAP);
        }
        for message in grain::advice(&printing.sheet.stock, &scheme, size) {
            ui.add(egui::Label::new(message).wrap());
        }
        for message in steps::cautions(&scheme, grain::is_stitched(&printing.sheet, &scheme)) {
            ui.add(egui::Label::new(RichText::new(message).color(p.warning)).wrap());
        }
    });
    buttons(ui, |ui| if ui.button("Close").clicked() { Next::Close } else { Next::Stay })
}

/// The word on the sheet, at the canvas's upper left corner.
pub(super) fn show_through_ui(ui: &Ui, cx: &Context<'_>, canvas: Rect) {
    let printing = cx.session.printing();
    if !cx.showing.show_through || !printing.sheet.two_sided() {
        return;
    }
    let p = theme::of(ui);
    let share = paper::show_through(&printing.sheet.stock) * 100.0;
    let text = format!(
        "Show-through: {share:.1} % of the other face at {:.0} gsm (estimate)",
        printing.sheet.stock.gsm
    );
    let galley = ui.painter().layout_no_wrap(text.clone(), theme::body(), p.text);
    let size = galley.size() + Vec2::new(18.0, 10.0);
    let rect = Rect::from_min_size(canvas.left_top() + Vec2::new(32.0, 32.0), size);
    let painter = ui.painter_at(canvas);
    theme::note_ground(&painter, rect, p);
    painter.galley(rect.min + Vec2::new(9.0, 5.0), galley, p.text);
    let response = ui.interact(rect, ui.scope_id().with("show-through"), Sense::empty());
    theme::named(&response, egui::Role::Label, &text);
}

/// The stack before a step, its crease dashed, and an arrow from what moves to where it comes to lie.
fn drawing_ui(ui: &mut Ui, step: &FoldStep) {
    let (rect, response) = ui.allocate_exact_size(Vec2::splat(DRAWING), Sense::hover());
    theme::named(&response, egui::Role::Image, &step.words);
    let p = theme::of(ui);
    let painter = ui.painter_at(rect);
    let inner = rect.shrink(6.0);
    let on = |point: Point| inner.min + Vec2::new(point.x as f32, point.y as f32) * inner.width();
    for line in &step.lines {
        let ends = [on(line.from), on(line.to)];
        let crease = Stroke::new(1.5, p.warning);
        match line.kind {
            StepLineKind::Edge => {
                painter.line_segment(ends, Stroke::new(1.0, p.text));
            }
            StepLineKind::Cut => {
                painter.line_segment(ends, Stroke::new(2.5, p.warning));
            }
            StepLineKind::Crease(Fold::Valley) => {
                painter.extend(egui::Shape::dashed_line(&ends, crease, 5.0, 3.5));
            }
            StepLineKind::Crease(Fold::Mountain) => {
                let (dashes, gaps) = ([6.0, 1.5], [2.5, 2.5]);
                painter.extend(egui::Shape::dashed_line_with_offset(&ends, crease, &dashes, &gaps, 0.0));
            }
        }
    }
    arrow(&painter, on(step.arrow.0), on(step.arrow.1), Stroke::new(1.5, p.faint));
}

fn arrow(painter: &egui::Painter, from: Pos2, to: Pos2, stroke: Stroke) {
    let way = to - from;
    if way.length() < 1.0 {
        return;
    }
    // Bent a little to the side, so that it does not hide in the lines of the sheet.
    let middle = from + way * 0.5 + way.rot90() * 0.18;
    let bow = egui::epaint::QuadraticBezierShape::from_points_stroke(
        [from, middle, to],
        false,
        egui::Color32::TRANSPARENT,
        stroke,
    );
    painter.add(bow);
    let along = (to - middle).normalized() * 7.0;
    for side in [-0.5, 0.5] {
        painter.line_segment([to, to - along + along.rot90() * side], stroke);
    }
}

/// Faint or dark, then the path.
pub(super) fn printed_dummy_ui(
    ui: &mut Ui,
    options: &mut DummySheetOptions,
    out: &mut Vec<UiCommand>,
) -> Next {
    ui.set_width(WIDTH);
    ui.heading("Export printed dummy");
    ui.label(
        "A PDF of every sheet at true size with page numbers, folds, slits and scores, and a page that says how it is folded. Print it at 100 %.",
    );
    ui.add_space(theme::GAP);
    ui.checkbox(&mut options.faint, "Pale blue, to draw over");
    ui.add_space(theme::GAP);
    let caution = "Blades cut and staplers pierce: keep your fingers clear, and follow the machine's manual.";
    ui.label(RichText::new(caution).small().color(theme::of(ui).warning));
    buttons(ui, |ui| {
        if ui.button("Export…").clicked() {
            out.push(Request::export(DummySheetExport(*options)).into());
            return Next::Close;
        }
        if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay }
    })
}
