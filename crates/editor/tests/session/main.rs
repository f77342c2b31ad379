//! A session without a window: commands in, effects carried out here and now.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

mod history;
mod lineup;
mod outside;
mod saving;
mod scans;
mod shelf;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use slipsheet_core::units::Mm;
use slipsheet_document::layer::{GrayFrom, Slip, Target};
use slipsheet_document::shelf::Shelf;
use slipsheet_editor::{Command, CommandError, Done, Effect, LayerChange, Pick, Session, ShelfChange};
use slipsheet_files::Progress;
use slipsheet_files::home::Settings;

fn session() -> Session {
    Session::new(Shelf::starter().unwrap(), Settings::default())
}

/// Applies a command and runs the jobs it starts, and theirs; what else is asked for comes back.
fn apply(session: &mut Session, command: Command) -> Vec<Effect> {
    let mut left = Vec::new();
    let mut queue = session.apply(command).unwrap();
    while !queue.is_empty() {
        let mut next = Vec::new();
        for effect in queue {
            match effect {
                Effect::Start(job) => {
                    let done = job.run(&Progress::new());
                    next.extend(session.apply(Command::JobDone(session.epoch(), Arc::new(done))).unwrap());
                }
                other => left.push(other),
            }
        }
        queue = next;
    }
    left
}

fn scan(folder: &Path, name: &str, gray: u8) -> PathBuf {
    let path = folder.join(name);
    image::GrayImage::from_pixel(60, 40, image::Luma([gray])).save(&path).unwrap();
    path
}

fn slip(dx: f64) -> LayerChange {
    LayerChange::Slip(Slip { dx: Mm::new(dx), ..Slip::default() })
}

fn with_layers(folder: &Path, names: &[&str]) -> Session {
    let mut s = session();
    let files = names.iter().enumerate().map(|(i, n)| scan(folder, n, 10 * i as u8)).collect();
    apply(&mut s, Command::add_scans(files));
    s
}

/// A saved project of one layer, opened again after its scan has gone.
fn opened_without_its_scan(folder: &Path) -> Session {
    let mut s = with_layers(folder, &["a.png"]);
    let file = folder.join("job.slipsheet");
    apply(&mut s, Command::SaveAs(file.clone()));
    std::fs::remove_file(folder.join("a.png")).unwrap();
    let mut again = session();
    apply(&mut again, Command::Open(file));
    again
}
