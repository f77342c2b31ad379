//! The menu bar: the menus from the table of actions, and the sheet and face that are shown.

mod act;

pub(super) use act::{TRUE_SIZE, keys};

use egui::{Button, Ui};
use slipsheet_editor::{Leave, Request};
use slipsheet_files::file_name;

use super::actions::{self, Action, MENUS, Menu};
use super::context::Context;
use super::wrap::which_sheet_ui;
use super::{UiCommand, theme};

pub(super) fn menu_ui(ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
    egui::MenuBar::new().ui(ui, |ui| {
        for (menu, name) in
            [(Menu::File, "File"), (Menu::Edit, "Edit"), (Menu::View, "View"), (Menu::Help, "Help")]
        {
            ui.menu_button(name, |ui| {
                // In a low window a long menu scrolls.
                let room = (ui.ctx().content_rect().height() - 60.0).max(120.0);
                egui::ScrollArea::vertical().max_height(room).min_scrolled_height(room).show(ui, |ui| {
                    for (i, (_, group)) in MENUS.iter().filter(|(m, _)| *m == menu).enumerate() {
                        if i > 0 {
                            ui.separator();
                        }
                        for action in group.iter().filter(|action| fits(cx, **action)) {
                            entry_ui(ui, cx, actions::of(*action), out);
                            if *action == Action::Open {
                                recent_ui(ui, cx, out);
                            }
                        }
                    }
                });
            });
        }
        ui.add_space(theme::GROUP_GAP);
        which_sheet_ui(ui, cx, out);
        title_ui(ui, cx);
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            sheets_ui(ui, cx, out);
            if cx.session.printing().sheet.two_sided() {
                let info = actions::of(Action::OtherFace);
                if ui
                    .button(format!("{} of the sheet", cx.showing.face.name()))
                    .on_hover_text(hint(ui, info))
                    .clicked()
                {
                    out.push(Action::OtherFace.into());
                }
            }
        });
    });
}

/// The project's title in the middle of the line, where there is room; the desktop's own bar may be hidden.
fn title_ui(ui: &Ui, cx: &Context<'_>) {
    let (p, bar) = (theme::of(ui), ui.ctx().content_rect());
    let galley = ui.painter().layout_no_wrap(cx.session.title(), theme::body(), p.faint);
    let at = egui::pos2(bar.center().x, ui.max_rect().center().y) - galley.size() / 2.0;
    if at.x > ui.cursor().left() + theme::GROUP_GAP && galley.size().x < bar.width() / 3.0 {
        ui.painter().galley(at, galley, p.faint);
    }
}

/// Steps through the sheets of a booklet.
fn sheets_ui(ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
    let sheets = cx.session.printing().sheet.printed_sheets();
    if sheets < 2 {
        return;
    }
    let at = cx.showing.booklet_sheet.min(sheets - 1);
    let step = |ui: &mut Ui, action: Action, sign: &str| {
        let button = ui.add_enabled(cx.enabled(action), Button::new(sign));
        button.on_hover_text(hint(ui, actions::of(action))).clicked()
    };
    if step(ui, Action::NextSheet, ">") {
        out.push(Action::NextSheet.into());
    }
    ui.label(format!("Sheet {} of {sheets}", at + 1));
    if step(ui, Action::PreviousSheet, "<") {
        out.push(Action::PreviousSheet.into());
    }
}

/// Whether an action makes sense for what is open at all; what does not is left out of the menus.
fn fits(cx: &Context<'_>, action: Action) -> bool {
    let several = cx.session.printing().sheet.printed_sheets() > 1;
    several || !matches!(action, Action::NextSheet | Action::PreviousSheet)
}

fn entry_ui(ui: &mut Ui, cx: &Context<'_>, info: &actions::Info, out: &mut Vec<UiCommand>) {
    let mut label = info.label.to_owned();
    let history = cx.session.history();
    let undone = history.undo_label().filter(|_| info.action == Action::Undo);
    let redone = history.redo_label().filter(|_| info.action == Action::Redo);
    label.extend(undone.or(redone).map(|step| format!(": {}", lower(step))));
    let ticked = info.ticked(cx.showing);
    let mut button = Button::selectable(ticked == Some(true), label);
    if let Some(key) = &info.key {
        let text = egui::RichText::new(actions::shortcut(ui.ctx(), key)).color(theme::of(ui).faint);
        button = button.shortcut_text(text);
    }
    if ui.add_enabled(cx.enabled(info.action), button).on_hover_text(info.tip).clicked() {
        out.push(info.action.into());
        ui.close();
    }
}

fn recent_ui(ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
    let recent = &cx.session.settings().recent;
    ui.add_enabled_ui(!recent.is_empty(), |ui| {
        ui.menu_button("Recent projects", |ui| {
            for path in recent {
                let name = file_name::stem(path);
                if ui.button(name).on_hover_text(path.display().to_string()).clicked() {
                    out.push(Request::Leave(Leave::Open(path.clone())).into());
                    ui.close();
                }
            }
        });
    });
}

/// A tooltip with its key.
pub(super) fn hint(ui: &Ui, info: &actions::Info) -> String {
    match &info.key {
        Some(key) => format!("{} ({})", info.tip, actions::shortcut(ui.ctx(), key)),
        None => info.tip.to_owned(),
    }
}

fn lower(label: &str) -> String {
    let mut chars = label.chars();
    chars.next().map_or_else(String::new, |c| c.to_lowercase().chain(chars).collect())
}
