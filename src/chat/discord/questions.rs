//! A question from hearing it to the answer that stands in the channel.
//!
//! In: a message, an edit, the text of a command. Out: what is sent and what is kept. The same steps every time: who is
//! asked, claim, work it out, send, keep.

use std::sync::Arc;
use std::time::{Duration, Instant};

use serenity::model::channel::Message;
use serenity::model::guild::Member;
use serenity::model::id::{ChannelId, GuildId, InteractionId, MessageId, UserId};
use serenity::model::user::User;
use tracing::{info, warn};

use super::address::{self, Heard, How};
use super::deliver::{self, Look};
use super::desk::Desk;
use super::embeds;
use super::forget;
use super::kept::servers::{Manner, Mentions};
use super::kept::turns::{Answer, Before, Claim, Source};
use super::patience::{self, Place};
use super::places::permission;
use super::rate::Verdict;
use super::rest::{Failure, To, code};
use super::sentences;
use super::turns::{self, Room, Thread, Turn, Words};
use super::words::own_of;
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
    let nature = turns::nature(desk.books, species, &said);
    let who = Who { asker, server, species, source, long: nature.long };
    let by_letter_only = server != 0 && (manner.quiet || manner.mentions == Mentions::React || nature.private);
    let place =
        if by_letter_only { Place::Letter(message.channel_id) } else { Place::Message(message.channel_id, message.id) };
    let was_asked = !thread.asked.lines.is_empty();
    let work = async {
        if said.is_empty() {
            return Turn { reply: Some(sentences::no_words()), ..Turn::default() };
        }
        work_out(desk, who, thread, said).await
    };
    let Some((turn, to)) = patience::wait(desk, source, asker, place, work).await else { return false };
    if was_asked {
        desk.kept.no_longer_asked(source, &answer).await;
    }
    let Some(turn) = spoken_to(how, turn) else {
        desk.kept.keep(source, &answer).await;
        return false;
    };
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
    note(desk, "message", begun, &sent);
    let done = sent.is_ok();
    if let Ok((channel, message)) = sent {
        answer = Answer { channel: channel.get(), message, thread: turn.thread, ..answer };
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
    let nature = turns::nature(desk.books, species, &words.text);
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
    let by_letter = answer.channel != channel.get();
    if private && answer.guild != 0 && !by_letter {
        return;
    }
    let place = ChannelId::new(answer.channel);
    let to = To::Edit { channel: place, message: MessageId::new(answer.message) };
    let plain =
        !by_letter && desk.places.may(answer.guild, place.get()).is_some_and(|may| may & permission::EMBED == 0);
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
    // A letter stays: it is the member's own.
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
    /// Who sent this interaction, by the parts that every kind of it has.
    #[must_use]
    pub fn of(
        (interaction, token): (InteractionId, &str),
        (channel, guild): (ChannelId, Option<GuildId>),
        (user, member): (&User, Option<&Member>),
        shard: u32,
    ) -> Self {
        let permissions = member.and_then(|m| m.permissions).map_or(0, |p| p.bits());
        Self { interaction, token: token.to_owned(), channel, guild, asker: user.id, shard, permissions }
    }

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
    admitted_after(desk, asked, Before::Nothing).await.is_some()
}

/// As [`admitted`], with what was talked of before.
async fn admitted_after(desk: &Desk, asked: &Asked, before: Before) -> Option<Thread> {
    if desk.is_blocked(asked.asker.get()) || desk.is_blocked(asked.server()) {
        return None;
    }
    match desk.rate.ask(asked.asker.get(), asked.guild.map(GuildId::get)) {
        Verdict::Fine => {
            match desk.kept.claim(asked.interaction.get(), &asked.record(true), before, asked.shard).await {
                Claim::Mine(thread) => Some(thread.unwrap_or_default()),
                Claim::Taken | Claim::NotOurs => None,
            }
        }
        Verdict::Silent => None,
        Verdict::TellWait(wait) => {
            tell(desk, asked, &sentences::slow_down(wait)).await;
            None
        }
    }
}

/// What a command does with its text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Door {
    /// A pairing that stands by itself.
    Odds,
    /// Anything; a talk in this place is gone on from.
    Ask,
    /// Something to be explained.
    Explain,
    /// A message that somebody wrote: only a pairing in it is answered, privately, because its writer did not ask.
    Menu,
    /// A message that somebody wrote, whose words are explained, privately.
    Words,
}

/// Answers the text of a command.
pub async fn command(desk: &Arc<Desk>, asked: &Asked, said: String, door: Door) {
    let Some(_work) = desk.begin().await else { return };
    let begun = Instant::now();
    let before = if door == Door::Ask { Before::Recent(TALK) } else { Before::Nothing };
    let Some(thread) = admitted_after(desk, asked, before).await else { return };
    let manner = desk.kept.manner(asked.server()).await;
    let (source, asker) = (asked.interaction.get(), asked.asker.get());
    let species = species(desk, &manner);
    let nature = turns::nature(desk.books, species, &said);
    let who = Who { asker, server: asked.server(), species, source, long: nature.long };
    let told_to_all = matches!(door, Door::Odds | Door::Ask) && !nature.private || door == Door::Explain;
    let always = !told_to_all || manner.quiet && asked.guild.is_some();
    // Private or public is fixed when an answer is announced, which may be before it is known what it is about.
    let announced = always || door == Door::Ask && may_be_personal(desk, who, &thread, &said);
    let was_asked = !thread.asked.lines.is_empty();
    let work = async {
        match door {
            Door::Explain | Door::Words => explain(desk, who, said, door == Door::Words).await,
            Door::Odds | Door::Ask | Door::Menu => work_out(desk, who, thread, said).await,
        }
    };
    let waited = patience::wait(desk, source, asker, Place::Interaction(asked, announced), work).await;
    let Some((mut turn, to)) = waited else { return };
    let private = if matches!(to, To::Original { .. }) { announced } else { always || turn.private };
    if was_asked {
        desk.kept.no_longer_asked(source, &asked.record(private)).await;
    }
    if door == Door::Menu
        && turn.reply.as_ref().is_none_or(|r| r.understood.is_empty() && turn.thread.choices.is_empty())
    {
        turn = Turn { reply: Some(sentences::no_pairing()), ..Turn::default() };
    }
    let mut turn = Turn { reply: Some(turn.reply.clone().unwrap_or_else(sentences::no_question)), ..turn };
    if turn.private && !private {
        // A name that was not known to be one until the collection had been read, slowly.
        turn = Turn { reply: Some(sentences::only_privately()), ..Turn::default() };
    }
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
    /// The message or interaction: what it saves is saved once.
    pub(super) source: Source,
    /// The answer can take seconds.
    pub(super) long: bool,
}

/// Whether an answer may turn out to be about the asker's own animals.
fn may_be_personal(desk: &Desk, who: Who, thread: &Thread, said: &str) -> bool {
    !thread.asked.lines.is_empty()
        || turns::may_concern(desk.books, who.species, said, &desk.asker(who.asker, who.source))
}

/// Works an answer out, away from the threads that keep the lines to the platform alive. Long work has its own limit.
pub(super) async fn work_out(desk: &Arc<Desk>, who: Who, thread: Thread, said: String) -> Turn {
    work_out_of(desk, who, thread, said, Words::Theirs).await
}

/// As [`work_out`], for words of buttons and kept requests too.
pub(super) async fn work_out_of(desk: &Arc<Desk>, who: Who, thread: Thread, said: String, whose: Words) -> Turn {
    let books = desk.books;
    let before = thread.clone();
    let desk_there = Arc::clone(desk);
    let asker = desk.asker(who.asker, who.source);
    let own = own_of(desk, who.server).await;
    // The collection is read and written by the runtime, from a thread that may also calculate for long.
    let runtime = tokio::runtime::Handle::current();
    let worked = tokio::task::spawn_blocking(move || {
        let _long = if who.long {
            match desk_there.begin_long(who.asker, who.server) {
                Some(long) => Some(long),
                None => return Turn { reply: Some(sentences::busy()), thread, ..Turn::default() },
            }
        } else {
            None
        };
        let room = Room { species: who.species, own: Some(&own) };
        runtime.block_on(turns::turn(books, room, &thread, (&said, whose), &asker))
    })
    .await;
    let mut turn = unless_it_stumbled(worked, before);
    if turn.erase {
        // On the heap: it is rare, and every question would make room for it.
        Box::pin(forget::offer(desk, who.asker, &mut turn)).await;
    }
    count(desk, &turn);
    turn
}

/// Explains a word, a gene or a question.
async fn explain(desk: &Arc<Desk>, who: Who, said: String, words_of_it: bool) -> Turn {
    let books = desk.books;
    let own = own_of(desk, who.server).await;
    let worked = tokio::task::spawn_blocking(move || {
        let room = Room { species: who.species, own: Some(&own) };
        if words_of_it { turns::explain_words(books, room, &said) } else { turns::explain(books, room, &said) }
    });
    let turn = unless_it_stumbled(worked.await, Thread::default());
    count(desk, &turn);
    turn
}

fn unless_it_stumbled(worked: Result<Turn, tokio::task::JoinError>, before: Thread) -> Turn {
    worked.unwrap_or_else(|error| {
        // The message of a panic can hold what was typed; that there was one is enough to look for it.
        tracing::error!(panicked = error.is_panic(), "a question made the program stumble");
        Turn { reply: Some(sentences::our_fault()), thread: before, ..Turn::default() }
    })
}

fn count(desk: &Desk, turn: &Turn) {
    if let Some(reply) = &turn.reply {
        desk.numbers.answers.inc();
        desk.numbers.unread.inc_by(u64::from(!reply.unread.is_empty()));
    }
}

/// One line a question: what kind, how long, and what became of it. Never what was said.
pub(super) fn note<T>(desk: &Desk, kind: &'static str, begun: Instant, sent: &Result<T, Failure>) {
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
