//! What the mouse and held keys do, for the help.

/// Keys and gestures that are held or dragged rather than pressed.
pub const GESTURES: &[(&str, &str)] = &[
    ("Drag on the sheet", "Slip the selected layer"),
    ("Shift + drag", "Move its artwork: placement instead of slip"),
    ("Alt + drag", "Twist the selected layer"),
    ("Arrow keys", "Slip by 0.1 mm"),
    ("Shift + arrow keys", "Slip by 1 mm"),
    ("Hold P", "Show the print without slips"),
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
