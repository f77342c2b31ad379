//! Every action of the window: one table feeds the menus, the keys, the tooltips and the help.

use egui::{Key, KeyboardShortcut, Modifiers};

/// An action.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Empty project.
    New,
    /// Open a project.
    Open,
    /// Save.
    Save,
    /// Save elsewhere.
    SaveAs,
    /// Copy scans beside the project.
    Collect,
    /// Look for missing scans.
    FindScans,
    /// Accept changed scans.
    AcceptChanged,
    /// Add scans.
    AddScans,
    /// Write a proof.
    Proof,
    /// Write a picture of the dummy.
    DummyPicture,
    /// Write the printed dummy.
    PrintedDummy,
    /// Write the page guide.
    Guide,
    /// Write a calibration sheet.
    Wedge,
    /// Read the scan of a printed one.
    ReadWedge,
    /// Read an instrument's table.
    ImportMeasured,
    /// Write the plates of a mark sheet.
    ExportMarks,
    /// Read scans of printed ones.
    ReadMarks,
    /// Leave.
    Quit,
    /// Undo.
    Undo,
    /// Redo.
    Redo,
    /// Add an empty layer.
    AddLayer,
    /// Remove the selected layer.
    RemoveLayer,
    /// Print the selected layer later.
    PrintLater,
    /// Print the selected layer earlier.
    PrintEarlier,
    /// Show or hide the selected layer.
    ToggleVisible,
    /// Show the selected layer alone.
    Solo,
    /// Look over the marks of the selected artwork.
    LineUpByMarks,
    /// Reset the selected layer's slip.
    ResetSlip,
    /// Reset every slip.
    ResetSlips,
    /// The Sheet view.
    SheetView,
    /// The Dummy view.
    DummyView,
    /// The Run view.
    RunView,
    /// Tight edges on the sheet, or not.
    TightEdges,
    /// The Booking view.
    BookingView,
    /// Make the booking pack.
    Pack,
    /// Whole sheet.
    Fit,
    /// True size.
    ActualSize,
    /// Nearer.
    ZoomIn,
    /// Farther.
    ZoomOut,
    /// The other face.
    OtherFace,
    /// Fold guides on or off.
    FoldGuides,
    /// Page marks on or off.
    PageMarks,
    /// Rulers on or off.
    Rulers,
    /// The other face through the paper, or not.
    ShowThrough,
    /// How the sheet is folded.
    FoldingSteps,
    /// Two layers one after the other.
    Blink,
    /// Where two layers differ.
    Difference,
    /// Hatches over tones that are lost, on or off.
    LostTones,
    /// Readings side by side.
    CompareReadings,
    /// mm or inches.
    Units,
    /// Next sheet of a booklet.
    NextSheet,
    /// Sheet of a booklet before.
    PreviousSheet,
    /// Next page of the dummy.
    NextPage,
    /// Previous page of the dummy.
    PreviousPage,
    /// The shelf.
    Shelf,
    /// Fold schemes and their editor.
    FoldSchemes,
    /// The editions.
    Editions,
    /// Every colourway of some inks and stocks.
    Colourways,
    /// What goes around the folded piece.
    Wrap,
    /// The wrap's sheet, or the booklet's.
    OtherSheet,
    /// Light, dark or as the desktop.
    Theme,
    /// Keys and gestures.
    Help,
}

/// Which menu an action stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Menu {
    /// Files.
    File,
    /// History and layers.
    Edit,
    /// What is shown.
    View,
    /// Keys and cautions.
    Help,
}

/// What the table says of an action.
#[derive(Debug, Clone, Copy)]
pub struct Info {
    /// The action.
    pub action: Action,
    /// Its menu.
    pub menu: Menu,
    /// Whether a line stands above it.
    pub group: bool,
    /// Its label.
    pub label: &'static str,
    /// Its tooltip.
    pub tip: &'static str,
    /// Its key.
    pub key: Option<KeyboardShortcut>,
}

const fn info(
    action: Action,
    menu: Menu,
    label: &'static str,
    tip: &'static str,
    key: Option<KeyboardShortcut>,
) -> Info {
    Info { action, menu, group: false, label, tip, key }
}

const fn grouped(info: Info) -> Info {
    Info { group: true, ..info }
}

const fn ctrl(key: Key) -> Option<KeyboardShortcut> {
    Some(KeyboardShortcut::new(Modifiers::COMMAND, key))
}

const fn ctrl_shift(key: Key) -> Option<KeyboardShortcut> {
    Some(KeyboardShortcut::new(Modifiers::COMMAND.plus(Modifiers::SHIFT), key))
}

const fn plain(key: Key) -> Option<KeyboardShortcut> {
    Some(KeyboardShortcut::new(Modifiers::NONE, key))
}

/// The table.
pub const TABLE: &[Info] = &[
    info(Action::New, Menu::File, "New", "Start an empty project", ctrl(Key::N)),
    info(Action::Open, Menu::File, "Open…", "Open a project", ctrl(Key::O)),
    info(Action::Save, Menu::File, "Save", "Save the project", ctrl(Key::S)),
    info(Action::SaveAs, Menu::File, "Save as…", "Save the project somewhere else", ctrl_shift(Key::S)),
    grouped(info(
        Action::AddScans,
        Menu::File,
        "Add scans…",
        "Add grayscale originals, one layer for each",
        ctrl(Key::I),
    )),
    info(
        Action::Collect,
        Menu::File,
        "Collect scans",
        "Copy every scan into a folder beside the project",
        None,
    ),
    info(Action::FindScans, Menu::File, "Find missing scans…", "Look for scans that were moved", None),
    info(
        Action::AcceptChanged,
        Menu::File,
        "Accept changed scans",
        "Take changed scans as they are now",
        None,
    ),
    grouped(info(
        Action::Proof,
        Menu::File,
        "Export proof…",
        "Write a proof PNG for the print shop",
        ctrl(Key::E),
    )),
    info(
        Action::DummyPicture,
        Menu::File,
        "Export dummy picture…",
        "Write the dummy as a picture, or as one that turns round",
        ctrl_shift(Key::D),
    ),
    info(
        Action::PrintedDummy,
        Menu::File,
        "Export printed dummy…",
        "Write page numbers, folds and folding steps at true size, to print and fold by hand",
        None,
    ),
    info(
        Action::Pack,
        Menu::File,
        "Make pack…",
        "Make the folder for the print shop: proof, plates, separations, ticket, dummy and guide",
        ctrl(Key::B),
    ),
    info(
        Action::Guide,
        Menu::File,
        "Export page guide…",
        "Write a sheet of marks and pages to draw originals on, true to size",
        None,
    ),
    info(
        Action::Wedge,
        Menu::File,
        "Export calibration sheet…",
        "Write a sheet of steps and overprints in this project's inks, to measure the press",
        None,
    ),
    info(
        Action::ReadWedge,
        Menu::File,
        "Read calibration scan…",
        "Measure inks, tones and overprints from the scan of a printed calibration sheet",
        None,
    ),
    info(
        Action::ImportMeasured,
        Menu::File,
        "Import measured data…",
        "Measure inks, tones and overprints from an instrument's table (CGATS.17, ISO 28178)",
        None,
    ),
    info(
        Action::ExportMarks,
        Menu::File,
        "Export mark sheet…",
        "Write a plate of marks for each ink, to measure how far the press wanders",
        None,
    ),
    info(
        Action::ReadMarks,
        Menu::File,
        "Read printed mark sheets…",
        "Measure the press's spread from scans of some twenty printed mark sheets",
        None,
    ),
    grouped(info(Action::Quit, Menu::File, "Quit", "Leave Slipsheet", ctrl(Key::Q))),
    info(Action::Undo, Menu::Edit, "Undo", "Take the last step back", ctrl(Key::Z)),
    info(Action::Redo, Menu::Edit, "Redo", "Bring the step back", ctrl_shift(Key::Z)),
    grouped(info(
        Action::AddLayer,
        Menu::Edit,
        "Add empty layer",
        "Add a layer without artwork",
        ctrl(Key::L),
    )),
    info(Action::RemoveLayer, Menu::Edit, "Remove layer", "Remove the selected layer", ctrl(Key::Delete)),
    info(
        Action::PrintLater,
        Menu::Edit,
        "Print later",
        "Move the selected layer up the stack",
        ctrl(Key::ArrowUp),
    ),
    info(
        Action::PrintEarlier,
        Menu::Edit,
        "Print earlier",
        "Move the selected layer down the stack",
        ctrl(Key::ArrowDown),
    ),
    info(
        Action::ToggleVisible,
        Menu::Edit,
        "Show or hide layer",
        "Show or hide the selected layer",
        plain(Key::H),
    ),
    info(Action::Solo, Menu::Edit, "Layer alone", "Show the selected layer alone", plain(Key::A)),
    grouped(info(
        Action::LineUpByMarks,
        Menu::Edit,
        "Line up by marks…",
        "Look over the marks on the selected artwork, set them by hand, then place it",
        plain(Key::M),
    )),
    grouped(info(
        Action::ResetSlip,
        Menu::Edit,
        "Reset slip",
        "Put the selected layer back where it is meant to lie",
        plain(Key::R),
    )),
    info(Action::ResetSlips, Menu::Edit, "Reset all slips", "Put every layer back", ctrl(Key::R)),
    grouped(info(
        Action::Shelf,
        Menu::Edit,
        "Inks and stocks…",
        "Add, edit, import and export inks and stocks",
        ctrl(Key::K),
    )),
    info(
        Action::FoldSchemes,
        Menu::Edit,
        "Fold schemes…",
        "Choose a fold by its drawing, or draw one of your own",
        ctrl(Key::F),
    ),
    info(
        Action::Editions,
        Menu::Edit,
        "Editions…",
        "Keep the same artwork in other inks on other stocks, and see them side by side",
        ctrl_shift(Key::E),
    ),
    info(
        Action::Colourways,
        Menu::Edit,
        "Colourways…",
        "See every way to give some inks to the layers, on some stocks",
        ctrl_shift(Key::K),
    ),
    grouped(info(
        Action::Wrap,
        Menu::Edit,
        "Wrap…",
        "Work out a sleeve, belly band, slipcase or folded cover for the finished piece",
        ctrl_shift(Key::W),
    )),
    info(Action::SheetView, Menu::View, "Sheet", "The flat print", plain(Key::F1)),
    info(Action::DummyView, Menu::View, "Dummy", "The folded print", plain(Key::F2)),
    info(
        Action::RunView,
        Menu::View,
        "Run",
        "How far it may slip, and what copies will look like",
        plain(Key::F3),
    ),
    info(
        Action::BookingView,
        Menu::View,
        "Booking",
        "Costs, schedule, findings and what is handed over",
        plain(Key::F4),
    ),
    grouped(info(Action::Fit, Menu::View, "Whole sheet", "Fit the sheet into the window", plain(Key::F))),
    info(
        Action::ActualSize,
        Menu::View,
        "100 %",
        "True size where the desktop has 96 points to the inch",
        plain(Key::Num1),
    ),
    info(Action::ZoomIn, Menu::View, "Nearer", "Zoom in", plain(Key::Plus)),
    info(Action::ZoomOut, Menu::View, "Farther", "Zoom out", plain(Key::Minus)),
    info(Action::OtherFace, Menu::View, "Other face", "Turn the sheet over", plain(Key::T)),
    info(
        Action::OtherSheet,
        Menu::View,
        "Booklet or wrap",
        "Work on the wrap's sheet, or on the booklet's",
        plain(Key::W),
    ),
    grouped(info(
        Action::FoldGuides,
        Menu::View,
        "Fold guides",
        "Show creases, slits and trims",
        plain(Key::G),
    )),
    info(
        Action::PageMarks,
        Menu::View,
        "Page marks",
        "Show page numbers and which way up they stand",
        plain(Key::N),
    ),
    info(
        Action::TightEdges,
        Menu::View,
        "Tight edges",
        "Show on the sheet where inks abut, and with how much trap",
        plain(Key::E),
    ),
    info(Action::Rulers, Menu::View, "Rulers", "Show rulers", plain(Key::L)),
    info(
        Action::ShowThrough,
        Menu::View,
        "Show-through",
        "Let the other face show through the paper, by an estimate from the stock's weight",
        plain(Key::O),
    ),
    info(
        Action::FoldingSteps,
        Menu::View,
        "Folding steps…",
        "How the sheet is folded, step by step, and what its paper wants",
        plain(Key::J),
    ),
    grouped(info(
        Action::Blink,
        Menu::View,
        "Blink two layers",
        "Show the selected layer and another one in turn, to judge how they lie",
        plain(Key::B),
    )),
    info(
        Action::Difference,
        Menu::View,
        "Difference of two layers",
        "Show where the selected layer and another one differ",
        plain(Key::D),
    ),
    info(
        Action::LostTones,
        Menu::View,
        "Lost tones",
        "Hatch what of the selected layer vanishes or clogs",
        plain(Key::V),
    ),
    info(
        Action::CompareReadings,
        Menu::View,
        "Compare readings…",
        "See the selected layer in several readings side by side",
        plain(Key::C),
    ),
    info(Action::Units, Menu::View, "Millimetres or inches", "Change the unit of lengths", plain(Key::U)),
    grouped(info(
        Action::PreviousSheet,
        Menu::View,
        "Sheet before",
        "Show the sheet before this one of the booklet",
        plain(Key::OpenBracket),
    )),
    info(
        Action::NextSheet,
        Menu::View,
        "Next sheet",
        "Show the next sheet of the booklet",
        plain(Key::CloseBracket),
    ),
    grouped(info(
        Action::PreviousPage,
        Menu::View,
        "Previous page",
        "Turn the dummy back",
        plain(Key::PageUp),
    )),
    info(Action::NextPage, Menu::View, "Next page", "Turn the dummy's page", plain(Key::PageDown)),
    grouped(info(
        Action::Theme,
        Menu::View,
        "Light or dark",
        "Change between light, dark and the desktop's choice",
        plain(Key::F9),
    )),
    info(
        Action::Help,
        Menu::Help,
        "Keys, gestures and cautions",
        "Everything the keyboard and the mouse do",
        plain(Key::F12),
    ),
];

/// The entry of an action.
pub fn of(action: Action) -> &'static Info {
    // The table holds every action; a test says so. The first stands in where it did not.
    TABLE.iter().find(|i| i.action == action).unwrap_or(&TABLE[0])
}

/// Keys and gestures that are held or dragged rather than pressed.
pub const GESTURES: &[(&str, &str)] = &[
    ("Drag on the sheet", "Slip the selected layer"),
    ("Shift + drag", "Move its artwork: placement instead of slip"),
    ("Alt + drag", "Skew the selected layer"),
    ("Arrow keys", "Slip by 0.1 mm"),
    ("Shift + arrow keys", "Slip by 1 mm"),
    ("Hold P", "See the print as it is meant, without slips"),
    ("Escape", "End the blink or the difference of two layers"),
    ("Wheel", "Zoom to the pointer"),
    ("Drag beside the sheet", "Move the view; the middle button does so anywhere"),
    ("Drag in the stack", "Change the printing order"),
    ("Drag an ink in Passes", "Print it with another one, or in a pass of its own"),
    ("Drag the dummy", "Look around"),
    ("Shift + drag the dummy", "Move it; the middle button does so too"),
    ("Left, right arrow", "Turn pages, in the Dummy view; copies, in the Run view"),
    ("Space", "Play or stop, in the Dummy view"),
    ("Drop files anywhere", "Add scans, read a calibration sheet, or open a project"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_actions_share_a_key() {
        for (i, a) in TABLE.iter().enumerate() {
            for b in &TABLE[..i] {
                assert!(a.key.is_none() || a.key != b.key, "{} and {} share a key", a.label, b.label);
            }
        }
    }

    #[test]
    fn labels_are_unique_and_tips_say_more() {
        for (i, a) in TABLE.iter().enumerate() {
            assert!(TABLE[..i].iter().all(|b| b.label != a.label && b.action != a.action));
            assert!(!a.tip.is_empty() && a.tip != a.label, "{}", a.label);
        }
    }
}
