//! What a study says to the shop: how much slip the job takes, and which inks of different passes meet without
//! room for the slip that the press makes between them.

use slipsheet_core::geometry::Rect;
use slipsheet_document::ids::LayerId;
use slipsheet_document::passes;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;

use super::job::{FaceStudy, JobCopies, JobSold, JobStudy};
use super::{PairStudy, Rose, SlipError, Study, slip_between_passes};

/// Two inks of different passes that meet without room for slip.
#[derive(Debug, Clone, PartialEq)]
pub struct TightPair {
    pub face: Face,
    /// Layer of the ink printed earlier.
    pub lower: LayerId,
    /// Layer of the ink printed later.
    pub upper: LayerId,
    /// The least slip in mm of one against the other that shows.
    pub tolerance: f64,
    /// Length in mm over which they abut.
    pub length: f64,
    /// The length in mm that the slip between two passes of the press exceeds in one copy of twenty.
    pub slips: f64,
    pub place: Option<Rect>,
}

/// The register of a job, both faces together.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct JobRegister {
    /// The least slip in mm that shows; none where no slip that was looked for does.
    pub tolerance: Option<f64>,
    /// The pairs that the shop must mind, tightest first.
    pub pairs: Vec<TightPair>,
    /// How many copies would sell, where copies were simulated.
    pub sold: Option<JobSold>,
}

/// Side in mm of the square around the worst place.
const AROUND: f64 = 12.0;

impl JobRegister {
    /// Studies a job and judges it by what its project accepts.
    ///
    /// # Errors
    /// See [`SlipError`].
    pub fn of(printing: &Printing, images: &Images) -> Result<Self, SlipError> {
        Self::of_until(printing, images, &|| false)
    }

    /// The same, unless `stop` says so, which is asked every now and then.
    ///
    /// # Errors
    /// See [`SlipError`]; [`SlipError::Cancelled`] when it was stopped.
    pub fn of_until(
        printing: &Printing,
        images: &Images,
        stop: &(dyn Fn() -> bool + Sync),
    ) -> Result<Self, SlipError> {
        let studied = JobStudy::of_until(printing, images, stop)?;
        let copies = JobCopies::of_until(printing, images, &studied, stop)?;
        Ok(Self::judged(&studied, &copies, printing))
    }

    /// What a study of the job and its simulated copies come to, by what its project accepts.
    pub fn judged(studied: &JobStudy, copies: &JobCopies, printing: &Printing) -> Self {
        let mut all = Self { sold: copies.sold(&printing.acceptance), ..Self::default() };
        for FaceStudy { sheet, face, study } in &studied.faces {
            all.add(&printing.number(*sheet), *face, study);
        }
        all.pairs.sort_by(|a, b| a.tolerance.total_cmp(&b.tolerance));
        all
    }

    fn add(&mut self, printing: &Printing, face: Face, study: &Study) {
        let tolerance = study.tolerance(&printing.acceptance);
        let least = tolerance.least().map(|t| t.0);
        self.tolerance = match (self.tolerance, least) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
        let passes = passes::passes(printing, face);
        let pass = |layer: usize| passes.iter().position(|p| p.contains(&layer));
        let slips = slip_between_passes(&printing.press, 0.95);
        let worst = study.worst(usize::MAX);
        let id = |position: usize| printing.sheet.layers.get(position).map(|l| l.id);
        let tight = |(p, rose): (&PairStudy, &Rose)| {
            let (tolerance, _) = rose.least()?;
            let apart = pass(p.lower) != pass(p.upper);
            let at = worst.iter().find(|w| (w.tight.lower, w.tight.upper) == (p.lower, p.upper));
            let place = at.map(|w| Rect {
                x: w.tight.at.x - AROUND / 2.0,
                y: w.tight.at.y - AROUND / 2.0,
                width: AROUND,
                height: AROUND,
            });
            let (lower, upper, length) = (id(p.lower)?, id(p.upper)?, p.length);
            (apart && tolerance < slips).then_some(TightPair {
                face,
                lower,
                upper,
                tolerance,
                length,
                slips,
                place,
            })
        };
        let pairs = study.pairs.iter().zip(&tolerance.pairs);
        self.pairs.extend(pairs.filter(|(p, _)| study.options.counts(p)).filter_map(tight));
    }
}

impl TightPair {
    /// The pair in a sentence, without what to do.
    pub fn sentence(&self, printing: &Printing) -> String {
        let name = |id| printing.sheet.layer(id).map_or("", |l| l.name.as_str());
        format!(
            "“{}” and “{}” print in different passes and meet along {:.0} mm; a slip of {:.2} mm there leaves a copy that would not sell, and in one copy of twenty the passes lie {:.1} mm or more apart, whichever way",
            name(self.lower),
            name(self.upper),
            self.length,
            self.tolerance,
            self.slips
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::slip::StudyOptions;
    use crate::slip::testing::{Drawn, covers};
    use slipsheet_core::units::SheetFormat;
    use slipsheet_document::acceptance::Acceptance;
    use slipsheet_document::ids::LayerId;
    use slipsheet_document::layer::Layer;
    use slipsheet_document::shelf::Shelf;

    /// Two inks, each in a pass of its own.
    fn two_inks() -> Printing {
        let shelf = Shelf::starter().unwrap();
        let mut p = Printing::new("Walk", SheetFormat::A6, shelf.stocks[0].clone());
        for (i, name) in [(0, "sea"), (1, "weed")] {
            p.sheet.layers.push(Layer::new(LayerId::new(i), name, shelf.inks[0].clone()));
        }
        p
    }

    fn job_register(printing: &Printing, trap: f64) -> JobRegister {
        let shapes = [Drawn::Box(25.07, 5.0, 50.0, 35.0, 1.0), Drawn::Box(5.0, 5.0, 25.07 + trap, 35.0, 1.0)];
        let covers = covers(60.0, 40.0, 300.0 / 25.4, &shapes);
        let study = Study::of_covers(&covers, &StudyOptions::of(&printing.press, Face::Front));
        let mut all = JobRegister::default();
        all.add(printing, Face::Front, &study);
        all
    }

    #[test]
    fn a_kiss_fit_across_passes_is_told_and_one_within_a_pass_or_with_a_trap_is_not() {
        let mut printing = two_inks();
        printing.acceptance = Acceptance::of(0.15, 0.05, None);
        let found = job_register(&printing, 0.0);
        assert_eq!(
            found.pairs.iter().map(|p| (p.lower.number(), p.upper.number())).collect::<Vec<_>>(),
            [(0, 1)]
        );
        let pair = &found.pairs[0];
        // Closed form: straight edges open at trap + accepted gap.
        assert!((pair.tolerance - 0.15).abs() < 0.02 && pair.length > 25.0, "{pair:?}");
        assert!((found.tolerance.unwrap() - 0.15).abs() < 0.02);
        let place = pair.place.unwrap();
        assert!(place.contains(slipsheet_core::geometry::Point::new(25.0, place.centre().y)), "{place:?}");
        let sentence = pair.sentence(&printing);
        assert!(sentence.contains("“sea” and “weed” print in different passes"), "{sentence}");
        // A trap as wide as the press slips leaves nothing to mind.
        assert!(job_register(&printing, pair.slips).pairs.is_empty());
        printing.press.drums = 2;
        printing.sheet.layers[1].with = Some(LayerId::new(0));
        let found = job_register(&printing, 0.0);
        assert!(found.pairs.is_empty() && found.tolerance.is_some());
    }
}
