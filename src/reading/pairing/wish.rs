//! What is wanted of the young: bare family words and ambiguous words mean what the pairing can make.

use super::Found;
use super::finish::carried_recessives;
use crate::reading::animals::Draft;
use crate::reading::requests::{Animal, Aspect, Assumed, Choice, Target, Unclear};
use crate::species::{GeneId, Species};

/// The wish: bare family words and ambiguous words mean what the pairing can make.
pub(super) fn wish(species: &Species, mut draft: Draft, is_pairing: bool, found: &mut Found) {
    let parents = found.pairing.parents.clone();
    let makes = |genes: &[(GeneId, u8)]| {
        genes.iter().all(|(g, copies)| {
            let from = parents.iter().filter(|p| p.genes.iter().any(|c| c.gene == *g)).count();
            from >= usize::from(*copies)
        }) && together(species, genes, &parents)
    };
    let mut genes = draft.named();
    for mut question in std::mem::take(&mut draft.questions) {
        if is_pairing {
            let left: Vec<Choice> =
                question.readings.iter().filter(|c| matches!(c, Choice::Genes(_, g) if makes(g))).cloned().collect();
            if let [Choice::Genes(_, only)] = &left[..] {
                genes.extend(only.iter().copied());
                found.assumed.push(Assumed::LineFits(question.about.clone(), only.clone()));
                continue;
            }
            // "why no albinos from bell x tremper": every line that is there is meant.
            let carried = |c: &Choice| matches!(c, Choice::Genes(_, g) if parents.iter().any(|p| p.genes.iter().any(|x| g.iter().any(|y| y.0 == x.gene))));
            // So it is with "will they be visual axanthics" where both lines are named and do not match.
            if is_pairing
                && (found.pairing.aspect == Aspect::WhyNone || left.is_empty() && question.kind == Unclear::Line)
                && question.readings.iter().any(carried)
            {
                continue;
            }
            if !left.is_empty() {
                question.readings = left;
            }
        }
        question.animal = 2;
        found.questions.push(question);
    }
    let mut open_gene = carried_recessives(species, &parents);
    open_gene.sort_unstable();
    open_gene.dedup();
    if draft.open_visual {
        for gene in &open_gene {
            genes.push((*gene, 2));
        }
    }
    if draft.open_super {
        genes.extend(shown_by_both(species, &parents));
    }
    let mut hets = Vec::new();
    if draft.open_het.is_some() || draft.het_all.is_some() {
        for gene in &open_gene {
            genes.push((*gene, 1));
        }
    }
    for (gene, copies) in &genes {
        if *copies == 1 && species.gene(*gene).is_recessive() {
            hets.push(*gene);
        }
    }
    found.assumed.extend(draft.assumed.iter().cloned());
    found.unread.extend(draft.unread.iter().cloned());
    if genes.is_empty() && !draft.normal {
        return;
    }
    genes.sort_by(|a, b| species.gene(a.0).entry.id.cmp(&species.gene(b.0).entry.id));
    genes.dedup();
    found.pairing.target = Some(Target { genes, sex: draft.animal.sex, hets });
}

/// "A super": two copies of the one visible gene that both parents have.
fn shown_by_both(species: &Species, parents: &[Animal]) -> Option<(GeneId, u8)> {
    let [a, b] = parents else { return None };
    let mut both = a
        .genes
        .iter()
        .map(|c| c.gene)
        .filter(|g| !species.gene(*g).is_recessive() && b.genes.iter().any(|c| c.gene == *g));
    match (both.next(), both.next()) {
        (Some(only), None) => Some((only, 2)),
        _ => None,
    }
}

/// Whether the two parents can bring these alleles together: two alleles of one locus need one from each side.
fn together(species: &Species, genes: &[(GeneId, u8)], parents: &[Animal]) -> bool {
    if parents.len() != 2 {
        return true;
    }
    genes.iter().enumerate().all(|(i, (a, _))| {
        genes[i + 1..].iter().filter(|(b, _)| species.gene(*a).locus == species.gene(*b).locus).all(|(b, _)| {
            let has = |p: usize, g: GeneId| parents[p].genes.iter().any(|c| c.gene == g);
            has(0, *a) && has(1, *b) || has(1, *a) && has(0, *b)
        })
    })
}
