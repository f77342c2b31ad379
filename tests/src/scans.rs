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

/// Writes a letter page lying down as a PDF: a gray block, 100 x 60 mm, in the middle of a white page.
pub fn letter_pdf(folder: &Path, name: &str) -> PathBuf {
    let content = "0.5 g 254 221 283 170 re f";
    let objects = [
        "<< /Type /Catalog /Pages 2 0 R >>".to_owned(),
        "<< /Type /Pages /Kids [3 0 R] /Count 1 >>".to_owned(),
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 792 612] /Contents 4 0 R >>".to_owned(),
        format!("<< /Length {} >>\nstream\n{content}\nendstream", content.len()),
    ];
    let mut pdf = "%PDF-1.4\n".to_owned();
    let mut starts = Vec::new();
    for (i, object) in objects.iter().enumerate() {
        starts.push(pdf.len());
        pdf += &format!("{} 0 obj\n{object}\nendobj\n", i + 1);
    }
    let table = pdf.len();
    pdf += "xref\n0 5\n0000000000 65535 f \n";
    starts.iter().for_each(|at| pdf += &format!("{at:010} 00000 n \n"));
    pdf += &format!("trailer\n<< /Size 5 /Root 1 0 R >>\nstartxref\n{table}\n%%EOF\n");
    let path = folder.join(name);
    std::fs::write(&path, pdf).unwrap();
    path
}

/// Writes a gray PNG of a letter sheet lying down at 60 dpi: a wash that runs from white at the left to black at
/// the right.
pub fn letter_wash(folder: &Path, name: &str) -> PathBuf {
    let (width, height) = (660_u32, 510_u32);
    let pixels: Vec<u8> = (0..width * height).map(|i| 255 - (i % width * 256 / width) as u8).collect();
    let path = folder.join(name);
    let file = std::fs::File::create(&path).unwrap();
    let meta = PngMeta { dpi: Dpi::new(60.0).unwrap(), text: vec![] };
    write_gray(std::io::BufWriter::new(file), width, height, &pixels, &meta).unwrap();
    path
}
