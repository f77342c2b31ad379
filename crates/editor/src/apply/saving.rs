//! Saving, and what to do where something else has changed the project's file or its scans.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use slipsheet_core::words::sentence;
use slipsheet_document::layer::{ScanKey, ScanRef};
use slipsheet_document::project::Project;
use slipsheet_files::store::{self, ScanState};

use super::Applied;
use crate::job::{Job, Lost, Opening, SaveOrder, SaveOver, Saving};
use crate::notice::{Cause, Notice};
use crate::refused::RequestError;
use crate::request::{Effect, Leave, Request};
use crate::session::{Over, Session};

impl Session {
    /// Has the project saved. While it is being saved already, that waits.
    pub(super) fn save(&mut self, path: &Path, over: Over) -> Vec<Effect> {
        self.history.close(&self.state());
        let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
        if self.saving {
            self.save_next = Some((path, over));
            return vec![];
        }

        let moves = self.path.as_deref() != Some(path.as_path());
        let mut project = self.project.clone();
        let mut states = Vec::new();
        if moves {
            states.extend(self.history.states().chain([&self.project]).cloned());
            store::rebase(&mut project, self.path.as_deref(), &path);
        }
        let over = match (over, self.on_disk.clone(), self.outside.clone()) {
            _ if moves => SaveOver::Anything,
            (Over::Known, Some(print), _) | (Over::Theirs, _, Some(print)) => SaveOver::Known(print),
            // Nothing is known of the file, as after a crash: whoever wrote it last is asked about.
            (Over::Known, None, _) => SaveOver::Nothing,
            (Over::Theirs, _, None) => SaveOver::Anything,
        };
        self.saving = true;
        let (from, masks) = (self.path.clone(), self.masks.clone());
        let order = SaveOrder { project, path, over, from, states, masks };
        vec![Effect::Start(Job::Save(Box::new(order)))]
    }

    /// What became of saving. The person may have gone on working.
    pub(super) fn project_saved(&mut self, order: &SaveOrder, outcome: &Saving) -> Applied {
        self.saving = false;
        let path = &order.path;
        let print = match outcome {
            Saving::Written(print) => print.clone(),
            Saving::ChangedOutside(now) => {
                self.outside.clone_from(now);
                self.save_next = None;
                return Ok(vec![Effect::AskChangedProject(path.clone())]);
            }
            Saving::Refused(why) => {
                let refused = RequestError::NotSaved(Arc::clone(why));
                let Some((path, over)) = self.save_next.take() else { return Err(refused) };
                self.tell(Notice::error(sentence(&refused.to_string())).about(refused.cause()));
                return Ok(self.save(&path, over));
            }
        };
        if self.path.as_ref() != Some(path) {
            // Undo must not bring back paths that only made sense from the old folder.
            let old = self.path.replace(path.clone());
            for state in self.history.each_mut().chain([&mut self.project]) {
                store::rebase(state, old.as_deref(), path);
            }
        }

        self.saved = order.project.clone();
        (self.on_disk, self.outside) = (Some(print), None);
        self.settings.opened(path);
        self.revision += 1;
        self.cure(&Cause::Save);
        let mut effects = vec![Effect::SaveSettings];
        if let Some((path, over)) = self.save_next.take() {
            effects.extend(self.save(&path, over));
        } else if let Some(then) = self.after_save.take() {
            effects.extend(self.apply(Request::Leave(then))?);
        }
        Ok(effects)
    }

    /// Puts a project that was read in the place of the present one, if it is still the one that is wanted.
    pub(super) fn project_read(&mut self, path: &Path, instead_of: &Project, read: &Opening) -> Applied {
        if self.opening.as_deref() != Some(path) {
            return Ok(vec![]);
        }
        self.opening = None;
        let (project, print) = read.as_ref().map_err(|why| RequestError::NotOpened(Arc::clone(why)))?;
        if self.is_dirty() && self.project != *instead_of {
            return Ok(vec![Effect::AskDiscard(Leave::Open(path.to_owned()))]);
        }
        let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
        self.settings.opened(&path);
        let mut effects = self.open((**project).clone(), Some(path));
        self.on_disk = Some(print.clone());
        effects.push(Effect::SaveSettings);
        Ok(effects)
    }

    /// The file's version in place of the work. It is a step of history, so that the work is not lost.
    pub(super) fn read_again(&mut self, read: &Opening) -> Applied {
        let (project, print) = read.as_ref().map_err(|why| RequestError::NotOpened(Arc::clone(why)))?;
        let before = self.state();
        self.history.close(&before);
        self.project = (**project).clone();
        // Numbers that the work has given are in its history still.
        self.project.ids.keep_above(before.project.ids);
        self.saved = self.project.clone();
        (self.on_disk, self.outside, self.after_save) = (Some(print.clone()), None, None);
        self.note("Take the file's version", before);
        self.revision += 1;
        self.cure(&Cause::Save);
        self.tell(Notice::note("This is the version of the file now. Undo brings yours back."));
        Ok(self.load_scans())
    }

    pub(super) fn look_at_scans(&self, files: &[PathBuf]) -> Vec<Effect> {
        let mut scans: Vec<ScanRef> = Vec::new();
        for scan in self.all_scans() {
            let file = store::resolve(self.path.as_deref(), scan);
            if files.contains(&file) && !scans.iter().any(|s| s.key == scan.key) {
                scans.push(scan.clone());
            }
        }
        if scans.is_empty() {
            return vec![];
        }
        vec![Effect::Start(Job::LookAtScans { scans, base: self.path.clone() })]
    }

    /// What became of scans whose files seemed to have changed while they were open.
    pub(super) fn looked(&mut self, scans: &[(ScanRef, Result<ScanState, Lost>)]) -> Applied {
        let mut reads = Vec::new();
        for (scan, state) in scans {
            let key = &scan.key;
            match state {
                Ok(ScanState::Unchanged) => {
                    self.missing.remove(key);
                    self.cure(&Cause::Scan(key.clone()));
                    // Pixels that were read from a changed file are not those that are wanted now.
                    if self.changed.remove(key).is_some() && !self.stale.remove(key) {
                        self.loading.insert(key.clone());
                        reads.push(scan.clone());
                    }
                }
                Ok(ScanState::Changed { size, sha256 }) => {
                    self.missing.remove(key);
                    self.changed.insert(key.clone(), (*size, sha256.clone()));
                    self.stale.insert(key.clone());
                    self.cure(&Cause::Scan(key.clone()));
                    self.tell(changed_while_open(scan));
                }
                Ok(ScanState::Missing) => {
                    let why = format!(
                        "{} has gone from its place; its picture stays in this window. Put the file back, or choose Find missing scans in the File menu.",
                        scan.path
                    );
                    self.lose(key, Lost { gone: true, why });
                }
                Err(lost) => self.lose(key, lost.clone()),
            }
        }
        self.revision += 1;
        if reads.is_empty() {
            return Ok(vec![]);
        }
        Ok(vec![Effect::Start(Job::LoadScans {
            scans: reads,
            base: self.path.clone(),
            masks: self.masks.clone(),
            recipes: self.recipes.of(&self.project),
        })])
    }

    /// Notes that a scan cannot be read, and says so.
    pub(super) fn lose(&mut self, key: &ScanKey, lost: Lost) {
        let cause = Cause::Scan(key.clone());
        self.cure(&cause);
        self.tell(Notice::error(lost.why.clone()).about(cause));
        self.missing.insert(key.clone(), lost);
    }
}

fn changed_while_open(scan: &ScanRef) -> Notice {
    let text = format!(
        "{} was changed by another program. Choose Accept changed scans in the File menu to use the new picture, or put the old file back.",
        scan.path
    );
    Notice::warning(text).about(Cause::Scan(scan.key.clone()))
}
