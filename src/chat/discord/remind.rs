//! Reminders that are due, told: by direct message, else in the channel where they were set, else kept for the next visit.
//!
//! Any number of processes do this side by side: each claims some for a while, tells them under their own number, and only
//! then writes down that they were told. A process that dies in between loses the claim when its time is over; the platform
//! knows the number of a message that comes twice within minutes.

use std::sync::Arc;
use std::time::Duration;

use jiff::Timestamp;
use serenity::model::id::ChannelId;
use tokio::task::JoinSet;
use tokio::time::sleep;
use tracing::{info, warn};

use super::deliver;
use super::desk::Desk;
use super::embeds::Pages;
use super::rest::{Failure, Outgoing, To};
use crate::collection::reminder::rule::Rule;
use crate::collection::store::{Claim, Due, Outcome, StoreError};
use crate::conversation::reminders_told;
use crate::reading::places;

/// How often is looked for what is due.
const LOOK: Duration = Duration::from_secs(2);
/// How long a claim holds: longer than a message with all its attempts may take, shorter than the platform remembers
/// its number.
const LEASE_S: f64 = 90.0;
/// Claimed at once.
const BATCH: i32 = 20;
/// Until what could not be told now is tried again.
const PAUSE_S: f64 = 20.0;

/// Tells what is due for as long as the program runs.
pub async fn run(desk: &Arc<Desk>) {
    let worker = format!("process {}", std::process::id());
    let mut away = false;
    loop {
        match round(desk, &worker).await {
            Ok(0) => sleep(LOOK).await,
            Ok(_) => {}
            Err(error) => {
                if !away {
                    warn!(%error, "reminders wait for the database");
                }
                away = true;
                sleep(LOOK).await;
                continue;
            }
        }
        away = false;
    }
}

/// Claims what is due and tells it; how many moments there were.
async fn round(desk: &Arc<Desk>, worker: &str) -> Result<usize, StoreError> {
    let Some(_work) = desk.begin().await else { return Ok(0) };
    let claim = Claim { platform: "discord", keeper: None, worker, lease_s: LEASE_S, most: BATCH };
    let store = desk.kept.store();
    let old = store.claim_old(claim).await?;
    let due = store.claim_due(claim).await?;
    let n = old.len() + due.len();
    let mut telling = JoinSet::new();
    for together in std::iter::once(old).filter(|old| !old.is_empty()).chain(due.into_iter().map(|d| vec![d])) {
        let desk = Arc::clone(desk);
        telling.spawn(async move { tell(&desk, &together).await });
    }
    while let Some(told) = telling.join_next().await {
        if let Ok(told) = told {
            told?;
        }
    }
    Ok(n)
}

/// Tells moments of one keeper in one message, and writes down what became of them.
async fn tell(desk: &Desk, together: &[Due]) -> Result<(), StoreError> {
    let Some(first) = together.first() else { return Ok(()) };
    let now = Timestamp::now();
    let outcome = send(desk, first, &Pages::of(&reminders_told(together, now)).content(0)).await;
    let store = desk.kept.store();
    for due in together {
        let late = now.duration_since(due.at).as_secs_f64();
        match outcome {
            Some(outcome) => {
                store.settle_due(due.id, outcome, next(due.rule.as_ref(), &due.zone, due.at.max(now))).await?;
                desk.numbers.reminder(outcome == Outcome::Told, late);
            }
            None => store.put_due_back(due.id, PAUSE_S).await?,
        }
    }
    Ok(())
}

/// When a rule comes next.
fn next(rule: Option<&Rule>, zone: &str, after: Timestamp) -> Option<Timestamp> {
    rule?.next(&places::zone(zone)?, after)
}

/// What became of a message; `None` where it can be tried again.
async fn send(desk: &Desk, due: &Due, text: &str) -> Option<Outcome> {
    let Ok(member) = due.user.parse::<u64>() else { return Some(Outcome::Missed) };
    let nonce = format!("hw-due-{}", due.id);
    let direct = async {
        let channel = deliver::direct(desk, member).await?;
        let message = Outgoing { content: text.to_owned(), ..Outgoing::default() };
        desk.rest.send(&To::Channel { channel, reply_to: None, nonce: nonce.clone() }, &message).await
    };
    match direct.await {
        Ok(_) => return Some(Outcome::Told),
        Err(Failure::Refused { .. }) => {}
        Err(_) => return None,
    }
    let Some(channel) = due.channel.filter(|c| *c > 0).map(ChannelId::new) else { return Some(Outcome::Missed) };
    let content = format!("<@{member}> {text}");
    let message = Outgoing { content, mentions: Some(member), ..Outgoing::default() };
    match desk.rest.send(&To::Channel { channel, reply_to: None, nonce }, &message).await {
        Ok(_) => Some(Outcome::Told),
        Err(Failure::Refused { .. }) => {
            info!("a reminder could be told nowhere");
            Some(Outcome::Missed)
        }
        Err(_) => None,
    }
}
