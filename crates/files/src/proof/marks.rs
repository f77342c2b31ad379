//! Marks in the margin: registration marks at the middle of each side, ticks where the corners are cut,
//! and the centre mark on the lead edge.

use slipsheet_core::geometry::Point;
use slipsheet_paper::fold::Face;

use super::canvas::{Canvas, DARK, PxRect, SOFT};
use super::{MARK_MARGIN, ProofError, Sheet};
use crate::lettering::{Lettering, Style};

/// Radius of a registration mark and length of its arms, in mm.
const RADIUS: f64 = 1.7;
const ARM: f64 = 2.8;
/// How far from the print a mark's middle lies, in mm.
const OUT: f64 = 7.4;

pub(super) fn draw(sheet: &Sheet<'_>, print: PxRect, canvas: &mut Canvas) -> Result<(), ProofError> {
    let (x0, y0) = (print.x as f64, print.y as f64);
    let (x1, y1) = (x0 + print.width as f64, y0 + print.height as f64);
    let (mx, my) = ((x0 + x1) / 2.0, (y0 + y1) / 2.0);
    let out = canvas.px(OUT);
    for (x, y) in [(mx, y0 - out), (mx, y1 + out), (x0 - out, my), (x1 + out, my)] {
        registration(canvas, x, y);
    }
    ticks(sheet, canvas, (x0, y0), (x1, y1));
    if sheet.place.is_none() {
        let foot = sheet.face == Face::Back && sheet.printing.sheet.turning.leads_with_the_foot();
        let at = if foot {
            // A wedge points down; at the foot a bar on the edge has to do.
            let y = y1 + canvas.px(1.2);
            canvas.line(
                Point::new(mx - canvas.px(1.0), y),
                Point::new(mx + canvas.px(1.0), y),
                canvas.px(0.6),
                DARK,
            );
            (mx + canvas.px(2.0), y1 + canvas.px(2.0))
        } else {
            let (tip, height) = (y0 - canvas.px(0.6), canvas.px(2.0));
            canvas.wedge(Point::new(mx, tip), canvas.px(1.0), height, DARK);
            (mx + canvas.px(2.0), tip - canvas.px(0.3))
        };
        let room = (x1 - mx) / canvas.px(1.0) - 4.0;
        canvas.words(&Lettering::new()?.fitted("lead edge", room, Style::regular(5.5, SOFT)), at);
    }
    Ok(())
}

fn registration(canvas: &mut Canvas, x: f64, y: f64) {
    let (arm, hair) = (canvas.px(ARM), canvas.hair());
    // The middle lies on the middle of the arms' pixels, so that circle and cross agree.
    let w = hair.round().max(1.0);
    let snap = |v: f64| (v - w / 2.0).round() + w / 2.0;
    let (x, y) = (snap(x), snap(y));
    canvas.line(Point::new(x - arm, y), Point::new(x + arm, y), hair, DARK);
    canvas.line(Point::new(x, y - arm), Point::new(x, y + arm), hair, DARK);
    canvas.ring(Point::new(x, y), canvas.px(RADIUS), hair, DARK);
}

/// Two ticks at each corner, where the edge is after trimming.
fn ticks(sheet: &Sheet<'_>, canvas: &mut Canvas, (x0, y0): (f64, f64), (x1, y1): (f64, f64)) {
    let size = sheet.size();
    let most = size.width.get().min(size.height.get()) / 2.0;
    let inset = canvas.px(sheet.printing.sheet.trim.get().clamp(0.0, most));
    let (near, far) = (canvas.px(2.0), canvas.px((MARK_MARGIN - 3.0).min(7.0)));
    let hair = canvas.hair();
    for (x, outward_x) in [(x0, -1.0), (x1, 1.0)] {
        for (y, outward_y) in [(y0, -1.0), (y1, 1.0)] {
            let (cut_x, cut_y) = (x - outward_x * inset, y - outward_y * inset);
            let from = Point::new(cut_x, y + outward_y * near);
            canvas.line(from, Point::new(cut_x, y + outward_y * far), hair, DARK);
            let from = Point::new(x + outward_x * near, cut_y);
            canvas.line(from, Point::new(x + outward_x * far, cut_y), hair, DARK);
        }
    }
}
