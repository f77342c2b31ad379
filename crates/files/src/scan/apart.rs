//! Work that cannot be stopped from within: it is done on a thread of its own, which is left behind when the
//! person stops it or the time is up. What it may use up is bounded before it begins, so it ends by itself.

use std::sync::Arc;
use std::sync::mpsc::{RecvTimeoutError, sync_channel};
use std::thread;
use std::time::{Duration, Instant};

use super::context::Context;
use super::quiet::quietly;
use super::{Progress, ScanError};

/// Stack of the thread, for content that is nested deeply.
const STACK: usize = 64 << 20;
/// How often it is looked whether to stop.
const LOOK: Duration = Duration::from_millis(30);

/// Why work ended itself before it was done, thrown from deep within a library that has no other way out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ended {
    Stopped,
    TooComplex,
    /// Something is not whole.
    Broken(&'static str),
}

impl Ended {
    /// Leaves the work at once, without a word on the terminal.
    pub fn throw(self) -> ! {
        std::panic::resume_unwind(Box::new(self))
    }

    pub fn error(self, name: &str) -> ScanError {
        let name = name.to_owned();
        match self {
            Self::Stopped => ScanError::Cancelled,
            Self::TooComplex => ScanError::TooComplex { name },
            Self::Broken(what) => ScanError::BrokenPart { name, what },
        }
    }
}

/// Does the work on a thread of its own for at most so many minutes; comes back soon after it was stopped.
pub(super) fn apart<T: Send + 'static>(
    cx: &Context<'_>,
    minutes: u64,
    work: impl FnOnce(&Context<'_>) -> Result<T, ScanError> + Send + 'static,
) -> Result<T, ScanError> {
    let progress = Arc::new(Progress::new());
    let (send, receive) = sync_channel(1);
    let (name, format, mix, own) = (cx.name.to_owned(), cx.format, cx.mix.clone(), Arc::clone(&progress));
    let job = move || {
        let own_cx = Context { name: &name, format, progress: &own, mix };
        let done = quietly(|| work(&own_cx)).unwrap_or_else(|thrown| match thrown.downcast_ref::<Ended>() {
            Some(ended) => Err(ended.error(&name)),
            None => Err(own_cx.damaged("its decoder gave up")),
        });
        // Whoever waited may have gone.
        send.send(done).unwrap_or_default();
    };
    let thread = thread::Builder::new().name("scan".to_owned()).stack_size(STACK);
    thread.spawn(job).map_err(|e| ScanError::from_io(cx.name, e))?;
    let begun = Instant::now();
    loop {
        match receive.recv_timeout(LOOK) {
            Ok(done) => return done,
            Err(RecvTimeoutError::Disconnected) => return Err(cx.damaged("its decoder gave up")),
            Err(RecvTimeoutError::Timeout) => {}
        }
        let late = begun.elapsed() > Duration::from_secs(60 * minutes);
        if late || cx.progress.is_cancelled() {
            progress.cancel();
            let name = cx.name.to_owned();
            return Err(if late { ScanError::TooSlow { name, minutes } } else { ScanError::Cancelled });
        }
        cx.progress.set_fraction(progress.fraction());
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scan::ScanFormat;
    use crate::scan::gray::Mix;

    #[test]
    fn work_that_does_not_listen_is_left_at_once() {
        let progress = Progress::new();
        let mix = Mix::default();
        let cx = Context { name: "x", format: ScanFormat::Pdf, progress: &progress, mix };
        assert_eq!(apart(&cx, 1, |_| Ok(7)).unwrap(), 7);
        let panicked = apart::<()>(&cx, 1, |_| panic!("lost")).unwrap_err();
        assert!(matches!(panicked, ScanError::Damaged { .. }), "{panicked}");
        let thrown = apart::<()>(&cx, 1, |_| Ended::TooComplex.throw()).unwrap_err();
        assert!(matches!(thrown, ScanError::TooComplex { .. }), "{thrown}");
        let deaf = |_: &Context<'_>| {
            thread::sleep(Duration::from_secs(5));
            Ok(())
        };
        let begun = Instant::now();
        assert!(matches!(apart(&cx, 0, deaf), Err(ScanError::TooSlow { minutes: 0, .. })));
        progress.cancel();
        assert!(matches!(apart(&cx, 1, deaf), Err(ScanError::Cancelled)));
        assert!(begun.elapsed() < Duration::from_secs(3));
    }
}
