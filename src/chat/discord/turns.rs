//! One turn for the platform: the words, what was talked of before, to a reply and a canonical restatement of what was
//! understood.
//!
//! In: words, what holds in the place, the talk so far as a [`Thread`], who asks. Out: [`Turn`]. Never: the platform.
//! Invariant: what is kept of a question about odds is the program's own wording, not the member's, and it leads back to
//! the same answer; where it would not, nothing is kept. Only where a member's own animals are spoken of and something was
//! asked back, or a season can be gone on from, are their words held, until they have answered or gone elsewhere.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::{limits, sentences};
use crate::collection::animal::AnimalId;
use crate::collection::store::Who;
use crate::conversation::desk::{self, Present, Shelf, Waits};
use crate::conversation::{File, Talk, restate};
use crate::explanations::own::Own;
use crate::explanations::show::mark;
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

/// What holds where something is said.
#[derive(Debug, Clone, Copy, Default)]
pub struct Room<'a> {
    /// The usual species.
    pub species: Option<SpeciesId>,
    /// The words of the community.
    pub own: Option<&'a Own>,
}

/// Who asks, and where their animals are kept.
#[derive(Debug, Clone)]
pub struct Asker {
    /// Who.
    pub who: Who,
    /// Their animals.
    pub shelf: Arc<Shelf>,
    /// When they ask.
    pub present: Present,
    /// The id of the message or press: what it saves is saved once, however often it arrives.
    pub once: String,
    /// The file that they handed in, where the talk is about one.
    pub file: Option<Arc<[u8]>>,
}

/// Whose words they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Words {
    /// Of somebody who asks.
    Theirs,
    /// Of a button or a kept request, about odds alone: they never mean the collection.
    Ours,
}

/// What a talk was about, as it is kept.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Thread {
    /// The first request, for "the first one again", in the program's own wording.
    pub first: String,
    /// The last request; empty where there was none.
    pub last: String,
    /// Where something was asked back: what can be answered, and the request or words that each answer makes.
    pub choices: Vec<(String, String)>,
    /// The asker's animals that were spoken of, the last first.
    pub about: Vec<AnimalId>,
    /// What waits for an answer about the asker's own animals.
    pub asked: AskedBack,
}

impl Thread {
    /// Whether there is nothing to go on from.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.last.is_empty() && self.choices.is_empty() && self.about.is_empty() && self.asked.is_empty()
    }

    /// What another member may go on from: nothing of the asker's own animals.
    #[must_use]
    pub fn for_others(self) -> Self {
        let choices = if self.asked.is_empty() { self.choices } else { Vec::new() };
        Self { choices, about: Vec::new(), asked: AskedBack::default(), ..self }
    }
}

/// A question of the program's about the asker's own animals. What they said is gone through again when they answer, so
/// that any process can go on; then it is erased.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct AskedBack {
    /// What the asker said.
    #[serde(default)]
    pub lines: Vec<String>,
    /// A mark of what was shown, where a word does it: it is done only if the same would be shown again.
    #[serde(default)]
    pub shown: String,
    /// The question with which a file was handed in that all of this is about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<u64>,
}

impl AskedBack {
    /// Whether nothing waits for an answer.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty() && self.file.is_none()
    }
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
    /// A file that goes with it.
    pub file: Option<File>,
    /// The asker wants everything of theirs erased: the way to that is offered.
    pub erase: bool,
    /// The one of the asker's animals that it is about.
    pub animal: Option<AnimalId>,
    /// It is shown to one alone, who may show it to everybody.
    pub publishable: bool,
    /// Nothing came of it, because of the program or of what it needs.
    pub fault: bool,
    /// It is about the asker's season, which they may show to others.
    pub season: bool,
}

/// Answers `said`, in this room, after this thread.
pub async fn turn(books: Books, room: Room<'_>, thread: &Thread, (said, whose): (&str, Words), asker: &Asker) -> Turn {
    let shelf = (whose == Words::Theirs).then(|| Arc::clone(&asker.shelf));
    let mut desk = desk_of(books, room, shelf);
    desk.take_up(&[&thread.first, &thread.last], &thread.about);
    if !thread.asked.is_empty() {
        let mut again = None;
        if thread.asked.file.is_some() {
            let Some(bytes) = &asker.file else {
                let reply = Some(sentences::too_old());
                return Turn {
                    reply,
                    thread: Thread { asked: AskedBack::default(), ..thread.clone() },
                    ..Turn::default()
                };
            };
            again = Some(desk.receive(&asker.who, asker.present, bytes).await);
        }
        again = desk.rehearse(&asker.who, asker.present, &thread.asked.lines).await.or(again);
        let changed = again.as_ref().map(mark).is_some_and(|mark| mark != thread.asked.shown);
        if matches!(desk.waits_for(), Waits::Word(_)) && changed {
            // What would be done is no longer what was shown: it is shown anew.
            return personal(&desk, thread, (&thread.asked.lines, thread.asked.file), again);
        }
    }
    let before = desk.talk().understood().cloned();
    let reply = match chosen(books, thread, said).or((whose == Words::Ours).then_some(said)) {
        // A request of ours can be several turns; a member's message is one, line breaks and all.
        Some(request) => desk.of_odds(request),
        None => desk.turn(&asker.who, Some(&asker.once), asker.present, said).await,
    };
    if desk.was_to_erase() {
        return Turn { thread: thread.clone(), private: true, erase: true, ..Turn::default() };
    }
    if desk.take_wanted().is_some() {
        // A name says nothing here: files are handed in.
        let thread = Thread { choices: Vec::new(), asked: AskedBack::default(), ..thread.clone() };
        return Turn { reply: Some(sentences::hand_the_file_in()), thread, private: true, ..Turn::default() };
    }
    let file = desk.take_file();
    if file.as_ref().is_some_and(|file| file.bytes.len() > limits::FILE_BYTES) {
        let reply = Some(sentences::copy_too_large(limits::FILE_BYTES));
        return Turn { reply, thread: thread.clone(), private: true, ..Turn::default() };
    }
    if desk.was_personal() {
        let mut lines = thread.asked.lines.clone();
        lines.push(said.to_owned());
        let mut turn = personal(&desk, thread, (&lines, thread.asked.file), reply);
        if desk.talk().understood() != before.as_ref() {
            take_odds(books, room, desk.talk(), &mut turn);
        }
        return Turn { file, ..turn };
    }
    let mut turn = general(books, room, thread, desk.talk(), before.as_ref(), reply);
    if desk.waits_for() == Waits::Answer && turn.thread.choices.is_empty() {
        // What was asked of the asker's own waits on while something else is talked of.
        turn.thread.asked = thread.asked.clone();
    }
    Turn { file, ..turn }
}

/// Takes the asker's file in that came with the question `source`: what it would change, to be confirmed.
pub async fn receive(books: Books, room: Room<'_>, thread: &Thread, source: u64, asker: &Asker) -> Turn {
    let mut desk = desk_of(books, room, Some(Arc::clone(&asker.shelf)));
    let bytes = asker.file.clone().unwrap_or_else(|| Arc::new([]));
    let reply = desk.receive(&asker.who, asker.present, &bytes).await;
    personal(&desk, thread, (&[], Some(source)), Some(reply))
}

fn desk_of(books: Books, room: Room<'_>, shelf: Option<Arc<Shelf>>) -> desk::Desk<'_> {
    let desk = desk::Desk::new(books.catalogue, books.reader, room.species, shelf);
    match room.own {
        Some(own) => desk.with_words(own),
        None => desk,
    }
}

/// What is kept of a turn about the asker's own animals: with what was said, and the file that it is about.
fn personal(
    desk: &desk::Desk<'_>,
    thread: &Thread,
    (lines, file): (&[String], Option<u64>),
    reply: Option<Reply>,
) -> Turn {
    let back = |shown: &Reply| AskedBack { lines: lines.to_vec(), shown: mark(shown), file };
    let (choices, asked) = match (desk.waits_for(), &reply) {
        (Waits::Nothing, _) | (_, None) => (Vec::new(), AskedBack::default()),
        (Waits::Answer, Some(shown)) => {
            let choices = (1..).zip(&shown.choices).map(|(n, label): (usize, _)| (label.clone(), n.to_string()));
            (choices.collect(), back(shown))
        }
        (Waits::Word(word), Some(shown)) => (vec![(word.clone(), word)], back(shown)),
    };
    let animal = desk.about_one().filter(|_| asked.is_empty());
    let about = desk.about().to_vec();
    let thread = Thread { choices, about, asked, ..thread.clone() };
    let season = desk.was_of_season() && !thread.asked.lines.is_empty();
    Turn { reply, thread, private: true, animal, season, ..Turn::default() }
}

/// Odds of the asker's own animals can be gone on from like any other: their genes are restated, their names are not.
fn take_odds(books: Books, room: Room<'_>, talk: &Talk<'_>, turn: &mut Turn) {
    let (Some(understood), Some(answer)) = (talk.understood(), &turn.reply) else { return };
    let nameless = answer.understood.lines().last().unwrap_or_default().to_owned();
    let last = kept(books, room, understood, &Reply { understood: nameless, ..answer.clone() });
    turn.odds = !last.is_empty() && understood.questions.is_empty();
    if turn.odds {
        turn.thread.last = last;
    }
}

/// What is kept of any other turn: the request, in the program's own words.
fn general(
    books: Books,
    room: Room<'_>,
    thread: &Thread,
    talk: &Talk<'_>,
    before: Option<&Reading>,
    reply: Option<Reply>,
) -> Turn {
    let Some(answer) = &reply else { return Turn { reply, thread: thread.clone(), ..Turn::default() } };
    let going_on = Thread { choices: Vec::new(), asked: AskedBack::default(), ..thread.clone() };
    let understood = talk.understood();
    let last = understood.map_or_else(String::new, |understood| kept(books, room, understood, answer));
    let same = understood.is_none() || understood == before && last.is_empty();
    if same {
        // Something else was answered, such as help or a word; the talk can still be taken up.
        let choices = explained(books, room, talk, answer);
        return Turn { reply, thread: Thread { choices, ..going_on }, ..Turn::default() };
    }
    let (Some(understood), asks) = (understood, understood.is_some_and(|u| !u.questions.is_empty())) else {
        return Turn { reply, thread: going_on, ..Turn::default() };
    };
    let choices = choices(books, talk, understood, answer);
    let first = if thread.first.is_empty() && !asks { last.clone() } else { thread.first.clone() };
    let odds = !asks && !answer.understood.is_empty() && !last.is_empty();
    Turn { reply, thread: Thread { first, last, choices, ..going_on }, odds, ..Turn::default() }
}

/// Explains what words are about, however they are put.
#[must_use]
pub fn explain(books: Books, room: Room<'_>, said: &str) -> Turn {
    let mut talk = Talk::new(books.catalogue, books.reader, room.species);
    if let Some(own) = room.own {
        talk = talk.with_own(own);
    }
    let reply = if said.trim().is_empty() { talk.topics() } else { talk.explain(said) };
    let choices = explained(books, room, &talk, &reply);
    Turn { reply: Some(reply), thread: Thread { choices, ..Thread::default() }, ..Turn::default() }
}

/// Explains the words that somebody used, each in a line; a choice shows more of one.
#[must_use]
pub fn explain_words(books: Books, room: Room<'_>, said: &str) -> Turn {
    let mut talk = Talk::new(books.catalogue, books.reader, room.species);
    if let Some(own) = room.own {
        talk = talk.with_own(own);
    }
    let (reply, words) = talk.words_in(said);
    let choices = words.into_iter().map(|word| (word.clone(), format!("explain {word}"))).collect();
    Turn { reply: Some(reply), thread: Thread { choices, ..Thread::default() }, ..Turn::default() }
}

/// Whether words may be about the asker's own animals, as far as that can be told without looking at them.
#[must_use]
pub fn may_concern(books: Books, species: Option<SpeciesId>, said: &str, asker: &Asker) -> bool {
    let shelf = Some(Arc::clone(&asker.shelf));
    desk::Desk::new(books.catalogue, books.reader, species, shelf).may_concern(asker.present.day, said)
}

/// What words are like, before they are answered.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Nature {
    /// They are about a collection or what is kept: never for others to see.
    pub private: bool,
    /// The answer can take seconds: plans and seasons are worked out by trying.
    pub long: bool,
    /// They ask something by themselves, whatever is handed in beside them.
    pub question: bool,
}

/// What these words are like in this room.
#[must_use]
pub fn nature(books: Books, room: Room<'_>, said: &str) -> Nature {
    if room.own.is_some_and(|own| own.asked_for(said).is_some()) {
        return Nature { question: true, ..Nature::default() };
    }
    let reading = books.reader.read(books.catalogue, said, Context { species: room.species, ..Context::default() });
    let private = match reading.intent {
        Intent::Odds | Intent::Explain | Intent::Help | Intent::SmallTalk | Intent::Unknown | Intent::ProveOut => false,
        Intent::Plan | Intent::NextPairing | Intent::SaveAnimal | Intent::ListCollection | Intent::RecordWeight => true,
        Intent::RecordPairing | Intent::RecordClutch | Intent::SeasonCalendar | Intent::Export | Intent::Forget => true,
    };
    let long = matches!(reading.intent, Intent::Plan | Intent::NextPairing);
    let question = matches!(reading.intent, Intent::Odds | Intent::Explain | Intent::Help | Intent::ProveOut) || long;
    Nature { private, long, question }
}

/// The request in the program's own words, if it leads back to the same answer.
fn kept(books: Books, room: Room<'_>, understood: &Reading, answer: &Reply) -> String {
    let text = restate::restate(books.catalogue, understood);
    let mut talk = Talk::new(books.catalogue, books.reader, room.species);
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

/// What a question of an explanation offers: topics and cards, each by words that lead to it alone.
fn explained(books: Books, room: Room<'_>, talk: &Talk<'_>, answer: &Reply) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for (n, label) in (1..).zip(&answer.choices) {
        let mut taken = talk.clone();
        let Some(there) = taken.turn(&n.to_string()) else { continue };
        let asks = [format!("explain {label}"), format!("explain {}", label.replace(": ", " "))];
        let leads = |ask: &String| {
            let mut talk = Talk::new(books.catalogue, books.reader, room.species);
            if let Some(own) = room.own {
                talk = talk.with_own(own);
            }
            talk.turn(ask).is_some_and(|reply| reply.understood == there.understood && !reply.understood.is_empty())
        };
        if let Some(ask) = asks.into_iter().find(leads) {
            found.push((label.clone(), ask));
        }
    }
    found
}

/// The request of the choice that these words name: its place, or its label, in part where only one has it.
fn chosen<'a>(books: Books, thread: &'a Thread, said: &str) -> Option<&'a str> {
    let key = joined(said.trim_matches(|c: char| !c.is_alphanumeric()));
    // What is asked back about the asker's own animals is answered in words, to the desk that asked.
    if thread.choices.is_empty() || key.is_empty() || !thread.asked.is_empty() {
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
