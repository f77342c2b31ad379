use proptest::prelude::*;

use super::*;
use slipsheet_base::geometry::{Point, Rect};
use slipsheet_base::units::Size;

/// Folds a row of faces around their creases, a quarter turn at each, and gives where each crease ends up.
fn folded_row(widths: &[f64]) -> Vec<Point> {
    let (mut at, mut along) = (Point::new(0.0, 0.0), Point::new(1.0, 0.0));
    let mut corners = vec![at];
    for w in widths {
        at = Point::new(at.x + along.x * w, at.y + along.y * w);
        along = Point::new(-along.y, along.x);
        corners.push(at);
    }
    corners
}

fn any_block() -> impl Strategy<Value = Block> {
    (40.0..300.0_f64, 40.0..300.0_f64, 1..300_u32, 0.05..0.4_f64)
        .prop_map(|(width, height, leaves, caliper)| Block { width, height, leaves, caliper })
}

proptest! {
    #[test]
    fn a_sleeve_closes_and_slips_over_the_block_with_the_allowance(
        block in any_block(), c in 0.05..1.0_f64, a in 0.0..5.0_f64, flap in 5.0..30.0_f64,
    ) {
        let wrap = Wrap { allowance: Allowance::new(a), glue_flap: GlueFlap::new(flap), ..Wrap::default() };
        let net = Net::new(&wrap, &block, c).unwrap();
        let widths: Vec<f64> = net.faces.iter().map(|f| f.rect.width).collect();
        let corners = folded_row(&widths[..4]);
        // Four quarter turns come back to where they began: opposite faces are equal.
        prop_assert!(corners[4].distance(corners[0]) < 1e-9);
        // The middle of the board lies half a caliper outside of the clear inside; the flap takes one more.
        let (clear_width, clear_thickness) = (corners[2].x - c, corners[2].y - 2.0 * c);
        prop_assert!((clear_width - block.width - a).abs() < 1e-9, "{clear_width}");
        prop_assert!((clear_thickness - block.thickness() - a).abs() < 1e-9, "{clear_thickness}");
        let girth = 2.0 * (block.width + block.thickness() + 2.0 * a + 3.0 * c);
        prop_assert!((widths.iter().sum::<f64>() - girth - flap).abs() < 1e-9);
        prop_assert!((net.size.width.get() - girth - flap).abs() < 1e-9);
        prop_assert!((net.size.height.get() - block.height).abs() < 1e-9);
    }

    #[test]
    fn a_folded_cover_holds_the_block_and_both_flaps(
        block in any_block(), c in 0.05..1.0_f64, a in 0.0..5.0_f64, flap in 5.0..40.0_f64,
    ) {
        let wrap = Wrap {
            kind: WrapKind::FoldedCover,
            allowance: Allowance::new(a),
            flap_width: FlapWidth::new(flap),
            ..Wrap::default()
        };
        let net = Net::new(&wrap, &block, c).unwrap();
        let widths: Vec<f64> = net.faces.iter().map(|f| f.rect.width).collect();
        let corners = folded_row(&widths[1..4]);
        // Spine and covers make three sides; the flaps lie along the inside of both covers.
        prop_assert!((corners[3].x - corners[0].x).abs() < 1e-9);
        prop_assert!((corners[1].x - c - block.width - a).abs() < 1e-9);
        prop_assert!((corners[2].y - 3.0 * c - block.thickness() - a).abs() < 1e-9);
        prop_assert_eq!(widths[0], widths[4]);
    }

    #[test]
    fn a_slipcase_closes_in_space(
        block in any_block(), c in 0.05..1.0_f64, a in 0.0..5.0_f64, flap in 5.0..15.0_f64,
    ) {
        let wrap = Wrap {
            kind: WrapKind::Slipcase,
            allowance: Allowance::new(a),
            glue_flap: GlueFlap::new(flap),
            ..Wrap::default()
        };
        let net = Net::new(&wrap, &block, c).unwrap();
        let face = |name| net.face(name).unwrap();
        let (front, fore, back, head, foot) = (
            face(FaceName::Front), face(FaceName::ForeEdge), face(FaceName::Back),
            face(FaceName::Head), face(FaceName::Foot),
        );
        // The front stays; fore edge and walls stand up from it, and the back comes to lie over it.
        prop_assert!((fore.x + fore.width - front.x).abs() < 1e-9 && (back.width - front.width).abs() < 1e-9);
        // Where the back lies above the front is where the walls end and their glue flaps turn in.
        prop_assert!((head.height - fore.width).abs() < 1e-9 && (foot.height - fore.width).abs() < 1e-9);
        prop_assert!((head.y + head.height - front.y).abs() < 1e-9);
        prop_assert!((foot.y - front.y - front.height).abs() < 1e-9);
        // One flap lies inside the back.
        prop_assert!((fore.width - 2.0 * c - block.thickness() - a).abs() < 1e-9);
        // Flaps of the fore edge lie inside head and foot, where it has any.
        let dust = net.faces.iter().filter(|f| f.name == FaceName::GlueFlap).count() == 4;
        let inside = front.height - c - if dust { 2.0 * c } else { 0.0 };
        prop_assert!((inside - block.height - a).abs() < 1e-9);
        // From the inner surface of the fore edge to the open side the block lies flush.
        prop_assert!((front.width - c / 2.0 - block.width).abs() < 1e-9);
        prop_assert!((head.width - block.width).abs() < 1e-9);
    }

    #[test]
    fn a_net_lies_in_its_box_and_its_glue_and_scores_lie_in_the_net(
        block in any_block(), c in 0.05..1.0_f64, kind in 0..4_usize, flap in 5.0..15.0_f64,
    ) {
        let wrap = Wrap {
            kind: WrapKind::ALL[kind],
            band_height: BandHeight::new(30.0),
            flap_width: FlapWidth::new(20.0),
            glue_flap: GlueFlap::new(flap),
            ..Wrap::default()
        };
        let net = Net::new(&wrap, &block, c).unwrap();
        let (w, h) = (net.size.width.get(), net.size.height.get());
        let all = Rect { x: -1e-9, y: -1e-9, width: w + 2e-9, height: h + 2e-9 };
        prop_assert!(net.lines().iter().all(|l| all.contains(l.from) && all.contains(l.to)));
        let reach = |pick: fn(&Point) -> f64| net.outline.iter().map(pick).fold(0.0, f64::max);
        prop_assert!((reach(|p| p.x) - w).abs() < 1e-9 && (reach(|p| p.y) - h).abs() < 1e-9);
        let area = |p: &[Point]| {
            let next = p.iter().cycle().skip(1);
            p.iter().zip(next).map(|(a, b)| a.x * b.y - b.x * a.y).sum::<f64>() / 2.0
        };
        // Both are convex parts of the outline, so glued area and the whole have areas that add up.
        let glued: f64 = net.glue.iter().map(|g| area(g).abs()).sum();
        prop_assert!(area(&net.outline) > glued && (glued > 0.0) == wrap.kind.is_glued());
        // Every score ends on the outline's corners or within it.
        let inside = |p: Point| winding(&net.outline, p);
        for (a, b) in &net.scores {
            let middle = Point::new((a.x + b.x) / 2.0, (a.y + b.y) / 2.0);
            prop_assert!(inside(middle), "{a:?} {b:?}");
        }
        for g in &net.glue {
            let n = g.len() as f64;
            let middle = Point::new(g.iter().map(|p| p.x).sum::<f64>() / n, g.iter().map(|p| p.y).sum::<f64>() / n);
            prop_assert!(inside(middle));
        }
    }

    #[test]
    fn nets_on_a_sheet_lie_within_its_room_and_keep_their_gap(
        w in 10.0..150.0_f64, h in 10.0..150.0_f64, room_w in 20.0..400.0_f64, room_h in 20.0..400.0_f64,
        gap in 0.0..8.0_f64,
    ) {
        let (net, room) = (Size::mm(w, h), Rect { x: 5.0, y: 7.0, width: room_w, height: room_h });
        let layout = arrange(net, room, gap);
        prop_assert_eq!(layout.places.len() as u32, layout.blocks.iter().map(|b| b.count()).sum::<u32>());
        let rects: Vec<Rect> = layout.places.iter().map(|p| p.rect(net)).collect();
        for (i, r) in rects.iter().enumerate() {
            prop_assert!(r.x > room.x - 1e-5 && r.y > room.y - 1e-5);
            prop_assert!(r.x + r.width < room.x + room.width + 1e-5);
            prop_assert!(r.y + r.height < room.y + room.height + 1e-5);
            for s in &rects[..i] {
                let across = (r.x - s.x - s.width).max(s.x - r.x - r.width);
                let down = (r.y - s.y - s.height).max(s.y - r.y - r.height);
                prop_assert!(across.max(down) > gap - 1e-5, "{r:?} and {s:?}");
            }
        }
        // The corners of the net come to lie where the rectangle says.
        for place in &layout.places {
            let at = place.sheet_from_net(net);
            let (a, r) = (at.bounds(Rect { x: 0.0, y: 0.0, width: w, height: h }), place.rect(net));
            prop_assert!((a.x - r.x).abs() < 1e-9 && (a.width - r.width).abs() < 1e-9 && (a.y - r.y).abs() < 1e-9);
        }
    }
}

/// Whether a point lies inside a polygon, by the parity of crossings.
fn winding(polygon: &[Point], p: Point) -> bool {
    let edges = polygon.iter().zip(polygon.iter().cycle().skip(1));
    let crossed = edges
        .filter(|(a, b)| (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x));
    crossed.count() % 2 == 1
}

/// Pieces of `w x h` on a room, both in whole mm without gaps, by trying every single cut.
fn two_blocks(w: u32, h: u32, room: (u32, u32)) -> u32 {
    let grid = |x: u32, y: u32| ((x / w) * (y / h)).max((x / h) * (y / w));
    let beside = (0..=room.0).map(|x| grid(x, room.1) + grid(room.0 - x, room.1)).max().unwrap();
    let below = (0..=room.1).map(|y| grid(room.0, y) + grid(room.0, room.1 - y)).max().unwrap();
    beside.max(below)
}

/// The most by any number of guillotine cuts.
fn guillotine(w: usize, h: usize, room: (usize, usize)) -> u32 {
    let mut best = vec![vec![0_u32; room.1 + 1]; room.0 + 1];
    for x in 0..=room.0 {
        for y in 0..=room.1 {
            let mut most = u32::from((x >= w && y >= h) || (x >= h && y >= w));
            most = (1..=x / 2).map(|i| best[i][y] + best[x - i][y]).fold(most, u32::max);
            most = (1..=y / 2).map(|i| best[x][i] + best[x][y - i]).fold(most, u32::max);
            best[x][y] = most;
        }
    }
    best[room.0][room.1]
}

#[test]
fn the_layout_is_the_best_of_two_blocks_and_never_more_than_any_cutting_gives() {
    let (mut mixed, mut all) = (0, 0);
    for (w, h) in [(3, 5), (4, 7), (5, 5), (2, 9), (7, 11)] {
        for x in (5..40).step_by(3) {
            for y in (5..40).step_by(4) {
                let room = Rect { x: 0.0, y: 0.0, width: f64::from(x), height: f64::from(y) };
                let layout = arrange(Size::mm(f64::from(w), f64::from(h)), room, 0.0);
                let found = layout.places.len() as u32;
                assert_eq!(found, two_blocks(w, h, (x, y)), "{w} x {h} on {x} x {y}");
                assert!(found <= guillotine(w as usize, h as usize, (x as usize, y as usize)));
                mixed += u32::from(layout.blocks.len() == 2);
                all += 1;
            }
        }
    }
    assert!(mixed > all / 10, "{mixed} of {all} mixed");
}
