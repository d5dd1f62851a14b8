//! Rules for genes, loci and families.

use std::collections::{BTreeMap, HashMap, HashSet};

use super::{Check, MOST};
use crate::species::entries::{AppliesTo, Gene, Inheritance, SexSystemName};
use crate::species::names::joined;

/// Ids are snake case and used once. False if one is not: the other rules look entries up by id.
pub(super) fn ids(check: &mut Check<'_>) -> bool {
    let file = check.file;
    let kinds: [(&'static str, Vec<&str>); 5] = [
        ("citation", file.citation.iter().map(|x| x.id.as_str()).collect()),
        ("family", file.family.iter().map(|x| x.id.as_str()).collect()),
        ("gene", file.gene.iter().map(|x| x.id.as_str()).collect()),
        ("allele_pair", file.allele_pair.iter().map(|x| x.id.as_str()).collect()),
        ("combo", file.combo.iter().map(|x| x.id.as_str()).collect()),
    ];
    for (kind, all) in kinds {
        let mut seen = HashSet::new();
        for (n, id) in all.into_iter().enumerate() {
            if !is_snake(id) {
                check.say(
                    kind,
                    n,
                    "id",
                    "must be snake_case: small letters and digits, single _ between, a letter first",
                );
            }
            if !seen.insert(id) {
                check.say(kind, n, "id", format!("{id:?} is used twice"));
            }
        }
    }
    if file.gene.len() > MOST.0 {
        check.say("gene", MOST.0, "", format!("a species has room for {} genes", MOST.0));
    }
    check.said.is_empty()
}

fn is_snake(id: &str) -> bool {
    id.starts_with(|c: char| c.is_ascii_lowercase())
        && id
            .split('_')
            .all(|part| !part.is_empty() && part.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit()))
}

pub(super) fn meta(check: &mut Check<'_>, name: &str) {
    let meta = &check.file.meta;
    let stem = name.strip_suffix(".toml").unwrap_or(name);
    if meta.schema != 1 {
        check.say("meta", 0, "schema", format!("is {}; allowed: 1", meta.schema));
    }
    if meta.species != stem {
        check.say("meta", 0, "species", format!("is {:?}, the file is named {stem:?}; they must agree", meta.species));
    }
}

pub(super) fn loci(check: &mut Check<'_>) {
    let file = check.file;
    let mut at: BTreeMap<&str, Vec<(usize, &str)>> = BTreeMap::new();
    for (n, gene) in file.gene.iter().enumerate() {
        if let Some(locus) = &gene.locus {
            at.entry(locus).or_default().push((n, &gene.id));
        }
    }
    let mut complexes = HashSet::new();
    for (n, complex) in file.complex.iter().enumerate() {
        let locus = complex.locus.as_str();
        if !complexes.insert(locus) {
            check.say("complex", n, "locus", "is listed twice");
        }
        let members = at.get(locus).map_or(0, Vec::len);
        if members < 2 {
            check.say("complex", n, "locus", format!("needs at least two genes at this locus, found {members}"));
        }
    }
    for (locus, genes) in &at {
        if genes.len() > MOST.1 {
            check.say("gene", genes[MOST.1].0, "locus", format!("a locus has room for {} genes", MOST.1));
        }
        if complexes.contains(locus) {
            continue;
        }
        if let [_, (n, _), ..] = genes[..] {
            let all: Vec<&str> = genes.iter().map(|g| g.1).collect();
            let what = format!("{} share the locus {locus:?}, so it needs a [[complex]]", all.join(", "));
            check.say("gene", n, "locus", what);
        } else if genes[0].1 != *locus {
            check.say(
                "gene",
                genes[0].0,
                "locus",
                format!("is {locus:?}; a locus with one gene carries the gene's id"),
            );
        }
    }
    for (n, gene) in file.gene.iter().enumerate() {
        if at.contains_key(gene.id.as_str()) && gene.locus.as_deref() != Some(&gene.id) {
            check.say("gene", n, "id", format!("names a locus that it is not at (its own is {:?})", gene.locus));
        }
    }
}

pub(super) fn each(check: &mut Check<'_>) {
    for (n, gene) in check.file.gene.iter().enumerate() {
        if gene.inheritance == Inheritance::Polygenic {
            look(check, n, gene);
        } else {
            allele(check, n, gene);
        }
        others(check, n, gene);
        if !gene.line_tags.is_empty() && gene.family.is_none() {
            check.say("gene", n, "line_tags", "needs a 'family'");
        }
        if let Some(family) = gene.family.as_ref().filter(|f| !check.file.family.iter().any(|x| x.id == **f)) {
            let known: Vec<&str> = check.file.family.iter().map(|f| f.id.as_str()).collect();
            check.say("gene", n, "family", format!("no family {family:?}; allowed: {}", known.join(", ")));
        }
    }
}

fn look(check: &mut Check<'_>, n: usize, gene: &Gene) {
    if gene.computed != Some(false) {
        check.say("gene", n, "computed", "must be false for a polygenic look");
    }
    for (key, written) in [
        ("locus", gene.locus.is_some()),
        ("one_copy", gene.one_copy.is_some()),
        ("two_copies", gene.two_copies.is_some()),
        ("visible_with_one_copy", gene.visible_with_one_copy.is_some()),
        ("two_copies_look_like_one", gene.two_copies_look_like_one.is_some()),
        ("bare_name_copies", gene.bare_name_copies.is_some()),
        ("one_copy_aliases", !gene.one_copy_aliases.is_empty()),
        ("two_copies_aliases", !gene.two_copies_aliases.is_empty()),
        ("not_compatible_with", !gene.not_compatible_with.is_empty()),
        ("compatibility_unknown_with", !gene.compatibility_unknown_with.is_empty()),
        ("possible_allele_of", !gene.possible_allele_of.is_empty()),
        ("seen_with", !gene.seen_with.is_empty()),
        ("health_trait", gene.health_trait.is_some()),
        ("breeding_limit", gene.breeding_limit.is_some()),
        ("homozygous_lethal", gene.homozygous_lethal.is_some()),
        ("sex_linked", gene.sex_linked.is_some()),
        ("welfare", !gene.welfare.is_empty()),
    ] {
        if written {
            check.say("gene", n, key, "is for genes; a polygenic look has no locus, no copies and no odds");
        }
    }
    super::combos::part_shapes(check, "gene", n, "carries", &gene.carries);
    for part in &gene.carries {
        if part.id.as_deref().and_then(|id| check.locus(id)).is_none() {
            check.say("gene", n, "carries", format!("no computed gene {:?}", part.id.as_deref().unwrap_or("")));
        }
    }
}

fn allele(check: &mut Check<'_>, n: usize, gene: &Gene) {
    for (key, missing) in [
        ("locus", gene.locus.is_none()),
        ("one_copy", gene.one_copy.is_none()),
        ("two_copies", gene.two_copies.is_none()),
        ("visible_with_one_copy", gene.visible_with_one_copy.is_none()),
    ] {
        if missing {
            check.say("gene", n, "", format!("key '{key}' is missing"));
        }
    }
    if !gene.carries.is_empty() {
        check.say("gene", n, "carries", "is for polygenic looks");
    }
    if gene.computed == Some(false) {
        check.say("gene", n, "computed", "false is for polygenic looks only");
    }
    if let Some(copies) = gene.bare_name_copies.filter(|c| !(1..=2).contains(c)) {
        check.say("gene", n, "bare_name_copies", format!("is {copies}; allowed: 1, 2"));
    }
    if gene.inheritance == Inheritance::Recessive {
        recessive(check, n, gene);
    } else {
        visible(check, n, gene);
    }
    sex_linked(check, n, gene);
    for harm in &gene.welfare {
        if harm.issue.to_lowercase().starts_with("none") {
            check.say("gene", n, "welfare", "an entry without an issue says nothing: leave it out");
        }
        for other in
            harm.with.iter().filter(|o| **o == gene.id || check.locus(o) != gene.locus.as_deref()).collect::<Vec<_>>()
        {
            let what =
                format!("'with': {other:?} is not another allele of locus {:?}", gene.locus.as_deref().unwrap_or(""));
            check.say("gene", n, "welfare", what);
        }
        if !harm.with.is_empty() && harm.applies_to == AppliesTo::OneCopy {
            check.say("gene", n, "welfare", "'with' goes with two_copies or any_copies");
        }
    }
}

fn recessive(check: &mut Check<'_>, n: usize, gene: &Gene) {
    if gene.visible_with_one_copy == Some(true) {
        check.say("gene", n, "visible_with_one_copy", "must be false for a recessive");
    }
    if let (Some(one), Some(two)) = (&gene.one_copy, &gene.two_copies) {
        let wanted = format!("het {two}");
        if *one != wanted {
            check.say("gene", n, "one_copy", format!("is {one:?}; for a recessive it is {wanted:?}"));
        }
    }
    for (key, written) in [
        ("one_copy_aliases", !gene.one_copy_aliases.is_empty()),
        ("two_copies_aliases", !gene.two_copies_aliases.is_empty()),
        ("two_copies_look_like_one", gene.two_copies_look_like_one.is_some()),
        ("homozygous_lethal", gene.homozygous_lethal.is_some()),
        ("bare_name_copies", gene.bare_name_copies.is_some()),
    ] {
        if written {
            check.say("gene", n, key, "makes no sense for a recessive: the name means two copies, 'het' one");
        }
    }
}

fn visible(check: &mut Check<'_>, n: usize, gene: &Gene) {
    if gene.visible_with_one_copy == Some(false) {
        check.say("gene", n, "visible_with_one_copy", "must be true: one copy of it shows");
    }
    let same = gene.two_copies_look_like_one;
    if gene.inheritance == Inheritance::Dominant && same != Some(true) {
        check.say("gene", n, "two_copies_look_like_one", "must be true for a dominant");
    }
    if gene.inheritance == Inheritance::IncompleteDominant && same.is_some() {
        check.say("gene", n, "two_copies_look_like_one", "is for dominant genes");
    }
    if gene.one_copy.is_some() && gene.one_copy == gene.two_copies {
        check.say("gene", n, "two_copies", "one_copy and two_copies need different labels");
    }
}

fn sex_linked(check: &mut Check<'_>, n: usize, gene: &Gene) {
    let Some(link) = &gene.sex_linked else { return };
    if check.file.meta.sex_system == SexSystemName::Temperature {
        check.say("gene", n, "sex_linked", "in a species without sex chromosomes");
    }
    match link.recombination_range[..] {
        [low, high] => {
            if !(0.0 <= low && low <= link.recombination && link.recombination <= high && high <= 0.5) {
                let what = format!(
                    "recombination is {} in the range {low} to {high}; it must lie in its range, and that within 0 to 0.5",
                    link.recombination
                );
                check.say("gene", n, "sex_linked", what);
            }
        }
        _ => check.say("gene", n, "sex_linked", "recombination_range must be two numbers"),
    }
}

/// What a gene says of others: they exist, and it does not contradict itself.
fn others(check: &mut Check<'_>, n: usize, gene: &Gene) {
    for (key, list) in [
        ("not_compatible_with", &gene.not_compatible_with),
        ("compatibility_unknown_with", &gene.compatibility_unknown_with),
        ("possible_allele_of", &gene.possible_allele_of),
        ("seen_with", &gene.seen_with),
    ] {
        for other in list {
            let Some(fellow) = check.gene(other) else {
                check.say("gene", n, key, format!("no gene {other:?}"));
                continue;
            };
            if *other == gene.id {
                check.say("gene", n, key, "names itself");
            } else if key == "not_compatible_with" {
                if gene.locus.is_some() && fellow.locus == gene.locus {
                    let what = format!("{other:?}, yet both are at locus {:?}", gene.locus.as_deref().unwrap_or(""));
                    check.say("gene", n, key, what);
                }
                if gene.compatibility_unknown_with.contains(other)
                    || fellow.compatibility_unknown_with.contains(&gene.id)
                {
                    check.say("gene", n, key, format!("{other:?} is called both not compatible and unknown"));
                }
            }
        }
    }
}

pub(super) fn families(check: &mut Check<'_>) {
    for (n, family) in check.file.family.iter().enumerate() {
        let members: Vec<&Gene> = check.members(&family.id).collect();
        let ids: Vec<&str> = members.iter().map(|g| g.id.as_str()).collect();
        if members.len() < 2 {
            check.say("family", n, "", format!("needs at least two member genes, found {}", members.len()));
        }
        if family.bare != "ask" && !ids.contains(&family.bare.as_str()) {
            check.say("family", n, "bare", format!("is {:?}; allowed: ask, {}", family.bare, ids.join(", ")));
        }
        let mut owner: HashMap<String, &str> = HashMap::new();
        for gene in &members {
            for tag in &gene.line_tags {
                let first = *owner.entry(joined(tag)).or_insert(&gene.id);
                if first != gene.id {
                    check.say("family", n, "", format!("line tag {tag:?} belongs to {first} and {}", gene.id));
                }
            }
        }
    }
}
