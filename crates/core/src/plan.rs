//! Passes: which inks print together. The stack of layers is the printing order; a layer that goes with
//! the one before it shares that one's pass.

use crate::fold::Face;
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::Lab;
    use crate::ink::{Ink, Swatch};
    use crate::layer::Layer;
    use crate::stock::{Finish, Stock};
    use crate::units::SheetFormat;

    #[test]
    fn a_pass_holds_no_more_inks_than_the_press_has_drums() {
        let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
        let stock = Stock {
            name: "White".to_owned(),
            colour,
            finish: Finish::Uncoated,
            gsm: 90.0,
            floor: None,
            n: None,
            trap: None,
        };
        let mut project = Project::new("p", SheetFormat::A4, stock);
        let layer = |with_previous| Layer {
            name: "a".to_owned(),
            ink: Ink::estimated("Deep blue", Lab::new(40.0, 0.0, -40.0).unwrap()),
            face: Face::Front,
            art: vec![],
            slip: Default::default(),
            visible: true,
            reading: Default::default(),
            with_previous,
        };
        project.layers = vec![layer(true), layer(true), layer(true), layer(false)];
        assert_eq!(passes(&project, Face::Front), [vec![0, 1], vec![2], vec![3]]);
        project.press.drums = 1;
        assert_eq!(passes(&project, Face::Front).len(), 4);
        assert!(passes(&project, Face::Back).is_empty());
    }
}
