//! Potentials: an optimistic chance of the goal within the seasons left, without looking at single states.
//!
//! Each kind of animal has a chance to be there by each season. A pair of kinds tries from when both are there, and
//! succeeds for each kind of young on its own, where at least as good counts as well. Different females at hand work side by side; of the males a
//! female can go to, the best counts, and of the mates not yet at hand the best. Tubs are of no account. Potentials are for
//! choosing; what is said to people comes from states and their chances.

use std::rc::Rc;

use super::{Code, State, Told, Value, code, is_male, kind, wait};
use crate::engine::inheritance::locus::Sex;

/// What one clutch of two kinds can bring: for each kind the chance that none at least as good comes.
#[derive(Debug)]
pub(super) struct Prospects {
    goal: f64,
    young: Vec<(Sex, u64, f64)>,
}

/// A kind that is there with some chance.
struct Hope {
    sex: Sex,
    kind: u64,
    /// The season from which one is owned and ready.
    owned: Option<usize>,
    /// How many are owned.
    n: usize,
    /// Females at hand work side by side, each kind under its own number; 0 is all others.
    side: usize,
    /// Seasons from hatching until it can be paired.
    grows: usize,
    /// The chance that one has hatched, by season.
    hatched: Vec<f64>,
    is_met: bool,
}

impl Hope {
    /// The chance that one can be paired in a season.
    fn by(&self, season: usize) -> f64 {
        if self.owned.is_some_and(|ready| ready <= season) {
            return 1.0;
        }
        season.checked_sub(self.grows).and_then(|at| self.hatched.get(at)).copied().unwrap_or(0.0)
    }
}

/// A pair of kinds that tries for the goal and for each kind of young.
struct Trying {
    male: usize,
    female: usize,
    /// The chance that both are there.
    together: f64,
    /// First the goal, then the young.
    wishes: Vec<Wish>,
}

struct Wish {
    /// Which hope it is; the goal if none.
    hope: Option<usize>,
    /// The chance that none comes in one clutch.
    none: f64,
    open: f64,
    done: f64,
}

impl Told<'_> {
    /// The potential of a state, with the most hopeful purchases.
    pub(in crate::engine::planning::project) fn potential(&mut self, state: &State) -> Value {
        if let Some(known) = self.potentials.get(state) {
            return Rc::clone(known);
        }
        let room = self.rules.space.saturating_sub(state.animals.len() + state.filled);
        let mut best: Option<Value> = None;
        for buy in self.purchases(state.left, state.sold, room) {
            let mut animals = state.animals.clone();
            animals.extend(self.bought(buy, state.left));
            let value: Value = self.hope(&animals, state.left).into();
            if best.as_ref().is_none_or(|known| self.rules.is_better(&value, known)) {
                best = Some(value);
            }
        }
        let best = best.unwrap_or_else(|| vec![0.0; state.left as usize].into());
        self.potentials.insert(state.clone(), Rc::clone(&best));
        best
    }

    fn prospects(&mut self, sire: u64, dam: u64) -> Rc<Prospects> {
        if let Some(known) = self.prospects.get(&(sire, dam)) {
            return Rc::clone(known);
        }
        let litter = self.litter(sire, dam);
        let none = |share: f64| 1.0 - self.world.some(share);
        let of_kind = |young: &super::super::world::Young| {
            let own = code(young.sex, 0, young.code);
            let as_good = litter.young.iter().filter(|other| self.beats(code(other.sex, 0, other.code), own));
            (young.sex, young.code, none(as_good.map(|other| other.share).sum()))
        };
        let prospects =
            Rc::new(Prospects { goal: none(litter.goal), young: litter.young.iter().map(of_kind).collect() });
        self.prospects.insert((sire, dam), Rc::clone(&prospects));
        prospects
    }

    /// The hope for the goal by each season, from these animals.
    fn hope(&mut self, animals: &[Code], left: u32) -> Vec<f64> {
        let mut hopes: Vec<Hope> = Vec::new();
        let mut sides = 1;
        for &animal in animals {
            let sex = if is_male(animal) { Sex::Male } else { Sex::Female };
            let i = self.find(&mut hopes, sex, kind(animal));
            let ready = wait(animal) as usize;
            let hope = &mut hopes[i];
            hope.owned = Some(hope.owned.map_or(ready, |known| known.min(ready)));
            hope.n += 1;
            if sex == Sex::Female && hope.side == 0 {
                hope.side = sides;
                sides += 1;
            }
        }
        let mut trying: Vec<Trying> = Vec::new();
        let mut goal = Vec::with_capacity(left as usize);
        for season in 0..left as usize {
            for i in 0..hopes.len() {
                if !hopes[i].is_met && hopes[i].by(season) > 0.0 {
                    self.meet(&mut hopes, i, season, left, &mut trying);
                }
            }
            for pair in &mut trying {
                self.try_once(pair, &hopes, season);
            }
            // The best pair of each side counts, and the sides are independent.
            let mut best = vec![0.0f64; (hopes.len() + 1) * sides];
            for pair in &trying {
                let side = hopes[pair.female].side;
                for wish in &pair.wishes {
                    let at = wish.hope.map_or(0, |hope| hope + 1) * sides + side;
                    best[at] = best[at].max(wish.done);
                }
            }
            let come = |of: usize| 1.0 - best[of * sides..][..sides].iter().map(|done| 1.0 - done).product::<f64>();
            goal.push(come(0));
            for (i, hope) in hopes.iter_mut().enumerate() {
                hope.hatched.resize(season, 0.0);
                hope.hatched.push(come(i + 1));
            }
        }
        goal
    }

    /// The number of a kind's hope, a new one if there is none.
    fn find(&self, hopes: &mut Vec<Hope>, sex: Sex, kind: u64) -> usize {
        if let Some(known) = hopes.iter().position(|hope| hope.sex == sex && hope.kind == kind) {
            return known;
        }
        let grows = self.rules.maturity.of(sex).max(1) as usize;
        hopes.push(Hope { sex, kind, owned: None, n: 0, side: 0, grows, hatched: Vec::new(), is_met: false });
        hopes.len() - 1
    }

    /// Pairs a kind that is there for the first time with all of the other sex that have been there before.
    fn meet(&mut self, hopes: &mut Vec<Hope>, i: usize, season: usize, left: u32, trying: &mut Vec<Trying>) {
        hopes[i].is_met = true;
        for j in 0..hopes.len() {
            if !hopes[j].is_met || hopes[j].sex == hopes[i].sex {
                continue;
            }
            let (male, female) = if hopes[i].sex == Sex::Male { (i, j) } else { (j, i) };
            let prospects = self.prospects(hopes[male].kind, hopes[female].kind);
            let mut wishes = Vec::with_capacity(prospects.young.len() + 1);
            if prospects.goal < 1.0 {
                wishes.push(Wish { hope: None, none: prospects.goal, open: 0.0, done: 0.0 });
            }
            for &(sex, kind, none) in &prospects.young {
                let grown =
                    u32::try_from(season).unwrap_or(u32::MAX).saturating_add(self.rules.maturity.of(sex).max(1));
                if self.is_in_time(code(sex, grown, kind), left) {
                    let hope = Some(self.find(hopes, sex, kind));
                    wishes.push(Wish { hope, none, open: 0.0, done: 0.0 });
                }
            }
            if !wishes.is_empty() {
                trying.push(Trying { male, female, together: 0.0, wishes });
            }
        }
    }

    /// One season of a pair.
    fn try_once(&self, pair: &mut Trying, hopes: &[Hope], season: usize) {
        let (male, female) = (&hopes[pair.male], &hopes[pair.female]);
        let together = male.by(season) * female.by(season);
        let new = together - pair.together;
        pair.together = together;
        let served = male.n.max(1).saturating_mul(self.rules.females_per_male as usize);
        let clutches = i32::try_from(female.n.min(served).max(1)).unwrap_or(1);
        for wish in &mut pair.wishes {
            wish.open += new;
            let success = wish.open * (1.0 - wish.none.powi(clutches));
            wish.open -= success;
            wish.done += success;
        }
    }
}
