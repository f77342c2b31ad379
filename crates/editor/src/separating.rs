//! A colour picture while it is being separated: what a front is given to show, the pictures that are drawn of it beside
//! the window, and which inks suit it.

use std::sync::Arc;

use rayon::prelude::*;
use slipsheet_core::colour::{Xyz, linear_from_srgb};
use slipsheet_core::ink::{Ink, OverprintSwatch};
use slipsheet_core::raster::ColourRaster;
use slipsheet_core::separation::{Chosen, Inverse, OUT_OF_REACH, Plates, Separation, choose, out_of_reach};
use slipsheet_core::stock::Stock;
use slipsheet_document::ids::{ArtId, SourceId};
use slipsheet_document::layer::{ScanRef, Target};
use slipsheet_files::scan::Profile;
use slipsheet_render::Picture;

use crate::snapshot::Snapshot;
use crate::worker::{Order, Turn};

/// What becomes of the plates.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SeparatedFor {
    /// They are laid on this.
    New(Target),
    /// They take the place of this piece of artwork, which is the same picture in gray.
    InsteadOf(ArtId),
    /// They are those of a picture that is separated already.
    Source(SourceId),
}

/// A picture that is to be separated.
#[derive(Debug, Clone)]
pub struct ToSeparate {
    pub scan: ScanRef,
    pub purpose: SeparatedFor,
    /// The picture, small.
    pub small: Arc<ColourRaster>,
    /// Pixels of it to one of the small one.
    pub shrunk: f64,
    pub profile: Profile,
}

/// Pixels along the longer side of the small picture.
pub(crate) const SMALL: u32 = 560;

/// What is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// The print as it is predicted.
    Print,
    /// The print with every plate slipped as far as two passes usually lie apart.
    Slipped,
    /// The print, hatched where the inks cannot print what it aims at.
    OutOfReach,
    /// How far the print is from what it aims at: white nothing, black 20 CIEDE2000.
    Difference,
    /// One plate alone, in its ink.
    Plate(usize),
}

/// Inks on a stock, and how a picture is separated into them.
#[derive(Debug, Clone, PartialEq)]
pub struct InInks {
    pub stock: Stock,
    /// In printing order.
    pub inks: Vec<Ink>,
    pub overprints: Vec<OverprintSwatch>,
    pub separation: Separation,
}

/// What is worked out beside the window.
#[derive(Debug, Clone)]
pub enum SeparateOrder {
    Look {
        picture: Arc<ColourRaster>,
        px_per_mm: f64,
        to: Box<InInks>,
        look: Look,
        slip: f64,
    },
    /// The sets of so many of these inks that print it nearest, on the stock.
    Choose {
        picture: Arc<ColourRaster>,
        px_per_mm: f64,
        of: Box<InInks>,
        count: usize,
    },
}

/// What came of it.
#[derive(Debug, Clone)]
pub enum SeparateNews {
    /// How it looks; the mean difference in CIEDE2000 and the share out of reach.
    Look {
        to: Box<InInks>,
        look: Look,
        picture: Picture,
        mean: f64,
        far: f64,
    },
    /// The best sets, nearest first, each with its print.
    Chosen {
        count: usize,
        sets: Vec<(Vec<Ink>, f64, Picture)>,
    },
    Failed(String),
}

/// The plates that were made last, and what of.
#[derive(Default)]
pub struct SeparatedLast(Option<Last>);

struct Last {
    picture: Arc<ColourRaster>,
    to: InInks,
    made: Arc<(Inverse, Plates)>,
}

/// Sets that are shown.
const SETS: usize = 3;

impl Order for SeparateOrder {
    type Reply = SeparateNews;
    type Kept = SeparatedLast;
    const WORK: &'static str = "Separating the picture";

    fn work(self, _: &Snapshot, last: &mut SeparatedLast, turn: &Turn<'_, SeparateNews>) {
        let stop = || turn.is_overtaken();
        match self {
            Self::Look { picture, px_per_mm, to, look, slip } => {
                match last.plates(&picture, px_per_mm, &to, &stop) {
                    Ok(Some(made)) => {
                        let drawn = drawn(&picture, &made, &to, (look, slip * px_per_mm));
                        let (mean, far) = (made.1.mean_difference, made.1.out_of_reach);
                        turn.reply(SeparateNews::Look { to, look, picture: drawn, mean, far });
                    }
                    Ok(None) => {}
                    Err(why) => turn.reply(SeparateNews::Failed(why)),
                }
            }
            Self::Choose { picture, px_per_mm, of, count } => {
                let inks: Vec<&Ink> = of.inks.iter().collect();
                let found = choose(&picture, (&[&of.stock], &inks), &of.overprints, (count, SETS), &stop);
                let shown = |chosen: &Chosen| {
                    let inks = chosen.inks.iter().filter_map(|i| of.inks.get(*i).cloned()).collect();
                    let to = InInks { inks, ..(*of).clone() };
                    let small = Arc::new(picture.at_most(240));
                    let scale = f64::from(picture.width()) / f64::from(small.width());
                    let mut last = SeparatedLast::default();
                    let made = last.plates(&small, px_per_mm / scale, &to, &stop).ok().flatten()?;
                    let picture = drawn(&small, &made, &to, (Look::Print, 0.0));
                    Some((to.inks, chosen.mean_difference, picture))
                };
                match found {
                    Ok(found) => {
                        let sets = found.iter().filter_map(shown).collect();
                        turn.reply(SeparateNews::Chosen { count, sets });
                    }
                    Err(e) => turn.reply(SeparateNews::Failed(e.to_string())),
                }
            }
        }
    }
}

impl SeparatedLast {
    fn plates(
        &mut self,
        picture: &Arc<ColourRaster>,
        px_per_mm: f64,
        to: &InInks,
        stop: &(dyn Fn() -> bool + Sync),
    ) -> Result<Option<Arc<(Inverse, Plates)>>, String> {
        let known = self.0.as_ref().filter(|last| Arc::ptr_eq(&last.picture, picture) && last.to == *to);
        if let Some(last) = known {
            return Ok(Some(Arc::clone(&last.made)));
        }
        let inks: Vec<&Ink> = to.inks.iter().collect();
        let sum = Some(to.separation.ink_sum.get());
        let inverse = Inverse::of(&to.stock, &inks, &to.overprints, sum).map_err(|e| e.to_string())?;
        let Some(plates) = to.separation.plates(picture, px_per_mm, &inverse, stop) else { return Ok(None) };
        let made = Arc::new((inverse, plates));
        self.0 = Some(Last { picture: Arc::clone(picture), to: to.clone(), made: Arc::clone(&made) });
        Ok(Some(made))
    }
}

/// A colour picture in sRGB, as screens take it.
pub fn as_shown(picture: &ColourRaster) -> Picture {
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    let shown = |px: &[u8; 3]| {
        let [r, g, b] = if picture.is_wide() {
            Xyz::from_light(px.map(|v| linear_from_srgb(f64::from(v) / 255.0))).shown().rgb
        } else {
            *px
        };
        [r, g, b, 255]
    };
    Picture { width, height, pixels: picture.pixels().as_chunks::<3>().0.par_iter().map(shown).collect() }
}

/// What is looked at, pixel by pixel of the small picture.
fn drawn(
    source: &ColourRaster,
    (inverse, made): &(Inverse, Plates),
    to: &InInks,
    (look, slip): (Look, f64),
) -> Picture {
    let (width, height) = (source.width() as usize, source.height() as usize);
    let far = match look {
        Look::OutOfReach | Look::Difference => {
            out_of_reach(source, &made.plates, (inverse, to.separation.intent)).ok()
        }
        Look::Print | Look::Slipped | Look::Plate(_) => None,
    };
    let shift = |k: usize| {
        // The golden angle, so that no two plates slip the same way.
        let angle = 2.399_963 * k as f64 + 0.6;
        let by = if look == Look::Slipped { slip } else { 0.0 };
        [libm::cos(angle), libm::sin(angle)].map(|v| libm::round(v * by) as isize)
    };
    let shifts: Vec<[isize; 2]> = (0..made.plates.len()).map(shift).collect();
    let mut pixels = vec![[255_u8; 4]; width * height];
    pixels.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        let mut cover = vec![0.0; made.plates.len()];
        let (mut before, mut shown): (Vec<u8>, [u8; 3]) = (Vec::new(), [255; 3]);
        let mut levels = vec![0_u8; made.plates.len()];
        for (x, px) in row.iter_mut().enumerate() {
            for (k, (plate, level)) in made.plates.iter().zip(&mut levels).enumerate() {
                let [dx, dy] = shifts.get(k).copied().unwrap_or_default();
                let at =
                    |v: usize, by: isize, most: usize| (v as isize - by).clamp(0, most as isize - 1) as usize;
                let (sx, sy) = (at(x, dx, width), at(y, dy, height));
                let alone = matches!(look, Look::Plate(only) if only != k);
                let gray = plate.row(sy as u32).get(sx).copied().unwrap_or(255);
                *level = if alone { 255 } else { gray };
            }
            if before != levels {
                cover.iter_mut().zip(&levels).for_each(|(c, l)| *c = 1.0 - f64::from(*l) / 255.0);
                shown = Xyz::from_light(inverse.lab(&cover).light()).shown().rgb;
                before.clone_from(&levels);
            }
            let tenths = far.as_ref().and_then(|f| f.row(y as u32).get(x).copied()).unwrap_or(0);
            let [r, g, b] = match look {
                Look::Difference => [255 - (f64::from(tenths) * 1.275).min(255.0) as u8; 3],
                // Dark and light stripes, which show on any colour.
                Look::OutOfReach if f64::from(tenths) / 10.0 > OUT_OF_REACH && (x + y) % 8 < 2 => {
                    if (x + y) % 8 == 0 { [20; 3] } else { [245; 3] }
                }
                _ => shown,
            };
            *px = [r, g, b, 255];
        }
    });
    Picture { width, height, pixels }
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, Instant};

    use slipsheet_core::units::SheetFormat;
    use slipsheet_document::printing::Printing;
    use slipsheet_document::shelf::Shelf;

    use super::*;
    use crate::worker::Worker;

    fn answered(worker: &mut Worker<SeparateOrder>, order: SeparateOrder) -> Vec<SeparateNews> {
        let shelf = Shelf::starter().unwrap();
        let printing = Printing::new("Walk", SheetFormat::A6, shelf.stocks[0].clone());
        worker.order(Snapshot::of(&printing), order);
        let (start, mut news) = (Instant::now(), Vec::new());
        while worker.is_busy() {
            assert!(start.elapsed() < Duration::from_secs(60), "no answer");
            std::thread::sleep(Duration::from_millis(2));
            news.extend(worker.poll().into_iter().map(|(_, news)| news));
        }
        news
    }

    #[test]
    fn a_picture_is_looked_at_in_every_way_and_three_sets_of_inks_are_proposed() {
        let shelf = Shelf::starter().unwrap();
        let rgb: Vec<u8> =
            (0..64 * 48_u32).flat_map(|i| [i % 64 * 4, i / 64 * 5, 120].map(|v| v as u8)).collect();
        let picture = Arc::new(ColourRaster::new(64, 48, false, rgb).unwrap());
        let to = InInks {
            stock: shelf.stocks[0].clone(),
            inks: shelf.inks[..3].to_vec(),
            overprints: Vec::new(),
            separation: Separation::default(),
        };
        let mut worker = Worker::start(|| ()).unwrap();
        let mut pictures: Vec<Picture> = Vec::new();
        for look in [Look::Print, Look::Slipped, Look::OutOfReach, Look::Difference, Look::Plate(1)] {
            let order = SeparateOrder::Look {
                picture: Arc::clone(&picture),
                px_per_mm: 5.0,
                to: Box::new(to.clone()),
                look,
                slip: 0.7,
            };
            let news = answered(&mut worker, order);
            let [SeparateNews::Look { picture, mean, .. }] = &news[..] else { panic!("{news:?}") };
            assert!((picture.width, picture.height) == (64, 48) && *mean > 0.0);
            assert!(!pictures.contains(picture), "{look:?} shows what another does");
            pictures.push(picture.clone());
        }
        let of = InInks { inks: shelf.inks.clone(), ..to };
        let order = SeparateOrder::Choose { picture, px_per_mm: 5.0, of: Box::new(of), count: 2 };
        let news = answered(&mut worker, order);
        let [SeparateNews::Chosen { sets, .. }] = &news[..] else { panic!("{news:?}") };
        assert!(sets.len() == 3 && sets.iter().all(|(inks, _, _)| inks.len() == 2));
        assert!(sets.windows(2).all(|two| two[0].1 <= two[1].1));
    }
}
