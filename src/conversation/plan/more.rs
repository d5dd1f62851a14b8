//! What is asked of a plan that was given: why not faster, the risk, other ways, one pairing in detail, a purchase.

use super::drawn::side_by_side;
use super::founders::to_buy;
use super::phases::{count, eggs, line, pairings};
use super::{Frame, Kind, Laid, opened, played, whole};
use crate::conversation::labels;
use crate::engine::inheritance::locus::Sex;
use crate::engine::planning::route::{Keep, Route};
use crate::reading::records::goals::PlanMore;
use crate::reading::requests::Target;
use crate::reply::{Reply, Row};
use crate::species::Species;

/// Females of one round that a forecast goes on with.
const MOST_FEMALES: u32 = 8;
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
        PlanMore::Females(n) => females(&mut reply, species, goal, laid, (*n).into()),
        PlanMore::Risk => risk(&mut reply, species, goal, laid, frame),
        PlanMore::Faster => faster(&mut reply, species, goal, laid, frame),
        PlanMore::Alternatives => alternatives(&mut reply, species, goal, laid, frame),
        PlanMore::Phase(n) => phase(&mut reply, species, laid, *n),
    }
    reply
}

fn risk(reply: &mut Reply, species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>) {
    let Some(chances) = laid.world.forecast(species, goal, &laid.kinds, &laid.route, 1) else {
        reply.answer.push("This plan is too wide to be played out.".to_owned());
        return;
    };
    reply.answer.extend(played(&chances));
    for (k, chance) in (1_i64..).zip(&chances) {
        if *chance <= 0.0 {
            continue;
        }
        let year =
            if frame.first_year > 0 { format!(" ({})", i64::from(frame.first_year) + k - 1) } else { String::new() };
        reply.rows.push(Row::heading(format!("done by season {k}{year}: {}", labels::percent_f64(*chance))));
    }
    reply.notes.push(
        "The plan is carried out thousands of times as it stands, from a fixed seed; a standard error is below half a point. \
         Losses and rest years are not in it."
            .to_owned(),
    );
}

/// The plan with more females of every round beside the plan with one.
fn females(reply: &mut Reply, species: &Species, goal: &Target, laid: &Laid, n: u32) {
    let n = n.clamp(1, MOST_FEMALES);
    let with = |n| laid.world.forecast(species, goal, &laid.kinds, &laid.route, n);
    let Some(chances) = with(n) else {
        reply.answer.push("This plan is too wide to be played out.".to_owned());
        return;
    };
    let whom = if n == 1 { "1 female kept".to_owned() } else { format!("{n} females kept") };
    if let Some(line) = played(&chances) {
        reply.answer.push(format!("With {whom} of every round: {}", line.replacen("Played out: ", "", 1)));
    }
    if n > 1
        && let Some(line) = with(1).as_deref().and_then(played)
    {
        reply.answer.push(format!("With 1 female: {}", line.replacen("Played out: ", "", 1)));
    }
    reply.notes.push("Each female gives a clutch a season; those of one clutch are sisters.".to_owned());
}

fn faster(reply: &mut Reply, species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>) {
    let route = &laid.route;
    reply.answer.push(format!(
        "Each round waits until its young can breed: females {}, males {} seasons. {} such rounds lie before the last pairing.",
        laid.world.maturity.female,
        laid.world.maturity.male,
        rounds(laid),
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
    let more: Vec<String> = [2, 3]
        .into_iter()
        .filter_map(|n| Some((n, laid.world.route(species, goal, &laid.kinds, n)?.seasons)))
        .map(|(n, s)| format!("with {n} clutches a season {}", count(s, "season")))
        .collect();
    reply.answer.push(format!("As it stands {}; {}.", count(route.seasons, "season"), more.join("; ")));
    let savings = laid.world.savings(species, goal, &laid.kinds, route);
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

/// How many rounds of keepers follow each other.
fn rounds(laid: &Laid) -> usize {
    use crate::engine::planning::route::From;
    let mut depth = vec![0_usize; laid.route.steps.len()];
    for (i, step) in laid.route.steps.iter().enumerate() {
        let of = |from: From| match from {
            From::Step(k) if k < i => depth[k] + 1,
            _ => 0,
        };
        depth[i] = of(step.sire.from).max(of(step.dam.from));
    }
    depth.into_iter().max().unwrap_or(0)
}

fn alternatives(reply: &mut Reply, species: &Species, goal: &Target, laid: &Laid, frame: &Frame<'_>) {
    let all_eggs = laid.world.eggs;
    let row = |what: String, seasons: u64, eggs: u64| {
        Row::heading(format!("{what}: {}, about {}", count(seasons, "season"), count(eggs, "egg")))
    };
    reply.answer.push("Side by side, each step booked for the same certainty:".to_owned());
    let mut curves = Vec::new();
    for (females, name) in [(1, "as it stands"), (2, "with 2 females kept of every round")] {
        let done = laid.world.forecast(species, goal, &laid.kinds, &laid.route, females);
        curves.extend(done.map(|done| (name.to_owned(), done)));
    }
    reply.rows.push(row("as it stands".to_owned(), laid.route.seasons, eggs(&laid.route, all_eggs)));
    for n in [2, 3] {
        if let Some(route) = laid.world.route(species, goal, &laid.kinds, n) {
            reply.rows.push(row(format!("with {n} clutches a season"), route.seasons, eggs(&route, all_eggs)));
        }
    }
    let mut bought: Vec<(u64, u64, String, Vec<Kind>, Route)> = to_buy(species, goal)
        .into_iter()
        .filter(|kind| !laid.kinds.iter().any(|k| k.is_like(kind)))
        .filter_map(|kind| {
            let with: Vec<Kind> = laid.kinds.iter().cloned().chain([kind.clone()]).collect();
            let route = laid.world.route(species, goal, &with, 1)?;
            Some((route.seasons, eggs(&route, all_eggs), kind.words(species), with, route))
        })
        .filter(|b| (b.0, b.1) < (laid.route.seasons, eggs(&laid.route, all_eggs)))
        .collect();
    bought.sort_by(|a, b| (a.0, a.1, &a.2).cmp(&(b.0, b.1, &b.2)));
    bought.truncate(4);
    for (seasons, eggs, name, with, route) in bought {
        reply.rows.push(row(format!("with a {name} bought"), seasons, eggs));
        let done = laid.world.forecast(species, goal, &with, &route, 1);
        curves.extend(done.map(|done| (format!("with a {name} bought"), done)));
    }
    reply.drawing = Some(Box::new(side_by_side(frame, &reply.understood, &curves)));
    reply.notes.push("Prices are your own to weigh against this; I name none.".to_owned());
}

fn phase(reply: &mut Reply, species: &Species, laid: &Laid, n: usize) {
    let all = pairings(&laid.route.steps);
    let Some(together) = n.checked_sub(1).and_then(|n| all.get(n)) else {
        reply.answer.push(format!("This plan has {}.", count(u64::try_from(all.len()).unwrap_or(0), "pairing")));
        return;
    };
    reply.answer.push(line(species, &laid.world, &laid.kinds, together));
    let clutches = together.iter().map(|s| s.clutches).max().unwrap_or(1);
    reply.answer.push(format!(
        "Booked: {} of about {} for 90 %.",
        count(clutches, "clutch").replace("clutchs", "clutches"),
        count(laid.world.eggs, "egg"),
    ));
    for one in together {
        if let Keep::Keeper { sex, .. } = &one.keep {
            let wait = laid.world.maturity.of(*sex);
            let who = if *sex == Sex::Male { "The male" } else { "The female" };
            reply.answer.push(format!("{who} kept can breed {} after it hatched.", count(wait.into(), "season")));
        }
    }
    if together.iter().any(|s| matches!(s.keep, Keep::Keeper { .. })) {
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
