//! Projects that earlier programs saved: they open, mean the same, and print the same plates.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use slipsheet_document::printing::Printing;
use slipsheet_document::project::{Project, SCHEMA};
use slipsheet_document::remedy::Remedy;
use slipsheet_files::scan::fingerprint;
use slipsheet_files::{PlateOptions, Progress, plates, store};
use slipsheet_render::images::Images;
use slipsheet_tests::data;

fn path(name: &str) -> PathBuf {
    data("older").join(format!("{name}.slipsheet"))
}

fn images(project: &Project, path: &Path) -> Images {
    let mut images = Images::default();
    for art in project.every_art() {
        let loaded = store::load_scan(Some(path), &art.scan, &Progress::new()).unwrap();
        images.insert(loaded.key, loaded.pixels);
    }
    images
}

/// The plates of what is printed, each with the hash of its file.
fn hashes(printing: &Printing, images: &Images, name: &str) -> BTreeMap<String, String> {
    let folder = tempfile::tempdir().unwrap();
    let options = PlateOptions::default();
    let written = plates::write(printing, images, &options, folder.path(), &Progress::new()).unwrap();
    let hash = |path: &Path| {
        let file = path.file_name().unwrap().to_string_lossy().into_owned();
        (format!("{name}/{file}"), fingerprint(path).unwrap().sha256)
    };
    written.iter().map(|plate| hash(&plate.path)).collect()
}

/// The hashes beside the projects were taken of what the program wrote when the third format was its own.
#[test]
fn plates_of_older_projects_are_byte_for_byte_those_of_their_time() {
    let mut made = BTreeMap::new();
    for name in ["booklet-3", "series-3", "zine-1", "zine-2"] {
        let project = store::load(&path(name)).unwrap();
        let images = images(&project, &path(name));
        made.extend(hashes(&project.main_printing(), &images, name));
        if let Some(wrap) = project.wrap_printing() {
            made.extend(hashes(&wrap, &images, &format!("{name}/wrap")));
        }
    }
    let text = std::fs::read_to_string(data("older/plates.sha256")).unwrap();
    let line = |l: &str| l.split_once("  ").map(|(hash, name)| (name.to_owned(), hash.to_owned()));
    let known: BTreeMap<String, String> = text.lines().filter_map(line).collect();
    assert_eq!(made, known);
}

#[test]
fn an_older_project_is_saved_in_the_present_format_and_comes_back() {
    for name in ["booklet-3", "series-3", "zine-1", "zine-2"] {
        let project = store::load(&path(name)).unwrap();
        let again = store::load(&path(name)).unwrap();
        assert_eq!((&again, project.schema), (&project, SCHEMA), "{name} is read alike each time");
        assert_eq!(Project::from_ron(&project.to_ron().unwrap()).unwrap(), project, "{name}");
    }
}

/// Layers of one name, editions in another order than the layers, an edition that was changed by hand, remedies by
/// position, findings accepted of layers that are there and of one that is gone, a wrap behind the sheet.
#[test]
fn what_named_layers_by_place_and_name_means_the_same_layers() {
    let project = store::load(&path("series-3")).unwrap();
    let sheet = &project.main;
    let [first, second, boxed, hidden] = [0, 1, 2, 3].map(|i: usize| sheet.layers[i].id);
    assert_eq!((sheet.layers[0].name.as_str(), sheet.layers[1].name.as_str()), ("Art", "Art"));
    assert_eq!((sheet.layers[1].with, sheet.layers[2].with), (Some(first), None));
    let others: Vec<_> = sheet.layers[1].remedies.iter().map(Remedy::other).collect();
    assert_eq!((others, sheet.layers[2].remedies[0].other()), (vec![Some(boxed), None], Some(first)));

    let inks = |i: usize| -> Vec<(_, &str)> {
        sheet.editions[i].colours.inks.iter().map(|(id, ink)| (*id, ink.name.as_str())).collect()
    };
    let night = [(first, "Hip-berry red"), (second, "Ink-bottle blue"), (boxed, "Pool green-blue")];
    assert_eq!(inks(0), night);
    assert_eq!(inks(1), [(boxed, "Hip-berry red")], "found by its name, and what is gone left out");

    let accepted: Vec<_> = sheet.accepted.iter().map(|a| (a.kind.as_str(), a.place.layer)).collect();
    let known = [("in-margin", Some(boxed)), ("hidden-layer", Some(hidden)), ("estimates", None)];
    assert_eq!(accepted, known);
    let spot = sheet.accepted[0].place.spot.unwrap();
    assert_eq!((spot.1, spot.2), (12, 0));

    let wrap = &project.wrap.as_ref().unwrap().sheet;
    assert!(wrap.landscape && wrap.layers.len() == 2 && wrap.editions.len() == 1);
    assert_eq!(wrap.layers[1].remedies[0].other(), Some(wrap.layers[0].id));
}
