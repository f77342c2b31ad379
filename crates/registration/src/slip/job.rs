//! A job as a whole: every printed sheet of it with both faces, studied once, and how many of its copies would sell.
//!
//! A sheet is spoiled when either face is. The sheets of a booklet are sorted before they are gathered, so each is
//! counted by itself, and the one that comes out worst says how many copies to print.

use rayon::prelude::*;
use slipsheet_base::cache::Bytes;

use super::painter::{Change, Painter};
use super::run::{COPIES, RunOptions, Slipper, Sold, openings};
use super::study::{Opening, Study, StudyOptions};
use super::{LayerSlip, SlipError};
use slipsheet_core::geometry::Affine;
use slipsheet_core::press::Press;
use slipsheet_document::acceptance::{Acceptance, EdgeShare};
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;

/// The study of a face of a printed sheet that has inks to slip against each other.
#[derive(Debug, Clone, PartialEq)]
pub struct FaceStudy {
    /// Of a booklet, from 0.
    pub sheet: usize,
    pub face: Face,
    pub study: Study,
}

/// What was studied of a job, whatever a person accepts.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct JobStudy {
    pub sheets: usize,
    pub faces: Vec<FaceStudy>,
}

impl Bytes for JobStudy {
    fn bytes(&self) -> usize {
        self.faces.iter().map(|f| f.study.bytes()).sum()
    }
}

/// The seed of the copies of a printed sheet, which all figures of it are of; the sheets of a booklet slip each by
/// itself.
pub fn seed_of(sheet: usize) -> u64 {
    1 + sheet as u64
}

impl JobStudy {
    /// Studies every face that has inks to slip against each other, unless `stop` says so.
    ///
    /// # Errors
    /// See [`SlipError`]; [`SlipError::Cancelled`] when it was stopped.
    pub fn of_until(
        printing: &Printing,
        images: &Images,
        stop: &dyn Fn() -> bool,
    ) -> Result<Self, SlipError> {
        let mut all = Self { sheets: printing.sheet.printed_sheets(), faces: Vec::new() };
        for sheet in 0..all.sheets {
            let one = printing.number(sheet);
            for face in Face::BOTH {
                if one.sheet.on(face).filter(|(_, l)| l.visible).count() > 1 {
                    let study = Study::of_until(&one, images, &StudyOptions::of(&one.press, face), stop)?;
                    all.faces.push(FaceStudy { sheet, face, study });
                }
            }
        }
        Ok(all)
    }
}

/// The slips of a printed sheet's copies, of which all figures of it are.
///
/// What a figure says of the press is the share to be expected, which copies that do not depend on one another tell best.
pub fn slipper_of(printing: &Printing, face: Face, sheet: usize) -> Slipper {
    Slipper::of(&expected(printing), face, seed_of(sheet))
}

fn expected(printing: &Printing) -> Printing {
    Printing { press: printing.press.independent(), ..printing.clone() }
}

/// The simulated copies of a job: [`COPIES`] of every printed sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct JobCopies {
    /// The accepted share of the edges that the openings are of.
    share: EdgeShare,
    /// Whether they were painted.
    painted: bool,
    sheets: Vec<SheetCopies>,
    /// The same on a press that scatters half and one and a half times as far, where its scatter is an estimate.
    band: Option<[Vec<SheetCopies>; 2]>,
}

/// The copies of one printed sheet, the worse of both faces.
#[derive(Debug, Clone, PartialEq, Default)]
struct SheetCopies {
    openings: Vec<Opening>,
    /// How far each differs for the eye; empty where colour did not count.
    changes: Vec<Change>,
}

/// How many copies of a job would sell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JobSold {
    pub sold: Sold,
    /// The sheet of a booklet that comes out worst, from 0.
    pub sheet: usize,
    /// The share where the press scatters one and a half times and half as far, low end first; none where its scatter
    /// was measured.
    pub band: Option<[f64; 2]>,
}

/// What an estimated scatter may be in truth, as a factor.
pub const BAND: [f64; 2] = [0.5, 1.5];
/// Copies that are painted for an end of the band.
const PAINTED: usize = 250;

impl Bytes for JobCopies {
    fn bytes(&self) -> usize {
        let of =
            |s: &SheetCopies| s.openings.len() * size_of::<Opening>() + s.changes.len() * size_of::<Change>();
        self.sheets.iter().chain(self.band.iter().flatten().flatten()).map(of).sum()
    }
}

impl JobCopies {
    /// Draws the copies of a job that was studied; they are painted where the project says that colour counts.
    ///
    /// # Errors
    /// See [`SlipError`]; [`SlipError::Cancelled`] when `stop` says so.
    pub fn of_until(
        printing: &Printing,
        images: &Images,
        studied: &JobStudy,
        stop: &(dyn Fn() -> bool + Sync),
    ) -> Result<Self, SlipError> {
        let painted = printing.acceptance.colour.is_some();
        let draw = |press: Press, copies: usize| {
            drawn(&Printing { press, ..printing.clone() }, images, studied, copies, stop)
        };
        let sheets = draw(printing.press.clone(), COPIES)?;
        let copies = if painted { PAINTED } else { COPIES };
        let scaled = |factor: f64| draw(printing.press.scaled(factor), copies);
        let [half, more] = BAND;
        let band = if printing.press.is_measured() { None } else { Some([scaled(half)?, scaled(more)?]) };
        Ok(Self { share: printing.acceptance.share, painted, sheets, band })
    }

    /// Whether it can say what would sell under an acceptance without being drawn again.
    pub fn knows(&self, acceptance: &Acceptance) -> bool {
        self.share == acceptance.share && (acceptance.colour.is_none() || self.painted)
    }

    /// How many would sell; none where this is of another share of the edges, or colour counts and nothing was painted.
    pub fn sold(&self, acceptance: &Acceptance) -> Option<JobSold> {
        let (sheet, sold) = worst(&self.sheets, acceptance).filter(|_| self.knows(acceptance))?;
        let share = |sheets: &Vec<SheetCopies>| Some(worst(sheets, acceptance)?.1.share());
        let band = self.band.as_ref().and_then(|[half, more]| Some([share(more)?, share(half)?]));
        // Where a press lies off, less scatter may spoil more copies.
        let band = band.map(|[a, b]| [a.min(b).min(sold.share()), a.max(b).max(sold.share())]);
        Some(JobSold { sold, sheet, band })
    }
}

/// The sheet of which the fewest copies would sell, and how many do.
fn worst(sheets: &[SheetCopies], acceptance: &Acceptance) -> Option<(usize, Sold)> {
    let of_sheet = |copies: &SheetCopies| {
        let sells = |(i, opening): (usize, &Opening)| {
            opening.sells(acceptance) && copies.changes.get(i).is_none_or(|c| c.sells(acceptance))
        };
        let sold = copies.openings.iter().enumerate().filter(|copy| sells(*copy)).count();
        Sold { copies: copies.openings.len(), sold }
    };
    sheets.iter().map(of_sheet).enumerate().min_by_key(|(sheet, sold)| (sold.sold, *sheet))
}

fn drawn(
    printing: &Printing,
    images: &Images,
    studied: &JobStudy,
    copies: usize,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Vec<SheetCopies>, SlipError> {
    let unslipped = SheetCopies { openings: vec![Opening::default(); copies], changes: Vec::new() };
    let mut sheets = vec![unslipped; studied.sheets];
    for FaceStudy { sheet, face, study } in &studied.faces {
        let one = printing.number(*sheet);
        let slipper = slipper_of(&one, *face, *sheet);
        let found = openings(study, printing.acceptance.share, &slipper, copies);
        let Some(of_sheet) = sheets.get_mut(*sheet) else { continue };
        of_sheet.openings.iter_mut().zip(found).for_each(|(all, of_face)| *all = all.worse(of_face));
        if one.acceptance.colour.is_some() {
            let changes = painted(&one, images, *face, (&slipper, copies), stop)?;
            of_sheet.changes.resize(copies, Change::default());
            of_sheet.changes.iter_mut().zip(changes).for_each(|(all, of_face)| *all = all.worse(of_face));
        }
    }
    Ok(sheets)
}

/// The changes of a run's first copies for the eye.
///
/// # Errors
/// [`SlipError::Cancelled`] when `stop` says so.
pub(crate) fn painted(
    printing: &Printing,
    images: &Images,
    face: Face,
    (slipper, copies): (&Slipper, usize),
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Vec<Change>, SlipError> {
    let options = RunOptions::default();
    let painter = Painter::new(printing, images, face, options.dpi, options.distance)?;
    let sheet = printing.sheet.size();
    let paint = |copy: u64| {
        if stop() {
            return None;
        }
        let slips = slipper.slips(copy);
        let moved = |layer: &usize| {
            let slip = slips.iter().find(|s: &&LayerSlip| s.layer == *layer);
            slip.map_or(Affine::IDENTITY, |s| s.slipped_from_meant(sheet))
        };
        let moves: Vec<Affine> = painter.layers().iter().map(moved).collect();
        Some(painter.change(&moves))
    };
    let all: Option<Vec<Change>> = (0..copies as u64).into_par_iter().map(paint).collect();
    all.ok_or(SlipError::Cancelled)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::slip::run::testing::two_boxes;

    fn job(printing: &Printing, images: &Images) -> JobCopies {
        let studied = JobStudy::of_until(printing, images, &|| false).unwrap();
        JobCopies::of_until(printing, images, &studied, &|| false).unwrap()
    }

    #[test]
    fn a_laxer_acceptance_never_sells_fewer_copies_of_a_job() {
        let (mut printing, images) = two_boxes(0.1);
        let mut before = 0;
        for (gap, share, colour) in [
            (0.15, 0.05, Some(0.5)),
            (0.15, 0.05, Some(3.0)),
            (0.15, 0.05, None),
            (0.5, 0.05, None),
            (0.5, 0.4, None),
            (1.0, 0.4, None),
        ] {
            printing.acceptance = Acceptance::of(gap, share, colour);
            let sold = job(&printing, &images).sold(&printing.acceptance).unwrap().sold;
            assert!(sold.sold >= before && sold.copies == COPIES, "{gap} {share} {colour:?}");
            before = sold.sold;
        }
        assert!(before > 800, "{before}");
    }

    #[test]
    fn copies_drawn_for_one_share_say_nothing_of_another_or_of_colour() {
        let (printing, images) = two_boxes(0.1);
        let copies = job(&printing, &images);
        assert!(copies.sold(&Acceptance::of(0.9, 0.05, None)).is_some());
        assert_eq!(copies.sold(&Acceptance::of(0.9, 0.2, None)), None);
        assert_eq!(copies.sold(&Acceptance::of(0.9, 0.05, Some(3.0))), None);
    }

    #[test]
    fn a_sheet_with_one_ink_cannot_slip_and_one_that_is_stopped_says_nothing() {
        let (mut printing, images) = two_boxes(0.0);
        let stopped = JobStudy::of_until(&printing, &images, &|| true);
        assert_eq!(stopped, Err(SlipError::Cancelled));
        printing.sheet.layers.pop();
        let sold = job(&printing, &images).sold(&printing.acceptance).unwrap();
        assert_eq!(sold.sold, Sold { copies: COPIES, sold: COPIES });
    }

    #[test]
    fn an_estimated_press_gives_a_band_about_the_share_and_a_measured_one_none() {
        let (mut printing, images) = two_boxes(0.1);
        let sold = job(&printing, &images).sold(&printing.acceptance).unwrap();
        let [low, high] = sold.band.unwrap();
        let share = sold.sold.share();
        // One straight edge with 0.6 mm of room: the share is that of a normal distribution of the slip across.
        let wanted = |factor: f64| {
            let across = 0.4 * factor * std::f64::consts::SQRT_2;
            crate::slip::stats::normal_cdf(0.6 / across)
        };
        for (got, factor) in [(low, 1.5), (share, 1.0), (high, 0.5)] {
            // Twist and stretch open the ends of the edge a little further.
            assert!((got - wanted(factor)).abs() < 0.06, "{got} for {} at {factor}", wanted(factor));
        }
        printing.press.measured.between_passes = true;
        printing.press.measured.within_pass = true;
        assert_eq!(job(&printing, &images).sold(&printing.acceptance).unwrap().band, None);
    }

    #[test]
    fn copies_that_slip_alike_have_the_share_of_those_that_do_not() {
        let (mut printing, images) = two_boxes(0.1);
        let alone = job(&printing, &images).sold(&printing.acceptance);
        printing.press.correlation = slipsheet_core::press::Correlation::new(0.9);
        assert_eq!(job(&printing, &images).sold(&printing.acceptance), alone);
    }
}
