//! Findings about inks, slips and what is shown.

use super::{Finding, Kind, count};
use crate::fold::Face;
use crate::overprint::MAX_INKS;
use crate::project::Project;

pub(super) fn findings(project: &Project) -> Vec<Finding> {
    let mut all: Vec<Finding> =
        [Face::Front, Face::Back].into_iter().filter_map(|f| too_many(project, f)).collect();
    for (i, layer) in project.layers.iter().enumerate() {
        if !layer.slip.is_none() {
            let sentence = format!(
                "“{}” still has a slip, which is a what-if; set it back to none before you hand over a proof",
                layer.name
            );
            all.push(Finding::new(Kind::SlipSet, sentence).on_layer(i));
        }
        if !layer.visible {
            let sentence = format!(
                "“{}” is hidden, so a proof leaves it out; show it if it is to be printed",
                layer.name
            );
            all.push(Finding::new(Kind::HiddenLayer, sentence).on_layer(i));
        }
    }
    all.extend(estimates(project));
    all
}

fn too_many(project: &Project, face: Face) -> Option<Finding> {
    let inks = project.on(face).count();
    let name = face.name().to_lowercase();
    (inks > MAX_INKS).then(|| {
        let sentence =
            format!("the {name} has {inks} layers, and {MAX_INKS} are the most; merge or remove some");
        Finding::new(Kind::TooManyInks, sentence)
    })
}

fn estimates(project: &Project) -> Option<Finding> {
    let mut names: Vec<&str> =
        project.layers.iter().filter(|l| !l.ink.solid.measured()).map(|l| l.ink.name.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    let stock = !project.stock.colour.measured();
    let what = match (names.len(), stock) {
        (0, false) => return None,
        (0, true) => "the stock's colour is an estimate".to_owned(),
        (1, false) => "the colour of 1 ink is an estimate".to_owned(),
        (n, false) => format!("the colours of {} are estimates", count(n, "ink")),
        (n, true) => format!("the colours of {} and of the stock are estimates", count(n, "ink")),
    };
    let sentence = format!("{what}; replace them with swatches from your shop to trust the proof");
    Some(Finding::new(Kind::Estimates, sentence))
}
