use super::*;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::Dpi;
use slipsheet_core::units::{Degrees, Mm};
use slipsheet_document::layer::Scale;

/// An even stream of numbers from 0 to 1.
fn stream(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 11) as f64 / (1_u64 << 53) as f64
    }
}

#[derive(Clone, Copy)]
enum Look {
    Filled,
    Outlined,
}

/// Blots at places that the seed decides, on 100 x 130 mm, seen through a map of mm about the middle.
fn blots(seed: u64, dpi: f64, moved_from_art: Affine, look: Look) -> Pyramid {
    let ppm = dpi / 25.4;
    let (w, h) = ((100.0 * ppm) as u32, (130.0 * ppm) as u32);
    let back = moved_from_art.inverse().unwrap();
    let mut next = stream(seed);
    let blots: Vec<(f64, f64, f64, f64)> = (0..70)
        .map(|_| (next() * 100.0 - 50.0, next() * 130.0 - 65.0, 1.0 + 5.0 * next(), 0.3 + 0.7 * next()))
        .collect();
    let mut grain = stream(seed + 77);
    let mut pixels = Vec::with_capacity((w * h) as usize);
    for y in 0..h {
        for x in 0..w {
            let p = back
                * Point::new(
                    (f64::from(x) + 0.5 - f64::from(w) / 2.0) / ppm,
                    (f64::from(y) + 0.5 - f64::from(h) / 2.0) / ppm,
                );
            let mut dark: f64 = 0.0;
            for (bx, by, r, strength) in &blots {
                let d = p.distance(Point::new(*bx, *by));
                let inside = ((r - d) * ppm + 0.5).clamp(0.0, 1.0);
                let on_line = ((0.15 - (r - d).abs()) * ppm + 0.5).clamp(0.0, 1.0);
                dark = dark.max(match look {
                    Look::Filled => strength * inside,
                    Look::Outlined => on_line,
                });
            }
            pixels.push((250.0 - 200.0 * dark + 12.0 * (grain() - 0.5)) as u8);
        }
    }
    Pyramid::new(GrayRaster::new(w, h, pixels).unwrap(), Dpi::new(dpi).unwrap())
}

fn noise(seed: u64) -> Pyramid {
    let mut next = stream(seed);
    let pixels = (0..400 * 500).map(|_| (next() * 255.0) as u8).collect();
    Pyramid::new(GrayRaster::new(400, 500, pixels).unwrap(), Dpi::new(100.0).unwrap())
}

#[track_caller]
fn check(found: LineUp, dx: f64, dy: f64, turn: f64, scale: f64) {
    let off = found.shift_mm.distance(Point::new(dx, dy));
    assert!(off < 0.05, "{off} mm off: {found:?}");
    assert!((found.rotation_deg - turn).abs() < 0.03 && (found.scale - scale).abs() < 0.001, "{found:?}");
}

#[test]
fn a_shift_a_turn_and_a_scale_are_undone() {
    let fixed = blots(1, 150.0, Affine::IDENTITY, Look::Filled);
    for (dx, dy, turn, scale) in
        [(0.0, 0.0, 0.0, 1.0), (3.37, -5.61, 0.0, 1.0), (-2.2, 1.4, 4.3, 1.03), (1.0, 0.5, -8.0, 0.95)]
    {
        let map = Affine::shift(dx, dy) * Affine::turn(turn) * Affine::scale(scale, scale);
        let moved = blots(1, 150.0, map.inverse().unwrap(), Look::Filled);
        let found = line_up(&fixed, &moved, LineUpLimits::default());
        check(found, dx, dy, turn, scale);
        assert!(found.confidence > 0.9, "{found:?}");
    }
}

#[test]
fn an_outline_is_laid_on_its_wash_at_another_resolution() {
    let fixed = blots(2, 150.0, Affine::IDENTITY, Look::Filled);
    let map = Affine::shift(1.9, -0.7) * Affine::turn(1.2);
    let moved = blots(2, 200.0, map.inverse().unwrap(), Look::Outlined);
    let found = line_up(&fixed, &moved, LineUpLimits::default());
    // A line has two edges where a wash has one, so a good part of its width stays open.
    assert!(found.shift_mm.distance(Point::new(1.9, -0.7)) < 0.25 && found.confidence > 0.5, "{found:?}");
}

#[test]
fn any_turn_is_found_when_it_is_allowed() {
    let fixed = blots(3, 100.0, Affine::IDENTITY, Look::Filled);
    let limits = LineUpLimits { turn_deg: 180.0, scale: 1.2 };
    for turn in [180.0, 92.0, -60.0] {
        let map = Affine::shift(2.0, 1.0) * Affine::turn(turn);
        let moved = blots(3, 100.0, map.inverse().unwrap(), Look::Filled);
        let found = line_up(&fixed, &moved, limits);
        let error = found.rotation_deg - turn;
        assert!(
            (error - 360.0 * (error / 360.0).round()).abs() < 0.1 && found.confidence > 0.5,
            "{turn}: {found:?}"
        );
    }
}

#[test]
fn what_has_nothing_in_common_is_not_trusted() {
    let art = blots(4, 150.0, Affine::IDENTITY, Look::Filled);
    let other = blots(5, 150.0, Affine::IDENTITY, Look::Filled);
    let blank = Pyramid::new(GrayRaster::filled(600, 800, 250).unwrap(), Dpi::new(150.0).unwrap());
    let limits = LineUpLimits::default();
    for (name, a, b) in [
        ("other art", &art, &other),
        ("noise", &noise(1), &noise(2)),
        ("art and noise", &art, &noise(3)),
        ("blank", &art, &blank),
    ] {
        let found = line_up(a, b, limits);
        assert!(found.confidence < 0.25, "{name}: {found:?}");
    }
}

#[test]
fn a_placement_follows_the_one_it_is_laid_on() {
    let found = LineUp { shift_mm: Point::new(3.0, -1.0), rotation_deg: 2.0, scale: 1.1, ..LineUp::NOTHING };
    let fixed = Placement {
        dx: Mm::new(10.0),
        dy: Mm::new(5.0),
        rotation: Degrees::new(90.0),
        scale: Scale::new(2.0),
        flip: true,
        ..Placement::default()
    };
    let placed = found.placement_on(&fixed);
    let sheet_from = |p: &Placement| {
        let mirror = if p.flip { -1.0 } else { 1.0 };
        Affine::shift(p.dx.get(), p.dy.get())
            * Affine::turn(p.rotation.get())
            * Affine::scale(mirror * p.scale.get(), p.scale.get())
    };
    for p in [Point::new(0.0, 0.0), Point::new(20.0, -7.0)] {
        let (by_placement, by_way_of_fixed) =
            (sheet_from(&placed) * p, sheet_from(&fixed) * (found.fixed_from_moved() * p));
        assert!(by_placement.distance(by_way_of_fixed) < 1e-9, "{by_placement:?} {by_way_of_fixed:?}");
    }
}
