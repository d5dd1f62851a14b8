//! Dates in words: what is due, how late she is, the season, the year, the numbers they are counted by.

mod eggs; // how much longer, and what comes after
mod her; // when she lays, how late she is
mod numbers; // the keeper's own numbers
mod season; // months of a species
mod words; // days, stages, and what they rest on
mod year; // the year at a glance

pub(in crate::conversation) use eggs::*;
pub(in crate::conversation) use her::*;
pub(in crate::conversation) use numbers::*;
pub(in crate::conversation) use season::*;
pub(in crate::conversation) use words::*;
pub(in crate::conversation) use year::*;
