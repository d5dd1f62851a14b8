//! Which species a message is about: said, set for the place, or worked out from the names of genes.

use super::Reader;
use super::lexicon::{Meaning, Sense};
use super::matching::{Item, What, items};
use super::words::Text;
use crate::species::entries::Then;
use crate::species::{Catalogue, SpeciesId};

/// The species, or those between which the message leaves the choice.
#[derive(Debug, Default)]
pub(super) struct Settled {
    pub(super) species: Option<SpeciesId>,
    /// It was worked out from the genes, so the reply says it.
    pub(super) worked_out: bool,
    /// Species that fit equally well.
    pub(super) fitting: Vec<SpeciesId>,
}

/// Settles the species.
pub(super) fn species(reader: &Reader, catalogue: &Catalogue, text: &Text, set: Option<SpeciesId>) -> Settled {
    let all = items(reader, text, None);
    let said = |id: &SpeciesId| all.iter().any(|i| i.what == What::Species(*id));
    let named: Vec<SpeciesId> = catalogue.species().iter().map(|s| s.id).filter(said).collect();
    if let Some(id) = set {
        // A place's species holds unless the message plainly names another.
        let other = named.iter().copied().find(|n| *n != id).filter(|_| !named.contains(&id));
        return Settled { species: Some(other.unwrap_or(id)), ..Settled::default() };
    }
    if let [only] = named[..] {
        return Settled { species: Some(only), ..Settled::default() };
    }
    // Count what each species makes of the names: a gene of its own counts most, a look or an unsettled word least.
    let mut scores: Vec<(SpeciesId, u32)> = catalogue.species().iter().map(|s| (s.id, 0)).collect();
    let mut names = 0;
    for item in &all {
        let senses: Vec<Sense> = match &item.what {
            What::Name(senses) => senses.clone(),
            _ => reader.lexicon.senses(&text.words[item.words.start].form).map(<[Sense]>::to_vec).unwrap_or_default(),
        };
        // "leo" is a gene in one species and the name of another.
        if let Some(id) = reader.lexicon.species(&text.words[item.words.start].form) {
            scores.iter_mut().filter(|s| s.0 == id).for_each(|s| s.1 += 13);
        }
        if senses.is_empty() || matches!(item.what, What::Word(_)) {
            continue;
        }
        names += 1;
        for (id, score) in &mut scores {
            *score += senses.iter().filter(|s| s.species == *id).map(|s| weight(catalogue, s, item)).max().unwrap_or(0);
        }
    }
    let best = scores.iter().map(|s| s.1).max().unwrap_or(0);
    if names == 0 || best == 0 {
        return Settled::default();
    }
    let fitting: Vec<SpeciesId> = scores.iter().filter(|s| s.1 == best).map(|s| s.0).collect();
    match fitting[..] {
        [only] => Settled { species: Some(only), worked_out: true, fitting },
        _ => Settled { species: None, worked_out: false, fitting },
    }
}

fn weight(catalogue: &Catalogue, sense: &Sense, item: &Item) -> u32 {
    let file = catalogue.get(sense.species).file();
    let base = match sense.meaning {
        Meaning::Gene(..) | Meaning::Pair(_) | Meaning::Combo(..) => 12,
        Meaning::Family(_) => 12,
        Meaning::Ambiguous(a) if file.ambiguous[a].then == Then::Assume => 10,
        Meaning::Ambiguous(_) => 8,
        Meaning::Look(_) => 4,
        Meaning::Tag(_) => 2,
    };
    // A longer name says more; an everyday word says less.
    let words = u32::try_from(item.words.len()).unwrap_or(1).min(3);
    (base * words).saturating_sub(if sense.everyday { 2 } else { 0 })
}
