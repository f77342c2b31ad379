//! What each request does to a session.

mod calibration;
mod document;
mod jobs;
mod lineup;
mod pages;
mod saving;
mod separation;
mod shelf;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use slipsheet_document::edit::{Edit, ProjectEdit};
use slipsheet_document::layer::{ScanRef, Target};
use slipsheet_document::project::Project;
use slipsheet_files::{ScanOptions, store};

use crate::calibration::CalibrationOffer;
use crate::export::{About, Export, GoesTo, Source};
use crate::history::{History, State};
use crate::job::{Done, Job, Saving};
use crate::landing::Landing;
use crate::notice::Notice;
use crate::refused::RequestError;
use crate::request::{Effect, Leave, Pick, Request};
use crate::separating::SeparatedFor;
use crate::session::{Over, Session, empty};

/// So many scans at once may be pages: more inks than a sheet usually gets (common practice, no source).
const MANY: usize = 4;

fn is_project(file: &Path) -> bool {
    file.extension().is_some_and(|e| e.eq_ignore_ascii_case("slipsheet"))
}

type Applied = Result<Vec<Effect>, RequestError>;

impl Session {
    /// Carries a request out.
    ///
    /// # Errors
    /// When it is refused; nothing has changed then.
    pub fn apply(&mut self, request: Request) -> Applied {
        let before = (self.revision, self.sheet);
        let outcome = self.carry_out(request);
        if (self.revision, self.sheet) != before {
            let printing = self.project.printing(self.sheet().id, None);
            self.printing = Arc::new(printing.unwrap_or_else(|| self.project.main_printing()));
        }
        outcome
    }

    fn carry_out(&mut self, request: Request) -> Applied {
        let ask = |pick| Ok(vec![Effect::AskPath(pick)]);
        match request {
            Request::Leave(to) if self.saving => {
                self.after_save = Some(to);
                Ok(vec![])
            }
            Request::Leave(to) if self.is_dirty() => Ok(vec![Effect::AskDiscard(to)]),
            Request::Leave(to) | Request::Discard(to) => Ok(self.leave(to)),
            Request::Ask(pick) => ask(pick),
            Request::Export(export, path) => self.export(export, path),
            Request::Save | Request::AskSaveAs | Request::SaveThen(_) => {
                let elsewhere = matches!(request, Request::AskSaveAs);
                self.after_save = if let Request::SaveThen(then) = request { Some(then) } else { None };
                match self.path.clone().filter(|_| !elsewhere) {
                    Some(path) => Ok(self.save(&path, Over::Known)),
                    None => ask(Pick::SaveProject),
                }
            }
            Request::SaveOver => match self.path.clone() {
                Some(path) => Ok(self.save(&path, Over::Theirs)),
                None => ask(Pick::SaveProject),
            },
            Request::TakeTheirs => {
                Ok(self.path.clone().map(|path| Effect::Start(Job::ReadAgain(path))).into_iter().collect())
            }
            Request::SaveElsewhere => ask(Pick::SaveProject),
            Request::PathCancelled => {
                self.after_save = None;
                Ok(vec![])
            }
            Request::SaveAs(path) => {
                Ok(self.save(&crate::export::with_ending(path, "slipsheet"), Over::Known))
            }
            Request::Collect => self.collect(),
            Request::AddScans { files, layer, target } => {
                if self.may_be_pages(&files, target) {
                    return Ok(vec![Effect::AskLanding(files, layer)]);
                }
                Ok(self.add_scans(files, Landing::Each(layer, target), true))
            }
            Request::AddSo(files, landing) => Ok(self.add_scans(files, landing, true)),
            Request::AddAsLayers(files, landing) => Ok(self.add_scans(files, landing, false)),
            Request::OfferWedge(path) => {
                let offer = CalibrationOffer::Scan { path, dropped: None };
                Ok(vec![Effect::AskCalibration(Box::new(offer))])
            }
            Request::OfferMeasured(path) => Ok(vec![Effect::Start(Job::ReadTable(path))]),
            Request::Calibrate(order) => self.calibrate(order),
            Request::TakeCalibration(calibrated) => self.take_calibration(&calibrated),
            Request::FindScans(folder) => Ok(self.find_scans(folder)),
            Request::AcceptChanged => self.accept_changed(),
            Request::LookAtScans(files) => Ok(self.look_at_scans(&files)),
            Request::ReadMarks(scans) => {
                Ok(vec![Effect::Start(Job::ReadMarks { printing: Arc::clone(&self.printing), scans })])
            }
            Request::SwitchTo(sheet) => self.switch_to(sheet),
            Request::LineUp(art) => self.line_up(art),
            Request::PlaceByMarks(art) => self.place_by_marks(art),
            Request::LineUpAll => self.line_up_all(),
            Request::LookOverMarks(art) => self.look_over_marks(art),
            Request::PlaceReviewed(reviewed) => Ok(vec![Effect::Start(Job::PlaceByMarks(reviewed))]),
            Request::LookToMend(art) => {
                Ok(vec![Effect::Start(Job::ReadToMend(Box::new(self.original(art)?)))])
            }
            Request::Mend { art, dust, mask } => self.mend(art, dust, mask),
            Request::SeparateFile(path) => {
                Ok(vec![self.read_picture(path, SeparatedFor::New(Target::Sheet))])
            }
            Request::SeparateArt(art) => self.separate_art(art),
            Request::SeparateAgain(source) => self.separate_again(source),
            Request::Separate { scan, purpose, inks, separation } => {
                self.separate(scan, purpose, inks, separation)
            }
            Request::TakeApart(source) => self.take_apart(source),
            Request::Select(layer, art) => {
                self.select(layer, art);
                Ok(vec![])
            }
            Request::Edit(edit) => self.edit(edit),
            Request::GiveWrap(order) => {
                let effects = self.edit(Edit::Project(ProjectEdit::GiveWrap(order)))?;
                let sheet = self.project.wrap.as_ref().map(|w| w.sheet.id);
                sheet.map_or(Ok(vec![]), |sheet| self.switch_to(sheet))?;
                Ok(effects)
            }
            Request::Undo => self.step("undo", History::undo),
            Request::Redo => self.step("redo", History::redo),
            Request::BeginGesture(label) => {
                let now = self.state();
                self.history.open(label, &now);
                Ok(vec![])
            }
            Request::EndGesture => {
                let now = self.state();
                self.history.close(&now);
                Ok(vec![])
            }
            Request::Shelf(change) => self.change_shelf(change),
            Request::ImportPress(path) => self.import_press(&path),
            Request::Dismiss(i) => {
                if i < self.notices.len() {
                    self.notices.remove(i);
                }
                Ok(vec![])
            }
            Request::JobDone(epoch, done) => {
                // What a job of an earlier project brings is stale, but for the word on a file it wrote.
                let tells = matches!(*done, Done::Written(_) | Done::Failed(..) | Done::Opened { .. });
                if epoch != self.epoch && !tells {
                    // Nor is that a project which another one has replaced is saved; that it is not is news.
                    if let Done::Saved(_, Saving::Refused(why)) = &*done {
                        return Err(RequestError::NotSaved(Arc::clone(why)));
                    }
                    return Ok(vec![]);
                }
                let outcome = self.job_done(&done);
                self.let_pixels_go();
                outcome
            }
        }
    }

    /// Leaves the present project, whatever happens to unsaved changes.
    fn leave(&mut self, to: Leave) -> Vec<Effect> {
        match to {
            Leave::New => {
                self.put(empty(&self.shelf, self.settings.acceptance), None);
                vec![]
            }
            Leave::Open(path) => {
                self.opening = Some(path.clone());
                let instead_of = Box::new(self.project.clone());
                vec![Effect::Start(Job::Open { path, instead_of })]
            }
            Leave::Recover(recovered) => {
                // Unless the file is older than the work, nobody knows whether it is what the work began with.
                let path = recovered.project_path.as_deref();
                let known = path.and_then(|path| store::unchanged_since(path, &recovered.file));
                // Reading the scans wants them.
                self.masks = recovered.masks;
                let effects = self.open(recovered.project, recovered.project_path);
                self.on_disk = known;
                // What was recovered is not saved anywhere yet.
                self.saved = empty(&self.shelf, self.settings.acceptance);
                self.tell(Notice::note(
                    "This is the work that was open when Slipsheet last stopped. Save it to keep it.",
                ));
                effects
            }
            Leave::Quit => vec![Effect::Quit],
        }
    }

    fn put(&mut self, project: Project, path: Option<PathBuf>) {
        self.saved = project.clone();
        self.project = project;
        self.path = path;
        (self.on_disk, self.outside) = (None, None);
        self.history = History::default();
        self.opened(self.project.main.id);
        self.images = Default::default();
        self.notices.clear();
        self.after_save = None;
        (self.saving, self.save_next, self.opening) = (false, None, None);
        self.loading.clear();
        self.missing.clear();
        self.changed.clear();
        self.stale.clear();
        self.unsized_scans.clear();
        self.masks_lost.clear();
        self.epoch += 1;
        self.revision += 1;
    }

    fn open(&mut self, project: Project, path: Option<PathBuf>) -> Vec<Effect> {
        self.put(project, path);
        self.load_scans()
    }

    fn export(&self, export: Arc<dyn Export>, path: PathBuf) -> Applied {
        let About { goes_to, misses_scans, .. } = export.about();
        if let Some(what) = misses_scans {
            self.all_loaded(what)?;
        }
        let to = goes_to.completed(path);
        // What is written into a folder is looked at file by file there.
        if matches!(goes_to, GoesTo::File { .. }) {
            self.may_write(&to)?;
        }
        let from = Source {
            project: Arc::new(self.project.clone()),
            printing: Arc::clone(&self.printing),
            images: self.images.clone(),
            file: self.path.clone(),
            pack: self.settings.pack,
            register: None,
        };
        Ok(vec![Effect::Start(Job::Export { export, from: Box::new(from), to })])
    }

    /// Refuses while a scan has no pixels.
    fn all_loaded(&self, what: &'static str) -> Result<(), RequestError> {
        let missing = self.all_scans().find(|s| self.images.get(&s.key).is_none());
        missing.map_or(Ok(()), |scan| Err(RequestError::MissesScan { what, path: scan.path.clone() }))
    }

    /// Refuses a file that the project is made of.
    pub(crate) fn may_write(&self, path: &Path) -> Result<(), RequestError> {
        let file = self.path.as_deref();
        store::refuse_to_replace(path, file, &self.project)?;
        // Undo may bring back scans that the project has let go.
        Ok(store::Originals::scans_of(self.history.states(), file).refuse(path)?)
    }

    fn collect(&self) -> Applied {
        let path = self.path.clone().ok_or(RequestError::SaveFirst)?;
        Ok(vec![Effect::Start(Job::Collect { project: Box::new(self.project.clone()), path })])
    }

    /// Scans become layers; a project file among them is opened, for it was dropped to be opened.
    fn add_scans(&mut self, files: Vec<PathBuf>, landing: Landing, look: bool) -> Vec<Effect> {
        if let Some(project) = files.iter().find(|f| is_project(f)) {
            return match self.apply(Request::Leave(Leave::Open(project.clone()))) {
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
        let files = files.into_iter().map(|f| (f, ScanOptions::original())).collect();
        let sheets = if look { self.sheet_formats() } else { Vec::new() };
        vec![Effect::Start(Job::AddScans { files, landing, sheets })]
    }

    /// Whether files may be the pages of one ink as well as the originals of several.
    fn may_be_pages(&self, files: &[PathBuf], target: Target) -> bool {
        let many = files.len() >= MANY && !files.iter().any(|f| is_project(f));
        many && target == Target::Sheet && self.sheet().pages() > 1
    }

    fn find_scans(&self, folder: PathBuf) -> Vec<Effect> {
        let folder =
            if folder.is_file() { folder.parent().map(Path::to_owned).unwrap_or(folder) } else { folder };
        let scans: Vec<ScanRef> =
            self.all_scans().filter(|s| self.missing.contains_key(&s.key)).cloned().collect();
        vec![Effect::Start(Job::FindScans { scans, folder })]
    }

    fn step(&mut self, what: &'static str, walk: fn(&mut History, &State) -> Option<State>) -> Applied {
        let now = self.state();
        let State { mut project, sheet } =
            walk(&mut self.history, &now).ok_or(RequestError::Nothing(what))?;
        project.ids.keep_above(self.project.ids);
        self.project = project;
        self.revision += 1;
        if sheet != self.sheet && self.project.sheet(sheet).is_some() {
            self.opened(sheet);
        }
        self.mend_selection(now.project.sheet(now.sheet));
        Ok(self.load_scans())
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
        let (base, masks) = (self.path.clone(), self.masks.clone());
        self.recipes = self.recipes.of(&self.project);
        let recipes = self.recipes.clone();
        vec![Effect::Start(Job::LoadScans { scans, base, masks, recipes })]
    }
}
