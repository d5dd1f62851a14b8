//! Exact decisions where only looks are seen: a state is what is believed of the animals held, all together.
//!
//! What a season shows changes the belief: every clutch speaks of its parents, and of their other young. Values are
//! forecasts under the best decisions, as where genotypes are told. Two animals are compared by all that they may be. An animal that can
//! no longer lead to the goal in time is left out, although a pairing with it could still tell something of its mate.

mod hatch; // what a season's clutches show
mod joint; // beliefs of several animals at one locus
mod sight; // looks, and classes of young
mod start; // the belief that the records give

use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::ProjectError;
use super::decide::Project;
use super::told::{self, Care, Cut, State, Told, Value};
use crate::engine::inheritance::locus::Sex;
use joint::{Joint, Mask};
use sight::Sight;

/// An animal of a state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Body {
    male: bool,
    wait: u32,
    /// Animals of one brood that cannot be told apart, for choosing among them; 0 is nobody's.
    brood: u32,
}

/// The animals at hand and what is believed of them.
#[derive(Debug, Clone)]
pub(super) struct Herd {
    left: u32,
    sold: u32,
    bodies: Vec<Body>,
    beliefs: Vec<Joint>,
}

/// What to do in a season: offers, and males and females by their places in the herd, what is bought at its end.
#[derive(Debug, Clone, Default)]
pub(super) struct Action {
    pub(super) buy: u32,
    pub(super) pairs: Vec<(usize, usize)>,
}

/// An animal on sale: sex, seasons from the start until it can be paired, genotypes and chances at each locus.
#[derive(Debug, Clone)]
pub(super) struct Prior {
    pub(super) sex: Sex,
    pub(super) ready: u32,
    pub(super) genotypes: Vec<Vec<(u8, f64)>>,
}

/// What is seen, and what is on sale.
pub(super) struct Scene {
    sights: Vec<Sight>,
    goal_sex: Option<Sex>,
    offers: Vec<Prior>,
}

impl Scene {
    pub(super) fn new(project: &Project<'_>, world: &super::world::World, offers: Vec<Prior>) -> Scene {
        Scene { sights: sight::sights(project.genetics, world), goal_sex: project.goal.sex(), offers }
    }

    /// The herd that the records tell of.
    pub(super) fn herd(&self, project: &Project<'_>, world: &super::world::World) -> Result<Herd, ProjectError> {
        let kinds = &world.kinds;
        let beliefs = start::beliefs(project.genetics, kinds, &self.sights, &project.animals, &project.clutches)?;
        let here: Vec<usize> = (0..project.animals.len()).filter(|i| !project.animals[*i].gone).collect();
        let is_parent = |i: usize| {
            let of_animal = project.animals.iter().any(|m| m.sire == Some(i) || m.dam == Some(i));
            of_animal || project.clutches.iter().any(|c| c.sire == i || c.dam == i)
        };
        let alike = |a: usize, b: usize| {
            let (first, second) = (&project.animals[a], &project.animals[b]);
            let parents =
                first.sire.is_some() && (first.sire, first.dam) == (second.sire, second.dam) && first.dam.is_some();
            let body = first.animal.sex == second.animal.sex && first.animal.ready == second.animal.ready;
            parents && body && first.look == second.look && !is_parent(a) && !is_parent(b)
        };
        let brood = |place: usize| {
            let first = here.iter().position(|other| alike(*other, here[place])).map_or(0, |i| i + 1);
            u32::try_from(first).unwrap_or(0)
        };
        let bodies = here.iter().enumerate().map(|(place, i)| {
            let animal = &project.animals[*i].animal;
            Body { male: animal.sex == Sex::Male, wait: animal.ready, brood: brood(place) }
        });
        Ok(Herd { left: project.seasons, sold: 0, bodies: bodies.collect(), beliefs })
    }
}

/// What several masks of a kind of young tell: likelihoods by the parents' genotypes.
type Likelihoods = FxHashMap<(usize, Sex, Mask), Rc<[f64]>>;

/// The solver of one project.
pub(super) struct Hidden<'a, 's> {
    told: Told<'a>,
    scene: &'s Scene,
    values: FxHashMap<Vec<u64>, Value>,
    likelihoods: Likelihoods,
}

impl<'a, 's> Hidden<'a, 's> {
    pub(super) fn new(told: Told<'a>, scene: &'s Scene) -> Hidden<'a, 's> {
        Hidden { told, scene, values: FxHashMap::default(), likelihoods: FxHashMap::default() }
    }

    /// What to do, and the forecast if it and the best afterwards is done.
    pub(super) fn best(&mut self, herd: &Herd) -> Result<(Action, Value), Cut> {
        let room = self.told.rules.space.saturating_sub(herd.bodies.len());
        let mut best: Option<(Action, Value)> = None;
        for buy in self.told.purchases(herd.left, herd.sold, room) {
            let herd = self.with_bought(herd, buy)?;
            for pairs in self.pairings(&herd)? {
                let value = self.after(&herd, &pairs)?;
                if best.as_ref().is_none_or(|(_, known)| self.told.rules.is_better(&value, known)) {
                    best = Some((Action { buy, pairs }, value));
                }
            }
        }
        Ok(best.unwrap_or_else(|| (Action::default(), vec![0.0; herd.left as usize].into())))
    }

    fn with_bought(&self, herd: &Herd, buy: u32) -> Result<Herd, Cut> {
        let mut herd = herd.clone();
        let elapsed = self.told.seasons.saturating_sub(herd.left);
        for (_, offer) in self.scene.offers.iter().enumerate().filter(|(i, _)| buy >> i & 1 == 1) {
            let wait = offer.ready.saturating_sub(elapsed);
            herd.bodies.push(Body { male: offer.sex == Sex::Male, wait, brood: 0 });
            for (joint, genotypes) in herd.beliefs.iter_mut().zip(&offer.genotypes) {
                joint.push(|_, _, here| here.extend(genotypes)).map_err(|_| Cut)?;
            }
        }
        herd.sold |= buy;
        Ok(herd)
    }

    /// The forecast of a herd under the best decisions.
    fn value(&mut self, herd: &Herd) -> Result<Value, Cut> {
        if herd.left == 0 {
            return Ok(Value::from([]));
        }
        let herd = Self::in_order(herd);
        let key = key(&herd);
        if let Some(known) = self.values.get(&key) {
            return Ok(Rc::clone(known));
        }
        self.told.worked(1)?;
        let value = if herd.left <= self.told.last { self.potential(&herd) } else { self.best(&herd)?.1 };
        self.values.insert(key, Rc::clone(&value));
        Ok(value)
    }

    /// The forecast of the best animals to hold out of those at hand.
    fn hold(&mut self, herd: &Herd) -> Result<Value, Cut> {
        if herd.bodies.len() <= self.told.rules.space {
            let herd = self.reduced(herd);
            return self.value(&herd);
        }
        Ok(self.choose(herd)?.1)
    }

    /// Whom to hold, by place, and the forecast then.
    pub(super) fn choose(&mut self, herd: &Herd) -> Result<(Vec<usize>, Value), Cut> {
        let shopping = self.told.is_shopping(herd.left, herd.sold);
        let mut best: Option<(Vec<usize>, Value)> = None;
        let mut choices = self.choices(herd, shopping)?;
        if choices.len() > self.told.reach.choices {
            let valued = choices.into_iter().map(|held| {
                let potential = self.potential(&picked(herd, &held));
                (potential, held)
            });
            let mut valued: Vec<(Value, Vec<usize>)> = valued.collect();
            let rules = self.told.rules;
            valued.sort_by(|(a, _), (b, _)| rules.is_better(b, a).cmp(&rules.is_better(a, b)));
            valued.truncate(self.told.reach.choices);
            choices = valued.into_iter().map(|(_, held)| held).collect();
        }
        for held in choices {
            let herd = self.reduced(&picked(herd, &held));
            let value = self.value(&herd)?;
            if best.as_ref().is_none_or(|(_, known)| self.told.rules.is_better(&value, known)) {
                best = Some((held, value));
            }
        }
        Ok(best.unwrap_or_else(|| (Vec::new(), vec![0.0; herd.left as usize].into())))
    }

    /// All choices of animals to hold that are not plainly worse than another.
    fn choices(&mut self, herd: &Herd, shopping: bool) -> Result<Vec<Vec<usize>>, Cut> {
        let supports = Self::supports(herd);
        let n = herd.bodies.len();
        let useful = self.useful(herd, &supports);
        let mut in_order: Vec<usize> = (0..n).filter(|i| useful[*i]).collect();
        let all_beats: Vec<bool> = (0..n * n).map(|i| self.beats(herd, &supports, i / n, i % n)).collect();
        let beats = |a: usize, b: usize| a != b && all_beats[a * n + b] && (a < b || !all_beats[b * n + a]);
        let rank = |i: usize| in_order.iter().filter(|j| beats(**j, i)).count();
        let ranks: Vec<usize> = (0..n).map(rank).collect();
        in_order.sort_by_key(|i| (ranks[*i], *i));
        let space = self.told.rules.space;
        let fewest = if shopping { 0 } else { space.min(in_order.len()) };
        let mut found: Vec<Vec<usize>> = vec![Vec::new()];
        for (place, &i) in in_order.iter().enumerate() {
            let still = in_order.len() - place - 1;
            let mut next = Vec::with_capacity(found.len() * 2);
            for held in found {
                let better = in_order[..place].iter().filter(|j| beats(**j, i));
                // Of those that cannot be told apart the first are taken; so are all better ones before a worse.
                let same = in_order[..place].iter().filter(|j| {
                    let brood = herd.bodies[**j].brood;
                    brood != 0 && brood == herd.bodies[i].brood
                });
                let may = better.chain(same).all(|j| held.contains(j)) && held.len() < space;
                if may {
                    let mut held = held.clone();
                    held.push(i);
                    next.push(held);
                }
                if held.len() + still >= fewest {
                    next.push(held);
                }
            }
            found = next;
            self.told.worked(found.len() as u64 / 64)?;
            if found.len() > MOST_CHOICES {
                return Err(Cut);
            }
        }
        Ok(found)
    }

    fn supports(herd: &Herd) -> Vec<Vec<Mask>> {
        (0..herd.bodies.len()).map(|i| herd.beliefs.iter().map(|joint| joint.support(i)).collect()).collect()
    }

    /// Whether each animal can lead to the goal in time.
    fn useful(&self, herd: &Herd, supports: &[Vec<Mask>]) -> Vec<bool> {
        let keep_all = self.told.reach.care == Care::Full && self.told.is_shopping(herd.left, herd.sold);
        let of_one = |(body, masks): (&Body, &Vec<Mask>)| {
            keep_all || self.told.in_time(body.wait, self.crossings(masks), herd.left)
        };
        herd.bodies.iter().zip(supports).map(of_one).collect()
    }

    /// The fewest crossings to the goal, were it the best that it may be.
    fn crossings(&self, masks: &[Mask]) -> u32 {
        let at = |(i, mask): (usize, &Mask)| {
            let n = self.scene.sights[i].n_genotypes();
            sight::numbers(mask, n).map(|g| self.told.merit.crossings_at(i, g)).min().unwrap_or(u32::MAX)
        };
        if self.told.world.kinds.missing.is_empty() {
            masks.iter().enumerate().map(at).max().unwrap_or(1)
        } else {
            u32::MAX
        }
    }

    /// Whether the first animal, whatever it is, does what the second does, whatever that is.
    fn beats(&self, herd: &Herd, supports: &[Vec<Mask>], a: usize, b: usize) -> bool {
        let (first, second) = (&herd.bodies[a], &herd.bodies[b]);
        let at = |(i, (a, b)): (usize, (&Mask, &Mask))| {
            let n = self.scene.sights[i].n_genotypes();
            sight::numbers(a, n).all(|a| sight::numbers(b, n).all(|b| self.told.merit.at_least_at(i, a, b)))
        };
        first.male == second.male
            && first.wait <= second.wait
            && supports[a].iter().zip(&supports[b]).enumerate().all(at)
    }

    /// Without animals of no use.
    fn reduced(&self, herd: &Herd) -> Herd {
        if self.told.reach.care == Care::Full && self.told.is_shopping(herd.left, herd.sold) {
            return herd.clone();
        }
        let supports = Self::supports(herd);
        let useful = self.useful(herd, &supports);
        let mut kept: Vec<usize> = (0..herd.bodies.len()).filter(|i| useful[*i]).collect();
        let rules = self.told.rules;
        let mut place = 0;
        while place < kept.len() {
            let own = kept[place];
            let enough = if herd.bodies[own].male { rules.males_of_use() } else { rules.females_of_use() };
            let better = kept.iter().enumerate().filter(|&(other, &i)| {
                other != place
                    && self.beats(herd, &supports, i, own)
                    && (other < place || !self.beats(herd, &supports, own, i))
            });
            if better.count() >= enough {
                kept.remove(place);
                place = 0;
            } else {
                place += 1;
            }
        }
        picked(herd, &kept)
    }

    /// The same herd in one order, so that equal herds are found again.
    fn in_order(herd: &Herd) -> Herd {
        let rank = |i: usize| -> (bool, u32, Vec<(u8, u64)>) {
            let marginals = herd.beliefs.iter().flat_map(|joint| joint.marginal(i));
            let body = herd.bodies[i];
            (body.male, body.wait, marginals.map(|(g, chance)| (g, rounded(chance))).collect())
        };
        let mut order: Vec<usize> = (0..herd.bodies.len()).collect();
        order.sort_by_cached_key(|i| rank(*i));
        let mut herd = picked(herd, &order);
        // Where they came from no longer matters.
        for body in &mut herd.bodies {
            body.brood = 0;
        }
        herd
    }

    /// Ways to pair the ready females.
    fn pairings(&mut self, herd: &Herd) -> Result<Vec<Vec<(usize, usize)>>, Cut> {
        let supports = Self::supports(herd);
        let ready = |male: bool| {
            (0..herd.bodies.len()).filter(move |&i| herd.bodies[i].male == male && herd.bodies[i].wait == 0)
        };
        let (males, females): (Vec<usize>, Vec<usize>) = (ready(true).collect(), ready(false).collect());
        let each = self.told.rules.females_per_male as usize;
        let scarce = females.len() > each;
        let beaten = |male: usize| {
            males.iter().any(|&other| {
                other != male
                    && self.beats(herd, &supports, other, male)
                    && (other < male || !self.beats(herd, &supports, male, other))
            })
        };
        let options: Vec<usize> = males.iter().copied().filter(|male| scarce || !beaten(*male)).collect();
        let shopping = self.told.is_shopping(herd.left - 1, herd.sold);
        let mut found: Vec<Vec<(usize, usize)>> = vec![Vec::new()];
        for female in females {
            let mut next = Vec::new();
            for way in found {
                let mut paired = false;
                for &male in &options {
                    let served = way.iter().filter(|(other, _)| *other == male).count();
                    if served < each && (shopping || self.tells_or_gives(herd, &supports, male, female)) {
                        paired = true;
                        let mut way = way.clone();
                        way.push((male, female));
                        next.push(way);
                    }
                }
                if !paired || shopping || scarce {
                    next.push(way);
                }
            }
            found = next;
            if found.len() > MOST_WAYS {
                return Err(Cut);
            }
        }
        Ok(found)
    }

    /// Whether a pair can give the goal or a young of use, or tell something of its parents.
    fn tells_or_gives(&mut self, herd: &Herd, supports: &[Vec<Mask>], male: usize, female: usize) -> bool {
        let uncertain = |masks: &[Mask]| masks.iter().any(|mask| mask.iter().map(|m| m.count_ones()).sum::<u32>() > 1);
        if herd.left > 1 && (uncertain(&supports[male]) || uncertain(&supports[female])) {
            return true;
        }
        let classes = self.classes(&supports[male], &supports[female]);
        classes.iter().any(|class| class.is_goal || self.is_of_use(class, herd.left - 1))
    }

    /// Whether a young of this class can lead to the goal, so many seasons being left after its own.
    fn is_of_use(&self, class: &sight::Class, next: u32) -> bool {
        self.told.in_time(self.told.rules.wait(class.sex), self.crossings(&class.masks), next)
    }

    /// The mean potential of what the animals may be.
    fn potential(&mut self, herd: &Herd) -> Value {
        let mut sum = vec![0.0; herd.left as usize];
        for (kinds, weight) in self.cases(herd, MOST_CASES) {
            let codes = herd
                .bodies
                .iter()
                .zip(kinds)
                .map(|(body, kind)| told::code(if body.male { Sex::Male } else { Sex::Female }, body.wait, kind));
            let state: State = self.told.state(herd.left, herd.sold, codes.collect());
            for (sum, chance) in sum.iter_mut().zip(self.told.potential(&state).iter()) {
                *sum += weight * chance;
            }
        }
        sum.into()
    }

    /// What the animals may be, at all loci together; at most so many cases, evenly spread if there are more.
    fn cases(&self, herd: &Herd, most: usize) -> Vec<(Vec<u64>, f64)> {
        let n = herd.bodies.len();
        let mut cases: Vec<(Vec<u64>, f64)> = vec![(vec![0; n], 1.0)];
        for (locus, joint) in self.told.world.kinds.loci().iter().zip(&herd.beliefs) {
            let mut next = Vec::with_capacity(cases.len() * joint.cases().len());
            for (kinds, weight) in &cases {
                for &(case, share) in joint.cases() {
                    let grown = kinds
                        .iter()
                        .enumerate()
                        .map(|(i, kind)| kind + u64::from(joint.genotype(case, i)) * locus.stride);
                    next.push((grown.collect(), weight * share));
                }
            }
            cases = thinned(next, most);
        }
        cases
    }
}

/// The most ways to pair, choices to hold, and cases of one potential.
const MOST_WAYS: usize = 4096;
const MOST_CHOICES: usize = 50_000;
const MOST_CASES: usize = 32;

/// At most so many cases with the same sum of weights: points evenly spread over the weights decide which.
fn thinned(cases: Vec<(Vec<u64>, f64)>, most: usize) -> Vec<(Vec<u64>, f64)> {
    if cases.len() <= most {
        return cases;
    }
    let total: f64 = cases.iter().map(|(_, weight)| weight).sum();
    let step = total / f64::from(u32::try_from(most).unwrap_or(u32::MAX));
    let mut kept: Vec<(Vec<u64>, f64)> = Vec::with_capacity(most);
    let (mut sum, mut point) = (0.0, step / 2.0);
    for (kinds, weight) in cases {
        sum += weight;
        let mut own = 0.0;
        while point < sum {
            own += step;
            point += step;
        }
        if own > 0.0 {
            kept.push((kinds, own));
        }
    }
    kept
}

/// Some of the animals, in the order given.
fn picked(herd: &Herd, places: &[usize]) -> Herd {
    Herd {
        left: herd.left,
        sold: herd.sold,
        bodies: places.iter().map(|i| herd.bodies[*i]).collect(),
        beliefs: herd.beliefs.iter().map(|joint| joint.of(places)).collect(),
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a chance is within 0 and 1
fn rounded(chance: f64) -> u64 {
    // Finer than any difference that evidence makes, coarser than rounding.
    (chance * 1e10).round() as u64
}

#[expect(clippy::cast_possible_truncation)] // sizes are small
fn key(herd: &Herd) -> Vec<u64> {
    let mut key = vec![u64::from(herd.left), u64::from(herd.sold), herd.bodies.len() as u64];
    key.extend(herd.bodies.iter().map(|body| u64::from(body.wait) << 1 | u64::from(body.male)));
    for joint in &herd.beliefs {
        key.push(joint.cases().len() as u64);
        for &(case, weight) in joint.cases() {
            // Both halves of the case's number.
            key.extend([(case >> 64) as u64, (case & u128::from(u64::MAX)) as u64, rounded(weight)]);
        }
    }
    key
}
