//! The folded thing as a picture, in true perspective, with thickness, curl, shading and a soft shadow.
//!
//! [`Folded`] is the geometry of one moment, [`Texture`] is the print on one face, [`draw_sheets`] makes the picture. Every
//! piece of paper is a flat rectangle; a depth buffer of several samples a pixel says which one is seen,
//! and only what is seen is textured, once a pixel but on edges.

mod bend;
mod bound;
mod mesh;
mod pages;
mod piece;
mod plane;
mod raster;
mod shadow;
mod texture;
mod timeline;

pub use bound::Bound;
pub use mesh::Folded;
pub use pages::{PageMark, opening_of_page, page_marks};
pub use piece::{Piece, flat_scheme};
pub use raster::{draw_sheets, seen_faces};
pub use texture::Texture;
pub use timeline::{Step, StepKind, moment, steps, time_of_opening};

/// Where one looks from, and how large the picture is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DummyView {
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// Turn about the vertical axis, degrees.
    pub yaw: f64,
    /// Tilt, degrees; positive looks down on it.
    pub pitch: f64,
    /// Enlargement; 1 fits the piece into the picture.
    pub zoom: f64,
    /// Shift of the piece to the right and down, in shorter sides of the picture.
    pub pan: [f64; 2],
    pub ground: [u8; 3],
    /// Samples a pixel each way on edges, 1 to 3; 2 looks smooth.
    pub samples: usize,
}

impl DummyView {
    /// A picture seen straight from the front.
    pub fn facing(width: usize, height: usize, ground: [u8; 3]) -> Self {
        Self { width, height, yaw: 0.0, pitch: 0.0, zoom: 1.0, pan: [0.0; 2], ground, samples: 2 }
    }
}

#[cfg(test)]
mod tests;
