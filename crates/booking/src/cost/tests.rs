//! A bill worked by hand.

use proptest::prelude::*;

use super::*;
use crate::ink_use::InkUse;
use crate::schedule::{Schedule, StepKind, press_passes};
use slipsheet_core::colour::Lab;
use slipsheet_core::ink::{Ink, Swatch};
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{SheetFormat, Size};
use slipsheet_document::edition::Edition;
use slipsheet_document::ids::{EditionId, LayerId};
use slipsheet_document::layer::Layer;
use slipsheet_document::printing::Printing;
use slipsheet_document::terms::*;

/// A4 on two drums: blue and red together, then black by itself.
fn job() -> (Printing, Vec<InkUse>) {
    let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
    let stock = Stock::new("White", colour);
    let mut printing = Printing::new("p", SheetFormat::A4, stock);
    for (i, name, with) in [(0, "Blue", None), (1, "Red", Some(LayerId::new(0))), (2, "Black", None)] {
        printing.sheet.layers.push(Layer {
            with,
            ..Layer::new(LayerId::new(i), name, Ink::estimated(name, Lab::new(40.0, 0.0, -40.0).unwrap()))
        });
    }
    let inks = (0..3)
        .map(|layer| InkUse { sheet: 0, layer, ink: String::new(), coverage: 0.5, grams: 0.2 })
        .collect();
    printing.job = JobTerms {
        copies: 100,
        overs: 20,
        prices: PriceList {
            master: Money::new(2.0),
            impression: Money::new(0.01),
            sheet: Money::new(0.10),
            set_up: Money::new(1.0),
            drum_change: Money::new(3.0),
            machine_hour: Money::new(12.0),
            hand_hour: Money::new(6.0),
            ink_kilogram: Money::new(50.0),
            sleeve: Money::new(0.05),
            set_up_minutes: Minutes::new(5.0),
            master_minutes: Minutes::new(1.0),
            drum_minutes: Minutes::new(2.0),
            ..PriceList::default()
        },
        // A stitched booklet alone is bound; this job is not.
        hand: Hand {
            fold: Minutes::new(0.5),
            trim: Minutes::new(0.1),
            bind: Minutes::new(9.0),
            ..Hand::default()
        },
        ..JobTerms::default()
    };
    printing.sheet.fold = slipsheet_paper::fold::find("slit8");
    printing.press.speed = slipsheet_core::press::Speed::new(60.0);
    (printing, inks)
}

#[test]
fn a_bill_is_what_one_works_out_by_hand() {
    let (printing, inks) = job();
    let bill = cost(&printing, &inks, 100);
    let of = |kind| bill.lines.iter().find(|l| l.kind == kind).unwrap().amount;
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} is not {b}");
    near(of(CostKind::Masters), 6.0);
    near(of(CostKind::SetUp), 2.0);
    near(of(CostKind::Drums), 9.0);
    // 120 sheets, two passes.
    near(of(CostKind::Impressions), 2.4);
    near(of(CostKind::Stock), 12.0);
    // 120 sheets x 3 x 0.2 g = 72 g.
    near(of(CostKind::Ink), 3.6);
    // Set-up 5 + 2x2 + 2x1 = 11 and 5 + 2 + 1 = 8, print 2 min each: 23 min at 12 an hour.
    near(of(CostKind::Machine), 4.6);
    // 100 x 0.6 min at 6 an hour.
    near(of(CostKind::Hand), 6.0);
    near(of(CostKind::Sleeves), 5.0);
    near(bill.total, 50.6);
    near(bill.per_copy.unwrap(), 0.506);
    let mut by_ink = printing.clone();
    by_ink.job.prices.impressions_by = ImpressionsBy::Ink;
    near(cost(&by_ink, &inks, 100).total, 50.6 + 1.2);
}

#[test]
fn stock_is_bought_in_whole_parent_sheets() {
    let (mut printing, inks) = job();
    let parent = Parent { size: Size::mm(450.0, 640.0), grain: Grain::Any, per_cut: Money::new(0.5) };
    printing.job.prices.parent = Some(parent);
    let bill = cost(&printing, &inks, 100);
    let stock = bill.lines.iter().find(|l| l.kind == CostKind::Stock).unwrap();
    // Four A4 from 450 x 640 mm: 120 sheets are 30 parents.
    assert!((stock.amount - 3.0).abs() < 1e-9 && stock.how.starts_with("30 parent sheets"), "{stock:?}");
    printing.job.prices.parent = Some(Parent { size: Size::mm(100.0, 100.0), ..parent });
    let bill = cost(&printing, &inks, 100);
    assert!(bill.lines.iter().any(|l| l.how.contains("too small")));
}

#[test]
fn a_copy_gets_cheaper_with_the_run_and_pays_from_the_break_even_on() {
    let (mut printing, inks) = job();
    let costs: Vec<f64> = curve(&printing, &inks, &[10, 50, 100, 500]).into_iter().map(|p| p.1).collect();
    assert!(costs.windows(2).all(|w| w[0] > w[1]), "{costs:?}");
    assert_eq!(break_even(&printing, &inks), None);
    printing.job.selling_price = Money::new(1.5);
    let n = break_even(&printing, &inks).unwrap();
    let gain = |n: u32| 1.5 * f64::from(n) - cost(&printing, &inks, n).total;
    assert!(gain(n) >= 0.0 && (1..n).all(|k| gain(k) < 0.0), "{n}");
    // Cheaper than a copy's own cost never pays.
    printing.job.selling_price = Money::new(0.1);
    assert_eq!(break_even(&printing, &inks), None);
}

#[test]
fn a_budget_for_good_copies_prints_what_will_be_spoiled() {
    let (printing, inks) = job();
    let b = budget(&printing, &inks, 90, Some(0.75));
    assert_eq!((b.copies, b.sheets), (90, 120));
    assert_eq!(budget(&printing, &inks, 50, None).sheets, 60);
    assert_eq!(cost(&printing, &inks, 0).per_copy, None);
}

#[test]
fn prices_are_zero_until_somebody_says_them() {
    assert!(PriceList::default().says_nothing());
    let (mut printing, inks) = job();
    assert!(!printing.job.prices.says_nothing());
    printing.job = JobTerms { copies: 10, ..JobTerms::default() };
    assert_eq!(cost(&printing, &inks, 10).total, 0.0);
    let text = ron::to_string(&printing.job).unwrap();
    assert_eq!(ron::from_str::<JobTerms>(&text).unwrap(), printing.job);
    assert_eq!(ron::from_str::<JobTerms>("()").unwrap(), JobTerms::default());
    assert!(ron::from_str::<JobTerms>("(slot: -3)").is_err());
}

#[test]
fn a_schedule_waits_between_passes_and_warns_of_a_short_slot() {
    let (mut printing, _) = job();
    let s = Schedule::new(&printing);
    let kinds: Vec<StepKind> = s.steps.iter().map(|s| s.kind).collect();
    use StepKind::{Dry, Hand as ByHand, Print, SetUp};
    assert_eq!(kinds, [SetUp, Print, Dry, SetUp, Print, Dry, ByHand, ByHand]);
    // 11 + 2, 15 to dry, 8 + 2.
    assert!((s.slot_minutes - 38.0).abs() < 1e-9 && (s.machine_minutes - 23.0).abs() < 1e-9);
    assert!((s.hand_minutes - 60.0).abs() < 1e-9);
    assert_eq!(s.warning, None);
    printing.job.slot = Minutes::new(30.0);
    let warning = Schedule::new(&printing).warning.unwrap();
    assert!(
        warning.starts_with("printing takes about 38 min") && warning.contains("30 min are booked"),
        "{warning}"
    );
    printing.sheet.layers[2].visible = false;
    assert_eq!(press_passes(&printing).len(), 1);
}

/// The job in three editions of 40: two inks differ from one to the next, black stays.
fn series_of_three() -> Printing {
    let (mut printing, _) = job();
    for (n, first, second) in [(0, "Blue", "Red"), (1, "Green", "Red"), (2, "Green", "Plum")] {
        let mut colours = printing.sheet.colours();
        colours.inks.get_mut(&LayerId::new(0)).unwrap().name = first.to_owned();
        colours.inks.get_mut(&LayerId::new(1)).unwrap().name = second.to_owned();
        let mut edition = Edition::new(EditionId::new(10 + n), format!("{first} and {second}"), colours);
        edition.copies = Some(40);
        printing.sheet.editions.push(edition);
    }
    printing
}

fn total(printing: &Printing) -> Series {
    series(printing, &mut |_| job().1)
}

#[test]
fn a_series_is_what_one_works_out_by_hand() {
    let printing = series_of_three();
    let s = total(&printing);
    let each: Vec<_> = s.editions.iter().map(|e| (e.copies, e.overs, e.sheets, e.masters, e.drums)).collect();
    // All first passes, then black for all: the second edition keeps red and the third green, with their masters, and
    // one master of black serves all. 40 copies have 8 overs of the 20 for 100.
    assert_eq!(s.order, SeriesOrder::PassByPass);
    assert_eq!(each, [(40, 8, 48, 3, 3), (40, 8, 48, 1, 1), (40, 8, 48, 1, 1)]);
    assert_eq!((s.copies, s.sheets, s.masters, s.drums), (120, 144, 5, 5));
    assert_eq!(s.editions[0].name, "Blue and Red");
    assert_eq!(s.editions[1].inks, ["Green", "Red", "Black"]);
    // Masters 5 x 2, set-up 6 x 1, drums 5 x 3, impressions 144 x 2 x 0.01, stock 144 x 0.10, ink 144 x 0.6 g,
    // machine 6 x 5 + 5 x 2 + 5 x 1 + 6 x 48 / 60 = 49.8 min, by hand 120 x 0.6 min, sleeves 120 x 0.05.
    let by_hand = 10.0 + 6.0 + 15.0 + 2.88 + 14.4 + 144.0 * 0.0006 * 50.0 + 49.8 / 5.0 + 7.2 + 6.0;
    assert!((s.total - by_hand).abs() < 1e-9, "{} is not {by_hand}", s.total);
    assert!((s.schedule.machine_minutes - 49.8).abs() < 1e-9);
    assert!((s.schedule.hand_minutes - 72.0).abs() < 1e-9);
    let of_red = s.schedule.steps.iter().filter(|s| s.what.ends_with("front of Green and Red"));
    assert_eq!(of_red.count(), 2);

    // Where each edition has masters of its own, nine are made; the drums stay.
    let mut anew = printing.clone();
    anew.job.prices.series_masters = SeriesMasters::MadeAnew;
    let anew = total(&anew);
    assert_eq!((anew.masters, anew.drums), (9, 5));
    // 4 masters more, at 2 each and a minute each.
    assert!((anew.total - s.total - (8.0 + 4.0 / 5.0)).abs() < 1e-9);
}

#[test]
fn what_an_edition_has_is_not_counted_a_second_time() {
    let mut printing = series_of_three();
    let s = total(&printing);
    // The present inks are those of the first edition; any other edition in use changes nothing either.
    for at in 0..3 {
        let colours = printing.sheet.editions[at].colours.clone();
        printing.sheet.take_colours(&colours);
        assert_eq!(total(&printing), s);
    }
    // Inks that no edition has are printed besides, as often as the job says.
    printing.sheet.layers[2].ink.name = "Umber".to_owned();
    let more = total(&printing);
    assert_eq!((more.editions.len(), more.copies), (4, 220));
    assert_eq!((more.editions[0].name.as_str(), more.editions[0].edition), (CURRENT, None));
    assert!(more.total > s.total);
}

#[test]
fn a_job_without_editions_is_a_series_of_one() {
    let (printing, inks) = job();
    let s = total(&printing);
    let alone = cost(&printing, &inks, 100);
    assert!(!s.is_several() && (s.total - alone.total).abs() < 1e-9 && s.per_copy.is_some());
    assert_eq!(s.schedule, Schedule::new(&printing));
    assert_eq!((s.editions[0].masters, s.editions[0].drums), (3, 3));
}

/// Two layers of one ink have one drum, which holds one master at a time.
#[test]
fn a_master_is_lost_when_another_is_made_on_its_drum() {
    let (mut printing, _) = job();
    printing.sheet.layers[1].ink.name = "Black".to_owned();
    printing.sheet.layers[1].with = None;
    for (n, first) in [(0, "Blue"), (1, "Green")] {
        let mut colours = printing.sheet.colours();
        colours.inks.get_mut(&LayerId::new(0)).unwrap().name = first.to_owned();
        printing.sheet.editions.push(Edition::new(EditionId::new(n), first.to_owned(), colours));
    }
    let s = total(&printing);
    // Pass by pass both editions share each black master; one by one the second would need both again.
    assert_eq!((s.order, s.masters, s.drums), (SeriesOrder::PassByPass, 4, 3));
}

proptest! {
    #[test]
    fn more_copies_never_cost_less_and_a_series_never_more_than_its_editions_apart(
        copies in prop::collection::vec(0..400_u32, 3), more in 0..400_u32, overs in 0..60_u32,
        which in 0..3_usize, drums in 1..3_u8, anew in any::<bool>(),
    ) {
        let mut printing = series_of_three();
        printing.job.overs = overs;
        printing.press.drums = drums;
        printing.job.prices.series_masters =
            if anew { SeriesMasters::MadeAnew } else { SeriesMasters::StayOnDrums };
        for (edition, n) in printing.sheet.editions.iter_mut().zip(&copies) {
            edition.copies = Some(*n);
        }
        let s = total(&printing);
        let apart: f64 = printing.series().iter().map(|(_, part)| total(part).total).sum();
        prop_assert!(s.total <= apart + 1e-9);
        let sum: f64 = s.editions.iter().map(|e| e.cost.total).sum();
        prop_assert!((s.total - sum).abs() < 1e-9);
        // The bill and the schedule count the same minutes at the machine.
        let billed: f64 = s.editions.iter().flat_map(|e| &e.cost.lines)
            .filter(|l| l.kind == CostKind::Machine).map(|l| l.amount).sum();
        prop_assert!((billed - s.schedule.machine_minutes / 60.0 * 12.0).abs() < 1e-6);
        printing.sheet.editions[which].copies = Some(copies[which] + more);
        prop_assert!(total(&printing).total >= s.total - 1e-9);
    }
}

#[test]
fn a_job_without_ink_has_no_weight_below_nothing() {
    let (printing, _) = job();
    let bill = cost(&printing, &[], 100);
    let ink = bill.lines.iter().find(|l| l.kind == CostKind::Ink).unwrap();
    assert_eq!((ink.how.as_str(), ink.amount.is_sign_negative()), ("0 g", false));
}
