//! Weights, prices and counts in words and figures.

use std::sync::OnceLock;

use regex::Regex;

/// A pattern that is made once. All of them are constants of ours; a broken one is found by the tests.
macro_rules! pattern {
    ($text:expr) => {{
        static PATTERN: std::sync::OnceLock<Option<regex::Regex>> = std::sync::OnceLock::new();
        $crate::reading::records::amounts::made_once(&PATTERN, || $text)
    }};
}

/// See [`pattern!`].
pub(super) fn made_once<T: AsRef<str>>(
    place: &'static OnceLock<Option<Regex>>,
    text: impl FnOnce() -> T,
) -> Option<&'static Regex> {
    place.get_or_init(|| Regex::new(text().as_ref()).ok()).as_ref()
}

pub(super) use pattern;

/// A number with its unit, as "1,634 g", "2,3 kg", "1.4k", "3 lb 4 oz" have it.
pub(super) fn weight_pattern() -> Option<&'static Regex> {
    static WEIGHT: OnceLock<Option<Regex>> = OnceLock::new();
    WEIGHT
        .get_or_init(|| {
            Regex::new(
                r"(?:^|[\s(=:,~])(-?\d[\d.,]*)\s*(kgs?|kilos?|kilogramos?|kilogramm|k|grams?|gramms?|gramm|gramos?|gms?|grs?|gr|gs|g|lbs?|pounds?|oz|ounces?)\b(?:\s+(\d{1,2})\s*(?:oz|ounces?)\b)?",
            )
            .ok()
        })
        .as_ref()
}

/// Grams of a number as typed and a unit in small letters; `None` where it is no number.
pub(super) fn grams(number: &str, unit: &str, ounces: Option<&str>) -> Option<i64> {
    let heavy = matches!(unit.chars().next(), Some('k' | 'l' | 'p'));
    let value = decimal(number, !heavy)?;
    let factor = match unit {
        u if u.starts_with('k') => 1000.0,
        u if u.starts_with('l') || u.starts_with('p') => 453.592_37,
        u if u.starts_with('o') => 28.349_523_125,
        _ => 1.0,
    };
    let ounces: f64 = ounces.and_then(|o| o.parse().ok()).unwrap_or(0.0);
    let grams = value * factor + ounces * 28.349_523_125;
    #[expect(clippy::cast_possible_truncation)] // bounded in the line before it is used
    (grams.abs() < 1e9).then(|| grams.round() as i64)
}

/// Grams of a cell: with a unit of its own, or a bare number in the unit of its column.
pub(crate) fn weight_cell(text: &str, unit: &str) -> Option<i64> {
    let text = text.trim().to_lowercase();
    match weight_pattern()?.captures(&text) {
        Some(hit) => grams(&hit[1], &hit[2], hit.get(3).map(|o| o.as_str())),
        None if text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-')) => grams(&text, unit, None),
        None => None,
    }
}

/// A number with point or comma. Where a separator stands before exactly three digits it is one of thousands if
/// `thousands` says that such numbers are usual.
pub(crate) fn decimal(text: &str, thousands: bool) -> Option<f64> {
    let text = text.trim_end_matches(['.', ',']);
    let separators: Vec<(usize, char)> = text.char_indices().filter(|(_, c)| matches!(c, '.' | ',')).collect();
    let plain = match separators[..] {
        [] => text.to_owned(),
        [(at, _)] if thousands && text.len() - at - 1 == 3 && at <= 4 => text.replace(['.', ','], ""),
        [(_, sign)] => text.replace(sign, "."),
        // "1,234.5" or "1.234,5": the last separator is the decimal one, unless all are alike.
        [.., (last, sign)] if separators.iter().any(|s| s.1 != sign) => {
            let (whole, fraction) = text.split_at(last);
            format!("{}.{}", whole.replace(['.', ','], ""), &fraction[1..])
        }
        _ => text.replace(['.', ','], ""),
    };
    plain.parse().ok()
}

/// A price in hundredths, and its currency where one is named: "$450", "250 eur", "paid 300".
pub(super) fn price_pattern() -> Option<&'static Regex> {
    static PRICE: OnceLock<Option<Regex>> = OnceLock::new();
    PRICE
        .get_or_init(|| {
            Regex::new(
                r"(?:\b(?:paid|price|cost|for|costs|priced at|bezahlt|preis|precio|pague)\b:?\s*)?(?:([$€£])\s?(\d[\d.,]*)|(\d[\d.,]*)\s?([$€£]|eur(?:os?)?\b|usd\b|gbp\b|dollars?\b|bucks\b|pounds? sterling\b|chf\b|pln\b|sek\b))|\b(?:paid|price|cost|bezahlt|preis|precio|pague)\b:?\s*(\d[\d.,]*)\b",
            )
            .ok()
        })
        .as_ref()
}

/// The currency of a sign or word.
pub(crate) fn currency(word: &str) -> Option<&'static str> {
    Some(match word.trim() {
        "$" | "usd" | "dollar" | "dollars" | "bucks" => "USD",
        "€" | "eur" | "euro" | "euros" => "EUR",
        "£" | "gbp" | "pound sterling" | "pounds sterling" => "GBP",
        "chf" => "CHF",
        "pln" => "PLN",
        "sek" => "SEK",
        _ => return None,
    })
}

/// Hundredths of a price as typed.
pub(crate) fn cents(number: &str) -> Option<i64> {
    let value = decimal(number, true)?;
    #[expect(clippy::cast_possible_truncation)] // bounded in the same line
    (0.0..=1e10).contains(&value).then(|| (value * 100.0).round() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_in_every_unit() {
        let read = |said: &str| {
            let hit = weight_pattern()?.captures(said)?;
            grams(&hit[1], &hit[2], hit.get(3).map(|o| o.as_str()))
        };
        for (said, expected) in [
            ("1634 g", 1634),
            ("1,634 g", 1634),
            ("1.640 g", 1640),
            ("2,3 kg", 2300),
            ("1.634 kg", 1634),
            ("1.4k", 1400),
            ("1.4kg", 1400),
            ("61.5 g", 62),
            ("3 lb", 1361),
            ("3 lbs 4 oz", 1474),
            ("8 oz", 227),
            ("-5 g", -5),
            ("1380 gramos", 1380),
        ] {
            assert_eq!(read(said), Some(expected), "{said:?}");
        }
        assert_eq!(read("5 good eggs"), None);
        assert_eq!(read("2.3.4"), None);
    }

    #[test]
    fn prices_with_and_without_a_currency() {
        let read = |said: &str| {
            let hit = price_pattern()?.captures(said)?;
            let number = hit.get(2).or_else(|| hit.get(3)).or_else(|| hit.get(5))?;
            let word = hit.get(1).or_else(|| hit.get(4)).map(|w| w.as_str().to_owned());
            Some((cents(number.as_str())?, word.and_then(|w| currency(&w))))
        };
        assert_eq!(read("paid 300"), Some((30_000, None)));
        assert_eq!(read("for $450"), Some((45_000, Some("USD"))));
        assert_eq!(read("1.250,50 €"), Some((125_050, Some("EUR"))));
        assert_eq!(read("cost 90 eur"), Some((9_000, Some("EUR"))));
        assert_eq!(read("1634 g"), None);
    }
}
