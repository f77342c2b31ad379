//! Pictures of the dummy to share: one view as a PNG, or a turn-around as an animated PNG.
//!
//! **Invariant:** the same project and shot give the same file; a picture that is stopped or fails leaves
//! what was there before.

use std::io::{self, Write};
use std::path::Path;

use png::{BitDepth, ColorType, Compression, Encoder, SrgbRenderingIntent};
use slipsheet_document::printing::Printing;
use slipsheet_render::Picture;
use slipsheet_render::dummy::{self, DummyView, Folded, Piece, Prints};
use slipsheet_render::images::Images;

use crate::atomic::{self, WriteError};
use crate::scan::Progress;

/// Sides that a picture may have, in pixels.
pub const SIDES: std::ops::RangeInclusive<u32> = 64..=4096;
/// Frames that a turn-around may have.
pub const FRAMES: std::ops::RangeInclusive<u32> = 2..=360;
/// A whole turn takes this long, in milliseconds.
const TURN_MS: u32 = 6000;

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DummyShot {
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// How far the sheet is folded, 0..=1.
    pub fold: f64,
    /// How often the folded piece is opened.
    pub open: f64,
    /// Turn about the upright axis, degrees.
    pub yaw: f64,
    /// Tilt, degrees; positive looks down on it.
    pub pitch: f64,
    /// Enlargement; 1 fits the piece into the picture.
    pub zoom: f64,
    /// Frames of a whole turn; `None` for a still picture.
    pub turn_around: Option<u32>,
    pub perfect: bool,
}

impl Default for DummyShot {
    fn default() -> Self {
        Self {
            width: 1200,
            height: 900,
            fold: 1.0,
            open: 0.0,
            yaw: -18.0,
            pitch: 12.0,
            zoom: 1.0,
            turn_around: None,
            perfect: false,
        }
    }
}

/// Why a picture of the dummy could not be made.
#[derive(Debug, thiserror::Error)]
pub enum DummyPictureError {
    #[error("a picture has sides of {} to {} pixels, not {width} x {height}", SIDES.start(), SIDES.end())]
    Size { width: u32, height: u32 },
    #[error("a turn-around has {} to {} frames, not {frames}", FRAMES.start(), FRAMES.end())]
    Frames { frames: u32 },
    #[error("the picture was stopped")]
    Stopped,
    #[error(transparent)]
    Write(#[from] WriteError),
}

/// Writes a picture of the dummy: a PNG, animated for a turn-around.
///
/// # Errors
/// When the shot is out of its limits, the work was stopped, or the file cannot be written.
pub fn write(
    printing: &Printing,
    images: &Images,
    shot: &DummyShot,
    path: &Path,
    progress: &Progress,
) -> Result<(), DummyPictureError> {
    if !SIDES.contains(&shot.width) || !SIDES.contains(&shot.height) {
        return Err(DummyPictureError::Size { width: shot.width, height: shot.height });
    }
    if let Some(frames) = shot.turn_around.filter(|n| !FRAMES.contains(n)) {
        return Err(DummyPictureError::Frames { frames });
    }
    let photographer = Photographer::new(printing, images, shot);
    let written = atomic::write(path, |file| photographer.shoot(file, progress));
    match written {
        Err(_) if progress.is_cancelled() => Err(DummyPictureError::Stopped),
        // A picture that was finished before the word came stands.
        written => Ok(written?),
    }
}

/// The piece and its prints, ready for pictures from all sides.
struct Photographer<'a> {
    shot: &'a DummyShot,
    folded: Folded,
    prints: Prints,
    paper: [u8; 3],
    title: String,
}

/// The neutral gray that prints are judged on, as the window's canvas (ISO 3664 asks for a neutral surround).
const GROUND: [u8; 3] = [0xa8; 3];

impl<'a> Photographer<'a> {
    fn new(printing: &Printing, images: &Images, shot: &'a DummyShot) -> Self {
        let sheet = printing.sheet.size();
        let folded = Piece::of(&printing.sheet.construction()).folded(shot.fold, shot.open);
        // A spread is about half the sheet wide, so the sheet needs more pixels than the picture.
        let dpi = sheet.dpi_for(f64::from(shot.width.max(shot.height)) * 2.2 * shot.zoom.max(1.0));
        let mut prints = Prints::new(printing, images, shot.perfect, dpi);
        // The sides that come to light while it turns.
        let turns = if shot.turn_around.is_some() { &[180.0, 0.0][..] } else { &[0.0] };
        for turned in turns {
            prints.sharpen(printing, images, &folded, &view(shot, *turned));
        }
        Self { shot, folded, prints, paper: dummy::paper_of(printing), title: printing.title.clone() }
    }

    fn shoot(&self, file: &mut dyn Write, progress: &Progress) -> io::Result<()> {
        let frames = self.shot.turn_around.unwrap_or(1);
        let mut encoder = Encoder::new(file, self.shot.width, self.shot.height);
        encoder.set_color(ColorType::Rgb);
        encoder.set_depth(BitDepth::Eight);
        // Pictures to share are made once and sent often: small rather than quick.
        encoder.set_compression(Compression::Balanced);
        encoder.set_source_srgb(SrgbRenderingIntent::Perceptual);
        encoder.add_itxt_chunk("Title".to_owned(), self.title.replace('\0', " "))?;
        let software = crate::pdf_parts::SOFTWARE.to_owned();
        encoder.add_text_chunk("Software".to_owned(), software)?;
        if frames > 1 {
            encoder.set_animated(frames, 0)?;
            encoder.set_frame_delay((TURN_MS / frames) as u16, 1000)?;
        }
        let mut writer = encoder.write_header()?;
        let mut picture = Picture::default();
        let mut rgb = Vec::new();
        for frame in 0..frames {
            if progress.is_cancelled() {
                return Err(io::Error::new(io::ErrorKind::Interrupted, "stopped"));
            }
            self.draw(360.0 * f64::from(frame) / f64::from(frames), &mut picture);
            rgb.clear();
            rgb.extend(picture.pixels.iter().flat_map(|[r, g, b, _]| [*r, *g, *b]));
            writer.write_image_data(&rgb)?;
            progress.set_fraction((frame + 1) as f32 / frames as f32);
        }
        writer.finish()?;
        Ok(())
    }

    fn draw(&self, turned: f64, picture: &mut Picture) {
        let print = |sheet, face| self.prints.of(sheet, face);
        dummy::draw_sheets(&self.folded, print, self.paper, &view(self.shot, turned), picture);
    }
}

fn view(shot: &DummyShot, turned: f64) -> DummyView {
    DummyView {
        yaw: shot.yaw + turned,
        pitch: shot.pitch,
        zoom: shot.zoom,
        samples: 3,
        ..DummyView::facing(shot.width as usize, shot.height as usize, GROUND)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::units::SheetFormat;
    use slipsheet_document::shelf::Shelf;

    fn printing() -> Printing {
        let stock = Shelf::starter().unwrap().stocks[0].clone();
        let mut printing = Printing::new("Invented", SheetFormat::Letter, stock);
        printing.sheet.fold = slipsheet_paper::fold::find("slit8");
        printing
    }

    fn shot(turn_around: Option<u32>) -> DummyShot {
        DummyShot { width: 120, height: 90, turn_around, ..DummyShot::default() }
    }

    fn frames(path: &Path) -> (Option<u32>, Vec<Vec<u8>>) {
        let file = io::BufReader::new(std::fs::File::open(path).unwrap());
        let mut reader = png::Decoder::new(file).read_info().unwrap();
        let count = reader.info().animation_control().map(|a| a.num_frames);
        let frames = (0..count.unwrap_or(1)).map(|_| {
            let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
            reader.next_frame(&mut pixels).unwrap();
            pixels
        });
        (count, frames.collect())
    }

    #[test]
    fn a_still_picture_is_one_frame_and_always_the_same() {
        let dir = tempfile::tempdir().unwrap();
        let (a, b) = (dir.path().join("a.png"), dir.path().join("b.png"));
        for path in [&a, &b] {
            write(&printing(), &Images::default(), &shot(None), path, &Progress::new()).unwrap();
        }
        assert_eq!(std::fs::read(&a).unwrap(), std::fs::read(&b).unwrap());
        let (count, frames) = frames(&a);
        assert_eq!(count, None);
        // Paper in the middle, ground in the corner.
        assert_eq!(frames[0][..3], GROUND);
        assert!(frames[0][3 * (45 * 120 + 60)] > 190);
    }

    #[test]
    fn a_turn_around_has_its_frames_and_none_is_like_another() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("round.png");
        let progress = Progress::new();
        write(&printing(), &Images::default(), &shot(Some(5)), &path, &progress).unwrap();
        let (count, frames) = frames(&path);
        assert_eq!((count, frames.len()), (Some(5), 5));
        assert!(frames.iter().enumerate().all(|(i, f)| frames[..i].iter().all(|g| g != f)));
        assert!(progress.fraction() >= 1.0);
    }

    #[test]
    fn what_was_stopped_leaves_the_file_as_it_was() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("round.png");
        std::fs::write(&path, "before").unwrap();
        let progress = Progress::new();
        progress.cancel();
        let stopped = write(&printing(), &Images::default(), &shot(Some(5)), &path, &progress);
        assert!(matches!(stopped, Err(DummyPictureError::Stopped)));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "before");
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1);
    }

    #[test]
    fn sizes_and_frames_out_of_their_limits_are_refused_in_words() {
        let wide = DummyShot { width: 5000, ..DummyShot::default() };
        for (shot, words) in [(wide, "64 to 4096"), (shot(Some(1)), "2 to 360 frames, not 1")] {
            let refused = write(&printing(), &Images::default(), &shot, Path::new("x.png"), &Progress::new());
            assert!(refused.unwrap_err().to_string().contains(words));
        }
    }
}
