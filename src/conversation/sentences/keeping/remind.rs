//! Reminders in words.

use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;
use jiff::{Timestamp, Zoned};

use super::changed::UNDO;
use super::{count, list_of};
use crate::collection::animal::Animal;
use crate::collection::herd::Herd;
use crate::collection::reminder::rule::{Rule, Unit};
use crate::collection::reminder::{Moment, Reminder, State};
use crate::collection::store::Due;
use crate::conversation::desk::Front;
use crate::conversation::keeping::remind::{Event, Window};
use crate::reading::dates::{When, month_name};
use crate::reading::places;
use crate::reply::{Kind, Offer, Reply, Row};

/// From here on a reminder says that it is late, in seconds.
const LATE_S: i64 = 300;
/// Reminders of one list.
const ROWS: usize = 30;
/// Characters of one list: below what a reply may have, so that how many are left out is counted here.
const LIST: usize = 1_300;

fn weekday(day: i8) -> &'static str {
    const NAMES: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
    usize::try_from(day - 1).ok().and_then(|d| NAMES.get(d)).copied().unwrap_or("")
}

fn clock(at: Time) -> String {
    at.strftime("%H:%M").to_string()
}

/// "Sunday 6 December 2026".
fn day(day: Date) -> String {
    format!("{} {}", weekday(day.weekday().to_monday_one_offset()), When::Day(day).words())
}

/// "Sunday 6 December 2026 at 18:00".
fn at(moment: &Zoned) -> String {
    format!("{} at {}", day(moment.date()), clock(moment.time()))
}

fn zoned(moment: Timestamp, zone: &str) -> Zoned {
    moment.to_zoned(places::zone(zone).unwrap_or(TimeZone::UTC))
}

/// "every Sunday at 18:00", "every 2 weeks on Wednesday and Sunday at 18:00", "every 1 March at 09:00".
fn rule(rule: &Rule) -> String {
    let n = rule.every;
    let each = |one: &str, many: &str| if n == 1 { format!("every {one}") } else { format!("every {n} {many}") };
    let hour = clock(rule.at);
    match rule.unit {
        Unit::Hours => each("hour", "hours"),
        Unit::Days => format!("{} at {hour}", each("day", "days")),
        Unit::Weeks => {
            let own = [rule.from.weekday().to_monday_one_offset()];
            let on = if rule.on.is_empty() { &own[..] } else { &rule.on[..] };
            let days = list_of(&on.iter().map(|d| weekday(*d).to_owned()).collect::<Vec<_>>());
            if n == 1 { format!("every {days} at {hour}") } else { format!("every {n} weeks on {days} at {hour}") }
        }
        Unit::Months => format!("{} on the {} at {hour}", each("month", "months"), nth(rule.from.day())),
        Unit::Years => {
            let on = format!("{} {}", rule.from.day(), month_name(rule.from.month()));
            if n == 1 { format!("every {on} at {hour}") } else { format!("every {n} years on {on} at {hour}") }
        }
    }
}

fn nth(n: i8) -> String {
    let end = match (n / 10, n % 10) {
        (1, _) => "th",
        (_, 1) => "st",
        (_, 2) => "nd",
        (_, 3) => "rd",
        _ => "th",
    };
    format!("{n}{end}")
}

/// When a reminder comes: "every Sunday at 18:00 (Berlin)", "on Sunday 6 December 2026 at 18:00 (Berlin)".
fn comes(reminder: &Reminder) -> String {
    let zone = places::called(&reminder.zone);
    match &reminder.rule {
        Some(own) => format!("{} ({zone})", rule(own)),
        None => format!("on {} ({zone})", at(&zoned(reminder.next_at, &reminder.zone))),
    }
}

pub(in crate::conversation) fn set_past(new: &Reminder) -> String {
    format!("set reminder {}: {}", new.number, new.what)
}

/// A reminder was set; the moment is repeated.
pub(in crate::conversation) fn set(new: &Reminder, front: Front, assumed: &[String], notes: &[String]) -> Reply {
    let mut reply = Reply::sentence(format!("Saved as reminder {}: {}, {}.", new.number, new.what, comes(new)));
    first_time(&mut reply, new);
    reply.notes.extend_from_slice(notes);
    reply.notes.extend(match front {
        Front::Unsaid => None,
        Front::Terminal => Some("It is shown here while the program runs, or when it is started next.".to_owned()),
        Front::Direct => Some("It comes here, by direct message.".to_owned()),
        Front::Channel(_) => Some(
            "It comes by direct message; should that be closed to me then, in the channel where you set it, where others \
             can read it."
                .to_owned(),
        ),
    });
    reply.notes.push(UNDO.to_owned());
    reply.assumed.extend_from_slice(assumed);
    reply
}

fn first_time(reply: &mut Reply, reminder: &Reminder) {
    if reminder.rule.is_some() {
        reply.answer.push(format!("It comes first on {}.", at(&zoned(reminder.next_at, &reminder.zone))));
    }
    reply.moment = Some(reminder.next_at);
}

/// All that are to come.
pub(in crate::conversation) fn list(herd: &Herd) -> Reply {
    let open = herd.open_reminders();
    if open.is_empty() {
        return none_set();
    }
    let mut reply = Reply::sentence(format!("{}, the next first:", count(open.len(), "reminder", "reminders")));
    let mut left = LIST;
    let fits = |line: &String| {
        let n = line.chars().count() + 3;
        let fits = n <= left;
        left = left.saturating_sub(n);
        fits
    };
    reply.rows.extend(open.iter().take(ROWS).map(|r| line(r)).take_while(fits).map(Row::heading));
    if open.len() > reply.rows.len() {
        reply.rest = Some(format!("and {} later ones", open.len() - reply.rows.len()));
    }
    reply.notes.push(
        "\"snooze reminder 1 for 2 days\", \"move reminder 1 to friday 18:00\", \"remove reminder 1\".".to_owned(),
    );
    reply
}

/// "2: weigh the girls, every Sunday at 18:00 (Berlin), next on Sunday 6 December 2026 at 18:00".
fn line(reminder: &Reminder) -> String {
    let next = reminder.next().unwrap_or(reminder.next_at);
    let put_off = reminder.moments.iter().any(|m| m.extra && m.due_at == next);
    let after = match (&reminder.rule, put_off) {
        (None, false) => String::new(),
        (_, true) => format!(", put off to {}", at(&zoned(next, &reminder.zone))),
        (Some(_), false) => format!(", next on {}", at(&zoned(next, &reminder.zone))),
    };
    let when = if reminder.rule.is_none() && put_off { String::new() } else { format!(", {}", comes(reminder)) };
    format!("{}: {}{when}{after}", reminder.number, reminder.what)
}

fn none_set() -> Reply {
    Reply::sentence("You have no reminders. Say for example \"remind me in 10 days to candle the eggs\".")
}

pub(in crate::conversation) fn none() -> Reply {
    Reply { kind: Kind::Refusal, ..none_set() }
}

pub(in crate::conversation) fn no_such(n: i32, open: &[&Reminder]) -> Reply {
    Reply::refusal(match open {
        [] => format!("There is no reminder {n}: you have none."),
        [only] => format!("There is no reminder {n}. You have one, number {}: {}.", only.number, only.what),
        _ => format!("There is no reminder {n}. \"My reminders\" shows all {} with their numbers.", open.len()),
    })
}

pub(in crate::conversation) fn none_about(words: &str, open: &[&Reminder]) -> Reply {
    Reply::refusal(if open.is_empty() {
        format!("No reminder is about \"{words}\": you have none.")
    } else {
        format!("No reminder is about \"{words}\". \"My reminders\" shows all {}.", open.len())
    })
}

pub(in crate::conversation) fn several_about(words: &str, found: &[&Reminder]) -> Reply {
    let mut reply =
        Reply::refusal(format!("{} are about \"{words}\"; say the number of the one you mean:", found.len()));
    reply.rows.extend(found.iter().take(ROWS).map(|r| Row::heading(line(r))));
    reply
}

pub(in crate::conversation) fn removed_past(gone: &[&Reminder]) -> String {
    match gone {
        [only] => format!("removed reminder {}: {}", only.number, only.what),
        _ => format!("removed {}", count(gone.len(), "reminder", "reminders")),
    }
}

pub(in crate::conversation) fn removed(gone: &[&Reminder]) -> Reply {
    let mut reply = Reply::sentence(match gone {
        [only] => format!("Removed reminder {}: {}.", only.number, only.what),
        _ => format!("Removed {}.", count(gone.len(), "reminder", "reminders")),
    });
    reply.notes.push(UNDO.to_owned());
    reply
}

pub(in crate::conversation) fn for_how_long(reminder: &Reminder) -> Reply {
    Reply::refusal(format!(
        "For how long shall reminder {} wait ({})? Say \"snooze reminder {} for 2 days\".",
        reminder.number, reminder.what, reminder.number
    ))
}

pub(in crate::conversation) fn snoozed_past(reminder: &Reminder, until: Timestamp) -> String {
    format!("put reminder {} off to {}", reminder.number, at(&zoned(until, &reminder.zone)))
}

pub(in crate::conversation) fn snoozed(reminder: &Reminder, until: Timestamp) -> Reply {
    let mut reply = Reply::sentence(format!(
        "Reminder {} ({}) is put off to {} ({}).",
        reminder.number,
        reminder.what,
        at(&zoned(until, &reminder.zone)),
        places::called(&reminder.zone)
    ));
    if let Some(own) = &reminder.rule {
        reply.answer.push(format!("After that it goes on as before: {}.", rule(own)));
    }
    reply.moment = Some(until);
    reply.notes.push(UNDO.to_owned());
    reply
}

pub(in crate::conversation) fn moved_past(reminder: &Reminder) -> String {
    format!("moved reminder {}: {}, {}", reminder.number, reminder.what, comes(reminder))
}

pub(in crate::conversation) fn moved(reminder: &Reminder, assumed: &[String], notes: &[String]) -> Reply {
    let mut reply =
        Reply::sentence(format!("Reminder {} is moved: {}, {}.", reminder.number, reminder.what, comes(reminder)));
    first_time(&mut reply, reminder);
    reply.notes.extend_from_slice(notes);
    reply.notes.push(UNDO.to_owned());
    reply.assumed.extend_from_slice(assumed);
    reply
}

pub(in crate::conversation) fn reworded_past(reminder: &Reminder) -> String {
    format!("changed what reminder {} says to: {}", reminder.number, reminder.what)
}

pub(in crate::conversation) fn reworded(reminder: &Reminder) -> Reply {
    let mut reply = Reply::sentence(format!("Reminder {} says from now on: {}.", reminder.number, reminder.what));
    reply.notes.push(UNDO.to_owned());
    reply
}

pub(in crate::conversation) fn too_many(most: usize) -> Reply {
    Reply::refusal(format!(
        "You have {most} reminders, which is the most. Remove one first: \"my reminders\" shows them all."
    ))
}

pub(in crate::conversation) fn too_long(n: usize, most: usize) -> Reply {
    Reply::refusal(format!("That has {n} characters; a reminder may have {most}. Nothing was saved."))
}

/// Everything is said but what to say.
pub(in crate::conversation) fn of_what() -> Reply {
    Reply { kind: Kind::Question, ..Reply::sentence("Of what? Say it in your words, for example \"candle the eggs\".") }
}

/// The same is set.
pub(in crate::conversation) fn there_already(there: &Reminder) -> Reply {
    Reply::refusal(format!("That is set already, as reminder {}: {}, {}.", there.number, there.what, comes(there)))
}

/// Something else was talked of while a reminder waits for a clock.
pub(in crate::conversation) fn still_waits() -> String {
    "Your reminder is not set yet: name your city or country for its clock, or say \"cancel\".".to_owned()
}

pub(in crate::conversation) fn when() -> Reply {
    Reply::refusal(
        "When? Say both in one line: \"remind me on 12 May at 18:00 to weigh Nala\", \"in 10 days\", \"every Sunday\".",
    )
}

/// No time zone is known.
pub(in crate::conversation) fn where_are_you() -> Reply {
    Reply {
        kind: Kind::Question,
        ..Reply::sentence("By whose clock? Name your city or country once, for example \"Berlin\", and I keep it.")
    }
}

pub(in crate::conversation) fn machines_clock(zone: &str) -> String {
    format!("the clock of this machine counts ({}; \"my time zone is …\" sets another)", places::called(zone))
}

pub(in crate::conversation) fn usual_hour(hour: Time) -> String {
    format!("{} is a good hour, as you said none", clock(hour))
}

pub(in crate::conversation) fn no_such_hour() -> Reply {
    Reply::refusal("There is no such hour: say it from 0:00 to 23:59, or with am or pm.")
}

pub(in crate::conversation) fn which_hour(early: Time, late: Time) -> Reply {
    Reply {
        kind: Kind::Question,
        choices: vec![clock(early), clock(late)],
        ..Reply::sentence("In the morning or in the evening?")
    }
}

pub(in crate::conversation) fn which_day(days: &[Date], _: Date) -> Reply {
    Reply { kind: Kind::Question, choices: days.iter().map(|d| day(*d)).collect(), ..Reply::sentence("On which day?") }
}

/// "Tomorrow" after midnight.
pub(in crate::conversation) fn which_tomorrow(days: &[Date], today: Date) -> Reply {
    let shown = |d: &Date| if *d == today { format!("{} (today, by the clock)", day(*d)) } else { day(*d) };
    Reply {
        kind: Kind::Question,
        choices: days.iter().map(shown).collect(),
        ..Reply::sentence("It is after midnight: which day is your \"tomorrow\"?")
    }
}

pub(in crate::conversation) fn which_of(said: &str) -> Reply {
    Reply::refusal(format!("\"{said}\" has many days: say one of them, such as \"on 12 May at 18:00\"."))
}

pub(in crate::conversation) fn over(moment: &Zoned, now: &Zoned) -> Reply {
    let said = if moment.date() == now.date() {
        format!("{} is over today", clock(moment.time()))
    } else {
        format!("{} is over", at(moment))
    };
    Reply::refusal(format!("{said}; it is {} now where you are. Say a later moment.", at(now)))
}

pub(in crate::conversation) fn too_far(years: i64) -> Reply {
    Reply::refusal(format!("That is too far ahead: {years} years is the most."))
}

pub(in crate::conversation) fn too_often() -> Reply {
    Reply::refusal("That is too often: once an hour is the most.")
}

pub(in crate::conversation) fn in_hours() -> Reply {
    Reply::refusal("Say it in whole hours: \"every 2 hours\".")
}

/// Clocks leave the hour out.
pub(in crate::conversation) fn left_out(said: Time, comes: &Zoned) -> String {
    format!("Clocks go forward then and leave {} out: it comes at {}.", clock(said), clock(comes.time()))
}

pub(in crate::conversation) fn no_due_date(name: &str) -> Reply {
    Reply::refusal(format!(
        "I know no date for {name}: record her ovulation, her pre-lay shed or her eggs with their day first, or say a day."
    ))
}

fn event(event: Event) -> &'static str {
    match event {
        Event::Laying => "to lay",
        Event::Birth => "to give birth",
        Event::Hatching => "with hatching eggs",
    }
}

/// "Nala is due to lay, most likely on 30 January 2027".
pub(in crate::conversation) fn due(name: &str, window: &Window) -> String {
    format!("{name} is due {}, most likely on {}", event(window.event), When::Day(window.likely).words())
}

/// A reminder that can be set with one step.
pub(in crate::conversation) fn offer(animal: &Animal, window: &Window, day: Date, days_before: u32) -> Offer {
    let name = animal.called();
    let words = match days_before {
        0 => format!("remind me when {name} is due"),
        1 => format!("remind me 1 day before {name} is due"),
        n => format!("remind me {n} days before {name} is due"),
    };
    let on = When::Day(day).words();
    let why = if day == window.first { "the first day on which it can begin" } else { "the most likely day" };
    Offer {
        says: format!("Say \"{words}\" and I remind you on {on}, {why}."),
        label: format!("Remind me on {on}"),
        about: animal.id.bits(),
        days_before,
    }
}

/// How sure that is.
pub(in crate::conversation) fn window(name: &str, window: &Window) -> String {
    format!(
        "{name} is due {} between {} and {}, by the usual numbers of the species. If the date changes, set the reminder anew.",
        event(window.event),
        When::Day(window.first).words(),
        When::Day(window.last).words()
    )
}

/// Reminders that are told now: one, or those that waited long together. What is late says so.
#[must_use]
pub fn reminders_told(together: &[Due], now: Timestamp) -> Reply {
    let told = |due: &Due| {
        let late = now.duration_since(due.at).as_secs() > LATE_S;
        let when = if late { format!(" (was due {})", at(&zoned(due.at, &due.zone))) } else { String::new() };
        format!("Reminder {}: {}{when}", due.number, due.what)
    };
    let mut reply = Reply::default();
    if together.len() > 1 {
        reply
            .answer
            .push(format!("{} waited while I could not tell them:", count(together.len(), "reminder", "reminders")));
    }
    reply.answer.extend(together.iter().map(told));
    reply
}

/// Reminders that could be told nowhere, at the keeper's next visit.
pub(in crate::conversation) fn missed(herd: &Herd) -> Vec<String> {
    let missed = |r: &Reminder| {
        let of = |m: &&Moment| m.state == State::Missed;
        r.moments.iter().filter(of).map(|m| line_missed(r, m.due_at)).collect::<Vec<_>>()
    };
    herd.reminders.iter().flat_map(missed).collect()
}

fn line_missed(reminder: &Reminder, due: Timestamp) -> String {
    format!(
        "Not delivered: reminder {}, {} (was due {}).",
        reminder.number,
        reminder.what,
        at(&zoned(due, &reminder.zone))
    )
}
