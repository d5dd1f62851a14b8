//! A plan played out, in words.

use super::keeping::{seasons, thousands};
use crate::conversation::labels;
use crate::engine::odds::{Odds, none};

/// "season 6 (2032)".
fn season(n: usize, first_year: i16) -> String {
    let year = i64::from(first_year) + i64::try_from(n).unwrap_or(0) - 1;
    if first_year > 0 { format!("season {n} ({year})") } else { format!("season {n}") }
}

/// When such projects are done: half of them, nine in ten, or how many at the end.
pub(in crate::conversation) fn when_done(
    half: Option<usize>,
    most: Option<usize>,
    last: Option<f64>,
    seasons: usize,
    first_year: i16,
) -> Option<String> {
    let last = last?;
    let share = labels::percent_f64((last * 100.0).round() / 100.0);
    Some(match (half, most) {
        (Some(half), Some(most)) => format!(
            "half of such projects are done by {}, nine in ten by {}.",
            season(half, first_year),
            season(most, first_year)
        ),
        (Some(half), None) => format!(
            "half of such projects are done by {}, {share} by {}.",
            season(half, first_year),
            season(seasons, first_year)
        ),
        _ if last <= 0.0 => format!("no such project is done by {}.", season(seasons, first_year)),
        _ => format!("{share} of such projects are done by {}.", season(seasons, first_year)),
    })
}

/// "Played out", and how rough that is where it is; a plan that nobody played is carried out as it stands.
pub(in crate::conversation) fn played(runs: Option<(u32, bool)>, error: f64) -> String {
    /// Points that nobody minds.
    const FINE: f64 = 2.5;
    match runs {
        None => "Carried out as it stands".to_owned(),
        Some((replicates, true)) if error > FINE => {
            format!("Played out {replicates} times only, so right to about {error:.0} points")
        }
        Some(_) => "Played out".to_owned(),
    }
}

/// What an average project comes to.
pub(in crate::conversation) fn work([clutches, hatched, kept]: [f64; 3]) -> String {
    let of_clutches = if clutches.round() <= 1.0 { "1 clutch".to_owned() } else { format!("{clutches:.0} clutches") };
    format!("On average that takes {of_clutches} and {hatched:.0} young, {kept:.0} of them kept for a while.")
}

/// How it was played.
pub(in crate::conversation) fn how(room: usize, takes: &str, (replicates, cut): (u32, bool), error: f64) -> String {
    let cut = if cut { " and then cut short, to answer in time" } else { "" };
    format!(
        "Played out {} times{cut}, as a keeper goes on: each season the most useful pairs of what hatched, possible hets proven \
         where that pays, room for {room}, a paired female laying in {takes} of seasons. Right to about {error:.1} points; \
         losses are not in it.",
        thousands(replicates.into())
    )
}

/// That the plan was carried out as it stands.
pub(in crate::conversation) fn as_it_stands() -> &'static str {
    "This goal is too wide to play out every choice: the plan is carried out as it stands, without using lucky young, so a \
     keeper who does is sooner there. Losses and rest years are not in it."
}

/// A share of projects done by a season.
pub(in crate::conversation) fn done_by(n: usize, first_year: i16, chance: f64) -> String {
    // What is not sure is not said to be.
    let most = if chance < 1.0 { 0.999 } else { 1.0 };
    let share = ((chance * 1000.0).round() / 1000.0).min(most);
    format!("done by {}: {}", season(n, first_year), labels::percent_f64(share))
}

/// "With 2 females kept of each kind: half of such projects …".
pub(in crate::conversation) fn with_females(n: usize, when: &str) -> String {
    format!("With {n} female{} kept of each kind: {when}", if n == 1 { "" } else { "s" })
}

/// The closest pair of a plan, and what it takes to have none so close: how close they are then, whom to buy for it, and
/// whom to use that is there.
pub(in crate::conversation) fn relatives(
    season: u64,
    close: &Odds,
    over: bool,
    mended: Option<(Odds, Vec<String>, Vec<String>)>,
    may_buy: bool,
) -> String {
    let closer = if over { ", closer than you want" } else { "" };
    let told = format!("Season {season} pairs relatives (kinship {}){closer}.", labels::percent(close));
    match mended {
        Some((then, bought, own)) if may_buy || bought.is_empty() => {
            let mut whom: Vec<String> = bought.iter().map(|who| format!("a second, unrelated {who}")).collect();
            whom.extend(own);
            let cost = match bought.len() {
                0 => "nothing to buy".to_owned(),
                1 => "one animal more to buy".to_owned(),
                n => format!("{n} animals more to buy"),
            };
            let then = if then == none() { "unrelated".to_owned() } else { labels::percent(&then) };
            format!(
                "{told} With {} in the first round of one side it is {then}: {cost}, the clutches of that round twice, no \
                 season more.",
                whom.join(" and ")
            )
        }
        Some((_, bought, _)) => format!(
            "{told} With only what you have it cannot be avoided; a second, unrelated {} would.",
            bought.join(" and ")
        ),
        None => format!("{told} No second founder avoids it, because those that are there are related themselves."),
    }
}

/// "Played out with no pair closer than 12.5 %, with a second, unrelated ♀ Piebald; without that limit …": within a limit on
/// relatives.
pub(in crate::conversation) fn within_kinship(limit: &Odds, seconds: &[String], without: Option<String>) -> String {
    let limit = match limit {
        limit if *limit == none() => "no relatives paired".to_owned(),
        limit => format!("no pair closer than {}", labels::percent(limit)),
    };
    let seconds: Vec<String> = seconds.iter().map(|who| format!("a second, unrelated {who}")).collect();
    let with = if seconds.is_empty() { String::new() } else { format!(", with {}", seconds.join(" and ")) };
    let without = without.map(|when| format!(" Without that limit {when}"));
    format!("Played out with {limit}{with}.{}", without.unwrap_or_default())
}

/// That a plan which is carried out as it stands does not look at relatives.
pub(in crate::conversation) fn relatives_are_not_kept_apart() -> &'static str {
    "Your limit on relatives is not kept in these figures, because the plan is carried out as it stands."
}

/// "Phase 1, double hets."
pub(in crate::conversation) fn phase(n: usize, purpose: &str) -> String {
    format!("Phase {n}, {purpose}.")
}

/// Which founders bring a visible gene, and what it costs to bring it in only with the pairings of a later season.
pub(in crate::conversation) fn visible(gene: &str, bringing: &[String], late: Option<(u64, u64)>) -> String {
    let cost = match late {
        Some((season, 1)) => format!("brought in only in season {season} it costs 1 season more"),
        Some((season, n)) => format!("brought in only in season {season} it costs {n} seasons more"),
        None => "brought in later it costs a round".to_owned(),
    };
    format!("{gene} has to come in with {}: {cost}.", bringing.join(" and "))
}

fn whole(amount: f64) -> String {
    #[expect(clippy::cast_possible_truncation)] // far below what a whole number holds; saturates beyond
    thousands(amount.round() as i64)
}

/// Asks for the prices of animals where there is a budget.
pub(in crate::conversation) fn ask_prices(budget: i64) -> String {
    format!(
        "To plan within your {}, I need your prices: say them now, such as \"a visual clown male 400, a visual pied female \
         450\".",
        amount(budget)
    )
}

fn bought(bought: &[String], cents: i64) -> String {
    if bought.is_empty() {
        "nothing bought".to_owned()
    } else {
        format!("{} for {}", bought.join(" and "), amount(cents))
    }
}

/// The fastest plan that there is the money for.
pub(in crate::conversation) fn buy_within(buy: &[String], cents: i64, n: u64, budget: Option<i64>) -> String {
    let within = budget.map_or_else(|| "Fastest".to_owned(), |most| format!("Within your {}", amount(most)));
    format!("{within}: {}. Booked for {}.", bought(buy, cents), seasons(n))
}

/// The cheapest plan where there is not the money for any.
pub(in crate::conversation) fn none_within(buy: &[String], cents: i64, n: u64, budget: Option<i64>) -> String {
    let most = budget.map_or_else(String::new, |most| format!(" of {}", amount(most)));
    format!(
        "Nothing that leads there fits your budget{most}: the least is {}, booked for {}.",
        bought(buy, cents),
        seasons(n)
    )
}

/// What else could be bought.
pub(in crate::conversation) fn at_price(buy: &[String], cents: i64, n: u64, beyond: bool) -> String {
    let beyond = if beyond { " (over your budget)" } else { "" };
    let mut what = bought(buy, cents);
    if let Some(first) = what.get(..1).map(str::to_uppercase) {
        what.replace_range(..1, &first);
    }
    format!("{what}: {}{beyond}", seasons(n))
}

/// Nothing on offer leads there.
pub(in crate::conversation) fn no_way_with_these(alone: bool) -> &'static str {
    if alone {
        "These animals alone do not lead there: between them a male and a female must bring every gene of the goal. Name more."
    } else {
        "These animals and yours do not lead there: between them a male and a female must bring every gene of the goal. Name \
         more."
    }
}

/// What no good plan buys.
pub(in crate::conversation) fn no_use(idle: &[String], none: bool) -> Option<String> {
    (!idle.is_empty() && !none).then(|| format!("No plan worth its money buys {}.", idle.join(" or ")))
}

/// Hundredths as whole units.
fn amount(cents: i64) -> String {
    thousands(cents.saturating_add(50) / 100)
}

/// Asks what keeping costs.
pub(in crate::conversation) fn ask_costs(buy: &[String]) -> String {
    let bought = if buy.is_empty() { String::new() } else { format!(", and what {} cost together", buy.join(" and ")) };
    format!(
        "Prices are yours to say: what does one animal cost you a year{bought}? For example \"what does it cost at 120 a year \
         each and 900 for the animals\"."
    )
}

/// The money of a whole project.
pub(in crate::conversation) fn money(keeping: f64, year: f64, once: f64, buy: &[String]) -> String {
    let kept = format!("Keeping comes to about {} at {} a year an animal", whole(keeping), whole(year));
    match (buy, once > 0.0) {
        ([], _) => format!("{kept}."),
        (buy, true) => {
            format!("{kept}; with {} for {} about {} in all.", whole(once), buy.join(" and "), whole(keeping + once))
        }
        (buy, false) => format!("{kept}; what {} cost comes on top.", buy.join(" and ")),
    }
}

/// The money of one year.
pub(in crate::conversation) fn money_of(n: usize, first_year: i16, held: f64, cost: f64) -> String {
    format!("{}: {held:.1} animals, {}", season(n, first_year), whole(cost))
}

/// How the figures are meant.
pub(in crate::conversation) fn money_is_mean() -> &'static str {
    "The mean of many projects, of which a done one costs nothing more; young that are not kept are neither cost nor income."
}
