//! What the press does, in order: the passes that print something, and how long the whole job takes.

use serde::{Deserialize, Serialize};

use slipsheet_core::words::count;
use slipsheet_document::layer::Layer;
use slipsheet_document::passes;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;

/// One passage of a stack through the press.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PressPass {
    /// The sheet of a booklet, from 0.
    pub sheet: usize,
    pub face: Face,
    /// Layers by their index in the project of that sheet ([`Printing::number`]), one a drum, in printing order.
    pub layers: Vec<usize>,
    pub inks: Vec<String>,
}

/// The passes of a job, front before back, in printing order; hidden layers are not printed, and on a sheet of a
/// booklet what has no artwork there needs no master.
///
/// Of a booklet the same inks print on sheet after sheet, so that drums are changed as seldom as can be.
pub fn press_passes(printing: &Printing) -> Vec<PressPass> {
    let ones: Vec<_> = (0..printing.sheet.printed_sheets()).map(|sheet| printing.number(sheet)).collect();
    let mut all = Vec::new();
    for (sheet, one) in ones.iter().enumerate() {
        for face in Face::BOTH {
            for layers in passes::passes(one, face) {
                let printed = layers.iter().filter_map(|i| Some((*i, one.sheet.layers.get(*i)?)));
                let printed = printed.filter(|(_, l)| is_printed(printing, l));
                let (layers, inks): (Vec<usize>, Vec<String>) =
                    printed.map(|(i, l)| (i, l.ink.name.clone())).unzip();
                if !layers.is_empty() {
                    all.push(PressPass { sheet, face, layers, inks });
                }
            }
        }
    }
    if ones.len() > 1 {
        let rank = |pass: &PressPass| {
            let (one, layer) = (ones.get(pass.sheet)?, pass.layers.first()?);
            printing.sheet.position(one.sheet.layers.get(*layer)?.id)
        };
        all.sort_by_cached_key(|pass| (pass.face, rank(pass), pass.layers.len()));
    }
    all
}

/// Whether a layer of a sheet ([`Printing::number`]) needs a master: it is shown, and on a sheet of a booklet has
/// artwork there.
pub fn is_printed(printing: &Printing, layer: &Layer) -> bool {
    layer.visible && (printing.sheet.booklet.is_none() || !layer.art.is_empty())
}

/// The sides that something is printed on, sheet by sheet, front before back.
pub fn printed_sides(printing: &Printing) -> Vec<(usize, Face)> {
    let sides = |sheet| {
        let one = printing.number(sheet);
        let printed = |face: &Face| one.sheet.on(*face).any(|(_, l)| is_printed(printing, l));
        Face::BOTH.into_iter().filter(printed).map(move |f| (sheet, f)).collect::<Vec<_>>()
    };
    (0..printing.sheet.printed_sheets()).flat_map(sides).collect()
}

/// The layers of a sheet (from 0; by their index in [`Printing::number`]) in the order in which its plates are
/// counted: plates, ticket and proof all count the inks of a sheet so, front before back.
pub fn plate_order(printing: &Printing, sheet: usize) -> Vec<usize> {
    press_passes(printing).into_iter().filter(|p| p.sheet == sheet).flat_map(|p| p.layers).collect()
}

/// Drums that must be fitted: those whose ink was not in the press in the pass before.
pub(crate) fn drums_fitted(passes: &[PressPass]) -> usize {
    let mut before: &[String] = &[];
    let mut fitted = 0;
    for pass in passes {
        fitted += pass.inks.iter().filter(|ink| !before.contains(ink)).count();
        before = &pass.inks;
    }
    fitted
}

/// What a step of the schedule is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum StepKind {
    /// Making masters, fitting drums, makeready.
    SetUp,
    Print,
    Dry,
    Hand,
}

/// One step, in minutes from the beginning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    pub kind: StepKind,
    pub what: String,
    pub from: f64,
    pub minutes: f64,
    /// Pass, from 1, where it belongs to one.
    pub pass: Option<usize>,
}

/// A job from the first master to the last sleeve.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Schedule {
    /// Steps in order.
    pub steps: Vec<Step>,
    /// Minutes from the first set-up to the end of printing, waits between passes included.
    pub slot_minutes: f64,
    /// Minutes that the machine is worked at.
    pub machine_minutes: f64,
    /// Minutes of work by hand.
    pub hand_minutes: f64,
    /// One sentence when the booked slot is too short.
    pub warning: Option<String>,
}

impl Schedule {
    /// The schedule of a job for its own terms.
    pub fn new(printing: &Printing) -> Self {
        let job = &printing.job;
        Self::of(printing, job.copies.saturating_add(job.overs), job.copies)
    }

    /// The schedule for a number of copies of every sheet that become a number of copies.
    pub fn of(printing: &Printing, sheets: u32, copies: u32) -> Self {
        Self::of_passes(printing, &press_passes(printing), sheets, copies)
    }

    /// The same for passes that are known.
    pub(crate) fn of_passes(printing: &Printing, passes: &[PressPass], sheets: u32, copies: u32) -> Self {
        let (job, prices) = (&printing.job, &printing.job.prices);
        let mut line = Line::default();
        let mut machine = 0.0;
        let mut before: &[String] = &[];
        // Face and end of the last print of each stack: one stack dries while another is printed.
        let mut printed: Vec<Option<(Face, f64)>> = vec![None; printing.sheet.printed_sheets()];
        for (i, pass) in passes.iter().enumerate() {
            let fresh = pass.inks.iter().filter(|ink| !before.contains(ink)).count() as f64;
            let set_up = prices.set_up_minutes.get()
                + fresh * prices.drum_minutes.get()
                + pass.inks.len() as f64 * prices.master_minutes.get();
            if let Some((face, ended)) = printed.get(pass.sheet).copied().flatten() {
                let turned = pass.face == Face::Back && face == Face::Front;
                let what = if turned { "Dry, then turn the stack over" } else { "Dry" };
                line.add(StepKind::Dry, what.to_owned(), job.drying.get() - (line.at - ended), Some(i + 1));
            }
            let side = pass.face.of_sheet(pass.sheet, printing.sheet.printed_sheets());
            let named = pass.inks.join(" + ");
            line.add(StepKind::SetUp, format!("Set up pass {}: {named}", i + 1), set_up, Some(i + 1));
            let print = f64::from(sheets) / printing.press.speed.get();
            line.add(
                StepKind::Print,
                format!("Print {}, {side}", count(sheets as usize, "sheet")),
                print,
                Some(i + 1),
            );
            machine += set_up + print;
            before = &pass.inks;
            if let Some(last) = printed.get_mut(pass.sheet) {
                *last = Some((pass.face, line.at));
            }
        }
        let slot = line.at;
        let hand_minutes = job.hand.per_copy(&printing.sheet.construction()) * f64::from(copies);
        if hand_minutes > 0.0 && !passes.is_empty() {
            line.add(StepKind::Dry, "Dry before folding".to_owned(), job.drying.get(), None);
        }
        for (name, each) in job.hand.steps(&printing.sheet.construction()) {
            if each > 0.0 {
                line.add(
                    StepKind::Hand,
                    format!("{name} {}", count(copies as usize, "copy")),
                    each * f64::from(copies),
                    None,
                );
            }
        }
        let booked = job.slot.get();
        let warning = (booked > 0.0 && slot > booked + 1e-9).then(|| {
            format!(
                "printing takes about {slot:.0} min with drying, but {booked:.0} min are booked; book longer, print fewer copies or take another day for the last passes"
            )
        });
        Self { steps: line.steps, slot_minutes: slot, machine_minutes: machine, hand_minutes, warning }
    }
}

#[derive(Default)]
struct Line {
    steps: Vec<Step>,
    at: f64,
}

impl Line {
    fn add(&mut self, kind: StepKind, what: String, minutes: f64, pass: Option<usize>) {
        if minutes > 0.0 {
            self.steps.push(Step { kind, what, from: self.at, minutes, pass });
            self.at += minutes;
        }
    }
}
