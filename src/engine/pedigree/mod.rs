//! Pedigrees: who carries what given everything that hatched, and who is related to whom.
//!
//! In: a species' genetics and what is known of animals and clutches. Out: chances and coefficients of relationship.
//! Start at [`evidence::weigh`] and [`kinship::relate`].

pub mod clash; // the fewest records that cannot all be true
pub mod descent; // who descends from whom, checked
pub mod evidence; // what every animal carries, given everything
pub mod kinship; // relationship and inbreeding
pub mod outlook; // what a pair would give, and what its young would tell
pub mod records; // what is known of animals and clutches, as stated

mod elimination; // sums over all cases of a network of small tables
mod genotypes; // what everybody may have at a locus
mod meiosis; // what two genotypes give
mod network; // the unknowns of a collection and the tables between them
mod order; // in which order to sum, and what it costs
mod sampler; // where a network is too wide to be summed
mod weight; // exact and floating-point numbers to weigh cases with
