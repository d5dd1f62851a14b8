//! Evidence: what every animal carries, given everything that is known of the collection.
//!
//! In: a species' [`Genetics`] and [`Records`]. Out: [`Posterior`], the chance of every genotype of every animal.
//! Exact, loops included: nothing is approximated but the numbers themselves, which are fractions while they are of
//! reasonable length and floating point (with a relative error far below 1e-12) beyond.
//! Start at [`weigh`].
//!
//! A young animal that was seen hatched alive, so it counts as an egg that was not lost to a lethal genotype.

use thiserror::Error;

use super::descent::AnimalId;
use super::elimination::{Plan, shares};
use super::network::Network;
use super::records::{Families, RecordError, Records};
use super::weight::{Weight, Wide};
use crate::engine::inheritance::clutch::Figure;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, Genetics, LocusId};
use crate::engine::odds::{none, sure};

/// Up to this price in elementary steps the chances are exact fractions.
const MOST_EXACT: f64 = 20_000.0;

/// Why evidence cannot be weighed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EvidenceError {
    /// The records make no sense.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// The records contradict each other: no genotypes of the animals fit them all.
    #[error("the records contradict each other")]
    Impossible,
}

/// What is known of every animal at every locus, given everything.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    /// Per animal, per locus: the possible genotypes with their chances, sum 1.
    chances: Vec<Vec<Vec<(Genotype, Figure)>>>,
    /// Per family (animals with parents of their own first, then clutches): the possible sires with their chances.
    sires: Vec<Vec<(AnimalId, Figure)>>,
}

impl Posterior {
    /// The genotypes that an animal may have at a locus, in order, with their chances; nothing for an animal or locus
    /// that there is not.
    #[must_use]
    pub fn of(&self, animal: AnimalId, locus: LocusId) -> &[(Genotype, Figure)] {
        self.chances.get(animal.0).and_then(|loci| loci.get(usize::from(locus.0))).map_or(&[], Vec::as_slice)
    }

    /// The chance that an animal has at least one copy of an allele.
    #[must_use]
    pub fn carries(&self, animal: AnimalId, locus: LocusId, allele: AlleleId) -> Figure {
        sum(self.of(animal, locus).iter().filter(|(g, _)| g.copies_of(allele) > 0).map(|(_, chance)| chance))
    }
}

fn sum<'a>(figures: impl Iterator<Item = &'a Figure>) -> Figure {
    figures.fold(Figure::Exact(none()), |sum, figure| match (sum, figure) {
        (Figure::Exact(a), Figure::Exact(b)) => Figure::Exact(a + b),
        (a, b) => Figure::Rounded(a.to_f64() + b.to_f64()),
    })
}

/// Weighs everything that is known.
///
/// # Errors
/// [`EvidenceError`]: records that make no sense, or that contradict each other.
pub fn weigh(genetics: &Genetics, records: &Records) -> Result<Posterior, EvidenceError> {
    let families = Families::new(genetics, records)?;
    let mut network = Network::new(&families).map_err(|_| EvidenceError::Impossible)?;
    let plan = Plan::new(&network.sizes, &network.scopes());
    if plan.cost <= MOST_EXACT {
        weigh_as::<num_bigint::BigUint>(&families, &mut network, &plan)
    } else {
        weigh_as::<Wide>(&families, &mut network, &plan)
    }
}

fn weigh_as<W: Weight>(families: &Families, network: &mut Network, plan: &Plan) -> Result<Posterior, EvidenceError> {
    let tables = network.tables::<W>(plan);
    let shares = shares(&network.sizes, plan, &tables).ok_or(EvidenceError::Impossible)?;
    let chances_of = |animal: usize, locus: LocusId| {
        let Some((genotypes, var)) = network.at(AnimalId(animal), locus) else { return Vec::new() };
        let figures = match var {
            Some(var) => shares[var].clone(),
            None => vec![Figure::Exact(sure()); genotypes.len()],
        };
        genotypes.iter().copied().zip(figures).collect()
    };
    let loci: Vec<LocusId> = (0..).map(LocusId).take(families.genetics.loci().len()).collect();
    let chances = (0..families.records.animals.len())
        .map(|animal| loci.iter().map(|&locus| chances_of(animal, locus)).collect())
        .collect();
    let sires = (0..families.families.len())
        .map(|f| {
            let Some((sires, var)) = network.sire_of(f) else { return Vec::new() };
            let figures = match var {
                Some(var) => shares[var].clone(),
                None => vec![Figure::Exact(sure()); sires.len()],
            };
            sires.into_iter().zip(figures).collect()
        })
        .collect();
    Ok(Posterior { chances, sires })
}
