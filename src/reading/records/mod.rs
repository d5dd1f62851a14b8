//! What a message tells or asks of a keeper's own animals: a closed list of records, each with everything that was said.
//!
//! In: a message, the names of the keeper's animals, the day ([`Known`]). Out: a [`Record`] with what must be asked and
//! what was not read; nothing where the message is about something else.
//! What has a form of its own (names, dates, weights, prices, parents) is found by patterns over a flat line and taken
//! out; gene words are the business of `animals`, here as elsewhere. The phrases are data: `config/words/records.toml`.
//! Never: the collection itself. Who is meant by a name is settled in `conversation`.
//! Start at [`Reader::record`].

pub mod add; // new animals, one or a list
pub mod calendar; // when it lays, when they hatch, the year
pub mod clutch; // laid and hatched
pub mod described; // one animal in words
pub mod edit; // changes to animals that are kept
pub mod evidence; // who carries what, who is related
pub mod goals; // goals, their limits, plans
pub mod home; // where the keeper is
pub mod kinds; // what happens to animals, a word each
pub mod look; // lists, filters, cards
pub mod message; // a message with its names and dates
pub mod money; // what animals and their keep cost
pub mod remind; // reminders
pub mod season; // the pairings of a season
pub mod weigh; // weights and meals

pub(crate) mod amounts; // weights, prices, counts

mod ask; // odds by name, what-ifs, the house's own commands
mod breed; // meetings and signs
mod frequency; // how many animals elsewhere carry
mod phrases; // config/words/records.toml
mod sires; // one of several fathers

use crate::engine::odds::Odds;
use crate::reading::dates::Said;
use crate::reading::requests::{Intent, Target};
use crate::reading::{Context, Reader};
use crate::species::Catalogue;
use add::{NewAnimal, ParentSaid};
use calendar::CalendarAsked;
use clutch::{ClutchSaid, LaidSaid, YoungSaid};
use described::Described;
use edit::{Correction, Those};
use evidence::Asked;
use goals::{GoalEdit, LimitsSaid, PlanFor, PlanMore};
use home::HomeSaid;
use kinds::{FormSaid, MeetingKind, SignKind, Status};
use look::{Filter, Listed};
use message::{Called, Known, Mention, Msg};
use remind::RemindSaid;
use season::SeasonAsked;
use weigh::WeightSaid;

/// What a message tells or asks of a keeper's own animals.
#[derive(Debug, Clone, PartialEq)]
#[allow(missing_docs)] // the fields are what the message said, by the names of their types
pub enum Record {
    /// New animals.
    Add(Vec<NewAnimal>),
    /// One animal in full.
    Card(Called),
    /// The card of one animal to pass on, without what is its keeper's own affair.
    Share(Called),
    /// Animals, clutches or goals that fit.
    List(Listed, Filter),
    /// A new name.
    Rename { who: Called, to: String },
    /// Facts about one animal.
    Correct { who: Called, what: Vec<Correction>, unread: Vec<String> },
    /// Sold, died, resting and so on.
    Status { who: Those, status: Status, on: Option<Said> },
    /// Animals that should not be there.
    Remove(Those),
    /// Weights.
    Weigh { weights: Vec<WeightSaid>, on: Option<Said> },
    /// A meal taken or refused.
    Meal { who: Vec<Called>, taken: bool, prey: Option<String>, on: Option<Said> },
    /// Two animals together or apart.
    Meet { kind: MeetingKind, first: ParentSaid, second: Option<ParentSaid>, on: Option<Said> },
    /// A sign of a female.
    Sign { who: Called, kind: SignKind, size_mm: Option<i64>, on: Option<Said> },
    /// Eggs laid, or young born.
    Laid { parents: Vec<Called>, said: LaidSaid, on: Option<Said> },
    /// Who may have fathered a clutch; each with a share where one was said. `mixed`: each young by either.
    Sires { clutch: ClutchSaid, named: Vec<(Called, Option<Odds>)>, mixed: bool },
    /// What hatched.
    Hatched { clutch: ClutchSaid, young: Vec<YoungSaid>, lost: Option<i64>, on: Option<Said> },
    /// The first egg of a clutch is cut.
    Pipped { clutch: ClutchSaid, on: Option<Said> },
    /// A het that is sure now.
    Prove { who: Called, genes: Described },
    /// An animal to work towards.
    Goal { genes: Described, said: String, limits: LimitsSaid, name: Option<String> },
    /// A goal's limits, name or rank.
    GoalEdit { number: Option<usize>, edit: GoalEdit },
    /// The plan towards a goal.
    Plan { towards: PlanFor, limits: LimitsSaid },
    /// More about the last plan.
    PlanMore(PlanMore),
    /// How many animals of unknown parents carry a recessive; with a question behind it only for its answer.
    Frequency { genes: Described, share: Odds, then: Option<String> },
    /// A goal that is none any more.
    GoalGone { number: Option<usize> },
    /// The last change is taken back.
    Undo,
    /// What was changed in the last days.
    Changes { days: i32 },
    /// Everything is erased.
    Forget,
    /// A copy of what is kept.
    Export { form: FormSaid, filter: Filter },
    /// A file's text comes in.
    Import { text: String },
    /// What would be if.
    WhatIf { who: Called, genes: Described, then: Option<String> },
    /// Every pairing in the collection that can make something.
    AllPairings { genes: Described, target: Target, said: String },
    /// A question of odds with animals called by name.
    Odds { named: Vec<Mention> },
    /// A question about who carries what, or who is related.
    Evidence(Asked),
    /// A question about the coming season.
    Season(SeasonAsked),
    /// A question about dates, or a number that they are counted by.
    Calendar(CalendarAsked),
    /// Where the keeper is.
    Home(HomeSaid),
    /// Reminders.
    Remind(RemindSaid),
}

impl Reader {
    /// Reads a message as one about the keeper's own animals; `None` where it is about something else.
    #[must_use]
    pub fn record(&self, catalogue: &Catalogue, said: &str, known: Known<'_>) -> Option<Record> {
        let msg = Msg::new(self, catalogue, known, said)?;
        if let Some(asked) = calendar::asked(&msg) {
            return Some(Record::Calendar(asked));
        }
        if let Some(record) = ask::house(&msg) {
            return Some(record);
        }
        if let Some(record) = home::home(&msg).or_else(|| remind::remind(&msg)) {
            return Some(record);
        }
        if let Some(record) = frequency::frequency(&msg) {
            return Some(record);
        }
        if let Some(record) = sires::sires(&msg) {
            return Some(record);
        }
        if let Some(plan) = goals::of_goal(&msg).or_else(|| goals::plan_of_goal(&msg)) {
            return Some(plan);
        }
        if let Some(more) = goals::more(&msg) {
            return Some(Record::PlanMore(more));
        }
        if let Some(asked) = evidence::asked(&msg) {
            return Some(Record::Evidence(asked));
        }
        if let Some(asked) = season::asked(&msg) {
            return Some(Record::Season(asked));
        }
        if let Some(card) = look::weights(&msg) {
            return Some(card);
        }
        if let Some(share) = look::share(&msg) {
            return Some(share);
        }
        // A bare name is its card; a note is one whatever it speaks of; who keeps a young animal back asks no advice.
        if let Some(record) = look::bare(&msg)
            .or_else(|| breed::logged(&msg))
            .or_else(|| edit::note(&msg))
            .or_else(|| add::kept_back(&msg))
            .or_else(|| breed::of_last(&msg))
            .or_else(|| look::group(&msg))
        {
            return Some(record);
        }
        let context = Context { species: known.species, ..Context::default() };
        let reading = self.read(catalogue, said, context);
        let intent = reading.intent;
        let named = msg.mentions.iter().any(|m| !m.doubtful);
        match intent {
            Intent::SaveAnimal => kept(&msg),
            Intent::ListCollection | Intent::RecordWeight | Intent::RecordPairing | Intent::RecordClutch => {
                told(&msg).or_else(|| by_intent(&msg, intent))
            }
            Intent::Export => Some(Record::Export { form: FormSaid::default(), filter: Filter::default() }),
            Intent::Forget => Some(Record::Forget),
            // Without an animal of the collection a pairing is a question of odds, whatever words stand around it.
            Intent::Odds if !named => ask::what_if(&msg)
                .or_else(|| ask::all_pairings(&msg))
                .or_else(|| add::pasted(&msg))
                .or_else(|| ask::odds(&msg)),
            Intent::Plan => goals::goal(&msg).or_else(|| goals::plan(&msg, &reading)),
            // "what if Maple was also het, what should I pair": the what-if comes first.
            Intent::NextPairing => ask::what_if(&msg)
                .or_else(|| ask::all_pairings(&msg))
                .or_else(|| season::next(&msg).map(Record::Season)),
            Intent::SeasonCalendar => ask::what_if(&msg)
                .or_else(|| ask::all_pairings(&msg))
                .or_else(|| calendar::by_intent(&msg).map(Record::Calendar)),
            Intent::Explain | Intent::ProveOut | Intent::Help => ask::what_if(&msg).or_else(|| ask::all_pairings(&msg)),
            _ if named => told(&msg),
            Intent::SmallTalk | Intent::Unknown | Intent::Odds => quiet(&msg),
        }
    }
}

impl Reader {
    /// Reads a message as one that goes on from an answer about the season; `None` where it does not.
    #[must_use]
    pub fn season_more(&self, catalogue: &Catalogue, said: &str, known: Known<'_>) -> Option<SeasonAsked> {
        season::more(&Msg::new(self, catalogue, known, said)?)
    }
}

/// Something about an animal that is, or shall be, in the collection: no weighing, no clutch.
fn kept(msg: &Msg<'_>) -> Option<Record> {
    ask::what_if(msg)
        .or_else(|| ask::all_pairings(msg))
        .or_else(|| goals::goal(msg))
        .or_else(|| edit::rename(msg))
        .or_else(|| edit::remove(msg))
        .or_else(|| breed::logged(msg))
        .or_else(|| edit::note(msg))
        .or_else(|| edit::prove(msg))
        .or_else(|| look::list(msg))
        .or_else(|| add::add(msg))
        .or_else(|| weigh::weigh(msg))
        .or_else(|| edit::status(msg))
        .or_else(|| edit::correct(msg))
        .or_else(|| add::plain(msg))
        .or_else(|| told(msg))
}

/// The order is the rule: what is said outright comes before what is only looked at or asked.
fn told(msg: &Msg<'_>) -> Option<Record> {
    ask::what_if(msg)
        .or_else(|| ask::all_pairings(msg))
        .or_else(|| goals::goal(msg))
        .or_else(|| edit::rename(msg))
        .or_else(|| edit::remove(msg))
        .or_else(|| breed::logged(msg))
        .or_else(|| edit::note(msg))
        .or_else(|| edit::prove(msg))
        .or_else(|| look::card(msg))
        .or_else(|| look::list(msg))
        .or_else(|| weigh::weigh(msg))
        .or_else(|| add::add(msg))
        .or_else(|| clutch::pipped(msg))
        .or_else(|| clutch::hatched(msg))
        .or_else(|| clutch::laid(msg))
        .or_else(|| weigh::meal(msg))
        .or_else(|| breed::sign(msg))
        .or_else(|| breed::meet(msg))
        .or_else(|| edit::status(msg))
        .or_else(|| edit::correct(msg))
        .or_else(|| add::pasted(msg))
        .or_else(|| ask::odds(msg))
}

/// The kind is plain, but the words are new: what it must hold is looked for without them.
fn by_intent(msg: &Msg<'_>, intent: Intent) -> Option<Record> {
    match intent {
        Intent::ListCollection => Some(Record::List(Listed::Animals, look::filter(msg, &[&msg.phrases.list]))),
        Intent::RecordWeight => weigh::plain(msg),
        Intent::RecordPairing => breed::plain(msg),
        Intent::RecordClutch => clutch::plain(msg),
        _ => None,
    }
}

/// Talk in which no animal is named: what was plainly said of the one last spoken of.
fn quiet(msg: &Msg<'_>) -> Option<Record> {
    ask::what_if(msg)
        .or_else(|| ask::all_pairings(msg))
        .or_else(|| edit::rename(msg).filter(|_| msg.phrases.rename.find(msg.text()).is_some_and(|m| m.start() < 3)))
        .or_else(|| edit::of_last(msg))
        .or_else(|| weigh::of_last(msg))
        .or_else(|| look::by_status(msg))
        .or_else(|| add::pasted(msg))
        .or_else(|| ask::odds(msg))
}
