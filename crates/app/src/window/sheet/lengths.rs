//! Lengths and slips as the window writes them, in the unit that is set.

use slipsheet_document::layer::Slip;
use slipsheet_files::home::LengthUnit;

/// A length with its unit.
pub(in crate::window) fn length(mm: f64, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Mm => format!("{mm:+.2} mm"),
        LengthUnit::Inch => format!("{:+.4} in", mm / 25.4),
    }
}

/// A length that has no direction: without a plus before it.
pub(in crate::window) fn plain_length(mm: f64, unit: LengthUnit) -> String {
    length(mm, unit).trim_start_matches('+').to_owned()
}

/// A slip in a few letters, for narrow places.
pub(in crate::window) fn slip_short(slip: Slip, unit: LengthUnit) -> String {
    let (dx, dy) = (slip.dx.get(), slip.dy.get());
    let mut text = match unit {
        LengthUnit::Mm => format!("{dx:+.1}, {dy:+.1} mm"),
        LengthUnit::Inch => format!("{:+.2}, {:+.2} in", dx / 25.4, dy / 25.4),
    };
    if slip.skew.get() != 0.0 {
        text += &format!(", {:+.1}°", slip.skew.get());
    }
    text
}

/// A slip in words.
pub(in crate::window) fn slip_text(slip: Slip, unit: LengthUnit) -> String {
    let mut text = format!("{}, {}", length(slip.dx.get(), unit), length(slip.dy.get(), unit));
    if slip.skew.get() != 0.0 {
        text += &format!(", {:+.2}°", slip.skew.get());
    }
    text
}
