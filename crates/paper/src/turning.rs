//! How a sheet is turned over between the printing of its two faces, and where the back then lies.
//!
//! The model keeps the back as it is seen after turning the sheet about its vertical axis. A press that turns the
//! sheet about its horizontal axis prints the back upside down.

use serde::{Deserialize, Serialize};

use slipsheet_base::geometry::Affine;
use slipsheet_base::units::Size;

/// How the back is printed.
///
/// The forme of work-and-turn and work-and-tumble is one set of masters that carries both
/// faces; the project says so by having nothing on its back, for then the front's masters are all there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Turning {
    /// Each face has its own masters; the sheet is turned about its vertical axis.
    #[default]
    Sheetwise,
    /// One set of masters prints both faces; the sheet is turned about its vertical axis, the lead edge stays.
    WorkAndTurn,
    /// One set of masters prints both faces; the sheet is turned about its horizontal axis, the lead edge changes.
    WorkAndTumble,
}

impl Turning {
    /// Every way, in the order that lists show.
    pub const ALL: [Self; 3] = [Self::Sheetwise, Self::WorkAndTurn, Self::WorkAndTumble];

    pub fn name(self) -> &'static str {
        match self {
            Self::Sheetwise => "Sheetwise",
            Self::WorkAndTurn => "Work-and-turn",
            Self::WorkAndTumble => "Work-and-tumble",
        }
    }

    /// What it means, in one sentence.
    pub fn explained(self) -> &'static str {
        match self {
            Self::Sheetwise => {
                "Each face has its own masters; the sheet is turned side over side and the same edge leads."
            }
            Self::WorkAndTurn => {
                "The stack is turned side over side, the same edge leads; with nothing laid on the back, the front's masters print it too."
            }
            Self::WorkAndTumble => {
                "The stack is turned head over foot, so the other edge leads and the back's plates are upside down; with nothing laid on the back, the front's masters print it too."
            }
        }
    }

    /// What the operator does with the stack between the faces, as an instruction.
    pub fn instruction(self) -> &'static str {
        match self {
            Self::Sheetwise | Self::WorkAndTurn => {
                "turn the stack side over side; the edge that led the front leads the back"
            }
            Self::WorkAndTumble => {
                "turn the stack head over foot; the edge that trailed on the front leads the back"
            }
        }
    }

    /// Whether the edge that leads the back is at the foot of the back as the model keeps it.
    pub fn leads_with_the_foot(self) -> bool {
        self == Self::WorkAndTumble
    }

    /// Whether the front's masters are to print the back too.
    pub fn one_set(self, back_has_layers: bool) -> bool {
        self != Self::Sheetwise && !back_has_layers
    }

    /// From the back as the model keeps it to the back as it goes through the press, in mm.
    pub fn press_from_back(self, sheet: Size) -> Affine {
        match self {
            Self::Sheetwise | Self::WorkAndTurn => Affine::IDENTITY,
            Self::WorkAndTumble => {
                Affine::shift(sheet.width.get(), sheet.height.get()) * Affine::scale(-1.0, -1.0)
            }
        }
    }

    /// From the back as it goes through the press to the same spot on the front, in mm.
    pub fn front_from_press(self, sheet: Size) -> Affine {
        match self {
            Self::Sheetwise | Self::WorkAndTurn => {
                Affine::shift(sheet.width.get(), 0.0) * Affine::scale(-1.0, 1.0)
            }
            Self::WorkAndTumble => Affine::shift(0.0, sheet.height.get()) * Affine::scale(1.0, -1.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_base::geometry::Point;

    #[test]
    fn however_the_sheet_is_turned_the_same_spot_of_paper_lies_behind() {
        let sheet = Size::mm(300.0, 200.0);
        for turning in Turning::ALL {
            let front =
                turning.front_from_press(sheet) * turning.press_from_back(sheet) * Point::new(10.0, 20.0);
            assert!(front.distance(Point::new(290.0, 20.0)) < 1e-9, "{}", turning.name());
        }
    }

    #[test]
    fn one_set_prints_both_faces_only_where_the_back_has_none_of_its_own() {
        assert!(!Turning::Sheetwise.one_set(false));
        for turning in [Turning::WorkAndTurn, Turning::WorkAndTumble] {
            assert!(turning.one_set(false) && !turning.one_set(true), "{}", turning.name());
        }
    }

    #[test]
    fn the_leading_edge_is_where_the_words_say_it_is() {
        let sheet = Size::mm(300.0, 200.0);
        for turning in Turning::ALL {
            // The head of the back as the press sees it, as the model keeps it.
            let back_from_press = turning.press_from_back(sheet).inverse().unwrap();
            let foot = (back_from_press * Point::new(150.0, 0.0)).y > 100.0;
            assert_eq!(foot, turning.leads_with_the_foot(), "{}", turning.name());
            assert_eq!(foot, turning.instruction().contains("head over foot"), "{}", turning.name());
        }
    }

    #[test]
    fn a_tumbled_back_goes_through_the_press_on_its_head() {
        let at = Turning::WorkAndTumble.press_from_back(Size::mm(300.0, 200.0)) * Point::new(0.0, 0.0);
        assert_eq!(at, Point::new(300.0, 200.0));
    }
}
