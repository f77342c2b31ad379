//! A wrap to be cut and scored: a PDF or an SVG of the sheet at true size, cuts whole, scores dashed, glue
//! hatched, and the sizes in words.
//!
//! **Invariant:** the page is the sheet, and the same plan gives the same bytes.

use std::path::Path;

use slipsheet_core::geometry::{Affine, Rect};
use slipsheet_document::wrap::{FaceName, NetLine, NetLineKind, WrapPlan};

use crate::atomic::{self, WriteError};
use crate::guide::pdf;
use crate::guide::sketch::Item;
use crate::lettering::FontError;
use crate::lettering::{Lettering, Line, Rgb, Style};
use crate::proof::guides::{Guide, strokes};
use crate::wrap_svg::Group;

const CUT: Rgb = [20, 20, 22];
const SCORE: Rgb = [176, 40, 80];
const GLUE: Rgb = [120, 150, 190];
const WORDS: Rgb = [90, 90, 94];
/// Line widths in mm.
const LINE: f64 = 0.25;
const HAIR: f64 = 0.12;
/// How the words are set, and from one baseline to the next in mm.
const STYLE: Style = Style::regular(6.5, WORDS);
const LEADING: f64 = 2.9;
/// Between words and the edge of what holds them, in mm.
const PADDING: f64 = 3.0;

/// Written on every sheet.
pub const CAUTION: &str =
    "Cut against a steel rule on a mat, blade away from the hand; a guillotine is for those trained on it.";
/// What the lines mean.
const KEY: &str =
    "Seen from the outside. Whole line: cut. Dashes: score and fold back. Hatch: glue. Print at 100 %.";

/// Why a wrap could not be written.
#[derive(Debug, thiserror::Error)]
pub enum WrapFileError {
    #[error(transparent)]
    Font(#[from] FontError),
    #[error(transparent)]
    Write(#[from] WriteError),
}

/// Writes the sheet as a PDF of one page.
///
/// # Errors
/// When the file cannot be written.
pub fn wrap_pdf(plan: &WrapPlan, title: &str, path: &Path) -> Result<(), WrapFileError> {
    Ok(atomic::write_bytes(path, &wrap_document(plan, title)?)?)
}

/// The sheet as a PDF in memory.
///
/// # Errors
/// When the program's own font is damaged.
pub fn wrap_document(plan: &WrapPlan, title: &str) -> Result<Vec<u8>, WrapFileError> {
    let mut items = Vec::new();
    for group in groups(plan)? {
        let width = group.width;
        for (from, to) in group.lines {
            if group.dashed {
                let guide = Guide { from, to, dashes: &[3.0, 1.5] };
                let dashes = strokes(guide).into_iter();
                items.extend(dashes.map(|(from, to)| (group.colour, Item::Line { from, to, width })));
            } else {
                items.push((group.colour, Item::Line { from, to, width }));
            }
        }
        items.extend(group.words.into_iter().map(|(line, at)| (group.colour, Item::Words(line, at))));
    }
    Ok(pdf::pages(&[(plan.sheet, &items)], &document_title(plan, title))?)
}

/// Writes the sheet as an SVG in mm, its cuts, scores and glue in groups of these names.
///
/// # Errors
/// When the file cannot be written.
pub fn wrap_svg(plan: &WrapPlan, title: &str, path: &Path) -> Result<(), WrapFileError> {
    let text =
        crate::wrap_svg::document(plan.sheet, &document_title(plan, title), &sentences(plan), &groups(plan)?);
    Ok(atomic::write_bytes(path, text.as_bytes())?)
}

fn document_title(plan: &WrapPlan, title: &str) -> String {
    let kind = plan.order.wrap.kind.name().to_lowercase();
    let title = if title.trim().is_empty() { "Untitled" } else { title.trim() };
    format!("{title}: {kind}")
}

fn sentences(plan: &WrapPlan) -> Vec<String> {
    let mut all = plan.sentences();
    all.push(KEY.to_owned());
    all.extend(plan.notes());
    all.push(CAUTION.to_owned());
    all
}

fn groups(plan: &WrapPlan) -> Result<Vec<Group>, WrapFileError> {
    let lettering = Lettering::new()?;
    let lines = plan.lines();
    let of = |kind: NetLineKind| {
        let ends = |l: &NetLine| (l.kind == kind).then_some((l.from, l.to));
        lines.iter().filter_map(ends).collect::<Vec<_>>()
    };
    let group = |name, colour, width, kind| Group {
        name,
        colour,
        width,
        dashed: kind == NetLineKind::Score,
        lines: of(kind),
        words: Vec::new(),
    };
    let words = words(plan, lettering);
    Ok(vec![
        group("glue", GLUE, HAIR, NetLineKind::Glue),
        group("score", SCORE, LINE, NetLineKind::Score),
        group("cut", CUT, LINE, NetLineKind::Cut),
        Group { name: "words", colour: WORDS, width: 0.0, dashed: false, lines: Vec::new(), words },
    ])
}

/// The names and widths of faces on every net, and everything else where the sheet has room for it.
fn words(plan: &WrapPlan, lettering: Lettering) -> Vec<(Line, Affine)> {
    let mut out = Vec::new();
    for place in &plan.layout.places {
        let sheet_from_net = place.sheet_from_net(plan.net.size);
        for face in &plan.net.faces {
            // The size of a cover is its width, of walls and flaps how far they reach.
            let reach = match face.name {
                FaceName::GlueFlap | FaceName::Head | FaceName::Foot => face.rect.width.min(face.rect.height),
                FaceName::Back
                | FaceName::Spine
                | FaceName::Front
                | FaceName::ForeEdge
                | FaceName::FrontFlap
                | FaceName::BackFlap => face.rect.width,
            };
            let text = format!("{} {reach:.1} mm", face.name.name());
            let line = lettering.line(&text, STYLE);
            let (wide, c) = (line.width(), face.rect.centre());
            let baseline = Affine::shift(-wide / 2.0, 0.8);
            let turn = if wide + 2.0 < face.rect.width && face.rect.height > 4.0 {
                0.0
            } else if wide + 2.0 < face.rect.height && face.rect.width > 3.0 {
                90.0
            } else {
                continue;
            };
            let from_line = sheet_from_net * Affine::shift(c.x, c.y) * Affine::turn(turn) * baseline;
            out.push((line, from_line));
        }
    }
    out.extend(block_of_words(plan, lettering));
    out
}

/// The sentences in waste beside the nets; where there is not enough, on the largest face, whose art covers
/// them.
fn block_of_words(plan: &WrapPlan, lettering: Lettering) -> Vec<(Line, Affine)> {
    let sentences = sentences(plan);
    let mut holders: Vec<(Rect, Affine)> = wastes(plan);
    holders.sort_by(|(a, _), (b, _)| (b.width * b.height).total_cmp(&(a.width * a.height)));
    let largest = plan
        .net
        .faces
        .iter()
        .map(|f| f.rect)
        .max_by(|a, b| (a.width * a.height).total_cmp(&(b.width * b.height)));
    if let (Some(face), Some(place)) = (largest, plan.layout.places.first()) {
        // Below its name, which stands in the middle.
        let half = Rect { y: face.y + face.height / 2.0 + 2.0, height: face.height / 2.0 - 2.0, ..face };
        holders.push((half, place.sheet_from_net(plan.net.size)));
    }
    for (room, sheet_from) in holders {
        let lines = wrapped(&sentences, lettering, room.width - 2.0 * PADDING);
        if lines.is_empty() || lines.len() as f64 * LEADING + 2.0 * PADDING > room.height {
            continue;
        }
        let below = |(i, line): (usize, Line)| {
            let at = Affine::shift(room.x + PADDING, room.y + PADDING + (i as f64 + 0.8) * LEADING);
            (line, sheet_from * at)
        };
        return lines.into_iter().enumerate().map(below).collect();
    }
    Vec::new()
}

/// What the nets leave of the sheet on each side; strips that are higher than wide are read turned.
fn wastes(plan: &WrapPlan) -> Vec<(Rect, Affine)> {
    let rects = plan.layout.places.iter().map(|p| p.rect(plan.net.size));
    let (mut x0, mut y0, mut x1, mut y1) = (f64::MAX, f64::MAX, f64::MIN, f64::MIN);
    for r in rects {
        (x0, y0) = (x0.min(r.x), y0.min(r.y));
        (x1, y1) = (x1.max(r.x + r.width), y1.max(r.y + r.height));
    }
    let room = plan.room;
    let (right, foot) = (room.x + room.width, room.y + room.height);
    let strip = |x: f64, y: f64, width: f64, height: f64| Rect { x, y, width, height };
    let below = strip(room.x, y1, room.width, (foot - y1).max(0.0));
    let beside = strip(x1, room.y, (right - x1).max(0.0), room.height);
    let turned = |r: Rect| {
        let landscape = Rect { x: 0.0, y: 0.0, width: r.height, height: r.width };
        (landscape, Affine::shift(r.x + r.width, r.y) * Affine::turn(90.0))
    };
    vec![(below, Affine::IDENTITY), (beside, Affine::IDENTITY), turned(beside)]
}

/// Sentences broken into lines of at most this width; none when a word alone is wider.
fn wrapped(sentences: &[String], lettering: Lettering, width: f64) -> Vec<Line> {
    let lines = sentences.iter().flat_map(|s| lettering.wrapped(s, width, STYLE));
    let lines: Vec<Line> = lines.map(|line| lettering.line(&line, STYLE)).collect();
    if lines.iter().any(|line| line.width() > width) { Vec::new() } else { lines }
}
