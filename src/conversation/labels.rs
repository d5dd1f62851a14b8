//! Genotypes and genes in the trade's words, in the trade's order: supers, single visible genes, visuals of recessives,
//! then what is carried unseen.

use num_traits::{One, Signed, Zero};

use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, LocusId};
use crate::engine::odds::{Odds, odds};
use crate::reading::requests::{Animal, SexSaid, Target};
use crate::species::{GeneId, Species};

/// Where a gene stands in a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Part {
    Super,
    Visible,
    Visual,
    Het,
    MaybeHet,
}

impl Part {
    /// Whether it can be seen.
    pub(super) fn shows(self) -> bool {
        self < Part::Het
    }
}

/// One gene of a name, with its place.
pub(super) type Named = (Part, String);

/// What an animal that shows nothing is called.
pub(super) const NORMAL: &str = "normal-looking";

/// The parts of a name in the trade's order; "normal-looking" stands where nothing shows, unless `bare`.
pub(super) fn name(mut parts: Vec<Named>, bare: bool) -> String {
    parts.sort();
    let normal = !bare && !parts.iter().any(|p| p.0.shows());
    let words = normal.then_some(NORMAL).into_iter().chain(parts.iter().map(|p| p.1.as_str()));
    words.collect::<Vec<_>>().join(", ")
}

/// A share in percent: exact where two decimals hold it, else to about three figures.
pub(super) fn percent(share: &Odds) -> String {
    let value = share * odds(100, 1);
    let fine = &value * odds(100, 1);
    let text = if fine.is_integer() {
        decimals(&fine, 2)
    } else if value > odds(9995, 100) && *share < odds(1, 1) {
        "over 99.9".to_owned()
    } else if value >= odds(10, 1) {
        decimals(&(value * odds(10, 1)), 1)
    } else if value >= odds(1, 100) {
        decimals(&fine, 2)
    } else {
        "under 0.01".to_owned()
    };
    format!("{text} %")
}

/// A chance that is known as a floating-point number only, in percent.
pub(super) fn percent_f64(chance: f64) -> String {
    Odds::from_float(chance.clamp(0.0, 1.0)).map_or_else(|| "unknown".to_owned(), |share| percent(&share))
}

/// A number given in units of the last of `n` decimals, rounded half up, without trailing zeros.
fn decimals(scaled: &Odds, n: usize) -> String {
    let whole = (scaled + odds(1, 2)).floor().to_integer().to_string();
    let padded = format!("{whole:0>width$}", width = n + 1);
    let (units, rest) = padded.split_at(padded.len() - n);
    let rest = rest.trim_end_matches('0');
    if rest.is_empty() { units.to_owned() } else { format!("{units}.{rest}") }
}

/// An expected number: one decimal, two below 1.
pub(super) fn number(expected: &Odds) -> String {
    if expected.is_negative() {
        return "0".to_owned();
    }
    if *expected >= odds(1, 1) {
        decimals(&(expected * odds(10, 1)), 1)
    } else {
        decimals(&(expected * odds(100, 1)), 2)
    }
}

/// A share as a fraction. One that would fill the line is given as "about 1 in 8,200".
pub(super) fn fraction(share: &Odds) -> String {
    if share.is_one() {
        return "all".to_owned();
    }
    let text = share.to_string();
    if text.len() <= 11 {
        return text;
    }
    if *share >= odds(995, 1000) {
        "nearly all".to_owned()
    } else if *share > odds(1, 10) {
        format!("about {} in 100", decimals(&(share * odds(100, 1)), 0))
    } else {
        format!("about 1 in {}", round_number(&share.recip()))
    }
}

/// A large number to two figures, with commas.
fn round_number(value: &Odds) -> String {
    let mut digits = value.round().to_integer().to_string();
    let keep = 2.min(digits.len());
    if digits.len() > 2 {
        let zeros = digits.len() - keep;
        digits.truncate(keep);
        digits.push_str(&"0".repeat(zeros));
    }
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(c);
    }
    out
}

/// "66 %" and its like as the trade writes them, the exact fraction for others.
pub(super) fn het_share(share: &Odds) -> String {
    for (n, d, label) in [(2, 3, "66 %"), (1, 2, "50 %"), (1, 3, "33 %"), (1, 4, "25 %")] {
        if *share == odds(n, d) {
            return label.to_owned();
        }
    }
    let exact = share.to_string();
    if share.is_integer() {
        return percent(share);
    }
    if exact.len() <= 9 { format!("{} ({exact})", percent(share)) } else { percent(share) }
}

/// The gene of an allele at a locus; none for the wild type.
pub(super) fn gene_of(species: &Species, locus: LocusId, allele: AlleleId) -> Option<GeneId> {
    let n = usize::from(allele.0).checked_sub(1)?;
    species.loci().get(usize::from(locus.0))?.genes.get(n).copied()
}

/// What one genotype shows.
fn shown(species: &Species, locus: LocusId, genotype: Genotype) -> Option<Named> {
    let (a, b) = genotype.alleles();
    match (gene_of(species, locus, a), gene_of(species, locus, b)) {
        (Some(x), Some(y)) => {
            let recessive = species.gene(x).is_recessive() && species.gene(y).is_recessive();
            let name = if x == y { species.gene(x).label(2).to_owned() } else { pair_name(species, x, y) };
            Some((if recessive { Part::Visual } else { Part::Super }, name))
        }
        (Some(x), None) | (None, Some(x)) if !species.gene(x).is_recessive() => {
            Some((Part::Visible, species.gene(x).label(1).to_owned()))
        }
        _ => None,
    }
}

/// The recessive that one genotype carries unseen.
fn hidden(species: &Species, locus: LocusId, genotype: Genotype) -> Option<GeneId> {
    let (a, b) = genotype.alleles();
    match (gene_of(species, locus, a), gene_of(species, locus, b)) {
        (Some(x), None) | (None, Some(x)) if species.gene(x).is_recessive() => Some(x),
        _ => None,
    }
}

/// What shows at one locus and what may be carried unseen, given the chances of genotypes that look alike.
pub(super) fn at_locus(species: &Species, locus: LocusId, genotypes: &[(Genotype, Odds)]) -> Vec<Named> {
    let Some((first, _)) = genotypes.first() else { return Vec::new() };
    if let Some((part, label)) = shown(species, locus, *first) {
        // One or two copies may look alike; on which side of a sex chromosome a copy sits never shows.
        let two = |g: Genotype| g.alleles().0 == g.alleles().1;
        let share: Odds = genotypes.iter().filter(|(g, _)| two(*g)).map(|(_, p)| p).sum();
        if share.is_zero() || share.is_one() {
            return vec![(part, label)];
        }
        let (a, b) = first.alleles();
        let gene = gene_of(species, locus, a).or_else(|| gene_of(species, locus, b));
        let name = gene.map_or(label, |g| species.gene(g).label(1).to_owned());
        return vec![(Part::Visible, format!("{name} ({} two copies)", het_share(&share)))];
    }
    let mut hets: Vec<(GeneId, Odds)> = Vec::new();
    for (genotype, share) in genotypes {
        if let Some(gene) = hidden(species, locus, *genotype) {
            match hets.iter_mut().find(|h| h.0 == gene) {
                Some(old) => old.1 += share,
                None => hets.push((gene, share.clone())),
            }
        }
    }
    let words = hets.iter().map(|(gene, share)| {
        let label = species.gene(*gene).label(1);
        if share.is_one() {
            (Part::Het, label.to_owned())
        } else {
            (Part::MaybeHet, format!("{} {label}", het_share(share)))
        }
    });
    let mut words: Vec<Named> = words.collect();
    // Two recessives of one locus exclude each other where nothing shows.
    if words.len() > 1 {
        let joined = words.iter().map(|w| w.1.as_str()).collect::<Vec<_>>().join(" or ");
        words = vec![(Part::MaybeHet, joined)];
    }
    words
}

fn pair_name(species: &Species, a: GeneId, b: GeneId) -> String {
    let (x, y) = (&species.gene(a).entry, &species.gene(b).entry);
    let pairs = &species.file().allele_pair;
    let named = pairs.iter().find(|p| p.alleles.contains(&x.id) && p.alleles.contains(&y.id));
    named.map_or_else(|| format!("{} {}", x.name, y.name), |p| format!("{} ({} + {})", p.name, x.name, y.name))
}

/// One gene of an animal or a wish as a part of its name.
pub(super) fn part(species: &Species, gene: GeneId, copies: u8) -> Named {
    let it = species.gene(gene);
    let part = match (it.is_recessive(), copies) {
        (true, 2..) => Part::Visual,
        (true, _) => Part::Het,
        (false, 2..) => Part::Super,
        (false, _) => Part::Visible,
    };
    (part, it.label(copies).to_owned())
}

/// "♀ Pastel, het Clown".
pub(super) fn animal(species: &Species, animal: &Animal) -> String {
    format!("{}{}", mark(animal.sex), look(species, animal))
}

/// "Pastel, het Clown".
pub(super) fn look(species: &Species, animal: &Animal) -> String {
    let mut parts: Vec<Named> = Vec::new();
    let mut told: Vec<GeneId> = Vec::new();
    for c in &animal.genes {
        if told.contains(&c.gene) {
            continue;
        }
        told.push(c.gene);
        let (part, label) = part(species, c.gene, c.copies);
        if c.chance.is_one() {
            parts.push((part, label));
            continue;
        }
        // Alternatives of one gene stand together: "66 % Pastel, 33 % Super Pastel".
        let mut ways: Vec<_> = animal.genes.iter().filter(|o| o.gene == c.gene).collect();
        ways.sort_by_key(|o| o.copies);
        let words =
            ways.iter().map(|o| format!("{} {}", het_share(&o.chance), self::part(species, o.gene, o.copies).1));
        let part = match part {
            Part::Het => Part::MaybeHet,
            Part::Super => Part::Visible,
            other => other,
        };
        parts.push((part, words.collect::<Vec<_>>().join(", ")));
    }
    // "het Clown" alone says that the animal looks normal.
    name(parts, !animal.genes.is_empty())
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
    name(genes.iter().map(|(g, n)| part(species, *g, *n)).collect(), true)
}

/// What is wished for, in words.
pub(super) fn target(species: &Species, target: &Target) -> String {
    format!("{}{}", mark(target.sex), genes(species, &target.genes))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn percent_has_no_false_digits() {
        for (n, d, words) in [
            (1, 2, "50 %"),
            (1, 16, "6.25 %"),
            (9, 16, "56.25 %"),
            (1, 3, "33.3 %"),
            (2, 3, "66.7 %"),
            (3, 32, "9.38 %"),
            (27, 64, "42.2 %"),
            (1, 64, "1.56 %"),
            (1, 1, "100 %"),
            (0, 1, "0 %"),
            (1, 65_536, "under 0.01 %"),
            (65_535, 65_536, "over 99.9 %"),
            (999, 1000, "99.9 %"),
        ] {
            assert_eq!(percent(&odds(n, d)), words, "{n}/{d}");
        }
    }

    #[test]
    fn long_fractions_are_rounded_not_cut() {
        assert_eq!(fraction(&odds(1, 1_048_576)), "1/1048576");
        assert_eq!(fraction(&odds(531_441, 4_294_967_296)), "about 1 in 8,000");
        assert_eq!(fraction(&odds(4_294_967_295, 4_294_967_296)), "nearly all");
        assert_eq!(fraction(&odds(1_000_003, 4_000_037)), "about 25 in 100");
        assert_eq!(number(&odds(7, 4)), "1.8");
        assert_eq!(number(&odds(1, 8)), "0.13");
    }
}
