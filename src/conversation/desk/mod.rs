//! A talk that remembers a keeper's animals: the walk from a message over the collection to a reply.
//!
//! In: who asks, the day, a message. Out: a [`Reply`], or silence. What is not about the keeper's own animals goes to the
//! pure [`Talk`], also when the database is away. Every turn shows its steps: load, decide (pure, in `keeping`), save, say.
//! Invariant: "saved" is said after the commit and never before.
//! Start at [`Desk::turn`].

mod act; // what a record comes to
mod present; // when and where a message is said
mod shelf; // the database, opened when it is needed

use std::sync::Arc;

use jiff::civil::Date;

use super::keeping::{self, Ask, Fixed, answered};
use super::sentences::keeping as say;
use super::{File, Talk};
use crate::collection::animal::{Animal, AnimalId, KeeperId};
use crate::collection::change::Change;
use crate::collection::herd::Herd;
use crate::collection::name::Name;
use crate::collection::store::{StoreError, Who};
use crate::explanations::own::Own;
use crate::reading::Reader;
use crate::reading::records::Record;
use crate::reading::records::goals::PlanMore;
use crate::reading::records::message::{Known, Names};
use crate::reading::records::season::{SeasonAsked, asks_to_buy};
use crate::reading::requests::{Animal as Spoken, Intent, Reading};
use crate::reply::picture::{Drawing, PictureError, Theme};
use crate::reply::{Kind, Reply};
use crate::species::{Catalogue, SpeciesId};

pub use present::{Front, Present};
pub use shelf::Shelf;

/// Animals that a pronoun may mean.
const REMEMBERED: usize = 10;

/// What a turn is about.
#[derive(Debug, Clone)]
enum Task {
    /// A message.
    Record(Box<Record>),
    /// A file that was handed in.
    Incoming(Arc<[u8]>),
}

/// Something that was asked or shown, and waits for an answer.
#[derive(Debug)]
enum Pending {
    /// An answer settles a record.
    Ask { task: Task, fixed: Box<Fixed>, ask: Ask, said: String },
    /// A word does it.
    Confirm { word: String, change: Change, reply: Box<Reply>, about: Vec<AnimalId> },
    /// A word erases everything.
    Forget { word: String },
}

/// One conversation with one keeper.
#[derive(Debug)]
pub struct Desk<'a> {
    talk: Talk<'a>,
    catalogue: &'a Catalogue,
    reader: &'a Reader,
    species: Option<SpeciesId>,
    shelf: Option<Arc<Shelf>>,
    /// Names of the keeper's animals as they were last loaded.
    names: Names,
    last: Vec<AnimalId>,
    /// Those of them that the last reply is about.
    now: Vec<AnimalId>,
    pending: Option<Pending>,
    file: Option<File>,
    wanted: Option<String>,
    saved: bool,
    /// The plan that was asked for last.
    plan: Option<Record>,
    /// The last answer was about that plan.
    after_plan: bool,
    /// The season that was asked for last.
    season: Option<Box<keeping::season::Kept>>,
    /// What was said last was about that season: it can be gone on from.
    of_season: bool,
    /// The talk has not left that season for something else.
    near_season: bool,
    /// What was said last was about the keeper's own animals.
    personal: bool,
    /// What was said last asks to erase everything.
    erasing: bool,
    /// Nothing is saved: what was said before is only gone through again.
    rehearsing: bool,
    /// On what ground pictures are drawn.
    theme: Theme,
}

/// What a talk waits for, for a front that does not hold the talk itself between two messages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Waits {
    /// For nothing.
    Nothing,
    /// For an answer to a question.
    Answer,
    /// For this word, which does what was shown.
    Word(String),
}

impl<'a> Desk<'a> {
    /// A new conversation. Without a shelf it gives odds and keeps nothing.
    #[must_use]
    pub fn new(
        catalogue: &'a Catalogue,
        reader: &'a Reader,
        species: Option<SpeciesId>,
        shelf: Option<Arc<Shelf>>,
    ) -> Self {
        Self {
            talk: Talk::new(catalogue, reader, species),
            catalogue,
            reader,
            species,
            shelf,
            names: Names::default(),
            last: Vec::new(),
            now: Vec::new(),
            pending: None,
            file: None,
            wanted: None,
            saved: false,
            plan: None,
            after_plan: false,
            season: None,
            of_season: false,
            near_season: false,
            personal: false,
            erasing: false,
            rehearsing: false,
            theme: Theme::default(),
        }
    }

    /// The same desk with its pictures on this ground.
    #[must_use]
    pub fn with_theme(mut self, theme: Theme) -> Self {
        self.theme = theme;
        self
    }

    /// The same conversation with a community's or user's own words.
    #[must_use]
    pub fn with_words(mut self, own: &'a Own) -> Self {
        self.talk = self.talk.with_own(own);
        self
    }

    /// A file that the last reply hands over, once.
    pub fn take_file(&mut self) -> Option<File> {
        self.file.take()
    }

    /// The name of a file that the last message asked to take in, empty where it named none, once: a front that can fetch it
    /// gives it to [`Desk::receive`].
    pub fn take_wanted(&mut self) -> Option<String> {
        self.wanted.take()
    }

    /// Whether the last message saved something.
    #[must_use]
    pub fn has_saved(&self) -> bool {
        self.saved
    }

    /// Takes a file in: what it would change is shown first, and saved when the word of the reply is typed.
    pub async fn receive(&mut self, who: &Who, present: impl Into<Present>, bytes: &[u8]) -> Reply {
        let present = present.into();
        self.pending = None;
        let Some(shelf) = self.shelf.clone() else { return say::no_collection() };
        let (keeper, herd) = match load(&shelf, who).await {
            Ok(loaded) => loaded,
            Err(error) => return say::away(&error),
        };
        let turn = Turn { who, once: None, present, said: "" };
        self.act(&shelf, turn, keeper, &herd, Task::Incoming(bytes.into()), Fixed::default()).await
    }

    /// The talk below, which knows no animals: what was asked of odds so far.
    #[must_use]
    pub fn talk(&self) -> &Talk<'a> {
        &self.talk
    }

    /// Takes the talk up where it stood: the requests made so far, and the animals last spoken of, the last first.
    pub fn take_up(&mut self, requests: &[&str], about: &[AnimalId]) {
        for line in requests.iter().flat_map(|request| request.lines()) {
            self.talk.turn(line);
        }
        self.last = about.to_vec();
    }

    /// Answers a request of the program's own about odds, a line a turn: it never means the collection.
    pub fn of_odds(&mut self, request: &str) -> Option<Reply> {
        self.personal = false;
        self.pending = None;
        let mut reply = request.lines().filter_map(|line| self.talk.turn(line)).last()?;
        self.hand_over_picture(&mut reply);
        Some(reply)
    }

    /// Goes through messages again that something was asked back about, without saving anything. Gives the last reply.
    pub async fn rehearse(&mut self, who: &Who, present: impl Into<Present>, said: &[String]) -> Option<Reply> {
        let present = present.into();
        self.rehearsing = true;
        let mut reply = None;
        for said in said {
            reply = Box::pin(self.turn(who, None, present, said)).await;
        }
        self.rehearsing = false;
        reply
    }

    /// The animals last spoken of, the last first.
    #[must_use]
    pub fn about(&self) -> &[AnimalId] {
        &self.last
    }

    /// The one animal that the last reply is about, where it is about one.
    #[must_use]
    pub fn about_one(&self) -> Option<AnimalId> {
        if let [only] = self.now[..] { Some(only) } else { None }
    }

    /// What the talk waits for now.
    #[must_use]
    pub fn waits_for(&self) -> Waits {
        match &self.pending {
            // What is asked of a season goes on from it, wherever the talk is held.
            None if self.of_season => Waits::Answer,
            None => Waits::Nothing,
            Some(Pending::Ask { .. }) => Waits::Answer,
            Some(Pending::Confirm { word, .. } | Pending::Forget { word }) => Waits::Word(word.clone()),
        }
    }

    /// Whether the last reply was about the keeper's own animals, so that it is for them alone.
    #[must_use]
    pub fn was_personal(&self) -> bool {
        self.personal
    }

    /// Whether the last reply was about the pairings of a season, which can be gone on from and shown to others.
    #[must_use]
    pub fn was_of_season(&self) -> bool {
        self.of_season
    }

    /// Whether a message may be about the keeper's own animals: only then is the collection looked at.
    #[must_use]
    pub fn may_concern(&self, today: Date, said: &str) -> bool {
        let reading = self.talk.peek(said);
        self.pending.is_some()
            || self.record(said, &reading, today).is_some()
            || self.may_name_an_animal(said, &reading)
    }

    /// Whether the last message asked to erase everything: a front may have a way of its own for that.
    #[must_use]
    pub fn was_to_erase(&self) -> bool {
        self.erasing
    }

    /// Answers one message of a keeper; `None` is silence. `once` is the id of the message or press, so that one that
    /// arrives twice is done once.
    pub async fn turn(
        &mut self,
        who: &Who,
        once: Option<&str>,
        present: impl Into<Present>,
        said: &str,
    ) -> Option<Reply> {
        let present = present.into();
        self.talk.forget_drawing(said);
        let mut reply = self.answer(who, once, present, said).await?;
        if !self.personal {
            self.near_season = false;
        }
        let waits = matches!(&self.pending, Some(Pending::Ask { task: Task::Record(r), ask, .. }) if ask.waits(r));
        if waits && reply.kind != Kind::Question {
            reply.notes.insert(0, say::remind::still_waits());
        }
        self.talk.keep_drawing(said, &mut reply);
        self.hand_over_picture(&mut reply);
        Some(reply)
    }

    /// Makes a file of what a reply draws.
    fn hand_over_picture(&mut self, reply: &mut Reply) {
        if let Some(drawing) = &reply.drawing {
            match picture(drawing, self.theme) {
                Ok(file) => self.file = Some(file),
                Err(error) => reply.notes.insert(0, super::sentences::no_picture_now(&error)),
            }
        }
    }

    /// What can be drawn of the last answer.
    #[must_use]
    pub fn drawing(&self) -> Option<Drawing> {
        self.talk.drawing()
    }

    async fn answer(&mut self, who: &Who, once: Option<&str>, present: Present, said: &str) -> Option<Reply> {
        self.file = None;
        self.wanted = None;
        self.saved = false;
        self.personal = false;
        self.erasing = false;
        self.of_season = false;
        self.now.clear();
        if let Some(pending) = self.pending.take()
            && let Some(reply) = self.go_on(pending, who, once, present, said).await
        {
            self.personal = true;
            return Some(reply);
        }
        let reading = self.talk.peek(said);
        let record = self.record(said, &reading, present.day);
        // "how many more eggs" goes on from what was told of an animal that is not kept here.
        if let Some(Record::Evidence(asked)) = &record
            && !asked.is_named()
            && (self.talk.is_proving() || self.last.is_empty())
        {
            return self.talk.turn(said);
        }
        // Plans need no collection, and go on without one.
        let planning = matches!(record, Some(Record::Plan { .. } | Record::PlanMore(_)));
        if planning && self.shelf.is_none() || matches!(record, Some(Record::PlanMore(_))) && self.plan.is_none() {
            return self.talk.turn(said);
        }
        if record.is_none() && !self.may_name_an_animal(said, &reading) {
            return self.talk.turn(said);
        }
        // Also where the collection cannot be read now: that it was asked for is the keeper's own affair.
        self.personal = record.is_some();
        let Some(shelf) = self.shelf.clone() else {
            return match record {
                Some(_) => Some(say::no_collection()),
                None => self.talk.turn(said),
            };
        };
        let loaded = load(&shelf, who).await;
        let (keeper, herd) = match loaded {
            Ok(loaded) => loaded,
            // Odds go on without the collection; whoever asks for the collection hears why not.
            Err(error) => {
                let odds = (record.is_none() || planning).then(|| self.talk.turn(said)).flatten();
                return odds.or_else(|| record.is_some().then(|| say::away(&error)));
            }
        };
        self.names = names(&herd);
        let record = self.record(said, &reading, present.day_of(&herd));
        self.personal = record.is_some();
        self.erasing = matches!(record, Some(Record::Forget));
        if let Some(record) = record {
            let turn = Turn { who, once, present, said };
            let mut reply =
                self.act(&shelf, turn, keeper, &herd, Task::Record(Box::new(record)), Fixed::default()).await;
            self.tell_missed(&shelf, keeper, &herd, &mut reply).await;
            Some(reply)
        } else if matches!(
            reading.intent,
            Intent::SaveAnimal
                | Intent::RecordWeight
                | Intent::RecordPairing
                | Intent::RecordClutch
                | Intent::ListCollection
        ) {
            self.personal = true;
            Some(say::not_understood())
        } else {
            self.talk.turn(said)
        }
    }

    /// Whether a message asks for odds, an explanation or help.
    fn asks_something(&self, said: &str) -> bool {
        let reading = self.talk.peek(said);
        match reading.intent {
            Intent::Odds => reading.pairing.parents.iter().any(|parent| !parent.genes.is_empty()),
            Intent::SmallTalk | Intent::Unknown => false,
            _ => true,
        }
    }

    fn read(&self, said: &str, today: Date) -> Option<Record> {
        self.record(said, &self.talk.peek(said), today)
    }

    /// The record that a message is, which is read as this where it is none.
    fn record(&self, said: &str, reading: &Reading, today: Date) -> Option<Record> {
        let species = self.species.or(self.talk.species_spoken_of());
        let known = Known { species, names: &self.names, today };
        // After other talk only a pair of animals by name can still mean the season; prices go on from a plan.
        if (self.season.is_some() || self.near_season || self.after_plan)
            && let Some(more) = self.reader.season_more(self.catalogue, said, known)
            && (self.near_season
                || matches!(more, SeasonAsked::WhyNot(_, Some(_)))
                || self.after_plan && matches!(more, SeasonAsked::Buy(_)))
            // Prices and costs go on from "what should I buy" too, which leaves no pairings behind.
            && (self.season.is_some() || matches!(more, SeasonAsked::Buy(_) | SeasonAsked::Worth(_)))
        {
            return Some(Record::Season(more));
        }
        // "should I buy a clown female for 400 or a pied male for 150" names two animals and is no pairing.
        if reading.intent == Intent::Odds
            && asks_to_buy(said)
            && let Some(bought) = self.reader.record(self.catalogue, said, known)
            && matches!(bought, Record::Season(SeasonAsked::Buy(_)) | Record::PlanMore(PlanMore::Offers(_)))
        {
            return Some(bought);
        }
        // "show all" under odds means their kinds, not the collection; and odds that lack nothing are no record.
        if self.talk.asks_for_own(said) || self.talk.goes_on(said) || is_whole(reading) && !self.names.stand_in(said) {
            return None;
        }
        self.reader.record(self.catalogue, said, known)
    }

    /// Whether the message may be about an animal by its name: it is read as odds that lack something, or holds a word
    /// that may be a name. Only then is the collection looked at, so that plain odds need no database.
    fn may_name_an_animal(&self, said: &str, reading: &Reading) -> bool {
        if self.shelf.is_none() {
            return false;
        }
        let lacks = !reading.questions.is_empty() || !reading.unread.is_empty() || reading.pairing.parents.len() < 2;
        let named = reading.pairing.parents.iter().any(|p| p.name.is_some());
        match reading.intent {
            Intent::Odds => lacks || named,
            Intent::SmallTalk | Intent::Unknown => said.split_whitespace().count() <= 40 && may_be_name(said),
            Intent::Help | Intent::Explain => false,
            _ => true,
        }
    }

    /// An answer to what was asked or shown; `None` where the message is about something else.
    async fn go_on(
        &mut self,
        pending: Pending,
        who: &Who,
        once: Option<&str>,
        present: Present,
        said: &str,
    ) -> Option<Reply> {
        let typed = said.trim().trim_matches(['"', '.', '!', '\u{201c}', '\u{201d}', ' ']).to_lowercase();
        match pending {
            Pending::Ask { task, fixed, ask, said: before } => {
                let waits = matches!(&task, Task::Record(record) if ask.waits(record));
                if (waits || matches!(ask, Ask::What)) && is_no(&typed) {
                    return Some(Reply::sentence(say::not_confirmed()));
                }
                let record = self.read(said, present.day).filter(|r| !matches!(r, Record::Card(_)));
                let place = ask.place_in(record.as_ref());
                // A message that is a record of its own begins anew; so does a question, where any words can be an answer.
                let anew = place.is_none() && (record.is_some() || waits && self.asks_something(said));
                let answer = (!anew)
                    .then(|| answered(self.reader, self.catalogue, &fixed, &ask, place.as_deref().unwrap_or(said)));
                let Some(answer) = answer.flatten() else {
                    // A file is not handed in again for a slip of the pen: its question stays open.
                    if waits || !anew && matches!(task, Task::Incoming(_)) {
                        self.pending = Some(Pending::Ask { task, fixed, ask, said: before });
                    }
                    return None;
                };
                let fixed = answer;
                let shelf = self.shelf.clone()?;
                let (keeper, herd) = match load(&shelf, who).await {
                    Ok(loaded) => loaded,
                    Err(error) => return Some(say::away(&error)),
                };
                let turn = Turn { who, once, present, said: &before };
                Some(self.act(&shelf, turn, keeper, &herd, task, fixed).await)
            }
            Pending::Confirm { word, change, reply, about } if typed == word => {
                let shelf = self.shelf.clone()?;
                Some(self.save(&shelf, who, &change, *reply, about, once).await)
            }
            Pending::Forget { word } if typed == word && !self.rehearsing => {
                let shelf = self.shelf.clone()?;
                let erased = async {
                    let store = shelf.store().await?;
                    store.forget(who).await
                };
                self.last.clear();
                self.names = Names::default();
                Some(erased.await.map_or_else(|e: StoreError| say::away(&e), |()| say::forgotten()))
            }
            // "export" between the question and the word is what the question itself offers.
            Pending::Forget { word } => {
                let exporting = matches!(self.read(said, present.day), Some(Record::Export { .. }));
                if exporting {
                    let reply = Box::pin(self.turn(who, once, present, said)).await;
                    self.pending = Some(Pending::Forget { word });
                    return reply;
                }
                is_no(&typed).then(|| Reply::sentence(say::not_confirmed()))
            }
            Pending::Confirm { .. } => is_no(&typed).then(|| Reply::sentence(say::not_confirmed())),
        }
    }

    /// Says what could be told nowhere when it was due.
    async fn tell_missed(&self, shelf: &Shelf, keeper: Option<KeeperId>, herd: &Herd, reply: &mut Reply) {
        let missed = say::remind::missed(herd);
        let Some(keeper) = keeper.filter(|_| !missed.is_empty() && !self.rehearsing) else { return };
        let heard = async { shelf.store().await?.heard_of_missed(keeper).await };
        if heard.await.is_ok() {
            reply.notes.splice(0..0, missed);
        }
    }

    /// Remembers whom a pronoun may mean, the first of these before the others.
    fn speak_of(&mut self, about: &[AnimalId]) {
        self.last.retain(|id| !about.contains(id));
        self.last.splice(0..0, about.iter().copied());
        self.last.truncate(REMEMBERED);
        self.now = about.to_vec();
    }
}

/// A message with everything that goes with it.
#[derive(Debug, Clone, Copy)]
struct Turn<'t> {
    who: &'t Who,
    once: Option<&'t str>,
    present: Present,
    said: &'t str,
}

/// One animal of a keeper in one line, as lists show it.
#[must_use]
pub fn line_of(catalogue: &Catalogue, herd: &Herd, animal: &Animal) -> String {
    say::in_full(catalogue, herd, animal)
}

/// The species of these animals, if it is one.
fn of_all(catalogue: &Catalogue, herd: &Herd, animals: &[AnimalId]) -> Option<SpeciesId> {
    let mut keys = animals.iter().filter_map(|id| Some(&herd.animal(*id)?.species));
    let first = keys.next()?;
    let species = catalogue.species().iter().find(|species| species.key() == first)?;
    keys.all(|key| key == first).then_some(species.id)
}

fn is_no(typed: &str) -> bool {
    matches!(
        typed,
        "no" | "cancel" | "stop" | "nein" | "abbrechen" | "cancelar" | "never mind" | "nevermind" | "dont" | "don't"
    )
}

/// Whether a message is read as the odds of two animals that are told by their genes, with nothing open.
fn is_whole(reading: &Reading) -> bool {
    let told = |animal: &Spoken| animal.name.is_none() && !animal.genes.is_empty();
    reading.intent == Intent::Odds
        && reading.questions.is_empty()
        && reading.unread.is_empty()
        && reading.pairing.parents.len() == 2
        && reading.pairing.parents.iter().all(told)
}

/// A word that begins with a capital inside the message, or a code.
fn may_be_name(said: &str) -> bool {
    said.contains('#')
        || said.split_whitespace().any(|w| w.chars().find(|c| c.is_alphanumeric()).is_some_and(char::is_uppercase))
        || said.split_whitespace().count() <= 4
}

fn names(herd: &Herd) -> Names {
    Names::new(herd.animals.iter().filter_map(|a| a.name.as_ref()).map(Name::as_str))
}

async fn load(shelf: &Shelf, who: &Who) -> Result<(Option<KeeperId>, Herd), StoreError> {
    let store = shelf.store().await?;
    match store.keeper(who).await? {
        Some(keeper) => Ok((Some(keeper), store.herd(keeper).await?)),
        None => Ok((None, Herd::empty())),
    }
}

/// A picture as a file, with the same in words beside it.
fn picture(drawing: &Drawing, theme: Theme) -> Result<File, PictureError> {
    let drawn = drawing.draw(theme);
    Ok(File { name: "picture.png".to_owned(), bytes: drawn.png()?, alt: Some(drawn.alt) })
}
