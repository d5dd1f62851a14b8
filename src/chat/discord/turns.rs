//! One turn for the platform: the words, what was talked of before, to a reply and a canonical restatement of what was
//! understood.
//!
//! In: words, the species of the place, the request so far as a restatement. Out: [`Turn`]. Never: the platform, a
//! database. Invariant: what comes out to be kept is the program's own wording, not the member's, and it leads back to
//! the same answer; where it would not, nothing is kept.

use crate::conversation::{Talk, restate};
use crate::reading::requests::{Intent, Reading};
use crate::reading::{Context, Reader};
use crate::reply::Reply;
use crate::species::names::joined;
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
    /// Where something was asked back: what can be answered, and the request that each answer makes.
    pub choices: Vec<(String, String)>,
}

/// What came of a turn.
#[derive(Debug, Clone, Default)]
pub struct Turn {
    /// What is said; `None` is silence.
    pub reply: Option<Reply>,
    /// What the talk is about now.
    pub thread: Thread,
    /// Odds were given: the next steps can be offered.
    pub odds: bool,
    /// It is about what belongs to the asker, so only they see it.
    pub private: bool,
}

/// Answers `said`, in a place of this species, after this thread.
#[must_use]
pub fn turn(books: Books, species: Option<SpeciesId>, thread: &Thread, said: &str) -> Turn {
    let mut talk = Talk::new(books.catalogue, books.reader, species);
    for before in [&thread.first, &thread.last] {
        follow(&mut talk, before);
    }
    let before = talk.understood().cloned();
    let private = is_private(books, species, said);
    let reply = match chosen(books, thread, said) {
        // A request of ours can be several turns; a member's message is one, line breaks and all.
        Some(request) => request.lines().filter_map(|line| talk.turn(line)).last(),
        None => talk.turn(said),
    };
    let understood = talk.understood().cloned();
    let (Some(understood), Some(answer)) = (understood, &reply) else {
        return Turn { reply, thread: thread.clone(), odds: false, private };
    };
    if Some(&understood) == before.as_ref() && answer.understood.is_empty() {
        // Something else was answered, such as help; the talk can still be taken up.
        return Turn { reply, thread: thread.clone(), odds: false, private };
    }
    let last = kept(books, species, &understood, answer);
    let choices = choices(books, &talk, &understood, answer);
    let asks = !understood.questions.is_empty();
    let first = if thread.first.is_empty() && !asks { last.clone() } else { thread.first.clone() };
    let odds = !asks && !answer.understood.is_empty() && !last.is_empty();
    Turn { reply, thread: Thread { first, last, choices }, odds, private }
}

/// Whether words are about a collection or what is kept: never for others to see.
#[must_use]
pub fn is_private(books: Books, species: Option<SpeciesId>, said: &str) -> bool {
    let reading = books.reader.read(books.catalogue, said, Context { species, ..Context::default() });
    match reading.intent {
        Intent::Odds | Intent::Explain | Intent::Help | Intent::SmallTalk | Intent::Unknown | Intent::ProveOut => false,
        Intent::Plan | Intent::NextPairing | Intent::SaveAnimal | Intent::ListCollection | Intent::RecordWeight => true,
        Intent::RecordPairing | Intent::RecordClutch | Intent::SeasonCalendar | Intent::Export | Intent::Forget => true,
    }
}

/// Whether the answer can take seconds: plans and seasons are worked out by trying.
#[must_use]
pub fn is_long(books: Books, species: Option<SpeciesId>, said: &str) -> bool {
    let reading = books.reader.read(books.catalogue, said, Context { species, ..Context::default() });
    matches!(reading.intent, Intent::Plan | Intent::NextPairing)
}

/// Takes a talk to where a restated request leads.
fn follow(talk: &mut Talk<'_>, request: &str) {
    for line in request.lines() {
        talk.turn(line);
    }
}

/// The request in the program's own words, if it leads back to the same answer.
fn kept(books: Books, species: Option<SpeciesId>, understood: &Reading, answer: &Reply) -> String {
    let text = restate::restate(books.catalogue, understood);
    let mut talk = Talk::new(books.catalogue, books.reader, species);
    let back = text.lines().filter_map(|line| talk.turn(line)).last();
    let same =
        back.is_some_and(|b| b.understood == answer.understood && b.rows == answer.rows && b.choices == answer.choices);
    if same { text } else { String::new() }
}

/// The answers to the question that was asked back, each with the request that it makes: a press then needs nothing else.
fn choices(books: Books, talk: &Talk<'_>, understood: &Reading, answer: &Reply) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for (n, label) in (1..).zip(&answer.choices) {
        let mut taken = talk.clone();
        taken.turn(&n.to_string());
        if let Some(made) = taken.understood().filter(|made| *made != understood) {
            let text = restate::restate(books.catalogue, made);
            if !text.is_empty() {
                found.push((label.clone(), text));
            }
        }
    }
    found
}

/// The request of the choice that these words name: its place, or its label, in part where only one has it.
fn chosen<'a>(books: Books, thread: &'a Thread, said: &str) -> Option<&'a str> {
    let key = joined(said.trim_matches(|c: char| !c.is_alphanumeric()));
    if thread.choices.is_empty() || key.is_empty() {
        return None;
    }
    let request = |n: usize| thread.choices.get(n).map(|c| c.1.as_str());
    if let Some(found) = books.reader.place(said).and_then(request) {
        return Some(found);
    }
    let fits = |whole: bool| {
        let found: Vec<usize> = (0..thread.choices.len())
            .filter(|n| {
                let label = joined(&thread.choices[*n].0);
                if whole { label == key } else { key.chars().count() > 2 && label.contains(&key) }
            })
            .collect();
        if let [only] = found[..] { request(only) } else { None }
    };
    fits(true).or_else(|| fits(false))
}
