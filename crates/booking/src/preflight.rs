//! Preflight: what should be looked at before masters are made, each as one sentence.
//!
//! The findings are a pure function of the project, its images and what is known of its scans, so that the
//! window and the command line show the same list.

mod coverage;
mod edges;
mod inks;
mod kind;
mod look;
mod moire;
mod pages;
mod pale;
mod paper;
mod placing;
mod quality;
mod scans;
mod sheets;
mod shop;
mod strokes;

#[cfg(test)]
mod tests;

pub use inks::drawn_pale;
pub use pale::{PaleGroup, black_point_for, black_point_of, pale_groups};
pub use paper::paper_prints;
pub use placing::not_lined_up;

pub use kind::Kind;
use slipsheet_core::geometry::Rect;
use slipsheet_core::reading::BlackPoint;
use slipsheet_core::words::count;
use slipsheet_document::accepted;
use slipsheet_document::ids::{ArtId, LayerId};
use slipsheet_document::layer::ScanKey;
use slipsheet_document::printing::Printing;
use slipsheet_document::sheet::Sheet;
use slipsheet_paper::fold::Face;
use slipsheet_registration::slip::JobRegister;
use slipsheet_render::images::Images;

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The print cannot come out as meant.
    Error,
    /// It may not come out as meant.
    Warning,
    Note,
}

impl Severity {
    /// The name as lists and files show it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Note => "note",
        }
    }
}

/// Where something was found: a part of a face, in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    pub face: Face,
    pub rect: Rect,
}

/// One thing found.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    pub severity: Severity,
    pub kind: Kind,
    pub sentence: String,
    pub remedy: &'static str,
    pub layer: Option<LayerId>,
    /// The page, from 1.
    pub page: Option<u32>,
    /// The sheet of a booklet, from 0.
    pub sheet: Option<usize>,
    pub place: Option<Place>,
    /// The person's note, when they have accepted it.
    pub accepted: Option<String>,
    /// What mends it, where one step does.
    pub fix: Option<Fix>,
}

/// One step that mends what was found.
#[derive(Debug, Clone, PartialEq)]
pub enum Fix {
    /// Cleans the paper of these pieces' scans to white.
    CleanPaper(Vec<ArtId>),
    /// Gives its layer this black point.
    BlackPoint(BlackPoint),
}

impl Finding {
    fn new(kind: Kind, sentence: String) -> Self {
        let (severity, remedy) = (kind.severity(), kind.remedy());
        Self {
            severity,
            kind,
            sentence,
            remedy,
            layer: None,
            page: None,
            sheet: None,
            place: None,
            accepted: None,
            fix: None,
        }
    }

    /// Found on a sheet of a booklet.
    fn on_sheet(self, sheet: usize) -> Self {
        let sentence = format!("on sheet {}, {}", sheet + 1, self.sentence);
        Self { sheet: Some(sheet), sentence, ..self }
    }

    /// Found on the layer at this position.
    fn on_layer(self, printing: &Printing, position: usize) -> Self {
        Self { layer: printing.sheet.layers.get(position).map(|l| l.id), ..self }
    }

    fn on_page(self, page: u32) -> Self {
        Self { page: Some(page), ..self }
    }

    fn at(self, face: Face, rect: Rect) -> Self {
        Self { place: Some(Place { face, rect }), ..self }
    }

    /// Where it is, to be known again while the project does not change there.
    pub fn place_of(&self) -> accepted::Place {
        let spot = self
            .place
            .map(|Place { face, rect }| (face, libm::round(rect.x) as i32, libm::round(rect.y) as i32));
        accepted::Place { layer: self.layer, page: self.page, sheet: self.sheet, spot }
    }

    /// The same in words, for scripts: "layer 2, page 3, sheet 1, front 31, 64 mm".
    pub fn place_words(&self, sheet: &Sheet) -> String {
        let mut parts = Vec::new();
        let position = self.layer.and_then(|id| sheet.position(id));
        parts.extend(position.map(|l| format!("layer {}", l + 1)));
        parts.extend(self.page.map(|p| format!("page {p}")));
        parts.extend(self.sheet.map(|s| format!("sheet {}", s + 1)));
        let spot = self.place_of().spot;
        parts.extend(spot.map(|(face, x, y)| format!("{} {x}, {y} mm", face.name().to_lowercase())));
        parts.join(", ")
    }

    /// Whether the person still has to look at it.
    pub fn is_open(&self) -> bool {
        self.accepted.is_none()
    }
}

/// What studies elsewhere have found, to be listed with the rest.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Studied {
    /// Pairs of layers that meet without room for slip.
    pub tight: Vec<StudiedPair>,
}

/// Two layers that meet without room for slip.
#[derive(Debug, Clone, PartialEq)]
pub struct StudiedPair {
    /// Layer of the ink printed later, which the list points at.
    pub layer: LayerId,
    pub sentence: String,
    pub place: Option<Place>,
}

impl Studied {
    /// What a study of the project's register says; nothing where it cannot be studied, which other findings tell.
    pub fn of(printing: &Printing, images: &Images) -> Self {
        JobRegister::of(printing, images)
            .map_or_else(|_told| Self::default(), |r| Self::from_register(printing, &r))
    }

    /// The same from a register that is known.
    pub fn from_register(printing: &Printing, register: &JobRegister) -> Self {
        let tight = register.pairs.iter().map(|p| StudiedPair {
            layer: p.upper,
            sentence: p.sentence(printing),
            place: p.place.map(|rect| Place { face: p.face, rect }),
        });
        Self { tight: tight.collect() }
    }
}

/// What is wrong with a scan's file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trouble {
    Missing,
    /// It holds something else than what was placed.
    Changed,
    /// It cannot be read; the sentence says why.
    Unreadable(String),
    /// What was mended by hand on it is not there.
    MaskLost,
}

/// A scan whose file is not as the project knows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScanTrouble {
    pub key: ScanKey,
    pub trouble: Trouble,
}

/// Whether there is nothing yet that could be looked at: what a new project lacks is no fault in it.
pub fn nothing_yet(printing: &Printing) -> bool {
    printing.sheet.layers.is_empty()
}

/// Everything that is found in a project and by studies of it, what matters most first; what was accepted comes last.
pub fn findings_with(
    printing: &Printing,
    images: &Images,
    trouble: &[ScanTrouble],
    studied: &Studied,
) -> Vec<Finding> {
    if nothing_yet(printing) {
        return Vec::new();
    }
    let mut all = inks::findings(printing, images);
    all.extend(scans::findings(printing, images, trouble));
    all.extend(quality::findings(printing, images));
    all.extend(placing::findings(printing, images));
    all.extend(shop::findings(printing));
    all.extend(paper::findings(printing, images));
    match &printing.sheet.booklet {
        Some(booklet) => all.extend(sheets::findings(printing, booklet, images)),
        None => {
            all.extend(pages::findings(printing, images));
            all.extend(on_one_sheet(printing, images));
        }
    }
    let pale = pale::findings(printing, images);
    // What is said of a layer with figures and a place is not said once more without.
    let said = |f: &Finding| {
        matches!(f.kind, Kind::TooLight | Kind::PaleOriginal) && pale.iter().any(|p| p.layer == f.layer)
    };
    all.retain(|f| !said(f));
    all.extend(pale);
    for pair in &studied.tight {
        let finding = Finding::new(Kind::Tight, pair.sentence.clone());
        all.push(Finding { layer: Some(pair.layer), place: pair.place, ..finding });
    }
    for finding in &mut all {
        let place = finding.place_of();
        let known = printing.sheet.accepted.iter().find(|a| a.kind == finding.kind.id() && a.place == place);
        finding.accepted = known.map(|a| a.note.clone());
    }
    all.sort_by(|a, b| {
        let position = |f: &Finding| f.layer.and_then(|id| printing.sheet.position(id));
        let order = |f: &Finding| (!f.is_open(), f.severity, f.kind, f.sheet, position(f), f.page);
        order(a).cmp(&order(b))
    });
    all
}

/// What needs a look at the pixels of one sheet.
fn on_one_sheet(printing: &Printing, images: &Images) -> Vec<Finding> {
    let mut all = moire::findings(printing, images);
    let looks = look::Look::all(printing, images);
    all.extend(edges::findings(printing, &looks));
    all.extend(coverage::findings(printing, &looks));
    all.extend(strokes::findings(printing, images));
    all
}
