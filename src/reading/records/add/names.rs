//! The name of a new animal: said as such, or a run of words that are no part of a description.

use super::NewAnimal;
use crate::reading::flat::Flat;
use crate::reading::records::amounts::pattern;
use crate::reading::records::described::Spare;
use crate::reading::records::message::Msg;
use crate::species::SpeciesId;

/// Where a name said as such ends.
const NAME: &str = r#""?([^\n,;:!?"()]{1,2000})"?"#;

pub(super) fn said(flat: &mut Flat, out: &mut NewAnimal) {
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

/// A name that was not said to be one: a run of words that are no part of a description.
pub(super) fn left(msg: &Msg<'_>, flat: &mut Flat, species: Option<SpeciesId>) -> Option<String> {
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

pub(super) fn spare_words(msg: &Msg<'_>, spare: &[Spare]) -> Vec<String> {
    spare
        .iter()
        .filter(|s| !s.english && !msg.phrases.filler.contains(s.word.to_lowercase().as_str()))
        .map(|s| s.word.clone())
        .collect()
}
