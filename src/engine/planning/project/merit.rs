//! Which kinds are at least as good as which, and how many crossings from the goal they are at best.
//!
//! An allele is at least as good as another if no young that is wanted with the other stops being wanted with it, and
//! none that lives with the other is lost with it. A genotype is at least as good if its alleles are, one by one. Then whatever can be done with
//! the one animal can be done with the other: each egg takes the same side, and gets an allele at least as good.

use super::super::kinds::{KindLocus, Kinds};
use crate::engine::inheritance::clutch::Wanted;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, Genetics, Sex};

/// Never.
pub(in crate::engine::planning) const NEVER: u32 = u32::MAX;

/// Up to so many kinds, all pairs are compared beforehand.
const MOST_IN_TABLE: usize = 1 << 10;

/// The order of all kinds.
#[derive(Debug)]
pub(in crate::engine::planning) struct Merit {
    /// Of each kind, the numbers of its genotypes, locus by locus.
    numbers: Vec<Vec<usize>>,
    /// Per locus: at least as good, by numbers of genotypes, and how many genotypes there are.
    orders: Vec<(Vec<bool>, usize)>,
    /// Per locus and genotype: crossings to a wanted genotype with the best mates there could be.
    far: Vec<Vec<u32>>,
    /// Of each kind: crossings to the goal with the best mates there could be.
    crossings: Vec<u32>,
    /// At least as good, kind by kind; empty if there are too many.
    table: Vec<bool>,
}

impl Merit {
    pub(in crate::engine::planning) fn new(genetics: &Genetics, kinds: &Kinds, goal: &Wanted) -> Merit {
        let loci = kinds.loci();
        let numbers: Vec<Vec<usize>> =
            (0..kinds.count()).map(|code| loci.iter().map(|locus| locus.number(code)).collect()).collect();
        let far: Vec<Vec<u32>> = loci.iter().map(crossings).collect();
        let of_kind = |numbers: &Vec<usize>| {
            let here = numbers.iter().zip(&far).map(|(number, far)| far[*number]);
            if kinds.missing.is_empty() { here.max().unwrap_or(1) } else { NEVER }
        };
        let crossings = numbers.iter().map(of_kind).collect();
        let mut merit = Merit {
            crossings,
            orders: loci.iter().map(|locus| (order(genetics, locus, goal), locus.genotypes.len())).collect(),
            far,
            numbers,
            table: Vec::new(),
        };
        let n = merit.numbers.len();
        if n <= MOST_IN_TABLE {
            merit.table = (0..n * n).map(|i| merit.compare(i / n, i % n)).collect();
        }
        merit
    }

    /// Whether the first kind is at least as good as the second at every locus.
    pub(in crate::engine::planning) fn at_least(&self, a: usize, b: usize) -> bool {
        if self.table.is_empty() { self.compare(a, b) } else { self.table[a * self.numbers.len() + b] }
    }

    /// The same at one locus, by numbers of genotypes.
    pub(super) fn at_least_at(&self, locus: usize, a: u8, b: u8) -> bool {
        let (order, n) = &self.orders[locus];
        a == b || order[usize::from(a) * n + usize::from(b)]
    }

    /// The fewest crossings to what is wanted at one locus.
    pub(super) fn crossings_at(&self, locus: usize, genotype: u8) -> u32 {
        self.far[locus][usize::from(genotype)]
    }

    fn compare(&self, a: usize, b: usize) -> bool {
        let both = self.numbers[a].iter().zip(&self.numbers[b]);
        a == b || both.zip(&self.orders).all(|((a, b), (order, n))| order[a * n + b])
    }

    /// The fewest crossings from this kind to the goal, were every mate there; [`NEVER`] if there are none.
    pub(in crate::engine::planning) fn crossings(&self, kind: usize) -> u32 {
        self.crossings[kind]
    }
}

fn order(genetics: &Genetics, locus: &KindLocus, goal: &Wanted) -> Vec<bool> {
    let n = locus.genotypes.len();
    let known = |g: Genotype| locus.genotypes.contains(&g);
    let lethal = |g: Genotype| genetics.locus(locus.id).is_some_and(|l| l.is_lethal(g));
    let mut alleles: Vec<AlleleId> = locus.genotypes.iter().flat_map(|g| <[AlleleId; 2]>::from(g.alleles())).collect();
    alleles.sort_unstable();
    alleles.dedup();
    let better = |y: AlleleId, x: AlleleId| {
        let with = |a: AlleleId, z: AlleleId| Genotype::pair(a, z);
        alleles.iter().all(|&z| {
            let (of_x, of_y) = (with(x, z), with(y, z));
            !known(of_x)
                || (!goal.counts(locus.id, of_x) || goal.counts(locus.id, of_y)) && (!lethal(of_y) || lethal(of_x))
        })
    };
    let mut order = vec![false; n * n];
    for (i, &a) in locus.genotypes.iter().enumerate() {
        for (j, &b) in locus.genotypes.iter().enumerate() {
            // On the sex chromosomes only the same is taken as good.
            let ((a1, a2), (b1, b2)) = (a.alleles(), b.alleles());
            order[i * n + j] =
                i == j || !locus.linked && (better(a1, b1) && better(a2, b2) || better(a1, b2) && better(a2, b1));
        }
    }
    order
}

fn crossings(locus: &KindLocus) -> Vec<u32> {
    let n = locus.genotypes.len();
    let mut found = vec![NEVER; n];
    let sexes = [Sex::Female, Sex::Male];
    // Both roles, whatever the sex: too hopeful at a sex-linked locus, never too gloomy.
    let meetings = |i: usize| (0..n).flat_map(move |j| [(i, j), (j, i)]);
    let give = move |(sire, dam): (usize, usize), sex| {
        let [sire, dam] = [sire, dam].map(|i| u8::try_from(i).unwrap_or(0));
        locus.give(sire, dam, sex)
    };
    for (i, found) in found.iter_mut().enumerate() {
        if meetings(i).any(|pair| sexes.iter().any(|sex| give(pair, *sex).wanted > 0.0)) {
            *found = 1;
        }
    }
    loop {
        let before = found.clone();
        for (i, found) in found.iter_mut().enumerate() {
            let children = meetings(i).flat_map(|pair| sexes.iter().flat_map(move |sex| &give(pair, *sex).keepers));
            let nearest = children.map(|child| before[locus.number(child.code)]).min().unwrap_or(NEVER);
            *found = (*found).min(nearest.saturating_add(1));
        }
        if found == before {
            return found;
        }
    }
}
