//! Whom to hold back, and who is not needed.

use std::collections::{BTreeMap, BTreeSet};

use super::super::{count, list_of, look_of, with_code};
use crate::collection::animal::{Animal, AnimalId, Sex};
use crate::collection::herd::Herd;
use crate::conversation::labels;
use crate::engine::planning::holdback::Kept;
use crate::reply::Reply;
use crate::species::Species;

/// Young that are named.
const MOST_YOUNG: usize = 8;
/// Animals that are named as not needed.
const MOST_OTHERS: usize = 10;
/// A worth below this is nothing.
const NOTHING: f64 = 1e-6;
/// A young that adds less than this share of what the best one does is not worth its place for years.
const WORTH_A_PLACE: f64 = 0.2;

/// Who of one species is kept.
pub(in crate::conversation) struct Held<'a> {
    pub(in crate::conversation) species: &'a Species,
    pub(in crate::conversation) ids: Vec<AnimalId>,
    pub(in crate::conversation) kept: Kept,
    /// Who was needed before the young were there.
    pub(in crate::conversation) needed_before: Vec<AnimalId>,
    /// Animals there is room for.
    pub(in crate::conversation) space: Option<usize>,
}

/// "a ♀ Clown, het Piebald of Rusty × Nova".
fn young_in_words(species: &Species, herd: &Herd, animal: &Animal) -> String {
    let parent = |id: Option<AnimalId>| id.and_then(|id| herd.animal(id)).map(Animal::called);
    let from = match (parent(animal.sire_id), parent(animal.dam_id)) {
        (Some(sire), Some(dam)) => format!(" of {sire} \u{d7} {dam}"),
        (Some(one), None) | (None, Some(one)) => format!(" of {one}"),
        (None, None) => String::new(),
    };
    let look = look_of(species, &animal.genes);
    let mark = labels::mark(animal.sex.into());
    match &animal.name {
        Some(name) => format!("{name} ({mark}{look}){from}"),
        None => format!("{mark}{look}{from}"),
    }
}

/// Whom to hold back, and who is not needed.
pub(in crate::conversation) fn holdback(herd: &Herd, young: &[AnimalId], all: &[Held<'_>]) -> Reply {
    let mut reply =
        Reply { understood: "Whom to keep, by what each adds to your goals".to_owned(), ..Reply::default() };
    let mut any = false;
    for held in all {
        any |= of_species(&mut reply, herd, young, held, all.len() > 1);
    }
    if !any {
        reply
            .notes
            .push("No young of the last months are recorded; this is about the animals that you have.".to_owned());
    }
    reply.notes.push(
        "This weighs goals alone: feeding, kinks and temper of each young are yours to see, and a vet's where in doubt. Wait two or three sheds where colours still change."
            .to_owned(),
    );
    reply
}

fn of_species(reply: &mut Reply, herd: &Herd, young: &[AnimalId], held: &Held<'_>, shared: bool) -> bool {
    let kept = &held.kept;
    let is_young = |i: usize| young.contains(&held.ids[i]);
    let mut hatched: Vec<usize> = (0..held.ids.len()).filter(|i| is_young(*i)).collect();
    hatched.sort_by(|a, b| kept.beside_kept[*b].total_cmp(&kept.beside_kept[*a]).then(a.cmp(b)));
    let words = |i: usize| herd.animal(held.ids[i]).map(|a| young_in_words(held.species, herd, a));
    let most = hatched.iter().map(|i| kept.beside_kept[*i]).fold(0.0, f64::max);
    let (keep, spare): (Vec<usize>, Vec<usize>) =
        hatched.iter().filter(|i| kept.kept[**i]).partition(|i| kept.beside_kept[**i] >= most * WORTH_A_PLACE);
    for (n, i) in keep.iter().take(MOST_YOUNG).enumerate() {
        reply.answer.extend(words(*i).map(|who| format!("{}. Keep {who}.", n + 1)));
    }
    let spare: BTreeSet<String> = spare.into_iter().filter_map(words).collect();
    if !spare.is_empty() {
        let named: Vec<String> = spare.into_iter().take(MOST_YOUNG).collect();
        reply.answer.push(format!("Adds little, if there is a place to spare: {}.", list_of(&named)));
    }
    if keep.is_empty() && !hatched.is_empty() {
        reply.answer.push("None of the young brings a goal nearer than what you have.".to_owned());
    }
    let mut rest: BTreeMap<String, usize> = BTreeMap::new();
    for i in hatched.iter().filter(|i| !kept.kept[**i]) {
        if let Some(who) = words(*i) {
            *rest.entry(who).or_default() += 1;
        }
    }
    if !rest.is_empty() {
        let named: Vec<String> = rest.into_keys().take(MOST_YOUNG).collect();
        reply.answer.push(format!("Can go: {}.", list_of(&named)));
    }
    let old = |needed: bool| {
        let is = move |i: &usize| !is_young(*i) && kept.needed[*i] == needed;
        (0..held.ids.len()).filter(is).filter_map(|i| herd.animal(held.ids[i]))
    };
    let (replaced, idle): (Vec<&Animal>, Vec<&Animal>) = old(false).partition(|a| held.needed_before.contains(&a.id));
    if !replaced.is_empty() {
        let names: Vec<String> = replaced.into_iter().map(with_code).collect();
        reply.answer.push(format!("With these kept, the young take the place of {}.", list_of(&names)));
    }
    let idle: Vec<String> = idle.into_iter().map(with_code).collect();
    if !idle.is_empty() {
        let some: Vec<String> = idle.iter().take(MOST_OTHERS).cloned().collect();
        let more = idle.len().saturating_sub(MOST_OTHERS);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        reply.answer.push(format!("No goal needs any longer: {}{more}.", list_of(&some)));
    }
    let mut best: Vec<usize> = (0..held.ids.len()).filter(|i| !is_young(*i) && kept.worth[*i] > NOTHING).collect();
    best.sort_by(|a, b| kept.worth[*b].total_cmp(&kept.worth[*a]).then(a.cmp(b)));
    let best: Vec<String> = best.into_iter().take(3).filter_map(|i| herd.animal(held.ids[i])).map(with_code).collect();
    if !best.is_empty() {
        reply.notes.push(format!("Your goals hang most on {}.", list_of(&best)));
    }
    if let Some(space) = held.space {
        let n = kept.kept.iter().filter(|k| **k).count();
        let over = (0..held.ids.len()).filter(|i| !is_young(*i) && !kept.kept[*i] && kept.needed[*i]);
        let over: Vec<String> = over.filter_map(|i| herd.animal(held.ids[i])).map(with_code).collect();
        let go =
            if over.is_empty() { String::new() } else { format!(" For that, least is lost by {}.", list_of(&over)) };
        let room = if shared {
            let species = held.species.name().to_lowercase();
            format!("Of your room {} for {species}s", count(space, "place is", "places are"))
        } else {
            format!("Within your room for {space}")
        };
        reply.notes.push(format!("{room}: {} kept.{go}", count(n, "animal", "animals")));
    }
    if !kept.complete {
        reply.notes.push("The search was cut short: who was not looked at is kept.".to_owned());
    }
    let lone = [Sex::Male, Sex::Female].into_iter().find(|sex| {
        let left = (0..held.ids.len()).filter(|i| kept.kept[*i]).filter_map(|i| herd.animal(held.ids[i]));
        left.clone().count() > 0 && left.clone().all(|a| a.sex != *sex)
    });
    if let Some(sex) = lone {
        let word = if sex == Sex::Male { "male" } else { "female" };
        reply.notes.push(format!("Then no {word} is left: one has to come from elsewhere."));
    }
    !hatched.is_empty()
}
