//! Resolutions as files store them, turned back into the dpi they were meant as.

use slipsheet_core::units::Dpi;

/// How far apart the two directions may be and still count as one resolution.
const EVEN: f64 = 0.01;

/// Pixels per inch, across and down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Resolution {
    pub x: f64,
    pub y: f64,
}

impl Resolution {
    /// From whole pixels per metre (PNG, BMP).
    pub fn from_metre(x: u32, y: u32) -> Self {
        Self { x: meant(x, 0.0254), y: meant(y, 0.0254) }
    }

    /// From JFIF's density and unit: 1 is dots per inch, 2 dots per cm, others say nothing.
    pub fn from_jfif(x: u16, y: u16, unit: u8) -> Option<Self> {
        match unit {
            1 => Some(Self { x: f64::from(x), y: f64::from(y) }),
            2 => Some(Self { x: meant(x.into(), 2.54), y: meant(y.into(), 2.54) }),
            _ => None,
        }
    }

    /// From TIFF's and EXIF's tags: unit 2 is the inch, 3 the cm, others say nothing.
    pub fn from_tiff(x: f64, y: f64, unit: u32) -> Option<Self> {
        let whole = |dpi: f64| if (dpi - dpi.round()).abs() < 0.02 { dpi.round() } else { dpi };
        match unit {
            2 => Some(Self { x: whole(x), y: whole(y) }),
            3 => Some(Self { x: whole(x * 2.54), y: whole(y * 2.54) }),
            _ => None,
        }
    }

    /// Both directions, if they are resolutions at all.
    pub fn both(self) -> Option<(Dpi, Dpi)> {
        Dpi::new(self.x).ok().zip(Dpi::new(self.y).ok())
    }

    /// The one resolution, if both directions agree within 1 %.
    pub fn even(self) -> Option<Dpi> {
        let (x, y) = self.both()?;
        ((x.get() - y.get()).abs() <= EVEN * x.get()).then_some(x)
    }
}

/// The roundest dpi that becomes this whole number of pixels per unit: 11811 pixels per
/// metre were 300 dpi, and so were 118 per cm. `inches` is dpi per pixel-per-unit.
fn meant(stored: u32, inches: f64) -> f64 {
    let plain = f64::from(stored) * inches;
    let explains = |dpi: f64| (dpi / inches).round() == f64::from(stored);
    let candidates = [(plain / 25.0).round() * 25.0, plain.round()];
    candidates.into_iter().find(|dpi| explains(*dpi)).unwrap_or(plain)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stored_roundings_are_undone() {
        for dpi in [72.0, 96.0, 150.0, 200.0, 300.0, 400.0, 600.0, 1200.0, 2400.0, 4800.0] {
            let stored = (dpi / 0.0254_f64).round() as u32;
            assert_eq!(Resolution::from_metre(stored, stored).even(), Dpi::new(dpi).ok());
        }
        assert_eq!(Resolution::from_jfif(118, 118, 2).and_then(Resolution::even), Dpi::new(300.0).ok());
        assert_eq!(Resolution::from_jfif(47, 47, 2).and_then(Resolution::even), Dpi::new(119.0).ok());
        assert_eq!(Resolution::from_tiff(118.11, 118.11, 3).and_then(Resolution::even), Dpi::new(300.0).ok());
    }

    #[test]
    fn an_aspect_ratio_and_an_absurd_number_are_no_resolution() {
        assert_eq!(Resolution::from_jfif(1, 1, 0), None);
        assert_eq!(Resolution::from_jfif(1, 1, 1).and_then(Resolution::even), None);
        assert_eq!(Resolution::from_tiff(f64::NAN, 300.0, 2).and_then(Resolution::even), None);
        let fax = Resolution::from_jfif(204, 98, 1);
        assert_eq!(fax.and_then(Resolution::even), None);
        assert!(fax.and_then(Resolution::both).is_some());
    }
}
