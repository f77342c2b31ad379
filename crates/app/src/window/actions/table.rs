//! The table: every action with where it stands, how it is called, what it says of itself, its key, when it can be
//! done, and when it is ticked.

use egui::{Key, KeyboardShortcut, Modifiers};
use slipsheet_paper::fold::Face;

use super::{Info, Menu};
use crate::window::MainView;
use crate::window::context::Context;
use crate::window::showing::How;

const fn ctrl(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::COMMAND, key)
}

const fn ctrl_shift(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::COMMAND.plus(Modifiers::SHIFT), key)
}

const fn plain(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::NONE, key)
}

fn with_layer(cx: &Context<'_>) -> bool {
    cx.session.selected_layer().is_some()
}

fn has_layers(cx: &Context<'_>) -> bool {
    !cx.session.printing().sheet.layers.is_empty()
}

fn has_two_inks(cx: &Context<'_>) -> bool {
    cx.session.printing().sheet.on(Face::Front).nth(1).is_some()
}

fn has_a_back(cx: &Context<'_>) -> bool {
    cx.session.printing().sheet.two_sided()
}

fn is_folded(cx: &Context<'_>) -> bool {
    let sheet = &cx.session.printing().sheet;
    sheet.fold.is_some() || sheet.booklet.is_some()
}

fn is_slipped(cx: &Context<'_>) -> bool {
    let sheet = &cx.session.printing().sheet;
    !sheet.back_slip.is_none() || sheet.layers.iter().any(|l| !l.slip.is_none())
}

fn can_compare(cx: &Context<'_>) -> bool {
    cx.showing.compare.is_some() || cx.pair().is_some()
}

fn on_dummy(cx: &Context<'_>) -> bool {
    cx.showing.view == MainView::Dummy
}

/// Menus, each with its groups of actions in brackets. Without a `when` an action can always be done; one that has
/// a `ticked` switches something on and off.
macro_rules! actions {
    ($($menu:ident $([$(
        $action:ident $label:literal, $tip:literal
            $(, key: $key:expr)? $(, when: $when:expr)? $(, ticked: $ticked:expr)?;
    )+])+)+) => {
        /// What can be done: the names that menus, keys and buttons share.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Action {
            $($($(#[doc = $tip] $action,)+)+)+
        }

        /// The menus: groups of actions, with a line between two of one menu.
        pub(in crate::window) const MENUS: &[(Menu, &[Action])] =
            &[$($((Menu::$menu, &[$(Action::$action),+]),)+)+];

        /// The table, in the order of [`Action`].
        pub const TABLE: &[Info] = &[$($($(Info {
            action: Action::$action,
            label: $label,
            tip: $tip,
            key: optional!($($key)?),
            when: optional!($($when)?),
            ticked: optional!($($ticked)?),
        },)+)+)+];
    };
}

macro_rules! optional {
    () => {
        None
    };
    ($value:expr) => {
        Some($value)
    };
}

actions! {
    File [
        New "New", "Start an empty project", key: ctrl(Key::N);
        Open "Open…", "Open a project", key: ctrl(Key::O);
        Save "Save", "Save the project", key: ctrl(Key::S);
        SaveAs "Save as…", "Save the project somewhere else", key: ctrl_shift(Key::S);
    ] [
        AddScans "Add scans…", "Add grayscale originals, one layer for each", key: ctrl(Key::I);
        SeparatePicture "Separate a picture…", "Separate a colour picture into plates, one for each ink",
            key: ctrl_shift(Key::I);
        Collect "Copy scans beside project", "Copy every scan into a folder beside the project",
            when: |cx| has_layers(cx) && cx.session.path().is_some();
        FindScans "Find missing scans…", "Look for scans that were moved",
            when: |cx| !cx.session.missing().is_empty();
        AcceptChanged "Accept changed scans", "Use changed scans as they are now",
            when: |cx| cx.session.changed().next().is_some();
    ] [
        Proof "Export proof…", "Write a proof PNG for the print shop", key: ctrl(Key::E), when: has_layers;
        DummyPicture "Export dummy picture…", "Write the dummy as a picture, or as one that turns round",
            key: ctrl_shift(Key::D);
        PrintedDummy "Export printed dummy…",
            "Write page numbers, folds and folding steps at true size, to print and fold by hand",
            when: is_folded;
        Pack "Make pack…",
            "Make the folder for the print shop: proof, plates, separations, ticket, dummy and guide",
            key: ctrl(Key::B), when: |cx| cx.session.printing().sheet.layers.iter().any(|l| l.visible);
        Guide "Export guide…", "Write a sheet of marks, folds and pages to draw originals on, true to size";
        PageGuides "Export guides of pages…",
            "Write a guide for each page, with marks of its own, for originals drawn page by page",
            when: |cx| cx.session.printing().sheet.pages() > 0;
        Wedge "Export calibration sheet…",
            "Write a sheet of steps and overprints in this project's inks, to measure the press",
            when: has_layers;
        ReadWedge "Read calibration scan…",
            "Measure inks, tones and overprints from the scan of a printed calibration sheet";
        ImportMeasured "Import measured data…",
            "Measure inks, tones and overprints from an instrument's table (CGATS.17, ISO 28178)";
        ExportMarks "Export mark sheet…",
            "Write a plate of marks for each ink, to measure the press's register scatter",
            when: has_two_inks;
        ReadMarks "Read printed mark sheets…",
            "Measure the press's register scatter from scans of about 20 printed mark sheets",
            when: has_two_inks;
    ] [
        Quit "Quit", "Leave Slipsheet", key: ctrl(Key::Q);
    ]
    Edit [
        Undo "Undo", "Undo the last step", key: ctrl(Key::Z),
            when: |cx| cx.session.history().undo_label().is_some();
        Redo "Redo", "Redo the step that was undone", key: ctrl_shift(Key::Z),
            when: |cx| cx.session.history().redo_label().is_some();
    ] [
        AddLayer "Add empty layer", "Add a layer without artwork", key: ctrl(Key::L);
        RemoveLayer "Remove layer", "Remove the selected layer", key: ctrl(Key::Delete), when: with_layer;
        PrintLater "Print later", "Move the selected layer up the stack", key: ctrl(Key::ArrowUp),
            when: |cx| cx.session.selected_layer().is_some_and(|(i, _)| i + 1 < cx.session.sheet().layers.len());
        PrintEarlier "Print earlier", "Move the selected layer down the stack", key: ctrl(Key::ArrowDown),
            when: |cx| cx.session.selected_layer().is_some_and(|(i, _)| i > 0);
        ToggleVisible "Show or hide layer", "Show or hide the selected layer", key: plain(Key::H),
            when: with_layer;
        Solo "Layer alone", "Show the selected layer alone", key: plain(Key::A), when: with_layer,
            ticked: |showing| showing.alone;
    ] [
        LineUpByMarks "Line up by marks…",
            "Check the marks on the selected artwork, set them by hand, then place it", key: plain(Key::M),
            when: |cx| cx.session.selected_art().is_some();
        LineUpAll "Line up all by marks",
            "Place every piece of artwork of the open sheet by the marks of its guide, or by its paper's edges",
            key: ctrl(Key::M), when: has_layers;
        Mend "Mend scan…", "Remove dust from the selected artwork's scan, or paint on it what is not to print",
            key: plain(Key::X), when: |cx| cx.session.selected_art().is_some();
        PartReadings "Readings of parts…", "Read a part of the selected artwork otherwise than its layer",
            key: plain(Key::K), when: |cx| cx.session.selected_art().is_some();
    ] [
        ResetSlip "Reset slip", "Put the selected layer back in register", key: plain(Key::R),
            when: |cx| cx.session.selected_layer().is_some_and(|(_, l)| !l.slip.is_none());
        ResetSlips "Reset all slips", "Put every layer back in register", key: ctrl(Key::R),
            when: is_slipped;
    ] [
        Shelf "Inks and stocks…", "Add, edit, import and export inks and stocks", key: ctrl(Key::K);
        FoldSchemes "Fold schemes…", "Choose a fold by its drawing, or draw one of your own",
            key: ctrl(Key::F);
        Editions "Editions…",
            "Keep the same artwork in other inks on other stocks, and see them side by side",
            key: ctrl_shift(Key::E), when: has_layers;
        Colourways "Colourways…", "Compare every way to give chosen inks to the layers, on chosen stocks",
            key: ctrl_shift(Key::K), when: has_layers;
    ] [
        Wrap "Wrap…", "Design a sleeve, belly band, slipcase or folded cover for the finished piece",
            key: ctrl_shift(Key::W);
    ]
    View [
        SheetView "Sheet", "The flat print", key: plain(Key::F5),
            ticked: |showing| showing.view == MainView::Sheet;
        DummyView "Dummy", "The folded print", key: plain(Key::F2),
            ticked: |showing| showing.view == MainView::Dummy;
        RunView "Run", "How far it may slip, and what copies will look like", key: plain(Key::F3),
            ticked: |showing| showing.view == MainView::Run;
        BookingView "Booking", "Costs, schedule, findings and what is handed over", key: plain(Key::F4),
            ticked: |showing| showing.view == MainView::Booking;
    ] [
        Fit "Whole sheet", "Fit the sheet into the window", key: plain(Key::F);
        ActualSize "100 %", "True size where the desktop has 96 points to the inch", key: plain(Key::Num1);
        ZoomIn "Zoom in", "Show it larger", key: plain(Key::Plus);
        ZoomOut "Zoom out", "Show it smaller", key: plain(Key::Minus);
        OtherFace "Other face", "Turn the sheet over", key: plain(Key::T), when: has_a_back;
        OtherSheet "Booklet or wrap", "Work on the wrap's sheet, or on the booklet's", key: plain(Key::W),
            when: |cx| cx.session.project().wrap.is_some();
    ] [
        FoldGuides "Fold guides", "Show creases, slits and trims", key: plain(Key::G),
            ticked: |showing| showing.fold_guides;
        PageMarks "Page marks", "Show page numbers and which way up they stand", key: plain(Key::N),
            ticked: |showing| if showing.view == MainView::Dummy { showing.numbers } else { showing.page_marks };
        TightEdges "Tight edges", "Show on the sheet where inks abut, and with how much trap",
            key: plain(Key::E), ticked: |showing| showing.heat;
        Rulers "Rulers", "Show rulers", key: plain(Key::L), ticked: |showing| showing.rulers;
        ShowThrough "Show-through",
            "Let the other face show through the paper, by an estimate from the stock's weight",
            key: plain(Key::O), when: has_a_back, ticked: |showing| showing.show_through;
        FoldingSteps "Folding steps…", "How the sheet is folded, step by step, and advice for its paper",
            key: plain(Key::J), when: is_folded;
    ] [
        Blink "Blink two layers",
            "Show the selected layer and another one in turn, to judge their registration",
            key: plain(Key::B), when: can_compare, ticked: |showing| showing.compares(How::Blink);
        Difference "Difference of two layers", "Show where the selected layer and another one differ",
            key: plain(Key::D), when: can_compare, ticked: |showing| showing.compares(How::Difference);
        LostTones "Lost tones", "Hatch tones of the selected layer that vanish or fill in",
            key: plain(Key::V), ticked: |showing| showing.lost_tones;
        CompareReadings "Compare readings…", "See the selected layer in several readings side by side",
            key: plain(Key::C),
            when: |cx| cx.session.selected_layer().is_some_and(|(_, l)| !l.art.is_empty());
        Units "Millimetres or inches", "Change the unit of lengths", key: plain(Key::U);
    ] [
        PreviousSheet "Previous sheet", "Show the sheet before this one of the booklet",
            key: plain(Key::OpenBracket),
            when: |cx| cx.showing.booklet_sheet > 0 && cx.session.printing().sheet.printed_sheets() > 1;
        NextSheet "Next sheet", "Show the next sheet of the booklet", key: plain(Key::CloseBracket),
            when: |cx| cx.showing.booklet_sheet + 1 < cx.session.printing().sheet.printed_sheets();
    ] [
        PreviousPage "Previous page", "Turn the dummy back", key: plain(Key::PageUp), when: on_dummy;
        NextPage "Next page", "Turn the dummy's page", key: plain(Key::PageDown), when: on_dummy;
    ] [
        Theme "Light or dark", "Change between light, dark and the desktop's choice", key: plain(Key::F9);
    ]
    Help [
        Help "Keys, gestures and cautions", "Everything the keyboard and the mouse do", key: plain(Key::F1);
        Licences "Licences", "Slipsheet's licence, and those of the fonts and profiles that it carries";
    ]
}
