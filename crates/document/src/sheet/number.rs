//! The printed sheets of a booklet: how many there are, how each is folded, and what of the artwork lies on it.

use std::borrow::Cow;

use super::Sheet;
use crate::ids::LayerId;
use crate::layer::{Art, Layer, Placement, Target};
use slipsheet_core::units::{Mm, Size};
use slipsheet_paper::booklet::Booklet;
use slipsheet_paper::fold::{Face, Scheme};

impl Sheet {
    /// How many printed sheets one copy takes.
    pub fn printed_sheets(&self) -> usize {
        self.booklet.as_ref().map_or(1, Booklet::sheets)
    }

    /// How many pages artwork can be laid on.
    pub fn pages(&self) -> u32 {
        self.booklet.as_ref().map_or_else(|| self.fold.as_ref().map_or(0, Scheme::pages), |b| b.pages)
    }

    /// The size of what artwork is laid on: the sheet, a page, or two pages that face each other; `None` where there is
    /// no such page.
    pub fn target_size(&self, target: Target) -> Option<Size> {
        let page = |n: u32| match &self.booklet {
            Some(booklet) => Some(booklet.place(self.size(), n, Mm::ZERO)?.place.size),
            None => Some(self.fold.as_ref()?.place(self.size(), n)?.size),
        };
        match target {
            Target::Sheet => Some(self.size()),
            Target::Page(n) => page(n),
            Target::Spread(n) => page(n).map(|one| Size { width: one.width + one.width, ..one }),
        }
    }

    /// How one printed sheet is folded, by its number from 0.
    pub fn scheme(&self, number: usize) -> Option<Scheme> {
        match &self.booklet {
            Some(booklet) => booklet.scheme(number),
            None => self.fold.clone(),
        }
    }

    /// One printed sheet, by its number from 0, as a sheet of its own: of a booklet what lies on it, and artwork over
    /// two pages as a piece for each.
    ///
    /// Layers keep their position; where an ink has artwork for the other face and no layer there, one of the same
    /// identity is added at the end. Artwork of the whole sheet lies on every printed sheet.
    pub fn number(&self, number: usize) -> Cow<'_, Self> {
        let spread = |a: &Art| matches!(a.target, Target::Spread(_));
        if self.booklet.is_none() && !self.art().any(spread) {
            return Cow::Borrowed(self);
        }
        let mut one = self.clone();
        one.fold = self.scheme(number);
        one.booklet = None;
        one.layers.iter_mut().for_each(|l| l.art.clear());
        // Each layer has its own twin on the other face: two of one ink may be read otherwise.
        let mut twins: Vec<Option<usize>> = vec![None; self.layers.len()];
        for (i, layer) in self.layers.iter().enumerate() {
            for (face, art) in layer.art.iter().flat_map(|a| self.pieces(a, layer.face, number)) {
                let at = if layer.face == face { i } else { self.twin(&mut one, &mut twins, i, face) };
                if let Some(l) = one.layers.get_mut(at) {
                    l.art.push(art);
                }
            }
        }
        self.turn_remedies(&mut one, &twins);
        Cow::Owned(one)
    }

    /// The layer of a printed sheet that takes what a layer has for the other face: one of that face that prints alike
    /// and is no other layer's twin, or else a new one at the end.
    fn twin(&self, one: &mut Self, twins: &mut [Option<usize>], i: usize, face: Face) -> usize {
        if let Some(at) = twins.get(i).copied().flatten() {
            return at;
        }
        let Some(layer) = self.layers.get(i) else { return i };
        let alike = |(at, l): &(usize, &Layer)| {
            let same = (l.face, &l.ink.name, &l.reading, l.visible, &l.remedies)
                == (face, &layer.ink.name, &layer.reading, layer.visible, &layer.remedies);
            same && !twins.contains(&Some(*at))
        };
        let known = one.layers.iter().enumerate().take(self.layers.len()).find(alike).map(|(at, _)| at);
        let at = known.unwrap_or_else(|| {
            one.layers.push(Layer { face, art: Vec::new(), ..layer.clone() });
            one.layers.len() - 1
        });
        if let Some(twin) = twins.get_mut(i) {
            *twin = Some(at);
        }
        at
    }

    /// Remedies on the other face look at what is printed there, and go where nothing is.
    fn turn_remedies(&self, one: &mut Self, twins: &[Option<usize>]) {
        let own = self.layers.len();
        let ids: Vec<LayerId> = one.layers.iter().map(|l| l.id).collect();
        let there = |under: LayerId| {
            let twin = twins.get(self.position(under)?).copied().flatten()?;
            ids.get(twin).copied()
        };
        for twin in one.layers.iter_mut().skip(own) {
            twin.remedies.retain_mut(|remedy| match remedy.other_mut() {
                None => true,
                Some(other) => match there(*other) {
                    Some(id) => {
                        *other = id;
                        true
                    }
                    None => false,
                },
            });
        }
    }

    /// The pieces of one artwork that lie on a printed sheet, with their face.
    fn pieces(&self, art: &Art, face: Face, number: usize) -> Vec<(Face, Art)> {
        let size = self.size();
        let page = |n: u32, half: f64| -> Option<(Face, Art)> {
            let (on, place, creep) = match &self.booklet {
                Some(b) => {
                    let found = b.place(size, n, Mm::ZERO).filter(|p| p.sheet == number)?;
                    let caliper = Mm::new(slipsheet_core::paper::caliper(&self.stock));
                    (found.place.face, found.place, b.toward_spine(n, number, caliper))
                }
                None => {
                    let place = self.fold.as_ref()?.place(size, n)?;
                    (place.face, place, 0.0)
                }
            };
            let dx = Mm::new(art.placement.dx.get() + half * place.size.width.get() / 2.0 + creep);
            let placement = Placement { dx, ..art.placement };
            Some((on, Art { target: Target::Page(n), placement, ..art.clone() }))
        };
        match art.target {
            Target::Sheet => vec![(face, art.clone())],
            Target::Page(n) => page(n, 0.0).into_iter().collect(),
            // The middle of the spread is the right edge of its left page.
            Target::Spread(n) => [page(n, 1.0), page(n + 1, -1.0)].into_iter().flatten().collect(),
        }
    }
}
