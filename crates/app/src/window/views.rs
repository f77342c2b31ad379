//! The strip of views across the top of the work: four tabs with the figure that matters in each, then what is
//! running, what was found, and the one button that names the next step.

use egui::text::{LayoutJob, TextFormat, TextWrapping};
use egui::{
    Align, Atom, Button, FontId, Layout, Pos2, Rect, Response, RichText, Sense, Shape, Stroke, Ui, Vec2,
};
use slipsheet_booking::preflight::Severity;
use slipsheet_core::words::count;
use slipsheet_editor::{MAKING_PACK, TaskInfo};

use super::actions::{self, Action};
use super::context::Context;
use super::menu::hint;
use super::overlays::OpenOverlay;
use super::{MainView, UiCommand, theme};

/// The views in their order, with the actions that open them.
const VIEWS: [(MainView, Action); 4] = [
    (MainView::Sheet, Action::SheetView),
    (MainView::Dummy, Action::DummyView),
    (MainView::Run, Action::RunView),
    (MainView::Booking, Action::BookingView),
];

/// Room that what stands right of the tabs needs, in points.
const BESIDE: f32 = 430.0;
/// The narrowest and the widest tab.
const TAB: [f32; 2] = [132.0, 204.0];
/// Room left and right of a tab's words.
const INSET: f32 = 16.0;
/// Jobs that are shown, one under the other.
const JOBS: usize = 2;
/// Length of a bar of progress.
const BAR: f32 = 72.0;

pub(super) fn views_ui(ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
    let strip = ui.max_rect();
    // The width follows the window alone, so that no tab moves while its figure changes.
    let width = ((strip.width() - BESIDE) / VIEWS.len() as f32).clamp(TAB[0], TAB[1]).floor();
    let mut left = strip.left();
    for (view, action) in VIEWS {
        let rect = Rect::from_min_size(Pos2::new(left, strip.top()), Vec2::new(width, strip.height()));
        left = rect.right();
        if tab_ui(ui, cx, rect, view, action).clicked() {
            out.push(action.into());
        }
    }
    let beside = Rect::from_min_max(Pos2::new(left + theme::GAP, strip.top()), strip.max);
    let right = Layout::right_to_left(Align::Center);
    ui.scope_builder(egui::UiBuilder::new().max_rect(beside).layout(right), |ui| {
        ui.add_space(f32::from(theme::PANEL_MARGIN));
        next_step_ui(ui, cx, out);
        found_count_ui(ui, cx, out);
        jobs_ui(ui, cx);
    });
}

fn tab_ui(ui: &Ui, cx: &Context<'_>, rect: Rect, view: MainView, action: Action) -> Response {
    let (p, info) = (theme::of(ui), actions::of(action));
    let words = cx.tab_words(view);
    let open = cx.showing.view == view;
    let response = ui.interact(rect, ui.scope_id().with(info.label), Sense::click());
    response.widget_info(|| {
        let mut says = egui::WidgetInfo::selected(egui::Role::Button, true, open, info.label);
        says.current_text_value = Some(format!("{}, {}", words.figure, words.caption));
        says
    });

    let painter = ui.painter_at(rect);
    if open {
        painter.rect_filled(rect, 0.0, p.panel);
    } else if response.hovered() {
        painter.rect_filled(rect, 0.0, theme::see_through(p.text, 0.06));
    }
    painter.vline(rect.right() - 0.5, rect.y_range(), Stroke::new(1.0, p.line));
    if response.has_focus() {
        let ring = rect.shrink(3.0);
        painter.rect_stroke(ring, theme::CONTROL, Stroke::new(1.5, p.accent), egui::StrokeKind::Inside);
    }
    if open {
        let line = rect.with_min_y(rect.bottom() - theme::UNDERLINE);
        painter.rect_filled(line, 0.0, p.accent);
    }

    // The figure and the caption stand above the line, whether it is drawn or not.
    let height = theme::FIGURE_LINE + theme::SMALL_LINE;
    let top = rect.top() + (rect.height() - theme::UNDERLINE - height) / 2.0;
    let line = |job: LayoutJob, top: f32, height: f32| {
        let mut job = job;
        job.wrap = TextWrapping::truncate_at_width(rect.width() - 2.0 * INSET);
        let galley = ui.fonts_mut(|f| f.layout_job(job));
        let at = Pos2::new(rect.left() + INSET, top + (height - galley.size().y) / 2.0);
        painter.galley(at, galley, p.text);
    };
    let figure = FontId::new(theme::FIGURE, theme::strong());
    line(LayoutJob::simple_singleline(words.figure, figure, p.text), top, theme::FIGURE_LINE);
    let mut caption = LayoutJob::default();
    caption.append(info.label, 0.0, TextFormat::simple(theme::strong_small(), p.text));
    caption.append(&words.caption, theme::GAP, TextFormat::simple(theme::small(), p.faint));
    line(caption, top + theme::FIGURE_LINE, theme::SMALL_LINE);
    response.on_hover_ui(|ui| tab_tip_ui(ui, cx, view, info))
}

/// What the view is for, and what its figure leaves out.
fn tab_tip_ui(ui: &mut Ui, cx: &Context<'_>, view: MainView, info: &actions::Info) {
    ui.label(hint(ui, info));
    if view != MainView::Sheet {
        return;
    }
    for (i, layer) in cx.session.printing().sheet.layers.iter().enumerate() {
        let Some(print) = cx.print_of(i) else { continue };
        ui.horizontal(|ui| {
            let (chip, _) = ui.allocate_exact_size(Vec2::splat(10.0), Sense::hover());
            theme::chip(ui, chip, layer.ink.solid.lab());
            let text = format!("{}: {:.0} % covered", layer.name, print.coverage * 100.0);
            ui.label(RichText::new(text).small());
        });
    }
}

/// The button that names the next step.
fn next_step_ui(ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
    let p = theme::of(ui);
    let loaded = !cx.session.printing().sheet.layers.is_empty();
    let action = match cx.showing.view {
        _ if !loaded => Action::AddScans,
        MainView::Sheet => Action::DummyView,
        MainView::Dummy => Action::RunView,
        MainView::Run => Action::BookingView,
        MainView::Booking => Action::Pack,
    };
    let info = actions::of(action);
    let making = action == Action::Pack && cx.desk.tasks.running().iter().any(|j| j.label == MAKING_PACK);
    let leads_on = matches!(action, Action::DummyView | Action::RunView | Action::BookingView);
    let name = RichText::new(info.label).font(theme::strong_body()).color(p.on_accent);
    let arrow = egui::IdSalt::new("leads on");
    ui.add_enabled_ui(cx.enabled(action) && !making, |ui| {
        ui.spacing_mut().button_padding.x = INSET;
        let drawn = if leads_on {
            let content = (name, Atom::custom(arrow, Vec2::new(6.0, 10.0)));
            theme::filled(p, content).atom_ui(ui)
        } else {
            theme::filled(p, name).atom_ui(ui)
        };
        if let Some(at) = drawn.rect(arrow) {
            let tip = at.right_center();
            let points = vec![tip, tip + Vec2::new(-6.0, 5.0), tip + Vec2::new(-6.0, -5.0)];
            ui.painter().add(Shape::convex_polygon(points, p.on_accent, Stroke::NONE));
        }
        let response = drawn.response;
        if leads_on {
            // The tab is called by its name alone.
            let says = format!("Next: {}", info.label);
            theme::named(&response, egui::Role::Button, &says);
        }
        if response.on_hover_text(hint(ui, info)).clicked() {
            out.push(action.into());
        }
    });
}

/// How much was found that nobody has accepted; it opens the list.
fn found_count_ui(ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
    let p = theme::of(ui);
    let found = cx.open_findings();
    let has = |severity| cx.desk.findings.iter().any(|f| f.is_open() && f.severity == severity);
    let colour = match found {
        None | Some(0) => p.faint,
        Some(_) if has(Severity::Error) => p.error,
        Some(_) if has(Severity::Warning) => p.warning,
        Some(_) => p.faint,
    };
    let (number, says) = match found {
        None => ("…".to_owned(), "Looking for findings".to_owned()),
        Some(0) => ("0".to_owned(), "No findings".to_owned()),
        Some(n) => (n.to_string(), count(n, "finding")),
    };
    let sign = egui::IdSalt::new("sign");
    let number = RichText::new(number).font(theme::strong_body());
    let drawn = Button::new((Atom::custom(sign, Vec2::new(16.0, 14.0)), number))
        .frame_when_inactive(false)
        .min_size(Vec2::new(48.0, 32.0))
        .atom_ui(ui);
    if let Some(at) = drawn.rect(sign) {
        let points = vec![at.center_top(), at.right_bottom(), at.left_bottom()];
        let open = found.is_some_and(|n| n > 0);
        let fill = if open { colour } else { theme::see_through(colour, 0.0) };
        ui.painter().add(Shape::convex_polygon(points, fill, Stroke::new(1.5, colour)));
    }
    let response = drawn.response;
    theme::named(&response, egui::Role::Button, &says);
    if response.on_hover_text(format!("{says}: what should be looked at before printing")).clicked() {
        out.push(UiCommand::Open(Box::new(OpenOverlay::Findings)));
    }
}

/// What is running: a label beside a bar, and a button that stops it.
fn jobs_ui(ui: &mut Ui, cx: &Context<'_>) {
    let jobs = cx.desk.tasks.running();
    if jobs.is_empty() {
        return;
    }
    ui.ctx().request_repaint_after(std::time::Duration::from_millis(100));
    let rest = jobs.len().saturating_sub(JOBS);
    ui.with_layout(Layout::top_down(Align::Max), |ui| {
        let rows = jobs.len().min(JOBS) as f32;
        let height = 22.0;
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.add_space((theme::STRIP_HEIGHT - rows * height) / 2.0);
        for (i, job) in jobs.iter().take(JOBS).enumerate() {
            let more = if i + 1 == JOBS && rest > 0 { format!(" and {rest} more") } else { String::new() };
            let row = Vec2::new(ui.available_width(), height);
            let layout = Layout::right_to_left(Align::Center);
            ui.allocate_ui_with_layout(row, layout, |ui| {
                ui.set_min_height(height);
                if job_ui(ui, job, &more) {
                    cx.desk.tasks.cancel(job.id);
                }
            });
        }
    });
}

/// One job, from the right; whether it is to stop.
fn job_ui(ui: &mut Ui, job: &TaskInfo, more: &str) -> bool {
    let p = theme::of(ui);
    ui.spacing_mut().interact_size.y = 20.0;
    let stop = Button::new(RichText::new("Stop").small()).small();
    let stopped = ui.add(stop).on_hover_text(format!("Stop: {}", job.label)).clicked();
    let (bar, response) = ui.allocate_exact_size(Vec2::new(BAR, theme::BAR), Sense::hover());
    theme::named(&response, egui::Role::ProgressIndicator, &job.label);
    let painter = ui.painter();
    painter.rect_filled(bar, theme::BAR / 2.0, p.line);
    let done = Rect::from_min_size(bar.min, Vec2::new(BAR * job.fraction.clamp(0.0, 1.0) as f32, theme::BAR));
    painter.rect_filled(done, theme::BAR / 2.0, p.text);
    let label = RichText::new(format!("{}{more}", job.label)).small().color(p.faint);
    ui.add(egui::Label::new(label).truncate());
    stopped
}
