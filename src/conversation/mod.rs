//! One turn of talk: what a member said, and where, to a [`Reply`].
//!
//! In: a message, the talk so far. Out: a reply, or silence. Nothing here knows which chat it is in.
//! Start at [`Talk::turn`].

mod cautions; // what must be said first
mod follow_up; // a message that changes or answers the last one
mod labels; // genotypes in the trade's words
pub mod odds; // odds of a pairing
mod sentences; // questions, assumptions and refusals in words

pub(crate) use sentences::assumed;

use crate::reading::requests::{Assumed, Intent, Reading};
use crate::reading::{Context, Reader};
use crate::reply::Reply;
use crate::species::{Catalogue, SpeciesId};

/// One conversation with one member.
#[derive(Debug)]
pub struct Talk<'a> {
    catalogue: &'a Catalogue,
    reader: &'a Reader,
    species: Option<SpeciesId>,
    last: Option<Reading>,
    first: Option<Reading>,
}

impl<'a> Talk<'a> {
    /// A new conversation; `species` is that of the place, if one is set.
    #[must_use]
    pub fn new(catalogue: &'a Catalogue, reader: &'a Reader, species: Option<SpeciesId>) -> Self {
        Self { catalogue, reader, species, last: None, first: None }
    }

    /// Answers one message; `None` is silence.
    pub fn turn(&mut self, said: &str) -> Option<Reply> {
        let context = Context { species: self.species.or_else(|| self.last.as_ref().and_then(|l| l.species)) };
        let mut reading = self.reader.read(self.catalogue, said, context);
        let complete = reading.intent == Intent::Odds && reading.pairing.parents.len() == 2;
        if let Some(last) = &self.last
            && !(complete && reading.questions.is_empty())
            && let Some(changed) = follow_up::change(self, last, said, &reading)
        {
            reading = changed;
        }
        let reply = self.say(&reading);
        if reading.intent == Intent::Odds {
            if self.first.is_none() && reading.questions.is_empty() {
                self.first = Some(reading.clone());
            }
            self.last = Some(reading);
        }
        reply
    }

    fn say(&self, reading: &Reading) -> Option<Reply> {
        match reading.intent {
            Intent::Odds => {
                if let Some(question) = reading.questions.first() {
                    let mut reply = sentences::question(self.catalogue, reading.species, question);
                    reply.unread.clone_from(&reading.unread);
                    return Some(reply);
                }
                let species = self.catalogue.get(reading.species?);
                let mut reply = odds::answer(species, reading);
                // The species stands at the head of the reply already.
                let said = reading.assumed.iter().filter(|a| !matches!(a, Assumed::Species(_)));
                reply.assumed = said.map(|a| sentences::assumed(self.catalogue, species, a)).collect();
                reply.unread.clone_from(&reading.unread);
                Some(reply)
            }
            Intent::SmallTalk => None,
            Intent::Help => Some(sentences::help()),
            Intent::Unknown => Some(sentences::outside(reading.outside)),
            other => Some(sentences::not_yet(other)),
        }
    }
}
