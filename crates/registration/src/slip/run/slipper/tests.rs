use super::*;
use crate::slip::random::SplitMix;
use crate::slip::stats::normal_cdf;
use proptest::prelude::*;
use slipsheet_core::press::{Correlation, Drift, FeedSide, LateFeed};
use slipsheet_paper::turning::Turning;

const COPIES: u64 = 20_000;

fn sheet() -> Size {
    Size::mm(200.0, 280.0)
}

fn feed() -> Feed {
    Feed { width: 200.0, foot_leads: false }
}

fn press() -> Press {
    Press { between_passes: Spread::of(0.4, 0.6, 0.1, 0.05), ..Press::default() }
}

fn slipper(passes: &[Vec<usize>], press: &Press) -> Slipper {
    Slipper::with_passes(passes.to_vec(), press, feed(), 7)
}

/// One figure of the first layer on so many copies.
fn figures(press: &Press, of: fn(&LayerSlip) -> f64) -> Vec<f64> {
    let slipper = slipper(&[vec![0]], press);
    (0..COPIES).map(|copy| of(&slipper.slips(copy)[0])).collect()
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

#[test]
fn copies_that_are_not_alike_are_drawn_each_by_itself() {
    // The formula as it stands in the module of runs, written out plainly; to the bit.
    let press = Press { offset: Offset::of(0.7, -0.2, 0.1, 0.0), drift: Drift::new(3.0), ..Press::default() };
    let passes = [vec![2, 0], vec![1]];
    let slipper = slipper(&passes, &press);
    for copy in [0, 1, 2, 511, 512, 1_000_000, u64::MAX] {
        let drawn = |stream: u64, spread: &Spread| {
            let mut random = SplitMix::keyed(7, copy, stream);
            let mut next = || random.normal();
            let [dx, dy, skew, stretch] = [next(), next(), next(), next()];
            let (sx, sy) = (spread.dx.get(), spread.dy.get());
            [dx * sx, dy * sy, skew * spread.skew.get(), stretch * spread.stretch.get()]
        };
        let slips = slipper.slips_at(copy, 50.0);
        for (slip, (lead, at)) in slips.iter().zip([(0, 0.0), (0, 0.0), (1, 1.0)]) {
            let together = drawn(2 * lead, &press.between_passes);
            let own = drawn(2 * slip.layer as u64 + 1, &press.within_pass);
            let own = if at < 1.0 { own } else { [0.0; 4] };
            let dx = together[0] + own[0] + 0.7 * at;
            assert_eq!(slip.dx.to_bits(), dx.to_bits(), "copy {copy}, layer {}", slip.layer);
            let dy = together[1] + own[1] + -0.2 * at + 3.0 * at * 50.0 / 1000.0;
            assert_eq!(slip.dy.to_bits(), dy.to_bits(), "copy {copy}, layer {}", slip.layer);
        }
    }
}

#[test]
fn alike_copies_scatter_as_far_and_follow_one_another_as_the_correlation_says() {
    // Closed forms of a stationary first-order autoregression: the variance is that of the press, the correlation
    // of copies n apart is r^n. Bartlett's formula gives the standard errors of both from n numbers.
    for r in [0.0, 0.3, 0.8, 0.95] {
        let press = Press { correlation: Correlation::new(r), ..press() };
        let dx = figures(&press, |s| s.dx);
        let (n, m) = (COPIES as f64, mean(&dx));
        let together = |lag: usize| {
            dx.iter().zip(&dx[lag..]).map(|(a, b)| (a - m) * (b - m)).sum::<f64>() / (n - lag as f64)
        };
        let variance = together(0);
        let swing = libm::sqrt(2.0 / n * (1.0 + r * r) / (1.0 - r * r));
        assert!((variance / 0.16 - 1.0).abs() < 4.0 * swing, "{r}: {variance}");
        for lag in [1, 2, 7] {
            let (found, wanted) = (together(lag) / variance, r.powi(lag as i32));
            let lags = lag as f64;
            let error = ((1.0 + r * r) * (1.0 - r.powi(2 * lag as i32)) / (1.0 - r * r)
                - 2.0 * lags * r.powi(2 * lag as i32))
                / n;
            assert!((found - wanted).abs() < 4.0 * error.sqrt(), "{r}, lag {lag}: {found} for {wanted}");
        }
        // What a mean of such numbers swings by.
        let of_mean = 0.4 * libm::sqrt((1.0 + r) / (1.0 - r) / n);
        assert!(m.abs() < 4.0 * of_mean, "{r}: mean {m}");
    }
}

#[test]
fn passes_and_figures_do_not_become_alike_with_the_copies() {
    let press = Press { correlation: Correlation::new(0.9), ..press() };
    let slipper = slipper(&[vec![0], vec![1]], &press);
    // Far apart, so that they do not depend on each other.
    let all: Vec<_> = (0..4000).map(|i| slipper.slips(i * 1021 + 3)).collect();
    for (name, pair) in [
        ("passes", all.iter().map(|s| s[0].dx * s[1].dx / 0.16).collect::<Vec<f64>>()),
        ("across and along", all.iter().map(|s| s[0].dx * s[0].dy / 0.24).collect()),
    ] {
        // The product of two normal numbers has the variance 1.
        assert!(mean(&pair).abs() < 4.0 / libm::sqrt(4000.0), "{name}: {}", mean(&pair));
    }
}

#[test]
fn copies_that_slip_far_come_in_bunches_but_never_in_larger_ones_than_is_said() {
    for (r, least) in [(0.0, 0.85), (0.5, 1.2), (0.9, 3.0)] {
        let correlation = Correlation::new(r);
        let across = figures(&Press { correlation, ..press() }, |s| s.dx);
        let far = |v: &f64| f64::from(v.abs() > 0.5);
        let p = mean(&across.iter().map(far).collect::<Vec<_>>());
        let counts: Vec<f64> = across.chunks(100).map(|c| c.iter().map(far).sum()).collect();
        let middle = mean(&counts);
        let variance = mean(&counts.iter().map(|c| (c - middle).powi(2)).collect::<Vec<_>>());
        // Against that of independent copies; 200 counts tell it within a tenth, so 30 % is three errors.
        let more = variance / (100.0 * p * (1.0 - p));
        assert!((least..correlation.bunching() * 1.3).contains(&more), "{r}: {more}");
    }
}

/// The largest distance of the distribution of numbers from another (Kolmogorov's statistic), times the root of how
/// many there are: above 1.95 in one case of a thousand.
fn kolmogorov(mut values: Vec<f64>, cdf: impl Fn(f64) -> f64) -> f64 {
    values.sort_by(f64::total_cmp);
    let n = values.len() as f64;
    let off =
        |(i, v): (usize, &f64)| (cdf(*v) - i as f64 / n).abs().max((cdf(*v) - (i + 1) as f64 / n).abs());
    values.iter().enumerate().map(off).fold(0.0, f64::max) * libm::sqrt(n)
}

#[test]
fn how_far_a_copy_slips_does_not_depend_on_how_alike_copies_are() {
    for r in [0.0, 0.5, 0.95] {
        let late_feed = LateFeed::new(FeedSide::Left, 0.5);
        let scatter = Spread::of(0.4, 0.0, 0.0, 0.0);
        let correlation = Correlation::new(r);
        let press = Press { between_passes: scatter, late_feed, correlation, ..Press::default() };
        let slipper = slipper(&[vec![0]], &press);
        // At every place between the copies that are drawn first.
        let slips: Vec<_> = (0..5000).map(|i| slipper.slips(i * 1021)[0]).collect();
        let across = kolmogorov(slips.iter().map(|s| s.dx).collect(), |v| normal_cdf(v / 0.4));
        assert!(across < 1.95, "{r}: {across}");
        // How late the left edge is: half-normal, 2 Phi(v / sigma) - 1.
        let late = slips.iter().map(|s| -2.0 * s.dy).collect();
        let late = kolmogorov(late, |v| (2.0 * normal_cdf(v / 0.5) - 1.0).max(0.0));
        assert!(late < 1.95, "{r}: {late}");
    }
}

#[test]
fn a_late_feed_moves_prints_towards_the_lead_edge_on_its_side() {
    for side in FeedSide::ALL {
        let press = Press { late_feed: LateFeed::new(side, 0.5), ..press() };
        let n = COPIES as f64;
        // The mean of a half-normal amount is sigma times the root of 2/pi, and the middle moves by half of it.
        let late = 0.5 * libm::sqrt(2.0 / std::f64::consts::PI);
        let dy = mean(&figures(&press, |s| s.dy));
        let along = libm::hypot(0.6, press.late_feed.deviation_at_middle());
        assert!((dy + late / 2.0).abs() < 4.0 * along / libm::sqrt(n), "{side:?}: {dy} for {late}");
        // At its own edge all of it, at the other nothing, whatever the press scatters besides.
        let at = |x: f64| {
            let slipper = slipper(&[vec![0]], &press);
            let of = |copy| slipper.slips(copy)[0].shift_at(Point::new(x, 140.0), sheet()).y;
            (0..COPIES).map(of).sum::<f64>() / n
        };
        let (left, right) = (at(0.0), at(200.0));
        let (own, other) = match side {
            FeedSide::Left => (left, right),
            FeedSide::Right => (right, left),
        };
        // A twist of 0.1 degrees is 0.17 mm there, and the late side scatters by itself.
        let error = 4.0 * libm::sqrt(0.36 + 0.03 + 0.1) / libm::sqrt(n);
        assert!((own + late).abs() < error && other.abs() < error, "{side:?}: {own}, {other} for {late}");
    }
}

#[test]
fn inks_of_a_pass_are_late_together_and_passes_each_by_itself() {
    let late_feed = LateFeed::new(FeedSide::Right, 0.5);
    let within_pass = Spread::default();
    let press = Press { between_passes: Spread::default(), within_pass, late_feed, ..Press::default() };
    let slipper = slipper(&[vec![0, 1], vec![2]], &press);
    for copy in 0..50 {
        let slips = slipper.slips(copy);
        assert_eq!((slips[0].dy, slips[0].skew), (slips[1].dy, slips[1].skew));
        assert!((slips[0].dy - slips[2].dy).abs() > 1e-6, "copy {copy}");
    }
}

#[test]
fn a_back_whose_foot_leads_is_late_on_the_other_side() {
    let (mut printing, _) = crate::slip::run::testing::two_boxes(0.0);
    printing.press.between_passes = Spread::default();
    printing.press.late_feed = LateFeed::new(FeedSide::Right, 0.5);
    printing.sheet.layers.iter_mut().for_each(|l| l.face = Face::Back);
    let sheet = printing.sheet.size();
    let edges = |printing: &Printing, at: f64| {
        let slip = Slipper::of(printing, Face::Back, 3).slips(5)[0];
        slip.shift_at(Point::new(at, sheet.height.get() / 2.0), sheet).y
    };
    let turned = |turning: Turning| Printing {
        sheet: slipsheet_document::sheet::Sheet { turning, ..printing.sheet.clone() },
        ..printing.clone()
    };
    let foot_leads = |foot: bool| {
        let mut all = Turning::ALL.into_iter();
        turned(all.find(|t| t.leads_with_the_foot() == foot).unwrap())
    };
    let (head, foot) = (foot_leads(false), foot_leads(true));
    let width = sheet.width.get();
    assert!(edges(&head, width) < -0.01 && edges(&head, 0.0).abs() < 1e-9);
    // The machine's right is on the left of such a back, and its lead edge below.
    assert!(edges(&foot, 0.0) > 0.01 && edges(&foot, width).abs() < 1e-9);
}

proptest! {
    #[test]
    fn any_copy_is_found_by_itself_and_is_the_same_each_time(
        copy: u64, seed: u64, r in 0.0..=0.95_f64, deviation in 0.0..=2.0_f64,
    ) {
        let late_feed = LateFeed::new(FeedSide::Left, deviation);
        let press = Press { correlation: Correlation::new(r), late_feed, ..press() };
        let of = |copy| Slipper::with_passes(vec![vec![0, 1], vec![2]], &press, feed(), seed).slips_at(copy, 1.0);
        let slips = of(copy);
        prop_assert_eq!(&slips, &of(copy));
        prop_assert!(slips.iter().all(|s| [s.dx, s.dy, s.skew, s.stretch].iter().all(|v| v.abs() < 20.0)));
        // Luck goes over from one copy to the next without a seam: a step is rarely many deviations.
        let next = of(copy.wrapping_add(1));
        let step = (next[0].dx - slips[0].dx).abs();
        prop_assert!(step < 7.0 * 0.6 * libm::sqrt(2.0 * (1.0 - r) + 0.2), "{}", step);
    }
}

#[test]
fn a_layer_that_is_hidden_takes_no_place_among_the_passes() {
    use crate::slip::run::testing::shapes;
    use slipsheet_paper::fold::Face;
    let (mut printing, _) = shapes(&[&|x, _| x < 20.0, &|x, _| x > 40.0, &|x, _| x > 20.0 && x < 40.0]);
    printing.press = Press { offset: Offset::of(0.7, 0.0, 0.0, 0.0), ..press() };
    let slips = |p: &Printing| Slipper::of(p, Face::Front, 3).slips(5);
    printing.sheet.layers[0].visible = false;
    let hidden = slips(&printing);
    assert!(hidden.iter().all(|s| s.layer != 0));
    // Without it the two others are the first pass and the second, as the offset has it.
    let of_passes =
        Slipper::with_passes(vec![vec![1], vec![2]], &printing.press, Feed::of(&printing, Face::Front), 3);
    assert_eq!(hidden, of_passes.slips(5));
}
