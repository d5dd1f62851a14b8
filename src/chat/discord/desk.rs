//! The desk at which every question is answered: dictionaries, the way to the platform, records, limits.
//!
//! One for the whole program; handlers borrow it. Invariant: once it is closed nothing new is begun, and closing waits for
//! what is being written.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

use serenity::model::id::{ApplicationId, UserId};
use tokio::sync::{OwnedRwLockReadGuard, RwLock};

use super::records::Records;
use super::rest::Rest;
use super::turns::Books;
use crate::settings::Settings;

/// Everything that answering takes.
#[derive(Debug)]
pub struct Desk {
    /// The dictionaries.
    pub books: Books,
    /// The way to the platform.
    pub rest: Rest,
    /// What is kept of answers.
    pub records: Records,
    /// What the operator set.
    pub settings: Settings,
    /// The bot's own id, from its login on.
    pub me: OnceLock<UserId>,
    /// The id of the application, from its login on.
    pub application: OnceLock<ApplicationId>,
    closed: AtomicBool,
    busy: Arc<RwLock<()>>,
}

/// Held while an answer is being written.
#[derive(Debug)]
pub struct Work(#[allow(dead_code)] OwnedRwLockReadGuard<()>); // it is held, not read

impl Desk {
    /// Opens a desk.
    #[must_use]
    pub fn new(books: Books, rest: Rest, settings: Settings) -> Self {
        Self {
            books,
            rest,
            records: Records::default(),
            settings,
            me: OnceLock::new(),
            application: OnceLock::new(),
            closed: AtomicBool::new(false),
            busy: Arc::new(RwLock::new(())),
        }
    }

    /// Begins an answer; `None` once the desk is closed.
    pub async fn begin(&self) -> Option<Work> {
        if self.closed.load(Ordering::Acquire) {
            return None;
        }
        let work = Work(Arc::clone(&self.busy).read_owned().await);
        // It may have closed while this one waited.
        (!self.closed.load(Ordering::Acquire)).then_some(work)
    }

    /// Closes the desk: nothing new is begun. Waits for the answers in flight, `most` at longest; `true` when all are done.
    pub async fn close(&self, most: Duration) -> bool {
        self.closed.store(true, Ordering::Release);
        tokio::time::timeout(most, self.busy.write()).await.is_ok()
    }
}
