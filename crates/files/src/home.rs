//! The person's own folder: settings, the shelf, and recovery copies of work that was not saved.

use std::fs::File;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use slipsheet_document::project::Project;
use slipsheet_document::shelf::Shelf;

use crate::atomic::{self, WriteError};
use crate::pack::PackChoices;

/// How many projects the recent list holds.
const RECENT: usize = 10;

/// What rulers and read-outs show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum LengthUnit {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches.
    Inch,
}

/// Light or dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Theme {
    /// As the desktop has it.
    #[default]
    System,
    /// Dark letters on light.
    Light,
    /// Light letters on dark.
    Dark,
}

/// Settings that outlive a session.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// Projects opened lately, latest first.
    pub recent: Vec<PathBuf>,
    /// Unit of lengths on screen.
    pub unit: LengthUnit,
    /// Light or dark.
    pub theme: Theme,
    /// How packs are made.
    pub pack: PackChoices,
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
    /// The recovery file.
    pub file: PathBuf,
    /// The project file, where there was one.
    pub project_path: Option<PathBuf>,
    /// The work.
    pub project: Project,
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

    /// The folder itself.
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// The settings, or the defaults where none can be read.
    pub fn settings(&self) -> Settings {
        self.read_settings().unwrap_or_default()
    }

    /// The settings, or the defaults. A file that cannot be read is kept aside and its trouble returned.
    pub fn settings_or_trouble(&self) -> (Settings, Option<String>) {
        match self.read_settings() {
            Ok(settings) => (settings, None),
            Err(why) => {
                let place = kept_aside(&self.dir.join("settings.ron"));
                let trouble = format!(
                    "your settings could not be read ({why}); the usual ones are used, and yours are kept as {}",
                    place.display()
                );
                (Settings::default(), Some(trouble))
            }
        }
    }

    fn read_settings(&self) -> Result<Settings, String> {
        match std::fs::read_to_string(self.dir.join("settings.ron")) {
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(Settings::default()),
            Err(e) => Err(e.to_string()),
            Ok(text) => ron::from_str(&text).map_err(|e| e.to_string()),
        }
    }

    /// Writes the settings.
    ///
    /// # Errors
    /// When the folder cannot be written.
    pub fn save_settings(&self, settings: &Settings) -> Result<(), WriteError> {
        self.write(&self.dir.join("settings.ron"), ron::to_string(settings).ok())
    }

    /// The shelf, or the starter shelf. A file that cannot be read is kept aside and its trouble returned.
    pub fn shelf(&self) -> (Shelf, Option<String>) {
        let path = self.dir.join("shelf.ron");
        let starter = || Shelf::starter().unwrap_or_default();
        let why = match std::fs::read_to_string(&path) {
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return (starter(), None),
            Err(e) => e.to_string(),
            Ok(text) => match Shelf::from_ron(&text) {
                Ok(shelf) => return (shelf, None),
                Err(e) => e.to_string(),
            },
        };
        let place = kept_aside(&path);
        let trouble = format!(
            "your shelf could not be read ({why}); the starter shelf is used, and yours is kept as {}",
            place.display()
        );
        (starter(), Some(trouble))
    }

    /// Writes the shelf.
    ///
    /// # Errors
    /// When the folder cannot be written.
    pub fn save_shelf(&self, shelf: &Shelf) -> Result<(), WriteError> {
        self.write(&self.dir.join("shelf.ron"), shelf.to_ron().ok())
    }

    /// A place of one's own for recovery copies, held as long as the claim lives.
    pub fn claim_recovery(&self) -> Option<RecoveryClaim> {
        let folder = self.dir.join("recovery");
        std::fs::create_dir_all(&folder).ok()?;
        (0..1000).find_map(|n| {
            let lock =
                File::options().create(true).append(true).open(folder.join(format!("{n}.lock"))).ok()?;
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
    ) -> Result<(), WriteError> {
        let note = noted(project_path);
        self.write(&claim.file, project.to_ron().ok().map(|text| format!("{note}\n{text}")))
    }

    /// Removes one's own recovery copy, if there is one.
    pub fn drop_recovery(&self, claim: &RecoveryClaim) {
        self.drop_recovered(&claim.file);
    }

    /// Removes one recovery copy.
    pub fn drop_recovered(&self, file: &Path) {
        match std::fs::remove_file(file) {
            // Nothing there is what was wanted; anything else shows as the copy being offered again.
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
                let text = std::fs::read_to_string(&file).ok()?;
                let project_path = path_noted(text.lines().next()?)?;
                let project = Project::from_ron(&text).ok()?;
                Some((entry.metadata().ok()?.modified().ok()?, Recovered { file, project_path, project }))
            })
            .collect();
        found.sort_by_key(|(time, _)| *time);
        found.into_iter().map(|(_, r)| r).collect()
    }

    /// Writes a file of the home; text that could not be made leaves the old file alone.
    fn write(&self, path: &Path, text: Option<String>) -> Result<(), WriteError> {
        let Some(text) = text else { return Ok(()) };
        if let Some(folder) = path.parent() {
            // A folder that cannot be made shows as the write failing, with a sentence of its own.
            match std::fs::create_dir_all(folder) {
                Ok(()) | Err(_) => {}
            }
        }
        atomic::write_bytes(path, text.as_bytes())
    }
}

/// Gives a file that cannot be read another name, in place of none that was kept before; where it is now.
fn kept_aside(path: &Path) -> PathBuf {
    let numbered = (2..1000).map(|n| path.with_extension(format!("ron.unreadable{n}")));
    let mut names = std::iter::once(path.with_extension("ron.unreadable")).chain(numbered);
    let aside = names.find(|name| !name.exists());
    aside.filter(|aside| std::fs::rename(path, aside).is_ok()).unwrap_or_else(|| path.to_owned())
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
mod tests {
    use super::*;
    use slipsheet_core::units::SheetFormat;

    fn home() -> (tempfile::TempDir, Home) {
        let dir = tempfile::tempdir().unwrap();
        let home = Home::new(dir.path().join("new"));
        (dir, home)
    }

    #[test]
    fn settings_and_shelf_come_back() {
        let (_dir, home) = home();
        assert_eq!(home.settings(), Settings::default());
        let mut settings = Settings { unit: LengthUnit::Inch, ..Settings::default() };
        for i in 0..12 {
            settings.opened(Path::new(&format!("/p/{i}.slipsheet")));
        }
        settings.opened(Path::new("/p/5.slipsheet"));
        home.save_settings(&settings).unwrap();
        let back = home.settings();
        assert_eq!((back.recent.len(), back.recent[0].as_path()), (10, Path::new("/p/5.slipsheet")));
        let (mut shelf, trouble) = home.shelf();
        assert!(trouble.is_none());
        shelf.inks.truncate(2);
        home.save_shelf(&shelf).unwrap();
        assert_eq!(home.shelf().0, shelf);
    }

    #[test]
    fn an_unreadable_shelf_is_kept_aside() {
        let (_dir, home) = home();
        home.save_shelf(&Shelf::default()).unwrap();
        std::fs::write(home.dir().join("shelf.ron"), "(inks: [oh no").unwrap();
        let (shelf, trouble) = home.shelf();
        assert!(shelf.inks.len() > 10 && trouble.unwrap().contains("kept as"));
        assert!(home.dir().join("shelf.ron.unreadable").exists());
    }

    #[test]
    fn unreadable_settings_are_kept_aside_each_time_with_a_word() {
        let (_dir, home) = home();
        assert_eq!(home.settings_or_trouble(), (Settings::default(), None));
        home.save_settings(&Settings { unit: LengthUnit::Inch, ..Settings::default() }).unwrap();
        assert_eq!(home.settings_or_trouble().0.unit, LengthUnit::Inch);
        for broken in ["(unit: Furlong)", "(unit: Ell)"] {
            std::fs::write(home.dir().join("settings.ron"), broken).unwrap();
            let (settings, trouble) = home.settings_or_trouble();
            let trouble = trouble.unwrap();
            assert!(settings == Settings::default() && trouble.contains("kept as"), "{trouble}");
            let kept = PathBuf::from(trouble.split("kept as ").nth(1).unwrap());
            assert_eq!(std::fs::read_to_string(kept).unwrap(), broken);
        }
        assert_eq!(home.settings_or_trouble(), (Settings::default(), None), "once");
    }

    #[test]
    fn work_on_a_project_whose_path_breaks_the_line_is_offered() {
        let (_dir, home) = home();
        let stock = Shelf::starter().unwrap().stocks[0].clone();
        let project = Project::new("Half done", SheetFormat::A3, stock);
        for path in [
            "/z/two\nlines.slipsheet",
            "/z/a\r\n\"b\"\\n.slipsheet",
            "/z/été 黒.slipsheet",
            "C:\\new\\a.slipsheet",
        ] {
            let claim = home.claim_recovery().unwrap();
            home.save_recovery(&claim, Some(Path::new(path)), &project).unwrap();
            drop(claim);
            let left = home.recoverable();
            assert_eq!((left.len(), left[0].project_path.as_deref()), (1, Some(Path::new(path))));
            assert_eq!(left[0].project, project);
            home.drop_recovered(&left[0].file);
        }
        // A copy as earlier versions wrote it.
        let claim = home.claim_recovery().unwrap();
        let file = home.dir().join("recovery/0.recovery");
        std::fs::write(&file, format!("// C:\\new\\a.slipsheet\n{}", project.to_ron().unwrap())).unwrap();
        drop(claim);
        let left = home.recoverable();
        assert_eq!(left[0].project_path.as_deref(), Some(Path::new("C:\\new\\a.slipsheet")));
    }

    #[test]
    fn a_shelf_that_is_not_text_is_kept_aside_too() {
        let (_dir, home) = home();
        home.save_shelf(&Shelf::default()).unwrap();
        std::fs::write(home.dir().join("shelf.ron"), b"(inks: [\xff\xfe])").unwrap();
        assert!(home.shelf().1.is_some());
        assert!(home.dir().join("shelf.ron.unreadable").exists());
    }

    #[test]
    fn a_crash_leaves_a_copy_and_a_running_program_keeps_its_own() {
        let (_dir, home) = home();
        let stock = Shelf::starter().unwrap().stocks[0].clone();
        let project = Project::new("Half done", SheetFormat::A3, stock);
        let crashed = home.claim_recovery().unwrap();
        home.save_recovery(&crashed, Some(Path::new("/z/half.slipsheet")), &project).unwrap();
        let running = home.claim_recovery().unwrap();
        home.save_recovery(&running, None, &project).unwrap();
        assert!(home.recoverable().is_empty(), "both are running");
        drop(crashed);
        let left = home.recoverable();
        assert_eq!(left.len(), 1);
        let path = Path::new("/z/half.slipsheet");
        assert_eq!((left[0].project_path.as_deref(), &left[0].project), (Some(path), &project));
        // A new program does not take the place of what was left.
        let newcomer = home.claim_recovery().unwrap();
        home.save_recovery(&newcomer, None, &project).unwrap();
        assert_eq!(home.recoverable().len(), 1);
        home.drop_recovered(&left[0].file);
        assert!(home.recoverable().is_empty());
    }
}
