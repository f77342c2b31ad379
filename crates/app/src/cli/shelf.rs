//! The shelf that names on the command line are looked up on: the starter shelf, and a shelf file over it.

use std::path::{Path, PathBuf};

use anyhow::{Context as _, bail};
use clap::Args;
use slipsheet_core::ink::Ink;
use slipsheet_core::stock::Stock;
use slipsheet_document::shelf::Shelf;
use slipsheet_files::user_file;
use slipsheet_paper::fold::{self, Scheme};

/// Where inks, stocks and folds are looked up besides the starter shelf.
#[derive(Debug, Args)]
pub(super) struct ShelfArgs {
    /// Shelf file with your own inks, stocks and folds, as the window exports it, over the starter shelf
    #[arg(long, value_name = "SHELF.ron")]
    shelf: Option<PathBuf>,
}

impl ShelfArgs {
    /// The shelf.
    pub fn known(&self) -> anyhow::Result<Shelf> {
        let mut known = Shelf::starter()?;
        if let Some(path) = &self.shelf {
            known.merge(read(path)?);
        }
        Ok(known)
    }
}

/// A shelf file.
pub(super) fn read(path: &Path) -> anyhow::Result<Shelf> {
    let text = user_file::read_text(path, "shelf")?;
    Shelf::from_ron(&text).map_err(|e| {
        anyhow::anyhow!("{e}; export one under Inks and stocks in the window: {}", path.display())
    })
}

/// The stock of this name.
pub(super) fn stock(shelf: &Shelf, name: &str) -> anyhow::Result<Stock> {
    shelf.stock(name).cloned().with_context(|| {
        let names: Vec<&str> = shelf.stocks.iter().map(|s| s.name.as_str()).collect();
        format!("no stock has the name “{name}”; there are {}", names.join(", "))
    })
}

/// The ink of this name.
pub(super) fn ink(shelf: &Shelf, name: &str) -> anyhow::Result<Ink> {
    shelf.ink(name).cloned().with_context(|| {
        let names: Vec<&str> = shelf.inks.iter().map(|i| i.name.as_str()).collect();
        format!("no ink has the name “{name}”; there are {}", names.join(", "))
    })
}

/// The fold of this short name or, of the shelf's own, of this name; none for “none”.
pub(super) fn fold(shelf: &Shelf, name: &str) -> anyhow::Result<Option<Scheme>> {
    if name.eq_ignore_ascii_case("none") {
        return Ok(None);
    }
    let own = |s: &&Scheme| s.id.eq_ignore_ascii_case(name) || s.name.eq_ignore_ascii_case(name);
    let found = shelf.folds.iter().find(own).cloned().or_else(|| fold::find(&name.to_ascii_lowercase()));
    if found.is_none() {
        let shipped = fold::shipped()?;
        let list: Vec<String> =
            shipped.iter().chain(&shelf.folds).map(|s| format!("{} ({})", s.id, s.name)).collect();
        bail!("a fold is none, accordion3 to accordion16, or one of {}", list.join(", "));
    }
    Ok(found)
}
