//! Editions: the same artwork in other inks on another stock, as a series has them.
//!
//! An edition names the ink of each layer by the layer's name and place in the printing order. The session
//! keeps both up to date when layers are renamed, moved or removed (see [`follow`]); where a file was edited
//! by hand, the name decides, and the place only between layers of one name. A layer that an edition does not
//! know keeps the project's ink.

use serde::{Deserialize, Serialize};

use crate::layer::Layer;
use crate::project::Project;
use slipsheet_core::ink::Ink;
use slipsheet_core::stock::Stock;

/// The ink of one layer in an edition.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LayerInk {
    /// Name of the layer.
    pub layer: String,
    /// Its place in the printing order, from 0.
    pub place: usize,
    /// Its ink.
    pub ink: Ink,
}

/// One edition.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Edition {
    /// A name that no other edition of the project has.
    pub name: String,
    /// The paper.
    pub stock: Stock,
    /// The inks, in printing order.
    pub inks: Vec<LayerInk>,
}

impl Edition {
    /// The project's present inks and stock.
    pub fn of(project: &Project, name: &str) -> Self {
        let ink = |(place, l): (usize, &Layer)| LayerInk { layer: l.name.clone(), place, ink: l.ink.clone() };
        Self {
            name: name.to_owned(),
            stock: project.stock.clone(),
            inks: project.layers.iter().enumerate().map(ink).collect(),
        }
    }

    /// The project as this edition prints it.
    #[must_use]
    pub fn applied_to(&self, project: &Project) -> Project {
        let mut project = project.clone();
        let mine = self.matched(&project.layers);
        for (layer, ink) in project.layers.iter_mut().zip(mine) {
            if let Some(ink) = ink.and_then(|i| self.inks.get(i)) {
                layer.ink = ink.ink.clone();
            }
        }
        project.stock = self.stock.clone();
        project
    }

    /// Whether the project shows this edition now.
    pub fn is_shown(&self, project: &Project) -> bool {
        self.applied_to(project) == *project
    }

    /// For each layer, which of this edition's inks is its own.
    fn matched(&self, layers: &[Layer]) -> Vec<Option<usize>> {
        let mut found: Vec<Option<usize>> = vec![None; layers.len()];
        let mut used = vec![false; self.inks.len()];
        // First what agrees in name and place, then in name alone; never in place alone, for another layer
        // may have come there.
        for strict in [true, false] {
            for (at, (layer, slot)) in layers.iter().zip(&mut found).enumerate() {
                if slot.is_some() {
                    continue;
                }
                let fits = |(i, ink): (usize, &LayerInk)| {
                    let free = !used.get(i).copied().unwrap_or(true);
                    (free && ink.layer == layer.name && (!strict || ink.place == at)).then_some(i)
                };
                if let Some(i) = self.inks.iter().enumerate().find_map(fits) {
                    *slot = Some(i);
                    used[i] = true;
                }
            }
        }
        found
    }
}

/// Keeps editions with their layers through a change: `place` says where the layer that was at an index is
/// now, `None` when it is gone.
pub fn follow(
    editions: &mut [Edition],
    before: &[Layer],
    after: &[Layer],
    place: impl Fn(usize) -> Option<usize>,
) {
    for edition in editions {
        for (was, ink) in edition.matched(before).into_iter().enumerate() {
            let now = place(was).and_then(|now| Some((now, after.get(now)?)));
            if let (Some(ink), Some((now, layer))) = (ink.and_then(|i| edition.inks.get_mut(i)), now) {
                (ink.place, ink.layer) = (now, layer.name.clone());
            }
        }
        edition.inks.sort_by_key(|i| i.place);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::colour::Lab;

    use crate::shelf::Shelf;
    use slipsheet_core::units::SheetFormat;

    fn ink(name: &str, l: f64) -> Ink {
        Ink::estimated(name, Lab::new(l, 10.0, -10.0).unwrap())
    }

    fn layer(name: &str, with: Ink) -> Layer {
        Layer::new(name, with)
    }

    fn project() -> Project {
        let stocks = Shelf::starter().unwrap().stocks;
        let mut p = Project::new("Invented", SheetFormat::A4, stocks[0].clone());
        p.layers = vec![layer("wash", ink("Blue", 50.0)), layer("type", ink("Black", 17.0))];
        p
    }

    fn spring(p: &Project) -> Edition {
        let mut other = p.clone();
        other.stock = Shelf::starter().unwrap().stocks[3].clone();
        other.layers[0].ink = ink("Green", 60.0);
        other.layers[1].ink = ink("Brown", 30.0);
        Edition::of(&other, "Spring")
    }

    fn inks(p: &Project) -> Vec<&str> {
        p.layers.iter().map(|l| l.ink.name.as_str()).collect()
    }

    #[test]
    fn an_edition_changes_inks_and_stock_and_nothing_else() {
        let p = project();
        let edition = spring(&p);
        let shown = edition.applied_to(&p);
        assert_eq!(inks(&shown), ["Green", "Brown"]);
        assert_eq!(shown.stock, edition.stock);
        assert!(edition.is_shown(&shown) && !edition.is_shown(&p));
        assert_eq!(Edition::of(&p, "Now").applied_to(&shown), p);
    }

    #[test]
    fn editions_follow_layers_that_are_renamed_moved_and_removed() {
        let mut p = project();
        p.editions = vec![spring(&p)];
        let mut renamed = p.clone();
        renamed.layers[0].name = "sea".to_owned();
        follow(&mut renamed.editions, &p.layers, &renamed.layers.clone(), Some);
        assert_eq!(inks(&renamed.editions[0].applied_to(&renamed)), ["Green", "Brown"]);

        let mut moved = renamed.clone();
        moved.layers.swap(0, 1);
        follow(&mut moved.editions, &renamed.layers, &moved.layers.clone(), |i| Some(1 - i));
        assert_eq!(inks(&moved.editions[0].applied_to(&moved)), ["Brown", "Green"]);
        assert_eq!(moved.editions[0].inks[0].layer, "type");

        let mut less = moved.clone();
        less.layers.remove(0);
        follow(&mut less.editions, &moved.layers, &less.layers.clone(), |i| i.checked_sub(1));
        assert_eq!(inks(&less.editions[0].applied_to(&less)), ["Green"]);
        // A layer that came later keeps the project's ink.
        less.layers.insert(0, layer("new", ink("Pink", 70.0)));
        assert_eq!(inks(&less.editions[0].applied_to(&less)), ["Pink", "Green"]);
    }

    #[test]
    fn layers_of_one_name_are_told_apart_by_their_place() {
        let mut p = project();
        p.layers[1].name = "wash".to_owned();
        let edition = spring(&p);
        assert_eq!(inks(&edition.applied_to(&p)), ["Green", "Brown"]);
        let before = p.layers.clone();
        p.layers.swap(0, 1);
        p.editions = vec![edition];
        let after = p.layers.clone();
        follow(&mut p.editions, &before, &after, |i| Some(1 - i));
        assert_eq!(inks(&p.editions[0].applied_to(&p)), ["Brown", "Green"]);
    }

    #[test]
    fn a_project_saves_its_editions_and_one_without_them_still_opens() {
        let mut p = project();
        assert!(!p.to_ron().unwrap().contains("editions"));
        assert_eq!(Project::from_ron(&p.to_ron().unwrap()).unwrap(), p);
        p.editions = vec![spring(&p)];
        assert_eq!(Project::from_ron(&p.to_ron().unwrap()).unwrap(), p);
    }
}
