//! Names of animals: "Toast is my big male", "my Olga (mojave het pied)", "a girl called Mocha".
//!
//! Nobody's list of names is needed: where a capital word stands tells. A name that is a gene word too is the animal here.

use std::collections::HashSet;

use crate::reading::matching::{Item, What};
use crate::reading::vocabulary::Role;
use crate::reading::words::Text;

/// Marks the items that name animals.
pub(super) fn called(text: &Text, items: &[Item]) -> Vec<Item> {
    let names: HashSet<String> =
        (0..items.len()).filter(|i| is_named(text, items, *i)).map(|i| bare(text, &items[i])).collect();
    items
        .iter()
        .map(|item| {
            let mut item = item.clone();
            let named = one_word(&item) && !names.is_empty() && names.contains(&bare(text, &item));
            if named && (is_open(&item) || matches!(item.what, What::Name(_)) && proper(text, &item)) {
                item.what = What::Called;
            }
            item
        })
        .collect()
}

/// The word without a possessive ending.
fn bare(text: &Text, item: &Item) -> String {
    let typed = text.typed(item.words.clone());
    typed.strip_suffix("'s").or_else(|| typed.strip_suffix("\u{2019}s")).unwrap_or(typed).to_owned()
}

fn one_word(item: &Item) -> bool {
    item.words.len() == 1
}

/// A word that may be a name: no known part of the grammar, and no gene as it should be written.
fn is_open(item: &Item) -> bool {
    matches!(item.what, What::English | What::Unknown) || matches!(item.what, What::Name(_)) && item.healed.is_some()
}

/// Written as a name is: "Mocha".
fn proper(text: &Text, item: &Item) -> bool {
    let typed = text.typed(item.words.clone());
    typed.chars().next().is_some_and(char::is_uppercase) && typed.chars().skip(1).any(char::is_lowercase)
}

fn is_named(text: &Text, items: &[Item], i: usize) -> bool {
    let item = &items[i];
    let typed = text.typed(item.words.clone());
    let word = |k: usize| items.get(k).map(|x| text.folded(x.words.clone())).unwrap_or_default();
    let before = i.checked_sub(1).map(word).unwrap_or_default();
    if !one_word(item) {
        return false;
    }
    // "a girl called Mocha": whatever the word is elsewhere.
    if matches!(&*before, "called" | "named") && !matches!(item.what, What::Word(_) | What::Sign(_)) {
        return is_open(item) || proper(text, item);
    }
    if !proper(text, item) || !is_open(item) {
        return false;
    }
    let possessive = typed.ends_with("'s") || typed.ends_with("\u{2019}s");
    let next = word(i + 1);
    let tells = matches!(&*next, "is" | "has" | "was" | "looks" | "hatched" | "goes" | "carries" | "weighs")
        || next == "the" && items.get(i + 2).is_some_and(|x| matches!(x.role(), Some(Role::Male | Role::Female)))
        || next == "the" && items.get(i + 2).is_some_and(|x| matches!(x.what, What::Name(_)))
        || next == "("
        || next == ":" && items[..i].iter().rev().take(2).any(|x| matches!(x.what, What::Sexes(..)));
    let strange = item.what == What::Unknown || item.healed.is_some();
    let opens = i == 0 || matches!(items[i - 1].what, What::Sign('.' | '!' | '?' | '\n'));
    let after_my = matches!(&*before, "my" | "for" | "to" | "with" | "and" | "x" | "over" | "by");
    // A capital at the head of a sentence says nothing by itself.
    tells && (strange || next != "(" && (!opens || possessive || next != "is")) || !opens && strange && after_my
}
