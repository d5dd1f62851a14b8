//! On which of his sex chromosomes a male has a sex-linked gene: the trade's male and female makers.

use super::added::species_of;
use super::evidence::{evidence, weigh};
use super::who::Care;
use super::{Desk, Done, Stop};
use crate::collection::animal::{Animal, Sex};
use crate::collection::evidence::loci;
use crate::collection::genes;
use crate::conversation::sentences::keeping as say;
use crate::conversation::sentences::keeping::maker::Sired;
use crate::reading::records::message::Called;
use crate::species::GeneId;

pub(super) fn maker(desk: &Desk<'_>, who: &Called) -> Result<Done, Stop> {
    let animal = desk.one(who, Care::Reads)?;
    let species = species_of(desk, animal)?;
    let all = (0..species.genes().len()).filter_map(|n| Some(GeneId(u16::try_from(n).ok()?)));
    let linked: Vec<GeneId> = all.filter(|g| species.gene(*g).entry.sex_linked.is_some()).collect();
    let has = |gene: &&GeneId| animal.genes.iter().any(|b| b.gene == species.gene(**gene).entry.id);
    let Some(gene) = linked.iter().find(has).copied() else {
        return Ok(Done::about(say::maker::has_none(species, animal, &linked), vec![animal.id]));
    };
    if animal.sex != Sex::Male {
        return Ok(Done::about(say::maker::no_male(species, animal, gene), vec![animal.id]));
    }
    let told = animal.genes.iter().find_map(|b| b.side);
    let records = evidence(desk, species, desk.herd, &loci(species, desk.herd))?;
    let weighed = weigh(&records, species)?;
    let Some((on_y, on_x)) = weighed.sides(animal.id, gene) else {
        return Ok(Done::about(
            say::maker::not_followed(species, gene, &unsexed(desk, species.key(), gene)),
            vec![animal.id],
        ));
    };
    let id = &species.gene(gene).entry.id;
    let mut sired = Sired::default();
    for young in desk.herd.clutches.iter().filter(|c| c.sire_id == Some(animal.id)).flat_map(|c| &c.young) {
        if young.untold {
            continue;
        }
        let shows = genes::carries(&young.genes, id) > crate::engine::odds::none();
        let [sons, daughters] = if shows { &mut sired.with } else { &mut sired.without };
        *sons += u32::from(young.males);
        *daughters += u32::from(young.females);
    }
    let reply = say::maker::maker(species, animal, gene, told, (&on_y, &on_x), &sired);
    Ok(Done::about(reply, vec![animal.id]))
}

/// Carriers whose sex stands in the way.
fn unsexed(desk: &Desk<'_>, species: &str, gene: GeneId) -> Vec<String> {
    let of = |a: &&Animal| a.species == species && a.sex == Sex::Unknown;
    let has = |a: &&Animal| desk.species_of(a).is_some_and(|s| a.genes.iter().any(|b| b.gene == s.gene(gene).entry.id));
    desk.herd.animals.iter().filter(of).filter(has).map(say::with_code).collect()
}
