//! Findings on the sheets of a booklet: every sheet is looked at as a project of its own, and each sentence says on
//! which one something was found.

use rayon::prelude::*;

use super::pages::{empty_finding, inked_pages, loaded};
use super::{Finding, Kind, on_one_sheet};
use slipsheet_document::printing::Printing;
use slipsheet_paper::booklet::Booklet;
use slipsheet_render::images::Images;

pub(super) fn findings(printing: &Printing, booklet: &Booklet, images: &Images) -> Vec<Finding> {
    let of_sheet = |sheet: usize| {
        let mut one = printing.number(sheet).into_owned();
        let empty = empty_pages(&one, booklet, images);
        // What has nothing on this sheet need not be looked at.
        one.sheet.layers.iter_mut().filter(|l| l.art.is_empty()).for_each(|l| l.visible = false);
        let found = on_one_sheet(&one, images);
        found.into_iter().chain(empty).map(|f| (sheet, f)).collect::<Vec<_>>()
    };
    let all: Vec<(usize, Finding)> =
        (0..printing.sheet.printed_sheets()).into_par_iter().flat_map_iter(of_sheet).collect();
    let mut findings: Vec<(usize, Finding)> = Vec::new();
    for (sheet, finding) in all {
        // Screens beat alike on every sheet.
        let known = |(_, f): &(usize, Finding)| f.kind == Kind::Beat && f.sentence == finding.sentence;
        if !findings.iter().any(known) {
            findings.push((sheet, finding));
        }
    }
    findings.into_iter().map(|(sheet, f)| if f.kind == Kind::Beat { f } else { f.on_sheet(sheet) }).collect()
}

/// One finding for the pages of a sheet that no ink reaches; pages that were added to fill it up are blank by design.
fn empty_pages(one: &Printing, booklet: &Booklet, images: &Images) -> Option<Finding> {
    if !loaded(one, images) {
        return None;
    }
    let empty = inked_pages(one, images).into_iter().filter(|(page, inked)| !inked && *page <= booklet.pages);
    empty_finding(empty.map(|(page, _)| page).collect())
}
