//! The dates of one animal: the season of a female, her eggs, her young; and the one that is next.

use jiff::civil::Date;

use super::course::{Course, Expected, Told, of_clutch, of_female};
use super::numbers::Numbers;
use super::window::Window;
use crate::collection::animal::{Animal, AnimalId, ClutchId, Sex};
use crate::collection::herd::Herd;
use crate::reading::places::Half;
use crate::reading::records::kinds::Stage;
use crate::species::{Catalogue, Species};

/// What is expected of an animal next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Due {
    /// Who.
    pub animal: AnimalId,
    /// The clutch that it is about, where there are eggs or young already.
    pub clutch: Option<ClutchId>,
    /// What: laying (in live-bearers birth), hatching, the first shed or meal of the young.
    pub stage: Stage,
    /// When.
    pub window: Window,
}

/// Everything that runs for an animal: her open season first, then her clutches, the newest first.
#[must_use]
pub fn courses(numbers: &Numbers<'_>, herd: &Herd, animal: &Animal, today: Date) -> Vec<Course> {
    if animal.sex == Sex::Male || !animal.status.is_here() {
        return Vec::new();
    }
    let mut found: Vec<Course> = of_female(numbers, herd, animal, today, Told::default()).into_iter().collect();
    let mut clutches: Vec<_> = herd.clutches.iter().filter(|c| c.dam_id == Some(animal.id)).collect();
    clutches.sort_by_key(|c| std::cmp::Reverse(c.laid.map(crate::reading::dates::When::last)));
    found.extend(clutches.into_iter().filter_map(|c| of_clutch(numbers, c, today)));
    found
}

/// The main event of a course: laying, hatching, or what comes first of the young.
#[must_use]
pub fn main_event(course: &Course) -> Option<&Expected> {
    [Stage::Laying, Stage::Hatch].into_iter().find_map(|stage| course.expected(stage)).or_else(|| course.ahead.first())
}

/// What an animal is due for next: eggs in the incubator before her next laying, and both before the first meals of young.
/// Nothing where no date follows from her records. `half` is the half of the world that the room is in.
#[must_use]
pub fn next(catalogue: &Catalogue, herd: &Herd, id: AnimalId, half: Half, today: Date) -> Option<Due> {
    let animal = herd.animal(id)?;
    let species = species_of(catalogue, animal)?;
    let numbers = Numbers::of(species, herd, half);
    let courses = courses(&numbers, herd, animal, today);
    let events = courses.iter().filter_map(|course| Some((course, main_event(course)?)));
    let (course, event) = events.min_by_key(|(_, e)| (e.stage > Stage::Hatch, e.window.likely()))?;
    Some(Due { animal: id, clutch: course.clutch, stage: event.stage, window: event.window })
}

/// The species of an animal, where the catalogue knows it.
#[must_use]
pub fn species_of<'a>(catalogue: &'a Catalogue, animal: &Animal) -> Option<&'a Species> {
    catalogue.species().iter().find(|s| s.key() == animal.species)
}
