//! The Postgres inside the program: started for a folder or for memory, reached by a Unix socket.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use pglite_oxide::{PgliteServer, PgliteServerBuilder};
use sqlx::postgres::{PgConnectOptions, PgSslMode};
use tempfile::TempDir;
use tokio::sync::Mutex;

use super::{Place, StoreError};

/// The longest path that a socket's address has room for, on the system with the least of it.
#[cfg(unix)]
const SOCKET_PATH: usize = 100;
const PORT: u16 = 5432;

/// A running database.
#[derive(Debug)]
pub(super) struct Embedded {
    server: Mutex<Option<PgliteServer>>,
    options: PgConnectOptions,
    /// The folder of its log; none for a database that is thrown away.
    log: Option<PathBuf>,
    /// Holds the socket where the data folder's own path is too long for one, or where there is none.
    _folder: Option<TempDir>,
}

impl Embedded {
    /// Starts the database; a folder is made where it is missing, for its owner alone.
    pub(super) async fn start(place: &Place) -> Result<Self, StoreError> {
        let folder = match place {
            Place::Folder(folder) => Some(folder.clone()),
            _ => None,
        };
        // Unpacking and starting take a moment and block.
        tokio::task::spawn_blocking(move || start(folder.as_deref()))
            .await
            .map_err(|error| StoreError::Inside { reason: error.to_string() })?
    }

    pub(super) fn options(&self) -> &PgConnectOptions {
        &self.options
    }

    /// Writes through to the disk what the database has written into the system's memory: the library runs it without
    /// that, and its own switch for it fails on folders. The log alone is enough to repeat all that was committed.
    pub(super) async fn settle(&self) {
        let Some(log) = self.log.clone() else { return };
        let synced = tokio::task::spawn_blocking(move || sync_files(&log)).await;
        if let Ok(Err(error)) = synced {
            tracing::error!(reason = %error, "the collection's log could not be written to the disk");
        }
    }

    /// Ends the database; its connections must have ended.
    pub(super) async fn stop(&self) {
        if let Some(server) = self.server.lock().await.take() {
            let ended = tokio::task::spawn_blocking(move || server.shutdown()).await;
            if let Ok(Err(error)) = ended {
                tracing::warn!(reason = %error, "the database inside the program did not end cleanly");
            }
        }
    }
}

impl Drop for Embedded {
    fn drop(&mut self) {
        // The library waits for its clients when it is dropped, and a connection that nobody drives any more never ends:
        // whoever did not call `stop` must not hang for it.
        if let Some(server) = self.server.get_mut().take() {
            std::thread::spawn(move || drop(server));
        }
    }
}

fn start(folder: Option<&Path>) -> Result<Embedded, StoreError> {
    let mut builder = PgliteServer::builder();
    if let Some(folder) = folder {
        private_folder(folder)?;
        builder = builder.path(folder.join("database"));
    } else {
        builder = builder.temporary();
    }
    let (builder, temporary) = listen(builder, folder)?;
    let server = builder.start().map_err(|error| {
        let reason = format!("{error:#}");
        match folder {
            Some(folder) if reason.contains("already in use") => StoreError::InUse { folder: folder.to_path_buf() },
            _ => StoreError::Inside { reason },
        }
    })?;
    let log = folder.and_then(|_| find_log(server.root()));
    let options = PgConnectOptions::new_without_pgpass()
        .username("postgres")
        .database("template1")
        .application_name("hatchward")
        .ssl_mode(PgSslMode::Disable);
    let options = match (server.tcp_addr(), socket_folder(&server)) {
        (Some(address), _) => options.host(&address.ip().to_string()).port(address.port()),
        (None, Some(folder)) => options.socket(folder).port(PORT),
        (None, None) => options,
    };
    Ok(Embedded { server: Mutex::new(Some(server)), options, log, _folder: temporary })
}

/// The folder `pg_wal`, wherever the library puts the database below its root.
fn find_log(root: &Path) -> Option<PathBuf> {
    let mut open = vec![root.to_path_buf()];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(folder).ok()?.flatten() {
            let path = entry.path();
            if entry.file_name() == "pg_wal" {
                return Some(path);
            }
            if entry.file_type().is_ok_and(|t| t.is_dir()) {
                open.push(path);
            }
        }
    }
    None
}

fn sync_files(folder: &Path) -> io::Result<()> {
    for entry in fs::read_dir(folder)?.flatten() {
        if entry.file_type()?.is_file() {
            fs::File::open(entry.path())?.sync_data()?;
        }
    }
    Ok(())
}

#[cfg(unix)]
fn listen(
    builder: PgliteServerBuilder,
    folder: Option<&Path>,
) -> Result<(PgliteServerBuilder, Option<TempDir>), StoreError> {
    let name = format!(".s.PGSQL.{PORT}");
    if let Some(folder) = folder {
        let socket = folder.join("socket");
        if socket.as_os_str().len() + 1 + name.len() <= SOCKET_PATH {
            private_folder(&socket)?;
            return Ok((builder.unix(socket.join(name)), None));
        }
    }
    // Made for its owner alone by `tempfile`.
    let temporary = tempfile::Builder::new()
        .prefix("hatchward-")
        .tempdir()
        .map_err(|source| StoreError::Folder { folder: std::env::temp_dir(), source })?;
    Ok((builder.unix(temporary.path().join(name)), Some(temporary)))
}

/// Where there are no such sockets: a port of this machine's own, which is the library's default.
#[cfg(not(unix))]
fn listen(
    builder: PgliteServerBuilder,
    _folder: Option<&Path>,
) -> Result<(PgliteServerBuilder, Option<TempDir>), StoreError> {
    Ok((builder, None))
}

#[cfg(unix)]
fn socket_folder(server: &PgliteServer) -> Option<PathBuf> {
    server.socket_path()?.parent().map(Path::to_path_buf)
}

#[cfg(not(unix))]
fn socket_folder(_server: &PgliteServer) -> Option<PathBuf> {
    None
}

/// Makes a folder that only its owner can open, also where it was there already with wider rights.
fn private_folder(folder: &Path) -> Result<(), StoreError> {
    let made = || -> io::Result<()> {
        fs::create_dir_all(folder)?;
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            fs::set_permissions(folder, fs::Permissions::from_mode(0o700))?;
        }
        Ok(())
    };
    made().map_err(|source| StoreError::Folder { folder: folder.to_path_buf(), source })
}
