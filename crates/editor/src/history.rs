//! Undo and redo by snapshots: a project is plain data, so a copy is cheap and a step cannot be half undone.

use slipsheet_document::project::Project;

/// How many steps are kept.
const STEPS: usize = 100;

/// Past and future states of a project.
#[derive(Debug, Clone, Default)]
pub struct History {
    past: Vec<(String, Project)>,
    future: Vec<(String, Project)>,
    /// The state before an open gesture, and the gesture's name.
    open: Option<(String, Project)>,
}

impl History {
    /// Notes that `before` is about to be changed. Inside a gesture only the gesture's start counts.
    pub fn note(&mut self, label: &str, before: &Project) {
        if self.open.is_none() {
            self.push(label.to_owned(), before.clone());
        }
    }

    /// Opens a gesture: everything until it closes is one step. A gesture that is already open stays.
    pub fn open(&mut self, label: &str, before: &Project) {
        if self.open.is_none() {
            self.open = Some((label.to_owned(), before.clone()));
        }
    }

    /// Closes the gesture; it leaves a step only when something changed.
    pub fn close(&mut self, now: &Project) {
        if let Some((label, before)) = self.open.take().filter(|(_, before)| before != now) {
            self.push(label, before);
        }
    }

    /// Whether a gesture is open.
    pub fn is_open(&self) -> bool {
        self.open.is_some()
    }

    /// The state before the last step, given the present one.
    pub fn undo(&mut self, now: &Project) -> Option<Project> {
        self.close(now);
        let (label, before) = self.past.pop()?;
        // The step is seen again on the sheet that it belongs to.
        self.future.push((label, now.turned_to(before.shows_wrap())));
        Some(before)
    }

    /// The state that the last undo left, given the present one.
    pub fn redo(&mut self, now: &Project) -> Option<Project> {
        self.close(now);
        let (label, after) = self.future.pop()?;
        self.past.push((label, now.turned_to(after.shows_wrap())));
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
        self.past.iter_mut().chain(&mut self.future).chain(&mut self.open).map(|(_, p)| p)
    }

    /// Every state kept, so that their pixels are kept as well.
    pub fn states(&self) -> impl Iterator<Item = &Project> {
        self.past.iter().chain(&self.future).chain(&self.open).map(|(_, p)| p)
    }

    fn push(&mut self, label: String, before: Project) {
        self.future.clear();
        self.past.push((label, before));
        if self.past.len() > STEPS {
            self.past.remove(0);
        }
    }
}
