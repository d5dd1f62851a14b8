//! The machine interfaces: JSON lines in, JSON lines out, for tests, other programs and bulk work.
//!
//! One line in, one line out, same order. A line that makes no sense is answered with `{"id":…,"error":"what and where"}`.
//! The types of the core do not derive `Serialize`; each face has its own types here.

mod animals; // the animals of a request: ids, parents, sexes
mod cross; // the answer to a cross
pub mod engine; // the engine's requests: a cross, with everything it needs in the line
mod herd; // what requests for plans share: animals, goals, seasons, money
mod kinship; // the answer to a question of relationship
mod parts; // what requests share: numbers, loci, genotypes, sexes, clutches
mod posterior; // the answer to a weighing of evidence
mod project; // the answer to a project
pub mod reading; // `hatchward read --json`, `hatchward odds --json`
pub mod reply; // `ask --json`, `chat --json`
mod route; // the answer to a route
