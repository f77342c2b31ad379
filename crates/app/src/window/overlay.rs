//! What lies over the views: the one place that knows it. Keys, held keys, dropped files and the drawing of
//! windows over the views all ask here, so that what is covered stays as it is.

use egui::Context;

/// Writes the enum and the list of all of it, so that none can be left out of the list.
macro_rules! overlays {
    ($($name:ident => $heading:literal,)*) => {
        /// Something that lies over the views until it is closed or answered.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Overlay {
            $(#[doc = $heading] $name,)*
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
    Unsaved => "Unsaved changes",
    ChangedProject => "Project changed on disk",
    Path => "Type a path",
    Recover => "Recover unsaved work",
    Proof => "Export proof",
    Pack => "Make pack",
    DummyPicture => "Export dummy picture",
    Resolution => "Scan resolution",
    Landing => "Add scans",
    Separating => "Separate a picture",
    Mending => "Mend a scan",
    Parts => "Readings of parts",
    PrintedDummy => "Export printed dummy",
    FoldingSteps => "Folding steps",
    Help => "Keys, gestures and cautions",
    Licences => "Licences",
    Findings => "Before printing",
    Calibration => "Calibration",
    LineUp => "Line up by marks",
    Shelf => "Inks and stocks",
    FoldSchemes => "Fold schemes",
    Editions => "Editions",
    Colourways => "Colourways",
    Wrap => "Wrap",
    Readings => "Compare readings",
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

impl Reach {
    /// What keys reach in a frame that begins now, over what lies open.
    pub fn now(self, ctx: &Context, open: Option<Overlay>) -> Self {
        Self {
            // What the toolkit drew as such counts as well.
            covered: open.is_some() || ctx.memory(|m| m.top_modal_layer().is_some()),
            menu: egui::Popup::is_any_open(ctx),
            typing: ctx.egui_wants_keyboard_input(),
            was_typing: self.typing,
        }
    }
}
