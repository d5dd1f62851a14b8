//! A message as one line of small letters without accents, whose every letter knows its place in what was typed.
//!
//! Patterns over whole phrases (dates, weights, names) look here; what they take out leaves a blank of the same length,
//! so that places stay true and the rest can be read for genes.

use std::ops::Range;

use regex::{Captures, Regex};
use unicode_normalization::UnicodeNormalization;

use super::words;

/// A message for patterns.
#[derive(Debug, Clone)]
pub struct Flat {
    /// The message as typed, after cleaning.
    clean: String,
    /// The same in small letters; what was taken out is blank.
    text: String,
    /// For each byte of `text`, its place in `clean`; one more for the end.
    places: Vec<usize>,
}

impl Flat {
    /// Flattens a message.
    #[must_use]
    pub fn new(message: &str) -> Self {
        let clean = words::words(message).clean;
        let mut text = String::with_capacity(clean.len());
        let mut places = Vec::with_capacity(clean.len() + 1);
        for (at, c) in clean.char_indices() {
            // One letter for one letter: the base letter of an accented one, the first of what a capital unfolds to.
            let base = std::iter::once(c).nfd().next().unwrap_or(c);
            let small = if base == 'ß' { 's' } else { base.to_lowercase().next().unwrap_or(base) };
            text.push(small);
            places.resize(text.len(), at);
        }
        places.push(clean.len());
        Self { clean, text, places }
    }

    /// The small letters.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What was typed at a place.
    #[must_use]
    pub fn typed(&self, place: Range<usize>) -> &str {
        match (self.places.get(place.start), self.places.get(place.end)) {
            (Some(from), Some(to)) => self.clean.get(*from..*to).unwrap_or(""),
            _ => "",
        }
    }

    /// Blanks out a place.
    pub fn take(&mut self, place: Range<usize>) {
        let Some(part) = self.text.get(place.clone()) else { return };
        // Blanks of the same length in bytes keep every other place where it is.
        let blank: String = part.bytes().map(|b| if b == b'\n' { '\n' } else { ' ' }).collect();
        self.text.replace_range(place, &blank);
    }

    /// The first hit of a pattern.
    #[must_use]
    pub fn find<'t>(&'t self, pattern: &Regex) -> Option<Captures<'t>> {
        pattern.captures(&self.text)
    }

    /// Takes out the first hit of a pattern; gives its groups as typed, the whole first.
    pub fn pull(&mut self, pattern: &Regex) -> Option<Vec<Option<String>>> {
        let (whole, groups) = {
            let hit = pattern.captures(&self.text)?;
            let whole = hit.get(0)?.range();
            let groups = hit.iter().map(|g| g.map(|g| self.typed(g.range()).trim().to_owned())).collect();
            (whole, groups)
        };
        self.take(whole);
        Some(groups)
    }

    /// What is left, as typed, with blanks where something was taken out.
    #[must_use]
    pub fn left(&self) -> String {
        let mut out = String::with_capacity(self.clean.len());
        let mut at = 0;
        for c in self.text.chars() {
            let end = at + c.len_utf8();
            if c == ' ' {
                out.push(' ');
            } else {
                out.push_str(self.typed(at..end));
            }
            at = end;
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_stay_true_whatever_is_taken_out() {
        let mut flat = Flat::new("Ünïcorn IST Größe 12\nZwei");
        assert_eq!(flat.text(), "unicorn ist grose 12\nzwei");
        let pattern = Regex::new(r"grose (\d+)").expect("a pattern");
        assert_eq!(flat.pull(&pattern), Some(vec![Some("Größe 12".to_owned()), Some("12".to_owned())]));
        assert_eq!(flat.left().split_whitespace().collect::<Vec<_>>(), ["Ünïcorn", "IST", "Zwei"]);
        assert!(flat.left().contains('\n'));
    }
}
