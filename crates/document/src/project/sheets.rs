//! The sheets of a project: how many there are, how each is folded, and what of the artwork lies on it.

use std::borrow::Cow;

use super::Project;
use crate::layer::{Art, Layer, Placement, Target};
use slipsheet_core::units::Mm;
use slipsheet_paper::booklet::Booklet;
use slipsheet_paper::fold::{Face, Scheme};

impl Project {
    /// How many sheets one copy takes.
    pub fn sheets(&self) -> usize {
        self.booklet.as_ref().map_or(1, Booklet::sheets)
    }

    /// How many pages artwork can be laid on.
    pub fn pages(&self) -> u32 {
        self.booklet.as_ref().map_or_else(|| self.fold.as_ref().map_or(0, Scheme::pages), |b| b.pages)
    }

    /// How one sheet is folded, from 0.
    pub fn sheet_scheme(&self, sheet: usize) -> Option<Scheme> {
        match &self.booklet {
            Some(booklet) => booklet.scheme(sheet),
            None => self.fold.clone(),
        }
    }

    /// One sheet, from 0, as a project of its own: of a booklet what lies on that sheet, and artwork over two
    /// pages as a piece for each. Layers keep their index; where an ink has artwork for the other face and no
    /// layer there, one is added at the end. Artwork of the whole sheet lies on every sheet.
    pub fn on_sheet(&self, sheet: usize) -> Cow<'_, Self> {
        let spread = |l: &Layer| l.art.iter().any(|a| matches!(a.target, Target::Spread(_)));
        if self.booklet.is_none() && !self.layers.iter().any(spread) {
            return Cow::Borrowed(self);
        }
        let mut one = self.clone();
        one.fold = self.sheet_scheme(sheet);
        one.booklet = None;
        one.layers.iter_mut().for_each(|l| l.art.clear());
        // Each layer has its own twin on the other face: two of one ink may be read otherwise.
        let mut twins: Vec<Option<usize>> = vec![None; self.layers.len()];
        for (i, layer) in self.layers.iter().enumerate() {
            for (face, art) in layer.art.iter().flat_map(|a| self.pieces(a, layer.face, sheet)) {
                let at = if layer.face == face { i } else { self.twin(&mut one, &mut twins, i, face) };
                if let Some(l) = one.layers.get_mut(at) {
                    l.art.push(art);
                }
            }
        }
        // Remedies on the other face look at what is printed there.
        for twin in one.layers.iter_mut().skip(self.layers.len()) {
            crate::remedy::follow(&mut twin.remedies, |was| twins.get(was).copied().flatten());
        }
        Cow::Owned(one)
    }

    /// The layer of one of this project's sheets that takes what a layer has for the other face: one of that face
    /// that prints alike and is no other layer's twin, or else a new one at the end.
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

    /// The layer of this project that a layer of one of its sheets ([`Self::on_sheet`]) comes from.
    pub fn origin(&self, one: &Self, layer: usize) -> usize {
        let twin = one.layers.get(layer).map(|l| (&l.name, &l.ink.name));
        let same = || self.layers.iter().position(|l| Some((&l.name, &l.ink.name)) == twin);
        if layer < self.layers.len() { layer } else { same().unwrap_or(layer) }
    }

    /// The pieces of one artwork that lie on a sheet, with their face.
    fn pieces(&self, art: &Art, face: Face, sheet: usize) -> Vec<(Face, Art)> {
        let size = self.sheet_size();
        let page = |n: u32, half: f64| -> Option<(Face, Art)> {
            let (on, place, creep) = match &self.booklet {
                Some(b) => {
                    let found = b.place(size, n, Mm::ZERO).filter(|p| p.sheet == sheet)?;
                    let caliper = Mm::new(slipsheet_core::paper::caliper(&self.stock));
                    (found.place.face, found.place, b.toward_spine(n, sheet, caliper))
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
