//! Everything that is due within a year: of each animal, and the seasons of the species that are kept.

use jiff::civil::Date;

use super::course::{Course, Expected, Lateness, lateness};
use super::due::{courses, species_of};
use super::months::season;
use super::numbers::Numbers;
use super::window::{Window, plus};
use crate::collection::animal::{Animal, AnimalId};
use crate::collection::herd::Herd;
use crate::reading::dates::When;
use crate::reading::places::Half;
use crate::reading::records::kinds::Stage;
use crate::species::{Catalogue, Species, SpeciesId};

/// Days that are looked ahead.
pub const AHEAD: i64 = 365;

/// Something that is due of an animal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entry {
    /// Whose: the mother, where it is about eggs or young.
    pub animal: AnimalId,
    /// Which of her clutches it is about, from 1: the same number before the eggs are laid and after.
    pub nth: usize,
    /// What and when.
    pub expected: Expected,
    /// The species gives birth.
    pub live: bool,
    /// How it stands to the day of the question.
    pub state: Lateness,
    /// More than a pairing was seen of her.
    pub sure: bool,
}

/// A season of a species that begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Begins {
    /// Which species.
    pub species: SpeciesId,
    /// It is cooled; else it is paired.
    pub cooling: bool,
    /// From when to when.
    pub window: Window,
}

/// What is due within a year, the soonest first. `of` is one animal; without one it is all that are here.
#[must_use]
pub fn entries(catalogue: &Catalogue, herd: &Herd, half: Half, today: Date, of: Option<AnimalId>) -> Vec<Entry> {
    let mut found = Vec::new();
    for animal in herd.here().filter(|a| of.is_none_or(|id| a.id == id)) {
        let Some(species) = species_of(catalogue, animal) else { continue };
        let numbers = Numbers::of(species, herd, half);
        for course in courses(&numbers, herd, animal, today) {
            found.extend(of_course(&numbers, herd, animal, &course, today));
        }
    }
    found.sort_by_key(|e| (e.expected.window.likely(), e.animal, e.expected.stage));
    found
}

fn of_course(numbers: &Numbers<'_>, herd: &Herd, animal: &Animal, course: &Course, today: Date) -> Vec<Entry> {
    let nth = nth(herd, animal, course);
    // Young that are not laid yet have no dates worth a place.
    let last = if course.clutch.is_some() { Stage::FirstMeal } else { Stage::Hatch };
    let by_months = course.expected(Stage::Laying).is_some_and(|e| e.reason.days.is_none());
    let shown = |e: &&Expected| {
        let told = e.stage <= last && e.stage != Stage::Pip && (!by_months || e.stage == Stage::Laying);
        let main = matches!(e.stage, Stage::Laying | Stage::Hatch) && !by_months;
        // What was not told of is only still waited for where it matters.
        told && (e.window.latest() >= today || main) && e.window.likely() <= plus(today, AHEAD)
    };
    course
        .ahead
        .iter()
        .filter(shown)
        .map(|expected| Entry {
            animal: animal.id,
            nth,
            expected: *expected,
            live: numbers.is_live_bearing(),
            state: lateness(numbers, expected, today),
            sure: course.clutch.is_some() || course.carries(),
        })
        .collect()
}

/// Which of her clutches a course is about.
fn nth(herd: &Herd, animal: &Animal, course: &Course) -> usize {
    let mut hers: Vec<_> = herd.clutches.iter().filter(|c| c.dam_id == Some(animal.id)).collect();
    hers.sort_by_key(|c| (c.laid.map(When::first), c.id));
    let at = course.clutch.and_then(|id| hers.iter().position(|c| c.id == id));
    at.map_or(hers.len(), |at| at) + 1
}

/// The seasons of the kept species that begin or go on within a year.
#[must_use]
pub fn begins(species: &[&Species], half: Half, today: Date) -> Vec<Begins> {
    let mut found = Vec::new();
    for of in species {
        let care = of.care();
        for (months, cooling) in [(&care.cooling_months, true), (&care.pairing_months, false)] {
            let window = months.as_ref().and_then(|months| season(half, months, today));
            found.extend(window.map(|window| Begins { species: of.id, cooling, window }));
        }
    }
    found.sort_by_key(|b| (b.window.earliest(), b.species, b.cooling));
    found
}
