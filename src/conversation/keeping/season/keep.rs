//! Whom to hold back after a hatch, and who is not needed for any goal.

use std::collections::HashMap;

use jiff::civil::Date;

use super::super::evidence::as_believed;
use super::super::{Desk, Done, Stop, added};
use super::scene::{Scene, Wanting, hoped_for};
use crate::collection::animal::{Animal, AnimalId, Sex};
use crate::collection::events::{Clutch, Young};
use crate::collection::herd::Herd;
use crate::conversation::sentences::keeping as say;
use crate::engine::planning::holdback::{Kept, hold};
use crate::species::Species;

/// Young of a clutch that hatched longer ago are sold or grown.
const STILL_YOUNG: i32 = 300;
/// Young of one look and sex that are looked at; more of them do no more.
const MOST_ALIKE: u8 = 2;
/// Steps of the search; beyond, those not looked at are kept.
const MOST_STEPS: u32 = 2_000;

/// Whom to hold back, and who is not needed.
pub(super) fn keep(desk: &Desk<'_>) -> Result<Done, Stop> {
    if desk.herd.here().next().is_none() && desk.herd.clutches.is_empty() {
        return Err(Stop::say(say::season::nobody_here()));
    }
    if desk.herd.goals.is_empty() {
        return Err(Stop::say(super::suggest::goals(desk, &as_believed(desk))));
    }
    let (herd, young) = with_young(desk);
    let fresh = Desk { herd: &herd, ..desk.again() };
    let now = as_believed(&fresh);
    let mut found = Vec::new();
    let of_goals = |s: &&Species| desk.herd.goals.iter().any(|g| g.species == s.key());
    let species: Vec<&Species> = desk.catalogue.species().iter().filter(of_goals).collect();
    let spaces = shared(&fresh, &now, &species)?;
    for (species, space) in species.into_iter().zip(spaces) {
        let Some((ids, kept)) = held(&fresh, &now, species, space)? else { continue };
        // Who was needed before, for whose place the young take.
        let before = if young.is_empty() { None } else { held(desk, &as_old(&now, &young), species, space)? };
        let needed_before = before.map_or_else(Vec::new, |(ids, kept)| {
            ids.into_iter().zip(kept.needed).filter(|(_, needed)| *needed).map(|(id, _)| id).collect()
        });
        found.push(say::season::Held { species, ids, kept, needed_before, space });
    }
    if found.is_empty() {
        return Err(Stop::say(say::season::no_goal_for(desk.catalogue, desk.herd)));
    }
    Ok(Done::about(say::season::holdback(&now, &young, &found), Vec::new()))
}

/// The herd without these young.
fn as_old(herd: &Herd, young: &[AnimalId]) -> Herd {
    let mut herd = herd.clone();
    herd.animals.retain(|a| !young.contains(&a.id));
    herd
}

/// The places of each species: the room is one for all of them, and whoever adds least to any goal leaves first. Animals
/// without a goal have their places, too. Nothing is a limit where no goal has one.
fn shared(desk: &Desk<'_>, herd: &Herd, species: &[&Species]) -> Result<Vec<Option<usize>>, Stop> {
    let room = desk.herd.goals.iter().filter_map(|g| g.limits.as_ref()?.room).map(usize::from).min();
    let Some(room) = room else { return Ok(vec![None; species.len()]) };
    let of_goals = |a: &&Animal| species.iter().any(|s| s.key() == a.species);
    let others = herd.here().filter(|a| !of_goals(a)).count();
    let room = room.saturating_sub(others);
    if species.len() == 1 {
        return Ok(vec![Some(room)]);
    }
    let mut places = Vec::new();
    for one in species {
        let free = held(desk, herd, one, None)?;
        places.push(free.map_or(0, |(_, kept)| kept.kept.iter().filter(|k| **k).count()));
    }
    let mut worths: HashMap<(usize, usize), f64> = HashMap::new();
    while places.iter().sum::<usize>() > room {
        let mut least: Option<(f64, usize)> = None;
        for k in (0..species.len()).filter(|k| places[*k] > 0) {
            let mut worth = |n: usize| -> Result<f64, Stop> {
                if let Some(known) = worths.get(&(k, n)) {
                    return Ok(*known);
                }
                let worth = held(desk, herd, species[k], Some(n))?.map_or(0.0, |(_, kept)| kept.of_kept);
                worths.insert((k, n), worth);
                Ok(worth)
            };
            let loss = worth(places[k])? - worth(places[k] - 1)?;
            if least.is_none_or(|(known, _)| loss < known) {
                least = Some((loss, k));
            }
        }
        let Some((_, k)) = least else { break };
        places[k] -= 1;
    }
    Ok(places.into_iter().map(Some).collect())
}

/// Animals of one species, and who of them is kept.
type OfSpecies = (Vec<AnimalId>, Kept);

/// Who of one species is kept within so many places; nothing where none is here.
fn held(desk: &Desk<'_>, herd: &Herd, species: &Species, space: Option<usize>) -> Result<Option<OfSpecies>, Stop> {
    let wanting = Wanting { goals: &[], skip: &[], certain: false, relatives: None };
    let Some(mut scene) = Scene::of(desk, herd, species, &wanting).filter(|scene| !scene.players.is_empty()) else {
        return Ok(None);
    };
    scene.world.clutch = hoped_for(species, &scene.world.clutch);
    let may = |sire: usize, dam: usize| scene.may(sire, dam);
    let mut left = MOST_STEPS;
    let mut go_on = || {
        left = left.saturating_sub(1);
        left > 0
    };
    let room = scene.room(&may);
    let kept = hold(&room, space, &mut go_on).map_err(|e| Stop::say(say::fault(&e.to_string())))?;
    Ok(Some((scene.players.iter().map(|p| p.id).collect(), kept)))
}

/// The herd with the young of recent clutches that are not animals of their own yet, and which those are.
fn with_young(desk: &Desk<'_>) -> (Herd, Vec<AnimalId>) {
    let mut herd = desk.herd.clone();
    let mut ids = desk.herd.ids();
    let mut young = Vec::new();
    let recent = |on: Date| desk.today.since(on).is_ok_and(|s| (0..=STILL_YOUNG).contains(&s.get_days()));
    for clutch in desk.herd.clutches.iter().filter(|c| c.hatched.is_some_and(|on| recent(on.last()))) {
        let named = desk.herd.animals.iter().filter(|a| a.clutch_id == Some(clutch.id));
        let mut named = named.peekable();
        if named.peek().is_some() {
            // Whoever was kept back of it stands in the collection.
            young.extend(named.filter(|a| a.status.is_here()).map(|a| a.id));
            continue;
        }
        let parent = clutch.dam_id.or(clutch.sire_id).and_then(|id| desk.herd.animal(id));
        let Some(species) = parent.and_then(|parent| added::species_of(desk, parent).ok()) else { continue };
        for kind in &clutch.young {
            for (sex, n) in sexes(kind) {
                for _ in 0..n.min(MOST_ALIKE) {
                    let (id, number) = ids.animal();
                    herd.animals.push(hatchling(Animal::new(id, number, species.key().to_owned()), clutch, kind, sex));
                    young.push(id);
                }
            }
        }
    }
    (herd, young)
}

/// How many of each sex there are; those not sexed may be either, and are looked at as females.
fn sexes(kind: &Young) -> [(Sex, u8); 2] {
    [(Sex::Male, kind.males), (Sex::Female, kind.females.saturating_add(kind.unsexed))]
}

fn hatchling(mut young: Animal, clutch: &Clutch, kind: &Young, sex: Sex) -> Animal {
    young.sex = sex;
    young.genes.clone_from(&kind.genes);
    young.hatched = clutch.hatched;
    (young.sire_id, young.dam_id, young.clutch_id) = (clutch.sire_id, clutch.dam_id, Some(clutch.id));
    young
}
