//! What a gap between two inks would show, and how much it differs from what lies beside it.

use super::Shows;
use crate::slip::cover::Covers;

/// The least coverage that lies in a gap as an ink.
const LIES: f64 = 0.12;

/// What is seen in a gap at a place (point, normal out of the upper ink and trap, all in pixels), and
/// CIEDE2000 to the neighbour that it is more like.
pub(super) fn visible(
    covers: &Covers,
    lower: usize,
    upper: usize,
    ((x, y), (nx, ny), trap): ((f64, f64), (f64, f64), f64),
) -> (Shows, f64) {
    let (inwards, outwards) = (trap.max(0.0) + 2.5, (-trap).max(0.0) + 2.5);
    let of_upper = covers.all(x - nx * inwards, y - ny * inwards);
    let of_lower = covers.all(x + nx * outwards, y + ny * outwards);
    let mut gap = covers.all(x, y);
    for ink in [lower, upper] {
        if let Some(cover) = gap.get_mut(ink) {
            *cover = 0.0;
        }
    }
    let seen = covers.model.mix(&gap).lab();
    let to = |cover: &[f64]| seen.ciede2000(covers.model.mix(cover).lab());
    let most = gap.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).filter(|(_, a)| **a >= LIES);
    let shows =
        most.and_then(|(ink, _)| covers.inks.get(ink)).map_or(Shows::Paper, |ink| Shows::Ink(ink.layer));
    (shows, to(&of_upper).min(to(&of_lower)))
}
