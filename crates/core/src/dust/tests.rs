use std::f64::consts::TAU;

use super::*;
use crate::testing::picture;
use proptest::prelude::*;
use slipsheet_base::random::SplitMix;

const DPI: f64 = 300.0;

fn dpi() -> Dpi {
    Dpi::new(DPI).unwrap()
}

/// A sheet of gray paper with grain that is drawn on.
#[derive(Debug, Clone)]
struct Sheet(GrayRaster);

impl Sheet {
    fn new(width: u32, height: u32, paper: f64, noise: f64) -> Self {
        let mut random = SplitMix::new(3);
        let pixels = (0..width * height).map(|_| (paper + noise * random.normal()).clamp(0.0, 255.0) as u8);
        Self(GrayRaster::new(width, height, pixels.collect()).unwrap())
    }

    fn dot(&mut self, x: f64, y: f64, radius: f64, gray: u8) {
        self.stroke([x, y], [x, y], radius, gray);
    }

    /// A stroke with round ends whose rim is as dark as it covers its pixels, nearly.
    fn stroke(&mut self, from: [f64; 2], to: [f64; 2], radius: f64, gray: u8) {
        let (width, height) = (self.0.width() as usize, self.0.height() as usize);
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let long = (dx * dx + dy * dy).max(1e-9);
        let reach = radius + 2.0;
        let range = |a: f64, b: f64, most: usize| {
            let (low, high) = (a.min(b) - reach, a.max(b) + reach);
            (low.max(0.0) as usize)..(high.max(0.0) as usize).min(most)
        };
        for y in range(from[1], to[1], height) {
            for x in range(from[0], to[0], width) {
                let (px, py) = (x as f64 + 0.5 - from[0], y as f64 + 0.5 - from[1]);
                let t = ((px * dx + py * dy) / long).clamp(0.0, 1.0);
                let off = libm::hypot(px - t * dx, py - t * dy);
                let cover = (radius + 0.5 - off).clamp(0.0, 1.0);
                let g = &mut self.0.pixels_mut()[y * width + x];
                *g = (f64::from(*g) * (1.0 - cover) + f64::from(gray) * cover).min(f64::from(*g)) as u8;
            }
        }
    }

    /// Lines of letters like `i` and `l` with full stops, from a corner on.
    fn type_at(&mut self, x: f64, y: f64) {
        for line in 0..4 {
            let base = y + 60.0 * f64::from(line);
            for i in 0..20 {
                let x = x + 14.0 * f64::from(i);
                self.stroke([x, base - 20.0], [x, base], 2.0, 25);
                match i % 5 {
                    0 => self.dot(x, base - 29.0, 2.3, 25),
                    1 => self.stroke([x, base - 32.0], [x, base], 2.0, 25),
                    2 => self.stroke([x, base], [x + 8.0, base], 2.0, 25),
                    _ => {}
                }
            }
            self.dot(x + 14.0 * 20.0, base - 1.0, 2.5, 25);
        }
    }
}

/// Type at the upper left, a stipple and a hatching at the lower left; the right half is bare.
fn art() -> Sheet {
    let mut sheet = Sheet::new(1000, 800, 226.0, 2.0);
    sheet.type_at(60.0, 90.0);
    let mut random = SplitMix::new(8);
    for i in 0..120 {
        let (x, y) = (60.0 + 24.0 * f64::from(i % 12), 460.0 + 24.0 * f64::from(i / 12));
        sheet.dot(x + 8.0 * random.uniform(), y + 8.0 * random.uniform(), 1.6 + random.uniform(), 30);
    }
    for i in 0..8 {
        let x = 370.0 + 9.0 * f64::from(i);
        sheet.stroke([x, 520.0], [x + 10.0, 560.0], 0.7, 40);
    }
    sheet
}

/// Dust in the right half, no two nearer than 4 mm: the middles and radii, and which are hairs.
fn dust(sheet: &mut Sheet) -> usize {
    let mut random = SplitMix::new(21);
    let mut count = 0;
    for i in 0..42 {
        let (x, y) = (545.0 + 62.0 * f64::from(i % 7), 60.0 + 120.0 * f64::from(i / 7));
        let (x, y) = (x + 10.0 * random.uniform(), y + 10.0 * random.uniform());
        if i % 6 == 5 {
            let angle = TAU * random.uniform();
            let (dx, dy) = (16.0 * libm::cos(angle), 16.0 * libm::sin(angle));
            sheet.stroke([x - dx, y - dy], [x + dx, y + dy], 0.6, 90);
        } else {
            sheet.dot(x, y, 0.6 + 1.6 * random.uniform(), (40.0 + 120.0 * random.uniform()) as u8);
        }
        count += 1;
    }
    count
}

#[test]
fn dust_goes_and_dots_stops_stipple_and_hatching_stay() {
    let clean = art();
    assert_eq!(find_dust(&clean.0, dpi(), 0.5), []);
    let mut dusty = clean.clone();
    let added = dust(&mut dusty);
    let found = find_dust(&dusty.0, dpi(), 0.5);
    assert!(found.len() as f64 >= 0.95 * added as f64 && found.len() <= added, "{} of {added}", found.len());
    assert!(found.iter().any(|s| s.is_hair) && found.iter().all(|s| s.rect.x > 500.0), "{found:?}");

    let mut swept = dusty.clone();
    assert_eq!(remove_dust(&mut swept.0, dpi(), 0.5), found.len());
    let left = |x: usize| x < 500;
    let changed = swept.0.pixels().iter().zip(dusty.0.pixels()).enumerate().filter(|(_, (a, b))| a != b);
    assert!(changed.into_iter().all(|(i, _)| !left(i % 1000)), "art was changed");
    // What was dust is paper, within its grain.
    let darkest = |sheet: &Sheet| {
        let right = sheet.0.pixels().iter().enumerate().filter(|(i, _)| !left(i % 1000));
        right.map(|(_, g)| *g).min().unwrap()
    };
    assert!(darkest(&dusty) < 60 && darkest(&swept) > 205, "{} {}", darkest(&dusty), darkest(&swept));
}

#[test]
fn a_frame_around_the_sheet_is_not_near_everything_in_it() {
    let mut sheet = Sheet::new(700, 700, 235.0, 1.5);
    let corners = [[20.0, 20.0], [680.0, 20.0], [680.0, 680.0], [20.0, 680.0]];
    for i in 0..4 {
        sheet.stroke(corners[i], corners[(i + 1) % 4], 3.0, 20);
    }
    sheet.dot(350.0, 350.0, 2.0, 60);
    sheet.dot(350.0, 40.0, 2.0, 60);
    let found = find_dust(&sheet.0, dpi(), 0.5);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!((found[0].rect.x - 348.0).abs() < 3.0 && (found[0].rect.y - 348.0).abs() < 3.0);
}

#[test]
fn three_dots_far_from_all_else_are_kept_and_two_are_dust() {
    for (dots, wanted) in [(1, 1), (2, 2), (3, 0), (9, 0)] {
        let mut sheet = Sheet::new(600, 400, 240.0, 1.0);
        (0..dots).for_each(|i| sheet.dot(100.0 + 40.0 * f64::from(i), 200.0, 2.0, 40));
        assert_eq!(find_dust(&sheet.0, dpi(), 0.5).len(), wanted, "{dots}");
    }
}

#[test]
fn a_hair_is_thin_and_alone_and_a_dash_is_not() {
    let with = |radius: f64, length: f64| {
        let mut sheet = Sheet::new(500, 400, 240.0, 1.0);
        sheet.stroke([200.0, 200.0], [200.0 + length, 215.0], radius, 60);
        find_dust(&sheet.0, dpi(), 0.5)
    };
    // 40 pixels are 3.4 mm; 70 are longer than eight specks of half a millimetre.
    assert!(matches!(with(0.6, 40.0)[..], [Speck { is_hair: true, .. }]));
    assert!(with(0.6, 70.0).is_empty() && with(2.5, 40.0).is_empty());
}

#[test]
fn nothing_is_found_where_nothing_is_and_on_odd_sizes() {
    for raster in [
        GrayRaster::filled(1, 1, 0).unwrap(),
        GrayRaster::filled(1, 300, 128).unwrap(),
        GrayRaster::filled(400, 300, 0).unwrap(),
        GrayRaster::filled(400, 300, 255).unwrap(),
        Sheet::new(500, 400, 200.0, 9.0).0,
    ] {
        assert_eq!(find_dust(&raster, dpi(), 0.5), [], "{raster:?}");
        assert_eq!(remove_dust(&mut raster.clone(), dpi(), 0.5), 0, "{raster:?}");
    }
    let mut sheet = Sheet::new(300, 300, 240.0, 1.0);
    sheet.dot(150.0, 150.0, 2.0, 40);
    assert_eq!((find_dust(&sheet.0, dpi(), 0.0).len(), find_dust(&sheet.0, dpi(), f64::NAN).len()), (0, 0));
}

/// Dots of dust on a page, each at least 5 mm from the next, where `may` allows it.
fn dusted(page: &GrayRaster, at: Dpi, seed: u64, may: impl Fn([f64; 2]) -> bool) -> (GrayRaster, usize) {
    let mut random = SplitMix::new(seed);
    let (mut dusty, mut spots) = (Sheet(page.clone()), Vec::<[f64; 2]>::new());
    for _ in 0..3000 {
        let [x, y] = [page.width(), page.height()].map(|side| f64::from(side) * random.uniform());
        let is_far = spots.iter().all(|s| libm::hypot(s[0] - x, s[1] - y) > 5.0 * at.px_per_mm());
        if is_far && may([x, y]) {
            let paper = page.row(y as u32).get(x as usize).copied().unwrap_or(150);
            dusty.dot(x, y, 0.5 + 0.5 * random.uniform(), paper / 3);
            spots.push([x, y]);
        }
    }
    (dusty.0, spots.len())
}

/// Whether a pixel differs, or one beside it.
fn differs(a: &GrayRaster, b: &GrayRaster) -> Vec<bool> {
    let (width, height) = (a.width() as i64, a.height() as i64);
    let at = |x: i64, y: i64| {
        let inside = (0..width).contains(&x) && (0..height).contains(&y);
        inside && a.pixels()[(y * width + x) as usize] != b.pixels()[(y * width + x) as usize]
    };
    let near = |x, y| (-1..=1).any(|dy| (-1..=1).any(|dx| at(x + dx, y + dy)));
    (0..width * height).map(|i| near(i % width, i / width)).collect()
}

/// Whether all within so many pixels is paper: at most an eighth of ink against the median.
fn is_bare(page: &GrayRaster, [x, y]: [f64; 2], reach: f64) -> bool {
    let (right, bottom) = (f64::from(page.width()) - reach, f64::from(page.height()) - reach);
    if !(reach..right).contains(&x) || !(reach..bottom).contains(&y) {
        return false;
    }
    let columns = (x - reach) as usize..(x + reach) as usize;
    let rows = (y - reach) as u32..(y + reach) as u32;
    let mut around: Vec<u8> = rows.flat_map(|r| page.row(r)[columns.clone()].to_vec()).collect();
    around.sort_unstable();
    f64::from(around[0]) > 0.875 * f64::from(around[around.len() / 2])
}

#[test]
fn photographed_pages_lose_their_dust_and_keep_their_words() {
    for (path, scale) in [("tests/data/lineup_page.png", 120.0), ("tests/data/lineup_text.png", 150.0)] {
        let (page, at) = (picture(path), Dpi::new(scale).unwrap());
        assert_eq!(find_dust(&page, at, 0.9), [], "{path}");
        let (mut added, mut gone) = (0, 0);
        for seed in 0..16 {
            let clear = 3.7 * at.px_per_mm();
            let (dusty, count) = dusted(&page, at, seed, |spot| is_bare(&page, spot, clear));
            let mut swept = dusty.clone();
            let found = remove_dust(&mut swept, at, 0.9);
            assert!(found <= count, "{path}: {found} of {count}");
            (added, gone) = (added + count, gone + found);
            assert_unharmed(&page, &dusty, &swept);
        }
        assert!(added >= 24 && gone as f64 >= 0.95 * f64::from(added as u32), "{path}: {gone} of {added}");
    }
}

#[test]
fn dust_among_words_never_costs_a_word_anything() {
    for (path, scale) in [("tests/data/lineup_page.png", 120.0), ("tests/data/lineup_text.png", 150.0)] {
        let (page, at) = (picture(path), Dpi::new(scale).unwrap());
        for seed in 20..26 {
            let (dusty, count) = dusted(&page, at, seed, |_| true);
            assert!(count > 10);
            let mut swept = dusty.clone();
            remove_dust(&mut swept, at, 0.9);
            assert_unharmed(&page, &dusty, &swept);
        }
    }
}

/// Outside of the dust and of the pixels beside it all is as it was on the clean page.
#[track_caller]
fn assert_unharmed(page: &GrayRaster, dusty: &GrayRaster, swept: &GrayRaster) {
    let own = differs(page, dusty);
    let outside = page.pixels().iter().zip(swept.pixels()).zip(&own).filter(|(_, own)| !**own);
    assert!(outside.into_iter().all(|((a, b), _)| a == b), "a word was touched");
}

#[test]
fn the_demo_keeps_its_stipple_but_for_a_few_stray_dots() {
    for (name, most) in [("ink", 4), ("sea", 2), ("weed", 6)] {
        let sheet = picture(&format!("demo/tidewrack/tidewrack-{name}.png"));
        let found = find_dust(&sheet, dpi(), 0.5);
        assert!(found.len() <= most, "{name}: {found:?}");
    }
}

/// Sheets of strokes, dots and dust anywhere.
fn sheets() -> impl Strategy<Value = Sheet> {
    let mark = (0.0..400.0_f64, 0.0..300.0_f64, 0.5..4.0_f64, 0.0..60.0_f64, 0.0..TAU, 0..160_u8);
    (proptest::collection::vec(mark, 0..40), 150.0..255.0_f64, 0.0..6.0_f64).prop_map(
        |(marks, paper, noise)| {
            let mut sheet = Sheet::new(400, 300, paper, noise);
            for (i, (x, y, radius, long, angle, gray)) in marks.into_iter().enumerate() {
                let long = if i % 3 == 0 { long } else { 0.0 };
                let to = [x + long * libm::cos(angle), y + long * libm::sin(angle)];
                sheet.stroke([x, y], to, radius, gray);
            }
            sheet
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn no_pixel_gets_darker_and_sweeping_twice_is_sweeping_once(sheet in sheets(), largest in 0.05..1.5_f64) {
        let mut once = sheet.0.clone();
        let gone = remove_dust(&mut once, dpi(), largest);
        prop_assert!(once.pixels().iter().zip(sheet.0.pixels()).all(|(a, b)| a >= b));
        prop_assert_eq!(gone == 0, once == sheet.0);
        let mut twice = once.clone();
        prop_assert_eq!(remove_dust(&mut twice, dpi(), largest), 0);
        prop_assert!(twice == once);
    }

    #[test]
    fn a_larger_limit_finds_what_a_smaller_one_does(sheet in sheets(), a in 0.0..2.0_f64, b in 0.0..2.0_f64) {
        let (less, more) = (find_dust(&sheet.0, dpi(), a.min(b)), find_dust(&sheet.0, dpi(), a.max(b)));
        prop_assert!(less.iter().all(|s| more.iter().any(|m| m.rect == s.rect)), "{:?} {:?}", less, more);
    }
}

#[test]
fn an_a4_sheet_with_three_hundred_specks_anywhere_loses_most_of_them() {
    let mut sheet = Sheet::new(2480, 3508, 230.0, 2.0);
    let mut random = SplitMix::new(300);
    for _ in 0..300 {
        let [x, y] = [2480.0, 3508.0].map(|side| side * random.uniform());
        let radius = 0.5 + 1.7 * random.uniform() * random.uniform();
        sheet.dot(x, y, radius, (30.0 + 140.0 * random.uniform()) as u8);
    }
    // Three of a kind within four millimetres of one another may as well be a stipple, and a few are.
    let found = find_dust(&sheet.0, dpi(), 0.5).len();
    assert!((285..=300).contains(&found), "{found}");
}
