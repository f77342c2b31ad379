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
mod placing;
mod scans;
mod sheets;
mod shop;
mod strokes;

#[cfg(test)]
mod tests;

pub use inks::drawn_pale;
pub use placing::not_lined_up;

pub use kind::Kind;
use slipsheet_core::geometry::Rect;
use slipsheet_core::words::count;
use slipsheet_document::layer::ScanKey;
use slipsheet_document::project::Project;
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
    /// Worth knowing.
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
    /// The face.
    pub face: Face,
    /// The part of it.
    pub rect: Rect,
}

/// One thing found.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// How much it matters.
    pub severity: Severity,
    /// What it is.
    pub kind: Kind,
    /// One sentence: what was found.
    pub sentence: String,
    /// One sentence: what helps.
    pub remedy: &'static str,
    /// The layer, by its index in the project.
    pub layer: Option<usize>,
    /// The page, from 1.
    pub page: Option<u32>,
    /// The sheet of a booklet, from 0.
    pub sheet: Option<usize>,
    /// Where on a face.
    pub place: Option<Place>,
    /// The person's note, when they have accepted it.
    pub accepted: Option<String>,
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
        }
    }

    /// Found on a sheet of a booklet.
    fn on_sheet(self, sheet: usize) -> Self {
        let sentence = format!("on sheet {}, {}", sheet + 1, self.sentence);
        Self { sheet: Some(sheet), sentence, ..self }
    }

    fn on_layer(self, layer: usize) -> Self {
        Self { layer: Some(layer), ..self }
    }

    fn on_page(self, page: u32) -> Self {
        Self { page: Some(page), ..self }
    }

    fn at(self, face: Face, rect: Rect) -> Self {
        Self { place: Some(Place { face, rect }), ..self }
    }

    /// Where it is, as text that stays the same while the project does not change there: what
    /// [`slipsheet_document::accepted::Accepted::place`] holds.
    pub fn place_key(&self) -> String {
        let mut parts = Vec::new();
        parts.extend(self.layer.map(|l| format!("layer {}", l + 1)));
        parts.extend(self.page.map(|p| format!("page {p}")));
        parts.extend(self.sheet.map(|s| format!("sheet {}", s + 1)));
        if let Some(Place { face, rect }) = &self.place {
            let (x, y) = (libm::round(rect.x), libm::round(rect.y));
            parts.push(format!("{} {x:.0}, {y:.0} mm", face.name().to_lowercase()));
        }
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
#[derive(Debug, Clone, Default, PartialEq)]
pub struct StudiedPair {
    /// Layer of the ink printed later, which the list points at.
    pub layer: usize,
    /// What is to be said.
    pub sentence: String,
    /// The worst place.
    pub place: Option<Place>,
}

impl Studied {
    /// What a study of the project's register says; nothing where it cannot be studied, which other findings tell.
    pub fn of(project: &Project, images: &Images) -> Self {
        JobRegister::of(project, images)
            .map_or_else(|_told| Self::default(), |r| Self::from_register(project, &r))
    }

    /// The same from a register that is known.
    pub fn from_register(project: &Project, register: &JobRegister) -> Self {
        let tight = register.pairs.iter().map(|p| StudiedPair {
            layer: p.upper,
            sentence: p.sentence(project),
            place: p.place.map(|rect| Place { face: p.face, rect }),
        });
        Self { tight: tight.collect() }
    }
}

/// What is wrong with a scan's file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trouble {
    /// It is not there.
    Missing,
    /// It holds something else than what was placed.
    Changed,
    /// It cannot be read; the sentence says why.
    Unreadable(String),
}

/// A scan whose file is not as the project knows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScanTrouble {
    /// The scan.
    pub key: ScanKey,
    /// What is wrong.
    pub trouble: Trouble,
}

/// Whether there is nothing yet that could be looked at: what a new project lacks is no fault in it.
pub fn nothing_yet(project: &Project) -> bool {
    project.layers.is_empty()
}

/// Everything that is found in a project, what matters most first; what was accepted comes last.
pub fn findings(project: &Project, images: &Images, trouble: &[ScanTrouble]) -> Vec<Finding> {
    findings_with(project, images, trouble, &Studied::default())
}

/// As [`findings`], with what studies have found.
pub fn findings_with(
    project: &Project,
    images: &Images,
    trouble: &[ScanTrouble],
    studied: &Studied,
) -> Vec<Finding> {
    if nothing_yet(project) {
        return Vec::new();
    }
    let mut all = inks::findings(project, images);
    all.extend(scans::findings(project, images, trouble));
    all.extend(placing::findings(project, images));
    all.extend(shop::findings(project));
    match &project.booklet {
        Some(booklet) => all.extend(sheets::findings(project, booklet, images)),
        None => {
            all.extend(pages::findings(project, images));
            all.extend(on_one_sheet(project, images));
        }
    }
    for pair in &studied.tight {
        let finding = Finding::new(Kind::Tight, pair.sentence.clone()).on_layer(pair.layer);
        all.push(Finding { place: pair.place, ..finding });
    }
    for finding in &mut all {
        let key = finding.place_key();
        let known = project.accepted.iter().find(|a| a.kind == finding.kind.id() && a.place == key);
        finding.accepted = known.map(|a| a.note.clone());
    }
    all.sort_by(|a, b| {
        let order = |f: &Finding| (!f.is_open(), f.severity, f.kind, f.sheet, f.layer, f.page);
        order(a).cmp(&order(b))
    });
    all
}

/// What needs a look at the pixels of one sheet.
fn on_one_sheet(project: &Project, images: &Images) -> Vec<Finding> {
    let mut all = moire::findings(project, images);
    let looks = look::Look::all(project, images);
    all.extend(edges::findings(project, &looks));
    all.extend(coverage::findings(project, &looks));
    all.extend(strokes::findings(project, images));
    all
}
