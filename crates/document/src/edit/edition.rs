//! Edits of an edition.

use super::{EditionEdit, Refusal, Step, Which};
use crate::edition::{Edition, MOST_COPIES};
use crate::ids::EditionId;
use crate::project::Project;
use crate::sheet::Sheet;
use crate::shelf::Shelf;

/// The most letters of an edition's name.
const NAME: usize = 80;

impl Project {
    pub(super) fn edit_edition(
        &mut self,
        id: EditionId,
        edit: EditionEdit,
        shelf: &Shelf,
    ) -> Result<Step, Refusal> {
        let place = |s: &Sheet| s.editions.iter().position(|e| e.id == id);
        let found = self.sheets_mut().find_map(|s| place(s).map(|at| (s, at)));
        let Some((sheet, at)) = found else { return Err(Refusal::Gone(Which::Edition)) };
        Ok(Step::new(match edit {
            EditionEdit::Rename(name) => {
                let name = sheet.free_edition_name(&name, Some(id))?;
                sheet.editions[at].name = name;
                "Rename an edition"
            }
            EditionEdit::Copies(copies) => {
                sheet.editions[at].copies = copies.map(|n| n.min(MOST_COPIES));
                "Change the copies of an edition"
            }
            EditionEdit::Update => {
                sheet.editions[at].colours = sheet.colours();
                "Update an edition"
            }
            EditionEdit::Use => {
                let colours = sheet.editions[at].colours.clone();
                sheet.take_colours(&colours);
                self.take_overprints(shelf, false);
                "Use an edition"
            }
            EditionEdit::Remove => {
                sheet.editions.remove(at);
                "Remove an edition"
            }
        }))
    }
}

impl Sheet {
    /// A name that says something and that no other edition has.
    pub(super) fn free_edition_name(&self, name: &str, of: Option<EditionId>) -> Result<String, Refusal> {
        let name: String = name.trim().chars().take(NAME).collect();
        let taken = |e: &Edition| Some(e.id) != of && e.name.eq_ignore_ascii_case(&name);
        if name.is_empty() {
            return Err(Refusal::NameEmpty);
        }
        if self.editions.iter().any(taken) {
            return Err(Refusal::NameTaken(name));
        }
        Ok(name)
    }
}
