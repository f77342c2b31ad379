//! What can be done: the names that menus, keys and buttons share.

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
    /// Licences of what the program carries.
    Licences,
}
