//! How far the leaves of a booklet bend. An open booklet's pages rise from the spine and fall to their free
//! edges; a leaf on its way across is dragged behind. Each leaf is one arc whose chord stays where the rigid
//! leaf would be, so leaves that lie on one another bend alike and never cut through each other.

use crate::fold::{Binding, FoldedPanel, Pose, Scheme, Vec3};
use slipsheet_base::units::Size;

/// Half the angle of an open page's arc, radians.
const REST: f64 = 0.17;
/// The same for a leaf half way across.
const DRAG: f64 = 0.42;

/// What bending says of each panel of a pose.
pub(super) struct Bends {
    /// Half the arc's angle in radians, toward the panel's first side; one a panel.
    pub arcs: Vec<f64>,
    /// How far the booklet is open, 0..=1; 0 where nothing is bound.
    pub openness: f64,
}

/// The bends of a pose; nothing bends before the sheet is folded, nor in a leaflet, whose creases keep its
/// panels stiff.
pub(super) fn bends(scheme: &Scheme, sheet: Size, pose: &Pose, fold: f64, open: f64) -> Bends {
    if scheme.binding == Binding::Leaflet || fold < 1.0 {
        return Bends { arcs: vec![0.0; pose.panels.len()], openness: 0.0 };
    }
    of_leaves(&pose.panels, &scheme.pose(sheet, 1.0, 0.0).panels, scheme.openings() as f64, open)
}

/// The bends of bound leaves, from where they lie now and where they lay in the closed booklet.
pub(super) fn of_leaves(now: &[FoldedPanel], closed: &[FoldedPanel], openings: f64, open: f64) -> Bends {
    let openness = smooth(open.min(openings - open));
    let arc = |(now, then): (&FoldedPanel, &FoldedPanel)| {
        // How far the leaf has come across: the angle to where it lay in the closed booklet.
        let cos = unit(across(now)).dot(unit(across(then))).clamp(-1.0, 1.0);
        openness * REST * cos + DRAG * (1.0 - cos * cos)
    };
    Bends { arcs: now.iter().zip(closed).map(arc).collect(), openness }
}

fn across(panel: &FoldedPanel) -> Vec3 {
    panel.corners[1] - panel.corners[0]
}

pub(super) fn unit(v: Vec3) -> Vec3 {
    v * (1.0 / v.length().max(1e-9))
}

/// A smooth step from 0 to 1.
pub(super) fn smooth(t: f64) -> f64 {
    let t = t.clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// A place along an arc of half angle `k` that spans a chord from 0 to 1: how far along the chord, how far
/// out of it, and the direction there, radians.
pub(super) fn arc(k: f64, s: f64) -> (f64, f64, f64) {
    let angle = k * (1.0 - 2.0 * s);
    if k.abs() < 1e-4 {
        return (s, 0.0, angle);
    }
    let (sin_k, cos_k) = libm::sincos(k);
    let (sin, cos) = libm::sincos(angle);
    ((sin_k - sin) / (2.0 * k), (cos - cos_k) / (2.0 * k), angle)
}
