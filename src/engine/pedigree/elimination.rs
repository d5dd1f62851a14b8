//! Variable elimination: sums over every case of a network of small tables, without listing the cases.
//!
//! In: tables over few variables each, whose product weighs a case. Out: the share of each value of each variable.
//! [`Plan::new`] finds an order in which to sum variables out and what it will cost before any number is touched;
//! [`shares`] goes through the order once forwards and once backwards, so loops are exact and every variable is
//! answered for about three times the price of one.
//!
//! Invariant: the scope of every table falls in the order of elimination, so the variable to be summed out is always
//! the last one, and its values lie side by side.

use std::collections::{BTreeSet, BinaryHeap};

use super::weight::Weight;
use crate::engine::inheritance::clutch::Figure;

/// A variable of a network: its position in the list of sizes.
pub(super) type Var = usize;

/// A table over variables: one number for each combination of their values, the last variable's values side by side.
#[derive(Debug, Clone)]
pub(super) struct Table<W> {
    pub(super) scope: Vec<Var>,
    pub(super) values: Vec<W>,
}

/// An order of elimination, and what it costs.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    /// Each variable's place in the order.
    rank: Vec<usize>,
    order: Vec<Var>,
    /// How many numbers all tables hold together that this order makes.
    pub(super) cost: f64,
    /// How many numbers the largest of them holds.
    pub(super) widest: f64,
}

impl Plan {
    /// Finds an order for variables of these sizes and tables over these scopes: always the variable next that makes
    /// the smallest table, of equals the one that joins the fewest strangers.
    pub(super) fn new(sizes: &[usize], scopes: &[&[Var]]) -> Plan {
        let mut near: Vec<BTreeSet<Var>> = vec![BTreeSet::new(); sizes.len()];
        for scope in scopes {
            for &v in *scope {
                near[v].extend(scope.iter().copied().filter(|&w| w != v));
            }
        }
        let log = |v: Var| (sizes[v].max(1) as f64).log2();
        let price = |near: &[BTreeSet<Var>], v: Var| {
            let width = log(v) + near[v].iter().map(|&w| log(w)).sum::<f64>();
            let mut strangers = 0.0;
            for &a in &near[v] {
                for &b in near[v].range(a + 1..) {
                    if !near[a].contains(&b) {
                        strangers += log(a) * log(b);
                    }
                }
            }
            (width, strangers)
        };
        // Cheapest first; an entry is stale if the price has changed since.
        let key = |(width, strangers): (f64, f64)| ((width * 1024.0) as u64, (strangers * 1024.0) as u64);
        let mut current: Vec<(u64, u64)> = (0..sizes.len()).map(|v| key(price(&near, v))).collect();
        let mut heap: BinaryHeap<_> = current.iter().enumerate().map(|(v, &k)| std::cmp::Reverse((k, v))).collect();
        let mut plan = Plan { rank: vec![0; sizes.len()], order: Vec::new(), cost: 0.0, widest: 0.0 };
        let mut done = vec![false; sizes.len()];
        while let Some(std::cmp::Reverse((k, v))) = heap.pop() {
            if done[v] || current[v] != k {
                continue;
            }
            done[v] = true;
            plan.rank[v] = plan.order.len();
            plan.order.push(v);
            let around: Vec<Var> = std::mem::take(&mut near[v]).into_iter().collect();
            let size = around.iter().fold(sizes[v] as f64, |size, &w| size * sizes[w] as f64);
            plan.cost += size;
            plan.widest = plan.widest.max(size);
            let mut touched: BTreeSet<Var> = around.iter().copied().collect();
            for &w in &around {
                near[w].remove(&v);
                near[w].extend(around.iter().copied().filter(|&x| x != w));
                // A far neighbour may find that two of its own are strangers no more.
                if around.len() < 12 {
                    touched.extend(near[w].iter().copied());
                }
            }
            for w in touched {
                let k = key(price(&near, w));
                if k != current[w] {
                    current[w] = k;
                    heap.push(std::cmp::Reverse((k, w)));
                }
            }
        }
        plan
    }

    /// The same variables in the order in which a table lists them: last to be eliminated first.
    pub(super) fn scope(&self, mut vars: Vec<Var>) -> Vec<Var> {
        vars.sort_unstable_by_key(|&v| std::cmp::Reverse(self.rank[v]));
        vars.dedup();
        vars
    }
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
        Walk { sizes: scope.iter().map(|&v| sizes[v]).collect(), steps }
    }

    /// Calls `visit` with the position in the scope and in each table.
    fn each(&self, mut visit: impl FnMut(usize, [usize; N])) {
        let total: usize = self.sizes.iter().product();
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
                for n in 0..N {
                    base[n] += self.steps[place][n];
                }
                if counter[place] < outer[place] {
                    break;
                }
                for n in 0..N {
                    base[n] -= self.steps[place][n] * outer[place];
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

fn multiply<W: Weight>(sizes: &[usize], plan: &Plan, a: &Table<W>, b: &Table<W>) -> Table<W> {
    let scope = plan.scope(a.scope.iter().chain(&b.scope).copied().collect());
    let walk = Walk::new(sizes, &scope, [&a.scope, &b.scope]);
    let mut values = Vec::with_capacity(walk.sizes.iter().product());
    walk.each(|_, [i, j]| values.push(a.values[i].times(&b.values[j])));
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

/// One variable summed out.
struct Step {
    /// The messages (of earlier steps) that went in.
    messages: Vec<usize>,
}

/// The share of every value of every variable, or `None` if no case is possible at all.
///
/// Variables in no table have equal shares. Tables must have scopes as [`Plan::scope`] orders them.
pub(super) fn shares<W: Weight>(sizes: &[usize], plan: &Plan, tables: &[Table<W>]) -> Option<Vec<Vec<Figure>>> {
    let mut buckets: Vec<Vec<&Table<W>>> = vec![Vec::new(); sizes.len()];
    for table in tables {
        match table.scope.last() {
            Some(&v) => buckets[v].push(table),
            None if table.values.iter().all(W::is_zero) => return None,
            None => {}
        }
    }
    let mut arriving: Vec<Vec<usize>> = vec![Vec::new(); sizes.len()];
    let mut messages: Vec<Option<Table<W>>> = Vec::with_capacity(plan.order.len());
    let mut steps = Vec::with_capacity(plan.order.len());
    // Per step: the product of its own tables and of the messages one after the other.
    let mut products: Vec<Vec<Table<W>>> = Vec::with_capacity(plan.order.len());
    for &v in &plan.order {
        let own = std::mem::take(&mut arriving[v]);
        let mut product = Table { scope: vec![v], values: vec![W::one(); sizes[v]] };
        let mut tables = std::mem::take(&mut buckets[v]);
        tables.sort_by_key(|table| table.values.len());
        for table in tables {
            product = multiply(sizes, plan, &product, table);
        }
        let mut partial = vec![product];
        for &m in &own {
            if let (Some(message), Some(last)) = (&messages[m], partial.last()) {
                partial.push(multiply(sizes, plan, last, message));
            }
        }
        let joint = &partial[partial.len() - 1];
        let scope = joint.scope[..joint.scope.len() - 1].to_vec();
        let mut values: Vec<W> = joint
            .values
            .chunks(sizes[v])
            .map(|chunk| {
                chunk.iter().fold(W::zero(), |mut sum, value| {
                    sum.add(value);
                    sum
                })
            })
            .collect();
        W::reduce(&mut values);
        if values.iter().all(W::is_zero) {
            return None;
        }
        if let Some(&next) = scope.last() {
            arriving[next].push(messages.len());
        }
        messages.push(Some(Table { scope, values }));
        steps.push(Step { messages: own });
        products.push(partial);
    }

    let mut shares = vec![Vec::new(); sizes.len()];
    // What stands around each message: the weight of everything that did not go into it.
    let mut around: Vec<Option<Table<W>>> = vec![None; messages.len()];
    for (at, &v) in plan.order.iter().enumerate().rev() {
        let outside = around[at].take().unwrap_or_else(|| Table { scope: Vec::new(), values: vec![W::one()] });
        messages[at] = None;
        let mut partial = std::mem::take(&mut products[at]);
        let Some(joint) = partial.pop() else { continue };
        shares[v] = W::shares(&multiply_onto(sizes, plan, &joint, &outside, &[v]).values);
        let mut outside = outside;
        for &m in steps[at].messages.iter().rev() {
            let (Some(before), Some(message)) = (partial.pop(), &messages[m]) else { continue };
            around[m] = Some(multiply_onto(sizes, plan, &outside, &before, &message.scope));
            // Towards the first message: this one stands outside as well.
            if !partial.is_empty() {
                let joint = plan.scope(outside.scope.iter().chain(&message.scope).copied().collect());
                let onto: Vec<Var> = joint.into_iter().filter(|x| before.scope.contains(x)).collect();
                outside = multiply_onto(sizes, plan, &outside, message, &onto);
            }
        }
    }
    Some(shares)
}
