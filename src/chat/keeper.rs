//! The keeper at this machine: a desk over their collection, for fronts that take one line at a time.
//!
//! In: a line. Out: a reply; files that are handed over are written to the folder the program was started in.
//! May touch: files that the keeper names. Never: a sentence about animals.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use anyhow::{Context as _, Result};
use jiff::civil::Date;
use tokio::runtime::Runtime;

use crate::collection::store::{Place, Who};
use crate::conversation::desk::{Desk, Shelf};
use crate::conversation::{File, written};
use crate::explanations::own::Own;
use crate::reading::Reader;
use crate::reply::Reply;
use crate::species::{Catalogue, SpeciesId};

/// How long a server that is down is waited for at the start.
const PATIENCE: Duration = Duration::from_secs(30);

/// Who talks at this machine.
#[derive(Debug)]
pub struct Keeper<'a> {
    runtime: Runtime,
    desk: Desk<'a>,
    shelf: Arc<Shelf>,
    who: Who,
    today: Option<Date>,
}

/// The user of this machine, as the collection knows them.
#[must_use]
pub fn user_of_machine() -> Who {
    let name =
        ["USER", "LOGNAME", "USERNAME"].into_iter().find_map(|v| std::env::var(v).ok().filter(|n| !n.is_empty()));
    Who { platform: "terminal", user: name.unwrap_or_else(|| "owner".to_owned()).chars().take(64).collect() }
}

/// A runtime for one line at a time.
///
/// # Errors
/// When the system has no more threads or files to give.
pub fn runtime() -> Result<Runtime> {
    tokio::runtime::Builder::new_current_thread().enable_all().build().context("starting the runtime")
}

impl<'a> Keeper<'a> {
    /// A talk over the collection in `place`, which is opened when a message first needs it. `today` is the day to answer
    /// for, where it is not this day.
    ///
    /// # Errors
    /// When the runtime cannot be started.
    pub fn new(
        catalogue: &'a Catalogue,
        reader: &'a Reader,
        species: Option<SpeciesId>,
        place: Place,
        who: Who,
        today: Option<Date>,
    ) -> Result<Self> {
        let shelf = Arc::new(Shelf::new(place));
        let desk = Desk::new(catalogue, reader, species, Some(Arc::clone(&shelf)));
        Ok(Self { runtime: runtime()?, desk, shelf, who, today })
    }

    /// The same talk with the user's own words.
    #[must_use]
    pub fn with_words(mut self, own: &'a Own) -> Self {
        self.desk = self.desk.with_words(own);
        self
    }

    /// Waits for a database server that is down, saying so; goes on without it after a while.
    pub fn wait_for_server(&self, mut tell: impl FnMut(&str)) {
        let opened = self.shelf.open_when_up(PATIENCE, |waiting| {
            tell(&format!("waiting for the database: {} ({} s)", waiting.error, waiting.since.as_secs()));
        });
        match self.runtime.block_on(opened) {
            Ok(()) => {}
            Err(error) => tell(&format!("{error}; odds work without it")),
        }
    }

    /// The open database, for what is done before the talk.
    pub fn shelf(&self) -> &Shelf {
        &self.shelf
    }

    /// The runtime, for what is done before the talk.
    pub fn runtime(&self) -> &Runtime {
        &self.runtime
    }

    /// Who talks.
    pub fn who(&self) -> &Who {
        &self.who
    }

    /// Answers one line. A file that the reply hands over is written to this folder.
    pub fn turn(&mut self, said: &str) -> Option<Reply> {
        let today = self.today.unwrap_or_else(|| jiff::Zoned::now().date());
        let reply = self.runtime.block_on(self.desk.turn(&self.who, None, today, said));
        match (reply, self.desk.take_file()) {
            (Some(mut reply), Some(file)) => {
                reply.notes.insert(0, written(&hand_over(&file, Path::new("."))));
                Some(reply)
            }
            (reply, _) => reply,
        }
    }

    /// Ends the database, if it was opened.
    pub fn close(self) {
        let Self { runtime, desk, shelf, .. } = self;
        drop(desk);
        if let Ok(shelf) = Arc::try_unwrap(shelf) {
            runtime.block_on(shelf.close());
        }
    }
}

/// Writes a file under a name that is free; for its owner alone.
///
/// # Errors
/// When the folder cannot be written to.
pub fn hand_over(file: &File, folder: &Path) -> std::io::Result<PathBuf> {
    let (stem, end) = file.name.rsplit_once('.').unwrap_or((&file.name, ""));
    for n in 1..1000 {
        let name = if n == 1 { file.name.clone() } else { format!("{stem}-{n}.{end}") };
        let path = folder.join(name);
        let mut options = fs::OpenOptions::new();
        options.write(true).create_new(true);
        #[cfg(unix)]
        {
            use std::os::unix::fs::OpenOptionsExt as _;
            options.mode(0o600);
        }
        match options.open(&path) {
            Ok(mut out) => {
                out.write_all(&file.bytes)?;
                return Ok(path);
            }
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(std::io::Error::other("a thousand files of that name are there already"))
}
