//! A place for the latest wish, between a front and the thread that fulfils it.

use std::sync::{Arc, Condvar, Mutex};

/// A place for the latest wish; a new one takes the place of one that was not begun.
pub(crate) struct Slot<T> {
    wish: Mutex<(Option<T>, bool)>,
    bell: Condvar,
}

impl<T> Slot<T> {
    /// An empty slot.
    pub fn new() -> Arc<Self> {
        Arc::new(Self { wish: Mutex::new((None, false)), bell: Condvar::new() })
    }

    /// Puts a wish in.
    pub fn put(&self, wish: T) {
        let mut slot = self.wish.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        slot.0 = Some(wish);
        self.bell.notify_one();
    }

    /// Lets the thread that waits end.
    pub fn close(&self) {
        let mut slot = self.wish.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        slot.1 = true;
        self.bell.notify_one();
    }

    /// Whether another wish waits, or the slot was closed.
    pub fn is_overtaken(&self) -> bool {
        let slot = self.wish.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        slot.0.is_some() || slot.1
    }

    /// Waits for a wish; `None` when the slot was closed.
    pub fn take(&self) -> Option<T> {
        let mut slot = self.wish.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        loop {
            if slot.1 {
                return None;
            }
            if let Some(wish) = slot.0.take() {
                return Some(wish);
            }
            slot = self.bell.wait(slot).unwrap_or_else(std::sync::PoisonError::into_inner);
        }
    }
}
