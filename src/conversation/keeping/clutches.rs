//! Clutches: laid, born, hatched.

use super::added;
use super::who::Care;
use super::{Ask, Desk, Done, Stop};
use crate::collection::animal::{Animal, AnimalId, Basis, ClutchId, Sex};
use crate::collection::change::Change;
use crate::collection::events::{Clutch, Young};
use crate::collection::genes;
use crate::collection::herd::Herd;
use crate::collection::inherit::{Parents, inherit};
use crate::collection::rules;
use crate::conversation::sentences::{self, keeping as say};
use crate::reading::dates::{Said, When};
use crate::reading::records::clutch::{ClutchSaid, LaidSaid, YoungSaid};
use crate::reading::records::kinds::MeetingKind;
use crate::reading::records::message::Called;
use crate::species::Species;
use crate::species::entries::Young as BornAs;

/// A meeting counts towards a clutch if it was at most so many days before the laying. Sperm can be kept longer; then
/// the keeper names the father.
const DAYS_BEFORE: i32 = 240;

fn fault(text: &str) -> Stop {
    Stop::say(say::fault(text))
}

pub(super) fn laid(desk: &Desk<'_>, parents: &[Called], said: &LaidSaid, on: Option<&Said>) -> Result<Done, Stop> {
    let on = added::or_today(desk, desk.when(on)?);
    let (dam, sire) = dam_and_sire(desk, parents)?;
    let species = added::species_of(desk, dam)?;
    let count = |n: Option<i64>, what: &'static str| match n {
        None => Ok(None),
        Some(n) => i16::try_from(n)
            .ok()
            .filter(|n| (0..=99).contains(n))
            .map(Some)
            .ok_or_else(|| fault(&say::no_count(n, what))),
    };
    let (eggs, slugs) = (count(said.eggs, "eggs")?, count(said.slugs, "slugs")?);
    let doubtful = count(said.doubtful, "doubtful eggs")?;
    let (live, stillborn) = (count(said.live, "young")?, count(said.stillborn, "stillborn")?);
    let warmth = match said.warmth {
        None => None,
        Some(t) => i16::try_from(t)
            .ok()
            .filter(|t| (100..=400).contains(t))
            .map(Some)
            .ok_or_else(|| fault(&say::no_warmth(t)))?,
    };
    let mut notes = Vec::new();
    let (sire_id, sire_out) = match sire {
        Some(sire) => (Some(sire.id), None),
        None => met_last(desk, dam.id, on, &mut notes),
    };
    let mut ids = desk.herd.ids();
    let litter = live.is_some() || stillborn.is_some();
    let mut young = Vec::new();
    if let Some(n) = live.and_then(|n| u8::try_from(n).ok()).filter(|n| *n > 0) {
        young.push(Young { males: 0, females: 0, unsexed: n, genes: Vec::new(), untold: true });
    }
    let clutch = Clutch {
        id: ids.clutch(),
        version: 0,
        code: said.code.clone(),
        sire_id,
        sire_out,
        sires: None,
        dam_id: Some(dam.id),
        dam_out: None,
        laid: Some(on),
        eggs,
        slugs,
        doubtful,
        warmth,
        pipped: None,
        hatched: litter.then_some(on),
        lost: stillborn,
        young,
        notes: None,
    };
    let near = rules::size(desk.herd, 0, 1, desk.today).map_err(|f| fault(&f.to_string()))?;
    rules::clutch(desk.herd, species, &clutch, desk.today).map_err(|f| fault(&f.to_string()))?;
    let mut change = Change::new("clutch", say::laid_past(dam));
    change.put(&clutch);
    if dam.sex == Sex::Unknown || dam.sexed != added::PROVEN {
        let mut new = dam.clone();
        new.sex = Sex::Female;
        new.sexed = added::PROVEN;
        change.put(&new);
        if dam.sex == Sex::Unknown {
            notes.push(say::is_female_now(dam));
        }
    }
    notes.extend(near);
    let live_bearing = species.file().meta.young == BornAs::Live;
    let mut reply = say::laid(desk.herd, dam, &clutch, live_bearing, &notes);
    super::calendar::hatches(desk, species, dam, &clutch, &mut reply);
    let about = [Some(dam.id), sire_id].into_iter().flatten().collect();
    Ok(Done::save(change, reply, about))
}

/// Who laid and who is the father: by the sexes where two are named.
fn dam_and_sire<'a>(desk: &Desk<'a>, parents: &[Called]) -> Result<(&'a Animal, Option<&'a Animal>), Stop> {
    let named: Vec<&Animal> = parents.iter().map(|p| desk.one(p, Care::Writes)).collect::<Result<_, _>>()?;
    match named[..] {
        [] => Err(Stop::say(say::whom())),
        [one] => {
            if one.sex == Sex::Male {
                return Err(fault(&rules::Fault::MaleLays { who: one.called() }.to_string()));
            }
            Ok((one, None))
        }
        [a, b, ..] => match (a.sex, b.sex) {
            (Sex::Male, Sex::Male) => Err(fault(&rules::Fault::MaleLays { who: a.called() }.to_string())),
            (Sex::Male, _) | (_, Sex::Female) => Ok((b, Some(a))),
            _ => Ok((a, Some(b))),
        },
    }
}

/// The father by the last meeting before the laying; a second male is named, because sperm is kept.
fn met_last(desk: &Desk<'_>, dam: AnimalId, on: When, notes: &mut Vec<String>) -> (Option<AnimalId>, Option<String>) {
    let mut met: Vec<_> = desk
        .herd
        .meetings
        .iter()
        .filter(|m| m.dam_id == Some(dam) && m.kind != MeetingKind::Separated)
        .filter(|m| m.on.first() <= on.last())
        .filter(|m| on.first().since(m.on.last()).is_ok_and(|s| s.get_days() <= DAYS_BEFORE))
        .collect();
    met.sort_by_key(|m| (m.on.first(), m.id));
    let Some(last) = met.last() else { return (None, None) };
    let name = |id: Option<AnimalId>, out: &Option<String>| {
        id.and_then(|id| desk.herd.animal(id)).map(Animal::called).or_else(|| out.clone()).unwrap_or_default()
    };
    let mut others: Vec<String> = met
        .iter()
        .filter(|m| (m.sire_id, &m.sire_out) != (last.sire_id, &last.sire_out))
        .map(|m| name(m.sire_id, &m.sire_out))
        .filter(|n| !n.is_empty())
        .collect();
    others.sort();
    others.dedup();
    if last.sire_id.is_some() || last.sire_out.is_some() {
        notes.push(say::father_taken(&name(last.sire_id, &last.sire_out), last.on, &others));
    }
    (last.sire_id, last.sire_out.clone())
}

pub(super) fn hatched(
    desk: &Desk<'_>,
    which: &ClutchSaid,
    said: &[YoungSaid],
    lost: Option<i64>,
    on: Option<&Said>,
) -> Result<Done, Stop> {
    let when = desk.when(on)?;
    let on = added::or_today(desk, when);
    let id = which_clutch(desk, which)?;
    let old = desk.herd.clutch(id).ok_or_else(|| fault(&say::no_clutch("")))?;
    let parent =
        old.dam_id.or(old.sire_id).and_then(|id| desk.herd.animal(id)).ok_or_else(|| Stop::say(say::whom()))?;
    let species = added::species_of(desk, parent)?;
    let mut new = old.clone();
    new.hatched = new.hatched.filter(|_| when.is_none()).or(Some(on));
    // Who is out before the day of the first cut was cut before it.
    new.pipped = new.pipped.filter(|pip| new.hatched.is_none_or(|out| pip.first() <= out.last()));
    let mut assumed = Vec::new();
    let mut notes = Vec::new();
    for one in said {
        if one.strange {
            return Err(Stop::say(say::unknown_look(species, &one.said)));
        }
        let again = if one.look.species == Some(species.id) {
            one.look.clone()
        } else {
            desk.reader.describe(desk.catalogue, &one.said, Some(species.id))
        };
        let look = desk.settled(species.id, &again)?;
        assumed.extend(look.assumed.iter().map(|a| sentences::assumed(desk.catalogue, species, a)));
        let (males, females, unsexed) = one.counts;
        let small =
            |n: u16| u8::try_from(n).ok().filter(|n| *n <= 99).ok_or_else(|| fault(&say::no_count(n.into(), "young")));
        let genes = genes::stated(species, &look.animal);
        let untold = !look.has_genes() && !look.normal;
        let kind = Young { males: small(males)?, females: small(females)?, unsexed: small(unsexed)?, genes, untold };
        if !untold {
            impossible(desk, species, old, &kind.genes, &mut notes);
            told_now(&mut new.young, &kind);
        }
        new.young.push(kind);
    }
    if let Some(n) = lost {
        new.lost = Some(
            i16::try_from(n).ok().filter(|n| (0..=99).contains(n)).ok_or_else(|| fault(&say::no_count(n, "lost")))?,
        );
    }
    rules::clutch(desk.herd, species, &new, desk.today).map_err(|f| fault(&f.to_string()))?;
    let mut change = Change::new("hatch", say::hatched_past(desk.herd, &new));
    change.put(&new);
    let (proven, parents) = proven_parents(desk, species, &new, &mut change);
    notes.extend(proven);
    let now = after(desk.herd, &new, &parents);
    notes.extend(super::evidence::news(desk, species, desk.herd, &now));
    notes.extend(super::planned::news(desk, desk.herd, &super::planned::with_young(desk, &now, &new)));
    let reply = say::hatched(species, desk.herd, &new, &notes, assumed);
    Ok(Done::save(change, reply, [new.dam_id, new.sire_id].into_iter().flatten().collect()))
}

pub(super) fn pipped(desk: &Desk<'_>, which: &ClutchSaid, on: Option<&Said>) -> Result<Done, Stop> {
    let on = added::or_today(desk, desk.when(on)?);
    let id = which_clutch(desk, which)?;
    let old = desk.herd.clutch(id).ok_or_else(|| fault(&say::no_clutch("")))?;
    let parent =
        old.dam_id.or(old.sire_id).and_then(|id| desk.herd.animal(id)).ok_or_else(|| Stop::say(say::whom()))?;
    let species = added::species_of(desk, parent)?;
    if species.file().meta.young == BornAs::Live {
        return Err(Stop::say(say::no_eggs_to_pip(species)));
    }
    if old.hatched.is_some() {
        return Err(Stop::say(say::calendar::hatched_already(desk.herd, old)));
    }
    // The first cut counts, also where more are told of later.
    let first = old.pipped.filter(|before| before.first() <= on.first());
    let new = Clutch { pipped: first.or(Some(on)), ..old.clone() };
    rules::clutch(desk.herd, species, &new, desk.today).map_err(|f| fault(&f.to_string()))?;
    let mut change = Change::new("pip", say::pipped_past(desk.herd, &new));
    change.put(&new);
    let mut reply = say::pipped(desk.herd, &new, first);
    super::calendar::hatches(desk, species, parent, &new, &mut reply);
    Ok(Done::save(change, reply, [new.dam_id, new.sire_id].into_iter().flatten().collect()))
}

/// Young whose look is told now are among those of whom it was not.
fn told_now(young: &mut Vec<Young>, kind: &Young) {
    for old in young.iter_mut().filter(|y| y.untold) {
        let mut left = u8::try_from(kind.n()).unwrap_or(u8::MAX);
        for (from, n) in
            [(&mut old.males, kind.males), (&mut old.females, kind.females), (&mut old.unsexed, kind.unsexed)]
        {
            let taken = n.min(*from);
            *from -= taken;
            left -= taken;
        }
        // Sexed meanwhile, or not as they were counted.
        for from in [&mut old.unsexed, &mut old.males, &mut old.females] {
            let taken = left.min(*from);
            *from -= taken;
            left -= taken;
        }
    }
    young.retain(|y| !y.untold || y.n() > 0);
}

/// Young that the parents, as they are known, cannot have: recorded as told, and said.
fn impossible(
    desk: &Desk<'_>,
    species: &Species,
    clutch: &Clutch,
    look: &[crate::collection::animal::Belief],
    notes: &mut Vec<String>,
) {
    let side = |id: Option<AnimalId>| id.and_then(|id| desk.herd.animal(id)).map(|a| a.genes.as_slice());
    let (Some(sire), Some(dam)) = (side(clutch.sire_id), side(clutch.dam_id)) else { return };
    if let Err(error) = inherit(species, Parents { sire, dam }, Sex::Unknown, Some(look)) {
        notes.push(say::cannot_be(&error.to_string()));
    }
}

/// The herd with a clutch and its parents as they are now.
fn after(herd: &Herd, clutch: &Clutch, parents: &[Animal]) -> Herd {
    let mut herd = herd.clone();
    for old in herd.clutches.iter_mut().filter(|c| c.id == clutch.id) {
        old.clone_from(clutch);
    }
    for new in parents {
        for old in herd.animals.iter_mut().filter(|a| a.id == new.id) {
            old.clone_from(new);
        }
    }
    herd
}

/// A visual among the young proves that both parents carry: possible hets become sure. The sentences, and the parents
/// as they are then.
fn proven_parents(
    desk: &Desk<'_>,
    species: &Species,
    clutch: &Clutch,
    change: &mut Change,
) -> (Vec<String>, Vec<Animal>) {
    let mut notes = Vec::new();
    let mut parents = Vec::new();
    let shown: Vec<&str> = clutch
        .young
        .iter()
        .filter(|y| y.n() > 0)
        .flat_map(|y| &y.genes)
        .filter(|b| b.copies == 2 && species.gene_by_id(&b.gene).is_some_and(|g| species.gene(g).is_recessive()))
        .map(|b| b.gene.as_str())
        .collect();
    for id in [clutch.sire_id, clutch.dam_id].into_iter().flatten() {
        let Some(animal) = desk.herd.animal(id) else { continue };
        let mut new = animal.clone();
        for belief in &mut new.genes {
            if shown.contains(&belief.gene.as_str()) && genes::is_possible_het(species, belief) {
                belief.chance = crate::engine::odds::sure();
                belief.basis = Basis::Proven;
                let label = species.gene_by_id(&belief.gene).map_or("", |g| species.gene(g).label(1));
                notes.push(say::proven_by_young(animal, label));
            }
        }
        if new != *animal {
            change.put(&new);
            parents.push(new);
        }
    }
    (notes, parents)
}

/// Which clutch a message about hatching means: its code, its parents, or the only one that has not hatched.
pub(super) fn which_clutch(desk: &Desk<'_>, said: &ClutchSaid) -> Result<ClutchId, Stop> {
    if let Some(id) = desk.fixed.clutch {
        return Ok(id);
    }
    if let Some(code) = &said.code {
        let fits = |c: &&Clutch| c.code.as_deref().is_some_and(|x| x.eq_ignore_ascii_case(code));
        if let Some(clutch) = desk.herd.clutches.iter().rev().find(fits) {
            return Ok(clutch.id);
        }
        if said.parents.is_empty() {
            return Err(Stop::say(say::fault(&say::no_clutch(code))));
        }
    }
    let parents: Vec<AnimalId> =
        said.parents.iter().map(|p| desk.one(p, Care::Writes).map(|a| a.id)).collect::<Result<_, _>>()?;
    let of_parents = |c: &Clutch| parents.iter().all(|p| c.dam_id == Some(*p) || c.sire_id == Some(*p));
    choose(desk, |c| of_parents(c), |c| c.n_told() == 0, &names(desk, &parents))
}

fn names(desk: &Desk<'_>, ids: &[AnimalId]) -> String {
    ids.iter().filter_map(|id| desk.herd.animal(*id)).map(Animal::called).collect::<Vec<_>>().join(" × ")
}

/// The clutch of "the Juno clutch" or "23-04".
pub(super) fn find(desk: &Desk<'_>, said: &str) -> Result<ClutchId, Stop> {
    if let Some(id) = desk.fixed.clutch {
        return Ok(id);
    }
    let fits = |c: &&Clutch| c.code.as_deref().is_some_and(|x| x.eq_ignore_ascii_case(said.trim()));
    if let Some(clutch) = desk.herd.clutches.iter().rev().find(fits) {
        return Ok(clutch.id);
    }
    let parent = desk.one(&Called::Name(said.to_owned()), Care::Writes)?;
    let id = parent.id;
    choose(desk, |c| c.dam_id == Some(id) || c.sire_id == Some(id), |c| c.hatched.is_some(), &parent.called())
}

/// The only clutch that fits, the only one of them that fits better, else the keeper is asked.
fn choose(
    desk: &Desk<'_>,
    fits: impl Fn(&Clutch) -> bool,
    better: impl Fn(&Clutch) -> bool,
    whose: &str,
) -> Result<ClutchId, Stop> {
    let mut all: Vec<&Clutch> = desk.herd.clutches.iter().filter(|c| fits(c)).collect();
    all.sort_by_key(|c| (c.laid.map(When::first), c.id));
    let best: Vec<&Clutch> = all.iter().copied().filter(|c| better(c)).collect();
    match (&best[..], &all[..]) {
        ([only], _) | ([], [only]) => Ok(only.id),
        ([], []) => Err(Stop::say(say::no_clutch_of(whose))),
        (several @ [_, ..], _) | ([], several) => {
            let ids: Vec<ClutchId> = several.iter().rev().take(9).map(|c| c.id).collect();
            let reply = say::which_clutch(desk.herd, whose, &ids);
            Err(Stop::ask(reply, Ask::Clutch(ids)))
        }
    }
}
