//! What is asked of a plan that was given: why not faster, the risk, other ways, one pairing in detail, a purchase.

use super::drawn::side_by_side;
use super::founders::to_buy;
use super::phases::{by_phase, count, depths, eggs, line, pairings, purpose};
use super::played::of_route;
use super::priced::priced;
use super::{Frame, Kind, Laid, Outlook, Variation, how_played, opened, outlook, played, season_of, when_done, whole};
use crate::conversation::labels;
use crate::conversation::sentences::plan as say;
use crate::engine::inheritance::locus::Sex;
use crate::engine::planning::route::{Keep, Route};
use crate::reading::records::goals::PlanMore;
use crate::reading::records::money::CostSaid;
use crate::reading::requests::Target;
use crate::reply::{Reply, Row};
use crate::species::Species;

/// Females of one round that a forecast goes on with.
const MOST_FEMALES: u16 = 8;
/// Plans that are played side by side share the time, with some over.
const ALTERNATIVES: u32 = 2;
/// Possible hets that are tried as proven.
const MOST_POSSIBLE: usize = 4;

pub(super) fn answer(species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>, asked: &PlanMore) -> Reply {
    let mut reply = opened(species, goal, laid, frame);
    if laid.route.steps.is_empty() {
        reply.answer.push("You have it already.".to_owned());
        return reply;
    }
    match asked {
        PlanMore::Buy(_) => return whole(species, goal, laid, frame),
        PlanMore::Offers(_) => priced(&mut reply, species, goal, laid, frame),
        PlanMore::Females(n) => females(&mut reply, species, goal, laid, frame, *n),
        PlanMore::Risk => risk(&mut reply, species, goal, laid, frame),
        PlanMore::Money(costs) => money(&mut reply, species, goal, laid, frame, costs),
        PlanMore::Faster => faster(&mut reply, species, goal, laid, frame),
        PlanMore::Alternatives => alternatives(&mut reply, species, goal, laid, frame),
        PlanMore::Phase(n) => phase(&mut reply, species, goal, laid, *n),
    }
    reply
}

fn risk(reply: &mut Reply, species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>) {
    let Some(ahead) = outlook(species, goal, laid, frame, Variation::default()) else {
        reply.answer.push("This plan is too wide to be played out.".to_owned());
        return;
    };
    reply.answer.extend(played(&ahead, frame));
    for (k, chance) in (1..).zip(&ahead.done) {
        if *chance > 0.0 {
            reply.rows.push(Row::heading(say::done_by(k, frame.first_year, *chance)));
        }
    }
    reply.notes.push(how_played(&ahead, &laid.world));
    reply.drawing = Some(Box::new(side_by_side(frame, &reply.understood, &[("as it stands".to_owned(), ahead.done)])));
}

/// What keeping costs by year, as the keeper says what an animal costs; prices are told, never taken from elsewhere.
fn money(reply: &mut Reply, species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>, costs: &CostSaid) {
    let buy: Vec<String> = laid.to_buy().iter().map(|kind| kind.words(species)).collect();
    let Some(year) = costs.year else {
        reply.answer.push(say::ask_costs(&buy));
        return;
    };
    let story = outlook(species, goal, laid, frame, Variation::default()).and_then(|ahead| ahead.story);
    let Some(story) = story else {
        reply
            .answer
            .push("This plan is too wide to be played out, so I cannot say how many animals it keeps.".to_owned());
        return;
    };
    let once = costs.sure.filter(|_| !buy.is_empty()).unwrap_or(0);
    // Cents as floating point: sums of a hobby, shown as whole units.
    #[expect(clippy::cast_precision_loss)]
    let (year, once) = (year as f64 / 100.0, once as f64 / 100.0);
    let keeping: Vec<f64> = story.held.iter().map(|held| held * year).collect();
    reply.answer.push(say::money(keeping.iter().sum::<f64>(), year, once, &buy));
    for (k, (held, cost)) in (1..).zip(story.held.iter().zip(&keeping)) {
        if *held >= 0.05 {
            let bought = if k == 1 { once } else { 0.0 };
            reply.rows.push(Row::heading(say::money_of(k, frame.first_year, *held, cost + bought)));
        }
    }
    reply.notes.push(say::money_is_mean().to_owned());
}

/// The plan with so many females kept of each kind, beside the plan with more.
fn females(reply: &mut Reply, species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>, n: u16) {
    let n = usize::from(n.clamp(1, MOST_FEMALES));
    let with = |females| outlook(species, goal, laid, frame, Variation { females, tenths: 5 });
    let usual = Variation::default().females;
    let mut lines = Vec::new();
    let others = [n, if n == usual { 1 } else { usual }];
    for females in others {
        let line = with(females).as_ref().and_then(|ahead| when_done(ahead, frame));
        lines.extend(line.map(|line| say::with_females(females, &line)));
    }
    if lines.is_empty() {
        lines.push("This plan is too wide to be played out.".to_owned());
    }
    reply.answer.extend(lines);
    reply.notes.push("Each female gives a clutch a season; those of one clutch are sisters.".to_owned());
}

fn faster(reply: &mut Reply, species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>) {
    let route = &laid.route;
    reply.answer.push(format!(
        "Each round waits until its young can breed: females {}, males {} seasons. {} such rounds lie before the last pairing.",
        laid.world.maturity.female,
        laid.world.maturity.male,
        depths(&route.steps).into_iter().max().unwrap_or(0),
    ));
    if let Some(longest) = pairings(&route.steps).into_iter().max_by_key(|p| p[0].seasons).filter(|p| p[0].seasons > 1)
    {
        reply.answer.push(format!(
            "The slowest pairing is booked for {}, because only {} of its eggs count: {}",
            count(longest[0].seasons, "season"),
            labels::fraction(&longest[0].per_egg),
            line(species, &laid.world, &laid.kinds, &longest),
        ));
    }
    let more: Vec<String> = (laid.clutches + 1..=3)
        .filter_map(|n| Some((n, laid.world.route(species, goal, &laid.kinds, n)?.seasons)))
        .map(|(n, s)| format!("with {} {}", laid.world.clutches_a_season(n), count(s, "season")))
        .collect();
    reply.answer.push(format!("As it stands {}; {}.", count(route.seasons, "season"), more.join("; ")));
    let savings = laid.savings(species, goal);
    if savings.is_empty() {
        reply.notes.push("No visual het or double het that could be bought would save a season.".to_owned());
    } else {
        reply.notes.push(format!(
            "Bought in at the start: {}.",
            savings.iter().map(super::Saving::words).collect::<Vec<_>>().join("; ")
        ));
    }
    reply.notes.extend(if_proven(species, goal, laid, frame));
}

/// Whether it is of a policy: only such can be set side by side.
fn was_played(ahead: &Outlook) -> bool {
    ahead.story.is_some()
}

fn alternatives(reply: &mut Reply, species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>) {
    let all_eggs = laid.world.eggs;
    let row = |what: String, seasons: u64, eggs: u64| {
        Row::heading(format!("{what}: {}, about {}", count(seasons, "season"), count(eggs, "egg")))
    };
    reply.answer.push("Side by side, each step booked for the same certainty:".to_owned());
    let mut curves = Vec::new();
    for (females, name) in [(Variation::default().females, "as it stands"), (1, "with 1 female kept of each kind")] {
        let done = outlook(species, goal, laid, frame, Variation { females, tenths: ALTERNATIVES });
        curves.extend(done.filter(was_played).map(|ahead| (name.to_owned(), ahead.done)));
    }
    reply.rows.push(row("as it stands".to_owned(), laid.route.seasons, eggs(&laid.route, all_eggs)));
    for n in (1..=3).filter(|n| *n != laid.clutches) {
        if let Some(route) = laid.world.route(species, goal, &laid.kinds, n) {
            let with = format!("with {}", laid.world.clutches_a_season(n));
            reply.rows.push(row(with, route.seasons, eggs(&route, all_eggs)));
        }
    }
    let mut bought: Vec<(u64, u64, String, Vec<Kind>, Route)> = to_buy(species, goal)
        .into_iter()
        .filter(|kind| !laid.kinds.iter().any(|k| k.is_like(kind)))
        .filter_map(|kind| {
            let with: Vec<Kind> = laid.kinds.iter().cloned().chain([kind.clone()]).collect();
            let route = laid.world.route(species, goal, &with, laid.clutches)?;
            Some((route.seasons, eggs(&route, all_eggs), kind.words(species), with, route))
        })
        .filter(|b| (b.0, b.1) < (laid.route.seasons, eggs(&laid.route, all_eggs)))
        .collect();
    bought.sort_by(|a, b| (a.0, a.1, &a.2).cmp(&(b.0, b.1, &b.2)));
    bought.truncate(4);
    for (seasons, eggs, name, with, route) in bought {
        reply.rows.push(row(format!("with a {name} bought"), seasons, eggs));
        let variation = Variation { tenths: ALTERNATIVES, ..Variation::default() };
        let done = of_route(species, goal, (&laid.world, &with, laid.n_own), &route, frame, variation);
        curves.extend(done.filter(was_played).map(|ahead| (format!("with a {name} bought"), ahead.done)));
    }
    let when = |(name, done): &(String, Vec<f64>)| {
        let at = |share| season_of(done, share);
        let line = say::when_done(at(0.5), at(0.9), done.last().copied(), done.len(), frame.first_year)?;
        Some(Row::heading(format!("{name}: {line}")))
    };
    reply.rows.extend(curves.iter().filter_map(when));
    if !curves.is_empty() {
        reply.drawing = Some(Box::new(side_by_side(frame, &reply.understood, &curves)));
    }
    reply.notes.push("Prices are your own to weigh against this; I name none.".to_owned());
}

fn phase(reply: &mut Reply, species: &Species, goal: &Target, laid: &Laid, n: usize) {
    let all = by_phase(&laid.route.steps);
    let Some(phase) = n.checked_sub(1).and_then(|n| all.get(n)) else {
        reply.answer.push(format!("This plan has {}.", count(u64::try_from(all.len()).unwrap_or(0), "phase")));
        return;
    };
    reply.answer.push(say::phase(n, purpose(species, goal, phase)));
    for together in phase {
        reply.answer.push(line(species, &laid.world, &laid.kinds, together));
        let clutches = together.iter().map(|s| s.clutches).max().unwrap_or(1);
        reply.answer.push(format!(
            "Booked: {} of about {} for 90 %.",
            count(clutches, "clutch"),
            count(laid.world.eggs, "egg"),
        ));
        for one in together {
            if let Keep::Keeper { sex, .. } = &one.keep {
                let wait = laid.world.maturity.of(*sex);
                let who = if *sex == Sex::Male { "The male" } else { "The female" };
                reply.answer.push(format!("{who} kept can breed {} after it hatched.", count(wait.into(), "season")));
            }
        }
    }
    if phase.iter().flatten().any(|s| matches!(s.keep, Keep::Keeper { .. })) {
        reply.notes.push(
            "Where the keeper cannot be told by its look, keep the possible hets that the seasons allow and prove them out in the next pairing."
                .to_owned(),
        );
    }
}

/// What proving a possible het that is here would save.
pub(super) fn if_proven(species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>) -> Vec<String> {
    let mut lines: Vec<(u64, String)> = frame
        .possible
        .iter()
        .take(MOST_POSSIBLE)
        .filter_map(|(words, kind)| {
            let seasons = laid.seasons_with(species, goal, kind)?;
            let less = laid.route.seasons.checked_sub(seasons).filter(|n| *n > 0)?;
            Some((
                less,
                format!(
                    "{words} is not counted; if it proves out, {} saved",
                    if less == 1 { "1 season is".to_owned() } else { format!("{less} seasons are") }
                ),
            ))
        })
        .collect();
    lines.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    lines.into_iter().map(|l| format!("{}.", l.1)).collect()
}
