//! `slipsheet separate`: a colour picture becomes a project whose plates print it.

use std::path::Path;

use serde_json::Value;
use slipsheet::cli::Ending;
use slipsheet_core::ink::Ink;
use slipsheet_core::separation::Inverse;
use slipsheet_core::units::Dpi;
use slipsheet_document::shelf::Shelf;
use slipsheet_files::store::{self, Masks, Recipes};
use slipsheet_files::{PngMeta, Progress, png_out};

use crate::harness::{failing, fine, slipsheet};

/// A sweep of colours that the inks named print on the first stock, as a PNG without a profile.
fn sweep(folder: &Path, names: &[&str]) -> String {
    let shelf = Shelf::starter().unwrap();
    let inks: Vec<&Ink> = names.iter().map(|name| shelf.ink(name).unwrap()).collect();
    let stock = &shelf.stocks[0];
    let inverse = Inverse::of(stock, &inks, &[], None).unwrap();
    let paper = stock.colour.lab().light();
    let (width, height) = (120_u32, 90_u32);
    let rgb: Vec<u8> = (0..width * height)
        .flat_map(|i| {
            let (x, y) = (f64::from(i % width) / 120.0, f64::from(i / width) / 90.0);
            let cover: Vec<f64> = [x, y, 1.0 - x].iter().take(inks.len()).map(|c| 0.06 + 0.7 * c).collect();
            let light = inverse.lab(&cover).light();
            let source: [f64; 3] = std::array::from_fn(|c| light[c] / paper[c]);
            slipsheet_core::colour::Xyz::from_light(source).shown().rgb
        })
        .collect();
    let path = folder.join("sweep.png");
    let meta = PngMeta { dpi: Dpi::new(50.0).unwrap(), text: vec![] };
    png_out::write_rgb(std::fs::File::create(&path).unwrap(), width, height, &rgb, &meta).unwrap();
    path.to_str().unwrap().to_owned()
}

const TWO: [&str; 2] = ["Pool green-blue", "Hip-berry red"];

#[test]
fn a_picture_in_reach_is_separated_saved_and_comes_back_as_it_was() {
    let dir = tempfile::tempdir().unwrap();
    let picture = sweep(dir.path(), &TWO);
    let project = dir.path().join("sweep.slipsheet");
    let project = project.to_str().unwrap();
    let args = ["separate", &picture, "--ink", TWO[0], "--ink", TWO[1], "--intent", "relative-colorimetric"];
    let out = fine(&[&args[..], &["-o", project, "--json"]].concat());
    let said: Value = serde_json::from_str(&out).unwrap();
    assert!(said["mean_ciede2000"].as_f64().unwrap() < 2.0, "{said}");
    assert_eq!((&said["inks"], said["out_of_reach"].as_f64()), (&serde_json::json!(TWO), Some(0.0)));
    assert!(said["profile"].as_str().unwrap().contains("sRGB is assumed"));
    assert!(failing(&[&args[..], &["-o", project]].concat()).contains("--force"));

    // Only how it is separated is kept: the plates are worked out again, to the byte.
    let saved = store::load(Path::new(project)).unwrap();
    let load = || {
        let scans = saved.every_art().map(|art| art.scan.clone()).collect();
        let with = (&Masks::default(), &Recipes::default().of(&saved));
        let loaded = store::load_scans(Some(Path::new(project)), scans, with, &Progress::new());
        loaded.into_iter().map(|(_, l)| l.unwrap().pixels.full().clone()).collect::<Vec<_>>()
    };
    let plates = load();
    assert!(plates.len() == 2 && plates == load() && plates[0] != plates[1]);
    for command in ["check", "plates", "proof", "ticket"] {
        let to = dir.path().join(format!("{command}.out"));
        let to = match command {
            "proof" => to.with_extension("png"),
            "ticket" => to.with_extension("txt"),
            _ => to,
        };
        let mut args = vec![command, project];
        if command != "check" {
            args.extend(["-o", to.to_str().unwrap()]);
        }
        let (ending, out, err) = slipsheet(&args);
        assert_ne!(ending, Ending::Failed, "{command}: {err}");
        // Nobody drew its plates, so that nobody is told to draw them otherwise.
        let advice = ["redraw", "pale", "clean"].iter().find(|word| out.contains(**word));
        assert_eq!(advice, None, "{command}: {out}");
    }
    std::fs::remove_file(&picture).unwrap();
    assert!(
        failing(&["proof", project, "-o", dir.path().join("b.png").to_str().unwrap()]).contains("sweep.png")
    );
}

#[test]
fn inks_are_chosen_for_a_picture_and_what_is_out_of_reach_is_said() {
    let dir = tempfile::tempdir().unwrap();
    let picture = sweep(dir.path(), &TWO);
    let to = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    let (_, out, err) =
        slipsheet(&["separate", &picture, "--choose", "2", "-o", &to("a.slipsheet"), "--json"]);
    let said: Value = serde_json::from_str(&out).unwrap_or_else(|_| panic!("{out} {err}"));
    let mut names: Vec<&str> = said["inks"].as_array().unwrap().iter().map(|n| n.as_str().unwrap()).collect();
    names.sort_unstable();
    assert_eq!(names, ["Hip-berry red", "Pool green-blue"], "{said}");
    let one = ["separate", &picture, "--ink", "60,0,-40", "-o", &to("b.slipsheet")];
    let (ending, out, _) = slipsheet(&one);
    assert_eq!(ending, Ending::Warnings);
    assert!(out.contains("out of reach"), "{out}");
    for (wrong, words) in [
        (vec!["--ink", "No such ink"], "no ink has the name"),
        (vec!["--ink", TWO[0], "--ink-sum", "9"], "0.5 to 6"),
        (vec!["--ink", TWO[0], "--ink", TWO[0]], "each once"),
        (vec!["--ink", TWO[0], "--page", "7"], "page"),
    ] {
        let path = to("c.slipsheet");
        let args = [vec!["separate", &picture, "-o", &path], wrong].concat();
        let why = failing(&args);
        assert!(why.contains(words), "{why}");
        assert!(!Path::new(&path).exists());
    }
    assert!(failing(&["separate", &picture, "-o", &to("d.slipsheet")]).contains("--ink"));
    assert!(
        failing(&["separate", &to("a.slipsheet"), "--ink", TWO[0], "-o", &to("e.slipsheet")]).contains("PNG")
    );
}
