//! "Odds on a …": the chance per egg, in the clutch, and how many eggs and clutches a certainty takes.

use num_traits::{One, Zero};

use super::super::labels;
use super::super::sentences::odds as say;
use super::living;
use super::reasons::{impossible, lacking};
use super::scene::{Case, Laying, Scene, levels};
use super::wish::wanted;
use crate::engine::inheritance::clutch::{Chances, ClutchSize, per_egg};
use crate::engine::odds::{Odds, sure, to_f64};
use crate::reading::requests::{Aspect, Target};
use crate::reply::Reply;

/// Answers a wish for every cross of a pairing; once, where the side of a sex-linked copy does not change the answer.
pub(super) fn aims(scene: &Scene<'_>, target: &Target, reply: &mut Reply) {
    let mut told: Vec<Vec<String>> = Vec::new();
    for case in &scene.cases {
        let before = reply.answer.len();
        aim(scene, case, target, reply);
        told.push(reply.answer.split_off(before));
    }
    told.dedup();
    let alike = told.len() == 1;
    for (case, lines) in scene.cases.iter().zip(told) {
        reply.answer.extend(case.side.filter(|_| !alike).map(|side| say::side(scene.species, side)));
        reply.answer.extend(lines);
    }
}

/// Answers a wish for one cross.
fn aim(scene: &Scene<'_>, case: &Case, target: &Target, reply: &mut Reply) {
    let (species, pairing, brood) = (scene.species, scene.pairing, scene.brood());
    let wanted = wanted(species, target);
    let Ok(share) = per_egg(&case.young, &wanted) else {
        reply.answer.push(say::no_sexes());
        return;
    };
    let name = labels::target(species, target);
    let yes_or_no = pairing.aspect == Aspect::Possible;
    if share.is_zero() {
        reply.answer.push(say::not_possible(&name, yes_or_no));
        reply.answer.extend(impossible(scene, target));
        return;
    }
    reply.answer.push(say::per_egg(&name, &share, yes_or_no, brood));
    reply.answer.extend(living::aim(scene, target, &wanted, &share));
    let Ok(chances) = Chances::of(&case.young, &wanted) else { return };
    let reach = chances.reach();
    if reach < sure() {
        reply.answer.push(say::only_if(&lacking(scene, target), &reach));
    }
    let Some(laying) = scene.laying() else { return };
    if matches!(laying, Laying::Usual { .. }) {
        let usual = say::usual(&laying, brood);
        if !reply.notes.contains(&usual) {
            reply.notes.push(usual);
        }
    }
    if pairing.aspect == Aspect::WhyNone {
        reply.answer.extend(bad_luck(scene, &chances, &laying));
        return;
    }
    let found = chances.in_clutch(&laying.size());
    if let Ok(found) = &found {
        if !pairing.both_sexes {
            let once = (laying != laying.once()).then(|| chances.in_clutch(&laying.once().size()).ok()).flatten();
            let once = once.map(|o| o.at_least_one);
            reply.answer.push(say::at_least_one(&found.at_least_one, once.as_ref(), &found.expected, &laying, brood));
        } else if let Some(each) = &found.one_of_each {
            reply.answer.push(say::one_of_each(each, &laying, brood));
        } else {
            reply.answer.push(say::no_sexes());
        }
    }
    if pairing.aspect == Aspect::HowMany || pairing.clutch_size.is_none() && pairing.clutches.is_none() {
        how_many(scene, &chances, &laying, reply);
    }
}

/// How many eggs and clutches are needed for the certainty that was named, or for the usual ones.
fn how_many(scene: &Scene<'_>, chances: &Chances, laying: &Laying, reply: &mut Reply) {
    let levels = levels(scene.pairing.certainty.as_ref());
    if scene.pairing.both_sexes {
        let eggs: Vec<(u64, Odds)> =
            levels.iter().filter_map(|level| Some((eggs_for_each_sex(chances, level)?, level.clone()))).collect();
        if !eggs.is_empty() {
            reply.answer.push(say::eggs_needed_for_each(&eggs, scene.brood()));
        }
        return;
    }
    let eggs: Vec<(u64, Odds)> = levels.iter().filter_map(|l| Some((chances.eggs_for(l)?, l.clone()))).collect();
    if eggs.is_empty() {
        let reach = chances.reach();
        if !reach.is_one() {
            reply.answer.push(say::never_above(&reach, scene.brood()));
        }
        return;
    }
    reply.answer.push(say::eggs_needed(&eggs, scene.brood()));
    if scene.pairing.aspect != Aspect::HowMany {
        return;
    }
    let once = laying.once();
    let size = once.size();
    let clutches: Vec<(u64, Odds)> =
        levels.iter().filter_map(|l| Some((chances.clutches_for(l, &size).ok()??, l.clone()))).collect();
    if !clutches.is_empty() {
        reply.answer.push(say::clutches_needed(&clutches, &once, scene.brood()));
    }
}

/// The least number of eggs with at least this chance of one of each sex; nothing where no number up to [`MOST_EGGS`] has
/// it.
fn eggs_for_each_sex(chances: &Chances, level: &Odds) -> Option<u64> {
    let level = to_f64(level);
    let reached = |n: u64| {
        let found = chances.in_clutch(&ClutchSize::young(n)).ok().and_then(|found| found.one_of_each);
        found.is_some_and(|each| each.to_f64() >= level)
    };
    let most = (1..=MOST_EGGS.ilog2()).map(|power| 1 << power).find(|n| reached(*n))?;
    // More eggs are never worse, so the least lies above the half.
    let (mut low, mut high) = (most / 2, most);
    while low + 1 < high {
        let middle = u64::midpoint(low, high);
        *(if reached(middle) { &mut high } else { &mut low }) = middle;
    }
    Some(high)
}

/// Eggs beyond which a pair of both sexes is not looked for.
const MOST_EGGS: u64 = 1024;

/// Why none of a possible kind came: how often that happens, and what it says of parents that only may carry it.
fn bad_luck(scene: &Scene<'_>, chances: &Chances, laying: &Laying) -> Vec<String> {
    let Ok(found) = chances.in_clutch(&laying.size()) else { return Vec::new() };
    let hit = found.at_least_one;
    let mut lines = vec![say::none_came(&hit, laying, scene.brood())];
    if !chances.reach().is_one()
        && let Laying::Stated { n, k } = laying
        && let Ok(hit) = chances.at_least_one(u64::from(*n) * u64::from(*k))
    {
        // Those who cannot show it at all are the likelier the longer it fails to come.
        let able = (chances.reach() - &hit) / (sure() - hit);
        lines.push(say::after_none(&able, &chances.reach()));
    }
    lines
}
