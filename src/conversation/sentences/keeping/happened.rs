//! Weights, meals, meetings, signs, clutches.

use jiff::civil::Date;

use crate::collection::animal::Animal;
use crate::collection::events::{Clutch, Weight};
use crate::collection::herd::Herd;
use crate::conversation::sentences::keeping::{
    clutch_short, count, egg_words, grams, list_of, look_of, sign_word, with_code,
};
use crate::reading::dates::When;
use crate::reading::records::kinds::{MeetingKind, SignKind};
use crate::reply::{Reply, Row};
use crate::species::Species;

const UNDO: &str = "Say \"undo\" to take it back.";

fn saved(text: String) -> Reply {
    let mut reply = Reply::sentence(text);
    reply.notes.push(UNDO.to_owned());
    reply
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

pub(in crate::conversation) fn weighed_past(rows: &[(&Animal, Weight, Option<i32>)]) -> String {
    match rows {
        [(animal, weight, _)] => format!("weighed {}: {}", with_code(animal), grams(weight.grams)),
        many => format!("weighed {}", count(many.len(), "animal", "animals")),
    }
}

pub(in crate::conversation) fn weighed(
    rows: &[(&Animal, Weight, Option<i32>)],
    today: Date,
    bad: Vec<String>,
    near: Option<String>,
) -> Reply {
    let line = |(animal, weight, before): &(&Animal, Weight, Option<i32>)| {
        let day = if weight.on == today { String::new() } else { format!(" on {}", When::Day(weight.on).words()) };
        let step = match before {
            Some(b) if *b != weight.grams => {
                let sign = if weight.grams > *b { "+" } else { "−" };
                format!(" ({sign}{} since the last time)", grams((weight.grams - b).abs()))
            }
            Some(_) => " (as the last time)".to_owned(),
            None => String::new(),
        };
        format!("{}: {}{day}{step}", with_code(animal), grams(weight.grams))
    };
    let mut reply = match rows {
        [one] => saved(format!("Saved {}.", line(one))),
        many => {
            let mut reply = saved(format!("Saved {}:", count(many.len(), "weight", "weights")));
            reply.rows = many.iter().map(|r| Row::heading(line(r))).collect();
            reply
        }
    };
    reply.notes.splice(
        0..0,
        bad.into_iter().map(|b| format!("Left out: {b}.")).chain(near.map(|n| format!("{}.", capital(&n)))),
    );
    reply
}

pub(in crate::conversation) fn fed_past(animals: &[&Animal], taken: bool) -> String {
    let names = list_of(&animals.iter().map(|a| with_code(a)).collect::<Vec<_>>());
    if taken { format!("{names} ate") } else { format!("{names} refused food") }
}

pub(in crate::conversation) fn fed(
    animals: &[&Animal],
    taken: bool,
    prey: Option<&str>,
    on: Date,
    row: usize,
) -> Reply {
    let names = list_of(&animals.iter().map(|a| with_code(a)).collect::<Vec<_>>());
    let what = if taken { "ate" } else { "refused food" };
    let prey = prey.map_or_else(String::new, |p| format!(" ({p})"));
    let mut reply = saved(format!("Saved: {names} {what}{prey}, {}.", When::Day(on).words()));
    if row > 1 {
        reply.answer.push(format!("That is {row} refusals in a row."));
    }
    reply
}

pub(in crate::conversation) fn sign_past(animal: &Animal, kind: SignKind) -> String {
    format!("{}: {}", with_code(animal), sign_word(kind))
}

pub(in crate::conversation) fn signed(animal: &Animal, kind: SignKind, size_mm: Option<i16>, on: When) -> Reply {
    let size = size_mm.map_or_else(String::new, |n| format!(" {n} mm"));
    saved(format!("Saved for {}: {}{size}, {}.", with_code(animal), sign_word(kind), on.words()))
}

fn meeting_words(kind: MeetingKind) -> &'static str {
    match kind {
        MeetingKind::Introduced => "put together",
        MeetingKind::Lock => "locked",
        MeetingKind::Separated => "taken apart",
    }
}

pub(in crate::conversation) fn met_past(sire: &str, dam: &str, kind: MeetingKind) -> String {
    format!("{sire} × {dam}: {}", meeting_words(kind))
}

pub(in crate::conversation) fn met(
    sire: &str,
    dam: &str,
    kind: MeetingKind,
    on: When,
    notes: Vec<String>,
    cautions: Vec<String>,
) -> Reply {
    let mut reply = saved(format!("Saved: {sire} × {dam} {}, {}.", meeting_words(kind), on.words()));
    reply.notes.splice(0..0, notes);
    reply.cautions = cautions;
    reply
}

/// A mate by a name that nobody here has.
pub(in crate::conversation) fn not_one_of_yours(name: &str) -> String {
    format!("{name} is none of your animals; the name was noted as it stands.")
}

pub(in crate::conversation) fn sexed_by_mating(animal: &Animal) -> String {
    format!("{} was not sexed; I noted {} as a guess.", animal.called(), super::sex_words(animal.sex))
}

pub(in crate::conversation) fn laid_past(dam: &Animal) -> String {
    format!("recorded a clutch of {}", with_code(dam))
}

pub(in crate::conversation) fn is_female_now(dam: &Animal) -> String {
    format!("{} was not sexed; she is female, proven, from now on.", dam.called())
}

pub(in crate::conversation) fn father_taken(name: &str, met: When, others: &[String]) -> String {
    let also = if others.is_empty() {
        String::new()
    } else {
        format!(
            " {} was with her too, and sperm can be kept: say \"the father is {}\" if it was him.",
            list_of(others),
            others[0]
        )
    };
    format!("I took {name} as the father: recorded together {}.{also}", met.words())
}

pub(in crate::conversation) fn laid(
    herd: &Herd,
    dam: &Animal,
    clutch: &Clutch,
    live_bearing: bool,
    notes: &[String],
) -> Reply {
    let when = clutch.laid.map_or_else(String::new, |w| format!(", {}", w.words()));
    let what = if clutch.n_young() > 0 || clutch.lost.is_some() {
        let lost = clutch.lost.and_then(|n| usize::try_from(n).ok()).filter(|n| *n > 0);
        let lost = lost.map_or_else(String::new, |n| format!(" and {n} stillborn"));
        format!("{} young{lost}", clutch.n_young())
    } else {
        let eggs = egg_words(clutch);
        if eggs.is_empty() { "not counted yet".to_owned() } else { eggs }
    };
    let code = clutch.code.as_ref().map_or_else(String::new, |c| format!(" ({c})"));
    let kind = if live_bearing { "litter" } else { "clutch" };
    let mut reply = saved(format!("Saved a {kind} of {}{code}: {what}{when}.", with_code(dam)));
    let father = clutch.sire_id.and_then(|id| herd.animal(id)).map(with_code).or_else(|| clutch.sire_out.clone());
    reply.answer.push(father.map_or_else(
        || {
            format!(
                "The father is not known; say \"… fathered the {} clutch\" with his name if you know him.",
                dam.called()
            )
        },
        |name| format!("Father: {name}."),
    ));
    reply.notes.splice(0..0, notes.iter().map(|n| capital(n)));
    reply
}

pub(in crate::conversation) fn pipped_past(herd: &Herd, clutch: &Clutch) -> String {
    format!("recorded the first pip of {}", clutch_short(herd, clutch))
}

/// The first egg is cut; `before` was recorded earlier and stays.
pub(in crate::conversation) fn pipped(herd: &Herd, clutch: &Clutch, before: Option<When>) -> Reply {
    let on = clutch.pipped.map_or_else(String::new, When::words);
    let mut reply = saved(format!("Saved: the first pip on {on}. {}.", clutch_short(herd, clutch)));
    reply.notes.insert(0, "When they are out, tell me what hatched: \"hatched 2 clowns and 4 normals\".".to_owned());
    if before.is_some() {
        reply.notes.insert(0, format!("The first pip of {on} stays: later ones do not move it."));
    }
    reply
}

/// Young that are born alive.
pub(in crate::conversation) fn no_eggs_to_pip(species: &Species) -> Reply {
    super::fault(&format!("a {} gives birth, so there are no eggs to pip", species.name().to_lowercase()))
}

pub(in crate::conversation) fn hatched_past(herd: &Herd, clutch: &Clutch) -> String {
    format!("recorded what hatched from {}", clutch_short(herd, clutch))
}

pub(in crate::conversation) fn hatched(
    species: &Species,
    herd: &Herd,
    clutch: &Clutch,
    notes: &[String],
    assumed: Vec<String>,
) -> Reply {
    let n = usize::try_from(clutch.n_young()).unwrap_or(0);
    let when = clutch.hatched.map_or_else(String::new, |w| format!(", {}", w.words()));
    let what = if n == 0 && clutch.lost.is_none() {
        format!("Saved: {} is hatching{when}.", clutch_short(herd, clutch))
    } else {
        format!("Saved: {} from {}{when}.", count(n, "young", "young"), clutch_short(herd, clutch))
    };
    let mut reply = saved(what);
    for young in &clutch.young {
        let sexes = if young.unsexed == 0 {
            format!("{}.{}", young.males, young.females)
        } else {
            format!("{}.{}.{}", young.males, young.females, young.unsexed)
        };
        let look = if young.untold { "young, look not told yet".to_owned() } else { look_of(species, &young.genes) };
        reply.rows.push(Row::heading(format!("{sexes} {look}")));
    }
    if let Some(lost) = clutch.lost.filter(|n| *n > 0) {
        reply.answer.push(format!("Lost: {lost}."));
    }
    reply.notes.splice(0..0, notes.iter().map(|n| capital(n)));
    if clutch.young.iter().any(|y| y.untold) {
        reply.notes.push(
            "Young whose look is not told yet say nothing about their parents. Tell it when it shows: \"hatched 2 clowns \
             and 4 normals\"."
                .to_owned(),
        );
    }
    let dam = clutch.dam_id.and_then(|id| herd.animal(id)).map(Animal::called);
    if let Some(dam) = dam.filter(|_| n > 0) {
        reply.notes.push(format!("To keep one: \"keep the 0.1 … from the {dam} clutch as …\"."));
    }
    reply.assumed = assumed;
    reply
}

pub(in crate::conversation) fn cannot_be(why: &str) -> String {
    format!("{why}, as they are recorded. It is kept as you said; please check the parents.")
}

pub(in crate::conversation) fn proven_by_young(animal: &Animal, label: &str) -> String {
    format!("{} is proven {label} by these young.", with_code(animal))
}
