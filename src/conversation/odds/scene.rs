//! A pairing set up for the engine: who is the sire, what the young can be, how many eggs there are.
//!
//! In: a read [`Pairing`]. Out: a [`Scene`] with one cross, or two where it is not known on which sex chromosome a copy sits.

use crate::engine::inheritance::clutch::ClutchSize;
use crate::engine::inheritance::cross::{Factor, Offspring, cross};
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, LocusId};
use crate::engine::odds::{Odds, none, odds, parse, sure};
use crate::reading::requests::{Animal, Pairing, SexSaid, Side};
use crate::species::entries::{SexSystemName, Young};
use crate::species::genetics::Sits;
use crate::species::{GeneId, Species};

/// The cross of two read animals. The first is the sire unless the sexes say otherwise.
///
/// `linked` puts sex-linked genes on the sex chromosomes; `None` where the engine refuses.
#[must_use]
pub fn offspring(species: &Species, parents: &[Animal], linked: bool, side: Side) -> Option<Offspring> {
    let [first, second] = parents else { return None };
    let (sire, dam) = if sire_is_second(first, second) { (second, first) } else { (first, second) };
    let carries = |a: &Animal| a.genes.iter().map(|c| (c.gene, c.copies, c.chance.clone())).collect::<Vec<_>>();
    let genetics = species.genetics(linked).ok()?;
    let sits = match (linked, side) {
        (false, _) => Sits::Anywhere,
        (true, Side::X) => Sits::X,
        (true, Side::Y) => Sits::Y,
    };
    let (of_sire, of_dam) = match species.file().meta.sex_system {
        SexSystemName::Zw => (Sits::Anywhere, sits),
        SexSystemName::Xy | SexSystemName::Temperature => (sits, Sits::Anywhere),
    };
    cross(&genetics, &species.genome(&carries(sire), of_sire), &species.genome(&carries(dam), of_dam)).ok()
}

fn sire_is_second(first: &Animal, second: &Animal) -> bool {
    first.sex == SexSaid::Female || second.sex == SexSaid::Male
}

/// Eggs, or babies of a litter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::conversation) struct Brood {
    /// "egg".
    pub(in crate::conversation) one: &'static str,
    /// "eggs".
    pub(in crate::conversation) many: &'static str,
    /// "clutch".
    pub(in crate::conversation) clutch: &'static str,
    /// "clutches".
    pub(in crate::conversation) clutches: &'static str,
}

const EGGS: Brood = Brood { one: "egg", many: "eggs", clutch: "clutch", clutches: "clutches" };
const BABIES: Brood = Brood { one: "baby", many: "babies", clutch: "litter", clutches: "litters" };

/// How many young there are to hope for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::conversation) enum Laying {
    /// So many a clutch, as said: each is taken as one young.
    Stated {
        /// Eggs of one clutch.
        n: u32,
        /// Clutches.
        k: u32,
    },
    /// The spread of the species, where no number was said.
    Usual {
        /// Least, usual and greatest number of eggs.
        eggs: [u64; 3],
        /// The share of eggs that give young.
        share: Odds,
        /// Clutches.
        k: u32,
    },
}

impl Laying {
    /// The clutch as the engine counts it, all clutches together.
    pub(in crate::conversation) fn size(&self) -> ClutchSize {
        match self {
            Laying::Stated { n, k } => ClutchSize::young(u64::from(*n) * u64::from(*k)),
            Laying::Usual { eggs: [low, usual, high], share, k } => {
                let k = u64::from(*k);
                ClutchSize::Spread {
                    low: low * k,
                    high: high * k,
                    mean: Odds::from_integer((usual * k).into()),
                    hatch: share.clone(),
                    take: sure(),
                }
            }
        }
    }

    /// The same, one clutch only.
    pub(super) fn once(&self) -> Laying {
        match self.clone() {
            Laying::Stated { n, .. } => Laying::Stated { n, k: 1 },
            Laying::Usual { eggs, share, .. } => Laying::Usual { eggs, share, k: 1 },
        }
    }

    pub(in crate::conversation) fn usual(species: &Species, k: u32) -> Option<Laying> {
        let care = species.care();
        let eggs = care.clutch_size.as_ref()?;
        // Care numbers are small and positive (checked with the catalogue).
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let eggs = [eggs.low, eggs.default, eggs.high].map(|n| n.round() as u64);
        let shares = [&care.fertile_share, &care.hatch_share].into_iter().flatten();
        let share = shares.filter_map(|range| parse(&range.default.to_string())).fold(sure(), |a, b| a * b);
        Some(Laying::Usual { eggs, share, k })
    }
}

/// One cross of the pairing.
pub(super) struct Case {
    /// The sex chromosome that a copy is taken to sit on, where that had to be taken.
    pub(super) side: Option<Side>,
    /// What it gives.
    pub(super) young: Offspring,
}

/// A pairing with its young.
pub(super) struct Scene<'a> {
    pub(super) species: &'a Species,
    pub(super) pairing: &'a Pairing,
    pub(super) cases: Vec<Case>,
    /// The sex-linked gene whose side matters.
    pub(super) linked: Option<GeneId>,
}

impl<'a> Scene<'a> {
    /// `None` where the engine refuses, or where there are not two parents.
    pub(super) fn of(species: &'a Species, pairing: &'a Pairing) -> Option<Self> {
        let [first, second] = &pairing.parents[..] else { return None };
        let second_is_sire = sire_is_second(first, second);
        let zw = species.file().meta.sex_system == SexSystemName::Zw;
        let mixed = if second_is_sire == zw { first } else { second };
        let linked = mixed.genes.iter().find(|c| c.copies == 1 && species.gene(c.gene).entry.sex_linked.is_some());
        let linked = linked.map(|c| c.gene);
        let sides = match (linked, mixed.side) {
            (None, _) => vec![(None, Side::X)],
            (Some(_), Some(side)) => vec![(None, side)],
            (Some(_), None) => vec![(Some(Side::X), Side::X), (Some(Side::Y), Side::Y)],
        };
        let mut cases = Vec::with_capacity(sides.len());
        for (side, sits) in sides {
            cases.push(Case { side, young: offspring(species, &pairing.parents, linked.is_some(), sits)? });
        }
        Some(Self { species, pairing, cases, linked })
    }

    /// The first cross, and the only one unless a side is not known.
    pub(super) fn young(&self) -> &Offspring {
        &self.cases[0].young
    }

    /// What the young are counted in.
    pub(super) fn brood(&self) -> Brood {
        match self.species.file().meta.young {
            Young::Eggs => EGGS,
            Young::Live => BABIES,
        }
    }

    /// The eggs that were stated, or the species' usual clutch.
    pub(super) fn laying(&self) -> Option<Laying> {
        let k = self.pairing.clutches.unwrap_or(1).max(1);
        match self.pairing.clutch_size {
            Some(n) => Some(Laying::Stated { n, k }),
            None => Laying::usual(self.species, k),
        }
    }

    /// The clutch that was asked about, if one was.
    pub(super) fn asked_laying(&self) -> Option<Laying> {
        let asked = self.pairing.clutch_size.is_some() || self.pairing.clutches.is_some() || self.pairing.both_sexes;
        asked.then(|| self.laying()).flatten()
    }

    /// The share of eggs with two copies of a gene, other alleles counted where they do the same harm.
    pub(super) fn share_of_harm(&self, gene: GeneId) -> Odds {
        let entry = &self.species.gene(gene).entry;
        let Some((locus, allele)) = self.species.place(gene) else { return none() };
        let Some(factor) = self.young().factor(locus) else { return none() };
        let alike: Vec<AlleleId> = entry
            .welfare
            .iter()
            .flat_map(|w| &w.with)
            .filter_map(|id| self.species.place(self.species.gene_by_id(id)?).map(|p| p.1))
            .chain([allele])
            .collect();
        let harmed = |g: Genotype| {
            let (a, b) = g.alleles();
            g.copies_of(allele) > 0 && alike.contains(&a) && alike.contains(&b)
        };
        factor.cells().iter().filter(|c| harmed(c.genotype)).map(|c| &c.weight).sum()
    }

    /// The share of eggs with at least `copies` of a gene.
    pub(super) fn share_with(&self, gene: GeneId, copies: u8) -> Odds {
        let Some((locus, allele)) = self.species.place(gene) else { return none() };
        let Some(factor) = self.young().factor(locus) else { return none() };
        let cells = factor.cells().iter().filter(|c| c.genotype.copies_of(allele) >= copies);
        cells.map(|c| &c.weight).sum()
    }
}

/// Levels of certainty that people ask for.
pub(super) fn levels(certainty: Option<&Odds>) -> Vec<Odds> {
    certainty.map_or_else(|| vec![odds(1, 2), odds(9, 10), odds(95, 100), odds(99, 100)], |level| vec![level.clone()])
}

/// Loci where the parents can give more than one look or genotype.
pub(super) fn varied(young: &Offspring) -> Vec<LocusId> {
    young.factors().iter().filter(|f| f.cells().len() > 1).map(Factor::id).collect()
}
