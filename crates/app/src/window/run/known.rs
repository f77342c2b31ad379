//! What studies and runs of the sheet in view have found.

use std::sync::Arc;

use egui::{Context, TextureHandle};
use slipsheet_core::geometry::Point;
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::ids::LayerId;
use slipsheet_document::layer::Layer;
use slipsheet_editor::{CopyWanted, RunNews, StudyKey};
use slipsheet_paper::fold::Face;
use slipsheet_registration::plan::PassPlan;
use slipsheet_registration::propose::Proposals;
use slipsheet_registration::slip::map::SlipMap;
use slipsheet_registration::slip::{Copied, RunSummary, Study, Tolerance};
use slipsheet_render::Picture;

use crate::window::sheet::color_image;
use crate::window::theme;

/// A run that was simulated, and what it was a run of.
pub(crate) struct Simulated {
    pub face: Face,
    pub of: Arc<StudyKey>,
    pub good: usize,
    pub copies: usize,
}

/// What is known so far.
#[derive(Default)]
pub(crate) struct RunKnown {
    /// The layers that it is about, in the order by which it names them.
    about: Vec<LayerId>,
    pub study: Option<Arc<Study>>,
    /// How far its inks may slip, by what is accepted.
    pub tolerance: Option<(Acceptance, Tolerance)>,
    pub failed: Option<String>,
    pub copies: Vec<Copied>,
    pub summary: Option<RunSummary>,
    /// The run that was simulated last, whole, and what it was a run of.
    pub simulated: Option<Simulated>,
    pub contact: Option<(TextureHandle, Point)>,
    pub near: Option<(CopyWanted, TextureHandle)>,
    pub map: Option<(SlipMap, TextureHandle)>,
    pub plans: Vec<PassPlan>,
    pub present: Option<PassPlan>,
    /// Tolerances before and after the last change that mattered.
    pub tolerances: [Option<f64>; 2],
}

impl RunKnown {
    /// Takes what has come; proposals are handed on.
    pub fn take(&mut self, ctx: &Context, news: RunNews) -> Option<Proposals> {
        match news {
            RunNews::Study(study) => {
                if self.study.as_ref().is_none_or(|known| !Arc::ptr_eq(known, &study)) {
                    self.tolerance = None;
                }
                (self.study, self.failed) = (Some(study), None);
            }
            RunNews::Copies(copies) => {
                if copies.first().is_some_and(|c| c.index == 0) {
                    self.copies.clear();
                    self.summary = None;
                }
                self.copies.extend(copies);
            }
            RunNews::Summary(summary, face, of) => {
                let (good, copies) = (summary.sold.sold, summary.sold.copies);
                self.simulated = Some(Simulated { face, of, good, copies });
                self.summary = Some(summary);
            }
            RunNews::Contact(picture, place) => {
                self.contact = Some((texture(ctx, "contact sheet", &picture), place));
            }
            RunNews::Copy(which, picture) => self.near = Some((which, texture(ctx, "copy", &picture))),
            RunNews::Map(map) => {
                let picture = heat_picture(&map);
                self.map = Some((map, texture(ctx, "slip map", &picture)));
            }
            RunNews::Plans(plans, present) => (self.plans, self.present) = (plans, Some(present)),
            RunNews::Proposed(found) => return Some(found),
            RunNews::Failed(why) => (self.study, self.failed) = (None, Some(why)),
        }
        None
    }

    /// Judges the study by what is accepted now.
    pub fn judge(&mut self, acceptance: &Acceptance) {
        let Some(study) = &self.study else { return };
        if self.tolerance.as_ref().is_none_or(|(by, _)| by != acceptance) {
            let tolerance = study.tolerance(acceptance);
            let least = tolerance.least().map(|t| t.0);
            if self.tolerances[1] != least {
                self.tolerances = [self.tolerances[1], least];
            }
            self.tolerance = Some((*acceptance, tolerance));
        }
    }

    /// How far the inks may slip, once the study is there.
    pub fn judged(&self) -> Option<&Tolerance> {
        self.tolerance.as_ref().filter(|_| self.study.is_some()).map(|(_, tolerance)| tolerance)
    }

    /// Whether it is about other layers than these, or about these in another order.
    pub fn is_of_others(&self, layers: &[Layer]) -> bool {
        !self.about.iter().eq(layers.iter().map(|l| &l.id))
    }

    /// Lets go of what is known of layers that stand in another order now: it knows them by their positions.
    pub fn follow(&mut self, layers: &[Layer]) {
        if self.is_of_others(layers) {
            self.forget();
            self.about = layers.iter().map(|l| l.id).collect();
        }
    }

    /// Lets go of what a study of more scans than are there now has found.
    pub fn forget_all(&mut self) {
        if self.study.is_some() || self.failed.is_some() || !self.copies.is_empty() {
            self.forget();
            self.failed = None;
        }
    }

    fn forget(&mut self) {
        (self.study, self.summary, self.present) = (None, None, None);
        self.copies.clear();
        self.plans.clear();
        (self.map, self.contact, self.near) = (None, None, None);
    }
}

fn texture(ctx: &Context, name: &str, picture: &Picture) -> TextureHandle {
    ctx.load_texture(name, color_image(picture), egui::TextureOptions::LINEAR)
}

/// A slip map in colours, a pixel a shift.
fn heat_picture(map: &SlipMap) -> Picture {
    let most = map.changes.iter().map(|c| c.mean).fold(1e-9, f64::max);
    let pixels = map.changes.iter().map(|c| theme::change_colour(c.mean / most)).collect();
    Picture { width: map.side, height: map.side, pixels }
}
