//! What must be said first about a pairing: the cautions of the catalogue for the genes that are in play.

use crate::reading::requests::{Animal, Pairing, SexSaid};
use crate::species::care::{Range, Unit};
use crate::species::entries::{AppliesTo, BreedingLimit, Effect, LethalStatus, Severity, SexName};
use crate::species::{GeneId, Species};

/// Cautions for a pairing, the most serious first, each gene's once.
pub(super) fn cautions(species: &Species, pairing: &Pairing) -> Vec<String> {
    let mut found: Vec<(u8, String)> = Vec::new();
    let parents = &pairing.parents;
    let mut genes: Vec<GeneId> = parents.iter().flat_map(|p| p.genes.iter().map(|c| c.gene)).collect();
    genes.sort_unstable();
    genes.dedup();
    for id in &genes {
        let gene = species.gene(*id);
        let entry = &gene.entry;
        let alike: Vec<GeneId> = genes
            .iter()
            .copied()
            .filter(|o| {
                o == id
                    || species.gene(*o).locus == gene.locus
                        && entry.welfare.iter().any(|w| w.with.contains(&species.gene(*o).entry.id))
            })
            .collect();
        let has = |p: &Animal| p.genes.iter().any(|c| alike.contains(&c.gene));
        let two = parents.iter().any(|p| p.genes.iter().any(|c| c.gene == *id && c.copies == 2))
            || parents.len() == 2 && parents.iter().all(has);
        for harm in entry.welfare.iter().filter(|w| w.severity >= Severity::Caution) {
            let concerns = match harm.applies_to {
                AppliesTo::TwoCopies => two,
                AppliesTo::OneCopy | AppliesTo::AnyCopies => true,
            };
            if !concerns {
                continue;
            }
            let who = match (harm.applies_to, harm.sex) {
                (AppliesTo::TwoCopies, None) => format!("{} (two copies)", entry.name),
                (_, Some(SexName::Female)) => format!("{} females", entry.name),
                (_, Some(SexName::Male)) => format!("{} males", entry.name),
                _ => entry.name.clone(),
            };
            found.push((
                u8::from(harm.severity != Severity::Serious),
                format!("{who}: {} ({}).", harm.issue, grade(&harm.source)),
            ));
        }
        if let (Some(lethal), true) = (&entry.homozygous_lethal, two) {
            let how = if lethal.status == LethalStatus::Reported { "reported" } else { "suspected" };
            let note = lethal.note.as_deref().unwrap_or("");
            found.push((0, format!("two copies of {}: loss of the young is {how}. {note}", entry.name)));
        }
        let limit = match entry.breeding_limit {
            Some(BreedingLimit::NoFemales)
                if parents.iter().any(|p| p.sex != SexSaid::Male && p.genes.iter().any(|c| c.gene == *id)) =>
            {
                Some(format!("{} females are not bred: breed the gene through males.", entry.name))
            }
            Some(BreedingLimit::NoMales) => Some(format!("{} males are not bred.", entry.name)),
            Some(BreedingLimit::Discouraged) => Some(format!("please do not plan for more {}.", entry.name)),
            _ => None,
        };
        found.extend(limit.map(|l| (0, l)));
    }
    for warning in &species.file().pair_warning {
        let ids: Vec<GeneId> = warning.genes.iter().filter_map(|g| species.gene_by_id(g)).collect();
        let [a, b] = ids[..] else { continue };
        let meets = if a == b {
            parents.len() == 2 && parents.iter().all(|p| p.genes.iter().any(|c| c.gene == a))
        } else {
            genes.contains(&a) && genes.contains(&b)
        };
        if meets {
            let names = format!("{} with {}", species.gene(a).entry.name, species.gene(b).entry.name);
            let rank = u8::from(!matches!(warning.effect, Effect::Lethal | Effect::Harm));
            found.push((rank, format!("{names}: {} ({}).", warning.issue, grade(&warning.source))));
        }
    }
    found.extend(parents.iter().filter_map(|p| too_early(species, p)).map(|c| (0, c)));
    found.sort_by_key(|f| f.0);
    let mut out: Vec<String> = found.into_iter().map(|f| f.1.trim().to_owned()).collect();
    out.dedup();
    if !out.is_empty() {
        out.push("Check your local law, and ask a reptile vet about any animal that worries you.".to_owned());
    }
    out
}

/// A female that the message itself shows to be too light or too young by the care numbers.
fn too_early(species: &Species, animal: &Animal) -> Option<String> {
    if animal.sex != SexSaid::Female {
        return None;
    }
    let care = species.care();
    let name = species.name().to_lowercase();
    let weight = animal.weight_g.zip(care.female_first_weight.as_ref());
    if let Some((g, range)) = weight.filter(|(g, range)| f64::from(*g) < range.low) {
        return Some(format!(
            "{g} g is light for a first clutch: keepers of this species ({name}) wait for {:.0} to {:.0} g (common practice).",
            range.low, range.high
        ));
    }
    let age = animal.age_months.zip(care.female_first_age.as_ref());
    let months = |n: f64, range: &Range| if range.unit == Unit::Years { n * 12.0 } else { n };
    let (age, range) = age.filter(|(age, range)| f64::from(*age) < months(range.low, range))?;
    Some(format!(
        "{age} months is young for a first clutch: keepers of this species ({name}) wait for {:.0} months at least (common practice).",
        months(range.low, range)
    ))
}

/// How well a caution is known.
fn grade(source: &[String]) -> &'static str {
    if source.iter().any(|s| s != "memory" && s != "common practice, no source") {
        "published"
    } else {
        "keepers report, nothing published"
    }
}
