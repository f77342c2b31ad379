//! Small scans that tests make for themselves.

use std::path::{Path, PathBuf};

use slipsheet_core::units::Dpi;
use slipsheet_files::png_out::{PngMeta, write_gray};

/// Writes a gray PNG of a letter sheet lying down at 60 dpi (660 x 510), white but for a block of a gray.
/// The block is given in mm: left, top, width, height.
pub fn letter_with_block(folder: &Path, name: &str, block_mm: [f64; 4], gray: u8) -> PathBuf {
    let dpi = 60.0;
    let (width, height) = (660_u32, 510_u32);
    let px = |mm: f64| (mm / 25.4 * dpi).round() as u32;
    let [x, y, w, h] = block_mm.map(px);
    let pixels: Vec<u8> = (0..width * height)
        .map(|i| (i % width, i / width))
        .map(|(c, r)| if (x..x + w).contains(&c) && (y..y + h).contains(&r) { gray } else { 255 })
        .collect();
    let path = folder.join(name);
    let file = std::fs::File::create(&path).unwrap();
    let meta = PngMeta { dpi: Dpi::new(dpi).unwrap(), text: vec![] };
    write_gray(std::io::BufWriter::new(file), width, height, &pixels, &meta).unwrap();
    path
}
