//! The chat on Discord: a message in, a reply out, drawn for the platform.
//!
//! `gateway` hears, `address` says whether it is meant for us, `questions` answers by `turns`, `embeds` draws within
//! `limits`, and everything that a member reads leaves through `rest`. Start at [`serve`].

pub mod address; // who is spoken to, and with which words
pub mod commands; // the commands and their registration
pub mod desk; // everything that answering takes
pub mod embeds; // a reply drawn for the platform
pub mod gateway; // the line on which the platform speaks
pub mod limits; // the platform's limits
pub mod questions; // a question from hearing it to its answer
pub mod records; // what is kept of answers
pub mod rest; // requests to the platform; the one way out
pub mod sentences; // what the front says for itself
pub mod turns; // words to a reply and what is kept of it

use std::sync::Arc;
use std::time::Duration;

use anyhow::{Context as _, Result};
use serenity::http::{LightMethod, Route};
use tracing::{error, info};

use crate::settings::{Settings, Shards};
use desk::Desk;
use rest::Rest;
use turns::Books;

/// How a run ended, for the exit code.
#[derive(Debug)]
pub struct Ended {
    /// 0 fine, 1 fault, 75 try again, 78 configuration.
    pub code: u8,
    /// What to say about it; empty when all is fine.
    pub why: String,
}

impl Ended {
    fn with(code: u8, why: impl Into<String>) -> Self {
        Self { code, why: why.into() }
    }
}

/// Runs the bot until it is told to stop.
///
/// # Errors
/// Only where the program itself cannot be set up; what the platform or the operator causes is an [`Ended`].
pub async fn serve(books: Books, settings: Settings) -> Result<Ended> {
    let Some(token) = &settings.token else {
        return Ok(Ended::with(
            78,
            "there is no token: put the bot's token into DISCORD_TOKEN, or name a file with it in DISCORD_TOKEN_FILE",
        ));
    };
    let rest = Rest::new(token, settings.api.clone()).context("setting up encrypted lines")?;
    let gateway = match rest
        .plain_with(Route::GatewayBot, LightMethod::Get, None, Vec::new(), Duration::from_secs(15))
        .await
    {
        Ok(gateway) => gateway,
        Err(failure) if failure.is_unauthorised() => {
            return Ok(Ended::with(78, "the platform refuses the token: put the bot's own token into DISCORD_TOKEN"));
        }
        Err(failure) => return Ok(Ended::with(75, format!("the platform cannot be reached: {failure}; try again"))),
    };
    let recommended = gateway["shards"].as_u64().and_then(|n| u32::try_from(n).ok()).unwrap_or(1).max(1);
    let stop_after = settings.stop;
    let desk = Arc::new(Desk::new(books, rest, settings));
    let mut client = gateway::client(&desk).await?;
    let shards = Arc::clone(&client.shard_manager);
    let (first, last, total) = match desk.settings.shards {
        Shards::Auto => (0, recommended - 1, recommended),
        Shards::Range { first, last, total } => (first, last, total),
    };
    info!(first, last, total, "logging in");
    let mut signals = Signals::new()?;
    // The library's range takes its end in.
    let running = client.start_shard_range(first..last, total);
    tokio::pin!(running);
    tokio::select! {
        ended = &mut running => {
            let (why, code) = match ended {
                Err(error) => gateway::ended(&error),
                Ok(()) => ("the line to the platform ended: try again".to_owned(), 75),
            };
            error!(code, "{why}");
            return Ok(Ended::with(code, why));
        }
        () = signals.next() => {}
    }
    info!("stopping: answers in flight are finished first");
    let finished = tokio::select! {
        finished = desk.close(stop_after) => finished,
        // A second signal ends at once.
        () = signals.next() => false,
    };
    // A line that the platform closed for good spins inside the library and is never closed in turn: not for ever.
    let _ = tokio::time::timeout(Duration::from_secs(1), shards.shutdown_all()).await;
    info!(finished, "stopped");
    Ok(Ended::with(0, ""))
}

/// The signals that ask to stop.
struct Signals {
    #[cfg(unix)]
    terminate: tokio::signal::unix::Signal,
}

impl Signals {
    fn new() -> Result<Self> {
        Ok(Self {
            #[cfg(unix)]
            terminate: tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate())
                .context("listening for signals")?,
        })
    }

    async fn next(&mut self) {
        #[cfg(unix)]
        tokio::select! {
            _ = self.terminate.recv() => {}
            _ = tokio::signal::ctrl_c() => {}
        }
        #[cfg(not(unix))]
        {
            let _ = tokio::signal::ctrl_c().await;
        }
    }
}
