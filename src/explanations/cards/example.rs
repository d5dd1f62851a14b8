//! The example of a card: a pairing that the engine works out.
//!
//! Invariant: no example pairs animals against a caution.

use super::{Card, Shown};
use crate::engine::odds::sure;
use crate::reading::requests::{Animal, Carried, Intent, Reading, SexSaid};
use crate::species::GeneId;
use crate::species::entries::{BreedingLimit, Combo, Part, Severity};

impl Card<'_> {
    pub(super) fn gene_example(&self, id: GeneId) -> Option<Shown> {
        let gene = self.species.gene(id);
        let limit = gene.entry.breeding_limit;
        if gene.locus.is_none() || limit == Some(BreedingLimit::Discouraged) || gene.entry.health_trait == Some(true) {
            return None;
        }
        // Two hets make visuals: only where a visual comes to no harm.
        let harmless = !gene.entry.welfare.iter().any(|w| w.severity >= Severity::Caution);
        if gene.is_recessive() && harmless {
            let het = || self.animal(&[(id, 1)], SexSaid::Unknown);
            return Some((self.phrases.two_hets.clone(), self.pairing(het(), het())));
        }
        let (own, other) = match limit {
            Some(BreedingLimit::NoFemales) => (SexSaid::Male, SexSaid::Female),
            Some(BreedingLimit::NoMales) => (SexSaid::Female, SexSaid::Male),
            // A mother hands a sex-linked gene to sons and daughters alike.
            _ if gene.entry.sex_linked.is_some() => (SexSaid::Female, SexSaid::Male),
            _ => (SexSaid::Unknown, SexSaid::Unknown),
        };
        let asked = self.pairing(self.animal(&[(id, 1)], own), self.animal(&[], other));
        Some((self.phrases.with_normal.clone(), asked))
    }

    pub(super) fn with_normal(&self, parts: &[(GeneId, u8)]) -> Shown {
        let asked = self.pairing(self.animal(parts, SexSaid::Unknown), self.animal(&[], SexSaid::Unknown));
        (self.phrases.with_normal.clone(), asked)
    }

    pub(super) fn parts(&self, combo: &Combo) -> Vec<(GeneId, u8)> {
        let part = |p: &Part| Some((self.species.gene_by_id(p.id.as_ref()?)?, copies(p.copies)));
        combo.genes.iter().filter_map(part).collect()
    }

    pub(super) fn animal(&self, parts: &[(GeneId, u8)], sex: SexSaid) -> Animal {
        let mut genes: Vec<Carried> =
            parts.iter().map(|(gene, copies)| Carried { gene: *gene, copies: *copies, chance: sure() }).collect();
        genes.sort_by(|a, b| self.species.gene(a.gene).entry.id.cmp(&self.species.gene(b.gene).entry.id));
        Animal { sex, genes, ..Animal::default() }
    }

    pub(super) fn pairing(&self, a: Animal, b: Animal) -> Reading {
        let mut asked = Reading::of(Intent::Odds, Some(self.species.id));
        asked.pairing.parents = vec![a, b];
        asked
    }
}

/// Copies as an entry writes them.
pub(super) fn copies(n: i64) -> u8 {
    if n >= 2 { 2 } else { 1 }
}
