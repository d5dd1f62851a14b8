//! The form in which names are compared: case, accents, apostrophes, dots, hyphens and blanks tell no two names apart.

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// Small letters without accents, apostrophes and dots; hyphens, underscores and brackets are blanks; `&` is "and".
#[must_use]
pub fn normal(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut put = |c: char| match c {
        '\'' | '\u{2019}' | '.' => {}
        '-' | '_' | '(' | ')' => out.push(' '),
        '&' => out.push_str(" and "),
        c => out.extend(c.to_lowercase()),
    };
    if text.is_ascii() {
        text.chars().for_each(&mut put);
    } else {
        text.nfkd().filter(|c| !is_combining_mark(*c)).for_each(|c| {
            if c == 'ß' {
                put('s');
                put('s');
            } else {
                put(c);
            }
        });
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// [`normal`] without blanks.
#[must_use]
pub fn joined(text: &str) -> String {
    let mut text = normal(text);
    text.retain(|c| c != ' ');
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blanks_hyphens_and_accents_tell_no_names_apart() {
        for name in ["Orange Dream", "orange-dream", "orangedream", "ORANGE  DREAM", "Öränge Dream", "orange_dream"] {
            assert_eq!(joined(name), "orangedream", "{name}");
        }
        assert_eq!(joined("W&Y"), "wandy");
        assert_eq!(joined("Axanthic (VPI)"), "axanthicvpi");
        assert_eq!(joined("Königspython"), "konigspython");
    }
}
