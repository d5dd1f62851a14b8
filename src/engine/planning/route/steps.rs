//! A found route, read back as steps: each kind that is used is bred once.

use std::collections::HashMap;

use super::super::kinds::Kinds;
use super::super::laying::{Laying, exactly};
use super::offers::Plan;
use super::search::{Found, Origin};
use super::{From, Keep, Parent, Problem, Route, Step};

/// Reads plans back.
pub(super) struct Reader<'a> {
    pub(super) problem: &'a Problem<'a>,
    pub(super) kinds: &'a Kinds,
    pub(super) laying: &'a Laying,
    pub(super) n_owned: usize,
}

impl Reader<'_> {
    pub(super) fn read(&self, plan: &Plan) -> Route {
        let mut steps = Vec::new();
        let mut bred = HashMap::new();
        if let Origin::Step { .. } = plan.found.goal {
            self.breed(&plan.found, plan.found.goal, None, &mut bred, &mut steps);
        }
        // In the order of seasons; a step is never before those that it needs, and the sort keeps the order of equals.
        let mut order: Vec<usize> = (0..steps.len()).collect();
        order.sort_by_key(|&i| steps[i].season);
        let place = |i: usize| order.iter().position(|&j| j == i).unwrap_or(i);
        let moved = |parent: &Parent| Parent {
            from: if let From::Step(i) = parent.from { From::Step(place(i)) } else { parent.from },
            genotypes: parent.genotypes.clone(),
        };
        let in_order = order.iter().map(|&i| {
            let step: &Step = &steps[i];
            Step { sire: moved(&step.sire), dam: moved(&step.dam), ..step.clone() }
        });
        Route {
            price: plan.price.clone(),
            seasons: plan.found.seasons,
            buy: (0..plan.bought.len()).filter(|&i| plan.bought[i]).collect(),
            steps: in_order.collect(),
        }
    }

    /// Adds the step of this origin after those of its parents; `keeper` is the node that it breeds, none for the goal.
    fn breed(
        &self,
        found: &Found,
        origin: Origin,
        keeper: Option<u32>,
        bred: &mut HashMap<u32, usize>,
        steps: &mut Vec<Step>,
    ) {
        let Origin::Step { sire, dam, season, seasons, share } = origin else {
            return;
        };
        for parent in [sire, dam] {
            let origin = found.nodes[parent as usize].origin;
            if matches!(origin, Origin::Step { .. }) && !bred.contains_key(&parent) {
                self.breed(found, origin, Some(parent), bred, steps);
            }
        }
        let parent = |id: u32| {
            let node = &found.nodes[id as usize];
            let from = match node.origin {
                Origin::Source(i) if i < self.n_owned => From::Owned(i),
                Origin::Source(i) => From::Bought(i - self.n_owned),
                Origin::Step { .. } => From::Step(bred.get(&id).copied().unwrap_or(0)),
            };
            Parent { from, genotypes: self.kinds.genotypes(node.code) }
        };
        let keep = match keeper {
            Some(id) => {
                let node = &found.nodes[id as usize];
                Keep::Keeper { sex: node.sex, genotypes: self.kinds.genotypes(node.code) }
            }
            None => Keep::Goal,
        };
        let clutches = self.laying.clutches_for(share, &self.problem.confidence).unwrap_or(seasons);
        let step =
            Step { sire: parent(sire), dam: parent(dam), season, seasons, clutches, per_egg: exactly(share), keep };
        if let Some(id) = keeper {
            bred.insert(id, steps.len());
        }
        steps.push(step);
    }
}
