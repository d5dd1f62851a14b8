//! When an animal is due, by the species' usual numbers: the one place where reminders ask for it.

use jiff::ToSpan as _;
use jiff::civil::Date;

use crate::collection::animal::Animal;
use crate::collection::herd::Herd;
use crate::reading::dates::When;
use crate::reading::records::kinds::SignKind;
use crate::species::Species;
use crate::species::care::Range;

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
pub(in crate::conversation) fn due(species: &Species, herd: &Herd, animal: &Animal, today: Date) -> Option<Window> {
    let care = species.care();
    let own = |id: Option<_>| id == Some(animal.id);
    let eggs = herd
        .clutches
        .iter()
        .filter(|c| own(c.dam_id) && c.hatched.is_none() && c.eggs.is_none_or(|n| n > 0))
        .filter_map(|c| window(Event::Hatching, day(c.laid?)?, care.incubation_days.as_ref()?));
    let signs = herd.signs.iter().filter(|s| s.animal_id == animal.id).filter_map(|s| {
        // Signs before her last eggs were about those.
        let laid =
            herd.clutches.iter().filter(|c| own(c.dam_id)).filter_map(|c| c.laid).any(|l| l.last() >= s.on.first());
        let (event, range) = match s.kind {
            SignKind::PrelayShed if care.shed_to_birth_days.is_some() => (Event::Birth, &care.shed_to_birth_days),
            SignKind::PrelayShed => (Event::Laying, &care.shed_to_laying_days),
            SignKind::Ovulation => (Event::Laying, &care.ovulation_to_laying_days),
            _ => return None,
        };
        if laid { None } else { window(event, day(s.on)?, range.as_ref()?) }
    });
    // What lies long behind has happened and was not written down. The later sign tells more.
    let still = |w: &Window| w.last.checked_add(60.days()).is_ok_and(|end| end >= today);
    let eggs = eggs.filter(still).min_by_key(|w| w.likely);
    eggs.or_else(|| signs.filter(still).max_by_key(|w| w.first))
}

fn day(when: When) -> Option<Date> {
    match when {
        When::Day(day) => Some(day),
        _ => None,
    }
}

#[allow(clippy::cast_possible_truncation)] // days of a care number, a few hundred at most
fn window(event: Event, from: Date, range: &Range) -> Option<Window> {
    let after = |days: f64| from.checked_add((days.round() as i64).days()).ok();
    Some(Window { event, first: after(range.low)?, likely: after(range.default)?, last: after(range.high)? })
}
