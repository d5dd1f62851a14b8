//! Months of a season in either half of the world: care numbers name those of the north.

use jiff::civil::Date;

use super::window::{Window, plus};
use crate::reading::places::Half;
use crate::species::care::Months;

/// A month of a northern room, 1 to 12, as this half has it: six months later in the south.
#[must_use]
pub fn month_in(half: Half, northern: u8) -> u8 {
    match half {
        Half::North => northern,
        Half::South => (northern + 5) % 12 + 1,
    }
}

/// The usual and the possible months of a season in this half, in season order.
#[must_use]
pub fn months_in(half: Half, of: &Months) -> (Vec<u8>, Vec<u8>) {
    let here = |list: &[u8]| list.iter().map(|m| month_in(half, *m)).collect();
    (here(&of.usual), here(&of.possible))
}

/// The first such season that ends on this day or later: from its first possible day to its last, the middle of the usual
/// months the most likely.
#[must_use]
pub fn season(half: Half, of: &Months, from: Date) -> Option<Window> {
    let (usual, possible) = months_in(half, of);
    let run = |year: i16, list: &[u8]| {
        let (first, last) = (*list.first()?, *list.last()?);
        let start = month(year, first)?;
        let end = month(year + i16::from(last < first), last)?.last_of_month();
        Some((start, end))
    };
    (from.year() - 1..=from.year() + 1).find_map(|year| {
        let (start, end) = run(year, &possible)?;
        // The usual months may begin in the year after the first possible one.
        let (one, other) = run(year + i16::from(*usual.first()? < *possible.first()?), &usual)?;
        let middle = plus(one, super::window::days_between(one, other) / 2);
        (end >= from).then(|| Window::new(start, middle, end))
    })
}

fn month(year: i16, month: u8) -> Option<Date> {
    Date::new(year, i8::try_from(month).ok()?, 1).ok()
}
