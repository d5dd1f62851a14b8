//! Text to words: the first layer of reading, which knows signs and numbers but no meaning.
//!
//! In: any text. Out: [`Word`]s in order, each with its place in the cleaned text. Never fails, never panics, linear in the text.
//! Invariant: full-width letters, accents, case, zero-width and direction signs and smart quotes do not change the words.
//! Not here: what a word means (`vocabulary`, `lexicon`), slips (`spelling`).

use std::ops::Range;

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// The longest text that is read, in characters; what follows is left out and said to be.
pub const MAX_CHARS: usize = 8_000;

/// One word, number or sign of a message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// What kind of word it is.
    pub kind: Kind,
    /// The form in which it is compared: small letters without accents, apostrophes or dots.
    pub form: String,
    /// Its place in [`Text::clean`], in bytes.
    pub place: Range<usize>,
    /// True when no blank stands before it.
    pub glued: bool,
    /// True when it begins with a capital letter.
    pub capital: bool,
}

/// Kinds of words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Letters.
    Letters,
    /// A whole number.
    Number(u32),
    /// A number with a decimal point or comma, in thousandths: weights and sex marks look like this.
    Decimal(u32),
    /// Counts of males, females and, where given, unsexed animals: `1.0`, `0.1.2`, `0,1`.
    Sexes(u16, u16, Option<u16>),
    /// A fraction: `1/16`, `1:3` has [`Kind::Ratio`].
    Fraction(u32, u32),
    /// A ratio, `1:3`.
    Ratio(u32, u32),
    /// A percentage in hundredths of a percent.
    Percent(u32),
    /// A sign: `,` `/` `+` `?` and so on; a line break is `'\n'`.
    Sign(char),
}

/// A message cut into words.
#[derive(Debug, Clone, Default)]
pub struct Text {
    /// The message after cleaning: compatibility forms folded, invisible signs removed.
    pub clean: String,
    /// Its words.
    pub words: Vec<Word>,
    /// True when the message was longer than [`MAX_CHARS`].
    pub cut: bool,
}

impl Text {
    /// The text of some words as typed.
    #[must_use]
    pub fn typed(&self, words: Range<usize>) -> &str {
        match (self.words.get(words.start), words.end.checked_sub(1).and_then(|i| self.words.get(i))) {
            (Some(first), Some(last)) if first.place.start <= last.place.end => {
                self.clean.get(first.place.start..last.place.end).unwrap_or("").trim()
            }
            _ => "",
        }
    }

    /// The same in the form in which words are compared: capitals and accents say nothing.
    #[must_use]
    pub fn folded(&self, words: Range<usize>) -> String {
        fold(self.typed(words))
    }
}

/// Cuts a message into words.
#[must_use]
pub fn words(message: &str) -> Text {
    let mut cut = false;
    let clean = clean(message, &mut cut);
    let mut words = Vec::with_capacity(clean.len() / 4);
    let mut at = 0;
    let mut glued = false;
    while let Some(c) = clean[at..].chars().next() {
        if c == '\n' {
            push(&mut words, Kind::Sign('\n'), &clean, at..at + 1, false);
            at += 1;
            glued = false;
        } else if c.is_whitespace() {
            at += c.len_utf8();
            glued = false;
        } else {
            let (kind, len) = next(&clean[at..], c, words.last());
            push(&mut words, kind, &clean, at..at + len, glued);
            at += len;
            glued = true;
        }
    }
    Text { clean, words, cut }
}

fn push(words: &mut Vec<Word>, kind: Kind, clean: &str, place: Range<usize>, glued: bool) {
    let typed = &clean[place.clone()];
    let form = match kind {
        Kind::Sign('&') => "and".to_owned(),
        Kind::Sign('-' | '_' | '(' | ')' | '[' | ']' | '.') => String::new(),
        _ => fold(typed),
    };
    let capital = typed.chars().next().is_some_and(char::is_uppercase);
    words.push(Word { kind, form, place, glued, capital });
}

/// Kind and length in bytes of the word at the start of `rest`, whose first character is `c`.
fn next(rest: &str, c: char, before: Option<&Word>) -> (Kind, usize) {
    if c.is_ascii_digit() {
        return number(rest, before);
    }
    if c.is_alphabetic() {
        return (Kind::Letters, letters(rest));
    }
    // ".5" and "'21" are rare enough to be read as a sign and a number.
    (Kind::Sign(c), c.len_utf8())
}

fn letters(rest: &str) -> usize {
    let mut end = 0;
    let mut chars = rest.char_indices().peekable();
    while let Some((i, c)) = chars.next() {
        let inner = c == '\'' && i > 0 && chars.peek().is_some_and(|(_, n)| n.is_alphabetic());
        if c.is_alphabetic() && !matches!(c, '♂' | '♀') || inner || is_combining_mark(c) {
            end = i + c.len_utf8();
        } else {
            break;
        }
    }
    end.max(rest.chars().next().map_or(0, char::len_utf8))
}

fn digits(rest: &str) -> (u32, usize) {
    let len = rest.bytes().take_while(u8::is_ascii_digit).count();
    (rest[..len].parse().unwrap_or(u32::MAX), len)
}

fn number(rest: &str, before: Option<&Word>) -> (Kind, usize) {
    let (first, len) = digits(rest);
    let tail = &rest[len..];
    let sign = tail.chars().next();
    let follows_digit = tail.chars().nth(1).is_some_and(|c| c.is_ascii_digit());
    // A thing like "1.0": the sign must not itself follow another number, as in an address or a date.
    let kind = match sign {
        Some('.' | ',') if follows_digit => {
            let (second, second_len) = digits(&tail[1..]);
            let two = len + 1 + second_len;
            let more = &rest[two..];
            let third = more
                .chars()
                .next()
                .filter(|c| Some(*c) == sign)
                .filter(|_| more.chars().nth(1).is_some_and(|c| c.is_ascii_digit()));
            if third.is_some() {
                let (third, third_len) = digits(&more[1..]);
                (sexes(first, second, Some(third)).unwrap_or(Kind::Decimal(u32::MAX)), two + 1 + third_len)
            } else if after_blanks(more).starts_with('%') {
                (
                    Kind::Percent(hundredths(first, &tail[1..=second_len])),
                    two + more.len() - after_blanks(more).len() + 1,
                )
            } else {
                // "1.4 kg" is a weight; "1.0 killer clown" is a male.
                let unit: String = after_blanks(more).chars().take_while(|c| c.is_alphabetic()).collect();
                let weight =
                    matches!(&*unit.to_lowercase(), "kg" | "lb" | "lbs" | "k" | "oz" | "kilo" | "kilos" | "pounds");
                match sexes(first, second, None) {
                    Some(kind)
                        if second_len <= 2
                            && len <= 2
                            && !weight
                            && (second_len == 1 || second < 60 && !rest[len + 1..].starts_with('0')) =>
                    {
                        (kind, two)
                    }
                    _ => (
                        Kind::Decimal(first.saturating_mul(1000).saturating_add(thousandths(&tail[1..=second_len]))),
                        two,
                    ),
                }
            }
        }
        Some('/') if follows_digit => {
            let (second, second_len) = digits(&tail[1..]);
            (Kind::Fraction(first, second), len + 1 + second_len)
        }
        Some(':') if follows_digit => {
            let (second, second_len) = digits(&tail[1..]);
            (Kind::Ratio(first, second), len + 1 + second_len)
        }
        _ if after_blanks(tail).starts_with('%') => {
            (Kind::Percent(first.saturating_mul(100)), len + tail.len() - after_blanks(tail).len() + 1)
        }
        _ => (Kind::Number(first), len),
    };
    let in_date = before.is_some_and(|w| matches!(w.kind, Kind::Sign('/' | '.' | '-')) && w.glued)
        && matches!(kind.0, Kind::Sexes(..));
    if in_date { (Kind::Number(first), len) } else { kind }
}

fn after_blanks(text: &str) -> &str {
    text.trim_start_matches([' ', '\t'])
}

fn sexes(males: u32, females: u32, unsexed: Option<u32>) -> Option<Kind> {
    let small = |n: u32| u16::try_from(n).ok().filter(|n| *n <= 99);
    let unsexed = match unsexed {
        Some(n) => Some(small(n)?),
        None => None,
    };
    Some(Kind::Sexes(small(males)?, small(females)?, unsexed))
}

fn hundredths(whole: u32, fraction: &str) -> u32 {
    let digits: String = fraction.chars().chain("00".chars()).take(2).collect();
    whole.saturating_mul(100).saturating_add(digits.parse().unwrap_or(0))
}

fn thousandths(fraction: &str) -> u32 {
    let digits: String = fraction.chars().chain("000".chars()).take(3).collect();
    digits.parse().unwrap_or(0)
}

/// Compatibility forms folded, invisible and direction signs out, at most two marks a letter, common look-alike signs unified.
fn clean(message: &str, cut: &mut bool) -> String {
    let mut out = String::with_capacity(message.len());
    let mut marks = 0;
    for (count, c) in message.nfkc().enumerate() {
        if count >= MAX_CHARS {
            *cut = true;
            break;
        }
        if is_combining_mark(c) {
            marks += 1;
            if marks > 2 || c == '\u{fe0f}' || c == '\u{fe0e}' {
                continue;
            }
            out.push(c);
            continue;
        }
        marks = 0;
        match c {
            '\r' | '\u{2028}' | '\u{2029}' => out.push('\n'),
            '\n' => out.push('\n'),
            '\u{200b}'..='\u{200f}'
            | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}'
            | '\u{feff}'
            | '\u{ad}'
            | '\u{fe00}'..='\u{fe0f}' => {}
            c if c.is_control() => out.push(' '),
            '\u{2018}' | '\u{2019}' | '\u{201b}' | '`' | '\u{b4}' => out.push('\''),
            '\u{201c}'..='\u{201f}' | '\u{ab}' | '\u{bb}' => out.push('"'),
            '\u{2010}'..='\u{2015}' | '\u{2212}' => out.push('-'),
            '\u{2044}' => out.push('/'),
            '\u{2715}' | '\u{2716}' | '\u{274c}' | '\u{2a2f}' => out.push('\u{d7}'),
            '\u{26a3}' => out.push_str("♂♀"),
            '\u{1f6ba}' => out.push('♀'),
            '\u{1f6b9}' => out.push('♂'),
            c => out.push(c),
        }
    }
    out
}

/// Small letters, no accents, no apostrophes.
#[must_use]
pub fn fold(text: &str) -> String {
    if text.is_ascii() {
        return text.chars().filter(|c| *c != '\'').map(|c| c.to_ascii_lowercase()).collect();
    }
    text.nfkd()
        .filter(|c| !is_combining_mark(*c) && *c != '\'')
        .flat_map(char::to_lowercase)
        .collect::<String>()
        .replace('ß', "ss")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(said: &str, kinds: &[Kind]) {
        let found: Vec<Kind> = words(said).words.iter().map(|w| w.kind).collect();
        assert_eq!(found, kinds, "words of {said:?}");
    }

    #[test]
    fn numbers_are_sexes_shares_or_weights_by_their_shape() {
        use Kind::{Decimal, Fraction, Letters, Number, Percent, Ratio, Sexes, Sign};
        check("1.0 clown", &[Sexes(1, 0, None), Letters]);
        check("0,1 pied", &[Sexes(0, 1, None), Letters]);
        check("2.3.4", &[Sexes(2, 3, Some(4))]);
        check("66% het", &[Percent(6600), Letters]);
        check("66 %het", &[Percent(6600), Letters]);
        check("33.3%", &[Percent(3330)]);
        check("1/16 1:3", &[Fraction(1, 16), Ratio(1, 3)]);
        check("1.4kg", &[Decimal(1400), Letters]);
        check("1450gs", &[Number(1450), Letters]);
        check("7eggs?", &[Number(7), Letters, Sign('?')]);
        check("12.03.2024", &[Decimal(u32::MAX)]);
    }

    #[test]
    fn looks_of_letters_do_not_matter() {
        let forms = |said: &str| words(said).words.into_iter().map(|w| w.form).collect::<Vec<_>>();
        assert_eq!(forms("ＰＡＳＴＥＬ x Cl\u{200b}own"), ["pastel", "x", "clown"]);
        assert_eq!(forms("Pästel’s"), ["pastels"]);
        assert_eq!(forms("c\u{301}\u{301}\u{301}\u{301}lown"), ["clown"]);
    }
}
