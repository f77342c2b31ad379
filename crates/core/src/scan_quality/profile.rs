//! Steps between light and dark along a line of pixels, and what a patch has of strokes and edges by them.

use super::edges::Edges;
use super::patches::Patch;
use super::strokes::{Chains, Strokes, Valley};
use crate::units::Dpi;

/// A step counts for a stroke from this share of the scan's tones on, and is strong from that one on.
const STROKE: f64 = 0.25;
const STRONG: f64 = 0.5;
/// The least height of a step, in grays.
const LEAST: f64 = 20.0;

/// A step from a light place to a dark one or back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Step {
    /// Where half of it is done, in pixels' middles.
    pub at: f32,
    /// From 10 to 90 % of it, in pixels.
    pub width: f32,
    /// Grays from its light to its dark end.
    pub height: f32,
    pub falls: bool,
}

/// A place where a line turns, within the height of a step.
#[derive(Clone, Copy)]
struct Turn {
    gray: u8,
    first: usize,
    last: usize,
}

impl Turn {
    fn at(x: usize, gray: u8) -> Self {
        Self { gray, first: x, last: x }
    }

    /// Takes a pixel that goes as far as it, or farther.
    fn reach(&mut self, x: usize, gray: u8) {
        if gray == self.gray {
            self.last = x;
        } else {
            *self = Self::at(x, gray);
        }
    }
}

/// The steps of a line that are at least so many grays high, in order. Up and down to less than that in between
/// does not part a step.
pub(super) fn steps(line: &[u8], least: u8, out: &mut Vec<Step>) {
    out.clear();
    let Some(&first) = line.first() else { return };
    let (mut high, mut low) = (Turn::at(0, first), Turn::at(0, first));
    // Whether the line goes down, as far as it is known.
    let mut falls: Option<bool> = None;
    let mut from: Option<Turn> = None;
    for (x, &gray) in line.iter().enumerate() {
        if falls != Some(true) && gray >= high.gray {
            high.reach(x, gray);
        }
        if falls != Some(false) && gray <= low.gray {
            low.reach(x, gray);
        }
        if falls != Some(true) && high.gray.saturating_sub(gray) >= least {
            out.extend(from.and_then(|from| Step::between(line, from, high)));
            (from, low, falls) = (Some(high), Turn::at(x, gray), Some(true));
        } else if falls != Some(false) && gray.saturating_sub(low.gray) >= least {
            out.extend(from.and_then(|from| Step::between(line, from, low)));
            (from, high, falls) = (Some(low), Turn::at(x, gray), Some(false));
        }
    }
    let last = if falls == Some(true) { low } else { high };
    out.extend(from.and_then(|from| Step::between(line, from, last)));
}

impl Step {
    fn between(line: &[u8], from: Turn, to: Turn) -> Option<Self> {
        let height = f32::from(to.gray) - f32::from(from.gray);
        let part = line.get(from.last..=to.first)?;
        let done = |i: usize| part.get(i).map_or(1.0, |g| (f32::from(*g) - f32::from(from.gray)) / height);
        // Where a share is reached between a pixel and the next.
        let place = |i: usize, share: f32| {
            let (a, b) = (done(i), done(i + 1));
            i as f32 + if b > a { (share - a) / (b - a) } else { 0.5 }
        };
        let half = (0..part.len()).position(|i| done(i) >= 0.5)?.checked_sub(1)?;
        let begin = (0..=half).rev().find(|i| done(*i) <= 0.1)?;
        let end = (half..part.len()).find(|i| done(i + 1) >= 0.9)?;
        Some(Self {
            at: from.last as f32 + place(half, 0.5),
            width: place(end, 0.9) - place(begin, 0.1),
            height: height.abs(),
            falls: height < 0.0,
        })
    }
}

/// The strokes and edges of a patch, across and down. `white` is the paper's gray and `dark` that of the darkest art.
pub(super) fn of_patch(patch: &Patch, white: u8, dark: u8, dpi: Dpi) -> (Strokes, Edges) {
    let span = f64::from(white.saturating_sub(dark));
    let (mut strokes, mut edges) = (Strokes::default(), Edges::default());
    if span < LEAST {
        return (strokes, edges);
    }
    let least = (STROKE * span).max(LEAST) as u8;
    let strong = (STRONG * span).max(LEAST) as f32;
    for patch in [patch, &patch.turned()] {
        along(patch, (least, strong), dpi, (&mut strokes, &mut edges));
    }
    (strokes, edges)
}

fn along(patch: &Patch, (least, strong): (u8, f32), dpi: Dpi, (strokes, edges): (&mut Strokes, &mut Edges)) {
    let mut chains = Chains::new(dpi);
    let (mut found, mut valleys) = (Vec::new(), Vec::new());
    let rows: Vec<&[u8]> = patch.rows().collect();
    for (y, row) in rows.iter().enumerate() {
        steps(row, least, &mut found);
        valleys.clear();
        valleys.extend(found.iter().zip(found.iter().skip(1)).filter_map(Valley::between));
        chains.row(&valleys, strokes);

        let around = y.checked_sub(1).and_then(|above| Some((rows.get(above)?, rows.get(y + 1)?)));
        let Some((above, below)) = around else { continue };
        for step in found.iter().filter(|s| s.height >= strong) {
            edges.add(step, [above, row, below]);
        }
    }
    chains.end(strokes);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_is_measured_between_its_ends_and_noise_does_not_part_it() {
        let mut found = Vec::new();
        // From 200 down to 0 in a straight line over 10 pixels: 10 to 90 % are 8 of them.
        let ramp: Vec<u8> = (0..30).map(|x: i32| (200 - 20 * (x - 10).clamp(0, 10)) as u8).collect();
        steps(&ramp, 50, &mut found);
        assert_eq!(found.len(), 1);
        assert!(found[0].falls && (found[0].at - 15.0).abs() < 1e-4 && (found[0].width - 8.0).abs() < 1e-4);

        let noisy: Vec<u8> = (0..60).map(|x| if x < 30 { 220 } else { 40 } + (x * 7 % 5) as u8).collect();
        steps(&noisy, 60, &mut found);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!((found[0].at - 29.5).abs() < 0.1 && found[0].width < 1.0, "{found:?}");
    }

    #[test]
    fn dark_and_light_alternate_and_low_waves_are_passed_over() {
        let mut found = Vec::new();
        let line = [250, 250, 20, 20, 20, 240, 240, 225, 240, 10, 250];
        steps(&line, 60, &mut found);
        assert_eq!(found.iter().map(|s| s.falls).collect::<Vec<_>>(), [true, false, true, false]);
        steps(&[90; 40], 20, &mut found);
        assert!(found.is_empty());
        steps(&[], 20, &mut found);
        assert!(found.is_empty());
    }
}
