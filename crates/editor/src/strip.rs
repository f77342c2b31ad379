//! The contact strip: one crop of a layer in several readings side by side. The
//! pictures come first; the figures, which look at the whole layer, follow one by one.

use slipsheet_core::reading::Reading;
use slipsheet_document::printing::Printing;
use slipsheet_files::logged;
use slipsheet_render::{Picture, Scene, Show, View};

use crate::live::Prints;
use crate::snapshot::Snapshot;
use crate::worker::{Order, Turn};

#[derive(Debug, Clone, PartialEq)]
pub struct StripOrder {
    /// The layer, by its index in the project.
    pub layer: usize,
    /// The readings, left to right.
    pub readings: Vec<Reading>,
    /// The crop: a window onto the layer's face.
    pub view: View,
}

/// What a layer in a reading comes to over the whole sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StripFigures {
    /// Mean effective coverage over the sheet, 0..=1.
    pub coverage: f64,
    /// Share of what is drawn that is too light to print, 0..=1.
    pub vanishes: f64,
    /// Share of what is drawn that fills in, 0..=1.
    pub clogs: f64,
}

/// What comes back from the thread.
#[derive(Debug, Clone)]
pub enum StripNews {
    /// The crops, one for each reading of the order: the layer alone, in its ink on the stock, as it is meant to
    /// lie.
    Pictures { order: StripOrder, pictures: Vec<Picture> },
    /// The figures of one reading.
    Figures { layer: usize, reading: Reading, figures: StripFigures },
}

impl Order for StripOrder {
    type Reply = StripNews;
    type Kept = Prints;
    const WORK: &'static str = "Drawing the readings";

    fn work(self, from: &Snapshot, known: &mut Prints, turn: &Turn<'_, StripNews>) {
        let pictures = self.readings.iter().map(|r| crop(from, &self, *r)).collect();
        let (layer, readings) = (self.layer, self.readings.clone());
        turn.reply(StripNews::Pictures { order: self, pictures });
        for reading in readings {
            if turn.is_overtaken() {
                return;
            }
            let Some(printing) = with_reading(&from.printing, layer, reading) else { continue };
            if let Some(print) = known.of(&printing, &from.images, layer) {
                let (coverage, check) = (print.coverage, &print.check);
                let figures = StripFigures { coverage, vanishes: check.vanishes, clogs: check.clogs };
                turn.reply(StripNews::Figures { layer, reading, figures });
            }
        }
    }
}

/// The project with the layer read another way; `None` where there is no such layer.
fn with_reading(printing: &Printing, layer: usize, reading: Reading) -> Option<Printing> {
    let mut printing = printing.clone();
    printing.sheet.layers.get_mut(layer)?.reading = reading;
    Some(printing)
}

fn crop(snapshot: &Snapshot, order: &StripOrder, reading: Reading) -> Picture {
    let drawn = || {
        let printing = with_reading(&snapshot.printing, order.layer, reading)?;
        let face = printing.sheet.layers.get(order.layer)?.face;
        let show = Show { solo: Some(order.layer), dots: true, ..Show::meant(face) };
        let scene = Scene::quick(&printing, &snapshot.images, show, &order.view, order.layer);
        let scene = logged("a reading", scene)?;
        Some(scene.render(&order.view))
    };
    drawn().unwrap_or_default()
}
