//! The pages, composed on two strips: a sheet folds into one strip of pages 2 to 5 and one of 6, 7, 8 and 1,
//! so a walk drawn along a strip stays whole across every fold. This module draws the first strip.

use crate::crayon::{dotted, stroke};
use crate::field::Field;
use crate::finds::{Frond, bladderwrack, crab, scallop, scrap, spiral};
use crate::lettering::{Case, Setting};
use crate::noise::{Rng, fbm, smoothstep};
use crate::scenery::{far_gull, foam, grit, gull, sun, tracks, waves, writing};
use crate::shape::{Bounds, V, blob, distance, smooth, v};
use crate::wash::{Wash, dry_brush, pool};

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

/// The dotted line of the walk, from page to page.
pub fn path_dots(s: &mut Strip, points: &[V], seed: u32) {
    dotted(&mut s.ink, &smooth(points, false, 12), 2.1, 0.36, seed);
}

/// Pages 2 to 5.
pub fn first_strip(case: &Case, px_per_mm: f32) -> Strip {
    let mut s = Strip::new(px_per_mm);
    shore(&mut s);
    s.say(case, 0, 2, 85.0, "High water leaves a line of writing.");
    s.say(case, 1, 3, 85.0, "The gulls have read ahead.");
    weed_and_pool(&mut s);
    s.say(case, 2, 4, 88.0, "Bladderwrack packs its own breath for the climb to the light.");
    s.say(case, 3, 5, 88.0, "In the pool a crab considers me, sideways.");
    s
}

/// Pages 2 and 3: sky, sea and the line that high water writes.
fn shore(s: &mut Strip) {
    let mut rng = Rng::new(23);
    let all = panel(6.0, 5.5, 134.5, 66.0);
    let horizon = |x: f32| 35.0 + 0.25 * libm::sinf(x / 17.0);
    let shoreline = |x: f32| 56.0 + 2.2 * libm::sinf(x / 15.0 + 0.6) + 1.1 * libm::sinf(x / 5.7);
    let sky = Wash { wobble: 1.6, edge: 0.16, bloom: 1.3, flow: 0.9, seed: 2, ..Wash::default() };
    pool(
        &mut s.wash,
        all,
        sky,
        |p| all.distance(p, 5.0).max(p.y - horizon(p.x)),
        |p| {
            let cloud = smoothstep(0.46, 0.62, fbm(p.x / 24.0, p.y / 8.0, 71, 4));
            (0.10 + 0.20 * smoothstep(30.0, 6.0, p.y)) * (1.0 - 0.85 * cloud) + 0.03
        },
    );
    let sea = Wash { wobble: 0.5, edge: 0.34, edge_mm: 0.7, bloom: 0.7, seed: 4, ..Wash::default() };
    let water = panel(all.x0, 33.0, all.x1, 64.0);
    pool(
        &mut s.wash,
        water,
        sea,
        |p| all.distance(p, 5.0).max(horizon(p.x) - p.y).max(p.y - shoreline(p.x)),
        |p| 0.26 + 0.34 * smoothstep(52.0, 35.0, p.y),
    );
    waves(s, panel(9.0, 37.5, 132.0, 53.0), 0.42, &mut rng);
    foam(s, 8.0, 133.0, |x| shoreline(x) - 2.4, 1.1, 6);
    let reach = |x: f32| 67.5 + 1.8 * libm::sinf(x / 21.0 + 2.0) + 0.8 * libm::sinf(x / 6.3);
    let wet = Wash { wobble: 0.8, edge: 0.20, edge_mm: 0.5, flow: 0.6, bloom: 0.5, seed: 8 };
    let sand = panel(6.0, 52.0, 134.5, 74.0);
    pool(
        &mut s.wash,
        sand,
        wet,
        |p| sand.distance(p, 3.0).max(shoreline(p.x) + 0.9 - p.y).max(p.y - reach(p.x)),
        |_| 0.13,
    );
    sun(s, v(25.0, 20.5), 9.5, None);
    far_gull(&mut s.ink, v(49.0, 16.0), 7.0, -6.0);
    far_gull(&mut s.ink, v(58.5, 21.0), 4.6, 5.0);
    far_gull(&mut s.ink, v(66.5, 13.5), 5.4, -2.0);
    let line = |x: f32| 74.0 + 1.3 * libm::sinf(x / 13.0) + 0.02 * (x - 60.0);
    writing(s, 10.5, 82.0, line, &mut rng);
    grit(s, panel(9.0, 72.0, 131.0, 80.0), 70, &mut rng);
    let steps: Vec<V> = (0..9).map(|i| v(84.0 + 2.6 * i as f32, 76.5 - 0.5 * libm::sinf(i as f32))).collect();
    tracks(&mut s.ink, &steps, 1.5);
    gull(s, v(115.0, 60.0), 31.0, true);
    let walk = [
        v(12.0, 97.5),
        v(30.0, 95.5),
        v(52.0, 98.5),
        v(76.0, 95.0),
        v(100.0, 98.0),
        v(122.0, 96.0),
        v(138.0, 98.0),
    ];
    path_dots(s, &walk, 12);
}

/// Pages 4 and 5: weed on a wet rock, and the pool beside it.
fn weed_and_pool(s: &mut Strip) {
    let mut rng = Rng::new(48);
    let rock = blob(v(175.0, 43.0), 30.0, 36.0, 0.24, 33);
    let wet = Wash { wobble: 2.2, edge: 0.22, edge_mm: 0.7, flow: 0.9, bloom: 1.5, seed: 14 };
    pool(
        &mut s.wash,
        panel(144.5, 5.0, 207.0, 84.0),
        wet,
        |p| distance(&rock, p),
        |p| 0.14 + 0.16 * smoothstep(20.0, 80.0, p.y),
    );
    let main = Frond { at: v(172.0, 78.5), heading: -90.0, length: 18.0, width: 4.4, forks: 4 };
    bladderwrack(s, main, &mut rng);
    // The pool reaches over the gutter: its rim must meet itself across the fold.
    let basin = blob(v(238.0, 43.0), 31.0, 33.0, 0.22, 61);
    let water = Wash { wobble: 1.4, edge: 0.42, edge_mm: 1.0, flow: 0.9, bloom: 1.4, seed: 16 };
    pool(
        &mut s.wash,
        panel(200.0, 4.5, 274.5, 84.0),
        water,
        |p| distance(&basin, p),
        |p| {
            let deep = smoothstep(2.0, -16.0, distance(&basin, p));
            0.24 + 0.30 * deep
        },
    );
    for (i, k) in [0.97_f32, 0.86].into_iter().enumerate() {
        let ring: Vec<V> = basin.iter().map(|p| v(238.0, 43.0) + (*p - v(238.0, 43.0)) * k).collect();
        let arc = ring.get(8 + i * 9..30 + i * 4).unwrap_or_default();
        dry_brush(&mut s.wash, arc, 2.2, 0.4, 18 + i as u32);
    }
    crab(s, v(239.0, 43.5), 20.0, -13.0);
    for (x, y, size) in [(216.0, 26.0, 5.0), (263.0, 61.0, 6.0), (219.0, 65.0, 5.0), (262.0, 22.0, 4.0)] {
        scrap(s, v(x, y), size, &mut rng);
    }
    scallop(s, v(208.0, 80.0), 5.5, -70.0, 19);
    spiral(s, v(267.0, 79.0), 3.2, 10.0, 20);
    grit(s, panel(146.0, 76.0, 272.0, 84.0), 46, &mut rng);
    for x in [152.0_f32, 158.0, 196.0] {
        stroke(
            &mut s.weed,
            &smooth(&[v(x, 82.0), v(x + 3.0, 81.4), v(x + 7.0, 82.2)], false, 5),
            0.9,
            0.6,
            5,
        );
    }
    let walk = [
        v(141.0, 98.0),
        v(160.0, 96.5),
        v(184.0, 99.5),
        v(206.0, 98.0),
        v(226.0, 100.0),
        v(246.0, 98.5),
        v(258.0, 100.0),
    ];
    path_dots(s, &walk, 22);
}
