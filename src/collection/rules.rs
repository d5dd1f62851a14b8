//! What cannot be: every rule that a record must keep before it is saved.
//!
//! In: the herd as it would be, the records that are new or changed, and the day. Out: the first [`Fault`], with the value
//! and the rule in one sentence. Nothing of a record with a fault is saved; the records beside it are.

use jiff::civil::Date;
use thiserror::Error;

use super::animal::{Animal, AnimalId, Sex};
use super::events::{Clutch, Meeting, Weight};
use super::genes;
use super::herd::Herd;
use crate::engine::odds::sure;
use crate::reading::dates::When;
use crate::reading::records::kinds::{SignKind, Status};
use crate::species::Species;

/// The most of each that one keeper may have.
pub mod limits {
    /// Animals, gone ones included.
    pub const ANIMALS: usize = 5_000;
    /// Weights, meals, signs, meetings and clutches in one year.
    pub const EVENTS_A_YEAR: usize = 10_000;
    /// Goals.
    pub const GOALS: usize = 20;
    /// Tags of one animal.
    pub const TAGS: usize = 20;
    /// From this share of a limit on it is mentioned, in percent.
    pub const WARN_PERCENT: usize = 90;
}

/// A hatchling weighs at most so many times what the species' heaviest usual hatchling does.
const HATCHLING_FACTOR: f64 = 4.0;
/// Up to this age an animal counts as a hatchling, in days.
const HATCHLING_DAYS: i32 = 60;
/// An adult weighs at most so many times the usual weight of a female that breeds.
const ADULT_FACTOR: f64 = 6.0;
/// Eggs that hatch earlier than this share of the species' shortest usual time are a slip of the pen.
const INCUBATION_SHARE: f64 = 0.6;

/// A male that was met at most so many days before can be the father: sperm is kept for years, as far as is known.
const SPERM_IS_KEPT: i32 = 730;
/// A first meeting so soon after a sign is of the same season.
const SOON_AFTER: i32 = 120;

/// Why a record cannot be.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[allow(missing_docs)] // each variant is its sentence, its fields are the values in it
pub enum Fault {
    #[error("{who} hatched {when}, which is still to come (today is {today})")]
    HatchedLater { who: String, when: String, today: String },
    #[error("{what} on {when}: that day is still to come (today is {today})")]
    Later { what: String, when: String, today: String },
    #[error("{who} cannot be {role} of {young}: {who} is {sex}")]
    WrongSex { who: String, role: &'static str, young: String, sex: &'static str },
    #[error("{who} cannot be a parent of {young}: {who} hatched {when}, {young} hatched {young_when}")]
    Younger { who: String, young: String, when: String, young_when: String },
    #[error("{who} would be its own ancestor")]
    OwnAncestor { who: String },
    #[error("{who} and {young} are not of one species")]
    OtherSpecies { who: String, young: String },
    #[error("{who} cannot have {genes}: an animal has room for two at {locus}")]
    TooManyAlleles { who: String, genes: String, locus: String },
    #[error("{grams} g for {who}, {age} days after hatching: a hatchling of this species has at most about {most} g")]
    HeavyHatchling { who: String, grams: i32, age: i32, most: i32 },
    #[error("{grams} g for {who}: this species has at most about {most} g. Is it another unit?")]
    Heavy { who: String, grams: i32, most: i32 },
    #[error("{who} was weighed on {on}, before hatching ({hatched})")]
    BeforeHatching { who: String, on: String, hatched: String },
    #[error("{who} {gone} {when}; nothing can have happened on {on}")]
    Gone { who: String, gone: &'static str, when: String, on: String },
    #[error("{who} is male and lays no eggs. Was it another animal, or is {who} a female?")]
    MaleLays { who: String },
    #[error("{who} is {sex} and cannot be the {role}")]
    NotTheRole { who: String, sex: &'static str, role: &'static str },
    #[error("{dam} laid {laid}, but the first record of {sire} with her is of {met}: laid before they were paired")]
    BeforePairing { dam: String, sire: String, laid: String, met: String },
    #[error("{who}: {sign} on {on}, but she was first paired that season on {met}. Which of the two days is right?")]
    SignBeforePairing { who: String, sign: String, on: String, met: String },
    #[error("hatched {hatched}, but laid {laid}: {days} days are too few (this species needs {least} or more)")]
    TooSoon { hatched: String, laid: String, days: i32, least: i32 },
    #[error("hatched {hatched} is before laid {laid}")]
    HatchedBeforeLaid { hatched: String, laid: String },
    #[error("pipped {pipped}, but laid {laid}: {days} days are too few (eggs of this species need {least} or more)")]
    PipTooSoon { pipped: String, laid: String, days: i32, least: i32 },
    #[error("{young} young from {eggs} eggs")]
    MoreThanEggs { young: u32, eggs: u32 },
    #[error("you have {n} animals; {most} is the most one collection can hold")]
    TooManyAnimals { n: usize, most: usize },
    #[error("you have recorded {n} events in one year; {most} is the most")]
    TooManyEvents { n: usize, most: usize },
    #[error("you have {n} goals; {most} is the most")]
    TooManyGoals { n: usize, most: usize },
    #[error("{who} would have {n} tags; {most} is the most")]
    TooManyTags { who: String, n: usize, most: usize },
}

fn sex_word(sex: Sex) -> &'static str {
    match sex {
        Sex::Male => "male",
        Sex::Female => "female",
        Sex::Unknown => "not sexed",
    }
}

/// Checks an animal that is new or changed, in a herd that holds it.
///
/// # Errors
/// The first [`Fault`].
pub fn animal(herd: &Herd, species: &Species, animal: &Animal, today: Date) -> Result<(), Fault> {
    let who = animal.called();
    if let Some(hatched) = animal.hatched
        && hatched.first() > today
    {
        return Err(Fault::HatchedLater { who, when: hatched.words(), today: When::Day(today).words() });
    }
    alleles(species, animal)?;
    parents(herd, animal)?;
    if is_own_ancestor(herd, animal.id) {
        return Err(Fault::OwnAncestor { who });
    }
    if animal.tags.len() > limits::TAGS {
        return Err(Fault::TooManyTags { who, n: animal.tags.len(), most: limits::TAGS });
    }
    // Its young must still be younger than it.
    for young in herd.animals.iter().filter(|a| a.sire_id == Some(animal.id) || a.dam_id == Some(animal.id)) {
        let (role, wrong) =
            if young.sire_id == Some(animal.id) { ("the father", Sex::Female) } else { ("the mother", Sex::Male) };
        parent_fits(young, animal, role, wrong)?;
    }
    Ok(())
}

/// Checks that an animal's parents can be its parents at all: their sex, their species, their age.
///
/// # Errors
/// The first [`Fault`].
pub fn parents(herd: &Herd, animal: &Animal) -> Result<(), Fault> {
    for (id, role, wrong) in [(animal.sire_id, "the father", Sex::Female), (animal.dam_id, "the mother", Sex::Male)] {
        let Some(parent) = id.and_then(|id| herd.animal(id)) else { continue };
        parent_fits(animal, parent, role, wrong)?;
    }
    Ok(())
}

fn parent_fits(young: &Animal, parent: &Animal, role: &'static str, wrong: Sex) -> Result<(), Fault> {
    let (who, called) = (parent.called(), young.called());
    if parent.sex == wrong {
        return Err(Fault::WrongSex { who, role, young: called, sex: sex_word(parent.sex) });
    }
    if parent.species != young.species {
        return Err(Fault::OtherSpecies { who, young: called });
    }
    if let (Some(a), Some(b)) = (parent.hatched, young.hatched)
        && a.first() >= b.last()
    {
        return Err(Fault::Younger { who, young: called, when: a.words(), young_when: b.words() });
    }
    Ok(())
}

fn alleles(species: &Species, animal: &Animal) -> Result<(), Fault> {
    for (n, locus) in species.loci().iter().enumerate() {
        let sure_here: Vec<(&str, u8)> = animal
            .genes
            .iter()
            .filter(|b| b.chance == sure())
            .filter_map(|b| Some((species.gene(species.gene_by_id(&b.gene)?), b.copies)))
            .filter(|(g, _)| g.locus == Some(n))
            .map(|(g, copies)| (g.entry.name.as_str(), copies))
            .collect();
        if sure_here.iter().map(|g| u32::from(g.1)).sum::<u32>() > 2 {
            let genes = sure_here
                .iter()
                .map(|(name, n)| if *n == 2 { format!("two {name}") } else { (*name).to_owned() })
                .collect::<Vec<_>>()
                .join(" and ");
            return Err(Fault::TooManyAlleles { who: animal.called(), genes, locus: locus.name.clone() });
        }
    }
    Ok(())
}

fn is_own_ancestor(herd: &Herd, id: AnimalId) -> bool {
    let mut seen = std::collections::HashSet::new();
    let mut open: Vec<AnimalId> = herd.animal(id).into_iter().flat_map(|a| [a.sire_id, a.dam_id]).flatten().collect();
    while let Some(next) = open.pop() {
        if next == id {
            return true;
        }
        if seen.insert(next) {
            open.extend(herd.animal(next).into_iter().flat_map(|a| [a.sire_id, a.dam_id]).flatten());
        }
    }
    false
}

/// Checks that an animal was there on a day.
///
/// # Errors
/// The first [`Fault`].
pub fn was_there(animal: &Animal, what: &str, on: When, today: Date) -> Result<(), Fault> {
    if on.first() > today {
        return Err(Fault::Later { what: what.to_owned(), when: on.words(), today: When::Day(today).words() });
    }
    if let Some(hatched) = animal.hatched
        && on.last() < hatched.first()
    {
        return Err(Fault::BeforeHatching { who: animal.called(), on: on.words(), hatched: hatched.words() });
    }
    if let (Status::Died, Some(when)) = (animal.status, animal.status_on)
        && on.first() > when.last()
    {
        return Err(Fault::Gone { who: animal.called(), gone: "died", when: when.words(), on: on.words() });
    }
    Ok(())
}

/// Checks a weight.
///
/// # Errors
/// The first [`Fault`].
pub fn weight(animal: &Animal, species: &Species, weight: &Weight, today: Date) -> Result<(), Fault> {
    was_there(animal, "weighed", When::Day(weight.on), today)?;
    let (who, grams) = (animal.called(), weight.grams);
    let care = species.care();
    if let (Some(hatched), Some(usual)) = (animal.hatched, &care.hatchling_weight_g) {
        let age = weight.on.since(hatched.first()).map_or(i32::MAX, |s| s.get_days());
        let most = rounded(usual.high * HATCHLING_FACTOR);
        if age <= HATCHLING_DAYS && grams > most {
            return Err(Fault::HeavyHatchling { who, grams, age, most });
        }
    }
    if let Some(usual) = &care.female_first_weight {
        let most = rounded(usual.high * ADULT_FACTOR);
        if grams > most {
            return Err(Fault::Heavy { who, grams, most });
        }
    }
    Ok(())
}

#[expect(clippy::cast_possible_truncation)] // care numbers are grams and days, far below the bounds
fn rounded(value: f64) -> i32 {
    value.round() as i32
}

/// Checks a meeting of two animals.
///
/// # Errors
/// The first [`Fault`].
pub fn meeting(herd: &Herd, meeting: &Meeting, today: Date) -> Result<(), Fault> {
    for (id, wrong, role) in [(meeting.sire_id, Sex::Female, "male"), (meeting.dam_id, Sex::Male, "female")] {
        let Some(animal) = id.and_then(|id| herd.animal(id)) else { continue };
        if animal.sex == wrong {
            return Err(Fault::NotTheRole { who: animal.called(), sex: sex_word(animal.sex), role });
        }
        was_there(animal, "paired", meeting.on, today)?;
    }
    if let (Some(sire), Some(dam)) =
        (meeting.sire_id.and_then(|id| herd.animal(id)), meeting.dam_id.and_then(|id| herd.animal(id)))
        && sire.species != dam.species
    {
        return Err(Fault::OtherSpecies { who: sire.called(), young: dam.called() });
    }
    Ok(())
}

/// Checks a sign of a female against her meetings: nobody ovulates, sheds or carries for a male she meets later.
///
/// # Errors
/// The first [`Fault`].
pub fn sign(herd: &Herd, animal: &Animal, kind: SignKind, word: &str, on: When) -> Result<(), Fault> {
    if !matches!(kind, SignKind::Ovulation | SignKind::PrelayShed | SignKind::Gravid) {
        return Ok(());
    }
    let days = |from: When, to: When| to.first().since(from.last()).map_or(0, |span| span.get_days());
    let met = || herd.meetings.iter().filter(|m| m.dam_id == Some(animal.id)).map(|m| m.on);
    // A male of the season before may be the father: sperm is kept.
    let before = met().any(|m| m.first() <= on.last() && days(m, on) <= SPERM_IS_KEPT);
    let after = met().filter(|m| m.first() > on.last() && days(on, *m) <= SOON_AFTER).min_by_key(|m| m.first());
    match after.filter(|_| !before) {
        Some(met) => Err(Fault::SignBeforePairing {
            who: animal.called(),
            sign: word.to_owned(),
            on: on.words(),
            met: met.words(),
        }),
        None => Ok(()),
    }
}

/// Checks a clutch.
///
/// # Errors
/// The first [`Fault`].
pub fn clutch(herd: &Herd, species: &Species, clutch: &Clutch, today: Date) -> Result<(), Fault> {
    if let Some(dam) = clutch.dam_id.and_then(|id| herd.animal(id)) {
        if dam.sex == Sex::Male {
            return Err(Fault::MaleLays { who: dam.called() });
        }
        if let Some(laid) = clutch.laid {
            was_there(dam, "laid", laid, today)?;
        }
    }
    if let Some(sire) = clutch.sire_id.and_then(|id| herd.animal(id))
        && sire.sex == Sex::Female
    {
        return Err(Fault::NotTheRole { who: sire.called(), sex: "female", role: "father" });
    }
    for (what, when) in [("laid", clutch.laid), ("pipped", clutch.pipped), ("hatched", clutch.hatched)] {
        if let Some(when) = when.filter(|w| w.first() > today) {
            return Err(Fault::Later { what: what.into(), when: when.words(), today: When::Day(today).words() });
        }
    }
    before_pairing(herd, clutch)?;
    if let (Some(laid), Some(hatched)) = (clutch.laid, clutch.hatched) {
        if hatched.last() < laid.first() {
            return Err(Fault::HatchedBeforeLaid { hatched: hatched.words(), laid: laid.words() });
        }
        let days = hatched.last().since(laid.first()).map_or(0, |s| s.get_days());
        if let Some(usual) = &species.care().incubation_days {
            let least = rounded(usual.low * INCUBATION_SHARE);
            if days < least {
                return Err(Fault::TooSoon { hatched: hatched.words(), laid: laid.words(), days, least });
            }
        }
    }
    if let (Some(laid), Some(pipped), Some(usual)) = (clutch.laid, clutch.pipped, &species.care().incubation_days) {
        let days = pipped.last().since(laid.first()).map_or(0, |s| s.get_days());
        let first = species.care().pip_days.as_ref().map_or(0.0, |pip| pip.high);
        let least = rounded((usual.low - first) * INCUBATION_SHARE);
        if days < least {
            return Err(Fault::PipTooSoon { pipped: pipped.words(), laid: laid.words(), days, least });
        }
    }
    let eggs = |n: Option<i16>| u32::try_from(n.unwrap_or(0)).unwrap_or(0);
    let laid = eggs(clutch.eggs) + eggs(clutch.doubtful);
    let young = clutch.n_young() + eggs(clutch.lost);
    // A doubtful egg or a slug has surprised its keeper before.
    if clutch.eggs.is_some() && young > laid + eggs(clutch.slugs) {
        return Err(Fault::MoreThanEggs { young, eggs: laid });
    }
    Ok(())
}

fn before_pairing(herd: &Herd, clutch: &Clutch) -> Result<(), Fault> {
    let (Some(sire), Some(dam), Some(laid)) = (clutch.sire_id, clutch.dam_id, clutch.laid) else { return Ok(()) };
    let met = herd.meetings.iter().filter(|m| m.sire_id == Some(sire) && m.dam_id == Some(dam)).map(|m| m.on);
    let Some(first) = met.min_by_key(|w| w.first()) else { return Ok(()) };
    if laid.last() < first.first() {
        let called = |id| herd.animal(id).map_or_else(String::new, Animal::called);
        return Err(Fault::BeforePairing {
            dam: called(dam),
            sire: called(sire),
            laid: laid.words(),
            met: first.words(),
        });
    }
    Ok(())
}

/// Checks the size of a collection with `more_animals` and `more_events` in it; gives a warning from 90 % on.
///
/// # Errors
/// The first [`Fault`].
pub fn size(herd: &Herd, more_animals: usize, more_events: usize, today: Date) -> Result<Option<String>, Fault> {
    let n = herd.animals.len();
    if more_animals > 0 && n + more_animals > limits::ANIMALS {
        return Err(Fault::TooManyAnimals { n, most: limits::ANIMALS });
    }
    let events = herd.events_in(today.year());
    if more_events > 0 && events + more_events > limits::EVENTS_A_YEAR {
        return Err(Fault::TooManyEvents { n: events, most: limits::EVENTS_A_YEAR });
    }
    let near = |n: usize, most: usize| n * 100 >= most * limits::WARN_PERCENT;
    Ok(if more_animals > 0 && near(n + more_animals, limits::ANIMALS) {
        Some(format!("you have {} animals of {} that fit", n + more_animals, limits::ANIMALS))
    } else if more_events > 0 && near(events + more_events, limits::EVENTS_A_YEAR) {
        Some(format!("you have recorded {} events of {} this year", events + more_events, limits::EVENTS_A_YEAR))
    } else {
        None
    })
}

/// Whether beliefs of a changed animal are all of genes that its species knows.
#[must_use]
pub fn knows_genes(species: &Species, animal: &Animal) -> bool {
    genes::unknown(species, &animal.genes).next().is_none()
}
