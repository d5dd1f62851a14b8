//! Genetics: all loci of a species and what decides the sex, checked against each other once and trusted afterwards.
//!
//! In: [`Locus`]es and a [`SexSystem`]. Out: [`Genetics`]. Invariant: at most one locus is linked with the sex, and only
//! where chromosomes decide it; every lethal genotype fits its locus. Not here: what one locus shows (`locus`).

use thiserror::Error;

use super::genotype::Genotype;
use super::locus::{AlleleId, Locus, LocusId, Sex, SexLink};
use crate::engine::odds::{Odds, half, none, sure};

/// What decides the sex of the young.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SexSystem {
    /// Males have two different sex chromosomes.
    Xy,
    /// Females have two different sex chromosomes.
    Zw,
    /// The temperature of the eggs does, or another thing outside the genes.
    Chance {
        /// The share of males, within `0..=1`.
        male: Odds,
    },
}

/// All loci of a species, and what decides the sex.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Genetics {
    loci: Vec<Locus>,
    sex: Option<SexSystem>,
    linked: Option<LocusId>,
}

impl Genetics {
    /// Checks loci and sexes against each other. `sex` is `None` where nothing is known of it.
    ///
    /// # Errors
    /// [`GeneticsError`]: which locus does not fit, and why.
    pub fn new(loci: Vec<Locus>, sex: Option<SexSystem>) -> Result<Genetics, GeneticsError> {
        if loci.len() > usize::from(u16::MAX) {
            return Err(GeneticsError::TooManyLoci { n: loci.len() });
        }
        if let Some(SexSystem::Chance { male }) = &sex
            && (*male < none() || *male > sure())
        {
            return Err(GeneticsError::NotAShare { male: male.clone() });
        }
        let mut linked = None;
        for (id, locus) in (0..).map(LocusId).zip(&loci) {
            if locus.n_alleles() == 0 || locus.n_alleles() > AlleleId::MOST {
                return Err(GeneticsError::Alleles { locus: id, n: locus.n_alleles() });
            }
            if let Some(link) = locus.sex_link() {
                if !matches!(sex, Some(SexSystem::Xy | SexSystem::Zw)) {
                    return Err(GeneticsError::NoSexChromosomes { locus: id });
                }
                if let Some(first) = linked.replace(id) {
                    return Err(GeneticsError::TwoSexLinked { first, second: id });
                }
                if let SexLink::Recombining(r) = link
                    && (*r < none() || *r > half())
                {
                    return Err(GeneticsError::Recombination { locus: id, r: r.clone() });
                }
            }
        }
        let genetics = Genetics { loci, sex, linked };
        for (id, locus) in (0..).map(LocusId).zip(&genetics.loci) {
            for &genotype in locus.lethal() {
                let fits = [Sex::Male, Sex::Female].iter().any(|&sex| genetics.check(id, sex, genotype).is_ok());
                if !fits {
                    return Err(GeneticsError::Lethal { locus: id, genotype });
                }
            }
        }
        Ok(genetics)
    }

    /// The loci; a [`LocusId`] is a position here.
    #[must_use]
    pub fn loci(&self) -> &[Locus] {
        &self.loci
    }

    /// One locus, if there is one of this number.
    #[must_use]
    pub fn locus(&self, id: LocusId) -> Option<&Locus> {
        self.loci.get(usize::from(id.0))
    }

    /// What decides the sex, if that is known.
    #[must_use]
    pub fn sex(&self) -> Option<&SexSystem> {
        self.sex.as_ref()
    }

    /// The locus on the sex chromosomes, if there is one.
    #[must_use]
    pub fn linked(&self) -> Option<LocusId> {
        self.linked
    }

    /// The sex with two different sex chromosomes.
    #[must_use]
    pub fn heterogametic(&self) -> Option<Sex> {
        match self.sex {
            Some(SexSystem::Xy) => Some(Sex::Male),
            Some(SexSystem::Zw) => Some(Sex::Female),
            _ => None,
        }
    }

    /// The share of males among eggs; half where chromosomes decide, `None` where nothing is known.
    #[must_use]
    pub fn male_share(&self) -> Option<Odds> {
        self.sex.as_ref().map(|system| match system {
            SexSystem::Xy | SexSystem::Zw => half(),
            SexSystem::Chance { male } => male.clone(),
        })
    }

    /// Whether animals of this sex have sided genotypes at this locus.
    #[must_use]
    pub fn is_sided(&self, id: LocusId, sex: Sex) -> bool {
        self.linked == Some(id) && self.heterogametic() == Some(sex)
    }

    /// The genotype of an animal of which nothing is said at this locus.
    #[must_use]
    pub fn wild(&self, id: LocusId, sex: Sex) -> Genotype {
        match self.locus(id).and_then(Locus::sex_link) {
            Some(SexLink::OnlyX) if self.is_sided(id, sex) => Genotype::sided(AlleleId::WILD, AlleleId::NONE),
            Some(SexLink::Recombining(_)) if self.is_sided(id, sex) => Genotype::sided(AlleleId::WILD, AlleleId::WILD),
            _ => Genotype::pair(AlleleId::WILD, AlleleId::WILD),
        }
    }

    /// Whether an animal of this sex can have this genotype at this locus.
    ///
    /// # Errors
    /// [`GenotypeError`]: what does not fit.
    pub fn check(&self, id: LocusId, sex: Sex, genotype: Genotype) -> Result<(), GenotypeError> {
        let locus = self.locus(id).ok_or(GenotypeError::UnknownLocus)?;
        if genotype.is_sided() != self.is_sided(id, sex) {
            return Err(GenotypeError::Sides { sided: genotype.is_sided() });
        }
        let (a, b) = genotype.alleles();
        let only_x = genotype.is_sided() && matches!(locus.sex_link(), Some(SexLink::OnlyX));
        let known = |allele: AlleleId| usize::from(allele.0) < locus.n_alleles();
        if !known(a) {
            return Err(GenotypeError::Allele { allele: a });
        }
        if only_x != (b == AlleleId::NONE) || !only_x && !known(b) {
            return Err(GenotypeError::Allele { allele: b });
        }
        Ok(())
    }

    /// Every genotype that an animal of either sex can have at a locus; none for a locus there is not.
    pub fn genotypes(&self, id: LocusId) -> impl Iterator<Item = Genotype> {
        let n = self.locus(id).map_or(0, Locus::n_alleles);
        let alleles = move || (0..u8::MAX).take(n).map(AlleleId);
        let pairs = alleles().flat_map(move |a| alleles().filter(move |b| *b >= a).map(move |b| Genotype::pair(a, b)));
        let link = self.locus(id).and_then(Locus::sex_link);
        let n_sides = if link.is_some() { n } else { 0 };
        let bare = matches!(link, Some(SexLink::OnlyX));
        let sided = alleles().take(n_sides).flat_map(move |a| {
            let ys: Vec<AlleleId> = if bare { vec![AlleleId::NONE] } else { alleles().collect() };
            ys.into_iter().map(move |b| Genotype::sided(a, b))
        });
        pairs.chain(sided)
    }
}

/// Why loci and sexes do not make a species.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum GeneticsError {
    /// More loci than there are numbers for.
    #[error("{n} loci are too many, at most 65535")]
    TooManyLoci {
        /// How many were given.
        n: usize,
    },
    /// No allele, or more than there are numbers for.
    #[error("locus {} has {n} alleles, allowed are 1 to 255", locus.0)]
    Alleles {
        /// Where.
        locus: LocusId,
        /// How many were given.
        n: usize,
    },
    /// A sex-linked locus, but chromosomes do not decide the sex.
    #[error("locus {} is sex-linked, which takes XY or ZW sexes", locus.0)]
    NoSexChromosomes {
        /// Where.
        locus: LocusId,
    },
    /// Two loci on the sex chromosomes; their own linkage is not modelled.
    #[error("loci {} and {} are both sex-linked, at most one may be", first.0, second.0)]
    TwoSexLinked {
        /// The one.
        first: LocusId,
        /// The other.
        second: LocusId,
    },
    /// A recombination outside `0..=1/2`.
    #[error("locus {}: a recombination of {r} is not within 0 and 1/2", locus.0)]
    Recombination {
        /// Where.
        locus: LocusId,
        /// What was given.
        r: Odds,
    },
    /// A share of males outside `0..=1`.
    #[error("a share of males of {male} is not within 0 and 1")]
    NotAShare {
        /// What was given.
        male: Odds,
    },
    /// A lethal genotype that no animal can have.
    #[error("locus {}: no animal can have the lethal genotype {genotype}", locus.0)]
    Lethal {
        /// Where.
        locus: LocusId,
        /// What was given.
        genotype: Genotype,
    },
}

/// Why an animal cannot have a genotype.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum GenotypeError {
    /// There is no such locus.
    #[error("there is no such locus")]
    UnknownLocus,
    /// There is no such allele there.
    #[error("there is no allele {} there", allele.0)]
    Allele {
        /// The allele.
        allele: AlleleId,
    },
    /// Sides were given where there are none, or none where they are needed.
    #[error("{}", if *sided { "this animal has no X and Y (Z and W) side there" } else { "X and Y (Z and W) sides are needed there" })]
    Sides {
        /// Whether sides were given.
        sided: bool,
    },
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::inheritance::locus::Mode;
    use crate::engine::odds::odds;

    #[test]
    fn what_is_no_species_is_refused() {
        let plain = || Locus::trade(&[Mode::Recessive]);
        let linked = || plain().with_sex_link(SexLink::OnlyX);
        let refused = |loci, sex| Genetics::new(loci, sex).unwrap_err();
        assert_eq!(refused(vec![linked()], None), GeneticsError::NoSexChromosomes { locus: LocusId(0) });
        assert_eq!(
            refused(vec![linked(), plain(), linked()], Some(SexSystem::Zw)),
            GeneticsError::TwoSexLinked { first: LocusId(0), second: LocusId(2) }
        );
        let far = plain().with_sex_link(SexLink::Recombining(odds(3, 5)));
        assert!(matches!(refused(vec![far], Some(SexSystem::Xy)), GeneticsError::Recombination { .. }));
        let share = SexSystem::Chance { male: odds(-1, 5) };
        assert!(matches!(refused(vec![], Some(share)), GeneticsError::NotAShare { .. }));
        assert!(matches!(refused(vec![Locus::series(0)], None), GeneticsError::Alleles { n: 0, .. }));
        assert!(matches!(refused(vec![Locus::series(256)], None), GeneticsError::Alleles { n: 256, .. }));
        let lethal = plain().with_lethal(Genotype::pair(AlleleId(0), AlleleId(2)));
        assert!(matches!(refused(vec![lethal], None), GeneticsError::Lethal { .. }));
        assert!(matches!(refused(vec![plain(); 65_536], None), GeneticsError::TooManyLoci { n: 65_536 }));
    }

    #[test]
    fn all_genotypes_of_a_locus_fit_one_sex() {
        for (link, n) in [(None, 6), (Some(SexLink::OnlyX), 9), (Some(SexLink::Recombining(odds(1, 9))), 15)] {
            let locus = Locus::series(3);
            let locus = match link {
                Some(link) => locus.with_sex_link(link),
                None => locus,
            };
            let genetics = Genetics::new(vec![locus], Some(SexSystem::Xy)).unwrap();
            let all: Vec<Genotype> = genetics.genotypes(LocusId(0)).collect();
            assert_eq!(all.len(), n);
            let fits = |g, sex| genetics.check(LocusId(0), sex, g).is_ok();
            assert!(all.iter().all(|&g| fits(g, Sex::Male) || fits(g, Sex::Female)));
            assert!(all.contains(&genetics.wild(LocusId(0), Sex::Male)));
        }
    }
}
