//! The square of a pairing: gametes against gametes for one or two genes, the factors for more.

use std::cmp::Reverse;

use super::super::labels;
use super::super::sentences::aspects as tell;
use super::kinds::kinds;
use super::scene::{Scene, varied};
use super::worked::factor_line;
use crate::engine::inheritance::cross::{Factor, Parent};
use crate::engine::inheritance::locus::{AlleleId, LocusId};
use crate::engine::odds::{Odds, half, none, sure};
use crate::reading::requests::SexSaid;
use crate::reply::{Grid, Reply, Row};

/// Gametes of one parent at most: two genes with two alleles each.
const MOST_GAMETES: usize = 4;

/// Adds the square, or the factors.
pub(super) fn square(scene: &Scene<'_>, reply: &mut Reply) {
    let young = scene.young();
    let varied = varied(young);
    let codes = codes(scene, &varied);
    let (down, across) = (gametes(scene, &varied, Parent::Sire, &codes), gametes(scene, &varied, Parent::Dam, &codes));
    if !fits(scene, &varied, &down, &across) {
        reply.answer.push(tell::factors(varied.len()));
        for id in &varied {
            if let Some(factor) = young.factor(*id) {
                reply.answer.push(factor_line(scene.species, factor));
            }
        }
        return;
    }
    let sexed = scene.pairing.parents.iter().any(|p| p.sex != SexSaid::Unknown);
    reply.answer.push(tell::square(sexed));
    let head = |(alleles, share): &(Vec<AlleleId>, Odds)| {
        format!("{} {}", write(&varied, alleles, &codes), labels::fraction(share).replace("all", "1"))
    };
    let cell = |a: &[AlleleId], b: &[AlleleId]| {
        let loci = varied.iter().zip(a.iter().zip(b)).map(|(id, (x, y))| copies(&codes, *id, *x, *y).concat());
        loci.collect::<Vec<_>>().join(" ")
    };
    reply.grid = Some(Grid {
        top: across.iter().map(head).collect(),
        lines: down.iter().map(|d| (head(d), across.iter().map(|a| cell(&d.0, &a.0)).collect())).collect(),
    });
    for kind in kinds(scene.species, young).take(9) {
        reply.rows.push(Row {
            fraction: labels::fraction(&kind.share),
            percent: labels::percent(&kind.share),
            kind: kind.name(&[]),
            in_clutch: None,
        });
    }
    reply.notes.push(tell::legend(&legend(scene, &codes)));
}

/// The signs of two copies; the one that is not wild stands first, as the trade writes it.
pub(super) fn copies(codes: &Codes, id: LocusId, x: AlleleId, y: AlleleId) -> [String; 2] {
    let (x, y) = if x < y { (y, x) } else { (x, y) };
    [x, y].map(|allele| code(codes, id, allele).to_owned())
}

/// What each sign stands for.
pub(super) fn legend(scene: &Scene<'_>, codes: &Codes) -> Vec<(String, String)> {
    let named = |(id, allele, code): &(LocusId, AlleleId, String)| {
        let gene = labels::gene_of(scene.species, *id, *allele)?;
        Some((code.clone(), scene.species.gene(gene).entry.name.clone()))
    };
    codes.iter().filter_map(named).collect()
}

/// Whether a square holds these genes.
pub(super) fn fits(scene: &Scene<'_>, varied: &[LocusId], down: &[Handed], across: &[Handed]) -> bool {
    (1..=2).contains(&varied.len())
        && scene.linked.is_none()
        && down.len() <= MOST_GAMETES
        && across.len() <= MOST_GAMETES
}

/// What a parent hands on, with its chance.
pub(super) type Handed = (Vec<AlleleId>, Odds);

pub(super) type Codes = Vec<(LocusId, AlleleId, String)>;

/// A short sign for each allele in play: its first letters, as many as tell it from the others; "+" for the wild type.
pub(super) fn codes(scene: &Scene<'_>, loci: &[LocusId]) -> Codes {
    let mut codes: Codes = Vec::new();
    for id in loci {
        let mut alleles: Vec<AlleleId> = Vec::new();
        if let Some(factor) = scene.young().factor(*id) {
            for parent in [Parent::Sire, Parent::Dam] {
                for (genotype, _) in factor.parent(parent).genotypes() {
                    let (a, b) = genotype.alleles();
                    alleles.extend([a, b]);
                }
            }
        }
        alleles.sort_unstable();
        alleles.dedup();
        for allele in alleles {
            let Some(gene) = labels::gene_of(scene.species, *id, allele) else { continue };
            let letters: Vec<char> =
                scene.species.gene(gene).entry.name.chars().filter(|c| c.is_alphanumeric()).collect();
            let unique = (1..=letters.len())
                .map(|n| letters[..n].iter().collect::<String>().to_lowercase())
                .find(|code| !codes.iter().any(|c| c.2 == *code));
            codes.push((*id, allele, unique.unwrap_or_else(|| format!("{}", codes.len() + 1))));
        }
    }
    codes
}

pub(super) fn code(codes: &Codes, id: LocusId, allele: AlleleId) -> &str {
    codes.iter().find(|c| c.0 == id && c.1 == allele).map_or("+", |c| c.2.as_str())
}

fn write(loci: &[LocusId], alleles: &[AlleleId], codes: &Codes) -> String {
    loci.iter().zip(alleles).map(|(id, a)| code(codes, *id, *a)).collect::<Vec<_>>().join(" ")
}

/// What a parent hands on at these loci together, with its chances, likeliest first.
pub(super) fn gametes(scene: &Scene<'_>, loci: &[LocusId], parent: Parent, codes: &Codes) -> Vec<Handed> {
    let mut found: Vec<Handed> = vec![(Vec::new(), sure())];
    for id in loci {
        let Some(factor) = scene.young().factor(*id) else { continue };
        let here = handed_on(factor, parent);
        found = found
            .iter()
            .flat_map(|(alleles, share)| {
                here.iter().map(move |(allele, chance)| {
                    let mut alleles = alleles.clone();
                    alleles.push(*allele);
                    (alleles, share * chance)
                })
            })
            .collect();
        if found.len() > 4 * MOST_GAMETES {
            return found;
        }
    }
    found.sort_by_key(|(alleles, _)| write(loci, alleles, codes).chars().filter(|c| *c == '+').count());
    found
}

/// The alleles that a parent hands on at one locus, mixed over what is believed of it.
pub(super) fn handed_on(factor: &Factor, parent: Parent) -> Vec<(AlleleId, Odds)> {
    let mut found: Vec<(AlleleId, Odds)> = Vec::new();
    for (genotype, weight) in factor.parent(parent).genotypes() {
        let (a, b) = genotype.alleles();
        for allele in [a, b] {
            match found.iter_mut().find(|f| f.0 == allele) {
                Some(old) => old.1 += weight * half(),
                None => found.push((allele, weight * half())),
            }
        }
    }
    found.retain(|f| f.1 > none());
    found.sort_unstable_by_key(|f| Reverse(f.0));
    found
}
