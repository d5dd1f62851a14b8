//! The rules of a project that are the same in every season: husbandry, room, money, aim.

use super::super::Maturity;
use crate::engine::inheritance::locus::Sex;
use crate::engine::odds::Odds;

/// What is aimed at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Objective {
    /// The greatest chance of the goal within the seasons.
    Chance,
    /// The fewest expected seasons; a project not done counts one more than its seasons.
    Seasons,
}

/// The most animals on sale that decisions look at.
pub const MOST_OFFERS: usize = 12;

/// What holds in every season.
#[derive(Debug, Clone)]
pub(super) struct Rules {
    pub(super) maturity: Maturity,
    pub(super) females_per_male: u32,
    pub(super) space: usize,
    pub(super) objective: Objective,
    affordable: Vec<bool>, // by set of offers
}

impl Rules {
    pub(super) fn new(
        maturity: Maturity,
        females_per_male: u32,
        space: usize,
        objective: Objective,
        prices: &[Odds],
        budget: Option<&Odds>,
    ) -> Rules {
        let in_set = |set: usize| prices.iter().enumerate().filter(move |(i, _)| set >> i & 1 == 1);
        let price = |set: usize| in_set(set).map(|(_, price)| price).sum::<Odds>();
        let affordable = |set: usize| budget.is_none_or(|budget| price(set) <= *budget);
        let n = prices.len().min(MOST_OFFERS);
        Rules { maturity, females_per_male, space, objective, affordable: (0..1usize << n).map(affordable).collect() }
    }

    /// Whether the money at the start buys all of these.
    pub(super) fn affords(&self, set: u32) -> bool {
        self.affordable.get(set as usize) == Some(&true)
    }

    /// Seasons from the coming season on until a young of this season can be paired.
    pub(super) fn wait(&self, sex: Sex) -> u32 {
        self.maturity.of(sex).saturating_sub(1)
    }

    /// The most males that can be of use where one is as good as the other.
    pub(super) fn males_of_use(&self) -> usize {
        self.space.saturating_sub(1).div_ceil(self.females_per_male.max(1) as usize).max(1)
    }

    /// The most females that can be of use: one tub is a male's.
    pub(super) fn females_of_use(&self) -> usize {
        self.space.saturating_sub(1).max(1)
    }

    /// Whether the first forecast is better than the second; both say the chance to be done by each season left.
    pub(super) fn is_better(&self, a: &[f64], b: &[f64]) -> bool {
        // Below this, differences are rounding.
        const SAME: f64 = 1e-13;
        let last = |f: &[f64]| f.last().copied().unwrap_or(0.0);
        let sum = |f: &[f64]| f.iter().sum::<f64>();
        let [first, second] = match self.objective {
            Objective::Chance => [last(a) - last(b), sum(a) - sum(b)],
            Objective::Seasons => [sum(a) - sum(b), last(a) - last(b)],
        };
        first > SAME || first > -SAME && second > SAME
    }
}
