//! Parents made whole: words that lean on the other animal, the sexes, a second pairing to compare with.

use super::Found;
use super::amounts::Asked;
use super::wish::wish;
use crate::reading::animals::{Chance, Draft};
use crate::reading::requests::{Animal, Assumed, Choice, Pairing, Question, SexSaid, Unclear};
use crate::species::{GeneId, Species};

/// "het", "het both", "visual" and "same" take their genes from the other animal.
pub(super) fn lean(species: &Species, parents: &mut [Draft]) {
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

pub(super) fn finish(
    species: &Species,
    mut parents: Vec<Draft>,
    target: Option<Draft>,
    mut second: Vec<Draft>,
    asked: &Asked,
    found: &mut Found,
) {
    let mut wished: Vec<GeneId> = target.as_ref().map(|t| t.recessives(species)).unwrap_or_default();
    if wished.is_empty() {
        // "same but het x het": the genes spoken of before.
        wished.clone_from(&found.about);
    }
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
pub(super) fn carried_recessives(species: &Species, animals: &[Animal]) -> Vec<GeneId> {
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
