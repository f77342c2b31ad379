//! The schedule held to the pass plan: both count the same minutes for the same passes.

use proptest::prelude::*;
use slipsheet_core::units::{Dpi, SheetFormat};
use slipsheet_document::ids::LayerId;
use slipsheet_document::passes;
use slipsheet_document::shelf::Shelf;
use slipsheet_document::terms::{Minutes, PriceList};
use slipsheet_registration::plan::{Figures, Weights, evaluate};
use slipsheet_registration::slip::{Covers, Study, StudyOptions};
use slipsheet_render::images::Images;

use super::*;
use slipsheet_document::layer::Layer;

/// Layers of these inks, each told whether it shares the pass of the one before it.
fn printing(layers: &[(usize, bool)], [set_up, master, drum, drying]: [f64; 4]) -> Printing {
    let shelf = Shelf::starter().unwrap();
    let mut p = Printing::new("p", SheetFormat::A6, shelf.stocks[0].clone());
    for (i, (ink, joined)) in layers.iter().enumerate() {
        let id = |n: usize| LayerId::new(n as u32);
        let mut layer = Layer::new(id(i), "layer", shelf.inks[*ink].clone());
        let before = p.sheet.layers.last().map(|l: &Layer| l.pass());
        layer.with = before.filter(|_| *joined);
        p.sheet.layers.push(layer);
    }
    p.job.drying = Minutes::new(drying);
    p.job.prices = PriceList {
        set_up_minutes: Minutes::new(set_up),
        master_minutes: Minutes::new(master),
        drum_minutes: Minutes::new(drum),
        ..PriceList::default()
    };
    p
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn a_plan_and_the_schedule_of_its_passes_count_the_same_minutes(
        layers in prop::collection::vec((0..3_usize, any::<bool>()), 1..5),
        minutes in prop::array::uniform4(0.0..30.0_f64),
        drums in 1..3_u8, sheets in 0..900_u32,
    ) {
        let mut p = printing(&layers, minutes);
        p.press.drums = drums;
        let (images, front) = (Images::default(), Face::Front);
        let study = Study::of(&p, &images, &StudyOptions::of(&p.press, front)).unwrap();
        let covers = Covers::of(&p, &images, front, Dpi::nearest(10.0)).unwrap();
        let figures = Figures::new(&p, &covers, &study, front, Weights::of(&p.job));
        let plan = evaluate(&figures, &passes::passes(&p, front));
        let scheduled = Schedule::of(&p, sheets, sheets).slot_minutes;
        prop_assert!((plan.minutes_for(sheets, &p.press) - scheduled).abs() < 1e-6, "{plan:?}, {scheduled}");
        // The copies that the plan itself would print, too.
        let own = Schedule::of(&p, plan.copies as u32, 0).slot_minutes;
        prop_assert!((plan.costs.booked() - own).abs() < 1e-6);
    }
}
