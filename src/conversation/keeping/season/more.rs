//! What is asked about the season's pairings, and doing them.

use super::super::happened::fault_of;
use super::super::who::Care;
use super::super::{Desk, Done, Stop};
use super::Kept;
use crate::collection::animal::Sex;
use crate::collection::change::Change;
use crate::collection::events::Meeting;
use crate::collection::rules;
use crate::conversation::sentences::keeping as say;
use crate::engine::planning::season::Pairing;
use crate::reading::dates::When;
use crate::reading::records::kinds::MeetingKind;
use crate::reading::records::message::Called;

/// From so many pairings on they are shown before they are recorded.
const SHOWN_FIRST: usize = 2;

fn last<'a>(desk: &Desk<'a>) -> Result<&'a Kept, Stop> {
    desk.season.ok_or_else(|| Stop::say(say::whom()))
}

/// What speaks against a pairing, or why an animal is not paired: from what is kept, without a new search.
pub(super) fn why_not(desk: &Desk<'_>, one: &Called, other: Option<&Called>) -> Result<Done, Stop> {
    let kept = last(desk)?;
    let one = desk.one(one, Care::Reads)?;
    let other = other.map(|who| desk.one(who, Care::Reads)).transpose()?;
    for animal in [Some(one), other].into_iter().flatten() {
        if !animal.status.is_here() {
            return Err(Stop::say(say::season::is_gone(animal)));
        }
    }
    let shown = say::season::Shown { catalogue: desk.catalogue, herd: desk.herd, today: desk.today, only: &[] };
    let found = kept.scenes.iter().enumerate().find_map(|(room, scene)| Some((room, scene, scene.place(one.id)?)));
    let Some((room, scene, first)) = found else {
        return Err(Stop::say(say::season::no_goal_for(desk.catalogue, desk.herd)));
    };
    let Some(other) = other else {
        return Ok(Done::about(say::season::why_rests(&shown, kept, room, first), vec![one.id]));
    };
    let Some(second) = scene.place(other.id) else {
        return Err(Stop::say(say::related::other_species(one, other)));
    };
    let (sire, dam) = match (one.sex, other.sex) {
        (Sex::Female, _) | (_, Sex::Male) => (second, first),
        _ => (first, second),
    };
    if one.sex == other.sex && one.sex != Sex::Unknown || one.id == other.id {
        return Err(Stop::say(say::season::same_sex(one, other)));
    }
    let reply = say::season::why_not(&shown, kept, Pairing { room, sire, dam });
    let mut reply = reply;
    let (sire, dam) = (&scene.players[sire], &scene.players[dam]);
    if let (Some(sire), Some(dam), Some(species)) =
        (desk.herd.animal(sire.id), desk.herd.animal(dam.id), desk.species_of(one))
    {
        reply.cautions = super::super::asked::cautions(desk, species, sire, dam);
    }
    Ok(Done::about(reply, vec![one.id, other.id]))
}

/// Who is not paired.
pub(super) fn who_rests(desk: &Desk<'_>) -> Result<Done, Stop> {
    let kept = last(desk)?;
    let shown = say::season::Shown { catalogue: desk.catalogue, herd: desk.herd, today: desk.today, only: &[] };
    Ok(Done::about(say::season::who_rests(&shown, kept), Vec::new()))
}

/// Records the introductions that were advised; several are shown first.
pub(super) fn do_it(desk: &Desk<'_>) -> Result<Done, Stop> {
    let kept = last(desk)?;
    let on = When::Day(desk.today);
    let mut ids = desk.herd.ids();
    let mut change = Change::new("meeting", String::new());
    let (mut pairs, mut before, mut about) = (Vec::new(), Vec::new(), Vec::new());
    for chosen in &kept.advice.chosen {
        let Some((sire_id, dam_id)) = kept.ids(chosen.pairing) else { continue };
        let (Some(sire), Some(dam)) = (desk.herd.animal(sire_id), desk.herd.animal(dam_id)) else {
            return Err(Stop::say(say::season::changed_since()));
        };
        if !sire.status.is_here() || !dam.status.is_here() {
            return Err(Stop::say(say::season::is_gone(if sire.status.is_here() { dam } else { sire })));
        }
        let scene = &kept.scenes[chosen.pairing.room];
        let with = scene.players[chosen.pairing.dam].state.with;
        if with == Some(sire_id) {
            before.push(say::season::pair(sire, dam));
            continue;
        }
        let meeting = Meeting {
            id: ids.event(),
            version: 0,
            on,
            kind: MeetingKind::Introduced,
            sire_id: Some(sire_id),
            sire_out: None,
            dam_id: Some(dam_id),
            dam_out: None,
        };
        rules::meeting(desk.herd, &meeting, desk.today).map_err(|f| fault_of(&f))?;
        change.put(&meeting);
        pairs.push(say::season::pair(sire, dam));
        about.extend([dam_id, sire_id]);
    }
    if pairs.is_empty() {
        return Err(Stop::say(say::season::nothing_to_do(&before)));
    }
    let change = change.saying(say::season::introduced_past(&pairs));
    let reply = say::season::introduced(&pairs, &before);
    if pairs.len() < SHOWN_FIRST {
        return Ok(Done::save(change, reply, about));
    }
    let word = format!("introduce-{}-pairs", pairs.len());
    let shown = Box::new(say::season::introduce_first(&pairs, &before, &word));
    Ok(Done::Confirm { word, shown, change, reply: Box::new(reply) })
}
