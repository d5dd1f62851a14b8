//! The season's decision for a whole collection: which male to which female, for all goals at once.
//!
//! In: [`Room`]s, one a species: animals with what is believed of them, who may be paired this season, goals with their
//! weights; and the limits that all rooms share. Out: [`Advice`], the pairings that together do most for the goals, best
//! first, with what every other pairing would do instead, so that questions about it need no new search.
//!
//! A pairing is worth what it adds to the hope of the goals (see `project::hope`) beside all the others; what proves a
//! possible carrier has a small worth of its own. Pairings are chosen together, by an assignment of the greatest sum
//! ([`assign::assign`]) whose worths are taken anew around what was chosen, since two pairings for the same need are
//! worth less than twice one. Where there are few ways, all are tried, and the answer is the best there is.
//! Worths are floating point and for choosing; odds that are told come from crosses.
//! Start at [`advise`]. Not here: which young to keep (`holdback`).

pub mod assign; // the assignment of the greatest sum
mod outlook; // one goal: what each pairing brings it
mod search; // which pairings together

use super::project::ProjectError;
use super::project::decide::Objective;
use super::{Animal, Maturity, Tell};
use crate::engine::inheritance::clutch::{ClutchSize, Wanted};
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{Genetics, LocusId, Sex};

pub(super) use outlook::{Ground, Outlook};
use search::Search;

/// A goal of more genes is looked at in groups of so many: every group of them is a goal of its own.
const MOST_LOCI: usize = 3;

/// The animals of one species, and what they are bred for.
pub struct Room<'a> {
    /// The species.
    pub genetics: &'a Genetics,
    /// How the genotypes of young are told.
    pub tell: Tell,
    /// All that are here, also those that cannot be paired yet.
    pub animals: Vec<Candidate>,
    /// What is worked towards.
    pub aims: Vec<Aim>,
    /// Whether a male and a female, by position, may be paired at all.
    pub may: &'a dyn Fn(usize, usize) -> bool,
    /// Seasons from hatching to pairing.
    pub maturity: Maturity,
    /// What one clutch gives.
    pub clutch: ClutchSize,
    /// The most females that a male serves in the seasons to come.
    pub females_per_male: u32,
}

/// An animal of a room.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Candidate {
    /// What is believed of it, its sex, its seasons until it can be paired.
    pub animal: Animal,
    /// How many of the other sex it may go to this season; 0 rests, a female goes to one.
    pub serves: u32,
}

/// A goal of a room.
#[derive(Debug, Clone, PartialEq)]
pub struct Aim {
    /// Which young is wanted.
    pub goal: Wanted,
    /// Seasons it is looked ahead, this one included.
    pub seasons: u32,
    /// Whether the chance at their end counts, or how soon it comes.
    pub objective: Objective,
    /// How much it counts beside the others.
    pub weight: f64,
    /// Animals, by position, that must have no part in it.
    pub without: Vec<usize>,
}

/// What all rooms share.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Limits {
    /// The most pairings of the season.
    pub pairings: Option<usize>,
}

/// A pairing: room, male and female by their positions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Pairing {
    /// Which room.
    pub room: usize,
    /// The male.
    pub sire: usize,
    /// The female.
    pub dam: usize,
}

/// A pairing that was chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen {
    /// Which.
    pub pairing: Pairing,
    /// What it adds beside all the others chosen; the unit is that of [`Advice::total`].
    pub worth: f64,
    /// What it adds to each of the room's aims, in their order.
    pub by_aim: Vec<f64>,
    /// The young that does most for a goal, beside the goal itself.
    pub keep: Option<Keep>,
    /// The chance that its clutch proves the sire, and the dam, to carry what it possibly carries.
    pub proves: [f64; 2],
    /// Males that she could go to instead for nearly as much, with what they would add.
    pub nearly: Vec<(usize, f64)>,
}

/// The kind of young that does most for a goal.
#[derive(Debug, Clone, PartialEq)]
pub struct Keep {
    /// For which of the room's aims.
    pub aim: usize,
    /// Its sex.
    pub sex: Sex,
    /// Its genotypes at the loci that matter; others that are at least as good count as well.
    pub genotypes: Vec<(LocusId, Genotype)>,
    /// The share of what the pairing adds to the goal that is had by such a young alone.
    pub share: f64,
}

/// The season's pairings.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// What is chosen, best first.
    pub chosen: Vec<Chosen>,
    /// What it is all worth beside resting everybody: the chance of the goals, or seasons saved as a share of those
    /// looked ahead, by their weights.
    pub total: f64,
    /// For each room's aims the loci at which nobody here can ever bring what is wanted.
    pub missing: Vec<Vec<Vec<LocusId>>>,
    /// What every pairing that may be would add in place of what its female does, by room.
    others: Vec<Vec<(usize, usize, f64)>>,
    /// All ways to pair were tried.
    pub exact: bool,
    /// The search ran to its end.
    pub complete: bool,
}

impl Advice {
    /// What a pairing would add in place of what its female does, or beside it if she rests; `None` where it may not be.
    #[must_use]
    pub fn worth_of(&self, pairing: Pairing) -> Option<f64> {
        let room = self.others.get(pairing.room)?;
        room.iter().find(|(sire, dam, _)| (*sire, *dam) == (pairing.sire, pairing.dam)).map(|(.., worth)| *worth)
    }

    /// The best that could be done with an animal that is not used, and what it would add.
    #[must_use]
    pub fn best_of(&self, room: usize, animal: usize) -> Option<(Pairing, f64)> {
        let all = self.others.get(room)?.iter().filter(|(sire, dam, _)| *sire == animal || *dam == animal);
        let best = all.max_by(|a, b| a.2.total_cmp(&b.2).then(b.1.cmp(&a.1)).then(b.0.cmp(&a.0)))?;
        Some((Pairing { room, sire: best.0, dam: best.1 }, best.2))
    }
}

/// The season's pairings for all rooms. `go_on` is asked now and then; once it says no, the best found so far is given,
/// with [`Advice::complete`] false.
///
/// # Errors
/// [`ProjectError`]: what makes no sense, or what is too large.
pub fn advise(rooms: &[Room<'_>], limits: Limits, go_on: &mut dyn FnMut() -> bool) -> Result<Advice, ProjectError> {
    let grounds = grounds(rooms)?;
    let mut search = Search::new(rooms, &grounds, limits, go_on);
    search.run();
    Ok(search.advice())
}

/// The goals of all rooms in numbers: by room and aim, one or several grounds.
type Grounds = Vec<Vec<Vec<Ground>>>;

fn grounds(rooms: &[Room<'_>]) -> Result<Grounds, ProjectError> {
    rooms.iter().map(|room| room.aims.iter().map(|aim| grounds_of(room, aim)).collect()).collect()
}

/// One aim in numbers: the whole, or every group of [`MOST_LOCI`] of its genes.
pub(super) fn grounds_of(room: &Room<'_>, aim: &Aim) -> Result<Vec<Ground>, ProjectError> {
    let whole = Ground::new(room, &aim.goal, &aim.without)?;
    let wanted: Vec<(LocusId, Vec<Genotype>)> = aim
        .goal
        .loci()
        .filter(|(id, _)| !whole.missing.contains(id))
        .map(|(id, wanted)| (id, wanted.iter().copied().collect()))
        .collect();
    if whole.n_loci() <= MOST_LOCI || wanted.len() <= MOST_LOCI {
        return Ok(vec![whole]);
    }
    let mut grounds = Vec::new();
    for a in 0..wanted.len() {
        for b in a + 1..wanted.len() {
            for c in b + 1..wanted.len() {
                let any = aim.goal.sex().map_or_else(Wanted::any, |sex| Wanted::any().of_sex(sex));
                let group = [a, b, c].into_iter().map(|i| &wanted[i]);
                let goal = group.fold(any, |goal, (id, wanted)| goal.with(*id, wanted.iter().copied()));
                let mut ground = Ground::new(room, &goal, &aim.without)?;
                ground.is_part_of(&whole);
                grounds.push(ground);
            }
        }
    }
    Ok(grounds)
}
