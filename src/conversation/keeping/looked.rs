//! Cards and lists.

use std::collections::HashMap;

use super::added::species_of;
use super::who::Care;
use super::{Desk, Done, Stop};
use crate::collection::animal::{Animal, AnimalId, Belief, Sex};
use crate::collection::genes;
use crate::conversation::sentences::keeping as say;
use crate::engine::odds::sure;
use crate::reading::dates::When;
use crate::reading::records::look::{Filter, Having, Listed};
use crate::reading::records::message::Called;
use crate::reading::requests::{Choice, SexSaid};
use crate::species::Species;

/// Lists of more animals show labels alone.
const MOST_WEIGHED: usize = 40;
/// Animals of a list whose chances are given beside their labels.
const MOST_MOVED: usize = 6;

pub(super) fn card(desk: &Desk<'_>, who: &Called) -> Result<Done, Stop> {
    let animal = desk.one(who, Care::Reads)?;
    let species = species_of(desk, animal)?;
    let mut reply = say::card(desk.catalogue, desk.herd, species, animal, desk.today);
    // The label stands, and beside it what is known now.
    let now = super::evidence::as_believed(desk);
    let place = reply.answer.len().min(1);
    reply.answer.splice(place..place, super::evidence::differing(desk, &now, &[animal.id]));
    Ok(Done::about(reply, vec![animal.id]))
}

/// The card that its owner passes on.
pub(super) fn share(desk: &Desk<'_>, who: &Called) -> Result<Done, Stop> {
    let animal = desk.one(who, Care::Reads)?;
    let species = species_of(desk, animal)?;
    let now = super::evidence::as_believed(desk);
    let moved = super::evidence::differing(desk, &now, &[animal.id]);
    let reply = say::share(desk.catalogue, desk.herd, species, animal, moved, desk.today);
    Ok(Done::about(reply, vec![animal.id]))
}

pub(super) fn list(desk: &Desk<'_>, what: Listed, filter: &Filter) -> Result<Done, Stop> {
    match what {
        Listed::Clutches => return Ok(Done::say(say::clutches(desk.herd))),
        Listed::Goals => return Ok(Done::say(say::goals(desk.catalogue, desk.herd))),
        Listed::Animals => {}
    }
    let found = fitting(desk, filter)?;
    let asked = say::filter_words(desk.catalogue, filter);
    let about = match found[..] {
        [only] => vec![only.id],
        _ => Vec::new(),
    };
    let mut reply = say::list(desk.catalogue, desk.herd, &found, filter, &asked);
    if found.len() <= MOST_WEIGHED {
        let ids: Vec<AnimalId> = found.iter().map(|a| a.id).collect();
        let mut moved = super::evidence::differing(desk, &super::evidence::as_believed(desk), &ids);
        moved.truncate(MOST_MOVED);
        reply.notes.extend(moved);
    }
    Ok(Done::about(reply, about))
}

/// The animals that fit, by their codes.
pub(super) fn fitting<'a>(desk: &Desk<'a>, filter: &Filter) -> Result<Vec<&'a Animal>, Stop> {
    let hatched = desk.when(filter.hatched.as_ref())?;
    let weights: HashMap<AnimalId, i32> = desk.herd.last_weights().into_iter().map(|(id, w)| (id, w.grams)).collect();
    let mut found: Vec<&Animal> = desk
        .herd
        .animals
        .iter()
        .filter(|a| match filter.status {
            Some(status) => a.status == status,
            None => filter.gone_too || a.status.is_here(),
        })
        .filter(|a| filter.sex == SexSaid::Unknown || a.sex == filter.sex.into())
        .filter(|a| match filter.species {
            Some(id) => desk.species_of(a).is_some_and(|s| s.id == id),
            None => true,
        })
        .filter(|a| weighs(weights.get(&a.id).copied(), filter))
        .filter(|a| !filter.adults || is_adult(desk, a, weights.get(&a.id).copied()))
        .filter(|a| hatched.is_none_or(|w| was_hatched(a, w)))
        .filter(|a| filter.tag.as_ref().is_none_or(|t| a.tags.iter().any(|x| x.eq_ignore_ascii_case(t))))
        .filter(|a| has_hets(desk, a, filter))
        .filter(|a| has_genes(desk, a, filter))
        .collect();
    found.sort_by_key(|a| a.number);
    Ok(found)
}

fn weighs(grams: Option<i32>, filter: &Filter) -> bool {
    let (least, most) = (filter.at_least_g, filter.at_most_g);
    if least.is_none() && most.is_none() {
        return true;
    }
    // An animal that was never weighed is in no such list; the reply says how many there are.
    grams.is_some_and(|g| least.is_none_or(|l| i64::from(g) >= l) && most.is_none_or(|m| i64::from(g) <= m))
}

/// Of breeding weight, or of breeding age where it was never weighed.
fn is_adult(desk: &Desk<'_>, animal: &Animal, grams: Option<i32>) -> bool {
    let Some(species) = desk.species_of(animal) else { return false };
    let care = species.care();
    let (weight, age) = if animal.sex == Sex::Male {
        (&care.male_first_weight, &care.maturity_male_years)
    } else {
        (&care.female_first_weight, &care.maturity_female_years)
    };
    if let (Some(grams), Some(weight)) = (grams, weight) {
        return f64::from(grams) >= weight.low;
    }
    let (Some(hatched), Some(age)) = (animal.hatched, age) else { return false };
    let days = desk.today.since(hatched.last()).map_or(0, |s| s.get_days());
    f64::from(days) >= age.low * 365.25
}

fn was_hatched(animal: &Animal, when: When) -> bool {
    animal.hatched.is_some_and(|h| h.first() >= when.first() && h.last() <= when.last())
}

fn has_hets(desk: &Desk<'_>, animal: &Animal, filter: &Filter) -> bool {
    if !filter.hets && !filter.possible_hets {
        return true;
    }
    let Some(species) = desk.species_of(animal) else { return false };
    animal.genes.iter().any(
        |b| {
            if filter.possible_hets { genes::is_possible_het(species, b) } else { is_het(species, b) }
        },
    )
}

fn is_het(species: &Species, belief: &Belief) -> bool {
    belief.copies == 1 && species.gene_by_id(&belief.gene).is_some_and(|g| species.gene(g).is_recessive())
}

fn has_genes(desk: &Desk<'_>, animal: &Animal, filter: &Filter) -> bool {
    let Some(said) = &filter.genes else { return true };
    let Some(species) = desk.species_of(animal) else { return false };
    // The words were read for one species; another has its own genes of that name.
    let said = if said.species == Some(species.id) {
        said.clone()
    } else {
        desk.reader.describe(desk.catalogue, &said.animal.said, Some(species.id))
    };
    if !said.has_genes() {
        return false;
    }
    let having = if filter.hets && filter.having == Having::As { Having::Het } else { filter.having };
    let has = |gene: &str, copies: u8| {
        animal.genes.iter().filter(|b| b.gene == gene).any(|b| match having {
            Having::Carries => true,
            Having::Het => is_het(species, b) && (!filter.possible_hets || b.chance < sure()),
            Having::As => b.copies >= copies && (b.chance == sure() || copies == 1),
        })
    };
    let id = |gene| species.gene(gene).entry.id.as_str();
    let all_named = said.animal.genes.iter().all(|c| has(id(c.gene), c.copies));
    let looks = said.animal.looks.iter().all(|g| animal.genes.iter().any(|b| b.gene == id(*g)));
    // A word with several readings ("axanthic") means any of them.
    let any_reading = said.questions.iter().all(|q| {
        q.readings.iter().any(|r| match r {
            Choice::Genes(_, genes) => genes.iter().all(|(g, n)| has(id(*g), *n)),
            Choice::Chance(gene, n, _) => has(id(*gene), *n),
            _ => false,
        })
    });
    all_named && looks && any_reading
}
