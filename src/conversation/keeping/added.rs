//! New animals.

use super::who::Care;
use super::{Desk, Done, Stop};
use jiff::civil::Date;

use crate::collection::animal::{Animal, AnimalId, Basis, Belief, ClutchId, Sex};
use crate::collection::change::{Change, Ids};
use crate::collection::events::Weight;
use crate::collection::genes;
use crate::collection::herd::{Found, Herd};
use crate::collection::inherit::{Parents, inherit};
use crate::collection::name::{LINE_CHARS, NOTE_CHARS, Name, tidy, tidy_note};
use crate::collection::rules;
use crate::conversation::sentences::{self, keeping as say};
use crate::engine::odds::sure;
use crate::reading::dates::When;
use crate::reading::records::add::{MOST_LINES, NewAnimal, ParentSaid};
use crate::reading::records::described::Described;
use crate::reading::records::kinds::Sexed;
use crate::reading::records::message::Called;
use crate::reading::requests::SexSaid;
use crate::species::Species;

/// From so many animals on they are shown first.
const SHOWN_FIRST: usize = 4;
/// The word that saves what was shown.
pub(super) const SAVE: &str = "save";

/// A parent that was settled.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Settled {
    Kept(AnimalId),
    /// Outside, in words, with what is known of its genes.
    Outside(String, Box<Described>),
}

/// One animal made ready, or the reason why not.
struct Ready {
    animal: Animal,
    weight: Option<Weight>,
    notes: Vec<String>,
}

pub(super) fn add(desk: &Desk<'_>, said: &[NewAnimal]) -> Result<Done, Stop> {
    if said.len() > MOST_LINES {
        return Err(Stop::say(say::too_many_lines(said.len(), MOST_LINES)));
    }
    let Prepared { change, found, about, .. } = prepared(desk, said, Namesakes::AreOthers)?;
    let n = found.lines.len();
    if n >= SHOWN_FIRST {
        let word = SAVE.to_owned();
        let shown = Box::new(say::add_first(&found, &word));
        let reply = Box::new(say::added_many(n, &found));
        return Ok(Done::Confirm { word, shown, change, reply });
    }
    Ok(Done::save(change, say::added(&found), about))
}

/// What an animal is whose name another one has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Namesakes {
    /// Another animal.
    AreOthers,
    /// The same animal, that is here already: a file may be sent twice.
    AreHere,
}

/// New animals, made ready to be saved.
pub(super) struct Prepared {
    pub(super) change: Change,
    pub(super) found: say::Added,
    pub(super) about: Vec<AnimalId>,
    /// Animals that are here already.
    pub(super) n_here: usize,
}

/// Makes new animals ready, parents before their young; lines that cannot be are named.
pub(super) fn prepared(desk: &Desk<'_>, said: &[NewAnimal], namesakes: Namesakes) -> Result<Prepared, Stop> {
    let many = said.len() > 1;
    let mut n_here = 0;
    let mut here: Vec<AnimalId> = Vec::new();
    let mut ids = desk.herd.ids();
    let mut herd = desk.herd.clone();
    let mut ready: Vec<Ready> = Vec::new();
    let mut bad: Vec<(usize, String)> = Vec::new();
    let mut assumed: Vec<String> = Vec::new();
    let mut unread: Vec<String> = Vec::new();
    for new in said {
        // A parent may stand in the same list.
        let at_this_line = Desk { herd: &herd, said: String::new(), ..*desk };
        match one(&at_this_line, &herd, &mut ids, new, &mut assumed) {
            Ok(animals) => {
                for one in animals {
                    if namesakes == Namesakes::AreHere
                        && let Some(id) = is_here(desk.herd, &one.animal, &here)
                    {
                        here.push(id);
                        n_here += 1;
                        continue;
                    }
                    herd.animals.push(one.animal.clone());
                    ready.push(one);
                }
                unread.extend(new.unread.iter().cloned());
            }
            Err(Fail::Stop(Stop::Say(reply))) if many => bad.push((new.line, reply.answer.concat())),
            Err(Fail::Stop(stop)) => return Err(stop),
            Err(Fail::Bad(reason)) if many => bad.push((new.line, reason)),
            Err(Fail::Bad(reason)) => return Err(Stop::say(say::fault(&reason))),
        }
    }
    if ready.is_empty() && n_here == 0 {
        return Err(Stop::say(say::all_bad(&bad)));
    }
    let near = match rules::size(desk.herd, ready.len(), 0, desk.today) {
        Ok(near) => near,
        Err(fault) => return Err(Stop::say(say::fault(&fault.to_string()))),
    };
    assumed.dedup();
    let lines: Vec<String> = ready.iter().map(|r| line(desk, &herd, r)).collect();
    let about: Vec<AnimalId> = ready.iter().rev().map(|r| r.animal.id).take(10).collect();
    let mut change = Change::new("add", say::added_past(&ready.iter().map(|r| &r.animal).collect::<Vec<_>>()));
    for one in &ready {
        change.put(&one.animal);
    }
    for weight in ready.iter().filter_map(|r| r.weight.as_ref()) {
        change.put(weight);
    }
    let notes: Vec<String> = ready.iter().flat_map(|r| r.notes.iter().cloned()).chain(near).collect();
    let found = say::Added { lines, bad, notes, assumed, unread };
    Ok(Prepared { change, found, about, n_here })
}

/// The animal of a herd that a line of a file tells of again: by its name, or all that is told of one without a name.
fn is_here(herd: &Herd, new: &Animal, taken: &[AnimalId]) -> Option<AnimalId> {
    let key = new.name.as_ref().map(Name::key);
    let same = |a: &&Animal| match (&key, a.name.as_ref().map(Name::key)) {
        (Some(new), Some(old)) => *new == old,
        (None, None) => (&a.genes, a.sex, a.hatched, &a.origin) == (&new.genes, new.sex, new.hatched, &new.origin),
        _ => false,
    };
    herd.animals.iter().filter(|a| a.species == new.species && !taken.contains(&a.id)).find(same).map(|a| a.id)
}

enum Fail {
    Stop(Stop),
    Bad(String),
}

impl From<Stop> for Fail {
    fn from(stop: Stop) -> Self {
        Self::Stop(stop)
    }
}

fn one(
    desk: &Desk<'_>,
    herd: &Herd,
    ids: &mut Ids,
    new: &NewAnimal,
    assumed: &mut Vec<String>,
) -> Result<Vec<Ready>, Fail> {
    let bad = |text: String| Fail::Bad(text);
    let (clutch, parents) = parents(desk, herd, new)?;
    // Young are of their parents' species.
    let kept_species = parents.iter().flatten().find_map(|p| match p {
        Settled::Kept(id) => herd.animal(*id).and_then(|a| desk.species_of(a)).map(|s| s.id),
        Settled::Outside(..) => None,
    });
    let species_id = match kept_species {
        Some(id) => id,
        None => desk.species_said(&new.described)?,
    };
    let species = desk.catalogue.get(species_id);
    // Gene words have a meaning of their own in each species.
    let described = if new.described.species == Some(species_id) {
        new.described.clone()
    } else {
        let said = &new.described.animal;
        let mut again = desk.reader.describe(desk.catalogue, &said.said, Some(species_id));
        again.animal.sex = said.sex;
        again
    };
    let described = desk.settled(species_id, &described)?;
    assumed.extend(described.assumed.iter().map(|a| sentences::assumed(desk.catalogue, species, a)));
    let hatched = desk.when(new.hatched.as_ref())?;
    let name = match &new.name {
        Some(typed) => Some(Name::new(typed).map_err(|e| bad(e.to_string()))?),
        None => None,
    };
    let mut notes = Vec::new();
    if let Some(name) = &name {
        let same: Vec<String> = herd.namesakes(name).map(|a| a.number.to_string()).collect();
        if !same.is_empty() {
            notes.push(say::namesake(name, &same));
        }
    }
    let (males, females, unsexed) = new.counts;
    let total = usize::from(males) + usize::from(females) + usize::from(unsexed);
    if total > MOST_LINES {
        return Err(bad(say::too_many_alike(total, MOST_LINES)));
    }
    let sexes = std::iter::repeat_n(Sex::Male, males.into())
        .chain(std::iter::repeat_n(Sex::Female, females.into()))
        .chain(std::iter::repeat_n(Sex::Unknown, unsexed.into()));
    let mut out = Vec::new();
    for (n, sex) in sexes.enumerate() {
        let (id, number) = ids.animal();
        let mut animal = Animal::new(id, number, species.key().to_owned());
        animal.name = name.clone().filter(|_| n == 0);
        animal.sex = sex;
        animal.sexed = new.sexed;
        animal.genes = genes::stated(species, &described.animal);
        animal.hatched = hatched.or_else(|| clutch.and_then(|c| herd.clutch(c)).and_then(|c| c.hatched));
        animal.origin = new.origin.as_deref().map(|o| tidy(o).chars().take(LINE_CHARS).collect());
        if let Some((cents, currency)) = new.price {
            animal.price_cents = Some(cents);
            animal.currency = currency.map(str::to_owned);
        }
        animal.status = new.status.unwrap_or_default();
        animal.tags.clone_from(&new.tags);
        animal.notes = match &new.notes {
            Some(note) if note.chars().count() > NOTE_CHARS => {
                return Err(bad(say::long_note(note.chars().count(), NOTE_CHARS)));
            }
            note => note.as_deref().map(tidy_note),
        };
        animal.clutch_id = clutch;
        // Of a clutch in which nobody's look is told no look is told of this one either.
        let in_clutch = clutch.and_then(|c| herd.clutch(c)).is_some_and(|c| c.n_young() > 0 && c.n_told() == 0);
        let says_look = described.has_genes() || described.normal;
        if new.untold && says_look {
            notes.push(say::a_look_was_told());
        }
        let look = if (new.untold || in_clutch) && !says_look { Look::Untold } else { Look::Told };
        born_of(herd, species, &mut animal, &parents, look, &mut notes).map_err(bad)?;
        // It is in no one's line yet, so the herd without it is enough.
        rules::animal(herd, species, &animal, desk.today).map_err(|f| bad(f.to_string()))?;
        let weight = match new.grams.filter(|_| n == 0) {
            None => None,
            Some(grams) => {
                let on = desk.day(new.weighed.as_ref())?.unwrap_or(desk.today);
                Some(weighed(desk, species, &animal, (grams, on), ids).map_err(bad)?)
            }
        };
        out.push(Ready { animal, weight, notes: std::mem::take(&mut notes) });
    }
    Ok(out)
}

fn weighed(
    desk: &Desk<'_>,
    species: &Species,
    animal: &Animal,
    (grams, on): (i64, Date),
    ids: &mut Ids,
) -> Result<Weight, String> {
    let grams = i32::try_from(grams).ok().filter(|g| *g > 0).ok_or_else(|| say::no_weight(grams))?;
    let weight = Weight { id: ids.event(), version: 0, animal_id: animal.id, on, grams };
    rules::weight(animal, species, &weight, desk.today).map_err(|f| f.to_string())?;
    Ok(weight)
}

/// Whether it is told what a young animal looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Look {
    /// As said; where nothing is said, normal.
    Told,
    /// Not yet.
    Untold,
}

/// Sets the parents and works out the genes from them.
pub(super) fn born_of(
    herd: &Herd,
    species: &Species,
    animal: &mut Animal,
    parents: &[Option<Settled>; 2],
    look: Look,
    notes: &mut Vec<String>,
) -> Result<(), String> {
    for (parent, is_sire) in parents.iter().zip([true, false]) {
        let (kept, outside) = match parent {
            None => continue,
            Some(Settled::Kept(id)) => (Some(*id), None),
            Some(Settled::Outside(words, _)) => (None, Some(tidy(words).chars().take(LINE_CHARS).collect())),
        };
        if is_sire {
            (animal.sire_id, animal.sire_out) = (kept, outside);
        } else {
            (animal.dam_id, animal.dam_out) = (kept, outside);
        }
    }
    // Whether they can be its parents at all comes before what they can give.
    rules::parents(herd, animal).map_err(|fault| fault.to_string())?;
    let beliefs = |parent: &Option<Settled>| -> Option<Vec<_>> {
        match parent.as_ref()? {
            Settled::Kept(id) => herd.animal(*id).map(|a| a.genes.clone()),
            Settled::Outside(_, said) if said.has_genes() || said.normal => Some(genes::stated(species, &said.animal)),
            Settled::Outside(..) => None,
        }
    };
    let (sire, dam) = (beliefs(&parents[0]), beliefs(&parents[1]));
    if sire.is_none() && dam.is_none() {
        return Ok(());
    }
    // One parent unknown: what the other gives for certain is kept, and nothing is concluded from the rest.
    let (Some(sire), Some(dam)) = (&sire, &dam) else {
        sure_from_one(species, animal, sire.as_ref().or(dam.as_ref()).map_or(&[][..], Vec::as_slice), notes);
        return Ok(());
    };
    let said = animal.genes.clone();
    let seen = (look == Look::Told).then_some(&said[..]);
    let born = inherit(species, Parents { sire, dam }, animal.sex, seen).map_err(|e| e.to_string())?;
    if look == Look::Untold {
        notes.push(say::look_not_told(animal));
    }
    // A share that the keeper gave and the parents contradict is said.
    for stated in said.iter().filter(|b| b.chance < sure()) {
        let worked = born.iter().find(|b| b.gene == stated.gene && b.copies == stated.copies);
        if worked.is_none_or(|w| w.chance != stated.chance) {
            notes.push(say::other_share(species, stated, worked));
        }
    }
    // What its young have proven stays proven.
    let is_proven =
        |b: &Belief| said.iter().any(|s| s.gene == b.gene && s.basis == Basis::Proven && b.chance == sure());
    animal.genes = born;
    for belief in &mut animal.genes {
        if is_proven(belief) {
            belief.basis = Basis::Proven;
        }
    }
    Ok(())
}

/// A parent with two copies gives one to every young animal.
fn sure_from_one(species: &Species, animal: &mut Animal, parent: &[Belief], notes: &mut Vec<String>) {
    for belief in parent.iter().filter(|b| b.copies == 2 && b.chance == sure()) {
        let recessive = species.gene_by_id(&belief.gene).is_some_and(|g| species.gene(g).is_recessive());
        if recessive && !animal.genes.iter().any(|b| b.gene == belief.gene) {
            let mut het = belief.clone();
            het.copies = 1;
            het.basis = Basis::Inferred;
            animal.genes.push(het);
        }
    }
    notes.push(say::one_parent_known());
}

/// The clutch that is meant, and both parents, sire first.
fn parents(desk: &Desk<'_>, herd: &Herd, new: &NewAnimal) -> Result<(Option<ClutchId>, [Option<Settled>; 2]), Fail> {
    if let Some(said) = &new.clutch {
        let clutch = super::clutches::find(desk, said)?;
        let clutch = herd.clutch(clutch).ok_or_else(|| Fail::Bad(say::no_clutch(said)))?;
        let side = |kept: Option<AnimalId>, out: &Option<String>| {
            kept.map(Settled::Kept).or_else(|| {
                let words = out.clone()?;
                let described = Box::new(desk.reader.describe(desk.catalogue, &words, desk.species));
                Some(Settled::Outside(words, described))
            })
        };
        return Ok((Some(clutch.id), [side(clutch.sire_id, &clutch.sire_out), side(clutch.dam_id, &clutch.dam_out)]));
    }
    let mut sire = new.sire.as_ref().map(|p| parent(desk, herd, p)).transpose()?.flatten();
    let mut dam = new.dam.as_ref().map(|p| parent(desk, herd, p)).transpose()?.flatten();
    if let Some((a, b)) = &new.parents {
        let (a, b) = (parent(desk, herd, a)?, parent(desk, herd, b)?);
        let (s, d) = sorted(herd, a, b);
        sire = sire.or(s);
        dam = dam.or(d);
    }
    Ok((None, [sire, dam]))
}

/// Sire first: by the sexes, else in the order of the text, as the trade writes it.
pub(super) fn sorted(herd: &Herd, a: Option<Settled>, b: Option<Settled>) -> (Option<Settled>, Option<Settled>) {
    let sex = |p: &Option<Settled>| match p {
        Some(Settled::Kept(id)) => herd.animal(*id).map_or(Sex::Unknown, |a| a.sex),
        Some(Settled::Outside(_, said)) => match said.animal.sex {
            SexSaid::Unknown => match said.counts {
                Some((1.., 0, 0)) => Sex::Male,
                Some((0, 1.., 0)) => Sex::Female,
                _ => Sex::Unknown,
            },
            sexed => sexed.into(),
        },
        None => Sex::Unknown,
    };
    if sex(&a) == Sex::Female || sex(&b) == Sex::Male { (b, a) } else { (a, b) }
}

/// A parent as said: kept here, or outside in words.
pub(super) fn parent(desk: &Desk<'_>, herd: &Herd, said: &ParentSaid) -> Result<Option<Settled>, Stop> {
    match said {
        ParentSaid::Words(words) if words.trim().is_empty() => Ok(None),
        ParentSaid::Words(words) => {
            let described = desk.reader.describe(desk.catalogue, words, desk.species.or(desk.fixed.species));
            let described = match described.species {
                Some(id) => desk.settled(id, &described)?,
                None => described,
            };
            Ok(Some(Settled::Outside(words.clone(), Box::new(described))))
        }
        // A name nobody has is an animal elsewhere.
        ParentSaid::Called(Called::Name(name)) if herd.find(name) == Found::Nobody => {
            Ok(Some(Settled::Outside(name.clone(), Box::default())))
        }
        ParentSaid::Called(called) => Ok(Some(Settled::Kept(desk.one(called, Care::Writes)?.id))),
    }
}

/// One line that shows an animal in full.
fn line(desk: &Desk<'_>, herd: &Herd, ready: &Ready) -> String {
    let mut line = say::in_full(desk.catalogue, herd, &ready.animal);
    if let Some(weight) = &ready.weight {
        line.push_str(", ");
        line.push_str(&say::grams(weight.grams));
    }
    line
}

/// The species of an animal, or the sentence that says that the catalogue does not know it.
pub(super) fn species_of<'a>(desk: &'a Desk<'_>, animal: &Animal) -> Result<&'a Species, Stop> {
    desk.species_of(animal).ok_or_else(|| Stop::say(say::unknown_species(&animal.species)))
}

/// The date said, else today.
pub(super) fn or_today(desk: &Desk<'_>, when: Option<When>) -> When {
    when.unwrap_or(When::Day(desk.today))
}

/// Sexed by what it did.
pub(super) const PROVEN: Sexed = Sexed::Proven;
