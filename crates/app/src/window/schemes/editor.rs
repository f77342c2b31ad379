//! The editor of a fold scheme: settings on the left, the flat sheet to draw on in the middle, folding order
//! and the folded sheet on the right, and the engine's verdict below.

use egui::{Key, Layout, Modifiers, RichText, Ui, Vec2};
use slipsheet_core::units::Size;
use slipsheet_paper::fold::{Face, FoldPlan, PlanError, Trial, Turn};

use super::super::theme;
use super::settings::SizesShown;
use super::{creases, flat, settings, stack};
use crate::window::number::drag;

/// A scheme that is being drawn.
pub(super) struct Editor {
    pub plan: FoldPlan,
    pub face: Face,
    /// Whether a click takes a whole line rather than one stretch of it.
    pub whole: bool,
    /// The panel selected, as its face is seen.
    pub panel: Option<(Face, (usize, usize))>,
    /// The crease pointed at.
    pub marked: Option<usize>,
    /// How many steps are shown folded.
    pub step: usize,
    /// How far a ring is gathered, 0 to 1.
    pub gathered: f64,
    pub sizes: SizesShown,
    /// Why the pages could not be numbered.
    refused: Option<String>,
    undo: egui::util::undoer::Undoer<FoldPlan>,
    tried: Option<(FoldPlan, Size, Trial)>,
}

/// What becomes of the editor after a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Done {
    No,
    Cancel,
    Use,
    Keep,
}

impl Editor {
    pub fn new(plan: FoldPlan) -> Self {
        Self {
            step: plan.scheme.creases.len(),
            plan,
            face: Face::Front,
            whole: true,
            panel: None,
            marked: None,
            gathered: 0.0,
            sizes: SizesShown::default(),
            refused: None,
            undo: egui::util::undoer::Undoer::default(),
            tried: None,
        }
    }

    /// The plan folded, computed anew when it has changed.
    fn trial(&mut self, sheet: Size) -> Trial {
        match &self.tried {
            Some((plan, size, trial)) if *plan == self.plan && *size == sheet => trial.clone(),
            _ => {
                let trial = self.plan.try_out(sheet);
                // What is new is shown folded.
                if self.tried.as_ref().is_some_and(|(old, ..)| old.scheme.creases != self.plan.scheme.creases)
                {
                    self.step = trial.folding.steps.len();
                    self.refused = None;
                }
                self.tried = Some((self.plan.clone(), sheet, trial.clone()));
                trial
            }
        }
    }

    /// Lets the folds number the pages, from one panel or from where page 1 is by habit.
    fn number(&mut self, first: Option<(Face, (usize, usize))>) {
        match self.plan.numbered(first) {
            Ok(plan) => (self.plan, self.refused) = (plan, None),
            Err(why) => self.refused = Some(why.to_string()),
        }
    }

    fn undo_ui(&mut self, ui: &mut Ui) {
        let typing = ui.ctx().egui_wants_keyboard_input();
        let pressed = |modifiers, key| {
            !typing && ui.input_mut(|i| i.consume_shortcut(&egui::KeyboardShortcut::new(modifiers, key)))
        };
        let redo_key = pressed(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
        let undo_key = pressed(Modifiers::COMMAND, Key::Z);
        self.undo.feed_state(ui.input(|i| i.time), &self.plan);
        let (can, again) = (self.undo.has_undo(&self.plan), self.undo.has_redo(&self.plan));
        let redo = ui.add_enabled(again, egui::Button::new("Redo")).clicked();
        let undo = ui.add_enabled(can, egui::Button::new("Undo")).clicked();
        if undo || (undo_key && can) {
            self.plan = self.undo.undo(&self.plan).cloned().unwrap_or_else(|| self.plan.clone());
        } else if redo || (redo_key && again) {
            self.plan = self.undo.redo(&self.plan).cloned().unwrap_or_else(|| self.plan.clone());
        }
    }
}

/// Width of the columns left and right of the drawing.
const LEFT: f32 = 226.0;
const RIGHT: f32 = 312.0;

pub(super) fn editor_ui(ui: &mut Ui, size: Vec2, editor: &mut Editor, sheet: Size) -> Done {
    ui.set_width(size.x);
    ui.horizontal(|ui| {
        ui.heading("Draw a fold");
        let hint = "Click on a line: valley (dashed), mountain (dash-dotted), slit (black), nothing.";
        ui.label(RichText::new(hint).color(theme::of(ui).faint));
        ui.with_layout(Layout::right_to_left(egui::Align::Center), |ui| editor.undo_ui(ui));
    });
    ui.separator();
    let trial = editor.trial(sheet);
    let trouble = trial.trouble.as_ref();
    editor.marked = trouble.and_then(PlanError::crease);
    let height = size.y - 158.0;
    let column = Layout::top_down(egui::Align::Min);
    let row = Layout::left_to_right(egui::Align::Min);
    ui.allocate_ui_with_layout(Vec2::new(size.x, height), row, |ui| {
        ui.allocate_ui_with_layout(Vec2::new(LEFT, height), column, |ui| {
            egui::ScrollArea::vertical().max_height(height).auto_shrink([false, false]).show(ui, |ui| {
                ui.set_max_width(LEFT - 10.0);
                settings::settings_ui(ui, editor, sheet);
            });
        });
        let middle = size.x - LEFT - RIGHT - theme::GROUP_GAP - ui.spacing().item_spacing.x;
        ui.allocate_ui_with_layout(Vec2::new(middle, height), column, |ui| {
            drawing_ui(ui, editor, Vec2::new(middle, height), sheet);
        });
        ui.add_space(theme::GROUP_GAP - ui.spacing().item_spacing.x);
        ui.allocate_ui_with_layout(Vec2::new(RIGHT, height), column, |ui| {
            creases::creases_ui(ui, editor, &trial, (height * 0.42).max(140.0));
            stack::folded_ui(ui, editor, &trial, sheet);
        });
    });
    ui.separator();
    verdict_ui(ui, editor, &trial);
    footer_ui(ui, trouble.is_none())
}

/// The sheet itself, with what a click does to it above and the panel selected below.
fn drawing_ui(ui: &mut Ui, editor: &mut Editor, size: Vec2, sheet: Size) {
    ui.horizontal(|ui| {
        ui.selectable_value(&mut editor.face, Face::Front, "Front");
        let both = editor.plan.scheme.two_sided();
        ui.add_enabled_ui(both, |ui| ui.selectable_value(&mut editor.face, Face::Back, "Back"));
        if !both {
            editor.face = Face::Front;
        }
        ui.separator();
        let tip = "With Shift held it is the other way round";
        ui.selectable_value(&mut editor.whole, true, "Whole lines").on_hover_text(tip);
        ui.selectable_value(&mut editor.whole, false, "Single stretches").on_hover_text(tip);
    });
    let (room, _) = ui.allocate_exact_size(Vec2::new(size.x, size.y - 96.0), egui::Sense::hover());
    flat::editor_ui(ui, room, editor, sheet);
    ui.horizontal(|ui| {
        let number = ui.button("Number the pages");
        if number.on_hover_text("Find page numbers and turns by folding; page 1 stays if it can").clicked() {
            editor.number(None);
        }
        if ui.button("Clear").on_hover_text("Remove all page numbers").clicked() {
            let scheme = &mut editor.plan.scheme;
            for panel in scheme.front.iter_mut().chain(scheme.back.iter_mut()) {
                (panel.page, panel.turn) = (0, Turn::Upright);
            }
        }
    });
    panel_ui(ui, editor);
}

/// Page and turn of the panel selected.
fn panel_ui(ui: &mut Ui, editor: &mut Editor) {
    let Some((face, cell)) = editor.panel else {
        let hint = "Click a panel to set its page.";
        ui.label(RichText::new(hint).color(theme::of(ui).faint));
        return;
    };
    let most = editor.plan.scheme.pages();
    let Some(panel) = editor.plan.panel_mut(face, cell) else {
        editor.panel = None;
        return;
    };
    let mut first = false;
    ui.horizontal(|ui| {
        let label = ui.label("Page");
        let field = drag(&mut panel.page).range(0..=most).speed(0.05);
        let field =
            field.custom_formatter(|n, _| if n < 0.5 { "none".to_owned() } else { format!("{n:.0}") });
        ui.add(field).labelled_by(label.id);
        let label = ui.label("turned");
        let combo = egui::ComboBox::from_id_salt("panel turn").width(84.0);
        let combo = combo.selected_text(turn_name(panel.turn)).show_ui(ui, |ui| {
            for turn in [Turn::Upright, Turn::Right, Turn::Half, Turn::Left] {
                ui.selectable_value(&mut panel.turn, turn, turn_name(turn));
            }
        });
        combo.response.labelled_by(label.id);
        let tip = "Make this page 1 and number the others after it";
        first = ui.button("Number from here").on_hover_text(tip).clicked();
    });
    if first {
        editor.number(Some((face, cell)));
    }
}

fn turn_name(turn: Turn) -> &'static str {
    match turn {
        Turn::Upright => "upright",
        Turn::Right => "90° right",
        Turn::Half => "upside down",
        Turn::Left => "90° left",
    }
}

/// The engine's word, in one sentence.
fn verdict_ui(ui: &mut Ui, editor: &Editor, trial: &Trial) {
    let p = theme::of(ui);
    let (text, colour) = match (&editor.refused, &trial.trouble) {
        (_, Some(trouble)) => {
            // What is merely not done yet is no error.
            let colour = match trouble {
                PlanError::NoCrease | PlanError::Unnamed { .. } => p.warning,
                PlanError::Fold { .. } | PlanError::RingCrease { .. } | PlanError::Inconsistent(_) => p.error,
            };
            (super::super::sentence(&format!("{trouble}.")), colour)
        }
        (Some(why), None) => (super::super::sentence(&format!("{why}.")), p.warning),
        (None, None) => {
            let scheme = &editor.plan.scheme;
            let slit = if scheme.slits.is_empty() {
                ""
            } else {
                " Slit it with a steel rule on a mat, cutting away from your fingers."
            };
            (format!("It folds: {} pages in reading order, each upright.{slit}", scheme.pages()), p.text)
        }
    };
    ui.allocate_ui_with_layout(
        Vec2::new(ui.available_width(), 36.0),
        Layout::left_to_right(egui::Align::Center),
        |ui| ui.add(egui::Label::new(RichText::new(text).color(colour)).wrap()),
    );
}

fn footer_ui(ui: &mut Ui, fits: bool) -> Done {
    let mut done = Done::No;
    ui.horizontal(|ui| {
        let shelf = ui.add_enabled(fits, egui::Button::new("Save to shelf"));
        if shelf.on_hover_text("For other projects, too").clicked() {
            done = Done::Keep;
        }
        ui.with_layout(Layout::right_to_left(egui::Align::Center), |ui| {
            if ui.button("Cancel").clicked() {
                done = Done::Cancel;
            }
            if ui.add_enabled(fits, egui::Button::new("Use in project")).clicked() {
                done = Done::Use;
            }
        });
    });
    done
}
