//! The season of a species in a place, and the year at a glance.

use super::super::amounts::pattern;
use super::super::message::Msg;
use super::{CalendarAsked, Part, SHORT, Span, species};
use crate::reading::dates::month_name;
use crate::reading::places::{self, Half, Spoken};

/// The season of a species.
pub(super) fn season(msg: &Msg<'_>) -> Option<CalendarAsked> {
    let (p, text) = (msg.phrases, msg.text());
    if !msg.animals().is_empty() {
        return None;
    }
    let is = |x: Option<&'static regex::Regex>| x.is_some_and(|x| x.is_match(text));
    let when = is(pattern!(
        r"\b(?:when|what\s+months?|which\s+months?|what\s+time|at\s+what|calendar|schedule|timeline|breeding\s+season|wann|cuando)\b"
    ));
    let pairs = is(pattern!(r"\b(?:pair(?:ing|ed)?|breed(?:ing)?|males|introduce|bocke|verpaar\w*|cruzar|cria)\b"));
    let lays = p.lays.is_match(text) || p.hatches.is_match(text);
    let cools = p.cools.is_match(text);
    let all = is(pattern!(r"\b(?:calendar|schedule|timeline)\b"));
    if !when || !(pairs || lays || cools || all) {
        return None;
    }
    let species = species(msg);
    let part = match (cools, pairs, lays) {
        _ if all => Part::All,
        (true, false, false) => Part::Cooling,
        (false, true, false) => Part::Pairing,
        (false, false, true) => Part::Laying,
        _ => Part::All,
    };
    // "season calendar" alone is the keeper's own year.
    if part == Part::All && species.is_none() && all {
        return None;
    }
    let (half, place) = half(msg);
    Some(CalendarAsked::Season { species, part, half, place })
}

/// The half of the world that a message names, and the place by which it does.
pub(super) fn half(msg: &Msg<'_>) -> (Option<Half>, Option<String>) {
    let text = msg.text();
    let is = |x: Option<&'static regex::Regex>| x.is_some_and(|x| x.is_match(text));
    if is(pattern!(r"\bsouthern\s+(?:hemisphere|half)\b|\bdown\s+under\b|\bsouth\s+of\s+the\s+equator\b")) {
        return (Some(Half::South), None);
    }
    if is(pattern!(r"\bnorthern\s+(?:hemisphere|half)\b")) {
        return (Some(Half::North), None);
    }
    let hits = pattern!(r"\b(?:in|for|from)\s+((?:the\s+)?\p{L}[\p{L}. ]{1,40})")
        .into_iter()
        .flat_map(|x| x.captures_iter(text));
    for hit in hits {
        let Some(place) = hit.get(1) else { continue };
        // The longest run of words that is a place.
        let words: Vec<&str> = place.as_str().split_whitespace().collect();
        for n in (1..=words.len().min(4)).rev() {
            let name = words[..n].join(" ");
            let typed = msg.flat.typed(place.start()..(place.start() + name.len()).min(place.end())).trim().to_owned();
            let is_month = (1..=12).any(|m| month_name(m).eq_ignore_ascii_case(&typed));
            if is_month {
                continue;
            }
            match places::spoken(&name) {
                Spoken::Zone(zone) => return (Some(places::half(zone)), Some(typed)),
                Spoken::Several(zones) => {
                    let halves: Vec<Half> = zones.iter().map(|zone| places::half(zone)).collect();
                    if let Some(first) = halves.first().filter(|first| halves.iter().all(|half| half == *first)) {
                        return (Some(*first), Some(typed));
                    }
                }
                Spoken::Offset | Spoken::Unknown(_) => {}
            }
        }
    }
    (None, None)
}

/// "the year", "Nala's year", "what's due this month".
pub(super) fn year(msg: &Msg<'_>) -> Option<CalendarAsked> {
    let (p, text) = (msg.phrases, msg.text());
    let n_words = text.split_whitespace().count();
    if n_words > SHORT || species(msg).is_some() {
        return None;
    }
    let of_one = pattern!(r"'s?\s+(?:year|calendar|dates|season|jahr)\b|\b(?:year|calendar|dates)\s+(?:of|for)\s+")?
        .is_match(text);
    if let Some(first) = msg.animals().first() {
        let whole = p.whole_year.is_match(text);
        let asks = of_one || whole && !p.lays.is_match(text);
        return asks.then(|| CalendarAsked::Year {
            who: Some(first.called.clone()),
            span: span(msg),
            half: half(msg).0,
        });
    }
    if p.coming_up.is_match(text) {
        return Some(CalendarAsked::Year { who: None, span: span(msg), half: half(msg).0 });
    }
    // Whole messages: "what a year" is talk.
    let hit = p.whole_year.find(text)?;
    let around = format!("{} {}", &text[..hit.start()], &text[hit.end()..]);
    let spare = |word: &str| {
        p.filler.contains(word)
            || matches!(
                word,
                "show"
                    | "give"
                    | "see"
                    | "what"
                    | "whats"
                    | "does"
                    | "look"
                    | "like"
                    | "how"
                    | "glance"
                    | "breeding"
                    | "this"
                    | "season"
                    | "next"
                    | "month"
                    | "months"
                    | "zeig"
                    | "muestra"
                    | "northern"
                    | "southern"
                    | "half"
                    | "hemisphere"
                    | "rooms"
                    | "room"
                    | "s"
            )
    };
    let bare = super::super::message::word_places(&around).into_iter().all(|w| spare(&around[w]));
    (bare || half(msg).0.is_some()).then(|| CalendarAsked::Year { who: None, span: span(msg), half: half(msg).0 })
}

pub(super) fn span(msg: &Msg<'_>) -> Span {
    let text = msg.text();
    let is = |x: Option<&'static regex::Regex>| x.is_some_and(|x| x.is_match(text));
    if is(pattern!(r"\b(?:next\s+month|nachsten\s+monat|proximo\s+mes)\b")) {
        return Span::Month(1);
    }
    if is(pattern!(r"\b(?:this\s+month|month|this\s+week|diesen\s+monat|este\s+mes|now)\b")) {
        return Span::Month(0);
    }
    let named = (1..=12).find(|m| {
        let name = month_name(*m).to_lowercase();
        super::super::message::word_places(text)
            .into_iter()
            .any(|w| text[w] == *name && (*m != 5 || text.contains("in may")))
    });
    named.map_or(Span::Year, Span::Named)
}
