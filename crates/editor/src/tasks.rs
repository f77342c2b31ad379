//! What must run to its end, each on a named thread: reading scans, writing files; and what the front shows of it.

use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

use slipsheet_files::Progress;

use crate::job::{Done, Job, Waiting};
use crate::worker::broke_down;

/// A running task as the front shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct TaskInfo {
    pub id: u64,
    pub label: String,
    /// 0..=1.
    pub fraction: f64,
}

struct Running {
    id: u64,
    label: String,
    progress: Arc<Progress>,
    epoch: u64,
    /// Whether it goes on when another project is opened.
    outlives: bool,
}

/// What a thread does, and what is known of it before.
struct Work<F> {
    label: String,
    epoch: u64,
    outlives: bool,
    waiting: Waiting,
    work: F,
}

/// Puts work on a thread of this name.
type Spawn = fn(&str, Box<dyn FnOnce() + Send>) -> io::Result<()>;

fn spawn(name: &str, work: Box<dyn FnOnce() + Send>) -> io::Result<()> {
    thread::Builder::new().name(name.to_owned()).spawn(work).map(drop)
}

/// The tasks of one session.
pub struct Tasks {
    running: Vec<Running>,
    next: u64,
    sender: Sender<(u64, u64, Done)>,
    finished: Receiver<(u64, u64, Done)>,
    wake: Arc<dyn Fn() + Send + Sync>,
    spawn: Spawn,
}

impl Tasks {
    /// No tasks; `wake` is called from a task's thread when it is done.
    pub fn new(wake: impl Fn() + Send + Sync + 'static) -> Self {
        let (sender, finished) = channel();
        Self { running: Vec::new(), next: 1, sender, finished, wake: Arc::new(wake), spawn }
    }

    /// Starts a job on a thread of its own for one epoch of the session (see [`crate::Session::epoch`]). Where no
    /// thread can be had, that is the answer.
    pub fn start(&mut self, job: Job, epoch: u64) {
        let (label, outlives, waiting) = (job.label(), outlives_project(&job), job.waiting());
        self.start_work(Work {
            label,
            epoch,
            outlives,
            waiting,
            work: |progress: &Progress| job.run(progress),
        });
    }

    /// Runs work on a thread and answers for it, whatever becomes of it.
    fn start_work(&mut self, work: Work<impl FnOnce(&Progress) -> Done + Send + 'static>) {
        let Work { label, epoch, outlives, waiting, work } = work;
        let (id, progress) = (self.next, Arc::new(Progress::new()));
        self.next += 1;
        let running = Running { id, label: label.clone(), progress: Arc::clone(&progress), epoch, outlives };
        self.running.push(running);

        let (sender, wake) = (self.sender.clone(), Arc::clone(&self.wake));
        let answer = move |done| {
            // A session that is gone wants no answer.
            if sender.send((id, epoch, done)).is_ok() {
                wake();
            }
        };
        let (theirs, of, left) = (answer.clone(), label.clone(), waiting.clone());
        // A fault of our own is an answer like any other, so that nobody waits for one for ever.
        let begun = (self.spawn)(
            &label,
            Box::new(move || {
                let done = catch_unwind(AssertUnwindSafe(|| work(&progress)));
                theirs(done.unwrap_or_else(|fault| Done::Failed(broke_down(&of, &*fault), left)));
            }),
        );
        if let Err(e) = begun {
            let why = format!(
                "{label} could not begin, for the system gives no thread ({e}); close other programs and try again"
            );
            log::error!("{why}");
            answer(Done::Failed(why, waiting));
        }
    }

    /// Asks a task to stop.
    pub fn cancel(&self, id: u64) {
        if let Some(task) = self.running.iter().find(|t| t.id == id) {
            task.progress.cancel();
        }
    }

    /// Asks the tasks of earlier projects to stop, but for those that write a file.
    pub fn cancel_older(&self, epoch: u64) {
        self.running.iter().filter(|j| j.epoch != epoch && !j.outlives).for_each(|j| j.progress.cancel());
    }

    pub fn running(&self) -> Vec<TaskInfo> {
        let info = |j: &Running| TaskInfo {
            id: j.id,
            label: j.label.clone(),
            fraction: f64::from(j.progress.fraction()),
        };
        self.running.iter().map(info).collect()
    }

    /// What has come back since the last call, each with the epoch that it was begun in.
    pub fn poll(&mut self) -> Vec<(u64, Done)> {
        let done: Vec<(u64, u64, Done)> = self.finished.try_iter().collect();
        done.into_iter()
            .map(|(id, epoch, done)| {
                self.running.retain(|j| j.id != id);
                (epoch, done)
            })
            .collect()
    }
}

/// Whether a job goes on when another project is opened: what writes a file does.
fn outlives_project(job: &Job) -> bool {
    match job {
        Job::Export { .. } | Job::Save(_) => true,
        Job::Open { .. } | Job::ReadAgain(_) => false,
        Job::AddScans { .. } | Job::LoadScans { .. } | Job::LookAtScans { .. } => false,
        Job::FindScans { .. } | Job::ReadTable(_) | Job::Calibrate(_) | Job::ReadMarks { .. } => false,
        Job::LineUp { .. }
        | Job::LineUpOriginals(_)
        | Job::LookOverMarks(_)
        | Job::PlaceByMarks(_)
        | Job::ReadToMend(_)
        | Job::Mend { .. } => false,
        Job::ReadPicture(_) | Job::TakeApart(_) => false,
        Job::Collect { .. } => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_document::layer::ScanKey;
    use std::path::PathBuf;
    use std::time::{Duration, Instant};

    fn work<F: FnOnce(&Progress) -> Done>(epoch: u64, outlives: bool, work: F) -> Work<F> {
        let waiting = Waiting { scans: vec![ScanKey::new("a".repeat(64))], save: false };
        Work { label: "Writing the proof".to_owned(), epoch, outlives, waiting, work }
    }

    /// What comes back, once there are so many.
    fn answers(tasks: &mut Tasks, count: usize) -> Vec<(u64, Done)> {
        let start = Instant::now();
        let mut all = Vec::new();
        while all.len() < count {
            assert!(start.elapsed() < Duration::from_secs(20), "no answer");
            thread::sleep(Duration::from_millis(2));
            all.extend(tasks.poll());
        }
        all
    }

    #[test]
    fn a_task_that_breaks_down_answers_with_a_sentence_and_is_listed_no_more() {
        let mut tasks = Tasks::new(|| {});
        tasks.start_work(work(3, false, |_| panic!("row {} is out of range", 12)));
        assert_eq!(tasks.running().len(), 1);
        let answers = answers(&mut tasks, 1);
        assert!(tasks.running().is_empty());
        let [(3, Done::Failed(why, waiting))] = &answers[..] else { panic!("{answers:?}") };
        assert!(why.contains("Writing the proof broke down") && why.contains("row 12"), "{why}");
        assert_eq!(waiting.scans, [ScanKey::new("a".repeat(64))]);
    }

    #[test]
    fn without_a_thread_the_answer_is_a_refusal_and_nothing_is_done_here() {
        let mut tasks = Tasks::new(|| {});
        tasks.spawn = |_, _| Err(io::Error::other("none left"));
        tasks.start_work(work(3, false, |_| panic!("it was done on the caller's thread")));
        let answers = tasks.poll();
        let [(3, Done::Failed(why, waiting))] = &answers[..] else { panic!("{answers:?}") };
        assert!(why.contains("Writing the proof could not begin") && why.contains("none left"), "{why}");
        assert_eq!(waiting.scans.len(), 1);
        assert!(tasks.running().is_empty());
    }

    #[test]
    fn what_writes_a_file_goes_on_when_another_project_is_opened_and_the_rest_stops() {
        let mut tasks = Tasks::new(|| {});
        let (opens, gate) = channel::<()>();
        tasks.start_work(work(1, true, move |progress| {
            gate.recv().unwrap();
            assert!(!progress.is_cancelled());
            Done::Written(Ok((PathBuf::from("proof.png"), vec![])))
        }));
        tasks.start_work(work(1, false, |progress| {
            while !progress.is_cancelled() {
                thread::sleep(Duration::from_millis(2));
            }
            Done::Cancelled(Vec::new())
        }));
        tasks.cancel_older(2);
        let stopped = answers(&mut tasks, 1);
        assert!(matches!(&stopped[..], [(1, Done::Cancelled(_))]), "{stopped:?}");
        opens.send(()).unwrap();
        let written = answers(&mut tasks, 1);
        assert!(matches!(&written[..], [(1, Done::Written(Ok(_)))]), "{written:?}");
    }
}
