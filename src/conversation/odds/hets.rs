//! What young carry unseen: the het labels, given how they look.

use super::super::sentences::aspects as tell;
use super::kinds::kinds;
use super::scene::Scene;
use crate::reply::Reply;

/// Looks whose hets are told.
const MOST_LOOKS: usize = 6;

/// Adds the hets of the normal-looking young first, then those of the other looks.
pub(super) fn hets(scene: &Scene<'_>, reply: &mut Reply) {
    // Hets are autosomal: on which sex chromosome another gene sits does not change them.
    let young = scene.young();
    let mut looks: Vec<_> = kinds(scene.species, young).take(4 * MOST_LOOKS).collect();
    looks.sort_by_key(|kind| !kind.is_normal());
    let with: Vec<_> = looks.iter().filter(|kind| !kind.carried().is_empty()).collect();
    if with.is_empty() {
        reply.answer.push(tell::no_hets());
        return;
    }
    if !looks.iter().any(super::kinds::Kind::is_normal) {
        reply.answer.push(tell::no_normals());
    }
    for kind in with.iter().take(MOST_LOOKS) {
        reply.answer.push(tell::hets_of(&kind.look(), &kind.share, &kind.carried(), scene.brood()));
        // Two and more possible hets of one animal: how often all of them, and none.
        if kind.is_normal()
            && let Some((all, none)) = together(kind)
        {
            reply.answer.push(tell::hets_together(&all, &none));
        }
    }
    if with.len() > MOST_LOOKS {
        reply.notes.push(tell::more_looks(with.len() - MOST_LOOKS));
    }
}

/// The chance of carrying a recessive at each of the uncertain loci, and at none of them.
fn together(kind: &super::kinds::Kind) -> Option<(crate::engine::odds::Odds, crate::engine::odds::Odds)> {
    use crate::engine::inheritance::locus::AlleleId;
    use crate::engine::odds::{Odds, sure};
    let (mut all, mut none, mut n) = (sure(), sure(), 0);
    for (_, genotypes) in kind.told.iter().filter(|t| t.1.len() > 1) {
        let clear: Odds = genotypes.iter().filter(|(g, _)| g.copies_of(AlleleId::WILD) == 2).map(|g| &g.1).sum();
        all *= sure() - &clear;
        none *= clear;
        n += 1;
    }
    (n >= 2).then_some((all, none))
}
