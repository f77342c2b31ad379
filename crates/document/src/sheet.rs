//! A sheet: the paper, the layers printed on it, how it is folded, and what belongs to it alone. A project has one
//! for the piece itself and may have another for its wrap.

mod number;
mod sources;

use serde::{Deserialize, Serialize};

use crate::accepted::Accepted;
use crate::edition::{Colours, Edition};
use crate::ids::{LayerId, SheetId};
use crate::layer::{Art, Layer, Slip, Target};
use crate::source::Source;
use slipsheet_core::ink::Ink;
use slipsheet_core::overprint::MAX_INKS;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Mm, SheetFormat, Size};
use slipsheet_paper::booklet::Booklet;
use slipsheet_paper::construction::Construction;
use slipsheet_paper::fold::{Face, Scheme};
use slipsheet_paper::turning::Turning;

/// A sheet with everything that belongs to it alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sheet {
    pub id: SheetId,
    pub format: SheetFormat,
    /// Whether its longer side lies across; a fold scheme decides it where there is one.
    #[serde(default)]
    pub landscape: bool,
    pub stock: Stock,
    /// Layers in printing order, first printed first.
    #[serde(default)]
    pub layers: Vec<Layer>,
    /// How it is folded; `None` when it stays flat, as the sheet of a wrap.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fold: Option<Scheme>,
    /// A booklet of several printed sheets, in place of a fold.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub booklet: Option<Booklet>,
    /// What is trimmed off each edge after folding.
    #[serde(default)]
    pub trim: Mm,
    /// How it is turned over between its faces.
    #[serde(default)]
    pub turning: Turning,
    /// A what-if shift and twist of the whole back against the front.
    #[serde(default)]
    pub back_slip: Slip,
    /// The same artwork in other inks on other stocks.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub editions: Vec<Edition>,
    /// Colour pictures that are separated into some of its layers.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sources: Vec<Source>,
    /// Findings that the person has seen and lives with.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub accepted: Vec<Accepted>,
}

/// A side of a sheet in mm that the program works with.
const SIDES: std::ops::RangeInclusive<f64> = 20.0..=2000.0;

impl Sheet {
    /// A sheet without layers or fold.
    pub fn new(id: SheetId, format: SheetFormat, stock: Stock) -> Self {
        Self {
            id,
            format,
            landscape: false,
            stock,
            layers: Vec::new(),
            fold: None,
            booklet: None,
            trim: Mm::ZERO,
            turning: Turning::default(),
            back_slip: Slip::default(),
            editions: Vec::new(),
            sources: Vec::new(),
            accepted: Vec::new(),
        }
    }

    /// Checks what the types cannot: its size, the fold scheme or booklet, the number of inks on a face.
    ///
    /// # Errors
    /// One sentence that says what is wrong.
    pub fn check(&self) -> Result<(), String> {
        let size = self.format.size();
        if !SIDES.contains(&size.width.get()) || !SIDES.contains(&size.height.get()) {
            return Err("a side of the sheet must be from 20 to 2000 mm".to_owned());
        }
        if let Some(scheme) = &self.fold {
            scheme.check().map_err(|e| e.to_string())?;
        }
        if let Some(booklet) = &self.booklet {
            booklet.check()?;
        }
        for face in [Face::Front, Face::Back] {
            let inks = self.on(face).count();
            if inks > MAX_INKS {
                return Err(format!("{inks} layers on one face; {MAX_INKS} are the most"));
            }
        }
        Ok(())
    }

    /// What the folding needs to know of it.
    pub fn construction(&self) -> Construction<'_> {
        Construction {
            sheet: self.size(),
            caliper: slipsheet_core::paper::caliper(&self.stock),
            trim: self.trim,
            fold: self.fold.as_ref(),
            booklet: self.booklet.as_ref(),
        }
    }

    /// Width and height as it goes through the press.
    pub fn size(&self) -> Size {
        let size = self.format.size();
        match (&self.booklet, &self.fold, self.format) {
            (Some(_), _, _) if size.height.get() > size.width.get() => size.turned(),
            (Some(_), _, _) => size,
            (None, Some(scheme), _) => scheme.oriented(size),
            (None, None, _) => oriented(self.format, self.landscape),
        }
    }

    /// The layers of one face with their position, in printing order.
    pub fn on(&self, face: Face) -> impl Iterator<Item = (usize, &Layer)> {
        self.layers.iter().enumerate().filter(move |(_, l)| l.face == face)
    }

    pub fn layer(&self, id: LayerId) -> Option<&Layer> {
        self.layers.iter().find(|l| l.id == id)
    }

    /// The place of a layer in the printing order, from 0.
    pub fn position(&self, id: LayerId) -> Option<usize> {
        self.layers.iter().position(|l| l.id == id)
    }

    /// The names of its inks in printing order, each once.
    pub fn ink_names(&self) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        for layer in &self.layers {
            if !names.contains(&layer.ink.name.as_str()) {
                names.push(&layer.ink.name);
            }
        }
        names
    }

    /// Whether anything is, or by its fold should be, on the back.
    pub fn two_sided(&self) -> bool {
        self.booklet.is_some()
            || self.fold.as_ref().is_some_and(Scheme::two_sided)
            || self.on(Face::Back).next().is_some()
    }

    /// The face that artwork for a page belongs to; of the whole sheet, the front.
    pub fn face_of(&self, target: Target) -> Face {
        let (Target::Page(page) | Target::Spread(page)) = target else { return Face::Front };
        let face = match (&self.booklet, &self.fold) {
            (Some(booklet), _) => booklet.face_of(page).map(|(_, face)| face),
            (None, Some(fold)) => fold.place(self.size(), page).map(|place| place.face),
            (None, None) => None,
        };
        face.unwrap_or_default()
    }

    /// Every piece of its artwork.
    pub fn art(&self) -> impl Iterator<Item = &Art> {
        self.layers.iter().flat_map(|l| &l.art)
    }

    /// Its present inks and stock.
    pub fn colours(&self) -> Colours {
        let inks = self.layers.iter().map(|l| (l.id, l.ink.clone())).collect();
        Colours { stock: self.stock.clone(), inks }
    }

    /// The inks of others in its own printing order.
    pub fn inks_of<'a>(&'a self, colours: &'a Colours) -> impl Iterator<Item = &'a Ink> {
        self.layers.iter().filter_map(|l| colours.inks.get(&l.id))
    }

    /// Takes these inks and this stock; a layer that is not named keeps its ink.
    pub fn take_colours(&mut self, colours: &Colours) {
        for layer in &mut self.layers {
            if let Some(ink) = colours.inks.get(&layer.id) {
                layer.ink.clone_from(ink);
            }
        }
        self.stock.clone_from(&colours.stock);
    }

    /// Whether it has these inks and this stock now.
    pub fn shows(&self, colours: &Colours) -> bool {
        let same = |l: &Layer| colours.inks.get(&l.id).is_none_or(|ink| *ink == l.ink);
        self.stock == colours.stock && self.layers.iter().all(same)
    }

    /// The edition that has these inks and this stock, the first one of several.
    pub fn shown_edition(&self) -> Option<&Edition> {
        self.editions.iter().find(|e| self.shows(&e.colours))
    }
}

/// A sheet that nothing is folded of. A format that is named by its width and height is as it is named.
pub(crate) fn oriented(format: SheetFormat, landscape: bool) -> Size {
    let as_named = matches!(format, SheetFormat::Custom(_) | SheetFormat::Ledger);
    if landscape && !as_named { format.size().turned() } else { format.size() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shelf::Shelf;

    #[test]
    fn too_many_inks_on_a_face_are_refused() {
        let shelf = Shelf::starter().unwrap();
        let mut sheet = Sheet::new(SheetId::new(0), SheetFormat::Letter, shelf.stocks[0].clone());
        let layer = |n: u32| Layer::new(LayerId::new(n), "sea", shelf.inks[0].clone());
        sheet.layers = (1..10).map(layer).collect();
        assert!(sheet.check().unwrap_err().contains("9 layers"));
        sheet.layers[8].face = Face::Back;
        assert!(sheet.check().is_ok());
    }
}
