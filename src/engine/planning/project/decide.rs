//! One season's decisions: what to buy, whom to pair with whom, and whom to hold once the young are there.
//!
//! In: a [`Project`] as it stands. Out: the decision whose forecast is best, and that forecast.

use super::super::route::Offer;
use super::super::{Animal, Maturity, Tell};
use super::MOST_SEASONS;
use super::ProjectError;
use super::hidden::{Herd, Hidden, Prior, Scene};
use super::merit::Merit;
use super::rules::Rules;
pub use super::rules::{MOST_OFFERS, Objective};
use super::told::{self, Care, OnSale, Reach, State, Told};
use super::world::World;
use crate::engine::inheritance::clutch::{ClutchSize, Wanted};
use crate::engine::inheritance::locus::{Genetics, LocusId, Look, Sex};
use crate::engine::odds::Odds;

use std::collections::BTreeSet;

/// A project at the start of a season, or (for [`hold`]) at its end.
#[derive(Debug, Clone)]
pub struct Project<'a> {
    /// The species.
    pub genetics: &'a Genetics,
    /// How genotypes are told.
    pub tell: Tell,
    /// The animals at hand and, where looks are told, those gone that are evidence.
    pub animals: Vec<Member>,
    /// Young that were seen and are not among the animals; evidence where looks are told.
    pub clutches: Vec<SeenClutch>,
    /// What is still on sale.
    pub offers: Vec<Offer>,
    /// The money left; `None` is any.
    pub budget: Option<Odds>,
    /// Which young ends the project.
    pub goal: Wanted,
    /// Seasons left: this one included, or (for [`hold`]) from the coming one on.
    pub seasons: u32,
    /// Seasons from hatching to pairing.
    pub maturity: Maturity,
    /// What one clutch gives.
    pub clutch: ClutchSize,
    /// The most females that a male serves in a season.
    pub females_per_male: u32,
    /// The most animals that are held.
    pub space: usize,
    /// What is aimed at.
    pub objective: Objective,
}

/// An animal of a project.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Member {
    /// Its genotypes if it is a founder, its sex, its seasons until it can be paired.
    pub animal: Animal,
    /// Its parents by position, where looks are told.
    pub sire: Option<usize>,
    /// Its mother.
    pub dam: Option<usize>,
    /// What was seen of it.
    pub look: Vec<(LocusId, Look)>,
    /// No longer at hand.
    pub gone: bool,
}

/// Young of a pair that were seen and not kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeenClutch {
    /// Their father, by position.
    pub sire: usize,
    /// Their mother, by position.
    pub dam: usize,
    /// What was seen.
    pub young: Vec<SeenYoung>,
}

/// Young that look alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeenYoung {
    /// What was seen.
    pub look: Vec<(LocusId, Look)>,
    /// Their sex, if it was seen.
    pub sex: Option<Sex>,
    /// How many.
    pub count: u32,
}

/// What to do this season.
#[derive(Debug, Clone, PartialEq)]
pub struct Decision {
    /// The offers to buy, by position.
    pub buy: Vec<usize>,
    /// Male and female.
    pub pairs: Vec<(Who, Who)>,
    /// The chance to be done within 1, 2, … seasons if this is done, and the best afterwards.
    pub by_season: Vec<f64>,
    /// How far the search looked.
    pub depth: Depth,
}

/// How far a search looked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Depth {
    /// At everything: decision and forecast are the best there are, but for rounding.
    Exact,
    /// At all seasons, following only the most hopeful holdings: the forecast is that of a decision about as good.
    Narrow,
    /// At so many seasons, with an optimistic guess of the rest.
    Seasons(u32),
}

/// One of the animals at hand, or one just bought.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Who {
    /// By position among the animals.
    Animal(usize),
    /// By position among the offers.
    Offer(usize),
}

/// What is left of the work that may be done, from 1 down to 0; it is asked now and then.
pub type Allowance<'a> = dyn FnMut() -> f64 + 'a;

/// Looks as far as the allowance goes.
fn look<T>(
    stage: &Stage,
    seasons: u32,
    allowance: &mut Allowance<'_>,
    ask: &mut dyn FnMut(Told<'_>) -> Result<T, told::Cut>,
) -> (T, Depth)
where
    T: Default,
{
    let mut with = |reach: Reach, until: f64| {
        let mut go_on = || allowance() > until;
        let told = Told::new(&stage.world, &stage.merit, &stage.rules, &stage.on_sale, seasons, reach, &mut go_on);
        ask(told).ok()
    };
    if let Some(found) = with(Reach::EXACT, UNTIL_EXACT) {
        return (found, Depth::Exact);
    }
    if let Some(found) = with(Reach { care: Care::Tubs, choices: NARROW, ..Reach::EXACT }, UNTIL_NARROW) {
        return (found, Depth::Narrow);
    }
    let mut best = None;
    for ahead in 1..=seasons {
        let reach = Reach { care: Care::Tubs, choices: 2 * NARROW, seasons: ahead, draws: DRAWS };
        match with(reach, 0.0) {
            Some(found) => best = Some((found, Depth::Seasons(ahead))),
            None => break,
        }
    }
    best.unwrap_or_else(|| {
        // Something has to be said, however short the time.
        let hasty = Reach { care: Care::Tubs, choices: 1, seasons: 1, draws: HASTY_DRAWS };
        (with(hasty, f64::NEG_INFINITY).unwrap_or_default(), Depth::Seasons(1))
    })
}

/// Shares of the allowance that are left when the exact and the narrow search are given up.
const UNTIL_EXACT: f64 = 0.6;
const UNTIL_NARROW: f64 = 0.3;
/// Holdings that a narrow search follows.
const NARROW: usize = 3;
/// Outcomes of a season that are drawn where there are many.
const DRAWS: usize = 64;
const HASTY_DRAWS: usize = 8;

/// The season's decision. `allowance` is asked now and then; the less is left, the less far the search looks.
///
/// # Errors
/// [`ProjectError`]: what makes no sense, or what is too large.
pub fn season(project: &Project<'_>, allowance: &mut Allowance<'_>) -> Result<Decision, ProjectError> {
    let stage = Stage::new(project)?;
    if project.seasons == 0 {
        return Ok(Decision { buy: Vec::new(), pairs: Vec::new(), by_season: Vec::new(), depth: Depth::Exact });
    }
    match &stage.herd {
        Seen::Told(here) => Ok(season_told(project, &stage, here, allowance)),
        Seen::Hidden(scene, herd) => Ok(season_hidden(project, &stage, scene, herd, allowance)),
    }
}

fn season_told(
    project: &Project<'_>,
    stage: &Stage,
    here: &[(told::Code, Who)],
    allowance: &mut Allowance<'_>,
) -> Decision {
    let codes: Vec<told::Code> = here.iter().map(|(code, _)| *code).collect();
    let ((action, value), depth) = look(stage, project.seasons, allowance, &mut |mut told| {
        let state = told.state(project.seasons, 0, codes.clone());
        let (action, value) = told.best(&state)?;
        Ok((action, value.to_vec()))
    });
    let buy = stage.bought(action.buy);
    let mut free: Vec<(told::Code, Who)> = here.to_vec();
    free.extend(buy.iter().map(|i| {
        let offer = &stage.on_sale[*i];
        (told::code(offer.sex, offer.ready, offer.kind), Who::Offer(*i))
    }));
    let each = project.females_per_male as usize;
    let mut served = vec![0; free.len()];
    let mut pairs = Vec::new();
    for (male, female) in &action.pairs {
        let sire = (0..free.len()).find(|&i| free[i].0 == *male && served[i] < each);
        let dam = (0..free.len()).find(|&i| free[i].0 == *female && served[i] == 0);
        if let (Some(sire), Some(dam)) = (sire, dam) {
            served[sire] += 1;
            served[dam] += 1;
            pairs.push((free[sire].1, free[dam].1));
        }
    }
    Decision { buy, pairs, by_season: value, depth }
}

fn season_hidden(
    project: &Project<'_>,
    stage: &Stage,
    scene: &Scene,
    herd: &Herd,
    allowance: &mut Allowance<'_>,
) -> Decision {
    let ((action, value), depth) = look(stage, project.seasons, allowance, &mut |told| {
        let (action, value) = Hidden::new(told, scene).best(herd)?;
        Ok((action, value.to_vec()))
    });
    let buy = stage.bought(action.buy);
    let here = (0..project.animals.len()).filter(|i| !project.animals[*i].gone).map(Who::Animal);
    let all: Vec<Who> = here.chain(buy.iter().map(|i| Who::Offer(*i))).collect();
    let pairs = action.pairs.iter().filter_map(|(male, female)| Some((*all.get(*male)?, *all.get(*female)?)));
    Decision { pairs: pairs.collect(), buy, by_season: value, depth }
}

/// Whom to hold out of all animals at hand, by position.
///
/// # Errors
/// [`ProjectError`]: what makes no sense, or what is too large.
pub fn hold(project: &Project<'_>, allowance: &mut Allowance<'_>) -> Result<Vec<usize>, ProjectError> {
    let stage = Stage::new(project)?;
    let here: Vec<usize> = (0..project.animals.len()).filter(|i| !project.animals[*i].gone).collect();
    if here.len() <= project.space {
        return Ok(here);
    }
    let (mut kept, shopping) = match &stage.herd {
        Seen::Told(codes) => hold_told(project, &stage, codes, allowance),
        Seen::Hidden(scene, herd) => {
            let (found, _) = look(&stage, project.seasons, allowance, &mut |told| {
                let shopping = told.is_shopping(project.seasons, 0);
                let (held, _) = Hidden::new(told, scene).choose(herd)?;
                Ok((held, shopping))
            });
            let (held, shopping) = found;
            (held.iter().filter_map(|place| here.get(*place).copied()).collect(), shopping)
        }
    };
    // Room that nobody needs is left to whoever is there; where one may still buy, it is kept free.
    if !shopping {
        let more: Vec<usize> = here.iter().copied().filter(|i| !kept.contains(i)).collect();
        let room = project.space.saturating_sub(kept.len());
        kept.extend(more.into_iter().take(room));
    }
    kept.sort_unstable();
    Ok(kept)
}

fn hold_told(
    project: &Project<'_>,
    stage: &Stage,
    here: &[(told::Code, Who)],
    allowance: &mut Allowance<'_>,
) -> (Vec<usize>, bool) {
    let codes: Vec<told::Code> = here.iter().map(|(code, _)| *code).collect();
    let ((held, shopping), _) = look(stage, project.seasons, allowance, &mut |mut told| {
        let State { animals, .. } = told.state(project.seasons, 0, codes.clone());
        let question = State { left: project.seasons, sold: 0, filled: 0, animals };
        let (held, _) = told.choose(&question)?;
        Ok((held, told.is_shopping(project.seasons, 0)))
    });
    let mut left: Vec<(told::Code, Who)> = here.to_vec();
    let mut kept = Vec::new();
    for code in held {
        if let Some(i) = left.iter().position(|(other, _)| *other == code) {
            kept.extend(animal(left.remove(i).1));
        }
    }
    (kept, shopping)
}

fn animal(who: Who) -> Option<usize> {
    match who {
        Who::Animal(i) => Some(i),
        Who::Offer(_) => None,
    }
}

/// A project reduced to numbers.
struct Stage {
    world: World,
    merit: Merit,
    rules: Rules,
    on_sale: Vec<OnSale>,
    herd: Seen,
}

/// The animals at hand.
enum Seen {
    Told(Vec<(told::Code, Who)>),
    Hidden(Scene, Herd),
}

impl Stage {
    fn new(project: &Project<'_>) -> Result<Stage, ProjectError> {
        if project.seasons > MOST_SEASONS {
            return Err(ProjectError::Seasons { seasons: project.seasons });
        }
        if project.offers.len() > MOST_OFFERS {
            return Err(ProjectError::TooManyOffers { n: project.offers.len() });
        }
        let owned = project.animals.iter().map(|member| &member.animal);
        let founders: Vec<&Animal> = owned.chain(project.offers.iter().map(|offer| &offer.animal)).collect();
        let world = World::new(project.genetics, &founders, &project.goal, &project.clutch, &BTreeSet::new())?;
        let merit = Merit::new(project.genetics, &world.kinds, &project.goal);
        let prices: Vec<Odds> = project.offers.iter().map(|offer| offer.price.clone()).collect();
        let rules = Rules::new(
            project.maturity,
            project.females_per_male,
            project.space,
            project.objective,
            &prices,
            project.budget.as_ref(),
        );
        let mut on_sale = Vec::new();
        let mut priors = Vec::new();
        for (i, Offer { animal, .. }) in project.offers.iter().enumerate() {
            let number = project.animals.len() + i;
            let (kind, genotypes) = match project.tell {
                Tell::Genotype => (world.kinds.of_certain(project.genetics, number, animal)?, Vec::new()),
                Tell::Look => {
                    let kinds = world.kinds.of(project.genetics, number, animal)?;
                    // The most hopeful of what it may be says whether it is worth a look.
                    let hopeful = |(code, _): &&(u64, Odds)| merit.crossings(usize::try_from(*code).unwrap_or(0));
                    let kind = kinds.iter().min_by_key(hopeful).map_or(0, |(code, _)| *code);
                    (kind, world.kinds.priors(project.genetics, number, animal)?)
                }
            };
            on_sale.push(OnSale { sex: animal.sex, kind, ready: animal.ready });
            priors.push(Prior { sex: animal.sex, ready: animal.ready, genotypes });
        }
        let herd = match project.tell {
            Tell::Genotype => Seen::Told(told_herd(project, &world)?),
            Tell::Look => {
                let scene = Scene::new(project, &world, priors);
                let herd = scene.herd(project, &world)?;
                Seen::Hidden(scene, herd)
            }
        };
        Ok(Stage { world, merit, rules, on_sale, herd })
    }

    /// The offers of a set, by position.
    fn bought(&self, set: u32) -> Vec<usize> {
        (0..self.on_sale.len()).filter(|i| set >> i & 1 == 1).collect()
    }
}

fn told_herd(project: &Project<'_>, world: &World) -> Result<Vec<(told::Code, Who)>, ProjectError> {
    let mut here = Vec::new();
    for (i, member) in project.animals.iter().enumerate().filter(|(_, member)| !member.gone) {
        let animal = &member.animal;
        let kind = world.kinds.of_certain(project.genetics, i, animal)?;
        here.push((told::code(animal.sex, animal.ready, kind), Who::Animal(i)));
    }
    here.sort_by_key(|(code, _)| *code);
    Ok(here)
}
