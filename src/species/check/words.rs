//! Rules for names: within a species no word means two things unless `[[ambiguous]]` says what to do with it.

use std::collections::{BTreeSet, HashMap, HashSet};

use super::{Check, combos};
use crate::species::entries::{Gene, Inheritance, Then};
use crate::species::names::{joined, normal};

/// Slips that a listed misspelling may be away from the nearest name.
const MOST_SLIPS: usize = 3;

/// What a word means: `gene:pastel`, `combo:bumblebee`, `pair:…`, `family:…`.
type Targets = BTreeSet<String>;

/// Every name of a gene but its misspellings; the display name first.
pub(super) fn of_gene(gene: &Gene) -> Vec<&str> {
    let mut names = vec![gene.name.as_str()];
    let aliases = gene.aliases.iter().chain(&gene.one_copy_aliases).chain(&gene.two_copies_aliases);
    names.extend(aliases.map(String::as_str));
    if joined(&gene.id) != joined(&gene.name) {
        names.push(&gene.id);
    }
    if let Some(label) = gene.two_copies.as_deref().filter(|_| gene.inheritance == Inheritance::IncompleteDominant) {
        let own = joined(label);
        if own != joined(&gene.name) && own != joined(&format!("super{}", gene.name)) {
            names.push(label);
        }
    }
    names
}

/// The names of one entry.
struct Claim<'a> {
    table: &'static str,
    n: usize,
    target: String,
    names: Vec<&'a str>,
    misspellings: &'a [String],
    everyday: &'a [String],
    /// A two-copy label, which keeps its capitals.
    label: Option<&'a str>,
}

fn claims<'a>(check: &Check<'a>) -> Vec<Claim<'a>> {
    let file = check.file;
    let genes = file.gene.iter().enumerate().map(|(n, g)| Claim {
        table: "gene",
        n,
        target: format!("gene:{}", g.id),
        names: of_gene(g),
        misspellings: &g.misspellings,
        everyday: &g.everyday_words,
        label: g.two_copies.as_deref(),
    });
    let both = |name: &'a String, aliases: &'a [String]| {
        std::iter::once(name).chain(aliases).map(String::as_str).collect::<Vec<_>>()
    };
    let pairs = file.allele_pair.iter().enumerate().map(|(n, p)| Claim {
        table: "allele_pair",
        n,
        target: format!("pair:{}", p.id),
        names: both(&p.name, &p.aliases),
        misspellings: &p.misspellings,
        everyday: &p.everyday_words,
        label: None,
    });
    let combos = file.combo.iter().enumerate().map(|(n, c)| Claim {
        table: "combo",
        n,
        target: format!("combo:{}", c.id),
        names: both(&c.name, &c.aliases),
        misspellings: &c.misspellings,
        everyday: &c.everyday_words,
        label: None,
    });
    genes.chain(pairs).chain(combos).collect()
}

pub(super) fn each(check: &mut Check<'_>) {
    let file = check.file;
    let mut words: HashMap<String, (Targets, &'static str, usize)> = HashMap::new();
    for (n, family) in file.family.iter().enumerate() {
        for word in &family.words {
            let entry = words.entry(joined(word)).or_insert_with(|| (Targets::new(), "family", n));
            entry.0.insert(format!("family:{}", family.id));
        }
    }
    for claim in claims(check) {
        one_entry(check, &claim);
        for name in claim.names.iter().copied().chain(claim.misspellings.iter().map(String::as_str)) {
            let entry = words.entry(joined(name)).or_insert_with(|| (Targets::new(), claim.table, claim.n));
            entry.0.insert(claim.target.clone());
        }
    }
    rules_of_speech(check);
    line_tags(check, &words);
    let listed = ambiguous(check, &words);
    let mut words: Vec<_> = words.into_iter().collect();
    words.sort_unstable();
    for (word, (targets, table, n)) in words {
        let meant = targets.iter().map(String::as_str).collect::<Vec<_>>().join(", ");
        match listed.get(&word) {
            Some(candidates) => {
                let left_out: Vec<&str> = targets.difference(candidates).map(String::as_str).collect();
                if !left_out.is_empty() {
                    let what = format!(
                        "the word {word:?} means {meant}, but its [[ambiguous]] entry leaves out {}",
                        left_out.join(", ")
                    );
                    check.say(table, n, "", what);
                }
            }
            None if targets.len() > 1 => {
                check.say(table, n, "", format!("the word {word:?} means {meant}: list it in [[ambiguous]]"));
            }
            None => {}
        }
    }
}

/// The names of one entry among themselves.
fn one_entry(check: &mut Check<'_>, claim: &Claim<'_>) {
    let (table, n) = (claim.table, claim.n);
    let misspelt = || claim.misspellings.iter().map(String::as_str);
    let others = claim.names.get(1..).unwrap_or_default();
    let mut own: HashMap<String, &str> = HashMap::new();
    for name in claim.names.iter().copied().chain(misspelt()) {
        let key = joined(name);
        if key.is_empty() {
            check.say(table, n, "", format!("{name:?} has no letter or digit left when names are compared"));
        }
        if let Some(first) = own.get(&key) {
            let what =
                format!("{name:?} and {first:?} are the same name (case, blanks, hyphens and dots do not count)");
            check.say(table, n, "", what);
        } else {
            own.insert(key, name);
        }
    }
    for name in others.iter().filter(|n| n.ends_with('s')) {
        if let Some(one) = joined(name).strip_suffix('s').and_then(|s| own.get(s)).filter(|one| *one != name) {
            check.say(table, n, "aliases", format!("{name:?} is only the plural of {one:?}"));
        }
    }
    for word in claim.everyday.iter().filter(|w| !own.contains_key(&joined(w))) {
        check.say(table, n, "everyday_words", format!("{word:?} is none of its names"));
    }
    if table == "gene" {
        for name in others.iter().filter(|n| n.to_lowercase() != **n && claim.label != Some(**n)) {
            check.say(table, n, "aliases", format!("write {name:?} in small letters"));
        }
    }
}

/// Misspellings that are too far from every name to be slips.
pub(super) fn far_misspellings(check: &mut Check<'_>) {
    for claim in claims(check) {
        let names: Vec<String> = claim.names.iter().map(|n| joined(n)).collect();
        for slip in claim.misspellings {
            let key = joined(slip);
            if !names.iter().any(|name| strsim::osa_distance(&key, name) <= MOST_SLIPS) {
                let what = format!("{slip:?} is too far from every name: make it an alias or drop it");
                check.say(claim.table, claim.n, "misspellings", what);
            }
        }
    }
}

/// Names that follow from "super" and "het" are not listed.
fn rules_of_speech(check: &mut Check<'_>) {
    for (n, gene) in check.file.gene.iter().enumerate() {
        let plain: HashSet<String> = std::iter::once(&gene.name).chain(&gene.aliases).map(|x| joined(x)).collect();
        for name in &gene.two_copies_aliases {
            if joined(name).strip_prefix("super").is_some_and(|rest| plain.contains(rest)) {
                check.say("gene", n, "two_copies_aliases", format!("{name:?} follows from the rule for 'super'"));
            }
        }
        for name in gene.aliases.iter().filter(|_| gene.inheritance == Inheritance::Recessive) {
            if normal(name).starts_with("het ") {
                check.say("gene", n, "aliases", format!("{name:?} follows from the rule for 'het'"));
            }
        }
    }
}

/// What line tags spell beside family words and combinations is not listed, and means nothing else.
fn line_tags(check: &mut Check<'_>, words: &HashMap<String, (Targets, &'static str, usize)>) {
    let file = check.file;
    let mut tagged: HashMap<String, &str> = HashMap::new();
    for family in &file.family {
        for word in &family.words {
            for gene in check.members(&family.id) {
                for tag in &gene.line_tags {
                    let (tag, word) = (joined(tag), joined(word));
                    let forms = [
                        format!("{tag}{word}"),
                        format!("{word}{tag}"),
                        format!("{tag}line{word}"),
                        format!("{tag}line"),
                        format!("{tag}strain"),
                    ];
                    tagged.extend(forms.map(|form| (form, gene.id.as_str())));
                }
            }
        }
    }
    for (n, gene) in file.gene.iter().enumerate() {
        for name in gene.aliases.iter().filter(|a| tagged.contains_key(&joined(a))) {
            check.say("gene", n, "aliases", format!("{name:?} follows from the line tags"));
        }
    }
    let mut tagged: Vec<_> = tagged.into_iter().collect();
    tagged.sort_unstable();
    for (form, gene) in tagged {
        let own = format!("gene:{gene}");
        if let Some((targets, ..)) = words.get(&form).filter(|w| w.0.iter().any(|t| *t != own)) {
            let meant = targets.iter().map(String::as_str).collect::<Vec<_>>().join(", ");
            let n = check.genes.get(gene).copied().unwrap_or_default();
            check.say("gene", n, "line_tags", format!("its line tags also spell {form:?}, which means {meant}"));
        }
    }
    for (n, combo) in file.combo.iter().enumerate() {
        let families = combo.genes.iter().filter_map(|p| p.one_of.as_deref());
        let tags: Vec<&String> = families.flat_map(|f| check.members(f)).flat_map(|g| &g.line_tags).collect();
        for tag in tags {
            for name in std::iter::once(&combo.name).chain(&combo.aliases) {
                let (key, name) = (joined(tag), joined(name));
                for form in [format!("{key}{name}"), format!("{name}{key}")] {
                    if let Some((targets, ..)) = words.get(&form) {
                        let meant = targets.iter().map(String::as_str).collect::<Vec<_>>().join(", ");
                        let what = format!("with the line tag {tag:?} it also spells {form:?}, which means {meant}");
                        check.say("combo", n, "", what);
                    }
                }
            }
        }
    }
}

/// The words listed as ambiguous with what they may mean.
fn ambiguous(
    check: &mut Check<'_>,
    words: &HashMap<String, (Targets, &'static str, usize)>,
) -> HashMap<String, Targets> {
    let mut listed = HashMap::new();
    for (n, entry) in check.file.ambiguous.iter().enumerate() {
        let parts = entry.candidates.iter().filter_map(|c| combos::candidate(c));
        let targets: Targets =
            parts.map(|(kind, id, _)| format!("{}:{id}", if kind.is_empty() { "gene" } else { kind })).collect();
        for word in &entry.words {
            let key = joined(word);
            let one = entry.then == Then::Assume && entry.candidates.len() == 1;
            if one && words.get(&key).is_some_and(|w| w.0 == targets) {
                check.say(
                    "ambiguous",
                    n,
                    "words",
                    format!("{word:?} has one reading only, and that is already its name"),
                );
            }
            if listed.insert(key, targets.clone()).is_some() {
                check.say("ambiguous", n, "words", format!("{word:?} is listed twice"));
            }
        }
    }
    listed
}
