//! The pass plan: the three that cost least, with why, and the person's own by dragging.

use egui::{Frame, RichText, Ui};
use slipsheet_document::edit::SheetEdit;
use slipsheet_document::ids::LayerId;
use slipsheet_document::passes;
use slipsheet_editor::Request;

use super::RunView;
use crate::window::context::Context;
use crate::window::{UiCommand, theme};

/// A layer under way to another pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Carried(LayerId);

/// Where a layer is let go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum LetGo {
    /// On this pass.
    On(usize),
    /// Before this pass, or past the last, for a pass of its own.
    Before(usize),
}

/// Width of the column of passes.
const COLUMN: f32 = 216.0;

impl RunView {
    /// The passes in a line.
    pub(super) fn passes_words(&self, cx: &Context<'_>) -> String {
        let (printing, face) = (cx.session.printing(), cx.showing.face);
        let name = |i: &usize| printing.sheet.layers.get(*i).map_or("", |l| l.name.as_str());
        let pass = |pass: &Vec<usize>| pass.iter().map(name).collect::<Vec<_>>().join(" + ");
        passes::passes(printing, face).iter().map(pass).collect::<Vec<_>>().join(", then ")
    }

    /// The passes as they are: drag an ink to another pass.
    pub(super) fn own_passes_ui(&self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let (printing, face) = (cx.session.printing(), cx.showing.face);
        let passes = printing.sheet.named(&passes::passes(printing, face));
        let drums = usize::from(printing.press.drums);
        let text = "Drag an ink onto another pass, or between two for a pass of its own.";
        ui.add(egui::Label::new(RichText::new(text).small().color(p.faint)).wrap());
        let mut moved = None;
        for (at, pass) in passes.iter().enumerate() {
            if let Some(layer) = gap_ui(ui, at) {
                moved = Some((layer, LetGo::Before(at)));
            }
            let frame = Frame::new().fill(p.strip).corner_radius(theme::CARD).inner_margin(8);
            let (_, dropped) = ui.dnd_drop_zone::<Carried, ()>(frame, |ui| {
                ui.set_min_size(egui::vec2(COLUMN - 20.0, 26.0));
                ui.horizontal_wrapped(|ui| {
                    ui.label(RichText::new(format!("{}", at + 1)).color(p.faint));
                    for layer in pass {
                        let id = egui::Id::unique(("pass chip", *layer));
                        ui.dnd_drag_source(id, Carried(*layer), |ui| self.chip(ui, cx, *layer));
                    }
                });
            });
            if let Some(carried) = dropped {
                moved = Some((carried.0, LetGo::On(at)));
            }
        }
        if let Some(layer) = gap_ui(ui, passes.len()) {
            moved = Some((layer, LetGo::Before(passes.len())));
        }
        let time = ui.input(|i| i.time);
        if let Some((layer, to)) = moved {
            match moved_to(&passes, layer, to, drums) {
                Some(passes) => {
                    let edit = SheetEdit::Passes(face, passes);
                    out.push(Request::sheet(printing.sheet.id, edit).into());
                }
                None => ui.ctx().data_mut(|d| {
                    d.insert_temp(full_id(), time);
                }),
            }
        }
        let refused = ui.ctx().data(|d| d.get_temp::<f64>(full_id()));
        if refused.is_some_and(|t| time - t < 4.0) {
            let text =
                format!("A pass holds {drums} ink{} on this press.", if drums == 1 { "" } else { "s" });
            ui.label(RichText::new(text).color(p.warning));
            ui.ctx().request_repaint_after(std::time::Duration::from_millis(500));
        }
    }

    fn chip(&self, ui: &mut Ui, cx: &Context<'_>, layer: LayerId) {
        let p = theme::of(ui);
        let Some(l) = cx.session.sheet().layer(layer) else { return };
        Frame::new()
            .fill(p.panel)
            .corner_radius(theme::CONTROL)
            .inner_margin(egui::Margin::symmetric(7, 3))
            .show(ui, |ui| {
                ui.horizontal(|ui| {
                    let (rect, _) = ui.allocate_exact_size(egui::Vec2::splat(10.0), egui::Sense::hover());
                    theme::chip(ui, rect, l.ink.solid.lab());
                    ui.label(&l.name);
                });
            });
    }
}

fn full_id() -> egui::Id {
    egui::Id::unique("pass is full")
}

/// The room before a pass; the layer that was let go there.
fn gap_ui(ui: &mut Ui, at: usize) -> Option<LayerId> {
    let p = theme::of(ui);
    let (rect, response) = ui.allocate_exact_size(egui::vec2(COLUMN - 4.0, 14.0), egui::Sense::hover());
    theme::named(&response, egui::Role::Label, format!("Room before pass {}", at + 1));
    if response.dnd_hover_payload::<Carried>().is_some() {
        ui.painter().hline(rect.x_range(), rect.center().y, egui::Stroke::new(3.0, p.accent));
    } else if egui::DragAndDrop::has_payload_of_type::<Carried>(ui.ctx()) {
        ui.painter().hline(rect.x_range(), rect.center().y, egui::Stroke::new(1.0, p.line));
    }
    response.dnd_release_payload::<Carried>().map(|carried| carried.0)
}

/// Passes after an ink was let go on one or between two; `None` where a pass is full.
fn moved_to<L: Copy + PartialEq>(
    passes: &[Vec<L>],
    layer: L,
    to: LetGo,
    drums: usize,
) -> Option<Vec<Vec<L>>> {
    let mut passes = passes.to_vec();
    if let LetGo::On(at) = to
        && passes.get(at).is_some_and(|p| p.len() >= drums && !p.contains(&layer))
    {
        return None;
    }
    passes.iter_mut().for_each(|p| p.retain(|l| *l != layer));
    match to {
        LetGo::On(at) => passes.get_mut(at)?.push(layer),
        LetGo::Before(at) => passes.insert(at.min(passes.len()), vec![layer]),
    }
    passes.retain(|p| !p.is_empty());
    Some(passes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_ink_let_go_on_a_pass_joins_it_where_there_is_room() {
        let passes = [vec![0], vec![1], vec![2]];
        assert_eq!(moved_to(&passes, 2, LetGo::On(0), 2), Some(vec![vec![0, 2], vec![1]]));
        assert_eq!(moved_to(&passes, 2, LetGo::On(0), 1), None);
        // On its own pass it goes to the end of it.
        assert_eq!(moved_to(&[vec![0, 1]], 0, LetGo::On(0), 2), Some(vec![vec![1, 0]]));
    }

    #[test]
    fn an_ink_let_go_between_passes_has_one_of_its_own() {
        let passes = [vec![0], vec![1], vec![2]];
        assert_eq!(moved_to(&passes, 0, LetGo::Before(3), 2), Some(vec![vec![1], vec![2], vec![0]]));
        assert_eq!(moved_to(&passes, 2, LetGo::Before(0), 1), Some(vec![vec![2], vec![0], vec![1]]));
        let paired = [vec![0, 1], vec![2]];
        assert_eq!(moved_to(&paired, 0, LetGo::Before(1), 2), Some(vec![vec![1], vec![0], vec![2]]));
        assert_eq!(moved_to(&passes, 1, LetGo::Before(1), 2), Some(passes.to_vec()));
    }
}
