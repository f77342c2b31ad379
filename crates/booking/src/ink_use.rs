//! How much ink a job takes: coverage times area times what lies on a square metre of a solid.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::schedule::{is_printed, printed_sides};
use slipsheet_core::units::Size;
use slipsheet_document::printing::Printing;
use slipsheet_document::terms::PriceList;
use slipsheet_render::images::Images;
use slipsheet_render::{Scene, Show, View};

/// One layer's ink on one sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct InkUse {
    /// The sheet of a booklet, from 0.
    #[serde(default)]
    pub sheet: usize,
    /// Layer, by its index in the project of that sheet ([`Printing::number`]).
    pub layer: usize,
    pub ink: String,
    /// Mean effective coverage of the sheet, 0..=1.
    pub coverage: f64,
    /// Grams on one sheet.
    pub grams: f64,
}

/// The ink that a copy takes, sheet by sheet and layer by layer in printing order; hidden layers are left out, and
/// on a sheet of a booklet those without artwork there.
pub fn ink_use(printing: &Printing, images: &Images) -> Vec<InkUse> {
    let of_side = |(sheet, face)| {
        let one = printing.number(sheet);
        let show = Show::meant(face);
        let Ok(scene) = Scene::new(&one, images, show) else { return Vec::new() };
        let of_layer = |(layer, l): (usize, &slipsheet_document::layer::Layer)| {
            let (ink, coverage) = (l.ink.name.clone(), scene.coverage(layer));
            let grams = grams(coverage, printing.sheet.size(), &printing.job.prices, &ink);
            InkUse { sheet, layer, ink, coverage, grams }
        };
        one.sheet.on(face).filter(|(_, l)| is_printed(printing, l)).map(of_layer).collect::<Vec<_>>()
    };
    printed_sides(printing).into_par_iter().flat_map_iter(of_side).collect()
}

/// The same coverage in the inks and by the terms of this printing, such as an edition of the one that was measured.
///
/// What a tone gains differs a little between inks; that is left out, for no picture is drawn.
pub fn weighed(uses: &[InkUse], printing: &Printing) -> Vec<InkUse> {
    let (size, prices) = (printing.sheet.size(), &printing.job.prices);
    let of = |u: &InkUse| {
        let one = printing.number(u.sheet);
        let ink = one.sheet.layers.get(u.layer).map_or_else(|| u.ink.clone(), |l| l.ink.name.clone());
        InkUse { grams: grams(u.coverage, size, prices, &ink), ink, ..u.clone() }
    };
    uses.iter().map(of).collect()
}

/// How much of the sides that are printed lies under any ink, 0..=1; none where nothing is printed.
///
/// Dots of several inks lie over one another by chance (Demichel), as the print is mixed: what all of them leave
/// bare is the product of what each leaves.
pub fn covered(printing: &Printing, images: &Images) -> Option<f64> {
    let of_side = |(sheet, face)| {
        let one = printing.number(sheet);
        let scene = Scene::new(&one, images, Show::meant(face)).ok()?;
        let size = one.sheet.size();
        let view = View::sheet(size, size.dpi_for(LONGEST));
        let mut bare = Vec::new();
        for (layer, _) in one.sheet.on(face).filter(|(_, l)| is_printed(printing, l)) {
            let (plate, table) = (scene.plate(layer, &view)?, scene.coverage_of_grays(layer)?);
            bare.resize(plate.pixels().len(), 1.0);
            for (left, gray) in bare.iter_mut().zip(plate.pixels()) {
                *left *= 1.0 - table[usize::from(*gray)];
            }
        }
        let left: f64 = bare.iter().map(|b| f64::from(*b)).sum();
        (!bare.is_empty()).then(|| 1.0 - left / bare.len() as f64)
    };
    let sides: Vec<f64> = printed_sides(printing).into_par_iter().filter_map(of_side).collect();
    (!sides.is_empty()).then(|| sides.iter().sum::<f64>() / sides.len() as f64)
}

/// Pixels along the longer side of the picture that coverage is counted on.
const LONGEST: f64 = 400.0;

/// Grams of an ink on one sheet.
pub fn grams(coverage: f64, sheet: Size, prices: &PriceList, ink: &str) -> f64 {
    let square_metres = sheet.width.get() * sheet.height.get() / 1e6;
    coverage * square_metres * prices.lay_down_of(ink)
}

pub(crate) fn total_grams(inks: &[InkUse]) -> f64 {
    // Not by `sum`, whose nothing is -0 and would be written so.
    inks.iter().fold(0.0, |all, ink| all + ink.grams)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_ink_weighs_plainly_nothing() {
        assert_eq!(format!("{:.0}", total_grams(&[])), "0");
        let bare = InkUse { sheet: 0, layer: 0, ink: String::new(), coverage: 0.0, grams: 0.0 };
        assert_eq!(format!("{:.0}", total_grams(&[bare.clone(), InkUse { grams: 1.4, ..bare }])), "1");
    }

    #[test]
    fn a_solid_sheet_takes_what_one_works_out_by_hand() {
        // A4 is 0.210 x 0.297 m = 0.06237 m2; a solid at 6 g/m2 takes 0.37422 g, so 100 sheets take 37.4 g.
        let prices = PriceList::default();
        let solid = grams(1.0, Size::mm(210.0, 297.0), &prices, "Hip-berry red");
        assert!((solid - 0.374_22).abs() < 1e-9 && (100.0 * solid - 37.422).abs() < 1e-9);
        let heavy = PriceList {
            lay_downs: vec![("Hip-berry red".to_owned(), slipsheet_document::terms::LayDown::new(9.0))],
            ..PriceList::default()
        };
        assert!((grams(0.5, Size::mm(210.0, 297.0), &heavy, "Hip-berry red") - 0.280_665).abs() < 1e-9);
    }
    #[test]
    fn what_was_measured_is_weighed_in_the_inks_of_an_edition() {
        let shelf = slipsheet_document::shelf::Shelf::starter().unwrap();
        let mut printing =
            Printing::new("p", slipsheet_core::units::SheetFormat::A4, shelf.stocks[0].clone());
        let id = slipsheet_document::ids::LayerId::new(0);
        printing.sheet.layers.push(slipsheet_document::layer::Layer::new(id, "sea", shelf.inks[1].clone()));
        let heavy = (shelf.inks[1].name.clone(), slipsheet_document::terms::LayDown::new(12.0));
        printing.job.prices.lay_downs = vec![heavy];
        let measured = InkUse { sheet: 0, layer: 0, ink: "another".to_owned(), coverage: 0.5, grams: 9.0 };
        let [fresh] = &weighed(&[measured], &printing)[..] else { panic!() };
        // Half an A4 of a solid at 12 g/m2.
        assert!((fresh.grams - 0.374_22).abs() < 1e-9 && fresh.ink == shelf.inks[1].name);
    }
}
