//! A plate as a gray TIFF 6.0 file (baseline tags; deflate strips, as its technical note 2 of 2002 lays down) with
//! its resolution. Strips are compressed by all processors.

use std::io::{self, Write};

use rayon::prelude::*;

use super::{Plate, PlateForm, Plates};
use crate::deflate::zlib;

const SHORT: u16 = 3;
const LONG: u16 = 4;
const RATIONAL: u16 = 5;
const ASCII: u16 = 2;
const STRIP: usize = 64;

pub(super) fn write(
    out: &mut dyn Write,
    plates: &Plates,
    plate: &Plate,
    bands: impl Iterator<Item = io::Result<Vec<u8>>>,
) -> io::Result<()> {
    let width = plates.width as usize;
    let mut strips: Vec<Vec<u8>> = Vec::new();
    for band in bands {
        let made: Vec<Vec<u8>> = band?
            .par_chunks_mut(width * STRIP)
            .map(|strip| {
                if plates.form != PlateForm::Dots {
                    strip.chunks_mut(width).for_each(differences);
                }
                zlib(strip)
            })
            .collect();
        strips.extend(made);
    }
    let mut offsets = Vec::new();
    let mut at = 8_u32;
    for strip in &strips {
        offsets.push(at);
        let next = u32::try_from(strip.len()).ok().and_then(|n| at.checked_add(n));
        at = next.ok_or_else(|| io::Error::other("a TIFF file holds no more than 4 GB"))?;
    }
    // Words begin on even bytes.
    let pad = at % 2;
    let lengths: Vec<u32> = strips.iter().map(|s| s.len() as u32).collect();
    out.write_all(b"II*\0")?;
    out.write_all(&(at + pad).to_le_bytes())?;
    for strip in &strips {
        out.write_all(strip)?;
    }
    out.write_all(&[0][..pad as usize])?;
    out.write_all(&directory(plates, plate, (&offsets, &lengths), at + pad))
}

/// Every pixel as its difference from the one before (TIFF 6.0, section 14), which packs closer.
fn differences(row: &mut [u8]) {
    for i in (1..row.len()).rev() {
        row[i] = row[i].wrapping_sub(row[i - 1]);
    }
}

fn directory(plates: &Plates, plate: &Plate, (offsets, lengths): (&[u32], &[u32]), start: u32) -> Vec<u8> {
    let longs = |all: &[u32]| all.iter().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>();
    let long = |v: u32| v.to_le_bytes().to_vec();
    let short = |v: u16| v.to_le_bytes().to_vec();
    let dpi = (plates.dpi.get() * 1000.0).round() as u32;
    let ratio = longs(&[dpi, 1000]);
    let mut label: Vec<u8> = plates
        .about(plate)
        .replace('°', " degrees")
        .chars()
        .map(|c| if c.is_ascii() { c as u8 } else { b'?' })
        .collect();
    label.push(0);
    let software = concat!("Slipsheet ", env!("CARGO_PKG_VERSION"), "\0").as_bytes().to_vec();
    let predictor = if plates.form == PlateForm::Dots { 1 } else { 2 };
    let entries: Vec<(u16, u16, Vec<u8>)> = vec![
        (256, LONG, long(plates.width)),
        (257, LONG, long(plates.height)),
        (258, SHORT, short(8)),
        (259, SHORT, short(8)),
        // Black is zero, so zero is full ink.
        (262, SHORT, short(1)),
        (270, ASCII, label),
        (273, LONG, longs(offsets)),
        (277, SHORT, short(1)),
        (278, LONG, long(STRIP as u32)),
        (279, LONG, longs(lengths)),
        (282, RATIONAL, ratio.clone()),
        (283, RATIONAL, ratio),
        (296, SHORT, short(2)),
        (305, ASCII, software),
        (317, SHORT, short(predictor)),
    ];
    let size = |kind: u16| match kind {
        ASCII => 1,
        SHORT => 2,
        LONG => 4,
        _ => 8,
    };
    let mut table = (entries.len() as u16).to_le_bytes().to_vec();
    let mut rest: Vec<u8> = Vec::new();
    let after = start + 2 + 12 * entries.len() as u32 + 4;
    for (tag, kind, mut value) in entries {
        let count = (value.len() / size(kind)) as u32;
        table.extend_from_slice(&tag.to_le_bytes());
        table.extend_from_slice(&kind.to_le_bytes());
        table.extend_from_slice(&count.to_le_bytes());
        if value.len() <= 4 {
            value.resize(4, 0);
            table.extend_from_slice(&value);
        } else {
            table.extend_from_slice(&(after + rest.len() as u32).to_le_bytes());
            rest.extend_from_slice(&value);
            rest.resize(rest.len().next_multiple_of(2), 0);
        }
    }
    table.extend_from_slice(&[0; 4]);
    table.extend_from_slice(&rest);
    table
}
