//! New animals: "add a 2022 female pastel het clown, 1400g", a pasted list, "keep the 0.1 clown from the Juno clutch as Pip".
//!
//! A line is one animal (or a count of like ones). What has a form of its own is taken out first: note, name, parents,
//! dates, weight, price, origin. What is left is the description, and gene words are the business of `described`.

pub(super) mod facts; // dates, weights, prices, origin, what it is doing
mod family; // parents and clutches
mod lines; // lines of a list, and one line as one animal
mod names; // a name said as such, and one that is not

use super::Record;
use super::amounts::pattern;
use super::described::Described;
use super::kinds::{Sexed, Status};
use super::message::{Called, Msg};
use crate::reading::dates::Said;
use crate::reading::requests::SexSaid;
pub(super) use family::parent_said;
use lines::{Head, lines, sex_in};

/// The most animals of one message.
pub const MOST_LINES: usize = 200;

/// A parent as said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ParentSaid {
    /// An animal of the collection, or a name nobody has.
    Called(Called),
    /// Someone described: "a clown", "het pied girl of a friend".
    Words(String),
}

/// A new animal as said.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct NewAnimal {
    /// The line it stands in, from 1.
    pub line: usize,
    /// The line as typed.
    pub said: String,
    /// How many like it: males, females, unsexed.
    pub counts: (u16, u16, u16),
    /// Its name.
    pub name: Option<String>,
    /// Genes, sex, species.
    pub described: Described,
    /// When it hatched.
    pub hatched: Option<Said>,
    /// Its weight in grams.
    pub grams: Option<i64>,
    /// The day of the weight; none is the day of the message.
    pub weighed: Option<Said>,
    /// Words to group by.
    pub tags: Vec<String>,
    /// Price paid in hundredths, and the currency where named.
    pub price: Option<(i64, Option<&'static str>)>,
    /// Two parents in the order of the text.
    pub parents: Option<(ParentSaid, ParentSaid)>,
    /// The father, said to be so.
    pub sire: Option<ParentSaid>,
    /// The mother, said to be so.
    pub dam: Option<ParentSaid>,
    /// The clutch it is from: a code, or the name of a parent.
    pub clutch: Option<String>,
    /// Where it comes from.
    pub origin: Option<String>,
    /// Its look is not told yet.
    pub untold: bool,
    /// How sure the sex is.
    pub sexed: Sexed,
    /// What it is doing.
    pub status: Option<Status>,
    /// Anything else.
    pub notes: Option<String>,
    /// Words that were not understood.
    pub unread: Vec<String>,
}

impl NewAnimal {
    /// Whether anything of an animal was said at all.
    #[must_use]
    pub fn says_something(&self) -> bool {
        self.described.has_genes()
            || self.described.normal
            || self.described.animal.sex != SexSaid::Unknown
            || self.described.counts.is_some()
            || self.name.is_some() && (self.hatched.is_some() || self.grams.is_some() || self.parents.is_some())
            || self.name.is_some() && self.clutch.is_some()
            || self.untold && (self.clutch.is_some() || self.parents.is_some())
    }
}

/// Reads new animals; `None` where the message adds nobody.
pub(super) fn add(msg: &Msg<'_>) -> Option<Record> {
    let lead = msg.flat.find(&msg.phrases.add)?.get(0)?.range();
    if msg.question && !msg.text()[lead.clone()].contains("add") || msg.phrases.list.is_match(msg.text()) {
        return None;
    }
    let mut flat = msg.flat.clone();
    let typed = flat.text()[lead.clone()].to_owned();
    // "in my collection" stands behind the animal, "new girl" names its sex: only words that carry nothing are taken.
    let mut head = Head { sex: sex_in(&typed), species: msg.known.species };
    flat.take(lead);
    for part in ["to my collection", "in my collection", "in my list", "to my list", "to my animals"] {
        if let Some(at) = flat.text().find(part) {
            flat.take(at..at + part.len());
        }
    }
    let animals = lines(msg, &flat, &mut head);
    let animals: Vec<NewAnimal> = animals.into_iter().filter(NewAnimal::says_something).collect();
    (!animals.is_empty()).then_some(Record::Add(animals))
}

/// "keep the 0.1 clown from the Juno clutch as Pip": a young animal of a known clutch.
pub(super) fn kept_back(msg: &Msg<'_>) -> Option<Record> {
    let said = pattern!(
        r"^\W*(?:please\s+)?(?:i(?:'m|m| am)?\s+)?(?:keep|keeping|hold back|holding back)\b.*\b(?:from|out of)\b"
    )?;
    (!msg.question && said.is_match(msg.text())).then(|| add(msg)).flatten()
}

/// An animal that is to be kept, in words of its own: "one more for my list: …", "newest member of the rack is Zip".
pub(super) fn plain(msg: &Msg<'_>) -> Option<Record> {
    if msg.question {
        return None;
    }
    let mut flat = msg.flat.clone();
    let chatter = pattern!(
        r"\b(?:put (?:this one|her|him|it)|store (?:her|him|it)|keep a record of (?:it|her|him)|keep (?:her|him|it)|log (?:a|my)?\s?new\s\w+|guarda|one more|newest member|this one|record of it|write (?:her|him|it) down|(?:for|to|in|of|into|on) (?:me|my (?:list|book|collection|records?|rack|animals)|the (?:rack|list|collection|family)))\b"
    );
    while chatter.and_then(|c| flat.pull(c)).is_some() {}
    let mut head = Head { sex: SexSaid::Unknown, species: msg.known.species };
    let animals: Vec<NewAnimal> = lines(msg, &flat, &mut head).into_iter().filter(NewAnimal::says_something).collect();
    (!animals.is_empty()).then_some(Record::Add(animals))
}

/// A list without a word before it: several lines that each describe an animal.
pub(super) fn pasted(msg: &Msg<'_>) -> Option<Record> {
    if msg.question || msg.text().lines().filter(|l| !l.trim().is_empty()).count() < 3 {
        return None;
    }
    let mut head = Head { sex: SexSaid::Unknown, species: msg.known.species };
    let mut animals = lines(msg, &msg.flat, &mut head);
    animals.retain(NewAnimal::says_something);
    let sexed = |a: &NewAnimal| {
        a.says_something()
            && (a.described.animal.sex != SexSaid::Unknown || a.described.counts.is_some() || a.hatched.is_some())
    };
    (animals.len() >= 3 && animals.iter().filter(|a| sexed(a)).count() * 3 >= animals.len() * 2)
        .then_some(Record::Add(animals))
}
