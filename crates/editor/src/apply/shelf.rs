//! Changes to the person's shelf. They are written at once and are not part of a project's history.

use std::path::Path;

use slipsheet_core::ink::{Ink, OverprintSwatch};
use slipsheet_core::press::Press;
use slipsheet_core::stock::Stock;
use slipsheet_core::words::count;
use slipsheet_document::edit::{Edit, ProjectEdit};
use slipsheet_document::shelf::Shelf;
use slipsheet_document::terms::PriceList;
use slipsheet_files::press_file;

use super::Applied;
use crate::notice::Notice;
use crate::refused::RequestError;
use crate::request::{Effect, ShelfChange};
use crate::session::Session;

impl Session {
    pub(super) fn change_shelf(&mut self, change: ShelfChange) -> Applied {
        match change {
            ShelfChange::Ink(at, ink) => {
                let name = checked_name(&ink.name, at, self.shelf.inks.iter().map(|i| i.name.as_str()))?;
                put(&mut self.shelf.inks, at, Ink { name, ..ink });
            }
            ShelfChange::CopyInk(i) => {
                let Some(ink) = self.shelf.inks.get(i) else { return Ok(vec![]) };
                let name = Shelf::free_name(&ink.name, self.shelf.inks.iter().map(|i| i.name.as_str()));
                let copy = Ink { name, ..ink.clone() };
                self.shelf.inks.insert(i + 1, copy);
            }
            ShelfChange::RemoveInk(i) if i < self.shelf.inks.len() => {
                self.shelf.inks.remove(i);
            }
            ShelfChange::Stock(at, stock) => {
                let name = checked_name(&stock.name, at, self.shelf.stocks.iter().map(|s| s.name.as_str()))?;
                put(&mut self.shelf.stocks, at, Stock { name, ..stock });
            }
            ShelfChange::CopyStock(i) => {
                let Some(stock) = self.shelf.stocks.get(i) else { return Ok(vec![]) };
                let name = Shelf::free_name(&stock.name, self.shelf.stocks.iter().map(|s| s.name.as_str()));
                let copy = Stock { name, ..stock.clone() };
                self.shelf.stocks.insert(i + 1, copy);
            }
            ShelfChange::RemoveStock(i) if i < self.shelf.stocks.len() => {
                self.shelf.stocks.remove(i);
            }
            ShelfChange::Overprint(at, swatch) => {
                if swatch.inks.len() < 2 {
                    return Err(RequestError::OneInk);
                }
                let same = |s: &OverprintSwatch| s.inks == swatch.inks && s.stock == swatch.stock;
                if self.shelf.overprints.iter().enumerate().any(|(i, s)| Some(i) != at && same(s)) {
                    return Err(RequestError::OverprintKnown);
                }
                put(&mut self.shelf.overprints, at, swatch);
                // The shelf's word is the newest.
                self.edit(Edit::Project(ProjectEdit::TakeOverprints))?;
            }
            ShelfChange::RemoveOverprint(i) if i < self.shelf.overprints.len() => {
                let gone = self.shelf.overprints.remove(i);
                self.edit(Edit::Project(ProjectEdit::DropOverprint(gone)))?;
            }
            ShelfChange::RemoveInk(_) | ShelfChange::RemoveStock(_) | ShelfChange::RemoveOverprint(_) => {
                return Ok(vec![]);
            }
            ShelfChange::Prices(list) => {
                let same = |p: &PriceList| p.name == list.name;
                self.shelf.prices.retain(|p| !same(p));
                self.shelf.prices.push(list);
                self.tell(Notice::note("The prices are saved on the shelf for the next job."));
            }
            ShelfChange::Press(press) => {
                let name = press.name.trim().to_owned();
                if name.is_empty() {
                    return Err(RequestError::NameEmpty);
                }
                let at = self.shelf.presses.iter().position(|p| p.name == name);
                self.tell(Notice::note(format!("The press “{name}” is on the shelf for the next job.")));
                put(&mut self.shelf.presses, at, Press { name, ..*press });
            }
            ShelfChange::RemovePress(name) => self.shelf.presses.retain(|p| p.name != name),
            ShelfChange::Fold(fold) => {
                fold.check()?;
                let at = self.shelf.folds.iter().position(|f| f.id == fold.id);
                let name = checked_name(&fold.name, at, self.shelf.folds.iter().map(|f| f.name.as_str()))?;
                put(&mut self.shelf.folds, at, slipsheet_paper::fold::Scheme { name, ..*fold });
            }
            ShelfChange::RemoveFold(id) => self.shelf.folds.retain(|f| f.id != id),
            ShelfChange::Import(path) => {
                let text = slipsheet_files::user_file::read_text(&path, "shelf")?;
                let other = Shelf::from_ron(&text).map_err(|why| RequestError::Shelf { why, path })?;
                let (inks, stocks, folds) = (other.inks.len(), other.stocks.len(), other.folds.len());
                self.shelf.merge(other);
                // The shelf's word is the newest.
                self.edit(Edit::Project(ProjectEdit::TakeOverprints))?;
                let folds = if folds > 0 { format!(" and {}", count(folds, "fold")) } else { String::new() };
                self.tell(Notice::note(format!(
                    "Imported {} and {}{folds}.",
                    count(inks, "ink"),
                    count(stocks, "stock")
                )));
            }
        }
        Ok(vec![Effect::SaveShelf])
    }

    /// Makes the press of a profile the project's, as one step of history.
    pub(super) fn import_press(&mut self, path: &Path) -> Applied {
        let press = press_file::read(path)?;
        let told = format!("The press is “{}” now; its figures are {}.", press.name, press.standing());
        // A field that is still typed in is a step of its own.
        let now = self.state();
        self.history.close(&now);
        let effects = self.edit(Edit::Project(ProjectEdit::Press(Box::new(press))))?;
        self.tell(Notice::note(told));
        Ok(effects)
    }
}

fn put<T>(all: &mut Vec<T>, at: Option<usize>, item: T) {
    match at.and_then(|i| all.get_mut(i)) {
        Some(old) => *old = item,
        None => all.push(item),
    }
}

/// A name without spaces around it that nothing else on the list has.
fn checked_name<'a>(
    name: &str,
    at: Option<usize>,
    taken: impl Iterator<Item = &'a str>,
) -> Result<String, RequestError> {
    let name = name.trim();
    if name.is_empty() {
        return Err(RequestError::NameEmpty);
    }
    if taken.enumerate().any(|(i, t)| Some(i) != at && t.eq_ignore_ascii_case(name)) {
        return Err(RequestError::NameTaken(name.to_owned()));
    }
    Ok(name.to_owned())
}
