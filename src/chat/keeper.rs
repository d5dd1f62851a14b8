//! The keeper at this machine: a desk over their collection, for fronts that take one line at a time.
//!
//! In: a line. Out: a reply; files that are handed over are written to the folder the program was started in.
//! May touch: files that the keeper names. Never: a sentence about animals.

use std::fs;
use std::io::{Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use anyhow::{Context as _, Result};
use jiff::civil::Date;
use tokio::runtime::Runtime;
use tracing::debug;

use super::due::{self, Watch};
use super::terminal::Answers;
use crate::collection::files::{Form, MOST_BYTES};
use crate::collection::store::{Due, Place, Who};
use crate::conversation::desk::{Desk, Front, Present, Shelf, Waits};
use crate::conversation::{File, no_such_file, no_such_form, show_drawing, too_large, written};
use crate::explanations::own::Own;
use crate::reading::{Reader, places};
use crate::reply::Reply;
use crate::reply::picture::Theme;
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
    /// Reminders that a reply tells of, until it is shown.
    to_settle: Vec<Due>,
}

/// The user of this machine, as the collection knows them.
#[must_use]
pub fn user_of_machine() -> Who {
    let name =
        ["USER", "LOGNAME", "USERNAME"].into_iter().find_map(|v| std::env::var(v).ok().filter(|n| !n.is_empty()));
    Who { platform: "terminal", user: name.unwrap_or_else(|| "owner".to_owned()).chars().take(64).collect() }
}

/// A runtime for one line at a time; one thread beside it looks for what is due meanwhile.
///
/// # Errors
/// When the system has no more threads or files to give.
pub fn runtime() -> Result<Runtime> {
    tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build().context("starting the runtime")
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
        Ok(Self { runtime: runtime()?, desk, shelf, who, today, to_settle: Vec::new() })
    }

    /// The same talk with the user's own words.
    #[must_use]
    pub fn with_words(mut self, own: &'a Own) -> Self {
        self.desk = self.desk.with_words(own);
        self
    }

    /// The same talk with its pictures on this ground.
    #[must_use]
    pub fn with_theme(mut self, theme: Theme) -> Self {
        self.desk = self.desk.with_theme(theme);
        self
    }

    /// Answers one line as [`Keeper::turn`] does; what can be drawn of it goes with the reply, whether it was asked for or not.
    pub fn turn_drawn(&mut self, said: &str) -> Option<Reply> {
        let mut reply = self.turn(said)?;
        if reply.drawing.is_none() {
            show_drawing(&mut reply, self.desk.drawing());
        }
        Some(reply)
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

    /// When to answer for: now, unless a day was given.
    fn present(&self) -> Present {
        self.today.map_or_else(
            || {
                let now = jiff::Zoned::now();
                // A machine that runs by the world's clock says nothing of where its user is.
                let zone = now.time_zone().iana_name().and_then(places::own_name).filter(|name| *name != "Etc/UTC");
                Present { day: now.date(), now: Some(now.timestamp()), zone, front: Front::Terminal }
            },
            |day| Present { front: Front::Terminal, ..day.into() },
        )
    }

    /// Whether a question or something shown waits for an answer.
    #[must_use]
    pub fn waits(&self) -> bool {
        self.desk.waits_for() != Waits::Nothing
    }

    /// Whether the last line saved something.
    #[must_use]
    pub fn has_saved(&self) -> bool {
        self.desk.has_saved()
    }

    /// Takes a file of this machine in: what it would change, to be confirmed in the turns that follow.
    pub fn import(&mut self, path: &Path) -> Reply {
        let shown = path.display().to_string();
        let bytes = match read_file(path) {
            Ok(Ok(bytes)) => bytes,
            Ok(Err(size)) => return too_large(size, MOST_BYTES),
            Err(error) => return no_such_file(&shown, &error.to_string()),
        };
        let present = self.present();
        self.runtime.block_on(self.desk.receive(&self.who, present, &bytes))
    }

    /// Writes the whole collection to a file that is not there yet, in the form that its name ends with; how it went in
    /// words, and whether it was written.
    pub fn export(&mut self, path: &Path) -> (Reply, bool) {
        let form = path.file_name().and_then(|n| Form::of_name(&n.to_string_lossy()));
        let said = match form {
            Some(Form::Json) => "export everything as json",
            Some(Form::Sheet) => "export everything as a sheet",
            Some(Form::Tables) => "export everything",
            None => return (no_such_form(), false),
        };
        let present = self.present();
        let reply = self.runtime.block_on(self.desk.turn(&self.who, None, present, said)).unwrap_or_default();
        let Some(file) = self.desk.take_file() else { return (reply, false) };
        let done = written_new(path, &file.bytes).map(|()| path.to_path_buf());
        let mut reply = reply;
        reply.notes.insert(0, written(&done));
        (reply, done.is_ok())
    }

    /// Answers one line. A file that the reply hands over is written to this folder; one that the line names is read.
    pub fn turn(&mut self, said: &str) -> Option<Reply> {
        let present = self.present();
        let reply = self.runtime.block_on(self.desk.turn(&self.who, None, present, said));
        if let Some(name) = self.desk.take_wanted().filter(|name| !name.is_empty()) {
            return Some(self.import(&at_home(&name)));
        }
        let due = self.due(false);
        let reply = match (reply, due) {
            (Some(mut reply), Some(due)) => {
                reply.notes.splice(0..0, due.answer);
                Some(reply)
            }
            (reply, due) => reply.or(due),
        };
        match (reply, self.desk.take_file()) {
            (Some(mut reply), Some(file)) => {
                reply.notes.insert(0, written(&hand_over(&file, Path::new("."))));
                Some(reply)
            }
            (reply, _) => reply,
        }
    }

    /// Reminders of this keeper that are due: `opening` opens a collection that is there already, else only an open one is
    /// looked into. They count as told with [`Answers::was_shown`].
    pub fn due(&mut self, opening: bool) -> Option<Reply> {
        let there = match self.shelf.place() {
            Place::Server(_) => true,
            Place::Folder(folder) => folder.exists(),
            Place::Memory => false,
        };
        let found = self.runtime.block_on(async {
            if opening && there {
                self.shelf.store().await?;
            }
            due::due(&self.shelf, &self.who).await
        });
        // A database that is away is told of by the answers that need it.
        let found = found.unwrap_or_default();
        let reply = due::told(&found);
        self.to_settle.extend(found);
        reply
    }

    /// What looks for reminders while nothing is typed.
    #[must_use]
    pub fn watch(&self) -> Watch {
        Watch { shelf: Arc::clone(&self.shelf), who: self.who.clone(), handle: self.runtime.handle().clone() }
    }

    /// Writes the last answer as a picture to a file whose name ends in `.png` or `.svg`; one that is there is replaced.
    ///
    /// # Errors
    /// When there is nothing to draw, the name ends in something else, or the file cannot be written.
    pub fn draw(&self, path: &Path, theme: Theme) -> Result<()> {
        let end = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        let drawing = self.desk.drawing().context("there is nothing to draw in this answer: ask for odds or a plan")?;
        let picture = drawing.draw(theme);
        let bytes = match end.as_deref() {
            Some("svg") => picture.svg.into_bytes(),
            Some("png") => picture.png()?,
            _ => anyhow::bail!("{}: a picture's name ends in .png or .svg", path.display()),
        };
        fs::write(path, bytes).with_context(|| format!("writing the picture to {}", path.display()))
    }

    /// Ends the database, if it was opened.
    pub fn close(self) {
        self.runtime.block_on(self.shelf.close());
    }
}

impl Answers for Keeper<'_> {
    fn answer(&mut self, said: &str) -> Option<Reply> {
        self.turn(said)
    }

    fn was_shown(&mut self) {
        let shown = std::mem::take(&mut self.to_settle);
        if shown.is_empty() {
            return;
        }
        if let Err(error) = self.runtime.block_on(due::count_as_told(&self.shelf, &shown)) {
            debug!(reason = %error, "a reminder was shown and will be again");
        }
    }
}

/// A file's bytes, or its size where that is too large.
fn read_file(path: &Path) -> std::io::Result<Result<Vec<u8>, u64>> {
    let file = fs::File::open(path)?;
    let meta = file.metadata()?;
    if meta.is_dir() {
        return Err(std::io::Error::other("it is a folder"));
    }
    if meta.len() > MOST_BYTES {
        return Ok(Err(meta.len()));
    }
    let mut bytes = Vec::new();
    // A pipe tells no size before it is read.
    file.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    let size = u64::try_from(bytes.len()).unwrap_or(u64::MAX);
    Ok(if size > MOST_BYTES { Err(size) } else { Ok(bytes) })
}

/// "~/sheet.csv" as a shell would have it.
fn at_home(name: &str) -> PathBuf {
    match (name.strip_prefix("~/"), std::env::var_os("HOME")) {
        (Some(rest), Some(home)) => Path::new(&home).join(rest),
        _ => PathBuf::from(name),
    }
}

/// Writes a file that is not there yet; for its owner alone.
fn written_new(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        options.mode(0o600);
    }
    options.open(path)?.write_all(bytes)
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
        match written_new(&path, &file.bytes) {
            Ok(()) => return Ok(path),
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(std::io::Error::other("a thousand files of that name are there already"))
}
