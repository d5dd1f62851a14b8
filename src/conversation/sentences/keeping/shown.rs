//! Cards, lists, pairings, goals.

use std::fmt::Write as _;

use jiff::civil::Date;

use crate::collection::animal::{Animal, AnimalId, Basis, Belief, Parent, Sex};
use crate::collection::events::{Clutch, Goal};
use crate::collection::genes;
use crate::collection::herd::Herd;
use crate::conversation::labels;
use crate::engine::odds::{Odds, sure};
use crate::reading::dates::When;
use crate::reading::records::kinds::{MeetingKind, Sexed, SignKind, Status};
use crate::reading::records::look::{Filter, Having};
use crate::reading::requests::{SexSaid, Target};
use crate::reply::{Reply, Row};
use crate::species::{Catalogue, Species};

/// Animals of one list.
const ROWS: usize = 20;
/// Pairings of one answer.
const PAIRS: usize = 10;
/// Weights on a card.
const WEIGHTS: usize = 4;

/// "1,634 g".
pub(in crate::conversation) fn grams(grams: i32) -> String {
    format!("{} g", thousands(i64::from(grams)))
}

fn thousands(n: i64) -> String {
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
    let cents = animal.price_cents?;
    let whole = thousands(cents / 100);
    let part = if cents % 100 == 0 { String::new() } else { format!(".{:02}", cents % 100) };
    Some(match &animal.currency {
        Some(currency) => format!("{whole}{part} {currency}"),
        None => format!("{whole}{part}"),
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
    reply.answer.push(look(catalogue, animal));
    let sexed = match (animal.sex, animal.sexed) {
        (Sex::Unknown, _) => "Not sexed".to_owned(),
        (sex, Sexed::Guessed) => format!("{}, a guess", capital(super::sex_words(sex))),
        (sex, Sexed::Stated) => capital(super::sex_words(sex)),
        (sex, Sexed::Seen) => format!("{}, popped or probed", capital(super::sex_words(sex))),
        (sex, Sexed::Proven) => format!("{}, proven breeder", capital(super::sex_words(sex))),
    };
    reply.answer.push(match animal.hatched {
        Some(when) => format!("{sexed}, hatched {}{}", when.words(), age(when, today)),
        None => sexed,
    });
    if let Some(parents) = parents(herd, animal) {
        reply.answer.push(format!("Parents: {parents}"));
    }
    let because = basis(species, animal);
    if !because.is_empty() {
        reply.answer.push(because);
    }
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
    reply
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

/// "23-04, laid 3 April 2025, 7 eggs and 1 slug".
pub(in crate::conversation) fn clutch_short(herd: &Herd, clutch: &Clutch) -> String {
    let name = |id: Option<AnimalId>, out: &Option<String>| {
        id.and_then(|id| herd.animal(id)).map(Animal::called).or_else(|| out.clone()).unwrap_or_else(|| "?".to_owned())
    };
    let mut words = clutch.code.clone().map_or_else(String::new, |c| format!("{c}, "));
    let sire = match &clutch.sires {
        Some(several) => {
            let names: Vec<String> = several.of.iter().map(|s| name(Some(s.id), &None)).collect();
            names.join(if several.mixed { " and " } else { " or " })
        }
        None => name(clutch.sire_id, &clutch.sire_out),
    };
    let _ = write!(words, "{sire} × {}", name(clutch.dam_id, &clutch.dam_out));
    if let Some(laid) = clutch.laid {
        let born = clutch.eggs.is_none() && clutch.slugs.is_none() && clutch.n_young() > 0;
        let _ = write!(words, ", {} {}", if born { "born" } else { "laid" }, laid.words());
    }
    let counts = egg_words(clutch);
    if !counts.is_empty() {
        let _ = write!(words, ", {counts}");
    }
    if clutch.n_young() > 0 {
        let _ = write!(words, ", {} young", clutch.n_young());
    }
    words
}

/// "7 eggs and 1 slug".
pub(in crate::conversation) fn egg_words(clutch: &Clutch) -> String {
    let mut parts = Vec::new();
    for (n, one, many) in [
        (clutch.eggs, "egg", "eggs"),
        (clutch.slugs, "slug", "slugs"),
        (clutch.doubtful, "doubtful egg", "doubtful eggs"),
    ] {
        if let Some(n) = n.and_then(|n| usize::try_from(n).ok()).filter(|n| *n > 0 || one == "egg") {
            parts.push(count(n, one, many));
        }
    }
    list_of(&parts)
}

/// What a list was asked for: "females that carry Clown".
pub(in crate::conversation) fn filter_words(catalogue: &Catalogue, filter: &Filter) -> String {
    let mut words = Vec::new();
    if let Some(status) = filter.status {
        words.push(super::status_word(status).to_owned());
    }
    if filter.adults {
        words.push("adult".to_owned());
    }
    words.push(match filter.sex {
        SexSaid::Male => "males".to_owned(),
        SexSaid::Female => "females".to_owned(),
        SexSaid::Unknown => "animals".to_owned(),
    });
    if filter.possible_hets {
        words.push("with a het that is not sure".to_owned());
    } else if filter.hets && filter.genes.is_none() {
        words.push("with a het".to_owned());
    }
    if let Some(said) = &filter.genes {
        let lead = match filter.having {
            Having::Carries => "that carry",
            Having::Het => "het for",
            Having::As => "that are",
        };
        let names = match said.species.map(|id| catalogue.get(id)) {
            Some(species) => {
                let named = said.animal.genes.iter().map(|c| match filter.having {
                    Having::As => species.gene(c.gene).label(c.copies).to_owned(),
                    _ => species.gene(c.gene).entry.name.clone(),
                });
                let open = said.questions.iter().map(|q| q.about.clone());
                let looks = said.animal.looks.iter().map(|g| species.gene(*g).entry.name.clone());
                named.chain(open).chain(looks).collect::<Vec<_>>()
            }
            None => vec![said.animal.said.clone()],
        };
        words.push(format!("{lead} {}", list_of(&names)));
    }
    if let Some(g) = filter.at_least_g {
        words.push(format!("of {} g or more", thousands(g)));
    }
    if let Some(g) = filter.at_most_g {
        words.push(format!("of {} g or less", thousands(g)));
    }
    if let Some(tag) = &filter.tag {
        words.push(format!("tagged {tag}"));
    }
    words.join(" ")
}

/// A list of animals.
pub(in crate::conversation) fn list(
    catalogue: &Catalogue,
    herd: &Herd,
    found: &[&Animal],
    filter: &Filter,
    asked: &str,
) -> Reply {
    if herd.animals.is_empty() {
        return empty();
    }
    let n = found.len();
    let lead =
        if n == 0 { format!("No {asked}.") } else { format!("{} {asked}", thousands(i64::try_from(n).unwrap_or(0))) };
    let lead = if n == 1 {
        lead.replacen("animals", "animal", 1).replacen("females", "female", 1).replacen(" males", " male", 1)
    } else {
        lead
    };
    let mut reply = Reply {
        unread: filter.unread.clone(),
        ..Reply::sentence(if n == 0 {
            lead
        } else if filter.count {
            format!("{lead}.")
        } else {
            format!("{lead}:")
        })
    };
    if filter.count {
        return reply;
    }
    let weights = herd.last_weights();
    let several = found.iter().any(|a| a.species != found[0].species);
    for animal in found.iter().take(ROWS) {
        let mut line = format!("{} {}", with_code(animal), look(catalogue, animal));
        if several {
            let species = catalogue.species().iter().find(|s| s.key() == animal.species);
            let _ = write!(line, ", {}", species.map_or(animal.species.clone(), |s| s.name().to_lowercase()));
        }
        if let Some(hatched) = animal.hatched {
            let _ = write!(line, ", {}", hatched.words());
        }
        if let Some(weight) = weights.get(&animal.id) {
            let _ = write!(line, ", {}", grams(weight.grams));
        }
        if animal.status != Status::Active && filter.status.is_none() {
            let _ = write!(line, ", {}", super::status_word(animal.status));
        }
        reply.rows.push(Row::heading(line));
    }
    if n > ROWS {
        reply.rest = Some(format!("and {} more: narrow the list, or say \"export\".", n - ROWS));
    }
    if (filter.at_least_g.is_some() || filter.at_most_g.is_some()) && !filter.count {
        let never = herd.here().filter(|a| !weights.contains_key(&a.id)).count();
        if never > 0 {
            reply
                .notes
                .push(format!("{} never weighed and in no such list.", count(never, "animal was", "animals were")));
        }
    }
    reply
}

fn empty() -> Reply {
    Reply::sentence(
        "Your collection is empty. Tell me of an animal: \"add a 2022 female pastel het clown, 1400g, named Juno\".",
    )
}

/// All clutches, the last first.
pub(in crate::conversation) fn clutches(herd: &Herd) -> Reply {
    if herd.clutches.is_empty() {
        return Reply::sentence("No clutches are recorded. Say for example \"Juno laid 7 and 1 slug on 3 April\".");
    }
    let mut all: Vec<&Clutch> = herd.clutches.iter().collect();
    all.sort_by_key(|c| std::cmp::Reverse((c.laid.map(When::first), c.id)));
    let mut reply = Reply::sentence(format!("{}:", count(all.len(), "clutch", "clutches")));
    reply.rows = all.iter().take(ROWS).map(|c| Row::heading(clutch_short(herd, c))).collect();
    if all.len() > ROWS {
        reply.rest = Some(format!("and {} older ones", all.len() - ROWS));
    }
    reply
}

/// "♀ Clown, Piebald (ball python)".
pub(in crate::conversation) fn goal_words(catalogue: &Catalogue, goal: &Goal) -> String {
    let species = catalogue.species().iter().find(|s| s.key() == goal.species);
    let look = species.map_or_else(String::new, |s| look_of(s, &goal.genes));
    let kind = species.map_or(goal.species.clone(), |s| s.name().to_lowercase());
    let name = goal.name.as_ref().map_or_else(String::new, |n| format!("{n}: "));
    let limits = goal.limits.as_ref().map_or_else(String::new, |l| super::goals::limits(species, l));
    format!("{name}{}{look} ({kind}){limits}", labels::mark(goal.sex.into()))
}

/// All goals, numbered.
pub(in crate::conversation) fn goals(catalogue: &Catalogue, herd: &Herd) -> Reply {
    if herd.goals.is_empty() {
        return super::no_goals();
    }
    let mut ordered: Vec<&Goal> = herd.goals.iter().collect();
    ordered.sort_by_key(|g| g.rank.unwrap_or(i16::MAX));
    let mut reply = Reply::sentence(format!("{}:", count(herd.goals.len(), "goal", "goals")));
    reply.rows = (1..).zip(&ordered).map(|(n, g)| Row::heading(format!("{n}. {}", goal_words(catalogue, g)))).collect();
    reply
}

/// Pairings of the collection that can give what is wished for.
pub(in crate::conversation) fn pairings(
    species: &Species,
    herd: &Herd,
    target: &Target,
    found: &[(Odds, &Animal, &Animal)],
    here: &[&Animal],
) -> Reply {
    let wish = labels::target(species, target);
    if found.is_empty() {
        let mut reply = Reply::sentence(format!("No pairing in your collection can make {wish}."));
        for (gene, copies) in &target.genes {
            let entry = &species.gene(*gene).entry;
            let of_sex =
                |sex: Sex| here.iter().filter(|a| a.sex == sex && a.genes.iter().any(|b| b.gene == entry.id)).count();
            let (males, females) = (of_sex(Sex::Male), of_sex(Sex::Female));
            if males + females == 0 {
                reply.notes.push(format!("Nobody here carries {}.", entry.name));
            } else if *copies == 2 && (males == 0 || females == 0) {
                let lacks = if males == 0 { "male" } else { "female" };
                reply.notes.push(format!("No {lacks} here carries {}.", entry.name));
            }
        }
        return reply;
    }
    let mut reply = Reply {
        understood: format!("{}: {wish}", species.name()),
        ..Reply::sentence(format!("{} can make it, per egg:", count(found.len(), "pairing", "pairings")))
    };
    for (share, sire, dam) in found.iter().take(PAIRS) {
        let unsexed = if sire.sex == Sex::Unknown || dam.sex == Sex::Unknown { " (not sexed)" } else { "" };
        reply.rows.push(Row {
            fraction: labels::fraction(share),
            percent: labels::percent(share),
            kind: format!("{} × {}{unsexed}{}", with_code(sire), with_code(dam), related(herd, sire, dam)),
            in_clutch: None,
        });
    }
    if found.len() > PAIRS {
        reply.rest = Some(format!("and {} more with lower odds", found.len() - PAIRS));
    }
    reply
}

/// ", parent and young", ", littermates": close relatives are said.
pub(in crate::conversation) fn related(herd: &Herd, a: &Animal, b: &Animal) -> String {
    let is_parent = |p: &Animal, c: &Animal| c.sire_id == Some(p.id) || c.dam_id == Some(p.id);
    let same = |x: Option<AnimalId>, y: Option<AnimalId>| x.is_some() && x == y;
    let grand = |p: &Animal, c: &Animal| {
        [c.sire_id, c.dam_id].into_iter().flatten().filter_map(|id| herd.animal(id)).any(|m| is_parent(p, m))
    };
    let words = if is_parent(a, b) || is_parent(b, a) {
        "parent and young"
    } else if same(a.sire_id, b.sire_id) && same(a.dam_id, b.dam_id) {
        "siblings"
    } else if same(a.sire_id, b.sire_id) || same(a.dam_id, b.dam_id) {
        "half-siblings"
    } else if grand(a, b) || grand(b, a) {
        "grandparent and young"
    } else {
        return String::new();
    };
    format!(", {words}")
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
