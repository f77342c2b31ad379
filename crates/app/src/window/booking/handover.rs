//! Everything as it will be handed over: each face of the proof, each plate, the ticket's pages. Drawn small on a
//! thread of its own.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};

use egui::{RichText, Sense, TextureHandle, TextureOptions, Ui};
use slipsheet_core::cost::JobTerms;
use slipsheet_core::ink_use::{InkUse, ink_use};
use slipsheet_core::project::Project;
use slipsheet_core::render::{Picture, Scene, Show, View};
use slipsheet_core::schedule::printed_sides;
use slipsheet_editor::{KnownRegister, Snapshot};
use slipsheet_files::pdf_picture;
use slipsheet_files::plates::{PlateOptions, Plates};
use slipsheet_files::ticket::{self, Ticket, TicketNotes};

use crate::window::sheet::color_image;
use crate::window::theme;

/// Longest side of a picture in pixels.
const SIDE: u16 = 900;

/// What lies on paper, drawn once for as long as no ink changes.
struct OnPaper {
    /// The project without what changes no ink, and how many of its scans were there.
    of: (Project, usize),
    inks: Vec<InkUse>,
    notes: TicketNotes,
    pictures: Vec<(String, Picture)>,
}

/// What the thread brings.
struct Drawn {
    paper: Arc<OnPaper>,
    ticket: Vec<Picture>,
}

/// The pages of the pack.
#[derive(Default)]
pub(super) struct Handover {
    /// The project that was drawn, or is being drawn, without what does not show.
    project: Option<(Project, usize)>,
    coming: Option<Receiver<Drawn>>,
    /// Whether the register of what is to be drawn is still being studied.
    waits: bool,
    paper: Option<Arc<OnPaper>>,
    /// Captions and pictures.
    pub pages: Vec<(String, TextureHandle)>,
    /// The page that is shown large.
    pub enlarged: Option<usize>,
}

/// A project without its what-ifs and opinions: what all pages depend on.
fn shown(project: &Project) -> Project {
    let mut bare = project.clone();
    bare.accepted.clear();
    bare.layers.iter_mut().for_each(|l| l.slip = Default::default());
    bare
}

/// A project without its terms as well: what the inked pages depend on.
fn on_paper(project: &Project) -> Project {
    Project { job: JobTerms::default(), ..shown(project) }
}

impl Handover {
    pub fn is_settled(&self) -> bool {
        self.coming.is_none() && !self.waits
    }

    /// Coverage of the inks, once it is known.
    pub fn inks(&self) -> Option<&[InkUse]> {
        self.paper.as_ref().map(|p| p.inks.as_slice())
    }

    /// Takes what has come and asks for what has changed, once the register of that was studied for the findings.
    pub fn follow(
        &mut self,
        ctx: &egui::Context,
        snapshot: &Snapshot,
        register: Option<&Arc<KnownRegister>>,
    ) {
        if let Some(coming) = &self.coming {
            match coming.try_recv() {
                Ok(drawn) => {
                    self.coming = None;
                    self.take(ctx, drawn);
                }
                Err(TryRecvError::Disconnected) => self.coming = None,
                Err(TryRecvError::Empty) => return,
            }
        }
        let bare = shown(&snapshot.project);
        let arts = bare.layers.iter().flat_map(|l| &l.art);
        let loaded = arts.filter(|a| snapshot.images.get(&a.scan.key).is_some()).count();
        let wanted = (bare, loaded);
        let same = self.project.as_ref() == Some(&wanted);
        let register = register.filter(|r| !same && r.is_of(snapshot)).cloned();
        self.waits = !same && register.is_none();
        let Some(register) = register else { return };
        let (sender, receiver) = channel();
        let (snapshot, wake, known) = (snapshot.clone(), ctx.clone(), self.paper.clone());
        let draw = move || {
            // Nobody listens any more when the window has gone.
            if sender.send(drawn(&snapshot, loaded, &register, known)).is_ok() {
                wake.request_repaint();
            }
        };
        if std::thread::Builder::new().name("handover pictures".to_owned()).spawn(draw).is_ok() {
            self.coming = Some(receiver);
        }
        self.project = Some(wanted);
    }

    fn take(&mut self, ctx: &egui::Context, drawn: Drawn) {
        let load = |name: &str, picture: &Picture| {
            (name.to_owned(), ctx.load_texture(name, color_image(picture), TextureOptions::LINEAR))
        };
        let same = self.paper.as_ref().is_some_and(|p| Arc::ptr_eq(p, &drawn.paper));
        let inked = drawn.paper.pictures.len();
        if same {
            self.pages.truncate(inked);
        } else {
            self.pages = drawn.paper.pictures.iter().map(|(name, picture)| load(name, picture)).collect();
        }
        let pages = drawn.ticket.len();
        self.pages.extend(drawn.ticket.iter().enumerate().map(|(i, picture)| {
            let name =
                if pages > 1 { format!("Ticket, page {} of {pages}", i + 1) } else { "Ticket".to_owned() };
            load(&name, picture)
        }));
        self.paper = Some(drawn.paper);
    }

    pub fn ui(&mut self, ui: &mut Ui) {
        let p = theme::of(ui);
        ui.label(theme::heading("What is handed over"));
        if !self.is_settled() && self.pages.is_empty() {
            ui.label(RichText::new("The pages are being drawn…").color(p.faint));
            return;
        }
        if self.pages.is_empty() {
            ui.label(RichText::new("Add scans to see the plates and the proof.").color(p.faint));
            return;
        }
        let text = "Click a page to see it large. The pack also holds the separations, the dummy, the page guide and a list of its files.";
        ui.label(RichText::new(text).small().color(p.faint));
        ui.add_space(theme::GAP);
        let cell = 188.0;
        let gap = theme::GROUP_GAP;
        let columns = ((ui.available_width() + gap) / (cell + gap)).floor().max(1.0) as usize;
        let mut clicked = None;
        for (row, pages) in self.pages.chunks(columns).enumerate() {
            ui.horizontal_top(|ui| {
                ui.spacing_mut().item_spacing.x = gap;
                for (i, (name, texture)) in pages.iter().enumerate() {
                    ui.vertical(|ui| {
                        ui.set_width(cell);
                        if page_ui(ui, cell, name, texture) {
                            clicked = Some(row * columns + i);
                        }
                    });
                }
            });
            ui.add_space(gap);
        }
        self.enlarged = clicked.or(self.enlarged);
    }
}

/// A caption and its page below; whether it was clicked.
fn page_ui(ui: &mut Ui, cell: f32, name: &str, texture: &TextureHandle) -> bool {
    let p = theme::of(ui);
    ui.add(egui::Label::new(RichText::new(name).small()).truncate());
    let size = texture.size_vec2();
    let scale = (cell / size.x).min(180.0 / size.y);
    let image = egui::Image::new(texture).fit_to_exact_size(size * scale);
    let response = ui.add(image.alt_text(name).sense(Sense::click()));
    let colour = if response.hovered() { p.accent } else { p.line };
    let frame = egui::Stroke::new(1.0, colour);
    ui.painter().rect_stroke(response.rect, 0.0, frame, egui::StrokeKind::Outside);
    response.on_hover_cursor(egui::CursorIcon::ZoomIn).on_hover_text("Click to see it large").clicked()
}

fn drawn(snapshot: &Snapshot, loaded: usize, register: &KnownRegister, known: Option<Arc<OnPaper>>) -> Drawn {
    let of = (on_paper(&snapshot.project), loaded);
    let paper = known.filter(|k| k.of == of).unwrap_or_else(|| Arc::new(inked(snapshot, register, of)));
    let (project, images) = (&*snapshot.project, &snapshot.images);
    let ticket = Ticket::with_inks(project, &paper.inks, &paper.notes);
    let pages = ticket::document(&ticket, project, images).unwrap_or_default();
    Drawn { paper, ticket: pdf_picture::pictures(pages, SIDE) }
}

fn inked(snapshot: &Snapshot, register: &KnownRegister, of: (Project, usize)) -> OnPaper {
    let (project, images) = (&*snapshot.project, &snapshot.images);
    let notes = match register.of(snapshot) {
        Some(register) => TicketNotes::from_register(project, register),
        None => TicketNotes::of(project, images).unwrap_or_default(),
    };
    let mut all = OnPaper { of, inks: ink_use(project, images), notes, pictures: Vec::new() };
    let sheet = project.sheet_size();
    let dpi = sheet.dpi_for(f64::from(SIDE));
    let options = PlateOptions { dpi: Some(dpi), ..PlateOptions::default() };
    for (on, face) in printed_sides(project) {
        if let Ok(scene) = Scene::new(project, images, Show { sheet: on, ..Show::meant(face) }) {
            let name = format!("Proof, {}", face.of_sheet(on, project.sheets()));
            all.pictures.push((name, scene.render(&View::sheet(sheet, dpi))));
        }
    }
    for on in 0..project.sheets() {
        let Ok(plates) = Plates::of_sheet(project, images, &options, on) else { continue };
        for plate in &plates.all {
            let gray = plates.bands().flat_map(|(top, rows)| plates.rows(plate, top, rows));
            let pixels = gray.map(|g| [g, g, g, 255]).collect();
            let picture = Picture { width: plates.width as usize, height: plates.height as usize, pixels };
            let side = plate.face.of_sheet(on, project.sheets());
            let name = format!("Plate {}: {}, {side}, pass {}", plate.order, plate.ink, plate.pass);
            all.pictures.push((name, picture));
        }
    }
    all
}
