//! Small pictures of editions and colourways, made beside the window; they can be stopped at any picture.

use std::sync::Arc;

use slipsheet_document::edition::{Colours, Edition};
use slipsheet_document::printing::Printing;
use slipsheet_files::{Progress, logged};
use slipsheet_paper::fold::Face;
use slipsheet_render::colourway::{self, Choice, Explored};
use slipsheet_render::{Picture, Scene, Show, View};

use crate::snapshot::Snapshot;
use crate::worker::{Order, Turn};

/// What is wanted.
#[derive(Debug, Clone)]
pub enum Wanted {
    /// The project as it is, then these editions of it.
    Editions(Vec<Edition>),
    Colourways(Box<Choice>),
}

/// What has come.
#[derive(Debug)]
pub enum Preview {
    /// The colourways, or why there are none.
    Explored(Result<Explored, String>),
    /// The picture of one, counted from 0.
    Painted(usize, Picture),
}

/// Pictures of editions or colourways.
#[derive(Debug, Clone)]
pub struct PreviewOrder {
    pub wanted: Wanted,
    /// Pixels along the sheet's longer side.
    pub pixels: f64,
    /// Is told how much is done.
    pub progress: Arc<Progress>,
}

impl Order for PreviewOrder {
    type Reply = Preview;
    type Kept = ();
    const WORK: &'static str = "Drawing the previews";

    fn work(self, from: &Snapshot, (): &mut (), turn: &Turn<'_, Preview>) {
        let printing = &*from.printing;
        let editions: Vec<Option<Colours>> = match &self.wanted {
            Wanted::Editions(editions) => {
                std::iter::once(None).chain(editions.iter().map(|e| Some(e.colours.clone()))).collect()
            }
            Wanted::Colourways(choice) => {
                let explored = colourway::explore(printing, choice, &|share| {
                    self.progress.set_fraction(share as f32 * 0.3);
                    !turn.is_overtaken()
                });
                let ways = explored.as_ref().map_or(&[][..], |found| &found.ways);
                let editions = ways.iter().map(|w| Some(w.colours.clone())).collect();
                turn.reply(Preview::Explored(explored.map_err(|e| e.to_string())));
                editions
            }
        };

        for (i, edition) in editions.iter().enumerate() {
            if turn.is_overtaken() {
                return;
            }
            let shown = edition.as_ref().map(|e| printing.in_colours(e));
            if let Some(picture) = self.picture(shown.as_ref().unwrap_or(printing), from) {
                turn.reply(Preview::Painted(i, picture));
            }
            self.progress.set_fraction(0.3 + 0.7 * (i + 1) as f32 / editions.len() as f32);
        }
    }
}

impl PreviewOrder {
    fn picture(&self, printing: &Printing, from: &Snapshot) -> Option<Picture> {
        let face = if printing.sheet.on(Face::Front).next().is_some() { Face::Front } else { Face::Back };
        let show = Show::meant(face);
        let scene = logged("a preview", Scene::new(printing, &from.images, show))?;
        let sheet = scene.sheet();
        Some(scene.render(&View::sheet(sheet, sheet.dpi_for(self.pixels))))
    }
}
