//! What a person does while the project is read or written.

use slipsheet_editor::{Job, Waiting};
use slipsheet_files::store;

use super::*;

/// The one job that a command starts.
fn begun(s: &mut Session, command: Request) -> Job {
    let effects = s.apply(command).unwrap();
    let [Effect::Start(job)] = &effects[..] else { panic!("{effects:?}") };
    job.clone()
}

/// What a job brings, given to the session.
fn arrives(s: &mut Session, job: Job) -> Vec<Effect> {
    let done = job.run(&Progress::new());
    apply(s, Request::JobDone(s.epoch(), Arc::new(done)))
}

fn titled(s: &mut Session, title: &str) {
    edit_project(s, ProjectEdit::Title(title.to_owned()));
}

fn on_disk(file: &Path) -> String {
    store::load(file).unwrap().title
}

/// A saved project of one layer, and its file.
fn saved(folder: &Path, name: &str) -> (Session, PathBuf) {
    let mut s = with_layers(folder, &["a.png"]);
    titled(&mut s, name);
    let file = folder.join(format!("{name}.slipsheet"));
    apply(&mut s, Request::SaveAs(file.clone()));
    (s, file)
}

#[test]
fn work_that_is_done_while_the_project_is_saved_is_not_called_saved() {
    let dir = tempfile::tempdir().unwrap();
    let (mut s, file) = saved(dir.path(), "one");
    titled(&mut s, "two");
    let job = begun(&mut s, Request::Save);
    titled(&mut s, "three");
    arrives(&mut s, job);
    assert_eq!((on_disk(&file).as_str(), s.project().title.as_str(), s.is_dirty()), ("two", "three", true));
    apply(&mut s, Request::Undo);
    assert!(!s.is_dirty());
}

#[test]
fn a_save_during_a_save_waits_and_is_done_after_it() {
    let dir = tempfile::tempdir().unwrap();
    let (mut s, file) = saved(dir.path(), "one");
    titled(&mut s, "two");
    let job = begun(&mut s, Request::Save);
    titled(&mut s, "three");
    assert!(s.apply(Request::Save).unwrap().is_empty());
    let asked = arrives(&mut s, job);
    assert!(!asked.iter().any(|e| matches!(e, Effect::AskChangedProject(_))), "{asked:?}");
    assert_eq!((on_disk(&file).as_str(), s.is_dirty()), ("three", false));
}

#[test]
fn leaving_during_a_save_waits_for_it_and_asks_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let (mut s, _) = saved(dir.path(), "one");
    titled(&mut s, "two");
    let job = begun(&mut s, Request::Save);
    assert!(s.apply(Request::Leave(Leave::Quit)).unwrap().is_empty());
    let effects = arrives(&mut s, job);
    assert!(effects.iter().any(|e| matches!(e, Effect::Quit)), "{effects:?}");
    // What was done meanwhile is asked about.
    titled(&mut s, "three");
    let job = begun(&mut s, Request::Save);
    titled(&mut s, "four");
    s.apply(Request::Leave(Leave::Quit)).unwrap();
    let effects = arrives(&mut s, job);
    assert!(effects.iter().any(|e| matches!(e, Effect::AskDiscard(_))), "{effects:?}");
}

#[test]
fn artwork_that_comes_while_the_project_moves_is_found_from_its_new_place() {
    let dir = tempfile::tempdir().unwrap();
    let (mut s, _) = saved(dir.path(), "one");
    std::fs::create_dir(dir.path().join("deep")).unwrap();
    let job = begun(&mut s, Request::SaveAs(dir.path().join("deep/two")));
    assert!(!s.is_dirty() && !s.may_end(), "it must be written before the program ends");
    apply(&mut s, add_scans(vec![scan(dir.path(), "b.png", 90)]));
    arrives(&mut s, job);
    let paths: Vec<&str> = s.project().every_art().map(|a| a.scan.path.as_str()).collect();
    assert_eq!(paths, ["../a.png", "../b.png"]);
    apply(&mut s, Request::Save);
    assert!(s.may_end());
    apply(&mut s, Request::Undo);
    assert_eq!(s.sheet().layers[0].art[0].scan.path, "../a.png");
}

#[test]
fn a_save_that_breaks_down_does_not_keep_the_next_one_waiting() {
    let dir = tempfile::tempdir().unwrap();
    let (mut s, file) = saved(dir.path(), "one");
    titled(&mut s, "two");
    begun(&mut s, Request::Save);
    let broken = Done::Failed("no thread".to_owned(), Waiting { scans: vec![], save: true });
    s.apply(Request::JobDone(s.epoch(), Arc::new(broken))).unwrap_err();
    assert!(s.is_dirty());
    apply(&mut s, Request::Save);
    assert_eq!((on_disk(&file).as_str(), s.is_dirty()), ("two", false));
}

#[test]
fn work_that_is_done_while_a_project_is_read_is_asked_about() {
    let dir = tempfile::tempdir().unwrap();
    let (_, file) = saved(dir.path(), "one");
    let mut s = session();
    let job = begun(&mut s, Request::Leave(Leave::Open(file)));
    titled(&mut s, "mine");
    let effects = arrives(&mut s, job);
    assert_eq!(s.project().title, "mine");
    let [Effect::AskDiscard(then)] = &effects[..] else { panic!("{effects:?}") };
    apply(&mut s, Request::Discard(then.clone()));
    assert_eq!(s.project().title, "one");
    // What was to be lost anyway is not asked about twice.
    titled(&mut s, "mine");
    apply(&mut s, Request::Discard(then.clone()));
    assert_eq!(s.project().title, "one");
}

#[test]
fn of_two_projects_the_one_asked_for_last_is_opened_whichever_comes_first() {
    let dir = tempfile::tempdir().unwrap();
    let files = ["one", "two"].map(|name| saved(dir.path(), name).1);
    for turned in [false, true] {
        let mut s = session();
        let epoch = s.epoch();
        let mut done =
            files.clone().map(|f| begun(&mut s, Request::Leave(Leave::Open(f))).run(&Progress::new()));
        if turned {
            done.reverse();
        }
        for read in done {
            apply(&mut s, Request::JobDone(epoch, Arc::new(read)));
        }
        assert_eq!(s.project().title, "two");
    }
}
