//! Soft shadows: the piece's silhouette as the lamp sees it, on the ground behind it, in two layers by
//! height (near paper darkens sharply, far paper softly), and one layer of the leaves that stand up, which
//! fall on the leaves that lie.

use rayon::prelude::*;

use super::mesh::{Folded, Strip};
use super::plane::{Camera, Plane, span};
use crate::fold::Vec3;

/// Cells along a side.
const CELLS: usize = 192;
/// Half the side of the masks, in radii of the piece.
const REACH: f64 = 1.7;
/// Where the light comes from: above the left shoulder of someone who looks at the front.
pub(super) const LAMP: Vec3 = Vec3::new(-0.35, 0.5, 0.79);

/// One mask, 0 lit .. 1 dark.
struct Mask(Vec<f32>);

pub(super) struct Shadows {
    ground: Mask,
    leaves: Option<Mask>,
    reach: f64,
    ground_z: f64,
}

impl Mask {
    fn new() -> Self {
        Self(vec![0.0; CELLS * CELLS])
    }

    fn fill(&mut self, outline: &[(f64, f64); 4], weight: f32) {
        let (low, high) = outline
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (f64::min(l, p.1), f64::max(h, p.1)));
        let rows = (low.floor().max(0.0) as usize)..(high.ceil().max(0.0) as usize).min(CELLS);
        for y in rows {
            let Some((left, right)) = span(outline, y as f64 + 0.5) else { continue };
            let (x0, x1) = ((left - 0.5).ceil().max(0.0) as usize, (right + 0.5).max(0.0) as usize);
            let Some(row) = self.0.get_mut(y * CELLS..(y + 1) * CELLS) else { continue };
            for cell in row.iter_mut().take(x1.min(CELLS)).skip(x0) {
                *cell = cell.max(weight);
            }
        }
    }

    /// Three boxes come close to a bell.
    fn blur(&mut self, reach: usize) {
        for _ in 0..3 {
            for _ in 0..2 {
                let from = std::mem::take(&mut self.0);
                let mut to = vec![0.0_f32; CELLS * CELLS];
                // Blurred along rows and laid down as columns: twice is both ways round.
                let column = |x: usize| -> f32 { from.get(x).copied().unwrap_or(0.0) };
                let rows: Vec<Vec<f32>> = (0..CELLS)
                    .into_par_iter()
                    .map(|y| {
                        let mut sum: f32 = (0..reach).map(|x| column(y * CELLS + x)).sum();
                        let wide = (2 * reach + 1) as f32;
                        (0..CELLS)
                            .map(|x| {
                                if x + reach < CELLS {
                                    sum += column(y * CELLS + x + reach);
                                }
                                if x > reach {
                                    sum -= column(y * CELLS + x - reach - 1);
                                }
                                sum / wide
                            })
                            .collect()
                    })
                    .collect();
                to.par_chunks_mut(CELLS).enumerate().for_each(|(x, out)| {
                    for (o, row) in out.iter_mut().zip(&rows) {
                        *o = row.get(x).copied().unwrap_or(0.0).max(0.0);
                    }
                });
                self.0 = to;
            }
        }
    }

    /// The columns and rows between which it is not lit.
    fn extent(&self) -> Option<[usize; 4]> {
        const SEEN: f32 = 1.0 / 256.0;
        let rows: Vec<&[f32]> = self.0.chunks(CELLS).collect();
        let dark = |row: &&[f32]| row.iter().any(|v| *v > SEEN);
        let (top, bottom) = (rows.iter().position(dark)?, rows.iter().rposition(dark)?);
        let column = |x: &usize| rows.iter().any(|r| r.get(*x).is_some_and(|v| *v > SEEN));
        let (left, right) = ((0..CELLS).find(column)?, (0..CELLS).rev().find(column)?);
        Some([left.saturating_sub(1), right + 2, top.saturating_sub(1), bottom + 2])
    }

    /// Bilinear; 0 outside.
    fn at(&self, x: f32, y: f32) -> f32 {
        let (x, y) = (x - 0.5, y - 0.5);
        if !(x >= 0.0 && y >= 0.0 && x < (CELLS - 1) as f32 && y < (CELLS - 1) as f32) {
            return 0.0;
        }
        let (x0, y0) = (x as usize, y as usize);
        let (fx, fy) = (x - x0 as f32, y - y0 as f32);
        let i = y0 * CELLS + x0;
        let &[a, b] = self.0.get(i..i + 2).and_then(|s| s.first_chunk()).unwrap_or(&[0.0; 2]);
        let &[c, d] = self.0.get(i + CELLS..i + CELLS + 2).and_then(|s| s.first_chunk()).unwrap_or(&[0.0; 2]);
        let (above, below) = (a + (b - a) * fx, c + (d - c) * fx);
        above + (below - above) * fy
    }
}

impl Shadows {
    pub fn of(folded: &Folded) -> Self {
        let mut near = Mask::new();
        let mut far = Mask::new();
        let mut leaves = folded.strips.iter().any(|s| s.raised > 0.02).then(Mask::new);
        let mut shadows = Self {
            ground: Mask(Vec::new()),
            leaves: None,
            reach: folded.radius * REACH,
            ground_z: folded.ground,
        };
        for strip in &folded.strips {
            let outline = strip.corners.map(|c| shadows.cell(c));
            let height = strip.corners.iter().map(|c| c.z - folded.ground).sum::<f64>() / 4.0 / folded.radius;
            // The nearer to the ground, the more of the sharp shadow.
            near.fill(&outline, (1.0 - height * 3.0).clamp(0.0, 1.0) as f32);
            far.fill(&outline, 1.0);
            if let Some(mask) = leaves.as_mut().filter(|_| strip.raised > 0.02) {
                mask.fill(&outline, strip.raised as f32);
            }
        }
        near.blur(2);
        far.blur(7);
        if let Some(mask) = &mut leaves {
            mask.blur(5);
        }
        let both =
            near.0.iter().zip(&far.0).map(|(n, f)| 1.0 - (1.0 - 0.34 * n) * (1.0 - 0.36 * f)).collect();
        shadows.ground = Mask(both);
        shadows.leaves = leaves;
        shadows
    }

    /// Where the shadow of a point falls, in cells.
    fn cell(&self, p: Vec3) -> (f64, f64) {
        let height = p.z - self.ground_z;
        let (x, y) = (p.x - LAMP.x / LAMP.z * height, p.y - LAMP.y / LAMP.z * height);
        let half = CELLS as f64 / 2.0;
        (half + x / self.reach * half, half - y / self.reach * half)
    }

    /// The ground as a camera sees it, with the outline in the picture of what the shadow reaches; `None`
    /// from below, where there is no ground to see.
    pub(crate) fn ground_plane(
        &self,
        camera: &Camera,
        middle: (f64, f64),
    ) -> Option<(Plane, [(f64, f64); 4])> {
        let (r, z) = (self.reach, self.ground_z);
        let corner = |x: f64, y: f64| camera.eye(Vec3::new(x, y, z));
        let plane = Plane::new(camera, corner(-r, r), corner(r, r), corner(-r, -r));
        let [x0, x1, y0, y1] = self.ground.extent()?;
        let [x0, x1] = [x0, x1].map(|x| (x as f64 / CELLS as f64 * 2.0 - 1.0) * r);
        let [y0, y1] = [y0, y1].map(|y| (1.0 - y as f64 / CELLS as f64 * 2.0) * r);
        let [a, b, c, d] =
            [corner(x0, y0), corner(x1, y0), corner(x1, y1), corner(x0, y1)].map(|p| camera.picture(p));
        plane.faces(middle.0, middle.1).then_some((plane, [a?, b?, c?, d?]))
    }

    /// Darkness of the ground at a share of the masks' side, 0..=1.
    pub(crate) fn on_ground(&self, along: f32, down: f32) -> f32 {
        self.ground.at(along * CELLS as f32, down * CELLS as f32)
    }

    /// The cells under the corners of a strip, for leaves that others darken.
    pub fn under(&self, strip: &Strip) -> Option<[(f64, f64); 4]> {
        (self.leaves.is_some() && strip.raised < 0.98).then(|| strip.corners.map(|c| self.cell(c)))
    }

    /// Darkness that raised leaves throw on a place, given in cells.
    pub(crate) fn on_leaf(&self, x: f32, y: f32) -> f32 {
        self.leaves.as_ref().map_or(0.0, |mask| mask.at(x, y))
    }
}
