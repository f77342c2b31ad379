//! How many nets fit on a sheet, and how: rows and columns either way round, and two such blocks parted by one
//! cut of the guillotine, so that every piece comes off with straight cuts.

use slipsheet_base::geometry::{Affine, Point, Rect};
use slipsheet_base::units::Size;

/// A net that is a hair too large by rounding still fits, mm.
const SLACK: f64 = 1e-6;

/// Rows and columns of nets that all lie the same way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NetBlock {
    /// Side by side.
    pub columns: u32,
    /// One below the other.
    pub rows: u32,
    /// Whether they lie a quarter turn clockwise.
    pub turned: bool,
}

impl NetBlock {
    pub fn count(self) -> u32 {
        self.columns * self.rows
    }

    fn words(self) -> String {
        let way = if self.turned { "turned" } else { "upright" };
        format!("{} × {} {way}", self.columns, self.rows)
    }
}

/// Where one net lies on the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NetPlace {
    /// Its top left corner there, mm.
    pub at: Point,
    /// Whether it lies a quarter turn clockwise.
    pub turned: bool,
}

impl NetPlace {
    /// From points of a net of this size to points of the sheet.
    pub fn sheet_from_net(self, net: Size) -> Affine {
        let at = Affine::shift(self.at.x, self.at.y);
        if self.turned { at * Affine::shift(net.height.get(), 0.0) * Affine::turn(90.0) } else { at }
    }

    /// What a net of this size covers.
    pub fn rect(self, net: Size) -> Rect {
        let net = if self.turned { net.turned() } else { net };
        Rect { x: self.at.x, y: self.at.y, width: net.width.get(), height: net.height.get() }
    }
}

/// Nets on a sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    pub places: Vec<NetPlace>,
    /// The blocks they stand in: one or two, none where nothing fits.
    pub blocks: Vec<NetBlock>,
}

impl Layout {
    pub fn words(&self) -> String {
        self.blocks.iter().map(|b| b.words()).collect::<Vec<_>>().join(" and ")
    }
}

/// Two blocks, and whether the second stands to the right of the first or below it.
#[derive(Clone, Copy)]
struct Pair {
    first: NetBlock,
    second: Option<NetBlock>,
    beside: bool,
}

impl Pair {
    fn count(self) -> u32 {
        self.first.count() + self.second.map_or(0, NetBlock::count)
    }
}

/// The most nets that a room holds with a gap between any two.
///
/// Of layouts that hold as many, the one with a
/// single block and upright nets is taken. The nets keep to the lead edge and to the middle across.
pub fn arrange(net: Size, room: Rect, gap: f64) -> Layout {
    let size = |turned: bool| if turned { net.turned() } else { net };
    let fit = |room: f64, side: f64| {
        if side <= 0.0 || room + SLACK < side { 0 } else { ((room + gap + SLACK) / (side + gap)) as u32 }
    };
    let block = |width: f64, height: f64, turned: bool| {
        let s = size(turned);
        NetBlock { columns: fit(width, s.width.get()), rows: fit(height, s.height.get()), turned }
    };
    let mut best: Option<Pair> = None;
    let mut offer = |pair: Pair| {
        if pair.count() > best.map_or(0, Pair::count) {
            best = Some(pair);
        }
    };
    for turned in [false, true] {
        offer(Pair { first: block(room.width, room.height, turned), second: None, beside: true });
    }
    for turned in [false, true] {
        let whole = block(room.width, room.height, turned);
        let s = size(turned);
        for columns in 1..=whole.columns {
            let rest = room.width - f64::from(columns) * (s.width.get() + gap);
            let second = Some(block(rest, room.height, !turned)).filter(|b| b.count() > 0);
            offer(Pair { first: NetBlock { columns, ..whole }, second, beside: true });
        }
        for rows in 1..=whole.rows {
            let rest = room.height - f64::from(rows) * (s.height.get() + gap);
            let second = Some(block(room.width, rest, !turned)).filter(|b| b.count() > 0);
            offer(Pair { first: NetBlock { rows, ..whole }, second, beside: false });
        }
    }
    let Some(pair) = best else { return Layout { places: Vec::new(), blocks: Vec::new() } };
    placed(pair, size, room, gap)
}

fn placed(pair: Pair, size: impl Fn(bool) -> Size, room: Rect, gap: f64) -> Layout {
    let extent = |b: NetBlock| {
        let s = size(b.turned);
        let along = |n: u32, side: f64| f64::from(n) * (side + gap) - gap;
        (along(b.columns, s.width.get()), along(b.rows, s.height.get()))
    };
    let (w1, h1) = extent(pair.first);
    let (w2, _) = pair.second.map_or((0.0, 0.0), extent);
    let width = match (pair.second, pair.beside) {
        (None, _) => w1,
        (Some(_), true) => w1 + gap + w2,
        (Some(_), false) => w1.max(w2),
    };
    let corner = Point::new(room.x + (room.width - width) / 2.0, room.y);
    let second = if pair.beside { (w1 + gap, 0.0) } else { (0.0, h1 + gap) };
    let mut places = Vec::new();
    for (block, (dx, dy)) in [(Some(pair.first), (0.0, 0.0)), (pair.second, second)] {
        let Some(block) = block else { continue };
        let s = size(block.turned);
        for row in 0..block.rows {
            for column in 0..block.columns {
                let x = corner.x + dx + f64::from(column) * (s.width.get() + gap);
                let y = corner.y + dy + f64::from(row) * (s.height.get() + gap);
                places.push(NetPlace { at: Point::new(x, y), turned: block.turned });
            }
        }
    }
    Layout { places, blocks: std::iter::once(pair.first).chain(pair.second).collect() }
}
