//! Edits of a sheet.

use super::{Made, Refusal, SheetEdit, Step, Which, set};
use crate::answer::Answer;
use crate::edition::Edition;
use crate::ids::{LayerId, SheetId};
use crate::layer::{Art, Layer, Slip};
use crate::project::Project;
use crate::sheet::Sheet;
use crate::shelf::Shelf;
use slipsheet_core::colour::Lab;
use slipsheet_core::ink::Ink;
use slipsheet_core::overprint::MAX_INKS;
use slipsheet_paper::fold::Face;

impl Project {
    pub(super) fn edit_sheet(
        &mut self,
        id: SheetId,
        edit: SheetEdit,
        shelf: &Shelf,
    ) -> Result<Step, Refusal> {
        let is_wrap = id != self.main.id;
        let drums = self.press.drums;
        let ids = &mut self.ids;
        let found = std::iter::once(&mut self.main).chain(self.wrap.iter_mut().map(|w| &mut w.sheet));
        let sheet = found.into_iter().find(|s| s.id == id).ok_or(Refusal::Gone(Which::Sheet))?;
        let label = match edit {
            SheetEdit::Fold(_) | SheetEdit::Booklet(_) | SheetEdit::Trim(_) if is_wrap => {
                return Err(Refusal::NetHasNoFold);
            }
            SheetEdit::Format(format) => {
                sheet.format = format;
                sheet.check().map_err(Refusal::Sheet)?;
                "Change the sheet"
            }
            SheetEdit::Landscape(landscape) => set(&mut sheet.landscape, landscape, "Change the orientation"),
            SheetEdit::Stock(stock) => {
                sheet.stock = stock;
                self.take_overprints(shelf, false);
                "Change the stock"
            }
            SheetEdit::Fold(fold) => {
                (sheet.fold, sheet.booklet) = (fold, None);
                sheet.check().map_err(Refusal::Sheet)?;
                "Change the fold"
            }
            SheetEdit::Booklet(booklet) => {
                (sheet.fold, sheet.booklet) = (None, booklet);
                sheet.check().map_err(Refusal::Sheet)?;
                "Change the booklet"
            }
            SheetEdit::Trim(trim) => set(&mut sheet.trim, trim, "Change the trim"),
            SheetEdit::Turning(turning) => set(&mut sheet.turning, turning, "Change the turning"),
            SheetEdit::BackSlip(slip) => set(&mut sheet.back_slip, slip, "Slip the back"),
            SheetEdit::ResetSlips => {
                sheet.layers.iter_mut().for_each(|l| l.slip = Slip::default());
                sheet.back_slip = Slip::default();
                "Reset all slips"
            }
            SheetEdit::AddLayer(name) => {
                let made =
                    sheet.add_layer(New { id: ids.layer(), face: Face::Front, drums }, &name, shelf)?;
                return Ok(Step::making("Add a layer", Made::Layer(made)));
            }
            SheetEdit::AddScan(name, scan, target) => {
                let face = sheet.face_of(target);
                let made = sheet.add_layer(New { id: ids.layer(), face, drums }, &name, shelf)?;
                let art = Art::new(ids.art(), scan, target);
                let piece = Made::Art(made, art.id);
                sheet.layers.iter_mut().filter(|l| l.id == made).for_each(|l| l.art.push(art.clone()));
                return Ok(Step::making("Add scans", piece));
            }
            SheetEdit::AddSource(new) => {
                let step = sheet.add_source(*new, (ids, drums))?;
                self.take_overprints(shelf, false);
                return Ok(step);
            }
            SheetEdit::MoveLayer(layer, to) => {
                let from = sheet.position(layer).ok_or(Refusal::Gone(Which::Layer))?;
                let moved = sheet.layers.remove(from);
                sheet.layers.insert(to.min(sheet.layers.len()), moved);
                "Change the printing order"
            }
            SheetEdit::Passes(face, passes) => {
                if !sheet.arrange(face, &passes) {
                    return Err(Refusal::PassesOutdated);
                }
                "Change the passes"
            }
            SheetEdit::Answer(answer) => {
                sheet.take_answer(&answer)?;
                "Apply an answer"
            }
            SheetEdit::Accept(accepted) => {
                if accepted.place.layer.is_some_and(|id| sheet.layer(id).is_none()) {
                    return Err(Refusal::Gone(Which::Layer));
                }
                sheet.accepted.retain(|a| (&a.kind, a.place) != (&accepted.kind, accepted.place));
                sheet.accepted.push(accepted);
                "Accept a finding"
            }
            SheetEdit::Reopen(kind, place) => {
                sheet.accepted.retain(|a| (&a.kind, a.place) != (&kind, place));
                "Reopen a finding"
            }
            SheetEdit::AddEdition(name) => {
                let name = sheet.free_edition_name(&name, None)?;
                let colours = sheet.colours();
                sheet.editions.push(Edition::new(ids.edition(), name, colours));
                "Add an edition"
            }
            SheetEdit::KeepColourway(name, mut colours) => {
                let name = Shelf::free_name(&name, sheet.editions.iter().map(|e| e.name.as_str()));
                colours.inks.retain(|id, _| sheet.layer(*id).is_some());
                sheet.editions.push(Edition::new(ids.edition(), name, *colours));
                "Save a colourway as an edition"
            }
            SheetEdit::UseColourway(colours) => {
                sheet.take_colours(&colours);
                self.take_overprints(shelf, false);
                "Use a colourway"
            }
        };
        Ok(Step::new(label))
    }

    pub(super) fn sheet_mut(&mut self, id: SheetId) -> Result<&mut Sheet, Refusal> {
        self.sheets_mut().find(|s| s.id == id).ok_or(Refusal::Gone(Which::Sheet))
    }
}

/// A layer that is to be made.
struct New {
    id: LayerId,
    face: Face,
    /// Drums of the press.
    drums: u8,
}

impl Sheet {
    /// Refuses where a face cannot take another layer.
    pub(super) fn room_on(&self, face: Face) -> Result<(), Refusal> {
        if self.on(face).count() < MAX_INKS { Ok(()) } else { Err(Refusal::FaceFull) }
    }

    /// Puts passes and remedies in together.
    ///
    /// # Errors
    /// Where a layer that it speaks of is gone, or the passes do not name every layer of the face. The sheet may then be
    /// changed in part.
    pub fn take_answer(&mut self, answer: &Answer) -> Result<(), Refusal> {
        if answer.layers().any(|id| self.layer(id).is_none()) {
            return Err(Refusal::Gone(Which::Layer));
        }
        if answer.passes.as_ref().is_some_and(|passes| !self.arrange(answer.face, passes)) {
            return Err(Refusal::PassesOutdated);
        }
        for (id, remedy) in &answer.remedies {
            // On a printed sheet of a booklet a layer may have a twin on the other face.
            for layer in self.layers.iter_mut().filter(|l| l.id == *id) {
                layer.remedies = remedy.added_to(&layer.remedies);
            }
        }
        Ok(())
    }

    /// Puts a layer last in the printing order, in an ink that no other has.
    fn add_layer(&mut self, new: New, name: &str, shelf: &Shelf) -> Result<LayerId, Refusal> {
        let New { id, face, drums } = new;
        self.room_on(face)?;
        let name = Shelf::free_name(name, self.layers.iter().map(|l| l.name.as_str()));
        let ink = self.next_ink(shelf);
        self.put_last(Layer { face, ..Layer::new(id, name, ink) }, drums);
        Ok(id)
    }

    /// The ink of the shelf that stands out most from the paper and the inks in use.
    fn next_ink(&self, shelf: &Shelf) -> Ink {
        let mut used: Vec<Lab> = self.layers.iter().map(|l| l.ink.solid.lab()).collect();
        used.push(self.stock.colour.lab());
        let distance =
            |ink: &Ink| used.iter().map(|c| ink.solid.lab().ciede2000(*c)).fold(f64::INFINITY, f64::min);
        let best = shelf.inks.iter().max_by(|a, b| distance(a).total_cmp(&distance(b)));
        // Without a shelf a layer is black; the person chooses its ink then.
        best.cloned()
            .unwrap_or_else(|| Ink::estimated("Black", Lab::new(17.0, 0.0, 0.0).unwrap_or(Lab::WHITE)))
    }
}
