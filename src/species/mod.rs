//! What is known of each species: genes, alleles, names, cautions and care numbers.
pub mod entries; // the catalogue files as they are written
