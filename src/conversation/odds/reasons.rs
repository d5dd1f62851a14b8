//! Why a kind of young cannot come, and on which uncertain parent it hangs.

use super::super::labels;
use super::super::sentences::odds as say;
use super::scene::Scene;
use crate::engine::inheritance::locus::{AlleleId, LocusId};
use crate::engine::odds::none;
use crate::reading::requests::{Animal, Target};
use crate::species::GeneId;
use crate::species::entries::{LethalStage, LethalStatus};

/// What stands in the way of a wish, a sentence each; never empty.
pub(super) fn impossible(scene: &Scene<'_>, target: &Target) -> Vec<String> {
    let species = scene.species;
    let mut reasons: Vec<String> = Vec::new();
    for (gene, copies) in &target.genes {
        let lacks: Vec<&Animal> = scene.pairing.parents.iter().filter(|p| !carries(p, *gene)).collect();
        let entry = &species.gene(*gene).entry;
        let unborn =
            |l: &crate::species::entries::Lethal| l.status == LethalStatus::Reported && l.stage == LethalStage::Unborn;
        let alone = others_at(scene, target, *gene).is_empty();
        if *copies == 2 && lacks.is_empty() && entry.homozygous_lethal.as_ref().is_some_and(unborn) {
            reasons.push(say::lost_unborn(&entry.name));
        } else if lacks.len() == 2 {
            reasons.push(say::neither_carries(&entry.name));
        } else if *copies == 2
            && let [one] = lacks[..]
        {
            let most = species.gene(*gene).label(1);
            reasons.push(say::one_side_only(&entry.name, &who(scene, one), most));
        } else if alone && target.hets.contains(gene) && scene.share_with(*gene, 2) > none() {
            reasons.push(say::all_have_two(species.gene(*gene).label(2)));
        }
    }
    for (gene, _) in &target.genes {
        let others = others_at(scene, target, *gene);
        if let Some(other) = others.first().filter(|o| **o > *gene) {
            let names = [*gene, *other].map(|g| species.gene(g).entry.name.clone());
            reasons.push(say::one_allele_each(&names));
        }
    }
    if target.genes.is_empty() {
        reasons.push(say::always_shows());
    }
    if reasons.is_empty() {
        reasons.push(say::never_together());
    }
    reasons
}

/// Genes of the wish at the same locus as this one.
fn others_at(scene: &Scene<'_>, target: &Target, gene: GeneId) -> Vec<GeneId> {
    let locus = |g: GeneId| scene.species.place(g).map(|p: (LocusId, AlleleId)| p.0);
    let others = target.genes.iter().map(|g| g.0);
    others.filter(|g| *g != gene && locus(*g) == locus(gene)).collect()
}

/// A parent in words.
fn who(scene: &Scene<'_>, animal: &Animal) -> String {
    let first = std::ptr::eq(animal, &raw const scene.pairing.parents[0]);
    say::who(animal.sex, first, &labels::look(scene.species, animal))
}

fn carries(animal: &Animal, gene: GeneId) -> bool {
    animal.genes.iter().any(|c| c.gene == gene && c.chance > none())
}

/// The parents that only may carry what the wish needs: who, and what.
pub(super) fn lacking(scene: &Scene<'_>, target: &Target) -> Vec<String> {
    let mut unsure = Vec::new();
    for parent in &scene.pairing.parents {
        for c in &parent.genes {
            let named = target.genes.iter().any(|(g, _)| *g == c.gene);
            if named && c.chance < crate::engine::odds::sure() {
                let (_, label) = labels::part(scene.species, c.gene, c.copies);
                let who = super::reasons::who(scene, parent);
                let who = who.split_once(" (").map_or(who.as_str(), |(which, _)| which);
                unsure.push(say::may_carry(who, &labels::het_share(&c.chance), &label));
            }
        }
    }
    unsure
}
