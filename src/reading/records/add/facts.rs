//! Facts of a new animal that have a form of their own: notes, dates, weights, prices, origin, what it is doing.

use super::NewAnimal;
use crate::reading::dates;
use crate::reading::flat::Flat;
use crate::reading::records::amounts::{self, pattern};
use crate::reading::records::kinds::{Sexed, Status};
use crate::reading::records::message::Msg;

pub(super) fn note(flat: &mut Flat, out: &mut NewAnimal) {
    if let Some(found) = pattern!(r"(?s)\b(?:notes?|notiz|nota)\s*:\s*(.+)$").and_then(|p| flat.pull(p)) {
        out.notes = found.into_iter().nth(1).flatten();
    }
}

/// "look not known yet", "too early to tell".
pub(in crate::reading::records) fn untold(flat: &mut Flat) -> bool {
    pattern!(
        r"\b(?:(?:its|his|her|the|their)\s+)?(?:looks?|morphs?|genes?|colou?rs?|pattern)\s+(?:(?:is|are|still)\s+)*(?:not|un|isn'?t|aren'?t|yet to be)\s*(?:told|known|clear|sure|visible|sorted|seen)(?:\s+yet)?|\btoo\s+(?:early|young|soon)\s+to\s+(?:tell|say|call|know|see)(?:\s+(?:the\s+)?(?:looks?|morphs?))?|\b(?:looks?|morphs?)\s+(?:tbd|unknown)\b|\b(?:don'?t|do not|can'?t|cannot)\s+(?:know|tell|see)\s+(?:(?:the|its|their|his|her)\s+)?(?:looks?|morphs?)\s+yet|\bnot\s+(?:told|sorted)\s+yet\b"
    )
    .and_then(|p| flat.pull(p))
    .is_some()
}

pub(super) fn facts(flat: &mut Flat, out: &mut NewAnimal) {
    out.untold = untold(flat);
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

pub(super) fn dated(msg: &Msg<'_>, flat: &mut Flat, out: &mut NewAnimal) {
    // "bought from the barn for 450 eur in 2022": a bare year there is no date of its own.
    let bought = pattern!(
        r"\b(?:bought|got|acquired|purchased|gekauft|comprad[ao])\b[^,;\n]*?\b((?:in|since|seit|im|en)\s+((?:19|20)\d\d))\b"
    );
    let year =
        bought.and_then(|p| flat.find(p)).and_then(|hit| Some((hit.get(1)?.range(), hit.get(2)?.as_str().to_owned())));
    if let Some((place, year)) = year {
        append(&mut out.notes, &format!("acquired {year}"));
        flat.take(place);
    }
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
        } else if let Some(from) = pattern!(
            r"\b(?:bought|got|acquired|purchased|gekauft|comprad[ao])\b[^,;\n]*?\b((?:in|on|am|en|since|seit|im)\s+)$"
        )
        .and_then(|p| p.captures(before)?.get(1).map(|m| m.start()))
        {
            // "bought from the barn for 450 eur in 2022".
            let typed = flat.typed(said.place.clone()).to_owned();
            append(&mut out.notes, &format!("acquired {}", said.meanings.first().map_or(typed, |w| w.words())));
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

pub(super) fn measures(flat: &mut Flat, out: &mut NewAnimal) {
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

pub(super) fn origin(flat: &mut Flat, out: &mut NewAnimal) {
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
    let found = from.and_then(|p| flat.find(p)).and_then(|hit| Some((hit.get(0)?.range(), hit.get(1)?.range())));
    if let Some((whole, words)) = found {
        // What was taken out of it before (a price, a date) ends it.
        let left = &flat.text()[words.clone()];
        let end = words.start + left.find("   ").unwrap_or(left.len());
        let said = flat.typed(words.start..end).trim().trim_end_matches(['.', '!']).to_owned();
        flat.take(whole);
        if !said.is_empty() {
            out.origin = Some(match out.origin.take() {
                Some(kind) => format!("{kind}, {said}"),
                None => said,
            });
        }
    }
}

pub(super) fn labels_off(flat: &mut Flat) {
    if let Some(label) = pattern!(
        r"(?m)^\W*(?:sex|genes?|morph|year|species|weight|sexo|genetik|art)\s*[:=]|\b(?:genes?|morph|species)\s*[:=]"
    ) {
        while flat.pull(label).is_some() {}
    }
}
