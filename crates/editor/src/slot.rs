//! A place for the latest order, between a front and the thread that carries it out.

use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};

/// A place for the latest order; a new one takes the place of one that was not begun.
pub(crate) struct Slot<T> {
    state: Mutex<State<T>>,
    bell: Condvar,
}

struct State<T> {
    order: Option<T>,
    /// Whether the order that was taken last is not wanted any more.
    withdrawn: bool,
    closed: bool,
}

impl<T> Slot<T> {
    /// An empty slot.
    pub fn new() -> Arc<Self> {
        let state = State { order: None, withdrawn: false, closed: false };
        Arc::new(Self { state: Mutex::new(state), bell: Condvar::new() })
    }

    fn state(&self) -> MutexGuard<'_, State<T>> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Puts an order in.
    pub fn put(&self, order: T) {
        self.state().order = Some(order);
        self.bell.notify_one();
    }

    /// Takes back what was asked for, whether or not it was begun.
    pub fn withdraw(&self) {
        let mut state = self.state();
        state.order = None;
        state.withdrawn = true;
    }

    /// Lets the thread that waits end.
    pub fn close(&self) {
        self.state().closed = true;
        self.bell.notify_one();
    }

    /// Whether another order waits, the one that was begun was taken back, or the slot was closed.
    pub fn is_overtaken(&self) -> bool {
        let state = self.state();
        state.order.is_some() || state.withdrawn || state.closed
    }

    /// Waits for an order; `None` when the slot was closed.
    pub fn take(&self) -> Option<T> {
        let mut state = self.state();
        loop {
            if state.closed {
                return None;
            }
            if let Some(order) = state.order.take() {
                state.withdrawn = false;
                return Some(order);
            }
            state = self.bell.wait(state).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_latest_order_is_taken_and_one_that_is_begun_is_overtaken_or_withdrawn() {
        let slot = Slot::new();
        slot.put(1);
        slot.put(2);
        assert!(slot.is_overtaken());
        assert_eq!(slot.take(), Some(2));
        assert!(!slot.is_overtaken());
        slot.put(3);
        slot.withdraw();
        // The one that was begun is not wanted any more, and none waits.
        assert!(slot.is_overtaken() && slot.state().order.is_none());
        slot.put(4);
        assert_eq!(slot.take(), Some(4));
        assert!(!slot.is_overtaken());
        slot.close();
        assert!(slot.is_overtaken() && slot.take().is_none());
    }
}
