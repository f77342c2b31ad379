//! TIFF files read back: every sample kind, compression and arrangement.

use std::io::Cursor;

use slipsheet_core::units::Dpi;
use tiff::encoder::colortype::{Gray8, Gray16, RGB8, RGB16, RGBA8};
use tiff::encoder::{Compression, DeflateLevel, TiffEncoder};

use super::testing::probe_bytes;
use super::testing::{tiff_by_hand, tiff_of, tiff_tags};
use super::*;

fn scan_page(bytes: &[u8], page: u32) -> Result<Scan, ScanError> {
    let options = ScanOptions { page, ..ScanOptions::default() };
    read_bytes("test.tif", bytes, &options, &Progress::new())
}

fn pixels(bytes: &[u8]) -> Vec<u8> {
    scan_page(bytes, 0).unwrap().raster.pixels().to_vec()
}

#[test]
fn every_compression_gives_the_same_grays() {
    let gray: Vec<u8> = (0..=255).map(|v| v / 3 * 3).collect();
    for compression in [
        Compression::Uncompressed,
        Compression::Lzw,
        Compression::Deflate(DeflateLevel::Balanced),
        Compression::Packbits,
    ] {
        let scan = scan_page(&tiff_of::<Gray8>(16, 16, &gray, compression), 0).unwrap();
        assert_eq!(scan.raster.pixels(), gray);
        assert_eq!(scan.dpi, Dpi::new(600.0).ok());
        assert!(scan.notices.is_empty());
    }
}

#[test]
fn sixteen_bits_and_colour_are_read() {
    let deep: Vec<u16> = (0..64).map(|v| v * 1033).collect();
    let rounded: Vec<u8> = deep.iter().map(|v| (f64::from(*v) / 257.0).round() as u8).collect();
    assert_eq!(pixels(&tiff_of::<Gray16>(8, 8, &deep, Compression::Lzw)), rounded);
    let deep_rgb: Vec<u16> = deep.iter().flat_map(|v| [*v; 3]).collect();
    assert_eq!(pixels(&tiff_of::<RGB16>(8, 8, &deep_rgb, Compression::Lzw)), rounded);
    assert_eq!(pixels(&tiff_of::<RGB8>(2, 1, &[9, 9, 9, 80, 80, 80], Compression::Lzw)), [9, 80]);
    let rgba = tiff_of::<RGBA8>(2, 1, &[9, 9, 9, 255, 9, 9, 9, 0], Compression::Uncompressed);
    assert_eq!(pixels(&rgba), [9, 255]);
}

#[test]
fn white_may_be_zero() {
    assert_eq!(pixels(&tiff_by_hand(&tiff_tags(3, 1, vec![8], 0), &[0, 55, 255])), [255, 200, 0]);
    assert_eq!(pixels(&tiff_by_hand(&tiff_tags(3, 1, vec![8], 1), &[0, 55, 255])), [0, 55, 255]);
    let sixteen = tiff_by_hand(&tiff_tags(2, 1, vec![16], 0), &[0, 0, 0xff, 0xff]);
    assert_eq!(pixels(&sixteen), [255, 0]);
    let bits = tiff_by_hand(&tiff_tags(3, 2, vec![1], 0), &[0b1010_0000, 0b0100_0000]);
    assert_eq!(pixels(&bits), [0, 255, 0, 255, 0, 255]);
    let four = tiff_by_hand(&tiff_tags(3, 1, vec![4], 1), &[0x0f, 0x80]);
    assert_eq!(pixels(&four), [0, 255, 136]);
}

#[test]
fn a_palette_is_applied() {
    // Red, green and blue of four indexes: black, a gray, white, and a blue.
    let map: Vec<u32> = [[0, 100, 255, 0], [0, 100, 255, 0], [0, 100, 255, 255]].concat();
    let wide = |scale: u32, size: usize| -> Vec<u32> {
        map.chunks(4)
            .flat_map(|c| (0..size).map(|i| c.get(i).copied().unwrap_or(0) * scale).collect::<Vec<_>>())
            .collect()
    };
    let eight = |scale| {
        let mut tags = tiff_tags(3, 1, vec![8], 3);
        tags.push((320, wide(scale, 256)));
        tiff_by_hand(&tags, &[2, 0, 1])
    };
    assert_eq!(pixels(&eight(257)), [255, 0, 100]);
    assert_eq!(pixels(&eight(1)), [255, 0, 100], "old programs wrote 8 bits");
    let mut tags = tiff_tags(4, 1, vec![4], 3);
    tags.push((320, wide(257, 16)));
    let file = tiff_by_hand(&tags, &[0x21, 0x03]);
    assert_eq!(pixels(&file).get(..3), Some([255, 100, 0].as_slice()));
    let info = probe_bytes("test", &file).unwrap();
    assert_eq!((info.colour, info.bits), (ColourKind::Palette, 4));
    assert!(scan_page(&tiff_by_hand(&tiff_tags(3, 1, vec![8], 3), &[0, 1, 2]), 0).is_err());
}

#[test]
fn separate_planes_tiles_and_alpha_are_put_together() {
    let mut tags = tiff_tags(2, 1, vec![8, 8, 8], 2);
    tags.push((284, vec![1]));
    let chunky = tiff_by_hand(&tags, &[7, 7, 7, 90, 90, 90]);
    assert_eq!(pixels(&chunky), [7, 90]);
    let mut tags = tiff_tags(2, 1, vec![8, 8], 1);
    tags.push((338, vec![2]));
    assert_eq!(pixels(&tiff_by_hand(&tags, &[0, 255, 100, 128])), [0, 177]);
    let mut tags = tiff_tags(2, 1, vec![8, 8, 8, 8], 2);
    tags.push((338, vec![1]));
    assert_eq!(pixels(&tiff_by_hand(&tags, &[50, 50, 50, 128, 0, 0, 0, 0])), [177, 255]);
}

#[test]
fn a_tiled_page_and_a_planar_page_are_put_together() {
    // Two tiles of 16 x 16 for a page of 20 x 16: the second is mostly padding.
    let tile = |from: u8| -> Vec<u8> { (0..=255_u8).map(|i| from + i % 16).collect() };
    let data = [tile(0), tile(16)].concat();
    let mut tags = tiff_tags(20, 16, vec![8], 1);
    tags.retain(|(tag, _)| *tag != 278);
    tags.extend([(322, vec![16]), (323, vec![16]), (324, vec![8, 264]), (325, vec![256, 256])]);
    let expected: Vec<u8> = (0..20 * 16).map(|i| (i % 20) as u8).collect();
    assert_eq!(pixels(&tiff_with(&tags, &data)), expected);
    let mut tags = tiff_tags(2, 1, vec![8, 8, 8], 2);
    tags.extend([(284, vec![2]), (273, vec![8, 10, 12]), (279, vec![2, 2, 2])]);
    let planar = tiff_with(&tags, &[30, 60, 30, 60, 30, 60]);
    assert_eq!(pixels(&planar), [30, 60]);
}

/// As [`tiff_by_hand`], without the strip tags that it adds.
fn tiff_with(tags: &[(u16, Vec<u32>)], data: &[u8]) -> Vec<u8> {
    let mut file = tiff_by_hand(tags, data);
    let at = 8 + data.len().next_multiple_of(2);
    let count = usize::from(u16::from_le_bytes([file[at], file[at + 1]]));
    let mut entries: Vec<[u8; 12]> =
        file[at + 2..at + 2 + 12 * count].chunks(12).map(|e| e.try_into().unwrap()).collect();
    // The added entries have one value each; where the test has its own, or tiles, they are
    // turned into tags that nobody reads, and the directory is put in order again.
    let own = |tag: u32| tags.iter().any(|(t, _)| u32::from(*t) == tag || *t == 324);
    let mut spare = 65000_u16;
    for entry in &mut entries {
        let tag = u32::from(u16::from_le_bytes([entry[0], entry[1]]));
        let single = entry[4] == 1;
        if matches!(tag, 273 | 279) && single && own(tag) {
            entry[..2].copy_from_slice(&spare.to_le_bytes());
            spare += 1;
        }
    }
    entries.sort_by_key(|e| u16::from_le_bytes([e[0], e[1]]));
    file[at + 2..at + 2 + 12 * count].copy_from_slice(&entries.concat());
    file
}

#[test]
fn each_page_can_be_chosen() {
    let mut file = Cursor::new(Vec::new());
    let mut encoder = TiffEncoder::new(&mut file).unwrap();
    for (width, gray) in [(2, 10), (3, 20), (4, 30)] {
        encoder.write_image::<Gray8>(width, 1, &vec![gray; width as usize]).unwrap();
    }
    let file = file.into_inner();
    assert_eq!(probe_bytes("test", &file).unwrap().pages, 3);
    for (page, expected) in [(0, vec![10; 2]), (1, vec![20; 3]), (2, vec![30; 4])] {
        let scan = scan_page(&file, page).unwrap();
        assert_eq!(scan.raster.pixels(), expected);
        assert!(scan.notices.contains(&ScanNotice::OnePage { page, pages: 3 }));
    }
    let error = scan_page(&file, 3).unwrap_err();
    assert_eq!(error.to_string(), "there is no page 4 (the file has 3); choose a page from 1 to 3: test.tif");
}

#[test]
fn a_palette_page_after_others_is_found() {
    let mut tags = tiff_tags(2, 1, vec![8], 3);
    let gray_map: Vec<u32> = (0..3).flat_map(|_| (0..256).map(|v| 257 * (255 - v))).collect();
    tags.push((320, gray_map));
    let mut file = tiff_by_hand(&tags, &[0, 5]);
    // The directory follows the two bytes of data; its copy becomes the second page.
    let (at, len) = (10, 2 + 12 * (tags.len() + 2) + 4);
    let copy = file[at..at + len].to_vec();
    let second = file.len() as u32;
    file[at + len - 4..at + len].copy_from_slice(&second.to_le_bytes());
    file.extend(copy);
    assert_eq!(scan_page(&file, 1).unwrap().raster.pixels(), [255, 250]);
}

#[test]
fn orientation_and_uneven_resolution_are_seen() {
    let mut tags = tiff_tags(2, 1, vec![8], 1);
    tags.push((274, vec![3]));
    assert_eq!(pixels(&tiff_by_hand(&tags, &[1, 2])), [2, 1]);
    tags.extend([(282, vec![204]), (283, vec![98])]);
    let scan = scan_page(&tiff_by_hand(&tags, &[1, 2]), 0).unwrap();
    assert_eq!(scan.dpi, None);
    let (across, down) = (Dpi::new(204.0).unwrap(), Dpi::new(98.0).unwrap());
    assert!(scan.notices.contains(&ScanNotice::UnevenResolution { across, down }));
}

#[test]
fn cmyk_and_floating_point_say_what_to_do() {
    let cmyk = tiff_by_hand(&tiff_tags(1, 1, vec![8; 4], 5), &[0; 4]);
    let error = scan_page(&cmyk, 0).unwrap_err();
    assert_eq!(error.to_string(), "this TIFF file is CMYK; save it as gray or RGB: test.tif");
    let mut tags = tiff_tags(1, 1, vec![32], 1);
    tags.push((339, vec![3]));
    assert!(matches!(scan_page(&tiff_by_hand(&tags, &[0; 4]), 0), Err(ScanError::Unsupported { .. })));
}
