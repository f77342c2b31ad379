//! Small pictures of editions and colourways, made beside the window: one named thread that takes the latest
//! wish, drops what was overtaken, and can be stopped at any picture.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::mpsc::{Receiver, channel};

use slipsheet_document::edition::{Colours, Edition};
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::colourway::{self, Choice, Explored};
use slipsheet_render::{Picture, Scene, Show, View};

use crate::slot::Slot;
use crate::snapshot::Snapshot;

/// What is wanted.
#[derive(Debug, Clone)]
pub enum Wanted {
    /// The project as it is, then these editions of it.
    Editions(Vec<Edition>),
    /// The colourways of a choice, and a picture of each.
    Colourways(Box<Choice>),
}

/// What has come.
#[derive(Debug)]
pub enum Preview {
    /// The colourways, or why there are none.
    Explored(Result<Explored, String>),
    /// The picture of one, counted from 0.
    Painted(usize, Picture),
    /// No more will come.
    Finished,
}

/// A wish with its number.
struct Order {
    number: u64,
    snapshot: Snapshot,
    wanted: Wanted,
    pixels: f64,
}

/// The thread that paints previews.
pub struct Previews {
    orders: Arc<Slot<Order>>,
    ready: Receiver<(u64, Preview)>,
    per_mille: Arc<AtomicU32>,
    next: u64,
    /// Number of the wish that is wanted now.
    wanted: Option<u64>,
    busy: bool,
}

impl Previews {
    /// Starts the thread; `wake` is called from it when something is ready.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub fn start(wake: impl Fn() + Send + 'static) -> std::io::Result<Self> {
        let orders: Arc<Slot<Order>> = Slot::new();
        let (sender, ready) = channel();
        let per_mille = Arc::new(AtomicU32::new(0));
        let (slot, theirs) = (Arc::clone(&orders), Arc::clone(&per_mille));
        std::thread::Builder::new().name("previews".to_owned()).spawn(move || {
            while let Some(order) = slot.take() {
                let done = order.paint(&|| !slot.is_overtaken(), &theirs, &|preview| {
                    let sent = sender.send((order.number, preview)).is_ok();
                    wake();
                    sent
                });
                if !done {
                    return;
                }
            }
        })?;
        Ok(Self { orders, ready, per_mille, next: 1, wanted: None, busy: false })
    }

    /// Asks for pictures of `pixels` along the sheet's longer side; an earlier wish is dropped.
    pub fn order(&mut self, snapshot: Snapshot, wanted: Wanted, pixels: f64) {
        let number = self.next;
        self.next += 1;
        self.per_mille.store(0, Ordering::Relaxed);
        (self.wanted, self.busy) = (Some(number), true);
        self.orders.put(Order { number, snapshot, wanted, pixels });
    }

    /// Drops the present wish; what has come of it stays.
    pub fn stop(&mut self) {
        self.orders.withdraw();
        (self.wanted, self.busy) = (None, false);
    }

    /// What has come of the present wish since the last call.
    pub fn poll(&mut self) -> Vec<Preview> {
        let wanted = |number: u64| self.wanted == Some(number);
        let come: Vec<Preview> =
            self.ready.try_iter().filter(|(number, _)| wanted(*number)).map(|(_, p)| p).collect();
        if come.iter().any(|p| matches!(p, Preview::Finished)) {
            self.busy = false;
        }
        come
    }

    /// Whether more will come.
    pub fn is_busy(&self) -> bool {
        self.busy
    }

    /// The part done, 0..=1.
    pub fn fraction(&self) -> f32 {
        self.per_mille.load(Ordering::Relaxed) as f32 / 1000.0
    }
}

impl Drop for Previews {
    fn drop(&mut self) {
        self.orders.close();
    }
}

impl Order {
    /// Does the work for as long as it is wanted; whether anyone still listens.
    fn paint(
        &self,
        wanted: &(dyn Fn() -> bool + Sync),
        per_mille: &AtomicU32,
        send: &dyn Fn(Preview) -> bool,
    ) -> bool {
        let told = |share: f64| {
            per_mille.store((share.clamp(0.0, 1.0) * 1000.0) as u32, Ordering::Relaxed);
        };
        let printing = &self.snapshot.printing;
        let editions: Vec<Option<Colours>> = match &self.wanted {
            Wanted::Editions(editions) => {
                std::iter::once(None).chain(editions.iter().map(|e| Some(e.colours.clone()))).collect()
            }
            Wanted::Colourways(choice) => {
                let explored = colourway::explore(printing, choice, &|share| {
                    told(share * 0.3);
                    wanted()
                });
                let editions = match &explored {
                    Ok(found) => found.ways.iter().map(|w| Some(w.colours.clone())).collect(),
                    Err(_) => Vec::new(),
                };
                if !send(Preview::Explored(explored.map_err(|e| e.to_string()))) {
                    return false;
                }
                editions
            }
        };
        for (i, edition) in editions.iter().enumerate() {
            if !wanted() {
                return true;
            }
            let shown = edition.as_ref().map(|e| printing.in_colours(e));
            if let Some(picture) = self.picture(shown.as_ref().unwrap_or(printing))
                && !send(Preview::Painted(i, picture))
            {
                return false;
            }
            told(0.3 + 0.7 * (i + 1) as f64 / editions.len() as f64);
        }
        send(Preview::Finished)
    }

    fn picture(&self, printing: &Printing) -> Option<Picture> {
        let face = if printing.sheet.on(Face::Front).next().is_some() { Face::Front } else { Face::Back };
        let show = Show::meant(face);
        let scene = Scene::new(printing, &self.snapshot.images, show).ok()?;
        let sheet = scene.sheet();
        Some(scene.render(&View::sheet(sheet, sheet.dpi_for(self.pixels))))
    }
}
