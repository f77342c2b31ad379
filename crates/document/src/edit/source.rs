//! Edits of colour pictures that are separated.

use super::{Made, NewSource, Refusal, SourceEdit, Step, Which, set};
use crate::ids::{ArtId, Ids, SourceId};
use crate::layer::Layer;
use crate::project::Project;
use crate::sheet::Sheet;
use crate::shelf::Shelf;
use crate::source::Source;
use slipsheet_core::ink::Ink;
use slipsheet_core::separation::MOST_INKS;

impl Project {
    pub(super) fn edit_source(
        &mut self,
        id: SourceId,
        edit: SourceEdit,
        shelf: &Shelf,
    ) -> Result<Step, Refusal> {
        let drums = self.press.drums;
        let ids = &mut self.ids;
        let sheets = std::iter::once(&mut self.main).chain(self.wrap.iter_mut().map(|w| &mut w.sheet));
        let gone = Refusal::Gone(Which::Source);
        let sheet = sheets.into_iter().find(|sheet| sheet.source(id).is_some()).ok_or(gone.clone())?;
        let at = sheet.sources.iter().position(|source| source.id == id).ok_or(gone.clone())?;
        let mut source = sheet.sources.get(at).cloned().ok_or(gone)?;
        let label = match edit {
            SourceEdit::Separation(separation) => {
                set(&mut source.separation, separation, "Change the separation")
            }
            SourceEdit::Inks(inks) => {
                check_inks(&inks)?;
                sheet.give_inks(&mut source, &inks, (ids, drums))?;
                "Change the inks of a picture"
            }
            SourceEdit::TakeApart(written) => {
                for art in sheet.layers.iter_mut().flat_map(|layer| &mut layer.art) {
                    if let Some((_, scan)) = written.iter().find(|(id, _)| *id == art.id) {
                        art.scan = scan.clone();
                        source.plates.retain(|plate| *plate != art.id);
                    }
                }
                "Take a picture apart"
            }
            SourceEdit::Remove => {
                for layer in &mut sheet.layers {
                    layer.art.retain(|art| !source.plates.contains(&art.id));
                }
                "Remove a picture"
            }
        };
        if let Some(known) = sheet.sources.get_mut(at) {
            *known = source;
        }
        self.take_overprints(shelf, false);
        Ok(Step::new(label))
    }
}

impl Sheet {
    /// Adds a picture with its plates.
    pub(super) fn add_source(
        &mut self,
        new: NewSource,
        (ids, drums): (&mut Ids, u8),
    ) -> Result<Step, Refusal> {
        check_inks(&new.inks)?;
        let mut source = Source {
            id: ids.source(),
            picture: new.picture,
            separation: new.separation,
            target: new.target,
            placement: new.placement,
            crop: new.crop,
            plates: Vec::new(),
        };
        self.give_inks(&mut source, &new.inks, (ids, drums))?;
        let first = source.plates.first().copied();
        self.sources.push(source);
        let layer = |art: ArtId| self.layers.iter().find(|l| l.art.iter().any(|a| a.id == art));
        let made = first.and_then(|art| Some(Made::Art(layer(art)?.id, art)));
        Ok(Step { label: "Separate a picture", made })
    }

    /// Gives a picture a plate of each of these inks, and takes those of others away.
    fn give_inks(
        &mut self,
        source: &mut Source,
        inks: &[Ink],
        (ids, drums): (&mut Ids, u8),
    ) -> Result<(), Refusal> {
        let face = self.face_of(source.target);
        for layer in &mut self.layers {
            if !inks.contains(&layer.ink) {
                layer.art.retain(|art| !source.plates.contains(&art.id));
            }
        }
        for ink in inks {
            let has =
                |layer: &Layer| layer.ink == *ink && layer.art.iter().any(|a| source.plates.contains(&a.id));
            if self.layers.iter().any(has) {
                continue;
            }
            let layer = match self.layer_in(ink, face) {
                Some(known) => known,
                None => {
                    self.room_on(face)?;
                    let name = Shelf::free_name(&ink.name, self.layers.iter().map(|l| l.name.as_str()));
                    let id = ids.layer();
                    self.put_last(Layer { face, ..Layer::new(id, name, ink.clone()) }, drums);
                    id
                }
            };
            let plate = source.plate(ids.art());
            source.plates.push(plate.id);
            self.layers.iter_mut().filter(|l| l.id == layer).for_each(|l| l.art.push(plate.clone()));
        }
        Ok(())
    }
}

fn check_inks(inks: &[Ink]) -> Result<(), Refusal> {
    let once =
        inks.iter().enumerate().all(|(i, ink)| !inks.iter().take(i).any(|other| other.name == ink.name));
    if (1..=MOST_INKS).contains(&inks.len()) && once { Ok(()) } else { Err(Refusal::Inks) }
}
