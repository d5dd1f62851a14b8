//! The best that a pairing can make: the young with the most genes that show.

use super::super::labels;
use super::super::sentences::aspects as tell;
use super::super::sentences::odds as say;
use super::kinds::Kind;
use super::scene::{Case, Scene};
use crate::engine::inheritance::clutch::Chances;
use crate::engine::inheritance::cross::Factor;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::AlleleId;
use crate::engine::inheritance::outcomes::LookClass;
use crate::engine::odds::sure;
use crate::reading::requests::Target;
use crate::reply::Reply;
use crate::species::entries::{AppliesTo, Severity};
use crate::species::{GeneId, Species};

/// Adds the best kind of young of one cross. Two copies that are said to kill or to harm are never called the best.
pub(super) fn best(scene: &Scene<'_>, case: &Case, reply: &mut Reply) {
    if let Some(side) = case.side {
        reply.answer.push(say::side(scene.species, side));
    }
    let Some(kind) = best_kind(scene, case) else { return };
    let brood = scene.brood();
    if kind.is_normal() {
        reply.answer.push(tell::nothing_shows());
        return;
    }
    reply.answer.push(tell::best(&kind.name(&[]), &kind.share, brood));
    if let Some(laying) = scene.laying()
        && let Ok(chances) = Chances::of(&case.young, &kind.wanted())
        && let Ok(found) = chances.in_clutch(&laying.size())
    {
        reply.answer.push(say::at_least_one(&found.at_least_one, None, &found.expected, &laying, brood));
        let usual = say::usual(&laying, brood);
        if !usual.is_empty() && !reply.notes.contains(&usual) {
            reply.notes.push(usual);
        }
    }
}

/// The best kind as a wish, for "how many eggs" without one.
pub(super) fn best_target(scene: &Scene<'_>) -> Option<Target> {
    let case = scene.cases.first()?;
    let kind = best_kind(scene, case).filter(|kind| !kind.is_normal())?;
    let mut target = Target::default();
    for (locus, genotypes) in &kind.told {
        let (genotype, _) = genotypes.first()?;
        let genes = scene.species.loci().get(usize::from(locus.0)).map_or(&[][..], |l| &l.genes);
        for (n, gene) in (1..).zip(genes) {
            let copies = genotype.copies_of(AlleleId(n));
            if copies == 2 || copies == 1 && !scene.species.gene(*gene).is_recessive() {
                target.genes.push((*gene, if genotypes.len() > 1 { 1 } else { copies }));
            }
        }
    }
    Some(target)
}

/// Loci are independent given the parents, so the best of each makes the best young; the product is not searched.
fn best_kind(scene: &Scene<'_>, case: &Case) -> Option<Kind> {
    let mut kind = Kind { sex: None, share: sure(), parts: Vec::new(), told: Vec::new() };
    for factor in case.young.factors() {
        let class = best_class(scene.species, factor)?;
        kind.sex = kind.sex.or(class.sex);
        kind.share *= &class.weight;
        kind.parts.push((factor.id(), labels::at_locus(scene.species, factor.id(), &class.genotypes)));
        kind.told.push((factor.id(), class.genotypes.to_vec()));
    }
    Some(kind)
}

/// The look of one locus that shows the most, two copies that harm left aside; of equals the likeliest.
fn best_class(species: &Species, factor: &Factor) -> Option<LookClass> {
    let gene = |n| labels::gene_of(species, factor.id(), n);
    let harmful = |genotype: Genotype| {
        let (a, b) = genotype.alleles();
        let (Some(x), Some(y)) = (gene(a), gene(b)) else { return false };
        harms(species, x, y) || harms(species, y, x)
    };
    let score = |class: &LookClass| {
        let shows = labels::at_locus(species, factor.id(), &class.genotypes).iter().any(|p| p.0.shows());
        let (a, b) = class.genotypes.first().map_or((0, 0), |(g, _)| (g.alleles().0.0, g.alleles().1.0));
        u8::from(shows) * (u8::from(a != 0) + u8::from(b != 0))
    };
    let looks = factor.looks();
    let spared = looks.iter().filter(|class| !class.genotypes.iter().all(|(g, _)| harmful(*g)));
    let best = spared.max_by(|a, b| score(a).cmp(&score(b)).then(a.weight.cmp(&b.weight)));
    best.or(looks.first()).cloned()
}

/// Whether these two alleles together are said to kill or to do serious harm.
fn harms(species: &Species, gene: GeneId, with: GeneId) -> bool {
    let entry = &species.gene(gene).entry;
    let second = gene == with || entry.welfare.iter().any(|w| w.with.contains(&species.gene(with).entry.id));
    let serious = entry.welfare.iter().any(|w| w.severity == Severity::Serious && w.applies_to == AppliesTo::TwoCopies);
    second && !species.gene(gene).is_recessive() && (serious || gene == with && entry.homozygous_lethal.is_some())
}
