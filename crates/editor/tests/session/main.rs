//! A session without a window: commands in, effects carried out here and now.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

mod history;
mod lineup;
mod meanwhile;
mod outside;
mod press;
mod saving;
mod scans;
mod shelf;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use slipsheet_core::units::Mm;
use slipsheet_document::edit::{ArtEdit, Edit, LayerEdit, ProjectEdit, Refusal, SheetEdit, Which};
use slipsheet_document::ids::{ArtId, LayerId};
use slipsheet_document::layer::{GrayFrom, Slip, Target};
use slipsheet_document::shelf::Shelf;
use slipsheet_editor::{Done, Effect, Export, Leave, Pick, Request, RequestError, Session, ShelfChange};
use slipsheet_files::Progress;
use slipsheet_files::home::Settings;

fn session() -> Session {
    Session::new(Shelf::starter().unwrap(), Settings::default())
}

fn written_to(export: impl Export + 'static, path: PathBuf) -> Request {
    Request::Export(Arc::new(export), path)
}

/// Adding scans as layers of their own.
fn add_scans(files: Vec<PathBuf>) -> Request {
    Request::AddScans { files, layer: None, target: Target::Sheet }
}

/// Applies a command and runs the jobs it starts, and theirs; what else is asked for comes back.
fn apply(session: &mut Session, command: Request) -> Vec<Effect> {
    try_apply(session, command).unwrap()
}

/// The same, up to the first refusal.
fn try_apply(session: &mut Session, command: Request) -> Result<Vec<Effect>, RequestError> {
    let mut left = Vec::new();
    let mut queue = session.apply(command)?;
    while !queue.is_empty() {
        let mut next = Vec::new();
        for effect in queue {
            match effect {
                Effect::Start(job) => {
                    let done = job.run(&Progress::new());
                    next.extend(session.apply(Request::JobDone(session.epoch(), Arc::new(done)))?);
                }
                other => left.push(other),
            }
        }
        queue = next;
    }
    Ok(left)
}

fn scan(folder: &Path, name: &str, gray: u8) -> PathBuf {
    let path = folder.join(name);
    image::GrayImage::from_pixel(60, 40, image::Luma([gray])).save(&path).unwrap();
    path
}

fn layer_id(s: &Session, i: usize) -> LayerId {
    s.sheet().layers[i].id
}

fn art_id(s: &Session, layer: usize) -> ArtId {
    s.sheet().layers[layer].art[0].id
}

fn edit_project(s: &mut Session, edit: ProjectEdit) -> Vec<Effect> {
    apply(s, Edit::Project(edit).into())
}

fn edit_sheet(s: &mut Session, edit: SheetEdit) -> Vec<Effect> {
    let id = s.sheet().id;
    apply(s, Request::sheet(id, edit))
}

/// Changes the layer at a position.
fn edit_layer(s: &mut Session, i: usize, edit: LayerEdit) -> Vec<Effect> {
    let id = layer_id(s, i);
    apply(s, Request::layer(id, edit))
}

/// Changes the first piece of the first layer's artwork.
fn edit_art(s: &mut Session, edit: ArtEdit) -> Vec<Effect> {
    let id = art_id(s, 0);
    apply(s, Edit::Art(id, edit).into())
}

fn slip(dx: f64) -> LayerEdit {
    LayerEdit::Slip(Slip { dx: Mm::new(dx), ..Slip::default() })
}

fn with_layers(folder: &Path, names: &[&str]) -> Session {
    let mut s = session();
    let files = names.iter().enumerate().map(|(i, n)| scan(folder, n, 10 * i as u8)).collect();
    apply(&mut s, add_scans(files));
    s
}

/// A saved project of one layer, opened again after its scan has gone.
fn opened_without_its_scan(folder: &Path) -> Session {
    let mut s = with_layers(folder, &["a.png"]);
    let file = folder.join("job.slipsheet");
    apply(&mut s, Request::SaveAs(file.clone()));
    std::fs::remove_file(folder.join("a.png")).unwrap();
    let mut again = session();
    apply(&mut again, Request::Leave(Leave::Open(file)));
    again
}
