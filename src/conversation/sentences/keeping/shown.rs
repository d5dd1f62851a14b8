//! Animals and what happened to them in words, and the card of one.

use std::fmt::Write as _;

use jiff::civil::Date;

use super::clutches::clutch_short;
use crate::collection::animal::{Animal, Basis, Belief, Parent, Sex};
use crate::collection::genes;
use crate::collection::herd::Herd;
use crate::conversation::labels;
use crate::engine::odds::sure;
use crate::reading::dates::When;
use crate::reading::records::kinds::{MeetingKind, Sexed, SignKind, Status};
use crate::reply::Reply;
use crate::species::{Catalogue, Species};

/// Weights on a card.
const WEIGHTS: usize = 4;

/// "1,634 g".
pub(in crate::conversation) fn grams(grams: i32) -> String {
    format!("{} g", thousands(i64::from(grams)))
}

pub(in crate::conversation) fn thousands(n: i64) -> String {
    let digits = n.abs().to_string();
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(c);
    }
    if n < 0 { format!("-{out}") } else { out }
}

/// An amount without a sign: the keeper's own currency.
pub(in crate::conversation) fn money(cents: i64) -> String {
    let (whole, part) = (thousands(cents / 100), cents % 100);
    if part == 0 { whole } else { format!("{whole}.{part:02}") }
}

/// "1 season", "3 seasons".
pub(in crate::conversation) fn seasons(n: u64) -> String {
    count(usize::try_from(n).unwrap_or(usize::MAX), "season", "seasons")
}

/// "Biscuit (#3)", "#4".
pub(in crate::conversation) fn with_code(animal: &Animal) -> String {
    match &animal.name {
        Some(name) => format!("{name} ({})", animal.number),
        None => animal.number.to_string(),
    }
}

/// "1 animal", "3 animals".
pub(in crate::conversation) fn count(n: usize, one: &str, many: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{} {many}", thousands(i64::try_from(n).unwrap_or(i64::MAX))) }
}

/// "A, B and C".
pub(in crate::conversation) fn list_of(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [start @ .., last] => format!("{} and {last}", start.join(", ")),
    }
}

/// "Duke × Biscuit."
pub(in crate::conversation) fn names(names: &[String]) -> String {
    names.join(" × ")
}

/// "♂ Pastel, het Clown", with words for genes that the catalogue does not know.
pub(in crate::conversation) fn look(catalogue: &Catalogue, animal: &Animal) -> String {
    let mark = labels::mark(animal.sex.into());
    match catalogue.species().iter().find(|s| s.key() == animal.species) {
        Some(species) => format!("{mark}{}", look_of(species, &animal.genes)),
        None => format!("{mark}{}", animal.genes.iter().map(|b| b.gene.as_str()).collect::<Vec<_>>().join(", ")),
    }
}

/// "Pastel, het Clown", "normal-looking".
pub(in crate::conversation) fn look_of(species: &Species, beliefs: &[Belief]) -> String {
    let mut whole = Animal::new_like(beliefs);
    species.key().clone_into(&mut whole.species);
    let read = genes::as_read(species, &whole);
    let mut words = labels::look(species, &read);
    for look in &read.looks {
        let _ = write!(words, ", {}", species.gene(*look).entry.name);
    }
    for id in genes::unknown(species, beliefs) {
        let _ = write!(words, ", {id} (not in the catalogue)");
    }
    words
}

/// One animal in one line: "Biscuit (#3), ball python: ♂ Pastel, het Clown, hatched 2021, from Duke × Juno".
pub(in crate::conversation) fn in_full(catalogue: &Catalogue, herd: &Herd, animal: &Animal) -> String {
    let species = catalogue.species().iter().find(|s| s.key() == animal.species);
    let kind = species.map_or(animal.species.clone(), |s| s.name().to_lowercase());
    let mut line = format!("{}, {kind}: {}", with_code(animal), look(catalogue, animal));
    if animal.sex == Sex::Unknown {
        line.push_str(", not sexed");
    } else if animal.sexed == Sexed::Guessed {
        line.push_str(" (sex is a guess)");
    }
    if let Some(hatched) = animal.hatched {
        let _ = write!(line, ", hatched {}", hatched.words());
    }
    if let Some(parents) = parents(herd, animal) {
        let _ = write!(line, ", from {parents}");
    }
    if let Some(origin) = &animal.origin {
        let _ = write!(line, ", origin: {origin}");
    }
    if let Some(price) = price(animal) {
        let _ = write!(line, ", paid {price}");
    }
    if animal.status != Status::Active {
        let _ = write!(line, ", {}", super::status_word(animal.status));
    }
    line
}

/// "Duke × Juno"; none where nothing is known of either.
pub(in crate::conversation) fn parents(herd: &Herd, animal: &Animal) -> Option<String> {
    let word = |p: Parent<'_>| match p {
        Parent::Kept(id) => herd.animal(id).map(Animal::called),
        Parent::Outside(words) => Some(words.to_owned()),
        Parent::Unknown => None,
    };
    match (word(animal.sire()), word(animal.dam())) {
        (None, None) => None,
        (a, b) => Some(format!("{} × {}", a.as_deref().unwrap_or("?"), b.as_deref().unwrap_or("?"))),
    }
}

fn price(animal: &Animal) -> Option<String> {
    let amount = money(animal.price_cents?);
    Some(match &animal.currency {
        Some(currency) => format!("{amount} {currency}"),
        None => amount,
    })
}

/// Everything that is kept of one animal.
pub(in crate::conversation) fn card(
    catalogue: &Catalogue,
    herd: &Herd,
    species: &Species,
    animal: &Animal,
    today: Date,
) -> Reply {
    let mut reply =
        Reply { understood: format!("{}, {}", with_code(animal), species.name().to_lowercase()), ..Reply::default() };
    reply.answer.extend(known_of(catalogue, herd, species, animal, today));
    let weights = herd.weights_of(animal.id);
    if !weights.is_empty() {
        let last: Vec<String> = weights
            .iter()
            .rev()
            .take(WEIGHTS)
            .map(|w| format!("{} on {}", grams(w.grams), When::Day(w.on).words()))
            .collect();
        reply.answer.push(format!("Weight: {}", last.join("; ")));
    }
    if animal.status != Status::Active {
        let since = animal.status_on.map_or_else(String::new, |w| format!(" since {}", w.words()));
        reply.answer.push(format!("{}{since}", capital(super::status_word(animal.status))));
    }
    for (label, words) in [("Origin", animal.origin.clone()), ("Paid", price(animal))] {
        if let Some(words) = words {
            reply.answer.push(format!("{label}: {words}"));
        }
    }
    if !animal.tags.is_empty() {
        reply.answer.push(format!("Tags: {}", animal.tags.join(", ")));
    }
    reply.answer.extend(happened(herd, animal));
    reply.answer.extend(young(herd, animal));
    if let Some(notes) = &animal.notes {
        reply.notes.push(format!("Notes: {}", notes.replace('\n', " / ")));
    }
    reply.drawing = super::drawn::weights(herd, species, animal, today).map(Box::new);
    reply
}

/// The card of an animal to pass on: what it is, and nothing of what its keeper does, pays or writes down for themselves.
pub(in crate::conversation) fn share(
    catalogue: &Catalogue,
    herd: &Herd,
    species: &Species,
    animal: &Animal,
    moved: Vec<String>,
    today: Date,
) -> Reply {
    let name = animal.name.as_ref().map_or_else(|| "An animal".to_owned(), ToString::to_string);
    let mut reply = Reply { understood: format!("{name}, {}", species.name().to_lowercase()), ..Reply::default() };
    reply.answer.extend(known_of(catalogue, herd, species, animal, today));
    // Codes are for the keeper's own eyes.
    reply.answer.extend(moved.into_iter().map(|line| line.replace(&with_code(animal), &name)));
    if let Some(last) = herd.weights_of(animal.id).last() {
        reply.answer.push(format!("Weight: {} on {}", grams(last.grams), When::Day(last.on).words()));
    }
    if animal.status == Status::ForSale {
        reply.answer.push("For sale".to_owned());
    }
    reply.notes.push(
        "This text is for you to pass on; nothing was sent to anybody. Price, origin, notes, tags, meals and pairings are \
         left out."
            .to_owned(),
    );
    reply
}

/// What an animal is: look, sex, age, parents, and where its hets come from.
fn known_of(catalogue: &Catalogue, herd: &Herd, species: &Species, animal: &Animal, today: Date) -> Vec<String> {
    let mut lines = vec![look(catalogue, animal)];
    let sexed = match (animal.sex, animal.sexed) {
        (Sex::Unknown, _) => "Not sexed".to_owned(),
        (sex, Sexed::Guessed) => format!("{}, a guess", capital(super::sex_words(sex))),
        (sex, Sexed::Stated) => capital(super::sex_words(sex)),
        (sex, Sexed::Seen) => format!("{}, popped or probed", capital(super::sex_words(sex))),
        (sex, Sexed::Proven) => format!("{}, proven breeder", capital(super::sex_words(sex))),
    };
    lines.push(match animal.hatched {
        Some(when) => format!("{sexed}, hatched {}{}", when.words(), age(when, today)),
        None => sexed,
    });
    if let Some(parents) = parents(herd, animal) {
        lines.push(format!("Parents: {parents}"));
    }
    let because = basis(species, animal);
    if !because.is_empty() {
        lines.push(because);
    }
    lines
}

pub(in crate::conversation) fn capital(word: &str) -> String {
    let mut chars = word.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

fn age(hatched: When, today: Date) -> String {
    let Ok(span) = today.since(hatched.first()) else { return String::new() };
    let days = span.get_days();
    match days {
        ..0 => String::new(),
        0..=89 => format!(" ({days} days old)"),
        90..=729 => format!(" ({} months old)", days / 30),
        _ => format!(" ({} years old)", days / 365),
    }
}

/// Which beliefs are more than the keeper's word.
fn basis(species: &Species, animal: &Animal) -> String {
    let of = |basis: Basis| -> Vec<String> {
        animal
            .genes
            .iter()
            .filter(|b| b.basis == basis)
            .filter_map(|b| species.gene_by_id(&b.gene).map(|g| (g, b)))
            .map(|(g, b)| {
                let label = species.gene(g).label(b.copies);
                if b.chance == sure() { label.to_owned() } else { format!("{} {label}", labels::het_share(&b.chance)) }
            })
            .collect()
    };
    let mut parts = Vec::new();
    for (basis, words) in [(Basis::Inferred, "from the parents and the look"), (Basis::Proven, "proven")] {
        let genes = of(basis);
        if !genes.is_empty() {
            parts.push(format!("{} {words}", list_of(&genes)));
        }
    }
    if parts.is_empty() { String::new() } else { format!("Of these {}", parts.join("; ")) }
}

fn happened(herd: &Herd, animal: &Animal) -> Vec<String> {
    let mut events: Vec<(Date, String)> = Vec::new();
    for sign in herd.signs.iter().filter(|s| s.animal_id == animal.id) {
        let size = sign.size_mm.map_or_else(String::new, |n| format!(" {n} mm"));
        events.push((sign.on.first(), format!("{}{size} {}", super::sign_word(sign.kind), sign.on.words())));
    }
    for meeting in &herd.meetings {
        let other = if meeting.sire_id == Some(animal.id) {
            (meeting.dam_id, &meeting.dam_out)
        } else if meeting.dam_id == Some(animal.id) {
            (meeting.sire_id, &meeting.sire_out)
        } else {
            continue;
        };
        let with =
            other.0.and_then(|id| herd.animal(id)).map(Animal::called).or_else(|| other.1.clone()).unwrap_or_default();
        let what = match meeting.kind {
            MeetingKind::Introduced => "put with",
            MeetingKind::Lock => "locked with",
            MeetingKind::Separated => "taken from",
        };
        events.push((meeting.on.first(), format!("{what} {with} {}", meeting.on.words())));
    }
    let refused: Vec<_> = herd.meals.iter().filter(|m| m.animal_id == animal.id).collect();
    if let Some(last) = refused.iter().max_by_key(|m| (m.on, m.id)) {
        let what = if last.taken { "ate" } else { "refused food" };
        let prey = last.prey.as_ref().map_or_else(String::new, |p| format!(" ({p})"));
        events.push((last.on, format!("{what}{prey} {}", When::Day(last.on).words())));
    }
    events.sort_by_key(|e| std::cmp::Reverse(e.0));
    let last: Vec<String> = events.into_iter().take(4).map(|e| e.1).collect();
    if last.is_empty() { Vec::new() } else { vec![format!("Last: {}", last.join("; "))] }
}

fn young(herd: &Herd, animal: &Animal) -> Vec<String> {
    let mut out = Vec::new();
    let clutches: Vec<String> = herd
        .clutches
        .iter()
        .filter(|c| c.sire_id == Some(animal.id) || c.dam_id == Some(animal.id))
        .map(|c| clutch_short(herd, c))
        .collect();
    if !clutches.is_empty() {
        out.push(format!("Clutches: {}", clutches.join("; ")));
    }
    let kept: Vec<String> = herd
        .animals
        .iter()
        .filter(|a| a.sire_id == Some(animal.id) || a.dam_id == Some(animal.id))
        .map(with_code)
        .take(8)
        .collect();
    if !kept.is_empty() {
        out.push(format!("Young kept: {}", kept.join(", ")));
    }
    out
}

/// What would be, and that nothing was changed.
pub(in crate::conversation) fn what_if(species: &Species, was: &Animal, would: &Animal) -> Reply {
    let mut reply = Reply::sentence(format!(
        "{} would be {}{}.",
        was.called(),
        labels::mark(would.sex.into()),
        look_of(species, &would.genes)
    ));
    reply.answer.push(format!("As recorded: {}{}.", labels::mark(was.sex.into()), look_of(species, &was.genes)));
    reply.notes.push(nothing_changed());
    reply
}

/// After a what-if.
pub(in crate::conversation) fn nothing_changed() -> String {
    "A what-if: nothing was changed.".to_owned()
}

/// A sign in words.
pub(in crate::conversation) fn sign_word(kind: SignKind) -> &'static str {
    match kind {
        SignKind::Building => "building",
        SignKind::Follicles => "follicles",
        SignKind::Ovulation => "ovulation",
        SignKind::PrelayShed => "pre-lay shed",
        SignKind::Gravid => "gravid",
    }
}
