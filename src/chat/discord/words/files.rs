//! Words of another server, or of an earlier day, that are handed in as a file: shown first, taken over on a press.
//!
//! Everything is checked as if it had just been typed, and recorded as written by who takes it over: a file can name
//! anybody as an author.

use std::sync::Arc;

use serenity::model::channel::Attachment;

use super::super::asked::{Asked, refused, tell};
use super::super::components;
use super::super::deliver;
use super::super::desk::Desk;
use super::super::files::fetch;
use super::super::patience::{self, Place};
use super::super::posts;
use super::super::press::{Press, Verb};
use super::super::rest::{Outgoing, To};
use super::super::sentences;
use super::super::turns::Turn;
use super::{against, by, change, own_of};
use crate::explanations::own::draft::Rules;
use crate::explanations::own::file::{Imported, import};
use crate::explanations::own::history::By;
use crate::reply::{Kind, Reply};

/// A file was handed in: what it would change.
pub async fn handed_in(desk: &Arc<Desk>, asked: &Asked, file: &Attachment) {
    if refused(desk, asked).await {
        return;
    }
    let source = asked.interaction.get();
    let work = async { Turn { reply: Some(looked_at(desk, asked, file).await), ..Turn::default() } };
    let waited = patience::wait(desk, source, asked.asker.get(), Place::Interaction(asked, true), work).await;
    let Some((turn, to)) = waited else { return };
    let reply = turn.reply.unwrap_or_default();
    let mut message = deliver::bare(&reply, true);
    if reply.kind == Kind::Question {
        message.components = vec![components::buttons(&[(Press::under(Verb::TakeIn, source), "Take it over")])];
    }
    send_to(desk, &to, &message).await;
}

async fn send_to(desk: &Desk, to: &To, message: &Outgoing) {
    if let Err(failure) = desk.rest.send(to, message).await {
        tracing::warn!(%failure, "an interaction could not be answered");
    }
}

async fn looked_at(desk: &Desk, asked: &Asked, file: &Attachment) -> Reply {
    let bytes = match fetch(desk, file).await {
        Ok(bytes) => bytes,
        Err(refused) => return refused,
    };
    let Some(read) = read(desk, asked, &bytes).await else { return sentences::our_fault() };
    let mut own = (*own_of(desk, asked.server()).await).clone();
    let refused: Vec<String> = read.refused.iter().map(ToString::to_string).collect();
    let taken = match own.take_over(&read.own, By { author: 0, at_unix_s: 0 }) {
        Ok(taken) => taken,
        Err(full) => return sentences::words_refused(&full.to_string()),
    };
    if taken.is_empty() {
        return sentences::words_bring_nothing(&taken, &refused);
    }
    if desk.kept.keep_file(asked.interaction.get(), &bytes).await.is_err() {
        return sentences::away();
    }
    sentences::words_bring(&taken, &refused)
}

async fn read(desk: &Desk, asked: &Asked, bytes: &[u8]) -> Option<Imported> {
    let rules = Rules { links: desk.kept.manner(asked.server()).await.links };
    Some(import("words.toml", &String::from_utf8_lossy(bytes), rules, against(desk)?))
}

/// It is to be taken over.
pub async fn take_in(desk: &Arc<Desk>, asked: &Asked, source: u64) {
    if refused(desk, asked).await {
        return;
    }
    // The file is its own who handed it in, and for the server in which they did.
    let theirs =
        desk.kept.answer(source).await.is_some_and(|a| a.asker == asked.asker.get() && a.guild == asked.server());
    let bytes = match desk.kept.file(source).await {
        Ok(Some(bytes)) if theirs => bytes,
        Ok(_) => return tell(desk, asked, &sentences::too_old()).await,
        Err(_) => return tell(desk, asked, &sentences::away()).await,
    };
    let Some(read) = read(desk, asked, &bytes).await else { return tell(desk, asked, &sentences::our_fault()).await };
    let by = by(asked);
    let taken = change(desk, asked, |own| own.take_over(&read.own, by).map_err(|full| full.to_string()));
    let Some(taken) = taken.await else { return };
    desk.kept.drop_file(source).await;
    tell(desk, asked, &sentences::words_taken_over(&taken)).await;
    posts::refresh(desk, Some(asked.server())).await;
}
