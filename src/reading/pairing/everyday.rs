//! Names that are also plain words: genes beside a gene, a het word, a sex mark or a pairing word, else plain words.

use super::stretches::describes_animal;
use crate::reading::matching::{Item, What};
use crate::reading::vocabulary::Role;
use crate::reading::words::Text;

/// Names that are also plain words count as genes only beside a gene, a het word, a sex mark or a pairing word;
/// the others become plain words.
#[expect(clippy::too_many_lines)] // the lists of neighbours belong side by side
pub(super) fn promote(text: &Text, items: &[Item]) -> Vec<Item> {
    let labels: Vec<Item> = (0..items.len())
        .map(|i| match labelled(text, items, i) {
            Some(sex) => Item { what: What::Word(sex), ..items[i].clone() },
            None => items[i].clone(),
        })
        .collect();
    let items = &labels[..];
    let everyday = |x: &Item| matches!(&x.what, What::Name(senses) if senses.iter().all(|s| s.everyday));
    let skips = |x: &Item| {
        matches!(
            x.what,
            What::Word(
                Role::Filler
                    | Role::And
                    | Role::Not
                    | Role::For
                    | Role::To
                    | Role::Of
                    | Role::Eggs
                    | Role::Clutches
                    | Role::Adult
                    | Role::Growing
                    | Role::Born
                    | Role::Grams
                    | Role::Kilos
            ) | What::Sign('/' | '+' | ',' | '-' | '(' | ')' | '&' | '\'' | ':' | '=')
                | What::Unknown
                | What::Species(_)
                | What::Number(_)
        )
    };
    // A list has one gene a line, with or without a dash.
    let list_break = |k: usize| {
        items[k].is_sign('\n')
            && (items.get(k + 1).is_some_and(|x| x.is_sign('-'))
                || items[k + 1..].iter().take_while(|x| !x.is_sign('\n')).count() == 1)
    };
    let named = items.iter().any(|x| {
        matches!(x.what, What::Name(_)) && !everyday(x)
            || matches!(x.what, What::Sexes(..) | What::Share(_) | What::Species(_))
            || matches!(x.role(), Some(Role::Het | Role::Cross | Role::Male | Role::Female | Role::Odds))
    });
    let firm = |x: &Item| match &x.what {
        What::Name(_) => !everyday(x),
        What::Sexes(..) | What::Share(_) | What::Species(_) | What::Called => true,
        // "you need a paint job": wishing alone makes no gene of a plain word, asking for its odds or a gene beside it does.
        What::Word(Role::Target) => {
            named || {
                let typed = text.folded(x.words.clone());
                !matches!(
                    &*typed,
                    "need"
                        | "needs"
                        | "want"
                        | "wants"
                        | "want a"
                        | "wanting"
                        | "get"
                        | "getting"
                        | "make"
                        | "making"
                        | "give"
                        | "give me"
                        | "see"
                        | "any"
                        | "hit"
                )
            }
        }
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
                        | Role::From
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
        matches!(x.what, What::Name(_) | What::Sign(_) | What::Species(_))
            || matches!(x.role(), Some(Role::To | Role::With | Role::On | Role::Over | Role::Into | Role::Filler))
    };
    // Nothing but names and a small word: "calico to sugar".
    let only_names =
        items.iter().all(small_or_name) && items.iter().any(|x| x.role().is_some_and(|r| r != Role::Filler));
    let asks = only_names
        || items.iter().any(|x| matches!(x.role(), Some(Role::Odds | Role::Outcomes | Role::Target | Role::WhyNo)));
    let slang =
        |i: usize| matches!(items[i].role(), Some(Role::MaleAfter | Role::FemaleAfter)) && tells_sex(text, items, i);
    let mut gene: Vec<bool> = items.iter().enumerate().map(|(i, x)| firm(x) || slang(i)).collect();
    loop {
        let mut changed = false;
        for i in 0..items.len() {
            if gene[i] || !everyday(&items[i]) {
                continue;
            }
            let before = (0..i)
                .rev()
                .find(|k| !skips(&items[*k]) && !list_break(*k))
                .is_some_and(|k| gene[k] && items[k].role() != Some(Role::Can) && !praises(text, items, k, i));
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
                    || items[k].role().is_some_and(|r| matches!(r, Role::Male | Role::Female))
                        && items[i + 1..k].iter().all(|x| x.is_sign('(') || matches!(x.what, What::Species(_)))
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
            // "pastel clone x het clone": the strange word between a name and the cross is asked about, the name stands.
            let misspelt = items.get(i + 1).is_some_and(|x| x.what == What::English)
                && items[i + 2..].iter().take(2).any(|x| x.role() == Some(Role::Cross));
            // "freeway?? from asphalt x yb"
            let wondered = items.get(i + 1).is_some_and(|x| x.is_sign('?'))
                && items[i + 1..].iter().find(|x| !x.is_sign('?')).is_some_and(|x| x.role() == Some(Role::From));
            if before || after || across || misspelt || wondered {
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
        .zip(&gene)
        .enumerate()
        .map(|(i, (item, gene))| {
            let mut item = item.clone();
            if everyday(&item) && !gene {
                item.what = What::English;
            }
            if let Some(role @ (Role::MaleAfter | Role::FemaleAfter)) = item.role() {
                item.what = What::Word(if tells_sex(text, items, i) {
                    if role == Role::MaleAfter { Role::Male } else { Role::Female }
                } else {
                    Role::Filler
                });
            }
            item
        })
        .collect()
}

/// "pied (her)", "Sie: Palmetto. Er: het Palmetto": a pronoun alone in brackets or before a colon is the sex.
fn labelled(text: &Text, items: &[Item], i: usize) -> Option<Role> {
    let bracketed = i > 0 && items[i - 1].is_sign('(') && items.get(i + 1).is_some_and(|x| x.is_sign(')'));
    let label = items.get(i + 1).is_some_and(|x| x.is_sign(':'));
    if !bracketed && !label {
        return None;
    }
    match &*text.folded(items[i].words.clone()) {
        "her" | "hers" | "sie" | "ella" => Some(Role::Female),
        "him" | "his" | "er" | "ihn" => Some(Role::Male),
        _ => None,
    }
}

/// "that pairing is fire": a plain word that is said of the pairing.
fn praises(text: &Text, items: &[Item], subject: usize, word: usize) -> bool {
    let is = |x: &Item| matches!(&*text.folded(x.words.clone()), "is" | "was" | "looks" | "sounds" | "ist" | "es");
    items[subject].role() == Some(Role::Breed) && items[subject + 1..word].iter().any(is)
}

/// "hypo guy", "my dude is a mack": slang tells a sex behind a name or a possessive, and greets people elsewhere.
fn tells_sex(text: &Text, items: &[Item], i: usize) -> bool {
    i.checked_sub(1).map(|k| &items[k]).is_some_and(|before| {
        matches!(before.what, What::Name(_))
            || before.role() == Some(Role::Normal)
            || matches!(&*text.folded(before.words.clone()), "my" | "his" | "her" | "our" | "their" | "your")
    })
}
