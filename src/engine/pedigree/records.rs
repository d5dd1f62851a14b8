//! Records: what is known of a collection, as stated; and the families that follow from it.
//!
//! In: animals, clutches, a population. Out: `Families`, checked once and trusted by everything that weighs evidence.
//! Start at [`Records`]. Not here: what follows from them (`evidence`).

use std::collections::BTreeMap;

use thiserror::Error;

use super::descent::{AnimalId, Descent, DescentError, Parents};
use crate::engine::inheritance::genotype::{Genome, Genotype};
use crate::engine::inheritance::locus::{AlleleId, Genetics, GenotypeError, LocusId, Look, Sex};
use crate::engine::odds::{Odds, none, sure};

/// What was seen of an animal: at each locus looked at, the looks that it may be. Loci left out were not seen.
pub type Seen = BTreeMap<LocusId, Vec<Look>>;

/// How common the alleles are in the population that unknown founders come from: per locus, the chance of each
/// allele that is not wild, within `0..=1` with a sum within `0..=1`; the rest is wild. Loci left out are wild.
pub type Frequencies = BTreeMap<LocusId, BTreeMap<AlleleId, Odds>>;

/// Who fathered a brood: nobody known (empty), or each possible sire with its chance; the chances sum to 1.
pub type Sires = Vec<(AnimalId, Odds)>;

/// One animal.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Animal {
    /// Its sex, if stated; being a sire or a dam tells it too.
    pub sex: Option<Sex>,
    /// Its sire, if it is not among the named young of a clutch.
    pub sires: Sires,
    /// Its dam, if it is not among the named young of a clutch.
    pub dam: Option<AnimalId>,
    /// What is believed of a founder; at loci left out it is drawn from the population.
    pub beliefs: Genome,
    /// What it looks like.
    pub seen: Seen,
}

/// Young of one kind that are not animals of their own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Young {
    /// What they look like, each of them.
    pub seen: Seen,
    /// Their sex, if it is known.
    pub sex: Option<Sex>,
    /// How many.
    pub count: u32,
}

/// The young of one pair, or of one dam and one of several sires.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Clutch {
    /// One of these fathered all of the clutch.
    pub sires: Sires,
    /// Its dam.
    pub dam: Option<AnimalId>,
    /// Young that are animals of their own. They have no parents of their own in their records.
    pub named: Vec<AnimalId>,
    /// The other young.
    pub young: Vec<Young>,
}

/// Everything known of a collection. An [`AnimalId`] is a position in `animals`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Records {
    /// The animals, in any order.
    pub animals: Vec<Animal>,
    /// The clutches.
    pub clutches: Vec<Clutch>,
    /// Where unknown founders come from.
    pub frequencies: Frequencies,
}

/// Where in the records something stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// An animal.
    Animal(AnimalId),
    /// A clutch, by its position.
    Clutch(usize),
}

/// Why records make no sense, whatever the genes.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RecordError {
    /// Parents and sexes do not fit.
    #[error(transparent)]
    Descent(#[from] DescentError),
    /// A clutch names an animal that there is not.
    #[error("clutch {clutch} names an animal {} that there is not", animal.0)]
    Unknown {
        /// The clutch.
        clutch: usize,
        /// The animal.
        animal: AnimalId,
    },
    /// The chances of the sires do not sum to 1, or one is below 0.
    #[error("the chances of the sires of {place:?} add up to {sum} instead of 1")]
    SireChances {
        /// Whose sires.
        place: Place,
        /// What they sum to.
        sum: Odds,
    },
    /// A sire is named twice.
    #[error("the sire {} is named twice for {place:?}", sire.0)]
    SireTwice {
        /// Whose sires.
        place: Place,
        /// Which sire.
        sire: AnimalId,
    },
    /// An animal has parents in more than one place.
    #[error("animal {} has parents in two places", animal.0)]
    TwoBroods {
        /// Who.
        animal: AnimalId,
    },
    /// A founder's belief is stated of an animal with a parent.
    #[error("animal {} has a parent, so its genotype follows and is not stated", animal.0)]
    NotAFounder {
        /// Who.
        animal: AnimalId,
    },
    /// A genotype that the animal cannot have.
    #[error("animal {}, locus {}, genotype {genotype}: {why}", animal.0, locus.0)]
    Genotype {
        /// Whose.
        animal: AnimalId,
        /// Where.
        locus: LocusId,
        /// The genotype.
        genotype: Genotype,
        /// What does not fit.
        why: GenotypeError,
    },
    /// A look that no animal has at this locus, or no look at all, or a locus that there is not.
    #[error("{place:?}: no animal looks like this at locus {}", locus.0)]
    Look {
        /// Whose look.
        place: Place,
        /// Where.
        locus: LocusId,
    },
    /// Allele frequencies that make no population.
    #[error("the frequencies at locus {} are not those of its alleles with a sum within 0 and 1", locus.0)]
    Frequency {
        /// Where.
        locus: LocusId,
    },
}

/// The young of one pair: they share a sire also where it is not known which.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Family<'a> {
    pub(super) place: Place,
    pub(super) sires: Vec<(AnimalId, &'a Odds)>,
    pub(super) dam: Option<AnimalId>,
    pub(super) named: Vec<AnimalId>,
    pub(super) young: &'a [Young],
}

/// Checked records.
#[derive(Debug, Clone)]
#[expect(clippy::struct_field_names)] // the field is called what the page of the format calls it
pub(super) struct Families<'a> {
    pub(super) records: &'a Records,
    pub(super) genetics: &'a Genetics,
    pub(super) descent: Descent,
    pub(super) families: Vec<Family<'a>>,
    /// Per animal: the family it was born in.
    pub(super) born_in: Vec<Option<usize>>,
}

impl<'a> Families<'a> {
    /// Checks records against each other and against the species.
    pub(super) fn new(genetics: &'a Genetics, records: &'a Records) -> Result<Families<'a>, RecordError> {
        let (families, born_in) = families(records)?;
        let descent = descent(records, &families, &born_in)?;
        let checked = Families { records, genetics, descent, families, born_in };
        checked.check()?;
        Ok(checked)
    }

    fn check(&self) -> Result<(), RecordError> {
        for (i, animal) in self.records.animals.iter().enumerate() {
            let id = AnimalId(i);
            if self.born_in[i].is_some() && animal.beliefs.loci().next().is_some() {
                return Err(RecordError::NotAFounder { animal: id });
            }
            for (locus, belief) in animal.beliefs.loci() {
                for (genotype, _) in belief.genotypes() {
                    self.check_genotype(id, locus, genotype)?;
                }
            }
            self.check_seen(&animal.seen, Place::Animal(id))?;
        }
        for (at, clutch) in self.records.clutches.iter().enumerate() {
            for young in &clutch.young {
                self.check_seen(&young.seen, Place::Clutch(at))?;
            }
        }
        for (&locus, alleles) in &self.records.frequencies {
            let n = self.genetics.locus(locus).map_or(0, crate::engine::inheritance::locus::Locus::n_alleles);
            let known = alleles.keys().all(|&a| a != AlleleId::WILD && usize::from(a.0) < n);
            let sum: Odds = alleles.values().sum();
            if !known || sum > sure() || alleles.values().any(|chance| *chance < none()) {
                return Err(RecordError::Frequency { locus });
            }
        }
        Ok(())
    }

    fn check_genotype(&self, animal: AnimalId, locus: LocusId, genotype: Genotype) -> Result<(), RecordError> {
        let check = |sex| self.genetics.check(locus, sex, genotype);
        let fits = match self.descent.sex(animal) {
            Some(sex) => check(sex),
            None => check(Sex::Male).or_else(|_| check(Sex::Female)),
        };
        fits.map_err(|why| RecordError::Genotype { animal, locus, genotype, why })
    }

    fn check_seen(&self, seen: &Seen, place: Place) -> Result<(), RecordError> {
        for (&locus, looks) in seen {
            let known = |look: &Look| {
                let mut all = self.genetics.genotypes(locus);
                self.genetics.locus(locus).is_some_and(|at| all.any(|g| at.look_of(g) == *look))
            };
            if looks.is_empty() || !looks.iter().all(known) {
                return Err(RecordError::Look { place, locus });
            }
        }
        Ok(())
    }
}

/// The families, and per animal the one it was born in.
pub(super) fn families(records: &Records) -> Result<(Vec<Family<'_>>, Vec<Option<usize>>), RecordError> {
    let mut families = Vec::new();
    let mut born_in: Vec<Option<usize>> = vec![None; records.animals.len()];
    for (i, animal) in records.animals.iter().enumerate() {
        if !animal.sires.is_empty() || animal.dam.is_some() {
            born_in[i] = Some(families.len());
            let mut parents = animal.sires.iter().map(|(sire, _)| *sire).chain(animal.dam);
            if let Some(parent) = parents.find(|parent| parent.0 >= records.animals.len()) {
                return Err(DescentError::Unknown { animal: AnimalId(i), parent }.into());
            }
            let place = Place::Animal(AnimalId(i));
            let sires = possible_sires(&animal.sires, place)?;
            families.push(Family { place, sires, dam: animal.dam, named: vec![AnimalId(i)], young: &[] });
        }
    }
    for (at, clutch) in records.clutches.iter().enumerate() {
        for &animal in &clutch.named {
            let own = born_in.get_mut(animal.0).ok_or(RecordError::Unknown { clutch: at, animal })?;
            if own.replace(families.len()).is_some() {
                return Err(RecordError::TwoBroods { animal });
            }
        }
        let parents = clutch.sires.iter().map(|(sire, _)| *sire).chain(clutch.dam);
        if let Some(animal) = parents.into_iter().find(|a| a.0 >= records.animals.len()) {
            return Err(RecordError::Unknown { clutch: at, animal });
        }
        let place = Place::Clutch(at);
        let sires = possible_sires(&clutch.sires, place)?;
        let named = clutch.named.clone();
        families.push(Family { place, sires, dam: clutch.dam, named, young: &clutch.young });
    }
    Ok((families, born_in))
}

/// The sires that may be, without those of chance 0.
fn possible_sires(sires: &Sires, place: Place) -> Result<Vec<(AnimalId, &Odds)>, RecordError> {
    let sum: Odds = sires.iter().map(|(_, chance)| chance).sum();
    if !sires.is_empty() && (sum != sure() || sires.iter().any(|(_, chance)| *chance < none())) {
        return Err(RecordError::SireChances { place, sum });
    }
    let mut ids: Vec<AnimalId> = sires.iter().map(|(sire, _)| *sire).collect();
    ids.sort_unstable();
    if let Some(twice) = ids.windows(2).find(|pair| pair[0] == pair[1]) {
        return Err(RecordError::SireTwice { place, sire: twice[0] });
    }
    Ok(sires.iter().filter(|(_, chance)| *chance > none()).map(|(sire, chance)| (*sire, chance)).collect())
}

/// The pedigree of the animals. Parents of clutches without named young tell sexes too, so each clutch stands in it as
/// one more animal at the end.
fn descent(records: &Records, families: &[Family], born_in: &[Option<usize>]) -> Result<Descent, DescentError> {
    let parents =
        |family: &Family| Parents { sires: family.sires.iter().map(|(sire, _)| *sire).collect(), dam: family.dam };
    let of_animals = born_in.iter().map(|family| family.map_or_else(Parents::default, |f| parents(&families[f])));
    let of_clutches = families.iter().filter(|f| matches!(f.place, Place::Clutch(_))).map(parents);
    let stated: Vec<Option<Sex>> = records.animals.iter().map(|animal| animal.sex).collect();
    Descent::new(of_animals.chain(of_clutches).collect(), &stated)
}
