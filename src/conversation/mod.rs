//! One turn of talk: what a member said, and where, to a [`Reply`].
//!
//! In: a message, the talk so far. Out: a reply, or silence. Nothing here knows which chat it is in.
//! Start at [`Talk::turn`].

mod cautions; // what must be said first
pub mod desk; // a talk that remembers a keeper's animals
mod evidence; // proving a possible het
mod explain; // what a word, a number or a gene means
mod follow_up; // a message that changes or answers the last one
mod keeping; // a keeper's own animals
mod labels; // genotypes in the trade's words
pub mod odds; // odds of a pairing
mod plan; // from a goal to phases
pub mod restate; // a request in words that read back to it
mod sentences; // questions, assumptions and refusals in words

pub(crate) use sentences::assumed;
pub use sentences::keeping::reminders_told;
pub use sentences::keeping::{no_such_file, no_such_form, too_large, written};
pub use sentences::{heard_nothing, still_working, terminal_keys, too_long};

use crate::reading::requests::{Animal, Assumed, Choice, Intent, Reading, Trial, Unclear};
use crate::reading::vocabulary::FollowUp;
use crate::reading::{Context, Reader};
use crate::reply::picture::Drawing;
use crate::reply::{Kind, LONG, Reply, SHORT};
use crate::species::{Catalogue, GeneId, Species, SpeciesId};

/// A file that a reply hands over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct File {
    /// Its name, without a folder.
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
    /// The same in words, where it is a picture.
    pub alt: Option<String>,
}

/// One conversation with one member.
#[derive(Debug, Clone)]
pub struct Talk<'a> {
    catalogue: &'a Catalogue,
    reader: &'a Reader,
    species: Option<SpeciesId>,
    last: Option<Reading>,
    first: Option<Reading>,
    /// The possible het that was spoken of last.
    trial: Option<(Option<SpeciesId>, Trial)>,
    /// The message whose species was asked for.
    unsettled: String,
    explaining: explain::Explaining<'a>,
    /// What the last answer can be drawn as, where it is not the odds of `last`.
    drawing: Option<Box<Drawing>>,
    /// The last answer was the odds of `last`.
    gave_odds: bool,
}

/// Puts a picture into a reply, which then need not offer one.
pub fn show_drawing(reply: &mut Reply, drawing: Option<Drawing>) {
    reply.drawing = drawing.map(Box::new);
    if reply.drawing.is_some() {
        reply.notes.retain(|note| note != sentences::DRAW_IT);
    }
}

impl<'a> Talk<'a> {
    /// A new conversation; `species` is that of the place, if one is set.
    #[must_use]
    pub fn new(catalogue: &'a Catalogue, reader: &'a Reader, species: Option<SpeciesId>) -> Self {
        Self {
            catalogue,
            reader,
            species,
            last: None,
            first: None,
            trial: None,
            unsettled: String::new(),
            explaining: explain::Explaining::default(),
            drawing: None,
            gave_odds: false,
        }
    }

    /// The last request that was understood, with what was asked back about it.
    #[must_use]
    pub fn understood(&self) -> Option<&Reading> {
        self.last.as_ref()
    }

    /// Whether a message asks for a topic that the place wrote itself, word for word.
    #[must_use]
    pub fn asks_for_own(&self, said: &str) -> bool {
        self.explaining.own.is_some_and(|own| own.asked_for(said).is_some())
    }

    /// Answers one message; `None` is silence.
    pub fn turn(&mut self, said: &str) -> Option<Reply> {
        // Short names of the place mean what it says before anything is read.
        let (said, meant) = explain::spelled_out(self, said);
        self.forget_drawing(&said);
        let mut reply = self.answer(&said)?;
        self.keep_drawing(&said, &mut reply);
        if !meant.is_empty() {
            reply.assumed.extend(meant);
            reply = reply.fitted(LONG);
        }
        Some(reply)
    }

    fn answer(&mut self, said: &str) -> Option<Reply> {
        if let Some(chosen) = explain::chosen(self, said).or_else(|| explain::of_the_place(self, said)) {
            return Some(chosen);
        }
        let mut reading = self.read(said);
        if let Some(reply) = self.prove(said, &reading) {
            return Some(reply);
        }
        let complete = reading.intent == Intent::Odds && reading.pairing.parents.len() == 2;
        if !complete && follow_up::asks_only_picture(said) {
            return Some(match self.drawing() {
                Some(drawing) => Reply { drawing: Some(Box::new(drawing)), ..sentences::as_picture() },
                None => sentences::nothing_to_draw(),
            });
        }
        if !complete && let Some(explained) = self.explain_last(said) {
            return Some(explained);
        }
        if let Some(answered) = self.species_answer(said) {
            reading = answered;
        } else if let Some(last) = &self.last
            && !self.explains(said, &reading, last)
            && !(complete && reading.questions.is_empty() && !follow_up::keeps(self, said))
            && let Some(changed) = follow_up::change(self, last, said, &reading)
        {
            reading = changed;
        }
        if let Some(explained) = explain::turn(self, said, &reading) {
            return Some(explained);
        }
        self.answered(said, reading)
    }

    fn answered(&mut self, said: &str, reading: Reading) -> Option<Reply> {
        let reply = self.say(&reading);
        if reading.intent == Intent::Odds {
            self.trial = None;
            if self.first.is_none() && reading.questions.is_empty() {
                self.first = Some(reading.clone());
            }
            if reading.species.is_none() {
                said.clone_into(&mut self.unsettled);
            }
            self.last = Some(reading);
            self.drawing = None;
            self.gave_odds = true;
        }
        reply
    }

    /// What can be drawn of the last answer.
    pub(crate) fn drawing(&self) -> Option<Drawing> {
        if let Some(drawing) = &self.drawing {
            return Some(drawing.as_ref().clone());
        }
        let last = self.last.as_ref().filter(|last| self.gave_odds && last.questions.is_empty())?;
        odds::drawn(self.catalogue.get(last.species?), last)
    }

    /// What was answered before is not drawn any more, unless this asks for nothing but its picture.
    pub(crate) fn forget_drawing(&mut self, said: &str) {
        if !follow_up::asks_only_picture(said) {
            self.drawing = None;
            self.gave_odds = false;
        }
    }

    /// Remembers what a reply can be drawn as; it stays in the reply only where a picture was asked for.
    pub(crate) fn keep_drawing(&mut self, said: &str, reply: &mut Reply) {
        if let Some(drawing) = reply.drawing.take() {
            self.drawing = Some(drawing);
        }
        let answered = reply.kind == Kind::Answer && (!reply.answer.is_empty() || !reply.rows.is_empty());
        if answered && follow_up::asks_picture(said) {
            show_drawing(reply, self.drawing());
        }
    }

    /// Answers a message in which animals were told by their genes; `named` are those words with the animals themselves,
    /// whose exact beliefs, weights and ages no words can hold.
    ///
    /// `species` is that of all of them; `None` where they are of several, which no pairing can be.
    pub(crate) fn turn_about(
        &mut self,
        said: &str,
        named: &[(String, Animal)],
        species: Option<SpeciesId>,
    ) -> Option<Reply> {
        let mut reading = if species.is_some() { self.read_in(said, species) } else { self.read(said) };
        // Genes are numbers of one species: in a reading of another they would be other genes, or none.
        let named = if species.is_some() && reading.species == species { named } else { &[] };
        let by_place = reading.pairing.parents.len() == named.len();
        for (n, (words, animal)) in named.iter().enumerate() {
            let told = self.reader.describe(self.catalogue, words, reading.species).animal;
            let genes = |a: &Animal| a.genes.iter().map(|c| (c.gene, c.copies)).collect::<Vec<_>>();
            let fits = |p: &Animal| genes(p) == genes(&told) && p.name.is_none();
            let parents = &mut reading.pairing.parents;
            let at = if by_place { Some(n) } else { parents.iter().position(fits) };
            if let Some(parent) = at.and_then(|at| parents.get_mut(at)) {
                let said = std::mem::take(&mut parent.said);
                *parent = Animal { said, ..animal.clone() };
            }
        }
        self.answered(said, reading)
    }

    /// What a message is about, without answering it.
    pub(crate) fn peek(&self, said: &str) -> Reading {
        self.read(said)
    }

    /// Whether a possible het is under discussion that is told of in the talk alone.
    pub(crate) fn is_proving(&self) -> bool {
        self.trial.is_some()
    }

    /// Ends that discussion.
    pub(crate) fn leave_trial(&mut self) {
        self.trial = None;
    }

    /// Whether a message plainly goes on from the last request, whatever else its words could mean.
    pub(crate) fn goes_on(&self, said: &str) -> bool {
        self.last.is_some() && follow_up::whole(self, said)
    }

    /// The species of the talk so far.
    pub(crate) fn species_spoken_of(&self) -> Option<SpeciesId> {
        self.last.as_ref().and_then(|l| l.species)
    }

    /// A possible het and what hatched from it, or more of what was told before.
    fn prove(&mut self, said: &str, reading: &Reading) -> Option<Reply> {
        let more = reading.trial.as_ref()?;
        let whole = reading.intent == Intent::ProveOut && (!more.tested.is_empty() || more.open);
        let (species, trial) = match &self.trial {
            _ if whole => (reading.species, more.clone()),
            // What is told of another species does not go on from this one.
            Some((species, _)) if reading.species.is_some() && reading.species != *species => return None,
            Some((species, last)) if reading.pairing.parents.len() < 2 || reading.intent == Intent::ProveOut => {
                let adds = ["next", "more", "another"].iter().any(|w| said.to_lowercase().contains(w));
                (*species, evidence::go_on(last, more, adds))
            }
            _ => return None,
        };
        let reply = evidence::answer(species.map(|id| self.catalogue.get(id)), &trial);
        self.trial = Some((species, trial));
        Some(reply)
    }

    /// "How did you get 1/4?": the last answer step by step; `None` when that is not asked or there is none.
    fn explain_last(&self, said: &str) -> Option<Reply> {
        let last = self.last.as_ref().filter(|last| last.questions.is_empty())?;
        let asked = follow_up::leads(self, said, FollowUp::HowWorked);
        let species = self.catalogue.get(last.species?);
        asked.then(|| odds::worked(species, last, said).fitted(LONG))
    }

    /// Whether an explanation is asked for and no change of the last pairing: of genes that it does not have, or in words
    /// that begin no change.
    fn explains(&self, said: &str, reading: &Reading, last: &Reading) -> bool {
        let has =
            |gene| last.pairing.parents.iter().any(|parent| parent.genes.iter().any(|carried| carried.gene == gene));
        reading.intent == Intent::Explain
            && !reading.named.is_empty()
            && (!follow_up::edits(self, said) || reading.named.iter().any(|gene| !has(*gene)))
    }

    /// Reads a message: with the species of the place, else its own, else that of the talk so far.
    fn read(&self, said: &str) -> Reading {
        let spoken_of = self.species_spoken_of();
        let own = self.read_in(said, self.species);
        let complete = own.intent == Intent::Odds && own.species.is_some() && own.pairing.parents.len() == 2;
        match spoken_of {
            Some(_) if !complete && self.species.is_none() => self.read_in(said, spoken_of),
            _ => own,
        }
    }

    /// Reads a message where this species is meant if none is named.
    fn read_in(&self, said: &str, species: Option<SpeciesId>) -> Reading {
        let genes = self.under_discussion();
        let edits = self.last.is_some() && follow_up::edits(self, said);
        let proving = self.trial.is_some();
        let with = |genes| self.reader.read(self.catalogue, said, Context { species, genes, proving, edits });
        let alone = with(&[]);
        // Genes are of one species: those under discussion mean nothing in a message about another.
        if genes.is_empty() || alone.species != self.species_spoken_of() { alone } else { with(&genes) }
    }

    /// The recessives of the last request.
    fn under_discussion(&self) -> Vec<GeneId> {
        let Some((last, species)) = self.last.as_ref().and_then(|l| Some((l, self.catalogue.get(l.species?)))) else {
            return Vec::new();
        };
        let mut genes: Vec<GeneId> = last.pairing.parents.iter().flat_map(|p| &p.genes).map(|c| c.gene).collect();
        genes.retain(|g| species.gene(*g).is_recessive());
        genes.sort_unstable();
        genes.dedup();
        genes
    }

    /// "ball python", "the second": the species that was asked for, and the message read again with it.
    fn species_answer(&self, said: &str) -> Option<Reading> {
        let question = self.last.as_ref()?.questions.first().filter(|q| q.kind == Unclear::Species)?;
        let place = self.reader.place(said).filter(|k| *k < question.readings.len());
        let named = self.catalogue.by_name(said.trim_matches(|c: char| !c.is_alphanumeric()));
        let chosen = named.or_else(|| match question.readings.get(place?)? {
            Choice::Species(id) => Some(*id),
            _ => None,
        })?;
        Some(self.reader.read(self.catalogue, &self.unsettled, Context { species: Some(chosen), ..Context::default() }))
    }

    fn say(&self, reading: &Reading) -> Option<Reply> {
        match reading.intent {
            Intent::Odds => {
                if let Some(question) = reading.questions.first() {
                    let mut reply = sentences::question(self.catalogue, reading, question);
                    reply.unread.clone_from(&reading.unread);
                    return Some(reply.fitted(SHORT));
                }
                let species = self.catalogue.get(reading.species?);
                // The species stands at the head of the reply already.
                let taken = reading.assumed.iter().filter(|a| !matches!(a, Assumed::Species(_)));
                let assumed = taken.map(|a| sentences::assumed(self.catalogue, species, a)).collect();
                let said = Reply { assumed, unread: reading.unread.clone(), ..Reply::default() };
                Some(self.with_what_is_always_said(species, reading, odds::answer(species, reading, &said)))
            }
            Intent::Plan => Some(match (reading.species, &reading.pairing.target) {
                (Some(id), Some(goal)) => plan::answer(self.catalogue.get(id), goal, &reading.pairing).fitted(LONG),
                _ => plan::ask_goal(),
            }),
            Intent::SmallTalk => None,
            Intent::Help => Some(sentences::help().fitted(SHORT)),
            Intent::Unknown => Some(sentences::outside(reading.outside).fitted(SHORT)),
            other => Some(sentences::not_yet(other).fitted(SHORT)),
        }
    }
}

impl Talk<'_> {
    /// The reply with the cautions that the place wants said in any case, before everything else. The odds stay as they are.
    fn with_what_is_always_said(&self, species: &Species, reading: &Reading, mut reply: Reply) -> Reply {
        let Some(own) = self.explaining.own else { return reply };
        let wanted: Vec<GeneId> = own.always(species.key()).filter_map(|id| species.gene_by_id(id)).collect();
        if wanted.is_empty() {
            return reply;
        }
        let pairings = [Some(&reading.pairing), reading.compare.as_ref()];
        let said: Vec<String> =
            pairings.into_iter().flatten().flat_map(|p| cautions::always(species, p, &wanted)).collect();
        for line in said.iter().rev() {
            reply.cautions.retain(|known| known != line);
            reply.cautions.insert(0, line.clone());
        }
        reply.fitted(LONG)
    }
}
