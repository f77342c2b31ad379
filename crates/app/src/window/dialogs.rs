//! Questions and short lists that lie over the window until they are answered.

use std::path::{Path, PathBuf};

use egui::{ComboBox, DragValue, Grid, Key, Modal, RichText, TextEdit, Ui};
use slipsheet_core::fold::Face;
use slipsheet_core::layer::ScanKey;
use slipsheet_core::preflight::Severity;
use slipsheet_core::units::Dpi;
use slipsheet_editor::{Command, LayerChange, Pick};
use slipsheet_files::dummy_sheet::DummySheetOptions;
use slipsheet_files::home::Recovered;
use slipsheet_files::pack::PackChoices;
use slipsheet_files::proof::ProofOptions;

use super::actions::{GESTURES, TABLE};
use super::booking::choices;
use super::dummy::{PictureForm, picture_ui};
use super::folding;
use super::paths::{self, AskedPath};
use super::{SlipsheetApp, Wish, Wishes, theme};

/// What is asked or shown.
pub(crate) enum Dialog {
    /// Whether unsaved changes may be lost.
    Discard(Box<Command>),
    /// A path, typed.
    Path {
        asked: AskedPath,
        text: String,
        trouble: Option<String>,
        /// A file that the person has been told would be replaced.
        replaces: Option<PathBuf>,
    },
    /// Whether work from before a crash is taken up.
    Recover(Box<Recovered>),
    /// How a proof is written, and whether one of every edition is.
    Proof(Box<ProofOptions>, bool),
    /// How the booking pack is made.
    Pack(PackChoices),
    /// How a picture of the dummy is written.
    DummyPicture(Box<PictureForm>),
    /// The resolution of a scan that does not say it.
    Resolution { key: ScanKey, dpi: f64 },
    /// How the printed dummy is written.
    PrintedDummy(DummySheetOptions),
    /// How the sheet is folded, step by step.
    FoldingSteps,
    /// Keys, gestures and cautions.
    Help,
    /// What should be looked at before printing.
    Findings,
}

impl Dialog {
    /// The window's own path field, for desktops without a dialog.
    pub fn typed_path(asked: AskedPath) -> Self {
        let folder = asked
            .start
            .as_ref()
            .and_then(|p| p.parent())
            .map(PathBuf::from)
            .or_else(|| std::env::current_dir().ok());
        let text = folder.unwrap_or_default().join(paths::proposal(&asked)).display().to_string();
        Self::Path { asked, text, trouble: None, replaces: None }
    }

    /// The same for a file that is there already: to be said once more, or changed.
    pub fn replace(asked: AskedPath, path: &Path) -> Self {
        let trouble = Some(REPLACE.to_owned());
        Self::Path { asked, text: path.display().to_string(), trouble, replaces: Some(path.to_owned()) }
    }

    /// The proof's options, as most shops want them.
    pub fn proof(face: Face, sheet: usize) -> Self {
        let options = ProofOptions {
            dpi: Dpi::default(),
            page: None,
            face,
            sheet,
            perfect: false,
            fold_guides: false,
            trim_guides: false,
            marks: true,
            legend: true,
            show_through: false,
        };
        Self::Proof(Box::new(options), false)
    }
}

/// Said before a file is replaced.
const REPLACE: &str = "This file is there already. OK once more replaces it.";

/// What becomes of a dialog after a frame.
pub(super) enum Next {
    Stay,
    Close,
}

impl SlipsheetApp {
    pub(super) fn dialogs_ui(&mut self, ctx: &egui::Context, wanted: &mut Wishes) {
        self.shelf_ui(ctx, wanted);
        self.schemes_ui(ctx, wanted);
        self.lineup_ui(ctx, wanted);
        self.calibration_ui(ctx, wanted);
        self.series_ui(ctx, wanted);
        self.wrap_ui(ctx, wanted);
        if self.state.dialog.is_none()
            && let Some(key) = self.session.unsized_scans().first()
        {
            self.state.dialog = Some(Dialog::Resolution { key: key.clone(), dpi: 300.0 });
        }
        let Some(mut dialog) = self.state.dialog.take() else { return };
        let mut next = Next::Stay;
        let frame = theme::dialog_frame(ctx);
        let response = Modal::new(egui::Id::unique("dialog")).frame(frame).show(ctx, |ui| {
            ui.set_width(500.0);
            next = self.dialog_ui(ui, &mut dialog, wanted);
        });
        let must_answer = matches!(dialog, Dialog::Resolution { .. } | Dialog::Recover(_));
        let away = response.should_close() && !must_answer;
        // Something may have opened another dialog meanwhile; the newer one stays.
        if matches!(next, Next::Stay) && !away && self.state.dialog.is_none() {
            self.state.dialog = Some(dialog);
        }
    }

    fn dialog_ui(&self, ui: &mut Ui, dialog: &mut Dialog, wanted: &mut Wishes) -> Next {
        match dialog {
            Dialog::Discard(then) => discard_ui(ui, then, wanted),
            Dialog::Path { asked, text, trouble, replaces } => {
                path_ui(ui, asked, text, (trouble, replaces), wanted)
            }
            Dialog::Recover(recovered) => self.recover_ui(ui, recovered, wanted),
            Dialog::Proof(options, every) => self.proof_ui(ui, options, every, wanted),
            Dialog::Pack(choices) => self.pack_ui(ui, choices, wanted),
            Dialog::DummyPicture(form) => dummy_picture_ui(ui, form, wanted),
            Dialog::Resolution { key, dpi } => self.resolution_ui(ui, key, dpi, wanted),
            Dialog::PrintedDummy(options) => folding::printed_dummy_ui(ui, options, wanted),
            Dialog::FoldingSteps => self.folding_steps_ui(ui),
            Dialog::Help => help_ui(ui),
            Dialog::Findings => self.findings_ui(ui, wanted),
        }
    }

    fn pack_ui(&self, ui: &mut Ui, choices: &mut PackChoices, wanted: &mut Wishes) -> Next {
        choices::ui(ui, self.session.project(), choices);
        buttons(ui, |ui| {
            if ui.button("Choose a folder…").clicked() {
                wanted.push(Wish::Pack(*choices));
                return Next::Close;
            }
            if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay }
        })
    }

    fn recover_ui(&self, ui: &mut Ui, recovered: &Recovered, wanted: &mut Wishes) -> Next {
        ui.heading("Take up unsaved work?");
        let title = if recovered.project.title.is_empty() { "Untitled" } else { &recovered.project.title };
        ui.label(format!("Slipsheet stopped before “{title}” was saved. A copy of the work was kept."));
        buttons(ui, |ui| {
            if ui.button("Take it up").clicked() {
                wanted.push(Wish::TakeUp(Box::new(recovered.clone())));
                return Next::Close;
            }
            if ui.button("Throw it away").clicked() {
                self.home.drop_recovered(&recovered.file);
                return Next::Close;
            }
            Next::Stay
        })
    }

    fn proof_ui(
        &self,
        ui: &mut Ui,
        options: &mut ProofOptions,
        every: &mut bool,
        wanted: &mut Wishes,
    ) -> Next {
        ui.heading("Export proof");
        ui.label("A picture of the print as it is predicted, for the print shop.");
        ui.add_space(theme::GAP);
        let project = self.session.project();
        let pages = project.pages();
        Grid::new("proof").num_columns(2).spacing([18.0, 7.0]).show(ui, |ui| {
            let label = ui.label("Shows");
            let shown = options.page.map_or_else(|| "The whole sheet".to_owned(), |p| format!("Page {p}"));
            let combo = ComboBox::from_id_salt("proof page").selected_text(shown).show_ui(ui, |ui| {
                ui.selectable_value(&mut options.page, None, "The whole sheet");
                for page in 1..=pages {
                    ui.selectable_value(&mut options.page, Some(page), format!("Page {page}"));
                }
            });
            combo.response.labelled_by(label.id);
            ui.end_row();
            if project.sheets() > 1 && options.page.is_none() {
                let label = ui.label("Sheet");
                let mut number = options.sheet + 1;
                let field = DragValue::new(&mut number).range(1..=project.sheets()).speed(0.05);
                if ui.add(field).labelled_by(label.id).changed() {
                    options.sheet = number.saturating_sub(1);
                }
                ui.end_row();
            }
            if project.two_sided() && options.page.is_none() {
                ui.label("Face");
                ui.horizontal(|ui| {
                    for face in [Face::Front, Face::Back] {
                        ui.selectable_value(&mut options.face, face, face.name());
                    }
                });
                ui.end_row();
            }
            let label = ui.label("Resolution");
            let mut dpi = options.dpi.get();
            let field = ui.add(DragValue::new(&mut dpi).range(72.0..=1200.0).suffix(" dpi").max_decimals(0));
            if field.labelled_by(label.id).changed() {
                options.dpi = Dpi::new(dpi).unwrap_or_default();
            }
            ui.end_row();
            let label = ui.label("Layers");
            let mut slipped = !options.perfect;
            ui.checkbox(&mut slipped, "with their slips").labelled_by(label.id);
            options.perfect = !slipped;
            ui.end_row();
            for (name, what, flag) in [
                ("Guides", "creases and slits", &mut options.fold_guides),
                ("", "trim", &mut options.trim_guides),
                ("Other face", "shows through (estimate)", &mut options.show_through),
                ("Outside", "registration marks", &mut options.marks),
                ("", "title and ink legend", &mut options.legend),
            ] {
                ui.label(name);
                ui.checkbox(flag, what);
                ui.end_row();
            }
            let editions = project.editions.len();
            if editions > 0 {
                ui.label("Editions");
                let text = if editions == 1 {
                    "a proof of the one edition".to_owned()
                } else {
                    format!("a proof of each of the {editions} editions, into a folder")
                };
                ui.checkbox(every, text);
                ui.end_row();
            }
        });
        buttons(ui, |ui| {
            if ui.button("Export…").clicked() {
                let options = Box::new(*options);
                let ask = if *every { Command::AskProofs(options) } else { Command::AskProof(options) };
                wanted.push(Wish::Do(ask));
                return Next::Close;
            }
            if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay }
        })
    }

    fn resolution_ui(&self, ui: &mut Ui, key: &ScanKey, dpi: &mut f64, wanted: &mut Wishes) -> Next {
        let layers = &self.session.project().layers;
        let places: Vec<(usize, usize)> = layers
            .iter()
            .enumerate()
            .flat_map(|(i, l)| {
                l.art.iter().enumerate().filter(|(_, a)| a.scan.key == *key).map(move |(k, _)| (i, k))
            })
            .collect();
        let Some(&(i, k)) = places.first() else { return Next::Close };
        let name = layers.get(i).and_then(|l| l.art.get(k)).map(|a| a.scan.path.clone()).unwrap_or_default();
        ui.heading("At what resolution was it scanned?");
        ui.label(format!("{name} does not say, and its size on the sheet depends on it."));
        ui.add_space(theme::GAP);
        ui.horizontal(|ui| {
            for common in [150.0, 300.0, 400.0, 600.0] {
                ui.selectable_value(dpi, common, format!("{common:.0}"));
            }
            let field = ui.add(DragValue::new(dpi).range(10.0..=9600.0).suffix(" dpi").max_decimals(1));
            field.widget_info(|| egui::WidgetInfo::labeled(egui::Role::SpinButton, true, "Resolution"));
        });
        if let Some(pixels) = self.session.images().get(key) {
            let mm = |px: u32| f64::from(px) / *dpi * 25.4;
            let (w, h) = (mm(pixels.full().width()), mm(pixels.full().height()));
            ui.label(RichText::new(format!("That makes it {w:.0} × {h:.0} mm.")).color(theme::of(ui).faint));
        }
        buttons(ui, |ui| {
            if ui.button("Use this resolution").clicked() {
                let dpi = Dpi::new(*dpi).unwrap_or_default();
                for (i, k) in &places {
                    wanted.push(Wish::Do(Command::Layer(*i, LayerChange::Dpi(*k, dpi))));
                }
                return Next::Close;
            }
            Next::Stay
        })
    }

    fn findings_ui(&self, ui: &mut Ui, wanted: &mut Wishes) -> Next {
        ui.heading("Before printing");
        let findings = &self.findings;
        if findings.is_empty() {
            ui.label("Nothing was found. The print shop's own look at the job still comes first.");
        }
        let p = theme::of(ui);
        let mut next = Next::Stay;
        egui::ScrollArea::vertical().max_height(380.0).show(ui, |ui| {
            for finding in findings {
                let (word, colour) = match finding.severity {
                    Severity::Error => ("Error", p.error),
                    Severity::Warning => ("Warning", p.warning),
                    Severity::Note => ("Note", p.faint),
                };
                ui.horizontal_top(|ui| {
                    ui.add_sized([58.0, 18.0], egui::Label::new(RichText::new(word).color(colour)));
                    ui.vertical(|ui| {
                        ui.set_width(310.0);
                        ui.add(egui::Label::new(&finding.sentence).wrap());
                    });
                    if let Some(layer) = finding.layer
                        && ui.button("Go there").clicked()
                    {
                        wanted.push(Wish::Do(Command::Select(Some(layer), 0)));
                        next = Next::Close;
                    }
                });
                ui.add_space(3.0);
            }
        });
        let closed = buttons(ui, |ui| if ui.button("Close").clicked() { Next::Close } else { Next::Stay });
        if matches!(closed, Next::Close) { closed } else { next }
    }
}

fn dummy_picture_ui(ui: &mut Ui, form: &mut PictureForm, wanted: &mut Wishes) -> Next {
    picture_ui(ui, form);
    buttons(ui, |ui| {
        if ui.button("Export…").clicked() {
            wanted.push(Wish::Do(Command::AskDummy(form.wish())));
            return Next::Close;
        }
        if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay }
    })
}

fn discard_ui(ui: &mut Ui, then: &Command, wanted: &mut Wishes) -> Next {
    ui.heading("Keep your changes?");
    ui.label("The project has changes that are not saved.");
    buttons(ui, |ui| {
        if ui.button("Save first").clicked() {
            wanted.push(Wish::Do(Command::SaveThen(Box::new(then.clone()))));
            return Next::Close;
        }
        if ui.button("Go on without saving").clicked() {
            wanted.push(Wish::Do(Command::Discard(Box::new(then.clone()))));
            return Next::Close;
        }
        if ui.button("Stay here").clicked() { Next::Close } else { Next::Stay }
    })
}

fn path_ui(
    ui: &mut Ui,
    asked: &AskedPath,
    text: &mut String,
    (trouble, replaces): (&mut Option<String>, &mut Option<PathBuf>),
    wanted: &mut Wishes,
) -> Next {
    ui.heading(paths::question(&asked.pick));
    let label = ui.label(match asked.pick {
        Pick::AddScans(_) => "Type the path of a scan, or several with one on each line; dropping files on the window does the same.",
        Pick::ReadMarks => "Type the paths of the scans, one on each line.",
        Pick::FindScans | Pick::ExportProofs | Pick::ExportMarks | Pick::MakePack => "Type the path of the folder.",
        _ => "Type the path of the file.",
    });
    let field = match asked.pick {
        Pick::AddScans(_) | Pick::ReadMarks => {
            ui.add(TextEdit::multiline(text).desired_width(f32::INFINITY).desired_rows(3))
        }
        _ => ui.add(TextEdit::singleline(text).desired_width(f32::INFINITY)),
    };
    let field = field.labelled_by(label.id);
    let first = egui::Id::unique("path asked before");
    if ui.data_mut(|d| std::mem::replace(d.get_temp_mut_or(first, true), false)) {
        field.request_focus();
    }
    if let Some(trouble) = trouble {
        ui.label(RichText::new(trouble.as_str()).color(theme::of(ui).error));
    }
    let entered = !matches!(asked.pick, Pick::AddScans(_) | Pick::ReadMarks)
        && field.lost_focus()
        && ui.input(|i| i.key_pressed(Key::Enter));
    let next = buttons(ui, |ui| {
        if ui.button("OK").clicked() || entered {
            let files: Vec<PathBuf> =
                text.lines().map(|l| expanded(l.trim())).filter(|f| !f.as_os_str().is_empty()).collect();
            *trouble = paths_trouble(&asked.pick, &files);
            let target = paths::target(asked, &files).filter(|t| t.exists() && replaces.as_ref() != Some(t));
            if let Some(target) = target.filter(|_| trouble.is_none()) {
                *trouble = Some(REPLACE.to_owned());
                *replaces = Some(target);
            } else if trouble.is_none() {
                wanted.extend(paths::command(asked, files).map(Wish::Do));
                return Next::Close;
            }
        }
        if ui.button("Cancel").clicked() {
            wanted.push(Wish::Do(Command::PathCancelled));
            return Next::Close;
        }
        Next::Stay
    });
    if matches!(next, Next::Close) {
        ui.data_mut(|d| d.remove::<bool>(first));
    }
    next
}

/// A leading `~` is the person's folder, as in a shell.
fn expanded(path: &str) -> PathBuf {
    match (path.strip_prefix("~/"), directories::UserDirs::new()) {
        (Some(rest), Some(dirs)) => dirs.home_dir().join(rest),
        _ => PathBuf::from(path),
    }
}

fn paths_trouble(pick: &Pick, files: &[PathBuf]) -> Option<String> {
    let Some(first) = files.first() else { return Some("Type a path first.".to_owned()) };
    match pick {
        Pick::OpenProject
        | Pick::AddScans(_)
        | Pick::ImportShelf
        | Pick::ReadWedge
        | Pick::ReadMarks
        | Pick::ImportMeasured => files
            .iter()
            .find(|f| !f.is_file())
            .map(|f| format!("There is no such file; check the spelling: {}", f.display())),
        Pick::FindScans if !first.exists() => Some(format!("There is no such folder: {}", first.display())),
        Pick::FindScans => None,
        Pick::SaveProject
        | Pick::ExportProof
        | Pick::ExportProofs
        | Pick::ExportDummy(_)
        | Pick::ExportGuide
        | Pick::ExportWedge
        | Pick::ExportDummySheet(_)
        | Pick::ExportMarks
        | Pick::MakePack
        | Pick::ExportWrap(_)
        | Pick::ExportShelf => {
            let folder = first.parent().filter(|f| !f.as_os_str().is_empty());
            folder
                .filter(|f| !f.is_dir())
                .map(|f| format!("There is no folder {}; make it first.", f.display()))
        }
    }
}

fn help_ui(ui: &mut Ui) -> Next {
    ui.heading("Keys, gestures and cautions");
    egui::ScrollArea::vertical().max_height(440.0).show(ui, |ui| {
        ui.label(theme::heading("Mouse and held keys"));
        Grid::new("gestures").num_columns(2).striped(true).min_col_width(190.0).show(ui, |ui| {
            for (gesture, does) in GESTURES {
                ui.label(*gesture);
                ui.label(*does);
                ui.end_row();
            }
        });
        ui.add_space(theme::GROUP_GAP);
        ui.label(theme::heading("Keys"));
        Grid::new("keys").num_columns(2).striped(true).min_col_width(190.0).show(ui, |ui| {
            for info in TABLE {
                let Some(key) = &info.key else { continue };
                ui.label(ui.ctx().format_shortcut(key));
                ui.label(info.tip);
                ui.end_row();
            }
        });
        ui.add_space(theme::GROUP_GAP);
        ui.label(theme::heading("Cautions"));
        for caution in [
            "Scalpels, guillotines and staplers cut and pierce: cut away from your fingers, on a mat, with a steel rule.",
            "Ink and cleaning agents: wear gloves, air the room, read the maker's safety sheet.",
            "Never reach into a running machine. Its manual, the shop's rules and its trained staff come first.",
            "Colours on a screen are a prediction; estimates stay estimates until they are replaced by the shop's swatches.",
        ] {
            ui.add(egui::Label::new(caution).wrap());
        }
    });
    buttons(ui, |ui| if ui.button("Close").clicked() { Next::Close } else { Next::Stay })
}

/// The buttons at the foot of a dialog, the main one at the right.
pub(super) fn buttons(ui: &mut Ui, add: impl FnOnce(&mut Ui) -> Next) -> Next {
    ui.add_space(theme::GROUP_GAP);
    ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), add).inner
}
