//! What a season's clutches bring: sets of young of use, with their chances.

use std::rc::Rc;

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use rustc_hash::FxHashMap;

use super::super::draws::{SEED, pick, unit};
use super::super::world::Litter;
use super::{Care, Code, Cut, Told, code, kind};

/// The most different outcomes of a season; beyond, exactness is given up.
const MOST_OUTCOMES: usize = 200_000;
/// Beyond so many sets of young of one clutch they are drawn, where that is allowed.
const MOST_SETS: usize = 2_000;
/// Draws of one clutch, for each draw of a season.
const DRAWS_OF_CLUTCH: usize = 4;

/// The young of use of one clutch in which none is the goal: sorted, how many of no use, the chance.
pub(super) type Outcome = (Vec<Code>, usize, f64);

/// What one clutch can bring.
#[derive(Debug)]
pub(super) struct Clutch {
    pub(super) outcomes: Vec<Outcome>,
    /// The chance that it holds the goal.
    pub(super) goal: f64,
}

type Sets = FxHashMap<(Vec<Code>, usize), f64>;

impl Told<'_> {
    /// A clutch of these two kinds; `next` are the seasons left after this one.
    pub(super) fn clutch(&mut self, sire: u64, dam: u64, next: u32, shopping: bool) -> Result<Rc<Clutch>, Cut> {
        if let Some(known) = self.clutches.get(&(sire, dam, next, shopping)) {
            return Ok(Rc::clone(known));
        }
        let litter = self.litter(sire, dam);
        let mut of_use: Vec<(Code, f64)> = Vec::new();
        let mut of_no_use = 0.0;
        for young in &litter.young {
            let animal = code(young.sex, self.rules.wait(young.sex), young.code);
            if shopping && self.reach.care == Care::Full || self.is_in_time(animal, next) {
                of_use.push((animal, young.share));
            } else {
                of_no_use += young.share;
            }
        }
        let lost = 1.0 - litter.goal - of_no_use - of_use.iter().map(|(_, share)| share).sum::<f64>();
        let all = match self.all_sets(&of_use, of_no_use, lost, next, shopping)? {
            Some(all) => all,
            None => self.drawn_sets(&litter, &of_use, of_no_use, next, shopping),
        };
        let outcomes = in_order(all);
        let clutch = Rc::new(Clutch { outcomes, goal: self.world.some(litter.goal).max(0.0) });
        self.clutches.insert((sire, dam, next, shopping), Rc::clone(&clutch));
        Ok(clutch)
    }

    /// All sets of young without the goal, egg by egg; `None` if they are too many and may be drawn.
    fn all_sets(
        &mut self,
        of_use: &[(Code, f64)],
        of_no_use: f64,
        lost: f64,
        next: u32,
        shopping: bool,
    ) -> Result<Option<Sets>, Cut> {
        let mut now = Sets::from_iter([((Vec::new(), 0), 1.0)]);
        let mut all = Sets::default();
        let hatchlings = self.world.hatchlings.clone();
        for (n, chance) in hatchlings.iter().enumerate() {
            if n > 0 {
                let mut next_sets = Sets::default();
                for ((set, others), so_far) in &now {
                    let mut add = |set: Vec<Code>, others: usize, share: f64| {
                        if share > 0.0 {
                            *next_sets.entry((set, others)).or_insert(0.0) += so_far * share;
                        }
                    };
                    add(set.clone(), *others, lost.max(0.0));
                    add(set.clone(), self.counted(*others + 1, shopping), of_no_use);
                    for (animal, share) in of_use {
                        let mut grown = set.clone();
                        grown.insert(grown.partition_point(|known| known <= animal), *animal);
                        let before = grown.len();
                        self.pass_over(&mut grown, next, shopping);
                        let dropped = before - grown.len();
                        add(grown, self.counted(*others + dropped, shopping), *share);
                    }
                }
                now = next_sets;
                self.worked(now.len() as u64)?;
                if now.len() > MOST_SETS && self.reach.draws > 0 {
                    return Ok(None);
                }
                if now.len() > MOST_OUTCOMES {
                    return Err(Cut);
                }
            }
            if *chance > 0.0 {
                for (set, so_far) in &now {
                    *all.entry(set.clone()).or_insert(0.0) += chance * so_far;
                }
            }
        }
        Ok(Some(all))
    }

    /// Drawn sets of young without the goal.
    fn drawn_sets(&self, litter: &Litter, of_use: &[(Code, f64)], of_no_use: f64, next: u32, shopping: bool) -> Sets {
        let mut random = Xoshiro256PlusPlus::seed_from_u64(SEED);
        let not_goal = 1.0 - litter.goal;
        // The chance of each number of hatchlings together with none of them being the goal.
        let mut power = 1.0;
        let numbers = self.world.hatchlings.iter().map(|chance| {
            let both = chance * power;
            power *= not_goal;
            both
        });
        let numbers: Vec<f64> = numbers.collect();
        let in_all: f64 = numbers.iter().sum();
        let draws = self.reach.draws * DRAWS_OF_CLUTCH;
        let each = in_all / count(draws);
        let mut all = Sets::default();
        for _ in 0..draws {
            let n = pick(numbers.iter().copied(), unit(&mut random) * in_all).unwrap_or(0);
            let (mut set, mut others) = (Vec::new(), 0);
            for _ in 0..n {
                let draw = unit(&mut random) * not_goal;
                if let Some(i) = pick(of_use.iter().map(|(_, share)| *share), draw) {
                    set.push(of_use[i].0);
                } else if draw < not_goal - of_no_use {
                    // lost
                } else {
                    others += 1;
                }
            }
            set.sort_unstable();
            let before = set.len();
            self.pass_over(&mut set, next, shopping);
            let others = self.counted(others + before - set.len(), shopping);
            *all.entry((set, others)).or_insert(0.0) += each;
        }
        all
    }

    /// More than the space is as good as one more than the space: then anybody can be let go.
    fn counted(&self, n: usize, shopping: bool) -> usize {
        if shopping && self.reach.care == Care::Tubs { n.min(self.rules.space + 1) } else { 0 }
    }

    /// Lets go of young that nobody has to be asked about.
    fn pass_over(&self, young: &mut Vec<Code>, next: u32, shopping: bool) {
        if shopping && self.reach.care == Care::Full {
            self.let_go(young, 0);
        } else {
            self.reduce(young, next);
        }
    }

    /// Lets go of young (those from `first_young` on) that at least as many others as there are tubs equal or beat.
    fn let_go(&self, animals: &mut Vec<Code>, first_young: usize) {
        let mut i = first_young;
        while i < animals.len() {
            let others = animals.iter().enumerate();
            let better = others.filter(|&(j, &other)| j != i && self.beats(other, animals[i]));
            if better.count() >= self.rules.space {
                animals.remove(i);
            } else {
                i += 1;
            }
        }
    }

    /// What all these pairs bring together, beside the older animals; what is missing to 1 is the chance of the goal.
    pub(super) fn outcomes(
        &mut self,
        pairs: &[(Code, Code)],
        older: &[Code],
        next: u32,
        shopping: bool,
    ) -> Result<Vec<Outcome>, Cut> {
        let mut all = Sets::from_iter([((Vec::new(), 0), 1.0)]);
        if next == 0 {
            // Nobody is kept: only whether the goal came counts.
            let mut not_yet = 1.0;
            for (male, female) in pairs {
                not_yet *= 1.0 - self.world.some(self.litter(kind(*male), kind(*female)).goal);
            }
            return Ok(vec![(Vec::new(), 0, not_yet)]);
        }
        let mut clutches = Vec::with_capacity(pairs.len());
        for (male, female) in pairs {
            clutches.push(self.clutch(kind(*male), kind(*female), next, shopping)?);
        }
        let in_all = clutches.iter().map(|clutch| clutch.outcomes.len()).fold(1usize, usize::saturating_mul);
        let draws = self.reach.draws;
        if draws > 0 && in_all > draws.saturating_mul(DRAWS_OF_CLUTCH) {
            return Ok(self.drawn(&clutches, older, next, shopping));
        }
        for clutch in clutches {
            let mut joined = Sets::default();
            for ((set, others), so_far) in &all {
                for (young, of_no_use, chance) in &clutch.outcomes {
                    let kept = self.shown(older, set, young, next, shopping);
                    let dropped = set.len() + young.len() - kept.len();
                    let others = self.counted(others + of_no_use + dropped, shopping);
                    *joined.entry((kept, others)).or_insert(0.0) += so_far * chance;
                }
            }
            self.worked((all.len() * clutch.outcomes.len()) as u64)?;
            if joined.len() > MOST_OUTCOMES {
                return Err(Cut);
            }
            all = joined;
        }
        Ok(in_order(all))
    }

    /// Drawn outcomes of several clutches.
    fn drawn(&self, clutches: &[Rc<Clutch>], older: &[Code], next: u32, shopping: bool) -> Vec<Outcome> {
        let mut random = Xoshiro256PlusPlus::seed_from_u64(SEED);
        let not_yet: f64 = clutches.iter().map(|clutch| 1.0 - clutch.goal).product();
        let each = not_yet / count(self.reach.draws);
        let mut all = Sets::default();
        for _ in 0..self.reach.draws {
            let (mut set, mut others) = (Vec::new(), 0);
            for clutch in clutches {
                let draw = unit(&mut random) * (1.0 - clutch.goal);
                let picked = pick(clutch.outcomes.iter().map(|(_, _, chance)| *chance), draw);
                if let Some((young, of_no_use, _)) = picked.and_then(|i| clutch.outcomes.get(i)) {
                    set.extend(young);
                    others += of_no_use;
                }
            }
            let kept = self.shown(older, &set, &[], next, shopping);
            let others = self.counted(others + set.len() - kept.len(), shopping);
            *all.entry((kept, others)).or_insert(0.0) += each;
        }
        in_order(all)
    }
}

/// In one order, so that sums of rounded numbers are the same in every run.
fn in_order(sets: Sets) -> Vec<Outcome> {
    let mut outcomes: Vec<Outcome> = sets.into_iter().map(|((set, others), chance)| (set, others, chance)).collect();
    outcomes.sort_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
    outcomes
}

fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

impl Told<'_> {
    /// The young of two sets that are worth a decision, beside the older animals.
    fn shown(&self, older: &[Code], some: &[Code], more: &[Code], next: u32, shopping: bool) -> Vec<Code> {
        let mut all: Vec<Code> = older.iter().chain(some).chain(more).copied().collect();
        if shopping && self.reach.care == Care::Full {
            self.let_go(&mut all, older.len());
            let mut young = all.split_off(older.len());
            young.sort_unstable();
            return young;
        }
        all.sort_unstable();
        self.reduce(&mut all, next);
        // Older ones that young beat are gone from `all` too, but stand in `older` and are dropped where both come
        // together.
        without(&all, older)
    }
}

/// The first list without the second, both sorted.
fn without(all: &[Code], some: &[Code]) -> Vec<Code> {
    let mut some = some.iter().peekable();
    let mut left = Vec::with_capacity(all.len());
    for code in all {
        while some.peek().is_some_and(|other| *other < code) {
            some.next();
        }
        if some.peek() == Some(&code) {
            some.next();
        } else {
            left.push(*code);
        }
    }
    left
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::inheritance::locus::Sex;

    #[test]
    fn lists_without_lists() {
        assert_eq!(without(&[1, 2, 2, 5], &[2, 3]), [1, 2, 5]);
        assert_eq!(without(&[1], &[]), [1]);
    }

    #[test]
    fn codes_sort_by_sex_and_wait() {
        assert!(code(Sex::Female, 3, 1) > code(Sex::Female, 2, 5));
        assert!(code(Sex::Male, 0, 0) > code(Sex::Female, 9, 9));
    }
}
