//! Young that are said to die: how many eggs that takes, and what the living are like, for what keepers report and, both
//! ways, for what they only suspect.

use num_traits::Zero;

use super::super::labels;
use super::super::sentences::odds as say;
use super::scene::Scene;
use super::wish::among_living;
use crate::engine::inheritance::clutch::Wanted;
use crate::engine::inheritance::locus::{AlleleId, LocusId};
use crate::engine::odds::{Odds, none};
use crate::reading::requests::Target;
use crate::species::GeneId;
use crate::species::entries::{LethalStage, LethalStatus};

/// Genes of the parents whose two copies are suspected to die and that the young can have twice, with that share.
fn suspected(scene: &Scene<'_>) -> Vec<(GeneId, Odds)> {
    lethals(scene, |status, stage| status == LethalStatus::Suspected || stage == LethalStage::Young)
}

fn lethals(scene: &Scene<'_>, counts: impl Fn(LethalStatus, LethalStage) -> bool) -> Vec<(GeneId, Odds)> {
    let mut genes: Vec<GeneId> = scene.pairing.parents.iter().flat_map(|p| p.genes.iter().map(|c| c.gene)).collect();
    genes.sort_unstable();
    genes.dedup();
    genes.retain(|g| {
        let lethal = &scene.species.gene(*g).entry.homozygous_lethal;
        lethal.as_ref().is_some_and(|l| counts(l.status, l.stage))
    });
    let shared = genes.into_iter().map(|g| (g, scene.share_with(g, 2)));
    shared.filter(|(_, share)| *share > none()).collect()
}

/// Notes on eggs that are lost, or may be.
pub(super) fn notes(scene: &Scene<'_>) -> Vec<String> {
    let mut notes = Vec::new();
    let young = scene.young();
    let brood = scene.brood();
    if young.lost() > none() {
        let mut living = Vec::new();
        for factor in young.factors().iter().filter(|f| *f.lost() > none()) {
            let live = crate::engine::odds::sure() - factor.lost();
            living.extend(factor.looks().iter().map(|class| {
                let name = labels::name(labels::at_locus(scene.species, factor.id(), &class.genotypes), false);
                (name, &class.weight / &live)
            }));
        }
        living.sort_by(|a, b| b.1.cmp(&a.1));
        notes.push(say::lost(&young.lost(), &living, brood));
    }
    for (gene, share) in suspected(scene) {
        let Some((locus, allele)) = scene.species.place(gene) else { continue };
        let Some(factor) = young.factor(locus) else { continue };
        let two = |g: crate::engine::inheritance::genotype::Genotype| g.copies_of(allele) == 2;
        let live: Odds = factor.cells().iter().filter(|c| !two(c.genotype)).map(|c| &c.weight).sum();
        let mut living: Vec<(String, Odds)> = Vec::new();
        for class in factor.looks() {
            let kept: Vec<_> = class.genotypes.iter().filter(|(g, _)| !two(*g)).cloned().collect();
            let within: Odds = kept.iter().map(|k| &k.1).sum();
            if within.is_zero() || live.is_zero() {
                continue;
            }
            let given: Vec<_> = kept.into_iter().map(|(g, p)| (g, p / &within)).collect();
            let name = labels::name(labels::at_locus(scene.species, locus, &given), false);
            living.push((name, &class.weight * &within / &live));
        }
        living.sort_by(|a, b| b.1.cmp(&a.1));
        let reported = scene.species.gene(gene).entry.homozygous_lethal.as_ref();
        let reported = reported.is_some_and(|l| l.status == LethalStatus::Reported);
        notes.push(say::may_be_lost(&scene.species.gene(gene).entry.name, &share, &living, reported, brood));
    }
    notes
}

/// The chance of a wish among the living, where that differs from the chance per egg: as reported, and if what is
/// suspected is true.
pub(super) fn aim(scene: &Scene<'_>, target: &Target, wanted: &Wanted, share: &Odds) -> Vec<String> {
    let young = scene.young();
    let mut lines = Vec::new();
    if young.lost() > none()
        && let Some((living, _)) = among_living(young, wanted, &[])
    {
        lines.push(say::aim_living(&living, &young.lost(), scene.brood()));
    }
    let deadly: Vec<(LocusId, AlleleId)> =
        suspected(scene).into_iter().filter_map(|(g, _)| scene.species.place(g)).collect();
    if !deadly.is_empty()
        && let Some((living, lost)) = among_living(young, wanted, &deadly)
        && living != *share
    {
        lines.push(say::aim_if_lost(&labels::target(scene.species, target), &living, &lost, scene.brood()));
    }
    lines
}
