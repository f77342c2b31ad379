//! Where registration marks and words have room: at the head and the foot of the sheet, outside the trim and inside
//! what the press can print.

use crate::printing::Printing;
use slipsheet_core::geometry::Rect;

/// The least strip, in mm, that holds a mark.
pub const LEAST: f64 = 3.0;

/// The strips in mm, the head's first; one is left out where it is too narrow.
pub fn strips(printing: &Printing) -> Vec<Rect> {
    let (size, margins) = (printing.sheet.size(), printing.press.margins);
    let (w, h, trim) = (size.width.get(), size.height.get(), printing.sheet.trim.get());
    let (lead, tail, side) = (margins.lead.get(), margins.tail.get(), margins.side.get());
    if w - 2.0 * side <= 40.0 || h <= 2.0 * trim {
        return Vec::new();
    }
    let strip = |y: f64, height: f64| Rect { x: side, y, width: w - 2.0 * side, height };
    let mut all = Vec::new();
    if trim - lead >= LEAST {
        all.push(strip(lead, trim - lead));
    }
    if trim - tail >= LEAST {
        all.push(strip(h - trim, trim - tail));
    }
    all
}

/// Why plates carry no marks, or marks at one edge alone; `None` where all is well.
pub fn trouble(printing: &Printing) -> Option<String> {
    let margins = printing.press.margins;
    let needed = margins.lead.get().max(margins.tail.get()) + LEAST;
    let what = match strips(printing).len() {
        0 => "the plates carry no registration marks",
        1 => "the plates carry registration marks at one edge only",
        _ => return None,
    };
    Some(format!(
        "{what}, because they need {LEAST:.0} mm between the trim and what the press cannot print; trim {needed:.0} mm, or judge the register by the artwork"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shelf::Shelf;
    use slipsheet_core::units::{Mm, SheetFormat};

    #[test]
    fn strips_are_outside_the_trim_and_inside_what_the_press_prints() {
        let shelf = Shelf::starter().unwrap();
        let mut p = Printing::new("Walk", SheetFormat::Letter, shelf.stocks[0].clone());
        let margin = slipsheet_core::press::MarginMm::new;
        p.press.margins.lead = margin(5.0);
        p.press.margins.tail = margin(8.0);
        for (trim, heights) in [(0.0, vec![]), (7.9, vec![]), (8.0, vec![3.0]), (12.0, vec![7.0, 4.0])] {
            p.sheet.trim = Mm::new(trim);
            let found = strips(&p);
            assert_eq!(found.iter().map(|s| s.height).collect::<Vec<_>>(), heights, "{trim}");
            assert_eq!(trouble(&p).is_some(), heights.len() < 2);
        }
        p.sheet.trim = Mm::new(8.0);
        assert!(trouble(&p).unwrap().contains("at one edge only"));
    }
}
