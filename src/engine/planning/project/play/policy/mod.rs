//! Whom to pair this season and whom to hold after it, by hope one season on. What was decided for a herd is kept.

mod rungs; // what is hoped for where kinds are many
mod taken; // what a herd is taken for

use std::sync::Arc;

use rustc_hash::FxHashMap;

use super::super::super::{Maturity, Tell};
use super::super::hope::Hoping;
use super::super::lines::{Line, Lines};
use super::super::merit::Merit;
use super::super::world::World;
use super::guise::{GuiseId, Guises};
use super::{Kinship, Played};
use crate::engine::inheritance::locus::Sex;
use taken::{Brings, Case, Drawn, Taken};

/// An animal as the policy sees it: guise, sex, seasons until it can be paired, and its line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Class {
    pub(super) male: bool,
    pub(super) ready: u8,
    pub(super) guise: GuiseId,
    pub(super) line: Line,
}

impl Class {
    pub(super) fn sex(self) -> Sex {
        if self.male { Sex::Male } else { Sex::Female }
    }
}

/// Males that are held of which one is as good as the other: a second one stands in for the first.
const MALES_ALIKE: usize = 2;
/// Males that are tried for a female, the most hopeful first.
const MALES_TRIED: usize = 3;
/// Differences of hopes below this are rounding.
const SAME: f64 = 1e-9;
/// Rooms in which one animal at a time is let go: two that stand in for each other must not go together.
const SMALL: usize = 10;
/// Up to so many ways to pair are all looked at.
const MOST_WAYS: usize = 36;

/// The pairs of a season, male and female.
pub(super) type Pairs = Arc<[(Class, Class)]>;

/// What holds in every season.
pub(super) struct Rules<'a> {
    world: &'a World,
    merit: &'a Merit,
    maturity: Maturity,
    females_per_male: u32,
    clutches: usize,
    space: usize,
    females_alike: usize,
    tell: Tell,
    rungs: Option<Arc<[(Sex, u64)]>>,
    /// Herds seldom come again: there are many kinds, or lines to tell apart.
    few_are_alike: bool,
}

impl<'a> Rules<'a> {
    pub(super) fn new(world: &'a World, merit: &'a Merit, project: &Played<'_>) -> Rules<'a> {
        let rungs = rungs::rungs(world, merit, &project.on_the_way, project.kinship.is_some());
        Rules {
            few_are_alike: rungs.is_some() || project.kinship.is_some(),
            world,
            merit,
            maturity: project.maturity,
            females_per_male: project.females_per_male,
            clutches: project.clutches.map_or(usize::MAX, |n| n as usize),
            space: project.space,
            females_alike: project.females_alike.max(1),
            tell: project.tell,
            rungs,
        }
    }
}

/// A question: the herd, sorted, and the seasons left.
pub(super) type Question = (u32, Box<[Class]>);

/// What remains of earlier thoughts. Minds think side by side and come to the same.
pub(super) struct Mind<'a> {
    hoping: Hoping<'a>,
    brings: FxHashMap<(Taken, Taken), Arc<Brings>>,
    better: FxHashMap<(GuiseId, GuiseId), bool>,
    cases: FxHashMap<Case, f64>,
}

impl<'a> Mind<'a> {
    pub(super) fn new(rules: &Rules<'a>, kinship: Option<&'a Kinship>) -> Mind<'a> {
        Mind {
            hoping: Hoping::new(rules.world, rules.merit, rules.maturity, rules.females_per_male, rules.tell)
                .within(rules.rungs.clone(), Lines::new(kinship)),
            brings: FxHashMap::default(),
            better: FxHashMap::default(),
            cases: FxHashMap::default(),
        }
    }

    /// All lines that have been met.
    pub(super) fn lines(&mut self) -> &mut Lines<'a> {
        &mut self.hoping.lines
    }
}

/// Decides for one herd.
pub(super) struct Policy<'m, 'a> {
    pub(super) rules: &'m Rules<'a>,
    pub(super) guises: &'m Guises<'a>,
    pub(super) mind: &'m mut Mind<'a>,
}

impl Policy<'_, '_> {
    /// The pairs of a season.
    pub(super) fn pairs(&mut self, (left, herd): &Question) -> Pairs {
        self.choose(herd, *left).into()
    }

    fn choose(&mut self, herd: &[Class], left: u32) -> Vec<(Class, Class)> {
        let drawn = &self.drawn(herd);
        let females: Vec<Class> = herd.iter().copied().filter(|c| !c.male && c.ready == 0).collect();
        let mut males: Vec<(Class, usize)> = Vec::new();
        for male in herd.iter().filter(|c| c.male && c.ready == 0) {
            match males.iter_mut().find(|(known, _)| known == male) {
                Some(known) => known.1 += self.rules.females_per_male as usize,
                None => males.push((*male, self.rules.females_per_male as usize)),
            }
        }
        self.without_worse(&mut males, &females);
        let nobody = self.worth(drawn, left, &[]);
        let ways = (males.len() + 1).checked_pow(u32::try_from(females.len()).unwrap_or(u32::MAX));
        if females.len() <= self.rules.clutches && ways.is_some_and(|n| n <= MOST_WAYS) {
            return self.best_way(drawn, left, &females, &males, nobody);
        }
        // Females in the order of what the best mate is worth to each.
        let mut order: Vec<(f64, Class, Vec<Class>)> = Vec::new();
        for female in &females {
            if let Some((gain, _, mates)) = order.iter().find(|(_, known, _)| known == female) {
                order.push((*gain, *female, mates.clone()));
                continue;
            }
            let mut mates: Vec<(f64, Class)> = Vec::new();
            for (male, _) in &males {
                if !self.may_pair(*male, *female) {
                    continue;
                }
                let gain = self.worth(drawn, left, &[(*male, *female)]) - nobody;
                if gain > SAME {
                    mates.push((gain, *male));
                }
            }
            mates.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            let gain = mates.first().map_or(0.0, |(gain, _)| *gain);
            order.push((gain, *female, mates.into_iter().map(|(_, male)| male).collect()));
        }
        order.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let (mut made, mut so_far) = (Vec::new(), nobody);
        for (_, female, mates) in order {
            if made.len() >= self.rules.clutches {
                break;
            }
            let mut best: Option<(f64, Class)> = None;
            let free = |male: &&Class| males.iter().any(|(known, n)| known == *male && *n > 0);
            for male in mates.iter().filter(free).take(MALES_TRIED) {
                made.push((*male, female));
                let worth = self.worth(drawn, left, &made);
                made.pop();
                if worth > so_far + SAME && best.is_none_or(|(known, _)| worth > known + SAME) {
                    best = Some((worth, *male));
                }
            }
            if let Some((worth, male)) = best {
                made.push((male, female));
                so_far = worth;
                if let Some(known) = males.iter_mut().find(|(known, _)| *known == male) {
                    known.1 -= 1;
                }
            }
        }
        made
    }

    /// The best of all ways to pair these females.
    fn best_way(
        &mut self,
        drawn: &Drawn<'_>,
        left: u32,
        females: &[Class],
        males: &[(Class, usize)],
        nobody: f64,
    ) -> Vec<(Class, Class)> {
        let (mut best, mut most) = (Vec::new(), nobody + SAME);
        let mut way = vec![0; females.len()];
        loop {
            let served = |i: usize| way.iter().filter(|mate| **mate == i + 1).count();
            // Females that are alike are told apart by nothing: only ways in order are looked at.
            let in_order = (1..way.len()).all(|i| females[i] != females[i - 1] || way[i - 1] <= way[i]);
            if in_order && (0..males.len()).all(|i| served(i) <= males[i].1) {
                let mates = way.iter().zip(females).filter(|(mate, _)| **mate > 0);
                let pairs: Vec<(Class, Class)> = mates.map(|(mate, female)| (males[mate - 1].0, *female)).collect();
                let allowed = pairs.iter().all(|(male, female)| self.may_pair(*male, *female));
                let worth = self.worth(drawn, left, &pairs);
                if allowed && worth > most + SAME {
                    (best, most) = (pairs, worth);
                }
            }
            let Some(next) = way.iter().position(|mate| *mate < males.len()) else { return best };
            way[next] += 1;
            way[..next].fill(0);
        }
    }

    /// Leaves out males that another stands in for.
    fn without_worse(&mut self, males: &mut Vec<(Class, usize)>, females: &[Class]) {
        let all = males.clone();
        males.retain(|(male, _)| {
            !all.iter().any(|other| {
                let serves = *male != other.0 && other.1 >= females.len();
                let stands_in = serves && self.stands_in(other.0.guise, male.guise);
                let is_better = stands_in && (!self.stands_in(male.guise, other.0.guise) || other.0 < *male);
                is_better && females.iter().all(|f| self.may_pair(other.0, *f) || !self.may_pair(*male, *f))
            })
        });
    }

    /// Whether two are not too closely related.
    fn may_pair(&mut self, male: Class, female: Class) -> bool {
        self.mind.lines().may_pair(male.line, female.line)
    }

    /// Whether an animal of the first guise is at least as good as one of the second.
    fn stands_in(&mut self, first: GuiseId, second: GuiseId) -> bool {
        let (guises, merit) = (self.guises, self.rules.merit);
        *self.mind.better.entry((first, second)).or_insert_with(|| guises.stands_in(merit, first, second))
    }

    /// The hope after a season with these pairs: the chances to be done by each season, added up.
    fn worth(&mut self, drawn: &Drawn<'_>, left: u32, pairs: &[(Class, Class)]) -> f64 {
        let mates = mates(drawn.herd, pairs, self.rules.females_per_male);
        drawn.cases.iter().map(|(chance, kinds)| chance * self.hope_of(drawn.herd, kinds, left, Some(&mates))).sum()
    }

    /// Whom to hold of these; `left` seasons are left from the coming one on, and `ready` counts from it.
    pub(super) fn hold(&mut self, (left, herd): &Question) -> Arc<[Class]> {
        let mut held: Vec<Class> = Vec::with_capacity(herd.len());
        for class in herd {
            if !self.is_of_use(*class, *left) {
                continue;
            }
            let alike = if class.male { MALES_ALIKE } else { self.rules.females_alike };
            // Ready ones stand first: of two alike the elder stays.
            let (mut before, mut better) = (0, 0);
            for other in &held {
                before += usize::from(self.is_as_good(*other, *class));
            }
            for other in herd {
                better += usize::from(self.is_as_good(*other, *class) && !self.stands_in(class.guise, other.guise));
            }
            if before < alike && better < alike {
                held.push(*class);
            }
        }
        while held.len() > self.rules.space {
            let too_many = held.len() - self.rules.space;
            let mut least = self.without_each(&held, *left);
            // One of a kind at a time: the next of it is worth more once the first is gone. Where few herds are alike, thoughts
            // are dear, and the first one decides.
            least.truncate(match held.len() {
                ..=SMALL => 1,
                _ if self.rules.few_are_alike => too_many,
                _ => too_many.div_ceil(2),
            });
            least.sort_unstable_by_key(|(_, place)| std::cmp::Reverse(*place));
            for (_, place) in least {
                held.remove(place);
            }
        }
        held.into()
    }

    fn is_as_good(&mut self, other: Class, class: Class) -> bool {
        let alike = other.male == class.male && other.line == class.line;
        alike && other.ready <= class.ready && self.stands_in(other.guise, class.guise)
    }

    /// The hope without each, and its place; those first without whom most is left, and of equals the younger.
    fn without_each(&mut self, held: &[Class], left: u32) -> Vec<(f64, usize)> {
        let drawn = self.drawn(held);
        let mut hopes = Vec::with_capacity(held.len());
        for i in 0..held.len() {
            if i + 1 < held.len() && held[i] == held[i + 1] {
                continue;
            }
            let herd = [&held[..i], &held[i + 1..]].concat();
            let mut hope = 0.0;
            for (chance, taken) in &drawn.cases {
                hope += chance * self.hope_of(&herd, &[&taken[..i], &taken[i + 1..]].concat(), left, None);
            }
            hopes.push((hope, i));
        }
        hopes.sort_by(|a, b| b.0.total_cmp(&a.0).then(b.1.cmp(&a.1)));
        hopes
    }

    fn is_of_use(&self, class: Class, left: u32) -> bool {
        self.leads_on(Taken::Guise(class.guise), class.ready, left)
    }
}

/// Who of a herd these pairs are, by their places: a female goes to one male, and one male serves no more than he can.
pub(super) fn mates(herd: &[Class], pairs: &[(Class, Class)], females_per_male: u32) -> Vec<(usize, usize)> {
    let mut used = vec![0; herd.len()];
    let mut take = |class: &Class| {
        let most = if class.male { females_per_male } else { 1 };
        let found = (0..herd.len()).find(|i| herd[*i] == *class && used[*i] < most)?;
        used[found] += 1;
        Some(found)
    };
    pairs.iter().filter_map(|(male, female)| Some((take(male)?, take(female)?))).collect()
}
