//! A message from hearing it to the answer that stands in the channel.
//!
//! In: a message, an edit, a deletion. Out: what is sent and what is kept. The same steps every time: who is asked, claim,
//! work it out, keep what its buttons need, send, note where it stands.

use std::sync::Arc;
use std::time::{Duration, Instant};

use serenity::http::{LightMethod, Route};
use serenity::model::channel::Message;
use serenity::model::id::{ChannelId, GuildId, MessageId};
use tracing::info;

use super::address::{self, Heard, How};
use super::deliver::{self, Look};
use super::desk::Desk;
use super::embeds;
use super::files;
use super::kept::servers::{Manner, Mentions};
use super::kept::turns::{Answer, Before, Claim};
use super::patience::{self, Place};
use super::places::permission;
use super::rate::Verdict;
use super::rest::{Failure, To, code};
use super::sentences;
use super::turns::{self, Room, Thread, Turn};
use super::words::own_of;
use super::working::{Who, note, species, work_out};

/// A talk that nobody went on with for so long is over; the next question stands by itself.
pub(super) const TALK: Duration = Duration::from_mins(15);
/// The sign under a mention that is answered by direct message.
const SENT: &str = "✉️";
/// The sign where the member takes no direct messages.
const CLOSED: &str = "📪";

/// Answers a new message, if it is meant for the bot; `true` when an answer was sent.
pub async fn message(desk: &Arc<Desk>, message: &Message, shard: u32) -> bool {
    let Some(me) = desk.me.get() else { return false };
    let Heard::Said(how, said) = address::heard(message, *me) else { return false };
    let source = message.id.get();
    // An edit of the question, or its deletion, waits until the answer stands.
    let _one = desk.one_at_a_time(source).await;
    let Some(_work) = desk.begin().await else { return false };
    let begun = Instant::now();
    let server = message.guild_id.map_or(0, GuildId::get);
    let asker = message.author.id.get();
    if desk.is_blocked(asker) || desk.is_blocked(server) {
        return false;
    }
    let manner = desk.kept.manner(server).await;
    if server != 0 && !speaks(desk, &manner, server, message.channel_id) {
        return false;
    }
    match desk.rate.ask(asker, message.guild_id.map(GuildId::get)) {
        Verdict::Fine => {}
        Verdict::Silent => return false,
        Verdict::TellWait(wait) => {
            let turn = Turn { reply: Some(sentences::slow_down(wait)), ..Turn::default() };
            let to = private_way(desk, message, server).await;
            note(desk, "too many", begun, &deliver::send(desk, &to, &turn, source, Look::default()).await);
            return false;
        }
    }
    let answer = Answer { channel: message.channel_id.get(), guild: server, asker, ..Answer::default() };
    let replied = message.referenced_message.as_ref().filter(|m| m.author.id == *me);
    let Claim::Mine(thread) = desk.kept.claim(source, &answer, before(replied.map(|m| &**m)), shard).await else {
        return false;
    };
    // A record that is no longer there: the answer says by itself what it was about.
    let thread = thread.or_else(|| Some(read_back(replied?))).unwrap_or_default();
    let species = species(desk, &manner);
    let own = own_of(desk, server).await;
    let nature = turns::nature(desk.books, Room { species, own: Some(&own) }, &said);
    let file = files::of_message(message).filter(|_| !nature.question);
    let personal = nature.private || file.is_some();
    let who = Who { asker, server, species, source, long: nature.long || file.is_some() };
    let by_letter_only = server != 0 && (manner.quiet || manner.mentions == Mentions::React || personal);
    let place =
        if by_letter_only { Place::Letter(message.channel_id) } else { Place::Message(message.channel_id, message.id) };
    let was_asked = !thread.asked.is_empty();
    let work = async {
        match file {
            // On the heap: it is rare, and every question would make room for it.
            Some(file) => Box::pin(files::collection(desk, who, thread, file)).await,
            None if said.is_empty() => Turn { reply: Some(sentences::no_words()), ..Turn::default() },
            None => work_out(desk, who, thread, said).await,
        }
    };
    let Some((turn, to)) = patience::wait(desk, source, asker, place, work).await else { return false };
    if was_asked {
        desk.kept.no_longer_asked(source, &answer).await;
    }
    let told = spoken_to(how, turn).filter(|t| !t.fault || server == 0 || desk.rate.may_tell_fault(answer.channel));
    let Some(turn) = told else {
        desk.kept.keep(source, &answer, true).await;
        return false;
    };
    if !turn.thread.is_empty() {
        desk.kept.keep(source, &Answer { thread: turn.thread.clone(), ..answer.clone() }, false).await;
    }
    // That it is about the asker's own animals may be known only now, by a name.
    let sent = if by_letter_only || server != 0 && turn.private {
        if let To::Edit { .. } = to {
            let gone = deliver::bare(&sentences::sent_privately(), false);
            let _ = desk.rest.send(&to, &gone).await;
        }
        by_letter(desk, message, &turn).await
    } else {
        let plain = desk.places.may(server, message.channel_id.get()).is_some_and(|may| may & permission::EMBED == 0);
        let sent = deliver::send(desk, &to, &turn, source, Look { plain, ..Look::default() }).await;
        sent.map(|id| (message.channel_id, id))
    };
    match &sent {
        Ok((channel, message)) => desk.kept.given(source, *message, channel.get()).await,
        // Nobody has seen it: there is nothing to go on from, and nobody has to give it again.
        Err(_) => desk.kept.keep(source, &answer, true).await,
    }
    note(desk, "message", begun, &sent);
    sent.is_ok()
}

/// What a message goes on from: the answer that it replies to, else the last one in the place.
fn before(replied: Option<&Message>) -> Before {
    let asked = |m: &Message| m.message_reference.as_ref().and_then(|r| r.message_id).map_or(0, MessageId::get);
    replied.map_or(Before::Recent(TALK), |m| Before::Message(m.id.get(), asked(m)))
}

/// Whether a mention is answered here at all.
fn speaks(desk: &Desk, manner: &Manner, server: u64, channel: ChannelId) -> bool {
    if manner.mentions == Mentions::Off {
        return false;
    }
    manner.channels.is_empty() || manner.channels.contains(&desk.places.root(server, channel.get()))
}

/// What a message of ours was about, by its own text.
pub(super) fn read_back(answer: &Message) -> Thread {
    let text = answer.embeds.iter().filter_map(|e| e.description.as_deref()).chain([answer.content.as_str()]);
    Thread { last: text.into_iter().find_map(embeds::request_in).unwrap_or_default(), ..Thread::default() }
}

/// Silence is an answer among people; who speaks to the bot itself hears that no question was heard.
fn spoken_to(how: How, turn: Turn) -> Option<Turn> {
    match (how, &turn.reply) {
        (_, Some(_)) => Some(turn),
        // "thanks!" under an answer wants none.
        (How::Reply, None) => None,
        (How::Mention | How::Direct, None) => Some(Turn { reply: Some(sentences::no_question()), ..turn }),
    }
}

/// By direct message, with a sign under the question. Gives where it stands.
async fn by_letter(desk: &Desk, message: &Message, turn: &Turn) -> Result<(ChannelId, u64), Failure> {
    let sent = match deliver::direct(desk, message.author.id.get()).await {
        Ok(channel) => {
            let to = To::Channel { channel, reply_to: None, nonce: message.id.to_string() };
            let sent = deliver::send(desk, &to, turn, message.id.get(), Look::default()).await;
            sent.map(|id| (channel, id))
        }
        Err(failure) => Err(failure),
    };
    let closed = matches!(&sent, Err(failure) if failure.code() == Some(code::CLOSED));
    if sent.is_ok() || closed {
        deliver::sign(desk, message.channel_id, message.id, if closed { CLOSED } else { SENT }).await;
    }
    if closed {
        // What was asked may be saved already; the way to hear of it is said without a word of what it is.
        let to = To::Channel {
            channel: message.channel_id,
            reply_to: Some(message.id),
            nonce: format!("closed{}", message.id),
        };
        let _ = desk.rest.send(&to, &deliver::bare(&sentences::letters_closed(), false)).await;
    }
    sent
}

/// Where a line goes that is for the writer of a message alone.
async fn private_way(desk: &Desk, message: &Message, server: u64) -> To {
    let direct = if server == 0 { None } else { deliver::direct(desk, message.author.id.get()).await.ok() };
    let reply_to = direct.is_none().then_some(message.id);
    To::Channel { channel: direct.unwrap_or(message.channel_id), reply_to, nonce: message.id.to_string() }
}

/// Changes the answer to a message that was edited.
pub async fn edited(desk: &Arc<Desk>, message: MessageId, content: &str) {
    let Some(me) = desk.me.get() else { return };
    // The id tells when it was written: old questions are not gone through again.
    let age = desk.age_of(message.get());
    if age > desk.settings.edits {
        return;
    }
    let _one = desk.one_at_a_time(message.get()).await;
    let Some(_work) = desk.begin().await else { return };
    let Some(answer) = desk.kept.answer(message.get()).await.filter(|a| a.message != 0) else { return };
    let begun = Instant::now();
    let words = address::words(content, *me);
    let manner = desk.kept.manner(answer.guild).await;
    let species = species(desk, &manner);
    let own = own_of(desk, answer.guild).await;
    let nature = turns::nature(desk.books, Room { species, own: Some(&own) }, &words.text);
    let turn = if words.text.is_empty() {
        Turn::default()
    } else {
        // What was said before the question is not kept; an edit of it stands by itself.
        let (asker, server, source) = (answer.asker, answer.guild, message.get());
        let who = Who { asker, server, species, source, long: nature.long };
        work_out(desk, who, Thread::default(), words.text).await
    };
    let private = turn.private || nature.private;
    let turn = Turn { reply: Some(turn.reply.clone().unwrap_or_else(sentences::question_gone)), ..turn };
    // An answer that stands by direct message is changed there.
    let by_letter = answer.stands_in != 0;
    if private && answer.guild != 0 && !by_letter {
        return;
    }
    let place = ChannelId::new(if by_letter { answer.stands_in } else { answer.channel });
    let to = To::Edit { channel: place, message: MessageId::new(answer.message) };
    let plain =
        !by_letter && desk.places.may(answer.guild, place.get()).is_some_and(|may| may & permission::EMBED == 0);
    desk.kept.keep(message.get(), &Answer { thread: turn.thread.clone(), ..answer }, true).await;
    let sent = deliver::send(desk, &to, &turn, message.get(), Look { plain, ..Look::default() }).await;
    note(desk, "edit", begun, &sent);
}

/// A question that was deleted takes its answer along.
pub async fn deleted(desk: &Arc<Desk>, message: MessageId) {
    let _one = desk.one_at_a_time(message.get()).await;
    let Some(_work) = desk.begin().await else { return };
    let Some(answer) = desk.kept.answer(message.get()).await else { return };
    desk.kept.erase(message.get()).await;
    // A letter stays: it is the member's own.
    if answer.message != 0 && answer.stands_in == 0 {
        let (channel_id, message_id) = (ChannelId::new(answer.channel), MessageId::new(answer.message));
        let route = Route::ChannelMessage { channel_id, message_id };
        if let Err(failure) = desk.rest.plain(route, LightMethod::Delete, None).await {
            info!(%failure, "the answer to a deleted question is still there");
        }
    }
}
