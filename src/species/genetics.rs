//! A species' loci for the engine, and the genome of an animal that was read.

use super::entries::{Inheritance, LethalStage, LethalStatus, SexSystemName};
use super::{GeneId, Species};
use crate::engine::inheritance::genotype::{Belief, Genome, Genotype};
use crate::engine::inheritance::locus::{AlleleId, Genetics, GeneticsError, Locus, LocusId, Mode, SexLink, SexSystem};
use crate::engine::odds::{Odds, none, parse, sure};

/// Copies of one gene with their chance; two entries of one gene are alternatives.
pub type Carries = (GeneId, u8, Odds);

/// On which sex chromosome the copy of an animal with two different ones sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sits {
    /// Autosomal, or an animal with two chromosomes of one kind: it does not matter.
    Anywhere,
    /// On the X (or Z).
    X,
    /// On the Y (or W).
    Y,
}

impl Species {
    /// The loci of this species. With `linked` sex-linked genes sit on the sex chromosomes; without, they are passed
    /// like any other, which gives the same shares summed over the sexes. Half the young are of either sex in both cases,
    /// but where the eggs' warmth decides: there the genetics know no sex.
    ///
    /// Eggs of two-copy young are lost only where the loss is reported and before hatching.
    ///
    /// # Errors
    /// [`GeneticsError`] when a catalogue has more than one sex-linked locus.
    pub fn genetics(&self, linked: bool) -> Result<Genetics, GeneticsError> {
        let mut loci = Vec::with_capacity(self.loci.len());
        for locus in &self.loci {
            let genes: Vec<_> = locus.genes.iter().map(|g| self.gene(*g)).collect();
            let modes: Vec<Mode> = genes
                .iter()
                .map(|g| match g.entry.inheritance {
                    Inheritance::Recessive => Mode::Recessive,
                    Inheritance::Dominant => Mode::Dominant,
                    _ => Mode::IncompleteDominant,
                })
                .collect();
            let mut built = Locus::trade(&modes);
            for gene in &genes {
                let allele = AlleleId(gene.allele);
                if gene
                    .entry
                    .homozygous_lethal
                    .as_ref()
                    .is_some_and(|l| l.status == LethalStatus::Reported && l.stage == LethalStage::Unborn)
                {
                    built = built.with_lethal(Genotype::pair(allele, allele));
                }
                if let (true, Some(link)) = (linked, &gene.entry.sex_linked) {
                    let share = parse(&link.recombination.to_string()).unwrap_or_else(none);
                    built = built.with_sex_link(SexLink::Recombining(share));
                }
            }
            loci.push(built);
        }
        let sex = match self.file.meta.sex_system {
            SexSystemName::Xy => Some(SexSystem::Xy),
            SexSystemName::Zw => Some(SexSystem::Zw),
            SexSystemName::Temperature => None,
        };
        Genetics::new(loci, sex)
    }

    /// The engine's locus and allele of a gene; none for line-bred looks.
    #[must_use]
    pub fn place(&self, gene: GeneId) -> Option<(LocusId, AlleleId)> {
        let gene = self.gene(gene);
        Some((LocusId(u16::try_from(gene.locus?).ok()?), AlleleId(gene.allele)))
    }

    /// The genome of an animal; loci that it does not name are wild. Two genes of one locus sit on one chromosome each.
    #[must_use]
    pub fn genome(&self, carries: &[Carries], sits: Sits) -> Genome {
        let mut genome = Genome::wild();
        let mut loci: Vec<LocusId> = carries.iter().filter_map(|c| self.place(c.0).map(|p| p.0)).collect();
        loci.sort_unstable();
        loci.dedup();
        for locus in loci {
            let here: Vec<(AlleleId, u8, &Odds)> = carries
                .iter()
                .filter_map(|(g, n, p)| self.place(*g).filter(|x| x.0 == locus).map(|x| (x.1, *n, p)))
                .collect();
            let linked = self
                .loci
                .get(usize::from(locus.0))
                .is_some_and(|l| l.genes.iter().any(|g| self.gene(*g).entry.sex_linked.is_some()));
            let pair = |a, b| match (linked, sits) {
                (true, Sits::X) => Genotype::sided(a, b),
                (true, Sits::Y) => Genotype::sided(b, a),
                _ => Genotype::pair(a, b),
            };
            let wild = AlleleId::WILD;
            let mut weights: Vec<(Genotype, Odds)> = Vec::new();
            match &here[..] {
                [(a, 1, p), (b, 1, q)] if a != b => {
                    weights.push((pair(*a, *b), *p * *q));
                    weights.push((pair(*a, wild), *p * (sure() - *q)));
                    weights.push((pair(*b, wild), (sure() - *p) * *q));
                    weights.push((pair(wild, wild), (sure() - *p) * (sure() - *q)));
                }
                alternatives => {
                    let mut rest = sure();
                    for (allele, copies, chance) in alternatives {
                        let share = if **chance > rest { rest.clone() } else { (*chance).clone() };
                        rest -= &share;
                        weights.push((pair(*allele, if *copies >= 2 { *allele } else { wild }), share));
                    }
                    weights.push((pair(wild, wild), rest));
                }
            }
            weights.retain(|w| w.1 > none());
            if let Ok(belief) = Belief::mix(weights) {
                genome.set(locus, belief);
            }
        }
        genome
    }
}
