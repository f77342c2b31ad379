//! The table: where each action stands, how it is called, what it says of itself and its key.

use egui::{Key, KeyboardShortcut, Modifiers};

use super::{Action, Info, Menu};

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
        "Copy scans beside project",
        "Copy every scan into a folder beside the project",
        None,
    ),
    info(Action::FindScans, Menu::File, "Find missing scans…", "Look for scans that were moved", None),
    info(
        Action::AcceptChanged,
        Menu::File,
        "Accept changed scans",
        "Use changed scans as they are now",
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
        "Write a plate of marks for each ink, to measure the press's register scatter",
        None,
    ),
    info(
        Action::ReadMarks,
        Menu::File,
        "Read printed mark sheets…",
        "Measure the press's register scatter from scans of about 20 printed mark sheets",
        None,
    ),
    grouped(info(Action::Quit, Menu::File, "Quit", "Leave Slipsheet", ctrl(Key::Q))),
    info(Action::Undo, Menu::Edit, "Undo", "Undo the last step", ctrl(Key::Z)),
    info(Action::Redo, Menu::Edit, "Redo", "Redo the step that was undone", ctrl_shift(Key::Z)),
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
        "Check the marks on the selected artwork, set them by hand, then place it",
        plain(Key::M),
    )),
    grouped(info(
        Action::ResetSlip,
        Menu::Edit,
        "Reset slip",
        "Put the selected layer back in register",
        plain(Key::R),
    )),
    info(Action::ResetSlips, Menu::Edit, "Reset all slips", "Put every layer back in register", ctrl(Key::R)),
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
        "Compare every way to give chosen inks to the layers, on chosen stocks",
        ctrl_shift(Key::K),
    ),
    grouped(info(
        Action::Wrap,
        Menu::Edit,
        "Wrap…",
        "Design a sleeve, belly band, slipcase or folded cover for the finished piece",
        ctrl_shift(Key::W),
    )),
    info(Action::SheetView, Menu::View, "Sheet", "The flat print", plain(Key::F5)),
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
    info(Action::ZoomIn, Menu::View, "Zoom in", "Show it larger", plain(Key::Plus)),
    info(Action::ZoomOut, Menu::View, "Zoom out", "Show it smaller", plain(Key::Minus)),
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
        "How the sheet is folded, step by step, and advice for its paper",
        plain(Key::J),
    ),
    grouped(info(
        Action::Blink,
        Menu::View,
        "Blink two layers",
        "Show the selected layer and another one in turn, to judge their registration",
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
        "Hatch tones of the selected layer that vanish or fill in",
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
        "Previous sheet",
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
        plain(Key::F1),
    ),
    info(
        Action::Licences,
        Menu::Help,
        "Licences",
        "Slipsheet's licence, and those of the fonts and profiles that it carries",
        None,
    ),
];
