//! Records as pictures: a year of weights, a family, a season. What they look like is `reply::picture`'s.

use jiff::ToSpan as _;
use jiff::civil::Date;

use super::sign_word;
use crate::collection::animal::{Animal, Sex};
use crate::collection::calendar::months::months_in;
use crate::collection::herd::Herd;
use crate::reading::dates::{When, month_name};
use crate::reading::places::Half;
use crate::reply::picture::{Drawing, Mark, Weighing, Weight};
use crate::species::Species;

/// Days that a picture of weights shows.
const YEAR: i32 = 365;

/// A year of weights with what happened to her; `None` with fewer than two of them.
pub(super) fn weights(herd: &Herd, species: &Species, animal: &Animal, today: Date) -> Option<Drawing> {
    let from = today.checked_sub(YEAR.days()).ok()?;
    let day = |on: Date| from.until(on).ok().and_then(|span| u32::try_from(span.get_days()).ok());
    let in_year = |on: Date| on >= from && on <= today;
    let weighings: Vec<Weighing> = herd
        .weights_of(animal.id)
        .into_iter()
        .filter(|w| in_year(w.on))
        .filter_map(|w| {
            let on = When::Day(w.on).words();
            Some(Weighing { day: day(w.on)?, grams: u32::try_from(w.grams).ok()?, on })
        })
        .collect();
    if weighings.len() < 2 {
        return None;
    }
    let mut happened: Vec<(Date, String)> = Vec::new();
    for sign in herd.signs.iter().filter(|s| s.animal_id == animal.id) {
        happened.push((sign.on.first(), format!("{}: {}", sign.on.words(), sign_word(sign.kind))));
    }
    for clutch in herd.clutches.iter().filter(|c| c.dam_id == Some(animal.id)) {
        if let Some(laid) = clutch.laid {
            let eggs = clutch.eggs.map_or_else(String::new, |n| format!(" {n}"));
            happened.push((laid.first(), format!("{}: laid{eggs}", laid.words())));
        }
    }
    happened.retain(|(on, _)| in_year(*on));
    happened.sort();
    let marks = happened.into_iter().filter_map(|(on, what)| Some(Mark { day: day(on)?, what })).collect();
    let care = species.care();
    let first = if animal.sex == Sex::Male { &care.male_first_weight } else { &care.female_first_weight };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // weights to breed at are small and positive
    let breeds_at = first.as_ref().map(|range| range.low.round() as u32);
    Some(Drawing::Weight(Weight {
        title: format!("{}: weight from {} to {}", animal.called(), When::Day(from).words(), When::Day(today).words()),
        first_month: u8::try_from(from.month()).unwrap_or(1),
        first_day: u8::try_from(from.day()).unwrap_or(1),
        days: YEAR.unsigned_abs(),
        weighings,
        marks,
        breeds_at,
        shaded: pairing_months(species, herd.half(), from, today),
    }))
}

/// The months in which a species is usually paired where the keeper lives, as days from the first of the picture.
fn pairing_months(species: &Species, kept: Option<Half>, from: Date, to: Date) -> Option<(String, Vec<(u32, u32)>)> {
    let half = kept.unwrap_or(Half::North);
    let (usual, _) = months_in(half, species.care().pairing_months.as_ref()?);
    let name = |m: Option<&u8>| m.and_then(|m| i8::try_from(*m).ok()).map(month_name).unwrap_or_default();
    let taken = if kept.is_none() { ", taken for granted" } else { "" };
    let words =
        format!("usually paired, {} to {} ({} rooms{taken})", name(usual.first()), name(usual.last()), half.name());
    let mut spans: Vec<(u32, u32)> = Vec::new();
    for (day, on) in (0u32..).zip(from.series(1.day()).take_while(|on| *on <= to)) {
        if !u8::try_from(on.month()).is_ok_and(|month| usual.contains(&month)) {
            continue;
        }
        match spans.last_mut() {
            Some(last) if last.1 + 1 == day => last.1 = day,
            _ => spans.push((day, day)),
        }
    }
    Some((words, spans))
}
