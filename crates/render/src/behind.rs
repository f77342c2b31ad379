//! What shows through the paper: the other face, mirrored and faint, under the print of this one.
//!
//! Light that comes back from a sheet has been a little way into it, where the ink of the other face dims it. So
//! the other face's light, as a share of its bare paper's, dims this one's by the stock's [`show_through`]:
//! `out = this * (1 - s + s * other / paper)`, in linear light. How much shows is an estimate and is to be said to be one.

use rayon::prelude::*;

use super::{Picture, Scene, Show, View};
use crate::images::Images;
use slipsheet_core::colour::{linear_from_srgb, srgb_from_linear};
use slipsheet_core::geometry::Affine;
use slipsheet_core::overprint::OverprintError;
use slipsheet_core::paper::show_through;
use slipsheet_core::units::Size;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_paper::turning::Turning;

/// The other face, as it is seen from this one.
#[derive(Clone)]
pub(super) struct Behind {
    pub scene: Box<Scene>,
    other_from_face: Affine,
    share: f32,
    /// Linear light of the bare paper, by channel.
    paper: [f32; 3],
    linear: Box<[f32; 256]>,
}

/// From a spot of one face, as the model keeps it, to the same spot of paper on the other, in mm. The way back is
/// the same, and however the press turns the sheet, it is the same paper.
fn through_paper(turning: Turning, sheet: Size) -> Affine {
    turning.front_from_press(sheet) * turning.press_from_back(sheet)
}

impl Behind {
    /// `None` when nothing is printed behind.
    pub fn of(printing: &Printing, images: &Images, show: Show) -> Result<Option<Self>, OverprintError> {
        let face = if show.face == Face::Front { Face::Back } else { Face::Front };
        let other = Show { face, solo: None, dots: false, show_through: false, ..show };
        let scene = Scene::new(printing, images, other)?;
        if scene.layers.is_empty() {
            return Ok(None);
        }
        let linear: Box<[f32; 256]> =
            Box::new(std::array::from_fn(|v| linear_from_srgb(v as f64 / 255.0) as f32));
        let paper = scene.model.primary(0).shown().rgb.map(|v| linear[usize::from(v)].max(1e-4));
        let share = show_through(&printing.sheet.stock) as f32;
        let other_from_face = through_paper(printing.sheet.turning, scene.sheet);
        Ok(Some(Self { scene: Box::new(scene), other_from_face, share, paper, linear }))
    }

    /// Dims a picture of this face by what is behind.
    pub(crate) fn dim(&self, view: &View, picture: &mut Picture) {
        let seen = View { face_from_view: self.other_from_face * view.face_from_view, ..*view };
        let other = self.scene.render(&seen);
        let width = view.width.max(1);
        let rows = picture.pixels.par_chunks_mut(width).zip(other.pixels.par_chunks(width));
        rows.for_each(|(to, behind)| {
            for (pixel, back) in to.iter_mut().zip(behind).filter(|(p, b)| p[3] > 0 && b[3] > 0) {
                for c in 0..3 {
                    let dark = 1.0 - (self.linear[usize::from(back[c])] / self.paper[c]).min(1.0);
                    // Bare paper behind leaves every pixel as it is, to the bit.
                    if dark > 0.0 {
                        let light = self.linear[usize::from(pixel[c])] * (1.0 - self.share * dark);
                        pixel[c] = (srgb_from_linear(f64::from(light)) * 255.0 + 0.5) as u8;
                    }
                }
            }
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dots::tests::job;
    use slipsheet_core::geometry::Point;
    use slipsheet_core::reading::Mode;
    use slipsheet_core::units::Dpi;

    /// The ramp of the dots' job on the back, dark to the right, and a bare front.
    fn back_alone() -> (Printing, Images) {
        let (mut printing, images) = job(Mode::Continuous);
        printing.sheet.layers[0].face = Face::Back;
        printing.sheet.layers[0].slip = Default::default();
        (printing, images)
    }

    fn drawn(printing: &Printing, images: &Images, face: Face, show_through: bool) -> Picture {
        let scene = Scene::new(printing, images, Show { face, show_through, ..Show::default() }).unwrap();
        scene.render(&View::sheet(scene.sheet(), Dpi::new(50.8).unwrap()))
    }

    #[test]
    fn however_the_press_turns_it_the_same_paper_is_behind() {
        let sheet = Size::mm(40.0, 30.0);
        for turning in Turning::ALL {
            let at = through_paper(turning, sheet) * Point::new(3.0, 4.0);
            assert!(at.distance(Point::new(37.0, 4.0)) < 1e-9, "{}", turning.name());
            let back = through_paper(turning, sheet) * at;
            assert!(back.distance(Point::new(3.0, 4.0)) < 1e-9, "{}", turning.name());
        }
    }

    #[test]
    fn what_is_dark_at_the_right_of_the_back_shows_at_the_left_of_the_front() {
        let (mut printing, images) = back_alone();
        for turning in Turning::ALL {
            printing.sheet.turning = turning;
            let back = drawn(&printing, &images, Face::Back, false);
            let front = drawn(&printing, &images, Face::Front, true);
            let (left, right) = (4, front.width - 5);
            assert!(back.at(right, 30)[1] < back.at(left, 30)[1]);
            assert!(front.at(left, 30)[1] < front.at(right, 30)[1], "{}", turning.name());
        }
    }

    #[test]
    fn heavier_paper_hides_more_and_bare_paper_hides_nothing() {
        let (mut printing, images) = back_alone();
        let bare = drawn(&printing, &images, Face::Front, false);
        let mut darkest = Vec::new();
        for gsm in [50.0, 80.0, 160.0] {
            printing.sheet.stock.gsm = gsm;
            let front = drawn(&printing, &images, Face::Front, true);
            assert!(front.pixels.iter().zip(&bare.pixels).all(|(a, b)| a[1] <= b[1] && a[3] == b[3]));
            darkest.push(front.pixels.iter().map(|p| p[1]).min().unwrap());
        }
        assert!(darkest.windows(2).all(|w| w[0] < w[1]), "{darkest:?}");
        printing.sheet.stock.gsm = 600.0;
        assert_eq!(drawn(&printing, &images, Face::Front, true), bare);
    }

    #[test]
    fn the_formula_holds_for_a_pixel() {
        let (printing, images) = back_alone();
        let (bare, back) =
            (drawn(&printing, &images, Face::Front, false), drawn(&printing, &images, Face::Back, false));
        let front = drawn(&printing, &images, Face::Front, true);
        let linear = |v: u8| linear_from_srgb(f64::from(v) / 255.0);
        let (x, y) = (6, 30);
        let (paper, behind) = (linear(bare.at(x, y)[1]), linear(back.at(back.width - 1 - x, y)[1]));
        let share = show_through(&printing.sheet.stock);
        let expected = srgb_from_linear(paper * (1.0 - share + share * behind / paper)) * 255.0;
        assert!((f64::from(front.at(x, y)[1]) - expected).abs() <= 1.0, "{expected}");
    }
}
