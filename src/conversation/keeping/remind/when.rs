//! A moment that was said, to a moment on the clock of the keeper's zone.
//!
//! Invariant: what has two meanings is asked, what lies in the past or too far ahead is refused; an hour that was not said
//! is taken and told.

use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan as _, Zoned};

use super::super::home::asked_zone;
use super::super::who::Care;
use super::super::{Ask, Desk, Stop};
use super::due::due;
use crate::collection::reminder::rule::{self, Rule, moment};
use crate::collection::reminder::{FARTHEST_YEARS, Reminder, STILL_THERE_HOURS};
use crate::conversation::sentences::keeping as say;
use crate::reading::ahead::{Ahead, Day, Hour, Unit, When};
use crate::reading::places;
use crate::reading::records::message::Called;

/// The hour where none is said.
const USUAL: Time = Time::constant(9, 0, 0, 0);
/// Until this hour "tomorrow" may be the day that has begun.
const SMALL_HOURS: Time = Time::constant(4, 0, 0, 0);

/// The clock that counts.
pub(super) struct Times {
    /// The zone's name.
    pub(super) name: &'static str,
    pub(super) zone: TimeZone,
    pub(super) now: Timestamp,
    /// The keeper told the zone just now.
    pub(super) told: bool,
    /// It is that of the machine, because the keeper told none.
    machine: bool,
}

/// A moment worked out.
pub(super) struct Settled {
    pub(super) next_at: Timestamp,
    pub(super) rule: Option<Rule>,
    /// What was taken for granted.
    pub(super) assumed: Vec<String>,
    /// What else to know of the moment.
    pub(super) notes: Vec<String>,
    /// What an animal is due for, where the moment hangs on that.
    pub(super) due: Option<String>,
}

impl Settled {
    fn once(next_at: Timestamp) -> Self {
        Self { next_at, rule: None, assumed: Vec::new(), notes: Vec::new(), due: None }
    }
}

impl Times {
    /// The keeper's clock; asked for where none is known.
    pub(super) fn of(desk: &Desk<'_>) -> Result<Self, Stop> {
        let kept = desk.herd.zone_name().and_then(places::own_name);
        let told =
            desk.fixed.place.as_deref().filter(|_| kept.is_none()).map(|typed| asked_zone(desk, typed)).transpose()?;
        let machine = desk.present.zone.filter(|_| kept.is_none() && told.is_none());
        let Some(name) = kept.or(told).or(machine) else {
            return Err(Stop::ask(say::remind::where_are_you(), Ask::Home));
        };
        Self::at(desk, name, told.is_some(), machine.is_some())
    }

    /// The clock of a reminder that was set.
    pub(super) fn of_reminder(desk: &Desk<'_>, reminder: &Reminder) -> Result<Self, Stop> {
        let name = places::own_name(&reminder.zone).unwrap_or("Etc/UTC");
        Self::at(desk, name, false, false)
    }

    fn at(desk: &Desk<'_>, name: &'static str, told: bool, machine: bool) -> Result<Self, Stop> {
        let zone = places::zone(name).ok_or_else(|| Stop::say(say::home::no_such_zone(name, &[])))?;
        // Where only a day is given it is noon there.
        let noon = || moment(desk.today, Time::constant(12, 0, 0, 0), &zone).unwrap_or(Timestamp::UNIX_EPOCH);
        let now = desk.present.now.unwrap_or_else(noon);
        Ok(Self { name, zone, now, told, machine })
    }

    fn local(&self, at: Timestamp) -> Zoned {
        at.to_zoned(self.zone.clone())
    }

    /// Whether something that was told then can still be put off.
    pub(super) fn is_recent(&self, told: Timestamp) -> bool {
        told.checked_add(i64::from(STILL_THERE_HOURS).hours()).is_ok_and(|end| end >= self.now)
    }

    /// A new reminder's moment.
    pub(super) fn settle(&self, desk: &Desk<'_>, ahead: &Ahead, who: Option<&Called>) -> Result<Settled, Stop> {
        let mut settled = self.worked_out(desk, ahead, who, None)?;
        if self.machine {
            settled.assumed.push(say::remind::machines_clock(self.name));
        }
        Ok(settled)
    }

    /// Another moment for one that is set; what is not said stays.
    pub(super) fn moved(&self, desk: &Desk<'_>, ahead: &Ahead, reminder: &Reminder) -> Result<Settled, Stop> {
        let hour = Self::hour(desk, ahead)?;
        let own_hour = self.own_hour(reminder);
        match (&reminder.rule, &ahead.when) {
            (Some(rule), None) => {
                let rule = Rule { at: hour.unwrap_or(rule.at), ..rule.clone() };
                self.ruled(rule)
            }
            (Some(rule), Some(When::Day(day))) if rule.unit != rule::Unit::Hours => {
                let from = self.day(desk, day, hour.unwrap_or(rule.at))?;
                self.ruled(Rule { at: hour.unwrap_or(rule.at), from, on: Vec::new(), ..rule.clone() })
            }
            (None, None) => {
                let day = self.local(reminder.next().unwrap_or(reminder.next_at)).date();
                self.on(day, hour.unwrap_or(own_hour))
            }
            _ => self.worked_out(desk, ahead, None, Some(own_hour)),
        }
    }

    /// Until when one is put off.
    pub(super) fn put_off(
        &self,
        desk: &Desk<'_>,
        ahead: &Ahead,
        from: Timestamp,
        reminder: &Reminder,
    ) -> Result<Timestamp, Stop> {
        if let Some(When::In(n, unit)) = ahead.when {
            let hour = Self::hour(desk, ahead)?;
            let at = self.later(from, n, unit)?;
            return self.in_time(match hour {
                Some(hour) => self.moment(self.local(at).date(), hour)?,
                None => at,
            });
        }
        Ok(self.worked_out(desk, ahead, None, Some(self.own_hour(reminder)))?.next_at)
    }

    fn own_hour(&self, reminder: &Reminder) -> Time {
        reminder.rule.as_ref().map_or_else(|| self.local(reminder.next_at).time(), |rule| rule.at)
    }

    /// A moment in all its forms. `usual` is the hour where none is said and it need not be told.
    fn worked_out(
        &self,
        desk: &Desk<'_>,
        ahead: &Ahead,
        who: Option<&Called>,
        usual: Option<Time>,
    ) -> Result<Settled, Stop> {
        let hour = Self::hour(desk, ahead)?;
        let at = hour.or(usual).unwrap_or(USUAL);
        let mut settled = match &ahead.when {
            None => match hour {
                None => return Err(Stop::say(say::remind::when())),
                Some(hour) => Settled::once(self.next_such_hour(hour)?),
            },
            Some(When::In(n, unit)) => {
                let then = self.later(self.now, *n, *unit)?;
                return match hour {
                    Some(hour) => self.on(self.local(then).date(), hour),
                    None => Ok(Settled::once(self.in_time(then)?)),
                };
            }
            Some(When::Day(day)) => self.on(self.day(desk, day, at)?, at)?,
            Some(When::Every { every, unit, on, from }) => self.every(desk, (*every, *unit), on, from.as_ref(), at)?,
            Some(When::Due { days_before, .. }) => self.before_due(desk, *days_before, who, at)?,
        };
        let hourly = settled.rule.as_ref().is_some_and(|r| r.unit == rule::Unit::Hours);
        if hour.is_none() && usual.is_none() && !hourly {
            settled.assumed.push(say::remind::usual_hour(at));
        }
        Ok(settled)
    }

    /// The hour that was said; asked where it is one of two.
    fn hour(desk: &Desk<'_>, ahead: &Ahead) -> Result<Option<Time>, Stop> {
        match ahead.at {
            None => Ok(None),
            Some(Hour::At(at)) => Ok(Some(at)),
            Some(Hour::Never) => Err(Stop::say(say::remind::no_such_hour())),
            Some(Hour::Either(..)) if desk.fixed.hour.is_some() => Ok(desk.fixed.hour),
            Some(Hour::Either(early, late)) => {
                Err(Stop::ask(say::remind::which_hour(early, late), Ask::Hour(vec![early, late])))
            }
        }
    }

    /// The day that was said; asked where it is one of several.
    fn day(&self, desk: &Desk<'_>, day: &Day, at: Time) -> Result<Date, Stop> {
        let ask = |days: Vec<Date>, reply: fn(&[Date], Date) -> crate::reply::Reply| {
            if let Some((_, chosen)) = desk.fixed.days.iter().find(|d| d.0 == days) {
                return Ok(*chosen);
            }
            let today = self.local(self.now).date();
            Err(Stop::ask(reply(&days, today), Ask::Day(days)))
        };
        match day {
            Day::On(day) => Ok(*day),
            Day::NextOf(days) => {
                let ahead = |day: &&Date| moment(**day, at, &self.zone).is_some_and(|m| m > self.now);
                Ok(days.iter().find(ahead).or(days.last()).copied().unwrap_or(desk.today))
            }
            Day::Which(days) => ask(days.clone(), say::remind::which_day),
            Day::Tomorrow(day) => {
                let now = self.local(self.now);
                // A keeper who is still up may mean the day that the clock has begun already.
                if now.time() < SMALL_HOURS && desk.present.now.is_some() {
                    ask(vec![now.date(), *day], say::remind::which_tomorrow)
                } else {
                    Ok(*day)
                }
            }
            Day::Never => Err(Stop::say(say::no_such_day())),
            Day::Stretch { said, months } => {
                let days = self.first_days(desk, months);
                if days.is_empty() {
                    Err(Stop::say(say::remind::which_of(said)))
                } else {
                    ask(days, say::remind::which_day)
                }
            }
        }
    }

    /// The first and middle days of months that are still to come, counted from now.
    fn first_days(&self, desk: &Desk<'_>, months: &[(i8, bool)]) -> Vec<Date> {
        let today = self.local(self.now).date();
        let south = desk.herd.half().unwrap_or_else(|| places::half(self.name)) == places::Half::South;
        let of = |(month, season): &(i8, bool)| {
            // Seasons are half a year apart on the two halves of the world.
            let month = if *season && south { (month + 5).rem_euclid(12) + 1 } else { *month };
            let day = |year: i16, n: i8| Date::new(year, month, n).ok();
            let days: &[i8] = if *season { &[1] } else { &[1, 15] };
            let next = |n: &i8| day(today.year(), *n).filter(|d| *d > today).or_else(|| day(today.year() + 1, *n));
            days.iter().filter_map(next).collect::<Vec<_>>()
        };
        let mut days: Vec<Date> = months.iter().flat_map(of).collect();
        days.sort_unstable();
        days
    }

    fn moment(&self, day: Date, at: Time) -> Result<Timestamp, Stop> {
        moment(day, at, &self.zone).ok_or_else(|| Stop::say(say::remind::too_far(FARTHEST_YEARS)))
    }

    /// A day and hour; refused where it is over, told where clocks leave the hour out.
    fn on(&self, day: Date, at: Time) -> Result<Settled, Stop> {
        let moment = self.in_time(self.moment(day, at)?)?;
        let mut settled = Settled::once(moment);
        if self.local(moment).time() != at {
            settled.notes.push(say::remind::left_out(at, &self.local(moment)));
        }
        Ok(settled)
    }

    /// Refuses what is over or too far ahead.
    fn in_time(&self, at: Timestamp) -> Result<Timestamp, Stop> {
        let far = self.local(self.now).checked_add(FARTHEST_YEARS.years()).map_or(Timestamp::MAX, |z| z.timestamp());
        if at <= self.now {
            Err(Stop::say(say::remind::over(&self.local(at), &self.local(self.now))))
        } else if at > far {
            Err(Stop::say(say::remind::too_far(FARTHEST_YEARS)))
        } else {
            Ok(at)
        }
    }

    fn later(&self, from: Timestamp, n: u32, unit: Unit) -> Result<Timestamp, Stop> {
        let n = i64::from(n);
        let span = match unit {
            Unit::Seconds => jiff::Span::new().try_seconds(n),
            Unit::Minutes => jiff::Span::new().try_minutes(n),
            Unit::Hours => jiff::Span::new().try_hours(n),
            Unit::Days => jiff::Span::new().try_days(n),
            Unit::Weeks => jiff::Span::new().try_weeks(n),
            Unit::Months => jiff::Span::new().try_months(n),
            Unit::Years => jiff::Span::new().try_years(n),
        };
        // Days and more keep the hour on the wall.
        let then = span.and_then(|span| self.local(from).checked_add(span));
        then.map(|z| z.timestamp()).map_err(|_| Stop::say(say::remind::too_far(FARTHEST_YEARS)))
    }

    fn next_such_hour(&self, at: Time) -> Result<Timestamp, Stop> {
        let today = self.local(self.now).date();
        let rule = Rule { every: 1, unit: rule::Unit::Days, on: Vec::new(), from: today, at };
        rule.next(&self.zone, self.now).ok_or_else(|| Stop::say(say::remind::too_far(FARTHEST_YEARS)))
    }

    fn every(
        &self,
        desk: &Desk<'_>,
        (every, unit): (u32, Unit),
        on: &[i8],
        from: Option<&Day>,
        at: Time,
    ) -> Result<Settled, Stop> {
        let too_far = || Stop::say(say::remind::too_far(FARTHEST_YEARS));
        let unit = match unit {
            Unit::Seconds | Unit::Minutes if every_minutes(every, unit) < 60 => {
                return Err(Stop::say(say::remind::too_often()));
            }
            Unit::Seconds | Unit::Minutes => return Err(Stop::say(say::remind::in_hours())),
            Unit::Hours => rule::Unit::Hours,
            Unit::Days => rule::Unit::Days,
            Unit::Weeks => rule::Unit::Weeks,
            Unit::Months => rule::Unit::Months,
            Unit::Years => rule::Unit::Years,
        };
        if every == 0 {
            return Err(Stop::say(say::remind::too_often()));
        }
        let every = u16::try_from(every).map_err(|_| too_far())?;
        let now = self.local(self.now);
        let at = if unit == rule::Unit::Hours { now.time() } else { at };
        let at = Time::new(at.hour(), at.minute(), 0, 0).unwrap_or(at);
        let mut rule = Rule { every, unit, on: on.to_vec(), from: now.date(), at };
        match from {
            Some(day) => rule.from = self.day(desk, day, at)?,
            // "Every day at 18:00" can begin today, and every Sunday on the next; "every 2 weeks" is first in 2 weeks.
            None if unit == rule::Unit::Days && every == 1 || !on.is_empty() => {}
            None => {
                let first = rule.next(&self.zone, self.now).ok_or_else(too_far)?;
                let second = rule.next(&self.zone, first).ok_or_else(too_far)?;
                let today = self.local(first).date() == now.date();
                if today && unit != rule::Unit::Hours {
                    rule.from = self.local(second).date();
                }
            }
        }
        self.ruled(rule)
    }

    fn ruled(&self, rule: Rule) -> Result<Settled, Stop> {
        let next = rule.next(&self.zone, self.now).ok_or_else(|| Stop::say(say::remind::too_far(FARTHEST_YEARS)))?;
        Ok(Settled { rule: Some(rule), ..Settled::once(self.in_time(next)?) })
    }

    fn before_due(&self, desk: &Desk<'_>, days_before: i32, who: Option<&Called>, at: Time) -> Result<Settled, Stop> {
        let animal = desk.one(who.unwrap_or(&Called::Last), Care::Reads)?;
        let half = desk.herd.half().unwrap_or_else(|| places::half(self.name));
        let window = due(desk.catalogue, desk.herd, animal, half, desk.today);
        let Some(window) = window else { return Err(Stop::say(say::remind::no_due_date(&animal.called()))) };
        let day = window.likely.checked_sub(i64::from(days_before).days());
        let day = day.map_err(|_| Stop::say(say::remind::too_far(FARTHEST_YEARS)))?;
        let mut settled = self.on(day, at)?;
        settled.notes.push(say::remind::window(&animal.called(), &window));
        settled.due = Some(say::remind::due(&animal.called(), &window));
        Ok(settled)
    }
}

fn every_minutes(every: u32, unit: Unit) -> u32 {
    if unit == Unit::Seconds { every / 60 } else { every }
}
