//! A bill worked by hand.

use super::*;
use crate::ink_use::InkUse;
use crate::schedule::{Schedule, StepKind, press_passes};
use slipsheet_core::colour::Lab;
use slipsheet_core::ink::{Ink, Swatch};
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{SheetFormat, Size};
use slipsheet_document::ids::LayerId;
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

#[test]
fn a_job_without_ink_has_no_weight_below_nothing() {
    let (printing, _) = job();
    let bill = cost(&printing, &[], 100);
    let ink = bill.lines.iter().find(|l| l.kind == CostKind::Ink).unwrap();
    assert_eq!((ink.how.as_str(), ink.amount.is_sign_negative()), ("0 g", false));
}
