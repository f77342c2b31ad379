//! The passes of a job that print something, and what is printed on which side of a sheet.

use serde::{Deserialize, Serialize};

use slipsheet_document::layer::Layer;
use slipsheet_document::passes;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;

/// One passage of a stack through the press.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PressPass {
    /// The sheet of a booklet, from 0.
    pub sheet: usize,
    pub face: Face,
    /// Layers by their index in the project of that sheet ([`Printing::number`]), one a drum, in printing order.
    pub layers: Vec<usize>,
    pub inks: Vec<String>,
}

/// The passes of a job, front before back, in printing order; hidden layers are not printed, and on a sheet of a
/// booklet what has no artwork there needs no master.
///
/// Of a booklet the same inks print on sheet after sheet, so that drums are changed as seldom as can be.
pub fn press_passes(printing: &Printing) -> Vec<PressPass> {
    let ones: Vec<_> = (0..printing.sheet.printed_sheets()).map(|sheet| printing.number(sheet)).collect();
    let mut all = Vec::new();
    for (sheet, one) in ones.iter().enumerate() {
        for face in Face::BOTH {
            for layers in passes::passes(one, face) {
                let printed = layers.iter().filter_map(|i| Some((*i, one.sheet.layers.get(*i)?)));
                let printed = printed.filter(|(_, l)| is_printed(printing, l));
                let (layers, inks): (Vec<usize>, Vec<String>) =
                    printed.map(|(i, l)| (i, l.ink.name.clone())).unzip();
                if !layers.is_empty() {
                    all.push(PressPass { sheet, face, layers, inks });
                }
            }
        }
    }
    if ones.len() > 1 {
        let rank = |pass: &PressPass| {
            let (one, layer) = (ones.get(pass.sheet)?, pass.layers.first()?);
            printing.sheet.position(one.sheet.layers.get(*layer)?.id)
        };
        all.sort_by_cached_key(|pass| (pass.face, rank(pass), pass.layers.len()));
    }
    all
}

/// Whether a layer of a sheet ([`Printing::number`]) needs a master: it is shown, and on a sheet of a booklet has
/// artwork there.
pub fn is_printed(printing: &Printing, layer: &Layer) -> bool {
    layer.visible && (printing.sheet.booklet.is_none() || !layer.art.is_empty())
}

/// The sides that something is printed on, sheet by sheet, front before back.
pub fn printed_sides(printing: &Printing) -> Vec<(usize, Face)> {
    let sides = |sheet| {
        let one = printing.number(sheet);
        let printed = |face: &Face| one.sheet.on(*face).any(|(_, l)| is_printed(printing, l));
        Face::BOTH.into_iter().filter(printed).map(move |f| (sheet, f)).collect::<Vec<_>>()
    };
    (0..printing.sheet.printed_sheets()).flat_map(sides).collect()
}

/// The layers of a sheet (from 0; by their index in [`Printing::number`]) in the order in which its plates are
/// counted: plates, ticket and proof all count the inks of a sheet so, front before back.
pub fn plate_order(printing: &Printing, sheet: usize) -> Vec<usize> {
    press_passes(printing).into_iter().filter(|p| p.sheet == sheet).flat_map(|p| p.layers).collect()
}
