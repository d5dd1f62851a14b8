//! A keeper's own animals in the talk: a record that was read, and the herd as it is, to what is saved and said.
//!
//! In: a [`Record`], a [`Herd`], the day, the animals last spoken of. Out: [`Done`], or [`Stop`] where something must be
//! asked first. Pure: nothing here waits for a database; what is to be saved is handed up as a change.
//! A file a kind of record; who is meant is settled in `who`; every sentence is in `sentences::keeping`.

mod added; // new animals
mod asked; // odds by name, what-ifs, all pairings
mod calendar; // when it lays, when they hatch
mod changed; // names, facts
mod clutches; // laid and hatched
mod evidence; // who carries what
mod family; // ancestors and young
mod files; // a copy out, a file in
mod frequency; // how many animals elsewhere carry
mod goals; // goals and their limits
mod happened; // weights, meals, meetings, signs
mod history; // how a chance moved, clutch by clutch
mod home; // where the keeper is
mod house; // erase
mod let_go; // what they are doing, letting go
mod looked; // cards and lists
mod maker; // on which sex chromosome a copy sits
mod outlook; // whom to prove first, what a clutch would say
mod planned; // the plan towards a goal
pub(super) mod ready; // who can be paired
mod related; // kinship, sale cards
pub(super) mod remind; // reminders
pub(super) mod season; // the pairings of a season
mod sires; // one of several fathers
mod who; // who and when is meant

pub(super) use files::incoming;
pub(super) use who::answered;

use jiff::civil::{Date, Time};

use super::File;
use super::desk::Present;
use crate::collection::animal::{Animal, AnimalId, ClutchId};
use crate::collection::change::Change;
use crate::collection::files::sheet::{DayOrder, Unit};
use crate::collection::herd::Herd;
use crate::reading::Reader;
use crate::reading::dates::When;
use crate::reading::records::Record;
use crate::reading::records::evidence::Asked;
use crate::reading::records::home::HomeSaid;
use crate::reading::requests::{self, Choice, Question};
use crate::reply::Reply;
use crate::species::{Catalogue, Species, SpeciesId};

/// What is settled already by answers to questions about one record.
#[derive(Debug, Clone, Default)]
pub(super) struct Fixed {
    /// Whom a name means, by its key.
    pub(super) names: Vec<(String, AnimalId)>,
    /// What a gene word means.
    pub(super) answers: Vec<(Question, Choice)>,
    /// The species.
    pub(super) species: Option<SpeciesId>,
    /// Which of its meanings a date has.
    pub(super) dates: Vec<(Vec<When>, When)>,
    /// Which clutch is meant.
    pub(super) clutch: Option<ClutchId>,
    /// A bare number is kilos.
    pub(super) kilos: bool,
    /// The order of the dates under a heading of a sheet.
    pub(super) orders: Vec<(String, DayOrder)>,
    /// The unit of the weights under a heading of a sheet.
    pub(super) units: Vec<(String, Unit)>,
    /// Empty cells of a sheet mean what stands above them.
    pub(super) merged: Option<bool>,
    /// Where the keeper is.
    pub(super) place: Option<String>,
    /// Which of several days is meant.
    pub(super) days: Vec<(Vec<Date>, Date)>,
    /// Which of two hours is meant.
    pub(super) hour: Option<Time>,
    /// What a reminder is to say.
    pub(super) what: Option<String>,
}

/// What a question waits for.
#[derive(Debug, Clone)]
pub(super) enum Ask {
    /// One of these animals, for a name.
    Which(String, Vec<AnimalId>),
    /// Whether a name that is spelt a little differently means this animal.
    Near(String, AnimalId),
    /// The reading of a gene word.
    Gene(Question, Option<SpeciesId>),
    /// A species.
    Species(Vec<SpeciesId>),
    /// One of the meanings of a date.
    Date(Vec<When>),
    /// One of these clutches.
    Clutch(Vec<ClutchId>),
    /// Whether a bare number is kilos.
    Kilos,
    /// Which number of the dates under a heading is the day.
    Order(String),
    /// The unit of the weights under a heading.
    Unit(String),
    /// Whether empty cells of a sheet are merged with those above.
    Merged,
    /// One of these time zones.
    Zone(Vec<String>),
    /// Where the keeper is.
    Home,
    /// One of these days.
    Day(Vec<Date>),
    /// One of these hours.
    Hour(Vec<Time>),
    /// What a reminder is to say.
    What,
}

impl Ask {
    /// Whether it stays open while something else is talked of: whoever set a reminder counts on it.
    pub(super) fn waits(&self, record: &Record) -> bool {
        matches!(self, Self::Home | Self::Zone(_)) && matches!(record, Record::Remind(_))
    }

    /// What a message says of a place, where that was asked: "my time zone is Berlin" is an answer like "Berlin".
    pub(super) fn place_in(&self, record: Option<&Record>) -> Option<String> {
        match record {
            Some(Record::Home(HomeSaid::Place(place))) if matches!(self, Self::Home | Self::Zone(_)) => {
                Some(place.clone())
            }
            _ => None,
        }
    }
}

/// Why a record is not done yet.
#[derive(Debug)]
pub(super) enum Stop {
    /// Something must be asked.
    Ask(Box<Reply>, Ask),
    /// It cannot be done, and why.
    Say(Box<Reply>),
}

impl Stop {
    pub(super) fn say(reply: Reply) -> Self {
        Self::Say(Box::new(reply))
    }

    pub(super) fn ask(reply: Reply, ask: Ask) -> Self {
        Self::Ask(Box::new(reply), ask)
    }
}

/// What comes of a record.
#[derive(Debug)]
pub(super) enum Done {
    /// Nothing is saved.
    Say { reply: Box<Reply>, about: Vec<AnimalId> },
    /// This is saved, then said.
    Save { change: Change, reply: Box<Reply>, about: Vec<AnimalId> },
    /// This is shown first, and saved when the word is typed.
    Confirm { word: String, shown: Box<Reply>, change: Change, reply: Box<Reply> },
    /// The last change is taken back.
    Undo,
    /// What was changed in the last days is listed.
    Changes { days: i32 },
    /// Everything is erased when the word is typed.
    Forget { word: String, shown: Box<Reply> },
    /// A file is handed over.
    File { file: File, reply: Box<Reply> },
    /// The file of this name is needed; the reply asks for it where a front cannot fetch it.
    Wants { name: String, reply: Box<Reply> },
    /// The season's pairings, with what is asked about them later.
    Season { reply: Box<Reply>, kept: Box<season::Kept>, about: Vec<AnimalId> },
    /// A question of odds with these parents, each standing where its text stands in the message.
    Odds { message: String, parents: Vec<(String, requests::Animal)>, reply: Box<Reply>, about: Vec<AnimalId> },
}

impl Done {
    pub(super) fn say(reply: Reply) -> Self {
        Self::Say { reply: Box::new(reply), about: Vec::new() }
    }

    pub(super) fn about(reply: Reply, about: Vec<AnimalId>) -> Self {
        Self::Say { reply: Box::new(reply), about }
    }

    pub(super) fn save(change: Change, reply: Reply, about: Vec<AnimalId>) -> Self {
        Self::Save { change, reply: Box::new(reply), about }
    }
}

/// Everything a record is answered from.
#[derive(Debug)]
pub(super) struct Desk<'a> {
    pub(super) catalogue: &'a Catalogue,
    pub(super) reader: &'a Reader,
    pub(super) herd: &'a Herd,
    pub(super) today: Date,
    /// The moment, and where it is said.
    pub(super) present: Present,
    /// The species of the place.
    pub(super) species: Option<SpeciesId>,
    /// Animals last spoken of, the last first.
    pub(super) last: &'a [AnimalId],
    pub(super) fixed: &'a Fixed,
    /// The plan that was asked for last.
    pub(super) plan: Option<&'a Record>,
    /// The last answer was about that plan.
    pub(super) after_plan: bool,
    /// The season that was asked for last.
    pub(super) season: Option<&'a season::Kept>,
    /// The message.
    pub(super) said: String,
}

impl<'a> Desk<'a> {
    /// The same desk, for a part of the message.
    pub(super) fn again(&self) -> Desk<'a> {
        Desk { said: self.said.clone(), ..*self }
    }

    /// The species of a kept animal; none where the catalogue does not know it (any more).
    pub(super) fn species_of(&self, animal: &Animal) -> Option<&'a Species> {
        self.catalogue.species().iter().find(|s| s.key() == animal.species)
    }
}

/// Answers a record.
pub(super) fn answer(desk: &Desk<'_>, record: &Record) -> Result<Done, Stop> {
    match record {
        Record::Add(animals) => added::add(desk, animals),
        Record::Card(who) => looked::card(desk, who),
        Record::Share(who) => looked::share(desk, who),
        Record::List(what, filter) => looked::list(desk, *what, filter),
        Record::Rename { who, to } => changed::rename(desk, who, to),
        Record::Correct { who, what, unread } => changed::correct(desk, who, what, unread),
        Record::Status { who, status, on } => let_go::status(desk, who, *status, on.as_ref()),
        Record::Remove(those) => let_go::remove(desk, those),
        Record::Weigh { weights, on } => happened::weigh(desk, weights, on.as_ref()),
        Record::Meal { who, taken, prey, on } => happened::meal(desk, who, *taken, prey.as_deref(), on.as_ref()),
        Record::Meet { kind, first, second, on } => happened::meet(desk, *kind, first, second.as_ref(), on.as_ref()),
        Record::Sign { who, kind, size_mm, on } => happened::sign(desk, who, *kind, *size_mm, on.as_ref()),
        Record::Laid { parents, said, on } => clutches::laid(desk, parents, said, on.as_ref()),
        Record::Pipped { clutch, on } => clutches::pipped(desk, clutch, on.as_ref()),
        Record::Hatched { clutch, young, lost, on } => clutches::hatched(desk, clutch, young, *lost, on.as_ref()),
        Record::Sires { clutch, named, mixed } => sires::sires(desk, clutch, named, *mixed),
        Record::Prove { who, genes } => changed::prove(desk, who, genes),
        Record::Goal { genes, said, limits, name } => goals::goal(desk, genes, said, limits, name.as_deref()),
        Record::Frequency { genes, share, then } => frequency::frequency(desk, genes, share, then.as_deref()),
        Record::GoalGone { number } => goals::goal_gone(desk, *number),
        Record::GoalEdit { number, edit } => goals::edit(desk, *number, edit),
        Record::Plan { towards, limits } => planned::plan(desk, towards, limits, None),
        Record::PlanMore(more) => match desk.plan {
            Some(Record::Plan { towards, limits }) => planned::plan(desk, towards, limits, Some(more)),
            _ => Err(Stop::say(super::sentences::keeping::whom())),
        },
        Record::Undo => Ok(Done::Undo),
        Record::Changes { days } => Ok(Done::Changes { days: *days }),
        Record::Forget => Ok(house::forget(desk)),
        Record::Export { form, filter } => files::export(desk, *form, filter),
        Record::Import { text } => files::import(desk, text),
        Record::WhatIf { who, genes, then } => {
            evidence::answered_from_beliefs(desk, |desk| asked::what_if(desk, who, genes, then.as_deref()))
        }
        Record::AllPairings { genes, target, said } => {
            evidence::answered_from_beliefs(desk, |desk| asked::all_pairings(desk, genes, target, said))
        }
        Record::Odds { .. } => evidence::answered_from_beliefs(desk, |desk| asked::odds(desk, record)),
        Record::Evidence(asked) => questioned(desk, asked),
        Record::Season(asked) => season::answer(desk, asked),
        Record::Calendar(asked) => calendar::answer(desk, asked),
        Record::Home(said) => home::home(desk, said),
        Record::Remind(said) => remind::remind(desk, said),
    }
}

/// Who carries what, and who is related.
fn questioned(desk: &Desk<'_>, asked: &Asked) -> Result<Done, Stop> {
    match asked {
        Asked::HowSure { who, genes } => evidence::how_sure(desk, who, genes, false, None),
        Asked::OverTime { who, genes } => history::over_time(desk, who, genes),
        Asked::ToBeSure { who, genes, level } => evidence::how_sure(desk, who, genes, true, level.as_ref()),
        Asked::WhoFirst => outlook::who_first(desk),
        Asked::AllNormal { parents, young } => outlook::all_normal(desk, parents, *young),
        Asked::Related { one, other } => related::related(desk, one, other.as_ref()),
        Asked::Maker { who } => maker::maker(desk, who),
        Asked::Family { who } => evidence::answered_from_beliefs(desk, |desk| family::family(desk, who)),
        Asked::SaleCard { who } => related::sale_card(desk, who),
    }
}
