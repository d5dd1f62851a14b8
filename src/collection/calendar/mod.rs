//! Dates from signs: when a female ovulates, sheds, lays or gives birth, when her eggs hatch, when the young shed and eat.
//!
//! In: a herd, a species' care numbers, the day. Out: [`Window`]s, each with the record and the days that it rests on
//! ([`course::Reason`]). Every number is a default that the keeper can change ([`numbers`]); none is a promise.
//! May touch: `species`, `reading::dates`. Never: a clock, a database, a sentence of the talk.
//! Invariant: a further sign that agrees with those before it never widens a window; one that contradicts them is marked,
//! and the nearest sign counts. Start at [`course::of_female`], [`course::of_clutch`] and [`due::next`].

pub mod course; // what is seen of a season, and what follows
pub mod due; // the dates of one animal
pub mod ics; // dates as a file for calendar programs
pub mod learned; // the keeper's own medians
pub mod months; // seasons of either half of the world
pub mod numbers; // days with what they rest on
pub mod window; // earliest, most likely, latest
pub mod year; // everything that is due within a year

pub use window::Window;
