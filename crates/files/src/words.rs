//! The project's facts in words, as the legend and the file's text say them.

use slipsheet_core::ink::Swatch;
use slipsheet_core::reading::Mode;
use slipsheet_document::layer::Slip;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;

/// A number with this many decimals at most, without needless zeros, with a true minus.
pub(crate) fn number(v: f64, decimals: usize) -> String {
    let text = format!("{v:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    match text.strip_prefix('-') {
        Some("0") => "0".to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text.to_owned(),
    }
}

/// “0.4 mm right, 0.2 mm up, 0.1° clockwise”; `None` when there is no slip worth a word.
pub(crate) fn slip(slip: Slip) -> Option<String> {
    let part = |v: f64, decimals, unit: &str, plus: &str, minus: &str| {
        let size = number(v.abs(), decimals);
        (size != "0").then(|| format!("{size}{unit} {}", if v > 0.0 { plus } else { minus }))
    };
    let parts: Vec<String> = [
        part(slip.dx.get(), 2, " mm", "right", "left"),
        part(slip.dy.get(), 2, " mm", "down", "up"),
        part(slip.skew.get(), 2, "°", "clockwise", "counterclockwise"),
    ]
    .into_iter()
    .flatten()
    .collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// “measured” or “estimate”.
pub(crate) fn standing(swatch: &Swatch) -> &'static str {
    if swatch.measured() { "measured" } else { "estimate" }
}

/// “Letter, 279.4 × 215.9 mm”.
pub(crate) fn sheet(printing: &Printing) -> String {
    let size = printing.sheet.size();
    let (w, h) = (number(size.width.get(), 1), number(size.height.get(), 1));
    format!("{}, {w} × {h} mm", printing.sheet.format.name())
}

/// “Pale green-gray, uncoated, 90 gsm, estimate”.
pub(crate) fn stock(printing: &Printing) -> String {
    let s = &printing.sheet.stock;
    let finish = s.finish.name().to_lowercase();
    let finish = if s.name.to_lowercase().contains(&finish) { String::new() } else { format!(", {finish}") };
    format!("{}{finish}, {} gsm, {}", s.name, number(s.gsm, 1), standing(&s.colour))
}

pub(crate) fn fold(printing: &Printing) -> &str {
    printing.sheet.fold.as_ref().map_or("flat, not folded", |f| f.name.as_str())
}

/// “Work-and-tumble: turn the stack head over foot; …”, where the sheet is turned over at all and it matters for the
/// face: the back always, the front where its masters print the back too.
pub(crate) fn turning(printing: &Printing, face: Face) -> Option<String> {
    let turning = printing.sheet.turning;
    let back = printing.sheet.on(Face::Back).next().is_some();
    if face == Face::Back && back {
        return Some(format!("{}: {}.", turning.name(), turning.instruction()));
    }
    (face == Face::Front && turning.one_set(back))
        .then(|| format!("{}: the same masters print the back; {}.", turning.name(), turning.instruction()))
}

/// The number of a layer's plate on its sheet, from 1; a dash for what has none.
pub(crate) fn plate_number(order: &[usize], layer: usize) -> String {
    order.iter().position(|l| *l == layer).map_or_else(|| "–".to_owned(), |at| (at + 1).to_string())
}

/// The name of a mode, which begins with a capital.
pub(crate) fn mode_name(mode: Mode) -> &'static str {
    match mode {
        Mode::Continuous => "Continuous tone",
        Mode::Line => "Line",
        Mode::Screened { .. } => "Screened",
        Mode::Stochastic { scatter: _ } => "Stochastic",
        Mode::Mixed { .. } => "Mixed",
        Mode::Faint => "Faint",
    }
}

/// “Screened, 75 lpi at 45°”.
pub(crate) fn mode(mode: Mode) -> String {
    let name = mode_name(mode);
    match mode {
        Mode::Screened { ruling, angle } | Mode::Mixed { ruling, angle } => {
            format!("{name}, {} lpi at {}°", number(ruling.get(), 0), number(angle.get(), 1))
        }
        Mode::Continuous | Mode::Line | Mode::Stochastic { .. } | Mode::Faint => name.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::units::{Degrees, Mm};

    #[test]
    fn numbers_are_as_short_as_they_can_be() {
        for (v, expected) in [(90.0, "90"), (279.4, "279.4"), (-0.25, "−0.25"), (-0.001, "0"), (100.0, "100")]
        {
            assert_eq!(number(v, 2), expected);
        }
        assert_eq!(number(100.4, 0), "100");
    }

    #[test]
    fn a_slip_is_said_in_words() {
        let s = Slip { dx: Mm::new(0.4), dy: Mm::new(-0.25), skew: Degrees::new(-0.1) };
        assert_eq!(slip(s).unwrap(), "0.4 mm right, 0.25 mm up, 0.1° counterclockwise");
        assert_eq!(slip(Slip { dx: Mm::new(0.001), ..Slip::default() }), None);
    }
}
