//! Wishes: which young count, and with what share of the eggs.
//!
//! In: [`Offspring`] and [`Wanted`]. Out: the share per egg, and per locus the shares under each of the parents'
//! genotypes, from which `clutch` mixes. Loci that neither parent lists are wild in all young.

use std::collections::{BTreeMap, BTreeSet};

use super::clutch::ClutchError;
use super::cross::{Factor, Offspring, Parent, gametes, join};
use super::genotype::{Belief, Genotype};
use super::locus::{AlleleId, LocusId, Sex};
use crate::engine::odds::{Odds, none, sure};

/// Which young count: per locus the genotypes, all loci together, and perhaps a sex. Loci not named are free.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Wanted {
    loci: BTreeMap<LocusId, BTreeSet<Genotype>>,
    sex: Option<Sex>,
}

impl Wanted {
    /// Any live young.
    #[must_use]
    pub fn any() -> Wanted {
        Wanted::default()
    }

    /// The same, with one of these genotypes at a locus. Sided and plain genotypes are different genotypes: name both
    /// if both sexes count.
    #[must_use]
    pub fn with(mut self, locus: LocusId, genotypes: impl IntoIterator<Item = Genotype>) -> Wanted {
        self.loci.insert(locus, genotypes.into_iter().collect());
        self
    }

    /// The same, of this sex.
    #[must_use]
    pub fn of_sex(mut self, sex: Sex) -> Wanted {
        self.sex = Some(sex);
        self
    }

    /// Whether a genotype counts at a locus.
    #[must_use]
    pub fn counts(&self, locus: LocusId, genotype: Genotype) -> bool {
        self.loci.get(&locus).is_none_or(|wanted| wanted.contains(&genotype))
    }

    /// The loci named, with the genotypes that count there.
    pub fn loci(&self) -> impl Iterator<Item = (LocusId, &BTreeSet<Genotype>)> {
        self.loci.iter().map(|(id, wanted)| (*id, wanted))
    }

    /// The sex wanted, if one is.
    #[must_use]
    pub fn sex(&self) -> Option<Sex> {
        self.sex
    }
}

/// The chance that one egg of the pair becomes a young that counts, exact, averaged over uncertain parents.
///
/// # Errors
/// [`ClutchError::NoSexes`] if a sex is wanted and nothing is known of sexes.
pub fn per_egg(offspring: &Offspring, wanted: &Wanted) -> Result<Odds, ClutchError> {
    let free = free_sexes(offspring, wanted)?;
    let factors = offspring.factors().iter().map(|factor| {
        let cells = factor.cells().iter().map(|c| (c.sex, c.genotype, &c.weight));
        let counting = cells.filter(|(sex, genotype, _)| counts(wanted, factor.id(), *sex, *genotype));
        counting.fold(none(), |sum, (_, _, weight)| sum + weight)
    });
    Ok(factors.product::<Odds>() * free.map_or_else(sure, |share| share.any) * absent(offspring, wanted))
}

/// The two sexes' shares of the eggs that count.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Share {
    pub(super) any: Odds,
    pub(super) male: Odds,
}

fn counts(wanted: &Wanted, locus: LocusId, sex: Option<Sex>, genotype: Genotype) -> bool {
    wanted.counts(locus, genotype) && (sex.is_none() || wanted.sex.is_none() || wanted.sex == sex)
}

/// The sexes' shares where no factor decides the sex; `None` where one does.
pub(super) fn free_sexes(offspring: &Offspring, wanted: &Wanted) -> Result<Option<Share>, ClutchError> {
    let linked = offspring.sexes.linked;
    if linked.is_some_and(|(id, ..)| offspring.factor(id).is_some()) {
        return Ok(None);
    }
    let Some(share) = &offspring.sexes.male else {
        return if wanted.sex.is_some() {
            Err(ClutchError::NoSexes)
        } else {
            Ok(Some(Share { any: sure(), male: none() }))
        };
    };
    let ok = |sex, wild: fn((LocusId, Genotype, Genotype)) -> Genotype| {
        wanted.sex.is_none_or(|s| s == sex) && linked.is_none_or(|l| wanted.counts(l.0, wild(l)))
    };
    let male = if ok(Sex::Male, |l| l.1) { share.clone() } else { none() };
    let female = if ok(Sex::Female, |l| l.2) { sure() - share } else { none() };
    Ok(Some(Share { any: &male + female, male }))
}

/// 1 if the wild type counts at every wanted locus that neither parent lists, else 0. (The sex-linked one is in
/// [`free_sexes`].)
pub(super) fn absent(offspring: &Offspring, wanted: &Wanted) -> Odds {
    let wild = Genotype::pair(AlleleId::WILD, AlleleId::WILD);
    let linked = offspring.sexes.linked.map(|(id, ..)| id);
    let fits = wanted
        .loci
        .iter()
        .all(|(id, genotypes)| linked == Some(*id) || offspring.factor(*id).is_some() || genotypes.contains(&wild));
    if fits { sure() } else { none() }
}

/// The chances of a wish at one locus, as a mixture over both parents' genotypes there.
pub(super) fn at_locus(offspring: &Offspring, factor: &Factor, wanted: &Wanted) -> BTreeMap<Share, Odds> {
    let decides = offspring.sexes.linked.is_some_and(|(id, ..)| id == factor.id());
    let from = |parent: Parent| -> Vec<_> {
        let genotypes = factor.parent(parent).genotypes();
        let heterogametic = offspring.sexes.heterogametic;
        genotypes
            .map(|(g, weight)| (gametes(factor.locus(), heterogametic, parent, &Belief::sure(g)), weight))
            .collect()
    };
    let dams = from(Parent::Dam);
    let mut mixed = BTreeMap::new();
    for (sire, sire_weight) in from(Parent::Sire) {
        for (dam, dam_weight) in &dams {
            let mut share = Share { any: none(), male: none() };
            for (sex, genotype, weight) in join(&sire, dam) {
                if factor.locus().is_lethal(genotype) || !counts(wanted, factor.id(), sex, genotype) {
                    continue;
                }
                if !decides || sex == Some(Sex::Male) {
                    share.male += &weight;
                }
                share.any += weight;
            }
            *mixed.entry(share).or_insert_with(none) += sire_weight * *dam_weight;
        }
    }
    mixed
}
