use crate::fold::scheme::{Binding, Face, Fold, GridLine, Scheme, Side, Turn};
use crate::fold::{FoldPlan, Lanes, LineUse, PlanError, shipped};
use slipsheet_base::units::Size;

fn sheet() -> Size {
    Size::mm(297.0, 210.0)
}

const VALLEY: LineUse = LineUse::Crease(Fold::Valley);
const MOUNTAIN: LineUse = LineUse::Crease(Fold::Mountain);

/// A letter fold drawn from nothing.
fn letter() -> FoldPlan {
    let mut plan = FoldPlan::sheet(3, 1);
    plan.use_line(GridLine::Vertical(1), (0, 1), MOUNTAIN);
    plan.use_line(GridLine::Vertical(2), (0, 1), MOUNTAIN);
    plan.scheme.creases[0].moves = Side::Before;
    plan
}

fn bare(scheme: &Scheme) -> FoldPlan {
    let mut plan = FoldPlan { scheme: scheme.clone() };
    for panel in plan.scheme.front.iter_mut().chain(plan.scheme.back.iter_mut()) {
        *panel = crate::fold::plan::UNNAMED;
    }
    plan
}

#[test]
fn a_letter_fold_drawn_from_nothing_gets_the_shipped_ones_pages() {
    let plan = letter();
    let trial = plan.try_out(sheet());
    assert_eq!(trial.folding.steps.len(), 2);
    assert!(matches!(trial.trouble, Some(PlanError::Unnamed { face: Face::Front, cell: (0, 0) })));
    let numbered = plan.numbered(None).unwrap();
    let shipped = crate::fold::find("letter6").unwrap();
    assert_eq!((&numbered.scheme.front, &numbered.scheme.back), (&shipped.front, &shipped.back));
    assert_eq!(numbered.try_out(sheet()).trouble, None);
    assert_eq!(numbered.checked().unwrap().pages(), 6);
}

/// Every shipped scheme stripped of its pages: the folds alone bring back pages that verify.
#[test]
fn every_shipped_scheme_can_be_numbered_from_its_folds() {
    for scheme in shipped().unwrap() {
        let plan = bare(&scheme);
        let numbered = plan.numbered(None).unwrap_or_else(|e| panic!("{}: {e}", scheme.id));
        numbered.checked().unwrap();
        // The panel that it ships with as page 1 can be chosen, and then it is page 1.
        let (face, cell, turn) = scheme.first_page().unwrap();
        let chosen = plan.numbered(Some((face, scheme.on_face(face, cell)))).unwrap();
        let got = chosen.scheme.first_page().unwrap();
        assert_eq!((got.0, got.1), (face, cell), "{} {turn:?}", scheme.id);
    }
}

#[test]
fn a_kept_page_1_brings_back_the_shipped_numbers() {
    for id in ["slit8", "single4", "letter6", "z6", "quarter8", "octavo16", "french4", "accordion5"] {
        let scheme = crate::fold::find(id).unwrap();
        let mut plan = bare(&scheme);
        let (face, cell, turn) = scheme.first_page().unwrap();
        *plan.panel_mut(face, scheme.on_face(face, cell)).unwrap() = crate::fold::Panel { page: 1, turn };
        let numbered = plan.numbered(None).unwrap().scheme;
        assert_eq!((&numbered.front, &numbered.back), (&scheme.front, &scheme.back), "{id}");
    }
}

#[test]
fn an_impossible_fold_names_its_crease() {
    let mut plan = letter();
    // A third step along a line that is folded already.
    plan.scheme.creases.push(plan.scheme.creases[0]);
    let trial = plan.try_out(sheet());
    let trouble = trial.trouble.unwrap();
    assert_eq!((trouble.crease(), trial.folding.steps.len()), (Some(2), 2));
    assert!(trouble.to_string().contains("folded already"), "{trouble}");
    // The wide panel first, and the narrow one's crease runs under it.
    let mut plan = FoldPlan::sheet(3, 1);
    plan.scheme.columns = vec![1.0, 1.0, 3.0];
    plan.use_line(GridLine::Vertical(2), (0, 1), VALLEY);
    plan.use_line(GridLine::Vertical(1), (0, 1), VALLEY);
    let trouble = plan.try_out(sheet()).trouble.unwrap();
    assert_eq!(trouble.crease(), Some(1));
    assert!(trouble.to_string().starts_with("in step 2") || trouble.to_string().starts_with("step 2"));
}

#[test]
fn a_ring_with_a_wrong_crease_says_between_which_panels() {
    let mut plan = bare(&crate::fold::find("slit8").unwrap());
    plan.scheme.creases[3].fold = Fold::Mountain;
    let trouble = plan.try_out(sheet()).trouble.unwrap();
    assert_eq!(trouble.crease(), Some(3), "{trouble}");
    assert!(trouble.to_string().contains("must be a valley"), "{trouble}");
}

#[test]
fn pages_named_wrongly_are_refused_in_words() {
    let mut plan = letter().numbered(None).unwrap();
    plan.panel_mut(Face::Front, (0, 0)).unwrap().page = 6;
    plan.panel_mut(Face::Front, (1, 0)).unwrap().page = 5;
    let trouble = plan.try_out(sheet()).trouble.unwrap().to_string();
    assert_eq!(trouble, "the front’s panel in column 2, row 1 ends as page 6, not as page 5");
    plan = letter().numbered(None).unwrap();
    plan.panel_mut(Face::Back, (0, 0)).unwrap().turn = Turn::Half;
    assert!(plan.checked().unwrap_err().to_string().contains("must be turned by 0°"));
}

#[test]
fn a_line_cycles_by_stretches_and_keeps_its_place_in_the_order() {
    let line = GridLine::Horizontal(1);
    let mut plan = FoldPlan::sheet(4, 2);
    plan.use_line(line, (0, 4), VALLEY);
    plan.use_line(GridLine::Vertical(2), (0, 2), MOUNTAIN);
    assert_eq!(plan.scheme.creases[0].span, None);
    // The middle is slit: two creases are left, in the same place.
    plan.use_line(line, (1, 3), LineUse::Slit);
    let spans: Vec<_> = plan.scheme.creases.iter().map(|c| (c.line, c.span)).collect();
    assert_eq!(spans, [(line, Some((0, 1))), (line, Some((3, 4))), (GridLine::Vertical(2), None)]);
    assert_eq!(plan.line_use(line, 1), LineUse::Slit);
    // Mended and creased again it is one crease.
    plan.use_line(line, (1, 3), VALLEY);
    assert!(plan.scheme.slits.is_empty());
    let spans: Vec<_> = plan.scheme.creases.iter().map(|c| (c.line, c.span)).collect();
    assert_eq!(spans, [(line, None), (GridLine::Vertical(2), None)]);
    // The other way it keeps its place.
    plan.use_line(line, (0, 4), MOUNTAIN);
    assert_eq!(plan.scheme.creases[0].line, line);
    plan.use_line(line, (0, 4), LineUse::Plain);
    assert_eq!(plan.scheme.creases.len(), 1);
}

#[test]
fn lines_and_pages_keep_their_paper_when_columns_come_and_go() {
    let before = letter().numbered(None).unwrap();
    let mut plan = before.clone();
    plan.add_lane(Lanes::Columns, 0);
    let pages = |p: &FoldPlan, face| -> Vec<u32> {
        let panels = if face == Face::Front { &p.scheme.front } else { &p.scheme.back };
        panels.iter().map(|p| p.page).collect()
    };
    assert_eq!(pages(&plan, Face::Front), [5, 0, 6, 1]);
    assert_eq!(pages(&plan, Face::Back), [2, 3, 0, 4]);
    let lines: Vec<_> = plan.scheme.creases.iter().map(|c| c.line).collect();
    assert_eq!(lines, [GridLine::Vertical(2), GridLine::Vertical(3)].map(|l| l));
    plan.remove_lane(Lanes::Columns, 1);
    assert_eq!(pages(&plan, Face::Front), [5, 6, 1]);
    assert_eq!(pages(&plan, Face::Back), [2, 3, 4]);
    plan.add_lane(Lanes::Rows, 0);
    assert_eq!(plan.scheme.front.len(), 6);
    plan.remove_lane(Lanes::Rows, 1);
    assert_eq!(pages(&plan, Face::Back), [2, 3, 4]);
}

#[test]
fn layers_are_drawn_apart_and_joined_where_they_bend() {
    let trial = letter().try_out(sheet());
    let flat = trial.folding.drawn(trial.folding.after(0));
    assert!(flat.panels.iter().all(|p| p.level == 0) && flat.bends.is_empty());
    let drawn = trial.folding.drawn(trial.folding.folded());
    let mut levels: Vec<usize> = drawn.panels.iter().map(|p| p.level).collect();
    levels.sort_unstable();
    assert_eq!(levels, [0, 1, 2]);
    assert_eq!(drawn.panels.iter().filter(|p| p.seen).count(), 1);
    assert_eq!(drawn.bends.len(), 2);
    // Mountains fold under: the middle panel stays on top, with its front up.
    let top = drawn.panels.last().unwrap();
    assert_eq!((top.cell, top.shows, top.seen), ((1, 0), Face::Front, true));
}

#[test]
fn a_plan_that_says_section_asks_for_leaves() {
    let mut plan = letter();
    plan.scheme.binding = Binding::Section;
    plan.scheme.columns = vec![1.0, 1.0, 1.5];
    let trouble = plan.try_out(sheet()).trouble.unwrap();
    assert!(!trouble.to_string().is_empty());
    plan.scheme.creases.clear();
    assert_eq!(plan.try_out(sheet()).trouble, Some(PlanError::NoCrease));
}
