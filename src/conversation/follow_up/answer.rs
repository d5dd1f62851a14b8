//! The answer to a question that was asked back: a place in the list, a name, a share, or the missing animal itself.

use super::super::Talk;
use super::edit;
use crate::engine::odds::{Odds, none, sure};
use crate::reading::requests::{Animal, Carried, Choice, Intent, Question, Reading, SexSaid, Unclear};
use crate::reading::vocabulary::FollowUp;
use crate::species::names::joined;

/// The last request with its first question answered by a number, a name or a share.
pub(super) fn answer(
    talk: &Talk<'_>,
    last: &Reading,
    question: &Question,
    said: &str,
    now: &Reading,
) -> Option<Reading> {
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
    });
    let mut next = last.clone();
    next.questions.remove(0);
    let Some(place) = place else {
        return told(talk, last, question, now, next);
    };
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
        Choice::OnParent(parent, genes) => {
            edit::carry(&mut next, *parent, genes);
        }
        Choice::Words(_) if question.kind == Unclear::Sexes && next.pairing.parents.len() == 2 => {
            let first = if place == 0 { SexSaid::Male } else { SexSaid::Female };
            next.pairing.parents[0].sex = first;
            next.pairing.parents[1].sex = first.other();
        }
        Choice::Words(_) => {}
    }
    next.intent = Intent::Odds;
    Some(next)
}

/// An open question answered in the asker's own words: the other parent, the genes of a double het, the right name.
fn told(talk: &Talk<'_>, last: &Reading, question: &Question, now: &Reading, mut next: Reading) -> Option<Reading> {
    let species = talk.catalogue.get(last.species?);
    // "a normal female" names no gene and is an answer all the same.
    let said = edit::named(now).or_else(|| now.pairing.parents.first().cloned())?;
    if !now.questions.iter().all(|q| q.kind == Unclear::OtherParent) {
        return None;
    }
    match question.kind {
        Unclear::OtherParent => {
            let mut other = said;
            let first = next.pairing.parents.first().map_or(SexSaid::Unknown, |p| p.sex);
            if other.sex == SexSaid::Unknown {
                other.sex = first.other();
            }
            next.pairing.parents.push(other);
            if let [a, b] = &mut next.pairing.parents[..] {
                a.sex = if a.sex == SexSaid::Unknown { b.sex.other() } else { a.sex };
            }
        }
        Unclear::Siblings => {
            // Littermates of these parents: what is said of them is said of each.
            next.pairing.parents = vec![said.clone(), said];
        }
        Unclear::HetCount => {
            let parent = next.pairing.parents.get_mut(question.animal)?;
            for carried in said.genes.iter().filter(|c| species.gene(c.gene).is_recessive()) {
                parent.genes.retain(|c| c.gene != carried.gene);
                parent.genes.push(Carried { gene: carried.gene, copies: 1, chance: sure() });
            }
        }
        Unclear::UnknownGene | Unclear::Word | Unclear::Line => {
            let parent: &mut Animal = next.pairing.parents.get_mut(question.animal)?;
            for carried in said.genes {
                parent.genes.retain(|c| c.gene != carried.gene);
                parent.genes.push(carried);
            }
            next.unread.retain(|w| *w != question.about);
        }
        _ => return None,
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
        (Choice::OnParent(parent, _), _) => {
            let sex = last.pairing.parents.get(*parent).map(|p| p.sex);
            let said = now.pairing.parents.first().map(|p| p.sex);
            sex == said && sex != Some(SexSaid::Unknown)
        }
        (Choice::Species(s), _) => talk.catalogue.by_name(key) == Some(*s),
        _ => false,
    }
}
