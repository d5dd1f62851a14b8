//! Meetings and signs: "Rusty locked with Nova 3 Dec", "she ovulated", "follicles 18mm".

use super::Record;
use super::add::{ParentSaid, parent_said};
use super::amounts::pattern;
use super::kinds::{MeetingKind, SignKind};
use super::message::{Called, Msg, word_places};
use crate::reading::dates::{Said, When};

/// "add a lock for Olive and Otto", "note that Fig and Juno tied up again": a meeting, whatever verb leads.
pub(super) fn logged(msg: &Msg<'_>) -> Option<Record> {
    let leads = pattern!(r"^\W*(?:please\s+)?(?:add|log|note|record)\b").is_some_and(|x| x.is_match(msg.text()));
    let two = msg.pair().len() == 2 || msg.mentions.is_empty();
    let meets = msg.phrases.lock.is_match(msg.text()) || msg.phrases.introduced.is_match(msg.text());
    let other = msg.phrases.laid.is_match(msg.text()) || msg.phrases.hatched.is_match(msg.text());
    (leads && two && meets && !other).then(|| meet(msg)).flatten()
}

/// A pairing in words of its own: two animals, and what they did is what pairs do.
pub(super) fn plain(msg: &Msg<'_>) -> Option<Record> {
    let p = msg.phrases;
    if let Some(sign) = sign(msg) {
        return Some(sign);
    }
    let mut pair: Vec<ParentSaid> = msg.pair().into_iter().map(|m| m.called.clone().into()).collect();
    if pair.is_empty() {
        pair.extend(
            msg.strange_names(&[&p.lock, &p.introduced, &p.separated]).into_iter().map(|n| Called::Name(n).into()),
        );
    }
    let mut pair = pair.into_iter();
    Some(Record::Meet { kind: MeetingKind::Lock, first: pair.next()?, second: pair.next(), on: msg.when() })
}

/// Reads a meeting of two animals.
pub(super) fn meet(msg: &Msg<'_>) -> Option<Record> {
    if msg.question {
        return None;
    }
    let p = msg.phrases;
    let text = msg.text();
    // "put Otto in with Pebble" puts them together; "is Rusty locked" tells more.
    let put = pattern!(r"\bput\s+.{1,60}?\s+(?:in\s+)?(?:with|to|in)\s+").is_some_and(|x| x.is_match(text));
    let kind = if p.separated.is_match(text) {
        MeetingKind::Separated
    } else if p.lock.is_match(text) && !put {
        MeetingKind::Lock
    } else if p.introduced.is_match(text) || put {
        MeetingKind::Introduced
    } else {
        // "Freya was with Odin today"
        pattern!(r"\bwas\s+with\b").filter(|x| x.is_match(text))?;
        MeetingKind::Introduced
    };
    let gone = [&p.lock, &p.introduced, &p.separated];
    let mut pair: Vec<ParentSaid> = msg.pair().into_iter().map(|m| ParentSaid::Called(m.called.clone())).collect();
    if pair.len() < 2 {
        for name in msg.strange_names(&gone) {
            let said = ParentSaid::Called(Called::Name(name));
            if !pair.contains(&said) {
                pair.push(said);
            }
        }
    }
    if pair.len() < 2
        && let Some(other) = other_in_words(msg)
    {
        pair.push(other);
    }
    if pair.len() < 2
        && let Some(pronoun) = msg.pronoun()
    {
        pair.push(ParentSaid::Called(pronoun));
    }
    pair.truncate(2);
    let mut pair = pair.into_iter();
    // Nobody named at all: talk about something else, unless it is plainly about the animal last spoken of.
    let first = pair.next()?;
    let names_nobody = matches!(first, ParentSaid::Called(Called::Pronoun(_) | Called::Last));
    if names_nobody && kind != MeetingKind::Lock {
        return None;
    }
    Some(Record::Meet { kind, first, second: pair.next(), on: msg.when() })
}

/// "locked with a clown male from Tove": the other of the two is no animal of the collection.
fn other_in_words(msg: &Msg<'_>) -> Option<ParentSaid> {
    let hit = pattern!(
        r"\b(?:with|to|onto|mit|con|x)\s+((?:an?|the|my|a friend's|some|ein(?:em|er)?|un|una)\s+[^,;.!\n]{2,60})"
    )?
    .captures(msg.text())?;
    let place = hit.get(1)?.range();
    // The date at the end belongs to the message.
    let end =
        msg.dates.iter().map(|d| d.place.start).filter(|s| *s > place.start).min().unwrap_or(place.end).min(place.end);
    let said = parent_said(msg, &msg.flat, place.start..end);
    matches!(&said, ParentSaid::Words(w) if !w.trim().is_empty()).then_some(said)
}

/// Nothing but a sign or a refusal, of the animal last spoken of: "follicles 18mm", "POS yesterday", "she's off feed".
pub(super) fn of_last(msg: &Msg<'_>) -> Option<Record> {
    let p = msg.phrases;
    let kinds = [&p.refused, &p.follicles, &p.ovulation, &p.prelay_shed, &p.gravid];
    if msg.question || !msg.mentions.is_empty() || !kinds.iter().any(|k| k.is_match(msg.text())) {
        return None;
    }
    let mut rest = msg.flat.clone();
    for said in &msg.dates {
        rest.take(said.place.clone());
    }
    let size = pattern!(r"\b\d{1,3}\s*mm\b")?;
    for pattern in kinds.into_iter().chain([size, &p.female_pronouns, &p.male_pronouns, &p.other_pronouns]) {
        while let Some(place) = rest.find(pattern).and_then(|c| c.get(0)).map(|m| m.range()).filter(|r| !r.is_empty()) {
            rest.take(place);
        }
    }
    let spare = |word: &str| p.filler.contains(word) || matches!(word, "af" | "s" | "yesterday" | "seen" | "size");
    let pure = word_places(rest.text()).into_iter().all(|w| spare(&rest.text()[w]));
    // "pos" alone is short for "possible", too.
    let said = msg.text().trim().len() > 3;
    (pure && said).then(|| super::weigh::meal(msg).or_else(|| sign(msg))).flatten()
}

/// "tomorrow", "in 3 days": a day that is still to come, which no record can have.
pub(super) fn to_come(msg: &Msg<'_>) -> Option<Said> {
    let hit = pattern!(
        r"\b(?:tomorrow|manana|next\s+(?:week|month|year|monday|tuesday|wednesday|thursday|friday|saturday|sunday)|in\s+(?:a|\d{1,3})\s+(?:days?|weeks?|months?))\b"
    )?
    .find(msg.text())?;
    let day = msg.known.today.tomorrow().ok()?;
    Some(Said { place: hit.range(), meanings: vec![When::Day(day)] })
}

/// Reads a sign of a female.
pub(super) fn sign(msg: &Msg<'_>) -> Option<Record> {
    if msg.question {
        return None;
    }
    let p = msg.phrases;
    let text = msg.text();
    let size = pattern!(r"\b(\d{1,3})\s*mm\b").and_then(|x| x.captures(text)).and_then(|c| c[1].parse().ok());
    let kind = if p.ovulation.is_match(text) && !p.prelay_shed.is_match(text) {
        SignKind::Ovulation
    } else if p.follicles.is_match(text) {
        SignKind::Follicles
    } else if p.prelay_shed.is_match(text) && !pattern!(r"\bpos\w*\s+(?:het|super)").is_some_and(|x| x.is_match(text)) {
        SignKind::PrelayShed
    } else if p.gravid.is_match(text) {
        SignKind::Gravid
    } else if p.building.is_match(text) {
        SignKind::Building
    } else {
        return None;
    };
    let gone = [&p.ovulation, &p.follicles, &p.prelay_shed, &p.gravid, &p.building];
    let who = msg.subject(&gone);
    // "building a rack" is no sign: somebody must be named or meant.
    if who == Called::Last && kind == SignKind::Building {
        return None;
    }
    Some(Record::Sign { who, kind, size_mm: size, on: msg.when().or_else(|| to_come(msg)) })
}
