//! What possible hets are worth and what to buy, by prices that the keeper tells.

use num_traits::Zero as _;

use super::super::{count, list_of, money, seasons};
use crate::conversation::labels::percent;
use crate::conversation::plan::Saving;
use crate::engine::odds::{Odds, sure, to_f64};
use crate::reading::records::money::CostSaid;
use crate::reply::Reply;

/// Animals that are named.
const MOST_NAMED: usize = 8;

/// An animal of the collection that only possibly carries what a goal wants.
pub(in crate::conversation) struct Unproven {
    pub(in crate::conversation) words: String,
    /// Seasons that are saved if it carries.
    pub(in crate::conversation) saved: u64,
    /// The chance that it does.
    pub(in crate::conversation) chance: Odds,
    /// Years until it is known.
    pub(in crate::conversation) years: u32,
}

impl Unproven {
    /// What is spent until it is known, and what a sure one may cost for that.
    fn against(&self, year: i64, price: Option<i64>) -> String {
        let spent = year.saturating_mul(i64::from(self.years));
        let years = count(usize::try_from(self.years).unwrap_or(usize::MAX), "year", "years");
        if self.chance.is_zero() {
            return format!(" Until that is known it costs {} ({years}).", money(spent));
        }
        #[expect(clippy::cast_possible_truncation)] // amounts of money are bounded where they are read
        let even = (spent as f64 / to_f64(&self.chance)).round() as i64;
        let verdict = match price {
            Some(price) if price < even => ", so at your price buy",
            Some(price) if price > even => ", so at your price prove",
            Some(_) => ", so it is all one at your price",
            None => ": below that buy, above it prove",
        };
        format!(
            " Until that is known it costs {} ({years}); with {} to carry that is worth as much as a sure one for {}{verdict}.",
            money(spent),
            percent(&self.chance),
            money(even)
        )
    }
}

/// Possible hets of one goal.
pub(in crate::conversation) struct Possible {
    pub(in crate::conversation) goal: String,
    /// Seasons booked without counting on any of them.
    pub(in crate::conversation) seasons: u64,
    /// Animals have to be bought for it.
    pub(in crate::conversation) needs_more: bool,
    /// Each of them.
    pub(in crate::conversation) each: Vec<Unproven>,
    /// What sure animals would save.
    pub(in crate::conversation) buys: Vec<Saving>,
}

/// Whether possible hets are worth keeping.
pub(in crate::conversation) fn worth_keeping(all: &[Possible], costs: &CostSaid) -> Reply {
    let mut reply = Reply { understood: "Possible hets: prove them, or buy sure ones?".to_owned(), ..Reply::default() };
    for goal in all {
        if goal.each.is_empty() {
            reply.answer.push(format!("{}: none of your animals only possibly carries its genes.", goal.goal));
            continue;
        }
        let booked = if goal.needs_more { " with purchases" } else { "" };
        reply.answer.push(format!(
            "{}: {} booked{booked}, counting on none of them.",
            goal.goal,
            seasons(goal.seasons)
        ));
        let (useful, idle): (Vec<&Unproven>, Vec<&Unproven>) = goal.each.iter().partition(|one| one.saved > 0);
        for one in useful.iter().take(MOST_NAMED) {
            let cost = costs.year.map_or_else(String::new, |year| one.against(year, costs.sure));
            reply.answer.push(format!(
                "{}: worth proving; if it carries, {} saved.{cost}",
                one.words,
                seasons(one.saved)
            ));
        }
        if !idle.is_empty() {
            let names: Vec<String> = idle.iter().take(MOST_NAMED).map(|one| one.words.clone()).collect();
            reply.answer.push(format!("Saves no season even if it carries: {}.", list_of(&names)));
        }
        let sure: Vec<String> = goal.buys.iter().map(Saving::words).collect();
        if !sure.is_empty() {
            reply.answer.push(format!("Bought sure instead, without proving: {}.", sure.join("; ")));
        }
    }
    reply.notes.push(match (costs.year, costs.sure) {
        (None, _) => {
            "Keeping one costs its feed and place until it breeds and is proven. Tell me what, and it is counted: \
                      \"a tub is 40 a year and food 8 a month, a sure one costs 500\"."
                .to_owned()
        }
        (Some(year), None) => format!(
            "Counted with {} a year for each, as you said. \"a sure one costs 500\" with it says which is cheaper.",
            money(year)
        ),
        (Some(year), Some(price)) => {
            format!("Counted with {} a year for each and {} for a sure one, as you said.", money(year), money(price))
        }
    });
    reply.notes.push(
        "\"how sure is\" and a name tells where one stands; \"who should I prove out first\" which first.".to_owned(),
    );
    reply
}

/// What could be bought for one goal.
pub(in crate::conversation) struct Purchase {
    pub(in crate::conversation) goal: String,
    /// Seasons booked as it stands.
    pub(in crate::conversation) seasons: u64,
    /// What the goal cannot be reached without.
    pub(in crate::conversation) missing: Vec<String>,
    /// What would save seasons.
    pub(in crate::conversation) buys: Vec<Saving>,
}

/// What to buy.
pub(in crate::conversation) fn what_to_buy(all: &[Purchase], money: Option<i64>) -> Reply {
    let mut reply = Reply { understood: "What buying in would save".to_owned(), ..Reply::default() };
    for goal in all {
        if !goal.missing.is_empty() {
            reply.answer.push(format!("{}: needed at all: {}.", goal.goal, list_of(&goal.missing)));
        }
        if goal.buys.is_empty() {
            if goal.missing.is_empty() {
                reply.answer.push(format!(
                    "{}: no single purchase saves a season; {} booked with what you have.",
                    goal.goal,
                    seasons(goal.seasons)
                ));
            }
            continue;
        }
        let each = goal.buys.iter().map(|saving| {
            let price = money.map_or_else(String::new, |cents| {
                let each = cents / 100 / i64::try_from(saving.seasons.max(1)).unwrap_or(i64::MAX);
                format!(" ({each} a season saved)")
            });
            format!("{}{price}", saving.words())
        });
        reply.answer.push(format!("{}: {}.", goal.goal, each.collect::<Vec<_>>().join("; ")));
    }
    reply.notes.push(match money {
        Some(_) => "Prices are your own to weigh; I name none. Quarantine a new animal for 90 days or more.".to_owned(),
        None => "Prices are yours: tell them (\"a visual clown female 400, a het pied male 150\") and each is weighed by what it saves. Quarantine a new animal for 90 days or more.".to_owned(),
    });
    reply
}

/// Seasons that a purchase saves towards one goal.
pub(in crate::conversation) struct Saved {
    pub(in crate::conversation) goal: String,
    pub(in crate::conversation) seasons: u64,
}

/// What the keeper can buy.
pub(in crate::conversation) struct Offered {
    pub(in crate::conversation) words: String,
    pub(in crate::conversation) cents: i64,
    /// The chance that it has what it only possibly carries.
    pub(in crate::conversation) chance: Odds,
    /// For each goal that wants something it has.
    pub(in crate::conversation) saved: Vec<Saved>,
}

impl Offered {
    fn seasons(&self) -> u64 {
        self.saved.iter().map(|s| s.seasons).sum()
    }

    /// The price of each season that it saves on average; nothing where it saves none.
    fn a_season(&self) -> Option<f64> {
        let saved = self.seasons() as f64 * to_f64(&self.chance);
        (saved > 0.0).then(|| self.cents as f64 / saved)
    }

    fn told(&self) -> String {
        let lead = format!("{} for {}", self.words, money(self.cents));
        if self.saved.is_empty() {
            return format!("{lead}: none of your goals wants what it has.");
        }
        let Some(each) = self.a_season() else {
            return format!("{lead}: saves no season.");
        };
        let of = |saved: &Saved| format!("{} saved for {}", seasons(saved.seasons), saved.goal);
        let saved: Vec<String> = self.saved.iter().filter(|s| s.seasons > 0).map(of).collect();
        #[expect(clippy::cast_possible_truncation)] // amounts of money are bounded where they are read
        let each = money((each / 100.0).round() as i64 * 100);
        if self.chance < sure() {
            return format!(
                "{lead}: if it carries ({}), {}; {each} a season on average.",
                percent(&self.chance),
                list_of(&saved)
            );
        }
        format!("{lead}: {}; {each} a season.", list_of(&saved))
    }
}

/// What can be bought, what saves most for its price first.
pub(in crate::conversation) fn offers(all: &[Offered], most: Option<i64>) -> Reply {
    let mut reply = Reply { understood: "What buying in would save, by your prices".to_owned(), ..Reply::default() };
    let dear = |offer: &Offered| most.is_some_and(|most| offer.cents > most);
    let mut order: Vec<&Offered> = all.iter().collect();
    let rank = |offer: &Offered| offer.a_season().unwrap_or(f64::INFINITY);
    order.sort_by(|a, b| dear(a).cmp(&dear(b)).then(rank(a).total_cmp(&rank(b))));
    for (n, offer) in order.iter().enumerate() {
        let over = if dear(offer) { " More than there is to spend." } else { "" };
        reply.answer.push(format!("{}. {}{over}", n + 1, offer.told()));
    }
    if let Some(most) = most {
        let fits = order.iter().any(|offer| !dear(offer) && offer.a_season().is_some());
        if !fits {
            reply.answer.push(format!("Nothing of it saves a season within {}.", money(most)));
        }
    }
    let quickest = all.iter().filter(|o| !dear(o) && o.chance == sure()).max_by_key(|o| o.seasons());
    if let (Some(first), Some(quickest)) = (order.first(), quickest)
        && quickest.seasons() > first.seasons()
    {
        reply.notes.push(format!("Quickest, whatever it costs: {}.", quickest.words));
    }
    reply.notes.push(
        "The prices are yours; I know none. Each is weighed alone: two together save less than their sum. Quarantine a new \
         animal for 90 days or more."
            .to_owned(),
    );
    reply
}

/// No animal was read where a price stands.
pub(in crate::conversation) fn buy_what(words: &str) -> Reply {
    Reply::refusal(format!(
        "I read no animal of your goals' species in \"{words}\". Say sex and genes before each price: \"a visual clown female \
         400, a het pied male 150\"."
    ))
}
