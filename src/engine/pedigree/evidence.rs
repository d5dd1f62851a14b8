//! Evidence: what every animal carries, given everything that is known of the collection.
//!
//! In: a species' [`Genetics`] and [`Records`]. Out: [`Posterior`], the chance of every genotype of every animal.
//! Loops are exact: nothing is approximated but the numbers themselves, which are fractions while they are short and
//! floating point (relative error below 1e-12) beyond. Only where relatives are so entangled that an exact sum would
//! take more than the [`Effort`] allows, cases are drawn, and a standard error says how good the answer is.
//! Start at [`weigh`].
//!
//! A young animal that was seen hatched alive, so it counts as an egg that was not lost to a lethal genotype.

use std::collections::BTreeMap;

use num_bigint::BigUint;
use thiserror::Error;

use super::descent::AnimalId;
use super::elimination::{Table, shares};
use super::genotypes::NoNetwork;
use super::network::Network;
use super::order::{Part, Plan, Var};
use super::records::{Families, RecordError, Records};
use super::sampler::sample;
use super::weight::{Weight, Wide};
use crate::engine::inheritance::clutch::Figure;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, Genetics, LocusId};
use crate::engine::odds::{none, sure};

/// Numbers of this many bits are hardly slower than short ones.
const SHORT_BITS: f64 = 256.0;

/// How much work an answer is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// The most elementary steps in fractions of ordinary length; beyond, floating point is used.
    pub steps_in_fractions: u32,
    /// The most elementary steps of exact sums (about 40 ns each); beyond, cases are drawn.
    pub steps: u32,
    /// The most numbers in one table (16 bytes each); beyond, cases are drawn.
    pub widest: u32,
    /// The most cases to draw.
    pub draws: u32,
    /// Where the draws start; the same seed gives the same answer.
    pub seed: u64,
}

impl Default for Effort {
    /// At most about a second.
    fn default() -> Self {
        Effort { steps_in_fractions: 20_000, steps: 20_000_000, widest: 1 << 22, draws: 20_000, seed: 1 }
    }
}

/// Why evidence cannot be weighed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EvidenceError {
    /// The records make no sense.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// The records contradict each other: no genotypes of the animals fit them all.
    #[error("the records contradict each other")]
    Impossible,
    /// An animal or a locus that there is not.
    #[error("there is no animal {} or no locus {}", animal.0, locus.0)]
    NotThere {
        /// The animal.
        animal: AnimalId,
        /// The locus.
        locus: LocusId,
    },
    /// Too many animals, loci or possible genotypes at once.
    #[error("too many animals, loci or possible genotypes at once")]
    TooLarge,
    /// The relatives are too entangled: neither summing nor drawing cases met one that fits all records.
    #[error("the relatives are too entangled to weigh their evidence together")]
    TooEntangled,
}

/// What is known of every animal at every locus, given everything.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    /// Per animal, per locus: the possible genotypes with their chances, sum 1.
    chances: Vec<Vec<Vec<(Genotype, Figure)>>>,
    /// Where cases were drawn: the largest standard error among those chances.
    errors: BTreeMap<(AnimalId, LocusId), f64>,
    /// Per animal with several possible sires, and per such clutch, in the order of the records: their chances.
    sires: Vec<Vec<(AnimalId, Figure)>>,
}

impl Posterior {
    /// The genotypes that an animal may have at a locus, in order, with their chances; nothing for an animal or locus
    /// that there is not.
    #[must_use]
    pub fn of(&self, animal: AnimalId, locus: LocusId) -> &[(Genotype, Figure)] {
        self.chances.get(animal.0).and_then(|loci| loci.get(usize::from(locus.0))).map_or(&[], Vec::as_slice)
    }

    /// The largest standard error among the chances of an animal at a locus, where cases had to be drawn; `None` where
    /// they were summed exactly.
    #[must_use]
    pub fn standard_error(&self, animal: AnimalId, locus: LocusId) -> Option<f64> {
        self.errors.get(&(animal, locus)).copied()
    }

    /// The chance that an animal has at least one copy of an allele.
    #[must_use]
    pub fn carries(&self, animal: AnimalId, locus: LocusId, allele: AlleleId) -> Figure {
        sum(self.of(animal, locus).iter().filter(|(g, _)| g.copies_of(allele) > 0).map(|(_, chance)| chance))
    }

    /// The chances of the possible sires: of animals with parents of their own first, then of clutches, each in the
    /// order of the records. Sires that are impossible are left out.
    #[must_use]
    pub fn sires(&self) -> &[Vec<(AnimalId, Figure)>] {
        &self.sires
    }

    /// How many loci there are.
    #[must_use]
    pub fn n_loci(&self) -> u16 {
        self.chances.first().map_or(0, |loci| u16::try_from(loci.len()).unwrap_or(u16::MAX))
    }

    /// How many animals there are.
    #[must_use]
    pub fn n_animals(&self) -> usize {
        self.chances.len()
    }
}

pub(super) fn sum<'a>(figures: impl Iterator<Item = &'a Figure>) -> Figure {
    figures.fold(Figure::Exact(none()), |sum, figure| match (sum, figure) {
        (Figure::Exact(a), Figure::Exact(b)) => Figure::Exact(a + b),
        (a, b) => Figure::Rounded(a.to_f64() + b.to_f64()),
    })
}

/// Weighs everything that is known, with the usual [`Effort`].
///
/// # Errors
/// [`EvidenceError`]: records that make no sense, that contradict each other, or that are too many or too entangled.
pub fn weigh(genetics: &Genetics, records: &Records) -> Result<Posterior, EvidenceError> {
    weigh_within(genetics, records, &Effort::default())
}

/// As [`weigh`], with limits of one's own.
///
/// # Errors
/// As [`weigh`].
pub fn weigh_within(genetics: &Genetics, records: &Records, effort: &Effort) -> Result<Posterior, EvidenceError> {
    let families = Families::new(genetics, records)?;
    let mut network = network(&families)?;
    let known = Known::of(&mut network, effort)?;
    Ok(known.posterior(&families, &network))
}

/// The unknowns of a collection.
pub(super) fn network<'a, 'b>(families: &'b Families<'a>) -> Result<Network<'a, 'b>, EvidenceError> {
    Network::new(families).map_err(|none| match none {
        NoNetwork::Contradiction => EvidenceError::Impossible,
        NoNetwork::TooLarge => EvidenceError::TooLarge,
    })
}

/// The parts that can be summed, cheapest first, and the others.
fn within(mut parts: Vec<Part>, effort: &Effort) -> (Vec<Part>, Vec<Part>) {
    parts.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    let mut spent = 0.0;
    let affordable = |part: &Part| {
        spent += part.cost;
        spent <= f64::from(effort.steps) && part.widest <= f64::from(effort.widest)
    };
    parts.into_iter().partition(affordable)
}

/// What is known of the variables of a network.
pub(super) struct Known {
    shares: Vec<Vec<Figure>>,
    errors: Vec<Option<f64>>,
}

impl Known {
    /// Sums where that is within the effort, draws cases elsewhere.
    pub(super) fn of(network: &mut Network, effort: &Effort) -> Result<Known, EvidenceError> {
        let plan = Plan::new(&network.sizes, &network.scopes(), f64::from(effort.steps));
        // Products of numbers of n words take n² steps.
        let words = 1.0 + network.bits() as f64 / SHORT_BITS;
        if plan.cost() * words * words <= f64::from(effort.steps_in_fractions) {
            return Known::sum::<BigUint>(network, &plan, &plan.parts());
        }
        let (narrow, wide) = within(plan.parts(), effort);
        let mut known = Known::sum::<f64>(network, &plan, &narrow);
        // Chances too far apart for plain floating point; rare, and more than twice as slow.
        if known.as_ref().is_ok_and(Known::is_lost) {
            known = Known::sum::<Wide>(network, &plan, &narrow);
        }
        let mut known = known?;
        if !wide.is_empty() {
            known.draw(network, &plan, &wide, effort)?;
        }
        Ok(known)
    }

    /// Whether plain floating point gave up.
    fn is_lost(&self) -> bool {
        self.shares.iter().flatten().any(|share| share.to_f64().is_nan())
    }

    fn sum<W: Weight>(network: &mut Network, plan: &Plan, parts: &[Part]) -> Result<Known, EvidenceError> {
        let n = network.sizes.len();
        let mut known = Known { shares: vec![Vec::new(); n], errors: vec![None; n] };
        let tables = network.tables::<W>(plan);
        for (part, tables) in parts.iter().zip(tables_of(&tables, parts, n)) {
            let shares = shares(&network.sizes, plan, &part.order, &tables).ok_or(EvidenceError::Impossible)?;
            for (&v, shares) in part.order.iter().zip(shares) {
                known.shares[v] = shares;
            }
        }
        Ok(known)
    }

    fn draw(
        &mut self,
        network: &mut Network,
        plan: &Plan,
        parts: &[Part],
        effort: &Effort,
    ) -> Result<(), EvidenceError> {
        let tables = network.tables::<Wide>(plan);
        let draws = usize::try_from(effort.draws).unwrap_or(usize::MAX) / parts.len();
        for (part, tables) in parts.iter().zip(tables_of(&tables, parts, network.sizes.len())) {
            let sampled = sample(&network.sizes, plan, &part.order, &tables, draws, effort.seed)
                .ok_or(EvidenceError::TooEntangled)?;
            for (&v, shares) in part.order.iter().zip(sampled.shares) {
                self.errors[v] = shares.iter().map(|(_, error)| *error).reduce(f64::max);
                self.shares[v] = shares.iter().map(|(share, _)| Figure::Rounded(*share)).collect();
            }
        }
        Ok(())
    }

    fn posterior(mut self, families: &Families, network: &Network) -> Posterior {
        let loci: Vec<LocusId> = (0..).map(LocusId).take(families.genetics.loci().len()).collect();
        let mut errors = BTreeMap::new();
        let mut chances = Vec::with_capacity(families.records.animals.len());
        for animal in (0..families.records.animals.len()).map(AnimalId) {
            let mut of_animal = Vec::with_capacity(loci.len());
            for &locus in &loci {
                let Some((genotypes, var)) = network.at(animal, locus) else { continue };
                if let Some(error) = var.and_then(|v| self.errors[v]) {
                    errors.insert((animal, locus), error);
                }
                of_animal.push(genotypes.iter().copied().zip(self.take(var)).collect());
            }
            chances.push(of_animal);
        }
        let uncertain = |f: &usize| families.families[*f].sires.len() > 1;
        let sires = (0..families.families.len()).filter(uncertain).filter_map(|f| {
            let (sires, var) = network.sire_of(f)?;
            Some(sires.into_iter().zip(self.take(var)).collect())
        });
        let sires = sires.collect();
        Posterior { chances, errors, sires }
    }

    /// The shares of a variable, or that there is only one value.
    pub(super) fn take(&mut self, var: Option<Var>) -> Vec<Figure> {
        var.map_or_else(|| vec![Figure::Exact(sure())], |v| std::mem::take(&mut self.shares[v]))
    }
}

/// The tables of each part.
pub(super) fn tables_of<'t, W>(tables: &'t [Table<W>], parts: &[Part], n: usize) -> Vec<Vec<&'t Table<W>>> {
    let mut part_of: Vec<Option<usize>> = vec![None; n];
    for (i, part) in parts.iter().enumerate() {
        for &v in &part.order {
            part_of[v] = Some(i);
        }
    }
    let mut of_parts = vec![Vec::new(); parts.len()];
    for table in tables {
        if let Some(part) = table.scope.last().and_then(|&v| part_of[v]) {
            of_parts[part].push(table);
        }
    }
    of_parts
}
