//! What a study of a project's register depends on, so that what changes no edge brings no new one about.

use slipsheet_document::layer::Slip;
use slipsheet_document::printing::{Printing, WrapPart};

use crate::snapshot::{Pixels, Snapshot};

/// A project without what no study of its register looks at, and the pixels of its scans.
///
/// The names of the layers stay: what is told of a study calls them by name.
#[derive(Debug, Clone, PartialEq)]
pub struct StudyKey {
    printing: Printing,
    pixels: Pixels,
}

impl StudyKey {
    /// What studies of a snapshot depend on.
    pub fn of(snapshot: &Snapshot) -> Self {
        let mut printing = Printing::clone(&snapshot.printing);
        printing.title.clear();
        printing.job = Default::default();
        // Shares are told of copies that do not depend on one another.
        printing.press = printing.press.independent();
        // It is judged by what is accepted, and known without it.
        printing.acceptance = Default::default();
        printing.wrap = WrapPart::None;
        printing.sheet.accepted.clear();
        printing.sheet.editions.clear();
        // A study asks how far the inks may slip, whatever slips are tried on the picture.
        printing.sheet.back_slip = Slip::default();
        printing.sheet.layers.iter_mut().for_each(|l| l.slip = Slip::default());
        Self { printing, pixels: snapshot.pixels() }
    }

    /// The project, which studies as the whole one does.
    pub fn printing(&self) -> &Printing {
        &self.printing
    }

    /// Whether all of its scans are there.
    pub fn is_whole(&self) -> bool {
        self.pixels.is_whole()
    }
}

#[cfg(test)]
mod tests {
    use slipsheet_core::units::{Mm, SheetFormat};
    use slipsheet_document::edition::Edition;
    use slipsheet_document::ids::{EditionId, LayerId};
    use slipsheet_document::layer::Layer;
    use slipsheet_document::shelf::Shelf;

    use super::*;

    #[test]
    fn prices_slips_and_editions_ask_for_no_new_study_and_a_trim_or_a_name_does() {
        let shelf = Shelf::starter().unwrap();
        let mut printing = Printing::new("Walk", SheetFormat::A6, shelf.stocks[0].clone());
        printing.sheet.layers.push(Layer::new(LayerId::new(0), "sea", shelf.inks[0].clone()));
        let key = |p: &Printing| StudyKey::of(&Snapshot::of(p));
        let known = key(&printing);
        let slip = Slip { dx: Mm::new(0.4), ..Slip::default() };
        (printing.title, printing.job.copies) = ("Stroll".to_owned(), 80);
        (printing.sheet.layers[0].slip, printing.sheet.back_slip) = (slip, slip);
        let (id, colours) = (EditionId::new(0), printing.sheet.colours());
        printing.sheet.editions.push(Edition::new(id, "blue".to_owned(), colours));
        assert_eq!(key(&printing), known);
        for change in [
            (|p| p.sheet.trim = Mm::new(4.0)) as fn(&mut Printing),
            |p| p.sheet.layers[0].name = "weed".to_owned(),
            |p| p.sheet.layers[0].visible = false,
            |p| p.press.drums += 1,
        ] {
            let mut changed = printing.clone();
            change(&mut changed);
            assert_ne!(key(&changed), known);
        }
    }
}
