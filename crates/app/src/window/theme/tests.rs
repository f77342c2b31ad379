//! The colours, held against published measures of contrast and of colour vision.

use std::path::Path;

use egui::Color32;
use slipsheet_core::colour::{Xyz, linear_from_srgb};

use super::{Palette, palette};

/// Linear red, green and blue, 0..=1.
fn linear(colour: Color32) -> [f64; 3] {
    [colour.r(), colour.g(), colour.b()].map(|c| linear_from_srgb(f64::from(c) / 255.0))
}

/// Contrast ratio by WCAG 2.2, 1..=21, from its definitions of relative luminance and contrast ratio.
fn contrast(a: Color32, b: Color32) -> f64 {
    let luminance = |colour: Color32| {
        let channel = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(colour.r()) + 0.7152 * channel(colour.g()) + 0.0722 * channel(colour.b())
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

const THEMES: [(&str, bool); 2] = [("light", false), ("dark", true)];

#[test]
fn contrast_is_measured_as_wcag_defines_it() {
    // Black on white is 21 by definition; #767676 on white is the well-known palest gray that passes 4.5.
    assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
    let gray = |v| super::rgb([v, v, v]);
    assert!(contrast(gray(0x76), Color32::WHITE) >= 4.5 && contrast(gray(0x77), Color32::WHITE) < 4.5);
}

#[test]
fn every_token_stands_out_from_its_ground_by_the_ratio_it_was_chosen_for() {
    type Pair = fn(&Palette) -> (Color32, Color32);
    // Name, what lies on what, and the least ratio in the light and in the dark theme.
    let pairs: [(&str, Pair, [f64; 2]); 9] = [
        ("edge", |p| (p.edge, p.panel), [3.6, 3.9]),
        ("text", |p| (p.text, p.panel), [14.7, 11.6]),
        ("faint", |p| (p.faint, p.panel), [6.45, 6.45]),
        ("accent", |p| (p.accent, p.panel), [8.5, 6.5]),
        ("on accent", |p| (p.on_accent, p.accent), [9.6, 8.3]),
        ("selection", |p| (p.text, p.selection), [12.3, 9.05]),
        ("good", |p| (p.good, p.panel), [5.8, 7.4]),
        ("error", |p| (p.error, p.panel), [5.65, 6.75]),
        ("warning", |p| (p.warning, p.panel), [5.5, 8.1]),
    ];
    for (theme, dark) in THEMES {
        let p = palette(dark);
        for (name, pair, least) in pairs {
            let (colour, ground) = pair(&p);
            let (got, least) = (contrast(colour, ground), least[usize::from(dark)]);
            assert!(got >= least, "{name} of the {theme} theme: {got:.2} of {least}");
        }
        // WCAG 2.2, 1.4.3 and 1.4.11: 4.5 for text wherever it stands, 3 for the edges of controls.
        for ground in [p.panel, p.strip, p.field] {
            for text in [p.text, p.faint, p.accent, p.good, p.error, p.warning] {
                assert!(contrast(text, ground) >= 4.5, "{theme}: {text:?} on {ground:?}");
            }
            assert!(contrast(p.edge, ground) >= 3.0, "{theme}: the edge on {ground:?}");
        }
        assert!(contrast(p.faint, p.selection) >= 4.5 && contrast(p.accent, p.strip) >= 3.0);
        // Guides show on their halo, and the halo on the darkest ink.
        assert!(contrast(p.guide, Color32::WHITE) >= 4.5);
    }
}

#[test]
fn greys_are_neutral_and_the_accent_is_no_blue() {
    for (theme, dark) in THEMES {
        let p = palette(dark);
        for gray in [p.canvas, p.panel, p.strip, p.field, p.line, p.edge, p.text, p.faint] {
            assert!(gray.r() == gray.g() && gray.g() == gray.b(), "{theme}: {gray:?} is tinted");
        }
        // A blue is bluest; a plum has more red than blue, and least green.
        assert!(p.accent.r() > p.accent.b() && p.accent.b() > p.accent.g(), "{theme}");
    }
}

/// How colours look to someone who lacks one kind of cone, for linear sRGB: Machado, Oliveira and Fernandes, "A
/// physiologically-based model for simulation of color vision deficiency", 2009, severity 1.
const VISIONS: [(&str, [[f64; 3]; 3]); 3] = [
    (
        "protan",
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    ),
    (
        "deutan",
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    ),
    (
        "tritan",
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
    ),
];

#[test]
fn what_would_sell_is_told_from_what_would_not_by_every_kind_of_eye() {
    for (name, matrix) in VISIONS {
        // A simulation keeps grays as they are: each row sums to 1.
        for row in matrix {
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 2e-6, "{name}");
        }
        let seen = |colour| {
            let c = linear(colour);
            let of = |row: [f64; 3]| row.iter().zip(c).map(|(m, c)| m * c).sum::<f64>().clamp(0.0, 1.0);
            Xyz::from_linear_srgb(matrix.map(of)).lab()
        };
        for (theme, dark) in THEMES {
            let p = palette(dark);
            let apart = seen(p.good).ciede2000(seen(p.error));
            // To the nearest whole: the dark pair is 34.9 apart for protan eyes.
            assert!(apart.round() >= 35.0, "{name}, {theme}: {apart:.1}");
        }
    }
}

#[test]
fn type_comes_in_the_sizes_of_the_theme_alone() {
    fn sources(folder: &Path, found: &mut Vec<(String, String)>) {
        for entry in std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()) {
            if entry.is_dir() {
                sources(&entry, found);
            } else if entry.extension().is_some_and(|e| e == "rs") {
                found.push((entry.display().to_string(), std::fs::read_to_string(&entry).unwrap()));
            }
        }
    }
    let mut files = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/window"), &mut files);
    assert!(files.len() > 60, "{}", files.len());
    for (name, text) in files {
        for call in ["FontId::proportional(", "FontId::monospace(", "FontId::new(", ".size("] {
            for (at, _) in text.match_indices(call).filter(|_| !name.ends_with("tests.rs")) {
                let next = text[at + call.len()..].trim_start().chars().next();
                assert!(!next.is_some_and(|c| c.is_ascii_digit()), "{name} sets a size of its own: {call}");
            }
        }
    }
}
