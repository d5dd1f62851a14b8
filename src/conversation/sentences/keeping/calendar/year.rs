//! The year at a glance in words, and what stands in a calendar file.

use jiff::civil::Date;

use super::super::season::rest_sentence;
use super::super::{count, list_of, with_code};
use super::season::Where;
use super::words::{counted_from, day, month_of, stage_name, with_likely};
use crate::collection::animal::Animal;
use crate::collection::calendar::course::Lateness;
use crate::collection::calendar::year::{Begins, Entry};
use crate::collection::herd::Herd;
use crate::conversation::keeping::ready::Rest;
use crate::reading::dates::month_name;
use crate::reading::places::Half;
use crate::reading::records::calendar::Span;
use crate::reading::records::kinds::Stage;
use crate::reply::{Reply, Row};
use crate::species::{Catalogue, Species};

/// Animals that are named in one note.
const NAMED: usize = 5;

/// What is shown of a year.
pub(in crate::conversation) struct Glance<'a> {
    pub(in crate::conversation) catalogue: &'a Catalogue,
    pub(in crate::conversation) herd: &'a Herd,
    pub(in crate::conversation) today: Date,
    pub(in crate::conversation) half: Half,
    pub(in crate::conversation) by: &'a Where,
    /// The one animal that it is about.
    pub(in crate::conversation) animal: Option<&'a Animal>,
    pub(in crate::conversation) span: Span,
    /// The first and the last day of the month that is asked for.
    pub(in crate::conversation) months: Option<(Date, Date)>,
    pub(in crate::conversation) entries: Vec<Entry>,
    pub(in crate::conversation) begins: Vec<Begins>,
    /// Who is not to be paired.
    pub(in crate::conversation) resting: Vec<(&'a Animal, Rest)>,
}

/// The year, or a month of it, by months; cut to so many characters by whole lines.
pub(in crate::conversation) fn glance(of: &Glance<'_>, most: usize) -> Reply {
    let lines = lines(of);
    let mut shown = lines.len();
    loop {
        let reply = with_lines(of, &lines[..shown], lines.len() - shown);
        if shown == 0 || reply.length() <= most {
            return reply;
        }
        shown -= 1;
    }
}

fn with_lines(of: &Glance<'_>, lines: &[(Date, String)], left: usize) -> Reply {
    let mut reply = Reply { understood: title(of), ..Reply::default() };
    reply.cautions.extend(overdue(of));
    if lines.is_empty() && left == 0 {
        reply.answer.push(nothing(of));
    }
    let mut month: Option<Date> = None;
    for (on, line) in lines {
        let first = on.first_of_month();
        if month != Some(first) {
            reply.rows.push(Row::heading(format!("{}:", month_of(first))));
            month = Some(first);
        }
        reply.rows.push(Row::heading(format!("  {line}")));
    }
    if left > 0 {
        let more = count(left, "date", "dates");
        reply.rest = Some(format!("and {more} more; ask for a month: \"what's due in May\""));
    }
    reply.notes.extend(rests(of));
    if of.animal.is_none() && of.span == Span::Year {
        reply.notes.push("\"export my calendar\" gives it as a file for a calendar program.".to_owned());
    }
    if matches!(of.by, Where::Taken) && !of.begins.is_empty() {
        reply.assumed.push(format!(
            "your rooms are in the {} half of the world (say \"I keep in Sydney\" if not); the dates are common defaults or your \
             own numbers",
            of.half.name()
        ));
    }
    reply
}

fn title(of: &Glance<'_>) -> String {
    let whose = of.animal.map_or_else(|| "Your".to_owned(), |a| format!("{}:", with_code(a)));
    match of.span {
        Span::Year => format!("{whose} year from {}", month_of(of.today)),
        Span::Month(n) => {
            let month = of.today.first_of_month().checked_add(jiff::Span::new().months(n)).unwrap_or(of.today);
            format!("{whose} dates of {}", month_of(month))
        }
        Span::Named(month) => format!("{whose} dates of {}", month_name(month)),
    }
}

fn nothing(of: &Glance<'_>) -> String {
    let when = if of.span == Span::Year { "within a year" } else { "then" };
    format!(
        "Nothing is due {when}, by what is recorded. Tell me of pairings and signs: \"Rusty locked with Nova yesterday\"."
    )
}

/// Each line with the day it stands under: what is late stands under today.
fn lines(of: &Glance<'_>) -> Vec<(Date, String)> {
    let mut found: Vec<(Date, String)> = Vec::new();
    for begins in &of.begins {
        let species = of.catalogue.get(begins.species);
        let (first, last) = (begins.window.earliest(), begins.window.latest());
        let what = if begins.cooling { cooling_word(species) } else { "pairing" };
        let line = if first <= of.today {
            format!("{}s: {what} until {}", species.name(), month_of(last))
        } else {
            format!("{}s: {what} begins, until {}", species.name(), month_of(last))
        };
        found.push((first.max(of.today), line));
    }
    for entry in &of.entries {
        let Some(animal) = of.herd.animal(entry.animal) else { continue };
        let window = entry.expected.window;
        let late = match entry.state {
            Lateness::Past(_) | Lateness::Overdue(_) => " (past its days)",
            _ => "",
        };
        let perhaps = if entry.sure { "" } else { " (if she took)" };
        let name = stage_name(entry.expected.stage, entry.live).to_lowercase();
        let name = if entry.expected.stage == Stage::FirstMeal { "first meal of the young" } else { &name };
        found.push((
            window.likely().max(of.today),
            format!("{}: {name} {}{perhaps}{late}", animal.called(), with_likely(window)),
        ));
    }
    // What is asked for a month stands under it.
    if let Some((first, last)) = of.months {
        for line in &mut found {
            line.0 = line.0.clamp(first, last);
        }
    }
    found.sort_by_key(|line| line.0);
    found
}

fn cooling_word(species: &Species) -> &'static str {
    if species.care().winter_rest_days.is_some() { "winter rest" } else { "cooler nights" }
}

/// What is said before all else: who is past her days.
fn overdue(of: &Glance<'_>) -> Vec<String> {
    let late = of.entries.iter().filter(|e| {
        e.expected.stage == Stage::Laying
            && e.sure
            && e.expected.reason.days.is_some()
            && matches!(e.state, Lateness::Past(_) | Lateness::Overdue(_))
    });
    let names: Vec<String> = late.filter_map(|e| of.herd.animal(e.animal)).map(with_code).take(NAMED).collect();
    if names.is_empty() {
        return Vec::new();
    }
    let (is, example) = if names.len() == 1 { ("is", "her") } else { ("are", "one of them") };
    vec![format!(
        "{} {is} past the usual days: that can be egg binding. Straining, a swelling behind the last egg or weakness need a \
         reptile vet at once; ask \"is {example} late\" by name.",
        list_of(&names)
    )]
}

/// Whether an animal rests for a reason of a kind.
type Fits<'f> = &'f dyn Fn(&Rest) -> bool;

/// Who is too light, who rests.
fn rests(of: &Glance<'_>) -> Vec<String> {
    if let Some(animal) = of.animal {
        return of.resting.iter().filter(|(a, _)| a.id == animal.id).map(|(a, why)| rest_sentence(a, *why)).collect();
    }
    let light = |why: &Rest| matches!(why, Rest::Light(..));
    let laid = |why: &Rest| matches!(why, Rest::NotRegained(..) | Rest::WeightNotKnown);
    let said = |why: &Rest| matches!(why, Rest::Said | Rest::Growing);
    let young = |why: &Rest| matches!(why, Rest::Young(_));
    let kinds: [(&str, Fits<'_>); 4] = [
        ("Too light", &light),
        ("Resting after a clutch until the weight is back", &laid),
        ("Resting or growing, as you said", &said),
        ("Too young", &young),
    ];
    let named = |(head, fits): &(&str, Fits<'_>)| {
        let all: Vec<String> = of.resting.iter().filter(|(_, why)| fits(why)).map(|(a, why)| short(a, *why)).collect();
        let more = all.len().saturating_sub(NAMED);
        let mut names: Vec<String> = all.into_iter().take(NAMED).collect();
        if more > 0 {
            names.push(count(more, "more", "more"));
        }
        (!names.is_empty()).then(|| format!("{head}: {}.", list_of(&names)))
    };
    let shown = if of.span == Span::Year { &kinds[..] } else { &kinds[..2] };
    shown.iter().filter_map(named).collect()
}

fn short(animal: &Animal, why: Rest) -> String {
    match why {
        Rest::Light(now, least, _) => {
            format!("{} by {}", animal.called(), super::super::grams(least - now))
        }
        Rest::Young(until) => format!("{} until {}", animal.called(), month_of(until)),
        _ => animal.called(),
    }
}

/// No animals, no year.
pub(in crate::conversation) fn nobody_to_glance_at() -> Reply {
    Reply::refusal(
        "Your collection is empty, so nothing is due. Say \"add\" and what it is; or ask for a species: \"when do I pair corn \
         snakes\".",
    )
}

/// Nothing that a calendar could hold.
pub(in crate::conversation) fn no_dates_to_export() -> Reply {
    Reply::refusal("There is no date to export yet: tell me of your animals, their pairings and signs first.")
}

/// What a calendar file holds.
pub(in crate::conversation) fn calendar_exported(n: usize, of_animals: usize, half: Half, taken: bool) -> Reply {
    let mut reply = Reply::sentence(format!(
        "Your calendar with {}, {} of them of your animals, as a file (.ics) that calendar programs read.",
        count(n, "date", "dates"),
        of_animals
    ));
    reply.notes.push(
        "Each date keeps its mark: a later file moves the dates in the calendar instead of doubling them.".to_owned(),
    );
    if taken {
        reply.assumed.push(format!("your rooms are in the {} half of the world", half.name()));
    }
    reply
}

/// "Tansy: eggs (most likely 19 April 2027)".
pub(in crate::conversation) fn event_title(animal: &Animal, entry: &Entry) -> String {
    let window = entry.expected.window;
    let perhaps = if entry.sure { "" } else { " (if she took)" };
    let name = stage_name(entry.expected.stage, entry.live).to_lowercase();
    format!("{}: {name}, most likely {}{perhaps}", animal.called(), day(window.likely()))
}

/// What stands behind an event.
pub(in crate::conversation) fn event_text(entry: &Entry) -> String {
    format!("{}\n{}", with_likely(entry.expected.window), counted_from(&entry.expected, entry.live))
}

pub(in crate::conversation) fn season_title(species: &Species, cooling: bool) -> String {
    let what = if cooling { cooling_word(species) } else { "pairing" };
    format!("{}s: {what} begins", species.name())
}

pub(in crate::conversation) fn season_text(begins: &Begins) -> String {
    format!("Until {}. Common default, no source.", month_of(begins.window.latest()))
}
