//! Schemes that are made for a number of panels instead of being kept in a file.

use super::scheme::{Binding, Crease, Fold, GridLine, PageOrder, Panel, Scheme, SchemeError, Side, Turn};

/// How many panels an accordion may have.
pub const PANELS: std::ops::RangeInclusive<usize> = 3..=16;

/// A strip folded to and fro, with pages along its front and then along its back.
///
/// # Errors
/// When the number of panels is not within [`PANELS`].
pub fn accordion(panels: usize) -> Result<Scheme, SchemeError> {
    let id = format!("accordion{panels}");
    if !PANELS.contains(&panels) {
        let why = format!("an accordion has from {} to {} panels", PANELS.start(), PANELS.end());
        return Err(SchemeError::Inconsistent { id, why });
    }
    let pages =
        |from: u32| (from..).take(panels).map(|page| Panel { page, turn: Turn::Upright }).collect::<Vec<_>>();
    // The crease beside the cover comes last and is a mountain, so that page 1 ends outside.
    let crease = |line: usize| Crease {
        line: GridLine::Vertical(line),
        fold: if line % 2 == 1 { Fold::Mountain } else { Fold::Valley },
        moves: Side::After,
        span: None,
    };
    let scheme = Scheme {
        id,
        name: format!("Accordion, {panels} panels"),
        summary: format!(
            "Fold to and fro {} times; page 1 is the front, page {} starts the back.",
            panels - 1,
            panels + 1
        ),
        landscape: true,
        columns: vec![1.0; panels],
        rows: vec![1.0],
        front: pages(1),
        back: pages(panels as u32 + 1),
        creases: (1..panels).rev().map(crease).collect(),
        slits: Vec::new(),
        binding: Binding::Leaflet,
        order: Some(PageOrder::Along),
        shorter: Vec::new(),
    };
    scheme.check()?;
    Ok(scheme)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn accordions_of_every_size_fold_into_their_pages() {
        for panels in PANELS {
            assert_eq!(accordion(panels).unwrap().pages() as usize, 2 * panels);
        }
        for wrong in [0, 2, 17] {
            assert!(accordion(wrong).unwrap_err().to_string().contains("from 3 to 16"));
        }
    }
}
