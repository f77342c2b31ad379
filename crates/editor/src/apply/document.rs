//! Commands that change the document; each is one step of history.

use slipsheet_core::overprint::MAX_INKS;
use slipsheet_core::units::Dpi;
use slipsheet_document::accepted::{self, Accepted};
use slipsheet_document::edition;
use slipsheet_document::layer::{Art, Layer, Slip, Target};
use slipsheet_document::passes;
use slipsheet_document::remedy;
use slipsheet_document::shelf::Shelf;
use slipsheet_files::scan::DEFAULT_PDF_DPI;
use slipsheet_paper::fold::Face;

use super::Applied;
use crate::command::{Command, CommandError, Effect, LayerChange};
use crate::session::{Selection, Session};

impl Session {
    pub(super) fn change_document(&mut self, command: Command) -> Applied {
        let before = self.project.clone();
        let outcome = self.change(command);
        let Ok((label, effects)) = outcome else {
            self.project = before;
            return outcome.map(|(_, effects)| effects);
        };
        if self.project != before {
            self.history.note(label, &before);
            self.revision += 1;
            self.mend_selection();
        }
        Ok(effects)
    }

    fn change(&mut self, command: Command) -> Result<(&'static str, Vec<Effect>), CommandError> {
        if self.project.shows_wrap() && matches!(command, Command::Fold(_) | Command::Trim(_)) {
            let why = "a wrap is folded and trimmed along its net; switch to the booklet to change its fold";
            return Err(CommandError::File(why.to_owned()));
        }
        let label = match command {
            Command::Layer(i, change) => return self.change_layer(i, change),
            Command::Wrap(change) => self.change_wrap(change)?,
            Command::AddLayer => {
                self.room_on(Face::Front)?;
                let layer = self.new_layer("Layer", Face::Front, vec![]);
                self.push_layer(layer);
                "Add a layer"
            }
            Command::RemoveLayer(i) => {
                self.layer_mut(i)?;
                let (before, passes) = (self.project.layers.clone(), passes::pass_of(&self.project));
                self.project.layers.remove(i);
                let now = |was: usize| (was != i).then(|| if was > i { was - 1 } else { was });
                self.all_follow(&before, now);
                self.settle_passes(&passes, now);
                "Remove a layer"
            }
            Command::MoveLayer { from, to } => {
                self.layer_mut(from)?;
                let to = to.min(self.project.layers.len() - 1);
                let (before, passes) = (self.project.layers.clone(), passes::pass_of(&self.project));
                let mut order: Vec<usize> = (0..before.len()).collect();
                let moved = order.remove(from);
                order.insert(to, moved);
                let layer = self.project.layers.remove(from);
                self.project.layers.insert(to, layer);
                let now = |was: usize| order.iter().position(|o| *o == was);
                self.all_follow(&before, now);
                self.settle_passes(&passes, now);
                if self.selection.layer == Some(from) {
                    self.selection.layer = Some(to);
                }
                "Change the printing order"
            }
            Command::ResetSlips => {
                self.project.layers.iter_mut().for_each(|l| l.slip = Slip::default());
                self.project.back_slip = Slip::default();
                "Reset all slips"
            }
            Command::Title(title) => {
                self.project.title = title.chars().take(200).collect();
                "Change the title"
            }
            Command::Sheet(sheet) => {
                self.project.sheet = sheet;
                self.project.check().map_err(|e| CommandError::BadName(e.to_string()))?;
                "Change the sheet"
            }
            Command::Lying(lying) => {
                self.project.lying = lying;
                "Change the orientation"
            }
            Command::Stock(stock) => {
                self.project.stock = stock;
                self.project.take_overprints(&self.shelf, false);
                "Change the stock"
            }
            Command::Fold(fold) => {
                self.project.fold = fold;
                self.project.booklet = None;
                self.project.check().map_err(|e| CommandError::BadName(e.to_string()))?;
                "Change the fold"
            }
            Command::Edition(change) => self.change_edition(change)?,
            Command::Booklet(booklet) => {
                self.project.fold = None;
                self.project.booklet = booklet;
                self.project.check().map_err(|e| CommandError::BadName(e.to_string()))?;
                "Change the booklet"
            }
            Command::PressDpi(dpi) => {
                self.project.press_dpi = dpi;
                "Change the press's resolution"
            }
            Command::Press(press) => {
                self.project.press = *press;
                "Change the press"
            }
            Command::Passes(face, passes) => {
                let before = self.project.layers.clone();
                let from = passes::arrange(&mut self.project, face, &passes).ok_or_else(|| {
                    let why = "the layers have changed since these passes were planned; plan them again";
                    CommandError::BadName(why.to_owned())
                })?;
                let now = |was: usize| from.iter().position(|f| *f == was);
                self.all_follow(&before, now);
                self.selection.layer = self.selection.layer.and_then(now);
                "Change the passes"
            }
            Command::Turning(turning) => {
                self.project.turning = turning;
                "Change the turning"
            }
            Command::BackSlip(slip) => {
                self.project.back_slip = slip;
                "Slip the back"
            }
            Command::Trim(trim) => {
                self.project.trim = trim;
                "Change the trim"
            }
            Command::Terms(terms) => {
                self.project.job = *terms;
                "Change the job"
            }
            Command::Accept(accepted) => {
                let same = |a: &Accepted| (&a.kind, &a.place) == (&accepted.kind, &accepted.place);
                self.project.accepted.retain(|a| !same(a));
                self.project.accepted.push(accepted);
                "Accept a finding"
            }
            Command::Reopen(kind, place) => {
                self.project.accepted.retain(|a| (&a.kind, &a.place) != (&kind, &place));
                "Reopen a finding"
            }
            // Every other command is carried out by `apply`, which hands only the ones above on.
            _ => "",
        };
        Ok((label, vec![]))
    }

    fn change_layer(
        &mut self,
        i: usize,
        change: LayerChange,
    ) -> Result<(&'static str, Vec<Effect>), CommandError> {
        let layer = self.layer_mut(i)?;
        let label = match change {
            LayerChange::Name(name) => {
                let before = self.project.layers.clone();
                self.layer_mut(i)?.name = name.chars().take(80).collect();
                self.editions_follow(&before, Some);
                "Rename a layer"
            }
            LayerChange::Ink(ink) => {
                layer.ink = ink;
                self.project.take_overprints(&self.shelf, false);
                "Change an ink"
            }
            LayerChange::Visible(visible) => {
                layer.visible = visible;
                "Show or hide a layer"
            }
            LayerChange::Face(face) => {
                if layer.face != face {
                    self.room_on(face)?;
                    let passes = passes::pass_of(&self.project);
                    self.layer_mut(i)?.face = face;
                    self.settle_passes(&passes, |was| (was != i).then_some(was));
                }
                "Change a layer's face"
            }
            LayerChange::Slip(slip) => {
                layer.slip = slip;
                "Slip a layer"
            }
            LayerChange::Reading(reading) => {
                layer.reading = reading;
                "Change a reading"
            }
            LayerChange::Remedies(remedies) => {
                layer.remedies = remedies;
                "Change the remedies"
            }
            LayerChange::Placement(art, placement) => {
                piece(layer, i, art)?.placement = placement;
                "Place artwork"
            }
            LayerChange::Crop(art, crop) => {
                piece(layer, i, art)?.crop = crop;
                "Crop artwork"
            }
            LayerChange::LinedUp(art, placement, crop) => {
                let piece = piece(layer, i, art)?;
                (piece.placement, piece.crop) = (placement, crop);
                "Line up by marks"
            }
            LayerChange::Target(art, target) => {
                piece(layer, i, art)?.target = target;
                "Place artwork on a page"
            }
            LayerChange::Dpi(art, dpi) => {
                let piece = piece(layer, i, art)?;
                // The crop stays on its pixels.
                piece.crop = piece.crop.map(|crop| crop.at_resolution(piece.scan.dpi, dpi));
                piece.scan.dpi = dpi;
                let key = piece.scan.key.clone();
                self.unsized_scans.retain(|k| *k != key);
                "Set a resolution"
            }
            LayerChange::Rasterise(art, dpi) => {
                let scan = &mut piece(layer, i, art)?.scan;
                let before = scan.key.resolution.map_or(DEFAULT_PDF_DPI, Dpi::get);
                // A resolution that the person gave besides scales the page: its share is kept.
                let said = scan.dpi.get() * dpi.get() / before;
                scan.dpi = Dpi::new(said).map_err(|e| CommandError::BadName(e.to_string()))?;
                scan.key.resolution = Some(dpi);
                return Ok(("Read a page at another resolution", self.load_scans()));
            }
            LayerChange::Gray(art, gray, lift_white) => {
                let key = &mut piece(layer, i, art)?.scan.key;
                (key.gray, key.lift_white) = (gray, lift_white);
                return Ok(("Change how a scan is read", self.load_scans()));
            }
            LayerChange::ScanPage(art, page) => {
                piece(layer, i, art)?.scan.key.page = page;
                return Ok(("Choose a page of a file", self.load_scans()));
            }
            LayerChange::RemoveArt(art) => {
                piece(layer, i, art)?;
                layer.art.remove(art);
                "Remove artwork"
            }
            LayerChange::MoveArt(art, to) => {
                piece(layer, i, art)?;
                let moved = layer.art.remove(art);
                self.layer_mut(to)?.art.push(moved);
                let last = self.layer_mut(to)?.art.len() - 1;
                self.selection = Selection { layer: Some(to), art: last };
                "Move artwork to another layer"
            }
        };
        Ok((label, vec![]))
    }

    /// Keeps the editions with their layers.
    /// Everything that names a layer by its place is brought up to date when layers move or go.
    fn all_follow(&mut self, before: &[Layer], now: impl Fn(usize) -> Option<usize> + Copy) {
        self.editions_follow(before, now);
        for layer in &mut self.project.layers {
            remedy::follow(&mut layer.remedies, now);
        }
        accepted::follow(&mut self.project.accepted, now);
    }

    /// Layers that shared a pass and still follow one another go on sharing it; no others begin to.
    fn settle_passes(&mut self, before: &[usize], now: impl Fn(usize) -> Option<usize>) {
        let mut was = vec![None; self.project.layers.len()];
        for (old, pass) in before.iter().enumerate() {
            if let Some(place) = now(old).and_then(|to| was.get_mut(to)) {
                *place = Some(*pass);
            }
        }
        passes::settle(&mut self.project, &was);
    }

    fn editions_follow(&mut self, before: &[Layer], place: impl Fn(usize) -> Option<usize>) {
        edition::follow(&mut self.project.editions, before, &self.project.layers, place);
    }

    pub(super) fn layer_mut(&mut self, i: usize) -> Result<&mut Layer, CommandError> {
        self.project.layers.get_mut(i).ok_or(CommandError::NoLayer(i + 1))
    }

    /// Refuses when a face cannot take another layer.
    pub(super) fn room_on(&self, face: Face) -> Result<(), CommandError> {
        if self.project.on(face).count() < MAX_INKS { Ok(()) } else { Err(CommandError::Full) }
    }

    pub(super) fn new_layer(&self, name: &str, face: Face, art: Vec<Art>) -> Layer {
        let name = Shelf::free_name(name, self.project.layers.iter().map(|l| l.name.as_str()));
        Layer { face, art, ..Layer::new(name, self.next_ink()) }
    }

    /// Puts a layer last in the printing order, and selects it.
    pub(super) fn push_layer(&mut self, layer: Layer) {
        self.project.layers.push(layer);
        self.selection = Selection { layer: Some(self.project.layers.len() - 1), art: 0 };
    }

    /// Page artwork belongs to the face that its page is on.
    pub(super) fn face_of(&self, target: Target) -> Face {
        if let (Target::Page(page) | Target::Spread(page), Some(booklet)) = (target, &self.project.booklet) {
            return booklet.face_of(page).map_or(Face::Front, |(_, face)| face);
        }
        let place = match (target, &self.project.fold) {
            (Target::Page(page) | Target::Spread(page), Some(fold)) => {
                fold.place(self.project.sheet_size(), page)
            }
            _ => None,
        };
        place.map_or(Face::Front, |p| p.face)
    }
}

fn piece(layer: &mut Layer, i: usize, art: usize) -> Result<&mut Art, CommandError> {
    layer.art.get_mut(art).ok_or(CommandError::NoArt { layer: i + 1, art: art + 1 })
}
