//! Whether the files of scans change while they are open: one named thread that looks at their size and time now and
//! then. It reads nothing, so that it costs next to nothing; what a change means is found out by a job.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::{Duration, SystemTime};

/// Size and time of a file; none where there is no file.
type Stamp = Option<(u64, Option<SystemTime>)>;

/// The thread that looks.
pub struct ScanWatch {
    orders: Sender<Vec<PathBuf>>,
    news: Receiver<Vec<PathBuf>>,
    watched: Vec<PathBuf>,
}

impl ScanWatch {
    /// Starts the thread, which looks this often; `wake` is called from it when something has changed.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub fn start(every: Duration, wake: impl Fn() + Send + 'static) -> std::io::Result<Self> {
        let (orders, theirs) = channel::<Vec<PathBuf>>();
        let (sender, news) = channel();
        std::thread::Builder::new().name("scan watch".to_owned()).spawn(move || {
            let mut known = BTreeMap::new();
            loop {
                match theirs.recv_timeout(every) {
                    Ok(files) => watch(&mut known, files),
                    Err(RecvTimeoutError::Timeout) => {
                        let changed = look(&mut known);
                        if !changed.is_empty() {
                            if sender.send(changed).is_err() {
                                return;
                            }
                            wake();
                        }
                    }
                    Err(RecvTimeoutError::Disconnected) => return,
                }
            }
        })?;
        Ok(Self { orders, news, watched: Vec::new() })
    }

    /// Watches these files and no others.
    pub fn watch(&mut self, files: Vec<PathBuf>) {
        if files != self.watched && self.orders.send(files.clone()).is_ok() {
            self.watched = files;
        }
    }

    /// Files that have changed, come or gone since the last call.
    pub fn poll(&self) -> Vec<PathBuf> {
        self.news.try_iter().flatten().collect()
    }
}

/// A file as it was seen, and how it looked last where that was another way.
struct Seen {
    stamp: Stamp,
    settling: Option<Stamp>,
}

/// Takes up new files as they are now, and forgets those that are not watched any more.
fn watch(known: &mut BTreeMap<PathBuf, Seen>, files: Vec<PathBuf>) {
    let mut before = std::mem::take(known);
    for file in files {
        let seen = before.remove(&file).unwrap_or_else(|| Seen { stamp: stamp(&file), settling: None });
        known.insert(file, seen);
    }
}

/// The files that have changed. One that is being written is waited for: it counts when it looks the same twice.
fn look(known: &mut BTreeMap<PathBuf, Seen>) -> Vec<PathBuf> {
    let mut changed = Vec::new();
    for (file, seen) in known {
        let now = stamp(file);
        if now == seen.stamp {
            seen.settling = None;
        } else if seen.settling == Some(now) {
            (seen.stamp, seen.settling) = (now, None);
            changed.push(file.clone());
        } else {
            seen.settling = Some(now);
        }
    }
    changed
}

fn stamp(file: &Path) -> Stamp {
    let meta = std::fs::metadata(file).ok()?;
    Some((meta.len(), meta.modified().ok()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;
    use std::time::Instant;

    #[test]
    fn a_file_counts_as_changed_once_it_looks_the_same_twice() {
        let dir = tempfile::tempdir().unwrap();
        let [a, b] = ["a.png", "b.png"].map(|n| dir.path().join(n));
        fs::write(&a, "1").unwrap();
        let mut known = BTreeMap::new();
        watch(&mut known, vec![a.clone(), b.clone()]);
        assert!(look(&mut known).is_empty());
        fs::write(&a, "12").unwrap();
        assert!(look(&mut known).is_empty(), "it may be half written");
        fs::write(&a, "123").unwrap();
        assert!(look(&mut known).is_empty(), "it was");
        assert_eq!(look(&mut known), std::slice::from_ref(&a));
        assert!(look(&mut known).is_empty(), "told once");
        // One that goes and one that comes.
        fs::rename(&a, &b).unwrap();
        look(&mut known);
        assert_eq!(look(&mut known), [a.clone(), b.clone()]);
        // Back before anyone looked twice is no change.
        let (len, time) = stamp(&b).unwrap();
        fs::write(&b, "0").unwrap();
        look(&mut known);
        fs::write(&b, "123").unwrap();
        fs::File::open(&b).unwrap().set_modified(time.unwrap()).unwrap();
        assert_eq!(len, 3);
        assert!(look(&mut known).is_empty() && look(&mut known).is_empty());
    }

    #[test]
    fn the_thread_tells_of_a_change_and_wakes() {
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("a.png");
        fs::write(&file, "1").unwrap();
        let (sender, woken) = channel();
        let wake = move || sender.send(()).unwrap_or_default();
        let mut watch = ScanWatch::start(Duration::from_millis(5), wake).unwrap();
        watch.watch(vec![file.clone()]);
        std::thread::sleep(Duration::from_millis(100));
        fs::write(&file, "another picture").unwrap();
        let start = Instant::now();
        woken.recv_timeout(Duration::from_secs(20)).unwrap();
        assert_eq!(watch.poll(), [file], "after {:?}", start.elapsed());
    }
}
