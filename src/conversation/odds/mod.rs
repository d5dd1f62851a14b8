//! The odds of a pairing: the walk from a reading through the engine to a reply, one file a kind of question.
//!
//! In: a [`Reading`] without open questions. Out: a [`Reply`] within the length it was given. All English is in `sentences`.

mod aim; // "odds on a …"
mod best; // the most genes in one young
mod compare; // two pairings
mod drawn; // a pairing as a picture
mod hets; // what young carry unseen
mod kinds; // the kinds of young, by look
mod living; // young that are said to die
mod reasons; // why a kind cannot come
mod safe; // what is known against a pairing
pub(super) mod scene; // a pairing set up for the engine
mod square; // gametes against gametes
mod table; // the table of young
pub(super) mod wish; // the genotypes that count
mod worked; // the last answer, step by step

pub(super) use drawn::drawn;
pub use scene::offspring;
pub(super) use scene::{Brood, Laying};
pub use wish::wanted;
pub(super) use worked::worked;

use super::sentences::odds as say;
use super::{cautions, labels};
use crate::reading::requests::{Aspect, Reading, SexSaid};
use crate::reply::{LONG, Reply, Row, SHORT};
use crate::species::Species;
use scene::Scene;
use table::Table;

/// Rows of the first answer.
const ROWS: usize = 8;
/// Rows when everything was asked for.
const ALL_ROWS: usize = 24;
/// Rows below which other things are left out first.
const FEW_ROWS: usize = 3;
/// Characters that cautions may take of a short reply; the genes of the others are named.
const CAUTIONS: usize = 450;
/// The same where the pairing itself takes much room.
const FEW_CAUTIONS: usize = 240;

/// The most characters of the answer to a reading: more where more was asked for.
#[must_use]
pub fn most_characters(reading: &Reading) -> usize {
    if reading.pairing.shown.all { LONG } else { SHORT }
}

/// Answers a pairing, or two to compare. `said` are assumptions and unread words that the reply has to hold besides.
#[must_use]
pub fn answer(species: &Species, reading: &Reading, said: &Reply) -> Reply {
    let most = most_characters(reading);
    let full = if reading.pairing.shown.all { ALL_ROWS } else { ROWS };
    let draft = Draft::of(species, reading, full);
    let with = |rows: usize, most_cautions: usize| {
        let mut reply = draft.reply(species, rows, most_cautions);
        reply.assumed.clone_from(&said.assumed);
        reply.unread.clone_from(&said.unread);
        reply
    };
    // Fewer rows before fewer words: the rows left out are counted in the reply.
    for rows in (FEW_ROWS..=full).rev() {
        let mut reply = with(rows, CAUTIONS).fitted(usize::MAX);
        let length = reply.length();
        if length <= most {
            let law = say::law_and_vet();
            if !reply.cautions.is_empty() && length + law.len() < most {
                reply.notes.push(law);
            }
            return reply;
        }
    }
    for rows in (1..=FEW_ROWS).rev() {
        let reply = with(rows, FEW_CAUTIONS);
        let told = reply.rows.len();
        let reply = reply.fitted(most);
        if reply.rows.len() == told {
            return reply;
        }
    }
    with(1, FEW_CAUTIONS).fitted(most)
}

/// A reply whose length is not settled yet.
struct Draft {
    cautions: Vec<cautions::Caution>,
    reply: Reply,
    tables: Vec<Table>,
}

impl Draft {
    fn of(species: &Species, reading: &Reading, rows: usize) -> Draft {
        let pairing = &reading.pairing;
        let mut found = cautions::cautions(species, pairing);
        let mut draft = Draft { cautions: Vec::new(), reply: Reply::default(), tables: Vec::new() };
        if let Some(second) = &reading.compare {
            // Cautions come first, whichever of the two pairings they are about.
            let other = cautions::cautions(species, second);
            found.extend(other.into_iter().filter(|o| !found.iter().any(|f| f.text == o.text)).collect::<Vec<_>>());
        }
        draft.cautions = found;
        let second = reading.compare.as_ref().map(|second| Scene::of(species, second));
        match (Scene::of(species, pairing), second) {
            (Some(scene), None) => {
                draft.reply.understood = understood(&scene);
                draft.one(&scene, rows);
            }
            (Some(first), Some(Some(second))) => {
                let eggs = first.asked_laying();
                let both = [parents(&first), parents(&second)];
                let [one, two] = say::understood_two(species.name(), &both, eggs.as_ref(), first.brood());
                draft.reply.understood = one;
                draft.reply.answer.push(two);
                draft.reply.notes = also(&first);
                compare::compare(&first, &second, &mut draft.reply);
            }
            _ => draft.reply.answer.push(say::too_much()),
        }
        draft
    }

    /// Answers what was asked of one pairing.
    fn one(&mut self, scene: &Scene<'_>, rows: usize) {
        let pairing = scene.pairing;
        let reply = &mut self.reply;
        // "How many eggs?" and "why none?" without a wish are about the best that can come.
        let wishless = pairing.target.is_none() && matches!(pairing.aspect, Aspect::HowMany | Aspect::WhyNone);
        let target = if wishless { best::best_target(scene) } else { pairing.target.clone() };
        // The most important notes first: what does not fit is left out from the end.
        if target.is_none() {
            reply.notes = living::notes(scene);
        }
        reply.notes.extend(also(scene));
        match (pairing.aspect, &target) {
            (Aspect::Square, _) => square::square(scene, reply),
            (Aspect::Safe, _) => safe::safe(scene, &self.cautions, reply),
            (Aspect::Hets, None) => hets::hets(scene, reply),
            (Aspect::Best, None) => scene.cases.iter().for_each(|case| best::best(scene, case, reply)),
            (_, Some(target)) => aim::aims(scene, target, reply),
            (_, None) => {
                reply.answer.extend(table::any_of_each(scene));
                reply.notes.push(table::bracket(scene));
                let tables = scene.cases.iter().map(|case| table::table(scene, case, rows, &mut reply.notes));
                self.tables = tables.collect();
            }
        }
    }

    /// The reply with so many rows in all, and cautions of so many characters.
    fn reply(&self, species: &Species, rows: usize, most_cautions: usize) -> Reply {
        let mut reply = self.reply.clone();
        reply.cautions = cautions::said(species, &self.cautions, most_cautions);
        let each = rows.div_ceil(self.tables.len().max(1));
        for table in &self.tables {
            let (rows, rest) = table.first(each);
            reply.rows.extend(rows);
            if self.tables.len() > 1 {
                reply.rows.extend(rest.map(Row::heading));
            } else {
                reply.rest = rest;
            }
        }
        reply
    }
}

/// What else has to be said of a pairing: sex linkage, lines that do not match, looks without odds.
fn also(scene: &Scene<'_>) -> Vec<String> {
    let (species, pairing) = (scene.species, scene.pairing);
    let mut notes = Vec::new();
    if let Some(gene) = scene.linked {
        let entry = &species.gene(gene).entry;
        let share = entry.sex_linked.as_ref().map_or(0.0, |l| l.recombination);
        let unsexed = pairing.parents.iter().all(|p| p.sex == SexSaid::Unknown);
        notes.push(say::sex_linked(&entry.name, share, unsexed));
    }
    notes.extend(cautions::lines_that_do_not_match(species, pairing));
    let looks: Vec<&str> =
        pairing.parents.iter().flat_map(|p| &p.looks).map(|g| species.gene(*g).entry.name.as_str()).collect();
    if !looks.is_empty() {
        notes.push(say::no_odds_for(&looks));
    }
    notes
}

fn understood(scene: &Scene<'_>) -> String {
    say::understood(scene.species.name(), &parents(scene), scene.asked_laying().as_ref(), scene.brood())
}

/// The parents in words: "Pastel, het Clown".
fn parents(scene: &Scene<'_>) -> [String; 2] {
    [0, 1].map(|k| labels::animal(scene.species, &scene.pairing.parents[k]))
}
