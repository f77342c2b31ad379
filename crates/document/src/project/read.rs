//! A project as text: reading it, bringing older formats up to date, and writing it.

use serde::Deserialize;

use super::older::{ProjectV1, ProjectV3};
use super::{Project, ProjectError, SCHEMA};
use slipsheet_base::ron_words;

#[derive(Deserialize)]
#[serde(rename = "Project")]
struct Header {
    schema: u32,
}

impl Project {
    /// Reads a project, brings an older format up to date, and checks it.
    ///
    /// # Errors
    /// See [`ProjectError`]; the text is never changed.
    pub fn from_ron(text: &str) -> Result<Self, ProjectError> {
        let header: Header = parse(text)?;
        let project: Self = match header.schema {
            0 => return Err(ProjectError::Inconsistent("format 0 does not exist".to_owned())),
            1 => parse::<ProjectV1>(text)?.try_into()?,
            2 | 3 => parse::<ProjectV3>(text)?.into(),
            // The fourth had no acceptance, for which the usual one stands; the fifth no separated pictures.
            4 | 5 => Self { schema: SCHEMA, ..parse(text)? },
            SCHEMA => parse(text)?,
            found => return Err(ProjectError::Newer { found }),
        };
        project.check()?;
        Ok(project)
    }

    /// The project as text.
    ///
    /// # Errors
    /// When the serializer refuses, which no project that was checked brings about.
    pub fn to_ron(&self) -> Result<String, ProjectError> {
        let pretty = ron::ser::PrettyConfig::new().struct_names(true).indentor("  ");
        let text = ron::ser::to_string_pretty(self, pretty)
            .map_err(|e| ProjectError::Inconsistent(e.to_string()))?;
        Ok(text + "\n")
    }
}

fn parse<T: serde::de::DeserializeOwned>(text: &str) -> Result<T, ProjectError> {
    ron::from_str(text).map_err(|e| {
        let at = e.span.start;
        let excerpt: String =
            text.lines().nth(at.line.saturating_sub(1)).unwrap_or("").trim().chars().take(60).collect();
        let wrong = ron_words::sentence(&e);
        let why = format!("{wrong}; open an earlier copy, or save it again from the window");
        ProjectError::Parse { line: at.line, column: at.col, excerpt, why }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::acceptance::Acceptance;
    use crate::layer::{Layer, Slip};
    use slipsheet_core::colour::Lab;
    use slipsheet_core::ink::{Ink, Swatch};
    use slipsheet_core::stock::Stock;
    use slipsheet_core::units::Mm;
    use slipsheet_core::units::SheetFormat;
    use slipsheet_paper::fold;

    fn stock() -> Stock {
        let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
        Stock::new("Plain white", colour)
    }

    fn project() -> Project {
        let mut p = Project::new("A “quoted” title\nover two lines", SheetFormat::Letter, stock());
        p.main.fold = fold::find("slit8");
        let ink = Ink::estimated("Deep blue", Lab::new(40.0, 0.0, -40.0).unwrap());
        let slip = Slip { dx: Mm::new(0.1), ..Default::default() };
        p.main.layers.push(Layer { slip, ..Layer::new(p.ids.layer(), "sea", ink) });
        p
    }

    #[test]
    fn a_project_comes_back_as_it_was_saved() {
        let p = project();
        assert_eq!(Project::from_ron(&p.to_ron().unwrap()).unwrap(), p);
    }

    #[test]
    fn the_fourth_format_accepts_what_is_usual() {
        let mut p = project();
        p.acceptance = Acceptance::of(1.0, 0.2, Some(3.0));
        let text = p.to_ron().unwrap();
        let (before, rest) = text.split_once("  acceptance:").unwrap();
        let fourth =
            format!("{before}{}", rest.split_once("  job:").map(|r| format!("  job:{}", r.1)).unwrap());
        let read = Project::from_ron(&fourth.replace(&format!("schema: {SCHEMA}"), "schema: 4")).unwrap();
        assert_eq!(read, Project { acceptance: Acceptance::default(), ..p });
    }

    #[test]
    fn a_newer_format_is_refused_with_advice() {
        let text = project().to_ron().unwrap().replace(&format!("schema: {SCHEMA}"), "schema: 99");
        let error = Project::from_ron(&text).unwrap_err();
        assert_eq!(error, ProjectError::Newer { found: 99 });
        assert!(error.to_string().contains("update the program"));
    }

    #[test]
    fn the_first_format_named_its_fold_and_is_brought_up_to_date() {
        let stock = ron::to_string(&stock()).unwrap();
        let text = format!(
            r#"(schema: 1, title: "old", sheet: A4, stock: {stock}, layers: [], fold: Some("slit8"))"#
        );
        let p = Project::from_ron(&text).unwrap();
        assert_eq!((p.schema, p.main.fold.as_ref().map(|f| f.id.as_str())), (SCHEMA, Some("slit8")));
        let unknown = text.replace("slit8", "nothing");
        assert!(Project::from_ron(&unknown).unwrap_err().to_string().contains("unknown fold"));
    }

    #[test]
    fn a_broken_file_is_pointed_at_with_what_to_do() {
        let text = project().to_ron().unwrap();
        for broken in [
            String::new(),
            text[..text.len() / 2].to_owned(),
            text.replace("title:", "titel:"),
            text.replace(&format!("schema: {SCHEMA}"), "schema: -1"),
        ] {
            let error = Project::from_ron(&broken).unwrap_err().to_string();
            assert!(error.starts_with("the project cannot be read at line "), "{error}");
            assert!(error.ends_with("; open an earlier copy, or save it again from the window"), "{error}");
        }
    }

    #[test]
    fn a_file_that_is_nested_without_end_or_huge_is_pointed_at_in_plain_words() {
        let text = project().to_ron().unwrap();
        let deep = text.replace("art: []", &format!("art: {}", "[".repeat(100_000)));
        let wide = text.replace("title:", &format!("{}:", "x".repeat(1 << 20)));
        let many = text.replace("sea", &"sea\u{1b}".repeat(1 << 18));
        assert_eq!(Project::from_ron(&many).unwrap().main.layers.len(), 1, "a long name is a name");
        for broken in [deep, wide, "(".repeat(100_000), "(schema: 4, title: \"a".to_owned(), "[".to_owned()] {
            let error = Project::from_ron(&broken).unwrap_err().to_string();
            assert!(error.len() < 600 && error.contains(" at line "), "{error}");
            for never in ["recursion", "ron::", "serde", "struct", "Expected", "Unexpected"] {
                assert!(!error.contains(never), "{error}");
            }
        }
        let layer =
            text[text.find("      Layer(").unwrap()..].split("\n      ),").next().unwrap().to_owned() + "),";
        let layers = text.replace(&layer[..10], &format!("{}{}", layer.repeat(5000), &layer[..10]));
        let error = Project::from_ron(&layers).unwrap_err().to_string();
        assert!(error.contains("are the most"), "{error}");
    }

    #[test]
    fn numbers_without_measure_are_refused_wherever_they_stand() {
        let text = project().to_ron().unwrap();
        let numbers: Vec<usize> = text
            .match_indices(": ")
            .map(|(at, _)| at + 2)
            .filter(|at| text[*at..].starts_with(|c: char| c.is_ascii_digit() || c == '-'))
            .collect();
        assert!(numbers.len() > 20);
        for at in numbers {
            let end = at + text[at..].find([',', ')', '\n']).unwrap();
            for absurd in ["NaN", "inf", "-inf", "1e308", "-1e308"] {
                // Refused or brought within its range, but never a project that is not one.
                if let Ok(read) = Project::from_ron(&format!("{}{absurd}{}", &text[..at], &text[end..])) {
                    assert!(read.check().is_ok());
                    assert!(!read.to_ron().unwrap().contains("NaN"), "{}", &text[at - 20..end]);
                    assert!(!read.to_ron().unwrap().contains("inf,"), "{}", &text[at - 20..end]);
                }
            }
        }
    }

    #[test]
    fn a_number_that_is_none_is_pointed_at() {
        let text = project().to_ron().unwrap().replace("dx: 0.1", "dx: NaN");
        let error = Project::from_ron(&text).unwrap_err().to_string();
        assert!(error.contains("dx: NaN") && error.contains("a length in mm"), "{error}");
    }
}
