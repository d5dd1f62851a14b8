//! A clutch with several possible fathers. An example a line:
//!   "Rusty or Otto fathered the Nova clutch"             one of them did, even odds
//!   "the sire of Nova's clutch is Rusty 70 % or Otto"     the rest is Otto's
//!   "the Nova clutch has two fathers: Rusty and Otto"     each young by either
//!   "the father is Rusty", "Rusty fathered the Nova clutch"   the one father, told after the laying

use super::Record;
use super::amounts::pattern;
use super::clutch::ClutchSaid;
use super::message::{Called, Msg};
use crate::engine::odds::{Odds, odds};

/// Reads several fathers. The mother may be among the names; who is what is settled where the animals are known.
pub(super) fn sires(msg: &Msg<'_>) -> Option<Record> {
    let text = msg.text();
    let about =
        pattern!(r"\b(?:father|fathers|fathered|sire|sires|sired|dad|dads|double sired|split clutch|vater|padre)\b")?;
    if msg.question || !about.is_match(text) {
        return None;
    }
    let animals = msg.animals();
    let mixed = pattern!(r"\b(?:two|both|several|mixed|different|three)\s+(?:fathers|sires|dads|males)\b|\bdouble[- ]sired\b|\bsplit (?:clutch|sired)\b|\bboth (?:fathered|sired)\b")?
        .is_match(text);
    let between = |a: usize| -> &str {
        let end = animals.get(a + 1).map_or(text.len(), |m| m.place.start);
        animals.get(a).and_then(|m| text.get(m.place.end..end)).unwrap_or_default()
    };
    let either = (0..animals.len())
        .any(|a| a + 1 < animals.len() && pattern!(r"\b(?:or|oder|o)\b").is_some_and(|p| p.is_match(between(a))));
    // "Rusty and Otto fathered the Nova clutch".
    let both = animals.len() >= 3
        && pattern!(r"^\s*(?:and|und|y|&|\+)\s*$").is_some_and(|p| p.is_match(between(0)))
        && pattern!(r"\b(?:fathered|sired)\b|\bare the (?:fathers|sires|dads)\b").is_some_and(|p| p.is_match(text));
    let mixed = mixed || both;
    // "Nova's father is Duke" tells of Nova; of a clutch it is told by that word, or of the last one without any.
    let one = pattern!(r"\b(?:clutch|gelege|puesta|litter|eggs)\b.*|^\W*(?:actually\s+|no,?\s+|oh,?\s+|and\s+)?(?:the\s+)?(?:father|sire|dad|vater|padre)\s+(?:is|was|ist|war|es|fue)\b|\b(?:is|was)\s+the\s+(?:father|sire|dad)\W*$")
        .is_some_and(|p| p.is_match(text))
        && !msg.phrases.add.is_match(text)
        && !msg.phrases.laid.is_match(text)
        && !msg.phrases.hatched.is_match(text);
    if animals.is_empty() || !(one || animals.len() >= 2 && (mixed || either)) {
        return None;
    }
    let share = |a: usize| -> Option<Odds> {
        let hit = pattern!(r"^\W{0,3}(?:with|at|is)?\s*(\d{1,3})\s*(?:%|percent)")?.captures(between(a))?;
        hit[1].parse().ok().map(|n| odds(n, 100))
    };
    let named: Vec<(Called, Option<Odds>)> =
        animals.iter().enumerate().map(|(a, m)| (m.called.clone(), share(a))).collect();
    Some(Record::Sires { clutch: ClutchSaid { code: super::clutch::code(msg), parents: Vec::new() }, named, mixed })
}
