//! Founders: what they carry where their keeper's word says nothing, and parents elsewhere.

use super::{Evidence, place};
use crate::collection::animal::Belief;
use crate::engine::inheritance::genotype::{self, Genome, Genotype};
use crate::engine::inheritance::locus::{AlleleId, LocusId, Sex as EngineSex};
use crate::engine::odds::{Odds, half, none, odds, sure};

impl Evidence<'_> {
    /// What is told of how many animals elsewhere carry a recessive of this locus.
    fn common(&self, at: LocusId) -> Vec<(AlleleId, Odds)> {
        let of_species = self.herd.frequencies.iter().filter(|f| f.species == self.species.key());
        of_species
            .filter_map(|f| Some((self.species.gene_by_id(&f.gene)?, &f.share)))
            .filter(|(gene, _)| self.species.gene(*gene).is_recessive())
            .filter_map(|(gene, share)| Some((self.at(gene)?, share)))
            .filter(|((locus, _), _)| *locus == at)
            .map(|((_, allele), share)| (allele, share.clone()))
            .collect()
    }

    /// An animal of unknown parents that looks as told: where nothing is said of a recessive it carries it as often as
    /// such animals do.
    pub(super) fn as_elsewhere(&self, mut told: Genome) -> Genome {
        for at in (0..self.loci.len()).map(place) {
            let common = self.common(at);
            let clear = sure() - common.iter().map(|c| &c.1).sum::<Odds>();
            if common.is_empty() || clear < none() || told.get(at).is_some() {
                continue;
            }
            let wild = Genotype::pair(AlleleId::WILD, AlleleId::WILD);
            let carriers = common.into_iter().map(|(allele, share)| (Genotype::pair(AlleleId::WILD, allele), share));
            if let Ok(belief) = genotype::Belief::mix(carriers.chain([(wild, clear)])) {
                told.set(at, belief);
            }
        }
        told
    }

    /// A parent of whom nothing is told, not even its look, at a locus where it is told how many animals elsewhere carry:
    /// the population that has so many carriers among those that look normal. Of `c` carriers there the allele is `q` of
    /// all with 2q / (1 + q) = c.
    fn of_population(&self, at: LocusId, alleles: &[AlleleId]) -> Option<genotype::Belief> {
        let common = self.common(at);
        if common.is_empty() || alleles.iter().any(|a| *a != AlleleId::WILD && common.iter().all(|c| c.0 != *a)) {
            return None;
        }
        let two = odds(2, 1);
        let mut shares: Vec<(AlleleId, Odds)> = common.into_iter().map(|(a, c)| (a, &c / (&two - &c))).collect();
        let wild = sure() - shares.iter().map(|s| &s.1).sum::<Odds>();
        if wild <= none() {
            return None;
        }
        shares.insert(0, (AlleleId::WILD, wild));
        let locus = self.genetics.locus(at)?;
        let pairs = shares.iter().enumerate().flat_map(|(i, (a, p))| {
            shares[i..]
                .iter()
                .map(move |(b, q)| (Genotype::pair(*a, *b), if a == b { p * q } else { odds(2, 1) * p * q }))
        });
        let alive: Vec<(Genotype, Odds)> = pairs.filter(|(g, _)| !locus.is_lethal(*g)).collect();
        let sum: Odds = alive.iter().map(|g| &g.1).sum();
        genotype::Belief::mix(alive.into_iter().map(|(g, p)| (g, p / &sum))).ok()
    }

    /// A parent of whom nothing is told: where its young show or carry something, it may have had any copies of it.
    pub(super) fn open(&self, young: &[&[Belief]]) -> Genome {
        let mut genome = Genome::wild();
        for (at, locus) in self.genetics.loci().iter().enumerate() {
            let id = place(at);
            let mut alleles: Vec<AlleleId> = young
                .iter()
                .flat_map(|genes| genes.iter())
                .filter_map(|b| self.species.gene_by_id(&b.gene).and_then(|g| self.at(g)))
                .filter(|(here, _)| *here == id)
                .map(|(_, allele)| allele)
                .collect();
            if let Some(belief) = self.of_population(id, &alleles) {
                genome.set(id, belief);
                continue;
            }
            if alleles.is_empty() {
                continue;
            }
            alleles.push(AlleleId::WILD);
            alleles.sort_unstable();
            alleles.dedup();
            let pairs =
                alleles.iter().enumerate().flat_map(|(i, a)| alleles[i..].iter().map(|b| Genotype::pair(*a, *b)));
            let alive: Vec<Genotype> = pairs.filter(|g| !locus.is_lethal(*g)).collect();
            let share = odds(1, i64::try_from(alive.len()).unwrap_or(1).max(1));
            if let Ok(belief) = genotype::Belief::mix(alive.into_iter().map(|g| (g, share.clone()))) {
                genome.set(id, belief);
            }
        }
        genome
    }

    /// A male's copies on the chromosomes they may sit on: one whose side nobody told may have it on either.
    pub(super) fn on_chromosomes(&self, mut genome: Genome, sex: Option<EngineSex>) -> Genome {
        if !self.linked || sex != Some(EngineSex::Male) {
            return genome;
        }
        for at in (0..self.loci.len()).map(place) {
            let linked = self.genetics.locus(at).is_some_and(|l| l.sex_link().is_some());
            let Some(told) = genome.get(at).filter(|_| linked).cloned() else { continue };
            let sides = told.genotypes().flat_map(|(genotype, p)| {
                let (a, b) = genotype.alleles();
                if genotype.is_sided() {
                    vec![(genotype, p.clone())]
                } else {
                    vec![(Genotype::sided(a, b), p * half()), (Genotype::sided(b, a), p * half())]
                }
            });
            if let Ok(belief) = genotype::Belief::mix(sides) {
                genome.set(at, belief);
            }
        }
        genome
    }
}
