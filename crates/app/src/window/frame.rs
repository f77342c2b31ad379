//! One frame: what has come is taken, the panels are drawn, and then what they ask for is done.

use egui::{Align2, Area, CentralPanel, Frame, Id, Key, Margin, Order, Panel, Vec2, ViewportCommand};
use slipsheet_editor::{Effect, Leave, PackExport, Request};
use slipsheet_files::pack::PackChoices;
use slipsheet_paper::fold::Face;

use super::booking::terms_ui;
use super::context::{Component as _, Context};
use super::inspector::inspector_ui;
use super::menu::{keys, menu_ui};
use super::notices::notices_ui;
use super::overlays::Overlays;
use super::views::views_ui;
use super::{MainView, Parts, SlipsheetApp, Spot, UiCommand, theme};

impl eframe::App for SlipsheetApp {
    fn logic(&mut self, ctx: &egui::Context, _frame: &mut eframe::Frame) {
        self.poll(ctx);
        self.dropped(ctx);
        self.closing(ctx);
        self.keep_recovery(ctx);
    }

    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        self.window_ui(ui);
    }

    /// What is kept is kept in the home, as settings. Where a list was scrolled to belongs to its project and
    /// its window, and would greet the next one.
    fn persist_egui_memory(&self) -> bool {
        false
    }
}

impl SlipsheetApp {
    /// The whole window.
    pub fn window_ui(&mut self, ui: &mut egui::Ui) {
        let ctx = ui.ctx().clone();
        self.follow_sheet();
        if !self.session.printing().sheet.two_sided() {
            self.showing.face = Face::Front;
        }
        let title = format!("{} · Slipsheet", self.session.title());
        ctx.send_viewport_cmd_if_changed(title);
        self.reach = self.reach.now(&ctx, self.parts.overlays.shown());
        self.showing.perfect = self.reach.views() && ctx.input(|i| i.key_down(Key::P));
        self.desk.look_at_figures(&self.session);

        let mut out = Vec::new();
        let (cx, parts) = self.split();
        if !parts.views.sheet.is_dragging() {
            out = keys(&ctx, &cx);
        }
        // A drag whose end was not seen, because the view changed under it, ends here.
        if parts.views.sheet.lost_its_drag(&ctx) {
            out.push(Request::EndGesture.into());
        }
        panels_ui(ui, &cx, parts, &mut out);
        drop_hint(&ctx, &parts.overlays);
        parts.overlays.ui(&ctx, &cx, &mut out);
        out.into_iter().for_each(|command| self.handle(&ctx, command));

        // Pictures are of the project as the frame's commands have left it.
        self.order(&ctx);
    }

    /// Orders what the views want. While something is dragged the sheet's picture comes first; slips change no study
    /// anyway.
    fn order(&mut self, ctx: &egui::Context) {
        let dragging = self.parts.views.sheet.is_dragging();
        for view in [MainView::Sheet, MainView::Dummy, MainView::Run, MainView::Booking] {
            let (cx, parts) = self.split();
            if dragging && view == MainView::Run {
                continue;
            }
            if let Some(wanted) = parts.views.of(view).order(ctx, &cx) {
                self.desk.order(&self.session, &self.showing, wanted);
            }
        }
    }

    /// What belonged to the sheet that was open before is put away.
    fn follow_sheet(&mut self) {
        let shown = self.session.shows_wrap();
        if self.shows_wrap != shown {
            self.shows_wrap = shown;
            self.parts.views.sheet.fit = true;
            self.parts.overlays.drop_line_ups();
            self.showing.of_another_sheet(shown);
        }
    }

    /// Does what a part of the window asks for.
    fn handle(&mut self, ctx: &egui::Context, command: UiCommand) {
        match command {
            UiCommand::Request(request) => self.run(ctx, request),
            UiCommand::Act(action) => self.act(ctx, action),
            UiCommand::Recover(left) => self.recover(ctx, *left),
            UiCommand::Pack(choices) => self.ask_pack(ctx, choices),
            UiCommand::AcceptFromNow(acceptance) => {
                self.session.settings_mut().acceptance = acceptance;
                self.carry_out(ctx, Effect::SaveSettings);
            }
            UiCommand::LookAt(spot) => self.look_at(ctx, spot),
            UiCommand::Compare(compare) => self.showing.compare = compare,
            UiCommand::Open(overlay) => self.parts.overlays.open(*overlay),
            UiCommand::Previews(order) => {
                self.desk.previews.cancel();
                if let Some(order) = order {
                    let snapshot = self.desk.snapshot(&self.session);
                    self.desk.previews.order(snapshot, order);
                }
            }
            UiCommand::Separating(order) => match order {
                Some(order) => {
                    let snapshot = self.desk.snapshot(&self.session);
                    self.desk.separating.order(snapshot, order);
                }
                None => self.desk.separating.cancel(),
            },
            UiCommand::Dust(order) => {
                let snapshot = self.desk.snapshot(&self.session);
                self.desk.dust.order(snapshot, order);
            }
            UiCommand::Readings(order) => {
                let snapshot = self.desk.snapshot(&self.session);
                self.desk.readings.order(snapshot, order);
            }
        }
    }

    /// The window's own closing button asks as Quit does.
    fn closing(&mut self, ctx: &egui::Context) {
        if !ctx.input(|i| i.viewport().close_requested()) {
            return;
        }
        if self.leaving || self.session.may_end() {
            self.drop_recovery();
            return;
        }
        ctx.send_viewport_cmd(ViewportCommand::CancelClose);
        self.run(ctx, Request::Leave(Leave::Quit));
    }

    /// Opens the Sheet view at a place.
    fn look_at(&mut self, ctx: &egui::Context, spot: Spot) {
        let (showing, sheet) = (&mut self.showing, &mut self.parts.views.sheet);
        showing.view = MainView::Sheet;
        showing.heat |= spot.heat;
        showing.booklet_sheet = spot.sheet.unwrap_or(showing.booklet_sheet);
        showing.face = spot.face.unwrap_or(showing.face);
        match spot.at {
            Some((at, zoom)) => sheet.look_at(at, zoom),
            None => sheet.fit = true,
        }
        let layers = &self.session.printing().sheet.layers;
        sheet.play(spot.slip, |i| layers.get(i).map(|l| l.slip), ctx.input(|i| i.time) + 0.4);
    }

    /// Remembers what was chosen for a pack and asks for its folder.
    fn ask_pack(&mut self, ctx: &egui::Context, choices: PackChoices) {
        self.session.settings_mut().pack = choices;
        self.carry_out(ctx, Effect::SaveSettings);
        self.run(ctx, Request::export(PackExport));
    }
}

/// The menu, the strip of views, the two sides, the open view, and the latest notice over it.
fn panels_ui(ui: &mut egui::Ui, cx: &Context<'_>, parts: &mut Parts, out: &mut Vec<UiCommand>) {
    let (p, view) = (theme::of(ui), cx.showing.view);
    let bar = Frame::new().fill(p.panel).inner_margin(Margin::symmetric(theme::PANEL_MARGIN, 5));
    Panel::top("menu bar").frame(bar).show(ui, |ui| menu_ui(ui, cx, out));
    let strip = Panel::top("views").frame(Frame::new().fill(p.strip)).resizable(false);
    strip.exact_size(theme::STRIP_HEIGHT).show(ui, |ui| views_ui(ui, cx, out));
    let side = Frame::new().fill(p.panel).inner_margin(Margin::same(theme::PANEL_MARGIN));
    let inspector = Panel::right("inspector").frame(side).resizable(false);
    let inspector = inspector.exact_size(theme::INSPECTOR_WIDTH);
    // The work of Run and Booking is wide: the stack and the inspector give way to it.
    match view {
        MainView::Sheet | MainView::Dummy => {
            let stack = Panel::left("stack").frame(side).resizable(false).exact_size(theme::STACK_WIDTH);
            stack.show(ui, |ui| parts.stack.ui(ui, cx, out));
            inspector.show(ui, |ui| inspector_ui(ui, cx, out));
        }
        MainView::Booking => {
            inspector.show(ui, |ui| terms_ui(ui, cx, out));
        }
        MainView::Run => {}
    }
    let canvas = CentralPanel::default().frame(Frame::new().fill(p.canvas));
    let work = canvas.show(ui, |ui| parts.views.of(view).ui(ui, cx, out));
    notices_ui(ui, cx, work.response.rect, out);
}

/// Says that files may be let go.
fn drop_hint(ctx: &egui::Context, overlays: &Overlays) {
    if ctx.input(|i| i.raw.hovered_files.is_empty()) {
        return;
    }
    let area = Area::new(Id::unique("drop hint")).anchor(Align2::CENTER_CENTER, Vec2::ZERO);
    area.order(Order::Tooltip).show(ctx, |ui| {
        Frame::popup(ui.style()).inner_margin(18).show(ui, |ui| {
            ui.label(theme::heading(&drop_words(overlays)));
        });
    });
}

/// What letting go of files would do.
fn drop_words(overlays: &Overlays) -> String {
    match overlays.shown() {
        Some(_) if overlays.takes_paths() => "Drop to use this path".to_owned(),
        Some(overlay) => format!("Close “{}” first, then drop the files", overlay.name()),
        None => "Drop to add scans or to open a project".to_owned(),
    }
}

trait TitleIfChanged {
    fn send_viewport_cmd_if_changed(&self, title: String);
}

impl TitleIfChanged for egui::Context {
    /// Sets the window's title when it is another one than before.
    fn send_viewport_cmd_if_changed(&self, title: String) {
        let id = Id::unique("window title");
        let known = self.data(|d| d.get_temp::<String>(id));
        if known.as_ref() != Some(&title) {
            self.data_mut(|d| d.insert_temp(id, title.clone()));
            self.send_viewport_cmd(ViewportCommand::Title(title));
        }
    }
}
