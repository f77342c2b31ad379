//! `OpenRaster` files read back, layer by layer.

use png::{BitDepth, ColorType};

use super::testing::probe_bytes;
use super::testing::{ora_of, png_plain};
use super::*;

fn gray(width: u32, height: u32, pixels: &[u8]) -> Vec<u8> {
    png_plain(width, height, ColorType::Grayscale, BitDepth::Eight, pixels)
}

fn read_page(file: &[u8], page: u32) -> Result<Scan, ScanError> {
    read_bytes("x", file, &ScanOptions { page, ..ScanOptions::default() }, &Progress::new())
}

fn stack(layers: &str) -> String {
    format!(
        "<?xml version='1.0'?><image version='0.0.5' w='4' h='3' xres='300' yres='300'><stack>{layers}</stack></image>"
    )
}

#[test]
fn each_layer_is_a_page_from_the_bottom_up_and_groups_are_flattened() {
    let xml = stack(
        "<layer name='Top' src='data/a.png' x='2' y='1'/>\
         <stack name='Group' opacity='0.1'><layer name='Middle' src='data/b.png' opacity='0.5' visibility='hidden'/></stack>\
         <layer name='Bottom' src='data/a.png' x='-1' y='-1'/>",
    );
    let see_through = png_plain(1, 1, ColorType::GrayscaleAlpha, BitDepth::Eight, &[0, 128]);
    let file = ora_of(&xml, &[("data/a.png", &gray(2, 2, &[10, 20, 30, 40])), ("data/b.png", &see_through)]);
    let info = probe_bytes("x", &file).unwrap();
    assert_eq!((info.format, info.pages, info.width, info.height), (ScanFormat::OpenRaster, 3, 4, 3));
    assert_eq!(info.page_names, ["Bottom", "Middle", "Top"]);
    let page = |n| read_page(&file, n).unwrap();
    assert_eq!(page(0).raster.pixels(), [40, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255]);
    assert_eq!(page(1).raster.pixels().first(), Some(&191), "half of half over white");
    assert_eq!(page(2).raster.pixels(), [255, 255, 255, 255, 255, 255, 10, 20, 255, 255, 30, 40]);
    assert_eq!((page(0).dpi, page(0).notices), (Dpi::new(300.0).ok(), vec![]));
    assert!(matches!(read_page(&file, 3), Err(ScanError::NoSuchPage { page: 3, pages: 3, .. })));
}

#[test]
fn names_that_lead_out_of_the_archive_are_refused() {
    for src in ["../a.png", "/a.png", "data/../../a.png", "C:\\a.png", ""] {
        let file = ora_of(&stack(&format!("<layer src='{src}'/>")), &[("a.png", &gray(1, 1, &[0]))]);
        assert!(matches!(read_page(&file, 0), Err(ScanError::Damaged { .. })), "{src}");
    }
    let file = ora_of(&stack("<layer src='data/none.png'/>"), &[]);
    assert!(matches!(read_page(&file, 0), Err(ScanError::Damaged { .. })));
}

#[test]
fn bombs_are_refused() {
    let huge = stack("<layer src='a.png'/>").replace("w='4' h='3'", "w='65536' h='65536'");
    assert!(matches!(read_page(&ora_of(&huge, &[]), 0), Err(ScanError::TooLarge { .. })));
    let padded = stack(&" ".repeat(65 << 20));
    assert!(matches!(read_page(&ora_of(&padded, &[]), 0), Err(ScanError::TooMuchMemory { .. })));
    let deep = stack(&format!("{}{}", "<stack>".repeat(100_000), "</stack>".repeat(100_000)));
    assert!(read_page(&ora_of(&deep, &[]), 0).is_err());
    let entities = "<!DOCTYPE a [<!ENTITY b 'bb'>]><image w='1' h='1'>&b;</image>";
    assert!(matches!(read_page(&ora_of(entities, &[]), 0), Err(ScanError::Damaged { .. })));
}
