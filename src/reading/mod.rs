//! Text to [`Reading`]: what a message asks, in layers that can be tested alone.
//!
//! words (`words`) → names and phrases, glued words and slips (`matching`, over `vocabulary`, `lexicon`, `spelling`) →
//! animals (`animals`) → pairings and wishes (`pairing`) → kind of question (`intents`).
//!
//! In: any text and what is known of the talk ([`Context`]). Out: a [`Reading`]; nothing a person types is an error.
//! May touch: `species`, `engine`. Never: a clock, a random source, a database, a chat.
//! Invariant: every word ends as meaning, as known filler, as an assumption, as a question or as an unread word.
//! Start at [`Reader::read`].

pub mod ahead; // moments that are still to come
pub mod dates; // dates as people write them
pub mod flat; // a message as one line for patterns
pub mod places; // time zones by the names people know
pub mod records; // what a message tells of a keeper's own animals
pub mod requests; // what a message asks: the product of this room
pub mod vocabulary; // everyday words by role, from config/words
pub mod words; // signs, numbers, letters

mod animals; // items to one animal
mod cues; // phrases that show the kind of a question
mod day_words; // words that dates behind us and moments ahead share
mod evidence; // a possible het and what hatched from it
mod intents; // what kind of thing is asked
mod lexicon; // names of genes, combinations and lines
mod matching; // words to items
mod pairing; // items to parents and a wish
mod settle; // which species
mod spelling; // slips of the pen

use thiserror::Error;

use crate::species::{Catalogue, GeneId, Species, SpeciesId};
use requests::{Assumed, Choice, Intent, Question, Reading, Unclear};
use vocabulary::{FollowUp, Role};

/// What the reader knows before it reads.
#[derive(Debug, Clone, Copy, Default)]
pub struct Context<'a> {
    /// The species of this place, where one is set.
    pub species: Option<SpeciesId>,
    /// The recessives under discussion: what a bare "het x het" is about.
    pub genes: &'a [GeneId],
    /// A possible het is under discussion: numbers of young are about it.
    pub proving: bool,
    /// The message changes the last request ("without the fire"), so plain words that name genes do name them.
    pub edits: bool,
}

/// Limits of one question; above them the reader asks for less.
pub mod limits {
    /// Most loci in one animal.
    pub const LOCI: usize = 16;
    /// Most eggs in one clutch.
    pub const EGGS: u32 = 60;
    /// Most clutches.
    pub const CLUTCHES: u32 = 20;
}

/// The reader: dictionaries made once, used for every message.
#[derive(Debug)]
pub struct Reader {
    vocabulary: vocabulary::Vocabulary,
    lexicon: lexicon::Lexicon,
    spelling: spelling::Spelling,
    cues: cues::Cues,
}

/// Why a reader cannot be made: a word file of the program is broken.
#[derive(Debug, Error)]
pub enum ReaderError {
    /// A word file.
    #[error(transparent)]
    Vocabulary(#[from] vocabulary::VocabularyError),
    /// The phrases.
    #[error("config/words/cues.toml: {0}")]
    Cues(#[from] toml::de::Error),
}

impl Reader {
    /// Dictionaries for a catalogue.
    ///
    /// # Errors
    /// [`ReaderError`] when a word file that comes with the program does not parse.
    pub fn new(catalogue: &Catalogue) -> Result<Self, ReaderError> {
        let vocabulary = vocabulary::Vocabulary::builtin()?;
        let lexicon = lexicon::Lexicon::new(catalogue);
        let spelling = spelling::Spelling::new(&lexicon, &vocabulary);
        Ok(Self { vocabulary, lexicon, spelling, cues: cues::Cues::builtin()? })
    }

    /// Reads one message.
    #[must_use]
    pub fn read(&self, catalogue: &Catalogue, message: &str, context: Context<'_>) -> Reading {
        let text = words::words(message);
        let settled = settle::species(self, catalogue, &text, context.species);
        let Some(id) = settled.species else {
            return self.without_species(catalogue, &text, settled, context);
        };
        let species = catalogue.get(id);
        let mut items = matching::items(self, &text, Some(id));
        let later = second_round(&text, &items);
        if let Some(then) = later {
            items.retain(|item| item.words.start < then);
        }
        let found = pairing::find(self, species, &text, &items, context);
        let (intent, outside) = intents::intent(&self.cues, &text, &items, &found);
        let mut reading = Reading::of(intent, Some(id));
        reading.outside = outside;
        let pairing::Found { pairing, compare, questions, assumed, unread, named, .. } = found;
        reading.named = named;
        reading.pairing = pairing;
        if let Some(target) =
            reading.pairing.target.as_mut().filter(|_| intents::wants_both_sexes(&self.cues, &text, &items))
        {
            // "one male and one female clown": neither sex is the wish, both are.
            target.sex = requests::SexSaid::Unknown;
            reading.pairing.both_sexes = true;
        }
        if intent == Intent::ProveOut || context.proving {
            reading.trial = evidence::trial(Some(species), &text, &items);
        }
        if intent == Intent::Plan && reading.pairing.target.is_none() {
            reading.pairing.target = goal(species, &reading.pairing.parents);
        }
        reading.compare = compare;
        if matches!(intent, Intent::Odds) {
            reading.questions = questions;
            reading.assumed = assumed;
            reading.unread = unread;
            reading.unread.extend(later.map(|then| text.typed(then..text.words.len()).chars().take(80).collect()));
            if settled.worked_out && !reading.named.is_empty() {
                reading.assumed.push(Assumed::Species(id));
            }
            one_parent(&mut reading);
            too_much(&mut reading);
        }
        tidy(&mut reading);
        reading
    }

    /// The role of one joined word.
    #[must_use]
    pub fn role(&self, key: &str) -> Option<Role> {
        self.vocabulary.role(key)
    }

    /// The part a phrase plays when it changes or answers the last thing said; the phrase is joined.
    #[must_use]
    pub fn follow_up(&self, phrase: &str) -> Option<FollowUp> {
        self.vocabulary.follow_up(phrase)
    }

    /// The place in a list that a message names, from 0: "the first", "2".
    #[must_use]
    pub fn place(&self, message: &str) -> Option<usize> {
        let key = crate::species::names::joined(message.trim_matches(|c: char| !c.is_alphanumeric()));
        match self.follow_up(&key) {
            Some(FollowUp::ChoiceFirst) => Some(0),
            Some(FollowUp::ChoiceSecond) => Some(1),
            Some(FollowUp::ChoiceThird) => Some(2),
            _ => key.parse::<usize>().ok()?.checked_sub(1),
        }
    }

    /// The share that a message names: "66 %", "66%", "100 %", or the bare number.
    #[must_use]
    pub fn share(&self, message: &str) -> Option<crate::engine::odds::Odds> {
        let text = words::words(message);
        text.words.iter().find_map(|w| match w.kind {
            words::Kind::Percent(p) => Some(matching::percent(p)),
            words::Kind::Number(n @ (25 | 33 | 50 | 66 | 67 | 75 | 100)) => Some(matching::percent(n * 100)),
            _ => None,
        })
    }

    /// The text fits several species, or none.
    fn without_species(
        &self,
        catalogue: &Catalogue,
        text: &words::Text,
        settled: settle::Settled,
        context: Context<'_>,
    ) -> Reading {
        // Any species will do to see what kind of thing is asked; the genes are asked about.
        let any = settled.fitting.first().copied().unwrap_or(SpeciesId(0));
        let items = matching::items(self, text, Some(any));
        let found = pairing::find(self, catalogue.get(any), text, &items, Context::default());
        let (intent, outside) = intents::intent(&self.cues, text, &items, &found);
        let mut reading = Reading::of(intent, None);
        reading.outside = outside;
        reading.pairing.clutch_size = found.pairing.clutch_size;
        reading.pairing.clutches = found.pairing.clutches;
        if intent == Intent::ProveOut || context.proving {
            reading.trial = evidence::trial(None, text, &items);
        }
        if intent == Intent::Odds {
            let readings = if settled.fitting.is_empty() {
                catalogue.species().iter().map(|s| s.id).collect()
            } else {
                settled.fitting
            };
            reading.questions.push(Question {
                about: "species".to_owned(),
                kind: Unclear::Species,
                readings: readings.into_iter().map(Choice::Species).collect(),
                animal: 2,
            });
        }
        reading
    }
}

/// "clown x het, then the babies back to a clown": where the round begins that comes after the one whose odds are given.
fn second_round(text: &words::Text, items: &[matching::Item]) -> Option<usize> {
    const YOUNG: [&str; 8] = ["offspring", "babies", "hatchlings", "kids", "young", "siblings", "daughters", "sons"];
    let then = text.words.iter().position(|word| word.form == "then")?;
    let is_young = |word: &words::Word| YOUNG.contains(&&*word.form);
    let follows = text.words.iter().skip(then + 1).take(4).any(is_young);
    let first = items.iter().take_while(|item| item.words.start < then).any(|item| item.role() == Some(Role::Cross));
    (follows && first).then_some(then)
}

/// The goal of a plan that is named without a word for wishing: "3 year plan to superconda axanthic".
fn goal(species: &Species, named: &[requests::Animal]) -> Option<requests::Target> {
    let mut goal = requests::Target::default();
    for carried in named.iter().flat_map(|a| &a.genes) {
        if !goal.genes.iter().any(|g| g.0 == carried.gene) {
            goal.genes.push((carried.gene, carried.copies));
            if carried.copies == 1 && species.gene(carried.gene).is_recessive() {
                goal.hets.push(carried.gene);
            }
        }
    }
    goal.genes.sort_by(|a, b| species.gene(a.0).entry.id.cmp(&species.gene(b.0).entry.id));
    (!goal.genes.is_empty()).then_some(goal)
}

/// Odds of one animal: who is the other parent?
fn one_parent(reading: &mut Reading) {
    if reading.pairing.parents.len() < 2 {
        let about = reading.pairing.parents.first().map_or_else(
            || "both parents".to_owned(),
            |p| if p.said.is_empty() { "the other parent".to_owned() } else { p.said.clone() },
        );
        reading.questions.push(Question { about, kind: Unclear::OtherParent, readings: Vec::new(), animal: 1 });
    }
}

fn too_much(reading: &mut Reading) {
    let genes = reading.pairing.parents.iter().map(|p| p.genes.len()).max().unwrap_or(0);
    let about = if genes > limits::LOCI {
        Some(format!("{genes} genes in one animal (at most {})", limits::LOCI))
    } else if reading.pairing.clutch_size.is_some_and(|n| n > limits::EGGS) {
        Some(format!("{} eggs in one clutch (at most {})", reading.pairing.clutch_size.unwrap_or(0), limits::EGGS))
    } else if reading.pairing.clutches.is_some_and(|n| n > limits::CLUTCHES) {
        Some(format!("{} clutches (at most {})", reading.pairing.clutches.unwrap_or(0), limits::CLUTCHES))
    } else {
        None
    };
    if let Some(about) = about {
        reading.questions = vec![Question { about, kind: Unclear::Limit, readings: Vec::new(), animal: 2 }];
    }
}

fn tidy(reading: &mut Reading) {
    let mut seen = Vec::new();
    reading.assumed.retain(|a| {
        let new = !seen.contains(a);
        if new {
            seen.push(a.clone());
        }
        new
    });
    let mut words: Vec<String> = Vec::new();
    reading.unread.retain(|w| {
        let new = !words.contains(w);
        words.push(w.clone());
        new
    });
    reading.named.sort_unstable();
    reading.named.dedup();
}
