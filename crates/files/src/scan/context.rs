//! What every decoder is given besides the bytes: the file's name for its errors, the
//! progress to report to, and how gray is taken from colour.

use std::io::{self, BufRead, Seek, SeekFrom};

use image::ImageError;
use slipsheet_core::raster::{RasterError, check_size};

use super::gray::Mix;
use super::{Progress, ScanError, ScanFormat};

/// The most bytes that one decoding buffer may take.
pub(super) const MAX_BUFFER: u64 = 4 << 30;
/// Pixels that a file may claim however short it is: a blank sheet packs to nothing.
const FEW_PIXELS: u64 = 1 << 26;

/// A file or bytes in memory.
pub(super) trait Input: BufRead + Seek {}
impl<T: BufRead + Seek> Input for T {}

pub(super) struct Context<'a> {
    pub name: &'a str,
    pub format: ScanFormat,
    pub progress: &'a Progress,
    pub mix: Mix,
}

impl Context<'_> {
    pub fn truncated(&self) -> ScanError {
        ScanError::Truncated { name: self.name.to_owned(), format: self.format }
    }

    pub fn damaged(&self, detail: impl ToString) -> ScanError {
        ScanError::Damaged { name: self.name.to_owned(), format: self.format, detail: detail.to_string() }
    }

    pub fn unsupported(&self, what: impl ToString) -> ScanError {
        ScanError::Unsupported { name: self.name.to_owned(), format: self.format, what: what.to_string() }
    }

    pub fn too_much_memory(&self) -> ScanError {
        ScanError::TooMuchMemory { name: self.name.to_owned() }
    }

    pub fn io(&self, source: io::Error) -> ScanError {
        match source.kind() {
            io::ErrorKind::UnexpectedEof => self.truncated(),
            // What decoders call an input error is trouble with the content, not with the disk.
            io::ErrorKind::InvalidData | io::ErrorKind::InvalidInput | io::ErrorKind::Other => {
                self.damaged(source)
            }
            _ => ScanError::from_io(self.name, source),
        }
    }

    pub fn image(&self, error: ImageError) -> ScanError {
        match error {
            ImageError::IoError(e) => self.io(e),
            ImageError::Limits(_) => self.too_much_memory(),
            ImageError::Unsupported(_) => self.unsupported("a rare encoding"),
            other @ (ImageError::Decoding(_) | ImageError::Encoding(_) | ImageError::Parameter(_)) => {
                self.damaged(other)
            }
        }
    }

    /// Refuses a size before anything of that size is asked for.
    pub fn check_size(&self, width: u32, height: u32) -> Result<(), ScanError> {
        match check_size(width, height) {
            Ok(()) => Ok(()),
            Err(RasterError::TooLarge { .. }) => {
                Err(ScanError::TooLarge { name: self.name.to_owned(), width, height })
            }
            Err(e @ (RasterError::Empty { .. } | RasterError::WrongLength { .. })) => Err(self.damaged(e)),
        }
    }

    /// Refuses a picture that a file of this length cannot hold, where its kind packs so many pixels into a byte.
    pub fn check_claim(
        &self,
        (width, height): (u32, u32),
        per_byte: u64,
        length: u64,
    ) -> Result<(), ScanError> {
        let pixels = u64::from(width) * u64::from(height);
        if pixels > FEW_PIXELS && pixels > length.saturating_mul(per_byte) {
            return Err(self.truncated());
        }
        Ok(())
    }

    /// `rows` rows of `row_bytes` zero bytes, or the sentence about memory.
    pub fn buffer(&self, row_bytes: u64, rows: u64) -> Result<Vec<u8>, ScanError> {
        let len = row_bytes.checked_mul(rows).filter(|len| *len <= MAX_BUFFER);
        let len = len.and_then(|len| usize::try_from(len).ok()).ok_or_else(|| self.too_much_memory())?;
        // Asked first in a way that can fail; `vec!` itself would abort, but gets
        // pages that are zero already, which costs nothing until they are written.
        let mut probe = Vec::<u8>::new();
        if probe.try_reserve_exact(len).is_err() {
            return Err(self.too_much_memory());
        }
        drop(probe);
        Ok(vec![0; len])
    }

    /// Reports `done` of `total` and stops if that was asked for.
    pub fn tick(&self, done: u32, total: u32) -> Result<(), ScanError> {
        if self.progress.is_cancelled() {
            return Err(ScanError::Cancelled);
        }
        self.progress.set_fraction(done as f32 / total.max(1) as f32);
        Ok(())
    }

    /// The length of the input, whose position is then the beginning.
    pub fn rewound_length(&self, input: &mut dyn Input) -> Result<u64, ScanError> {
        let end = input.seek(SeekFrom::End(0)).map_err(|e| self.io(e))?;
        input.seek(SeekFrom::Start(0)).map_err(|e| self.io(e))?;
        Ok(end)
    }

    /// All bytes of the input, from its beginning.
    pub fn all_bytes(&self, input: &mut dyn Input) -> Result<Vec<u8>, ScanError> {
        let len = self.rewound_length(input)?;
        let mut bytes = Vec::new();
        let room = usize::try_from(len).ok().filter(|_| len <= MAX_BUFFER);
        if room.is_none_or(|room| bytes.try_reserve_exact(room).is_err()) {
            return Err(self.too_much_memory());
        }
        io::Read::read_to_end(&mut io::Read::take(input, MAX_BUFFER), &mut bytes).map_err(|e| self.io(e))?;
        Ok(bytes)
    }
}
