//! Where a keeper is: their time zone, the half of the world they keep in.
//!
//!   "my time zone is Berlin"       → a place, whatever it is called
//!   "I'm in Sydney", "I keep in the UK" → a place, if there is one of that name
//!   "I keep in the southern half"  → a half
//!   "what is my time zone"         → asked

use super::Record;
use super::amounts::pattern;
use super::message::Msg;
use crate::reading::places::{self, Half, Spoken};

/// What is told or asked of where a keeper is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum HomeSaid {
    /// A place, as typed.
    Place(String),
    /// A half of the world.
    Half(Half),
    /// It is asked what is known.
    Asked,
}

const ZONE: &str = r"(?:time\s?zone|tz|zeitzone|zona\s+horaria)";
const LEAD: &str = r"^\W*(?:(?:please|ok|okay|hey|hi|oh|btw|by the way|and|bitte|also|now)\b[\s,]*)*";

/// Reads a message about where the keeper is.
pub(super) fn home(msg: &Msg<'_>) -> Option<Record> {
    let text = msg.text();
    if asks(text) {
        return Some(Record::Home(HomeSaid::Asked));
    }
    if msg.question {
        return None;
    }
    if let Some(half) = half(text) {
        return Some(Record::Home(HomeSaid::Half(half)));
    }
    let outright = pattern!(format!(
        r"{LEAD}(?:(?:set|change|put|make|stelle?|cambia|pon)\s+)?(?:my|the|meine|mi)?\s*{ZONE}(?:\s+(?:to|is|auf|ist|es|a|now)|\s*[=:])*\s+(\S.*)$"
    ))?;
    let in_it = pattern!(format!(
        r"{LEAD}(?:i\s?a?'?m|i am|we'?re|we are|i live|we live|i keep|we keep|i breed|we breed|my (?:animals|snakes|geckos) (?:are|live)|ich (?:bin|wohne|lebe)|wir (?:sind|wohnen)|vivo|estoy|soy)\s+(?:(?:now|here|living|based|located|over|animals|snakes|my animals|my snakes|geckos|jetzt)\s+)*(?:in|at|from|en|de|aus)\s+(\S.*)$"
    ))?;
    let typed = |hit: &regex::Captures<'_>| {
        let place = hit.get(1).map_or(0..0, |place| place.range());
        msg.flat.typed(place).trim().trim_end_matches(['.', '!', ',', ' ']).to_owned()
    };
    if let Some(place) = outright.captures(text).map(|hit| typed(&hit)) {
        return Some(Record::Home(HomeSaid::Place(place)));
    }
    // "I'm in love", "I keep in racks": only what is a place tells of one.
    let place = typed(&in_it.captures(text)?);
    matches!(places::spoken(&place), Spoken::Zone(_) | Spoken::Several(_))
        .then_some(Record::Home(HomeSaid::Place(place)))
}

/// "what is my time zone", "which half of the world am I in", "my time zone".
fn asks(text: &str) -> bool {
    pattern!(format!(
        r"^\W*(?:what|whats|what's|which|show|show me|tell me|was ist|welche|cual es)\b[^.!]*\b(?:my|meine|mi|i)\b[^.!]*\b{ZONE}\W*$|^\W*(?:what|which)\s+{ZONE}\b[^.!]*\bi\b|^\W*my\s+{ZONE}\W*$|^\W*(?:what|which)\s+(?:half|hemisphere)\b.*\bi\b|^\W*where\s+(?:do you think\s+i\s+am|am\s+i)\W*$"
    ))
    .is_some_and(|p| p.is_match(text))
}

fn half(text: &str) -> Option<Half> {
    let told = pattern!(format!(
        r"{LEAD}(?:i\b|i'm\b|im\b|we\b|my\b|set\b|ich\b|wir\b|vivo\b|estoy\b|hemisphere\b|(?:the\s+)?(?:south|north)(?:ern)?\s+(?:half|hemisphere))"
    ))?;
    let south = pattern!(
        r"\bsouth(?:ern)?\s+(?:half|hemisphere)\b|\bhemisphere\W+(?:is\s+)?(?:the\s+)?south|\bdown under\b|\bsudhalbkugel\b|\bhemisferio sur\b"
    )?;
    let north = pattern!(
        r"\bnorth(?:ern)?\s+(?:half|hemisphere)\b|\bhemisphere\W+(?:is\s+)?(?:the\s+)?north|\bnordhalbkugel\b|\bhemisferio norte\b"
    )?;
    // A question behind it is more than telling it.
    let short = text.split_whitespace().count() <= 12;
    match (told.is_match(text) && short, south.is_match(text), north.is_match(text)) {
        (true, true, false) => Some(Half::South),
        (true, false, true) => Some(Half::North),
        _ => None,
    }
}
