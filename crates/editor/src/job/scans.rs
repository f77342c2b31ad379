//! Scans: read when they are added, read again with their project, looked for, and copied beside it.

use std::path::{Path, PathBuf};

use slipsheet_core::calibrate::{self, Recognised};
use slipsheet_core::units::SheetFormat;
use slipsheet_document::layer::ScanRef;
use slipsheet_document::project::Project;
use slipsheet_files::store::{self, AddedScan, Masks, Recipes};
use slipsheet_files::{Progress, ScanFormat, ScanOptions, file_name};

use super::{Done, Lost};

/// A scan that was added or why it was not, and a name for its layer.
type Named = (Result<AddedScan, String>, String);

/// What files were found to be.
#[derive(Default)]
pub(super) struct Added {
    pub scans: Vec<Result<AddedScan, String>>,
    /// A name for the layer of each scan.
    pub names: Vec<String>,
    /// Those that turned out to be calibration sheets.
    pub sheets: Vec<(PathBuf, Recognised)>,
}

/// Reads files, of which some may be calibration sheets of one of these formats.
pub(super) fn add(files: &[(PathBuf, ScanOptions)], formats: &[SheetFormat], progress: &Progress) -> Added {
    let mut all = Added::default();
    for (scan, name) in files.iter().flat_map(|(f, o)| added(f, o, progress)) {
        match calibration_sheet(&scan, formats) {
            Some(found) => all.sheets.push(found),
            None => {
                all.scans.push(scan);
                all.names.push(name);
            }
        }
    }
    all
}

/// Reads the scans of a project whose file is `base`.
pub(super) fn load(
    scans: Vec<ScanRef>,
    base: Option<&Path>,
    with: (&Masks, &Recipes),
    progress: &Progress,
) -> Done {
    let loaded = store::load_scans(base, scans, with, progress).into_iter();
    Done::Loaded(loaded.map(|(scan, loaded)| (scan, loaded.map_err(|e| Lost::of(&e)))).collect())
}

/// Looks whether the files of scans are what they were.
pub(super) fn look(scans: Vec<ScanRef>, base: Option<&Path>, progress: &Progress) -> Done {
    let looked = scans.into_iter().map(|scan| {
        let state = store::scan_state(base, &scan, progress).map_err(|e| Lost::of(&e));
        (scan, state)
    });
    Done::Looked(looked.collect())
}

pub(super) fn find(scans: Vec<ScanRef>, folder: &Path, progress: &Progress) -> Done {
    let found = scans
        .into_iter()
        .filter_map(|scan| store::find_moved(&scan, folder, progress).map(|found| (scan, found)));
    Done::Found(found.collect())
}

pub(super) fn collect(mut project: Box<Project>, path: PathBuf, progress: &Progress) -> Done {
    let copied = store::collect(&mut project, &path, progress);
    Done::Collected(path, copied.map(|n| (n, project)).map_err(|e| e.to_string()))
}

/// What a file gives, each with a name for its layer: one scan, or one for each layer of a layered file.
fn added(file: &Path, options: &ScanOptions, progress: &Progress) -> Vec<Named> {
    let read = |page: u32| {
        let options = ScanOptions { page, ..*options };
        let scan = store::add_scan(None, file, &options, None, progress).map_err(|e| e.to_string());
        let layer = scan.as_ref().ok().and_then(AddedScan::layer_name);
        let name = layer.map_or_else(|| name_of(file), str::to_owned);
        (scan, name)
    };
    let first = read(options.page);
    let layered = first.0.as_ref().is_ok_and(|a| a.info.format == ScanFormat::OpenRaster);
    let pages = first.0.as_ref().map_or(0, |a| if layered { a.info.pages } else { 0 });
    let rest = (options.page.saturating_add(1)..pages).take_while(|_| !progress.is_cancelled());
    std::iter::once(first).chain(rest.map(read)).collect()
}

/// A calibration sheet among scans that are being added: only in pictures that can be read again in colour.
fn calibration_sheet(
    scan: &Result<AddedScan, String>,
    formats: &[SheetFormat],
) -> Option<(PathBuf, Recognised)> {
    let added = scan.as_ref().ok().filter(|_| !formats.is_empty())?;
    if matches!(added.info.format, ScanFormat::Pdf | ScanFormat::OpenRaster) {
        return None;
    }
    Some((PathBuf::from(&added.scan.path), calibrate::recognise(&added.pixels, formats)?))
}

/// A file's name without its folder and ending.
fn name_of(file: &Path) -> String {
    let stem = file_name::stem(file);
    if stem.is_empty() { "Scan".to_owned() } else { stem }
}

#[cfg(test)]
mod tests {
    use std::io::Write as _;

    use slipsheet_document::layer::Target;

    use super::*;
    use crate::job::Job;
    use crate::landing::Landing;

    /// One black pixel on a canvas of 2 x 1, and a stack of two layers of it.
    fn layered() -> Vec<u8> {
        let mut png = Vec::new();
        let mut encoder = png::Encoder::new(&mut png, 1, 1);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.write_header().unwrap().write_image_data(&[0]).unwrap();
        let xml = "<image w='2' h='1'><stack><layer name='Hip-berry red' src='a.png' x='1'/><layer src='a.png'/></stack></image>";
        let mut archive = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        let stored =
            zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
        let entries =
            [("mimetype", &b"image/openraster"[..]), ("stack.xml", xml.as_bytes()), ("a.png", &png)];
        for (name, bytes) in entries {
            archive.start_file(name, stored).unwrap();
            archive.write_all(bytes).unwrap();
        }
        archive.finish().unwrap().into_inner()
    }

    #[test]
    fn a_layered_file_gives_an_original_for_each_layer_from_the_bottom() {
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("poster.ora");
        std::fs::write(&file, layered()).unwrap();
        let files = vec![(file, ScanOptions::default())];
        let landing = Landing::Each(None, Target::Sheet);
        let job = Job::AddScans { files, landing, sheets: vec![] };
        let Done::Added { scans, names, .. } = job.run(&Progress::new()) else { panic!("not added") };
        assert_eq!(names, ["poster", "Hip-berry red"]);
        let pages: Vec<u32> = scans.iter().map(|s| s.as_ref().unwrap().scan.key.page).collect();
        assert_eq!(pages, [0, 1]);
    }
}
