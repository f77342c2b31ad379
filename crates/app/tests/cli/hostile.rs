//! Input that was never meant for the program: devices and pipes, names that a terminal obeys, texts nested without
//! end, and sheets as large as they may be.

use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use slipsheet::cli::Ending;

use super::harness::{failing, fine, gray_png, new_project, slipsheet};

#[cfg(unix)]
#[test]
fn a_device_a_pipe_and_a_folder_give_a_sentence_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--sheet", "120x100"]);
    let pipe = folder.path().join("pipe").to_str().unwrap().to_owned();
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let out = folder.path().join("x.slipsheet").to_str().unwrap().to_owned();
    let scan = folder.path().join("ink.png").to_str().unwrap().to_owned();
    let other = folder.path().join("other.png").to_str().unwrap().to_owned();
    gray_png(Path::new(&other), (8, 6), &[90; 48], 100.0);
    for path in [pipe.as_str(), "/dev/zero", folder.path().to_str().unwrap()] {
        for args in [
            vec!["measured", path, "--ink", "C=Hip-berry red"],
            vec!["measured", &scan, "--ink", "C=Hip-berry red", "--save", path],
            vec!["new", "--sheet", "A4", "--shelf", path, "-o", &out, &scan],
            vec!["spread", &project, path, &scan, &other],
            vec!["spread", path, &scan],
            vec!["wedge", "read", path, "--ink", "Hip-berry red"],
            vec!["check", path],
            vec!["new", "--sheet", "A4", "-o", &out, path],
        ] {
            let begun = Instant::now();
            let error = failing(&args);
            assert!(error.contains("not a file"), "{args:?}: {error}");
            assert!(begun.elapsed() < Duration::from_secs(5), "{args:?}");
        }
    }
}

#[test]
fn names_that_a_terminal_obeys_are_shown_and_not_obeyed() {
    let folder = tempfile::tempdir().unwrap();
    let project = new_project(folder.path(), &["--sheet", "120x100"]);
    let text = std::fs::read_to_string(&project).unwrap();
    let evil = "\\u{1b}]0;owned\\u{7}\\u{9b}31m\\u{202e}\\r\\n\\u{7f}";
    let named = text.replace("\"ink\"", &format!("\"ink{evil}\""));
    assert_ne!(named, text);
    std::fs::write(&project, named).unwrap();
    let ticket = folder.path().join("ticket.txt").to_str().unwrap().to_owned();
    slipsheet(&["ticket", &project, "-o", &ticket]);
    let mut message = std::fs::read_to_string(&ticket).unwrap();
    let missing = format!("{project}\u{1b}[2J\u{9b}5n\nx");
    for args in [
        vec!["check", &project],
        vec!["check", &project, "--json"],
        vec!["study", &project],
        vec!["cost", &project],
        vec!["check", &missing],
        vec!["measured", &missing, "--ink", "C=\u{1b}[31m"],
        vec!["no\u{1b}[31mthing", "--\u{9b}x"],
    ] {
        let (_, out, err) = slipsheet(&args);
        message += &out;
        message += &err;
    }
    assert!(message.contains("ink"), "{message}");
    assert!(message.chars().all(|c| c == '\n' || !(c.is_control() || c == '\u{202e}')), "{message:?}");
}

#[test]
fn a_text_that_is_nested_without_end_is_refused_in_our_own_words() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let project = new_project(folder.path(), &["--sheet", "120x100"]);
    let scan = at("ink.png");
    std::fs::write(at("deep.ron"), format!("(inks: {}", "[(".repeat(200_000))).unwrap();
    let error =
        failing(&["new", "--sheet", "A4", "--shelf", &at("deep.ron"), "-o", &at("x.slipsheet"), &scan]);
    assert!(error.starts_with("the shelf cannot be read at line 1: "), "{error}");
    assert!(error.contains("export one under Inks and stocks in the window"), "{error}");
    let text = std::fs::read_to_string(&project).unwrap();
    std::fs::write(&project, text.replacen("layers: [", &format!("layers: {}", "[".repeat(200_000)), 1))
        .unwrap();
    let deep = failing(&["check", &project]);
    for error in [error, deep] {
        for never in ["recursion", "serde", "ron::", "struct"] {
            assert!(!error.contains(never), "{error}");
        }
    }
}

/// The largest sheet that there may be, in less memory than a usual machine has.
#[cfg(target_os = "linux")]
#[test]
fn the_largest_sheet_is_studied_within_bounds_and_it_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for (name, from) in [("a.png", 0), ("b.png", 100)] {
        let pixels: Vec<u8> =
            (0..200 * 200).map(|p| if (from..from + 100).contains(&(p % 200)) { 0 } else { 255 }).collect();
        gray_png(folder.path().join(name).as_path(), (200, 200), &pixels, 10.0);
    }
    let project = at("large.slipsheet");
    fine(&["new", "--sheet", "2000x2000", "-o", &project, &at("a.png"), &at("b.png")]);
    let run = format!("ulimit -v 6000000; exec {} study {project}", env!("CARGO_BIN_EXE_slipsheet"));
    let ran = Command::new("sh").arg("-c").arg(run).output().unwrap();
    let (out, err) = (String::from_utf8(ran.stdout).unwrap(), String::from_utf8(ran.stderr).unwrap());
    assert!(ran.status.code().is_some_and(|code| code < 2), "{err}");
    assert!(out.starts_with("the sheet is large, so it was studied at "), "{out}");
    let json = slipsheet(&["study", &new_project(folder.path(), &["--sheet", "120x100"]), "--json"]);
    assert_eq!(json.0, Ending::Fine);
    assert!(json.1.contains("\"dpi\":300.0"), "{}", json.1);
}
