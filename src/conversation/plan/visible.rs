//! Visible genes go in early: which founders bring them, and what it costs to leave one out until later.

use super::founders::Kind;
use super::{Laid, say};
use crate::engine::planning::route::{From, Route};
use crate::reading::requests::Target;
use crate::species::{GeneId, Species};

/// Visible genes that are looked at.
const MOST_GENES: usize = 3;

/// A line for each visible gene of the goal beside others.
pub(super) fn notes(species: &Species, goal: &Target, laid: &Laid) -> Vec<String> {
    if goal.genes.len() < 2 {
        return Vec::new();
    }
    let visible = goal.genes.iter().map(|g| g.0).filter(|g| !species.gene(*g).is_recessive());
    visible.take(MOST_GENES).filter_map(|gene| note(species, goal, laid, gene)).collect()
}

fn note(species: &Species, goal: &Target, laid: &Laid, gene: GeneId) -> Option<String> {
    let bringing: Vec<String> = founders(&laid.route)
        .into_iter()
        .filter_map(|k| laid.kinds.get(k))
        .filter(|kind| kind.genes.iter().any(|g| g.0 == gene))
        .map(|kind| kind.words(species))
        .collect();
    if bringing.is_empty() {
        return None;
    }
    let name = species.gene(gene).label(1);
    // The last pairing is where it would come in late.
    let late = laid.route.steps.iter().map(|step| step.season).max().filter(|season| *season > 0);
    let cost = late.and_then(|season| {
        let kinds = without_until(&laid.kinds, gene, u32::try_from(season).ok()?);
        let with = laid.world.route(species, goal, &kinds, laid.clutches)?;
        Some((season + 1, with.seasons.checked_sub(laid.route.seasons).filter(|n| *n > 0)?))
    });
    Some(say::visible(name, &bringing, cost))
}

/// The same animals, of which none brings the gene before a season.
fn without_until(kinds: &[Kind], gene: GeneId, season: u32) -> Vec<Kind> {
    let parted = |kind: &Kind| {
        let (only, genes) = kind.genes.iter().copied().partition(|g: &(GeneId, u8)| g.0 == gene);
        let plain = Kind { genes, ..kind.clone() };
        let later = Kind { genes: only, ready: kind.ready.max(season), ..kind.clone() };
        [plain, later].into_iter().filter(|kind| !kind.genes.is_empty()).collect::<Vec<_>>()
    };
    kinds.iter().flat_map(parted).collect()
}

/// The founders that a route uses, by their places.
pub(super) fn founders(route: &Route) -> Vec<usize> {
    let parents = route.steps.iter().flat_map(|step| [step.sire.from, step.dam.from]);
    let mut places: Vec<usize> = parents
        .filter_map(|from| match from {
            From::Owned(k) | From::Bought(k) => Some(k),
            From::Step(_) => None,
        })
        .collect();
    places.sort_unstable();
    places.dedup();
    places
}
