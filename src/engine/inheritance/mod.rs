//! One cross: what a sire and a dam can give, per egg and per clutch, exactly.
//!
//! In: a species' [`locus::Genetics`] and two [`genotype::Genome`]s. Out: fractions ([`super::odds::Odds`]).
//! Loci are taken as unlinked, except for one locus that may be linked with the sex. Start at [`cross::cross`].

pub mod chances; // what counts per egg, mixed over the parents
pub mod clutch; // eggs and clutches of the same two parents
pub mod cross; // gametes and the offspring, one factor a locus
pub mod genetics; // all loci of a species, checked against each other and the sexes
pub mod genotype; // a pair of alleles, what is believed of it, all loci of an animal
pub mod locus; // alleles, what shows, what is lethal, what is linked with the sex
pub mod outcomes; // the product of the factors, best first, by genotype or by look
pub(super) mod tries; // how many tries a wanted certainty takes
mod wanted; // which young count (its types are the clutch's: `clutch::Wanted`)
