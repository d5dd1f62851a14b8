//! Who of the keeper's animals carries what: how sure, what would settle it, what a clutch moves, which records clash.

use super::added::species_of;
use super::who::Care;
use super::{Desk, Done, Stop};
use crate::collection::animal::{Animal, AnimalId, Belief, Sex};
use crate::collection::events::{CarrierFrequency, Clutch, Young};
use crate::collection::evidence::{self, Evidence, Weighed};
use crate::collection::genes;
use crate::collection::herd::Herd;
use crate::conversation::sentences::keeping as say;
use crate::conversation::sentences::keeping::evidence::{Brood, HowSure, Settles};
use crate::engine::inheritance::cross::Parent as Role;
use crate::engine::inheritance::locus::LocusId;
use crate::engine::odds::{Odds, none, odds, sure};
use crate::engine::pedigree::evidence::EvidenceError;
use crate::reading::records::described::Described;
use crate::reading::records::message::Called;
use crate::species::{GeneId, Species};

/// Genes that one answer speaks of.
const MOST_GENES: usize = 4;
/// Mates that are weighed for one answer.
const MOST_MATES: usize = 2;
/// How sure, where it is not said.
const LEVEL: (i64, i64) = (19, 20);

/// What words about an animal elsewhere say of its genes.
pub(super) fn outside<'d>(desk: &'d Desk<'_>, species: &'d Species) -> impl Fn(&str) -> Option<Vec<Belief>> + 'd {
    |words| {
        let said = desk.reader.describe(desk.catalogue, words, Some(species.id));
        let told = said.questions.is_empty() && (said.has_genes() || said.normal);
        told.then(|| genes::stated(species, &said.animal))
    }
}

/// The herd as it is believed to be now.
pub(super) fn as_believed(desk: &Desk<'_>) -> Herd {
    let mut now = desk.herd.clone();
    for species in desk.catalogue.species() {
        if now.animals.iter().any(|a| a.species == species.key()) {
            now = evidence::as_believed([species], &now, &outside(desk, species));
        }
    }
    now
}

/// Answers a question with every animal as it is believed to be now, and says where that is not its label.
pub(super) fn answered_from_beliefs(
    desk: &Desk<'_>,
    answer: impl FnOnce(&Desk<'_>) -> Result<Done, Stop>,
) -> Result<Done, Stop> {
    let now = as_believed(desk);
    let mut done = answer(&Desk { herd: &now, ..desk.again() })?;
    if let Done::Say { reply, about } | Done::Odds { reply, about, .. } = &mut done {
        reply.notes.extend(differing(desk, &now, about));
    }
    Ok(done)
}

/// Where beliefs are not what the labels say, a line an animal.
pub(super) fn differing(desk: &Desk<'_>, now: &Herd, about: &[AnimalId]) -> Vec<String> {
    let of = |id: &AnimalId| {
        let (told, now) = (desk.herd.animal(*id)?, now.animal(*id)?);
        let species = desk.species_of(told)?;
        let moved: Vec<_> = now
            .genes
            .iter()
            .filter(|b| b.copies == 1)
            .filter_map(|b| {
                // Copies that show are another belief: of a look that is not told yet both have a share.
                let unseen = |a: &&Belief| a.gene == b.gene && a.copies == 1;
                let label: Odds = told.genes.iter().filter(unseen).map(|a| &a.chance).sum();
                let moved =
                    !evidence::is_same(&label, &b.chance) && !is_common(desk.herd, told, &b.gene, &label, &b.chance);
                moved.then_some((species.gene_by_id(&b.gene)?, label, b.chance.clone()))
            })
            .collect();
        (!moved.is_empty()).then(|| say::evidence::not_its_label(species, told, &moved))
    };
    about.iter().filter_map(of).collect()
}

pub(super) fn evidence<'a>(
    desk: &Desk<'_>,
    species: &'a Species,
    herd: &'a Herd,
    loci: &[LocusId],
) -> Result<Evidence<'a>, Stop> {
    Evidence::of(species, herd, loci, &outside(desk, species)).map_err(|e| Stop::say(say::fault(&e.to_string())))
}

/// Everybody's chances; what stands in the way is said.
pub(super) fn weigh<'e, 'a>(evidence: &'e Evidence<'a>, species: &Species) -> Result<Weighed<'e, 'a>, Stop> {
    evidence.weigh().map_err(|error| match error {
        EvidenceError::Impossible => Stop::say(match evidence.clash() {
            Some(clash) => say::clash::clash(species, evidence, &clash),
            None => say::fault(&error.to_string()),
        }),
        error => Stop::say(say::fault(&error.to_string())),
    })
}

/// Loci with something carried unseen, and those of these genes.
pub(super) fn loci_with(species: &Species, herd: &Herd, genes: &[GeneId]) -> Vec<LocusId> {
    let mut loci = evidence::recessive_loci(species, herd);
    loci.extend(genes.iter().filter_map(|g| species.place(*g)).map(|p| p.0));
    loci.sort_unstable();
    loci.dedup();
    loci
}

pub(super) fn how_sure(
    desk: &Desk<'_>,
    who: &Called,
    said: &Described,
    settle: bool,
    level: Option<&Odds>,
) -> Result<Done, Stop> {
    let animal = desk.one(who, Care::Reads)?;
    let species = species_of(desk, animal)?;
    let asked = asked_genes(desk, species, said)?;
    if let Some(shows) = asked.iter().find(|g| !species.gene(**g).is_recessive()) {
        return Ok(Done::about(say::evidence::shows_anyway(species, animal, *shows), vec![animal.id]));
    }
    let all = loci_with(species, desk.herd, &asked);
    let sound = evidence::sound(species, desk.herd, &all, &outside(desk, species));
    // What contradicts itself is said where it is asked about; at other loci it changes nothing.
    let clashes = asked.iter().filter_map(|g| species.place(*g)).any(|p| !sound.contains(&p.0));
    let evidence = evidence(desk, species, desk.herd, if clashes { &all } else { &sound })?;
    let weighed = weigh(&evidence, species)?;
    let mut genes = if asked.is_empty() { open_genes(desk.herd, species, &weighed, animal) } else { asked };
    genes.truncate(MOST_GENES);
    if genes.is_empty() {
        return Ok(Done::about(say::evidence::nothing_open(species, desk.catalogue, animal), vec![animal.id]));
    }
    let level = level.cloned().unwrap_or_else(|| odds(LEVEL.0, LEVEL.1));
    let mut found = Vec::new();
    for gene in genes {
        let now = weighed.carries(animal.id, gene).unwrap_or_else(none);
        let open = now > none() && now < sure();
        found.push(HowSure {
            gene,
            label: genes::carries(&animal.genes, &species.gene(gene).entry.id),
            shows: animal
                .genes
                .iter()
                .any(|b| b.copies == 2 && b.chance == sure() && species.gene_by_id(&b.gene) == Some(gene)),
            proven: proven(desk.herd, species, animal.id, gene),
            error: weighed.standard_error(animal.id, gene),
            broods: broods(desk.herd, species, animal.id, gene),
            settles: if open { settles(desk, species, &evidence, &weighed, animal, gene, &level) } else { Vec::new() },
            now,
        });
    }
    let mut reply = say::evidence::how_sure(species, animal, &found, settle, &level);
    let left_out = all.iter().filter(|id| !sound.contains(id) && !clashes);
    let names = left_out.filter_map(|id| species.loci().get(usize::from(id.0))).map(|l| l.name.clone());
    reply.notes.extend(say::clash::left_out(&names.collect::<Vec<_>>()));
    for one in &found {
        let entry = &species.gene(one.gene).entry;
        let told = desk.herd.frequencies.iter().find(|f| f.species == species.key() && f.gene == entry.id);
        reply.notes.extend(told.map(|f| say::frequency::counted(&f.share, &entry.name)));
    }
    let about: Vec<GeneId> = found.iter().map(|one| one.gene).collect();
    reply.drawing = super::history::drawn(desk, species, animal, &about).map(Box::new);
    Ok(Done::about(reply, vec![animal.id]))
}

/// The genes that a message names, their questions answered.
pub(super) fn asked_genes(desk: &Desk<'_>, species: &Species, said: &Described) -> Result<Vec<GeneId>, Stop> {
    if !said.has_genes() {
        return Ok(Vec::new());
    }
    let again = if said.species == Some(species.id) {
        said.clone()
    } else {
        desk.reader.describe(desk.catalogue, &said.animal.said, Some(species.id))
    };
    let again = super::asked::lines_kept(desk, species, again);
    let settled = desk.settled(species.id, &again)?;
    let mut genes: Vec<GeneId> = settled.animal.genes.iter().map(|c| c.gene).collect();
    genes.dedup();
    Ok(genes)
}

/// Whether a chance is no more than what holds of all animals of unknown parents, misses or not: that is no news of this
/// one.
fn is_common(herd: &Herd, animal: &Animal, gene: &str, label: &Odds, now: &Odds) -> bool {
    let no_more = |f: &CarrierFrequency| evidence::is_same(&f.share, now) || *now < f.share;
    let told = |f: &CarrierFrequency| f.species == animal.species && f.gene == gene && no_more(f);
    *label == none() && herd.frequencies.iter().any(told)
}

/// Recessives that an animal may carry or not, the likeliest first; those that any animal may carry aside.
pub(super) fn open_genes(herd: &Herd, species: &Species, weighed: &Weighed<'_, '_>, animal: &Animal) -> Vec<GeneId> {
    let special = |gene: GeneId, now: &Odds| {
        let id = &species.gene(gene).entry.id;
        !is_common(herd, animal, id, &genes::carries(&animal.genes, id), now)
    };
    let mut open: Vec<(Odds, GeneId)> = (0..species.genes().len())
        .filter_map(|n| Some(GeneId(u16::try_from(n).ok()?)))
        .filter(|g| species.gene(*g).is_recessive())
        .filter_map(|g| Some((weighed.carries(animal.id, g)?, g)))
        .filter(|(now, g)| *now > none() && *now < sure() && special(*g, now))
        .collect();
    open.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    open.into_iter().map(|x| x.1).collect()
}

/// The clutch in which an animal's young showed a recessive.
pub(super) fn proven<'h>(herd: &'h Herd, species: &Species, of: AnimalId, gene: GeneId) -> Option<&'h Clutch> {
    herd.clutches
        .iter()
        .filter(|c| c.sire_id == Some(of) || c.dam_id == Some(of))
        .find(|c| c.young.iter().any(|y| y.n() > 0 && shows(species, &y.genes, gene)))
}

fn shows(species: &Species, genes: &[Belief], gene: GeneId) -> bool {
    genes.iter().any(|b| b.copies == 2 && b.chance == sure() && species.gene_by_id(&b.gene) == Some(gene))
}

/// What the label says that an animal carries; of one without parents that says nothing, what holds of such animals.
fn label_or_common(herd: &Herd, animal: &Animal, gene: &str) -> Odds {
    let label = genes::carries(&animal.genes, gene);
    let elsewhere = animal.sire_id.is_none() && animal.dam_id.is_none();
    let common = herd.frequencies.iter().find(|f| f.species == animal.species && f.gene == gene);
    match common {
        Some(common) if label == none() && elsewhere => common.share.clone(),
        _ => label,
    }
}

/// What hatched from an animal, a line a mate.
pub(super) fn broods(herd: &Herd, species: &Species, of: AnimalId, gene: GeneId) -> Vec<Brood> {
    let id = &species.gene(gene).entry.id;
    let mut found: Vec<Brood> = Vec::new();
    for clutch in herd.clutches.iter().filter(|c| (c.sire_id == Some(of) || c.dam_id == Some(of)) && c.n_told() > 0) {
        let (kept, words) = if clutch.dam_id == Some(of) {
            (clutch.sire_id, &clutch.sire_out)
        } else {
            (clutch.dam_id, &clutch.dam_out)
        };
        let mate = kept.and_then(|id| herd.animal(id));
        let visual = clutch.young.iter().filter(|y| shows(species, &y.genes, gene)).map(Young::n).sum::<u32>();
        let name = mate.map(Animal::called).or_else(|| words.clone());
        let young = clutch.n_told();
        if let Some(same) = found.iter_mut().find(|b| b.mate == name && b.kept == kept) {
            same.young += young;
            same.visual += visual;
            continue;
        }
        found.push(Brood {
            kept,
            mate: name,
            shows: mate.is_some_and(|m| shows(species, &m.genes, gene)),
            carries: mate.map(|m| label_or_common(herd, m, id)),
            young,
            visual,
        });
    }
    found
}

/// The mates here whose young tell the most, with the eggs it takes.
fn settles(
    desk: &Desk<'_>,
    species: &Species,
    evidence: &Evidence<'_>,
    weighed: &Weighed<'_, '_>,
    animal: &Animal,
    gene: GeneId,
    level: &Odds,
) -> Vec<Settles> {
    let mut mates = mates(desk.herd, species, weighed, animal, gene);
    mates.truncate(MOST_MATES);
    let Some((_, allele)) = evidence.at(gene) else { return Vec::new() };
    let mut found: Vec<Settles> = mates
        .into_iter()
        .filter_map(|(mate, visual, chance)| {
            let male = is_male_of(animal, mate);
            let (sire, dam) = if male { (animal.id, mate.id) } else { (mate.id, animal.id) };
            let pair = evidence.together(sire, dam, gene).ok()?;
            let role = if male { Role::Sire } else { Role::Dam };
            let eggs = pair.eggs_to_be_sure(role, allele, &(sure() - level), level);
            Some(Settles {
                mate: mate.called(),
                visual,
                chance,
                until_shown: eggs.until_shown,
                until_unlikely: eggs.until_unlikely.map(u64::from),
            })
        })
        .collect();
    found.sort_by_key(|s| (s.until_shown.unwrap_or(u64::MAX), s.until_unlikely.unwrap_or(u64::MAX)));
    found
}

pub(super) fn is_male_of(animal: &Animal, mate: &Animal) -> bool {
    animal.sex == Sex::Male || animal.sex == Sex::Unknown && mate.sex == Sex::Female
}

/// Animals here of the other sex that may carry a gene: visuals first, then the likeliest.
pub(super) fn mates<'h>(
    herd: &'h Herd,
    species: &Species,
    weighed: &Weighed<'_, '_>,
    animal: &Animal,
    gene: GeneId,
) -> Vec<(&'h Animal, bool, Odds)> {
    let other = |m: &Animal| match animal.sex {
        Sex::Male => m.sex != Sex::Male,
        Sex::Female => m.sex != Sex::Female,
        Sex::Unknown => m.sex != Sex::Unknown,
    };
    let mut found: Vec<(&Animal, bool, Odds)> = herd
        .here()
        .filter(|m| m.species == animal.species && m.id != animal.id && other(m))
        .filter_map(|m| Some((m, shows(species, &m.genes, gene), weighed.carries(m.id, gene)?)))
        .filter(|m| m.2 > none())
        .collect();
    found.sort_by(|a, b| b.1.cmp(&a.1).then(b.2.cmp(&a.2)).then(a.0.number.cmp(&b.0.number)));
    found
}

/// What a record moves: whose chances it changed, or which records it contradicts. Nothing is changed by it.
pub(super) fn news(desk: &Desk<'_>, species: &Species, before: &Herd, after: &Herd) -> Vec<String> {
    let loci = evidence::loci(species, after);
    let (Ok(old), Ok(new)) = (evidence(desk, species, before, &loci), evidence(desk, species, after, &loci)) else {
        return Vec::new();
    };
    match (old.weigh(), new.weigh()) {
        (Ok(old), Ok(new)) => {
            // Animals that the record made are no news.
            let mut moved = super::outlook::moved(species, after, &old, &new);
            moved.retain(|m| before.animal(m.who.id).is_some());
            say::outlook::who_changed(species, &moved)
        }
        (Ok(_), Err(EvidenceError::Impossible)) => match new.clash() {
            Some(clash) => say::clash::clash_lines(species, &new, &clash),
            None => Vec::new(),
        },
        _ => Vec::new(),
    }
}
