//! The keys of the settings: name, how a value is taken, and how it is written.
//!
//! In: what was written. Out: a change of [`Settings`], or what to write instead. Never: a file, the environment.

use std::time::Duration;

use super::{LogFormat, Settings};

/// A way to give a setting: its name in the file, in the environment, and what it does.
pub struct Key {
    /// "discord.shards".
    pub name: &'static str,
    /// Takes a value, or says what to write instead.
    pub(super) set: fn(&mut Settings, &str) -> Result<(), String>,
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
