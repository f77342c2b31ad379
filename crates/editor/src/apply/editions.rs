//! Commands on editions and colourways; each is one step of history.

use slipsheet_document::edition::Edition;

use crate::command::{CommandError, EditionChange};
use crate::session::Session;

impl Session {
    pub(super) fn change_edition(&mut self, change: EditionChange) -> Result<&'static str, CommandError> {
        Ok(match change {
            EditionChange::Add(name) => {
                let name = self.free_edition_name(&name, None)?;
                let edition = Edition::of(&self.project, &name);
                self.project.editions.push(edition);
                "Add an edition"
            }
            EditionChange::Keep(edition) => {
                let known = self.project.editions.iter().map(|e| e.name.as_str());
                let name = slipsheet_document::shelf::Shelf::free_name(&edition.name, known);
                self.project.editions.push(Edition { name, ..*edition });
                "Save a colourway as an edition"
            }
            EditionChange::Rename(i, name) => {
                let name = self.free_edition_name(&name, Some(i))?;
                self.edition_mut(i)?.name = name;
                "Rename an edition"
            }
            EditionChange::Remove(i) => {
                self.edition_mut(i)?;
                self.project.editions.remove(i);
                "Remove an edition"
            }
            EditionChange::Update(i) => {
                let name = self.edition_mut(i)?.name.clone();
                *self.edition_mut(i)? = Edition::of(&self.project.clone(), &name);
                "Update an edition"
            }
            EditionChange::TakeOver(i) => {
                let edition = self.edition_mut(i)?.clone();
                self.show_edition(&edition);
                "Use an edition"
            }
            EditionChange::Apply(edition) => {
                self.show_edition(&edition);
                "Use a colourway"
            }
        })
    }

    fn show_edition(&mut self, edition: &Edition) {
        self.project = edition.applied_to(&self.project);
        self.project.take_overprints(&self.shelf, false);
    }

    fn edition_mut(&mut self, i: usize) -> Result<&mut Edition, CommandError> {
        self.project.editions.get_mut(i).ok_or(CommandError::NoEdition(i + 1))
    }

    /// A name that says something and that no other edition has.
    fn free_edition_name(&self, name: &str, but: Option<usize>) -> Result<String, CommandError> {
        let name: String = name.trim().chars().take(80).collect();
        let taken = |(i, e): (usize, &Edition)| Some(i) != but && e.name.eq_ignore_ascii_case(&name);
        if name.is_empty() {
            return Err(CommandError::BadName("give the edition a name first".to_owned()));
        }
        if self.project.editions.iter().enumerate().any(taken) {
            let why = format!("there is an edition “{name}” already; choose another name");
            return Err(CommandError::BadName(why));
        }
        Ok(name)
    }
}
