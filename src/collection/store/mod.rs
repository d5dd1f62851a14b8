//! The database: a server's or the one inside the program, with one schema and one dialect.
//!
//! In: a [`Place`]. Out: a [`Store`], migrated, whose connections see no keeper's rows until they are scoped to one.
//! Invariant: a query that forgets its scope returns nothing, because every connection runs as a role under row-level
//! security from its first statement on.
//! Start at [`Store::open`].

mod backup; // everything to a file and back
mod errors; // what can go wrong, in words for a person
mod keepers; // what is asked for one keeper
mod place; // a server, a folder, or memory
mod reminders; // moments that are due
mod schema; // migrations

#[cfg(feature = "embedded")]
mod embedded; // a Postgres inside the program

use std::time::{Duration, Instant};

use sqlx::pool::PoolConnection;
use sqlx::postgres::{PgConnectOptions, PgPoolOptions};
use sqlx::{Connection as _, PgConnection, PgPool, Postgres, Transaction};

pub use backup::BackupError;
pub use errors::StoreError;
pub use keepers::{Changed, Saved, Who};
pub use place::{Place, ServerUrl};
pub use reminders::{Claim, Due, Outcome};

/// How long a member may wait for a connection before hearing that the database is away.
const ACQUIRE: Duration = Duration::from_millis(2500);
/// How long the database inside the program may take to its first answer: on a busy machine it is still unpacking itself.
#[cfg(feature = "embedded")]
const START: Duration = Duration::from_secs(30);
/// The longest pause between two tries to reach a server that is down.
const PAUSE: Duration = Duration::from_secs(2);
/// Connections of one process. A turn holds one for a few milliseconds; more would only queue inside the server.
const CONNECTIONS: u32 = 10;

/// What every connection is told first, so that nothing of ours can hang: a slow query, a wait for a lock, a transaction
/// that a crashed turn left open.
const LIMITS: &str = "select set_config('statement_timeout', '5s', false), set_config('lock_timeout', '3s', false), \
                      set_config('idle_in_transaction_session_timeout', '10s', false)";
/// From here on the connection is under row-level security; only migrations and backups run without this.
const BOUND: &str = "set role hatchward_keeper";

/// An open database.
#[derive(Debug, Clone)]
pub struct Store {
    pool: PgPool,
    #[cfg(feature = "embedded")]
    embedded: Option<std::sync::Arc<embedded::Embedded>>,
}

/// A server that does not answer yet.
#[derive(Debug)]
pub struct Waiting<'a> {
    /// How long it has been tried.
    pub since: Duration,
    /// What the last try met.
    pub error: &'a StoreError,
}

impl Store {
    /// Opens the database and brings its schema up to date.
    ///
    /// # Errors
    /// [`StoreError`]: the server does not answer, the folder is in use, the schema is newer than the program.
    pub async fn open(place: &Place) -> Result<Self, StoreError> {
        match place {
            Place::Server(url) => Self::server(url).await,
            #[cfg(feature = "embedded")]
            Place::Folder(_) | Place::Memory => Self::inside(place).await,
            #[cfg(not(feature = "embedded"))]
            Place::Folder(_) | Place::Memory => Err(StoreError::NoneInside),
        }
    }

    /// Like [`Store::open`], but goes on trying for `patience` while a server is down; `tell` hears of each failed try.
    ///
    /// # Errors
    /// [`StoreError`], at once where waiting cannot help.
    pub async fn open_when_up(
        place: &Place,
        patience: Duration,
        mut tell: impl FnMut(&Waiting<'_>),
    ) -> Result<Self, StoreError> {
        let start = Instant::now();
        let mut pause = Duration::from_millis(100);
        loop {
            match Self::open(place).await {
                Err(error) if error.passes() && start.elapsed() < patience => {
                    tell(&Waiting { since: start.elapsed(), error: &error });
                    tokio::time::sleep(pause.min(patience.saturating_sub(start.elapsed()))).await;
                    pause = (pause * 2).min(PAUSE);
                }
                done => return done,
            }
        }
    }

    /// The pool, for tables that belong to no keeper. Keepers' tables are empty through it.
    #[must_use]
    pub fn pool(&self) -> &PgPool {
        &self.pool
    }

    /// Ends all connections, and the database inside the program after them.
    pub async fn close(&self) {
        self.pool.close().await;
        // A connection that was on its way back into the pool is parked there by the first call, and closed by this one.
        self.pool.close().await;
        #[cfg(feature = "embedded")]
        if let Some(embedded) = &self.embedded {
            embedded.stop().await;
        }
    }

    /// A connection, waited for as long as a member can wait.
    async fn connection(&self) -> Result<PoolConnection<Postgres>, StoreError> {
        Ok(self.pool.acquire().await?)
    }

    async fn begin(&self) -> Result<Transaction<'static, Postgres>, StoreError> {
        Ok(self.pool.begin().await?)
    }

    /// Makes what was committed safe from a power cut too, where the database does not do so itself.
    async fn settle(&self) {
        #[cfg(feature = "embedded")]
        if let Some(embedded) = &self.embedded {
            embedded.settle().await;
        }
    }

    async fn server(url: &ServerUrl) -> Result<Self, StoreError> {
        let options = url.options()?;
        let mut connection = connect(&options, ACQUIRE).await?;
        schema::migrate(&mut connection).await?;
        // A connection that does not say goodbye is only noise in the server's log.
        let _ = connection.close().await;
        let pool = pool(CONNECTIONS).connect_lazy_with(options);
        Ok(Self {
            pool,
            #[cfg(feature = "embedded")]
            embedded: None,
        })
    }

    #[cfg(feature = "embedded")]
    async fn inside(place: &Place) -> Result<Self, StoreError> {
        let embedded = embedded::Embedded::start(place).await?;
        let ready = async {
            let mut connection = connect(embedded.options(), START).await?;
            schema::migrate(&mut connection).await?;
            let _ = connection.close().await;
            Ok(())
        };
        if let Err(error) = ready.await {
            // Waited for, so that the next try does not find the folder in use.
            embedded.stop().await;
            return Err(error);
        }
        // The database inside the program has one session; a second connection would wait for the first to end.
        let pool = pool(1).idle_timeout(None).max_lifetime(None).connect_lazy_with(embedded.options().clone());
        Ok(Self { pool, embedded: Some(std::sync::Arc::new(embedded)) })
    }
}

fn pool(connections: u32) -> PgPoolOptions {
    PgPoolOptions::new().max_connections(connections).acquire_timeout(ACQUIRE).after_connect(|connection, _| {
        Box::pin(async move {
            sqlx::query(LIMITS).execute(&mut *connection).await?;
            sqlx::query(BOUND).execute(&mut *connection).await?;
            Ok(())
        })
    })
}

async fn connect(options: &PgConnectOptions, patience: Duration) -> Result<PgConnection, StoreError> {
    match tokio::time::timeout(patience, PgConnection::connect_with(options)).await {
        Ok(connected) => Ok(connected?),
        Err(_) => Err(StoreError::Away { reason: "no answer".to_owned() }),
    }
}
