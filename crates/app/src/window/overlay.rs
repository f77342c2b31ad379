//! What lies over the views: the one place that knows it. Keys, held keys, dropped files and the drawing of
//! windows over the views all ask here, so that what is covered stays as it is.

use egui::Context;

use super::SlipsheetApp;

/// Writes the enum and the list of all of it, so that none can be left out of the list.
macro_rules! overlays {
    ($($(#[$doc:meta])* $name:ident => $heading:literal,)*) => {
        /// Something that lies over the views until it is closed or answered.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Overlay {
            $($(#[$doc])* $name,)*
        }

        impl Overlay {
            /// Each of them.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// What a person calls it.
            pub fn name(self) -> &'static str {
                match self {
                    $(Self::$name => $heading,)*
                }
            }
        }
    };
}

overlays! {
    /// Whether unsaved changes may be lost.
    Unsaved => "Unsaved changes",
    /// Which version of a project is kept.
    ChangedProject => "Project changed on disk",
    /// A path, typed.
    Path => "Type a path",
    /// Whether work from before a crash is recovered.
    Recover => "Recover unsaved work",
    /// How a proof is written.
    Proof => "Export proof",
    /// How the pack is made.
    Pack => "Make pack",
    /// How a picture of the dummy is written.
    DummyPicture => "Export dummy picture",
    /// The resolution of a scan.
    Resolution => "Scan resolution",
    /// How the printed dummy is written.
    PrintedDummy => "Export printed dummy",
    /// How the sheet is folded.
    FoldingSteps => "Folding steps",
    /// Keys, gestures and cautions.
    Help => "Keys, gestures and cautions",
    /// What belongs to others in this program.
    Licences => "Licences",
    /// What should be looked at before printing.
    Findings => "Before printing",
    /// A question about a calibration, or its result.
    Calibration => "Calibration",
    /// Marks that are looked over.
    LineUp => "Line up by marks",
    /// Inks and stocks.
    Shelf => "Inks and stocks",
    /// Fold schemes and their editor.
    FoldSchemes => "Fold schemes",
    /// The editions.
    Editions => "Editions",
    /// The colourways.
    Colourways => "Colourways",
    /// What goes around the folded piece.
    Wrap => "Wrap",
    /// Readings side by side.
    Readings => "Compare readings",
    /// A page of the pack, large.
    PackPage => "A page of the pack",
}

/// What keys and files reach, as it was when the frame began: a key that closes a menu must not reach the view
/// behind it in the same frame.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Reach {
    /// Something lies over the views.
    pub covered: bool,
    /// A menu or a list is open.
    pub menu: bool,
    /// A field or a button takes the keys.
    pub typing: bool,
    /// The same a frame ago: the key that leaves a field belongs to the field.
    was_typing: bool,
}

impl Reach {
    /// Whether keys reach the view itself.
    pub fn views(self) -> bool {
        !self.covered && !self.menu && !self.typing && !self.was_typing
    }
}

impl SlipsheetApp {
    /// Looks once, as a frame begins, at what keys reach.
    pub(super) fn look_at_reach(&mut self, ctx: &Context) {
        let typing = ctx.egui_wants_keyboard_input();
        self.state.reach = Reach {
            // What the toolkit drew as such counts as well.
            covered: self.overlays.shown().is_some() || ctx.memory(|m| m.top_modal_layer().is_some()),
            menu: egui::Popup::is_any_open(ctx),
            typing,
            was_typing: self.state.reach.typing,
        };
    }

    /// What lies over the views, for tests.
    pub fn overlay(&self) -> Option<Overlay> {
        self.overlays.shown()
    }
}
