use super::*;
use crate::project::Project;
use crate::shelf::Shelf;
use slipsheet_core::units::{Mm, SheetFormat};
use slipsheet_paper::fold;

fn project(format: SheetFormat, id: &str) -> Project {
    let mut p = Project::new("Invented", format, Shelf::starter().unwrap().stocks[0].clone());
    p.fold = fold::find(id);
    p
}

fn order(kind: WrapKind) -> WrapOrder {
    let stock = Shelf::starter().unwrap().stocks[0].clone();
    let wrap = Wrap { kind, ..Wrap::default() };
    WrapOrder { wrap, sheet: SheetFormat::Tabloid, lying: false, stock }
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-9, "{a} is not {b}");
}

#[test]
fn the_block_follows_from_fold_trim_and_stock() {
    // Letter in eight panels, lying: pages of a quarter by a half.
    let mut p = project(SheetFormat::Letter, "slit8");
    let block = Block::of(&p.construction(), &Wrap::default()).unwrap();
    near(block.width, 279.4 / 4.0);
    near(block.height, 215.9 / 2.0);
    assert_eq!(block.leaves, 8);
    near(block.thickness(), 8.0 * slipsheet_core::paper::caliper(&p.stock));
    p.trim = Mm::new(3.0);
    let block = Block::of(&p.construction(), &Wrap::default()).unwrap();
    near(block.width, 279.4 / 4.0 - 3.0);
    near(block.height, 215.9 / 2.0 - 6.0);
    let given = Wrap {
        finished: Some((SideMm::new(148.0), SideMm::new(210.0))),
        leaves: Some(24),
        inner_caliper: Some(CaliperMm::new(0.1)),
        ..Wrap::default()
    };
    let block = Block::of(&p.construction(), &given).unwrap();
    assert_eq!((block.width, block.height), (148.0, 210.0));
    near(block.thickness(), 2.4);
    p.trim = Mm::new(60.0);
    assert_eq!(Block::of(&p.construction(), &Wrap::default()), Err(WrapError::NoPage));
}

#[test]
fn what_does_not_go_is_said_in_a_sentence() {
    let p = project(SheetFormat::Letter, "slit8");
    let said = |o: &WrapOrder| WrapPlan::new(&p, o).unwrap_err().to_string();
    let mut band = order(WrapKind::BellyBand);
    band.wrap.band_height = BandHeight::new(200.0);
    assert!(said(&band).contains("make it lower"), "{}", said(&band));
    let mut sleeve = order(WrapKind::Sleeve);
    sleeve.sheet = SheetFormat::A6;
    assert!(said(&sleeve).contains("choose a larger sheet"), "{}", said(&sleeve));
    let mut cover = order(WrapKind::FoldedCover);
    cover.wrap.flap_width = FlapWidth::new(100.0);
    assert!(said(&cover).contains("make it narrower"), "{}", said(&cover));
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
    let plan = WrapPlan::new(&p, &o).unwrap();
    assert_eq!((plan.room.x, plan.room.y), (5.0, 20.0));
    near(plan.room.height, 431.8 - 25.0);
    assert!(plan.layout.places.iter().all(|place| place.at.y >= 20.0));
    assert!(plan.count() >= 2 && plan.lines().len() == plan.count() * plan.net.lines().len());
}

#[test]
fn turning_to_the_wrap_and_back_changes_nothing() {
    let mut p = project(SheetFormat::Letter, "slit8");
    p.give_wrap(&order(WrapKind::Sleeve));
    let before = p.clone();
    p.turn_to(true);
    assert!(p.shows_wrap() && p.fold.is_none() && p.sheet == SheetFormat::Tabloid);
    assert!(p.is_same_work(&before) && before.is_same_work(&p) && p != before);
    // Both sheets see the same plan, and the text is that of the booklet in hand.
    assert_eq!(p.wrap_plan().unwrap().unwrap(), before.wrap_plan().unwrap().unwrap());
    assert_eq!(p.to_ron().unwrap(), before.to_ron().unwrap());
    assert_eq!(Project::from_ron(&p.to_ron().unwrap()).unwrap(), before);
    // A change of the wrap while it is in hand keeps it there.
    p.give_wrap(&WrapOrder { lying: true, ..order(WrapKind::BellyBand) });
    assert!(p.shows_wrap() && p.lying);
    p.turn_to(false);
    assert!(p.fold == before.fold && !p.is_same_work(&before));
}

#[test]
fn a_project_without_a_wrap_is_written_as_before() {
    assert!(!project(SheetFormat::Letter, "slit8").to_ron().unwrap().contains("wrap: "));
}
