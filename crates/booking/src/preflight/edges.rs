//! Findings about the edges of the sheet: what the press cannot print, and bleed that it cannot reach. A layer has
//! at most one of them on a face, which names every edge.

use super::look::{Look, PX_PER_MM, extent};
use super::scans::PAPER;
use super::{Finding, Kind};
use slipsheet_core::geometry::Rect;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::words::list;
use slipsheet_document::printing::Printing;

/// Pixels of the look below which it is a speck: 4 mm2.
const SPECK: usize = 16;

/// What a layer has at an edge, where the press prints nothing.
struct AtEdge {
    edge: &'static str,
    /// What the press leaves blank there, in mm.
    margin: f64,
    rect: Rect,
    /// How much of it is inked, in mm2.
    area: f64,
}

pub(super) fn findings(printing: &Printing, looks: &[Look]) -> Vec<Finding> {
    let of_look = |look: &Look| -> Vec<Finding> {
        look.plates.iter().filter_map(|(i, plate, _)| of_layer(printing, look, *i, plate)).collect()
    };
    looks.iter().flat_map(of_look).collect()
}

/// The edges by name, with what the press leaves blank there, lead edge up.
fn edges(printing: &Printing) -> [(&'static str, f64); 4] {
    let m = printing.press.margins;
    [
        ("lead edge", m.lead.get()),
        ("tail edge", m.tail.get()),
        ("left edge", m.side.get()),
        ("right edge", m.side.get()),
    ]
}

fn of_layer(printing: &Printing, look: &Look, index: usize, plate: &GrayRaster) -> Option<Finding> {
    let trim = printing.sheet.trim.get();
    let at_edges = at_edges(printing, plate);
    // An edge is pointed at, as all of them together are the whole sheet: the one with the most ink.
    let worst = at_edges.iter().reduce(|a, b| if b.area > a.area { b } else { a })?;

    let name = printing.sheet.layers.get(index).map_or("", |l| l.name.as_str());
    let each = |of: &dyn Fn(&AtEdge) -> String| list(&at_edges.iter().map(of).collect::<Vec<_>>());
    let finding = if trim > 0.0 {
        let white = each(&|e| format!("{:.1} mm stay white at the {}", e.margin - trim, e.edge));
        let sentence = format!(
            "“{name}” should bleed off the sheet, but the press does not print as far as the trim: {white} after trimming"
        );
        Finding::new(Kind::BleedLost, sentence)
    } else {
        let areas = each(&|e| format!("{:.0} mm² in the {:.1} mm at the {}", e.area, e.margin, e.edge));
        let sentence = format!("“{name}” has artwork where the press cannot print: {areas}");
        Finding::new(Kind::InMargin, sentence)
    };
    Some(finding.on_layer(printing, index).at(look.face, worst.rect))
}

/// What of a plate lies where the press prints nothing and the trim leaves it, edge by edge. A corner counts at both
/// of its edges.
fn at_edges(printing: &Printing, plate: &GrayRaster) -> Vec<AtEdge> {
    let (w, h) = (f64::from(plate.width()) / PX_PER_MM, f64::from(plate.height()) / PX_PER_MM);
    let trim = printing.sheet.trim.get();
    let mut all = Vec::new();
    for (side, (edge, margin)) in edges(printing).into_iter().enumerate() {
        // What is cut off need not print.
        if margin <= trim {
            continue;
        }
        let depth = |x: usize, y: usize| {
            let (x, y) = ((x as f64 + 0.5) / PX_PER_MM, (y as f64 + 0.5) / PX_PER_MM);
            match side {
                0 => y,
                1 => h - y,
                2 => x,
                _ => w - x,
            }
        };
        let inked = extent(plate, |x, y, g| g < PAPER && (trim..margin).contains(&depth(x, y)));
        if let Some((rect, count)) = inked.filter(|(_, n)| *n >= SPECK) {
            all.push(AtEdge { edge, margin, rect, area: count as f64 / (PX_PER_MM * PX_PER_MM) });
        }
    }
    all
}
