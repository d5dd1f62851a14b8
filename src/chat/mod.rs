//! The fronts: a message in, a reply out, drawn for the medium. No sentence of the talk is built here.

pub mod terminal; // the chat in a terminal, and its plain form for other programs
