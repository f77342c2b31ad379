//! The colour profile embedded in a picture (ICC.1:2022), and bytes brought from it to a space that the program knows.

use std::io::Cursor;

use image::ImageDecoder as _;
use moxcms::{ColorProfile, DataColorSpace, Layout, RenderingIntent, ToneReprCurve, TransformOptions};

/// What a picture's numbers mean, by its file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Profile {
    /// The file does not say: sRGB is assumed.
    #[default]
    None,
    Srgb,
    /// Another one, by its name, from which the picture was brought over.
    Other(String),
    /// One that cannot be used: sRGB is assumed.
    Unusable,
}

impl Profile {
    /// In words, for a person.
    pub fn words(&self) -> String {
        match self {
            Self::None => "no colour profile; sRGB is assumed".to_owned(),
            Self::Srgb => "sRGB".to_owned(),
            Self::Other(name) if name.is_empty() => "its own colour profile".to_owned(),
            Self::Other(name) => format!("colour profile “{name}”"),
            Self::Unusable => "a colour profile that cannot be used; sRGB is assumed".to_owned(),
        }
    }
}

/// The most bytes that a profile may have.
const MOST: usize = 64 << 20;
/// Bytes of encoded colour that two spaces may differ by and be the same.
const SAME: u8 = 2;

/// The profile that is embedded in a file.
pub(super) fn embedded(bytes: &[u8]) -> Option<Vec<u8>> {
    let reader = image::ImageReader::new(Cursor::new(bytes)).with_guessed_format().ok()?;
    // Tables alone, whatever the picture's size.
    let icc = reader.into_decoder().ok()?.icc_profile().ok()??;
    (icc.len() <= MOST).then_some(icc)
}

/// What colours of a profile are in sRGB, or where they do not fit in there with the primaries of Rec.2020 and the same
/// transfer function.
pub(super) struct FromProfile {
    pub profile: Profile,
    /// Whether the primaries are those of Rec.2020.
    pub wide: bool,
    transform: Option<std::sync::Arc<moxcms::Transform8BitExecutor>>,
}

impl FromProfile {
    pub(super) fn of(icc: Option<&[u8]>, srgb_alone: bool) -> Self {
        let none = |profile| Self { profile, wide: false, transform: None };
        let Some(icc) = icc else { return none(Profile::None) };
        let Ok(source) = ColorProfile::new_from_slice(icc) else { return none(Profile::Unusable) };
        let srgb = ColorProfile::new_srgb();
        let to = |target: &ColorProfile| {
            // Gray comes with three equal channels, and is brought over as the first.
            let options = TransformOptions {
                rendering_intent: RenderingIntent::RelativeColorimetric,
                ..TransformOptions::default()
            };
            match source.color_space {
                DataColorSpace::Rgb => {
                    source.create_transform_8bit(Layout::Rgb, target, Layout::Rgb, options).ok()
                }
                _ => None,
            }
        };
        let Some(plain) = to(&srgb) else { return none(Profile::Unusable) };
        let probes: Vec<u8> =
            (0..125_u32).flat_map(|i| [i % 5, i / 5 % 5, i / 25].map(|v| (v * 255 / 4) as u8)).collect();
        let mut brought = vec![0; probes.len()];
        if plain.transform(&probes, &mut brought).is_err() {
            return none(Profile::Unusable);
        }
        if probes.iter().zip(&brought).all(|(a, b)| a.abs_diff(*b) <= SAME) {
            return none(Profile::Srgb);
        }
        let name = source.description.as_ref().map(name).unwrap_or_default();
        if srgb_alone {
            return Self { profile: Profile::Other(name), wide: false, transform: Some(plain) };
        }
        let curve: Option<ToneReprCurve> = srgb.red_trc.clone();
        let mut wide = ColorProfile::new_bt2020();
        (wide.red_trc, wide.green_trc, wide.blue_trc) = (curve.clone(), curve.clone(), curve);
        wide.cicp = None;
        match to(&wide) {
            Some(transform) => Self { profile: Profile::Other(name), wide: true, transform: Some(transform) },
            None => Self { profile: Profile::Other(name), wide: false, transform: Some(plain) },
        }
    }

    /// Brings rows of pixels over.
    pub(super) fn bring(&self, rgb: &mut [u8]) {
        use rayon::prelude::*;
        let Some(transform) = &self.transform else { return };
        rgb.par_chunks_mut(3 << 14).for_each(|part| {
            let from = part.to_vec();
            if transform.transform(&from, part).is_err() {
                part.copy_from_slice(&from);
            }
        });
    }
}

fn name(text: &moxcms::ProfileText) -> String {
    use moxcms::ProfileText;
    let plain = match text {
        ProfileText::PlainString(text) => text.clone(),
        ProfileText::Localizable(all) => all.first().map(|t| t.value.clone()).unwrap_or_default(),
        ProfileText::Description(description) => description.ascii_string.clone(),
    };
    plain.trim_matches(char::from(0)).trim().chars().take(80).collect()
}

#[cfg(test)]
mod tests {
    use image::ImageEncoder as _;
    use image::codecs::png::PngEncoder;
    use slipsheet_core::colour::{Lab, Xyz, linear_from_srgb};

    use super::super::{PictureOptions, Progress, read_picture};
    use super::*;

    /// The matrix of Adobe RGB (1998) Color Image Encoding, 4.3.6.1, to XYZ under D65, with its gamma of 2 51/256.
    fn adobe(rgb: [u8; 3]) -> Lab {
        let [r, g, b] = rgb.map(|v| libm::pow(f64::from(v) / 255.0, 2.199_218_75));
        let x = 0.57667 * r + 0.18556 * g + 0.18823 * b;
        let y = 0.29734 * r + 0.62736 * g + 0.07529 * b;
        let z = 0.02703 * r + 0.07069 * g + 0.99134 * b;
        // To linear sRGB by the matrix of IEC 61966-2-1, whose white is D65 as well.
        let srgb = [
            3.2406 * x - 1.5372 * y - 0.4986 * z,
            -0.9689 * x + 1.8758 * y + 0.0415 * z,
            0.0557 * x - 0.2040 * y + 1.0570 * z,
        ];
        Xyz::from_linear_srgb(srgb).lab()
    }

    fn png(colours: &[[u8; 3]], profile: Option<&ColorProfile>) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut encoder = PngEncoder::new(&mut bytes);
        if let Some(profile) = profile {
            encoder.set_icc_profile(profile.encode().unwrap()).unwrap();
        }
        let pixels = colours.concat();
        encoder.write_image(&pixels, colours.len() as u32, 1, image::ExtendedColorType::Rgb8).unwrap();
        bytes
    }

    fn read(bytes: &[u8], srgb_alone: bool) -> super::super::Picture {
        let options = PictureOptions { srgb_alone, ..PictureOptions::default() };
        read_picture("a.png", bytes, &options, &Progress::new()).unwrap()
    }

    const COLOURS: [[u8; 3]; 6] =
        [[255, 255, 255], [0, 255, 0], [200, 60, 40], [120, 130, 180], [128, 128, 128], [30, 200, 180]];

    #[test]
    fn an_embedded_profile_is_honoured_as_its_standard_says() {
        let picture = read(&png(&COLOURS, Some(&ColorProfile::new_adobe_rgb())), false);
        assert!(picture.raster.is_wide(), "green of that space lies outside sRGB");
        assert!(matches!(&picture.profile, Profile::Other(_)), "{:?}", picture.profile);
        for (i, rgb) in COLOURS.iter().enumerate() {
            let got = picture.raster.at(i as u32, 0).unwrap().map(|v| linear_from_srgb(f64::from(v) / 255.0));
            let off = Xyz::from_light(got).lab().ciede2000(adobe(*rgb));
            assert!(off < 1.0, "{off} for {rgb:?}");
        }
        // As sRGB alone, what fits in there is as true; taken as sRGB unseen it would be far off.
        let srgb = read(&png(&COLOURS, Some(&ColorProfile::new_adobe_rgb())), true);
        let lab =
            |rgb: [u8; 3]| Xyz::from_linear_srgb(rgb.map(|v| linear_from_srgb(f64::from(v) / 255.0))).lab();
        assert!(!srgb.raster.is_wide());
        for i in [2, 3, 4] {
            let got = lab(srgb.raster.at(i, 0).unwrap());
            assert!(got.ciede2000(adobe(COLOURS[i as usize])) < 1.0);
        }
        assert!(lab(COLOURS[2]).ciede2000(adobe(COLOURS[2])) > 3.0);
    }

    #[test]
    fn srgb_and_no_profile_are_taken_as_they_are_and_a_broken_one_is_said() {
        for (profile, wanted) in [(None, Profile::None), (Some(ColorProfile::new_srgb()), Profile::Srgb)] {
            let picture = read(&png(&COLOURS, profile.as_ref()), false);
            assert_eq!((picture.raster.is_wide(), picture.profile), (false, wanted));
            assert_eq!(picture.raster.pixels(), COLOURS.concat());
        }
        let mut bytes = Vec::new();
        let mut encoder = PngEncoder::new(&mut bytes);
        encoder.set_icc_profile(vec![7; 300]).unwrap();
        encoder.write_image(&[1, 2, 3], 1, 1, image::ExtendedColorType::Rgb8).unwrap();
        let picture = read(&bytes, false);
        assert_eq!((picture.profile, picture.raster.pixels()), (Profile::Unusable, &[1, 2, 3][..]));
    }
}
