//! Who carries what, in words: before and after, the odds behind, what would settle it.
//! Never "certainly not": misses only make a het less likely.

use super::{count, list_of, look, with_code};
use crate::collection::animal::{Animal, AnimalId, Sex};
use crate::conversation::labels::{self, percent};
use crate::engine::odds::{Odds, none, odds, sure};
use crate::reply::Reply;
use crate::species::{Catalogue, GeneId, Species};

/// A fraction with more digits says nothing to a reader.
const FRACTION_BITS: u64 = 14;

/// What hatched from an animal with one mate.
#[derive(Debug, Clone)]
pub(in crate::conversation) struct Brood {
    /// The mate, if kept here.
    pub(in crate::conversation) kept: Option<AnimalId>,
    /// What the mate is called.
    pub(in crate::conversation) mate: Option<String>,
    /// The mate shows the gene.
    pub(in crate::conversation) shows: bool,
    /// The chance by its label that the mate carries it, for a mate that is kept here.
    pub(in crate::conversation) carries: Option<Odds>,
    /// Young in all.
    pub(in crate::conversation) young: u32,
    /// Young that show it.
    pub(in crate::conversation) visual: u32,
}

/// What a mate's young would settle.
#[derive(Debug, Clone)]
pub(in crate::conversation) struct Settles {
    pub(in crate::conversation) mate: String,
    pub(in crate::conversation) visual: bool,
    pub(in crate::conversation) chance: Odds,
    pub(in crate::conversation) until_shown: Option<u64>,
    pub(in crate::conversation) until_unlikely: Option<u64>,
}

/// One gene of an animal.
#[derive(Debug, Clone)]
pub(in crate::conversation) struct HowSure<'h> {
    pub(in crate::conversation) gene: GeneId,
    /// By its keeper's word or its parents.
    pub(in crate::conversation) label: Odds,
    /// By everything that hatched.
    pub(in crate::conversation) now: Odds,
    pub(in crate::conversation) shows: bool,
    pub(in crate::conversation) proven: Option<&'h crate::collection::events::Clutch>,
    /// Where cases had to be drawn.
    pub(in crate::conversation) error: Option<f64>,
    pub(in crate::conversation) broods: Vec<Brood>,
    pub(in crate::conversation) settles: Vec<Settles>,
}

/// "11.1 % (1/9)", the fraction where it is short.
pub(super) fn chance(p: &Odds) -> String {
    if p.denom().bits() <= FRACTION_BITS && *p < sure() && *p > none() {
        format!("{} ({p})", percent(p))
    } else {
        percent(p)
    }
}

pub(super) fn het(species: &Species, gene: GeneId) -> String {
    species.gene(gene).label(1).to_owned()
}

fn pronoun(animal: &Animal) -> &'static str {
    match animal.sex {
        Sex::Male => "he",
        Sex::Female => "she",
        Sex::Unknown => "it",
    }
}

/// A gene that shows with one copy.
pub(in crate::conversation) fn shows_anyway(species: &Species, animal: &Animal, gene: GeneId) -> Reply {
    let name = &species.gene(gene).entry.name;
    Reply::sentence(format!(
        "{name} shows with one copy: if {} has it, you see it, and nothing has to be proven.",
        animal.called()
    ))
}

/// Nothing is in doubt.
pub(in crate::conversation) fn nothing_open(species: &Species, catalogue: &Catalogue, animal: &Animal) -> Reply {
    let _ = species;
    Reply {
        understood: format!("{}: {}", with_code(animal), look(catalogue, animal)),
        answer: vec!["Nothing about this animal is in doubt: it has no possible hets.".to_owned()],
        ..Reply::default()
    }
}

/// How sure an animal's hets are, and with `settle` how many young would make it surer.
pub(in crate::conversation) fn how_sure(
    species: &Species,
    animal: &Animal,
    genes: &[HowSure<'_>],
    settle: bool,
    level: &Odds,
) -> Reply {
    let mut reply =
        Reply { understood: format!("{}, {}", with_code(animal), species.name().to_lowercase()), ..Reply::default() };
    for one in genes {
        reply.answer.push(now(species, animal, one));
        let settled = to_settle(animal, one, level);
        if settle {
            reply.answer.extend(settled);
            reply.notes.extend(behind(one));
        } else {
            reply.notes.extend(behind(one));
            reply.notes.extend(settled);
        }
        if let Some(error) = one.error {
            reply.notes.push(format!(
                "These relatives are too entangled for an exact sum: cases were drawn, standard error {:.2} points.",
                error * 100.0
            ));
        }
    }
    if genes.iter().any(|g| g.now < sure() && g.now > none()) {
        reply.notes.push("Misses never prove that it is not; a single visual proves that it is.".to_owned());
    }
    reply
}

fn now(species: &Species, animal: &Animal, one: &HowSure<'_>) -> String {
    let (who, het) = (animal.called(), het(species, one.gene));
    if one.shows {
        return format!("{who} shows {}: two copies, nothing is left to prove.", species.gene(one.gene).label(2));
    }
    if one.now == sure() {
        return match one.proven {
            Some(clutch) => {
                let before = if one.label < sure() {
                    format!(" By the label it was {}.", chance(&one.label))
                } else {
                    String::new()
                };
                let when = clutch.hatched.map_or_else(String::new, |w| format!(", hatched {}", w.words()));
                format!("Proven: {who} is {het} for sure, a visual came from {}{when}.{before}", pronoun_of(animal))
            }
            None if one.label < sure() => {
                format!("{who} is {het} for sure by the records. By the label it was {}.", chance(&one.label))
            }
            None => {
                format!("{who} is {het} for sure, as told or from the parents; no visual young has shown it here yet.")
            }
        };
    }
    if one.now == none() {
        return format!(
            "By the records nobody gave {who} {}: the chance is 0 as long as the parents and labels are right.",
            species.gene(one.gene).entry.name
        );
    }
    if (&one.now - &one.label) == none() {
        return format!("That {who} is {het}: {}. Nothing that hatched says more.", chance(&one.now));
    }
    format!(
        "That {who} is {het}: {} by the label, {} now by all that is recorded.",
        chance(&one.label),
        chance(&one.now)
    )
}

pub(super) fn pronoun_of(animal: &Animal) -> &'static str {
    match animal.sex {
        Sex::Male => "him",
        Sex::Female => "her",
        Sex::Unknown => "it",
    }
}

/// The odds behind a chance, a line a mate.
fn behind(one: &HowSure<'_>) -> Vec<String> {
    let line = |b: &Brood| {
        let mate = b.mate.clone().unwrap_or_else(|| "an unknown mate".to_owned());
        let young = count(usize::try_from(b.young).unwrap_or(0), "young", "young");
        if b.visual > 0 {
            return format!("With {mate}: {young}, {} visual: that takes a copy from each parent.", b.visual);
        }
        let n = i32::try_from(b.young.min(200)).unwrap_or(0);
        if b.shows {
            let all = percent(&odds(1, 2).pow(n));
            format!(
                "With {mate}, a visual: {young}, none visual. A carrier shows it in half, so that happens with {all} if it carries, always if not."
            )
        } else {
            match &b.carries {
                Some(p) if *p == sure() => {
                    let all = percent(&odds(3, 4).pow(n));
                    format!(
                        "With {mate}, a sure het: {young}, none visual. Two carriers show it in a quarter, so that happens with {all} if it carries, always if not."
                    )
                }
                Some(p) if *p > none() => format!(
                    "With {mate} ({} het): {young}, none visual. Both hang together: the surer one is, the less likely the other.",
                    labels::het_share(p)
                ),
                _ => format!("With {mate}, not a carrier: {young}. They tell nothing of this gene."),
            }
        }
    };
    one.broods.iter().take(4).map(line).collect()
}

/// What would settle it with the animals that are here.
fn to_settle(animal: &Animal, one: &HowSure<'_>, level: &Odds) -> Vec<String> {
    if one.now == sure() || one.now == none() || one.shows {
        return Vec::new();
    }
    let unlikely = percent(&(sure() - level));
    let mut lines: Vec<String> = one
        .settles
        .iter()
        .map(|s| {
            let kind = if s.visual {
                "a visual".to_owned()
            } else if s.chance == sure() {
                "a sure het".to_owned()
            } else {
                format!("{} het", percent(&s.chance))
            };
            let shown = s.until_shown.map_or_else(
                || format!("no number of eggs shows it with {}", percent(level)),
                |n| {
                    format!(
                        "{} show a visual with {}",
                        count(usize::try_from(n).unwrap_or(usize::MAX), "egg", "eggs"),
                        percent(level)
                    )
                },
            );
            let until = s.until_unlikely.map_or_else(
                || format!("misses alone never bring it under {unlikely}"),
                |n| match n {
                    0 => format!("it is under {unlikely} already"),
                    n => format!("{n} more normal-looking in a row bring it under {unlikely}"),
                },
            );
            format!("With {} ({kind}): if {} carries, {shown}; {until}.", s.mate, pronoun(animal))
        })
        .collect();
    if let Some(first) = lines.first_mut() {
        *first = format!("Settles it fastest here: {}", first.replacen("With", "with", 1));
    } else {
        lines.push("Nobody here of the other sex may carry it. A visual would settle it fastest: a carrier shows it in half of the eggs.".to_owned());
    }
    lines
}

/// "Nova (#3) by all that is recorded: het Clown 11.1 % (label 66 %)".
pub(in crate::conversation) fn not_its_label(
    species: &Species,
    animal: &Animal,
    moved: &[(GeneId, Odds, Odds)],
) -> String {
    let words: Vec<String> = moved
        .iter()
        .map(|(gene, label, now)| {
            let now = if *now == sure() { "sure".to_owned() } else { chance(now) };
            let label = if *label == none() { "none".to_owned() } else { labels::het_share(label) };
            format!("{} {now} (label: {label})", het(species, *gene))
        })
        .collect();
    format!("{} by all that is recorded: {}.", with_code(animal), words.join(", "))
}

pub(in crate::conversation) fn two_males(most: usize) -> Reply {
    Reply::refusal(format!(
        "A clutch has one mother; its father is a male that is kept here, or one of two to {most}: \"Rusty fathered the Nova \
         clutch\", \"Rusty or Otto fathered the Nova clutch\". Nothing was saved."
    ))
}

pub(in crate::conversation) fn shares_do_not_add_up() -> Reply {
    Reply::refusal("The shares of the fathers must add up to 100 %, each above 0. Nothing was saved.")
}

pub(in crate::conversation) fn sires_past(dam: &Animal) -> String {
    format!("set the possible fathers of the clutch of {}", with_code(dam))
}

/// The one father of a clutch.
pub(in crate::conversation) fn one_sire(clutch: &str, sire: &Animal) -> Reply {
    let mut reply = Reply::sentence(format!("Saved for {clutch}: the father is {}.", with_code(sire)));
    reply.notes.push("Say \"undo\" to take it back.".to_owned());
    reply
}

/// Several possible fathers: as told, and by what hatched.
pub(in crate::conversation) fn sires(
    clutch: &str,
    told: &[(&Animal, Odds)],
    mixed: bool,
    even: bool,
    found: &[(&Animal, Odds)],
) -> Reply {
    let shares = |of: &[(&Animal, Odds)]| {
        list_of(&of.iter().map(|(a, p)| format!("{} {}", with_code(a), percent(p))).collect::<Vec<_>>())
    };
    let how = if mixed { "Each young by either" } else { "One of them fathered all" };
    let odds = if even { ", even odds, since nothing else was said" } else { "" };
    let mut reply = Reply::sentence(format!("Saved for {clutch}. {how}: {}{odds}.", shares(told)));
    if !found.is_empty()
        && found.len() <= told.len()
        && found.iter().any(|f| told.iter().any(|t| t.0.id == f.0.id && t.1 != f.1))
    {
        reply.answer.push(format!("By the looks of the young: {}.", shares(found)));
    }
    reply.notes.push("Say \"undo\" to take it back.".to_owned());
    reply
}
