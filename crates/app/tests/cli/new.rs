//! `slipsheet new`: how an unfolded sheet lies, and scans laid on pages.

use std::path::Path;

use slipsheet::cli::Ending;
use slipsheet_document::layer::Target;
use slipsheet_document::project::Project;
use slipsheet_files::{Progress, ScanOptions, scan, store};
use slipsheet_paper::fold::Face;

use super::harness::{failing, fine, gray_png, slipsheet};

/// A folder with so many scans, each of another gray, of this size at 100 dpi.
fn scans(count: u8, size: (u32, u32)) -> (tempfile::TempDir, Vec<String>) {
    let folder = tempfile::tempdir().unwrap();
    let scan = |i: u8| {
        let path = folder.path().join(format!("page{i:02}.png"));
        gray_png(&path, size, &vec![i * 9; (size.0 * size.1) as usize], 100.0);
        path.to_str().unwrap().to_owned()
    };
    let all = (0..count).map(scan).collect();
    (folder, all)
}

fn new<'a>(output: &'a str, options: &[&'a str], scans: &'a [String]) -> Vec<&'a str> {
    [&["new", "--force", "-o", output], options, &scans.iter().map(String::as_str).collect::<Vec<_>>()]
        .concat()
}

fn made(output: &str, options: &[&str], scans: &[String]) -> Project {
    fine(&new(output, options, scans));
    store::load(Path::new(output)).unwrap()
}

#[test]
fn an_unfolded_sheet_lies_as_its_first_scan_does() {
    let output = |folder: &tempfile::TempDir| folder.path().join("a.slipsheet").to_str().unwrap().to_owned();
    let (folder, wide) = scans(1, (300, 200));
    let out = output(&folder);
    assert!(made(&out, &["--sheet", "a4"], &wide).main.landscape);
    let sheet = |options: &[&str]| {
        let size = made(&out, options, &wide).main.size();
        (size.width.get(), size.height.get())
    };
    assert_eq!(sheet(&["--sheet", "a4"]), (297.0, 210.0));
    // A size in mm and a fold have their own say.
    assert_eq!(sheet(&["--sheet", "210x297"]), (210.0, 297.0));
    assert_eq!(sheet(&["--sheet", "210x297", "--lying"]), (297.0, 210.0));
    assert!(!made(&out, &["--sheet", "a4", "--fold", "slit8"], &wide).main.landscape);
    let (folder, tall) = scans(1, (200, 300));
    let out = output(&folder);
    assert!(!made(&out, &["--sheet", "a4"], &tall).main.landscape);
    assert!(made(&out, &["--sheet", "a4", "--landscape"], &tall).main.landscape);
    let folded = new(&out, &["--sheet", "a4", "--landscape", "--fold", "slit8"], &tall);
    assert!(failing(&folded).contains("leave --landscape out"));
}

#[test]
fn by_page_lays_a_scan_on_every_page_of_a_booklet_ink_by_ink() {
    let (folder, scans) = scans(16, (40, 60));
    let out = folder.path().join("a.slipsheet").to_str().unwrap().to_owned();
    let options =
        ["--sheet", "a4", "--booklet", "8", "--by-page", "--ink", "Hip-berry red", "--ink", "Egg yolk"];
    let project = made(&out, &options, &scans);
    assert_eq!(
        project.main.layers.iter().map(|l| l.name.as_str()).collect::<Vec<_>>(),
        ["Hip-berry red", "Egg yolk"]
    );
    for (ink, layer) in project.main.layers.iter().enumerate() {
        let pages: Vec<Target> = layer.art.iter().map(|a| a.target).collect();
        assert_eq!(pages, (1..=8).map(Target::Page).collect::<Vec<_>>());
        for (i, art) in layer.art.iter().enumerate() {
            assert_eq!(art.scan.path, format!("page{:02}.png", ink * 8 + i));
        }
    }
    // The outer sheet carries pages 8 and 1 on its front, 2 and 7 on its back.
    let outer = project.main.number(0);
    let count = |face| outer.on(face).map(|(_, l)| l.art.len()).collect::<Vec<_>>();
    assert_eq!((count(Face::Front), count(Face::Back)), (vec![2, 2], vec![2, 2]));

    let refused = failing(&new(&out, &["--sheet", "a4", "--booklet", "12", "--by-page"], &scans));
    assert!(refused.contains("12 pages take 12 scans for each ink, not 16"), "{refused}");
    let refused = failing(&new(&out, &["--sheet", "a4", "--by-page"], &scans));
    assert!(refused.contains("say --fold or --booklet"), "{refused}");
    let refused = failing(&new(&out, &["--sheet", "a4", "--booklet", "8"], &scans));
    assert!(refused.contains("--by-page for one scan on each page"), "{refused}");
    let (ending, message, _) = slipsheet(&new(&out, &["--sheet", "a4", "--booklet", "8"], &scans[..8]));
    assert!(ending == Ending::Fine && message.contains("--by-page lays one scan on each page"), "{message}");
}

#[test]
fn by_page_puts_pages_of_the_back_into_a_layer_of_the_back() {
    let (folder, scans) = scans(8, (40, 60));
    let out = folder.path().join("a.slipsheet").to_str().unwrap().to_owned();
    let project = made(&out, &["--sheet", "a4", "--fold", "single4", "--by-page"], &scans);
    let size = project.main.size();
    let faces: Vec<Face> = project.main.layers.iter().map(|l| l.face).collect();
    assert_eq!(faces, [Face::Front, Face::Front, Face::Back, Face::Back]);
    let scheme = project.main.fold.clone().unwrap();
    for (i, layer) in project.main.layers.iter().enumerate() {
        assert_eq!(layer.art.len(), 2);
        assert_eq!(layer.ink.name, project.main.layers[i % 2].ink.name);
        for art in &layer.art {
            let Target::Page(page) = art.target else { panic!("{:?}", art.target) };
            assert_eq!(scheme.place(size, page).unwrap().face, layer.face);
            assert_eq!(art.scan.path, format!("page{:02}.png", (i % 2) * 4 + page as usize - 1));
        }
    }
    // A fold of one face has no layer on the other.
    let one = made(&out, &["--sheet", "a4", "--fold", "slit8", "--by-page"], &scans);
    assert_eq!((one.main.layers.len(), one.main.layers[0].art.len()), (1, 8));
}

/// Scanned paper, gray, uneven and grainy, with a pencil line across it.
fn scanned_paper(path: &Path, (width, height): (u32, u32)) {
    let pixels: Vec<u8> = (0..width * height)
        .map(|i| {
            let (x, y) = (i % width, i / width);
            let grain = (i.wrapping_mul(2_654_435_761) >> 24) % 5;
            let paper = 236 - 14 * x / width - grain;
            if y / 8 == height / 16 { (paper * 7 / 10) as u8 } else { paper as u8 }
        })
        .collect();
    gray_png(path, (width, height), &pixels, 200.0);
}

#[test]
fn the_paper_of_a_scan_is_cleaned_and_does_not_print_unless_it_is_to_stay() {
    let folder = tempfile::tempdir().unwrap();
    let scan = folder.path().join("pencil.png");
    scanned_paper(&scan, (600, 400));
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let scans = [scan.to_str().unwrap().to_owned()];

    let (cleaned, kept) = (path("cleaned.slipsheet"), path("kept.slipsheet"));
    let said = fine(&new(&cleaned, &["--sheet", "76x51"], &scans));
    assert!(said.contains("was cleaned to white; --keep-paper leaves it"), "{said}");
    assert_eq!(fine(&new(&kept, &["--sheet", "76x51", "--keep-paper"], &scans)), "");

    let printed = |project: &str| {
        let key = store::load(Path::new(project)).unwrap().main.layers[0].art[0].scan.key.clone();
        let folder = format!("{project} plates");
        fine(&["plates", project, "-o", &folder]);
        let mut files = std::fs::read_dir(&folder).unwrap().map(|e| e.unwrap().path());
        let plate = files.find(|p| p.extension().is_some_and(|e| e == "png")).unwrap();
        let plate = scan::read(&plate, &ScanOptions::default(), &Progress::new()).unwrap().raster;
        // From the left to the right edge less a margin, between two shares of the height.
        let mean = |from: f64, to: f64| {
            let at = |share: f64| (share * f64::from(plate.height())) as u32;
            let width = plate.width() as usize;
            let rows =
                (at(from)..at(to)).flat_map(|y| plate.row(y).iter().skip(width / 8).take(width * 3 / 4));
            let covers: Vec<f64> = rows.map(|g| 1.0 - f64::from(*g) / 255.0).collect();
            covers.iter().sum::<f64>() / covers.len() as f64
        };
        (key.clean, mean(0.1, 0.4), mean(0.505, 0.515))
    };
    let (clean, bare, line) = printed(&cleaned);
    assert!(clean && bare <= 0.003 && (line - 0.3).abs() < 0.03, "{bare} {line}");
    let (clean, bare, line) = printed(&kept);
    assert!(!clean && bare > 0.05 && line > 0.32, "{bare} {line}");
}
