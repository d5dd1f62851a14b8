//! Words to items: the longest known name or phrase at each place, then glued words, then slips.
//!
//! In: [`Text`]. Out: [`Item`]s that cover every word once. Which sense of a name is meant stays open.
//! Order, as in the catalogues' rules: exact names first (the longest wins, blanks never count), then listed slips,
//! then words run together ("hetclown"), then slips of the pen; an ordinary English word is never one.

use std::ops::Range;

use super::Reader;
use super::lexicon::{Meaning, Sense};
use super::spelling::Known;
use super::vocabulary::{Role, is_english};
use super::words::{Kind, Text};
use crate::engine::odds::{Odds, odds};
use crate::species::SpeciesId;

/// The most words a name or phrase has.
const MAX_NAME_WORDS: usize = 6;

/// The most unknown words of a message that are looked at for slips.
const MAX_TRIES: usize = 16;
/// The longest word that is looked at for words run together, in letters.
const MAX_GLUED: usize = 40;

/// What an item is.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum What {
    /// A name with its senses.
    Name(Vec<Sense>),
    /// A word or phrase of the vocabulary.
    Word(Role),
    /// Counts of males, females and unsexed.
    Sexes(u16, u16, Option<u16>),
    /// A whole number, in figures or as a word.
    Number(u32),
    /// A decimal number in thousandths.
    Decimal(u32),
    /// A share: "66 %", "1/16", "50/50".
    Share(Odds),
    /// "1:3".
    Ratio(u32, u32),
    /// A species.
    Species(SpeciesId),
    /// A sign.
    Sign(char),
    /// An ordinary English word without a part in the grammar.
    English,
    /// The name of an animal.
    Called,
    /// A word nobody knows.
    Unknown,
}

/// One item of a message.
#[derive(Debug, Clone)]
pub(super) struct Item {
    /// What it is.
    pub what: What,
    /// The words it covers.
    pub words: Range<usize>,
    /// The spelling it was healed to.
    pub healed: Option<String>,
    /// Two or more names that a slip could stand for.
    pub torn: Vec<String>,
    /// Begins with a capital that is not the message's first letter.
    pub capital: bool,
    /// No blank before it.
    pub glued: bool,
}

impl Item {
    /// The role of a vocabulary word.
    #[must_use]
    pub(super) fn role(&self) -> Option<Role> {
        match self.what {
            What::Word(role) => Some(role),
            _ => None,
        }
    }

    /// Whether it is this sign.
    #[must_use]
    pub(super) fn is_sign(&self, sign: char) -> bool {
        self.what == What::Sign(sign)
    }
}

/// Cuts a text into items. With `species` only names of that species count.
///
/// A healed word may be part of a longer name ("super snwo", "moonglwo (kahl)"), so the text is cut once more with the
/// right spellings in place.
#[must_use]
pub(super) fn items(reader: &Reader, text: &Text, species: Option<SpeciesId>) -> Vec<Item> {
    let first = cut(reader, text, species);
    let healed: Vec<(usize, String)> = first
        .iter()
        .filter(|i| i.words.len() == 1 && i.torn.is_empty() && matches!(i.what, What::Name(_)))
        .filter_map(|i| Some((i.words.start, i.healed.clone()?)))
        .collect();
    if healed.is_empty() {
        return first;
    }
    let mut mended = text.clone();
    for (at, right) in &healed {
        mended.words[*at].form.clone_from(right);
    }
    let mut again = cut(reader, &mended, species);
    for item in &mut again {
        if let Some((_, right)) = healed.iter().find(|(at, _)| item.words.contains(at)) {
            item.healed.get_or_insert_with(|| right.clone());
        }
    }
    again
}

fn cut(reader: &Reader, text: &Text, species: Option<SpeciesId>) -> Vec<Item> {
    let mut out: Vec<Item> = Vec::with_capacity(text.words.len());
    let mut at = 0;
    // So many unknown words are looked at for slips and glued words; nobody types more of them in earnest, and time is bounded.
    let mut tries = MAX_TRIES;
    while at < text.words.len() {
        // A listed slip that begins a longer name ("mistic potion") is healed with its neighbour first.
        let slips = |step: &Vec<Item>| {
            step.iter().any(|i| matches!(&i.what, What::Name(s) if s.iter().all(|x| x.slip)) && i.words.len() == 1)
        };
        let step = exact(reader, text, at, species);
        let longer = step.as_ref().filter(|s| slips(s)).and_then(|_| {
            tries = tries.checked_sub(1)?;
            slip(reader, text, at, species)
        });
        let step = longer
            .filter(|s| s.first().is_some_and(|i| i.words.len() > 1))
            .or(step)
            .or_else(|| number(reader, text, at))
            .or_else(|| {
                tries = tries.checked_sub(1)?;
                glued(reader, text, at, species).or_else(|| slip(reader, text, at, species))
            })
            .unwrap_or_else(|| plain(text, at));
        at = step.last().map_or(at + 1, |item| item.words.end).max(at + 1);
        out.extend(step);
    }
    out
}

fn item(what: What, words: Range<usize>, text: &Text) -> Item {
    let first = text.words.get(words.start);
    Item {
        what,
        capital: first.is_some_and(|w| w.capital) && words.start > 0,
        glued: first.is_some_and(|w| w.glued),
        words,
        healed: None,
        torn: Vec::new(),
    }
}

fn in_species(senses: &[Sense], species: Option<SpeciesId>) -> Vec<Sense> {
    senses.iter().copied().filter(|s| species.is_none_or(|id| s.species == id)).collect()
}

/// The longest exact name or phrase that begins here.
fn exact(reader: &Reader, text: &Text, at: usize, species: Option<SpeciesId>) -> Option<Vec<Item>> {
    // A name begins with a word: a full stop or bracket before it belongs to the sentence.
    if text.words[at].form.is_empty() {
        return None;
    }
    let mut key = String::new();
    let mut best: Option<Item> = None;
    for end in at + 1..=(at + MAX_NAME_WORDS).min(text.words.len()) {
        let word = &text.words[end - 1];
        match word.kind {
            // A full stop with a blank after it ends a sentence; a line break ends everything.
            Kind::Sign('\n' | ',' | ';' | '?' | '!') if end > at + 1 => break,
            Kind::Sign('.') if end > at + 1 && text.words.get(end).is_some_and(|w| !w.glued) => break,
            Kind::Sign('(' | '[') if end == at + 1 => break,
            Kind::Percent(_) | Kind::Sexes(..) | Kind::Ratio(..) if end > at + 1 => break,
            _ => {}
        }
        key.push_str(&word.form);
        if key.len() > 40 {
            break;
        }
        // A name may not end in a sign that is no part of it.
        if word.form.is_empty() || matches!(word.kind, Kind::Percent(_) | Kind::Sexes(..) | Kind::Ratio(..)) {
            continue;
        }
        // "a super snow": the article is no part of "a super" where a name follows.
        let article = end == at + 2
            && text.words[at].form == "a"
            && text.words.get(end).is_some_and(|w| matches!(lookup(reader, &w.form, species), Some(What::Name(_))));
        // "amel x okeetee": behind a word the sign is a cross, and no part of "xokeetee".
        let cross = end > at + 1 && at > 0 && text.words[at].form == "x";
        if article || cross {
            continue;
        }
        if let Some(what) = lookup(reader, &key, species) {
            best = Some(item(what, at..end, text));
        }
    }
    best.map(|item| vec![item])
}

fn lookup(reader: &Reader, key: &str, species: Option<SpeciesId>) -> Option<What> {
    for form in forms(key) {
        let role = reader.vocabulary.role(form);
        let senses = reader.lexicon.senses(form).map(|s| in_species(s, species)).filter(|s| !s.is_empty());
        let named = reader.lexicon.species(form);
        match (role, senses, named) {
            // A filler word that is also a gene name ("special", "lesser") stays a name: the grammar decides by its neighbours.
            (None | Some(Role::Filler), Some(senses), _) => return Some(What::Name(senses)),
            (Some(role), Some(senses), _) if prefers_name(role, &senses) => return Some(What::Name(senses)),
            (Some(role), _, _) => return Some(What::Word(role)),
            (None, None, Some(id)) => return Some(What::Species(id)),
            (None, None, None) => {}
        }
        if let Some(n) = reader.vocabulary.number(form) {
            return Some(What::Number(n));
        }
    }
    None
}

/// "sg" is single gene or, in corn snakes, stargazer; "mm" a maker; a name wins where its species makes it one.
fn prefers_name(role: Role, senses: &[Sense]) -> bool {
    matches!(role, Role::Single | Role::Grams | Role::Possible | Role::Line) && senses.iter().any(|s| !s.everyday)
}

/// A word, then its forms without a plural ending.
fn forms(key: &str) -> impl Iterator<Item = &str> {
    let s = key.strip_suffix('s').filter(|k| k.len() >= 2);
    let es = key.strip_suffix("es").filter(|k| k.len() >= 4);
    let z = key.strip_suffix('z').filter(|k| k.len() >= 4);
    [Some(key), s, es, z].into_iter().flatten()
}

fn number(reader: &Reader, text: &Text, at: usize) -> Option<Vec<Item>> {
    let word = &text.words[at];
    let next_role = text.words.get(at + 1).and_then(|w| reader.vocabulary.role(&w.form));
    let what = match word.kind {
        Kind::Sexes(m, f, u) => What::Sexes(m, f, u),
        Kind::Percent(p) => What::Share(percent(p)),
        Kind::Ratio(a, b) => What::Ratio(a, b),
        Kind::Fraction(50, 50) => What::Share(odds(1, 2)),
        Kind::Fraction(a, b) if a > 0 && a <= b && b <= 4096 => What::Share(odds(i64::from(a), i64::from(b))),
        Kind::Decimal(n) => What::Decimal(n),
        // "66 het", "66 poss het", "100 het": a bare number before a het word is a share.
        Kind::Number(n @ (25 | 33 | 50 | 66 | 67 | 75 | 100))
            if matches!(next_role, Some(Role::Het | Role::Possible | Role::Normal)) =>
        {
            What::Share(percent(n * 100))
        }
        Kind::Number(n)
            if text.words.get(at + 1).is_some_and(|w| matches!(&*w.form, "percent" | "prozent" | "pct" | "perc")) =>
        {
            return Some(vec![item(What::Share(percent(n.min(1000) * 100)), at..at + 2, text)]);
        }
        Kind::Number(n) => What::Number(n),
        _ => return None,
    };
    Some(vec![item(what, at..at + 1, text)])
}

/// Trade shares are the fractions they stand for: "66 %" is two thirds, "33 %" one third.
pub(super) fn percent(hundredths: u32) -> Odds {
    match hundredths {
        6600..=6700 => odds(2, 3),
        3300..=3399 => odds(1, 3),
        n => odds(i64::from(n), 10_000),
    }
}

/// Words run together: "hetclown", "xclown", "66het", "superpastelclown".
fn glued(reader: &Reader, text: &Text, at: usize, species: Option<SpeciesId>) -> Option<Vec<Item>> {
    let word = &text.words[at];
    if word.kind != Kind::Letters
        || !(4..=MAX_GLUED).contains(&word.form.len())
        || !word.form.is_ascii()
        || is_english(&word.form)
    {
        return None;
    }
    let parts = split(reader, &word.form, species, 3)?;
    Some(parts.into_iter().map(|what| item(what, at..at + 1, text)).collect())
}

/// The cut into fewest known parts; each is a name of at least four letters or a word that governs names.
fn split(reader: &Reader, form: &str, species: Option<SpeciesId>, most: usize) -> Option<Vec<What>> {
    let part = |key: &str| -> Option<What> {
        let what = lookup(reader, key, species)?;
        match &what {
            What::Word(
                Role::Het | Role::Super | Role::Visual | Role::Cross | Role::Homo | Role::Double | Role::Possible,
            ) => Some(what),
            What::Name(senses)
                if key.len() >= 4
                    && senses.iter().any(|s| !matches!(s.meaning, Meaning::Tag(_) | Meaning::Look(_))) =>
            {
                Some(what)
            }
            _ => None,
        }
    };
    for cut in (1..form.len()).rev() {
        let (left, right) = form.split_at(cut);
        let Some(first) = part(left) else { continue };
        // Two names alone, run together, must both be long: "lavasnow" yes, but never a chance hit inside a longer word.
        if let Some(second) = part(right) {
            return Some(vec![first, second]);
        }
        if most > 2
            && let Some(mut rest) = split(reader, right, species, most - 1)
        {
            rest.insert(0, first);
            return Some(rest);
        }
    }
    None
}

/// A slip of the pen, in one to three words of which at least one is unknown.
fn slip(reader: &Reader, text: &Text, at: usize, species: Option<SpeciesId>) -> Option<Vec<Item>> {
    let mut best: Option<(usize, Item)> = None;
    for end in at + 1..=(at + 3).min(text.words.len()) {
        let window = &text.words[at..end];
        if window.iter().any(|w| w.kind != Kind::Letters) {
            break;
        }
        // One ordinary English word is never a slip; in a longer window at least one word must be unknown.
        let strange = window.iter().filter(|w| is_strange(reader, &w.form, species)).count();
        if strange == 0 || window.iter().any(|w| w.form.len() == 1 && window.len() == 1) {
            continue;
        }
        if window.len() > 1
            && window.iter().any(|w| reader.vocabulary.role(&w.form).is_some_and(|role| role != Role::And))
        {
            break;
        }
        let key: String = window.iter().map(|w| w.form.as_str()).collect();
        if key.chars().count() < 4 || key.len() > reader.lexicon.longest() + 2 {
            continue;
        }
        let Some((distance, found)) = heal(reader, &key, text, at..end, species) else { continue };
        if best.as_ref().is_none_or(|(d, _)| distance < *d || distance == *d && end > at + 1) {
            best = Some((distance, found));
        }
    }
    best.map(|(_, item)| vec![item])
}

/// Neither an ordinary word nor a name as it should be written; a listed slip is strange.
fn is_strange(reader: &Reader, form: &str, species: Option<SpeciesId>) -> bool {
    match lookup(reader, form, species) {
        Some(What::Name(senses)) => senses.iter().all(|s| s.slip),
        Some(_) => false,
        None => !is_english(form),
    }
}

/// A word without the letters that a heavy finger doubled: "bannnana" is "bannana".
fn squeezed(key: &str) -> String {
    let mut out = String::with_capacity(key.len());
    let mut run = 0;
    for c in key.chars() {
        run = if out.ends_with(c) { run + 1 } else { 0 };
        if run < 2 {
            out.push(c);
        }
    }
    out
}

fn heal(
    reader: &Reader,
    key: &str,
    text: &Text,
    words: Range<usize>,
    species: Option<SpeciesId>,
) -> Option<(usize, Item)> {
    let squeezed = squeezed(key);
    if squeezed != key
        && let Some(senses) = reader.lexicon.senses(&squeezed).map(|s| in_species(s, species)).filter(|s| !s.is_empty())
    {
        let mut found = item(What::Name(senses), words, text);
        found.healed = Some(squeezed);
        return Some((1, found));
    }
    let key = &*squeezed;
    let mut tried = reader.spelling.nearest(key, species);
    if let Some(stem) = key.strip_suffix('s').filter(|k| k.len() >= 4) {
        // Either ending may be the slip: compare both, keep the nearer.
        let other = reader.spelling.nearest(stem, species);
        let least = |found: &[super::spelling::Healed<'_>]| found.iter().map(|h| h.distance).min();
        if least(&other).is_some_and(|d| least(&tried).is_none_or(|t| d <= t)) {
            tried = other;
        }
    }
    let distance = tried.iter().map(|h| h.distance).min()?;
    let mut readings: Vec<(What, &str)> = Vec::new();
    for found in &tried {
        let what = match found.known {
            Known::Name(_) => What::Name(in_species(found.senses, species)),
            Known::Word(role) => What::Word(role),
            Known::Species(id) => What::Species(id),
        };
        let same = readings.iter().any(|(other, _)| match (other, &what) {
            (What::Name(a), What::Name(b)) => {
                a.iter().any(|x| b.iter().any(|y| x.species == y.species && same_gene(x.meaning, y.meaning)))
            }
            (a, b) => a == b,
        });
        if !same {
            readings.push((what, found.word));
        }
    }
    let (what, word) = readings.first().cloned()?;
    let mut found = item(what, words, text);
    found.healed = Some(word.to_owned());
    if readings.len() > 1 {
        found.torn = readings.iter().map(|(_, w)| (*w).to_owned()).collect();
    }
    Some((distance, found))
}

fn same_gene(a: Meaning, b: Meaning) -> bool {
    match (a, b) {
        (Meaning::Gene(x, _) | Meaning::Look(x), Meaning::Gene(y, _) | Meaning::Look(y)) => x == y,
        (a, b) => a == b,
    }
}

fn plain(text: &Text, at: usize) -> Vec<Item> {
    let word = &text.words[at];
    let what = match word.kind {
        Kind::Letters
            if is_english(&word.form)
                || word.form.chars().count() == 1
                || word.form.strip_suffix('s').is_some_and(is_english) =>
        {
            What::English
        }
        Kind::Sign(c) => What::Sign(c),
        _ => What::Unknown,
    };
    vec![item(what, at..at + 1, text)]
}
