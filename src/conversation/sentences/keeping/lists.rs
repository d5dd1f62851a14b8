//! Lists: animals that fit, pairings that can make something, goals.

use std::fmt::Write as _;

use super::shown::thousands;
use super::{ROWS, count, grams, list_of, look, look_of, status_word, with_code};
use crate::collection::animal::{Animal, AnimalId, Sex};
use crate::collection::events::Goal;
use crate::collection::herd::Herd;
use crate::conversation::labels;
use crate::engine::odds::Odds;
use crate::reading::records::kinds::Status;
use crate::reading::records::look::{Filter, Having};
use crate::reading::requests::{SexSaid, Target};
use crate::reply::{Reply, Row};
use crate::species::{Catalogue, Species};

/// Pairings of one answer.
const PAIRS: usize = 10;

/// What a list was asked for: "females that carry Clown".
pub(in crate::conversation) fn filter_words(catalogue: &Catalogue, filter: &Filter) -> String {
    let mut words = Vec::new();
    if let Some(status) = filter.status {
        words.push(if status == Status::Died { "dead" } else { status_word(status) }.to_owned());
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
            let _ = write!(line, ", {}", status_word(animal.status));
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
