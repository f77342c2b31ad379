//! Dragging and nudging on the sheet: slips, skews, and the placement of artwork.

use egui::{Key, Modifiers, PointerButton, Response, Ui};
use slipsheet_core::geometry::Point;
use slipsheet_core::units::{Degrees, Mm};
use slipsheet_document::edit::{ArtEdit, Edit, LayerEdit};
use slipsheet_document::ids::ArtId;
use slipsheet_document::layer::{Placement, Slip, Target};
use slipsheet_editor::Request;

use super::{Drag, Place, SheetView};
use crate::window::UiCommand;
use crate::window::context::Context;

impl SheetView {
    /// Starts, follows and ends a drag; a drag is one step of history.
    pub(super) fn drag_ui(
        &mut self,
        ui: &Ui,
        cx: &Context<'_>,
        response: &Response,
        place: &Place,
        out: &mut Vec<UiCommand>,
    ) {
        if response.drag_started_by(PointerButton::Primary) {
            let from = ui.input(|i| i.pointer.press_origin()).map(|p| place.face(p));
            let modifiers = ui.input(|i| i.modifiers);
            self.drag =
                from.and_then(|from| self.start_drag(cx, from, modifiers, place, out)).or(Some(Drag::Pan));
        }
        let pointer = response.interact_pointer_pos().map(|p| place.face(p));
        if let (Some(drag), Some(to)) = (self.drag, pointer.filter(|_| response.dragged())) {
            out.extend(self.follow_drag(cx, drag, to, place).map(UiCommand::Request));
        }
        if response.drag_stopped() && !matches!(self.drag.take(), None | Some(Drag::Pan)) {
            out.push(Request::EndGesture.into());
        }
        if response.hovered() || response.dragged() {
            let cursor = match self.drag {
                Some(Drag::Pan) => egui::CursorIcon::Grabbing,
                Some(_) => egui::CursorIcon::Move,
                None => egui::CursorIcon::Default,
            };
            ui.set_cursor_icon(cursor);
        }
    }

    fn start_drag(
        &self,
        cx: &Context<'_>,
        from: Point,
        modifiers: Modifiers,
        place: &Place,
        out: &mut Vec<UiCommand>,
    ) -> Option<Drag> {
        let inside = (0.0..=place.sheet.width.get()).contains(&from.x)
            && (0.0..=place.sheet.height.get()).contains(&from.y);
        let (_, found) =
            cx.session.selected_layer().filter(|(_, l)| inside && l.face == cx.showing.face && l.visible)?;
        let layer = found.id;
        if modifiers.shift {
            let art = cx.session.selected_art()?;
            out.push(Request::BeginGesture("Place artwork").into());
            return Some(Drag::Place { layer, art: art.id, start: art.placement, from });
        }
        out.push(Request::BeginGesture("Slip a layer").into());
        let start = found.slip;
        Some(if modifiers.alt {
            Drag::Twist { layer, start, from }
        } else {
            Drag::Slip { layer, start, from }
        })
    }

    fn follow_drag(&self, cx: &Context<'_>, drag: Drag, to: Point, place: &Place) -> Option<Request> {
        let hundredth = |mm: f64| Mm::new((mm * 100.0).round() / 100.0);
        match drag {
            Drag::Pan => None,
            Drag::Slip { layer, start, from } => {
                let slip = Slip {
                    dx: hundredth(start.dx.get() + to.x - from.x),
                    dy: hundredth(start.dy.get() + to.y - from.y),
                    ..start
                };
                Some(Request::layer(layer, LayerEdit::Slip(slip)))
            }
            Drag::Twist { layer, start, from } => {
                let (cx, cy) = (place.sheet.width.get() / 2.0, place.sheet.height.get() / 2.0);
                let angle = |p: Point| (p.y - cy).atan2(p.x - cx).to_degrees();
                let turned = (angle(to) - angle(from) + 540.0).rem_euclid(360.0) - 180.0;
                let skew = Degrees::new(((start.skew.get() + turned) * 100.0).round() / 100.0);
                Some(Request::layer(layer, LayerEdit::Slip(Slip { skew, ..start })))
            }
            Drag::Place { art, start, from, .. } => {
                let moved = self.on_target(cx, art, Point::new(to.x - from.x, to.y - from.y));
                let placement = Placement {
                    dx: hundredth(start.dx.get() + moved.x),
                    dy: hundredth(start.dy.get() + moved.y),
                    ..start
                };
                Some(Edit::Art(art, ArtEdit::Placement(placement)).into())
            }
        }
    }

    /// A movement on the face as the artwork's own page sees it.
    fn on_target(&self, cx: &Context<'_>, art: ArtId, moved: Point) -> Point {
        let printing = cx.session.printing();
        let target = printing.sheet.art().find(|a| a.id == art).map(|a| a.target);
        let place = match (target, &printing.sheet.fold) {
            (Some(Target::Page(page) | Target::Spread(page)), Some(fold)) => {
                fold.place(printing.sheet.size(), page)
            }
            _ => None,
        };
        place
            .and_then(|p| p.face_from_page.inverse())
            .map_or(moved, |page_from_face| page_from_face.vector(moved))
    }

    /// Arrow keys slip the selected layer.
    pub(super) fn nudge(&mut self, ui: &Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        if !cx.reach.views() {
            return;
        }
        let face = cx.showing.face;
        let shown = cx.session.selected_layer().filter(|(_, l)| l.face == face && l.visible);
        let Some((_, found)) = shown else { return };
        let mut slip = found.slip;
        ui.input_mut(|i| {
            for (modifiers, step) in [(Modifiers::SHIFT, 1.0), (Modifiers::NONE, 0.1)] {
                for (key, dx, dy) in [
                    (Key::ArrowLeft, -step, 0.0),
                    (Key::ArrowRight, step, 0.0),
                    (Key::ArrowUp, 0.0, -step),
                    (Key::ArrowDown, 0.0, step),
                ] {
                    let times = i.count_and_consume_key(modifiers, key) as f64;
                    let tidy = |v: f64| Mm::new((v * 1000.0).round() / 1000.0);
                    slip.dx = tidy(slip.dx.get() + dx * times);
                    slip.dy = tidy(slip.dy.get() + dy * times);
                }
            }
        });
        if slip != found.slip {
            if !self.nudging {
                // Keys that are held repeat; until they are let go they are one step.
                self.nudging = true;
                out.push(Request::BeginGesture("Slip a layer").into());
            }
            out.push(Request::layer(found.id, LayerEdit::Slip(slip)).into());
        }
    }
}
