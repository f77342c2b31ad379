//! Everything as it will be handed over, page by page.

use std::sync::Arc;

use egui::{RichText, Sense, TextureHandle, TextureOptions, Ui};
use slipsheet_editor::{Handover, HandoverPages, KnownRegister, OnPaper, Snapshot};
use slipsheet_files::pack::PackPage;
use slipsheet_files::plates::PlateForm;

use crate::window::overlays::OpenOverlay;
use crate::window::sheet::color_image;
use crate::window::{UiCommand, theme};

/// Pages are shown much smaller than they are drawn.
const SMALL: TextureOptions =
    TextureOptions { mipmap_mode: Some(egui::TextureFilter::Linear), ..TextureOptions::LINEAR };

/// The pages of the pack.
pub(crate) struct Pages {
    /// What draws them.
    drawing: Handover,
    /// Those with ink on them that are on the screen.
    paper: Option<Arc<OnPaper>>,
    /// The pages, as the screen has them.
    pages: Vec<ShownPage>,
}

impl Pages {
    pub fn new(drawing: Handover) -> Self {
        Self { drawing, paper: None, pages: Vec::new() }
    }

    /// Asks for what has changed.
    pub fn follow(&mut self, snapshot: &Snapshot, form: PlateForm, register: Option<&Arc<KnownRegister>>) {
        self.drawing.follow(snapshot, form, register);
    }

    /// Takes what has come.
    pub fn poll(&mut self, ctx: &egui::Context) {
        if let Some(drawn) = self.drawing.poll() {
            self.take(ctx, drawn);
        }
    }

    /// See [`slipsheet_editor::Worker::fault`].
    pub fn fault(&mut self) -> Option<String> {
        self.drawing.fault()
    }

    /// Whether everything asked for has come.
    pub fn is_settled(&self) -> bool {
        self.drawing.is_settled()
    }

    /// Those that have been drawn.
    pub fn drawn(&self) -> &[ShownPage] {
        &self.pages
    }

    fn take(&mut self, ctx: &egui::Context, drawn: HandoverPages) {
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

    pub fn ui(&self, ui: &mut Ui, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        ui.label(theme::heading("What the shop gets"));
        if !self.drawing.is_settled() && self.pages.is_empty() {
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
        out.extend(clicked.map(|at| UiCommand::Open(Box::new(OpenOverlay::PackPage(at)))));
    }
}

/// A page of the pack on the screen.
pub(crate) struct ShownPage {
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
