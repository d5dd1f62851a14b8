//! Cautions in words, each with how well it is known.

use std::collections::BTreeMap;

use super::super::cautions::Tag;
use crate::species::care::Range;
use crate::species::entries::{AppliesTo, BreedingLimit, Lethal, LethalStatus, SexName, Welfare};

const LOOSE: &str = "keepers report, nothing published";

fn grade(published: bool) -> &'static str {
    if published { "published" } else { LOOSE }
}

/// "Spider: wobble: … (published)."
pub(in crate::conversation) fn harm(gene: &str, harm: &Welfare, published: bool) -> String {
    let who = match (harm.applies_to, harm.sex) {
        (AppliesTo::TwoCopies, None) => format!("{gene} (two copies)"),
        (_, Some(SexName::Female)) => format!("{gene} females"),
        (_, Some(SexName::Male)) => format!("{gene} males"),
        _ => gene.to_owned(),
    };
    format!("{who}: {} ({}).", harm.issue, grade(published))
}

/// Loss of two-copy young.
pub(in crate::conversation) fn lethal(gene: &str, lethal: &Lethal) -> String {
    let how = if lethal.status == LethalStatus::Reported { "reported" } else { "suspected" };
    let note = lethal.note.as_deref().map_or_else(String::new, |note| format!(" {note}"));
    format!("two copies of {gene}: loss of the young is {how}.{note}")
}

/// A gene, or animals with it, that should not be bred.
pub(in crate::conversation) fn limit(gene: &str, limit: BreedingLimit) -> String {
    match limit {
        BreedingLimit::NoFemales => format!("{gene} females are not bred: breed the gene through males."),
        BreedingLimit::NoMales => format!("{gene} males are not bred."),
        BreedingLimit::Discouraged => format!("please do not plan for more {gene}."),
    }
}

/// Two genes that should not meet.
pub(in crate::conversation) fn meeting([a, b]: [&str; 2], issue: &str, published: bool) -> String {
    let names = if a == b { format!("{a} on both sides") } else { format!("{a} with {b}") };
    format!("{names}: {issue} ({}).", grade(published))
}

/// Two genes with one harm.
pub(in crate::conversation) fn and(a: &str, b: &str) -> String {
    format!("{a} and {b}")
}

/// Cautions that did not fit: genes by the kind of harm.
pub(in crate::conversation) fn also(left: &BTreeMap<Tag, Vec<&str>>) -> String {
    let groups = left.iter().map(|(tag, genes)| {
        let kind = match tag {
            Tag::Animal => "size or age",
            Tag::Wobble => "wobble",
            Tag::Loss => "losses",
            Tag::Meeting => "not to be mixed",
            Tag::Skeleton => "bones",
            Tag::Eyes => "eyes",
            Tag::Skin => "skin",
            Tag::Tumour => "tumours",
            Tag::Fertility => "laying",
            Tag::Frailty => "frailty",
            Tag::Limit => "not to be bred",
        };
        let shown = genes.iter().take(4).copied().collect::<Vec<_>>().join(", ");
        let more = genes.len().saturating_sub(4);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        if shown.is_empty() { kind.to_owned() } else { format!("{kind} ({shown}{more})") }
    });
    format!("also {}.", groups.collect::<Vec<_>>().join("; "))
}

/// A female below the usual weight.
pub(in crate::conversation) fn too_light(g: u32, range: &Range, species: &str) -> String {
    format!(
        "{g} g is light for a first clutch: keepers of this species ({}) wait for {:.0} to {:.0} g (common practice).",
        species.to_lowercase(),
        range.low,
        range.high
    )
}

/// A female below the usual age.
pub(in crate::conversation) fn too_young(months: u32, least: f64, species: &str) -> String {
    format!(
        "{months} months is young for a first clutch: keepers of this species ({}) wait for {least:.0} months at least (common practice).",
        species.to_lowercase()
    )
}

/// Two lines that look alike and are different genes.
pub(in crate::conversation) fn lines_do_not_match([a, b]: [&str; 2]) -> String {
    format!(
        "{a} and {b} are different genes that look alike: the young show neither and carry one copy of each (double het)."
    )
}

/// Two lines of which it is not known whether they are one gene.
pub(in crate::conversation) fn lines_not_settled([a, b]: [&str; 2]) -> String {
    format!("Whether {a} and {b} match is not settled; I count them as two genes.")
}
