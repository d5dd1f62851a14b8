//! Working an answer out: the words with what holds in their place, on a thread of their own, counted and noted.
//!
//! In: who asks where, the talk so far, words. Out: a [`Turn`]. Never: what is sent.

use std::sync::Arc;
use std::time::Instant;

use tokio::runtime::Handle;
use tracing::{info, warn};

use super::desk::Desk;
use super::forget;
use super::kept::servers::Manner;
use super::kept::turns::Source;
use super::rest::{Failure, code};
use super::sentences;
use super::turns::{self, Asker, Room, Thread, Turn, Words};
use super::words::own_of;
use crate::conversation::desk::Front;
use crate::species::SpeciesId;

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
pub(super) fn may_be_personal(desk: &Desk, who: Who, thread: &Thread, said: &str) -> bool {
    !thread.asked.is_empty() || turns::may_concern(desk.books, who.species, said, &desk.asker(who.asker, who.source))
}

/// Works an answer out.
pub(super) async fn work_out(desk: &Arc<Desk>, who: Who, thread: Thread, said: String) -> Turn {
    work_out_of(desk, who, thread, said, Words::Theirs).await
}

/// As [`work_out`], for words of buttons and kept requests too.
pub(super) async fn work_out_of(desk: &Arc<Desk>, who: Who, thread: Thread, said: String, whose: Words) -> Turn {
    worked_out(desk, who, thread, said, whose, "").await
}

/// As [`work_out`], for what is said before the rest of the same command: both of them save something, each once.
pub(super) async fn work_out_before(desk: &Arc<Desk>, who: Who, thread: Thread, said: String) -> Turn {
    worked_out(desk, who, thread, said, Words::Theirs, " before").await
}

async fn worked_out(
    desk: &Arc<Desk>,
    who: Who,
    thread: Thread,
    said: String,
    whose: Words,
    part: &'static str,
) -> Turn {
    let waiting = thread.asked.file;
    let mut asker = desk.asker(who.asker, who.source);
    asker.once.push_str(part);
    if who.server != 0 && whose == Words::Theirs && may_be_personal(desk, who, &thread, &said) {
        // A reminder that cannot be told by direct message comes back to where it was set.
        asker.present.front = desk.kept.channel_of(who.source).await.map_or(Front::Unsaid, Front::Channel);
    }
    if let Some(source) = waiting {
        asker.file = match desk.kept.file(source).await {
            Ok(Some(bytes)) => Some(bytes.into()),
            Ok(None) => None,
            Err(_) => return Turn { reply: Some(sentences::away()), thread, private: true, ..Turn::default() },
        };
    }
    let books = desk.books;
    let turn = aside(desk, who, thread, move |room, thread, runtime| {
        runtime.block_on(turns::turn(books, room, thread, (&said, whose), &asker))
    });
    let mut turn = turn.await;
    if let Some(source) = waiting.filter(|source| turn.thread.asked.file != Some(*source)) {
        desk.kept.drop_file(source).await;
    }
    if turn.erase {
        // On the heap: it is rare, and every question would make room for it.
        Box::pin(forget::offer(desk, who.asker, &mut turn)).await;
    }
    count(desk, &turn);
    turn
}

/// Takes a collection in that was handed in by who asks and is kept under their question.
pub(super) async fn take_in(desk: &Arc<Desk>, who: Who, thread: Thread, bytes: Vec<u8>) -> Turn {
    let asker = Asker { file: Some(bytes.into()), ..desk.asker(who.asker, who.source) };
    let books = desk.books;
    let turn = aside(desk, who, thread, move |room, thread, runtime| {
        runtime.block_on(turns::receive(books, room, thread, who.source, &asker))
    });
    let turn = turn.await;
    count(desk, &turn);
    turn
}

/// Does `work` away from the threads that keep the lines to the platform alive. Long work has its own limit.
async fn aside(
    desk: &Arc<Desk>,
    who: Who,
    thread: Thread,
    work: impl FnOnce(Room<'_>, &Thread, &Handle) -> Turn + Send + 'static,
) -> Turn {
    let before = thread.clone();
    let desk_there = Arc::clone(desk);
    let own = own_of(desk, who.server).await;
    // The collection is read and written by the runtime, from a thread that may also calculate for long.
    let runtime = Handle::current();
    let worked = tokio::task::spawn_blocking(move || {
        let _long = if who.long {
            match desk_there.begin_long(who.asker, who.server) {
                Some(long) => Some(long),
                None => return Turn { reply: Some(sentences::busy()), thread, ..Turn::default() },
            }
        } else {
            None
        };
        work(Room { species: who.species, own: Some(&own) }, &thread, &runtime)
    })
    .await;
    unless_it_stumbled(worked, before)
}

/// Explains a word, a gene or a question.
pub(super) async fn explain(desk: &Arc<Desk>, who: Who, said: String, words_of_it: bool) -> Turn {
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
        Turn { reply: Some(sentences::our_fault()), thread: before, fault: true, ..Turn::default() }
    })
}

fn count(desk: &Desk, turn: &Turn) {
    if let Some(reply) = &turn.reply {
        desk.numbers.answers.inc();
        desk.numbers.unread.inc_by(u64::from(!reply.unread.is_empty()));
    }
}

/// The usual species of a server.
pub(super) fn species(desk: &Desk, manner: &Manner) -> Option<SpeciesId> {
    desk.books.catalogue.species().iter().find(|s| s.key() == manner.species).map(|s| s.id)
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
