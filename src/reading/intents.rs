//! What kind of thing a message asks, where it is not plainly the odds of a pairing.
//!
//! In: the words and what was found of a pairing. Out: an [`Intent`]. The phrases are data: `config/words/cues.toml`.

use serde::Deserialize;

use super::matching::{Item, What};
use super::pairing::Found;
use super::requests::{Aspect, Intent, Outside};
use super::vocabulary::Role;
use super::words::{Kind, Text};

/// Phrases by the kind of thing they show.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Cues {
    export: Vec<String>,
    forget: Vec<String>,
    help: Vec<String>,
    illness: Vec<String>,
    dose: Vec<String>,
    price: Vec<String>,
    photo: Vec<String>,
    law: Vec<String>,
    save_animal: Vec<String>,
    record_weight: Vec<String>,
    record_clutch: Vec<String>,
    record_pairing: Vec<String>,
    season_calendar: Vec<String>,
    list_collection: Vec<String>,
    prove_out: Vec<String>,
    next_pairing: Vec<String>,
    plan: Vec<String>,
    explain: Vec<String>,
    small_talk: Vec<String>,
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

/// A message as one line of plain words, for phrases.
struct Line(String);

impl Line {
    fn new(text: &Text) -> Self {
        let mut line = String::from(" ");
        for word in &text.words {
            if let Kind::Sign('?' | '!' | '.' | ',' | '\n' | '-' | '\'' | '"' | '(' | ')') = word.kind {
            } else {
                line.push_str(&word.form);
                line.push(' ');
            }
        }
        Self(line)
    }

    fn has(&self, phrases: &[String]) -> bool {
        phrases.iter().any(|p| self.shows(p))
    }

    fn shows(&self, phrase: &str) -> bool {
        let body = phrase.trim_start_matches('^').trim_end_matches('$');
        let mut from = 0;
        while let Some(at) = self.0[from..].find(body) {
            let at = from + at;
            let end = at + body.len();
            let whole = self.0.as_bytes().get(at.wrapping_sub(1)) == Some(&b' ')
                && self.0.as_bytes().get(end).is_none_or(|b| *b == b' ');
            let starts = !phrase.starts_with('^') || at == 1;
            let ends = !phrase.ends_with('$') || self.0[end..].trim().is_empty();
            if whole && starts && ends {
                return true;
            }
            from = end.max(at + 1);
            while !self.0.is_char_boundary(from) {
                from += 1;
            }
        }
        false
    }
}

#[allow(clippy::too_many_lines)] // the order of the kinds is the rule: it is read from top to bottom
/// Decides the intent. The second value says what a question outside the job is about.
pub(super) fn intent(cues: &Cues, text: &Text, items: &[Item], found: &Found) -> (Intent, Option<Outside>) {
    let line = Line::new(text);
    let letters = items.iter().any(|i| !matches!(i.what, What::Sign(_)));
    if !letters || text.words.iter().all(|w| !matches!(w.kind, Kind::Letters)) && found.pairing.parents.len() < 2 {
        return (Intent::SmallTalk, None);
    }
    let pairing = found.crossed && found.pairing.parents.len() == 2;
    let question = text.words.iter().any(|w| w.kind == Kind::Sign('?'))
        || items.iter().any(|i| {
            matches!(
                i.role(),
                Some(Role::Question | Role::Odds | Role::Outcomes | Role::HowMany | Role::Can | Role::WhyNo)
            )
        });
    let selling = line.has(&cues.small_talk);

    if line.has(&cues.export) && !pairing {
        return (Intent::Export, None);
    }
    if line.has(&cues.forget) && !pairing {
        return (Intent::Forget, None);
    }
    if line.has(&cues.help) && !pairing && found.named.is_empty() {
        return (Intent::Help, None);
    }
    if line.has(&cues.save_animal) && !found.asked && !(pairing && question) {
        return (Intent::SaveAnimal, None);
    }
    if selling && !(pairing && found.asked) {
        return (Intent::SmallTalk, None);
    }
    let went = line.has(&cues.prove_out)
        && items.iter().any(|i| {
            matches!(i.what, What::Share(_) | What::Number(_)) || matches!(i.role(), Some(Role::Het | Role::Possible))
        });
    if pairing && (found.pairing.target.is_some() || found.asked) && !line.has(&cues.plan) {
        let talk_of_results = went && found.pairing.aspect == Aspect::Table && found.pairing.target.is_none();
        if !talk_of_results {
            return (Intent::Odds, None);
        }
    }
    // Before a bare pairing: what has happened, what is planned.
    if went && !(pairing && matches!(found.pairing.aspect, Aspect::WhyNone)) {
        return (Intent::ProveOut, None);
    }
    if line.has(&cues.next_pairing) && !pairing {
        return (Intent::NextPairing, None);
    }
    if line.has(&cues.plan) {
        return (Intent::Plan, None);
    }
    if line.has(&cues.list_collection) && !pairing {
        return (Intent::ListCollection, None);
    }
    if pairing {
        let happened = line.has(&cues.record_pairing) && found.named.is_empty();
        return (if happened { Intent::RecordPairing } else { Intent::Odds }, None);
    }
    if let Some(outside) = outside(cues, &line)
        && (question || matches!(outside, Outside::Dose))
    {
        return (Intent::Unknown, Some(outside));
    }
    if line.has(&cues.prove_out) && (question || items.iter().any(|i| matches!(i.role(), Some(Role::Het)))) {
        return (Intent::ProveOut, None);
    }
    if line.has(&cues.season_calendar) && question {
        return (Intent::SeasonCalendar, None);
    }
    if line.has(&cues.record_clutch) && !question {
        return (Intent::RecordClutch, None);
    }
    if line.has(&cues.record_pairing) && !question {
        return (Intent::RecordPairing, None);
    }
    if (line.has(&cues.record_weight) || bare_weight(text))
        && items.iter().any(|i| matches!(i.what, What::Number(n) if n >= 3) || matches!(i.what, What::Decimal(_)))
        && !question
    {
        return (Intent::RecordWeight, None);
    }
    if line.has(&cues.season_calendar) {
        return (Intent::SeasonCalendar, None);
    }
    // Odds were asked of one animal, or of a wish alone: the reader asks for the other parent.
    let about_one = !found.pairing.parents.is_empty() || found.pairing.target.is_some();
    let odds_word = items.iter().any(|i| {
        matches!(i.role(), Some(Role::Odds | Role::Outcomes | Role::WhyNo | Role::Square))
            || i.role() == Some(Role::Target) && found.asked
    });
    if odds_word && about_one && !found.named.is_empty() {
        return (Intent::Odds, None);
    }
    if line.has(&cues.explain)
        && (question
            || !found.named.is_empty()
            || items.iter().any(|i| matches!(i.role(), Some(Role::Het | Role::Super | Role::Possible | Role::Double))))
    {
        return (Intent::Explain, None);
    }
    if odds_word && question && items.iter().any(|i| matches!(i.role(), Some(Role::Het | Role::Double | Role::Triple)))
    {
        return (Intent::Odds, None);
    }
    if question && !found.named.is_empty() {
        return (Intent::Unknown, None);
    }
    (Intent::SmallTalk, None)
}

fn outside(cues: &Cues, line: &Line) -> Option<Outside> {
    let kinds: [(&[String], Outside); 5] = [
        (&cues.dose, Outside::Dose),
        (&cues.illness, Outside::Illness),
        (&cues.law, Outside::Law),
        (&cues.price, Outside::Price),
        (&cues.photo, Outside::Photo),
    ];
    kinds.into_iter().find(|(phrases, _)| line.has(phrases)).map(|(_, outside)| outside)
}

/// "Biscuit 1634", "Mango 1.4kg": a name and a weight, nothing else.
fn bare_weight(text: &Text) -> bool {
    let words: Vec<&super::words::Word> = text.words.iter().filter(|w| !matches!(w.kind, Kind::Sign(_))).collect();
    match &words[..] {
        [name, weight] | [name, weight, _] => {
            let weighs = matches!(weight.kind, Kind::Number(n) if n >= 10) || matches!(weight.kind, Kind::Decimal(_));
            name.kind == Kind::Letters && weighs
        }
        _ => false,
    }
}
