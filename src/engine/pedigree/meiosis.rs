//! What two genotypes give at one locus, in whole numbers over one denominator, lethal young left out.
//!
//! In: a locus and two genotypes. Out: each live young's genotype with its share. The sex of the young is in the
//! genotype where it matters: at the sex-linked locus one sex has sided genotypes.

use std::collections::HashMap;
use std::rc::Rc;

use num_bigint::BigUint;

use crate::engine::inheritance::cross::{Parent, gametes, join};
use crate::engine::inheritance::genotype::{Belief, Genotype};
use crate::engine::inheritance::locus::{Genetics, Locus, LocusId, SexLink};
use crate::engine::odds::Odds;

/// The young of pairs at one locus; pairs met before are remembered.
pub(super) struct Meiosis<'a> {
    genetics: &'a Genetics,
    locus: &'a Locus,
    /// Every share is a whole number over this.
    over: Odds,
    known: HashMap<(Genotype, Genotype), Litter>,
}

/// The live young of a pair, each genotype once, with whole numbers in proportion to their shares of all eggs.
pub(super) type Litter = Rc<[(Genotype, BigUint)]>;

impl<'a> Meiosis<'a> {
    /// `None` if there is no such locus.
    pub(super) fn new(genetics: &'a Genetics, id: LocusId) -> Option<Meiosis<'a>> {
        let locus = genetics.locus(id)?;
        // A coin for either parent, and where the sexes differ one more for the crossing over.
        let over = match locus.sex_link() {
            Some(SexLink::Recombining(r)) => Odds::from_integer(r.denom() * 4),
            _ => Odds::from_integer(4.into()),
        };
        Some(Meiosis { genetics, locus, over, known: HashMap::new() })
    }

    pub(super) fn locus(&self) -> &'a Locus {
        self.locus
    }

    /// How many bits a share takes.
    pub(super) fn bits(&self) -> u64 {
        self.over.numer().bits()
    }

    /// The live young of two genotypes, with their shares of all eggs.
    pub(super) fn shares(&mut self, sire: Genotype, dam: Genotype) -> Vec<(Genotype, Odds)> {
        let litter = self.litter(sire, dam);
        litter.iter().map(|(g, share)| (*g, Odds::from_integer(share.clone().into()) / &self.over)).collect()
    }

    /// The live young of two genotypes.
    pub(super) fn litter(&mut self, sire: Genotype, dam: Genotype) -> Litter {
        if let Some(known) = self.known.get(&(sire, dam)) {
            return Rc::clone(known);
        }
        let hetero = self.genetics.heterogametic();
        let of = |parent, genotype| gametes(self.locus, hetero, parent, &Belief::sure(genotype));
        let mut young: Vec<(Genotype, BigUint)> = Vec::with_capacity(4);
        for (_, genotype, weight) in join(&of(Parent::Sire, sire), &of(Parent::Dam, dam)) {
            let whole = (weight * &self.over).to_integer().magnitude().clone();
            if self.locus.is_lethal(genotype) {
                continue;
            }
            match young.iter_mut().find(|(g, _)| *g == genotype) {
                Some((_, sum)) => *sum += whole,
                None => young.push((genotype, whole)),
            }
        }
        let litter: Litter = young.into();
        self.known.insert((sire, dam), Rc::clone(&litter));
        litter
    }
}
