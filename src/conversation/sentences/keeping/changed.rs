//! What was added, changed, let go.

use crate::collection::animal::{Animal, Basis, Belief};
use crate::collection::events::Goal;
use crate::collection::herd::Herd;
use crate::collection::name::Name;
use crate::conversation::labels;
use crate::conversation::sentences::keeping::{count, goal_words, in_full, list_of, look, look_of, with_code};
use crate::reading::dates::When;
use crate::reading::records::kinds::Status;
use crate::reading::requests;
use crate::reply::{Kind, Reply, Row};
use crate::species::{Catalogue, Species};

/// Animals that are listed before a bulk change.
const ROWS: usize = 12;

/// New animals: those that can be saved, and what is to be said of them.
#[derive(Debug)]
pub(in crate::conversation) struct Added {
    /// A line each.
    pub(in crate::conversation) lines: Vec<String>,
    /// Lines that cannot be, with the reason.
    pub(in crate::conversation) bad: Vec<(usize, String)>,
    /// What else is to be said.
    pub(in crate::conversation) notes: Vec<String>,
    /// What was taken for granted.
    pub(in crate::conversation) assumed: Vec<String>,
    /// Words that were not understood.
    pub(in crate::conversation) unread: Vec<String>,
}

/// How a change is taken back.
pub(super) const UNDO: &str = "Say \"undo\" to take it back.";

fn saved(text: String) -> Reply {
    let mut reply = Reply::sentence(text);
    reply.notes.push(UNDO.to_owned());
    reply
}

pub(in crate::conversation) fn added_past(animals: &[&Animal]) -> String {
    match animals {
        [one] => format!("added {}", with_code(one)),
        many => format!("added {}", count(many.len(), "animal", "animals")),
    }
}

pub(in crate::conversation) fn added(found: &Added) -> Reply {
    let mut reply = match &found.lines[..] {
        [one] => saved(format!("Saved {one}.")),
        many => {
            let mut reply = saved(format!("Saved {}:", count(many.len(), "animal", "animals")));
            reply.rows = many.iter().map(Row::heading).collect();
            reply
        }
    };
    extras(&mut reply, found);
    reply
}

fn extras(reply: &mut Reply, found: &Added) {
    for (line, reason) in &found.bad {
        reply.notes.insert(0, format!("Line {line} was left out: {reason}."));
    }
    reply.notes.splice(0..0, found.notes.iter().map(|n| sentence(n)));
    reply.assumed.clone_from(&found.assumed);
    reply.unread.clone_from(&found.unread);
}

pub(super) fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let text: String = chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect());
    if text.ends_with(['.', '?', '!']) { text } else { format!("{text}.") }
}

/// Several new animals, shown first.
pub(in crate::conversation) fn add_first(found: &Added, word: &str) -> Reply {
    let n = found.lines.len();
    let mut reply =
        Reply { kind: Kind::Question, ..Reply::sentence(format!("I read {}:", count(n, "animal", "animals"))) };
    reply.rows = found.lines.iter().take(ROWS).map(Row::heading).collect();
    if n > ROWS {
        reply.rest = Some(format!("and {} more", n - ROWS));
    }
    extras(&mut reply, found);
    reply.notes.push(format!("Type \"{word}\" to save them; anything else saves nothing."));
    reply
}

pub(in crate::conversation) fn added_many(n: usize, found: &Added) -> Reply {
    let mut reply = saved(format!("Saved {}.", count(n, "animal", "animals")));
    if !found.bad.is_empty() {
        reply.notes.insert(0, format!("{} left out.", count(found.bad.len(), "line was", "lines were")));
    }
    reply
}

/// Every line is wrong.
pub(in crate::conversation) fn all_bad(bad: &[(usize, String)]) -> Reply {
    let mut reply = Reply::refusal("None of these lines can be saved:");
    reply.rows = bad.iter().take(10).map(|(n, why)| Row::heading(format!("line {n}: {why}"))).collect();
    reply
}

/// Another animal has the name.
pub(in crate::conversation) fn namesake(name: &Name, codes: &[String]) -> String {
    format!("you have another {name} ({}); the codes tell them apart", codes.join(", "))
}

/// A share that the parents contradict.
pub(in crate::conversation) fn other_share(species: &Species, said: &Belief, worked: Option<&Belief>) -> String {
    let name = species.gene_by_id(&said.gene).map_or("", |g| species.gene(g).label(said.copies));
    match worked {
        Some(w) => format!(
            "from the parents it is {} {name}, not {}; the parents' figure was kept",
            labels::het_share(&w.chance),
            labels::het_share(&said.chance)
        ),
        None => format!("these parents cannot make it {name}, so that was left out"),
    }
}

/// A young animal of whom nobody said yet what it looks like.
pub(in crate::conversation) fn look_not_told(animal: &Animal) -> String {
    let name = animal.called();
    format!(
        "the look of {name} is not told yet, so these are the shares that the parents give; say \"{name} is a …\" or \
         \"{name} looks normal\" when it shows"
    )
}

/// "a banana, look not known yet".
pub(in crate::conversation) fn a_look_was_told() -> String {
    "you named a look, so that counts as what is seen, and nothing else shows".to_owned()
}

/// Without parents there is nothing to say of a look that is not told.
pub(in crate::conversation) fn untold_needs_parents(animal: &Animal) -> Reply {
    Reply::refusal(format!(
        "What {0} may look like follows from both parents, and they are not recorded. Tell them first: \"{0} is from … x …\". \
         Nothing was saved.",
        animal.called()
    ))
}

/// Only one parent is known.
pub(in crate::conversation) fn one_parent_known() -> String {
    "only one parent's genes are known, so nothing but what it surely gives was taken from it".to_owned()
}

pub(in crate::conversation) fn renamed_past(before: &str, new: &Animal) -> String {
    format!("renamed {before} to {}", with_code(new))
}

pub(in crate::conversation) fn renamed(before: &str, new: &Animal, note: Option<String>) -> Reply {
    let mut reply = saved(format!("{before} is now called {}.", with_code(new)));
    reply.notes.splice(0..0, note.map(|n| sentence(&n)));
    reply
}

pub(in crate::conversation) fn corrected_past(new: &Animal) -> String {
    format!("corrected {}", with_code(new))
}

pub(in crate::conversation) fn proven_past(new: &Animal) -> String {
    format!("marked {} as proven", with_code(new))
}

pub(in crate::conversation) fn corrected(
    catalogue: &Catalogue,
    herd: &Herd,
    old: &Animal,
    new: &Animal,
    notes: &[String],
    assumed: Vec<String>,
    unread: Vec<String>,
) -> Reply {
    let mut reply = saved(format!("Saved {}.", in_full(catalogue, herd, new)));
    if old.genes != new.genes || old.sex != new.sex {
        let before = look(catalogue, old);
        if before != look(catalogue, new) {
            reply.answer.push(format!("Before: {before}."));
        } else if new.genes.iter().any(|b| b.basis == Basis::Proven) {
            reply.answer.push("It is marked as proven now.".to_owned());
        }
    }
    if old.notes != new.notes {
        reply.answer.push("The note was added.".to_owned());
    }
    if old.tags != new.tags {
        let tags = if new.tags.is_empty() { "none".to_owned() } else { new.tags.join(", ") };
        reply.answer.push(format!("Tags: {tags}."));
    }
    reply.notes.splice(0..0, notes.iter().map(|n| sentence(n)));
    reply.assumed = assumed;
    reply.unread = unread;
    reply
}

/// A correction that changes nothing.
pub(in crate::conversation) fn as_it_was(catalogue: &Catalogue, herd: &Herd, animal: &Animal) -> Reply {
    Reply::sentence(format!("That is how it is recorded already: {}.", in_full(catalogue, herd, animal)))
}

/// "not het clown" of an animal that is not.
pub(in crate::conversation) fn has_not(animal: &Animal, species: &Species, said: &requests::Animal) -> Reply {
    let words = labels::look(species, said);
    super::fault(&format!("{} is not recorded as {words}", animal.called()))
}

/// A status in words.
pub(in crate::conversation) fn status_word(status: Status) -> &'static str {
    match status {
        Status::Active => "active",
        Status::Growing => "growing",
        Status::Resting => "resting",
        Status::ForSale => "for sale",
        Status::Sold => "sold",
        Status::Died => "died",
    }
}

fn names(animals: &[&Animal]) -> String {
    if animals.len() > 4 {
        return count(animals.len(), "animal", "animals");
    }
    list_of(&animals.iter().map(|a| with_code(a)).collect::<Vec<_>>())
}

pub(in crate::conversation) fn status_past(animals: &[&Animal], status: Status) -> String {
    format!("set {} to {}", names(animals), status_word(status))
}

pub(in crate::conversation) fn status_now(animals: &[&Animal], status: Status, since: When) -> Reply {
    let one = animals.len() == 1;
    let is = if one { "is" } else { "are" };
    let text = match status {
        Status::Sold => format!("{} {is} recorded as sold, {}.", names(animals), since.words()),
        Status::Died => format!("{} {is} recorded as died, {}. I am sorry.", names(animals), since.words()),
        Status::Resting => format!("{} {is} resting: not paired until you say so.", names(animals)),
        _ => format!("{} {is} {} now.", names(animals), status_word(status)),
    };
    saved(text)
}

pub(in crate::conversation) fn removed_past(animals: &[&Animal]) -> String {
    format!("removed {}", names(animals))
}

pub(in crate::conversation) fn removed(
    catalogue: &Catalogue,
    herd: &Herd,
    animals: &[&Animal],
    n_events: usize,
) -> Reply {
    let what = match animals {
        [one] => in_full(catalogue, herd, one),
        many => count(many.len(), "animal", "animals"),
    };
    let with = if n_events == 0 { String::new() } else { format!(", with {}", count(n_events, "record", "records")) };
    saved(format!("Removed {what}{with}."))
}

/// Several animals, shown first.
pub(in crate::conversation) fn change_first(
    catalogue: &Catalogue,
    herd: &Herd,
    animals: &[&Animal],
    word: &str,
) -> Reply {
    let n = animals.len();
    let mut reply =
        Reply { kind: Kind::Question, ..Reply::sentence(format!("This is about {}:", count(n, "animal", "animals"))) };
    reply.rows = animals.iter().take(ROWS).map(|a| Row::heading(in_full(catalogue, herd, a))).collect();
    if n > ROWS {
        reply.rest = Some(format!("and {} more", n - ROWS));
    }
    reply.notes.push(format!("Type \"{word}\" to do it; anything else changes nothing."));
    reply
}

pub(in crate::conversation) fn goal_past(species: &Species, goal: &Goal) -> String {
    format!("added the goal {}", look_of(species, &goal.genes))
}

pub(in crate::conversation) fn goal(catalogue: &Catalogue, goal: &Goal, number: usize, assumed: Vec<String>) -> Reply {
    let mut reply = saved(format!("Saved goal {number}: {}.", goal_words(catalogue, goal)));
    reply.notes.push(format!("Say \"plan goal {number}\" for the plan."));
    reply.assumed = assumed;
    reply
}

pub(in crate::conversation) fn goal_gone_past(catalogue: &Catalogue, goal: &Goal) -> String {
    format!("removed the goal {}", goal_words(catalogue, goal))
}

pub(in crate::conversation) fn goal_gone(catalogue: &Catalogue, goal: &Goal) -> Reply {
    saved(format!("Removed the goal {}.", goal_words(catalogue, goal)))
}
