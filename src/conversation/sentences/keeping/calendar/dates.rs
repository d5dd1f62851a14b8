//! What is due, how late it is, and what the dates rest on.

use jiff::civil::Date;

use super::super::{clutch_short, count, with_code};
use crate::collection::animal::Animal;
use crate::collection::calendar::course::{Course, Expected, Lateness, lateness, overdue_from};
use crate::collection::calendar::learned::Learned;
use crate::collection::calendar::numbers::{Basis, Days, Numbers};
use crate::collection::calendar::window::{Window, days_between};
use crate::collection::events::Clutch;
use crate::collection::herd::Herd;
use crate::reading::dates::{When, month_name};
use crate::reading::records::kinds::Stage;
use crate::reply::{Kind, Reply, Row};
use crate::species::Species;

/// Stages that are listed of one course.
const ROWS: usize = 9;
/// So long past her day she has most likely laid, and nobody told.
const UNTOLD: i64 = 60;
/// In a window of more days than this it is not "any day now".
const LONG_WINDOW: i64 = 40;

/// "9 February 2027".
pub(in crate::conversation) fn day(date: Date) -> String {
    When::Day(date).words()
}

/// "2 to 14 February 2027", "28 January to 14 February 2027".
pub(in crate::conversation) fn days_of(window: Window) -> String {
    let (one, other) = (window.earliest(), window.latest());
    if one == other {
        return day(one);
    }
    let first = if one.year() != other.year() {
        day(one)
    } else if one.month() != other.month() {
        format!("{} {}", one.day(), month_name(one.month()))
    } else {
        one.day().to_string()
    };
    format!("{first} to {}", day(other))
}

/// "2 to 14 February 2027, most likely the 9th".
pub(in crate::conversation) fn with_likely(window: Window) -> String {
    let (one, likely, other) = (window.earliest(), window.likely(), window.latest());
    if one == other {
        return day(one);
    }
    let likely = if (likely.year(), likely.month()) == (other.year(), other.month())
        && (one.year(), one.month()) == (other.year(), other.month())
    {
        format!("the {}", nth(likely.day()))
    } else {
        format!("{} {}", likely.day(), month_name(likely.month()))
    };
    format!("{}, most likely {likely}", days_of(window))
}

fn nth(day: i8) -> String {
    let end = match (day % 10, day) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{day}{end}")
}

/// "in 12 days", "tomorrow", "today", "3 days ago".
pub(in crate::conversation) fn away(today: Date, date: Date) -> String {
    let days = days_between(today, date);
    let n = usize::try_from(days.unsigned_abs()).unwrap_or(usize::MAX);
    match days {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        -1 => "yesterday".to_owned(),
        2.. => format!("in {}", count(n, "day", "days")),
        _ => format!("{} ago", count(n, "day", "days")),
    }
}

/// "40 to 60 days, mostly 48".
pub(in crate::conversation) fn days_words(days: &Days) -> String {
    let (low, usual, high) = (days.low(), days.usual(), days.high());
    if low == high { format!("{usual} days") } else { format!("{low} to {high} days, mostly {usual}") }
}

/// "common default, no source".
pub(in crate::conversation) fn basis_words(basis: Basis) -> String {
    match basis {
        Basis::Common => "common default, no source".to_owned(),
        Basis::Memory => "a default from memory, no source".to_owned(),
        Basis::Published => "the default, published".to_owned(),
        Basis::Warmth(tenths) => {
            format!("the common default for eggs at {} °C: warmer is quicker", celsius(i64::from(tenths)))
        }
        Basis::Told => "your own number".to_owned(),
        Basis::OfClutch => "as you said of this clutch".to_owned(),
        Basis::Median(n) => format!("your own median of {n} records"),
    }
}

/// "31.5" of 315 tenths.
pub(in crate::conversation) fn celsius(tenths: i64) -> String {
    if tenths % 10 == 0 { (tenths / 10).to_string() } else { format!("{}.{}", tenths / 10, (tenths % 10).abs()) }
}

/// The name of a stage at the head of a line.
pub(in crate::conversation) fn stage_name(stage: Stage, live: bool) -> &'static str {
    match (stage, live) {
        (Stage::Paired, _) => "Paired",
        (Stage::Ovulation, _) => "Ovulation",
        (Stage::Gravid, _) => "Seen to carry",
        (Stage::Shed, false) => "Pre-lay shed",
        (Stage::Shed, true) => "Shed after ovulation",
        (Stage::Laying, false) => "Eggs",
        (Stage::Laying, true) => "Birth",
        (Stage::Pip, _) => "First pip",
        (Stage::Hatch, _) => "Hatching",
        (Stage::FirstShed, _) => "First shed of the young",
        (Stage::FirstMeal, _) => "First meal, after that shed",
    }
}

/// The name of a stage inside a sentence: "her ovulation".
fn whose_stage(stage: Stage, live: bool) -> &'static str {
    match (stage, live) {
        (Stage::Paired, _) => "her pairing",
        (Stage::Ovulation, _) => "her ovulation",
        (Stage::Gravid, _) => "the day she was seen to carry",
        (Stage::Shed, false) => "her pre-lay shed",
        (Stage::Shed, true) => "her shed after ovulation",
        (Stage::Laying, false) => "the eggs",
        (Stage::Laying, true) => "the birth",
        (Stage::Pip, _) => "the first pip",
        (Stage::Hatch, _) => "hatching",
        (Stage::FirstShed, _) => "the first shed",
        (Stage::FirstMeal, _) => "the first meal",
    }
}

/// What an event is, as something that somebody does: "lays", "hatch".
fn does(stage: Stage, live: bool) -> &'static str {
    match (stage, live) {
        (Stage::Laying, false) => "lays",
        (Stage::Laying, true) => "gives birth",
        (Stage::Ovulation, _) => "ovulates",
        (Stage::Shed, _) => "sheds",
        _ => "is due",
    }
}

/// The dates of a female's season, or of the eggs that she may lay.
pub(in crate::conversation) fn season_of(
    numbers: &Numbers<'_>,
    animal: &Animal,
    course: &Course,
    asked: Option<Stage>,
    today: Date,
) -> Reply {
    let live = numbers.is_live_bearing();
    let main = asked.and_then(|stage| course.expected(stage)).or_else(|| course.expected(Stage::Laying));
    let mut reply = Reply { understood: head(numbers.species, animal), ..Reply::default() };
    let Some(main) = main else {
        reply.answer.push(no_date_yet(numbers, animal, course));
        return reply;
    };
    if let Some(laying) = course.expected(Stage::Laying) {
        reply.cautions.extend(overdue(numbers, animal, course, laying, today));
    }
    let who = animal.called();
    reply.answer.push(match main.stage {
        Stage::Laying | Stage::Ovulation | Stage::Shed => {
            format!("{who} {} {}: {}.", does(main.stage, live), with_likely(main.window), standing(today, main.window))
        }
        stage => format!("{} {}.", of_her(&who, stage), with_likely(main.window)),
    });
    rows(&mut reply, course, asked.unwrap_or(Stage::Hatch).max(Stage::Hatch), live);
    reply.notes.push(counted_from(main, live));
    if main.against {
        reply.notes.push(
            "Her earlier records say other days; I went by the nearest one. Check the dates if that surprises you."
                .to_owned(),
        );
    }
    if let Some(months) = main.out_of {
        let lays = if live { "gives birth" } else { "lays" };
        reply.notes.push(format!(
            "Her kind usually {lays} {}; what you saw of her says other days, and that counts.",
            days_of(months)
        ));
    }
    if !course.carries() && course.seen(Stage::Laying).is_none() {
        reply.notes.push(not_shown_yet(live));
    } else if course.expected(Stage::Shed).is_some() {
        reply.notes.push(format!(
            "Her {} will narrow it: say \"{who} had her {} on the 3rd\".",
            if live { "shed" } else { "pre-lay shed" },
            if live { "post ovulation shed" } else { "pre lay shed" }
        ));
    }
    reply
}

fn of_her(who: &str, stage: Stage) -> String {
    match stage {
        Stage::Pip => format!("{who}'s eggs, once laid, pip"),
        Stage::Hatch => format!("{who}'s eggs, once laid, hatch"),
        Stage::FirstShed => format!("{who}'s young, once there, shed"),
        _ => format!("{who}'s young, once there, are offered food"),
    }
}

fn head(species: &Species, animal: &Animal) -> String {
    format!("{}, {}", with_code(animal), species.name().to_lowercase())
}

/// "in 12 days", "any day now", "3 days past the latest".
fn standing(today: Date, window: Window) -> String {
    if today < window.earliest() {
        away(today, window.likely())
    } else if today <= window.latest() && (window.width() <= LONG_WINDOW || today > window.likely()) {
        "any day now".to_owned()
    } else if today <= window.latest() {
        format!("most likely {}", away(today, window.likely()))
    } else {
        let n = usize::try_from(days_between(window.latest(), today)).unwrap_or(0);
        format!("{} past the latest usual day", count(n, "day", "days"))
    }
}

fn rows(reply: &mut Reply, course: &Course, last: Stage, live: bool) {
    for (stage, on) in course.seen.iter().take(ROWS) {
        reply.rows.push(Row::heading(format!("{}: {} (recorded)", stage_name(*stage, live), on.words())));
    }
    // By the months alone the days of the eggs are too wide to be told.
    let last =
        if course.expected(Stage::Laying).is_some_and(|e| e.reason.days.is_none()) { Stage::Laying } else { last };
    for expected in course.ahead.iter().filter(|e| e.stage <= last).take(ROWS) {
        reply.rows.push(Row::heading(format!(
            "{}: {}",
            stage_name(expected.stage, live),
            with_likely(expected.window)
        )));
    }
}

/// What a date is counted from, with the days and what they rest on.
pub(in crate::conversation) fn counted_from(expected: &Expected, live: bool) -> String {
    let reason = expected.reason;
    let from = whose_stage(reason.from, live);
    let on = if reason.seen { format!(" ({})", days_of(reason.on)) } else { " as expected".to_owned() };
    match reason.days {
        Some(days) => {
            format!("Counted from {from}{on}: {} ({}).", days_words(&days), basis_words(days.basis))
        }
        None => format!(
            "She was paired{on}, and no sign is recorded since: this is only the season in which her kind lays (common default, \
             no source)."
        ),
    }
}

fn not_shown_yet(live: bool) -> String {
    let shed = if live { "post ovulation shed" } else { "pre lay shed" };
    format!(
        "She may not have taken. Tell me what you see, and it gets narrower: \"she ovulated today\", \"she had her {shed} \
         yesterday\"."
    )
}

fn no_date_yet(numbers: &Numbers<'_>, animal: &Animal, course: &Course) -> String {
    let who = animal.called();
    let seen: Vec<String> = course
        .seen
        .iter()
        .map(|(stage, on)| format!("{} {}", stage_name(*stage, numbers.is_live_bearing()).to_lowercase(), on.words()))
        .collect();
    let what = if numbers.is_live_bearing() { "birth" } else { "laying" };
    format!(
        "No day of {what} follows from what is recorded of {who} ({}): say when she ovulates or has the shed after it.",
        seen.join(", ")
    )
}

/// What is said before all else of a female that is past her days.
pub(in crate::conversation) fn overdue(
    numbers: &Numbers<'_>,
    animal: &Animal,
    course: &Course,
    laying: &Expected,
    today: Date,
) -> Option<String> {
    let live = numbers.is_live_bearing();
    // By the months alone nobody is overdue: she may not have taken.
    laying.reason.days?;
    let who = with_code(animal);
    let (trouble, signs) = if live {
        ("a birth that does not go on", "straining, weakness, or slugs and stillborn young without an end")
    } else {
        ("egg binding", "straining, a swelling behind the last egg, restless wandering or weakness")
    };
    let laid = if live { "gave birth" } else { "laid" };
    let record = if live { "had 12 live babies" } else { "laid 6 eggs" };
    let likely = day(laying.window.likely());
    let sure = course.carries();
    match lateness(numbers, laying, today) {
        Lateness::Early(_) | Lateness::Now => None,
        Lateness::Past(n) => {
            let n = count(usize::try_from(n).unwrap_or(0), "day", "days");
            let by = day(overdue_from(numbers, laying));
            Some(format!(
                "{who} is {n} past the usual days. It can be {trouble}: with {signs} she needs a reptile vet at once, and \
                 without any of it a reptile vet on {by} if nothing has come by then."
            ))
        }
        Lateness::Overdue(n) if n > UNTOLD => Some(format!(
            "{who} should have {laid} about {likely}, and nothing is recorded of it. If she has, say \"{} {record} on the 3rd\". \
             If she has not and looks full, or with {signs}, it can be {trouble}: a reptile vet now.",
            animal.called()
        )),
        Lateness::Overdue(n) if sure => {
            let n = count(usize::try_from(n).unwrap_or(0), "day", "days");
            Some(format!(
                "{who} is overdue: {n} past the usual day ({likely}). That can be {trouble}, which kills if nobody acts: see a \
                 reptile vet now, also if she seems well, and tell them the dates below. If she has {laid} already, say \"{} \
                 {record} on the 3rd\".",
                animal.called()
            ))
        }
        Lateness::Overdue(n) => {
            let n = count(usize::try_from(n).unwrap_or(0), "day", "days");
            Some(format!(
                "{who} is {n} past the usual day after her pairing ({likely}). She may not have taken; but if she looks full, or \
                 with {signs}, it can be {trouble}: a reptile vet at once."
            ))
        }
    }
}

/// "Is she late?"
pub(in crate::conversation) fn late(numbers: &Numbers<'_>, animal: &Animal, course: &Course, today: Date) -> Reply {
    let live = numbers.is_live_bearing();
    let mut reply = season_of(numbers, animal, course, None, today);
    let Some(laying) = course.expected(Stage::Laying) else { return reply };
    let who = animal.called();
    let what = if live { "gives birth" } else { "lays" };
    let first = match lateness(numbers, laying, today) {
        Lateness::Early(n) => format!(
            "No, {who} is not late: {} until the first usual day. She {what} {}.",
            count(usize::try_from(n).unwrap_or(0), "day", "days"),
            with_likely(laying.window)
        ),
        Lateness::Now => format!("No, {who} is within her days: she {what} {}.", with_likely(laying.window)),
        Lateness::Past(_) | Lateness::Overdue(_) if laying.reason.days.is_none() => format!(
            "{who} shows no sign since her pairing, and the season in which her kind lays is over ({}): she most likely did not \
             take.",
            days_of(laying.window)
        ),
        Lateness::Past(_) | Lateness::Overdue(_) => format!(
            "Yes: {who} is {} past the latest usual day, and {} past the most likely one.",
            count(usize::try_from(days_between(laying.window.latest(), today)).unwrap_or(0), "day", "days"),
            count(usize::try_from(days_between(laying.window.likely(), today)).unwrap_or(0), "day", "days"),
        ),
    };
    if let Some(line) = reply.answer.first_mut() {
        *line = first;
    }
    reply
}

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

/// Nothing of a season is recorded.
pub(in crate::conversation) fn no_season(herd: &Herd, animal: &Animal, last: Option<&Clutch>, live: bool) -> Reply {
    let who = animal.called();
    let mut reply = Reply::sentence(format!(
        "Nothing is due for {}: no pairing, sign or eggs of a running season are recorded.",
        with_code(animal)
    ));
    if let Some(clutch) = last {
        let hatched = clutch.hatched.map_or_else(String::new, |on| format!("; it hatched {}", on.words()));
        reply.answer.push(format!("Her last one: {}{hatched}.", clutch_short(herd, clutch)));
    }
    let born = if live { "had 12 live babies" } else { "laid 6 eggs" };
    reply.notes.push(format!(
        "Tell me what happens: \"{who} locked with … yesterday\", \"{who} ovulated today\", \"{who} {born} on 3 March\"."
    ));
    reply
}

/// Eggs that hatched already.
pub(in crate::conversation) fn hatched_already(herd: &Herd, clutch: &Clutch) -> Reply {
    let on = clutch.hatched.map_or_else(String::new, |on| format!(" on {}", on.words()));
    Reply::refusal(format!("That clutch has hatched already{on}: {}.", clutch_short(herd, clutch)))
}

/// A male is due for nothing.
pub(in crate::conversation) fn male_is_not_due(animal: &Animal) -> Reply {
    Reply::refusal(format!("{} is male: eggs are due for a female. Ask by her name.", with_code(animal)))
}

/// Somebody who is not here any more.
pub(in crate::conversation) fn no_longer_here(animal: &Animal) -> Reply {
    let what = super::super::status_word(animal.status);
    Reply::refusal(format!("{} is {what}: nothing is due.", with_code(animal)))
}

/// More days than any eggs take.
pub(in crate::conversation) fn no_such_egg_day(day: i64) -> Reply {
    Reply::refusal(format!("Day {day} is beyond any incubation I know. Which day was it laid?"))
}

/// The keeper's own median beside the days that were used.
pub(in crate::conversation) fn learned(found: &Learned, what: &str) -> String {
    format!(
        "Your own median of {what} is {} days ({} to {}, {} records). Say \"use mine\" to count by it.",
        celsius(found.median),
        celsius(found.low),
        celsius(found.high),
        found.records
    )
}

/// What an interval is, in words.
pub(in crate::conversation) fn interval_words(
    interval: crate::collection::calendar::numbers::Interval,
    live: bool,
) -> &'static str {
    use crate::collection::calendar::numbers::Interval;
    match (interval, live) {
        (Interval::MatingToLaying, false) => "mating to laying",
        (Interval::MatingToLaying, true) => "mating to birth",
        (Interval::OvulationToShed, false) => "ovulation to pre-lay shed",
        (Interval::OvulationToShed, true) => "ovulation to the shed after it",
        (Interval::ShedToLaying, false) => "pre-lay shed to laying",
        (Interval::ShedToLaying, true) => "shed after ovulation to birth",
        (Interval::OvulationToLaying, false) => "ovulation to laying",
        (Interval::OvulationToLaying, true) => "ovulation to birth",
        (Interval::BetweenClutches, _) => "one clutch to the next",
        (Interval::Incubation, _) => "laying to hatching",
        (Interval::Pip, _) => "first pip to leaving the egg",
        (Interval::FirstShed, _) => "hatching to the first shed",
        (Interval::FirstMeal, _) => "first shed to the first meal",
        (Interval::Overdue, _) => "usual day to overdue",
    }
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

/// When an animal can be paired again.
pub(in crate::conversation) struct Again<'a> {
    pub(in crate::conversation) animal: &'a Animal,
    pub(in crate::conversation) species: &'a Species,
    pub(in crate::conversation) today: Date,
    /// The season that it is for.
    pub(in crate::conversation) season: Option<Window>,
    /// She can go now, and now is a month for it.
    pub(in crate::conversation) now: bool,
    /// Why not now, in sentences.
    pub(in crate::conversation) why: Vec<String>,
    /// What the answer rests on.
    pub(in crate::conversation) rests_on: Vec<String>,
}

pub(in crate::conversation) fn again(found: &Again<'_>) -> Reply {
    let who = found.animal.called();
    let mut reply = Reply { understood: head(found.species, found.animal), ..Reply::default() };
    let first = match (found.now, found.season) {
        (true, Some(season)) => {
            format!("{who} can be paired now: the season goes on until {}.", day(season.latest()))
        }
        (_, Some(season)) if season.earliest() <= found.today => {
            format!("{who} is not ready yet; this season goes on until {}.", day(season.latest()))
        }
        (_, Some(season)) => format!(
            "{who} can be paired from {} on, mostly about {}.",
            month_of(season.earliest()),
            month_of(season.likely())
        ),
        (true, None) => format!("{who} can be paired now."),
        (false, None) => format!("{who} cannot be paired yet."),
    };
    reply.answer.push(first);
    reply.answer.extend(found.why.iter().cloned());
    reply.notes.extend(found.rests_on.iter().cloned());
    reply
}

/// "November 2027".
pub(in crate::conversation) fn month_of(date: Date) -> String {
    When::Month(date.year(), date.month()).words()
}

/// Which species a question is about.
pub(in crate::conversation) fn which_kind(choices: Vec<String>) -> Reply {
    Reply { kind: Kind::Question, choices, ..Reply::sentence("Of which species are they?") }
}
