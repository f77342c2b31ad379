//! The project: everything a person decides, as plain data. Pixels sit beside it, found by the contents of
//! their scans, so that a copy of a project is cheap.

use serde::{Deserialize, Serialize};

use crate::booklet::Booklet;
use crate::cost::JobTerms;
use crate::edition::Edition;
use crate::fold::{self, Face, Scheme};
pub use crate::images::Images;
use crate::ink::OverprintSwatch;
use crate::layer::{Art, Layer, Slip, Target};
use crate::overprint::MAX_INKS;
use crate::preflight::Accepted;
use crate::press::Press;
use crate::shelf::Shelf;
use crate::stock::Stock;
use crate::turning::Turning;
use crate::units::{Dpi, Mm, SheetFormat, Size};
use crate::wrap::WrapSheet;

/// The schema that this program writes.
pub const SCHEMA: u32 = 3;

/// A project.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Project {
    /// Version of the format.
    pub schema: u32,
    /// Title, as the proof shows it.
    pub title: String,
    /// Format of the sheet.
    pub sheet: SheetFormat,
    /// Whether the sheet lies (landscape); a fold scheme decides it where there is one.
    #[serde(default)]
    pub lying: bool,
    /// The paper.
    pub stock: Stock,
    /// Layers in printing order, first printed first.
    pub layers: Vec<Layer>,
    /// How the sheet is folded; `None` when it stays flat.
    #[serde(default)]
    pub fold: Option<Scheme>,
    /// Measured overprints of the shop.
    #[serde(default)]
    pub overprints: Vec<OverprintSwatch>,
    /// What is trimmed off each edge after folding, in mm.
    #[serde(default)]
    pub trim: Mm,
    /// How the sheet is turned over between its faces.
    #[serde(default)]
    pub turning: Turning,
    /// A what-if shift and skew of the whole back against the front.
    #[serde(default)]
    pub back_slip: Slip,
    /// A booklet of several sheets, in place of a fold.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub booklet: Option<Booklet>,
    /// Resolution of the press's masters.
    #[serde(default = "press_dpi")]
    pub press_dpi: Dpi,
    /// The press it is planned for.
    #[serde(default)]
    pub press: Press,
    /// The same artwork in other inks on other stocks.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub editions: Vec<Edition>,
    /// What is agreed with the shop.
    #[serde(default)]
    pub job: JobTerms,
    /// Findings that the person has seen and lives with.
    #[serde(default)]
    pub accepted: Vec<Accepted>,
    /// What goes around the folded piece, with a sheet of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wrap: Option<Box<WrapSheet>>,
}

/// 600 dpi, as most machines have today (common practice, no source).
fn press_dpi() -> Dpi {
    Dpi::new(600.0).unwrap_or_default()
}

/// Why a project cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ProjectError {
    /// The text is not a project.
    #[error("the project cannot be read at line {line}, column {column} (“{excerpt}”): {why}")]
    Parse {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// The line itself, shortened.
        excerpt: String,
        /// What is wrong.
        why: String,
    },
    /// Written by a newer program.
    #[error(
        "the project was saved by a newer Slipsheet (format {found}, this one reads up to {SCHEMA}): update the program to open it"
    )]
    Newer {
        /// The format found.
        found: u32,
    },
    /// The parts contradict each other.
    #[error("the project is not consistent: {0}")]
    Inconsistent(String),
}

#[derive(Deserialize)]
#[serde(rename = "Project")]
struct Header {
    schema: u32,
}

/// Format 1 named its fold scheme instead of carrying it.
#[derive(Deserialize)]
#[serde(rename = "Project", deny_unknown_fields)]
struct ProjectV1 {
    #[serde(rename = "schema")]
    _schema: u32,
    title: String,
    sheet: SheetFormat,
    stock: Stock,
    layers: Vec<Layer>,
    #[serde(default)]
    fold: Option<String>,
}

impl Project {
    /// An empty project.
    pub fn new(title: &str, sheet: SheetFormat, stock: Stock) -> Self {
        Self {
            schema: SCHEMA,
            title: title.to_owned(),
            sheet,
            lying: false,
            stock,
            layers: Vec::new(),
            fold: None,
            overprints: Vec::new(),
            trim: Mm::ZERO,
            turning: Turning::default(),
            back_slip: Slip::default(),
            booklet: None,
            press_dpi: press_dpi(),
            press: Press::default(),
            editions: Vec::new(),
            job: JobTerms::default(),
            accepted: Vec::new(),
            wrap: None,
        }
    }

    /// Reads a project, brings an older format up to date, and checks it.
    ///
    /// # Errors
    /// See [`ProjectError`]; the text is never changed.
    pub fn from_ron(text: &str) -> Result<Self, ProjectError> {
        let header: Header = parse(text)?;
        let project = match header.schema {
            0 => return Err(ProjectError::Inconsistent("format 0 does not exist".to_owned())),
            1 => from_v1(parse(text)?)?,
            2 => Self { schema: SCHEMA, ..parse(text)? },
            SCHEMA => parse(text)?,
            found => return Err(ProjectError::Newer { found }),
        };
        project.check()?;
        Ok(project)
    }

    /// The project as text, with its booklet in hand.
    ///
    /// # Errors
    /// When the serializer refuses, which no project that was checked brings about.
    pub fn to_ron(&self) -> Result<String, ProjectError> {
        let pretty = ron::ser::PrettyConfig::new().struct_names(true).indentor("  ");
        let text = ron::ser::to_string_pretty(&self.turned_to(false), pretty)
            .map_err(|e| ProjectError::Inconsistent(e.to_string()))?;
        Ok(text + "\n")
    }

    /// Checks what the types cannot: the fold scheme, the number of inks on a face, the sheet.
    ///
    /// # Errors
    /// [`ProjectError::Inconsistent`].
    pub fn check(&self) -> Result<(), ProjectError> {
        self.check_sheet()?;
        match &self.wrap {
            Some(_) => self.turned_to(!self.shows_wrap()).check_sheet(),
            None => Ok(()),
        }
    }

    /// The same for the sheet in hand.
    fn check_sheet(&self) -> Result<(), ProjectError> {
        let fail = |why: String| Err(ProjectError::Inconsistent(why));
        let size = self.sheet.size();
        if !(20.0..=2000.0).contains(&size.width.get()) || !(20.0..=2000.0).contains(&size.height.get()) {
            return fail("a side of the sheet must be from 20 to 2000 mm".to_owned());
        }
        if let Some(scheme) = &self.fold {
            scheme.check().map_err(|e| ProjectError::Inconsistent(e.to_string()))?;
        }
        if let Some(booklet) = &self.booklet {
            booklet.check().map_err(ProjectError::Inconsistent)?;
        }
        for face in [Face::Front, Face::Back] {
            let inks = self.on(face).count();
            if inks > MAX_INKS {
                return fail(format!("{inks} layers on one face; {MAX_INKS} are the most"));
            }
        }
        Ok(())
    }

    /// The sheet as it lies, in mm.
    pub fn sheet_size(&self) -> Size {
        let size = self.sheet.size();
        if self.booklet.is_some() && size.height.get() > size.width.get() {
            return size.turned();
        }
        match (&self.fold, self.sheet) {
            _ if self.booklet.is_some() => size,
            (Some(scheme), _) => scheme.oriented(size),
            (None, SheetFormat::Custom(_) | SheetFormat::Ledger) => size,
            (None, _) if self.lying => size.turned(),
            (None, _) => size,
        }
    }

    /// How many sheets one copy takes.
    pub fn sheets(&self) -> usize {
        self.booklet.as_ref().map_or(1, Booklet::sheets)
    }

    /// How many pages artwork can be laid on.
    pub fn pages(&self) -> u32 {
        self.booklet.as_ref().map_or_else(|| self.fold.as_ref().map_or(0, Scheme::pages), |b| b.pages)
    }

    /// How one sheet is folded, from 0.
    pub fn sheet_scheme(&self, sheet: usize) -> Option<Scheme> {
        match &self.booklet {
            Some(booklet) => booklet.scheme(sheet),
            None => self.fold.clone(),
        }
    }

    /// One sheet, from 0, as a project of its own: of a booklet what lies on that sheet, and artwork over two
    /// pages as a piece for each. Layers keep their index; where an ink has artwork for the other face and no
    /// layer there, one is added at the end. Artwork of the whole sheet lies on every sheet.
    pub fn on_sheet(&self, sheet: usize) -> std::borrow::Cow<'_, Self> {
        let spread = |l: &Layer| l.art.iter().any(|a| matches!(a.target, Target::Spread(_)));
        if self.booklet.is_none() && !self.layers.iter().any(spread) {
            return std::borrow::Cow::Borrowed(self);
        }
        let mut one = self.clone();
        one.fold = self.sheet_scheme(sheet);
        one.booklet = None;
        one.layers.iter_mut().for_each(|l| l.art.clear());
        // Each layer has its own twin on the other face: two of one ink may be read otherwise.
        let mut twins: Vec<Option<usize>> = vec![None; self.layers.len()];
        for (i, layer) in self.layers.iter().enumerate() {
            for (face, art) in layer.art.iter().flat_map(|a| self.pieces(a, layer.face, sheet)) {
                let at = if layer.face == face { i } else { self.twin(&mut one, &mut twins, i, face) };
                if let Some(l) = one.layers.get_mut(at) {
                    l.art.push(art);
                }
            }
        }
        // Remedies on the other face look at what is printed there.
        for twin in one.layers.iter_mut().skip(self.layers.len()) {
            crate::remedy::follow(std::slice::from_mut(twin), |was| twins.get(was).copied().flatten());
        }
        std::borrow::Cow::Owned(one)
    }

    /// The layer of one of this project's sheets that takes what a layer has for the other face: one of that face
    /// that prints alike and is no other layer's twin, or else a new one at the end.
    fn twin(&self, one: &mut Self, twins: &mut [Option<usize>], i: usize, face: Face) -> usize {
        if let Some(at) = twins.get(i).copied().flatten() {
            return at;
        }
        let Some(layer) = self.layers.get(i) else { return i };
        let alike = |(at, l): &(usize, &Layer)| {
            let same = (l.face, &l.ink.name, &l.reading, l.visible, &l.remedies)
                == (face, &layer.ink.name, &layer.reading, layer.visible, &layer.remedies);
            same && !twins.contains(&Some(*at))
        };
        let known = one.layers.iter().enumerate().take(self.layers.len()).find(alike).map(|(at, _)| at);
        let at = known.unwrap_or_else(|| {
            one.layers.push(Layer { face, art: Vec::new(), ..layer.clone() });
            one.layers.len() - 1
        });
        if let Some(twin) = twins.get_mut(i) {
            *twin = Some(at);
        }
        at
    }

    /// The layer of this project that a layer of one of its sheets ([`Self::on_sheet`]) comes from.
    pub fn origin(&self, one: &Self, layer: usize) -> usize {
        let twin = one.layers.get(layer).map(|l| (&l.name, &l.ink.name));
        let same = || self.layers.iter().position(|l| Some((&l.name, &l.ink.name)) == twin);
        if layer < self.layers.len() { layer } else { same().unwrap_or(layer) }
    }

    /// The pieces of one artwork that lie on a sheet, with their face.
    fn pieces(&self, art: &Art, face: Face, sheet: usize) -> Vec<(Face, Art)> {
        let size = self.sheet_size();
        let page = |n: u32, half: f64| -> Option<(Face, Art)> {
            let (on, place, creep) = match &self.booklet {
                Some(b) => {
                    let found = b.place(size, n, Mm::ZERO).filter(|p| p.sheet == sheet)?;
                    let caliper = Mm::new(crate::paper::caliper(&self.stock));
                    (found.place.face, found.place, b.toward_spine(n, sheet, caliper))
                }
                None => {
                    let place = self.fold.as_ref()?.place(size, n)?;
                    (place.face, place, 0.0)
                }
            };
            let dx = Mm::new(art.placement.dx.get() + half * place.size.width.get() / 2.0 + creep);
            let placement = crate::layer::Placement { dx, ..art.placement };
            Some((on, Art { target: Target::Page(n), placement, ..art.clone() }))
        };
        match art.target {
            Target::Sheet => vec![(face, art.clone())],
            Target::Page(n) => page(n, 0.0).into_iter().collect(),
            // The middle of the spread is the right edge of its left page.
            Target::Spread(n) => [page(n, 1.0), page(n + 1, -1.0)].into_iter().flatten().collect(),
        }
    }

    /// The layers of one face with their index, in printing order.
    pub fn on(&self, face: Face) -> impl Iterator<Item = (usize, &Layer)> {
        self.layers.iter().enumerate().filter(move |(_, l)| l.face == face)
    }

    /// Takes over the shelf's measured overprints of this project's inks on its stock; those that the project
    /// has already are replaced only when asked.
    pub fn take_overprints(&mut self, shelf: &Shelf, replace: bool) {
        let used = |name: &String| self.layers.iter().any(|l| l.ink.name == *name);
        let fitting = |s: &&OverprintSwatch| s.stock == self.stock.name && s.inks.iter().all(used);
        let fresh: Vec<OverprintSwatch> = shelf.overprints.iter().filter(fitting).cloned().collect();
        for swatch in fresh {
            match self.overprints.iter_mut().find(|s| (&s.inks, &s.stock) == (&swatch.inks, &swatch.stock)) {
                Some(known) if replace => *known = swatch,
                Some(_) => {}
                None => self.overprints.push(swatch),
            }
        }
    }

    /// Whether anything is, or by its fold should be, on the back.
    pub fn two_sided(&self) -> bool {
        self.booklet.is_some()
            || self.fold.as_ref().is_some_and(Scheme::two_sided)
            || self.on(Face::Back).next().is_some()
    }
}

fn parse<T: serde::de::DeserializeOwned>(text: &str) -> Result<T, ProjectError> {
    ron::from_str(text).map_err(|e| {
        let at = e.span.start;
        let excerpt: String =
            text.lines().nth(at.line.saturating_sub(1)).unwrap_or("").trim().chars().take(60).collect();
        ProjectError::Parse { line: at.line, column: at.col, excerpt, why: e.code.to_string() }
    })
}

fn from_v1(old: ProjectV1) -> Result<Project, ProjectError> {
    let fold = match old.fold {
        None => None,
        Some(id) => Some(
            fold::find(&id)
                .ok_or_else(|| ProjectError::Inconsistent(format!("it names an unknown fold, “{id}”")))?,
        ),
    };
    let mut project = Project::new(&old.title, old.sheet, old.stock);
    (project.layers, project.fold) = (old.layers, fold);
    Ok(project)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::Lab;
    use crate::ink::{Ink, Swatch};

    fn stock() -> Stock {
        let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
        Stock::new("Plain white", colour)
    }

    fn project() -> Project {
        let mut p = Project::new("A “quoted” title\nover two lines", SheetFormat::Letter, stock());
        p.fold = fold::find("slit8");
        p.layers.push(Layer {
            name: "sea".to_owned(),
            ink: Ink::estimated("Deep blue", Lab::new(40.0, 0.0, -40.0).unwrap()),
            face: Face::Front,
            art: vec![],
            slip: crate::layer::Slip { dx: Mm::new(0.1), ..Default::default() },
            visible: true,
            reading: Default::default(),
            with_previous: false,
            remedies: vec![],
        });
        p
    }

    #[test]
    fn a_project_comes_back_as_it_was_saved() {
        let p = project();
        assert_eq!(Project::from_ron(&p.to_ron().unwrap()).unwrap(), p);
    }

    #[test]
    fn a_newer_format_is_refused_with_advice() {
        let text = project().to_ron().unwrap().replace("schema: 3", "schema: 99");
        let error = Project::from_ron(&text).unwrap_err();
        assert_eq!(error, ProjectError::Newer { found: 99 });
        assert!(error.to_string().contains("update the program"));
    }

    #[test]
    fn the_first_format_named_its_fold_and_is_brought_up_to_date() {
        let stock = ron::to_string(&stock()).unwrap();
        let text = format!(
            r#"(schema: 1, title: "old", sheet: A4, stock: {stock}, layers: [], fold: Some("slit8"))"#
        );
        let p = Project::from_ron(&text).unwrap();
        assert_eq!((p.schema, p.fold.as_ref().map(|f| f.id.as_str())), (SCHEMA, Some("slit8")));
        let unknown = text.replace("slit8", "nothing");
        assert!(Project::from_ron(&unknown).unwrap_err().to_string().contains("unknown fold"));
    }

    #[test]
    fn the_second_format_is_read_with_a_press_of_estimates() {
        let text = project().to_ron().unwrap().replace("schema: 3", "schema: 2");
        let start = text.find("  press: ").unwrap();
        let end = text[start..].find("\n  ),").unwrap() + start + 5;
        let old = format!("{}{}", &text[..start], &text[end..]);
        assert_eq!(Project::from_ron(&old).unwrap(), project());
    }

    #[test]
    fn a_number_that_is_none_is_pointed_at() {
        let text = project().to_ron().unwrap().replace("dx: 0.1", "dx: NaN");
        let error = Project::from_ron(&text).unwrap_err().to_string();
        assert!(error.contains("dx: NaN") && error.contains("a length in mm"), "{error}");
    }

    #[test]
    fn too_many_inks_on_a_face_are_refused() {
        let mut p = project();
        p.layers = vec![p.layers[0].clone(); 9];
        assert!(p.check().unwrap_err().to_string().contains("9 layers"));
        p.layers[8].face = Face::Back;
        assert!(p.check().is_ok());
    }
}
