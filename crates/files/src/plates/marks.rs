//! Marks and words on a plate, printed on the sheet outside the trim, where the press can print there:
//! registration marks near the corners, centre marks, and a line that says which plate it is.
//!
//! The marks are the same on every plate; the words of each stand in a place of their own, so that all can be
//! read on the printed sheet.

use slipsheet_core::geometry::Affine;
use slipsheet_core::units::Dpi;
use slipsheet_document::mark_room;
use slipsheet_document::printing::Printing;

use super::PlateError;
use crate::lettering::{Lettering, Style, cover};

/// Width of a line in mm.
const LINE: f64 = 0.15;

/// A small picture of ink to be laid on a plate.
pub(super) struct Stamp {
    x: i64,
    y: i64,
    width: usize,
    /// 255 for full ink.
    ink: Vec<u8>,
}

impl Stamp {
    /// Lays it on a band of a plate that begins at row `top`.
    pub fn lay(&self, band: &mut [u8], width: usize, top: usize) {
        for (i, row) in self.ink.chunks(self.width.max(1)).enumerate() {
            let Ok(y) = usize::try_from(self.y + i as i64 - top as i64) else { continue };
            let Some(to) = band.get_mut(y * width..(y + 1) * width) else { continue };
            for (j, ink) in row.iter().enumerate() {
                let Some(g) = usize::try_from(self.x + j as i64).ok().and_then(|x| to.get_mut(x)) else {
                    continue;
                };
                *g = (*g).min(255 - ink);
            }
        }
    }
}

/// The marks of every plate and the words of one; `place` is its place among how many.
pub(super) fn stamps(
    printing: &Printing,
    dpi: Dpi,
    place: (usize, usize),
    label: &str,
) -> Result<Vec<Stamp>, PlateError> {
    let strips = mark_room::strips(printing);
    let px = dpi.px_per_mm();
    let mut all = Vec::new();
    for strip in &strips {
        let radius = (strip.height / 2.0 - 0.3).min(2.0);
        let y = strip.y + strip.height / 2.0;
        for x in [strip.x + radius + 0.5, strip.x + strip.width - radius - 0.5] {
            all.push(registration(x * px, y * px, radius * px, LINE * px));
        }
        let centre = strip.x + strip.width / 2.0;
        all.push(bar(centre * px, (strip.y + 0.3) * px, (LINE * px).max(1.0), (strip.height - 0.6) * px));
    }
    // Words stand at the foot first and then at the head; where there is but one strip, all stand there.
    let (Some(head), Some(foot)) = (strips.first(), strips.last()) else { return Ok(all) };
    let (at, count) = place;
    let slots = count.div_ceil(strips.len()).max(1);
    let strip = if at < slots { foot } else { head };
    let slot = (strip.width - 14.0) / slots as f64;
    let x = strip.x + 7.0 + slot * (at % slots) as f64;
    let text = if at == 0 { format!("{label}  {}", printing.title) } else { label.to_owned() };
    let pt = (strip.height * 0.5 / 25.4 * 72.0).min(6.5);
    all.extend(words(&text, dpi, (x, strip.y + strip.height / 2.0 + 0.8), slot - 2.0, pt)?);
    Ok(all)
}

fn bar(x: f64, y: f64, width: f64, height: f64) -> Stamp {
    let (w, h) = ((width.round() as usize).max(1), (height.round() as usize).max(1));
    Stamp { x: (x - w as f64 / 2.0).round() as i64, y: y.round() as i64, width: w, ink: vec![255; w * h] }
}

/// A circle with a cross that reaches beyond it.
fn registration(x: f64, y: f64, radius: f64, line: f64) -> Stamp {
    let reach = radius.ceil() as i64 + 1;
    let (x, y) = (x.round() as i64, y.round() as i64);
    let side = (2 * reach + 1) as usize;
    let line = line.max(1.0);
    let ring = 0.68 * radius;
    let ink = (0..side * side).map(|i| {
        let (dx, dy) = ((i % side) as f64 - reach as f64, (i / side) as f64 - reach as f64);
        let edge = |distance: f64| (line / 2.0 - distance + 0.5).clamp(0.0, 1.0);
        let arm = |across: f64, along: f64| if along.abs() <= radius { edge(across.abs()) } else { 0.0 };
        let cover = arm(dx, dy).max(arm(dy, dx)).max(edge((libm::hypot(dx, dy) - ring).abs()));
        (cover * 255.0).round() as u8
    });
    Stamp { x: x - reach, y: y - reach, width: side, ink: ink.collect() }
}

/// A line of words of at most `room` mm whose baseline begins at a point in mm.
pub(super) fn words(
    text: &str,
    dpi: Dpi,
    (x, y): (f64, f64),
    room: f64,
    pt: f64,
) -> Result<Option<Stamp>, PlateError> {
    let line = Lettering::new()?.fitted(text, room, Style::regular(pt, [0; 3]));
    let px = dpi.px_per_mm();
    // A baseline on a whole pixel keeps small letters even.
    let px_from_line = Affine::shift(x * px, (y * px).round()) * Affine::scale(px, px);
    Ok(cover(&line.outlines(px_from_line), 1.0).map(|c| Stamp {
        x: c.x,
        y: c.y,
        width: c.width,
        ink: c.shares.iter().map(|share| (share * 255.0).round() as u8).collect(),
    }))
}
