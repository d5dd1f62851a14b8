//! Outcomes: the product of the factors of a cross, listed best first, by genotype or by look.
//!
//! In: [`Offspring`]. Out: lazy lists in exactly falling order. The product is never enumerated: taking the first k
//! outcomes of n loci keeps at most 3 k candidates of n small numbers each.
//! Invariant: all probabilities and [`Offspring::lost`] sum to exactly 1.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap};
use std::sync::Arc;

use num_bigint::{BigInt, BigUint};
use num_integer::Integer;
use num_traits::{One, Zero};

use super::cross::{Cell, Factor, Offspring};
use super::genotype::Genotype;
use super::locus::{LocusId, Look, Sex};
use crate::engine::odds::{Odds, none};

/// One kind of live young, by genotype.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// Its sex; only if a sex-linked locus is among the factors.
    pub sex: Option<Sex>,
    /// Its genotype at every factor.
    pub genotypes: Vec<(LocusId, Genotype)>,
    /// Its share of all eggs, exact.
    pub probability: Odds,
}

/// The genotypes that a look leaves at one locus, with their chances given the look; sum 1. Shared, cheap to clone.
pub type GivenLook = Arc<[(Genotype, Odds)]>;

/// One kind of live young, by what shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LookOutcome {
    /// Its sex; only if a sex-linked locus is among the factors.
    pub sex: Option<Sex>,
    /// What shows at every factor.
    pub looks: Vec<(LocusId, Look)>,
    /// Its share of all eggs, exact.
    pub probability: Odds,
    /// Where the look leaves more than one genotype: their chances given the look, sum 1. Given the look, loci are
    /// independent of each other.
    pub genotypes: Vec<(LocusId, GivenLook)>,
}

/// The young of one factor that cannot be told apart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LookClass {
    /// Their sex; only at the sex-linked locus.
    pub sex: Option<Sex>,
    /// What shows.
    pub look: Look,
    /// Their share of all eggs, exact.
    pub weight: Odds,
    /// The chance of each genotype given look and sex, sum 1.
    pub genotypes: GivenLook,
}

impl Factor {
    /// The live young of this locus grouped by sex and look, in order.
    #[must_use]
    pub fn looks(&self) -> Vec<LookClass> {
        let mut groups: BTreeMap<(Option<Sex>, Look), Vec<&Cell>> = BTreeMap::new();
        for cell in self.cells() {
            groups.entry((cell.sex, self.locus().look_of(cell.genotype))).or_default().push(cell);
        }
        let classes = groups.into_iter().map(|((sex, look), cells)| {
            let weight = cells.iter().fold(none(), |sum, cell| sum + &cell.weight);
            let genotypes = cells.iter().map(|cell| (cell.genotype, &cell.weight / &weight)).collect();
            LookClass { sex, look, weight, genotypes }
        });
        classes.collect()
    }
}

impl Offspring {
    /// Every possible live young, most likely first, lazily.
    pub fn outcomes(&self) -> impl Iterator<Item = Outcome> + use<> {
        let options = self.factors().iter().map(|f| f.cells().iter().map(|c| (c.clone(), c.weight.clone())).collect());
        let ids = self.factors().iter().map(Factor::id).collect::<Vec<_>>();
        BestFirst::new(options.collect()).map(move |(cells, probability)| Outcome {
            sex: cells.iter().find_map(|cell| cell.sex),
            genotypes: ids.iter().copied().zip(cells.iter().map(|cell| cell.genotype)).collect(),
            probability,
        })
    }

    /// Every possible look of a live young, most likely first, lazily.
    pub fn looks(&self) -> impl Iterator<Item = LookOutcome> + use<> {
        let options = self.factors().iter().map(|f| {
            let classes = f.looks().into_iter();
            classes.map(|class| (class.clone(), class.weight)).collect()
        });
        let ids = self.factors().iter().map(Factor::id).collect::<Vec<_>>();
        BestFirst::new(options.collect()).map(move |(classes, probability)| {
            let placed = || ids.iter().copied().zip(&classes);
            LookOutcome {
                sex: classes.iter().find_map(|class| class.sex),
                looks: placed().map(|(id, class)| (id, class.look)).collect(),
                genotypes: placed()
                    .filter(|(_, class)| class.genotypes.len() > 1)
                    .map(|(id, class)| (id, Arc::clone(&class.genotypes)))
                    .collect(),
                probability,
            }
        })
    }

    /// How many kinds of live young there are by genotype (and sex, as in [`Outcome`]).
    #[must_use]
    pub fn n_outcomes(&self) -> BigUint {
        self.factors().iter().map(|f| BigUint::from(f.cells().len())).product()
    }

    /// How many kinds of live young there are by look (and sex, as in [`LookOutcome`]).
    #[must_use]
    pub fn n_looks(&self) -> BigUint {
        let of = |factor: &Factor| {
            let cells = factor.cells().iter();
            cells.map(|cell| (cell.sex, factor.locus().look_of(cell.genotype))).collect::<BTreeSet<_>>().len()
        };
        self.factors().iter().map(|factor| BigUint::from(of(factor))).product()
    }
}

/// The products of one option from each list, in exactly falling order.
struct BestFirst<T> {
    /// Each list falling; numerators over the list's common denominator.
    lists: Vec<Vec<(T, BigUint)>>,
    /// The product of those denominators.
    denominator: BigInt,
    /// The lists with a choice, those first whose second option comes closest to the first.
    free: Vec<usize>,
    heap: BinaryHeap<Candidate>,
}

/// Which option is picked from each list.
struct Candidate {
    numerator: BigUint,
    picks: Box<[u32]>,
    /// The last place in `free` whose pick is not the first option (0 for the very best candidate).
    at: usize,
}

impl PartialEq for Candidate {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Candidate {}
impl PartialOrd for Candidate {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Candidate {
    fn cmp(&self, other: &Self) -> Ordering {
        // Of equals, the one with earlier options first, so that the order is the same in every run.
        self.numerator.cmp(&other.numerator).then_with(|| other.picks.cmp(&self.picks))
    }
}

impl<T: Clone> BestFirst<T> {
    fn new(options: Vec<Vec<(T, Odds)>>) -> BestFirst<T> {
        let mut denominator = BigInt::one();
        let lists: Vec<Vec<(T, BigUint)>> = options
            .into_iter()
            .map(|options| {
                let common = options.iter().fold(BigInt::one(), |lcm, (_, weight)| lcm.lcm(weight.denom()));
                let scaled = |weight: &Odds| (weight.numer() * (&common / weight.denom())).magnitude().clone();
                let mut list: Vec<_> = options
                    .into_iter()
                    .map(|(t, w)| {
                        let n = scaled(&w);
                        (t, n)
                    })
                    .collect();
                list.retain(|(_, n)| !n.is_zero());
                list.sort_by(|(_, a), (_, b)| b.cmp(a));
                denominator *= common;
                list
            })
            .collect();
        let mut free: Vec<usize> = (0..lists.len()).filter(|&l| lists[l].len() > 1).collect();
        free.sort_by(|&a, &b| (&lists[b][1].1 * &lists[a][0].1).cmp(&(&lists[a][1].1 * &lists[b][0].1)));
        let mut best = BestFirst { lists, denominator, free, heap: BinaryHeap::new() };
        if best.lists.iter().all(|list| !list.is_empty()) {
            let numerator = best.lists.iter().map(|list| &list[0].1).product();
            let picks = vec![0; best.lists.len()].into();
            best.heap.push(Candidate { numerator, picks, at: 0 });
        }
        best
    }

    /// Adds `from` with other picks at places in `free`, where there is such an option.
    fn push(&mut self, from: &Candidate, changes: &[(usize, u32)]) {
        let mut numerator = from.numerator.clone();
        let mut picks = from.picks.clone();
        let mut at = from.at;
        for &(place, pick) in changes {
            let Some(&l) = self.free.get(place) else {
                return;
            };
            let list = &self.lists[l];
            let Some((_, new)) = list.get(pick as usize) else {
                return;
            };
            numerator = numerator / &list[picks[l] as usize].1 * new;
            picks[l] = pick;
            at = place;
        }
        self.heap.push(Candidate { numerator, picks, at });
    }

    /// Adds what comes directly after a candidate.
    ///
    /// Every choice of picks has exactly one predecessor, and none is greater than its predecessor: the last changed
    /// list moves on by one; or the next list starts to move; or a single step of the last list is handed to the
    /// next one, which costs at least as much by the order of `free`.
    fn push_next(&mut self, from: &Candidate) {
        let at = from.at;
        match self.free.get(at).map(|&l| from.picks[l]) {
            None => {}
            Some(0) => self.push(from, &[(at, 1)]),
            Some(pick) => {
                self.push(from, &[(at, pick + 1)]);
                self.push(from, &[(at + 1, 1)]);
                if pick == 1 {
                    self.push(from, &[(at, 0), (at + 1, 1)]);
                }
            }
        }
    }
}

impl<T: Clone> Iterator for BestFirst<T> {
    type Item = (Vec<T>, Odds);

    fn next(&mut self) -> Option<Self::Item> {
        let best = self.heap.pop()?;
        self.push_next(&best);
        let picked = self.lists.iter().zip(&best.picks).map(|(list, &pick)| list[pick as usize].0.clone()).collect();
        Some((picked, Odds::new(BigInt::from(best.numerator), self.denominator.clone())))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::odds::{odds, sure};

    #[test]
    fn near_ties_come_in_exact_order() {
        // The two middle products differ by far less than floating point can tell.
        let hair = Odds::new(1.into(), BigInt::one() << 200);
        let options = vec![
            vec![('a', odds(2, 3)), ('b', odds(1, 3))],
            vec![('c', odds(2, 3) - &hair), ('d', odds(1, 3) + &hair)],
        ];
        let picked: Vec<String> = BestFirst::new(options).map(|(picked, _)| picked.into_iter().collect()).collect();
        assert_eq!(picked, ["ac", "ad", "bc", "bd"]);
    }

    #[test]
    fn many_loci_are_not_multiplied_out() {
        let options: Vec<Vec<((), Odds)>> =
            (0..1000).map(|_| vec![((), odds(1, 4)), ((), odds(1, 2)), ((), odds(1, 4))]).collect();
        let mut best = BestFirst::new(options);
        let shares: Vec<Odds> = best.by_ref().take(50).map(|(_, share)| share).collect();
        assert_eq!(shares[0], Odds::new(1.into(), BigInt::one() << 1000));
        assert!(shares[1..].iter().all(|share| *share == Odds::new(1.into(), BigInt::one() << 1001)));
        assert!(best.heap.len() <= 3 * 50, "{}", best.heap.len());
    }

    #[test]
    fn all_products_come_once() {
        let options = vec![
            vec![(0, odds(1, 2)), (1, odds(3, 10)), (2, odds(1, 5))],
            vec![(0, sure())],
            vec![(0, odds(1, 7)), (1, odds(6, 7))],
            vec![(0, odds(1, 4)), (1, odds(1, 4)), (2, odds(1, 4)), (3, odds(1, 4))],
        ];
        let all: Vec<_> = BestFirst::new(options).collect();
        assert!(all.is_sorted_by(|a, b| a.1 >= b.1));
        assert_eq!(all.iter().map(|(picked, _)| picked.clone()).collect::<std::collections::BTreeSet<_>>().len(), 24);
        assert_eq!(all.iter().map(|(_, share)| share).sum::<Odds>(), sure());
        assert_eq!(BestFirst::new(vec![vec![((), sure())], vec![]]).count(), 0);
    }
}
