//! How many eggs and clutches, how sure, and what is asked: taken out of the items before the animals are read.

use crate::engine::odds::{Odds, sure};
use crate::reading::matching::{Item, What};
use crate::reading::requests::{Aspect, Shown};
use crate::reading::vocabulary::Role;
use crate::reading::words::Text;

/// Amounts and aspects, taken out of the items before the animals are read.
#[derive(Debug, Default)]
pub(super) struct Asked {
    pub(super) eggs: Option<u32>,
    pub(super) clutches: Option<u32>,
    pub(super) certainty: Option<Odds>,
    pub(super) aspect: Aspect,
    pub(super) shown: Shown,
    pub(super) odds: bool,
    pub(super) how_many: bool,
    pub(super) at_least_one: bool,
    pub(super) breed: bool,
    pub(super) question: bool,
}

#[expect(clippy::too_many_lines)] // one arm an item kind: the table is easier to check whole
pub(super) fn amounts(text: &Text, items: &[Item]) -> (Vec<Item>, Asked) {
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
                        let typed = text.folded(items[noun].words.clone());
                        // "can one baby have both": no clutch of one.
                        let one = n == 1 && text.folded(item.words.clone()) == "one";
                        if one || matches!(&*typed, "baby" | "hatchling" | "neonate" | "neo") && n > 1 {
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
                            items.get(noun + 1).map(|x| text.folded(x.words.clone())).as_deref(),
                            items.get(noun + 2).map(|x| &x.what),
                        ) {
                            asked.eggs = Some(*eggs);
                            took += 2;
                        }
                    }
                    // "at least one in 7?"
                    _ if (asked.odds || asked.at_least_one || asked.question)
                        && (2..=60).contains(&n)
                        && keep.last().is_some_and(|x| text.folded(x.words.clone()) == "in")
                        && items.get(i + 1).is_none_or(|x| matches!(x.what, What::Sign(_))) =>
                    {
                        asked.eggs = Some(n);
                        took = 1;
                    }
                    // "eggs: 6", "litter 25", "clutch should be around 15"
                    _ if (2..=60).contains(&n)
                        && counted_before(text, &keep)
                        && noun.and_then(role) != Some(Role::Grams) =>
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
                    || how_many
                        && role(i + 1).is_some_and(|r| matches!(r, Role::Odds | Role::Target | Role::On | Role::For))
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
                // "per clutch of 5"
                Role::PerClutch if matches!(items.get(i + 2).map(|x| &x.what), Some(What::Number(_))) => {
                    took = 1;
                    if let (Some("of"), Some(What::Number(eggs))) = (
                        items.get(i + 1).map(|x| text.folded(x.words.clone())).as_deref(),
                        items.get(i + 2).map(|x| &x.what),
                    ) {
                        asked.eggs = Some(*eggs);
                        took = 3;
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
                // "clown female, normal male, hets?"
                Role::Het if asks_hets(text, items, i) => {
                    asked.aspect = Aspect::Hets;
                    asked.odds = true;
                    took = 1;
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
                    let typed = text.folded(item.words.clone());
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

/// Whether "hets" asks what the young carry: the last word, behind an animal that is told to its end.
fn asks_hets(text: &Text, items: &[Item], i: usize) -> bool {
    let closed = i.checked_sub(1).map(|k| &items[k]).is_some_and(|x| {
        matches!(x.role(), Some(Role::Male | Role::Female | Role::Normal)) || matches!(x.what, What::Sign(',' | '.'))
    });
    closed && text.folded(items[i].words.clone()) == "hets" && items[i + 1..].iter().all(|x| x.is_sign('?'))
}

/// Whether the number that follows counts the eggs of a clutch that was just named.
fn counted_before(text: &Text, keep: &[Item]) -> bool {
    let small = |x: &Item| {
        x.is_sign(':')
            || x.is_sign('=')
            || matches!(
                &*text.folded(x.words.clone()),
                "should" | "be" | "is" | "around" | "about" | "maybe" | "say" | "of" | "with" | "roughly" | "approx"
            )
    };
    let mut back = keep.iter().rev().skip_while(|x| small(x));
    let noun = back.next();
    noun.is_some_and(|x| matches!(x.role(), Some(Role::Eggs | Role::Clutches)))
        // "3 clutches 5 …" counted the clutches already.
        && !back.next().is_some_and(|x| matches!(x.what, What::Number(_)))
}
