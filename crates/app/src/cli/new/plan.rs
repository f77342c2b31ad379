//! What a new project will be, before any scan is read: its sheet, its layers, and where each scan lies.

use std::path::{Path, PathBuf};

use anyhow::{Context as _, bail};
use slipsheet_core::ink::Ink;
use slipsheet_core::overprint::MAX_INKS;
use slipsheet_core::press::Press;
use slipsheet_core::units::SheetFormat;
use slipsheet_core::words::count;
use slipsheet_document::layer::{Layer, Target};
use slipsheet_document::project::Project;
use slipsheet_document::sheet::Sheet;
use slipsheet_document::shelf::Shelf;
use slipsheet_files::file_name;
use slipsheet_files::press_file;
use slipsheet_files::scan::{self, ScanFormat};
use slipsheet_paper::booklet::Booklet;
use slipsheet_paper::fold::{Face, Scheme};

use super::super::shelf::{fold, ink, stock};
use super::NewArgs;

/// Inks that tell layers apart when none are named, for one ink and for more.
const ONE_INK: [&str; 1] = ["Ink-bottle blue"];
const MORE_INKS: [&str; MAX_INKS] = [
    "Pool green-blue",
    "Hip-berry red",
    "Ink-bottle blue",
    "Egg yolk",
    "Grass-bank green",
    "Cut-beet purple",
    "Sweet-pea pink",
    "Conker-shell brown",
];

/// The arguments, checked against the shelf and one another.
pub(super) struct Plan {
    /// The project with its layers, which have no artwork yet.
    pub project: Project,
    pub originals: Vec<Original>,
}

/// A scan and where it goes.
pub(super) struct Original {
    pub file: PathBuf,
    /// Page of the file, from 0.
    pub page: u32,
    /// Layer of the project.
    pub layer: usize,
    pub target: Target,
}

pub(super) fn plan(args: &NewArgs) -> anyhow::Result<Plan> {
    let shelf = args.shelf.known()?;
    let title = args.title.clone().unwrap_or_else(|| file_name::stem(&args.output));
    let paper = match &args.stock {
        Some(name) => stock(&shelf, name)?,
        None => shelf.stocks.first().cloned().context("the shelf has no stock")?,
    };
    let mut project = Project::new(&title, args.sheet, paper);
    project.main.fold = fold(&shelf, &args.fold)?;
    project.press = press(args)?;
    project.main.booklet = args.booklet.map(|pages| Booklet { pages, ..Booklet::default() });
    if args.landscape {
        turn(&mut project.main)?;
    }
    let scans: Vec<(&Path, u32)> = args.scans.iter().flat_map(|f| scans(f)).collect();
    if args.by_page { by_page(args, &shelf, project, &scans) } else { by_ink(args, &shelf, project, &scans) }
}

/// Lays the sheet on its long side.
fn turn(sheet: &mut Sheet) -> anyhow::Result<()> {
    if sheet.fold.is_some() || sheet.booklet.is_some() {
        bail!("a fold or a booklet decides how its sheet is turned; leave --landscape out");
    }
    match &mut sheet.format {
        SheetFormat::Custom(size) if size.width < size.height => *size = size.turned(),
        format => sheet.landscape = format.can_turn(),
    }
    Ok(())
}

/// A layer for each scan, which lies on the whole sheet.
fn by_ink(
    args: &NewArgs,
    shelf: &Shelf,
    mut project: Project,
    scans: &[(&Path, u32)],
) -> anyhow::Result<Plan> {
    let both = !args.front_only && project.main.fold.as_ref().is_some_and(Scheme::two_sided);
    if both && !scans.len().is_multiple_of(2) {
        bail!(
            "this fold is printed on both faces: give as many scans for the back as for the front, or say --front-only, or --by-page for one scan on each page"
        );
    }
    let a_face = if both { scans.len() / 2 } else { scans.len() };
    if a_face > MAX_INKS {
        let paged =
            if project.main.pages() > 0 { ", or say --by-page for one scan on each page" } else { "" };
        bail!(
            "{a_face} scans on one face are more than the {MAX_INKS} inks that it can have; give fewer{paged}"
        );
    }
    let inks = inks(shelf, &args.inks, a_face, "scan of a face")?;
    let faces = (0..scans.len()).map(|i| if i < a_face { Face::Front } else { Face::Back });
    for (ink, face) in inks.into_iter().cycle().zip(faces) {
        put(&mut project, ink, face);
    }
    let original = |(layer, (file, page)): (usize, &(&Path, u32))| Original {
        file: file.to_path_buf(),
        page: *page,
        layer,
        target: Target::Sheet,
    };
    Ok(Plan { project, originals: scans.iter().enumerate().map(original).collect() })
}

/// A layer for each ink and face, whose scans lie on the pages. Of a booklet the front layers have the artwork of
/// both faces, as its sheets put each page where it belongs.
fn by_page(
    args: &NewArgs,
    shelf: &Shelf,
    mut project: Project,
    scans: &[(&Path, u32)],
) -> anyhow::Result<Plan> {
    let pages = project.main.pages() as usize;
    if pages == 0 {
        bail!("an unfolded sheet has no pages; say --fold or --booklet, or leave --by-page out");
    }
    if !scans.len().is_multiple_of(pages) {
        bail!(
            "with --by-page {} take {pages} scans for each ink, not {}; give one for every page",
            count(pages, "page"),
            scans.len()
        );
    }
    let wanted = scans.len() / pages;
    if wanted > MAX_INKS {
        bail!("{wanted} inks are more than the {MAX_INKS} that a face can have; give fewer scans");
    }
    let inks = inks(shelf, &args.inks, wanted, "scan of a page")?;
    let size = project.main.size();
    let on_back = |page: u32| {
        let place = project.main.fold.as_ref().and_then(|scheme| scheme.place(size, page));
        place.is_some_and(|p| p.face == Face::Back)
    };
    let original = |(i, (file, page)): (usize, &(&Path, u32))| {
        let on = (i % pages) as u32 + 1;
        let layer = i / pages + if on_back(on) { wanted } else { 0 };
        Original { file: file.to_path_buf(), page: *page, layer, target: Target::Page(on) }
    };
    let originals = scans.iter().enumerate().map(original).collect();
    let both = project.main.fold.as_ref().is_some_and(Scheme::two_sided);
    let faces = [Face::Front, Face::Back].into_iter().take(if both { 2 } else { 1 });
    for face in faces {
        inks.iter().for_each(|ink| put(&mut project, ink.clone(), face));
    }
    Ok(Plan { project, originals })
}

/// Puts in a layer without artwork, named after its ink until its scan gives it another name.
fn put(project: &mut Project, ink: Ink, face: Face) {
    let layer = Layer { face, ..Layer::new(project.ids.layer(), ink.name.clone(), ink) };
    project.main.put_last(layer, project.press.drums);
}

/// The press of a profile, or one that is estimated.
fn press(args: &NewArgs) -> anyhow::Result<Press> {
    Ok(match (&args.press, args.drums) {
        (Some(profile), _) => press_file::read(profile)?,
        (None, Some(1)) => Press::single_drum(),
        (None, Some(_) | None) => Press::default(),
    })
}

/// A file with each of its pages that becomes a layer. What cannot be read is said when it is taken in.
fn scans(file: &Path) -> impl Iterator<Item = (&Path, u32)> {
    let layered = scan::probe(file).ok().filter(|info| info.format == ScanFormat::OpenRaster);
    (0..layered.map_or(1, |info| info.pages)).map(move |page| (file, page))
}

fn inks(shelf: &Shelf, named: &[String], wanted: usize, each: &str) -> anyhow::Result<Vec<Ink>> {
    if !named.is_empty() && named.len() != wanted {
        bail!("give one ink for each {each}: {wanted}, not {}", named.len());
    }
    let default: &[&str] = if wanted == 1 { &ONE_INK } else { &MORE_INKS };
    let names: Vec<&str> =
        if named.is_empty() { default.to_vec() } else { named.iter().map(String::as_str).collect() };
    names.into_iter().take(wanted).map(|name| ink(shelf, name)).collect()
}
