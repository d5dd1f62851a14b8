//! One topic: a text for newcomers with the questions it answers, its sources and an example to work out.
//!
//! In: a Markdown file with a TOML head between two lines `+++`. Out: a checked [`Topic`].
//! Invariant: every figure of the text stands in braces and has a recipe in the head; the text itself holds no number but
//! the trade's labels. Every fact has a source, or says that it has none. Not here: working figures out (`show`).

use std::collections::{BTreeMap, BTreeSet};

use serde::Deserialize;
use toml::Spanned;

use crate::species::check::Problem;

/// What a claim without a published source says.
pub const COMMON_PRACTICE: &str = "common practice, no source";
/// Words of a text: fewer explain nothing, more are not read.
const WORDS: std::ops::RangeInclusive<usize> = 80..=200;
/// The longest sentence, in words.
const LONGEST_SENTENCE: usize = 28;
/// The longest mean of all sentences of a text, in words.
const LONGEST_MEAN: usize = 16;
/// Numbers that are words of the trade, not figures: labels of hets, counts of sexes, generations.
const LABELS: [&str; 12] = ["66", "50", "100", "1.0", "0.1", "0.0.1", "1.1", "1.2", "f1", "f2", "1:3", "25"];
/// Signs that a chat could take for mark-up or a call.
const MARKUP: [&str; 8] = ["*", "_", "`", "#", "@", "<", "](", "://"];

/// The animals of an example and the pairing as a member would write it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Example {
    /// One sentence on the animals.
    pub tells: String,
    /// The message that is worked out.
    pub ask: String,
}

/// Something that the text says as a fact.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Claim {
    /// The fact, in short.
    pub says: String,
    /// A published source with its year, or [`COMMON_PRACTICE`].
    pub source: String,
}

/// Two animals whose young's inbreeding is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kin {
    /// Same sire and dam.
    FullSiblings,
    /// One is the other's sire or dam.
    ParentAndYoung,
    /// One parent in common.
    HalfSiblings,
    /// A parent of each are full siblings.
    FirstCousins,
}

/// Where a figure of a text comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Figure {
    /// The chance that this message asks for.
    Chance(String),
    /// A care number: species and item.
    Care(String, String),
    /// The inbreeding of the young of two relatives.
    Kin(Kin),
}

impl Figure {
    /// Reads a recipe: `care: SPECIES.ITEM`, `kin: full siblings`, or a message.
    fn read(text: &str) -> Result<Self, String> {
        if let Some(place) = text.strip_prefix("care:") {
            return match place.trim().split_once('.') {
                Some((species, item)) => Ok(Self::Care(species.to_owned(), item.to_owned())),
                None => Err(format!("{text:?} needs species and item, such as care: ball_python.clutch_size")),
            };
        }
        match text.strip_prefix("kin:").map(str::trim) {
            None => Ok(Self::Chance(text.to_owned())),
            Some("full siblings") => Ok(Self::Kin(Kin::FullSiblings)),
            Some("parent and young") => Ok(Self::Kin(Kin::ParentAndYoung)),
            Some("half siblings") => Ok(Self::Kin(Kin::HalfSiblings)),
            Some("first cousins") => Ok(Self::Kin(Kin::FirstCousins)),
            Some(_) => Err(format!(
                "{text:?} is no kinship; use full siblings, parent and young, half siblings or first cousins"
            )),
        }
    }
}

/// A checked topic.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Topic {
    /// Its id, the file's name: `possible_het`.
    pub id: String,
    /// The code of the language it is written in.
    pub language: String,
    /// Its title.
    pub title: String,
    /// What is said before everything else, where the topic is about harm.
    pub caution: Option<String>,
    /// Everyday questions and words that lead here.
    pub aliases: Vec<String>,
    /// Ids of topics to read next.
    pub see_also: Vec<String>,
    /// The species of its messages, where they name none.
    pub species: String,
    /// The worked example.
    pub example: Example,
    /// The figures of the text, by the name that stands in braces.
    pub figures: BTreeMap<String, Figure>,
    /// What it says as fact; empty only where it is about the program itself.
    pub claims: Vec<Claim>,
    /// The text, with figures in braces.
    pub paragraphs: Vec<String>,
}

/// The head as it is written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Head {
    title: Spanned<String>,
    caution: Option<Spanned<String>>,
    aliases: Spanned<Vec<String>>,
    see_also: Spanned<Vec<String>>,
    #[serde(default = "ball_python")]
    species: String,
    #[serde(default)]
    about_the_bot: bool,
    example: Spanned<Example>,
    #[serde(default)]
    numbers: BTreeMap<String, Spanned<String>>,
    #[serde(default)]
    claim: Vec<Spanned<Claim>>,
}

fn ball_python() -> String {
    "ball_python".to_owned()
}

impl Topic {
    /// Reads and checks one file; `path` is `en/het.md` or the like.
    ///
    /// # Errors
    /// Every mistake found, with its line. A head that cannot be read hides the mistakes of the text.
    pub fn read(path: &str, language: &str, text: &str) -> Result<Self, Vec<Problem>> {
        let mut check = Check { path, problems: Vec::new() };
        let text = text.replace("\r\n", "\n");
        let parts = text.strip_prefix("+++\n").and_then(|rest| rest.split_once("\n+++\n"));
        let Some((head, body)) = parts else {
            check.say(Some(1), "file", "begins with a line +++, the head, and another line +++".to_owned());
            return Err(check.problems);
        };
        // The head begins in line 2.
        let line = |at: usize| 2 + head[..at.min(head.len())].matches('\n').count();
        let body_line = 3 + head.matches('\n').count() + 1;
        let read: Head = match toml::from_str(head) {
            Ok(read) => read,
            Err(error) => {
                check.say(error.span().map(|s| line(s.start)), "head", error.message().to_owned());
                return Err(check.problems);
            }
        };
        let name = path.rsplit('/').next().unwrap_or(path);
        let id = name.strip_suffix(".md").unwrap_or(name).to_owned();
        if id.is_empty() || !id.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_') {
            check.say(None, "file", format!("{name:?} is no id of small letters and underscores with the ending .md"));
        }
        let at = |spanned: std::ops::Range<usize>| Some(line(spanned.start));
        check.head(&read, &id, &at);
        let mut figures = BTreeMap::new();
        for (key, recipe) in &read.numbers {
            match Figure::read(recipe.get_ref()) {
                Ok(figure) => {
                    figures.insert(key.clone(), figure);
                }
                Err(what) => check.say(at(recipe.span()), "numbers", what),
            }
        }
        let names = read.numbers.iter().map(|(key, recipe)| (key.as_str(), at(recipe.span()))).collect();
        check.body(body, body_line, names);
        if !check.problems.is_empty() {
            return Err(check.problems);
        }
        let paragraphs = body.split("\n\n").map(|p| p.split_whitespace().collect::<Vec<_>>().join(" "));
        Ok(Self {
            id,
            language: language.to_owned(),
            title: read.title.into_inner(),
            caution: read.caution.map(Spanned::into_inner),
            aliases: read.aliases.into_inner(),
            see_also: read.see_also.into_inner(),
            species: read.species,
            example: read.example.into_inner(),
            figures,
            claims: read.claim.into_iter().map(Spanned::into_inner).collect(),
            paragraphs: paragraphs.filter(|p| !p.is_empty()).collect(),
        })
    }

    /// Its sources, each once, published ones first.
    #[must_use]
    pub fn sources(&self) -> Vec<&str> {
        let mut sources: Vec<&str> = Vec::new();
        for claim in &self.claims {
            if !sources.contains(&claim.source.as_str()) {
                sources.push(&claim.source);
            }
        }
        sources.sort_by_key(|s| *s == COMMON_PRACTICE);
        sources
    }
}

struct Check<'a> {
    path: &'a str,
    problems: Vec<Problem>,
}

impl Check<'_> {
    fn say(&mut self, line: Option<usize>, place: &str, what: String) {
        self.problems.push(Problem { file: self.path.to_owned(), line, place: place.to_owned(), what });
    }

    fn head(&mut self, head: &Head, id: &str, at: &dyn Fn(std::ops::Range<usize>) -> Option<usize>) {
        let title = head.title.get_ref();
        if !(3..=60).contains(&title.chars().count()) {
            self.say(at(head.title.span()), "title", format!("{title:?} is to have 3 to 60 characters"));
        }
        if head.caution.as_ref().is_some_and(|c| !(10..=200).contains(&c.get_ref().chars().count())) {
            let line = head.caution.as_ref().and_then(|c| at(c.span()));
            self.say(line, "caution", "is to have 10 to 200 characters".to_owned());
        }
        let aliases = head.aliases.get_ref();
        if aliases.is_empty() || aliases.iter().any(|a| a.trim().is_empty()) {
            let what = "needs at least one everyday question, and no empty one".to_owned();
            self.say(at(head.aliases.span()), "aliases", what);
        }
        if head.see_also.get_ref().iter().any(|link| link == id) {
            self.say(at(head.see_also.span()), "see_also", "a topic does not lead to itself".to_owned());
        }
        let example = head.example.get_ref();
        if example.tells.trim().is_empty() || example.ask.trim().is_empty() {
            self.say(at(head.example.span()), "example", "needs a sentence that tells and a pairing to ask".to_owned());
        }
        if head.claim.is_empty() && !head.about_the_bot {
            let what = "none is given: name a source, or say \"common practice, no source\" (about_the_bot = true where \
                        the topic is about the program itself)";
            self.say(at(head.title.span()), "claim", what.to_owned());
        }
        for claim in &head.claim {
            let Claim { says, source } = claim.get_ref();
            if says.trim().is_empty() {
                self.say(at(claim.span()), "claim", "says nothing".to_owned());
            }
            if source != COMMON_PRACTICE && !has_year(source) {
                let what = format!("{source:?} is to be a publication with its year, or {COMMON_PRACTICE:?}");
                self.say(at(claim.span()), "source", what);
            }
        }
    }

    fn body(&mut self, body: &str, first_line: usize, names: BTreeMap<&str, Option<usize>>) {
        let mut used = BTreeSet::new();
        for (line, text) in (first_line..).zip(body.lines()) {
            for name in placeholders(text) {
                if !names.contains_key(name) {
                    self.say(Some(line), "text", format!("{{{name}}} has no recipe under [numbers]"));
                }
                used.insert(name.to_owned());
            }
            let plain = without_placeholders(text);
            for token in plain.split_whitespace().filter(|t| t.bytes().any(|b| b.is_ascii_digit())) {
                let bare = token.trim_matches(|c: char| ".,:;()?!%".contains(c)).to_lowercase();
                if !LABELS.contains(&bare.as_str()) {
                    let what =
                        format!("{bare:?} is a number typed by hand; give a recipe under [numbers] and write {{name}}");
                    self.say(Some(line), "text", what);
                }
            }
            if let Some(sign) = MARKUP.iter().find(|sign| plain.contains(**sign)) {
                self.say(Some(line), "text", format!("{sign:?} is mark-up; a topic is plain text"));
            }
        }
        for (name, line) in names.into_iter().filter(|(name, _)| !used.contains(*name)) {
            self.say(line, "numbers", format!("{name:?} is not used in the text"));
        }
        let words = body.split_whitespace().count();
        if !WORDS.contains(&words) {
            let what = format!("has {words} words; {} to {} are read by newcomers", WORDS.start(), WORDS.end());
            self.say(Some(first_line), "text", what);
        }
        let sentences: Vec<usize> = sentences(body).map(|s| s.split_whitespace().count()).collect();
        if let Some(longest) = sentences.iter().max().filter(|n| **n > LONGEST_SENTENCE) {
            let what = format!("a sentence has {longest} words, more than {LONGEST_SENTENCE}");
            self.say(Some(first_line), "text", what);
        }
        if sentences.iter().sum::<usize>() > LONGEST_MEAN * sentences.len() {
            self.say(Some(first_line), "text", format!("sentences have more than {LONGEST_MEAN} words on average"));
        }
    }
}

/// Whether a source names a year between 1800 and 2099.
fn has_year(source: &str) -> bool {
    source
        .split(|c: char| !c.is_ascii_digit())
        .any(|n| n.len() == 4 && ["18", "19", "20"].iter().any(|c| n.starts_with(c)))
}

/// The names in braces of a text.
pub fn placeholders(text: &str) -> impl Iterator<Item = &str> {
    text.split('{').skip(1).filter_map(|rest| rest.split_once('}').map(|(name, _)| name))
}

fn without_placeholders(text: &str) -> String {
    let mut parts = text.split('{');
    let head = parts.next().unwrap_or_default().to_owned();
    parts.fold(head, |out, rest| out + " x " + rest.split_once('}').map_or(rest, |(_, tail)| tail))
}

/// The sentences of a text. A point inside "1.0" or "0.1" ends none.
pub fn sentences(text: &str) -> impl Iterator<Item = &str> {
    text.split("\n\n")
        .flat_map(|p| p.split_inclusive(['?', '!']))
        .flat_map(|part| part.split(". "))
        .filter(|s| s.chars().any(char::is_alphabetic))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn braces_and_sentences() {
        assert_eq!(placeholders("a {b} c {d}.").collect::<Vec<_>>(), ["b", "d"]);
        assert_eq!(without_placeholders("a {b} c"), "a  x  c");
        assert_eq!(sentences("So 1.0 is male. Is it?\n\nYes. No!").count(), 4);
        assert!(has_year("Mendel 1866, Verh.") && !has_year("somebody 12345"));
    }
}
