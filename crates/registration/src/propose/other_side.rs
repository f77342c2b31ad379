//! The other side of the sheet: a copy that it spoils is sold by no answer for this one.

use slipsheet_document::layer::Layer;
use slipsheet_document::passes;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;

use super::ProposeOptions;
use super::verify::sold_copies;
use crate::slip::{SlipError, Sold, Study, StudyOptions};

/// Which of the simulated copies the other side lets sell; none where it has nothing that slips.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct OtherSide(Option<Vec<bool>>);

impl OtherSide {
    /// Of the face that the options do not ask about, studied at the resolution that the printing is drawn at.
    pub(super) fn of(
        printing: &Printing,
        images: &Images,
        options: &ProposeOptions,
        stop: &(dyn Fn() -> bool + Sync),
    ) -> Result<Self, SlipError> {
        let face = options.face.other();
        if printing.sheet.on(face).filter(|(_, l)| l.visible && !l.art.is_empty()).count() < 2 {
            return Ok(Self(None));
        }
        let studying = StudyOptions { dpi: printing.press_dpi, ..StudyOptions::of(&printing.press, face) };
        let study = Study::of_until(printing, images, &studying, stop)?;
        sold_copies(printing, images, &study, options.seed, stop).map(|sold| Self(Some(sold)))
    }

    pub(super) fn sells(&self, copy: usize) -> bool {
        self.0.as_ref().and_then(|sold| sold.get(copy)).is_none_or(|sold| *sold)
    }

    /// How many copies it lets sell.
    pub(super) fn sold(&self) -> Option<Sold> {
        let sold = self.0.as_ref()?;
        Some(Sold { copies: sold.len(), sold: sold.iter().filter(|s| **s).count() })
    }
}

/// Whether a face is printed alike from two printings: the same layers in the same passes.
pub(super) fn is_alike(a: &Printing, b: &Printing, face: Face) -> bool {
    fn layers(printing: &Printing, face: Face) -> impl Iterator<Item = &Layer> {
        printing.sheet.on(face).map(|(_, layer)| layer)
    }
    let passes = |p: &Printing| p.sheet.named(&passes::passes(p, face));
    layers(a, face).eq(layers(b, face)) && passes(a) == passes(b)
}
