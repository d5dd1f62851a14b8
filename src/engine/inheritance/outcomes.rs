//! Outcomes: the factors of a cross multiplied out lazily, most likely first, by genotype or by look.
//!
//! In: [`Offspring`]. Out: iterators whose memory grows with what was taken, not with what there is.
//! Invariant: falling order, compared exactly; all outcomes and the lost eggs sum to exactly 1.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use num_bigint::BigUint;

use super::cross::{Factor, Offspring};
use super::genotype::Genotype;
use super::locus::{LocusId, Look, Sex};
use crate::engine::odds::{self, Odds};

/// One kind of live young.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// Its sex, if a sex-linked locus is in play.
    pub sex: Option<Sex>,
    /// Its genotype at each locus that a parent lists, in order of locus.
    pub genotypes: Vec<(LocusId, Genotype)>,
    /// Its exact chance per egg, lost eggs counted.
    pub probability: Odds,
}

/// The young that look alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LookRow {
    /// Their sex, if a sex-linked locus is in play.
    pub sex: Option<Sex>,
    /// Their look at each locus that a parent lists, in order of locus.
    pub looks: Vec<(LocusId, Look)>,
    /// Their exact chance per egg, lost eggs counted.
    pub probability: Odds,
    /// What they may carry: for each of these loci the exact chances given the look (one entry of chance 1 where it tells).
    pub genotypes: Vec<(LocusId, Vec<(Genotype, Odds)>)>,
}

/// The kinds of one locus that look alike (and are of one sex, at a sex-linked locus).
struct LookClass<'a> {
    sex: Option<Sex>,
    look: Look,
    weight: BigUint,
    members: Vec<(Genotype, &'a BigUint)>,
}

impl Offspring {
    /// How many kinds of live young there are, by genotype.
    #[must_use]
    pub fn n_outcomes(&self) -> BigUint {
        self.factors.iter().map(|factor| BigUint::from(factor.live.len())).product()
    }

    /// How many kinds of live young there are, by look.
    #[must_use]
    pub fn n_looks(&self) -> BigUint {
        self.factors.iter().map(|factor| BigUint::from(by_look(factor).len())).product()
    }

    /// All kinds of live young by genotype, most likely first; equal ones in a fixed order.
    pub fn outcomes(&self) -> impl Iterator<Item = Outcome> {
        let whole = self.whole();
        let weights = self.factors.iter().map(|f| f.live.iter().map(|class| class.weight.clone()).collect());
        BestFirst::new(weights.collect()).map(move |(chosen, weight)| {
            let classes = || self.factors.iter().zip(&chosen).map(|(factor, &i)| (factor.locus, &factor.live[i]));
            Outcome {
                sex: classes().find_map(|(_, class)| class.sex),
                genotypes: classes().map(|(locus, class)| (locus, class.genotype)).collect(),
                probability: odds::share(&weight, &whole),
            }
        })
    }

    /// The same grouped by look (and sex, as above), with what each group may carry.
    pub fn looks(&self) -> impl Iterator<Item = LookRow> {
        let whole = self.whole();
        let grouped: Vec<(LocusId, Vec<LookClass<'_>>)> =
            self.factors.iter().map(|factor| (factor.locus, by_look(factor))).collect();
        let weights = grouped.iter().map(|(_, classes)| classes.iter().map(|class| class.weight.clone()).collect());
        BestFirst::new(weights.collect()).map(move |(chosen, weight)| {
            let classes = || grouped.iter().zip(&chosen).map(|((locus, classes), &i)| (*locus, &classes[i]));
            LookRow {
                sex: classes().find_map(|(_, class)| class.sex),
                looks: classes().map(|(locus, class)| (locus, class.look)).collect(),
                probability: odds::share(&weight, &whole),
                genotypes: classes().map(|(locus, class)| (locus, class.given_the_look())).collect(),
            }
        })
    }

    /// The denominator of all products.
    fn whole(&self) -> BigUint {
        self.factors.iter().map(|factor| &factor.denominator).product()
    }
}

impl LookClass<'_> {
    fn given_the_look(&self) -> Vec<(Genotype, Odds)> {
        match self.members.as_slice() {
            [(genotype, _)] => vec![(*genotype, odds::sure())],
            members => members.iter().map(|(g, weight)| (*g, odds::share(weight, &self.weight))).collect(),
        }
    }
}

fn by_look(factor: &Factor) -> Vec<LookClass<'_>> {
    let mut classes = Vec::<LookClass<'_>>::new();
    for kind in &factor.live {
        let member = (kind.genotype, &kind.weight);
        match classes.iter_mut().find(|class| class.look == kind.look && class.sex == kind.sex) {
            Some(class) => {
                class.weight += &kind.weight;
                class.members.push(member);
            }
            None => classes.push(LookClass {
                sex: kind.sex,
                look: kind.look,
                weight: kind.weight.clone(),
                members: vec![member],
            }),
        }
    }
    classes.sort_by(|a, b| b.weight.cmp(&a.weight));
    classes
}

/// Products of one weight from each list, heaviest first, without making them all.
///
/// The lists that leave a choice are put in order of how little their second weight costs. From a choice whose last changed
/// list is `last` there are at most three next ones, none heavier: one further in `last`; one step in the list after it; and,
/// if `last` stands at its first step, that step moved to the list after it. Each choice is reached in exactly one way.
struct BestFirst {
    lists: Vec<Vec<BigUint>>,
    /// Indices of the lists with more than one weight.
    order: Vec<usize>,
    heap: BinaryHeap<Choice>,
    started: bool,
    first: Option<BigUint>,
}

struct Choice {
    weight: BigUint,
    /// How far each list of `order` was gone down; those after `last` are at 0 and not kept.
    steps: Vec<u32>,
    last: usize,
}

impl BestFirst {
    fn new(lists: Vec<Vec<BigUint>>) -> Self {
        let first = lists.iter().map(|list| list.first()).product::<Option<BigUint>>();
        let mut order: Vec<usize> = (0..lists.len()).filter(|&i| lists[i].len() > 1).collect();
        // a1 / a0 > b1 / b0, in whole numbers
        order.sort_by(|&a, &b| (&lists[b][1] * &lists[a][0]).cmp(&(&lists[a][1] * &lists[b][0])));
        Self { lists, order, heap: BinaryHeap::new(), started: false, first }
    }

    fn push(&mut self, from: &BigUint, steps: Vec<u32>, last: usize, trades: &[(usize, u32, u32)]) {
        let mut weight = from.clone();
        for &(at, old, new) in trades {
            let list = &self.lists[self.order[at]];
            weight = weight / &list[old as usize] * &list[new as usize]; // divides: the old weight is a factor of it
        }
        self.heap.push(Choice { weight, steps, last });
    }

    fn push_next(&mut self, choice: &Choice) {
        let Choice { weight, steps, last } = choice;
        let at = steps[*last];
        if (at as usize) + 1 < self.lists[self.order[*last]].len() {
            let mut further = steps.clone();
            further[*last] += 1;
            self.push(weight, further, *last, &[(*last, at, at + 1)]);
        }
        let next = *last + 1;
        if next < self.order.len() {
            let mut both = steps.clone();
            both.push(1);
            self.push(weight, both, next, &[(next, 0, 1)]);
            if at == 1 {
                let mut moved = steps.clone();
                moved[*last] = 0;
                moved.push(1);
                self.push(weight, moved, next, &[(*last, 1, 0), (next, 0, 1)]);
            }
        }
    }
}

impl Iterator for BestFirst {
    type Item = (Vec<usize>, BigUint);

    fn next(&mut self) -> Option<Self::Item> {
        let mut chosen = vec![0; self.lists.len()];
        if !self.started {
            self.started = true;
            let first = self.first.take()?; // None: a list is empty, so there is no product
            if !self.order.is_empty() {
                self.push(&first, vec![1], 0, &[(0, 0, 1)]);
            }
            return Some((chosen, first));
        }
        let choice = self.heap.pop()?;
        self.push_next(&choice);
        for (&list, &step) in self.order.iter().zip(&choice.steps) {
            chosen[list] = step as usize;
        }
        Some((chosen, choice.weight))
    }
}

impl Ord for Choice {
    fn cmp(&self, other: &Self) -> Ordering {
        // Among equals the fewest steps first, so that the order does not depend on the heap.
        self.weight.cmp(&other.weight).then_with(|| other.steps.cmp(&self.steps))
    }
}

impl PartialOrd for Choice {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Choice {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Choice {}

#[cfg(test)]
mod tests {
    use num_traits::One;

    use super::*;

    #[test]
    fn every_product_once_and_in_falling_order() {
        let lists: Vec<Vec<BigUint>> = [vec![9_u32, 4, 4, 1], vec![7], vec![5, 5, 2], vec![8, 3, 1], vec![6, 6]]
            .map(|list| list.into_iter().map(BigUint::from).collect())
            .to_vec();
        let found: Vec<_> = BestFirst::new(lists.clone()).collect();
        assert_eq!(found.len(), 4 * 3 * 3 * 2);
        assert!(found.windows(2).all(|two| two[0].1 >= two[1].1));
        let mut choices: Vec<_> = found.iter().map(|(chosen, _)| chosen.clone()).collect();
        choices.sort();
        choices.dedup();
        assert_eq!(choices.len(), found.len());
        for (chosen, weight) in &found {
            assert_eq!(*weight, chosen.iter().zip(&lists).map(|(&i, list)| &list[i]).product::<BigUint>());
        }
    }

    #[test]
    fn an_empty_list_leaves_nothing_and_no_list_leaves_one() {
        assert_eq!(BestFirst::new(vec![vec![BigUint::one()], Vec::new()]).count(), 0);
        assert_eq!(BestFirst::new(Vec::new()).count(), 1);
    }
}
