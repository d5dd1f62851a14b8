//! What must be said first about a pairing: the cautions of the catalogue for the genes that are in play.
//!
//! In: a species and a read pairing. Out: [`Caution`]s, the most serious first, each gene's once. The English is in `sentences`.

use std::collections::BTreeMap;

use super::sentences::cautions as say;
use crate::reading::requests::{Animal, Pairing, SexSaid};
use crate::species::care::{Range, Unit};
use crate::species::entries::{AppliesTo, BreedingLimit, Effect, Severity, Welfare, WelfareKind};
use crate::species::{GeneId, Species};

/// One thing known against a pairing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Caution {
    /// Published harm first, then what touches nerves or life, other serious harm, and the rest.
    rank: u8,
    /// What kind of harm it is, for a short list.
    tag: Tag,
    /// The genes it is about; none for one about an animal.
    pub(super) genes: Vec<GeneId>,
    /// Whether a published source is behind it.
    pub(super) published: bool,
    /// Ids of its sources.
    source: Vec<String>,
    /// The whole sentence.
    pub(super) text: String,
}

/// Kinds of harm, for a short list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Tag {
    /// The animal itself.
    Animal,
    /// The "wobble genes".
    Wobble,
    /// Young that die.
    Loss,
    /// Two genes that should not meet.
    Meeting,
    /// Bones and spine.
    Skeleton,
    /// Eyes.
    Eyes,
    /// Skin and light.
    Skin,
    /// Tumours.
    Tumour,
    /// Eggs and laying.
    Fertility,
    /// Weak young and other harm.
    Frailty,
    /// The trade's own limit on breeding it.
    Limit,
}

impl From<WelfareKind> for Tag {
    fn from(kind: WelfareKind) -> Self {
        match kind {
            WelfareKind::Neurological => Self::Wobble,
            WelfareKind::Skeleton => Self::Skeleton,
            WelfareKind::Eyes => Self::Eyes,
            WelfareKind::Light | WelfareKind::Skin => Self::Skin,
            WelfareKind::Tumour => Self::Tumour,
            WelfareKind::Fertility => Self::Fertility,
            WelfareKind::Frailty => Self::Frailty,
        }
    }
}

/// Everything known against a pairing, the most serious first.
pub(super) fn cautions(species: &Species, pairing: &Pairing) -> Vec<Caution> {
    let parents = &pairing.parents;
    let mut found: Vec<Caution> = parents.iter().filter_map(|p| too_early(species, p)).map(about_animal).collect();
    let genes = genes(parents);
    for id in &genes {
        let entry = &species.gene(*id).entry;
        let two = two_copies(species, parents, &genes, *id);
        let caution = |serious: bool, tag: Tag, source: &[String], text: String| Caution {
            rank: rank(serious, tag, is_published(source)),
            tag,
            genes: vec![*id],
            published: is_published(source),
            source: source.to_vec(),
            text,
        };
        for harm in entry.welfare.iter().filter(|w| w.severity >= Severity::Caution && concerns(w, two)) {
            let text = say::harm(&entry.name, harm, is_published(&harm.source));
            let tag = Tag::from(harm.kind);
            // Two genes of one locus may share one harm: it is said once, with both names.
            let same = found.iter_mut().find(|f| f.text.ends_with(text.trim_start_matches(entry.name.as_str())));
            if let Some(same) =
                same.filter(|f| f.genes.len() == 1 && species.gene(f.genes[0]).locus == species.gene(*id).locus)
            {
                same.text =
                    say::harm(&say::and(&species.gene(same.genes[0]).entry.name, &entry.name), harm, same.published);
                same.genes.push(*id);
                continue;
            }
            found.push(caution(harm.severity == Severity::Serious, tag, &harm.source, text));
        }
        if let (Some(lethal), true) = (&entry.homozygous_lethal, two) {
            found.push(caution(true, Tag::Loss, &lethal.source, say::lethal(&entry.name, lethal)));
        }
        let carried_by_female = parents.iter().any(|p| p.sex != SexSaid::Male && p.genes.iter().any(|c| c.gene == *id));
        let limit = entry.breeding_limit.filter(|l| *l != BreedingLimit::NoFemales || carried_by_female);
        found.extend(limit.map(|l| caution(true, Tag::Limit, &entry.source, say::limit(&entry.name, l))));
    }
    for warning in &species.file().pair_warning {
        let ids: Vec<GeneId> = warning.genes.iter().filter_map(|g| species.gene_by_id(g)).collect();
        let [a, b] = ids[..] else { continue };
        let meets = if a == b {
            parents.len() == 2 && parents.iter().all(|p| p.genes.iter().any(|c| c.gene == a))
        } else {
            genes.contains(&a) && genes.contains(&b)
        };
        if meets {
            let names = [a, b].map(|g| species.gene(g).entry.name.as_str());
            let serious = matches!(warning.effect, Effect::Lethal | Effect::Harm);
            found.push(Caution {
                rank: rank(serious, Tag::Meeting, is_published(&warning.source)),
                tag: Tag::Meeting,
                genes: vec![a, b],
                published: is_published(&warning.source),
                source: warning.source.clone(),
                text: say::meeting(names, &warning.issue, is_published(&warning.source)),
            });
        }
    }
    // What is said of a gene a second time comes after what is not said at all yet.
    for at in 1..found.len() {
        let (before, rest) = found.split_at_mut(at);
        if let Some(this) = rest.first_mut()
            && before.iter().any(|b| b.genes == this.genes && b.tag == this.tag)
        {
            this.rank += 2;
        }
    }
    found.sort_by_key(|f| f.rank);
    found.dedup_by(|a, b| a.text == b.text);
    found
}

fn rank(serious: bool, tag: Tag, published: bool) -> u8 {
    match (serious, tag) {
        (true, _) if published => 0,
        (true, Tag::Meeting | Tag::Loss) => 1,
        (true, Tag::Wobble) => 2,
        (true, _) => 3,
        (false, _) => 4,
    }
}

/// The cautions as sentences of `most` characters together; of those that do not fit the genes are named with the kind
/// of harm.
pub(super) fn said(species: &Species, cautions: &[Caution], most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut left: BTreeMap<Tag, Vec<&str>> = BTreeMap::new();
    let mut told: Vec<(Tag, GeneId)> = Vec::new();
    let mut used = 0;
    for caution in cautions {
        used += caution.text.chars().count();
        if used <= most || lines.is_empty() {
            lines.push(caution.text.clone());
            told.extend(caution.genes.iter().map(|gene| (caution.tag, *gene)));
            continue;
        }
        for gene in &caution.genes {
            if !told.contains(&(caution.tag, *gene)) {
                told.push((caution.tag, *gene));
                left.entry(caution.tag).or_default().push(species.gene(*gene).entry.name.as_str());
            }
        }
        if caution.genes.is_empty() {
            left.entry(caution.tag).or_default();
        }
    }
    if !left.is_empty() {
        lines.push(say::also(&left));
    }
    lines
}

/// What is noted of these genes but said only to those who ask.
pub(super) fn on_request(species: &Species, pairing: &Pairing) -> Vec<String> {
    let genes = genes(&pairing.parents);
    let mut notes = Vec::new();
    for id in &genes {
        let entry = &species.gene(*id).entry;
        let two = two_copies(species, &pairing.parents, &genes, *id);
        for harm in entry.welfare.iter().filter(|w| w.severity == Severity::Note && concerns(w, two)) {
            notes.push(say::harm(&entry.name, harm, is_published(&harm.source)));
        }
    }
    notes
}

/// Everything that is known against these genes where they are in play, the small things included: what a place wants said
/// in any case and in full.
pub(super) fn always(species: &Species, pairing: &Pairing, wanted: &[GeneId]) -> Vec<String> {
    let about = |id: &GeneId| wanted.contains(id);
    let known = cautions(species, pairing).into_iter().filter(|c| c.genes.iter().any(about)).map(|c| c.text);
    let mut said: Vec<String> = known.collect();
    let only = |p: &Animal| Animal { genes: p.genes.iter().filter(|c| about(&c.gene)).cloned().collect(), ..p.clone() };
    let small = Pairing { parents: pairing.parents.iter().map(only).collect(), ..pairing.clone() };
    said.extend(on_request(species, &small));
    said
}

/// The published sources behind cautions, in full, each once.
pub(super) fn sources<'a>(species: &'a Species, cautions: &[Caution]) -> Vec<&'a str> {
    let cited = species.file().citation.iter().filter(|c| cautions.iter().any(|f| f.source.contains(&c.id)));
    cited.map(|c| c.text.as_str()).collect()
}

/// Parents that show two genes of one name or look which are not alleles: their young look normal.
pub(super) fn lines_that_do_not_match(species: &Species, pairing: &Pairing) -> Vec<String> {
    let [first, second] = &pairing.parents[..] else { return Vec::new() };
    let mut notes = Vec::new();
    for a in &first.genes {
        for b in second.genes.iter().filter(|b| b.gene != a.gene) {
            // A parent that carries both lines gives young that show one of them.
            let crossed = second.genes.iter().any(|c| c.gene == a.gene) || first.genes.iter().any(|c| c.gene == b.gene);
            let (x, y) = (&species.gene(a.gene).entry, &species.gene(b.gene).entry);
            let names = |list: &[String], id: &str| list.iter().any(|i| i == id);
            let unknown = names(&x.compatibility_unknown_with, &y.id)
                || names(&y.compatibility_unknown_with, &x.id)
                || names(&x.possible_allele_of, &y.id)
                || names(&y.possible_allele_of, &x.id);
            let known = names(&x.not_compatible_with, &y.id) || names(&y.not_compatible_with, &x.id);
            let family = x.family.is_some() && x.family == y.family;
            let both_recessive = species.gene(a.gene).is_recessive() && species.gene(b.gene).is_recessive();
            let one_locus = species.gene(a.gene).locus == species.gene(b.gene).locus;
            if one_locus || !both_recessive || !(known || unknown || family) {
                continue;
            }
            let visuals = a.copies == 2 && b.copies == 2 && !crossed;
            if unknown {
                notes.push(say::lines_not_settled([&x.name, &y.name]));
            } else if visuals {
                notes.push(say::lines_do_not_match([&x.name, &y.name]));
            }
        }
    }
    notes
}

fn genes(parents: &[Animal]) -> Vec<GeneId> {
    let mut genes: Vec<GeneId> = parents.iter().flat_map(|p| p.genes.iter().map(|c| c.gene)).collect();
    genes.sort_unstable();
    genes.dedup();
    genes
}

/// Whether a parent has two copies of a gene, or the young can: other alleles may count as the second copy.
fn two_copies(species: &Species, parents: &[Animal], genes: &[GeneId], id: GeneId) -> bool {
    parents.iter().any(|p| p.genes.iter().any(|c| c.gene == id && c.copies == 2))
        || both_carry(species, parents, genes, id)
}

/// Whether young can have two copies of a gene, other alleles counted that do the same harm.
fn both_carry(species: &Species, parents: &[Animal], genes: &[GeneId], id: GeneId) -> bool {
    let gene = species.gene(id);
    let second = |o: GeneId| {
        o == id
            || species.gene(o).locus == gene.locus
                && gene.entry.welfare.iter().any(|w| w.with.contains(&species.gene(o).entry.id))
    };
    let alike: Vec<GeneId> = genes.iter().copied().filter(|o| second(*o)).collect();
    let has = |p: &Animal| p.genes.iter().any(|c| alike.contains(&c.gene));
    parents.len() == 2 && parents.iter().all(has)
}

/// The genes of a pairing by which its young can come to serious harm, or that forbid it by the trade's own limits: such
/// pairings are never advised.
pub(super) fn harmful(species: &Species, parents: &[Animal]) -> Vec<GeneId> {
    let all = genes(parents);
    let mut found: Vec<GeneId> = Vec::new();
    for id in &all {
        let entry = &species.gene(*id).entry;
        let both = both_carry(species, parents, &all, *id);
        let serious = entry.welfare.iter().any(|w| w.severity == Severity::Serious && concerns(w, both));
        let by = |sex: SexSaid| parents.iter().any(|p| p.sex == sex && p.genes.iter().any(|c| c.gene == *id));
        let limited = entry.breeding_limit.is_some_and(|limit| match limit {
            BreedingLimit::NoFemales => by(SexSaid::Female),
            BreedingLimit::NoMales => by(SexSaid::Male),
            BreedingLimit::Discouraged => true,
        });
        if serious || limited || both && entry.homozygous_lethal.is_some() {
            found.push(*id);
        }
    }
    for warning in species.file().pair_warning.iter().filter(|w| matches!(w.effect, Effect::Lethal | Effect::Harm)) {
        let ids: Vec<GeneId> = warning.genes.iter().filter_map(|g| species.gene_by_id(g)).collect();
        let meets = match ids[..] {
            [a, b] if a == b => both_carry(species, parents, &all, a),
            [a, b] => all.contains(&a) && all.contains(&b),
            _ => false,
        };
        if meets {
            found.extend(ids);
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}

fn concerns(harm: &Welfare, two: bool) -> bool {
    match harm.applies_to {
        AppliesTo::TwoCopies => two,
        AppliesTo::OneCopy | AppliesTo::AnyCopies => true,
    }
}

/// A female that the message itself shows to be too light or too young by the care numbers.
fn too_early(species: &Species, animal: &Animal) -> Option<String> {
    if animal.sex != SexSaid::Female {
        return None;
    }
    let care = species.care();
    let weight = animal.weight_g.zip(care.female_first_weight.as_ref());
    if let Some((g, range)) = weight.filter(|(g, range)| f64::from(*g) < range.low) {
        return Some(say::too_light(g, range, species.name()));
    }
    let age = animal.age_months.zip(care.female_first_age.as_ref());
    let months = |n: f64, range: &Range| if range.unit == Unit::Years { n * 12.0 } else { n };
    let (age, range) = age.filter(|(age, range)| f64::from(*age) < months(range.low, range))?;
    Some(say::too_young(age, months(range.low, range), species.name()))
}

fn about_animal(text: String) -> Caution {
    Caution { rank: 0, tag: Tag::Animal, genes: Vec::new(), published: false, source: Vec::new(), text }
}

fn is_published(source: &[String]) -> bool {
    source.iter().any(|s| s != "memory" && s != "common practice, no source")
}
