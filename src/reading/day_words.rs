//! The words of days that records behind us and moments ahead of us share: months, seasons, days of the week.

use std::collections::HashMap;

use serde::Deserialize;
use serde::de::IgnoredAny;

use super::dates::Season;

/// From the word to what it means; words in small letters without accents.
pub(super) struct DayWords {
    /// Months, 1 to 12.
    pub(super) months: HashMap<String, i8>,
    /// Seasons of the northern half of the world.
    pub(super) seasons: HashMap<String, Season>,
    /// Days of the week, Monday is 1.
    pub(super) weekdays: HashMap<String, i8>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    months: HashMap<String, Vec<String>>,
    seasons: HashMap<Season, Vec<String>>,
    weekdays: HashMap<String, Vec<String>>,
    // Those of days behind us alone.
    #[serde(rename = "days")]
    _days: IgnoredAny,
    #[serde(rename = "units")]
    _units: IgnoredAny,
}

impl DayWords {
    /// The words of our own file; nothing where it is broken, which the tests find.
    pub(super) fn read() -> Option<Self> {
        let file: File = toml::from_str(TEXT).ok()?;
        Some(Self {
            months: turned(file.months, |k| k.parse().ok())?,
            seasons: turned(file.seasons, |k| Some(*k))?,
            weekdays: turned(file.weekdays, |k| k.parse().ok())?,
        })
    }
}

/// The file of these words.
pub(super) const TEXT: &str = include_str!("../../config/words/dates.toml");

/// A word list turned round: from the word to what it stands for.
pub(super) fn turned<K, V>(
    table: HashMap<K, Vec<String>>,
    value: impl Fn(&K) -> Option<V>,
) -> Option<HashMap<String, V>> {
    let mut out = HashMap::new();
    for (key, words) in table {
        for word in words {
            out.insert(word, value(&key)?);
        }
    }
    Some(out)
}

/// A pattern of any of these words, the longest first; a blank in one stands for any stretch of blanks.
pub(super) fn either<'w>(words: impl Iterator<Item = &'w String>) -> String {
    let mut words: Vec<String> = words.map(|w| regex::escape(w).replace(' ', r"\s+")).collect();
    words.sort_by_key(|w| std::cmp::Reverse(w.len()));
    format!("(?:{})", words.join("|"))
}
