//! Clutches with several possible fathers: sperm is stored, and males are swapped.

use super::evidence::{evidence, news};
use super::who::Care;
use super::{Desk, Done, Stop, added, clutches};
use crate::collection::animal::{Animal, Sex};
use crate::collection::change::Change;
use crate::collection::events::{Clutch, PossibleSire, PossibleSires};
use crate::collection::evidence::loci;
use crate::collection::rules;
use crate::conversation::sentences::keeping as say;
use crate::engine::odds::{Odds, none, odds, sure};
use crate::engine::pedigree::evidence::EvidenceError;
use crate::reading::records::clutch::ClutchSaid;
use crate::reading::records::message::Called;
use crate::species::Species;

/// Fathers of one clutch.
const MOST: usize = 6;

pub(super) fn sires(
    desk: &Desk<'_>,
    which: &ClutchSaid,
    named: &[(Called, Option<Odds>)],
    mixed: bool,
) -> Result<Done, Stop> {
    let mut males: Vec<(&Animal, Option<Odds>)> = Vec::new();
    let mut parents = Vec::new();
    for (called, share) in named {
        let animal = desk.one(called, Care::Writes)?;
        if animal.sex == Sex::Female {
            parents.push(called.clone());
        } else if !males.iter().any(|m| m.0.id == animal.id) {
            males.push((animal, share.clone()));
        }
    }
    if males.is_empty() || males.len() > MOST || mixed && males.len() < 2 {
        return Err(Stop::say(say::evidence::two_males(MOST)));
    }
    let said_or = males.len() >= 2 || males.iter().any(|m| m.1.is_some());
    let Some(shares) = shares(&males) else { return Err(Stop::say(say::evidence::shares_do_not_add_up())) };
    // Without the mother it is the clutch of the female last spoken of that has one.
    let has_clutch =
        |id: &&crate::collection::animal::AnimalId| desk.herd.clutches.iter().any(|c| c.dam_id == Some(**id));
    if parents.is_empty()
        && which.code.is_none()
        && let Some(mother) = desk.last.iter().find(has_clutch).and_then(|id| desk.herd.animal(*id))
    {
        parents.push(Called::Number(mother.number.0));
    }
    let id = clutches::which_clutch(desk, &ClutchSaid { code: which.code.clone(), parents })?;
    let old = desk.herd.clutch(id).ok_or_else(|| Stop::say(say::fault(&say::no_clutch(""))))?;
    let dam = old.dam_id.and_then(|id| desk.herd.animal(id)).ok_or_else(|| Stop::say(say::whom()))?;
    let species = added::species_of(desk, dam)?;
    if let Some((other, _)) = males.iter().find(|m| m.0.species != dam.species) {
        return Err(Stop::say(say::related::other_species(other, dam)));
    }
    if let ([(sire, _)], false) = (&males[..], said_or) {
        return one(desk, species, old, dam, sire);
    }
    let mut new = old.clone();
    (new.sire_id, new.sire_out) = (None, None);
    let of = males.iter().zip(&shares).map(|(m, chance)| PossibleSire { id: m.0.id, chance: chance.clone() });
    new.sires = Some(PossibleSires { of: of.collect(), mixed });
    let mut change = Change::new("sires", say::evidence::sires_past(dam));
    change.put(&new);
    // Young kept from it have the same fathers.
    let mut after = desk.herd.clone();
    for young in desk.herd.animals.iter().filter(|a| a.clutch_id == Some(id) && a.sire_id == old.sire_id) {
        let mut freed = young.clone();
        (freed.sire_id, freed.sire_out) = (None, None);
        change.put(&freed);
        after = super::changed::with(&after, &freed);
    }
    for clutch in after.clutches.iter_mut().filter(|c| c.id == id) {
        clutch.clone_from(&new);
    }
    let records = evidence(desk, species, &after, &loci(species, &after))?;
    let weighed = records.weigh().map(|w| w.sires(id));
    let unweighed = weighed.as_ref().err().filter(|e| !matches!(e, EvidenceError::Impossible)).map(ToString::to_string);
    let found = weighed.unwrap_or_default();
    let found: Vec<(&Animal, Odds)> =
        found.into_iter().filter_map(|(id, p)| Some((desk.herd.animal(id)?, p))).collect();
    let told: Vec<(&Animal, Odds)> = males.iter().map(|m| m.0).zip(shares).collect();
    let even = males.iter().all(|m| m.1.is_none());
    let mut reply = say::evidence::sires(&say::clutch_short(&after, &new), &told, mixed, even, &found);
    reply.notes.extend(unweighed.map(|why| format!("The looks of the young could not be weighed: {why}.")));
    reply.notes.splice(0..0, news(desk, species, desk.herd, &after));
    Ok(Done::save(change, reply, std::iter::once(dam.id).chain(males.iter().map(|m| m.0.id)).collect()))
}

/// The one father of a clutch, told after it was laid. Young kept from it have him, too.
fn one(desk: &Desk<'_>, species: &Species, old: &Clutch, dam: &Animal, sire: &Animal) -> Result<Done, Stop> {
    let mut new = old.clone();
    (new.sire_id, new.sire_out, new.sires) = (Some(sire.id), None, None);
    let fault = |text: String| Stop::say(say::fault(&text));
    rules::clutch(desk.herd, species, &new, desk.today).map_err(|f| fault(f.to_string()))?;
    let mut change = Change::new("sires", say::evidence::sires_past(dam));
    change.put(&new);
    let mut after = desk.herd.clone();
    for clutch in after.clutches.iter_mut().filter(|c| c.id == new.id) {
        clutch.clone_from(&new);
    }
    let mut notes = Vec::new();
    for young in desk.herd.animals.iter().filter(|a| a.clutch_id == Some(old.id) && a.sire_id == old.sire_id) {
        let mut his = young.clone();
        (his.sire_id, his.sire_out) = (Some(sire.id), None);
        // Where he cannot have given what it shows it keeps what is known of it, and it is said.
        let mut inherited = his.clone();
        match super::changed::inherit_again(desk, species, &mut inherited, added::Look::Told, &mut notes) {
            Ok(()) => his = inherited,
            Err(why) => notes.push(say::cannot_be(&format!("{}: {why}", young.called()))),
        }
        change.put(&his);
        after = super::changed::with(&after, &his);
    }
    let mut reply = say::evidence::one_sire(&say::clutch_short(&after, &new), sire);
    reply.notes.splice(0..0, notes.iter().map(|n| say::capital(n)).chain(news(desk, species, desk.herd, &after)));
    Ok(Done::save(change, reply, vec![dam.id, sire.id]))
}

/// Even odds unless said; what is left of 1 goes to those without a share. `None` where they do not add up.
fn shares(males: &[(&Animal, Option<Odds>)]) -> Option<Vec<Odds>> {
    let said: Odds = males.iter().filter_map(|m| m.1.as_ref()).sum();
    let open = males.iter().filter(|m| m.1.is_none()).count();
    let left = sure() - &said;
    let each = match open {
        0 if left == none() => none(),
        0 => return None,
        n => &left / odds(i64::try_from(n).ok()?, 1),
    };
    let shares: Vec<Odds> = males.iter().map(|m| m.1.clone().unwrap_or_else(|| each.clone())).collect();
    shares.iter().all(|s| *s > none()).then_some(shares)
}
