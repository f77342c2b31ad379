//! The print on a face as a texture, kept at several sizes so that it never shimmers.

use rayon::prelude::*;
use slipsheet_base::picture::Picture;

/// The print on one face.
#[derive(Debug, Clone)]
pub struct Texture {
    /// The whole face, and halves of it down to a few pixels.
    pub(super) levels: Vec<Picture>,
    /// From mm on the face to pixels of the first level.
    pub(super) px_per_mm: f64,
}

impl Texture {
    /// From a picture of the whole face; where it is transparent the paper shows.
    pub fn new(mut picture: Picture, px_per_mm: f64, paper: [u8; 3]) -> Self {
        let [r, g, b] = paper;
        picture.pixels.par_iter_mut().filter(|p| p[3] == 0).for_each(|p| *p = [r, g, b, 255]);
        let mut levels = vec![picture];
        while let Some(last) = levels.last().filter(|l| l.width > 8 && l.height > 8) {
            let half = halved(last);
            levels.push(half);
        }
        Self { levels, px_per_mm }
    }

    /// The picture it was made of, on its paper.
    pub fn picture(&self) -> Option<&Picture> {
        self.levels.first()
    }
}

/// Each pixel the mean of four; in sRGB, which is near enough for a texture.
fn halved(from: &Picture) -> Picture {
    let (width, height) = (from.width / 2, from.height / 2);
    let mut pixels = vec![[0_u8; 4]; width * height];
    pixels.par_chunks_mut(width.max(1)).enumerate().for_each(|(y, row)| {
        let (above, below) = (&from.pixels[2 * y * from.width..], &from.pixels[(2 * y + 1) * from.width..]);
        for (x, out) in row.iter_mut().enumerate() {
            let four = [above[2 * x], above[2 * x + 1], below[2 * x], below[2 * x + 1]];
            *out = std::array::from_fn(|c| (four.iter().map(|p| u32::from(p[c])).sum::<u32>() / 4) as u8);
        }
    });
    Picture { width, height, pixels }
}
