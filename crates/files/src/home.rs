//! The person's own folder: settings, the shelf, and recovery copies of work that was not saved.

use std::fmt::Display;
use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::project::Project;
use slipsheet_document::shelf::Shelf;

use crate::atomic::{self, WriteError};
use crate::log_file::logged;
use crate::pack::PackChoices;
use crate::store::Masks;

const SETTINGS: &str = "settings.ron";
const SHELF: &str = "shelf.ron";

/// How many projects the recent list holds.
const RECENT: usize = 10;

/// What rulers and read-outs show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum LengthUnit {
    #[default]
    Mm,
    /// Inches.
    Inch,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Theme {
    #[default]
    System,
    Light,
    Dark,
}

/// Settings that outlive a session.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// Projects opened lately, latest first.
    pub recent: Vec<PathBuf>,
    pub unit: LengthUnit,
    pub theme: Theme,
    pub pack: PackChoices,
    /// What new projects accept.
    pub acceptance: Acceptance,
}

impl Settings {
    /// Puts a project at the head of the recent list.
    pub fn opened(&mut self, path: &Path) {
        self.recent.retain(|p| p != path);
        self.recent.insert(0, path.to_owned());
        self.recent.truncate(RECENT);
    }
}

/// A recovery copy: the project as it was, and the file it belongs to.
#[derive(Debug, Clone, PartialEq)]
pub struct Recovered {
    pub file: PathBuf,
    pub project_path: Option<PathBuf>,
    pub project: Project,
    /// The masks of its scans that were not beside the project.
    pub masks: Masks,
}

/// A running program's place for recovery copies. The system lets go of it when the program ends, however
/// it ends, so that what is left there can be offered.
#[derive(Debug)]
pub struct RecoveryClaim {
    file: PathBuf,
    _lock: File,
}

/// The person's folder. It need not exist; reading then gives the defaults.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Home {
    dir: PathBuf,
}

impl Home {
    /// A home in this folder.
    pub fn new(dir: PathBuf) -> Self {
        Self { dir }
    }

    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// The file of what failed without stopping anything.
    pub fn log_file(&self) -> PathBuf {
        self.dir.join("slipsheet.log")
    }

    /// The settings, or the defaults. A file that cannot be read is kept aside and its trouble returned.
    pub fn settings(&self) -> (Settings, Option<String>) {
        let read = self.read(SETTINGS, read_settings);
        let (settings, why) = read.map_or_else(|why| (None, Some(why)), |settings| (settings, None));
        let problem = |why| {
            format!(
                "your settings could not be read ({why}); the usual ones are used, {}",
                self.kept(SETTINGS)
            )
        };
        (settings.unwrap_or_default(), why.map(problem))
    }

    /// Writes the settings, but over no file that cannot be read.
    ///
    /// # Errors
    /// When the folder cannot be written.
    pub fn save_settings(&self, settings: &Settings) -> Result<(), WriteError> {
        self.replace(SETTINGS, ron::to_string(settings), read_settings)
    }

    /// The shelf, or the starter shelf. A file that cannot be read is kept aside and its trouble returned.
    pub fn shelf(&self) -> (Shelf, Option<String>) {
        let read = self.read(SHELF, Shelf::from_ron);
        let (shelf, why) = read.map_or_else(|why| (None, Some(why)), |shelf| (shelf, None));
        let problem = |why| {
            format!("your shelf could not be read ({why}); the starter shelf is used, {}", self.kept(SHELF))
        };
        let starter = || logged("the starter shelf", Shelf::starter()).unwrap_or_default();
        (shelf.unwrap_or_else(starter), why.map(problem))
    }

    /// Writes the shelf, but over no file that cannot be read.
    ///
    /// # Errors
    /// When the folder cannot be written.
    pub fn save_shelf(&self, shelf: &Shelf) -> Result<(), WriteError> {
        self.replace(SHELF, shelf.to_ron(), Shelf::from_ron)
    }

    /// What a file of the home holds, if there is one; or why it cannot be read.
    fn read<T, E: Display>(
        &self,
        name: &str,
        read: impl FnOnce(&str) -> Result<T, E>,
    ) -> Result<Option<T>, String> {
        match std::fs::read_to_string(self.dir.join(name)) {
            Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(e) => Err(e.to_string()),
            Ok(text) => read(&text).map(Some).map_err(|e| e.to_string()),
        }
    }

    /// Keeps a file aside that cannot be read, and says where it is now.
    fn kept(&self, name: &str) -> String {
        let path = self.dir.join(name);
        match kept_aside(&path) {
            Ok(aside) => format!("and yours are kept as {}", aside.display()),
            Err(e) => {
                format!("and nothing is saved over yours, which could not be moved ({e}): {}", path.display())
            }
        }
    }

    /// Writes a file of the home. One that cannot be read is kept aside first, or else stays as it is.
    fn replace<T, E: Display, F: Display>(
        &self,
        name: &str,
        text: Result<String, F>,
        read: impl FnOnce(&str) -> Result<T, E>,
    ) -> Result<(), WriteError> {
        let path = self.dir.join(name);
        if self.read(name, read).is_err() {
            kept_aside(&path).map_err(|e| WriteError::from_io(&path, e))?;
        }
        self.write(&path, text)
    }

    /// A place of one's own for recovery copies, held as long as the claim lives.
    pub fn claim_recovery(&self) -> Option<RecoveryClaim> {
        let folder = self.dir.join("recovery");
        logged("a place for recovery copies", std::fs::create_dir_all(&folder))?;
        (0..1000).find_map(|n| {
            let lock = File::options().create(true).append(true).open(folder.join(format!("{n}.lock")));
            let lock = logged("a place for recovery copies", lock)?;
            let file = folder.join(format!("{n}.recovery"));
            // Work that a program left behind must be offered first; its place is not used again before that.
            (lock.try_lock().is_ok() && !file.exists()).then_some(RecoveryClaim { file, _lock: lock })
        })
    }

    /// Writes a recovery copy of work that is not saved.
    ///
    /// # Errors
    /// When the folder cannot be written.
    pub fn save_recovery(
        &self,
        claim: &RecoveryClaim,
        project_path: Option<&Path>,
        project: &Project,
        masks: &Masks,
    ) -> Result<(), WriteError> {
        masks.used(project, project_path).write_beside(&claim.file)?;
        let note = noted(project_path);
        self.write(&claim.file, project.to_ron().map(|text| format!("{note}\n{text}")))
    }

    /// Removes one's own recovery copy, if there is one.
    pub fn drop_recovery(&self, claim: &RecoveryClaim) {
        self.drop_recovered(&claim.file);
    }

    /// Removes one recovery copy.
    pub fn drop_recovered(&self, file: &Path) {
        match std::fs::remove_file(file) {
            // Nothing there is what was wanted; anything else shows as the copy being offered again.
            Err(e) if e.kind() != io::ErrorKind::NotFound => log::warn!("a recovery copy stays: {e}"),
            Ok(()) | Err(_) => {}
        }
        self.drop_masks();
    }

    /// Removes the masks of recovery copies once no copy is left that may need one.
    fn drop_masks(&self) {
        let folder = self.dir.join("recovery");
        let Ok(entries) = std::fs::read_dir(&folder) else { return };
        let left = entries.flatten().any(|e| e.path().extension().is_some_and(|e| e == "recovery"));
        if left {
            return;
        }
        match std::fs::remove_dir_all(folder.join("masks")) {
            Err(e) if e.kind() != io::ErrorKind::NotFound => log::warn!("masks of recovery copies stay: {e}"),
            Ok(()) | Err(_) => {}
        }
    }

    /// Recovery copies whose place no running program holds, oldest first.
    pub fn recoverable(&self) -> Vec<Recovered> {
        let Ok(entries) = std::fs::read_dir(self.dir.join("recovery")) else { return Vec::new() };
        let mut found: Vec<(std::time::SystemTime, Recovered)> = entries
            .flatten()
            .filter_map(|entry| {
                let file = entry.path();
                if file.extension()? != "recovery" || is_held(&file.with_extension("lock")) {
                    return None;
                }
                let text = logged("a recovery copy", std::fs::read_to_string(&file))?;
                let project_path = path_noted(text.lines().next()?)?;
                let project = logged("a recovery copy", Project::from_ron(&text))?;
                let masks = Masks::default().used(&project, Some(&file));
                let recovered = Recovered { file, project_path, project, masks };
                Some((entry.metadata().ok()?.modified().ok()?, recovered))
            })
            .collect();
        found.sort_by_key(|(time, _)| *time);
        found.into_iter().map(|(_, r)| r).collect()
    }

    fn write<E: Display>(&self, path: &Path, text: Result<String, E>) -> Result<(), WriteError> {
        let text = text.map_err(|e| WriteError::from_io(path, io::Error::other(e.to_string())))?;
        if let Some(folder) = path.parent() {
            // A folder that cannot be made shows as the write failing, with a sentence of its own.
            match std::fs::create_dir_all(folder) {
                Ok(()) | Err(_) => {}
            }
        }
        atomic::write_bytes(path, text.as_bytes())
    }
}

fn read_settings(text: &str) -> Result<Settings, ron::error::SpannedError> {
    ron::from_str(text)
}

/// Gives a file that cannot be read another name, in place of none that was kept before; where it is now.
fn kept_aside(path: &Path) -> io::Result<PathBuf> {
    let numbered = (2..1000).map(|n| path.with_extension(format!("ron.unreadable{n}")));
    let mut names = std::iter::once(path.with_extension("ron.unreadable")).chain(numbered);
    let aside = names.find(|name| !name.exists()).ok_or(io::ErrorKind::AlreadyExists)?;
    std::fs::rename(path, &aside)?;
    Ok(aside)
}

/// What the first line of a recovery copy begins with. The path after it is in quotes, with what would break the
/// line written as text has it; copies of earlier versions have the bare path behind two strokes.
const QUOTED: &str = "//= ";

/// The first line of a recovery copy: whose work it is.
fn noted(project_path: Option<&Path>) -> String {
    let path = project_path.map(|p| p.display().to_string()).unwrap_or_default();
    match ron::to_string(&path) {
        Ok(quoted) if quoted.lines().count() == 1 => format!("{QUOTED}{quoted}"),
        Ok(_) | Err(_) => "// ".to_owned(),
    }
}

/// The path of such a line, where the work has one; none where it is no such line.
#[expect(clippy::option_option, reason = "a line that is none, and work that has no path, are two things")]
fn path_noted(line: &str) -> Option<Option<PathBuf>> {
    let path = match line.strip_prefix(QUOTED) {
        Some(quoted) => ron::from_str::<String>(quoted).ok()?,
        None => line.strip_prefix("// ")?.to_owned(),
    };
    Some((!path.is_empty()).then(|| PathBuf::from(path)))
}

/// Whether a running program holds this lock.
fn is_held(lock: &Path) -> bool {
    File::options().append(true).open(lock).is_ok_and(|file| file.try_lock().is_err())
}

#[cfg(test)]
mod tests;
