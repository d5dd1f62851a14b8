//! A question from hearing it to the answer that stands in the channel.
//!
//! In: a message, an edit, the text of a command. Out: what is sent and what is kept. The same steps every time: who is
//! asked, claim, work it out, send, keep.

use std::sync::Arc;
use std::time::{Duration, Instant};

use serenity::model::channel::Message;
use serenity::model::id::{ChannelId, GuildId, InteractionId, MessageId, UserId};
use tracing::{info, warn};

use super::address::{self, Heard, How};
use super::deliver::{self, Look};
use super::desk::Desk;
use super::embeds;
use super::kept::servers::{Manner, Mentions};
use super::kept::turns::{Answer, Before, Claim, Source};
use super::patience::{self, Place};
use super::places::permission;
use super::rate::Verdict;
use super::rest::{Failure, To, code};
use super::sentences;
use super::turns::{self, Thread, Turn};
use crate::species::SpeciesId;

/// A talk that nobody went on with for so long is over; the next question stands by itself.
const TALK: Duration = Duration::from_mins(15);
/// The sign under a mention that is answered by direct message.
const SENT: &str = "✉️";
/// The sign where the member takes no direct messages.
const CLOSED: &str = "📪";

/// Answers a new message, if it is meant for the bot; `true` when an answer was sent.
pub async fn message(desk: &Arc<Desk>, message: &Message, shard: u32) -> bool {
    let Some(me) = desk.me.get() else { return false };
    let Heard::Said(how, said) = address::heard(message, *me) else { return false };
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
    let source = message.id.get();
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
    let mut answer = Answer { channel: message.channel_id.get(), guild: server, asker, ..Answer::default() };
    let replied = message.referenced_message.as_ref().filter(|m| m.author.id == *me);
    let before = replied.map_or(Before::Recent(TALK), |m| Before::Message(m.id.get()));
    let Claim::Mine(thread) = desk.kept.claim(source, &answer, before, shard).await else { return false };
    // A record that is not written yet, or no longer there: the answer says by itself what it was about.
    let thread = thread.or_else(|| Some(read_back(replied?))).unwrap_or_default();
    let species = species(desk, &manner);
    let personal = turns::is_private(desk.books, species, &said);
    let by_letter_only = server != 0 && (manner.quiet || manner.mentions == Mentions::React || personal);
    let place =
        if by_letter_only { Place::Letter(message.channel_id) } else { Place::Message(message.channel_id, message.id) };
    let work = async {
        if said.is_empty() {
            return Turn { reply: Some(sentences::no_words()), ..Turn::default() };
        }
        work_out(desk, Who { asker, server, species }, thread, said).await
    };
    let Some((turn, to)) = patience::wait(desk, source, asker, place, work).await else { return false };
    let Some(turn) = spoken_to(how, turn) else {
        desk.kept.keep(source, &answer).await;
        return false;
    };
    let sent = if by_letter_only {
        by_letter(desk, message, &turn).await
    } else {
        let plain = desk.places.may(server, message.channel_id.get()).is_some_and(|may| may & permission::EMBED == 0);
        deliver::send(desk, &to, &turn, source, Look { plain, ..Look::default() }).await
    };
    note(desk, "message", begun, &sent);
    let done = sent.is_ok();
    if let Ok(message) = sent {
        answer = Answer { message, thread: turn.thread, ..answer };
    }
    desk.kept.keep(source, &answer).await;
    done
}

/// Whether a mention is answered here at all.
fn speaks(desk: &Desk, manner: &Manner, server: u64, channel: ChannelId) -> bool {
    if manner.mentions == Mentions::Off {
        return false;
    }
    manner.channels.is_empty() || manner.channels.contains(&desk.places.root(server, channel.get()))
}

/// The usual species of a server.
pub(super) fn species(desk: &Desk, manner: &Manner) -> Option<SpeciesId> {
    desk.books.catalogue.species().iter().find(|s| s.key() == manner.species).map(|s| s.id)
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

/// By direct message, with a sign under the question.
async fn by_letter(desk: &Desk, message: &Message, turn: &Turn) -> Result<u64, Failure> {
    let sent = match deliver::direct(desk, message.author.id.get()).await {
        Ok(channel) => {
            let to = To::Channel { channel, reply_to: None, nonce: message.id.to_string() };
            deliver::send(desk, &to, turn, message.id.get(), Look::default()).await
        }
        Err(failure) => Err(failure),
    };
    let closed = matches!(&sent, Err(failure) if failure.code() == Some(code::CLOSED));
    if sent.is_ok() || closed {
        deliver::sign(desk, message.channel_id, message.id, if closed { CLOSED } else { SENT }).await;
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
pub async fn edited(desk: &Arc<Desk>, message: MessageId, channel: ChannelId, content: &str) {
    let Some(me) = desk.me.get() else { return };
    // The id tells when it was written: old questions are not gone through again.
    let age = desk.age_of(message.get());
    if age > desk.settings.edits {
        return;
    }
    let Some(_work) = desk.begin().await else { return };
    let _one = desk.one_at_a_time(message.get()).await;
    let Some(answer) = desk.kept.answer(message.get()).await.filter(|a| a.message != 0) else { return };
    let begun = Instant::now();
    let words = address::words(content, *me);
    let manner = desk.kept.manner(answer.guild).await;
    let species = species(desk, &manner);
    let turn = if words.text.is_empty() {
        Turn::default()
    } else {
        // What was said before the question is not kept; an edit of it stands by itself.
        let who = Who { asker: answer.asker, server: answer.guild, species };
        work_out(desk, who, Thread::default(), words.text).await
    };
    let turn = Turn { reply: Some(turn.reply.clone().unwrap_or_else(sentences::question_gone)), ..turn };
    if turn.private && !answer.private {
        return;
    }
    let to = To::Edit { channel, message: MessageId::new(answer.message) };
    let plain = desk.places.may(answer.guild, channel.get()).is_some_and(|may| may & permission::EMBED == 0);
    let sent = deliver::send(desk, &to, &turn, message.get(), Look { plain, ..Look::default() }).await;
    note(desk, "edit", begun, &sent);
    if sent.is_ok() {
        desk.kept.keep(message.get(), &Answer { thread: turn.thread, ..answer }).await;
    }
}

/// A question that was deleted takes its answer along.
pub async fn deleted(desk: &Arc<Desk>, message: MessageId, channel: ChannelId) {
    let Some(_work) = desk.begin().await else { return };
    let Some(answer) = desk.kept.answer(message.get()).await else { return };
    desk.kept.erase(message.get()).await;
    if answer.message != 0 && answer.channel == channel.get() {
        let route =
            serenity::http::Route::ChannelMessage { channel_id: channel, message_id: MessageId::new(answer.message) };
        if let Err(failure) = desk.rest.plain(route, serenity::http::LightMethod::Delete, None).await {
            info!(%failure, "the answer to a deleted question is still there");
        }
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
    /// The shard it came by.
    pub shard: u32,
    /// What the member may do, as far as the library knows the bits.
    pub permissions: u64,
}

impl Asked {
    /// The server's id, 0 in direct messages.
    #[must_use]
    pub fn server(&self) -> u64 {
        self.guild.map_or(0, GuildId::get)
    }

    /// The first answer to it.
    #[must_use]
    pub fn answer(&self) -> To {
        To::Answer { interaction: self.interaction, token: self.token.clone(), update: false }
    }

    /// A record of its answer.
    #[must_use]
    pub fn record(&self, private: bool) -> Answer {
        let (channel, asker) = (self.channel.get(), self.asker.get());
        Answer { channel, guild: self.server(), asker, private, ..Answer::default() }
    }
}

/// Says something privately to who asked, where nothing is to be kept.
pub async fn tell(desk: &Desk, asked: &Asked, reply: &crate::reply::Reply) {
    if let Err(failure) = desk.rest.send(&asked.answer(), &deliver::bare(reply, true)).await {
        warn!(%failure, "an interaction could not be answered");
    }
}

/// Whether an interaction is answered at all: not too many, and ours. Says the wait itself.
pub(super) async fn admitted(desk: &Desk, asked: &Asked) -> bool {
    if desk.is_blocked(asked.asker.get()) || desk.is_blocked(asked.server()) {
        return false;
    }
    match desk.rate.ask(asked.asker.get(), asked.guild.map(GuildId::get)) {
        Verdict::Fine => {
            matches!(
                desk.kept.claim(asked.interaction.get(), &asked.record(true), Before::Nothing, asked.shard).await,
                Claim::Mine(_)
            )
        }
        Verdict::Silent => false,
        Verdict::TellWait(wait) => {
            tell(desk, asked, &sentences::slow_down(wait)).await;
            false
        }
    }
}

/// Answers the text of a command. `menu` is a message that somebody wrote: only a pairing in it is answered.
pub async fn command(desk: &Arc<Desk>, asked: &Asked, said: String, private: bool, menu: bool) {
    let Some(_work) = desk.begin().await else { return };
    let begun = Instant::now();
    if !admitted(desk, asked).await {
        return;
    }
    let manner = desk.kept.manner(asked.server()).await;
    let species = species(desk, &manner);
    let personal = turns::is_private(desk.books, species, &said);
    let private = private || personal || manner.quiet && asked.guild.is_some();
    let source = asked.interaction.get();
    let asker = asked.asker.get();
    let work = work_out(desk, Who { asker, server: asked.server(), species }, Thread::default(), said);
    let waited = patience::wait(desk, source, asker, Place::Interaction(asked, private), work).await;
    let Some((mut turn, to)) = waited else { return };
    if menu && turn.reply.as_ref().is_none_or(|r| r.understood.is_empty() && turn.thread.choices.is_empty()) {
        turn = Turn { reply: Some(sentences::no_pairing()), ..Turn::default() };
    }
    let turn = Turn { reply: Some(turn.reply.clone().unwrap_or_else(sentences::no_question)), ..turn };
    let sent = deliver::send(desk, &to, &turn, source, Look { private, ..Look::default() }).await;
    note(desk, "command", begun, &sent);
    let message = sent.unwrap_or(0);
    desk.kept.keep(source, &Answer { message, thread: turn.thread, ..asked.record(private) }).await;
}

/// For whom an answer is worked out, and where.
#[derive(Debug, Clone, Copy)]
pub(super) struct Who {
    pub(super) asker: u64,
    /// 0 in direct messages.
    pub(super) server: u64,
    /// The usual species of the place.
    pub(super) species: Option<SpeciesId>,
}

/// Works an answer out, away from the threads that keep the lines to the platform alive. Long work has its own limit.
pub(super) async fn work_out(desk: &Arc<Desk>, who: Who, thread: Thread, said: String) -> Turn {
    let books = desk.books;
    let before = thread.clone();
    let desk_there = Arc::clone(desk);
    let worked = tokio::task::spawn_blocking(move || {
        let _long = if turns::is_long(books, who.species, &said) {
            match desk_there.begin_long(who.asker, who.server) {
                Some(long) => Some(long),
                None => return Turn { reply: Some(sentences::busy()), thread, ..Turn::default() },
            }
        } else {
            None
        };
        turns::turn(books, who.species, &thread, &said)
    })
    .await;
    let turn = worked.unwrap_or_else(|error| {
        // The message of a panic can hold what was typed; that there was one is enough to look for it.
        tracing::error!(panicked = error.is_panic(), "a question made the program stumble");
        Turn { reply: Some(sentences::our_fault()), thread: before, ..Turn::default() }
    });
    if let Some(reply) = &turn.reply {
        desk.numbers.answers.inc();
        desk.numbers.unread.inc_by(u64::from(!reply.unread.is_empty()));
    }
    turn
}

/// One line a question: what kind, how long, and what became of it. Never what was said.
pub(super) fn note(desk: &Desk, kind: &'static str, begun: Instant, sent: &Result<u64, Failure>) {
    let took = begun.elapsed();
    desk.numbers.question(kind, sent.is_ok(), took);
    let took_ms = u64::try_from(took.as_millis()).unwrap_or(u64::MAX);
    match sent {
        Ok(_) => info!(kind, took_ms, "answered a question"),
        Err(failure) if matches!(failure.code(), Some(code::FORBIDDEN | code::NO_ACCESS | code::CLOSED)) => {
            info!(kind, took_ms, %failure, "the answer may not be given there");
        }
        Err(failure) if matches!(failure.code(), Some(code::UNKNOWN_MESSAGE | code::UNKNOWN_CHANNEL)) => {
            info!(kind, took_ms, %failure, "the place of the answer is gone");
        }
        Err(failure) => warn!(kind, took_ms, %failure, "a question could not be answered"),
    }
}

/// The answer of a talk that this interaction goes on from, by its id.
pub(super) async fn gone_on_from(desk: &Desk, source: Source) -> Option<Answer> {
    if source == 0 { None } else { desk.kept.answer(source).await }
}
