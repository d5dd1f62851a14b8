//! What has been decided, for all threads: the same question has the same answer, whoever thinks about it.

use std::hash::{BuildHasher as _, BuildHasherDefault};
use std::sync::{Mutex, MutexGuard, PoisonError};

use rustc_hash::{FxHashMap, FxHasher};

use super::policy::Question;

/// So many parts are locked each for itself: two threads seldom wait for each other.
const PARTS: usize = 64;

/// The most answers of a part: beyond, all are forgotten, so that memory stays bounded.
const MOST: usize = 1 << 10;

/// Answers by question.
pub(super) struct Decided<T> {
    parts: [Mutex<FxHashMap<Question, T>>; PARTS],
}

impl<T> Default for Decided<T> {
    fn default() -> Self {
        Decided { parts: std::array::from_fn(|_| Mutex::default()) }
    }
}

impl<T: Clone> Decided<T> {
    /// The answer that is known, or else the one that is thought of now. Nobody waits for a thought: two threads may have
    /// the same at once.
    pub(super) fn of(&self, question: Question, think: impl FnOnce(&Question) -> T) -> T {
        if let Some(known) = self.part(&question).get(&question) {
            return known.clone();
        }
        let answer = think(&question);
        let mut part = self.part(&question);
        if part.len() >= MOST {
            part.clear();
        }
        part.insert(question, answer.clone());
        answer
    }

    fn part(&self, question: &Question) -> MutexGuard<'_, FxHashMap<Question, T>> {
        let hash = BuildHasherDefault::<FxHasher>::default().hash_one(question);
        // The low bits choose a place within a part, so the part is chosen by others.
        let part = usize::try_from(hash >> 32).unwrap_or(0) % PARTS;
        // An answer is there whole or not at all, also after a panic of another thread.
        self.parts[part].lock().unwrap_or_else(PoisonError::into_inner)
    }
}
