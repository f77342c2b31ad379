//! Spectra to colours.

use super::{CgatsError, Table};
use crate::colour::{Lab, Xyz};

/// The 2 degree observer of CIE 1931 (x, y, z) and the power of D50, every 10 nm from 400 to 700 nm
/// (CIE 15; the same table as `tests/data/cie1931_d50_10nm.csv`, which a test holds it to).
pub(super) const OBSERVER_AND_D50: [[f64; 4]; 31] = [
    [0.01431, 0.000396, 0.06785, 49.308],
    [0.04351, 0.00121, 0.2074, 56.513],
    [0.13438, 0.004, 0.6456, 60.034],
    [0.2839, 0.0116, 1.3856, 57.818],
    [0.34828, 0.023, 1.74706, 74.825],
    [0.3362, 0.038, 1.77211, 87.247],
    [0.2908, 0.06, 1.6692, 90.612],
    [0.19536, 0.09098, 1.28764, 91.368],
    [0.09564, 0.13902, 0.81295, 95.109],
    [0.03201, 0.20802, 0.46518, 91.963],
    [0.0049, 0.323, 0.272, 95.724],
    [0.0093, 0.503, 0.1582, 96.613],
    [0.06327, 0.71, 0.07825, 97.129],
    [0.1655, 0.862, 0.04216, 102.099],
    [0.2904, 0.954, 0.0203, 100.755],
    [0.43345, 0.99495, 0.00875, 102.317],
    [0.5945, 0.995, 0.0039, 100.0],
    [0.7621, 0.952, 0.0021, 97.735],
    [0.9163, 0.87, 0.00165, 98.918],
    [1.0263, 0.757, 0.0011, 93.499],
    [1.0622, 0.631, 0.0008, 97.688],
    [1.0026, 0.503, 0.00034, 99.269],
    [0.85445, 0.381, 0.00019, 99.042],
    [0.6424, 0.265, 5e-05, 95.722],
    [0.4479, 0.175, 2e-05, 98.857],
    [0.2835, 0.107, 0.0, 95.667],
    [0.1649, 0.061, 0.0, 98.19],
    [0.0874, 0.032, 0.0, 103.003],
    [0.04677, 0.017, 0.0, 99.133],
    [0.0227, 0.00821, 0.0, 87.381],
    [0.011359, 0.004102, 0.0, 91.604],
];

/// First wavelength of the table and its step, nm.
const FIRST: f64 = 400.0;
const STEP: f64 = 10.0;

/// White of D50, as [`crate::colour`] has it.
const WHITE: [f64; 3] = [0.96422, 1.0, 0.82521];

/// Which fields hold reflectances: wavelength in nm and field, in order.
pub(super) struct Bands {
    bands: Vec<(f64, usize)>,
    /// What the numbers are divided by: 100 for per cent.
    scale: f64,
}

impl Bands {
    /// The bands of a table; `None` where they do not span 400 to 700 nm in steps of at most 20.
    ///
    /// # Errors
    /// When a wavelength or a reflectance is not a number.
    pub fn of(table: &Table) -> Result<Option<Self>, CgatsError> {
        let named = table.fields.iter().enumerate().filter_map(|(i, f)| Some((wavelength(f)?, i)));
        let mut bands: Vec<(f64, usize)> = named.collect();
        let mut fraction = false;
        if bands.is_empty() {
            // Pairs of fields: a wavelength, then its reflectance.
            for (i, pair) in table.fields.windows(2).enumerate() {
                let is = |k: usize, name: &str| pair.get(k).is_some_and(|f| f.eq_ignore_ascii_case(name));
                if is(0, "SPECTRAL_NM") && (is(1, "SPECTRAL_PCT") || is(1, "SPECTRAL_DEC")) {
                    bands.push((table.number(0, i)?, i + 1));
                    fraction |= is(1, "SPECTRAL_DEC");
                }
            }
        }
        bands.sort_by(|a, b| a.0.total_cmp(&b.0));
        bands.dedup_by(|a, b| a.0 - b.0 < 0.5);
        let spans = bands.first().is_some_and(|b| b.0 <= 400.0)
            && bands.last().is_some_and(|b| b.0 >= 700.0)
            && bands.windows(2).all(|w| w[1].0 - w[0].0 <= 20.0);
        if !spans {
            return Ok(None);
        }
        let mut most = 0.0_f64;
        for row in 0..table.rows.len() {
            for (_, field) in &bands {
                most = most.max(table.number(row, *field)?);
            }
        }
        // Paper with brightener sends back up to about 1.3 of the light; no table in per cent stays below 2.
        let scale = if fraction || most <= 2.0 { 1.0 } else { 100.0 };
        Ok(Some(Self { bands, scale }))
    }

    /// The colour of a row: sums over the table, scaled so that what reflects everything is exactly white.
    pub fn lab(&self, table: &Table, row: usize) -> Result<Lab, CgatsError> {
        let reflectance: Vec<(f64, f64)> = self
            .bands
            .iter()
            .map(|(nm, field)| {
                let v = table.number(row, *field)? / self.scale;
                if (-0.01..=4.0).contains(&v) {
                    Ok((*nm, v.max(0.0)))
                } else {
                    Err(table.refused(row, *field))
                }
            })
            .collect::<Result<_, _>>()?;
        let (mut sum, mut all) = ([0.0; 3], [0.0; 3]);
        for (i, [x, y, z, power]) in OBSERVER_AND_D50.into_iter().enumerate() {
            let r = at(&reflectance, FIRST + STEP * i as f64);
            for (c, seen) in [x, y, z].into_iter().enumerate() {
                sum[c] += r * seen * power;
                all[c] += seen * power;
            }
        }
        let [x, y, z] = std::array::from_fn(|c| WHITE[c] * sum[c] / all[c]);
        Ok(Xyz { x, y, z }.lab())
    }
}

/// Straight from band to band.
fn at(bands: &[(f64, f64)], nm: f64) -> f64 {
    let right = bands.partition_point(|b| b.0 < nm).clamp(1, bands.len().max(2) - 1);
    let (Some(a), Some(b)) = (bands.get(right - 1), bands.get(right)) else { return 0.0 };
    a.1 + (nm - a.0) / (b.0 - a.0) * (b.1 - a.1)
}

/// The wavelength in nm that a field's name ends in, whatever word stands before it: `SPECTRAL_NM_380`.
fn wavelength(field: &str) -> Option<f64> {
    let word = field.trim_end_matches(|c: char| c.is_ascii_digit());
    let nm = field.get(word.len()..)?.parse::<f64>().ok()?;
    let is_word = word.starts_with(|c: char| c.is_ascii_alphabetic());
    (is_word && (300.0..=1100.0).contains(&nm)).then_some(nm)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_that_of_the_reference_data() {
        let text = include_str!("../../../../tests/data/cie1931_d50_10nm.csv");
        let rows: Vec<Vec<f64>> =
            text.lines().skip(1).map(|l| l.split(',').map(|v| v.trim().parse().unwrap()).collect()).collect();
        assert_eq!(rows.len(), OBSERVER_AND_D50.len());
        for (i, (row, own)) in rows.iter().zip(OBSERVER_AND_D50).enumerate() {
            assert!((row[0] - FIRST - STEP * i as f64).abs() < 1e-9 && row[1..] == own, "{row:?}");
        }
    }

    #[test]
    fn wavelengths_are_read_from_the_names_of_fields() {
        assert_eq!(wavelength("nm380"), Some(380.0));
        assert_eq!(wavelength("LAB_L"), None);
        assert_eq!(wavelength("CMYK_1"), None);
    }
}
