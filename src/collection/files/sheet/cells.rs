//! What one cell says: a species, counts of the sexes, a status, a price.

use super::words::{Words, plain};
use crate::reading::records::amounts;
use crate::reading::records::kinds::Status;
use crate::species::{Catalogue, SpeciesId};

/// "ball pythons", "Hognose:".
pub(super) fn species(catalogue: &Catalogue, text: &str) -> Option<SpeciesId> {
    let text = plain(text);
    let text = text.trim_end_matches([':', '.']);
    catalogue.by_name(text).or_else(|| catalogue.by_name(text.strip_suffix('s')?))
}

/// "1.2", "0.0.3".
pub(super) fn counts(text: &str) -> Option<(u16, u16, u16)> {
    let parts: Vec<u16> = text.split('.').map(|p| p.parse().ok()).collect::<Option<_>>()?;
    match parts[..] {
        [males, females] => Some((males, females, 0)),
        [males, females, unsexed] => Some((males, females, unsexed)),
        _ => None,
    }
    .filter(|c| *c != (0, 0, 0))
}

pub(super) fn status_said(cell: &str) -> Option<Status> {
    let text = plain(cell);
    let words = Words::get()?;
    let text = text.trim_matches(|c: char| !c.is_alphanumeric());
    words.statuses.iter().find(|(_, list)| list.iter().any(|w| w == text)).map(|(status, _)| *status)
}

/// "$450", "1.250,50 €", "300".
pub(super) fn price(cell: &str) -> Result<Option<(i64, Option<&'static str>)>, String> {
    let text = plain(cell);
    if text.is_empty() {
        return Ok(None);
    }
    let number: String = text.chars().filter(|c| c.is_ascii_digit() || matches!(c, '.' | ',')).collect();
    let word: String = text.chars().filter(|c| c.is_alphabetic() || matches!(c, '$' | '€' | '£')).collect();
    match amounts::cents(&number) {
        Some(cents) if !number.is_empty() => Ok(Some((cents, amounts::currency(&word)))),
        // "gift", "trade": what it says is not lost, but it is no price.
        _ => Err(format!("\"{cell}\" is no price")),
    }
}
