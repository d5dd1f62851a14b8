//! What can be seen: looks of genotypes at each locus, and the classes of young of a pair.
//!
//! A class is a sex and at each locus a set of genotypes that cannot be told apart. A look that leaves wanted and
//! other genotypes is split in two where the rest is wanted, because the project ends with a wanted young, seen or not.

use std::collections::BTreeMap;

use super::super::world::World;
use super::joint::{Mask, holds, mask_of};
use crate::engine::inheritance::locus::{Genetics, LocusId, Look, Sex};

/// The looks of one locus.
#[derive(Debug)]
pub(super) struct Sight {
    id: LocusId,
    n: usize,
    /// The genotypes of each look.
    looks: Vec<(Look, Mask)>,
    wanted: Mask,
}

/// One class of young.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Class {
    pub(super) sex: Sex,
    pub(super) masks: Vec<Mask>,
    pub(super) is_goal: bool,
}

/// The looks of all loci that matter.
pub(super) fn sights(genetics: &Genetics, world: &World) -> Vec<Sight> {
    let of_locus = |locus: &super::super::super::kinds::KindLocus| {
        let mut looks: BTreeMap<Look, Vec<u8>> = BTreeMap::new();
        for (number, genotype) in (0u8..).zip(&locus.genotypes) {
            if let Some(known) = genetics.locus(locus.id) {
                looks.entry(known.look_of(*genotype)).or_default().push(number);
            }
        }
        Sight {
            id: locus.id,
            n: locus.genotypes.len(),
            looks: looks.into_iter().map(|(look, genotypes)| (look, mask_of(genotypes.into_iter()))).collect(),
            wanted: mask_of((0u8..).zip(&locus.wanted).filter(|(_, wanted)| **wanted).map(|(number, _)| number)),
        }
    };
    world.kinds.loci().iter().map(of_locus).collect()
}

impl Sight {
    pub(super) fn n_genotypes(&self) -> usize {
        self.n
    }

    /// The genotypes that a look leaves; all if nothing was seen here, none if there is no such look.
    pub(super) fn seen(&self, looks: &[(LocusId, Look)]) -> Mask {
        let Some((_, seen)) = looks.iter().find(|(id, _)| *id == self.id) else {
            return super::joint::ANY;
        };
        self.looks.iter().find(|(look, _)| look == seen).map_or([0; 3], |(_, mask)| *mask)
    }

    fn is_wanted(&self, mask: &Mask) -> [bool; 2] {
        let within = (0..3).any(|i| mask[i] & self.wanted[i] != 0);
        let beside = (0..3).any(|i| mask[i] & !self.wanted[i] != 0);
        [within, beside]
    }
}

fn both(a: &Mask, b: &Mask) -> Mask {
    [a[0] & b[0], a[1] & b[1], a[2] & b[2]]
}

fn without(a: &Mask, b: &Mask) -> Mask {
    [a[0] & !b[0], a[1] & !b[1], a[2] & !b[2]]
}

/// The classes of young whose genotypes at each locus are among these (by sex, for the sex-linked locus).
pub(super) fn classes(sights: &[Sight], goal_sex: Option<Sex>, can_be: &dyn Fn(usize, Sex) -> Mask) -> Vec<Class> {
    let mut found = Vec::new();
    for sex in [Sex::Female, Sex::Male] {
        let mut masks: Vec<Vec<Mask>> = vec![Vec::new()];
        for (i, sight) in sights.iter().enumerate() {
            let here = can_be(i, sex);
            let looks: Vec<Mask> =
                sight.looks.iter().map(|(_, mask)| both(mask, &here)).filter(|mask| *mask != [0; 3]).collect();
            let longer = masks.iter().flat_map(|so_far| {
                looks.iter().map(move |mask| {
                    let mut so_far = so_far.clone();
                    so_far.push(*mask);
                    so_far
                })
            });
            masks = longer.collect();
        }
        for masks in masks {
            let can_end = goal_sex.is_none_or(|wanted| wanted == sex)
                && sights.iter().zip(&masks).all(|(sight, mask)| sight.is_wanted(mask)[0]);
            if !can_end {
                found.push(Class { sex, masks, is_goal: false });
                continue;
            }
            // Parts that share nothing: not wanted at the first uncertain locus; wanted there and not at the next; …
            let mut rest = masks;
            for (i, sight) in sights.iter().enumerate() {
                let [_, beside] = sight.is_wanted(&rest[i]);
                if beside {
                    let mut part = rest.clone();
                    part[i] = without(&rest[i], &sight.wanted);
                    found.push(Class { sex, masks: part, is_goal: false });
                    rest[i] = both(&rest[i], &sight.wanted);
                }
            }
            found.push(Class { sex, masks: rest, is_goal: true });
        }
    }
    found
}

/// The numbers in a mask.
pub(super) fn numbers(mask: &Mask, n: usize) -> impl Iterator<Item = u8> {
    (0..=u8::MAX).take(n).filter(move |genotype| holds(mask, *genotype))
}
