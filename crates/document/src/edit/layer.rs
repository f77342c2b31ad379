//! Edits of a layer.

use super::{LayerEdit, Made, Refusal, Step, Which, set};
use crate::ids::LayerId;
use crate::layer::Art;
use crate::project::Project;
use crate::sheet::Sheet;
use crate::shelf::Shelf;

/// The most letters of a layer's name.
const NAME: usize = 80;

impl Project {
    pub(super) fn edit_layer(
        &mut self,
        id: LayerId,
        edit: LayerEdit,
        shelf: &Shelf,
    ) -> Result<Step, Refusal> {
        let ids = &mut self.ids;
        let sheets = std::iter::once(&mut self.main).chain(self.wrap.iter_mut().map(|w| &mut w.sheet));
        let gone = Refusal::Gone(Which::Layer);
        let found = sheets.into_iter().find_map(|s| s.position(id).map(|at| (s, at)));
        let Some((sheet, at)) = found else { return Err(gone) };
        if let LayerEdit::Face(face) = &edit
            && sheet.layers.get(at).is_some_and(|l| l.face != *face)
        {
            sheet.room_on(*face)?;
        }
        if edit == LayerEdit::Remove {
            sheet.remove_layer(id);
            return Ok(Step::new("Remove a layer"));
        }
        if let LayerEdit::Remedies(remedies) = &edit
            && remedies.iter().filter_map(|r| r.other()).any(|other| sheet.layer(other).is_none())
        {
            return Err(gone);
        }
        let layer = sheet.layers.get_mut(at).ok_or(gone)?;
        let label = match edit {
            LayerEdit::Name(name) => {
                layer.name = name.chars().take(NAME).collect();
                "Rename a layer"
            }
            LayerEdit::Ink(ink) => {
                layer.ink = ink;
                self.take_overprints(shelf, false);
                "Change an ink"
            }
            LayerEdit::Visible(visible) => set(&mut layer.visible, visible, "Show or hide a layer"),
            LayerEdit::Face(face) => set(&mut layer.face, face, "Change a layer's face"),
            LayerEdit::Slip(slip) => set(&mut layer.slip, slip, "Slip a layer"),
            LayerEdit::Reading(reading) => set(&mut layer.reading, reading, "Change a reading"),
            LayerEdit::Remedies(remedies) => set(&mut layer.remedies, remedies, "Change the remedies"),
            LayerEdit::AddScan(scan, target) => {
                let art = Art::new(ids.art(), scan, target);
                let made = Made::Art(id, art.id);
                layer.art.push(art);
                return Ok(Step::making("Add scans", made));
            }
            LayerEdit::Remove => "Remove a layer",
        };
        Ok(Step::new(label))
    }
}

impl Sheet {
    /// Takes a layer away, and whatever was about it.
    fn remove_layer(&mut self, id: LayerId) {
        self.layers.retain(|l| l.id != id);
        for layer in &mut self.layers {
            layer.remedies.retain(|r| r.other() != Some(id));
        }
        for edition in &mut self.editions {
            edition.colours.inks.remove(&id);
        }
        self.accepted.retain(|a| a.place.layer != Some(id));
    }
}
