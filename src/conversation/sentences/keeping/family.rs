//! The family of an animal in words and as a picture.

use super::{count, look, with_code};
use crate::collection::animal::{Animal, Sex};
use crate::conversation::labels::percent;
use crate::conversation::sentences::DRAW_IT;
use crate::engine::odds::{Odds, none};
use crate::reply::picture::{self, Drawing, Relative};
use crate::reply::{Reply, Row};
use crate::species::Catalogue;

/// Somebody of a family.
pub(in crate::conversation) struct Member<'a> {
    /// Generations away.
    pub(in crate::conversation) depth: u32,
    pub(in crate::conversation) sex: Sex,
    /// Who, if kept here.
    pub(in crate::conversation) animal: Option<&'a Animal>,
    /// Who, elsewhere.
    pub(in crate::conversation) outside: Option<&'a str>,
    /// Stands in this family more than once.
    pub(in crate::conversation) again: bool,
}

/// An animal with its family.
pub(in crate::conversation) struct Family<'a> {
    pub(in crate::conversation) animal: &'a Animal,
    /// Each after the one whose parent it is.
    pub(in crate::conversation) ancestors: Vec<Member<'a>>,
    /// Each after its parent.
    pub(in crate::conversation) young: Vec<Member<'a>>,
    /// Its inbreeding, where both parents are here.
    pub(in crate::conversation) inbred: Option<Odds>,
}

pub(in crate::conversation) fn family(catalogue: &Catalogue, family: &Family<'_>) -> Reply {
    let animal = family.animal;
    let mut reply = Reply { understood: format!("The family of {}", with_code(animal)), ..Reply::default() };
    reply.answer.push(look(catalogue, animal));
    if family.ancestors.is_empty() && family.young.is_empty() {
        reply.answer.push("No parents and no young of it are recorded.".to_owned());
        return reply;
    }
    for (head, members) in [("Parents and further back", &family.ancestors), ("Young", &family.young)] {
        if members.is_empty() {
            continue;
        }
        reply.rows.push(Row::heading(format!("{head}:")));
        let shown = picture::nearest(members, picture::MOST_RELATIVES, |member| member.depth);
        for member in &shown {
            let set_in = "  ".repeat(member.depth as usize);
            let again = if member.again { " (again)" } else { "" };
            reply.rows.push(Row::heading(format!("{set_in}{}{again}", in_a_line(catalogue, member))));
        }
        let more = members.len() - shown.len();
        if more > 0 {
            reply.rows.push(Row::heading(format!("  and {}", count(more, "more", "more"))));
        }
    }
    let inbred = family.inbred.as_ref().filter(|share| **share > none());
    let note = inbred.map(|share| format!("Its parents are related: it is inbred by {}.", percent(share)));
    reply.notes.extend(note.clone());
    reply.notes.push(DRAW_IT.to_owned());
    reply.drawing = Some(Box::new(Drawing::Family(picture::Family {
        name: animal.called(),
        about: look(catalogue, animal),
        ancestors: family.ancestors.iter().map(|m| relative(catalogue, m)).collect(),
        young: family.young.iter().map(|m| relative(catalogue, m)).collect(),
        notes: note.into_iter().collect(),
    })));
    reply
}

fn in_a_line(catalogue: &Catalogue, member: &Member<'_>) -> String {
    match (member.animal, member.outside) {
        (Some(animal), _) => format!("{}: {}", with_code(animal), look(catalogue, animal)),
        (None, Some(words)) => format!("{words} (elsewhere)"),
        (None, None) => String::new(),
    }
}

fn relative(catalogue: &Catalogue, member: &Member<'_>) -> Relative {
    let sex = match member.sex {
        Sex::Male => "♂",
        Sex::Female => "♀",
        Sex::Unknown => "",
    };
    Relative {
        depth: member.depth,
        sex: sex.to_owned(),
        name: member.animal.map_or_else(|| member.outside.unwrap_or_default().to_owned(), Animal::called),
        about: member.animal.map_or_else(
            || "not kept here".to_owned(),
            |animal| look(catalogue, animal).trim_start_matches(['♂', '♀', ' ']).to_owned(),
        ),
        again: member.again,
    }
}
