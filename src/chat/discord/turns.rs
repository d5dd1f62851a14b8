//! One turn for the platform: the words, what was talked of before, to a reply and a canonical restatement of what was
//! understood.
//!
//! In: words, the species of the place, the request so far as a restatement. Out: [`Turn`]. Never: the platform, a database.
//! Invariant: what comes out to be kept is the program's own wording, not the member's.

use crate::conversation::{Talk, restate};
use crate::reading::Reader;
use crate::reading::requests::Choice;
use crate::reply::Reply;
use crate::species::{Catalogue, SpeciesId};

/// The dictionaries, made once and kept for as long as the program runs.
#[derive(Debug, Clone, Copy)]
pub struct Books {
    /// What is known of each species.
    pub catalogue: &'static Catalogue,
    /// The reader.
    pub reader: &'static Reader,
}

/// What a talk was about, as it is kept: the program's own wording.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Thread {
    /// The first request, for "the first one again".
    pub first: String,
    /// The last request; empty where there was none.
    pub last: String,
}

/// What came of a turn.
#[derive(Debug, Clone)]
pub struct Turn {
    /// What is said; `None` is silence.
    pub reply: Option<Reply>,
    /// What the talk is about now.
    pub thread: Thread,
    /// The answers to choose from, where something is asked back: the label, and the request it would make.
    pub choices: Vec<(String, String)>,
    /// Odds were given.
    pub odds: bool,
}

/// Answers `said`, in a place of this species, after this thread.
#[must_use]
pub fn turn(books: Books, species: Option<SpeciesId>, thread: &Thread, said: &str) -> Turn {
    let mut talk = Talk::new(books.catalogue, books.reader, species);
    for before in [&thread.first, &thread.last] {
        if !before.is_empty() {
            talk.turn(before);
        }
    }
    let reply = talk.turn(said);
    let Some(understood) = talk.understood().cloned() else {
        return Turn { reply, thread: thread.clone(), choices: Vec::new(), odds: false };
    };
    let last = restate::restate(books.catalogue, &understood);
    let mut choices = Vec::new();
    if let Some(question) = understood.questions.first() {
        for (n, choice) in question.readings.iter().enumerate() {
            let label = match choice {
                Choice::Genes(name, _) => name.clone(),
                Choice::Species(id) => books.catalogue.get(*id).name().to_owned(),
                Choice::OnParent(0, _) => "the first of the two".to_owned(),
                Choice::OnParent(..) => "the second".to_owned(),
                Choice::Words(words) => words.clone(),
                Choice::Chance(_, _, share) => restate::share(share),
            };
            // What this choice would make of the request, in full, so that a press needs nothing but the choice.
            let mut taken = talk.clone();
            taken.turn(&(n + 1).to_string());
            if let Some(made) = taken.understood().filter(|made| *made != &understood) {
                choices.push((label, restate::restate(books.catalogue, made)));
            }
        }
    }
    let first =
        if thread.first.is_empty() && understood.questions.is_empty() { last.clone() } else { thread.first.clone() };
    let odds = understood.questions.is_empty() && reply.as_ref().is_some_and(|r| !r.understood.is_empty());
    Turn { reply, thread: Thread { first, last }, choices, odds }
}
