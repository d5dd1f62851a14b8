//! What was asked while nobody listened. A line that is lost without a resume, and a restart, lose what was said meanwhile;
//! the platform's history still has it.
//!
//! After a new login each server says when something was last written in each of its channels. Where that is later than
//! the platform was last heard, the channel is read back, and mentions in it are answered as if they came just now. The
//! claim sees to it that none is answered twice. Interactions cannot be read back: they are dead after three seconds.

use std::sync::Arc;
use std::time::Duration;

use serenity::http::{LightMethod, Route};
use serenity::model::channel::Message;
use serenity::model::guild::Guild;
use serenity::model::id::{ChannelId, GuildId};
use tracing::{info, warn};

use super::desk::{Desk, id_after, now_ms};
use super::questions;

/// Messages read back in one channel: one request.
const MOST: u32 = 100;
/// Channels read back in one server.
const CHANNELS: usize = 20;
/// How long a channel may take to be read back.
const PATIENCE: Duration = Duration::from_secs(20);
/// A little more is read back than was missed: what was on its way when the line broke.
const MARGIN_MS: u64 = 2_000;

/// Direct messages with people who talked to the bot within so long are read back.
const TALKED: Duration = Duration::from_hours(24);

/// A shard logged in. `before` is when the platform was last heard on it by this process.
pub async fn note_login(desk: &Arc<Desk>, shard: u32, before: Option<u64>) {
    let heard = match before {
        Some(ms) => Some(ms),
        // What another process, or this one before its restart, heard last.
        None => desk.kept.last_heard(shard).await.ok().flatten().and_then(|ms| u64::try_from(ms).ok()),
    };
    let since = heard.map(|ms| ms.saturating_sub(MARGIN_MS));
    desk.set_missed(shard, since);
    // From here on somebody listens; a process that is killed at once leaves this behind.
    let _ = desk.kept.note_heard(shard).await;
    // Direct messages come on the first shard, and no login tells of their channels.
    if let (0, Some(since)) = (shard, since) {
        let Ok(channels) = desk.kept.direct_channels(TALKED, CHANNELS).await else { return };
        Box::pin(read_back(desk, shard, None, channels, since)).await;
    }
}

/// Reads back what was missed in a server that the login tells of.
pub async fn server(desk: &Arc<Desk>, server: &Guild) {
    let Some((shard, since)) = desk.missed(server.id.get()).await else { return };
    let mut channels = desk.places.spoken_since(server.id.get(), after(desk, since));
    channels.truncate(CHANNELS);
    Box::pin(read_back(desk, shard, Some(server.id), channels, since)).await;
}

/// The id behind which messages are read: not older than the operator wants.
fn after(desk: &Desk, since: u64) -> u64 {
    let most = u64::try_from(desk.settings.catch_up.as_millis()).unwrap_or(u64::MAX);
    id_after(since.max(now_ms().saturating_sub(most)))
}

async fn read_back(desk: &Arc<Desk>, shard: u32, server: Option<GuildId>, channels: Vec<u64>, since: u64) {
    if desk.settings.catch_up.is_zero() {
        return;
    }
    for channel in channels {
        let route = Route::ChannelMessages { channel_id: ChannelId::new(channel) };
        let params = vec![("after", after(desk, since).to_string()), ("limit", MOST.to_string())];
        let read = desk.rest.plain_with(route, LightMethod::Get, None, params, PATIENCE).await;
        let messages = match read.map(serde_json::from_value::<Vec<Message>>) {
            Ok(Ok(messages)) => messages,
            Ok(Err(_)) => continue,
            Err(failure) => {
                warn!(%failure, "a channel could not be read back");
                continue;
            }
        };
        let mut answered = 0_u64;
        // Oldest first, as they were asked.
        for mut message in messages.into_iter().rev() {
            message.guild_id = server;
            answered += u64::from(questions::message(desk, &message, shard).await);
        }
        if answered > 0 {
            desk.numbers.caught_up.inc_by(answered);
            info!(shard, answered, "answered what was asked while the line was down");
        }
    }
}
