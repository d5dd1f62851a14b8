//! What speaks against pairings, and who rests: from what is kept of the season, without a new search.

use super::super::{list_of, with_code};
use super::pairs::{NOTHING, Shown, line, odds, pair, rests, young};
use super::rest::{resting, sentence, to_mend, unused};
use crate::collection::animal::Animal;
use crate::conversation::keeping::season::Kept;
use crate::conversation::labels::{percent, percent_f64, target};
use crate::engine::planning::season::Pairing;
use crate::reply::Reply;

/// Who rests, and who is not needed.
pub(in crate::conversation) fn who_rests(shown: &Shown<'_>, kept: &Kept) -> Reply {
    let mut reply = Reply { understood: "Who is not paired this season".to_owned(), ..Reply::default() };
    for (room, scene) in kept.scenes.iter().enumerate() {
        reply.answer.extend(to_mend(shown, scene));
        reply.answer.extend(unused(shown, kept, room));
        reply.answer.extend(resting(shown, scene));
    }
    if reply.answer.is_empty() {
        reply.answer.push("Everybody is paired.".to_owned());
    }
    reply
}

/// Why an animal is not paired, or with whom it is.
pub(in crate::conversation) fn why_rests(shown: &Shown<'_>, kept: &Kept, room: usize, i: usize) -> Reply {
    if let Some(why) = rests(shown, kept, room, i) {
        return Reply::sentence(why);
    }
    let id = kept.scenes[room].players[i].id;
    let lines = kept.advice.chosen.iter().filter(|chosen| kept.chosen_for(id).contains(&chosen.pairing));
    let mut reply =
        Reply::sentence(format!("{} is planned:", shown.herd.animal(id).map(with_code).unwrap_or_default()));
    reply.answer.extend(lines.filter_map(|chosen| line(shown, kept, chosen)));
    reply
}

/// What speaks against a pairing.
pub(in crate::conversation) fn why_not(shown: &Shown<'_>, kept: &Kept, asked: Pairing) -> Reply {
    let scene = &kept.scenes[asked.room];
    let species = shown.catalogue.get(scene.species);
    let of = |i: usize| scene.players.get(i).and_then(|p| shown.herd.animal(p.id));
    let (Some(sire), Some(dam)) = (of(asked.sire), of(asked.dam)) else { return super::changed_since() };
    let mut reply = Reply { understood: pair(sire, dam), ..Reply::default() };
    if let Some(chosen) = kept.advice.chosen.iter().find(|chosen| chosen.pairing == asked) {
        reply.answer.push("It is one of those advised:".to_owned());
        reply.answer.extend(line(shown, kept, chosen));
        return reply;
    }
    for (i, animal) in [(asked.sire, sire), (asked.dam, dam)] {
        reply.answer.extend(scene.players[i].state.why.map(|why| sentence(animal, why)));
    }
    let kinship = scene.kinship(asked.sire, asked.dam);
    if kinship > scene.closest {
        reply.answer.push(format!(
            "They are related: their young would be inbred by {}, more than {}.",
            percent(&kinship),
            percent(&scene.closest)
        ));
    }
    let harm = scene.harm(asked.sire, asked.dam);
    if !harm.is_empty() {
        let names: Vec<String> = harm.iter().map(|gene| species.gene(*gene).entry.name.clone()).collect();
        reply.answer.push(format!("Left out for the harm that {} can do to the young.", list_of(&names)));
    }
    if scene.is_taken(asked.sire, asked.dam)
        && let Some(with) = scene.players[asked.dam].state.with.and_then(|id| shown.herd.animal(id))
    {
        reply.answer.push(format!(
            "{} is with {} this season; after two males the father of the clutch would be in doubt.",
            dam.called(),
            with.called()
        ));
    }
    if let Some(young) = young(scene, asked) {
        let goals = scene.wishes.iter().filter_map(|wish| {
            let odds = odds(species, &young, &wish.aim.goal)?;
            Some(format!("It would give {} {odds}.", target(species, &wish.target)))
        });
        let goals: Vec<String> = goals.collect();
        if goals.is_empty() {
            let goals: Vec<String> = scene.wishes.iter().map(|wish| target(species, &wish.target)).collect();
            reply.answer.push(format!("It cannot give {} itself.", goals.join(" or ")));
        }
        reply.answer.extend(goals);
    }
    if let Some(worth) = kept.advice.worth_of(asked) {
        reply.answer.push(compared(shown, kept, asked, worth));
    }
    reply
}

/// What a pairing would add, against what is advised for the female.
fn compared(shown: &Shown<'_>, kept: &Kept, asked: Pairing, worth: f64) -> String {
    let scene = &kept.scenes[asked.room];
    let of =
        |i: usize| scene.players.get(i).and_then(|p| shown.herd.animal(p.id)).map(Animal::called).unwrap_or_default();
    let instead = kept.advice.chosen.iter().find(|c| c.pairing.room == asked.room && c.pairing.dam == asked.dam);
    match instead {
        Some(chosen) if worth > NOTHING => format!(
            "{} with {} does more for your goals: {} would add {} of what {} adds.",
            of(asked.dam),
            of(chosen.pairing.sire),
            of(asked.sire),
            percent_f64((worth / chosen.worth * 100.0).round() / 100.0),
            of(chosen.pairing.sire),
        ),
        Some(chosen) => {
            format!("{} with {} does more for your goals; this adds nothing.", of(asked.dam), of(chosen.pairing.sire))
        }
        None if worth > NOTHING && kept.most.is_some() => {
            "It would help, but the pairings advised do more within the limit.".to_owned()
        }
        None if worth > NOTHING => format!("It would help if {} had room for one more female.", of(asked.sire)),
        None => "Beside the pairings advised it brings no goal nearer.".to_owned(),
    }
}
