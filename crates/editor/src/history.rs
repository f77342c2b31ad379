//! Undo and redo by snapshots: a project is plain data, so a copy is cheap and a step cannot be half undone.

use slipsheet_document::ids::SheetId;
use slipsheet_document::project::Project;

/// How many steps are kept.
const STEPS: usize = 100;

/// A state of a project, and the sheet that was open then.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// The project.
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

    /// Whether a gesture is open.
    pub fn is_open(&self) -> bool {
        self.open.is_some()
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

    /// Every state kept, so that their pixels are kept as well.
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
