//! Clutches laid and hatched: "Juno laid 7 and 1 slug", "7+1", "hatched 2.3 pieds 1.1 normals".

use std::ops::Range;

use super::Record;
use super::add::ParentSaid;
use super::amounts::pattern;
use super::described::Described;
use super::message::{Called, Msg};
use crate::reading::vocabulary::is_english;

/// A small number in figures or words.
const N: &str = r"(-?\d{1,4}|an?|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|ein|eine|zwei|drei|vier|funf|sechs|sieben|acht|neun|zehn|un|dos|tres|cuatro|cinco|seis|siete|ocho|nueve|diez)";
/// From two on.
const SPANISH: [&str; 9] = ["dos", "tres", "cuatro", "cinco", "seis", "siete", "ocho", "nueve", "diez"];

/// A laying as said.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LaidSaid {
    /// Good eggs; below 0 where the message says so.
    pub eggs: Option<i64>,
    /// Infertile eggs.
    pub slugs: Option<i64>,
    /// Eggs that may be bad.
    pub doubtful: Option<i64>,
    /// Young born alive.
    pub live: Option<i64>,
    /// Young born dead.
    pub stillborn: Option<i64>,
    /// The keeper's code.
    pub code: Option<String>,
    /// Incubation in tenths of a degree Celsius.
    pub warmth: Option<i64>,
}

/// Young of one look as said.
#[derive(Debug, Clone, PartialEq)]
pub struct YoungSaid {
    /// Males, females, unsexed.
    pub counts: (u16, u16, u16),
    /// Their look.
    pub look: Described,
    /// The words.
    pub said: String,
    /// They name a look that is none of this species.
    pub strange: bool,
}

/// Which clutch is meant.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ClutchSaid {
    /// The keeper's code.
    pub code: Option<String>,
    /// Parents that are named.
    pub parents: Vec<Called>,
}

/// Reads a laying or a birth.
pub(super) fn laid(msg: &Msg<'_>) -> Option<Record> {
    let p = msg.phrases;
    let text = msg.text();
    if msg.question
        || !p.laid.is_match(text)
            && !pattern!(r"(?:^|\s)\d{1,2}\s?\+\s?\d{1,2}(?:\s|$)").is_some_and(|x| x.is_match(text))
    {
        return None;
    }
    // "hatched" tells of young, but for what a litter is.
    if p.hatched.is_match(text) && !p.litter.is_match(text) {
        return None;
    }
    let mut said = LaidSaid::default();
    let number = |hit: Option<&regex::Captures<'_>>, group: usize| {
        hit.and_then(|c| c.get(group)).and_then(|m| number(msg, m.as_str()))
    };
    let find = |pattern: Option<&'static regex::Regex>| pattern.and_then(|x| x.captures(text));
    let plus = find(pattern!(r"(?:^|\s)(-?\d{1,3})\s?\+\s?(\d{1,3})(?:\s|$|[,.!;)])"));
    if plus.is_some() {
        said.eggs = number(plus.as_ref(), 1);
        said.slugs = number(plus.as_ref(), 2);
    }
    let eggs = find(pattern!(format!(
        r"(?:^|\s){N}\s+(?:(?:good|fertile|nice|big|healthy|perfect|beautiful|lovely|viable|gute|fertiles|white|egg|solid|great)\s+)*(?:eggs?|egs|eiern?|ei|huevos?|goodies|good(?:\s|$|,))"
    )));
    let verb = find(pattern!(format!(r"\b(?:laid|layed|dropped|drop|puso|legte|clutch of|clutch:)\s+{N}\b")));
    if said.eggs.is_none() {
        said.eggs = number(eggs.as_ref(), 1).or_else(|| number(verb.as_ref(), 1));
    }
    let slugs = find(pattern!(format!(
        r"(?:^|\s){N}\s+(?:slugs?|duds?|infertiles?|wachseier|wachsei|unbefruchtete?|boob slugs?|infertile eggs?)\b"
    )));
    said.slugs = said.slugs.or_else(|| number(slugs.as_ref(), 1));
    let doubtful =
        find(pattern!(format!(r"(?:^|\s){N}\s+(?:boob|bad|doubtful|questionable|iffy|dodgy)\s*(?:eggs?|ones?)?\b")));
    said.doubtful = number(doubtful.as_ref(), 1);
    if p.slugged_out.is_match(text) {
        let all = find(pattern!(format!(r"\b(?:all\s+)?{N}\b(?:\s+slugs?)?")));
        said.slugs = said.slugs.or_else(|| number(all.as_ref(), 1));
        said.eggs = Some(0);
    }
    if p.litter.is_match(text) {
        let live = find(pattern!(format!(
            r"(?:^|\s|of\s){N}\s+(?:live|alive|healthy|lebende?|viv[ao]s?|babies|young|baby)\b"
        )));
        said.live = number(live.as_ref(), 1);
        let dead = find(pattern!(format!(r"(?:^|\s){N}\s+(?:still\s?borns?|dead|tote?|muert[ao]s?)\b")));
        said.stillborn = number(dead.as_ref(), 1);
        said.eggs = None;
    }
    said.code = code(msg);
    said.warmth = warmth(text);
    let has = said.eggs.is_some() || said.slugs.is_some() || said.doubtful.is_some() || said.live.is_some();
    let mut parents: Vec<Called> = msg.animals().into_iter().map(|m| m.called.clone()).collect();
    if parents.is_empty() {
        parents.extend(msg.strange_names(&[&p.laid, &p.litter, &p.slugged_out]).into_iter().map(Called::Name));
    }
    // "she laid!" without a number is a laying of eggs not counted yet; without anybody it is chatter.
    if !has && parents.is_empty() && msg.pronoun().is_none() {
        return None;
    }
    if parents.is_empty() {
        parents.push(msg.pronoun().unwrap_or(Called::Last));
    }
    parents.truncate(2);
    Some(Record::Laid { parents, said, on: msg.when().or_else(|| super::breed::to_come(msg)) })
}

/// A clutch in words of its own: "Pebble gave me nine, they all look good", "Nettle had 19 babies".
pub(super) fn plain(msg: &Msg<'_>) -> Option<Record> {
    let mut said = LaidSaid::default();
    let hit = pattern!(
        r"\b(?:gave me|gave us|had|has|with|got|produced|of)\s+(-?\d{1,3}|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve)\b\s*([a-z]*)"
    )
    .and_then(|p| p.captures(msg.text()))?;
    let n = number(msg, &hit[1]);
    if matches!(&hit[2], "babies" | "young" | "live" | "pups" | "baby" | "little") {
        said.live = n;
    } else {
        said.eggs = n;
    }
    let mut parents: Vec<Called> = msg.animals().into_iter().map(|m| m.called.clone()).collect();
    if parents.is_empty() {
        parents.extend(msg.strange_names(&[&msg.phrases.laid, &msg.phrases.litter]).into_iter().map(Called::Name));
    }
    if parents.is_empty() {
        parents.push(msg.pronoun().unwrap_or(Called::Last));
    }
    parents.truncate(2);
    Some(Record::Laid { parents, said, on: msg.when().or_else(|| super::breed::to_come(msg)) })
}

fn number(msg: &Msg<'_>, word: &str) -> Option<i64> {
    if let Ok(n) = word.parse::<i64>() {
        return Some(n);
    }
    if matches!(word, "a" | "an" | "ein" | "eine" | "un") {
        return Some(1);
    }
    let spanish = SPANISH.iter().position(|w| *w == word).and_then(|n| i64::try_from(n + 2).ok());
    msg.reader.vocabulary.number(word).map(i64::from).or(spanish)
}

pub(super) fn code(msg: &Msg<'_>) -> Option<String> {
    let hit = pattern!(r"\b(?:clutch|gelege|puesta|nest)\s*(?:#|no\.?\s|number\s|code\s|id\s)?\s*(\d[\w-]{0,20}|[a-z]{1,3}-?\d[\w-]{0,20})\b(?:\s*(?:eggs?|eier|huevos|slugs?))?")?.captures(msg.text())?;
    let whole = hit.get(0)?.as_str();
    if ["egg", "eggs", "eier", "huevos", "slug", "slugs"].iter().any(|w| whole.ends_with(w)) {
        return None;
    }
    Some(msg.flat.typed(hit.get(1)?.range()).to_owned())
}

pub(super) fn warmth(text: &str) -> Option<i64> {
    let hit =
        pattern!(r"\b(\d{2}(?:[.,]\d)?)\s*(?:°|degrees?\s*|deg\s*|grad\s*)\s*(c|f)?\b|\b(\d{2}(?:[.,]\d)?)\s?(c|f)\b")?
            .captures(text)?;
    let value: f64 = hit.get(1).or_else(|| hit.get(3))?.as_str().replace(',', ".").parse().ok()?;
    let fahrenheit = hit.get(2).or_else(|| hit.get(4)).is_some_and(|u| u.as_str() == "f") || value > 60.0;
    let celsius = if fahrenheit { (value - 32.0) / 1.8 } else { value };
    #[expect(clippy::cast_possible_truncation)] // two digits
    Some((celsius * 10.0).round() as i64)
}

/// Reads that the first egg is cut; where young are told of, they are out.
pub(super) fn pipped(msg: &Msg<'_>) -> Option<Record> {
    let (p, text) = (msg.phrases, msg.text());
    if msg.question || !p.pipped.is_match(text) || p.out_of_egg.is_match(text) {
        return None;
    }
    let mut clutch = ClutchSaid { code: code(msg), parents: Vec::new() };
    if young(msg, &clutch).iter().any(|y| y.look.has_genes() || y.look.normal) {
        return None;
    }
    let mut parents: Vec<Called> = msg.animals().into_iter().map(|m| m.called.clone()).collect();
    if parents.is_empty() && clutch.code.is_none() {
        parents.extend(msg.strange_names(&[&p.pipped, &p.laid, &p.eggs]).into_iter().map(Called::Name));
    }
    parents.truncate(2);
    clutch.parents = parents;
    Some(Record::Pipped { clutch, on: msg.when().or_else(|| super::breed::to_come(msg)) })
}

/// Reads what hatched.
pub(super) fn hatched(msg: &Msg<'_>) -> Option<Record> {
    let p = msg.phrases;
    let text = msg.text();
    if msg.question || !p.hatched.is_match(text) {
        return None;
    }
    let mut clutch = ClutchSaid { code: code(msg), parents: Vec::new() };
    let young = young(msg, &clutch);
    let mut parents: Vec<Called> = msg.animals().into_iter().map(|m| m.called.clone()).collect();
    if parents.is_empty() && clutch.code.is_none() {
        let strange = msg.strange_names(&[&p.hatched, &p.laid]);
        let of_young = |name: &String| young.iter().any(|y| y.said.contains(name.as_str()));
        parents.extend(strange.into_iter().filter(|n| !of_young(n) && !msg.reader.names_gene(n)).map(Called::Name));
    }
    parents.truncate(2);
    let lost = pattern!(
        r"(?:^|\s)(\d{1,2})\s+(?:died|dead|lost|didnt make it|did not make it|went bad|bad eggs?|dead in egg)\b"
    )
    .and_then(|x| x.captures(text))
    .and_then(|c| c[1].parse().ok());
    // "she hatched in 2021" tells of one animal.
    if young.is_empty() && lost.is_none() {
        let whole =
            pattern!(r"\b(?:clutch|eggs|gelege|all|first|they|babies|huevos|eier)\b").is_some_and(|x| x.is_match(text));
        if !whole {
            return None;
        }
    }
    clutch.parents = parents;
    Some(Record::Hatched { clutch, young, lost, on: msg.when().or_else(|| super::breed::to_come(msg)) })
}

/// Counts with the words behind them: "2.3 pieds 1.1 normals", "4 condas, 3 normals, 2 supers".
fn young(msg: &Msg<'_>, clutch: &ClutchSaid) -> Vec<YoungSaid> {
    let mut flat = msg.flat.clone();
    for said in &msg.dates {
        flat.take(said.place.clone());
    }
    if let Some(code) = &clutch.code {
        let key = crate::reading::flat::Flat::new(code);
        if let Some(at) = flat.text().find(key.text()) {
            flat.take(at..at + key.text().len());
        }
    }
    for mention in msg.animals() {
        flat.take(mention.place.clone());
    }
    let Some(pattern) = pattern!(
        r"(?:^|[\s:,;(])(\d{1,2}[.,]\d{1,2}(?:[.,]\d{1,2})?|\d{1,2}|an?|one|two|three|four|five|six|seven|eight|nine|ten)\s+([a-z])"
    ) else {
        return Vec::new();
    };
    let text = flat.text().to_owned();
    let mut starts: Vec<(Range<usize>, usize)> = Vec::new();
    let mut from = 0;
    while let Some(hit) = pattern.captures_at(&text, from) {
        let (Some(count), Some(letter)) = (hit.get(1), hit.get(2)) else { break };
        starts.push((count.range(), letter.start()));
        from = letter.start();
    }
    let mut out: Vec<YoungSaid> = Vec::new();
    for (n, (count, words)) in starts.iter().enumerate() {
        let end = starts.get(n + 1).map_or(text.len(), |next| next.0.start);
        // "2.2 clowns from Nala": whose they are is no part of their look.
        let whose = msg.animals().into_iter().map(|m| m.place.start).filter(|at| *at > *words).min();
        let end = whose.map_or(end, |at| at.min(end));
        let said = flat.typed(*words..end).trim().trim_end_matches([',', ';', '&', '.', '!', ')']).trim();
        let said = said
            .strip_suffix(" and")
            .or_else(|| said.strip_suffix(" und"))
            .or_else(|| said.strip_suffix(" y"))
            .unwrap_or(said)
            .trim();
        let said = ["the", "from", "out of", "of", "with", "von", "de"]
            .into_iter()
            .fold(said, |said, word| said.strip_suffix(word).filter(|s| s.ends_with(' ')).map_or(said, str::trim_end))
            .to_owned();
        let look = msg.reader.describe(msg.catalogue, &said, msg.known.species);
        let lost = pattern!(r"^(?:died|dead|lost|didn|did not|went bad|slugs?|eggs?|weeks?|days?|bad)")
            .is_some_and(|x| x.is_match(&text[*words..]));
        let known = look.has_genes() || look.normal || is_babies(&said);
        let strange = !known && is_strange(msg, &said);
        if lost || !(known || strange) {
            continue;
        }
        let word = &text[count.clone()];
        let counts = match word.split(['.', ',']).map(str::parse::<u16>).collect::<Result<Vec<_>, _>>().as_deref() {
            Ok([m, f]) => (*m, *f, 0),
            Ok([m, f, u]) => (*m, *f, *u),
            Ok([all]) => of_sex(&look, *all),
            _ => of_sex(&look, number(msg, word).and_then(|n| u16::try_from(n).ok()).unwrap_or(0)),
        };
        out.push(YoungSaid { counts, look, said, strange });
    }
    out
}

/// Whether a counted word is neither of the language nor of the talk about clutches: then it was meant as a look.
fn is_strange(msg: &Msg<'_>, said: &str) -> bool {
    let first = said.split_whitespace().next().unwrap_or_default().to_lowercase();
    let one = first.trim_end_matches('s');
    first.chars().count() > 2
        && first.chars().all(char::is_alphabetic)
        && ![first.as_str(), one].iter().any(|w| {
            is_english(w)
                || msg.phrases.filler.contains(*w)
                || msg.reader.role(&crate::reading::words::fold(w)).is_some()
        })
}

fn of_sex(look: &Described, n: u16) -> (u16, u16, u16) {
    match look.animal.sex {
        crate::reading::requests::SexSaid::Male => (n, 0, 0),
        crate::reading::requests::SexSaid::Female => (0, n, 0),
        crate::reading::requests::SexSaid::Unknown => (0, 0, n),
    }
}

fn is_babies(said: &str) -> bool {
    let said = said.to_lowercase();
    ["babies", "young", "hatchlings", "healthy", "males", "females", "boys", "girls", "little ones"]
        .iter()
        .any(|w| said.starts_with(w))
}

/// A parent as a list entry.
impl From<Called> for ParentSaid {
    fn from(called: Called) -> Self {
        Self::Called(called)
    }
}
