//! A card for each kind of entry: what it is, its company, how well it is known.

use super::example::copies;
use super::{Card, Shown};
use crate::engine::odds::parse;
use crate::explanations::language::fill;
use crate::explanations::things;
use crate::reply::Reply;
use crate::species::entries::{AllelePair, Combo, Confidence, Severity};
use crate::species::show::Entry;
use crate::species::{Candidate, Gene, GeneId};

impl Card<'_> {
    pub(super) fn gene(&self, id: GeneId) -> (Reply, Option<Shown>) {
        let gene = self.species.gene(id);
        let (entry, phrases) = (&gene.entry, self.phrases);
        let mut reply = self.headed(&entry.name);
        reply.cautions = self.cautions(&[(id, 2)]);
        reply.answer.push(self.inheritance(gene));
        if let Some(complex) = self.complex_of(id) {
            reply.answer.push(complex);
        }
        let file = self.species.file();
        let pairs = file.allele_pair.iter().filter(|p| p.alleles.contains(&entry.id)).map(|p| p.name.clone()).collect();
        self.push_list(&mut reply, &phrases.pairs, pairs);
        let holds = |c: &&Combo| c.genes.iter().any(|p| p.id.as_ref() == Some(&entry.id));
        self.push_list(&mut reply, &phrases.combos, file.combo.iter().filter(holds).map(|c| c.name.clone()).collect());
        self.push_list(&mut reply, &phrases.no_match, self.no_match(id));
        self.push_list(&mut reply, &phrases.match_unknown, self.named(&entry.compatibility_unknown_with));
        self.push_list(&mut reply, &phrases.maybe_allele, self.named(&entry.possible_allele_of));
        reply.answer.extend(entry.note.clone());
        if let Some(linked) = &entry.sex_linked {
            reply.answer.extend(linked.rules.iter().take(2).map(|r| fill(&phrases.sex_linked, &[("rule", r)])));
            if let Some(share) = parse(&linked.recombination.to_string()) {
                let percent = self.desk.spoken.language.percent(&share);
                reply.answer.push(fill(&phrases.crossover, &[("percent", &percent)]));
            }
        }
        reply
            .answer
            .extend(entry.welfare.iter().filter(|w| w.severity == Severity::Note).map(|w| self.harm(&entry.name, w)));
        self.push_list(&mut reply, &phrases.names, entry.aliases.clone());
        let mut known = fill(&phrases.grade, &[("grade", &self.grade(&entry.source))]);
        if entry.confidence == Confidence::Low {
            known = format!("{known} {}", phrases.unsure);
        }
        if let Some(published) = &entry.published_gene {
            known = format!("{} {known}", fill(&phrases.published_gene, &[("gene", published)]));
        }
        reply.notes.push(known);
        if entry.welfare.is_empty() && reply.cautions.is_empty() && gene.locus.is_some() {
            reply.notes.push(phrases.no_harm.clone());
        }
        (reply, self.gene_example(id))
    }

    pub(super) fn combo(&self, combo: &Combo) -> (Reply, Option<Shown>) {
        let mut reply = self.headed(&combo.name);
        let parts = self.parts(combo);
        let words = combo.genes.iter().map(|part| match (&part.id, &part.one_of) {
            (Some(id), _) => {
                self.species.gene_by_id(id).map_or_else(|| id.clone(), |g| self.label(g, copies(part.copies)))
            }
            (None, Some(family)) => {
                let name = self.species.file().family.iter().find(|f| f.id == *family).map_or(family, |f| &f.name);
                fill(&self.phrases.combo_line, &[("family", name)])
            }
            (None, None) => String::new(),
        });
        let words = self.desk.spoken.language.list(&words.collect::<Vec<_>>());
        reply.cautions = self.cautions(&parts);
        reply.answer.push(fill(&self.phrases.combo, &[("name", &combo.name), ("parts", &words)]));
        let mut modes: Vec<(String, Vec<String>)> = Vec::new();
        for (gene, _) in &parts {
            let (name, mode) = (self.name(*gene).to_owned(), self.inheritance(self.species.gene(*gene)));
            match modes.iter_mut().find(|m| m.0 == mode) {
                Some(same) => same.1.push(name),
                None => modes.push((mode, vec![name])),
            }
        }
        let list = |names: &[String]| self.desk.spoken.language.list(names);
        reply.answer.extend(modes.iter().map(|(mode, names)| format!("{}: {mode}", list(names))));
        reply.answer.extend(combo.note.clone());
        self.push_list(&mut reply, &self.phrases.names, combo.aliases.clone());
        reply.notes.push(fill(&self.phrases.grade, &[("grade", &self.grade(&combo.source))]));
        let whole = combo.genes.iter().all(|p| p.id.is_some());
        let example = (whole && self.may_be_bred(&parts)).then(|| self.with_normal(&parts));
        (reply, example)
    }

    pub(super) fn pair(&self, pair: &AllelePair) -> (Reply, Option<Shown>) {
        let mut reply = self.headed(&pair.name);
        let ids: Vec<GeneId> = pair.alleles.iter().filter_map(|id| self.species.gene_by_id(id)).collect();
        let [a, b] = ids[..] else { return (reply, None) };
        let parts = [(a, 1), (b, 1)];
        reply.cautions = self.cautions(&parts);
        let names = [self.name(a), self.name(b)];
        let said = [("name", pair.name.as_str()), ("a", names[0]), ("b", names[1])];
        reply.answer.push(fill(&self.phrases.pair, &said));
        reply.answer.push(fill(&self.phrases.look, &[("look", &pair.look)]));
        reply.answer.extend(pair.note.clone());
        self.push_list(&mut reply, &self.phrases.names, pair.aliases.clone());
        reply.notes.push(fill(&self.phrases.grade, &[("grade", &self.grade(&pair.source))]));
        let example = self.may_be_bred(&parts).then(|| self.with_normal(&parts));
        (reply, example)
    }

    pub(super) fn family(&self, n: usize) -> (Reply, Option<Shown>) {
        let family = &self.species.file().family[n];
        let mut reply = self.headed(&family.name);
        let of = |g: &&Gene| g.entry.family.as_ref() == Some(&family.id);
        let members: Vec<String> = self.species.genes().iter().filter(of).map(|g| g.entry.name.clone()).collect();
        let members = self.desk.spoken.language.list(&members);
        reply.answer.push(fill(&self.phrases.family, &[("name", &family.name), ("members", &members)]));
        reply.answer.extend(family.note.clone());
        (reply, None)
    }

    pub(super) fn word(&self, n: usize) -> (Reply, Option<Shown>) {
        let word = &self.species.file().ambiguous[n];
        let mut reply = self.headed(things::name(self.species, Entry::Word(n)));
        let readings = self.species.candidates(word).into_iter().map(|c| match c {
            Candidate::Gene { gene, copies } => self.label(gene, copies.unwrap_or(1)),
            Candidate::Combo(n) => things::name(self.species, Entry::Combo(n)).to_owned(),
            Candidate::Pair(n) => things::name(self.species, Entry::Pair(n)).to_owned(),
            Candidate::Term(term) => term,
        });
        reply.answer.push(self.phrases.which.clone());
        reply.choices = readings.collect();
        reply.answer.extend(word.note.clone());
        (reply, None)
    }

    pub(super) fn complex(&self, n: usize) -> (Reply, Option<Shown>) {
        let complex = &self.species.file().complex[n];
        let mut reply = self.headed(&complex.name);
        let genes = self.species.loci().iter().find(|l| l.id == complex.locus).map_or(&[][..], |l| &l.genes);
        let members: Vec<String> = genes.iter().map(|g| self.name(*g).to_owned()).collect();
        let members = self.desk.spoken.language.list(&members);
        reply.answer.push(fill(&self.phrases.complex_card, &[("name", &complex.name), ("members", &members)]));
        reply.answer.extend(complex.note.clone());
        let in_it = |p: &&AllelePair| p.locus == complex.locus;
        let pairs = self.species.file().allele_pair.iter().filter(in_it).map(|p| p.name.clone()).collect();
        self.push_list(&mut reply, &self.phrases.pairs, pairs);
        if let Some(gene) = &complex.published_gene {
            reply.notes.push(fill(&self.phrases.published_gene, &[("gene", gene)]));
        }
        reply.notes.push(fill(&self.phrases.grade, &[("grade", &self.grade(&complex.source))]));
        (reply, None)
    }
}
