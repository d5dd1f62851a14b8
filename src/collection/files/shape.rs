//! The form of texts and numbers that come from a file: what the schema of the database would refuse is named here first,
//! with the value and the rule.

use crate::collection::animal::{Animal, Basis, Belief};
use crate::collection::events::{CarrierFrequency, Clutch, Meal, Meeting, OwnNumber, Sign, Weight};
use crate::collection::name::{LINE_CHARS, NOTE_CHARS, TAG_CHARS, tidy, tidy_note};
use crate::collection::reminder::{MOST_TEXT, Reminder};
use crate::engine::odds::{none, sure};
use crate::reading::places;
use jiff::tz::TimeZone;

/// The largest short code: people write "#" with up to six digits.
pub(super) const MOST_CODE: i32 = 999_999;
/// The longest code of a clutch, in characters.
const CODE_CHARS: usize = 40;
/// The longest name of prey, in characters.
const PREY_CHARS: usize = 80;
/// The most beliefs of one animal.
const MOST_BELIEFS: usize = 64;
/// The largest care number of a keeper's own, in tenths: ten years of days.
const MOST_TENTHS: i64 = 32_000;
/// Digits of a chance, above and below the line.
const CHANCE_DIGITS: usize = 99;

type Checked = Result<(), String>;

fn line(text: &mut Option<String>, what: &str, most: usize) -> Checked {
    *text = text.take().map(|t| tidy(&t)).filter(|t| !t.is_empty());
    let n = text.as_ref().map_or(0, |t| t.chars().count());
    if n > most { Err(format!("{what} has {n} characters; {most} is the most")) } else { Ok(()) }
}

fn note(text: &mut Option<String>) -> Checked {
    *text = text.take().map(|t| tidy_note(&t)).filter(|t| !t.is_empty());
    let n = text.as_ref().map_or(0, |t| t.chars().count());
    if n > NOTE_CHARS { Err(format!("the notes have {n} characters; {NOTE_CHARS} is the most")) } else { Ok(()) }
}

fn within(value: Option<impl Into<i64>>, what: &str, least: i64, most: i64) -> Checked {
    match value.map(Into::into) {
        Some(n) if n < least || n > most => Err(format!("{what} is {n}; it must be {least} to {most}")),
        _ => Ok(()),
    }
}

pub(super) fn genes(genes: &[Belief]) -> Checked {
    if genes.len() > MOST_BELIEFS {
        return Err(format!("it has {} genes; {MOST_BELIEFS} is the most", genes.len()));
    }
    for belief in genes {
        let id = &belief.gene;
        let plain = id.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_');
        if id.is_empty() || id.len() > 60 || !plain {
            return Err(format!("{id:?} is no gene's id"));
        }
        if !(1..=2).contains(&belief.copies) {
            return Err(format!("{} copies of {id}; it must be 1 or 2", belief.copies));
        }
        let text = belief.chance.to_string();
        let long = text.split('/').any(|part| part.len() > CHANCE_DIGITS);
        if belief.chance <= none() || belief.chance > sure() || long {
            return Err(format!("the chance {text} of {id} is none between 0 and 1"));
        }
    }
    Ok(())
}

pub(super) fn frequency(frequency: &CarrierFrequency) -> Checked {
    let belief = Belief {
        gene: frequency.gene.clone(),
        copies: 1,
        chance: frequency.share.clone(),
        basis: Basis::Stated,
        side: None,
    };
    if frequency.share == sure() { Err("not every animal can carry it".to_owned()) } else { genes(&[belief]) }
}

pub(super) fn own_number(number: &OwnNumber) -> Checked {
    let id = &number.item;
    if id.is_empty() || id.len() > 40 || !id.bytes().all(|b| b.is_ascii_lowercase() || b == b'_') {
        return Err(format!("{id:?} is no care number"));
    }
    for value in [Some(number.usual), number.low, number.high] {
        within(value, "a care number in tenths", 0, MOST_TENTHS)?;
    }
    within(number.records, "the number of own records", 1, 9_999)?;
    let (low, high) = (number.low.unwrap_or(number.usual), number.high.unwrap_or(number.usual));
    if low > number.usual || number.usual > high {
        return Err(format!("{low}, {}, {high} are not in this order", number.usual));
    }
    Ok(())
}

/// Its words, its rule, its clock; gives that clock.
pub(super) fn reminder(reminder: &mut Reminder) -> Result<TimeZone, String> {
    reminder.what = tidy(&reminder.what);
    let n = reminder.what.chars().count();
    if n == 0 || n > MOST_TEXT {
        return Err(format!("its text has {n} characters; it must be 1 to {MOST_TEXT}"));
    }
    within(Some(reminder.number), "its number", 0, 1_000_000)?;
    if let Some(rule) = &reminder.rule {
        within(Some(rule.every), "how often it comes", 1, i64::from(u16::MAX))?;
        for day in &rule.on {
            within(Some(*day), "a day of the week", 1, 7)?;
        }
    }
    places::zone(&reminder.zone).ok_or_else(|| format!("{:?} is no time zone that this program knows", reminder.zone))
}

pub(super) fn animal(animal: &mut Animal) -> Checked {
    within(Some(animal.number.0), "the code", 0, MOST_CODE.into())?;
    line(&mut animal.origin, "the origin", LINE_CHARS)?;
    parents((animal.sire_id.is_some(), &mut animal.sire_out), (animal.dam_id.is_some(), &mut animal.dam_out))?;
    if animal.sire_id.is_some() && animal.sire_id == animal.dam_id {
        return Err("father and mother are one animal".to_owned());
    }
    note(&mut animal.notes)?;
    animal.tags = animal.tags.iter().map(|t| tidy(t)).filter(|t| !t.is_empty()).collect();
    if let Some(long) = animal.tags.iter().find(|t| t.chars().count() > TAG_CHARS) {
        return Err(format!("the tag {long:?} has more than {TAG_CHARS} characters"));
    }
    within(animal.price_cents, "the price in hundredths", 0, 1_000_000_000_000)?;
    if let Some(code) = animal.currency.as_ref().filter(|c| c.len() != 3 || !c.bytes().all(|b| b.is_ascii_uppercase()))
    {
        return Err(format!("{code:?} is no currency like EUR"));
    }
    genes(&animal.genes)
}

/// Each side is kept here or told in words, not both.
fn parents(sire: (bool, &mut Option<String>), dam: (bool, &mut Option<String>)) -> Checked {
    for ((kept, words), what) in [(sire, "the father elsewhere"), (dam, "the mother elsewhere")] {
        line(words, what, LINE_CHARS)?;
        if kept {
            *words = None;
        }
    }
    Ok(())
}

pub(super) fn weight(weight: &Weight) -> Checked {
    within(Some(weight.grams), "the weight in grams", 1, 200_000)
}

pub(super) fn meal(meal: &mut Meal) -> Checked {
    line(&mut meal.prey, "the prey", PREY_CHARS)
}

pub(super) fn sign(sign: &Sign) -> Checked {
    within(sign.size_mm, "the size in mm", 1, 200)
}

pub(super) fn meeting(meeting: &mut Meeting) -> Checked {
    parents((meeting.sire_id.is_some(), &mut meeting.sire_out), (meeting.dam_id.is_some(), &mut meeting.dam_out))?;
    if meeting.sire_id.is_none() && meeting.dam_id.is_none() {
        return Err("neither animal is in the file".to_owned());
    }
    Ok(())
}

pub(super) fn clutch(clutch: &mut Clutch) -> Checked {
    parents((clutch.sire_id.is_some(), &mut clutch.sire_out), (clutch.dam_id.is_some(), &mut clutch.dam_out))?;
    if clutch.sires.is_some() && (clutch.sire_id.is_some() || clutch.sire_out.is_some()) {
        return Err("it has a father and possible fathers".to_owned());
    }
    if clutch.sire_id.is_none() && clutch.dam_id.is_none() {
        return Err("neither parent is in the file".to_owned());
    }
    line(&mut clutch.code, "the code", CODE_CHARS)?;
    note(&mut clutch.notes)?;
    for (n, what) in [
        (clutch.eggs, "the number of eggs"),
        (clutch.slugs, "the number of slugs"),
        (clutch.doubtful, "the number of doubtful eggs"),
        (clutch.lost, "the number of lost"),
    ] {
        within(n, what, 0, 99)?;
    }
    within(clutch.warmth, "the warmth in tenths of a degree", 100, 400)?;
    for young in clutch.young.iter_mut().filter(|y| y.untold) {
        young.genes.clear();
    }
    clutch.young.iter().try_for_each(|young| genes(&young.genes))
}
