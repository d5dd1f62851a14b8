//! The machine interfaces: JSON lines in, JSON lines out, for tests, other programs and bulk work.
//!
//! One line in, one line out, same order. A line that makes no sense is answered with `{"id":…,"error":"what and where"}`.
//! The types of the core do not derive `Serialize`; each face has its own types here.

pub mod engine; // `hatchward engine --json`
pub mod reading; // `hatchward read --json`, `hatchward odds --json`
