//! Undo and redo by snapshots: a project is plain data, so a copy is cheap and a step cannot be half undone.

use std::collections::BTreeSet;

use slipsheet_document::ids::SheetId;
use slipsheet_document::layer::ScanKey;
use slipsheet_document::project::Project;

/// How many steps are kept.
const STEPS: usize = 100;

/// A state of a project, and the sheet that was open then.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    pub project: Project,
    /// The sheet on which the step after it is seen.
    pub sheet: SheetId,
}

/// Past and future states of a project.
#[derive(Debug, Clone, Default)]
pub struct History {
    past: Vec<(String, State)>,
    future: Vec<(String, State)>,
    /// The state before an open gesture, and the gesture's name.
    open: Option<(String, State)>,
}

impl History {
    /// Notes that `before` is about to be changed. Inside a gesture only the gesture's start counts.
    pub fn note(&mut self, label: &str, before: &State) {
        if self.open.is_none() {
            self.push(label.to_owned(), before.clone());
        }
    }

    /// Opens a gesture: everything until it closes is one step. A gesture that is already open stays.
    pub fn open(&mut self, label: &str, before: &State) {
        if self.open.is_none() {
            self.open = Some((label.to_owned(), before.clone()));
        }
    }

    /// Closes the gesture; it leaves a step only when something changed.
    pub fn close(&mut self, now: &State) {
        if let Some((label, before)) = self.open.take().filter(|(_, before)| before.project != now.project) {
            self.push(label, before);
        }
    }

    /// The state before the last step, given the present one.
    pub fn undo(&mut self, now: &State) -> Option<State> {
        self.close(now);
        let (label, before) = self.past.pop()?;
        // The step is seen again on the sheet that it belongs to.
        self.future.push((label, State { project: now.project.clone(), sheet: before.sheet }));
        Some(before)
    }

    /// The state that the last undo left, given the present one.
    pub fn redo(&mut self, now: &State) -> Option<State> {
        self.close(now);
        let (label, after) = self.future.pop()?;
        self.past.push((label, State { project: now.project.clone(), sheet: after.sheet }));
        Some(after)
    }

    /// What undo would take back.
    pub fn undo_label(&self) -> Option<&str> {
        self.open.as_ref().or(self.past.last()).map(|(label, _)| label.as_str())
    }

    /// What redo would bring back.
    pub fn redo_label(&self) -> Option<&str> {
        self.future.last().map(|(label, _)| label.as_str())
    }

    /// Every state kept, to be changed alike; used where the meaning of all of them moves, as paths do.
    pub fn each_mut(&mut self) -> impl Iterator<Item = &mut Project> {
        self.past.iter_mut().chain(&mut self.future).chain(&mut self.open).map(|(_, s)| &mut s.project)
    }

    /// The states whose pixels are kept besides those of `now`, from the ones that undo and redo reach first, as long as
    /// what they add comes to `most` bytes. A step beyond them reads its scans again.
    pub(crate) fn states_within<'a>(
        &'a self,
        now: &'a Project,
        most: usize,
        bytes: impl Fn(&ScanKey) -> usize,
    ) -> Vec<&'a Project> {
        let past = self.open.iter().chain(self.past.iter().rev()).enumerate();
        let mut states: Vec<_> = past.chain(self.future.iter().rev().enumerate()).collect();
        states.sort_by_key(|(steps, _)| *steps);
        let keys = |state: &'a Project| state.every_art().map(|a| &a.scan.key);
        let mut known: BTreeSet<&ScanKey> = keys(now).collect();
        let mut room = most;
        let fits = |state: &&'a Project| {
            let adds: usize = keys(state).filter(|key| known.insert(key)).map(&bytes).sum();
            let left = room.checked_sub(adds);
            room = left.unwrap_or(0);
            left.is_some()
        };
        states.into_iter().map(|(_, (_, state))| &state.project).take_while(fits).collect()
    }

    /// Every state kept: undo and redo may bring back what it is made of.
    pub fn states(&self) -> impl Iterator<Item = &Project> {
        self.past.iter().chain(&self.future).chain(&self.open).map(|(_, s)| &s.project)
    }

    fn push(&mut self, label: String, before: State) {
        self.future.clear();
        self.past.push((label, before));
        if self.past.len() > STEPS {
            self.past.remove(0);
        }
    }
}

#[cfg(test)]
mod tests {
    use slipsheet_core::units::{Dpi, SheetFormat};
    use slipsheet_document::layer::{Art, Layer, ScanRef, Target};
    use slipsheet_document::shelf::Shelf;

    use super::*;

    /// A project with the scans of these names.
    fn with(names: &[&str]) -> State {
        let shelf = Shelf::starter().unwrap();
        let mut project = Project::new("Walk", SheetFormat::A6, shelf.stocks[0].clone());
        let mut layer = Layer::new(project.ids.layer(), "sea", shelf.inks[0].clone());
        let scan = |name: &&str| ScanRef {
            path: String::new(),
            size: 1,
            key: ScanKey::new(name.repeat(64)),
            dpi: Dpi::default(),
        };
        layer.art = names.iter().map(|name| Art::new(project.ids.art(), scan(name), Target::Sheet)).collect();
        project.main.layers.push(layer);
        let sheet = project.main.id;
        State { project, sheet }
    }

    #[test]
    fn pixels_are_kept_for_the_nearest_steps_within_their_room() {
        let mut history = History::default();
        for names in [&["a"][..], &["b"], &["b", "c"], &["c"]] {
            history.note("Replace", &with(names));
        }
        let now = with(&["c"]);
        let kept = |history: &History, now: &State, most| {
            let kept = history.states_within(&now.project, most, |_| 40).into_iter();
            kept.map(|p| p.main.layers[0].art.iter().map(|a| a.scan.key.sha256[..1].to_owned()).collect())
                .collect()
        };
        let [none, one, all]: [Vec<String>; 3] = [0, 79, 80].map(|most| kept(&history, &now, most));
        assert_eq!(
            (none, one),
            (vec!["c".to_owned()], vec!["c".to_owned(), "bc".to_owned(), "b".to_owned()])
        );
        assert_eq!(all, ["c", "bc", "b", "a"]);
        // Redo is as near as undo.
        let before = history.undo(&now).unwrap();
        let before = history.undo(&before).unwrap();
        assert_eq!(kept(&history, &before, 0), ["b", "c"]);
    }
}
