//! What to buy: every amount of money that buys time.
//!
//! A set of offers is split on one animal that the best route uses: first without it, then with it. A set whose best
//! time, were everything undecided free, is not below what its price already gives is not looked into, so that the
//! plans found are exactly those not beaten in price and time.

use super::search::{Cut, Found, Origin, Search, Source};
use crate::engine::odds::{Odds, none};

/// Which offers are bought.
pub(super) type Bought = Vec<bool>;

/// A plan that is not beaten in price and seasons.
pub(super) struct Plan {
    pub(super) price: Odds,
    pub(super) bought: Bought,
    pub(super) found: Found,
}

/// The front of plans, cheapest first, and whether the search ran to its end.
pub(super) fn front(
    search: &mut Search<'_>,
    sources: &[Source],
    prices: &[Odds],
    budget: Option<&Odds>,
    go_on: &mut dyn FnMut() -> bool,
) -> (Vec<Plan>, bool) {
    let mut offers = Offers { search, sources, prices, budget, front: Vec::new() };
    let free = offers.worth_a_look();
    let nothing = vec![false; prices.len()];
    let complete = offers
        .solve(&nothing, u64::MAX, go_on)
        .and_then(|_| if free.contains(&true) { offers.split(&nothing, free, go_on) } else { Ok(()) })
        .is_ok();
    let mut front = offers.front;
    front.sort_by(|a, b| a.price.cmp(&b.price).then(a.found.seasons.cmp(&b.found.seasons)));
    (front, complete)
}

struct Offers<'a, 'b> {
    search: &'a mut Search<'b>,
    sources: &'a [Source],
    prices: &'a [Odds],
    budget: Option<&'a Odds>,
    front: Vec<Plan>,
}

impl Offers<'_, '_> {
    /// Leaves out what is too dear, and what another animal of the same kind beats in price and time.
    fn worth_a_look(&self) -> Bought {
        let price = |s: &Source| s.offer.and_then(|o| self.prices.get(o)).cloned().unwrap_or_else(none);
        let mut free = vec![false; self.prices.len()];
        for (i, source) in self.sources.iter().enumerate() {
            let Some(offer) = source.offer else { continue };
            let own = price(source);
            let beaten = self.sources.iter().enumerate().any(|(j, other)| {
                let alike = other.code == source.code && other.sex == source.sex && other.ready <= source.ready;
                let cheaper = other.offer.is_none() || price(other) <= own;
                let differs = other.ready < source.ready || price(other) < own || j < i;
                j != i && alike && cheaper && differs && self.affordable(&price(other))
            });
            free[offer] = !beaten && self.affordable(&own);
        }
        free
    }

    fn affordable(&self, price: &Odds) -> bool {
        self.budget.is_none_or(|budget| price <= budget)
    }

    fn price_of(&self, bought: &[bool]) -> Odds {
        self.prices.iter().zip(bought).filter(|(_, b)| **b).map(|(price, _)| price).sum()
    }

    /// Seasons that some known plan of at most this price takes.
    fn known_for(&self, price: &Odds) -> u64 {
        self.front.iter().filter(|plan| plan.price <= *price).map(|plan| plan.found.seasons).min().unwrap_or(u64::MAX)
    }

    /// Enters the best route with these offers at hand, if it takes less than `limit` seasons; which offers it uses.
    fn solve(&mut self, at_hand: &[bool], limit: u64, go_on: &mut dyn FnMut() -> bool) -> Result<Option<Bought>, Cut> {
        let sources = self.sources.iter().copied().enumerate();
        let sources = sources.filter(|(_, s)| s.offer.is_none_or(|offer| at_hand.get(offer) == Some(&true)));
        let (found, ended) = self.search.run(sources, limit, go_on);
        let used = found.map(|found| {
            let used = self.used(&found);
            self.enter(used.clone(), found);
            used
        });
        ended.map(|()| used)
    }

    fn used(&self, found: &Found) -> Bought {
        let mut used = vec![false; self.prices.len()];
        let mut seen = vec![false; found.nodes.len()];
        let mut open = vec![found.goal];
        while let Some(origin) = open.pop() {
            match origin {
                Origin::Source(i) => {
                    if let Some(offer) = self.sources.get(i).and_then(|s| s.offer) {
                        used[offer] = true;
                    }
                }
                Origin::Step { sire, dam, .. } => {
                    for parent in [sire, dam] {
                        if !std::mem::replace(&mut seen[parent as usize], true) {
                            open.push(found.nodes[parent as usize].origin);
                        }
                    }
                }
            }
        }
        used
    }

    /// Enters a plan unless it is beaten or too dear, and drops those that it beats.
    fn enter(&mut self, bought: Bought, found: Found) {
        let price = self.price_of(&bought);
        if !self.affordable(&price) || self.known_for(&price) <= found.seasons {
            return;
        }
        self.front.retain(|plan| plan.price < price || plan.found.seasons < found.seasons);
        self.front.push(Plan { price, bought, found });
    }

    /// Looks at all sets that hold `chosen` and any of the offers still free.
    fn split(&mut self, chosen: &[bool], mut free: Bought, go_on: &mut dyn FnMut() -> bool) -> Result<(), Cut> {
        let spent = self.price_of(chosen);
        for (i, price) in self.prices.iter().enumerate() {
            free[i] &= self.affordable(&(&spent + price));
        }
        let at_hand: Bought = chosen.iter().zip(&free).map(|(a, b)| *a || *b).collect();
        let limit = self.known_for(&spent);
        let Some(used) = self.solve(&at_hand, limit, go_on)? else {
            return Ok(());
        };
        // Of the undecided animals in use, the dearest: without it the most money is left.
        let undecided = (0..used.len()).filter(|&i| used[i] && !chosen[i]);
        let dearest = undecided.max_by(|&a, &b| self.prices[a].cmp(&self.prices[b]));
        let Some(dearest) = dearest else {
            return Ok(());
        };
        free[dearest] = false;
        self.split(chosen, free.clone(), go_on)?;
        let mut chosen = chosen.to_vec();
        chosen[dearest] = true;
        self.split(&chosen, free, go_on)
    }
}
