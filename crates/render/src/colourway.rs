//! Colourways: every way to give a project's layers inks from a choice, on a choice of stocks, with two
//! figures to sort them by.
//!
//! Layers that share an ink now share one in every colourway; two different inks stay different. *Contrast*
//! is that of type against the ground: the contrast ratio `(Y1 + 0.05) / (Y2 + 0.05)` of WCAG 2.1 (W3C,
//! "contrast ratio"), with Y the luminance, relative to a perfect white, of the bare stock and of the type's
//! ink on it. *Distance* is the least CIEDE2000 difference between any two of the paper, the single inks and
//! the overprints of two inks of one face: where it is small, two things of the print look alike.

use rayon::prelude::*;

use slipsheet_core::colour::Lab;
use slipsheet_core::ink::Ink;
use slipsheet_core::overprint::Overprint;
use slipsheet_core::stock::Stock;
use slipsheet_document::edition::Colours;
use slipsheet_document::layer::Layer;
use slipsheet_document::printing::Printing;
use slipsheet_document::sheet::Sheet;

/// The most inks that can be chosen from.
pub const MAX_CHOSEN: usize = 8;
/// The most colourways whose contrast is looked at; more than eight inks on a dozen stocks give.
const MAX_COUNTED: usize = 600_000;
/// The most whose distance is worked out, taken by contrast.
const MAX_WEIGHED: usize = 4_000;

/// What colourways are sorted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Order {
    /// Contrast of the type, highest first.
    #[default]
    Contrast,
    /// Distance between colours, largest first.
    Distance,
}

/// What is explored.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Inks to choose from, at most [`MAX_CHOSEN`].
    pub inks: Vec<Ink>,
    pub stocks: Vec<Stock>,
    /// The layer that carries the type, by its index.
    pub type_layer: usize,
    /// Which colourways come first.
    pub order: Order,
    /// How many are handed back.
    pub limit: usize,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Colourway {
    /// A name that says its inks and its stock.
    pub name: String,
    /// The stock and the layers' inks, ready to be used.
    pub colours: Colours,
    /// Contrast of type against the ground, 1 and up.
    pub contrast: f64,
    /// Least difference between two colours of the print, CIEDE2000.
    pub distance: f64,
}

/// What an exploration found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Explored {
    pub total: usize,
    /// How many of them, by contrast, had their distance worked out.
    pub weighed: usize,
    /// The first of them, in the order asked for.
    pub ways: Vec<Colourway>,
}

/// Why nothing can be explored.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ColourwayError {
    #[error("there are no layers to colour yet; add scans first")]
    NoLayers,
    #[error("the layers need {needed} different inks; tick at least as many")]
    TooFewInks { needed: usize },
    #[error("{0} inks are ticked; {MAX_CHOSEN} are the most that can be tried together")]
    TooManyInks(usize),
    #[error("tick at least one stock")]
    NoStock,
    #[error("that makes {0} colourways, too many to look at; tick fewer inks or stocks")]
    TooMany(usize),
    #[error("stopped")]
    Stopped,
}

/// The layer whose ink is darkest on the project's stock: most often the one that carries the type.
pub fn darkest_layer(printing: &Printing) -> Option<usize> {
    let dark = |l: &Layer| luminance(&printing.sheet.stock, Some(&l.ink));
    let layers = printing.sheet.layers.iter().enumerate();
    layers.min_by(|a, b| dark(a.1).total_cmp(&dark(b.1))).map(|(i, _)| i)
}

/// The WCAG 2.1 contrast ratio of two luminances.
fn contrast_ratio(a: f64, b: f64) -> f64 {
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// The distinct inks of the layers: for each layer the number of its slot, and how many slots there are.
fn slots(printing: &Printing) -> (Vec<usize>, usize) {
    let mut names: Vec<&str> = Vec::new();
    let mut slots = Vec::new();
    for layer in &printing.sheet.layers {
        let known = names.iter().position(|n| *n == layer.ink.name);
        slots.push(known.unwrap_or(names.len()));
        if known.is_none() {
            names.push(&layer.ink.name);
        }
    }
    (slots, names.len())
}

/// How many colourways a choice has, or why it has none.
pub fn count(printing: &Printing, choice: &Choice) -> Result<usize, ColourwayError> {
    let (_, needed) = slots(printing);
    let given = choice.inks.len();
    if needed == 0 {
        return Err(ColourwayError::NoLayers);
    }
    if given > MAX_CHOSEN {
        return Err(ColourwayError::TooManyInks(given));
    }
    if given < needed {
        return Err(ColourwayError::TooFewInks { needed });
    }
    if choice.stocks.is_empty() {
        return Err(ColourwayError::NoStock);
    }
    let ways: usize = (0..needed).map(|i| given - i).product();
    let total = ways.saturating_mul(choice.stocks.len());
    if total > MAX_COUNTED { Err(ColourwayError::TooMany(total)) } else { Ok(total) }
}

/// Looks at every colourway of a choice. `go_on` is told the share done and says whether to go on.
///
/// # Errors
/// When the choice has no colourways, or `go_on` said no.
pub fn explore(
    printing: &Printing,
    choice: &Choice,
    go_on: &(dyn Fn(f64) -> bool + Sync),
) -> Result<Explored, ColourwayError> {
    let total = count(printing, choice)?;
    let (slots, needed) = slots(printing);
    let type_slot = slots.get(choice.type_layer).copied().unwrap_or(0);
    let mut all: Vec<(f64, usize, Vec<u8>)> = Vec::with_capacity(total);
    let mut pick = Vec::with_capacity(needed);
    for (s, stock) in choice.stocks.iter().enumerate() {
        let ground = luminance(stock, None);
        let contrast: Vec<f64> =
            choice.inks.iter().map(|ink| contrast_ratio(ground, luminance(stock, Some(ink)))).collect();
        permutations(choice.inks.len(), needed, &mut pick, &mut |pick| {
            let of_type = pick.get(type_slot).and_then(|i| contrast.get(usize::from(*i)));
            all.push((of_type.copied().unwrap_or(1.0), s, pick.to_vec()));
        });
    }
    // Stable, so that equal contrasts keep the order of the shelf.
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    let weighed = match choice.order {
        Order::Contrast => choice.limit.min(all.len()),
        Order::Distance => MAX_WEIGHED.min(all.len()),
    };
    all.truncate(weighed);
    let mut ways = Vec::with_capacity(weighed);
    for chunk in all.chunks(64) {
        if !go_on(ways.len() as f64 / weighed.max(1) as f64) {
            return Err(ColourwayError::Stopped);
        }
        let made = chunk.par_iter().filter_map(|(contrast, s, pick)| {
            let stock = choice.stocks.get(*s)?;
            let mut coloured = printing.clone();
            coloured.sheet.stock = stock.clone();
            for (layer, slot) in coloured.sheet.layers.iter_mut().zip(&slots) {
                layer.ink = choice.inks.get(usize::from(*pick.get(*slot)?))?.clone();
            }
            let distance = distance(&coloured);
            let colours = coloured.sheet.colours();
            Some(Colourway { name: name(&coloured.sheet), colours, contrast: *contrast, distance })
        });
        ways.par_extend(made);
    }
    match choice.order {
        Order::Contrast => {
            ways.sort_by(|a, b| b.contrast.total_cmp(&a.contrast).then(b.distance.total_cmp(&a.distance)))
        }
        Order::Distance => {
            ways.sort_by(|a, b| b.distance.total_cmp(&a.distance).then(b.contrast.total_cmp(&a.contrast)))
        }
    }
    ways.truncate(choice.limit);
    Ok(Explored { total, weighed, ways })
}

/// "Deep blue and Hip-berry red on Pale cream".
fn name(sheet: &Sheet) -> String {
    let inks = match sheet.ink_names().split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        Some((last, _)) => (*last).to_owned(),
        None => String::new(),
    };
    format!("{inks} on {}", sheet.stock.name)
}

/// Luminance of an ink's solid on a stock, or of the bare stock; a perfect white has 1.
fn luminance(stock: &Stock, ink: Option<&Ink>) -> f64 {
    let inks: Vec<&Ink> = ink.into_iter().collect();
    let Ok(model) = Overprint::of(stock, &inks, &[]) else { return stock.colour.lab().xyz().y };
    model.primary((1 << inks.len()) - 1).y
}

/// The least difference between two colours of a print: paper, single inks, overprints of two.
pub fn distance(printing: &Printing) -> f64 {
    use slipsheet_paper::fold::Face;
    let mut least = f64::INFINITY;
    for face in Face::BOTH {
        let mut inks: Vec<&Ink> = Vec::new();
        for (_, layer) in printing.sheet.on(face) {
            if !inks.iter().any(|i| i.name == layer.ink.name) {
                inks.push(&layer.ink);
            }
        }
        let Ok(model) = Overprint::of(&printing.sheet.stock, &inks, &printing.overprints) else { continue };
        let colours: Vec<Lab> = (0..1_usize << inks.len())
            .filter(|mask| mask.count_ones() <= 2)
            .map(|mask| model.primary(mask).lab())
            .collect();
        for (i, a) in colours.iter().enumerate() {
            for b in colours.iter().skip(i + 1) {
                least = least.min(a.ciede2000(*b));
            }
        }
    }
    if least.is_finite() { least } else { 0.0 }
}

/// Every way to take `needed` of `given` things in order.
fn permutations(given: usize, needed: usize, pick: &mut Vec<u8>, each: &mut dyn FnMut(&[u8])) {
    if pick.len() == needed {
        return each(pick);
    }
    for i in 0..given as u8 {
        if !pick.contains(&i) {
            pick.push(i);
            permutations(given, needed, pick, each);
            pick.pop();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use slipsheet_core::units::SheetFormat;
    use slipsheet_document::ids::LayerId;
    use slipsheet_document::shelf::Shelf;

    fn printing(inks: &[&Ink]) -> Printing {
        let stock = Shelf::starter().unwrap().stocks[0].clone();
        let mut p = Printing::new("Invented", SheetFormat::A4, stock);
        for (i, ink) in inks.iter().enumerate() {
            p.sheet.layers.push(Layer::new(LayerId::new(i as u32), format!("layer {i}"), (*ink).clone()));
        }
        p
    }

    fn choice(inks: usize, stocks: usize) -> Choice {
        let shelf = Shelf::starter().unwrap();
        Choice {
            inks: shelf.inks[..inks].to_vec(),
            stocks: shelf.stocks[..stocks].to_vec(),
            type_layer: 0,
            order: Order::Contrast,
            limit: 200,
        }
    }

    /// W3C, Web Content Accessibility Guidelines 2.1: black on white is 21 to 1, a colour on itself 1 to 1.
    #[test]
    fn contrast_is_the_published_ratio() {
        assert!((contrast_ratio(1.0, 0.0) - 21.0).abs() < 1e-12);
        assert!((contrast_ratio(0.0, 1.0) - 21.0).abs() < 1e-12);
        assert!((contrast_ratio(0.3, 0.3) - 1.0).abs() < 1e-12);
        // Understanding SC 1.4.3: #767676 on white is the darkest gray below 4.54 (4.54:1).
        let gray = slipsheet_core::colour::linear_from_srgb(f64::from(0x76) / 255.0);
        assert!((contrast_ratio(1.0, gray) - 4.54).abs() < 0.01, "{}", contrast_ratio(1.0, gray));
    }

    #[test]
    fn every_assignment_is_counted_once() {
        let shelf = Shelf::starter().unwrap();
        let i = &shelf.inks;
        let p = printing(&[&i[0], &i[1], &i[2], &i[3]]);
        assert_eq!(count(&p, &choice(8, 1)), Ok(1680));
        let three = printing(&[&i[0], &i[1], &i[2]]);
        let all = explore(&three, &choice(4, 2), &|_| true).unwrap();
        assert_eq!((all.total, all.ways.len()), (48, 48));
        let mut names: Vec<(Vec<String>, String)> = all
            .ways
            .iter()
            .map(|w| {
                let inks = w.colours.inks.values().map(|ink| ink.name.clone()).collect();
                (inks, w.colours.stock.name.clone())
            })
            .collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), 48);
    }

    #[test]
    fn layers_of_one_ink_stay_of_one_ink() {
        let shelf = Shelf::starter().unwrap();
        let p = printing(&[&shelf.inks[0], &shelf.inks[1], &shelf.inks[0]]);
        let all = explore(&p, &choice(3, 1), &|_| true).unwrap();
        assert_eq!(all.total, 6);
        for way in all.ways {
            let inks: Vec<&Ink> = way.colours.inks.values().collect();
            assert!(inks[0] == inks[2] && inks[0] != inks[1]);
        }
    }

    #[test]
    fn the_first_have_the_most_contrast_or_the_most_distance() {
        let shelf = Shelf::starter().unwrap();
        let p = printing(&[&shelf.inks[0], &shelf.inks[1]]);
        let mut wanted = Choice { limit: 10, ..choice(6, 2) };
        let by_contrast = explore(&p, &wanted, &|_| true).unwrap();
        assert_eq!((by_contrast.total, by_contrast.ways.len()), (60, 10));
        assert!(by_contrast.ways.windows(2).all(|w| w[0].contrast >= w[1].contrast));
        wanted.order = Order::Distance;
        let by_distance = explore(&p, &wanted, &|_| true).unwrap();
        assert!(by_distance.ways.windows(2).all(|w| w[0].distance >= w[1].distance));
        // Both look at all of them, so the best of one order is at least as good as that of the other.
        assert!(by_distance.ways[0].distance >= by_contrast.ways[0].distance);
        assert!(by_contrast.ways[0].contrast >= by_distance.ways[0].contrast);
        // The figures are those of the project that would be printed.
        let shown = p.in_colours(&by_distance.ways[0].colours);
        assert!((distance(&shown) - by_distance.ways[0].distance).abs() < 1e-12);
    }

    #[test]
    fn inks_that_print_alike_have_no_distance() {
        let shelf = Shelf::starter().unwrap();
        let twin = Ink { name: "Twin".to_owned(), ..shelf.inks[0].clone() };
        assert!(distance(&printing(&[&shelf.inks[0], &twin])) < 1.0);
        assert!(distance(&printing(&[&shelf.inks[0]])) > 5.0);
    }

    #[test]
    fn what_cannot_be_explored_is_said_in_a_sentence() {
        let shelf = Shelf::starter().unwrap();
        let i = &shelf.inks;
        let p = printing(&[&i[0], &i[1]]);
        let message = |c: &Choice| count(&p, c).unwrap_err().to_string();
        assert!(message(&choice(1, 1)).contains("need 2 different inks"));
        assert!(message(&choice(9, 1)).contains("9 inks are ticked; 8"));
        assert!(message(&choice(3, 0)).contains("at least one stock"));
        assert!(matches!(count(&printing(&[]), &choice(3, 1)), Err(ColourwayError::NoLayers)));
        let eight = printing(&i[..8].iter().collect::<Vec<_>>());
        let too_many = count(&eight, &Choice { stocks: vec![shelf.stocks[0].clone(); 20], ..choice(8, 1) });
        assert_eq!(too_many, Err(ColourwayError::TooMany(806_400)));
        assert_eq!(explore(&p, &choice(3, 1), &|_| false), Err(ColourwayError::Stopped));
    }

    #[test]
    fn the_darkest_layer_is_taken_for_the_type() {
        let dark = Ink::estimated("Dark", Lab::new(15.0, 0.0, 0.0).unwrap());
        let pale = Ink::estimated("Pale", Lab::new(85.0, 0.0, 20.0).unwrap());
        assert_eq!(darkest_layer(&printing(&[&pale, &dark])), Some(1));
        assert_eq!(darkest_layer(&printing(&[])), None);
    }
}
