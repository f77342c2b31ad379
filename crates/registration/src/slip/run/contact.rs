//! The contact sheet: the same place of many copies side by side.

use rayon::prelude::*;

use super::{Copied, SimulatedRun};
use slipsheet_core::geometry::{Point, Rect};
use slipsheet_document::acceptance::Acceptance;
use slipsheet_render::{Picture, View};

/// Pixels between cells.
const GAP: usize = 6;
/// Rule under a cell, in pixels.
const RULE: usize = 3;

/// How copies are laid side by side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ContactSheet {
    /// Middle of the place of the sheet that is shown, and its side in mm.
    pub place: Point,
    pub side: f64,
    pub columns: usize,
    /// A cell's side in pixels.
    pub cell: usize,
    /// Colours of the rule under copies that would sell, under others, and of the ground.
    pub colours: [[u8; 4]; 3],
}

/// Copies as they look around a place of the sheet, row by row.
pub fn contact_sheet(
    run: &SimulatedRun,
    copies: &[Copied],
    acceptance: &Acceptance,
    sheet: &ContactSheet,
) -> Picture {
    let ContactSheet { place, side, columns, cell, colours: [sells, spoiled, ground] } = *sheet;
    let columns = columns.clamp(1, copies.len().max(1));
    let rows = copies.len().div_ceil(columns);
    let step = cell + RULE + GAP;
    let (width, height) = (columns * (cell + GAP) + GAP, rows * step + GAP);
    let mut sheet = Picture { width, height, pixels: vec![ground; width * height] };
    let rect = Rect { x: place.x - side / 2.0, y: place.y - side / 2.0, width: side, height: side };
    let view = View::of_rect(rect, cell as u32, cell as u32);
    let cells: Vec<Picture> = copies.par_iter().map(|c| run.picture(&c.slips, &view)).collect();
    for (i, (copy, picture)) in copies.iter().zip(&cells).enumerate() {
        let (left, top) = (GAP + i % columns * (cell + GAP), GAP + i / columns * step);
        for y in 0..cell + RULE {
            let from = (top + y) * width + left;
            let Some(out) = sheet.pixels.get_mut(from..from + cell) else { continue };
            match picture.pixels.get(y * cell..(y + 1) * cell).filter(|_| y < cell) {
                // What lies off the sheet keeps the ground.
                Some(row) => {
                    for (o, p) in out.iter_mut().zip(row).filter(|(_, p)| p[3] > 0) {
                        *o = *p;
                    }
                }
                None => out.fill(if copy.sells(acceptance) { sells } else { spoiled }),
            }
        }
    }
    sheet
}
