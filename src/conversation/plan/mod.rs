//! Project plans: from a goal to phases, with the seasons they take and what buying in would save.
//!
//! In: a goal and what the message says is there. Out: a reply with one line a pairing. The engine's routes are least-time;
//! the chance
//! by season comes from playing the plan out, never from multiplying the certainty of its steps.

mod drawn; // the same as pictures
mod founders; // whom a project can start from
mod more; // what is asked of a plan that was given
mod phases; // its pairings in words
mod played; // when such projects are done
mod priced; // within a budget, at the keeper's prices
mod visible; // which founders bring the visible genes
mod world; // what a species gives a plan to work with

use std::sync::atomic::Ordering;

use super::cautions;
use super::labels;
use super::sentences::plan as say;
use crate::engine::inheritance::locus::Sex;
use crate::engine::odds::{Odds, none, odds, sure};
use crate::engine::planning::route::Route;
use crate::reading::records::goals::PlanMore;
use crate::reading::requests::{Pairing, SexSaid, Target};
use crate::reply::{Kind as ReplyKind, Reply};
use crate::species::entries::{AppliesTo, Severity};
use crate::species::{GeneId, Species};
use founders::from_scratch;
pub(super) use founders::{Kind, Priced, to_buy};
pub(super) use phases::animal as kept_in_words;
use phases::{Relations, by_phase, count, line, purpose};
pub(super) use played::Believed;
use played::{Outlook, Variation, outlook, season_of};
pub(super) use world::{Saving, World};

/// More genes in one goal make plans of decades; such goals are met in parts.
const MOST_GENES: usize = 6;
/// Pairings that are listed; the rest are counted.
const MOST_LINES: usize = 7;
/// Clutches a season of each pairing in a project from scratch: of a female and her sister.
const FROM_SCRATCH: u64 = 2;
/// The certainty that each step is booked for.
const CONFIDENCE: (i64, i64) = (9, 10);

/// Within what a plan is made, and from what.
#[derive(Clone, Default)]
pub(super) struct Frame<'a> {
    /// The animals are the keeper's own, by name.
    pub(super) saved: bool,
    /// The year of the first season.
    pub(super) first_year: i16,
    /// The last year.
    pub(super) by_year: Option<i16>,
    /// Animals that may be bought; any number where none is said.
    pub(super) purchases: Option<u8>,
    /// A male and a female of the goal are wanted.
    pub(super) pair: bool,
    /// The most clutches a season.
    pub(super) clutches: Option<u8>,
    /// Animals there is room for.
    pub(super) room: Option<u16>,
    /// The kinship at or above which a pair is not wanted: above it is too close.
    pub(super) kinship: Option<Odds>,
    /// Kinship of the keeper's own animals, by their places.
    pub(super) kin: Option<&'a dyn Fn(usize, usize) -> Odds>,
    /// Money for animals, in hundredths.
    pub(super) budget: Option<i64>,
    /// What can be bought, at its prices.
    pub(super) offers: Vec<Priced>,
    /// Animals that are thought to be bought at the start.
    pub(super) bought: Vec<Kind>,
    /// The keeper's animals with genes of the goal, as they are believed to be; those of the message where it is empty.
    pub(super) herd: Vec<Believed>,
    /// The kinship of those, by their places; empty where no limit is said.
    pub(super) herd_kinship: Vec<Vec<Odds>>,
    /// Possible hets: what each would be if it carried.
    pub(super) possible: Vec<(String, Kind)>,
    /// Who was left out, and why.
    pub(super) notes: Vec<String>,
    /// What is asked of the plan.
    pub(super) more: Option<PlanMore>,
}

/// A plan that was found.
pub(super) struct Laid {
    world: World,
    /// The keeper's, then those bought, then those that had to be bought.
    kinds: Vec<Kind>,
    n_own: usize,
    route: Route,
    /// Clutches a season that each pairing is booked with.
    clutches: u64,
    /// What is there leads nowhere by itself.
    helped: bool,
}

impl Laid {
    /// Seasons that are booked.
    pub(super) fn seasons(&self) -> u64 {
        self.route.seasons
    }

    /// What each kind of animal would save if it were bought at the start, the most first.
    pub(super) fn savings(&self, species: &Species, goal: &Target) -> Vec<Saving> {
        self.world.savings(species, goal, &self.kinds, &self.route, self.clutches)
    }

    /// Seasons that are booked with one more animal from the start; `None` where no way is found.
    pub(super) fn seasons_with(&self, species: &Species, goal: &Target, more: &Kind) -> Option<u64> {
        let with: Vec<Kind> = self.kinds.iter().cloned().chain([more.clone()]).collect();
        self.world.route(species, goal, &with, self.clutches).map(|route| route.seasons)
    }

    /// Whether animals must be bought.
    pub(super) fn needs_more(&self) -> bool {
        self.helped
    }

    /// Who is used that is not there yet.
    pub(super) fn to_buy(&self) -> Vec<&Kind> {
        let places = visible::founders(&self.route).into_iter().filter(|k| *k >= self.n_own);
        places.filter_map(|k| self.kinds.get(k)).collect()
    }
}

/// The answer to a goal; `own` are animals that the message says are there.
pub(super) fn answer(species: &Species, goal: &Target, own: &Pairing) -> Reply {
    drawn(species, goal, own.parents.iter().filter_map(known).collect(), &Frame::default())
}

/// The plan from these animals; a reply where there is none.
pub(super) fn laid(species: &Species, goal: &Target, own: Vec<Kind>, frame: &Frame<'_>) -> Result<Laid, Box<Reply>> {
    if let Some(no) = refusal(species, goal) {
        return Err(Box::new(no));
    }
    let Some(world) = World::of(species) else {
        return Err(Box::new(refused("I know too little of this species' breeding to plan with.")));
    };
    let n_own = own.len();
    let mut kinds = own;
    kinds.extend(frame.bought.iter().cloned());
    let both_sexes = kinds.iter().any(|k| k.sex == Sex::Male) && kinds.iter().any(|k| k.sex == Sex::Female);
    // Who starts from nothing keeps sisters; who has animals starts with the females that are there.
    let clutches = if n_own == 0 && frame.clutches != Some(1) { FROM_SCRATCH } else { 1 };
    let mut route = both_sexes.then(|| world.route(species, goal, &kinds, clutches)).flatten();
    // What is there leads nowhere by itself: single-gene animals come in beside it.
    let helped = if frame.saved { n_own > 0 && route.is_none() } else { both_sexes && route.is_none() };
    if route.is_none() && frame.purchases == Some(0) {
        return Err(Box::new(missing(species, goal, &kinds)));
    }
    if route.is_none() {
        kinds.extend(from_scratch(species, goal));
        route = world.route(species, goal, &kinds, clutches);
    }
    match route {
        Some(route) => Ok(Laid { world, kinds, n_own, route, clutches, helped }),
        None => Err(Box::new(refused("I found no way to that goal from animals with one or two of its genes."))),
    }
}

/// The answer to a goal from these animals.
pub(super) fn drawn(species: &Species, goal: &Target, own: Vec<Kind>, frame: &Frame<'_>) -> Reply {
    match laid(species, goal, own, frame) {
        Err(no) => *no,
        Ok(laid) => match &frame.more {
            None => whole(species, goal, &laid, frame),
            Some(asked) => more::answer(species, goal, &laid, frame, asked),
        },
    }
}

/// The head of every answer about a plan.
fn opened(species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>) -> Reply {
    let own = &laid.kinds[..laid.n_own.min(laid.kinds.len())];
    let from = match (frame.saved, own.len()) {
        (true, 0) => "from scratch".to_owned(),
        (true, n) => format!("from your {} with its genes", count(u64::try_from(n).unwrap_or(0), "animal")),
        (false, _) => start(species, own),
    };
    let bought: Vec<String> = frame.bought.iter().map(|k| k.words(species)).collect();
    let bought = if bought.is_empty() { String::new() } else { format!(", with {} bought", bought.join(" and ")) };
    Reply {
        cautions: cautions::said(species, &cautions::cautions(species, &as_pairing(species, goal)), 2),
        understood: format!("{}: a project towards {}, {from}{bought}", species.name(), labels::target(species, goal)),
        ..Reply::default()
    }
}

fn whole(species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>) -> Reply {
    let Laid { world, kinds, route, .. } = laid;
    let mut reply = opened(species, goal, laid, frame);
    if route.steps.is_empty() {
        reply.answer.push("You have it already.".to_owned());
        return reply;
    }
    let ahead = outlook(species, goal, laid, frame, Variation::default());
    let chances = ahead.as_ref().map(|ahead| ahead.done.as_slice());
    reply.answer.extend(ahead.as_ref().and_then(|ahead| played(ahead, frame)));
    reply.answer.push(seasons(species, goal, laid, frame));
    let phases = by_phase(&route.steps);
    let (mut listed, n) = (0, phases.iter().map(Vec::len).sum::<usize>());
    for (k, phase) in phases.iter().enumerate() {
        for together in phase.iter().take(MOST_LINES.saturating_sub(listed)) {
            let line = line(species, world, kinds, together);
            reply.answer.push(format!("{} {line}", say::phase(k + 1, purpose(species, goal, phase))));
            listed += 1;
        }
    }
    if n > listed {
        reply
            .answer
            .push(format!("And {} beside these.", count(u64::try_from(n - listed).unwrap_or(0), "more pairing")));
    }
    // Who rests, and who is left out, comes before what could be bought.
    reply.notes.extend(frame.notes.iter().cloned());
    reply.notes.extend(against_limits(species, laid, frame, chances));
    reply.notes.extend(ahead.as_ref().and_then(|ahead| what_the_limit_costs(species, goal, laid, frame, ahead)));
    let buy: Vec<String> = laid.to_buy().iter().map(|k| k.words(species)).collect();
    if laid.helped {
        reply.notes.push(if frame.saved {
            format!(
                "Your animals alone do not lead there: to be bought: {}. Prices are yours to put in.",
                buy.join(", ")
            )
        } else {
            "Your animals alone do not lead there: the others named have to be bought.".to_owned()
        });
    }
    let savings: Vec<String> = laid.savings(species, goal).iter().map(Saving::words).collect();
    if !savings.is_empty() && frame.purchases != Some(0) {
        reply.notes.push(format!("Bought in at the start: {}.", savings.join("; ")));
    }
    reply.notes.extend(more::if_proven(species, goal, laid, frame));
    if world.cut.load(Ordering::Relaxed) {
        reply
            .notes
            .push("The search was cut short: this is the best plan found so far, a better one may exist.".to_owned());
    }
    reply.notes.extend(visible::notes(species, goal, laid));
    reply.notes.push(format!(
        "Numbers are defaults: females {} and males {} seasons until they breed, each pairing booked with {} for {}.",
        world.maturity.female,
        world.maturity.male,
        world.clutches_a_season(laid.clutches),
        labels::percent(&odds(CONFIDENCE.0, CONFIDENCE.1)),
    ));
    reply.notes.extend(ahead.as_ref().map(|ahead| how_played(ahead, world)));
    let bought: Vec<String> = savings.iter().map(|one| format!("{one}.")).collect();
    reply.drawing = Some(Box::new(drawn::phases(species, laid, frame, &reply.understood, &bought, chances)));
    if frame.saved {
        reply.notes.push("More: \"why not faster\", \"show the risk\", \"alternatives\", \"phase 1\".".to_owned());
    }
    reply
}

/// "2 clutches a season would …": where a plan goes beyond its limits, and by how much.
fn against_limits(species: &Species, laid: &Laid, frame: &Frame<'_>, chances: Option<&[f64]>) -> Vec<String> {
    let mut notes = Vec::new();
    let last = i64::from(frame.first_year) + i64::try_from(laid.route.seasons).unwrap_or(i64::MAX) - 1;
    if let Some(by) = frame.by_year {
        let until = usize::try_from(i64::from(by) - i64::from(frame.first_year)).ok();
        let chance = until.and_then(|n| chances.and_then(|c| c.get(n).or(c.last()).copied())).unwrap_or(0.0);
        notes.push(if last <= i64::from(by) {
            format!(
                "Booked to be done in {last}, within your limit of {by}; chance by then {}.",
                labels::percent_f64(chance)
            )
        } else {
            format!(
                "Booked to be done in {last}, which is after your limit of {by}; chance by then {}.",
                labels::percent_f64(chance)
            )
        });
    }
    let at_once = phases::most_at_once(&laid.route);
    if let Some(most) = frame.clutches.filter(|n| at_once > u64::from(*n)) {
        notes.push(format!(
            "In some seasons {at_once} pairings run side by side, more than your {most}: one after the other it takes longer."
        ));
    }
    let held = u64::try_from(laid.n_own + laid.route.steps.len()).unwrap_or(u64::MAX);
    if let Some(room) = frame.room.filter(|n| held > u64::from(*n)) {
        notes.push(format!("It holds up to {held} animals, more than your room for {room}."));
    }
    if let Some(most) = frame.purchases {
        let n = laid.to_buy().len();
        if n > usize::from(most) && most > 0 {
            notes.push(format!("It needs {n} purchases, more than the {most} that you allow."));
        }
    }
    let buys = !laid.to_buy().is_empty();
    notes.extend(frame.budget.filter(|cents| *cents > 0 && buys).map(say::ask_prices));
    if frame.pair {
        notes.push(
            "For a male and a female of it the last pairing goes on until both are there; a project is done with both."
                .to_owned(),
        );
    }
    notes.extend(closest(species, laid, frame));
    notes
}

/// The closest pair of relatives in the plan, and what it takes to have none so close.
fn closest(species: &Species, laid: &Laid, frame: &Frame<'_>) -> Option<String> {
    let relations = Relations::new(&laid.route, laid.n_own, frame.kin);
    let (step, close) = relations.closest().filter(|(_, close)| *close > none())?;
    let season = laid.route.steps.get(step)?.season + 1;
    let over = frame.kinship.as_ref().is_some_and(|limit| close > *limit);
    // Closer than half siblings is what most keepers avoid.
    let limit = frame.kinship.clone().filter(|_| over).unwrap_or_else(none);
    let mended = relations.mended(step, &limit).map(|twice| {
        let then = relations.of_step(step, &twice);
        let (mut bought, mut own) = (Vec::new(), Vec::new());
        for founder in twice {
            let kind = laid.kinds.get(founder)?;
            let other = stand_in(&laid.kinds, laid.n_own, frame, founder);
            match other {
                Some(other) => own.push(other.words(species)),
                None => bought.push(labels::animal(species, &kind.animal(species))),
            }
        }
        Some((then, bought, own))
    });
    let may_buy = frame.purchases != Some(0);
    Some(say::relatives(season, &close, over, mended.flatten(), may_buy))
}

/// With whom the plan is played out so that no relatives beyond the limit are paired, and how it would go without.
fn what_the_limit_costs(
    species: &Species,
    goal: &Target,
    laid: &Laid,
    frame: &Frame<'_>,
    within: &Outlook,
) -> Option<String> {
    let limit = frame.kinship.as_ref()?;
    let relations = Relations::new(&laid.route, laid.n_own, frame.kin);
    relations.closest().filter(|(_, close)| close > limit)?;
    if within.story.is_none() {
        return Some(say::relatives_are_not_kept_apart().to_owned());
    }
    let seconds = played::second_founders(&laid.kinds, laid.n_own, &laid.route, frame);
    let seconds = seconds.into_iter().filter_map(|founder| laid.kinds.get(founder));
    let seconds: Vec<String> = seconds.map(|kind| labels::animal(species, &kind.animal(species))).collect();
    let free = Frame { kinship: None, ..frame.clone() };
    let without = outlook(species, goal, laid, &free, Variation::default());
    Some(say::within_kinship(limit, &seconds, without.and_then(|ahead| when_done(&ahead, frame))))
}

/// An animal of the keeper's that is like a founder and not related to it.
fn stand_in<'k>(kinds: &'k [Kind], n_own: usize, frame: &Frame<'_>, founder: usize) -> Option<&'k Kind> {
    let kind = kinds.get(founder).filter(|_| founder < n_own)?;
    let unrelated = |other: usize| frame.kin.is_some_and(|kin| kin(founder, other) == none());
    let others = (0..n_own).filter(|other| *other != founder && unrelated(*other));
    others.filter_map(|other| kinds.get(other)).find(|other| other.is_like(kind))
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
pub(super) fn refusal(species: &Species, goal: &Target) -> Option<Reply> {
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
    let animal = Kind { genes: goal.genes.clone(), sex: Sex::Female, name: None, ready: 0 }.animal(species);
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
    (sure && !animal.genes.is_empty()).then(|| Kind {
        genes: animal.genes.iter().map(|c| (c.gene, c.copies)).collect(),
        sex,
        name: None,
        ready: 0,
    })
}

fn start(species: &Species, own: &[Kind]) -> String {
    if own.is_empty() {
        return "from scratch".to_owned();
    }
    let names: Vec<String> = own.iter().map(|k| labels::animal(species, &k.animal(species))).collect();
    format!("from {}", names.join(" and "))
}

/// Nobody has what the goal needs, and nothing may be bought.
fn missing(species: &Species, goal: &Target, own: &[Kind]) -> Reply {
    let absent: Vec<&(GeneId, u8)> =
        goal.genes.iter().filter(|g| !own.iter().any(|k| k.genes.iter().any(|x| x.0 == g.0))).collect();
    if absent.is_empty() {
        return refused(
            "Your animals alone do not lead there: there is no male and female from which all its genes come together. \
             One more animal of the other sex would mend it.",
        );
    }
    let names: Vec<&str> = absent.iter().map(|g| species.gene(g.0).entry.name.as_str()).collect();
    let mend: Vec<String> = absent
        .iter()
        .map(|g| labels::genes(species, &[(g.0, if species.gene(g.0).is_recessive() { 2 } else { 1 })]))
        .collect();
    refused(&format!(
        "Your animals can never reach it: nobody is sure to carry {}. Buying a {} would mend that.",
        names.join(" or "),
        mend.join(" and a ")
    ))
}

fn seasons(species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>) -> String {
    let Laid { world, kinds, route, .. } = laid;
    let more: Vec<String> = (1..=3)
        .filter(|n| *n != laid.clutches)
        .filter_map(|n| Some((n, world.route(species, goal, kinds, n)?.seasons)))
        .filter(|(_, seasons)| *seasons != route.seasons)
        .map(|(n, seasons)| format!("{seasons} with {}", world.clutches_a_season(n)))
        .collect();
    let more = if more.is_empty() { String::new() } else { format!("; {}", more.join(", ")) };
    let year = if frame.first_year > 0 {
        format!(
            " (the first is {}, so it is done in {})",
            frame.first_year,
            i64::from(frame.first_year) + i64::try_from(route.seasons).unwrap_or(0) - 1
        )
    } else {
        String::new()
    };
    format!("Booked with {}: {}{year}{more}.", world.clutches_a_season(laid.clutches), count(route.seasons, "season"))
}

/// The forecast in one line.
fn played(ahead: &Outlook, frame: &Frame<'_>) -> Option<String> {
    let runs = ahead.story.as_ref().map(|story| (story.replicates, story.replicates < played::RUNS));
    let mut line = format!("{}: {}", say::played(runs, ahead.error()), when_done(ahead, frame)?);
    line.extend(ahead.sums().map(|sums| format!(" {}", say::work(sums))));
    Some(line)
}

fn when_done(ahead: &Outlook, frame: &Frame<'_>) -> Option<String> {
    let done = &ahead.done;
    say::when_done(season_of(done, 0.5), season_of(done, 0.9), done.last().copied(), done.len(), frame.first_year)
}

fn how_played(ahead: &Outlook, world: &World) -> String {
    match &ahead.story {
        Some(story) => {
            let cut = story.replicates < played::RUNS;
            say::how(ahead.room, &labels::percent(&world.takes), (story.replicates, cut), ahead.error())
        }
        None => say::as_it_stands().to_owned(),
    }
}
