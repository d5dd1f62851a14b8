//! The family of an animal: three generations up and down, with what each is and who stands there twice.

use super::added::species_of;
use super::who::Care;
use super::{Desk, Done, Stop};
use crate::collection::animal::{Animal, AnimalId, Parent, Sex};
use crate::collection::evidence::Evidence;
use crate::collection::kin;
use crate::conversation::sentences::keeping as say;
use crate::conversation::sentences::keeping::family::{Family, Member};
use crate::reading::records::message::Called;

/// Generations to either side.
const GENERATIONS: u32 = 3;
/// Relatives that are followed; a herd's whole past is a list of its own.
const MOST: usize = 60;

pub(super) fn family(desk: &Desk<'_>, who: &Called) -> Result<Done, Stop> {
    let animal = desk.one(who, Care::Reads)?;
    let species = species_of(desk, animal)?;
    let pedigree = Evidence::pedigree(species, desk.herd).map_err(|e| Stop::say(say::fault(&e.to_string())))?;
    let mut found = Family { animal, ancestors: Vec::new(), young: Vec::new(), inbred: None };
    ancestors(desk, animal, 1, &mut found.ancestors);
    young(desk, animal.id, 1, &mut found.young);
    if let (Some(sire), Some(dam)) = (animal.sire_id, animal.dam_id) {
        found.inbred = kin::kin(&pedigree, sire, dam).ok().map(|kin| kin.kinship);
    }
    Ok(Done::about(say::family::family(desk.catalogue, &found), vec![animal.id]))
}

fn ancestors<'a>(desk: &Desk<'a>, of: &'a Animal, depth: u32, found: &mut Vec<Member<'a>>) {
    if depth > GENERATIONS || found.len() >= MOST {
        return;
    }
    for (sex, parent) in [(Sex::Male, of.sire()), (Sex::Female, of.dam())] {
        match parent {
            Parent::Kept(id) => {
                let Some(animal) = desk.herd.animal(id) else { continue };
                let again = found.iter().any(|m| m.animal.is_some_and(|a| a.id == id));
                found.push(Member { depth, sex, animal: Some(animal), outside: None, again });
                // Whoever stands there twice has the same ancestors both times.
                if !again {
                    ancestors(desk, animal, depth + 1, found);
                }
            }
            Parent::Outside(words) => {
                found.push(Member { depth, sex, animal: None, outside: Some(words), again: false });
            }
            Parent::Unknown => {}
        }
    }
}

fn young<'a>(desk: &Desk<'a>, of: AnimalId, depth: u32, found: &mut Vec<Member<'a>>) {
    if depth > GENERATIONS {
        return;
    }
    for animal in desk.herd.animals.iter().filter(|a| a.sire_id == Some(of) || a.dam_id == Some(of)) {
        if found.len() >= MOST {
            return;
        }
        let again = found.iter().any(|m| m.animal.is_some_and(|a| a.id == animal.id));
        found.push(Member { depth, sex: animal.sex, animal: Some(animal), outside: None, again });
        if !again {
            young(desk, animal.id, depth + 1, found);
        }
    }
}
