//! A plate in tiles: which of them a slip can change, and how they lie after one.

use slipsheet_base::wide::Step;
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_render::{Scene, View};

/// Pixels of a side of a tile. A slip counts as one shift for every row of it: at a skew of 0.1 degrees it
/// changes by 0.06 pixels there.
pub(super) const TILE: usize = 32;
/// Pixels around a plate that a slip may bring in; farther ones repeat the edge.
const PAD: usize = 48;

/// A row of a tile.
pub(super) type Run = [u8; TILE];

/// A plate with white around it.
pub(super) struct Plate {
    stride: usize,
    rows: usize,
    gray: Vec<u8>,
    /// Tiles each way.
    tiles: (usize, usize),
    /// By tile, row by row: its gray where it and its neighbours have no other.
    even: Vec<Option<u8>>,
}

impl Plate {
    pub(super) fn of(scene: &Scene, layer: usize, view: &View) -> Option<Self> {
        let plate = scene.plate(layer, view)?;
        let tiles = (view.width.div_ceil(TILE), view.height.div_ceil(TILE));
        let (stride, rows) = (tiles.0 * TILE + 2 * PAD, tiles.1 * TILE + 2 * PAD);
        let mut gray = vec![255; stride * rows];
        for (to, y) in gray.chunks_mut(stride).skip(PAD).zip(0..plate.height()) {
            if let Some(to) = to.get_mut(PAD..PAD + view.width) {
                to.copy_from_slice(plate.row(y));
            }
        }
        let mut plate = Self { stride, rows, gray, tiles, even: Vec::new() };
        plate.even = (0..tiles.0 * tiles.1).map(|i| plate.even_around(i % tiles.0, i / tiles.0)).collect();
        Some(plate)
    }

    /// The gray of a pixel, white beyond the plate.
    #[cfg(test)]
    pub(super) fn at(&self, x: i64, y: i64) -> u8 {
        let place = |v: i64, most: usize| usize::try_from(v + PAD as i64).ok().filter(|v| *v < most);
        let (x, y) = (place(x, self.stride), place(y, self.rows));
        x.zip(y).map_or(255, |(x, y)| self.gray[y * self.stride + x])
    }

    /// The one gray of a tile and its neighbours.
    fn even_around(&self, x: usize, y: usize) -> Option<u8> {
        let (left, top) = (x * TILE + PAD - TILE, y * TILE + PAD - TILE);
        let row = |y: usize| self.gray.get(y * self.stride + left..y * self.stride + left + 3 * TILE);
        let gray = *row(top)?.first()?;
        let even = (top..top + 3 * TILE).all(|y| row(y).is_some_and(|row| row.iter().all(|g| *g == gray)));
        even.then_some(gray)
    }
}

/// By row of tiles, the columns of those where a plate is not even.
pub(super) fn uneven(plates: &[Plate], width: usize, height: usize) -> Vec<Vec<usize>> {
    let tiles = (width.div_ceil(TILE), height.div_ceil(TILE));
    let even = |i: usize| plates.iter().all(|p| p.even.get(i).is_some_and(Option::is_some));
    let row = |y: usize| (0..tiles.0).filter(|x| !even(y * tiles.0 + x)).collect();
    (0..tiles.1).map(row).collect()
}

/// One row of some tiles of a plate as they lie after a slip: bilinear.
pub(super) struct Slipped<'a> {
    pub(super) plate: &'a Plate,
    /// Columns of tiles.
    pub(super) columns: &'a [usize],
    pub(super) y: usize,
    /// From where a point of the sheet lies, in pixels, to where it was meant to.
    pub(super) meant_from_slipped: &'a Affine,
    /// Whether tiles among even ones may have other grays brought in.
    pub(super) far: bool,
    pub(super) out: &'a mut [Run],
}

impl Step for Slipped<'_> {
    #[inline(always)]
    fn run(self) {
        let Self { plate, columns, y, meant_from_slipped, far, out } = self;
        let even = plate.even.get(y / TILE * plate.tiles.0..).unwrap_or(&[]);
        let half = TILE as f64 / 2.0;
        let first = *meant_from_slipped * Point::new(half, y as f64 + 0.5);
        let (left, top) = (first.x - half + PAD as f64, first.y - 0.5 + PAD as f64);
        let (right, down) = (meant_from_slipped.a * TILE as f64, meant_from_slipped.b * TILE as f64);
        for (column, out) in columns.iter().zip(out) {
            if let Some(Some(gray)) = even.get(*column).filter(|_| !far) {
                *out = [*gray; TILE];
                continue;
            }
            // In sixteenths of a pixel.
            let place = |v: f64, most: usize| {
                let sixteenths = (v * 16.0 + 0.5).clamp(0.0, (most * 16) as f64) as i32 as usize;
                (sixteenths / 16, (sixteenths % 16) as u16)
            };
            let (x0, fx) = place(left + *column as f64 * right, plate.stride - TILE - 1);
            let (y0, fy) = place(top + *column as f64 * down, plate.rows - 2);
            let start = y0 * plate.stride + x0;
            let Some(both) = plate.gray.get(start..start + plate.stride + TILE + 1) else { continue };
            let run = |from: usize| both.get(from..from + TILE).and_then(|run| run.first_chunk());
            let corners = (run(0), run(1), run(plate.stride), run(plate.stride + 1));
            if let (Some(a), Some(b), Some(c), Some(d)) = corners {
                blend([a, b, c, d], fx, fy, out);
            }
        }
    }
}

/// Between four runs that lie a pixel apart, by sixteenths.
#[inline(always)]
fn blend([p, q, r, s]: [&Run; 4], fx: u16, fy: u16, out: &mut Run) {
    let (a, b, c, d) = ((16 - fx) * (16 - fy), fx * (16 - fy), (16 - fx) * fy, fx * fy);
    for i in 0..TILE {
        let sum = a * u16::from(p[i]) + b * u16::from(q[i]) + c * u16::from(r[i]) + d * u16::from(s[i]);
        out[i] = ((sum + 128) >> 8) as u8;
    }
}
