//! Questions about animals by name: odds, what-ifs, every pairing that can make something.

use super::added::species_of;
use super::who::Care;
use super::{Desk, Done, Stop};
use crate::collection::animal::{Animal, AnimalId, Belief, Sex};
use crate::collection::genes;
use crate::conversation::odds::wanted;
use crate::conversation::sentences::keeping as say;
use crate::engine::inheritance::clutch::per_egg;
use crate::engine::inheritance::cross::cross;
use crate::engine::odds::{Odds, none, sure};
use crate::reading::flat::Flat;
use crate::reading::records::Record;
use crate::reading::records::described::Described;
use crate::reading::records::message::{Called, Mention};
use crate::reading::requests::{self, Pairing, Target};
use crate::reply::Reply;
use crate::species::{GeneId, Species};

/// The most pairs that are worked out for one question.
const MOST_PAIRS: usize = 20_000;

/// A message with each named animal told by its genes, so that the reader of pairings can read it.
pub(super) fn odds(desk: &Desk<'_>, record: &Record) -> Result<Done, Stop> {
    let Record::Odds { named } = record else { return Err(Stop::say(say::whom())) };
    // "Duke on Ash and Birch" are two pairings; only a comparison names more than one.
    let compares = |word: &str| matches!(word, "or" | "vs" | "versus" | "better" | "best" | "compare" | "oder" | "o");
    let mut whom: Vec<&Called> = named.iter().map(|m| &m.called).collect();
    whom.dedup();
    if whom.len() > 2 && !desk.said.to_lowercase().split(|c: char| !c.is_alphanumeric()).any(compares) {
        return Err(Stop::say(say::one_pair_at_a_time()));
    }
    told(desk, &desk.said, named, &[])
}

/// `changed` are animals as they would be.
fn told(desk: &Desk<'_>, said: &str, named: &[Mention], changed: &[Animal]) -> Result<Done, Stop> {
    let flat = Flat::new(said);
    let mut message = String::new();
    let mut parents: Vec<(String, requests::Animal)> = Vec::new();
    let mut about: Vec<AnimalId> = Vec::new();
    let mut at = 0;
    for mention in named {
        let kept = desk.one(&mention.called, Care::Reads)?;
        let animal = changed.iter().find(|a| a.id == kept.id).unwrap_or(kept);
        let species = species_of(desk, animal)?;
        let words = in_words(desk, species, animal);
        message.push_str(flat.typed(at..mention.place.start));
        message.push_str(&words);
        // "Duke's": the possessive has no owner any more.
        at = mention.place.end;
        if flat.text().get(at..).is_some_and(|t| t.starts_with("'s")) {
            at += 2;
        }
        let mut read = genes::as_read(species, animal);
        read.weight_g = weight_of(desk, animal);
        read.age_months = age_months(desk, animal);
        read.name = Some(animal.called());
        parents.push((words, read));
        about.push(animal.id);
    }
    message.push_str(flat.typed(at..flat.text().len()));
    pronouns(desk, &mut message, named, &mut parents, &mut about, changed)?;
    let reply = Reply {
        understood: say::names(&parents.iter().map(|p| p.1.said.clone()).collect::<Vec<_>>()),
        ..Reply::default()
    };
    let kept: Vec<&Animal> = about.iter().filter_map(|id| desk.herd.animal(*id)).collect();
    let mut reply = reply;
    for pair in kept.windows(2) {
        let [one, other] = pair else { continue };
        if one.species != other.species {
            let named = |a: &Animal| Ok::<_, Stop>((a.called(), species_of(desk, a)?.name()));
            let ((one, of_one), (other, of_other)) = (named(one)?, named(other)?);
            return Err(Stop::say(say::two_species((&one, of_one), (&other, of_other))));
        }
    }
    if let [one, other] = kept[..] {
        reply.notes.extend(super::related::of_pair(desk, one, other));
    }
    about.reverse();
    Ok(Done::Odds { message, parents, reply: Box::new(reply), about })
}

/// "put Duke on her": a pronoun beside one named animal is the one last spoken of.
fn pronouns(
    desk: &Desk<'_>,
    message: &mut String,
    named: &[Mention],
    parents: &mut Vec<(String, requests::Animal)>,
    about: &mut Vec<AnimalId>,
    changed: &[Animal],
) -> Result<(), Stop> {
    if named.len() != 1 {
        return Ok(());
    }
    for (word, sex) in [(" her", Sex::Female), (" him", Sex::Male)] {
        let Some(at) = message.find(word) else { continue };
        let end = at + word.len();
        if message[end..].chars().next().is_some_and(char::is_alphanumeric) {
            continue;
        }
        let Some(kept) = desk.last_spoken_of(sex).filter(|a| !about.contains(&a.id)) else { continue };
        let animal = changed.iter().find(|a| a.id == kept.id).unwrap_or(kept);
        let species = species_of(desk, animal)?;
        let words = in_words(desk, species, animal);
        message.replace_range(at + 1..end, &words);
        let mut read = genes::as_read(species, animal);
        read.weight_g = weight_of(desk, animal);
        read.age_months = age_months(desk, animal);
        read.name = Some(animal.called());
        parents.push((words, read));
        about.push(animal.id);
        break;
    }
    Ok(())
}

fn weight_of(desk: &Desk<'_>, animal: &Animal) -> Option<u32> {
    desk.herd.weights_of(animal.id).last().and_then(|w| u32::try_from(w.grams).ok())
}

fn age_months(desk: &Desk<'_>, animal: &Animal) -> Option<u32> {
    let hatched = animal.hatched?;
    let days = desk.today.since(hatched.first()).ok()?.get_days();
    u32::try_from(days / 30).ok()
}

/// "1.0 super pastel clown 66% het pied": words that the reader reads back as this animal, as far as words can.
fn in_words(desk: &Desk<'_>, species: &Species, animal: &Animal) -> String {
    let mut shown = Vec::new();
    let mut hidden = Vec::new();
    let mut told: Vec<&str> = Vec::new();
    for belief in &animal.genes {
        let Some(gene) = species.gene_by_id(&belief.gene) else { continue };
        if told.contains(&belief.gene.as_str()) {
            continue;
        }
        told.push(&belief.gene);
        let recessive = species.gene(gene).is_recessive();
        let name = phrase(desk, species, gene);
        match (recessive, belief.copies) {
            (true, 2) => shown.push(format!("visual {name}")),
            (true, _) if belief.chance == sure() => hidden.push(format!("het {name}")),
            // The exact share is put in afterwards; words have only the usual ones.
            (true, _) => hidden.push(format!("50% het {name}")),
            (false, 2) => shown.push(format!("super {name}")),
            (false, _) => shown.push(name),
        }
    }
    let mark = match animal.sex {
        Sex::Male => "1.0 ",
        Sex::Female => "0.1 ",
        Sex::Unknown => "",
    };
    shown.append(&mut hidden);
    if shown.is_empty() {
        shown.push("normal".to_owned());
    }
    format!("{mark}{}", shown.join(" "))
}

/// A name of a gene that is read as this gene and nothing else.
fn phrase(desk: &Desk<'_>, species: &Species, gene: GeneId) -> String {
    let entry = &species.gene(gene).entry;
    let plain = entry.id.replace('_', " ");
    let names = std::iter::once(&entry.name).chain(std::iter::once(&plain)).chain(&entry.aliases);
    for name in names {
        let read = desk.reader.describe(desk.catalogue, name, Some(species.id));
        if read.questions.is_empty() && matches!(&read.animal.genes[..], [only] if only.gene == gene) {
            return name.clone();
        }
    }
    entry.name.clone()
}

pub(super) fn what_if(desk: &Desk<'_>, who: &Called, said: &Described, then: Option<&str>) -> Result<Done, Stop> {
    let animal = desk.one(who, Care::Reads)?;
    let species = species_of(desk, animal)?;
    let again = if said.species == Some(species.id) {
        said.clone()
    } else {
        desk.reader.describe(desk.catalogue, &said.animal.said, Some(species.id))
    };
    let said = desk.settled(species.id, &again)?;
    if !said.has_genes() {
        return Err(Stop::say(say::what_if_what(animal)));
    }
    let mut changed = animal.clone();
    for belief in genes::stated(species, &said.animal) {
        changed.genes.retain(|b| b.gene != belief.gene);
        changed.genes.push(belief);
    }
    let Some(then) = then else {
        return Ok(Done::about(say::what_if(species, animal, &changed), vec![animal.id]));
    };
    // The question behind it, read with the animal as it would be.
    let names = crate::reading::records::message::Names::new(
        desk.herd.animals.iter().filter_map(|a| a.name.as_ref()).map(crate::collection::name::Name::as_str),
    );
    let known = crate::reading::records::message::Known { species: Some(species.id), names: &names, today: desk.today };
    match desk.reader.record(desk.catalogue, then, known) {
        Some(Record::Odds { named }) => {
            let fresh = Desk { said: then.to_owned(), last: &[&[animal.id][..], desk.last].concat(), ..desk.again() };
            let mut done = told(&fresh, then, &named, &[changed])?;
            if let Done::Odds { reply, .. } = &mut done {
                reply.notes.push(say::nothing_changed());
            }
            Ok(done)
        }
        Some(Record::AllPairings { genes, target, said }) => {
            let herd = super::changed::with(desk.herd, &changed);
            let fresh = Desk { herd: &herd, ..desk.again() };
            all_pairings(&fresh, &genes, &target, &said)
        }
        _ => Ok(Done::about(say::what_if(species, animal, &changed), vec![animal.id])),
    }
}

/// Every pair of the collection that can give what is wished for, the best first.
pub(super) fn all_pairings(desk: &Desk<'_>, said: &Described, target: &Target, words: &str) -> Result<Done, Stop> {
    let species_id = match said.species.filter(|_| !said.worked_out || said.fitting.len() <= 1) {
        Some(id) => id,
        None => desk.species_said(said)?,
    };
    let species = desk.catalogue.get(species_id);
    let (again, mut target) = if said.species == Some(species_id) {
        (said.clone(), target.clone())
    } else {
        desk.reader.wish(desk.catalogue, words, Some(species_id))
    };
    let again = lines_kept(desk, species, again);
    let settled = desk.settled(species_id, &again)?;
    target.genes = settled.animal.genes.iter().map(|c| (c.gene, c.copies)).collect();
    target.hets.retain(|g| target.genes.iter().any(|t| t.0 == *g));
    let here: Vec<&Animal> = desk.herd.here().filter(|a| a.species == species.key()).collect();
    let (males, females): (Vec<&Animal>, Vec<&Animal>) = (
        here.iter().copied().filter(|a| a.sex != Sex::Female).collect(),
        here.iter().copied().filter(|a| a.sex != Sex::Male).collect(),
    );
    let genetics = species.genetics(false).map_err(|e| Stop::say(say::fault(&e.to_string())))?;
    let wanted = wanted(species, &target);
    let mut found: Vec<(Odds, &Animal, &Animal)> = Vec::new();
    let mut tried = 0;
    for sire in &males {
        for dam in &females {
            if sire.id == dam.id || sire.sex == Sex::Unknown && dam.sex == Sex::Unknown && sire.id > dam.id {
                continue;
            }
            let can = target.genes.iter().all(|(gene, copies)| can_give(species, sire, dam, *gene, *copies));
            if !can {
                continue;
            }
            tried += 1;
            if tried > MOST_PAIRS {
                return Err(Stop::say(say::too_many_pairs(MOST_PAIRS)));
            }
            let of = |a: &Animal| genes::genome(species, &only(species, &a.genes, &target));
            let Ok(young) = cross(&genetics, &of(sire), &of(dam)) else { continue };
            if let Ok(share) = per_egg(&young, &wanted)
                && share > none()
            {
                found.push((share, sire, dam));
            }
        }
    }
    found.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.number.cmp(&b.1.number)).then(a.2.number.cmp(&b.2.number)));
    let reply = say::pairings(species, desk.herd, &target, &found, &here);
    Ok(Done::about(reply, found.first().map(|f| vec![f.1.id, f.2.id]).unwrap_or_default()))
}

/// "albino clown" in a species with several albinos: the line that the collection has is meant, where it has but one.
pub(super) fn lines_kept(desk: &Desk<'_>, species: &Species, mut said: Described) -> Described {
    let kept = |gene: GeneId| {
        let id = &species.gene(gene).entry.id;
        desk.herd.here().any(|a| a.species == species.key() && a.genes.iter().any(|b| b.gene == *id))
    };
    let mut open = Vec::new();
    for question in std::mem::take(&mut said.questions) {
        let readings: Vec<_> = question
            .readings
            .iter()
            .filter(|r| matches!(r, requests::Choice::Genes(_, genes) if genes.iter().all(|g| kept(g.0))))
            .collect();
        match readings[..] {
            [requests::Choice::Genes(_, genes)] => {
                for (gene, copies) in genes {
                    said.animal.genes.push(requests::Carried { gene: *gene, copies: *copies, chance: sure() });
                }
            }
            _ => open.push(question),
        }
    }
    said.questions = open;
    said
}

/// Beliefs at the loci of the wish: the others do not change its share.
fn only(species: &Species, beliefs: &[Belief], target: &Target) -> Vec<Belief> {
    let locus = |gene: GeneId| species.gene(gene).locus;
    let loci: Vec<_> = target.genes.iter().filter_map(|t| locus(t.0)).collect();
    beliefs
        .iter()
        .filter(|b| species.gene_by_id(&b.gene).and_then(locus).is_some_and(|l| loci.contains(&l)))
        .cloned()
        .collect()
}

fn can_give(species: &Species, sire: &Animal, dam: &Animal, gene: GeneId, copies: u8) -> bool {
    let id = &species.gene(gene).entry.id;
    let carries = |a: &Animal| a.genes.iter().any(|b| b.gene == *id && b.chance > none());
    if copies == 2 { carries(sire) && carries(dam) } else { carries(sire) || carries(dam) }
}

/// Harm that a pairing of two kept animals can do.
pub(super) fn cautions(desk: &Desk<'_>, species: &Species, sire: &Animal, dam: &Animal) -> Vec<String> {
    let read = |a: &Animal| {
        let mut read = genes::as_read(species, a);
        read.weight_g = weight_of(desk, a);
        read.age_months = age_months(desk, a);
        read
    };
    let pairing = Pairing { parents: vec![read(sire), read(dam)], ..Pairing::default() };
    crate::conversation::cautions::cautions(species, &pairing).into_iter().map(|c| c.text).collect()
}
