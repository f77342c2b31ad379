//! What each command does to a session.

mod calibration;
mod document;
mod editions;
mod jobs;
mod saving;
mod shelf;
mod wrap;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use slipsheet_core::geometry::Affine;
use slipsheet_core::raster::Pyramid;
use slipsheet_document::layer::{Art, ScanRef, Target};
use slipsheet_document::project::Project;
use slipsheet_files::dummy_picture::DummyShot;
use slipsheet_files::proof::ProofOptions;
use slipsheet_files::{GuideOptions, ScanOptions, guide, store};
use slipsheet_paper::fold::Face;
use slipsheet_registration::register::MarkLayout;

use crate::calibration::CalibrationOffer;
use crate::command::{Command, CommandError, Effect, Pick};
use crate::history::History;
use crate::job::{Done, Job};
use crate::notice::Notice;
use crate::session::{Selection, Session, empty};

use saving::Over;

type Applied = Result<Vec<Effect>, CommandError>;

impl Session {
    /// Carries a command out.
    ///
    /// # Errors
    /// When it is refused; nothing has changed then.
    pub fn apply(&mut self, command: Command) -> Applied {
        let ask = |pick| Ok(vec![Effect::AskPath(pick, None)]);
        match command {
            Command::New | Command::Open(_) | Command::Recover(_) | Command::Quit if self.is_dirty() => {
                Ok(vec![Effect::AskDiscard(Box::new(command))])
            }
            Command::Discard(then) => self.carry_on(*then),
            Command::New | Command::Open(_) | Command::Recover(_) | Command::Quit => self.carry_on(command),
            Command::AskOpen => ask(Pick::OpenProject),
            Command::Save | Command::AskSaveAs | Command::SaveThen(_) => {
                let elsewhere = matches!(command, Command::AskSaveAs);
                self.after_save = if let Command::SaveThen(then) = command { Some(then) } else { None };
                match self.path.clone().filter(|_| !elsewhere) {
                    Some(path) => self.save(&path, Over::Known),
                    None => ask(Pick::SaveProject),
                }
            }
            Command::SaveOver => match self.path.clone() {
                Some(path) => self.save(&path, Over::Theirs),
                None => ask(Pick::SaveProject),
            },
            Command::TakeTheirs => self.take_theirs(),
            Command::SaveElsewhere => ask(Pick::SaveProject),
            Command::PathCancelled => {
                self.after_save = None;
                Ok(vec![])
            }
            Command::SaveAs(path) => self.save(&with_ending(path, "slipsheet"), Over::Known),
            Command::Collect => self.collect(),
            Command::AskScans(layer) => ask(Pick::AddScans(layer)),
            Command::AddScans { files, layer, target } => Ok(self.add_scans(files, layer, target, true)),
            Command::AddAsLayers { files, layer, target } => Ok(self.add_scans(files, layer, target, false)),
            Command::OfferWedge(path) => {
                let offer = CalibrationOffer::Scan { path, dropped: None };
                Ok(vec![Effect::AskCalibration(Box::new(offer))])
            }
            Command::OfferMeasured(path) => Ok(vec![Effect::Start(Job::ReadTable(path))]),
            Command::Calibrate(order) => self.calibrate(order),
            Command::TakeCalibration(calibrated) => self.take_calibration(&calibrated),
            Command::AskFindScans => ask(Pick::FindScans),
            Command::FindScans(folder) => Ok(self.find_scans(folder)),
            Command::AcceptChanged => self.accept_changed(),
            Command::LookAtScans(files) => Ok(self.look_at_scans(&files)),
            Command::AskProof(options) => Ok(vec![Effect::AskPath(Pick::ExportProof, Some(options))]),
            Command::ExportProof(path, options) => self.export_proof(path, options),
            Command::AskProofs(options) => Ok(vec![Effect::AskPath(Pick::ExportProofs, Some(options))]),
            Command::ExportProofs(folder, options) => self.export_proofs(folder, options),
            Command::AskDummy(shot) => ask(Pick::ExportDummy(shot)),
            Command::ExportDummy(path, shot) => self.export_dummy(path, shot),
            Command::AskExport(pick) => ask(pick),
            Command::ExportGuide(path) => {
                let png = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("png"));
                let path = if png { path } else { with_ending(path, "pdf") };
                self.may_write(&path)?;
                Ok(vec![Effect::Start(Job::Guide { project: Box::new(self.project.clone()), path })])
            }
            Command::ExportDummySheet(path, options) => {
                let path = with_ending(path, "pdf");
                self.may_write(&path)?;
                let project = Box::new(self.project.clone());
                Ok(vec![Effect::Start(Job::DummySheet { project, path, options })])
            }
            Command::ExportWedge(path) => {
                let path = with_ending(path, "pdf");
                self.may_write(&path)?;
                let mut inks: Vec<String> = Vec::new();
                for layer in &self.project.layers {
                    if !inks.contains(&layer.ink.name) {
                        inks.push(layer.ink.name.clone());
                    }
                }
                Ok(vec![Effect::Start(Job::Wedge { sheet: self.project.sheet.size(), inks, path })])
            }
            Command::MakePack(_) if self.all_loaded("pack").is_err() => {
                self.all_loaded("pack").map(|()| vec![])
            }
            Command::ExportMarks(folder) => {
                let (project, file) = (Box::new(self.project.clone()), self.path.clone());
                Ok(vec![Effect::Start(Job::Marks { project, folder, file })])
            }
            Command::ReadMarks(scans) => {
                Ok(vec![Effect::Start(Job::ReadMarks { project: Box::new(self.project.clone()), scans })])
            }
            Command::MakePack(folder) => Ok(vec![Effect::Start(Job::Pack {
                project: Box::new(self.project.clone()),
                images: self.images.clone(),
                base: self.path.clone(),
                choices: self.settings.pack,
                folder,
                register: None,
            })]),
            Command::TurnTo(wrap) => self.turn_to(wrap),
            Command::ExportWrap(path, order) => self.export_wrap(path, &order),
            Command::LineUp(layer, art) => self.line_up(layer, art),
            Command::PlaceByMarks(layer, art) => self.place_by_marks(layer, art),
            Command::LookOverMarks(layer, art) => self.look_over_marks(layer, art),
            Command::Select(layer, art) => {
                self.selection = Selection { layer: layer.filter(|i| *i < self.project.layers.len()), art };
                Ok(vec![])
            }
            Command::Undo => self.step("undo", History::undo),
            Command::Redo => self.step("redo", History::redo),
            Command::BeginGesture(label) => {
                self.history.open(label, &self.project);
                Ok(vec![])
            }
            Command::EndGesture => {
                self.history.close(&self.project);
                Ok(vec![])
            }
            Command::Shelf(change) => self.change_shelf(change),
            Command::Dismiss(i) => {
                if i < self.notices.len() {
                    self.notices.remove(i);
                }
                Ok(vec![])
            }
            Command::JobDone(epoch, done) => {
                // What a job of an earlier project brings is stale, but for the word on a file it wrote.
                let tells = matches!(*done, Done::Proof(_) | Done::Pack(_) | Done::Failed(..));
                if epoch != self.epoch && !tells {
                    return Ok(vec![]);
                }
                let outcome = self.job_done(&done);
                self.let_pixels_go();
                outcome
            }
            change => self.change_document(change),
        }
    }

    /// Does what was asked for, whatever happens to unsaved changes.
    fn carry_on(&mut self, command: Command) -> Applied {
        match command {
            Command::New => {
                self.put(empty(&self.shelf), None);
                Ok(vec![])
            }
            Command::AskOpen => Ok(vec![Effect::AskPath(Pick::OpenProject, None)]),
            Command::Open(path) => {
                let (project, print) =
                    store::load_marked(&path).map_err(|e| CommandError::File(e.to_string()))?;
                let path = std::path::absolute(&path).unwrap_or(path);
                self.settings.opened(&path);
                let mut effects = self.open(project, Some(path));
                self.on_disk = Some(print);
                effects.push(Effect::SaveSettings);
                Ok(effects)
            }
            Command::Recover(recovered) => {
                // Unless the file is older than the work, nobody knows whether it is what the work began with.
                let path = recovered.project_path.as_deref();
                let known = path.and_then(|path| store::unchanged_since(path, &recovered.file));
                let effects = self.open(recovered.project, recovered.project_path);
                self.on_disk = known;
                // What was recovered is not saved anywhere yet.
                self.saved = empty(&self.shelf);
                self.tell(Notice::note(
                    "This is the work that was open when Slipsheet last stopped. Save it to keep it.",
                ));
                Ok(effects)
            }
            Command::Quit => Ok(vec![Effect::Quit]),
            other => self.apply(other),
        }
    }

    /// Puts a project in the place of the present one.
    fn put(&mut self, project: Project, path: Option<PathBuf>) {
        self.saved = project.clone();
        self.project = project;
        self.path = path;
        (self.on_disk, self.outside) = (None, None);
        self.history = History::default();
        self.selection = Selection { layer: (!self.project.layers.is_empty()).then_some(0), art: 0 };
        self.images = Default::default();
        self.notices.clear();
        self.after_save = None;
        self.loading.clear();
        self.missing.clear();
        self.changed.clear();
        self.stale.clear();
        self.unsized_scans.clear();
        self.epoch += 1;
        self.revision += 1;
    }

    fn open(&mut self, project: Project, path: Option<PathBuf>) -> Vec<Effect> {
        self.put(project, path);
        self.load_scans()
    }

    fn export_proof(&self, path: PathBuf, options: Box<ProofOptions>) -> Applied {
        let path = with_ending(path, "png");
        self.all_loaded("proof")?;
        self.may_write(&path)?;
        let (project, images) = (Box::new(self.project.clone()), self.images.clone());
        Ok(vec![Effect::Start(Job::Proof { project, images, path, options })])
    }

    fn export_proofs(&self, folder: PathBuf, options: Box<ProofOptions>) -> Applied {
        self.all_loaded("proof")?;
        let (project, images, file) =
            (Box::new(self.project.clone()), self.images.clone(), self.path.clone());
        Ok(vec![Effect::Start(Job::Proofs { project, images, folder, file, options })])
    }

    fn export_dummy(&self, path: PathBuf, shot: Box<DummyShot>) -> Applied {
        let path = with_ending(path, "png");
        self.all_loaded("picture")?;
        self.may_write(&path)?;
        let (project, images) = (Box::new(self.project.clone()), self.images.clone());
        Ok(vec![Effect::Start(Job::Dummy { project, images, path, shot })])
    }

    /// Refuses while a scan has no pixels.
    fn all_loaded(&self, what: &str) -> Result<(), CommandError> {
        let Some(scan) = self.all_scans().find(|s| self.images.get(&s.key).is_none()) else { return Ok(()) };
        Err(CommandError::File(format!(
            "a scan is not loaded, so the {what} would miss it; wait until it is read, or find it first: {}",
            scan.path
        )))
    }

    /// Refuses a file that the project is made of.
    pub(crate) fn may_write(&self, path: &Path) -> Result<(), CommandError> {
        let refused = |e: store::StoreError| CommandError::File(e.to_string());
        let file = self.path.as_deref();
        store::refuse_to_replace(path, file, &self.project).map_err(refused)?;
        // Undo may bring back scans that the project has let go.
        store::Originals::scans_of(self.history.states(), file).refuse(path).map_err(refused)
    }

    pub(crate) fn art(&self, layer: usize, art: usize) -> Result<&Art, CommandError> {
        let found = self.project.layers.get(layer).ok_or(CommandError::NoLayer(layer + 1))?;
        found.art.get(art).ok_or(CommandError::NoArt { layer: layer + 1, art: art + 1 })
    }

    fn pixels(&self, art: &Art) -> Result<Arc<Pyramid>, CommandError> {
        let pixels = self.images.get(&art.scan.key).map(Arc::clone);
        pixels.ok_or_else(|| CommandError::File(format!("this scan is not loaded: {}", art.scan.path)))
    }

    /// The layer printed before it on the same face, with artwork on the same place, is what it moves onto.
    fn line_up(&self, layer: usize, art: usize) -> Applied {
        let moved = self.art(layer, art)?;
        let face = self.project.layers.get(layer).map(|l| l.face);
        let before = self.project.layers.iter().take(layer).rev().filter(|l| Some(l.face) == face);
        let below =
            before.flat_map(|l| l.art.iter().map(move |a| (l, a))).find(|(_, a)| a.target == moved.target);
        let (under, fixed) = below.ok_or_else(|| {
            let why = "no layer is printed before this one with artwork on the same place; line that one up instead";
            CommandError::File(why.to_owned())
        })?;
        let job = Job::LineUp {
            at: (layer, art),
            art: Box::new(moved.clone()),
            fixed: (self.pixels(fixed)?, fixed.placement, under.name.clone()),
            moved: self.pixels(moved)?,
        };
        Ok(vec![Effect::Start(job)])
    }

    fn place_by_marks(&self, layer: usize, art: usize) -> Applied {
        let (piece, layout, pixels) = self.marked(layer, art)?;
        Ok(vec![Effect::Start(Job::FindMarks { at: (layer, art), art: Box::new(piece), pixels, layout })])
    }

    fn look_over_marks(&self, layer: usize, art: usize) -> Applied {
        let (piece, layout, pixels) = self.marked(layer, art)?;
        let (full, sheet) = (pixels.full(), self.project.sheet_size());
        // Artwork on the whole sheet lies somewhere whatever the fold.
        let lie = piece.lie(full.width(), full.height(), sheet, None, Face::Front);
        let lie = lie.map_or(Affine::IDENTITY, |l| l.face_from_scan);
        let job = Job::LookOverMarks { at: (layer, art), art: Box::new(piece), pixels, layout, lie };
        Ok(vec![Effect::Start(job)])
    }

    /// A piece of artwork on the whole sheet, the marks that its original should have, and its pixels.
    fn marked(&self, layer: usize, art: usize) -> Result<(Art, Box<MarkLayout>, Arc<Pyramid>), CommandError> {
        let piece = self.art(layer, art)?;
        if piece.target != Target::Sheet {
            let why = "marks are those of the whole sheet; place this artwork on the whole sheet first";
            return Err(CommandError::File(why.to_owned()));
        }
        let layout = guide::mark_layout(&self.project, &GuideOptions::default());
        let layout = Box::new(layout.map_err(|e| CommandError::File(e.to_string()))?);
        Ok((piece.clone(), layout, self.pixels(piece)?))
    }

    fn collect(&self) -> Applied {
        let path = self.path.clone().ok_or_else(|| {
            CommandError::File("save the project first, so that its scans can be copied beside it".to_owned())
        })?;
        Ok(vec![Effect::Start(Job::Collect { project: Box::new(self.project.clone()), path })])
    }

    /// Scans become layers; a project file among them is opened, for it was dropped to be opened.
    fn add_scans(
        &mut self,
        files: Vec<PathBuf>,
        layer: Option<usize>,
        target: Target,
        look: bool,
    ) -> Vec<Effect> {
        let is_project = |f: &PathBuf| f.extension().is_some_and(|e| e.eq_ignore_ascii_case("slipsheet"));
        if let Some(project) = files.iter().find(|f| is_project(f)) {
            return match self.apply(Command::Open(project.clone())) {
                Ok(effects) => effects,
                Err(e) => {
                    self.tell(Notice::error(e.to_string()));
                    vec![]
                }
            };
        }
        if files.is_empty() {
            return vec![];
        }
        let files = files.into_iter().map(|f| (f, ScanOptions::default())).collect();
        let sheets = if look { self.sheet_formats() } else { Vec::new() };
        vec![Effect::Start(Job::AddScans { files, layer, target, sheets })]
    }

    fn find_scans(&self, folder: PathBuf) -> Vec<Effect> {
        let folder =
            if folder.is_file() { folder.parent().map(Path::to_owned).unwrap_or(folder) } else { folder };
        let scans: Vec<ScanRef> =
            self.all_scans().filter(|s| self.missing.contains_key(&s.key)).cloned().collect();
        vec![Effect::Start(Job::FindScans { scans, folder })]
    }

    fn step(&mut self, what: &'static str, walk: fn(&mut History, &Project) -> Option<Project>) -> Applied {
        let project = walk(&mut self.history, &self.project).ok_or(CommandError::Nothing(what))?;
        let turns = project.shows_wrap() != self.project.shows_wrap();
        self.project = project;
        self.revision += 1;
        if turns {
            self.turned();
        }
        self.mend_selection();
        Ok(self.load_scans())
    }

    pub(crate) fn mend_selection(&mut self) {
        let layers = self.project.layers.len();
        self.selection.layer =
            self.selection.layer.map(|i| i.min(layers.saturating_sub(1))).filter(|_| layers > 0);
        let pieces = self.selected_layer().map_or(0, |(_, l)| l.art.len());
        self.selection.art = self.selection.art.min(pieces.saturating_sub(1));
    }

    pub(crate) fn all_scans(&self) -> impl Iterator<Item = &ScanRef> {
        self.project.every_art().map(|a| &a.scan)
    }

    /// Starts to read what has no pixels yet, is not being read, and is not known to be missing.
    pub(crate) fn load_scans(&mut self) -> Vec<Effect> {
        let mut scans: Vec<ScanRef> = Vec::new();
        for scan in self.all_scans() {
            let known = self.images.get(&scan.key).is_some()
                || self.loading.contains(&scan.key)
                || self.missing.contains_key(&scan.key)
                || scans.iter().any(|s| s.key == scan.key);
            if !known {
                scans.push(scan.clone());
            }
        }
        if scans.is_empty() {
            return vec![];
        }
        self.loading.extend(scans.iter().map(|s| s.key.clone()));
        vec![Effect::Start(Job::LoadScans { scans, base: self.path.clone() })]
    }
}

/// A path with this ending, added where it has another or none: `zine v1.2` keeps its dot.
pub fn with_ending(path: PathBuf, ending: &str) -> PathBuf {
    if path.extension().is_some_and(|e| e.eq_ignore_ascii_case(ending)) {
        return path;
    }
    let mut name = path.into_os_string();
    name.push(".");
    name.push(ending);
    PathBuf::from(name)
}
