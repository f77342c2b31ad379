//! What the Run view wants worked out.

use slipsheet_editor::{CopyWanted, RunOrder, RunWanted};

use super::{Part, RunView};
use crate::window::context::{Context, Wanted};
use crate::window::{MainView, theme};

/// Columns of the contact sheet, and pixels a cell.
pub(super) const CELLS: (usize, usize) = (8, 54);
/// Side in mm of the place at which one copy is looked at.
pub(super) const NEAR: f64 = 32.0;

impl RunView {
    /// What the window shows now.
    pub(super) fn wanted(&mut self, ctx: &egui::Context, cx: &Context<'_>) -> Wanted {
        if cx.lacks().is_some() {
            // Edges of what is only partly there are no edges of the print: nothing is asked for, nor kept.
            return Wanted::NoRun;
        }
        let printing = cx.session.printing();
        let wanted = u64::from(printing.job.wanted());
        if wanted > 0 && cx.desk.run.is_of_others(&printing.sheet.layers) {
            // As many as the job is to have.
            self.wanted = wanted.min(5000);
        }

        let open = cx.showing.view == MainView::Run;
        let p = theme::palette(ctx.global_style().visuals.dark_mode);
        let run = RunWanted {
            copies: self.number,
            seed: self.seed,
            wanted: self.wanted,
            place: self.place,
            cells: CELLS,
            colours: [p.good, p.error, p.panel].map(|c| [c.r(), c.g(), c.b(), 255]),
        };
        let copy = CopyWanted {
            index: if self.extremes { 0 } else { self.chosen },
            extremes: self.extremes.then_some(self.number),
            seed: self.seed,
            place: self.place,
            side: NEAR,
            pixels: (260.0 * ctx.pixels_per_point()) as u32,
        };
        let layer = cx.session.selected_layer().map(|(i, _)| i);
        Wanted::Run(RunOrder {
            face: cx.showing.face,
            run: open.then_some(run),
            copy: (open && self.part == Part::Copies).then_some(copy),
            map: layer.filter(|_| open && self.part == Part::Map),
            plans: open && self.part == Part::Passes,
            propose: self.proposing.filter(|_| open),
        })
    }
}
