//! Items to a pairing: who is paired with whom, what is wanted of the young, how many eggs.
//!
//! In: the [`Item`]s of a message and its species. Out: [`Found`]. The grammar, an example a line:
//!   "1.0 clown x 0.1 het clown"            a cross word stands between two animals
//!   "put my pied with the banana"          a small word does, when nothing stronger stands there and breeding is meant
//!   "1.0 pastel\n0.1 clown"                two sex marks open two animals
//!   "odds on a clown from het x het"       a wish stands after "odds on", "chance of", "to get"
//!   "clown x her, her mom was a pied"      a relative's genes become chances of the animal before
//!   "normal from a clown x het pied clutch" so do both parents'
//!   "clown x het vs het x het"             two pairings to compare
//! Not here: the genes of one animal (`animals`).

use super::Reader;
use super::animals::{Chance, Draft, Parser};
use super::matching::{Item, What};
use super::requests::{Animal, Aspect, Assumed, Carried, Choice, Pairing, Question, SexSaid, Shown, Target, Unclear};
use super::vocabulary::Role;
use super::words::Text;
use crate::engine::odds::{Odds, odds, sure};
use crate::species::{GeneId, Species};

/// What was found of a pairing.
#[derive(Debug, Default)]
pub(super) struct Found {
    pub(super) pairing: Pairing,
    pub(super) compare: Option<Pairing>,
    pub(super) questions: Vec<Question>,
    pub(super) assumed: Vec<Assumed>,
    pub(super) unread: Vec<String>,
    /// A cross word stood between two animals.
    pub(super) crossed: bool,
    /// Odds, outcomes or the like were asked for.
    pub(super) asked: bool,
    /// Genes that were named anywhere.
    pub(super) named: Vec<GeneId>,
}

impl Found {
    /// Takes over what an animal leaves to ask, to say and to name; the animal itself is given back.
    fn hear(&mut self, mut draft: Draft, species: &Species) -> Animal {
        self.questions.append(&mut draft.questions);
        self.assumed.append(&mut draft.assumed);
        self.unread.append(&mut draft.unread);
        draft.into_animal(species)
    }
}

/// What opens a stretch of items.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Opens {
    /// The start of the message, a question word, a full stop.
    Plain,
    /// A cross word.
    Cross,
    /// A small word that may pair: with, to, over, on, into, and.
    Small(Role),
    /// "odds on", "to get".
    Target,
    /// "from", "out of".
    From,
    /// "her mom was".
    Relative(Role),
    /// "vs", "or".
    Versus,
    /// A sex mark that opens a second animal.
    Sex,
}

#[derive(Debug, Clone)]
struct Stretch {
    opens: Opens,
    items: Vec<Item>,
    /// "possible" or the word "clutch" stood at its end.
    ends_possible: bool,
    ends_clutch: bool,
}

/// Amounts and aspects, taken out of the items before the animals are read.
#[derive(Debug, Default)]
struct Asked {
    eggs: Option<u32>,
    clutches: Option<u32>,
    certainty: Option<Odds>,
    aspect: Aspect,
    shown: Shown,
    odds: bool,
    how_many: bool,
    at_least_one: bool,
    breed: bool,
    question: bool,
}

/// Finds the pairing of a message.
pub(super) fn find(reader: &Reader, species: &Species, text: &Text, items: &[Item]) -> Found {
    let (items, asked) = amounts(text, items);
    let items = promote(&items);
    let strong = has_strong_cross(&items);
    let stretches = stretches(&items, strong, text);
    let mut found = Found {
        asked: asked.odds || asked.question && asked.breed || asked.how_many,
        crossed: strong,
        ..Found::default()
    };
    build(reader, species, text, &stretches, &asked, strong, &mut found);
    let pairing = &mut found.pairing;
    pairing.clutch_size = asked.eggs;
    pairing.clutches = asked.clutches;
    pairing.certainty.clone_from(&asked.certainty);
    pairing.shown = asked.shown;
    if pairing.aspect == Aspect::Table {
        pairing.aspect = asked.aspect;
    }
    if let Some(other) = &mut found.compare {
        other.clutch_size = asked.eggs;
        other.target.clone_from(&found.pairing.target);
    }
    found
}

// ---- amounts and aspects

#[allow(clippy::too_many_lines)] // one arm an item kind: the table is easier to check whole
fn amounts(text: &Text, items: &[Item]) -> (Vec<Item>, Asked) {
    let mut asked = Asked::default();
    let mut keep: Vec<Item> = Vec::with_capacity(items.len());
    let role = |i: usize| items.get(i).and_then(Item::role);
    let filler = |i: usize| {
        role(i) == Some(Role::Filler)
            || matches!(items.get(i).map(|x| &x.what), Some(What::English | What::Name(_)))
                && items.get(i).is_some_and(|x| text.typed(x.words.clone()).chars().all(char::is_alphabetic))
    };
    let how_many = items.iter().any(|x| x.role() == Some(Role::HowMany));
    let mut i = 0;
    while i < items.len() {
        let item = &items[i];
        let mut took = 0;
        match item.what {
            What::Number(n) if n > 0 => {
                // "7 eggs", "7 good eggs", "6 more babies"; a year before "baby" is an age.
                let noun = (i + 1..i + 4)
                    .find(|k| role(*k).is_some_and(|r| matches!(r, Role::Eggs | Role::Clutches)) || !filler(*k));
                let between_named =
                    noun.is_some_and(|k| items[i + 1..k].iter().any(|x| matches!(x.what, What::Name(_))));
                match noun.and_then(role) {
                    Some(Role::Eggs) if !between_named => {
                        let noun = noun.unwrap_or(i + 1);
                        let typed = text.typed(items[noun].words.clone()).to_lowercase();
                        if matches!(&*typed, "baby" | "hatchling" | "neonate" | "neo") && n > 1 {
                            i = noun + 1;
                            continue;
                        }
                        asked.eggs = Some(n);
                        took = noun - i + 1;
                    }
                    Some(Role::Clutches) if !between_named => {
                        let noun = noun.unwrap_or(i + 1);
                        asked.clutches = Some(n);
                        took = noun - i + 1;
                        // "2 clutches of 6"
                        if let (Some("of"), Some(What::Number(eggs))) = (
                            items.get(noun + 1).map(|x| text.typed(x.words.clone())),
                            items.get(noun + 2).map(|x| &x.what),
                        ) {
                            asked.eggs = Some(*eggs);
                            took += 2;
                        }
                    }
                    // "at least one in 7?"
                    _ if (asked.odds || asked.at_least_one || asked.question)
                        && (2..=60).contains(&n)
                        && keep.last().is_some_and(|x| text.typed(x.words.clone()).eq_ignore_ascii_case("in"))
                        && items.get(i + 1).is_none_or(|x| matches!(x.what, What::Sign(_))) =>
                    {
                        asked.eggs = Some(n);
                        took = 1;
                    }
                    // "eggs: 6"
                    _ if keep.last().is_some_and(|x| x.is_sign(':'))
                        && keep.len() > 1
                        && keep[keep.len() - 2].role() == Some(Role::Eggs) =>
                    {
                        asked.eggs = Some(n);
                        took = 1;
                    }
                    _ if keep.last().and_then(Item::role) == Some(Role::Of) => {
                        asked.eggs = Some(n);
                        keep.pop();
                        took = 1;
                    }
                    _ => {}
                }
            }
            What::Share(ref share) => {
                // "90% sure", and "95% chance" where a number of eggs is asked.
                let certain = (i + 1..i + 3).any(|k| role(k) == Some(Role::Certain))
                    || how_many && role(i + 1).is_some_and(|r| matches!(r, Role::Odds | Role::Target))
                    || how_many && keep.last().and_then(Item::role).is_some_and(|r| r == Role::For);
                if certain && *share < sure() {
                    asked.certainty = Some(share.clone());
                    took = if role(i + 1) == Some(Role::Certain) { 2 } else { 1 };
                }
            }
            What::Word(role) => match role {
                Role::HowMany => {
                    asked.how_many = true;
                    asked.aspect = Aspect::HowMany;
                    asked.odds = true;
                    // "how many eggs", "how many clutches"
                    if matches!(items.get(i + 1).and_then(Item::role), Some(Role::Eggs | Role::Clutches)) {
                        keep.push(item.clone());
                        took = 2;
                    }
                }
                Role::Certain | Role::PerEgg | Role::PerClutch | Role::Short | Role::BothWays => took = 1,
                Role::OnlyGood => {
                    asked.shown.without_normals = true;
                    took = 1;
                }
                Role::Best => {
                    asked.aspect = Aspect::Best;
                    asked.odds = true;
                    took = 1;
                }
                Role::Square => {
                    asked.aspect = Aspect::Square;
                    asked.odds = true;
                }
                Role::Safe => {
                    asked.aspect = Aspect::Safe;
                    asked.question = true;
                    asked.odds = true;
                }
                Role::Hets => {
                    asked.aspect = Aspect::Hets;
                    asked.odds = true;
                }
                Role::WhyNo => {
                    asked.aspect = Aspect::WhyNone;
                    asked.odds = true;
                }
                Role::Can => {
                    if asked.aspect == Aspect::Table {
                        asked.aspect = Aspect::Possible;
                    }
                    asked.question = true;
                }
                Role::AtLeastOne => asked.at_least_one = true,
                Role::Odds | Role::Outcomes => asked.odds = true,
                Role::Target => {
                    asked.question = true;
                    let typed = text.typed(item.words.clone()).to_lowercase();
                    if ["odds", "chance", "prob", "likel", "wahrsch"].iter().any(|w| typed.contains(w)) {
                        asked.odds = true;
                    }
                }
                Role::Breed => asked.breed = true,
                Role::Question => asked.question = true,
                _ => {}
            },
            What::Sign('?') => asked.question = true,
            _ => {}
        }
        if took == 0 {
            keep.push(item.clone());
            took = 1;
        }
        i += took;
    }
    (keep, asked)
}

// ---- everyday words

/// Names that are also plain words count as genes only beside a gene, a het word, a sex mark or a pairing word;
/// the others become plain words.
#[allow(clippy::too_many_lines)] // the lists of neighbours belong side by side
fn promote(items: &[Item]) -> Vec<Item> {
    let everyday =
        |x: &Item| matches!(&x.what, What::Name(senses) if senses.iter().all(|s| s.everyday)) && x.healed.is_none();
    let skips = |x: &Item| {
        matches!(
            x.what,
            What::Word(
                Role::Filler
                    | Role::And
                    | Role::For
                    | Role::To
                    | Role::Of
                    | Role::Eggs
                    | Role::Clutches
                    | Role::Adult
                    | Role::Growing
                    | Role::Born
            ) | What::Sign('/' | '+' | ',' | '-' | '(' | ')' | '&' | '\'')
                | What::Unknown
                | What::Species(_)
                | What::Number(_)
        )
    };
    let firm = |x: &Item| match &x.what {
        What::Name(_) => !everyday(x),
        What::Sexes(..) | What::Share(_) => true,
        What::Word(role) => {
            describes_animal(*role)
                || matches!(
                    role,
                    Role::Unsexed
                        | Role::Cross
                        | Role::Over
                        | Role::Mother
                        | Role::Father
                        | Role::Parents
                        | Role::OneParent
                        | Role::Grandparent
                        | Role::Target
                        | Role::Single
                        | Role::WhyNo
                        | Role::Breed
                        | Role::Odds
                        | Role::AtLeastOne
                        | Role::HowMany
                        | Role::Can
                )
        }
        _ => false,
    };
    let small_or_name = |x: &Item| {
        matches!(x.what, What::Name(_) | What::Sign(_))
            || matches!(x.role(), Some(Role::To | Role::With | Role::On | Role::Over | Role::Into | Role::Filler))
    };
    // Nothing but names and a small word: "calico to sugar".
    let only_names =
        items.iter().all(small_or_name) && items.iter().any(|x| x.role().is_some_and(|r| r != Role::Filler));
    let asks = only_names
        || items.iter().any(|x| matches!(x.role(), Some(Role::Odds | Role::Outcomes | Role::Target | Role::WhyNo)));
    let mut gene: Vec<bool> = items.iter().map(firm).collect();
    loop {
        let mut changed = false;
        for i in 0..items.len() {
            if gene[i] || !everyday(&items[i]) {
                continue;
            }
            let before = (0..i)
                .rev()
                .find(|k| !skips(&items[*k]))
                .is_some_and(|k| gene[k] && items[k].role() != Some(Role::Can));
            let after = (i + 1..items.len()).find(|k| !skips(&items[*k])).is_some_and(|k| {
                gene[k]
                    && !matches!(
                        items[k].role(),
                        Some(
                            Role::Target
                                | Role::Breed
                                | Role::Odds
                                | Role::WhyNo
                                | Role::Male
                                | Role::Female
                                | Role::HowMany
                        )
                    )
                    || items[k].role().is_some_and(|r| matches!(r, Role::Male | Role::Female)) && k == i + 1
            });
            // A small pairing word between two names: "butter to a caramel girl".
            let small = |k: usize| {
                matches!(
                    items[k].role(),
                    Some(
                        Role::To | Role::With | Role::On | Role::Into | Role::By | Role::And | Role::Versus | Role::Or
                    )
                )
            };
            let beyond = |k: &usize| !skips(&items[*k]) && !small(*k);
            let is_gene = |k: usize| {
                (gene[k] || asks) && matches!(items[k].what, What::Name(_)) || items[k].role() == Some(Role::Het)
            };
            let across = (0..i).rev().find(beyond).is_some_and(is_gene)
                || (i + 1..items.len()).find(beyond).is_some_and(is_gene);
            if before || after || across {
                gene[i] = true;
                changed = true;
            }
        }
        if !changed {
            break;
        }
    }
    items
        .iter()
        .zip(gene)
        .map(|(item, gene)| {
            let mut item = item.clone();
            if everyday(&item) && !gene {
                item.what = What::English;
            }
            item
        })
        .collect()
}

// ---- stretches

/// Words that say something of an animal: its sex, or how it carries its genes.
fn describes_animal(role: Role) -> bool {
    matches!(
        role,
        Role::Het
            | Role::Possible
            | Role::PossibleSuper
            | Role::Visual
            | Role::Super
            | Role::Homo
            | Role::Normal
            | Role::Double
            | Role::Triple
            | Role::Quadruple
            | Role::MaleMaker
            | Role::FemaleMaker
            | Role::Male
            | Role::Female
            | Role::Pair
    )
}

fn is_material(item: &Item) -> bool {
    match &item.what {
        What::Name(_) | What::Sexes(..) => true,
        What::Word(role) => describes_animal(*role) || matches!(role, Role::Both | Role::Same | Role::Unproven),
        _ => false,
    }
}

fn has_strong_cross(items: &[Item]) -> bool {
    items.iter().enumerate().any(|(i, x)| {
        x.role() == Some(Role::Cross)
            && !is_twice(items, i)
            && items[..i].iter().any(is_material)
            && items[i + 1..].iter().any(|y| is_material(y) || matches!(y.what, What::Unknown | What::English))
    })
}

/// "2x pastel" is not a cross.
fn is_twice(items: &[Item], i: usize) -> bool {
    items[i].glued && i > 0 && matches!(items[i - 1].what, What::Number(_))
}

#[allow(clippy::too_many_lines)] // one arm a word: the grammar is easier to check whole
fn stretches(items: &[Item], strong: bool, text: &Text) -> Vec<Stretch> {
    let mut out = vec![Stretch { opens: Opens::Plain, items: Vec::new(), ends_possible: false, ends_clutch: false }];
    let open = |out: &mut Vec<Stretch>, opens: Opens| {
        out.push(Stretch { opens, items: Vec::new(), ends_possible: false, ends_clutch: false });
    };
    let mut i = 0;
    while i < items.len() {
        let item = &items[i];
        let here_has = |out: &Vec<Stretch>| out.last().is_some_and(|s| s.items.iter().any(is_material));
        match &item.what {
            What::Word(role) => match role {
                Role::Cross if is_twice(items, i) => push(&mut out, item),
                Role::Cross => {
                    // "pairing with … x": two cross words for one pairing are one.
                    if out.last().is_some_and(|s| s.opens == Opens::Cross && s.items.iter().all(|x| !is_material(x))) {
                        i += 1;
                        continue;
                    }
                    open(&mut out, Opens::Cross);
                }
                Role::To | Role::With | Role::Over | Role::On | Role::Into | Role::And if !strong => {
                    let governs_list = *role == Role::And && !next_opens_animal(items, i + 1);
                    if governs_list || !here_has(&out) {
                        push(&mut out, item);
                    } else {
                        open(&mut out, Opens::Small(*role));
                    }
                }
                // "out of a clown by a pied"
                Role::By
                    if out.last().is_some_and(|s| s.opens == Opens::From && s.items.iter().any(is_material))
                        || !strong && here_has(&out) =>
                {
                    open(&mut out, Opens::Small(Role::By));
                }
                Role::Versus => open(&mut out, Opens::Versus),
                Role::Or
                    if strong
                        && here_has(&out)
                        && items[i + 1..].iter().any(|x| x.role() == Some(Role::Cross))
                        && items[..i].iter().any(|x| x.role() == Some(Role::Cross)) =>
                {
                    open(&mut out, Opens::Versus);
                }
                Role::Target | Role::AtLeastOne | Role::WhyNo | Role::HowMany => open(&mut out, Opens::Target),
                // "is a pied possible from …": the wish stands before the word.
                Role::Can
                    if here_has(&out) && text.typed(item.words.clone()).to_lowercase().starts_with("possible") =>
                {
                    if let Some(last) = out.last_mut() {
                        last.ends_possible = true;
                    }
                    open(&mut out, Opens::Plain);
                }
                Role::Can => open(&mut out, Opens::Target),
                // "odds pied x het": no wish, only a question.
                Role::Odds | Role::Outcomes | Role::Square | Role::Safe | Role::Hets | Role::Question | Role::Breed => {
                    open(&mut out, Opens::Plain)
                }
                Role::From => open(&mut out, Opens::From),
                Role::Mother | Role::Father | Role::Parents | Role::OneParent | Role::Grandparent => {
                    open(&mut out, Opens::Relative(*role));
                }
                Role::Clutches => {
                    if let Some(last) = out.last_mut() {
                        last.ends_clutch = true;
                    }
                    open(&mut out, Opens::Plain);
                }
                Role::Possible
                    if here_has(&out)
                        && !items
                            .get(i + 1)
                            .is_some_and(|x| is_material(x) || matches!(x.what, What::Share(_) | What::Unknown)) =>
                {
                    if let Some(last) = out.last_mut() {
                        last.ends_possible = true;
                    }
                    open(&mut out, Opens::Plain);
                }
                // Filler carries nothing, and keeps the animal around it together.
                Role::Filler => {}
                // "scaleless female normal male", "cryptic girl, clown boy": the sex word closes its animal.
                Role::Male | Role::Female if !strong && closes_first(&out, item, items, i) => {
                    push(&mut out, item);
                    open(&mut out, Opens::Sex);
                }
                Role::Male | Role::Female if !strong && here_has(&out) && opens_second(&out, item, items, i) => {
                    open(&mut out, Opens::Sex);
                    push(&mut out, item);
                }
                _ => push(&mut out, item),
            },
            What::Sexes(..) => {
                if out.last().is_some_and(|s| s.items.iter().any(|x| matches!(x.what, What::Sexes(..)))) {
                    open(&mut out, Opens::Sex);
                }
                push(&mut out, item);
            }
            What::Sign('\n') => {
                let next_cross = items.get(i + 1).and_then(Item::role) == Some(Role::Cross);
                let last_cross = out.last().is_some_and(|s| s.items.is_empty());
                if !next_cross && !last_cross {
                    let second_animal = !strong && here_has(&out) && items.get(i + 1).is_some_and(is_material);
                    if second_animal {
                        open(&mut out, Opens::Sex);
                    } else if !(strong
                        && items[i + 1..].iter().take_while(|x| !x.is_sign('\n')).any(|x| x.role() == Some(Role::Het))
                        && here_has(&out))
                    {
                        open(&mut out, Opens::Plain);
                    }
                }
            }
            What::Sign(',')
                if out
                    .last()
                    .is_some_and(|s| matches!(s.opens, Opens::Relative(_)) && s.items.iter().any(is_gene_like)) =>
            {
                open(&mut out, Opens::Plain);
            }
            What::Sign('?' | '!' | ';') => open(&mut out, Opens::Plain),
            What::Sign('.') => {
                // "blk. pastel", "poss. het": a full stop ends something only where a sentence begins.
                let short = i.checked_sub(1).is_some_and(|k| {
                    text.typed(items[k].words.clone()).chars().count() < 4
                        || matches!(items[k].role(), Some(Role::Het | Role::Possible))
                });
                let ends = !short
                    || items.get(i + 1).is_none_or(|next| {
                        next.capital
                            || next.role().is_some_and(|r| {
                                matches!(r, Role::Question | Role::Outcomes | Role::Odds | Role::Target)
                            })
                    });
                if ends && items.get(i + 1).is_none_or(|next| !next.glued) {
                    open(&mut out, Opens::Plain);
                }
            }
            What::Sign(':' | '=' | '>') => {
                // "male: banana", "sire = clown": the mark belongs to the word before it.
                let labels = out.last().is_some_and(|s| {
                    // "male: banana", "trip het: clown, dg", "5 gene boy: pastel enchi"
                    let opens_list = |x: &Item| {
                        matches!(x.role(), Some(Role::Male | Role::Female | Role::Het))
                            || matches!(x.role(), Some(Role::Double | Role::Triple | Role::Quadruple))
                    };
                    s.items.last().is_some_and(opens_list) && !s.items.iter().any(|x| matches!(x.what, What::Name(_)))
                });
                if !labels {
                    open(&mut out, if item.is_sign(':') { Opens::Plain } else { Opens::Target });
                }
            }
            _ => push(&mut out, item),
        }
        i += 1;
    }
    out.retain(|s| !s.items.is_empty() || matches!(s.opens, Opens::Cross | Opens::Versus));
    out
}

fn push(out: &mut [Stretch], item: &Item) {
    if let Some(last) = out.last_mut() {
        last.items.push(item.clone());
    }
}

fn is_gene_like(item: &Item) -> bool {
    matches!(item.what, What::Name(_))
        || item
            .role()
            .is_some_and(|r| matches!(r, Role::Het | Role::Normal | Role::Visual | Role::Double | Role::Triple))
}

/// After "and": does a new animal begin (a sex, "my", "a"), or does a list of genes go on?
fn next_opens_animal(items: &[Item], from: usize) -> bool {
    let rest = &items[from.min(items.len())..];
    let first = rest.first();
    let determiner = first.is_some_and(|x| x.role() == Some(Role::Filler));
    let sexed = rest
        .iter()
        .take(6)
        .any(|x| matches!(x.what, What::Sexes(..)) || matches!(x.role(), Some(Role::Male | Role::Female)));
    determiner && rest.iter().any(is_gene_like) || sexed
}

/// A sex word after the genes of a first animal, with genes and a word of the other sex to come before anything else.
fn closes_first(out: &[Stretch], item: &Item, items: &[Item], i: usize) -> bool {
    let Some(last) = out.last() else { return false };
    let sexed = last.items.iter().any(|x| matches!(x.role(), Some(Role::Male | Role::Female)));
    if sexed || !last.items.iter().any(is_gene_like) {
        return false;
    }
    let mut genes = false;
    for next in &items[i + 1..] {
        match &next.what {
            What::Word(Role::Male | Role::Female) => return genes && next.role() != item.role(),
            What::Word(
                Role::Cross
                | Role::To
                | Role::With
                | Role::Over
                | Role::On
                | Role::Into
                | Role::And
                | Role::From
                | Role::Breed,
            ) => return false,
            _ => genes |= is_gene_like(next),
        }
    }
    false
}

/// "male pastel female clown": a sex word of the other sex after genes opens a second animal, unless it closes the first ("clown male").
fn opens_second(out: &[Stretch], item: &Item, items: &[Item], i: usize) -> bool {
    let Some(last) = out.last() else { return false };
    let sexed = last.items.iter().any(|x| {
        matches!(x.role(), Some(Role::Male | Role::Female)) && x.role() != item.role()
            || matches!(x.what, What::Sexes(..))
    });
    sexed && last.items.iter().any(is_gene_like) && items[i + 1..].iter().any(is_gene_like)
}

// ---- building the pairing

#[allow(clippy::too_many_lines)] // the roles of the stretches are decided in one place
fn build(
    reader: &Reader,
    species: &Species,
    text: &Text,
    stretches: &[Stretch],
    asked: &Asked,
    strong: bool,
    found: &mut Found,
) {
    let parse = |items: &[Item], which: usize, wish: bool| Parser::new(reader, species, text, which, wish).read(items);
    let mut parents: Vec<Draft> = Vec::new();
    let mut target: Option<Draft> = None;
    let mut second: Vec<Draft> = Vec::new();
    let mut versus = false;
    let mut small: Option<Role> = None;
    let names = |role| stretches.iter().any(|s| s.opens == Opens::Relative(role) && s.items.iter().any(is_gene_like));
    let both_named = names(Role::Mother) && names(Role::Father) && !strong;
    let n = stretches.len();
    let mut skip = 0;
    for (i, stretch) in stretches.iter().enumerate() {
        if skip > 0 {
            skip -= 1;
            continue;
        }
        let crosses_next = stretches.get(i + 1).is_some_and(|s| s.opens == Opens::Cross);
        let small_next = stretches.get(i + 1).and_then(|s| match s.opens {
            Opens::Small(role) => Some(role),
            _ => None,
        });
        match stretch.opens {
            Opens::Versus => {
                if parents.len() >= 2 {
                    versus = true;
                }
                if !stretch.items.iter().any(is_material) {
                    continue;
                }
            }
            // "normal from a clown x het pied clutch": both parents of the animal before.
            Opens::From
                if crosses_next
                    && parents.last().is_some()
                    && (stretches[i + 1].ends_clutch
                        || stretches.get(i + 2).is_some_and(|s| s.opens == Opens::Cross)
                        || parents.len() == 2
                        || stretches[..i].iter().any(|s| s.opens == Opens::Cross)) =>
            {
                let sire = parse(&stretch.items, parents.len() - 1, false);
                let dam = parse(&stretches[i + 1].items, parents.len() - 1, false);
                if let Some(animal) = parents.last_mut() {
                    descend(species, animal, vec![sire, dam], found);
                }
                skip = 1;
                continue;
            }
            Opens::From if !crosses_next && small_next == Some(Role::By) => {
                // "out of a clown by a pied": dam, then sire.
                let mut dam = parse(&stretch.items, 0, false);
                let mut sire = parse(&stretches[i + 1].items, 1, false);
                dam.animal.sex = SexSaid::Female;
                sire.animal.sex = SexSaid::Male;
                if parents.is_empty() {
                    parents.push(dam);
                    parents.push(sire);
                    found.crossed = true;
                } else if let Some(animal) = parents.last_mut() {
                    descend(species, animal, vec![dam, sire], found);
                }
                skip = 1;
                continue;
            }
            Opens::From
                if !crosses_next
                    && small_next.is_none()
                    && !parents.is_empty()
                    && stretch.items.iter().any(is_gene_like)
                    && !stretch.items.iter().any(|x| matches!(x.what, What::Sexes(..)))
                    && (strong || parents.len() < 2) =>
            {
                let one = parse(&stretch.items, parents.len() - 1, false);
                if let Some(animal) = parents.last_mut() {
                    descend(species, animal, vec![one], found);
                }
                continue;
            }
            // "mom is a ghost, dad is an enchi": with nobody else named they are the pair itself.
            Opens::Relative(role @ (Role::Mother | Role::Father)) if both_named => {
                let mut one = parse(&stretch.items, parents.len().min(1), false);
                one.animal.sex = if role == Role::Mother { SexSaid::Female } else { SexSaid::Male };
                if parents.len() < 2 {
                    parents.push(one);
                    found.crossed = true;
                }
                continue;
            }
            Opens::Relative(role) => {
                let one = parse(&stretch.items, parents.len().saturating_sub(1), false);
                if one.has_genes() {
                    if parents.is_empty() {
                        parents.push(Draft::default());
                    }
                    let both = match role {
                        Role::Parents => vec![one.clone(), one],
                        Role::Grandparent => {
                            let mut between = Draft::default();
                            descend(species, &mut between, vec![one], &mut Found::default());
                            vec![between]
                        }
                        _ => vec![one],
                    };
                    if let Some(animal) = parents.last_mut() {
                        descend(species, animal, both, found);
                    }
                } else if one.animal.sex != SexSaid::Unknown && parents.is_empty() {
                    parents.push(one);
                }
                continue;
            }
            _ => {}
        }
        let wish = stretch.opens == Opens::Target && !crosses_next && small_next.is_none()
            || stretch.ends_possible && !crosses_next;
        let which = if wish { 2 } else { parents.len().min(1) };
        let draft = parse(&stretch.items, which, wish);
        if wish && (draft.has_genes() || draft.normal || !draft.questions.is_empty()) && (target.is_none()) {
            target = Some(draft);
            continue;
        }
        // "normal from het x het, bred to a clown": the animal stands before its parents.
        let from_next = stretches.get(i + 1).is_some_and(|s| s.opens == Opens::From)
            && stretches.get(i + 2).is_some_and(|s| s.opens == Opens::Cross)
            && stretches.get(i + 3).is_some_and(|s| matches!(s.opens, Opens::Cross | Opens::Small(_)));
        let beside_cross = from_next
            || stretch.opens == Opens::Cross
            || crosses_next
            || matches!(stretch.opens, Opens::Small(_) | Opens::Sex) && !parents.is_empty()
            || small_next.is_some();
        if !draft.has_genes()
            && !draft.normal
            && draft.questions.is_empty()
            && draft.counts.is_none()
            && !(beside_cross && draft.animal.sex != SexSaid::Unknown)
        {
            // A sex alone: "my girl" before "her mom was a pied".
            if draft.animal.sex != SexSaid::Unknown
                && stretches.get(i + 1).is_some_and(|s| matches!(s.opens, Opens::Relative(_)))
            {
                parents.push(draft);
            } else if crosses_next || stretch.opens == Opens::Cross {
                // "amel x moonshine": the word that should be a gene is named.
                let strange = |x: &&Item| matches!(x.what, What::Unknown | What::English);
                let mut word = stretch.items.iter().filter(strange).map(|x| text.typed(x.words.clone()));
                if let Some(word) = word.rfind(|w| w.chars().count() >= 4) {
                    let about = word.to_owned();
                    found.unread.push(about.clone());
                    found.questions.push(Question {
                        about,
                        kind: Unclear::UnknownGene,
                        readings: Vec::new(),
                        animal: 1,
                    });
                    parents.push(draft);
                }
            }
            continue;
        }
        if let Opens::Small(role) = stretch.opens
            && parents.len() == 1
        {
            small = Some(role);
        }
        if versus {
            second.push(draft);
        } else if parents.len() < 2 && (strong || !draft.animal.said.is_empty() || draft.has_genes()) {
            // In a message with a cross word, animals that stand beside none are remarks, unless they are all there is.
            if strong && !beside_cross && !(draft.has_genes() && draft.animal.sex != SexSaid::Unknown) {
                if target.is_none() && stretch.opens == Opens::Target {
                    target = Some(draft);
                } else {
                    found.questions.extend(draft.questions.iter().filter(|q| q.kind == Unclear::UnknownGene).cloned());
                    found.named.extend(draft.named().iter().map(|g| g.0));
                }
                continue;
            }
            parents.push(draft);
        } else if parents.len() == 2
            && target.is_none()
            && draft.has_genes()
            && stretch.opens != Opens::Cross
            && i + 1 == n
            && (asked.odds || asked.question)
            && stretch.opens != Opens::Plain
        {
            target = Some(draft);
        } else if parents.len() == 2 && stretch.opens == Opens::Cross {
            let about = draft.animal.said.clone();
            found.questions.push(Question { about, kind: Unclear::Sexes, readings: Vec::new(), animal: 2 });
        } else if parents.len() == 2
            && target.is_none()
            && draft.has_genes()
            && draft.animal.sex == SexSaid::Unknown
            && stretch.opens == Opens::Plain
            && asked.odds
            && !stretch.items.is_empty()
        {
            target = Some(draft);
        }
    }
    // "a pair of het clowns": both parents alike.
    if parents.len() == 1 && parents[0].pair && (asked.odds || asked.question) {
        let mut other = parents[0].clone();
        other.questions.clear();
        other.assumed.clear();
        parents[0].animal.sex = SexSaid::Male;
        other.animal.sex = SexSaid::Female;
        parents.push(other);
        found.crossed = true;
    }
    // With a small word alone, a pairing is meant only where breeding or odds are spoken of, or both animals carry a sex.
    let both_sexed = parents.iter().filter(|p| p.animal.sex != SexSaid::Unknown).count() == 2;
    if !strong && !found.crossed && parents.len() == 2 {
        let says_pair = matches!(small, Some(Role::To | Role::With | Role::Over | Role::On | Role::Into));
        let both_gened = parents.iter().all(|p| p.has_genes() || p.normal || !p.questions.is_empty());
        found.crossed =
            asked.breed || asked.odds || both_sexed || asked.question && small.is_some() || says_pair && both_gened;
        if !found.crossed && small.is_none() {
            parents.truncate(1);
        }
        if matches!(small, Some(Role::On | Role::Over)) {
            first_is_male(&mut parents, found);
        }
    } else if strong
        && stretches.iter().any(|s| s.items.iter().any(|x| x.role() == Some(Role::Over)))
        && parents.len() == 2
    {
        first_is_male(&mut parents, found);
    }
    if let Some(draft) = &target {
        found.named.extend(draft.named().iter().map(|g| g.0));
    }
    finish(species, parents, target, second, asked, found);
}

/// "clown over het clown": by custom the male is named first.
fn first_is_male(parents: &mut [Draft], found: &mut Found) {
    if parents.iter().all(|p| p.animal.sex == SexSaid::Unknown) {
        parents[0].animal.sex = SexSaid::Male;
        parents[1].animal.sex = SexSaid::Female;
        found.assumed.push(Assumed::FirstIsMale);
    }
}

/// What an animal carries given its parents, as the look it shows allows: visual parent → sure het, het → half, het × het → two thirds.
fn descend(species: &Species, animal: &mut Draft, parents: Vec<Draft>, found: &mut Found) {
    let mut parents = parents;
    if parents.len() == 2 {
        lean(species, &mut parents);
    }
    let known: Vec<GeneId> = animal.named().iter().map(|g| g.0).collect();
    let parents: Vec<Vec<Carried>> = parents
        .into_iter()
        .map(|p| {
            found.questions.extend(p.questions.iter().cloned());
            p.into_animal(species).genes
        })
        .collect();
    let mut genes: Vec<GeneId> =
        parents.iter().flatten().map(|c| c.gene).filter(|g| species.gene(*g).is_recessive()).collect();
    genes.sort_unstable();
    genes.dedup();
    let mut told = Vec::new();
    for gene in genes {
        if known.contains(&gene) {
            continue;
        }
        // The chance that each parent hands the allele on, per egg.
        let hands = |p: &Vec<Carried>| {
            p.iter().filter(|c| c.gene == gene).map(|c| &c.chance * odds(i64::from(c.copies), 2)).sum::<Odds>()
        };
        let a = parents.first().map_or_else(|| odds(0, 1), hands);
        let b = parents.get(1).map_or_else(|| odds(0, 1), hands);
        let visual = &a * &b;
        if visual >= sure() {
            animal.carry(gene, 2, Chance::Sure);
            told.push(Carried { gene, copies: 2, chance: sure() });
            continue;
        }
        let one = (&a * (sure() - &b) + &b * (sure() - &a)) / (sure() - visual);
        if one > odds(0, 1) {
            told.push(Carried { gene, copies: 1, chance: one.clone() });
            animal.carry(gene, 1, if one >= sure() { Chance::Sure } else { Chance::Part(one) });
        }
    }
    if !told.is_empty() {
        animal.normal = true;
        found.assumed.push(Assumed::FromParents(told));
    }
}

/// "het", "het both", "visual" and "same" take their genes from the other animal.
fn lean(species: &Species, parents: &mut [Draft]) {
    for k in 0..2 {
        let other = parents[1 - k].clone();
        if parents[k].same {
            parents[k].copy_genes(&other);
            parents[k].same = false;
        }
        let genes = other.recessives(species);
        if let Some(chance) = parents[k].het_all.clone() {
            let promised = parents[k].promised_hets().map(|(n, _)| n);
            if !genes.is_empty() && promised.is_none_or(|n| n == genes.len()) {
                parents[k].het_all = None;
                parents[k].carry_each(&genes, 1, &chance);
            }
            continue;
        }
        if let ([gene], Some(chance)) = (&genes[..], parents[k].open_het.clone()) {
            parents[k].open_het = None;
            parents[k].carry(*gene, 1, chance);
            parents[k].assumed.push(Assumed::SameGene(*gene));
        }
        if let ([gene], true) = (&genes[..], parents[k].open_visual) {
            parents[k].open_visual = false;
            parents[k].carry(*gene, 2, Chance::Sure);
            parents[k].assumed.push(Assumed::SameGene(*gene));
        }
    }
}

fn finish(
    species: &Species,
    mut parents: Vec<Draft>,
    target: Option<Draft>,
    mut second: Vec<Draft>,
    asked: &Asked,
    found: &mut Found,
) {
    let wished: Vec<GeneId> = target.as_ref().map(|t| t.recessives(species)).unwrap_or_default();
    if parents.len() == 2 {
        lean(species, &mut parents);
        // "odds on a clown from het x het": the wish names the gene.
        for parent in &mut parents {
            if let Some(chance) = parent.open_het.clone()
                && !wished.is_empty()
            {
                parent.open_het = None;
                parent.carry_each(&wished, 1, &chance);
            }
            if parent.open_visual && wished.len() == 1 {
                parent.open_visual = false;
                parent.carry(wished[0], 2, Chance::Sure);
            }
            if parent.het_all.is_some()
                && !wished.is_empty()
                && parent.promised_hets().is_none_or(|(n, _)| n == wished.len())
            {
                let chance = parent.het_all.take().unwrap_or(Chance::Sure);
                parent.carry_each(&wished, 1, &chance);
            }
        }
    }
    for (k, parent) in parents.iter_mut().enumerate() {
        open_ends(parent, k);
    }
    sexes(&mut parents, found);
    let is_pairing = parents.len() == 2;
    for parent in parents {
        found.named.extend(parent.named().iter().map(|g| g.0));
        let animal = found.hear(parent, species);
        found.pairing.parents.push(animal);
    }
    if second.len() == 2 {
        lean(species, &mut second);
        // "clown x het vs het x het": the genes come from the first pairing where the second names none.
        let genes: Vec<GeneId> = carried_recessives(species, &found.pairing.parents);
        for (k, animal) in second.iter_mut().enumerate() {
            if let Some(chance) = animal.open_het.take() {
                animal.carry_each(&genes, 1, &chance);
            }
            if animal.open_visual {
                animal.open_visual = false;
                animal.carry_each(&genes, 2, &Chance::Sure);
            }
            open_ends(animal, k);
        }
        let mut pairing = Pairing::default();
        for animal in second {
            pairing.parents.push(found.hear(animal, species));
        }
        found.compare = Some(pairing);
    }
    if let Some(draft) = target {
        wish(species, draft, is_pairing, found);
    }
    if asked.at_least_one || found.pairing.target.is_some() {
        found.asked |= asked.question;
    }
}

/// Every recessive of these animals, in order, as often as it is carried.
fn carried_recessives(species: &Species, animals: &[Animal]) -> Vec<GeneId> {
    animals.iter().flat_map(|p| &p.genes).map(|c| c.gene).filter(|g| species.gene(*g).is_recessive()).collect()
}

/// Open words that nothing filled become questions.
fn open_ends(draft: &mut Draft, k: usize) {
    let word = if draft.het_all.is_some() || draft.open_het.is_some() {
        Some("het")
    } else if draft.open_visual {
        Some("visual")
    } else {
        None
    };
    if let Some(word) = word
        && draft.questions.is_empty()
    {
        let about = draft.promised_hets().map_or_else(|| word.to_owned(), |(_, w)| w.to_owned());
        draft.questions.push(Question { about, kind: Unclear::HetCount, readings: Vec::new(), animal: k });
    }
}

/// Two of one sex cannot be a pair; where one sex is known the other follows.
fn sexes(parents: &mut [Draft], found: &mut Found) {
    if parents.len() != 2 {
        return;
    }
    let (a, b) = (parents[0].animal.sex, parents[1].animal.sex);
    if a != SexSaid::Unknown && a == b {
        let about = if a == SexSaid::Male { "two males" } else { "two females" };
        let readings =
            vec![Choice::Words("the first is the male".into()), Choice::Words("the first is the female".into())];
        found.questions.push(Question { about: about.to_owned(), kind: Unclear::Sexes, readings, animal: 2 });
    } else if a == SexSaid::Unknown && may_follow(&parents[0]) {
        parents[0].animal.sex = b.other();
    } else if b == SexSaid::Unknown && may_follow(&parents[1]) {
        parents[1].animal.sex = a.other();
    }
}

/// A pair has both sexes, and an animal counted as unsexed stays so.
fn may_follow(draft: &Draft) -> bool {
    !draft.pair && draft.counts.is_none()
}

/// The wish: bare family words and ambiguous words mean what the pairing can make.
fn wish(species: &Species, mut draft: Draft, is_pairing: bool, found: &mut Found) {
    let parents = found.pairing.parents.clone();
    let makes = |genes: &[(GeneId, u8)]| {
        genes.iter().all(|(g, copies)| {
            let from = parents.iter().filter(|p| p.genes.iter().any(|c| c.gene == *g)).count();
            from >= usize::from(*copies)
        }) && together(species, genes, &parents)
    };
    let mut genes = draft.named();
    for mut question in std::mem::take(&mut draft.questions) {
        if is_pairing {
            let left: Vec<Choice> =
                question.readings.iter().filter(|c| matches!(c, Choice::Genes(_, g) if makes(g))).cloned().collect();
            if let [Choice::Genes(_, only)] = &left[..] {
                genes.extend(only.iter().copied());
                found.assumed.push(Assumed::LineFits(question.about.clone(), only[0].0));
                continue;
            }
            if !left.is_empty() {
                question.readings = left;
            }
        }
        question.animal = 2;
        found.questions.push(question);
    }
    let mut open_gene = carried_recessives(species, &parents);
    open_gene.sort_unstable();
    open_gene.dedup();
    if draft.open_visual {
        for gene in &open_gene {
            genes.push((*gene, 2));
        }
    }
    let mut hets = Vec::new();
    if draft.open_het.is_some() || draft.het_all.is_some() {
        for gene in &open_gene {
            genes.push((*gene, 1));
        }
    }
    for (gene, copies) in &genes {
        if *copies == 1 && species.gene(*gene).is_recessive() {
            hets.push(*gene);
        }
    }
    found.assumed.extend(draft.assumed.iter().cloned());
    found.unread.extend(draft.unread.iter().cloned());
    if genes.is_empty() && !draft.normal {
        return;
    }
    genes.sort_by(|a, b| species.gene(a.0).entry.id.cmp(&species.gene(b.0).entry.id));
    genes.dedup();
    found.pairing.target = Some(Target { genes, sex: draft.animal.sex, hets });
}

/// Whether the two parents can bring these alleles together: two alleles of one locus need one from each side.
fn together(species: &Species, genes: &[(GeneId, u8)], parents: &[Animal]) -> bool {
    if parents.len() != 2 {
        return true;
    }
    genes.iter().enumerate().all(|(i, (a, _))| {
        genes[i + 1..].iter().filter(|(b, _)| species.gene(*a).locus == species.gene(*b).locus).all(|(b, _)| {
            let has = |p: usize, g: GeneId| parents[p].genes.iter().any(|c| c.gene == g);
            has(0, *a) && has(1, *b) || has(1, *a) && has(0, *b)
        })
    })
}
