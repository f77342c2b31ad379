//! Numbers the pages of a plan from its folds. Page 1 goes to an outer panel, by habit the one with the last
//! crease along its left edge, as a book has its spine; the engine reads the rest from the folded stack.

use crate::fold::engine::error::FoldError;
use crate::fold::engine::read::{ReadPage, dot, nominal, up_of};
use crate::fold::engine::ring;
use crate::fold::engine::{Folding, Over, Stack};
use crate::fold::plan::{FoldPlan, PlanError, UNNAMED};
use crate::fold::scheme::{Binding, Face, GridLine, PageOrder, Panel, Scheme, Turn};
use slipsheet_base::geometry::Point;

const TURNS: [Turn; 4] = [Turn::Upright, Turn::Half, Turn::Right, Turn::Left];

/// A panel that may be page 1: its face, its cell on the front of the sheet, and how it stands.
type Cover = (Face, (usize, usize), Turn);

impl FoldPlan {
    /// The plan with all its pages numbered and turned as its folds have it. Page 1 is the panel given (column
    /// and row as its face is seen); without one it stays where it is if it can, or is chosen.
    ///
    /// # Errors
    /// When the sheet cannot be folded so, or the panel cannot be page 1.
    pub fn numbered(&self, first: Option<(Face, (usize, usize))>) -> Result<Self, PlanError> {
        let mut scheme = self.scheme.clone();
        if scheme.binding == Binding::Leaflet {
            scheme.order.get_or_insert(PageOrder::Opening);
        }
        let ring = scheme.binding == Binding::Ring;
        let mut covers = if ring { ring_covers(&scheme) } else { covers(&scheme)? };
        if let Some((face, cell)) = first {
            let cell = scheme.on_face(face, cell);
            covers.retain(|(f, c, _)| (*f, *c) == (face, cell));
        } else if let Some(kept) = self.scheme.first_page()
            && let Some(i) = covers.iter().position(|c| *c == kept)
        {
            covers.rotate_left(i);
        }
        let mut refused = None;
        for cover in &covers {
            match with_cover(&scheme, *cover) {
                Ok(scheme) => return Ok(Self { scheme }),
                Err(why) => {
                    refused.get_or_insert(why);
                }
            }
        }
        Err(refused.unwrap_or(PlanError::Fold { crease: None, why: FoldError::CoverInside }))
    }
}

/// What lies outside once the sheet is folded, the likeliest page 1 first.
fn covers(scheme: &Scheme) -> Result<Vec<Cover>, PlanError> {
    let folding =
        Folding::of(scheme, nominal(scheme)).map_err(|why| PlanError::Fold { crease: None, why })?;
    let stack = folding.folded();
    let mut found: Vec<((u8, bool, usize), Cover)> = Vec::new();
    for from in [Over::Top, Over::Bottom] {
        for (cell, face, rect) in folding.visible(stack, from) {
            if face == Face::Back && !scheme.two_sided() {
                continue;
            }
            for (n, turn) in TURNS.into_iter().enumerate() {
                let spine = spine_side(&folding, stack, (face, cell, turn), from, rect.centre());
                found.push(((spine, face == Face::Back, n), (face, cell, turn)));
            }
        }
    }
    found.sort_by_key(|(rank, _)| *rank);
    Ok(found.into_iter().map(|(_, cover)| cover).collect())
}

/// Where the last crease lies of a page: 0 to its left, 1 above it, 2 elsewhere.
fn spine_side(folding: &Folding, stack: &Stack, cover: Cover, from: Over, centre: Point) -> u8 {
    let (face, cell, turn) = cover;
    let (Some(last), Some(placed)) = (folding.steps.last(), stack.layers.iter().find(|p| p.cell == cell))
    else {
        return 2;
    };
    let up = up_of(placed, face, turn);
    let mirror = if from == Over::Top { 1.0 } else { -1.0 };
    let left = Point::new(mirror * up.y, -mirror * up.x);
    let toward = if last.vertical {
        Point::new(last.axis - centre.x, 0.0)
    } else {
        Point::new(0.0, last.axis - centre.y)
    };
    match () {
        () if dot(toward, left) > 1e-6 => 0,
        () if dot(toward, up) > 1e-6 => 1,
        () => 2,
    }
}

/// Every panel of a ring, the lower row first and from the right: there page 1 stands upright by habit.
fn ring_covers(scheme: &Scheme) -> Vec<Cover> {
    let mut cells = ring::cells(scheme.columns.len());
    cells.rotate_left(scheme.columns.len());
    let both = |cell| [Turn::Upright, Turn::Half].map(|turn| (Face::Front, cell, turn));
    cells.into_iter().flat_map(both).collect()
}

/// Numbers from one cover and holds the result to the engine.
fn with_cover(scheme: &Scheme, cover: Cover) -> Result<Scheme, PlanError> {
    let given = stating(scheme, cover);
    let read = given.read().map_err(|why| explained(&given, why))?;
    let (face, cell, _) = cover;
    // Read face by face a strip begins at its end, whichever panel was asked for.
    if let Some(p) = read.iter().find(|p| (p.face, p.cell) == (face, cell) && p.page != 1) {
        let cell = scheme.on_face(face, cell);
        let why = FoldError::Page { face, cell, stated: 1, got: p.page };
        return Err(PlanError::Fold { crease: None, why });
    }
    let numbered = stated(scheme, &read);
    numbered.check()?;
    Ok(numbered)
}

/// A scheme that only states where its page 1 is. The other pages lie on their sides, which leaves it to the reader
/// which way up they hold the piece.
fn stating(scheme: &Scheme, (face, cell, turn): Cover) -> Scheme {
    let sideways = if matches!(turn, Turn::Upright | Turn::Half) { Turn::Right } else { Turn::Upright };
    let mut given = scheme.clone();
    for (next, panel) in (2..).zip(given.front.iter_mut().chain(given.back.iter_mut())) {
        *panel = Panel { page: next, turn: sideways };
    }
    if scheme.binding == Binding::Ring {
        // A ring is spoken of by its pages: in order around it, from the cover.
        let mut ring = ring::cells(scheme.columns.len());
        let start = ring.iter().position(|c| *c == cell).unwrap_or(0);
        ring.rotate_left(start);
        for (i, cell) in ring.into_iter().enumerate() {
            put(&mut given, Face::Front, cell, Panel { page: i as u32 + 1, turn });
        }
    } else {
        put(&mut given, face, cell, Panel { page: 1, turn });
    }
    given
}

fn put(scheme: &mut Scheme, face: Face, cell: (usize, usize), panel: Panel) {
    let (c, r) = scheme.on_face(face, cell);
    let i = r * scheme.columns.len() + c;
    let panels = if face == Face::Front { &mut scheme.front } else { &mut scheme.back };
    if let Some(slot) = panels.get_mut(i) {
        *slot = panel;
    }
}

fn stated(scheme: &Scheme, read: &[ReadPage]) -> Scheme {
    let mut numbered = scheme.clone();
    for panel in numbered.front.iter_mut().chain(numbered.back.iter_mut()) {
        *panel = UNNAMED;
    }
    for p in read {
        put(&mut numbered, p.face, p.cell, Panel { page: p.page, turn: p.turn });
    }
    numbered
}

/// Says of a ring's crease between which panels it lies, for its pages are not named yet.
fn explained(given: &Scheme, why: FoldError) -> PlanError {
    let cell =
        |page: u32| given.places(nominal(given), Face::Front).iter().find(|p| p.page == page).map(|p| p.cell);
    let FoldError::RingCrease { pages: (a, b), valley } = why else {
        return PlanError::Fold { crease: None, why };
    };
    // Behind the last panel of the ring comes its first again.
    let last = given.pages();
    let round = |page: u32| if page > last || page == 0 { 1 } else { page };
    let (Some(a), Some(b)) = (cell(round(a)), cell(round(b))) else {
        return PlanError::Fold { crease: None, why };
    };
    let (line, at) = if a.1 == b.1 {
        (GridLine::Vertical(a.0.max(b.0)), a.1)
    } else {
        (GridLine::Horizontal(a.1.max(b.1)), a.0)
    };
    let on = |c: &crate::fold::scheme::Crease| {
        c.line == line && c.span.is_none_or(|(from, to)| (from..to).contains(&at))
    };
    PlanError::RingCrease { crease: given.creases.iter().position(on), cells: (a, b), valley }
}
