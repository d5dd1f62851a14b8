//! Weights, meals, meetings, signs.

use super::added::{self, Settled};
use super::who::Care;
use super::{Ask, Desk, Done, Stop};
use crate::collection::animal::{Animal, AnimalId, Sex};
use crate::collection::change::Change;
use crate::collection::events::{Meal, Meeting, Sign, Weight};
use crate::collection::name::{LINE_CHARS, tidy};
use crate::collection::rules;
use crate::conversation::sentences::keeping as say;
use crate::reading::dates::{Said, When};
use crate::reading::records::add::ParentSaid;
use crate::reading::records::kinds::{MeetingKind, Sexed, SignKind};
use crate::reading::records::message::Called;
use crate::reading::records::weigh::WeightSaid;

pub(super) fn fault_of(fault: &rules::Fault) -> Stop {
    Stop::say(say::fault(&fault.to_string()))
}

pub(super) fn weigh(desk: &Desk<'_>, said: &[WeightSaid], on: Option<&Said>) -> Result<Done, Stop> {
    let on = desk.day(on)?.unwrap_or(desk.today);
    let near = rules::size(desk.herd, 0, said.len(), desk.today).map_err(|f| fault_of(&f))?;
    let mut ids = desk.herd.ids();
    let mut rows: Vec<(&Animal, Weight, Option<i32>)> = Vec::new();
    let mut bad = Vec::new();
    for one in said {
        let animal = desk.one(&one.who, Care::Writes)?;
        if one.unclear && !desk.fixed.kilos {
            return Err(Stop::ask(say::kilos(animal, &one.said), Ask::Kilos));
        }
        let grams = i32::try_from(one.grams).ok().filter(|g| (1..=200_000).contains(g));
        let Some(grams) = grams else {
            bad.push(say::no_weight_of(animal, &one.said));
            continue;
        };
        let weight = Weight { id: ids.event(), version: 0, animal_id: animal.id, on, grams };
        let species = added::species_of(desk, animal)?;
        if let Err(fault) = rules::weight(animal, species, &weight, desk.today) {
            bad.push(fault.to_string());
            continue;
        }
        // The one before in time, not the last that was told.
        let before = desk.herd.weights_of(animal.id).into_iter().rfind(|w| w.on <= on).map(|w| w.grams);
        rows.push((animal, weight, before));
    }
    if rows.is_empty() {
        return Err(Stop::say(say::fault(&bad.join(" "))));
    }
    let mut change = Change::new("weight", say::weighed_past(&rows));
    for (_, weight, _) in &rows {
        change.put(weight);
    }
    let about = rows.iter().rev().map(|r| r.0.id).collect();
    Ok(Done::save(change, say::weighed(&rows, desk.today, bad, near), about))
}

pub(super) fn meal(
    desk: &Desk<'_>,
    who: &[Called],
    taken: bool,
    prey: Option<&str>,
    on: Option<&Said>,
) -> Result<Done, Stop> {
    let on = desk.day(on)?.unwrap_or(desk.today);
    let mut ids = desk.herd.ids();
    let mut change = Change::new("meal", "");
    let mut animals: Vec<&Animal> = Vec::new();
    for called in who {
        let animal = desk.one(called, Care::Writes)?;
        let what = if taken { "fed" } else { "offered food" };
        rules::was_there(animal, what, When::Day(on), desk.today).map_err(|f| fault_of(&f))?;
        let prey = prey.map(|p| tidy(p).chars().take(80).collect());
        change.put(&Meal { id: ids.event(), version: 0, animal_id: animal.id, on, taken, prey });
        animals.push(animal);
    }
    let row = refusals_in_a_row(desk, animals.first().copied(), taken);
    let reply = say::fed(&animals, taken, prey, on, row);
    let change = change.saying(say::fed_past(&animals, taken));
    Ok(Done::save(change, reply, animals.iter().map(|a| a.id).collect()))
}

/// Refusals in a row, this one included; a single one is no news.
fn refusals_in_a_row(desk: &Desk<'_>, animal: Option<&Animal>, taken: bool) -> usize {
    let Some(animal) = animal.filter(|_| !taken) else { return 0 };
    let mut meals: Vec<&Meal> = desk.herd.meals.iter().filter(|m| m.animal_id == animal.id).collect();
    meals.sort_by_key(|m| (m.on, m.id));
    meals.iter().rev().take_while(|m| !m.taken).count() + 1
}

pub(super) fn sign(
    desk: &Desk<'_>,
    who: &Called,
    kind: SignKind,
    size: Option<i64>,
    on: Option<&Said>,
) -> Result<Done, Stop> {
    let animal = desk.one(who, Care::Writes)?;
    let on = added::or_today(desk, desk.when(on)?);
    if animal.sex == Sex::Male {
        return Err(Stop::say(say::male_has_no_sign(animal, kind)));
    }
    rules::was_there(animal, say::sign_word(kind), on, desk.today).map_err(|f| fault_of(&f))?;
    rules::sign(desk.herd, animal, kind, say::sign_word(kind), on).map_err(|f| fault_of(&f))?;
    let size_mm = match size {
        None => None,
        Some(n) => {
            Some(i16::try_from(n).ok().filter(|n| (1..=200).contains(n)).ok_or_else(|| Stop::say(say::no_size(n)))?)
        }
    };
    let mut ids = desk.herd.ids();
    let mut change = Change::new("sign", say::sign_past(animal, kind));
    let sign = Sign { id: ids.event(), version: 0, animal_id: animal.id, on, kind, size_mm };
    change.put(&sign);
    let mut reply = say::signed(animal, kind, size_mm, on);
    let mut now = desk.herd.clone();
    now.signs.push(sign);
    super::calendar::follows(desk, &now, animal, &mut reply);
    Ok(Done::save(change, reply, vec![animal.id]))
}

pub(super) fn meet(
    desk: &Desk<'_>,
    kind: MeetingKind,
    first: &ParentSaid,
    second: Option<&ParentSaid>,
    on: Option<&Said>,
) -> Result<Done, Stop> {
    let on = added::or_today(desk, desk.when(on)?);
    let first = added::parent(desk, desk.herd, first)?;
    let mut second = second.map(|s| added::parent(desk, desk.herd, s)).transpose()?.flatten();
    if second.is_none() {
        second = partner(desk, first.as_ref(), kind);
    }
    let kept = |p: &Option<Settled>| matches!(p, Some(Settled::Kept(_)));
    if !kept(&first) && !kept(&second) {
        return Err(Stop::say(say::neither_kept(&words(desk, first.as_ref()), &words(desk, second.as_ref()))));
    }
    if first == second {
        return Err(Stop::say(say::pair_of_two()));
    }
    let Some(second) = second else {
        return Err(Stop::say(say::with_whom(&words(desk, first.as_ref()))));
    };
    let (sire, dam) = added::sorted(desk.herd, first, Some(second));
    let mut ids = desk.herd.ids();
    let side = |p: &Option<Settled>| match p {
        Some(Settled::Kept(id)) => (Some(*id), None),
        Some(Settled::Outside(words, _)) => (None, Some(tidy(words).chars().take(LINE_CHARS).collect::<String>())),
        None => (None, None),
    };
    let ((sire_id, sire_out), (dam_id, dam_out)) = (side(&sire), side(&dam));
    let meeting = Meeting { id: ids.event(), version: 0, on, kind, sire_id, sire_out, dam_id, dam_out };
    rules::meeting(desk.herd, &meeting, desk.today).map_err(|f| fault_of(&f))?;
    let mut change =
        Change::new("meeting", say::met_past(&words(desk, sire.as_ref()), &words(desk, dam.as_ref()), kind));
    change.put(&meeting);
    // Who mates has shown what it is, as far as the other's sex tells.
    let mut notes = Vec::new();
    if kind == MeetingKind::Lock {
        for (id, sex) in [(sire_id, Sex::Male), (dam_id, Sex::Female)] {
            let Some(animal) = id.and_then(|id| desk.herd.animal(id)).filter(|a| a.sex == Sex::Unknown) else {
                continue;
            };
            let other_known = [sire_id, dam_id]
                .into_iter()
                .flatten()
                .filter(|o| Some(*o) != id)
                .filter_map(|o| desk.herd.animal(o))
                .any(|o| o.sex != Sex::Unknown);
            if other_known {
                let mut new = animal.clone();
                new.sex = sex;
                new.sexed = Sexed::Guessed;
                notes.push(say::sexed_by_mating(&new));
                change.put(&new);
            }
        }
    }
    for parent in [&sire, &dam] {
        if let Some(Settled::Outside(words, said)) = parent
            && !said.has_genes()
            && !said.normal
        {
            notes.push(say::not_one_of_yours(words));
        }
    }
    if let (Some(sire), Some(dam)) =
        (sire_id.and_then(|id| desk.herd.animal(id)), dam_id.and_then(|id| desk.herd.animal(id)))
        && kind != MeetingKind::Separated
    {
        notes.extend(super::related::of_pair(desk, sire, dam));
    }
    let cautions = cautions(desk, sire_id, dam_id);
    let reply = say::met(&words(desk, sire.as_ref()), &words(desk, dam.as_ref()), kind, on, notes, cautions);
    Ok(Done::save(change, reply, [dam_id, sire_id].into_iter().flatten().collect()))
}

/// Who a single animal was put with last: "pulled the male from Luna".
fn partner(desk: &Desk<'_>, first: Option<&Settled>, kind: MeetingKind) -> Option<Settled> {
    if kind != MeetingKind::Separated {
        return None;
    }
    let Some(Settled::Kept(id)) = first else { return None };
    let last = desk.herd.meetings.iter().rev().find(|m| m.sire_id == Some(*id) || m.dam_id == Some(*id))?;
    let (kept, out) = if last.sire_id == Some(*id) {
        (last.dam_id, last.dam_out.clone())
    } else {
        (last.sire_id, last.sire_out.clone())
    };
    kept.map(Settled::Kept).or_else(|| out.map(|words| Settled::Outside(words, Box::default())))
}

fn words(desk: &Desk<'_>, parent: Option<&Settled>) -> String {
    match parent {
        Some(Settled::Kept(id)) => desk.herd.animal(*id).map_or_else(String::new, Animal::called),
        Some(Settled::Outside(words, _)) => words.clone(),
        None => String::new(),
    }
}

/// Harm that the pairing can do, by the records.
fn cautions(desk: &Desk<'_>, sire: Option<AnimalId>, dam: Option<AnimalId>) -> Vec<String> {
    let (Some(sire), Some(dam)) = (sire.and_then(|id| desk.herd.animal(id)), dam.and_then(|id| desk.herd.animal(id)))
    else {
        return Vec::new();
    };
    let Some(species) = desk.species_of(sire) else { return Vec::new() };
    super::asked::cautions(desk, species, sire, dam)
}
