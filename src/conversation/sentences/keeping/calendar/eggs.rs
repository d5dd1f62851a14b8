//! Eggs and young in words: how much longer, and what comes after.

use jiff::civil::Date;

use super::super::{clutch_short, count};
use super::her::overdue;
use super::words::{celsius, counted_from, head, rows, stage_name, standing, with_likely};
use crate::collection::animal::Animal;
use crate::collection::calendar::course::{Course, Expected};
use crate::collection::calendar::numbers::Numbers;
use crate::collection::calendar::window::{Window, days_between};
use crate::collection::events::Clutch;
use crate::collection::herd::Herd;
use crate::reading::dates::When;
use crate::reading::records::kinds::Stage;
use crate::reply::{Kind, Reply, Row};
use crate::species::Species;

/// "the Nala eggs (23-04)".
fn eggs_of(animal: &Animal, clutch: &Clutch, live: bool) -> String {
    let code = clutch.code.as_ref().map_or_else(String::new, |code| format!(" ({code})"));
    let what = match (clutch.hatched.is_some() || live, live) {
        (true, false) => "young",
        (true, true) => "litter",
        (false, _) => "eggs",
    };
    format!("The {} {what}{code}", animal.called())
}

/// The dates of a clutch: how much longer, and what comes after.
pub(in crate::conversation) fn clutch_of(
    numbers: &Numbers<'_>,
    animal: &Animal,
    clutch: &Clutch,
    course: &Course,
    asked: Option<Stage>,
    today: Date,
) -> Reply {
    let live = numbers.is_live_bearing();
    let mut reply = Reply { understood: head(numbers.species, animal), ..Reply::default() };
    let asked = asked.and_then(|stage| course.expected(stage));
    let Some(main) = asked.or_else(|| course.expected(Stage::Hatch)).or_else(|| course.ahead.first()) else {
        return reply;
    };
    let what = eggs_of(animal, clutch, live);
    reply.answer.push(match main.stage {
        Stage::Hatch => hatching(&what, main, course, today),
        stage => format!("{}: {}.", of_young(&what, stage), with_likely(main.window)),
    });
    rows(&mut reply, course, Stage::FirstMeal, live);
    reply.notes.push(counted_from(main, live));
    if main.against {
        reply.notes.push(
            "By the day of laying it would be other days; I went by the first pip. Check the dates if that surprises you."
                .to_owned(),
        );
    }
    if main.stage == Stage::Hatch {
        reply.notes.extend(warmth_words(numbers, clutch));
    }
    if main.stage >= Stage::FirstShed {
        reply.notes.push("The first meal is offered after the first shed, not before it.".to_owned());
    }
    reply
}

fn hatching(what: &str, main: &Expected, course: &Course, today: Date) -> String {
    let day_now = course.seen(Stage::Laying).map(|on| days_between(Window::of(on).likely(), today));
    let now = day_now.map_or_else(String::new, |n| format!("; today is day {n}"));
    let (to_first, to_last) = (days_between(today, main.window.earliest()), days_between(today, main.window.latest()));
    let left = if to_first > 0 {
        format!(
            "{to_first} to {to_last} days to go, most likely {}",
            days_between(today, main.window.likely()).max(to_first)
        )
    } else if to_last >= 0 {
        "any day now".to_owned()
    } else {
        let n = usize::try_from(-to_last).unwrap_or(0);
        format!(
            "{} past the latest usual day. If they have hatched, say \"hatched 2 clowns and 4 normals\"; eggs that stay firm \
             and clean may still come",
            count(n, "day", "days")
        )
    };
    format!("{what} hatch {}: {left}{now}.", with_likely(main.window))
}

fn of_young(what: &str, stage: Stage) -> String {
    match stage {
        Stage::Pip => format!("{what} pip"),
        Stage::FirstShed => format!("{what}: first shed"),
        _ => format!("{what}: first meal"),
    }
}

fn warmth_words(numbers: &Numbers<'_>, clutch: &Clutch) -> Option<String> {
    let usual = numbers.species.care().incubation_celsius.as_ref()?;
    let told = clutch.warmth?;
    let at = f64::from(told) / 10.0;
    (at < usual.low || at > usual.high).then(|| {
        format!(
            "They are at {} °C, and {} to {} °C is usual (common practice, no source): the days may be other ones.",
            celsius(i64::from(told)),
            usual.low,
            usual.high
        )
    })
}

/// "Day 40 for the Nala eggs": by the record, and where the record says another day.
pub(in crate::conversation) fn other_day(said: i64, record: i64, laid: When) -> String {
    format!(
        "By your record they were laid on {}, so today is day {record} and not {said}. I went by the record; say \"undo\" or \
         record the clutch anew if it is wrong.",
        laid.words()
    )
}

/// Eggs of no clutch that is recorded.
pub(in crate::conversation) fn by_told_day(
    numbers: &Numbers<'_>,
    who: Option<&Animal>,
    course: &Course,
    said: i64,
    today: Date,
) -> Reply {
    let mut reply = Reply::default();
    let of = who.map_or_else(|| numbers.species.name().to_owned(), |a| head(numbers.species, a));
    reply.understood = of;
    let Some(main) = course.expected(Stage::Hatch) else { return reply };
    let what = who.map_or_else(|| "The eggs".to_owned(), |a| format!("The {} eggs", a.called()));
    reply.answer.push(hatching(&what, main, course, today));
    for expected in &course.ahead {
        reply.rows.push(Row::heading(format!(
            "{}: {}",
            stage_name(expected.stage, numbers.is_live_bearing()),
            with_likely(expected.window)
        )));
    }
    reply.notes.push(counted_from(main, numbers.is_live_bearing()));
    let laid = course.seen(Stage::Laying).map(When::words).unwrap_or_default();
    reply.notes.push(match who {
        Some(animal) => format!(
            "No such clutch of {0} is recorded; day {said} means laid on {laid}. Say \"{0} laid 6 eggs on {laid}\" to keep it.",
            animal.called()
        ),
        None => format!("Day {said} means laid on {laid}; nothing was saved."),
    });
    reply
}

/// What follows from an event that was told, and is not kept.
pub(in crate::conversation) fn from_told(
    numbers: &Numbers<'_>,
    who: Option<&Animal>,
    course: &Course,
    (event, on): (Stage, When),
    asked: Option<Stage>,
    today: Date,
) -> Reply {
    let live = numbers.is_live_bearing();
    let understood = who.map_or_else(|| numbers.species.name().to_owned(), |a| head(numbers.species, a));
    let mut reply = Reply { understood, ..Reply::default() };
    let told = format!("{} on {}", stage_name(event, live), on.words());
    let usual = if event >= Stage::Laying { Stage::Hatch } else { Stage::Laying };
    let main = asked
        .and_then(|stage| course.expected(stage))
        .or_else(|| course.expected(usual))
        .or_else(|| course.ahead.first());
    let Some(main) = main else {
        reply
            .answer
            .push(format!("{told}: no date follows from that for a {}.", numbers.species.name().to_lowercase()));
        return reply;
    };
    if let (Some(animal), Some(laying)) = (who, course.expected(Stage::Laying)) {
        reply.cautions.extend(overdue(numbers, animal, course, laying, today));
    }
    let name = stage_name(main.stage, live);
    reply.answer.push(format!("{name}: {}, {}.", with_likely(main.window), standing(today, main.window)));
    for expected in course.ahead.iter().filter(|e| e.stage != main.stage) {
        reply.rows.push(Row::heading(format!(
            "{}: {}",
            stage_name(expected.stage, live),
            with_likely(expected.window)
        )));
    }
    reply.notes.push(counted_from(main, live));
    if let Some(animal) = who {
        let told = match event {
            Stage::Ovulation => "ovulated".to_owned(),
            Stage::Shed if live => "had her post ovulation shed".to_owned(),
            Stage::Shed => "had her pre lay shed".to_owned(),
            Stage::Laying => "laid 6 eggs".to_owned(),
            _ => return reply,
        };
        reply.notes.push(format!(
            "Nothing was saved: say \"{} {told} on {}\" to keep it.",
            animal.called(),
            on.words()
        ));
    }
    reply
}

/// Eggs that hatched already.
pub(in crate::conversation) fn hatched_already(herd: &Herd, clutch: &Clutch) -> Reply {
    let on = clutch.hatched.map_or_else(String::new, |on| format!(" on {}", on.words()));
    Reply::refusal(format!("That clutch has hatched already{on}: {}.", clutch_short(herd, clutch)))
}

/// More days than any eggs take.
pub(in crate::conversation) fn no_such_egg_day(day: i64) -> Reply {
    Reply::refusal(format!("Day {day} is beyond any incubation I know. Which day was it laid?"))
}

/// Several clutches that are in the incubator: a line each.
pub(in crate::conversation) fn several(animal: &Animal, species: &Species, lines: Vec<String>) -> Reply {
    let mut reply = Reply { understood: head(species, animal), ..Reply::default() };
    reply.answer.push(format!("{} running:", count(lines.len(), "date is", "dates are")));
    reply.rows = lines.into_iter().map(Row::heading).collect();
    reply
}

/// One course in a line: "Eggs laid 3 May 2026: hatch 25 June to 7 July 2026, most likely 30 June".
pub(in crate::conversation) fn in_a_line(course: &Course, live: bool) -> Option<String> {
    let main = crate::collection::calendar::due::main_event(course)?;
    let laid =
        course.seen(Stage::Laying).map(|on| format!("{} of {}: ", if live { "Litter" } else { "Eggs" }, on.words()));
    Some(format!(
        "{}{} {}",
        laid.unwrap_or_default(),
        stage_name(main.stage, live).to_lowercase(),
        with_likely(main.window)
    ))
}

/// Which species a question is about.
pub(in crate::conversation) fn which_kind(choices: Vec<String>) -> Reply {
    Reply { kind: Kind::Question, choices, ..Reply::sentence("Of which species are they?") }
}
