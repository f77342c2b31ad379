//! The contact sheet: the same place of many copies side by side.

use rayon::prelude::*;

use super::{Copied, SimulatedRun};
use slipsheet_core::geometry::{Point, Rect};
use slipsheet_render::{Picture, View};

/// Pixels between cells.
const GAP: usize = 6;
/// Rule under a cell, in pixels.
const RULE: usize = 3;

/// Copies as they look around a place of the sheet, row by row. `side` is the place's side in mm and `cell`
/// a cell's in pixels; `good` and `bad` colour the rule under each.
pub fn contact_sheet(
    run: &SimulatedRun,
    copies: &[Copied],
    (place, side): (Point, f64),
    (columns, cell): (usize, usize),
    [good, bad, ground]: [[u8; 4]; 3],
) -> Picture {
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
                None => out.fill(if copy.good { good } else { bad }),
            }
        }
    }
    sheet
}
