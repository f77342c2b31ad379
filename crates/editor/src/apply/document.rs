//! Edits of the document as steps of history, what is selected after them, and which sheet is open.

use slipsheet_document::edit::{self, ArtEdit, Edit, Made, Refusal};
use slipsheet_document::ids::{ArtId, LayerId, SheetId};
use slipsheet_document::sheet::Sheet;

use super::Applied;
use crate::history::State;
use crate::refused::RequestError;
use crate::session::{Selection, Session};

impl Session {
    /// Carries an edit out; one step of history where something changes.
    pub(crate) fn edit(&mut self, edit: Edit) -> Applied {
        let given = self.says_resolution(&edit);
        let before = self.state();
        let step = edit::apply(&mut self.project, edit, &self.shelf)?;
        self.unsized_scans.retain(|key| Some(key) != given.as_ref());
        self.note(step.label, before);
        match step.made {
            None => {}
            Some(Made::Layer(layer)) => self.select(Some(layer), None),
            Some(Made::Art(layer, art)) => self.select(Some(layer), Some(art)),
        }
        Ok(self.load_scans())
    }

    /// Carries several edits out as one step of history with a label of its own, all of them or none.
    pub(crate) fn edit_as(
        &mut self,
        label: &str,
        edits: impl IntoIterator<Item = Edit>,
    ) -> Result<(), Refusal> {
        let before = self.state();
        let mut project = self.project.clone();
        for edit in edits {
            edit::apply(&mut project, edit, &self.shelf)?;
        }
        self.project = project;
        self.note(label, before);
        Ok(())
    }

    fn says_resolution(&self, edit: &Edit) -> Option<slipsheet_document::layer::ScanKey> {
        let Edit::Art(id, ArtEdit::Dpi(_)) = edit else { return None };
        self.project.every_art().find(|a| a.id == *id).map(|a| a.scan.key.clone())
    }

    pub(crate) fn state(&self) -> State {
        State { project: self.project.clone(), sheet: self.sheet }
    }

    /// Notes a step of history, if anything has changed since `before`.
    pub(crate) fn note(&mut self, label: &str, before: State) {
        if self.project == before.project {
            return;
        }
        self.history.note(label, &before);
        self.revision += 1;
        self.mend_selection(before.project.sheet(before.sheet));
    }

    /// Opens another sheet; no step of history.
    pub(super) fn switch_to(&mut self, sheet: SheetId) -> Applied {
        if self.project.sheet(sheet).is_none() {
            return Err(RequestError::Edit(Refusal::Gone(edit::Which::Sheet)));
        }
        if sheet != self.sheet {
            self.history.close(&self.state());
            self.opened(sheet);
        }
        Ok(vec![])
    }

    /// Shows a sheet anew: what was selected on another is not here.
    pub(super) fn opened(&mut self, sheet: SheetId) {
        self.sheet = sheet;
        let first = self.sheet().layers.first().map(|l| l.id);
        self.selection = Selection::default();
        self.select(first, None);
        self.revision += 1;
    }

    /// Selects a layer of the open sheet, and a piece of its artwork or else its first.
    pub(super) fn select(&mut self, layer: Option<LayerId>, art: Option<ArtId>) {
        let found = layer.and_then(|id| self.sheet().layer(id));
        let piece = found.and_then(|l| {
            let asked = art.filter(|id| l.art.iter().any(|a| a.id == *id));
            asked.or_else(|| l.art.first().map(|a| a.id))
        });
        self.selection = Selection { layer: found.map(|l| l.id), art: piece };
    }

    /// Selects what has come to the place of a layer that has gone, and another piece where one has gone.
    pub(super) fn mend_selection(&mut self, before: Option<&Sheet>) {
        if self.project.sheet(self.sheet).is_none() {
            return self.opened(self.project.main.id);
        }
        let Selection { layer, art } = self.selection;
        let sheet = self.sheet();
        let there = layer.filter(|id| sheet.layer(*id).is_some());
        let place = layer.and_then(|id| before.and_then(|s| s.position(id)));
        let neighbour = || {
            let last = sheet.layers.len().checked_sub(1)?;
            sheet.layers.get(place?.min(last)).map(|l| l.id)
        };
        let layer = there.or_else(neighbour);
        self.select(layer, art);
    }
}
