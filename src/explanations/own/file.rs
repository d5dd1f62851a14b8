//! A place's own words as one TOML file, to be kept, moved and read by people.
//!
//! In: an [`Own`], or the text of a file. Out: the text, or an [`Own`] with everything that is good and a list of what is
//! not. Everything that comes in is checked as if it had just been typed. What goes out comes in again unchanged.

use serde::{Deserialize, Serialize};
use toml::Spanned;

use super::Own;
use super::aliases::Against;
use super::draft::{Draft, Rules};
use super::history::{By, History, Version};
use crate::species::check::Problem;

/// The form of the file; others are refused.
const FORM: u32 = 1;
/// Bytes of a file that is read.
pub const MOST_BYTES: usize = 1 << 20;

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct File<T, A, C> {
    hatchward_words: u32,
    #[serde(default = "Vec::new", skip_serializing_if = "Vec::is_empty")]
    alias: Vec<A>,
    #[serde(default = "Vec::new", skip_serializing_if = "Vec::is_empty")]
    topic: Vec<T>,
    #[serde(default = "Vec::new", skip_serializing_if = "Vec::is_empty")]
    caution: Vec<C>,
}

/// A gene whose cautions are said in any case.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct CautionLine {
    gene: String,
    species: String,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct AliasLine {
    word: String,
    means: String,
    species: String,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct TopicLine {
    id: String,
    version: u32,
    author: String,
    at_unix_s: i64,
    /// Left out where the topic was withdrawn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    text: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    title: Option<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    questions: Vec<String>,
}

/// What came in.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Imported {
    /// Everything that is good.
    pub own: Own,
    /// What was left out, and why, with its line.
    pub refused: Vec<Problem>,
}

/// The words of a place as a file.
#[must_use]
pub fn export(own: &Own) -> String {
    let alias = own.aliases().iter().map(|a| AliasLine {
        word: a.word().to_owned(),
        means: a.means().to_owned(),
        species: a.species().to_owned(),
    });
    let versions = own.topics().flat_map(|(id, history)| history.versions().iter().map(move |v| (id, v)));
    let topic = versions.map(|(id, version)| {
        let draft = version.wording.as_ref().map(super::draft::Wording::draft);
        TopicLine {
            id: id.to_owned(),
            version: version.number,
            // A word, not a number: ids of platforms are beyond the whole numbers of TOML.
            author: version.by.author.to_string(),
            at_unix_s: version.by.at_unix_s,
            text: draft.as_ref().map(|d| d.text.clone()),
            title: draft.as_ref().and_then(|d| d.title.clone()),
            questions: draft.map(|d| d.questions).unwrap_or_default(),
        }
    });
    let caution =
        own.all_always().map(|(species, gene)| CautionLine { gene: gene.to_owned(), species: species.to_owned() });
    let file =
        File { hatchward_words: FORM, alias: alias.collect(), topic: topic.collect(), caution: caution.collect() };
    // Only maps with keys that are no strings, or values before tables, cannot be written; there are none.
    toml::to_string_pretty(&file).unwrap_or_default()
}

/// Reads a file. What is good comes in, also where something beside it is refused.
#[must_use]
pub fn import(name: &str, text: &str, rules: Rules, against: Against<'_>) -> Imported {
    let mut all = Imported::default();
    let mut say = |line: Option<usize>, place: &str, what: String| {
        all.refused.push(Problem { file: name.to_owned(), line, place: place.to_owned(), what });
    };
    if text.len() > MOST_BYTES {
        say(None, "file", format!("has {} bytes, {MOST_BYTES} are read", text.len()));
        return all;
    }
    let line = |at: usize| Some(1 + text[..at.min(text.len())].matches('\n').count());
    let file: File<Spanned<TopicLine>, Spanned<AliasLine>, Spanned<CautionLine>> = match toml::from_str(text) {
        Ok(file) => file,
        Err(error) => {
            say(error.span().and_then(|s| line(s.start)), "file", error.message().to_owned());
            return all;
        }
    };
    if file.hatchward_words != FORM {
        say(None, "hatchward_words", format!("is {}, but only {FORM} is known here", file.hatchward_words));
        return all;
    }
    let mut own = Own::default();
    for entry in file.alias {
        let at = line(entry.span().start);
        let AliasLine { word, means, species } = entry.into_inner();
        let Some(id) = against.catalogue.by_name(&species) else {
            say(at, "alias", format!("no species is called {species:?}"));
            continue;
        };
        match against.check(&word, &means, id) {
            Ok(alias) => {
                if let Err(full) = own.add_alias(alias) {
                    say(at, "alias", full.to_string());
                }
            }
            Err(clashes) => {
                let what = clashes.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
                say(at, "alias", what);
            }
        }
    }
    for entry in file.caution {
        let at = line(entry.span().start);
        let CautionLine { gene, species } = entry.into_inner();
        let known = against.catalogue.by_name(&species).map(|id| against.catalogue.get(id));
        match known.filter(|s| s.gene_by_id(&gene).is_some()) {
            Some(of) => {
                if let Err(full) = own.say_always(of.key(), &gene) {
                    say(at, "caution", full.to_string());
                }
            }
            None => say(at, "caution", format!("{gene:?} is no gene of {species:?} in the catalogue")),
        }
    }
    let mut versions: std::collections::BTreeMap<String, Vec<Version>> = std::collections::BTreeMap::new();
    for entry in file.topic {
        let at = line(entry.span().start);
        let TopicLine { id, version: number, author, at_unix_s, text, title, questions } = entry.into_inner();
        let Ok(author) = author.parse() else {
            say(at, "topic", format!("{author:?} is no author's id"));
            continue;
        };
        if !is_id(&id) {
            say(at, "topic", format!("{id:?} is no id; use small letters, digits and underscores, at most 40"));
            continue;
        }
        if !versions.contains_key(&id) && versions.len() >= super::MOST_TOPICS {
            say(at, "topic", format!("more than {} topics", super::MOST_TOPICS));
            continue;
        }
        let wording = match text {
            None => None,
            Some(text) => {
                let figures = against.spoken.topic(&id).into_iter().flat_map(|t| t.figures.keys().map(String::as_str));
                match (Draft { title, questions, text }).check(rules, figures) {
                    Ok(wording) => Some(wording),
                    Err(refused) => {
                        say(at, "topic", format!("{id}: {}", refused.to_string().replace('\n', "; ")));
                        continue;
                    }
                }
            }
        };
        versions.entry(id).or_default().push(Version { number, wording, by: By { author, at_unix_s } });
    }
    own.topics = versions.into_iter().map(|(id, versions)| (id, History::of(versions))).collect();
    all.own = own;
    all
}

/// Whether this may be the id of a topic.
#[must_use]
pub fn is_id(id: &str) -> bool {
    !id.is_empty() && id.len() <= 40 && id.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_')
}
