//! The lines of a list, and one line as one animal.

use std::ops::Range;

use super::{MOST_LINES, NewAnimal, facts, family, names};
use crate::reading::flat::Flat;
use crate::reading::records::amounts::pattern;
use crate::reading::records::described::Described;
use crate::reading::records::message::Msg;
use crate::reading::requests::SexSaid;
use crate::species::SpeciesId;

/// What the lines before this one said of those that follow.
#[derive(Debug, Clone, Copy)]
pub(super) struct Head {
    pub(super) sex: SexSaid,
    pub(super) species: Option<SpeciesId>,
}

pub(super) fn sex_in(text: &str) -> SexSaid {
    let has = |words: &[&str]| {
        words.iter().any(|w| text.split_whitespace().any(|t| t.trim_matches(|c: char| !c.is_alphanumeric()) == *w))
    };
    if has(&["girl", "girls", "female", "females", "weibchen", "hembra", "hembras"]) {
        SexSaid::Female
    } else if has(&["boy", "boys", "male", "males", "mannchen", "macho", "machos"]) {
        SexSaid::Male
    } else {
        SexSaid::Unknown
    }
}

pub(super) fn lines(msg: &Msg<'_>, flat: &Flat, head: &mut Head) -> Vec<NewAnimal> {
    let labels = pattern!(
        r"(?m)^\W*(?:name|sex|genes?|morph|year|hatched|born|weight|species|notes?|price|sire|dam|father|mother|origin|from)\s*[:=]"
    );
    let form = labels.is_some_and(|l| l.find_iter(flat.text()).count() >= 2);
    if form {
        return one(msg, flat, 0..flat.text().len(), 1, *head).into_iter().collect();
    }
    let mut out = Vec::new();
    let mut start = 0;
    for (n, line) in (1..).zip(flat.text().split('\n')) {
        let place = start..start + line.len();
        start += line.len() + 1;
        if line.trim().is_empty() {
            continue;
        }
        if let Some(heading) = heading(msg, line, *head) {
            *head = heading;
            continue;
        }
        for part in parts(line) {
            if out.len() > MOST_LINES {
                return out;
            }
            out.extend(one(msg, flat, place.start + part.start..place.start + part.end, n, *head));
        }
    }
    out
}

/// "Females:", "Corn snakes": a line that speaks of those below it.
fn heading(msg: &Msg<'_>, line: &str, head: Head) -> Option<Head> {
    let text = line.trim().trim_matches(|c: char| !c.is_alphanumeric());
    if text.chars().any(|c| c.is_ascii_digit()) || text.split_whitespace().count() > 4 {
        return None;
    }
    let singular = text.strip_suffix('s').unwrap_or(text);
    if let Some(species) = msg.catalogue.by_name(text).or_else(|| msg.catalogue.by_name(singular)) {
        return Some(Head { species: Some(species), ..head });
    }
    let plain = text.split_whitespace().all(|w| {
        matches!(
            w,
            "my" | "the"
                | "all"
                | "girls"
                | "females"
                | "boys"
                | "males"
                | "weibchen"
                | "mannchen"
                | "hembras"
                | "machos"
                | "adult"
                | "breeders"
                | "these"
                | "animals"
                | "snakes"
                | "collection"
                | "geckos"
                | "following"
        )
    });
    plain.then(|| Head { sex: sex_in(text), ..head })
}

/// "1.0 clown and 0.1 pied": a part for each count; ";" always parts.
fn parts(line: &str) -> Vec<Range<usize>> {
    let mut cuts = vec![0];
    if let Some(joint) =
        pattern!(r"(?:;|(?:,|\band\b|&|\+|\bund\b|\by\b)\s*)(?:\d{1,2}[.,]\d{1,2}(?:[.,]\d{1,2})?\s)|;")
    {
        for hit in joint.find_iter(line) {
            let at = hit.start() + hit.as_str().find(|c: char| c.is_ascii_digit()).unwrap_or(hit.as_str().len());
            // The count of the first animal is no joint.
            if !line[..hit.start()].trim().is_empty()
                && (hit.as_str().starts_with(';') || line[..hit.start()].contains('.'))
            {
                cuts.push(at);
            }
        }
    }
    cuts.push(line.len());
    cuts.windows(2).map(|w| w[0]..w[1]).filter(|r| line[r.clone()].chars().any(char::is_alphanumeric)).collect()
}

fn one(msg: &Msg<'_>, whole: &Flat, place: Range<usize>, line: usize, head: Head) -> Option<NewAnimal> {
    let said = whole.typed(place.clone()).trim().to_owned();
    let mut flat = Flat::new(whole.left().get(byte_range(whole, &place)?)?);
    if let Some(bullet) = pattern!(r"^\s*(?:[-*\u{2022}>]|\d{1,3}[.)])\s+") {
        flat.pull(bullet);
    }
    let mut out = NewAnimal { line, said, ..NewAnimal::default() };
    let species = head.species;
    facts::note(&mut flat, &mut out);
    names::said(&mut flat, &mut out);
    family::clutch_and_parents(msg, &mut flat, &mut out);
    facts::facts(&mut flat, &mut out);
    facts::dated(msg, &mut flat, &mut out);
    facts::measures(&mut flat, &mut out);
    facts::origin(&mut flat, &mut out);
    facts::labels_off(&mut flat);
    if out.name.is_none() {
        out.name = names::left(msg, &mut flat, species);
    }
    let rest = flat.left();
    out.described = msg.reader.describe(msg.catalogue, &rest, species);
    if out.described.animal.sex == SexSaid::Unknown && out.described.counts.is_none() {
        out.described.animal.sex = head.sex;
    }
    out.grams = out.grams.or(out.described.animal.weight_g.map(i64::from));
    out.counts = counts(&out.described);
    let known: Vec<String> = out.described.unread.clone();
    out.unread = names::spare_words(msg, &out.described.spare).into_iter().chain(known).collect();
    out.unread.dedup();
    Some(out)
}

/// The bytes of `Flat::left` that belong to a place of its text. Both have a byte for a byte only where no letter changed
/// its length, so it is counted in characters.
fn byte_range(flat: &Flat, place: &Range<usize>) -> Option<Range<usize>> {
    let left = flat.left();
    let chars = |at: usize| flat.text().get(..at).map(|t| t.chars().count());
    let (from, to) = (chars(place.start)?, chars(place.end)?);
    let byte = |n: usize| left.char_indices().nth(n).map_or(left.len(), |(b, _)| b);
    Some(byte(from)..byte(to))
}

fn counts(described: &Described) -> (u16, u16, u16) {
    match described.counts {
        Some(counts) if counts != (0, 0, 0) => counts,
        _ => match described.animal.sex {
            SexSaid::Male => (1, 0, 0),
            SexSaid::Female => (0, 1, 0),
            SexSaid::Unknown => (0, 0, 1),
        },
    }
}
