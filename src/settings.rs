//! What an operator may set: a documented file, then the environment, to checked [`Settings`].
//!
//! In: `config/hatchward.toml` (or the file named by `--config` or `HATCHWARD_CONFIG`) and the environment, which wins.
//! Out: [`Settings`], or every fault at once with file, line, value and remedy. Secrets come from the environment or from
//! a file named there (`DISCORD_TOKEN`, `DISCORD_TOKEN_FILE`), never from the settings file.
//! Used by `main` alone and handed down. Start at [`Settings::load`]; a new key is one entry in [`keys`].

use std::collections::BTreeMap;
use std::fmt;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::time::Duration;

use thiserror::Error;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The file that is read where no other is named and it is there.
pub const USUAL_FILE: &str = "config/hatchward.toml";

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

/// One fault of the settings, for an operator to mend.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// "config/hatchward.toml:12" or "the environment".
    pub place: String,
    /// What was written: "discord.shards = \"0-9/4\"".
    pub written: String,
    /// What to do.
    pub remedy: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}: {}", self.place, self.written, self.remedy)
    }
}

/// Why there are no settings.
#[derive(Debug, Error, PartialEq, Eq)]
pub enum SettingsError {
    /// The named file cannot be read.
    #[error("{path}: {reason}: name a readable file with --config, or leave it out for the defaults")]
    Unreadable {
        /// The file.
        path: String,
        /// What the system said.
        reason: String,
    },
    /// Faults, each with its place.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Faults(Vec<Fault>),
}

/// A way to give a setting: its name in the file, in the environment, and what it does.
pub struct Key {
    /// "discord.shards".
    pub name: &'static str,
    /// Takes a value, or says what to write instead.
    set: fn(&mut Settings, &str) -> Result<(), String>,
    /// The value as it would be written.
    pub get: fn(&Settings) -> String,
}

impl Key {
    /// The name in the environment: `HATCHWARD_DISCORD_SHARDS`.
    #[must_use]
    pub fn variable(&self) -> String {
        format!("HATCHWARD_{}", self.name.replace('.', "_").to_uppercase())
    }
}

fn yes_or_no(text: &str) -> Result<bool, String> {
    match text {
        "true" | "yes" | "1" => Ok(true),
        "false" | "no" | "0" => Ok(false),
        _ => Err("write true or false".to_owned()),
    }
}

fn between(text: &str, low: u32, high: u32) -> Result<u32, String> {
    let number = text.parse().ok().filter(|n| (low..=high).contains(n));
    number.ok_or_else(|| format!("write a whole number from {low} to {high}"))
}

fn id(text: &str) -> Result<u64, String> {
    let number = text.parse().ok().filter(|n| *n > 0);
    number
        .ok_or_else(|| "write the id as the platform shows it: digits only, such as \"123456789012345678\"".to_owned())
}

fn seconds(text: &str, low: u32, high: u32) -> Result<Duration, String> {
    between(text, low, high).map(|n| Duration::from_secs(n.into()))
}

fn minutes(text: &str, low: u32, high: u32) -> Result<Duration, String> {
    between(text, low, high).map(|n| Duration::from_secs(u64::from(n) * 60))
}

/// An address that requests may be sent to: scheme, host, optional port, nothing behind.
fn base_address(text: &str) -> Result<String, String> {
    let wanted = "write a base address such as \"http://127.0.0.1:8080\", without a path";
    let trimmed = text.trim_end_matches('/');
    let host = trimmed.strip_prefix("https://").or_else(|| trimmed.strip_prefix("http://")).ok_or(wanted)?;
    if host.is_empty() || host.contains(['/', '?', '#', '@', ' ']) {
        return Err(wanted.to_owned());
    }
    Ok(trimmed.to_owned())
}

/// Every key, in the order of the documented file.
#[must_use]
#[expect(clippy::too_many_lines)] // one table of one line a key: it is read like the settings file
pub fn keys() -> Vec<Key> {
    vec![
        Key {
            name: "discord.api",
            set: |s, t| {
                s.api = if t.is_empty() { None } else { Some(base_address(t)?) };
                Ok(())
            },
            get: |s| s.api.clone().unwrap_or_default(),
        },
        Key {
            name: "discord.message_content",
            set: |s, t| yes_or_no(t).map(|v| s.message_content = v),
            get: |s| s.message_content.to_string(),
        },
        Key { name: "discord.shards", set: |s, t| t.parse().map(|v| s.shards = v), get: |s| s.shards.to_string() },
        Key {
            name: "discord.test_server",
            set: |s, t| {
                s.test_server = if t.is_empty() { None } else { Some(id(t)?) };
                Ok(())
            },
            get: |s| s.test_server.map(|n| n.to_string()).unwrap_or_default(),
        },
        Key {
            name: "discord.catch_up_minutes",
            set: |s, t| minutes(t, 0, 60).map(|v| s.catch_up = v),
            get: |s| (s.catch_up.as_secs() / 60).to_string(),
        },
        Key {
            name: "discord.edit_minutes",
            set: |s, t| minutes(t, 0, 60).map(|v| s.edits = v),
            get: |s| (s.edits.as_secs() / 60).to_string(),
        },
        Key {
            name: "discord.answers_days",
            set: |s, t| between(t, 1, 365).map(|v| s.answers_days = v),
            get: |s| s.answers_days.to_string(),
        },
        Key {
            name: "discord.grace_days",
            set: |s, t| between(t, 0, 365).map(|v| s.grace_days = v),
            get: |s| s.grace_days.to_string(),
        },
        Key {
            name: "limits.member_questions",
            set: |s, t| between(t, 1, 1000).map(|v| s.member_questions = v),
            get: |s| s.member_questions.to_string(),
        },
        Key {
            name: "limits.member_window_seconds",
            set: |s, t| seconds(t, 1, 3600).map(|v| s.member_window = v),
            get: |s| s.member_window.as_secs().to_string(),
        },
        Key {
            name: "limits.server_questions",
            set: |s, t| between(t, 1, 1_000_000).map(|v| s.server_questions = v),
            get: |s| s.server_questions.to_string(),
        },
        Key {
            name: "limits.server_window_seconds",
            set: |s, t| seconds(t, 1, 3600).map(|v| s.server_window = v),
            get: |s| s.server_window.as_secs().to_string(),
        },
        Key {
            name: "limits.blocked",
            set: |s, t| {
                s.blocked = t.split(',').map(str::trim).filter(|t| !t.is_empty()).map(id).collect::<Result<_, _>>()?;
                Ok(())
            },
            get: |s| s.blocked.iter().map(ToString::to_string).collect::<Vec<_>>().join(","),
        },
        Key {
            name: "health.listen",
            set: |s, t| {
                let address = || "write an address and a port, such as \"127.0.0.1:9464\", or \"\" for none".to_owned();
                s.listen = if t.is_empty() { None } else { Some(t.parse().map_err(|_| address())?) };
                Ok(())
            },
            get: |s| s.listen.map(|a| a.to_string()).unwrap_or_default(),
        },
        Key {
            name: "log.format",
            set: |s, t| {
                s.log_format = match t {
                    "auto" => LogFormat::Auto,
                    "text" => LogFormat::Text,
                    "json" => LogFormat::Json,
                    _ => return Err("write \"auto\", \"text\" or \"json\"".to_owned()),
                };
                Ok(())
            },
            get: |s| {
                match s.log_format {
                    LogFormat::Auto => "auto",
                    LogFormat::Text => "text",
                    LogFormat::Json => "json",
                }
                .to_owned()
            },
        },
        Key {
            name: "log.level",
            set: |s, t| {
                let word = |c: char| c.is_ascii_alphanumeric() || "_=:,-".contains(c);
                if t.is_empty() || !t.chars().all(word) {
                    return Err("write \"error\", \"warn\", \"info\" or \"debug\"".to_owned());
                }
                t.clone_into(&mut s.log_level);
                Ok(())
            },
            get: |s| s.log_level.clone(),
        },
        Key {
            name: "stop.grace_seconds",
            set: |s, t| seconds(t, 0, 60).map(|v| s.stop = v),
            get: |s| s.stop.as_secs().to_string(),
        },
    ]
}

impl Settings {
    /// Reads the settings file and the environment.
    ///
    /// `file` is the one that was asked for; without it [`USUAL_FILE`] is read where it exists. `environment` holds the
    /// variables of the process, so that tests need not touch it.
    ///
    /// # Errors
    /// [`SettingsError`] with every fault at once.
    pub fn load(file: Option<&Path>, environment: &BTreeMap<String, String>) -> Result<Self, SettingsError> {
        let named = file.map(PathBuf::from).or_else(|| environment.get("HATCHWARD_CONFIG").map(PathBuf::from));
        let unreadable = |path: &Path, e: &std::io::Error| SettingsError::Unreadable {
            path: path.display().to_string(),
            reason: e.to_string(),
        };
        let (path, text) = match named {
            Some(path) => {
                let text = std::fs::read_to_string(&path).map_err(|e| unreadable(&path, &e))?;
                (path, text)
            }
            None => (PathBuf::from(USUAL_FILE), std::fs::read_to_string(USUAL_FILE).unwrap_or_default()),
        };
        let mut settings = Self::default();
        let mut faults = Vec::new();
        settings.take_file(&path.display().to_string(), &text, &mut faults);
        settings.take_environment(environment, &mut faults);
        if faults.is_empty() { Ok(settings) } else { Err(SettingsError::Faults(faults)) }
    }

    /// Takes the values of a settings file; `name` is how faults call it.
    pub fn take_file(&mut self, name: &str, text: &str, faults: &mut Vec<Fault>) {
        let line = |at: usize| text.get(..at).map_or(1, |before| before.matches('\n').count() + 1);
        let table = match DeTable::parse(text) {
            Ok(table) => table,
            Err(error) => {
                faults.push(Fault {
                    place: format!("{name}:{}", line(error.span().map_or(0, |s| s.start))),
                    written: error.message().to_owned(),
                    remedy: "write it as TOML: [section], then key = value".to_owned(),
                });
                return;
            }
        };
        let keys = keys();
        for (section, values) in table.get_ref() {
            let Some(values) = values.get_ref().as_table() else {
                faults.push(Fault {
                    place: format!("{name}:{}", line(section.span().start)),
                    written: section.get_ref().to_string(),
                    remedy: "every key stands in a section, such as [discord]".to_owned(),
                });
                continue;
            };
            for (key, value) in values {
                let full = format!("{}.{}", section.get_ref(), key.get_ref());
                let place = format!("{name}:{}", line(key.span().start));
                let Some(known) = keys.iter().find(|k| k.name == full) else {
                    faults.push(Fault { place, remedy: unknown(&full, &keys), written: full });
                    continue;
                };
                let written = text.get(value.span()).unwrap_or_default();
                let taken = plain(value)
                    .ok_or_else(|| "write one value, or a list of them".to_owned())
                    .and_then(|plain| (known.set)(self, &plain));
                if let Err(remedy) = taken {
                    faults.push(Fault { place, written: format!("{full} = {written}"), remedy });
                }
            }
        }
    }

    fn take_environment(&mut self, environment: &BTreeMap<String, String>, faults: &mut Vec<Fault>) {
        let mut fault = |written: String, remedy: String| {
            faults.push(Fault { place: "the environment".to_owned(), written, remedy });
        };
        for key in keys() {
            let short = if key.name == "discord.api" { Some("HATCHWARD_DISCORD_API") } else { None };
            let Some(value) = environment.get(short.unwrap_or(&key.variable())) else { continue };
            if let Err(remedy) = (key.set)(self, value.trim()) {
                fault(format!("{}={value:?}", key.variable()), remedy);
            }
        }
        match secret(environment, "DISCORD_TOKEN") {
            Ok(token) => self.token = token,
            Err((written, remedy)) => fault(written, remedy),
        }
        match secret(environment, "DATABASE_URL") {
            Ok(address) => self.database = address,
            Err((written, remedy)) => fault(written, remedy),
        }
    }
}

/// A secret from the environment or from the file that it names; empty is absent.
///
/// # Errors
/// What is wrong and what to do; never the secret.
pub fn secret(environment: &BTreeMap<String, String>, name: &str) -> Result<Option<Secret>, (String, String)> {
    let in_file = format!("{name}_FILE");
    let text = match (environment.get(name), environment.get(&in_file)) {
        (Some(text), _) if !text.trim().is_empty() => text.clone(),
        (_, Some(path)) if !path.is_empty() => std::fs::read_to_string(path)
            .map_err(|e| (format!("{in_file}={path:?}"), format!("{e}: name a readable file with the secret")))?,
        _ => return Ok(None),
    };
    let text = text.trim();
    if text.chars().any(|c| c.is_whitespace() || c.is_control()) {
        return Err((name.to_owned(), "it holds blanks or several lines: give the secret alone".to_owned()));
    }
    Ok((!text.is_empty()).then(|| Secret::new(text)))
}

/// A value as it would be written in the environment; lists are joined by commas.
fn plain(value: &Spanned<DeValue<'_>>) -> Option<String> {
    match value.get_ref() {
        DeValue::String(text) => Some(text.to_string()),
        DeValue::Integer(number) => Some(number.to_string()),
        DeValue::Boolean(yes) => Some(yes.to_string()),
        DeValue::Array(items) => items.iter().map(plain).collect::<Option<Vec<_>>>().map(|items| items.join(",")),
        _ => None,
    }
}

fn unknown(name: &str, keys: &[Key]) -> String {
    // Half of the letters may differ: section and key together are long.
    let near = keys.iter().map(|k| (strsim::damerau_levenshtein(name, k.name), k.name)).min();
    match near.filter(|(distance, _)| *distance * 2 < name.chars().count()) {
        Some((_, near)) => format!("there is no such key; did you mean {near}?"),
        None => "there is no such key; config/hatchward.toml shows them all".to_owned(),
    }
}
