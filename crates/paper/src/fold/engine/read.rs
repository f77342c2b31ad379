//! Reads a folded stack as its reader would, and so derives page number, face and turn of every panel from the
//! folds alone. Of what a scheme states only this is taken as given: which panel is page 1, which way up it
//! stands, and in which order the rest is to be read.

use crate::fold::engine::error::FoldError;
use crate::fold::engine::ring;
use crate::fold::engine::{Folding, NEAR, Over, Placed, Stack};
use crate::fold::scheme::{Binding, Face, PageOrder, Panel, Scheme, Turn};
use slipsheet_base::geometry::Point;
use slipsheet_base::units::Size;

/// A page as folding gives it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadPage {
    /// Page number, from 1.
    pub page: u32,
    pub face: Face,
    /// Column and row on the front of the sheet, whichever face it is on.
    pub cell: (usize, usize),
    /// How it has to stand on its face.
    pub turn: Turn,
}

impl Scheme {
    /// The pages that the folds give, in reading order.
    ///
    /// # Errors
    /// When the sheet cannot be folded so, or not with page 1 outside.
    pub fn read(&self) -> Result<Vec<ReadPage>, FoldError> {
        match (self.binding, self.order) {
            (Binding::Ring, _) => ring::read(self),
            (Binding::Section, _) => Reader::new(self)?.leaves(),
            (Binding::Leaflet, None) => self.read_somehow(),
            (Binding::Leaflet, Some(order)) => Reader::new(self)?.leaflet(order),
        }
    }

    /// Folds the scheme and holds what it states to what comes of it.
    ///
    /// # Errors
    /// The first thing that is wrong: a step that paper cannot do, or a panel that ends as another page.
    pub fn verify(&self) -> Result<(), FoldError> {
        self.compare(&self.read()?)
    }

    /// Schemes of earlier files do not say in which order they are read: the first that fits is taken.
    fn read_somehow(&self) -> Result<Vec<ReadPage>, FoldError> {
        let reader = Reader::new(self)?;
        let mut first = None;
        for order in PageOrder::ALL {
            let read = reader.leaflet(order);
            if read.as_ref().is_ok_and(|pages| self.compare(pages).is_ok()) {
                return read;
            }
            first.get_or_insert(read);
        }
        first.unwrap_or(Err(FoldError::CoverInside))
    }

    pub(in crate::fold) fn compare(&self, read: &[ReadPage]) -> Result<(), FoldError> {
        for p in read {
            let stated = self.stated(p.face, p.cell);
            let cell = self.on_face(p.face, p.cell);
            let Some(stated) = stated else { continue };
            if stated.page != p.page {
                return Err(FoldError::Page { face: p.face, cell, stated: stated.page, got: p.page });
            }
            if stated.turn != p.turn {
                return Err(FoldError::Turned { page: p.page, wanted: p.turn, stated: stated.turn });
            }
        }
        for (face, cell, panel) in self.panels() {
            if !read.iter().any(|p| (p.face, p.cell) == (face, cell)) {
                let cell = self.on_face(face, cell);
                return Err(FoldError::Unread { face, cell, stated: panel.page });
            }
        }
        Ok(())
    }

    /// Every stated panel, with its face and its cell on the front of the sheet.
    fn panels(&self) -> impl Iterator<Item = (Face, (usize, usize), Panel)> + '_ {
        let cols = self.columns.len().max(1);
        let on = move |face: Face, panels: &'_ [Panel]| -> Vec<(Face, (usize, usize), Panel)> {
            let cell = |i: usize| self.on_face(face, (i % cols, i / cols));
            panels.iter().enumerate().map(|(i, p)| (face, cell(i), *p)).collect()
        };
        on(Face::Front, &self.front).into_iter().chain(on(Face::Back, &self.back))
    }

    /// Between a cell on the front and the same cell as a face is seen; the way back is the same.
    pub(in crate::fold) fn on_face(&self, face: Face, (c, r): (usize, usize)) -> (usize, usize) {
        match face {
            Face::Front => (c, r),
            Face::Back => ((self.columns.len().saturating_sub(1)).saturating_sub(c), r),
        }
    }

    pub(in crate::fold) fn stated(&self, face: Face, cell: (usize, usize)) -> Option<Panel> {
        self.panels().find(|(f, c, _)| (*f, *c) == (face, cell)).map(|(_, _, p)| p)
    }

    pub(in crate::fold) fn first_page(&self) -> Option<(Face, (usize, usize), Turn)> {
        self.panels().find(|(_, _, p)| p.page == 1).map(|(f, c, p)| (f, c, p.turn))
    }
}

/// A sheet of a usual shape; only roll folds depend on its size, and little.
pub(in crate::fold) fn nominal(scheme: &Scheme) -> Size {
    scheme.oriented(Size::mm(297.0, 210.0))
}

struct Reader<'a> {
    scheme: &'a Scheme,
    folding: Folding,
}

/// A reader before the plane of the stack.
#[derive(Debug, Clone, Copy)]
struct Eye {
    from: Over,
    /// The direction that is up for them, in the plane.
    up: Point,
}

impl Eye {
    fn right(self) -> Point {
        let seen_from_above = Point::new(-self.up.y, self.up.x);
        if self.from == Over::Top {
            seen_from_above
        } else {
            Point::new(-seen_from_above.x, -seen_from_above.y)
        }
    }

    fn across(self, p: Point) -> f64 {
        dot(p, self.right())
    }

    fn down(self, p: Point) -> f64 {
        -dot(p, self.up)
    }
}

/// Pages given so far: from the front and from the back.
struct Numbers {
    total: u32,
    low: u32,
    high: u32,
    pages: Vec<ReadPage>,
}

impl<'a> Reader<'a> {
    fn new(scheme: &'a Scheme) -> Result<Self, FoldError> {
        Ok(Self { scheme, folding: Folding::of(scheme, nominal(scheme))? })
    }

    /// How the reader holds the folded piece: page 1 toward them and upright.
    fn cover(&self) -> Result<Eye, FoldError> {
        let (face, cell, turn) = self.scheme.first_page().ok_or(FoldError::CoverInside)?;
        let stack = self.folding.folded();
        [Over::Top, Over::Bottom]
            .into_iter()
            .find(|from| self.folding.visible(stack, *from).iter().any(|v| (v.0, v.1) == (cell, face)))
            .and_then(|from| {
                let placed = stack.layers.iter().find(|p| p.cell == cell)?;
                Some(Eye { from, up: up_of(placed, face, turn) })
            })
            .ok_or(FoldError::CoverInside)
    }

    /// Leaves turned about the last crease.
    fn leaves(&self) -> Result<Vec<ReadPage>, FoldError> {
        let eye = self.cover()?;
        let stack = self.folding.folded();
        let Some(first) = stack.layers.first().map(|p| self.folding.rect(p)) else { return Ok(Vec::new()) };
        let off = |a: f64, b: f64| (a - b).abs() > NEAR;
        for r in stack.layers.iter().map(|p| self.folding.rect(p)) {
            if off(r.x, first.x)
                || off(r.y, first.y)
                || off(r.width, first.width)
                || off(r.height, first.height)
            {
                return Err(FoldError::Ragged);
            }
        }
        let spine = self.folding.steps.last().ok_or(FoldError::Spine)?;
        let middle = first.centre();
        let toward = if spine.vertical {
            Point::new(spine.axis - middle.x, 0.0)
        } else {
            Point::new(0.0, spine.axis - middle.y)
        };
        if eye.across(toward) > -NEAR {
            return Err(FoldError::Spine);
        }
        let mut layers: Vec<&Placed> = stack.layers.iter().collect();
        let beyond = match eye.from {
            Over::Top => {
                layers.reverse();
                Over::Bottom
            }
            Over::Bottom => Over::Top,
        };
        let sides = layers.iter().flat_map(|p| [(p, p.shows(eye.from)), (p, p.shows(beyond))]);
        let page = |(i, (p, face)): (usize, (&&Placed, Face))| ReadPage {
            page: i as u32 + 1,
            face,
            cell: p.cell,
            turn: turn_of(p, face, eye.up),
        };
        Ok(sides.enumerate().map(page).collect())
    }

    fn leaflet(&self, order: PageOrder) -> Result<Vec<ReadPage>, FoldError> {
        let cover = self.cover()?;
        let total = self.scheme.pages();
        let mut numbers = Numbers { total, low: 0, high: 0, pages: Vec::new() };
        match order {
            PageOrder::Opening => self.opening(cover, &mut numbers),
            PageOrder::Along | PageOrder::Inside => self.by_face(order, &mut numbers),
        }
        Ok(numbers.pages)
    }

    /// As the piece opens, last crease first: what comes to light left of the crease is read next, what comes
    /// to light right of it on the way out, and the inside from left to right once all of it lies open.
    fn opening(&self, cover: Eye, numbers: &mut Numbers) {
        let folded = self.folding.folded();
        let inside = match self.folding.steps.first().map(|s| s.onto) {
            Some(Over::Top) => Face::Front,
            _ => Face::Back,
        };
        self.take(folded, cover, |_| true, numbers);
        let behind = Eye { from: other(cover.from), up: cover.up };
        self.take(folded, behind, |_| false, numbers);
        let mut eye = cover;
        for (left, step) in self.folding.steps.iter().enumerate().rev() {
            let stack = self.folding.after(left);
            let along = if step.vertical { Point::new(0.0, 1.0) } else { Point::new(1.0, 0.0) };
            let book = dot(along, eye.up).abs() > 0.5;
            eye.from = step.onto;
            if !book {
                eye.up = self.held_up(stack, eye, numbers);
            }
            let axis = if step.vertical { Point::new(step.axis, 0.0) } else { Point::new(0.0, step.axis) };
            if left == 0 {
                self.take(stack, eye, |_| true, numbers);
            } else {
                let before = |at: Point| !book || eye.across(at) < eye.across(axis);
                self.take_of(stack, eye, |face| face != inside, before, numbers);
            }
        }
        let over = Eye { from: other(eye.from), up: eye.up };
        self.take(&self.folding.flat, over, |_| true, numbers);
    }

    /// The flat faces one after the other: from page 1 on, or page 1, then all that is inside, then the rest.
    fn by_face(&self, order: PageOrder, numbers: &mut Numbers) {
        let Some((face, cell, turn)) = self.scheme.first_page() else { return };
        let flat = &self.folding.flat;
        let Some(placed) = flat.layers.iter().find(|p| p.cell == cell) else { return };
        let from = if face == Face::Front { Over::Top } else { Over::Bottom };
        let eye = Eye { from, up: up_of(placed, face, turn) };
        let over = Eye { from: other(from), up: eye.up };
        if order == PageOrder::Along {
            self.take(flat, eye, |_| true, numbers);
            return self.take(flat, over, |_| true, numbers);
        }
        numbers.give(ReadPage { page: 1, face, cell, turn }, true);
        let book = self.folding.steps.iter().all(|s| s.vertical == (eye.up.x.abs() < 0.5));
        let inside = if book { over } else { Eye { up: self.held_up(flat, over, numbers), ..over } };
        self.take(flat, inside, |_| true, numbers);
        self.take(flat, eye, |_| true, numbers);
    }

    /// Numbers what is seen and was not yet, row by row; `ahead` says what is read now rather than at the end.
    fn take(&self, stack: &Stack, eye: Eye, ahead: impl Fn(Point) -> bool, numbers: &mut Numbers) {
        self.take_of(stack, eye, |_| true, ahead, numbers);
    }

    fn take_of(
        &self,
        stack: &Stack,
        eye: Eye,
        wanted: impl Fn(Face) -> bool,
        ahead: impl Fn(Point) -> bool,
        numbers: &mut Numbers,
    ) {
        let known = |face, cell| numbers.pages.iter().any(|p| (p.face, p.cell) == (face, cell));
        let mut fresh: Vec<_> = self
            .folding
            .visible(stack, eye.from)
            .into_iter()
            .filter(|(cell, face, _)| {
                wanted(*face) && self.scheme.stated(*face, *cell).is_some() && !known(*face, *cell)
            })
            .collect();
        let place = |p: Point| (libm::round(eye.down(p) * 10.0), eye.across(p));
        fresh.sort_by(|a, b| {
            let ((ra, ca), (rb, cb)) = (place(a.2.centre()), place(b.2.centre()));
            ra.total_cmp(&rb).then(ca.total_cmp(&cb))
        });
        let page = |cell: (usize, usize), face| {
            let placed = stack.layers.iter().find(|p| p.cell == cell);
            let turn = placed.map_or(Turn::Upright, |p| turn_of(p, face, eye.up));
            ReadPage { page: 0, face, cell, turn }
        };
        let (now, later): (Vec<_>, Vec<_>) = fresh.into_iter().partition(|f| ahead(f.2.centre()));
        for (cell, face, _) in now {
            numbers.give(page(cell, face), true);
        }
        for (cell, face, _) in later.into_iter().rev() {
            numbers.give(page(cell, face), false);
        }
    }

    /// When a piece opens upward or downward its reader may hold it either way: as its first new page stands.
    fn held_up(&self, stack: &Stack, eye: Eye, numbers: &Numbers) -> Point {
        let seen = self.folding.visible(stack, eye.from);
        let new = seen
            .iter()
            .filter(|(cell, face, _)| !numbers.pages.iter().any(|p| (p.face, p.cell) == (*face, *cell)));
        let first = new
            .filter_map(|(cell, face, _)| Some((self.scheme.stated(*face, *cell)?, *cell, *face)))
            .min_by_key(|(panel, ..)| panel.page);
        let up = first.and_then(|(panel, cell, face)| {
            Some(up_of(stack.layers.iter().find(|p| p.cell == cell)?, face, panel.turn))
        });
        // Never on its side.
        up.filter(|up| dot(*up, eye.up).abs() > 0.5).unwrap_or(eye.up)
    }
}

impl Numbers {
    fn give(&mut self, page: ReadPage, ahead: bool) {
        let page = if ahead {
            self.low += 1;
            ReadPage { page: self.low, ..page }
        } else {
            let number = self.total.saturating_sub(self.high);
            self.high += 1;
            ReadPage { page: number, ..page }
        };
        self.pages.push(page);
    }
}

fn other(side: Over) -> Over {
    if side == Over::Top { Over::Bottom } else { Over::Top }
}

pub(in crate::fold) fn dot(a: Point, b: Point) -> f64 {
    a.x * b.x + a.y * b.y
}

/// The direction of a page's head in the plane of the stack.
pub(in crate::fold) fn up_of(placed: &Placed, face: Face, turn: Turn) -> Point {
    let (x, y) = match turn {
        Turn::Upright => (0.0, -1.0),
        Turn::Right => (1.0, 0.0),
        Turn::Half => (0.0, 1.0),
        Turn::Left => (-1.0, 0.0),
    };
    let mirror = if face == Face::Back { -1.0 } else { 1.0 };
    placed.plane_from_sheet.vector(Point::new(mirror * x, y))
}

/// The turn that lets a page's head point in a direction of the plane.
fn turn_of(placed: &Placed, face: Face, up: Point) -> Turn {
    [Turn::Upright, Turn::Right, Turn::Half, Turn::Left]
        .into_iter()
        .find(|turn| dot(up_of(placed, face, *turn), up) > 0.5)
        .unwrap_or(Turn::Upright)
}
