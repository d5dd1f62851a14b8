//! The keepers' collections: what is kept of each animal, and where it is kept.
//!
//! May touch: `reading`, `species`, `engine`. Never: a chat, a sentence of the talk.
//! Start at [`store::Store::open`].

pub mod store; // Postgres: a server's, or one inside the program
