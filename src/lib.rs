//! Hatchward: exact odds of a pairing, asked the way reptile breeders write.
//!
//! A message goes down once and comes back up once: chat → conversation → reading → engine → reply → chat.
//! Nothing below `conversation` knows which chat it is in; nothing in `engine` knows that there is a chat.
//! The arrows point down this list: what stands above may use what stands below.

pub mod chat; // the fronts: the terminal, Discord
pub mod collection; // each keeper's animals, and the database they are kept in
pub mod conversation; // one turn: what was said, to a reply
pub mod engine; // the mathematics of inheritance: no IO, no clock, no English
pub mod explanations; // topics, cards, and a community's own words for them
pub mod folders; // where the user's data and settings are, for `main`
pub mod lines; // JSON lines for other programs
pub mod reading; // text to a request: no IO, no clock
pub mod reply; // a reply is data; how it looks as text
pub mod settings; // what an operator may set: used by `main`, handed down
pub mod species; // what is known of each species: genes, names, cautions
#[cfg(feature = "discord")]
pub mod upkeep; // what runs by itself: the log, health, retention
