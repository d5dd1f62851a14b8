//! The coming season: which pairings do most for the goals, what speaks against others, whom to hold back, what to buy.
//!
//! In: what is asked, the herd as it is believed to be, the last answer about the season. Out: a reply, and with the
//! pairings everything they were chosen from ([`Kept`]): what is asked about them later needs no new search.
//! Start at [`answer`]. The sentences are in `sentences::keeping::season`.

mod buy; // possible hets, what to buy
mod keep; // whom to hold back
mod more; // why not, do it
mod scene; // the animals as the search takes them
mod suggest; // goals for a keeper who has none

use jiff::civil::Date;

use super::evidence::as_believed;
use super::goals::in_order;
use super::planned::{self, NEW_SEASON};
use super::who::Care;
use super::{Desk, Done, Stop};
use crate::collection::animal::{AnimalId, Sex};
use crate::collection::herd::Herd;
use crate::conversation::sentences::keeping as say;
use crate::engine::inheritance::locus::Sex as EngineSex;
use crate::engine::planning::season::{Advice, Limits, Pairing, Room, advise};
use crate::reading::places::Half;
use crate::reading::records::Record;
use crate::reading::records::goals::PlanMore;
use crate::reading::records::message::Called;
use crate::reading::records::season::{For, SeasonAsked, SeasonSaid};
use crate::species::Species;
pub(in crate::conversation) use scene::{Scene, Wish};
use scene::{Wanting, hoped_for};

/// Steps of the search; beyond, the best so far is given.
const MOST_STEPS: u32 = 400_000;

/// The season's pairings, with everything they were chosen from.
pub(in crate::conversation) struct Kept {
    /// Within what they were looked for.
    pub(in crate::conversation) said: SeasonSaid,
    /// The animals of each species that there are goals for.
    pub(in crate::conversation) scenes: Vec<Scene>,
    /// The most clutches, if there is a most.
    pub(in crate::conversation) most: Option<usize>,
    /// Those clutches are what there is room for.
    pub(in crate::conversation) by_room: bool,
    /// What was found.
    pub(in crate::conversation) advice: Advice,
}

impl std::fmt::Debug for Kept {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Kept").field("said", &self.said).field("advice", &self.advice).finish_non_exhaustive()
    }
}

impl Kept {
    /// The two of a pairing.
    pub(in crate::conversation) fn ids(&self, pairing: Pairing) -> Option<(AnimalId, AnimalId)> {
        let players = &self.scenes.get(pairing.room)?.players;
        Some((players.get(pairing.sire)?.id, players.get(pairing.dam)?.id))
    }

    /// The pairing that was chosen for an animal; several for a male.
    pub(in crate::conversation) fn chosen_for(&self, id: AnimalId) -> Vec<Pairing> {
        let with = |pairing: &Pairing| self.ids(*pairing).is_some_and(|(sire, dam)| sire == id || dam == id);
        self.advice.chosen.iter().map(|chosen| chosen.pairing).filter(with).collect()
    }
}

/// Answers a question about the season.
pub(super) fn answer(desk: &Desk<'_>, asked: &SeasonAsked) -> Result<Done, Stop> {
    match asked {
        SeasonAsked::Next(said) => pairings(desk, said.clone()),
        SeasonAsked::Limit(said) => {
            let before = desk.season.map_or_else(SeasonSaid::default, |kept| kept.said.clone());
            pairings(desk, merged(before, said.clone()))
        }
        SeasonAsked::WhyNot(one, other) => more::why_not(desk, one, other.as_ref()),
        SeasonAsked::WhoRests => more::who_rests(desk),
        SeasonAsked::Do => more::do_it(desk),
        SeasonAsked::Keep => keep::keep(desk),
        SeasonAsked::Worth(costs) => buy::worth(desk, costs),
        // After a plan, prices are for what that plan could buy.
        SeasonAsked::Buy(said) => match desk.plan {
            Some(Record::Plan { towards, limits }) if desk.after_plan && !said.offers.is_empty() => {
                planned::plan(desk, towards, limits, Some(&PlanMore::Offers(said.clone())))
            }
            _ => buy::buy(desk, said),
        },
    }
}

/// What was said before, with what is said now.
fn merged(before: SeasonSaid, now: SeasonSaid) -> SeasonSaid {
    let mut skip = before.skip;
    skip.extend(now.skip.into_iter().filter(|who| !matches!(who, Called::Last)));
    SeasonSaid {
        clutches: now.clutches.or(before.clutches),
        skip,
        only: if now.only.is_empty() { before.only } else { now.only },
        certain: now.certain.or(before.certain),
        goal: match now.goal {
            Some(For::All) => None,
            other => other.or(before.goal),
        },
        relatives: now.relatives.or(before.relatives),
        south: now.south.or(before.south),
    }
}

/// The year in which the young of the season hatch.
pub(super) fn season_year(today: Date) -> i16 {
    if today.month() >= NEW_SEASON { today.year() + 1 } else { today.year() }
}

/// Animals and places of goals that were said, and the species that are looked at.
struct Settled<'a> {
    goals: Vec<usize>,
    skip: Vec<AnimalId>,
    only: Vec<AnimalId>,
    species: Vec<&'a Species>,
}

fn settled<'a>(desk: &Desk<'a>, said: &mut SeasonSaid) -> Result<Settled<'a>, Stop> {
    let one = |who: &Called| desk.one(who, Care::Reads);
    let skip = said.skip.iter().map(one).collect::<Result<Vec<_>, _>>()?;
    let only = said.only.iter().map(one).collect::<Result<Vec<_>, _>>()?;
    if let Some(gone) = only.iter().find(|a| !a.status.is_here()) {
        return Err(Stop::say(say::season::is_gone(gone)));
    }
    // Whom a pronoun meant must stay the same in what is asked next.
    said.skip = skip.iter().map(|a| Called::Number(a.number.0)).collect();
    said.only = only.iter().map(|a| Called::Number(a.number.0)).collect();
    let goals = match &said.goal {
        None | Some(For::All) => Vec::new(),
        Some(For::Number(n)) => {
            super::goals::numbered(desk, Some(*n))?;
            vec![*n]
        }
        Some(For::Words(words)) => {
            let fits = goals_of(desk, words);
            if fits.is_empty() {
                return Err(Stop::say(say::season::no_such_goal(desk.catalogue, desk.herd, words)));
            }
            fits
        }
    };
    let all = in_order(desk);
    let wished = |s: &&Species| {
        let of = |(n, g): (usize, &&crate::collection::events::Goal)| {
            g.species == s.key() && (goals.is_empty() || goals.contains(&(n + 1)))
        };
        all.iter().enumerate().any(|(n, goal)| of((n, goal)))
    };
    let asked = |s: &&Species| only.is_empty() || only.iter().any(|a| a.species == s.key());
    let species: Vec<&Species> = desk.catalogue.species().iter().filter(wished).filter(asked).collect();
    Ok(Settled { goals, skip: skip.iter().map(|a| a.id).collect(), only: only.iter().map(|a| a.id).collect(), species })
}

/// The places of the goals that words fit: by name, or by genes that they all want.
fn goals_of(desk: &Desk<'_>, words: &str) -> Vec<usize> {
    let key = crate::collection::name::key(words);
    let fits = |goal: &crate::collection::events::Goal| {
        if goal.name.as_ref().is_some_and(|name| crate::collection::name::key(name) == key) {
            return true;
        }
        let Some(species) = desk.catalogue.species().iter().find(|s| s.key() == goal.species) else { return false };
        let said = desk.reader.describe(desk.catalogue, words, Some(species.id)).animal;
        let wants =
            |gene: &crate::species::GeneId| goal.genes.iter().any(|b| species.gene_by_id(&b.gene) == Some(*gene));
        !said.genes.is_empty() && said.genes.iter().all(|c| wants(&c.gene))
    };
    in_order(desk).iter().enumerate().filter(|(_, goal)| fits(goal)).map(|(n, _)| n + 1).collect()
}

fn pairings(desk: &Desk<'_>, mut said: SeasonSaid) -> Result<Done, Stop> {
    if desk.herd.here().next().is_none() {
        return Err(Stop::say(say::season::nobody_here()));
    }
    if said.clutches == Some(0) {
        return Err(Stop::say(say::season::no_clutch()));
    }
    // What was said in this talk counts before what the keeper told of their place.
    said.south = said.south.or(desk.herd.half().map(|half| half == Half::South));
    let settled = settled(desk, &mut said)?;
    let now = as_believed(desk);
    if desk.herd.goals.is_empty() {
        return Err(Stop::say(suggest::goals(desk, &now)));
    }
    let wanting = Wanting {
        goals: &settled.goals,
        skip: &settled.skip,
        certain: said.certain == Some(true),
        relatives: said.relatives,
    };
    let mut scenes = Vec::new();
    for species in &settled.species {
        let mut scene = Scene::of(desk, &now, species, &wanting)
            .ok_or_else(|| Stop::say(say::season::too_little_known(species)))?;
        scene.world.clutch = hoped_for(species, &scene.world.clutch);
        if !settled.only.is_empty() {
            rest_others(&mut scene, &settled.only);
        }
        scenes.push(scene);
    }
    if scenes.iter().all(|scene| scene.players.is_empty()) {
        return Err(Stop::say(say::season::no_goal_for(desk.catalogue, desk.herd)));
    }
    let (most, by_room) = most_clutches(&now, &scenes, &said);
    let advice = searched(&scenes, most)?;
    let kept = Kept { said, scenes, most, by_room, advice };
    let shown = say::season::Shown { catalogue: desk.catalogue, herd: &now, today: desk.today, only: &settled.only };
    let mut reply = say::season::pairings(&shown, &kept);
    reply.cautions = cautions(desk, &now, &kept);
    let about = kept.advice.chosen.first().and_then(|best| kept.ids(best.pairing));
    let about = about.map_or_else(Vec::new, |(sire, dam)| vec![dam, sire]);
    Ok(Done::Season { reply: Box::new(reply), kept: Box::new(kept), about })
}

/// Only pairings of these are asked for: of the others none serves, but the mates of these.
fn rest_others(scene: &mut Scene, only: &[AnimalId]) {
    let is_asked = |i: usize| only.contains(&scene.players[i].id);
    let sexes: Vec<_> =
        (0..scene.players.len()).filter(|i| is_asked(*i)).map(|i| scene.candidates[i].animal.sex).collect();
    let several = sexes.iter().any(|s| *s != sexes[0]);
    for i in 0..scene.players.len() {
        let mate = sexes.iter().any(|s| *s != scene.candidates[i].animal.sex);
        if !is_asked(i) && (several || !mate) {
            scene.candidates[i].serves = 0;
        }
    }
}

/// The most clutches of the season, and whether room is what bounds them.
fn most_clutches(herd: &Herd, scenes: &[Scene], said: &SeasonSaid) -> (Option<usize>, bool) {
    let wishes = || scenes.iter().flat_map(|scene| &scene.wishes);
    let of_goals = wishes().filter_map(|wish| wish.limits.clutches).map(usize::from).min();
    let clutches = said.clutches.map(usize::from).or(of_goals);
    // Each clutch books a place for the young that is kept of it.
    let here = herd.here().count();
    let room =
        wishes().filter_map(|wish| wish.limits.room).map(usize::from).min().map(|room| room.saturating_sub(here));
    // Room for more clutches than there are females bounds nothing.
    let females =
        scenes.iter().flat_map(|scene| &scene.candidates).filter(|c| c.animal.sex == EngineSex::Female && c.serves > 0);
    let room = room.filter(|room| *room < females.count());
    match (clutches, room) {
        (Some(clutches), Some(room)) if room < clutches => (Some(room), true),
        (None, Some(room)) => (Some(room), true),
        (clutches, _) => (clutches, false),
    }
}

fn searched(scenes: &[Scene], most: Option<usize>) -> Result<Advice, Stop> {
    let may: Vec<_> = scenes.iter().map(|scene| move |sire: usize, dam: usize| scene.may(sire, dam)).collect();
    let rooms: Vec<Room<'_>> = scenes.iter().zip(&may).map(|(scene, may)| scene.room(may)).collect();
    let mut left = MOST_STEPS;
    let mut go_on = || {
        left = left.saturating_sub(1);
        left > 0
    };
    advise(&rooms, Limits { pairings: most }, &mut go_on).map_err(|e| Stop::say(say::fault(&e.to_string())))
}

/// Harm that the chosen pairings can do, each with whose it is.
fn cautions(desk: &Desk<'_>, herd: &Herd, kept: &Kept) -> Vec<String> {
    let mut found: Vec<(String, Vec<String>)> = Vec::new();
    for chosen in &kept.advice.chosen {
        let Some((sire, dam)) = kept.ids(chosen.pairing) else { continue };
        let (Some(sire), Some(dam)) = (herd.animal(sire), herd.animal(dam)) else { continue };
        let Some(species) = desk.species_of(sire) else { continue };
        let fresh = Desk { herd, ..desk.again() };
        for text in super::asked::cautions(&fresh, species, sire, dam) {
            let pair = say::season::pair(sire, dam);
            match found.iter_mut().find(|known| known.0 == text) {
                Some(known) => known.1.push(pair),
                None => found.push((text, vec![pair])),
            }
        }
    }
    found.into_iter().map(|(text, pairs)| say::season::caution(&pairs, &text)).collect()
}

/// The animals here of unknown sex, for what is said of them.
pub(super) fn unsexed(herd: &Herd) -> usize {
    herd.here().filter(|a| a.sex == Sex::Unknown).count()
}
