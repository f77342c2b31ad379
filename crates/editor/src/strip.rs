//! The contact strip: one crop of a layer in several readings side by side, drawn on a thread of its own. The
//! pictures come first; the figures, which look at the whole layer, follow one by one.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};

use slipsheet_core::reading::Reading;
use slipsheet_document::printing::Printing;
use slipsheet_render::{Picture, Scene, Show, View};

use crate::live::{FacePrint, FigureKey};
use crate::slot::Slot;
use crate::snapshot::Snapshot;

/// What is to be drawn.
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
    Pictures {
        /// What was asked for.
        order: StripOrder,
        /// The session's revision that they show.
        revision: u64,
        /// One for each reading.
        pictures: Vec<Picture>,
    },
    /// The figures of one reading.
    Figures {
        /// The layer.
        layer: usize,
        /// The session's revision.
        revision: u64,
        /// Which reading.
        reading: Reading,
        /// The figures.
        figures: StripFigures,
    },
}

/// How many readings' figures are remembered.
const KNOWN: usize = 64;

type Wish = (Snapshot, StripOrder);

/// The thread that draws the strip.
pub struct Strip {
    orders: Arc<Slot<Wish>>,
    news: Receiver<StripNews>,
}

impl Strip {
    /// Starts the thread; `wake` is called from it when something is ready.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub fn start(wake: impl Fn() + Send + 'static) -> std::io::Result<Self> {
        let orders: Arc<Slot<Wish>> = Slot::new();
        let (sender, news) = channel();
        let slot = Arc::clone(&orders);
        std::thread::Builder::new().name("contact strip".to_owned()).spawn(move || {
            let mut known = Vec::new();
            while let Some((snapshot, order)) = slot.take() {
                if !work(&snapshot, order, &slot, &mut known, &sender, &wake) {
                    return;
                }
            }
        })?;
        Ok(Self { orders, news })
    }

    /// Asks for pictures and figures; what was asked for before and not begun is dropped.
    pub fn order(&self, snapshot: Snapshot, order: StripOrder) {
        self.orders.put((snapshot, order));
    }

    /// What came since the last call.
    pub fn news(&self) -> Vec<StripNews> {
        self.news.try_iter().collect()
    }
}

impl Drop for Strip {
    fn drop(&mut self) {
        self.orders.close();
    }
}

/// Does one order, until it is overtaken; whether anybody still listens.
fn work(
    snapshot: &Snapshot,
    order: StripOrder,
    slot: &Slot<Wish>,
    known: &mut Vec<(FigureKey, StripFigures)>,
    sender: &Sender<StripNews>,
    wake: &impl Fn(),
) -> bool {
    let revision = snapshot.revision;
    let pictures = order.readings.iter().map(|r| crop(snapshot, &order, *r)).collect();
    let (layer, readings) = (order.layer, order.readings.clone());
    if sender.send(StripNews::Pictures { order, revision, pictures }).is_err() {
        return false;
    }
    wake();
    for reading in readings {
        if slot.is_overtaken() {
            return true;
        }
        let Some(figures) = figures(snapshot, layer, reading, known) else { continue };
        if sender.send(StripNews::Figures { layer, revision, reading, figures }).is_err() {
            return false;
        }
        wake();
    }
    true
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
        let scene = Scene::quick(&printing, &snapshot.images, show, &order.view, order.layer).ok()?;
        Some(scene.render(&order.view))
    };
    drawn().unwrap_or_default()
}

fn figures(
    snapshot: &Snapshot,
    layer: usize,
    reading: Reading,
    known: &mut Vec<(FigureKey, StripFigures)>,
) -> Option<StripFigures> {
    let printing = with_reading(&snapshot.printing, layer, reading)?;
    let key = FigureKey::of(&printing, &snapshot.images, printing.sheet.layers.get(layer)?);
    if let Some((_, figures)) = known.iter().find(|(k, _)| *k == key) {
        return Some(*figures);
    }
    let print = FacePrint::of(&printing, &snapshot.images, layer)?;
    let check = &print.check;
    let figures = StripFigures { coverage: print.coverage, vanishes: check.vanishes, clogs: check.clogs };
    known.push((key, figures));
    if known.len() > KNOWN {
        known.remove(0);
    }
    Some(figures)
}
