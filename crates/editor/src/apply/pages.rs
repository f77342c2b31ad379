//! Scans that are added as pages of one ink: which page each lands on, and in which layer.

use slipsheet_document::edit::{Edit, LayerEdit, Made};
use slipsheet_document::ids::LayerId;
use slipsheet_document::layer::Target;
use slipsheet_document::sheet::Sheet;
use slipsheet_paper::fold::Face;

use crate::landing::Landing;

/// Where the next scan goes. Pages of a fold lie on two faces, and so in two layers of one ink; a booklet's sheets put
/// each page where it belongs, so that there one layer has them all.
pub(super) struct PageLayers {
    landing: Landing,
    page: u32,
    /// The layer of each face.
    layers: Vec<(Face, LayerId)>,
    /// The face of the scan that is landing.
    face: Face,
}

impl PageLayers {
    pub fn new(landing: Landing, sheet: &Sheet) -> Self {
        let first = match landing {
            Landing::Each(..) => 0,
            Landing::Pages(_, first) => first.max(1),
        };
        let given = match landing {
            Landing::Each(..) | Landing::Pages(None, _) => None,
            Landing::Pages(Some(id), _) => sheet.layer(id),
        };
        let layers = given.map(|layer| (face_in(sheet, layer.face), layer.id)).into_iter().collect();
        Self { landing, page: first, layers, face: Face::Front }
    }

    /// The layer, where there is one yet, and what the next scan is laid on; `None` when there is no page left.
    pub fn next(&mut self, sheet: &Sheet) -> Option<(Option<LayerId>, Target)> {
        let first = match self.landing {
            Landing::Each(layer, target) => return Some((layer, target)),
            Landing::Pages(_, first) => first,
        };
        let target = Target::Page(self.page);
        if self.page > sheet.pages() || self.page < first {
            return None;
        }
        self.page += 1;
        self.face = face_in(sheet, sheet.face_of(target));
        let layer = self.layers.iter().find(|(face, _)| *face == self.face).map(|(_, id)| *id);
        Some((layer, target))
    }

    /// The name of a new layer.
    pub fn name(&self, of_scan: &str) -> String {
        match self.landing {
            Landing::Each(..) => of_scan.to_owned(),
            Landing::Pages(..) => "Pages".to_owned(),
        }
    }

    /// A scan has landed in a layer; one that is new gets the ink of the pages so far, by these edits.
    pub fn landed(&mut self, made: Option<Made>, sheet: &Sheet) -> Vec<Edit> {
        let Some(Made::Art(id, _)) = made.filter(|_| matches!(self.landing, Landing::Pages(..))) else {
            return vec![];
        };
        if self.layers.iter().any(|(_, known)| *known == id) {
            return vec![];
        }
        let first = self.layers.first().and_then(|(_, first)| sheet.layer(*first));
        self.layers.push((self.face, id));
        let like = first.map(|l| [LayerEdit::Ink(l.ink.clone()), LayerEdit::Reading(l.reading)]);
        like.into_iter().flatten().map(|edit| Edit::Layer(id, edit)).collect()
    }
}

/// The face whose layer has a page: of a booklet one layer has all.
fn face_in(sheet: &Sheet, face: Face) -> Face {
    if sheet.booklet.is_some() { Face::Front } else { face }
}
