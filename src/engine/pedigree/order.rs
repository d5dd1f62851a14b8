//! Orders of elimination: which variable to sum out next, and what that will cost before any number is touched.
//!
//! In: the sizes of variables and which of them stand in a table together. Out: [`Plan`]. The best order is hard to
//! find; greedy ones are good on pedigrees, where most variables touch a pair and their young only.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

/// A variable of a network: its position in the list of sizes.
pub(super) type Var = usize;

/// An order of elimination, and what it costs.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    /// Each variable's place in the order.
    rank: Vec<usize>,
    order: Vec<Var>,
    /// Per variable, in that order: how many numbers its table holds.
    steps: Vec<f64>,
    /// Per variable: the first variable of its part of the network. Parts have no table in common.
    part: Vec<Var>,
}

/// What to eliminate next.
#[derive(Debug, Clone, Copy)]
enum Taste {
    /// What makes the smallest table; of equals, what joins the fewest strangers.
    Small,
    /// What joins the fewest strangers; of equals, what makes the smallest table.
    Quiet,
    /// Something of both.
    Between,
}

impl Plan {
    /// Finds an order for variables of these sizes and tables over these scopes. If it costs more than `enough`, others
    /// are tried that are greedy by other tastes, since none is best everywhere.
    pub(super) fn new(sizes: &[usize], scopes: &[&[Var]], enough: f64) -> Plan {
        let mut best = Plan::greedy(sizes, scopes, Taste::Small);
        for taste in [Taste::Quiet, Taste::Between] {
            if best.cost() > enough {
                let other = Plan::greedy(sizes, scopes, taste);
                if other.cost() < best.cost() {
                    best = other;
                }
            }
        }
        best
    }

    #[expect(clippy::cast_sign_loss)] // sizes are positive
    #[expect(clippy::cast_possible_truncation)] // sizes are small
    fn greedy(sizes: &[usize], scopes: &[&[Var]], taste: Taste) -> Plan {
        let mut near: Vec<Vec<Var>> = vec![Vec::new(); sizes.len()];
        for scope in scopes {
            for &v in *scope {
                near[v].extend(scope.iter().copied().filter(|&w| w != v));
            }
        }
        for near in &mut near {
            near.sort_unstable();
            near.dedup();
        }
        let part = parts(&near);
        let logs: Vec<f64> = sizes.iter().map(|&size| (size.max(1) as f64).log2()).collect();
        let price = |near: &[Vec<Var>], v: Var| {
            let width = logs[v] + near[v].iter().map(|&w| logs[w]).sum::<f64>();
            let mut strangers = 0.0;
            for (i, &a) in near[v].iter().enumerate() {
                // Both are sorted: walk along them together.
                let mut known = near[a].iter().peekable();
                for &b in &near[v][i + 1..] {
                    while known.next_if(|&&x| x < b).is_some() {}
                    if known.peek() != Some(&&b) {
                        strangers += logs[a] * logs[b];
                    }
                }
            }
            // Whole numbers, so that equal prices are equal in every run.
            let whole = |x: f64| (x * 1024.0) as u64;
            match taste {
                Taste::Small => (whole(width), whole(strangers)),
                Taste::Quiet => (whole(strangers), whole(width)),
                Taste::Between => (whole(width + strangers.sqrt()), whole(strangers)),
            }
        };
        // Cheapest first; an entry is stale if the price has changed since.
        let mut current: Vec<(u64, u64)> = (0..sizes.len()).map(|v| price(&near, v)).collect();
        let mut heap: BinaryHeap<_> = current.iter().enumerate().map(|(v, &price)| Reverse((price, v))).collect();
        let mut plan = Plan { rank: vec![0; sizes.len()], order: Vec::new(), steps: Vec::new(), part };
        let mut done = vec![false; sizes.len()];
        while let Some(Reverse((listed, v))) = heap.pop() {
            if done[v] || current[v] != listed {
                continue;
            }
            done[v] = true;
            plan.rank[v] = plan.order.len();
            plan.order.push(v);
            let around = std::mem::take(&mut near[v]);
            plan.steps.push(around.iter().fold(sizes[v] as f64, |size, &w| size * sizes[w] as f64));
            let mut touched: Vec<Var> = around.clone();
            for &w in &around {
                let mut joined = join(&near[w], &around);
                joined.retain(|&x| x != v && x != w);
                near[w] = joined;
                // Neighbours of neighbours may find that two of theirs are strangers no more; where that are very
                // many, a price that is a little too high costs less than looking.
                if around.len() < 12 {
                    touched.extend(&near[w]);
                }
            }
            touched.sort_unstable();
            touched.dedup();
            for w in touched {
                let price = price(&near, w);
                if price != current[w] {
                    current[w] = price;
                    heap.push(Reverse((price, w)));
                }
            }
        }
        plan
    }

    /// How many numbers all tables hold together that this order makes.
    pub(super) fn cost(&self) -> f64 {
        self.steps.iter().sum()
    }

    /// The parts of the network, each in the order of elimination, with its cost and the size of its largest table.
    pub(super) fn parts(&self) -> Vec<Part> {
        let mut parts: BTreeMap<Var, Part> = BTreeMap::new();
        for (&v, &step) in self.order.iter().zip(&self.steps) {
            let part = parts.entry(self.part[v]).or_default();
            part.order.push(v);
            part.cost += step;
            part.widest = part.widest.max(step);
        }
        parts.into_values().collect()
    }

    /// The same variables in the order in which a table lists them: last to be eliminated first.
    pub(super) fn scope(&self, mut vars: Vec<Var>) -> Vec<Var> {
        vars.sort_unstable_by_key(|&v| Reverse(self.rank[v]));
        vars.dedup();
        vars
    }
}

/// Variables that are tied together.
#[derive(Debug, Clone, Default)]
pub(super) struct Part {
    /// In the order of elimination.
    pub(super) order: Vec<Var>,
    /// How many numbers all its tables hold together.
    pub(super) cost: f64,
    /// How many numbers the largest of them holds.
    pub(super) widest: f64,
}

/// Per variable: the first of those it is tied to, directly or through others.
fn parts(near: &[Vec<Var>]) -> Vec<Var> {
    let mut part = vec![Var::MAX; near.len()];
    for start in 0..near.len() {
        let mut open = vec![start];
        while let Some(v) = open.pop() {
            if part[v] == Var::MAX {
                part[v] = start;
                open.extend(&near[v]);
            }
        }
    }
    part
}

/// What is in either of two sorted lists, sorted.
#[expect(clippy::many_single_char_names)] // merging two sorted lists: the letters are theirs
fn join(a: &[Var], b: &[Var]) -> Vec<Var> {
    let mut joined = Vec::with_capacity(a.len() + b.len());
    let (mut i, mut j) = (0, 0);
    while i < a.len() || j < b.len() {
        let next = match (a.get(i), b.get(j)) {
            (Some(x), Some(y)) => *x.min(y),
            (Some(x), None) | (None, Some(x)) => *x,
            (None, None) => break,
        };
        i += usize::from(a.get(i) == Some(&next));
        j += usize::from(b.get(j) == Some(&next));
        joined.push(next);
    }
    joined
}
