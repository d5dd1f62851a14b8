//! The mathematics of inheritance: no IO, no clock, no random source, no database, no English word.
//!
//! In: loci, genomes and wishes. Out: exact chances ([`odds::Odds`]).
//! Start at [`inheritance::cross::cross`]. Not here: names of genes (`species`), words of people (`reading`).

pub mod inheritance; // loci, genotypes, crosses, outcomes, clutches
pub mod odds; // exact fractions
pub mod pedigree; // who carries what, who is related to whom
pub mod planning; // routes to a goal
