//! A question from hearing it to the answer that stands in the channel.
//!
//! In: a message or the text of a command. Out: what is sent and what is kept. The same four steps every time: claim,
//! work it out, send, keep.

use std::sync::Arc;
use std::time::Duration;

use serenity::model::channel::Message;
use serenity::model::id::{ChannelId, GuildId, InteractionId, MessageId, UserId};
use tracing::{info, warn};

use super::address::{self, Heard, How};
use super::desk::Desk;
use super::embeds::{self, Pages};
use super::records::Kept;
use super::rest::{Failure, Outgoing, To, code};
use super::sentences;
use super::turns::{self, Thread, Turn};
use crate::reply::Reply;

/// An interaction is told that an answer is coming when it is not there by then; the platform gives 3 s, a member less.
const SAY_WAIT: Duration = Duration::from_millis(900);

/// Answers a new message, if it is meant for the bot.
pub async fn message(desk: &Arc<Desk>, message: &Message) {
    let Some(me) = desk.me.get() else { return };
    let Heard::Said(how, said) = address::heard(message, *me) else { return };
    let Some(_work) = desk.begin().await else { return };
    let kept = Kept {
        channel: message.channel_id.get(),
        guild: message.guild_id.map_or(0, GuildId::get),
        asker: message.author.id.get(),
        ..Kept::default()
    };
    if !desk.records.claim(message.id.get(), kept.clone()) {
        return;
    }
    let thread = message.referenced_message.as_ref().map(|m| talk_under(desk, m)).unwrap_or_default();
    let turn = work_out(desk, thread, said).await;
    let Some(reply) = spoken_to(how, turn.reply.clone()) else { return };
    let to = To::Channel { channel: message.channel_id, reply_to: Some(message.id), nonce: message.id.to_string() };
    let sent = send(desk, &to, &reply, false).await;
    note("message", &sent);
    if let Ok(message_id) = sent {
        desk.records
            .keep(message.id.get(), Kept { message: message_id, thread: turn.thread, choices: turn.choices, ..kept });
    }
}

/// What a message of ours was about: by its record, else by its own text.
fn talk_under(desk: &Desk, answer: &Message) -> Thread {
    if let Some((_, kept)) = desk.records.of_message(answer.id.get()) {
        return kept.thread;
    }
    let text = answer.embeds.iter().filter_map(|e| e.description.as_deref()).chain([answer.content.as_str()]);
    Thread { last: text.into_iter().find_map(embeds::request_in).unwrap_or_default(), ..Thread::default() }
}

/// Silence is an answer among people; who speaks to the bot itself hears that no question was heard.
fn spoken_to(how: How, reply: Option<Reply>) -> Option<Reply> {
    match (how, reply) {
        (_, Some(reply)) => Some(reply),
        // "thanks!" under an answer wants none.
        (How::Reply, None) => None,
        (How::Mention | How::Direct, None) => Some(sentences::no_question()),
    }
}

/// Who asked by an interaction, and how it is answered.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The interaction.
    pub interaction: InteractionId,
    /// Its token.
    pub token: String,
    /// The channel.
    pub channel: ChannelId,
    /// The server.
    pub guild: Option<GuildId>,
    /// Who asked.
    pub asker: UserId,
    /// Only the asker sees the answer.
    pub private: bool,
}

/// Answers the text of a command.
pub async fn command(desk: &Arc<Desk>, asked: &Asked, said: String) {
    let Some(_work) = desk.begin().await else { return };
    let kept = Kept {
        channel: asked.channel.get(),
        guild: asked.guild.map_or(0, GuildId::get),
        asker: asked.asker.get(),
        private: asked.private,
        ..Kept::default()
    };
    if !desk.records.claim(asked.interaction.get(), kept.clone()) {
        return;
    }
    let answer = To::Answer { interaction: asked.interaction, token: asked.token.clone(), update: false };
    let work = work_out(desk, Thread::default(), said);
    tokio::pin!(work);
    let (turn, to) = match tokio::time::timeout(SAY_WAIT, &mut work).await {
        Ok(turn) => (turn, answer),
        Err(_) => {
            if let Err(failure) = desk.rest.defer(asked.interaction, &asked.token, false, asked.private).await {
                warn!(%failure, "an interaction could not be told to wait");
            }
            let Some(application) = desk.application.get().copied() else { return };
            (work.await, To::Original { application, token: asked.token.clone() })
        }
    };
    let reply = turn.reply.clone().unwrap_or_else(sentences::no_question);
    let sent = send(desk, &to, &reply, asked.private).await;
    note("command", &sent);
    if let Ok(message) = sent {
        let kept = Kept { message, thread: turn.thread, choices: turn.choices, ..kept };
        desk.records.keep(asked.interaction.get(), kept);
    }
}

/// Works an answer out, away from the threads that keep the lines to the platform alive.
async fn work_out(desk: &Arc<Desk>, thread: Thread, said: String) -> Turn {
    let books = desk.books;
    let nothing = Turn { reply: None, thread: thread.clone(), choices: Vec::new(), odds: false };
    let worked = tokio::task::spawn_blocking(move || turns::turn(books, None, &thread, &said)).await;
    worked.unwrap_or_else(|error| {
        tracing::error!(%error, "a question made the program stumble");
        Turn { reply: Some(sentences::our_fault()), ..nothing }
    })
}

/// Sends a reply as an embed, or as plain text where embeds are not allowed. Gives the id of the message, 0 where the
/// platform does not say it.
async fn send(desk: &Desk, to: &To, reply: &Reply, private: bool) -> Result<u64, Failure> {
    let pages = Pages::of(reply);
    let embed = Outgoing { embeds: vec![pages.embed(0)], private, ..Outgoing::default() };
    let sent = match desk.rest.send(to, &embed).await {
        Err(failure) if failure.code() == Some(code::FORBIDDEN) => {
            let plain = Outgoing { content: pages.content(0), private, ..Outgoing::default() };
            desk.rest.send(to, &plain).await
        }
        sent => sent,
    }?;
    let id = sent["id"].as_str().and_then(|id| id.parse::<u64>().ok()).map(MessageId::new);
    Ok(id.map_or(0, MessageId::get))
}

/// One line a question: what kind, and what became of it. Never what was said.
fn note(kind: &'static str, sent: &Result<u64, Failure>) {
    match sent {
        Ok(_) => info!(kind, "answered a question"),
        Err(failure) => warn!(kind, %failure, "a question could not be answered"),
    }
}
