//! Saving, and what to do where something else has changed the project's file or its scans.

use std::path::{Path, PathBuf};

use slipsheet_document::layer::{ScanKey, ScanRef};
use slipsheet_document::project::Project;
use slipsheet_files::store::{self, ScanState, StoreError};
use slipsheet_files::{Fingerprint, scan};

use super::Applied;
use crate::command::Effect;
use crate::job::{Job, Lost};
use crate::notice::{Cause, Notice};
use crate::refused::CommandError;
use crate::session::Session;

/// What a project may be saved over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Over {
    /// The file as it was read or written here last.
    Known,
    /// The file as it was when the person was asked about it, and said that theirs is the one to keep.
    Theirs,
}

impl Session {
    pub(super) fn save(&mut self, path: &Path, over: Over) -> Applied {
        self.history.close(&self.state());
        let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
        let moves = self.path.as_deref() != Some(path.as_path());
        let mut project = self.project.clone();
        if moves {
            let states = self.history.states().chain([&project]);
            let scans = store::Originals::scans_of(states, self.path.as_deref());
            scans.refuse(&path).map_err(CommandError::NotSaved)?;
            store::rebase(&mut project, self.path.as_deref(), &path);
        }
        let Some(print) = self.written(&project, &path, moves, over).map_err(CommandError::NotSaved)? else {
            self.outside = scan::fingerprint(&path).ok();
            return Ok(vec![Effect::AskChangedProject(path)]);
        };
        if moves {
            // Undo must not bring back paths that only made sense from the old folder.
            let old = self.path.clone();
            for state in self.history.each_mut() {
                store::rebase(state, old.as_deref(), &path);
            }
        }

        self.saved = project.clone();
        self.project = project;
        (self.on_disk, self.outside) = (Some(print), None);
        self.settings.opened(&path);
        self.path = Some(path);
        self.revision += 1;
        self.cure(&Cause::Save);
        let mut effects = vec![Effect::SaveSettings];
        if let Some(then) = self.after_save.take() {
            effects.extend(self.apply(*then)?);
        }
        Ok(effects)
    }

    /// Writes the file, unless it is the project's own and something else has changed it: then nothing comes back.
    fn written(
        &self,
        project: &Project,
        path: &Path,
        moves: bool,
        over: Over,
    ) -> Result<Option<Fingerprint>, StoreError> {
        if moves {
            return store::save(project, path).map(Some);
        }
        let saved = match (over, &self.on_disk, &self.outside) {
            (Over::Known, Some(known), _) | (Over::Theirs, _, Some(known)) => {
                store::save_over(project, path, known)
            }
            // Nothing is known of the file, as after a crash: whoever wrote it last is asked about.
            (Over::Known, None, _) if path.exists() => return Ok(None),
            (Over::Known | Over::Theirs, _, _) => store::save(project, path),
        };
        match saved {
            Err(StoreError::ChangedOutside { .. }) => Ok(None),
            saved => saved.map(Some),
        }
    }

    /// The file's version in place of the work. It is a step of history, so that the work is not lost.
    pub(super) fn take_theirs(&mut self) -> Applied {
        let Some(path) = self.path.clone() else { return Ok(vec![]) };
        let (project, print) = store::load_marked(&path)?;
        let before = self.state();
        self.history.close(&before);
        self.project = project;
        // Numbers that the work has given are in its history still.
        self.project.ids.keep_above(before.project.ids);
        self.saved = self.project.clone();
        (self.on_disk, self.outside, self.after_save) = (Some(print), None, None);
        self.note("Take the file's version", before);
        self.revision += 1;
        self.cure(&Cause::Save);
        self.tell(Notice::note("This is the version of the file now. Undo brings yours back."));
        Ok(self.load_scans())
    }

    /// Has the scans of these files looked at.
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
        Ok(vec![Effect::Start(Job::LoadScans { scans: reads, base: self.path.clone() })])
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
