//! What a season's clutches show, how the belief changes with it, and what follows.

use std::rc::Rc;

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;

use super::super::draws::{SEED, pick, unit};
use super::super::told::{Care, Cut, Value};
use super::joint::{Joint, Mask, holds, mask_of};
use super::sight::{self, Class};
use super::start::live_young;
use super::{Body, Herd, Hidden};
use crate::engine::inheritance::locus::Sex;

/// The most different outcomes of one clutch, and of a season; beyond, exactness is given up.
const MOST_OF_CLUTCH: usize = 20_000;
const MOST_OF_SEASON: usize = 200_000;

/// Young that nothing distinguishes: in what they show, or in what their showing tells.
struct Category {
    /// The share that does not hang on what the parents may be.
    share: f64,
    /// At each locus where the parents may be several things: likelihoods by both genotypes.
    tells: Vec<(usize, Rc<[f64]>)>,
    /// The class, if such young are worth holding.
    class: Option<Class>,
}

/// A pair of the season.
struct Brood {
    sire: usize,
    dam: usize,
    categories: Vec<Category>,
    /// The chance of each number of young that live.
    hatchlings: Vec<f64>,
}

/// How many of each category came, and the part of the chance that does not hang on the parents.
type Counts = (Vec<u32>, f64);

impl Hidden<'_, '_> {
    /// The forecast of pairing these, with the best decisions afterwards.
    pub(super) fn after(&mut self, herd: &Herd, pairs: &[(usize, usize)]) -> Result<Value, Cut> {
        let done = self.goal_chance(herd, pairs)?;
        let mut value = vec![done; herd.left as usize];
        if herd.left <= 1 || done >= 1.0 {
            return Ok(value.into());
        }
        let mut broods = Vec::with_capacity(pairs.len());
        for &(sire, dam) in pairs {
            broods.push(self.brood(herd, sire, dam));
        }
        let mut then = vec![0.0; herd.left as usize - 1];
        let mut in_all = 0.0;
        for (counts, weight) in self.outcomes(herd, &broods)? {
            let mut beliefs = herd.beliefs.clone();
            let mut chance = weight.unwrap_or(1.0);
            for (brood, (counts, share)) in broods.iter().zip(&counts) {
                let told = weigh(&mut beliefs, brood, counts);
                if weight.is_none() {
                    chance *= share * told;
                }
            }
            if chance <= 0.0 {
                continue;
            }
            let at_hand = self.at_hand(herd, beliefs, &broods, &counts)?;
            in_all += chance;
            for (sum, done) in then.iter_mut().zip(self.hold(&at_hand)?.iter()) {
                *sum += chance * done;
            }
        }
        if in_all > 0.0 {
            for (season, then) in value.iter_mut().skip(1).zip(then) {
                *season += (1.0 - done) * then / in_all;
            }
        }
        Ok(value.into())
    }

    /// The chance that one of these pairs gives the goal this season.
    fn goal_chance(&self, herd: &Herd, pairs: &[(usize, usize)]) -> Result<f64, Cut> {
        // The loci below are those at which animals differ; an allele that nobody has is wanted at another.
        if !self.told.world.kinds.missing.is_empty() {
            return Ok(0.0);
        }
        let mut parents: Vec<usize> = pairs.iter().flat_map(|(sire, dam)| [*sire, *dam]).collect();
        parents.sort_unstable();
        parents.dedup();
        let place = |of: usize| parents.iter().position(|other| *other == of).unwrap_or(0);
        // The wanted share of each pair and sex, over all loci; cases with the same shares are not told apart.
        let mut cases: Vec<(Vec<[f64; 2]>, f64)> = vec![(vec![[1.0, 1.0]; pairs.len()], 1.0)];
        for (locus, joint) in self.told.world.kinds.loci().iter().zip(&herd.beliefs) {
            let joint = joint.of(&parents);
            let mut next: Vec<(Vec<[f64; 2]>, f64)> = Vec::with_capacity(cases.len() * joint.cases().len());
            for (shares, weight) in &cases {
                for &(case, chance) in joint.cases() {
                    let of_pair = |(share, (sire, dam)): (&[f64; 2], &(usize, usize))| {
                        let [sire, dam] = [*sire, *dam].map(|of| joint.genotype(case, place(of)));
                        let wanted = |sex| locus.give(sire, dam, sex).wanted;
                        [share[0] * wanted(Sex::Female), share[1] * wanted(Sex::Male)]
                    };
                    let grown = shares.iter().zip(pairs).map(of_pair).collect();
                    let weight = weight * chance;
                    match next.last_mut() {
                        Some((same, sum)) if *same == grown => *sum += weight,
                        _ => next.push((grown, weight)),
                    }
                }
            }
            if next.len() > MOST_OF_SEASON {
                return Err(Cut);
            }
            cases = next;
        }
        let kinds = &self.told.world.kinds;
        let is_linked = kinds.unlinked_and_linked().1.is_some();
        let share_of = |sex: Sex| match self.scene.goal_sex {
            Some(wanted) if wanted != sex => 0.0,
            _ if is_linked => 1.0,
            _ => kinds.share_of(sex),
        };
        let none = |shares: &Vec<[f64; 2]>| -> f64 {
            let of_pair = |share: &[f64; 2]| share[0] * share_of(Sex::Female) + share[1] * share_of(Sex::Male);
            shares.iter().map(|share| 1.0 - self.told.world.some(of_pair(share))).product()
        };
        let none: f64 = cases.iter().map(|(shares, weight)| weight * none(shares)).sum();
        Ok((1.0 - none).clamp(0.0, 1.0))
    }

    /// The classes of young of parents that may be any of these.
    pub(super) fn classes(&self, sire: &[Mask], dam: &[Mask]) -> Vec<Class> {
        let kinds = &self.told.world.kinds;
        let can_be = |i: usize, sex: Sex| {
            let n = self.scene.sights[i].n_genotypes();
            let sires: Vec<u8> = sight::numbers(&sire[i], n).collect();
            let pairs = sires.iter().flat_map(|s| sight::numbers(&dam[i], n).map(move |d| (*s, d)));
            mask_of(pairs.flat_map(|(s, d)| live_young(kinds, i, s, d, sex).map(|(g, _)| g)))
        };
        sight::classes(&self.scene.sights, self.scene.goal_sex, &can_be)
    }

    /// The chance of a young within the mask, by both parents' genotypes.
    fn likelihood(&mut self, i: usize, sex: Sex, mask: Mask) -> Rc<[f64]> {
        let n = self.scene.sights[i].n_genotypes();
        let kinds = &self.told.world.kinds;
        let known = self.likelihoods.entry((i, sex, mask)).or_insert_with(|| {
            let pairs = (0..=u8::MAX).take(n).flat_map(|sire| (0..=u8::MAX).take(n).map(move |dam| (sire, dam)));
            let within = |(sire, dam)| {
                live_young(kinds, i, sire, dam, sex).filter(|(g, _)| holds(&mask, *g)).map(|(_, share)| share).sum()
            };
            pairs.map(within).collect()
        });
        Rc::clone(known)
    }

    fn brood(&mut self, herd: &Herd, sire: usize, dam: usize) -> Brood {
        let of_both: Vec<Joint> = herd.beliefs.iter().map(|joint| joint.of(&[sire, dam])).collect();
        let support = |place: usize| -> Vec<Mask> { of_both.iter().map(|joint| joint.support(place)).collect() };
        let next = herd.left - 1;
        let keep_all = self.told.reach.care == Care::Full && self.told.is_shopping(next, herd.sold);
        let mut categories: Vec<Category> = Vec::new();
        for class in self.classes(&support(0), &support(1)) {
            if class.is_goal {
                continue;
            }
            let mut share = self.told.world.kinds.share_of(class.sex);
            let mut tells = Vec::new();
            for (i, joint) in of_both.iter().enumerate() {
                let table = self.likelihood(i, class.sex, class.masks[i]);
                if let [(case, _)] = joint.cases() {
                    share *= table[at(joint, *case, 0, 1, self.scene.sights[i].n_genotypes())];
                } else {
                    tells.push((i, table));
                }
            }
            let is_of_use = keep_all || self.is_of_use(&class, next);
            let same = |known: &&mut Category| {
                let tells_same = known.tells.len() == tells.len()
                    && known.tells.iter().zip(&tells).all(|(a, b)| a.0 == b.0 && a.1 == b.1);
                known.class.is_none() && !is_of_use && tells_same
            };
            match categories.iter_mut().find(same) {
                Some(known) => known.share += share,
                None => categories.push(Category { share, tells, class: is_of_use.then_some(class) }),
            }
        }
        categories.retain(|category| category.share > 0.0);
        Brood { sire, dam, categories, hatchlings: self.hatchlings(&of_both) }
    }

    /// The chance of each number of young, those lost to lethal genotypes left out at their mean rate.
    fn hatchlings(&self, of_both: &[Joint]) -> Vec<f64> {
        let kinds = &self.told.world.kinds;
        let live: f64 = of_both
            .iter()
            .zip(kinds.loci())
            .map(|(joint, locus)| {
                let of_case = |&(case, weight): &(u128, f64)| {
                    let (sire, dam) = (joint.genotype(case, 0), joint.genotype(case, 1));
                    let of_sex = |sex| locus.give(sire, dam, sex).keepers.iter().map(|child| child.share).sum::<f64>();
                    let both = of_sex(Sex::Female) + of_sex(Sex::Male);
                    weight * if locus.linked { both } else { both / 2.0 }
                };
                joint.cases().iter().map(of_case).sum::<f64>()
            })
            .product();
        let all = &self.told.world.hatchlings;
        // Exact where nothing is lethal.
        if live >= 1.0 - 1e-12 {
            return all.clone();
        }
        let mut thinned = vec![0.0; all.len()];
        let mut row = vec![1.0];
        for chance in all {
            for (alive, share) in thinned.iter_mut().zip(&row) {
                *alive += chance * share;
            }
            let mut longer = vec![0.0; row.len() + 1];
            for (alive, share) in row.iter().enumerate() {
                longer[alive] += share * (1.0 - live);
                longer[alive + 1] += share * live;
            }
            row = longer;
        }
        thinned
    }

    /// Every outcome in which the goal does not come, with its weight if it was drawn.
    #[expect(clippy::type_complexity)] // used once, and told in the line above
    fn outcomes(&mut self, herd: &Herd, broods: &[Brood]) -> Result<Vec<(Vec<Counts>, Option<f64>)>, Cut> {
        let sizes = broods.iter().map(|brood| size(brood.hatchlings.len() - 1, brood.categories.len()));
        let in_all = sizes.fold(1usize, usize::saturating_mul);
        let draws = self.told.reach.draws;
        if draws > 0 && in_all > 4 * draws {
            return Ok(self.drawn(herd, broods));
        }
        let mut all: Vec<Vec<Counts>> = vec![Vec::new()];
        for brood in broods {
            let of_brood = all_counts(brood)?;
            if all.len() * of_brood.len() > MOST_OF_SEASON {
                return Err(Cut);
            }
            let joined = all.iter().flat_map(|so_far| {
                of_brood.iter().map(move |counts| {
                    let mut so_far = so_far.clone();
                    so_far.push(counts.clone());
                    so_far
                })
            });
            all = joined.collect();
        }
        self.told.worked(all.len() as u64 / 8)?;
        Ok(all.into_iter().map(|counts| (counts, None)).collect())
    }

    fn drawn(&self, herd: &Herd, broods: &[Brood]) -> Vec<(Vec<Counts>, Option<f64>)> {
        let draws = self.told.reach.draws;
        let mut random = Xoshiro256PlusPlus::seed_from_u64(SEED);
        let mut found: Vec<(Vec<Counts>, Option<f64>)> = Vec::with_capacity(draws);
        // As often as it takes, within reason: draws in which the goal comes are of no interest here.
        for _ in 0..8 * draws {
            let drawn_cases: Vec<u128> = herd
                .beliefs
                .iter()
                .map(|joint| {
                    let i = pick(joint.cases().iter().map(|(_, weight)| *weight), unit(&mut random));
                    i.or(joint.cases().len().checked_sub(1)).map_or(0, |i| joint.cases()[i].0)
                })
                .collect();
            let mut counts = Vec::with_capacity(broods.len());
            let mut has_goal = false;
            for brood in broods {
                let n = pick(brood.hatchlings.iter().copied(), unit(&mut random)).unwrap_or(0);
                let mut of_brood = vec![0; brood.categories.len()];
                let share = |category: &Category| {
                    let told = category.tells.iter().map(|(i, table)| {
                        let n = self.scene.sights[*i].n_genotypes();
                        table[at(&herd.beliefs[*i], drawn_cases[*i], brood.sire, brood.dam, n)]
                    });
                    category.share * told.product::<f64>()
                };
                let shares: Vec<f64> = brood.categories.iter().map(share).collect();
                for _ in 0..n {
                    match pick(shares.iter().copied(), unit(&mut random)) {
                        Some(category) => of_brood[category] += 1,
                        None => has_goal = true,
                    }
                }
                counts.push((of_brood, 1.0));
            }
            if !has_goal {
                match found.iter_mut().find(|(known, _)| *known == counts) {
                    Some((_, weight)) => *weight = weight.map(|w| w + 1.0),
                    None => found.push((counts, Some(1.0))),
                }
                if found.iter().filter_map(|(_, weight)| *weight).sum::<f64>() >= draws as f64 {
                    break;
                }
            }
        }
        found
    }

    /// Everybody there after the season: the older animals, and the young that are worth a decision.
    fn at_hand(&self, herd: &Herd, mut beliefs: Vec<Joint>, broods: &[Brood], counts: &[Counts]) -> Result<Herd, Cut> {
        let next = herd.left - 1;
        let rules = self.told.rules;
        let keep_all = self.told.reach.care == Care::Full && self.told.is_shopping(next, herd.sold);
        let mut bodies: Vec<Body> =
            herd.bodies.iter().map(|body| Body { wait: body.wait.saturating_sub(1), brood: 0, ..*body }).collect();
        let mut number = 0;
        for (brood, (counts, _)) in broods.iter().zip(counts) {
            for (category, count) in brood.categories.iter().zip(counts) {
                number += 1;
                let Some(class) = &category.class else { continue };
                let male = class.sex == Sex::Male;
                let of_use = if male { rules.males_of_use() } else { rules.females_of_use() };
                let most = if keep_all { usize::MAX } else { of_use };
                for _ in 0..(*count as usize).min(most) {
                    for (i, joint) in beliefs.iter_mut().enumerate() {
                        let mask = class.masks[i];
                        let young = |joint: &Joint, case: u128, here: &mut Vec<(u8, f64)>| {
                            let (sire, dam) = (joint.genotype(case, brood.sire), joint.genotype(case, brood.dam));
                            let within = live_young(&self.told.world.kinds, i, sire, dam, class.sex)
                                .filter(|(g, _)| holds(&mask, *g));
                            here.extend(within);
                            // Its look was weighed already, with the whole clutch.
                            let sum: f64 = here.iter().map(|(_, share)| share).sum();
                            for (_, share) in here {
                                *share /= sum;
                            }
                        };
                        joint.push(young).map_err(|_| Cut)?;
                    }
                    bodies.push(Body { male, wait: rules.wait(class.sex), brood: number });
                }
            }
        }
        Ok(Herd { left: next, sold: herd.sold, bodies, beliefs })
    }
}

/// Changes the belief by what a clutch shows; gives the chance of it, but for the part that does not hang on the parents.
fn weigh(beliefs: &mut [Joint], brood: &Brood, counts: &[u32]) -> f64 {
    let mut told = 1.0;
    for (i, joint) in beliefs.iter_mut().enumerate() {
        let speaking: Vec<(&Rc<[f64]>, i32)> = brood
            .categories
            .iter()
            .zip(counts)
            .filter(|(_, count)| **count > 0)
            .filter_map(|(category, count)| {
                let (_, table) = category.tells.iter().find(|(locus, _)| *locus == i)?;
                Some((table, i32::try_from(*count).unwrap_or(i32::MAX)))
            })
            .collect();
        if speaking.is_empty() {
            continue;
        }
        joint.weigh(|joint, case| {
            let of_table = |(table, count): &(&Rc<[f64]>, i32)| {
                // A table has a row for each genotype of the sire.
                let n = root(table.len());
                table[at(joint, case, brood.sire, brood.dam, n)].powi(*count)
            };
            speaking.iter().map(of_table).product()
        });
        told *= joint.rescale();
    }
    told
}

fn root(n: usize) -> usize {
    n.isqrt()
}

fn at(joint: &Joint, case: u128, sire: usize, dam: usize, n: usize) -> usize {
    usize::from(joint.genotype(case, sire)) * n + usize::from(joint.genotype(case, dam))
}

/// How many outcomes up to n young in so many categories have: (n + k choose k), or the most there can be said.
fn size(n: usize, k: usize) -> usize {
    let mut size = 1usize;
    for i in 1..=k {
        size = match size.checked_mul(n + i) {
            Some(size) => size / i,
            None => return usize::MAX,
        };
    }
    size
}

/// All numbers of young of each category, with the part of the chance that does not hang on the parents.
fn all_counts(brood: &Brood) -> Result<Vec<Counts>, Cut> {
    if size(brood.hatchlings.len() - 1, brood.categories.len()) > MOST_OF_CLUTCH {
        return Err(Cut);
    }
    let mut found = Vec::new();
    for (n, chance) in brood.hatchlings.iter().enumerate() {
        if *chance > 0.0 {
            let n = u32::try_from(n).unwrap_or(u32::MAX);
            spread(&brood.categories, 0, n, &mut vec![0; brood.categories.len()], *chance, &mut found);
        }
    }
    Ok(found)
}

/// Spreads so many young over the categories from `from` on.
fn spread(
    categories: &[Category],
    from: usize,
    left: u32,
    counts: &mut Vec<u32>,
    chance: f64,
    found: &mut Vec<Counts>,
) {
    let Some(category) = categories.get(from) else {
        if left == 0 {
            found.push((counts.clone(), chance));
        }
        return;
    };
    // left! / (count! (left - count)!) share^count, built up step by step.
    let mut term = chance;
    for count in 0..=left {
        counts[from] = count;
        spread(categories, from + 1, left - count, counts, term, found);
        term *= category.share * f64::from(left - count) / f64::from(count + 1);
    }
    counts[from] = 0;
}
