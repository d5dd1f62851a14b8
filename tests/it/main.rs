//! Tests by user role and by source.

mod pairs;
#[cfg(feature = "discord")]
mod platform; // a stand-in of Discord for the real program // short words for the engine's tests

mod binomials; // a general statistics crate
mod castle_little_1910; // lethal yellow mice
mod catalogue;
mod clutch_mixing; // eggs of uncertain parents
mod common_practice; // what every breeder knows
mod corpus; // the labelled messages
mod enumeration; // the engine's slow twin
mod house; // the arrows between the rooms
mod json_lines; // damaged requests
mod label_passing; // "66 % het" and its like
mod member;
mod mendel_1866; // peas
mod morrill_2011; // ball python clutches
#[cfg(feature = "discord")]
mod on_discord; // the real program on the stand-in
mod partial_sex_linkage; // X and Y sides; white eyes
mod restating; // what is kept of a talk
mod sedcole_1977; // numbers needed
mod store; // the database, both kinds
mod test_mating; // exposing a carrier // odds in a chat // the gene files
