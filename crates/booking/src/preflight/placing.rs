//! Findings about how originals lie: turned pages, and originals of one sheet that were never lined up.

use super::{Finding, Kind};
use slipsheet_document::layer::{Art, Layer, Placement, Target};
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;

/// A scan larger than its sheet by more than this, in mm, shows more than the sheet.
const LARGER: f64 = 5.0;
/// Sizes of scans further apart than this, in mm, are not of one trimmed sheet.
const APART: f64 = 0.8;

pub(super) fn findings(printing: &Printing, images: &Images) -> Vec<Finding> {
    let mut all: Vec<Finding> = printing.sheet.layers.iter().flat_map(turned).collect();
    all.extend(not_lined_up(printing, images));
    all
}

/// Originals of whole sheets that were never lined up, though their size says that they should be.
pub fn not_lined_up(printing: &Printing, images: &Images) -> Vec<Finding> {
    Face::BOTH.into_iter().flat_map(|face| unaligned(printing, images, face)).collect()
}

fn turned(layer: &Layer) -> Vec<Finding> {
    let of_art = |art: &Art| {
        let Target::Page(page) = art.target else { return None };
        // Whoever lined it up by its marks knows which way up it stands.
        if art.scan.key.area.is_some() || art.scan.key.flat.is_some() {
            return None;
        }
        let turn = art.placement.rotation.get().rem_euclid(360.0);
        ((45.0..=315.0).contains(&turn)).then(|| {
            let sentence = format!("the artwork of page {page} on “{}” is turned by {turn:.0}°", layer.name);
            Finding { layer: Some(layer.id), ..Finding::new(Kind::PageTurned, sentence).on_page(page) }
        })
    };
    layer.art.iter().filter_map(of_art).collect()
}

/// Originals of whole sheets that lie where they were dropped, though they are larger than the sheet or have
/// another size than the first.
fn unaligned(printing: &Printing, images: &Images, face: Face) -> Vec<Finding> {
    let sheet = printing.sheet.size();
    let (sw, sh) = (sheet.width.get(), sheet.height.get());
    let mut first: Option<(f64, f64, &str)> = None;
    let mut all = Vec::new();
    for (index, layer) in printing.sheet.on(face) {
        // A separated picture is as large as it is.
        let original = |a: &&Art| a.target == Target::Sheet && a.scan.key.plate.is_none();
        for art in layer.art.iter().filter(original) {
            let Some(pixels) = images.get(&art.scan.key) else { continue };
            let mm = |n: u32| f64::from(n) / art.scan.dpi.px_per_mm();
            let (w, h) = (mm(pixels.full().width()), mm(pixels.full().height()));
            let (fw, fh, name) = *first.get_or_insert((w, h, layer.name.as_str()));
            if art.placement != Placement::default() || art.crop.is_some() {
                continue;
            }
            let other = if w > sw + LARGER || h > sh + LARGER {
                format!("the sheet {sw:.1} x {sh:.1}, so what lies outside is lost")
            } else if (w - fw).abs() > APART || (h - fh).abs() > APART {
                format!("that of “{name}” {fw:.1} x {fh:.1}, and it was never lined up")
            } else {
                continue;
            };
            let sentence = format!("the scan of “{}” measures {w:.1} x {h:.1} mm and {other}", layer.name);
            all.push(Finding::new(Kind::NotLinedUp, sentence).on_layer(printing, index));
        }
    }
    all
}
