//! The pages, composed on two strips: a sheet folds into one strip of pages 2 to 5 and one of 6, 7, 8 and 1,
//! so a walk drawn along a strip stays whole across every fold. This module draws the first strip.

use crate::crayon::dotted;
use crate::field::Field;
use crate::finds::{crab, scallop, spiral};
use crate::lettering::{Case, Setting};
use crate::noise::{Rng, fbm, smoothstep};
use crate::scenery::{Swell, far_gull, foam, grit, gull, headland, sun, tracks, waves, writing};
use crate::shape::{Bounds, V, blob, distance, smooth, v};
use crate::wash::{Wash, pool};
use crate::weed::{Frond, bladderwrack, kelp};

/// Width of a page, mm: a quarter of a lying letter sheet.
pub const PAGE_W: f32 = 279.4 / 4.0;
/// Height of a page, mm: half of that sheet.
pub const PAGE_H: f32 = 215.9 / 2.0;

/// Four pages side by side, upright, on the three sheets of drawing paper.
#[derive(Debug)]
pub struct Strip {
    /// Pigment of the wash.
    pub wash: Field,
    /// Pressure of the crayon.
    pub weed: Field,
    /// Coverage of cut type and line.
    pub ink: Field,
}

impl Strip {
    /// Four blank pages.
    pub fn new(px_per_mm: f32) -> Self {
        let px = |mm: f32| (mm * px_per_mm).round() as usize;
        let blank = Field::new(px(4.0 * PAGE_W), px(PAGE_H), px_per_mm);
        Self { wash: blank.clone(), weed: blank.clone(), ink: blank }
    }

    /// A page's sentence, and its number at the foot; `column` counts pages from the strip's left.
    pub fn say(&mut self, case: &Case, column: u32, number: u32, y: f32, text: &str) {
        let left = column as f32 * PAGE_W;
        let mut rng = Rng::new(u64::from(number) + 900);
        let how = Setting { at: v(left + 9.5, y), points: 11.5, measure: 51.5, centred: false };
        case.set(&mut self.ink, text, how, &mut rng);
        let outer = if number.is_multiple_of(2) { left + 11.0 } else { left + PAGE_W - 11.0 };
        let how = Setting { at: v(outer, PAGE_H - 7.0), points: 9.0, measure: 20.0, centred: true };
        case.set(&mut self.ink, &number.to_string(), how, &mut rng);
    }
}

/// A loose painted panel: where a wash may go.
pub fn panel(x0: f32, y0: f32, x1: f32, y1: f32) -> Bounds {
    Bounds { x0, y0, x1, y1 }
}

/// Points from pairs of mm.
pub fn points(pairs: &[(f32, f32)]) -> Vec<V> {
    pairs.iter().map(|(x, y)| v(*x, *y)).collect()
}

/// The dotted line of the walk, from page to page.
pub fn path_dots(s: &mut Strip, walk: &[(f32, f32)], seed: u32) {
    dotted(&mut s.ink, &smooth(&points(walk), false, 12), 2.1, 0.36, seed);
}

/// Pages 2 to 5.
pub fn first_strip(case: &Case, px_per_mm: f32) -> Strip {
    let mut s = Strip::new(px_per_mm);
    shore(&mut s);
    s.say(case, 0, 2, 87.0, "High water leaves\na line of writing.");
    s.say(case, 1, 3, 87.0, "The gulls have\nread ahead.");
    weed_and_pool(&mut s);
    s.say(case, 2, 4, 87.0, "Bladderwrack packs its own breath for the climb.");
    s.say(case, 3, 5, 87.0, "In the pool a crab considers me, sideways.");
    s
}

/// Pages 2 and 3: sky, sea and the line that high water writes.
fn shore(s: &mut Strip) {
    let mut rng = Rng::new(23);
    let all = panel(6.5, 6.5, 133.5, 66.0);
    let horizon = |x: f32| 35.0 + 0.25 * libm::sinf(x / 17.0);
    let shoreline = |x: f32| 56.0 + 2.2 * libm::sinf(x / 15.0 + 0.6) + 1.1 * libm::sinf(x / 5.7);
    let sky = Wash { wobble: 1.6, edge: 0.18, bloom: 1.3, flow: 0.9, seed: 2, ..Wash::default() };
    let sky_shape = |p: V| all.distance(p, 5.0).max(p.y - horizon(p.x));
    pool(&mut s.wash, all, sky, sky_shape, |p| {
        let cloud = smoothstep(0.46, 0.62, fbm(p.x / 24.0, p.y / 8.0, 71, 4));
        (0.12 + 0.24 * smoothstep(32.0, 6.0, p.y)) * (1.0 - 0.85 * cloud) + 0.03
    });
    let sea = Wash { wobble: 0.5, edge: 0.34, edge_mm: 0.7, bloom: 0.9, seed: 4, ..Wash::default() };
    let water = panel(all.x0, 33.0, all.x1, 64.0);
    let sea_shape = |p: V| all.distance(p, 5.0).max(horizon(p.x) - p.y).max(p.y - shoreline(p.x));
    pool(&mut s.wash, water, sea, sea_shape, |p| 0.28 + 0.40 * smoothstep(53.0, 35.0, p.y));
    waves(
        s,
        panel(9.0, 37.5, 131.5, 54.0),
        |x| shoreline(x) - 4.0,
        Swell { tone: 0.45, pen: 0.05 },
        &mut rng,
    );
    foam(s, 4.0, 137.0, |x| shoreline(x) - 2.4, 1.1, 6);
    let reach = |x: f32| 67.5 + 1.8 * libm::sinf(x / 21.0 + 2.0) + 0.8 * libm::sinf(x / 6.3);
    let wet = Wash { wobble: 0.8, edge: 0.22, edge_mm: 0.5, flow: 0.8, bloom: 0.7, seed: 8 };
    let sand = panel(6.5, 52.0, 133.5, 74.0);
    let sand_shape = |p: V| sand.distance(p, 3.0).max(shoreline(p.x) + 0.9 - p.y).max(p.y - reach(p.x));
    pool(&mut s.wash, sand, wet, sand_shape, |_| 0.16);
    sun(s, v(25.0, 20.5), 9.5, None);
    headland(&mut s.ink, v(129.5, 35.6), 34.0, 11.0, 91);
    for (x, y, span, tilt) in [(49.0, 16.0, 7.4, -6.0), (58.5, 21.5, 4.8, 5.0), (79.0, 13.5, 5.8, -2.0)] {
        far_gull(&mut s.ink, v(x, y), span, tilt);
    }
    let line = |x: f32| 75.0 + 1.2 * libm::sinf(x / 13.0);
    writing(s, 10.5, 97.0, line, &mut rng);
    let steps: Vec<V> =
        (0..9).map(|i| v(133.0 - 2.5 * i as f32, 78.2 + 0.5 * libm::sinf(i as f32))).collect();
    tracks(&mut s.ink, &steps, 1.6);
    gull(s, v(110.0, 61.5), 30.0, true);
    grit(s, panel(9.0, 76.0, 131.0, 83.0), 150, &mut rng);
    path_dots(s, &[(17.0, 98.0), (34.0, 96.5), (52.0, 98.5), (76.0, 96.5), (100.0, 98.5), (121.0, 97.0)], 12);
}

/// Pages 4 and 5: weed on a wet rock, and the pool beside it.
fn weed_and_pool(s: &mut Strip) {
    let mut rng = Rng::new(48);
    let rock = blob(v(174.5, 43.5), 29.5, 36.0, 0.24, 33);
    let wet = Wash { wobble: 2.2, edge: 0.26, edge_mm: 0.8, flow: 1.0, bloom: 1.6, seed: 14 };
    let tone = |p: V| 0.15 + 0.22 * smoothstep(20.0, 80.0, p.y);
    pool(&mut s.wash, panel(144.5, 6.0, 206.0, 82.0), wet, |p| distance(&rock, p), tone);
    let main = Frond { at: v(175.0, 79.0), heading: -91.0, length: 20.0, width: 5.6, forks: 3, spread: 29.0 };
    bladderwrack(s, main, &mut rng);
    let middle = v(239.5, 43.0);
    let basin = blob(middle, 30.0, 34.0, 0.22, 61);
    let water = Wash { wobble: 1.4, edge: 0.46, edge_mm: 1.1, flow: 1.0, bloom: 1.4, seed: 16 };
    pool(
        &mut s.wash,
        panel(203.0, 5.0, 273.5, 82.0),
        water,
        |p| distance(&basin, p),
        |p| 0.24 + 0.30 * smoothstep(2.0, -16.0, distance(&basin, p)),
    );
    // Weed hangs into the pool from its rim; one blade reaches over the gutter.
    let blades: [(&[(f32, f32)], f32); 4] = [
        (&[(207.5, 15.0), (214.5, 17.0), (222.0, 14.5), (231.0, 17.0)], 6.4),
        (&[(204.0, 8.5), (211.0, 9.5), (218.0, 8.0)], 4.4),
        (&[(271.0, 73.0), (264.0, 69.0), (257.0, 72.0), (248.0, 69.0)], 6.0),
        (&[(273.0, 62.0), (268.0, 61.5), (262.0, 64.0)], 4.4),
    ];
    for (i, (blade, width)) in blades.into_iter().enumerate() {
        kelp(s, &points(blade), width, 23 + i as u32);
    }
    crab(s, v(240.0, 43.0), 21.0, -13.0);
    scallop(s, v(212.0, 81.5), 9.0, -66.0, 19);
    spiral(s, v(155.0, 76.0), 4.2, 10.0, 20);
    grit(s, panel(147.0, 76.0, 271.0, 83.5), 130, &mut rng);
    let walk = [
        (157.0, 98.0),
        (171.0, 96.8),
        (188.0, 98.5),
        (206.0, 97.5),
        (226.0, 98.8),
        (246.0, 97.5),
        (261.0, 98.5),
    ];
    path_dots(s, &walk, 22);
}
