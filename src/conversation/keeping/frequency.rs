//! How many animals of unknown parents carry a recessive: kept, or counted for one answer.

use super::{Desk, Done, Stop, answer};
use crate::collection::change::Change;
use crate::collection::events::CarrierFrequency;
use crate::collection::herd::Herd;
use crate::conversation::sentences::keeping as say;
use crate::engine::odds::{Odds, none};
use crate::reading::records::Record;
use crate::reading::records::described::Described;
use crate::reading::records::message::{Known, Names};
use crate::species::Species;

pub(super) fn frequency(desk: &Desk<'_>, said: &Described, share: &Odds, then: Option<&str>) -> Result<Done, Stop> {
    let id = desk.species_said(said)?;
    let species = desk.catalogue.get(id);
    let again = if said.species == Some(id) {
        said.clone()
    } else {
        desk.reader.describe(desk.catalogue, &said.animal.said, Some(id))
    };
    let again = super::asked::lines_kept(desk, species, again);
    let settled = desk.settled(id, &again)?;
    let [only] = &settled.animal.genes[..] else { return Err(Stop::say(say::frequency::one_gene())) };
    let gene = species.gene(only.gene);
    if !gene.is_recessive() {
        return Err(Stop::say(say::frequency::shows(&gene.entry.name)));
    }
    let before = desk.herd.frequencies.iter().find(|f| f.species == species.key() && f.gene == gene.entry.id);
    let mut ids = desk.herd.ids();
    let new = CarrierFrequency {
        id: before.map_or_else(|| ids.event(), |f| f.id),
        version: before.map_or(0, |f| f.version),
        species: species.key().to_owned(),
        gene: gene.entry.id.clone(),
        share: share.clone(),
    };
    let counted = (*share > none()).then_some(&new);
    if let Some(then) = then {
        return for_one_answer(desk, species, &with(desk.herd, before, counted), then);
    }
    let name = &gene.entry.name;
    let mut change = Change::new("frequency", say::frequency::told_past(share, name));
    match (before, counted) {
        (None, None) => return Ok(Done::say(say::frequency::none_anyway(name))),
        (Some(old), _) if old.share == *share => return Ok(Done::say(say::frequency::as_it_was(share, name))),
        (Some(old), None) => change.drop(old),
        (_, Some(new)) => change.put(new),
    }
    Ok(Done::save(change, say::frequency::told(share, name, before.map(|f| &f.share)), Vec::new()))
}

/// The herd with another share of one gene.
fn with(herd: &Herd, before: Option<&CarrierFrequency>, now: Option<&CarrierFrequency>) -> Herd {
    let mut herd = herd.clone();
    herd.frequencies.retain(|f| Some(f) != before);
    herd.frequencies.extend(now.cloned());
    herd
}

/// The question behind it, answered as if it were so.
fn for_one_answer(desk: &Desk<'_>, species: &Species, herd: &Herd, then: &str) -> Result<Done, Stop> {
    let names =
        Names::new(herd.animals.iter().filter_map(|a| a.name.as_ref()).map(crate::collection::name::Name::as_str));
    let known = Known { species: Some(species.id), names: &names, today: desk.today };
    let record = desk.reader.record(desk.catalogue, then, known);
    let asks = matches!(
        record,
        Some(
            Record::Evidence(_) | Record::Odds { .. } | Record::AllPairings { .. } | Record::Card(_) | Record::List(..)
        )
    );
    let Some(record) = record.filter(|_| asks) else { return Err(Stop::say(say::frequency::then_what())) };
    let mut done = answer(&Desk { herd, said: then.to_owned(), ..desk.again() }, &record)?;
    if let Done::Say { reply, .. } | Done::Odds { reply, .. } = &mut done {
        reply.notes.push(say::nothing_changed());
    }
    Ok(done)
}
