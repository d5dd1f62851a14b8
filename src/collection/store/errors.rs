//! What can go wrong with the database.

use std::io;
use std::path::PathBuf;

use sqlx::migrate::MigrateError;
use thiserror::Error;

/// Why the database did not do what was asked.
#[derive(Debug, Error)]
pub enum StoreError {
    /// `DATABASE_URL` does not parse.
    #[error("DATABASE_URL is no Postgres address: write postgres://user@host:5432/database, or leave it out")]
    Address,
    /// Nobody answers, or the answer takes too long. It may pass.
    #[error("the database does not answer ({reason})")]
    Away {
        /// What the last try met.
        reason: String,
    },
    /// A query or a wait for a lock was cut off. It may pass.
    #[error("the database is too busy: the question was given up after its time limit")]
    Busy,
    /// Another process is bringing the schema up to date.
    #[error("another process is changing the schema of this database; try again in a minute")]
    Migrating,
    /// The schema has steps that this program does not know.
    #[error(
        "this database was made by a newer Hatchward (step {found}, this program knows {known}): update the program"
    )]
    Newer {
        /// The step that is not known.
        found: i64,
        /// The last step that is.
        known: i64,
    },
    /// A step of the schema is not the one this program has under its number.
    #[error("step {step} of this database's schema is not this program's: was it made by another build?")]
    Differs {
        /// The step.
        step: i64,
    },
    /// The folder's database is open elsewhere.
    #[error("the collection in {} is open in another Hatchward: close that one first, or use --memory", folder.display())]
    InUse {
        /// The data folder.
        folder: PathBuf,
    },
    /// The folder cannot be used.
    #[error("the data folder {} cannot be used: {source}", folder.display())]
    Folder {
        /// The data folder.
        folder: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// The database inside the program did not start.
    #[error("the database inside the program did not start: {reason}")]
    Inside {
        /// What it said.
        reason: String,
    },
    /// This build has no database inside.
    #[error("this build has no database inside: set DATABASE_URL to a Postgres server")]
    NoneInside,
    /// Anything else the database says.
    #[error("the database refused: {0}")]
    Refused(#[source] Box<sqlx::Error>),
}

impl StoreError {
    /// Whether the same thing may go well a little later.
    #[must_use]
    pub fn passes(&self) -> bool {
        matches!(self, Self::Away { .. } | Self::Busy | Self::Migrating)
    }
}

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> Self {
        match &error {
            sqlx::Error::Io(io) => Self::Away { reason: io.to_string() },
            sqlx::Error::Tls(_) => Self::Away { reason: "no encrypted connection".to_owned() },
            sqlx::Error::PoolTimedOut | sqlx::Error::PoolClosed | sqlx::Error::WorkerCrashed => {
                Self::Away { reason: "no free connection".to_owned() }
            }
            sqlx::Error::Database(said) => match said.code().as_deref() {
                // query_canceled, lock_not_available, idle_in_transaction_session_timeout
                Some("57014" | "55P03" | "25P03") => Self::Busy,
                // admin_shutdown, crash_shutdown, cannot_connect_now, too_many_connections
                Some("57P01" | "57P02" | "57P03" | "53300") => Self::Away { reason: said.message().to_owned() },
                _ => Self::Refused(Box::new(error)),
            },
            _ => Self::Refused(Box::new(error)),
        }
    }
}

impl StoreError {
    pub(super) fn migrating(error: MigrateError, known: i64) -> Self {
        match error {
            MigrateError::VersionMissing(found) => Self::Newer { found, known },
            MigrateError::VersionMismatch(step) => Self::Differs { step },
            MigrateError::Execute(error) | MigrateError::ExecuteMigration(error, _) => match Self::from(error) {
                Self::Busy => Self::Migrating,
                other => other,
            },
            other => Self::Refused(Box::new(sqlx::Error::Migrate(Box::new(other)))),
        }
    }
}
