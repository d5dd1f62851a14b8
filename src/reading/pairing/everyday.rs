//! Names that are also plain words: genes beside a gene, a het word, a sex mark or a pairing word, else plain words.

use super::stretches::describes_animal;
use crate::reading::matching::{Item, What};
use crate::reading::vocabulary::Role;

/// Names that are also plain words count as genes only beside a gene, a het word, a sex mark or a pairing word;
/// the others become plain words.
#[allow(clippy::too_many_lines)] // the lists of neighbours belong side by side
pub(super) fn promote(items: &[Item]) -> Vec<Item> {
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
