//! Who is related to whom, and what may be promised of an animal for sale.

use super::added::species_of;
use super::evidence::{broods, evidence, open_genes, proven, weigh};
use super::who::Care;
use super::{Desk, Done, Stop};
use crate::collection::animal::Animal;
use crate::collection::evidence::{self as all_records, Evidence};
use crate::collection::genes;
use crate::collection::kin::{self, Kin, Relation};
use crate::conversation::sentences::keeping as say;
use crate::conversation::sentences::keeping::evidence::HowSure;
use crate::engine::odds::{none, sure};
use crate::reading::records::message::Called;
use crate::species::{GeneId, Species};

pub(super) fn related(desk: &Desk<'_>, one: &Called, other: Option<&Called>) -> Result<Done, Stop> {
    let one = desk.one(one, Care::Reads)?;
    let species = species_of(desk, one)?;
    let pedigree = pedigree(desk, species)?;
    let Some(other) = other else {
        let mut all: Vec<(&Animal, Kin)> = desk
            .herd
            .here()
            .filter(|a| a.id != one.id && a.species == one.species)
            .filter_map(|a| Some((a, kin::kin(&pedigree, one.id, a.id).ok()?)))
            .filter(|(_, kin)| kin.kinship > none())
            .collect();
        all.sort_by(|a, b| b.1.kinship.cmp(&a.1.kinship).then(a.0.number.cmp(&b.0.number)));
        return Ok(Done::about(say::related::relatives(&pedigree, one, &all), vec![one.id]));
    };
    let other = desk.one(other, Care::Reads)?;
    if other.species != one.species {
        return Ok(Done::say(say::related::other_species(one, other)));
    }
    let kin = kin::kin(&pedigree, one.id, other.id).map_err(|e| Stop::say(say::fault(&e.to_string())))?;
    Ok(Done::about(say::related::related(&pedigree, one, other, &kin), vec![one.id, other.id]))
}

fn pedigree<'a>(desk: &Desk<'a>, species: &'a Species) -> Result<Evidence<'a>, Stop> {
    Evidence::pedigree(species, desk.herd).map_err(|e| Stop::say(say::fault(&e.to_string())))
}

/// What is said beside a pairing of two relatives.
pub(super) fn of_pair(desk: &Desk<'_>, one: &Animal, other: &Animal) -> Option<String> {
    let species = desk.species_of(one).filter(|_| one.species == other.species)?;
    let pedigree = pedigree(desk, species).ok()?;
    let kin = kin::kin(&pedigree, one.id, other.id).ok().filter(|k| k.relation != Relation::Same)?;
    say::related::of_pair(&pedigree, one, other, &kin)
}

pub(super) fn sale_card(desk: &Desk<'_>, who: &Called) -> Result<Done, Stop> {
    let animal = desk.one(who, Care::Reads)?;
    let species = species_of(desk, animal)?;
    let all = all_records::recessive_loci(species, desk.herd);
    let sound = all_records::sound(species, desk.herd, &all, &super::evidence::outside(desk, species));
    let records = evidence(desk, species, desk.herd, &sound)?;
    let weighed = weigh(&records, species)?;
    let mut chosen: Vec<GeneId> = animal
        .genes
        .iter()
        .filter_map(|b| species.gene_by_id(&b.gene))
        .filter(|g| species.gene(*g).is_recessive() && species.place(*g).is_some())
        .collect();
    chosen.extend(open_genes(desk.herd, species, &weighed, animal));
    chosen.sort_unstable();
    chosen.dedup();
    let found: Vec<HowSure<'_>> = chosen
        .into_iter()
        .map(|gene| HowSure {
            gene,
            label: genes::carries(&animal.genes, &species.gene(gene).entry.id),
            now: weighed.carries(animal.id, gene).unwrap_or_else(none),
            shows: animal
                .genes
                .iter()
                .any(|b| b.copies == 2 && b.chance == sure() && species.gene_by_id(&b.gene) == Some(gene)),
            proven: proven(desk.herd, species, animal.id, gene),
            error: None,
            broods: broods(desk.herd, species, animal.id, gene),
            settles: Vec::new(),
        })
        .collect();
    let reply = say::sale::sale_card(species, desk.catalogue, animal, say::parents(desk.herd, animal), &found);
    Ok(Done::about(reply, vec![animal.id]))
}
