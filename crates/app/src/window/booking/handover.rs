//! Everything as it will be handed over: each plate, each face of the proof. Drawn small on a thread of its own.

use std::sync::mpsc::{Receiver, TryRecvError, channel};

use egui::{ColorImage, RichText, TextureHandle, TextureOptions, Ui, Vec2};
use slipsheet_core::cost::JobTerms;
use slipsheet_core::fold::Face;
use slipsheet_core::ink_use::{InkUse, ink_use};
use slipsheet_core::project::Project;
use slipsheet_core::render::{Picture, Scene, Show, View};
use slipsheet_core::units::Dpi;
use slipsheet_editor::Snapshot;
use slipsheet_files::plates::{PlateFormat, PlateOptions, Plates};

use crate::window::theme;

/// Longest side of a picture in pixels.
const SIDE: f64 = 420.0;

/// What the thread brings: coverage, and pictures with their names.
struct Drawn {
    inks: Vec<InkUse>,
    pictures: Vec<(String, Picture)>,
}

/// The pages of the pack.
#[derive(Default)]
pub(super) struct Handover {
    /// The project that was drawn, or is being drawn, without what does not show.
    project: Option<Project>,
    coming: Option<Receiver<Drawn>>,
    inks: Option<Vec<InkUse>>,
    pages: Vec<(String, TextureHandle)>,
    loaded: usize,
}

/// A project without what changes nothing on paper.
fn on_paper(project: &Project) -> Project {
    let mut bare = project.clone();
    (bare.job, bare.accepted) = (JobTerms::default(), Vec::new());
    bare.layers.iter_mut().for_each(|l| l.slip = Default::default());
    bare
}

impl Handover {
    pub fn is_settled(&self) -> bool {
        self.coming.is_none()
    }

    /// Coverage of the inks, once it is known.
    pub fn inks(&self) -> Option<&[InkUse]> {
        self.inks.as_deref()
    }

    /// Takes what has come and asks for what has changed.
    pub fn follow(&mut self, ctx: &egui::Context, snapshot: &Snapshot) {
        if let Some(coming) = &self.coming {
            match coming.try_recv() {
                Ok(drawn) => {
                    self.coming = None;
                    self.inks = Some(drawn.inks);
                    self.pages = drawn
                        .pictures
                        .into_iter()
                        .map(|(name, picture)| {
                            let texture = ctx.load_texture(&name, image_of(&picture), TextureOptions::LINEAR);
                            (name, texture)
                        })
                        .collect();
                }
                Err(TryRecvError::Disconnected) => self.coming = None,
                Err(TryRecvError::Empty) => return,
            }
        }
        let bare = on_paper(&snapshot.project);
        let arts = bare.layers.iter().flat_map(|l| &l.art);
        let loaded = arts.filter(|a| snapshot.images.get(&a.scan.key).is_some()).count();
        if self.project.as_ref() == Some(&bare) && self.loaded == loaded {
            return;
        }
        let (sender, receiver) = channel();
        let (snapshot, wake) = (snapshot.clone(), ctx.clone());
        let draw = move || {
            // Nobody listens any more when the window has gone.
            if sender.send(drawn(&snapshot)).is_ok() {
                wake.request_repaint();
            }
        };
        if std::thread::Builder::new().name("handover pictures".to_owned()).spawn(draw).is_ok() {
            self.coming = Some(receiver);
        }
        (self.project, self.loaded) = (Some(bare), loaded);
    }

    pub fn ui(&self, ui: &mut Ui) {
        let p = theme::of(ui);
        ui.label(theme::heading("What is handed over"));
        if self.coming.is_some() && self.pages.is_empty() {
            ui.label(RichText::new("The pages are being drawn…").color(p.faint));
            return;
        }
        if self.pages.is_empty() {
            ui.label(RichText::new("Add scans to see the plates and the proof.").color(p.faint));
            return;
        }
        let cell = 176.0;
        let columns = ((ui.available_width() + theme::GAP) / (cell + theme::GAP)).floor().max(1.0) as usize;
        for row in self.pages.chunks(columns) {
            ui.horizontal_top(|ui| {
                for (name, texture) in row {
                    ui.vertical(|ui| {
                        ui.set_width(cell);
                        let size = texture.size_vec2();
                        let scale = (cell / size.x).min(170.0 / size.y);
                        let image = egui::Image::new(texture)
                            .fit_to_exact_size(Vec2::new(size.x * scale, size.y * scale));
                        let response = ui.add(image.alt_text(name));
                        ui.painter().rect_stroke(
                            response.rect,
                            0.0,
                            egui::Stroke::new(1.0, p.line),
                            egui::StrokeKind::Outside,
                        );
                        ui.add(egui::Label::new(RichText::new(name).small().color(p.faint)).wrap());
                    });
                }
            });
            ui.add_space(theme::GAP);
        }
        ui.label(
            RichText::new(
                "The pack also holds the separations, ticket, dummy, page guide and a list of its files.",
            )
            .small()
            .color(p.faint),
        );
    }
}

fn image_of(picture: &Picture) -> ColorImage {
    let pixels = picture.pixels.iter().map(|p| theme::pixel(*p)).collect();
    ColorImage::new([picture.width, picture.height], pixels)
}

fn drawn(snapshot: &Snapshot) -> Drawn {
    let (project, images) = (&*snapshot.project, &snapshot.images);
    let inks = ink_use(project, images);
    let sheet = project.sheet_size();
    let longest = sheet.width.get().max(sheet.height.get()).max(1.0);
    let Ok(dpi) = Dpi::new((SIDE / longest * 25.4).clamp(10.0, 200.0)) else {
        return Drawn { inks, pictures: Vec::new() };
    };
    let mut pictures = Vec::new();
    let options = PlateOptions { dpi: Some(dpi), ..PlateOptions::default() };
    let mut plated = Vec::new();
    for on in 0..project.sheets() {
        let one = project.on_sheet(on);
        for face in [Face::Front, Face::Back] {
            if !one.on(face).any(|(_, l)| l.visible && (project.booklet.is_none() || !l.art.is_empty())) {
                continue;
            }
            let show = Show { face, perfect: true, ..Show::default() };
            if let Ok(scene) = Scene::new(&one, images, show) {
                let side = face.name().to_lowercase();
                let name = match project.sheets() {
                    1 => format!("Proof, {side}"),
                    _ => format!("Proof, {side} of sheet {}", on + 1),
                };
                pictures.push((name, scene.render(&View::sheet(sheet, dpi))));
            }
        }
        let Ok(plates) = Plates::of_sheet(project, images, &options, on) else { continue };
        for plate in &plates.all {
            let gray = plates.bands().flat_map(|(top, rows)| plates.rows(plate, top, rows));
            let pixels = gray.map(|g| [g, g, g, 255]).collect();
            let picture = Picture { width: plates.width as usize, height: plates.height as usize, pixels };
            plated.push((format!("Plate {}", plate.file_name(PlateFormat::Png)), picture));
        }
    }
    pictures.extend(plated);
    Drawn { inks, pictures }
}
