//! What comes from outside a frame: finished jobs, pictures and figures from threads, answers about paths, and
//! files let go over the window; and the pictures that are asked for.

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_document::layer::Target;
use slipsheet_editor::{LiveOrder, Notice, Request, RunNews};

use super::overlays::Question;
use super::{Answer, AskedPath, Parts, SlipsheetApp, paths, strip};

impl SlipsheetApp {
    /// Whether every picture and job that was asked for has come.
    pub fn is_settled(&self) -> bool {
        let (revision, views) = (self.session.revision(), &self.parts.views);
        let shows = |revision, order: &LiveOrder| match order {
            LiveOrder::Sheet { .. } | LiveOrder::Compare { .. } => views.sheet.shows(revision, order),
            LiveOrder::Dummy { .. } => views.dummy.shows(revision, order),
        };
        !views.sheet.is_playing()
            && self.parts.overlays.is_settled(revision, &self.desk.previews)
            && self.desk.is_settled(revision, shows)
    }

    /// What came back from threads and dialogs.
    pub(super) fn poll(&mut self, ctx: &egui::Context) {
        self.desk.tasks.cancel_older(self.session.epoch());
        for (epoch, done) in self.desk.tasks.poll() {
            self.run(ctx, Request::JobDone(epoch, Arc::new(done)));
        }
        self.watch_scans(ctx);
        self.desk.take_figures();
        let Parts { views, overlays, .. } = &mut self.parts;
        // Figures are for reading; while something is dragged the picture comes first.
        if !views.sheet.is_dragging() && strip::tuned(ctx).is_none() {
            self.desk.order_figures(&self.session);
        }
        if let Some(picture) = self.desk.picture() {
            match &picture.order {
                LiveOrder::Sheet { .. } | LiveOrder::Compare { .. } => views.sheet.take(ctx, picture),
                LiveOrder::Dummy { .. } => views.dummy.take(ctx, picture),
            }
        }
        for (revision, news) in self.desk.readings.poll() {
            if let Some(readings) = overlays.readings() {
                readings.take(ctx, revision, news);
            }
        }
        for (_, found) in self.desk.dust.poll() {
            if let Some(mending) = overlays.mending() {
                mending.take(found);
            }
        }
        for (_, news) in self.desk.separating.poll() {
            if let Some(separating) = overlays.separating() {
                separating.take(ctx, news);
            }
        }
        for (_, preview) in self.desk.previews.poll() {
            if let Some(series) = overlays.series() {
                series.take(ctx, preview);
            }
        }
        self.desk.pages.poll(ctx);
        self.take_run_news(ctx);
        self.desk.faults().for_each(|why| self.session.tell(Notice::error(why)));
        if let Some((asked, answer)) = self.paths.poll() {
            self.answered(ctx, asked, answer);
        }
    }

    fn take_run_news(&mut self, ctx: &egui::Context) {
        let mut news: Vec<RunNews> = self.desk.run_desk.poll().into_iter().map(|(_, news)| news).collect();
        news.extend(self.desk.run_desk.fault().map(RunNews::Failed));
        for news in news {
            self.desk.run.take(ctx, news);
        }
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
                Some(path) => self.parts.overlays.ask(Question::replace(asked, &path)),
                None => {
                    if let Some(request) = paths::request(&asked, files) {
                        self.run(ctx, request);
                    }
                }
            },
            Answer::Cancelled => self.run(ctx, Request::PathCancelled),
            Answer::NoDialog => self.parts.overlays.ask(Question::typed_path(asked)),
        }
    }

    pub(super) fn dropped(&mut self, ctx: &egui::Context) {
        let files: Vec<PathBuf> =
            ctx.input(|i| i.raw.dropped_files.iter().map(|f| f.path().to_owned()).collect());
        if files.is_empty() {
            return;
        }
        if let Some(overlay) = self.parts.overlays.shown() {
            // A path box takes a file for its path; nothing else behind or over the views changes.
            if !self.parts.overlays.take_dropped(&files) {
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
