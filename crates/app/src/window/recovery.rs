//! Copies of unsaved work, and taking up what a crash left.

use std::path::Path;
use std::time::{Duration, Instant};

use slipsheet_editor::{Cause, Leave, Notice, Request};
use slipsheet_files::home::{Home, Recovered};

use super::SlipsheetApp;

/// How long after the last change unsaved work is copied for recovery, and how long changes may go on without a copy.
const AFTER: Duration = Duration::from_secs(5);
const AT_MOST: Duration = Duration::from_secs(30);

/// The latest work that a crash left: with a project, only the work on that very project.
pub(super) fn offered(home: &Home, project: Option<&Path>) -> Option<Recovered> {
    home.recoverable().into_iter().rev().find(|left| match (project, &left.project_path) {
        (None, _) => true,
        (Some(open), Some(path)) => std::path::absolute(open).is_ok_and(|open| open == *path),
        (Some(_), None) => false,
    })
}

impl SlipsheetApp {
    /// Copies unsaved work, so that a crash loses little.
    pub(super) fn keep_recovery(&mut self, ctx: &egui::Context) {
        if !self.session.is_dirty() {
            self.drop_recovery();
            return;
        }
        let revision = self.session.revision();
        if self.recovered_revision == revision {
            return;
        }
        if self.last_change.0 != revision {
            self.last_change = (revision, Instant::now());
        }
        let quiet = self.last_change.1.elapsed();
        if quiet < AFTER && self.last_recovery.elapsed() < AT_MOST {
            ctx.request_repaint_after(AFTER - quiet);
            return;
        }
        self.last_recovery = Instant::now();
        self.recovered_revision = revision;
        self.save_recovery();
    }

    /// Writes the copy; whether there is one now.
    fn save_recovery(&mut self) -> bool {
        let Some(claim) = &self.recovery else { return false };
        let (path, project, masks) = (self.session.path(), self.session.project(), self.session.masks());
        match self.home.save_recovery(claim, path, project, masks) {
            Ok(()) => {
                self.session.cure(&Cause::Recovery);
                true
            }
            Err(e) => {
                let notice =
                    Notice::warning(format!("No recovery copy can be saved ({e}). Save your work now."));
                self.session.tell(notice.about(Cause::Recovery));
                false
            }
        }
    }

    pub(super) fn drop_recovery(&mut self) {
        if let Some(claim) = self.recovery.as_ref().filter(|_| self.recovered_revision != 0) {
            self.home.drop_recovery(claim);
            self.recovered_revision = 0;
        }
    }

    /// Takes up what a crash left. Its copy goes only when the work has a new one.
    pub(crate) fn recover(&mut self, ctx: &egui::Context, left: Recovered) {
        let file = left.file.clone();
        self.run(ctx, Request::Discard(Leave::Recover(Box::new(left))));
        self.recovered_revision = self.session.revision();
        if self.save_recovery() {
            self.home.drop_recovered(&file);
        }
    }
}
