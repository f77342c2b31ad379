//! What the person is told, floating over the work until it is dismissed. Nothing moves when one comes.

use egui::{Align, Area, Frame, Id, Layout, Order, Pos2, Rect, RichText, Sense, Shape, Stroke, Ui, Vec2};
use slipsheet_editor::{Cause, Request, Weight};

use super::context::Context;
use super::{MainView, UiCommand, theme};

/// The widest a notice gets.
const WIDEST: f32 = 560.0;
/// Distance from the foot of the work.
const FOOT: f32 = 16.0;
/// In the Dummy view the pages are turned at the foot.
const FOOT_OF_DUMMY: f32 = 152.0;

/// The latest notice, at the foot of the work.
pub(super) fn notices_ui(ui: &Ui, cx: &Context<'_>, work: Rect, out: &mut Vec<UiCommand>) {
    let notices = cx.session.notices();
    let Some((i, notice)) = notices.iter().enumerate().next_back() else { return };
    let p = theme::of(ui);
    let foot = if cx.showing.view == MainView::Dummy { FOOT_OF_DUMMY } else { FOOT };
    let widest = WIDEST.min(work.width() - 2.0 * FOOT);
    let area = Area::new(Id::unique("notice"))
        .order(Order::Middle)
        .constrain(false)
        .pivot(egui::Align2::CENTER_BOTTOM)
        .fixed_pos(Pos2::new(work.center().x, work.bottom() - foot));
    area.show(ui.ctx(), |ui| {
        let frame = Frame::popup(ui.style())
            .fill(p.panel)
            .stroke(Stroke::new(1.0, p.edge))
            .corner_radius(theme::CARD)
            .inner_margin(egui::Margin::symmetric(16, 12));
        frame.show(ui, |ui| {
            ui.set_width(widest - 32.0);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                if ui.button("Dismiss").clicked() {
                    out.push(Request::Dismiss(i).into());
                }
                let scan = if let Some(Cause::Scan(key)) = &notice.cause { Some(key) } else { None };
                if scan.is_some_and(|key| cx.session.is_changed(key)) {
                    let tip = "Take every changed scan as its file is now";
                    if ui.button("Use the new scan").on_hover_text(tip).clicked() {
                        out.push(Request::AcceptChanged.into());
                    }
                }
                if let Some(Cause::Picture(art)) = notice.cause
                    && cx.session.sheet().holder_of(art).is_some()
                {
                    let tip = "Make it plates, one for each ink, in place of the gray layer";
                    if ui.button("Separate into inks…").on_hover_text(tip).clicked() {
                        out.push(Request::SeparateArt(art).into());
                        out.push(Request::Dismiss(i).into());
                    }
                }
                if notices.len() > 1 {
                    let more = format!("{} more", notices.len() - 1);
                    ui.label(RichText::new(more).small().color(p.faint));
                }
                ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                    sign_ui(ui, notice.weight, p);
                    ui.add(egui::Label::new(&notice.text).wrap());
                });
            });
        });
    });
}

/// A triangle before a warning and a cross before what failed.
fn sign_ui(ui: &mut Ui, weight: Weight, p: theme::Palette) {
    if weight == Weight::Note {
        return;
    }
    let (at, _) = ui.allocate_exact_size(Vec2::new(16.0, 14.0), Sense::hover());
    let painter = ui.painter();
    if weight == Weight::Warning {
        let points = vec![at.center_top(), at.right_bottom(), at.left_bottom()];
        painter.add(Shape::convex_polygon(points, p.warning, Stroke::NONE));
        return;
    }
    let stroke = Stroke::new(2.5, p.error);
    let at = at.shrink2(Vec2::new(2.0, 1.0));
    painter.line_segment([at.left_top(), at.right_bottom()], stroke);
    painter.line_segment([at.right_top(), at.left_bottom()], stroke);
}
