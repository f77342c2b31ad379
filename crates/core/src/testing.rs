//! What tests of several modules need.

use crate::raster::GrayRaster;

/// A PNG of gray pixels from the repository, by its path from there.
pub(crate) fn picture(path: &str) -> GrayRaster {
    let file = std::fs::File::open(format!("{}/../../{path}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let mut reader = png::Decoder::new(std::io::BufReader::new(file)).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    assert_eq!(info.color_type, png::ColorType::Grayscale, "{path}");
    pixels.truncate(info.buffer_size());
    GrayRaster::new(info.width, info.height, pixels).unwrap()
}
