//! Loci: alleles, what shows, what is lethal, what is linked with the sex; and a species' set of them.
//!
//! In: modes of inheritance. Out: [`Genetics`], checked once and trusted afterwards.
//! Allele 0 is the wild type everywhere. Not here: names (the engine knows numbers only).

use thiserror::Error;

use super::genotype::Genotype;
use crate::engine::odds::{Odds, half, none, sure};

/// A place on the genome: its position in [`Genetics::loci`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LocusId(pub u16);

/// A variant at a locus; 0 is the wild type.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AlleleId(pub u8);

impl AlleleId {
    /// The wild type.
    pub const WILD: AlleleId = AlleleId(0);
    /// No allele at all: the Y (W) side where only the X (Z) carries the locus.
    pub const NONE: AlleleId = AlleleId(u8::MAX);
    /// The most alleles a locus may have; the one number left is [`AlleleId::NONE`].
    pub const MOST: usize = u8::MAX as usize;
}

/// The sex of an animal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sex {
    /// A female.
    Female,
    /// A male.
    Male,
}

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

/// How a locus on the sex chromosomes is passed on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SexLink {
    /// Both sex chromosomes carry the locus; this is its recombination with the sex, within `0..=1/2`.
    Recombining(Odds),
    /// The Y (W) does not carry the locus.
    OnlyX,
}

/// What one allele does beside the wild type.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Mode {
    /// One copy does not show.
    Recessive,
    /// One copy shows, two copies look different from one.
    IncompleteDominant,
    /// One copy shows, two copies look the same as one.
    Dominant,
}

/// What one can see of a locus: the alleles that show, one or two, in order.
///
/// Two genotypes of a locus cannot be told apart exactly when their looks are equal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Look {
    first: AlleleId,
    second: AlleleId, // equal to `first` when one allele shows
}

impl Look {
    /// The look of an animal that shows nothing here.
    pub const WILD: Look = Look { first: AlleleId::WILD, second: AlleleId::WILD };

    fn one(allele: AlleleId) -> Look {
        Look { first: allele, second: allele }
    }

    /// The alleles that show, each once, in the order of their numbers.
    pub fn alleles(self) -> impl Iterator<Item = AlleleId> {
        [Some(self.first), (self.second != self.first).then_some(self.second)].into_iter().flatten()
    }

    /// Whether nothing but the wild type shows.
    #[must_use]
    pub fn is_wild(self) -> bool {
        self == Look::WILD
    }
}

/// Which alleles hide which.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Shows {
    /// Each allele by its mode against the wild type; two that are not wild both show.
    Modes(Vec<Mode>),
    /// Each allele hides all later ones; so many alleles in all.
    Series(usize),
}

/// A place on the genome with its alleles.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Locus {
    shows: Shows,
    lethal: Vec<Genotype>,
    sex_link: Option<SexLink>,
}

impl Locus {
    /// A locus by the modes of its alleles against the wild type, from allele 1 on.
    ///
    /// `+/a` looks wild if `a` is recessive and like `a/a` if it is dominant; two different alleles that are
    /// not wild have a look of their own.
    #[must_use]
    pub fn trade(modes: &[Mode]) -> Locus {
        Locus { shows: Shows::Modes(modes.to_vec()), lethal: Vec::new(), sex_link: None }
    }

    /// A locus of `n_alleles` in which each allele hides all later ones: the wild type hides everything.
    #[must_use]
    pub fn series(n_alleles: usize) -> Locus {
        Locus { shows: Shows::Series(n_alleles), lethal: Vec::new(), sex_link: None }
    }

    /// The same locus, with eggs of this genotype lost. Sided and plain genotypes are different genotypes.
    #[must_use]
    pub fn with_lethal(mut self, genotype: Genotype) -> Locus {
        self.lethal.push(genotype);
        self
    }

    /// The same locus, on the sex chromosomes.
    #[must_use]
    pub fn with_sex_link(mut self, link: SexLink) -> Locus {
        self.sex_link = Some(link);
        self
    }

    /// How many alleles there are, the wild type included.
    #[must_use]
    pub fn n_alleles(&self) -> usize {
        match &self.shows {
            Shows::Modes(modes) => modes.len() + 1,
            Shows::Series(n) => *n,
        }
    }

    /// How the locus follows the sex, if it does.
    #[must_use]
    pub fn sex_link(&self) -> Option<&SexLink> {
        self.sex_link.as_ref()
    }

    /// Whether eggs of this genotype are lost.
    #[must_use]
    pub fn is_lethal(&self, genotype: Genotype) -> bool {
        self.lethal.contains(&genotype)
    }

    /// The genotypes whose eggs are lost.
    #[must_use]
    pub fn lethal(&self) -> &[Genotype] {
        &self.lethal
    }

    /// The mode of an allele against the wild type; `None` for the wild type, in a series, and for an allele there is not.
    #[must_use]
    pub fn mode(&self, allele: AlleleId) -> Option<Mode> {
        match &self.shows {
            Shows::Modes(modes) => modes.get(usize::from(allele.0).checked_sub(1)?).copied(),
            Shows::Series(_) => None,
        }
    }

    /// What shows of a genotype. An allele alone on the X (Z) always shows.
    #[must_use]
    pub fn look_of(&self, genotype: Genotype) -> Look {
        let (a, b) = genotype.alleles();
        let (low, high) = (a.min(b), a.max(b));
        if low == high || high == AlleleId::NONE || matches!(self.shows, Shows::Series(_)) {
            return Look::one(low);
        }
        match self.mode(high) {
            Some(Mode::Recessive) if low == AlleleId::WILD => Look::WILD,
            Some(Mode::Dominant) if low == AlleleId::WILD => Look::one(high),
            _ => Look { first: low, second: high },
        }
    }
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
            if let Some(link) = &locus.sex_link {
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
            for &genotype in &locus.lethal {
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
        let only_x = genotype.is_sided() && matches!(locus.sex_link, Some(SexLink::OnlyX));
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
    use crate::engine::odds::odds;

    const A: u8 = 1;
    const B: u8 = 2;

    /// The looks of `+/+`, `+/a`, `a/a` and `a/b`, in allele numbers.
    fn looks(locus: &Locus) -> [Vec<u8>; 4] {
        [(0, 0), (0, A), (A, A), (A, B)].map(|(a, b)| {
            let look = locus.look_of(Genotype::pair(AlleleId(a), AlleleId(b)));
            look.alleles().map(|allele| allele.0).collect()
        })
    }

    #[test]
    fn one_mode_for_a_whole_locus() {
        use Mode::{Dominant, IncompleteDominant, Recessive};
        let looks_of = |mode| looks(&Locus::trade(&[mode, mode]));
        assert_eq!(looks_of(Recessive), [vec![0], vec![0], vec![A], vec![A, B]]);
        assert_eq!(looks_of(Dominant), [vec![0], vec![A], vec![A], vec![A, B]]);
        assert_eq!(looks_of(IncompleteDominant), [vec![0], vec![0, A], vec![A], vec![A, B]]);
        assert_eq!(looks(&Locus::series(3)), [vec![0], vec![0], vec![A], vec![A]]);
    }

    #[test]
    fn each_allele_by_its_own_mode() {
        let complex = Locus::trade(&[Mode::Recessive, Mode::IncompleteDominant, Mode::Dominant]);
        let same = |x: (u8, u8), y: (u8, u8)| {
            let look = |g: (u8, u8)| complex.look_of(Genotype::pair(AlleleId(g.0), AlleleId(g.1)));
            look(x) == look(y)
        };
        assert!(same((0, 1), (0, 0)) && !same((1, 1), (0, 0)));
        assert!(!same((0, 2), (0, 0)) && !same((2, 2), (0, 2)));
        assert!(!same((0, 3), (0, 0)) && same((3, 3), (0, 3)));
        for single in [(0, 0), (0, 2), (0, 3), (1, 1), (2, 2), (3, 3)] {
            assert!(!same((1, 2), single) && !same((1, 3), single) && !same((2, 3), single));
        }
    }

    #[test]
    fn sides_do_not_show_but_a_lone_allele_does() {
        let locus = Locus::trade(&[Mode::Recessive]);
        let look = |x, y| locus.look_of(Genotype::sided(x, y));
        assert_eq!(look(AlleleId(1), AlleleId(0)), Look::WILD);
        assert_eq!(look(AlleleId(0), AlleleId(1)), Look::WILD);
        assert_eq!(look(AlleleId(1), AlleleId::NONE), look(AlleleId(1), AlleleId(1)));
        assert!(look(AlleleId(0), AlleleId::NONE).is_wild());
    }

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
            let mut locus = Locus::series(3);
            locus.sex_link = link;
            let genetics = Genetics::new(vec![locus], Some(SexSystem::Xy)).unwrap();
            let all: Vec<Genotype> = genetics.genotypes(LocusId(0)).collect();
            assert_eq!(all.len(), n);
            let fits = |g, sex| genetics.check(LocusId(0), sex, g).is_ok();
            assert!(all.iter().all(|&g| fits(g, Sex::Male) || fits(g, Sex::Female)));
            assert!(all.contains(&genetics.wild(LocusId(0), Sex::Male)));
        }
    }
}
