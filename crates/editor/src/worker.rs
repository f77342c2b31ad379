//! Work beside the window on a named thread of its own: the latest order wins, one that is begun can be cancelled, and
//! every reply says which revision it is of.

use std::any::Any;
use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};
use std::thread;

use crate::slot::Slot;
use crate::snapshot::Snapshot;

/// What is ordered of a [`Worker`], and how it is done.
pub trait Order: Send + Sized + 'static {
    /// What comes back, piece by piece.
    type Reply: Send + 'static;
    /// What is kept from one order to the next; a fault leaves none of it.
    type Kept: Default;
    /// What the worker does, as a sentence about it begins.
    const WORK: &'static str;

    /// Does it, on the worker's thread.
    fn work(self, from: &Snapshot, kept: &mut Self::Kept, turn: &Turn<'_, Self::Reply>);
}

/// An order's turn: how it answers, and whether it is still wanted.
pub struct Turn<'a, R> {
    send: &'a (dyn Fn(R) + Sync),
    overtaken: &'a (dyn Fn() -> bool + Sync),
}

impl<R> Turn<'_, R> {
    /// Hands something out at once.
    pub fn reply(&self, reply: R) {
        (self.send)(reply);
    }

    /// Whether another order waits, this one was cancelled, or the worker was let go.
    pub fn is_overtaken(&self) -> bool {
        (self.overtaken)()
    }
}

/// An order on its way, with its number.
struct Ordered<O> {
    number: u64,
    from: Snapshot,
    order: O,
}

/// What the thread says of the order of a number and a revision.
struct Answer<R> {
    number: u64,
    revision: u64,
    what: What<R>,
}

enum What<R> {
    Reply(R),
    /// No more will come.
    End(Ending),
}

enum Ending {
    Done,
    Overtaken,
    Fault(String),
}

/// The thread, seen from the front.
pub struct Worker<O: Order> {
    orders: Arc<Slot<Ordered<O>>>,
    answers: Receiver<Answer<O::Reply>>,
    /// Number of the last order.
    last: u64,
    /// Up to this number orders were cancelled.
    cancelled: u64,
    /// Up to this number they are done.
    done: u64,
    finished: Option<u64>,
    fault: Option<String>,
}

impl<O: Order> Worker<O> {
    /// Starts the thread; `wake` is called from it when something has come.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub fn start(wake: impl Fn() + Send + Sync + 'static) -> io::Result<Self> {
        let orders: Arc<Slot<Ordered<O>>> = Slot::new();
        let (sender, answers) = channel();
        let theirs = Arc::clone(&orders);
        thread::Builder::new().name(O::WORK.to_owned()).spawn(move || {
            let mut kept = O::Kept::default();
            while let Some(Ordered { number, from, order }) = theirs.take() {
                let say = |what| {
                    // A front that has gone closes the slot as well, which ends the thread.
                    if sender.send(Answer { number, revision: from.revision, what }).is_ok() {
                        wake();
                    }
                };
                let turn =
                    Turn { send: &|reply| say(What::Reply(reply)), overtaken: &|| theirs.is_overtaken() };
                let worked = catch_unwind(AssertUnwindSafe(|| order.work(&from, &mut kept, &turn)));
                say(What::End(match worked {
                    Ok(()) if turn.is_overtaken() => Ending::Overtaken,
                    Ok(()) => Ending::Done,
                    Err(fault) => {
                        // It may have been left half changed.
                        kept = O::Kept::default();
                        Ending::Fault(broke_down(O::WORK, &*fault))
                    }
                }));
            }
        })?;
        Ok(Self { orders, answers, last: 0, cancelled: 0, done: 0, finished: None, fault: None })
    }

    /// Asks for something; an earlier order that was not begun is dropped.
    pub fn order(&mut self, from: Snapshot, order: O) {
        self.last += 1;
        self.orders.put(Ordered { number: self.last, from, order });
    }

    /// Drops what was ordered, and what has come of it since the last call of [`Worker::poll`].
    pub fn cancel(&mut self) {
        self.orders.withdraw();
        (self.cancelled, self.finished) = (self.last, None);
    }

    /// What has come since the last call, each with the revision that it is of.
    pub fn poll(&mut self) -> Vec<(u64, O::Reply)> {
        let mut replies = Vec::new();
        for Answer { number, revision, what } in self.answers.try_iter() {
            if number <= self.cancelled {
                continue;
            }
            match what {
                What::Reply(reply) => replies.push((revision, reply)),
                What::End(ending) => {
                    self.done = number;
                    match ending {
                        Ending::Done => self.finished = Some(revision),
                        Ending::Overtaken => {}
                        Ending::Fault(why) => (self.finished, self.fault) = (None, Some(why)),
                    }
                }
            }
        }
        replies
    }

    /// Whether more will come of the last order.
    pub fn is_busy(&self) -> bool {
        self.last > self.done.max(self.cancelled)
    }

    /// The revision of the order that was done to its end last; none after a fault.
    pub fn finished(&self) -> Option<u64> {
        self.finished
    }

    /// The sentence about a fault that ended an order since the last call.
    pub fn fault(&mut self) -> Option<String> {
        self.fault.take()
    }
}

impl<O: Order> Drop for Worker<O> {
    fn drop(&mut self) {
        self.orders.close();
    }
}

/// What a person reads of work that a fault of our own ended.
pub(crate) fn broke_down(work: &str, fault: &(dyn Any + Send)) -> String {
    let words = fault.downcast_ref::<&str>().copied();
    let words = words.or_else(|| fault.downcast_ref::<String>().map(String::as_str));
    let why = format!(
        "{work} broke down by a fault in Slipsheet ({}); your project is as it was: save it, and try again",
        words.unwrap_or("it said no more")
    );
    log::error!("{why}");
    why
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::{Sender, channel};
    use std::time::{Duration, Instant};

    use slipsheet_core::units::SheetFormat;
    use slipsheet_document::printing::Printing;
    use slipsheet_document::shelf::Shelf;

    use super::*;

    /// An order that says its name and how many came before it, then waits at its gate.
    struct Probe {
        name: &'static str,
        gate: Option<Receiver<()>>,
        breaks: bool,
    }

    impl Order for Probe {
        type Reply = (&'static str, usize);
        type Kept = usize;
        const WORK: &'static str = "Probing";

        fn work(self, _: &Snapshot, kept: &mut usize, turn: &Turn<'_, Self::Reply>) {
            turn.reply((self.name, *kept));
            *kept += 1;
            assert!(!self.breaks, "row {} is out of range", 12);
            if let Some(gate) = self.gate {
                gate.recv().unwrap();
                turn.reply((if turn.is_overtaken() { "overtaken" } else { "whole" }, *kept));
            }
        }
    }

    fn quick(name: &'static str) -> Probe {
        Probe { name, gate: None, breaks: false }
    }

    fn gated(name: &'static str) -> (Sender<()>, Probe) {
        let (opens, gate) = channel();
        (opens, Probe { name, gate: Some(gate), breaks: false })
    }

    fn at(revision: u64) -> Snapshot {
        let stock = Shelf::starter().unwrap().stocks[0].clone();
        Snapshot { revision, ..Snapshot::of(&Printing::new("Walk", SheetFormat::A6, stock)) }
    }

    fn worker() -> Worker<Probe> {
        Worker::start(|| ()).unwrap()
    }

    /// Replies until there are so many.
    fn replies(worker: &mut Worker<Probe>, count: usize) -> Vec<(u64, (&'static str, usize))> {
        let mut all = Vec::new();
        until(|| {
            all.extend(worker.poll());
            all.len() >= count
        });
        all
    }

    fn until(mut holds: impl FnMut() -> bool) {
        let start = Instant::now();
        while !holds() {
            assert!(start.elapsed() < Duration::from_secs(20), "it never came");
            thread::sleep(Duration::from_millis(2));
        }
    }

    #[test]
    fn the_latest_order_wins_and_every_reply_says_its_revision() {
        let mut worker = worker();
        let (opens, first) = gated("first");
        worker.order(at(3), first);
        assert_eq!(replies(&mut worker, 1), [(3, ("first", 0))]);
        worker.order(at(4), quick("second"));
        worker.order(at(5), quick("third"));
        opens.send(()).unwrap();
        assert_eq!(replies(&mut worker, 2), [(3, ("overtaken", 1)), (5, ("third", 1))]);
        until(|| worker.poll().is_empty() && !worker.is_busy());
        assert_eq!(worker.finished(), Some(5));
    }

    #[test]
    fn a_cancelled_order_is_overtaken_and_says_no_more() {
        let mut worker = worker();
        let (opens, first) = gated("first");
        worker.order(at(1), first);
        assert_eq!(replies(&mut worker, 1).len(), 1);
        assert!(worker.is_busy());
        worker.cancel();
        assert!(!worker.is_busy() && worker.finished().is_none());
        opens.send(()).unwrap();
        worker.order(at(2), quick("second"));
        assert_eq!(replies(&mut worker, 1), [(2, ("second", 1))], "nothing of the first");
    }

    #[test]
    fn a_fault_ends_its_order_with_a_sentence_and_the_next_one_begins_anew() {
        let mut worker = worker();
        worker.order(at(1), quick("first"));
        worker.order(at(1), Probe { breaks: true, ..quick("second") });
        until(|| {
            worker.poll();
            !worker.is_busy()
        });
        let why = worker.fault().unwrap();
        assert!(why.contains("Probing broke down") && why.contains("row 12"), "{why}");
        assert!(worker.fault().is_none() && worker.finished().is_none());
        worker.order(at(2), quick("third"));
        assert_eq!(replies(&mut worker, 1), [(2, ("third", 0))]);
    }

    #[test]
    fn a_worker_that_is_let_go_is_waited_for_by_nobody() {
        let mut worker = worker();
        let (opens, first) = gated("first");
        worker.order(at(1), first);
        replies(&mut worker, 1);
        let orders = Arc::clone(&worker.orders);
        drop(worker);
        assert!(orders.is_overtaken());
        opens.send(()).unwrap();
        until(|| Arc::strong_count(&orders) == 1);
    }
}
