//! The three forms a plate is written in, and what the machine is set to for each, so that all three print what
//! the proof shows.

use serde::{Deserialize, Serialize};
use slipsheet_core::press::DensityStep;
use slipsheet_core::press::panel::{NearestStep, nearest_step};
use slipsheet_core::reading::{BlackPoint, Mode, Reading, Scatter};

use slipsheet_document::layer::Layer;

use crate::words;

/// How much of the reading is in a plate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PlateForm {
    /// Gray with the reading's tones in it: density, contrast, drop-out, threshold. The machine makes the dots. The
    /// ink's own curve is not in it, since the press adds that by printing.
    #[default]
    Prepared,
    /// Gray as the originals are drawn; the machine does the whole reading. The black point is in it, since no machine
    /// has a setting for that: see [`PlateForm::of_layer`].
    AsDrawn,
    /// The finished master: ink or none at every pixel.
    Dots,
}

impl PlateForm {
    pub const ALL: [Self; 3] = [Self::Prepared, Self::AsDrawn, Self::Dots];

    /// As the command line and files say it.
    pub fn id(self) -> &'static str {
        match self {
            Self::Prepared => "prepared",
            Self::AsDrawn => "as-drawn",
            Self::Dots => "dots",
        }
    }

    /// As the window says it, with what it means.
    pub fn choice(self) -> &'static str {
        match self {
            Self::Prepared => "Prepared: tones are in the plates, the machine makes the dots",
            Self::AsDrawn => "As drawn: the operator sets the machine as the ticket says",
            Self::Dots => "Dots: finished masters, printed as line art",
        }
    }

    /// What the operator does with plates of this form, in a sentence or two.
    pub fn instruction(self) -> &'static str {
        match self {
            Self::Prepared => {
                "The plates are prepared: the tones are in them. Set the mode named with each ink, and density, contrast and drop-out to neutral."
            }
            Self::AsDrawn => {
                "The plates are as drawn: set the machine as named with each ink, all else neutral, and compare a test print with the proof."
            }
            Self::Dots => {
                "The plates are finished dots: print them as line art, without a screen, at full size."
            }
        }
    }

    /// The form in which a layer with this reading is written where this one was chosen.
    ///
    /// A black point comes before all else that a machine does, so a plate as drawn can have it in; but a mixed or
    /// faint reading measures it from the paper that it has found, which no machine is told. Such a layer is prepared.
    pub fn of_layer(self, reading: &Reading) -> Self {
        let found_first = matches!(reading.mode, Mode::Mixed { .. } | Mode::Faint);
        match self {
            Self::AsDrawn if found_first && !reading.black.leaves_all() => Self::Prepared,
            Self::Prepared | Self::AsDrawn | Self::Dots => self,
        }
    }

    /// The form in which a layer is written where this one was chosen: no machine reads parts of an original each in its
    /// own way, so a layer that has such parts is prepared.
    pub fn of_whole(self, layer: &Layer) -> Self {
        match self {
            Self::AsDrawn if layer.has_regions() => Self::Prepared,
            Self::Prepared | Self::AsDrawn | Self::Dots => self.of_layer(&layer.reading),
        }
    }

    /// What the operator sets for a layer's ink, with a word on parts that are read otherwise; the panel's density
    /// steps where they are known.
    pub(crate) fn layer_setting(self, layer: &Layer, panel: &[DensityStep]) -> String {
        let form = self.of_whole(layer);
        let setting = form.setting(&layer.screened_by(), panel);
        if layer.has_regions() && form != Self::Dots {
            format!("{setting} (parts that are read otherwise are in the plate)")
        } else {
            setting
        }
    }

    /// The black point that is in a plate as drawn: none for line, which has no use for it.
    pub(crate) fn drawn_black(reading: &Reading) -> BlackPoint {
        match reading.mode {
            Mode::Continuous | Mode::Screened { .. } | Mode::Stochastic { .. } => reading.black,
            Mode::Line | Mode::Mixed { .. } | Mode::Faint => BlackPoint::default(),
        }
    }

    /// What a plate of a reading is, for lists of files.
    pub(crate) fn what(self, reading: &Reading) -> &'static str {
        match (self.of_layer(reading), reading.mode) {
            (Self::AsDrawn, _) if !Self::drawn_black(reading).leaves_all() => {
                "as drawn, gray with the reading's black point alone"
            }
            (Self::AsDrawn, _) => "as drawn, gray without the reading",
            (Self::Dots, mode) if mode != Mode::Continuous => "finished dots",
            (Self::Prepared | Self::Dots, _) => "prepared, gray with the reading's tones",
        }
    }

    /// What the machine reads such a plate with, so that it prints what the proof shows of a layer with a reading.
    ///
    /// Of a prepared plate only the dots are left to make. In a mixed one strokes are solid and their ground bare
    /// already, which no screen breaks; a faint one is at full strength, and would be strengthened twice.
    pub fn machine(self, reading: &Reading) -> Reading {
        let mode = match (self.of_layer(reading), reading.mode) {
            (Self::AsDrawn, _) => return Reading { black: BlackPoint::default(), ..*reading },
            (_, Mode::Continuous) => Mode::Continuous,
            (Self::Dots, _) | (Self::Prepared, Mode::Line) => Mode::Line,
            (Self::Prepared, Mode::Screened { ruling, angle } | Mode::Mixed { ruling, angle }) => {
                Mode::Screened { ruling, angle }
            }
            (Self::Prepared, Mode::Stochastic { scatter }) => Mode::Stochastic { scatter },
            (Self::Prepared, Mode::Faint) => Mode::Stochastic { scatter: Scatter::Tile },
        };
        Reading::of(mode)
    }

    /// What the operator sets for an ink: “Screened, 75 lpi at 45°, a little darker”.
    pub(crate) fn setting(self, reading: &Reading, panel: &[DensityStep]) -> String {
        let machine = self.machine(reading);
        match (self.of_layer(reading), reading.mode) {
            (Self::Dots, Mode::Continuous) => "Continuous tone: this plate is gray".to_owned(),
            (Self::Dots, _) => "Line art, no screen".to_owned(),
            (Self::Prepared, Mode::Mixed { .. } | Mode::Faint) => {
                let own = words::mode_name(reading.mode).to_lowercase();
                format!("{} ({own} is in the plate)", words::mode(machine.mode))
            }
            (Self::Prepared, _) => words::mode(machine.mode) + &steps(&machine, &[]),
            (Self::AsDrawn, _) => words::mode(machine.mode) + &steps(&machine, panel),
        }
    }
}

/// How far density, contrast and drop-out are from neutral, in words: no two machines have the same scale. Where the
/// panel's density steps are known, which one to set.
fn steps(reading: &Reading, panel: &[DensityStep]) -> String {
    // Of what a setting reaches at most: up to a third, two thirds, all.
    let degree = |share: f64| match share.abs() {
        s if s <= 1.0 / 3.0 => 0,
        s if s <= 2.0 / 3.0 => 1,
        _ => 2,
    };
    let swing = |v: f64, more: &str, less: &str| {
        let amount = ["a little ", "", "much "][degree(v)];
        (v.abs() > 1e-9).then(|| format!("{amount}{}", if v > 0.0 { more } else { less }))
    };
    let dropped = reading.background.get();
    let amount = ["a little of the background", "the background", "the background and light tones"]
        [degree(dropped / 0.5)];
    let density = swing(reading.density.get(), "darker", "lighter");
    let density = match nearest_step(panel, reading.density) {
        Some(NearestStep { step, beyond }) => {
            let off = match beyond {
                Some(more) if more > 0.0 => ", which is more than a step too light",
                Some(_) => ", which is more than a step too dark",
                None => "",
            };
            let words = density.map_or_else(String::new, |words| format!(" ({words})"));
            Some(format!("density “{}”{words}{off}", step.name.trim()))
        }
        None => density,
    };
    [
        density,
        // A threshold has no contrast.
        swing(reading.contrast.get(), "harder", "softer").filter(|_| reading.mode != Mode::Line),
        (dropped > 1e-9).then(|| format!("drop out {amount}")),
    ]
    .into_iter()
    .flatten()
    .map(|step| format!(", {step}"))
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::reading::{DropOut, Ruling, Swing};
    use slipsheet_core::units::Degrees;

    fn screened() -> Mode {
        Mode::Screened { ruling: Ruling::new(75.0), angle: Degrees::new(45.0) }
    }

    #[test]
    fn an_operator_is_told_steps_in_words_and_never_a_figure_of_density() {
        let reading = |mode, density, contrast, background| Reading {
            mode,
            density: Swing::new(density),
            contrast: Swing::new(contrast),
            background: DropOut::new(background),
            black: BlackPoint::default(),
        };
        let (no, ruled) = (Reading::of(screened()), "Screened, 75 lpi at 45°");
        for (reading, setting) in [
            (no, ruled.to_owned()),
            (reading(screened(), 0.6, 0.0, 0.0), format!("{ruled}, darker")),
            (
                reading(screened(), -0.1, 0.9, 0.1),
                format!("{ruled}, a little lighter, much harder, drop out a little of the background"),
            ),
            (reading(Mode::Line, 1.0, 0.5, 0.3), "Line, much darker, drop out the background".to_owned()),
            (
                reading(Mode::Faint, 0.0, -0.4, 0.5),
                "Faint, softer, drop out the background and light tones".to_owned(),
            ),
        ] {
            assert_eq!(PlateForm::AsDrawn.setting(&reading, &[]), setting);
            // What is in the plate is not set once more.
            let prepared = PlateForm::Prepared.setting(&reading, &[]);
            assert!(!prepared.contains("dark") && !prepared.contains("drop"), "{prepared}");
        }
    }

    #[test]
    fn an_operator_whose_panel_is_known_is_told_the_nearest_step() {
        let panel =
            [("light", -0.4), ("normal", 0.0), ("dark", 0.4)].map(|(name, d)| DensityStep::new(name, d));
        let ruled = "Screened, 75 lpi at 45°";
        for (density, setting) in [
            (0.0, "density “normal”"),
            (0.5, "density “dark” (darker)"),
            (-0.1, "density “normal” (a little lighter)"),
            (0.9, "density “dark” (much darker), which is more than a step too light"),
            (-1.0, "density “light” (much lighter), which is more than a step too dark"),
        ] {
            let contrast = Swing::new(0.5);
            let reading = Reading { density: Swing::new(density), contrast, ..Reading::of(screened()) };
            assert_eq!(PlateForm::AsDrawn.setting(&reading, &panel), format!("{ruled}, {setting}, harder"));
            // A prepared plate has the density in it.
            assert_eq!(PlateForm::Prepared.setting(&reading, &panel), ruled);
        }
    }

    #[test]
    fn each_form_says_what_is_left_to_the_machine() {
        let mixed = Reading::of(Mode::Mixed { ruling: Ruling::new(60.0), angle: Degrees::new(15.0) });
        let setting = |form: PlateForm, mode| form.setting(&Reading::of(mode), &[]);
        assert_eq!(
            PlateForm::Prepared.setting(&mixed, &[]),
            "Screened, 60 lpi at 15° (mixed is in the plate)"
        );
        assert_eq!(setting(PlateForm::Prepared, Mode::Faint), "Stochastic (faint is in the plate)");
        assert_eq!(setting(PlateForm::Prepared, Mode::Line), "Line");
        assert_eq!(setting(PlateForm::Dots, Mode::Faint), "Line art, no screen");
        assert_eq!(setting(PlateForm::Dots, Mode::Continuous), "Continuous tone: this plate is gray");
    }

    #[test]
    fn no_operator_is_asked_for_a_black_point() {
        let black = BlackPoint::new(0.4);
        let with = |mode| Reading { black, density: Swing::new(0.6), ..Reading::of(mode) };
        let drawn = PlateForm::AsDrawn;
        let screened = with(screened());
        assert_eq!(drawn.setting(&screened, &[]), "Screened, 75 lpi at 45°, darker");
        assert_eq!(drawn.what(&screened), "as drawn, gray with the reading's black point alone");
        assert_eq!(drawn.machine(&screened).black, BlackPoint::default());
        // What is measured from the paper cannot be drawn, and so is prepared; line has no black point.
        let faint = with(Mode::Faint);
        assert_eq!(drawn.of_layer(&faint), PlateForm::Prepared);
        assert_eq!(drawn.setting(&faint, &[]), "Stochastic (faint is in the plate)");
        assert_eq!(drawn.what(&faint), "prepared, gray with the reading's tones");
        assert_eq!(drawn.of_layer(&Reading::of(Mode::Faint)), drawn);
        assert_eq!(drawn.what(&with(Mode::Line)), "as drawn, gray without the reading");
    }

    #[test]
    fn a_form_is_named_in_files_as_on_the_command_line() {
        for form in PlateForm::ALL {
            assert_eq!(serde_json::to_string(&form).unwrap(), format!("\"{}\"", form.id()));
        }
    }
}
