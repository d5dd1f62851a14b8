//! Reminders that are due, told: by direct message, else in the channel where they were set, else kept for the next visit.
//!
//! Any number of processes do this side by side: each claims some for a while, tells them under their own number, and only
//! then writes down that they were told. A process that dies in between loses the claim when its time is over; the platform
//! knows the number of a message that comes twice within minutes.
//! Invariants: what was claimed together is told apart, so that one that takes its time holds up no other; what is written
//! down as told stood in the message; only closed direct messages lead to the channel, where others read.

use std::fmt::Write as _;
use std::sync::Arc;
use std::time::Duration;

use jiff::{Timestamp, ToSpan as _};
use serenity::model::id::ChannelId;
use sha2::{Digest as _, Sha256};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::{Instant, sleep, timeout};
use tracing::{error, info, warn};

use super::deliver;
use super::desk::Desk;
use super::embeds::Pages;
use super::rest::{Failure, Outgoing, To, code};
use crate::collection::reminder::OLD_HOURS;
use crate::collection::store::{Claim, Due, Outcome, StoreError};
use crate::conversation::reminders_told;

/// How often is looked for what is due.
const LOOK: Duration = Duration::from_secs(2);
/// How long a message may take with all its attempts, by each of its two ways. What takes longer is tried again later.
const TELLING: Duration = Duration::from_secs(15);
/// How long a claim holds: longer than both ways together, and so short that the platform remembers the number of a message
/// also where one process after the other is killed with it. Measured with 10,000 reminders and 50 kills: at 90 s a message
/// came again up to 181 s after it came first.
const LEASE_S: f64 = 40.0;
/// Claimed at once.
const BATCH: u32 = 20;
/// Being told at once, by one process: a batch that takes its time leaves room for another.
const AT_ONCE: usize = 3 * BATCH as usize;
/// Until what could not be told now is tried again: soon enough for the platform to remember its number.
const PAUSE_S: f64 = 20.0;
/// The same where the platform refused it, which passes more rarely: the pause doubles up to this.
const LONGEST_PAUSE_S: f64 = 600.0;
/// How long a database that is away is waited for, to write down what was told.
const WRITING_DOWN: Duration = Duration::from_mins(10);

/// Tells what is due for as long as the program runs.
pub async fn run(desk: &Arc<Desk>) {
    let worker = format!("process {}", std::process::id());
    let room = Arc::new(Semaphore::new(AT_ONCE));
    let mut away = false;
    loop {
        // Nobody closes it; without it nothing could be told.
        let Ok(places) = Arc::clone(&room).acquire_many_owned(BATCH).await else { return };
        match round(desk, &worker, places).await {
            Ok(n) => {
                away = false;
                if n == 0 {
                    sleep(LOOK).await;
                }
            }
            Err(error) => {
                if !away {
                    warn!(%error, "reminders wait for the database");
                }
                away = true;
                sleep(LOOK).await;
            }
        }
    }
}

/// Claims what is due and begins to tell it; how many moments there were.
async fn round(desk: &Arc<Desk>, worker: &str, mut places: OwnedSemaphorePermit) -> Result<usize, StoreError> {
    // One for all of them: closing the desk waits for it, and lets nobody begin another meanwhile.
    let Some(work) = desk.begin().await.map(Arc::new) else { return Ok(0) };
    let most = i32::try_from(BATCH - 1).unwrap_or(1);
    let claim = Claim { platform: "discord", keeper: None, worker, lease_s: LEASE_S, most };
    let store = desk.kept.store();
    // The one place more is for the old ones of one keeper.
    let old = store.claim_old(claim).await?;
    let due = match store.claim_due(claim).await {
        Ok(due) => due,
        // The old ones are claimed and are not to wait until that is over.
        Err(_) if !old.is_empty() => Vec::new(),
        Err(error) => return Err(error),
    };
    let n = old.len() + due.len();
    for together in std::iter::once(old).filter(|old| !old.is_empty()).chain(due.into_iter().map(|d| vec![d])) {
        let Some(place) = places.split(1) else { break };
        let (desk, work) = (Arc::clone(desk), Arc::clone(&work));
        // A task of its own: what was begun is finished also when the program is told to stop.
        tokio::spawn(async move {
            tell(&desk, &together).await;
            drop((place, work));
        });
    }
    Ok(n)
}

/// Tells moments of one keeper, as many in a message as it holds, and writes down what became of them.
async fn tell(desk: &Desk, together: &[Due]) {
    let now = Timestamp::now();
    let mut rest = together;
    while !rest.is_empty() {
        let (part, text) = in_one_message(rest, now);
        rest = &rest[part.len()..];
        match timeout(TELLING, directly(desk, part, &text, now)).await.unwrap_or(Sent::Later(PAUSE_S)) {
            Sent::Settled(outcome) => written(settle(desk, part, outcome, now).await),
            Sent::Later(pause_s) => written(put_back(desk, part, pause_s).await),
            Sent::Closed => tell_in_channels(desk, part, now).await,
        }
    }
}

/// Tells moments where they were set, each of them there alone: what was set elsewhere is not for those who read here.
async fn tell_in_channels(desk: &Desk, part: &[Due], now: Timestamp) {
    let mut groups: Vec<Vec<Due>> = Vec::new();
    for due in part {
        match groups.iter_mut().find(|group| group[0].channel == due.channel) {
            Some(group) => group.push(due.clone()),
            None => groups.push(vec![due.clone()]),
        }
    }
    for group in groups {
        let text = Pages::of(&reminders_told(&group, now)).content(0);
        match timeout(TELLING, in_channel(desk, &group, &text, now)).await.unwrap_or(Sent::Later(PAUSE_S)) {
            Sent::Settled(outcome) => written(settle(desk, &group, outcome, now).await),
            Sent::Closed => written(settle(desk, &group, Outcome::Missed, now).await),
            Sent::Later(pause_s) => written(put_back(desk, &group, pause_s).await),
        }
    }
}

fn written(done: Result<(), StoreError>) {
    if let Err(error) = done {
        error!(%error, "what became of a reminder could not be written down: it is told once more");
    }
}

/// The moments that one message holds, with its text; always one at least.
fn in_one_message(together: &[Due], now: Timestamp) -> (&[Due], String) {
    let pages = |n: usize| Pages::of(&reminders_told(&together[..n], now));
    let n = (2..=together.len()).take_while(|n| pages(*n).len() == 1).last().unwrap_or(1);
    (&together[..n], pages(n).content(0))
}

async fn settle(desk: &Desk, part: &[Due], outcome: Outcome, now: Timestamp) -> Result<(), StoreError> {
    let next: Vec<_> = part.iter().map(|d| (d.id, d.next(now))).collect();
    let end = Instant::now() + WRITING_DOWN;
    // It was told: to give up here is to tell it twice.
    let settled = loop {
        match desk.kept.store().settle_all_due(outcome, &next).await {
            Ok(settled) => break settled,
            Err(error) if !error.passes() || Instant::now() >= end => return Err(error),
            Err(_) => sleep(Duration::from_secs(1)).await,
        }
    };
    for (due, _) in part.iter().zip(settled).filter(|(_, settled)| *settled) {
        desk.numbers.reminder(outcome == Outcome::Told, now.duration_since(due.at).as_secs_f64());
    }
    Ok(())
}

async fn put_back(desk: &Desk, part: &[Due], pause_s: f64) -> Result<(), StoreError> {
    for due in part {
        desk.kept.store().put_due_back(due.id, pause_s).await?;
    }
    Ok(())
}

/// The number under which the platform knows a message: the same whoever tries, another where it says something else.
fn number(part: &[Due]) -> String {
    if let [only] = part {
        return format!("hw-due-{:x}", only.id);
    }
    let mut all = Sha256::new();
    for due in part {
        all.update(due.id.to_be_bytes());
    }
    all.finalize().iter().take(8).fold("hw-old-".to_owned(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// What became of a message.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Sent {
    /// That is written down.
    Settled(Outcome),
    /// That way is closed.
    Closed,
    /// It can be tried again after so many seconds.
    Later(f64),
}

async fn directly(desk: &Desk, part: &[Due], text: &str, now: Timestamp) -> Sent {
    let Some(first) = part.first() else { return Sent::Settled(Outcome::Told) };
    let Ok(member) = first.user.parse::<u64>() else { return Sent::Settled(Outcome::Missed) };
    let direct = async {
        let channel = deliver::direct(desk, member).await?;
        let message = Outgoing { content: text.to_owned(), ..Outgoing::default() };
        desk.rest.send(&To::Channel { channel, reply_to: None, nonce: number(part) }, &message).await
    };
    match direct.await {
        Ok(_) => Sent::Settled(Outcome::Told),
        Err(failure) if failure.code() == Some(code::CLOSED) => Sent::Closed,
        // Whatever else it is, others are not to read it for that.
        Err(failure) => again(first, &failure, now),
    }
}

async fn in_channel(desk: &Desk, group: &[Due], text: &str, now: Timestamp) -> Sent {
    let Some(first) = group.first() else { return Sent::Settled(Outcome::Told) };
    let Some(channel) = first.channel.filter(|c| *c > 0).map(ChannelId::new) else {
        info!("a reminder could not be told: direct messages are closed, and it was set in none of the channels");
        return Sent::Closed;
    };
    let owner = &first.user;
    let message =
        Outgoing { content: format!("<@{owner}> {text}"), mentions: owner.parse().ok(), ..Outgoing::default() };
    match desk.rest.send(&To::Channel { channel, reply_to: None, nonce: number(group) }, &message).await {
        Ok(_) => Sent::Settled(Outcome::Told),
        // The channel is gone, or closed to the bot.
        Err(Failure::Refused { status: 403 | 404, .. }) => {
            info!("a reminder could be told nowhere");
            Sent::Closed
        }
        Err(failure) => again(first, &failure, now),
    }
}

/// What comes of a failure that may pass: a day long it is tried again.
fn again(due: &Due, failure: &Failure, now: Timestamp) -> Sent {
    if !matches!(failure, Failure::Refused { .. } | Failure::Breach(_)) {
        return Sent::Later(PAUSE_S);
    }
    warn!(%failure, tries = due.tries, "a reminder was refused");
    let given_up = due.at.checked_add(i64::from(OLD_HOURS).hours()).is_ok_and(|end| end <= now);
    // The token is the operator's affair, and a keeper loses nothing by it.
    if given_up && !failure.is_unauthorised() {
        return Sent::Settled(Outcome::Missed);
    }
    Sent::Later((PAUSE_S * 2_f64.powi(i32::from(due.tries) - 1)).min(LONGEST_PAUSE_S))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::collection::animal::KeeperId;

    fn due(id: i64, what: &str) -> Due {
        Due {
            id,
            keeper: KeeperId(1),
            user: "7".to_owned(),
            number: 1,
            what: what.to_owned(),
            zone: "Europe/Berlin".to_owned(),
            rule: None,
            extra: false,
            channel: None,
            at: Timestamp::UNIX_EPOCH,
            tries: 1,
        }
    }

    #[test]
    fn what_is_told_together_stands_whole_in_its_message() {
        // The longest text there can be, of letters that all have to be escaped.
        let all: Vec<Due> = (1..=100).map(|n| due(n, &"*".repeat(300))).collect();
        let (mut rest, mut heard) = (&all[..], 0);
        while !rest.is_empty() {
            let (part, text) = in_one_message(rest, Timestamp::now());
            assert!(!text.contains("page 1 of"), "{text}");
            assert!(text.chars().count() <= super::super::limits::CONTENT);
            heard += text.matches("Reminder 1").count();
            rest = &rest[part.len()..];
        }
        assert_eq!(heard, 100);
    }

    #[test]
    fn a_number_is_that_of_what_is_told_and_fits() {
        let (one, other) = (due(i64::MAX, "feed"), due(2, "feed"));
        let numbers = [number(std::slice::from_ref(&one)), number(&[one.clone(), other.clone()]), number(&[other])];
        assert!(numbers.iter().all(|n| n.len() <= 25), "{numbers:?}: the platform takes 25 characters");
        assert!(numbers[0] != numbers[1] && numbers[1] != numbers[2]);
        assert_eq!(numbers[0], number(&[Due { tries: 2, ..one }]), "another try is the same message");
    }

    #[test]
    fn what_was_refused_is_tried_more_and_more_rarely_and_for_a_day() {
        let refused = Failure::Refused { status: 400, code: 20_026 };
        let now = Timestamp::UNIX_EPOCH + 1.hours();
        let tried = |tries| again(&Due { tries, ..due(1, "feed") }, &refused, now);
        assert_eq!([tried(1), tried(2), tried(30)], [Sent::Later(20.0), Sent::Later(40.0), Sent::Later(600.0)]);
        assert_eq!(again(&due(1, "feed"), &Failure::Busy, now), Sent::Later(20.0));
        let day_later = Timestamp::UNIX_EPOCH + 25.hours();
        assert_eq!(again(&due(1, "feed"), &refused, day_later), Sent::Settled(Outcome::Missed));
        let token = Failure::Refused { status: 401, code: 0 };
        assert!(matches!(again(&due(1, "feed"), &token, day_later), Sent::Later(_)));
    }
}
