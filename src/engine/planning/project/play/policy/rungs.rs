//! What is hoped for where animals can be of very many kinds: those that a plan keeps on its way, and those one gene
//! better, so that lucky young are looked for as well. A young counts as each that it is at least as good as.

use std::sync::Arc;

use super::super::super::merit::Merit;
use super::super::super::world::World;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{LocusId, Sex};

/// Up to so many kinds, all are hoped for (two recessives and a visible gene); kinds one gene better are added up to so many.
const FEW_KINDS: (u64, usize) = (27, 8);
/// The same where each kind is told apart by its lines as well.
const FEW_OF_LINES: (u64, usize) = (9, 4);

/// The kinds that are hoped for, of both sexes; `None` if all are.
pub(super) fn rungs(
    world: &World,
    merit: &Merit,
    on_the_way: &[Vec<(LocusId, Genotype)>],
    has_lines: bool,
) -> Option<Arc<[(Sex, u64)]>> {
    let (few, enough) = if has_lines { FEW_OF_LINES } else { FEW_KINDS };
    if world.kinds.count() <= few {
        return None;
    }
    let mut kinds: Vec<u64> = on_the_way.iter().filter_map(|genotypes| world.kinds.of_genotypes(genotypes)).collect();
    let mut next = 0;
    while let Some(kind) = kinds.get(next).copied() {
        next += 1;
        for better in one_better(world, merit, kind) {
            if kinds.len() < enough && !kinds.contains(&better) {
                kinds.push(better);
            }
        }
    }
    let of_both = |kind: &u64| [Sex::Male, Sex::Female].map(|sex| (sex, *kind));
    (!kinds.is_empty()).then(|| kinds.iter().flat_map(of_both).collect())
}

/// The kinds that differ at one locus, where they are better, and that are not yet the goal.
fn one_better<'w>(world: &'w World, merit: &'w Merit, kind: u64) -> impl Iterator<Item = u64> + 'w {
    let loci = world.kinds.loci().iter().enumerate();
    let changed = loci.flat_map(move |(i, locus)| {
        let own = locus.number(kind);
        let narrow = |number: usize| u8::try_from(number).unwrap_or(0);
        let better = move |other: &usize| {
            merit.at_least_at(i, narrow(*other), narrow(own)) && !merit.at_least_at(i, narrow(own), narrow(*other))
        };
        let without = kind - own as u64 * locus.stride;
        (0..locus.genotypes.len()).filter(better).map(move |other| without + other as u64 * locus.stride)
    });
    changed.filter(|kind| !world.kinds.is_wanted(*kind))
}
