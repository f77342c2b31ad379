//! `slipsheet line-up`: what the window's line-up does, for every scan of a project.

use std::path::PathBuf;
use std::sync::Arc;

use anyhow::bail;
use clap::{Args, ValueEnum};
use serde::Serialize;
use slipsheet_document::edit::{self, ArtEdit, Edit};
use slipsheet_document::layer::{Art, Layer};
use slipsheet_document::printing::Printing;
use slipsheet_document::shelf::Shelf;
use slipsheet_editor::{Original, OriginalLinedUp};
use slipsheet_files::scan::Progress;
use slipsheet_files::store::{self, Masks};
use slipsheet_registration::register::{Chosen, FitChoice, FoundBy, Seen, SheetMap};

use super::values::whole;
use super::{Ending, Output};

/// Line up every scan of a project by the marks of its guide, and save where each lies
///
/// A scan is moved, turned and scaled, and stretched or slanted where its marks ask for that; a photograph is made
/// flat. Where no marks are found, the edges of the paper place it, less exactly. Marks that were found, and what the
/// guide itself has printed, are taken out. The exit code is 1 where a scan could not be trusted or was placed by its
/// edges alone; such a scan stays as it was, or is placed, as its line says.
#[derive(Debug, Args)]
#[command(after_help = "Example: slipsheet line-up walk.slipsheet --json")]
pub(super) struct LineUpArgs {
    /// Project; it is saved with what was found
    #[arg(value_name = "PROJECT")]
    project: PathBuf,
    /// One layer of the piece itself in place of all, from 1 in printing order
    #[arg(long, value_name = "N", value_parser = whole::<usize>(1..=64))]
    layer: Option<usize>,
    /// Which maps are allowed
    #[arg(long, value_enum, default_value_t = Fit::Auto)]
    fit: Fit,
    /// Say what is found and save nothing
    #[arg(long)]
    dry_run: bool,
    /// Answer with a JSON array
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Fit {
    /// The plainest that explains the marks
    Auto,
    /// Shift, turn and scale
    Similarity,
    /// Also stretch and slant
    Affine,
    /// As a camera sees a sheet
    Perspective,
}

impl Fit {
    fn choice(self) -> FitChoice {
        match self {
            Self::Auto => FitChoice::Auto,
            Self::Similarity => FitChoice::Only(Chosen::Similarity),
            Self::Affine => FitChoice::Only(Chosen::Affine),
            Self::Perspective => FitChoice::Only(Chosen::Perspective),
        }
    }
}

/// What became of a scan, as scripts read it; layers count from 1 in printing order.
#[derive(Serialize)]
struct Line {
    /// The piece itself, or its wrap.
    sheet: &'static str,
    layer: usize,
    scan: String,
    /// Whether it was placed.
    placed: bool,
    /// By marks or edges.
    by: Option<&'static str>,
    fit: Option<&'static str>,
    rms_mm: Option<f64>,
    max_mm: Option<f64>,
    /// The radial term of the lens, where a photograph's was measured.
    lens: Option<f64>,
    lead_known: Option<bool>,
    confidence: Option<f64>,
    marks: Vec<MarkLine>,
    sentence: String,
}

#[derive(Serialize)]
struct MarkLine {
    kind: &'static str,
    /// Where it belongs, in mm on the sheet or page.
    on_sheet: [f64; 2],
    /// Where it lies, in pixels of the scan.
    in_scan: [f64; 2],
    /// Whether it counts.
    used: bool,
    residual_mm: Option<f64>,
}

pub(super) fn run(args: &LineUpArgs, output: &mut Output<'_>) -> anyhow::Result<Ending> {
    let (mut project, read) = store::load_marked(&args.project)?;
    let main = ("main", Arc::new(project.main_printing()));
    let wrap = project.wrap_printing().filter(|_| args.layer.is_none()).map(|p| ("wrap", Arc::new(p)));
    let shelf = Shelf::default();
    let (mut lines, mut masks, mut ending) = (Vec::new(), Masks::default(), Ending::Fine);
    for (sheet, printing) in std::iter::once(main).chain(wrap) {
        for (position, original) in originals(&printing, args)? {
            let outcome = original.line_up(args.fit.choice(), &Progress::new());
            let line = Line::of((sheet, position), &original, &outcome);
            if let Ok(found) = outcome {
                if found.found.by == FoundBy::Edges {
                    ending = Ending::Warnings;
                }
                masks.extend(found.mask);
                let edit = ArtEdit::LinedUp(Box::new(found.lined_up));
                edit::apply(&mut project, Edit::Art(original.at, edit), &shelf)?;
            } else {
                ending = Ending::Warnings;
            }
            if !args.json {
                line.say(output)?;
            }
            lines.push(line);
        }
    }
    if args.json {
        output.json(&lines)?;
    } else if lines.is_empty() {
        output.line("no scans to line up yet")?;
    }
    if !args.dry_run && lines.iter().any(|l| l.placed) {
        masks.write_beside(&args.project)?;
        store::save_over(&project, &args.project, &read)?;
    }
    Ok(ending)
}

fn chosen(printing: &Printing, layer: Option<usize>) -> anyhow::Result<Vec<(usize, &Layer)>> {
    let all = printing.sheet.layers.iter().enumerate().map(|(i, l)| (i + 1, l));
    let Some(number) = layer else { return Ok(all.collect()) };
    let one: Vec<_> = all.filter(|(n, _)| *n == number).collect();
    if one.is_empty() {
        bail!("there is no layer {number}: name one from 1 to {}", printing.sheet.layers.len());
    }
    Ok(one)
}

/// The scans of a sheet, each with the number of its layer.
fn originals(printing: &Arc<Printing>, args: &LineUpArgs) -> anyhow::Result<Vec<(usize, Original)>> {
    let original = |art: &Art, layer: &Layer| Original {
        at: art.id,
        art: art.clone(),
        face: layer.face,
        printing: Arc::clone(printing),
        base: Some(args.project.clone()),
        masks: Masks::default(),
        pixels: None,
    };
    let layers = chosen(printing, args.layer)?;
    let of = |(number, layer): (usize, &Layer)| {
        layer.art.iter().map(|art| (number, original(art, layer))).collect::<Vec<_>>()
    };
    Ok(layers.into_iter().flat_map(of).collect())
}

impl Line {
    fn of(
        (sheet, layer): (&'static str, usize),
        original: &Original,
        outcome: &Result<OriginalLinedUp, String>,
    ) -> Self {
        let scan = original.art.scan.path.clone();
        let found = match outcome {
            Ok(found) => found,
            Err(why) => {
                let (placed, sentence) = (false, why.clone());
                let (by, fit, rms_mm, max_mm, lens) = (None, None, None, None, None);
                let (lead_known, confidence, marks) = (None, None, Vec::new());
                return Self {
                    sheet,
                    layer,
                    scan,
                    placed,
                    by,
                    fit,
                    rms_mm,
                    max_mm,
                    lens,
                    lead_known,
                    confidence,
                    marks,
                    sentence,
                };
            }
        };
        let of = &found.found;
        let marks = of.table.marks.iter().enumerate().filter(|(_, m)| m.seen != Seen::Missing);
        let marks: Vec<MarkLine> = marks
            .map(|(i, m)| MarkLine {
                kind: m.kind.name(),
                on_sheet: [m.on_sheet.x, m.on_sheet.y],
                in_scan: [m.in_scan.x, m.in_scan.y],
                used: m.used,
                residual_mm: of.fit.residuals_mm.get(i).copied().flatten(),
            })
            .collect();
        let by_marks = of.by == FoundBy::Marks;
        let worst = marks.iter().filter(|m| m.used).filter_map(|m| m.residual_mm).reduce(f64::max);
        Self {
            sheet,
            layer,
            scan,
            placed: true,
            by: Some(if by_marks { "marks" } else { "edges" }),
            fit: Some(match of.kind {
                Chosen::Similarity => "similarity",
                Chosen::Affine => "affine",
                Chosen::Perspective => "perspective",
            }),
            rms_mm: by_marks.then_some(of.fit.rms_mm),
            max_mm: worst.filter(|_| by_marks),
            lens: match &of.fit.map {
                SheetMap::Photo(fit) => Some(fit.lens.k),
                SheetMap::Plain(_) => None,
            },
            lead_known: Some(of.table.lead_known),
            confidence: Some(of.confidence),
            marks,
            sentence: found.sentence.clone(),
        }
    }

    fn say(&self, output: &mut Output<'_>) -> anyhow::Result<()> {
        let kind = self.fit.map_or_else(|| "not placed".to_owned(), |fit| format!("{fit} fit"));
        let of = if self.sheet == "wrap" { "of the wrap, " } else { "" };
        let text = format!("layer {}, {of}{}: {kind}: {}", self.layer, self.scan, self.sentence);
        if self.placed {
            output.line(text)?;
        } else {
            output.problem(text);
        }
        for mark in &self.marks {
            let off = mark.residual_mm.map_or_else(String::new, |mm| format!(", {mm:.2} mm off"));
            let counts = if mark.used { "" } else { " (left out)" };
            let ([x, y], [px, py]) = (mark.on_sheet, mark.in_scan);
            let kind = mark.kind;
            output.line(format_args!("  {kind} at {x:.1}, {y:.1} mm: {px:.1}, {py:.1} px{off}{counts}"))?;
        }
        Ok(())
    }
}
