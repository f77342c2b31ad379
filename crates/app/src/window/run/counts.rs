//! How many copies need how wide a gap, with the line of what is accepted.

use egui::{Align2, CursorIcon, Pos2, Rect, Sense, Stroke, Ui, Vec2};
use slipsheet_document::acceptance::GapMm;

use super::line::Needs;
use super::row::{accept_gap, gesture};
use crate::window::context::Context;
use crate::window::sheet::plain_length;
use crate::window::{UiCommand, theme};

/// Height of the bars, and of what stands under them.
const BARS: f32 = 48.0;
const WORDS: f32 = 20.0;
/// How many bars there are.
const BINS: usize = 40;

pub(super) fn counts_ui(ui: &mut Ui, cx: &Context<'_>, needs: &Needs, out: &mut Vec<UiCommand>) {
    let (p, unit) = (theme::of(ui), cx.session.settings().unit);
    let gap = cx.session.project().acceptance.gap.get();
    let size = Vec2::new(ui.available_width(), BARS + WORDS);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click_and_drag());
    theme::named(&response, egui::Role::Image, "Copies by the gap that each needs");
    let bars = Rect::from_min_size(rect.min, Vec2::new(rect.width(), BARS));
    // Round, so that the axis does not move while the line is dragged.
    let most = end_of_axis(needs.most().max(gap));
    let x = |mm: f64| bars.left() + bars.width() * (mm / most) as f32;

    gesture(&response, out);
    if let Some(at) = response.interact_pointer_pos() {
        let mm = f64::from((at.x - bars.left()) / bars.width()).clamp(0.0, 1.0) * most;
        let to = GapMm::new((mm * 100.0).round() / 100.0);
        if (response.dragged() || response.clicked()) && to.get() != gap {
            out.push(accept_gap(cx, to));
        }
    }

    let painter = ui.painter_at(rect.expand2(Vec2::new(4.0, 2.0)));
    let counts = needs.counts(most, BINS);
    let highest = counts.iter().copied().max().unwrap_or(1).max(1) as f32;
    for (i, count) in counts.iter().enumerate() {
        let (from, to) = (most * i as f64 / BINS as f64, most * (i + 1) as f64 / BINS as f64);
        let height = *count as f32 / highest * (BARS - 4.0);
        let bar = |from: f64, to: f64, colour| {
            let area = Rect::from_min_max(
                Pos2::new(x(from), bars.bottom() - height),
                Pos2::new((x(to) - 1.0).max(x(from)), bars.bottom()),
            );
            painter.rect_filled(area, 0.0, colour);
        };
        // The bar that the line runs through has both colours.
        let middle = gap.clamp(from, to);
        bar(from, middle, p.good);
        bar(middle, to, p.error);
    }
    painter.hline(bars.x_range(), bars.bottom(), Stroke::new(1.0, p.edge));
    painter.vline(x(gap), bars.top()..=bars.bottom() + 4.0, Stroke::new(3.0, p.accent));

    let text =
        |at: Pos2, align: Align2, text: String, colour| painter.text(at, align, text, theme::small(), colour);
    let y = bars.bottom() + 4.0;
    let says = format!("gaps to {} sell", plain_length(gap, unit));
    let align = if x(gap) > bars.center().x { Align2::RIGHT_TOP } else { Align2::LEFT_TOP };
    let room = if align == Align2::RIGHT_TOP { -6.0 } else { 6.0 };
    let said = text(Pos2::new(x(gap) + room, y), align, says, p.text).expand(6.0);
    for (mm, align) in [(0.0, Align2::LEFT_TOP), (most / 2.0, Align2::CENTER_TOP), (most, Align2::RIGHT_TOP)]
    {
        let galley = painter.layout_no_wrap(plain_length(mm, unit), theme::small(), p.faint);
        let at = align.anchor_size(Pos2::new(x(mm), y), galley.size());
        if !at.intersects(said) {
            painter.galley(at.min, galley, p.faint);
        }
    }
    response
        .on_hover_cursor(CursorIcon::ResizeHorizontal)
        .on_hover_text("A thousand copies by the gap that each needs to be sold: drag the line");
}

/// The end of an axis that holds this.
fn end_of_axis(most: f64) -> f64 {
    [0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 15.0]
        .into_iter()
        .find(|end| most <= *end)
        .unwrap_or(20.0)
}

impl Needs {
    /// How many fall into each of even bins from 0 to `most`; what is wider lies in the last.
    fn counts(&self, most: f64, bins: usize) -> Vec<usize> {
        let mut counts = vec![0; bins];
        for needs in self.all() {
            let at = (needs / most * bins as f64) as usize;
            if let Some(count) = counts.get_mut(at.min(bins - 1)) {
                *count += 1;
            }
        }
        counts
    }
}
