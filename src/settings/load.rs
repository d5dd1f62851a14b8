//! Settings from their file and the environment, with every fault named: where it stands, what was written, what to do.

use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};

use thiserror::Error;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::keys::{Key, keys};
use super::{Secret, Settings};

/// The file that is read where no other is named and it is there.
pub const USUAL_FILE: &str = "config/hatchward.toml";

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
