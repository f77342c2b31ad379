//! Paints copies whose layers have slipped, fast enough for hundreds, and says how much they differ from the
//! perfect print for the eye.
//!
//! The sheet lies in tiles. Where no plate has more than one gray in a tile and around it, no slip changes
//! anything, and what the perfect print has there stays.

mod light;
mod plate;

use std::sync::{Mutex, PoisonError};

use super::SlipError;
use super::vision::difference::{Differences, lab_of};
use super::vision::{Back, Eye, Field, OPPONENT, Work};
use light::{Light, SAMPLES};
use plate::{Plate, Run, Slipped, TILE};
use slipsheet_base::wide::Width;
use slipsheet_core::colour::Xyz;
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::overprint::{Kernel, MAX_INKS, Power};
use slipsheet_core::units::{Dpi, WORKING_BYTES};
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;
use slipsheet_render::{Scene, Show, View};

/// Bytes that a painter takes for a pixel: plates, the picture as light, and what the eye makes of it.
const BYTES_A_PIXEL: f64 = 60.0;
/// The most bytes that a painter may take.
const MOST_BYTES: f64 = 2.0 * WORKING_BYTES;

/// One face, ready to be painted at one resolution.
pub struct Painter {
    px_per_mm: f64,
    width: usize,
    height: usize,
    layers: Vec<usize>,
    plates: Vec<Plate>,
    /// By row of tiles, the columns of those that a slip of less than a tile may change.
    columns: Vec<Vec<usize>>,
    kernel: Kernel,
    n: f64,
    opponent_from_light: [[f32; 3]; 3],
    xyz_from_opponent: [[f32; 3]; 3],
    eye: Eye,
    instructions: Width,
    /// The perfect print: as painted, as seen, and what is seen as Lab.
    painted: Field,
    perfect: Field,
    colours: [Vec<f32>; 3],
    /// Those that nobody paints with.
    brushes: Mutex<Vec<Brush>>,
}

/// How much a copy differs from the perfect print: CIEDE2000 after the blur of the viewing distance.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Change {
    /// Mean over the sheet.
    pub mean: f64,
    /// What 95 % of the sheet stays below.
    pub most: f64,
}

/// Memory that copies use again.
#[derive(Default)]
struct Brush {
    grays: Vec<Vec<Run>>,
    power: Power,
    sums: Power,
    field: Field,
    seen: Field,
    work: Work,
    differences: Vec<f32>,
    /// Whether the field is the perfect print's wherever no slip of less than a tile changes anything.
    still: bool,
}

impl Change {
    /// The larger of both figures.
    #[must_use]
    pub fn worse(self, other: Self) -> Self {
        Self { mean: self.mean.max(other.mean), most: self.most.max(other.most) }
    }

    /// Whether it is small enough to sell, where colour counts.
    pub fn sells(&self, acceptance: &Acceptance) -> bool {
        acceptance.colour.is_none_or(|limit| self.most <= limit.get())
    }
}

impl Painter {
    /// The visible layers of a face at a resolution, seen from a distance in mm.
    pub fn new(
        printing: &Printing,
        images: &Images,
        face: Face,
        dpi: Dpi,
        distance: f64,
    ) -> Result<Self, SlipError> {
        if printing.sheet.size().bytes(dpi, BYTES_A_PIXEL) > MOST_BYTES {
            return Err(SlipError::TooLarge);
        }
        let scene = Scene::new(printing, images, Show::meant(face))?;
        let view = View::sheet(printing.sheet.size(), dpi);
        let layers: Vec<usize> = printing.sheet.on(face).filter(|(_, l)| l.visible).map(|(i, _)| i).collect();
        let plates: Option<Vec<Plate>> = layers.iter().map(|l| Plate::of(&scene, *l, &view)).collect();
        let plates = plates.ok_or(SlipError::TooLarge)?;
        let mut opponent_from_light = [[0.0; 3]; 3];
        for c in 0..3 {
            let mut light = [0.0; 3];
            light[c] = 1.0;
            let Xyz { x, y, z } = Xyz::from_light(light);
            for (row, o) in opponent_from_light.iter_mut().zip(OPPONENT) {
                row[c] = (o[0] * x + o[1] * y + o[2] * z) as f32;
            }
        }
        let mut painter = Self {
            px_per_mm: dpi.px_per_mm(),
            width: view.width,
            height: view.height,
            columns: plate::uneven(&plates, view.width, view.height),
            layers,
            plates,
            kernel: scene.kernel().clone(),
            n: scene.model().n(),
            opponent_from_light,
            xyz_from_opponent: Back::default().xyz_from_opponent(),
            eye: Eye::new(distance, dpi.px_per_mm() / 2.0),
            instructions: Width::widest(),
            painted: Field::default(),
            perfect: Field::default(),
            colours: Default::default(),
            brushes: Mutex::default(),
        };
        painter.keep_the_perfect_print();
        Ok(painter)
    }

    fn keep_the_perfect_print(&mut self) {
        let mut field = Field::zeroed(self.width / 2, self.height / 2);
        let still = vec![Affine::IDENTITY; self.layers.len()];
        self.paint(&still, true, &mut Brush::default(), &mut field);
        self.eye.see(&field, &mut Work::default(), &mut self.perfect);
        self.painted = field;
        let [a, b, c] = &self.perfect.channels;
        let seen = a.iter().zip(b).zip(c);
        let labs = seen.map(|((a, b), c)| lab_of(&self.xyz_from_opponent, [*a, *b, *c]));
        let (l, (a, b)) = labs.map(|[l, a, b]| (l, (a, b))).unzip();
        self.colours = [l, a, b];
    }

    /// The layers it paints, by their index in the project, in printing order.
    pub fn layers(&self) -> &[usize] {
        &self.layers
    }

    /// How much a copy differs whose layers moved so: for each layer, from where a point was meant to lie to
    /// where it lies, on the sheet in mm.
    pub fn change(&self, moves: &[Affine]) -> Change {
        let brushes = || self.brushes.lock().unwrap_or_else(PoisonError::into_inner);
        let mut brush = brushes().pop().unwrap_or_default();
        let change = self.change_with(moves, &mut brush);
        brushes().push(brush);
        change
    }

    fn change_with(&self, moves: &[Affine], brush: &mut Brush) -> Change {
        self.look(moves, brush);
        let Brush { seen, differences, .. } = brush;
        differences.resize(self.colours[0].len(), 0.0);
        self.instructions.run(Differences {
            xyz_from_opponent: &self.xyz_from_opponent,
            perfect: self.perfect.channels.each_ref().map(|c| &c[..]),
            colours: self.colours.each_ref().map(|c| &c[..]),
            seen: seen.channels.each_ref().map(|c| &c[..]),
            out: differences,
        });
        let all = differences.len();
        let mean = differences.iter().map(|d| f64::from(*d)).sum::<f64>() / all.max(1) as f64;
        // What did not change is below everything that did.
        differences.retain(|d| *d > 0.0);
        let above = (0.05 * all as f64) as usize;
        let most = if above >= differences.len() {
            0.0
        } else {
            f64::from(*differences.select_nth_unstable_by(above, |a, b| b.total_cmp(a)).1)
        };
        Change { mean, most }
    }

    /// Paints into `brush.field` and looks into `brush.seen`.
    fn look(&self, moves: &[Affine], brush: &mut Brush) {
        let mut field = std::mem::take(&mut brush.field);
        if !std::mem::take(&mut brush.still) {
            field.clone_from(&self.painted);
        }
        let far = moves.iter().any(|m| self.farthest(m) > (TILE - 1) as f64);
        self.paint(moves, far, brush, &mut field);
        self.eye.see(&field, &mut brush.work, &mut brush.seen);
        brush.field = field;
        // What was painted among even tiles is not the perfect print's.
        brush.still = !far;
    }

    /// Paints the tiles that may change, or all of them.
    fn paint(&self, moves: &[Affine], all: bool, brush: &mut Brush, field: &mut Field) {
        let every: Vec<usize> = (0..self.width.div_ceil(TILE)).collect();
        let shifts: Vec<Affine> = moves.iter().map(|m| self.meant_px_from_slipped_px(m)).collect();
        let Brush { grays, power, sums, .. } = brush;
        grays.resize(self.plates.len(), Vec::new());
        grays.iter_mut().for_each(|gray| gray.resize(2 * every.len(), [255; TILE]));
        if power.channels[0].len() != 2 * every.len() * TILE {
            *power = Power::zeroed(2 * every.len() * TILE);
            *sums = Power::zeroed(every.len() * SAMPLES);
        }
        let half_w = field.width;
        for y in 0..field.height {
            let columns = if all { Some(&every) } else { self.columns.get(2 * y / TILE) };
            let Some(columns) = columns.filter(|c| !c.is_empty()) else { continue };
            let (runs, pixels) = (2 * columns.len(), 2 * columns.len() * TILE);
            for ((plate, shift), gray) in self.plates.iter().zip(&shifts).zip(grays.iter_mut()) {
                for (y, out) in [2 * y, 2 * y + 1].into_iter().zip(gray.chunks_mut(columns.len())) {
                    let slipped = Slipped { plate, columns, y, meant_from_slipped: shift, far: all, out };
                    self.instructions.run(slipped);
                }
            }
            let mut lent: [&[u8]; MAX_INKS] = [&[]; MAX_INKS];
            for (slot, gray) in lent.iter_mut().zip(grays.iter()) {
                *slot = gray.get(..runs).unwrap_or(&[]).as_flattened();
            }
            let lent = lent.get(..self.plates.len()).unwrap_or(&[]);
            let out = power.channels.each_mut().map(|c| c.get_mut(..pixels).unwrap_or(&mut []));
            self.kernel.power_row(lent, None, out);
            let span = y * half_w..(y + 1) * half_w;
            self.instructions.run(Light {
                n: self.n,
                power: power.channels.each_ref().map(|c| c.get(..pixels).unwrap_or(&[])),
                opponent_from_light: &self.opponent_from_light,
                sums: sums
                    .channels
                    .each_mut()
                    .map(|c| c.get_mut(..columns.len() * SAMPLES).unwrap_or(&mut [])),
                columns,
                out: field.channels.each_mut().map(|c| c.get_mut(span.clone()).unwrap_or(&mut [])),
            });
        }
    }

    /// The most that a point of the sheet moves either way, in pixels.
    fn farthest(&self, slipped_from_meant: &Affine) -> f64 {
        let meant = self.meant_px_from_slipped_px(slipped_from_meant);
        let (w, h) = (self.width as f64, self.height as f64);
        let moved = |x: f64, y: f64| {
            let at = meant * Point::new(x, y);
            (at.x - x).abs().max((at.y - y).abs())
        };
        // It is linear between the corners.
        moved(0.0, 0.0).max(moved(w, 0.0)).max(moved(0.0, h)).max(moved(w, h))
    }

    fn meant_px_from_slipped_px(&self, slipped_from_meant: &Affine) -> Affine {
        let meant = slipped_from_meant.inverse().unwrap_or(Affine::IDENTITY);
        Affine::scale(self.px_per_mm, self.px_per_mm)
            * meant
            * Affine::scale(1.0 / self.px_per_mm, 1.0 / self.px_per_mm)
    }
}

#[cfg(test)]
mod tests;
