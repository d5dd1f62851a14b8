//! Crosses: what one sire and one dam can give, per egg, locus by locus.
//!
//! In: two [`Genome`]s of one species. Out: [`Offspring`], one factor per locus, never multiplied out.
//! Invariant: the weights of the cells of a factor and its lost share sum to exactly 1. Start at [`cross`].
//! Not here: questions about a clutch (`clutch`). Eggs of a pair share their parents, so they are not independent.

use std::collections::{BTreeMap, BTreeSet};

use thiserror::Error;

use super::genotype::{Belief, Genome, Genotype};
use super::locus::{AlleleId, Genetics, GenotypeError, Locus, LocusId, Sex, SexLink};
use crate::engine::odds::{Odds, half, none, sure};

/// The most genotypes that may be believed of one animal at one locus; the work grows with their square.
pub const MOST_GENOTYPES: usize = 256;

/// One of the two parents.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Parent {
    /// The male.
    Sire,
    /// The female.
    Dam,
}

impl Parent {
    /// Its sex.
    #[must_use]
    pub fn sex(self) -> Sex {
        match self {
            Parent::Sire => Sex::Male,
            Parent::Dam => Sex::Female,
        }
    }
}

/// Why two animals cannot be crossed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CrossError {
    /// A genotype that this parent cannot have.
    #[error("{parent:?}, locus {}, genotype {genotype}: {why}", locus.0)]
    Genotype {
        /// Whose.
        parent: Parent,
        /// Where.
        locus: LocusId,
        /// The genotype.
        genotype: Genotype,
        /// What does not fit.
        why: GenotypeError,
    },
    /// More than [`MOST_GENOTYPES`] possible genotypes.
    #[error("{parent:?}, locus {}: {n} possible genotypes are too many, at most {MOST_GENOTYPES}", locus.0)]
    TooManyGenotypes {
        /// Whose.
        parent: Parent,
        /// Where.
        locus: LocusId,
        /// How many.
        n: usize,
    },
}

/// One kind of live young at one locus.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cell {
    /// Its sex; only at the sex-linked locus.
    pub sex: Option<Sex>,
    /// Its genotype.
    pub genotype: Genotype,
    /// Its share of all eggs; exact, above 0.
    pub weight: Odds,
}

/// What the pair gives at one locus.
#[derive(Debug, Clone)]
pub struct Factor {
    id: LocusId,
    locus: Locus,
    sire: Belief,
    dam: Belief,
    cells: Vec<Cell>,
    lost: Odds,
}

impl Factor {
    /// Which locus.
    #[must_use]
    pub fn id(&self) -> LocusId {
        self.id
    }

    /// The locus itself.
    #[must_use]
    pub fn locus(&self) -> &Locus {
        &self.locus
    }

    /// What is believed of a parent.
    #[must_use]
    pub fn parent(&self, parent: Parent) -> &Belief {
        match parent {
            Parent::Sire => &self.sire,
            Parent::Dam => &self.dam,
        }
    }

    /// The kinds of live young, by sex and genotype, with their shares of all eggs.
    #[must_use]
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// The share of eggs lost to lethal genotypes of this locus.
    #[must_use]
    pub fn lost(&self) -> &Odds {
        &self.lost
    }
}

/// Everything a pair can give, per egg.
#[derive(Debug, Clone)]
pub struct Offspring {
    factors: Vec<Factor>,
    pub(super) sexes: Sexes,
}

/// What is known of the sexes of the young, beside a sex-linked factor.
#[derive(Debug, Clone)]
pub(super) struct Sexes {
    pub(super) male: Option<Odds>,
    pub(super) heterogametic: Option<Sex>,
    /// The sex-linked locus and the wild genotypes of males and females there.
    pub(super) linked: Option<(LocusId, Genotype, Genotype)>,
}

impl Offspring {
    /// One factor for each locus that either parent lists, in the order of the loci.
    #[must_use]
    pub fn factors(&self) -> &[Factor] {
        &self.factors
    }

    /// The factor of one locus; `None` if neither parent lists it, so that all young are wild there.
    #[must_use]
    pub fn factor(&self, locus: LocusId) -> Option<&Factor> {
        self.factors.binary_search_by_key(&locus, |f| f.id).ok().and_then(|i| self.factors.get(i))
    }

    /// The share of males among all eggs, lethals aside; `None` where nothing is known of the sexes.
    #[must_use]
    pub fn male_share(&self) -> Option<&Odds> {
        self.sexes.male.as_ref()
    }

    /// The share of eggs lost to lethal genotypes, exact.
    #[must_use]
    pub fn lost(&self) -> Odds {
        let live: Odds = self.factors.iter().map(|f| sure() - &f.lost).product();
        sure() - live
    }
}

/// Crosses two animals.
///
/// A locus that neither genome lists is left out of the answer (all young are wild there). So a sex-linked locus
/// splits the outcomes by sex only if a parent lists it, be it as wild.
///
/// # Errors
/// [`CrossError`] names the parent, the locus and what is wrong there.
///
/// ```
/// use hatchward::engine::inheritance::{cross::cross, genotype::{Belief, Genome, Genotype}};
/// use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode};
/// let genetics = Genetics::new(vec![Locus::trade(&[Mode::Recessive])], None).unwrap();
/// let het = Genome::wild().with(LocusId(0), Belief::sure(Genotype::pair(AlleleId(0), AlleleId(1))));
/// let young = cross(&genetics, &het, &het).unwrap();
/// let shares: Vec<String> = young.looks().map(|look| look.probability.to_string()).collect();
/// assert_eq!(shares, ["3/4", "1/4"]);
/// ```
pub fn cross(genetics: &Genetics, sire: &Genome, dam: &Genome) -> Result<Offspring, CrossError> {
    let listed: BTreeSet<LocusId> = sire.loci().chain(dam.loci()).map(|(id, _)| id).collect();
    let heterogametic = genetics.heterogametic();
    let mut factors = Vec::with_capacity(listed.len());
    for id in listed {
        let sire = believed(genetics, Parent::Sire, sire, id)?;
        let dam = believed(genetics, Parent::Dam, dam, id)?;
        // `believed` has refused loci that do not exist.
        let Some(locus) = genetics.locus(id) else {
            continue;
        };
        let mut merged: BTreeMap<(Option<Sex>, Genotype), Odds> = BTreeMap::new();
        let mut lost = none();
        for (sex, genotype, weight) in
            join(&gametes(locus, heterogametic, Parent::Sire, &sire), &gametes(locus, heterogametic, Parent::Dam, &dam))
        {
            if locus.is_lethal(genotype) {
                lost += weight;
            } else {
                *merged.entry((sex, genotype)).or_insert_with(none) += weight;
            }
        }
        let cells = merged.into_iter().map(|((sex, genotype), weight)| Cell { sex, genotype, weight });
        factors.push(Factor { id, locus: locus.clone(), sire, dam, cells: cells.collect(), lost });
    }
    let linked = genetics.linked().map(|id| (id, genetics.wild(id, Sex::Male), genetics.wild(id, Sex::Female)));
    Ok(Offspring { factors, sexes: Sexes { male: genetics.male_share(), heterogametic, linked } })
}

/// What is believed of a parent at a locus, checked against the locus.
fn believed(genetics: &Genetics, parent: Parent, genome: &Genome, id: LocusId) -> Result<Belief, CrossError> {
    let Some(belief) = genome.get(id) else {
        return Ok(Belief::sure(genetics.wild(id, parent.sex())));
    };
    let n = belief.n_genotypes();
    if n > MOST_GENOTYPES {
        return Err(CrossError::TooManyGenotypes { parent, locus: id, n });
    }
    for (genotype, _) in belief.genotypes() {
        genetics.check(id, parent.sex(), genotype).map_err(|why| CrossError::Genotype {
            parent,
            locus: id,
            genotype,
            why,
        })?;
    }
    Ok(belief.clone())
}

/// What a parent hands on at one locus.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::engine) struct Gamete {
    /// The sex it makes, and whether it brings the Y (W); only from the parent with two different sex chromosomes.
    decides: Option<(Sex, bool)>,
    allele: AlleleId,
}

/// The gametes of a parent, with weights that sum to 1.
pub(in crate::engine) fn gametes(
    locus: &Locus,
    heterogametic: Option<Sex>,
    parent: Parent,
    belief: &Belief,
) -> Vec<(Gamete, Odds)> {
    let mut found: Vec<(Gamete, Odds)> = Vec::with_capacity(4);
    let mut add = |decides, allele, weight: Odds| {
        let gamete = Gamete { decides, allele };
        match found.iter_mut().find(|(g, _)| *g == gamete) {
            Some((_, sum)) => *sum += weight,
            None => found.push((gamete, weight)),
        }
    };
    let own = parent.sex();
    let link = locus.sex_link().filter(|_| heterogametic == Some(own));
    let with_x = Some((other(own), false));
    let with_y = Some((own, true));
    for (genotype, weight) in belief.genotypes() {
        let (a, b) = genotype.alleles();
        match link {
            None if a == b => add(None, a, weight.clone()),
            None => {
                let each = weight * half();
                add(None, a, each.clone());
                add(None, b, each);
            }
            Some(SexLink::OnlyX) => {
                let each = weight * half();
                add(with_x, a, each.clone());
                add(with_y, AlleleId::NONE, each);
            }
            Some(SexLink::Recombining(recombination)) => {
                let swapped = weight * half() * recombination;
                let kept = weight * half() - &swapped;
                for (decides, allele, weight) in
                    [(with_x, a, &kept), (with_x, b, &swapped), (with_y, b, &kept), (with_y, a, &swapped)]
                {
                    if *weight > none() {
                        add(decides, allele, weight.clone());
                    }
                }
            }
        }
    }
    found
}

fn other(sex: Sex) -> Sex {
    match sex {
        Sex::Male => Sex::Female,
        Sex::Female => Sex::Male,
    }
}

/// Every meeting of two gametes: sex (if it is decided here), genotype, weight.
pub(in crate::engine) fn join(
    of_sire: &[(Gamete, Odds)],
    of_dam: &[(Gamete, Odds)],
) -> impl Iterator<Item = (Option<Sex>, Genotype, Odds)> {
    of_sire.iter().flat_map(move |(s, s_weight)| {
        of_dam.iter().map(move |(d, d_weight)| {
            let (sex, genotype) = match (s.decides, d.decides) {
                (Some((sex, true)), _) => (Some(sex), Genotype::sided(d.allele, s.allele)),
                (_, Some((sex, true))) => (Some(sex), Genotype::sided(s.allele, d.allele)),
                (a, b) => (a.or(b).map(|(sex, _)| sex), Genotype::pair(s.allele, d.allele)),
            };
            (sex, genotype, s_weight * d_weight)
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::inheritance::locus::{Mode, SexSystem};
    use crate::engine::odds::odds;

    const HERE: LocusId = LocusId(0);

    fn genetics(link: Option<SexLink>) -> Genetics {
        let locus = Locus::series(40);
        let locus = match link {
            Some(link) => locus.with_sex_link(link),
            None => locus,
        };
        Genetics::new(vec![locus, Locus::trade(&[Mode::Recessive])], Some(SexSystem::Xy)).unwrap()
    }

    fn refused(genetics: &Genetics, sire: Genotype, dam: Genotype) -> CrossError {
        let animal = |genotype| Genome::wild().with(HERE, Belief::sure(genotype));
        cross(genetics, &animal(sire), &animal(dam)).unwrap_err()
    }

    #[test]
    fn what_a_parent_cannot_have_is_named() {
        let pair = |a, b| Genotype::pair(AlleleId(a), AlleleId(b));
        let sided = |x, y| Genotype::sided(AlleleId(x), AlleleId(y));
        let plain = genetics(None);
        let linked = genetics(Some(SexLink::Recombining(odds(1, 20))));
        let bare = genetics(Some(SexLink::OnlyX));
        let of = |error| match error {
            CrossError::Genotype { parent, why, .. } => (parent, why),
            CrossError::TooManyGenotypes { .. } => panic!("{error}"),
        };
        let allele = |n| GenotypeError::Allele { allele: AlleleId(n) };
        assert_eq!(of(refused(&plain, pair(0, 0), pair(0, 40))), (Parent::Dam, allele(40)));
        assert_eq!(of(refused(&plain, pair(255, 0), pair(0, 0))), (Parent::Sire, allele(255)));
        let sided_error = |sided| GenotypeError::Sides { sided };
        assert_eq!(of(refused(&plain, sided(0, 0), pair(0, 0))), (Parent::Sire, sided_error(true)));
        assert_eq!(of(refused(&linked, pair(0, 0), pair(0, 0))), (Parent::Sire, sided_error(false)));
        assert_eq!(of(refused(&linked, sided(0, 0), sided(0, 0))), (Parent::Dam, sided_error(true)));
        assert_eq!(of(refused(&linked, sided(0, 255), pair(0, 0))), (Parent::Sire, allele(255)));
        assert_eq!(of(refused(&bare, sided(0, 1), pair(0, 0))), (Parent::Sire, allele(1)));
        let nowhere = Genome::wild().with(LocusId(9), Belief::sure(pair(0, 0)));
        let error = cross(&plain, &nowhere, &Genome::wild()).unwrap_err();
        assert_eq!(of(error), (Parent::Sire, GenotypeError::UnknownLocus));
    }

    #[test]
    fn too_many_possible_genotypes_are_refused() {
        let plain = genetics(None);
        let all: Vec<Genotype> = plain.genotypes(HERE).collect();
        let n = i64::try_from(all.len()).unwrap();
        let believed = Belief::mix(all.into_iter().map(|g| (g, odds(1, n)))).unwrap();
        let error = cross(&plain, &Genome::wild(), &Genome::wild().with(HERE, believed)).unwrap_err();
        assert_eq!(error, CrossError::TooManyGenotypes { parent: Parent::Dam, locus: HERE, n: 820 });
    }

    #[test]
    fn only_listed_loci_are_in_the_answer() {
        let linked = genetics(Some(SexLink::OnlyX));
        let nothing = cross(&linked, &Genome::wild(), &Genome::wild()).unwrap();
        assert!(nothing.factors().is_empty() && nothing.factor(HERE).is_none());
        assert_eq!(nothing.outcomes().count(), 1);
        let wild = Genome::wild().with(HERE, Belief::sure(linked.wild(HERE, Sex::Female)));
        let split = cross(&linked, &Genome::wild(), &wild).unwrap();
        let sexes: Vec<_> = split.outcomes().map(|o| o.sex).collect();
        assert_eq!(sexes, [Some(Sex::Female), Some(Sex::Male)]);
    }
}
