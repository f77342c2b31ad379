//! The passes of a job or of a series one after another, and what each needs: which drums are fitted and which masters
//! are made for it.
//!
//! A drum stays in the press from one pass to the next that prints its ink. A master stays on its drum until another
//! is made there, which lets the editions of a series share it ([`SeriesMasters`]); one ink has one drum (common
//! practice, no source).

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::press_pass::{PressPass, press_passes};
use slipsheet_document::printing::Printing;
use slipsheet_document::terms::SeriesMasters;
use slipsheet_paper::fold::Face;

/// In which order the passes of a series are printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum SeriesOrder {
    /// All passes of an edition before the next edition.
    #[default]
    EditionByEdition,
    /// The first pass of every edition, then the second of every one: inks that editions share are fitted once, and
    /// one stack dries while another is printed.
    PassByPass,
}

impl SeriesOrder {
    pub const ALL: [Self; 2] = [Self::EditionByEdition, Self::PassByPass];

    /// What the operator does.
    pub fn instruction(self) -> &'static str {
        match self {
            Self::EditionByEdition => "Print one edition after the other.",
            Self::PassByPass => {
                "Print the first pass of every edition, then the second of every edition, and so on."
            }
        }
    }
}

/// What is printed of a series in one edition.
#[derive(Debug, Clone)]
pub(crate) struct Part<'a> {
    /// Its name, where there are several.
    pub name: Option<&'a str>,
    pub printing: &'a Printing,
    pub passes: Vec<PressPass>,
    /// Sheets of each kind that are printed.
    pub run: u32,
    pub copies: u32,
}

impl<'a> Part<'a> {
    /// A job by itself, for a number of copies.
    pub fn single(printing: &'a Printing, run: u32, copies: u32) -> Self {
        Self { name: None, printing, passes: press_passes(printing), run, copies }
    }
}

/// A pass with what it needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct PassRun<'a> {
    /// Part of the series, from 0.
    pub part: usize,
    pub pass: &'a PressPass,
    /// Drums that are fitted.
    pub drums: usize,
    /// Masters that are made.
    pub masters: usize,
}

/// Which plate a master is of: the editions of a series have the same.
type Plate = (usize, Face, usize);

/// The passes of a series in an order.
pub(crate) fn sequence<'a>(
    parts: &'a [Part<'_>],
    order: SeriesOrder,
    masters: SeriesMasters,
) -> Vec<PassRun<'a>> {
    let named = |(i, part): (usize, &'a Part<'_>)| part.passes.iter().map(move |pass| (i, pass));
    let mut all: Vec<(usize, (usize, &PressPass))> =
        parts.iter().enumerate().flat_map(|part| named(part).enumerate()).collect();
    match order {
        SeriesOrder::EditionByEdition => {}
        // A stable order: the editions stay one after another within each pass.
        SeriesOrder::PassByPass => all.sort_by_key(|(number, _)| *number),
    }
    let mut in_press: &[String] = &[];
    let mut on_drums: BTreeMap<&str, Plate> = BTreeMap::new();
    let run = |(part, pass): (usize, &'a PressPass)| {
        let drums = pass.inks.iter().filter(|ink| !in_press.contains(ink)).count();
        in_press = &pass.inks;
        let mut made = 0;
        for (ink, layer) in pass.inks.iter().zip(&pass.layers) {
            let plate = (pass.sheet, pass.face, *layer);
            let before = on_drums.insert(ink, plate);
            made += usize::from(before != Some(plate) || masters == SeriesMasters::MadeAnew);
        }
        PassRun { part, pass, drums, masters: made }
    };
    all.into_iter().map(|(_, pass)| pass).map(run).collect()
}
