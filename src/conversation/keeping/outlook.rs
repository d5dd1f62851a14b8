//! Looking ahead: who is worth proving first, and what a clutch without a visual would say.

use super::added::species_of;
use super::evidence::{evidence, is_male_of, mates, open_genes, outside, weigh};
use super::who::Care;
use super::{Desk, Done, Stop};
use crate::collection::animal::Animal;
use crate::collection::change::Ids;
use crate::collection::events::{Clutch, Young};
use crate::collection::evidence::{Weighed, is_same, recessive_loci, sound};
use crate::collection::genes;
use crate::collection::herd::Herd;
use crate::conversation::odds::Laying;
use crate::conversation::sentences::keeping as say;
use crate::conversation::sentences::keeping::outlook::{First, Moved};
use crate::engine::odds::{none, sure, to_f64};
use crate::reading::records::message::Called;
use crate::species::{GeneId, Species};

pub(super) fn who_first(desk: &Desk<'_>) -> Result<Done, Stop> {
    let mut ways = Vec::new();
    for species in desk.catalogue.species() {
        if !desk.herd.here().any(|a| a.species == species.key()) {
            continue;
        }
        let loci = sound(species, desk.herd, &recessive_loci(species, desk.herd), &outside(desk, species));
        let evidence = evidence(desk, species, desk.herd, &loci)?;
        let weighed = weigh(&evidence, species)?;
        let young = usual_young(species);
        for animal in desk.herd.here().filter(|a| a.species == species.key()) {
            for gene in open_genes(desk.herd, species, &weighed, animal) {
                let now = weighed.carries(animal.id, gene).unwrap_or_else(none);
                let label = genes::carries(&animal.genes, &species.gene(gene).entry.id);
                let mate = mates(desk.herd, species, &weighed, animal, gene).into_iter().next();
                let hang = desk
                    .herd
                    .animals
                    .iter()
                    .filter(|a| a.sire_id == Some(animal.id) || a.dam_id == Some(animal.id))
                    .filter(|a| weighed.carries(a.id, gene).is_some_and(|p| p > none() && p < sure()))
                    .count();
                let (mate, shown) = match mate {
                    Some((mate, visual, chance)) => {
                        let per_egg = if visual { 0.5 } else { 0.25 };
                        let all = 1.0 - f64::powi(1.0 - per_egg, i32::try_from(young).unwrap_or(1));
                        (Some((mate.called(), visual, chance.clone())), to_f64(&chance) * all)
                    }
                    None => (None, 0.0),
                };
                ways.push(First {
                    who: animal,
                    species,
                    gene,
                    worth: told_by_clutch(to_f64(&now), shown) * (1.0 + f64::from(u32::try_from(hang).unwrap_or(0))),
                    visual_in_clutch: to_f64(&now) * shown,
                    now,
                    label,
                    mate,
                    young,
                    hang,
                });
            }
        }
    }
    ways.sort_by(|a, b| b.worth.total_cmp(&a.worth).then(a.who.number.cmp(&b.who.number)));
    let about = ways.first().map(|w| vec![w.who.id]).unwrap_or_default();
    Ok(Done::about(say::outlook::who_first(&ways), about))
}

/// How much a clutch is expected to tell of a carrier, in bits: before, `chance` that it carries; a carrier's clutch
/// shows a visual with chance `shown`.
fn told_by_clutch(chance: f64, shown: f64) -> f64 {
    let bits = |p: f64| if p <= 0.0 || p >= 1.0 { 0.0 } else { -p * p.log2() - (1.0 - p) * (1.0 - p).log2() };
    let none = 1.0 - chance * shown;
    if none <= 0.0 { bits(chance) } else { bits(chance) - none * bits(chance * (1.0 - shown) / none) }
}

/// Young of a usual clutch.
fn usual_young(species: &Species) -> u32 {
    let mean = Laying::usual(species, 1).map_or(6.0, |l| to_f64(&l.size().mean_young()));
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a small number of eggs
    let whole = mean.round().max(1.0) as u32;
    whole
}

pub(super) fn all_normal(desk: &Desk<'_>, parents: &[Called], young: Option<u32>) -> Result<Done, Stop> {
    let named: Vec<&Animal> = match parents {
        [] => vec![desk.one(&Called::Last, Care::Reads)?],
        some => some.iter().map(|c| desk.one(c, Care::Reads)).collect::<Result<_, _>>()?,
    };
    let [one, ..] = named[..] else { return Err(Stop::say(say::whom())) };
    let species = species_of(desk, one)?;
    let loci = sound(species, desk.herd, &recessive_loci(species, desk.herd), &outside(desk, species));
    let before = evidence(desk, species, desk.herd, &loci)?;
    let weighed = weigh(&before, species)?;
    let waiting = desk.herd.clutches.iter().rev().find(|c| {
        c.n_told() == 0
            && c.hatched.is_none()
            && named.iter().all(|a| c.dam_id == Some(a.id) || c.sire_id == Some(a.id))
    });
    // The other parent: named, of the clutch that waits, of the last clutch, else the one that tells the most.
    let last = desk.herd.clutches.iter().rev().find(|c| c.dam_id == Some(one.id) || c.sire_id == Some(one.id));
    let of = |c: &Clutch| if c.dam_id == Some(one.id) { c.sire_id } else { c.dam_id };
    let gene = open_genes(desk.herd, species, &weighed, one).into_iter().next();
    let other = named
        .get(1)
        .copied()
        .or_else(|| waiting.and_then(of).and_then(|id| desk.herd.animal(id)))
        .or_else(|| last.and_then(of).and_then(|id| desk.herd.animal(id)))
        .or_else(|| gene.and_then(|g| mates(desk.herd, species, &weighed, one, g).first().map(|m| m.0)));
    let Some(other) = other else { return Err(Stop::say(say::outlook::no_mate(one))) };
    let n = young
        .or_else(|| waiting.and_then(|c| c.eggs).and_then(|n| u32::try_from(n).ok()))
        .unwrap_or_else(|| usual_young(species))
        .clamp(1, 99);
    let (sire, dam) = if is_male_of(one, other) { (one, other) } else { (other, one) };
    let mut herd = desk.herd.clone();
    herd.clutches.push(imagined(&mut desk.herd.ids(), sire, dam, n));
    let after = evidence(desk, species, &herd, &loci)?;
    let Ok(then) = after.weigh() else {
        return Ok(Done::about(say::outlook::cannot_be_all_normal(sire, dam), vec![one.id, other.id]));
    };
    let moved = moved(species, desk.herd, &weighed, &then);
    let reply = say::outlook::all_normal(species, sire, dam, n, &moved, waiting.is_some());
    Ok(Done::about(reply, vec![one.id, other.id]))
}

/// A clutch of normal-looking young that is not there.
fn imagined(ids: &mut Ids, sire: &Animal, dam: &Animal, n: u32) -> Clutch {
    Clutch {
        id: ids.clutch(),
        version: 0,
        code: None,
        sire_id: Some(sire.id),
        sire_out: None,
        sires: None,
        dam_id: Some(dam.id),
        dam_out: None,
        laid: None,
        eggs: None,
        slugs: None,
        doubtful: None,
        warmth: None,
        pipped: None,
        hatched: None,
        lost: None,
        young: vec![Young {
            males: 0,
            females: 0,
            unsexed: u8::try_from(n).unwrap_or(99),
            genes: Vec::new(),
            untold: false,
        }],
        notes: None,
    }
}

/// Whose chances differ, the largest difference first.
pub(super) fn moved<'h>(
    species: &Species,
    herd: &'h Herd,
    before: &Weighed<'_, '_>,
    after: &Weighed<'_, '_>,
) -> Vec<Moved<'h>> {
    let recessives: Vec<GeneId> = (0..species.genes().len())
        .filter_map(|n| Some(GeneId(u16::try_from(n).ok()?)))
        .filter(|g| species.gene(*g).is_recessive())
        .collect();
    let mut found = Vec::new();
    for animal in herd.animals.iter().filter(|a| a.species == species.key()) {
        for gene in &recessives {
            let (Some(a), Some(b)) = (before.carries(animal.id, *gene), after.carries(animal.id, *gene)) else {
                continue;
            };
            if !is_same(&a, &b) {
                found.push(Moved { who: animal, gene: *gene, before: a, after: b });
            }
        }
    }
    let by = |m: &Moved<'_>| (to_f64(&m.before) - to_f64(&m.after)).abs();
    found.sort_by(|a, b| by(b).total_cmp(&by(a)).then(a.who.number.cmp(&b.who.number)));
    found
}
