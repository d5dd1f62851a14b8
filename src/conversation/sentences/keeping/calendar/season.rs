//! The months of a species: when it is cooled, paired, when it lays.

use jiff::civil::Date;

use super::words::{day, with_likely};
use crate::collection::animal::Animal;
use crate::collection::calendar::months::months_in;
use crate::collection::calendar::window::Window;
use crate::reading::dates::month_name;
use crate::reading::places::Half;
use crate::reading::records::calendar::Part;
use crate::reply::{Reply, Row};
use crate::species::Species;
use crate::species::care::{Months, Range};
use crate::species::entries::Young;

/// Where the room is, and how that is known.
pub(in crate::conversation) enum Where {
    /// As this message says.
    Said(Option<String>),
    /// As the keeper's place says.
    Kept,
    /// Taken for granted.
    Taken,
}

pub(super) fn name(month: Option<&u8>) -> &'static str {
    month.and_then(|m| i8::try_from(*m).ok()).map(month_name).unwrap_or_default()
}

/// "November to February".
fn run(list: &[u8]) -> String {
    match list {
        [] => String::new(),
        [one] => name(Some(one)).to_owned(),
        [first, .., last] => format!("{} to {}", name(Some(first)), name(Some(last))),
    }
}

/// "November to February, October to March at the outside".
fn both(half: Half, months: &Months) -> String {
    let (usual, possible) = months_in(half, months);
    if usual == possible { run(&usual) } else { format!("{}, {} at the outside", run(&usual), run(&possible)) }
}

pub(in crate::conversation) fn seasons(species: &[&Species], part: Part, half: Half, by: &Where) -> Reply {
    let mut reply = Reply::default();
    let [one] = species else {
        for of in species {
            let line = parts(of, part, half).join("; ");
            reply.rows.push(Row::heading(format!("{}: {line}", of.name())));
        }
        reply.answer.push(lead(part, half));
        notes(&mut reply, species, part, half, by);
        return reply;
    };
    one.name().clone_into(&mut reply.understood);
    for line in parts(one, part, half) {
        let mut chars = line.chars();
        let line: String = chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect());
        reply.answer.push(format!("{line}."));
    }
    if reply.answer.is_empty() {
        reply.answer.push("The catalogue names no months for that.".to_owned());
    }
    notes(&mut reply, species, part, half, by);
    reply
}

fn lead(part: Part, half: Half) -> String {
    let half = half.name();
    match part {
        Part::Cooling => format!("Cooling, {half} rooms:"),
        Part::Pairing => format!("Pairing, {half} rooms:"),
        Part::Laying => format!("Eggs and young, {half} rooms:"),
        Part::All => format!("The season, {half} rooms:"),
    }
}

fn parts(species: &Species, part: Part, half: Half) -> Vec<String> {
    let mut lines = Vec::new();
    if matches!(part, Part::Cooling | Part::All) {
        lines.extend(cooling(species, half));
    }
    if matches!(part, Part::Pairing | Part::All) {
        let months = species.care().pairing_months.as_ref();
        lines.extend(months.map(|months| format!("paired {}", both(half, months))));
    }
    if matches!(part, Part::Laying | Part::All) {
        lines.extend(laying(species, half));
    }
    lines
}

fn range(of: &Range) -> String {
    if (of.low - of.high).abs() < f64::EPSILON { of.low.to_string() } else { format!("{} to {}", of.low, of.high) }
}

fn weeks(of: &Range) -> String {
    let week = |days: f64| (days / 7.0).round();
    format!("{} to {} weeks", week(of.low), week(of.high))
}

fn cooling(species: &Species, half: Half) -> Option<String> {
    let care = species.care();
    let months = care.cooling_months.as_ref()?;
    let (usual, possible) = months_in(half, months);
    let pairing = care.pairing_months.as_ref().map(|m| months_in(half, m).0);
    Some(match (&care.winter_rest_days, &care.winter_rest_celsius) {
        (Some(days), Some(celsius)) => {
            let optional = if days.note.as_deref() == Some("Optional.") { " (optional)" } else { "" };
            let early = if usual.first() == possible.first() {
                String::new()
            } else {
                format!(", {} at the earliest", name(possible.first()))
            };
            let back = pairing.map_or_else(String::new, |p| format!(", warm again for {}", name(p.first())));
            format!(
                "start cooling in {}{early}{optional}: {} at {} °C{back}",
                name(usual.first()),
                weeks(days),
                range(celsius)
            )
        }
        _ => format!(
            "no cold winter rest; a night drop of a few degrees from {} to {}",
            name(usual.first()),
            name(usual.last())
        ),
    })
}

fn laying(species: &Species, half: Half) -> Option<String> {
    let care = species.care();
    if species.file().meta.young == Young::Live {
        let days = care.shed_to_birth_days.as_ref()?;
        return Some(format!("young {} days after the shed that follows ovulation", range(days)));
    }
    let hatch = care.incubation_days.as_ref().map(|d| format!("they hatch after {} days", range(d)));
    let eggs = match (&care.laying_months, &care.mating_to_laying_days) {
        (Some(months), _) => Some(format!("eggs {}", both(half, months))),
        (None, Some(days)) => Some(format!("eggs {} days after mating", range(days))),
        _ => None,
    };
    let lines: Vec<String> = eggs.into_iter().chain(hatch).collect();
    (!lines.is_empty()).then(|| lines.join("; "))
}

fn notes(reply: &mut Reply, species: &[&Species], part: Part, half: Half, by: &Where) {
    match by {
        Where::Said(Some(place)) => {
            reply.notes.push(format!("Counted for {place}: the {} half of the world.", half.name()));
        }
        Where::Said(None) | Where::Kept => {}
        Where::Taken => reply.assumed.push(format!(
            "your rooms are in the {} half of the world (say \"I keep in Sydney\" or \"in the southern half\" if not)",
            half.name()
        )),
    }
    let recalled =
        |of: &&Species| of.care().cooling_months.as_ref().is_some_and(|m| m.source.iter().any(|s| s == "memory"));
    let grade = match part {
        Part::Cooling if species.iter().all(&recalled) => "From memory, no source",
        Part::Cooling | Part::All if species.iter().any(recalled) => "Common practice or from memory, no source",
        _ => "Common practice, no source",
    };
    reply.notes.push(format!(
        "{grade}: rooms with their own day length can be 2 to 4 months off. Only healthy animals of good weight are cooled."
    ));
}

/// What a season of pairing rests on.
pub(in crate::conversation) fn pairing_months(species: &Species, months: &Months, half: Half, taken: bool) -> String {
    let where_ = if taken { "northern rooms, taken for granted".to_owned() } else { format!("{} rooms", half.name()) };
    format!("{}s are paired {} ({where_}; common practice, no source).", species.name(), both(half, months))
}

/// A male between two females.
pub(in crate::conversation) fn male_rests(animal: &Animal, last: Date, rest: &Range) -> String {
    format!(
        "{} was with a female on {}; males rest and eat for {} days in between.",
        animal.called(),
        day(last),
        range(rest)
    )
}

/// A female that carries.
pub(in crate::conversation) fn carries_now(animal: &Animal, window: Window, live: bool) -> String {
    let what = if live { "gives birth" } else { "lays" };
    format!("{} carries now and {what} {}; first she needs her weight back.", animal.called(), with_likely(window))
}

/// How long a female rests between two clutches.
pub(in crate::conversation) fn rests_between(animal: &Animal, species: &Species, laid: Option<Date>) -> Option<String> {
    let care = species.care();
    let last = laid.map_or_else(String::new, |on| format!("{} laid last on {}. ", animal.called(), day(on)));
    let every = care.interval_years.as_ref().map(|years| {
        let note = years.note.clone().unwrap_or_default();
        format!("{} to {} years from one to the next. {note}", years.low, years.high)
    });
    let weight =
        care.weight_recovery_months.as_ref().map(|m| format!(" Her weight needs {} months of feeding.", range(m)));
    let said = every.into_iter().chain(weight).collect::<String>();
    (!said.is_empty()).then(|| format!("{last}{} (common practice, no source).", said.trim_end_matches(['.', ' '])))
}
