//! A pose as pieces of paper: panels cut into flat strips where they bend, and the rims of their free edges.

use super::bend::{self, Bends, arc, bends, unit};
use crate::fold::{Binding, FoldedPanel, Pose, Scheme, Shown, Vec3};
use slipsheet_base::geometry::Point;
use slipsheet_base::units::Size;

/// The sheet at one moment, as pieces of paper in space.
#[derive(Debug, Clone)]
pub struct Folded {
    pub(super) strips: Vec<Strip>,
    pub(super) rims: Vec<Rim>,
    /// Distance from the origin within which it lies, in mm; steady while leaves turn.
    pub(super) radius: f64,
    /// The ground behind it: the smallest z.
    pub(super) ground: f64,
}

/// A flat rectangle of paper.
#[derive(Debug, Clone, Copy)]
pub(super) struct Strip {
    /// Top left, top right, bottom right, bottom left, looking at its first side.
    pub corners: [Vec3; 4],
    /// What each side shows, at the same corners.
    pub front: Shown,
    pub back: Shown,
    /// Directions of the first side at the left and the right edge, length 1.
    pub normals: [Vec3; 2],
    /// Darkness toward the spine at the left and the right edge.
    pub gutter: [f64; 2],
    /// How far its panel stands up from the ground, 0..=1.
    pub raised: f64,
    pub panel: usize,
    pub sheet: usize,
}

/// A pose with what its panels need to become pieces of paper.
pub(super) struct Moment {
    pub panels: Vec<FoldedPanel>,
    /// For each panel, its edges (top, right, bottom, left) that lie on another panel's.
    pub shared: Vec<[bool; 4]>,
    /// For each panel, the edge that it turns about, where it is one.
    pub hinges: Vec<Option<usize>>,
    pub bends: Bends,
    pub radius: f64,
    /// Thickness of a panel in mm.
    pub thickness: f64,
}

/// The cut edge of the paper.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rim {
    pub ends: [Vec3; 2],
    /// Direction of the paper's first side at each end.
    pub normals: [Vec3; 2],
    /// Half the thickness, mm.
    pub half: f64,
}

/// Where a bound leaf is cut into strips, from the hinge to the free edge: finer where it darkens.
const CUTS: [f64; 11] = [0.0, 0.025, 0.06, 0.11, 0.18, 0.28, 0.4, 0.54, 0.7, 0.85, 1.0];
/// Darkest shade in the gutter of an open spread.
const GUTTER: f64 = 0.28;
/// The shade falls to a third over this many mm.
const GUTTER_WIDTH: f64 = 4.5;
/// Corners nearer than this are one, mm: the two rows of a slit sheet lie a little apart.
const SAME: f64 = 0.6;

impl Folded {
    /// The sheet with `fold` of its folding done (0..=1), opened `open` times, of paper `thickness` mm thick.
    pub fn new(scheme: &Scheme, sheet: Size, fold: f64, open: f64, thickness: f64) -> Self {
        let fold = if fold.is_nan() { 0.0 } else { fold.clamp(0.0, 1.0) };
        let open = if open.is_nan() { 0.0 } else { open.clamp(0.0, scheme.openings() as f64) };
        let pose = scheme.pose(sheet, fold, open);
        let (shift, radius) = frame(scheme, sheet, &pose, fold, open);
        let pose = Pose { panels: pose.panels.iter().map(|p| moved(p, shift)).collect() };
        let bends = bends(scheme, sheet, &pose, fold, open);
        // A leaf of a slit sheet is a fold of two thicknesses.
        let sheets = if scheme.binding == Binding::Ring && fold > 0.7 { 2.0 } else { 1.0 };
        let shared = hinges(&pose);
        let only = |edges: &[bool; 4]| {
            edges.iter().position(|s| *s).filter(|_| edges.iter().filter(|s| **s).count() == 1)
        };
        let hinges = shared.iter().map(only).collect();
        let thickness = thickness * sheets;
        Self::of(&Moment { panels: pose.panels, shared, hinges, bends, radius, thickness })
    }

    /// The pieces of paper of a moment.
    pub(super) fn of(moment: &Moment) -> Self {
        let Moment { panels, shared, hinges, bends: Bends { arcs, openness }, radius, thickness } = moment;
        let (openness, radius, thickness) = (*openness, *radius, *thickness);
        let ground = panels.iter().flat_map(|p| p.corners).map(|c| c.z).fold(f64::INFINITY, f64::min);
        let mut folded =
            Self { strips: Vec::new(), rims: Vec::new(), radius, ground: ground.min(0.0) - thickness };
        for (i, ((panel, shared), hinge)) in panels.iter().zip(shared).zip(hinges).enumerate() {
            let hinge = *hinge;
            let bound = openness > 0.0 || arcs.get(i).is_some_and(|k| k.abs() > 1e-4);
            let leaf = Leaf {
                panel: turned_to(panel, hinge.unwrap_or(3)),
                shared: std::array::from_fn(|e| shared[(e + hinge.map_or(0, |h| h + 1)) % 4]),
                bend: if hinge.is_some() { arcs.get(i).copied().unwrap_or(0.0) } else { 0.0 },
                openness: if hinge.is_some() && bound { openness } else { 0.0 },
                index: i,
            };
            leaf.cut(&mut folded, thickness / 2.0);
        }
        folded
    }
}

/// One panel whose left edge is its hinge.
struct Leaf {
    panel: FoldedPanel,
    /// Whether the edges top, right, bottom, left lie on another panel's.
    shared: [bool; 4],
    bend: f64,
    openness: f64,
    index: usize,
}

impl Leaf {
    fn cut(&self, into: &mut Folded, half: f64) {
        let [tl, tr, _, bl] = self.panel.corners;
        let (across, down) = (tr - tl, bl - tl);
        let width = across.length();
        let normal = unit(self.panel.normal());
        let along = unit(across);
        let flat = self.bend.abs() < 1e-4 && self.openness <= 0.0;
        let cuts: &[f64] = if flat { &[0.0, 1.0] } else { &CUTS };
        let place = |s: f64| {
            let (x, y, angle) = arc(self.bend, s);
            let (sin, cos) = libm::sincos(angle);
            (tl + along * (x * width) + normal * (y * width), normal * cos - along * sin)
        };
        let middle = self.panel.corners.iter().fold(0.0, |z, c| z + c.z) / 4.0;
        let raised = bend::smooth((middle - into.ground) / into.radius * 3.0 - 0.35);
        for pair in cuts.windows(2) {
            let &[s0, s1] = pair else { continue };
            let ((p0, n0), (p1, n1)) = (place(s0), place(s1));
            let part = |shown: Shown| shown.map(|(face, c)| (face, part_of(c, s0, s1)));
            let shade =
                |s: f64| GUTTER * self.openness * libm::exp(-s * width / GUTTER_WIDTH) * (1.0 - raised * 0.6);
            into.strips.push(Strip {
                corners: [p0, p1, p1 + down, p0 + down],
                front: part(self.panel.front),
                back: part(self.panel.back),
                normals: [n0, n1],
                gutter: [shade(s0), shade(s1)],
                raised,
                panel: self.index,
                sheet: self.panel.sheet,
            });
            let mut rim = |ends: [Vec3; 2], normals: [Vec3; 2]| into.rims.push(Rim { ends, normals, half });
            if !self.shared[0] {
                rim([p0, p1], [n0, n1]);
            }
            if !self.shared[2] {
                rim([p0 + down, p1 + down], [n0, n1]);
            }
            if !self.shared[1] && s1 >= 1.0 {
                rim([p1, p1 + down], [n1, n1]);
            }
            if !self.shared[3] && s0 <= 0.0 {
                rim([p0, p0 + down], [n0, n0]);
            }
        }
    }
}

/// The part of a side between two shares of the way from the left edge.
fn part_of(c: [Point; 4], s0: f64, s1: f64) -> [Point; 4] {
    let between = |a: Point, b: Point, s: f64| Point::new(a.x + (b.x - a.x) * s, a.y + (b.y - a.y) * s);
    let [tl, tr, br, bl] = c;
    [between(tl, tr, s0), between(tl, tr, s1), between(bl, br, s1), between(bl, br, s0)]
}

/// The same panel named from another edge, so that edge `left` (0 top, 1 right, 2 bottom, 3 left) becomes
/// its left one.
fn turned_to(panel: &FoldedPanel, left: usize) -> FoldedPanel {
    let turn = |c: [Point; 4]| std::array::from_fn(|i| c[(i + left + 1) % 4]);
    FoldedPanel {
        corners: std::array::from_fn(|i| panel.corners[(i + left + 1) % 4]),
        front: panel.front.map(|(f, c)| (f, turn(c))),
        back: panel.back.map(|(f, c)| (f, turn(c))),
        sheet: panel.sheet,
    }
}

fn moved(panel: &FoldedPanel, by: Vec3) -> FoldedPanel {
    FoldedPanel { corners: panel.corners.map(|c| c + by), ..*panel }
}

/// How the pose is to be moved, and its radius. A pose is centred on its own middle, which wanders while a
/// leaf stands up; a booklet is held by its spine instead and glides from one resting place to the next.
fn frame(scheme: &Scheme, sheet: Size, pose: &Pose, fold: f64, open: f64) -> (Vec3, f64) {
    if scheme.binding == Binding::Leaflet || fold < 1.0 {
        return (Vec3::default(), pose.radius());
    }
    let spine = |p: &Pose| p.panels.first().map_or(Vec3::default(), |p| p.corners[0]);
    let (from, to) = (scheme.pose(sheet, 1.0, open.floor()), scheme.pose(sheet, 1.0, open.ceil()));
    let t = bend::smooth(open - open.floor());
    let held = spine(&from) + (spine(&to) - spine(&from)) * t;
    (held - spine(pose), from.radius() + (to.radius() - from.radius()) * t)
}

/// For each panel, which of its edges (top, right, bottom, left) lie on an edge of another panel.
fn hinges(pose: &Pose) -> Vec<[bool; 4]> {
    let mut edges: Vec<(f64, usize, usize, [Vec3; 2])> = Vec::new();
    for (i, panel) in pose.panels.iter().enumerate() {
        for e in 0..4 {
            let ends = [panel.corners[e], panel.corners[(e + 1) % 4]];
            edges.push((ends[0].x + ends[1].x, i, e, ends));
        }
    }
    // Sorted along x, an edge only meets those next to it.
    edges.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut shared = vec![[false; 4]; pose.panels.len()];
    let near = |a: Vec3, b: Vec3| (a - b).length() < SAME;
    for (k, (x, i, e, [a, b])) in edges.iter().enumerate() {
        for (_, j, f, [c, d]) in edges.iter().skip(k + 1).take_while(|o| o.0 - x < 2.0 * SAME) {
            if i != j && ((near(*a, *c) && near(*b, *d)) || (near(*a, *d) && near(*b, *c))) {
                shared[*i][*e] = true;
                shared[*j][*f] = true;
            }
        }
    }
    shared
}
