//! Dates in words: what is due, how late she is, the season, the year, the numbers they are counted by.

mod dates; // what is due and what it rests on
mod numbers; // the keeper's own numbers
mod season; // months of a species
mod year; // the year at a glance

pub(in crate::conversation) use dates::*;
pub(in crate::conversation) use numbers::*;
pub(in crate::conversation) use season::*;
pub(in crate::conversation) use year::*;
