//! The inverse over a lattice of a picture's colours in Lab, read off between nodes by tetrahedra.
//!
//! Nodes are solved each by itself first, then drawn towards the middle of their neighbours on either side, axis by axis,
//! with a small weight: where two answers are equally good, neighbours give the same one, and plates have no edge where
//! the picture has none. Only nodes that the picture's colours lie between are solved.

use rayon::prelude::*;

use super::MOST_INKS;
use super::forward::Covers;
use super::intent::{Intent, Target};
use super::inverse::Inverse;
use super::solve::{Bounds, Pull, nearest};
use crate::colour::{Lab, Xyz, lab_and_slope};

/// Nodes along L*, and the step between them.
const ALONG_L: usize = 33;
const STEP_L: f64 = 100.0 / 32.0;
/// Nodes along a* and b*, the step between them, and the first.
const ALONG_AB: usize = 41;
const STEP_AB: f64 = 6.25;
const FIRST_AB: f64 = -125.0;
const NODES: usize = ALONG_L * ALONG_AB * ALONG_AB;

/// How strongly a node is drawn towards its neighbours, CIEDE2000 squared for a whole coverage. On a smooth sweep in four
/// inks plates without it print up to 3.0 CIEDE2000 farther than the exact answer and are 7.1 times as rough as the
/// picture, with it 1.1 and 4.4; three times as much takes 0.1 more on the mean and leaves them 4.2 times as rough.
const TOGETHER: f64 = 100.0;
/// How often nodes are brought together with their neighbours.
const SWEEPS: usize = 5;
/// No node.
const NONE: u32 = u32::MAX;

/// What is known at a colour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Node {
    /// What is asked of each ink.
    pub asked: [f32; MOST_INKS],
    /// How far the print is from what it aims at, CIEDE2000.
    pub miss: f32,
    /// How far it is from the colour itself with white as paper, CIEDE2000.
    pub off: f32,
    /// How much lighter the print gets by more of the detail's ink, L* for a whole coverage.
    pub by_detail: f32,
}

impl Node {
    const NONE: Self = Self { asked: [0.0; MOST_INKS], miss: 0.0, off: 0.0, by_detail: 0.0 };

    fn add(&mut self, other: &Self, weight: f32) {
        for (a, b) in self.asked.iter_mut().zip(&other.asked) {
            *a += b * weight;
        }
        self.miss += other.miss * weight;
        self.off += other.off * weight;
        self.by_detail += other.by_detail * weight;
    }
}

/// The coverages for the colours of a picture.
#[derive(Debug, Clone)]
pub struct Lattice {
    nodes: Vec<Node>,
    /// Which of them each place of the lattice is.
    at: Vec<u32>,
}

/// Which places of the lattice a picture's colours lie between.
#[derive(Debug, Clone)]
pub(super) struct Used(Vec<bool>);

impl Default for Used {
    fn default() -> Self {
        Self(vec![false; NODES])
    }
}

impl Used {
    /// A colour of the picture, as L*, a* and b*.
    pub(super) fn add(&mut self, lab: [f32; 3]) {
        let (corner, _) = cell(lab);
        for place in corners(corner) {
            if let Some(used) = self.0.get_mut(place) {
                *used = true;
            }
        }
    }

    pub(super) fn and(mut self, other: &Self) -> Self {
        self.0.iter_mut().zip(&other.0).for_each(|(a, b)| *a |= b);
        self
    }
}

/// The corner of the cell that a colour lies in, and how far into the cell, 0..=1.
fn cell([l, a, b]: [f32; 3]) -> ([usize; 3], [f32; 3]) {
    let along = |v: f32, first: f32, step: f32, count: usize| {
        let x = ((v - first) / step).clamp(0.0, (count - 1) as f32);
        let i = (x as usize).min(count - 2);
        (i, x - i as f32)
    };
    let (l, fl) = along(l, 0.0, STEP_L as f32, ALONG_L);
    let (a, fa) = along(a, FIRST_AB as f32, STEP_AB as f32, ALONG_AB);
    let (b, fb) = along(b, FIRST_AB as f32, STEP_AB as f32, ALONG_AB);
    ([l, a, b], [fl, fa, fb])
}

fn place([l, a, b]: [usize; 3]) -> usize {
    (l * ALONG_AB + a) * ALONG_AB + b
}

fn corners([l, a, b]: [usize; 3]) -> [usize; 8] {
    std::array::from_fn(|i| place([l + (i & 1), a + (i >> 1 & 1), b + (i >> 2)]))
}

/// Where a place of the lattice lies, as L*, a* and b*.
fn colour(place: usize) -> [f64; 3] {
    let (l, a, b) = (place / (ALONG_AB * ALONG_AB), place / ALONG_AB % ALONG_AB, place % ALONG_AB);
    [l as f64 * STEP_L, FIRST_AB + a as f64 * STEP_AB, FIRST_AB + b as f64 * STEP_AB]
}

/// The places before and after one along each axis.
fn neighbours(place: usize) -> [Option<(usize, usize)>; 3] {
    let axis = |stride: usize, at: usize, count: usize| {
        (at > 0 && at + 1 < count).then(|| (place - stride, place + stride))
    };
    [
        axis(ALONG_AB * ALONG_AB, place / (ALONG_AB * ALONG_AB), ALONG_L),
        axis(ALONG_AB, place / ALONG_AB % ALONG_AB, ALONG_AB),
        axis(1, place % ALONG_AB, ALONG_AB),
    ]
}

impl Lattice {
    /// The nodes that are used, for inks on a stock; `detail` is the ink that a picture's detail goes into.
    pub(super) fn of(inverse: &Inverse, intent: Intent, used: &Used, detail: usize) -> Self {
        let places: Vec<usize> = (0..NODES).filter(|i| used.0.get(*i) == Some(&true)).collect();
        let mut at = vec![NONE; NODES];
        for (i, place) in places.iter().enumerate() {
            if let Some(at) = at.get_mut(*place) {
                *at = i as u32;
            }
        }
        let source = |place: usize| {
            let [l, a, b] = colour(place);
            Lab::new(l, a, b).unwrap_or(Lab::WHITE)
        };
        let target = |place: usize| Target::of(source(place), intent, &inverse.paper, inverse.darkest());
        let free = Bounds::even(inverse.sum);
        let mut asked: Vec<Covers> =
            places.par_iter().map(|p| inverse.best_of_starts(&target(*p), &free).0).collect();
        for _ in 0..SWEEPS {
            let drawn = |(i, place): (usize, &usize)| {
                let start = asked.get(i).copied().unwrap_or([0.0; MOST_INKS]);
                let Some(pull) = pull(*place, &at, &asked) else { return start };
                nearest(&inverse.forward, &target(*place), &free, &start, Some(&pull)).0
            };
            asked = places.par_iter().enumerate().map(drawn).collect();
        }
        let node = |(asked, place): (&Covers, &usize)| {
            let light = inverse.forward.light(asked);
            let printed = Xyz::from_light(light).lab();
            let miss = inverse.difference(source(*place), intent, light);
            let off = inverse.difference(source(*place), Intent::RelativeColorimetric, light);
            let slopes = inverse.forward.printed(asked).slopes;
            let (_, by_light) = lab_and_slope(light);
            let by_detail: f64 =
                slopes.get(detail).map_or(0.0, |s| by_light[0].iter().zip(s).map(|(a, b)| a * b).sum());
            debug_assert!(printed.l().is_finite());
            Node {
                asked: asked.map(|a| a as f32),
                miss: miss as f32,
                off: off as f32,
                by_detail: by_detail as f32,
            }
        };
        let nodes = asked.par_iter().zip(&places).map(node).collect();
        Self { nodes, at }
    }

    /// What is known at a colour, read off the tetrahedron that it lies in.
    pub(super) fn read(&self, lab: [f32; 3]) -> Node {
        let (corner, within) = cell(lab);
        let first = place(corner);
        // From the corner along the axis that the colour is farthest along, and so on.
        let strides = [ALONG_AB * ALONG_AB, ALONG_AB, 1];
        let mut order = [0, 1, 2];
        if within[order[0]] < within[order[1]] {
            order.swap(0, 1);
        }
        if within[order[1]] < within[order[2]] {
            order.swap(1, 2);
        }
        if within[order[0]] < within[order[1]] {
            order.swap(0, 1);
        }
        let [x, y, z] = order.map(|axis| within[axis]);
        let mut out = Node::NONE;
        let mut place = first;
        for (weight, axis) in
            [1.0 - x, x - y, y - z, z].into_iter().zip([Some(order[0]), Some(order[1]), Some(order[2]), None])
        {
            if weight > 0.0 {
                out.add(self.node(place), weight);
            }
            if let Some(axis) = axis {
                place += strides[axis];
            }
        }
        out
    }

    fn node(&self, place: usize) -> &Node {
        let i = self.at.get(place).copied().unwrap_or(NONE);
        self.nodes.get(i as usize).unwrap_or(&Node::NONE)
    }

    /// How many colours were solved.
    pub fn len(&self) -> usize {
        self.nodes.len()
    }

    /// Whether no colour was.
    pub fn is_empty(&self) -> bool {
        self.nodes.is_empty()
    }
}

/// What the neighbours of a node agree on; none where it has none on both sides.
fn pull(place: usize, at: &[u32], asked: &[Covers]) -> Option<Pull> {
    let of = |place: usize| asked.get(at.get(place).copied().filter(|i| *i != NONE)? as usize);
    let (mut to, mut axes) = ([0.0; MOST_INKS], 0.0);
    for (before, after) in neighbours(place).into_iter().flatten() {
        if let (Some(before), Some(after)) = (of(before), of(after)) {
            to.iter_mut().zip(before.iter().zip(after)).for_each(|(t, (a, b))| *t += (a + b) / 2.0);
            axes += 1.0;
        }
    }
    (axes > 0.0).then(|| Pull { to: to.map(|t| t / axes), weight: TOGETHER * axes / 3.0 })
}
