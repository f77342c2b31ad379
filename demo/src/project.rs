//! The demo's project: the three originals with an ink each, on the stock they were drawn for.

use std::path::{Path, PathBuf};

use anyhow::Context as _;
use slipsheet_core::fold::{self, Face};
use slipsheet_core::layer::{Art, Layer, Placement, Slip, Target};
use slipsheet_core::project::Project;
use slipsheet_core::shelf::Shelf;
use slipsheet_core::units::SheetFormat;
use slipsheet_files::{Progress, ScanOptions, store};

/// Layers in printing order, light to dark: name, ending of the original's file name, ink.
const LAYERS: [(&str, &str, &str); 3] = [
    ("Sea wash", "sea", "Pool green-blue"),
    ("Weed crayon", "weed", "Rosehip"),
    ("Type and line", "ink", "Bottled-ink blue"),
];

/// Writes `tidewrack.slipsheet` beside the originals in a folder.
pub fn write(folder: &Path) -> anyhow::Result<PathBuf> {
    let path = folder.join("tidewrack.slipsheet");
    let shelf = Shelf::starter()?;
    let stock = shelf.stock("Pale green-gray").context("the starter shelf has lost the demo's stock")?;
    let mut project = Project::new("Tidewrack (demo, invented)", SheetFormat::Letter, stock.clone());
    project.fold = fold::find("slit8");
    for (name, file, ink) in LAYERS {
        let scan = folder.join(format!("tidewrack-{file}.png"));
        let added = store::add_scan(Some(&path), &scan, &ScanOptions::default(), None, &Progress::new())?;
        let art =
            Art { scan: added.scan, target: Target::Sheet, placement: Placement::default(), crop: None };
        let ink = shelf.ink(ink).with_context(|| format!("the starter shelf has lost {ink}"))?.clone();
        project.layers.push(Layer {
            name: name.to_owned(),
            ink,
            face: Face::Front,
            art: vec![art],
            slip: Slip::default(),
            visible: true,
            reading: Default::default(),
            with_previous: false,
            remedies: vec![],
        });
    }
    store::save(&project, &path)?;
    Ok(path)
}
