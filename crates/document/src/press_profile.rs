//! A press profile: a press as a text of its own, to be handed from one person of a shop to the next.

use serde::{Deserialize, Serialize};
use slipsheet_base::ron_words;
use slipsheet_core::press::Press;

/// The format that is written, and the newest that can be read.
pub const FORMAT: u32 = 1;

/// The most letters of a press's name.
const NAME: usize = 80;

/// What stands above a profile for whoever opens it as text.
const ABOVE: &str = "// A press of Slipsheet. Figures that were not measured are estimates.\n";

/// Why a press profile cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ProfileError {
    #[error("the press profile cannot be read at line {line}: {why}; export it once more")]
    Parse {
        /// Line, from 1.
        line: usize,
        why: String,
    },
    #[error(
        "the press profile was saved by a newer Slipsheet (format {found}, this one reads up to {FORMAT}): update the program to use it"
    )]
    Newer { found: u32 },
    #[error("the press profile contradicts itself: {0}; export it once more")]
    Inconsistent(String),
}

#[derive(Deserialize)]
#[serde(rename = "PressProfile")]
struct Header {
    format: u32,
}

#[derive(Serialize, Deserialize)]
#[serde(rename = "PressProfile", deny_unknown_fields)]
struct Profile {
    format: u32,
    press: Press,
}

/// Reads a press and checks it.
///
/// # Errors
/// See [`ProfileError`].
pub fn read(text: &str) -> Result<Press, ProfileError> {
    // Asked first: what a newer program adds is not known here, and is not what is wrong.
    let header: Header = parse(text)?;
    match header.format {
        0 => return Err(ProfileError::Inconsistent("format 0 does not exist".to_owned())),
        FORMAT => {}
        found => return Err(ProfileError::Newer { found }),
    }
    let Profile { format: _, press } = parse(text)?;
    match trouble(&press) {
        Some(trouble) => Err(ProfileError::Inconsistent(trouble)),
        None => Ok(press),
    }
}

/// A press as text.
///
/// # Errors
/// When the serializer refuses, which no press brings about.
pub fn text(press: &Press) -> Result<String, ProfileError> {
    let pretty = ron::ser::PrettyConfig::new().struct_names(true).indentor("  ");
    let profile = Profile { format: FORMAT, press: press.clone() };
    let text = ron::ser::to_string_pretty(&profile, pretty)
        .map_err(|e| ProfileError::Inconsistent(e.to_string()))?;
    Ok(format!("{ABOVE}{text}\n"))
}

fn parse<T: serde::de::DeserializeOwned>(text: &str) -> Result<T, ProfileError> {
    ron::from_str(text)
        .map_err(|e| ProfileError::Parse { line: e.span.start.line, why: ron_words::sentence(&e) })
}

/// What is wrong with a press that was read, each of whose figures is in its range.
fn trouble(press: &Press) -> Option<String> {
    let letters = press.name.chars().count();
    if press.name.trim().is_empty() || letters > NAME {
        return Some(format!("the name of a press has 1 to {NAME} letters, not {letters}"));
    }
    let (small, large) = (press.smallest, press.largest);
    if small.width > large.width || small.height > large.height {
        return Some("the smallest sheet is larger than the largest".to_owned());
    }
    if press.lightest > press.heaviest {
        return Some("the lightest stock is heavier than the heaviest".to_owned());
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use slipsheet_core::press::{
        Correlation, DensityStep, Drift, FeedSide, LateFeed, Measured, Offset, Spread,
    };

    fn press() -> Press {
        Press {
            name: "The one by the window".to_owned(),
            offset: Offset::of(0.8, -0.3, 0.1, 0.0),
            measured: Measured { between_passes: true, within_pass: false, offset: true },
            late_feed: LateFeed::new(FeedSide::Right, 0.3),
            density_steps: vec![DensityStep::new("light", -0.5), DensityStep::new("normal", 0.0)],
            ..Press::default()
        }
    }

    #[test]
    fn a_profile_keeps_all_of_a_press_and_begins_with_its_format() {
        let text = text(&press()).unwrap();
        assert_eq!(read(&text).unwrap(), press());
        assert_eq!(text.lines().nth(2), Some("  format: 1,"), "{text}");
    }

    #[test]
    fn a_profile_that_cannot_be_used_says_why_in_one_sentence() {
        let good = text(&press()).unwrap();
        for (right, wrong, why) in [
            ("format: 1,", "format: 2,", "saved by a newer Slipsheet (format 2, this one reads up to 1)"),
            // What only a newer program knows is no reason of its own.
            ("format: 1,", "format: 7,\n  drying: 3.0,", "(format 7, this one reads up to 1)"),
            ("format: 1,", "format: 0,", "format 0 does not exist"),
            ("format: 1,", "", "“format” is missing"),
            ("format: 1,", "format: 1,\n  drying: 3.0,", "“drying” is not known here"),
            ("dx: 0.4,", "dx: NaN,", "a register scatter in mm"),
            ("dx: 0.4,", "dx: -0.4,", "from 0 to 20"),
            ("dx: 0.8,", "dx: inf,", "an offset in mm"),
            ("drums: 2,", "drums: 3,", "drums must be 1 or 2"),
            ("PressProfile(", "Project(", "of another kind"),
            ("\"The one by the window\"", "\"  \"", "1 to 80 letters"),
            ("lightest: 50.0", "lightest: 250.0", "the lightest stock is heavier"),
            (
                "smallest: Size(\n      width: 105.0",
                "smallest: Size(\n      width: 305.0",
                "the smallest sheet is larger",
            ),
        ] {
            assert!(good.contains(right), "{right}: {good}");
            let error = read(&good.replacen(right, wrong, 1)).unwrap_err().to_string();
            assert!(error.contains(why) && !error.contains('\n'), "{wrong}: {error}");
        }
        for nothing in ["", "(", "PressProfile", "[1, 2]"] {
            assert!(matches!(read(nothing), Err(ProfileError::Parse { .. })), "{nothing}");
        }
    }

    proptest! {
        #[test]
        fn any_press_comes_back_from_its_profile_to_the_bit(
            scatter in proptest::array::uniform4(0.0..=5.0_f64), off in proptest::array::uniform4(-5.0..=5.0_f64),
            drums in 1_u8..=2, drift in -50.0..=50.0_f64, late in 0.0..=20.0_f64, alike in 0.0..=0.95_f64,
            densities in proptest::collection::btree_set(-1000_i32..=1000, 0..6),
            name in "[a-zA-Z\u{e4}\u{5d0}\"\\\\ ]{0,20}x",
        ) {
            let [a, b, c, d] = scatter;
            let [x, y, z, w] = off;
            let step = |d: &i32| DensityStep::new(d.to_string(), f64::from(*d) / 1000.0);
            let press = Press {
                name, drums,
                between_passes: Spread::of(a, b, c, d),
                offset: Offset::of(x, y, z, w),
                drift: Drift::new(drift),
                late_feed: LateFeed::new(FeedSide::Right, late),
                correlation: Correlation::new(alike),
                density_steps: densities.iter().map(step).collect(),
                ..Press::default()
            };
            let read = read(&text(&press).unwrap()).unwrap();
            if late > 0.0 {
                prop_assert_eq!(read, press);
            }
        }

        #[test]
        fn a_damaged_profile_is_refused_or_read_and_never_stops_the_program(at in 0_usize..900, with: char) {
            let good = text(&press()).unwrap();
            let damaged: String =
                good.chars().enumerate().map(|(i, c)| if i == at { with } else { c }).collect();
            if let Ok(press) = read(&damaged) {
                prop_assert_eq!(trouble(&press), None);
            }
        }
    }
}
