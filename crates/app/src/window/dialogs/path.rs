//! A path, typed: for desktops without a dialog, and for files that are there already.

use std::path::{Path, PathBuf};

use egui::{Key, RichText, TextEdit, Ui};
use slipsheet_editor::{Command, Pick};

use super::{Dialog, Next, buttons};
use crate::window::paths::{self, AskedPath};
use crate::window::{Wish, Wishes, theme};

/// Said before a file is replaced.
const REPLACE: &str = "This file is there already. OK once more replaces it.";

impl Dialog {
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
}

pub(super) fn path_ui(
    ui: &mut Ui,
    asked: &AskedPath,
    text: &mut String,
    (trouble, replaces): (&mut Option<String>, &mut Option<PathBuf>),
    wanted: &mut Wishes,
) -> Next {
    ui.heading(paths::question(&asked.pick));
    let label = ui.label(match asked.pick {
        Pick::AddScans(_) => "Type the path of a scan, or several with one on each line; dropping files on the window does the same.",
        Pick::ReadMarks => "Type the paths of the scans, one on each line.",
        Pick::FindScans | Pick::ExportProofs | Pick::ExportMarks | Pick::MakePack => "Type the path of the folder.",
        _ => "Type the path of the file.",
    });
    let field = match asked.pick {
        Pick::AddScans(_) | Pick::ReadMarks => {
            ui.add(TextEdit::multiline(text).desired_width(f32::INFINITY).desired_rows(3))
        }
        _ => ui.add(TextEdit::singleline(text).desired_width(f32::INFINITY)),
    };
    let field = field.labelled_by(label.id);
    // The field is what a person types into, unless they went elsewhere.
    if ui.memory(|m| m.focused().is_none()) {
        field.request_focus();
    }
    if let Some(trouble) = trouble {
        ui.label(RichText::new(trouble.as_str()).color(theme::of(ui).error));
    }
    let entered = !matches!(asked.pick, Pick::AddScans(_) | Pick::ReadMarks)
        && field.lost_focus()
        && ui.input(|i| i.key_pressed(Key::Enter));
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
                wanted.extend(paths::command(asked, files).map(Wish::Do));
                return Next::Close;
            }
        }
        if ui.button("Cancel").clicked() {
            wanted.push(Wish::Do(Command::PathCancelled));
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
        | Pick::ImportShelf
        | Pick::ReadWedge
        | Pick::ReadMarks
        | Pick::ImportMeasured => files.iter().find(|f| !f.is_file()).map(|f| {
            let what = if f.is_dir() {
                "This is a folder; type the path of a file in it"
            } else {
                "There is no such file; check the spelling"
            };
            format!("{what}: {}", f.display())
        }),
        Pick::FindScans if !first.exists() => Some(format!("There is no such folder: {}", first.display())),
        Pick::FindScans => None,
        Pick::SaveProject
        | Pick::ExportProof
        | Pick::ExportProofs
        | Pick::ExportDummy(_)
        | Pick::ExportGuide
        | Pick::ExportWedge
        | Pick::ExportDummySheet(_)
        | Pick::ExportMarks
        | Pick::MakePack
        | Pick::ExportWrap(_)
        | Pick::ExportShelf => {
            let folder = first.parent().filter(|f| !f.as_os_str().is_empty());
            folder
                .filter(|f| !f.is_dir())
                .map(|f| format!("There is no folder {}; make it first.", f.display()))
        }
    }
}
