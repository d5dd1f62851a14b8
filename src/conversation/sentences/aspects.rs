//! Sentences on questions about a pairing other than its odds: the best, hets, safety, squares, steps, two pairings.

use num_traits::{One, Zero};

use super::super::labels::{fraction, number, percent};
use super::super::odds::Brood;
use super::odds::{among, both, plural};
use crate::engine::odds::Odds;

/// The most genes in one young.
pub(in crate::conversation) fn best(name: &str, share: &Odds, brood: Brood) -> String {
    if share.is_one() {
        return format!("The most in one young: {name}, every {}.", brood.one);
    }
    format!("The most in one young: {name}: {} per {} ({}).", fraction(share), brood.one, percent(share))
}

/// No gene of the parents shows in the young.
pub(in crate::conversation) fn nothing_shows() -> String {
    "Every young looks normal: nothing that these parents carry shows in one generation.".to_owned()
}

/// No recessives carried.
pub(in crate::conversation) fn no_hets() -> String {
    "No young carries a recessive unseen.".to_owned()
}

/// There are no normal-looking young.
pub(in crate::conversation) fn no_normals() -> String {
    "No young looks normal here; these carry something unseen:".to_owned()
}

/// "normal-looking (3/4, 75 %): 66 % het Clown".
pub(in crate::conversation) fn hets_of(look: &str, share: &Odds, carried: &[String], brood: Brood) -> String {
    let share = if share.is_one() { format!("every {}", brood.one) } else { both(share) };
    format!("{look}, {share}: {}.", carried.join(", "))
}

/// Several possible hets of one animal.
pub(in crate::conversation) fn hets_together(all: &Odds, none: &Odds) -> String {
    format!("  All of these in one animal: {}; none of them: {}.", both(all), both(none))
}

/// Looks that are not listed.
pub(in crate::conversation) fn more_looks(n: usize) -> String {
    format!("And {n} more looks; ask for \"all kinds\" to see them.")
}

/// How much is known against a pairing.
pub(in crate::conversation) fn cautions_known(n: usize, published: usize) -> String {
    match (n, published) {
        (0, _) => "Nothing is known to me against this pairing; that is no proof that it is safe.".to_owned(),
        (1, 0) => "One caution, from keepers; nothing is published on it.".to_owned(),
        (1, _) => "One caution, and it is published.".to_owned(),
        (n, 0) => format!("{n} cautions, from keepers; nothing is published on them."),
        (n, p) if n == p => format!("{n} cautions, all published."),
        (n, p) => format!("{n} cautions: {p} published, {} from keepers.", n - p),
    }
}

/// How many of the young a caution concerns.
pub(in crate::conversation) fn concerned(gene: &str, any: &Odds, two: &Odds, recessive: bool, brood: Brood) -> String {
    let of = brood.many;
    if two.is_zero() {
        return format!("{gene}: {} of the {of} get a copy.", both(any));
    }
    if recessive {
        return format!("{gene}: {} of the {of} get two copies and show it.", both(two));
    }
    format!("{gene}: {} of the {of} get it, {} with a second such copy.", both(any), both(two))
}

/// Published sources, by author and year.
pub(in crate::conversation) fn sources(texts: &[&str]) -> String {
    // "Starck JM et al. 2022. Malformations …" up to the year.
    let year = |text: &str| {
        let digits = text.find(|c: char| c.is_ascii_digit())?;
        text.get(..digits + 4).map(str::to_owned)
    };
    let short: Vec<String> = texts.iter().map(|t| year(t).unwrap_or_else(|| (*t).to_owned())).collect();
    format!("Published: {}.", short.join("; "))
}

/// What nothing known means.
pub(in crate::conversation) fn none_known() -> String {
    "Health, weight, age and kinship of the two animals count as well: a reptile vet can judge those.".to_owned()
}

/// Over the square.
pub(in crate::conversation) fn square(sexed: bool) -> String {
    let (side, top) = if sexed { ("male", "female") } else { ("first", "second") };
    format!("Down the side what the {side} hands on, across the top what the {top} hands on:")
}

/// What the signs of the square mean.
pub(in crate::conversation) fn legend(codes: &[(String, String)]) -> String {
    let codes: Vec<String> = codes.iter().map(|(code, name)| format!("{code} = {name}")).collect();
    format!("{}, + = without it.", codes.join(", "))
}

/// Too many genes for a square.
pub(in crate::conversation) fn factors(n: usize) -> String {
    if n == 0 {
        return "Both parents hand on one thing only: all young are alike, there is nothing to square.".to_owned();
    }
    let genes = if n == 1 { "This gene".to_owned() } else { format!("{n} genes") };
    format!("{genes} would not fit a square; gene by gene it is this, and one from each line is multiplied:")
}

/// "Clown: 1/4 Clown, 1/2 het Clown, 1/4 without".
pub(in crate::conversation) fn factor(genes: &[&str], parts: &[(String, Odds)]) -> String {
    format!("  {}: {}", genes.join(" / "), among(parts))
}

/// A young without the gene of a factor.
pub(in crate::conversation) fn without() -> String {
    "without".to_owned()
}

/// What a step is about where nothing shows: "no Clown", "no visual Clown (66 % het Clown)".
pub(in crate::conversation) fn not_shown(genes: &[&str], carried: &[String]) -> String {
    let genes = genes.join(" or ");
    match carried {
        [] => format!("no {genes}"),
        hets => format!("no visual {genes} ({})", hets.join(", ")),
    }
}

/// How a gene is handed on.
pub(in crate::conversation) fn each_parent_hands_on() -> String {
    "Each parent hands on one of its two copies of a gene, either with chance 1/2.".to_owned()
}

/// One gene's factor as a sum of products, the first-named parent's chance first.
pub(in crate::conversation) fn step(name: &str, sum: &str, share: &Odds) -> String {
    format!("  {name}: {sum} = {share}")
}

/// A sex-linked gene's factor.
pub(in crate::conversation) fn step_linked(name: &str, share: &Odds) -> String {
    format!("  {name}: {share}, by the sex chromosomes and the crossovers")
}

/// Genes that all young have.
pub(in crate::conversation) fn alike(names: &[String]) -> String {
    format!("  {}: all young", names.join(", "))
}

/// The sex as a factor.
pub(in crate::conversation) fn step_sex(share: &Odds) -> String {
    format!("  the sex: {share}")
}

/// The product.
pub(in crate::conversation) fn multiplied(factors: &[String], share: &Odds, name: &str) -> String {
    match factors {
        [] => format!("So every young is {name}."),
        [one] => format!("So {name}: {one} ({}).", percent(share)),
        many => {
            format!("Genes are independent, so multiplied: {} = {share} ({}) {name}.", many.join(" × "), percent(share))
        }
    }
}

/// From one egg to the clutch, case by case of what the parents may be.
pub(in crate::conversation) fn step_clutch(cases: &[(Odds, Odds)], n: u64, hit: &Odds, brood: Brood) -> String {
    let one = |any: &Odds| format!("1 − (1 − {any})^{n}");
    let able: Vec<&(Odds, Odds)> = cases.iter().filter(|c| !c.1.is_zero()).collect();
    let sum = match able[..] {
        [(weight, any)] if weight.is_one() => one(any),
        _ => able
            .iter()
            .take(4)
            .map(|(weight, any)| format!("{weight} × ({})", one(any)))
            .collect::<Vec<_>>()
            .join(" + "),
    };
    let more = if able.len() > 4 { " + …" } else { "" };
    let mixed = if cases.len() > 1 { ", mixed over what the parents may be" } else { "" };
    format!("At least one in {n} {}: {sum}{more} = {}{mixed}.", brood.many, percent(hit))
}

/// A wish from both.
pub(in crate::conversation) fn two_shares(name: &str, a: &Odds, b: &Odds, brood: Brood) -> String {
    let one = |share: &Odds| if share.is_zero() { "not possible".to_owned() } else { both(share) };
    format!("{name} per {}: {} from the first, {} from the second.", brood.one, one(a), one(b))
}

/// The same in the clutch.
pub(in crate::conversation) fn two_hits(a: &Odds, b: &Odds, n: u32, brood: Brood) -> String {
    format!("At least one in {}: {} and {}.", plural(n, brood), percent(a), percent(b))
}

/// The verdict.
pub(in crate::conversation) fn which_is_better(a: &Odds, b: &Odds) -> String {
    if a == b {
        return if a.is_zero() {
            "Neither can make it.".to_owned()
        } else {
            "Both give the same odds for it.".to_owned()
        };
    }
    let (name, more, less) = if a > b { ("first", a, b) } else { ("second", b, a) };
    if less.is_zero() {
        return format!("Only the {name} can make it.");
    }
    let ratio = more / less;
    if ratio == Odds::from_integer(2.into()) {
        return format!("The {name} is better for it: twice the chance.");
    }
    format!("The {name} is better for it: {} times the chance.", number(&ratio))
}

/// No difference at all.
pub(in crate::conversation) fn no_difference(brood: Brood) -> String {
    format!("Both pairings give the same young with the same odds per {}.", brood.one)
}

/// Over the differences.
pub(in crate::conversation) fn what_differs(brood: Brood) -> String {
    format!("What differs per {}, first against second:", brood.one)
}

/// "  Clown: 1/2 (50 %) against 1/4 (25 %)".
pub(in crate::conversation) fn difference(
    look: &str,
    (a, a_hets): (&Odds, &[String]),
    (b, b_hets): (&Odds, &[String]),
) -> String {
    let one = |share: &Odds, hets: &[String]| {
        let share = if share.is_zero() { "none".to_owned() } else { both(share) };
        if a_hets == b_hets || hets.is_empty() { share } else { format!("{share}, {}", hets.join(", ")) }
    };
    format!("  {look}: {} against {}", one(a, a_hets), one(b, b_hets))
}

/// What is not listed.
pub(in crate::conversation) fn beside_differences(more: usize, same: usize) -> String {
    match (more, same) {
        (0, same) => format!("Kinds with the same odds in both: {same}."),
        (more, 0) => format!("Kinds that differ less: {more}."),
        (more, same) => format!("Kinds that differ less: {more}; with the same odds in both: {same}."),
    }
}

/// How to get a verdict.
pub(in crate::conversation) fn name_a_goal() -> String {
    "Name what you hope for (\"which is better for a clown?\") and I say which pairing is better.".to_owned()
}

/// Eggs that are not lost at a gene that nobody asked about.
pub(in crate::conversation) fn step_alive(genes: &[&str], share: &Odds) -> String {
    format!("  not lost to {}: {share}", genes.join(" / "))
}
