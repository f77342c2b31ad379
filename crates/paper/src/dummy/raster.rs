//! From pieces of paper to pixels. A first pass finds, for several samples a pixel, which piece is nearest:
//! nearness is linear along a row, so that is one multiply and one comparison a sample. A second pass
//! textures and shades what is seen: a pixel that one piece covers once, an edge sample by sample. [`Stage`] holds
//! what both need.

mod pieces;
mod seen;
mod shade;
mod visible;

use rayon::prelude::*;

pub use seen::seen_faces;
pub(super) use seen::{hit, seen};

use super::DummyView;
use super::mesh::Folded;
use super::plane::{Camera, Plane};
use super::shadow::Shadows;
use super::texture::Texture;
use crate::fold::Face;
use pieces::{Piece, pieces};
use slipsheet_base::picture::Picture;
use visible::Found;

/// Rows of pixels that one task draws.
const BAND: usize = 8;

/// Everything that drawing a pixel needs.
struct Stage<'a> {
    pieces: Vec<Piece<'a>>,
    shadows: Shadows,
    /// The ground, and the part of the picture that the shadow can reach.
    ground: Option<(Plane, [(f64, f64); 4])>,
    colour: [u8; 3],
    paper: [u8; 3],
    samples: usize,
}

/// Draws a moment. `print` gives the print of a sheet's face, `paper` is the colour of bare stock.
pub fn draw_sheets<'a>(
    folded: &Folded,
    print: impl Fn(usize, Face) -> Option<&'a Texture>,
    paper: [u8; 3],
    view: &DummyView,
    out: &mut Picture,
) {
    let s = view.samples.clamp(1, 3);
    let camera = Camera::new(view, folded.radius, s as f64);
    let shadows = Shadows::of(folded);
    let middle = ((view.width * s) as f64 / 2.0, (view.height * s) as f64 / 2.0);
    let stage = Stage {
        pieces: pieces(folded, print, &camera, &shadows),
        ground: shadows.ground_plane(&camera, middle),
        shadows,
        colour: view.ground,
        paper,
        samples: s,
    };
    (out.width, out.height) = (view.width, view.height);
    out.pixels.resize(view.width * view.height, [0; 4]);
    let w = view.width.max(1);
    out.pixels.par_chunks_mut(w * BAND).enumerate().for_each_init(
        || Found::new(w * s, s),
        |found, (band, rows)| {
            let first = band * BAND;
            let (top, bottom) = ((first * s) as f64, ((first + BAND) * s) as f64);
            found.pieces.clear();
            for (i, piece) in stage.pieces.iter().enumerate() {
                if piece.rows.0 <= bottom && piece.rows.1 >= top {
                    found.pieces.push(i);
                }
            }
            for (dy, row) in rows.chunks_mut(w).enumerate() {
                stage.find(first + dy, found);
                stage.shade(first + dy, row, found);
            }
        },
    );
}
