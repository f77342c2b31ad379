//! What others do to the project's file and its scans while they are open.

use slipsheet_core::press::Press;
use slipsheet_editor::{Cause, Job, Notice, Waiting};
use slipsheet_editor::{
    DummyExport, DummySheetExport, GuideExport, MarksExport, PackExport, PressExport, ProofExport,
    ProofsExport, ShelfExport, WedgeExport, WrapExport,
};
use slipsheet_files::store;

use super::*;

/// A saved project of one layer, and its file.
fn saved(folder: &Path) -> (Session, PathBuf) {
    let mut s = with_layers(folder, &["a.png"]);
    let file = folder.join("job.slipsheet");
    apply(&mut s, Request::SaveAs(file.clone()));
    (s, file)
}

/// Another window that gives the project this title.
fn titled_elsewhere(file: &Path, title: &str) {
    let mut other = session();
    apply(&mut other, Request::Leave(Leave::Open(file.to_owned())));
    edit_project(&mut other, ProjectEdit::Title(title.to_owned()));
    apply(&mut other, Request::Save);
}

fn title_on_disk(file: &Path) -> String {
    store::load(file).unwrap().title
}

fn asks(effects: &[Effect]) -> bool {
    matches!(effects, [Effect::AskChangedProject(_)])
}

#[test]
fn a_file_that_another_window_changed_is_asked_about_and_not_saved_over() {
    let dir = tempfile::tempdir().unwrap();
    let (mut s, file) = saved(dir.path());
    titled_elsewhere(&file, "Theirs");
    edit_project(&mut s, ProjectEdit::Title("Mine".to_owned()));
    assert!(asks(&apply(&mut s, Request::Save)));
    assert_eq!(title_on_disk(&file), "Theirs");
    assert!(s.is_dirty());
    // Asked again, and again when the same name is chosen.
    assert!(asks(&apply(&mut s, Request::Save)));
    assert!(asks(&apply(&mut s, Request::SaveAs(file.clone()))));
    apply(&mut s, Request::SaveOver);
    assert_eq!(title_on_disk(&file), "Mine");
    assert!(!s.is_dirty());
    // From here on the file is known.
    edit_project(&mut s, ProjectEdit::Title("Mine again".to_owned()));
    assert!(!asks(&apply(&mut s, Request::Save)));
    assert_eq!(title_on_disk(&file), "Mine again");
}

#[test]
fn a_file_that_changes_again_while_one_thinks_is_asked_about_again() {
    let dir = tempfile::tempdir().unwrap();
    let (mut s, file) = saved(dir.path());
    titled_elsewhere(&file, "Theirs");
    edit_project(&mut s, ProjectEdit::Title("Mine".to_owned()));
    assert!(asks(&apply(&mut s, Request::Save)));
    titled_elsewhere(&file, "Theirs, later");
    assert!(asks(&apply(&mut s, Request::SaveOver)));
    assert_eq!(title_on_disk(&file), "Theirs, later");
}

#[test]
fn the_file_s_version_can_be_taken_and_undo_brings_mine_back() {
    let dir = tempfile::tempdir().unwrap();
    let (mut s, file) = saved(dir.path());
    titled_elsewhere(&file, "Theirs");
    edit_project(&mut s, ProjectEdit::Title("Mine".to_owned()));
    // Leaving waits for the answer, and does not go on once theirs is shown.
    assert!(asks(&apply(&mut s, Request::SaveThen(Leave::Quit))));
    let effects = apply(&mut s, Request::TakeTheirs);
    assert!(!effects.iter().any(|e| matches!(e, Effect::Quit)));
    assert_eq!((s.project().title.as_str(), s.is_dirty()), ("Theirs", false));
    apply(&mut s, Request::Undo);
    assert_eq!((s.project().title.as_str(), s.is_dirty()), ("Mine", true));
    apply(&mut s, Request::Save);
    assert_eq!(title_on_disk(&file), "Mine");
}

#[test]
fn leaving_goes_on_once_mine_is_kept_here_or_elsewhere() {
    for elsewhere in [false, true] {
        let dir = tempfile::tempdir().unwrap();
        let (mut s, file) = saved(dir.path());
        titled_elsewhere(&file, "Theirs");
        edit_project(&mut s, ProjectEdit::Title("Mine".to_owned()));
        apply(&mut s, Request::SaveThen(Leave::Quit));
        let effects = if elsewhere {
            let asked = s.apply(Request::SaveElsewhere).unwrap();
            assert!(matches!(&asked[..], [Effect::AskPath(Pick::SaveProject)]));
            apply(&mut s, Request::SaveAs(dir.path().join("mine")))
        } else {
            apply(&mut s, Request::SaveOver)
        };
        assert!(effects.iter().any(|e| matches!(e, Effect::Quit)), "{effects:?}");
        assert_eq!(title_on_disk(&file), if elsewhere { "Theirs" } else { "Mine" });
    }
}

#[test]
fn a_file_of_a_newer_version_is_asked_about_and_cannot_be_taken() {
    let dir = tempfile::tempdir().unwrap();
    let (mut s, file) = saved(dir.path());
    std::fs::write(&file, "Project(schema: 99)").unwrap();
    edit_project(&mut s, ProjectEdit::Title("Mine".to_owned()));
    assert!(asks(&apply(&mut s, Request::Save)));
    let refused = try_apply(&mut s, Request::TakeTheirs).unwrap_err();
    assert!(refused.to_string().contains("newer Slipsheet"), "{refused}");
    assert_eq!(s.project().title, "Mine");
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "Project(schema: 99)");
}

#[test]
fn a_file_that_was_deleted_is_written_anew_and_one_only_touched_is_no_change() {
    let dir = tempfile::tempdir().unwrap();
    let (mut s, file) = saved(dir.path());
    edit_project(&mut s, ProjectEdit::Title("Mine".to_owned()));
    std::fs::remove_file(&file).unwrap();
    apply(&mut s, Request::Save);
    assert_eq!(title_on_disk(&file), "Mine");
    let bytes = std::fs::read(&file).unwrap();
    std::fs::write(&file, bytes).unwrap();
    edit_project(&mut s, ProjectEdit::Title("Mine again".to_owned()));
    apply(&mut s, Request::Save);
    assert_eq!(title_on_disk(&file), "Mine again");
}

#[test]
fn work_from_before_a_crash_is_not_saved_over_a_later_file_without_asking() {
    use slipsheet_files::home::Recovered;
    use std::time::{Duration, SystemTime};
    for later in [false, true] {
        let dir = tempfile::tempdir().unwrap();
        let (s, file) = saved(dir.path());
        let copy = dir.path().join("0.recovery");
        std::fs::write(&copy, "").unwrap();
        let shift = Duration::from_secs(60);
        let time = if later { SystemTime::now() - shift } else { SystemTime::now() + shift };
        std::fs::File::open(&copy).unwrap().set_modified(time).unwrap();
        let mut project = s.project().clone();
        project.title = "Recovered".to_owned();
        let left =
            Recovered { file: copy, project_path: Some(file.clone()), project, masks: Default::default() };
        let mut again = session();
        apply(&mut again, Request::Leave(Leave::Recover(Box::new(left))));
        assert_eq!(asks(&apply(&mut again, Request::Save)), later);
        apply(&mut again, Request::SaveOver);
        assert_eq!(title_on_disk(&file), "Recovered");
    }
}

#[test]
fn an_error_of_saving_goes_with_the_save_that_cures_it() {
    let dir = tempfile::tempdir().unwrap();
    let (mut s, file) = saved(dir.path());
    edit_project(&mut s, ProjectEdit::Title("Mine".to_owned()));
    std::fs::remove_file(&file).unwrap();
    std::fs::create_dir(&file).unwrap();
    let refused = try_apply(&mut s, Request::Save).unwrap_err();
    // As the window does.
    s.tell(Notice::error(refused.to_string()).about(refused.cause()));
    s.tell(Notice::error("something else"));
    assert_eq!(s.notices().last().map(|n| n.cause.clone()), Some(None));
    std::fs::remove_dir(&file).unwrap();
    apply(&mut s, Request::Save);
    assert!(!s.notices().iter().any(|n| n.cause == Some(Cause::Save)), "{:?}", s.notices());
    assert!(s.notices().iter().any(|n| n.text == "something else"));
}

/// What is told of scans and can be cured.
fn about_scans(s: &Session) -> Vec<&Notice> {
    s.notices().iter().filter(|n| matches!(n.cause, Some(Cause::Scan(_)))).collect()
}

fn gray(s: &Session) -> u8 {
    s.images().get(&s.sheet().layers[0].art[0].scan.key).unwrap().full().pixels()[0]
}

#[test]
fn a_scan_that_changes_while_it_is_open_is_told_once_and_taken_when_one_says_so() {
    let dir = tempfile::tempdir().unwrap();
    let (mut s, _) = saved(dir.path());
    let file = dir.path().join("a.png");
    let before = gray(&s);
    scan(dir.path(), "a.png", 200);
    for _ in 0..2 {
        apply(&mut s, Request::LookAtScans(vec![file.clone()]));
    }
    let notified = |s: &Session| s.notices().iter().filter(|n| n.text.contains("by another program")).count();
    assert_eq!((s.changed().count(), notified(&s), gray(&s)), (1, 1, before));
    apply(&mut s, Request::AcceptChanged);
    assert_eq!((s.changed().count(), notified(&s), gray(&s)), (0, 0, 200));
    apply(&mut s, Request::Undo);
    assert_eq!(gray(&s), before, "undo shows what was there");
}

#[test]
fn a_scan_that_is_put_back_takes_its_notice_with_it() {
    let dir = tempfile::tempdir().unwrap();
    let (mut s, _) = saved(dir.path());
    let file = dir.path().join("a.png");
    let bytes = std::fs::read(&file).unwrap();
    std::fs::remove_file(&file).unwrap();
    apply(&mut s, Request::LookAtScans(vec![file.clone()]));
    assert_eq!((s.missing().len(), about_scans(&s).len()), (1, 1), "{:?}", s.notices());
    assert!(about_scans(&s)[0].text.contains("has gone from its place"));
    scan(dir.path(), "a.png", 200);
    apply(&mut s, Request::LookAtScans(vec![file.clone()]));
    assert_eq!(
        (s.missing().len(), s.changed().count(), about_scans(&s).len()),
        (0, 1, 1),
        "{:?}",
        s.notices()
    );
    std::fs::write(&file, bytes).unwrap();
    apply(&mut s, Request::LookAtScans(vec![file]));
    assert_eq!(
        (s.missing().len(), s.changed().count(), about_scans(&s).len()),
        (0, 0, 0),
        "{:?}",
        s.notices()
    );
}

#[test]
fn a_scan_that_was_opened_changed_and_is_put_back_is_shown_as_it_was() {
    let dir = tempfile::tempdir().unwrap();
    let (s, project) = saved(dir.path());
    let (file, before) = (dir.path().join("a.png"), gray(&s));
    let bytes = std::fs::read(&file).unwrap();
    scan(dir.path(), "a.png", 200);
    let mut again = session();
    apply(&mut again, Request::Leave(Leave::Open(project)));
    assert_eq!((gray(&again), again.changed().count()), (200, 1));
    std::fs::write(&file, bytes).unwrap();
    apply(&mut again, Request::LookAtScans(vec![file]));
    assert_eq!((gray(&again), again.changed().count()), (before, 0));
}

#[test]
fn missing_scans_that_are_found_take_their_errors_with_them() {
    let dir = tempfile::tempdir().unwrap();
    let mut again = opened_without_its_scan(dir.path());
    assert!(again.notices().iter().any(|n| matches!(n.cause, Some(Cause::Scan(_)))), "{:?}", again.notices());
    std::fs::create_dir(dir.path().join("elsewhere")).unwrap();
    scan(&dir.path().join("elsewhere"), "a.png", 0);
    apply(&mut again, Request::FindScans(dir.path().join("elsewhere")));
    assert!(again.missing().is_empty());
    assert!(!again.notices().iter().any(|n| n.cause.is_some()), "{:?}", again.notices());
}

#[test]
fn scans_that_a_broken_job_was_to_read_are_listed_as_missing() {
    let dir = tempfile::tempdir().unwrap();
    let (_, project) = saved(dir.path());
    let mut s = session();
    let effects = s.apply(Request::Leave(Leave::Open(project))).unwrap();
    let [Effect::Start(job)] = &effects[..] else { panic!("{effects:?}") };
    let read = job.clone().run(&Progress::new());
    let effects = s.apply(Request::JobDone(s.epoch(), Arc::new(read))).unwrap();
    assert!(effects.iter().any(|e| matches!(e, Effect::Start(Job::LoadScans { .. }))));
    let key = s.sheet().layers[0].art[0].scan.key.clone();
    let failed = Done::Failed("it broke down".to_owned(), Waiting { scans: vec![key], save: false });
    let notified = s.apply(Request::JobDone(s.epoch(), Arc::new(failed))).unwrap_err();
    assert_eq!((notified.to_string().as_str(), s.missing().len()), ("it broke down", 1));
    apply(&mut s, Request::FindScans(dir.path().to_owned()));
    assert!(s.missing().is_empty() && s.images().bytes() > 0, "it can be read again");
}

#[test]
fn exports_that_were_stopped_do_not_say_that_they_are_written() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png", "b.png"]);
    edit_sheet(&mut s, SheetEdit::AddEdition("Night".to_owned()));
    let to = |name: &str| dir.path().join(name);
    let commands = [
        written_to(MarksExport, to("marks")),
        written_to(ProofExport::default(), to("p.png")),
        written_to(ProofsExport::default(), to("proofs")),
        written_to(DummyExport::default(), to("d.png")),
        written_to(PackExport, to("pack")),
    ];
    let before = std::fs::read_dir(dir.path()).unwrap().count();
    for command in commands {
        let effects = s.apply(command.clone()).unwrap();
        let [Effect::Start(job)] = &effects[..] else { panic!("{effects:?}") };
        let stopped = Progress::new();
        stopped.cancel();
        let done = job.clone().run(&stopped);
        assert!(matches!(done, Done::Cancelled(_)), "{command:?}: {done:?}");
    }
    assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), before, "nothing is left behind");
}

#[test]
fn no_export_replaces_a_scan_whatever_it_is_called() {
    use slipsheet_core::units::SheetFormat;
    use slipsheet_document::wrap::{Wrap, WrapOrder};
    let check = |name: &str, command: &dyn Fn(PathBuf) -> Request, folder: bool| {
        let dir = tempfile::tempdir().unwrap();
        let mut s = session();
        let (one, two) = (scan(dir.path(), "first.png", 0), dir.path().join(name));
        std::fs::create_dir_all(two.parent().unwrap()).unwrap();
        scan(dir.path(), "second.png", 10);
        std::fs::rename(dir.path().join("second.png"), &two).unwrap();
        apply(&mut s, add_scans(vec![one, two.clone()]));
        assert_eq!(s.sheet().layers.len(), 2, "{name}");
        edit_sheet(&mut s, SheetEdit::AddEdition("Night".to_owned()));
        let bytes = std::fs::read(&two).unwrap();
        let target = if folder { two.parent().unwrap().to_owned() } else { two.clone() };
        let refused = match s.apply(command(target)) {
            Err(e) => e.to_string(),
            Ok(effects) => {
                let [Effect::Start(job)] = &effects[..] else { panic!("{name}: {effects:?}") };
                let Done::Written(Err(why)) = job.clone().run(&Progress::new()) else {
                    panic!("{name} was written")
                };
                why
            }
        };
        assert!(refused.contains(&*two.file_name().unwrap().to_string_lossy()), "{name}: {refused}");
        assert_eq!(std::fs::read(&two).unwrap(), bytes, "{name}");
    };
    let stock = Shelf::starter().unwrap().stocks[0].clone();
    let order = || {
        let (wrap, format, stock) = (Wrap::default(), SheetFormat::A3, stock.clone());
        WrapOrder { wrap, format, landscape: true, stock }
    };
    check("scan.png", &|to| written_to(ProofExport::default(), to), false);
    check("scan.png", &|to| written_to(DummyExport::default(), to), false);
    check("scan.png", &|to| written_to(GuideExport::Sheets, to), false);
    check("scan.ron", &|to| written_to(ShelfExport(Shelf::default()), to), false);
    check("scan.slipsheet-press", &|to| written_to(PressExport(Press::default()), to), false);
    check("in/Night.png", &|to| written_to(ProofsExport::default(), to), true);
    check("in/marks-1.png", &|to| written_to(MarksExport, to), true);
    check("in/ticket.png", &|to| written_to(PackExport, to), true);
    check("scan.pdf", &|to| written_to(WedgeExport, to), false);
    check("scan.pdf", &|to| written_to(DummySheetExport::default(), to), false);
    check("scan.svg", &|to| written_to(WrapExport(order()), to), false);
}
