//! Tests by user role and by source.

mod castle_little_1910; // a lethal genotype
mod clutch_mixing; // uncertain parents of a whole clutch
mod corpus;
mod engine_properties; // against an enumeration of every egg
mod house;
mod label_passing; // what the normal-looking carry
mod member;
mod mendel_1866; // ratios
mod morrill_2011; // clutch sizes
mod numbers_needed; // eggs for a given certainty
mod pairs; // short ways to write a cross
mod partial_sex_linkage; // the sex and a locus on its chromosomes
mod test_mating; // exposing a carrier
