//! Plans: from animals and a goal to steps, seasons and chances.
//!
//! In: a species' genetics, animals, a goal, husbandry as numbers. Out: routes (what leads to the goal, how fast, for
//! what money). No clock and no random source: a search asks its caller whether to go on.
//! Start at [`route::plan`].

pub mod holdback; // which young and old to keep
mod kinds; // genotypes in numbers, and what two kinds give
mod laying; // clutches: the chance of none, how many it takes
pub mod project; // what happens under chance
pub mod route; // the least-time routes for each amount of money
pub mod season; // who goes to whom this season

use crate::engine::inheritance::genotype::Genome;
use crate::engine::inheritance::locus::Sex;

/// How the genotype of a young is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Tell {
    /// It is known when the young hatches.
    Genotype,
    /// Only its look is seen.
    Look,
}

/// Seasons from hatching until an animal can be paired.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Maturity {
    /// Of females.
    pub female: u32,
    /// Of males.
    pub male: u32,
}

impl Maturity {
    /// Of one sex.
    #[must_use]
    pub fn of(self, sex: Sex) -> u32 {
        match sex {
            Sex::Female => self.female,
            Sex::Male => self.male,
        }
    }
}

/// An animal one can breed from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Animal {
    /// Its genotypes; loci not listed are wild.
    pub genome: Genome,
    /// Its sex.
    pub sex: Sex,
    /// Seasons until it can be paired; 0 is this season.
    pub ready: u32,
}
