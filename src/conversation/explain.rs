//! What a word, a number or a gene means: a topic, a card, two things side by side, or a choice where several fit.
//!
//! In: a question of the kind [`Intent::Explain`], or "why no pieds" with no pairing under discussion. Out: a reply with
//! its example worked out by `odds`. The texts and the search are in `explanations`.

use super::{Talk, odds};
use crate::engine::inheritance::chances::Chances;
use crate::engine::odds::Odds;
use crate::explanations::language::fill;
use crate::explanations::search::{FITS, NEARLY};
use crate::explanations::show::{Answers, Desk, MOST_WITH_EXAMPLE};
use crate::explanations::things::{self, Named, Names};
use crate::explanations::{Spoken, builtin, own::Own};
use crate::reading::requests::{Aspect, Intent, Reading, Side, Unclear};
use crate::reply::{Kind, Reply};
use crate::species::names::joined;
use crate::species::show::Entry;
use crate::species::{Species, SpeciesId};

/// A fit above this is the question itself: nothing else is offered beside it.
const WORD_FOR_WORD: f64 = 0.95;
/// A fit above this, of something put as a question, is one that was meant for us.
const PLAINLY: f64 = 0.8;
/// A fit above this holds more of a question than the name of a gene in it.
const WITH_NAMES: f64 = 0.7;
/// A topic that fits less gives way to the name of a gene that is a slip away.
const LIKELY: f64 = 0.85;
/// A topic that fits less is not even offered as near.
const NEAR: f64 = 0.3;
/// Choices that are offered.
const MOST_OFFERED: usize = 4;
/// Words of somebody's message that are explained at once.
const MOST_WORDS: usize = 10;
/// The longest term, in words.
const MOST_IN_TERM: usize = 3;
/// The topics that are offered where nothing fits.
const FIRST_TOPICS: [&str; 3] = ["het", "possible_het", "how_to_ask"];
/// The topic of "why no pieds".
const NO_VISUALS: &str = "no_visuals";

/// Something that can be explained.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Offer {
    Topic(String),
    Card(SpeciesId, Entry),
}

/// What explaining needs to know of a talk.
#[derive(Debug, Clone, Default)]
pub(super) struct Explaining<'a> {
    /// The language; English where none was set.
    spoken: Option<&'a Spoken>,
    /// The place's own words.
    pub(super) own: Option<&'a Own>,
    /// What the last reply let choose from, by the words it was offered with.
    offered: Vec<(String, Offer)>,
}

/// The answers of this program, for examples and figures.
struct Odd;

impl Answers for Odd {
    fn chance(&self, species: &Species, asked: &Reading) -> Option<Odds> {
        let pairing = &asked.pairing;
        let wanted = odds::wanted(species, pairing.target.as_ref()?);
        let linked =
            pairing.parents.iter().flat_map(|p| &p.genes).any(|c| species.gene(c.gene).entry.sex_linked.is_some());
        let side = pairing.parents.iter().find_map(|p| p.side).unwrap_or(Side::X);
        let young = odds::offspring(species, &pairing.parents, linked, side)?;
        let chances = Chances::of(&young, &wanted).ok()?;
        match pairing.clutch_size {
            Some(eggs) => chances.at_least_one(u64::from(eggs)).ok(),
            None => Some(chances.per_egg()),
        }
    }

    fn table(&self, species: &Species, asked: &Reading) -> Reply {
        odds::answer(species, asked, &Reply::default())
    }
}

impl<'a> Talk<'a> {
    /// The same talk in a place with words of its own.
    #[must_use]
    pub fn with_own(mut self, own: &'a Own) -> Self {
        self.explaining.own = Some(own);
        self
    }

    /// The same talk with explanations in another language.
    #[must_use]
    pub fn speaking(mut self, spoken: &'a Spoken) -> Self {
        self.explaining.spoken = Some(spoken);
        self
    }

    /// Explains whatever a question is about, however it is put: "66 het", "lesser and butter", "raptor".
    pub fn explain(&mut self, question: &str) -> Reply {
        let reading = self.read(question);
        explained(self, question, &reading)
    }

    /// The terms of somebody's message, each with what it means in a line, and their names to hear more of.
    #[must_use]
    pub fn words_in(&self, said: &str) -> (Reply, Vec<String>) {
        let reading = self.read(said);
        let mut found: Vec<(String, String)> = Vec::new();
        let mut take = |name: &str, means: &str| {
            if found.len() < MOST_WORDS && !found.iter().any(|f| f.0 == name) {
                let sentence = means.split_inclusive(". ").next().unwrap_or(means).trim();
                found.push((name.to_owned(), sentence.to_owned()));
            }
        };
        let Some(desk) = self.desk() else { return (super::sentences::no_words_found(), Vec::new()) };
        let words: Vec<&str> = said.split_whitespace().collect();
        for length in (1..=MOST_IN_TERM).rev() {
            for run in words.windows(length) {
                let term = run.join(" ");
                let best = desk.find(&term).into_iter().next().filter(|t| t.1 >= WORD_FOR_WORD);
                if let Some(reply) = best.and_then(|(id, _)| desk.by_id(&id)) {
                    take(&reply.understood, reply.answer.first().map_or("", String::as_str));
                }
            }
        }
        if let Some(species) = self.species.or(reading.species).map(|id| self.catalogue.get(id)) {
            for gene in &reading.named {
                let card = desk.card(species, Entry::Gene(*gene));
                take(&species.gene(*gene).entry.name, card.answer.first().map_or("", String::as_str));
            }
        }
        if found.is_empty() {
            return (super::sentences::no_words_found(), Vec::new());
        }
        let lines = found.iter().map(|(name, means)| format!("{name}: {means}")).collect();
        let reply = Reply { answer: lines, ..Reply::default() }.fitted(MOST_WITH_EXAMPLE);
        (reply, found.into_iter().map(|f| f.0).collect())
    }

    /// Everything that has a topic, by title.
    #[must_use]
    pub fn topics(&self) -> Reply {
        let Some(desk) = self.desk() else { return super::sentences::not_yet(Intent::Explain) };
        let mut titles: Vec<String> = desk.spoken.topics().map(|t| desk.title(&t.id)).collect();
        titles.sort();
        Reply { answer: vec![desk.spoken.language.phrases.all.clone()], choices: titles, ..Reply::default() }
    }

    /// What shows explanations here, for posts and cards; `None` if the built-in ones are broken, which a test rules out.
    #[must_use]
    pub fn desk(&self) -> Option<Desk<'_>> {
        let spoken = match self.explaining.spoken {
            Some(spoken) => spoken,
            None => builtin().ok()?.spoken("en"),
        };
        Some(Desk { catalogue: self.catalogue, reader: self.reader, spoken, answers: &Odd, own: self.explaining.own })
    }
}

/// A message with the short names of the place spelled out, and what they were taken for.
pub(super) fn spelled_out(talk: &Talk<'_>, said: &str) -> (String, Vec<String>) {
    let Some(own) = talk.explaining.own else { return (said.to_owned(), Vec::new()) };
    let (spelled, used) = own.spelled_out(said);
    (spelled, used.into_iter().map(|a| super::sentences::stands_for(a.word(), a.means())).collect())
}

/// "The second", "2", its name: what was offered last.
pub(super) fn chosen(talk: &mut Talk<'_>, said: &str) -> Option<Reply> {
    let offered = std::mem::take(&mut talk.explaining.offered);
    let key = joined(said.trim_matches(|c: char| !c.is_alphanumeric()));
    let place = talk.reader.place(said).and_then(|n| offered.get(n));
    let named = || offered.iter().find(|o| !key.is_empty() && joined(&o.0).starts_with(&key));
    let (_, offer) = place.or_else(named)?;
    talk.desk().and_then(|desk| shown(&desk, offer))
}

/// A topic that the place wrote itself, where a message is its title or one of its questions: whatever else the words
/// could mean, here they mean that.
pub(super) fn of_the_place(talk: &Talk<'_>, said: &str) -> Option<Reply> {
    let id = talk.explaining.own?.asked_for(said)?;
    talk.desk()?.by_id(id)
}

/// Explains, where a message asks for that.
pub(super) fn turn(talk: &mut Talk<'_>, said: &str, reading: &Reading) -> Option<Reply> {
    let pairing = &reading.pairing;
    let odds = reading.intent == Intent::Odds;
    let none = odds && pairing.aspect == Aspect::WhyNone && pairing.parents.is_empty();
    if none || reading.intent == Intent::Explain {
        return Some(explained(talk, said, reading));
    }
    // "What is f1?", "can i breed a desert female": nothing else is to be answered, and a topic has these very words.
    let open = matches!(reading.intent, Intent::SmallTalk | Intent::Unknown) && reading.outside.is_none()
        || odds && reading.questions.iter().any(|q| q.kind == Unclear::OtherParent);
    let desk = talk.desk().filter(|desk| open && desk.spoken.language.is_question(said))?;
    let (id, _) = desk.find(said).into_iter().next().filter(|t| t.1 >= PLAINLY)?;
    Some(topic(&desk, &id, &Named::default()))
}

fn explained(talk: &mut Talk<'_>, said: &str, reading: &Reading) -> Reply {
    let Some(desk) = talk.desk() else { return super::sentences::not_yet(Intent::Explain) };
    let language = &desk.spoken.language;
    let species = talk.species.or(reading.species).or_else(|| talk.last.as_ref().and_then(|l| l.species));
    let names = Names::new(talk.catalogue);
    let mut named = names.of(language, talk.catalogue, said, species);
    let topics = desk.find(said);
    let beside = |word: &String| !language.is_card_word(word);
    if let Some((id, _)) = topics.first().filter(|t| t.1 >= WORD_FOR_WORD) {
        return topic(&desk, id, &named);
    }
    if reading.pairing.aspect == Aspect::WhyNone {
        return topic(&desk, NO_VISUALS, &named);
    }
    if named.names.is_empty() {
        // Slips that the reader has healed, then those of combinations, which it reads as their genes.
        let nearly = names.nearly(language, said);
        if let (true, Some(id)) = (nearly.is_empty(), reading.species) {
            named.names = reading.named.iter().map(|g| vec![(id, Entry::Gene(*g))]).collect();
        } else if topics.first().is_none_or(|t| t.1 < LIKELY) {
            let here = |n: &&(SpeciesId, Entry)| reading.species == Some(n.0);
            let of_one: Vec<_> = nearly.iter().filter(here).copied().collect();
            named.names = vec![if of_one.is_empty() { nearly } else { of_one }];
            // The words left are the slips.
            named.left.clear();
        }
        named.names.retain(|n| !n.is_empty());
    }
    if !named.names.is_empty() {
        // A gene's name alone leads to no topic that happens to hold it.
        let with_names = topics.first().filter(|t| t.1 >= WITH_NAMES).cloned();
        let without = desk.find(&named.rest).into_iter().next().filter(|t| t.1 >= FITS);
        let left: Vec<String> = named.left.iter().filter(|word| beside(word)).cloned().collect();
        let about = without.into_iter().chain(with_names).max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((id, _)) = about.filter(|_| !left.is_empty()) {
            return topic(&desk, &id, &named);
        }
        let (mut reply, offered) = cards(&desk, &named.names);
        reply.unread = left;
        talk.explaining.offered = offered;
        return reply.fitted(MOST_WITH_EXAMPLE);
    }
    let best = topics.first().map_or(0.0, |t| t.1);
    let (least, most) = if best >= FITS { (FITS.max(best - NEARLY), 3) } else { (NEAR, MOST_OFFERED) };
    let fitting: Vec<&str> = topics.iter().filter(|t| t.1 >= least).take(most).map(|t| t.0.as_str()).collect();
    match (&fitting[..], best >= FITS) {
        ([only], true) => topic(&desk, only, &named),
        (several, _) => {
            let phrases = &language.phrases;
            let (lead, ids) =
                if several.is_empty() { (&phrases.nothing, &FIRST_TOPICS[..]) } else { (&phrases.which, several) };
            let lead = if best >= FITS { lead } else { &phrases.nothing };
            let offered: Vec<(String, Offer)> =
                ids.iter().map(|id| (desk.title(id), Offer::Topic((*id).to_owned()))).collect();
            let reply = offer(lead, &offered);
            talk.explaining.offered = offered;
            reply
        }
    }
}

/// A topic, and how to hear more of the gene that was named beside it.
fn topic(desk: &Desk<'_>, id: &str, named: &Named) -> Reply {
    let mut reply = desk.by_id(id).unwrap_or_default();
    if let [only] = &named.names[..]
        && let [(species, thing)] = only[..]
    {
        let name = things::name(desk.catalogue.get(species), thing).to_owned();
        reply.notes.insert(0, fill(&desk.spoken.language.phrases.more, &[("name", &name)]));
    }
    reply.fitted(MOST_WITH_EXAMPLE)
}

/// Cards of what was named: one, several side by side, or a choice where a name fits several things.
fn cards(desk: &Desk<'_>, names: &[Vec<(SpeciesId, Entry)>]) -> (Reply, Vec<(String, Offer)>) {
    let phrases = &desk.spoken.language.phrases;
    if let Some(unclear) = names.iter().find(|n| n.len() > 1) {
        let mut species: Vec<SpeciesId> = unclear.iter().map(|u| u.0).collect();
        species.dedup();
        let offered: Vec<(String, Offer)> = unclear
            .iter()
            .take(MOST_OFFERED + 1)
            .map(|(id, thing)| {
                let of = desk.catalogue.get(*id);
                (format!("{}: {}", of.name(), things::name(of, *thing)), Offer::Card(*id, *thing))
            })
            .collect();
        let lead = if species.len() > 1 {
            let name = unclear.first().map_or("", |(id, thing)| things::name(desk.catalogue.get(*id), *thing));
            fill(&phrases.which_species, &[("name", name)])
        } else {
            phrases.which.clone()
        };
        return (offer(&lead, &offered), offered);
    }
    let mut things: Vec<(SpeciesId, Entry)> = Vec::new();
    for name in names.iter().flatten() {
        if !things.contains(name) {
            things.push(*name);
        }
    }
    let reply = match things[..] {
        [] => Reply::default(),
        [(species, thing)] => desk.card(desk.catalogue.get(species), thing),
        [(species, _), ..] => {
            let of_one: Vec<Entry> = things.iter().filter(|t| t.0 == species).map(|t| t.1).take(3).collect();
            match of_one[..] {
                [only] => desk.card(desk.catalogue.get(species), only),
                _ => desk.compare(desk.catalogue.get(species), &of_one),
            }
        }
    };
    (reply, Vec::new())
}

fn offer(lead: &str, offered: &[(String, Offer)]) -> Reply {
    let choices = offered.iter().map(|o| o.0.clone()).collect();
    Reply { kind: Kind::Question, answer: vec![lead.to_owned()], choices, ..Reply::default() }
}

fn shown(desk: &Desk<'_>, offer: &Offer) -> Option<Reply> {
    match offer {
        Offer::Topic(id) => desk.by_id(id),
        Offer::Card(species, thing) => Some(desk.card(desk.catalogue.get(*species), *thing)),
    }
}
