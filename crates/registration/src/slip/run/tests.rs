use super::*;
use crate::slip::stats::normal_cdf;
use crate::slip::study::StudyOptions;
use slipsheet_core::geometry::Point;
use slipsheet_core::press::{Drift, Offset, Press, Spread};
use slipsheet_document::acceptance::Acceptance;

/// Two boxes with a trap, of which a copy sells as an offset printer would have it.
fn printing(trap: f64) -> (Printing, Images) {
    let (mut printing, images) = super::testing::two_boxes(trap);
    printing.acceptance = Acceptance::of(0.15, 0.05, None);
    (printing, images)
}

/// How many of the first copies would sell.
fn sold(study: &Study, printing: &Printing, seed: u64, copies: usize) -> Sold {
    let slipper = Slipper::of(printing, Face::Front, seed);
    let openings = openings(study, printing.acceptance.share, &slipper, copies);
    Sold::of_openings(&openings, &printing.acceptance)
}

fn study(printing: &Printing, images: &Images) -> Study {
    Study::of(printing, images, &StudyOptions::of(&printing.press, Face::Front)).unwrap()
}

#[test]
fn the_share_of_good_copies_is_that_of_the_normal_distribution() {
    // One straight edge opens when the slip between the inks along x exceeds trap + accepted gap; between
    // two passes of spread s that slip has the deviation s times the root of 2.
    let (mut printing, images) = printing(0.3);
    printing.press =
        Press { between_passes: Spread::of(0.3, 0.5, 0.0, 0.0), drift: Drift::default(), ..Press::default() };
    let study = study(&printing, &images);
    let n = 4000;
    let share = |printing: &Printing| sold(&study, printing, 7, n).exact();
    let apart = share(&printing);
    let wanted = normal_cdf(0.45 / (0.3 * std::f64::consts::SQRT_2));
    assert!((apart.low..=apart.high).contains(&wanted), "{wanted} is not in {apart:?}");
    // In one pass the inks move together, but for the spread within it.
    printing.sheet.layers[1].with = Some(printing.sheet.layers[0].id);
    printing.press.within_pass = Spread::of(0.2, 0.2, 0.0, 0.0);
    let together = share(&printing);
    let wanted = normal_cdf(0.45 / (0.2 * std::f64::consts::SQRT_2));
    assert!((together.low..=together.high).contains(&wanted), "{wanted} is not in {together:?}");
}

#[test]
fn a_copy_sells_by_its_gaps_as_by_what_its_opening_needs() {
    let disc = |x: f64, y: f64| libm::hypot(x - 30.0, y - 20.0) < 10.0;
    let (printing, images) = super::testing::shapes(&[&|x, y| !disc(x, y), &disc]);
    let study = study(&printing, &images);
    let slipper = Slipper::of(&printing, Face::Front, 5);
    let mut sold = 0;
    for (gap, share) in [(0.01, 0.0), (0.15, 0.05), (0.5, 0.05), (0.5, 0.4), (1.0, 1.0)] {
        let acceptance = Acceptance::of(gap, share, None);
        for copy in 0..200 {
            let slips = slipper.slips(copy);
            let by_opening = opening(&study, acceptance.share, &slips).sells(&acceptance);
            assert_eq!(sells(&study, &acceptance, &slips), by_opening, "copy {copy}, {gap} mm, {share}");
            sold += usize::from(by_opening);
        }
    }
    assert!((250..950).contains(&sold), "{sold}");
}

#[test]
fn an_offset_shifts_every_copy_and_the_share_of_good_ones() {
    // A press that never scatters: every copy lies off alike, and an offset past the tolerance spoils all.
    let (mut printing, images) = printing(0.3);
    printing.press = Press { between_passes: Spread::default(), ..Press::default() };
    let study = study(&printing, &images);
    let good = |printing: &Printing| sold(&study, printing, 3, 40).sold;
    assert_eq!(good(&printing), 40);
    let tolerance = study.tolerance(&printing.acceptance).least().unwrap().0;
    for (dx, held) in [(-0.9 * tolerance, 40), (-1.1 * tolerance, 0), (3.0 * tolerance, 40)] {
        printing.press.offset = Offset::of(dx, 0.0, 0.0, 0.0);
        assert_eq!(good(&printing), held, "{dx}");
    }
    // In one pass, or on a press with one drum and one ink, there is nothing to lie off.
    printing.press.offset = Offset::of(-1.1 * tolerance, 0.0, 0.0, 0.0);
    printing.press.within_pass = Spread::default();
    printing.sheet.layers[1].with = Some(printing.sheet.layers[0].id);
    assert_eq!(good(&printing), 40);
    printing.press.drums = 1;
    assert_eq!(good(&printing), 0);
    // With scatter, the share is that of a normal distribution about the offset.
    printing.press = Press { between_passes: Spread::of(0.3, 0.5, 0.0, 0.0), ..printing.press };
    let share = sold(&study, &printing, 7, 4000).exact();
    let wanted = normal_cdf((0.45 - 1.1 * tolerance) / (0.3 * std::f64::consts::SQRT_2));
    assert!((share.low..=share.high).contains(&wanted), "{wanted} is not in {share:?}");
}

#[test]
fn a_run_is_the_same_every_time_and_comes_in_order() {
    let (printing, images) = printing(0.2);
    let options = RunOptions { copies: 30, seed: 5, ..RunOptions::default() };
    let draw = || {
        let run = SimulatedRun::new(&printing, &images, study(&printing, &images), options).unwrap();
        let mut copies = Vec::new();
        let summary = run.each(&|| false, &mut |c| copies.push(c.clone())).unwrap();
        (copies, summary)
    };
    let (copies, summary) = draw();
    assert!(copies.iter().enumerate().all(|(i, c)| c.index == i) && copies.len() == 30);
    assert_eq!((copies.clone(), summary.clone()), draw());
    assert_eq!(summary.sold, Sold::of(&copies, &printing.acceptance));
    let likely = summary.sold.likely();
    assert!(likely.low < summary.sold.share() && summary.sold.share() < likely.high);
    // Copies that slipped far look more different than those that did not.
    let far = |c: &Copied| libm::hypot(c.slips[1].dx - c.slips[0].dx, c.slips[1].dy - c.slips[0].dy);
    let most = copies.iter().max_by(|a, b| far(a).total_cmp(&far(b))).unwrap();
    let least = copies.iter().min_by(|a, b| far(a).total_cmp(&far(b))).unwrap();
    assert!(most.change.mean > least.change.mean && most.change.most > 0.0, "{most:?} {least:?}");
    let [_, _, worst] = summary.ranked;
    assert!(copies.iter().all(|c| c.opening.needs <= copies[worst].opening.needs));
}

#[test]
fn a_run_can_be_stopped() {
    let (printing, images) = printing(0.2);
    let run =
        SimulatedRun::new(&printing, &images, study(&printing, &images), RunOptions::default()).unwrap();
    let count = std::cell::Cell::new(0);
    let ended = run.each(&|| count.get() > 3, &mut |_| count.set(count.get() + 1));
    assert_eq!(ended.unwrap_err(), SlipError::Cancelled);
    assert!(count.get() < 100);
}

#[test]
fn drift_moves_later_copies_along_the_sheets_travel() {
    let (mut printing, _) = printing(0.2);
    printing.press = Press {
        between_passes: Spread::default(),
        within_pass: Spread::default(),
        drift: Drift::new(2.0),
        ..Press::default()
    };
    let slips = Slipper::of(&printing, Face::Front, 1).slips(500);
    assert_eq!((slips[0].dy, slips[1].dy, slips[1].dx), (0.0, 1.0, 0.0));
}

#[test]
fn a_run_that_was_stopped_goes_on_where_it_was() {
    let (printing, images) = printing(0.2);
    let options = RunOptions { copies: 11, seed: 5, ..RunOptions::default() };
    let run = SimulatedRun::new(&printing, &images, study(&printing, &images), options).unwrap();
    let mut whole = Vec::new();
    run.each(&|| false, &mut |c| whole.push(c.clone())).unwrap();
    let (asked, mut copies) = (std::cell::Cell::new(0), Vec::new());
    let stop = || asked.replace(asked.get() + 1) == 2;
    let mut take = |group: Vec<Copied>| {
        copies.extend(group);
        true
    };
    assert_eq!(run.groups(0, 3, &stop, &mut take), Err(SlipError::Cancelled));
    assert_eq!(copies, whole[..6]);
    let mut groups = 0;
    let gone = run.groups(6, 3, &|| false, &mut |group| {
        copies.extend(group);
        groups += 1;
        groups < 1
    });
    assert_eq!((gone, copies.len()), (Ok(false), 9));
    let mut take = |group: Vec<Copied>| {
        copies.extend(group);
        true
    };
    assert_eq!(run.groups(9, 3, &|| false, &mut take), Ok(true));
    assert_eq!(copies, whole);
}

#[test]
fn the_painted_change_grows_with_the_slip_and_is_nothing_without_one() {
    let (printing, images) = printing(0.2);
    let run =
        SimulatedRun::new(&printing, &images, study(&printing, &images), RunOptions::default()).unwrap();
    let painter = &run.painter;
    let at = |dx: f64| painter.change(&[Affine::IDENTITY, Affine::shift(dx, 0.0)]).mean;
    assert_eq!(at(0.0), 0.0);
    let (small, large) = (at(-0.3), at(-1.2));
    assert!(small > 0.0 && large > 2.5 * small, "{small} {large}");
    let map = crate::slip::map::SlipMap::of(painter, 1, 1.0, 5, &|| false).unwrap().unwrap();
    assert_eq!(map.changes[12], Change::default());
    assert!((map.mean_at(-0.5, 0.0) - map.changes[11].mean).abs() < 1e-9);
    assert!(map.mean_at(-0.25, 0.0) > 0.0 && map.mean_at(-9.0, 0.0) > map.mean_at(-0.5, 0.0));
}

#[test]
fn a_contact_sheet_shows_every_copy_with_its_verdict() {
    let (printing, images) = printing(0.2);
    let options = RunOptions { copies: 7, ..RunOptions::default() };
    let run = SimulatedRun::new(&printing, &images, study(&printing, &images), options).unwrap();
    let mut copies = Vec::new();
    run.each(&|| false, &mut |c| copies.push(c.clone())).unwrap();
    let [good, bad, ground] = [[0, 200, 0, 255], [200, 0, 0, 255], [9, 9, 9, 255]];
    let colours = [good, bad, ground];
    let how = ContactSheet { place: Point::new(30.0, 20.0), side: 10.0, columns: 3, cell: 40, colours };
    let sheet = contact_sheet(&run, &copies, &printing.acceptance, &how);
    assert_eq!((sheet.width, sheet.height), (3 * 46 + 6, 3 * 49 + 6));
    for (i, copy) in copies.iter().enumerate() {
        let rule = sheet.at(6 + i % 3 * 46 + 20, 6 + i / 3 * 49 + 41);
        assert_eq!(rule, if copy.sells(&printing.acceptance) { good } else { bad }, "{i}");
        assert_ne!(sheet.at(6 + i % 3 * 46 + 3, 6 + i / 3 * 49 + 20), ground);
    }
    assert_eq!(sheet.at(0, 0), ground);
}

#[test]
fn extremes_lay_the_farthest_copies_over_one_another() {
    let (printing, images) = printing(0.2);
    let run =
        SimulatedRun::new(&printing, &images, study(&printing, &images), RunOptions::default()).unwrap();
    let slipped = |dx: f64| {
        let slip = |layer, dx| LayerSlip { layer, dx, ..LayerSlip::default() };
        vec![slip(0, 0.0), slip(1, dx)]
    };
    let view = View::sheet(printing.sheet.size(), Dpi::new(50.0).unwrap());
    let [left, none, right] = [-3.0, 0.0, 3.0].map(|dx| run.picture(&slipped(dx), &view));
    let extremes = |copies: &[Vec<LayerSlip>]| extremes(&run.scene, run.study.sheet, copies, &view);
    let all = extremes(&[slipped(-3.0), slipped(0.0), slipped(3.0)]);
    // Each of the two is the farthest in half of the directions.
    for (i, p) in all.pixels.iter().enumerate() {
        let mean: Vec<u8> = left.pixels[i].iter().zip(right.pixels[i]).map(|(l, r)| l.midpoint(r)).collect();
        assert_eq!(p[..], mean, "pixel {i}");
    }
    assert_eq!(extremes(&[slipped(0.0)]), none);
    assert_ne!(all, none);
}
