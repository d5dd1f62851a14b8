//! A clutch with several possible fathers. An example a line:
//!   "Rusty or Otto fathered the Nova clutch"             one of them did, even odds
//!   "the sire of Nova's clutch is Rusty 70 % or Otto"     the rest is Otto's
//!   "the Nova clutch has two fathers: Rusty and Otto"     each young by either

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
    if animals.len() < 2 || !(mixed || either) {
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
