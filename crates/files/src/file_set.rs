//! Files that belong together, written into a folder that may hold anything else besides: all of them appear, or
//! none does and what was there before stays.

use std::fs::{self, File};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::atomic::{self, WriteError};
use crate::litter;

/// What the names of folders that are being filled begin with.
const BEGINNING: &str = ".slipsheet-set-";
/// Where files that are replaced are kept until all of the set is in its place.
const BACKUP: &str = ".before";

/// A set that is being written: in a hidden folder within the one that the files are for.
#[derive(Debug)]
pub struct FileSet {
    folder: PathBuf,
    /// Gone once the set is dropped, so that the folder itself can go.
    stage: Option<TempDir>,
    _held: Option<File>,
    /// Folders that were made for it, the deepest first.
    made: Vec<PathBuf>,
}

impl FileSet {
    /// A set for this folder, which is made where it is missing; it goes again if nothing comes to be in it.
    ///
    /// # Errors
    /// When the folder cannot be made or written to.
    pub fn for_folder(folder: &Path) -> Result<Self, WriteError> {
        let missing = |f: &&Path| !f.as_os_str().is_empty() && fs::symlink_metadata(f).is_err();
        let made = folder.ancestors().take_while(missing).map(Path::to_path_buf).collect();
        let failed = |e| WriteError::from_io(folder, e);
        fs::create_dir_all(folder).map_err(|e| match e.kind() {
            ErrorKind::AlreadyExists => failed(ErrorKind::NotADirectory.into()),
            _ => failed(e),
        })?;
        litter::sweep_folders(folder, BEGINNING, |_| false);
        let mut set = Self { folder: folder.to_path_buf(), stage: None, _held: None, made };
        let stage = tempfile::Builder::new().prefix(BEGINNING).tempdir_in(folder).map_err(failed)?;
        set._held = litter::hold(stage.path());
        set.stage = Some(stage);
        Ok(set)
    }

    /// Where a file of the set is written; it gets the same name in the folder.
    pub fn place(&self, name: &str) -> PathBuf {
        self.stage.as_ref().map_or(self.folder.as_path(), TempDir::path).join(name)
    }

    /// The hidden folder, for writers that name their files themselves.
    pub fn path(&self) -> &Path {
        self.stage.as_ref().map_or(self.folder.as_path(), TempDir::path)
    }

    /// Puts every file of the set in its place, by name.
    ///
    /// # Errors
    /// When one of them cannot be put; all are then as they were before.
    pub fn put(self) -> Result<Vec<PathBuf>, WriteError> {
        let failed = |e| WriteError::from_io(&self.folder, e);
        let mut names: Vec<_> = fs::read_dir(self.path())
            .and_then(|all| all.map(|e| Ok(e?.file_name())).collect::<io::Result<_>>())
            .map_err(failed)?;
        names.sort();
        let mut files = Vec::new();
        for name in &names {
            files.push(self.planned(self.path().join(name), self.folder.join(name))?);
        }
        let backup = self.path().join(BACKUP);
        fs::create_dir(&backup).map_err(failed)?;
        let mut done = Vec::new();
        for file in &files {
            let kept = backup.join(file.name.file_name().unwrap_or_default());
            if let Err(e) = file.take_its_place(&kept) {
                done.iter().rev().for_each(|undo: &(&Planned, PathBuf)| undo.0.go_back(&undo.1));
                return Err(e);
            }
            done.push((file, kept));
        }
        atomic::sync_folder(&self.folder).map_err(failed)?;
        Ok(files.into_iter().map(|f| f.name).collect())
    }

    /// Refuses what cannot be replaced before anything is.
    fn planned(&self, from: PathBuf, name: PathBuf) -> Result<Planned, WriteError> {
        let failed = |e| WriteError::from_io(&name, e);
        let target = atomic::followed(&name).map_err(failed)?;
        let old = atomic::replaceable(&target, &name)?;
        let replaces = old.is_some();
        if let Some(permissions) = old {
            fs::set_permissions(&from, permissions).map_err(failed)?;
        }
        Ok(Planned { from, target, name, replaces })
    }
}

impl Drop for FileSet {
    fn drop(&mut self) {
        self.stage = None;
        // A folder with something in it stays, which is right for those that others use.
        self.made.iter().take_while(|folder| fs::remove_dir(folder).is_ok()).count();
    }
}

/// A file of the set and its place.
struct Planned {
    from: PathBuf,
    /// The file behind its name, where that is a link.
    target: PathBuf,
    name: PathBuf,
    replaces: bool,
}

impl Planned {
    /// Puts the file in its place; what was there is kept as `kept`. At every moment one of the two is there.
    fn take_its_place(&self, kept: &Path) -> Result<(), WriteError> {
        let failed = |e| WriteError::from_io(&self.name, e);
        if self.replaces && fs::hard_link(&self.target, kept).is_err() {
            fs::copy(&self.target, kept).map_err(failed)?;
        }
        moved(&self.from, &self.target).map_err(failed)
    }

    fn go_back(&self, kept: &Path) {
        let back = if self.replaces { moved(kept, &self.target) } else { fs::remove_file(&self.target) };
        debug_assert!(back.is_ok(), "{back:?}");
    }
}

/// Gives a file another name, on another disk by way of a copy.
fn moved(from: &Path, to: &Path) -> io::Result<()> {
    match fs::rename(from, to) {
        Err(e) if e.kind() == ErrorKind::CrossesDevices => {
            let mut source = File::open(from)?;
            atomic::write(to, |out| io::copy(&mut source, out).map(|_| ())).map_err(io::Error::other)
        }
        done => done,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    fn names(folder: &Path) -> Vec<String> {
        let mut all: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        all.sort();
        all
    }

    fn read(folder: &Path, name: &str) -> String {
        fs::read_to_string(folder.join(name)).unwrap()
    }

    #[test]
    fn all_files_appear_at_once_beside_those_of_others() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("1.png"), "old one").unwrap();
        fs::write(dir.path().join("letter.txt"), "mine").unwrap();
        let set = FileSet::for_folder(dir.path()).unwrap();
        fs::write(set.place("1.png"), "new one").unwrap();
        fs::write(set.place("2.png"), "new two").unwrap();
        assert_eq!(read(dir.path(), "1.png"), "old one");
        set.put().unwrap();
        assert_eq!(names(dir.path()), ["1.png", "2.png", "letter.txt"]);
        assert_eq!(read(dir.path(), "1.png") + &read(dir.path(), "letter.txt"), "new onemine");
    }

    #[test]
    fn a_set_that_is_not_finished_leaves_no_trace() {
        let dir = tempfile::tempdir().unwrap();
        let deep = dir.path().join("a/b");
        drop(FileSet::for_folder(&deep).unwrap());
        assert!(names(dir.path()).is_empty());
    }

    #[test]
    fn a_name_that_a_folder_has_refuses_the_whole_set() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("1.png"), "old one").unwrap();
        fs::create_dir(dir.path().join("2.png")).unwrap();
        let set = FileSet::for_folder(dir.path()).unwrap();
        fs::write(set.place("1.png"), "new one").unwrap();
        fs::write(set.place("2.png"), "new two").unwrap();
        assert!(matches!(set.put(), Err(WriteError::IsFolder { .. })));
        assert_eq!((names(dir.path()).len(), read(dir.path(), "1.png").as_str()), (2, "old one"));
    }

    #[test]
    fn when_one_cannot_be_put_all_are_as_before() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("1.png"), "old one").unwrap();
        let set = FileSet::for_folder(dir.path()).unwrap();
        let put = |name: &str| {
            fs::write(set.place(name), "new").unwrap();
            set.planned(set.place(name), dir.path().join(name)).unwrap()
        };
        let (one, two) = (put("1.png"), put("2.png"));
        let kept = [set.place("one"), set.place("two")];
        one.take_its_place(&kept[0]).unwrap();
        two.take_its_place(&kept[1]).unwrap();
        assert_eq!(read(dir.path(), "1.png"), "new");
        two.go_back(&kept[1]);
        one.go_back(&kept[0]);
        drop(set);
        assert_eq!(
            (names(dir.path()), read(dir.path(), "1.png")),
            (vec!["1.png".to_owned()], "old one".to_owned())
        );
    }

    #[cfg(unix)]
    #[test]
    fn links_are_followed_and_a_folder_closed_to_us_is_said() {
        use std::os::unix::fs::{PermissionsExt as _, symlink};
        let dir = tempfile::tempdir().unwrap();
        let (folder, other) = (dir.path().join("plates"), dir.path().join("other.png"));
        fs::create_dir(&folder).unwrap();
        fs::write(&other, "old").unwrap();
        symlink(&other, folder.join("1.png")).unwrap();
        let set = FileSet::for_folder(&folder).unwrap();
        fs::write(set.place("1.png"), "new").unwrap();
        set.put().unwrap();
        assert!(fs::symlink_metadata(folder.join("1.png")).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&other).unwrap(), "new");
        fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
        // Who may do anything is not stopped by this.
        if File::create(folder.join("probe")).is_err() {
            assert!(matches!(FileSet::for_folder(&folder), Err(WriteError::Denied { .. })));
        }
        fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).unwrap();
        assert!(FileSet::for_folder(&other).is_err(), "a file is no folder");
    }

    #[test]
    fn what_a_run_that_was_killed_left_goes_with_the_next_set() {
        let dir = tempfile::tempdir().unwrap();
        let left = dir.path().join(".slipsheet-set-a1B2c3");
        fs::create_dir(&left).unwrap();
        fs::write(left.join("1.png"), "half").unwrap();
        let theirs = dir.path().join(".slipsheet-set-by-me");
        fs::create_dir(&theirs).unwrap();
        for folder in [&left, &theirs] {
            litter::tests::age(folder, Duration::from_secs(300));
        }
        let running = FileSet::for_folder(dir.path()).unwrap();
        assert!(!left.exists() && theirs.exists());
        litter::tests::age(running.path(), Duration::from_secs(300));
        let set = FileSet::for_folder(dir.path()).unwrap();
        assert!(running.path().exists(), "two runs do not take each other's");
        fs::write(set.place("2.png"), "whole").unwrap();
        set.put().unwrap();
        drop(running);
        assert_eq!(names(dir.path()), [".slipsheet-set-by-me", "2.png"]);
    }
}
