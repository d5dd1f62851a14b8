//! The keeper's own numbers: told, learned from records, taken back; and all that dates are counted by.

use super::super::clutches;
use super::super::{Desk, Done, Stop};
use super::{kept, numbers_of, species_meant};
use crate::collection::calendar::learned::{ENOUGH, Learned, TOLD, learned};
use crate::collection::calendar::numbers::{Interval, Numbers};
use crate::collection::change::{Change, Ids};
use crate::collection::events::{Clutch, OwnNumber};
use crate::collection::herd::Herd;
use crate::conversation::sentences::keeping as say;
use crate::conversation::sentences::keeping::calendar as dates;
use crate::reading::records::calendar::ItemSaid;
use crate::reading::records::clutch::ClutchSaid;
use crate::reading::records::message::Called;
use crate::species::care::Range;
use crate::species::{Species, SpeciesId};

/// The item of the care numbers under which a temperature is kept.
const WARMTH: &str = "incubation_celsius";

fn interval(item: ItemSaid) -> Option<Interval> {
    Some(match item {
        ItemSaid::Incubation => Interval::Incubation,
        ItemSaid::ShedToLaying => Interval::ShedToLaying,
        ItemSaid::OvulationToShed => Interval::OvulationToShed,
        ItemSaid::OvulationToLaying => Interval::OvulationToLaying,
        ItemSaid::MatingToLaying => Interval::MatingToLaying,
        ItemSaid::Warmth => return None,
    })
}

type Tenths = (Option<i64>, i64, Option<i64>);

pub(super) fn own(
    desk: &Desk<'_>,
    item: ItemSaid,
    species: Option<SpeciesId>,
    whose: Option<&Called>,
    tenths: Tenths,
) -> Result<Done, Stop> {
    let clutch = match whose {
        Some(who) => {
            let said = ClutchSaid { code: None, parents: vec![who.clone()] };
            let id = clutches::which_clutch(desk, &said)?;
            desk.herd.clutch(id)
        }
        None => None,
    };
    let of_clutch = clutch.and_then(|c| c.dam_id.or(c.sire_id)).and_then(|id| desk.herd.animal(id));
    let species = match of_clutch.and_then(|a| desk.species_of(a)) {
        Some(species) => species,
        None => desk.catalogue.get(species_meant(desk, species)?),
    };
    let numbers = numbers_of(desk, species);
    let interval = interval(item);
    is_sane(species, interval, tenths)?;
    let default = interval.and_then(|i| numbers.default(i, clutch));
    if let Some(interval) = interval.filter(|_| default.is_none()) {
        return Err(Stop::say(dates::no_such_item(species, interval)));
    }
    let of = of_clutch.map_or_else(String::new, |a| format!("the {} clutch", a.called()));
    let mut change = Change::new("own number", dates::own_past(species, &of, interval));
    if let (None, Some(clutch)) = (interval, clutch) {
        // The temperature of a clutch stands in its own record.
        let warmth = i16::try_from(tenths.1).ok();
        change.put(&Clutch { warmth, ..clutch.clone() });
    } else {
        let item = interval.map_or(WARMTH, Interval::item);
        change.put(&number(desk.herd, &mut desk.herd.ids(), species, clutch, item, tenths, None));
    }
    let reply = dates::own_saved(&numbers, &of, interval, tenths, default);
    Ok(Done::save(change, reply, of_clutch.map(|a| a.id).into_iter().collect()))
}

/// A record of a number, in place of the one before.
fn number(
    herd: &Herd,
    ids: &mut Ids,
    species: &Species,
    clutch: Option<&Clutch>,
    item: &str,
    (low, usual, high): Tenths,
    records: Option<usize>,
) -> OwnNumber {
    let clutch_id = clutch.map(|c| c.id);
    let before =
        herd.own_numbers.iter().find(|n| n.species == species.key() && n.item == item && n.clutch_id == clutch_id);
    let small = |n: i64| i16::try_from(n).unwrap_or(i16::MAX);
    OwnNumber {
        id: before.map_or_else(|| ids.event(), |n| n.id),
        version: before.map_or(0, |n| n.version),
        species: species.key().to_owned(),
        clutch_id,
        item: item.to_owned(),
        usual: small(usual),
        low: low.map(small),
        high: high.map(small),
        records: records.and_then(|n| i16::try_from(n).ok()),
    }
}

/// From half the least to twice the most of the default: what lies beyond is a slip of the pen.
fn is_sane(species: &Species, interval: Option<Interval>, tenths: Tenths) -> Result<(), Stop> {
    let care = species.care();
    let item = interval.map_or(WARMTH, Interval::item);
    let usual: Option<Range> = care
        .items()
        .into_iter()
        .find(|(key, _, _)| *key == item || item == "shed_to_laying_days" && *key == "shed_to_birth_days")
        .and_then(|(_, _, range)| range.cloned());
    let Some(usual) = usual else { return Ok(()) };
    let (low, high) =
        if interval.is_some() { (usual.low * 0.5, usual.high * 2.0) } else { (usual.low - 4.0, usual.high + 4.0) };
    let (one, middle, other) = tenths;
    for value in [one.unwrap_or(middle), middle, other.unwrap_or(middle)] {
        #[expect(clippy::cast_precision_loss)] // days of a season
        let said = value as f64 / 10.0;
        if !(low.floor()..=high.ceil()).contains(&said) {
            let range = (usual.low, usual.high);
            return Err(Stop::say(dates::own_is_strange(species, interval, value, range)));
        }
    }
    Ok(())
}

/// The intervals of a species that own records can tell, and whose number is another one yet.
fn told<'a>(desk: &Desk<'a>, species: &'a Species) -> Vec<(Interval, Learned, bool)> {
    let numbers = numbers_of(desk, species);
    TOLD.into_iter()
        .filter(|interval| numbers.default(*interval, None).is_some())
        .filter_map(|interval| {
            let found = learned(species, desk.herd, interval)?;
            let own = numbers.own(interval.item(), None);
            let same = own.is_some_and(|own| i64::from(own.usual) == found.median && own.records.is_some());
            Some((interval, found, same))
        })
        .collect()
}

fn asked(desk: &Desk<'_>, named: Option<SpeciesId>) -> Vec<SpeciesId> {
    named.map_or_else(|| kept(desk), |id| vec![id])
}

pub(super) fn use_mine(desk: &Desk<'_>, named: Option<SpeciesId>) -> Result<Done, Stop> {
    let mut ids = desk.herd.ids();
    let mut lines = Vec::new();
    let mut found = Vec::new();
    let mut known = false;
    for id in asked(desk, named) {
        let species = desk.catalogue.get(id);
        for (interval, mine, same) in told(desk, species) {
            known = true;
            if same {
                continue;
            }
            let tenths = (Some(mine.low), mine.median, Some(mine.high));
            let row = number(desk.herd, &mut ids, species, None, interval.item(), tenths, Some(mine.records));
            lines.push(dates::mine_line(species, interval, &mine));
            found.push(row);
        }
    }
    if found.is_empty() {
        return Err(Stop::say(if known { dates::already_mine() } else { dates::nothing_learned(ENOUGH) }));
    }
    let mut change = Change::new("own number", dates::mine_past(found.len()));
    for row in &found {
        change.put(row);
    }
    Ok(Done::save(change, dates::mine_saved(lines), Vec::new()))
}

pub(super) fn use_default(desk: &Desk<'_>, named: Option<SpeciesId>) -> Done {
    let key = named.map(|id| desk.catalogue.get(id).key());
    let gone: Vec<&OwnNumber> =
        desk.herd.own_numbers.iter().filter(|n| key.is_none_or(|key| n.species == key)).collect();
    if gone.is_empty() {
        return Done::say(dates::no_own_numbers());
    }
    let mut change = Change::new("own number", dates::default_past(gone.len()));
    for row in &gone {
        change.drop(*row);
    }
    Done::save(change, dates::default_saved(gone.len()), Vec::new())
}

pub(super) fn numbers(desk: &Desk<'_>, named: Option<SpeciesId>) -> Result<Done, Stop> {
    let ids = match asked(desk, named) {
        ids if ids.is_empty() => vec![species_meant(desk, None)?],
        ids => ids,
    };
    let mut lines = Vec::new();
    for id in &ids {
        let species = desk.catalogue.get(*id);
        let numbers = numbers_of(desk, species);
        if ids.len() > 1 {
            lines.push(format!("{}:", species.name()));
        }
        lines.extend(of_species(desk, &numbers));
    }
    Ok(Done::say(dates::numbers(lines)))
}

fn of_species(desk: &Desk<'_>, numbers: &Numbers<'_>) -> Vec<String> {
    let shown = TOLD.into_iter().chain([Interval::FirstShed]);
    let line = |interval: Interval| {
        let days = numbers.days(interval, None)?;
        let mine = learned(numbers.species, desk.herd, interval);
        Some(dates::number_line(interval, &days, numbers.is_live_bearing(), mine.as_ref()))
    };
    let mut lines: Vec<String> = shown.filter_map(line).collect();
    lines.extend(numbers.warmth(None).map(|t| format!("your eggs are at {} °C", dates::celsius(i64::from(t)))));
    if lines.is_empty() {
        lines.push(say::season::too_little_known(numbers.species).text());
    }
    lines
}
