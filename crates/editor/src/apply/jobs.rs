//! What jobs bring back.

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_base::cache::Bytes as _;
use slipsheet_core::calibrate::Recognised;
use slipsheet_core::words::sentence;
use slipsheet_document::edit::{self, ArtEdit, Edit, LayerEdit, Made, ProjectEdit, SheetEdit, SourceEdit};
use slipsheet_document::layer::{Art, ScanKey, ScanRef};
use slipsheet_files::store::{self, AddedScan, ScanState};

use super::Applied;
use super::pages::PageLayers;
use crate::calibration::CalibrationOffer;
use crate::job::{Done, Lost};
use crate::landing::Landing;
use crate::notice::{Cause, Notice};
use crate::refused::RequestError;
use crate::request::Effect;
use crate::session::Session;

/// The most bytes of pixels that history alone holds.
const HISTORY_BYTES: usize = 512 << 20;

impl Session {
    pub(super) fn job_done(&mut self, done: &Done) -> Applied {
        match done {
            Done::Added { scans, landing, names, sheets } => {
                let mut effects = self.added(scans, *landing, names)?;
                let offer = |(path, found): &(std::path::PathBuf, Recognised)| {
                    let dropped = Some((*found, *landing));
                    let offer = CalibrationOffer::Scan { path: path.clone(), dropped };
                    Effect::AskCalibration(Box::new(offer))
                };
                effects.extend(sheets.iter().map(offer));
                Ok(effects)
            }
            Done::Table(path, table) => {
                let table = table.clone().map_err(RequestError::Task)?;
                let offer = CalibrationOffer::Table { path: path.clone(), table };
                Ok(vec![Effect::AskCalibration(Box::new(offer))])
            }
            Done::Calibrated(outcome) => self.calibrated(outcome),
            Done::Spread(outcome) => Ok(vec![Effect::ShowSpread(outcome.clone())]),
            Done::Loaded(scans) => {
                for (scan, loaded) in scans {
                    self.loading.remove(&scan.key);
                    match loaded {
                        Ok(loaded) => {
                            self.images.insert(scan.key.clone(), Arc::clone(&loaded.pixels));
                            self.papers
                                .extend(loaded.paper.map(|paper| (scan.key.clone(), (paper, loaded.tint))));
                            self.specks.insert(scan.key.clone(), loaded.specks);
                            self.masks.extend(loaded.mask.clone());
                            self.missing.remove(&scan.key);
                            self.stale.remove(&scan.key);
                            self.cure(&Cause::Scan(scan.key.clone()));
                            self.masks_lost.remove(&scan.key);
                            if loaded.mask_lost {
                                self.masks_lost.insert(scan.key.clone());
                                let notice = Notice::warning(format!(
                                    "What was mended by hand on {} is lost: its mask is missing or of another picture. Put the folder “masks” back beside the project and open it again, or mend the scan anew.",
                                    scan.file_name()
                                ));
                                self.tell(notice.about(Cause::Scan(scan.key.clone())));
                            }
                            if let ScanState::Changed { size, sha256 } = &loaded.state {
                                self.changed.insert(scan.key.clone(), (*size, sha256.clone()));
                                let notice = Notice::warning(format!(
                                    "{} has changed since the project was saved; the new picture is shown. Choose Accept changed scans in the File menu, or put the old file back.",
                                    scan.path
                                ));
                                self.tell(notice.about(Cause::Scan(scan.key.clone())));
                            }
                        }
                        Err(lost) => self.lose(&scan.key, lost.clone()),
                    }
                }
                self.revision += 1;
                Ok(vec![])
            }
            Done::Looked(scans) => self.looked(scans),
            Done::Found(found) => {
                let path = |file: &PathBuf| store::relative(self.path.as_deref(), file);
                let paths = found.iter().map(|(scan, file)| (scan.key.sha256.clone(), path(file))).collect();
                self.edit_as("Find missing scans", [Edit::Project(ProjectEdit::ScanPaths(paths))])?;
                for (scan, _) in found {
                    self.missing.remove(&scan.key);
                    self.cure(&Cause::Scan(scan.key.clone()));
                }
                let left = self.missing.len();
                self.tell(match (found.len(), left) {
                    (0, _) => {
                        Notice::warning("None of the missing scans is in that folder; choose another one.")
                    }
                    (n, 0) => Notice::note(format!("Found all {n} missing scans.")),
                    (n, left) => {
                        Notice::warning(format!("Found {n} of the missing scans; {left} are still missing."))
                    }
                });
                Ok(self.load_scans())
            }
            Done::Written(Ok((path, notes))) => {
                self.tell(Notice::note(format!("Written: {}", path.display())));
                for note in notes {
                    self.tell(Notice::warning(sentence(note)));
                }
                Ok(vec![])
            }
            Done::Opened { path, instead_of, read } => self.project_read(path, instead_of, read),
            Done::ReadAgain(read) => self.read_again(read),
            Done::Saved(order, outcome) => self.project_saved(order, outcome),
            Done::Failed(why, waiting) => {
                for key in waiting.scans.iter() {
                    if self.loading.remove(key) {
                        self.missing.insert(key.clone(), Lost { gone: false, why: why.clone() });
                    }
                }
                self.saving &= !waiting.save;
                self.revision += 1;
                Err(RequestError::Task(why.clone()))
            }
            Done::Collected(from, Ok((count, project))) => {
                // Only the paths are used: the person may have gone on working.
                let path =
                    |art: &Art| store::relative(self.path.as_deref(), &store::resolve(Some(from), &art.scan));
                let paths = project.every_art().map(|a| (a.scan.key.sha256.clone(), path(a))).collect();
                self.edit_as("Copy scans beside project", [Edit::Project(ProjectEdit::ScanPaths(paths))])?;
                self.tell(Notice::note(format!(
                    "Copied {} into a folder beside the project. Save the project to use the copies.",
                    slipsheet_core::words::count(*count, "scan")
                )));
                Ok(vec![])
            }
            Done::Written(Err(why)) | Done::Collected(_, Err(why)) => Err(RequestError::Task(why.clone())),
            Done::Placed { at, was, found } => {
                let (placement, sentence) = found.as_ref().map_err(|why| RequestError::Task(why.clone()))?;
                // The person may have moved on meanwhile; then the answer is stale.
                if !self.project.every_art().any(|a| *a == **was) {
                    return Ok(vec![]);
                }
                self.edit_as("Line up", [Edit::Art(*at, ArtEdit::Placement(*placement))])?;
                self.tell(Notice::note(sentence.clone()));
                Ok(vec![])
            }
            Done::Marks(marks) => {
                // Marks of what has changed meanwhile say nothing.
                let original = &marks.original;
                let same = self.art(original.at).is_ok_and(|piece| *piece == original.art);
                Ok(if same { vec![Effect::ShowMarks(marks.clone())] } else { vec![] })
            }
            Done::LinedUp(originals) => self.originals_lined_up(originals),
            Done::Reviewed(at, was, placed) => self.reviewed(*at, was, placed),
            Done::ToMend(at, read) => {
                let read = read.clone().map_err(RequestError::Task)?;
                let same = self.art(*at).is_ok_and(|now| *now == read.art);
                Ok(if same { vec![Effect::ShowMending(read)] } else { vec![] })
            }
            Done::Picture(read) => {
                let read = read.clone().map_err(RequestError::Task)?;
                Ok(vec![Effect::ShowSeparation(read)])
            }
            Done::TakenApart(source, written) => {
                let written = written.clone().map_err(RequestError::Task)?;
                self.edit(Edit::Source(*source, SourceEdit::TakeApart(written)))
            }
            Done::Mended { at, was, dust, mask } => {
                let mask = mask.clone().map_err(RequestError::Task)?;
                if !self.art(*at).is_ok_and(|now| *now == **was) {
                    return Ok(vec![]);
                }
                let id = mask.as_ref().map(|(id, _)| id.clone());
                self.masks.extend(mask);
                self.edit(Edit::Art(*at, ArtEdit::Mend(*dust, id)))
            }
            Done::Cancelled(reads) => {
                for key in reads {
                    if !self.loading.contains(key) {
                        continue;
                    }
                    self.loading.retain(|k| k != key);
                    let lost = Lost {
                        gone: false,
                        why: "reading was stopped; choose Find missing scans to read it again".to_owned(),
                    };
                    self.missing.insert(key.clone(), lost);
                }
                self.revision += 1;
                self.tell(Notice::note("Stopped; the project was not changed."));
                Ok(vec![])
            }
        }
    }

    /// Lets go of pixels that no near step of history brings back.
    pub(super) fn let_pixels_go(&mut self) {
        let bytes = |key: &ScanKey| self.images.get(key).map_or(0, |pixels| pixels.bytes());
        let kept = self.history.states_within(&self.project, HISTORY_BYTES, bytes);
        self.images.keep_used(kept.into_iter().chain([&self.project]));
    }

    fn added(&mut self, scans: &[Result<AddedScan, String>], landing: Landing, names: &[String]) -> Applied {
        // Scans that come together are one step, whatever becomes of each.
        let before = self.state();
        let mut made = None;
        let mut pages = PageLayers::new(landing, self.sheet());
        for (scan, name) in scans.iter().zip(names) {
            let place = pages.next(self.sheet());
            let added = match scan {
                Ok(added) => added,
                Err(why) => {
                    self.tell(Notice::error(why.clone()));
                    continue;
                }
            };
            // Jobs give absolute paths: the project may have been saved elsewhere meanwhile.
            let path = store::relative(self.path.as_deref(), std::path::Path::new(&added.scan.path));
            let scan = ScanRef { path, ..added.scan.clone() };
            let Some((layer, target)) = place else {
                self.tell(Notice::warning(format!("There is no page left for {}.", scan.file_name())));
                continue;
            };
            let edit = match layer.filter(|id| self.sheet().layer(*id).is_some()) {
                Some(id) => Edit::Layer(id, LayerEdit::AddScan(scan, target)),
                None => Edit::Sheet(self.sheet, SheetEdit::AddScan(pages.name(name), scan, target)),
            };
            match edit::apply(&mut self.project, edit, &self.shelf) {
                Ok(step) => {
                    made = step.made;
                    for edit in pages.landed(step.made, self.sheet()) {
                        edit::apply(&mut self.project, edit, &self.shelf)?;
                    }
                }
                Err(full) => {
                    self.tell(Notice::error(full.to_string()));
                    break;
                }
            }
            self.take_pixels(added);
            if let Some(Made::Art(_, art)) = made.filter(|_| added.colourful) {
                let text = format!(
                    "{} is a colour picture; it was laid as one layer in gray.",
                    added.scan.file_name()
                );
                self.tell(Notice::note(text).about(Cause::Picture(art)));
            }
        }
        if self.project.title.is_empty() && self.project != before.project {
            self.project.title = names.first().cloned().unwrap_or_default();
        }
        self.note("Add scans", before);
        if let Some(Made::Art(layer, art)) = made {
            self.select(Some(layer), Some(art));
        }
        Ok(vec![])
    }

    fn take_pixels(&mut self, added: &AddedScan) {
        let key = &added.scan.key;
        self.images.insert(key.clone(), Arc::clone(&added.pixels));
        self.pages.insert(key.sha256.clone(), added.info.pages);
        self.papers.extend(added.paper.map(|paper| (key.clone(), (paper, added.tint))));
        if !added.had_resolution && !self.unsized_scans.contains(key) {
            self.unsized_scans.push(key.clone());
        }
        for notice in &added.notices {
            self.tell(Notice::note(format!("{}: {notice}", added.scan.file_name())));
        }
    }

    /// Takes changed scans as they are now: their new hash goes into the project.
    pub(super) fn accept_changed(&mut self) -> Applied {
        let mut changes = Vec::new();
        for (key, (size, sha256)) in std::mem::take(&mut self.changed) {
            // Where a photograph was taken again, the sheet lies elsewhere in it.
            let anew = key.flat.is_some();
            let now = ScanKey { sha256, flat: None, ..key.clone() };
            let now = if anew { ScanKey { mask: None, ..now } } else { now };
            if anew {
                self.tell(Notice::warning("A photograph was taken again: line it up once more."));
            } else if key.mask.is_some() {
                self.tell(Notice::note("What was mended by hand stays: see whether it fits the new scan."));
            }
            let paper = self.papers.get(&key).copied();
            self.papers.extend(paper.map(|paper| (now.clone(), paper)));
            // What changed while it was open has not been read yet.
            let stale = self.stale.remove(&key);
            if let Some(pixels) = self.images.get(&key).map(Arc::clone).filter(|_| !stale && !anew) {
                self.images.insert(now.clone(), pixels);
            }
            self.cure(&Cause::Scan(key.clone()));
            changes.push((key, size, now));
        }
        self.edit_as("Accept changed scans", [Edit::Project(ProjectEdit::ScansChanged(changes))])?;
        Ok(self.load_scans())
    }
}
