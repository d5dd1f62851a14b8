//! Who is related to whom, in words with the coefficient.

use super::{list_of, with_code};
use crate::collection::animal::{Animal, Sex};
use crate::collection::evidence::Evidence;
use crate::collection::kin::{Kin, Relation};
use crate::conversation::labels::percent;
use crate::engine::odds::{none, odds};
use crate::engine::pedigree::descent::AnimalId as Member;
use crate::reply::{Reply, Row};

/// Relatives of one list.
const LINES: usize = 12;

/// "half siblings (mother: Nova)".
fn words(pedigree: &Evidence<'_>, one: &Animal, other: &Animal, kin: &Kin) -> String {
    let by = |sex: Sex, male: &str, female: &str, neither: &str| match sex {
        Sex::Male => male.to_owned(),
        Sex::Female => female.to_owned(),
        Sex::Unknown => neither.to_owned(),
    };
    let half = |half: bool| if half { "half " } else { "" };
    let is = |what: String| format!("{} is the {what} of {}", one.called(), other.called());
    let turned = |what: String| format!("{} is the {what} of {}", other.called(), one.called());
    let are = |what: &str| format!("{} and {} are {what}", one.called(), other.called());
    match kin.relation {
        Relation::Same => "That is one animal".to_owned(),
        Relation::Parent => is(by(one.sex, "father", "mother", "parent")),
        Relation::Young => turned(by(other.sex, "father", "mother", "parent")),
        Relation::FullSiblings => are("full siblings"),
        Relation::HalfSiblings => format!("{}{}", are("half siblings"), shared(pedigree, one, other, &kin.shared)),
        Relation::Ancestor(2) => is(by(one.sex, "grandfather", "grandmother", "grandparent")),
        Relation::Descendant(2) => turned(by(other.sex, "grandfather", "grandmother", "grandparent")),
        Relation::Ancestor(n) => is(format!("ancestor {n} generations back")),
        Relation::Descendant(n) => turned(format!("ancestor {n} generations back")),
        Relation::Uncle { half: h } => is(format!("{}{}", half(h), by(one.sex, "uncle", "aunt", "uncle or aunt"))),
        Relation::Nephew { half: h } => {
            turned(format!("{}{}", half(h), by(other.sex, "uncle", "aunt", "uncle or aunt")))
        }
        Relation::Cousins { half: h } => are(if h { "half first cousins" } else { "first cousins" }),
        Relation::Distant => are("related further back"),
        Relation::Unrelated => are("not related by the records"),
    }
}

/// " (the same mother, Nova)".
fn shared(pedigree: &Evidence<'_>, one: &Animal, other: &Animal, shared: &[Member]) -> String {
    let _ = other;
    let Some(parent) = shared.first() else { return String::new() };
    let father = one.sire_id.is_some() && pedigree.kept(*parent).is_some_and(|a| one.sire_id == Some(a.id));
    let name = pedigree.kept(*parent).map_or_else(|| "elsewhere".to_owned(), Animal::called);
    let role = match pedigree.kept(*parent) {
        Some(_) if father => "father",
        Some(_) => "mother",
        None => "parent",
    };
    format!(" (the same {role}, {name})")
}

pub(in crate::conversation) fn related(pedigree: &Evidence<'_>, one: &Animal, other: &Animal, kin: &Kin) -> Reply {
    let mut reply = Reply { understood: format!("{} and {}", with_code(one), with_code(other)), ..Reply::default() };
    if kin.relation == Relation::Same {
        reply.answer.push("That is one and the same animal.".to_owned());
        return reply;
    }
    reply.answer.push(format!("{}: {}.", words(pedigree, one, other, kin), percent(&kin.kinship)));
    if kin.kinship > none() {
        reply.notes.push(format!(
            "So inbred their young would be: at {} of the places both copies come from one ancestor.",
            percent(&kin.kinship)
        ));
    }
    if kin.relation.usual().is_some_and(|usual| kin.kinship > usual && kin.kinship > none()) {
        reply.notes.push("That is more than by this alone: they are related in more than one way.".to_owned());
    }
    if kin.unknown {
        reply
            .notes
            .push("Nothing is known of the parents of either; unknown animals are taken as unrelated.".to_owned());
    } else {
        reply.notes.push("Unknown ancestors are taken as unrelated; if they were not, it is more.".to_owned());
    }
    reply
}

/// All relatives here, the nearest first.
pub(in crate::conversation) fn relatives(pedigree: &Evidence<'_>, one: &Animal, all: &[(&Animal, Kin)]) -> Reply {
    let mut reply = Reply { understood: with_code(one), ..Reply::default() };
    if all.is_empty() {
        reply.answer.push(format!("By the records {} is related to nobody here.", one.called()));
    } else {
        reply.answer.push(format!("{} is related to:", one.called()));
    }
    for (other, kin) in all.iter().take(LINES) {
        reply.rows.push(Row::heading(format!("{}: {}", words(pedigree, one, other, kin), percent(&kin.kinship))));
    }
    if all.len() > LINES {
        reply.rest = Some(format!("and {} more", all.len() - LINES));
    }
    reply.notes.push("Unknown ancestors are taken as unrelated.".to_owned());
    reply
}

/// A pairing of relatives: said beside its odds.
pub(in crate::conversation) fn of_pair(
    pedigree: &Evidence<'_>,
    one: &Animal,
    other: &Animal,
    kin: &Kin,
) -> Option<String> {
    if kin.kinship == none() || kin.relation == Relation::Same {
        return None;
    }
    let close = if kin.kinship >= odds(1, 8) {
        " Close pairings bring harmful recessives to light; an unrelated mate avoids that."
    } else {
        ""
    };
    Some(format!(
        "{}: their young would be inbred by {}.{close}",
        words(pedigree, one, other, kin),
        percent(&kin.kinship)
    ))
}

/// Two species.
pub(in crate::conversation) fn other_species(one: &Animal, other: &Animal) -> Reply {
    Reply::sentence(format!("{} are of two species.", list_of(&[one.called(), other.called()])))
}
