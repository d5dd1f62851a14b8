//! Lines and alleles told beside a name: "vpi axanthic", "snow boa (kahl)", "BEL (mojave/russo)".

use super::names::{combo_genes, pair_genes};
use super::{Next, Parser};
use crate::reading::lexicon::{Meaning, Said};
use crate::reading::matching::{Item, What};
use crate::reading::requests::{Assumed, Choice, Unclear};
use crate::reading::vocabulary::Role;
use crate::species::GeneId;

impl Parser<'_> {
    pub(super) fn family(&mut self, items: &[Item], i: usize, family: usize, word: &str) -> usize {
        let entry = &self.species.file().family[family];
        if let Some((gene, end)) = self.line_ahead(items, i + 1, &entry.id) {
            self.member(gene, word);
            return end - i;
        }
        let behind = items[..i].iter().rev().find(|x| !between(x)).and_then(|x| self.line_of(x, &entry.id));
        if let Some(gene) = behind {
            // The tag was read as the gene itself already; the family word adds nothing.
            if self.draft.genes.iter().any(|g| g.id == gene) {
                return 1;
            }
            self.member(gene, word);
            return 1;
        }
        if entry.bare != "ask"
            && let Some(gene) = self.species.gene_by_id(&entry.bare)
        {
            self.draft
                .assumed
                .push(Assumed::Usual(word.to_owned(), vec![(gene, self.species.gene(gene).bare_copies())]));
            self.member(gene, word);
            return 1;
        }
        let copies_hint = self.next.take().map(|n| n.0);
        let recessive_copies = if copies_hint.is_none() && self.het.is_some() { 1 } else { 2 };
        if let Some(het) = &mut self.het {
            het.governed += 1;
            het.fresh = false;
        }
        let readings = self
            .species
            .genes()
            .iter()
            .enumerate()
            .filter(|(_, g)| g.entry.family.as_deref() == Some(&entry.id))
            .filter(|(_, g)| !(matches!(copies_hint, Some(Next::Super)) && g.locus.is_none()))
            .map(|(n, g)| {
                let id = GeneId(u16::try_from(n).unwrap_or(u16::MAX));
                let copies = if g.is_recessive() {
                    recessive_copies
                } else if copies_hint == Some(Next::Super) {
                    2
                } else {
                    1
                };
                Choice::Genes(g.entry.name.clone(), vec![(id, copies)])
            })
            .collect();
        self.ask(word.to_owned(), Unclear::Line, readings);
        1
    }

    /// The member of a family that an item names, by its own name or its tag.
    pub(super) fn line_of(&self, item: &Item, family: &str) -> Option<GeneId> {
        let What::Name(senses) = &item.what else { return None };
        senses.iter().find_map(|s| match s.meaning {
            Meaning::Gene(g, _) | Meaning::Tag(g) | Meaning::Look(g)
                if s.species == self.species.id && self.species.gene(g).entry.family.as_deref() == Some(family) =>
            {
                Some(g)
            }
            _ => None,
        })
    }

    /// A member or tag behind a word, with "line", the species, brackets or signs between; and the place behind it.
    pub(super) fn line_ahead(&self, items: &[Item], from: usize, family: &str) -> Option<(GeneId, usize)> {
        let at = from + items.get(from..)?.iter().position(|x| !between(x))?;
        Some((self.line_of(&items[at], family)?, at + 1))
    }

    /// A combination whose line may stand behind it: "snow boa (kahl)".
    pub(super) fn combo_with_line(&mut self, items: &[Item], i: usize, combo: usize, word: &str) -> usize {
        let open = combo_genes(self.species, combo, None).err();
        if let Some((line, end)) = open.and_then(|family| self.line_ahead(items, i + 1, &family)) {
            self.combo(combo, Some(line), word);
            return end - i;
        }
        self.combo(combo, None, word);
        1
    }

    pub(super) fn member(&mut self, gene: GeneId, word: &str) {
        if self.species.gene(gene).locus.is_none() {
            self.look(gene);
        } else {
            self.gene(gene, Said::Bare, word, false);
        }
    }

    /// Two genes in brackets that make an allele pair, and the place behind the brackets.
    pub(super) fn pair_in_brackets(&self, items: &[Item], open: usize) -> Option<(usize, usize)> {
        items.get(open).filter(|x| x.is_sign('('))?;
        let close = open + items[open..].iter().position(|x| x.is_sign(')'))?;
        let mut genes: Vec<GeneId> = items[open..close]
            .iter()
            .filter_map(|x| match &x.what {
                What::Name(senses) => senses.iter().find_map(|s| match s.meaning {
                    Meaning::Gene(g, _) if s.species == self.species.id => Some(g),
                    _ => None,
                }),
                _ => None,
            })
            .collect();
        genes.sort_unstable();
        let pair = (0..self.species.file().allele_pair.len()).find(|p| {
            let mut own: Vec<GeneId> = pair_genes(self.species, *p).iter().map(|g| g.0).collect();
            own.sort_unstable();
            own == genes
        })?;
        Some((pair, close + 1))
    }
}

/// What may stand between a family's word and its line.
fn between(item: &Item) -> bool {
    item.role() == Some(Role::Line)
        || matches!(item.what, What::Sign('(' | ')' | '-' | '[' | ']' | '/') | What::Species(_))
}
