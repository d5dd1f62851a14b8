//! Numbers of the keeper's own: days, and the temperature of the eggs.

use super::super::amounts::pattern;
use super::super::message::Msg;
use super::{CalendarAsked, ItemSaid, SHORT, species};

/// Numbers of the keeper's own.
pub(super) fn numbers(msg: &Msg<'_>) -> Option<CalendarAsked> {
    let (p, text) = (msg.phrases, msg.text());
    let n_words = text.split_whitespace().count();
    if p.use_mine.is_match(text) && n_words <= SHORT {
        return Some(CalendarAsked::UseMine { species: species(msg) });
    }
    if p.use_default.is_match(text) && n_words <= SHORT {
        return Some(CalendarAsked::UseDefault { species: species(msg) });
    }
    if p.own_numbers.is_match(text) && n_words <= SHORT {
        return Some(CalendarAsked::Numbers { species: species(msg) });
    }
    if msg.question {
        return None;
    }
    let is = |x: Option<&'static regex::Regex>| x.is_some_and(|x| x.is_match(text));
    let sets = is(pattern!(
        r"\b(?:set|use|count|take|takes|hatch(?:es)?|incubat\w*|my\s+(?:incubation|incubator|eggs)|lay|lays|shed|ovulation)\b"
    ));
    if !sets {
        return None;
    }
    let days = pattern!(r"\b(\d{1,3})(?:\s*(?:-|–|to|bis|a)\s*(\d{1,3}))?(?:\s+(?:usually|mostly|usual|likely)\s+(\d{1,3}))?\s*(?:days?|d|tage|dias)\b")
        .and_then(|x| x.captures(text));
    let said =
        |hit: &regex::Captures<'_>, n: usize| hit.get(n).and_then(|m| m.as_str().parse::<i64>().ok()).map(|n| n * 10);
    let clutch = msg.animals().first().map(|m| m.called.clone());
    let incubates = is(pattern!(r"\b(?:incubat\w*|hatch(?:es)?|eggs|inkubation|brut\w*)\b"));
    let Some(hit) = days else {
        // "I incubate my ball pythons at 31.5 C", "set my incubator to 88 F".
        let warmth = super::super::clutch::warmth(text)?;
        let room = is(pattern!(r"\b(?:i\s+incubate|incubator|incubation|my\s+eggs|set)\b"))
            && incubates
            && !p.laid.is_match(text);
        return room.then_some(CalendarAsked::Own {
            item: ItemSaid::Warmth,
            species: species(msg),
            clutch,
            tenths: (None, warmth, None),
        });
    };
    let shed = is(pattern!(r"\b(?:pre\s?-?lay\s+shed|pos|shed|post\s?-?ovulation\s+shed)\b"));
    let ovulation = p.ovulates.is_match(text) || p.ovulation.is_match(text);
    let mating = is(pattern!(r"\b(?:mating|pairing|lock|locks)\b"));
    let lays = p.lays.is_match(text) || is(pattern!(r"\b(?:laying|eggs|birth)\b"));
    let item = match (shed, ovulation, mating) {
        (true, true, _) => ItemSaid::OvulationToShed,
        (true, false, _) if lays => ItemSaid::ShedToLaying,
        (false, true, _) if lays => ItemSaid::OvulationToLaying,
        (false, false, true) if lays => ItemSaid::MatingToLaying,
        (false, false, false) if incubates => ItemSaid::Incubation,
        _ => return None,
    };
    // A record that names days is no setting: "ate 3 days ago", "off feed for 20 days".
    let setting = is(pattern!(
        r"^\W*(?:please\s+)?(?:set|use|count|take)\b|\b(?:my|our|mine|here|with\s+me|in\s+my\s+room)\b|\b(?:take|takes|need|needs)\s+\d|\b(?:is|are|=)\s+\d|\bhatch(?:es)?\s+(?:at|after|in|on\s+day)\b|\binkubation\b"
    ));
    let dated =
        msg.dates.iter().any(|d| hit.get(0).is_some_and(|h| d.place.start < h.end() && h.start() < d.place.end));
    if !setting || dated {
        return None;
    }
    let (one, two, three) = (said(&hit, 1)?, said(&hit, 2), said(&hit, 3));
    let tenths = match (two, three) {
        (Some(two), Some(usual)) => (Some(one), usual, Some(two)),
        (Some(two), None) => (Some(one), i64::midpoint(one, two), Some(two)),
        (None, _) => (None, one, None),
    };
    Some(CalendarAsked::Own {
        item,
        species: species(msg),
        clutch: clutch.filter(|_| item == ItemSaid::Incubation),
        tenths,
    })
}
