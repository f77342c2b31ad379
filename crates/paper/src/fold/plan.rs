//! A fold scheme while it is being drawn: a sheet with its grid, creases and slits, which may not fold yet and
//! whose pages may not be named yet. Trying it out says how far it folds, and why no farther.

pub(super) mod grid;
mod number;
#[cfg(test)]
mod tests;
pub(super) mod view;

use super::engine::Folding;
use super::engine::error::FoldError;
use super::scheme::{
    Binding, Crease, Face, Fold, GridLine, PageOrder, Panel, Scheme, SchemeError, Side, Slit, Turn,
};
use slipsheet_base::units::Size;

/// The most columns, and the most rows, that a sheet is drawn with.
pub const MOST_LINES: usize = 16;

/// A scheme being drawn. A page number of 0 means that the panel has not been named.
#[derive(Debug, Clone, PartialEq)]
pub struct FoldPlan {
    /// What is drawn so far; not checked.
    pub scheme: Scheme,
}

/// What a stretch of a grid line is used for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineUse {
    Plain,
    Crease(Fold),
    Slit,
}

/// What comes of folding a plan step by step.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// The sheet as far as it folds. A ring is gathered rather than folded flat and has no steps.
    pub folding: Folding,
    /// What is in the way of its being a scheme.
    pub trouble: Option<PlanError>,
}

/// What is in the way of a plan.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PlanError {
    #[error("nothing is creased yet; click on a line of the grid to crease it")]
    NoCrease,
    #[error("{why}")]
    Fold {
        /// The crease it concerns, as an index in folding order.
        crease: Option<usize>,
        why: FoldError,
    },
    #[error("the crease between {} and {} of the slit booklet must be a {}", at(cells.0), at(cells.1), if *valley { "valley" } else { "mountain" })]
    RingCrease {
        /// The crease it concerns, as an index in folding order; `None` when it is missing.
        crease: Option<usize>,
        cells: ((usize, usize), (usize, usize)),
        /// Whether the fronts must come together there.
        valley: bool,
    },
    #[error("{} of the {} has no page yet; name it, or let the pages be numbered", at(*cell), face.name().to_lowercase())]
    Unnamed { face: Face, cell: (usize, usize) },
    #[error("{0}")]
    Inconsistent(String),
}

impl PlanError {
    /// The crease it concerns, as an index in folding order.
    pub fn crease(&self) -> Option<usize> {
        match self {
            Self::Fold { crease, .. } | Self::RingCrease { crease, .. } => *crease,
            Self::NoCrease | Self::Unnamed { .. } | Self::Inconsistent(_) => None,
        }
    }
}

fn at((column, row): (usize, usize)) -> String {
    format!("column {}, row {}", column + 1, row + 1)
}

impl From<SchemeError> for PlanError {
    fn from(error: SchemeError) -> Self {
        match error {
            SchemeError::DoesNotFold { why, .. } => Self::Fold { crease: None, why },
            SchemeError::Inconsistent { why, .. } => Self::Inconsistent(why),
            other @ SchemeError::Parse(_) => Self::Inconsistent(other.to_string()),
        }
    }
}

impl FoldPlan {
    /// An empty sheet of equal panels.
    pub fn sheet(columns: usize, rows: usize) -> Self {
        let (columns, rows) = (columns.clamp(1, MOST_LINES), rows.clamp(1, MOST_LINES));
        let unnamed = vec![UNNAMED; columns * rows];
        Self {
            scheme: Scheme {
                id: String::new(),
                name: String::new(),
                summary: String::new(),
                landscape: true,
                columns: vec![1.0; columns],
                rows: vec![1.0; rows],
                front: unnamed.clone(),
                back: unnamed,
                creases: Vec::new(),
                slits: Vec::new(),
                binding: Binding::Leaflet,
                order: Some(PageOrder::Opening),
                shorter: Vec::new(),
            },
        }
    }

    /// Folds it step by step, as far as it goes; `sheet` is its size in mm.
    pub fn try_out(&self, sheet: Size) -> Trial {
        let scheme = &self.scheme;
        let upto = |n: usize| {
            let creases = scheme.creases.iter().take(n).copied().collect();
            Folding::of(&Scheme { creases, ..scheme.clone() }, scheme.oriented(sheet))
        };
        let mut trial = Trial { folding: Folding::flat(scheme, scheme.oriented(sheet)), trouble: None };
        if scheme.binding != Binding::Ring {
            for n in 1..=scheme.creases.len() {
                match upto(n) {
                    Ok(folding) => trial.folding = folding,
                    Err(why) => {
                        trial.trouble = Some(PlanError::Fold { crease: Some(n - 1), why });
                        return trial;
                    }
                }
            }
        }
        trial.trouble = self.checked().err();
        trial
    }

    /// The scheme, once it folds into the pages named.
    ///
    /// # Errors
    /// What is in the way.
    pub fn checked(&self) -> Result<Scheme, PlanError> {
        if self.scheme.creases.is_empty() {
            return Err(PlanError::NoCrease);
        }
        if let Some((face, cell)) = self.unnamed() {
            // What folding says against any numbering comes before the missing number.
            self.numbered(None)?;
            return Err(PlanError::Unnamed { face, cell });
        }
        self.scheme.check()?;
        Ok(self.scheme.clone())
    }

    fn unnamed(&self) -> Option<(Face, (usize, usize))> {
        let cols = self.scheme.columns.len().max(1);
        let on = |face, panels: &[Panel]| {
            panels.iter().position(|p| p.page == 0).map(|i| (face, (i % cols, i / cols)))
        };
        on(Face::Front, &self.scheme.front).or_else(|| on(Face::Back, &self.scheme.back))
    }

    /// A panel by its column and row as its face is seen.
    pub fn panel_mut(&mut self, face: Face, (c, r): (usize, usize)) -> Option<&mut Panel> {
        let cols = self.scheme.columns.len();
        let panels = if face == Face::Front { &mut self.scheme.front } else { &mut self.scheme.back };
        if c < cols { panels.get_mut(r * cols + c) } else { None }
    }

    /// Whether the back carries pages.
    pub fn print_back(&mut self, both: bool) {
        if both != self.scheme.two_sided() {
            self.scheme.back = if both { vec![UNNAMED; self.scheme.front.len()] } else { Vec::new() };
        }
    }

    /// What one stretch of a grid line is used for.
    pub fn line_use(&self, line: GridLine, at: usize) -> LineUse {
        if self.scheme.slits.iter().any(|s| s.line == line && (s.from..s.to).contains(&at)) {
            return LineUse::Slit;
        }
        let on = |c: &&Crease| c.line == line && c.span.is_none_or(|(a, b)| (a..b).contains(&at));
        self.scheme.creases.iter().find(on).map_or(LineUse::Plain, |c| LineUse::Crease(c.fold))
    }

    pub fn stretches(&self, line: GridLine) -> usize {
        match line {
            GridLine::Vertical(_) => self.scheme.rows.len(),
            GridLine::Horizontal(_) => self.scheme.columns.len(),
        }
    }

    /// Uses the stretches `from..to` of a line for something else. A crease keeps its place in the order where
    /// it only changes or grows; a new one is folded last.
    pub fn use_line(&mut self, line: GridLine, (from, to): (usize, usize), wanted: LineUse) {
        let whole = self.stretches(line);
        if from >= to || to > whole {
            return;
        }
        let span_of = |a: usize, b: usize| if (a, b) == (0, whole) { None } else { Some((a, b)) };
        let mut first: Option<(usize, Side)> = None;
        let mut creases: Vec<Crease> = Vec::new();
        for crease in &self.scheme.creases {
            let (a, b) = crease.span.unwrap_or((0, whole));
            if crease.line != line || b <= from || to <= a {
                creases.push(*crease);
                continue;
            }
            first.get_or_insert((creases.len(), crease.moves));
            let rest = [(a, from.min(b)), (to.max(a), b)];
            creases.extend(
                rest.iter().filter(|(a, b)| a < b).map(|(a, b)| Crease { span: span_of(*a, *b), ..*crease }),
            );
        }
        let cut = |s: &Slit| [(s.from, s.to.min(from)), (s.from.max(to), s.to)];
        let mut slits: Vec<Slit> = Vec::new();
        for slit in &self.scheme.slits {
            if slit.line == line {
                let rest = cut(slit).into_iter().filter(|(a, b)| a < b);
                slits.extend(rest.map(|(from, to)| Slit { line, from, to }));
            } else {
                slits.push(*slit);
            }
        }
        match wanted {
            LineUse::Plain => {}
            LineUse::Slit => {
                let (mut a, mut b) = (from, to);
                slits.retain(|s| {
                    let joins = s.line == line && (s.to == a || s.from == b);
                    if joins {
                        (a, b) = (a.min(s.from), b.max(s.to));
                    }
                    !joins
                });
                slits.push(Slit { line, from: a, to: b });
            }
            LineUse::Crease(fold) => {
                let joins = |c: &Crease| {
                    c.line == line && c.fold == fold && c.span.is_some_and(|(a, b)| b == from || a == to)
                };
                let near: Vec<usize> = (0..creases.len()).filter(|i| joins(&creases[*i])).collect();
                let (mut a, mut b) = (from, to);
                for i in &near {
                    let span = creases[*i].span.unwrap_or((a, b));
                    (a, b) = (a.min(span.0), b.max(span.1));
                }
                if let Some(i) = near.first() {
                    creases[*i].span = span_of(a, b);
                    for extra in near.iter().skip(1).rev() {
                        creases.remove(*extra);
                    }
                } else {
                    let (place, moves) = first.unwrap_or((creases.len(), Side::After));
                    let crease = Crease { line, fold, moves, span: span_of(from, to) };
                    creases.insert(place.min(creases.len()), crease);
                }
            }
        }
        (self.scheme.creases, self.scheme.slits) = (creases, slits);
    }

    /// Moves a crease to another place in the folding order.
    pub fn move_crease(&mut self, from: usize, to: usize) {
        if from < self.scheme.creases.len() && to < self.scheme.creases.len() {
            let crease = self.scheme.creases.remove(from);
            self.scheme.creases.insert(to, crease);
        }
    }
}

/// A panel that has not been named.
pub(super) const UNNAMED: Panel = Panel { page: 0, turn: Turn::Upright };
