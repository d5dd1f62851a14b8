//! A topic as a reply: its text with every figure worked out, and its example with the table that the engine gives.
//!
//! In: a [`Topic`] and a [`Desk`]: the catalogue, the reader, the language, and who answers a pairing. Out: a [`Reply`].
//! Invariant: a figure that cannot be worked out is said to be so; none is made up.

use sha2::{Digest, Sha256};

use super::language::fill;
use super::search::Index;
use super::topic::{COMMON_PRACTICE, Figure, Kin, Topic};
use super::{Spoken, own};
use crate::engine::odds::Odds;
use crate::engine::pedigree::descent::{AnimalId, Descent, Parents};
use crate::engine::pedigree::kinship::relate;
use crate::reading::requests::{Intent, Reading};
use crate::reading::{Context, Reader};
use crate::reply::Reply;
use crate::species::{Catalogue, Species};

/// Characters of a topic without its example: what a phone shows without much scrolling.
pub const MOST_CHARACTERS: usize = 900;
/// Characters of a topic or card with its example.
pub const MOST_WITH_EXAMPLE: usize = 1_600;

/// Who answers a pairing: `conversation`, which stands above this room and hands itself in.
pub trait Answers {
    /// The exact chance that a reading asks for: of its wish per egg, or of at least one such young where eggs are named.
    /// `None` where it asks for none.
    fn chance(&self, species: &Species, asked: &Reading) -> Option<Odds>;
    /// The reply to a reading.
    fn table(&self, species: &Species, asked: &Reading) -> Reply;
}

/// Everything that showing an explanation takes.
#[derive(Clone, Copy)]
pub struct Desk<'a> {
    /// What is known of each species.
    pub catalogue: &'a Catalogue,
    /// Reads the messages of examples.
    pub reader: &'a Reader,
    /// The language.
    pub spoken: &'a Spoken,
    /// Answers them.
    pub answers: &'a dyn Answers,
    /// The words of the place, where it has its own.
    pub own: Option<&'a own::Own>,
}

impl std::fmt::Debug for Desk<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Desk").field("language", &self.spoken.language.code()).finish_non_exhaustive()
    }
}

impl Desk<'_> {
    /// A topic, in the place's own words where it has some, with its example.
    #[must_use]
    pub fn topic(&self, topic: &Topic) -> Reply {
        let phrases = &self.spoken.language.phrases;
        let mut reply = self.text(topic);
        if let Some((species, asked)) = self.asked(&topic.example.ask, &topic.species) {
            reply.answer.push(fill(&phrases.example, &[("tells", &topic.example.tells)]));
            self.work_out(species, &asked, &mut reply);
        }
        reply
    }

    /// A topic by its id: a built-in one, or one that the place wrote.
    #[must_use]
    pub fn by_id(&self, id: &str) -> Option<Reply> {
        if let Some(topic) = self.spoken.topic(id) {
            return Some(self.topic(topic));
        }
        let wording = self.own?.wording(id)?;
        let answer = wording.paragraphs().into_iter().map(str::to_owned).collect();
        Some(Reply { understood: self.title(id), answer, links: wording.links(), ..Reply::default() })
    }

    /// The title under which a topic is offered.
    #[must_use]
    pub fn title(&self, id: &str) -> String {
        let own = self.own.and_then(|own| own.wording(id)?.title.clone());
        own.or_else(|| self.spoken.topic(id).map(|t| t.title.clone())).unwrap_or_else(|| id.replace('_', " "))
    }

    /// The topics that fit a question, the place's own among them, the best first; see [`Spoken::find`].
    #[must_use]
    pub fn find(&self, question: &str) -> Vec<(String, f64)> {
        let mut found: Vec<(String, f64)> =
            self.spoken.find(question).into_iter().map(|(topic, fit)| (topic.id.clone(), fit)).collect();
        let Some(own) = self.own else { return found };
        let language = &self.spoken.language;
        let written = || own.topics().filter_map(|(id, history)| Some((id, history.current()?)));
        let aliases = written().flat_map(|(id, w)| w.questions().iter().chain(&w.title).map(move |a| (id, a.as_str())));
        for (id, fit) in Index::new(language, aliases).find(language, question) {
            match found.iter_mut().find(|f| f.0 == id) {
                Some(old) => old.1 = old.1.max(fit),
                None => found.push((id, fit)),
            }
        }
        found.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        found
    }

    /// A topic without its example: at most [`MOST_CHARACTERS`] for those that come with the program.
    #[must_use]
    pub fn text(&self, topic: &Topic) -> Reply {
        let phrases = &self.spoken.language.phrases;
        let figures: Vec<(&str, String)> =
            topic.figures.iter().map(|(name, figure)| (name.as_str(), self.figure(topic, figure))).collect();
        let figures: Vec<(&str, &str)> = figures.iter().map(|(name, text)| (*name, text.as_str())).collect();
        let wording = self.own.and_then(|own| own.wording(&topic.id));
        let (title, paragraphs) = match wording {
            Some(wording) => (wording.title.as_ref().unwrap_or(&topic.title), wording.paragraphs()),
            None => (&topic.title, topic.paragraphs.iter().map(String::as_str).collect()),
        };
        let mut reply = Reply {
            cautions: topic.caution.iter().cloned().collect(),
            understood: title.clone(),
            answer: paragraphs.into_iter().map(|p| fill(p, &figures)).collect(),
            links: wording.map(own::draft::Wording::links).unwrap_or_default(),
            ..Reply::default()
        };
        let links = topic.see_also.iter().filter_map(|id| self.spoken.topic(id)).map(|t| short(&t.title).to_owned());
        let links: Vec<String> = links.collect();
        if !links.is_empty() {
            reply.notes.push(fill(&phrases.see_also, &[("topics", &links.join("; "))]));
        }
        let sources: Vec<&str> = topic
            .sources()
            .into_iter()
            .map(|s| if s == COMMON_PRACTICE { phrases.common_practice.as_str() } else { s })
            .collect();
        // A community's own text has its author, not our sources.
        if !sources.is_empty() && wording.is_none() {
            reply.notes.push(fill(&phrases.sources, &[("sources", &sources.join("; "))]));
        }
        reply
    }

    /// Puts the answer to a reading below what a reply says already: the pairing, the rows, and cautions at the head.
    pub(super) fn work_out(&self, species: &Species, asked: &Reading, reply: &mut Reply) {
        let mut worked = self.answers.table(species, asked);
        worked.cautions.retain(|c| !reply.cautions.contains(c));
        reply.cautions.append(&mut worked.cautions);
        reply.answer.push(worked.understood);
        reply.answer.append(&mut worked.answer);
        reply.rows = worked.rows;
        reply.grid = worked.grid;
        reply.rest = worked.rest;
    }

    /// The reading of a message, if it can be answered with these catalogues as it stands.
    #[must_use]
    pub fn asked(&self, ask: &str, species: &str) -> Option<(&Species, Reading)> {
        let place = self.catalogue.by_name(species);
        let asked = self.reader.read(self.catalogue, ask, Context { species: place, ..Context::default() });
        let whole = asked.intent == Intent::Odds && asked.questions.is_empty() && asked.unread.is_empty();
        let species = self.catalogue.get(asked.species?);
        whole.then_some((species, asked))
    }

    fn figure(&self, topic: &Topic, figure: &Figure) -> String {
        let language = &self.spoken.language;
        let text = match figure {
            Figure::Chance(ask) => self
                .asked(ask, &topic.species)
                .and_then(|(species, asked)| self.answers.chance(species, &asked))
                .map(|chance| language.chance(&chance)),
            Figure::Care(species, item) => self.catalogue.by_name(species).and_then(|id| {
                let items = self.catalogue.get(id).care().items();
                let (_, _, range) = items.into_iter().find(|(key, _, _)| key == item)?;
                Some(language.range(range?))
            }),
            Figure::Kin(kin) => inbreeding(*kin).map(|share| language.chance(&share)),
        };
        text.unwrap_or_else(|| language.phrases.no_figure.clone())
    }
}

/// The title without what stands behind its colon.
fn short(title: &str) -> &str {
    title.split(':').next().unwrap_or(title)
}

/// The inbreeding of the young of two relatives whose forebears are unrelated and not inbred; exact.
fn inbreeding(kin: Kin) -> Option<Odds> {
    let of = |sire: usize, dam: usize| Parents { sires: vec![AnimalId(sire)], dam: Some(AnimalId(dam)) };
    let founder = Parents::default;
    let (parents, pair) = match kin {
        Kin::FullSiblings => (vec![founder(), founder(), of(0, 1), of(0, 1)], (2, 3)),
        Kin::ParentAndYoung => (vec![founder(), founder(), of(0, 1)], (0, 2)),
        Kin::HalfSiblings => (vec![founder(), founder(), founder(), of(0, 1), of(0, 2)], (3, 4)),
        Kin::FirstCousins => {
            (vec![founder(), founder(), of(0, 1), of(0, 1), founder(), founder(), of(2, 4), of(5, 3)], (6, 7))
        }
    };
    let descent = Descent::new(parents, &[]).ok()?;
    relate(&descent, &[(AnimalId(pair.0), AnimalId(pair.1))]).ok()?.of_pairs.into_iter().next()
}

/// A short mark of what a reply says, the same on every machine: posts are edited only when it changes.
#[must_use]
pub fn mark(reply: &Reply) -> String {
    let digest = Sha256::digest(reply.text().as_bytes());
    let (head, _) = digest.split_at(8);
    format!("{:016x}", head.iter().fold(0_u64, |mark, byte| mark << 8 | u64::from(*byte)))
}
