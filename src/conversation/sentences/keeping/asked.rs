//! Questions back and refusals.

use crate::collection::animal::{Animal, AnimalId, Sex};
use crate::collection::herd::Herd;
use crate::collection::{animal::ClutchId, store::StoreError};
use crate::conversation::keeping::Desk;
use crate::conversation::sentences::keeping::{clutch_short, goal_words, in_full};
use crate::reading::dates::When;
use crate::reading::records::kinds::Status;
use crate::reply::{Kind, Reply};
use crate::species::{Catalogue, Species, SpeciesId};

pub(super) fn question(text: impl Into<String>, choices: Vec<String>) -> Reply {
    Reply { kind: Kind::Question, choices, ..Reply::sentence(text) }
}

/// A rule that was broken, with the value and the rule.
pub(in crate::conversation) fn fault(text: &str) -> Reply {
    let mut chars = text.chars();
    let text: String = chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect());
    let end = if text.ends_with(['.', '?', '!']) { "" } else { "." };
    Reply::refusal(format!("{text}{end} Nothing was saved."))
}

/// Nobody has that name.
pub(in crate::conversation) fn nobody(desk: &Desk<'_>, name: &str) -> Reply {
    if desk.herd.animals.is_empty() {
        return Reply::refusal(format!(
            "I know no animal called \"{name}\": your collection is empty. Say \"add\" and what it is."
        ));
    }
    let mut names: Vec<String> = desk.herd.here().map(Animal::called).take(8).collect();
    let more = desk.herd.here().count() > names.len();
    if more {
        names.push("…".to_owned());
    }
    Reply::refusal(format!("I know no animal called \"{name}\". You have {}.", names.join(", ")))
}

/// It is about the keeper's animals, and nothing more can be read in it.
pub(in crate::conversation) fn not_understood() -> Reply {
    Reply::refusal(
        "This sounds like something of your animals, but I do not understand what. Nothing was saved. Say it for example as \
         \"Juno 1500 g\", \"Rusty locked with Nova on 3 December\", \"Nova laid 6 eggs\", \"hatched 2.1 clowns and 3 normals from \
         Nova\", or \"Juno is het clown\".",
    )
}

/// Three animals in a pairing.
pub(in crate::conversation) fn one_pair_at_a_time() -> Reply {
    Reply::refusal(
        "A pairing has two animals. Ask for one pair at a time, or compare two: \"Duke x Ash or Duke x Birch, which is better for \
         clowns\".",
    )
}

/// A pronoun without anybody before it.
pub(in crate::conversation) fn whom() -> Reply {
    Reply { kind: Kind::Question, ..Reply::sentence("Which animal do you mean? Please say its name or its code.") }
}

/// Two animals of different species in one pairing.
pub(in crate::conversation) fn two_species(one: (&str, &str), other: (&str, &str)) -> Reply {
    Reply::refusal(format!(
        "{} ({}) and {} ({}) are of different species: there are no odds of that pairing.",
        one.0,
        one.1.to_lowercase(),
        other.0,
        other.1.to_lowercase()
    ))
}

/// Several of one name.
pub(in crate::conversation) fn which(desk: &Desk<'_>, name: &str, ids: &[AnimalId]) -> Reply {
    let animals = ids.iter().filter_map(|id| desk.herd.animal(*id));
    let choices: Vec<String> = animals.map(|a| in_full(desk.catalogue, desk.herd, a)).collect();
    question(format!("Which \"{name}\"?"), choices)
}

/// A name that is spelt a little differently.
pub(in crate::conversation) fn near(desk: &Desk<'_>, name: &str, animal: &Animal) -> Reply {
    question(
        format!("I know no \"{name}\". Do you mean {}?", in_full(desk.catalogue, desk.herd, animal)),
        vec!["yes".to_owned(), "no".to_owned()],
    )
}

/// A date with two meanings.
pub(in crate::conversation) fn which_date(meanings: &[When]) -> Reply {
    question("That date can be read two ways. Which is it?", meanings.iter().map(|w| w.words()).collect())
}

/// A day that does not exist.
pub(in crate::conversation) fn no_such_day() -> Reply {
    fault("there is no such day in the calendar")
}

/// A day is needed, a month was said.
pub(in crate::conversation) fn day_needed(said: When) -> Reply {
    fault(&format!("{} is no day; please say the day", said.words()))
}

/// Which species.
pub(in crate::conversation) fn which_species(catalogue: &Catalogue, ids: &[SpeciesId]) -> Reply {
    question("Which species is it?", ids.iter().map(|id| catalogue.get(*id).name().to_owned()).collect())
}

/// "1.4" alone.
pub(in crate::conversation) fn kilos(animal: &Animal, said: &str) -> Reply {
    question(
        format!("\"{said}\" for {}: is that {said} kg?", animal.called()),
        vec!["yes, kilos".to_owned(), "no".to_owned()],
    )
}

/// Which of several clutches.
pub(in crate::conversation) fn which_clutch(herd: &Herd, whose: &str, ids: &[ClutchId]) -> Reply {
    let of = if whose.is_empty() { String::new() } else { format!(" of {whose}") };
    let choices = ids.iter().filter_map(|id| herd.clutch(*id)).map(|c| clutch_short(herd, c)).collect();
    question(format!("Which clutch{of}?"), choices)
}

/// No clutch of that parent.
pub(in crate::conversation) fn no_clutch_of(whose: &str) -> Reply {
    let of = if whose.is_empty() { String::new() } else { format!(" of {whose}") };
    fault(&format!("no clutch{of} is recorded that this can be about; tell me first what was laid"))
}

/// No clutch of that code.
pub(in crate::conversation) fn no_clutch(said: &str) -> String {
    format!("no clutch \"{said}\" is recorded")
}

/// A species that the catalogue does not know.
pub(in crate::conversation) fn unknown_species(key: &str) -> Reply {
    fault(&format!("its species \"{key}\" is not in the catalogue of this program"))
}

/// A pasted list that is too long.
pub(in crate::conversation) fn too_many_lines(n: usize, most: usize) -> Reply {
    fault(&format!("that list has {n} animals; one message takes up to {most}. Send it in parts, or import a file"))
}

/// Too many alike in one line.
pub(in crate::conversation) fn too_many_alike(n: usize, most: usize) -> String {
    format!("{n} animals in one line; at most {most}")
}

/// No number of grams.
pub(in crate::conversation) fn no_weight(grams: i64) -> String {
    format!("{grams} g is no weight")
}

/// No number of grams for an animal.
pub(in crate::conversation) fn no_weight_of(animal: &Animal, said: &str) -> String {
    format!("\"{said}\" is no weight for {}: give grams from 1 to 200,000", animal.called())
}

/// No count.
pub(in crate::conversation) fn no_count(n: i64, what: &str) -> String {
    format!("{n} {what}: give a number from 0 to 99")
}

/// No temperature of eggs.
pub(in crate::conversation) fn no_warmth(tenths: i64) -> String {
    format!("{}.{} °C is no temperature for eggs", tenths / 10, (tenths % 10).abs())
}

/// No size of follicles.
pub(in crate::conversation) fn no_size(mm: i64) -> Reply {
    fault(&format!("{mm} mm is no size of follicles"))
}

/// A note that is too long.
pub(in crate::conversation) fn long_note(n: usize, most: usize) -> String {
    format!("the note would have {n} characters; {most} is the most")
}

/// A tag that is too long.
pub(in crate::conversation) fn long_tag(n: usize, most: usize) -> String {
    format!("the tag has {n} characters; {most} is the most")
}

/// A tag that is not there.
pub(in crate::conversation) fn no_such_tag(animal: &Animal, tag: &str) -> Reply {
    fault(&format!("{} has no tag \"{tag}\"", animal.called()))
}

/// A sign of a male.
pub(in crate::conversation) fn male_has_no_sign(
    animal: &Animal,
    kind: crate::reading::records::kinds::SignKind,
) -> Reply {
    fault(&format!("{} is male, so this ({}) must be another animal", animal.called(), super::sign_word(kind)))
}

/// Two animals that are both elsewhere.
pub(in crate::conversation) fn neither_kept(a: &str, b: &str) -> Reply {
    let names = [a, b].into_iter().filter(|n| !n.is_empty()).map(|n| format!("\"{n}\"")).collect::<Vec<_>>();
    fault(&format!("I know neither {}: one of the two must be in your collection", names.join(" nor ")))
}

/// One animal twice.
pub(in crate::conversation) fn pair_of_two() -> Reply {
    fault("a pair is made of two animals")
}

/// Only one of the two was named.
pub(in crate::conversation) fn with_whom(name: &str) -> Reply {
    question(format!("{name} with whom? Please say both names."), Vec::new())
}

/// "sold 0.2" without names.
pub(in crate::conversation) fn which_ones(status: Status) -> Reply {
    question(format!("Which animals are {}? Please say their names or codes.", super::status_word(status)), Vec::new())
}

/// A filter that nobody fits.
pub(in crate::conversation) fn nothing_fits() -> Reply {
    Reply::refusal("No animal fits that. Nothing was changed.")
}

/// "mark her proven" with nothing or too much to prove.
pub(in crate::conversation) fn proven_what(animal: &Animal) -> Reply {
    question(format!("Proven for what? Say for example \"mark {} proven het pied\".", animal.called()), Vec::new())
}

/// "what if Maple was also" nothing.
pub(in crate::conversation) fn what_if_what(animal: &Animal) -> Reply {
    question(format!("What if {} was what? Please name the gene.", animal.called()), Vec::new())
}

/// Which goal.
pub(in crate::conversation) fn which_goal(catalogue: &Catalogue, herd: &Herd) -> Reply {
    let goals: Vec<String> = herd.goals.iter().map(|g| goal_words(catalogue, g)).collect();
    Reply { choices: goals, ..question("Which goal? Say \"remove goal 1\".", Vec::new()) }
}

/// Young of a look that the species does not have.
pub(in crate::conversation) fn unknown_look(species: &Species, said: &str) -> Reply {
    Reply::refusal(format!(
        "I know no \"{said}\" in {}s. Nothing was saved; tell me the look in other words.",
        species.name().to_lowercase()
    ))
}

/// No goals.
pub(in crate::conversation) fn no_goals() -> Reply {
    Reply::sentence("No goals are kept. Say for example \"goal: clown pied\".")
}

/// Too many pairs to work out.
pub(in crate::conversation) fn too_many_pairs(most: usize) -> Reply {
    Reply::refusal(format!("More than {most} pairs could make it. Please narrow it: name one parent or more genes."))
}

/// The database does not answer.
pub(in crate::conversation) fn away(error: &StoreError) -> Reply {
    let what = match error {
        StoreError::Away { .. } | StoreError::Busy => {
            "I cannot reach your collection right now. Nothing was saved; please try again in a moment. Odds still work."
                .to_owned()
        }
        StoreError::Erased => "Your collection was erased meanwhile. Nothing was saved.".to_owned(),
        StoreError::Rule { rule } => format!("I could not save that (rule {rule}). Nothing was saved."),
        StoreError::Refused(_) | StoreError::Changed { .. } => {
            "Something went wrong with your collection. Nothing was saved.".to_owned()
        }
        other => {
            let text = other.to_string();
            let mut chars = text.chars();
            let text: String = chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect());
            format!("{text}. Odds still work.")
        }
    };
    Reply::refusal(what)
}

/// There is no collection in this front.
pub(in crate::conversation) fn no_collection() -> Reply {
    Reply::refusal("No collection is kept here. I can give the odds of a pairing.")
}

/// Another device was faster.
pub(in crate::conversation) fn changed_meanwhile(catalogue: &Catalogue, herd: &Herd, about: &[AnimalId]) -> Reply {
    let now: Vec<String> =
        about.iter().filter_map(|id| herd.animal(*id)).map(|a| in_full(catalogue, herd, a)).collect();
    let mut reply = Reply::refusal("That was changed meanwhile from somewhere else, so nothing was saved. It is now:");
    reply.answer.extend(if now.is_empty() { vec!["gone".to_owned()] } else { now });
    reply.answer.push("Say it again if you still want it.".to_owned());
    reply
}

/// Words for sexes.
pub(in crate::conversation) fn sex_words(sex: Sex) -> &'static str {
    match sex {
        Sex::Male => "male",
        Sex::Female => "female",
        Sex::Unknown => "not sexed",
    }
}

/// The word was not typed.
pub(in crate::conversation) fn not_confirmed() -> String {
    "The question before was dropped; nothing was changed by it.".to_owned()
}
