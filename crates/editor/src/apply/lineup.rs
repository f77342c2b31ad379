//! Lining artwork up: the jobs that look for where it lies.

use std::sync::Arc;

use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::words::sentence;
use slipsheet_document::edit::{ArtEdit, Edit, Refusal, Which};
use slipsheet_document::ids::ArtId;
use slipsheet_document::layer::{Art, DustSize};
use slipsheet_paper::fold::Face;

use super::Applied;
use crate::job::{Job, Original, OriginalLinedUp, Placed};
use crate::notice::Notice;
use crate::refused::RequestError;
use crate::request::Effect;
use crate::session::Session;

impl Session {
    pub(super) fn art(&self, id: ArtId) -> Result<&Art, RequestError> {
        let gone = RequestError::Edit(Refusal::Gone(Which::Art));
        self.sheet().art().find(|a| a.id == id).ok_or(gone)
    }

    fn pixels(&self, art: &Art) -> Result<Arc<Pyramid>, RequestError> {
        let pixels = self.images.get(&art.scan.key).map(Arc::clone);
        pixels.ok_or_else(|| RequestError::NotLoaded(art.scan.path.clone()))
    }

    /// The layer printed before it on the same face, with artwork on the same place, is what it moves onto.
    pub(super) fn line_up(&self, art: ArtId) -> Applied {
        let (sheet, moved) = (self.sheet(), self.art(art)?);
        let layer = sheet.holder_of(art).and_then(|id| sheet.position(id)).unwrap_or(0);
        let face = sheet.layers.get(layer).map(|l| l.face);
        let before = sheet.layers.iter().take(layer).rev().filter(|l| Some(l.face) == face);
        let below =
            before.flat_map(|l| l.art.iter().map(move |a| (l, a))).find(|(_, a)| a.target == moved.target);
        let (under, fixed) = below.ok_or(RequestError::NothingBelow)?;
        let job = Job::LineUp {
            at: art,
            art: Box::new(moved.clone()),
            fixed: (self.pixels(fixed)?, fixed.placement, under.name.clone()),
            moved: self.pixels(moved)?,
        };
        Ok(vec![Effect::Start(job)])
    }

    pub(super) fn place_by_marks(&self, art: ArtId) -> Applied {
        Ok(vec![Effect::Start(Job::LineUpOriginals(vec![self.original(art)?]))])
    }

    /// Lines up every scan of the open sheet that is there.
    pub(super) fn line_up_all(&mut self) -> Applied {
        let (mut all, mut left) = (Vec::new(), Vec::new());
        for art in self.sheet().art() {
            match self.original(art.id) {
                Ok(original) => all.push(original),
                Err(_missing) => left.push(art.scan.file_name().to_owned()),
            }
        }
        if !left.is_empty() {
            self.tell(Notice::warning(format!("Not there, and so not lined up: {}.", left.join(", "))));
        }
        Ok(if all.is_empty() { vec![] } else { vec![Effect::Start(Job::LineUpOriginals(all))] })
    }

    pub(super) fn look_over_marks(&self, art: ArtId) -> Applied {
        Ok(vec![Effect::Start(Job::LookOverMarks(Box::new(self.original(art)?)))])
    }

    pub(super) fn mend(&self, at: ArtId, dust: Option<DustSize>, mask: Option<Arc<GrayRaster>>) -> Applied {
        let art = Box::new(self.art(at)?.clone());
        Ok(vec![Effect::Start(Job::Mend { at, art, dust, mask })])
    }

    /// A piece of artwork with what lining it up needs.
    pub(super) fn original(&self, at: ArtId) -> Result<Original, RequestError> {
        let art = self.art(at)?.clone();
        let layer = self.sheet().holder_of(at).and_then(|id| self.sheet().layer(id));
        Ok(Original {
            at,
            face: layer.map_or(Face::Front, |l| l.face),
            printing: Arc::clone(&self.printing),
            base: self.path.clone(),
            masks: self.masks.clone(),
            pixels: Some(self.pixels(&art)?),
            art,
        })
    }

    /// Takes over what became of originals: one step of history for all of them.
    pub(super) fn originals_lined_up(
        &mut self,
        originals: &[(ArtId, Art, Result<OriginalLinedUp, String>)],
    ) -> Applied {
        let mut edits = Vec::new();
        for (at, was, outcome) in originals {
            // The person may have moved on meanwhile; then the answer is stale.
            if !self.art(*at).is_ok_and(|now| now == was) {
                continue;
            }
            let name = was.scan.file_name();
            let many = originals.len() > 1;
            let named = |text: &str| if many { format!("{name}: {text}") } else { text.to_owned() };
            match outcome {
                Ok(found) => {
                    self.masks.extend(found.mask.clone());
                    edits.push(Edit::Art(*at, ArtEdit::LinedUp(Box::new(found.lined_up.clone()))));
                    self.tell(Notice::note(named(&found.sentence)));
                }
                Err(why) if many => self.tell(Notice::warning(named(&sentence(why)))),
                Err(why) => return Err(RequestError::Task(why.clone())),
            }
        }
        self.edit_as("Line up by marks", edits)?;
        Ok(self.load_scans())
    }

    pub(super) fn reviewed(&mut self, at: ArtId, was: &Art, placed: &Result<Placed, String>) -> Applied {
        let (lined_up, mask) = placed.clone().map_err(RequestError::Task)?;
        if !self.art(at).is_ok_and(|now| now == was) {
            return Ok(vec![]);
        }
        self.masks.extend(mask);
        self.edit(Edit::Art(at, ArtEdit::LinedUp(Box::new(lined_up))))
    }
}
