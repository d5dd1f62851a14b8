//! A line to a Postgres server that can be cut and mended: what is on its way is lost, and nobody gets through meanwhile.

use std::path::PathBuf;
use std::sync::Arc;

use tokio::io::copy_bidirectional;
use tokio::net::{UnixListener, UnixStream};
use tokio::sync::watch;

use super::server::Server;

/// A socket of its own in front of a server's.
#[derive(Debug)]
pub(crate) struct Line {
    folder: tempfile::TempDir,
    is_cut: Arc<watch::Sender<bool>>,
}

impl Line {
    /// A line to this server.
    pub(crate) fn to(server: &Server) -> Self {
        let folder = tempfile::Builder::new().prefix("hatchward-line-").tempdir().expect("a folder");
        let listener = UnixListener::bind(folder.path().join(".s.PGSQL.5432")).expect("a socket");
        let is_cut = Arc::new(watch::Sender::new(false));
        tokio::spawn(relay(listener, server.socket().join(".s.PGSQL.5432"), Arc::clone(&is_cut)));
        Self { folder, is_cut }
    }

    /// `DATABASE_URL` of a database behind this line.
    pub(crate) fn url(&self, user: &str, database: &str) -> String {
        let socket = self.folder.path().display().to_string().replace('/', "%2F");
        format!("postgres://{user}@{socket}/{database}")
    }

    /// Cuts it: every connection breaks, and each new one at once.
    pub(crate) fn cut(&self) {
        self.is_cut.send_replace(true);
    }

    /// Mends it.
    pub(crate) fn mend(&self) {
        self.is_cut.send_replace(false);
    }
}

async fn relay(listener: UnixListener, server: PathBuf, is_cut: Arc<watch::Sender<bool>>) {
    while let Ok((mut near, _)) = listener.accept().await {
        let mut cut = is_cut.subscribe();
        if *cut.borrow_and_update() {
            continue;
        }
        let server = server.clone();
        tokio::spawn(async move {
            let Ok(mut far) = UnixStream::connect(server).await else { return };
            tokio::select! {
                _ = copy_bidirectional(&mut near, &mut far) => {}
                _ = cut.wait_for(|cut| *cut) => {}
            }
        });
    }
}
