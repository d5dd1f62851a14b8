//! What a season's clutches bring: sets of young of use, with their chances.

use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::{Code, Cut, Told, code, kind};

/// The most different outcomes of a season; beyond, exactness is given up.
const MOST_OUTCOMES: usize = 200_000;

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
    /// A clutch of these two kinds; `next` are the seasons left after this one, `counted` says whether the young of no
    /// use are counted.
    pub(super) fn clutch(&mut self, sire: u64, dam: u64, next: u32, counted: bool) -> Result<Rc<Clutch>, Cut> {
        if let Some(known) = self.clutches.get(&(sire, dam, next, counted)) {
            return Ok(Rc::clone(known));
        }
        let litter = self.litter(sire, dam);
        let mut of_use: Vec<(Code, f64)> = Vec::new();
        let mut of_no_use = 0.0;
        for young in &litter.young {
            let animal = code(young.sex, self.rules.wait(young.sex), young.code);
            if self.is_in_time(animal, next) {
                of_use.push((animal, young.share));
            } else {
                of_no_use += young.share;
            }
        }
        let lost = 1.0 - litter.goal - of_no_use - of_use.iter().map(|(_, share)| share).sum::<f64>();
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
                    add(set.clone(), self.counted(*others + 1, counted), of_no_use);
                    for (animal, share) in &of_use {
                        let mut grown = set.clone();
                        grown.insert(grown.partition_point(|known| known <= animal), *animal);
                        let dropped = self.reduce(&mut grown, next);
                        add(grown, self.counted(*others + dropped, counted), *share);
                    }
                }
                now = next_sets;
                self.worked(now.len() as u64)?;
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
        let mut outcomes: Vec<Outcome> = all.into_iter().map(|((set, others), chance)| (set, others, chance)).collect();
        outcomes.sort_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
        let goal = 1.0 - outcomes.iter().map(|(_, _, chance)| chance).sum::<f64>();
        let clutch = Rc::new(Clutch { outcomes, goal: goal.max(0.0) });
        self.clutches.insert((sire, dam, next, counted), Rc::clone(&clutch));
        Ok(clutch)
    }

    /// More than the space is as good as one more than the space: then anybody can be let go.
    fn counted(&self, n: usize, counted: bool) -> usize {
        if counted { n.min(self.rules.space + 1) } else { 0 }
    }

    /// What all these pairs bring together, beside the older animals; what is missing to 1 is the chance of the goal.
    pub(super) fn outcomes(
        &mut self,
        pairs: &[(Code, Code)],
        older: &[Code],
        next: u32,
        counted: bool,
    ) -> Result<Vec<Outcome>, Cut> {
        let mut all = Sets::from_iter([((Vec::new(), 0), 1.0)]);
        for (male, female) in pairs {
            let clutch = self.clutch(kind(*male), kind(*female), next, counted)?;
            if next == 0 {
                // Nobody is kept: only whether the goal came counts.
                all.values_mut().for_each(|chance| *chance *= 1.0 - clutch.goal);
                continue;
            }
            let mut joined = Sets::default();
            for ((set, others), so_far) in &all {
                for (young, of_no_use, chance) in &clutch.outcomes {
                    let mut both: Vec<Code> = older.iter().chain(set).chain(young).copied().collect();
                    both.sort_unstable();
                    self.reduce(&mut both, next);
                    // Young that enough others beat are gone. Older ones that young beat are gone from `both` too,
                    // but stand in `older` and are dropped where both come together.
                    let kept = without(&both, older);
                    let dropped = set.len() + young.len() - kept.len();
                    let others = self.counted(others + of_no_use + dropped, counted);
                    *joined.entry((kept, others)).or_insert(0.0) += so_far * chance;
                }
            }
            self.worked((all.len() * clutch.outcomes.len()) as u64)?;
            if joined.len() > MOST_OUTCOMES {
                return Err(Cut);
            }
            all = joined;
        }
        let mut outcomes: Vec<Outcome> = all.into_iter().map(|((set, others), chance)| (set, others, chance)).collect();
        // In one order, so that sums of rounded numbers are the same in every run.
        outcomes.sort_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
        Ok(outcomes)
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
