use super::*;
use crate::slip::random::SplitMix;
use crate::slip::run::LayerSlip;
use crate::slip::run::testing::two_boxes;
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::units::{SheetFormat, Size};

/// Two boxes that meet in the middle of a sheet, each with grain in it or even, and white around them.
fn painter(grain: u64) -> (Painter, Printing) {
    let (mut printing, mut images) = two_boxes(0.2);
    printing.sheet.format = SheetFormat::Custom(Size::mm(150.0, 130.0));
    for (i, layer) in printing.sheet.layers.iter().enumerate() {
        let mut random = SplitMix::new(i as u64);
        let key = &layer.art[0].scan.key;
        let pixels = (0..1500 * 1300)
            .map(|p| {
                let inside =
                    [750..1100, 400..752][i].contains(&(p % 1500)) && (300..1000).contains(&(p / 1500));
                if inside { (60 + random.bits() % grain) as u8 } else { 255 }
            })
            .collect();
        let raster = GrayRaster::new(1500, 1300, pixels).unwrap();
        images.insert(key.clone(), std::sync::Arc::new(Pyramid::new(raster, Dpi::nearest(254.0))));
    }
    (Painter::new(&printing, &images, Face::Front, Dpi::nearest(100.0), 400.0).unwrap(), printing)
}

fn moves(printing: &Printing, slips: [[f64; 4]; 2]) -> Vec<Affine> {
    let moved = |[dx, dy, skew, stretch]: [f64; 4]| LayerSlip { layer: 0, dx, dy, skew, stretch };
    slips.map(|s| moved(s).slipped_from_meant(printing.sheet.size())).to_vec()
}

/// Some slips as presses make them, from a seed.
fn drawn(seed: u64) -> [[f64; 4]; 2] {
    let mut random = SplitMix::new(seed);
    std::array::from_fn(|_| [0.4, 0.6, 0.1, 0.05].map(|s| s * random.normal()))
}

/// Where pixels lie after a slip.
#[derive(Clone, Copy, Debug)]
enum Shifts {
    /// Every row of a tile by one shift, in sixteenths of a pixel.
    Rounded,
    /// Every pixel by its own.
    Exact,
}

/// The slow, obvious twin: pixel by pixel, every sample compared, nothing left out and no short cut but those
/// of the eye, which has a twin of its own.
fn slowly(painter: &Painter, moves: &[Affine], shifts: Shifts) -> Change {
    let seen = |moves: &[Affine]| {
        let (w, h) = (painter.width / 2, painter.height / 2);
        let mut field = Field::zeroed(w, h);
        let mut light = vec![[0.0_f64; 3]; w * h];
        for y in 0..2 * h {
            let row = |(plate, m)| -> Vec<u8> {
                let meant = painter.meant_px_from_slipped_px(m);
                (0..2 * w).map(|x| gray(plate, &meant, (x, y), shifts)).collect()
            };
            let grays: Vec<Vec<u8>> = painter.plates.iter().zip(moves).map(row).collect();
            let rows: Vec<&[u8]> = grays.iter().map(|g| &g[..]).collect();
            let mut power = Power::zeroed(2 * w);
            painter.kernel.power_row(&rows, None, power.channels.each_mut().map(|c| &mut c[..]));
            for x in 0..2 * w {
                for (light, v) in light[y / 2 * w + x / 2].iter_mut().zip(&power.channels) {
                    *light += libm::pow(f64::from(v[x]), painter.n) / 4.0;
                }
            }
        }
        for (i, light) in light.into_iter().enumerate() {
            let Xyz { x, y, z } = Xyz::from_light(light);
            for (channel, o) in field.channels.iter_mut().zip(OPPONENT) {
                channel[i] = (o[0] * x + o[1] * y + o[2] * z) as f32;
            }
        }
        let mut seen = Field::default();
        painter.eye.see(&field, &mut Work::default(), &mut seen);
        seen
    };
    let (perfect, seen) = (seen(&vec![Affine::IDENTITY; moves.len()]), seen(moves));
    let lab = |field: &Field, i: usize| Back::default().lab(field.channels.each_ref().map(|c| c[i]));
    let count = seen.channels[0].len();
    let mut differences: Vec<f64> = (0..count).map(|i| lab(&perfect, i).ciede2000(lab(&seen, i))).collect();
    differences.sort_by(|a, b| b.total_cmp(a));
    let mean = differences.iter().sum::<f64>() / count as f64;
    Change { mean, most: differences[(0.05 * count as f64) as usize] }
}

/// The gray of a pixel after a slip: bilinear, white off the plate.
fn gray(plate: &Plate, meant: &Affine, (x, y): (usize, usize), shifts: Shifts) -> u8 {
    let (cx, cy) = (x as f64 + 0.5, y as f64 + 0.5);
    let at = match shifts {
        Shifts::Exact => *meant * Point::new(cx, cy),
        Shifts::Rounded => {
            let middle = (x / TILE * TILE + TILE / 2) as f64;
            let to = *meant * Point::new(middle, cy);
            let round = |v: f64| libm::floor(v * 16.0 + 0.5) / 16.0;
            Point::new(cx + round(to.x - middle), cy + round(to.y - cy))
        }
    };
    let (left, top) = (libm::floor(at.x - 0.5), libm::floor(at.y - 0.5));
    let (fx, fy) = (at.x - 0.5 - left, at.y - 0.5 - top);
    let pixel = |x: f64, y: f64| f64::from(plate.at(x as i64, y as i64));
    let row = |y: f64| pixel(left, y) * (1.0 - fx) + pixel(left + 1.0, y) * fx;
    (row(top) * (1.0 - fy) + row(top + 1.0) * fy + 0.5) as u8
}

#[test]
fn copies_differ_as_the_slow_way_says() {
    for (grain, n) in [(1, 2.0), (60, 2.0), (60, 1.5), (60, 1.0), (60, 1.8)] {
        let (mut painter, printing) = painter(grain);
        painter.n = n;
        painter.keep_the_perfect_print();
        let hard = [[0.0; 4], [-5.0, 7.0, 0.8, 0.6]];
        for slips in [[[0.0; 4], [0.3, 0.0, 0.0, 0.0]], drawn(1), drawn(2), hard] {
            let moves = moves(&printing, slips);
            let quick = painter.change(&moves);
            // By ten times the skew of a press one shift for a tile's row is coarse.
            let exact = if slips == hard { f64::INFINITY } else { 0.05 };
            for (shifts, near) in [(Shifts::Rounded, 0.01), (Shifts::Exact, exact)] {
                let slow = slowly(&painter, &moves, shifts);
                let off = (quick.mean - slow.mean).abs().max((quick.most - slow.most).abs());
                assert!(off < near, "grain {grain}, n {n}, {slips:?}, {shifts:?}: {quick:?} for {slow:?}");
                assert!(slow.mean > 0.02, "{slips:?} changes nothing: {slow:?}");
            }
        }
    }
}

#[test]
fn tiles_that_are_left_out_are_those_that_do_not_change() {
    let (painter, printing) = painter(1);
    let tiles = painter.columns.iter().map(Vec::len).sum::<usize>();
    let all = painter.columns.len() * painter.width.div_ceil(TILE);
    assert!(tiles > 0 && tiles < all, "{tiles} of {all}");
    let mut brush = Brush::default();
    // One that moves farther than a tile is painted whole, and the next starts from the perfect print again.
    let far = [[0.0; 4], [11.0, 0.0, 0.0, 0.0]];
    for slips in [drawn(1), drawn(2), far, drawn(3), [[0.0; 4]; 2]] {
        let moves = moves(&printing, slips);
        let mut whole = Field::zeroed(painter.width / 2, painter.height / 2);
        painter.paint(&moves, true, &mut Brush::default(), &mut whole);
        painter.look(&moves, &mut brush);
        assert!(brush.field == whole, "{slips:?}");
    }
}

#[test]
fn every_processor_paints_the_same() {
    let (mut painter, printing) = painter(60);
    let moves = moves(&printing, drawn(4));
    let change = painter.change(&moves);
    for width in Width::all() {
        painter.instructions = width;
        painter.eye = painter.eye.with_instructions(width);
        assert_eq!(painter.change(&moves), change, "{width:?}");
    }
}

#[test]
fn brushes_are_used_again_and_leave_no_trace() {
    let (painter, printing) = painter(60);
    let all: Vec<Vec<Affine>> = (0..6).map(|i| moves(&printing, drawn(i))).collect();
    let first: Vec<Change> = all.iter().map(|m| painter.change(m)).collect();
    let again: Vec<Change> = all.iter().rev().map(|m| painter.change(m)).collect();
    assert!(first.iter().eq(again.iter().rev()));
    assert_eq!(painter.brushes.lock().unwrap().len(), 1);
    assert_eq!(painter.change(&[Affine::IDENTITY; 2]), Change::default());
}
