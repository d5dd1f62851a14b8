//! New animals: "add a 2022 female pastel het clown, 1400g", a pasted list, "keep the 0.1 clown from the Juno clutch as Pip".
//!
//! A line is one animal (or a count of like ones). What has a form of its own is taken out first: note, name, parents,
//! dates, weight, price, origin. What is left is the description, and gene words are the business of `described`.

use std::ops::Range;

use super::Record;
use super::amounts::{self, pattern};
use super::described::{Described, Spare};
use super::kinds::{Sexed, Status};
use super::message::{Called, Mention, Msg};
use crate::reading::dates::{self, Said};
use crate::reading::flat::Flat;
use crate::reading::requests::SexSaid;
use crate::species::SpeciesId;

/// The most animals of one message.
pub const MOST_LINES: usize = 200;

/// A parent as said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ParentSaid {
    /// An animal of the collection, or a name nobody has.
    Called(Called),
    /// Someone described: "a clown", "het pied girl of a friend".
    Words(String),
}

/// A new animal as said.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct NewAnimal {
    /// The line it stands in, from 1.
    pub line: usize,
    /// The line as typed.
    pub said: String,
    /// How many like it: males, females, unsexed.
    pub counts: (u16, u16, u16),
    /// Its name.
    pub name: Option<String>,
    /// Genes, sex, species.
    pub described: Described,
    /// When it hatched.
    pub hatched: Option<Said>,
    /// Its weight in grams.
    pub grams: Option<i64>,
    /// The day of the weight; none is the day of the message.
    pub weighed: Option<Said>,
    /// Words to group by.
    pub tags: Vec<String>,
    /// Price paid in hundredths, and the currency where named.
    pub price: Option<(i64, Option<&'static str>)>,
    /// Two parents in the order of the text.
    pub parents: Option<(ParentSaid, ParentSaid)>,
    /// The father, said to be so.
    pub sire: Option<ParentSaid>,
    /// The mother, said to be so.
    pub dam: Option<ParentSaid>,
    /// The clutch it is from: a code, or the name of a parent.
    pub clutch: Option<String>,
    /// Where it comes from.
    pub origin: Option<String>,
    /// How sure the sex is.
    pub sexed: Sexed,
    /// What it is doing.
    pub status: Option<Status>,
    /// Anything else.
    pub notes: Option<String>,
    /// Words that were not understood.
    pub unread: Vec<String>,
}

impl NewAnimal {
    /// Whether anything of an animal was said at all.
    #[must_use]
    pub fn says_something(&self) -> bool {
        self.described.has_genes()
            || self.described.normal
            || self.described.animal.sex != SexSaid::Unknown
            || self.described.counts.is_some()
            || self.name.is_some() && (self.hatched.is_some() || self.grams.is_some() || self.parents.is_some())
            || self.name.is_some() && self.clutch.is_some()
    }
}

/// Reads new animals; `None` where the message adds nobody.
pub(super) fn add(msg: &Msg<'_>) -> Option<Record> {
    let lead = msg.flat.find(&msg.phrases.add)?.get(0)?.range();
    if msg.question && !msg.text()[lead.clone()].contains("add") || msg.phrases.list.is_match(msg.text()) {
        return None;
    }
    let mut flat = msg.flat.clone();
    let typed = flat.text()[lead.clone()].to_owned();
    // "in my collection" stands behind the animal, "new girl" names its sex: only words that carry nothing are taken.
    let mut head = Head { sex: sex_in(&typed), species: msg.known.species };
    flat.take(lead);
    for part in ["to my collection", "in my collection", "in my list", "to my list", "to my animals"] {
        if let Some(at) = flat.text().find(part) {
            flat.take(at..at + part.len());
        }
    }
    let animals = lines(msg, &flat, &mut head);
    let animals: Vec<NewAnimal> = animals.into_iter().filter(NewAnimal::says_something).collect();
    (!animals.is_empty()).then_some(Record::Add(animals))
}

/// "keep the 0.1 clown from the Juno clutch as Pip": a young animal of a known clutch.
pub(super) fn kept_back(msg: &Msg<'_>) -> Option<Record> {
    let said = pattern!(
        r"^\W*(?:please\s+)?(?:i(?:'m|m| am)?\s+)?(?:keep|keeping|hold back|holding back)\b.*\b(?:from|out of)\b"
    )?;
    (!msg.question && said.is_match(msg.text())).then(|| add(msg)).flatten()
}

/// An animal that is to be kept, in words of its own: "one more for my list: …", "newest member of the rack is Zip".
pub(super) fn plain(msg: &Msg<'_>) -> Option<Record> {
    if msg.question {
        return None;
    }
    let mut flat = msg.flat.clone();
    let chatter = pattern!(
        r"\b(?:put (?:this one|her|him|it)|store (?:her|him|it)|keep a record of (?:it|her|him)|keep (?:her|him|it)|log (?:a|my)?\s?new\s\w+|guarda|one more|newest member|this one|record of it|write (?:her|him|it) down|(?:for|to|in|of|into|on) (?:me|my (?:list|book|collection|records?|rack|animals)|the (?:rack|list|collection|family)))\b"
    );
    while chatter.and_then(|c| flat.pull(c)).is_some() {}
    let mut head = Head { sex: SexSaid::Unknown, species: msg.known.species };
    let animals: Vec<NewAnimal> = lines(msg, &flat, &mut head).into_iter().filter(NewAnimal::says_something).collect();
    (!animals.is_empty()).then_some(Record::Add(animals))
}

/// A list without a word before it: several lines that each describe an animal.
pub(super) fn pasted(msg: &Msg<'_>) -> Option<Record> {
    if msg.question || msg.text().lines().filter(|l| !l.trim().is_empty()).count() < 3 {
        return None;
    }
    let mut head = Head { sex: SexSaid::Unknown, species: msg.known.species };
    let mut animals = lines(msg, &msg.flat, &mut head);
    animals.retain(NewAnimal::says_something);
    let sexed = |a: &NewAnimal| {
        a.says_something()
            && (a.described.animal.sex != SexSaid::Unknown || a.described.counts.is_some() || a.hatched.is_some())
    };
    (animals.len() >= 3 && animals.iter().filter(|a| sexed(a)).count() * 3 >= animals.len() * 2)
        .then_some(Record::Add(animals))
}

/// What the lines before this one said of those that follow.
#[derive(Debug, Clone, Copy)]
struct Head {
    sex: SexSaid,
    species: Option<SpeciesId>,
}

fn sex_in(text: &str) -> SexSaid {
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

fn lines(msg: &Msg<'_>, flat: &Flat, head: &mut Head) -> Vec<NewAnimal> {
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
    note(&mut flat, &mut out);
    name_said(&mut flat, &mut out);
    clutch_and_parents(msg, &mut flat, &mut out);
    facts(&mut flat, &mut out);
    dated(msg, &mut flat, &mut out);
    measures(&mut flat, &mut out);
    origin(&mut flat, &mut out);
    labels_off(&mut flat);
    if out.name.is_none() {
        out.name = name_left(msg, &mut flat, species);
    }
    let rest = flat.left();
    out.described = msg.reader.describe(msg.catalogue, &rest, species);
    if out.described.animal.sex == SexSaid::Unknown && out.described.counts.is_none() {
        out.described.animal.sex = head.sex;
    }
    out.grams = out.grams.or(out.described.animal.weight_g.map(i64::from));
    out.counts = counts(&out.described);
    let known: Vec<String> = out.described.unread.clone();
    out.unread = spare_words(msg, &out.described.spare).into_iter().chain(known).collect();
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

fn note(flat: &mut Flat, out: &mut NewAnimal) {
    if let Some(found) = pattern!(r"(?s)\b(?:notes?|notiz|nota)\s*:\s*(.+)$").and_then(|p| flat.pull(p)) {
        out.notes = found.into_iter().nth(1).flatten();
    }
}

/// Where a name said as such ends.
const NAME: &str = r#""?([^\n,;:!?"()]{1,2000})"?"#;

fn name_said(flat: &mut Flat, out: &mut NewAnimal) {
    let Some(said) = pattern!(format!(
        r"\b(?:named|called|name is|her name is|his name is|names?|call (?:her|him|it)|se llama|namens|sie heisst|er heisst|heisst)\b\s*[:=]?\s*{NAME}"
    )) else {
        return;
    };
    let Some(hit) = flat.find(said) else { return };
    let (Some(whole), Some(group)) = (hit.get(0).map(|m| m.range()), hit.get(1).map(|m| m.range())) else { return };
    // A name goes on until a number or a word that begins something else.
    let text = &flat.text()[group.clone()];
    let stop =
        pattern!(r"\s(?:\d|from\b|hatched\b|born\b|she\b|he\b|who\b|and\b|with\b|male\b|female\b|out\b|by\b|'\d)");
    let end = stop.and_then(|s| s.find(text)).map_or(text.len(), |m| m.start());
    let end = group.start + text[..end].trim_end_matches(['.', ' ']).len();
    let name = flat.typed(group.start..end).trim().to_owned();
    if !name.is_empty() {
        out.name = Some(name);
        flat.take(whole.start..end);
    }
}

fn clutch_and_parents(msg: &Msg<'_>, flat: &mut Flat, out: &mut NewAnimal) {
    let parent = |flat: &Flat, place: Range<usize>| parent_said(msg, flat, place);
    // "from the Juno clutch", "from clutch 23-04", "from a clown x het pied clutch".
    let clutch = pattern!(
        r"\b(?:from|out of|of|aus|de)\s+(?:the\s+|dem\s+|der\s+|la\s+)?(?:(?:clutch|gelege|puesta)\s+(?:no\.?\s*|#)?([\w-]{1,40})|([^,;\n]{1,80}?)(?:'s|')?\s+(?:clutch|gelege|puesta|litter|eggs))\b"
    );
    if let Some(hit) = clutch.and_then(|p| flat.find(p)) {
        let whole = hit.get(0).map_or(0..0, |m| m.range());
        let inner = hit.get(1).or_else(|| hit.get(2)).map_or(0..0, |m| m.range());
        if let Some((a, b)) = crossed(flat, inner.clone()) {
            out.parents = Some((parent(flat, a), parent(flat, b)));
        } else {
            out.clutch = Some(flat.typed(inner).trim().trim_end_matches("'s").trim_end_matches('\'').to_owned());
        }
        flat.take(whole);
    }
    let both = pattern!(
        r"\b(?:from|out of|parents?(?:\s+are)?|pairing|aus|von|eltern|padres)\s*:?\s+([^,;\n]{1,80}?\s+(?:x|×|\*)\s+[^,;\n]{1,80}?)(?:[,;\n]|$|\s+(?:pairing|hatched|born|geschlupft))"
    );
    if let Some(hit) = both.and_then(|p| flat.find(p)) {
        let whole =
            hit.get(0).map_or(0..0, |m| m.start()..m.start() + m.as_str().trim_end_matches([',', ';', '\n']).len());
        let inner = hit.get(1).map_or(0..0, |m| m.range());
        if let Some((a, b)) = crossed(flat, inner.clone()) {
            out.parents = Some((parent(flat, a), parent(flat, b)));
            flat.take(whole.start..inner.end);
        }
    }
    let out_by = pattern!(r"\bout of\s+([^,;\n]{1,60}?)\s+by\s+([^,;\n]{1,60})");
    if let Some(hit) = out_by.and_then(|p| flat.find(p)) {
        let places: Vec<Range<usize>> = hit.iter().flatten().map(|m| m.range()).collect();
        out.dam = Some(parent(flat, places[1].clone()));
        out.sire = Some(parent(flat, places[2].clone()));
        flat.take(places[0].clone());
    }
    let roles = [
        (
            pattern!(
                r"\b(?:(?:his|her|its|the)\s+)?(?:sire|dad|father|vater|padre|sired by)\b\s*(?:is|was|ist|es|:|=)?\s*([^,;\n]{1,60})"
            ),
            true,
        ),
        (
            pattern!(
                r"\b(?:(?:his|her|its|the)\s+)?(?:dam|mom|mum|mother|mutter|madre)\b\s*(?:is|was|ist|es|:|=)?\s*([^,;\n]{1,60})"
            ),
            false,
        ),
    ];
    for (role, is_sire) in roles {
        let Some(hit) = role.and_then(|p| flat.find(p)) else { continue };
        let (whole, group) = (hit.get(0).map_or(0..0, |m| m.range()), hit.get(1).map_or(0..0, |m| m.range()));
        // "sire Duke dam Juno", "mom Juno and dad Duke".
        let text = &flat.text()[group.clone()];
        let stop = pattern!(
            r"\s(?:and\s+(?:his|her|the)?\s*)?(?:dam|mom|mum|mother|sire|dad|father)\b|\s(?:hatched|born)\b|\s+\d{3,5}\s*g?\b"
        );
        let end = group.start + stop.and_then(|s| s.find(text)).map_or(text.len(), |m| m.start());
        let said = Some(parent(flat, group.start..end));
        if is_sire {
            out.sire = said;
        } else {
            out.dam = said;
        }
        flat.take(whole.start..end);
    }
    let child = pattern!(
        r"\b(?:son|daughter|offspring|baby|young|child|tochter|sohn|hija|hijo)\s+(?:of|von|de)\s+([^,;\n]{1,60})"
    );
    if let Some(hit) = child.and_then(|p| flat.find(p)) {
        let (whole, group) = (hit.get(0).map_or(0..0, |m| m.range()), hit.get(1).map_or(0..0, |m| m.range()));
        let here: Vec<Mention> = msg.mentions.clone();
        let names: Vec<ParentSaid> = named_in(flat, group.clone(), &here);
        match &names[..] {
            [only] => out.parents = Some((only.clone(), ParentSaid::Words(String::new()))),
            [a, b, ..] => out.parents = Some((a.clone(), b.clone())),
            [] => return,
        }
        if whole.start > 0 {
            // "daughter" says the sex.
            if flat.text()[whole.clone()].starts_with("daughter") || flat.text()[whole.clone()].starts_with("tochter") {
                out.described.animal.sex = SexSaid::Female;
            }
        }
        flat.take(whole);
    }
}

/// The two sides of a pairing.
fn crossed(flat: &Flat, place: Range<usize>) -> Option<(Range<usize>, Range<usize>)> {
    let text = flat.text().get(place.clone())?;
    let hit = pattern!(r"\s(?:x|×|\*)\s")?.find(text)?;
    Some((place.start..place.start + hit.start(), place.start + hit.end()..place.end))
}

/// The known animals named in a part of a text.
fn named_in(flat: &Flat, place: Range<usize>, mentions: &[Mention]) -> Vec<ParentSaid> {
    let text = flat.text().get(place).unwrap_or("");
    let mut found: Vec<(usize, ParentSaid)> = mentions
        .iter()
        .filter_map(|m| {
            let word = match &m.called {
                Called::Name(name) => Flat::new(name).text().to_owned(),
                Called::Number(n) => format!("#{n}"),
                _ => return None,
            };
            Some((text.find(&word)?, ParentSaid::Called(m.called.clone())))
        })
        .collect();
    found.sort_by_key(|f| f.0);
    found.dedup();
    found.into_iter().map(|f| f.1).collect()
}

/// A parent: a known name, a name nobody has, or a description.
pub(super) fn parent_said(msg: &Msg<'_>, flat: &Flat, place: Range<usize>) -> ParentSaid {
    if let [one, ..] = &named_in(flat, place.clone(), &msg.mentions)[..] {
        return one.clone();
    }
    let words = flat.typed(place).trim().trim_end_matches(['.', '!', ')']).to_owned();
    let described = msg.reader.describe(msg.catalogue, &words, msg.known.species);
    let bare = words.trim_start_matches("my ").trim_start_matches("the ").to_owned();
    if !described.has_genes() && !described.normal && bare.split_whitespace().count() <= 3 && !bare.is_empty() {
        return ParentSaid::Called(Called::Name(bare));
    }
    ParentSaid::Words(words)
}

fn facts(flat: &mut Flat, out: &mut NewAnimal) {
    let mut takes = |p: Option<&regex::Regex>| p.and_then(|p| flat.pull(p)).is_some();
    if takes(pattern!(r"\b(?:popped|probed)\b(?:\s+(?:\d\b|as\b))?")) {
        out.sexed = Sexed::Seen;
    } else if takes(pattern!(
        r"\b(?:probably|likely|maybe|possibly|i think|i guess|guessed|should be)\b\s*(?:an?\b)?\s*(?:(?:she|he)(?:'?s| is)?\s*(?:an?\b)?)?"
    )) && has_sex(flat.text())
        || pattern!(r"\b(?:male|female|girl|boy)\s*\?").is_some_and(|p| p.is_match(flat.text()))
    {
        out.sexed = Sexed::Guessed;
    }
    let mut takes = |p: Option<&regex::Regex>| p.and_then(|p| flat.pull(p)).is_some();
    // "proven het" is about genes, "proven breeder" about the animal.
    if takes(pattern!(r"\bproven\s+(?:breeder\b|producer\b)")) {
        out.sexed = Sexed::Proven;
    }
    if takes(pattern!(r"\b(?:for sale|zu verkaufen|en venta)\b")) {
        out.status = Some(Status::ForSale);
    } else if takes(pattern!(
        r"\b(?:growing(?:\s+(?:up|on))?|grow ?out|hatchlings?|neonates?|neo|baby|babies|sub\s?adults?|juvenile|juvi|schlupfling|cria)\b"
    )) {
        out.status = Some(Status::Growing);
    } else if takes(pattern!(r"\b(?:resting|rest year|retired)\b")) {
        out.status = Some(Status::Resting);
    }
    takes(pattern!(r"\b(?:adults?|breeders?|grown|erwachsen|adulta?)\b(?:\s+size\b)?"));
}

fn has_sex(text: &str) -> bool {
    pattern!(r"\b(?:fe)?male\b|\bgirl\b|\bboy\b").is_some_and(|p| p.is_match(text))
}

fn dated(msg: &Msg<'_>, flat: &mut Flat, out: &mut NewAnimal) {
    let found = dates::dates(flat, msg.known.today);
    for said in found {
        let before = flat.text().get(..said.place.start).unwrap_or("");
        let bought = pattern!(
            r"\b(?:bought|got|acquired|purchased|since|gekauft|comprad[ao])\s*(?:(?:her|him|it|in|on|at|am|en)\s*)*$"
        )
        .and_then(|p| p.find(before))
        .map(|m| m.start());
        if let Some(from) = bought {
            let typed = flat.typed(said.place.clone()).to_owned();
            let note = said.meanings.first().map_or(typed, |w| w.words());
            append(&mut out.notes, &format!("acquired {note}"));
            flat.take(from..said.place.end);
        } else if out.hatched.is_none() {
            let lead = pattern!(r"\b(?:hatch(?:ed|date)?|born|birth|hatch date|year|yob|dob|geboren|geschlupft|nacida?|schlupf|hatch year)\s*[:=]?\s*(?:on\s+|in\s+|am\s+|en\s+|de\s+)?$").and_then(|p| p.find(before)).map(|m| m.start());
            let place = lead.unwrap_or(said.place.start)..said.place.end;
            // "cb23" says the origin too.
            let typed = flat.text()[said.place.clone()].to_owned();
            if typed.starts_with("cb") {
                out.origin = Some("captive bred".to_owned());
            }
            out.hatched = Some(said);
            flat.take(place);
        }
    }
}

fn append(note: &mut Option<String>, more: &str) {
    match note {
        Some(old) => {
            old.push_str("; ");
            old.push_str(more);
        }
        None => *note = Some(more.to_owned()),
    }
}

fn measures(flat: &mut Flat, out: &mut NewAnimal) {
    if let Some(hit) = amounts::price_pattern().and_then(|p| flat.pull(p)) {
        let part = |k: usize| hit.get(k).cloned().flatten();
        let number = part(2).or_else(|| part(3)).or_else(|| part(5));
        let word = part(1).or_else(|| part(4)).map(|w| w.to_lowercase());
        out.price = number.and_then(|n| amounts::cents(&n)).map(|c| (c, word.and_then(|w| amounts::currency(&w))));
    }
    if let Some(hit) = amounts::weight_pattern().and_then(|p| flat.pull(p)) {
        let part = |k: usize| hit.get(k).cloned().flatten();
        if let (Some(number), Some(unit)) = (part(1), part(2)) {
            out.grams = amounts::grams(&number, &unit.to_lowercase(), part(3).as_deref());
        }
        if let Some(label) = pattern!(r"\b(?:weighs?|weight|gewicht|wiegt|pesa|peso)\b\s*[:=]?") {
            flat.pull(label);
        }
    } else if let Some(bare) = pattern!(r"(?:^|[\s,])(\d{2,5})\s*[.!]?\s*$").and_then(|p| flat.pull(p)) {
        // "0.1 '21 banana enchi 66% het pied 1650": the bare number at the end is grams.
        out.grams = bare.get(1).cloned().flatten().and_then(|n| n.parse().ok());
    }
}

fn origin(flat: &mut Flat, out: &mut NewAnimal) {
    let words = [
        (pattern!(r"\b(?:cbb?|captive[\s-]bred(?:\s+and\s+born)?|nz|dnz)\b"), "captive bred"),
        (pattern!(r"\b(?:wc|wild[\s-]caught)\b"), "wild caught"),
        (pattern!(r"\b(?:ltc|long[\s-]term captive)\b"), "long-term captive"),
        (pattern!(r"\b(?:cf|captive[\s-]farmed)\b"), "captive farmed"),
    ];
    for (word, origin) in words {
        if word.and_then(|w| flat.pull(w)).is_some() {
            out.origin = Some(origin.to_owned());
        }
    }
    let from = pattern!(
        r"\b(?:(?:bought|got|gotten|comes?|came|bred)\s+(?:her\s+|him\s+|it\s+)?)?(?:from|by|origin|breeder|zuchter|von)\s*[:=]?\s+([^,;\n]{2,120})"
    );
    if let Some(hit) = from.and_then(|p| flat.pull(p)) {
        let said = hit.get(1).cloned().flatten().unwrap_or_default();
        let said = said.trim().trim_end_matches(['.', '!']).to_owned();
        if !said.is_empty() {
            out.origin = Some(match out.origin.take() {
                Some(kind) => format!("{kind}, {said}"),
                None => said,
            });
        }
    }
}

fn labels_off(flat: &mut Flat) {
    if let Some(label) = pattern!(
        r"(?m)^\W*(?:sex|genes?|morph|year|species|weight|sexo|genetik|art)\s*[:=]|\b(?:genes?|morph|species)\s*[:=]"
    ) {
        while flat.pull(label).is_some() {}
    }
}

/// A name that was not said to be one: a run of words that are no part of a description.
fn name_left(msg: &Msg<'_>, flat: &mut Flat, species: Option<SpeciesId>) -> Option<String> {
    let rest = flat.left();
    let described = msg.reader.describe(msg.catalogue, &rest, species);
    let shouting = !rest.chars().any(char::is_lowercase);
    let first_word =
        rest.split_whitespace().next().unwrap_or("").trim_matches(|c: char| !c.is_alphanumeric()).to_owned();
    let mut runs: Vec<Vec<&Spare>> = Vec::new();
    for spare in &described.spare {
        let word = spare.word.to_lowercase();
        if msg.phrases.filler.contains(word.as_str()) || word.chars().count() < 2 || is_small_word(&word) {
            continue;
        }
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(|l| l.at + 1 == spare.at && l.capital == spare.capital) => {
                run.push(spare);
            }
            _ => runs.push(vec![spare]),
        }
    }
    let capital = runs.iter().find(|r| r.iter().all(|s| s.capital) && !shouting);
    let leading = runs.iter().find(|r| {
        r[0].word == first_word
            && (!r[0].english || shouting || rest.trim_start()[first_word.len()..].starts_with([',', ':']))
    });
    let strange = runs.iter().find(|r| r.iter().all(|s| !s.english) && !described.unread.contains(&r[0].word));
    let run = capital.or(leading).or(strange)?;
    let name = run.iter().map(|s| s.word.as_str()).collect::<Vec<_>>().join(" ");
    let key = Flat::new(&name);
    let at = flat.text().find(key.text())?;
    flat.take(at..at + key.text().len());
    Some(name)
}

/// Words of chat that are no names, whatever letter they begin with.
fn is_small_word(word: &str) -> bool {
    matches!(
        word,
        "put"
            | "add"
            | "save"
            | "register"
            | "this"
            | "these"
            | "here"
            | "new"
            | "number"
            | "animal"
            | "got"
            | "today"
            | "just"
            | "has"
            | "hers"
            | "collection"
            | "list"
            | "hognoses"
            | "pythons"
            | "keep"
            | "keeping"
            | "holding"
            | "hold"
            | "back"
            | "baby"
            | "thanks"
            | "thank"
            | "cool"
            | "pretty"
            | "beautiful"
            | "nice"
            | "lovely"
            | "who"
            | "which"
            | "when"
            | "where"
            | "year"
            | "old"
            | "born"
            | "hatched"
            | "breeder"
            | "proven"
    )
}

fn spare_words(msg: &Msg<'_>, spare: &[Spare]) -> Vec<String> {
    spare
        .iter()
        .filter(|s| !s.english && !msg.phrases.filler.contains(s.word.to_lowercase().as_str()))
        .map(|s| s.word.clone())
        .collect()
}
