//! Panics of decoders end in a sentence and leave no trace on the terminal.

use std::any::Any;
use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind, set_hook, take_hook};
use std::sync::Once;

thread_local! {
    /// Whether this thread's panics are caught and told by us.
    static QUIET: Cell<bool> = const { Cell::new(false) };
}

/// Does the work on this thread; its panic comes back as an error and is not printed.
///
/// Nothing of ours outlives a panic: what the work owns is dropped with it.
pub(super) fn quietly<T>(work: impl FnOnce() -> T) -> Result<T, Box<dyn Any + Send>> {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let loud = take_hook();
        // Other threads' panics are printed as before.
        set_hook(Box::new(move |panic| {
            if !QUIET.get() {
                loud(panic);
            }
        }));
    });
    let before = QUIET.replace(true);
    let done = catch_unwind(AssertUnwindSafe(work));
    QUIET.set(before);
    done
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_comes_back_and_the_thread_is_as_loud_as_before() {
        assert!(quietly(|| panic!("lost")).is_err());
        assert!(!QUIET.get());
        let inner = quietly(|| {
            assert!(quietly(|| panic!("lost")).is_err());
            QUIET.get()
        });
        assert!(inner.unwrap(), "the outer work stays quiet");
    }
}
