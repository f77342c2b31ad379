//! What a project still lacks before its figures mean something, and what to do about it.

use std::collections::BTreeSet;

use egui::{RichText, Ui};
use slipsheet_core::words::count;
use slipsheet_document::layer::ScanKey;

use super::actions::{self, Action};
use super::context::Context;
use super::{UiCommand, menu, theme};

/// Why no figures can be had of a project yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Lacks {
    /// There is no artwork on this sheet.
    Artwork,
    /// Scans that are still being read.
    Reading(usize),
    /// Scans that could not be read.
    Scans(usize),
}

impl Context<'_> {
    /// What the sheet in view lacks before it can be studied; nothing when every scan is there.
    pub fn lacks(&self) -> Option<Lacks> {
        let session = self.session;
        let keys: BTreeSet<&ScanKey> =
            session.printing().sheet.layers.iter().flat_map(|l| &l.art).map(|a| &a.scan.key).collect();
        if keys.is_empty() {
            return Some(Lacks::Artwork);
        }
        let absent = || keys.iter().filter(|k| session.images().get(k).is_none());
        let lost = absent().filter(|k| session.missing().contains_key(**k)).count();
        match absent().count() {
            0 => None,
            all if all > lost => Some(Lacks::Reading(all - lost)),
            _ => Some(Lacks::Scans(lost)),
        }
    }
}

impl Lacks {
    /// Says what is lacking and what to do first; `then` says what stands here afterwards.
    pub(crate) fn ui(self, ui: &mut Ui, then: &str, out: &mut Vec<UiCommand>) {
        let (head, text, action) = match self {
            Self::Artwork => (
                "Add scans first".to_owned(),
                format!("Add one scan for each ink. This then {then}."),
                Some(Action::AddScans),
            ),
            Self::Reading(n) => {
                (format!("Reading {}…", count(n, "scan")), format!("Once they are read, this {then}."), None)
            }
            Self::Scans(n) => (
                format!("{} could not be read", count(n, "scan")),
                format!("Find the files first. This then {then}."),
                Some(Action::FindScans),
            ),
        };
        ui.label(theme::heading(&head));
        ui.add(egui::Label::new(RichText::new(text).color(theme::of(ui).faint)).wrap());
        if let Some(action) = action {
            ui.add_space(theme::GAP);
            let info = actions::of(action);
            if ui.button(info.label).on_hover_text(menu::hint(ui, info)).clicked() {
                out.push(action.into());
            }
        }
    }
}
