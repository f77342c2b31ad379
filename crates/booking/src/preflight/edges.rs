//! Findings about the edges of the sheet: what the press cannot print, and bleed that it cannot reach.

use super::look::{Look, PX_PER_MM, extent};
use super::scans::PAPER;
use super::{Finding, Kind};
use slipsheet_document::printing::Printing;

/// Pixels of the look below which it is a speck: 4 mm2.
const SPECK: usize = 16;

pub(super) fn findings(printing: &Printing, looks: &[Look]) -> Vec<Finding> {
    looks.iter().flat_map(|look| look.plates.iter().flat_map(|p| of_layer(printing, look, p))).collect()
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

fn of_layer(
    printing: &Printing,
    look: &Look,
    (index, plate, _): &(usize, slipsheet_core::raster::GrayRaster, [f32; 256]),
) -> Vec<Finding> {
    let (w, h) = (f64::from(plate.width()) / PX_PER_MM, f64::from(plate.height()) / PX_PER_MM);
    let trim = printing.sheet.trim.get();
    let name = printing.sheet.layers.get(*index).map_or("", |l| l.name.as_str());
    let mut all = Vec::new();
    for (edge, (what, margin)) in edges(printing).into_iter().enumerate() {
        // What is cut off need not print.
        if margin <= trim {
            continue;
        }
        let depth = |x: usize, y: usize| {
            let (x, y) = ((x as f64 + 0.5) / PX_PER_MM, (y as f64 + 0.5) / PX_PER_MM);
            match edge {
                0 => y,
                1 => h - y,
                2 => x,
                _ => w - x,
            }
        };
        let inked = extent(plate, |x, y, g| g < PAPER && (trim..margin).contains(&depth(x, y)));
        let Some((rect, count)) = inked.filter(|(_, n)| *n >= SPECK) else { continue };
        let area = count as f64 / (PX_PER_MM * PX_PER_MM);
        let finding = if trim > 0.0 {
            let white = margin - trim;
            let sentence = format!(
                "“{name}” should bleed off the {what}, but the press prints no nearer than {margin:.1} mm, so {white:.1} mm stay white after trimming"
            );
            Finding::new(Kind::BleedLost, sentence)
        } else {
            let sentence = format!(
                "“{name}” has {area:.0} mm² of artwork at the {what}, within the {margin:.1} mm that the press cannot print"
            );
            Finding::new(Kind::InMargin, sentence)
        };
        all.push(finding.on_layer(printing, *index).at(look.face, rect));
    }
    all
}
