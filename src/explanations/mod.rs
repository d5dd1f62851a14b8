//! Explanations for newcomers: topics, cards of genes and combinations, and a community's own words for them.
//!
//! In: the files of `config/explanations`, a question in everyday words, the catalogue. Out: the topic or card that fits,
//! as a [`Reply`](crate::reply::Reply). May touch: `reading`, `species`, `engine`. Never: a chat, a database, a clock.
//! Invariant: no figure is typed into a text. Chances come from the engine, ranges from the care numbers, when a text is shown.
//! Start at [`builtin`] and [`show::Desk`].

pub mod cards; // one gene, pair, combination, family or complex; two side by side
pub mod language; // phrases, plurals and numbers of one language
pub mod own; // a community's own words: overrides and aliases
pub mod search; // everyday questions to topics
pub mod show; // a topic with its figures worked out
pub mod things; // the names of a catalogue in a question
pub mod topic; // one topic, checked

use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::OnceLock;

use thiserror::Error;

use crate::species::check::{self, Problem};
use language::Language;
use search::Index;
use topic::Topic;

/// Why explanations cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{}", check::list(.0))]
pub struct ExplanationsError(
    /// Every mistake, with file and line.
    pub Vec<Problem>,
);

/// The explanations in one language; topics that are not translated are there in English.
#[derive(Debug)]
pub struct Spoken {
    /// The language.
    pub language: Language,
    topics: BTreeMap<String, Topic>,
    index: Index,
}

impl Spoken {
    fn new(language: Language, topics: BTreeMap<String, Topic>) -> Self {
        let aliases =
            topics.values().flat_map(|t| t.aliases.iter().chain([&t.title]).map(|a| (t.id.as_str(), a.as_str())));
        let index = Index::new(&language, aliases);
        Self { language, topics, index }
    }

    /// All topics, by id.
    pub fn topics(&self) -> impl Iterator<Item = &Topic> {
        self.topics.values()
    }

    /// One topic.
    #[must_use]
    pub fn topic(&self, id: &str) -> Option<&Topic> {
        self.topics.get(id)
    }

    /// The topics that fit a question, the best first, each with how well it fits: 0 not at all, 1 word for word.
    #[must_use]
    pub fn find(&self, question: &str) -> Vec<(&Topic, f64)> {
        let found = self.index.find(&self.language, question);
        found.into_iter().filter_map(|(id, fit)| Some((self.topic(&id)?, fit))).collect()
    }
}

/// Explanations in every language there is a folder for; English is the first.
#[derive(Debug)]
pub struct Explanations {
    spoken: Vec<Spoken>,
}

impl Explanations {
    /// Explanations of these files: path below `config/explanations` (`en/het.md`, `en/words.toml`) and text.
    ///
    /// # Errors
    /// [`ExplanationsError`] with every mistake that was found, not only the first.
    pub fn from_files(files: &[(&str, &str)]) -> Result<Self, ExplanationsError> {
        let mut problems = Vec::new();
        let mut languages: Vec<(String, Language)> = Vec::new();
        let mut topics: HashMap<String, BTreeMap<String, Topic>> = HashMap::new();
        for (path, text) in files {
            let Some((code, file)) = path.split_once('/') else {
                problems.push(problem(path, "stands in no folder; give it one named after its language, such as en"));
                continue;
            };
            if file == "words.toml" {
                match Language::read(path, code, text) {
                    Ok(language) => languages.push((code.to_owned(), language)),
                    Err(found) => problems.push(*found),
                }
            } else {
                match Topic::read(path, code, text) {
                    Ok(topic) => {
                        topics.entry(code.to_owned()).or_default().insert(topic.id.clone(), topic);
                    }
                    Err(found) => problems.extend(found),
                }
            }
        }
        let english = topics.get("en").cloned().unwrap_or_default();
        for (code, of_language) in &topics {
            if !languages.iter().any(|l| l.0 == *code) {
                problems.push(problem(code, "the folder has no words.toml with the phrases of its language"));
            }
            let words = languages.iter().find(|l| l.0 == *code).map(|l| &l.1);
            problems.extend(across(of_language, &english, words));
        }
        if !languages.iter().any(|l| l.0 == "en") {
            problems.push(problem("en", "there are no English words, which all other languages fall back to"));
        }
        if !problems.is_empty() {
            problems.sort_by(|a, b| (&a.file, a.line).cmp(&(&b.file, b.line)));
            return Err(ExplanationsError(problems));
        }
        languages.sort_by_key(|l| l.0 != "en");
        let spoken = languages.into_iter().map(|(code, language)| {
            let mut all = english.clone();
            all.extend(topics.remove(&code).unwrap_or_default());
            Spoken::new(language, all)
        });
        Ok(Self { spoken: spoken.collect() })
    }

    /// The explanations in the language of a locale ("de-AT" finds "de"), else in English.
    #[must_use]
    pub fn spoken(&self, locale: &str) -> &Spoken {
        let language = locale.split(['-', '_']).next().unwrap_or_default();
        let has = |code: &str| self.spoken.iter().find(|s| s.language.code().eq_ignore_ascii_case(code));
        // `from_files` makes none without English at its head.
        has(locale).or_else(|| has(language)).unwrap_or(&self.spoken[0])
    }

    /// Every language.
    pub fn languages(&self) -> impl Iterator<Item = &Spoken> {
        self.spoken.iter()
    }
}

fn problem(path: &str, what: &str) -> Problem {
    Problem { file: path.to_owned(), line: None, place: "file".to_owned(), what: what.to_owned() }
}

/// What topics of one language must keep together: links that exist, and no question that two topics claim.
fn across(
    topics: &BTreeMap<String, Topic>,
    english: &BTreeMap<String, Topic>,
    language: Option<&Language>,
) -> Vec<Problem> {
    let mut problems = Vec::new();
    let mut claimed: HashMap<String, &str> = HashMap::new();
    for topic in topics.values() {
        let file = format!("{}/{}.md", topic.language, topic.id);
        let mut say = |place: &str, what: String| {
            problems.push(Problem { file: file.clone(), line: None, place: place.to_owned(), what });
        };
        for link in &topic.see_also {
            if !topics.contains_key(link) && !english.contains_key(link) {
                say("see_also", format!("there is no topic {link:?}"));
            }
        }
        let mut own = HashSet::new();
        for alias in topic.aliases.iter().chain([&topic.title]) {
            // Two questions with the same words but for fillers cannot be told apart.
            let words = language.map(|l| search::bag(l, alias).into_iter().collect::<Vec<_>>().join(" "));
            let key = words.unwrap_or_else(|| crate::species::names::joined(alias));
            if !own.insert(key.clone()) {
                continue;
            }
            if let Some(other) = claimed.insert(key, &topic.id) {
                say(
                    "aliases",
                    format!(
                        "{alias:?} has the words of a question that leads to {other:?}; one question leads to one topic"
                    ),
                );
            }
        }
    }
    problems
}

macro_rules! files {
    ($($language:literal: $($file:literal)*;)*) => {
        /// The files that come with the program: path below `config/explanations`, and text.
        pub const BUILTIN: &[(&str, &str)] = &[
            $($((
                concat!($language, "/", $file),
                include_str!(concat!("../../config/explanations/", $language, "/", $file)),
            ),)*)*
        ];
    };
}

files! {
    "en": "words.toml"
        "albino_lines.md" "axanthic_lines.md" "backcross.md" "blue_eyed.md" "buy_or_raise.md" "cautions.md"
        "clutch_size.md" "combos.md" "complexes.md" "desert_females.md" "dinker.md" "dominant.md" "double_het.md"
        "egg_binding.md" "egg_warmth.md" "enigma.md" "fatherless_young.md" "female_weight.md" "fifty_percent_het.md"
        "generations.md" "genes_and_alleles.md" "harmful_supers.md" "het.md" "het_of_a_visible_gene.md" "holdbacks.md"
        "honest_hets.md" "how_to_ask.md" "inbreeding.md" "incomplete_dominant.md" "incubation.md" "lemon_frost.md"
        "limits.md" "line_bred.md" "lost_young.md" "male_makers.md" "males.md" "markers.md" "names_by_species.md"
        "no_visuals.md" "normal.md" "odds_in_numbers.md" "outcross.md" "per_egg.md" "possible_het.md"
        "possible_super.md" "project_phases.md" "proving_out.md" "quarantine.md" "recessive.md" "records.md"
        "rest_years.md" "scaleless.md" "season.md" "sex_linked.md" "sexes.md" "slugs.md" "small_clutches.md"
        "sperm_storage.md" "square.md" "stargazer.md" "super.md" "sure_het.md" "test_breeding.md" "triple_het.md"
        "visible_first.md" "visual.md" "wobble.md";
}

/// The explanations that come with the program, read once.
///
/// # Errors
/// [`ExplanationsError`] when a file breaks a rule; a test keeps that from being handed out.
pub fn builtin() -> Result<&'static Explanations, &'static ExplanationsError> {
    static BUILT: OnceLock<Result<Explanations, ExplanationsError>> = OnceLock::new();
    BUILT.get_or_init(|| Explanations::from_files(BUILTIN)).as_ref()
}
