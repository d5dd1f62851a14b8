//! A run of the bot from start to stop: the database, the shards, the line, and how it ends.
//!
//! Whatever is wrong at the start is said in one line with what to do, and with the exit code that a supervisor needs:
//! 75 means that trying again can help, 78 that somebody has to mend the configuration first.

use std::sync::{Arc, OnceLock};
use std::time::Duration;

use anyhow::{Context as _, Result};
use serde_json::Value;
use serenity::gateway::ShardManager;
use serenity::http::{LightMethod, Route};
use tokio::time::{Instant, sleep};
use tracing::{error, info, warn};

use super::desk::Desk;
use super::kept::Kept;
use super::kept::shards::{LEASE, Lease, RENEW};
use super::rest::Rest;
use super::turns::Books;
use super::{gateway, posts, watch};
use crate::collection::reminder::STILL_THERE_HOURS;
use crate::collection::store::{Place, Store, StoreError};
use crate::settings::{Settings, Shards};
use crate::upkeep::{health, watchdog};

/// How long a database that is down is waited for at the start.
const DATABASE: Duration = Duration::from_secs(5);
/// How long shards that another process holds are waited for: a little longer than a lease, so that one which was killed
/// does not keep its successor out.
const SHARDS: Duration = Duration::from_secs(25);
/// Logins left today below which nothing is started: over the limit the platform resets the token.
const LOGINS_LEFT: i64 = 100;
/// Logins left today below which a warning is due.
const LOGINS_LOW: i64 = 500;
/// How long a program whose line was given up has for an orderly end.
const GIVEN_UP: Duration = Duration::from_secs(3);
/// How often what is over its time is erased.
const SWEEP: Duration = Duration::from_hours(1);
/// How long the platform has to tell of the servers that a login named.
const TOLD: Duration = Duration::from_mins(1);
/// How often numbers are read that nobody counts.
const COUNT: Duration = Duration::from_secs(5);

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

/// What a fault of the database means at the start.
#[must_use]
pub fn database_fault(error: &StoreError) -> Ended {
    match error {
        error if error.passes() => Ended::with(
            75,
            format!("{error}: check that the server in DATABASE_URL runs and can be reached, then try again"),
        ),
        StoreError::InUse { .. } => Ended::with(75, error.to_string()),
        error => Ended::with(78, error.to_string()),
    }
}

/// What the platform says of logging in.
#[derive(Debug, Clone)]
pub struct Gateway {
    /// The address of the line.
    pub line: String,
    /// Shards that it recommends.
    pub shards: u32,
    /// Logins left today.
    pub left: i64,
    /// Seconds until the count begins anew.
    pub again_in: u64,
}

/// Asks the platform how to log in; this also shows whether the token is good.
///
/// # Errors
/// How the run ends.
pub async fn ask_gateway(rest: &Rest) -> Result<Gateway, Ended> {
    let patience = Duration::from_secs(15);
    let told: Value = match rest.plain_with(Route::GatewayBot, LightMethod::Get, None, Vec::new(), patience).await {
        Ok(told) => told,
        Err(failure) if failure.is_unauthorised() => {
            return Err(Ended::with(78, "the platform refuses the token: put the bot's own token into DISCORD_TOKEN"));
        }
        Err(failure) => return Err(Ended::with(75, format!("the platform cannot be reached: {failure}; try again"))),
    };
    let Some(line) = told["url"].as_str() else {
        return Err(Ended::with(
            75,
            "the platform names no line to log in to: try again, or mend HATCHWARD_DISCORD_API",
        ));
    };
    let limit = &told["session_start_limit"];
    Ok(Gateway {
        line: line.to_owned(),
        shards: told["shards"].as_u64().and_then(|n| u32::try_from(n).ok()).unwrap_or(1).max(1),
        left: limit["remaining"].as_i64().unwrap_or(1000),
        again_in: limit["reset_after"].as_u64().unwrap_or(0) / 1000,
    })
}

/// The shards of this process: first, last, and of how many.
#[must_use]
pub fn range(shards: Shards, recommended: u32) -> (u32, u32, u32) {
    match shards {
        Shards::Auto => (0, recommended - 1, recommended),
        Shards::Range { first, last, total } => (first, last, total),
    }
}

/// Runs the bot until it is told to stop. `seize` takes the shards from another process that holds them.
///
/// # Errors
/// Only where the program itself cannot be set up; what the platform or the operator causes is an [`Ended`].
pub async fn serve(books: Books, settings: Settings, place: &Place, seize: bool) -> Result<Ended> {
    let mut signals = Signals::new()?;
    let Some(token) = &settings.token else {
        return Ok(Ended::with(
            78,
            "there is no token: put the bot's token into DISCORD_TOKEN, or name a file with it in DISCORD_TOKEN_FILE",
        ));
    };
    let data = match place {
        Place::Server(_) => "a Postgres server".to_owned(),
        Place::Folder(folder) => folder.display().to_string(),
        Place::Memory => "memory".to_owned(),
    };
    let commit = option_env!("HATCHWARD_COMMIT").unwrap_or("not told");
    info!(version = env!("CARGO_PKG_VERSION"), commit, data, "Hatchward begins");
    let rest = Rest::new(token, settings.api.clone()).context("setting up encrypted lines")?;
    let waiting = |w: &crate::collection::store::Waiting<'_>| info!(error = %w.error, "waiting for the database");
    let store = match Store::open_when_up(place, DATABASE, waiting).await {
        Ok(store) => store,
        Err(error) => return Ok(database_fault(&error)),
    };
    let kept = Kept::new(store, holder());
    let desk = Arc::new(Desk::new(books, rest, kept, settings));
    let lines = OnceLock::new();
    let ended = tokio::select! {
        ended = run(&desk, seize, &lines) => ended?,
        () = signals.next() => {
            watchdog::stopping();
            stop(&desk, &mut signals).await
        }
    };
    desk.close(Duration::from_secs(1)).await;
    if let Some(lines) = lines.get() {
        close_lines(lines).await;
    }
    if ended.code != 0 {
        error!(code = ended.code, "{}", ended.why);
    }
    let _ = desk.kept.let_go().await;
    let _ = tokio::time::timeout(Duration::from_secs(1), desk.kept.close()).await;
    info!(code = ended.code, "stopped");
    Ok(ended)
}

/// A name for this process that a person can find again.
fn holder() -> String {
    let host = std::fs::read_to_string("/proc/sys/kernel/hostname").unwrap_or_default();
    format!("{}:{}:{:08x}", host.trim(), std::process::id(), fastrand::u32(..))
}

/// Everything from the platform's first word to the end of the line.
async fn run(desk: &Arc<Desk>, seize: bool, lines: &OnceLock<Arc<ShardManager>>) -> Result<Ended> {
    let gateway = match ask_gateway(&desk.rest).await {
        Ok(gateway) => gateway,
        Err(ended) => return Ok(ended),
    };
    tokio::select! {
        ended = talk(desk, &gateway, seize, lines) => ended,
        // They need no line, so they need not wait for one.
        () = super::remind::run(desk) => Ok(Ended::with(75, "reminders are no longer told: try again")),
    }
}

/// The shards, the line, and everything that is said there.
async fn talk(desk: &Arc<Desk>, gateway: &Gateway, seize: bool, lines: &OnceLock<Arc<ShardManager>>) -> Result<Ended> {
    let (first, last, total) = range(desk.settings.shards, gateway.shards);
    if gateway.left < LOGINS_LEFT + i64::from(last - first) {
        let why = format!(
            "only {} logins are left today, and over the limit the platform resets the token: try again in {} minutes",
            gateway.left,
            gateway.again_in / 60 + 1
        );
        return Ok(Ended::with(75, why));
    }
    if gateway.left < LOGINS_LOW {
        warn!(left = gateway.left, "more than half of today's logins are used up");
    }
    desk.numbers.logins_left.set(gateway.left);
    if let Some(ended) = hold(desk, first, last, total, seize).await {
        return Ok(ended);
    }
    let _ = desk.total.set(total);
    let _ = desk.held.set((first, last));
    desk.numbers.shards.set(i64::from(last - first + 1));
    match desk.kept.login_turn(last - first + 1).await {
        Ok((wait, _)) => {
            if !wait.is_zero() {
                info!(wait_s = wait.as_secs(), "another process logs in first");
            }
            renewing(desk, first, last, sleep(wait)).await;
        }
        Err(away) => warn!(%away, "logging in without asking who else does"),
    }
    serve_health(desk, first, last).await;
    let mut client = gateway::client(desk, &gateway.line).await?;
    let _ = lines.set(Arc::clone(&client.shard_manager));
    info!(first, last, total, "logging in");
    {
        let desk = Arc::clone(desk);
        // Alive means that this runs at all: a line that is down is the platform's affair, and a restart would not mend it.
        watchdog::ready(move || !desk.rest.is_stuck());
    }
    Ok(tokio::select! {
        // The library's range takes its end in.
        ended = client.start_shard_range(first..last, total) => {
            let (why, code) = match ended {
                Err(error) => gateway::ended(&error),
                Ok(()) => ("the line to the platform ended: try again".to_owned(), 75),
            };
            Ended::with(code, why)
        }
        why = keep_house(desk, first, last) => Ended::with(75, why),
        (why, code) = watch::given_up() => {
            end_in_any_case(code, why);
            Ended::with(code, why)
        }
    })
}

/// Ends the program from a thread of its own if it is still there after a while. A line that the library gave up spins in
/// one of the runtime's workers; where that worker was the one that turns the clock, nothing that waits is ever woken.
fn end_in_any_case(code: u8, why: &'static str) {
    std::thread::spawn(move || {
        std::thread::sleep(GIVEN_UP);
        error!(code, "{why}");
        std::process::exit(code.into());
    });
}

/// Told to stop: answers in flight are finished; the line is closed after them.
async fn stop(desk: &Arc<Desk>, signals: &mut Signals) -> Ended {
    desk.stop_taking();
    // What is said from here on is for the next process to read back.
    info!("stopping: answers in flight are finished first");
    if let Some((first, last)) = desk.held.get() {
        let _ = desk.kept.renew(*first, *last, true).await;
    }
    let finished = tokio::select! {
        finished = desk.close(desk.settings.stop) => finished,
        // A second signal ends at once.
        () = signals.next() => false,
    };
    if !finished {
        warn!("not every answer was finished");
    }
    Ended::with(0, "")
}

/// Closes the lines. One that the platform closed for good spins inside the library and is never closed in turn: not for
/// ever.
async fn close_lines(shards: &ShardManager) {
    let _ = tokio::time::timeout(Duration::from_secs(1), shards.shutdown_all()).await;
}

/// Takes the shards; waits a while for another process to let them go.
async fn hold(desk: &Desk, first: u32, last: u32, total: u32, seize: bool) -> Option<Ended> {
    let end = Instant::now() + SHARDS;
    let mut told = false;
    loop {
        match desk.kept.hold(first, last, total, seize).await {
            Ok(Lease::Held) => return None,
            Ok(Lease::Of { holder, shard, seconds }) => {
                if Instant::now() >= end {
                    let why = format!(
                        "shard {shard} is run by {holder}, which is alive (its lease ends in {seconds} s): stop that process, \
                         give each process shards of its own, or take them over with --take-over"
                    );
                    return Some(Ended::with(75, why));
                }
                if !told {
                    info!(shard, holder, "waiting for another process to let its shards go");
                    told = true;
                }
            }
            Err(away) => {
                if Instant::now() >= end {
                    return Some(Ended::with(75, format!("{away}: check the server in DATABASE_URL, then try again")));
                }
            }
        }
        sleep(Duration::from_millis(500)).await;
    }
}

/// Renews the leases while something else is waited for.
async fn renewing(desk: &Desk, first: u32, last: u32, waiting: impl Future<Output = ()>) {
    tokio::pin!(waiting);
    loop {
        tokio::select! {
            () = &mut waiting => return,
            () = sleep(RENEW) => {
                let _ = desk.kept.renew(first, last, false).await;
            }
        }
    }
}

/// What goes on beside the talk: leases, numbers, erasing. Returns only when the shards are lost, with the reason.
async fn keep_house(desk: &Arc<Desk>, first: u32, last: u32) -> String {
    let begun = Instant::now();
    let mut renewed = begun;
    let mut swept = None;
    let mut renew = tokio::time::interval(RENEW);
    let mut count = tokio::time::interval(COUNT);
    loop {
        tokio::select! {
            _ = renew.tick() => {
                let heard = desk.numbers.connected.get() > i64::from(last - first);
                match desk.kept.renew(first, last, heard).await {
                    Ok(true) => renewed = Instant::now(),
                    Ok(false) => {
                        desk.stop_taking();
                        return "another process took these shards over: this one stops".to_owned();
                    }
                    // Nobody can take the shards over while the database is away, so there is no need to fall silent.
                    Err(_) if renewed.elapsed() > LEASE => info!("the leases could not be renewed for a while"),
                    Err(_) => {}
                }
            }
            _ = count.tick() => {
                desk.rate.sweep();
                read_numbers(desk).await;
                // Once after the login: another version of the program may word its topics differently, and a program that
                // is started anew every hour must erase what is over its time as well.
                let due = swept.map_or_else(|| is_settled(desk, begun), |at: Instant| at.elapsed() > SWEEP);
                if due {
                    if swept.is_none() {
                        posts::watch::after_login(desk).await;
                    }
                    swept = Some(Instant::now());
                    posts::refresh(desk, None).await;
                    let _ = desk.kept.store().sweep_reminders(STILL_THERE_HOURS).await;
                    if let Ok((answers, servers)) = desk.kept.sweep(desk.settings.answers_days, desk.settings.grace_days).await {
                        info!(answers, servers, "erased what was over its time");
                    }
                }
            }
        }
    }
}

/// Whether the platform has told of every server that the logins named. One that it has trouble with itself is not waited
/// for.
fn is_settled(desk: &Desk, begun: Instant) -> bool {
    let named = desk.named.load(std::sync::atomic::Ordering::Relaxed);
    desk.numbers.connected.get() > 0 && (desk.places.len() >= named || begun.elapsed() > TOLD)
}

/// Reads the numbers that nobody counts.
async fn read_numbers(desk: &Desk) {
    use std::sync::atomic::Ordering::Relaxed;
    let numbers = &desk.numbers;
    let up = desk.kept.ping().await.is_ok();
    numbers.database.set(i64::from(up));
    if let Ok((due, _)) = desk.kept.store().owed("discord").await {
        numbers.reminders_due.set(due);
    }
    numbers.connections.set(i64::from(desk.kept.pool().size()));
    numbers.servers.set(i64::try_from(desk.places.len()).unwrap_or(i64::MAX));
    let counts = &desk.rest.counts;
    for (outcome, so_far) in [
        ("fine", &counts.fine),
        ("repeated", &counts.repeated),
        ("slowed", &counts.slowed),
        ("refused", &counts.refused),
        ("fault", &counts.faults),
    ] {
        numbers.requests(outcome, so_far.load(Relaxed));
    }
}

async fn serve_health(desk: &Arc<Desk>, first: u32, last: u32) {
    let Some(address) = desk.settings.listen else { return };
    let (asked, numbered) = (Arc::clone(desk), Arc::clone(desk));
    let sources = health::Sources {
        ready: Box::new(move || {
            let desk = Arc::clone(&asked);
            Box::pin(async move {
                let mut missing = Vec::new();
                if desk.numbers.connected.get() <= i64::from(last - first) {
                    missing.push("the line to the platform");
                }
                if desk.kept.ping().await.is_err() {
                    missing.push("the database");
                }
                missing
            })
        }),
        numbers: Box::new(move || numbered.numbers.text().ok()),
    };
    match health::serve(address, sources).await {
        Ok(()) => info!(%address, "health and metrics are served"),
        // The talk goes on: a second process on one machine is no reason to be silent.
        Err(error) => warn!(%address, %error, "health is not served: set health.listen to a free address, or to \"\""),
    }
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
