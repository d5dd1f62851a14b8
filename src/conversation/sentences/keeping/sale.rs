//! What may be promised of an animal that is to be sold.

use super::evidence::{HowSure, chance, het, pronoun_of};
use super::{capital, count, list_of, look, look_of, with_code};
use crate::collection::animal::Animal;
use crate::conversation::labels;
use crate::engine::odds::sure;
use crate::reply::Reply;
use crate::species::{Catalogue, Species};

/// What may be promised of an animal that is to be sold.
pub(in crate::conversation) fn sale_card(
    species: &Species,
    catalogue: &Catalogue,
    animal: &Animal,
    parents: Option<String>,
    genes: &[HowSure<'_>],
) -> Reply {
    let mut reply = Reply {
        understood: format!("{}, {}: {}", with_code(animal), species.name().to_lowercase(), look(catalogue, animal)),
        ..Reply::default()
    };
    let shown: Vec<_> = animal
        .genes
        .iter()
        .filter(|b| {
            b.chance == sure()
                && species.gene_by_id(&b.gene).is_some_and(|g| b.copies == 2 || !species.gene(g).is_recessive())
        })
        .cloned()
        .collect();
    reply.answer.push(if shown.is_empty() {
        "Sure: looks normal.".to_owned()
    } else {
        format!("Sure: {} (it shows).", look_of(species, &shown))
    });
    for one in genes.iter().filter(|g| !g.shows) {
        let het = het(species, one.gene);
        reply.answer.push(if one.now == sure() {
            match one.proven {
                Some(clutch) => {
                    let when = clutch.hatched.map_or_else(String::new, |w| format!(", {}", w.words()));
                    format!("Proven: {het} (a visual hatched from {}{when}).", pronoun_of(animal))
                }
                None => format!("Sure: {het} (from the parents, or as told by its keeper; not proven by young here)."),
            }
        } else {
            let label = labels::het_share(&one.label);
            let said = if one.now == one.label {
                format!("{label} {het}")
            } else {
                format!("{het}, {} (label {label})", chance(&one.now))
            };
            let why = one.broods.iter().filter(|b| b.visual == 0).map(|b| {
                format!(
                    "{} without a visual with {}",
                    count(usize::try_from(b.young).unwrap_or(0), "young", "young"),
                    b.mate.clone().unwrap_or_else(|| "an unknown mate".to_owned())
                )
            });
            let why: Vec<String> = why.collect();
            let why = if why.is_empty() { "nothing has tested it".to_owned() } else { list_of(&why) };
            format!("Possible: {said}; {why}.")
        });
    }
    if let Some(parents) = parents {
        reply.answer.push(format!("Parents: {parents}."));
    }
    if let Some(hatched) = animal.hatched {
        reply.answer.push(format!("{} {}.", capital("hatched"), hatched.words()));
    }
    reply.notes.push(
        "A possible het may carry nothing: it is sold as a chance, not as a het. Nothing else is promised.".to_owned(),
    );
    reply
}
