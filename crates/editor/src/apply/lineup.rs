//! Lining artwork up: the jobs that look for where it lies.

use std::sync::Arc;

use slipsheet_core::geometry::Affine;
use slipsheet_core::raster::Pyramid;
use slipsheet_document::edit::{Refusal, Which};
use slipsheet_document::ids::ArtId;
use slipsheet_document::layer::{Art, Target};
use slipsheet_files::{GuideOptions, guide};
use slipsheet_paper::fold::Face;
use slipsheet_registration::register::MarkLayout;

use super::Applied;
use crate::job::Job;
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
        let (piece, layout, pixels) = self.marked(art)?;
        Ok(vec![Effect::Start(Job::FindMarks { at: art, art: Box::new(piece), pixels, layout })])
    }

    pub(super) fn look_over_marks(&self, art: ArtId) -> Applied {
        let (piece, layout, pixels) = self.marked(art)?;
        let (full, sheet) = (pixels.full(), self.sheet().size());
        // Artwork on the whole sheet lies somewhere whatever the fold.
        let mapping = piece.mapping(full.width(), full.height(), sheet, None, Face::Front);
        let mapping = mapping.map_or(Affine::IDENTITY, |l| l.face_from_scan);
        let job = Job::LookOverMarks { at: art, art: Box::new(piece), pixels, layout, mapping };
        Ok(vec![Effect::Start(job)])
    }

    /// A piece of artwork on the whole sheet, the marks that its original should have, and its pixels.
    fn marked(&self, art: ArtId) -> Result<(Art, Box<MarkLayout>, Arc<Pyramid>), RequestError> {
        let piece = self.art(art)?;
        if piece.target != Target::Sheet {
            return Err(RequestError::NotOnTheSheet);
        }
        let layout = Box::new(guide::mark_layout(&self.printing, &GuideOptions::default())?);
        Ok((piece.clone(), layout, self.pixels(piece)?))
    }
}
