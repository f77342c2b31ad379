//! How many sheets a parent sheet gives on a guillotine, which cuts from edge to edge.

use std::collections::BTreeMap;

use slipsheet_core::units::Size;
use slipsheet_document::terms::Grain;

/// The best cut of a parent sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// Sheets from one parent sheet; 0 when the parent is too small.
    pub sheets: u32,
    /// Share of the parent that is left over, 0..=1.
    pub waste: f64,
    /// Cuts through the stack.
    pub cuts: u32,
}

/// The most sheets of a size that can be cut from a parent, turned either way where the grain allows it.
///
/// `wanted` is the grain on the sheet. Where it and the parent's are known, every sheet lies the one way that
/// gives it. Both sizes are counted in tenths of a millimetre.
pub fn best_cut(parent: Size, parent_grain: Grain, sheet: Size, wanted: Grain) -> Cut {
    let tenths = |v: f64| libm::round(v * 10.0).clamp(0.0, 1e6) as u32;
    let (pw, ph) = (tenths(parent.width.get()), tenths(parent.height.get()));
    let (w, h) = (tenths(sheet.width.get()), tenths(sheet.height.get()));
    if w == 0 || h == 0 {
        return Cut { sheets: 0, waste: 1.0, cuts: 0 };
    }
    let mut ways = vec![(w, h), (h, w)];
    let across = |grain: Grain, w: u32, h: u32| grain.runs_across(f64::from(w), f64::from(h));
    if let (Some(across), Some(wanted)) = (across(parent_grain, pw, ph), across(wanted, w, h)) {
        // A sheet that lies as it is keeps its own direction; turned, it has the other.
        ways = if across == wanted { vec![(w, h)] } else { vec![(h, w)] };
    }
    ways.dedup();
    let mut cutter = Cutter { ways, known: BTreeMap::new() };
    let (sheets, cuts) = cutter.best(pw, ph);
    let waste = 1.0 - f64::from(sheets) * f64::from(w) * f64::from(h) / (f64::from(pw) * f64::from(ph));
    Cut { sheets, waste: waste.clamp(0.0, 1.0), cuts }
}

struct Cutter {
    ways: Vec<(u32, u32)>,
    known: BTreeMap<(u32, u32), (u32, u32)>,
}

impl Cutter {
    /// The most sheets from a piece, and the fewest cuts that give so many.
    fn best(&mut self, width: u32, height: u32) -> (u32, u32) {
        if !self.ways.iter().any(|(w, h)| *w <= width && *h <= height) {
            return (0, 0);
        }
        if let Some(known) = self.known.get(&(width, height)) {
            return *known;
        }
        let exact = self.ways.contains(&(width, height));
        // One sheet out of a larger piece takes a cut for each side that is too long.
        let single = self
            .ways
            .iter()
            .filter(|(w, h)| *w <= width && *h <= height)
            .map(|(w, h)| u32::from(*w < width) + u32::from(*h < height))
            .min()
            .unwrap_or(0);
        let mut best = (1, single);
        if !exact {
            for x in self.places(width, |way| way.0) {
                let (a, b) = (self.best(x, height), self.best(width - x, height));
                best = better(best, (a.0 + b.0, a.1 + b.1 + 1));
            }
            for y in self.places(height, |way| way.1) {
                let (a, b) = (self.best(width, y), self.best(width, height - y));
                best = better(best, (a.0 + b.0, a.1 + b.1 + 1));
            }
        }
        self.known.insert((width, height), best);
        best
    }

    /// Where a cut can be worth it: sheets laid side by side from the edge end there.
    fn places(&self, length: u32, side: fn(&(u32, u32)) -> u32) -> Vec<u32> {
        let sides: Vec<u32> = self.ways.iter().map(side).collect();
        let mut reached = vec![0_u32];
        let mut i = 0;
        while let Some(from) = reached.get(i).copied() {
            for side in &sides {
                let next = from.saturating_add(*side);
                if next < length && !reached.contains(&next) {
                    reached.push(next);
                }
            }
            i += 1;
            // So many tiny pieces from one sheet are no longer cut one way and the other.
            if reached.len() > 150 {
                break;
            }
        }
        reached.retain(|v| *v > 0);
        reached
    }
}

fn better(a: (u32, u32), b: (u32, u32)) -> (u32, u32) {
    if b.0 > a.0 || (b.0 == a.0 && b.1 < a.1) { b } else { a }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn sheets(parent: (f64, f64), sheet: (f64, f64)) -> u32 {
        best_cut(Size::mm(parent.0, parent.1), Grain::Any, Size::mm(sheet.0, sheet.1), Grain::Any).sheets
    }

    /// ISO 216: a size is half of the one before it, so it holds 2, 4, 8 of the ones that follow.
    #[test]
    fn a_sheet_of_the_a_series_is_two_of_the_next_size() {
        let a =
            [(841.0, 1189.0), (594.0, 841.0), (420.0, 594.0), (297.0, 420.0), (210.0, 297.0), (148.0, 210.0)];
        for (i, parent) in a.iter().enumerate() {
            for (j, sheet) in a.iter().enumerate().skip(i) {
                assert_eq!(sheets(*parent, *sheet), 1 << (j - i), "A{j} from A{i}");
            }
        }
        // A4 from SRA3 (ISO 217, 320 x 450 mm): still two, with waste all round.
        let cut = best_cut(Size::mm(320.0, 450.0), Grain::Any, Size::mm(210.0, 297.0), Grain::Any);
        // One cut takes the strip off the width, two part the sheets and the strip below them.
        assert_eq!((cut.sheets, cut.cuts), (2, 3));
        assert!((cut.waste - (1.0 - 2.0 * 210.0 * 297.0 / (320.0 * 450.0))).abs() < 1e-9);
    }

    #[test]
    fn grain_keeps_sheets_from_being_turned() {
        let parent = Size::mm(420.0, 297.0);
        let a4 = Size::mm(210.0, 297.0);
        // Long grain A3 halves into short grain A4.
        assert_eq!(best_cut(parent, Grain::Long, a4, Grain::Short).sheets, 2);
        assert_eq!(best_cut(parent, Grain::Long, a4, Grain::Long).sheets, 1);
        assert_eq!(best_cut(parent, Grain::Any, a4, Grain::Long).sheets, 2);
    }

    #[test]
    fn a_parent_that_is_too_small_gives_nothing() {
        assert_eq!(sheets((200.0, 200.0), (210.0, 297.0)), 0);
        assert_eq!(sheets((0.0, 0.0), (210.0, 297.0)), 0);
    }

    /// Every guillotine cut at every whole place.
    fn brute(w: u32, h: u32, (a, b): (u32, u32), known: &mut BTreeMap<(u32, u32), u32>) -> u32 {
        if w.min(h) < a.min(b) || w.max(h) < a.max(b) {
            return 0;
        }
        if let Some(k) = known.get(&(w, h)) {
            return *k;
        }
        let fits = u32::from((a <= w && b <= h) || (b <= w && a <= h));
        let mut best = fits;
        for x in 1..=w / 2 {
            best = best.max(brute(x, h, (a, b), known) + brute(w - x, h, (a, b), known));
        }
        for y in 1..=h / 2 {
            best = best.max(brute(w, y, (a, b), known) + brute(w, h - y, (a, b), known));
        }
        known.insert((w, h), best);
        best
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]
        #[test]
        fn no_guillotine_cut_gives_more(w in 1..36_u32, h in 1..36_u32, a in 2..12_u32, b in 2..12_u32) {
            let mut known = BTreeMap::new();
            let want = brute(w, h, (a, b), &mut known);
            // Tenths of a millimetre, so that the numbers are the same.
            let mm = |v: u32| f64::from(v) / 10.0;
            prop_assert_eq!(sheets((mm(w), mm(h)), (mm(a), mm(b))), want);
        }
    }
}
