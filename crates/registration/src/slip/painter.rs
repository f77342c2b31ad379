//! Paints copies whose layers have slipped, fast enough for hundreds, and says how much they differ from the
//! perfect print for the eye.

use rayon::prelude::*;

use super::SlipError;
use super::vision::{Back, Eye, Field, OPPONENT, Work};
use slipsheet_core::colour::{Lab, Xyz};
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::overprint::{Kernel, Power};
use slipsheet_core::units::{Dpi, WORKING_BYTES};
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;
use slipsheet_render::{Scene, Show, View};

/// Pixels around a plate that a slip may bring in; farther ones repeat the edge.
const PAD: usize = 48;
/// Bytes that a painter takes for a pixel: plates, the picture as light, and what the eye makes of it.
const BYTES_A_PIXEL: f64 = 60.0;
/// The most bytes that a painter may take.
const MOST_BYTES: f64 = 2.0 * WORKING_BYTES;
/// Pixels over which a slip counts as one shift: at a skew of 0.1 degrees it changes by 0.06 pixels there.
const RUN: usize = 32;
/// Colours compared at most in one picture.
const COMPARED: usize = 16_384;
/// Opponent values that differ by less are the same to the eye.
const SAME: f32 = 2e-4;

/// One face, ready to be painted at one resolution.
pub struct Painter {
    px_per_mm: f64,
    width: usize,
    height: usize,
    layers: Vec<usize>,
    plates: Vec<Plate>,
    kernel: Kernel,
    n: f64,
    opponent_from_light: [[f32; 3]; 3],
    eye: Eye,
    perfect: Field,
    colours: Vec<Lab>,
}

/// A plate with white around it.
struct Plate {
    stride: usize,
    rows: usize,
    gray: Vec<u8>,
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
pub struct Brush {
    grays: Vec<Vec<u8>>,
    power: Power,
    sums: [Vec<f32>; 3],
    field: Field,
    seen: Field,
    work: Work,
    changed: Vec<usize>,
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
            layers,
            plates: plates.ok_or(SlipError::TooLarge)?,
            kernel: scene.kernel().clone(),
            n: scene.model().n(),
            opponent_from_light,
            eye: Eye::new(distance, dpi.px_per_mm() / 2.0),
            perfect: Field::default(),
            colours: Vec::new(),
        };
        let mut brush = Brush::default();
        let still = vec![Affine::IDENTITY; painter.layers.len()];
        painter.look(&still, &mut brush);
        let back = Back::default();
        let [a, b, c] = &brush.seen.channels;
        painter.colours = a.par_iter().zip(b).zip(c).map(|((a, b), c)| back.lab([*a, *b, *c])).collect();
        painter.perfect = brush.seen;
        Ok(painter)
    }

    /// The layers it paints, by their index in the project, in printing order.
    pub fn layers(&self) -> &[usize] {
        &self.layers
    }

    /// How much a copy differs whose layers moved so: for each layer, from where a point was meant to lie to
    /// where it lies, on the sheet in mm.
    pub fn change(&self, moves: &[Affine], brush: &mut Brush) -> Change {
        self.look(moves, brush);
        let Brush { seen, changed, .. } = brush;
        changed.clear();
        let [a, b, c] = &seen.channels;
        let [pa, pb, pc] = &self.perfect.channels;
        for (i, ((a, b), c)) in a.iter().zip(b).zip(c).enumerate() {
            let off = |v: &f32, p: &[f32]| (v - p.get(i).copied().unwrap_or(0.0)).abs();
            if off(a, pa).max(off(b, pb)).max(off(c, pc)) > SAME {
                changed.push(i);
            }
        }
        let every = changed.len().div_ceil(COMPARED).max(1);
        let back = Back::default();
        let at = |i: usize| seen.channels.each_ref().map(|c| c.get(i).copied().unwrap_or(0.0));
        let mut differences: Vec<f64> = changed
            .iter()
            .step_by(every)
            .map(|i| self.colours.get(*i).map_or(0.0, |was| back.lab(at(*i)).ciede2000(*was)))
            .collect();
        let all = self.colours.len().max(1) as f64;
        let mean = differences.iter().sum::<f64>() * every as f64 / all;
        // What did not change is below everything that did.
        let above = (0.05 * all / every as f64) as usize;
        let most = if above >= differences.len() {
            0.0
        } else {
            *differences.select_nth_unstable_by(above, |a, b| b.total_cmp(a)).1
        };
        Change { mean, most }
    }

    /// Paints into `brush.seen`.
    fn look(&self, moves: &[Affine], brush: &mut Brush) {
        let (half_w, half_h) = (self.width / 2, self.height / 2);
        if (brush.field.width, brush.field.height) != (half_w, half_h) {
            brush.field = Field::zeroed(half_w, half_h);
            brush.power = Power::zeroed(self.width);
            brush.grays = vec![vec![255; self.width]; self.plates.len()];
            brush.sums = std::array::from_fn(|_| vec![0.0; half_w]);
        }
        let shifts: Vec<Affine> = moves.iter().map(|m| self.meant_px_from_slipped_px(m)).collect();
        let Brush { grays, power, sums, field, .. } = brush;
        for hy in 0..half_h {
            sums.iter_mut().for_each(|s| s.fill(0.0));
            for y in [2 * hy, 2 * hy + 1] {
                for ((plate, shift), gray) in self.plates.iter().zip(&shifts).zip(grays.iter_mut()) {
                    plate.row(shift, y, gray);
                }
                let mut lent: [&[u8]; slipsheet_core::overprint::MAX_INKS] =
                    [&[]; slipsheet_core::overprint::MAX_INKS];
                for (slot, gray) in lent.iter_mut().zip(grays.iter()) {
                    *slot = gray;
                }
                let lent = lent.get(..grays.len()).unwrap_or(&[]);
                self.kernel.power_row(lent, None, power.channels.each_mut().map(|c| &mut c[..]));
                for (sum, v) in sums.iter_mut().zip(&power.channels) {
                    add_pairs(self.n, v, sum);
                }
            }
            let span = hy * half_w..(hy + 1) * half_w;
            let [r, g, b] = sums;
            for (channel, m) in field.channels.iter_mut().zip(&self.opponent_from_light) {
                let out = channel.get_mut(span.clone()).unwrap_or(&mut []);
                for (((o, r), g), b) in out.iter_mut().zip(r.iter()).zip(g.iter()).zip(b.iter()) {
                    *o = 0.25 * (m[0] * r + m[1] * g + m[2] * b);
                }
            }
        }
        self.eye.see(&brush.field, &mut brush.work, &mut brush.seen);
    }

    fn meant_px_from_slipped_px(&self, slipped_from_meant: &Affine) -> Affine {
        let meant = slipped_from_meant.inverse().unwrap_or(Affine::IDENTITY);
        Affine::scale(self.px_per_mm, self.px_per_mm)
            * meant
            * Affine::scale(1.0 / self.px_per_mm, 1.0 / self.px_per_mm)
    }
}

/// Adds neighbouring pixels' light, which is the power space to the power n.
fn add_pairs(n: f64, v: &[f32], sums: &mut [f32]) {
    let (pairs, _) = v.as_chunks::<2>();
    let each = sums.iter_mut().zip(pairs);
    if n == 2.0 {
        each.for_each(|(s, [a, b])| *s += a * a + b * b);
    } else if n == 1.5 {
        each.for_each(|(s, [a, b])| *s += a * a.max(0.0).sqrt() + b * b.max(0.0).sqrt());
    } else if n == 1.0 {
        each.for_each(|(s, [a, b])| *s += a + b);
    } else {
        let power = |v: f32| libm::powf(v.max(0.0), n as f32);
        each.for_each(|(s, [a, b])| *s += power(*a) + power(*b));
    }
}

impl Plate {
    fn of(scene: &Scene, layer: usize, view: &View) -> Option<Self> {
        let plate = scene.plate(layer, view)?;
        let (stride, rows) = (view.width + 2 * PAD, view.height + 2 * PAD);
        let mut gray = vec![255; stride * rows];
        for (to, y) in gray.chunks_mut(stride).skip(PAD).zip(0..plate.height()) {
            if let Some(to) = to.get_mut(PAD..PAD + view.width) {
                to.copy_from_slice(plate.row(y));
            }
        }
        Some(Self { stride, rows, gray })
    }

    /// One row as it lies after a slip: bilinear, with one shift for every [`RUN`] pixels.
    fn row(&self, meant_from_slipped: &Affine, y: usize, out: &mut [u8]) {
        for (i, run) in out.chunks_mut(RUN).enumerate() {
            let x = (i * RUN) as f64 + run.len() as f64 / 2.0;
            let at = *meant_from_slipped * Point::new(x, y as f64 + 0.5);
            let left = at.x - run.len() as f64 / 2.0 + PAD as f64;
            let top = at.y - 0.5 + PAD as f64;
            let place = |v: f64, most: usize| {
                let v = v.clamp(0.0, most as f64);
                let whole = (v as usize).min(most.saturating_sub(1));
                (whole, ((v - whole as f64) * 16.0 + 0.5) as u16)
            };
            let (x0, fx) = place(left, self.stride - run.len() - 1);
            let (y0, fy) = place(top, self.rows - 2);
            let row = |y: usize| {
                let from = y * self.stride + x0;
                self.gray.get(from..from + run.len() + 1).unwrap_or(&[])
            };
            let (upper, lower) = (row(y0), row(y0 + 1));
            let (a, b, c, d) = ((16 - fx) * (16 - fy), fx * (16 - fy), (16 - fx) * fy, fx * fy);
            if fx == 0 && fy == 0 {
                run.copy_from_slice(upper.get(..run.len()).unwrap_or(&[]));
                continue;
            }
            let (u1, l1) = (upper.get(1..).unwrap_or(&[]), lower.get(1..).unwrap_or(&[]));
            for ((((o, p), q), r), s) in run.iter_mut().zip(upper).zip(u1).zip(lower).zip(l1) {
                let sum = a * u16::from(*p) + b * u16::from(*q) + c * u16::from(*r) + d * u16::from(*s);
                *o = ((sum + 128) >> 8) as u8;
            }
        }
    }
}
