//! A message that changes or answers the last one: "and with 9 eggs?", "swap them", "the first", "66 %".
//!
//! A what-if changes the request alone, never anything that is kept.

use super::Talk;
use crate::engine::odds::{Odds, none, sure};
use crate::reading::requests::{Carried, Choice, Intent, Question, Reading, Unclear};
use crate::reading::vocabulary::FollowUp;
use crate::species::names::joined;

/// The last request as this message changes it; `None` when it is no follow-up.
pub(super) fn change(talk: &Talk<'_>, last: &Reading, said: &str, now: &Reading) -> Option<Reading> {
    if let Some(question) = last.questions.first() {
        return answer(talk, last, question, said, now);
    }
    let key = joined(said.trim_matches(|c: char| !c.is_alphanumeric()));
    let role = |key: &str| talk.reader.follow_up(key);
    match role(&key) {
        Some(FollowUp::Swap) => {
            let mut next = last.clone();
            next.pairing.parents.reverse();
            let sexes: Vec<_> = next.pairing.parents.iter().map(|p| p.sex.other()).collect();
            for (parent, sex) in next.pairing.parents.iter_mut().zip(sexes) {
                parent.sex = sex;
            }
            return Some(next);
        }
        Some(FollowUp::Again) => return talk.first.clone(),
        Some(FollowUp::AllKinds) => {
            let mut next = last.clone();
            next.pairing.shown.all = true;
            return Some(next);
        }
        _ => {}
    }
    // Everything below keeps the pairing and changes what was named.
    if now.pairing.parents.len() >= 2 || now.intent == Intent::Help {
        return None;
    }
    let mut next = last.clone();
    let mut changed = false;
    if let Some(eggs) = now.pairing.clutch_size {
        next.pairing.clutch_size = Some(eggs);
        changed = true;
    }
    if let Some(clutches) = now.pairing.clutches {
        next.pairing.clutches = Some(clutches);
        changed = true;
    }
    if now.pairing.shown.without_normals {
        next.pairing.shown.without_normals = true;
        changed = true;
    }
    let without = said.split_whitespace().any(|w| role(&joined(w)) == Some(FollowUp::Without));
    let carried = |g| last.pairing.parents.iter().any(|p| p.genes.iter().any(|c| c.gene == g));
    if without && !now.named.is_empty() && now.named.iter().all(|g| carried(*g)) {
        for parent in &mut next.pairing.parents {
            parent.genes.retain(|c| !now.named.contains(&c.gene));
        }
        next.pairing.target = None;
        changed = true;
    } else if let Some(target) = &now.pairing.target {
        next.pairing.target = Some(target.clone());
        next.pairing.aspect = now.pairing.aspect;
        changed = true;
    }
    if changed {
        next.assumed.clear();
        next.unread.clone_from(&now.unread);
    }
    changed.then_some(next)
}

/// The last request with its first question answered by a number, a name or a share.
fn answer(talk: &Talk<'_>, last: &Reading, question: &Question, said: &str, now: &Reading) -> Option<Reading> {
    let key = joined(said.trim_matches(|c: char| !c.is_alphanumeric() && c != '+'));
    let n = question.readings.len();
    let place = match talk.reader.follow_up(&key) {
        Some(FollowUp::ChoiceLast) => n.checked_sub(1),
        Some(FollowUp::Yes) if n == 1 => Some(0),
        _ => talk.reader.place(said).filter(|k| *k < n),
    };
    let place = place.or_else(|| {
        let share = talk.reader.share(said)?;
        question.readings.iter().position(|c| matches!(c, Choice::Chance(_, _, p) if *p == share))
    });
    let place = place.or_else(|| {
        let fits: Vec<usize> = (0..n).filter(|k| names(talk, last, &question.readings[*k], &key, now)).collect();
        if let [only] = fits[..] { Some(only) } else { None }
    })?;
    let mut next = last.clone();
    next.questions.remove(0);
    match question.readings.get(place)? {
        // The whole message is read again with a species: not an edit.
        Choice::Species(_) => return None,
        Choice::Genes(_, genes) => {
            let parent = next.pairing.parents.get_mut(question.animal)?;
            for (gene, copies) in genes {
                if matches!(question.kind, Unclear::TooManyAlleles | Unclear::Twice | Unclear::SuperChance) {
                    parent.genes.retain(|c| c.gene != *gene);
                }
                if !parent.genes.iter().any(|c| c.gene == *gene) {
                    parent.genes.push(Carried { gene: *gene, copies: *copies, chance: sure() });
                }
            }
            if question.kind == Unclear::TooManyAlleles {
                let species = talk.catalogue.get(last.species?);
                let locus = genes.first().and_then(|g| species.gene(g.0).locus);
                parent.genes.retain(|c| species.gene(c.gene).locus != locus || genes.iter().any(|g| g.0 == c.gene));
            }
            if question.kind == Unclear::UnknownGene {
                next.unread.retain(|w| *w != question.about);
            }
        }
        Choice::Chance(gene, copies, chance) => {
            let parent = next.pairing.parents.get_mut(question.animal)?;
            parent.genes.retain(|c| c.gene != *gene);
            let mut carry = |copies, chance: Odds| {
                if chance > none() {
                    parent.genes.push(Carried { gene: *gene, copies, chance });
                }
            };
            if *copies == 2 {
                // A possible super shows: without the second copy it has one.
                carry(1, sure() - chance);
            }
            carry(*copies, chance.clone());
        }
        Choice::Words(_) => {}
    }
    next.intent = Intent::Odds;
    Some(next)
}

/// Whether the words name this reading.
fn names(talk: &Talk<'_>, last: &Reading, choice: &Choice, key: &str, now: &Reading) -> bool {
    if key.is_empty() {
        return false;
    }
    match (choice, last.species) {
        (Choice::Genes(name, genes), Some(id)) => {
            let species = talk.catalogue.get(id);
            joined(name) == key
                || genes.iter().any(|(g, _)| {
                    let entry = &species.gene(*g).entry;
                    joined(&entry.name) == key || entry.line_tags.iter().chain(&entry.aliases).any(|t| joined(t) == key)
                })
                || !now.named.is_empty()
                    && genes.iter().all(|(g, _)| now.named.contains(g))
                    && now.named.iter().all(|n| genes.iter().any(|g| g.0 == *n))
        }
        (Choice::Words(words), _) => joined(words) == key,
        (Choice::Species(s), _) => talk.catalogue.by_name(key) == Some(*s),
        _ => false,
    }
}
