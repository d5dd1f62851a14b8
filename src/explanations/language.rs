//! One language of the explanations: fixed phrases, and numbers and plurals as the language writes them.
//!
//! In: `words.toml` of a language folder. Out: [`Language`]. Plural categories and decimal signs come from the Unicode
//! data of the `icu` crates. Not here: the language of odds and questions, which `conversation` speaks.

use std::collections::{BTreeMap, BTreeSet};

use icu_decimal::DecimalFormatter;
use icu_decimal::input::Decimal;
use icu_locale_core::Locale;
use icu_plurals::{PluralCategory, PluralRules};
use serde::Deserialize;

use crate::engine::odds::{Odds, none, sure, to_f64};
use crate::reading::words::{self, Kind};
use crate::species::care::{Range, Unit};
use crate::species::check::Problem;

/// `words.toml` as it is written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    language: String,
    filler: BTreeSet<String>,
    asking: BTreeSet<String>,
    card_words: BTreeSet<String>,
    #[serde(default)]
    same: BTreeMap<String, Vec<String>>,
    units: BTreeMap<String, BTreeMap<String, String>>,
    phrases: Phrases,
}

macro_rules! phrases {
    ($($phrase:ident)*) => {
        /// The fixed phrases; what each says is best seen in `config/explanations/en/words.toml`.
        #[derive(Debug, Clone, Deserialize)]
        #[serde(deny_unknown_fields)]
        #[allow(missing_docs)] // each phrase is its own text in that file
        pub struct Phrases {
            $(pub $phrase: String,)*
        }
    };
}

phrases! {
    range percent chance and example see_also sources common_practice no_figure
    title recessive incomplete_dominant dominant line_bred complex pairs combos names no_match match_unknown maybe_allele
    sex_linked crossover published_gene grade unsure no_harm
    published keepers_report from_memory harm who_one who_two who_females who_males lethal_reported lethal_suspected
    no_females no_males discouraged not_together mixing
    combo combo_line visual pair look family complex_card with_normal two_hets together
    alleles alleles_together separate nothing which which_species more all
}

/// A language.
#[derive(Debug)]
pub struct Language {
    locale: Locale,
    code: String,
    filler: BTreeSet<String>,
    asking: BTreeSet<String>,
    card_words: BTreeSet<String>,
    same: BTreeMap<String, String>,
    units: BTreeMap<String, BTreeMap<String, String>>,
    /// Its fixed phrases.
    pub phrases: Phrases,
}

/// A phrase with its `{names}` filled in. Names that are not given stay as they are.
#[must_use]
pub fn fill(phrase: &str, values: &[(&str, &str)]) -> String {
    let mut out = String::with_capacity(phrase.len() + 40);
    let mut rest = phrase;
    while let Some((before, after)) = rest.split_once('{') {
        out.push_str(before);
        let Some((name, tail)) = after.split_once('}') else {
            out.push('{');
            rest = after;
            continue;
        };
        match values.iter().find(|v| v.0 == name) {
            Some((_, value)) => out.push_str(value),
            None => out.extend(["{", name, "}"]),
        }
        rest = tail;
    }
    out + rest
}

impl Language {
    /// Reads `words.toml` of the language folder `code`.
    ///
    /// # Errors
    /// The mistake, with its line.
    pub fn read(path: &str, code: &str, text: &str) -> Result<Self, Box<Problem>> {
        let fault = |line, place: &str, what: String| {
            Box::new(Problem { file: path.to_owned(), line, place: place.to_owned(), what })
        };
        let file: File = toml::from_str(text).map_err(|e| {
            let line = e.span().map(|s| 1 + text[..s.start.min(text.len())].matches('\n').count());
            fault(line, "words", e.message().to_owned())
        })?;
        if file.language != code {
            return Err(fault(None, "language", format!("is {:?}, but the folder is {code:?}", file.language)));
        }
        let locale: Locale =
            code.parse().map_err(|_| fault(None, "language", format!("{code:?} is no language code such as en")))?;
        for unit in UNITS {
            if !file.units.get(unit).is_some_and(|forms| forms.contains_key("other")) {
                return Err(fault(None, "units", format!("{unit} needs at least the form \"other\"")));
            }
        }
        let mut same = BTreeMap::new();
        for (word, others) in file.same {
            for other in others {
                same.insert(other, word.clone());
            }
        }
        Ok(Self {
            locale,
            code: code.to_owned(),
            filler: file.filler,
            asking: file.asking,
            card_words: file.card_words,
            same,
            units: file.units,
            phrases: file.phrases,
        })
    }

    /// Its code: `en`.
    #[must_use]
    pub fn code(&self) -> &str {
        &self.code
    }

    /// Whether a search passes over this word, in small letters.
    #[must_use]
    pub fn is_filler(&self, word: &str) -> bool {
        self.filler.contains(word)
    }

    /// Whether a message is put as a question: a question mark, or a word that opens one.
    #[must_use]
    pub fn is_question(&self, message: &str) -> bool {
        let words = words::words(message).words;
        words.first().is_some_and(|w| self.asking.contains(&w.form)) || words.iter().any(|w| w.kind == Kind::Sign('?'))
    }

    /// Whether a question about a gene may hold this word and its card still answers it.
    #[must_use]
    pub fn is_card_word(&self, word: &str) -> bool {
        self.card_words.contains(word)
    }

    /// The word that stands for this one in a search.
    #[must_use]
    pub fn same<'a>(&'a self, word: &'a str) -> &'a str {
        self.same.get(word).map_or(word, String::as_str)
    }

    /// A number with at most two decimals, none of them a needless zero, as the language writes it.
    #[must_use]
    pub fn number(&self, n: f64) -> String {
        let plain = plain(n);
        let Ok(decimal) = plain.parse::<Decimal>() else { return plain };
        match DecimalFormatter::try_new((&self.locale).into(), icu_decimal::options::DecimalFormatterOptions::default())
        {
            Ok(format) => format.format_to_string(&decimal),
            // Only for languages that the Unicode data do not know.
            Err(_) => plain,
        }
    }

    /// A number with its unit, in the plural form that the number asks for.
    #[must_use]
    pub fn count(&self, n: f64, unit: &str) -> String {
        self.with_unit(self.category(n), unit, &self.number(n))
    }

    /// The plural form that a number asks for.
    fn category(&self, n: f64) -> PluralCategory {
        let rules = PluralRules::try_new_cardinal((&self.locale).into());
        let decimal = plain(n).parse::<Decimal>();
        decimal.ok().zip(rules.ok()).map_or(PluralCategory::Other, |(n, rules)| rules.category_for(&n))
    }

    fn with_unit(&self, category: PluralCategory, unit: &str, n: &str) -> String {
        let key = match category {
            PluralCategory::Zero => "zero",
            PluralCategory::One => "one",
            PluralCategory::Two => "two",
            PluralCategory::Few => "few",
            PluralCategory::Many => "many",
            PluralCategory::Other => "other",
        };
        let forms = self.units.get(unit);
        let form = forms.and_then(|forms| forms.get(key).or_else(|| forms.get("other")));
        form.map_or_else(|| format!("{n} {unit}"), |form| fill(form, &[("n", n)]))
    }

    /// A care number: "40 to 60 days", "3 years". A share is given in percent.
    #[must_use]
    pub fn range(&self, range: &Range) -> String {
        let scale = if range.unit == Unit::Share { 100.0 } else { 1.0 };
        let (low, high) = (range.low * scale, range.high * scale);
        let unit = range.unit.key();
        if (low - high).abs() < 1e-9 {
            return self.count(low, unit);
        }
        let both = fill(&self.phrases.range, &[("low", &self.number(low)), ("high", &self.number(high))]);
        // The unit follows the second number: "1 to 2 years".
        self.with_unit(self.category(high), unit, &both)
    }

    /// A share in percent, rounded without false digits.
    #[must_use]
    pub fn percent(&self, share: &Odds) -> String {
        let value = to_f64(share) * 100.0;
        // Nearly sure is not sure, and nearly never is not never.
        let value = if *share < sure() { value.min(99.9) } else { value };
        let value = if *share > none() { value.max(0.01) } else { value };
        let digits = if value >= 10.0 { 10.0 } else { 100.0 };
        let rounded = (value * digits).round() / digits;
        fill(&self.phrases.percent, &[("n", &self.number(rounded))])
    }

    /// A chance: the exact fraction with the percent, or the percent alone where the fraction is long.
    #[must_use]
    pub fn chance(&self, chance: &Odds) -> String {
        let (fraction, percent) = (chance.to_string(), self.percent(chance));
        if *chance == none() || *chance == sure() || fraction.len() > LONGEST_FRACTION {
            return percent;
        }
        fill(&self.phrases.chance, &[("fraction", &fraction), ("percent", &percent)])
    }

    /// "lesser", "lesser and butter", "lesser, butter and mojave".
    #[must_use]
    pub fn list(&self, names: &[String]) -> String {
        match names {
            [] => String::new(),
            [only] => only.clone(),
            [head @ .., last] => fill(&self.phrases.and, &[("a", &head.join(", ")), ("b", last)]),
        }
    }
}

/// Fractions longer than this ("4095/4096") tell a reader less than the percent.
const LONGEST_FRACTION: usize = 6;

/// The units that a language has to know.
const UNITS: [&str; 11] =
    ["g", "days", "months", "years", "eggs", "share", "celsius", "clutches", "seasons", "females", "more"];

/// At most two decimals, none of them a needless zero.
fn plain(n: f64) -> String {
    let text = format!("{n:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
