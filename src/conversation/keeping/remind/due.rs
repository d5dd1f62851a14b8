//! When an animal is due, by the calendar: the one place where reminders ask for it.

use jiff::civil::Date;

use crate::collection::animal::Animal;
use crate::collection::calendar::due as calendar;
use crate::collection::herd::Herd;
use crate::reading::places::Half;
use crate::reading::records::kinds::Stage;
use crate::species::Catalogue;

/// What an animal is due for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::conversation) enum Event {
    /// Her eggs are laid.
    Laying,
    /// Her young are born.
    Birth,
    /// The eggs in the incubator hatch.
    Hatching,
}

/// When it is expected: the first, the most likely and the last day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::conversation) struct Window {
    /// What.
    pub(in crate::conversation) event: Event,
    /// The first day.
    pub(in crate::conversation) first: Date,
    /// The most likely day.
    pub(in crate::conversation) likely: Date,
    /// The last day.
    pub(in crate::conversation) last: Date,
}

/// What an animal is due for next; `None` where nothing that was recorded tells.
pub(in crate::conversation) fn due(
    catalogue: &Catalogue,
    herd: &Herd,
    animal: &Animal,
    half: Half,
    today: Date,
) -> Option<Window> {
    let next = calendar::next(catalogue, herd, animal.id, half, today)?;
    let bears_live = calendar::species_of(catalogue, animal)?.care().shed_to_birth_days.is_some();
    let event = match next.stage {
        Stage::Laying if bears_live => Event::Birth,
        Stage::Laying => Event::Laying,
        Stage::Hatch => Event::Hatching,
        // The first shed and meal of young are no date of hers.
        _ => return None,
    };
    let window = next.window;
    Some(Window { event, first: window.earliest(), likely: window.likely(), last: window.latest() })
}
