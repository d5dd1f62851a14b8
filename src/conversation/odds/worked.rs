//! "How did you get 1/4?": the last answer step by step, gene by gene, then multiplied.

use num_traits::{One, Zero};

use super::super::labels;
use super::super::sentences::aspects as tell;
use super::super::sentences::odds as say;
use super::kinds::{Kind, kinds};
use super::reasons::impossible;
use super::scene::{Case, Laying, Scene};
use super::square::handed_on;
use super::wish::{of_sex, wanted};
use crate::engine::inheritance::clutch::{Chances, Wanted, per_egg};
use crate::engine::inheritance::cross::{Factor, Parent};
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, Sex};
use crate::engine::odds::{Odds, none, sure};
use crate::reading::requests::{Reading, SexSaid};
use crate::reply::Reply;
use crate::species::Species;

/// Explains the answer to `reading`: the figure that `said` names, else the wish or the first row.
pub(in crate::conversation) fn worked(species: &Species, reading: &Reading, said: &str) -> Reply {
    let pairing = &reading.pairing;
    let Some(scene) = Scene::of(species, pairing) else { return Reply::refusal(say::too_much()) };
    let mut reply = Reply { understood: super::understood(&scene), ..Reply::default() };
    let case = &scene.cases[0];
    if let Some(side) = case.side {
        reply.answer.push(say::side(species, side));
    }
    if let Some(target) = &pairing.target {
        let wanted = wanted(species, target);
        let name = labels::target(species, target);
        // Also loci that the wish does not name, where eggs are lost.
        let per_locus: Vec<(&Factor, Odds)> = case
            .young
            .factors()
            .iter()
            .map(|f| (f, counting(f, &wanted)))
            .filter(|(f, share)| names(&wanted, f) || !share.is_one())
            .collect();
        // A sex that no gene here decides is a factor of its own.
        let sexed = (target.sex != SexSaid::Unknown && scene.linked.is_none())
            .then(|| per_egg(&case.young, &of_sex(Wanted::any(), target.sex)).ok())
            .flatten()
            .map(|share| share / (sure() - case.young.lost()));
        let Ok(share) = per_egg(&case.young, &wanted) else { return reply };
        if share.is_zero() {
            reply.answer.extend(impossible(&scene, target));
            return reply;
        }
        steps(&scene, &per_locus, &wanted, sexed.as_ref(), &mut reply);
        reply.answer.push(multiplied(&per_locus, sexed.as_ref(), &share, &name));
        clutch(&scene, case, &wanted, &mut reply);
    } else {
        let Some(kind) = asked_kind(&scene, case, said) else { return reply };
        let wanted = kind.wanted();
        let per_locus: Vec<(&Factor, Odds)> =
            case.young.factors().iter().map(|f| (f, of_kind(f, &kind, &wanted))).collect();
        steps(&scene, &per_locus, &wanted, None, &mut reply);
        reply.answer.push(multiplied(&per_locus, None, &kind.share, &kind.name(&[])));
        clutch(&scene, case, &wanted, &mut reply);
    }
    reply
}

/// The kind whose figure was named, else the most likely one.
fn asked_kind(scene: &Scene<'_>, case: &Case, said: &str) -> Option<Kind> {
    let figures: Vec<String> = said
        .split_whitespace()
        .map(|w| w.trim_matches(|c: char| !c.is_ascii_digit()).to_owned())
        .filter(|w| !w.is_empty())
        .collect();
    let named = |kind: &Kind| {
        let percent = labels::percent(&kind.share);
        figures.iter().any(|f| *f == kind.share.to_string() || format!("{f} %") == percent)
    };
    let mut rows: Vec<Kind> = kinds(scene.species, &case.young).take(24).collect();
    let at = rows.iter().position(named).unwrap_or(0);
    (!rows.is_empty()).then(|| rows.swap_remove(at))
}

/// The share of a locus that counts, of the sex that counts where the locus decides it.
fn counting(factor: &Factor, wanted: &Wanted) -> Odds {
    let sexed = |sex: Option<Sex>| sex == wanted.sex() || sex.is_none() || wanted.sex().is_none();
    let cells = factor.cells().iter().filter(|c| sexed(c.sex) && wanted.counts(factor.id(), c.genotype));
    cells.map(|c| &c.weight).sum()
}

/// Whether a wish is about a locus.
fn names(wanted: &Wanted, factor: &Factor) -> bool {
    wanted.loci().any(|(id, _)| id == factor.id())
}

fn of_kind(factor: &Factor, kind: &Kind, wanted: &Wanted) -> Odds {
    let cells = factor.cells().iter().filter(|c| kind.sex.is_none() || c.sex.is_none() || c.sex == kind.sex);
    cells.filter(|c| wanted.counts(factor.id(), c.genotype)).map(|c| &c.weight).sum()
}

/// One line a gene: what each parent hands on, and what comes of it.
fn steps(scene: &Scene<'_>, loci: &[(&Factor, Odds)], wanted: &Wanted, sexed: Option<&Odds>, reply: &mut Reply) {
    reply.answer.push(tell::each_parent_hands_on());
    let mut alike = Vec::new();
    for (factor, share) in loci {
        let genotypes: Vec<(Genotype, Odds)> = factor
            .cells()
            .iter()
            .filter(|c| wanted.counts(factor.id(), c.genotype))
            .map(|c| (c.genotype, &c.weight / share))
            .collect();
        if !names(wanted, factor) {
            reply.answer.push(tell::step_alive(&genes_at(scene.species, factor), share));
            continue;
        }
        let name = step_name(scene.species, factor, &genotypes);
        if share.is_one() {
            alike.push(name);
            continue;
        }
        if factor.locus().sex_link().is_some() {
            reply.answer.push(tell::step_linked(&name, share));
            continue;
        }
        reply.answer.push(tell::step(&name, &sum(factor, &genotypes), share));
    }
    if !alike.is_empty() {
        reply.answer.push(tell::alike(&alike));
    }
    if let Some(share) = sexed {
        reply.answer.push(tell::step_sex(share));
    }
}

/// The sum over the genotypes that count, each as a product of what the parents hand on.
fn sum(factor: &Factor, genotypes: &[(Genotype, Odds)]) -> String {
    let [sire, dam] = [Parent::Sire, Parent::Dam].map(|p| handed_on(factor, p));
    let chance = |of: &[(AlleleId, Odds)], allele: AlleleId| {
        of.iter().find(|f| f.0 == allele).map_or_else(none, |f| f.1.clone())
    };
    let mut terms = Vec::new();
    for (genotype, _) in genotypes {
        let (a, b) = genotype.alleles();
        let ways = if a == b { vec![(a, b)] } else { vec![(a, b), (b, a)] };
        for (x, y) in ways {
            let (p, q) = (chance(&sire, x), chance(&dam, y));
            if p > none() && q > none() {
                terms.push(format!("{p} × {q}"));
            }
        }
    }
    terms.join(" + ")
}

fn multiplied(loci: &[(&Factor, Odds)], sexed: Option<&Odds>, share: &Odds, name: &str) -> String {
    let factors = loci.iter().map(|l| &l.1).chain(sexed).filter(|p| !p.is_one());
    let factors: Vec<String> = factors.map(ToString::to_string).collect();
    tell::multiplied(&factors, share, name)
}

/// From one egg to the clutch: over the parents' genotypes first, then over the eggs.
fn clutch(scene: &Scene<'_>, case: &Case, wanted: &Wanted, reply: &mut Reply) {
    let Some(Laying::Stated { n, k }) = scene.asked_laying() else { return };
    let n = u64::from(n) * u64::from(k);
    let Ok(chances) = Chances::of(&case.young, wanted) else { return };
    let Ok(hit) = chances.at_least_one(n) else { return };
    let cases: Vec<(Odds, Odds)> = chances.cases().map(|c| (c.weight, c.any)).collect();
    reply.answer.push(tell::step_clutch(&cases, n, &hit, scene.brood()));
}

/// One gene's young with their shares: "Clown: 1/4 Clown, 1/2 het Clown, 1/4 without".
pub(super) fn factor_line(species: &Species, factor: &Factor) -> String {
    tell::factor(&genes_at(species, factor), &parts_of(species, factor))
}

/// What one gene's young are, each with its share.
pub(super) fn parts_of(species: &Species, factor: &Factor) -> Vec<(String, Odds)> {
    parts_with_genotypes(species, factor).into_iter().map(|(_, name, share)| (name, share)).collect()
}

/// The same with the genotype of each.
pub(super) fn parts_with_genotypes(species: &Species, factor: &Factor) -> Vec<(Genotype, String, Odds)> {
    let mut merged: Vec<(Genotype, Odds)> = Vec::new();
    for cell in factor.cells() {
        match merged.iter_mut().find(|m| m.0.alleles() == cell.genotype.alleles()) {
            Some(old) => old.1 += &cell.weight,
            None => merged.push((cell.genotype, cell.weight.clone())),
        }
    }
    merged.sort_by(|a, b| b.0.copies_of(AlleleId::WILD).cmp(&a.0.copies_of(AlleleId::WILD)).reverse());
    merged
        .into_iter()
        .map(|(g, share)| {
            let name = labels::name(labels::at_locus(species, factor.id(), &[(g, sure())]), true);
            (g, if name.is_empty() { tell::without() } else { name }, share)
        })
        .collect()
}

/// The genes that the parents have at a locus.
pub(super) fn genes_at<'a>(species: &'a Species, factor: &Factor) -> Vec<&'a str> {
    let of = |parent| factor.parent(parent).genotypes().flat_map(|(g, _)| [g.alleles().0, g.alleles().1]);
    let mut alleles: Vec<AlleleId> = of(Parent::Sire).chain(of(Parent::Dam)).collect();
    alleles.sort_unstable();
    alleles.dedup();
    let genes = alleles.into_iter().filter_map(|a| labels::gene_of(species, factor.id(), a));
    genes.map(|g| species.gene(g).entry.name.as_str()).collect()
}

/// What a step gives: what shows there, or what does not.
fn step_name(species: &Species, factor: &Factor, genotypes: &[(Genotype, Odds)]) -> String {
    let parts = labels::at_locus(species, factor.id(), genotypes);
    if parts.iter().any(|p| p.0.shows()) {
        return labels::name(parts, true);
    }
    let hets: Vec<String> = parts.into_iter().map(|p| p.1).collect();
    match (&genotypes, &hets[..]) {
        // One genotype only: it is a het for sure.
        ([_], [het]) => het.clone(),
        _ => tell::not_shown(&genes_at(species, factor), &hets),
    }
}
