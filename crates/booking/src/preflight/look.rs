//! A coarse look at every layer as it lies on the sheet, shared by the findings that need pixels.

use slipsheet_core::geometry::Rect;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::Dpi;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;
use slipsheet_render::{Scene, Show, View};

/// Resolution of the look, in pixels per mm: half a millimetre a pixel.
pub(super) const PX_PER_MM: f64 = 2.0;

/// The layers of a face that are shown, with their plates.
pub(super) struct Look {
    pub face: Face,
    /// Layer by its index, its gray, and its effective coverage by gray.
    pub plates: Vec<(usize, GrayRaster, [f32; 256])>,
}

impl Look {
    /// Both faces; a face without layers, or whose scans are not all loaded, is left out.
    pub fn all(printing: &Printing, images: &Images) -> Vec<Self> {
        Face::BOTH.into_iter().filter_map(|face| Self::of(printing, images, face)).collect()
    }

    fn of(printing: &Printing, images: &Images, face: Face) -> Option<Self> {
        let scene = Scene::new(printing, images, Show::meant(face)).ok()?;
        let view = View::sheet(scene.sheet(), Dpi::new(PX_PER_MM * 25.4).ok()?);
        let shown = printing.sheet.on(face).filter(|(_, l)| l.visible);
        let plates: Vec<_> = shown
            .filter_map(|(i, layer)| {
                let table = match layer.gray_table() {
                    Some(grays) => {
                        let curve = layer.ink.curve.table();
                        std::array::from_fn(|g| curve[usize::from(grays[g])])
                    }
                    None => layer.ink.curve.table(),
                };
                Some((i, scene.plate(i, &view)?, table))
            })
            .collect();
        (!plates.is_empty()).then_some(Self { face, plates })
    }
}

/// The rectangle in mm around the pixels of a plate for which something holds, and their number.
pub(super) fn extent(plate: &GrayRaster, holds: impl Fn(usize, usize, u8) -> bool) -> Option<(Rect, usize)> {
    let (mut low, mut high, mut count) = ((usize::MAX, usize::MAX), (0, 0), 0);
    for y in 0..plate.height() as usize {
        for (x, gray) in plate.row(y as u32).iter().enumerate() {
            if holds(x, y, *gray) {
                low = (low.0.min(x), low.1.min(y));
                high = (high.0.max(x + 1), high.1.max(y + 1));
                count += 1;
            }
        }
    }
    let mm = |v: usize| v as f64 / PX_PER_MM;
    (count > 0).then(|| {
        let (width, height) = (mm(high.0 - low.0), mm(high.1 - low.1));
        (Rect { x: mm(low.0), y: mm(low.1), width, height }, count)
    })
}
