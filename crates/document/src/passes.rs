//! Passes: which inks print together. The stack of layers is the printing order; a layer that goes with
//! the one before it shares that one's pass.

mod settle;

pub use settle::{pass_of, settle};

use slipsheet_paper::fold::Face;

use crate::project::Project;

/// The layers of a face by pass, in printing order; each pass holds as many as the press has drums at most,
/// so what would be one ink too many begins a pass of its own.
pub fn passes(project: &Project, face: Face) -> Vec<Vec<usize>> {
    let drums = usize::from(project.press.drums);
    let mut passes: Vec<Vec<usize>> = Vec::new();
    for (at, layer) in project.on(face) {
        match passes.last_mut() {
            Some(pass) if layer.with_previous && pass.len() < drums => pass.push(at),
            _ => passes.push(vec![at]),
        }
    }
    passes
}

/// Planned passes with the layers of the face that no plan names, because they are hidden, each in a pass of
/// its own after them.
pub fn with_hidden(project: &Project, face: Face, planned: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let mut passes = planned.to_vec();
    let missing = project.on(face).map(|(i, _)| i).filter(|i| !planned.iter().any(|p| p.contains(i)));
    passes.extend(missing.map(|i| vec![i]));
    passes
}

/// Puts a face's layers in the order of a plan, those of a pass together.
///
/// Other faces stay where they are. What is planned must name every layer of the face once, or `None` comes back and
/// nothing changes; otherwise, for each layer, where it was before.
pub fn arrange(project: &mut Project, face: Face, passes: &[Vec<usize>]) -> Option<Vec<usize>> {
    let places: Vec<usize> = project.on(face).map(|(i, _)| i).collect();
    let order: Vec<usize> = passes.iter().flatten().copied().collect();
    let mut sorted = order.clone();
    sorted.sort_unstable();
    if sorted != places {
        return None;
    }
    let mut from: Vec<usize> = (0..project.layers.len()).collect();
    let firsts: Vec<usize> = passes.iter().filter_map(|p| p.first().copied()).collect();
    let old = project.layers.clone();
    for (place, layer) in places.iter().zip(&order) {
        if let (Some(to), Some(moved), Some(f)) =
            (project.layers.get_mut(*place), old.get(*layer), from.get_mut(*place))
        {
            *to = moved.clone();
            to.with_previous = !firsts.contains(layer);
            *f = *layer;
        }
    }
    Some(from)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layer::Layer;
    use slipsheet_core::colour::Lab;
    use slipsheet_core::ink::{Ink, Swatch};
    use slipsheet_core::stock::Stock;
    use slipsheet_core::units::SheetFormat;

    #[test]
    fn a_pass_holds_no_more_inks_than_the_press_has_drums() {
        let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
        let stock = Stock::new("White", colour);
        let mut project = Project::new("p", SheetFormat::A4, stock);
        let layer = |with_previous| Layer {
            with_previous,
            ..Layer::new("a", Ink::estimated("Deep blue", Lab::new(40.0, 0.0, -40.0).unwrap()))
        };
        project.layers = vec![layer(true), layer(true), layer(true), layer(false)];
        assert_eq!(passes(&project, Face::Front), [vec![0, 1], vec![2], vec![3]]);
        project.press.drums = 1;
        assert_eq!(passes(&project, Face::Front).len(), 4);
        assert!(passes(&project, Face::Back).is_empty());
        project.press.drums = 2;
        project.layers[2].name = "c".to_owned();
        assert_eq!(
            arrange(&mut project, Face::Front, &[vec![2, 0], vec![3], vec![1]]),
            Some(vec![2, 0, 3, 1])
        );
        assert_eq!(project.layers[0].name, "c");
        assert_eq!(passes(&project, Face::Front), [vec![0, 1], vec![2], vec![3]]);
        assert_eq!(arrange(&mut project, Face::Front, &[vec![0, 1], vec![1, 3]]), None);
        // A hidden layer is in no plan, and is not lost.
        let whole = with_hidden(&project, Face::Front, &[vec![3, 0], vec![1]]);
        assert_eq!(whole, [vec![3, 0], vec![1], vec![2]]);
        assert!(arrange(&mut project, Face::Front, &whole).is_some());
    }
}
