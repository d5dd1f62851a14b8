//! The everyday words that the reader knows, by role, from `config/words/`.
//!
//! In: the word files. Out: [`Vocabulary`], a look-up from a joined word or phrase to its [`Role`] or number.
//! Not here: names of genes (`lexicon`), which are looked up beside these.

use std::collections::HashMap;
use std::sync::OnceLock;

use rustc_hash::{FxHashMap, FxHashSet};
use serde::Deserialize;
use thiserror::Error;

use crate::species::names::joined;

/// What part a word plays in a message.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each role is shown by its words in config/words/en.toml
pub enum Role {
    Male,
    Female,
    MaleAfter,
    FemaleAfter,
    Unsexed,
    Pair,
    Trio,
    Cross,
    To,
    With,
    Over,
    On,
    Into,
    By,
    And,
    Versus,
    Or,
    Breed,
    From,
    Sibling,
    Mother,
    Father,
    Parents,
    OneParent,
    Grandparent,
    Child,
    Het,
    For,
    Possible,
    PossibleSuper,
    Visual,
    Super,
    Homo,
    Normal,
    NoHets,
    Not,
    Proven,
    Unproven,
    Single,
    Double,
    Triple,
    Quadruple,
    Both,
    All,
    Same,
    MaleMaker,
    FemaleMaker,
    Line,
    Odds,
    Outcomes,
    Square,
    Target,
    Can,
    WhyNo,
    AtLeastOne,
    HowMany,
    PerEgg,
    PerClutch,
    Certain,
    OnlyGood,
    Short,
    Best,
    BothWays,
    Safe,
    Hets,
    Question,
    Eggs,
    Clutches,
    Seasons,
    Of,
    Grams,
    Kilos,
    Pounds,
    Ounces,
    Months,
    Weeks,
    Age,
    Adult,
    Growing,
    Born,
    Filler,
}

/// What part a phrase plays when it changes or answers the last thing said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each role is shown by its words in config/words/en.toml
pub enum FollowUp {
    Swap,
    Without,
    Add,
    Instead,
    Again,
    HowWorked,
    SameBut,
    Edit,
    AllKinds,
    ChoiceFirst,
    ChoiceSecond,
    ChoiceThird,
    ChoiceLast,
    Yes,
    No,
}

/// One word file as it is written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[allow(dead_code)] // names the language for people who read the file
    language: String,
    #[serde(default)]
    sex: HashMap<Role, Vec<String>>,
    #[serde(default)]
    pairing: HashMap<Role, Vec<String>>,
    #[serde(default)]
    relatives: HashMap<Role, Vec<String>>,
    #[serde(default)]
    genes: HashMap<Role, Vec<String>>,
    #[serde(default)]
    asking: HashMap<Role, Vec<String>>,
    #[serde(default)]
    amounts: HashMap<Role, Vec<String>>,
    #[serde(default)]
    age: HashMap<Role, Vec<String>>,
    #[serde(default)]
    filler: HashMap<Role, Vec<String>>,
    #[serde(default)]
    follow_up: HashMap<FollowUp, Vec<String>>,
    #[serde(default)]
    numbers: HashMap<String, u32>,
}

/// A word file that cannot be used.
#[derive(Debug, Error)]
#[error("config/words/{file}: {source}")]
pub struct VocabularyError {
    /// The file.
    file: &'static str,
    /// What is wrong, with its line.
    source: toml::de::Error,
}

/// Words and phrases by role.
#[derive(Debug, Default)]
pub struct Vocabulary {
    roles: FxHashMap<String, Role>,
    numbers: FxHashMap<String, u32>,
    follow_ups: FxHashMap<String, FollowUp>,
}

/// The files, the first one winning where two claim a word.
const FILES: [(&str, &str); 3] = [
    ("en.toml", include_str!("../../config/words/en.toml")),
    ("de.toml", include_str!("../../config/words/de.toml")),
    ("es.toml", include_str!("../../config/words/es.toml")),
];

impl Vocabulary {
    /// The vocabulary that comes with the program.
    ///
    /// # Errors
    /// [`VocabularyError`] when a word file does not parse or names an unknown role.
    pub fn builtin() -> Result<Self, VocabularyError> {
        let mut all = Self::default();
        for (file, text) in FILES {
            let read: File = toml::from_str(text).map_err(|source| VocabularyError { file, source })?;
            for table in
                [read.sex, read.pairing, read.relatives, read.genes, read.asking, read.amounts, read.age, read.filler]
            {
                for (role, words) in table {
                    for word in words.iter().flat_map(|phrase| spelled_out(phrase)) {
                        let key = joined(&word);
                        // Filler gives way to every other role, whatever the order of the files' tables.
                        match all.roles.get(&key) {
                            Some(old) if *old != Role::Filler => {}
                            _ => {
                                all.roles.insert(key, role);
                            }
                        }
                    }
                }
            }
            for (word, n) in read.numbers {
                all.numbers.entry(joined(&word)).or_insert(n);
            }
            for (role, words) in read.follow_up {
                for word in words.iter().flat_map(|phrase| spelled_out(phrase)) {
                    all.follow_ups.entry(joined(&word)).or_insert(role);
                }
            }
        }
        Ok(all)
    }

    /// The role of a joined word or phrase.
    #[must_use]
    pub fn role(&self, key: &str) -> Option<Role> {
        self.roles.get(key).copied()
    }

    /// The number that a joined word names.
    #[must_use]
    pub fn number(&self, key: &str) -> Option<u32> {
        self.numbers.get(key).copied()
    }

    /// The part a joined phrase plays in a follow-up.
    #[must_use]
    pub fn follow_up(&self, key: &str) -> Option<FollowUp> {
        self.follow_ups.get(key).copied()
    }

    /// Words that the spelling layer may heal towards: those that steer the reading of an animal or a pairing.
    pub fn healable(&self) -> impl Iterator<Item = (&str, Role)> {
        self.roles
            .iter()
            .filter(|(word, role)| word.len() >= 5 && word.len() <= 14 && steers(**role))
            .map(|(word, role)| (word.as_str(), *role))
    }
}

/// The phrases that one with alternatives stands for: `what (can|will) she make` is two.
fn spelled_out(phrase: &str) -> Vec<String> {
    let Some((before, (inside, after))) =
        phrase.split_once('(').and_then(|(before, rest)| Some((before, rest.split_once(')')?)))
    else {
        return vec![phrase.to_owned()];
    };
    let ends = spelled_out(after);
    inside.split('|').flat_map(|one| ends.iter().map(move |end| format!("{before}{one}{end}"))).collect()
}

fn steers(role: Role) -> bool {
    use Role::{Both, Double, Eggs, Female, Het, Homo, Male, Normal, Odds, Possible, Super, Triple, Visual};
    matches!(
        role,
        Male | Female | Het | Possible | Visual | Super | Homo | Normal | Double | Triple | Both | Odds | Eggs
    )
}

static ENGLISH: OnceLock<FxHashSet<&'static str>> = OnceLock::new();

/// Whether a word in small letters is an ordinary English word (word lists of the SCOWL collection, see
/// `config/words/english.LICENSE`). Such a word is never taken for a slip of a gene name.
#[must_use]
pub fn is_english(word: &str) -> bool {
    ENGLISH.get_or_init(|| include_str!("../../config/words/english.txt").lines().collect()).contains(word)
}

#[cfg(test)]
mod tests {
    use super::spelled_out;

    #[test]
    fn alternatives_are_spelled_out_in_the_order_they_stand() {
        assert_eq!(spelled_out("what now"), ["what now"]);
        assert_eq!(
            spelled_out("what (can|will) (she|he) make"),
            ["what can she make", "what can he make", "what will she make", "what will he make"]
        );
        assert_eq!(spelled_out("an (open one"), ["an (open one"]);
    }
}
