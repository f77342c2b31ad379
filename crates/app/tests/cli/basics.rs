//! The command line, driven in the test's own process with captured output, from scans to the proof's pixels.

use std::path::Path;

use slipsheet::cli::{Ending, Outcome};
use slipsheet_core::colour::Lab;
use slipsheet_core::overprint::{Film, Ground, Overprint};
use slipsheet_core::tone::ToneCurve;
use slipsheet_core::units::{Dpi, Mm};
use slipsheet_files::{Progress, store};
use slipsheet_render::{Scene, Show, View};

use super::harness::{failing, fine, gray_png, slipsheet, slipsheet_reading};

fn lab(l: f64, a: f64, b: f64) -> Lab {
    Lab::new(l, a, b).unwrap()
}

#[test]
fn without_a_command_the_window_is_asked_for() {
    assert_eq!(slipsheet_reading(&[], b"").0, Outcome::Window { project: None });
    assert_eq!(
        slipsheet_reading(&["walk.slipsheet"], b"").0,
        Outcome::Window { project: Some("walk.slipsheet".into()) }
    );
}

#[test]
fn help_and_version_are_no_errors() {
    let help = fine(&["--help"]);
    assert!(help.contains("Exit codes") && help.contains("slipsheet.log"), "{help}");
    assert!(fine(&["--version"]).starts_with("slipsheet "));
    for job in ["mix", "proof", "check", "new", "wedge"] {
        assert!(fine(&[job, "--help"]).contains("Example: slipsheet"), "{job}");
    }
    assert!(failing(&["proof", "a", "--no-mark"]).contains("--no-marks"));
    assert_eq!(
        failing(&["proof", "a", "--copies", "-1"]),
        "unexpected argument '--copies' found; see --help\n"
    );
}

/// The model's own answer for two inks on a stock.
fn expected(floor: f64, n: f64, trap: f64, cover: &[f64], on: Lab, opacity: f64) -> [f64; 3] {
    let film = |solid, opacity| Film { solid, on, on_floor: floor, opacity, emission: 1.0 };
    let ground = Ground { paper: lab(93.0, 0.0, 2.0), floor, trap, n };
    let films = [film(lab(55.0, -37.0, -50.0), opacity), film(lab(48.0, 74.0, -3.0), 0.0)];
    let xyz = Overprint::new(&ground, &films).unwrap().mix(cover);
    [xyz.x, xyz.y, xyz.z]
}

#[track_caller]
fn answers(json: &str, wanted: [f64; 3]) {
    let answer: serde_json::Value = serde_json::from_str(json).unwrap();
    for (got, wanted) in answer["xyz"].as_array().unwrap().iter().zip(wanted) {
        assert!((got.as_f64().unwrap() - wanted).abs() < 1e-12, "{json} is not {wanted:?}");
    }
    assert!(answer["clipped"].is_boolean() && answer["srgb"].as_array().unwrap().len() == 3);
}

const TWO: [&str; 6] = ["mix", "--stock", "93,0,2", "--ink", "55,-37,-50", "--ink=48,74,-3"];

#[test]
fn a_mix_is_the_models_own_number() {
    let ask = |more: &[&str]| fine(&[&TWO[..], &["--json"], more].concat());
    let stock = lab(93.0, 0.0, 2.0);
    answers(&ask(&["--cover", "1,0.5"]), expected(0.062, 2.0, 0.97, &[1.0, 0.5], stock, 0.0));
    let more = ["--cover", "0.3,1", "--floor", "0", "--n", "1.5", "--trapping", "1", "--on", "95,-1,-2"];
    answers(&ask(&more), expected(0.0, 1.5, 1.0, &[0.3, 1.0], lab(95.0, -1.0, -2.0), 0.0));
    let words = fine(&[&TWO[..], &["--cover", "0,0"]].concat());
    assert!(words.starts_with("Lab   93.00 ") && words.contains("\nsRGB  "), "{words}");
}

#[test]
fn a_mix_that_cannot_be_says_why() {
    let with = |more: &[&str]| failing(&[&TWO[..], more].concat());
    assert!(with(&["--cover", "1"]).starts_with("there must be one coverage for each ink"));
    assert!(with(&["--cover", "1,-0.5"]).contains("from 0 to 1, not -0.5"));
    assert!(with(&["--cover", "1,1", "--n", "0.5"]).contains("n must be from 1 to 10"));
    assert!(with(&["--cover", "1,1", "--floor", "-1"]).contains("the floor must be from 0 to 0.9"));
    assert!(
        failing(&["mix", "--stock", "93,0,2", "--ink", "-1,0,0"])
            .contains("Lab L must be from 0 to 150, not -1")
    );
    assert!(failing(&["mix"]).contains("--stock"));
}

#[test]
fn lines_are_answered_in_order_and_a_bad_one_does_not_stop_the_rest() {
    let inks =
        r#"[{"solid":[55,-37,-50],"curve":[[0,0],[0.5,0.68],[1,1]],"opacity":0.25},{"solid":[48,74,-3]}]"#;
    let on = r#"[{"solid":[55,-37,-50],"on":[95,0,-2]},{"solid":[48,74,-3],"on":[95,0,-2]}]"#;
    let long = format!("{{\"stock\":[93,0,2],\"x\":\"{}\"}}", "y".repeat(3 << 20));
    let input = [
        format!(r#"{{"stock":[93,0,2],"inks":{inks},"cover":[0.5,1]}}"#),
        "  ".to_owned(),
        "not json".to_owned(),
        format!(r#"{{"stock":[93,0,2],"inks":{on},"cover":[0,1],"floor":0.03,"n":1.5,"trapping":1}}"#),
        r#"{"stock":[193,0,2],"inks":[],"cover":[]}"#.to_owned(),
        long,
        r#"{"stock":[93,0,2],"inks":[],"cover":[2]}"#.to_owned(),
        r#"{"stock":[93,0,2],"inks":[],"cover":[]}"#.to_owned(),
    ]
    .join("\n");
    let (outcome, out, err) = slipsheet_reading(&["mix", "-"], input.as_bytes());
    assert_eq!((outcome, err.as_str()), (Outcome::Done(Ending::Warnings), ""));
    let lines: Vec<&str> = out.lines().collect();
    assert_eq!(lines.len(), 7);
    let curve = ToneCurve::new(vec![(0.0, 0.0), (0.5, 0.68), (1.0, 1.0)]).unwrap();
    let stock = lab(93.0, 0.0, 2.0);
    answers(lines[0], expected(0.062, 2.0, 0.97, &[curve.effective(0.5), 1.0], stock, 0.25));
    answers(lines[2], expected(0.03, 1.5, 1.0, &[0.0, 1.0], lab(95.0, 0.0, -2.0), 0.0));
    for (line, why) in [
        (1, "line 3 is not a JSON object as described by slipsheet mix --help: expected ident at column 2"),
        (3, "Lab L"),
        (4, "longer than 1 MB"),
        (5, "a coverage must be"),
    ] {
        assert!(lines[line].starts_with("{\"error\":\"") && lines[line].contains(why), "{}", lines[line]);
    }
    answers(lines[6], {
        let x = stock.xyz();
        [x.x, x.y, x.z]
    });
    let good = slipsheet_reading(&["mix", "-"], b"\n\n");
    assert_eq!((good.0, good.1.as_str()), (Outcome::Done(Ending::Fine), ""));
}

/// A small original: stripes that differ by layer, on a letter sheet at 100 dpi.
fn original(path: &Path, step: usize) {
    let (w, h) = (1100, 850);
    let gray: Vec<u8> = (0..w * h).map(|i| ((i % w / step + i / w) % 256) as u8).collect();
    gray_png(path, (w as u32, h as u32), &gray, 100.0);
}

struct Desk(tempfile::TempDir);

impl Desk {
    /// Three originals and the project made from them.
    fn new() -> Self {
        let desk = Self(tempfile::tempdir().unwrap());
        let scans = ["sea.png", "weed.png", "ink.png"].map(|n| desk.at(n));
        scans.iter().zip(1..).for_each(|(path, step)| original(Path::new(path), step));
        let (out, [a, b, c]) = (desk.at("walk.slipsheet"), scans);
        let stock = "Pale green-gray";
        fine(&["new", "--sheet", "letter", "--fold", "slit8", "-o", &out, "--stock", stock, &a, &b, &c]);
        desk
    }

    fn at(&self, name: &str) -> String {
        self.0.path().join(name).to_str().unwrap().to_owned()
    }
}

fn pixels(path: &str) -> (u32, u32, Vec<u8>) {
    let mut reader =
        png::Decoder::new(std::io::BufReader::new(std::fs::File::open(path).unwrap())).read_info().unwrap();
    let mut rgb = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut rgb).unwrap();
    (info.width, info.height, rgb)
}

#[test]
fn a_whole_job_from_scans_to_a_proof_gives_the_renders_pixels() {
    let desk = Desk::new();
    let (project, png) = (desk.at("walk.slipsheet"), desk.at("walk.png"));
    fine(&[
        "proof",
        &project,
        "-o",
        &png,
        "--dpi",
        "90",
        "--slip",
        "2=0.4,-0.2,0.1",
        "--no-marks",
        "--no-legend",
    ]);
    let mut again = store::load(Path::new(&project)).unwrap();
    assert_eq!(
        (again.title.as_str(), again.main.layers.len(), again.main.layers[1].name.as_str()),
        ("walk", 3, "weed")
    );
    assert_eq!(again.main.layers[0].art[0].scan.path, "sea.png");
    let mut images = slipsheet_render::images::Images::default();
    for layer in &again.main.layers {
        let loaded =
            store::load_scan(Some(Path::new(&project)), &layer.art[0].scan, &Progress::new()).unwrap();
        images.insert(loaded.key, loaded.pixels);
    }
    let slip = &mut again.main.layers[1].slip;
    (slip.dx, slip.dy) = (Mm::new(0.4), Mm::new(-0.2));
    slip.skew = slipsheet_core::units::Degrees::new(0.1);
    let scene = Scene::new(&again.main_printing(), &images, Show::default()).unwrap();
    let view = View::sheet(again.main.size(), Dpi::new(90.0).unwrap());
    let wanted: Vec<u8> = scene.render(&view).pixels.iter().flat_map(|p| [p[0], p[1], p[2]]).collect();
    let (w, h, rgb) = pixels(&png);
    assert_eq!((w as usize, h as usize), (view.width, view.height));
    assert!(rgb == wanted);
}

#[test]
fn a_proof_has_every_option() {
    let desk = Desk::new();
    let (project, png) = (desk.at("walk.slipsheet"), desk.at("walk.png"));
    for more in [
        &["--page", "3"][..],
        &["--back"],
        &["--perfect", "--guides"],
        &["--no-marks"],
        &["--no-legend", "--slip", "1=-0.4,0", "--slip", "3=0,1"],
    ] {
        fine(&[&["proof", &project, "-o", &png, "--dpi", "72"], more].concat());
        assert!(pixels(&png).0 > 100);
    }
    let failing = |more: &[&str]| failing(&[&["proof", &project, "-o", &png], more].concat());
    assert!(failing(&["--slip", "4=1,1"]).starts_with("there is no layer 4; the project has 3"));
    assert!(failing(&["--slip", "1"]).contains("a slip is N=dx,dy"));
    assert!(failing(&["--page", "9"]).starts_with("there is no page 9"));
    assert!(failing(&["--dpi", "9600"]).contains("more than a gigapixel"));
    assert!(failing(&["--dpi", "5"]).contains("from 10 to 9600"));
}

#[test]
fn a_proof_never_takes_the_place_of_the_project_or_a_scan() {
    let desk = Desk::new();
    let project = desk.at("walk.slipsheet");
    for target in [&project, &desk.at("sea.png")] {
        let before = std::fs::read(target).unwrap();
        assert!(
            failing(&["proof", &project, "-o", target])
                .starts_with("this would replace the project or one of its scans")
        );
        assert_eq!(std::fs::read(target).unwrap(), before);
    }
}

#[test]
fn a_check_tells_scripts_how_bad_it_is() {
    let desk = Desk::new();
    let project = desk.at("walk.slipsheet");
    let (ending, out, _) = slipsheet(&["check", &project]);
    assert_eq!(ending, Ending::Warnings, "100 dpi are too few");
    assert!(
        out.contains("warning: a scan has only 100 dpi") && out.contains("note: the colours of 3 inks"),
        "{out}"
    );
    original(Path::new(&desk.at("sea.png")), 7);
    std::fs::remove_file(desk.at("weed.png")).unwrap();
    let (ending, out, _) = slipsheet(&["check", &project, "--json"]);
    assert_eq!(ending, Ending::Failed);
    let found: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!((found[0]["kind"].as_str(), found[0]["layer"].as_u64()), (Some("scan-missing"), Some(2)));
    assert_eq!(
        (found[1]["kind"].as_str(), found[1]["severity"].as_str()),
        (Some("scan-changed"), Some("warning"))
    );
    let png = desk.at("p.png");
    assert!(failing(&["proof", &project, "-o", &png]).contains("there is no such file"));
    assert!(failing(&["check", &desk.at("none")]).starts_with("there is no such project"));
}

#[test]
fn a_proof_of_a_changed_scan_is_made_with_a_warning() {
    let desk = Desk::new();
    original(Path::new(&desk.at("sea.png")), 7);
    let (ending, _, err) =
        slipsheet(&["proof", &desk.at("walk.slipsheet"), "-o", &desk.at("p.png"), "--dpi", "72"]);
    assert_eq!(ending, Ending::Warnings);
    assert_eq!(err, "slipsheet: the scan has changed since it was placed: sea.png\n");
}

#[test]
fn a_new_project_replaces_nothing_unless_told_to() {
    let desk = Desk::new();
    let (project, scan) = (desk.at("walk.slipsheet"), desk.at("sea.png"));
    let new = ["new", "--sheet", "a3", "--fold", "none", "-o", &project, &scan];
    assert!(failing(&new).starts_with("there is a file of this name; say --force"));
    fine(&[&new[..], &["--force", "--title", "Other"]].concat());
    assert_eq!(store::load(Path::new(&project)).unwrap().title, "Other");
    let over = ["new", "--sheet", "a3", "--fold", "none", "--force", "-o", &scan, &scan];
    assert!(failing(&over).starts_with("the project would replace one of its scans"));
}

#[test]
fn inks_and_folds_of_ones_own_shelf_make_a_new_project() {
    let desk = Desk::new();
    let (out, scan, file) = (desk.at("new.slipsheet"), desk.at("sea.png"), desk.at("mine.ron"));
    let mut own = slipsheet_document::shelf::Shelf::default();
    own.inks.push(slipsheet_core::ink::Ink::estimated("Attic plum", lab(30.0, 20.0, -12.0)));
    let mut scheme = slipsheet_paper::fold::find("slit8").unwrap();
    (scheme.id, scheme.name) = ("mine".to_owned(), "My slit sheet".to_owned());
    own.folds.push(scheme);
    std::fs::write(&file, own.to_ron().unwrap()).unwrap();
    let new =
        ["new", "--sheet", "letter", "--ink", "Attic plum", "-o", &out, &scan, "--fold", "My slit sheet"];
    assert!(failing(&new).contains("a fold is none"));
    fine(&[&new[..], &["--shelf", &file]].concat());
    let project = store::load(Path::new(&out)).unwrap();
    assert_eq!(
        (project.main.layers[0].ink.name.as_str(), project.main.fold.unwrap().id.as_str()),
        ("Attic plum", "mine")
    );
    let error = failing(&[&new[..], &["--force", "--shelf", &desk.at("none.ron")]].concat());
    assert!(error.starts_with("there is no shelf of this name"), "{error}");
    let error = failing(&[&new[..], &["--force", "--shelf", &scan]].concat());
    assert!(error.contains("cannot be read"), "{error}");
}

#[test]
fn a_new_project_names_what_there_is_when_a_name_is_wrong() {
    let desk = Desk::new();
    let (out, scan) = (desk.at("new.slipsheet"), desk.at("sea.png"));
    let failing = |sheet: &str, fold: &str, more: &[&str]| {
        failing(&[&["new", "--sheet", sheet, "--fold", fold, "-o", &out, &scan], more].concat())
    };
    assert!(failing("a4", "slit9", &[]).contains("slit8 (Slit eight-page sheet)"));
    assert!(failing("folio", "none", &[]).contains("letter, legal"));
    assert!(failing("a4", "none", &["--ink", "Mauve"]).contains("Warm black"));
    assert!(failing("a4", "none", &["--stock", "Mauve"]).contains("Newsprint"));
    assert!(
        failing("a4", "none", &["--ink", "Hip-berry red", "--ink", "Sweet-pea pink"])
            .contains("one ink for each scan")
    );
    assert!(failing("a4", "single4", &[]).contains("--front-only"));
    assert!(!Path::new(&out).exists());
    fine(&["new", "--sheet", "a3", "--fold", "single4", "-o", &out, &scan, &desk.at("ink.png")]);
    let faces: Vec<&str> =
        store::load(Path::new(&out)).unwrap().main.layers.iter().map(|l| l.face.name()).collect();
    assert_eq!(faces, ["Front", "Back"]);
}

#[test]
fn a_calibration_sheet_is_made_read_back_and_saved() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let inks = ["--ink", "Hip-berry red", "--ink", "Ink-bottle blue"];
    let dir = at("plates");
    let made = fine(&[&["wedge"], &inks[..], &["-o", &dir, "--dpi", "100"]].concat());
    assert!(made.contains("wedge-plate-2.png") && made.contains("wedge-preview.png"));
    fine(&[&["wedge"], &inks[..], &["--pdf", "-o", &at("wedge.pdf")]].concat());
    assert!(std::fs::read(at("wedge.pdf")).unwrap().starts_with(b"%PDF-"));

    let preview = Path::new(&dir).join("wedge-preview.png");
    let stock = slipsheet_document::shelf::Shelf::starter().unwrap().stocks[0].name.clone();
    let read = [&["wedge", "read", preview.to_str().unwrap()], &inks[..], &["--stock", &stock]].concat();
    assert!(fine(&read).contains("an estimate from a scan, relative to the known paper"));
    let saved = at("mine.ron");
    let json = fine(&[&read[..], &["--json", "--save", &saved]].concat());
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["trapping"]["count"], 1);
    let shelf = slipsheet_document::shelf::Shelf::from_ron(&std::fs::read_to_string(saved).unwrap()).unwrap();
    assert!(shelf.inks.iter().all(|i| i.solid.measured()) && shelf.overprints.len() == 1);
    assert!(failing(&["wedge"]).contains("--ink"));
}

#[test]
fn a_pdf_is_read_at_the_resolution_asked_for_and_keeps_its_size() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (page, project) = (at("page.pdf"), at("job.slipsheet"));
    fine(&["wedge", "--ink", "Hip-berry red", "--pdf", "-o", &page]);
    let mm_wide = |dpi: &[&str]| {
        let new = ["new", "--sheet", "letter", "--fold", "none", "--force", "-o", &project];
        // The page says nothing that the person must hear, but a PDF of more pages or in colour may.
        let message = slipsheet(&[&new[..], dpi, &[&page]].concat());
        assert_eq!(message.0, Ending::Fine, "{}", message.2);
        let scan = store::load(Path::new(&project)).unwrap().main.layers[0].art[0].scan.clone();
        let loaded = store::load_scan(Some(Path::new(&project)), &scan, &Progress::new()).unwrap();
        (scan.key.resolution, f64::from(loaded.pixels.full().width()) / scan.dpi.px_per_mm())
    };
    let (unset, wide) = mm_wide(&[]);
    let (set, again) = mm_wide(&["--pdf-dpi", "200", "--dpi", "300"]);
    assert_eq!((unset, set), (None, Dpi::new(200.0).ok()));
    assert!((wide - again).abs() < 0.2, "{wide} and {again} mm");
    let coarse = failing_parse(&[
        "new",
        "--sheet",
        "letter",
        "--fold",
        "none",
        "--pdf-dpi",
        "90",
        "-o",
        &project,
        &page,
    ]);
    assert!(coarse.contains("150 to 1200 dpi"), "{coarse}");
}

/// What is said of arguments that are wrong.
#[track_caller]
fn failing_parse(args: &[&str]) -> String {
    let (ending, out, err) = slipsheet(args);
    assert!(ending != Ending::Fine, "{out}");
    err
}
