//! A picture in colour, as screens and files take it.

/// A picture in sRGB, rows from the top, four bytes a pixel; what lies off the sheet is transparent.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Picture {
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// Red, green, blue, opacity.
    pub pixels: Vec<[u8; 4]>,
}

impl Picture {
    /// The pixel at a place; transparent outside.
    pub fn at(&self, x: usize, y: usize) -> [u8; 4] {
        if x < self.width { self.pixels.get(y * self.width + x).copied().unwrap_or_default() } else { [0; 4] }
    }

    /// Gives it this size; what it held is to be drawn over.
    pub fn resize(&mut self, width: usize, height: usize) {
        (self.width, self.height) = (width, height);
        self.pixels.resize(width * height, [0; 4]);
    }
}
