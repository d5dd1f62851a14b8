//! Whether a reminder that was set in a server can be told by direct message: tried at once, and said as it is.
//!
//! A channel for direct messages opens with everybody, also with those who take none; only a message tells. So what was set
//! is sent once by that way, which is also what remains of it: an answer to a command vanishes.

use std::time::Duration;

use tokio::time::timeout;
use tracing::info;

use super::deliver;
use super::desk::Desk;
use super::embeds::Pages;
use super::rest::{Outgoing, To, code};
use super::sentences;
use super::turns::Turn;
use super::working::Who;
use crate::reply::Reply;

/// How long it is tried: whoever pressed a button is to have their answer in three seconds.
const MOST: Duration = Duration::from_millis(1200);

/// Where a reminder was set in a server: sends what was set, and says whether that reached who set it.
pub(super) async fn tried(desk: &Desk, who: Who, turn: &mut Turn) {
    let Some(reply) = turn.reply.as_mut().filter(|reply| reply.moment.is_some() && who.server != 0) else { return };
    let copy = Reply { answer: reply.answer.clone(), moment: reply.moment, ..Reply::default() };
    let message = Outgoing { content: Pages::of(&copy).content(0), ..Outgoing::default() };
    let sent = timeout(MOST, async {
        let channel = deliver::direct(desk, who.asker).await?;
        desk.rest
            .send(&To::Channel { channel, reply_to: None, nonce: format!("hw-set-{:x}", who.source) }, &message)
            .await
    });
    reply.notes.insert(
        0,
        match sent.await {
            Ok(Ok(_)) => sentences::letters_reach(),
            Ok(Err(failure)) if failure.code() == Some(code::CLOSED) => sentences::letters_do_not_reach(),
            failed => {
                info!(in_time = failed.is_ok(), "whether direct messages reach somebody could not be tried");
                sentences::letters_not_tried()
            }
        },
    );
}
