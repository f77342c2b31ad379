//! One frame: what has come is taken, the panels are drawn, and then what they ask for is done.

use egui::{Align2, Area, CentralPanel, Frame, Id, Key, Margin, Order, Panel, Vec2, ViewportCommand};
use slipsheet_editor::{Leave, Request};
use slipsheet_paper::fold::Face;

use super::overlays::Context;
use super::{MainView, SlipsheetApp, UiCommand, theme};

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
        let p = theme::of(ui);
        let title = format!("{} · Slipsheet", self.session.title());
        ctx.send_viewport_cmd_if_changed(title);
        self.look_at_reach(&ctx);
        self.showing.perfect = self.state.reach.views() && ctx.input(|i| i.key_down(Key::P));
        let mut out = self.keys(&ctx);
        // A drag whose end was not seen, because the view changed under it, ends here.
        if self.state.sheet.lost_its_drag(&ctx) {
            out.push(UiCommand::Request(Request::EndGesture));
        }
        let bar = Frame::new().fill(p.panel).inner_margin(Margin::symmetric(theme::PANEL_MARGIN, 5));
        Panel::top("menu bar").frame(bar).show(ui, |ui| self.menu_ui(ui, &mut out));
        self.look_at_figures();
        let strip = Panel::top("views").frame(Frame::new().fill(p.strip)).resizable(false);
        strip.exact_size(theme::STRIP_HEIGHT).show(ui, |ui| self.views_ui(ui, &mut out));
        let side = Frame::new().fill(p.panel).inner_margin(Margin::same(theme::PANEL_MARGIN));
        Panel::left("stack")
            .frame(side)
            .resizable(false)
            .exact_size(theme::STACK_WIDTH)
            .show(ui, |ui| self.stack_ui(ui, &mut out));
        Panel::right("inspector").frame(side).resizable(false).exact_size(theme::INSPECTOR_WIDTH).show(
            ui,
            |ui| match self.showing.view {
                MainView::Booking => self.terms_ui(ui, &mut out),
                MainView::Sheet | MainView::Dummy | MainView::Run => self.inspector_ui(ui, &mut out),
            },
        );
        let canvas = Frame::new().fill(p.canvas);
        let work = CentralPanel::default().frame(canvas).show(ui, |ui| match self.showing.view {
            MainView::Sheet => self.sheet_ui(ui, &mut out),
            MainView::Dummy => self.dummy_ui(ui, &mut out),
            MainView::Run => self.run_ui(ui, &mut out),
            MainView::Booking => self.booking_ui(ui, &mut out),
        });
        self.notices_ui(&ctx, work.response.rect, &mut out);
        self.drop_hint(&ctx);
        self.overlays_ui(&ctx, &mut out);
        out.into_iter().for_each(|command| self.handle(&ctx, command));

        // Pictures are of the project as the frame's commands have left it.
        self.order_sheet(&ctx);
        self.order_dummy();
        self.order_runs(&ctx);
    }

    /// The overlay that is open, or the question over it.
    fn overlays_ui(&mut self, ctx: &egui::Context, out: &mut Vec<UiCommand>) {
        let cx = Context {
            session: &self.session,
            tasks: &self.tasks,
            previews: &self.previews,
            findings: &self.findings,
            pages: self.booking.pages(),
            home: &self.home,
        };
        self.overlays.ui(ctx, &cx, out);
    }

    /// Does what a part of the window asks for.
    fn handle(&mut self, ctx: &egui::Context, command: UiCommand) {
        match command {
            UiCommand::Request(request) => self.run(ctx, request),
            UiCommand::Act(action) => self.act(ctx, action),
            UiCommand::Recover(left) => self.recover(ctx, *left),
            UiCommand::Pack(choices) => self.ask_pack(ctx, choices),
            UiCommand::Open(overlay) => self.overlays.open(*overlay),
            UiCommand::Previews(order) => {
                self.previews.cancel();
                if let Some(order) = order {
                    let snapshot = self.snapshot();
                    self.previews.order(snapshot, order);
                }
            }
            UiCommand::Readings(order) => {
                let snapshot = self.snapshot();
                self.readings.order(snapshot, order);
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

    /// Says that files may be let go.
    fn drop_hint(&self, ctx: &egui::Context) {
        if ctx.input(|i| i.raw.hovered_files.is_empty()) {
            return;
        }
        let area = Area::new(Id::unique("drop hint")).anchor(Align2::CENTER_CENTER, Vec2::ZERO);
        area.order(Order::Tooltip).show(ctx, |ui| {
            Frame::popup(ui.style()).inner_margin(18).show(ui, |ui| {
                ui.label(theme::heading(&self.drop_words()));
            });
        });
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
