//! A wrap worked out: the block, the net, and how it lies on the sheet.

use super::{Block, CaliperMm, FaceName, Layout, Net, NetLine, Wrap, WrapError, WrapKind, arrange};
use crate::sheet::oriented;
use slipsheet_core::geometry::{Point, Rect};
use slipsheet_core::press::Press;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{SheetFormat, Size};

/// Two scores closer than this are hard to fold apart, mm (common practice, no source).
const NARROW: f64 = 2.0;

/// A wrap with the sheet and the stock that it is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct WrapOrder {
    pub wrap: Wrap,
    pub format: SheetFormat,
    /// Whether the sheet's longer side lies across.
    pub landscape: bool,
    pub stock: Stock,
}

impl WrapOrder {
    /// Width and height of the sheet as it goes through the press.
    pub fn size(&self) -> Size {
        oriented(self.format, self.landscape)
    }
}

/// A wrap that is ordered, and what it goes around.
#[derive(Debug, Clone, PartialEq)]
pub struct WrapJob {
    /// What is ordered.
    pub order: WrapOrder,
    /// What is wrapped, or why that cannot be.
    pub block: Result<Block, WrapError>,
    /// The names of the inks printed on it, each once; none where it stays blank.
    pub inks: Vec<String>,
}

/// A wrap worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct WrapPlan {
    pub order: WrapOrder,
    pub block: Block,
    /// Caliper of the wrap's stock, mm.
    pub caliper: f64,
    pub net: Net,
    /// The sheet as it lies.
    pub sheet: Size,
    /// What of the sheet can be used.
    pub room: Rect,
    pub layout: Layout,
}

impl WrapPlan {
    /// Works a wrap out for what it goes around, on this press.
    pub fn new(order: &WrapOrder, block: Block, press: &Press) -> Result<Self, WrapError> {
        let caliper = order
            .wrap
            .own_caliper
            .map_or_else(|| slipsheet_core::paper::caliper(&order.stock), CaliperMm::get);
        let net = Net::new(&order.wrap, &block, caliper)?;
        let (sheet, margins) = (order.size(), press.margins);
        let (lead, side) = (margins.lead.get() + order.wrap.lead_free.get(), margins.side.get());
        let room = Rect {
            x: side,
            y: lead,
            width: (sheet.width.get() - 2.0 * side).max(0.0),
            height: (sheet.height.get() - lead - margins.tail.get()).max(0.0),
        };
        let layout = arrange(net.size, room, order.wrap.gap.get());
        if layout.places.is_empty() {
            return Err(WrapError::NoRoom {
                width: net.size.width.get(),
                height: net.size.height.get(),
                room_width: room.width,
                room_height: room.height,
            });
        }
        Ok(Self { order: order.clone(), block, caliper, net, sheet, room, layout })
    }

    /// How many a sheet gives.
    pub fn count(&self) -> usize {
        self.layout.places.len()
    }

    /// Every line of every net, in mm from the top left of the sheet's front.
    pub fn lines(&self) -> Vec<NetLine> {
        let own = self.net.lines();
        let on_sheet = self.layout.places.iter().flat_map(|place| {
            let at = place.sheet_from_net(self.net.size);
            own.iter().map(move |l| NetLine { from: at * l.from, to: at * l.to, kind: l.kind })
        });
        on_sheet.collect()
    }

    /// The same as the back is seen: turned over about the upright axis.
    pub fn lines_from_behind(&self) -> Vec<NetLine> {
        let over = |p: Point| Point::new(self.sheet.width.get() - p.x, p.y);
        self.lines().into_iter().map(|l| NetLine { from: over(l.from), to: over(l.to), ..l }).collect()
    }

    /// Sheets that so many wraps take.
    pub fn sheets(&self, copies: u32) -> u32 {
        copies.div_ceil(u32::try_from(self.count()).unwrap_or(u32::MAX).max(1))
    }

    /// The sizes, one sentence each.
    pub fn sentences(&self) -> Vec<String> {
        let (b, net, wrap) = (&self.block, self.net.size, &self.order.wrap);
        let own = if wrap.own_caliper.is_some() { "measured" } else { "estimated" };
        let inner = if wrap.inner_caliper.is_some() { "measured" } else { "estimated" };
        let leaves = if b.leaves == 1 { "1 leaf".to_owned() } else { format!("{} leaves", b.leaves) };
        let mut messages = vec![
            format!(
                "{} for a piece of {:.1} × {:.1} mm, {:.2} mm thick: {leaves} of {:.3} mm ({inner}).",
                wrap.kind.name(),
                b.width,
                b.height,
                b.thickness(),
                b.caliper
            ),
            format!(
                "Net {:.1} × {:.1} mm of {}, caliper {:.3} mm ({own}); allowance {:.1} mm.",
                net.width.get(),
                net.height.get(),
                self.order.stock.name,
                self.caliper,
                wrap.allowance.get()
            ),
        ];
        let mut labelled: Vec<FaceName> = Vec::new();
        let mut faces = Vec::new();
        for face in &self.net.faces {
            if !labelled.contains(&face.name) {
                labelled.push(face.name);
                let name = face.name.name().to_lowercase();
                faces.push(format!("{name} {:.1} × {:.1}", face.rect.width, face.rect.height));
            }
        }
        messages.push(format!("Faces in mm: {}.", faces.join(", ")));
        let many = match self.count() {
            1 => "1 net".to_owned(),
            n => format!("{n} nets"),
        };
        messages.push(format!(
            "{many} on a sheet of {:.1} × {:.1} mm: {}.",
            self.sheet.width.get(),
            self.sheet.height.get(),
            self.layout.words()
        ));
        messages
    }

    /// What to look out for; facts of the trade are common practice, no source.
    pub fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        let narrow = [FaceName::Spine, FaceName::ForeEdge]
            .into_iter()
            .find_map(|name| self.net.face(name).filter(|r| r.width < NARROW).map(|r| (name, r.width)));
        if let Some((name, width)) = narrow {
            notes.push(format!(
                "The {} is only {width:.1} mm wide: instead of two scores, one soft round fold is easier (common practice).",
                name.name().to_lowercase()
            ));
        }
        if self.order.wrap.kind == WrapKind::Slipcase && self.block.thickness() < 3.0 {
            notes.push(
                "The piece is less than 3 mm thick: a slipcase this flat is hard to glue; a sleeve may serve better (common practice)."
                    .to_owned(),
            );
        }
        if self.order.wrap.own_caliper.is_none() || self.order.wrap.inner_caliper.is_none() {
            notes.push(
                "Calipers are estimated from the weight (common practice): measure ten leaves and make one wrap first."
                    .to_owned(),
            );
        }
        notes.push("Let the grain run along the scores of the spine (common practice).".to_owned());
        notes
    }
}
