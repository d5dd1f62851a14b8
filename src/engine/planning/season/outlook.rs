//! One goal of one room: what each pairing would bring it this season, and what a set of pairings is worth.
//!
//! Pairings of animals that are believed to be the same bring the same, so each kind of pairing is worked out once, and
//! a set is known by how many of each kind it holds.

use rustc_hash::FxHashMap;

use super::super::project::ProjectError;
use super::super::project::hope::{AtHand, First, Hoping};
use super::super::project::merit::{Merit, NEVER};
use super::super::project::world::World;
use super::{Aim, Room};
use crate::engine::inheritance::clutch::Wanted;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{LocusId, Sex};
use crate::engine::odds::to_f64;
use crate::engine::planning::Animal;
use crate::engine::planning::project::decide::Objective;

use std::collections::BTreeSet;

/// What an animal may be: kinds with their chances.
pub(super) type Cases = Vec<(u64, f64)>;

/// A goal counts this much for each gene of it that nobody here can ever bring: it cannot be reached, but what is
/// done for the rest is not lost.
const WITHOUT_A_GENE: f64 = 0.25;

/// The number of a kind of pairing; [`IDLE`] brings the goal nothing.
pub(super) type Deed = u32;
pub(super) const IDLE: Deed = 0;

/// A goal of a room, in numbers.
pub(in crate::engine::planning) struct Ground {
    world: World,
    merit: Merit,
    /// What each animal may be; nothing for those that this goal leaves out.
    cases: Vec<Cases>,
    /// The loci at which no animal here can ever bring what is wanted.
    pub(super) missing: Vec<LocusId>,
    /// How much of the goal is left without them.
    share: f64,
}

impl Ground {
    pub(super) fn new(room: &Room<'_>, goal: &Wanted, without: &[usize]) -> Result<Ground, ProjectError> {
        let founders: Vec<&Animal> = room.animals.iter().map(|a| &a.animal).collect();
        let counted: Vec<&Animal> =
            founders.iter().enumerate().filter(|(i, _)| !without.contains(i)).map(|(_, a)| *a).collect();
        let none = BTreeSet::new();
        let world = World::new(room.genetics, &counted, goal, &room.clutch, &none)?;
        let missing = world.kinds.missing.clone();
        // What nobody here has is left out of the goal: the rest of the way is the same.
        let (goal, world) = if missing.is_empty() {
            (goal.clone(), world)
        } else {
            let kept = goal.loci().filter(|(id, _)| !missing.contains(id));
            let any = goal.sex().map_or_else(Wanted::any, |sex| Wanted::any().of_sex(sex));
            let goal = kept.fold(any, |goal, (id, wanted)| goal.with(id, wanted.iter().copied()));
            let world = World::new(room.genetics, &counted, &goal, &room.clutch, &none)?;
            (goal, world)
        };
        let merit = Merit::new(room.genetics, &world.kinds, &goal);
        let mut cases = Vec::with_capacity(founders.len());
        for (i, animal) in founders.iter().enumerate() {
            if without.contains(&i) {
                cases.push(Vec::new());
                continue;
            }
            let of = world.kinds.of(room.genetics, i, animal)?;
            let mut own: Cases = of.into_iter().map(|(kind, chance)| (kind, to_f64(&chance))).collect();
            own.retain(|(_, chance)| *chance > 0.0);
            own.sort_by_key(|(kind, _)| *kind);
            cases.push(own);
        }
        let some_left = missing.is_empty() || goal.loci().next().is_some();
        let without = i32::try_from(missing.len()).unwrap_or(i32::MAX);
        let share = if some_left { WITHOUT_A_GENE.powi(without) } else { 0.0 };
        Ok(Ground { world, merit, cases, missing, share })
    }

    /// Takes over what the whole goal lacks, of which this is a part.
    pub(super) fn is_part_of(&mut self, whole: &Ground) {
        self.missing.clone_from(&whole.missing);
        self.share = whole.share;
    }

    /// How many loci differ among the animals.
    pub(super) fn n_loci(&self) -> usize {
        self.world.kinds.loci().len()
    }

    /// The genotypes of a kind.
    pub(super) fn genotypes(&self, kind: u64) -> Vec<(LocusId, Genotype)> {
        let ids: Vec<LocusId> = self.world.kinds.loci().iter().map(|locus| locus.id).collect();
        self.world.kinds.genotypes(kind).into_iter().filter(|(id, _)| ids.contains(id)).collect()
    }
}

/// What a kind of pairing brings this season.
#[derive(Debug, Clone, PartialEq)]
struct Brings {
    goal: f64,
    /// By head: the chance of a young at least as good.
    heads: Vec<f64>,
}

/// A goal of a room with everything worked out so far.
pub(in crate::engine::planning) struct Outlook<'a> {
    ground: &'a Ground,
    hoping: Hoping<'a>,
    weight: f64,
    seasons: u32,
    objective: Objective,
    /// Everybody from the coming season on.
    later: Vec<AtHand>,
    /// Each animal's belief, by number; animals of one belief are alike.
    alike: Vec<usize>,
    beliefs: Vec<Cases>,
    /// Kinds of young that may be of use.
    heads: Vec<(Sex, u64)>,
    brings: Vec<Brings>,
    deeds: FxHashMap<(usize, usize), Deed>,
    worths: FxHashMap<Vec<Deed>, f64>,
    sexes: Vec<Sex>,
}

impl<'a> Outlook<'a> {
    pub(in crate::engine::planning) fn new(room: &Room<'_>, ground: &'a Ground, aim: &Aim, weight: f64) -> Outlook<'a> {
        let hoping = Hoping::new(&ground.world, &ground.merit, room.maturity, room.females_per_male, room.tell);
        let mut beliefs: Vec<Cases> = Vec::new();
        let mut alike = Vec::with_capacity(ground.cases.len());
        for own in &ground.cases {
            let known = beliefs.iter().position(|other| other == own).unwrap_or_else(|| {
                beliefs.push(own.clone());
                beliefs.len() - 1
            });
            alike.push(known);
        }
        let later = room.animals.iter().zip(&ground.cases).flat_map(|(candidate, cases)| {
            let Animal { sex, ready, .. } = candidate.animal;
            cases.iter().map(move |&(kind, chance)| AtHand { sex, kind, ready, chance, line: 0 })
        });
        Outlook {
            ground,
            hoping,
            weight: weight * ground.share,
            seasons: aim.seasons,
            objective: aim.objective,
            later: later.collect(),
            alike,
            beliefs,
            heads: Vec::new(),
            brings: vec![Brings { goal: 0.0, heads: Vec::new() }],
            deeds: FxHashMap::default(),
            worths: FxHashMap::default(),
            sexes: room.animals.iter().map(|candidate| candidate.animal.sex).collect(),
        }
    }

    /// The number of what is believed of an animal: animals of one number are alike here.
    pub(in crate::engine::planning) fn belief(&self, animal: usize) -> usize {
        self.alike[animal]
    }

    /// Which kind of pairing these two are.
    pub(super) fn deed(&mut self, sire: usize, dam: usize) -> Deed {
        let key = (self.alike[sire], self.alike[dam]);
        if let Some(known) = self.deeds.get(&key) {
            return *known;
        }
        let brings = self.brought(key.0, key.1);
        let nothing = brings.goal <= 0.0 && brings.heads.iter().all(|chance| *chance <= 0.0);
        let deed = if nothing {
            IDLE
        } else {
            let same = self.brings.iter().skip(1).position(|known| *known == brings);
            same.map_or_else(
                || {
                    self.brings.push(brings);
                    self.brings.len() - 1
                },
                |i| i + 1,
            )
            .try_into()
            .unwrap_or(IDLE)
        };
        self.deeds.insert(key, deed);
        deed
    }

    /// Makes the heads of all pairings known, so that what one brings is held against what another could.
    pub(super) fn know(&mut self, pairs: &[(usize, usize)]) {
        let mut keys: Vec<(usize, usize)> = pairs.iter().map(|(s, d)| (self.alike[*s], self.alike[*d])).collect();
        keys.sort_unstable();
        keys.dedup();
        let mut heads: BTreeSet<(bool, u64)> = BTreeSet::new();
        for (sire, dam) in keys {
            for (a, _) in &self.beliefs[sire] {
                for (b, _) in &self.beliefs[dam] {
                    for young in self.ground.world.litter(*a, *b).young {
                        if self.hoping.is_of_use(young.sex, young.code, self.seasons) {
                            heads.insert((young.sex == Sex::Male, young.code));
                        }
                    }
                }
            }
        }
        let sex = |male| if male { Sex::Male } else { Sex::Female };
        self.heads = heads.into_iter().map(|(male, kind)| (sex(male), kind)).collect();
    }

    fn brought(&self, sire: usize, dam: usize) -> Brings {
        let mut brings = Brings { goal: 0.0, heads: vec![0.0; self.heads.len()] };
        for (a, p) in &self.beliefs[sire] {
            for (b, q) in &self.beliefs[dam] {
                brings.goal += p * q * self.ground.world.some(self.ground.world.goal(*a, *b));
                for (chance, (sex, kind)) in brings.heads.iter_mut().zip(&self.heads) {
                    *chance += p * q * (1.0 - self.hoping.none(*a, *b, *sex, *kind));
                }
            }
        }
        // What rounding leaves of nothing is nothing.
        for chance in brings.heads.iter_mut().chain([&mut brings.goal]) {
            if *chance < 1e-12 {
                *chance = 0.0;
            }
        }
        brings
    }

    fn first(&self, deeds: &[Deed]) -> First {
        let mut goal = 1.0;
        let mut missed = vec![1.0; self.heads.len()];
        for brings in deeds.iter().filter_map(|deed| self.brings.get(*deed as usize)) {
            goal *= 1.0 - brings.goal;
            for (missed, chance) in missed.iter_mut().zip(&brings.heads) {
                *missed *= 1.0 - chance;
            }
        }
        let young = self.heads.iter().zip(missed).filter(|(_, missed)| *missed < 1.0);
        First { goal: 1.0 - goal, young: young.map(|((sex, kind), missed)| (*sex, *kind, 0, 1.0 - missed)).collect() }
    }

    fn score(&self, by_season: &[f64]) -> f64 {
        score(self.objective, by_season) * self.weight
    }

    /// What pairing these and nobody else is worth; `deeds` may stand in any order.
    pub(super) fn worth(&mut self, mut deeds: Vec<Deed>) -> f64 {
        deeds.retain(|deed| *deed != IDLE);
        deeds.sort_unstable();
        if let Some(known) = self.worths.get(&deeds) {
            return *known;
        }
        let first = self.first(&deeds);
        let later = std::mem::take(&mut self.later);
        let hope = self.hoping.hope(&later, self.seasons, Some(&first));
        self.later = later;
        let worth = self.score(&hope);
        self.worths.insert(deeds, worth);
        worth
    }

    /// A rough worth of a kind of pairing by itself, for a first guess: what comes of it, the nearer to the goal the more.
    pub(super) fn guess(&self, deed: Deed) -> f64 {
        let Some(brings) = self.brings.get(deed as usize).filter(|_| deed != IDLE) else { return 0.0 };
        let near = |kind: u64| match self.ground.merit.crossings(usize::try_from(kind).unwrap_or(usize::MAX)) {
            NEVER => 0.0,
            crossings => 0.25f64.powi(i32::try_from(crossings).unwrap_or(i32::MAX)),
        };
        let heads = brings.heads.iter().zip(&self.heads).map(|(chance, (_, kind))| chance * near(*kind));
        self.weight * (brings.goal + heads.sum::<f64>())
    }

    /// Of what a pairing brings, beside the others: the kind of young that is worth most, and how much.
    pub(super) fn best_head(&mut self, deed: Deed, others: &[Deed]) -> Option<(Sex, u64, f64)> {
        let own = self.brings.get(deed as usize).filter(|_| deed != IDLE)?.clone();
        let whole: Vec<Deed> = others.iter().copied().chain([deed]).collect();
        let all = self.worth(whole);
        let beside = self.first(others);
        let later = std::mem::take(&mut self.later);
        let mut best: Option<(usize, f64)> = None;
        for (i, (sex, kind)) in self.heads.clone().into_iter().enumerate() {
            if own.heads[i] <= 0.0 {
                continue;
            }
            // Only this kind, and what is at least as good, is taken from the clutch.
            let mut first = beside.clone();
            for (j, (s, k)) in self.heads.iter().enumerate() {
                if *s == sex && self.hoping.at_least(kind, *k) {
                    let before = first.young.iter_mut().find(|known| known.0 == *s && known.1 == *k);
                    let chance = own.heads[i].min(own.heads[j]);
                    match before {
                        Some(known) => known.3 += (1.0 - known.3) * chance,
                        None => first.young.push((*s, *k, 0, chance)),
                    }
                }
            }
            let hope = self.hoping.hope(&later, self.seasons, Some(&first));
            let worth = self.score(&hope);
            if best.is_none_or(|(_, known)| worth > known + 1e-12) {
                best = Some((i, worth));
            }
        }
        self.later = later;
        let (i, worth) = best?;
        let nothing = self.worth(others.to_vec());
        let (sex, kind) = self.heads[i];
        let gained = if all > nothing { ((worth - nothing) / (all - nothing)).clamp(0.0, 1.0) } else { 0.0 };
        Some((sex, kind, gained))
    }

    /// The hope of everybody together with nobody's season settled, as one number; animals may be others than they are.
    fn free(&mut self, animals: &[AtHand]) -> f64 {
        let hope = self.hoping.hope(animals, self.seasons, None);
        self.score(&hope)
    }

    /// What is known of an animal that may be of several kinds: the worth of its being the best of them over the
    /// worst.
    pub(super) fn at_stake(&mut self, animal: usize, ready: u32) -> f64 {
        let cases = self.ground.cases[animal].clone();
        if cases.len() < 2 {
            return 0.0;
        }
        let sex = self.sexes[animal];
        let own = AtHand { sex, kind: 0, ready, chance: 1.0, line: 0 };
        let mut others = self.later.clone();
        for (kind, chance) in &cases {
            let same = |at: &AtHand| {
                at.sex == sex && at.kind == *kind && at.ready == ready && at.chance.to_bits() == chance.to_bits()
            };
            if let Some(i) = others.iter().position(same) {
                others.remove(i);
            }
        }
        let mut worths = Vec::with_capacity(cases.len());
        for (kind, _) in &cases {
            others.push(AtHand { kind: *kind, ..own });
            worths.push(self.free(&others));
            others.pop();
        }
        let most = worths.iter().copied().fold(f64::MIN, f64::max);
        let least = worths.iter().copied().fold(f64::MAX, f64::min);
        (most - least).max(0.0)
    }

    /// The chance that a clutch of these two shows for sure what the sire, and what the dam, carries unseen.
    pub(super) fn proofs(&self, sire: usize, dam: usize) -> [f64; 2] {
        let (sires, dams) = (&self.beliefs[self.alike[sire]], &self.beliefs[self.alike[dam]]);
        [self.proof(sires, dams, |own, other| (own, other)), self.proof(dams, sires, |own, other| (other, own))]
    }

    fn proof(&self, own: &Cases, mates: &Cases, as_pair: impl Fn(u64, u64) -> (u64, u64)) -> f64 {
        let far = |kind: u64| self.ground.merit.crossings(usize::try_from(kind).unwrap_or(usize::MAX));
        if own.len() < 2 {
            return 0.0;
        }
        // The best of what it may be: the one that the others are all worse than.
        let Some((best, chance)) = own
            .iter()
            .copied()
            .find(|(kind, _)| own.iter().all(|(other, _)| self.hoping.at_least(*kind, *other)))
            .or_else(|| own.iter().copied().min_by_key(|(kind, _)| far(*kind)))
        else {
            return 0.0;
        };
        let world = &self.ground.world;
        let litter = |own: u64, mate: u64| {
            let (sire, dam) = as_pair(own, mate);
            world.litter(sire, dam)
        };
        // What may be seen although it is not of the best kind.
        let mut seen: BTreeSet<u64> = BTreeSet::new();
        let mut goal = false;
        for (other, _) in own.iter().filter(|(kind, _)| *kind != best) {
            for (mate, _) in mates {
                let litter = litter(*other, *mate);
                goal |= litter.goal > 0.0;
                seen.extend(litter.young.iter().map(|young| world.kinds.look(young.code)));
            }
        }
        let of_mate = |(mate, p): &(u64, f64)| {
            let litter = litter(best, *mate);
            let new = litter.young.iter().filter(|young| !seen.contains(&world.kinds.look(young.code)));
            let share = new.map(|young| young.share).sum::<f64>() + if goal { 0.0 } else { litter.goal };
            p * world.some(share)
        };
        chance * mates.iter().map(of_mate).sum::<f64>()
    }

    /// The hope of some of the animals only, by their places, with nobody's season settled.
    pub(in crate::engine::planning) fn of_some(&mut self, ready: &[u32], held: &[bool]) -> f64 {
        let mut animals = Vec::new();
        for (i, cases) in self.ground.cases.iter().enumerate().filter(|(i, _)| held[*i]) {
            let (sex, ready) = (self.sexes[i], ready[i]);
            animals.extend(cases.iter().map(|&(kind, chance)| AtHand { sex, kind, ready, chance, line: 0 }));
        }
        self.free(&animals)
    }
}

/// One number for a forecast: the chance in the end, or how soon it comes, with a little of the other to break ties.
fn score(objective: Objective, by_season: &[f64]) -> f64 {
    const LITTLE: f64 = 0.02;
    let n = by_season.len().max(1) as f64;
    let mean = by_season.iter().sum::<f64>() / n;
    let last = by_season.last().copied().unwrap_or(0.0);
    match objective {
        Objective::Chance => last + LITTLE * mean,
        Objective::Seasons => mean + LITTLE * last,
    }
}
