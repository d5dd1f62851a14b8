//! Hopes: an optimistic chance of a goal within the seasons left, without looking at single states.
//!
//! Each kind of animal has a chance to be there by each season. A pair of kinds tries from when both are there, and
//! succeeds for each kind of young on its own, where at least as good counts as well. Different females at hand work side by side; of the males a
//! female can go to, the best counts, and of the mates not yet at hand the best. Tubs are of no account. An animal that
//! may be of several kinds is there as each of them with its chance. Hopes are for
//! choosing; what is said to people comes from states and their chances, or from crosses.

use std::sync::Arc;

use rustc_hash::FxHashMap;

use super::super::{Maturity, Tell};
use super::lines::{Line, Lines};
use super::merit::{Merit, NEVER};
use super::world::World;
use crate::engine::inheritance::locus::Sex;

/// An animal at hand that is of a kind with some chance.
#[derive(Debug, Clone, Copy)]
pub(in crate::engine::planning) struct AtHand {
    pub(in crate::engine::planning) sex: Sex,
    pub(in crate::engine::planning) kind: u64,
    /// Seasons until it can be paired.
    pub(in crate::engine::planning) ready: u32,
    /// The chance that it is of this kind.
    pub(in crate::engine::planning) chance: f64,
    pub(in crate::engine::planning) line: Line,
}

/// What comes of the first season, where its pairs are chosen by somebody else.
#[derive(Debug, Clone, Default)]
pub(in crate::engine::planning) struct First {
    /// The chance of the goal.
    pub(in crate::engine::planning) goal: f64,
    /// The chance that a young at least as good as this kind hatches, of this line.
    pub(in crate::engine::planning) young: Vec<(Sex, u64, Line, f64)>,
}

/// What one clutch of two kinds can bring.
#[derive(Debug)]
pub(in crate::engine::planning) struct Prospects {
    /// The chance that no goal comes.
    pub(in crate::engine::planning) goal: f64,
    /// Those that lead to the goal soonest come first.
    pub(in crate::engine::planning) young: Vec<Prospect>,
}

/// A kind of young that a clutch can bring.
#[derive(Debug, Clone, Copy)]
pub(in crate::engine::planning) struct Prospect {
    pub(in crate::engine::planning) sex: Sex,
    pub(in crate::engine::planning) kind: u64,
    /// The chance that none at least as good comes.
    pub(in crate::engine::planning) none: f64,
    /// Seasons from hatching to the goal at best, both included.
    pub(in crate::engine::planning) takes: u32,
}

/// Young that look alike, by their shares of the hatchlings.
struct Alike {
    all: f64,
    /// At least as good as what is looked for.
    good: f64,
    /// Those that end the project.
    ending: f64,
    good_ending: f64,
}

impl Alike {
    fn and(&self, other: &Alike, by: impl Fn(f64, f64) -> f64) -> Alike {
        Alike {
            all: by(self.all, other.all),
            good: by(self.good, other.good),
            ending: by(self.ending, other.ending),
            good_ending: by(self.good_ending, other.good_ending),
        }
    }
}

/// A kind that is there with some chance.
struct Hope {
    sex: Sex,
    kind: u64,
    line: Line,
    /// Those owned: the season from which some can be paired, and the chance that none of them is of this kind.
    owned: Vec<(usize, f64)>,
    /// How many are owned, by their chances.
    n: f64,
    /// Females at hand work side by side, each kind under its own number; 0 is all others.
    side: usize,
    /// Seasons from hatching until it can be paired.
    grows: usize,
    /// The chance that one has hatched, by season.
    hatched: Vec<f64>,
    /// How many females the males at hand that are at least as good can serve.
    served: usize,
    is_met: bool,
}

impl Hope {
    /// The chance that one can be paired in a season.
    fn by(&self, season: usize) -> f64 {
        let here = self.owned.iter().filter(|(ready, _)| *ready <= season);
        let owned = 1.0 - here.map(|(_, none)| none).product::<f64>();
        let hatched = season.checked_sub(self.grows).and_then(|at| self.hatched.get(at)).copied().unwrap_or(0.0);
        owned + (1.0 - owned) * hatched
    }

    fn own(&mut self, ready: usize, chance: f64) {
        self.n += chance;
        match self.owned.iter_mut().find(|known| known.0 == ready) {
            Some(known) => known.1 *= 1.0 - chance,
            None => self.owned.push((ready, 1.0 - chance)),
        }
    }

    /// How many are surely owned.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most as many as there are animals
    fn n(&self) -> usize {
        // A sum of thirds may fall a little short of a whole number.
        (self.n + 1e-9) as usize
    }
}

/// A pair of kinds that tries for the goal and for each kind of young.
struct Trying {
    male: usize,
    female: usize,
    /// The chance that both are there.
    together: f64,
    /// How many wishes it has; they stand one after another, pair by pair.
    wishes: usize,
}

/// What a pair tries for: the goal or a kind of young, on one side.
struct Wish {
    /// Its place among the best: the number of its hope and one, the goal's is 0, times the sides, and its side.
    at: usize,
    /// The chance that none comes in the clutches of a season.
    none: f64,
    open: f64,
    done: f64,
}

/// Room for one hope after another, so that none is asked for anew.
#[derive(Default)]
struct Room {
    trying: Vec<Trying>,
    wishes: Vec<Wish>,
    now: Vec<f64>,
    best: Vec<f64>,
}

/// Hopes of one goal.
pub(in crate::engine::planning) struct Hoping<'a> {
    world: &'a World,
    merit: &'a Merit,
    maturity: Maturity,
    females_per_male: u32,
    tell: Tell,
    /// The kinds that are hoped for; all where none are named.
    rungs: Option<Arc<[(Sex, u64)]>>,
    prospects: Vec<Prospects>,
    numbers: FxHashMap<(u64, u64), usize>, // of a pair's prospects
    /// By kind and sex, the number of its hope while one hope is worked out; of lines that are watched, by line as well.
    places: Vec<u32>,
    places_of_lines: FxHashMap<(usize, Line), u32>,
    pub(super) lines: Lines<'a>,
    room: Room,
}

/// No hope yet.
const NOBODY: u32 = u32::MAX;

/// The seasons that it takes at best to the goal from an animal so many crossings from it, after a wait.
fn seasons(maturity: Maturity, wait: u32, crossings: u32) -> u32 {
    // Between two crossings lies a generation, and at least a season.
    let generation = maturity.female.min(maturity.male).max(1);
    let between = crossings.saturating_sub(1).saturating_mul(generation);
    wait.saturating_add(between).saturating_add(1)
}

/// Whether an animal so many crossings from the goal can lead to it in the seasons left.
pub(super) fn in_time(maturity: Maturity, wait: u32, crossings: u32, left: u32) -> bool {
    seasons(maturity, wait, crossings) <= left && crossings > 0
}

impl<'a> Hoping<'a> {
    pub(in crate::engine::planning) fn new(
        world: &'a World,
        merit: &'a Merit,
        maturity: Maturity,
        females_per_male: u32,
        tell: Tell,
    ) -> Hoping<'a> {
        Hoping {
            world,
            merit,
            maturity,
            females_per_male,
            tell,
            rungs: None,
            prospects: Vec::new(),
            numbers: FxHashMap::default(),
            places: Vec::new(),
            places_of_lines: FxHashMap::default(),
            lines: Lines::default(),
            room: Room::default(),
        }
    }

    /// Hopes for young of these kinds alone, and for no pair of too close lines.
    pub(super) fn within(mut self, rungs: Option<Arc<[(Sex, u64)]>>, lines: Lines<'a>) -> Self {
        self.rungs = rungs;
        self.lines = lines;
        self
    }

    /// Whether the first kind is at least as good as the second.
    pub(in crate::engine::planning) fn at_least(&self, a: u64, b: u64) -> bool {
        self.merit.at_least(index(a), index(b))
    }

    /// Seasons from the hatching of such a young to the goal at best, both included; [`NEVER`] if it leads nowhere.
    fn takes(&self, sex: Sex, kind: u64) -> u32 {
        match self.merit.crossings(index(kind)) {
            0 | NEVER => NEVER,
            crossings => seasons(self.maturity, self.maturity.of(sex).max(1), crossings),
        }
    }

    /// Whether a young of this season can lead to the goal; `left` seasons, this one included.
    pub(in crate::engine::planning) fn is_of_use(&self, sex: Sex, kind: u64, left: u32) -> bool {
        self.takes(sex, kind) <= left
    }

    /// What a clutch of two kinds brings.
    pub(in crate::engine::planning) fn prospects(&mut self, sire: u64, dam: u64) -> &Prospects {
        let number = self.number(sire, dam);
        &self.prospects[number]
    }

    fn number(&mut self, sire: u64, dam: u64) -> usize {
        if let Some(known) = self.numbers.get(&(sire, dam)) {
            return *known;
        }
        let of = |(sex, kind): (Sex, u64)| {
            let takes = self.takes(sex, kind);
            let none = if takes == NEVER { 1.0 } else { self.none(sire, dam, sex, kind) };
            (none < 1.0).then_some(Prospect { sex, kind, none, takes })
        };
        let mut young: Vec<Prospect> = match &self.rungs {
            Some(rungs) => rungs.iter().copied().filter_map(of).collect(),
            None => self.world.litter(sire, dam).young.iter().filter_map(|young| of((young.sex, young.code))).collect(),
        };
        young.sort_by_key(|one| one.takes);
        self.prospects.push(Prospects { goal: 1.0 - self.world.some(self.world.goal(sire, dam)), young });
        self.numbers.insert((sire, dam), self.prospects.len() - 1);
        self.prospects.len() - 1
    }

    /// The chance that a clutch of two kinds holds none at least as good as a kind that can be told; those that end the
    /// project are left aside.
    pub(in crate::engine::planning) fn none(&self, sire: u64, dam: u64, sex: Sex, kind: u64) -> f64 {
        let alike = self.alike(sire, dam, sex, kind);
        if self.tell == Tell::Genotype {
            return 1.0 - self.world.some(alike.iter().map(|look| look.good).sum());
        }
        // Of those that look alike one is kept, and it is one of the good ones with their share of the look.
        let sure: f64 = alike.iter().filter(|look| look.good >= look.all).map(|look| look.good).sum();
        let open = alike.iter().filter(|look| look.good < look.all);
        let missed = open.map(|look| 1.0 - self.world.some(look.all) * look.good / look.all);
        (1.0 - self.world.some(sure)) * missed.product::<f64>()
    }

    /// The young of two kinds, look by look, as far as some are at least as good as a kind.
    fn alike(&self, sire: u64, dam: u64, sex: Sex, kind: u64) -> Vec<Alike> {
        let kinds = &self.world.kinds;
        let share = kinds.open_share_of(sex);
        let ends = if kinds.missing.is_empty() && self.world.is_sex_wanted(sex) { share } else { 0.0 };
        let mut alike = vec![Alike { all: share, good: share, ending: ends, good_ending: ends }];
        let mut here: Vec<(u64, Alike)> = Vec::new();
        for (i, locus) in kinds.loci().iter().enumerate() {
            let [sire, dam, least] = [sire, dam, kind].map(|kind| u8::try_from(locus.number(kind)).unwrap_or(0));
            here.clear();
            for child in &locus.give(sire, dam, sex).keepers {
                let number = locus.number(child.code);
                let look = locus.look(number);
                let is_good = self.merit.at_least_at(i, u8::try_from(number).unwrap_or(0), least);
                let share = |counts: bool| if counts { child.share } else { 0.0 };
                let wanted = locus.wanted[number];
                let one = Alike {
                    all: child.share,
                    good: share(is_good),
                    ending: share(wanted),
                    good_ending: share(is_good && wanted),
                };
                match here.iter_mut().find(|known| known.0 == look) {
                    Some(known) => known.1 = known.1.and(&one, |a, b| a + b),
                    None => here.push((look, one)),
                }
            }
            here.retain(|(_, one)| one.good > 0.0);
            let joined = alike.iter().flat_map(|one| here.iter().map(|(_, other)| one.and(other, |a, b| a * b)));
            alike = joined.collect();
        }
        for look in &mut alike {
            look.good -= look.good_ending;
            look.all -= look.ending;
        }
        alike.retain(|look| look.good > 0.0);
        alike
    }

    /// The hope for the goal by each season, from these animals; `first` is what this season brings, where that is
    /// settled.
    pub(in crate::engine::planning) fn hope(
        &mut self,
        animals: &[AtHand],
        left: u32,
        first: Option<&First>,
    ) -> Vec<f64> {
        let mut hopes: Vec<Hope> = Vec::new();
        self.places.fill(NOBODY);
        self.places_of_lines.clear();
        let mut sides = 1;
        for animal in animals.iter().filter(|animal| animal.chance > 0.0) {
            let i = self.find(&mut hopes, animal.sex, animal.kind, animal.line);
            let hope = &mut hopes[i];
            hope.own(animal.ready as usize, animal.chance);
            if animal.sex == Sex::Female && hope.side == 0 {
                hope.side = sides;
                sides += 1;
            }
        }
        self.serve(&mut hopes);
        for &(sex, kind, line, chance) in first.iter().flat_map(|first| &first.young) {
            let i = self.find(&mut hopes, sex, kind, line);
            hopes[i].hatched = vec![chance];
        }
        let here = hopes.len();
        let settled = usize::from(first.is_some());
        let mut room = std::mem::take(&mut self.room);
        room.trying.clear();
        room.wishes.clear();
        let mut goal = Vec::with_capacity(left as usize);
        goal.extend(first.map(|first| first.goal).filter(|_| left > 0));
        for season in settled..left as usize {
            for i in 0..hopes.len() {
                if !hopes[i].is_met && hopes[i].by(season) > 0.0 {
                    self.meet(&mut hopes, (i, here), (season, left), sides, &mut room);
                }
            }
            let Room { trying, wishes, now, best } = &mut room;
            now.clear();
            now.extend(hopes.iter().map(|hope| hope.by(season)));
            // The best pair of each side counts, and the sides are independent.
            best.clear();
            best.resize((hopes.len() + 1) * sides, 0.0f64);
            let mut next = 0;
            for pair in trying.iter_mut() {
                let together = now[pair.male] * now[pair.female];
                let new = together - pair.together;
                pair.together = together;
                for wish in &mut wishes[next..next + pair.wishes] {
                    wish.open += new;
                    let success = wish.open * (1.0 - wish.none);
                    wish.open -= success;
                    wish.done += success;
                    best[wish.at] = best[wish.at].max(wish.done);
                }
                next += pair.wishes;
            }
            let come = |of: usize, before: f64| {
                let later = 1.0 - best[of * sides..][..sides].iter().map(|done| 1.0 - done).product::<f64>();
                before + (1.0 - before) * later
            };
            goal.push(come(0, first.map_or(0.0, |first| first.goal)));
            for (i, hope) in hopes.iter_mut().enumerate() {
                hope.hatched.resize(season, 0.0);
                let before = if settled > 0 { hope.hatched.first().copied().unwrap_or(0.0) } else { 0.0 };
                hope.hatched.push(come(i + 1, before));
            }
        }
        self.room = room;
        goal
    }

    /// Counts how many females the males of each kind can serve: those of better kinds stand in for them.
    fn serve(&self, hopes: &mut [Hope]) {
        for i in 0..hopes.len() {
            if hopes[i].sex == Sex::Male {
                let own = hopes[i].kind;
                let as_good = hopes.iter().filter(|other| other.sex == Sex::Male && self.at_least(other.kind, own));
                let n: usize = as_good.map(Hope::n).sum();
                hopes[i].served = n.max(1).saturating_mul(self.females_per_male as usize);
            }
        }
    }

    /// The number of a kind's hope, a new one if there is none.
    fn find(&mut self, hopes: &mut Vec<Hope>, sex: Sex, kind: u64, line: Line) -> usize {
        let place = index(kind) * 2 + usize::from(sex == Sex::Male);
        if self.places.len() <= place {
            self.places.resize(place + 1, NOBODY);
        }
        let known = match line {
            0 => &mut self.places[place],
            _ => self.places_of_lines.entry((place, line)).or_insert(NOBODY),
        };
        if *known != NOBODY {
            return *known as usize;
        }
        *known = u32::try_from(hopes.len()).unwrap_or(NOBODY);
        let grows = self.maturity.of(sex).max(1) as usize;
        let served = self.females_per_male as usize;
        let hope = Hope {
            sex,
            kind,
            line,
            owned: Vec::new(),
            n: 0.0,
            side: 0,
            grows,
            hatched: Vec::new(),
            served,
            is_met: false,
        };
        hopes.push(hope);
        hopes.len() - 1
    }

    /// Pairs a kind that is there for the first time with all of the other sex that have been there before; the first ones are
    /// here or hatch this season.
    fn meet(
        &mut self,
        hopes: &mut Vec<Hope>,
        (i, here): (usize, usize),
        (season, left): (usize, u32),
        sides: usize,
        room: &mut Room,
    ) {
        hopes[i].is_met = true;
        for j in 0..hopes.len() {
            if !hopes[j].is_met || hopes[j].sex == hopes[i].sex {
                continue;
            }
            if !self.lines.may_pair(hopes[i].line, hopes[j].line) {
                continue;
            }
            // Lines of a later round are not told apart any more: too hopeful, never too gloomy.
            let both_are_here = i.max(j) < here;
            let line = if both_are_here { self.lines.of_young(hopes[i].line, hopes[j].line) } else { 0 };
            let (male, female) = if hopes[i].sex == Sex::Male { (i, j) } else { (j, i) };
            let number = self.number(hopes[male].kind, hopes[female].kind);
            let clutches = i32::try_from(hopes[female].n().min(hopes[male].served).max(1)).unwrap_or(1);
            let side = hopes[female].side;
            let before = room.wishes.len();
            let mut wish = |number: usize, none: f64| {
                let none = if clutches == 1 { none } else { none.powi(clutches) };
                room.wishes.push(Wish { at: number * sides + side, none, open: 0.0, done: 0.0 });
            };
            let goal = self.prospects[number].goal;
            if goal < 1.0 {
                wish(0, goal);
            }
            for k in 0..self.prospects[number].young.len() {
                let young = self.prospects[number].young[k];
                if u64::from(young.takes) + season as u64 > u64::from(left) {
                    break;
                }
                wish(self.find(hopes, young.sex, young.kind, line) + 1, young.none);
            }
            let wishes = room.wishes.len() - before;
            if wishes > 0 {
                room.trying.push(Trying { male, female, together: 0.0, wishes });
            }
        }
    }
}

fn index(kind: u64) -> usize {
    // A world has at most 2^13 kinds.
    usize::try_from(kind).unwrap_or(usize::MAX)
}
