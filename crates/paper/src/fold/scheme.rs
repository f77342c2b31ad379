//! What a scheme says, and where that puts each page on the sheet.

use serde::{Deserialize, Serialize};

use slipsheet_base::geometry::{Affine, Rect};
use slipsheet_base::units::Size;

/// Which face of the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
pub enum Face {
    /// The face that is printed first.
    #[default]
    Front,
    /// The other one, seen after turning the sheet over about its vertical axis.
    Back,
}

impl Face {
    /// Both, in the order they are printed.
    pub const BOTH: [Self; 2] = [Self::Front, Self::Back];

    /// The face on the other side of the paper.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Front => Self::Back,
            Self::Back => Self::Front,
        }
    }

    /// The side of a sheet in words: “front”, or of several sheets “front of sheet 2”; sheets are counted from 0 here.
    pub fn of_sheet(self, sheet: usize, sheets: usize) -> String {
        let face = self.name().to_lowercase();
        if sheets < 2 { face } else { format!("{face} of sheet {}", sheet + 1) }
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Front => "Front",
            Self::Back => "Back",
        }
    }
}

/// How far a page is turned on the sheet, clockwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Turn {
    /// Upright. Projects of the first two formats say `None`.
    #[default]
    #[serde(alias = "None")]
    Upright,
    /// 90 degrees clockwise.
    Right,
    Half,
    /// 270 degrees clockwise.
    Left,
}

impl Turn {
    /// The turn in degrees, clockwise.
    pub fn degrees(self) -> f64 {
        match self {
            Self::Upright => 0.0,
            Self::Right => 90.0,
            Self::Half => 180.0,
            Self::Left => 270.0,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Panel {
    /// Page number, from 1.
    pub page: u32,
    /// How the page stands on the sheet.
    #[serde(default)]
    pub turn: Turn,
}

/// A line of the panel grid: `Vertical(1)` lies between the first and the second column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum GridLine {
    /// Vertical line after so many columns.
    Vertical(usize),
    /// Horizontal line after so many rows.
    Horizontal(usize),
}

/// Which way a crease bends, seen on the front.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Fold {
    /// The front faces come together.
    Valley,
    /// The back faces come together.
    Mountain,
}

/// Which part of the sheet a step moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Side {
    /// Left of, or above, the crease.
    Before,
    /// Right of, or below, the crease.
    After,
}

/// A crease, and the step in which it is folded (creases are listed in that order).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Crease {
    pub line: GridLine,
    /// Which way the panel that stays bends.
    pub fold: Fold,
    pub moves: Side,
    /// Grid positions along the line from and to which it is creased; the whole line when absent.
    #[serde(default)]
    pub span: Option<(usize, usize)>,
}

/// A cut inside the sheet along a grid line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Slit {
    pub line: GridLine,
    /// First grid position along the line.
    pub from: usize,
    /// Last grid position along the line.
    pub to: usize,
}

/// What the folded thing is, and so how its pages turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Binding {
    /// Opens by unfolding the creases, last one first.
    Leaflet,
    /// One ring of panels, opened along a slit and gathered into a booklet.
    Ring,
    /// A folded section with a spine, its head trimmed open; leaves turn.
    Section,
}

/// In which order the pages of a leaflet are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum PageOrder {
    /// As it opens, last crease first: outer panels that come to light on the left are read next, those on the
    /// right on the way out, and the inside from left to right once all of it lies open.
    Opening,
    /// Along the face of page 1, then along the other.
    Along,
    /// Page 1, then everything on the other face, then the rest.
    Inside,
}

impl PageOrder {
    /// Every order.
    pub const ALL: [Self; 3] = [Self::Opening, Self::Along, Self::Inside];
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scheme {
    /// Short name for files and the command line.
    pub id: String,
    pub name: String,
    pub summary: String,
    /// Whether the sheet is landscape.
    #[serde(alias = "lying")]
    pub landscape: bool,
    /// Relative widths of the columns, left to right on the front.
    pub columns: Vec<f64>,
    /// Relative heights of the rows, top to bottom.
    pub rows: Vec<f64>,
    pub front: Vec<Panel>,
    /// Panels of the back as seen from the back, row by row; empty when the back stays blank.
    #[serde(default)]
    pub back: Vec<Panel>,
    /// Creases in folding order.
    pub creases: Vec<Crease>,
    #[serde(default)]
    pub slits: Vec<Slit>,
    pub binding: Binding,
    /// The order in which a leaflet is read; the first that fits when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order: Option<PageOrder>,
    /// How many mm each column is shorter than its share of the sheet, left to right on the front; what folds
    /// inside other panels must be a little shorter. Empty when none is.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub shorter: Vec<f64>,
}

/// What is wrong with a scheme.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SchemeError {
    #[error("the fold scheme cannot be read: {0}")]
    Parse(String),
    #[error("the fold scheme “{id}” is not consistent: {why}")]
    Inconsistent { id: String, why: String },
    #[error("the fold scheme “{id}” does not fold into its pages: {why}")]
    DoesNotFold { id: String, why: super::FoldError },
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PagePlace {
    /// Page number, from 1.
    pub page: u32,
    pub face: Face,
    /// Column and row, in the frame of that face.
    pub cell: (usize, usize),
    /// The panel in mm, in the frame of that face.
    pub rect: Rect,
    pub turn: Turn,
    /// Size of the page when it stands upright.
    pub size: Size,
    /// From the upright page (mm, origin at its top left) to the face (mm).
    pub face_from_page: Affine,
}

impl Scheme {
    /// Reads a scheme and checks it.
    ///
    /// # Errors
    /// When the text is not a scheme, or its parts contradict each other.
    pub fn from_ron(text: &str) -> Result<Self, SchemeError> {
        let wrong = |e: ron::error::SpannedError| {
            SchemeError::Parse(format!(
                "at line {}: {}",
                e.span.start.line,
                slipsheet_base::ron_words::sentence(&e)
            ))
        };
        let scheme: Self = ron::from_str(text).map_err(wrong)?;
        scheme.check()?;
        Ok(scheme)
    }

    /// Checks that panels fill the grid, that every page number from 1 on appears once, that lines lie
    /// inside the sheet, and that the fold that each binding asks for can be made.
    ///
    /// # Errors
    /// The first thing found wrong.
    pub fn check(&self) -> Result<(), SchemeError> {
        let fail = |why: String| Err(SchemeError::Inconsistent { id: self.id.clone(), why });
        let (cols, rows) = (self.columns.len(), self.rows.len());
        if cols == 0 || rows == 0 || cols > 64 || rows > 64 {
            return fail("it needs 1 to 64 columns and rows".to_owned());
        }
        if self.columns.iter().chain(&self.rows).any(|s| !(s.is_finite() && *s > 0.0)) {
            return fail("every column and row needs a size above 0".to_owned());
        }
        if self.front.len() != cols * rows || !(self.back.is_empty() || self.back.len() == cols * rows) {
            return fail(format!("each printed face needs {} panels", cols * rows));
        }
        let mut pages: Vec<u32> = self.front.iter().chain(&self.back).map(|p| p.page).collect();
        pages.sort_unstable();
        if !pages.iter().enumerate().all(|(i, p)| *p == i as u32 + 1) {
            return fail("every page from 1 on must appear exactly once".to_owned());
        }
        let inside = |line: GridLine| match line {
            GridLine::Vertical(i) => i > 0 && i < cols,
            GridLine::Horizontal(i) => i > 0 && i < rows,
        };
        let spans = |line: GridLine, span: Option<(usize, usize)>| {
            let end = match line {
                GridLine::Vertical(_) => rows,
                GridLine::Horizontal(_) => cols,
            };
            span.is_none_or(|(from, to)| from < to && to <= end)
        };
        if !self.creases.iter().all(|c| inside(c.line) && spans(c.line, c.span))
            || !self.slits.iter().all(|s| inside(s.line) && spans(s.line, Some((s.from, s.to))))
        {
            return fail("creases and slits must lie inside the sheet".to_owned());
        }
        if self.binding == Binding::Section && self.back.is_empty() {
            return fail("a section is printed on both faces".to_owned());
        }
        if !(self.shorter.is_empty() || self.shorter.len() == cols)
            || !self.shorter.iter().all(|mm| (-20.0..=20.0).contains(mm))
        {
            return fail("what columns are shorter by is one number a column, within 20 mm".to_owned());
        }
        self.verify().map_err(|why| SchemeError::DoesNotFold { id: self.id.clone(), why })
    }

    pub fn pages(&self) -> u32 {
        (self.front.len() + self.back.len()) as u32
    }

    /// Whether both faces carry pages.
    pub fn two_sided(&self) -> bool {
        !self.back.is_empty()
    }

    /// A sheet size turned the way this scheme wants it.
    pub fn oriented(&self, size: Size) -> Size {
        if (size.width.get() > size.height.get()) == self.landscape { size } else { size.turned() }
    }

    /// Positions of the grid's vertical lines in mm, `columns + 1` of them, in the frame of a face.
    pub fn column_lines(&self, sheet: Size, face: Face) -> Vec<f64> {
        let total: f64 = self.columns.iter().sum();
        let short: f64 = self.shorter.iter().sum();
        let short_of = |i: usize| self.shorter.get(i).copied().unwrap_or(0.0);
        let share = (sheet.width.get() + short) / total;
        let mut widths: Vec<f64> =
            self.columns.iter().enumerate().map(|(i, part)| part * share - short_of(i)).collect();
        if face == Face::Back {
            widths.reverse();
        }
        lines(&widths, sheet.width.get())
    }

    /// Positions of the grid's horizontal lines in mm, `rows + 1` of them.
    pub fn row_lines(&self, sheet: Size) -> Vec<f64> {
        lines(&self.rows, sheet.height.get())
    }

    /// Every page of a face, row by row.
    pub fn places(&self, sheet: Size, face: Face) -> Vec<PagePlace> {
        let (xs, ys) = (self.column_lines(sheet, face), self.row_lines(sheet));
        let panels = match face {
            Face::Front => &self.front,
            Face::Back => &self.back,
        };
        let cols = self.columns.len();
        let place = |(i, panel): (usize, &Panel)| {
            let (col, row) = (i % cols, i / cols);
            let (x0, x1) = (*xs.get(col)?, *xs.get(col + 1)?);
            let (y0, y1) = (*ys.get(row)?, *ys.get(row + 1)?);
            let rect = Rect { x: x0, y: y0, width: x1 - x0, height: y1 - y0 };
            let upright = Size::mm(rect.width, rect.height);
            let size = match panel.turn {
                Turn::Upright | Turn::Half => upright,
                Turn::Right | Turn::Left => upright.turned(),
            };
            let c = rect.centre();
            let face_from_page = Affine::shift(c.x, c.y)
                * Affine::turn(panel.turn.degrees())
                * Affine::shift(-size.width.get() / 2.0, -size.height.get() / 2.0);
            Some(PagePlace {
                page: panel.page,
                face,
                cell: (col, row),
                rect,
                turn: panel.turn,
                size,
                face_from_page,
            })
        };
        panels.iter().enumerate().filter_map(place).collect()
    }

    /// Where one page lies; `None` when the scheme has no such page.
    pub fn place(&self, sheet: Size, page: u32) -> Option<PagePlace> {
        let find = |face| self.places(sheet, face).into_iter().find(|p| p.page == page);
        find(Face::Front).or_else(|| find(Face::Back))
    }
}

fn lines(parts: &[f64], length: f64) -> Vec<f64> {
    let total: f64 = parts.iter().sum();
    let mut at = 0.0;
    let mut lines = vec![0.0];
    for part in parts {
        at += part;
        lines.push(at / total * length);
    }
    lines
}
