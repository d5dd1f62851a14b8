//! Words that a member wrote, made safe to repeat: no control signs, no direction marks, no heaps of accents, nothing
//! that opens a fence or calls a person in some chat.

use unicode_normalization::char::is_combining_mark;

/// The longest single word that is repeated; longer ones are shown by their beginning.
const MOST_LETTERS: usize = 24;
/// Combining marks on one letter; real writing needs no more.
const MOST_MARKS: usize = 2;

/// The same text with only signs that may stand in a reply, on one line.
pub(super) fn clean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut marks = 0;
    for c in text.chars() {
        marks = if is_combining_mark(c) { marks + 1 } else { 0 };
        if marks <= MOST_MARKS && !is_banned(c) {
            out.push(if c.is_whitespace() { ' ' } else { c });
        }
    }
    out
}

/// One unread word, short enough to be named.
pub(super) fn word(text: &str) -> String {
    let text = clean(text);
    if text.chars().count() <= MOST_LETTERS {
        return text;
    }
    text.chars().take(MOST_LETTERS - 1).chain(['…']).collect()
}

fn is_banned(c: char) -> bool {
    c.is_control() && !c.is_whitespace()
        || matches!(c, '`' | '@' | '<' | '>' | '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{feff}')
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}')
        || matches!(c, '\u{fff0}'..='\u{ffff}' | '\u{e0000}'..='\u{e0fff}' | '\u{e000}'..='\u{f8ff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_that_steer_a_terminal_or_a_chat_go() {
        assert_eq!(clean("cl\u{1b}[31mown\u{202e}\u{200b}"), "cl[31mown");
        assert_eq!(clean("```@everyone <b>\nx"), "everyone b x");
        assert_eq!(clean("z\u{300}\u{301}\u{302}\u{303}a\u{308}"), "z\u{300}\u{301}a\u{308}");
        assert_eq!(clean("♂ × het ½ · 66 %"), "♂ × het ½ · 66 %");
    }

    #[test]
    fn a_long_word_is_shown_by_its_beginning() {
        assert_eq!(word(&"ab".repeat(40)), format!("{}…", &"ab".repeat(12)[..23]));
        assert_eq!(word("clwon"), "clwon");
    }
}
