//! The real program in a real window: it opens the demo under a virtual screen, the screen shows colour, and
//! nothing is kept beside the home.
//! Needs the Debian packages xvfb and scrot, which `.ci/setup test` installs.
#![cfg(target_os = "linux")]

use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A child that does not outlive the test.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        self.0.kill().unwrap_or_default();
        self.0.wait().ok();
    }
}

fn start(command: &mut Command) -> Running {
    let name = command.get_program().to_string_lossy().into_owned();
    let child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn();
    Running(child.unwrap_or_else(|e| panic!("{name} does not start ({e}); run `bash .ci/setup test` first")))
}

/// Pixels of a screenshot that are clearly coloured.
fn coloured_pixels(screenshot: &Path) -> Option<usize> {
    let mut reader =
        png::Decoder::new(std::io::BufReader::new(std::fs::File::open(screenshot).ok()?)).read_info().ok()?;
    let mut pixels = vec![0; reader.output_buffer_size()?];
    let info = reader.next_frame(&mut pixels).ok()?;
    let step = info.color_type.samples();
    let coloured = |p: &&[u8]| {
        p.len() >= 3 && p[..3].iter().max() > p[..3].iter().min().map(|v| v.saturating_add(60)).as_ref()
    };
    Some(pixels.chunks(step).filter(coloured).count())
}

#[test]
fn the_demo_shows_its_colours_on_a_real_screen() {
    let dir = tempfile::tempdir().unwrap();
    let number = 120 + std::process::id() % 400;
    let display = format!(":{number}");
    let _screen = start(Command::new("Xvfb").args([&display, "-screen", "0", "1280x800x24"]));
    let socket = format!("/tmp/.X11-unix/X{number}");
    let begin = Instant::now();
    while !Path::new(&socket).exists() {
        assert!(begin.elapsed() < Duration::from_secs(20), "the virtual screen does not come up");
        std::thread::sleep(Duration::from_millis(50));
    }
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/tidewrack/tidewrack.slipsheet");
    let mut program = start(
        Command::new(env!("CARGO_BIN_EXE_slipsheet"))
            .arg(demo)
            .env("DISPLAY", &display)
            .env("SLIPSHEET_HOME", dir.path())
            .env("XDG_DATA_HOME", dir.path().join("data"))
            .env_remove("WAYLAND_DISPLAY"),
    );
    let shot = dir.path().join("shot.png");
    let begin = Instant::now();
    loop {
        std::thread::sleep(Duration::from_millis(500));
        assert!(program.0.try_wait().unwrap().is_none(), "the program ended by itself");
        let taken = Command::new("scrot").arg("-o").arg(&shot).env("DISPLAY", &display).status();
        assert!(taken.is_ok(), "scrot does not run; run `bash .ci/setup test` first");
        let coloured = coloured_pixels(&shot).unwrap_or(0);
        // The demo's inks cover some 30 % of a sheet that fills much of the screen.
        if coloured > 40_000 {
            break;
        }
        assert!(
            begin.elapsed() < Duration::from_secs(90),
            "after a minute and a half only {coloured} pixels are coloured"
        );
    }
    // A store of the toolkit's would bring one project's scrolling to the next, and one home's to another.
    assert!(!dir.path().join("data").exists(), "something is kept outside the home");
}
