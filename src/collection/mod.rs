//! The keepers' collections: what is kept of each animal, what follows from it, and where it is kept.
//!
//! In: records that were read from messages or files. Out: a [`herd::Herd`], everything of one keeper, from which
//! questions are answered without a database; [`change::Change`]s, which the [`store::Store`] saves whole or not at all.
//! May touch: `reading`, `species`, `engine`. Never: a chat, a sentence of the talk.
//! Invariant: what is impossible of an animal (`rules`) is not saved; young have the genes that their parents and their
//! look leave them (`inherit`).
//! The types here are also the rows of the database: their fields have the columns' names, and values that have a form
//! check it on the way in.

pub mod animal; // one animal
pub mod calendar; // when it lays, when they hatch: dates from signs
pub mod change; // rows to be saved together
pub mod demo; // an invented community
pub mod events; // what happens to animals: weights, meals, signs, meetings, clutches
pub mod evidence; // what all records together say of every animal
pub mod files; // a collection out to a file, and in from one
pub mod genes; // beliefs to and from the reader's and the engine's animals
pub mod herd; // everything of one keeper, and finding in it
pub mod inherit; // what young have from their parents and their look
pub mod kin; // how two animals are related
pub mod name; // names and other short texts
pub mod place; // where a keeper is
pub mod reminder; // what a keeper wants to hear again, and when
pub mod rules; // what cannot be
pub mod store; // Postgres: a server's, or one inside the program
