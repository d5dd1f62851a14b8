//! What must hold of an animal once it is read: no gene twice, two alleles a locus, as many hets as were promised.

use super::Parser;
use super::draft::{Chance, Gene};
use crate::engine::odds::{none, odds, sure};
use crate::reading::requests::{Assumed, Choice, Question, Unclear};
use crate::species::GeneId;

impl Parser<'_> {
    /// A gene that is nearly always found with another: is that one there too?
    pub(super) fn seen_with(&mut self) {
        for k in 0..self.draft.genes.len() {
            let (id, copies) = (self.draft.genes[k].id, self.draft.genes[k].copies);
            let entry = &self.species.gene(id).entry;
            for other in &entry.seen_with {
                let Some(other) = self.species.gene_by_id(other) else { continue };
                if copies == 2 && !self.draft.genes.iter().any(|g| g.id == other) {
                    let name = &self.species.gene(other).entry.name;
                    let readings = vec![
                        Choice::Genes(format!("with {name}"), vec![(other, 2)]),
                        Choice::Words(format!("{} alone", entry.name)),
                    ];
                    self.ask(entry.name.clone(), Unclear::Word, readings);
                }
            }
        }
    }

    /// "male maker" without its gene: the only sex-linked gene of the species.
    pub(super) fn maker(&mut self) {
        if self.draft.animal.side.is_none() {
            return;
        }
        let linked: Vec<GeneId> = (0..)
            .zip(self.species.genes())
            .filter(|(_, g)| g.entry.sex_linked.is_some())
            .map(|(n, _)| GeneId(n))
            .collect();
        if let [only] = linked[..]
            && !self.draft.genes.iter().any(|g| g.id == only)
        {
            self.push(only, 1, Chance::Sure, false, "maker", false);
        }
    }

    /// One gene named twice: two copies, or two animals run together?
    pub(super) fn twice(&mut self) {
        let mut genes: Vec<Gene> = Vec::new();
        let genes_so_far: Vec<GeneId> = self.draft.genes.iter().map(|g| g.id).collect();
        for gene in std::mem::take(&mut self.draft.genes) {
            let Some(old) = genes.iter_mut().find(|g| g.id == gene.id) else {
                genes.push(gene);
                continue;
            };
            // "tremper het raptor": the visual gene stands, the het of the combination says no more.
            if old.coined != gene.coined && self.species.gene(gene.id).is_recessive() && old.copies != gene.copies {
                let (sure, coined) = if old.coined { (gene.copies, old.copies) } else { (old.copies, gene.copies) };
                if sure == 2 && coined == 1 && !self.locus_is_shared(gene.id, &genes_so_far) {
                    if old.coined {
                        *old = gene;
                    }
                    continue;
                }
            }
            if old.copies == gene.copies
                && !self.locus_is_shared(gene.id, &genes_so_far)
                && old.chance == gene.chance
                && (old.copies == 2 || old.coined != gene.coined && self.species.gene(gene.id).is_recessive())
            {
                continue;
            }
            let label =
                |copies| Choice::Genes(self.species.gene(gene.id).label(copies).to_owned(), vec![(gene.id, copies)]);
            let about = format!("{} … {}", old.word, gene.word);
            let readings = vec![label(1), label(2)];
            if !self.draft.questions.iter().any(|q| q.about == about) {
                self.draft.questions.push(Question { about, kind: Unclear::Twice, readings, animal: self.which });
            }
        }
        self.draft.genes = genes;
    }

    /// Whether another allele of its locus was named too ("ultramel het amel").
    fn locus_is_shared(&self, gene: GeneId, named: &[GeneId]) -> bool {
        let locus = self.species.gene(gene).locus;
        named.iter().any(|g| *g != gene && self.species.gene(*g).locus == locus)
    }

    /// Two alleles of one locus fill it; a third is asked about.
    pub(super) fn fill_loci(&mut self) {
        let mut loci: Vec<usize> = self.draft.genes.iter().filter_map(|g| self.species.gene(g.id).locus).collect();
        loci.sort_unstable();
        loci.dedup();
        for locus in loci {
            let at: Vec<usize> = (0..self.draft.genes.len())
                .filter(|k| self.species.gene(self.draft.genes[*k].id).locus == Some(locus))
                .collect();
            let total = |genes: &[Gene]| at.iter().map(|k| u32::from(genes[*k].copies)).sum::<u32>();
            if at.len() < 2 {
                continue;
            }
            for k in &at {
                if !self.draft.genes[*k].firm && total(&self.draft.genes) > 2 {
                    self.draft.genes[*k].copies = 1;
                }
            }
            if total(&self.draft.genes) > 2 {
                let mut readings = Vec::new();
                for (n, a) in at.iter().enumerate() {
                    for b in &at[n + 1..] {
                        let (a, b) = (&self.draft.genes[*a], &self.draft.genes[*b]);
                        let name = format!(
                            "{} with {}",
                            self.species.gene(a.id).entry.name,
                            self.species.gene(b.id).entry.name
                        );
                        readings.push(Choice::Genes(name, vec![(a.id, 1), (b.id, 1)]));
                    }
                }
                let about = at.iter().map(|k| self.draft.genes[*k].word.as_str()).collect::<Vec<_>>().join(" + ");
                self.draft.questions.push(Question {
                    about,
                    kind: Unclear::TooManyAlleles,
                    readings,
                    animal: self.which,
                });
            }
        }
    }

    /// "DH": two recessives must be named.
    pub(super) fn count_hets(&mut self) {
        if let Some((n, word)) = self.draft.het_count.take() {
            let named =
                self.draft.genes.iter().filter(|g| g.copies == 1 && self.species.gene(g.id).is_recessive()).count();
            let asked = self
                .draft
                .questions
                .iter()
                .any(|q| matches!(q.kind, Unclear::Line | Unclear::Word | Unclear::UnknownGene));
            if named == 0 && self.draft.open_het.is_some() {
                // "dh" alone: the other parent may name the genes.
                self.draft.het_all = self.draft.open_het.take();
                self.draft.het_count = Some((n, word));
            } else if named != n && !asked {
                self.ask(word, Unclear::HetCount, Vec::new());
            }
        }
    }

    /// Possible hets without a number: where from?
    pub(super) fn open_chances(&mut self) {
        for k in 0..self.draft.genes.len() {
            let gene = &self.draft.genes[k];
            if gene.chance == Chance::Open {
                let entry = self.species.gene(gene.id);
                let (lead, chances) = if entry.is_recessive() {
                    ("possible het", vec![odds(2, 3), odds(1, 2), odds(1, 3), odds(1, 4), sure()])
                } else {
                    ("possible", vec![sure(), odds(1, 2), none()])
                };
                let readings = chances.into_iter().map(|chance| Choice::Chance(gene.id, 1, chance)).collect();
                let about = format!("{lead} {}", entry.entry.name);
                self.ask(about, Unclear::HetChance, readings);
            }
        }
    }

    /// More than one recessive behind one "het" with nothing between: the custom is said, or asked where a share stands before it.
    pub(super) fn governed(&mut self) {
        let governed = std::mem::take(&mut self.draft.governed);
        if governed.len() < 2 {
            return;
        }
        let part = self.draft.genes.iter().find(|g| g.id == governed[0]).map(|g| g.chance.clone());
        if let Some(Chance::Part(p)) = part {
            let names: Vec<&str> = governed.iter().map(|g| self.species.gene(*g).entry.name.as_str()).collect();
            let last = *governed.last().unwrap_or(&governed[0]);
            let readings = vec![
                Choice::Words(format!("{p} het for each of {}", names.join(", "))),
                Choice::Genes(format!("visual {}", self.species.gene(last).entry.name), vec![(last, 2)]),
            ];
            self.ask(names.join(" "), Unclear::Word, readings);
        } else {
            self.draft.assumed.push(Assumed::HetGoverns(governed));
        }
    }
}
