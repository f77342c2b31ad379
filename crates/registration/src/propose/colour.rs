//! How much the colours of a sheet change, from small pictures of it.

use rayon::prelude::*;

use slipsheet_core::colour::{Lab, Xyz, linear_from_srgb};
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;
use slipsheet_render::{Picture, Scene, Show, View};

use crate::slip::SlipError;

/// Pixels along the longer side of a picture.
const PIXELS: f64 = 400.0;

/// A design as it would look, small.
pub(super) struct Design(Picture);

impl Design {
    pub(super) fn of(printing: &Printing, images: &Images, face: Face) -> Result<Self, SlipError> {
        let scene = Scene::new(printing, images, Show::meant(face))?;
        let sheet = printing.sheet.size();
        Ok(Self(scene.render(&View::sheet(sheet, sheet.dpi_for(PIXELS)))))
    }

    /// The mean over the sheet of the difference from another one, CIEDE2000.
    pub(super) fn change(&self, other: &Self) -> f64 {
        let pairs = self.0.pixels.par_iter().zip(&other.0.pixels);
        let each: Vec<f64> =
            pairs.map(|(a, b)| if a == b { 0.0 } else { lab(a).ciede2000(lab(b)) }).collect();
        each.iter().sum::<f64>() / each.len().max(1) as f64
    }
}

fn lab([r, g, b, _]: &[u8; 4]) -> Lab {
    Xyz::from_linear_srgb([r, g, b].map(|c| linear_from_srgb(f64::from(*c) / 255.0))).lab()
}
