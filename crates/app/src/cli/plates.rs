//! `slipsheet plates`: one gray file for each ink, at the press's resolution.

use std::collections::BTreeSet;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use slipsheet_core::units::Dpi;
use slipsheet_document::printing::Printing;
use slipsheet_files::file_set::FileSet;
use slipsheet_files::plates::{
    self, PlateError, PlateForm, PlateFormat, PlateOptions, Plates, with_crisp_vectors,
};
use slipsheet_files::scan::Progress;
use slipsheet_files::spot_pdf;
use slipsheet_files::store::Originals;
use slipsheet_render::images::Images;

use super::open::{images, open};
use super::values::dpi;
use super::{Ending, Output};

/// Kinds of plates on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// One PNG an ink
    Png,
    /// One TIFF an ink
    Tiff,
    /// One PDF an ink
    Pdf,
    /// One PDF with a separation for each ink
    Spot,
}

/// Forms of plates on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Form {
    /// Gray with the reading's tones in it: the machine makes the dots, all else neutral
    Prepared,
    /// Gray as the originals are drawn: the operator sets the machine as the ticket says
    AsDrawn,
    /// The finished master: ink or none, printed as line art
    Dots,
}

impl From<Form> for PlateForm {
    fn from(form: Form) -> Self {
        match form {
            Form::Prepared => Self::Prepared,
            Form::AsDrawn => Self::AsDrawn,
            Form::Dots => Self::Dots,
        }
    }
}

/// Make plates: one gray file for each ink at the press's resolution and the sheet's true size, 0 for full ink
///
/// Prepared plates are gray with each layer's reading in them, and the machine is set to neutral. Registration marks
/// and words are printed outside the trim where the press's margins leave room.
#[derive(Debug, Args)]
#[command(after_help = "Example: slipsheet plates walk.slipsheet -o plates --format tiff --form as-drawn")]
pub(super) struct PlatesArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// Folder to write into; it is made if it is not there
    #[arg(short, long, value_name = "FOLDER")]
    output: PathBuf,
    /// Kind of file
    #[arg(long, value_enum, default_value = "png")]
    format: Format,
    /// How much of the reading is in the plates
    #[arg(long, value_enum, default_value = "prepared")]
    form: Form,
    /// Resolution in place of the press's, 10 to 9600
    #[arg(long, value_name = "N", value_parser = dpi)]
    dpi: Option<Dpi>,
}

pub(super) fn run(args: &PlatesArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let opened = open(&args.project)?;
    let mut ending = opened.scans_fit(output)?;
    let wanted = args.dpi.unwrap_or(opened.printing.press_dpi);
    let progress = Progress::new();
    let loaded = images(&opened.scans);
    let (crisp, images) =
        with_crisp_vectors(&opened.project, &loaded, Some(&args.project), wanted, &progress)?;
    let printing = crisp.main_printing();
    let format = match args.format {
        Format::Png | Format::Spot => PlateFormat::Png,
        Format::Tiff => PlateFormat::Tiff,
        Format::Pdf => PlateFormat::Pdf,
    };
    let options = PlateOptions { format, form: args.form.into(), dpi: args.dpi };
    let planned = Plates::new(&printing, &images, &options)?;
    let originals = Originals::of(&opened.project, Some(&args.project));
    let separations = args.output.join("separations.pdf");
    if args.format == Format::Spot {
        originals.refuse(&separations)?;
    } else {
        let later = later_plates(&printing, &images, &options)?;
        for plate in planned.all.iter().map(|plate| plate.file_name(format)).chain(later) {
            originals.refuse(&args.output.join(plate))?;
        }
    }
    let marked = planned.marked;
    drop(planned);
    let mut written = Vec::new();
    if args.format == Format::Spot {
        let set = FileSet::for_folder(&args.output)?;
        spot_pdf::write(&printing, &images, &options, &set.place("separations.pdf"), &progress)?;
        set.put()?;
        output.line(separations.display())?;
        written.push(separations);
    } else {
        for plate in plates::write(&printing, &images, &options, &args.output, &progress)? {
            let (w, h) = (plate.width, plate.height);
            let covered = plate.coverage * 100.0;
            output
                .line(format_args!("{}  {w} x {h} pixels, mean tone {covered:.2} %", plate.path.display()))?;
            written.push(plate.path);
        }
    }
    output.line(options.form.instruction())?;
    if !marked {
        output.line("no marks: they need 3 mm between the trim and the edges that the press cannot print")?;
    }
    let stale = stale(&args.output, &written);
    if !stale.is_empty() {
        output.problem(format_args!(
            "the folder has plates that were not made now: {}; delete them so that no master is made from one",
            stale.join(", ")
        ));
        ending = Ending::Warnings;
    }
    Ok(ending)
}

/// The names of the plates of a booklet's later sheets.
fn later_plates(
    printing: &Printing,
    images: &Images,
    options: &PlateOptions,
) -> Result<Vec<String>, PlateError> {
    let mut names = Vec::new();
    for sheet in 1..printing.sheet.printed_sheets() {
        let plates = Plates::of_sheet(printing, images, options, sheet)?;
        names.extend(plates.all.iter().map(|plate| plate.file_name(options.format)));
    }
    Ok(names)
}

/// Files of a folder with names and endings like those written, which were not written: plates of an earlier run.
fn stale(folder: &Path, written: &[PathBuf]) -> Vec<String> {
    let ending = |path: &Path| path.extension().map(OsStr::to_os_string);
    let ours: BTreeSet<_> = written.iter().filter_map(|p| ending(p)).collect();
    let mut stale: Vec<String> = std::fs::read_dir(folder)
        .into_iter()
        .flatten()
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| ending(path).is_some_and(|e| ours.contains(&e)))
        .filter_map(|path| Some(path.file_name()?.to_str()?.to_owned()))
        .filter(|name| is_plate(name) && !written.iter().any(|p| p.file_name() == Some(OsStr::new(name))))
        .collect();
    stale.sort();
    stale
}

/// Whether a file is named as plates are: `2-front-hip-berry-red.png`, or of a booklet `sheet3-back-2-hip-berry-red.png`.
fn is_plate(name: &str) -> bool {
    let number = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let mut parts = name.split('-');
    let (first, side) = (parts.next().unwrap_or_default(), parts.next().unwrap_or_default());
    let ink = match first.strip_prefix("sheet") {
        Some(sheet) => number(sheet) && parts.next().is_some_and(number) && parts.next().is_some(),
        None => number(first) && parts.next().is_some(),
    };
    ink && matches!(side, "front" | "back")
}
