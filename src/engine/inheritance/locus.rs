//! Loci: alleles, what shows, what is lethal, what is linked with the sex.
//!
//! In: modes of inheritance. Out: a [`Locus`]; a species' set of them is checked in `genetics`.
//! Allele 0 is the wild type everywhere. Not here: names (the engine knows numbers only).

use super::genotype::Genotype;
use crate::engine::odds::Odds;

pub use super::genetics::{Genetics, GeneticsError, GenotypeError, SexSystem};

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

#[cfg(test)]
mod tests {
    use super::*;

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
}
