//! Sentences on odds: what a figure is called, never how it is worked out.

use num_bigint::BigUint;
use num_traits::One;

use super::super::labels::{fraction, number, percent, percent_f64};
use super::super::odds::{Brood, Laying};
use crate::engine::inheritance::clutch::Figure;
use crate::engine::odds::{Odds, sure};
use crate::reading::requests::{SexSaid, Side};
use crate::species::Species;
use crate::species::entries::SexSystemName;

/// The longest exact fraction of a clutch that is worth reading.
const READABLE: usize = 12;

fn figure(figure: &Figure) -> String {
    match figure {
        Figure::Exact(odds) => percent(odds),
        Figure::Rounded(f) => percent_f64(*f),
    }
}

fn rest_of(figure: &Figure) -> String {
    match figure {
        Figure::Exact(odds) => percent(&(sure() - odds)),
        Figure::Rounded(f) => percent_f64(1.0 - f),
    }
}

/// "1/4 (25 %)"; "all" stands alone.
pub(super) fn both(share: &Odds) -> String {
    if share.is_one() { "all".to_owned() } else { format!("{} ({})", fraction(share), percent(share)) }
}

pub(super) fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

pub(super) fn plural(n: u32, brood: Brood) -> String {
    format!("{n} {}", if n == 1 { brood.one } else { brood.many })
}

// How the pairing was understood.

/// "Ball python: ♂ Pastel × ♀ Clown, 7 eggs".
pub(in crate::conversation) fn understood(
    species: &str,
    parents: &[String; 2],
    laying: Option<&Laying>,
    brood: Brood,
) -> String {
    format!("{species}: {} × {}{}", parents[0], parents[1], laying.map_or_else(String::new, |l| laid(l, brood)))
}

fn laid(laying: &Laying, brood: Brood) -> String {
    match laying {
        Laying::Stated { n, k: 1 } => format!(", {}", plural(*n, brood)),
        Laying::Stated { n, k } => format!(", {k} {} of {}", brood.clutches, plural(*n, brood)),
        Laying::Usual { k: 1, .. } => format!(", a usual {}", brood.clutch),
        Laying::Usual { k, .. } => format!(", {k} usual {}", brood.clutches),
    }
}

/// Two pairings to compare.
pub(in crate::conversation) fn understood_two(
    species: &str,
    [first, second]: &[[String; 2]; 2],
    laying: Option<&Laying>,
    brood: Brood,
) -> [String; 2] {
    let eggs = laying.map_or_else(String::new, |l| laid(l, brood));
    [
        format!("{species}, first: {} × {}{eggs}", first[0], first[1]),
        format!("Second: {} × {}{eggs}", second[0], second[1]),
    ]
}

/// The engine's limits.
pub(in crate::conversation) fn too_much() -> String {
    "This pairing is more than I can work out; please name fewer genes.".to_owned()
}

/// On which sex chromosome a copy is taken to sit.
pub(in crate::conversation) fn side(species: &Species, side: Side) -> String {
    let zw = species.file().meta.sex_system == SexSystemName::Zw;
    let (whose, from) = match (zw, side) {
        (false, Side::X) => ("his", "mother"),
        (false, Side::Y) => ("his", "father"),
        (true, Side::X) => ("her", "father"),
        (true, Side::Y) => ("her", "mother"),
    };
    format!("If {whose} copy came from {whose} {from}:")
}

// The table.

/// What all young have in common.
pub(in crate::conversation) fn every_young(name: &str) -> String {
    format!("Every young: {name}. Beside that:")
}

/// "86.7 % in 7".
pub(in crate::conversation) fn in_clutch(hit: &Figure, laying: &Laying, brood: Brood) -> String {
    let hit = figure(hit);
    match laying {
        Laying::Stated { n, k: 1 } => format!("{hit} in {n}"),
        Laying::Stated { n, k } => format!("{hit} in {k} × {n}"),
        Laying::Usual { k: 1, .. } => format!("{hit} a {}", brood.clutch),
        Laying::Usual { k, .. } => format!("{hit} in {k} {}", brood.clutches),
    }
}

/// Kinds that are not shown.
pub(in crate::conversation) fn rest(kinds: &BigUint, share: &Odds) -> String {
    let kinds = if kinds.is_one() { "one rarer kind".to_owned() } else { format!("{kinds} rarer kinds, together") };
    let text = fraction(share);
    // A rounded share says so already; the percent would repeat it.
    if text.contains(' ') { format!("and {kinds} {}", percent(share)) } else { format!("and {kinds} {text}") }
}

/// Young without a visible gene, left out as asked.
pub(in crate::conversation) fn normals_left_out(share: &Odds) -> String {
    format!("Left out: normal-looking young, {}.", both(share))
}

/// What the bracket behind a kind means.
pub(in crate::conversation) fn bracket(laying: &Laying, both_sexes: bool, brood: Brood) -> String {
    let what = if both_sexes { "at least one male and one female of the kind" } else { "at least one of the kind" };
    match laying {
        Laying::Stated { .. } => {
            format!("In brackets: the chance of {what}, each {} taken as one young.", brood.one)
        }
        Laying::Usual { .. } => format!("In brackets: the chance of {what}. {}", usual(laying, brood)),
    }
}

/// Both sexes, of whatever kind.
pub(in crate::conversation) fn any_of_each(each: &Figure) -> String {
    format!("At least one male and one female of any kind: {}.", figure(each))
}

/// How a clutch is counted where none was stated.
pub(in crate::conversation) fn usual(laying: &Laying, brood: Brood) -> String {
    let Laying::Usual { eggs: [low, usual, high], share, .. } = laying else { return String::new() };
    let many = brood.many;
    let size = if low == high { format!("{usual} {many}") } else { format!("{low} to {high} {many}, mostly {usual}") };
    let living = share * Odds::from_integer(100.into());
    let living = if share.is_one() { String::new() } else { format!(", {} in 100 giving young", living.round()) };
    format!("A usual {} is taken as {size}{living} (common practice).", brood.clutch)
}

/// Odds without a clutch.
pub(in crate::conversation) fn per_egg_only(brood: Brood) -> String {
    format!(
        "Odds are per {}; small {} swing. Say \"in 7 {}\" for a {}.",
        brood.one, brood.clutches, brood.many, brood.clutch
    )
}

// A wish.

/// "Clown: 1/4 per egg (25 %)".
pub(in crate::conversation) fn per_egg(name: &str, share: &Odds, yes: bool, brood: Brood) -> String {
    let yes = if yes { "Yes. " } else { "" };
    if share.is_one() {
        return format!("{yes}{name}: every {} (100 %)", brood.one);
    }
    format!("{yes}{name}: {} per {} ({})", fraction(share), brood.one, percent(share))
}

/// No chance.
pub(in crate::conversation) fn not_possible(name: &str, yes_or_no: bool) -> String {
    if yes_or_no {
        format!("No: {name} is not possible from this pairing.")
    } else {
        format!("{name}: not possible from this pairing.")
    }
}

/// A sex was asked for where warmth decides it.
pub(in crate::conversation) fn no_sexes() -> String {
    "Sex is set by temperature in this species: I can give odds of looks only.".to_owned()
}

/// On whom an uncertain wish hangs.
pub(in crate::conversation) fn only_if(unsure: &[String], reach: &Odds) -> String {
    if unsure.is_empty() {
        return format!("The chance that this pair can make it at all: {}.", percent(reach));
    }
    format!("It hangs on {}: without the gene none can come.", listed(unsure))
}

/// "the female, 66 % het Clown".
pub(in crate::conversation) fn may_carry(who: &str, share: &str, label: &str) -> String {
    format!("{who} being {share} {label}")
}

/// "At least one in 7 eggs: 86.7 %; none: 13.3 %; on average 1.8."
pub(in crate::conversation) fn at_least_one(
    hit: &Figure,
    once: Option<&Figure>,
    expected: &Odds,
    laying: &Laying,
    brood: Brood,
) -> String {
    let exact = match hit {
        Figure::Exact(odds) if odds.to_string().len() <= READABLE && !odds.is_one() => format!(" ({odds})"),
        _ => String::new(),
    };
    let (hit_words, none) = (figure(hit), rest_of(hit));
    let average = number(expected);
    match laying {
        Laying::Stated { n, k: 1 } => {
            format!("At least one in {}: {hit_words}{exact}; none: {none}; on average {average}.", plural(*n, brood))
        }
        Laying::Stated { n, k } => {
            let first =
                once.map_or_else(String::new, |f| format!("At least one in {}: {}. ", plural(*n, brood), figure(f)));
            format!("{first}In {k} such {}: {hit_words}; none: {none}; on average {average}.", brood.clutches)
        }
        Laying::Usual { k: 1, .. } => format!("At least one in a usual {}: {hit_words}.", brood.clutch),
        Laying::Usual { k, .. } => format!("At least one in {k} usual {}: {hit_words}.", brood.clutches),
    }
}

/// At least one male and one female.
pub(in crate::conversation) fn one_of_each(each: &Figure, laying: &Laying, brood: Brood) -> String {
    let of = match laying {
        Laying::Stated { n, k: 1 } => plural(*n, brood),
        Laying::Stated { n, k } => format!("{k} {} of {n}", brood.clutches),
        Laying::Usual { k: 1, .. } => format!("a usual {}", brood.clutch),
        Laying::Usual { k, .. } => format!("{k} usual {}", brood.clutches),
    };
    format!("At least one male and one female in {of}: {}.", figure(each))
}

/// The chance with ever more eggs.
pub(in crate::conversation) fn never_above(reach: &Odds, brood: Brood) -> String {
    format!("However many {}: never above {}, the chance that the parents can make it.", brood.many, percent(reach))
}

/// "Eggs to see at least one: 3 for 50 %, 9 for 90 %."
pub(in crate::conversation) fn eggs_needed(levels: &[(u64, Odds)], brood: Brood) -> String {
    format!("{} to see at least one: {}.", capital(brood.many), needed(levels))
}

/// "Eggs to see one of each sex: 5 for 50 %."
pub(in crate::conversation) fn eggs_needed_for_each(levels: &[(u64, Odds)], brood: Brood) -> String {
    format!("{} to see at least one of each sex: {}.", capital(brood.many), needed(levels))
}

/// The same in clutches.
pub(in crate::conversation) fn clutches_needed(levels: &[(u64, Odds)], laying: &Laying, brood: Brood) -> String {
    match laying {
        Laying::Stated { n, .. } => {
            format!("{} of {}: {}.", capital(brood.clutches), plural(*n, brood), needed(levels))
        }
        Laying::Usual { .. } => format!("Usual {}: {}.", brood.clutches, needed(levels)),
    }
}

fn capital(word: &str) -> String {
    let mut word = word.to_owned();
    if let Some(first) = word.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    word
}

fn needed(levels: &[(u64, Odds)]) -> String {
    // Where one number serves two levels, the higher one says it all.
    let last = levels.iter().enumerate().filter(|(i, (n, _))| levels.get(i + 1).is_none_or(|next| next.0 != *n));
    last.map(|(_, (n, level))| format!("{n} for {}", percent(level))).collect::<Vec<_>>().join(", ")
}

// Why not.

/// None of a possible kind came.
pub(in crate::conversation) fn none_came(hit: &Figure, laying: &Laying, brood: Brood) -> String {
    let none = rest_of(hit);
    let eggs = match laying {
        Laying::Stated { n, k } => plural(n * k, brood),
        Laying::Usual { .. } => format!("a usual {}", brood.clutch),
    };
    format!("It is possible. None in {eggs} happens in {none} of such cases, by chance alone.")
}

/// What a clutch without one says of parents that only may carry it.
pub(in crate::conversation) fn after_none(able: &Odds, before: &Odds) -> String {
    format!("After that the chance that this pair can make it at all is {}; it was {}.", percent(able), percent(before))
}

/// A lethal pair of copies.
pub(in crate::conversation) fn lost_unborn(gene: &str) -> String {
    format!("Young with two copies of {gene} are lost before hatching, as keepers report.")
}

/// Nobody has it.
pub(in crate::conversation) fn neither_carries(gene: &str) -> String {
    format!("Neither parent carries {gene}.")
}

/// One of two copies is missing.
pub(in crate::conversation) fn one_side_only(gene: &str, lacks: &str, most: &str) -> String {
    format!("{gene} takes a copy from each parent, and {lacks} carries none: the young can be {most} at most.")
}

/// Which parent: by its sex, else by its place in the message.
pub(in crate::conversation) fn who(sex: SexSaid, first: bool, look: &str) -> String {
    let which = match (sex, first) {
        (SexSaid::Male, _) => "the male",
        (SexSaid::Female, _) => "the female",
        (SexSaid::Unknown, true) => "the first-named",
        (SexSaid::Unknown, false) => "the second-named",
    };
    format!("{which} ({look})")
}

/// A single copy cannot come.
pub(in crate::conversation) fn all_have_two(label: &str) -> String {
    format!("No young has exactly one copy: they are {label} or without it.")
}

/// Two alleles of one locus.
pub(in crate::conversation) fn one_allele_each([a, b]: &[String; 2]) -> String {
    format!("{a} and {b} sit at one locus: a young with both takes one from each parent.")
}

/// Nothing normal can come.
pub(in crate::conversation) fn always_shows() -> String {
    "Every young shows a gene of its parents.".to_owned()
}

/// No single gene is to blame.
pub(in crate::conversation) fn never_together() -> String {
    "The parents cannot hand these on together.".to_owned()
}

/// Where law and health are judged.
pub(in crate::conversation) fn law_and_vet() -> String {
    "Check your local law, and ask a reptile vet about any animal that worries you.".to_owned()
}

// Young that die.

/// "2/3 Spider, 1/3 normal-looking".
pub(super) fn among(kinds: &[(String, Odds)]) -> String {
    kinds.iter().take(6).map(|(name, share)| format!("{} {name}", fraction(share))).collect::<Vec<_>>().join(", ")
}

/// The share that no young come of, beside a picture.
pub(in crate::conversation) fn share_lost(share: &Odds, brood: Brood) -> String {
    format!("{} of the {} are lost before hatching", fraction(share), brood.many)
}

/// Eggs lost as reported.
pub(in crate::conversation) fn lost(share: &Odds, living: &[(String, Odds)], brood: Brood) -> String {
    format!(
        "{} of the {} are lost before hatching (keepers report). Of the living: {}.",
        fraction(share),
        brood.many,
        among(living)
    )
}

/// Two-copy young whose life is in doubt: both ways.
pub(in crate::conversation) fn may_be_lost(
    gene: &str,
    share: &Odds,
    living: &[(String, Odds)],
    reported: bool,
    brood: Brood,
) -> String {
    let share = fraction(share);
    if reported {
        return format!(
            "{share} of the {} get two copies of {gene}; they are reported not to live long. Of the others: {}.",
            brood.many,
            among(living)
        );
    }
    format!(
        "{share} of the {} get two copies of {gene}, counted here as living; if they die, as suspected, the living are: {}.",
        brood.many,
        among(living)
    )
}

/// A wish among the living.
pub(in crate::conversation) fn aim_living(share: &Odds, lost: &Odds, brood: Brood) -> String {
    format!(
        "{} of the {} are lost before hatching (keepers report); among the living it is {}.",
        fraction(lost),
        brood.many,
        both(share)
    )
}

/// A wish if what is suspected is true.
pub(in crate::conversation) fn aim_if_lost(name: &str, share: &Odds, lost: &Odds, brood: Brood) -> String {
    format!(
        "If two-copy young die, as suspected, {} of the {} are lost and {name} is {} of the living.",
        fraction(lost),
        brood.many,
        both(share)
    )
}

// Besides.

/// A sex-linked gene.
pub(in crate::conversation) fn sex_linked(gene: &str, share: f64, unsexed: bool) -> String {
    let taken = if unsexed { " The first-named is taken as the male." } else { "" };
    let share = share * 100.0;
    format!(
        "{gene} is sex-linked: crossovers are taken at {share:.0} in 100, a keepers' figure, not a published one.{taken}"
    )
}

/// Line-bred looks.
pub(in crate::conversation) fn no_odds_for(looks: &[&str]) -> String {
    format!("No odds for {}: line-bred looks, not single genes.", looks.join(", "))
}
