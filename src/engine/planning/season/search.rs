//! Which pairings together: worths around what is chosen, an assignment, and again; then single changes.

use std::collections::BTreeMap;

use rustc_hash::FxHashMap;

use super::assign::{BARRED, assign};
use super::outlook::{Deed, Outlook};
use super::{Advice, Chosen, Grounds, Keep, Limits, Pairing, Room};
use crate::engine::inheritance::locus::Sex;

/// Rounds of worths and assignment from each start.
const ROUNDS: usize = 3;
/// Up to so many ways to pair, all are tried.
const MOST_WAYS: u64 = 512;
/// Rounds of single changes at the end.
const MOST_CHANGES: usize = 4;
/// What proof of a possible carrier is worth beside all that hangs on whether it carries: a little, as the plans
/// themselves use it whether or not it is proven.
const OF_PROOF: f64 = 0.1;
/// A pairing that adds less is none: rounding.
const NOTHING: f64 = 1e-9;
/// Worths as whole numbers.
const SCALE: f64 = 1e12;
/// Within this share of each other two pairings are as good as the same.
const NEAR: f64 = 0.03;

/// A pairing that may be.
#[derive(Debug, Clone)]
struct Arc {
    pairing: Pairing,
    /// Row and column of the assignment.
    male: usize,
    female: usize,
    /// What kind of pairing it is, for each outlook of its room.
    deeds: Vec<Deed>,
    /// The worth of what it may prove.
    proof: f64,
}

/// Outlooks of one room, with the aim that each is of.
struct View<'a> {
    outlooks: Vec<(usize, Outlook<'a>)>,
}

/// For each female the place of her pairing among the arcs.
type Way = Vec<Option<usize>>;

pub(super) struct Search<'a, 'r> {
    rooms: &'r [Room<'r>],
    grounds: &'a Grounds,
    views: Vec<View<'a>>,
    arcs: Vec<Arc>,
    /// By female: her arcs.
    of_female: Vec<Vec<usize>>,
    serves: Vec<u32>,
    most: usize,
    best: Way,
    best_worth: f64,
    idle_worth: f64,
    exact: bool,
    complete: bool,
    go_on: &'r mut dyn FnMut() -> bool,
}

impl<'a, 'r> Search<'a, 'r> {
    pub(super) fn new(
        rooms: &'r [Room<'r>],
        grounds: &'a Grounds,
        limits: Limits,
        go_on: &'r mut dyn FnMut() -> bool,
    ) -> Search<'a, 'r> {
        let mut search = Search {
            rooms,
            grounds,
            views: Vec::new(),
            arcs: Vec::new(),
            of_female: Vec::new(),
            serves: Vec::new(),
            most: limits.pairings.unwrap_or(usize::MAX),
            best: Way::new(),
            best_worth: 0.0,
            idle_worth: 0.0,
            exact: false,
            complete: true,
            go_on,
        };
        for (n, room) in rooms.iter().enumerate() {
            search.open(n, room);
        }
        search
    }

    /// Takes a room in.
    fn open(&mut self, n: usize, room: &Room<'_>) {
        let here = |sex: Sex| {
            let can = move |c: &super::Candidate| c.animal.sex == sex && c.animal.ready == 0 && c.serves > 0;
            (0..room.animals.len()).filter(move |i| can(&room.animals[*i])).collect::<Vec<usize>>()
        };
        let (males, females) = (here(Sex::Male), here(Sex::Female));
        let mut pairs = Vec::new();
        for female in &females {
            pairs.extend(males.iter().filter(|male| (room.may)(**male, *female)).map(|male| (*male, *female)));
        }
        let mut outlooks = Vec::new();
        for (a, (aim, grounds)) in room.aims.iter().zip(&self.grounds[n]).enumerate() {
            let share = aim.weight / grounds.len().max(1) as f64;
            for ground in grounds {
                let mut outlook = Outlook::new(room, ground, aim, share);
                let counted: Vec<(usize, usize)> = pairs
                    .iter()
                    .copied()
                    .filter(|(male, female)| !aim.without.contains(male) && !aim.without.contains(female))
                    .collect();
                outlook.know(&counted);
                outlooks.push((a, outlook));
            }
        }
        let stakes: Vec<f64> = (0..room.animals.len())
            .map(|i| {
                let ready = room.animals[i].animal.ready;
                outlooks.iter_mut().map(|(_, outlook)| outlook.at_stake(i, ready)).sum()
            })
            .collect();
        let (first_male, first_female) = (self.serves.len(), self.of_female.len());
        self.serves.extend(males.iter().map(|male| room.animals[*male].serves));
        self.of_female.extend(females.iter().map(|_| Vec::new()));
        for (sire, dam) in pairs {
            let deeds: Vec<Deed> = outlooks.iter_mut().map(|(_, outlook)| outlook.deed(sire, dam)).collect();
            let mut proof = 0.0;
            if stakes[sire] > 0.0 || stakes[dam] > 0.0 {
                let proofs = outlooks.iter().map(|(_, outlook)| outlook.proofs(sire, dam));
                let [of_sire, of_dam] =
                    proofs.fold([0.0f64; 2], |most, own| [most[0].max(own[0]), most[1].max(own[1])]);
                proof = OF_PROOF * (stakes[sire] * of_sire + stakes[dam] * of_dam);
            }
            let male = first_male + males.iter().position(|i| *i == sire).unwrap_or(0);
            let female = first_female + females.iter().position(|i| *i == dam).unwrap_or(0);
            self.of_female[female].push(self.arcs.len());
            self.arcs.push(Arc { pairing: Pairing { room: n, sire, dam }, male, female, deeds, proof });
        }
        self.views.push(View { outlooks });
    }

    /// What a way to pair is worth, by room and aim where asked.
    fn worth(&mut self, way: &Way) -> f64 {
        let by_aim: f64 = self.by_aim(way).into_iter().flatten().sum();
        by_aim + way.iter().flatten().map(|arc| self.arcs[*arc].proof).sum::<f64>()
    }

    fn by_aim(&mut self, way: &Way) -> Vec<Vec<f64>> {
        let mut sums = Vec::with_capacity(self.views.len());
        for (n, view) in self.views.iter_mut().enumerate() {
            let chosen: Vec<&Arc> =
                way.iter().flatten().map(|arc| &self.arcs[*arc]).filter(|arc| arc.pairing.room == n).collect();
            let mut of_room = vec![0.0; self.rooms[n].aims.len()];
            for (o, (aim, outlook)) in view.outlooks.iter_mut().enumerate() {
                of_room[*aim] += outlook.worth(chosen.iter().map(|arc| arc.deeds[o]).collect());
            }
            sums.push(of_room);
        }
        sums
    }

    /// What each pairing adds in place of what its female does.
    fn added(&mut self, way: &Way) -> Vec<f64> {
        let mut added = vec![0.0; self.arcs.len()];
        // Females who do the same now, and could do the same instead, add the same.
        let mut known: FxHashMap<(usize, Vec<Deed>, Vec<Deed>), f64> = FxHashMap::default();
        for female in 0..self.of_female.len() {
            let mut without = way.clone();
            let now = without[female].take().map_or_else(Vec::new, |arc| self.arcs[arc].deeds.clone());
            let Some(room) = self.of_female[female].first().map(|arc| self.arcs[*arc].pairing.room) else { continue };
            let base = self.worth_in(room, &without, None);
            for arc in self.of_female[female].clone() {
                let key = (room, now.clone(), self.arcs[arc].deeds.clone());
                let gained = if let Some(gained) = known.get(&key) {
                    *gained
                } else {
                    let gained = self.worth_in(room, &without, Some(arc)) - base;
                    known.insert(key, gained);
                    gained
                };
                added[arc] = gained + self.arcs[arc].proof;
            }
            if self.is_over() {
                break;
            }
        }
        added
    }

    /// The worth of the goals of one room, with one pairing more.
    fn worth_in(&mut self, room: usize, way: &Way, more: Option<usize>) -> f64 {
        let arcs = &self.arcs;
        let chosen: Vec<&Arc> =
            way.iter().flatten().chain(&more).map(|arc| &arcs[*arc]).filter(|arc| arc.pairing.room == room).collect();
        let outlooks = self.views[room].outlooks.iter_mut().enumerate();
        outlooks.map(|(o, (_, outlook))| outlook.worth(chosen.iter().map(|arc| arc.deeds[o]).collect())).sum()
    }

    fn is_over(&mut self) -> bool {
        if self.complete && !(self.go_on)() {
            self.complete = false;
        }
        !self.complete
    }

    pub(super) fn run(&mut self) {
        let idle: Way = vec![None; self.of_female.len()];
        self.idle_worth = self.worth(&idle);
        (self.best, self.best_worth) = (idle.clone(), self.idle_worth);
        if self.ways() <= MOST_WAYS {
            self.exact = self.try_all(0, &mut idle.clone(), 0);
        }
        if !self.exact {
            let guess = self.guess();
            for mut way in [idle, guess] {
                for _ in 0..ROUNDS {
                    let added = self.added(&way);
                    let next = self.assigned(&added);
                    let same = next == way;
                    way = next;
                    self.consider(&way);
                    if same || self.is_over() {
                        break;
                    }
                }
            }
            self.change();
        }
        self.drop_idle();
    }

    /// How many ways there are to pair, males' limits set aside.
    fn ways(&self) -> u64 {
        let of = |arcs: &Vec<usize>| arcs.len() as u64 + 1;
        self.of_female.iter().map(of).try_fold(1u64, u64::checked_mul).unwrap_or(u64::MAX)
    }

    fn try_all(&mut self, female: usize, way: &mut Way, n: usize) -> bool {
        if self.is_over() {
            return false;
        }
        if female == self.of_female.len() {
            self.consider(&way.clone());
            return true;
        }
        let mut whole = self.try_all(female + 1, way, n);
        if n >= self.most {
            return whole;
        }
        for arc in self.of_female[female].clone() {
            if self.has_room(way, arc) {
                way[female] = Some(arc);
                whole &= self.try_all(female + 1, way, n + 1);
                way[female] = None;
            }
        }
        whole
    }

    /// Whether the male of a pairing can serve one more.
    fn has_room(&self, way: &Way, arc: usize) -> bool {
        let male = self.arcs[arc].male;
        let served = way.iter().flatten().filter(|other| self.arcs[**other].male == male).count();
        served < self.serves[male] as usize
    }

    fn consider(&mut self, way: &Way) {
        let worth = self.worth(way);
        if worth > self.best_worth + NOTHING {
            (self.best, self.best_worth) = (way.clone(), worth);
        }
    }

    /// The assignment of the greatest sum of these worths.
    fn assigned(&self, added: &[f64]) -> Way {
        let mut worths = vec![vec![BARRED; self.of_female.len()]; self.serves.len()];
        let mut places = BTreeMap::new();
        for (i, arc) in self.arcs.iter().enumerate() {
            #[expect(clippy::cast_possible_truncation)] // worths are small numbers
            let whole = (added[i] * SCALE) as i64;
            worths[arc.male][arc.female] = whole;
            places.insert((arc.male, arc.female), i);
        }
        let with = assign(&worths, &self.serves, self.most);
        let arc = |(female, male): (usize, Option<usize>)| male.and_then(|male| places.get(&(male, female)).copied());
        with.into_iter().enumerate().map(arc).collect()
    }

    /// A first guess in which everybody is put to work: two pairings that are worth something only together are
    /// found from here.
    fn guess(&self) -> Way {
        let rough = |arc: &Arc| {
            let outlooks = &self.views[arc.pairing.room].outlooks;
            outlooks.iter().zip(&arc.deeds).map(|((_, outlook), deed)| outlook.guess(*deed)).sum::<f64>()
        };
        let rough: Vec<f64> = self.arcs.iter().map(rough).collect();
        self.assigned(&rough)
    }

    /// Single changes for the better: another male, a rest, somebody else's place or male.
    fn change(&mut self) {
        for _ in 0..MOST_CHANGES {
            let before = self.best_worth;
            for female in 0..self.of_female.len() {
                for arc in self.of_female[female].clone() {
                    if self.is_over() {
                        return;
                    }
                    for way in self.with(female, arc) {
                        self.consider(&way);
                    }
                }
            }
            if self.best_worth <= before + NOTHING {
                break;
            }
        }
    }

    /// The best way with one pairing changed to this; where that takes a place, the ways to make room.
    fn with(&self, female: usize, arc: usize) -> Vec<Way> {
        let way = &self.best;
        // Another male of whom the same comes changes nothing.
        let same = |now: usize| self.arcs[now].deeds == self.arcs[arc].deeds;
        if way[female].is_some_and(|now| now == arc || same(now) && self.arcs[now].proof >= self.arcs[arc].proof) {
            return Vec::new();
        }
        let mut next = way.clone();
        next[female] = None;
        let full = !self.has_room(&next, arc);
        let over = next.iter().flatten().count() >= self.most;
        next[female] = Some(arc);
        if !full && !over {
            return vec![next];
        }
        let of_male = |arc: usize| self.arcs[arc].male;
        let freed = way[female].map(of_male);
        let mut found = Vec::new();
        for other in (0..way.len()).filter(|other| *other != female) {
            let Some(had) = next[other].filter(|had| !full || of_male(*had) == of_male(arc)) else { continue };
            let mut rests = next.clone();
            rests[other] = None;
            // She takes the male that is free now.
            let swapped = self.of_female[other].iter().copied().find(|a| Some(of_male(*a)) == freed && *a != had);
            if let Some(swapped) = swapped.filter(|_| full) {
                let mut swap = rests.clone();
                swap[other] = Some(swapped);
                found.push(swap);
            }
            found.push(rests);
        }
        found
    }

    /// Takes out pairings that add nothing.
    fn drop_idle(&mut self) {
        for female in 0..self.best.len() {
            if self.best[female].is_none() {
                continue;
            }
            let mut without = self.best.clone();
            without[female] = None;
            let worth = self.worth(&without);
            if worth >= self.best_worth - NOTHING {
                (self.best, self.best_worth) = (without, worth);
            }
        }
    }

    pub(super) fn advice(mut self) -> Advice {
        let best = self.best.clone();
        let whole = self.by_aim(&best);
        let added = self.added(&best);
        let mut others: Vec<Vec<(usize, usize, f64)>> = vec![Vec::new(); self.rooms.len()];
        for (arc, worth) in self.arcs.iter().zip(&added) {
            others[arc.pairing.room].push((arc.pairing.sire, arc.pairing.dam, *worth));
        }
        let mut chosen = Vec::new();
        for female in 0..best.len() {
            if let Some(arc) = best[female] {
                chosen.push(self.chosen(&best, female, arc, &whole, &added));
            }
        }
        chosen.sort_by(|a, b| b.worth.total_cmp(&a.worth).then(a.pairing.cmp(&b.pairing)));
        let missing = self.grounds.iter().map(|aims| {
            aims.iter()
                .map(|grounds| grounds.first().map(|ground| ground.missing.clone()).unwrap_or_default())
                .collect()
        });
        Advice {
            chosen,
            total: self.best_worth - self.idle_worth,
            missing: missing.collect(),
            others,
            exact: self.exact,
            complete: self.complete,
        }
    }

    fn chosen(&mut self, best: &Way, female: usize, arc: usize, whole: &[Vec<f64>], added: &[f64]) -> Chosen {
        let own = self.arcs[arc].clone();
        let room = own.pairing.room;
        let mut without = best.clone();
        without[female] = None;
        let before = self.by_aim(&without);
        let by_aim: Vec<f64> = whole[room].iter().zip(&before[room]).map(|(with, without)| with - without).collect();
        let worth = by_aim.iter().sum::<f64>() + own.proof;
        let near = |other: &&usize| **other != arc && added[**other] >= worth * (1.0 - NEAR);
        let mut nearly: Vec<(usize, f64)> = self.of_female[female]
            .iter()
            .filter(near)
            .map(|other| (self.arcs[*other].pairing.sire, added[*other]))
            .collect();
        nearly.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let proofs = self.views[room].outlooks.iter().map(|(_, o)| o.proofs(own.pairing.sire, own.pairing.dam));
        let proves = proofs.fold([0.0f64; 2], |most, own| [most[0].max(own[0]), most[1].max(own[1])]);
        let keep = self.keep(&own, &without, &by_aim);
        Chosen { pairing: own.pairing, worth, by_aim, keep, proves, nearly }
    }

    /// What is kept for the aim that gains most.
    fn keep(&mut self, own: &Arc, without: &Way, by_aim: &[f64]) -> Option<Keep> {
        let most = (0..by_aim.len()).max_by(|a, b| by_aim[*a].total_cmp(&by_aim[*b]).then(b.cmp(a)))?;
        let room = own.pairing.room;
        let arcs = &self.arcs;
        let others: Vec<&Arc> =
            without.iter().flatten().map(|arc| &arcs[*arc]).filter(|arc| arc.pairing.room == room).collect();
        let mut best: Option<Keep> = None;
        let outlooks = self.views[room].outlooks.iter_mut().enumerate().filter(|(_, (aim, _))| *aim == most);
        for (n, (o, (_, outlook))) in outlooks.enumerate() {
            let beside: Vec<Deed> = others.iter().map(|arc| arc.deeds[o]).collect();
            let Some((sex, kind, share)) = outlook.best_head(own.deeds[o], &beside) else { continue };
            if best.as_ref().is_none_or(|known| share > known.share) {
                let genotypes = self.grounds[room][most][n].genotypes(kind);
                best = Some(Keep { aim: most, sex, genotypes, share });
            }
        }
        best
    }
}
