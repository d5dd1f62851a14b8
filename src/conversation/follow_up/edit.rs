//! One animal of the last pairing changed: a gene added, dropped or set, its sex, or the whole animal.

use super::super::Talk;
use super::leads;
use crate::engine::odds::sure;
use crate::reading::requests::{Animal, Carried, Choice, Question, Reading, SexSaid, Target, Unclear};
use crate::reading::vocabulary::{FollowUp, Role};
use crate::species::names::joined;
use crate::species::{GeneId, Species};

/// Changes one animal as the message says; whether anything changed. Where it is not plain which animal is meant, a question is left.
pub(super) fn animal(talk: &Talk<'_>, next: &mut Reading, said: &str, now: &Reading) -> bool {
    let Some(species) = next.species.map(|id| talk.catalogue.get(id)) else { return false };
    if next.pairing.parents.len() != 2 {
        return false;
    }
    let has = |role: FollowUp| words(said).any(|w| talk.reader.follow_up(&w) == Some(role));
    let edits = leads(talk, said, FollowUp::Edit) || leads(talk, said, FollowUp::SameBut) || has(FollowUp::Add);
    let without = has(FollowUp::Without);
    let sex = points_at(talk, said);
    let Some(named) = named(now) else {
        return bare(talk, species, next, said, sex, edits);
    };
    let carriers: Vec<usize> = (0..2)
        .filter(|k| named.genes.iter().any(|g| next.pairing.parents[*k].genes.iter().any(|c| c.gene == g.gene)))
        .collect();
    let of_sex = (0..2).find(|k| sex != SexSaid::Unknown && next.pairing.parents[*k].sex == sex);
    if without {
        return drop_genes(next, &named, of_sex);
    }
    // "make the clown the male": the genes name the animal, the sex is new.
    if let [only] = carriers[..]
        && ends_in_sex(talk, said)
        && edits
    {
        next.pairing.parents[only].sex = sex;
        next.pairing.parents[1 - only].sex = sex.other();
        return true;
    }
    let genes: Vec<(GeneId, u8)> = named.genes.iter().map(|c| (c.gene, c.copies)).collect();
    match (of_sex, edits) {
        // "use a pied girl instead": another animal in her place.
        (Some(k), _) if has(FollowUp::Instead) || words(said).any(|w| matches!(&*w, "swap" | "replace" | "use")) => {
            next.pairing.parents[k].genes = named.genes;
            true
        }
        (Some(k), true) => {
            for carried in &named.genes {
                next.pairing.parents[k].genes.retain(|c| c.gene != carried.gene);
                next.pairing.parents[k].genes.push(carried.clone());
            }
            sort(species, &mut next.pairing.parents[k]);
            true
        }
        // "add enchi": to which of the two?
        (None, true) if has(FollowUp::Add) || leads(talk, said, FollowUp::Edit) => {
            let about = genes.iter().map(|(g, n)| species.gene(*g).label(*n)).collect::<Vec<_>>().join(", ");
            let readings = (0..2).map(|k| Choice::OnParent(k, genes.clone())).collect();
            next.questions.push(Question { about, kind: Unclear::WhichParent, readings, animal: 2 });
            true
        }
        _ => false,
    }
}

/// Puts these genes on a parent, in place of what it had of them.
pub(super) fn carry(next: &mut Reading, parent: usize, genes: &[(GeneId, u8)]) {
    let Some(animal) = next.pairing.parents.get_mut(parent) else { return };
    for (gene, copies) in genes {
        animal.genes.retain(|c| c.gene != *gene);
        animal.genes.push(Carried { gene: *gene, copies: *copies, chance: sure() });
    }
}

/// "same but het x het": both animals as said now, with the visible genes they had.
pub(super) fn same_but(talk: &Talk<'_>, mut next: Reading, now: &Reading) -> Reading {
    let Some(species) = next.species.map(|id| talk.catalogue.get(id)) else { return next };
    for (animal, said) in next.pairing.parents.iter_mut().zip(&now.pairing.parents) {
        animal.genes.retain(|c| !species.gene(c.gene).is_recessive() && !said.genes.iter().any(|g| g.gene == c.gene));
        animal.genes.extend(said.genes.iter().cloned());
        if said.sex != SexSaid::Unknown {
            animal.sex = said.sex;
        }
        sort(species, animal);
    }
    next.questions.clone_from(&now.questions);
    next.assumed.clone_from(&now.assumed);
    next.unread.clone_from(&now.unread);
    if now.pairing.clutch_size.is_some() {
        next.pairing.clutch_size = now.pairing.clutch_size;
    }
    next
}

/// The animal or the wish that a message names, as an animal.
pub(super) fn named(now: &Reading) -> Option<Animal> {
    if let Some(animal) = now.pairing.parents.first().filter(|a| !a.genes.is_empty()) {
        return Some(animal.clone());
    }
    let target = now.pairing.target.as_ref().filter(|t| !t.genes.is_empty())?;
    let genes = target.genes.iter().map(|(gene, copies)| Carried { gene: *gene, copies: *copies, chance: sure() });
    Some(Animal { genes: genes.collect(), sex: target.sex, ..Animal::default() })
}

/// The wish of a message that names one, or an animal without a sex.
pub(super) fn wish(now: &Reading) -> Option<Target> {
    if let Some(target) = &now.pairing.target {
        return Some(target.clone());
    }
    let animal = now.pairing.parents.first().filter(|a| a.sex == SexSaid::Unknown && !a.genes.is_empty())?;
    Some(Target { genes: animal.genes.iter().map(|c| (c.gene, c.copies)).collect(), ..Target::default() })
}

/// A sex and no gene: "make her a normal", "what if she is not het", "make the first one the male".
fn bare(talk: &Talk<'_>, species: &Species, next: &mut Reading, said: &str, sex: SexSaid, edits: bool) -> bool {
    let Some(k) = (0..2).find(|k| sex != SexSaid::Unknown && next.pairing.parents[*k].sex == sex) else { return false };
    let role = |role: Role| words(said).any(|w| talk.reader.role(&w) == Some(role));
    if role(Role::Not) && role(Role::Het) {
        next.pairing.parents[k].genes.retain(|c| c.copies != 1 || !species.gene(c.gene).is_recessive());
        return true;
    }
    let recessives: Vec<GeneId> = next
        .pairing
        .parents
        .iter()
        .flat_map(|p| &p.genes)
        .map(|c| c.gene)
        .filter(|g| species.gene(*g).is_recessive())
        .collect();
    if edits && role(Role::Normal) {
        next.pairing.parents[k].genes.clear();
        return true;
    }
    // "what if she was a visual", "make him het": the genes under discussion.
    let copies = if role(Role::Visual) { 2 } else { 1 };
    if edits && (role(Role::Visual) || role(Role::Het)) && !recessives.is_empty() {
        let genes: Vec<(GeneId, u8)> = recessives.into_iter().map(|g| (g, copies)).collect();
        carry(next, k, &genes);
        sort(species, &mut next.pairing.parents[k]);
        return true;
    }
    false
}

/// "without the enchi", "she has no pied": from one animal where a sex is said, else from both.
fn drop_genes(next: &mut Reading, named: &Animal, of_sex: Option<usize>) -> bool {
    let mut changed = false;
    for (k, parent) in next.pairing.parents.iter_mut().enumerate() {
        if of_sex.is_none_or(|s| s == k) {
            let before = parent.genes.len();
            parent.genes.retain(|c| !named.genes.iter().any(|g| g.gene == c.gene));
            changed |= parent.genes.len() != before;
        }
    }
    if changed {
        next.pairing.target = None;
    }
    changed
}

fn sort(species: &Species, animal: &mut Animal) {
    animal.genes.sort_by(|a, b| species.gene(a.gene).entry.id.cmp(&species.gene(b.gene).entry.id));
}

fn words(said: &str) -> impl Iterator<Item = String> {
    said.split(|c: char| !c.is_alphanumeric() && c != '\'').map(joined).filter(|w| !w.is_empty())
}

/// The sex that a message points at first: "her", "the male", "he".
fn points_at(talk: &Talk<'_>, said: &str) -> SexSaid {
    let sex = |word: String| match talk.reader.role(&word) {
        Some(Role::Male) => Some(SexSaid::Male),
        Some(Role::Female) => Some(SexSaid::Female),
        _ if matches!(&*word, "her" | "hers" | "mom" | "mum" | "mother") => Some(SexSaid::Female),
        _ if matches!(&*word, "his" | "dad" | "father") => Some(SexSaid::Male),
        _ => None,
    };
    words(said).find_map(sex).unwrap_or_default()
}

/// Whether the last word is a sex: "make the clown the male".
fn ends_in_sex(talk: &Talk<'_>, said: &str) -> bool {
    words(said).last().is_some_and(|w| matches!(talk.reader.role(&w), Some(Role::Male | Role::Female)))
}
