//! Short texts that a keeper gives: names, origins, notes. Checked once, then trusted.

use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;
use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// The longest name, in characters and in bytes.
pub const NAME_CHARS: usize = 80;
/// See [`NAME_CHARS`].
pub const NAME_BYTES: usize = 200;
/// The longest note, in characters.
pub const NOTE_CHARS: usize = 2000;
/// The longest origin, parent outside the collection or code, in characters.
pub const LINE_CHARS: usize = 200;
/// The longest tag, in characters.
pub const TAG_CHARS: usize = 32;

/// Why a text is no name.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NameError {
    /// Nothing is left of it.
    #[error("a name needs at least one letter or digit")]
    Empty,
    /// Too long.
    #[error("\"{start}…\" is {chars} characters long, a name has at most {NAME_CHARS}")]
    Long {
        /// How it begins.
        start: String,
        /// Its length.
        chars: usize,
    },
}

/// A name: one line, no control or direction signs, at most two marks a letter, as typed after NFC.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub struct Name {
    text: String,
    /// Made once: a list of thousands compares every name with every other.
    key: String,
}

impl Name {
    /// Checks a name.
    ///
    /// # Errors
    /// [`NameError`] when nothing is left of it or it is too long.
    pub fn new(typed: &str) -> Result<Self, NameError> {
        let text = tidy(typed);
        if !text.chars().any(char::is_alphanumeric) {
            return Err(NameError::Empty);
        }
        let chars = text.chars().count();
        if chars > NAME_CHARS || text.len() > NAME_BYTES {
            return Err(NameError::Long { start: text.chars().take(20).collect(), chars });
        }
        let key = key(&text);
        Ok(Self { text, key })
    }

    /// The name.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// The form in which names are compared: case, accents, signs and look-alike letters tell no two names apart.
    #[must_use]
    pub fn key(&self) -> &str {
        &self.key
    }
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl From<Name> for String {
    fn from(name: Name) -> Self {
        name.text
    }
}

impl TryFrom<String> for Name {
    type Error = NameError;

    fn try_from(text: String) -> Result<Self, NameError> {
        Self::new(&text)
    }
}

/// One line without signs that are not seen, at most two marks a letter, NFC, no blanks around it or doubled.
#[must_use]
pub fn tidy(typed: &str) -> String {
    let mut marks = 0;
    let seen = typed.nfd().filter(|c| {
        marks = if is_combining_mark(*c) { marks + 1 } else { 0 };
        marks <= 2 && (!is_unseen(*c) || c.is_whitespace())
    });
    let text: String = seen.nfc().collect();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A note may have lines; else like [`tidy`]. Cut at [`NOTE_CHARS`] by the caller, who says so.
#[must_use]
pub fn tidy_note(typed: &str) -> String {
    let lines: Vec<String> = typed.lines().map(tidy).collect();
    lines.join("\n").trim().to_owned()
}

fn is_unseen(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

/// The form in which names are compared.
#[must_use]
pub fn key(name: &str) -> String {
    name.nfkd()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .map(|c| match c {
            // Letters of other scripts that cannot be told from Latin ones by eye.
            'а' | 'α' => 'a',
            'е' | 'ε' => 'e',
            'о' | 'ο' => 'o',
            'р' | 'ρ' => 'p',
            'с' => 'c',
            'у' | 'υ' => 'y',
            'х' | 'χ' => 'x',
            'і' | 'ι' | 'ı' => 'i',
            'к' | 'κ' => 'k',
            'м' => 'm',
            'т' | 'τ' => 't',
            'в' => 'b',
            'н' => 'h',
            'ß' => 's',
            c => c,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_seen_is_no_part_of_a_name() {
        for (typed, name) in [
            ("  Juno ", "Juno"),
            ("Ju\u{200b}no", "Juno"),
            ("Ju\u{202e}no", "Juno"),
            ("Lady\nGrey\t II", "Lady Grey II"),
            ("Bj\u{f6}rk", "Björk"),
            ("Bjo\u{308}rk", "Björk"),
            ("o\u{308}\u{301}\u{300}\u{302}x", "ö\u{301}x"),
            ("=SUM(A1)", "=SUM(A1)"),
        ] {
            assert_eq!(Name::new(typed).map(String::from), Ok(name.to_owned()), "{typed:?}");
        }
        for typed in ["", "  ", "\u{200b}", "!!"] {
            assert_eq!(Name::new(typed), Err(NameError::Empty), "{typed:?}");
        }
        let long = Name::new(&"n".repeat(500)).expect_err("it is too long");
        assert_eq!(long.to_string(), "\"nnnnnnnnnnnnnnnnnnnn…\" is 500 characters long, a name has at most 80");
    }

    #[test]
    fn look_alikes_have_one_key() {
        for same in
            ["Biscuit", "biscuit", "BISCUIT", "Bísçuit", "Вiscuit", "Bi scu-it", "Biscυit".replace('υ', "u").as_str()]
        {
            assert_eq!(key(same), "biscuit", "{same:?}");
        }
        assert_ne!(key("Juno"), key("Juna"));
    }
}
