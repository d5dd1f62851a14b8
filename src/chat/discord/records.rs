//! What is kept of answers: who asked, where the answer stands, and the request in the program's own words.
//!
//! In: ids and [`Kept`]. Out: the same. Never: a word that a member typed.
//! Invariant: a message or interaction is claimed once; only who claimed it answers.

use std::collections::{HashMap, VecDeque};
use std::sync::Mutex;

use super::turns::Thread;

/// Answers held in memory at most; the oldest leave first.
const HELD: usize = 20_000;

/// A message or interaction that asks something: its id, which is also the id of its answer.
pub type Source = u64;

/// What is kept of one answer.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Kept {
    /// The channel it stands in.
    pub channel: u64,
    /// The server, 0 in direct messages.
    pub guild: u64,
    /// Who asked.
    pub asker: u64,
    /// The message that holds the answer, 0 until it is sent.
    pub message: u64,
    /// Only the asker sees it.
    pub private: bool,
    /// What the talk is about.
    pub thread: Thread,
    /// Answers to choose from where something was asked back: label and request.
    pub choices: Vec<(String, String)>,
}

#[derive(Debug, Default)]
struct Held {
    claimed: HashMap<Source, Kept>,
    order: VecDeque<Source>,
}

/// The records of this process.
#[derive(Debug, Default)]
pub struct Records {
    held: Mutex<Held>,
}

impl Records {
    /// Takes a message or interaction for this process; `false` when somebody has it already.
    pub fn claim(&self, source: Source, kept: Kept) -> bool {
        let Ok(mut held) = self.held.lock() else { return false };
        if held.claimed.contains_key(&source) {
            return false;
        }
        if held.order.len() >= HELD
            && let Some(oldest) = held.order.pop_front()
        {
            held.claimed.remove(&oldest);
        }
        held.order.push_back(source);
        held.claimed.insert(source, kept);
        true
    }

    /// Keeps what became of a claim.
    pub fn keep(&self, source: Source, kept: Kept) {
        if let Ok(mut held) = self.held.lock()
            && let Some(entry) = held.claimed.get_mut(&source)
        {
            *entry = kept;
        }
    }

    /// The answer to this message or interaction.
    #[must_use]
    pub fn answer(&self, source: Source) -> Option<Kept> {
        self.held.lock().ok()?.claimed.get(&source).cloned()
    }

    /// The answer that this message of ours holds.
    #[must_use]
    pub fn of_message(&self, message: u64) -> Option<(Source, Kept)> {
        let held = self.held.lock().ok()?;
        held.claimed.iter().filter(|(_, k)| k.message == message).max_by_key(|(s, _)| **s).map(|(s, k)| (*s, k.clone()))
    }
}
