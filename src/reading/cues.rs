//! Phrases that show what kind of thing a message asks, and where they stand in it.
//!
//! In: `config/words/cues.toml` and the items of a message. Out: whether a message shows a kind. The forms of a phrase are
//! explained at the head of that file. Not here: which kind wins (`intents`).

use std::collections::HashMap;

use serde::Deserialize;

use super::matching::{Item, What};
use super::spelling;
use super::vocabulary::Role;
use super::words::{self, Text};

/// The words of a message in which phrases are looked for: what it is about is said at its head, and time is bounded.
const MAX_LINE: usize = 300;

/// So many unknown words of a message are held against the words of groups; nobody types more slips in earnest.
const MAX_STRANGE: usize = 16;

/// The most words that a `*` of a phrase stands for.
const MAX_GAP: usize = 4;

/// Kinds of things that phrases show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Kind {
    Addressed,
    BothSexes,
    Dose,
    Explain,
    ExplainSurely,
    Export,
    Forget,
    Glossary,
    HatchReport,
    Help,
    Idle,
    Illness,
    Law,
    ListCollection,
    LogPairing,
    LogWeight,
    NextPairing,
    Photo,
    Plan,
    Price,
    ProveOut,
    ProveFirst,
    AsksWhen,
    SaveSurely,
    RecordClutch,
    RecordPairing,
    RecordWeight,
    Results,
    SaveAnimal,
    SeasonCalendar,
    SmallTalk,
}

/// The file as it is written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    groups: HashMap<String, Vec<String>>,
    kinds: HashMap<Kind, Vec<String>>,
}

/// Phrases by the kind they show.
#[derive(Debug)]
pub(super) struct Cues {
    kinds: HashMap<Kind, Vec<Phrase>>,
    groups: Vec<Vec<Run>>,
}

/// All of these must stand in the message, in any order.
#[derive(Debug)]
struct Phrase(Vec<(bool, Term)>);

/// One condition of a phrase.
#[derive(Debug)]
enum Term {
    Run(Run),
    /// `@group`: one of its words, slips forgiven.
    Group(usize),
    /// `?`: a question mark.
    Asked,
}

/// Words in a row.
#[derive(Debug)]
struct Run {
    starts: bool,
    ends: bool,
    parts: Vec<Part>,
}

/// One place of a run.
#[derive(Debug, PartialEq, Eq)]
enum Part {
    Word(String),
    /// `*`: up to [`MAX_GAP`] words.
    Gap,
    /// `<n>`
    Number,
    /// `<share>`
    Share,
    /// `<gene>`
    Gene,
    /// `<name>`: a word that may be the name of an animal.
    Name,
    /// `<g>`: a unit of weight.
    Weight,
}

impl Run {
    fn new(text: &str) -> Self {
        let body = text.trim_start_matches('^').trim_end_matches('$');
        let part = |word: &str| match word {
            "*" => Part::Gap,
            "<n>" => Part::Number,
            "<share>" => Part::Share,
            "<gene>" => Part::Gene,
            "<name>" => Part::Name,
            "<g>" => Part::Weight,
            _ => Part::Word(word.to_owned()),
        };
        Self {
            starts: text.starts_with('^'),
            ends: text.ends_with('$'),
            parts: body.split_whitespace().map(part).collect(),
        }
    }
}

impl Cues {
    /// The phrases that come with the program.
    ///
    /// # Errors
    /// The TOML error, with its line; a group that a phrase names and the file lacks is one too.
    pub(super) fn builtin() -> Result<Self, toml::de::Error> {
        let file: File = toml::from_str(include_str!("../../config/words/cues.toml"))?;
        let mut places = HashMap::new();
        let mut groups = Vec::new();
        for (name, words) in &file.groups {
            places.insert(name.as_str(), groups.len());
            groups.push(words.iter().map(|w| Run::new(w)).collect());
        }
        let term = |text: &str| -> Result<(bool, Term), toml::de::Error> {
            let (wanted, text) = text.strip_prefix('!').map_or((true, text), |rest| (false, rest));
            let term = match text.strip_prefix('@') {
                Some(group) => Term::Group(
                    *places
                        .get(group)
                        .ok_or_else(|| serde::de::Error::custom(format!("no group is called {group:?}")))?,
                ),
                None if text == "?" => Term::Asked,
                None => Term::Run(Run::new(text)),
            };
            Ok((wanted, term))
        };
        let mut kinds = HashMap::new();
        for (kind, phrases) in &file.kinds {
            let phrases: Result<Vec<Phrase>, toml::de::Error> = phrases
                .iter()
                .map(|p| p.split(" & ").map(|t| term(t.trim())).collect::<Result<_, _>>().map(Phrase))
                .collect();
            kinds.insert(*kind, phrases?);
        }
        Ok(Self { kinds, groups })
    }
}

/// What a phrase may ask of a word beside its letters.
#[derive(Debug, Clone, Copy, Default)]
struct Marks {
    number: bool,
    share: bool,
    gene: bool,
    name: bool,
    weight: bool,
    /// No word that anybody knows: perhaps a slip.
    strange: bool,
}

/// A message as plain words, for phrases.
pub(super) struct Line<'a> {
    words: Vec<(&'a str, Marks)>,
    asked: bool,
}

impl<'a> Line<'a> {
    pub(super) fn new(text: &'a Text, items: &[Item]) -> Self {
        use words::Kind::{Decimal, Letters, Number, Sign};
        let mut line = Vec::with_capacity(text.words.len().min(MAX_LINE));
        let mut strange = 0;
        for item in items {
            for at in item.words.clone() {
                let word = &text.words[at];
                if matches!(word.kind, Sign('?' | '!' | '.' | ',' | '\n' | '-' | '\'' | '"' | '(' | ')' | ':' | ';')) {
                    continue;
                }
                let gene = matches!(item.what, What::Name(_));
                let plain = matches!(item.what, What::English | What::Unknown | What::Word(Role::Filler)) || gene;
                let marks = Marks {
                    number: matches!(word.kind, Number(_) | Decimal(_)) || matches!(item.what, What::Number(_)),
                    share: matches!(item.what, What::Share(_)),
                    gene,
                    name: word.kind == Letters && plain && (word.capital || item.what == What::Unknown),
                    weight: matches!(item.role(), Some(Role::Grams | Role::Kilos | Role::Pounds | Role::Ounces)),
                    strange: item.what == What::Unknown || item.healed.is_some(),
                };
                strange += usize::from(marks.strange);
                let marks = Marks { strange: marks.strange && strange <= MAX_STRANGE, ..marks };
                line.push((word.form.as_str(), marks));
            }
        }
        line.truncate(MAX_LINE);
        Self { words: line, asked: text.words.iter().any(|w| w.kind == Sign('?')) }
    }

    /// Whether a phrase of this kind stands in the message.
    pub(super) fn has(&self, cues: &Cues, kind: Kind) -> bool {
        cues.kinds.get(&kind).is_some_and(|phrases| phrases.iter().any(|p| self.shows(cues, p)))
    }

    fn shows(&self, cues: &Cues, phrase: &Phrase) -> bool {
        phrase.0.iter().all(|(wanted, term)| {
            *wanted
                == match term {
                    Term::Run(run) => self.runs(run, false),
                    Term::Group(group) => cues.groups[*group].iter().any(|run| self.runs(run, true)),
                    Term::Asked => self.asked,
                }
        })
    }

    fn runs(&self, run: &Run, slips: bool) -> bool {
        let last = if run.starts { 1 } else { self.words.len() };
        (0..last).any(|from| self.fits(&run.parts, from, run.ends, slips))
    }

    fn fits(&self, parts: &[Part], from: usize, ends: bool, slips: bool) -> bool {
        let Some((part, rest)) = parts.split_first() else { return !ends || from >= self.words.len() };
        if *part == Part::Gap {
            return (from..=(from + MAX_GAP).min(self.words.len())).any(|at| self.fits(rest, at, ends, slips));
        }
        let Some((word, marks)) = self.words.get(from) else { return false };
        let fits = match part {
            Part::Word(w) => {
                w == word
                    || slips
                        && marks.strange
                        && word.len().abs_diff(w.len()) <= 2
                        && strsim::osa_distance(word, w) <= spelling::allowed(w.len())
            }
            Part::Number => marks.number,
            Part::Share => marks.share,
            Part::Gene => marks.gene,
            Part::Name => marks.name,
            Part::Weight => marks.weight,
            Part::Gap => true,
        };
        fits && self.fits(rest, from + 1, ends, slips)
    }
}
