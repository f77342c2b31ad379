//! The estimate of bare paper held to a published method and to the grain of real paper; tests/data/README.md says where
//! the pictures come from.

use super::*;

/// A picture of the tests' data.
fn picture(name: &str) -> GrayRaster {
    crate::testing::picture(&format!("tests/data/{name}"))
}

/// Lines of type of the page stand 3.6 mm apart, as those of a book do, at this resolution.
const PAGE_DPI: f64 = 120.0;

/// How far our paper lies from another's where the page is bare by that one's account, in gray levels: on the mean, at
/// 95 %, and with its sign.
fn apart(other: &GrayRaster) -> (f64, f64, f64) {
    let (page, dpi) = (picture("lineup_page.png"), Dpi::new(PAGE_DPI).unwrap());
    let paper = Paper::of(&page, dpi).unwrap();
    let mut line = Vec::new();
    let mut off = Vec::new();
    for y in 0..page.height() {
        paper.line(paper.cell_of(f64::from(y) + 0.5, dpi), &mut line);
        for (x, (g, other)) in page.row(y).iter().zip(other.row(y)).enumerate() {
            if g.abs_diff(*other) <= 6 {
                off.push(f64::from(between(&line, paper.cell_of(x as f64 + 0.5, dpi))) - f64::from(*other));
            }
        }
    }
    assert!(off.len() > 20_000, "only {} pixels are bare", off.len());
    let mean = |of: fn(f64) -> f64| off.iter().map(|d| of(*d)).sum::<f64>() / off.len() as f64;
    let (distance, sign) = (mean(f64::abs), mean(|d| d));
    off.sort_by(|a, b| a.abs().total_cmp(&b.abs()));
    (distance, off[off.len() * 95 / 100].abs(), sign)
}

/// On a photographed page whose paper falls from 240 to 80, our paper lies between a rolling ball's (Sternberg 1983), which
/// rests on the lightest of the grain, and a polynomial's through all that is no type (after Lu and Tan 2010), a few gray
/// levels from either.
#[test]
fn the_paper_of_a_photographed_page_is_where_published_methods_find_it() {
    let (ball, fit) = (picture("background_page.png"), picture("background_page_fit.png"));
    let (from_ball, from_fit) = (apart(&ball), apart(&fit));
    assert!(from_ball.0 < 5.0 && from_ball.1 < 12.0 && from_ball.2 < 0.0, "{from_ball:.2?} from the ball");
    assert!(from_fit.0 < 4.0 && from_fit.1 < 8.0 && from_fit.2 > 0.0, "{from_fit:.2?} from the polynomial");
}

/// Pencil strokes half a millimetre wide on paper of `light` with that page's grain, and where the strokes are.
fn pencil(depth: f64, light: f64, dpi: f64) -> (GrayRaster, Vec<bool>) {
    let grain = picture("paper_grain.png");
    let (width, height) = ((76.0 / 25.4 * dpi) as usize, (60.0 / 25.4 * dpi) as usize);
    let mm = |px: usize| px as f64 / dpi * 25.4;
    let drawn = |x: usize, y: usize| {
        let inside = (6.0..38.0).contains(&mm(x)) && (6.0..54.0).contains(&mm(y));
        inside && (mm(x) + mm(y) / 3.0) % 3.4 < 0.5
    };
    let strokes: Vec<bool> = (0..width * height).map(|i| drawn(i % width, i / width)).collect();
    let pixels = strokes.iter().enumerate().map(|(i, stroke)| {
        let (x, y) = (i % width, i / width);
        let fibre = (f64::from(grain.row((y % 256) as u32)[x % 256]) - 128.0) / 20.0;
        let paper = light * (1.0 - 0.06 * x as f64 / width as f64) + fibre;
        libm::round(paper * if *stroke { 1.0 - depth } else { 1.0 }).clamp(0.0, 255.0) as u8
    });
    (GrayRaster::new(width as u32, height as u32, pixels.collect()).unwrap(), strokes)
}

/// Pencil at 5 % above the grain of real paper keeps at least 95 % of its coverage, and at most 0.3 % of bare paper prints.
#[test]
fn pencil_on_real_grain_survives_and_its_paper_does_not_print() {
    for (depth, light, dpi) in
        [(0.05, 236.0, 300.0), (0.05, 214.0, 300.0), (0.05, 236.0, 600.0), (0.1, 236.0, 150.0)]
    {
        let (mut raster, strokes) = pencil(depth, light, dpi);
        let found = BarePaper::clean(&mut raster, Dpi::new(dpi).unwrap()).unwrap();
        assert!((found.gray - light * 0.97).abs() < 3.0, "{found:?}");
        let width = raster.width() as usize;
        let (mut kept, mut drawn, mut bare, mut all) = (0.0, 0.0, 0.0, 0.0);
        for (i, (g, stroke)) in raster.pixels().iter().zip(&strokes).enumerate() {
            let cover = 1.0 - f64::from(*g) / 255.0;
            if *stroke {
                (kept, drawn) = (kept + cover, drawn + 1.0);
            } else if i % width > width * 55 / 100 {
                (bare, all) = (bare + cover, all + 1.0);
            }
        }
        let (kept, bare) = (kept / drawn / depth, bare / all);
        assert!(kept >= 0.95, "{depth} at {dpi} dpi: {kept} of the pencil is kept");
        assert!(bare <= 0.003, "{depth} at {dpi} dpi: {bare} of the paper prints");
    }
}
