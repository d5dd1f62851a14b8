//! The season's pairings, each with its reason.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::super::{count, list_of, with_code};
use super::rest::{contradictions, defaults, resting, season, sentence, states, to_mend, unused};
use crate::collection::animal::{Animal, AnimalId, Sex};
use crate::collection::herd::Herd;
use crate::conversation::keeping::ready::Rest;
use crate::conversation::keeping::season::{Kept, Scene, Wish};
use crate::conversation::labels::{fraction, part, percent, percent_f64, target};
use crate::conversation::odds::Laying;
use crate::conversation::plan::kept_in_words;
use crate::engine::inheritance::clutch::{Chances, Wanted, per_egg};
use crate::engine::inheritance::cross::{Offspring, cross};
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::LocusId;
use crate::engine::odds::{Odds, none, sure};
use crate::engine::planning::season::{Chosen, Keep, Pairing};
use crate::reply::Reply;
use crate::reply::picture::{self, Drawing};
use crate::species::{Catalogue, Species};

/// Pairings that are listed; the rest are counted.
const MOST_PAIRS: usize = 8;
/// Pairings, and females that rest, that a picture shows.
const MOST_DRAWN: usize = 24;
/// A chance of proof below this is not worth a word.
const OF_PROOF: f64 = 0.05;
/// A goal that gains so much of what the best one does is named beside it.
const BESIDE: f64 = 0.25;
/// A worth below this is nothing.
pub(super) const NOTHING: f64 = 1e-6;

/// What the sentences are made from.
pub(in crate::conversation) struct Shown<'a> {
    pub(in crate::conversation) catalogue: &'a Catalogue,
    pub(in crate::conversation) herd: &'a Herd,
    pub(in crate::conversation) today: Date,
    /// Animals that were asked for by name.
    pub(in crate::conversation) only: &'a [AnimalId],
}

/// "Rusty × Nova".
pub(in crate::conversation) fn pair(sire: &Animal, dam: &Animal) -> String {
    format!("{} \u{d7} {}", sire.called(), dam.called())
}

/// "Rusty × Nova: ..." before a caution.
pub(in crate::conversation) fn caution(pairs: &[String], text: &str) -> String {
    format!("{}: {text}", list_of(pairs))
}

/// The season's pairings.
pub(in crate::conversation) fn pairings(shown: &Shown<'_>, kept: &Kept) -> Reply {
    let mut reply = Reply { understood: head(shown, kept), ..Reply::default() };
    reply.answer = lines(shown, kept);
    if kept.advice.chosen.is_empty() {
        for room in 0..kept.scenes.len() {
            // Who asks whether one can be paired hears of that one.
            let of_these = asked_for(shown, kept, room);
            if of_these.is_empty() {
                reply.answer.push(nothing(shown, kept, room));
            }
            reply.answer.extend(of_these);
        }
    }
    if let Some(most) = kept.most.filter(|_| kept.by_room) {
        reply.notes.push(format!(
            "Your room leaves place for {}: one for the young that is kept of each.",
            count(most, "clutch", "clutches")
        ));
    }
    for (room, scene) in kept.scenes.iter().enumerate() {
        let species = shown.catalogue.get(scene.species);
        reply.notes.extend(contradictions(species, scene));
        reply.notes.extend(states(shown, kept, room));
        if shown.only.is_empty() {
            reply.notes.extend(to_mend(shown, scene));
        } else if !kept.advice.chosen.is_empty() {
            reply.notes.extend(asked_for(shown, kept, room));
        }
        reply.assumed.extend(season(species, kept, shown.today));
    }
    reply.assumed.extend(kept.scenes.first().map(|scene| defaults(shown.catalogue.get(scene.species), scene)));
    reply.notes.extend(unweighed(shown, kept));
    if !kept.advice.complete {
        reply.notes.push("The search was cut short: these are the best found so far.".to_owned());
    }
    if !kept.advice.chosen.is_empty() {
        reply.notes.push(
            "Say \"do it\" to record them, \"who rests\", \"why not A x B\", \"only two clutches\" or \"skip A\"."
                .to_owned(),
        );
    }
    if shown.only.is_empty() {
        for (room, scene) in kept.scenes.iter().enumerate() {
            reply.notes.extend(unused(shown, kept, room));
            reply.notes.extend(resting(shown, scene));
        }
    }
    if !kept.advice.chosen.is_empty() {
        reply.drawing = Some(Box::new(drawn(shown, kept, &reply.understood)));
    }
    reply
}

/// The season as a picture: who goes to whom, and which females rest.
fn drawn(shown: &Shown<'_>, kept: &Kept, title: &str) -> Drawing {
    let pairings = kept.advice.chosen.iter().filter_map(|chosen| {
        let (sire, dam) = kept.ids(chosen.pairing)?;
        Some(picture::Pairing {
            male: shown.herd.animal(sire)?.called(),
            female: shown.herd.animal(dam)?.called(),
            why: why(shown, kept, chosen)?,
        })
    });
    let players = kept.scenes.iter().flat_map(|scene| &scene.players);
    let resting = players.filter_map(|player| {
        let animal = shown.herd.animal(player.id).filter(|a| a.sex == Sex::Female)?;
        let said = sentence(animal, player.state.why?);
        let why = said.strip_prefix(&with_code(animal)).unwrap_or(&said).trim_start();
        Some(picture::Resting { name: animal.called(), why: why.to_owned() })
    });
    let (mut pairings, mut resting) = (pairings.collect::<Vec<_>>(), resting.collect::<Vec<_>>());
    let mut more = Vec::new();
    if let Some(n) = pairings.len().checked_sub(MOST_DRAWN).filter(|n| *n > 0) {
        more.push(format!("And {} that add less.", count(n, "more pairing", "more pairings")));
    }
    if let Some(n) = resting.len().checked_sub(MOST_DRAWN).filter(|n| *n > 0) {
        more.push(format!("And {} that rest.", count(n, "more female", "more females")));
    }
    pairings.truncate(MOST_DRAWN);
    resting.truncate(MOST_DRAWN);
    Drawing::Season(picture::Season { title: title.to_owned(), pairings, resting, more })
}

/// The pairings, best first; those of one male for one reason in one line.
fn lines(shown: &Shown<'_>, kept: &Kept) -> Vec<String> {
    let mut lines: Vec<(AnimalId, String, String)> = Vec::new();
    for chosen in &kept.advice.chosen {
        let (Some((sire, dam)), Some(why)) = (kept.ids(chosen.pairing), why(shown, kept, chosen)) else { continue };
        let (Some(sire), Some(dam)) = (shown.herd.animal(sire), shown.herd.animal(dam)) else { continue };
        match lines.iter_mut().find(|line| line.0 == sire.id && line.2 == why) {
            Some(line) => line.1 = format!("{}, \u{d7} {}", line.1, dam.called()),
            None => lines.push((sire.id, pair(sire, dam), why)),
        }
    }
    let more = lines.len().saturating_sub(MOST_PAIRS);
    let numbered = lines.into_iter().take(MOST_PAIRS).enumerate();
    let mut out: Vec<String> = numbered.map(|(n, (_, pairs, why))| format!("{}. {pairs}: {why}.", n + 1)).collect();
    if more > 0 {
        out.push(format!("And {} that add less.", count(more, "more pairing", "more pairings")));
    }
    out
}

/// "Your season: 2 goals, 5 females and 3 males can be paired".
fn head(shown: &Shown<'_>, kept: &Kept) -> String {
    let goals: Vec<String> = kept
        .scenes
        .iter()
        .flat_map(|scene| scene.wishes.iter().map(|wish| target(shown.catalogue.get(scene.species), &wish.target)))
        .collect();
    let goals = match &goals[..] {
        [only] => format!("towards {only}"),
        several => count(several.len(), "goal", "goals"),
    };
    let ready = |sex: Sex| {
        let is = |id: AnimalId| shown.herd.animal(id).is_some_and(|a| a.sex == sex);
        let all = kept.scenes.iter().flat_map(|scene| &scene.players);
        all.filter(|p| p.state.why.is_none() && is(p.id)).count()
    };
    let mut parts = vec![
        goals,
        format!(
            "{} and {} can be paired",
            count(ready(Sex::Female), "female", "females"),
            count(ready(Sex::Male), "male", "males")
        ),
    ];
    if let Some(most) = kept.most {
        parts.push(format!("at most {}", count(most, "clutch", "clutches")));
    }
    if kept.said.certain == Some(true) {
        parts.push("not counting on possible hets".to_owned());
    }
    format!("Your season: {}", parts.join("; "))
}

/// "Rusty × Nova: Clown, Piebald 1/8 per egg (12.5 %), 50 % a clutch."
pub(super) fn line(shown: &Shown<'_>, kept: &Kept, chosen: &Chosen) -> Option<String> {
    let (sire, dam) = kept.ids(chosen.pairing)?;
    let pair = pair(shown.herd.animal(sire)?, shown.herd.animal(dam)?);
    Some(format!("{pair}: {}.", why(shown, kept, chosen)?))
}

/// What a pairing is chosen for, and what else is to be known of it.
fn why(shown: &Shown<'_>, kept: &Kept, chosen: &Chosen) -> Option<String> {
    let scene = kept.scenes.get(chosen.pairing.room)?;
    let species = shown.catalogue.get(scene.species);
    let (sire, dam) = kept.ids(chosen.pairing)?;
    let (sire, dam) = (shown.herd.animal(sire)?, shown.herd.animal(dam)?);
    let most = chosen.by_aim.iter().copied().fold(0.0, f64::max);
    let mut order: Vec<usize> = (0..chosen.by_aim.len()).filter(|a| chosen.by_aim[*a] > most * BESIDE).collect();
    order.sort_by(|a, b| chosen.by_aim[*b].total_cmp(&chosen.by_aim[*a]).then(a.cmp(b)));
    let mut parts: Vec<String> = order.iter().take(2).filter_map(|aim| reason(shown, scene, chosen, *aim)).collect();
    for (chance, who) in chosen.proves.iter().zip([sire, dam]) {
        let open = open(species, scene, who);
        if *chance >= OF_PROOF && !open.is_empty() {
            parts.push(format!(
                "may prove {} {} ({})",
                who.called(),
                list_of(&open),
                percent_f64((chance * 100.0).round() / 100.0)
            ));
        }
    }
    if parts.is_empty() {
        parts.push("brings a goal a little nearer".to_owned());
    }
    let kinship = scene.kinship(chosen.pairing.sire, chosen.pairing.dam);
    if kinship > none() {
        parts.push(format!("young inbred by {}", percent(&kinship)));
    }
    if scene.players[chosen.pairing.dam].state.with == Some(sire.id) {
        parts.push("they are together already".to_owned());
    }
    let nearly: Vec<String> = chosen
        .nearly
        .iter()
        .take(2)
        .filter_map(|(other, _)| Some(shown.herd.animal(scene.players.get(*other)?.id)?.called()))
        .collect();
    if !nearly.is_empty() {
        parts.push(format!("about as good: {}", list_of(&nearly)));
    }
    Some(parts.join("; "))
}

/// "het Piebald": what an animal only possibly carries of what is wanted.
fn open(species: &Species, scene: &Scene, animal: &Animal) -> Vec<String> {
    let wanted = |gene| scene.wishes.iter().any(|wish| wish.target.genes.iter().any(|(g, _)| *g == gene));
    let mut names: Vec<String> = animal
        .genes
        .iter()
        .filter(|b| b.chance < sure())
        .filter_map(|b| Some((species.gene_by_id(&b.gene).filter(|g| wanted(*g))?, b.copies)))
        .map(|(gene, copies)| part(species, gene, copies).1)
        .collect();
    names.dedup();
    names
}

/// What a pairing does for a goal: the goal itself, else the young to keep.
fn reason(shown: &Shown<'_>, scene: &Scene, chosen: &Chosen, aim: usize) -> Option<String> {
    let species = shown.catalogue.get(scene.species);
    let young = young(scene, chosen.pairing)?;
    let wish = scene.wishes.get(aim)?;
    let goal = target(species, &wish.target);
    if let Some(odds) = odds(species, &young, &wish.aim.goal) {
        return Some(format!("{goal} {odds}"));
    }
    let Some(keep) = chosen.keep.as_ref().filter(|keep| keep.aim == aim) else {
        return rest_of_goal(species, wish, &young, &goal);
    };
    let who = kept_in_words(species, &scene.world.genetics, keep.sex, &keep.genotypes);
    let odds = odds(species, &young, &of_keep(keep, true)).or_else(|| odds(species, &young, &of_keep(keep, false)))?;
    let towards = if scene.wishes.len() > 1 { format!(" for {goal}") } else { String::new() };
    Some(format!("keep a {who}{towards}: {odds}"))
}

/// Where a gene of a goal is missing: what comes of the others.
fn rest_of_goal(species: &Species, wish: &Wish, young: &Offspring, goal: &str) -> Option<String> {
    let possible = |(id, genotypes): &(LocusId, &BTreeSet<Genotype>)| {
        young.factor(*id).is_some_and(|f| f.cells().iter().any(|cell| genotypes.contains(&cell.genotype)))
    };
    let here = wish.aim.goal.loci().filter(possible);
    let rest = here.fold(Wanted::any(), |wanted, (id, genotypes)| wanted.with(id, genotypes.iter().copied()));
    (rest != Wanted::any()).then(|| odds(species, young, &rest)).flatten().map(|odds| format!("part of {goal}: {odds}"))
}

fn of_keep(keep: &Keep, sexed: bool) -> Wanted {
    let any = if sexed { Wanted::any().of_sex(keep.sex) } else { Wanted::any() };
    keep.genotypes.iter().fold(any, |wanted, (id, genotype)| wanted.with(*id, [*genotype]))
}

pub(super) fn young(scene: &Scene, pairing: Pairing) -> Option<Offspring> {
    let genome = |i: usize| scene.candidates.get(i).map(|candidate| &candidate.animal.genome);
    cross(&scene.world.genetics, genome(pairing.sire)?, genome(pairing.dam)?).ok()
}

/// "1/8 per egg (12.5 %), 50 % a clutch"; nothing where it cannot come.
pub(super) fn odds(species: &Species, young: &Offspring, wanted: &Wanted) -> Option<String> {
    let share: Odds = per_egg(young, wanted).ok().filter(|share| *share > none())?;
    let laying = Laying::usual(species, 1)?;
    let hit = Chances::of(young, wanted).ok()?.in_clutch(&laying.size()).ok()?.at_least_one.to_f64();
    let live = species.file().meta.young == crate::species::entries::Young::Live;
    let (egg, clutch) = if live { ("baby", "litter") } else { ("egg", "clutch") };
    Some(format!(
        "{} per {egg} ({}), {} a {clutch}",
        fraction(&share),
        percent(&share),
        percent_f64((hit * 100.0).round() / 100.0)
    ))
}

/// Where nobody can be paired: what is missing.
fn nothing(shown: &Shown<'_>, kept: &Kept, room: usize) -> String {
    let scene = &kept.scenes[room];
    let species = shown.catalogue.get(scene.species);
    let name = species.name().to_lowercase();
    let of = |sex: Sex| {
        let is = move |id: AnimalId| shown.herd.animal(id).is_some_and(|a| a.sex == sex);
        scene.players.iter().enumerate().filter(move |(_, p)| is(p.id))
    };
    let ready = |sex: Sex| of(sex).filter(|(_, p)| p.state.why.is_none()).map(|(i, _)| i).collect::<Vec<_>>();
    let unsexed = scene.players.iter().filter(|p| p.state.why == Some(Rest::Unsexed)).count();
    for (sex, one, other) in [(Sex::Male, "male", "females"), (Sex::Female, "female", "males")] {
        if of(sex).next().is_none() {
            let sexing = if unsexed > 0 {
                format!(" {} not sexed: one of them may be the {one} that is missing.", count(unsexed, "is", "are"))
            } else {
                String::new()
            };
            return format!(
                "Nobody can be paired: there is no {one} {name} here, so your {other} wait.{sexing} \"what should I buy\" says which {one} would help most."
            );
        }
        if ready(sex).is_empty() {
            let light = of(sex).filter(|(_, p)| matches!(p.state.why, Some(Rest::Light(..)))).count();
            let all = of(sex).count();
            return if light == all {
                format!(
                    "Nobody can be paired: every {one} {name} is too light ({light} of {all}). What each lacks stands below."
                )
            } else {
                format!("Nobody can be paired: none of your {all} {one} {name}s is ready. Why stands below.")
            };
        }
    }
    let pairs = || ready(Sex::Male).into_iter().flat_map(|m| ready(Sex::Female).into_iter().map(move |f| (m, f)));
    let close = pairs().filter(|(m, f)| scene.kinship(*m, *f) > scene.closest).count();
    let all = pairs().count();
    if close == all {
        return format!(
            "Nobody can be paired: all {all} pairs are closer relatives than half-siblings. An unrelated animal of either sex is what is missing; \"allow relatives\" shows what there would be."
        );
    }
    if kept.most == Some(0) {
        return "There is no room for a clutch: let somebody go (\"who is no longer needed\"), or raise the limit."
            .to_owned();
    }
    let beside = if close > 0 {
        format!(
            " {} left out as close relatives; \"allow relatives\" counts them.",
            count(close, "pair is", "pairs are")
        )
    } else {
        String::new()
    };
    format!(
        "No pairing of your {name}s brings a goal nearer this season.{beside} \"what should I buy\" says what would."
    )
}

/// What is said of animals that were asked for by name and are not paired.
fn asked_for(shown: &Shown<'_>, kept: &Kept, room: usize) -> Vec<String> {
    let scene = &kept.scenes[room];
    let places = shown.only.iter().filter_map(|id| scene.place(*id));
    places.filter_map(|i| rests(shown, kept, room, i)).collect()
}

/// Why an animal is in no pairing; nothing where it is in one.
pub(super) fn rests(shown: &Shown<'_>, kept: &Kept, room: usize, i: usize) -> Option<String> {
    let scene = &kept.scenes[room];
    let player = scene.players.get(i)?;
    let animal = shown.herd.animal(player.id)?;
    if !kept.chosen_for(player.id).is_empty() {
        return None;
    }
    if let Some(why) = player.state.why {
        return Some(sentence(animal, why));
    }
    let best = kept.advice.best_of(room, i).filter(|(_, worth)| *worth > NOTHING);
    Some(match best {
        Some((pairing, _)) => {
            let (sire, dam) = kept.ids(pairing)?;
            let pair = pair(shown.herd.animal(sire)?, shown.herd.animal(dam)?);
            let why = if kept.most.is_some() { "other pairings do more within the limit" } else { "others do more" };
            format!("{}: {why}; the best with {} would be {pair}.", with_code(animal), animal.called())
        }
        None => format!("{}: nothing that it could be paired with brings a goal nearer.", with_code(animal)),
    })
}

/// Who is paired without a weight on record.
fn unweighed(shown: &Shown<'_>, kept: &Kept) -> Option<String> {
    let mut names = Vec::new();
    for chosen in &kept.advice.chosen {
        let scene = &kept.scenes[chosen.pairing.room];
        let dam = &scene.players[chosen.pairing.dam];
        if dam.state.unweighed {
            names.extend(shown.herd.animal(dam.id).map(Animal::called));
        }
    }
    names.dedup();
    (!names.is_empty()).then(|| format!("No weight on record: {}. Weigh before pairing.", list_of(&names)))
}
