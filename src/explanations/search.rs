//! Everyday questions to topics: which topic a question is about, slips of the pen forgiven.
//!
//! In: the aliases and titles of all topics, then a question. Out: topics with how well they fit, the best first.
//! A question and an alias are compared as sets of words without fillers; a rare word counts more than a common one.
//! Nothing here is random or learned: the same question finds the same topics.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::language::Language;
use crate::reading::vocabulary::is_english;
use crate::reading::words::{self, Kind};

/// Below this a topic does not fit a question.
pub const FITS: f64 = 0.55;
/// Topics that fit less well than the best by no more than this are offered beside it.
pub const NEARLY: f64 = 0.1;
/// What a slip of the pen costs of a word.
const SLIP: f64 = 0.8;
/// The weight of a word that no topic knows.
const STRANGE: f64 = 0.6;

/// The words of all aliases.
#[derive(Debug)]
pub(super) struct Index {
    entries: Vec<(String, BTreeSet<String>)>,
    weights: HashMap<String, f64>,
}

impl Index {
    /// The words of these aliases, each with the id of its topic.
    pub(super) fn new<'a>(language: &Language, aliases: impl Iterator<Item = (&'a str, &'a str)>) -> Self {
        let mut entries = Vec::new();
        let mut in_topics: HashMap<String, BTreeSet<&str>> = HashMap::new();
        let mut topics = BTreeSet::new();
        for (topic, alias) in aliases {
            topics.insert(topic);
            let words = bag(language, alias);
            for word in &words {
                in_topics.entry(word.clone()).or_default().insert(topic);
            }
            entries.push((topic.to_owned(), words));
        }
        #[expect(clippy::cast_precision_loss, reason = "counts of topics")]
        let weight = |of: BTreeSet<&str>| f64::ln(1.0 + topics.len() as f64 / of.len() as f64);
        let weights = in_topics.into_iter().map(|(word, of)| (word, weight(of))).collect();
        Self { entries, weights }
    }

    /// Topics by how well they fit, from 0 to 1, the best first; those that share no word are left out.
    pub(super) fn find(&self, language: &Language, question: &str) -> Vec<(String, f64)> {
        let asked: Vec<(String, Vec<(&str, f64)>)> =
            bag(language, question).into_iter().map(|word| (word.clone(), self.known(&word))).collect();
        let weight = |word: &str| self.weights.get(word).copied().unwrap_or(STRANGE);
        let asked_weight: f64 = asked
            .iter()
            .map(|(word, known)| known.iter().map(|k| weight(k.0)).fold(STRANGE.min(weight(word)), f64::max))
            .sum();
        let mut best: BTreeMap<&str, f64> = BTreeMap::new();
        for (topic, alias) in &self.entries {
            let alias_weight: f64 = alias.iter().map(|w| weight(w)).sum();
            let shared: f64 = asked
                .iter()
                .filter_map(|(_, known)| known.iter().find(|(k, _)| alias.contains(*k)).map(|(k, fit)| weight(k) * fit))
                .sum();
            if shared > 0.0 {
                let fit = (2.0 * shared / (asked_weight + alias_weight)).min(1.0);
                let old = best.entry(topic).or_insert(0.0);
                *old = old.max(fit);
            }
        }
        let mut found: Vec<(String, f64)> = best.into_iter().map(|(id, fit)| (id.to_owned(), fit)).collect();
        found.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        found
    }

    /// The words of the aliases that this one stands for: itself, or those a slip away.
    fn known(&self, word: &str) -> Vec<(&str, f64)> {
        if let Some((known, _)) = self.weights.get_key_value(word) {
            return vec![(known, 1.0)];
        }
        let slips = slips(word);
        if slips == 0 || is_english(word) {
            return Vec::new();
        }
        let mut near: Vec<(usize, &str)> = self
            .weights
            .keys()
            .filter(|known| known.len().abs_diff(word.len()) <= slips)
            .map(|known| (strsim::osa_distance(known, word), known.as_str()))
            .filter(|(distance, known)| {
                *distance <= slips && (*distance < 2 || known.as_bytes().first() == word.as_bytes().first())
            })
            .collect();
        near.sort_unstable();
        let least = near.first().map_or(0, |n| n.0);
        near.into_iter().take_while(|n| n.0 == least).map(|n| (n.1, SLIP)).collect()
    }
}

/// Slips that are forgiven in a word: none in short ones.
#[must_use]
pub(super) fn slips(word: &str) -> usize {
    match word.chars().count() {
        0..=3 => 0,
        4..=6 => 1,
        _ => 2,
    }
}

/// The words of a text that matter, each in the form in which they are compared. A text of fillers keeps them.
pub(super) fn bag(language: &Language, text: &str) -> BTreeSet<String> {
    let all: Vec<String> = words::words(text).words.iter().filter_map(|w| form(language, w)).collect();
    let matter: BTreeSet<String> = all.iter().filter(|w| !language.is_filler(w)).cloned().collect();
    if matter.is_empty() { all.into_iter().collect() } else { matter }
}

/// A word as it is compared: numbers without their percent sign, plurals as the singular, one word for its like.
pub(super) fn form(language: &Language, word: &words::Word) -> Option<String> {
    Some(match word.kind {
        Kind::Letters if language.is_filler(&word.form) => word.form.clone(),
        Kind::Letters => {
            let one = language.same(&word.form);
            language.same(singular(one)).to_owned()
        }
        Kind::Number(n) => n.to_string(),
        Kind::Percent(hundredths) => (hundredths / 100).to_string(),
        Kind::Sexes(males, females, None) => format!("{males}.{females}"),
        Kind::Sexes(males, females, Some(unsexed)) => format!("{males}.{females}.{unsexed}"),
        Kind::Fraction(a, b) => format!("{a}/{b}"),
        Kind::Ratio(a, b) => format!("{a}:{b}"),
        Kind::Decimal(_) => word.form.clone(),
        Kind::Sign(_) => return None,
    })
}

/// The word without the s of a plural.
fn singular(word: &str) -> &str {
    let plural = word.len() > 3 && word.ends_with('s') && !["ss", "us", "is"].iter().any(|end| word.ends_with(end));
    if plural { &word[..word.len() - 1] } else { word }
}
