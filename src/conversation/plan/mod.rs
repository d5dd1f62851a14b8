//! Project plans: from a goal to phases, with the seasons they take and what buying in would save.
//!
//! In: a goal and what the message says is there. Out: a reply with one line a pairing. The engine's routes are least-time;
//! the chance by season comes from playing the plan out, never from multiplying the certainty of its steps.

mod founders; // whom a project can start from

use super::cautions;
use super::labels;
use super::odds::scene::Laying;
use super::odds::wish::wanted;
use crate::engine::inheritance::clutch::ClutchSize;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{Genetics, LocusId, Sex};
use crate::engine::odds::{odds, sure};
use crate::engine::planning::project::fixed::{Entry, Fits, FixedPlan, Group, PlanStep, Simulation, forecast};
use crate::engine::planning::route::{From, Keep, Parent, Problem, Route, Step, plan};
use crate::engine::planning::{Animal as Bred, Maturity, Tell};
use crate::reading::requests::{Pairing, SexSaid, Target};
use crate::reply::{Kind as ReplyKind, Reply};
use crate::species::entries::{AppliesTo, Severity};
use crate::species::genetics::Sits;
use crate::species::{GeneId, Species};
use founders::{Kind, from_scratch, to_buy};

/// More genes in one goal make plans of decades; such goals are met in parts.
const MOST_GENES: usize = 6;
/// Steps of the search for one plan; beyond, the best so far is given and said to be cut.
const MOST_STEPS: u32 = 400_000;
/// Runs of a plan that is played out: a standard error below half a point.
const RUNS: u32 = 10_000;
/// Pairings that are listed; the rest are counted.
const MOST_LINES: usize = 7;
/// The seed of every forecast: the same question gets the same answer.
const SEED: u64 = 1;
/// The certainty that each step is booked for.
const CONFIDENCE: (i64, i64) = (9, 10);

/// What a species gives a plan to work with.
struct World {
    genetics: Genetics,
    clutch: ClutchSize,
    maturity: Maturity,
    females_per_male: u32,
}

/// The answer to a goal; `own` are animals that the message says are there.
pub(super) fn answer(species: &Species, goal: &Target, own: &Pairing) -> Reply {
    if let Some(no) = refusal(species, goal) {
        return no;
    }
    let Some(world) = World::of(species) else {
        return refused("I know too little of this species' breeding to plan with.");
    };
    let mut kinds: Vec<Kind> = own.parents.iter().filter_map(known).collect();
    let n_own = kinds.len();
    let both_sexes = kinds.iter().any(|k| k.sex == Sex::Male) && kinds.iter().any(|k| k.sex == Sex::Female);
    let mut route = both_sexes.then(|| world.route(species, goal, &kinds, 1)).flatten();
    // What is there leads nowhere by itself: single-gene animals come in beside it.
    let helped = both_sexes && route.is_none();
    if route.is_none() {
        kinds.extend(from_scratch(species, goal));
        route = world.route(species, goal, &kinds, 1);
    }
    let Some(route) = route else {
        return refused("I found no way to that goal from animals with one or two of its genes.");
    };
    let name = labels::target(species, goal);
    let mut reply = Reply {
        cautions: cautions::said(species, &cautions::cautions(species, &as_pairing(species, goal)), 2),
        understood: format!("{}: a project towards {name}, {}", species.name(), start(species, &kinds[..n_own])),
        ..Reply::default()
    };
    if route.steps.is_empty() {
        reply.answer.push("You have it already.".to_owned());
        return reply;
    }
    reply.answer.push(seasons(&world, species, goal, &kinds, &route));
    if let Some(chances) = world.chances(species, goal, &kinds, &route) {
        reply.answer.push(chances);
    }
    let pairings = pairings(&route.steps);
    for together in pairings.iter().take(MOST_LINES) {
        reply.answer.push(line(species, &world, &kinds, together));
    }
    if pairings.len() > MOST_LINES {
        reply.answer.push(format!("And {} more pairings beside these.", pairings.len() - MOST_LINES));
    }
    if helped {
        reply.notes.push("Your animals alone do not lead there: the others named have to be bought.".to_owned());
    }
    let savings = world.savings(species, goal, &kinds, &route);
    if !savings.is_empty() {
        reply.notes.push(format!("Bought in at the start: {}.", savings.join("; ")));
    }
    if goal.genes.iter().any(|g| !species.gene(g.0).is_recessive()) && goal.genes.len() > 1 {
        reply
            .notes
            .push("Visible genes go in with the first pairings: left out until later, each costs a round.".to_owned());
    }
    reply.notes.push(format!(
        "Numbers are defaults: females {} and males {} seasons until they breed, one clutch a season from each pairing, each \
         step booked for {}. Rest years and losses are not in it.",
        world.maturity.female,
        world.maturity.male,
        labels::percent(&odds(CONFIDENCE.0, CONFIDENCE.1)),
    ));
    reply
}

/// Asks for a goal where a plan was wanted and none was named.
pub(super) fn ask_goal() -> Reply {
    Reply {
        kind: ReplyKind::Question,
        ..Reply::sentence("Which animal is the goal? Name its genes, such as \"plan a clown pied with pastel\".")
    }
}

fn refused(text: &str) -> Reply {
    Reply { kind: ReplyKind::Refusal, ..Reply::sentence(text) }
}

/// Goals that cannot be, or that harm the animal: declined at once, with the reason.
fn refusal(species: &Species, goal: &Target) -> Option<Reply> {
    if goal.genes.len() > MOST_GENES {
        return Some(refused(&format!(
            "A goal of {} genes takes more than a keeper's life. Name at most {MOST_GENES}, and go on from there.",
            goal.genes.len()
        )));
    }
    let mut loci: Vec<usize> = goal.genes.iter().filter_map(|g| species.gene(g.0).locus).collect();
    loci.sort_unstable();
    loci.dedup();
    for locus in loci {
        let here: Vec<&(GeneId, u8)> = goal.genes.iter().filter(|g| species.gene(g.0).locus == Some(locus)).collect();
        if here.iter().map(|g| u32::from(g.1)).sum::<u32>() > 2 && here.len() > 1 || here.len() > 2 {
            let names: Vec<&str> = here.iter().map(|g| species.gene(g.0).entry.name.as_str()).collect();
            return Some(refused(&format!(
                "No animal can have all of {}: they are alleles of one place, and an animal has two. Choose two at most.",
                names.join(", ")
            )));
        }
    }
    let harmful = goal.genes.iter().find_map(|(gene, copies)| {
        let entry = &species.gene(*gene).entry;
        let lethal = *copies == 2 && entry.homozygous_lethal.is_some();
        let harm = entry
            .welfare
            .iter()
            .find(|w| w.severity == Severity::Serious && (w.applies_to != AppliesTo::TwoCopies || *copies == 2));
        (lethal || harm.is_some()).then(|| species.gene(*gene).label(*copies).to_owned())
    })?;
    let mut reply = refused(&format!(
        "I plan no project towards {harmful}, because of what is known of its harm. I still work out odds if you ask."
    ));
    reply.cautions = cautions::said(species, &cautions::cautions(species, &as_pairing(species, goal)), 2);
    Some(reply)
}

fn as_pairing(species: &Species, goal: &Target) -> Pairing {
    let animal = Kind { genes: goal.genes.clone(), sex: Sex::Female }.animal(species);
    Pairing { parents: vec![animal], ..Pairing::default() }
}

/// An animal of the message that is certain enough to plan with: its sex and genes are told.
fn known(animal: &crate::reading::requests::Animal) -> Option<Kind> {
    let sex = match animal.sex {
        SexSaid::Male => Sex::Male,
        SexSaid::Female => Sex::Female,
        SexSaid::Unknown => return None,
    };
    let sure = animal.genes.iter().all(|c| c.chance == sure());
    (sure && !animal.genes.is_empty())
        .then(|| Kind { genes: animal.genes.iter().map(|c| (c.gene, c.copies)).collect(), sex })
}

fn start(species: &Species, own: &[Kind]) -> String {
    if own.is_empty() {
        return "from scratch".to_owned();
    }
    let names: Vec<String> = own.iter().map(|k| labels::animal(species, &k.animal(species))).collect();
    format!("from {}", names.join(" and "))
}

impl World {
    fn of(species: &Species) -> Option<Self> {
        let care = species.care();
        // Seasons are yearly; an animal that is ready within a season is paired in the next.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // care numbers are small and positive
        let seasons = |years: f64| years.ceil().max(1.0) as u32;
        let maturity = Maturity {
            female: seasons(care.maturity_female_years.as_ref()?.default),
            male: seasons(care.maturity_male_years.as_ref()?.default),
        };
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // as above
        let females_per_male = care.females_per_male.as_ref().map_or(5, |r| r.default.round() as u32);
        let clutch = Laying::usual(species, 1)?.size();
        Some(Self { genetics: species.genetics(false).ok()?, clutch, maturity, females_per_male })
    }

    fn bred(species: &Species, kind: &Kind) -> Bred {
        let carries: Vec<_> = kind.genes.iter().map(|(g, n)| (*g, *n, sure())).collect();
        Bred { genome: species.genome(&carries, Sits::Anywhere), sex: kind.sex, ready: 0 }
    }

    /// The least-time plan from these animals with so many clutches a season of each pairing.
    fn route(&self, species: &Species, goal: &Target, kinds: &[Kind], clutches: u64) -> Option<Route> {
        let problem = Problem {
            genetics: &self.genetics,
            tell: Tell::Look,
            animals: kinds.iter().map(|k| Self::bred(species, k)).collect(),
            offers: Vec::new(),
            goal: wanted(species, goal),
            maturity: self.maturity,
            clutch: self.clutch.clone(),
            clutches,
            confidence: odds(CONFIDENCE.0, CONFIDENCE.1),
            budget: None,
        };
        let mut left = MOST_STEPS;
        let mut go_on = || {
            left = left.saturating_sub(1);
            left > 0
        };
        plan(&problem, &mut go_on).ok()?.pareto.into_iter().next()
    }

    /// The plan played out: the chance to be done by season.
    fn chances(&self, species: &Species, goal: &Target, kinds: &[Kind], route: &Route) -> Option<String> {
        let goal_loci: Vec<LocusId> = wanted(species, goal).loci().map(|(id, _)| id).collect();
        let group = |parent: &Parent| match parent.from {
            From::Owned(k) | From::Bought(k) => Group::Animal(k),
            From::Step(k) => Group::Keepers(k),
        };
        let steps = route.steps.iter().enumerate().map(|(k, step)| PlanStep {
            sire: group(&step.sire),
            dam: group(&step.dam),
            keep: match &step.keep {
                Keep::Goal => Vec::new(),
                Keep::Keeper { sex, genotypes } => vec![Entry {
                    name: k,
                    sex: Some(*sex),
                    count: 1,
                    fits: Fits::Genotypes(genotypes.iter().filter(|(id, _)| goal_loci.contains(id)).copied().collect()),
                }],
            },
        });
        let seasons = u32::try_from(route.seasons).ok()? + 6;
        let plan = FixedPlan {
            genetics: &self.genetics,
            animals: kinds.iter().map(|k| Self::bred(species, k)).collect(),
            n_names: route.steps.len(),
            steps: steps.collect(),
            goal: wanted(species, goal),
            seasons,
            maturity: self.maturity,
            clutch: self.clutch.clone(),
            females_per_male: self.females_per_male,
        };
        let by = forecast(&plan, Simulation { replicates: RUNS, seed: SEED, always: false }).ok()?;
        let by_season = |level: f64| by.chances.iter().position(|p| *p >= level).map(|k| k + 1);
        let last = by.chances.last().copied().unwrap_or(0.0);
        Some(match (by_season(0.5), by_season(0.9)) {
            (Some(half), Some(most)) => {
                format!("Played out: half of such projects are done by season {half}, nine in ten by season {most}.")
            }
            (Some(half), None) => format!(
                "Played out: half of such projects are done by season {half}, {:.0} % by season {seasons}.",
                last * 100.0
            ),
            _ => format!("Played out: {:.0} % of such projects are done by season {seasons}.", last * 100.0),
        })
    }

    /// What each kind of animal would save if it were bought at the start.
    fn savings(&self, species: &Species, goal: &Target, kinds: &[Kind], route: &Route) -> Vec<String> {
        let mut saved: Vec<(u64, String)> = to_buy(species, goal)
            .into_iter()
            .filter(|kind| !kinds.contains(kind))
            .filter_map(|kind| {
                let with: Vec<Kind> = kinds.iter().cloned().chain([kind.clone()]).collect();
                let seasons = self.route(species, goal, &with, 1)?.seasons;
                let less = route.seasons.checked_sub(seasons).filter(|n| *n > 0)?;
                Some((less, labels::animal(species, &kind.animal(species))))
            })
            .collect();
        saved.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
        saved.truncate(3);
        saved.into_iter().map(|(n, name)| format!("{name} saves {}", count(n, "season"))).collect()
    }
}

fn count(n: u64, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

/// Steps that are one pairing with several keepers.
fn pairings(steps: &[Step]) -> Vec<Vec<&Step>> {
    let mut out: Vec<Vec<&Step>> = Vec::new();
    for step in steps {
        let same = out.iter_mut().find(|other| {
            let first = other[0];
            first.sire == step.sire
                && first.dam == step.dam
                && (first.season, first.seasons, &first.per_egg) == (step.season, step.seasons, &step.per_egg)
        });
        match same {
            Some(other) => other.push(step),
            None => out.push(vec![step]),
        }
    }
    out
}

/// "Season 1: ♂ Clown × ♀ Piebald, 1 clutch (each egg 1/2): keep a ♀ het Clown, het Piebald."
fn line(species: &Species, world: &World, kinds: &[Kind], together: &[&Step]) -> String {
    let step = together[0];
    let first = step.season + 1;
    let last = step.season + step.seasons;
    let when = if first == last { format!("Season {first}") } else { format!("Seasons {first} to {last}") };
    let kept: Vec<String> = together
        .iter()
        .filter_map(|step| match &step.keep {
            Keep::Goal => None,
            Keep::Keeper { sex, genotypes } => Some(animal(species, world, *sex, genotypes)),
        })
        .collect();
    let keep = match &kept[..] {
        [] => "the goal".to_owned(),
        [one] => format!("keep a {one}"),
        several => format!("keep a {}", several.join(" and a ")),
    };
    format!(
        "{when}: {} \u{d7} {}, {}, {} per egg: {keep}.",
        parent(species, world, kinds, &step.sire, Sex::Male),
        parent(species, world, kinds, &step.dam, Sex::Female),
        count(step.clutches, "clutch").replace("clutchs", "clutches"),
        labels::fraction(&step.per_egg),
    )
}

fn parent(species: &Species, world: &World, kinds: &[Kind], parent: &Parent, sex: Sex) -> String {
    match parent.from {
        From::Owned(k) | From::Bought(k) if k < kinds.len() => labels::animal(species, &kinds[k].animal(species)),
        _ => animal(species, world, sex, &parent.genotypes),
    }
}

fn animal(species: &Species, world: &World, sex: Sex, genotypes: &[(LocusId, Genotype)]) -> String {
    let mark = labels::mark(if sex == Sex::Male { SexSaid::Male } else { SexSaid::Female });
    let wild = |id: LocusId, g: Genotype| g == world.genetics.wild(id, sex);
    let parts = genotypes
        .iter()
        .filter(|(id, g)| !wild(*id, *g))
        .flat_map(|(id, g)| labels::at_locus(species, *id, &[(*g, sure())]))
        .collect();
    format!("{mark}{}", labels::name(parts, false))
}

fn seasons(world: &World, species: &Species, goal: &Target, kinds: &[Kind], route: &Route) -> String {
    let more: Vec<String> = [2, 3]
        .into_iter()
        .filter_map(|n| Some((n, world.route(species, goal, kinds, n)?.seasons)))
        .filter(|(_, seasons)| *seasons < route.seasons)
        .map(|(n, seasons)| format!("{seasons} with {n} clutches a season"))
        .collect();
    let more = if more.is_empty() { String::new() } else { format!("; {}", more.join(", ")) };
    format!("Booked: {}{more}.", count(route.seasons, "season"))
}
