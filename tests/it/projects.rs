//! Season's decisions against a slow twin: exact dynamic programming over everything, with nothing left out.
//!
//! The policy is asked in every state that it can reach, and its exact value is compared with the best there is.

use std::collections::HashMap;

use hatchward::engine::inheritance::clutch::{ClutchSize, Wanted};
use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, Sex, SexSystem};
use hatchward::engine::odds::odds;
use hatchward::engine::planning::project::decide::{self, Member, Objective, Project, Who};
use hatchward::engine::planning::route::Offer;
use hatchward::engine::planning::{Animal, Maturity, Tell};
use proptest::prelude::*;

/// Sex (male), copies at each locus, seasons until ready.
pub(crate) type Beast = (bool, Vec<u8>, u32);

#[derive(Debug, Clone)]
pub(crate) struct World {
    /// One copy is enough at these; two at the others.
    pub(crate) one_is_enough: Vec<bool>,
    pub(crate) eggs: u64,
    pub(crate) hatch: (i64, i64),
    pub(crate) maturity: Maturity,
    pub(crate) space: usize,
    pub(crate) females_per_male: u32,
    pub(crate) objective: Objective,
    pub(crate) offers: Vec<(Beast, i64)>,
    pub(crate) budget: i64,
    pub(crate) seasons: u32,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) struct Now {
    pub(crate) left: u32,
    pub(crate) sold: u32,
    pub(crate) here: Vec<Beast>,
}

type Outcomes = Vec<(Vec<Beast>, f64)>;

impl World {
    fn is_goal(&self, copies: &[u8]) -> bool {
        copies.iter().zip(&self.one_is_enough).all(|(n, one)| *n >= 2 - u8::from(*one))
    }

    /// All kinds of one young and their chances.
    fn one_young(&self, sire: &[u8], dam: &[u8]) -> Vec<(Beast, f64)> {
        let mut found = vec![(Vec::new(), 0.5)];
        for (a, b) in sire.iter().zip(dam) {
            let half = |n: u8| [1.0 - f64::from(n) / 2.0, f64::from(n) / 2.0];
            let (a, b) = (half(*a), half(*b));
            let here = [a[0] * b[0], a[0] * b[1] + a[1] * b[0], a[1] * b[1]];
            let mut next = Vec::new();
            for (copies, share) in &found {
                for n in 0..3u8 {
                    if here[usize::from(n)] > 0.0 {
                        let mut copies: Vec<u8> = copies.clone();
                        copies.push(n);
                        next.push((copies, share * here[usize::from(n)]));
                    }
                }
            }
            found = next;
        }
        let of_sex = |male: bool| {
            let wait = if male { self.maturity.male } else { self.maturity.female };
            found.iter().map(move |(copies, share)| ((male, copies.clone(), wait.saturating_sub(1)), *share))
        };
        of_sex(false).chain(of_sex(true)).collect()
    }

    /// All sets of young of these pairs without the goal.
    fn outcomes(&self, pairs: &[(Vec<u8>, Vec<u8>)]) -> Outcomes {
        let hatch = self.hatch.0 as f64 / self.hatch.1 as f64;
        let mut all: HashMap<Vec<Beast>, f64> = HashMap::from([(Vec::new(), 1.0)]);
        for (sire, dam) in pairs {
            let young = self.one_young(sire, dam);
            for _ in 0..self.eggs {
                let mut next: HashMap<Vec<Beast>, f64> = HashMap::new();
                for (set, chance) in &all {
                    *next.entry(set.clone()).or_default() += chance * (1.0 - hatch);
                    for (one, share) in young.iter().filter(|((_, copies, _), _)| !self.is_goal(copies)) {
                        let mut set = set.clone();
                        set.push(one.clone());
                        set.sort();
                        *next.entry(set).or_default() += chance * share * hatch;
                    }
                }
                all = next;
            }
        }
        all.into_iter().collect()
    }

    fn affords(&self, sold: u32) -> bool {
        let spent: i64 = (0..).zip(&self.offers).filter(|(i, _)| sold >> i & 1 == 1).map(|(_, (_, price))| price).sum();
        spent <= self.budget
    }

    fn on_sale(&self, i: usize, left: u32) -> Beast {
        let (male, copies, ready) = self.offers[i].0.clone();
        (male, copies, ready.saturating_sub(self.seasons - left))
    }

    /// Everyone a season older, and the young that are shown.
    fn at_hand(&self, here: &[Beast], young: &[Beast]) -> (Vec<Beast>, Vec<Beast>) {
        let older: Vec<Beast> = here.iter().map(|(m, c, wait)| (*m, c.clone(), wait.saturating_sub(1))).collect();
        let mut shown: Vec<Beast> = young.to_vec();
        let mut i = 0;
        while i < shown.len() {
            let one = &shown[i];
            let others = older.iter().chain(shown.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, other)| other));
            let better = others.filter(|other| {
                other.0 == one.0 && other.2 <= one.2 && other.1.iter().zip(&one.1).all(|(a, b)| a >= b)
            });
            if better.count() >= self.space {
                shown.remove(i);
            } else {
                i += 1;
            }
        }
        (older, shown)
    }

    /// The forecast of a pairing, with `then` for what follows.
    pub(crate) fn after(
        &self,
        now: &Now,
        sold: u32,
        here: &[Beast],
        pairs: &[(usize, usize)],
        then: &mut dyn FnMut(Vec<Beast>, Vec<Beast>, u32) -> Vec<f64>,
    ) -> Vec<f64> {
        let kinds: Vec<_> = pairs.iter().map(|(m, f)| (here[*m].1.clone(), here[*f].1.clone())).collect();
        let mut value = vec![0.0; now.left as usize];
        let mut not_yet = 0.0;
        for (young, chance) in self.outcomes(&kinds) {
            not_yet += chance;
            if now.left > 1 {
                let (older, shown) = self.at_hand(here, &young);
                for (sum, done) in value.iter_mut().skip(1).zip(then(older, shown, sold)) {
                    *sum += chance * done;
                }
            }
        }
        for sum in &mut value {
            *sum += 1.0 - not_yet;
        }
        value
    }

    pub(crate) fn score(&self, value: &[f64]) -> f64 {
        match self.objective {
            Objective::Chance => value.last().copied().unwrap_or(0.0),
            Objective::Seasons => value.iter().sum(),
        }
    }

    /// The best value of a state, everything tried.
    pub(crate) fn best(&self, now: &Now, memo: &mut HashMap<Now, Vec<f64>>) -> Vec<f64> {
        if now.left == 0 {
            return Vec::new();
        }
        if let Some(known) = memo.get(now) {
            return known.clone();
        }
        let mut best: Option<Vec<f64>> = None;
        for buy in 0..1u32 << self.offers.len() {
            let room = self.space.saturating_sub(now.here.len());
            if buy & now.sold != 0 || buy.count_ones() as usize > room || !self.affords(now.sold | buy) {
                continue;
            }
            let mut here = now.here.clone();
            here.extend((0..self.offers.len()).filter(|i| buy >> i & 1 == 1).map(|i| self.on_sale(i, now.left)));
            for pairs in self.ways(&here) {
                let value = self.after(now, now.sold | buy, &here, &pairs, &mut |older, shown, sold| {
                    let mut best: Option<Vec<f64>> = None;
                    let all: Vec<Beast> = older.into_iter().chain(shown).collect();
                    for held in self.holdings(&all) {
                        let value = self.best(&Now { left: now.left - 1, sold, here: held }, memo);
                        if best.as_ref().is_none_or(|known| self.score(&value) > self.score(known)) {
                            best = Some(value);
                        }
                    }
                    best.unwrap()
                });
                if best.as_ref().is_none_or(|known| self.score(&value) > self.score(known)) {
                    best = Some(value);
                }
            }
        }
        let best = best.unwrap();
        memo.insert(now.clone(), best.clone());
        best
    }

    fn holdings(&self, all: &[Beast]) -> Vec<Vec<Beast>> {
        if all.len() <= self.space {
            let mut all = all.to_vec();
            all.sort();
            return vec![all];
        }
        let sets = (0..1u32 << all.len()).filter(|set| set.count_ones() as usize <= self.space);
        let mut found: Vec<Vec<Beast>> = sets
            .map(|set| {
                let mut held: Vec<_> = (0..all.len()).filter(|i| set >> i & 1 == 1).map(|i| all[i].clone()).collect();
                held.sort();
                held
            })
            .collect();
        found.sort();
        found.dedup();
        found
    }

    fn ways(&self, here: &[Beast]) -> Vec<Vec<(usize, usize)>> {
        let ready = |male: bool| (0..here.len()).filter(move |&i| here[i].0 == male && here[i].2 == 0);
        let mut found: Vec<Vec<(usize, usize)>> = vec![Vec::new()];
        for female in ready(false) {
            let mut next = found.clone();
            for way in &found {
                for male in ready(true) {
                    let served = way.iter().filter(|(m, _)| *m == male).count();
                    if served < self.females_per_male as usize {
                        let mut way = way.clone();
                        way.push((male, female));
                        next.push(way);
                    }
                }
            }
            found = next;
        }
        found
    }

    // The same as a request.

    pub(crate) fn genetics(&self) -> Genetics {
        let mode = |one: &bool| Locus::trade(&[if *one { Mode::IncompleteDominant } else { Mode::Recessive }]);
        Genetics::new(self.one_is_enough.iter().map(mode).collect(), Some(SexSystem::Xy)).unwrap()
    }

    pub(crate) fn project<'a>(&self, genetics: &'a Genetics, left: u32, sold: u32, here: &[Beast]) -> Project<'a> {
        let pair = |n: u8| Genotype::pair(AlleleId(u8::from(n == 2)), AlleleId(u8::from(n > 0)));
        let animal = |(male, copies, wait): &Beast| Animal {
            genome: (0..).map(LocusId).zip(copies.iter().map(|n| Belief::sure(pair(*n)))).collect::<Genome>(),
            sex: if *male { Sex::Male } else { Sex::Female },
            ready: *wait,
        };
        let spent: i64 = (0..).zip(&self.offers).filter(|(i, _)| sold >> i & 1 == 1).map(|(_, (_, price))| price).sum();
        let goal = (0..).map(LocusId).zip(&self.one_is_enough).fold(Wanted::any(), |goal, (id, one)| {
            goal.with(id, if *one { vec![pair(1), pair(2)] } else { vec![pair(2)] })
        });
        Project {
            genetics,
            tell: Tell::Genotype,
            animals: here
                .iter()
                .map(|beast| Member { animal: animal(beast), sire: None, dam: None, look: Vec::new(), gone: false })
                .collect(),
            clutches: Vec::new(),
            offers: self
                .unsold(sold)
                .map(|i| Offer { animal: animal(&self.on_sale(i, left)), price: odds(self.offers[i].1, 1) })
                .collect(),
            budget: Some(odds(self.budget - spent, 1)),
            goal,
            seasons: left,
            maturity: self.maturity,
            clutch: ClutchSize::Eggs { eggs: self.eggs, hatch: odds(self.hatch.0, self.hatch.1), take: odds(1, 1) },
            females_per_male: self.females_per_male,
            space: self.space,
            objective: self.objective,
        }
    }

    fn unsold(&self, sold: u32) -> impl Iterator<Item = usize> {
        (0..self.offers.len()).filter(move |i| sold >> i & 1 == 0)
    }

    /// The value of the policy that is asked in every state.
    fn of_policy(&self, now: &Now, memo: &mut HashMap<Now, Vec<f64>>) -> Vec<f64> {
        if now.left == 0 {
            return Vec::new();
        }
        if let Some(known) = memo.get(now) {
            return known.clone();
        }
        let genetics = self.genetics();
        let decision = decide::season(&self.project(&genetics, now.left, now.sold, &now.here), &mut || 1.0).unwrap();
        let unsold: Vec<usize> = self.unsold(now.sold).collect();
        let mut here = now.here.clone();
        let mut sold = now.sold;
        for i in &decision.buy {
            here.push(self.on_sale(unsold[*i], now.left));
            sold |= 1 << unsold[*i];
        }
        assert!(self.affords(sold) && (decision.buy.is_empty() || here.len() <= self.space));
        let at = |who: Who| match who {
            Who::Animal(i) => i,
            Who::Offer(i) => now.here.len() + decision.buy.iter().position(|b| *b == i).unwrap(),
        };
        let pairs: Vec<(usize, usize)> = decision.pairs.iter().map(|(m, f)| (at(*m), at(*f))).collect();
        for (i, (male, female)) in pairs.iter().enumerate() {
            assert!(here[*male].0 && !here[*female].0 && here[*male].2 == 0 && here[*female].2 == 0);
            assert!(pairs.iter().skip(i + 1).all(|(_, other)| other != female));
            let served = pairs.iter().filter(|(other, _)| other == male).count();
            assert!(served <= self.females_per_male as usize);
        }
        let value = self.after(now, sold, &here, &pairs, &mut |older, shown, sold| {
            let mut all: Vec<Beast> = older.into_iter().chain(shown).collect();
            if all.len() > self.space {
                let project = self.project(&genetics, now.left - 1, sold, &all);
                let held = decide::hold(&project, &mut || 1.0).unwrap();
                assert!(held.len() <= self.space);
                all = held.into_iter().map(|i| all[i].clone()).collect();
            }
            all.sort();
            self.of_policy(&Now { left: now.left - 1, sold, here: all }, memo)
        });
        memo.insert(now.clone(), value.clone());
        value
    }

    #[track_caller]
    fn check(&self, here: Vec<Beast>) {
        let now = Now { left: self.seasons, sold: 0, here };
        let best = self.best(&now, &mut HashMap::new());
        let found = self.of_policy(&now, &mut HashMap::new());
        assert!(
            (self.score(&best) - self.score(&found)).abs() < 1e-9,
            "{found:?} instead of {best:?}\n{self:?}\n{now:?}"
        );
        let genetics = self.genetics();
        let decision = decide::season(&self.project(&genetics, now.left, 0, &now.here), &mut || 1.0).unwrap();
        for (told, value) in decision.by_season.iter().zip(&found) {
            assert!((told - value).abs() < 1e-9, "{:?} instead of {found:?}", decision.by_season);
        }
    }
}

fn any_beast(n_loci: usize) -> impl Strategy<Value = Beast> {
    // Mostly carriers: from clear animals nothing comes.
    let copies = prop_oneof![1 => Just(0u8), 3 => Just(1), 1 => Just(2)];
    (any::<bool>(), prop::collection::vec(copies, n_loci), 0u32..2)
}

pub(crate) fn any_world(n_loci: usize, eggs: u64, seasons: u32) -> impl Strategy<Value = (World, Vec<Beast>)> {
    (
        prop::collection::vec(prop::bool::weighted(0.3), n_loci),
        (1..=eggs, prop::sample::select(vec![(1i64, 1i64), (1, 2)])),
        (1u32..4, 1u32..3),
        (2usize..4, 1u32..3),
        prop::bool::weighted(0.3),
        prop::collection::vec((any_beast(n_loci), 1i64..3), 0..3),
        (0i64..4, 2..=seasons),
        prop::collection::vec(any_beast(n_loci), 1..4),
    )
        .prop_map(
            move |(
                one_is_enough,
                (eggs, hatch),
                (female, male),
                (space, per),
                quick,
                offers,
                (budget, seasons),
                mut here,
            )| {
                here.truncate(space);
                // One of each sex at least, where there are two.
                if let [first, second, ..] = here.as_mut_slice() {
                    (first.0, second.0) = (true, false);
                }
                let objective = if quick { Objective::Seasons } else { Objective::Chance };
                let maturity = Maturity { female, male };
                let females_per_male = per;
                (
                    World {
                        one_is_enough,
                        eggs,
                        hatch,
                        maturity,
                        space,
                        females_per_male,
                        objective,
                        offers,
                        budget,
                        seasons,
                    },
                    here,
                )
            },
        )
        .prop_filter("the goal is not there yet", |(world, here)| !here.iter().any(|(_, c, _)| world.is_goal(c)))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(crate::cases(60)))]

    #[test]
    fn the_best_value_with_one_gene((world, here) in any_world(1, 2, 4)) {
        world.check(here);
    }

    #[test]
    fn the_best_value_with_two_genes((world, here) in any_world(2, 1, 4)) {
        world.check(here);
    }
}
