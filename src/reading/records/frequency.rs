//! How common a recessive is among animals of unknown parents. An example a line:
//!   "assume 1 in 20 normals carry clown"                       kept until another share is told
//!   "assume no normals carry clown"                            none again
//!   "assume 5% of normals are het clown, how sure is Nova"     for that one answer

use super::Record;
use super::amounts::pattern;
use super::message::Msg;
use crate::engine::odds::{Odds, none, odds, sure};

/// The largest number of a share that is taken.
const MOST: i64 = 1_000_000;

/// Reads a share of carriers.
pub(super) fn frequency(msg: &Msg<'_>) -> Option<Record> {
    let hit = pattern!(
        r"^\W*(?:(?:please|ok|okay|now|hey|hatchward)\b[\s,]*)*(?:assume|suppose|say|let'?s say|what if|take it|count)\b(?:\s+that)?\s+(.{1,60}?)\b(?:normals?|normal[ -]looking(?:\s+\w+)?|unknowns?|founders?|wild[ -]types?|animals of unknown parents|unrelated animals)\b.{0,40}?\b(?:carry|carries|carried|are het|is het|being het|are hets|het)\b(?:\s+for\b)?\s*"
    )?
    .captures(msg.text())?;
    let (whole, said) = (hit.get(0)?, hit.get(1)?);
    let share = share(msg, said.as_str())?;
    let rest = &msg.text()[whole.end()..];
    let tail = pattern!(r"[,:;?.]|\b(?:how|what|who|then)\b")?.find(rest).map(|m| whole.end() + m.start());
    let end = tail.unwrap_or(msg.text().len());
    let words = msg.flat.typed(whole.end()..end);
    let here = msg.reader.describe(msg.catalogue, words, msg.known.species);
    // A gene of another species than that of the place.
    let genes = if here.has_genes() { here } else { msg.reader.describe(msg.catalogue, words, None) };
    let then =
        tail.map(|at| msg.flat.typed(at..msg.text().len()).trim_start_matches([',', ':', ';', '.', '?', ' ']).trim());
    let then = then.filter(|t| t.chars().filter(|c| c.is_alphabetic()).count() > 3).map(str::to_owned);
    genes.has_genes().then_some(Record::Frequency { genes, share, then })
}

/// "1 in 20", "one of fifty", "5 %", "no".
fn share(msg: &Msg<'_>, said: &str) -> Option<Odds> {
    let number = |word: &str| {
        word.parse::<i64>().ok().or_else(|| msg.reader.vocabulary.number(word).map(i64::from)).filter(|n| *n <= MOST)
    };
    let part = pattern!(r"\b(\w+)\s*(?:in|of|out of|/)\s*(?:every\s+)?(\w+)\b")?
        .captures(said)
        .and_then(|hit| Some((number(&hit[1])?, number(&hit[2])?)));
    let share = if let Some((n, of)) = part {
        (of > 0).then(|| odds(n, of))?
    } else if let Some(hit) =
        pattern!(r"\b(\d{1,3})(?:[.,](\d{1,4}))?\s*(?:%|percent|per cent|prozent)")?.captures(said)
    {
        let digits = hit.get(2).map_or("", |m| m.as_str());
        let over = 10_i64.pow(u32::try_from(digits.len()).ok()?);
        odds(format!("{}{digits}", &hit[1]).parse().ok()?, 100 * over)
    } else if pattern!(r"^\s*(?:no|none of(?:\s+the)?|zero)\s*$")?.is_match(said) {
        none()
    } else {
        return None;
    };
    (share >= none() && share < sure()).then_some(share)
}
