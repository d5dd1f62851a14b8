//! What follows from the records for every animal.

use super::{Weighed, is_same, place};
use crate::collection::animal::{Animal, AnimalId, Basis, Belief, ClutchId};
use crate::collection::genes;
use crate::engine::inheritance::clutch::Figure;
use crate::engine::inheritance::genotype::{self, Genotype};
use crate::engine::odds::{Odds, none, odds, sure};
use crate::engine::pedigree::descent::AnimalId as Member;
use crate::species::GeneId;

/// Rounded chances are kept to so many parts.
const PARTS: i64 = 1_000_000_000;

impl Weighed<'_, '_> {
    /// The chance that an animal has at least one copy of a gene; `None` for one that is not in these records.
    #[must_use]
    pub fn carries(&self, animal: AnimalId, gene: GeneId) -> Option<Odds> {
        let (locus, allele) = self.evidence.at(gene)?;
        let member = self.evidence.member(animal)?;
        (!self.posterior.of(member, locus).is_empty()).then(|| fraction(&self.posterior.carries(member, locus, allele)))
    }

    /// The chance that a male has a sex-linked gene on his Y alone (from his father) and on his X alone (from his mother);
    /// `None` where it is not followed on the chromosomes.
    #[must_use]
    pub fn sides(&self, male: AnimalId, gene: GeneId) -> Option<(Odds, Odds)> {
        let (locus, allele) = self.evidence.at(gene)?;
        let all = self.posterior.of(self.evidence.member(male)?, locus);
        if !all.iter().any(|(g, _)| g.is_sided()) {
            return None;
        }
        let share = |on_y: bool| -> Odds {
            let one_side = all.iter().filter(|(g, _)| {
                let (x, y) = g.alleles();
                (y == allele) == on_y && (x == allele) != on_y
            });
            one_side.map(|(_, p)| fraction(p)).sum()
        };
        Some((share(true), share(false)))
    }

    /// The largest standard error of an animal's chances at a gene, where cases had to be drawn.
    #[must_use]
    pub fn standard_error(&self, animal: AnimalId, gene: GeneId) -> Option<f64> {
        let (locus, _) = self.evidence.at(gene)?;
        self.posterior.standard_error(self.evidence.member(animal)?, locus)
    }

    /// Who fathered a clutch, by all that is recorded; nothing where it was never in doubt, or each young has its own.
    #[must_use]
    pub fn sires(&self, clutch: ClutchId) -> Vec<(AnimalId, Odds)> {
        let place = self.evidence.place_of_sires(clutch).and_then(|at| self.posterior.sires().get(at));
        let kept = |(member, p): &(Member, Figure)| Some((*self.evidence.members.get(member.0)?, fraction(p)));
        place.map_or_else(Vec::new, |sires| sires.iter().filter_map(kept).collect())
    }

    /// What is believed of an animal now: its own beliefs, with those that the records say more of replaced.
    #[must_use]
    pub fn beliefs(&self, animal: &Animal) -> Vec<Belief> {
        let evidence = self.evidence;
        let Some(member) = evidence.member(animal.id) else { return animal.genes.clone() };
        let mut all = animal.genes.clone();
        for (at, id) in evidence.loci.iter().enumerate() {
            let of_locus = evidence.genes_at(place(at));
            let chances = self.posterior.of(member, place(at)).iter().map(|(g, p)| (*g, fraction(p)));
            let Some(belief) = whole(chances.collect()) else { continue };
            let here = |b: &Belief| evidence.species.gene_by_id(&b.gene).is_some_and(|g| of_locus.contains(&g));
            let told: Vec<Belief> = animal.genes.iter().filter(|b| here(b)).cloned().collect();
            let found = genes::kept(evidence.species, *id, &belief, Basis::Inferred);
            let same =
                |a: &Belief, b: &Belief| a.gene == b.gene && a.copies == b.copies && is_same(&a.chance, &b.chance);
            if told.len() == found.len() && told.iter().all(|t| found.iter().any(|f| same(t, f))) {
                continue;
            }
            all.retain(|b| !here(b));
            // What the records make sure of a share was proven by them.
            all.extend(found.into_iter().map(|mut f| {
                let open = told.iter().any(|t| t.gene == f.gene && t.chance < sure());
                if f.chance == sure() {
                    f.basis = if open { Basis::Proven } else { Basis::Inferred };
                }
                f
            }));
        }
        all
    }
}

/// Chances as one belief. Rounded ones are set to sum to 1.
fn whole(chances: Vec<(Genotype, Odds)>) -> Option<genotype::Belief> {
    let sum: Odds = chances.iter().map(|c| &c.1).sum();
    let chances = chances.into_iter().filter(|c| c.1 > none());
    genotype::Belief::mix(chances.map(|(g, p)| (g, p / &sum))).ok()
}

/// A figure as a fraction; floating-point ones to nine decimals, but never none of something.
fn fraction(figure: &Figure) -> Odds {
    match figure {
        Figure::Exact(p) => p.clone(),
        #[expect(clippy::cast_possible_truncation, clippy::cast_precision_loss)] // within 0 and a billion
        Figure::Rounded(x) if *x > 0.0 => odds(((x * PARTS as f64).round() as i64).max(1), PARTS),
        Figure::Rounded(_) => none(),
    }
}
