//! Hatchward: odds, plans and records for reptile breeders.
pub mod engine; // inheritance: no IO, no clock, no English
pub mod lines; // JSON lines for other programs
pub mod reading; // text to a request: no IO, no clock
pub mod species; // what is known of each species: genes, names, care numbers
