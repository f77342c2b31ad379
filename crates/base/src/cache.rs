//! Things that take a while to make, kept by what they depend on as long as there is room.

use std::mem::size_of;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// What takes room.
pub trait Bytes {
    fn bytes(&self) -> usize;
}

impl<T> Bytes for Vec<T> {
    fn bytes(&self) -> usize {
        self.len() * size_of::<T>()
    }
}

impl<T: Bytes> Bytes for Option<T> {
    fn bytes(&self) -> usize {
        self.as_ref().map_or(0, T::bytes)
    }
}

/// Bytes that are counted for an entry besides its value: what its key holds elsewhere, nearly.
const ENTRY: usize = 256;

/// Values by their keys. Over its limit of bytes it lets go what was used longest ago; what was made last is kept in any case.
#[derive(Debug)]
pub struct Cache<K, V, const MOST_BYTES: usize> {
    /// What was used last stands last.
    kept: Mutex<Vec<(K, Arc<V>)>>,
}

impl<K, V, const MOST_BYTES: usize> Default for Cache<K, V, MOST_BYTES> {
    fn default() -> Self {
        Self { kept: Mutex::default() }
    }
}

impl<K: PartialEq, V: Bytes, const MOST_BYTES: usize> Cache<K, V, MOST_BYTES> {
    /// What is kept under a key, if anything.
    pub fn get(&self, key: &K) -> Option<Arc<V>> {
        let mut kept = self.lock();
        let at = kept.iter().position(|(k, _)| k == key)?;
        let used = kept.remove(at);
        let value = Arc::clone(&used.1);
        kept.push(used);
        Some(value)
    }

    /// What is kept under a key, or what is made for it; nothing where nothing comes of it.
    ///
    /// It is made without holding the others up: two who ask at once may both make it, and the first one's is kept.
    pub fn get_or_make(&self, key: K, make: impl FnOnce() -> Option<V>) -> Option<Arc<V>> {
        self.get_or_try(key, || make().ok_or(())).ok()
    }

    /// The same, of what says why nothing comes of it.
    ///
    /// # Errors
    /// That of `make`.
    pub fn get_or_try<E>(&self, key: K, make: impl FnOnce() -> Result<V, E>) -> Result<Arc<V>, E> {
        if let Some(known) = self.get(&key) {
            return Ok(known);
        }
        let made = Arc::new(make()?);
        let mut kept = self.lock();
        if let Some((_, meanwhile)) = kept.iter().find(|(k, _)| *k == key) {
            return Ok(Arc::clone(meanwhile));
        }
        kept.push((key, Arc::clone(&made)));
        // A key takes room too, so that nothing is kept without end.
        let bytes = |value: &V| value.bytes() + ENTRY + size_of::<(K, V)>();
        let mut held: usize = kept.iter().map(|(_, v)| bytes(v)).sum();
        let mut too_many = 0;
        for (_, value) in kept.iter().take(kept.len() - 1) {
            if held <= MOST_BYTES {
                break;
            }
            held -= bytes(value);
            too_many += 1;
        }
        kept.drain(..too_many);
        Ok(made)
    }

    /// Lets go all whose key is not wanted any more.
    pub fn retain(&self, wanted: impl Fn(&K) -> bool) {
        self.lock().retain(|(key, _)| wanted(key));
    }

    fn lock(&self) -> MutexGuard<'_, Vec<(K, Arc<V>)>> {
        // A value is put in whole, so a panic elsewhere leaves none half made.
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    type Small = Cache<u32, Vec<u8>, 100_000>;

    fn ask(cache: &Small, key: u32, bytes: usize) -> bool {
        let mut made = false;
        let value = cache.get_or_make(key, || {
            made = true;
            Some(vec![key as u8; bytes])
        });
        assert_eq!(value.unwrap()[0], key as u8);
        made
    }

    #[test]
    fn what_was_used_longest_ago_goes_first_and_the_last_one_stays() {
        let cache = Small::default();
        assert!(ask(&cache, 1, 40_000) && ask(&cache, 2, 40_000));
        assert!(!ask(&cache, 1, 40_000), "it is kept");
        assert!(ask(&cache, 3, 40_000), "there is room for two");
        assert!(!ask(&cache, 1, 40_000) && !ask(&cache, 3, 40_000));
        assert!(ask(&cache, 2, 40_000), "it went");
        assert!(ask(&cache, 9, 500_000), "larger than all the room, and kept");
        assert!(!ask(&cache, 9, 500_000));
        assert!(ask(&cache, 3, 40_000));
    }

    #[test]
    fn nothing_is_kept_of_nothing_and_what_is_not_wanted_goes() {
        let cache = Small::default();
        assert!(cache.get_or_make(1, || None).is_none() && cache.get(&1).is_none());
        assert!(ask(&cache, 1, 4) && ask(&cache, 2, 4));
        cache.retain(|key| *key == 2);
        assert!(cache.get(&1).is_none() && cache.get(&2).is_some());
    }

    #[test]
    fn one_who_makes_holds_up_nobody_and_the_first_is_kept() {
        let cache = Small::default();
        let outer = cache.get_or_make(1, || {
            // Asked for while it is being made.
            assert_eq!(cache.get_or_make(1, || Some(vec![5])).unwrap()[0], 5);
            Some(vec![6])
        });
        assert_eq!(outer.unwrap()[0], 5);
    }
}
