//! The threads that jobs run on, and what the front shows of them.

use std::panic::AssertUnwindSafe;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};

use slipsheet_document::layer::ScanKey;
use slipsheet_files::Progress;

use super::{Done, Job};

/// A running job as the front shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct JobInfo {
    /// To cancel it by.
    pub id: u64,
    /// What it does.
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
    id: u64,
    label: String,
    epoch: u64,
    outlives: bool,
    /// Scans that wait for it.
    reads: Vec<ScanKey>,
    work: F,
}

impl<F: Fn(&Progress) -> Done> Work<F> {
    /// Does the work. A fault of our own is an answer like any other, so that nobody waits for one for ever.
    fn done(&self, progress: &Progress) -> Done {
        let done = std::panic::catch_unwind(AssertUnwindSafe(|| (self.work)(progress)));
        done.unwrap_or_else(|fault| {
            let words = fault.downcast_ref::<&str>().map(|s| (*s).to_owned());
            let words = words.or_else(|| fault.downcast_ref::<String>().cloned());
            let why = format!(
                "{} broke down by a fault in Slipsheet ({}); your project is as it was: save it, and try again",
                self.label,
                words.unwrap_or_else(|| "it said no more".to_owned())
            );
            Done::Failed(why, self.reads.clone())
        })
    }
}

/// The jobs of one session.
pub struct Jobs {
    running: Vec<Running>,
    next: u64,
    sender: Sender<(u64, u64, Done)>,
    receiver: Receiver<(u64, u64, Done)>,
    wake: Arc<dyn Fn() + Send + Sync>,
}

impl Jobs {
    /// No jobs; `wake` is called from a job's thread when it is done.
    pub fn new(wake: impl Fn() + Send + Sync + 'static) -> Self {
        let (sender, receiver) = channel();
        Self { running: Vec::new(), next: 1, sender, receiver, wake: Arc::new(wake) }
    }

    /// Starts a job on a thread of its own for one epoch of the session (see [`crate::Session::epoch`]).
    /// Where no thread can be had the work is done at once.
    pub fn start(&mut self, job: Job, epoch: u64) -> u64 {
        let (id, label, progress) = (self.next, job.label(), Arc::new(Progress::new()));
        self.next += 1;
        let outlives = matches!(
            job,
            Job::Proof { .. }
                | Job::Proofs { .. }
                | Job::Dummy { .. }
                | Job::Guide { .. }
                | Job::Wedge { .. }
                | Job::Marks { .. }
                | Job::Pack { .. }
        );
        let reads = job.reads();
        // The work may have to be done here after all, so each run has the job from a copy.
        let work = move |progress: &Progress| job.clone().run(progress);
        self.start_work(Work { id, label, epoch, outlives, reads, work }, progress);
        id
    }

    /// Runs work on a thread and answers for it, whatever becomes of it.
    fn start_work(
        &mut self,
        work: Work<impl Fn(&Progress) -> Done + Send + Sync + 'static>,
        progress: Arc<Progress>,
    ) {
        let (id, epoch) = (work.id, work.epoch);
        let running = Running {
            id,
            label: work.label.clone(),
            progress: Arc::clone(&progress),
            epoch,
            outlives: work.outlives,
        };
        self.running.push(running);
        let (sender, wake) = (self.sender.clone(), Arc::clone(&self.wake));
        let thread = std::thread::Builder::new().name(work.label.clone());
        let work = Arc::new(work);
        let theirs = Arc::clone(&work);
        let spawned = thread.spawn(move || {
            let done = theirs.done(&progress);
            // A session that is gone wants no answer.
            if sender.send((id, epoch, done)).is_ok() {
                wake();
            }
        });
        if spawned.is_err() {
            // The receiver is this very struct's, so the send cannot fail.
            let sent = self.sender.send((id, epoch, work.done(&Progress::new())));
            debug_assert!(sent.is_ok());
        }
    }

    /// Asks a job to stop.
    pub fn cancel(&self, id: u64) {
        if let Some(job) = self.running.iter().find(|j| j.id == id) {
            job.progress.cancel();
        }
    }

    /// Asks the jobs of earlier projects to stop, but for those that write a file.
    pub fn cancel_older(&self, epoch: u64) {
        self.running.iter().filter(|j| j.epoch != epoch && !j.outlives).for_each(|j| j.progress.cancel());
    }

    /// What is running.
    pub fn running(&self) -> Vec<JobInfo> {
        let info = |j: &Running| JobInfo {
            id: j.id,
            label: j.label.clone(),
            fraction: f64::from(j.progress.fraction()),
        };
        self.running.iter().map(info).collect()
    }

    /// What has come back since the last call, each with the epoch that it was begun in.
    pub fn poll(&mut self) -> Vec<(u64, Done)> {
        let done: Vec<(u64, u64, Done)> = self.receiver.try_iter().collect();
        done.into_iter()
            .map(|(id, epoch, done)| {
                self.running.retain(|j| j.id != id);
                (epoch, done)
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::{Duration, Instant};

    #[test]
    fn a_job_that_breaks_down_answers_with_a_sentence_and_is_listed_no_more() {
        let mut jobs = Jobs::new(|| {});
        let key = ScanKey::new("a".repeat(64));
        let work = Work {
            id: 7,
            label: "Writing the proof".to_owned(),
            epoch: 3,
            outlives: false,
            reads: vec![key.clone()],
            work: |_: &Progress| panic!("row {} is out of range", 12),
        };
        jobs.start_work(work, Arc::new(Progress::new()));
        assert_eq!(jobs.running().len(), 1);
        let start = Instant::now();
        let answers = loop {
            let answers = jobs.poll();
            if !answers.is_empty() {
                break answers;
            }
            assert!(start.elapsed() < Duration::from_secs(20), "no answer");
            std::thread::sleep(Duration::from_millis(2));
        };
        assert!(jobs.running().is_empty());
        let [(3, Done::Failed(why, reads))] = &answers[..] else { panic!("{answers:?}") };
        assert!(why.contains("Writing the proof broke down") && why.contains("row 12"), "{why}");
        assert_eq!(*reads, [key]);
    }
}
