//! The Sheet view: the flat print at any zoom, with guides, rulers, and layers that slip under the pointer.

mod drag;
mod foot;
mod guides;
mod legend;
mod lengths;
mod look;
mod place;
mod play;
mod rulers;

use egui::{Align2, Color32, Key, Pos2, Rect, Sense, TextureHandle, Ui, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_document::ids::{ArtId, LayerId};
use slipsheet_document::layer::{Placement, Slip};
use slipsheet_editor::{LiveOrder, LivePicture};
use slipsheet_render::{Show, View};

use super::actions::Action;
use super::context::{Component, Context, Wanted};
use super::folding::show_through_ui;
use super::wrap::net_over_sheet;
use super::{UiCommand, compare, theme};
use foot::foot_ui;
use legend::legend_ui;
pub(super) use lengths::{length, plain_length, slip_short, slip_text};
pub(super) use place::Place;
use play::Play;

/// Where the view looks, and what it shows.
pub(crate) struct SheetView {
    /// The point of the face in the middle of the canvas, mm.
    centre: Point,
    /// Points per mm.
    zoom: f32,
    /// Fit the sheet at the next frame, and keep it fitted until one moves it.
    pub fit: bool,
    /// Zoom to this at the next frame.
    pub wanted_zoom: Option<f32>,
    /// What of the face was drawn in this frame, until its picture is ordered.
    view: Option<View>,
    picture: Option<(LivePicture, TextureHandle)>,
    drag: Option<Drag>,
    /// Whether arrow keys are held that slip a layer.
    nudging: bool,
    /// A slip that is shown for a moment.
    play: Option<Play>,
    /// Whether the other of two compared layers is seen, and since when, in seconds.
    pub(super) turn: (bool, f64),
}

const ARROWS: [Key; 4] = [Key::ArrowLeft, Key::ArrowRight, Key::ArrowUp, Key::ArrowDown];

impl Default for SheetView {
    fn default() -> Self {
        Self {
            centre: Point::default(),
            zoom: 2.0,
            fit: true,
            wanted_zoom: None,
            view: None,
            picture: None,
            drag: None,
            nudging: false,
            play: None,
            turn: (false, f64::NEG_INFINITY),
        }
    }
}

/// What is being dragged, with the state it started from.
#[derive(Clone, Copy)]
enum Drag {
    Pan,
    Slip { layer: LayerId, start: Slip, from: Point },
    Twist { layer: LayerId, start: Slip, from: Point },
    Place { layer: LayerId, art: ArtId, start: Placement, from: Point },
}

impl SheetView {
    /// Whether something is held on the sheet.
    pub fn is_dragging(&self) -> bool {
        self.drag.is_some()
    }

    /// Forgets a drag whose button is up; whether that ends a gesture. The view's own end of it comes first,
    /// in the frame in which the button goes up.
    pub fn lost_its_drag(&mut self, ctx: &egui::Context) -> bool {
        let held = ctx.input(|i| i.pointer.any_down() || i.pointer.any_released());
        if held {
            return false;
        }
        let nudged = self.nudging && ctx.input(|i| ARROWS.iter().all(|key| !i.key_down(*key)));
        if nudged {
            self.nudging = false;
        }
        !matches!(self.drag.take(), None | Some(Drag::Pan)) || nudged
    }

    /// Whether the picture on screen is the one asked for.
    pub fn shows(&self, revision: u64, order: &LiveOrder) -> bool {
        self.picture.as_ref().is_some_and(|(p, _)| {
            p.revision == revision && (p.order == *order || compare::phases_of_one(&p.order, order))
        })
    }

    /// The picture on screen.
    pub fn picture(&self) -> Option<&slipsheet_render::Picture> {
        self.picture.as_ref().map(|(p, _)| &p.picture)
    }

    /// Takes a picture that is ready.
    pub fn take(&mut self, ctx: &egui::Context, picture: LivePicture) {
        keep_live(ctx, &mut self.picture, picture);
    }
}

/// Puts a picture on the screen in place of the last one.
pub(in crate::window) fn keep_live(
    ctx: &egui::Context,
    kept: &mut Option<(LivePicture, TextureHandle)>,
    picture: LivePicture,
) {
    let image = color_image(&picture.picture);
    let texture = match kept.take() {
        Some((_, mut texture)) => {
            texture.set(image, egui::TextureOptions::LINEAR);
            texture
        }
        None => ctx.load_texture("live picture", image, egui::TextureOptions::LINEAR),
    };
    *kept = Some((picture, texture));
}

/// A picture as egui wants it.
pub(in crate::window) fn color_image(picture: &slipsheet_render::Picture) -> egui::ColorImage {
    let pixels: Vec<Color32> = picture.pixels.iter().map(|p| theme::pixel(*p)).collect();
    let size = [picture.width, picture.height];
    if pixels.len() == size[0] * size[1] && !pixels.is_empty() {
        egui::ColorImage::new(size, pixels)
    } else {
        egui::ColorImage::filled([1, 1], Color32::TRANSPARENT)
    }
}

impl Component for SheetView {
    fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let all = ui.available_rect_before_wrap();
        let rulers = if cx.showing.rulers { theme::RULER } else { 0.0 };
        let canvas = Rect::from_min_max(all.min + Vec2::splat(rulers), all.max);
        let response = ui.interact(canvas, ui.scope_id().with("canvas"), Sense::click_and_drag());
        theme::named(&response, egui::Role::Image, "Sheet");
        let sheet = cx.session.printing().sheet.size();
        self.end_compare(ui, cx, out);
        self.frame_view(canvas, sheet);
        self.zoom_and_pan(ui, cx, &response, canvas);
        let place = self.place(canvas, sheet);
        if cx.session.printing().sheet.layers.is_empty() {
            self.paint_sheet(ui, cx, &place, None);
            let painter = ui.painter_at(place.canvas);
            net_over_sheet(cx, &painter, |p| place.screen(p), theme::of(ui));
            self.invitation_ui(ui, canvas, out);
        } else {
            self.drag_ui(ui, cx, &response, &place, out);
            self.nudge(ui, cx, out);
            self.live_ui(ui, cx, &place, out);
            foot_ui(ui, cx, &place, out);
        }
        if rulers > 0.0 {
            rulers::paint(ui, all, &place, cx.session.settings().unit);
        }
    }

    fn order(&mut self, ctx: &egui::Context, cx: &Context<'_>) -> Option<Wanted> {
        let time = ctx.input(|i| i.time);
        // A slip that nobody watches ends all the same.
        self.play = self.play.filter(|p| p.at(time).is_some());
        if self.play.is_some() {
            ctx.request_repaint();
        }
        let view = self.view.take()?;
        let show = Show {
            face: cx.showing.face,
            solo: cx.solo(),
            perfect: cx.showing.perfect,
            sheet: cx.showing.booklet_sheet,
            dots: true,
            show_through: cx.showing.show_through,
        };
        let (tuned, hatched) = (super::strip::tuned(ctx), cx.hatched());
        let flat = |dragged| LiveOrder::Sheet { show, view, dragged, tuned, hatched };
        if let Some((slip, layer)) = self.play.and_then(|p| Some((p.at(time)?, p.layer))) {
            return Some(Wanted::Played(flat(Some(layer)), (layer, slip), time));
        }
        let dragged = match self.drag {
            Some(Drag::Slip { layer, .. } | Drag::Twist { layer, .. } | Drag::Place { layer, .. })
                if !show.perfect =>
            {
                cx.session.sheet().position(layer)
            }
            _ => None,
        };
        Some(Wanted::Live(self.compare_order(ctx, cx, view).unwrap_or_else(|| flat(dragged))))
    }
}

impl SheetView {
    /// Shows a slip of a layer for a moment, from so many seconds of the window's clock.
    pub fn play(&mut self, slip: Option<(usize, Slip)>, from: impl Fn(usize) -> Option<Slip>, began: f64) {
        self.play = slip.and_then(|(layer, by)| from(layer).map(|from| Play { layer, from, by, began }));
    }

    /// Whether a slip is being shown.
    pub fn is_playing(&self) -> bool {
        self.play.is_some()
    }

    /// Paints the last picture that came, moved to where it belongs by now.
    fn live_ui(&mut self, ui: &Ui, cx: &Context<'_>, place: &Place, out: &mut Vec<UiCommand>) {
        self.view = Some(place.view(ui.ctx().pixels_per_point()));
        let picture = self.picture.as_ref().and_then(|(picture, texture)| match &picture.order {
            LiveOrder::Sheet { view, show: Show { face, .. }, .. }
            | LiveOrder::Compare { view, face, .. } => {
                let corner = |x: f64, y: f64| place.screen(view.face_from_view * Point::new(x, y));
                let rect =
                    Rect::from_two_pos(corner(0.0, 0.0), corner(view.width as f64, view.height as f64));
                (*face == cx.showing.face).then_some((texture.id(), rect))
            }
            LiveOrder::Dummy { .. } => None,
        });
        self.paint_sheet(ui, cx, place, picture);
        let painter = ui.painter_at(place.canvas);
        if let Some(study) = cx.desk.run.study.as_ref().filter(|_| cx.showing.heat) {
            super::run::heat::paint(&painter, place, study, theme::of(ui));
        }
        let scheme = cx.session.printing().sheet.scheme(cx.showing.booklet_sheet);
        let fold = scheme.as_ref();
        if cx.showing.fold_guides {
            guides::creases(
                &painter,
                place,
                fold,
                cx.showing.face,
                cx.session.printing().sheet.trim.get(),
                theme::of(ui),
            );
            net_over_sheet(cx, &painter, |p| place.screen(p), theme::of(ui));
        }
        if let Some(fold) = fold.filter(|_| cx.showing.page_marks) {
            guides::pages(&painter, place, fold, cx.showing.face, theme::of(ui));
        }
        legend_ui(ui, cx, place.canvas);
        show_through_ui(ui, cx, place.canvas);
        self.read_out(ui, cx, place);
        self.compare_legend(ui, cx, place.canvas, out);
    }

    fn paint_sheet(
        &self,
        ui: &Ui,
        cx: &Context<'_>,
        place: &Place,
        picture: Option<(egui::TextureId, Rect)>,
    ) {
        let p = theme::of(ui);
        let painter = ui.painter_at(place.canvas);
        let sheet = place.sheet_rect();
        let shadow = egui::Shadow { offset: [0, 3], blur: 14, spread: 0, color: p.shadow };
        painter.add(shadow.as_shape(sheet, egui::CornerRadius::ZERO));
        painter.rect_filled(sheet, 0.0, theme::shown(cx.session.printing().sheet.stock.colour.lab()));
        if let Some((texture, rect)) = picture {
            let uv = Rect::from_min_max(Pos2::ZERO, Pos2::new(1.0, 1.0));
            painter.image(texture, rect, uv, theme::UNTINTED);
        }
    }

    /// The figures of a drag beside the pointer, and the note that the perfect print is shown.
    fn read_out(&self, ui: &Ui, cx: &Context<'_>, place: &Place) {
        let p = theme::of(ui);
        let chip = |at: Pos2, align: Align2, text: String| {
            let painter = ui.painter_at(place.canvas);
            let galley = painter.layout_no_wrap(text, theme::strong_body(), p.text);
            let rect = align.anchor_size(at, galley.size() + Vec2::new(16.0, 8.0));
            painter.rect(
                rect,
                theme::CONTROL,
                theme::see_through(p.panel, 0.94),
                egui::Stroke::new(1.0, p.line),
                egui::StrokeKind::Inside,
            );
            painter.galley(rect.min + Vec2::new(8.0, 4.0), galley, p.text);
        };
        let comparing = cx.showing.compare.is_some();
        let top = place.canvas.center_top() + Vec2::new(0.0, if comparing { 92.0 } else { 10.0 });
        if cx.showing.perfect {
            chip(top, Align2::CENTER_TOP, "Without slips".to_owned());
        } else if let Some(layer) =
            cx.solo().filter(|_| !comparing).and_then(|i| cx.session.printing().sheet.layers.get(i))
        {
            chip(top, Align2::CENTER_TOP, format!("{} alone", layer.name));
        }
        let unit = cx.session.settings().unit;
        let text = match self.drag {
            Some(Drag::Slip { layer, .. } | Drag::Twist { layer, .. }) => {
                let slipped = cx.session.sheet().layer(layer);
                slipped.map(|l| format!("{} slips {}", l.name, slip_text(l.slip, unit)))
            }
            Some(Drag::Place { art, .. }) => cx.session.sheet().art().find(|a| a.id == art).map(|a| {
                format!(
                    "placed at {}, {}",
                    length(a.placement.dx.get(), unit),
                    length(a.placement.dy.get(), unit)
                )
            }),
            _ => None,
        };
        if let (Some(text), Some(pointer)) = (text, ui.input(|i| i.pointer.hover_pos())) {
            chip(pointer + Vec2::new(18.0, 18.0), Align2::LEFT_TOP, text);
        }
    }

    /// What an empty project shows.
    fn invitation_ui(&self, ui: &mut Ui, canvas: Rect, out: &mut Vec<UiCommand>) {
        let size = Vec2::new(380.0, 190.0);
        let rect = Rect::from_center_size(canvas.center(), size);
        let mut card = ui.new_child(egui::UiBuilder::new().max_rect(rect));
        egui::Frame::popup(card.style()).inner_margin(22).show(&mut card, |ui| {
            ui.set_width(size.x - 44.0);
            ui.vertical_centered(|ui| {
                ui.label(egui::RichText::new("Drop grayscale scans here").heading());
                ui.add_space(theme::GAP);
                ui.label("One original for each ink. Each becomes a layer; the stack on the left is the printing order.");
                ui.add_space(theme::GROUP_GAP);
                ui.horizontal(|ui| {
                    ui.add_space((ui.available_width() - 196.0).max(0.0) / 2.0);
                    for action in [Action::AddScans, Action::Open] {
                        let info = super::actions::of(action);
                        let button = egui::Button::new(info.label).min_size(Vec2::new(94.0, 28.0));
                        if ui.add(button).on_hover_text(super::menu::hint(ui, info)).clicked() {
                            out.push(action.into());
                        }
                    }
                });
            });
        });
    }
}
