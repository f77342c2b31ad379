//! How a sheet is turned over between the printing of its two faces, and where the back then lies.
//!
//! The model keeps the back as it is seen after turning the sheet about its upright axis. A press that turns the
//! sheet about its lying axis prints the back standing on its head.

use serde::{Deserialize, Serialize};

use crate::geometry::Affine;
use crate::units::Size;

/// How the back is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Turning {
    /// Each face has its own masters; the sheet is turned about its upright axis.
    #[default]
    Sheetwise,
    /// One set of masters prints both faces; the sheet is turned about its upright axis, the lead edge stays.
    WorkAndTurn,
    /// One set of masters prints both faces; the sheet is turned about its lying axis, the lead edge changes.
    WorkAndTumble,
}

impl Turning {
    /// Every way, in the order that lists show.
    pub const ALL: [Self; 3] = [Self::Sheetwise, Self::WorkAndTurn, Self::WorkAndTumble];

    /// The name as lists show it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Sheetwise => "Sheetwise",
            Self::WorkAndTurn => "Work-and-turn",
            Self::WorkAndTumble => "Work-and-tumble",
        }
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
    use crate::geometry::Point;

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
    fn a_tumbled_back_goes_through_the_press_on_its_head() {
        let at = Turning::WorkAndTumble.press_from_back(Size::mm(300.0, 200.0)) * Point::new(0.0, 0.0);
        assert_eq!(at, Point::new(300.0, 200.0));
    }
}
