//! How the chance of a possible het moved, clutch by clutch: the same in words and as a picture.

use super::evidence::{chance, het};
use super::{count, with_code};
use crate::collection::animal::{Animal, Parent, Sex};
use crate::collection::events::{Clutch, Young};
use crate::collection::herd::Herd;
use crate::conversation::sentences::DRAW_IT;
use crate::engine::odds::{Odds, sure, to_f64};
use crate::reading::dates::When;
use crate::reply::picture::{self, Drawing, millionths};
use crate::reply::{Reply, Row};
use crate::species::{GeneId, Species};

/// How the chance that an animal carries a gene moved.
#[derive(Debug)]
pub(in crate::conversation) struct Course<'h> {
    pub(in crate::conversation) gene: GeneId,
    /// What came in, and the chance after it; without a clutch at the beginning, and at the end for other records.
    pub(in crate::conversation) points: Vec<(Option<&'h Clutch>, Odds)>,
}

pub(in crate::conversation) fn over_time(
    herd: &Herd,
    species: &Species,
    animal: &Animal,
    course: &Course<'_>,
    others: &[GeneId],
) -> Reply {
    let mut reply = Reply { understood: title(species, animal, course.gene), ..Reply::default() };
    let moved = course.points.windows(2).any(|two| two[0].1 != two[1].1);
    if !moved {
        let now = course.points.last().map_or_else(String::new, |p| format!(": it stands at {}", chance(&p.1)));
        reply.answer.push(format!("Nothing that hatched has moved it{now}."));
    }
    for (what, share) in told(herd, species, animal, course) {
        reply.rows.push(Row::heading(format!("{what}: {}", chance(&share))));
    }
    if course.points.last().is_some_and(|p| p.1 < sure()) {
        reply.notes.push("Misses never prove that it is not; a single visual proves that it is.".to_owned());
    }
    if let Some(other) = others.first() {
        let name = &species.gene(*other).entry.name;
        reply.notes.push(format!("Say \"{}'s {name} odds over time\" for {}.", animal.called(), het(species, *other)));
    }
    reply.notes.push(DRAW_IT.to_owned());
    reply.drawing = Some(Box::new(drawn(herd, species, animal, course)));
    reply
}

pub(in crate::conversation) fn drawn(herd: &Herd, species: &Species, animal: &Animal, course: &Course<'_>) -> Drawing {
    let steps = told(herd, species, animal, course);
    Drawing::Belief(picture::Belief {
        title: title(species, animal, course.gene),
        steps: steps.into_iter().map(|(what, share)| (what, millionths(to_f64(&share)))).collect(),
    })
}

fn title(species: &Species, animal: &Animal, gene: GeneId) -> String {
    format!("{}: the chance of {} as clutches came in", with_code(animal), het(species, gene))
}

fn told(herd: &Herd, species: &Species, animal: &Animal, course: &Course<'_>) -> Vec<(String, Odds)> {
    let line = |(k, (clutch, share)): (usize, &(Option<&Clutch>, Odds))| {
        let what = match clutch {
            Some(clutch) => after(herd, species, animal, clutch, course.gene),
            None if k == 0 => "to begin with".to_owned(),
            None => "with all that is recorded".to_owned(),
        };
        (what, share.clone())
    };
    course.points.iter().enumerate().map(line).collect()
}

/// "15 June 2024: 6 young with Rusty, none visual".
fn after(herd: &Herd, species: &Species, animal: &Animal, clutch: &Clutch, gene: GeneId) -> String {
    let when = clutch.hatched.or(clutch.laid).map_or_else(|| "no day told".to_owned(), When::words);
    let name = |parent: Parent<'_>| match parent {
        Parent::Kept(id) => herd.animal(id).map(Animal::called),
        Parent::Outside(words) => Some(words.to_owned()),
        Parent::Unknown => None,
    };
    let (sire, dam) = (name(clutch.sire()), name(clutch.dam()));
    let other = |mate: Option<String>| mate.map_or_else(String::new, |mate| format!(" with {mate}"));
    let whose = if clutch.dam_id == Some(animal.id) {
        other(sire)
    } else if clutch.sire_id == Some(animal.id) || clutch.sires.is_some() && animal.sex == Sex::Male {
        other(dam)
    } else {
        let unknown = || "an unknown parent".to_owned();
        format!(" of {} × {}", sire.unwrap_or_else(unknown), dam.unwrap_or_else(unknown))
    };
    let shows = |young: &&Young| {
        young.genes.iter().any(|b| b.copies == 2 && b.chance == sure() && species.gene_by_id(&b.gene) == Some(gene))
    };
    let visual: u32 = clutch.young.iter().filter(shows).map(Young::n).sum();
    let visual = if visual == 0 { "none".to_owned() } else { visual.to_string() };
    let young = count(usize::try_from(clutch.n_told()).unwrap_or(usize::MAX), "young", "young");
    format!("{when}: {young}{whose}, {visual} visual")
}
