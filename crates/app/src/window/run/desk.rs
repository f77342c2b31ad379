//! What the Run view asks of the desk, and what comes back.

use egui::Context;
use slipsheet_document::ids::LayerId;
use slipsheet_editor::{CopyWanted, LiveOrder, RunNews, RunOrder, RunWanted};
use slipsheet_registration::slip::map::SlipMap;
use slipsheet_render::Picture;

use super::{Part, RunState, Simulated};
use crate::window::sheet::color_image;
use crate::window::{MainView, SlipsheetApp, theme};

/// Columns of the contact sheet, and pixels a cell.
pub(super) const CELLS: (usize, usize) = (8, 54);
/// Side in mm of the place at which one copy is looked at.
pub(super) const NEAR: f64 = 32.0;

impl RunState {
    /// Forgets what studies and copies have found.
    fn forget(&mut self) {
        (self.study, self.summary, self.present) = (None, None, None);
        self.copies.clear();
        self.plans.clear();
        (self.map, self.contact, self.near) = (None, None, None);
    }
}

impl SlipsheetApp {
    /// Takes what has come.
    pub(in crate::window) fn take_run_news(&mut self, ctx: &Context) {
        for (_, news) in self.run_desk.poll() {
            self.take_one(ctx, news);
        }
        if let Some(why) = self.run_desk.fault() {
            self.take_one(ctx, RunNews::Failed(why));
        }
    }

    fn take_one(&mut self, ctx: &Context, news: RunNews) {
        let state = &mut self.state.run;
        match news {
            RunNews::Study(study) => {
                let tolerance = study.tolerance().map(|t| t.0);
                if state.tolerances[1] != tolerance {
                    state.tolerances = [state.tolerances[1], tolerance];
                }
                (state.study, state.failed) = (Some(study), None);
            }
            RunNews::Copies(copies) => {
                if copies.first().is_some_and(|c| c.index == 0) {
                    state.copies.clear();
                    state.summary = None;
                }
                state.copies.extend(copies);
            }
            RunNews::Summary(summary, face, of) => {
                let (good, copies) = (summary.good, summary.copies);
                state.simulated = Some(Simulated { face, of, good, copies });
                state.summary = Some(summary);
            }
            RunNews::Contact(picture, place) => {
                state.contact = Some((texture(ctx, "contact sheet", &picture), place));
            }
            RunNews::Copy(which, picture) => state.near = Some((which, texture(ctx, "copy", &picture))),
            RunNews::Map(map) => {
                let picture = heat_picture(&map);
                state.map = Some((map, texture(ctx, "slip map", &picture)));
            }
            RunNews::Plans(plans, present) => (state.plans, state.present) = (plans, Some(present)),
            RunNews::Suggested(found) => {
                state.suggesting = None;
                self.take_suggestion(ctx, found);
            }
            RunNews::Failed(why) => (state.study, state.failed) = (None, Some(why)),
        }
    }

    /// Asks for what the window shows now, unless that was asked for already.
    pub(in crate::window) fn order_runs(&mut self, ctx: &Context) {
        // A slip that nobody watches ends all the same.
        let time = ctx.input(|i| i.time);
        if self.state.run.play.is_some_and(|p| p.at(time).is_none()) {
            self.state.run.play = None;
        } else if self.state.run.play.is_some() {
            ctx.request_repaint();
        }
        // While something is dragged the sheet's picture comes first; slips change no study anyway.
        if self.state.sheet.is_dragging() {
            return;
        }
        if self.lacks().is_some() {
            // Edges of what is only partly there are no edges of the print: nothing is asked for, nor kept.
            self.forget_what_is_known();
            return;
        }
        self.forget_other_layers();
        let state = &self.state.run;
        let open = self.showing.view == MainView::Run;
        let p = theme::palette(ctx.global_style().visuals.dark_mode);
        let run = RunWanted {
            copies: state.number,
            seed: state.seed,
            wanted: state.wanted,
            place: state.place,
            cells: CELLS,
            colours: [p.good, p.error, p.panel].map(|c| [c.r(), c.g(), c.b(), 255]),
        };
        let copy = CopyWanted {
            index: if state.extremes { 0 } else { state.chosen },
            extremes: state.extremes.then_some(state.number),
            seed: state.seed,
            place: state.place,
            side: NEAR,
            pixels: (260.0 * ctx.pixels_per_point()) as u32,
        };
        let layer = self.session.selected_layer().map(|(i, _)| i);
        let order = RunOrder {
            face: self.showing.face,
            run: open.then_some(run),
            copy: (open && state.part == Part::Copies).then_some(copy),
            map: layer.filter(|_| open && state.part == Part::Map),
            plans: open && state.part == Part::Passes,
            suggest: state.suggesting.filter(|_| open),
        };
        let order = (self.session.revision(), order);
        if self.state.run.ordered.as_ref() != Some(&order) {
            let mut snapshot = self.snapshot();
            if snapshot.printing.sheet.booklet.is_some() {
                // Of a booklet the sheet in view is studied.
                let one = snapshot.printing.number(self.showing.booklet_sheet).into_owned();
                snapshot.printing = std::sync::Arc::new(one);
            }
            self.run_desk.order(snapshot, order.1.clone());
            self.state.run.ordered = Some(order);
        }
    }

    /// Lets go of what is known of layers that stand in another order now: it knows them by their positions.
    fn forget_other_layers(&mut self) {
        let printing = self.session.printing();
        let now: Vec<LayerId> = printing.sheet.layers.iter().map(|l| l.id).collect();
        let wanted = u64::from(printing.job.wanted());
        let state = &mut self.state.run;
        if state.about != now {
            state.forget();
            if wanted > 0 {
                // As many as the job is to have.
                state.wanted = wanted.min(5000);
            }
            state.about = now;
        }
    }

    /// Lets go of what a study of more scans than are there now has found.
    fn forget_what_is_known(&mut self) {
        let state = &mut self.state.run;
        if state.study.is_some() || state.failed.is_some() || !state.copies.is_empty() {
            state.forget();
            state.failed = None;
        }
        // Whatever was asked for before is asked for anew once everything is there.
        if state.ordered.take().is_some() {
            self.run_desk.cancel();
        }
    }

    /// Asks for the sheet's picture with a layer slipped that the project leaves where it is.
    pub(in crate::window) fn order_played(&mut self, order: LiveOrder, time: f64) -> bool {
        let Some(play) = self.state.run.play else { return false };
        let Some(slip) = play.at(time) else {
            self.state.run.play = None;
            return false;
        };
        let mut snapshot = self.snapshot();
        let mut printing = (*snapshot.printing).clone();
        let Some(layer) = printing.sheet.layers.get_mut(play.layer) else { return false };
        layer.slip = slip;
        snapshot.printing = std::sync::Arc::new(printing);
        // A revision of its own, which no change of the project ever reaches.
        snapshot.revision = u64::MAX - (time * 1000.0) as u64;
        self.live.order(snapshot, order);
        self.ordered = None;
        true
    }
}

fn texture(ctx: &Context, name: &str, picture: &Picture) -> egui::TextureHandle {
    ctx.load_texture(name, color_image(picture), egui::TextureOptions::LINEAR)
}

/// A slip map in colours, a pixel a shift.
fn heat_picture(map: &SlipMap) -> Picture {
    let most = map.changes.iter().map(|c| c.mean).fold(1e-9, f64::max);
    let pixels = map.changes.iter().map(|c| theme::change_colour(c.mean / most)).collect();
    Picture { width: map.side, height: map.side, pixels }
}
