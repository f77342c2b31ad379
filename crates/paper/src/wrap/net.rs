//! The flat net of a wrap, seen from its outside: cut outline, scores, glue and named faces.

use super::{Block, Wrap, WrapError, WrapKind};
use slipsheet_base::geometry::{Point, Rect};
use slipsheet_base::units::Size;

/// How far the sides of a glue flap lean in: the tangent of 15° (common practice, no source).
const LEAN: f64 = 0.268;
/// A closed edge narrower than this gets no flaps of its own: they could not be folded (common practice, no source).
const LEAST_DUST: f64 = 8.0;
/// Between hatches over glue, in mm.
const HATCH: f64 = 2.0;

/// What a face of a net is called.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FaceName {
    /// Over the last page.
    Back,
    Spine,
    /// Over the first page.
    Front,
    ForeEdge,
    Head,
    Foot,
    /// Glued under another face.
    GlueFlap,
    FrontFlap,
    BackFlap,
}

impl FaceName {
    pub fn name(self) -> &'static str {
        match self {
            Self::Back => "Back",
            Self::Spine => "Spine",
            Self::Front => "Front",
            Self::ForeEdge => "Fore-edge",
            Self::Head => "Head",
            Self::Foot => "Foot",
            Self::GlueFlap => "Glue flap",
            Self::FrontFlap => "Front flap",
            Self::BackFlap => "Back flap",
        }
    }
}

/// A named face, in mm from the top left of the net; a flap that leans in lies within its rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NetFace {
    pub name: FaceName,
    /// Where it lies, from the middle of its creases.
    pub rect: Rect,
}

/// What is done along a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NetLineKind {
    Cut,
    /// Scored and folded away from the outside.
    Score,
    /// A hatch over what is glued.
    Glue,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NetLine {
    pub from: Point,
    pub to: Point,
    pub kind: NetLineKind,
}

/// A flat net, in mm from the top left of its box.
///
/// With the block `W x H x T`, the wrap's caliper `c` and the allowance `a`:
///
/// - Sleeve and belly band: covers `W + a + c`, spine and fore edge `T + a + 2c`; one `c` for the halves of two
///   creases, and the other for the glue flap, which lies inside. Girth `2 (W + T + 2a + 3c)`, then the flap.
/// - Folded cover: covers `W + a + c`, spine `T + a + 3c`: both flaps lie inside. Without flaps covers are
///   `W + c/2`, flush at the fore edge, and the spine is `T + a + c`.
/// - Slipcase: covers `W + c/2`, flush with the spine; walls and fore edge `T + a + 2c`; height `H + a + c`, and
///   `2c` more where the fore edge has flaps of its own inside head and foot.
#[derive(Debug, Clone, PartialEq)]
pub struct Net {
    pub size: Size,
    /// The cut, closed, clockwise.
    pub outline: Vec<Point>,
    pub scores: Vec<(Point, Point)>,
    pub glue: Vec<Vec<Point>>,
    pub faces: Vec<NetFace>,
}

impl Net {
    /// The net of a wrap around a block, of a stock of caliper `c`.
    ///
    /// # Errors
    /// When a flap or a band does not go with the block.
    pub fn new(wrap: &Wrap, block: &Block, c: f64) -> Result<Self, WrapError> {
        let fits = |flap: f64, face: f64| {
            if flap <= face { Ok(()) } else { Err(WrapError::FlapTooWide { flap, face }) }
        };
        match wrap.kind {
            WrapKind::Sleeve | WrapKind::BellyBand => {
                fits(wrap.glue_flap.get(), block.width)?;
                let height =
                    if wrap.kind == WrapKind::Sleeve { block.height } else { wrap.band_height.get() };
                if height > block.height {
                    return Err(WrapError::BandTooHigh { band: height, height: block.height });
                }
                Ok(tube(wrap, block, c, height))
            }
            WrapKind::FoldedCover => {
                fits(wrap.flap_width.get(), block.width)?;
                Ok(cover(wrap, block, c))
            }
            WrapKind::Slipcase => {
                fits(wrap.glue_flap.get(), block.width.min(block.height) / 2.0)?;
                Ok(slipcase(wrap, block, c))
            }
        }
    }

    /// The first face of this name.
    pub fn face(&self, name: FaceName) -> Option<Rect> {
        self.faces.iter().find(|f| f.name == name).map(|f| f.rect)
    }

    /// Every line: cuts, then scores, then hatches over glue.
    pub fn lines(&self) -> Vec<NetLine> {
        let next = self.outline.iter().cycle().skip(1);
        let cuts =
            self.outline.iter().zip(next).map(|(a, b)| NetLine { from: *a, to: *b, kind: NetLineKind::Cut });
        let scores = self.scores.iter().map(|(a, b)| NetLine { from: *a, to: *b, kind: NetLineKind::Score });
        let glue = self.glue.iter().flat_map(|p| hatches(p));
        cuts.chain(scores)
            .chain(glue.map(|(from, to)| NetLine { from, to, kind: NetLineKind::Glue }))
            .collect()
    }
}

/// Faces side by side, each with its width, and where the next one begins.
fn row(faces: &[(FaceName, f64)], height: f64) -> (Vec<NetFace>, f64) {
    let mut x = 0.0;
    let placed = faces.iter().map(|(name, width)| {
        let rect = Rect { x, y: 0.0, width: *width, height };
        x += width;
        NetFace { name: *name, rect }
    });
    let placed: Vec<NetFace> = placed.collect();
    (placed, x)
}

/// The scores between faces that stand side by side.
fn between(faces: &[NetFace]) -> Vec<(Point, Point)> {
    let at = |f: &NetFace| (Point::new(f.rect.x, f.rect.y), Point::new(f.rect.x, f.rect.y + f.rect.height));
    faces.iter().skip(1).map(at).collect()
}

fn tube(wrap: &Wrap, block: &Block, c: f64, height: f64) -> Net {
    let (a, flap) = (wrap.allowance.get(), wrap.glue_flap.get());
    let (cover, side) = (block.width + a + c, block.thickness() + a + 2.0 * c);
    let widths = [
        (FaceName::Back, cover),
        (FaceName::Spine, side),
        (FaceName::Front, cover),
        (FaceName::ForeEdge, side),
        (FaceName::GlueFlap, flap),
    ];
    let (faces, width) = row(&widths, height);
    let crease = width - flap;
    let lean = (flap * LEAN).min(height / 4.0);
    let outline = vec![
        Point::new(0.0, 0.0),
        Point::new(crease, 0.0),
        Point::new(width, lean),
        Point::new(width, height - lean),
        Point::new(crease, height),
        Point::new(0.0, height),
    ];
    let glue = vec![outline.get(1..5).unwrap_or_default().to_vec()];
    Net { size: Size::mm(width, height), outline, scores: between(&faces), glue, faces }
}

fn cover(wrap: &Wrap, block: &Block, c: f64) -> Net {
    let (a, flap, height) = (wrap.allowance.get(), wrap.flap_width.get(), block.height);
    let widths = if flap > 0.0 {
        let (cover, spine) = (block.width + a + c, block.thickness() + a + 3.0 * c);
        vec![
            (FaceName::BackFlap, flap),
            (FaceName::Back, cover),
            (FaceName::Spine, spine),
            (FaceName::Front, cover),
            (FaceName::FrontFlap, flap),
        ]
    } else {
        let (cover, spine) = (block.width + c / 2.0, block.thickness() + a + c);
        vec![(FaceName::Back, cover), (FaceName::Spine, spine), (FaceName::Front, cover)]
    };
    let (faces, width) = row(&widths, height);
    let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
    let outline = corners.map(|(x, y)| Point::new(x, y)).to_vec();
    Net { size: Size::mm(width, height), outline, scores: between(&faces), glue: Vec::new(), faces }
}

fn slipcase(wrap: &Wrap, block: &Block, c: f64) -> Net {
    let (a, flap) = (wrap.allowance.get(), wrap.glue_flap.get());
    let (depth, wall) = (block.width + c / 2.0, block.thickness() + a + 2.0 * c);
    let has_dust = wall >= LEAST_DUST;
    let height = block.height + a + c + if has_dust { 2.0 * c } else { 0.0 };
    // The fore edge stands between the two covers, which open to the left and to the right of it.
    let (closed, front) = (depth, depth + wall);
    let width = front + depth;
    let top = wall + flap;
    let (mut glue, mut scores) = (Vec::new(), Vec::new());
    let lean = flap * LEAN;
    let inner = front + c / 2.0;
    let dust = flap.min(block.width / 2.0);
    let dust_lean = (dust * LEAN).min(wall / 4.0);
    // Half of the outline, from the left end of the head; y is how far above the faces a point lies.
    let mut half = vec![(0.0, 0.0)];
    let base = [(closed + c, 0.0), (front - c, 0.0)];
    if has_dust {
        half.extend([base[0], (base[0].0 + dust_lean, dust), (base[1].0 - dust_lean, dust), base[1]]);
    }
    half.extend([
        (inner, 0.0),
        (inner, wall),
        (inner + lean, wall + flap),
        (width - lean, wall + flap),
        (width, wall),
    ]);
    let foot = top + height;
    let head_of = |(x, y): &(f64, f64)| Point::new(*x, top - y);
    let foot_of = |(x, y): &(f64, f64)| Point::new(*x, foot + y);
    let mut outline: Vec<Point> = half.iter().map(head_of).collect();
    outline.extend(half.iter().rev().map(foot_of));
    for at in [&head_of as &dyn Fn(&(f64, f64)) -> Point, &foot_of] {
        let tail = half.len() - 4;
        glue.push(half.get(tail..).unwrap_or_default().iter().map(at).collect::<Vec<_>>());
        scores.push((at(&(inner, 0.0)), at(&(width, 0.0))));
        scores.push((at(&(inner, wall)), at(&(width, wall))));
        if has_dust {
            glue.push(half.get(1..5).unwrap_or_default().iter().map(at).collect());
            scores.push((at(&base[0]), at(&base[1])));
        }
    }
    for x in [closed, front] {
        scores.push((Point::new(x, top), Point::new(x, foot)));
    }
    let rect = |x: f64, y: f64, width: f64, height: f64| Rect { x, y, width, height };
    let across = width - inner;
    let mut faces = vec![
        NetFace { name: FaceName::Back, rect: rect(0.0, top, depth, height) },
        NetFace { name: FaceName::ForeEdge, rect: rect(closed, top, wall, height) },
        NetFace { name: FaceName::Front, rect: rect(front, top, depth, height) },
        NetFace { name: FaceName::Head, rect: rect(inner, top - wall, across, wall) },
        NetFace { name: FaceName::Foot, rect: rect(inner, foot, across, wall) },
        NetFace { name: FaceName::GlueFlap, rect: rect(inner, 0.0, across, flap) },
        NetFace { name: FaceName::GlueFlap, rect: rect(inner, foot + wall, across, flap) },
    ];
    if has_dust {
        let long = base[1].0 - base[0].0;
        for y in [top - dust, foot] {
            faces.push(NetFace { name: FaceName::GlueFlap, rect: rect(base[0].0, y, long, dust) });
        }
    }
    Net { size: Size::mm(width, foot + top), outline, scores, glue, faces }
}

/// Lines at 45° over a convex polygon.
fn hatches(polygon: &[Point]) -> Vec<(Point, Point)> {
    let sum = |p: &Point| p.x + p.y;
    let (low, high) =
        polygon.iter().map(sum).fold((f64::MAX, f64::MIN), |(low, high), s| (low.min(s), high.max(s)));
    let step = HATCH * std::f64::consts::SQRT_2;
    let mut out = Vec::new();
    let mut s = low + step / 2.0;
    while s < high {
        let crossings: Vec<Point> = polygon
            .iter()
            .zip(polygon.iter().cycle().skip(1))
            .filter_map(|(a, b)| {
                let (from, to) = (sum(a) - s, sum(b) - s);
                // Half-open, so that a corner counts once.
                ((from < 0.0) != (to < 0.0)).then(|| {
                    let t = from / (from - to);
                    Point::new(a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t)
                })
            })
            .collect();
        if let [a, b] = crossings.as_slice() {
            out.push((*a, *b));
        }
        s += step;
    }
    out
}
