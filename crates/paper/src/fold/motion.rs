//! How a sheet moves when it is folded, and how the folded thing opens: rigid panels in space.
//!
//! Space is in mm, x to the right, y up, z toward the viewer; the flat sheet shows its front. Creases stop
//! a few degrees short of flat, as paper does, which also keeps the panels apart.

use super::engine::ring;
use super::engine::{Folding, Over, Step};
use super::scheme::{Binding, Face, GridLine, PageOrder, Scheme, Turn};
use slipsheet_base::geometry::{Point, Rect};
use slipsheet_base::space::Vec3;
use slipsheet_base::units::Size;

/// What one side of a panel shows: for each of its corners the point of a face, in mm; `None` is bare paper.
pub type Shown = Option<(Face, [Point; 4])>;

/// A rigid panel in space.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoldedPanel {
    /// Top left, top right, bottom right, bottom left, looking at its first side.
    pub corners: [Vec3; 4],
    /// What the side with these corners shows.
    pub front: Shown,
    /// What the other side shows, at the same corners.
    pub back: Shown,
    /// The sheet that it is part of, from 0; only a booklet has more than one.
    pub sheet: usize,
}

/// The sheet at one moment of folding or opening, its middle at the origin.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Pose {
    pub panels: Vec<FoldedPanel>,
}

/// Degrees between neighbouring leaves of a closed booklet.
const LEAF_GAP: f64 = 1.6;

impl Scheme {
    /// How many times the folded thing can be opened further: creases unfolded and the flat sheet turned
    /// over, or leaves turned.
    pub fn openings(&self) -> usize {
        match self.binding {
            Binding::Leaflet => self.creases.len() + usize::from(self.two_sided()),
            Binding::Ring | Binding::Section => self.pages() as usize / 2,
        }
    }

    /// The sheet with `fold` of its folding done (0 flat, 1 folded) and, once it is folded, opened `open`
    /// times (0 closed .. [`Self::openings`]).
    pub fn pose(&self, sheet: Size, fold: f64, open: f64) -> Pose {
        let fold = if fold.is_nan() { 0.0 } else { fold.clamp(0.0, 1.0) };
        let open = if open.is_nan() || fold < 1.0 { 0.0 } else { open.clamp(0.0, self.openings() as f64) };
        let panels = match self.binding {
            Binding::Leaflet => self.leaflet(sheet, fold, open),
            Binding::Section if fold < 1.0 => self.leaflet(sheet, fold, 0.0),
            Binding::Section => self.booklet(sheet, open),
            Binding::Ring if fold < 1.0 => self.ring(sheet, fold),
            Binding::Ring => self.booklet(sheet, open),
        };
        Pose { panels }.centred()
    }

    /// Creases folded one after the other, then opened last first.
    fn leaflet(&self, sheet: Size, fold: f64, open: f64) -> Vec<FoldedPanel> {
        let n = self.creases.len();
        let done = |i: usize| {
            let closed = ease(fold * n as f64 - i as f64);
            closed * (1.0 - ease(open - (n - 1 - i) as f64))
        };
        let panels = self.folded(sheet, &(0..n).map(done).collect::<Vec<_>>());
        // The reader turns the piece so that the next page faces them.
        let stage = if fold < 1.0 { 0.0 } else { open };
        let (low, high) = (stage.floor(), stage.ceil());
        let (from, to) = (self.facing(sheet, low as usize), self.facing(sheet, high as usize));
        let yaw = from + (to - from) * ease(stage - low);
        let yaw =
            if fold < 1.0 { self.facing(sheet, 0) * ease(fold * n as f64 - (n as f64 - 1.0)) } else { yaw };
        panels.into_iter().map(|p| FoldedPanel { corners: p.corners.map(|c| c.yawed(yaw)), ..p }).collect()
    }

    /// The turn (0 or -180 degrees) that makes the page to be read at an opening face the viewer.
    fn facing(&self, sheet: Size, opening: usize) -> f64 {
        let n = self.creases.len();
        if opening > n {
            // Flat, turned over to the other face.
            return -180.0 - self.facing(sheet, n);
        }
        let done: Vec<f64> = (0..n).map(|i| if n - 1 - i < opening { 0.0 } else { 1.0 }).collect();
        let page = match self.order {
            // A map is held by its cover until all of it lies open.
            Some(PageOrder::Inside) => 1 + u32::from(opening >= n),
            _ => opening as u32 + 1,
        };
        let Some(place) = self.place(sheet, page) else { return 0.0 };
        let cols = self.columns.len();
        let col = match place.face {
            Face::Front => place.cell.0,
            Face::Back => cols - 1 - place.cell.0,
        };
        let panels = self.folded(sheet, &done);
        let Some(panel) = panels.get(place.cell.1 * cols + col) else { return 0.0 };
        let toward = panel.normal().z > 0.0;
        if toward == (place.face == Face::Front) { 0.0 } else { -180.0 }
    }

    /// The panels with each crease folded by a share of its way.
    fn folded(&self, sheet: Size, done: &[f64]) -> Vec<FoldedPanel> {
        let (xs, ys) = (self.column_lines(sheet, Face::Front), self.row_lines(sheet));
        let cols = self.columns.len();
        let in_space =
            |p: Point| Vec3::new(p.x - sheet.width.get() / 2.0, sheet.height.get() / 2.0 - p.y, 0.0);
        let cells: Vec<(usize, usize)> = (0..cols * self.rows.len()).map(|i| (i % cols, i / cols)).collect();
        let mut panels: Vec<FoldedPanel> = cells
            .iter()
            .filter_map(|&(c, r)| {
                let (x0, x1, y0, y1) = (*xs.get(c)?, *xs.get(c + 1)?, *ys.get(r)?, *ys.get(r + 1)?);
                let rect = Rect { x: x0, y: y0, width: x1 - x0, height: y1 - y0 };
                let front = corners(rect);
                let back = front.map(|p| Point::new(sheet.width.get() - p.x, p.y));
                Some(FoldedPanel {
                    corners: front.map(in_space),
                    front: Some((Face::Front, front)),
                    back: Some((Face::Back, back)),
                    sheet: 0,
                })
            })
            .collect();
        if let Ok(folding) = Folding::of(self, sheet) {
            turn_steps(&folding, cols, done, &mut panels);
        }
        panels
    }

    /// The slit sheet: folded lengthwise, pushed into a cross, gathered.
    fn ring(&self, sheet: Size, fold: f64) -> Vec<FoldedPanel> {
        let columns = self.columns.len();
        let (w, h) = (sheet.width.get() / columns as f64, sheet.height.get() / 2.0);
        let lengthwise = ease(fold / 0.35) * 180.0;
        let push = ease((fold - 0.35) / 0.35) * 90.0;
        let gather = ease((fold - 0.7) / 0.3);
        if gather > 0.0 {
            // The arms of the star close like a fan, away from the cover.
            let half = columns / 2;
            let arm = |i: usize| match i {
                0 => 0.0,
                i if i < half => 90.0,
                i if i == half => 180.0,
                _ => 270.0,
            };
            let leaf = |i: usize| arm(i) * (1.0 - gather) + gather * LEAF_GAP * i as f64;
            return self.leaves(sheet, &(0..columns).map(leaf).collect::<Vec<_>>());
        }
        let plan = ring::plan(columns, w, push);
        // The two rows lie back to back without touching.
        let apart = 0.25 * lengthwise / 180.0;
        let (fall_sin, fall_cos) = libm::sincos(lengthwise.to_radians());
        let mut panels = Vec::new();
        for place in self.places(sheet, Face::Front) {
            let (col, row) = place.cell;
            let nodes = plan.get(row).and_then(|n| Some((*n.get(col)?, *n.get(col + 1)?)));
            let Some((mut left, mut right)) = nodes else { continue };
            let (drop, back) = if row == 1 { (-h, 0.0) } else { (h * fall_cos, -h * fall_sin) };
            if place.turn == Turn::Half {
                (left, right) = (right, left);
            }
            let shift = if row == 1 { apart } else { -apart };
            let at = |p: Point, far: bool| {
                Vec3::new(p.x, if far { drop } else { 0.0 }, p.y + shift + if far { back } else { 0.0 })
            };
            let page = corners(Rect {
                x: 0.0,
                y: 0.0,
                width: place.size.width.get(),
                height: place.size.height.get(),
            });
            // The head of a page lies in the fold, or the foot does.
            let foot = (row == 1) == (place.turn == Turn::Upright);
            panels.push(FoldedPanel {
                corners: [at(left, !foot), at(right, !foot), at(right, foot), at(left, foot)],
                front: Some((Face::Front, page.map(|p| place.face_from_page * p))),
                back: None,
                sheet: 0,
            });
        }
        panels
    }

    /// The finished booklet with so many leaves turned.
    fn booklet(&self, sheet: Size, open: f64) -> Vec<FoldedPanel> {
        let angle = |i: usize| {
            let (closed, turned) = (LEAF_GAP * i as f64, -(180.0 - LEAF_GAP * i as f64));
            closed + (turned - closed) * ease(open - i as f64)
        };
        self.leaves(sheet, &(0..self.pages() as usize / 2).map(angle).collect::<Vec<_>>())
    }

    /// Leaves about an upright spine; angles in degrees from the right, away from the viewer.
    fn leaves(&self, sheet: Size, angles: &[f64]) -> Vec<FoldedPanel> {
        let mut panels = Vec::new();
        for (i, angle) in angles.iter().enumerate() {
            let page = 2 * i as u32 + 1;
            let (Some(recto), Some(verso)) = (self.place(sheet, page), self.place(sheet, page + 1)) else {
                continue;
            };
            let (w, h) = (recto.size.width.get(), recto.size.height.get());
            let upright = corners(Rect { x: 0.0, y: 0.0, width: w, height: h });
            let at = |x: f64, y: f64| Vec3::new(x, y, 0.0).yawed(*angle);
            let [tl, tr, br, bl] = upright.map(|p| verso.face_from_page * p);
            panels.push(FoldedPanel {
                corners: [at(0.0, h / 2.0), at(w, h / 2.0), at(w, -h / 2.0), at(0.0, -h / 2.0)],
                front: Some((recto.face, upright.map(|p| recto.face_from_page * p))),
                back: Some((verso.face, [tr, tl, bl, br])),
                sheet: 0,
            });
        }
        panels
    }
}

/// How far apart neighbouring layers of a flat stack are drawn, in mm.
const LAYER_GAP: f64 = 0.15;

/// Turns what each step moves by its share of the way. Where a later step creases several layers at once the
/// earlier ones must lie quite flat, or the layers would tear there; else a crease stops a little short.
fn turn_steps(folding: &Folding, cols: usize, done: &[f64], panels: &mut [FoldedPanel]) {
    let up = Vec3::new(0.0, 0.0, 1.0);
    let mut offsets = vec![Vec3::default(); panels.len()];
    for (i, (step, done)) in folding.steps.iter().zip(done).enumerate() {
        let later = folding.steps.get(i + 1..).unwrap_or_default();
        let short = if later.iter().any(|s| s.layered) { 0.0 } else { 1.5 * (i as f64 + 1.0) };
        let Some((from, axis)) = step_axis(step, cols, panels) else { continue };
        let moved = |p: usize| step.moved.binary_search(&p).is_ok();
        let middle = |p: &FoldedPanel| (p.corners[0] + p.corners[2]) * 0.5;
        let Some(lead) = panels.iter().enumerate().find(|(p, _)| moved(*p)).map(|(_, p)| middle(p)) else {
            continue;
        };
        let lifts = lead.about(from, axis, 1.0).z > lead.z;
        let sign = if lifts == (step.onto == Over::Top) { 1.0 } else { -1.0 };
        let angle = sign * done * (180.0 - short);
        let layer = |p: usize| step.stack.layers.iter().position(|l| l.cell.1 * cols + l.cell.0 == p);
        for (p, (panel, offset)) in panels.iter_mut().zip(&mut offsets).enumerate() {
            if moved(p) {
                panel.corners = panel.corners.map(|c| c.about(from, axis, angle));
                *offset = offset.about(Vec3::default(), axis, angle);
            }
            let settled = up * (LAYER_GAP * layer(p).unwrap_or(0) as f64);
            *offset = *offset * (1.0 - done) + settled * *done;
        }
    }
    for (panel, offset) in panels.iter_mut().zip(offsets) {
        panel.corners = panel.corners.map(|c| c + offset);
    }
}

/// A point and the direction of a step's crease in space, from a panel that stays.
fn step_axis(step: &Step, cols: usize, panels: &[FoldedPanel]) -> Option<(Vec3, Vec3)> {
    let edge = step.edges.first()?;
    let (before, after) = match edge.line {
        GridLine::Vertical(i) => ((i.checked_sub(1)?, edge.at), (i, edge.at)),
        GridLine::Horizontal(i) => ((edge.at, i.checked_sub(1)?), (edge.at, i)),
    };
    let index = |(c, r): (usize, usize)| r * cols + c;
    let after_moves = step.moved.binary_search(&index(after)).is_ok();
    let [tl, tr, br, bl] = panels.get(index(if after_moves { before } else { after }))?.corners;
    let (from, to) = match (edge.line, after_moves) {
        (GridLine::Vertical(_), true) => (tr, br),
        (GridLine::Vertical(_), false) => (tl, bl),
        (GridLine::Horizontal(_), true) => (bl, br),
        (GridLine::Horizontal(_), false) => (tl, tr),
    };
    let along = to - from;
    Some((from, along * (1.0 / along.length().max(1e-9))))
}

impl FoldedPanel {
    /// Direction of its first side, not scaled.
    pub fn normal(&self) -> Vec3 {
        let [tl, tr, _, bl] = self.corners;
        (tr - tl).cross(tl - bl)
    }
}

impl Pose {
    /// Distance from the origin to the farthest corner, in mm.
    pub fn radius(&self) -> f64 {
        self.panels.iter().flat_map(|p| p.corners).map(Vec3::length).fold(1.0, f64::max)
    }

    fn centred(mut self) -> Self {
        let centre = middle_of(&self.panels);
        for panel in &mut self.panels {
            panel.corners = panel.corners.map(|c| c - centre);
        }
        self
    }
}

fn corners(r: Rect) -> [Point; 4] {
    [
        Point::new(r.x, r.y),
        Point::new(r.x + r.width, r.y),
        Point::new(r.x + r.width, r.y + r.height),
        Point::new(r.x, r.y + r.height),
    ]
}

/// A smooth step from 0 to 1, held outside.
fn ease(t: f64) -> f64 {
    let t = t.clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// The middle of the box around some panels.
pub(crate) fn middle_of(panels: &[FoldedPanel]) -> Vec3 {
    let of = |pick: fn(Vec3) -> f64| {
        let along = panels.iter().flat_map(|p| p.corners).map(pick);
        let (low, high) = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        if low <= high { (low + high) / 2.0 } else { 0.0 }
    };
    Vec3::new(of(|v| v.x), of(|v| v.y), of(|v| v.z))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fold::shipped;

    fn sheet(scheme: &Scheme) -> Size {
        scheme.oriented(Size::mm(216.0, 280.0))
    }

    /// The page that a viewer sees: the nearest panel side at the middle of the picture that faces them.
    fn seen(scheme: &Scheme, size: Size, pose: &Pose, at: (f64, f64)) -> Option<u32> {
        let mut best: Option<(f64, u32)> = None;
        for p in &pose.panels {
            let [tl, tr, _, bl] = p.corners;
            let (e1, e2, n) = (tr - tl, bl - tl, p.normal());
            if n.z.abs() < 1e-6 {
                continue;
            }
            let z = tl.z - (n.x * (at.0 - tl.x) + n.y * (at.1 - tl.y)) / n.z;
            let v = Vec3::new(at.0, at.1, z) - tl;
            let (s, t) = (v.dot(e1) / e1.dot(e1), v.dot(e2) / e2.dot(e2));
            if !(0.0..=1.0).contains(&s) || !(0.0..=1.0).contains(&t) {
                continue;
            }
            let side = if n.z > 0.0 { p.front } else { p.back };
            let (face, c) = side?;
            let point = Point::new(
                c[0].x + s * (c[1].x - c[0].x) + t * (c[3].x - c[0].x),
                c[0].y + s * (c[1].y - c[0].y) + t * (c[3].y - c[0].y),
            );
            let page = scheme.places(size, face).into_iter().find(|p| p.rect.contains(point)).map(|p| p.page);
            if let Some(page) = page.filter(|_| best.is_none_or(|(d, _)| z > d)) {
                best = Some((z, page));
            }
        }
        best.map(|(_, page)| page)
    }

    #[test]
    fn every_shipped_scheme_folds_with_page_one_on_top() {
        for scheme in shipped().unwrap() {
            let size = sheet(&scheme);
            let pose = scheme.pose(size, 1.0, 0.0);
            assert_eq!(seen(&scheme, size, &pose, (1.0, 1.0)), Some(1), "{}", scheme.id);
        }
    }

    #[test]
    fn opening_once_shows_page_two_on_the_left() {
        let opens = |s: &Scheme| s.order.is_none_or(|o| o == PageOrder::Opening);
        for scheme in shipped().unwrap().into_iter().filter(opens) {
            let size = sheet(&scheme);
            let pose = scheme.pose(size, 1.0, 1.0);
            let x = pose.panels.iter().flat_map(|p| p.corners).map(|c| c.x).fold(0.0, f64::min) / 2.0;
            assert_eq!(seen(&scheme, size, &pose, (x, 1.0)), Some(2), "{}", scheme.id);
        }
    }

    /// Every hinge of a sheet that is folded through several layers stays closed on the way.
    #[test]
    fn layers_folded_together_do_not_tear() {
        for id in ["quarter8", "octavo16", "map16", "french4"] {
            let scheme = crate::fold::find(id).unwrap();
            let size = sheet(&scheme);
            let cols = scheme.columns.len();
            for i in 0..40 {
                let pose = scheme.pose(size, f64::from(i) / 40.0, 0.0);
                for (p, panel) in pose.panels.iter().enumerate().filter(|(p, _)| (p + 1) % cols != 0) {
                    let next = &pose.panels[p + 1];
                    let gap = (panel.corners[1] - next.corners[0]).length();
                    assert!(gap < 2.0, "{id} at {i}: panels {p} and {} are {gap} mm apart", p + 1);
                }
            }
        }
    }

    #[test]
    fn the_slit_sheet_reads_as_spreads_and_ends_on_page_eight() {
        let scheme = crate::fold::find("slit8").unwrap();
        let size = sheet(&scheme);
        for (turned, left, right) in [(1.0, 2, 3), (2.0, 4, 5), (3.0, 6, 7)] {
            let pose = scheme.pose(size, 1.0, turned);
            let reach = size.width.get() / 8.0;
            assert_eq!(seen(&scheme, size, &pose, (-reach, 1.0)), Some(left));
            assert_eq!(seen(&scheme, size, &pose, (reach, 1.0)), Some(right));
        }
        assert_eq!(seen(&scheme, size, &scheme.pose(size, 1.0, 4.0), (0.0, 1.0)), Some(8));
    }

    #[test]
    fn panels_stay_rigid_all_the_way() {
        for scheme in shipped().unwrap() {
            let size = sheet(&scheme);
            let (xs, ys) = (scheme.column_lines(size, Face::Front), scheme.row_lines(size));
            for i in 0..=40 {
                for panel in &scheme.pose(size, f64::from(i) / 40.0, 0.0).panels {
                    let [tl, tr, br, bl] = panel.corners;
                    let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
                    assert!(near((tr - tl).length(), (br - bl).length()), "{}", scheme.id);
                    let wide = xs.windows(2).any(|w| near((tr - tl).length(), w[1] - w[0]));
                    assert!(wide && near((bl - tl).length(), ys[1]), "{}", scheme.id);
                    assert!(near((tr - tl).dot(bl - tl), 0.0), "{}", scheme.id);
                }
            }
        }
    }
}
