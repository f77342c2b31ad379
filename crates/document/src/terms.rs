//! Prices of a shop and terms of a job, as plain data.

use serde::{Deserialize, Serialize};

use slipsheet_base::bounded;
pub use slipsheet_core::stock::Grain;
use slipsheet_core::units::Size;
use slipsheet_paper::construction::Construction;

bounded! {
    /// An amount in the person's own currency.
    Money, 0.0..=1e9, default 0.0, "a price", "from 0 to a thousand million";
    /// Minutes.
    Minutes, 0.0..=100_000.0, default 0.0, "a time in minutes", "from 0 to 100000";
    /// Grams of ink on a square metre of a solid; 6 where none is given (common practice, no source).
    LayDown, 0.0..=100.0, default 6.0, "an ink lay-down in grams per square metre", "from 0 to 100"
}

/// How a shop counts impressions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum ImpressionsBy {
    /// A sheet through the press is one, whatever it prints.
    #[default]
    Pass,
    /// A sheet through the press is one for each ink.
    Ink,
}

/// What becomes of the masters of a series between its editions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum SeriesMasters {
    /// A master stays on its drum until another is made there: an edition that prints a layer in the same ink as one
    /// before it uses the same master, and one in another ink needs a new one (common practice, no source).
    #[default]
    StayOnDrums,
    /// Every edition has masters of its own.
    MadeAnew,
}

/// A larger sheet that the job's sheets are cut from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Parent {
    pub size: Size,
    /// Its grain.
    #[serde(default)]
    pub grain: Grain,
    /// Price of a cut through the stack.
    #[serde(default)]
    pub per_cut: Money,
}

/// Minutes of hand work on one copy.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Hand {
    pub score: Minutes,
    pub fold: Minutes,
    pub slit: Minutes,
    /// Gathering the sheets of a booklet, and stitching or gluing them.
    pub bind: Minutes,
    pub trim: Minutes,
    pub sleeve: Minutes,
}

impl Hand {
    /// The steps of a job by name, in working order, each with its minutes a copy: what its fold or booklet has no
    /// use for is left out.
    pub fn steps(mut self, of: &Construction<'_>) -> Vec<(&'static str, f64)> {
        self.steps_mut(of).into_iter().map(|(name, minutes)| (name, minutes.get())).collect()
    }

    pub fn steps_mut(&mut self, of: &Construction<'_>) -> Vec<(&'static str, &mut Minutes)> {
        let fold = of.fold.filter(|_| of.booklet.is_none());
        let booklet = of.booklet.is_some();
        let creased = booklet || fold.is_some_and(|f| !f.creases.is_empty());
        let slit = fold.is_some_and(|f| !f.slits.is_empty());
        let all = [
            (creased, "Score", &mut self.score),
            (creased, "Fold", &mut self.fold),
            (slit, "Slit", &mut self.slit),
            (booklet, "Gather and bind", &mut self.bind),
            (true, "Trim", &mut self.trim),
            (true, "Sleeve", &mut self.sleeve),
        ];
        all.into_iter().filter(|step| step.0).map(|(_, name, minutes)| (name, minutes)).collect()
    }

    /// Minutes a copy, all steps of a job together.
    pub fn per_copy(self, of: &Construction<'_>) -> f64 {
        self.steps(of).iter().map(|s| s.1).sum()
    }
}

/// What a shop asks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct PriceList {
    /// A plain name, such as the shop's.
    pub name: String,
    /// The currency, as it is written behind an amount.
    pub currency: String,
    /// One master.
    pub master: Money,
    /// One impression.
    pub impression: Money,
    pub impressions_by: ImpressionsBy,
    /// One sheet as it is bought: a parent sheet where there is one.
    pub sheet: Money,
    /// The larger sheet that is bought and cut.
    pub parent: Option<Parent>,
    /// Set-up of one pass.
    pub set_up: Money,
    /// Fitting a drum with another ink.
    pub drum_change: Money,
    /// An hour at the machine.
    pub machine_hour: Money,
    /// An hour of work by hand.
    pub hand_hour: Money,
    /// A kilogram of ink.
    pub ink_kilogram: Money,
    /// Ink on a square metre of a solid, in grams.
    pub lay_down: LayDown,
    /// The lay-down of inks that differ, by name.
    pub lay_downs: Vec<(String, LayDown)>,
    /// One sheet of the wrap's stock, where the job has a wrap.
    pub wrap_sheet: Money,
    /// One sleeve, or what else a copy is packed in.
    pub sleeve: Money,
    pub series_masters: SeriesMasters,
    /// Set-up of one pass: stack, guides, first sheets.
    pub set_up_minutes: Minutes,
    /// Making one master.
    pub master_minutes: Minutes,
    /// Fitting a drum with another ink.
    pub drum_minutes: Minutes,
}

impl Default for PriceList {
    /// No prices; minutes to begin with until the shop's own are known.
    fn default() -> Self {
        Self {
            name: String::new(),
            currency: String::new(),
            master: Money::default(),
            impression: Money::default(),
            impressions_by: ImpressionsBy::default(),
            sheet: Money::default(),
            parent: None,
            set_up: Money::default(),
            drum_change: Money::default(),
            machine_hour: Money::default(),
            hand_hour: Money::default(),
            ink_kilogram: Money::default(),
            lay_down: LayDown::default(),
            lay_downs: Vec::new(),
            wrap_sheet: Money::default(),
            sleeve: Money::default(),
            series_masters: SeriesMasters::default(),
            // A few sheets until stack and register are right, a master while one waits, and a drum taken out, carried
            // and put in (all common practice, no source).
            set_up_minutes: Minutes::new(5.0),
            master_minutes: Minutes::new(1.5),
            drum_minutes: Minutes::new(4.0),
        }
    }
}

impl PriceList {
    /// Minutes before a pass prints: making ready, the drums that must be fitted and the masters that must be made.
    pub fn set_up_of(&self, drums: usize, masters: usize) -> f64 {
        self.set_up_minutes.get()
            + drums as f64 * self.drum_minutes.get()
            + masters as f64 * self.master_minutes.get()
    }

    /// Grams of an ink on a square metre of its solid.
    pub fn lay_down_of(&self, ink: &str) -> f64 {
        self.lay_downs.iter().find(|(name, _)| name == ink).map_or(self.lay_down, |l| l.1).get()
    }

    /// Whether anything has a price at all.
    pub fn says_nothing(&self) -> bool {
        let prices = [
            self.master,
            self.impression,
            self.sheet,
            self.set_up,
            self.drum_change,
            self.machine_hour,
            self.hand_hour,
            self.ink_kilogram,
            self.sleeve,
            self.wrap_sheet,
        ];
        prices.iter().all(|p| p.get() <= 0.0) && self.parent.is_none_or(|p| p.per_cut.get() <= 0.0)
    }

    pub fn amount(&self, v: f64) -> String {
        let unit = self.currency.trim();
        // Rounded to nothing is nothing, without a sign.
        let v = if v.abs() < 0.005 { 0.0 } else { v };
        if unit.is_empty() { format!("{v:.2}") } else { format!("{v:.2} {unit}") }
    }
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct JobTerms {
    /// Copies that are to be sold or given.
    pub copies: u32,
    /// Sheets printed besides, for makeready and spoilage.
    pub overs: u32,
    pub prices: PriceList,
    /// Minutes booked at the machine; 0 when nothing is booked.
    pub slot: Minutes,
    /// Good copies that are wanted; 0 for as many as [`JobTerms::copies`].
    pub good_copies: u32,
    pub selling_price: Money,
    pub hand: Hand,
    /// Wait for ink to dry before the same stack goes through the press again, and before it is folded.
    pub drying: Minutes,
    /// Which way the grain should run on the job's sheet.
    pub grain: Grain,
    pub packing: String,
}

impl Default for JobTerms {
    fn default() -> Self {
        Self {
            copies: 0,
            overs: 0,
            prices: PriceList::default(),
            slot: Minutes::default(),
            good_copies: 0,
            selling_price: Money::default(),
            hand: Hand::default(),
            // A quarter of an hour on uncoated stock (common practice, no source).
            drying: Minutes::new(15.0),
            grain: Grain::default(),
            packing: String::new(),
        }
    }
}

impl JobTerms {
    /// Overs for another number of copies: in the same proportion, rounded up; as given where there are no
    /// copies to compare with.
    pub fn overs_for(&self, copies: u32) -> u32 {
        if self.copies == 0 {
            return self.overs;
        }
        let overs = (u64::from(self.overs) * u64::from(copies)).div_ceil(u64::from(self.copies));
        u32::try_from(overs).unwrap_or(u32::MAX)
    }

    /// The same job for another number of copies, with overs and good copies in proportion.
    #[must_use]
    pub fn for_copies(&self, copies: u32) -> Self {
        let good_copies = if self.good_copies == 0 || self.copies == 0 {
            self.good_copies
        } else {
            let good = (u64::from(self.good_copies) * u64::from(copies)).div_ceil(u64::from(self.copies));
            u32::try_from(good).unwrap_or(u32::MAX)
        };
        Self { copies, overs: self.overs_for(copies), good_copies, ..self.clone() }
    }

    /// Good copies that are wanted.
    pub fn wanted(&self) -> u32 {
        if self.good_copies == 0 { self.copies } else { self.good_copies }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_new_job_has_minutes_and_an_older_one_keeps_those_it_says() {
        let prices = PriceList::default();
        let minutes = |p: &PriceList| [p.set_up_minutes, p.master_minutes, p.drum_minutes].map(Minutes::get);
        assert_eq!(minutes(&prices), [5.0, 1.5, 4.0]);
        assert!(prices.says_nothing());
        let text = "(prices: (set_up_minutes: 0.0, master_minutes: 0.0, drum_minutes: 2.0))";
        let older: JobTerms = ron::from_str(text).unwrap();
        assert_eq!(minutes(&older.prices), [0.0, 0.0, 2.0]);
        // One drum and two masters: 5 + 4 + 2 x 1.5.
        assert!((prices.set_up_of(1, 2) - 12.0).abs() < 1e-12);
    }

    #[test]
    fn a_part_of_a_job_has_its_part_of_the_overs_and_of_the_good_copies() {
        let job = JobTerms { copies: 120, overs: 15, good_copies: 100, ..JobTerms::default() };
        let part = job.for_copies(40);
        assert_eq!((part.copies, part.overs, part.good_copies), (40, 5, 34));
        assert_eq!(job.for_copies(120), job);
        // Without copies to compare with, overs are as they are given.
        assert_eq!(JobTerms { copies: 0, ..job }.for_copies(40).overs, 15);
    }

    proptest! {
        #[test]
        fn more_copies_never_take_fewer_overs(
            copies in 0..5000_u32, overs in 0..5000_u32, a in 0..5000_u32, more in 0..5000_u32,
        ) {
            let job = JobTerms { copies, overs, ..JobTerms::default() };
            prop_assert!(job.overs_for(a) <= job.overs_for(a + more));
        }
    }
}
