//! What an operator may set: a documented file, then the environment, to checked [`Settings`].
//!
//! In: `config/hatchward.toml` (or the file named by `--config` or `HATCHWARD_CONFIG`) and the environment, which wins.
//! Out: [`Settings`], or every fault at once with file, line, value and remedy. Secrets come from the environment or from
//! a file named there (`DISCORD_TOKEN`, `DISCORD_TOKEN_FILE`), never from the settings file.
//! Used by `main` alone and handed down. Start at [`Settings::load`]; a new key is one entry in [`keys`].

mod keys; // every key, with how it is read and written
mod load; // the file and the environment

use std::fmt;
use std::net::SocketAddr;
use std::time::Duration;

pub use keys::{Key, keys};
pub use load::{Fault, SettingsError, USUAL_FILE, secret};

/// A text that never prints itself.
#[derive(Clone, Default, PartialEq, Eq)]
pub struct Secret(String);

impl Secret {
    /// Wraps a secret.
    #[must_use]
    pub fn new(text: impl Into<String>) -> Self {
        Self(text.into())
    }

    /// The secret itself, to be handed to the library that needs it and to nothing else.
    #[must_use]
    pub fn reveal(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("(secret)")
    }
}

/// Which shards of the bot this process runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Shards {
    /// As many as the platform recommends, all in this process.
    #[default]
    Auto,
    /// These of so many: `first..=last` of `total`.
    Range {
        /// The first shard of this process.
        first: u32,
        /// The last one, included.
        last: u32,
        /// Shards of the whole bot.
        total: u32,
    },
}

impl fmt::Display for Shards {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Auto => f.write_str("auto"),
            Self::Range { first, last, total } => write!(f, "{first}-{last}/{total}"),
        }
    }
}

impl std::str::FromStr for Shards {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        if text == "auto" {
            return Ok(Self::Auto);
        }
        let wanted = || "write \"auto\", or first-last/total such as \"0-3/8\"".to_owned();
        let (range, total) = text.split_once('/').ok_or_else(wanted)?;
        let (first, last) = range.split_once('-').unwrap_or((range, range));
        let number = |t: &str| t.trim().parse::<u32>().map_err(|_| wanted());
        let (first, last, total) = (number(first)?, number(last)?, number(total)?);
        if last < first || last >= total {
            return Err(format!("shards run from 0 to {}; {}", total.saturating_sub(1), wanted()));
        }
        Ok(Self::Range { first, last, total })
    }
}

/// How the log is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LogFormat {
    /// Text on a terminal, JSON elsewhere.
    #[default]
    Auto,
    /// Lines for people.
    Text,
    /// One JSON object a line.
    Json,
}

/// Everything that can be set, checked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settings {
    /// The token of the bot, where one is given.
    pub token: Option<Secret>,
    /// The address of a Postgres server, where one is given.
    pub database: Option<Secret>,
    /// Another base address for the platform's HTTP interface.
    pub api: Option<String>,
    /// Ask for the privileged message-content intent.
    pub message_content: bool,
    /// Which shards run here.
    pub shards: Shards,
    /// A server where commands are registered at once, for trying things out.
    pub test_server: Option<u64>,
    /// Mentions missed while disconnected are answered when they are no older than this.
    pub catch_up: Duration,
    /// How long an edited question changes its answer.
    pub edits: Duration,
    /// How long the buttons of an answer are kept.
    pub answers_days: u32,
    /// How long a server's settings outlive the bot's removal.
    pub grace_days: u32,
    /// Questions one member may ask within `member_window`.
    pub member_questions: u32,
    /// The window of `member_questions`.
    pub member_window: Duration,
    /// Questions a whole server may ask within `server_window`.
    pub server_questions: u32,
    /// The window of `server_questions`.
    pub server_window: Duration,
    /// Members and servers that are not answered.
    pub blocked: Vec<u64>,
    /// Where health and metrics are served; `None` serves none.
    pub listen: Option<SocketAddr>,
    /// How the log is written.
    pub log_format: LogFormat,
    /// What is logged, as a level or a filter such as "info,sqlx=warn".
    pub log_level: String,
    /// Answers in flight get this long at a stop.
    pub stop: Duration,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            token: None,
            database: None,
            api: None,
            message_content: false,
            shards: Shards::Auto,
            test_server: None,
            catch_up: Duration::from_mins(5),
            edits: Duration::from_mins(15),
            answers_days: 30,
            grace_days: 30,
            member_questions: 10,
            member_window: Duration::from_secs(30),
            server_questions: 60,
            server_window: Duration::from_mins(1),
            blocked: Vec::new(),
            listen: Some(SocketAddr::from(([127, 0, 0, 1], 9464))),
            log_format: LogFormat::Auto,
            log_level: "info".to_owned(),
            stop: Duration::from_secs(8),
        }
    }
}
