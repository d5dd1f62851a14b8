//! Goals for a keeper who has none: the rarest that their own animals can reach.

use crate::collection::animal::{Animal, Sex};
use crate::collection::herd::Herd;
use crate::conversation::plan::{self, Kind, World};
use crate::conversation::sentences::keeping as say;
use crate::engine::inheritance::locus::Sex as EngineSex;
use crate::engine::odds::sure;
use crate::reading::requests::{SexSaid, Target};
use crate::reply::Reply;
use crate::species::{GeneId, Species};

use super::super::Desk;

/// Goals that are suggested.
const SUGGESTED: usize = 3;
/// Genes that are put together.
const MOST_GENES: usize = 8;
/// Animals of one kind beyond so many make no plan faster.
const MOST_ALIKE: usize = 2;

/// A goal within reach.
struct Reach<'s> {
    species: &'s Species,
    target: Target,
    recessives: usize,
    /// Booked from what is here; nothing where a sex is missing.
    seasons: Option<u64>,
}

/// Asks for a goal, with suggestions.
pub(super) fn goals(desk: &Desk<'_>, herd: &Herd) -> Reply {
    let mut found = Vec::new();
    for species in desk.catalogue.species() {
        let here: Vec<&Animal> = herd.here().filter(|a| a.species == species.key()).collect();
        if let Some(world) = World::of(species).filter(|_| !here.is_empty()) {
            found.extend(within_reach(species, &world, &here));
        }
    }
    // The more is hidden in it the rarer it is; of equals what comes sooner.
    found.sort_by(|a, b| {
        let rank = |r: &Reach<'_>| {
            (std::cmp::Reverse(r.recessives), std::cmp::Reverse(r.target.genes.len()), r.seasons.unwrap_or(u64::MAX))
        };
        rank(a).cmp(&rank(b))
    });
    found.truncate(SUGGESTED);
    let suggested: Vec<(&Species, Target, Option<u64>)> =
        found.into_iter().map(|r| (r.species, r.target, r.seasons)).collect();
    say::season::ask_goal(desk.catalogue, herd, &suggested, super::unsexed(herd))
}

fn within_reach<'s>(species: &'s Species, world: &World, here: &[&Animal]) -> Vec<Reach<'s>> {
    let genes = genes(species, here);
    let kinds = kinds(species, here, &genes);
    let both_sexes = [EngineSex::Male, EngineSex::Female].iter().all(|sex| kinds.iter().any(|kind| kind.sex == *sex));
    let mut targets: Vec<Vec<(GeneId, u8)>> = Vec::new();
    let full = |gene: &GeneId| (*gene, if species.gene(*gene).is_recessive() { 2 } else { 1 });
    for (i, a) in genes.iter().enumerate() {
        targets.push(vec![(*a, 2)]);
        for b in &genes[i + 1..] {
            targets.push(vec![full(a), full(b)]);
        }
    }
    let mut found = Vec::new();
    for genes in targets {
        let target = Target { genes, sex: SexSaid::Unknown, hets: Vec::new() };
        if plan::refusal(species, &target).is_some() || is_here(species, here, &target) {
            continue;
        }
        let seasons = world.route(species, &target, &kinds, 1).map(|route| route.seasons);
        if seasons.is_some() || !both_sexes {
            let recessives = target.genes.iter().filter(|(gene, _)| species.gene(*gene).is_recessive()).count();
            found.push(Reach { species, target, recessives, seasons });
        }
    }
    found
}

/// Genes that somebody here surely has, recessives first, the most frequent first.
fn genes(species: &Species, here: &[&Animal]) -> Vec<GeneId> {
    let mut counted: Vec<(GeneId, usize)> = Vec::new();
    for belief in here.iter().flat_map(|a| &a.genes).filter(|b| b.chance == sure()) {
        let Some(gene) = species.gene_by_id(&belief.gene).filter(|g| species.place(*g).is_some()) else { continue };
        match counted.iter_mut().find(|known| known.0 == gene) {
            Some(known) => known.1 += 1,
            None => counted.push((gene, 1)),
        }
    }
    counted.sort_by_key(|(gene, n)| (!species.gene(*gene).is_recessive(), std::cmp::Reverse(*n), *gene));
    counted.truncate(MOST_GENES);
    counted.into_iter().map(|(gene, _)| gene).collect()
}

fn kinds(species: &Species, here: &[&Animal], genes: &[GeneId]) -> Vec<Kind> {
    let mut kinds: Vec<Kind> = Vec::new();
    for animal in here.iter().filter(|a| a.sex != Sex::Unknown) {
        let sure = animal.genes.iter().filter(|b| b.chance == sure());
        let genes: Vec<(GeneId, u8)> = sure
            .filter_map(|b| Some((species.gene_by_id(&b.gene)?, b.copies)))
            .filter(|(gene, _)| genes.contains(gene))
            .collect();
        let sex = if animal.sex == Sex::Male { EngineSex::Male } else { EngineSex::Female };
        if kinds.iter().filter(|kind| kind.sex == sex && kind.genes == genes).count() < MOST_ALIKE {
            kinds.push(Kind { genes, sex, name: None, ready: 0 });
        }
    }
    kinds
}

fn is_here(species: &Species, here: &[&Animal], target: &Target) -> bool {
    let has = |a: &Animal, gene: GeneId, copies: u8| {
        a.genes.iter().any(|b| species.gene_by_id(&b.gene) == Some(gene) && b.copies >= copies && b.chance == sure())
    };
    here.iter().any(|a| target.genes.iter().all(|(gene, copies)| has(a, *gene, *copies)))
}
