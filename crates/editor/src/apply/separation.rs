//! Requests about colour pictures that are separated.

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_core::ink::Ink;
use slipsheet_core::separation::Separation;
use slipsheet_document::edit::{ArtEdit, Edit, LayerEdit, NewSource, SheetEdit, SourceEdit};
use slipsheet_document::ids::{ArtId, SourceId};
use slipsheet_document::layer::{Placement, ScanRef};
use slipsheet_document::source::Source;
use slipsheet_files::store;

use super::Applied;
use crate::job::{ApartOrder, Job, PictureOrder};
use crate::refused::RequestError;
use crate::request::Effect;
use crate::separating::SeparatedFor;
use crate::session::Session;

impl Session {
    /// Starts to read a picture for this.
    pub(super) fn read_picture(&self, file: PathBuf, purpose: SeparatedFor) -> Effect {
        let order = PictureOrder {
            file,
            page: 0,
            resolution: None,
            dpi: None,
            room: self.sheet().size(),
            base: self.path.clone(),
            purpose,
        };
        Effect::Start(Job::ReadPicture(Box::new(order)))
    }

    fn read_scan(&self, scan: &ScanRef, purpose: SeparatedFor) -> Effect {
        let order = PictureOrder {
            file: store::resolve(self.path.as_deref(), scan),
            page: scan.key.page,
            resolution: scan.key.resolution,
            dpi: Some(scan.dpi),
            room: self.sheet().size(),
            base: self.path.clone(),
            purpose,
        };
        Effect::Start(Job::ReadPicture(Box::new(order)))
    }

    pub(super) fn separate_art(&self, art: ArtId) -> Applied {
        let piece = self.art(art)?;
        Ok(vec![self.read_scan(&piece.scan, SeparatedFor::InsteadOf(art))])
    }

    pub(super) fn separate_again(&self, id: SourceId) -> Applied {
        let source = self.known_source(id)?;
        // Where the project was saved elsewhere, its plates know the way.
        let plate = self.sheet().art().find(|art| source.plates.first() == Some(&art.id));
        let picture = plate.map_or_else(|| source.picture.clone(), |art| art.scan.picture());
        Ok(vec![self.read_scan(&picture, SeparatedFor::Source(id))])
    }

    fn known_source(&self, id: SourceId) -> Result<&Source, RequestError> {
        self.sheet().source(id).ok_or(RequestError::Nothing("separate"))
    }

    /// Separates a picture, in one step.
    pub(super) fn separate(
        &mut self,
        scan: ScanRef,
        purpose: SeparatedFor,
        inks: Vec<Ink>,
        separation: Separation,
    ) -> Applied {
        let sheet = self.sheet().id;
        let add = |picture, target, placement, crop| {
            let new = NewSource { picture, target, placement, crop, inks: inks.clone(), separation };
            Edit::Sheet(sheet, SheetEdit::AddSource(Box::new(new)))
        };
        let edits = match purpose {
            SeparatedFor::New(target) => vec![add(scan, target, Placement::default(), None)],
            SeparatedFor::InsteadOf(art) => {
                let piece = self.art(art)?.clone();
                let picture = ScanRef { dpi: piece.scan.dpi, ..scan };
                let layer = self.sheet().holder_of(art).and_then(|id| self.sheet().layer(id));
                // A layer that held nothing else goes with it, unless one of the plates is in its ink.
                let alone = layer.filter(|l| l.art.len() == 1 && !inks.contains(&l.ink)).map(|l| l.id);
                let remove = match alone {
                    Some(layer) => Edit::Layer(layer, LayerEdit::Remove),
                    None => Edit::Art(art, ArtEdit::Remove),
                };
                vec![remove, add(picture, piece.target, piece.placement, piece.crop)]
            }
            SeparatedFor::Source(id) => vec![
                Edit::Source(id, SourceEdit::Separation(separation)),
                Edit::Source(id, SourceEdit::Inks(inks)),
            ],
        };
        let before = self.sheet().clone();
        self.edit_as("Separate a picture", edits)?;
        self.mend_selection(Some(&before));
        if !matches!(purpose, SeparatedFor::Source(_)) {
            let first = self.sheet().sources.last().and_then(|source| source.plates.first().copied());
            let layer = first.and_then(|art| self.sheet().holder_of(art));
            self.select(layer, first);
        }
        Ok(self.load_scans())
    }

    /// Writes the plates of a picture.
    pub(super) fn take_apart(&self, id: SourceId) -> Applied {
        let base = self.path.clone().ok_or(RequestError::SaveFirst)?;
        let source = self.known_source(id)?;
        let mut plates = Vec::new();
        for layer in self.sheet().layers_of(source) {
            for art in layer.art.iter().filter(|art| source.plates.contains(&art.id)) {
                let pixels = self.images.get(&art.scan.key).map(Arc::clone);
                let pixels = pixels.ok_or_else(|| RequestError::MissesScan {
                    what: "The plates",
                    path: art.scan.path.clone(),
                })?;
                plates.push((art.id, format!("{} {}", stem(&source.picture), layer.name), pixels));
            }
        }
        Ok(vec![Effect::Start(Job::TakeApart(Box::new(ApartOrder { source: id, base, plates })))])
    }
}

fn stem(scan: &ScanRef) -> &str {
    let name = scan.file_name();
    name.rsplit_once('.').map_or(name, |(stem, _)| stem)
}
