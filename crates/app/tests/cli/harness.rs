//! What every test of the command line needs: a way to call it, a scan and a project.

use std::ffi::OsString;
use std::path::Path;

use slipsheet::cli::{Ending, Outcome, Output, run_with};
use slipsheet_core::units::Dpi;
use slipsheet_files::{PngMeta, png_out};

/// Calls the program: how it ended, the output, the error output.
#[track_caller]
pub fn slipsheet(args: &[&str]) -> (Ending, String, String) {
    let (outcome, out, err) = slipsheet_reading(args, b"");
    let Outcome::Done(ending) = outcome else { panic!("a window was asked for") };
    (ending, out, err)
}

/// The same with something on its standard input; it may also ask for the window.
pub fn slipsheet_reading(args: &[&str], mut input: &[u8]) -> (Outcome, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = std::iter::once("slipsheet").chain(args.iter().copied()).map(OsString::from);
    let outcome = run_with(args, &mut input, &mut Output::new(&mut out, &mut err));
    (outcome, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
}

/// The output of a command that ends well without a word of warning.
#[track_caller]
pub fn fine(args: &[&str]) -> String {
    let (ending, out, err) = slipsheet(args);
    assert_eq!((ending, err.as_str()), (Ending::Fine, ""), "{args:?}: {out}");
    out
}

/// The sentence of a command that fails.
#[track_caller]
pub fn failing(args: &[&str]) -> String {
    let (ending, out, err) = slipsheet(args);
    assert_eq!((ending, out.as_str()), (Ending::Failed, ""), "{args:?}: {err}");
    err.strip_prefix("slipsheet: ").unwrap().to_owned()
}

/// Writes a gray PNG.
pub fn gray_png(path: &Path, (width, height): (u32, u32), pixels: &[u8], dpi: f64) {
    let meta = PngMeta { dpi: Dpi::new(dpi).unwrap(), ..PngMeta::default() };
    let file = std::io::BufWriter::new(std::fs::File::create(path).unwrap());
    png_out::write_gray(file, width, height, pixels, &meta).unwrap();
}

/// Makes a project of one scan of 400 x 300 pixels, all of one gray, with these options of `new`.
pub fn new_project(folder: &Path, options: &[&str]) -> String {
    let scan = folder.join("ink.png");
    gray_png(&scan, (400, 300), &[20; 120_000], 300.0);
    let project = folder.join("walk.slipsheet").to_str().unwrap().to_owned();
    let args = [&["new"], options, &["-o", &project, scan.to_str().unwrap()]].concat();
    fine(&args);
    project
}
