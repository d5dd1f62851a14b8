//! What kind of thing a message asks, where it is not plainly the odds of a pairing.
//!
//! In: the words and what was found of a pairing. Out: an [`Intent`]. The phrases are data: `config/words/cues.toml`.

use serde::Deserialize;

use super::matching::{Item, What};
use super::pairing::Found;
use super::requests::{Aspect, Intent, Outside};
use super::vocabulary::Role;
use super::words::{Kind, Text};

/// The words of a message in which phrases are looked for: what it is about is said at its head, and time is bounded.
const MAX_LINE: usize = 300;

/// The most words that a `*` of a phrase stands for.
const MAX_GAP: usize = 4;

/// One place of a phrase.
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

/// A phrase of `config/words/cues.toml`.
#[derive(Debug, Deserialize)]
#[serde(from = "String")]
struct Phrase {
    starts: bool,
    ends: bool,
    parts: Vec<Part>,
}

impl From<String> for Phrase {
    fn from(text: String) -> Self {
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

/// Phrases by the kind of thing they show.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Cues {
    addressed: Vec<Phrase>,
    export: Vec<Phrase>,
    forget: Vec<Phrase>,
    help: Vec<Phrase>,
    illness: Vec<Phrase>,
    dose: Vec<Phrase>,
    price: Vec<Phrase>,
    photo: Vec<Phrase>,
    law: Vec<Phrase>,
    save_animal: Vec<Phrase>,
    record_weight: Vec<Phrase>,
    record_clutch: Vec<Phrase>,
    record_pairing: Vec<Phrase>,
    season_calendar: Vec<Phrase>,
    list_collection: Vec<Phrase>,
    prove_out: Vec<Phrase>,
    results: Vec<Phrase>,
    next_pairing: Vec<Phrase>,
    plan: Vec<Phrase>,
    explain: Vec<Phrase>,
    glossary: Vec<Phrase>,
    explain_surely: Vec<Phrase>,
    hatch_report: Vec<Phrase>,
    idle: Vec<Phrase>,
    small_talk: Vec<Phrase>,
}

impl Cues {
    /// The phrases that come with the program.
    ///
    /// # Errors
    /// The TOML error, with its line.
    pub(super) fn builtin() -> Result<Self, toml::de::Error> {
        toml::from_str(include_str!("../../config/words/cues.toml"))
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
}

/// A message as plain words, for phrases.
struct Line<'a> {
    words: Vec<(&'a str, Marks)>,
}

impl<'a> Line<'a> {
    fn new(text: &'a Text, items: &[Item]) -> Self {
        let mut words = Vec::with_capacity(text.words.len().min(MAX_LINE));
        for item in items {
            for at in item.words.clone() {
                let word = &text.words[at];
                if matches!(word.kind, Kind::Sign('?' | '!' | '.' | ',' | '\n' | '-' | '\'' | '"' | '(' | ')' | ':')) {
                    continue;
                }
                let gene = matches!(item.what, What::Name(_));
                let plain = matches!(item.what, What::English | What::Unknown | What::Word(Role::Filler)) || gene;
                let marks = Marks {
                    number: matches!(word.kind, Kind::Number(_) | Kind::Decimal(_))
                        || matches!(item.what, What::Number(_)),
                    share: matches!(item.what, What::Share(_)),
                    gene,
                    name: word.kind == Kind::Letters && plain && (word.capital || item.what == What::Unknown),
                    weight: matches!(item.role(), Some(Role::Grams | Role::Kilos | Role::Pounds | Role::Ounces)),
                };
                words.push((word.form.as_str(), marks));
            }
        }
        words.truncate(MAX_LINE);
        Self { words }
    }

    fn has(&self, phrases: &[Phrase]) -> bool {
        phrases.iter().any(|p| self.shows(p))
    }

    fn shows(&self, phrase: &Phrase) -> bool {
        let last = if phrase.starts { 1 } else { self.words.len() };
        (0..last).any(|from| self.fits(&phrase.parts, from, phrase.ends))
    }

    fn fits(&self, parts: &[Part], from: usize, ends: bool) -> bool {
        let Some((part, rest)) = parts.split_first() else { return !ends || from >= self.words.len() };
        if *part == Part::Gap {
            return (from..=(from + MAX_GAP).min(self.words.len())).any(|at| self.fits(rest, at, ends));
        }
        let Some((word, marks)) = self.words.get(from) else { return false };
        let fits = match part {
            Part::Word(w) => word == w,
            Part::Number => marks.number,
            Part::Share => marks.share,
            Part::Gene => marks.gene,
            Part::Name => marks.name,
            Part::Weight => marks.weight,
            Part::Gap => true,
        };
        fits && self.fits(rest, from + 1, ends)
    }
}

/// Decides the intent. The second value says what a question outside the job is about.
#[allow(clippy::too_many_lines)] // the order of the kinds is the rule: it is read from top to bottom
pub(super) fn intent(cues: &Cues, text: &Text, items: &[Item], found: &Found) -> (Intent, Option<Outside>) {
    let line = Line::new(text, items);
    let letters = items.iter().any(|i| !matches!(i.what, What::Sign(_)));
    if !letters || text.words.iter().all(|w| !matches!(w.kind, Kind::Letters)) && found.pairing.parents.len() < 2 {
        return (Intent::SmallTalk, None);
    }
    let says = |roles: &[Role]| items.iter().any(|i| i.role().is_some_and(|r| roles.contains(&r)));
    let pairing = found.crossed && found.pairing.parents.len() == 2;
    let gened = pairing && !found.named.is_empty();
    let asks = says(&[Role::Question, Role::Odds, Role::Outcomes, Role::HowMany, Role::Can, Role::WhyNo]);
    // "is it legal to …": a question by its first word.
    let opens = text.words.first().is_some_and(|w| {
        matches!(
            &*w.form,
            "is" | "are"
                | "can"
                | "does"
                | "do"
                | "did"
                | "should"
                | "could"
                | "would"
                | "will"
                | "has"
                | "ist"
                | "sind"
                | "darf"
                | "kann"
                | "soll"
                | "es"
                | "puedo"
                | "cuanto"
                | "cuanta"
        )
    });
    let marked = opens || text.words.iter().any(|w| w.kind == Kind::Sign('?'));
    let question = asks || marked;
    // "please", "tell me" ask for nothing by themselves.
    let wonders = marked
        || says(&[Role::Odds, Role::Outcomes, Role::HowMany, Role::Can, Role::WhyNo])
        || items.iter().any(|i| {
            i.role() == Some(Role::Question)
                && !matches!(
                    &*text.typed(i.words.clone()).to_lowercase(),
                    "please" | "pls" | "plz" | "tell me" | "help me" | "show me"
                )
        });
    let gene_said = items.iter().any(|i| matches!(i.what, What::Name(_)));
    let sexed = says(&[Role::Male, Role::Female]) || items.iter().any(|i| matches!(i.what, What::Sexes(..)));
    let selling = line.has(&cues.small_talk) || !gene_said && line.has(&cues.idle);
    let possible = says(&[Role::Het, Role::Possible, Role::Double, Role::Triple])
        || items.iter().any(|i| matches!(i.what, What::Share(_) | What::Number(66 | 50 | 33)));

    if line.has(&cues.export) && !pairing {
        return (Intent::Export, None);
    }
    if line.has(&cues.forget) && !pairing {
        return (Intent::Forget, None);
    }
    let outside = outside(cues, &line).filter(|o| question || *o == Outside::Dose || line.has(&cues.help));
    if let Some(outside) = outside
        && !gened
        && (matches!(outside, Outside::Dose) || !(line.has(&cues.explain) && line.has(&cues.glossary)))
    {
        return (Intent::Unknown, Some(outside));
    }
    if line.has(&cues.help) && !pairing && found.named.is_empty() {
        return (Intent::Help, None);
    }
    if line.has(&cues.save_animal) && !found.asked && !(pairing && question) {
        return (Intent::SaveAnimal, None);
    }
    if selling && !(gened && found.asked) {
        return (Intent::SmallTalk, None);
    }
    let results = line.has(&cues.results) && possible && found.pairing.aspect != Aspect::WhyNone;
    if results || line.has(&cues.prove_out) && possible && !(gened && found.pairing.target.is_some()) {
        return (Intent::ProveOut, None);
    }
    if line.has(&cues.explain_surely) && !says(&[Role::Cross]) && (gene_said || possible || line.has(&cues.glossary)) {
        return (Intent::Explain, None);
    }
    let planned = line.has(&cues.plan);
    if line.has(&cues.next_pairing) && !gened && (!planned || found.named.is_empty()) {
        return (Intent::NextPairing, None);
    }
    if planned {
        return (Intent::Plan, None);
    }
    if line.has(&cues.hatch_report) && !marked {
        return (Intent::RecordClutch, None);
    }
    let clutch = line.has(&cues.record_clutch);
    let happened = line.has(&cues.record_pairing) && !wonders;
    if gened && (found.pairing.target.is_some() || found.asked || question) {
        return (Intent::Odds, None);
    }
    if line.has(&cues.season_calendar) && !gened {
        return (Intent::SeasonCalendar, None);
    }
    if line.has(&cues.list_collection) && !gened {
        return (Intent::ListCollection, None);
    }
    if clutch && !asks && !gened {
        return (Intent::RecordClutch, None);
    }
    if happened && !gened {
        return (Intent::RecordPairing, None);
    }
    if pairing && (gened || !found.questions.is_empty() || found.asked || question) {
        return (Intent::Odds, None);
    }
    if line.has(&cues.record_weight) && !question {
        return (Intent::RecordWeight, None);
    }
    if line.has(&cues.prove_out) && possible {
        return (Intent::ProveOut, None);
    }
    // Odds were asked of one animal, or of a wish alone: the reader asks for the other parent.
    let about_one = !found.pairing.parents.is_empty() || found.pairing.target.is_some();
    let odds_word = says(&[Role::Odds, Role::Outcomes, Role::WhyNo, Role::Square])
        || found.asked && says(&[Role::Target, Role::Can])
        || sexed && question && says(&[Role::Target, Role::Can]);
    let explains = line.has(&cues.explain) && (line.has(&cues.glossary) || possible || gene_said);
    let plainly_odds = says(&[Role::Odds, Role::Outcomes, Role::WhyNo, Role::Square]);
    if odds_word && about_one && !found.named.is_empty() && (sexed || plainly_odds || !explains) {
        return (Intent::Odds, None);
    }
    if explains {
        return (Intent::Explain, None);
    }
    if odds_word && question && says(&[Role::Het, Role::Double, Role::Triple]) {
        return (Intent::Odds, None);
    }
    if line.has(&cues.addressed) {
        return (Intent::Unknown, None);
    }
    (Intent::SmallTalk, None)
}

fn outside(cues: &Cues, line: &Line<'_>) -> Option<Outside> {
    let kinds: [(&[Phrase], Outside); 5] = [
        (&cues.dose, Outside::Dose),
        (&cues.illness, Outside::Illness),
        (&cues.law, Outside::Law),
        (&cues.price, Outside::Price),
        (&cues.photo, Outside::Photo),
    ];
    kinds.into_iter().find(|(phrases, _)| line.has(phrases)).map(|(_, outside)| outside)
}
