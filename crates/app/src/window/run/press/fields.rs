//! The press's figures as fields, each with what it usually is.

use std::ops::RangeInclusive;

use egui::Ui;
use slipsheet_core::press::figure::Part;
use slipsheet_core::press::{Basis, Figure, Offset, Press, Spread};

use crate::window::UiCommand;
use crate::window::number::drag;

/// How a figure is dragged: its range, by how much, and the unit behind it.
pub(super) type Range = (RangeInclusive<f64>, f64, &'static str);

/// Fields of one press, as it is before any of them is dragged.
pub(super) struct Fields<'a> {
    pub press: &'a Press,
    pub out: &'a mut Vec<UiCommand>,
}

impl Fields<'_> {
    /// A row of four fields.
    pub fn spread(&mut self, ui: &mut Ui, name: &str, of: fn(Part) -> Figure, spread: &mut Spread) {
        ui.label(name);
        let [dx, dy, skew, stretch] = self.four(ui, name, of, [(0.0..=5.0, 0.01), (0.0..=2.0, 0.005)]);
        *spread = Spread::of(dx, dy, skew, stretch);
        ui.end_row();
    }

    pub fn offset(&mut self, ui: &mut Ui, name: &str, offset: &mut Offset) {
        ui.label(name);
        let [dx, dy, skew, stretch] =
            self.four(ui, name, Figure::Offset, [(-20.0..=20.0, 0.01), (-5.0..=5.0, 0.005)]);
        *offset = Offset::of(dx, dy, skew, stretch);
        ui.end_row();
    }

    /// Two lengths, then twist and stretch.
    fn four(
        &mut self,
        ui: &mut Ui,
        name: &str,
        of: fn(Part) -> Figure,
        [lengths, others]: [(RangeInclusive<f64>, f64); 2],
    ) -> [f64; 4] {
        Part::ALL.map(|part| {
            let figure = of(part);
            let (range, speed) = match part {
                Part::Across | Part::Along => lengths.clone(),
                Part::Twist | Part::Stretch => others.clone(),
            };
            let side = match (figure, part) {
                (Figure::Offset(_), Part::Across) => "right",
                (Figure::Offset(_), Part::Along) => "down",
                (Figure::Offset(_), Part::Twist) => "clockwise",
                (_, part) => part.name(),
            };
            let mut value = figure.of(self.press);
            self.number(ui, figure, &format!("{name}, {side}"), &mut value, (range, speed, figure.unit()));
            value
        })
    }

    /// One field, whose tip says what the figure usually is, or that it was measured.
    pub fn number(
        &mut self,
        ui: &mut Ui,
        figure: Figure,
        name: &str,
        value: &mut f64,
        (range, speed, unit): Range,
    ) {
        let before = *value;
        let field = ui.add(drag(value).range(range).speed(speed).max_decimals(3).suffix(unit));
        // Clamping alone is no change of the person's.
        if !field.changed() {
            *value = before;
        }
        let named = name.to_owned();
        field.widget_info(move || egui::WidgetInfo::labeled(egui::Role::SpinButton, true, named.clone()));
        crate::window::inspector::gesture(&field, "Change the press", self.out);
        field.on_hover_text(match figure.basis(self.press) {
            Basis::Measured => "Measured from printed mark sheets".to_owned(),
            Basis::Estimated => format!("Estimated; {}", figure.usual_words()),
        });
    }
}
