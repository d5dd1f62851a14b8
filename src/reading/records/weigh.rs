//! Weights and meals: "Biscuit 1634", "weights: Olive 212, Fig 198", "Pip refused again".

use super::Record;
use super::amounts::{self, pattern};
use super::message::{Called, Msg};
use crate::reading::dates::{Said, When};

/// A weight as said.
#[derive(Debug, Clone, PartialEq)]
pub struct WeightSaid {
    /// Who.
    pub who: Called,
    /// Grams; below 1 where the message says so.
    pub grams: i64,
    /// The number as typed.
    pub said: String,
    /// A bare number like "1.4": kilos, or a male and four females?
    pub unclear: bool,
}

/// Reads weights.
pub(super) fn weigh(msg: &Msg<'_>) -> Option<Record> {
    if msg.question {
        return None;
    }
    let phrase = msg.phrases.weigh.find(msg.text());
    let named = msg.animals();
    let measured = amounts::weight_pattern()?.is_match(msg.text());
    // A name and a number say it all; without a known name a word for weighing or a unit must be there.
    let bare = named.first().is_some_and(|m| only_number_behind(msg, m.place.end)) && named.len() == 1;
    let list = named.len() > 1 && numbers(msg.text()).len() >= named.len() && phrase.is_some();
    if !(bare || list || phrase.is_some() && has_number(msg) || measured && (!named.is_empty() || short(msg))) {
        return None;
    }
    if crowded(msg) {
        return None;
    }
    let mut weights = each(msg);
    if weights.is_empty() {
        weights.extend(single(msg));
    }
    let on = day(msg);
    (!weights.is_empty()).then_some(Record::Weigh { weights, on })
}

/// A weight in words of its own: "scale says 1705 for Pebble", "Tuesday gained 60 g, she's now 1540".
pub(super) fn plain(msg: &Msg<'_>) -> Option<Record> {
    let on = day(msg);
    // What was gained or lost is no weight.
    let gain = pattern!(r"\b(?:gained|lost|up|down|put on)\s+(?:by\s+)?\d[\d.,]*\s*(?:g|grams?|kg)?\b");
    let mut rest = msg.clone();
    while let Some(place) = gain.and_then(|g| rest.flat.find(g)).and_then(|c| c.get(0)).map(|m| m.range()) {
        rest.flat.take(place);
    }
    let mut weights = each(&rest);
    if weights.is_empty() {
        weights.extend(single(&rest));
    }
    (!weights.is_empty()).then_some(Record::Weigh { weights, on })
}

/// "she's 1.65 kg now": a weight of the animal last spoken of, and nothing else.
pub(super) fn of_last(msg: &Msg<'_>) -> Option<Record> {
    let said = pattern!(
        r"^\W*(?:she|he|it)(?:'?s|\s+is|\s+was|\s+weighs|\s+weighed|\s+hit|\s+now)?(?:\s+(?:now|at|up to|down to|in at))*\s+-?\d[\d.,]*\s*(?:kgs?|kilos?|k|grams?|gr|gms?|gs|g|lbs?|oz)\b(?:\s+(?:now|today|again))*\W*$"
    )?;
    (!msg.question && said.is_match(msg.text())).then(|| plain(msg)).flatten()
}

/// The date of a weighing: a bare year is none, because 2021 g is a weight.
fn day(msg: &Msg<'_>) -> Option<Said> {
    msg.dates.iter().find(|d| d.meanings.is_empty() || d.meanings.iter().any(|w| matches!(w, When::Day(_)))).cloned()
}

/// Genes or eggs in the message: it is about something else.
fn crowded(msg: &Msg<'_>) -> bool {
    let p = msg.phrases;
    p.laid.is_match(msg.text()) && pattern!(r"\begg|\bei|\bhuevo|\bslug|\+").is_some_and(|e| e.is_match(msg.text()))
        || p.follicles.is_match(msg.text())
        || pattern!(r"\bhet\b|\d%|\b\d\.\d\b\s+[a-z]{4}").is_some_and(|e| e.is_match(msg.text()))
        || msg.phrases.add.is_match(msg.text())
            && pattern!(r"\bweight\b|\bweigh").is_none_or(|w| !w.is_match(msg.text()))
}

fn short(msg: &Msg<'_>) -> bool {
    super::message::word_places(msg.text()).len() <= 6
}

fn has_number(msg: &Msg<'_>) -> bool {
    !numbers(msg.text()).is_empty()
}

fn numbers(text: &str) -> Vec<(std::ops::Range<usize>, String)> {
    pattern!(r"(?:^|[\s:=,(])(-?\d[\d.,]*)")
        .map(|p| {
            p.captures_iter(text)
                .filter_map(|c| c.get(1))
                .map(|m| {
                    (
                        m.start()..m.start() + m.as_str().trim_end_matches(['.', ',']).len(),
                        m.as_str().trim_end_matches(['.', ',']).to_owned(),
                    )
                })
                .collect()
        })
        .unwrap_or_default()
}

fn only_number_behind(msg: &Msg<'_>, end: usize) -> bool {
    pattern!(r"^[\s:=,-]*(?:is\s+|now\s+|at\s+|to\s+)*-?\d[\d.,]*\s*[a-z]{0,8}[\s.!]*(?:today|heute|hoy|now|yesterday|this morning)?[\s.!]*$")
        .is_some_and(|p| p.is_match(msg.text().get(end..).unwrap_or("")))
}

/// A number behind each name.
fn each(msg: &Msg<'_>) -> Vec<WeightSaid> {
    let mut out = Vec::new();
    let named = msg.animals();
    for (n, mention) in named.iter().enumerate() {
        let end = named.get(n + 1).map_or(msg.text().len(), |next| next.place.start);
        let part = msg.text().get(mention.place.end..end).unwrap_or("");
        let offset = mention.place.end;
        if let Some((grams, said, unclear)) = number_in(msg, part, offset) {
            out.push(WeightSaid { who: mention.called.clone(), grams, said, unclear });
        }
    }
    // "log a weight of 2.1 kg for Rusty": the number stands first.
    if out.is_empty()
        && let [only] = named[..]
        && let Some((grams, said, unclear)) = number_in(msg, msg.text().get(..only.place.start).unwrap_or(""), 0)
    {
        out.push(WeightSaid { who: only.called.clone(), grams, said, unclear });
    }
    out
}

/// No name of the collection: a word that may be a name, or the animal last spoken of. Lists of strange names count too.
fn single(msg: &Msg<'_>) -> Vec<WeightSaid> {
    let gone: Vec<&regex::Regex> = amounts::weight_pattern().into_iter().chain([&msg.phrases.weigh]).collect();
    let strange = msg.strange_names(&gone);
    if strange.len() > 1 {
        let mut out = Vec::new();
        for (n, name) in strange.iter().enumerate() {
            let find = |name: &str| msg.text().find(crate::reading::flat::Flat::new(name).text());
            let Some(at) = find(name) else { continue };
            let end = strange.get(n + 1).and_then(|next| find(next)).unwrap_or(msg.text().len());
            let from = at + name.len();
            let Some(part) = msg.text().get(from..end.max(from)) else { continue };
            if let Some((grams, said, unclear)) = number_in(msg, part, from) {
                out.push(WeightSaid { who: Called::Name(name.clone()), grams, said, unclear });
            }
        }
        return out;
    }
    let who = strange.into_iter().next().map(Called::Name).or_else(|| msg.pronoun()).unwrap_or(Called::Last);
    number_in(msg, msg.text(), 0)
        .map(|(grams, said, unclear)| WeightSaid { who, grams, said, unclear })
        .into_iter()
        .collect()
}

/// The weight in a part of the message that begins at `offset`.
fn number_in(msg: &Msg<'_>, part: &str, offset: usize) -> Option<(i64, String, bool)> {
    if let Some(hit) = amounts::weight_pattern()?.captures(part) {
        let grams = amounts::grams(&hit[1], &hit[2], hit.get(3).map(|o| o.as_str()))?;
        return Some((grams, hit[0].trim().to_owned(), false));
    }
    let dated = |place: &std::ops::Range<usize>| {
        msg.dates.iter().any(|d| {
            d.place.start <= place.start + offset
                && place.start + offset < d.place.end
                && !d.meanings.iter().all(|w| matches!(w, When::Year(_)))
        })
    };
    let (_, said) = numbers(part).into_iter().find(|(place, _)| !dated(place))?;
    let value = amounts::decimal(&said, true)?;
    // "1.4" alone: no animal that is weighed here has so few grams.
    let unclear = said.contains(['.', ',']) && value < 30.0;
    #[expect(clippy::cast_possible_truncation)] // bounded in the same line
    (value.abs() < 1e9)
        .then(|| (if unclear { (value * 1000.0).round() as i64 } else { value.round() as i64 }, said, unclear))
}

/// Reads a meal taken or refused.
pub(super) fn meal(msg: &Msg<'_>) -> Option<Record> {
    if msg.question {
        return None;
    }
    let refused = msg.phrases.refused.is_match(msg.text());
    let ate = msg.phrases.ate.is_match(msg.text());
    if !refused && !ate {
        return None;
    }
    let gone = [&msg.phrases.ate, &msg.phrases.refused];
    let prey_pattern = pattern!(
        r"\b((?:small|medium|large|jumbo|s|m|l|xl|adult|weaned|live|f/t|frozen|fuzzy|pinky|hopper)?\s?(?:rats?|mouse|mice|pups?|chicks?|quail|crickets?|roach(?:es)?|dubias?|pink(?:y|ies)|fuzz(?:y|ies)|hoppers?|worms?))\b"
    );
    let prey = prey_pattern
        .and_then(|p| p.captures(msg.text()))
        .and_then(|c| c.get(1))
        .map(|m| msg.flat.typed(m.range()).trim().to_owned());
    let mut who: Vec<Called> = msg.animals().into_iter().map(|m| m.called.clone()).collect();
    if who.is_empty() {
        who.push(msg.subject(&gone));
    }
    // "fed today" without a name would be all of them, and nobody means one.
    if who == [Called::Last] && pattern!(r"\b(?:she|he|her|him)\b").is_none_or(|p| !p.is_match(msg.text())) && !refused
    {
        return None;
    }
    Some(Record::Meal { who, taken: !refused, prey, on: msg.when() })
}
