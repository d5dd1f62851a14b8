//! Changes to animals that are kept: names, genes, sex, parents, status; and letting one go.

use std::ops::Range;

use super::Record;
use super::add::facts::untold;
use super::add::{ParentSaid, parent_said};
use super::amounts::{self, pattern};
use super::described::Described;
use super::kinds::{Sexed, Status};
use super::look::{self, Filter};
use super::message::{Called, Msg};
use crate::reading::dates::Said;
use crate::reading::flat::Flat;
use crate::reading::requests::SexSaid;

/// A new name at the end of a message.
const TO: &str = r#""?([^\n"]{1,200}?)"?\s*[.!]*\s*$"#;

/// What is corrected about an animal.
#[derive(Debug, Clone, PartialEq)]
pub enum Correction {
    /// Its sex.
    Sex(SexSaid, Sexed),
    /// Genes that it has, beside those it is known to have; at a locus that is named the new word counts.
    Genes(Described),
    /// Genes that it has not.
    NotGenes(Described),
    /// It looks normal.
    Normal,
    /// Its look is not told yet.
    Untold,
    /// When it hatched.
    Hatched(Said),
    /// Where it comes from.
    Origin(String),
    /// Price paid in hundredths, and the currency where named.
    Price(i64, Option<&'static str>),
    /// Its father.
    Sire(ParentSaid),
    /// Its mother.
    Dam(ParentSaid),
    /// Both parents, as a pairing.
    Parents(ParentSaid, ParentSaid),
    /// The clutch it is from.
    Clutch(String),
    /// A note to add.
    Note(String),
    /// A tag to set.
    Tag(String),
    /// A tag to take off.
    Untag(String),
}

/// Animals that a change is about: named ones, or all that fit.
#[derive(Debug, Clone, PartialEq)]
#[expect(clippy::large_enum_variant)] // one a message; a box would only be in the way
pub enum Those {
    /// Named.
    Named(Vec<Called>),
    /// All that fit.
    All(Filter),
}

/// "rename #7 to Pepper", "call him Biscuit".
pub(super) fn rename(msg: &Msg<'_>) -> Option<Record> {
    if !msg.phrases.rename.is_match(msg.text()) || msg.phrases.add.is_match(msg.text()) {
        return None;
    }
    let to = [
        pattern!(format!(r"\b(?:rename|umbenennen|renombra)\b.*?\s(?:to|as|into|in|zu|a|→|->)\s+{TO}")),
        pattern!(format!(r"\b(?:call|name)\s+(?:her|him|it|this one|them)\s+{TO}")),
        pattern!(format!(
            r"\b(?:is now called|is called now|should be called|is called|is named|heisst jetzt|se llama ahora)\s+{TO}"
        )),
        pattern!(format!(r"\bthe name of .{{1,80}}? is(?: now)?\s+{TO}")),
        pattern!(format!(r"\bcall\s+(?:#\d+|\S+)\s+{TO}")),
    ];
    let group = to.into_iter().flatten().find_map(|p| p.captures(msg.text())?.get(1).map(|m| m.range()))?;
    let name = msg.flat.typed(group.clone()).trim().to_owned();
    let who = msg.mentions.iter().find(|m| m.place.start < group.start).map(|m| m.called.clone());
    let who = who.or_else(|| before_to(msg, group.start)).or_else(|| msg.pronoun());
    // "call me later" renames nobody.
    if who.is_none() && msg.text().trim_start().starts_with("call") {
        return None;
    }
    let who = who.unwrap_or(Called::Last);
    Some(Record::Rename { who, to: name })
}

/// "rename Kiwwi to Pepper": a name nobody has.
fn before_to(msg: &Msg<'_>, end: usize) -> Option<Called> {
    let hit =
        pattern!(r"\b(?:rename|umbenennen|renombra)\s+(.{1,80}?)\s+(?:to|as|into|zu|a)\s")?.captures(msg.text())?;
    let place = hit.get(1)?.range();
    let words = msg.flat.typed(place.clone()).trim().to_owned();
    let pronoun = matches!(words.to_lowercase().as_str(), "her" | "him" | "it" | "this one");
    (place.end <= end && !pronoun).then_some(Called::Name(words))
}

/// "remove Kiwi", "delete her", "remove all sold animals".
pub(super) fn remove(msg: &Msg<'_>) -> Option<Record> {
    let lead = msg.flat.find(&msg.phrases.remove)?.get(0)?.range();
    let named: Vec<Called> = msg.animals().into_iter().map(|m| m.called.clone()).collect();
    if !named.is_empty() {
        return Some(Record::Remove(Those::Named(named)));
    }
    let rest = &msg.text()[lead.end..];
    // A goal or a tag that is taken away is no animal.
    if pattern!(r"\b(?:goal|tag)\b").is_some_and(|p| p.is_match(rest)) {
        return None;
    }
    let all =
        pattern!(r"\b(?:all|every|alle|todos|todas|everyone|everybody|my)\b|\b(?:animals|girls|boys|females|males)\b")
            .is_some_and(|p| p.is_match(rest));
    if all {
        let filter = look::filter(msg, &[&msg.phrases.remove]);
        return Some(Record::Remove(Those::All(filter)));
    }
    // "delete that post please, Tom" is no animal: the name or the pronoun stands right behind the verb.
    let behind =
        pattern!(r"^\W*(?:(?:my|the|animal|snake|gecko|number)\s+)*").and_then(|p| p.find(rest)).map_or(0, |m| m.end());
    let next = &rest[behind..];
    let strange = msg.strange_names(&[&msg.phrases.remove]).into_iter().next();
    let strange = strange.filter(|name| next.starts_with(Flat::new(name).text())).map(Called::Name);
    let meant = msg
        .pronoun()
        .filter(|_| pattern!(r"^(?:her|him|it|this one|that one|ihn|sie)\b").is_some_and(|p| p.is_match(next)));
    let alone = next.is_empty() || lead.end == msg.text().len() || msg.text()[lead.clone()].ends_with("animal");
    let who = strange.or(meant).or_else(|| alone.then_some(Called::Last))?;
    Some(Record::Remove(Those::Named(vec![who])))
}

/// "sold Kiwi", "RIP Pip", "skip her this year".
pub(super) fn status(msg: &Msg<'_>) -> Option<Record> {
    if msg.question {
        return None;
    }
    let p = msg.phrases;
    let text = msg.text();
    let kinds = [
        (&p.active, Status::Active),
        (&p.for_sale, Status::ForSale),
        (&p.sold, Status::Sold),
        (&p.died, Status::Died),
        (&p.resting, Status::Resting),
        (&p.growing, Status::Growing),
    ];
    let (pattern, status) = kinds.into_iter().find(|(p, _)| p.is_match(text))?;
    let mut who: Vec<Called> = msg.animals().into_iter().map(|m| m.called.clone()).collect();
    let everybody = pattern!(r"\b(?:all|every|alle|todos|todas)\b").is_some_and(|p| p.is_match(text));
    if who.is_empty() && everybody {
        let filter = look::filter(msg, &[pattern]);
        return Some(Record::Status { who: Those::All(filter), status, on: msg.when() });
    }
    if who.is_empty() {
        // "lost my phone", "for sale: …": somebody must be named, or meant by a pronoun in a short message.
        let strange =
            if matches!(status, Status::Sold | Status::Died) { msg.strange_names(&[pattern]) } else { Vec::new() };
        let short = super::message::word_places(text).len() <= 7;
        let meant = msg.pronoun().filter(|_| short);
        let counted = pattern!(r"\bsold\s+\d").is_some_and(|p| p.is_match(text));
        who.extend(strange.into_iter().filter(|_| short).map(Called::Name));
        if who.is_empty() && !counted {
            who.push(meant?);
        }
    }
    Some(Record::Status { who: Those::Named(who), status, on: msg.when() })
}

/// "mark her proven het pied", "Nala is 100% het pied".
pub(super) fn prove(msg: &Msg<'_>) -> Option<Record> {
    if msg.question || !msg.phrases.prove.is_match(msg.text()) {
        return None;
    }
    let text = msg.text();
    // "proven" about genes, or "mark" with genes behind it; "proven breeder" is about the animal.
    let proven = pattern!(r"\b(?:proven|proved|proves|100\s?%)\b").is_some_and(|p| p.is_match(text));
    let denies = pattern!(r"\b(?:not|isn'?t|no)\s+(?:a\s+)?(?:proven|het)|\bunproven\b|\bproven\s+not\b")
        .is_some_and(|p| p.is_match(text));
    if !proven || denies {
        return None;
    }
    let mut flat = msg.flat.clone();
    for mention in msg.animals() {
        flat.take(mention.place.clone());
    }
    for said in &msg.dates {
        flat.take(said.place.clone());
    }
    for word in [
        pattern!(r"^\W*(?:please\s+)?(?:mark|note that|note)\b"),
        pattern!(r"\b(?:as\s+)?(?:proven|proved|proves)(?:\s+out)?\b(?:\s+(?:to be|as|a|for))?"),
        pattern!(r"\b(?:she|he|it|her|him|is|now|out|that|'s)\b"),
        pattern!(r"'s\b"),
    ] {
        while word.and_then(|w| flat.pull(w)).is_some() {}
    }
    let rest = flat.left();
    let genes = msg.reader.describe(msg.catalogue, &rest, msg.known.species);
    let who = msg.subject(&[&msg.phrases.prove]);
    let starts = text.trim_start().starts_with("mark");
    if !genes.has_genes() && !starts {
        return None;
    }
    if who == Called::Last && !starts {
        return None;
    }
    Some(Record::Prove { who, genes })
}

/// "note that Biscuit is shy", "note for #3: …", "tag Juno holdback".
pub(super) fn note(msg: &Msg<'_>) -> Option<Record> {
    let p = msg.phrases;
    if let Some(lead) = p.tag.find(msg.text()) {
        let who = msg.animals().first()?.called.clone();
        let end = msg.animals().first()?.place.end;
        let words = msg.flat.typed(end..msg.text().len()).trim().trim_start_matches(':').trim();
        let words =
            words.trim_start_matches("as ").trim_start_matches("with ").trim_matches(['"', '.', '#', ' ']).to_owned();
        if words.is_empty() {
            return None;
        }
        let untag = lead.as_str().contains("untag");
        let what = if untag { Correction::Untag(words) } else { Correction::Tag(words) };
        return Some(Record::Correct { who, what: vec![what], unread: Vec::new() });
    }
    p.note.find(msg.text())?;
    let first = msg.animals().first().map(|m| (m.called.clone(), m.place.clone()));
    let text = pattern!(r"\b(?:note|remember|notiz|nota)\s+(?:that\s+|for\s+|on\s+|zu\s+|para\s+)?(.+)$")?
        .captures(msg.text())?
        .get(1)?
        .range();
    let (who, words) = match first {
        Some((who, place)) => {
            let colon = msg.text()[place.end..].trim_start().starts_with(':');
            let words = if colon {
                msg.flat.typed(place.end..msg.text().len()).trim_start_matches([':', ' '])
            } else {
                msg.flat.typed(text)
            };
            (who, words.trim().to_owned())
        }
        None => (msg.pronoun()?, msg.flat.typed(text).trim().to_owned()),
    };
    (!words.is_empty()).then_some(Record::Correct { who, what: vec![Correction::Note(words)], unread: Vec::new() })
}

/// What a short message plainly says of the animal last spoken of: "sold her", "delete her", "call him Biscuit".
pub(super) fn of_last(msg: &Msg<'_>) -> Option<Record> {
    let short = super::message::word_places(msg.text()).len() <= 5;
    if msg.question || !short || msg.pronoun().is_none() {
        return None;
    }
    let of_one = |record: &Record| match record {
        Record::Remove(Those::Named(who)) | Record::Status { who: Those::Named(who), .. } => {
            matches!(who[..], [Called::Pronoun(_)])
        }
        _ => false,
    };
    remove(msg).or_else(|| status(msg)).filter(of_one)
}

/// "Biscuit is a female", "correct Juno: super pastel", "Juno's father is Duke", "id #14 is het clown from the Juno clutch".
pub(super) fn correct(msg: &Msg<'_>) -> Option<Record> {
    if msg.question {
        return None;
    }
    let verb = pattern!(r"^\W*(?:please\s+)?(?:correct|correction|fix|change|update|edit|set|id|make)\b")?;
    let led = verb.find(msg.text());
    let first = match (msg.animals().first(), &led) {
        (Some(first), _) => (first.called.clone(), first.place.clone()),
        (None, Some(lead)) => {
            let pronoun = msg.pronoun()?;
            (pronoun, lead.range())
        }
        (None, None) => {
            // "she is het pied", "his dad is Duke": about the animal last spoken of.
            let hit =
                pattern!(r"^\W*(?:actually\s+|oh\s+|sorry\s+)?(?:she|he|it|her|his|its)(?:'s)?\b")?.find(msg.text())?;
            (msg.pronoun()?, hit.range())
        }
    };
    let (who, place) = first;
    // "paid 350 eur for Nala".
    if led.is_none()
        && msg.animals().len() == 1
        && pattern!(r"\b(?:paid|cost me|bezahlt|gezahlt|pague)\b").is_some_and(|p| p.is_match(msg.text()))
        && let (what, unread) = corrections(msg, &mut msg.flat.clone())
        && let Some(price) = what.into_iter().find(|c| matches!(c, Correction::Price(..)))
    {
        return Some(Record::Correct { who, what: vec![price], unread });
    }
    // Something must be said of the animal: "is", "has", a possessive, a colon, or a verb that leads.
    let behind = msg.text().get(place.end..).unwrap_or("");
    let says = pattern!(r"^(?:'s?|s)?\s*(?:[:=]|is\b|was\b|has\b|isn'?t\b|are\b|looks?\b|turned out\b|turns out\b|hatched\b|born\b|came\b|comes\b|cost\b|from\b|carries\b|ist\b|es\b|(?:sire|dam|father|mother|dad|mom|mum|price|origin|sex|genes?|hatch ?date|birthday|parents?)\b)")
        .is_some_and(|p| p.is_match(behind));
    let pronoun = matches!(who, Called::Pronoun(_));
    if led.is_none() && !says && !pronoun {
        return None;
    }
    let mut flat = msg.flat.clone();
    if let Some(lead) = &led {
        flat.take(lead.range());
    }
    flat.take(place);
    for word in [
        pattern!(r"^\W*'s\b"),
        pattern!(r"^\W*(?:actually|really|now|to|is|was|are|has|ist|es)\b"),
        pattern!(r"^\W*(?:she|he|it)(?:'s)?\b(?:\s+is\b)?"),
    ] {
        while word.and_then(|w| flat.pull(w)).is_some() {}
    }
    let (what, unread) = corrections(msg, &mut flat);
    (!what.is_empty()).then_some(Record::Correct { who, what, unread })
}

/// The first hit of a pattern, and of its group.
fn group(flat: &Flat, pattern: Option<&'static regex::Regex>) -> Option<(Range<usize>, Range<usize>)> {
    let hit = flat.find(pattern?)?;
    Some((hit.get(0)?.range(), hit.get(1)?.range()))
}

/// The clutch and the parents that are said.
fn family(msg: &Msg<'_>, flat: &mut Flat, what: &mut Vec<Correction>) {
    if let Some((whole, inner)) =
        group(flat, pattern!(r"\bfrom\s+(?:the\s+)?([^,;\n]{1,80}?)(?:'s|')?\s+(?:clutch|gelege|puesta|litter)\b"))
    {
        let said = flat.typed(inner).trim().trim_end_matches("'s").to_owned();
        what.push(Correction::Clutch(said));
        flat.take(whole);
    }
    if let Some((whole, inner)) = group(
        flat,
        pattern!(r"\b(?:from|out of|parents?(?:\s+are)?)\s*:?\s+([^,;\n]{1,80}?\s(?:x|×|and)\s[^,;\n]{1,80})"),
    ) {
        let text = flat.text()[inner.clone()].to_owned();
        if let Some(cut) = pattern!(r"\s(?:x|×|and)\s").and_then(|p| p.find(&text)) {
            let a = parent_said(msg, flat, inner.start..inner.start + cut.start());
            let b = parent_said(msg, flat, inner.start + cut.end()..inner.end);
            what.push(Correction::Parents(a, b));
            flat.take(whole);
        }
    }
    for (p, sire) in [
        (pattern!(r"\b(?:sire|dad|father|vater|padre)\b\s*(?:is|was|to|:|=|ist|es)?\s*([^,;\n]{1,60})"), true),
        (pattern!(r"\b(?:dam|mom|mum|mother|mutter|madre)\b\s*(?:is|was|to|:|=|ist|es)?\s*([^,;\n]{1,60})"), false),
    ] {
        if let Some((whole, inner)) = group(flat, p) {
            let parent = parent_said(msg, flat, inner);
            what.push(if sire { Correction::Sire(parent) } else { Correction::Dam(parent) });
            flat.take(whole);
        }
    }
}

fn corrections(msg: &Msg<'_>, flat: &mut Flat) -> (Vec<Correction>, Vec<String>) {
    let mut what = Vec::new();
    family(msg, flat, &mut what);
    if let Some(said) = crate::reading::dates::dates(flat, msg.known.today).into_iter().next() {
        let before = flat.text().get(..said.place.start).unwrap_or("");
        let lead = pattern!(
            r"\b(?:hatched|born|hatch ?date|birthday|geboren|geschlupft|nacio|year|from)\b\W*(?:is|was|to|on|in)?\s*$"
        )
        .and_then(|p| p.find(before))
        .map(|m| m.start());
        let place = lead.unwrap_or(said.place.start)..said.place.end;
        what.push(Correction::Hatched(said));
        flat.take(place);
    }
    if let Some(hit) = amounts::price_pattern().and_then(|p| flat.pull(p)) {
        let part = |k: usize| hit.get(k).cloned().flatten();
        let number = part(2).or_else(|| part(3)).or_else(|| part(5));
        let word = part(1).or_else(|| part(4)).map(|w| w.to_lowercase());
        if let Some(cents) = number.and_then(|n| amounts::cents(&n)) {
            what.push(Correction::Price(cents, word.and_then(|w| amounts::currency(&w))));
        }
    }
    if let Some((whole, inner)) = group(
        flat,
        pattern!(
            r"\b(?:came from|comes from|bought from|from|origin(?:\s+is)?|breeder(?:\s+is)?)\s*:?\s+([^,;\n]{2,120})"
        ),
    ) {
        let said = flat.typed(inner).trim().trim_end_matches(['.', '!']).to_owned();
        if !said.is_empty() {
            what.push(Correction::Origin(said));
            flat.take(whole);
        }
    }
    let seen = pattern!(r"\b(?:popped|probed)\b").and_then(|p| flat.pull(p)).is_some();
    let guessed = pattern!(r"\b(?:probably|maybe|likely|i think)\b").and_then(|p| flat.pull(p)).is_some();
    let proven = pattern!(r"\bproven\s+(?:breeder|male|female|girl|boy)\b").is_some_and(|p| p.is_match(flat.text()));
    let denied = pattern!(r"\bnot\s+(?:an?\s+)?((?:het|visual|super|poss)?\s?[^,;\n]{2,60})")
        .and_then(|p| flat.find(p))
        .and_then(|h| Some((h.get(0)?.range(), h.get(1)?.range())));
    if let Some((whole, inner)) = denied {
        let not = msg.reader.describe(msg.catalogue, flat.typed(inner), msg.known.species);
        if not.has_genes() {
            what.push(Correction::NotGenes(not));
            flat.take(whole);
        }
    }
    if untold(flat) {
        what.push(Correction::Untold);
    }
    let described = msg.reader.describe(msg.catalogue, &flat.left(), msg.known.species);
    if described.normal && !described.has_genes() {
        what.push(Correction::Normal);
    }
    let sexed = if seen {
        Sexed::Seen
    } else if guessed {
        Sexed::Guessed
    } else if proven {
        Sexed::Proven
    } else {
        Sexed::Stated
    };
    if described.animal.sex != SexSaid::Unknown || described.counts.is_some_and(|c| c != (0, 0, 0)) {
        what.push(Correction::Sex(described.animal.sex, sexed));
    }
    let unread: Vec<String> = described.unread.clone();
    if described.has_genes() {
        what.push(Correction::Genes(described));
    }
    (what, unread)
}
