//! The pairings of a plan in words, and what can be counted of them.

use super::founders::Kind;
use super::world::World;
use crate::conversation::labels;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{Genetics, LocusId, Sex};
use crate::engine::odds::{Odds, half, none, sure};
use crate::engine::planning::route::{From, Keep, Parent, Route, Step};
use crate::reading::requests::SexSaid;
use crate::species::Species;

pub(super) fn count(n: u64, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

/// Steps that are one pairing with several keepers.
pub(super) fn pairings(steps: &[Step]) -> Vec<Vec<&Step>> {
    let mut out: Vec<Vec<&Step>> = Vec::new();
    for step in steps {
        let same = out.iter_mut().find(|other| {
            let first = other[0];
            first.sire == step.sire
                && first.dam == step.dam
                && (first.season, first.seasons, &first.per_egg) == (step.season, step.seasons, &step.per_egg)
        });
        match same {
            Some(other) => other.push(step),
            None => out.push(vec![step]),
        }
    }
    out
}

/// "Season 1: ♂ Clown × ♀ Piebald, 1 clutch (each egg 1/2): keep a ♀ het Clown, het Piebald."
pub(super) fn line(species: &Species, world: &World, kinds: &[Kind], together: &[&Step]) -> String {
    let step = together[0];
    let first = step.season + 1;
    let last = step.season + step.seasons;
    let when = if first == last { format!("Season {first}") } else { format!("Seasons {first} to {last}") };
    let kept: Vec<String> = together
        .iter()
        .filter_map(|step| match &step.keep {
            Keep::Goal => None,
            Keep::Keeper { sex, genotypes } => Some(animal(species, &world.genetics, *sex, genotypes)),
        })
        .collect();
    let keep = match &kept[..] {
        [] => "the goal".to_owned(),
        [one] => format!("keep a {one}"),
        several => format!("keep a {}", several.join(" and a ")),
    };
    format!(
        "{when}: {} \u{d7} {}, {}, {} per egg: {keep}.",
        parent(species, world, kinds, &step.sire, Sex::Male),
        parent(species, world, kinds, &step.dam, Sex::Female),
        count(step.clutches, "clutch").replace("clutchs", "clutches"),
        labels::fraction(&step.per_egg),
    )
}

pub(super) fn parent(species: &Species, world: &World, kinds: &[Kind], parent: &Parent, sex: Sex) -> String {
    match parent.from {
        From::Owned(k) | From::Bought(k) if k < kinds.len() => kinds[k].words(species),
        _ => animal(species, &world.genetics, sex, &parent.genotypes),
    }
}

pub(in crate::conversation) fn animal(
    species: &Species,
    genetics: &Genetics,
    sex: Sex,
    genotypes: &[(LocusId, Genotype)],
) -> String {
    let mark = labels::mark(if sex == Sex::Male { SexSaid::Male } else { SexSaid::Female });
    let wild = |id: LocusId, g: Genotype| g == genetics.wild(id, sex);
    let parts = genotypes
        .iter()
        .filter(|(id, g)| !wild(*id, *g))
        .flat_map(|(id, g)| labels::at_locus(species, *id, &[(*g, sure())]))
        .collect();
    format!("{mark}{}", labels::name(parts, false))
}

/// Eggs of a plan, each pairing counted once.
pub(super) fn eggs(route: &Route, of_a_clutch: u64) -> u64 {
    let clutches = |together: &Vec<&Step>| together.iter().map(|s| s.clutches).max().unwrap_or(0);
    pairings(&route.steps).iter().map(clutches).sum::<u64>().saturating_mul(of_a_clutch)
}

/// The most pairings that run side by side in one season.
pub(super) fn most_at_once(route: &Route) -> u64 {
    let all = pairings(&route.steps);
    let at = |season: u64| all.iter().filter(|p| p[0].season <= season && season < p[0].season + p[0].seasons).count();
    u64::try_from((0..route.seasons.min(200)).map(at).max().unwrap_or(0)).unwrap_or(u64::MAX)
}

/// The kinship of the parents of every step; founders that are bought, and all without `kin`, are unrelated.
pub(super) fn kinships(route: &Route, n_own: usize, kin: Option<&dyn Fn(usize, usize) -> Odds>) -> Vec<(usize, Odds)> {
    let steps = &route.steps;
    (0..steps.len()).map(|i| (i, between(steps, n_own, kin, steps[i].sire.from, steps[i].dam.from, 0))).collect()
}

/// The kinship of two animals of a plan, by the parents of the one that was bred later.
fn between(
    steps: &[Step],
    n_own: usize,
    kin: Option<&dyn Fn(usize, usize) -> Odds>,
    a: From,
    b: From,
    depth: usize,
) -> Odds {
    // Plans are a few generations deep; beyond that many nothing is added that shows.
    const DEEPEST: usize = 24;
    if depth > DEEPEST {
        return none();
    }
    let of = |x: From, y: From| between(steps, n_own, kin, x, y, depth + 1);
    match (a, b) {
        (From::Step(i), From::Step(j)) if i == j => {
            let own = steps.get(i).map_or_else(none, |s| of(s.sire.from, s.dam.from));
            (sure() + own) * half()
        }
        (From::Step(i), From::Step(j)) if i < j => of(b, a),
        (From::Step(i), other) => {
            steps.get(i).map_or_else(none, |s| (of(s.sire.from, other) + of(s.dam.from, other)) * half())
        }
        (_, From::Step(_)) => of(b, a),
        (From::Owned(i), From::Owned(j)) if i == j => half(),
        (From::Owned(i), From::Owned(j)) if i < n_own && j < n_own => kin.map_or_else(none, |kin| kin(i, j)),
        _ => none(),
    }
}
