//! Fields for numbers.

use egui::DragValue;
use egui::emath::Numeric;

/// A field that is dragged or typed into. A comma is read as a point; what is no number leaves the value as it was.
pub(super) fn drag<N: Numeric>(value: &mut N) -> DragValue<'_> {
    DragValue::new(value).custom_parser(read)
}

/// A finite number.
fn read(text: &str) -> Option<f64> {
    let sign = |c| match c {
        '−' => '-',
        ',' => '.',
        other => other,
    };
    let plain: String = text.chars().filter(|c| !c.is_whitespace()).map(sign).collect();
    plain.parse().ok().filter(|v: &f64| v.is_finite())
}

#[cfg(test)]
mod tests {
    use super::read;

    #[test]
    fn a_number_is_finite_and_may_have_a_comma() {
        assert_eq!([read("1 250"), read("0,5"), read("−0.3")], [Some(1250.0), Some(0.5), Some(-0.3)]);
        assert_eq!(["NaN", "inf", "-inf", "1e999", "", "1.2.3"].map(read), [None; 6]);
    }
}
