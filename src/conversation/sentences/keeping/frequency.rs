//! How many animals of unknown parents carry a recessive, in words.

use super::changed::UNDO;
use crate::conversation::labels::percent;
use crate::engine::odds::{Odds, none};
use crate::reply::Reply;

/// "1 in 20 (5 %)", "3/40 (7.5 %)", "none".
fn share(p: &Odds) -> String {
    if *p == none() {
        return "none".to_owned();
    }
    let text = p.to_string();
    match text.split_once('/') {
        Some(("1", n)) => format!("1 in {n} ({})", percent(p)),
        _ => format!("{text} ({})", percent(p)),
    }
}

pub(in crate::conversation) fn told_past(p: &Odds, gene: &str) -> String {
    format!("set the carriers of {gene} among normals of unknown parents to {}", share(p))
}

pub(in crate::conversation) fn told(p: &Odds, gene: &str, before: Option<&Odds>) -> Reply {
    let was = before.map_or_else(String::new, |b| format!(" Before: {}.", share(b)));
    let mut reply =
        Reply::sentence(format!("Saved: of normal-looking animals of unknown parents {} carry {gene}.{was}", share(p)));
    reply.answer.push(
        "It counts for animals of yours without recorded parents, and for parents elsewhere, where you say nothing of that \
         gene; what you say of an animal comes first."
            .to_owned(),
    );
    reply.notes.push(UNDO.to_owned());
    reply
}

pub(in crate::conversation) fn as_it_was(p: &Odds, gene: &str) -> Reply {
    Reply::sentence(format!("It stands so already: {} carry {gene}.", share(p)))
}

pub(in crate::conversation) fn none_anyway(gene: &str) -> Reply {
    Reply::sentence(format!(
        "None is what I count with as long as you say nothing else of {gene}. Nothing was changed."
    ))
}

pub(in crate::conversation) fn one_gene() -> Reply {
    Reply::refusal("One gene at a time: \"assume 1 in 20 normals carry clown\". Nothing was saved.")
}

/// A gene that shows with one copy.
pub(in crate::conversation) fn shows(gene: &str) -> Reply {
    Reply::refusal(format!("{gene} shows with one copy, so no normal-looking animal carries it. Nothing was saved."))
}

pub(in crate::conversation) fn then_what() -> Reply {
    Reply::refusal(
        "I do not understand the question behind it. Say for example \"assume 1 in 20 normals carry clown, how sure is Nova het \
         clown\". Nothing was changed.",
    )
}

/// Beside an answer that counts with it.
pub(in crate::conversation) fn counted(p: &Odds, gene: &str) -> String {
    format!("Counted as you told: of normals of unknown parents {} carry {gene}.", share(p))
}
