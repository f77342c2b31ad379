use proptest::prelude::*;

use super::*;
use crate::slip::job::{JobCopies, JobStudy};
use crate::slip::run::testing::{shapes, two_boxes};
use crate::slip::run::{COPIES, Slipper, openings};
use slipsheet_core::press::{Offset, Press, Spread};
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::ids::LayerId;
use slipsheet_document::remedy::{Growth, Remedy};

fn press(between: f64, within: f64, drums: u8) -> Press {
    Press {
        drums,
        between_passes: Spread::of(between, between, 0.0, 0.0),
        within_pass: Spread::of(within, within, 0.0, 0.0),
        offset: Offset::default(),
        ..Press::default()
    }
}

/// Three inks: one to the right of x = 30 mm, one to the left of it that abuts, and type on the latter.
fn three_inks() -> (Printing, Images) {
    let within = |x: f64, y: f64, x0: f64, x1: f64| x > x0 && x < x1 && y > 5.0 && y < 35.0;
    let kind = |x: f64, y: f64| within(x, y, 8.0, 25.0) && x.fract() < 0.3 && (y * 0.5).fract() < 0.6;
    shapes(&[&|x, y| within(x, y, 30.0, 55.0), &|x, y| within(x, y, 5.0, 30.0), &kind])
}

fn found(printing: &Printing, images: &Images) -> Proposals {
    propose(printing, images, &ProposeOptions::of(printing, Face::Front), &|| false).unwrap()
}

/// The share that a run with the same seed sells, studied as the proposals are.
fn share(printing: &Printing, images: &Images) -> f64 {
    let mut printing = printing.clone();
    // As every study that figures are told of.
    let options = StudyOptions::of(&printing.press, Face::Front);
    printing.press_dpi = options.dpi;
    let study = Study::of(&printing, images, &options).unwrap();
    let slipper = Slipper::of(&printing, Face::Front, 1);
    let openings = openings(&study, printing.acceptance.share, &slipper, COPIES);
    Sold::of_openings(&openings, &printing.acceptance).share()
}

#[test]
fn the_smallest_trap_is_the_one_of_the_normal_distribution() {
    // Two passes that scatter by s slip against each other by s times the root of 2; one side of a straight edge opens
    // wider than the gap and the trap in one copy of ten when these are 1.2816 of that.
    for (s, gap) in [(0.5, 0.5), (0.6, 0.15), (0.4, 0.3)] {
        let (mut printing, images) = two_boxes(0.0);
        printing.press = press(s, 0.1, 1);
        printing.acceptance = Acceptance::of(gap, 0.05, None);
        let found = found(&printing, &images);
        let wanted = 1.2816 * s * libm::sqrt(2.0) - gap;
        let first = &found.list[0];
        assert!(first.reaches && first.change.passes == PassChange::None, "{found:?}");
        let [(layer, Remedy::Trap { with, by })] = first.answer.remedies[..] else { panic!("{first:?}") };
        // The lighter ink is the second.
        assert_eq!((layer, with), (LayerId::new(1), LayerId::new(0)));
        // A thousand copies know the tenth within some 6 %, and traps are told in steps of 0.05 mm.
        let noise = 0.06 * s * libm::sqrt(2.0) + 0.05;
        assert!((by.get() - wanted).abs() < noise, "{} mm for {wanted}", by.get());
        assert_eq!(first.change.width, by.get());
        assert!(first.title.contains("mm trap where ink 1 and ink 0 meet"), "{}", first.title);
        assert!(first.places.iter().all(|p| (p.x - 30.0).abs() < 1.0), "{:?}", first.places);
    }
}

#[test]
fn what_sells_enough_is_left_as_it_is() {
    let (mut printing, images) = two_boxes(2.0);
    let known = found(&printing, &images);
    assert!(known.is_enough() && known.list.is_empty(), "{known:?}");
    // So is a design whose inks do not meet.
    printing.sheet.layers.pop();
    assert!(found(&printing, &images).is_enough());
}

#[test]
fn every_proposal_sells_more_than_the_design_and_what_it_says_when_it_is_put_in() {
    for drums in [1, 2] {
        let (mut printing, images) = three_inks();
        printing.press = press(0.6, 0.1, drums);
        let found = found(&printing, &images);
        assert!((2..=MOST).contains(&found.list.len()), "{found:?}");
        assert_eq!(found.now.sold.share(), share(&printing, &images));
        for proposal in &found.list {
            let mut tried = printing.clone();
            tried.sheet.take_answer(&proposal.answer).unwrap();
            let sold = share(&tried, &images);
            assert_eq!(sold, proposal.outcome.sold.share(), "{}", proposal.title);
            assert!(sold > found.now.sold.share() && proposal.reaches == (sold >= 0.9), "{}", proposal.title);
            let passes = slipsheet_document::passes::passes(&tried, Face::Front).len();
            assert_eq!((proposal.outcome.passes, found.now.passes), (passes, 3));
            assert!(passes <= 3 && proposal.outcome.copies.is_some() && !proposal.places.is_empty());
            assert!(proposal.outcome.minutes.unwrap() > 0.0);
        }
        let order = |a: &Proposal, b: &Proposal| {
            a.reaches && !b.reaches || a.reaches == b.reaches && (!a.reaches || a.change <= b.change)
        };
        assert!(found.list.windows(2).all(|two| order(&two[0], &two[1])), "{found:?}");
        assert!(found.list[0].reaches);
        let paired = found.list.iter().any(|p| p.change.passes != PassChange::None);
        assert_eq!(paired, drums == 2, "{found:?}");
    }
}

#[test]
fn two_inks_share_a_pass_where_the_press_has_two_drums() {
    let (mut printing, images) = three_inks();
    printing.press = press(0.6, 0.1, 2);
    let found = found(&printing, &images);
    let pairing = found.list.iter().find(|p| p.change.passes == PassChange::Pairing).unwrap();
    assert_eq!(pairing.title, "Print ink 0 and ink 1 in one pass");
    assert!(pairing.answer.remedies.is_empty() && pairing.reaches && pairing.outcome.passes == 2);
    assert_eq!(pairing.change.colour, 0.0);
    assert!(pairing.outcome.minutes.unwrap() < found.now.minutes.unwrap_or(f64::INFINITY));
}

#[test]
fn a_trap_that_is_there_is_widened_and_a_knockout_gets_the_trap() {
    let (mut printing, images) = two_boxes(0.0);
    printing.press = press(0.6, 0.1, 1);
    let with = LayerId::new(0);
    printing.sheet.layers[1].remedies = vec![Remedy::Trap { with, by: Growth::new(0.1) }];
    let trap = found(&printing, &images).list[0].answer.remedies[0];
    let (_, Remedy::Trap { by, .. }) = trap else { panic!("{trap:?}") };
    assert!(by.get() > 0.3, "{by:?}");
    let (mut printing, images) = two_boxes(10.0);
    printing.press = press(0.6, 0.1, 1);
    let under = LayerId::new(1);
    printing.sheet.layers[0].remedies = vec![Remedy::Knockout { under, trap: Growth::new(0.0) }];
    let first = &found(&printing, &images).list[0];
    let (layer, Remedy::Knockout { trap, .. }) = first.answer.remedies[0] else { panic!("{first:?}") };
    assert!(layer == LayerId::new(0) && trap.get() > 0.3 && first.reaches, "{first:?}");
}

/// The layers of two boxes on the front, and two others on the back.
fn both_sides(front: f64, back: f64) -> (Printing, Images) {
    let within = |x: f64, y: f64, x0: f64, x1: f64| x > x0 && x < x1 && y > 5.0 && y < 35.0;
    let (mut printing, images) = shapes(&[
        &|x, y| within(x, y, 30.0, 55.0),
        &|x, y| within(x, y, 5.0, 30.0 + front),
        &|x, y| within(x, y, 30.0, 55.0),
        &|x, y| within(x, y, 5.0, 30.0 + back),
    ]);
    for layer in &mut printing.sheet.layers[2..] {
        layer.face = Face::Back;
    }
    printing.sheet.layers[3].ink = printing.sheet.layers[1].ink.clone();
    printing.press = press(0.4, 0.1, 1);
    (printing, images)
}

#[test]
fn a_copy_that_the_other_side_spoils_is_not_sold_by_this_one() {
    let studied = |printing: &Printing, images: &Images| {
        let mut printing = printing.clone();
        printing.press_dpi = StudyOptions::of(&printing.press, Face::Front).dpi;
        let study = JobStudy::of_until(&printing, images, &|| false).unwrap();
        let copies = JobCopies::of_until(&printing, images, &study, &|| false).unwrap();
        copies.sold(&printing.acceptance).unwrap().sold
    };
    // Bad behind and good in front: nothing to do in front, and it is said why.
    let (printing, images) = both_sides(2.0, 0.0);
    let front = found(&printing, &images);
    assert!(!front.is_enough() && front.list.is_empty(), "{front:?}");
    assert_eq!(front.now.sold, studied(&printing, &images));
    assert!(front.is_spoilt_by_other_side() && front.other_side == Some(front.now.sold));
    let back = ProposeOptions::of(&printing, Face::Back);
    let back = propose(&printing, &images, &back, &|| false).unwrap();
    assert!(back.list[0].reaches && !back.is_spoilt_by_other_side(), "{back:?}");
    // Bad on both: what helps in front never sells more than the back lets it, and what is told is what the job
    // sells once it is put in.
    let (printing, images) = both_sides(0.0, 0.3);
    let front = found(&printing, &images);
    assert_eq!(front.now.sold, studied(&printing, &images));
    assert!(!front.list.is_empty(), "{front:?}");
    for proposal in &front.list {
        let mut tried = printing.clone();
        tried.sheet.take_answer(&proposal.answer).unwrap();
        assert_eq!(proposal.outcome.sold, studied(&tried, &images), "{}", proposal.title);
        assert!(proposal.outcome.sold.sold <= front.other_side.unwrap().sold);
    }
}

#[test]
fn a_search_can_be_stopped() {
    let (mut printing, images) = two_boxes(0.0);
    printing.press = press(0.6, 0.1, 1);
    let stopped = propose(&printing, &images, &ProposeOptions::of(&printing, Face::Front), &|| true);
    assert_eq!(stopped, Err(SlipError::Cancelled));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]
    #[test]
    fn a_laxer_acceptance_sells_no_fewer_and_asks_for_no_wider_trap(
        gap in 0.1..1.0, wider in 0.0..0.6, share in 0.0..0.5, more in 0.0..0.4, scatter in 0.2..0.8,
    ) {
        let (mut printing, images) = two_boxes(0.0);
        printing.press = press(scatter, 0.1, 1);
        let mut look = |gap, share| {
            printing.acceptance = Acceptance::of(gap, share, None);
            let found = found(&printing, &images);
            let width = found.list.iter().find(|p| p.reaches).map(|p| p.change.width);
            (found.now, found.is_enough(), width)
        };
        let (strict, lax) = (look(gap, share), look(gap + wider, share + more));
        prop_assert!(lax.0.sold.sold >= strict.0.sold.sold);
        prop_assert!(lax.0.copies.unwrap_or(u64::MAX) <= strict.0.copies.unwrap_or(u64::MAX));
        prop_assert!(lax.1 || !strict.1);
        if let (Some(strict), Some(lax)) = (strict.2, lax.2) {
            prop_assert!(lax <= strict + 1e-9, "{lax} mm, {strict} mm under a stricter acceptance");
        }
    }
}
