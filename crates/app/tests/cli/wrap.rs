//! `slipsheet wrap`, from a project to a sheet that is cut and scored.

use std::path::Path;
use std::process::Command;

use slipsheet::cli::Ending;
use slipsheet_document::project::Project;
use slipsheet_document::wrap::WrapKind;

use super::harness::{new_project, slipsheet};

/// What a tool of the system says about a file.
fn tool(name: &str, args: &[&str]) -> String {
    let message = Command::new(name).args(args).output().unwrap();
    assert!(message.status.success(), "{name}: {}", String::from_utf8_lossy(&message.stderr));
    String::from_utf8(message.stdout).unwrap()
}

/// The page box as pdfinfo (poppler) reads it, and the syntax as qpdf checks it.
#[test]
fn a_pdf_of_every_kind_has_the_size_of_its_sheet_and_no_faults() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--sheet", "letter", "--fold", "slit8"]);
    for kind in WrapKind::ALL {
        let file = folder.path().join(format!("{}.pdf", kind.id()));
        let file = file.to_str().unwrap();
        let args = ["wrap", &project, "--kind", kind.id(), "--sheet", "310x432", "-o", file];
        let (ending, out, err) = slipsheet(&args);
        assert_eq!((ending, err.as_str()), (Ending::Fine, ""));
        assert!(out.starts_with(kind.name()) && out.contains("on a sheet of 310.0 × 432.0 mm"), "{out}");
        let info = tool("pdfinfo", &["-box", file]);
        let line = info.lines().find(|l| l.starts_with("MediaBox:")).unwrap();
        let sides: Vec<f64> = line.split_whitespace().skip(1).map(|v| v.parse().unwrap()).collect();
        let mm = |pt: f64| pt * 25.4 / 72.0;
        assert!(
            (mm(sides[2] - sides[0]) - 310.0).abs() < 0.1 && (mm(sides[3] - sides[1]) - 432.0).abs() < 0.1
        );
        tool("qpdf", &["--check", file]);
    }
}

#[test]
fn an_svg_is_xml_of_the_sheets_size_with_cuts_scores_and_glue_in_groups() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--sheet", "letter", "--fold", "slit8"]);
    let file = folder.path().join("sleeve.svg").to_str().unwrap().to_owned();
    let args =
        ["wrap", &project, "--kind", "sleeve", "--allowance", "1", "--flap", "10", "--json", "-o", &file];
    let (ending, out, err) = slipsheet(&args);
    assert_eq!((ending, err.as_str()), (Ending::Fine, ""));
    let figures: serde_json::Value = serde_json::from_str(&out).unwrap();
    let text = std::fs::read_to_string(&file).unwrap();
    let xml = roxmltree::Document::parse(&text).unwrap();
    let root = xml.root_element();
    // Letter lies for this fold: 279.4 x 215.9 mm, or stands where it has no fold.
    let sheet = [&figures["sheet"][0], &figures["sheet"][1]].map(|v| v.as_f64().unwrap());
    assert_eq!(root.attribute("width"), Some(format!("{}mm", sheet[0]).as_str()));
    assert_eq!(root.attribute("viewBox"), Some(format!("0 0 {} {}", sheet[0], sheet[1]).as_str()));
    let group = |id: &str| root.children().find(|n| n.attribute("id") == Some(id)).unwrap();
    let paths = |id: &str| group(id).children().filter(|n| n.has_tag_name("path")).count();
    let nets = figures["count"].as_u64().unwrap() as usize;
    assert!(nets >= 1);
    assert_eq!((paths("cut"), paths("score")), (6 * nets, 4 * nets));
    assert!(paths("glue") > 0 && group("score").attribute("stroke-dasharray").is_some());
    // The sum of the faces is the girth and the flap, and the net is as wide.
    let widths: f64 = figures["faces"].as_array().unwrap().iter().map(|f| f["width"].as_f64().unwrap()).sum();
    assert!((widths - figures["net"][0].as_f64().unwrap()).abs() < 1e-9);
    let block = [0, 1, 2].map(|i| figures["block"][i].as_f64().unwrap());
    let c = figures["own_caliper"].as_f64().unwrap();
    assert!((widths - 10.0 - 2.0 * (block[0] + block[2] + 2.0 + 3.0 * c)).abs() < 1e-9);
    // The caution about blades is said in the file.
    let message = root.children().find(|n| n.has_tag_name("desc")).unwrap().text().unwrap();
    assert!(message.contains("blade away from the hand"), "{message}");
}

#[test]
fn a_wrap_that_is_kept_has_a_sheet_that_can_be_proofed() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--sheet", "letter", "--fold", "slit8"]);
    let proof = folder.path().join("wrap.png").to_str().unwrap().to_owned();
    let none = slipsheet(&["proof", &project, "--wrap", "-o", &proof]);
    assert!(none.0 == Ending::Failed && none.2.contains("the project has no wrap"), "{}", none.2);
    let before = Project::from_ron(&std::fs::read_to_string(&project).unwrap()).unwrap();
    let kept = slipsheet(&["wrap", &project, "--kind", "band", "--height", "40", "--sheet", "a4", "--keep"]);
    assert_eq!((kept.0, kept.2.as_str()), (Ending::Fine, ""));
    let mut after = Project::from_ron(&std::fs::read_to_string(&project).unwrap()).unwrap();
    assert_eq!(after.wrap.as_ref().unwrap().wrap.kind, WrapKind::BellyBand);
    after.wrap = None;
    assert_eq!(after, before);
    let args = ["proof", &project, "--wrap", "-o", &proof, "--dpi", "100", "--no-marks", "--no-legend"];
    let plain = slipsheet(&args);
    assert_eq!((plain.0, plain.2.as_str()), (Ending::Fine, ""));
    let pixels = |file: &str| {
        let decoder = png::Decoder::new(std::io::BufReader::new(std::fs::File::open(file).unwrap()));
        let mut reader = decoder.read_info().unwrap();
        let mut rgb = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut rgb).unwrap();
        ((info.width, info.height), rgb)
    };
    let (size, bare) = pixels(&proof);
    assert_eq!(size, (827, 1169));
    // Without art the paper is all of one colour; the net is drawn when asked for.
    assert!(bare.chunks_exact(3).all(|p| p == &bare[..3]));
    let mut guided = args.to_vec();
    guided.push("--guides");
    assert_eq!(slipsheet(&guided).0, Ending::Fine);
    assert_ne!(pixels(&proof).1, bare);
}

#[test]
fn what_a_wrap_cannot_be_is_said_in_a_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--sheet", "letter", "--fold", "slit8"]);
    for (output, more, message) in [
        ("wrap.dxf", vec![], "end its name in .pdf or .svg"),
        ("wrap.pdf", vec!["--allowance", "-1"], "an allowance in mm must be from 0 to 10, not -1"),
        ("wrap.pdf", vec!["--allowance", "99"], "an allowance in mm must be from 0 to 10"),
        ("wrap.pdf", vec!["--sheet", "a6"], "choose a larger sheet"),
        ("wrap.pdf", vec!["--kind", "band", "--height", "500"], "make it lower"),
        ("wrap.pdf", vec!["--stock", "Nothing"], "no stock has the name “Nothing”"),
        ("wrap.pdf", vec!["--finished", "70"], "a finished size is WxH"),
        ("ink.png", vec![], "choose another name"),
    ] {
        let output = folder.path().join(output).to_str().unwrap().to_owned();
        let there = Path::new(&output).exists();
        let args: Vec<&str> = ["wrap", &project, "-o", &output].into_iter().chain(more).collect();
        let (ending, _, err) = slipsheet(&args);
        assert!(ending == Ending::Failed && err.contains(message), "{err}");
        assert_eq!(Path::new(&output).exists(), there);
    }
}
