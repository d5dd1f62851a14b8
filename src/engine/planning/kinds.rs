//! Kinds of animals in numbers: the genotypes that can arise from the founders, numbered locus by locus, and what any
//! two of them give.
//!
//! A kind is one whole number, the sum over the loci of (genotype number × stride). Loci at which all founders have
//! the same two equal alleles never change and carry no number. Shares are floating point and exact wherever chromosomes halve
//! (all but a recombination with the sex and a share of males), because they are sums of powers of two.

use std::collections::{BTreeMap, BTreeSet};

use thiserror::Error;

use super::{Animal, Tell};
use crate::engine::inheritance::clutch::Wanted;
use crate::engine::inheritance::cross::cross;
use crate::engine::inheritance::genotype::{Belief, Genome, Genotype};
use crate::engine::inheritance::locus::{AlleleId, Genetics, GenotypeError, LocusId, Sex};
use crate::engine::odds::{Odds, half, sure, to_f64};

/// The most genotypes that may arise at one locus; the tables grow with their square.
pub const MOST_GENOTYPES: usize = 160;

/// The most kinds that one animal may be.
const MOST_CASES: usize = 1 << 12;

/// Why animals cannot be numbered.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum KindError {
    /// An animal whose genotype is not certain.
    #[error("animal {animal}, locus {}: one certain genotype is needed", locus.0)]
    Uncertain {
        /// Which animal, counted over those owned and then those on sale.
        animal: usize,
        /// Where.
        locus: LocusId,
    },
    /// A genotype that this animal cannot have.
    #[error("animal {animal}, locus {}, genotype {genotype}: {why}", locus.0)]
    Genotype {
        /// Which animal, counted over those owned and then those on sale.
        animal: usize,
        /// Where.
        locus: LocusId,
        /// The genotype.
        genotype: Genotype,
        /// What does not fit.
        why: GenotypeError,
    },
    /// An animal so uncertain that its cases cannot be gone through.
    #[error("animal {animal}: more than {MOST_CASES} kinds are possible")]
    TooManyCases {
        /// Which animal, counted over those owned and then those on sale.
        animal: usize,
    },
    /// A wanted locus that there is not.
    #[error("the goal: there is no locus {}", locus.0)]
    NoLocus {
        /// Which.
        locus: LocusId,
    },
    /// More than [`MOST_GENOTYPES`] genotypes at one locus.
    #[error("locus {}: {n} genotypes can arise, at most {MOST_GENOTYPES} can be planned with", locus.0)]
    TooManyGenotypes {
        /// Where.
        locus: LocusId,
        /// How many.
        n: usize,
    },
    /// So many loci differ among the animals that their combinations cannot be numbered.
    #[error("{n} loci differ among the animals: their combinations are too many to be planned with")]
    TooManyLoci {
        /// How many.
        n: usize,
    },
}

/// One kind of young at one locus.
#[derive(Debug, Clone, Copy)]
pub(super) struct Child {
    /// The number of its genotype times the stride of its locus.
    pub(super) code: u64,
    /// Its share of the eggs.
    pub(super) share: f64,
}

/// What two genotypes give at one locus, for young of one sex.
#[derive(Debug, Clone, Default)]
pub(super) struct Give {
    /// The kinds that can be kept: all of them, or those whose look leaves no other genotype.
    pub(super) keepers: Vec<Child>,
    /// The share of the eggs that is wanted here, and known to be.
    pub(super) wanted: f64,
}

/// One locus.
#[derive(Debug)]
pub(super) struct KindLocus {
    pub(super) id: LocusId,
    pub(super) genotypes: Vec<Genotype>,
    pub(super) stride: u64,
    pub(super) linked: bool,
    pub(super) wanted: Vec<bool>, // of each genotype
    looks: Vec<u64>,              // of each genotype, numbered
    female: Vec<Give>,
    male: Vec<Give>, // empty unless linked: both sexes alike
}

impl KindLocus {
    fn code_of(&self, genotype: Genotype) -> Option<u64> {
        Some(self.genotypes.iter().position(|known| *known == genotype)? as u64 * self.stride)
    }

    pub(super) fn number(&self, code: u64) -> usize {
        let n = self.genotypes.len() as u64;
        // Below `n`, which is at most MOST_GENOTYPES.
        usize::try_from(code / self.stride % n).unwrap_or(0)
    }

    /// The look of a genotype, by numbers: two genotypes look alike if it is the same.
    pub(super) fn look(&self, number: usize) -> u64 {
        self.looks[number]
    }

    /// What a sire and a dam, by the numbers of their genotypes, give to young of this sex. At the sex-linked locus
    /// the share of the sex is in the shares, elsewhere it is not.
    pub(super) fn give(&self, sire: u8, dam: u8, sex: Sex) -> &Give {
        let table = if self.linked && sex == Sex::Male { &self.male } else { &self.female };
        &table[usize::from(sire) * self.genotypes.len() + usize::from(dam)]
    }
}

/// All kinds that can arise from some animals.
#[derive(Debug)]
pub(super) struct Kinds {
    loci: Vec<KindLocus>, // a sex-linked one last
    fixed: Vec<(LocusId, Genotype)>,
    count: u64,
    linked: bool,
    male_share: f64,
    /// The loci at which no animal that can arise is wanted.
    pub(super) missing: Vec<LocusId>,
}

impl Kinds {
    /// Numbers what can arise from these founders at the loci that matter; where several genotypes are possible, from
    /// all of them.
    pub(super) fn new(
        genetics: &Genetics,
        founders: &[&Animal],
        goal: &Wanted,
        tell: Tell,
        matters: &dyn Fn(LocusId) -> bool,
    ) -> Result<Kinds, KindError> {
        if let Some((locus, _)) = goal.loci().find(|(id, _)| genetics.locus(*id).is_none()) {
            return Err(KindError::NoLocus { locus });
        }
        let mut kinds = Kinds {
            loci: Vec::new(),
            fixed: Vec::new(),
            count: 1,
            linked: false,
            male_share: to_f64(&genetics.male_share().unwrap_or_else(half)),
            missing: Vec::new(),
        };
        for (animal, founder) in founders.iter().enumerate() {
            if let Some((locus, _)) = founder.genome.loci().find(|(id, _)| genetics.locus(*id).is_none()) {
                let genotype = Genotype::pair(AlleleId::WILD, AlleleId::WILD);
                return Err(KindError::Genotype { animal, locus, genotype, why: GenotypeError::UnknownLocus });
            }
        }
        let all = (0..).map(LocusId).take(genetics.loci().len());
        let mut ids: Vec<LocusId> = all.filter(|id| matters(*id)).collect();
        ids.sort_by_key(|id| genetics.linked() == Some(*id));
        let mut varying = Vec::new();
        for id in ids {
            let mut had = BTreeSet::new();
            for (animal, founder) in founders.iter().enumerate() {
                had.extend(genotypes_of(genetics, animal, founder, id)?.into_iter().map(|(genotype, _)| genotype));
            }
            match had.first().map(|g| (*g, g.alleles())) {
                Some((genotype, (a, b))) if had.len() == 1 && a == b && is_plain(genetics, id, genotype) => {
                    if !goal.counts(id, genotype) {
                        kinds.missing.push(id);
                    }
                    kinds.fixed.push((id, genotype));
                }
                Some(_) => varying.push((id, had)),
                None => {} // no animals at all
            }
        }
        let n = varying.len();
        for (id, had) in varying {
            let locus = number(genetics, id, &had, kinds.count, goal, tell)?;
            let within = kinds.count.checked_mul(locus.genotypes.len() as u64).filter(|n| *n <= u64::MAX / 2);
            kinds.count = within.ok_or(KindError::TooManyLoci { n })?;
            kinds.linked |= locus.linked;
            if !locus.wanted.contains(&true) {
                kinds.missing.push(id);
            }
            kinds.loci.push(locus);
        }
        Ok(kinds)
    }

    /// How many kinds there are, of one sex.
    pub(super) fn count(&self) -> u64 {
        self.count
    }

    /// The loci that vary, a sex-linked one last.
    pub(super) fn loci(&self) -> &[KindLocus] {
        &self.loci
    }

    /// The loci that vary and give both sexes alike, and the one that does not.
    pub(super) fn unlinked_and_linked(&self) -> (&[KindLocus], Option<&KindLocus>) {
        match self.loci.split_last() {
            Some((last, rest)) if last.linked => (rest, Some(last)),
            _ => (&self.loci, None),
        }
    }

    /// The share of a sex among eggs, where no sex-linked locus decides it.
    pub(super) fn share_of(&self, sex: Sex) -> f64 {
        match sex {
            Sex::Male => self.male_share,
            Sex::Female => 1.0 - self.male_share,
        }
    }

    /// The share of a sex that the loci leave open: all where the sex-linked one decides it.
    pub(super) fn open_share_of(&self, sex: Sex) -> f64 {
        if self.unlinked_and_linked().1.is_some() { 1.0 } else { self.share_of(sex) }
    }

    /// The kinds that an animal may be, with their chances, exact; one if its genotypes are certain.
    pub(super) fn of(
        &self,
        genetics: &Genetics,
        number: usize,
        animal: &Animal,
    ) -> Result<Vec<(u64, Odds)>, KindError> {
        let mut kinds = vec![(0, sure())];
        for locus in &self.loci {
            let here = genotypes_of(genetics, number, animal, locus.id)?;
            let here = here.iter().filter_map(|(genotype, chance)| Some((locus.code_of(*genotype)?, chance)));
            let here: Vec<_> = here.collect();
            if kinds.len().saturating_mul(here.len()) > MOST_CASES {
                return Err(KindError::TooManyCases { animal: number });
            }
            kinds = kinds
                .iter()
                .flat_map(|(code, so_far)| here.iter().map(move |(c, chance)| (code + c, so_far * *chance)))
                .collect();
        }
        Ok(kinds)
    }

    /// The genotypes that an animal may have at each locus, by number, with their chances.
    pub(super) fn priors(
        &self,
        genetics: &Genetics,
        number: usize,
        animal: &Animal,
    ) -> Result<Vec<Vec<(u8, f64)>>, KindError> {
        let at = |locus: &KindLocus| {
            let here = genotypes_of(genetics, number, animal, locus.id)?;
            let numbered = here.iter().filter_map(|(genotype, chance)| {
                let place = locus.genotypes.iter().position(|known| known == genotype)?;
                Some((u8::try_from(place).ok()?, to_f64(chance)))
            });
            Ok(numbered.collect())
        };
        self.loci.iter().map(at).collect()
    }

    /// The one kind that an animal is.
    pub(super) fn of_certain(&self, genetics: &Genetics, number: usize, animal: &Animal) -> Result<u64, KindError> {
        let mut sum = 0;
        for locus in &self.loci {
            match genotypes_of(genetics, number, animal, locus.id)?.as_slice() {
                [(genotype, _)] => sum += locus.code_of(*genotype).unwrap_or(0),
                _ => return Err(KindError::Uncertain { animal: number, locus: locus.id }),
            }
        }
        Ok(sum)
    }

    /// The kind with these genotypes; `None` if it cannot arise, or one is missing.
    pub(super) fn of_genotypes(&self, genotypes: &[(LocusId, Genotype)]) -> Option<u64> {
        let code = |locus: &KindLocus| {
            let (_, genotype) = genotypes.iter().find(|(id, _)| *id == locus.id)?;
            locus.code_of(*genotype)
        };
        self.loci.iter().map(code).sum()
    }

    /// Whether a kind counts at every locus.
    pub(super) fn is_wanted(&self, code: u64) -> bool {
        self.missing.is_empty() && self.loci.iter().all(|locus| locus.wanted.get(locus.number(code)) == Some(&true))
    }

    /// All kinds of young of two kinds with their shares of the eggs, by sex; lost eggs are left out.
    pub(super) fn young(&self, sire: u64, dam: u64, sex: Sex) -> Vec<Child> {
        let (unlinked, linked) = self.unlinked_and_linked();
        let mut young = vec![Child { code: 0, share: self.open_share_of(sex) }];
        for locus in unlinked.iter().chain(linked) {
            let [sire, dam] = [sire, dam].map(|code| u8::try_from(locus.number(code)).unwrap_or(0));
            let here = &locus.give(sire, dam, sex).keepers;
            let joined = young.iter().flat_map(|so_far| {
                here.iter().map(|c| Child { code: so_far.code + c.code, share: so_far.share * c.share })
            });
            young = joined.collect();
        }
        young
    }

    /// The look of a kind, in one number: two kinds look alike if it is the same.
    pub(super) fn look(&self, code: u64) -> u64 {
        self.loci.iter().map(|locus| locus.looks[locus.number(code)] * locus.stride).sum()
    }

    /// The numbers of a kind's genotypes, locus by locus.
    pub(super) fn numbers(&self, code: u64) -> impl Iterator<Item = u8> {
        self.loci.iter().map(move |locus| u8::try_from(locus.number(code)).unwrap_or(0))
    }

    /// The genotypes of a kind, at all loci of the species.
    pub(super) fn genotypes(&self, code: u64) -> Vec<(LocusId, Genotype)> {
        let varying = self.loci.iter().filter_map(|l| Some((l.id, *l.genotypes.get(l.number(code))?)));
        let all: BTreeMap<LocusId, Genotype> = varying.chain(self.fixed.iter().copied()).collect();
        all.into_iter().collect()
    }
}

/// Whether young of two such animals are all such animals.
fn is_plain(genetics: &Genetics, id: LocusId, genotype: Genotype) -> bool {
    !genotype.is_sided() && genetics.locus(id).is_some_and(|locus| !locus.is_lethal(genotype))
}

/// The possible genotypes of an animal at a locus, checked against the species.
fn genotypes_of(
    genetics: &Genetics,
    animal: usize,
    founder: &Animal,
    id: LocusId,
) -> Result<Vec<(Genotype, Odds)>, KindError> {
    let Some(belief) = founder.genome.get(id) else {
        return Ok(vec![(genetics.wild(id, founder.sex), sure())]);
    };
    for (genotype, _) in belief.genotypes() {
        let checked = genetics.check(id, founder.sex, genotype);
        checked.map_err(|why| KindError::Genotype { animal, locus: id, genotype, why })?;
    }
    Ok(belief.genotypes().map(|(genotype, chance)| (genotype, chance.clone())).collect())
}

fn number(
    genetics: &Genetics,
    id: LocusId,
    had: &BTreeSet<Genotype>,
    stride: u64,
    goal: &Wanted,
    tell: Tell,
) -> Result<KindLocus, KindError> {
    let alleles: BTreeSet<AlleleId> = had.iter().flat_map(|g| <[AlleleId; 2]>::from(g.alleles())).collect();
    let arises = |g: &Genotype| {
        let (a, b) = g.alleles();
        alleles.contains(&a) && alleles.contains(&b)
    };
    let genotypes: Vec<Genotype> = genetics.genotypes(id).filter(arises).collect();
    let n = genotypes.len();
    if n > MOST_GENOTYPES {
        return Err(KindError::TooManyGenotypes { locus: id, n });
    }
    let linked = genetics.linked() == Some(id);
    let wanted = genotypes.iter().map(|genotype| goal.counts(id, *genotype)).collect();
    let looks = looks(genetics, id, &genotypes);
    let mut locus = KindLocus { id, genotypes, stride, linked, wanted, looks, female: Vec::new(), male: Vec::new() };
    for sire in &locus.genotypes {
        for dam in &locus.genotypes {
            let pair = give(genetics, &locus, *sire, *dam, goal, tell);
            let [female, male] = pair.unwrap_or_default();
            locus.female.push(female);
            if linked {
                locus.male.push(male);
            }
        }
    }
    Ok(locus)
}

/// The looks of genotypes, each by the place of the first genotype that has it.
fn looks(genetics: &Genetics, id: LocusId, genotypes: &[Genotype]) -> Vec<u64> {
    let look = |genotype: &Genotype| genetics.locus(id).map(|locus| locus.look_of(*genotype));
    let first = |own: &Genotype| genotypes.iter().position(|other| look(other) == look(own));
    genotypes.iter().map(|genotype| first(genotype).unwrap_or(0) as u64).collect()
}

/// What two genotypes give to females and to males; `None` if these are no genotypes of a male and a female.
fn give(
    genetics: &Genetics,
    locus: &KindLocus,
    sire: Genotype,
    dam: Genotype,
    goal: &Wanted,
    tell: Tell,
) -> Option<[Give; 2]> {
    let of = |genotype| Genome::wild().with(locus.id, Belief::sure(genotype));
    let offspring = cross(genetics, &of(sire), &of(dam)).ok()?;
    let factor = offspring.factor(locus.id)?;
    let look = |genotype| factor.locus().look_of(genotype);
    let of_sex = |sex: Sex| {
        let cells: Vec<_> = factor.cells().iter().filter(|cell| cell.sex.is_none_or(|s| s == sex)).collect();
        let mut give = Give::default();
        for cell in &cells {
            let mut alike = cells.iter().filter(|other| look(other.genotype) == look(cell.genotype));
            let share = to_f64(&cell.weight);
            let (kept, wanted) = match tell {
                Tell::Genotype => (true, goal.counts(locus.id, cell.genotype)),
                Tell::Look => (alike.clone().count() == 1, alike.all(|other| goal.counts(locus.id, other.genotype))),
            };
            if kept && let Some(number) = locus.genotypes.iter().position(|g| *g == cell.genotype) {
                give.keepers.push(Child { code: number as u64 * locus.stride, share });
            }
            if wanted {
                give.wanted += share;
            }
        }
        // The likeliest first, so that a search that drops small shares can stop early.
        give.keepers.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.code.cmp(&b.code)));
        give
    };
    debug_assert!(*factor.lost() <= sure());
    Some([of_sex(Sex::Female), of_sex(Sex::Male)])
}
