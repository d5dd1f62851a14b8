//! Genotypes and genes in the trade's words.

use num_traits::One;

use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, LocusId};
use crate::engine::odds::{Odds, odds, to_f64};
use crate::reading::requests::{Animal, SexSaid};
use crate::species::{GeneId, Species};

/// A share in percent, without false digits.
pub(super) fn percent(share: &Odds) -> String {
    let value = to_f64(share) * 100.0;
    let text = if value >= 99.95 && *share < odds(1, 1) {
        "over 99.9".to_owned()
    } else if value >= 10.0 {
        format!("{value:.1}")
    } else if value >= 0.01 || value == 0.0 {
        format!("{value:.2}")
    } else {
        "under 0.01".to_owned()
    };
    let text = if text.contains('.') && !text.contains(' ') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    };
    format!("{text} %")
}

/// "66 %" and its like as the trade writes them, the exact fraction for others.
pub(super) fn het_share(share: &Odds) -> String {
    for (n, d, label) in [(2, 3, "66 %"), (1, 2, "50 %"), (1, 3, "33 %"), (1, 4, "25 %")] {
        if *share == odds(n, d) {
            return label.to_owned();
        }
    }
    format!("{} ({share})", percent(share))
}

fn gene_of(species: &Species, locus: LocusId, allele: AlleleId) -> Option<GeneId> {
    let n = usize::from(allele.0).checked_sub(1)?;
    species.loci().get(usize::from(locus.0))?.genes.get(n).copied()
}

/// What shows at one locus and what may be carried unseen: "Clown", "het Clown", "66 % het Clown", nothing.
pub(super) fn at_locus(
    species: &Species,
    locus: LocusId,
    genotypes: &[(Genotype, Odds)],
) -> (Option<String>, Option<String>) {
    let shows = |g: Genotype| -> Option<String> {
        let (a, b) = g.alleles();
        match (gene_of(species, locus, a), gene_of(species, locus, b)) {
            (Some(x), Some(y)) if x == y => Some(species.gene(x).label(2).to_owned()),
            (Some(x), Some(y)) => Some(pair_name(species, x, y)),
            (Some(x), None) | (None, Some(x)) if !species.gene(x).is_recessive() => {
                Some(species.gene(x).label(1).to_owned())
            }
            _ => None,
        }
    };
    let hidden = |g: Genotype| -> Option<GeneId> {
        let (a, b) = g.alleles();
        match (gene_of(species, locus, a), gene_of(species, locus, b)) {
            (Some(x), None) | (None, Some(x)) if species.gene(x).is_recessive() => Some(x),
            _ => None,
        }
    };
    if let [(only, _)] = genotypes {
        return (shows(*only), hidden(*only).map(|g| species.gene(g).label(1).to_owned()));
    }
    if genotypes.iter().all(|(g, _)| shows(*g).is_some()) {
        // One or two copies that look alike.
        let two: Odds = genotypes.iter().filter(|(g, _)| g.alleles().0 == g.alleles().1).map(|(_, p)| p.clone()).sum();
        let name = genotypes.first().and_then(|(g, _)| {
            let (a, b) = g.alleles();
            gene_of(species, locus, a).or_else(|| gene_of(species, locus, b))
        });
        let name = name.map_or_else(String::new, |g| species.gene(g).entry.name.clone());
        return (Some(name), Some(format!("{} two copies", het_share(&two))));
    }
    let mut hets: Vec<(GeneId, Odds)> = Vec::new();
    for (g, p) in genotypes {
        if let Some(gene) = hidden(*g) {
            match hets.iter_mut().find(|h| h.0 == gene) {
                Some(old) => old.1 += p,
                None => hets.push((gene, p.clone())),
            }
        }
    }
    let words: Vec<String> = hets
        .iter()
        .map(|(g, p)| {
            if p.is_one() {
                species.gene(*g).label(1).to_owned()
            } else {
                format!("{} {}", het_share(p), species.gene(*g).label(1))
            }
        })
        .collect();
    (None, (!words.is_empty()).then(|| words.join(" or ")))
}

fn pair_name(species: &Species, a: GeneId, b: GeneId) -> String {
    let (x, y) = (&species.gene(a).entry, &species.gene(b).entry);
    species
        .file()
        .allele_pair
        .iter()
        .find(|p| p.alleles.contains(&x.id) && p.alleles.contains(&y.id))
        .map_or_else(|| format!("{} {}", x.name, y.name), |p| format!("{} ({} + {})", p.name, x.name, y.name))
}

/// "female, Pastel, het Clown".
pub(super) fn animal(species: &Species, animal: &Animal) -> String {
    let mut shown = Vec::new();
    let mut hets = Vec::new();
    for c in &animal.genes {
        let gene = species.gene(c.gene);
        let label = gene.label(c.copies);
        let sure = c.chance.is_one();
        let text = if sure { label.to_owned() } else { format!("{} {label}", het_share(&c.chance)) };
        if gene.is_recessive() && c.copies == 1 {
            hets.push(text);
        } else {
            shown.push(text);
        }
    }
    if shown.is_empty() {
        shown.push("normal-looking".to_owned());
    }
    shown.append(&mut hets);
    format!("{}{}", mark(animal.sex), shown.join(", "))
}

/// The mark that stands before an animal of a known sex.
pub(super) fn mark(sex: SexSaid) -> &'static str {
    match sex {
        SexSaid::Male => "♂ ",
        SexSaid::Female => "♀ ",
        SexSaid::Unknown => "",
    }
}

/// Genes and copies in words.
pub(super) fn genes(species: &Species, genes: &[(GeneId, u8)]) -> String {
    if genes.is_empty() {
        return "a normal".to_owned();
    }
    genes.iter().map(|(g, n)| species.gene(*g).label(*n).to_owned()).collect::<Vec<_>>().join(", ")
}
