//! What the parts of the window read in a frame, what a part with a state of its own is, and what it may want worked
//! out.

use egui::Ui;
use slipsheet_document::ids::SheetId;
use slipsheet_document::layer::Slip;
use slipsheet_editor::{LiveOrder, RunOrder, Session};
use slipsheet_files::home::Home;
use slipsheet_files::plates::PlateForm;
use slipsheet_render::compare::Pair;

use super::overlay::Reach;
use super::{Desk, Showing, UiCommand};

/// What the parts of the window read in a frame. None of them changes any of it: they ask for that.
#[derive(Clone, Copy)]
pub(crate) struct Context<'a> {
    pub session: &'a Session,
    pub desk: &'a Desk,
    pub showing: &'a Showing,
    /// What keys reach in this frame.
    pub reach: Reach,
    pub home: &'a Home,
}

/// A part of the window with a state of its own.
pub(crate) trait Component {
    /// Draws it. What it asks for is done once the whole frame is drawn.
    fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>);

    /// What it wants worked out of the project as the frame's commands have left it.
    fn order(&mut self, ctx: &egui::Context, cx: &Context<'_>) -> Option<Wanted> {
        let _ = (ctx, cx);
        None
    }
}

/// What a part wants worked out beside the window.
pub(crate) enum Wanted {
    /// The picture of the open view.
    Live(LiveOrder),
    /// The same, with a layer that lies elsewhere for a moment: its position, where it lies, and the time in seconds.
    Played(LiveOrder, (usize, Slip), f64),
    /// What the Run view shows.
    Run(RunOrder),
    /// Nothing of a run: scans are still to come, and what was known is of another sheet.
    NoRun,
    /// The pages of the pack, with plates of this form.
    Pages(PlateForm),
}

impl Context<'_> {
    /// The layer that is shown alone.
    pub fn solo(&self) -> Option<usize> {
        self.session.selected_layer().map(|(i, _)| i).filter(|_| self.showing.alone)
    }

    /// The layer whose lost tones are hatched.
    pub fn hatched(&self) -> Option<usize> {
        self.session.selected_layer().map(|(i, _)| i).filter(|_| self.showing.lost_tones)
    }

    /// The selected layer, and the one it is compared with: the chosen one, or the one printed before it, or
    /// the next.
    pub fn pair(&self) -> Option<Pair> {
        let (first, layer) = self.session.selected_layer()?;
        let layers = &self.session.printing().sheet.layers;
        let on_face = |i: &usize| *i != first && layers.get(*i).is_some_and(|l| l.face == layer.face);
        let chosen = self.showing.compare.and_then(|c| c.against).filter(on_face);
        let before = || (0..first).rev().find(on_face);
        let second = chosen.or_else(before).or_else(|| (first + 1..layers.len()).find(on_face))?;
        Some(Pair { first, second })
    }

    /// The sheet that is not open, where the project has two.
    pub fn other_sheet(&self) -> Option<SheetId> {
        let open = self.session.sheet().id;
        self.session.project().sheets().map(|s| s.id).find(|id| *id != open)
    }
}
