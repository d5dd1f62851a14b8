//! What animals and their keep cost, as their keeper says; nothing here is a price of the program's own. An example a line:
//!   "a visual clown female 400, a het pied male for 150"     prices, each of one kind of animal
//!   "a tub is 40 a year and food 8 a month"                  what keeping one costs a year
//!   "a sure one costs 500"                                   what one is compared with

use std::ops::Range;

use super::amounts::{cents, pattern};
use crate::reading::Reader;
use crate::species::Catalogue;

/// Prices of one message.
const MOST_OFFERS: usize = 6;
/// Months and weeks of a year.
const PER_YEAR: [(&str, i64); 4] = [("month", 12), ("week", 52), ("mo", 12), ("wk", 52)];

/// An animal that can be bought.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// What it is, as said.
    pub words: String,
    /// Its price, in hundredths.
    pub cents: i64,
}

/// What is asked to be bought.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct BuySaid {
    /// The money there is, in hundredths.
    pub money: Option<i64>,
    /// What it may be spent on.
    pub offers: Vec<Offer>,
}

/// What keeping costs, as said.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CostSaid {
    /// One animal for a year, in hundredths.
    pub year: Option<i64>,
    /// A sure one instead, in hundredths.
    pub sure: Option<i64>,
}

/// A number of a message that is money.
struct Amount {
    place: Range<usize>,
    cents: i64,
    /// How often in a year it is paid; nothing where it is paid once.
    a_year: Option<i64>,
}

/// The amounts of money in a text in small letters: no shares, sexes, weights or years.
fn amounts(text: &str) -> Vec<Amount> {
    let Some(number) = pattern!(
        r"(?:[$€£]\s?)?(\d[\d.,]*\d|\d)(?:\s?[$€£]|\s*(?:euros?|eur|usd|gbp|dollars?|bucks|pounds?|chf|pln)\b)?(?:\s*(?:a|an|per|each|every|/|the|pro|al)\s*(year|yr|season|month|mo|week|wk|jahr|monat|ano)\b)?"
    ) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for hit in number.captures_iter(text) {
        let (Some(whole), Some(digits)) = (hit.get(0), hit.get(1)) else { continue };
        // A small number is money by its sign, or by the time it is paid for.
        let money = whole.as_str().trim().len() > digits.as_str().len();
        let before = text[..whole.start()].chars().next_back();
        let after = text[digits.end()..].trim_start();
        let other = pattern!(
            r"^(?:%|percent|poss|hets?\b|s\b|x\b|g\b|gr|kg|kilo|lbs?\b|oz\b|eggs?|clutch|years?\b|yrs?\b|months?\b|seasons?\b|more\b|females?\b|males?\b|girls?\b|boys?\b)"
        )
        .is_some_and(|p| p.is_match(after));
        let is_part = before.is_some_and(|c| c.is_alphanumeric() || matches!(c, '.' | '#'));
        let sexes = pattern!(r"^\d\.\d{1,2}(?:\.\d)?$").is_some_and(|p| p.is_match(digits.as_str()));
        let Some(cents) = cents(digits.as_str()).filter(|c| *c > 0) else { continue };
        if is_part || other || !money && (sexes || cents < 1_000) {
            continue;
        }
        let a_year = hit.get(2).map(|unit| {
            let unit = unit.as_str();
            PER_YEAR.iter().find(|(word, _)| unit.starts_with(word)).map_or(1, |(_, n)| *n)
        });
        found.push(Amount { place: whole.range(), cents, a_year });
    }
    found
}

/// Animals with their prices: what stands before each price is what it is for.
pub(super) fn offers(text: &str) -> Vec<Offer> {
    let mut found = Vec::new();
    let mut from = 0;
    for amount in amounts(text).into_iter().filter(|a| a.a_year.is_none()) {
        let words = trimmed(text.get(from..amount.place.start).unwrap_or_default());
        from = amount.place.end;
        if words.chars().any(char::is_alphabetic) && found.len() < MOST_OFFERS {
            found.push(Offer { words, cents: amount.cents });
        }
    }
    found
}

/// A description without what leads to it and to its price.
fn trimmed(words: &str) -> String {
    let lead = pattern!(
        r"^(?:[\s,;:.?!–—-]|(?:and|or|und|oder|y|o|if|is|are|there|i|can|could|get|have|found|offered|what|should|shall|which|buy|buying|the|an?|one|another|better|worth|it|with|for|next|first|now|this|season|year|me|someone|has|sells?|prices?)\b)+"
    );
    let tail = pattern!(
        r"(?:[\s,;:.=@–—-]|\b(?:for|at|is|are|costs?|would|cost|be|about|around|about|price[ds]?|asking|each|goes|go)\b)+$"
    );
    let words = lead.map_or_else(|| words.to_owned(), |p| p.replace(words, "").into_owned());
    tail.map_or_else(|| words.clone(), |p| p.replace(&words, "").into_owned())
}

/// What keeping costs a year, summed, and what is paid once.
pub(super) fn costs(text: &str) -> CostSaid {
    let all = amounts(text);
    let yearly: Vec<i64> = all.iter().filter_map(|a| a.cents.checked_mul(a.a_year?)).collect();
    CostSaid {
        year: (!yearly.is_empty()).then(|| yearly.iter().fold(0_i64, |sum, c| sum.saturating_add(*c))),
        sure: all.iter().find(|a| a.a_year.is_none()).map(|a| a.cents),
    }
}

/// Whether a text holds nothing but animals with their prices.
pub(super) fn is_all_offers(reader: &Reader, catalogue: &Catalogue, text: &str) -> bool {
    let tells = pattern!(r"^\W*(?:add|new|bought|got|sold|paid|goal|plan|register|log|save|weigh|what|how|why|who)\b")
        .is_some_and(|p| p.is_match(text));
    let offers = offers(text);
    !tells && !offers.is_empty() && offers.iter().all(|o| reader.describe(catalogue, &o.words, None).has_genes())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prices_stand_behind_what_they_are_for() {
        let read =
            |said: &str| -> Vec<(String, i64)> { offers(said).into_iter().map(|o| (o.words, o.cents / 100)).collect() };
        let of = |pairs: &[(&str, i64)]| -> Vec<(String, i64)> {
            pairs.iter().map(|(words, n)| ((*words).to_owned(), *n)).collect()
        };
        for (said, told) in [
            (
                "a visual clown female 400, a het pied male 150",
                &[("visual clown female", 400), ("het pied male", 150)][..],
            ),
            (
                "what should i buy: a clown female for $400 or a 66% het pied male at 1,200",
                &[("clown female", 400), ("66% het pied male", 1200)],
            ),
            ("0.1 clown = 350 eur; 1.0 pied costs 500", &[("0.1 clown", 350), ("1.0 pied", 500)]),
            ("a 66 het clown girl is 90", &[("66 het clown girl", 90)]),
            ("two clutches", &[]),
        ] {
            assert_eq!(read(said), of(told), "{said}");
        }
    }

    #[test]
    fn what_keeping_costs_is_summed_over_a_year() {
        for (said, year, sure) in [
            ("keeping one costs 150 a year", Some(150), None),
            ("a tub is 40 a year and food 8 a month", Some(136), None),
            ("a tub is 40 a year and food 15 a month, a sure one costs 500", Some(220), Some(500)),
            ("is it worth keeping the 66s if food is $3 a week and a sure female 600", Some(156), Some(600)),
            ("is it worth keeping the 66s", None, None),
        ] {
            let costs = costs(said);
            assert_eq!((costs.year.map(|c| c / 100), costs.sure.map(|c| c / 100)), (year, sure), "{said}");
        }
    }
}
