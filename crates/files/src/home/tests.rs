//! What a home keeps, and what it never loses.

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
    assert_eq!(home.settings().0, Settings::default());
    let mut settings = Settings { unit: LengthUnit::Inch, ..Settings::default() };
    for i in 0..12 {
        settings.opened(Path::new(&format!("/p/{i}.slipsheet")));
    }
    settings.opened(Path::new("/p/5.slipsheet"));
    home.save_settings(&settings).unwrap();
    let back = home.settings().0;
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
    assert_eq!(home.settings(), (Settings::default(), None));
    home.save_settings(&Settings { unit: LengthUnit::Inch, ..Settings::default() }).unwrap();
    assert_eq!(home.settings().0.unit, LengthUnit::Inch);
    for broken in ["(unit: Furlong)", "(unit: Ell)"] {
        std::fs::write(home.dir().join("settings.ron"), broken).unwrap();
        let (settings, trouble) = home.settings();
        let trouble = trouble.unwrap();
        assert!(settings == Settings::default() && trouble.contains("kept as"), "{trouble}");
        let kept = PathBuf::from(trouble.split("kept as ").nth(1).unwrap());
        assert_eq!(std::fs::read_to_string(kept).unwrap(), broken);
    }
    assert_eq!(home.settings(), (Settings::default(), None), "once");
}

#[test]
fn what_cannot_be_read_is_never_saved_over() {
    let (_dir, home) = home();
    home.save_settings(&Settings::default()).unwrap();
    let path = home.dir().join("settings.ron");
    std::fs::write(&path, "(unit: Furlong)").unwrap();
    home.save_settings(&Settings { unit: LengthUnit::Inch, ..Settings::default() }).unwrap();
    let aside = home.dir().join("settings.ron.unreadable");
    assert_eq!(std::fs::read_to_string(aside).unwrap(), "(unit: Furlong)");
    // Where it cannot be moved it stays.
    std::fs::write(&path, "(unit: Ell)").unwrap();
    for n in 2..1000 {
        std::fs::write(home.dir().join(format!("settings.ron.unreadable{n}")), "").unwrap();
    }
    let trouble = home.settings().1.unwrap();
    assert!(trouble.contains("nothing is saved over yours"), "{trouble}");
    assert!(home.save_settings(&Settings::default()).is_err());
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "(unit: Ell)");
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
        home.save_recovery(&claim, Some(Path::new(path)), &project, &Masks::default()).unwrap();
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
    home.save_recovery(&crashed, Some(Path::new("/z/half.slipsheet")), &project, &Masks::default()).unwrap();
    let running = home.claim_recovery().unwrap();
    home.save_recovery(&running, None, &project, &Masks::default()).unwrap();
    assert!(home.recoverable().is_empty(), "both are running");
    drop(crashed);
    let left = home.recoverable();
    assert_eq!(left.len(), 1);
    let path = Path::new("/z/half.slipsheet");
    assert_eq!((left[0].project_path.as_deref(), &left[0].project), (Some(path), &project));
    // A new program does not take the place of what was left.
    let newcomer = home.claim_recovery().unwrap();
    home.save_recovery(&newcomer, None, &project, &Masks::default()).unwrap();
    assert_eq!(home.recoverable().len(), 1);
    home.drop_recovered(&left[0].file);
    assert!(home.recoverable().is_empty());
}
