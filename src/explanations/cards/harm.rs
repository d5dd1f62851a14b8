//! What is known against genes, each caution with its grade and source.
//!
//! What the catalogue does not say is not known to be safe; the card says that too.

use super::Card;
use crate::explanations::language::fill;
use crate::species::GeneId;
use crate::species::entries::{AppliesTo, BreedingLimit, Effect, LethalStatus, Severity, SexName, Welfare};

impl Card<'_> {
    pub(super) fn harm(&self, names: &str, harm: &Welfare) -> String {
        let who = match (harm.applies_to, harm.sex) {
            (_, Some(SexName::Female)) => &self.phrases.who_females,
            (_, Some(SexName::Male)) => &self.phrases.who_males,
            (AppliesTo::TwoCopies, None) => &self.phrases.who_two,
            (AppliesTo::OneCopy, None) => &self.phrases.who_one,
            (AppliesTo::AnyCopies, None) => "{name}",
        };
        let who = fill(who, &[("name", names)]);
        let said = [("who", who.as_str()), ("issue", &harm.issue), ("grade", &self.grade(&harm.source))];
        fill(&self.phrases.harm, &said)
    }

    /// What is known against these genes, the most serious first: with these copies in one animal, or for one gene in general.
    pub(super) fn cautions(&self, parts: &[(GeneId, u8)]) -> Vec<String> {
        let mut found = self.harms(parts);
        for (id, copies) in parts {
            let entry = &self.species.gene(*id).entry;
            let name = [("name", entry.name.as_str())];
            if let Some(lethal) = entry.homozygous_lethal.as_ref().filter(|_| *copies == 2) {
                let phrase = match lethal.status {
                    LethalStatus::Reported => &self.phrases.lethal_reported,
                    LethalStatus::Suspected => &self.phrases.lethal_suspected,
                };
                let said = [name[0], ("grade", &self.grade(&lethal.source))];
                found.push((false, fill(phrase, &said)));
            }
            if let Some(limit) = entry.breeding_limit {
                let phrase = match limit {
                    BreedingLimit::NoFemales => &self.phrases.no_females,
                    BreedingLimit::NoMales => &self.phrases.no_males,
                    BreedingLimit::Discouraged => &self.phrases.discouraged,
                };
                found.push((false, fill(phrase, &name)));
            }
            found.extend(self.company(*id, parts));
        }
        found.sort_by_key(|f| f.0);
        let mut out = Vec::new();
        for (_, text) in found {
            if !out.contains(&text) {
                out.push(text);
            }
        }
        out
    }

    /// Harm that goes with these genes; one line where several genes have the same, so that it is read.
    fn harms(&self, parts: &[(GeneId, u8)]) -> Vec<(bool, String)> {
        let mut groups: Vec<(&Welfare, Vec<String>)> = Vec::new();
        for (id, copies) in parts {
            let entry = &self.species.gene(*id).entry;
            let second = |w: &Welfare| {
                parts.iter().any(|(other, _)| other != id && w.with.contains(&self.species.gene(*other).entry.id))
            };
            for harm in entry.welfare.iter().filter(|w| w.severity >= Severity::Caution) {
                if harm.applies_to == AppliesTo::TwoCopies && *copies < 2 && !second(harm) {
                    continue;
                }
                let same = |w: &Welfare| (&w.issue, w.applies_to, w.sex) == (&harm.issue, harm.applies_to, harm.sex);
                match groups.iter_mut().find(|g| same(g.0)) {
                    Some(group) => group.1.push(entry.name.clone()),
                    None => groups.push((harm, vec![entry.name.clone()])),
                }
            }
        }
        let told = |(harm, names): (&Welfare, Vec<String>)| {
            (harm.severity != Severity::Serious, self.harm(&self.desk.spoken.language.list(&names), harm))
        };
        groups.into_iter().map(told).collect()
    }

    /// Genes that should not meet this one: those of the same animal, or all of them where a gene stands alone.
    fn company(&self, id: GeneId, parts: &[(GeneId, u8)]) -> Vec<(bool, String)> {
        let own = &self.species.gene(id).entry.id;
        let mut bad: Vec<String> = Vec::new();
        let mut mixed: Vec<String> = Vec::new();
        let mut sources: Vec<String> = Vec::new();
        for warning in &self.species.file().pair_warning {
            let Some(other) = warning.genes.iter().find(|g| *g != own).filter(|_| warning.genes.contains(own)) else {
                continue;
            };
            let Some(gene) = self.species.gene_by_id(other) else { continue };
            if parts.len() > 1 && !parts.iter().any(|p| p.0 == gene) {
                continue;
            }
            match warning.effect {
                Effect::Lethal | Effect::Harm => bad.push(self.name(gene).to_owned()),
                Effect::Mixing => mixed.push(self.name(gene).to_owned()),
                Effect::Ask => continue,
            }
            sources.extend(warning.source.iter().filter(|s| !sources.contains(s)).cloned().collect::<Vec<_>>());
        }
        let name = self.name(id);
        let list = |names: &[String]| self.desk.spoken.language.list(names);
        let mut found = Vec::new();
        if !bad.is_empty() {
            let said = [("name", name), ("others", &*list(&bad)), ("grade", &*self.grade(&sources))];
            found.push((false, fill(&self.phrases.not_together, &said)));
        }
        if !mixed.is_empty() {
            found.push((true, fill(&self.phrases.mixing, &[("names", &list(&mixed))])));
        }
        found
    }

    /// Whether these genes in one animal, with a normal partner, go against no caution.
    pub(super) fn may_be_bred(&self, parts: &[(GeneId, u8)]) -> bool {
        let file = self.species.file();
        let limited = |g: &(GeneId, u8)| self.species.gene(g.0).entry.breeding_limit.is_some();
        let meets = |g: &str| self.species.gene_by_id(g).is_some_and(|id| parts.iter().any(|p| p.0 == id));
        let serious = |(id, copies): &(GeneId, u8)| {
            self.species.gene(*id).entry.welfare.iter().any(|w| {
                w.severity >= Severity::Caution
                    && (w.applies_to != AppliesTo::TwoCopies || *copies == 2 || w.with.iter().any(|o| meets(o)))
            })
        };
        !parts.iter().any(|p| limited(p) || serious(p))
            && !file.pair_warning.iter().any(|w| w.effect != Effect::Ask && w.genes.iter().all(|g| meets(g)))
    }
}
