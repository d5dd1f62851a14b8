//! What commands and menus do with their text: doors to the same reader, each with its own idea of who sees the answer.
//!
//! In: who asked, words, a [`Door`]. Out: what is sent and what is kept.

use std::sync::Arc;
use std::time::Instant;

use serenity::model::channel::Attachment;

use super::asked::{Asked, admitted_after};
use super::deliver::{self, Look};
use super::desk::Desk;
use super::files;
use super::kept::turns::{Answer, Before};
use super::patience::{self, Place};
use super::questions::TALK;
use super::reach;
use super::rest::To;
use super::sentences;
use super::turns::{self, Room, Thread, Turn};
use super::words::own_of;
use super::working::{Who, explain, may_be_personal, note, species, work_out, work_out_before};
use crate::reply::Kind;

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

/// Sets a reminder, or lists them where nothing is said; the clock of who sets it is told before it.
pub async fn reminder(desk: &Arc<Desk>, asked: &Asked, about: Option<String>, clock: Option<String>) {
    let about =
        about.map(|about| if about.to_lowercase().contains("remind") { about } else { format!("remind me {about}") });
    let clock = clock.map(|place| format!("my time zone is {place}"));
    let (before, said) = match (clock, about) {
        (Some(clock), Some(about)) => (Some(clock), about),
        (Some(said), None) | (None, Some(said)) => (None, said),
        (None, None) => (None, "my reminders".to_owned()),
    };
    command_after(desk, asked, before, said, Door::Ask).await;
}

/// Answers the text of a command.
pub async fn command(desk: &Arc<Desk>, asked: &Asked, said: String, door: Door) {
    command_after(desk, asked, None, said, door).await;
}

/// Answers the text of a command, after what was said in the same breath.
async fn command_after(desk: &Arc<Desk>, asked: &Asked, first: Option<String>, said: String, door: Door) {
    let Some(_work) = desk.begin().await else { return };
    let begun = Instant::now();
    let before = if door == Door::Ask { Before::Recent(TALK) } else { Before::Nothing };
    let Some(thread) = admitted_after(desk, asked, before).await else { return };
    let manner = desk.kept.manner(asked.server()).await;
    let (source, asker) = (asked.interaction.get(), asked.asker.get());
    let species = species(desk, &manner);
    let own = own_of(desk, asked.server()).await;
    let nature = turns::nature(desk.books, Room { species, own: Some(&own) }, &said);
    let who = Who { asker, server: asked.server(), species, source, long: nature.long };
    let told_to_all = matches!(door, Door::Odds | Door::Ask) && !nature.private || door == Door::Explain;
    let always = !told_to_all || manner.quiet && asked.guild.is_some();
    // Private or public is fixed when an answer is announced, which may be before it is known what it is about.
    let announced = always || door == Door::Ask && may_be_personal(desk, who, &thread, &said);
    let was_asked = !thread.asked.is_empty();
    let work = async {
        match door {
            Door::Explain | Door::Words => explain(desk, who, said, door == Door::Words).await,
            Door::Odds | Door::Ask | Door::Menu => {
                let mut turn = match first {
                    Some(first) => both(desk, who, thread, (first, said)).await,
                    None => work_out(desk, who, thread, said).await,
                };
                reach::tried(desk, who, &mut turn).await;
                turn
            }
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
    // Those who look after the server may show an explanation to everybody; whether somebody may is checked at the press.
    turn.publishable =
        private && asked.guild.is_some() && matches!(door, Door::Explain | Door::Words) && asked.may_moderate();
    answered(desk, asked, turn, (to, private), (begun, "command")).await;
}

/// Two turns of one command: the second only where the first went well, with what the first said beside it.
async fn both(desk: &Arc<Desk>, who: Who, thread: Thread, (first, said): (String, String)) -> Turn {
    let before = work_out_before(desk, who, thread, first).await;
    let Some(told) = before.reply.as_ref().filter(|reply| reply.kind == Kind::Answer) else { return before };
    let notes = told.answer.clone();
    let mut turn = work_out(desk, who, before.thread.clone(), said).await;
    if let Some(reply) = &mut turn.reply {
        reply.notes.splice(0..0, notes);
    }
    turn
}

/// A collection that was handed in with a command: shown first, to who handed it in alone.
pub async fn handed_in(desk: &Arc<Desk>, asked: &Asked, file: &Attachment) {
    let begun = Instant::now();
    let manner = desk.kept.manner(asked.server()).await;
    let (source, asker) = (asked.interaction.get(), asked.asker.get());
    let who = Who { asker, server: asked.server(), species: species(desk, &manner), source, long: true };
    let work = files::collection(desk, who, Thread::default(), file);
    let waited = patience::wait(desk, source, asker, Place::Interaction(asked, true), work).await;
    let Some((turn, to)) = waited else { return };
    answered(desk, asked, turn, (to, true), (begun, "command")).await;
}

/// Keeps what the buttons of an answer need, sends it, and notes where it stands.
async fn answered(
    desk: &Arc<Desk>,
    asked: &Asked,
    turn: Turn,
    (to, private): (To, bool),
    (begun, kind): (Instant, &'static str),
) {
    let source = asked.interaction.get();
    // Whatever becomes of the sending: an interaction is dead after three seconds, and nobody can answer it again.
    desk.kept.keep(source, &Answer { thread: turn.thread.clone(), ..asked.record(private) }, true).await;
    let sent = deliver::send(desk, &to, &turn, source, Look { private, ..Look::default() }).await;
    if let Ok(message @ 1..) = sent {
        desk.kept.given(source, message, asked.channel.get()).await;
    }
    note(desk, kind, begun, &sent);
}
