//! Loci: which alleles there are, what hides what, which genotypes are lost, how a locus is tied to the sex.
//!
//! In: rules. Out: [`Genetics`], checked once. Invariant: at most one locus is sex-linked, and only under a genetic sex.
//! Not here: what an animal carries (`genotype`).

use thiserror::Error;

use super::genotype::Genotype;
use crate::engine::odds::{self, Odds};

/// A locus: its index in [`Genetics`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LocusId(pub u16);

/// An allele of a locus: 0 is the wild type.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AlleleId(pub u8);

impl AlleleId {
    /// The wild type.
    pub const WILD: Self = Self(0);
    /// No allele: what the Y (or W) has at a locus that only the X (or Z) carries.
    pub const NONE: Self = Self(u8::MAX);
}

/// The sex of an animal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sex {
    /// A sire.
    Male,
    /// A dam.
    Female,
}

/// What decides the sex of an egg.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SexSystem {
    /// Males are XY, half of the eggs are male.
    Xy,
    /// Females are ZW, half of the eggs are male.
    Zw,
    /// No genes: temperature, say.
    Chance {
        /// The share of males, 0 to 1.
        male: Odds,
    },
}

impl SexSystem {
    /// The sex with two unlike sex chromosomes, if sex is genetic.
    #[must_use]
    pub fn heterogametic(&self) -> Option<Sex> {
        match self {
            Self::Xy => Some(Sex::Male),
            Self::Zw => Some(Sex::Female),
            Self::Chance { .. } => None,
        }
    }

    /// The share of males among eggs, exact.
    #[must_use]
    pub fn share_of_males(&self) -> Odds {
        match self {
            Self::Xy | Self::Zw => odds::half(),
            Self::Chance { male } => male.clone(),
        }
    }
}

/// How a locus sits on the sex chromosomes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SexLink {
    /// Both sex chromosomes carry the locus; the fraction is the recombination between it and the sex, 0 to 1/2.
    Recombining(Odds),
    /// Only the X (or Z) carries it.
    OnlyX,
}

/// What one copy of an allele beside the wild type shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mode {
    /// Nothing: one copy looks wild.
    Recessive,
    /// A look between: none, one and two copies are three looks.
    IncompleteDominant,
    /// All of it: one copy looks like two.
    Dominant,
}

/// A class of genotypes of one locus that cannot be told apart by eye.
///
/// It is the set of the alleles that show: one or two of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Look(AlleleId, AlleleId);

impl Look {
    /// The look of the wild type.
    pub const WILD: Self = Self(AlleleId::WILD, AlleleId::WILD);

    /// The alleles that show, each once, in the order of the locus.
    pub fn alleles(self) -> impl Iterator<Item = AlleleId> {
        std::iter::once(self.0).chain((self.1 != self.0).then_some(self.1))
    }
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Showing {
    /// Each allele but the wild one has its own mode beside the wild one; two alleles that are not wild both show.
    ByMode(Vec<Mode>),
    /// An allele hides all later ones.
    Series(u8),
}

/// A place on the genome: its alleles and their rules.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Locus {
    showing: Showing,
    lethal: Vec<Genotype>,
    sex_link: Option<SexLink>,
}

impl Locus {
    /// The most alleles of one locus, the wild type included.
    pub const MAX_ALLELES: usize = 64;

    /// A locus of the wild type and one allele per mode, in order: allele 1 has `modes[0]`.
    ///
    /// `+/a` looks like `+/+` if `a` is recessive, else it has a look of its own; `a/a` looks like `+/a` if `a` is dominant,
    /// else it has a look of its own; two different alleles that are not wild have a look of their own.
    /// More modes than [`Locus::MAX_ALLELES`] allows are refused by [`Genetics::new`].
    #[must_use]
    pub fn trade(modes: &[Mode]) -> Self {
        Self { showing: Showing::ByMode(modes.to_vec()), lethal: Vec::new(), sex_link: None }
    }

    /// A locus where each allele hides all later ones: `n_alleles` with the wild one.
    #[must_use]
    pub fn series(n_alleles: u8) -> Self {
        Self { showing: Showing::Series(n_alleles.max(1)), lethal: Vec::new(), sex_link: None }
    }

    /// The same with one more genotype whose eggs are lost.
    ///
    /// At a sex-linked locus `a/a` and `a|a` are two genotypes, of the two sexes: name both if both are lost.
    #[must_use]
    pub fn with_lethal(mut self, genotype: Genotype) -> Self {
        if !self.lethal.contains(&genotype) {
            self.lethal.push(genotype);
        }
        self
    }

    /// The same on the sex chromosomes.
    #[must_use]
    pub fn with_sex_link(mut self, link: SexLink) -> Self {
        self.sex_link = Some(link);
        self
    }

    /// How many alleles there are, the wild one included.
    #[must_use]
    pub fn n_alleles(&self) -> usize {
        match &self.showing {
            Showing::ByMode(modes) => modes.len() + 1,
            Showing::Series(n) => usize::from(*n),
        }
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

    /// How the locus sits on the sex chromosomes; `None` for an autosomal one.
    #[must_use]
    pub fn sex_link(&self) -> Option<&SexLink> {
        self.sex_link.as_ref()
    }

    /// What shows of a genotype. Sides do not show, nor does a missing allele.
    #[must_use]
    pub fn look_of(&self, genotype: Genotype) -> Look {
        let (a, b) = genotype.alleles();
        // NONE has the highest number, so it is always `high`.
        let (low, high) = (a.min(b), a.max(b));
        if high == AlleleId::NONE {
            return Look(low, low);
        }
        match &self.showing {
            Showing::Series(_) => Look(low, low),
            Showing::ByMode(modes) if low == AlleleId::WILD && high != AlleleId::WILD => {
                match modes.get(usize::from(high.0) - 1) {
                    Some(Mode::Recessive) => Look(low, low),
                    Some(Mode::Dominant) => Look(high, high),
                    Some(Mode::IncompleteDominant) | None => Look(low, high),
                }
            }
            Showing::ByMode(_) => Look(low, high),
        }
    }

    fn knows(&self, allele: AlleleId) -> bool {
        usize::from(allele.0) < self.n_alleles()
    }
}

/// What is wrong with a set of loci.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum GeneticsError {
    /// More loci than an index can number.
    #[error("{0} loci, at most {max} are possible", max = u16::MAX)]
    TooManyLoci(usize),
    /// More alleles than a locus may have.
    #[error("{n} alleles at locus {}, at most {max} are possible", .locus.0, max = Locus::MAX_ALLELES)]
    TooManyAlleles {
        /// The locus.
        locus: LocusId,
        /// How many it has.
        n: usize,
    },
    /// Two loci are tied to the sex.
    #[error("loci {} and {} are both sex-linked, one at most can be", .0.0, .1.0)]
    TwoSexLinked(LocusId, LocusId),
    /// A locus is tied to the sex where no chromosome decides it.
    #[error("locus {} is sex-linked where no chromosome decides the sex", .0.0)]
    NoGeneticSex(LocusId),
    /// A recombination fraction outside 0 to 1/2.
    #[error("a recombination of {r} at locus {}, it is within 0 and 1/2", .locus.0)]
    Recombination {
        /// The locus.
        locus: LocusId,
        /// The fraction given.
        r: Odds,
    },
    /// A share of males outside 0 to 1.
    #[error("a share of males of {0}, it is within 0 and 1")]
    ShareOfMales(Odds),
    /// A lethal genotype that nobody can have.
    #[error("the lethal genotype {genotype:?} cannot occur at locus {}", .locus.0)]
    Lethal {
        /// The locus.
        locus: LocusId,
        /// The genotype.
        genotype: Genotype,
    },
}

/// The loci of a species and what decides its sex. Loci are unlinked with one another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Genetics {
    loci: Vec<Locus>,
    sex: Option<SexSystem>,
}

impl Genetics {
    /// Checks loci and sex together. `sex` is `None` when it is not known or not of interest.
    ///
    /// # Errors
    /// [`GeneticsError`] for too many loci or alleles, two sex-linked loci, a sex-linked locus without sex chromosomes,
    /// fractions out of range, and lethal genotypes that cannot occur.
    pub fn new(loci: Vec<Locus>, sex: Option<SexSystem>) -> Result<Self, GeneticsError> {
        if loci.len() > usize::from(u16::MAX) {
            return Err(GeneticsError::TooManyLoci(loci.len()));
        }
        if let Some(SexSystem::Chance { male }) = &sex
            && !odds::is_chance(male)
        {
            return Err(GeneticsError::ShareOfMales(male.clone()));
        }
        let genetics = Self { loci, sex };
        let mut linked = None;
        for (id, locus) in genetics.ids() {
            if locus.n_alleles() > Locus::MAX_ALLELES {
                return Err(GeneticsError::TooManyAlleles { locus: id, n: locus.n_alleles() });
            }
            if let Some(link) = &locus.sex_link {
                if let Some(first) = linked.replace(id) {
                    return Err(GeneticsError::TwoSexLinked(first, id));
                }
                if genetics.sex.as_ref().and_then(SexSystem::heterogametic).is_none() {
                    return Err(GeneticsError::NoGeneticSex(id));
                }
                if let SexLink::Recombining(r) = link
                    && !(odds::is_chance(r) && *r <= odds::half())
                {
                    return Err(GeneticsError::Recombination { locus: id, r: r.clone() });
                }
            }
            let possible = |&g: &Genotype| [Sex::Male, Sex::Female].into_iter().any(|sex| genetics.fits(id, sex, g));
            if let Some(&genotype) = locus.lethal.iter().find(|g| !possible(g)) {
                return Err(GeneticsError::Lethal { locus: id, genotype });
            }
        }
        Ok(genetics)
    }

    /// The loci, by [`LocusId`].
    #[must_use]
    pub fn loci(&self) -> &[Locus] {
        &self.loci
    }

    /// The loci with their ids.
    pub fn ids(&self) -> impl Iterator<Item = (LocusId, &Locus)> {
        (0..=u16::MAX).map(LocusId).zip(&self.loci)
    }

    /// One locus; `None` if there is none of this id.
    #[must_use]
    pub fn locus(&self, id: LocusId) -> Option<&Locus> {
        self.loci.get(usize::from(id.0))
    }

    /// What decides the sex.
    #[must_use]
    pub fn sex(&self) -> Option<&SexSystem> {
        self.sex.as_ref()
    }

    /// The locus tied to the sex, if there is one.
    #[must_use]
    pub fn sex_linked(&self) -> Option<LocusId> {
        self.ids().find(|(_, locus)| locus.sex_link.is_some()).map(|(id, _)| id)
    }

    /// Whether an animal of this sex writes its genotype at this locus with sides (`x|y`).
    #[must_use]
    pub fn is_sided(&self, id: LocusId, sex: Sex) -> bool {
        self.locus(id).is_some_and(|locus| locus.sex_link.is_some())
            && self.sex.as_ref().and_then(SexSystem::heterogametic) == Some(sex)
    }

    /// The genotype of a wild animal of this sex.
    #[must_use]
    pub fn wild(&self, id: LocusId, sex: Sex) -> Genotype {
        if !self.is_sided(id, sex) {
            return Genotype::WILD;
        }
        match self.locus(id).and_then(Locus::sex_link) {
            Some(SexLink::OnlyX) => Genotype::sided(AlleleId::WILD, AlleleId::NONE),
            _ => Genotype::sided(AlleleId::WILD, AlleleId::WILD),
        }
    }

    /// Whether an animal of this sex can have this genotype at this locus.
    #[must_use]
    pub fn fits(&self, id: LocusId, sex: Sex, genotype: Genotype) -> bool {
        let Some(locus) = self.locus(id) else { return false };
        let (first, second) = genotype.alleles();
        let second_fits = match locus.sex_link {
            Some(SexLink::OnlyX) if genotype.is_sided() => second == AlleleId::NONE,
            _ => locus.knows(second),
        };
        genotype.is_sided() == self.is_sided(id, sex) && locus.knows(first) && second_fits
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const A: AlleleId = AlleleId(1);
    const B: AlleleId = AlleleId(2);

    fn looks(locus: &Locus) -> [Look; 4] {
        [(AlleleId::WILD, AlleleId::WILD), (AlleleId::WILD, A), (A, A), (A, B)]
            .map(|(a, b)| locus.look_of(Genotype::pair(a, b)))
    }

    #[test]
    fn each_mode_hides_what_it_should() {
        let wild = Look::WILD;
        let (het, pure, both) = (Look(AlleleId::WILD, A), Look(A, A), Look(A, B));
        assert_eq!(looks(&Locus::trade(&[Mode::Recessive; 2])), [wild, wild, pure, both]);
        assert_eq!(looks(&Locus::trade(&[Mode::Dominant; 2])), [wild, pure, pure, both]);
        assert_eq!(looks(&Locus::trade(&[Mode::IncompleteDominant; 2])), [wild, het, pure, both]);
        assert_eq!(looks(&Locus::series(3)), [wild, wild, pure, pure]);
    }

    #[test]
    fn a_missing_allele_does_not_show() {
        let locus = Locus::trade(&[Mode::Recessive]).with_sex_link(SexLink::OnlyX);
        assert_eq!(locus.look_of(Genotype::sided(A, AlleleId::NONE)), Look(A, A));
    }

    #[test]
    fn refuses_what_cannot_be() {
        let linked = || Locus::trade(&[Mode::Dominant]).with_sex_link(SexLink::OnlyX);
        let new = |loci, sex| Genetics::new(loci, sex).unwrap_err();
        assert_eq!(
            new(vec![linked(), linked()], Some(SexSystem::Xy)),
            GeneticsError::TwoSexLinked(LocusId(0), LocusId(1))
        );
        assert_eq!(new(vec![linked()], None), GeneticsError::NoGeneticSex(LocusId(0)));
        let by_heat = SexSystem::Chance { male: odds::half() };
        assert_eq!(new(vec![linked()], Some(by_heat)), GeneticsError::NoGeneticSex(LocusId(0)));
        let r = odds::odds(3, 5);
        let far = Locus::trade(&[Mode::Dominant]).with_sex_link(SexLink::Recombining(r.clone()));
        assert_eq!(new(vec![far], Some(SexSystem::Zw)), GeneticsError::Recombination { locus: LocusId(0), r });
        let genotype = Genotype::pair(B, B);
        let lethal = Locus::trade(&[Mode::Dominant]).with_lethal(genotype);
        assert_eq!(new(vec![lethal], None), GeneticsError::Lethal { locus: LocusId(0), genotype });
    }
}
