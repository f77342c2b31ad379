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
#[serde(deny_unknown_fields)]
pub struct Hand {
    #[serde(default)]
    pub score: Minutes,
    #[serde(default)]
    pub fold: Minutes,
    #[serde(default)]
    pub slit: Minutes,
    /// Gathering the sheets of a booklet, and stitching or gluing them.
    #[serde(default)]
    pub bind: Minutes,
    #[serde(default)]
    pub trim: Minutes,
    #[serde(default)]
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
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PriceList {
    /// A plain name, such as the shop's.
    #[serde(default)]
    pub name: String,
    /// The currency, as it is written behind an amount.
    #[serde(default)]
    pub currency: String,
    /// One master.
    #[serde(default)]
    pub master: Money,
    /// One impression.
    #[serde(default)]
    pub impression: Money,
    #[serde(default)]
    pub impressions_by: ImpressionsBy,
    /// One sheet as it is bought: a parent sheet where there is one.
    #[serde(default)]
    pub sheet: Money,
    /// The larger sheet that is bought and cut.
    #[serde(default)]
    pub parent: Option<Parent>,
    /// Set-up of one pass.
    #[serde(default)]
    pub set_up: Money,
    /// Fitting a drum with another ink.
    #[serde(default)]
    pub drum_change: Money,
    /// An hour at the machine.
    #[serde(default)]
    pub machine_hour: Money,
    /// An hour of work by hand.
    #[serde(default)]
    pub hand_hour: Money,
    /// A kilogram of ink.
    #[serde(default)]
    pub ink_kilogram: Money,
    /// Ink on a square metre of a solid, in grams.
    #[serde(default)]
    pub lay_down: LayDown,
    /// The lay-down of inks that differ, by name.
    #[serde(default)]
    pub lay_downs: Vec<(String, LayDown)>,
    /// One sheet of the wrap's stock, where the job has a wrap.
    #[serde(default)]
    pub wrap_sheet: Money,
    /// One sleeve, or what else a copy is packed in.
    #[serde(default)]
    pub sleeve: Money,
    /// Set-up of one pass.
    #[serde(default)]
    pub set_up_minutes: Minutes,
    #[serde(default)]
    pub master_minutes: Minutes,
    #[serde(default)]
    pub drum_minutes: Minutes,
}

impl PriceList {
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

/// What is agreed for one job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobTerms {
    /// Copies that are to be sold or given.
    #[serde(default)]
    pub copies: u32,
    /// Sheets printed besides, for makeready and spoilage.
    #[serde(default)]
    pub overs: u32,
    #[serde(default)]
    pub prices: PriceList,
    /// Minutes booked at the machine; 0 when nothing is booked.
    #[serde(default)]
    pub slot: Minutes,
    /// Good copies that are wanted; 0 for as many as [`JobTerms::copies`].
    #[serde(default)]
    pub good_copies: u32,
    #[serde(default)]
    pub selling_price: Money,
    #[serde(default)]
    pub hand: Hand,
    /// Wait for ink to dry between passes.
    #[serde(default = "drying")]
    pub drying: Minutes,
    /// Which way the grain should run on the job's sheet.
    #[serde(default)]
    pub grain: Grain,
    #[serde(default)]
    pub packing: String,
}

/// A quarter of an hour on uncoated stock (common practice, no source).
fn drying() -> Minutes {
    Minutes::new(15.0)
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
            drying: drying(),
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

    /// Good copies that are wanted.
    pub fn wanted(&self) -> u32 {
        if self.good_copies == 0 { self.copies } else { self.good_copies }
    }
}
