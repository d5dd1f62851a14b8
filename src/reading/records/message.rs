//! A message about animals, with the names and dates in it found once.

use std::ops::Range;
use std::sync::OnceLock;

use jiff::civil::Date;
use regex::Regex;

use super::phrases::Phrases;
use crate::reading::dates::{self, Said};
use crate::reading::flat::Flat;
use crate::reading::requests::SexSaid;
use crate::reading::vocabulary::is_english;
use crate::reading::{Reader, words};
use crate::species::{Catalogue, SpeciesId};

/// Who is meant, as said.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Called {
    /// By a name, as typed.
    Name(String),
    /// By a short code.
    Number(i32),
    /// "her", "he", "it": the animal last spoken of, of this sex.
    Pronoun(SexSaid),
    /// Not said: the animal last spoken of.
    Last,
}

/// An animal named in a message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mention {
    /// Where.
    pub place: Range<usize>,
    /// Who.
    pub called: Called,
    /// The name is also a plain word that was written small, or a gene: it counts only where an animal is expected.
    pub doubtful: bool,
}

/// The names of a keeper's animals, for finding them in messages.
#[derive(Debug, Clone, Default)]
pub struct Names {
    /// Words of each name, longest first.
    names: Vec<Vec<String>>,
}

impl Names {
    /// Takes the names as typed.
    #[must_use]
    pub fn new<'a>(names: impl IntoIterator<Item = &'a str>) -> Self {
        let mut names: Vec<Vec<String>> = names
            .into_iter()
            .map(|name| {
                let flat = Flat::new(name);
                word_places(flat.text()).into_iter().map(|p| flat.text()[p].to_owned()).collect::<Vec<_>>()
            })
            .filter(|words| !words.is_empty())
            .collect();
        names.sort_by(|a, b| b.len().cmp(&a.len()).then(a.cmp(b)));
        names.dedup();
        Self { names }
    }

    /// Whether one of them stands in a message.
    #[must_use]
    pub fn stand_in(&self, said: &str) -> bool {
        let flat = Flat::new(said);
        let words: Vec<&str> = word_places(flat.text()).into_iter().map(|place| &flat.text()[place]).collect();
        self.names.iter().any(|name| words.windows(name.len()).any(|run| run == name))
    }

    /// Whether a word is one of them but for a slip of the pen.
    pub(super) fn are_near(&self, word: &str) -> bool {
        let near = |name: &Vec<String>| matches!(&name[..], [only] if strsim::osa_distance(only, word) == 1);
        word.chars().count() >= 4 && self.names.iter().any(near)
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.names.is_empty()
    }
}

/// The words of a flat text: letters, digits and apostrophes inside.
pub(super) fn word_places(text: &str) -> Vec<Range<usize>> {
    static WORD: OnceLock<Option<Regex>> = OnceLock::new();
    WORD.get_or_init(|| Regex::new(r"[\p{L}\p{N}]+(?:'\p{L}+)*'?").ok())
        .as_ref()
        .map(|w| w.find_iter(text).map(|m| m.range()).collect())
        .unwrap_or_default()
}

/// What is known before a message is read.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// The species of the place or of the talk.
    pub species: Option<SpeciesId>,
    /// The names of the keeper's animals.
    pub names: &'a Names,
    /// The day on which it was written.
    pub today: Date,
}

/// A message about animals.
#[derive(Debug, Clone)]
pub(super) struct Msg<'a> {
    pub(super) reader: &'a Reader,
    pub(super) catalogue: &'a Catalogue,
    pub(super) known: Known<'a>,
    pub(super) phrases: &'static Phrases,
    pub(super) flat: Flat,
    pub(super) dates: Vec<Said>,
    pub(super) mentions: Vec<Mention>,
    /// Something is asked, not told.
    pub(super) question: bool,
}

impl<'a> Msg<'a> {
    pub(super) fn new(reader: &'a Reader, catalogue: &'a Catalogue, known: Known<'a>, said: &str) -> Option<Self> {
        static ASKS: OnceLock<Option<Regex>> = OnceLock::new();
        let phrases = Phrases::get()?;
        let flat = Flat::new(said);
        let dates = dates::dates(&flat, known.today);
        let mut mentions = mentions(reader, known.names, &flat);
        // A date is no name ("May"), unless it is no date either.
        mentions.retain(|m| !m.doubtful || !dates.iter().any(|d| d.place.contains(&m.place.start)));
        let asks = ASKS.get_or_init(|| {
            Regex::new(r"\?|^\W*(?:what|when|which|who|whos|how|why|should|shall|can (?:he|she|it)|could (?:he|she|it)|is it|is (?:he|she) (?:ready|big|old|going)|does|do i|do you|will|would|odds|chances?|wann|wie|welche|cuando|cual|if)\b|\b(?:should i|when (?:will|is|should|do)|how (?:long|many|much)|odds|chances?|what (?:do|will|would|can|could) (?:i|we|they) (?:get|expect|hit|make))\b").ok()
        });
        let question = asks.as_ref().is_some_and(|q| q.is_match(flat.text()));
        Some(Self { reader, catalogue, known, phrases, flat, dates, mentions, question })
    }

    /// The text for patterns.
    pub(super) fn text(&self) -> &str {
        self.flat.text()
    }

    /// The names that stand for animals, doubtful ones only where there are no others.
    pub(super) fn animals(&self) -> Vec<&Mention> {
        let firm: Vec<&Mention> = self.mentions.iter().filter(|m| !m.doubtful).collect();
        if firm.is_empty() { self.mentions.iter().collect() } else { firm }
    }

    /// The two of a pair: doubtful names count where they make it one.
    pub(super) fn pair(&self) -> Vec<&Mention> {
        let firm = self.animals();
        if firm.len() < 2 && self.mentions.len() == 2 { self.mentions.iter().collect() } else { firm }
    }

    /// "her", "he": whom a pronoun means.
    pub(super) fn pronoun(&self) -> Option<Called> {
        let p = self.phrases;
        let at = |pattern: &Regex| pattern.find(self.text()).map(|m| m.start());
        [
            (at(&p.female_pronouns), SexSaid::Female),
            (at(&p.male_pronouns), SexSaid::Male),
            (at(&p.other_pronouns), SexSaid::Unknown),
        ]
        .into_iter()
        .filter_map(|(at, sex)| Some((at?, sex)))
        .min_by_key(|x| x.0)
        .map(|(_, sex)| Called::Pronoun(sex))
    }

    /// The one animal that the message is about: a name of the collection, else a code, else a pronoun, else a word that
    /// may be a name nobody has, else nobody.
    pub(super) fn subject(&self, gone: &[&Regex]) -> Called {
        if let Some(first) = self.animals().first() {
            return first.called.clone();
        }
        if let Some(strange) = self.strange_names(gone).into_iter().next() {
            return Called::Name(strange);
        }
        self.pronoun().unwrap_or(Called::Last)
    }

    /// Runs of words that are left when patterns, dates, numbers and small words are gone: they may be names.
    pub(super) fn strange_names(&self, gone: &[&Regex]) -> Vec<String> {
        let mut rest = self.flat.clone();
        for said in &self.dates {
            rest.take(said.place.clone());
        }
        for pattern in gone {
            while let Some(place) = rest.find(pattern).and_then(|c| c.get(0)).map(|m| m.range()) {
                if place.is_empty() {
                    break;
                }
                rest.take(place);
            }
        }
        let mut runs: Vec<Range<usize>> = Vec::new();
        let mut last_end = None;
        for place in word_places(rest.text()) {
            let word = rest.text()[place.clone()].trim_end_matches("'s").trim_end_matches('\'');
            // "18mm" is a measure, not a name.
            let carries = word.starts_with(char::is_alphabetic)
                && !self.phrases.filler.contains(word)
                && self.reader.role(&words::fold(word)).is_none()
                && !self.is_pronoun(word);
            let typed = rest.typed(place.clone());
            let capital = typed.chars().next().is_some_and(char::is_uppercase);
            // A plain word written small is chatter.
            if !carries || !capital && is_english(word) {
                last_end = None;
                continue;
            }
            let joined =
                last_end.is_some_and(|end: usize| rest.text()[end..place.start].trim() == "" && place.start - end == 1);
            match runs.last_mut() {
                Some(run) if joined => run.end = place.end,
                _ => runs.push(place.clone()),
            }
            last_end = Some(place.end);
        }
        runs.into_iter().map(|r| self.flat.typed(r).trim_end_matches("'s").trim_end_matches('\'').to_owned()).collect()
    }

    fn is_pronoun(&self, word: &str) -> bool {
        let p = self.phrases;
        [&p.female_pronouns, &p.male_pronouns, &p.other_pronouns].iter().any(|x| x.is_match(word))
    }

    /// The only date of the message, or the first.
    pub(super) fn when(&self) -> Option<Said> {
        self.dates.first().cloned()
    }
}

/// Whether other words of the message are genes: then a name that is a gene, too, may be one in a list.
fn genes_beside(reader: &Reader, flat: &Flat, place: &Range<usize>) -> bool {
    let own = &flat.text()[place.clone()];
    word_places(flat.text()).into_iter().filter(|w| w.end <= place.start || w.start >= place.end).any(|w| {
        let word = &flat.text()[w];
        // The name once more is no gene beside it.
        if word.strip_suffix("'s").unwrap_or(word) == own {
            return false;
        }
        reader.names_gene(word) && !is_english(word)
            || reader.role(&words::fold(word)) == Some(crate::reading::vocabulary::Role::Het)
            || reader.names_gene(word) && word.len() > 3
    })
}

fn mentions(reader: &Reader, names: &Names, flat: &Flat) -> Vec<Mention> {
    static CODE: OnceLock<Option<Regex>> = OnceLock::new();
    let text = flat.text();
    let places = word_places(text);
    let bare = |at: usize, last: bool| {
        let word = &text[places[at].clone()];
        if last { word.strip_suffix("'s").or_else(|| word.strip_suffix('\'')).unwrap_or(word) } else { word }
    };
    let mut found: Vec<Mention> = Vec::new();
    let mut at = 0;
    while at < places.len() {
        let fits = |name: &&Vec<String>| {
            at + name.len() <= places.len()
                && name.iter().enumerate().all(|(k, word)| bare(at + k, k + 1 == name.len()) == word)
        };
        let Some(name) = names.names.iter().find(fits) else {
            at += 1;
            continue;
        };
        let end = places[at + name.len() - 1].start + bare(at + name.len() - 1, true).len();
        let place = places[at].start..end;
        let typed = flat.typed(place.clone()).to_owned();
        let capital = typed.chars().next().is_some_and(char::is_uppercase);
        let joined = name.join(" ");
        let plain = name.len() == 1 && (is_english(&joined) || reader.role(&words::fold(&joined)).is_some());
        let gene = reader.names_gene(&joined) && (!capital || genes_beside(reader, flat, &place));
        let doubtful = !capital && plain || gene || name.iter().all(|w| w.bytes().all(|b| b.is_ascii_digit()));
        found.push(Mention { place, called: Called::Name(typed), doubtful });
        at += name.len();
    }
    if let Some(code) = CODE.get_or_init(|| Regex::new(r"#\s?(\d{1,6})\b").ok()) {
        for hit in code.captures_iter(text) {
            if let (Some(whole), Some(Ok(number))) = (hit.get(0), hit.get(1).map(|n| n.as_str().parse())) {
                found.push(Mention { place: whole.range(), called: Called::Number(number), doubtful: false });
            }
        }
    }
    found.sort_by_key(|m| m.place.start);
    found
}
