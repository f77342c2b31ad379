//! What of a project is drawn, through which window, and the picture that comes of it.

use slipsheet_core::geometry::{Affine, Rect};
use slipsheet_core::units::{Dpi, Size};
use slipsheet_paper::fold::Face;

/// What of a project is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Show {
    pub face: Face,
    /// One layer alone, by its index in the project, whether it is visible or not.
    pub solo: Option<usize>,
    /// Draw every layer where it is meant to lie, without slips.
    pub perfect: bool,
    /// Which sheet of a booklet, from 0.
    pub sheet: usize,
    /// Draw the masters' true dots where the view is near enough to see them.
    pub dots: bool,
    /// Let the other face show through faintly, as the stock's weight lets it (an estimate).
    pub show_through: bool,
}

impl Show {
    pub fn meant(face: Face) -> Self {
        Self { face, perfect: true, ..Self::default() }
    }
}

/// A window onto a face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Width of the picture in pixels.
    pub width: usize,
    /// Height of the picture in pixels.
    pub height: usize,
    /// From pixels of the picture (corners at whole numbers) to mm on the face.
    pub face_from_view: Affine,
}

impl View {
    pub fn sheet(sheet: Size, dpi: Dpi) -> Self {
        let (width, height) = sheet.pixels(dpi);
        Self::of_rect(
            Rect { x: 0.0, y: 0.0, width: sheet.width.get(), height: sheet.height.get() },
            width,
            height,
        )
    }

    /// A rectangle of the face in mm, stretched over a picture of this many pixels.
    pub fn of_rect(rect: Rect, width: u32, height: u32) -> Self {
        let (w, h) = (f64::from(width.max(1)), f64::from(height.max(1)));
        let face_from_view = Affine::shift(rect.x, rect.y) * Affine::scale(rect.width / w, rect.height / h);
        Self { width: width as usize, height: height as usize, face_from_view }
    }

    /// A page standing upright, at a resolution.
    pub fn page(place: &slipsheet_paper::fold::PagePlace, dpi: Dpi) -> Self {
        let (width, height) = place.size.pixels(dpi);
        let page_from_view = Affine::scale(
            place.size.width.get() / f64::from(width),
            place.size.height.get() / f64::from(height),
        );
        Self {
            width: width as usize,
            height: height as usize,
            face_from_view: place.face_from_page * page_from_view,
        }
    }

    /// The part of this view between two rows.
    #[must_use]
    pub fn band(self, top: usize, height: usize) -> Self {
        Self { height, face_from_view: self.face_from_view * Affine::shift(0.0, top as f64), ..self }
    }
}
