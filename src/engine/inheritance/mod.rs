//! One cross: loci, the genotypes of two parents, what each egg can become, what a clutch can hold.
//!
//! In: the loci of a species and two genomes. Out: exact chances. Reading order is the order below; start at [`cross::cross`].
//! Loci are unlinked with one another; the only linkage known is that of one locus with the sex.

pub mod clutch; // several eggs of one pair of parents
pub mod cross; // what a sire and a dam can give, one factor per locus
pub mod genotype; // the two alleles of an animal at a locus, and what is believed of them
pub mod locus; // a place on the genome: its alleles, what hides what, lethal pairs, the tie to the sex
mod needed;
pub mod outcomes; // the factors multiplied out lazily, most likely first // how often to try for a given certainty
