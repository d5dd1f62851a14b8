//! Variable elimination: sums over every case of a network of small tables, without listing the cases.
//!
//! In: tables over few variables each, whose product weighs a case, and an order. Out: the share of each value of each
//! variable. [`shares`] goes through the order once forwards and once backwards, so loops are exact and every variable
//! is answered for about three times the price of one.
//!
//! Invariant: the scope of every table falls in the order of elimination, so the variable to be summed out is always
//! the last one, and its values lie side by side.

use std::collections::BTreeMap;

use super::order::{Plan, Var};
use super::weight::Weight;
use crate::engine::inheritance::clutch::Figure;

/// A table over variables: one number for each combination of their values, the last variable's values side by side.
#[derive(Debug, Clone)]
pub(super) struct Table<W> {
    pub(super) scope: Vec<Var>,
    pub(super) values: Vec<W>,
}

/// How to walk through the numbers of some tables while walking through all combinations of a scope.
struct Walk<const N: usize> {
    sizes: Vec<usize>,
    steps: Vec<[usize; N]>,
}

impl<const N: usize> Walk<N> {
    fn new(sizes: &[usize], scope: &[Var], inner: [&[Var]; N]) -> Walk<N> {
        let mut steps = vec![[0; N]; scope.len()];
        for (n, inner) in inner.into_iter().enumerate() {
            let mut step = 1;
            for v in inner.iter().rev() {
                if let Some(place) = scope.iter().position(|x| x == v) {
                    steps[place][n] = step;
                }
                step *= sizes[*v];
            }
        }
        // Neighbours that all tables list alike are walked as one.
        let mut walk = Walk { sizes: Vec::with_capacity(scope.len()), steps: Vec::with_capacity(scope.len()) };
        for (&v, step) in scope.iter().zip(steps) {
            match (walk.sizes.last_mut(), walk.steps.last_mut()) {
                (Some(size), Some(last)) if (0..N).all(|n| last[n] == step[n] * sizes[v]) => {
                    *size *= sizes[v];
                    *last = step;
                }
                _ => {
                    walk.sizes.push(sizes[v]);
                    walk.steps.push(step);
                }
            }
        }
        walk
    }

    fn len(&self) -> usize {
        self.sizes.iter().product()
    }

    /// Calls `visit` with the position in the scope and in each table.
    fn each(&self, mut visit: impl FnMut(usize, [usize; N])) {
        let total = self.len();
        let Some((&inner, outer)) = self.sizes.split_last() else {
            visit(0, [0; N]);
            return;
        };
        let step = self.steps[self.steps.len() - 1];
        let mut counter = vec![0; outer.len()];
        let mut base = [0; N];
        let mut at = 0;
        while at < total {
            let mut here = base;
            for _ in 0..inner {
                visit(at, here);
                at += 1;
                for n in 0..N {
                    here[n] += step[n];
                }
            }
            for place in (0..outer.len()).rev() {
                counter[place] += 1;
                for (base, step) in base.iter_mut().zip(self.steps[place]) {
                    *base += step;
                }
                if counter[place] < outer[place] {
                    break;
                }
                for (base, step) in base.iter_mut().zip(self.steps[place]) {
                    *base -= step * outer[place];
                }
                counter[place] = 0;
            }
        }
    }
}

/// The table of these values, which are listed for a scope in any order, in the order of the plan.
pub(super) fn arrange<W: Weight>(sizes: &[usize], plan: &Plan, scope: &[Var], values: &[W]) -> Table<W> {
    let ordered = plan.scope(scope.to_vec());
    let walk = Walk::new(sizes, &ordered, [scope]);
    let mut arranged = Vec::with_capacity(values.len());
    walk.each(|_, [i]| arranged.push(values[i].clone()));
    Table { scope: ordered, values: arranged }
}

pub(super) fn multiply<W: Weight>(sizes: &[usize], plan: &Plan, a: &Table<W>, b: &Table<W>) -> Table<W> {
    let scope = plan.scope(a.scope.iter().chain(&b.scope).copied().collect());
    let walk = Walk::new(sizes, &scope, [&a.scope, &b.scope]);
    let mut values = Vec::with_capacity(walk.len());
    walk.each(|_, [i, j]| values.push(a.values[i].times(&b.values[j])));
    W::reduce(&mut values);
    Table { scope, values }
}

/// Multiplies and sums down to `onto`, which is part of the joint scope.
fn multiply_onto<W: Weight>(sizes: &[usize], plan: &Plan, a: &Table<W>, b: &Table<W>, onto: &[Var]) -> Table<W> {
    let scope = plan.scope(a.scope.iter().chain(&b.scope).copied().collect());
    let walk = Walk::new(sizes, &scope, [&a.scope, &b.scope, onto]);
    let mut values = vec![W::zero(); onto.iter().map(|&v| sizes[v]).product()];
    walk.each(|_, [i, j, k]| {
        let (a, b) = (&a.values[i], &b.values[j]);
        if !a.is_zero() && !b.is_zero() {
            values[k].add(&a.times(b));
        }
    });
    W::reduce(&mut values);
    Table { scope: onto.to_vec(), values }
}

/// Everything that meets when a variable is summed out.
struct Bucket<'a, W> {
    tables: Vec<&'a Table<W>>,
    /// Results of earlier buckets, by their places in the order.
    messages: Vec<usize>,
}

impl<W: Weight> Bucket<'_, W> {
    /// The product of the bucket's own tables, then with one message after the other.
    fn products(&self, sizes: &[usize], plan: &Plan, v: Var, messages: &[Table<W>]) -> Vec<Table<W>> {
        let own = match self.tables.split_first() {
            None => Table { scope: vec![v], values: vec![W::one(); sizes[v]] },
            Some((first, others)) => {
                others.iter().fold((*first).clone(), |product, table| multiply(sizes, plan, &product, table))
            }
        };
        let mut products = vec![own];
        for &m in &self.messages {
            products.push(multiply(sizes, plan, &products[products.len() - 1], &messages[m]));
        }
        products
    }
}

/// Products of so many numbers are kept until the way back; those of larger ones are made again, because they would
/// take far more memory than anything else.
const KEPT: usize = 1 << 14;

/// For every variable of a part the share of each of its values, or `None` if no case is possible at all.
///
/// `tables` are those of the part, with scopes as [`Plan::scope`] orders them.
pub(super) fn shares<W: Weight>(
    sizes: &[usize],
    plan: &Plan,
    order: &[Var],
    tables: &[&Table<W>],
) -> Option<Vec<Vec<Figure>>> {
    let place: BTreeMap<Var, usize> = order.iter().enumerate().map(|(place, &v)| (v, place)).collect();
    let mut buckets: Vec<Bucket<W>> =
        order.iter().map(|_| Bucket { tables: Vec::new(), messages: Vec::new() }).collect();
    for &table in tables {
        if let Some(v) = table.scope.last() {
            buckets[place[v]].tables.push(table);
        }
    }
    let mut messages: Vec<Table<W>> = Vec::with_capacity(order.len());
    let mut kept: Vec<Option<Vec<Table<W>>>> = Vec::with_capacity(order.len());
    for (at, &v) in order.iter().enumerate() {
        buckets[at].tables.sort_by_key(|table| table.values.len());
        let products = buckets[at].products(sizes, plan, v, &messages);
        let joint = &products[products.len() - 1];
        let scope = joint.scope[..joint.scope.len() - 1].to_vec();
        let mut values: Vec<W> = joint.values.chunks(sizes[v]).map(total).collect();
        W::reduce(&mut values);
        if values.iter().all(W::is_zero) {
            return None;
        }
        if let Some(next) = scope.last() {
            buckets[place[next]].messages.push(at);
        }
        messages.push(Table { scope, values });
        kept.push((joint.values.len() <= KEPT).then_some(products));
    }

    let mut shares = vec![Vec::new(); order.len()];
    // What stands around each message: the weight of everything that did not go into it.
    let mut around: Vec<Option<Table<W>>> = vec![None; order.len()];
    for (at, &v) in order.iter().enumerate().rev() {
        let mut outside = around[at].take().unwrap_or_else(|| Table { scope: Vec::new(), values: vec![W::one()] });
        let products = kept[at].take().unwrap_or_else(|| buckets[at].products(sizes, plan, v, &messages));
        let joint = &products[products.len() - 1];
        shares[at] = W::shares(&multiply_onto(sizes, plan, joint, &outside, &[v]).values);
        for (i, &m) in buckets[at].messages.iter().enumerate().rev() {
            let before = &products[i];
            around[m] = Some(multiply_onto(sizes, plan, &outside, before, &messages[m].scope));
            if i > 0 {
                // Seen from the messages before, this one stands outside as well.
                let joint = plan.scope(outside.scope.iter().chain(&messages[m].scope).copied().collect());
                let onto: Vec<Var> = joint.into_iter().filter(|x| before.scope.contains(x)).collect();
                outside = multiply_onto(sizes, plan, &outside, &messages[m], &onto);
            }
        }
    }
    Some(shares)
}

/// The sum.
pub(super) fn total<W: Weight>(values: &[W]) -> W {
    let mut sum = W::zero();
    for value in values {
        sum.add(value);
    }
    sum
}
