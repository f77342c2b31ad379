//! `slipsheet dummy`, and proofs of editions: pictures of the right size and content, and refusals in words.

use std::path::Path;

use slipsheet::cli::Ending;
use slipsheet_document::edition::Edition;
use slipsheet_document::project::Project;
use slipsheet_document::shelf::Shelf;

use super::harness::{fine, gray_png, slipsheet};

/// A sheet of eight pages with full ink on its right half.
fn new_project(folder: &Path) -> String {
    let scan = folder.join("ink.png");
    let (w, h) = (330_u32, 255_u32);
    let gray: Vec<u8> = (0..w * h).map(|i| if i % w < w / 2 { 255 } else { 0 }).collect();
    gray_png(&scan, (w, h), &gray, 30.0);
    let project = folder.join("walk.slipsheet").to_str().unwrap().to_owned();
    fine(&["new", "--sheet", "letter", "--fold", "slit8", "-o", &project, scan.to_str().unwrap()]);
    project
}

fn read(path: &str) -> (u32, u32, Option<u32>, Vec<u8>) {
    let file = std::io::BufReader::new(std::fs::File::open(path).unwrap());
    let mut reader = png::Decoder::new(file).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    reader.next_frame(&mut pixels).unwrap();
    let info = reader.info();
    (info.width, info.height, info.animation_control().map(|a| a.num_frames), pixels)
}

#[test]
fn the_dummy_opens_where_a_page_lies() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path());
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for (name, more) in [
        ("closed.png", vec![]),
        ("two.png", vec!["--open", "2"]),
        ("three.png", vec!["--open", "3"]),
        ("half.png", vec!["--fold", "0.5", "--size", "300x200"]),
    ] {
        let output = at(name);
        let args: Vec<&str> = ["dummy", &project, "-o", &output].into_iter().chain(more).collect();
        assert_eq!(slipsheet(&args), (Ending::Fine, String::new(), String::new()), "{name}");
    }
    // Pages 2 and 3 are one spread.
    assert_eq!(std::fs::read(at("two.png")).unwrap(), std::fs::read(at("three.png")).unwrap());
    assert_ne!(std::fs::read(at("two.png")).unwrap(), std::fs::read(at("closed.png")).unwrap());
    let (w, h, frames, _) = read(&at("two.png"));
    assert_eq!((w, h, frames), (1200, 900, None));
    let (w, h, ..) = read(&at("half.png"));
    assert_eq!((w, h), (300, 200));
}

#[test]
fn pages_two_and_three_show_what_is_printed_on_them() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path());
    let output = folder.path().join("spread.png").to_str().unwrap().to_owned();
    let args =
        ["dummy", &project, "-o", &output, "--open", "3", "--yaw", "0", "--pitch", "0", "--size", "400x300"];
    assert_eq!(slipsheet(&args).0, Ending::Fine);
    let (w, _, _, pixels) = read(&output);
    let at = |x: u32, y: u32| -> [u8; 3] {
        let i = 3 * (y * w + x) as usize;
        pixels[i..i + 3].try_into().unwrap()
    };
    // Pages 2 and 3 both lie in the sheet's right half, which is full of ink; the ground is gray.
    for x in [140, 260] {
        let [r, g, b] = at(x, 150);
        assert!(r.min(g).min(b) < 140, "{:?}", at(x, 150));
    }
    assert_eq!(at(2, 2), [0xa8; 3]);
}

#[test]
fn a_turn_around_is_an_animated_picture() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path());
    let output = folder.path().join("round.png").to_str().unwrap().to_owned();
    let args = ["dummy", &project, "-o", &output, "--turn-around", "4", "--size", "160x120"];
    assert_eq!(slipsheet(&args).0, Ending::Fine);
    let (w, h, frames, _) = read(&output);
    assert_eq!((w, h, frames), (160, 120, Some(4)));
}

#[test]
fn what_cannot_be_pictured_is_said_in_a_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path());
    let output = folder.path().join("dummy.png").to_str().unwrap().to_owned();
    for (more, message) in [
        (vec!["--open", "9"], "there is no page 9; the fold has pages 1 to 8"),
        (vec!["--size", "big"], "WIDTHxHEIGHT"),
        (vec!["--size", "9000x10"], "sides of 64 to 4096 pixels"),
        (vec!["--fold", "2"], "a number from 0 to 1"),
        (vec!["--turn-around", "1"], "whole number from 2 to 360"),
        (vec!["--yaw", "north"], "a number of degrees"),
        (vec!["--edition", "Spring"], "the project has none"),
    ] {
        let args: Vec<&str> = ["dummy", &project, "-o", &output].into_iter().chain(more).collect();
        let (ending, _, err) = slipsheet(&args);
        assert!(ending == Ending::Failed && err.contains(message), "{err}");
        assert!(!Path::new(&output).exists());
    }
    let over = folder.path().join("ink.png").to_str().unwrap().to_owned();
    assert_eq!(slipsheet(&["dummy", &project, "-o", &over]).0, Ending::Failed);
}

#[test]
fn every_edition_gets_a_proof_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path());
    let mut read_back = Project::from_ron(&std::fs::read_to_string(&project).unwrap()).unwrap();
    let shelf = Shelf::starter().unwrap();
    for (name, ink, stock) in [("Spring", 2, 1), ("Autumn", 5, 4)] {
        let mut coloured = read_back.clone();
        coloured.main.layers[0].ink = shelf.inks[ink].clone();
        coloured.main.stock = shelf.stocks[stock].clone();
        let (id, colours) = (read_back.ids.edition(), coloured.main.colours());
        read_back.main.editions.push(Edition::new(id, name.to_owned(), colours));
    }
    std::fs::write(&project, read_back.to_ron().unwrap()).unwrap();
    let series = folder.path().join("series");
    let args = ["proof", &project, "-o", series.to_str().unwrap(), "--all-editions", "--dpi", "30"];
    let (ending, out, _) = slipsheet(&args);
    assert_eq!((ending, out.lines().count()), (Ending::Fine, 2));
    let one = folder.path().join("autumn.png");
    let args = ["proof", &project, "-o", one.to_str().unwrap(), "--edition", "autumn", "--dpi", "30"];
    assert_eq!(slipsheet(&args).0, Ending::Fine);
    let bytes = |p: &Path| std::fs::read(p).unwrap();
    assert_eq!(bytes(&one), bytes(&series.join("Autumn.png")));
    assert_ne!(bytes(&one), bytes(&series.join("Spring.png")));
    let args = ["proof", &project, "-o", one.to_str().unwrap(), "--edition", "Winter"];
    let (ending, _, err) = slipsheet(&args);
    assert!(ending == Ending::Failed && err.contains("the project has Spring, Autumn"), "{err}");
}
