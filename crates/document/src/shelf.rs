//! The shelf: inks and stocks at hand, and the overprints measured from them. It starts with the
//! program's own estimates and becomes the person's as they add, edit and measure.

use serde::{Deserialize, Serialize};
use slipsheet_core::calibrate::CalibrationResult;

use crate::terms::PriceList;
use slipsheet_core::ink::{Ink, OverprintSwatch};
use slipsheet_core::press::Press;
use slipsheet_core::stock::Stock;
use slipsheet_paper::fold::Scheme;

/// Inks, stocks and measured overprints at hand.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Shelf {
    pub inks: Vec<Ink>,
    pub stocks: Vec<Stock>,
    pub overprints: Vec<OverprintSwatch>,
    pub presses: Vec<Press>,
    pub prices: Vec<PriceList>,
    /// Fold schemes of the person's own.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub folds: Vec<Scheme>,
}

/// Why a shelf cannot be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("the shelf cannot be read at line {line}: {why}")]
pub struct ShelfError {
    /// Line, from 1.
    pub line: usize,
    pub why: String,
}

fn parse<T: serde::de::DeserializeOwned>(text: &str) -> Result<T, ShelfError> {
    ron::from_str(text)
        .map_err(|e| ShelfError { line: e.span.start.line, why: slipsheet_base::ron_words::sentence(&e) })
}

impl Shelf {
    /// What a calibration gives: its inks, the rest of each as it is `known`, and the stock with its overprints where
    /// one is named.
    pub fn from_calibration(
        result: &CalibrationResult,
        known: &Self,
        stock: Option<&Stock>,
        note: &str,
    ) -> Self {
        let inks = result.inks.iter().map(|fit| result.ink(fit, known.ink(&fit.name), note)).collect();
        let stocks = stock.map(|s| result.stock(s, note)).into_iter().collect();
        let overprints = stock.map_or_else(Vec::new, |s| result.swatches(&s.name));
        Self { inks, stocks, overprints, ..Self::default() }
    }

    /// The shelf that comes with the program; every colour on it is an estimate.
    ///
    /// # Errors
    /// When a shipped file does not parse; a test holds them to it.
    pub fn starter() -> Result<Self, ShelfError> {
        Ok(Self {
            inks: parse(include_str!("../../../assets/shelves/inks.ron"))?,
            stocks: parse(include_str!("../../../assets/shelves/stocks.ron"))?,
            overprints: Vec::new(),
            presses: vec![Press::default(), Press::single_drum()],
            prices: Vec::new(),
            folds: Vec::new(),
        })
    }

    /// Reads a shelf.
    ///
    /// # Errors
    /// The line and what is wrong there.
    pub fn from_ron(text: &str) -> Result<Self, ShelfError> {
        let shelf: Self = parse(text)?;
        for fold in &shelf.folds {
            fold.check().map_err(|e| {
                let named = |line: &str| line.contains("id:") && line.contains(&format!("\"{}\"", fold.id));
                let line = text.lines().position(named).map_or(1, |i| i + 1);
                ShelfError { line, why: e.to_string() }
            })?;
        }
        Ok(shelf)
    }

    /// The shelf as text.
    ///
    /// # Errors
    /// When the serializer refuses, which no shelf that was read brings about.
    pub fn to_ron(&self) -> Result<String, ShelfError> {
        let pretty = ron::ser::PrettyConfig::new().indentor("  ");
        let text = ron::ser::to_string_pretty(self, pretty)
            .map_err(|e| ShelfError { line: 0, why: e.to_string() })?;
        Ok(text + "\n")
    }

    pub fn ink(&self, name: &str) -> Option<&Ink> {
        self.inks.iter().find(|i| i.name.eq_ignore_ascii_case(name))
    }

    pub fn stock(&self, name: &str) -> Option<&Stock> {
        self.stocks.iter().find(|s| s.name.eq_ignore_ascii_case(name))
    }

    /// Takes over everything of another shelf; what has the same name is replaced.
    pub fn merge(&mut self, other: Self) {
        fn put<T, K: PartialEq>(all: &mut Vec<T>, others: Vec<T>, name: fn(&T) -> K) {
            for item in others {
                match all.iter_mut().find(|i| name(i) == name(&item)) {
                    Some(old) => *old = item,
                    None => all.push(item),
                }
            }
        }
        put(&mut self.inks, other.inks, |i| i.name.clone());
        put(&mut self.stocks, other.stocks, |s| s.name.clone());
        put(&mut self.presses, other.presses, |p| p.name.clone());
        put(&mut self.prices, other.prices, |p| p.name.clone());
        put(&mut self.folds, other.folds, |f| f.id.clone());
        put(&mut self.overprints, other.overprints, |s| (s.inks.clone(), s.stock.clone()));
    }

    /// A name that nothing on the list has yet: the wanted one, or it with a number.
    pub fn free_name<'a>(wanted: &str, taken: impl Iterator<Item = &'a str> + Clone) -> String {
        let free = |name: &str| !taken.clone().any(|t| t.eq_ignore_ascii_case(name));
        if free(wanted) {
            return wanted.to_owned();
        }
        (2..).map(|i| format!("{wanted} {i}")).find(|name| free(name)).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_starter_shelf_is_full_and_all_estimates() {
        let shelf = Shelf::starter().unwrap();
        assert!(shelf.inks.len() >= 16 && shelf.stocks.len() >= 12);
        assert!(shelf.inks.iter().all(|i| !i.solid.measured()));
        assert!(shelf.stocks.iter().all(|s| !s.colour.measured()));
        assert!(shelf.inks[0].solid.standing().contains("replace with a swatch from your shop"));
        for (i, ink) in shelf.inks.iter().enumerate() {
            assert!(shelf.inks[..i].iter().all(|other| other.name != ink.name), "{}", ink.name);
        }
    }

    #[test]
    fn a_shelf_round_trips_and_merges_by_name() {
        let mut shelf = Shelf::starter().unwrap();
        assert_eq!(Shelf::from_ron(&shelf.to_ron().unwrap()).unwrap(), shelf);
        let mut mine = Shelf { inks: vec![shelf.inks[3].clone()], ..Shelf::default() };
        mine.inks[0].opacity = slipsheet_core::ink::Share::new(0.5);
        let before = shelf.inks.len();
        shelf.merge(mine.clone());
        assert_eq!((shelf.inks.len(), &shelf.inks[3]), (before, &mine.inks[0]));
    }

    #[test]
    fn folds_are_kept_checked_and_merged_by_id() {
        let mut letter = slipsheet_paper::fold::find("letter6").unwrap();
        letter.id = "my-letter".to_owned();
        let mut shelf = Shelf { folds: vec![letter.clone()], ..Shelf::default() };
        let text = shelf.to_ron().unwrap();
        assert_eq!(Shelf::from_ron(&text).unwrap(), shelf);
        // Shelves of earlier programs have none.
        assert!(Shelf::from_ron("(inks: [])").unwrap().folds.is_empty());
        letter.name = "Another name".to_owned();
        shelf.merge(Shelf { folds: vec![letter], ..Shelf::default() });
        assert_eq!((shelf.folds.len(), shelf.folds[0].name.as_str()), (1, "Another name"));
        let error = Shelf::from_ron(&text.replace("page: 6", "page: 7")).unwrap_err();
        let line = text.lines().position(|l| l.contains("my-letter")).unwrap() + 1;
        assert_eq!((error.line, error.why.contains("my-letter")), (line, true));
    }

    #[test]
    fn a_bad_shelf_names_the_line() {
        let error = Shelf::from_ron("(\n  inks: [\n (name: 3)\n ])").unwrap_err();
        assert_eq!(error.line, 3);
    }

    #[test]
    fn a_copy_gets_a_name_of_its_own() {
        let taken = ["Hip-berry red", "Hip-berry red 2"];
        assert_eq!(Shelf::free_name("Hip-berry red", taken.into_iter()), "Hip-berry red 3");
        assert_eq!(Shelf::free_name("Roof tile", taken.into_iter()), "Roof tile");
    }
}
