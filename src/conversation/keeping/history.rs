//! How the chance of a possible het moved as clutches came in, in words and as a picture.

use super::added::species_of;
use super::evidence::{asked_genes, evidence, loci_with, open_genes, outside, weigh};
use super::who::Care;
use super::{Desk, Done, Stop};
use crate::collection::animal::Animal;
use crate::collection::evidence;
use crate::conversation::sentences::keeping as say;
use crate::conversation::sentences::keeping::history::Course;
use crate::reading::records::described::Described;
use crate::reading::records::message::Called;
use crate::reply::picture::Drawing;
use crate::species::{GeneId, Species};

/// Genes whose course is looked at to find the one that moved.
const MOST_GENES: usize = 4;

pub(super) fn over_time(desk: &Desk<'_>, who: &Called, said: &Described) -> Result<Done, Stop> {
    let animal = desk.one(who, Care::Reads)?;
    let species = species_of(desk, animal)?;
    let mut genes = asked_genes(desk, species, said)?;
    if let Some(shows) = genes.iter().find(|g| !species.gene(**g).is_recessive()) {
        return Ok(Done::about(say::evidence::shows_anyway(species, animal, *shows), vec![animal.id]));
    }
    if genes.is_empty() {
        genes = in_doubt(desk, species, animal)?;
    }
    genes.truncate(MOST_GENES);
    let courses: Vec<Course<'_>> = genes.iter().map(|gene| course(desk, species, animal, *gene)).collect();
    let about = vec![animal.id];
    let Some(first) = courses.iter().enumerate().max_by_key(|(k, c)| (c.points.len(), usize::MAX - k)).map(|c| c.1)
    else {
        return Ok(Done::about(say::evidence::nothing_open(species, desk.catalogue, animal), about));
    };
    let others: Vec<GeneId> = courses.iter().map(|c| c.gene).filter(|g| *g != first.gene).collect();
    Ok(Done::about(say::history::over_time(desk.herd, species, animal, first, &others), about))
}

/// What can be drawn beside an answer about these genes: the one that moved the most.
pub(super) fn drawn(desk: &Desk<'_>, species: &Species, animal: &Animal, genes: &[GeneId]) -> Option<Drawing> {
    let courses = genes.iter().map(|gene| course(desk, species, animal, *gene));
    let longest =
        courses.filter(|c| c.points.len() > 1).reduce(|a, b| if b.points.len() > a.points.len() { b } else { a })?;
    Some(say::history::drawn(desk.herd, species, animal, &longest))
}

/// Recessives that are in doubt, and those that the label leaves open and a clutch has settled since.
fn in_doubt(desk: &Desk<'_>, species: &Species, animal: &Animal) -> Result<Vec<GeneId>, Stop> {
    let all = loci_with(species, desk.herd, &[]);
    let sound = evidence::sound(species, desk.herd, &all, &outside(desk, species));
    let evidence = evidence(desk, species, desk.herd, &sound)?;
    let weighed = weigh(&evidence, species)?;
    let mut genes = open_genes(desk.herd, species, &weighed, animal);
    let told = animal.genes.iter().filter(|b| b.copies == 1).filter_map(|b| species.gene_by_id(&b.gene));
    genes.extend(told.filter(|g| species.gene(*g).is_recessive()));
    let mut seen = Vec::new();
    genes.retain(|g| {
        !seen.contains(g) && {
            seen.push(*g);
            true
        }
    });
    Ok(genes)
}

fn course<'a>(desk: &Desk<'a>, species: &Species, animal: &Animal, gene: GeneId) -> Course<'a> {
    let points = evidence::history(species, desk.herd, animal.id, gene, &outside(desk, species));
    let points = points.into_iter().map(|p| (p.clutch.and_then(|id| desk.herd.clutch(id)), p.chance)).collect();
    Course { gene, points }
}
