//! Names of files from names that people give: what file systems refuse is taken out, and what is too long is cut.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use slipsheet_document::shelf::Shelf;

/// The most bytes that come from a name: file systems allow 255 for a whole one, and a number, an ending and
/// another program's additions want room.
const LONGEST: usize = 120;
/// The most letters of an ink in a plate's name, which has a number, a side and a sheet besides.
const SLUG: usize = 40;

pub fn last(path: &Path) -> String {
    text(path.file_name())
}

/// The last part of a path without its ending; empty where it has none.
pub fn stem(path: &Path) -> String {
    text(path.file_stem())
}

fn text(part: Option<&OsStr>) -> String {
    part.unwrap_or_default().to_string_lossy().into_owned()
}

/// The beginning of a name that fits into a file's, whole letters only.
pub fn short(name: &str) -> &str {
    name.get(..name.floor_char_boundary(LONGEST)).unwrap_or_default().trim_end()
}

/// A name with what file systems refuse taken out, not too long and not empty.
pub(crate) fn plain(name: &str, otherwise: &str) -> String {
    let kept = |c: char| if c.is_alphanumeric() || " -_".contains(c) { c } else { '-' };
    // Cut first, so that a name of any length costs no more than a short one.
    let plain: String = short(name.trim()).chars().map(kept).collect();
    if plain.is_empty() { otherwise.to_owned() } else { plain }
}

/// The plain names in their order, with a number where two would be one file on some file system: there are those
/// that take capitals and small letters for the same.
pub(crate) fn all_different<'a>(names: impl Iterator<Item = &'a str>, otherwise: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let mut folded: Vec<String> = Vec::new();
    for name in names {
        let plain = plain(name, otherwise);
        let free = Shelf::free_name(&plain.to_lowercase(), folded.iter().map(String::as_str));
        let number = free.get(plain.to_lowercase().len()..).unwrap_or_default();
        found.push(format!("{plain}{number}"));
        folded.push(free);
    }
    found
}

/// A path, and after it the same with the numbers 2, 3 … at the end of its name.
pub(crate) fn numbered(path: &Path) -> impl Iterator<Item = PathBuf> {
    let stem = stem(path);
    let ending = path.extension().map_or_else(String::new, |e| format!(".{}", e.to_string_lossy()));
    let others = (2_u32..).map(move |n| path.with_file_name(format!("{stem} {n}{ending}")));
    std::iter::once(path.to_path_buf()).chain(others)
}

/// A name as part of a plate's: small letters and figures with hyphens between.
pub(crate) fn slug(name: &str) -> String {
    let mut out = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        if out.len() >= SLUG {
            break;
        }
        if c.is_ascii_alphanumeric() {
            out.push(c);
        } else if !out.is_empty() && !out.ends_with('-') {
            out.push('-');
        }
    }
    let cut = out.trim_end_matches('-');
    if cut.is_empty() { "ink".to_owned() } else { cut.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_slug_keeps_letters_and_figures_and_is_never_empty() {
        for (name, expected) in [("Été — Ünï 5", "t-n-5"), ("黒", "ink"), ("Hip-berry red", "hip-berry-red")]
        {
            assert_eq!(slug(name), expected);
        }
        assert_eq!(slug(&"long name ".repeat(500)).len(), 39);
    }

    #[test]
    fn names_that_are_equal_once_cut_or_but_for_capitals_get_numbers() {
        let long = "潮".repeat(300);
        let names = [long.as_str(), long.as_str(), "Tide", "tide", "TIDE 2", "///", " "];
        let found = all_different(names.into_iter(), "edition");
        let cut = "潮".repeat(40);
        assert_eq!(
            found,
            [cut.as_str(), &format!("{cut} 2"), "Tide", "tide 2", "TIDE 2 2", "---", "edition"]
        );
    }

    proptest! {
        #[test]
        fn every_name_fits_a_file_system_and_no_two_are_one(
            names in proptest::collection::vec("\\PC{0,200}", 1..8),
        ) {
            let found = all_different(names.iter().map(String::as_str), "edition");
            let mut folded: Vec<String> = found.iter().map(|n| n.to_lowercase()).collect();
            folded.sort();
            folded.dedup();
            prop_assert_eq!(folded.len(), names.len());
            for name in &found {
                prop_assert!(!name.is_empty() && name.len() <= 130, "{} bytes", name.len());
                prop_assert!(!name.contains(['/', '\\', ':', '\0']));
            }
        }
    }
}
