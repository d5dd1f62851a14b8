//! Hatchward: exact odds of a pairing, asked the way reptile breeders write.
//!
//! A message goes down once and comes back up once: chat → conversation → reading → engine → reply → chat.
//! Nothing below `conversation` knows which chat it is in; nothing in `engine` knows that there is a chat.
//! The arrows point down this list: what stands above may use what stands below.

pub mod chat; // the fronts: the terminal, and lines for other programs
pub mod collection; // each keeper's animals, and the database they are kept in
pub mod conversation; // one turn: what was said, to a reply
pub mod engine; // the mathematics of inheritance: no IO, no clock, no English
pub mod lines; // JSON lines for other programs
pub mod reading; // text to a request: no IO, no clock
pub mod reply;
pub mod species; // what is known of each species: genes, names, cautions // a reply is data; how it looks as text
