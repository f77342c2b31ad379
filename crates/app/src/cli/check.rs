//! `slipsheet check`: what should be looked at before masters are made.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;
use slipsheet_booking::preflight::{self, Finding, ScanTrouble, Severity, Studied, Trouble};
use slipsheet_document::printing::Printing;
use slipsheet_document::sheet::Sheet;
use slipsheet_files::scan::ScanError;
use slipsheet_files::store::ScanState;
use slipsheet_paper::fold::Face;
use slipsheet_registration::slip::{StudyOptions, study_dpi};

use super::accept::AcceptanceArgs;
use super::open::{images, open};
use super::study::coarser;
use super::{Ending, Output};

/// Say what should be looked at before masters are made
///
/// The exit code is 0 when there are no findings or notes only, 1 when there are warnings or nothing to check yet, 2
/// when there are errors. What was accepted in the window does not count.
#[derive(Debug, Args)]
#[command(after_help = "Example: slipsheet check walk.slipsheet --json")]
pub(super) struct CheckArgs {
    /// Project
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    #[command(flatten)]
    acceptance: AcceptanceArgs,
    /// Answer with a JSON array
    #[arg(long)]
    json: bool,
}

/// A finding as scripts read it; layers count from 1 in printing order.
#[derive(Serialize)]
struct Line<'a> {
    severity: &'static str,
    kind: &'static str,
    sentence: &'a str,
    remedy: &'static str,
    layer: Option<usize>,
    page: Option<u32>,
    /// Where on a face.
    place: Option<Place>,
    /// What [`slipsheet_document::accepted::Accepted`] would name.
    place_key: String,
    /// The person's note, when it was accepted.
    accepted: Option<&'a str>,
}

/// A part of a face in mm.
#[derive(Serialize)]
struct Place {
    face: String,
    x: f64,
    y: f64,
    width: f64,
    height: f64,
}

impl<'a> Line<'a> {
    fn of(f: &'a Finding, sheet: &Sheet) -> Self {
        Self {
            severity: f.severity.name(),
            kind: f.kind.id(),
            sentence: &f.sentence,
            layer: f.layer.and_then(|id| sheet.position(id)).map(|i| i + 1),
            page: f.page,
            remedy: f.remedy,
            place: f.place.map(|p| Place {
                face: p.face.name().to_lowercase(),
                x: p.rect.x,
                y: p.rect.y,
                width: p.rect.width,
                height: p.rect.height,
            }),
            place_key: f.place_words(sheet),
            accepted: f.accepted.as_deref(),
        }
    }
}

/// Says so where the sheet is too large to be looked at as finely as others.
fn say_coarser(printing: &Printing, output: &mut Output<'_>) -> std::io::Result<()> {
    let asked = StudyOptions::default().dpi;
    let inks = |face| printing.sheet.on(face).filter(|(_, l)| l.visible).count();
    let most = inks(Face::Front).max(inks(Face::Back));
    let dpi = study_dpi(printing.sheet.size(), asked, most);
    if dpi == asked || most == 0 { Ok(()) } else { output.line(coarser(dpi, asked)) }
}

pub(super) fn run(args: &CheckArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let mut opened = open(&args.project)?;
    opened.accept(args.acceptance.over(opened.project.acceptance));
    let mut trouble = Vec::new();
    for (scan, loaded) in &opened.scans {
        let what = match loaded {
            Ok(l) if l.mask_lost => Trouble::MaskLost,
            Ok(l) if l.state == ScanState::Unchanged => continue,
            Ok(_) => Trouble::Changed,
            Err(ScanError::Missing { .. }) => Trouble::Missing,
            Err(e) => Trouble::Unreadable(e.to_string()),
        };
        trouble.push(ScanTrouble { key: scan.key.clone(), trouble: what });
    }
    let loaded = images(&opened.scans);
    // A study of what is only partly there would find edges that are none.
    let studied = if opened.scans.iter().all(|(_, r)| r.is_ok()) {
        Studied::of(&opened.printing, &loaded)
    } else {
        Studied::default()
    };
    let findings = preflight::findings_with(&opened.printing, &loaded, &trouble, &studied);
    if args.json {
        let lines = findings.iter().map(|f| Line::of(f, &opened.printing.sheet));
        output.json(&lines.collect::<Vec<_>>())?;
    } else if preflight::nothing_yet(&opened.printing) {
        output.line("nothing to check yet: add a scan for each ink first")?;
    } else {
        say_coarser(&opened.printing, output)?;
        if findings.is_empty() {
            output.line("no problems found")?;
        }
        for f in &findings {
            match &f.accepted {
                None => {
                    output.line(format_args!("{}: {}", f.severity.name(), f.sentence))?;
                    output.line(format_args!("         {}", f.remedy))?;
                }
                Some(note) => output.line(format_args!("accepted: {} ({note})", f.sentence))?,
            }
        }
    }
    if preflight::nothing_yet(&opened.printing) {
        return Ok(Ending::Warnings);
    }
    Ok(match findings.iter().filter(|f| f.is_open()).map(|f| f.severity).min() {
        Some(Severity::Error) => Ending::Failed,
        Some(Severity::Warning) => Ending::Warnings,
        Some(Severity::Note) | None => Ending::Fine,
    })
}
