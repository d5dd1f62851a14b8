//! The log: lines for people on a terminal, JSON elsewhere. Never a message, never a token.
//!
//! The libraries below write both into their own lines (a body that cannot be read, an address with an interaction's
//! token), so nothing of theirs is taken, whatever level is set.

use std::fmt::Write as _;
use std::io::IsTerminal;

use anyhow::{Context as _, Result};
use tracing_subscriber::filter::{EnvFilter, LevelFilter, Targets};
use tracing_subscriber::layer::SubscriberExt;
use tracing_subscriber::util::SubscriberInitExt;
use tracing_subscriber::{Layer, Registry};

use crate::settings::{LogFormat, Settings};

/// Libraries whose own lines can hold what a member typed, or a token.
const SILENT: [&str; 8] =
    ["serenity", "poise", "reqwest", "hyper", "hyper_util", "tungstenite", "tokio_tungstenite", "rustls"];

/// Starts the log of this process. `ear` listens to the warnings of the library that keeps the line.
///
/// # Errors
/// When a log was started before.
pub fn start<E>(settings: &Settings, ear: E) -> Result<()>
where
    E: Layer<Registry> + Send + Sync,
{
    let json = match settings.log_format {
        LogFormat::Auto => !std::io::stderr().is_terminal(),
        LogFormat::Text => false,
        LogFormat::Json => true,
    };
    let lines = tracing_subscriber::fmt::layer().with_writer(std::io::stderr);
    let lines: Box<dyn Layer<Registry> + Send + Sync> = if json {
        Box::new(lines.json().flatten_event(true).with_filter(filter(settings)?))
    } else {
        Box::new(lines.with_ansi(std::io::stderr().is_terminal()).with_filter(filter(settings)?))
    };
    let ear = ear.with_filter(Targets::new().with_target("serenity::gateway", LevelFilter::WARN));
    let ear: Box<dyn Layer<Registry> + Send + Sync> = Box::new(ear);
    tracing_subscriber::registry().with(vec![lines, ear]).try_init().context("starting the log")
}

fn filter(settings: &Settings) -> Result<EnvFilter> {
    let mut wanted = settings.log_level.clone();
    for library in SILENT {
        let _ = write!(wanted, ",{library}=off");
    }
    EnvFilter::try_new(&wanted).with_context(|| format!("log.level = {:?} is no filter", settings.log_level))
}
