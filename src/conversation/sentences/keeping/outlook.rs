//! Looking ahead, and who was moved by a record: whom to prove first, what a clutch without a visual would say.

use super::evidence::{het, pronoun_of};
use super::{count, with_code};
use crate::collection::animal::Animal;
use crate::conversation::labels::{self, percent};
use crate::engine::odds::{Odds, sure};
use crate::reply::{Reply, Row};
use crate::species::{GeneId, Species};

/// Lines of one answer.
const LINES: usize = 8;

/// An animal whose chance to carry is another now.
#[derive(Debug, Clone)]
pub(in crate::conversation) struct Moved<'h> {
    pub(in crate::conversation) who: &'h Animal,
    pub(in crate::conversation) gene: GeneId,
    pub(in crate::conversation) before: Odds,
    pub(in crate::conversation) after: Odds,
}

/// An animal that could be proven out.
#[derive(Debug)]
pub(in crate::conversation) struct First<'h> {
    pub(in crate::conversation) who: &'h Animal,
    pub(in crate::conversation) species: &'h Species,
    pub(in crate::conversation) gene: GeneId,
    pub(in crate::conversation) now: Odds,
    pub(in crate::conversation) label: Odds,
    /// The mate here that tells the most: its name, whether it shows the gene, the chance that it carries.
    pub(in crate::conversation) mate: Option<(String, bool, Odds)>,
    /// Young of a usual clutch.
    pub(in crate::conversation) young: u32,
    pub(in crate::conversation) visual_in_clutch: f64,
    /// Young kept whose own chance hangs on it.
    pub(in crate::conversation) hang: usize,
    /// What a clutch is expected to tell, all who hang on it counted.
    pub(in crate::conversation) worth: f64,
}

/// Who is worth proving first.
pub(in crate::conversation) fn who_first(ways: &[First<'_>]) -> Reply {
    if ways.is_empty() {
        return Reply::sentence("Nobody here is a possible het: there is nothing to prove out.");
    }
    let testable: Vec<&First<'_>> = ways.iter().filter(|w| w.mate.is_some()).collect();
    let mut reply = Reply { understood: format!("Possible hets here: {}", ways.len()), ..Reply::default() };
    let Some(first) = testable.first() else {
        reply.answer.push(
            "None of them has a mate here that may carry the same gene. A visual of it would settle each fastest."
                .to_owned(),
        );
        reply.rows.extend(ways.iter().take(LINES).map(|w| Row::heading(state(w))));
        return reply;
    };
    let name = with_code(first.who);
    let mate = first.mate.as_ref().map_or(String::new(), |m| m.0.clone());
    reply.answer.push(format!("{name} first, with {mate}: that clutch is expected to tell the most."));
    for way in testable.iter().take(LINES) {
        let Some((mate, visual, chance)) = &way.mate else { continue };
        let kind = if *visual {
            "a visual".to_owned()
        } else if *chance == sure() {
            "a sure het".to_owned()
        } else {
            format!("{} het", percent(chance))
        };
        let hang = match way.hang {
            0 => String::new(),
            n => format!(
                "; {} move{} with {}",
                count(n, "young", "young"),
                if n == 1 { "s" } else { "" },
                pronoun_of(way.who)
            ),
        };
        reply.rows.push(Row::heading(format!(
            "{}: with {mate} ({kind}) a visual among {} young in {}{hang}",
            state(way),
            way.young,
            labels::percent_f64(way.visual_in_clutch),
        )));
    }
    let alone = ways.len() - testable.len();
    if alone > 0 {
        reply.notes.push(format!(
            "{} no mate here that may carry the same.",
            if alone == 1 { "1 more has".to_owned() } else { format!("{alone} more have") }
        ));
    }
    reply.notes.push("Age, weight and rest come first: prove her only in a year in which she can breed.".to_owned());
    reply
}

fn state(way: &First<'_>) -> String {
    let now = if way.now == way.label {
        labels::het_share(&way.now)
    } else {
        format!("{} label, {} now,", labels::het_share(&way.label), percent(&way.now))
    };
    format!("{} {now} {}", with_code(way.who), het(way.species, way.gene))
}

pub(in crate::conversation) fn no_mate(animal: &Animal) -> Reply {
    Reply::sentence(format!(
        "With whom? Name the pair, such as \"what if the next clutch of {} x … is all normal\".",
        animal.called()
    ))
}

pub(in crate::conversation) fn cannot_be_all_normal(sire: &Animal, dam: &Animal) -> Reply {
    Reply::sentence(format!(
        "By the records {} × {} cannot give normal-looking young only: every young would show something.",
        sire.called(),
        dam.called()
    ))
}

/// Before and after a clutch that is not there.
pub(in crate::conversation) fn all_normal(
    species: &Species,
    sire: &Animal,
    dam: &Animal,
    n: u32,
    moved: &[Moved<'_>],
    waiting: bool,
) -> Reply {
    let clutch = if waiting { "the clutch that is due" } else { "a next clutch" };
    let mut reply = Reply {
        understood: format!("If {clutch} of {} × {} gave {n} normal-looking young", sire.called(), dam.called()),
        ..Reply::default()
    };
    if moved.is_empty() {
        reply.answer.push("Nothing would change: these young would tell nothing that is not known.".to_owned());
    }
    reply.answer.extend(lines(species, moved));
    reply.notes.push("This only looks ahead; nothing was saved.".to_owned());
    reply.notes.push("Misses never prove that it is not; a single visual proves that it is.".to_owned());
    reply
}

fn lines(species: &Species, moved: &[Moved<'_>]) -> Vec<String> {
    let mut lines: Vec<String> = moved
        .iter()
        .take(LINES)
        .map(|m| {
            let after = if m.after == sure() { "sure".to_owned() } else { percent(&m.after) };
            format!("{} {}: {} \u{2192} {after}", with_code(m.who), het(species, m.gene), percent(&m.before))
        })
        .collect();
    if moved.len() > LINES {
        lines.push(format!("and {} more", moved.len() - LINES));
    }
    lines
}

/// Whose chances a record changed.
pub(in crate::conversation) fn who_changed(species: &Species, moved: &[Moved<'_>]) -> Vec<String> {
    if moved.is_empty() {
        return Vec::new();
    }
    vec![format!("What it changed: {}. \"undo\" takes this back, too.", lines(species, moved).join("; "))]
}
