//! The pairings of a plan in words, and what can be counted of them.

use super::founders::Kind;
use super::world::World;
use crate::conversation::labels;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, Genetics, LocusId, Sex};
use crate::engine::odds::{Odds, half, none, sure};
use crate::engine::planning::route::{From, Keep, Parent, Route, Step};
use crate::reading::requests::{SexSaid, Target};
use crate::species::Species;

pub(super) fn count(n: u64, what: &str) -> String {
    let many = if what.ends_with("ch") { "es" } else { "s" };
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}{many}") }
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

/// How many crossings lie before each step: 0 for a pairing of founders.
pub(super) fn depths(steps: &[Step]) -> Vec<usize> {
    let mut depths = vec![0_usize; steps.len()];
    for (i, step) in steps.iter().enumerate() {
        let of = |from: From| match from {
            From::Step(k) if k < i => depths[k] + 1,
            _ => 0,
        };
        depths[i] = of(step.sire.from).max(of(step.dam.from));
    }
    depths
}

/// The pairings of each phase, the first of founders alone, each phase by the season it begins in.
pub(super) fn by_phase(steps: &[Step]) -> Vec<Vec<Vec<&Step>>> {
    let depths = depths(steps);
    let mut phases: Vec<Vec<Vec<&Step>>> = Vec::new();
    for together in pairings(steps) {
        let of = |step: &Step| steps.iter().position(|other| std::ptr::eq(other, step)).map_or(0, |i| depths[i]);
        let depth = of(together[0]);
        if phases.len() <= depth {
            phases.resize_with(depth + 1, Vec::new);
        }
        phases[depth].push(together);
    }
    phases.retain(|phase| !phase.is_empty());
    for phase in &mut phases {
        phase.sort_by_key(|together| (together[0].season, together[0].seasons));
    }
    phases
}

/// What a phase is for, as the trade speaks of it.
pub(super) fn purpose(species: &Species, goal: &Target, phase: &[Vec<&Step>]) -> &'static str {
    let keeps = || phase.iter().flatten().map(|step| &step.keep);
    if keeps().any(|keep| matches!(keep, Keep::Goal)) {
        return "the goal";
    }
    let recessive: Vec<LocusId> = goal
        .genes
        .iter()
        .filter(|(gene, _)| species.gene(*gene).is_recessive())
        .filter_map(|(gene, _)| Some(species.place(*gene)?.0))
        .collect();
    // Carriers and visuals of the most advanced keeper.
    let of = |keep: &Keep| match keep {
        Keep::Goal => (0, 0),
        Keep::Keeper { genotypes, .. } => {
            let copies = |g: &Genotype| {
                let (a, b) = g.alleles();
                [a, b].into_iter().filter(|allele| *allele != AlleleId::WILD).count()
            };
            let here = || genotypes.iter().filter(|(id, _)| recessive.contains(id));
            let with = |n| here().filter(|(_, g)| copies(g) == n).count();
            (with(2), with(1))
        }
    };
    match keeps().map(of).max_by_key(|(visual, het)| (visual * 2 + het, *visual)) {
        Some((0, 3..)) => "triple hets",
        Some((0, 2)) => "double hets",
        Some((0, 1)) => "carriers",
        Some((1.., 1..)) => "visual hets",
        Some((2.., 0)) => "visual doubles",
        _ => "founders",
    }
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
        count(step.clutches, "clutch"),
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

/// How animals of a plan are related.
pub(super) struct Relations<'a> {
    steps: &'a [Step],
    n_own: usize,
    kin: Option<&'a dyn Fn(usize, usize) -> Odds>,
}

impl<'a> Relations<'a> {
    /// `kin` is the kinship of the keeper's own animals; those bought, and all without it, are unrelated.
    pub(super) fn new(route: &'a Route, n_own: usize, kin: Option<&'a dyn Fn(usize, usize) -> Odds>) -> Self {
        Self { steps: &route.steps, n_own, kin }
    }

    /// The kinship of the parents of a step, where each of the founders in `twice` is two unrelated animals, one on the
    /// father's side and one on the mother's.
    pub(super) fn of_step(&self, step: usize, twice: &[usize]) -> Odds {
        self.steps.get(step).map_or_else(none, |step| self.between(step.sire.from, step.dam.from, twice, 0))
    }

    /// The founders that stand on both sides of a step.
    pub(super) fn shared(&self, step: usize) -> Vec<usize> {
        let Some(step) = self.steps.get(step) else { return Vec::new() };
        let (of_sire, of_dam) = (self.founders(step.sire.from), self.founders(step.dam.from));
        of_sire.into_iter().filter(|founder| of_dam.contains(founder)).collect()
    }

    /// The founders that it takes twice so that no pair of a step is closer than this; none if even all do not do.
    pub(super) fn mended(&self, step: usize, limit: &Odds) -> Option<Vec<usize>> {
        let mut twice = self.shared(step);
        if self.of_step(step, &twice) > *limit {
            return None;
        }
        let mut i = 0;
        while i < twice.len() {
            let mut fewer = twice.clone();
            fewer.remove(i);
            if self.of_step(step, &fewer) <= *limit {
                twice = fewer;
            } else {
                i += 1;
            }
        }
        Some(twice)
    }

    /// The step whose parents are closest, and how close.
    pub(super) fn closest(&self) -> Option<(usize, Odds)> {
        let each = (0..self.steps.len()).map(|step| (step, self.of_step(step, &[])));
        each.max_by(|a, b| a.1.cmp(&b.1).then(b.0.cmp(&a.0)))
    }

    fn founders(&self, from: From) -> Vec<usize> {
        let mut found = Vec::new();
        let mut open = vec![from];
        let mut seen = vec![false; self.steps.len()];
        while let Some(next) = open.pop() {
            match next {
                From::Owned(k) | From::Bought(k) => found.push(k),
                From::Step(i) => {
                    if let (Some(step), Some(false)) = (self.steps.get(i), seen.get(i)) {
                        seen[i] = true;
                        open.extend([step.sire.from, step.dam.from]);
                    }
                }
            }
        }
        found.sort_unstable();
        found.dedup();
        found
    }

    /// The kinship of two animals of a plan, by the parents of the one that was bred later.
    fn between(&self, a: From, b: From, twice: &[usize], depth: usize) -> Odds {
        // Plans are a few generations deep; beyond that many nothing is added that shows.
        const DEEPEST: usize = 24;
        if depth > DEEPEST {
            return none();
        }
        let of = |x: From, y: From| self.between(x, y, twice, depth + 1);
        match (a, b) {
            // Bred twice, from founders of its own on either side.
            (From::Step(i), From::Step(j)) if i == j && !twice.is_empty() => self.steps.get(i).map_or_else(none, |s| {
                let each = of(s.sire.from, s.sire.from) + of(s.dam.from, s.dam.from);
                (each + of(s.sire.from, s.dam.from) + of(s.dam.from, s.sire.from)) * half() * half()
            }),
            (From::Step(i), From::Step(j)) if i == j => {
                let own = self.steps.get(i).map_or_else(none, |s| of(s.sire.from, s.dam.from));
                (sure() + own) * half()
            }
            (From::Step(i), From::Step(j)) if i < j => of(b, a),
            (From::Step(i), other) => {
                self.steps.get(i).map_or_else(none, |s| (of(s.sire.from, other) + of(s.dam.from, other)) * half())
            }
            (_, From::Step(_)) => of(b, a),
            (From::Owned(i) | From::Bought(i), From::Owned(j) | From::Bought(j)) if i == j => {
                if twice.contains(&i) {
                    none()
                } else {
                    half()
                }
            }
            (From::Owned(i), From::Owned(j)) if i < self.n_own && j < self.n_own => {
                self.kin.map_or_else(none, |kin| kin(i, j))
            }
            _ => none(),
        }
    }
}
