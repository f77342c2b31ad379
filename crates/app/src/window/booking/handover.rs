//! Everything as it will be handed over, page by page. Drawn small on a thread of its own.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};

use egui::{RichText, Sense, TextureHandle, TextureOptions, Ui};
use slipsheet_booking::ink_use::{InkUse, ink_use};
use slipsheet_document::project::Project;
use slipsheet_document::terms::JobTerms;
use slipsheet_editor::{KnownRegister, Snapshot};
use slipsheet_files::pack::{self, PackPage};
use slipsheet_files::plates::PlateForm;
use slipsheet_files::ticket::{Ticket, TicketNotes};

use crate::window::sheet::color_image;
use crate::window::theme;

/// Longest side of a picture in pixels.
const SIDE: u16 = 900;

/// Pages are shown much smaller than they are drawn.
const SMALL: TextureOptions =
    TextureOptions { mipmap_mode: Some(egui::TextureFilter::Linear), ..TextureOptions::LINEAR };

/// What pages are drawn of.
#[derive(Clone, PartialEq)]
struct Drawing {
    /// The project without what does not show.
    project: Project,
    /// How many of its scans are there.
    loaded: usize,
    /// The form of the plates that was chosen last.
    form: PlateForm,
}

/// What lies on paper, drawn once for as long as no ink changes.
struct OnPaper {
    of: Drawing,
    inks: Vec<InkUse>,
    notes: TicketNotes,
    pages: Vec<PackPage>,
}

/// What the thread brings.
struct Drawn {
    paper: Arc<OnPaper>,
    ticket: Vec<PackPage>,
}

/// The pages of the pack.
#[derive(Default)]
pub(super) struct Handover {
    /// What was drawn, or is being drawn.
    drawing: Option<Drawing>,
    coming: Option<Receiver<Drawn>>,
    /// Whether the register of what is to be drawn is still being studied.
    waits: bool,
    paper: Option<Arc<OnPaper>>,
    /// The pages, as the screen has them.
    pub pages: Vec<ShownPage>,
    /// The page that is shown large.
    pub enlarged: Option<usize>,
}

/// A project without its what-ifs and opinions: what all pages depend on.
fn shown(project: &Project) -> Project {
    let mut bare = project.clone();
    for sheet in bare.sheets_mut() {
        sheet.accepted.clear();
        sheet.layers.iter_mut().for_each(|l| l.slip = Default::default());
    }
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

    /// Takes what has come and asks for what has changed, once the register of that was studied for the findings.
    pub fn follow(
        &mut self,
        ctx: &egui::Context,
        snapshot: &Snapshot,
        form: PlateForm,
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
        let loaded = bare.every_art().filter(|a| snapshot.images.get(&a.scan.key).is_some()).count();
        let wanted = Drawing { project: bare, loaded, form };
        let same = self.drawing.as_ref() == Some(&wanted);
        let register = register.filter(|r| !same && r.is_of(snapshot)).cloned();
        self.waits = !same && register.is_none();
        let Some(register) = register else { return };
        let (sender, receiver) = channel();
        let (snapshot, wake, known) = (snapshot.clone(), ctx.clone(), self.paper.clone());
        let of = Drawing { project: on_paper(&snapshot.project), ..wanted.clone() };
        let draw = move || {
            // Nobody listens any more when the window has gone.
            if sender.send(drawn(&snapshot, of, &register, known)).is_ok() {
                wake.request_repaint();
            }
        };
        if std::thread::Builder::new().name("handover pictures".to_owned()).spawn(draw).is_ok() {
            self.coming = Some(receiver);
        }
        self.drawing = Some(wanted);
    }

    fn take(&mut self, ctx: &egui::Context, drawn: Drawn) {
        let load = |page: &PackPage| ShownPage {
            file: page.file.clone(),
            caption: page.caption.clone(),
            texture: ctx.load_texture(&page.caption, color_image(&page.picture), SMALL),
        };
        let same = self.paper.as_ref().is_some_and(|p| Arc::ptr_eq(p, &drawn.paper));
        if same {
            self.pages.truncate(drawn.paper.pages.len());
        } else {
            self.pages = drawn.paper.pages.iter().map(load).collect();
        }
        self.pages.extend(drawn.ticket.iter().map(load));
        self.paper = Some(drawn.paper);
    }

    pub fn ui(&mut self, ui: &mut Ui) {
        let p = theme::of(ui);
        ui.label(theme::heading("What the shop gets"));
        if !self.is_settled() && self.pages.is_empty() {
            ui.label(RichText::new("The pages are being drawn…").color(p.faint));
            return;
        }
        if self.pages.is_empty() {
            ui.label(RichText::new("Add scans to see the plates and the proof.").color(p.faint));
            return;
        }
        let text = "Every page of the pack; click one to see it large. A list of the files with their sizes and hashes comes with them.";
        ui.label(RichText::new(text).small().color(p.faint));
        ui.add_space(theme::GAP);
        let gap = theme::GROUP_GAP;
        let wide = ui.available_width() + gap;
        let columns = (wide / (170.0 + gap)).floor().max(1.0) as usize;
        let cell = (wide / columns as f32 - gap).min(230.0);
        let mut clicked = None;
        for (row, pages) in self.pages.chunks(columns).enumerate() {
            ui.horizontal_top(|ui| {
                ui.spacing_mut().item_spacing.x = gap;
                for (i, page) in pages.iter().enumerate() {
                    ui.vertical(|ui| {
                        ui.set_width(cell);
                        if page.ui(ui, cell) {
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

/// A page of the pack on the screen.
pub(super) struct ShownPage {
    file: String,
    pub caption: String,
    pub texture: TextureHandle,
}

impl ShownPage {
    /// What it shows, its file, and the page below; whether it was clicked.
    fn ui(&self, ui: &mut Ui, cell: f32) -> bool {
        let p = theme::of(ui);
        ui.spacing_mut().item_spacing.y = 2.0;
        ui.add(egui::Label::new(&self.caption).truncate());
        ui.add(egui::Label::new(RichText::new(&self.file).small().color(p.faint)).truncate());
        ui.add_space(2.0);
        let size = self.texture.size_vec2();
        let scale = (cell / size.x).min(cell / size.y);
        let image = egui::Image::new(&self.texture).fit_to_exact_size(size * scale);
        let response = ui.add(image.alt_text(&self.caption).sense(Sense::click()));
        let colour = if response.hovered() { p.accent } else { p.line };
        let frame = egui::Stroke::new(1.0, colour);
        ui.painter().rect_stroke(response.rect, 0.0, frame, egui::StrokeKind::Outside);
        response.on_hover_cursor(egui::CursorIcon::ZoomIn).on_hover_text("Click to see it large").clicked()
    }
}

fn drawn(snapshot: &Snapshot, of: Drawing, register: &KnownRegister, known: Option<Arc<OnPaper>>) -> Drawn {
    let paper = known.filter(|k| k.of == of).unwrap_or_else(|| Arc::new(inked(snapshot, register, of)));
    let (printing, images) = (&*snapshot.printing, &snapshot.images);
    let ticket = Ticket::with_inks(printing, &paper.inks, &paper.notes, paper.of.form);
    Drawn { ticket: pack::ticket_pages(printing, images, &ticket, SIDE), paper }
}

fn inked(snapshot: &Snapshot, register: &KnownRegister, of: Drawing) -> OnPaper {
    let (printing, images) = (&*snapshot.printing, &snapshot.images);
    let notes = match register.of(snapshot) {
        Some(register) => TicketNotes::from_register(printing, register),
        None => TicketNotes::of(printing, images).unwrap_or_default(),
    };
    let pages = pack::pages(&snapshot.project, images, &notes, of.form, SIDE);
    OnPaper { of, inks: ink_use(printing, images), notes, pages }
}
