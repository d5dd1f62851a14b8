//! How the chance that an animal carries a recessive moved as the clutches of its relatives came in.
//!
//! Nothing of it is stored: each point is what the records up to that day say together, weighed anew.

use std::collections::HashSet;

use jiff::civil::Date;

use super::{Evidence, Outside};
use crate::collection::animal::{Animal, AnimalId, ClutchId};
use crate::collection::events::Clutch;
use crate::collection::herd::Herd;
use crate::engine::odds::Odds;
use crate::reading::dates::When;
use crate::species::{GeneId, Species};

/// Clutches that are looked at one by one; earlier ones are in the beginning.
const MOST_CLUTCHES: usize = 13;
/// Generations of relatives whose clutches are looked at.
const GENERATIONS: usize = 2;

/// A chance, and the clutch that it follows.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// The clutch that came in last; `None` at the beginning, and for what other records add at the end.
    pub clutch: Option<ClutchId>,
    /// The chance that the animal carries the gene.
    pub chance: Odds,
}

/// The chance of one animal from the beginning on, in the order of the clutches' days; those without a day come last.
/// A clutch of its own is a point also where it moved nothing, one of a relative only where it did. Records that
/// contradict each other give none.
#[must_use]
pub fn history(species: &Species, herd: &Herd, of: AnimalId, gene: GeneId, outside: Outside<'_>) -> Vec<Point> {
    let Some((locus, _)) = species.place(gene) else { return Vec::new() };
    let chance = |herd: &Herd| -> Option<Odds> {
        Evidence::of(species, herd, &[locus], outside).ok()?.weigh().ok()?.carries(of, gene)
    };
    let kin = relatives(herd, of);
    let mut told: Vec<&Clutch> = herd.clutches.iter().filter(|c| c.n_told() > 0).collect();
    told.sort_by_key(|c| (day(c).is_none(), day(c), c.id));
    let looked: Vec<usize> = (0..told.len()).filter(|k| parents(told[*k]).any(|id| kin.contains(&id))).collect();
    let looked = &looked[looked.len().saturating_sub(MOST_CLUTCHES)..];
    let Some(first) = looked.first() else { return Vec::new() };
    let mut points: Vec<Point> = Vec::new();
    let begin = chance(&until(herd, of, &told[..*first]));
    points.extend(begin.map(|chance| Point { clutch: None, chance }));
    for at in looked {
        let clutch = told[*at];
        let Some(chance) = chance(&until(herd, of, &told[..=*at])) else { continue };
        let moved = points.last().is_none_or(|last| !super::is_same(&last.chance, &chance));
        if moved || parents(clutch).any(|id| id == of) {
            points.push(Point { clutch: Some(clutch.id), chance });
        }
    }
    if let Some(chance) = chance(herd)
        && points.last().is_some_and(|last| !super::is_same(&last.chance, &chance))
    {
        points.push(Point { clutch: None, chance });
    }
    points
}

/// The day on which a clutch told something.
fn day(clutch: &Clutch) -> Option<Date> {
    clutch.hatched.or(clutch.laid).map(When::first)
}

/// Everybody who may be a parent of a clutch.
fn parents(clutch: &Clutch) -> impl Iterator<Item = AnimalId> + '_ {
    let possible = clutch.sires.iter().flat_map(|sires| sires.of.iter().map(|sire| sire.id));
    clutch.sire_id.into_iter().chain(clutch.dam_id).chain(possible)
}

/// The herd as it was when these clutches had come in: without later ones and the animals that hatched from them.
fn until(herd: &Herd, of: AnimalId, clutches: &[&Clutch]) -> Herd {
    let known: HashSet<ClutchId> = clutches.iter().map(|c| c.id).collect();
    let last = clutches.iter().filter_map(|c| day(c)).max();
    let mut needed: HashSet<AnimalId> = clutches.iter().flat_map(|c| parents(c)).collect();
    needed.extend(ancestors(herd, of));
    let there = |a: &Animal| {
        let came = match (a.clutch_id, a.hatched, last) {
            (Some(clutch), ..) if herd.clutch(clutch).is_some_and(|c| c.n_told() > 0) => known.contains(&clutch),
            // Of before the first clutch nothing is known but who needs no parents here.
            (_, Some(_), None) => a.sire_id.is_none() && a.dam_id.is_none(),
            (_, Some(hatched), Some(last)) => hatched.first() <= last,
            (_, None, _) => true,
        };
        came || needed.contains(&a.id)
    };
    Herd {
        animals: herd.animals.iter().filter(|a| there(a)).cloned().collect(),
        clutches: clutches.iter().map(|c| (*c).clone()).collect(),
        frequencies: herd.frequencies.clone(),
        ..Herd::default()
    }
}

/// An animal with all its ancestors.
fn ancestors(herd: &Herd, of: AnimalId) -> HashSet<AnimalId> {
    let mut found = HashSet::new();
    let mut open = vec![of];
    while let Some(id) = open.pop() {
        if found.insert(id)
            && let Some(animal) = herd.animal(id)
        {
            open.extend(animal.sire_id.into_iter().chain(animal.dam_id));
        }
    }
    found
}

/// An animal, its near ancestors and descendants, and whom it was paired with.
fn relatives(herd: &Herd, of: AnimalId) -> HashSet<AnimalId> {
    let mut found = HashSet::from([of]);
    for _ in 0..GENERATIONS {
        let above: Vec<AnimalId> = found
            .iter()
            .filter_map(|id| herd.animal(*id))
            .flat_map(|a| a.sire_id.into_iter().chain(a.dam_id))
            .collect();
        let below = herd.animals.iter().filter(|a| a.sire_id.into_iter().chain(a.dam_id).any(|id| found.contains(&id)));
        let below: Vec<AnimalId> = below.map(|a| a.id).collect();
        found.extend(above.into_iter().chain(below));
    }
    let own = herd.clutches.iter().filter(|c| parents(c).any(|id| id == of));
    found.extend(own.flat_map(parents).collect::<Vec<_>>());
    found
}
