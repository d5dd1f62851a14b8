//! Sampling: chances with a standard error, where a part of a network is too wide to be summed exactly.
//!
//! In: tables, an order, a seed and a bound on table sizes. Out: estimated shares. The elimination is done first with
//! bounded tables only (where a product would be larger, it is split and its pieces are summed or maximised apart), and
//! guides the draws; each drawn case is weighed by how much the guide was wrong, so the estimates are right on average
//! whatever the bound (importance sampling after mini-bucket elimination: Gogate and Dechter 2011, Artif. Intell.
//! 175:694-729, and Dechter and Rish 2003, J. ACM 50:107-153; citations from memory).

use std::collections::BTreeMap;

use super::elimination::{Table, multiply, total};
use super::order::{Plan, Var};
use super::weight::{Weight, Wide};

/// The largest table of the guide.
const GUIDE: usize = 1 << 14;
/// How many numbers may be looked at for all draws together, and the fewest draws.
const MOST_LOOKS: usize = 40_000_000;
const FEWEST_DRAWS: usize = 200;

/// Estimated shares of a part of a network.
pub(super) struct Sampled {
    /// Per variable in the order: (share, standard error) of each value.
    pub(super) shares: Vec<Vec<(f64, f64)>>,
}

/// What the draw of one variable looks at.
struct Bucket<'a> {
    tables: Vec<&'a Table<Wide>>,
    /// Messages of the guide, which are divided out of the weight.
    messages: Vec<Table<Wide>>,
}

/// Draws at most `most_draws` cases. `None` if no case of positive weight was met.
pub(super) fn sample(
    sizes: &[usize],
    plan: &Plan,
    order: &[Var],
    tables: &[&Table<Wide>],
    most_draws: usize,
    seed: u64,
) -> Option<Sampled> {
    sample_within(sizes, plan, order, tables, most_draws, seed, GUIDE)
}

fn sample_within(
    sizes: &[usize],
    plan: &Plan,
    order: &[Var],
    tables: &[&Table<Wide>],
    most_draws: usize,
    seed: u64,
    bound: usize,
) -> Option<Sampled> {
    let place: BTreeMap<Var, usize> = order.iter().enumerate().map(|(place, &v)| (v, place)).collect();
    let buckets = guide(sizes, plan, order, tables, &place, bound);
    let looks: usize =
        order.iter().zip(&buckets).map(|(&v, b)| sizes[v] * (b.tables.len() + b.messages.len() + 1)).sum();
    let n_draws = (MOST_LOOKS / looks.max(1)).clamp(FEWEST_DRAWS, most_draws.max(FEWEST_DRAWS));
    let looked_at: Vec<Vec<Lookup>> = buckets
        .iter()
        .map(|bucket| {
            let own = bucket.tables.iter().map(|table| Lookup::new(sizes, table, false, &place));
            own.chain(bucket.messages.iter().map(|table| Lookup::new(sizes, table, true, &place))).collect()
        })
        .collect();
    let mut dice = Dice(seed);
    let mut sums: Vec<Vec<Sum>> = order.iter().map(|&v| vec![Sum::default(); sizes[v]]).collect();
    let mut all = Sum::default();
    let mut scale = f64::NEG_INFINITY;
    let mut case = vec![0; order.len()];
    for _ in 0..n_draws {
        let Some(ln_weight) = draw(sizes, order, &looked_at, &mut case, &mut dice) else { continue };
        // Weights are kept relative to the largest so far, so that they stay within reach of floating point.
        if ln_weight > scale {
            let by = (scale - ln_weight).exp();
            for sum in sums.iter_mut().flatten().chain([&mut all]) {
                sum.weight *= by;
                sum.square *= by * by;
            }
            scale = ln_weight;
        }
        let weight = (ln_weight - scale).exp();
        all.add(weight);
        for (at, &value) in case.iter().enumerate() {
            sums[at][value].add(weight);
        }
    }
    if all.weight == 0.0 {
        return None;
    }
    let shares = sums.iter().map(|values| values.iter().map(|sum| sum.share(&all)).collect()).collect();
    Some(Sampled { shares })
}

/// Weights of the draws in which something holds.
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    weight: f64,
    square: f64,
}

impl Sum {
    fn add(&mut self, weight: f64) {
        self.weight += weight;
        self.square += weight * weight;
    }

    /// The share in the weight of all draws, and its standard error (of a ratio, by the delta method).
    fn share(&self, all: &Sum) -> (f64, f64) {
        let share = self.weight / all.weight;
        let squares = self.square * (1.0 - 2.0 * share) + share * share * all.square;
        (share, squares.max(0.0).sqrt() / all.weight)
    }
}

/// Elimination with bounded tables.
fn guide<'a>(
    sizes: &[usize],
    plan: &Plan,
    order: &[Var],
    tables: &[&'a Table<Wide>],
    place: &BTreeMap<Var, usize>,
    bound: usize,
) -> Vec<Bucket<'a>> {
    let mut buckets: Vec<Bucket> = order.iter().map(|_| Bucket { tables: Vec::new(), messages: Vec::new() }).collect();
    for &table in tables {
        if let Some(v) = table.scope.last() {
            buckets[place[v]].tables.push(table);
        }
    }
    for (at, &v) in order.iter().enumerate() {
        let mut pieces: Vec<Table<Wide>> = Vec::new();
        {
            let bucket = &buckets[at];
            let mut parts: Vec<&Table<Wide>> = bucket.tables.iter().copied().chain(&bucket.messages).collect();
            parts.sort_by_key(|table| std::cmp::Reverse(table.values.len()));
            for part in parts {
                let fits = |piece: &Table<Wide>| {
                    let scope = plan.scope(piece.scope.iter().chain(&part.scope).copied().collect());
                    scope.iter().map(|&v| sizes[v]).product::<usize>() <= bound
                };
                match pieces.iter_mut().find(|piece| fits(piece)) {
                    Some(piece) => *piece = multiply(sizes, plan, piece, part),
                    None => pieces.push(part.clone()),
                }
            }
        }
        for (i, piece) in pieces.into_iter().enumerate() {
            let scope = piece.scope[..piece.scope.len() - 1].to_vec();
            let down = if i == 0 { total } else { largest };
            let values = piece.values.chunks(sizes[v]).map(down).collect();
            if let Some(next) = scope.last() {
                buckets[place[next]].messages.push(Table { scope, values });
            }
        }
    }
    buckets
}

fn largest(values: &[Wide]) -> Wide {
    let mut largest = Wide::zero();
    for value in values {
        if value.ln() > largest.ln() {
            largest = *value;
        }
    }
    largest
}

/// Where in a table the number stands for a case.
struct Lookup<'a> {
    values: &'a [Wide],
    /// (place of a variable, step in the table), the variable that is drawn left out, as it has step 1.
    steps: Vec<(usize, usize)>,
    is_message: bool,
}

impl<'a> Lookup<'a> {
    fn new(sizes: &[usize], table: &'a Table<Wide>, is_message: bool, place: &BTreeMap<Var, usize>) -> Lookup<'a> {
        let mut step = 1;
        let mut steps = Vec::new();
        for v in table.scope.iter().rev() {
            steps.push((place[v], step));
            step *= sizes[*v];
        }
        Lookup { values: &table.values, steps: steps.split_off(1), is_message }
    }

    fn row(&self, case: &[usize]) -> usize {
        self.steps.iter().map(|&(place, step)| case[place] * step).sum()
    }
}

/// One case, drawn from the last variable to the first; the logarithm of its weight, or `None` at a dead end.
fn draw(sizes: &[usize], order: &[Var], looked_at: &[Vec<Lookup>], case: &mut [usize], dice: &mut Dice) -> Option<f64> {
    let mut ln_weight = 0.0;
    for at in (0..order.len()).rev() {
        let mut weights = vec![Wide::one(); sizes[order[at]]];
        for lookup in &looked_at[at] {
            let row = lookup.row(case);
            for (weight, value) in weights.iter_mut().zip(&lookup.values[row..]) {
                *weight = weight.times(value);
            }
        }
        let sum = total(&weights);
        if sum.is_zero() {
            return None;
        }
        let mut rest = dice.unit();
        let mut drawn = None;
        for (value, weight) in weights.iter().enumerate().filter(|(_, weight)| !weight.is_zero()) {
            drawn = Some(value);
            rest -= weight.over(sum);
            if rest < 0.0 {
                break;
            }
        }
        case[at] = drawn?;
        // The case was drawn with the product of tables and messages over `sum`; tables are its weight.
        ln_weight += sum.ln();
        for lookup in looked_at[at].iter().filter(|lookup| lookup.is_message) {
            ln_weight -= lookup.values[lookup.row(case) + case[at]].ln();
        }
    }
    Some(ln_weight)
}

/// Repeatable random numbers (splitmix64: Steele, Lea and Flood 2014, OOPSLA; from memory).
struct Dice(u64);

impl Dice {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        // 53 bits are what floating point holds.
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::pedigree::elimination::{arrange, shares};

    /// A grid of coins with unlike neighbours preferred, and one corner known: loops everywhere.
    #[expect(clippy::type_complexity)] // used once, and told in the line above
    fn grid(n: usize) -> (Vec<usize>, Vec<(Vec<Var>, Vec<Wide>)>) {
        let number = |n: i64| Wide::scaled(&[crate::engine::odds::odds(n, 10)])[0];
        let mut tables = vec![(vec![0], vec![number(9), number(1)])];
        for row in 0..n {
            for column in 0..n {
                let here = row * n + column;
                let pair = vec![number(2), number(7), number(5), number(0)];
                if column + 1 < n {
                    tables.push((vec![here, here + 1], pair.clone()));
                }
                if row + 1 < n {
                    tables.push((vec![here, here + n], pair));
                }
            }
        }
        (vec![2; n * n], tables)
    }

    #[test]
    fn estimates_agree_with_sums_within_their_error() {
        let (sizes, tables) = grid(6);
        let scopes: Vec<&[Var]> = tables.iter().map(|(scope, _)| scope.as_slice()).collect();
        let plan = Plan::new(&sizes, &scopes, 0.0);
        let tables: Vec<Table<Wide>> =
            tables.iter().map(|(scope, values)| arrange(&sizes, &plan, scope, values)).collect();
        let tables: Vec<&Table<Wide>> = tables.iter().collect();
        let parts = plan.parts();
        assert_eq!(parts.len(), 1);
        let order = &parts[0].order;
        let exact = shares(&sizes, &plan, order, &tables).unwrap();
        for bound in [2, 8, 32] {
            let sampled = sample_within(&sizes, &plan, order, &tables, 4000, 1, bound).unwrap();
            let mut far = 0;
            for (exact, sampled) in exact.iter().flatten().zip(sampled.shares.iter().flatten()) {
                let (share, error) = sampled;
                assert!(*error < 0.2, "{error}");
                far += usize::from((exact.to_f64() - share).abs() > 4.0 * error + 1e-12);
            }
            assert_eq!(far, 0, "bound {bound}");
        }
    }
}
