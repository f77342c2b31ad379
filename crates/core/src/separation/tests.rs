use proptest::prelude::*;

use super::*;
use crate::colour::{Lab, Xyz};
use crate::finish::Finish;
use crate::ink::{Ink, Swatch};
use crate::raster::ColourRaster;
use crate::stock::Stock;
use crate::tone::ToneCurve;

fn lab(l: f64, a: f64, b: f64) -> Lab {
    Lab::new(l, a, b).unwrap()
}

fn stock(paper: Lab) -> Stock {
    Stock { finish: Finish::Uncoated, ..Stock::new("Paper", Swatch::Estimated { lab: paper }) }
}

fn ink(solid: Lab) -> Ink {
    Ink::estimated("Ink", solid)
}

/// Invented solids of four inks, light to dark.
fn inks() -> Vec<Ink> {
    [(88.0, -5.0, 80.0), (60.0, 62.0, 20.0), (55.0, -30.0, -38.0), (28.0, 2.0, 0.0)]
        .map(|(l, a, b)| ink(lab(l, a, b)))
        .to_vec()
}

fn inverse(inks: &[Ink], sum: Option<f64>) -> Inverse {
    Inverse::of(&stock(lab(93.0, 0.0, 3.0)), &inks.iter().collect::<Vec<_>>(), &[], sum).unwrap()
}

/// A picture of colours, four to a side of an even square each.
fn picture(colours: &[[u8; 3]], width: u32) -> ColourRaster {
    let pixels = colours.concat();
    let height = colours.len() as u32 / width;
    ColourRaster::new(width, height, false, pixels).unwrap()
}

#[test]
fn what_inks_print_is_found_again() {
    let all = inks();
    for count in 1..=4 {
        let inverse = inverse(&all[..count], None);
        for i in 0..60_u64 {
            let mut random = slipsheet_base::random::SplitMix::new(i);
            let cover: Vec<f64> = (0..count).map(|_| 0.05 + 0.88 * random.uniform()).collect();
            let wanted = inverse.lab(&cover);
            let found = inverse.matched(wanted);
            assert!(found.de00 < 0.15, "{count} inks: {} for {cover:?}, {found:?}", found.de00);
        }
    }
}

#[test]
fn the_answer_is_as_near_as_the_nearest_of_all_that_can_be_asked_for() {
    // Every coverage in steps of a twentieth, and nothing nearer is found among them.
    let all = inks();
    let inverse = inverse(&all[1..], None);
    let steps: Vec<f64> = (0..=20).map(|i| f64::from(i) / 20.0).collect();
    for wanted in [
        lab(50.0, 0.0, 0.0),
        lab(95.0, 0.0, 3.0),
        lab(20.0, 30.0, -60.0),
        lab(60.0, -70.0, 60.0),
        lab(75.0, 10.0, 80.0),
        lab(5.0, 0.0, 0.0),
        lab(40.0, 55.0, -20.0),
    ] {
        let found = inverse.matched(wanted);
        let mut nearest = f64::INFINITY;
        for a in &steps {
            for b in &steps {
                for c in &steps {
                    nearest = nearest.min(wanted.ciede2000(inverse.lab(&[*a, *b, *c])));
                }
            }
        }
        assert!(found.de00 <= nearest + 0.05, "{wanted}: {} with {:?}, {nearest}", found.de00, found.cover);
        assert!((wanted.ciede2000(inverse.lab(&found.cover)) - found.de00).abs() < 1e-9);
    }
}

#[test]
fn nothing_is_asked_for_that_prints_as_nothing_or_as_a_solid() {
    let curve =
        ToneCurve::new(vec![(0.0, 0.0), (0.5, 0.68), (1.0, 1.0)]).unwrap().with_limits(0.1, 0.85).unwrap();
    let all: Vec<Ink> = inks().into_iter().map(|ink| Ink { curve: curve.clone(), ..ink }).collect();
    let inverse = inverse(&all, None);
    for i in 0..300_u64 {
        let mut random = slipsheet_base::random::SplitMix::new(i);
        let mut next = |from: f64, to: f64| from + (to - from) * random.uniform();
        let wanted = lab(next(10.0, 96.0), next(-60.0, 60.0), next(-60.0, 80.0));
        let found = inverse.matched(wanted);
        for asked in &found.cover {
            let lost = *asked > 0.0 && *asked < 0.1 || *asked > 0.85 && *asked < 1.0;
            assert!(!lost, "{wanted}: {found:?}");
        }
    }
    // A tint of a tenth of what the lightest tone covers is paper, and one just under it is the lightest tone.
    let near = |asked: f64| {
        let wanted = inverse.lab(&[0.0, 0.0, 0.0, 0.0]);
        let tone = inverse.lab(&[0.0, 0.0, asked, 0.0]);
        let mixed = |t: f64| {
            lab(
                wanted.l() + (tone.l() - wanted.l()) * t,
                wanted.a() + (tone.a() - wanted.a()) * t,
                wanted.b() + (tone.b() - wanted.b()) * t,
            )
        };
        (inverse.matched(mixed(0.1)).cover, inverse.matched(mixed(0.95)).cover)
    };
    let (paper, tone) = near(0.1);
    assert!(paper.iter().all(|c| *c == 0.0), "{paper:?}");
    assert!((tone[2] - 0.1).abs() < 0.02, "{tone:?}");
}

#[test]
fn what_is_out_of_reach_is_brought_in_and_white_is_paper_with_every_intent() {
    let inverse = inverse(&inks(), None);
    for intent in Intent::ALL {
        let white = inverse.separated(Lab::WHITE, intent);
        assert!(white.iter().all(|c| *c < 0.02), "{intent:?} {white:?}");
        let black = inverse.separated(lab(0.0, 0.0, 0.0), intent);
        assert!(inverse.lab(&black).l() < 32.0, "{intent:?} {black:?}");
        // Grays stay in their order.
        let lightness = |l: f64| inverse.lab(&inverse.separated(lab(l, 0.0, 0.0), intent)).l();
        let grays: Vec<f64> = (0..=20).map(|i| lightness(f64::from(i) * 5.0)).collect();
        assert!(grays.windows(2).all(|two| two[1] >= two[0] - 0.3), "{intent:?} {grays:?}");
    }
    // With compensation of black, dark grays are told apart that run together without.
    let apart = |intent| {
        let at = |l: f64| inverse.lab(&inverse.separated(lab(l, 0.0, 0.0), intent)).l();
        at(14.0) - at(6.0)
    };
    assert!(apart(Intent::Perceptual) > apart(Intent::RelativeColorimetric) + 0.5);
}

/// A smooth sweep through what inks print, as the picture that would be printed so.
fn sweep(inverse: &Inverse, side: usize) -> ColourRaster {
    let wave =
        |x: f64, turns: f64, shift: f64| 0.5 + 0.5 * libm::sin(std::f64::consts::TAU * (turns * x + shift));
    let colours: Vec<[u8; 3]> = (0..side * side)
        .map(|i| {
            let (x, y) = ((i % side) as f64 / side as f64, (i / side) as f64 / side as f64);
            let ways = [wave(x, 1.0, 0.1), wave(y, 1.0, 0.3), wave(x + y, 0.7, 0.6), wave(x - y, 0.6, 0.2)];
            let cover: Vec<f64> = ways.iter().take(inverse.inks()).map(|w| 0.05 + 0.7 * w).collect();
            let light = inverse.lab(&cover).light();
            let source: [f64; 3] = std::array::from_fn(|c| light[c] / inverse.paper[c]);
            Xyz::from_light(source).shown().rgb
        })
        .collect();
    picture(&colours, side as u32)
}

fn source(px: [u8; 3]) -> Lab {
    Xyz::from_linear_srgb(px.map(|v| crate::colour::linear_from_srgb(f64::from(v) / 255.0))).lab()
}

/// How much farther from a picture plates print than the exact answer does, sorted, and how much rougher the plates are
/// than the picture: their second differences over its own, rms.
fn against_exact(inverse: &Inverse, picture: &ColourRaster) -> (Vec<f64>, f64) {
    let how = Separation { intent: Intent::RelativeColorimetric, ..Separation::default() };
    let plates = how.plates(picture, 12.0, inverse, &|| false).unwrap().plates;
    let side = picture.width() as usize;
    let off = |source: Lab, cover: &[f64]| inverse.difference(source, how.intent, inverse.lab(cover).light());
    let mut worse = Vec::new();
    let (mut rough, mut own) = (0.0, 0.0);
    for i in (side..side * (side - 1)).filter(|i| i % side > 0 && i % side + 1 < side) {
        let cover = |i: usize| -> Vec<f64> {
            plates.iter().map(|p| 1.0 - f64::from(p.pixels()[i]) / 255.0).collect()
        };
        let at = |i: usize| source(picture.at((i % side) as u32, (i / side) as u32).unwrap());
        if i % 5 == 0 {
            let wanted = at(i).light();
            let wanted: [f64; 3] = std::array::from_fn(|c| wanted[c] * inverse.paper[c]);
            let exact = inverse.matched(Xyz::from_light(wanted).lab()).cover;
            worse.push((off(at(i), &cover(i)) - off(at(i), &exact)).max(0.0));
        }
        let (a, b, c) = (cover(i - 1), cover(i), cover(i + 1));
        rough +=
            (0..plates.len()).map(|k| (a[k] - 2.0 * b[k] + c[k]).powi(2)).sum::<f64>() / plates.len() as f64;
        let (a, b, c) = (at(i - 1), at(i), at(i + 1));
        let second = |of: fn(Lab) -> f64| (of(a) - 2.0 * of(b) + of(c)) / 100.0;
        own += (second(Lab::l).powi(2) + second(Lab::a).powi(2) + second(Lab::b).powi(2)) / 3.0;
    }
    worse.sort_by(f64::total_cmp);
    (worse, libm::sqrt(rough / own))
}

#[test]
fn plates_print_what_the_exact_answer_prints() {
    let all = inks();
    // The prototype's own figures for 33 nodes a side: 0.3 on the mean and 3 at worst, and for four inks 2.2 times as rough.
    for (set, wanted) in [
        (vec![1, 3], [0.15, 1.2, 3.5]),
        (vec![0, 1, 2], [0.2, 0.8, 2.6]),
        (vec![0, 1, 2, 3], [0.4, 1.5, 5.0]),
    ] {
        let of_set: Vec<Ink> = set.iter().map(|i| all[*i].clone()).collect();
        let inverse = inverse(&of_set, None);
        let (worse, rough) = against_exact(&inverse, &sweep(&inverse, 128));
        let (mean, most) = (worse.iter().sum::<f64>() / worse.len() as f64, worse[worse.len() - 1]);
        let told = format!(
            "{} inks: {mean:.3} on the mean, {most:.2} at most, {rough:.2} times as rough",
            set.len()
        );
        assert!(mean < wanted[0] && most < wanted[1] && rough < wanted[2], "{told}");
    }
}

#[test]
fn the_ink_of_a_place_never_adds_up_to_more_than_its_limit() {
    let colours: Vec<[u8; 3]> =
        (0..64 * 64).map(|i| [(i % 64 * 2) as u8, (i / 64 * 2) as u8, (i % 61) as u8]).collect();
    let picture = picture(&colours, 64);
    for (sum, detail) in [(1.2, 0.0), (2.0, 1.0)] {
        let inverse = inverse(&inks(), Some(sum));
        let how = Separation { detail: DetailShare::new(detail), ..Separation::default() };
        let plates = how.plates(&picture, 4.0, &inverse, &|| false).unwrap();
        for i in 0..64 * 64 {
            let all: f64 = plates.plates.iter().map(|p| 1.0 - f64::from(p.pixels()[i]) / 255.0).sum();
            // Each level is rounded to a 255th, and lost tones to the nearest that prints.
            assert!(all <= sum + 0.13, "{all} at {i}");
        }
        for i in 0..40_u64 {
            let mut random = slipsheet_base::random::SplitMix::new(i);
            let wanted = lab(40.0 * random.uniform(), 40.0 * random.uniform() - 20.0, 0.0);
            let found = inverse.matched(wanted);
            assert!(found.cover.iter().sum::<f64>() <= sum + 1e-9, "{found:?}");
        }
    }
}

#[test]
fn an_even_area_is_solved_for_itself() {
    let inverse = inverse(&inks(), None);
    let colours = vec![[183, 97, 61]; 64 * 64];
    let plates = Separation::default().plates(&picture(&colours, 64), 12.0, &inverse, &|| false).unwrap();
    let source =
        Xyz::from_linear_srgb([183, 97, 61].map(|v| crate::colour::linear_from_srgb(f64::from(v) / 255.0)))
            .lab();
    let exact = inverse.separated(source, Intent::Perceptual);
    for (plate, exact) in plates.plates.iter().zip(&exact) {
        let got = 1.0 - f64::from(plate.pixels()[100]) / 255.0;
        assert!((got - exact).abs() <= 0.5 / 255.0 + 1e-6, "{got} {exact}");
    }
}

#[test]
fn detail_goes_into_the_darkest_ink_and_the_others_are_smooth() {
    // Thin dark lines over a soft sweep of colour, ten pixels to the mm.
    let colours: Vec<[u8; 3]> = (0..200 * 100)
        .map(|i| {
            let (x, y) = (i % 200, i / 200);
            let dark = if x % 8 < 2 { 60 } else { 0 };
            [220 - dark, (90 + y as u8).saturating_sub(dark), (60 + x as u8 / 2).saturating_sub(dark)]
        })
        .collect();
    let picture = picture(&colours, 200);
    let inverse = inverse(&inks(), None);
    let plates = |share: f64| {
        let how = Separation { detail: DetailShare::new(share), ..Separation::default() };
        how.plates(&picture, 10.0, &inverse, &|| false).unwrap().plates
    };
    let rough = |plate: &crate::raster::GrayRaster| {
        let row = plate.row(50);
        row[20..180].windows(2).map(|two| (f64::from(two[1]) - f64::from(two[0])).abs()).sum::<f64>() / 159.0
    };
    let (all, split) = (plates(0.0), plates(1.0));
    for k in 0..3 {
        assert!(
            rough(&split[k]) < 0.25 * rough(&all[k]) + 0.3,
            "{k}: {} {}",
            rough(&split[k]),
            rough(&all[k])
        );
    }
    assert_eq!(inverse.darkest_ink(), 3);
    assert!(rough(&split[3]) > 5.0, "{}", rough(&split[3]));
    // The print has the same shapes: its lightness goes with that of the other.
    let light = |plates: &[crate::raster::GrayRaster], x: usize| {
        let cover: Vec<f64> = plates.iter().map(|p| 1.0 - f64::from(p.row(50)[x]) / 255.0).collect();
        inverse.lab(&cover).l()
    };
    let apart: f64 = (20..180).map(|x| (light(&all, x) - light(&split, x)).abs()).sum::<f64>() / 160.0;
    assert!(apart < 3.0, "{apart}");
}

#[test]
fn the_inks_that_a_picture_was_printed_with_are_chosen_again() {
    let mut all = inks();
    all.extend(
        [(50.0, 20.0, -60.0), (75.0, -40.0, 50.0), (70.0, 35.0, 60.0)].map(|(l, a, b)| ink(lab(l, a, b))),
    );
    let white = stock(Lab::WHITE);
    for set in [vec![1, 2], vec![1, 2, 3], vec![0, 4, 3]] {
        let of_set: Vec<&Ink> = set.iter().map(|i| &all[*i]).collect();
        let printed = Inverse::of(&white, &of_set, &[], None).unwrap();
        let colours: Vec<[u8; 3]> = (0..900)
            .map(|i| {
                let cover: Vec<f64> =
                    (0..set.len()).map(|k| (i / 10_usize.pow(k as u32) % 10) as f64 / 9.0).collect();
                printed.lab(&cover).xyz().shown().rgb
            })
            .collect();
        let refs: Vec<&Ink> = all.iter().collect();
        let chosen =
            choose(&picture(&colours, 30), (&[&white], &refs), &[], (set.len(), 3), &|| false).unwrap();
        let mut got = chosen[0].inks.clone();
        got.sort_unstable();
        let mut wanted = set.clone();
        wanted.sort_unstable();
        assert_eq!(got, wanted, "{chosen:?}");
        assert!(chosen.len() == 3 && chosen[0].mean_difference < 2.5, "{chosen:?}");
        assert!(chosen.windows(2).all(|two| two[0].mean_difference <= two[1].mean_difference));
        let light: Vec<f64> = chosen[0].inks.iter().map(|i| all[*i].solid.lab().l()).collect();
        assert!(light.windows(2).all(|two| two[0] >= two[1]), "the lightest is printed first");
    }
}

#[test]
fn too_many_inks_and_nonsense_are_refused() {
    let many: Vec<Ink> = (0..7).map(|i| ink(lab(30.0 + f64::from(i), 0.0, 0.0))).collect();
    let refs: Vec<&Ink> = many.iter().collect();
    let of = |inks: &[&Ink], sum| Inverse::of(&stock(Lab::WHITE), inks, &[], sum).err();
    assert_eq!(of(&refs, None), Some(SeparationError::Inks(7)));
    assert_eq!(of(&[], None), Some(SeparationError::Inks(0)));
    assert_eq!(of(&refs[..1], Some(0.0)), Some(SeparationError::Sum(0.0)));
    assert!(of(&refs[..1], Some(f64::NAN)).is_some());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    /// More room for ink, and more inks, never print farther from what is wanted.
    #[test]
    fn more_room_is_never_worse(l in 5.0..95.0, a in -60.0..60.0, b in -60.0..80.0, sum in 0.4..2.0) {
        let all = inks();
        let wanted = lab(l, a, b);
        let tight = inverse(&all[1..], Some(sum)).matched(wanted).de00;
        let wide = inverse(&all[1..], Some(sum + 0.5)).matched(wanted).de00;
        prop_assert!(wide <= tight + 0.06, "{} {}", wide, tight);
        // One more ink that was not there before, printed last.
        let fewer = inverse(&all[..3], None).matched(wanted).de00;
        let more = inverse(&all, None).matched(wanted).de00;
        prop_assert!(more <= fewer + 0.06, "{} {}", more, fewer);
    }
}
