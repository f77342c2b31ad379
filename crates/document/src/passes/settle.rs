//! Passes stay what they were when layers move, go or change sides.

use crate::project::Project;
use slipsheet_paper::fold::Face;

/// For each layer the pass it is in, as a number that no other pass has.
pub fn pass_of(project: &Project) -> Vec<usize> {
    let mut numbers = vec![usize::MAX; project.layers.len()];
    let faces = [Face::Front, Face::Back];
    for (number, pass) in faces.iter().flat_map(|face| super::passes(project, *face)).enumerate() {
        for layer in pass {
            if let Some(n) = numbers.get_mut(layer) {
                *n = number;
            }
        }
    }
    numbers
}

/// Joins layers that follow one another and shared a pass before, and no others; `was` gives for each layer the
/// number of its pass then, `None` for one that begins a pass of its own.
pub fn settle(project: &mut Project, was: &[Option<usize>]) {
    for face in [Face::Front, Face::Back] {
        let mut before = None;
        for (i, layer) in project.layers.iter_mut().enumerate().filter(|(_, l)| l.face == face) {
            let pass = was.get(i).copied().flatten();
            layer.with_previous = pass.is_some() && pass == before;
            before = pass;
        }
    }
}
