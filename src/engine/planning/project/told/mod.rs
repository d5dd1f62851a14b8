//! Exact decisions where every genotype is told: the best chance of every state that can come, each solved once.
//!
//! States are reduced to what matters: animals that can no longer lead to the goal in the seasons left, and those that
//! enough others equal or beat, are left out. While something on sale can still be bought, they matter: they fill tubs,
//! and their young, more than there is room for, are what allows to empty one. Then nothing is left out
//! ([`Care::Full`]), or they count as tubs filled ([`Care::Tubs`]), which is quicker and nearly exact. Values are forecasts: the chance to be done by each season left, under the best decisions.

mod hatch; // what a season's clutches bring
mod pairings; // who can go to whom
mod potential; // how hopeful a state is, without looking at those after it

use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::hope::{Hoping, in_time};
use super::merit::Merit;
use super::rules::Rules;
use super::world::{Litter, World};
use crate::engine::inheritance::locus::Sex;
use crate::engine::planning::Tell;

use hatch::Clutch;

/// The search was stopped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Cut;

/// An animal in one number: sex, seasons until it can be paired, kind. Sorted, animals are by sex, then by wait.
pub(super) type Code = u32;

const MALE: u32 = 1 << 31;
const WAIT_AT: u32 = 20;
const KIND: u32 = (1 << WAIT_AT) - 1;
/// The longest wait that fits; far beyond any project's seasons.
const MOST_WAIT: u32 = (1 << 11) - 1;

pub(super) fn code(sex: Sex, wait: u32, kind: u64) -> Code {
    let male = if sex == Sex::Male { MALE } else { 0 };
    // A world has at most 2^13 kinds.
    male | wait.min(MOST_WAIT) << WAIT_AT | u32::try_from(kind).unwrap_or(KIND)
}

fn is_male(code: Code) -> bool {
    code & MALE != 0
}

fn wait(code: Code) -> u32 {
    (code & !MALE) >> WAIT_AT
}

fn kind(code: Code) -> u64 {
    (code & KIND).into()
}

fn kind_index(code: Code) -> usize {
    (code & KIND) as usize
}

/// One season later.
fn aged(code: Code) -> Code {
    if wait(code) > 0 { code - (1 << WAIT_AT) } else { code }
}

/// An animal on sale.
#[derive(Debug, Clone, Copy)]
pub(super) struct OnSale {
    pub(super) sex: Sex,
    pub(super) kind: u64,
    /// Seasons from the start until it can be paired.
    pub(super) ready: u32,
}

/// How animals of no use are treated while something is on sale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Care {
    /// Like all others.
    Full,
    /// As filled tubs.
    Tubs,
}

/// How far a search looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Reach {
    /// How animals of no use are treated while something is on sale.
    pub(super) care: Care,
    /// At most so many choices of whom to hold are followed, those of the greatest potential.
    pub(super) choices: usize,
    /// After so many seasons the potential is taken for the chance.
    pub(super) seasons: u32,
    /// Beyond so many different outcomes of a season, so many drawn ones are looked at instead; 0 is never.
    pub(super) draws: usize,
}

impl Reach {
    /// Everything is looked at.
    pub(super) const EXACT: Reach = Reach { care: Care::Full, choices: usize::MAX, seasons: u32::MAX, draws: 0 };
}

/// Before a season: who is there, what has been bought.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct State {
    /// Seasons left, this one included.
    pub(super) left: u32,
    /// The offers bought so far.
    pub(super) sold: u32,
    /// Tubs filled by animals of no use.
    pub(super) filled: usize,
    /// Animals of use, sorted.
    pub(super) animals: Vec<Code>,
}

/// What to do in a season.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Action {
    /// The offers to buy.
    pub(super) buy: u32,
    /// Male and female; numbers as at the start of the season, of what is bought too.
    pub(super) pairs: Vec<(Code, Code)>,
}

/// A forecast in the store: the chance to be done by each season left.
pub(super) type Value = Rc<[f64]>;

/// The solver of one project.
pub(super) struct Told<'a> {
    pub(super) world: &'a World,
    pub(super) merit: &'a Merit,
    pub(super) rules: &'a Rules,
    on_sale: &'a [OnSale],
    pub(super) seasons: u32,
    pub(super) reach: Reach,
    pub(super) last: u32, // seasons left at which the potential is taken
    go_on: &'a mut dyn FnMut() -> bool,
    work: u64,
    values: FxHashMap<State, Value>,
    held: FxHashMap<State, Value>,
    litters: FxHashMap<(u64, u64), Rc<Litter>>,
    clutches: FxHashMap<(u64, u64, u32, bool), Rc<Clutch>>,
    hoping: Hoping<'a>,
    potentials: FxHashMap<State, Value>,
}

/// The caller is asked whether to go on after so much work.
const ASK_EVERY: u64 = 1 << 12;

impl<'a> Told<'a> {
    pub(super) fn new(
        world: &'a World,
        merit: &'a Merit,
        rules: &'a Rules,
        on_sale: &'a [OnSale],
        seasons: u32,
        reach: Reach,
        go_on: &'a mut dyn FnMut() -> bool,
    ) -> Told<'a> {
        Told {
            world,
            merit,
            rules,
            on_sale,
            seasons,
            reach,
            last: seasons.saturating_sub(reach.seasons),
            go_on,
            work: 0,
            values: FxHashMap::default(),
            held: FxHashMap::default(),
            litters: FxHashMap::default(),
            clutches: FxHashMap::default(),
            hoping: Hoping::new(world, merit, rules.maturity, rules.females_per_male, Tell::Genotype),
            potentials: FxHashMap::default(),
        }
    }

    /// The state of these animals at the start of a season.
    pub(super) fn state(&self, left: u32, sold: u32, mut animals: Vec<Code>) -> State {
        let filled = self.reduce_with(&mut animals, left, self.is_shopping(left, sold));
        State { left, sold, filled, animals }
    }

    /// What to do, and the forecast if it and the best afterwards is done.
    pub(super) fn best(&mut self, state: &State) -> Result<(Action, Value), Cut> {
        let mut best: Option<(Action, Value)> = None;
        let room = self.rules.space.saturating_sub(state.animals.len() + state.filled);
        for buy in self.purchases(state.left, state.sold, room) {
            let mut animals = state.animals.clone();
            animals.extend(self.bought(buy, state.left));
            animals.sort_unstable();
            let sold = state.sold | buy;
            let shopping = self.is_shopping(state.left.saturating_sub(1), sold);
            let filled = state.filled + self.reduce_with(&mut animals, state.left, shopping);
            for pairs in self.pairings(&animals, state.left, shopping) {
                let value = self.after(state.left, sold, filled, &animals, &pairs)?;
                if best.as_ref().is_none_or(|(_, known)| self.rules.is_better(&value, known)) {
                    best = Some((Action { buy, pairs }, value));
                }
            }
        }
        // There is always the choice to buy nothing and to pair nobody.
        Ok(best.unwrap_or_else(|| (Action::default(), vec![0.0; state.left as usize].into())))
    }

    /// The forecast of a state under the best decisions.
    fn value(&mut self, state: State) -> Result<Value, Cut> {
        if state.left == 0 {
            return Ok(Value::from([]));
        }
        if let Some(known) = self.values.get(&state) {
            return Ok(Rc::clone(known));
        }
        self.worked(1)?;
        if state.left <= self.last {
            return Ok(self.potential(&state));
        }
        let (_, value) = self.best(&state)?;
        self.values.insert(state, Rc::clone(&value));
        Ok(value)
    }

    /// The forecast of pairing these, with the best decisions afterwards.
    fn after(
        &mut self,
        left: u32,
        sold: u32,
        filled: usize,
        animals: &[Code],
        pairs: &[(Code, Code)],
    ) -> Result<Value, Cut> {
        let next = left - 1;
        let shopping = self.is_shopping(next, sold);
        let mut older: Vec<Code> = animals.iter().map(|code| aged(*code)).collect();
        older.sort_unstable();
        let filled = filled + self.reduce_with(&mut older, next, shopping);
        let outcomes = self.outcomes(pairs, &older, next, shopping)?;
        let mut value = vec![0.0; left as usize];
        let mut not_yet = 0.0;
        for (young, of_no_use, chance) in outcomes {
            not_yet += chance;
            if next > 0 {
                let mut at_hand = older.clone();
                at_hand.extend(&young);
                at_hand.sort_unstable();
                let filled = if shopping { filled + of_no_use } else { 0 };
                let then = self.hold(next, sold, filled, at_hand)?;
                for (season, done) in value.iter_mut().skip(1).zip(then.iter()) {
                    *season += chance * done;
                }
            }
        }
        for season in &mut value {
            *season += 1.0 - not_yet;
        }
        Ok(value.into())
    }

    /// The forecast of the best animals to hold out of those at hand; `left` counts from the coming season.
    fn hold(&mut self, left: u32, sold: u32, filled: usize, mut at_hand: Vec<Code>) -> Result<Value, Cut> {
        let filled = filled + self.reduce_with(&mut at_hand, left, self.is_shopping(left, sold));
        if at_hand.len() + filled <= self.rules.space {
            return self.value(State { left, sold, filled, animals: at_hand });
        }
        let question = State { left, sold, filled: 0, animals: at_hand };
        if let Some(known) = self.held.get(&question) {
            return Ok(Rc::clone(known));
        }
        let (_, value) = self.choose(&question)?;
        self.held.insert(question, Rc::clone(&value));
        Ok(value)
    }

    /// Whom to hold, and the forecast then. The question's animals are those at hand, more than there is room for.
    pub(super) fn choose(&mut self, question: &State) -> Result<(Vec<Code>, Value), Cut> {
        let State { left, sold, animals, .. } = question;
        let fewest = if self.is_shopping(*left, *sold) { 0 } else { self.rules.space.min(animals.len()) };
        let mut best: Option<(Vec<Code>, Value)> = None;
        for held in self.promising(*left, *sold, self.choices(animals, fewest)) {
            let state = self.state(*left, *sold, held.clone());
            let value = self.value(State { filled: 0, ..state })?;
            if best.as_ref().is_none_or(|(_, known)| self.rules.is_better(&value, known)) {
                best = Some((held, value));
            }
        }
        Ok(best.unwrap_or_else(|| (Vec::new(), vec![0.0; *left as usize].into())))
    }

    /// The choices of the greatest potential.
    fn promising(&mut self, left: u32, sold: u32, choices: Vec<Vec<Code>>) -> Vec<Vec<Code>> {
        if choices.len() <= self.reach.choices {
            return choices;
        }
        let mut valued: Vec<(Value, Vec<Code>)> = Vec::with_capacity(choices.len());
        for held in choices {
            let state = self.state(left, sold, held.clone());
            valued.push((self.potential(&State { filled: 0, ..state }), held));
        }
        let rules = self.rules;
        // The sort is stable, so equals stay in the order of the choices.
        valued.sort_by(|(a, _), (b, _)| rules.is_better(b, a).cmp(&rules.is_better(a, b)));
        valued.truncate(self.reach.choices);
        valued.into_iter().map(|(_, held)| held).collect()
    }

    /// All choices of animals to hold that are not plainly worse than another.
    fn choices(&self, animals: &[Code], fewest: usize) -> Vec<Vec<Code>> {
        let mut distinct: Vec<(Code, usize)> = Vec::new();
        for &animal in animals {
            match distinct.last_mut() {
                Some((known, n)) if *known == animal => *n += 1,
                _ => distinct.push((animal, 1)),
            }
        }
        // The better before the worse, so that a worse one is only taken once all better ones are.
        let beats = |a: Code, b: Code| a != b && self.beats(a, b);
        let rank = |code: Code| distinct.iter().filter(|(other, _)| beats(*other, code)).count();
        let mut in_order: Vec<(Code, usize)> = distinct.clone();
        in_order.sort_by_key(|(code, _)| (rank(*code), *code));
        let mut found = Vec::new();
        let mut taken = vec![0; in_order.len()];
        self.choose_from(&in_order, 0, self.rules.space, fewest, &mut taken, &mut found);
        found
    }

    fn choose_from(
        &self,
        in_order: &[(Code, usize)],
        i: usize,
        room: usize,
        fewest: usize,
        taken: &mut Vec<usize>,
        found: &mut Vec<Vec<Code>>,
    ) {
        let Some(&(code, n)) = in_order.get(i) else {
            let held: Vec<Code> =
                in_order.iter().zip(&*taken).flat_map(|((code, _), n)| std::iter::repeat_n(*code, *n)).collect();
            if held.len() >= fewest {
                found.push(held);
            }
            return;
        };
        let left_behind = |j: usize| taken[j] < in_order[j].1 && self.beats(in_order[j].0, code);
        let most = if (0..i).any(left_behind) { 0 } else { n.min(room) };
        for take in (0..=most).rev() {
            taken[i] = take;
            self.choose_from(in_order, i + 1, room - take, fewest, taken, found);
        }
        taken[i] = 0;
    }

    /// Whether the first animal does whatever the second does: same sex, ready no later, at least as good a kind.
    fn beats(&self, a: Code, b: Code) -> bool {
        is_male(a) == is_male(b) && wait(a) <= wait(b) && self.merit.at_least(kind_index(a), kind_index(b))
    }

    /// Drops animals of no use: those that cannot lead to the goal in time, and those that enough others beat. Gives
    /// how many.
    fn reduce(&self, animals: &mut Vec<Code>, left: u32) -> usize {
        let before = animals.len();
        animals.retain(|animal| self.is_in_time(*animal, left));
        let mut i = 0;
        while i < animals.len() {
            let own = animals[i];
            let enough = if is_male(own) { self.rules.males_of_use() } else { self.rules.females_of_use() };
            let others = animals.iter().enumerate();
            // Of two that beat each other, the later in the list counts as beaten.
            let better =
                others.filter(|&(j, &other)| j != i && self.beats(other, own) && (j < i || !self.beats(own, other)));
            if better.count() >= enough {
                animals.remove(i);
                i = 0;
            } else {
                i += 1;
            }
        }
        before - animals.len()
    }

    /// The same, as far as care allows. Gives how many tubs of no use are to be counted.
    fn reduce_with(&self, animals: &mut Vec<Code>, left: u32, shopping: bool) -> usize {
        match (shopping, self.reach.care) {
            (true, Care::Full) => 0,
            (true, Care::Tubs) => self.reduce(animals, left),
            (false, _) => {
                self.reduce(animals, left);
                0
            }
        }
    }

    /// Whether an animal can lead to the goal in the seasons left.
    fn is_in_time(&self, animal: Code, left: u32) -> bool {
        self.in_time(wait(animal), self.merit.crossings(kind_index(animal)), left)
    }

    /// Whether an animal so many crossings from the goal can lead to it in the seasons left.
    pub(super) fn in_time(&self, wait: u32, crossings: u32, left: u32) -> bool {
        in_time(self.rules.maturity, wait, crossings, left)
    }

    /// Whether something can still be bought that may be of use.
    pub(super) fn is_shopping(&self, left: u32, sold: u32) -> bool {
        (0..self.on_sale.len()).any(|i| {
            let set = 1u32 << i;
            // Bought later it is no older than bought now, so what is too late now is too late for good.
            sold & set == 0
                && self.rules.affords(sold | set)
                && self.bought(set, left).next().is_some_and(|animal| self.is_in_time(animal, left))
        })
    }

    /// Sets of offers that can be bought now.
    pub(super) fn purchases(&self, left: u32, sold: u32, room: usize) -> Vec<u32> {
        let in_time = |i: usize| {
            let set = 1u32 << i;
            sold & set == 0 && self.bought(set, left).all(|animal| self.is_in_time(animal, left))
        };
        let of_use: u32 = (0..self.on_sale.len()).filter(|i| in_time(*i)).map(|i| 1u32 << i).sum();
        let mut sets = vec![0];
        let mut set = of_use;
        // All subsets of `of_use`, from itself down to 0.
        while set != 0 {
            if set.count_ones() as usize <= room && self.rules.affords(sold | set) {
                sets.push(set);
            }
            set = (set - 1) & of_use;
        }
        sets
    }

    /// The animals of a set of offers, as they stand with so many seasons left.
    pub(super) fn bought(&self, set: u32, left: u32) -> impl Iterator<Item = Code> {
        let elapsed = self.seasons.saturating_sub(left);
        let chosen = self.on_sale.iter().enumerate().filter(move |(i, _)| set >> i & 1 == 1);
        chosen.map(move |(_, offer)| code(offer.sex, offer.ready.saturating_sub(elapsed), offer.kind))
    }

    fn litter(&mut self, sire: u64, dam: u64) -> Rc<Litter> {
        let world = self.world;
        Rc::clone(self.litters.entry((sire, dam)).or_insert_with(|| Rc::new(world.litter(sire, dam))))
    }

    pub(super) fn worked(&mut self, n: u64) -> Result<(), Cut> {
        self.work += n;
        if self.work >= ASK_EVERY {
            self.work = 0;
            if !(self.go_on)() {
                return Err(Cut);
            }
        }
        Ok(())
    }
}
