//! `slipsheet line-up`, on photographs that another program made and on scans that have no marks.

use std::path::Path;

use serde_json::Value;
use slipsheet::cli::Ending;
use slipsheet_core::geometry::Point;
use slipsheet_core::projective::{Flatten, Lens};
use slipsheet_document::project::Project;
use slipsheet_files::scan::Progress;
use slipsheet_files::store;

use super::harness::{failing, fine, gray_png, new_project, slipsheet};

/// From a camera of `OpenCV`, as `tests/fixtures/make_photo.py` has it: points of the sheet in mm and in the photograph.
const TRUTH: &str = include_str!("../../../../tests/data/photo.csv");

fn truth(name: &str) -> Vec<(Point, Point)> {
    let of_line = |line: &str| {
        let (of, numbers) = line.split_once(',')?;
        let n: Vec<f64> = numbers.split(',').filter_map(|v| v.parse().ok()).collect();
        let [x, y, u, v] = n.as_slice() else { return None };
        (of == name).then(|| (Point::new(*x, *y), Point::new(*u, *v)))
    };
    TRUTH.lines().filter_map(of_line).collect()
}

/// A project of a letter sheet with a photograph that says no resolution.
fn photographed(folder: &Path, name: &str) -> (String, Project) {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/data");
    let photo = folder.join(format!("{name}.jpg"));
    std::fs::copy(data.join(format!("{name}.jpg")), &photo).unwrap();
    let project = folder.join("walk.slipsheet").to_str().unwrap().to_owned();
    let args = ["new", "--sheet", "letter", "-o", &project, photo.to_str().unwrap()];
    let (ending, _, err) = slipsheet(&args);
    assert_eq!(ending, Ending::Warnings, "{err}");
    let read = store::load(Path::new(&project)).unwrap();
    (project, read)
}

#[test]
fn a_photograph_is_made_flat_and_lies_on_the_sheet_to_a_fraction_of_a_millimetre() {
    for name in ["photo_page", "photo_cat", "photo_text"] {
        let folder = tempfile::tempdir().unwrap();
        let (project, before) = photographed(folder.path(), name);
        let out = fine(&["line-up", &project, "--json"]);
        let lines: Value = serde_json::from_str(&out).unwrap();
        let line = &lines[0];
        assert_eq!(
            (line["by"].as_str(), line["fit"].as_str()),
            (Some("marks"), Some("perspective")),
            "{line}"
        );
        assert!(line["marks"].as_array().unwrap().len() >= 8 && line["max_mm"].as_f64().unwrap() < 1.0);

        let after = store::load(Path::new(&project)).unwrap();
        let art = &after.main.layers[0].art[0];
        let flat = art.scan.key.flat.unwrap();
        let loaded = store::load_scan(Some(Path::new(&project)), &art.scan, &Progress::new()).unwrap();
        let photo =
            store::load_scan(Some(Path::new(&project)), &before.main.layers[0].art[0].scan, &Progress::new());
        let photo = photo.unwrap();
        let full = photo.pixels.full();
        let lens = Lens::of_photo(full.width(), full.height(), f64::from(flat.lens) / 1e6);
        let map = Flatten { corners: flat.points(), lens, width: flat.width, height: flat.height };
        let mapping =
            art.mapping(flat.width, flat.height, after.main.size(), None, Default::default()).unwrap();
        let off = |(on_sheet, in_photo): &(Point, Point)| {
            (mapping.face_from_scan * map.flat_from_photo(*in_photo).unwrap()).distance(*on_sheet)
        };
        let errors: Vec<f64> = truth(name).iter().map(off).collect();
        assert_eq!(errors.len(), 56);
        let (mean, max) = (errors.iter().sum::<f64>() / 56.0, errors.iter().copied().fold(0.0, f64::max));
        assert!(mean <= 0.5 && max <= 1.0, "{name}: {mean:.3} mm in the mean, {max:.3} mm at most");
        // The picture that was loaded is the flat one, without its marks: the corner of the sheet is bare.
        let (pixels, ppm) = (loaded.pixels.full(), flat.dpi.px_per_mm());
        assert_eq!((pixels.width(), pixels.height(), loaded.mask_lost), (flat.width, flat.height, false));
        let corner = (3.0 * ppm) as u32;
        let part = pixels.part(corner - 6, corner - 6, 12, 12).unwrap();
        assert!(part.pixels().iter().all(|g| *g > 150), "{name}: {:?}", part.pixels().iter().min());
    }
}

#[test]
fn nothing_is_saved_on_a_dry_run_or_where_a_scan_cannot_be_trusted() {
    let folder = tempfile::tempdir().unwrap();
    let (project, _) = photographed(folder.path(), "photo_cat");
    let before = std::fs::read(&project).unwrap();
    fine(&["line-up", &project, "--dry-run"]);
    assert_eq!(std::fs::read(&project).unwrap(), before);
    assert!(!folder.path().join("masks").exists());
    // A camera's picture is no similarity of the sheet.
    let (ending, _, err) = slipsheet(&["line-up", &project, "--fit", "similarity"]);
    assert!(
        ending == Ending::Warnings && err.contains("mm off") && err.contains("set marks by hand"),
        "{err}"
    );
    assert_eq!(std::fs::read(&project).unwrap(), before);

    let other = tempfile::tempdir().unwrap();
    let plain = new_project(other.path(), &["--sheet", "a5"]);
    let (ending, _, err) = slipsheet(&["line-up", &plain]);
    assert!(ending == Ending::Warnings && err.contains("neither its marks nor the edges"), "{err}");
    assert!(failing(&["line-up", &plain, "--layer", "4"]).contains("name one from 1 to 1"));
}

#[test]
fn a_scan_without_marks_is_placed_by_the_edges_of_its_paper_and_that_is_said() {
    let folder = tempfile::tempdir().unwrap();
    // A5 originals are drawn on A4: grainy paper on a dark lid, half a degree crooked.
    let (dpi, width, height) = (60.0, 560, 760);
    let ppm = dpi / 25.4;
    let turn = 0.5_f64.to_radians();
    let pixels: Vec<u8> = (0..width * height)
        .map(|i| {
            let (x, y) = (f64::from(i % width) / ppm - 118.0, f64::from(i / width) / ppm - 160.0);
            let (u, v) = (x * turn.cos() + y * turn.sin(), y * turn.cos() - x * turn.sin());
            let grain = (i as u32).wrapping_mul(2_654_435_761) >> 29;
            if u.abs() < 105.0 && v.abs() < 148.5 { 232 + grain as u8 } else { 40 + grain as u8 }
        })
        .collect();
    let scan = folder.path().join("plain.png");
    gray_png(&scan, (width as u32, height as u32), &pixels, dpi);
    let project = folder.path().join("plain.slipsheet").to_str().unwrap().to_owned();
    slipsheet(&["new", "--sheet", "a5", "-o", &project, scan.to_str().unwrap()]);
    let (ending, out, _) = slipsheet(&["line-up", &project]);
    assert!(ending == Ending::Warnings && out.contains("by the edges of its paper"), "{out}");
    let art = store::load(Path::new(&project)).unwrap().main.layers[0].art[0].clone();
    assert!((art.placement.rotation.get() + 0.5).abs() < 0.15, "{:?}", art.placement);
    assert!((art.crop.unwrap().width.get() - 148.0).abs() < 3.0, "{:?}", art.crop);
}

#[test]
fn the_scans_of_a_wrap_are_lined_up_as_well() {
    use slipsheet_document::edit::{Edit, SheetEdit, apply};
    use slipsheet_document::layer::Target;
    use slipsheet_document::shelf::Shelf;
    let folder = tempfile::tempdir().unwrap();
    let path = new_project(folder.path(), &["--sheet", "letter", "--fold", "slit8"]);
    let scan = store::load(Path::new(&path)).unwrap().main.layers[0].art[0].scan.clone();
    let net = folder.path().join("sleeve.pdf");
    slipsheet(&["wrap", &path, "--kind", "sleeve", "-o", net.to_str().unwrap(), "--keep"]);
    let (mut project, shelf) = (store::load(Path::new(&path)).unwrap(), Shelf::starter().unwrap());
    let wrap = project.wrap.as_ref().unwrap().sheet.id;
    let add = SheetEdit::AddScan("band".to_owned(), scan, Target::Sheet);
    apply(&mut project, Edit::Sheet(wrap, add), &shelf).unwrap();
    store::save(&project, Path::new(&path)).unwrap();
    let (ending, out, _) = slipsheet(&["line-up", &path, "--json", "--dry-run"]);
    let lines: Value = serde_json::from_str(&out).unwrap();
    let sheets: Vec<_> = lines.as_array().unwrap().iter().map(|l| l["sheet"].as_str().unwrap()).collect();
    assert_eq!(sheets, ["main", "wrap"]);
    assert!(ending == Ending::Warnings && lines[1]["placed"] == false, "{lines}");
}
