//! Two pairings side by side: by the wish, or, without one, by what differs.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use num_traits::Zero;

use super::super::labels;
use super::super::sentences::aspects as tell;
use super::super::sentences::odds as say;
use super::kinds::kinds;
use super::scene::{Laying, Scene};
use super::wish::wanted;
use crate::engine::inheritance::clutch::{Chances, per_egg};
use crate::engine::odds::{Odds, none, sure};
use crate::reading::requests::Target;
use crate::reply::Reply;

/// Kinds of each pairing that are compared, the likeliest first.
const MOST_KINDS: usize = 24;
/// Differences that are told.
const MOST_LINES: usize = 6;

/// The share of a look, and what it carries unseen.
type Carrying = (Odds, Vec<String>);

/// Adds the comparison of two pairings of one species.
pub(super) fn compare(first: &Scene<'_>, second: &Scene<'_>, reply: &mut Reply) {
    match &first.pairing.target {
        Some(target) => by_wish(first, second, target, reply),
        None => by_kinds(first, second, reply),
    }
}

fn by_wish(first: &Scene<'_>, second: &Scene<'_>, target: &Target, reply: &mut Reply) {
    let wanted = wanted(first.species, target);
    let shares = [first, second].map(|scene| per_egg(scene.young(), &wanted));
    let [Ok(a), Ok(b)] = shares else {
        reply.answer.push(say::no_sexes());
        return;
    };
    let name = labels::target(first.species, target);
    reply.answer.push(tell::two_shares(&name, &a, &b, first.brood()));
    if let Some(Laying::Stated { n, k }) = first.asked_laying() {
        let hits = [first, second].map(|scene| {
            let chances = Chances::of(scene.young(), &wanted).ok()?;
            chances.at_least_one(u64::from(n) * u64::from(k)).ok()
        });
        if let [Some(x), Some(y)] = hits {
            reply.answer.push(tell::two_hits(&x, &y, n * k, first.brood()));
        }
    }
    reply.answer.push(tell::which_is_better(&a, &b));
}

/// Looks with their share and what they carry, in each of the two pairings.
fn by_kinds(first: &Scene<'_>, second: &Scene<'_>, reply: &mut Reply) {
    let mut looks: BTreeMap<String, [Carrying; 2]> = BTreeMap::new();
    for (k, scene) in [first, second].into_iter().enumerate() {
        for kind in kinds(scene.species, scene.young()).take(MOST_KINDS) {
            let empty = || [(none(), Vec::new()), (none(), Vec::new())];
            let entry = &mut looks.entry(kind.look()).or_insert_with(empty)[k];
            entry.0 += &kind.share;
            entry.1 = kind.carried();
        }
    }
    let mut differ: Vec<(&String, &[Carrying; 2])> = looks.iter().filter(|(_, [a, b])| a != b).collect();
    if differ.is_empty() {
        reply.answer.push(tell::no_difference(first.brood()));
        return;
    }
    differ.sort_by_key(|(_, both)| Reverse(gap(both)));
    reply.answer.push(tell::what_differs(first.brood()));
    for (look, [a, b]) in differ.iter().take(MOST_LINES) {
        reply.answer.push(tell::difference(look, (&a.0, &a.1), (&b.0, &b.1)));
    }
    let same = looks.len() - differ.len();
    let more = differ.len().saturating_sub(MOST_LINES);
    if more > 0 || same > 0 {
        reply.notes.push(tell::beside_differences(more, same));
    }
    reply.notes.push(tell::name_a_goal());
}

fn gap([a, b]: &[Carrying; 2]) -> Odds {
    let gap = if a.0 > b.0 { &a.0 - &b.0 } else { &b.0 - &a.0 };
    // What only one of them can make comes before what both can.
    if a.0.is_zero() || b.0.is_zero() { gap + sure() } else { gap }
}
