//! A path, typed: for desktops without a dialog, and for files that are there already.

use std::path::{Path, PathBuf};

use egui::{Key, KeyboardShortcut, Modifiers, RichText, TextEdit, Ui};
use slipsheet_editor::{GoesTo, Pick, Request};

use super::{Next, buttons};
use crate::window::overlays::Question;
use crate::window::paths::{self, AskedPath};
use crate::window::{UiCommand, theme};

/// Said before a file is replaced.
const REPLACE: &str = "This file exists. Press OK again to replace it, or type another name.";

impl Question {
    /// The window's own path field, for desktops without a dialog.
    pub fn typed_path(asked: AskedPath) -> Self {
        let folder = asked
            .start
            .as_ref()
            .and_then(|p| p.parent())
            .map(PathBuf::from)
            .or_else(|| std::env::current_dir().ok());
        let text = folder.unwrap_or_default().join(paths::proposal(&asked)).display().to_string();
        Self::Path { asked, text, trouble: None, replaces: None }
    }

    /// The same for a file that is there already: to be said once more, or changed.
    pub fn replace(asked: AskedPath, path: &Path) -> Self {
        let trouble = Some(REPLACE.to_owned());
        Self::Path { asked, text: path.display().to_string(), trouble, replaces: Some(path.to_owned()) }
    }

    /// Whether a file let go over the window is a path for this dialog.
    pub fn takes_paths(&self) -> bool {
        matches!(self, Self::Path { .. })
    }

    /// Takes files let go over the window for what would be typed; whether they are of use here.
    pub fn take_dropped(&mut self, files: &[PathBuf]) -> bool {
        let Self::Path { asked, text, trouble, replaces } = self else { return false };
        let most = if several(&asked.pick) { files.len() } else { 1 };
        let lines: Vec<String> = files.iter().take(most).map(|f| f.display().to_string()).collect();
        (*text, *trouble, *replaces) = (lines.join("\n"), None, None);
        true
    }
}

/// Whether a folder is asked for.
fn is_folder(pick: &Pick) -> bool {
    match pick {
        Pick::FindScans => true,
        Pick::Export(export) => !matches!(export.about().goes_to, GoesTo::File { .. }),
        Pick::OpenProject | Pick::SaveProject | Pick::AddScans(_) | Pick::ImportShelf => false,
        Pick::ReadWedge | Pick::ImportMeasured | Pick::ReadMarks | Pick::ImportPress | Pick::Picture => false,
    }
}

/// Whether several files are asked for, each on a line of its own.
fn several(pick: &Pick) -> bool {
    matches!(pick, Pick::AddScans(_) | Pick::ReadMarks)
}

pub(in crate::window) fn path_ui(
    ui: &mut Ui,
    asked: &AskedPath,
    text: &mut String,
    (trouble, replaces): (&mut Option<String>, &mut Option<PathBuf>),
    out: &mut Vec<UiCommand>,
) -> Next {
    ui.heading(paths::question(&asked.pick));
    let label = ui.label(if several(&asked.pick) {
        "Type or drop the paths of the scans, one on each line. Ctrl+Return is OK."
    } else if is_folder(&asked.pick) {
        "Type or drop the path of the folder."
    } else {
        "Type or drop the path of the file."
    });
    // Taken before the field sees it: on a line of its own, Return alone starts the next one.
    let chord = KeyboardShortcut::new(Modifiers::COMMAND, Key::Enter);
    let sent = several(&asked.pick) && ui.input_mut(|i| i.consume_shortcut(&chord));
    let field = if several(&asked.pick) {
        ui.add(TextEdit::multiline(text).desired_width(f32::INFINITY).desired_rows(3))
    } else {
        ui.add(TextEdit::singleline(text).desired_width(f32::INFINITY))
    };
    let field = field.labelled_by(label.id);
    // Asked before the field is given the focus again, which Return takes from it.
    let entered =
        sent || (!several(&asked.pick) && field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter)));
    // The field is what a person types into, unless they went elsewhere.
    if ui.memory(|m| m.focused().is_none()) {
        field.request_focus();
    }
    if let Some(trouble) = trouble {
        ui.label(RichText::new(trouble.as_str()).color(theme::of(ui).error));
    }
    buttons(ui, |ui| {
        if ui.button("OK").clicked() || entered {
            let files: Vec<PathBuf> =
                text.lines().map(|l| expanded(l.trim())).filter(|f| !f.as_os_str().is_empty()).collect();
            *trouble = paths_trouble(&asked.pick, &files);
            let target = paths::target(asked, &files).filter(|t| t.exists() && replaces.as_ref() != Some(t));
            if let Some(target) = target.filter(|_| trouble.is_none()) {
                *trouble = Some(REPLACE.to_owned());
                *replaces = Some(target);
            } else if trouble.is_none() {
                out.extend(paths::request(asked, files).map(UiCommand::Request));
                return Next::Close;
            }
        }
        if ui.button("Cancel").clicked() {
            out.push(Request::PathCancelled.into());
            return Next::Close;
        }
        Next::Stay
    })
}

/// A leading `~` is the person's folder, as in a shell.
fn expanded(path: &str) -> PathBuf {
    match (path.strip_prefix("~/"), directories::UserDirs::new()) {
        (Some(rest), Some(dirs)) => dirs.home_dir().join(rest),
        _ => PathBuf::from(path),
    }
}

fn paths_trouble(pick: &Pick, files: &[PathBuf]) -> Option<String> {
    let Some(first) = files.first() else { return Some("Type a path first.".to_owned()) };
    match pick {
        Pick::OpenProject
        | Pick::AddScans(_)
        | Pick::Picture
        | Pick::ImportShelf
        | Pick::ImportPress
        | Pick::ReadWedge
        | Pick::ReadMarks
        | Pick::ImportMeasured => files.iter().find(|f| !f.is_file()).map(|f| {
            let what = if f.is_dir() {
                "This is a folder. Type the path of a file in it"
            } else {
                "There is no such file. Check the spelling"
            };
            format!("{what}: {}", f.display())
        }),
        Pick::FindScans if !first.exists() => Some(format!("There is no such folder: {}", first.display())),
        Pick::FindScans => None,
        Pick::SaveProject | Pick::Export(_) => {
            let folder = first.parent().filter(|f| !f.as_os_str().is_empty());
            folder
                .filter(|f| !f.is_dir())
                .map(|f| format!("There is no folder {}. Make it first.", f.display()))
        }
    }
}
