//! Edits carried out. Each is tried on a copy, so that a refused one leaves the project as it was.

use super::{Edit, Made, ProjectEdit, Refusal, Step, Which};
use crate::project::{Project, WrapSheet};
use crate::sheet::Sheet;
use crate::shelf::Shelf;
use crate::wrap::WrapOrder;

/// Carries an edit out. The shelf gives a new layer its ink, and the project the measured overprints of its inks.
///
/// # Errors
/// See [`Refusal`]; the project is then as it was.
pub fn apply(project: &mut Project, edit: Edit, shelf: &Shelf) -> Result<Step, Refusal> {
    let mut changed = project.clone();
    let made = changed.carry_out(edit, shelf);
    // Numbers that a refused edit took are not given again either.
    project.ids.keep_above(changed.ids);
    let step = made?;
    changed.sheets_mut().for_each(Sheet::settle_passes);
    let overprints = std::mem::take(&mut changed.overprints);
    changed.sheets_mut().for_each(|sheet| sheet.settle_sources(&overprints));
    changed.overprints = overprints;
    debug_assert!(changed.check().is_ok(), "an edit left a project that contradicts itself: {step:?}");
    *project = changed;
    Ok(step)
}

impl Step {
    pub(super) fn new(label: &'static str) -> Self {
        Self { label, made: None }
    }

    pub(super) fn making(label: &'static str, made: Made) -> Self {
        Self { label, made: Some(made) }
    }
}

/// Sets one thing anew; what undo calls it comes back.
pub(super) fn set<T>(place: &mut T, value: T, label: &'static str) -> &'static str {
    *place = value;
    label
}

/// The most letters of a title.
const TITLE: usize = 200;

impl Project {
    fn carry_out(&mut self, edit: Edit, shelf: &Shelf) -> Result<Step, Refusal> {
        match edit {
            Edit::Project(edit) => self.edit(edit, shelf),
            Edit::Sheet(id, edit) => self.edit_sheet(id, edit, shelf),
            Edit::Layer(id, edit) => self.edit_layer(id, edit, shelf),
            Edit::Art(id, edit) => self.edit_art(id, edit),
            Edit::Edition(id, edit) => self.edit_edition(id, edit, shelf),
            Edit::Source(id, edit) => self.edit_source(id, edit, shelf),
        }
    }

    fn edit(&mut self, edit: ProjectEdit, shelf: &Shelf) -> Result<Step, Refusal> {
        Ok(Step::new(match edit {
            ProjectEdit::Title(title) => {
                self.title = title.chars().take(TITLE).collect();
                "Change the title"
            }
            ProjectEdit::PressDpi(dpi) => set(&mut self.press_dpi, dpi, "Change the press's resolution"),
            ProjectEdit::Press(press) => {
                if let Some(trouble) = slipsheet_core::press::panel::trouble(&press.density_steps) {
                    return Err(Refusal::Press(trouble));
                }
                set(&mut self.press, *press, "Change the press")
            }
            ProjectEdit::Terms(terms) => set(&mut self.job, *terms, "Change the job"),
            ProjectEdit::Book { copies, overs } => {
                self.book(copies, overs);
                "Book copies"
            }
            ProjectEdit::Acceptance(acceptance) => {
                set(&mut self.acceptance, acceptance, "Change what would sell")
            }
            ProjectEdit::GiveWrap(order) => self.give_wrap(*order)?,
            ProjectEdit::RemoveWrap => set(&mut self.wrap, None, "Remove the wrap"),
            ProjectEdit::ScanPaths(paths) => {
                for art in self.every_art_mut() {
                    if let Some((_, path)) = paths.iter().find(|(sha256, _)| art.scan.key.sha256 == *sha256) {
                        art.scan.path.clone_from(path);
                    }
                }
                "Change where scans are"
            }
            ProjectEdit::ScansChanged(changes) => {
                for art in self.every_art_mut() {
                    if let Some((_, size, now)) = changes.iter().find(|(was, _, _)| art.scan.key == *was) {
                        (art.scan.size, art.scan.key) = (*size, now.clone());
                    }
                }
                "Accept changed scans"
            }
            ProjectEdit::Measured(inks, stocks) => {
                for (id, ink) in inks {
                    self.layer_mut(id).ok_or(Refusal::Gone(Which::Layer))?.ink = ink;
                }
                for (id, stock) in stocks {
                    self.sheet_mut(id)?.stock = stock;
                }
                self.take_overprints(shelf, true);
                "Use a calibration"
            }
            ProjectEdit::TakeOverprints => {
                self.take_overprints(shelf, true);
                "Change measured overprints"
            }
            ProjectEdit::DropOverprint(gone) => {
                self.overprints.retain(|s| (&s.inks, &s.stock) != (&gone.inks, &gone.stock));
                "Change measured overprints"
            }
        }))
    }

    fn give_wrap(&mut self, order: WrapOrder) -> Result<&'static str, Refusal> {
        self.plan_wrap(&order)?;
        let WrapOrder { wrap, format, landscape, stock } = order;
        Sheet::new(self.main.id, format, stock.clone()).check().map_err(Refusal::Sheet)?;
        match &mut self.wrap {
            Some(known) => {
                known.wrap = wrap;
                (known.sheet.format, known.sheet.landscape, known.sheet.stock) = (format, landscape, stock);
                Ok("Change the wrap")
            }
            None => {
                let sheet = Sheet { landscape, ..Sheet::new(self.ids.sheet(), format, stock) };
                self.wrap = Some(Box::new(WrapSheet { wrap, sheet }));
                Ok("Give the wrap a sheet")
            }
        }
    }
}
