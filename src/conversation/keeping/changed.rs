//! Changes to animals that are kept, and letting them go.

use super::added::{self, Settled};
use super::who::Care;
use super::{Desk, Done, Stop};
use crate::collection::animal::{Animal, AnimalId, Basis, Belief, Parent, Sex};
use crate::collection::change::Change;
use crate::collection::genes;
use crate::collection::herd::Herd;
use crate::collection::name::{LINE_CHARS, NOTE_CHARS, Name, TAG_CHARS, tidy, tidy_note};
use crate::collection::rules;
use crate::conversation::sentences::{self, keeping as say};
use crate::engine::odds::sure;
use crate::reading::dates::Said;
use crate::reading::records::described::Described;
use crate::reading::records::edit::{Correction, Those};
use crate::reading::records::kinds::{Sexed, Status};
use crate::reading::records::message::Called;
use crate::reading::requests::SexSaid;
use crate::species::Species;

/// From so many animals on a change is shown first.
const SHOWN_FIRST: usize = 2;

pub(super) fn rename(desk: &Desk<'_>, who: &Called, to: &str) -> Result<Done, Stop> {
    let animal = desk.one(who, Care::Writes)?;
    let name = Name::new(to).map_err(|e| Stop::say(say::fault(&e.to_string())))?;
    let before = animal.called();
    let mut new = animal.clone();
    new.name = Some(name.clone());
    let same: Vec<String> =
        desk.herd.namesakes(&name).filter(|a| a.id != animal.id).map(|a| a.number.to_string()).collect();
    let mut change = Change::new("rename", say::renamed_past(&before, &new));
    change.put(&new);
    let note = (!same.is_empty()).then(|| say::namesake(&name, &same));
    Ok(Done::save(change, say::renamed(&before, &new, note), vec![animal.id]))
}

pub(super) fn correct(desk: &Desk<'_>, who: &Called, what: &[Correction], unread: &[String]) -> Result<Done, Stop> {
    let animal = desk.one(who, Care::Writes)?;
    let species = added::species_of(desk, animal)?;
    let mut new = animal.clone();
    let mut notes = Vec::new();
    let mut assumed = Vec::new();
    let mut parents_changed = false;
    let mut look = added::Look::Told;
    let fault = |text: String| Stop::say(say::fault(&text));
    for correction in what {
        match correction {
            Correction::Sex(sex, sexed) => {
                if *sex != SexSaid::Unknown {
                    new.sex = (*sex).into();
                }
                new.sexed = *sexed;
            }
            Correction::Genes(said) => {
                let said = said_of(desk, species, said)?;
                assumed.extend(said.assumed.iter().map(|a| sentences::assumed(desk.catalogue, species, a)));
                // A look that is told at last is told whole.
                parents_changed |= is_untold(species, &new);
                set_genes(species, &mut new.genes, genes::stated(species, &said.animal));
            }
            Correction::NotGenes(said) => {
                let said = said_of(desk, species, said)?;
                let gone: Vec<String> = genes::stated(species, &said.animal).into_iter().map(|b| b.gene).collect();
                if !new.genes.iter().any(|b| gone.contains(&b.gene)) {
                    return Err(Stop::say(say::has_not(animal, species, &said.animal)));
                }
                new.genes.retain(|b| !gone.contains(&b.gene));
            }
            Correction::Normal => {
                let shows = |b: &Belief| genes::may_show(species, b);
                new.genes.retain(|b| !shows(b));
                parents_changed = true;
            }
            Correction::Untold => {
                if matches!((new.sire(), new.dam()), (Parent::Unknown, _) | (_, Parent::Unknown)) {
                    return Err(Stop::say(say::untold_needs_parents(animal)));
                }
                new.genes.clear();
                look = added::Look::Untold;
                parents_changed = true;
            }
            Correction::Hatched(said) => new.hatched = desk.when(Some(said))?,
            Correction::Origin(words) => new.origin = Some(tidy(words).chars().take(LINE_CHARS).collect()),
            Correction::Price(cents, currency) => {
                new.price_cents = Some(*cents);
                new.currency = currency.map(str::to_owned).or(new.currency);
            }
            Correction::Sire(said) => {
                let parent = added::parent(desk, desk.herd, said)?;
                set_parent(&mut new, parent, true);
                parents_changed = true;
            }
            Correction::Dam(said) => {
                let parent = added::parent(desk, desk.herd, said)?;
                set_parent(&mut new, parent, false);
                parents_changed = true;
            }
            Correction::Parents(a, b) => {
                let (a, b) = (added::parent(desk, desk.herd, a)?, added::parent(desk, desk.herd, b)?);
                let (sire, dam) = added::sorted(desk.herd, a, b);
                set_parent(&mut new, sire, true);
                set_parent(&mut new, dam, false);
                parents_changed = true;
            }
            Correction::Clutch(said) => {
                let id = super::clutches::find(desk, said)?;
                let clutch = desk.herd.clutch(id).ok_or_else(|| Stop::say(say::fault(&say::no_clutch(said))))?;
                new.clutch_id = Some(id);
                (new.sire_id, new.sire_out) = (clutch.sire_id, clutch.sire_out.clone());
                (new.dam_id, new.dam_out) = (clutch.dam_id, clutch.dam_out.clone());
                new.hatched = new.hatched.or(clutch.hatched);
                parents_changed = true;
            }
            Correction::Note(words) => {
                let note = tidy_note(words);
                let all = new.notes.take().map_or_else(|| note.clone(), |old| format!("{old}\n{note}"));
                if all.chars().count() > NOTE_CHARS {
                    return Err(fault(say::long_note(all.chars().count(), NOTE_CHARS)));
                }
                new.notes = Some(all);
            }
            Correction::Tag(words) => {
                let tag = tidy(words);
                if tag.chars().count() > TAG_CHARS {
                    return Err(fault(say::long_tag(tag.chars().count(), TAG_CHARS)));
                }
                if !new.tags.iter().any(|t| t.eq_ignore_ascii_case(&tag)) {
                    new.tags.push(tag);
                }
            }
            Correction::Untag(words) => {
                let tag = tidy(words);
                if !new.tags.iter().any(|t| t.eq_ignore_ascii_case(&tag)) {
                    return Err(Stop::say(say::no_such_tag(animal, &tag)));
                }
                new.tags.retain(|t| !t.eq_ignore_ascii_case(&tag));
            }
        }
    }
    if parents_changed {
        // Whether they can be its parents at all comes before what they can give.
        rules::animal(&with(desk.herd, &new), species, &new, desk.today).map_err(|f| fault(f.to_string()))?;
        inherit_again(desk, species, &mut new, look, &mut notes).map_err(fault)?;
    }
    let herd = with(desk.herd, &new);
    rules::animal(&herd, species, &new, desk.today).map_err(|f| fault(f.to_string()))?;
    if new == *animal {
        return Ok(Done::about(say::as_it_was(desk.catalogue, desk.herd, animal), vec![animal.id]));
    }
    let mut change = Change::new("correct", say::corrected_past(&new));
    change.put(&new);
    let reply = say::corrected(desk.catalogue, &herd, animal, &new, &notes, assumed, unread.to_vec());
    Ok(Done::save(change, reply, vec![animal.id]))
}

/// Gene words of an animal whose species is known, with their questions answered.
fn said_of(desk: &Desk<'_>, species: &Species, said: &Described) -> Result<Described, Stop> {
    let again = if said.species == Some(species.id) {
        said.clone()
    } else {
        desk.reader.describe(desk.catalogue, &said.animal.said, Some(species.id))
    };
    desk.settled(species.id, &again)
}

/// The herd with a changed animal.
pub(super) fn with(herd: &Herd, new: &Animal) -> Herd {
    let mut herd = herd.clone();
    match herd.animals.iter_mut().find(|a| a.id == new.id) {
        Some(old) => *old = new.clone(),
        None => herd.animals.push(new.clone()),
    }
    herd
}

/// Sets what is said of some loci; what was believed of those loci before is gone, all else stays.
fn set_genes(species: &Species, genes: &mut Vec<Belief>, said: Vec<Belief>) {
    let locus = |b: &Belief| species.gene_by_id(&b.gene).and_then(|g| species.gene(g).locus);
    let loci: Vec<_> = said.iter().filter_map(locus).collect();
    genes.retain(|b| locus(b).is_none_or(|l| !loci.contains(&l)) && !said.iter().any(|s| s.gene == b.gene));
    genes.extend(said);
}

fn set_parent(animal: &mut Animal, parent: Option<Settled>, is_sire: bool) {
    let (kept, outside) = match parent {
        Some(Settled::Kept(id)) => (Some(id), None),
        Some(Settled::Outside(words, _)) => (None, Some(tidy(&words).chars().take(LINE_CHARS).collect())),
        None => (None, None),
    };
    if is_sire {
        (animal.sire_id, animal.sire_out) = (kept, outside);
    } else {
        (animal.dam_id, animal.dam_out) = (kept, outside);
    }
}

/// Whether some look of an animal is only a share that its parents give.
fn is_untold(species: &Species, animal: &Animal) -> bool {
    let open = |b: &&Belief| b.basis == Basis::Inferred && genes::may_show(species, b);
    animal.genes.iter().filter(open).any(|b| genes::carries(&animal.genes, &b.gene) < sure())
}

/// Genes that an animal shows for sure, one copy or two: seen, not inferred, though how many copies it has is.
fn seen(species: &Species, animal: &Animal) -> Vec<Belief> {
    let of = |gene: &str| animal.genes.iter().filter(|b| b.gene == gene).all(|b| genes::may_show(species, b));
    let mut found: Vec<Belief> = Vec::new();
    for belief in animal.genes.iter().filter(|b| b.basis == Basis::Inferred && b.chance < sure()) {
        if of(&belief.gene) && genes::carries(&animal.genes, &belief.gene) == sure() {
            let one = Belief { copies: 1, chance: sure(), basis: Basis::Stated, ..belief.clone() };
            if !found.iter().any(|f| f.gene == one.gene) {
                found.push(one);
            }
        }
    }
    found
}

/// New parents: what the animal carries follows from them and from what it shows and is said to carry.
pub(super) fn inherit_again(
    desk: &Desk<'_>,
    species: &Species,
    animal: &mut Animal,
    look: added::Look,
    notes: &mut Vec<String>,
) -> Result<(), String> {
    let side = |kept: Option<AnimalId>, out: &Option<String>| match (kept, out) {
        (Some(id), _) => Some(Settled::Kept(id)),
        (None, Some(words)) => {
            let described = desk.reader.describe(desk.catalogue, words, Some(species.id));
            Some(Settled::Outside(words.clone(), Box::new(described)))
        }
        (None, None) => None,
    };
    let parents = [side(animal.sire_id, &animal.sire_out), side(animal.dam_id, &animal.dam_out)];
    // What was inferred from former parents no longer counts.
    let seen = if look == added::Look::Told { seen(species, animal) } else { Vec::new() };
    animal.genes.retain(|b| b.basis != Basis::Inferred);
    animal.genes.extend(seen);
    added::born_of(desk.herd, species, animal, &parents, look, notes)
}

pub(super) fn status(desk: &Desk<'_>, those: &Those, status: Status, on: Option<&Said>) -> Result<Done, Stop> {
    let on = desk.when(on)?;
    let animals = animals(desk, those)?;
    if animals.is_empty() {
        return Err(Stop::say(say::which_ones(status)));
    }
    let since = on.unwrap_or(crate::reading::dates::When::Day(desk.today));
    let mut change = Change::new("status", say::status_past(&animals, status));
    for animal in &animals {
        if since.first() > desk.today {
            let fault = rules::was_there(animal, say::status_word(status), since, desk.today);
            fault.map_err(|f| Stop::say(say::fault(&f.to_string())))?;
        }
        if animal.hatched.is_some_and(|h| since.last() < h.first()) {
            let fault = rules::was_there(animal, say::status_word(status), since, desk.today);
            fault.map_err(|f| Stop::say(say::fault(&f.to_string())))?;
        }
        let mut new = (*animal).clone();
        new.status = status;
        new.status_on = Some(since);
        change.put(&new);
    }
    let about = animals.iter().map(|a| a.id).collect();
    Ok(confirmed(desk, &animals, change, say::status_now(&animals, status, since), about, say::status_word(status)))
}

pub(super) fn remove(desk: &Desk<'_>, those: &Those) -> Result<Done, Stop> {
    let animals = animals(desk, those)?;
    if animals.is_empty() {
        return Err(Stop::say(say::nothing_fits()));
    }
    let gone: Vec<AnimalId> = animals.iter().map(|a| a.id).collect();
    let mut change = Change::new("remove", say::removed_past(&animals));
    let n_events = drop_all(desk.herd, &gone, &mut change);
    let reply = say::removed(desk.catalogue, desk.herd, &animals, n_events);
    Ok(confirmed(desk, &animals, change, reply, Vec::new(), "remove"))
}

/// Lets animals go with all that is recorded of them alone. Young and clutches stay, and remember the parent in words.
fn drop_all(herd: &Herd, gone: &[AnimalId], change: &mut Change) -> usize {
    let is_gone = |id: Option<AnimalId>| id.is_some_and(|id| gone.contains(&id));
    let words = |id: Option<AnimalId>| id.and_then(|id| herd.animal(id)).map(Animal::called);
    let mut n = 0;
    for weight in herd.weights.iter().filter(|w| gone.contains(&w.animal_id)) {
        change.drop(weight);
        n += 1;
    }
    for meal in herd.meals.iter().filter(|m| gone.contains(&m.animal_id)) {
        change.drop(meal);
        n += 1;
    }
    for sign in herd.signs.iter().filter(|s| gone.contains(&s.animal_id)) {
        change.drop(sign);
        n += 1;
    }
    for meeting in &herd.meetings {
        let (sire, dam) = (is_gone(meeting.sire_id), is_gone(meeting.dam_id));
        if !sire && !dam {
            continue;
        }
        let mut new = meeting.clone();
        if sire {
            new.sire_out = words(meeting.sire_id);
            new.sire_id = None;
        }
        if dam {
            new.dam_out = words(meeting.dam_id);
            new.dam_id = None;
        }
        if new.sire_id.is_none() && new.dam_id.is_none() {
            change.drop(meeting);
            n += 1;
        } else {
            change.put(&new);
        }
    }
    let mut clutches_gone = Vec::new();
    for clutch in &herd.clutches {
        let (sire, dam) = (is_gone(clutch.sire_id), is_gone(clutch.dam_id));
        if !sire && !dam {
            continue;
        }
        let mut new = clutch.clone();
        if sire {
            new.sire_out = words(clutch.sire_id);
            new.sire_id = None;
        }
        if dam {
            new.dam_out = words(clutch.dam_id);
            new.dam_id = None;
        }
        if new.sire_id.is_none() && new.dam_id.is_none() {
            clutches_gone.push(clutch.id);
            change.drop(clutch);
            n += 1;
        } else {
            change.put(&new);
        }
    }
    for animal in &herd.animals {
        if gone.contains(&animal.id) {
            continue;
        }
        let mut new = animal.clone();
        if is_gone(animal.sire_id) {
            new.sire_out = words(animal.sire_id);
            new.sire_id = None;
        }
        if is_gone(animal.dam_id) {
            new.dam_out = words(animal.dam_id);
            new.dam_id = None;
        }
        if animal.clutch_id.is_some_and(|c| clutches_gone.contains(&c)) {
            new.clutch_id = None;
        }
        if new != *animal {
            change.put(&new);
        }
    }
    for animal in herd.animals.iter().filter(|a| gone.contains(&a.id)) {
        change.drop(animal);
    }
    n
}

/// One animal is changed at once; several are shown first.
fn confirmed(
    desk: &Desk<'_>,
    animals: &[&Animal],
    change: Change,
    reply: crate::reply::Reply,
    about: Vec<AnimalId>,
    word: &str,
) -> Done {
    if animals.len() < SHOWN_FIRST {
        return Done::save(change, reply, about);
    }
    let word = word.replace(' ', "-");
    let shown = Box::new(say::change_first(desk.catalogue, desk.herd, animals, &word));
    Done::Confirm { word, shown, change, reply: Box::new(reply) }
}

/// The animals that a change is about.
pub(super) fn animals<'a>(desk: &Desk<'a>, those: &Those) -> Result<Vec<&'a Animal>, Stop> {
    match those {
        Those::Named(who) => {
            let mut out: Vec<&Animal> = Vec::new();
            for called in who {
                let animal = desk.one(called, Care::Writes)?;
                if !out.iter().any(|a| a.id == animal.id) {
                    out.push(animal);
                }
            }
            Ok(out)
        }
        Those::All(filter) => super::looked::fitting(desk, filter),
    }
}

pub(super) fn prove(desk: &Desk<'_>, who: &Called, said: &Described) -> Result<Done, Stop> {
    let animal = desk.one(who, Care::Writes)?;
    let species = added::species_of(desk, animal)?;
    let said = said_of(desk, species, said)?;
    let mut new = animal.clone();
    let fault = |text: String| Stop::say(say::fault(&text));
    let mut hets: Vec<Belief> = genes::stated(species, &said.animal);
    if hets.is_empty() {
        // "mark her proven": the only het that is not sure, else that she has bred.
        let open: Vec<&Belief> = animal.genes.iter().filter(|b| genes::is_possible_het(species, b)).collect();
        match open[..] {
            [only] => hets.push(only.clone()),
            [] => {
                new.sexed = Sexed::Proven;
                if new.sex == Sex::Unknown {
                    return Err(Stop::say(say::proven_what(animal)));
                }
            }
            _ => return Err(Stop::say(say::proven_what(animal))),
        }
    }
    for mut belief in hets {
        let recessive = species.gene_by_id(&belief.gene).is_some_and(|g| species.gene(g).is_recessive());
        // "proven het pied" and "proven pied" alike: a carrier that has shown it by its young.
        if recessive && !animal.genes.iter().any(|b| b.gene == belief.gene && b.copies == 2) {
            belief.copies = 1;
        }
        belief.chance = sure();
        belief.basis = Basis::Proven;
        set_genes(species, &mut new.genes, vec![belief]);
    }
    let herd = with(desk.herd, &new);
    rules::animal(&herd, species, &new, desk.today).map_err(|f| fault(f.to_string()))?;
    let mut change = Change::new("prove", say::proven_past(&new));
    change.put(&new);
    let reply = say::corrected(desk.catalogue, &herd, animal, &new, &[], Vec::new(), said.unread);
    Ok(Done::save(change, reply, vec![animal.id]))
}
