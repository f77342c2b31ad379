//! A person at the window: a harness that drops files, clicks what has a label, drags and types, and waits
//! until jobs and pictures have come.

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;
use std::time::{Duration, Instant};

use egui::accesskit::Role;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use slipsheet::window::{Answer, AskedPath, PathDialogs, SlipsheetApp};
use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;
use slipsheet_files::home::Home;

/// Dialogs that answer with paths laid ready.
#[derive(Clone, Default)]
pub struct ReadyPaths {
    answers: Rc<RefCell<Vec<Answer>>>,
    asked: Rc<RefCell<Vec<AskedPath>>>,
}

impl ReadyPaths {
    /// The next question is answered with this.
    pub fn lay(&self, answer: Answer) {
        self.answers.borrow_mut().push(answer);
    }
}

impl PathDialogs for ReadyPaths {
    fn ask(&mut self, asked: AskedPath) {
        self.asked.borrow_mut().push(asked);
    }

    fn poll(&mut self) -> Option<(AskedPath, Answer)> {
        let asked = self.asked.borrow_mut().pop()?;
        let mut answers = self.answers.borrow_mut();
        let answer = if answers.is_empty() { Answer::NoDialog } else { answers.remove(0) };
        Some((asked, answer))
    }
}

/// A file let go over the window.
#[derive(Debug)]
struct Dropped(PathBuf);

impl egui::DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|e| e.to_string())
    }
}

/// The window with someone at it.
pub struct Person {
    /// The window.
    pub harness: Harness<'static, SlipsheetApp>,
    /// Answers for path dialogs.
    pub paths: ReadyPaths,
    home: PathBuf,
}

impl Person {
    /// Opens the window with an empty home in a folder.
    pub fn at(folder: &Path, project: Option<&Path>) -> Self {
        Self::sized(folder, project, egui::vec2(1360.0, 860.0))
    }

    /// The same at a size.
    pub fn sized(folder: &Path, project: Option<&Path>, size: egui::Vec2) -> Self {
        let mut person = Self::opening(folder, project, size);
        person.settle();
        person
    }

    /// The same while everything is still to come.
    pub fn opening(folder: &Path, project: Option<&Path>, size: egui::Vec2) -> Self {
        let paths = ReadyPaths::default();
        let (dialogs, home, project) = (paths.clone(), folder.join("home"), project.map(PathBuf::from));
        let at = home.clone();
        let harness = Harness::builder().with_size(size).build_eframe(move |cc| {
            SlipsheetApp::new(&cc.egui_ctx, Home::new(at), Box::new(dialogs), project).unwrap()
        });
        Self { harness, paths, home }
    }

    /// The person's folder.
    pub fn home(&self) -> Home {
        Home::new(self.home.clone())
    }

    /// Waits until jobs are done and pictures have come; a minute is the most.
    pub fn settle(&mut self) {
        let start = Instant::now();
        self.harness.run_steps(4);
        while !self.harness.state().is_settled() {
            assert!(start.elapsed() < Duration::from_secs(60), "the window does not settle");
            std::thread::sleep(Duration::from_millis(5));
            self.harness.step();
        }
        self.harness.run_steps(2);
    }

    /// Lets files go over the window.
    pub fn drop_files(&mut self, files: &[PathBuf]) {
        for file in files {
            self.harness.input_mut().dropped_files.push(Arc::new(Dropped(file.clone())));
        }
        self.harness.step();
        self.settle();
    }

    /// The project as it is.
    pub fn project(&self) -> &Project {
        self.harness.state().session().project()
    }

    /// What is printed of the sheet that is open.
    pub fn printing(&self) -> &Printing {
        self.harness.state().session().printing()
    }

    /// Clicks what has this label, wherever one has to scroll to.
    #[track_caller]
    pub fn click(&mut self, label: &str) {
        self.harness.get_by_label(label).scroll_to_me();
        self.settle();
        self.harness.get_by_label(label).click();
        self.settle();
    }

    /// The labels that have this in them, in the order in which they stand.
    pub fn labels(&self, text: &str) -> Vec<String> {
        let all = self.harness.query_all_by_label_contains(text);
        all.filter_map(|n| n.accesskit_node().label()).collect()
    }

    /// Clicks the first thing that has this in its label, wherever one has to scroll to.
    #[track_caller]
    pub fn click_first(&mut self, text: &str) {
        let label = self.labels(text).into_iter().next();
        self.click(&label.unwrap_or_else(|| panic!("nothing says “{text}”")));
    }

    /// Opens a menu and clicks the entry that has this in its label.
    #[track_caller]
    pub fn choose(&mut self, menu: &str, entry: &str) {
        self.click(menu);
        self.harness.get_by_label_contains(entry).click();
        self.settle();
    }

    /// Types into the field with this label, in place of what is there; the field stays in hand.
    #[track_caller]
    pub fn type_into(&mut self, label: &str, text: &str) {
        self.harness.get_by_role_and_label(Role::TextInput, label).focus();
        self.harness.step();
        self.harness.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::A);
        self.harness.step();
        self.harness.event(egui::Event::Text(text.to_owned()));
        self.harness.step();
    }

    /// Whether a label has this in it.
    pub fn says(&self, text: &str) -> bool {
        self.harness.query_all_by_label_contains(text).next().is_some()
    }

    /// Presses a key with modifiers.
    pub fn press(&mut self, modifiers: egui::Modifiers, key: egui::Key) {
        self.harness.key_press_modifiers(modifiers, key);
        self.harness.step();
        self.settle();
    }

    /// What the tab of a view says: its figure and its caption.
    #[track_caller]
    pub fn tab(&self, view: &str) -> String {
        self.harness.get_by_role_and_label(Role::Button, view).value().unwrap_or_default()
    }

    /// Where a field for numbers lies.
    pub fn spin(&self, label: &str) -> egui::Pos2 {
        self.harness.get_by_role_and_label(Role::SpinButton, label).rect().center()
    }

    /// Drags a slider from where it stands in the middle of its range.
    pub fn drag_slider(&mut self, label: &str, by: f32) {
        let slider = Role::Slider;
        let middle = self.harness.get_by_role_and_label(slider, label).rect().center();
        self.drag(middle, middle + egui::vec2(by, 0.0));
    }

    /// Drags from one point to another in steps.
    pub fn drag(&mut self, from: egui::Pos2, to: egui::Pos2) {
        self.harness.hover_at(from);
        self.harness.step();
        self.harness.drag_at(from);
        self.harness.step();
        for i in 1..=5 {
            self.harness.hover_at(from + (to - from) * (i as f32 / 5.0));
            self.harness.step();
        }
        self.harness.drop_at(to);
        self.harness.step();
        self.settle();
    }
}
