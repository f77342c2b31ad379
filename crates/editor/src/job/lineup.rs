//! Lining artwork up, by what two pictures share or by the marks on an original.

use std::sync::Arc;

use slipsheet_core::geometry::Affine;
use slipsheet_core::raster::Pyramid;
use slipsheet_document::ids::ArtId;
use slipsheet_document::layer::{Art, Placement};
use slipsheet_registration::register::{self, LineUpLimits, MarkLayout, MarkTable};

use super::Done;

/// Below this confidence a line-up is not taken over: unrelated pictures stay under it in the tests.
const SURE: f64 = 0.25;

/// The marks of one piece of artwork, to be looked over.
#[derive(Debug, Clone)]
pub struct MarksToShow {
    pub at: ArtId,
    /// The piece as it was when they were looked for.
    pub art: Art,
    pub table: MarkTable,
    /// Why none were found.
    pub why: Option<String>,
}

/// Where a picture lies on another one (its pixels, where it lies, its name), with a sentence about it; or why not.
pub(super) fn by_picture(
    (fixed, lies, name): &(Arc<Pyramid>, Placement, String),
    moved: &Pyramid,
) -> Result<(Placement, String), String> {
    let found = register::line_up(fixed, moved, LineUpLimits::default());
    let sure = found.confidence * 100.0;
    if found.confidence < SURE {
        return Err(format!(
            "nothing in it matches “{name}” well enough ({sure:.0} % sure); line it up by its marks or by hand"
        ));
    }
    Ok((found.placement_on(lies), format!("Lined up on “{name}”, {sure:.0} % sure.")))
}

/// Where artwork lies by the marks on it, with a sentence about it; or why not.
pub(super) fn by_marks(
    art: &Art,
    pixels: &Pyramid,
    layout: &MarkLayout,
) -> Result<(Placement, String), String> {
    let found = register::find_sheet(pixels.full(), art.scan.dpi, layout).map_err(|e| e.to_string())?;
    let (marks, rms) = (found.marks.len(), found.fit.rms_mm);
    let assumed = if found.lead_known { "" } else { " The lead edge was not marked and is assumed." };
    Ok((found.placement, format!("Placed by {marks} marks, within {rms:.2} mm.{assumed}")))
}

/// The marks on artwork that lies on the sheet by `lie`, to be looked over.
pub(super) fn marks(at: ArtId, art: Art, pixels: &Pyramid, layout: &MarkLayout, mapping: Affine) -> Done {
    let (table, why) = MarkTable::look(pixels.full(), art.scan.dpi, layout, mapping);
    Done::Marks(Box::new(MarksToShow { at, art, table, why: why.map(|e| e.to_string()) }))
}
