//! Answers that take a while: told within a second that they are coming, shown how far they are, given up on request.
//!
//! In: work, and where its answer will stand. Out: the turn, and where it goes now: instead of what was shown meanwhile.

use std::sync::Arc;
use std::time::Duration;

use serenity::http::{LightMethod, Route};
use serenity::model::id::{ChannelId, MessageId};
use tokio::time::{Instant, sleep_until, timeout};
use tracing::{debug, warn};

use super::asked::Asked;
use super::components;
use super::deliver;
use super::desk::Desk;
use super::kept::turns::Source;
use super::press::{Press, Verb};
use super::rest::To;
use super::sentences;
use super::turns::Turn;

/// When what is said while an answer takes its time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Times {
    /// An interaction is told that an answer is coming when it is not there by then; the platform gives 3 s, a member less.
    pub say_wait: Duration,
    /// How often it is said how far the work is.
    pub say_more: Duration,
    /// The platform takes an answer for a quarter of an hour; a minute before that it is given up.
    pub give_up: Duration,
}

impl Default for Times {
    fn default() -> Self {
        Self {
            say_wait: Duration::from_millis(900),
            say_more: Duration::from_secs(3),
            give_up: Duration::from_mins(14),
        }
    }
}

/// Where an answer will stand.
#[derive(Debug, Clone, Copy)]
pub enum Place<'a> {
    /// Under a message, in its channel.
    Message(ChannelId, MessageId),
    /// By a direct message that is not there yet: nothing is shown meanwhile.
    Letter(ChannelId),
    /// As the answer to an interaction, which only its asker sees or not.
    Interaction(&'a Asked, bool),
}

impl Place<'_> {
    fn first(&self, source: Source) -> To {
        match self {
            Self::Message(channel, message) => {
                To::Channel { channel: *channel, reply_to: Some(*message), nonce: source.to_string() }
            }
            Self::Letter(channel) => To::Channel { channel: *channel, reply_to: None, nonce: source.to_string() },
            Self::Interaction(asked, _) => asked.answer(),
        }
    }
}

/// Waits for the work. `None` when nothing can be answered any more.
pub async fn wait(
    desk: &Arc<Desk>,
    source: Source,
    asker: u64,
    place: Place<'_>,
    work: impl Future<Output = Turn>,
) -> Option<(Turn, To)> {
    tokio::pin!(work);
    let Times { say_wait, say_more, give_up } = desk.times;
    if let Ok(turn) = timeout(say_wait, &mut work).await {
        return Some((turn, place.first(source)));
    }
    let begun = Instant::now().checked_sub(say_wait).unwrap_or_else(Instant::now);
    let mut to = match place {
        Place::Message(channel, _) | Place::Letter(channel) => {
            let typing = desk.rest.plain(Route::ChannelTyping { channel_id: channel }, LightMethod::Post, None).await;
            if let Err(failure) = typing {
                debug!(%failure, "nobody sees that an answer is coming");
            }
            place.first(source)
        }
        Place::Interaction(asked, private) => {
            if let Err(failure) = desk.rest.defer(asked.interaction, &asked.token, false, private).await {
                warn!(%failure, "an interaction could not be told to wait");
            }
            To::Original { application: desk.application.get().copied()?, token: asked.token.clone() }
        }
    };
    let given_up = desk.cancelled(source, asker);
    let mut next = begun + say_more;
    let turn = loop {
        tokio::select! {
            turn = &mut work => break turn,
            () = given_up.notified() => break only(sentences::cancelled()),
            () = sleep_until(begun + give_up) => break Turn { fault: true, ..only(sentences::took_too_long()) },
            () = sleep_until(next) => {
                next = Instant::now() + say_more;
                if !matches!(place, Place::Letter(_)) {
                    to = show(desk, source, to, begun.elapsed()).await;
                }
            }
        }
    };
    desk.settle(source);
    Some((turn, to))
}

/// Says how far the work is, with the button to give it up. Gives where the answer goes now.
async fn show(desk: &Desk, source: Source, to: To, so_far: Duration) -> To {
    let mut message = deliver::bare(&sentences::working(so_far), false);
    message.components = vec![components::buttons(&[(Press::under(Verb::Cancel, source), "Cancel")])];
    match (desk.rest.send(&to, &message).await, &to) {
        // From here on this message is changed, and none is added.
        (Ok(sent), To::Channel { channel, .. }) => match deliver::id_of(&sent) {
            Some(message) => To::Edit { channel: *channel, message },
            None => to,
        },
        _ => to,
    }
}

fn only(reply: crate::reply::Reply) -> Turn {
    Turn { reply: Some(reply), ..Turn::default() }
}
