//! Wraps: a sleeve, a belly band, a slipcase or a folded cover around the finished piece, computed from its
//! size, its leaves and the caliper of both stocks.
//!
//! All lengths are mm. The block is `W` wide (spine to fore edge), `H` high and `T = leaves x caliper` thick;
//! `c` is the caliper of the wrap's own stock and `a` the allowance. Faces are measured from the middle of one
//! crease to the middle of the next, so a face between two creases is its clear inside and `c`, half of it at
//! either end (common practice, no source). See [`Net`] for the formula of each kind.

mod layout;
mod net;

#[cfg(test)]
mod tests;

use serde::{Deserialize, Serialize};

use crate::construction::Construction;
use slipsheet_base::bounded;

pub use layout::{Layout, NetBlock, NetPlace, arrange};
pub use net::{FaceName, Net, NetFace, NetLine, NetLineKind};

bounded! {
    /// Width of a glue flap in mm.
    GlueFlap, 3.0..=60.0, default 12.0, "a glue flap in mm", "from 3 to 60";
    /// Room in mm, on the whole, between the block and the wrap.
    Allowance, 0.0..=10.0, default 0.5, "an allowance in mm", "from 0 to 10";
    /// Height of a belly band in mm.
    BandHeight, 10.0..=1000.0, default 50.0, "the height of a band in mm", "from 10 to 1000";
    /// Width in mm of the flaps that a folded cover turns in; 0 for none.
    FlapWidth, 0.0..=400.0, default 45.0, "the width of a turned-in flap in mm", "from 0 to 400";
    /// Space in mm between two nets on a sheet, trimmed away.
    TrimGap, 0.0..=50.0, default 3.0, "a gap in mm", "from 0 to 50";
    /// What is kept free in mm at the lead edge besides the press's own margin.
    LeadFree, 0.0..=50.0, default 0.0, "a free lead edge in mm", "from 0 to 50";
    /// Thickness of one leaf in mm.
    CaliperMm, 0.02..=5.0, default 0.12, "a caliper in mm", "from 0.02 to 5";
    /// A side of the finished piece in mm.
    SideMm, 10.0..=1000.0, default 100.0, "a side of the finished piece in mm", "from 10 to 1000"
}

/// The most leaves that a block may have.
pub const MAX_LEAVES: u32 = 2000;

/// What goes around the block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum WrapKind {
    /// A tube as high as the block, open at head and foot.
    #[default]
    Sleeve,
    /// A lower tube.
    BellyBand,
    /// A box that shows the spine alone.
    Slipcase,
    /// A cover around the spine with flaps turned in; nothing is glued.
    FoldedCover,
}

impl WrapKind {
    /// Every kind, in the order that lists show.
    pub const ALL: [Self; 4] = [Self::Sleeve, Self::BellyBand, Self::Slipcase, Self::FoldedCover];

    pub fn name(self) -> &'static str {
        match self {
            Self::Sleeve => "Sleeve",
            Self::BellyBand => "Belly band",
            Self::Slipcase => "Slipcase",
            Self::FoldedCover => "Folded cover",
        }
    }

    /// The name as scripts write it.
    pub fn id(self) -> &'static str {
        match self {
            Self::Sleeve => "sleeve",
            Self::BellyBand => "band",
            Self::Slipcase => "slipcase",
            Self::FoldedCover => "cover",
        }
    }

    /// Whether something of it is glued.
    pub fn is_glued(self) -> bool {
        self != Self::FoldedCover
    }
}

/// What a person decides about a wrap; everything else follows from the piece and the stocks.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Wrap {
    pub kind: WrapKind,
    pub glue_flap: GlueFlap,
    /// Room around the block.
    pub allowance: Allowance,
    pub band_height: BandHeight,
    pub flap_width: FlapWidth,
    /// Between two nets on a sheet.
    pub gap: TrimGap,
    /// Kept free at the lead edge besides the press's margin.
    pub lead_free: LeadFree,
    /// Size of the finished piece, width and height, in place of what the fold and the trim make.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub finished: Option<(SideMm, SideMm)>,
    /// Leaves of paper that lie on one another, in place of the fold's; 1 to [`MAX_LEAVES`].
    #[serde(skip_serializing_if = "Option::is_none", deserialize_with = "leaves")]
    pub leaves: Option<u32>,
    /// Measured caliper of the piece's stock, in place of the estimate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub inner_caliper: Option<CaliperMm>,
    /// Measured caliper of the wrap's own stock, in place of the estimate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub own_caliper: Option<CaliperMm>,
}

fn leaves<'de, D: serde::Deserializer<'de>>(d: D) -> Result<Option<u32>, D::Error> {
    match Option::<u32>::deserialize(d)? {
        Some(v) if !(1..=MAX_LEAVES).contains(&v) => {
            Err(serde::de::Error::custom(format!("leaves must be from 1 to {MAX_LEAVES}, not {v}")))
        }
        v => Ok(v),
    }
}

/// Why a wrap cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WrapError {
    #[error(
        "a band of {band:.1} mm is higher than the piece, {height:.1} mm; make it lower, or choose a sleeve"
    )]
    BandTooHigh { band: f64, height: f64 },
    #[error("a flap of {flap:.1} mm is wider than the face it lies on, {face:.1} mm; make it narrower")]
    FlapTooWide { flap: f64, face: f64 },
    #[error("the trim leaves nothing of the page; make it smaller, or give the finished size")]
    NoPage,
    #[error(
        "the net is {width:.1} × {height:.1} mm and the sheet has room for {room_width:.1} × {room_height:.1} mm; choose a larger sheet"
    )]
    NoRoom {
        width: f64,
        height: f64,
        room_width: f64,
        /// The same, down.
        room_height: f64,
    },
}

/// What is wrapped, in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Block {
    /// From the spine to the fore edge.
    pub width: f64,
    /// From head to foot.
    pub height: f64,
    /// Leaves of paper that lie on one another.
    pub leaves: u32,
    /// Thickness of one of them.
    pub caliper: f64,
}

impl Block {
    /// The finished piece of a project's booklet; what the wrap gives takes the place of what follows from it.
    ///
    /// # Errors
    /// When trimming leaves nothing of the page.
    pub fn of(inner: &Construction<'_>, wrap: &Wrap) -> Result<Self, WrapError> {
        let (page, fold_leaves) = inner.finished();
        let (width, height) = match wrap.finished {
            Some((w, h)) => (w.get(), h.get()),
            None => (page.width.get(), page.height.get()),
        };
        if width <= 1.0 || height <= 1.0 {
            return Err(WrapError::NoPage);
        }
        let leaves = wrap.leaves.unwrap_or(fold_leaves).clamp(1, MAX_LEAVES);
        let caliper = wrap.inner_caliper.map_or(inner.caliper, CaliperMm::get);
        Ok(Self { width, height, leaves, caliper })
    }

    /// Thickness of the whole: leaves times caliper, pressed flat.
    pub fn thickness(self) -> f64 {
        f64::from(self.leaves) * self.caliper
    }
}
