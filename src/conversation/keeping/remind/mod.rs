//! Reminders: set, listed, put off, changed, let go.
//!
//! The moment is worked out in [`when`], in the keeper's zone; whoever told none is asked for it once. What is saved is a
//! change like any other, so it can be taken back.

mod due; // when an animal is due
mod when; // a moment that was said, to a moment

pub(in crate::conversation) use due::{Event, Window};

use self::when::{Settled, Times};
use super::home::with_zone;
use super::{Ask, Desk, Done, Stop};
use crate::collection::animal::Animal;
use crate::collection::calendar::window::days_between;
use crate::collection::change::Change;
use crate::collection::herd::Herd;
use crate::collection::name::tidy;
use crate::collection::reminder::rule::{Unit, moment};
use crate::collection::reminder::{MOST_OPEN, MOST_TEXT, Reminder};
use crate::conversation::sentences::keeping as say;
use crate::reading::ahead::Ahead;
use crate::reading::places::{self, Half};
use crate::reading::records::message::Called;
use crate::reading::records::remind::{RemindSaid, Which};
use crate::reply::Reply;

pub(super) fn remind(desk: &Desk<'_>, said: &RemindSaid) -> Result<Done, Stop> {
    match said {
        RemindSaid::Set { what, ahead, who } => set(desk, what, ahead, who.as_ref()),
        RemindSaid::List => Ok(Done::say(say::remind::list(desk.herd))),
        RemindSaid::Remove(which) => remove(desk, which),
        RemindSaid::Snooze(which, ahead) => snooze(desk, which, ahead),
        RemindSaid::Move(which, ahead) => shift(desk, which, ahead),
        RemindSaid::Reword(which, what) => reword(desk, which, what),
    }
}

fn set(desk: &Desk<'_>, what: &str, ahead: &Ahead, who: Option<&Called>) -> Result<Done, Stop> {
    if desk.herd.open_reminders().len() >= MOST_OPEN {
        return Err(Stop::say(say::remind::too_many(MOST_OPEN)));
    }
    let text = text(desk.fixed.what.as_deref().unwrap_or(what))?;
    let times = Times::of(desk)?;
    let Settled { next_at, rule, assumed, notes, due } = times.settle(desk, ahead, who)?;
    if text.is_empty() && due.is_none() {
        return Err(Stop::ask(say::remind::of_what(), Ask::What));
    }
    let text = match due {
        Some(due) if text.is_empty() => due,
        Some(due) => self::text(&format!("{text} ({due})"))?,
        None => text,
    };
    let same = |r: &&Reminder| r.what == text && r.rule == rule && r.next_at == next_at;
    if let Some(there) = desk.herd.open_reminders().into_iter().find(same) {
        return Err(Stop::say(say::remind::there_already(there)));
    }
    let new = Reminder {
        id: desk.herd.ids().event(),
        version: 0,
        number: desk.herd.reminders.iter().map(|r| r.number).max().unwrap_or(0) + 1,
        what: text,
        zone: times.name.to_owned(),
        rule,
        next_at,
        put_off: None,
        channel: desk.present.channel().map(|c| c.to_string()),
        moments: Vec::new(),
    };
    let mut change = Change::new("reminder", say::remind::set_past(&new));
    change.put(&new);
    let mut reply = say::remind::set(&new, desk.present.front, &assumed, &notes);
    if times.told {
        // The zone was asked for on the way: it is kept with the reminder.
        let (home, herd) = with_zone(desk, times.name);
        change.put(&home);
        reply.answer.push(say::home::told_beside(&herd));
    }
    Ok(Done::save(change, reply, Vec::new()))
}

/// The text of a reminder; refused where it is too long.
fn text(typed: &str) -> Result<String, Stop> {
    let text = tidy(typed);
    let n = text.chars().count();
    if n > MOST_TEXT { Err(Stop::say(say::remind::too_long(n, MOST_TEXT))) } else { Ok(text) }
}

/// The one reminder that is meant.
fn one<'a>(desk: &Desk<'a>, which: &Which) -> Result<&'a Reminder, Stop> {
    let open = desk.herd.open_reminders();
    let none = || Stop::say(say::remind::none());
    match which {
        Which::Number(n) => desk
            .herd
            .reminders
            .iter()
            .find(|r| r.number == *n)
            .ok_or_else(|| Stop::say(say::remind::no_such(*n, &open))),
        Which::About(words) => {
            let has = |r: &&Reminder| {
                let key = crate::species::names::joined;
                key(&r.what).contains(&key(words))
            };
            let found: Vec<&Reminder> = open.iter().copied().filter(has).collect();
            match found[..] {
                [only] => Ok(only),
                [] => Err(Stop::say(say::remind::none_about(words, &open))),
                _ => Err(Stop::say(say::remind::several_about(words, &found))),
            }
        }
        // The one that was told last, else the only one, else the one set last.
        Which::Last | Which::All => {
            let told = desk.herd.reminders.iter().filter(|r| r.told().is_some()).max_by_key(|r| r.told());
            told.or_else(|| open.iter().copied().max_by_key(|r| r.number)).ok_or_else(none)
        }
    }
}

fn remove(desk: &Desk<'_>, which: &Which) -> Result<Done, Stop> {
    let open = desk.herd.open_reminders();
    let gone = match which {
        Which::All if open.is_empty() => return Err(Stop::say(say::remind::none())),
        Which::All => open,
        which => vec![one(desk, which)?],
    };
    let mut change = Change::new("reminder", say::remind::removed_past(&gone));
    for reminder in &gone {
        change.drop(*reminder);
    }
    Ok(Done::save(change, say::remind::removed(&gone), Vec::new()))
}

fn snooze(desk: &Desk<'_>, which: &Which, ahead: &Ahead) -> Result<Done, Stop> {
    let reminder = one(desk, which)?;
    if ahead.is_empty() {
        return Err(Stop::say(say::remind::for_how_long(reminder)));
    }
    let times = Times::of_reminder(desk, reminder)?;
    let told = reminder.told().is_some_and(|told| times.is_recent(told));
    // What was told is put off from now on; what is still to come, from its own moment on.
    let from = if told { times.now } else { reminder.next().unwrap_or(times.now) };
    let until = times.put_off(desk, ahead, from, reminder)?;
    let mut new = reminder.clone();
    match (&reminder.rule, told) {
        (None, false) => new.next_at = until,
        (None, true) => new.put_off = Some(until),
        (Some(_), true) => new.put_off = Some(until),
        (Some(rule), false) => {
            // This time it comes later; the times after it are those of the rule.
            new.put_off = Some(until);
            new.next_at = rule.next(&times.zone, from).unwrap_or(until);
        }
    }
    let mut change = Change::new("reminder", say::remind::snoozed_past(&new, until));
    change.put(&new);
    Ok(Done::save(change, say::remind::snoozed(&new, until), Vec::new()))
}

fn shift(desk: &Desk<'_>, which: &Which, ahead: &Ahead) -> Result<Done, Stop> {
    let reminder = one(desk, which)?;
    let times = Times::of_reminder(desk, reminder)?;
    let Settled { next_at, rule, assumed, notes, .. } = times.moved(desk, ahead, reminder)?;
    let new = Reminder { next_at, rule, put_off: None, ..reminder.clone() };
    let mut change = Change::new("reminder", say::remind::moved_past(&new));
    change.put(&new);
    Ok(Done::save(change, say::remind::moved(&new, &assumed, &notes), Vec::new()))
}

fn reword(desk: &Desk<'_>, which: &Which, what: &str) -> Result<Done, Stop> {
    let reminder = one(desk, which)?;
    let new = Reminder { what: text(desk.fixed.what.as_deref().unwrap_or(what))?, ..reminder.clone() };
    if new.what.is_empty() {
        return Err(Stop::ask(say::remind::of_what(), Ask::What));
    }
    let mut change = Change::new("reminder", say::remind::reworded_past(&new));
    change.put(&new);
    Ok(Done::save(change, say::remind::reworded(&new), Vec::new()))
}

/// Offers a reminder of what an animal is due for, as this herd tells it: on the first day on which it can begin, or on the
/// most likely one where that is over.
pub(super) fn offer(desk: &Desk<'_>, herd: &Herd, animal: &Animal, reply: &mut Reply) {
    let half = herd.half().unwrap_or(Half::North);
    let Some(window) = due::due(desk.catalogue, herd, animal, half, desk.today) else { return };
    let Some(day) = [window.first, window.likely].into_iter().find(|day| *day > desk.today) else { return };
    let Ok(days_before) = u32::try_from(days_between(day, window.likely)) else { return };
    reply.offer = Some(say::remind::offer(animal, &window, day, days_before));
}

/// Reminders that come again keep their hour where the keeper is now: those that change with the zone. The time that is
/// next stays next, so that none is left out and none comes twice; where its hour is over in the new place it comes at once.
/// Hours pass the same everywhere.
pub(super) fn moved_to<'a>(desk: &Desk<'a>, zone: &'static str) -> Vec<(&'a Reminder, Reminder)> {
    let Some(clock) = places::zone(zone) else { return Vec::new() };
    let again = desk.herd.open_reminders().into_iter().filter(|r| r.zone != zone);
    again
        .filter_map(|r| {
            let mut rule = r.rule.clone()?;
            let before = places::zone(&r.zone)?;
            let next_at = if rule.unit == Unit::Hours {
                let first = moment(rule.from, rule.at, &before)?.to_zoned(clock.clone());
                (rule.from, rule.at) = (first.date(), first.time());
                r.next_at
            } else {
                moment(r.next_at.to_zoned(before).date(), rule.at, &clock)?
            };
            Some((r, Reminder { zone: zone.to_owned(), next_at, rule: Some(rule), ..r.clone() }))
        })
        .collect()
}
