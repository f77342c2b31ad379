//! The threads that jobs run on, and what the front shows of them.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};

use slipsheet_files::Progress;

use super::{Done, Job};
use crate::command::Command;

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
        self.running.push(Running {
            id,
            label: label.clone(),
            progress: Arc::clone(&progress),
            epoch,
            outlives,
        });
        let (sender, wake) = (self.sender.clone(), Arc::clone(&self.wake));
        let again = job.clone();
        let thread = std::thread::Builder::new().name(label);
        let spawned = thread.spawn(move || {
            let done = job.run(&progress);
            // A session that is gone wants no answer.
            if sender.send((id, epoch, done)).is_ok() {
                wake();
            }
        });
        if spawned.is_err() {
            let done = again.run(&Progress::new());
            // The receiver is this very struct's, so the send cannot fail.
            let sent = self.sender.send((id, epoch, done));
            debug_assert!(sent.is_ok());
        }
        id
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

    /// What has come back since the last call.
    pub fn poll(&mut self) -> Vec<Command> {
        let done: Vec<(u64, u64, Done)> = self.receiver.try_iter().collect();
        done.into_iter()
            .map(|(id, epoch, done)| {
                self.running.retain(|j| j.id != id);
                Command::JobDone(epoch, Arc::new(done))
            })
            .collect()
    }
}
