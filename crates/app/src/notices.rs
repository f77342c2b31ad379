//! Notices of what others made and the program carries within itself. Their licences ask that the notices travel
//! with it, so the texts are part of it too.

/// One notice.
#[derive(Debug, Clone, Copy)]
pub struct PartNotice {
    /// What it is about, and under which licence.
    pub name: &'static str,
    /// What the part does here.
    pub what: &'static str,
    /// The notice, word for word.
    pub text: &'static str,
}

/// The program's own licence, then those of the fonts, profiles and tables in it.
pub const NOTICES: &[PartNotice] = &[
    PartNotice { name: "Slipsheet (MIT)", what: "This program.", text: include_str!("../../../LICENSE") },
    PartNotice {
        name: "Public Sans (SIL Open Font License)",
        what: "The font of the window and of every page that is written.",
        text: include_str!("../../../assets/fonts/PublicSans-OFL.txt"),
    },
    PartNotice {
        name: "Ubuntu Light (Ubuntu Font Licence)",
        what: "Signs that Public Sans lacks.",
        text: include_str!("../../../assets/notices/ubuntu-light-ufl.txt"),
    },
    PartNotice {
        name: "Hack (MIT, Bitstream Vera)",
        what: "Signs that Public Sans lacks.",
        text: include_str!("../../../assets/notices/hack-mit-vera.txt"),
    },
    PartNotice {
        name: "Noto Emoji (SIL Open Font License)",
        what: "Signs that Public Sans lacks.",
        text: include_str!("../../../assets/notices/noto-emoji-ofl.txt"),
    },
    PartNotice {
        name: "emoji-icon-font (MIT)",
        what: "Signs that Public Sans lacks.",
        text: include_str!("../../../assets/notices/emoji-icons-mit.txt"),
    },
    PartNotice {
        name: "PDF stand-in fonts (BSD-3-Clause)",
        what: "FoxitSans, FoxitSerif, FoxitFixed, FoxitSymbol and FoxitDingbats, for PDF pages that name a standard font without carrying it.",
        text: include_str!("../../../assets/notices/pdf-fonts-bsd.txt"),
    },
    PartNotice {
        name: "Colour profiles (CC0)",
        what: "For CMYK, Lab and JPEG 2000 pictures in PDF pages.",
        text: include_str!("../../../assets/notices/colour-profiles-cc0.txt"),
    },
    PartNotice {
        name: "Unicode tables (Unicode License v3)",
        what: "Properties of characters.",
        text: include_str!("../../../assets/notices/unicode-data-v3.txt"),
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_font_in_the_program_has_its_notice() {
        // The copyright lines as the fonts themselves and their packages state them.
        for (part, line) in [
            ("Slipsheet", "MIT License"),
            ("Public Sans", "Public Sans Project Authors"),
            ("Ubuntu Light", "UBUNTU FONT LICENCE Version 1.0"),
            ("Hack", "Copyright (c) 2018 Source Foundry Authors"),
            ("Hack", "Copyright (c) 2003 by Bitstream"),
            ("Noto Emoji", "SIL OPEN FONT LICENSE Version 1.1"),
            ("emoji-icon-font", "John Slegers"),
            ("PDF stand-in fonts", "Copyright 2014 PDFium Authors"),
            ("PDF stand-in fonts", "Redistributions in binary form must reproduce the above"),
            ("Colour profiles", "CC0 1.0 Universal"),
            ("Unicode", "UNICODE LICENSE V3"),
        ] {
            let found = NOTICES.iter().filter(|n| n.name.starts_with(part));
            assert!(found.clone().any(|n| n.text.contains(line)), "{part}: {line}");
        }
    }

    /// What the fonts in the program are called is asked of the toolkit, so that a new one is missed here.
    #[test]
    fn the_toolkits_fonts_are_all_named() {
        let names: Vec<String> = egui::FontDefinitions::default().font_data.into_keys().collect();
        assert!(!names.is_empty());
        for name in names {
            // egui-icons is a part of emoji-icon-font, says its own note.
            let known = if name == "egui-icons" { "emoji-icon-font".to_owned() } else { name };
            let stem = known.split(['-', '_']).next().unwrap().to_lowercase();
            assert!(
                NOTICES.iter().any(|n| n.name.to_lowercase().starts_with(&stem)),
                "{known} has no notice"
            );
        }
    }
}
