//! The menu bar with the views, and what every action does.

use egui::{Button, Ui};
use slipsheet_core::fold::Face;
use slipsheet_core::layer::Slip;
use slipsheet_editor::{Command, LayerChange, Pick};
use slipsheet_files::home::{LengthUnit, Theme};

use super::actions::{self, Action, Menu, TABLE};
use super::compare::How;
use super::dialogs::Dialog;
use super::{MainView, SlipsheetApp, Wish, Wishes, theme};

impl SlipsheetApp {
    pub(super) fn menu_ui(&self, ui: &mut Ui, wanted: &mut Wishes) {
        egui::MenuBar::new().ui(ui, |ui| {
            for (menu, name) in
                [(Menu::File, "File"), (Menu::Edit, "Edit"), (Menu::View, "View"), (Menu::Help, "Help")]
            {
                ui.menu_button(name, |ui| {
                    for info in TABLE.iter().filter(|i| i.menu == menu && self.fits(i.action)) {
                        if info.group {
                            ui.separator();
                        }
                        self.entry_ui(ui, info, wanted);
                        if info.action == Action::Open {
                            self.recent_ui(ui, wanted);
                        }
                    }
                });
            }
            ui.add_space(theme::GROUP_GAP);
            for (view, action) in [
                (MainView::Sheet, Action::SheetView),
                (MainView::Dummy, Action::DummyView),
                (MainView::Run, Action::RunView),
                (MainView::Booking, Action::BookingView),
            ] {
                let info = actions::of(action);
                let tab = Button::selectable(
                    self.state.view == view,
                    egui::RichText::new(info.label).family(theme::strong()),
                );
                if ui.add(tab.min_size(egui::vec2(72.0, 24.0))).on_hover_text(hint(ui, info)).clicked() {
                    wanted.push(Wish::Act(action));
                }
            }
            self.which_sheet_ui(ui, wanted);
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                for action in [Action::Proof, Action::AddScans] {
                    let info = actions::of(action);
                    let button = ui.add_enabled(self.enabled(action), Button::new(info.label));
                    if button.on_hover_text(hint(ui, info)).clicked() {
                        wanted.push(Wish::Act(action));
                    }
                }
                self.sheets_ui(ui, wanted);
                if self.session.project().two_sided() {
                    let info = actions::of(Action::OtherFace);
                    if ui
                        .button(format!("{} of the sheet", self.state.face.name()))
                        .on_hover_text(hint(ui, info))
                        .clicked()
                    {
                        wanted.push(Wish::Act(Action::OtherFace));
                    }
                }
            });
        });
    }

    /// Steps through the sheets of a booklet.
    fn sheets_ui(&self, ui: &mut Ui, wanted: &mut Wishes) {
        let sheets = self.session.project().sheets();
        if sheets < 2 {
            return;
        }
        let at = self.state.booklet_sheet.min(sheets - 1);
        let step = |ui: &mut Ui, action: Action, sign: &str| {
            let button = ui.add_enabled(self.enabled(action), Button::new(sign));
            button.on_hover_text(hint(ui, actions::of(action))).clicked()
        };
        if step(ui, Action::NextSheet, ">") {
            wanted.push(Wish::Act(Action::NextSheet));
        }
        ui.label(format!("Sheet {} of {sheets}", at + 1));
        if step(ui, Action::PreviousSheet, "<") {
            wanted.push(Wish::Act(Action::PreviousSheet));
        }
    }

    /// Whether an action makes sense for what is open at all; what does not is left out of the menus.
    fn fits(&self, action: Action) -> bool {
        let several = self.session.project().sheets() > 1;
        several || !matches!(action, Action::NextSheet | Action::PreviousSheet)
    }

    fn entry_ui(&self, ui: &mut Ui, info: &actions::Info, wanted: &mut Wishes) {
        let mut label = info.label.to_owned();
        match info.action {
            Action::Undo => {
                label.extend(self.session.history().undo_label().map(|l| format!(": {}", lower(l))))
            }
            Action::Redo => {
                label.extend(self.session.history().redo_label().map(|l| format!(": {}", lower(l))))
            }
            _ => {}
        }
        let ticked = match info.action {
            Action::FoldGuides => Some(self.state.fold_guides),
            Action::PageMarks if self.state.view == MainView::Dummy => Some(self.state.dummy.numbers),
            Action::PageMarks => Some(self.state.page_marks),
            Action::Rulers => Some(self.state.rulers),
            Action::ShowThrough => Some(self.state.show_through),
            Action::Blink => Some(self.compares(How::Blink)),
            Action::Difference => Some(self.compares(How::Difference)),
            Action::LostTones => Some(self.state.lost_tones),
            Action::Solo => Some(self.state.alone),
            Action::SheetView => Some(self.state.view == MainView::Sheet),
            Action::DummyView => Some(self.state.view == MainView::Dummy),
            Action::RunView => Some(self.state.view == MainView::Run),
            Action::TightEdges => Some(self.state.run.heat),
            Action::BookingView => Some(self.state.view == MainView::Booking),
            _ => None,
        };
        let mut button = Button::selectable(ticked == Some(true), label);
        if let Some(key) = &info.key {
            button = button.shortcut_text(ui.ctx().format_shortcut(key));
        }
        if ui.add_enabled(self.enabled(info.action), button).on_hover_text(info.tip).clicked() {
            wanted.push(Wish::Act(info.action));
            ui.close();
        }
    }

    fn recent_ui(&self, ui: &mut Ui, wanted: &mut Wishes) {
        let recent = &self.session.settings().recent;
        ui.add_enabled_ui(!recent.is_empty(), |ui| {
            ui.menu_button("Recent projects", |ui| {
                for path in recent {
                    let name = path.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default();
                    if ui.button(name).on_hover_text(path.display().to_string()).clicked() {
                        wanted.push(Wish::Do(Command::Open(path.clone())));
                        ui.close();
                    }
                }
            });
        });
    }

    /// Actions whose keys were pressed in this frame.
    pub(super) fn keys(&self, ctx: &egui::Context) -> Wishes {
        let mut wanted = Wishes::new();
        let state = &self.state;
        let asked = state.dialog.is_some() || state.shelf.open || state.lineup.is_some();
        let asked = asked || state.calibration.is_open() || state.strip.is_open() || state.series.is_open();
        let asked = asked || state.wrap.is_open() || state.schemes.open;
        if asked || state.sheet.is_dragging() {
            return wanted;
        }
        let typing = ctx.egui_wants_keyboard_input();
        // egui lets a key match with shift held besides, so the longer shortcuts are asked first.
        let shifted = |i: &&actions::Info| i.key.is_some_and(|k| k.modifiers.shift);
        for info in TABLE.iter().filter(shifted).chain(TABLE.iter().filter(|i| !shifted(i))) {
            let Some(key) = &info.key else { continue };
            // Most keys belong to the field one types in: letters, but also undo and delete.
            let always = [Action::New, Action::Open, Action::Save, Action::SaveAs, Action::Quit]
                .contains(&info.action);
            if typing && !always {
                continue;
            }
            if self.enabled(info.action) && ctx.input_mut(|i| i.consume_shortcut(key)) {
                wanted.push(Wish::Act(info.action));
            }
        }
        wanted
    }

    pub(super) fn enabled(&self, action: Action) -> bool {
        let layer = self.session.selected_layer();
        let layers = self.session.project().layers.len();
        match action {
            Action::Undo => self.session.history().undo_label().is_some(),
            Action::Redo => self.session.history().redo_label().is_some(),
            Action::RemoveLayer | Action::ToggleVisible | Action::Solo => layer.is_some(),
            Action::CompareReadings => layer.is_some_and(|(_, l)| !l.art.is_empty()),
            Action::PrintLater => layer.is_some_and(|(i, _)| i + 1 < layers),
            Action::PrintEarlier => layer.is_some_and(|(i, _)| i > 0),
            Action::LineUpByMarks => {
                let art = self.session.selection().art;
                layer.is_some_and(|(_, l)| l.art.get(art).is_some())
            }
            Action::ResetSlip => layer.is_some_and(|(_, l)| !l.slip.is_none()),
            Action::OtherSheet => self.session.project().wrap.is_some(),
            Action::ResetSlips => {
                let project = self.session.project();
                !project.back_slip.is_none() || project.layers.iter().any(|l| !l.slip.is_none())
            }
            Action::PrintedDummy | Action::FoldingSteps => {
                self.session.project().fold.is_some() || self.session.project().booklet.is_some()
            }
            Action::OtherFace | Action::ShowThrough => self.session.project().two_sided(),
            Action::Blink | Action::Difference => self.can_compare(),
            Action::Proof | Action::Wedge | Action::Editions | Action::Colourways => layers > 0,
            Action::ExportMarks | Action::ReadMarks => {
                self.session.project().on(Face::Front).nth(1).is_some()
            }
            Action::Pack => self.session.project().layers.iter().any(|l| l.visible),
            Action::Collect => layers > 0 && self.session.path().is_some(),
            Action::FindScans => !self.session.missing().is_empty(),
            Action::AcceptChanged => self.session.changed().next().is_some(),
            Action::NextPage | Action::PreviousPage => self.state.view == MainView::Dummy,
            Action::NextSheet => self.state.booklet_sheet + 1 < self.session.project().sheets(),
            Action::PreviousSheet => self.state.booklet_sheet > 0 && self.session.project().sheets() > 1,
            _ => true,
        }
    }

    pub(super) fn act(&mut self, ctx: &egui::Context, action: Action) {
        let layer = self.session.selection().layer;
        let with_layer = |change| layer.map(|i| Command::Layer(i, change));
        let command = match action {
            Action::New => Some(Command::New),
            Action::Open => Some(Command::AskOpen),
            Action::Save => Some(Command::Save),
            Action::SaveAs => Some(Command::AskSaveAs),
            Action::Collect => Some(Command::Collect),
            Action::FindScans => Some(Command::AskFindScans),
            Action::AcceptChanged => Some(Command::AcceptChanged),
            Action::AddScans => Some(Command::AskScans(None)),
            Action::Guide => Some(Command::AskExport(Pick::ExportGuide)),
            Action::Wedge => Some(Command::AskExport(Pick::ExportWedge)),
            Action::ReadWedge => Some(Command::AskExport(Pick::ReadWedge)),
            Action::ImportMeasured => Some(Command::AskExport(Pick::ImportMeasured)),
            Action::ExportMarks => Some(Command::AskExport(Pick::ExportMarks)),
            Action::ReadMarks => Some(Command::AskExport(Pick::ReadMarks)),
            Action::OtherSheet => Some(Command::TurnTo(!self.session.project().shows_wrap())),
            Action::Quit => Some(Command::Quit),
            Action::Undo => Some(Command::Undo),
            Action::Redo => Some(Command::Redo),
            Action::AddLayer => Some(Command::AddLayer),
            Action::RemoveLayer => layer.map(Command::RemoveLayer),
            Action::PrintLater => layer.map(|i| Command::MoveLayer { from: i, to: i + 1 }),
            Action::PrintEarlier => layer.map(|i| Command::MoveLayer { from: i, to: i.saturating_sub(1) }),
            Action::ToggleVisible => {
                let visible = self.session.selected_layer().is_some_and(|(_, l)| l.visible);
                with_layer(LayerChange::Visible(!visible))
            }
            Action::LineUpByMarks => layer.map(|i| Command::LookOverMarks(i, self.session.selection().art)),
            Action::ResetSlip => with_layer(LayerChange::Slip(Slip::default())),
            Action::ResetSlips => Some(Command::ResetSlips),
            _ => {
                self.act_on_window(ctx, action);
                None
            }
        };
        if let Some(command) = command {
            self.run(ctx, command);
        }
    }

    fn act_on_window(&mut self, ctx: &egui::Context, action: Action) {
        if action == Action::CompareReadings {
            return self.open_strip(ctx);
        }
        if action == Action::Wrap {
            return self.open_wrap();
        }
        if action == Action::Pack {
            self.state.dialog = Some(Dialog::Pack(self.session.settings().pack));
            return;
        }
        if action == Action::DummyPicture {
            let form = super::dummy::PictureForm::new(self);
            self.state.dialog = Some(Dialog::DummyPicture(Box::new(form)));
            return;
        }
        let piece = slipsheet_core::dummy::Piece::of(self.session.project());
        let last = self.session.project().sheets() - 1;
        let state = &mut self.state;
        match action {
            Action::Blink => self.compare(How::Blink),
            Action::Difference => self.compare(How::Difference),
            Action::Proof => state.dialog = Some(Dialog::proof(state.face, state.booklet_sheet)),
            Action::Solo => state.alone = !state.alone,
            Action::SheetView => state.view = MainView::Sheet,
            Action::DummyView => state.view = MainView::Dummy,
            Action::RunView => state.view = MainView::Run,
            Action::TightEdges => state.run.heat = !state.run.heat,
            Action::BookingView => state.view = MainView::Booking,
            Action::Fit if state.view == MainView::Dummy => state.dummy.face_front(),
            Action::Fit => state.sheet.fit = true,
            Action::ActualSize => state.sheet.wanted_zoom = Some(TRUE_SIZE),
            Action::ZoomIn if state.view == MainView::Dummy => state.dummy.zoom_by(1.25),
            Action::ZoomOut if state.view == MainView::Dummy => state.dummy.zoom_by(0.8),
            Action::ZoomIn => state.sheet.zoom_by(1.25),
            Action::ZoomOut => state.sheet.zoom_by(0.8),
            Action::OtherFace => {
                state.face = if state.face == Face::Front { Face::Back } else { Face::Front };
            }
            Action::FoldGuides => state.fold_guides = !state.fold_guides,
            Action::PageMarks if state.view == MainView::Dummy => state.dummy.numbers = !state.dummy.numbers,
            Action::PageMarks => state.page_marks = !state.page_marks,
            Action::Rulers => state.rulers = !state.rulers,
            Action::ShowThrough => state.show_through = !state.show_through,
            Action::FoldingSteps => state.dialog = Some(Dialog::FoldingSteps),
            Action::PrintedDummy => state.dialog = Some(Dialog::PrintedDummy(Default::default())),
            Action::LostTones => state.lost_tones = !state.lost_tones,
            Action::NextPage | Action::PreviousPage => {
                state.dummy.turn(&piece, if action == Action::NextPage { 1 } else { -1 });
            }
            Action::NextSheet => state.booklet_sheet = (state.booklet_sheet + 1).min(last),
            Action::PreviousSheet => state.booklet_sheet = state.booklet_sheet.saturating_sub(1).min(last),
            Action::Editions => state.series.open_editions(),
            Action::Colourways => state.series.open_colourways(),
            Action::Shelf => state.shelf.open = true,
            Action::FoldSchemes => state.schemes.show(),
            Action::Help => state.dialog = Some(Dialog::Help),
            Action::Units | Action::Theme => {
                let settings = self.session.settings_mut();
                if action == Action::Units {
                    settings.unit =
                        if settings.unit == LengthUnit::Mm { LengthUnit::Inch } else { LengthUnit::Mm };
                } else {
                    settings.theme = match settings.theme {
                        Theme::System => Theme::Light,
                        Theme::Light => Theme::Dark,
                        Theme::Dark => Theme::System,
                    };
                }
                theme::follow(ctx, settings.theme);
                self.carry_out(ctx, slipsheet_editor::Effect::SaveSettings);
            }
            _ => {}
        }
    }
}

/// Points per mm at 96 points to the inch, which most desktops keep to.
const TRUE_SIZE: f32 = 96.0 / 25.4;

/// A tooltip with its key.
pub(super) fn hint(ui: &Ui, info: &actions::Info) -> String {
    match &info.key {
        Some(key) => format!("{} ({})", info.tip, ui.ctx().format_shortcut(key)),
        None => info.tip.to_owned(),
    }
}

fn lower(label: &str) -> String {
    let mut chars = label.chars();
    chars.next().map_or_else(String::new, |c| c.to_lowercase().chain(chars).collect())
}
