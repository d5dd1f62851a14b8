//! Questions about animals by their names: odds, what-ifs, all pairings that can make something.

use super::Record;
use super::amounts::pattern;
use super::kinds::FormSaid;
use super::look::{Filter, Listed};
use super::message::{Called, Mention, Msg};
use crate::reading::flat::Flat;
use crate::reading::vocabulary::Role;

/// "undo", "what changed this week", "forget me", "export as csv", "import …".
pub(super) fn house(msg: &Msg<'_>) -> Option<Record> {
    let p = msg.phrases;
    let text = msg.text();
    if p.undo.is_match(text) {
        return Some(Record::Undo);
    }
    if p.changed.is_match(text) {
        let days = if pattern!(r"\b(?:today|heute|hoy)\b").is_some_and(|x| x.is_match(text)) {
            1
        } else if pattern!(r"\b(?:yesterday|gestern|ayer)\b").is_some_and(|x| x.is_match(text)) {
            2
        } else if pattern!(r"\b(?:month|monat|mes)\b").is_some_and(|x| x.is_match(text)) {
            31
        } else if let Some(n) = pattern!(r"\b(\d{1,2})\s+(?:days|tage|dias)\b").and_then(|x| x.captures(text)) {
            n[1].parse().unwrap_or(7)
        } else {
            7
        };
        return Some(Record::Changes { days });
    }
    // Whole messages; "my goal is a clown pied" tells of one.
    if pattern!(r"^\W*(?:please\s+)?(?:(?:list|show|show me|what are|zeig|lista)\s+)?(?:all\s+)?(?:my\s+|meine\s+|mis\s+)?(goals|clutches|ziele|gelege|metas)\W*$")
        .is_some_and(|x| x.is_match(text))
    {
        let goals = pattern!(r"\b(?:goals|ziele|metas)\b").is_some_and(|x| x.is_match(text));
        let what = if goals { Listed::Goals } else { Listed::Clutches };
        return Some(Record::List(what, Filter::default()));
    }
    if p.forget.is_match(text) && msg.mentions.is_empty() {
        return Some(Record::Forget);
    }
    if p.import.is_match(text) {
        let end = p.import.find(text).map_or(0, |m| m.end());
        return Some(Record::Import { text: msg.flat.typed(end..text.len()).trim().to_owned() });
    }
    let whose = pattern!(
        r"^\W*(?:please\s+)?(?:export|exporta|exportiere)\W*$|\b(?:my|me|all|everything|csv|json|zip|sheet|spreadsheet|excel|tables?|data|collection|animals|records|them|list|clutches|everyone|girls|boys|females|males|hets|meine|alle|mis|daten|datos|sammlung)\b"
    );
    if p.export.is_match(text) && whose.is_some_and(|x| x.is_match(text)) {
        let says = |word: Option<&regex::Regex>| word.is_some_and(|x| x.is_match(text));
        let form = if says(pattern!(r"\bjson\b")) {
            FormSaid::Json
        } else if says(pattern!(r"\b(?:spread\s?sheet|sheet|excel|one table|single table|tabelle|hoja)\b")) {
            FormSaid::Sheet
        } else {
            FormSaid::Tables
        };
        return Some(Record::Export { form, filter: super::look::filter(msg, &[&p.export]) });
    }
    None
}

/// "what if Maple was also het clown", with a question behind it where there is one.
pub(super) fn what_if(msg: &Msg<'_>) -> Option<Record> {
    let lead = msg.phrases.what_if.find(msg.text())?;
    let first = msg.animals().first().map(|m| (m.called.clone(), m.place.clone()));
    let (who, from) = match first {
        Some((who, place)) => (who, place.end),
        None => match (msg.pronoun(), unknown(msg, &[&msg.phrases.what_if]).into_iter().next()) {
            (Some(pronoun), _) => (pronoun, lead.end()),
            (None, Some(stranger)) => (stranger.called, stranger.place.end),
            (None, None) => return None,
        },
    };
    let rest = msg.text().get(from..)?;
    let says = pattern!(r"^(?:'s)?\s*(?:(?:was|were|is|had|has|also|to be|turns out|carried|carries|proves|proved|he|she|it)\s+)*(?:also\s+|a\s+|an\s+|to be\s+)*")?.find(rest)?;
    let genes_from = from + says.end();
    // The question begins behind a comma, "and", "then", "when".
    let tail = pattern!(r",\s*(?:and\s+|then\s+)?|\band\s+(?:i|we)\b|\bthen\b|\bwhen\b|\bif\s+(?:i|we)\b|\?")?
        .find(msg.text().get(genes_from..)?);
    let end = tail.map_or(msg.text().len(), |m| genes_from + m.start());
    let genes = msg.reader.describe(msg.catalogue, msg.flat.typed(genes_from..end), msg.known.species);
    let then = tail.map(|m| {
        msg.flat.typed(genes_from + m.start()..msg.text().len()).trim_start_matches([',', ' ']).trim().to_owned()
    });
    let then = then.filter(|t| t.chars().filter(|c| c.is_alphabetic()).count() > 3);
    Some(Record::WhatIf { who, genes, then })
}

/// "all pairings that can make an albino clown".
pub(super) fn all_pairings(msg: &Msg<'_>) -> Option<Record> {
    let lead = msg.phrases.all_pairings.find(msg.text())?;
    let rest = msg.text().get(lead.end()..)?;
    let make = pattern!(r"\b(?:make|makes|give|gives|produce|produces|throw|throws|hit|get|for|into|yield|create|machen|geben|dar)\b(?:\s+(?:me|us|an?|some|the|at least one|one|any))*\s*")?.find(rest);
    let from = lead.end() + make.map_or(0, |m| m.end());
    let said = msg.flat.typed(from..msg.text().len()).trim().trim_end_matches(['?', '.', '!']).to_owned();
    let (genes, target) = msg.reader.wish(msg.catalogue, &said, msg.known.species);
    genes.has_genes().then_some(Record::AllPairings { genes, target, said })
}

/// A pairing or question of odds in which an animal is called by name.
pub(super) fn odds(msg: &Msg<'_>) -> Option<Record> {
    let mut named: Vec<_> = msg.animals().into_iter().cloned().collect();
    if named.is_empty() {
        return None;
    }
    let text = msg.text();
    // "Duke on Biscuit", and nobody here is called Biscuit: that is said, not read as a pairing of one.
    if named.len() == 1 {
        let stands = |m: &Mention| {
            let (before, behind) = (&text[..m.place.start], &text[m.place.end..]);
            pattern!(r"(?:\s|^)(?:x|\u{d7}|\*|on|onto|over|to|with|into|mit|con)\s+$")
                .is_some_and(|p| p.is_match(before))
                || pattern!(r"^\s+(?:x|\u{d7}|\*)\s").is_some_and(|p| p.is_match(behind))
        };
        named.extend(unknown(msg, &[]).into_iter().find(stands));
        named.sort_by_key(|m| m.place.start);
    }
    let crossed = pattern!(r"(?:^|\s)(?:x|×|\*|to|with|over|on|onto|into|bred to|paired (?:to|with)|mit|con)(?:\s|$)")
        .is_some_and(|p| p.is_match(text));
    let asks = pattern!(r"\bwhat\s+(?:do|will|would|can|could|does|might|should)\s+(?:i|we|you|they|it|that|this)\s+(?:get|expect|hit|make|give|throw|produce)|\bwhat\s+(?:babies|kids|young|comes?|hatches)|\b(?:make|give|throw|produce)\b.*\?")
        .is_some_and(|p| p.is_match(text))
        || super::message::word_places(text).iter().any(|place| {
            matches!(
                msg.reader.role(&crate::reading::words::fold(&text[place.clone()])),
                Some(Role::Odds | Role::Outcomes | Role::WhyNo | Role::Square | Role::Target)
            )
        });
    // Names that are also genes count as animals only in a pairing where an animal is expected.
    let all_doubtful = named.iter().all(|m| m.doubtful);
    let paired = crossed && (named.len() >= 2 || !all_doubtful);
    (paired || asks && !all_doubtful).then_some(Record::Odds { named })
}

/// Words written as names are, of animals that nobody here has: they begin with a capital inside the message and are no genes.
fn unknown(msg: &Msg<'_>, gone: &[&regex::Regex]) -> Vec<Mention> {
    let of = |name: String| {
        let key = Flat::new(&name);
        let at = msg.text().find(key.text())?;
        let place = at..at + key.text().len();
        let taken = msg.mentions.iter().any(|m| m.place.start < place.end && place.start < m.place.end);
        let written = name.starts_with(char::is_uppercase) && !msg.text()[..at].trim().is_empty();
        (written && !taken && !msg.reader.names_gene(&name)).then_some(Mention {
            place,
            called: Called::Name(name),
            doubtful: false,
        })
    };
    msg.strange_names(gone).into_iter().filter_map(of).collect()
}
