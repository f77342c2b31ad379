//! The demo's project: the three originals with an ink each, on the stock they were drawn for.

use std::path::{Path, PathBuf};

use anyhow::Context as _;
use slipsheet_core::press::{Press, Spread};
use slipsheet_core::units::SheetFormat;
use slipsheet_document::layer::{Art, Layer, Target};
use slipsheet_document::project::Project;
use slipsheet_document::shelf::Shelf;
use slipsheet_document::terms::{Hand, JobTerms, Minutes, Money, PriceList};
use slipsheet_files::{Progress, ScanOptions, store};
use slipsheet_paper::fold::{self, Face};

/// Layers in printing order, light to dark: name, ending of the original's file name, ink.
const LAYERS: [(&str, &str, &str); 3] = [
    ("Sea wash", "sea", "Pool green-blue"),
    ("Weed crayon", "weed", "Hip-berry red"),
    ("Type and line", "ink", "Ink-bottle blue"),
];

/// Writes `tidewrack.slipsheet` beside the originals in a folder.
pub fn write(folder: &Path) -> anyhow::Result<PathBuf> {
    let path = folder.join("tidewrack.slipsheet");
    let shelf = Shelf::starter()?;
    let stock = shelf.stock("Pale green-gray").context("the starter shelf has lost the demo's stock")?;
    let mut project = Project::new("Tidewrack (demo, invented)", SheetFormat::Letter, stock.clone());
    project.main.fold = fold::find("slit8");
    project.job = terms();
    project.press = press();
    for (name, file, ink) in LAYERS {
        let scan = folder.join(format!("tidewrack-{file}.png"));
        let added = store::add_scan(Some(&path), &scan, &ScanOptions::default(), None, &Progress::new())?;
        let art = Art::new(project.ids.art(), added.scan, Target::Sheet);
        let ink = shelf.ink(ink).with_context(|| format!("the starter shelf has lost {ink}"))?.clone();
        let layer = Layer { art: vec![art], ..Layer::new(project.ids.layer(), name, ink) };
        project.main.layers.push(layer);
    }
    // The lightest ink prints first and alone, the two dark ones together. Sea and weed kiss across the passes, which is
    // what proposals have to do with.
    let ids: Vec<_> = project.main.layers.iter().map(|l| l.id).collect();
    if let [sea, weed, ink] = ids[..] {
        project.main.arrange(Face::Front, &[vec![sea], vec![weed, ink]]);
    }
    store::save(&project, &path)?;
    Ok(path)
}

/// The press of the invented shop: one that is looked after, so that it scatters less than is usual.
fn press() -> Press {
    Press {
        name: "Demo shop's duplicator (invented)".to_owned(),
        within_pass: Spread::of(0.08, 0.12, 0.02, 0.02),
        between_passes: Spread::of(0.12, 0.2, 0.03, 0.02),
        ..Press::default()
    }
}

/// Invented terms of an invented shop, so that the Booking view has something to show.
fn terms() -> JobTerms {
    let prices = PriceList {
        name: "Invented prices (demo)".to_owned(),
        currency: "demo coins".to_owned(),
        master: Money::new(2.5),
        impression: Money::new(0.01),
        sheet: Money::new(0.04),
        set_up: Money::new(0.5),
        drum_change: Money::new(1.5),
        machine_hour: Money::new(12.0),
        hand_hour: Money::new(9.0),
        ink_kilogram: Money::new(40.0),
        wrap_sheet: Money::new(0.18),
        // The minutes at the machine are those that every new job begins with.
        ..PriceList::default()
    };
    JobTerms {
        copies: 100,
        overs: 44,
        prices,
        slot: Minutes::new(120.0),
        selling_price: Money::new(4.0),
        good_copies: 100,
        hand: Hand {
            fold: Minutes::new(0.6),
            slit: Minutes::new(0.2),
            trim: Minutes::new(0.3),
            ..Hand::default()
        },
        packing: "in twenties, banded with waste strips".to_owned(),
        ..JobTerms::default()
    }
}
