//! Fold schemes: which page lies where on the sheet and which way up, and how
//! the sheet moves when it is folded.
//!
//! A scheme is data (RON in `assets/folds/`). The sheet is a grid of panels.
//! Each face has its own frame as seen by someone looking at that face, origin
//! at the top left; the back is what one sees after turning the sheet over
//! about its vertical axis.

mod engine;
mod generated;
mod guides;
mod motion;
mod plan;
mod scheme;

pub use engine::error::FoldError;
pub use engine::read::ReadPage;
pub use engine::{CreaseEdge, Folding, Over, Placed, Stack, Step};
pub use generated::{PANELS, accordion};
pub use guides::{LineKind, SheetLine, trim_lines};
pub(crate) use motion::middle_of;
pub use motion::{FoldedPanel, Pose, Shown};
pub use plan::grid::Lanes;
pub use plan::view::{DrawnBend, DrawnPanel, DrawnStack};
pub use plan::{FoldPlan, LineUse, MOST_LINES, PlanError, Trial};
pub use scheme::{
    Binding, Crease, Face, Fold, GridLine, PageOrder, PagePlace, Panel, Scheme, SchemeError, Side, Slit, Turn,
};
pub use slipsheet_base::space::Vec3;

/// The schemes that come with the program, in the order that lists show.
///
/// # Errors
/// When a shipped scheme does not parse or is not consistent; a test holds them to it.
pub fn shipped() -> Result<Vec<Scheme>, SchemeError> {
    const SOURCES: [&str; 11] = [
        include_str!("../../../assets/folds/slit8.ron"),
        include_str!("../../../assets/folds/single4.ron"),
        include_str!("../../../assets/folds/letter6.ron"),
        include_str!("../../../assets/folds/z6.ron"),
        include_str!("../../../assets/folds/z8.ron"),
        include_str!("../../../assets/folds/gate8.ron"),
        include_str!("../../../assets/folds/quarter8.ron"),
        include_str!("../../../assets/folds/octavo16.ron"),
        include_str!("../../../assets/folds/french4.ron"),
        include_str!("../../../assets/folds/roll8.ron"),
        include_str!("../../../assets/folds/map16.ron"),
    ];
    SOURCES.into_iter().map(Scheme::from_ron).collect()
}

/// The shipped scheme with this id; `accordion3` to `accordion16` are made as asked for.
pub fn find(id: &str) -> Option<Scheme> {
    let panels = id.strip_prefix("accordion").and_then(|n| n.parse().ok());
    match panels {
        Some(panels) => accordion(panels).ok(),
        None => shipped().ok()?.into_iter().find(|s| s.id == id),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_base::geometry::Point;
    use slipsheet_base::units::Size;

    #[test]
    fn every_shipped_scheme_is_consistent() {
        let schemes = shipped().unwrap();
        assert_eq!(schemes.len(), 11);
        let pages: Vec<u32> = schemes.iter().map(Scheme::pages).collect();
        assert_eq!(pages, [8, 4, 6, 6, 8, 8, 8, 16, 4, 8, 16]);
    }

    #[test]
    fn a_scheme_that_forgets_a_page_is_refused() {
        let text = include_str!("../../../assets/folds/single4.ron").replace("(page: 3)", "(page: 4)");
        assert!(matches!(Scheme::from_ron(&text), Err(SchemeError::Inconsistent { .. })));
    }

    /// Behind every odd page lies the next even one: a leaf has two sides (common practice, no source).
    #[test]
    fn leaves_have_consecutive_pages_back_to_back() {
        for scheme in shipped()
            .unwrap()
            .into_iter()
            .filter(|s| ["single4", "quarter8", "octavo16"].contains(&s.id.as_str()))
        {
            let sheet = scheme.oriented(Size::mm(200.0, 300.0));
            for front in scheme.places(sheet, Face::Front) {
                let c = front.rect.centre();
                let behind = Point::new(sheet.width.get() - c.x, c.y);
                let back =
                    scheme.places(sheet, Face::Back).into_iter().find(|p| p.rect.contains(behind)).unwrap();
                assert_eq!(
                    (front.page.min(back.page) % 2, front.page.abs_diff(back.page)),
                    (1, 1),
                    "{}",
                    scheme.id
                );
                assert_eq!(front.turn, back.turn, "a leaf stands the same way on both sides");
            }
        }
    }
}
