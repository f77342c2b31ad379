//! The session: one project being worked on, with its pixels, its history and what goes with it.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use slipsheet_booking::preflight::{ScanTrouble, Trouble};
use slipsheet_core::colour::{Lab, Xyz, linear_from_srgb};
use slipsheet_core::reading::BarePaper;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::SheetFormat;
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::ids::{ArtId, LayerId, SheetId};
use slipsheet_document::layer::{Art, Layer, ScanKey, ScanRef};
use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;
use slipsheet_document::sheet::Sheet;
use slipsheet_document::shelf::Shelf;
use slipsheet_files::Fingerprint;
use slipsheet_files::home::Settings;
use slipsheet_files::store::{self, Masks, Recipes};
use slipsheet_render::images::Images;

use crate::history::History;
use crate::job::Lost;
use crate::notice::{self, Cause, Notice};
use crate::request::Leave;

/// How many notices are kept.
const NOTICES: usize = 50;

/// What is selected on the open sheet; not part of history.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Selection {
    pub layer: Option<LayerId>,
    pub art: Option<ArtId>,
}

/// What a project may be saved over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Over {
    /// The file as it was read or written here last.
    Known,
    /// The file as it was when the person was asked about it, and said that theirs is the one to keep.
    Theirs,
}

/// A working session on one project.
pub struct Session {
    pub(crate) project: Project,
    pub(crate) sheet: SheetId,
    /// What is printed of it, as the last request left it.
    pub(crate) printing: Arc<Printing>,
    pub(crate) saved: Project,
    pub(crate) path: Option<PathBuf>,
    /// The project's file as it was read or written here last; none where that is not known.
    pub(crate) on_disk: Option<Fingerprint>,
    /// The same as it was when the person was asked about a file that something else had changed.
    pub(crate) outside: Option<Fingerprint>,
    pub(crate) images: Images,
    pub(crate) history: History,
    pub(crate) selection: Selection,
    pub(crate) shelf: Shelf,
    pub(crate) settings: Settings,
    pub(crate) notices: Vec<Notice>,
    pub(crate) revision: u64,
    pub(crate) epoch: u64,
    /// What is to be done once the project is saved.
    pub(crate) after_save: Option<Leave>,
    /// Whether the project is being saved.
    pub(crate) saving: bool,
    /// Where it is to be saved once that is done.
    pub(crate) save_next: Option<(PathBuf, Over)>,
    /// The project that was asked for last and is being read.
    pub(crate) opening: Option<PathBuf>,
    pub(crate) loading: BTreeSet<ScanKey>,
    /// Scans that could not be read, with why.
    pub(crate) missing: BTreeMap<ScanKey, Lost>,
    /// Scans whose files have changed: their present size and hash.
    pub(crate) changed: BTreeMap<ScanKey, (u64, String)>,
    /// Those of them that changed while they were open: the pixels here are still the earlier ones.
    pub(crate) stale: BTreeSet<ScanKey>,
    /// Scans whose files did not say their resolution.
    pub(crate) unsized_scans: Vec<ScanKey>,
    /// Pages of the files seen, by hash.
    pub(crate) pages: BTreeMap<String, u32>,
    /// The paper of scans that was cleaned.
    pub(crate) papers: BTreeMap<ScanKey, (BarePaper, Option<[u8; 3]>)>,
    /// How many specks of dust were removed from scans.
    pub(crate) specks: BTreeMap<ScanKey, usize>,
    /// Scans whose masks were not found.
    pub(crate) masks_lost: BTreeSet<ScanKey>,
    /// The masks of scans that were made or read.
    pub(crate) masks: Masks,
    /// How its pictures are separated.
    pub(crate) recipes: Recipes,
}

impl Session {
    /// A session on an empty project.
    pub fn new(shelf: Shelf, settings: Settings) -> Self {
        let project = empty(&shelf, settings.acceptance);
        Self {
            saved: project.clone(),
            sheet: project.main.id,
            printing: Arc::new(project.main_printing()),
            project,
            path: None,
            on_disk: None,
            outside: None,
            images: Images::default(),
            history: History::default(),
            selection: Selection::default(),
            shelf,
            settings,
            notices: Vec::new(),
            revision: 1,
            epoch: 1,
            after_save: None,
            saving: false,
            save_next: None,
            opening: None,
            loading: BTreeSet::new(),
            missing: BTreeMap::new(),
            changed: BTreeMap::new(),
            stale: BTreeSet::new(),
            unsized_scans: Vec::new(),
            pages: BTreeMap::new(),
            papers: BTreeMap::new(),
            specks: BTreeMap::new(),
            masks_lost: BTreeSet::new(),
            masks: Masks::default(),
            recipes: Recipes::default(),
        }
    }

    pub fn project(&self) -> &Project {
        &self.project
    }

    pub fn sheet(&self) -> &Sheet {
        self.project.sheet(self.sheet).unwrap_or(&self.project.main)
    }

    /// Whether the wrap's sheet is open.
    pub fn shows_wrap(&self) -> bool {
        self.sheet().id != self.project.main.id
    }

    pub fn printing(&self) -> &Arc<Printing> {
        &self.printing
    }

    /// The pixels of its scans.
    pub fn images(&self) -> &Images {
        &self.images
    }

    /// The file it was opened from or saved to.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    pub fn selection(&self) -> Selection {
        self.selection
    }

    pub fn selected_layer(&self) -> Option<(usize, &Layer)> {
        let id = self.selection.layer?;
        self.sheet().layers.iter().enumerate().find(|(_, l)| l.id == id)
    }

    /// The selected piece of the selected layer's artwork.
    pub fn selected_art(&self) -> Option<&Art> {
        let id = self.selection.art?;
        self.selected_layer()?.1.art.iter().find(|a| a.id == id)
    }

    pub fn shelf(&self) -> &Shelf {
        &self.shelf
    }

    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// Settings, to be changed by the front; it writes them as well.
    pub fn settings_mut(&mut self) -> &mut Settings {
        &mut self.settings
    }

    /// What the person has been told and not dismissed, oldest first.
    pub fn notices(&self) -> &[Notice] {
        &self.notices
    }

    pub fn tell(&mut self, notice: Notice) {
        // What can be cured is said once; of the rest, the same sentence twice in a row says nothing new.
        if notice.cause.is_some() {
            self.notices.retain(|n| *n != notice);
        }
        if self.notices.last() != Some(&notice) {
            self.notices.push(notice);
        }
        if self.notices.len() > NOTICES {
            self.notices.remove(notice::least_needed(&self.notices));
        }
    }

    /// Takes back what was told of something that is right again.
    pub fn cure(&mut self, cause: &Cause) {
        self.notices.retain(|n| n.cause.as_ref() != Some(cause));
    }

    /// Grows with every change of project or pixels.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Grows with every project opened; jobs of an earlier one are dropped.
    pub fn epoch(&self) -> u64 {
        self.epoch
    }

    /// Whether nothing is lost when the program ends now.
    pub fn may_end(&self) -> bool {
        !self.saving && !self.is_dirty()
    }

    /// Whether the project differs from what is saved.
    pub fn is_dirty(&self) -> bool {
        self.project != self.saved
    }

    pub fn history(&self) -> &History {
        &self.history
    }

    /// How many scans are still being read.
    pub fn loading(&self) -> usize {
        self.loading.len()
    }

    /// Scans that could not be read, with why.
    pub fn missing(&self) -> &BTreeMap<ScanKey, Lost> {
        &self.missing
    }

    /// Scans whose files have changed since the project was saved.
    pub fn changed(&self) -> impl Iterator<Item = &ScanKey> {
        self.changed.keys()
    }

    pub fn scan_files(&self) -> Vec<PathBuf> {
        let files: BTreeSet<PathBuf> =
            self.all_scans().map(|scan| store::resolve(self.path.as_deref(), scan)).collect();
        files.into_iter().collect()
    }

    /// What is wrong with scans, for the findings.
    pub fn scan_troubles(&self) -> Vec<ScanTrouble> {
        let unread = self.missing.iter().map(|(key, lost)| {
            (key, if lost.gone { Trouble::Missing } else { Trouble::Unreadable(lost.why.clone()) })
        });
        let changed = self.changed.keys().map(|key| (key, Trouble::Changed));
        let lost = self.masks_lost.iter().map(|key| (key, Trouble::MaskLost));
        unread
            .chain(changed)
            .chain(lost)
            .map(|(key, trouble)| ScanTrouble { key: key.clone(), trouble })
            .collect()
    }

    /// Scans of the project whose files did not say their resolution: the person is asked.
    pub fn unsized_scans(&self) -> &[ScanKey] {
        &self.unsized_scans
    }

    /// Pages of a scan's file, where that is known.
    pub fn pages_of(&self, scan: &ScanRef) -> Option<u32> {
        self.pages.get(&scan.key.sha256).copied()
    }

    /// The paper of a scan, where it was cleaned to white.
    pub fn paper_of(&self, scan: &ScanRef) -> Option<&BarePaper> {
        self.papers.get(&scan.key).map(|(paper, _)| paper)
    }

    /// The cast of that paper in a colour scan, in a word.
    pub fn cast_of(&self, scan: &ScanRef) -> Option<&'static str> {
        let (_, tint) = self.papers.get(&scan.key)?;
        let linear = (*tint)?.map(|c| linear_from_srgb(f64::from(c) / 255.0));
        Some(cast(Xyz::from_linear_srgb(linear).lab()))
    }

    /// Whether a scan's file holds something else than what the project knows.
    pub fn is_changed(&self, key: &ScanKey) -> bool {
        self.changed.contains_key(key)
    }

    /// How many specks of dust were removed from a scan.
    pub fn specks_of(&self, scan: &ScanRef) -> usize {
        self.specks.get(&scan.key).copied().unwrap_or(0)
    }

    /// The masks of its scans.
    pub fn masks(&self) -> &Masks {
        &self.masks
    }

    pub fn title(&self) -> String {
        let mark = if self.is_dirty() { " (unsaved)" } else { "" };
        format!("{}{mark}", crate::request::title_or_untitled(&self.project))
    }
}

/// Chroma from which on a cast is seen (common practice, no source).
const SEEN: f64 = 2.5;

/// A colour's cast by the quarter of the circle of hues that it lies in.
fn cast(lab: Lab) -> &'static str {
    let (a, b) = (lab.a(), lab.b());
    if a * a + b * b < SEEN * SEEN {
        return "neutral";
    }
    match (a.abs() > b.abs(), a > 0.0, b > 0.0) {
        (true, true, _) => "reddish",
        (true, false, _) => "greenish",
        (false, _, true) => "yellowish",
        (false, _, false) => "bluish",
    }
}

/// An empty project on the first stock of the shelf, which accepts what is usual for the person.
pub(crate) fn empty(shelf: &Shelf, acceptance: Acceptance) -> Project {
    let stock = shelf.stocks.first().cloned().unwrap_or_else(|| {
        Stock::new("White uncoated", slipsheet_core::ink::Swatch::Estimated { lab: Lab::WHITE })
    });
    let mut project = Project::new("", SheetFormat::Letter, stock);
    project.main.fold = slipsheet_paper::fold::find("slit8");
    project.acceptance = acceptance;
    project
}
