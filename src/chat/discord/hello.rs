//! Joining and leaving a server: one short hello when newly added, never again after a restart; nothing else unasked.

use std::sync::Arc;
use std::time::Duration;

use serenity::model::guild::Guild;
use serenity::model::id::ChannelId;
use tracing::{info, warn};

use super::deliver::{self, Look};
use super::desk::Desk;
use super::rest::To;
use super::sentences;
use super::turns::Turn;

/// A server whose name comes with a login was there before; but one that was joined just now may still be greeted: the
/// bot was added while this process was away for a moment.
const JUST_NOW: Duration = Duration::from_mins(10);

/// The bot is told of a server. `at_login` says that it was in the list of the login.
pub async fn told_of(desk: &Arc<Desk>, server: &Guild, at_login: bool) {
    let joined = server.joined_at.unix_timestamp();
    let now =
        std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).map_or(0, |d| d.as_secs().cast_signed());
    let fresh = now.saturating_sub(joined) < JUST_NOW.as_secs().cast_signed();
    // Away: better no hello than one at every restart.
    let Ok(true) = desk.kept.joined(server.id.get(), !at_login || fresh).await else { return };
    let Some(channel) = desk.places.for_hello(server.id.get()) else {
        info!("joined a server in which no channel may be written to");
        return;
    };
    let Some(_work) = desk.begin().await else { return };
    let turn = Turn { reply: Some(sentences::hello()), ..Turn::default() };
    // The same for every attempt, also of another process.
    let to = To::Channel { channel: ChannelId::new(channel), reply_to: None, nonce: format!("hello{}", server.id) };
    let plain =
        desk.places.may(server.id.get(), channel).is_some_and(|may| may & super::places::permission::EMBED == 0);
    match deliver::send(desk, &to, &turn, 0, Look { plain, ..Look::default() }).await {
        Ok(_) => info!("said hello to a new server"),
        Err(failure) => warn!(%failure, "a hello could not be said"),
    }
}

/// The bot was removed from a server.
pub async fn left(desk: &Arc<Desk>, server: u64) {
    desk.places.drop(server);
    match desk.kept.left(server).await {
        Ok(()) => {
            info!(grace_days = desk.settings.grace_days, "left a server; its settings are erased after the grace");
        }
        Err(away) => warn!(%away, "a server was left, and could not be noted"),
    }
}
