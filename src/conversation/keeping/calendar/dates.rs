//! What is due, whether she is late, eggs by their day, and what follows from an event that is told.

use super::super::added;
use super::super::remind;
use super::super::who::Care;
use super::super::{Ask, Desk, Done, Stop};
use super::{numbers_of, offered, species_meant};
use crate::collection::animal::{Animal, Sex};
use crate::collection::calendar::course::{self, Course, Told};
use crate::collection::calendar::due::courses;
use crate::collection::calendar::numbers::{Interval, Numbers};
use crate::collection::calendar::window::{days_between, plus};
use crate::collection::events::Clutch;
use crate::collection::rules;
use crate::conversation::sentences::keeping as say;
use crate::conversation::sentences::keeping::calendar as dates;
use crate::reading::dates::When;
use crate::reading::records::calendar::CalendarAsked;
use crate::reading::records::kinds::{SignKind, Stage};
use crate::reading::records::message::Called;
use crate::reply::Reply;
use crate::species::SpeciesId;

/// The most days that are taken for a day of incubation.
const MOST_EGG_DAYS: i64 = 150;

/// An animal and the numbers of its species.
fn female<'a>(desk: &Desk<'a>, who: &Called) -> Result<(&'a Animal, Numbers<'a>), Stop> {
    let animal = desk.one(who, Care::Reads)?;
    let species = desk
        .species_of(animal)
        .ok_or_else(|| Stop::say(say::fault(&format!("{} is no species I know", animal.species))))?;
    Ok((animal, numbers_of(desk, species)))
}

/// Her clutches, or those of a male, the newest first.
fn clutches_of<'a>(desk: &Desk<'a>, animal: &Animal) -> Vec<&'a Clutch> {
    let mut found: Vec<&Clutch> = desk
        .herd
        .clutches
        .iter()
        .filter(|c| c.dam_id == Some(animal.id) || animal.sex == Sex::Male && c.sire_id == Some(animal.id))
        .collect();
    found.sort_by_key(|c| std::cmp::Reverse((c.laid.map(When::last), c.id)));
    found
}

/// Clutches with a date still to come.
fn running<'a>(desk: &Desk<'a>, numbers: &Numbers<'_>, animal: &Animal) -> Vec<(&'a Clutch, Course)> {
    clutches_of(desk, animal)
        .into_iter()
        .filter_map(|c| Some((c, course::of_clutch(numbers, c, desk.today)?)))
        .collect()
}

pub(super) fn due(desk: &Desk<'_>, who: &Called, asked: Option<Stage>) -> Result<Done, Stop> {
    let (animal, numbers) = female(desk, who)?;
    if !animal.status.is_here() {
        return Err(Stop::say(dates::no_longer_here(animal)));
    }
    let clutches = running(desk, &numbers, animal);
    if animal.sex == Sex::Male && clutches.is_empty() {
        return Err(Stop::say(dates::male_is_not_due(animal)));
    }
    let open = (animal.sex != Sex::Male)
        .then(|| course::of_female(&numbers, desk.herd, animal, desk.today, Told::default()))
        .flatten();
    // A shed of somebody whose eggs have hatched is that of the young.
    let asked =
        asked.map(|s| if s == Stage::Shed && open.is_none() && !clutches.is_empty() { Stage::FirstShed } else { s });
    let of_eggs = asked.is_none_or(|stage| stage > Stage::Laying);
    let of_season = asked.is_none_or(|stage| stage <= Stage::Laying);
    let about = vec![animal.id];
    let mut reply = match (&clutches[..], &open) {
        ([(clutch, course)], None) if of_eggs => {
            let mut reply = dates::clutch_of(&numbers, animal, clutch, course, asked, desk.today);
            reply.notes.extend(offered(desk, &numbers, Interval::Incubation));
            reply
        }
        ([(clutch, course)], Some(next)) if of_eggs => {
            let mut reply = dates::clutch_of(&numbers, animal, clutch, course, asked, desk.today);
            reply.notes.insert(0, next_too(&numbers, next));
            reply.cautions.extend(caution(&numbers, animal, next, desk));
            reply
        }
        ([_, _, ..], _) if of_eggs => {
            let courses = courses(&numbers, desk.herd, animal, desk.today);
            let all = if animal.sex == Sex::Male { clutches.iter().map(|c| c.1.clone()).collect() } else { courses };
            let lines = all.iter().filter_map(|c| dates::in_a_line(c, numbers.is_live_bearing())).collect();
            dates::several(animal, numbers.species, lines)
        }
        (_, Some(course)) if of_season || clutches.is_empty() => {
            let mut reply = dates::season_of(&numbers, animal, course, asked, desk.today);
            reply.notes.extend(offer_of(desk, &numbers, course));
            reply
        }
        _ => return Ok(nothing_due(desk, &numbers, animal, asked)),
    };
    if let Some((clutch, _)) = clutches.first()
        && of_eggs
        && asked.is_none()
        && animal.sex == Sex::Male
    {
        reply.notes.push(say::clutch_short(desk.herd, clutch));
    }
    Ok(Done::about(reply, about))
}

fn next_too(numbers: &Numbers<'_>, course: &Course) -> String {
    let line = dates::in_a_line(course, numbers.is_live_bearing());
    line.map_or_else(String::new, |line| format!("And her next season: {line}."))
}

fn caution(numbers: &Numbers<'_>, animal: &Animal, course: &Course, desk: &Desk<'_>) -> Option<String> {
    dates::overdue(numbers, animal, course, course.expected(Stage::Laying)?, desk.today)
}

/// The keeper's own median of the interval that a laying is counted by.
fn offer_of(desk: &Desk<'_>, numbers: &Numbers<'_>, course: &Course) -> Option<String> {
    let interval = match course.expected(Stage::Laying)?.reason.from {
        Stage::Shed => Interval::ShedToLaying,
        Stage::Ovulation => Interval::OvulationToLaying,
        Stage::Paired => Interval::MatingToLaying,
        _ => return None,
    };
    offered(desk, numbers, interval)
}

/// Nothing runs: what was last, or that it has hatched already.
fn nothing_due(desk: &Desk<'_>, numbers: &Numbers<'_>, animal: &Animal, asked: Option<Stage>) -> Done {
    let last = clutches_of(desk, animal).into_iter().next();
    if let Some(clutch) = last.filter(|c| c.hatched.is_some())
        && matches!(asked, Some(Stage::Hatch | Stage::Pip))
    {
        return Done::about(dates::hatched_already(desk.herd, clutch), vec![animal.id]);
    }
    Done::about(dates::no_season(desk.herd, animal, last, numbers.is_live_bearing()), vec![animal.id])
}

pub(super) fn late(desk: &Desk<'_>, who: &Called) -> Result<Done, Stop> {
    let (animal, numbers) = female(desk, who)?;
    if animal.sex == Sex::Male {
        return Err(Stop::say(dates::male_is_not_due(animal)));
    }
    let open = course::of_female(&numbers, desk.herd, animal, desk.today, Told::default());
    match open.filter(|course| course.expected(Stage::Laying).is_some()) {
        Some(course) => {
            let mut reply = dates::late(&numbers, animal, &course, desk.today);
            reply.notes.extend(offer_of(desk, &numbers, &course));
            Ok(Done::about(reply, vec![animal.id]))
        }
        None => due(desk, who, None),
    }
}

pub(super) fn day_of(
    desk: &Desk<'_>,
    who: Option<&Called>,
    day: i64,
    species: Option<SpeciesId>,
) -> Result<Done, Stop> {
    if !(0..=MOST_EGG_DAYS).contains(&day) {
        return Err(Stop::say(dates::no_such_egg_day(day)));
    }
    let laid = When::Day(plus(desk.today, -day));
    // "day 40, how much longer": of the eggs last talked of, where there are any.
    let who = match who {
        Some(who) => Some(who.clone()),
        None if species.is_none() => desk
            .last_spoken_of(Sex::Female)
            .filter(|a| clutches_of(desk, a).iter().any(|c| c.hatched.is_none()))
            .map(|a| Called::Number(a.number.0)),
        None => None,
    };
    let Some(who) = who else {
        let id = species_meant(desk, species)?;
        let numbers = numbers_of(desk, desk.catalogue.get(id));
        let course = course::after(&numbers, Stage::Laying, laid, None);
        return Ok(Done::say(dates::by_told_day(&numbers, None, &course, day, desk.today)));
    };
    let (animal, numbers) = female(desk, &who)?;
    let open: Vec<&Clutch> = clutches_of(desk, animal).into_iter().filter(|c| c.hatched.is_none()).collect();
    let nearest = open
        .into_iter()
        .min_by_key(|c| c.laid.map_or(i64::MAX, |on| (days_between(on.first(), desk.today) - day).abs()));
    let Some(clutch) = nearest else {
        if let Some(clutch) = clutches_of(desk, animal).first().filter(|c| recently(c, desk)) {
            return Ok(Done::about(dates::hatched_already(desk.herd, clutch), vec![animal.id]));
        }
        if animal.sex == Sex::Male {
            return Err(Stop::say(dates::male_is_not_due(animal)));
        }
        let course = course::after(&numbers, Stage::Laying, laid, None);
        return Ok(Done::about(dates::by_told_day(&numbers, Some(animal), &course, day, desk.today), vec![animal.id]));
    };
    let known = clutch.laid.and_then(|on| match on {
        When::Day(date) => Some((on, days_between(date, desk.today))),
        _ => None,
    });
    let told = Clutch { laid: known.map(|k| k.0).or(Some(laid)), ..clutch.clone() };
    let Some(course) = course::of_clutch(&numbers, &told, desk.today) else {
        return Ok(nothing_due(desk, &numbers, animal, Some(Stage::Hatch)));
    };
    let mut reply = dates::clutch_of(&numbers, animal, clutch, &course, Some(Stage::Hatch), desk.today);
    if let Some((on, record)) = known.filter(|known| known.1 != day) {
        reply.notes.insert(0, dates::other_day(day, record, on));
    }
    reply.notes.extend(offered(desk, &numbers, Interval::Incubation));
    Ok(Done::about(reply, vec![animal.id]))
}

/// Hatched within the last months: then it is what is meant.
fn recently(clutch: &Clutch, desk: &Desk<'_>) -> bool {
    clutch.hatched.is_some_and(|on| days_between(on.last(), desk.today) <= MOST_EGG_DAYS)
}

pub(super) fn after(desk: &Desk<'_>, asked: &CalendarAsked) -> Result<Done, Stop> {
    let CalendarAsked::After { who, event, on, stage, species, warmth } = asked else {
        return Err(Stop::say(say::whom()));
    };
    let on = added::or_today(desk, desk.when(on.as_ref())?);
    if on.first() > desk.today {
        let what = dates::stage_name(*event, false).to_lowercase();
        let fault = rules::Fault::Later { what, when: on.words(), today: When::Day(desk.today).words() };
        return Err(super::super::happened::fault_of(&fault));
    }
    // A name that nobody here has is no reason not to count.
    let named = who.as_ref().and_then(|who| match desk.one(who, Care::Reads) {
        Ok(animal) => Some(Ok(animal)),
        Err(Stop::Ask(reply, ask @ Ask::Which(..))) => Some(Err(Stop::Ask(reply, ask))),
        Err(_) => None,
    });
    // "My corn had her shed": "her" is not the ball python that was talked of last.
    let other_kind = |a: &&Animal| species.is_some_and(|id| desk.species_of(a).is_some_and(|of| of.id != id));
    let meant = matches!(who, Some(Called::Pronoun(_) | Called::Last));
    let animal = named.transpose()?.filter(|a| !(meant && other_kind(a)));
    if let Some(male) = animal.filter(|a| a.sex == Sex::Male && *event < Stage::Laying && *event > Stage::Paired) {
        let kind = if *event == Stage::Ovulation { SignKind::Ovulation } else { SignKind::PrelayShed };
        return Err(Stop::say(say::male_has_no_sign(male, kind)));
    }
    let of_animal = animal.and_then(|a| desk.species_of(a));
    let species = match of_animal {
        Some(species) => species,
        None => desk.catalogue.get(species_meant(desk, *species)?),
    };
    let numbers = numbers_of(desk, species);
    let mut clutch = None;
    if *event >= Stage::Laying
        && let Some(warmth) = warmth.and_then(|t| i16::try_from(t).ok()).filter(|t| (100..=400).contains(t))
    {
        clutch = Some(bare(desk, on, warmth));
    }
    let course = match animal.filter(|_| *event < Stage::Laying) {
        Some(animal) => {
            let told = Told { event: Some((*event, on)) };
            course::of_female(&numbers, desk.herd, animal, desk.today, told).unwrap_or_default()
        }
        None => course::after(&numbers, *event, on, clutch.as_ref()),
    };
    let mut reply = dates::from_told(&numbers, animal, &course, (*event, on), *stage, desk.today);
    if *event < Stage::Laying {
        reply.notes.extend(offer_of(desk, &numbers, &course));
    } else if *event == Stage::Laying {
        reply.notes.extend(offered(desk, &numbers, Interval::Incubation));
    }
    Ok(Done::about(reply, animal.map(|a| a.id).into_iter().collect()))
}

/// Eggs that are told of alone, at their temperature.
fn bare(desk: &Desk<'_>, on: When, warmth: i16) -> Clutch {
    Clutch {
        id: desk.herd.ids().clutch(),
        version: 0,
        code: None,
        sire_id: None,
        sire_out: None,
        sires: None,
        dam_id: None,
        dam_out: None,
        laid: Some(on),
        eggs: None,
        slugs: None,
        doubtful: None,
        warmth: Some(warmth),
        pipped: None,
        hatched: None,
        lost: None,
        young: Vec::new(),
        notes: None,
    }
}

/// What follows from a sign that is being recorded: lines for its reply, and what must be said first.
pub(in super::super) fn follows(
    desk: &Desk<'_>,
    herd: &crate::collection::herd::Herd,
    animal: &Animal,
    reply: &mut Reply,
) {
    let Some(species) = desk.species_of(animal) else { return };
    let numbers = Numbers::of(species, herd, super::half_kept(desk).unwrap_or(crate::reading::places::Half::North));
    let running = course::of_female(&numbers, herd, animal, desk.today, Told::default());
    let is_running = running.is_some();
    let course = running.or_else(|| long_ago(&numbers, herd, animal)).unwrap_or_default();
    let Some(laying) = course.expected(Stage::Laying) else { return };
    let live = numbers.is_live_bearing();
    if is_running {
        reply.cautions.extend(dates::overdue(&numbers, animal, &course, laying, desk.today));
    }
    for expected in course.ahead.iter().filter(|e| e.stage <= Stage::Hatch && e.stage != Stage::Pip) {
        reply.answer.push(format!(
            "{}: {}.",
            dates::stage_name(expected.stage, live),
            dates::with_likely(expected.window)
        ));
    }
    let mut notes = vec![dates::counted_from(laying, live)];
    notes.extend(offer_of(desk, &numbers, &course));
    reply.notes.splice(0..0, notes);
    remind::offer(desk, herd, animal, reply);
}

/// When eggs that are being recorded hatch, or what comes next of young that are born.
pub(in super::super) fn hatches(
    desk: &Desk<'_>,
    species: &crate::species::Species,
    dam: &Animal,
    clutch: &Clutch,
    reply: &mut Reply,
) {
    let numbers = numbers_of(desk, species);
    let Some(course) = course::of_clutch(&numbers, clutch, desk.today) else { return };
    let told = dates::clutch_of(&numbers, dam, clutch, &course, None, desk.today);
    reply.answer.extend(told.answer);
    // What it is counted from, and that an earlier record says other days.
    let n = if course.ahead.first().is_some_and(|e| e.against) { 2 } else { 1 };
    let at = reply.notes.len().saturating_sub(1);
    reply.notes.splice(at..at, told.notes.into_iter().take(n));
    let mut now = desk.herd.clone();
    now.clutches.push(clutch.clone());
    remind::offer(desk, &now, dam, reply);
}

/// What followed from the last sign that is told of a season long over, unless its eggs are recorded.
fn long_ago(numbers: &Numbers<'_>, herd: &crate::collection::herd::Herd, animal: &Animal) -> Option<Course> {
    let sign = herd.signs.last().filter(|s| s.animal_id == animal.id)?;
    let stage = match sign.kind {
        SignKind::Ovulation => Stage::Ovulation,
        SignKind::PrelayShed => Stage::Shed,
        _ => return None,
    };
    let laid = herd.clutches.iter().filter(|c| c.dam_id == Some(animal.id)).filter_map(|c| c.laid);
    let told = laid.into_iter().any(|on| on.last() >= sign.on.first());
    (!told).then(|| course::after(numbers, stage, sign.on, None))
}
