//! What is kept of the talk on the platform, in the database: answers, servers, shards, saved pairings.
//!
//! In: ids and the program's own wording. Out: the same. A word that a member typed, or a file of theirs, only where
//! something was asked back about their own animals, until it is answered, and what moderators write for their server.
//! Invariant: a database that is away never holds up an answer for longer than [`PATIENCE`]; after that it is not asked
//! again for a moment, so that a hundred questions do not each wait for it.

pub mod pairings; // what members saved
pub mod posts; // explanations that stand in channels
pub mod servers; // what each server set
pub mod shards; // who runs which shard, and when to log in
pub mod turns; // answers: claims, follow-ups, buttons
pub mod uploads; // files that wait to be taken in
pub mod words; // a server's own words

use std::sync::Mutex;
use std::time::{Duration, Instant};

use sqlx::PgPool;
use thiserror::Error;
use tracing::{info, warn};

use crate::collection::store::Store;

/// How long an answer waits for the database.
pub const PATIENCE: Duration = Duration::from_millis(800);
/// How long a database that was away is left alone.
const PAUSE: Duration = Duration::from_secs(1);

/// The database does not answer now; odds and explanations go on without it.
#[derive(Debug, Error, Clone, Copy, PartialEq, Eq)]
#[error("the database is away")]
pub struct Away;

/// The database, and whether it answers.
#[derive(Debug)]
pub struct Kept {
    store: Store,
    away: Mutex<Option<Instant>>,
    held: turns::Held,
    known: servers::Known,
    spoken: words::Spoken,
    posting: posts::Posting,
    /// The name under which this process holds its shards.
    pub holder: String,
}

impl Kept {
    /// The channel in which a question was asked; `None` where it is not known now.
    pub async fn channel_of(&self, source: u64) -> Option<u64> {
        let row = sqlx::query("select channel_id from discord_turn where source = $1").bind(source.cast_signed());
        let row = row.fetch_optional(self.pool()).await.ok()??;
        sqlx::Row::try_get::<i64, _>(&row, 0).ok().map(i64::cast_unsigned)
    }

    /// What is kept in this database; `holder` names this process.
    #[must_use]
    pub fn new(store: Store, holder: String) -> Self {
        Self {
            store,
            away: Mutex::new(None),
            held: turns::Held::default(),
            known: servers::Known::default(),
            spoken: words::Spoken::default(),
            posting: posts::Posting::default(),
            holder,
        }
    }

    /// Whether the database answered last time.
    #[must_use]
    pub fn is_away(&self) -> bool {
        self.away.lock().is_ok_and(|a| a.is_some())
    }

    /// The database itself, for its numbers.
    #[must_use]
    pub fn pool(&self) -> &PgPool {
        self.store.pool()
    }

    /// The store, for what belongs to one keeper.
    #[must_use]
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// Ends the connections.
    pub async fn close(&self) {
        self.store.clone().close().await;
    }

    /// Asks the database whether it is there.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn ping(&self) -> Result<(), Away> {
        self.ask(sqlx::query("select 1").execute(self.pool())).await.map(drop)
    }

    /// Waits for a query, but not for long.
    async fn ask<T>(&self, query: impl Future<Output = Result<T, sqlx::Error>>) -> Result<T, Away> {
        let left_alone = self.away.lock().is_ok_and(|a| a.is_some_and(|until| until > Instant::now()));
        if left_alone {
            return Err(Away);
        }
        let why = match tokio::time::timeout(PATIENCE, query).await {
            Ok(Ok(found)) => {
                if let Ok(mut away) = self.away.lock()
                    && away.take().is_some()
                {
                    info!("the database is back");
                }
                return Ok(found);
            }
            // The message of the database can repeat values; its code cannot.
            Ok(Err(sqlx::Error::Database(said))) => said.code().map_or_else(String::new, |c| format!("code {c}")),
            Ok(Err(_)) => "no connection".to_owned(),
            Err(_) => "no answer".to_owned(),
        };
        if let Ok(mut away) = self.away.lock()
            && away.replace(Instant::now() + PAUSE).is_none()
        {
            warn!(why, "the database is away");
        }
        Err(Away)
    }
}

/// Ids of the platform are unsigned, the database's numbers signed; the bits are the same.
pub(crate) fn signed(id: u64) -> i64 {
    id.cast_signed()
}

/// The way back from [`signed`].
pub(crate) fn unsigned(id: i64) -> u64 {
    id.cast_unsigned()
}
