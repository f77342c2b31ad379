//! The plan of a calibration sheet: where every patch, corner mark and code square lies.

use super::CalibrateError;
use crate::geometry::{Point, Rect};
use crate::overprint::MAX_INKS;
use crate::units::Size;

/// Steps of a wedge: 0, 5, .. 100 % of ink asked for.
pub const STEPS: usize = 21;

/// Cells in a row of patches: a wedge and its solid take two rows.
const COLUMNS: usize = 11;
/// From a sheet's edges to the centre of a corner mark, mm.
const CORNER: f64 = 18.0;
/// Radii of a corner mark, mm: outside and inside of the ring, and the dot. Inks that miss one another by
/// less than the white between still leave a ring around a dot.
pub(super) const RING: [f64; 3] = [4.5, 3.0, 1.5];
/// Side of a code square and from one to the next, mm.
const CODE: (f64, f64) = (3.0, 4.0);
/// White between rows and between columns, mm.
const GAP: (f64, f64) = (3.0, 1.5);
/// Largest and smallest side of a patch, mm.
const SIDE: (f64, f64) = (11.0, 5.0);
/// White from the sheet's edges to the patches, mm.
const MARGIN: (f64, f64) = (26.0, 13.0);
/// Squares of a code.
const BITS: usize = 10;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PatchKind {
    Paper,
    /// A step of an ink's wedge.
    Step {
        /// Ink, from 0, in printing order.
        ink: usize,
        /// Step, 0 to 20.
        step: usize,
    },
    Solid {
        /// Ink, from 0.
        ink: usize,
    },
    /// Solids over one another.
    Overprint {
        /// Bit k is ink k.
        mask: usize,
    },
}

impl PatchKind {
    /// Coverage of an ink that the patch asks for, 0..=1.
    pub fn asked(self, of: usize) -> f64 {
        match self {
            Self::Step { ink, step } if ink == of => step as f64 / (STEPS - 1) as f64,
            Self::Solid { ink } if ink == of => 1.0,
            Self::Overprint { mask } if mask >> of & 1 == 1 => 1.0,
            Self::Paper | Self::Step { .. } | Self::Solid { .. } | Self::Overprint { .. } => 0.0,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    pub kind: PatchKind,
    /// Where, in mm from the sheet's upper left corner.
    pub area: Rect,
}

/// A shape of a plate; later ones cover earlier ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mark {
    /// A box of this coverage.
    Box {
        /// Where, mm.
        area: Rect,
        /// Coverage, 0..=1.
        cover: f64,
    },
    /// A disc of this coverage.
    Disc {
        /// Centre, mm.
        centre: Point,
        /// Radius, mm.
        radius: f64,
        /// Coverage, 0..=1.
        cover: f64,
    },
}

/// The plan of a calibration sheet. Lengths are mm from the upper left corner.
#[derive(Debug, Clone, PartialEq)]
pub struct WedgeSheet {
    pub size: Size,
    /// Names of the inks in printing order.
    pub inks: Vec<String>,
    /// Code of the reading that the masters are made with, 0 to 7; the sheet carries it.
    pub reading: u8,
    /// Centres of the corner marks: upper left, upper right, lower right, lower left.
    pub fiducials: [Point; 4],
    pub patches: Vec<Patch>,
    /// Squares of each ink's code, filled or empty.
    pub code: Vec<Vec<Rect>>,
    /// Spots where the paper stays bare, at least 1 mm around.
    pub bare: Vec<Point>,
}

impl WedgeSheet {
    /// The plan for these inks.
    ///
    /// # Errors
    /// [`CalibrateError::Inks`], [`CalibrateError::Reading`] or [`CalibrateError::SheetTooSmall`].
    pub fn new(size: Size, inks: &[String], reading: u8) -> Result<Self, CalibrateError> {
        let k = inks.len();
        if !(1..=MAX_INKS).contains(&k) {
            return Err(CalibrateError::Inks(k));
        }
        if reading > 7 {
            return Err(CalibrateError::Reading(reading));
        }
        let (w, h) = (size.width.get(), size.height.get());
        let overprints: Vec<usize> = masks(k);
        let rows = 2 * k + (1 + overprints.len()).div_ceil(COLUMNS);
        let pitch = ((w - 2.0 * MARGIN.0) / COLUMNS as f64).min(SIDE.0 + GAP.1);
        let free = h - 2.0 * MARGIN.1 - k as f64 * (CODE.0 + GAP.0);
        let side = (pitch - GAP.1, (free / rows as f64 - GAP.0).min(SIDE.0));
        let code_width = (BITS as f64) * CODE.1;
        if side.0.min(side.1) < SIDE.1 || code_width > w - 2.0 * MARGIN.0 {
            return Err(CalibrateError::SheetTooSmall { inks: k });
        }
        let mut plan = Self {
            size,
            inks: inks.to_vec(),
            reading,
            fiducials: [
                (CORNER, CORNER),
                (w - CORNER, CORNER),
                (w - CORNER, h - CORNER),
                (CORNER, h - CORNER),
            ]
            .map(|(x, y)| Point::new(x, y)),
            patches: Vec::new(),
            code: Vec::new(),
            bare: Vec::new(),
        };
        let mut y = MARGIN.1;
        for ink in 0..k {
            let square =
                |i: usize| Rect { x: MARGIN.0 + i as f64 * CODE.1, y, width: CODE.0, height: CODE.0 };
            plan.code.push((0..BITS).map(square).collect());
            y += CODE.0 + GAP.0;
            let steps = (0..STEPS).map(|step| PatchKind::Step { ink, step });
            let kinds: Vec<PatchKind> = steps.chain([PatchKind::Solid { ink }]).collect();
            y = plan.rows(&kinds, y, pitch, side);
        }
        let kinds: Vec<PatchKind> = [PatchKind::Paper]
            .into_iter()
            .chain(overprints.into_iter().map(|mask| PatchKind::Overprint { mask }))
            .collect();
        plan.rows(&kinds, y, pitch, side);
        let edges = (0..9).map(|i| 30.0 + f64::from(i) / 8.0 * (h - 60.0));
        plan.bare.extend(edges.flat_map(|y| [Point::new(20.0, y), Point::new(w - 20.0, y)]));
        Ok(plan)
    }

    /// Lays out patches in rows from `y` down, with bare spots below each; returns where the next row begins.
    fn rows(&mut self, kinds: &[PatchKind], mut y: f64, pitch: f64, side: (f64, f64)) -> f64 {
        for row in kinds.chunks(COLUMNS) {
            for (i, kind) in row.iter().enumerate() {
                let x = MARGIN.0 + i as f64 * pitch;
                self.patches.push(Patch { kind: *kind, area: Rect { x, y, width: side.0, height: side.1 } });
                self.bare.push(Point::new(x + side.0 / 2.0, y + side.1 + GAP.0 / 2.0));
            }
            y += side.1 + GAP.0;
        }
        y
    }

    /// Which squares of an ink's code are filled: filled and empty, ink (3), reading (3), and the number of
    /// filled ones among these six modulo 4 (2).
    pub(crate) fn code_bits(&self, ink: usize) -> [bool; BITS] {
        code_bits(ink, self.reading)
    }

    /// What the plate of an ink shows, in drawing order.
    pub fn marks(&self, ink: usize) -> Vec<Mark> {
        let mut marks = Vec::new();
        for centre in self.fiducials {
            for (radius, cover) in RING.into_iter().zip([1.0, 0.0, 1.0]) {
                marks.push(Mark::Disc { centre, radius, cover });
            }
        }
        let squares = self.code.get(ink).into_iter().flatten().zip(self.code_bits(ink));
        marks.extend(squares.filter(|(_, on)| *on).map(|(area, _)| Mark::Box { area: *area, cover: 1.0 }));
        let patches = self.patches.iter().map(|p| Mark::Box { area: p.area, cover: p.kind.asked(ink) });
        marks.extend(patches.filter(|m| !matches!(m, Mark::Box { cover, .. } if *cover <= 0.0)));
        marks
    }
}

pub(super) fn code_bits(ink: usize, reading: u8) -> [bool; BITS] {
    let data: [bool; 6] =
        std::array::from_fn(|i| if i < 3 { ink >> (2 - i) & 1 == 1 } else { reading >> (5 - i) & 1 == 1 });
    let sum = data.iter().filter(|b| **b).count() % 4;
    std::array::from_fn(|i| match i {
        0 => true,
        1 => false,
        2..8 => data[i - 2],
        8 => sum & 2 == 2,
        _ => sum & 1 == 1,
    })
}

/// Overprints of a sheet: every pair, and all three of three inks.
fn masks(inks: usize) -> Vec<usize> {
    let pairs = (0..inks).flat_map(|b| (0..b).map(move |a| 1 << a | 1 << b));
    pairs.chain((inks == 3).then_some(7)).collect()
}
