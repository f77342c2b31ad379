use super::*;
use crate::printing::Printing;
use crate::shelf::Shelf;
use slipsheet_core::units::{Mm, SheetFormat};
use slipsheet_paper::fold;

fn project(format: SheetFormat, id: &str) -> Printing {
    let mut p = Printing::new("Invented", format, Shelf::starter().unwrap().stocks[0].clone());
    p.sheet.fold = fold::find(id);
    p
}

fn order(kind: WrapKind) -> WrapOrder {
    let stock = Shelf::starter().unwrap().stocks[0].clone();
    let wrap = Wrap { kind, ..Wrap::default() };
    WrapOrder { wrap, format: SheetFormat::Tabloid, landscape: false, stock }
}

fn worked_out(p: &Printing, order: &WrapOrder) -> Result<WrapPlan, WrapError> {
    WrapPlan::new(order, Block::of(&p.sheet.construction(), &order.wrap)?, &p.press)
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-9, "{a} is not {b}");
}

#[test]
fn the_block_follows_from_fold_trim_and_stock() {
    // Letter in eight panels, landscape: pages of a quarter by a half.
    let mut p = project(SheetFormat::Letter, "slit8");
    let block = Block::of(&p.sheet.construction(), &Wrap::default()).unwrap();
    near(block.width, 279.4 / 4.0);
    near(block.height, 215.9 / 2.0);
    assert_eq!(block.leaves, 8);
    near(block.thickness(), 8.0 * slipsheet_core::paper::caliper(&p.sheet.stock));
    p.sheet.trim = Mm::new(3.0);
    let block = Block::of(&p.sheet.construction(), &Wrap::default()).unwrap();
    near(block.width, 279.4 / 4.0 - 3.0);
    near(block.height, 215.9 / 2.0 - 6.0);
    let given = Wrap {
        finished: Some((SideMm::new(148.0), SideMm::new(210.0))),
        leaves: Some(24),
        inner_caliper: Some(CaliperMm::new(0.1)),
        ..Wrap::default()
    };
    let block = Block::of(&p.sheet.construction(), &given).unwrap();
    assert_eq!((block.width, block.height), (148.0, 210.0));
    near(block.thickness(), 2.4);
    p.sheet.trim = Mm::new(60.0);
    assert_eq!(Block::of(&p.sheet.construction(), &Wrap::default()), Err(WrapError::NoPage));
}

#[test]
fn what_does_not_go_is_said_in_a_sentence() {
    let p = project(SheetFormat::Letter, "slit8");
    let message = |o: &WrapOrder| worked_out(&p, o).unwrap_err().to_string();
    let mut band = order(WrapKind::BellyBand);
    band.wrap.band_height = BandHeight::new(200.0);
    assert!(message(&band).contains("make it lower"), "{}", message(&band));
    let mut sleeve = order(WrapKind::Sleeve);
    sleeve.format = SheetFormat::A6;
    assert!(message(&sleeve).contains("choose a larger sheet"), "{}", message(&sleeve));
    let mut cover = order(WrapKind::FoldedCover);
    cover.wrap.flap_width = FlapWidth::new(100.0);
    assert!(message(&cover).contains("make it narrower"), "{}", message(&cover));
    let text = ron::to_string(&Wrap::default()).unwrap();
    let wrong = ron::from_str::<Wrap>(&text.replace("allowance:0.5", "allowance:NaN")).unwrap_err();
    assert!(wrong.to_string().contains("an allowance in mm"), "{wrong}");
}

#[test]
fn the_margins_and_the_free_lead_edge_take_room_at_their_edges() {
    let mut p = project(SheetFormat::Letter, "slit8");
    p.press.margins.lead = slipsheet_core::press::MarginMm::new(9.0);
    let mut o = order(WrapKind::Sleeve);
    o.wrap.lead_free = LeadFree::new(11.0);
    let plan = worked_out(&p, &o).unwrap();
    assert_eq!((plan.room.x, plan.room.y), (5.0, 20.0));
    near(plan.room.height, 431.8 - 25.0);
    assert!(plan.layout.places.iter().all(|place| place.at.y >= 20.0));
    assert!(plan.count() >= 2 && plan.lines().len() == plan.count() * plan.net.lines().len());
}
