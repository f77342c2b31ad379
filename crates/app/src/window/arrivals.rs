//! What comes from outside a frame: finished jobs, pictures and figures from threads, answers about paths, and
//! files let go over the window; and the pictures that are asked for.

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_document::layer::Target;
use slipsheet_editor::{FiguresOrder, LiveOrder, Notice, Request, Snapshot};

use super::overlays::Question;
use super::{Answer, AskedPath, SlipsheetApp, paths, strip};

impl SlipsheetApp {
    /// Whether every picture and job that was asked for has come.
    pub fn is_settled(&self) -> bool {
        self.tasks.running().is_empty()
            && self.overlays.is_settled(self.session.revision(), &self.previews)
            && self.booking.is_settled()
            && self.figures_revision == self.session.revision()
            && !self.run_desk.is_busy()
            && self.state.run.play.is_none()
            && self.ordered.as_ref().is_none_or(|(revision, order)| match order {
                LiveOrder::Sheet { .. } | LiveOrder::Compare { .. } => {
                    self.state.sheet.shows(*revision, order)
                }
                LiveOrder::Dummy { .. } => self.state.dummy.shows(*revision, order),
            })
    }

    pub(super) fn snapshot(&mut self) -> Snapshot {
        let revision = self.session.revision();
        if let Some(snapshot) = self.snapshot.as_ref().filter(|s| s.revision == revision) {
            return snapshot.clone();
        }
        let snapshot = Snapshot {
            project: Arc::new(self.session.project().clone()),
            printing: Arc::clone(self.session.printing()),
            images: self.session.images().clone(),
            revision,
        };
        self.snapshot = Some(snapshot.clone());
        snapshot
    }

    /// Asks for a picture unless it was the last one asked for.
    pub(crate) fn order(&mut self, order: LiveOrder) {
        let order = (self.session.revision(), order);
        if self.ordered.as_ref() != Some(&order) {
            let snapshot = self.snapshot();
            self.live.order(snapshot, order.1.clone());
            self.ordered = Some(order);
        }
    }

    /// What came back from threads and dialogs.
    pub(super) fn poll(&mut self, ctx: &egui::Context) {
        self.tasks.cancel_older(self.session.epoch());
        for (epoch, done) in self.tasks.poll() {
            let request = Request::JobDone(epoch, Arc::new(done));
            self.run(ctx, request);
        }
        self.watch_scans(ctx);
        if let Some((revision, figures)) = self.layer_figures.poll().pop() {
            self.figures = figures.prints;
            self.findings = figures.findings;
            self.register = figures.register;
            self.prints_revision = revision;
            if figures.complete {
                self.figures_revision = revision;
            }
        }
        // Figures are for reading; while something is dragged the picture comes first.
        let still = !self.state.sheet.is_dragging() && strip::tuned(ctx).is_none();
        if still && self.figures_ordered != self.session.revision() {
            self.figures_ordered = self.session.revision();
            let snapshot = self.snapshot();
            let troubles = self.session.scan_troubles();
            self.layer_figures.order(snapshot, FiguresOrder { troubles });
        }
        if let Some((_, picture)) = self.live.poll().pop() {
            match &picture.order {
                LiveOrder::Sheet { .. } | LiveOrder::Compare { .. } => self.state.sheet.take(ctx, picture),
                LiveOrder::Dummy { .. } => self.state.dummy.take(ctx, picture),
            }
        }
        for (revision, news) in self.readings.poll() {
            if let Some(readings) = self.overlays.readings() {
                readings.take(ctx, revision, news);
            }
        }
        for (_, preview) in self.previews.poll() {
            if let Some(series) = self.overlays.series() {
                series.take(ctx, preview);
            }
        }
        self.take_run_news(ctx);
        self.tell_faults();
        if let Some((asked, answer)) = self.paths.poll() {
            self.answered(ctx, asked, answer);
        }
    }

    /// Says what broke down; the Run view says it of its own work.
    fn tell_faults(&mut self) {
        let faults = [
            self.live.fault(),
            self.layer_figures.fault(),
            self.readings.fault(),
            self.previews.fault(),
            self.booking.fault(),
        ];
        faults.into_iter().flatten().for_each(|why| self.session.tell(Notice::error(why)));
    }

    /// Scans that another program changed while they are open here.
    fn watch_scans(&mut self, ctx: &egui::Context) {
        if self.watched_revision != self.session.revision() {
            self.watched_revision = self.session.revision();
            self.scan_watch.watch(self.session.scan_files());
        }
        let files = self.scan_watch.poll();
        if !files.is_empty() {
            self.run(ctx, Request::LookAtScans(files));
        }
    }

    fn answered(&mut self, ctx: &egui::Context, asked: AskedPath, answer: Answer) {
        match answer {
            Answer::Paths(files) => match paths::replaces_unasked(&asked, &files) {
                // The desktop asked about the name it was given, not about the one with its ending.
                Some(path) => self.overlays.ask(Question::replace(asked, &path)),
                None => {
                    if let Some(request) = paths::request(&asked, files) {
                        self.run(ctx, request);
                    }
                }
            },
            Answer::Cancelled => self.run(ctx, Request::PathCancelled),
            Answer::NoDialog => self.overlays.ask(Question::typed_path(asked)),
        }
    }

    /// What letting go of files would do.
    pub(super) fn drop_words(&self) -> String {
        match self.overlays.shown() {
            Some(_) if self.overlays.takes_paths() => "Drop to use this path".to_owned(),
            Some(overlay) => format!("Close “{}” first, then drop the files", overlay.name()),
            None => "Drop to add scans or to open a project".to_owned(),
        }
    }

    pub(super) fn dropped(&mut self, ctx: &egui::Context) {
        let files: Vec<PathBuf> =
            ctx.input(|i| i.raw.dropped_files.iter().map(|f| f.path().to_owned()).collect());
        if files.is_empty() {
            return;
        }
        if let Some(overlay) = self.overlays.shown() {
            // A path box takes a file for its path; nothing else behind or over the views changes.
            if !self.overlays.take_dropped(&files) {
                let name = overlay.name();
                let text = format!("Nothing was added. Close “{name}” first, then drop the files again.");
                self.session.tell(Notice::warning(text));
            }
            return;
        }
        // One scan let go while an empty layer is selected is meant for that layer.
        let empty = self.session.selected_layer().filter(|(_, l)| l.art.is_empty() && files.len() == 1);
        let layer = empty.map(|(_, l)| l.id);
        self.run(ctx, Request::AddScans { files, layer, target: Target::Sheet });
    }
}
