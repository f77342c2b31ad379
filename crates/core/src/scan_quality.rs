//! What a scan is good for, measured once: how fine its strokes are, how sharp its edges, how far its tones reach,
//! and whether a file format or too much contrast has left its marks on them.
//!
//! Some dozens of patches with something on them are looked at, so that a large scan takes no longer than a page of
//! type. What is measured stands in [`ScanQuality`]; its methods say what is worth a word. Every limit is common
//! practice, no source, unless one is named.

mod blocks;
mod clipping;
mod edges;
mod patches;
mod profile;
mod strokes;

use rayon::prelude::*;
use slipsheet_base::cache::Bytes;

use crate::raster::GrayRaster;
use crate::reading::Paper;
use crate::units::Dpi;
use blocks::Blocks;
use clipping::Ends;
use edges::Edges;
use patches::Patch;
use strokes::Strokes;

/// Pixels across the finest stroke: two samples in its width (Shannon 1949) and something for its edges.
pub const STROKE_PX: f64 = 2.5;
/// A stroke is measured to about a fifth of a pixel: one of fewer pixels than this has surely too few.
const TOO_FEW_PX: f64 = 2.3;
/// A scan whose sharpest edges are wider than this is blurred, in mm and in pixels: type loses its shape by so much,
/// and no coarse scan reaches it by its pixels alone.
pub const BLURRED_MM: f64 = 0.35;
const BLURRED_PX: f64 = 3.0;
/// Gray levels that a scan's tones should span; 0.35 of all.
const LEAST_SPAN: f64 = 90.0;
/// By how much steps between blocks of 8 pixels stand out where they show.
const BLOCKS_SHOW: f64 = 0.25;

/// The most patches of a scan that are looked at.
const MOST_PATCHES: usize = 72;
/// The darkest of this share of art, or of this share of the scan if that is less, are passed over: dust.
const DARKEST_OF_ART: f64 = 0.01;
const DARKEST_OF_ALL: f64 = 0.001;
/// Cleaned paper is lighter than this.
const ART: u8 = 240;
/// Of so many grays that hold this share of the art, each is a flat tint: a program drew them.
const TINTS: usize = 3;
const TINTED: f64 = 0.8;

/// What was measured of a scan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScanQuality {
    /// Width of the finest dark strokes that make up a noticeable share of the art, in mm of the scan; `None` where
    /// there are no strokes: a wash, a photograph, a crayon's grain. Light strokes in dark ground are not measured.
    pub finest_stroke_mm: Option<f64>,
    /// Width of the sharpest tenth of the strong edges, from 10 to 90 % of their height, in mm of the scan; `None`
    /// where there are too few, or they differ as those of soft art do.
    pub edge_width_mm: Option<f64>,
    /// Gray of the darkest art, 0..=255; that of the paper where there is none.
    pub darkest: f64,
    /// Gray of the paper, or of the lightest tones where there is none, 0..=255.
    pub lightest: f64,
    /// Whether the darkest tones were cut off. Where so much was cut that no noise is left, it cannot be told from
    /// a drawn solid, and is not.
    pub clipped_black: bool,
    /// Whether the lightest were. Only of use for scans whose paper was not cleaned to white afterwards.
    pub clipped_white: bool,
    /// By what share the steps between blocks of 8 x 8 pixels stand out of those inside, in smooth tones; 0 for none.
    pub blocks: f64,
    /// Whether the art is flat tints of few grays, which a program drew.
    pub flat_tints: bool,
}

impl Bytes for ScanQuality {
    fn bytes(&self) -> usize {
        size_of::<Self>()
    }
}

impl ScanQuality {
    /// Looks at a scan.
    pub fn of(raster: &GrayRaster, dpi: Dpi) -> Self {
        let top = patches::top(raster);
        let spots = patches::with_art(raster, top);
        let paper = Paper::of(raster, dpi);
        let looks: Vec<Look> =
            spots.par_iter().map(|spot| Look::of(raster, dpi, *spot, paper.as_ref())).collect();

        let (mut ends, mut blocks, mut tones) = (Ends::default(), Blocks::default(), [0_u64; 256]);
        for look in &looks {
            ends.add(&look.ends);
            blocks.add(&look.blocks);
            tones.iter_mut().zip(&look.tones).for_each(|(sum, n)| *sum += u64::from(*n));
        }
        let white = if paper.is_some() { 255 } else { top };
        let lightest = paper.as_ref().map_or(f64::from(top), Paper::median);
        let dark = darkest(&tones, white);

        let steps = looks.par_iter().map(|look| profile::of_patch(&look.patch, white, dark, dpi));
        let none = || (Strokes::default(), Edges::default());
        let (strokes, edges) = steps.reduce(none, |a, b| (a.0.with(&b.0), a.1.with(&b.1)));
        let mm = |px: f64| px / dpi.px_per_mm();
        Self {
            finest_stroke_mm: strokes.finest(art_below(&tones, white, dark), dpi).map(mm),
            edge_width_mm: edges.sharpest(dpi).map(mm),
            darkest: f64::from(dark) * lightest / f64::from(white.max(1)),
            lightest,
            clipped_black: ends.black_is_cut(),
            clipped_white: ends.white_is_cut(),
            blocks: blocks.stand_out(),
            flat_tints: are_flat(&tones, white),
        }
    }

    /// Whether even the sharpest of its edges are blurred.
    pub fn is_blurred(&self, dpi: Dpi) -> bool {
        self.edge_width_mm.is_some_and(|mm| mm > BLURRED_MM && mm * dpi.px_per_mm() > BLURRED_PX)
    }

    /// Grays between its darkest tones and the paper, 0..=255.
    pub fn span(&self) -> f64 {
        (self.lightest - self.darkest).max(0.0)
    }

    /// Whether its tones span too little of the scale. `gain` is how many times a reading strengthens what is pale.
    /// A flat tint is as light as someone chose it.
    pub fn is_low_in_contrast(&self, gain: f64) -> bool {
        !self.flat_tints && self.span() > 0.0 && self.span() * gain < LEAST_SPAN
    }

    pub fn shows_blocks(&self) -> bool {
        self.blocks > BLOCKS_SHOW
    }

    /// The resolution that would give the finest strokes [`STROKE_PX`] pixels, where they have clearly fewer.
    pub fn dpi_for_strokes(&self, dpi: Dpi) -> Option<f64> {
        let width = self.finest_stroke_mm?;
        (width * dpi.px_per_mm() < TOO_FEW_PX).then_some(STROKE_PX * 25.4 / width)
    }
}

/// One patch with what was found without knowing of the others.
struct Look {
    /// With the paper cleaned to white where there is any.
    patch: Patch,
    ends: Ends,
    blocks: Blocks,
    tones: [u32; 256],
}

impl Look {
    fn of(raster: &GrayRaster, dpi: Dpi, (x, y): (u32, u32), paper: Option<&Paper>) -> Self {
        let mut part = patches::cut(raster, (x, y));
        let raw = Patch::of(&part);
        let (ends, blocks) = (Ends::of(&raw), Blocks::of(&raw));
        let patch = match paper {
            Some(paper) => {
                paper.clean(&mut part, dpi, (x, y));
                Patch::of(&part)
            }
            None => raw,
        };
        let mut tones = [0; 256];
        patch.pixels().iter().for_each(|g| tones[usize::from(*g)] += 1);
        Self { patch, ends, blocks, tones }
    }
}

/// The gray of the darkest art against white; white itself where there is no art.
fn darkest(tones: &[u64; 256], white: u8) -> u8 {
    let paper = usize::from(white) * usize::from(ART) / 255;
    let art: u64 = tones.iter().take(paper).sum();
    let all: u64 = tones.iter().sum();
    let passed = (art as f64 * DARKEST_OF_ART).min(all as f64 * DARKEST_OF_ALL);
    let mut seen = 0;
    for (gray, n) in tones.iter().enumerate().take(paper) {
        seen += n;
        if seen as f64 > passed {
            return gray as u8;
        }
    }
    white
}

/// Pixels that are at least a third as dark as the darkest.
fn art_below(tones: &[u64; 256], white: u8, dark: u8) -> u64 {
    let below = usize::from(white) - usize::from(white.saturating_sub(dark)) / 3;
    tones.iter().take(below).sum()
}

fn are_flat(tones: &[u64; 256], white: u8) -> bool {
    let paper = usize::from(white) * usize::from(ART) / 255;
    let mut counts: Vec<u64> = tones.iter().take(paper).copied().collect();
    counts.sort_unstable();
    let all: u64 = counts.iter().sum();
    let most: u64 = counts.iter().rev().take(TINTS).sum();
    all > 0 && most as f64 >= TINTED * all as f64
}

#[cfg(test)]
mod tests;
