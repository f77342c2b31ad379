//! The line of figures along the bottom: always true, each a button to its cause.

use egui::{Button, RichText, Sense, Ui, Vec2};
use slipsheet_core::words::count;
use slipsheet_editor::{Command, Weight};
use slipsheet_files::home::LengthUnit;

use super::dialogs::Dialog;
use super::sheet::plain_length;
use super::{SlipsheetApp, Wish, Wishes, theme};

impl SlipsheetApp {
    pub(super) fn figures_ui(&mut self, ui: &mut Ui, wanted: &mut Wishes) {
        self.news_ui(ui, wanted);
        ui.horizontal(|ui| {
            ui.set_min_height(24.0);
            ui.spacing_mut().item_spacing.x = 10.0;
            let project = self.session.project();
            let sheet = project.sheet_size();
            let unit = self.session.settings().unit;
            let size = match unit {
                LengthUnit::Mm => format!("{:.0} × {:.0} mm", sheet.width.get(), sheet.height.get()),
                LengthUnit::Inch => {
                    format!("{:.2} × {:.2} in", sheet.width.get() / 25.4, sheet.height.get() / 25.4)
                }
            };
            let pages = project.pages().max(1);
            figure(
                ui,
                &format!("{} {size}", project.sheet.name()),
                "Sheet format; choose another on the right",
            )
            .clicked()
            .then(|| {
                wanted.push(Wish::Do(Command::Select(None, 0)));
            });
            figure(
                ui,
                &format!("{pages} page{}", if pages == 1 { "" } else { "s" }),
                "Pages of the fold; click to see it folded",
            )
            .clicked()
            .then(|| wanted.push(Wish::Act(super::actions::Action::DummyView)));
            for (i, layer) in project.layers.iter().enumerate() {
                let (rect, _) = ui.allocate_exact_size(Vec2::splat(10.0), Sense::hover());
                theme::chip(ui, rect, layer.ink.solid.lab());
                let cover = self
                    .figures
                    .get(i)
                    .map_or_else(|| "…".to_owned(), |f| format!("{:.0} %", f.coverage * 100.0));
                let tip = format!("{}: mean coverage of the sheet by {}", layer.name, layer.ink.name);
                if figure(ui, &cover, &tip).clicked() {
                    wanted.push(Wish::Do(Command::Select(Some(i), 0)));
                }
            }
            let worst = project
                .layers
                .iter()
                .enumerate()
                .max_by(|a, b| a.1.slip.shift().total_cmp(&b.1.slip.shift()));
            if let Some((i, layer)) = worst {
                let text = if project.layers.iter().all(|l| l.slip.is_none()) {
                    "No slip".to_owned()
                } else {
                    format!("Largest slip {}", plain_length(layer.slip.shift(), unit))
                };
                if figure(ui, &text, "The layer that slips most").clicked() {
                    wanted.push(Wish::Do(Command::Select(Some(i), 0)));
                }
            }
            if let Some(study) = self.state.run.study.as_ref().filter(|_| !project.layers.is_empty()) {
                let text = match study.tolerance() {
                    Some((slip, _)) => format!("Tolerance {}", plain_length(slip, unit)),
                    None => "No tight edges".to_owned(),
                };
                if figure(ui, &text, "How far an ink may slip before a gap shows").clicked() {
                    wanted.push(Wish::Act(super::actions::Action::RunView));
                }
            }
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let text = match self.findings.len() {
                    0 => "No findings".to_owned(),
                    n => count(n, "finding"),
                };
                if figure(ui, &text, "What should be looked at before printing").clicked() {
                    self.state.dialog = Some(Dialog::Findings);
                }
                for job in self.jobs.running() {
                    if ui.small_button("Stop").on_hover_text(format!("Stop: {}", job.label)).clicked() {
                        self.jobs.cancel(job.id);
                    }
                    ui.add(
                        egui::ProgressBar::new(job.fraction as f32)
                            .desired_width(150.0)
                            .text(RichText::new(job.label).small()),
                    );
                    ui.ctx().request_repaint_after(std::time::Duration::from_millis(100));
                }
            });
        });
    }

    /// The latest notice, until it is dismissed.
    fn news_ui(&self, ui: &mut Ui, wanted: &mut Wishes) {
        let notices = self.session.notices();
        let Some((i, notice)) = notices.iter().enumerate().next_back() else { return };
        let p = theme::of(ui);
        let colour = match notice.weight {
            Weight::Note => p.text,
            Weight::Warning => p.warning,
            Weight::Error => p.error,
        };
        ui.horizontal(|ui| {
            ui.set_min_height(24.0);
            if ui.button("Dismiss").clicked() {
                wanted.push(Wish::Do(Command::Dismiss(i)));
            }
            if notices.len() > 1 {
                ui.label(RichText::new(format!("{} more", notices.len() - 1)).color(p.faint));
            }
            let text = RichText::new(&notice.text).color(colour);
            ui.add(egui::Label::new(text).truncate()).on_hover_text(&notice.text);
        });
        ui.separator();
    }
}

fn figure(ui: &mut Ui, text: &str, tip: &str) -> egui::Response {
    ui.add(Button::new(RichText::new(text).size(12.0)).frame(false)).on_hover_text(tip)
}
