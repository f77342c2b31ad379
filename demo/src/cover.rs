//! The second strip: pages 6 and 7, and the cover that pages 8 and 1 make when the booklet lies open face down.

use crate::crayon::{pen, rub, solid};
use crate::finds::{Stone, pebble, scallop, spiral};
use crate::lettering::{Case, Setting};
use crate::noise::{Rng, fbm, smoothstep};
use crate::pages::{PAGE_W, Strip, panel, path_dots, points};
use crate::scenery::{Swell, driftwood, far_gull, foam, footprints, grit, sun, waves};
use crate::shape::{V, shaky, smooth, v};
use crate::wash::{Wash, dry_brush, pool};
use crate::weed::{Frond, bladderwrack, kelp};

/// Pages 6, 7, 8 and 1.
pub fn second_strip(case: &Case, px_per_mm: f32) -> Strip {
    let mut s = Strip::new(px_per_mm);
    pebbles(&mut s);
    s.say(case, 0, 6, 87.0, "Six pebbles: five for the\npocket, one to put back.");
    dusk(&mut s);
    s.say(case, 1, 7, 87.0, "Behind me the tide\nrubs out the page.");
    cover(&mut s, case);
    colophon(&mut s, case);
    s
}

/// Page 6: six stones laid out to choose from.
fn pebbles(s: &mut Strip) {
    let rows = [
        (v(21.0, 20.5), 11.0, 8.8, Stone::Ringed),
        (v(48.5, 21.5), 10.0, 10.8, Stone::Speckled),
        (v(22.0, 43.5), 10.4, 8.6, Stone::Both),
        (v(48.0, 46.0), 11.2, 8.4, Stone::Banded),
        (v(21.0, 66.5), 9.6, 9.0, Stone::Veined),
        (v(47.5, 70.0), 7.6, 6.6, Stone::Crossed),
    ];
    for (i, (at, rx, ry, kind)) in rows.into_iter().enumerate() {
        let shade: Vec<V> = (0..=12)
            .map(|k| at + v((k as f32 / 6.0 - 1.0) * rx * 0.8, ry * 1.06 + 0.05 * rx * 0.3))
            .collect();
        dry_brush(&mut s.wash, &shade, 2.2, 0.4, 300 + i as u32);
        pebble(s, at, rx, ry, kind, 310 + i as u32);
    }
    // The one to put back is ringed, as on a list.
    let ring: Vec<V> = (0..=38)
        .map(|i| {
            v(47.5, 70.0) + {
                let d = V::direction(-100.0 + i as f32 * 10.6);
                v(d.x * (11.2 + i as f32 * 0.03), d.y * (9.6 + i as f32 * 0.03))
            }
        })
        .collect();
    pen(&mut s.ink, &shaky(&ring, 0.4, 33), 0.45, 34);
}

/// Page 7: the sun half down, and the sea coming for the footprints.
fn dusk(s: &mut Strip) {
    let mut rng = Rng::new(77);
    let all = panel(76.0, 6.5, 133.0, 90.0);
    let horizon = 30.0;
    let edge = |x: f32| 50.0 + 0.16 * (x - 76.0) + 2.0 * libm::sinf(x / 9.0) + 0.9 * libm::sinf(x / 3.9);
    let sky = Wash { wobble: 1.5, edge: 0.18, flow: 0.9, bloom: 1.2, seed: 32, ..Wash::default() };
    pool(
        &mut s.wash,
        all,
        sky,
        |p| all.distance(p, 5.0).max(p.y - horizon),
        |p| {
            let band = smoothstep(0.48, 0.6, fbm(p.x / 30.0, p.y / 5.0, 73, 3));
            (0.15 + 0.30 * smoothstep(29.0, 6.0, p.y)) * (1.0 - 0.6 * band)
        },
    );
    let sea = Wash { wobble: 0.5, edge: 0.36, edge_mm: 0.8, bloom: 0.9, seed: 34, ..Wash::default() };
    let sea_shape = |p: V| all.distance(p, 5.0).max(horizon - p.y).max(p.y - edge(p.x));
    pool(&mut s.wash, all, sea, sea_shape, |p| 0.32 + 0.36 * smoothstep(50.0, 30.0, p.y));
    waves(s, panel(78.0, 32.5, 131.5, 54.0), |x| edge(x) - 4.0, Swell { tone: 0.45, pen: 0.0 }, &mut rng);
    // The sun and its path on the water are left white in the wash and filled with wax: they have to fit.
    sun(s, v(104.5, horizon), 13.5, Some(horizon - 0.2));
    for i in 0..6 {
        let y = horizon + 2.2 + i as f32 * 2.5;
        let half = 10.5 - i as f32 * 1.2 + rng.jitter(1.2);
        let x = 104.5 + rng.jitter(1.6);
        let glint = smooth(&[v(x - half, y), v(x, y - 0.8), v(x + half, y + 0.1), v(x, y + 0.7)], true, 6);
        s.wash.knock_out(std::slice::from_ref(&glint));
        rub(&mut s.weed, &[glint], 0.0, 1.0, 35 + i);
    }
    foam(s, 74.0, 136.0, |x| edge(x) - 2.3, 1.0, 36);
    let reach = |x: f32| edge(x) + 8.5 + 1.4 * libm::sinf(x / 13.0);
    let wet = Wash { wobble: 0.8, edge: 0.24, flow: 0.8, bloom: 0.7, seed: 37, ..Wash::default() };
    let sand_shape = |p: V| all.distance(p, 4.0).max(edge(p.x) + 0.9 - p.y).max(p.y - reach(p.x));
    pool(&mut s.wash, all, wet, sand_shape, |_| 0.17);
    let steps: Vec<V> =
        (0..7).map(|i| i as f32).map(|i| v(86.0 + i * 6.6, 77.0 - i * 3.4 + 0.1 * i * i)).collect();
    footprints(s, &steps, 8.4, 0.8);
    grit(s, panel(78.0, 74.0, 131.0, 83.0), 80, &mut rng);
    for (x, y, span, tilt) in [(87.5, 15.5, 6.8, -8.0), (124.0, 12.5, 5.4, 6.0), (121.0, 20.0, 4.0, 0.0)] {
        far_gull(&mut s.ink, v(x, y), span, tilt);
    }
    path_dots(
        s,
        &[(17.0, 98.0), (34.0, 96.8), (52.0, 98.8), (70.0, 97.0), (92.0, 98.8), (108.0, 97.5), (121.0, 98.5)],
        38,
    );
}

/// Page 1 and its sky and sea, which run on over the spine.
fn cover(s: &mut Strip, case: &Case) {
    let mut rng = Rng::new(11);
    let left = 3.0 * PAGE_W;
    let all = panel(146.5, 6.5, 272.5, 68.0);
    let shoreline = |x: f32| {
        64.0 + 1.8 * libm::sinf(x / 12.0) + 0.9 * libm::sinf(x / 5.1) - 29.0 * smoothstep(224.0, 164.0, x)
    };
    let sea = Wash { wobble: 1.6, edge: 0.38, edge_mm: 0.9, flow: 0.85, bloom: 1.4, seed: 50 };
    pool(
        &mut s.wash,
        all,
        sea,
        |p| all.distance(p, 6.0).max(p.y - shoreline(p.x)),
        |p| {
            let cloud = 0.12 * smoothstep(0.5, 0.62, fbm(p.x / 20.0, p.y / 6.0, 74, 3));
            (0.36 + 0.24 * smoothstep(8.0, 46.0, p.y)) * (0.62 + 0.38 * smoothstep(150.0, 225.0, p.x)) + cloud
        },
    );
    waves(
        s,
        panel(149.0, 15.0, 270.5, 62.0),
        |x| shoreline(x) - 4.0,
        Swell { tone: 0.32, pen: 0.0 },
        &mut rng,
    );
    foam(s, 143.0, 276.0, |x| shoreline(x) - 2.6, 1.2, 52);
    let reach = |x: f32| shoreline(x) + 9.0 + 1.5 * libm::sinf(x / 11.0 + 1.0);
    let sand = panel(147.0, 30.0, 272.5, 79.0);
    let wet = Wash { wobble: 0.9, edge: 0.24, flow: 0.8, bloom: 0.8, seed: 54, ..Wash::default() };
    let sand_shape = |p: V| sand.distance(p, 3.0).max(shoreline(p.x) + 0.9 - p.y).max(p.y - reach(p.x));
    pool(&mut s.wash, sand, wet, sand_shape, |_| 0.17);
    // The walk begins on the front, along the wet sand, and ends on the back at a cross.
    let walk: Vec<(f32, f32)> =
        (0..24).map(|i| 266.0 - i as f32 * 4.9).map(|x| (x, shoreline(x) + 4.6)).collect();
    path_dots(s, &walk, 55);
    let cross = v(149.5, shoreline(149.5) + 4.8);
    for arm in [v(1.1, 1.0), v(1.0, -1.1)] {
        pen(&mut s.ink, &[cross - arm, cross + arm], 0.7, 56);
    }
    // TIDE is cut out of the sea and filled with wax, so it must fit; WRACK is pasted over it.
    for letter in case.cut("TIDE", v(left + 8.0, 32.5), v(53.0, 19.0), &mut rng) {
        s.wash.knock_out(&letter);
        rub(&mut s.weed, &letter, -32.0 + rng.jitter(20.0), 1.0, rng.bits() as u32);
    }
    for letter in case.cut("WRACK", v(left + 6.8, 56.0), v(54.5, 19.0), &mut rng) {
        solid(&mut s.ink, &letter);
    }
    for (x, y, span, tilt) in [(-14.0, 17.0, 7.4, -5.0), (-27.0, 24.0, 5.2, 6.0), (-40.0, 15.5, 4.4, 0.0)] {
        far_gull(&mut s.ink, v(left + x, y), span, tilt);
    }
    kelp(
        s,
        &points(&[(left + 59.0, 101.0), (left + 61.5, 95.0), (left + 58.5, 89.0), (left + 61.5, 80.0)]),
        5.0,
        57,
    );
    let main =
        Frond { at: v(left + 48.0, 101.5), heading: -95.0, length: 10.5, width: 3.7, forks: 2, spread: 27.0 };
    bladderwrack(s, main, &mut rng);
    let how = Setting { at: v(left + 9.0, 95.0), points: 11.5, measure: 34.0, centred: false };
    case.set(&mut s.ink, "a walk along\nthe strandline", how, &mut rng);
}

/// Page 8: what this is and how it is made, above a stranded plank that crosses the spine.
fn colophon(s: &mut Strip, case: &Case) {
    let mut rng = Rng::new(8);
    let left = 2.0 * PAGE_W;
    let how = Setting { at: v(left + 9.5, 62.0), points: 9.5, measure: 58.0, centred: false };
    let text = "Three inks on pale green stock.\nFolded, slit, trimmed by hand.\nA demonstration zine:\neverything in it is invented.";
    case.set(&mut s.ink, text, how, &mut rng);
    driftwood(s, v(left + 30.0, 90.0), v(left + 97.0, 81.0), 9.0, 81);
    scallop(s, v(left + 17.0, 97.0), 10.0, -82.0, 83);
    spiral(s, v(left + 57.0, 97.5), 4.0, 20.0, 84);
    kelp(
        s,
        &points(&[(left + 28.0, 100.0), (left + 35.0, 97.0), (left + 42.0, 100.0), (left + 50.0, 97.5)]),
        5.0,
        85,
    );
    grit(s, panel(left + 9.0, 92.0, left + 66.0, 102.5), 150, &mut rng);
    grit(s, panel(left + PAGE_W + 8.0, 77.5, left + PAGE_W + 63.0, 90.5), 150, &mut rng);
}
