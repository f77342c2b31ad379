//! Mending a scan: dust that is found and removed, and a brush that paints white, takes out, or keeps. What is painted
//! is a mask beside the scan; the scan itself stays as it is.

pub(super) mod canvas;
mod painting;

use std::sync::Arc;

use egui::{Key, Modifiers, PointerButton, RichText, Stroke, Ui, Vec2};
use slipsheet_core::dust::Speck;
use slipsheet_core::geometry::Point;
use slipsheet_core::raster::Pyramid;
use slipsheet_core::retouch;
use slipsheet_core::words::count;
use slipsheet_document::layer::{Art, DustSize};
use slipsheet_editor::{DustOrder, Request, ToMend};

use self::canvas::{Canvas, Masked, Shown};
use self::painting::Painting;
use super::context::Context;
use super::dialogs::{Next, make_large};
use super::number::drag;
use super::{UiCommand, theme};

/// What the brush does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Brush {
    White,
    TakeOut,
    Keep,
    Erase,
}

impl Brush {
    const ALL: [(Self, &'static str, &'static str); 4] = [
        (Self::White, "Paint white", "What is painted will not print"),
        (
            Self::TakeOut,
            "Take out",
            "What is painted is filled with what lies around it, as a stain on a wash",
        ),
        (Self::Keep, "Keep", "What is painted stays, whatever is taken for dust"),
        (Self::Erase, "Erase", "Takes back what was painted"),
    ];

    fn code(self) -> u8 {
        match self {
            Self::White => retouch::WHITE,
            Self::TakeOut => retouch::FILL,
            Self::Keep => retouch::KEEP,
            Self::Erase => retouch::AS_IT_IS,
        }
    }
}

/// What the dialog works on; nothing of it reaches the project before it is done.
pub(crate) struct Mending {
    art: Art,
    pixels: Arc<Pyramid>,
    painting: Painting,
    canvas: Canvas,
    brush: Brush,
    /// Width of the brush in mm.
    width: f64,
    /// Where the brush was in the frame before, while it paints.
    last: Option<Point>,
    dust: Option<DustSize>,
    /// The size that the box has while it is off.
    size: DustSize,
    /// The dust up to a size.
    found: Option<(DustSize, Vec<Speck>)>,
    /// The size that was asked for last.
    asked: Option<DustSize>,
}

/// The most specks that are drawn, and their least radius in points.
const SPECKS: usize = 2000;
const RING: f32 = 6.0;
/// The height of what stands under the scan.
const FOOT: f32 = 112.0;

impl Mending {
    pub fn new(read: ToMend) -> Self {
        let dust = read.art.scan.key.dust.map(|dust| dust.size);
        Self {
            art: read.art,
            pixels: read.pixels,
            painting: Painting::new(read.mask),
            canvas: Canvas::default(),
            brush: Brush::White,
            width: 2.0,
            last: None,
            dust,
            size: dust.unwrap_or_default(),
            found: None,
            asked: None,
        }
    }

    /// Whether anything is done that Escape would lose.
    pub fn is_changed(&self) -> bool {
        self.painting.revision() > 0 || self.dust != self.art.scan.key.dust.map(|dust| dust.size)
    }

    /// Dust that was found.
    pub fn take(&mut self, found: (DustSize, Vec<Speck>)) {
        self.found = Some(found);
    }

    pub fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
        let size = make_large(ui);
        self.look_for_dust(out);
        if ui.input_mut(|i| i.consume_key(Modifiers::COMMAND, Key::Z)) {
            self.painting.undo();
        }
        ui.horizontal(|ui| {
            ui.heading("Mend a scan");
            ui.label(RichText::new(self.art.scan.file_name()).color(theme::of(ui).faint));
        });
        ui.add_space(theme::GAP);
        let room = Vec2::new(size.x, (size.y - ui.min_rect().height() - FOOT).max(160.0));
        let specks = self.specks().map_or(&[][..], |(_, specks)| specks.as_slice()).to_vec();
        let mask = Masked { codes: Some(self.painting.mask()), revision: self.painting.revision() };
        let shown = self.canvas.ui(ui, room, "Scan to be mended", (&self.pixels, mask));
        self.paint(&shown);
        self.over_ui(ui, &shown, &specks);
        ui.add_space(theme::GAP);
        self.brush_ui(ui);
        self.dust_ui(ui);
        self.foot_ui(ui, is_same(cx, &self.art), out)
    }

    /// The brush's radius in pixels of the scan.
    fn radius(&self) -> f64 {
        self.width / 2.0 * self.art.scan.dpi.px_per_mm()
    }

    fn paint(&mut self, shown: &Shown) {
        let response = &shown.response;
        if response.drag_started_by(PointerButton::Primary) || response.clicked() {
            self.painting.begin();
            let start = response.ctx.input(|i| i.pointer.press_origin());
            self.last = start.or(response.interact_pointer_pos()).map(|p| shown.scan(p));
        }
        if let (Some(last), Some(pointer)) = (self.last, response.interact_pointer_pos()) {
            let now = shown.scan(pointer);
            self.painting.paint(last, now, self.radius().max(0.5), self.brush.code());
            self.last = Some(now);
        }
        if response.drag_stopped() || response.clicked() {
            self.painting.end();
            self.last = None;
        }
    }

    /// Rings around dust, and the brush under the pointer.
    fn over_ui(&self, ui: &Ui, shown: &Shown, specks: &[Speck]) {
        let p = theme::of(ui);
        for speck in specks.iter().take(SPECKS) {
            let ring = (speck.rect.width.max(speck.rect.height) as f32 * shown.zoom()).max(RING);
            let middle = shown.screen(speck.rect.centre());
            if shown.rect.expand(ring).contains(middle) {
                shown.painter.circle_stroke(middle, ring, Stroke::new(3.0, p.guide_halo));
                shown.painter.circle_stroke(middle, ring, Stroke::new(1.5, p.guide));
            }
        }
        if let Some(pointer) = shown.response.hover_pos() {
            let radius = self.radius() as f32 * shown.zoom();
            shown.painter.circle_stroke(pointer, radius, Stroke::new(2.5, p.guide_halo));
            shown.painter.circle_stroke(pointer, radius, Stroke::new(1.0, p.text));
        }
    }

    fn brush_ui(&mut self, ui: &mut Ui) {
        ui.horizontal(|ui| {
            for (brush, name, tip) in Brush::ALL {
                ui.selectable_value(&mut self.brush, brush, name).on_hover_text(tip);
            }
            ui.add_space(theme::GAP);
            let label = ui.label("Width");
            let field = drag(&mut self.width).range(0.2..=40.0).speed(0.05).suffix(" mm").max_decimals(1);
            ui.add(field).labelled_by(label.id);
            ui.add_space(theme::GAP);
            let undo = ui.add_enabled(self.painting.can_undo(), egui::Button::new("Undo stroke"));
            if undo.on_hover_text("Take the last stroke back (Ctrl+Z)").clicked() {
                self.painting.undo();
            }
            let clear = ui.add_enabled(self.painting.is_painted(), egui::Button::new("Clear all"));
            if clear.on_hover_text("Take back everything that was painted or taken out").clicked() {
                self.painting.clear();
            }
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| self.canvas.zoom_ui(ui));
        });
    }

    fn dust_ui(&mut self, ui: &mut Ui) {
        ui.horizontal(|ui| {
            let mut on = self.dust.is_some();
            ui.checkbox(&mut on, "Remove dust up to")
                .on_hover_text("Specks and hairs that lie apart from what is drawn");
            let mut mm = self.size.mm();
            let field = drag(&mut mm).range(0.05..=3.0).speed(0.01).suffix(" mm").max_decimals(2);
            theme::named(&ui.add(field), egui::Role::SpinButton, "Size of dust");
            self.size = DustSize::new(mm);
            self.dust = on.then_some(self.size);
            let text = match self.specks() {
                Some((_, specks)) if on => format!("{} will be removed", count(specks.len(), "speck")),
                Some((_, specks)) => format!("{} would be removed", count(specks.len(), "speck")),
                None => "looking…".to_owned(),
            };
            ui.label(RichText::new(text).color(theme::of(ui).faint));
        });
    }

    fn foot_ui(&mut self, ui: &mut Ui, same: bool, out: &mut Vec<UiCommand>) -> Next {
        super::dialogs::buttons(ui, |ui| {
            let p = theme::of(ui);
            let done = theme::filled(p, RichText::new("Done").color(p.on_accent));
            if ui.add_enabled(same, done).clicked() {
                let mask = self.painting.is_painted().then(|| Arc::new(self.painting.mask().clone()));
                out.push(Request::Mend { art: self.art.id, dust: self.dust, mask }.into());
                return Next::Close;
            }
            let next = if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay };
            changed_ui(ui, same);
            next
        })
    }

    /// The dust up to the chosen size, once it is found.
    fn specks(&self) -> Option<&(DustSize, Vec<Speck>)> {
        self.found.as_ref().filter(|(size, _)| *size == self.size)
    }

    fn look_for_dust(&mut self, out: &mut Vec<UiCommand>) {
        if self.asked != Some(self.size) {
            self.asked = Some(self.size);
            let (pixels, dpi) = (Arc::clone(&self.pixels), self.art.scan.dpi);
            out.push(UiCommand::Dust(DustOrder { pixels, size: self.size, dpi }));
        }
    }
}

/// Whether a piece of artwork is still as it was when a dialog was opened on it.
pub(super) fn is_same(cx: &Context<'_>, art: &Art) -> bool {
    cx.session.sheet().art().any(|now| now == art)
}

/// Says why a dialog cannot be done any more.
pub(super) fn changed_ui(ui: &mut Ui, same: bool) {
    if !same {
        let text = "The artwork has changed meanwhile: cancel, and open this again.";
        ui.label(RichText::new(text).color(theme::of(ui).warning));
    }
}
