//! The job that makes a pack: whose study its ticket tells of.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

use std::path::Path;
use std::sync::Arc;

use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::units::{Dpi, SheetFormat, Size};
use slipsheet_document::layer::{Art, Layer, ScanKey, ScanRef, Target};
use slipsheet_document::project::Project;
use slipsheet_document::shelf::Shelf;
use slipsheet_editor::{Done, Job, PackExport, Source};
use slipsheet_files::Progress;
use slipsheet_registration::slip::JobRegister;
use slipsheet_render::images::Images;

/// Two inks on a sheet of 60 x 40 mm that meet with 0.3 mm of trap.
fn project() -> (Project, Images) {
    let shelf = Shelf::starter().unwrap();
    let sheet = SheetFormat::Custom(Size::mm(60.0, 40.0));
    let mut project = Project::new("Boxes", sheet, shelf.stocks[0].clone());
    let dpi = Dpi::new(254.0).unwrap();
    project.press_dpi = dpi;
    let mut images = Images::default();
    for (i, box_px) in [300..550, 50..303].into_iter().enumerate() {
        let inked = |p: u32| box_px.contains(&(p % 600)) && (50..350).contains(&(p / 600));
        let pixels = (0..600 * 400).map(|p| if inked(p) { 0 } else { 255 }).collect();
        let key = ScanKey::new(i.to_string().repeat(64));
        images.insert(key.clone(), Arc::new(Pyramid::new(GrayRaster::new(600, 400, pixels).unwrap(), dpi)));
        let scan = ScanRef { path: "box.png".to_owned(), size: 1, key, dpi };
        let layer = Layer::new(project.ids.layer(), format!("box {i}"), shelf.inks[i].clone());
        let art = vec![Art::new(project.ids.art(), scan, Target::Sheet)];
        project.main.layers.push(Layer { art, ..layer });
    }
    (project, images)
}

fn job(folder: &Path) -> Job {
    let (project, images) = project();
    let from = Source {
        printing: Arc::new(project.main_printing()),
        project: Arc::new(project),
        images,
        file: None,
        pack: Default::default(),
        register: None,
    };
    Job::Export { export: Arc::new(PackExport), from: Box::new(from), to: folder.to_path_buf() }
}

/// The tolerance that the ticket of a pack tells.
fn tolerance(job: Job) -> f64 {
    let Done::Written(Ok((folder, _))) = job.run(&Progress::new()) else { panic!("no pack") };
    let text = std::fs::read_to_string(folder.join("ticket.txt")).unwrap();
    let (_, rest) = text.split_once("takes a slip of ").unwrap();
    rest.split_once(" mm").unwrap().0.parse().unwrap()
}

#[test]
fn a_pack_tells_of_the_register_that_is_known_and_studies_one_that_is_not() {
    let dir = tempfile::tempdir().unwrap();
    // Closed form: straight edges open at the trap and the accepted gap of 0.5 mm.
    let studied = tolerance(job(&dir.path().join("studied")));
    assert!((studied - 0.8).abs() < 0.03, "{studied}");
    let (project, images) = project();
    let known = JobRegister::of(&project.main_printing(), &images).unwrap();
    assert_eq!(tolerance(job(&dir.path().join("known")).knowing(Some(&known))), studied);
    // It is not studied once more.
    let other = JobRegister { tolerance: Some(1.37), ..known };
    assert_eq!(tolerance(job(&dir.path().join("other")).knowing(Some(&other))), 1.37);
    assert_eq!(tolerance(job(&dir.path().join("none")).knowing(None)), studied);
}

#[test]
fn a_pack_that_is_stopped_leaves_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let progress = Progress::new();
    progress.cancel();
    let done = job(&dir.path().join("pack")).run(&progress);
    assert!(matches!(done, Done::Cancelled(_)), "{done:?}");
    assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 0);
}
