//! The names in an animal: what each adds, and what it leaves to ask.

use super::{Chance, Next, Parser};
use crate::engine::odds::odds;
use crate::reading::lexicon::{Meaning, Said};
use crate::reading::matching::{Item, What};
use crate::reading::requests::{Assumed, Choice, Unclear};
use crate::species::entries::{Inheritance, Then};
use crate::species::{Candidate, GeneId, Species};

impl Parser<'_> {
    /// Reads a name; the number of items it took.
    pub(super) fn name(&mut self, items: &[Item], i: usize, meaning: Meaning) -> usize {
        let word = self.typed(&items[i]);
        match meaning {
            Meaning::Gene(gene, said) => {
                self.gene(gene, said, &word, false);
            }
            Meaning::Look(gene) => self.look(gene),
            Meaning::Tag(_) => {
                // A tag without its family's word beside it: "texas", "nic". Not a gene by itself.
                if self.het.as_ref().is_some_and(|h| h.governed == 0) {
                    self.ask_unknown(&word, Vec::new());
                }
            }
            Meaning::Family(family) => return self.family(items, i, family, &word),
            Meaning::Combo(combo, None) => return self.combo_with_line(items, i, combo, &word),
            Meaning::Combo(combo, line) => self.combo(combo, line, &word),
            Meaning::Pair(pair) => self.pair(pair, &word),
            Meaning::Ambiguous(entry) => return self.ambiguous(items, i, entry, &word),
        }
        1
    }

    pub(super) fn look(&mut self, gene: GeneId) {
        let entry = &self.species.gene(gene).entry;
        self.draft.animal.looks.push(gene);
        self.draft.assumed.push(Assumed::NoOddsFor(gene));
        let carries: Vec<(GeneId, u8)> = entry
            .carries
            .iter()
            .filter_map(|p| Some((self.species.gene_by_id(p.id.as_deref()?)?, copies_u8(p.copies))))
            .collect();
        for (g, copies) in carries {
            let (copies, chance) = match &mut self.het {
                Some(het) => {
                    het.governed += 1;
                    (1, het.chance.clone())
                }
                None => (copies, Chance::Sure),
            };
            self.push(g, copies, chance, false, &entry.name.clone(), true);
        }
    }

    pub(super) fn gene(&mut self, id: GeneId, said: Said, word: &str, coined: bool) {
        let gene = self.species.gene(id);
        let next = self.next.take();
        self.fill_super(id, word);
        if gene.is_recessive() {
            match (&next, &mut self.het) {
                (Some((Next::Super, _)), _) => self.super_recessive(id, word),
                (Some((Next::Homo | Next::Visual, _)), _) => {
                    self.push(id, 2, Chance::Sure, next.is_some_and(|n| n.0 == Next::Homo), word, coined);
                }
                (_, Some(het)) => {
                    het.fresh = false;
                    het.governed += 1;
                    let (chance, listed, n) = (het.chance.clone(), het.listed, het.governed);
                    if n > 1 && !listed && self.draft.het_count.is_none() {
                        self.draft.governed.push(id);
                    } else if n == 1 {
                        self.draft.governed = vec![id];
                    }
                    self.push(id, 1, chance, true, word, coined);
                }
                (None | Some((Next::OneCopy, _)), None) => {
                    self.push(id, gene.bare_copies(), Chance::Sure, false, word, coined);
                }
            }
            return;
        }
        let two_alike = gene.entry.inheritance == Inheritance::Dominant;
        let (copies, firm) = match (&next, said) {
            (_, Said::Two) => (2, true),
            (_, Said::One) => (1, true),
            (Some((Next::Super | Next::Homo, _)), _) => {
                if two_alike {
                    self.draft.assumed.push(Assumed::SuperIs(id));
                }
                (2, true)
            }
            (Some((Next::OneCopy, _)), _) => (1, true),
            _ => (gene.bare_copies(), false),
        };
        let mut copies = copies;
        let mut chance = Chance::Sure;
        if let Some(het) = &mut self.het {
            let direct = het.governed == 0;
            if direct && next.is_none() && said == Said::Bare {
                match &het.chance {
                    Chance::Sure => {
                        copies = 1;
                        het.governed += 1;
                        het.fresh = false;
                        // "het for" a list stays open for what follows.
                        self.draft.assumed.push(Assumed::HetShows(id));
                    }
                    Chance::Part(p) => {
                        chance = Chance::Part(p.clone());
                        copies = 1;
                        het.governed += 1;
                        het.fresh = false;
                    }
                    Chance::Open => {
                        chance = Chance::Open;
                        self.het = None;
                    }
                }
            }
        }
        self.push(id, copies, chance, firm, word, coined);
    }

    /// The gene of a "possible super" that has just been said, before or behind it.
    pub(super) fn fill_super(&mut self, id: GeneId, word: &str) {
        let gene = self.species.gene(id);
        if let Some(q) = self.draft.questions.last_mut()
            && q.kind == Unclear::SuperChance
            && q.readings.is_empty()
        {
            q.about = format!("{} {word}", q.about);
            q.readings = vec![
                Choice::Genes(format!("one copy: {}", gene.label(1)), vec![(id, 1)]),
                Choice::Genes(format!("two copies: {}", gene.label(2)), vec![(id, 2)]),
                Choice::Chance(id, 2, odds(1, 3)),
            ];
        }
    }

    /// "super clown": no such thing; perhaps the super of the usual visible gene ("killer clown") was meant.
    fn super_recessive(&mut self, id: GeneId, word: &str) {
        let file = self.species.file();
        let killer = file.combo.iter().position(|c| c.id == format!("killer_{}", self.species.gene(id).entry.id));
        match killer {
            Some(c) if !self.wish => {
                let readings = vec![
                    Choice::Genes(self.species.gene(id).label(2).to_owned(), vec![(id, 2)]),
                    Choice::Genes(file.combo[c].name.clone(), combo_genes(self.species, c, None).unwrap_or_default()),
                ];
                self.ask(format!("super {word}"), Unclear::NoSuper, readings);
                self.push(id, 2, Chance::Sure, false, word, false);
            }
            _ => {
                self.draft.assumed.push(Assumed::SuperIs(id));
                self.push(id, 2, Chance::Sure, true, word, false);
            }
        }
    }

    pub(super) fn combo(&mut self, combo: usize, line: Option<GeneId>, word: &str) {
        let entry = &self.species.file().combo[combo];
        let next = self.next.take();
        match combo_genes(self.species, combo, line) {
            Ok(genes) => {
                let visible = genes.iter().any(|(g, _)| !self.species.gene(*g).is_recessive());
                if matches!(next, Some((Next::Super, _))) {
                    let mut readings = vec![Choice::Genes(entry.name.clone(), genes.clone())];
                    for (k, (g, copies)) in genes.iter().enumerate() {
                        if *copies == 1 && !self.species.gene(*g).is_recessive() {
                            let mut more = genes.clone();
                            more[k].1 = 2;
                            readings.push(Choice::Genes(format!("with {}", self.species.gene(*g).label(2)), more));
                        }
                    }
                    self.ask(format!("super {word}"), Unclear::NoSuper, readings);
                } else if self.het.is_some() && visible {
                    self.ask(
                        format!("het {word}"),
                        Unclear::Word,
                        vec![Choice::Genes(entry.name.clone(), genes.clone())],
                    );
                } else {
                    self.draft.assumed.push(Assumed::Combo(entry.name.clone(), genes.clone()));
                    for (g, copies) in genes {
                        match &mut self.het {
                            Some(het) => {
                                het.governed += 1;
                                het.listed = true;
                                het.fresh = false;
                                let chance = het.chance.clone();
                                self.push(g, 1, chance, true, word, true);
                            }
                            None => self.push(g, copies, Chance::Sure, false, word, true),
                        }
                    }
                }
            }
            Err(family) => {
                let het = self.het.as_ref().map(|h| h.chance.clone());
                // What does not hang on the line is sure already.
                for part in &entry.genes {
                    if let Some(gene) = part.id.as_ref().and_then(|id| self.species.gene_by_id(id)) {
                        let copies = if het.is_some() { 1 } else { copies_u8(part.copies) };
                        let chance = het.clone().unwrap_or(Chance::Sure);
                        self.push(gene, copies, chance, false, word, true);
                    }
                }
                let family = self.species.file().family.iter().find(|f| f.id == family);
                let readings = self
                    .species
                    .genes()
                    .iter()
                    .enumerate()
                    .filter(|(_, g)| g.entry.family.as_deref() == family.map(|f| f.id.as_str()))
                    .filter_map(|(n, g)| {
                        let line = GeneId(u16::try_from(n).ok()?);
                        let mut genes = combo_genes(self.species, combo, Some(line)).ok()?;
                        if het.is_some() {
                            for gene in &mut genes {
                                gene.1 = 1;
                            }
                        }
                        Some(Choice::Genes(format!("{} with {}", entry.name, g.entry.name), genes))
                    })
                    .collect();
                self.ask(word.to_owned(), Unclear::Line, readings);
            }
        }
        for look in &entry.looks {
            if let Some(look) = self.species.gene_by_id(look) {
                self.draft.animal.looks.push(look);
            }
        }
    }

    fn pair(&mut self, pair: usize, word: &str) {
        let genes = pair_genes(self.species, pair);
        let next = self.next.take();
        if self.het.as_ref().is_some_and(|h| h.governed == 0) || matches!(next, Some((Next::Super, _))) {
            let lead = if self.het.is_some() { "het" } else { "super" };
            let readings = genes
                .iter()
                .map(|(g, _)| Choice::Genes(self.species.gene(*g).label(1).to_owned(), vec![(*g, 1)]))
                .collect();
            self.ask(format!("{lead} {word}"), Unclear::Word, readings);
            return;
        }
        self.draft.assumed.push(Assumed::Combo(self.species.file().allele_pair[pair].name.clone(), genes.clone()));
        for (g, copies) in genes {
            self.push(g, copies, Chance::Sure, false, word, true);
        }
    }

    fn ambiguous(&mut self, items: &[Item], i: usize, entry: usize, word: &str) -> usize {
        // "Lucy (0.1 het clown)": a name, with its animal in brackets.
        if items.get(i + 1).is_some_and(|x| x.is_sign('('))
            && matches!(items.get(i + 2).map(|x| &x.what), Some(What::Sexes(..)))
        {
            return 1;
        }
        let entry = &self.species.file().ambiguous[entry];
        let candidates = self.species.candidates(entry);
        // "BEL (mojave/russo)": the brackets say which.
        if let Some((pair, end)) = self.pair_in_brackets(items, i + 1)
            && candidates.iter().any(|c| matches!(c, Candidate::Pair(p) if *p == pair))
        {
            self.pair(pair, word);
            return end - i;
        }
        let het = self.het.as_ref().is_some_and(|h| h.governed == 0 || h.listed);
        let plain: Vec<GeneId> = candidates
            .iter()
            .filter_map(|c| match c {
                Candidate::Gene { gene, copies: None | Some(1) } => Some(*gene),
                _ => None,
            })
            .collect();
        if het
            && plain.len() == 1
            && candidates.len() > 1
            && entry.then == Then::Ask
            && self.species.gene(plain[0]).is_recessive()
        {
            self.gene(plain[0], Said::Bare, word, false);
            return 1;
        }
        // "bp enchi" may be black pastel enchi; "my bp is het clown" is the species.
        if candidates.iter().any(|c| matches!(c, Candidate::Term(_))) {
            let beside = items.get(i + 1).is_some_and(|x| matches!(x.what, What::Name(_)));
            if !beside || self.draft.genes.is_empty() && i == 0 && items.len() == 1 {
                return 1;
            }
        }
        if entry.then == Then::Assume
            && let Some(usual) = entry.usual.as_deref().and_then(|u| self.species.candidate(u))
        {
            self.take(&usual, word);
            return 1;
        }
        let super_next = self.next.as_ref().is_some_and(|n| matches!(n.0, Next::Super | Next::Homo));
        let readings: Vec<Choice> = candidates.iter().filter_map(|c| self.choice(c, het, super_next)).collect();
        let about = match &self.next {
            Some((_, lead)) => format!("{lead} {word}"),
            None if het => format!("het {word}"),
            None => word.to_owned(),
        };
        self.next = None;
        if let Some(het) = &mut self.het {
            het.governed += 1;
        }
        self.ask(about, Unclear::Word, readings);
        1
    }

    fn choice(&self, candidate: &Candidate, het: bool, two: bool) -> Option<Choice> {
        Some(match candidate {
            Candidate::Gene { gene, copies } => {
                let g = self.species.gene(*gene);
                g.locus?;
                let copies = copies.unwrap_or(if het && g.is_recessive() {
                    1
                } else if two {
                    2
                } else {
                    g.bare_copies()
                });
                Choice::Genes(g.label(copies).to_owned(), vec![(*gene, copies)])
            }
            Candidate::Combo(c) => {
                Choice::Genes(self.species.file().combo[*c].name.clone(), combo_genes(self.species, *c, None).ok()?)
            }
            Candidate::Pair(p) => {
                Choice::Genes(self.species.file().allele_pair[*p].name.clone(), pair_genes(self.species, *p))
            }
            Candidate::Term(term) => Choice::Words(format!("the {term}")),
        })
    }

    fn take(&mut self, candidate: &Candidate, word: &str) {
        let before = self.draft.genes.len();
        let assumed = self.draft.assumed.len();
        match candidate {
            Candidate::Gene { gene, copies } => {
                let said = match copies {
                    Some(1) => Said::One,
                    Some(2) => Said::Two,
                    _ => Said::Bare,
                };
                self.gene(*gene, said, word, false);
            }
            Candidate::Combo(c) => self.combo(*c, None, word),
            Candidate::Pair(p) => self.pair(*p, word),
            Candidate::Term(_) => {}
        }
        self.draft.assumed.truncate(assumed);
        let genes = self.draft.genes[before.min(self.draft.genes.len())..].iter().map(|g| (g.id, g.copies)).collect();
        self.draft.assumed.push(Assumed::Usual(word.to_owned(), genes));
    }
}

pub(super) fn copies_of(bare: u8, said: Said) -> u8 {
    match said {
        Said::Bare => bare,
        Said::One => 1,
        Said::Two => 2,
    }
}

fn copies_u8(copies: i64) -> u8 {
    if copies >= 2 { 2 } else { 1 }
}

/// The genes of a combination; the id of the family whose line must be asked where `line` does not give it.
pub(super) fn combo_genes(species: &Species, combo: usize, line: Option<GeneId>) -> Result<Vec<(GeneId, u8)>, String> {
    let mut genes = Vec::new();
    for part in &species.file().combo[combo].genes {
        let gene = match (&part.id, &part.one_of, line) {
            (Some(id), _, _) => species.gene_by_id(id),
            (None, Some(_), Some(line)) => Some(line),
            (None, Some(family), None) => return Err(family.clone()),
            (None, None, _) => None,
        };
        if let Some(gene) = gene {
            genes.push((gene, copies_u8(part.copies)));
        }
    }
    Ok(genes)
}

/// One copy of each allele of a pair.
pub(super) fn pair_genes(species: &Species, pair: usize) -> Vec<(GeneId, u8)> {
    species.file().allele_pair[pair].alleles.iter().filter_map(|a| species.gene_by_id(a)).map(|g| (g, 1)).collect()
}
