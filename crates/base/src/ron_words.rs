//! What is wrong with a text of the project's own kind (RON), in words for someone who never saw such a text.

use ron::Error;
use ron::error::SpannedError;

/// What is wrong there, as the end of a sentence that names the line.
pub fn sentence(error: &SpannedError) -> String {
    match &error.code {
        // Written by us: a number out of its range, with its name.
        Error::Message(own) => shortened(own),
        Error::Eof => "the text ends too early".to_owned(),
        Error::ExceededRecursionLimit => "brackets are nested too deeply".to_owned(),
        Error::TrailingCharacters => "there is more text behind the end".to_owned(),
        Error::MissingStructField { field, outer: _ } => format!("“{field}” is missing"),
        Error::DuplicateStructField { field, outer: _ } => format!("“{field}” stands there twice"),
        Error::NoSuchStructField { expected, found, outer: _ } => {
            format!("“{}” is not known here; known are {}", shortened(found), expected.join(", "))
        }
        Error::NoSuchEnumVariant { expected, found, outer: _ } => {
            format!("“{}” is not known here; known are {}", shortened(found), expected.join(", "))
        }
        Error::ExpectedStringEnd => "a quotation mark is missing".to_owned(),
        Error::ExpectedString | Error::ExpectedChar | Error::InvalidEscape(_) => {
            "a text in quotation marks was expected".to_owned()
        }
        Error::ExpectedFloat
        | Error::ExpectedInteger
        | Error::FloatUnderscore
        | Error::UnderscoreAtBeginning
        | Error::IntegerOutOfBounds
        | Error::InvalidIntegerDigit { .. } => "a number was expected, or this one is too large".to_owned(),
        Error::ExpectedBoolean => "true or false was expected".to_owned(),
        Error::ExpectedOption => "Some(…) or None was expected".to_owned(),
        Error::ExpectedArray | Error::ExpectedArrayEnd => "a list in [ ] was expected".to_owned(),
        Error::ExpectedComma => "a comma is missing".to_owned(),
        Error::ExpectedMapColon => "a colon is missing".to_owned(),
        Error::ExpectedStructLike
        | Error::ExpectedNamedStructLike(_)
        | Error::ExpectedStructLikeEnd
        | Error::ExpectedOptionEnd
        | Error::ExpectedDifferentStructName { .. } => {
            "values in ( ) were expected, or what stands there is of another kind".to_owned()
        }
        Error::ExpectedDifferentLength { .. } => "there are too many or too few values".to_owned(),
        Error::UnclosedBlockComment => "a comment is not closed".to_owned(),
        Error::Utf8Error(_) | Error::UnexpectedChar(_) => {
            "there is a character that cannot be read".to_owned()
        }
        // The rest are kinds of text that no project has, and those that may come.
        _ => "what stands there cannot be read".to_owned(),
    }
}

/// The first words of a text that may be endless, without names that only a programmer knows.
fn shortened(text: &str) -> String {
    const MOST: usize = 120;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    text.chars().take(MOST).chain(['…']).collect()
}

#[cfg(test)]
mod tests {
    use serde::Deserialize;

    use super::*;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    #[expect(dead_code, reason = "only read")]
    struct InnerThing {
        name: String,
        size: f64,
        kind: Option<Kind>,
        list: Vec<Self>,
    }

    #[derive(Debug, Deserialize)]
    enum Kind {
        Round,
    }

    #[test]
    fn no_word_of_the_language_or_of_our_types_is_said() {
        for (text, message) in [
            ("", "values in ( ) were expected"),
            ("(", "ends too early"),
            ("(name: \"a", "quotation mark"),
            ("(name: 3)", "quotation marks was expected"),
            ("(name: \"a\", size: x)", "number"),
            ("(nane: \"a\")", "“nane” is not known here; known are name, size, kind, list"),
            ("(name: \"a\", name: \"b\")", "“name” stands there twice"),
            ("(name: \"a\", size: 1)", "“list” is missing"),
            ("(name: \"a\", size: 1, kind: Some(Square), list: [])", "“Square” is not known"),
            ("(name: \"a\", size: 1, kind: None, list: [}", ""),
            ("(name: \"a\", size: 1, kind: None, list: 4)", "list"),
            ("(name: \"a\" size: 1)", ""),
            ("(name: \"a\", size: 1, kind: None, list: []) x", "behind the end"),
            ("InnerThin(name: 1)", ""),
            ("/* never closed", "not closed"),
            ("\u{1b}", ""),
        ] {
            let words = sentence(&ron::from_str::<InnerThing>(text).unwrap_err());
            assert!(words.contains(message), "{text}: {words}");
            for never in [
                "ron",
                "serde",
                "struct",
                "Struct",
                "InnerThing",
                "enum",
                "variant",
                "Unexpected",
                "Expected",
            ] {
                assert!(!words.contains(never), "{text}: {words}");
            }
        }
        let deep = format!("{}{}", "(list: [".repeat(500), "])".repeat(500));
        assert_eq!(
            sentence(&ron::from_str::<InnerThing>(&deep).unwrap_err()),
            "brackets are nested too deeply"
        );
        let long = format!("({}: 1)", "x".repeat(1 << 20));
        assert!(sentence(&ron::from_str::<InnerThing>(&long).unwrap_err()).len() < 400);
    }
}
