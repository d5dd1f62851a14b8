//! What to buy for a plan at the keeper's own prices, and within their money.

use super::founders::{Kind, Priced};
use super::played::of_route;
use super::{Frame, Laid, Variation, how_played, played};
use crate::conversation::sentences::plan as say;
use crate::engine::planning::route::{From, Route};
use crate::reading::requests::Target;
use crate::reply::{Reply, Row};
use crate::species::Species;

/// Plans that are told beside the one within the money.
const MOST_PLANS: usize = 5;

/// A plan as it is told.
struct Told<'r> {
    route: &'r Route,
    bought: Vec<String>,
    cents: i64,
}

pub(super) fn priced(reply: &mut Reply, species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>) {
    let own: Vec<Kind> = laid.kinds.iter().take(laid.n_own).cloned().collect();
    let Some(routes) = laid.world.routes(species, goal, &own, &frame.offers, laid.clutches) else {
        reply.answer.push("These are too many animals to weigh against each other. Name fewer.".to_owned());
        return;
    };
    let told = |route| told(species, &frame.offers, route);
    // Cheapest first, each faster than those before.
    let plans: Vec<Told<'_>> = routes.pareto.iter().map(told).collect();
    let fits = |plan: &&Told<'_>| frame.budget.is_none_or(|most| plan.cents <= most);
    let (within, beyond): (Vec<&Told<'_>>, Vec<&Told<'_>>) = plans.iter().partition(fits);
    let best = within.last();
    reply.answer.push(match (best, beyond.first()) {
        (Some(best), _) => say::buy_within(&best.bought, best.cents, best.route.seasons, frame.budget),
        (None, Some(next)) => say::none_within(&next.bought, next.cents, next.route.seasons, frame.budget),
        (None, None) => say::no_way_with_these(own.is_empty()).to_owned(),
    });
    if let Some(best) = best {
        let kinds: Vec<Kind> = own.iter().cloned().chain(frame.offers.iter().map(|offer| offer.kind.clone())).collect();
        let route = as_owned(best.route, own.len());
        let ahead = of_route(species, goal, (&laid.world, &kinds, own.len()), &route, frame, Variation::default());
        reply.answer.extend(ahead.as_ref().and_then(|ahead| played(ahead, frame)));
        reply.notes.extend(ahead.as_ref().map(|ahead| how_played(ahead, &laid.world)));
    }
    let cheaper = within.iter().rev().skip(1);
    for plan in cheaper.take(MOST_PLANS) {
        reply.rows.push(Row::heading(say::at_price(&plan.bought, plan.cents, plan.route.seasons, false)));
    }
    let beyond = if best.is_some() { &beyond[..] } else { beyond.get(1..).unwrap_or_default() };
    for plan in beyond.iter().take(MOST_PLANS) {
        reply.rows.push(Row::heading(say::at_price(&plan.bought, plan.cents, plan.route.seasons, true)));
    }
    let is_used = |kind: &Kind| {
        plans
            .iter()
            .any(|plan| plan.route.buy.iter().any(|k| frame.offers.get(*k).is_some_and(|o| same(&o.kind, kind))))
    };
    let mut idle: Vec<String> =
        frame.offers.iter().filter(|o| !is_used(&o.kind)).map(|o| o.kind.words(species)).collect();
    idle.dedup();
    reply.notes.extend(say::no_use(&idle, plans.is_empty()));
}

/// Of either sex where none was said: one of them in use is enough.
fn same(a: &Kind, b: &Kind) -> bool {
    a.genes == b.genes
}

fn told<'r>(species: &Species, offers: &[Priced], route: &'r Route) -> Told<'r> {
    let bought = route.buy.iter().filter_map(|k| offers.get(*k)).map(|offer| offer.kind.words(species)).collect();
    let cents = route.buy.iter().filter_map(|k| offers.get(*k)).map(|offer| offer.cents).sum();
    Told { route, bought, cents }
}

/// The route with what it buys as animals behind those that are there.
fn as_owned(route: &Route, n_own: usize) -> Route {
    let mut route = route.clone();
    for step in &mut route.steps {
        for parent in [&mut step.sire, &mut step.dam] {
            if let From::Bought(k) = parent.from {
                parent.from = From::Owned(n_own + k);
            }
        }
    }
    route
}
