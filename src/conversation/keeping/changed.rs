//! Changes to animals that are kept.

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
use crate::reading::records::described::Described;
use crate::reading::records::edit::Correction;
use crate::reading::records::kinds::Sexed;
use crate::reading::records::message::Called;
use crate::reading::requests::SexSaid;
use crate::species::Species;

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
            Correction::Sire(_) | Correction::Dam(_) | Correction::Parents(..) | Correction::Clutch(_) => {
                set_family(desk, &mut new, correction)?;
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

/// Parents or a clutch as said; anything else changes nothing.
fn set_family(desk: &Desk<'_>, new: &mut Animal, said: &Correction) -> Result<(), Stop> {
    match said {
        Correction::Sire(said) => set_parent(new, added::parent(desk, desk.herd, said)?, true),
        Correction::Dam(said) => set_parent(new, added::parent(desk, desk.herd, said)?, false),
        Correction::Parents(a, b) => {
            let (a, b) = (added::parent(desk, desk.herd, a)?, added::parent(desk, desk.herd, b)?);
            let (sire, dam) = added::sorted(desk.herd, a, b);
            set_parent(new, sire, true);
            set_parent(new, dam, false);
        }
        Correction::Clutch(said) => {
            let id = super::clutches::find(desk, said)?;
            let clutch = desk.herd.clutch(id).ok_or_else(|| Stop::say(say::fault(&say::no_clutch(said))))?;
            new.clutch_id = Some(id);
            (new.sire_id, new.sire_out) = (clutch.sire_id, clutch.sire_out.clone());
            (new.dam_id, new.dam_out) = (clutch.dam_id, clutch.dam_out.clone());
            new.hatched = new.hatched.or(clutch.hatched);
        }
        _ => {}
    }
    Ok(())
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
