//! Where a collection is kept.

use std::fmt;
use std::path::PathBuf;
use std::str::FromStr as _;

use sqlx::postgres::PgConnectOptions;

use super::StoreError;

/// Where a collection is kept.
#[derive(Debug, Clone)]
pub enum Place {
    /// A Postgres server, version 13 or later.
    Server(ServerUrl),
    /// A Postgres inside the program, its data in this folder.
    Folder(PathBuf),
    /// A Postgres inside the program whose data is thrown away at the end.
    Memory,
}

/// A connection address. It may hold a password, so it does not print.
#[derive(Clone)]
pub struct ServerUrl(String);

impl ServerUrl {
    /// Takes an address as it stands in `DATABASE_URL`.
    #[must_use]
    pub fn new(url: String) -> Self {
        Self(url)
    }

    pub(super) fn options(&self) -> Result<PgConnectOptions, StoreError> {
        // sqlx's own message repeats parts of the address, password included.
        let options = PgConnectOptions::from_str(&self.0).map_err(|_| StoreError::Address)?;
        Ok(options.application_name("hatchward"))
    }
}

impl fmt::Debug for ServerUrl {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("ServerUrl(not shown)")
    }
}
