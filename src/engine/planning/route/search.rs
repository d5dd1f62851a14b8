//! The search for one set of founders: kinds are settled in the order in which they can be paired.
//!
//! A step (sire, dam) → keeper never makes its keeper ready before both parents, so the least times can be settled in
//! order as in Knuth's generalisation of Dijkstra's algorithm (Knuth 1977, Inf. Process. Lett. 6:1, from memory). Each two kinds are looked at
//! once, when the later of them settles. What cannot beat the best time known so far is not stored.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};

use super::super::Maturity;
use super::super::kinds::{Child, Give, KindLocus, Kinds};
use super::super::laying::Laying;
use crate::engine::inheritance::clutch::Wanted;
use crate::engine::inheritance::locus::Sex;
use crate::engine::odds::Odds;

/// The most kinds of one search, so that memory stays bounded (about 48 bytes each).
const MOST_NODES: usize = 1 << 21;
/// The most kinds of young of one pair.
const MOST_HEADS: usize = 1 << 20;
/// Kinds up to this number are found in a table, beyond by hashing.
const MOST_IN_TABLE: u64 = 1 << 21;
/// The caller is asked whether to go on after about this many kinds of young.
const ASK_EVERY: usize = 1 << 16;
/// Not reached.
const NEVER: u64 = u64::MAX;
/// No node.
const NOBODY: u32 = u32::MAX;

/// How long a step takes.
#[derive(Debug)]
pub(super) enum Pace<'a> {
    /// As many seasons as the confidence asks for.
    Seasons {
        /// Clutches.
        laying: &'a Laying,
        /// The confidence that each step reaches.
        confidence: &'a Odds,
        /// Clutches a season.
        clutches: u64,
        /// Seasons until the young can be paired.
        maturity: Maturity,
    },
    /// One; for counting generations.
    Crossings,
}

/// A founder of a search.
#[derive(Debug, Clone, Copy)]
pub(super) struct Source {
    pub(super) code: u64,
    pub(super) sex: Sex,
    pub(super) ready: u64,
    pub(super) is_goal: bool,
    /// Its position among the offers, if it is not owned.
    pub(super) offer: Option<usize>,
}

/// How an animal of a kind is had.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Origin {
    Source(usize),
    Step { sire: u32, dam: u32, season: u64, seasons: u64, share: f64 },
}

#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    pub(super) code: u64,
    pub(super) sex: Sex,
    pub(super) origin: Origin,
    ready: u64,
    settled: bool,
}

/// What a search found: the least seasons, and how.
#[derive(Debug)]
pub(super) struct Found {
    pub(super) seasons: u64,
    pub(super) nodes: Vec<Node>,
    pub(super) goal: Origin,
}

/// The search was stopped by its caller, or grew too large.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Cut;

/// Everything of a search that does not depend on the founders.
pub(super) struct Search<'a> {
    pub(super) kinds: &'a Kinds,
    pub(super) goal: &'a Wanted,
    pub(super) pace: Pace<'a>,
    halves: [u64; 128], // seasons for a share of 2^-i
    others: HashMap<u64, u64>,
    work: usize,
}

impl<'a> Search<'a> {
    pub(super) fn new(kinds: &'a Kinds, goal: &'a Wanted, pace: Pace<'a>) -> Search<'a> {
        let mut search = Search { kinds, goal, pace, halves: [NEVER; 128], others: HashMap::new(), work: 0 };
        let mut share = 1.0;
        for i in 0..search.halves.len() {
            search.halves[i] = search.seasons_for(share);
            share /= 2.0;
        }
        search
    }

    /// Seasons of a step whose young are wanted with this share of the eggs; [`NEVER`] if they never come.
    fn seasons_for(&self, share: f64) -> u64 {
        if share <= 0.0 {
            return NEVER;
        }
        match &self.pace {
            Pace::Crossings => 1,
            Pace::Seasons { laying, confidence, clutches, .. } => {
                laying.clutches_for(share, confidence).map_or(NEVER, |n| n.div_ceil(*clutches))
            }
        }
    }

    fn seasons(&mut self, share: f64) -> u64 {
        let bits = share.to_bits();
        let (exponent, fraction) = (bits >> 52, bits & ((1 << 52) - 1));
        // 1023 is the exponent of 1: a power of a half is looked up.
        if fraction == 0
            && let Some(seasons) = 1023u64.checked_sub(exponent).and_then(|i| self.halves.get(usize::try_from(i).ok()?))
        {
            return *seasons;
        }
        if let Some(seasons) = self.others.get(&bits) {
            return *seasons;
        }
        let seasons = self.seasons_for(share);
        self.others.insert(bits, seasons);
        seasons
    }

    fn maturity(&self, sex: Sex) -> u64 {
        match self.pace {
            Pace::Seasons { maturity, .. } => maturity.of(sex).into(),
            Pace::Crossings => 1,
        }
    }

    /// The least seasons from these founders to the goal, if below `limit`. When `go_on` says no or the search grows
    /// beyond its bounds, it ends with the best found so far and [`Cut`].
    pub(super) fn run(
        &mut self,
        sources: impl Iterator<Item = (usize, Source)>,
        limit: u64,
        go_on: &mut dyn FnMut() -> bool,
    ) -> (Option<Found>, Result<(), Cut>) {
        let mut run = Run::new(self.kinds, limit);
        let ended = self.settle_all(&mut run, sources, go_on);
        let (seasons, nodes) = (run.limit, run.nodes);
        (run.goal.map(|goal| Found { seasons, nodes, goal }), ended)
    }

    fn settle_all(
        &mut self,
        run: &mut Run,
        sources: impl Iterator<Item = (usize, Source)>,
        go_on: &mut dyn FnMut() -> bool,
    ) -> Result<(), Cut> {
        for (i, source) in sources {
            if source.is_goal && run.limit > 0 {
                run.limit = 0;
                run.goal = Some(Origin::Source(i));
            }
            run.offer(source.code, source.sex, source.ready, Origin::Source(i))?;
        }
        let (mut males, mut females): (Vec<Settled>, Vec<Settled>) = (Vec::new(), Vec::new());
        while let Some(Reverse((ready, id))) = run.waiting.pop() {
            // A step onward takes a season at least.
            if ready.saturating_add(1) >= run.limit {
                break;
            }
            let node = &mut run.nodes[id as usize];
            if node.settled || node.ready != ready {
                continue;
            }
            node.settled = true;
            let sex = node.sex;
            let own = Settled { id, numbers: self.kinds.numbers(node.code).collect() };
            for mate in if sex == Sex::Male { &females } else { &males } {
                let (sire, dam) = if sex == Sex::Male { (&own, mate) } else { (mate, &own) };
                let pair = Pair { sire, dam, season: ready };
                self.goal_from(run, pair);
                self.expand(run, pair)?;
                self.keep(run, pair)?;
                if self.work >= ASK_EVERY {
                    self.work = 0;
                    if !go_on() {
                        return Err(Cut);
                    }
                }
            }
            if sex == Sex::Male { males.push(own) } else { females.push(own) }
        }
        Ok(())
    }

    /// The goal from this pair, if that is sooner than what is known.
    fn goal_from(&mut self, run: &mut Run, pair: Pair<'_>) {
        let (unlinked, linked) = self.kinds.unlinked_and_linked();
        let mut share = 1.0;
        for (i, locus) in unlinked.iter().enumerate() {
            share *= pair.give(i, locus, Sex::Female).wanted;
            if share <= 0.0 {
                return;
            }
        }
        let of_sex = |sex: Sex| match linked {
            _ if self.goal.sex().is_some_and(|wanted| wanted != sex) => 0.0,
            Some(locus) => pair.give(unlinked.len(), locus, sex).wanted,
            None => self.kinds.share_of(sex),
        };
        share *= of_sex(Sex::Female) + of_sex(Sex::Male);
        let seasons = self.seasons(share);
        let done = pair.season.saturating_add(seasons);
        if done < run.limit {
            run.limit = done;
            run.goal = Some(pair.origin(seasons, share));
        }
    }

    /// The kinds of young at the loci that give both sexes alike, with their shares; those that come too late to be
    /// of use are left out.
    fn expand(&mut self, run: &mut Run, pair: Pair<'_>) -> Result<(), Cut> {
        let Young { now, next } = &mut run.young;
        now.clear();
        // A young that can be paired this late, and takes a season more to give the goal, is of no use.
        let latest = pair.season.saturating_add(self.maturity(Sex::Female).min(self.maturity(Sex::Male)));
        if latest.saturating_add(1) >= run.limit {
            return Ok(());
        }
        now.push(Child { code: 0, share: 1.0 });
        let (unlinked, _) = self.kinds.unlinked_and_linked();
        for (i, locus) in unlinked.iter().enumerate() {
            let keepers = &pair.give(i, locus, Sex::Female).keepers;
            if let [only] = keepers.as_slice() {
                for child in now.iter_mut() {
                    child.code += only.code;
                    child.share *= only.share;
                }
                continue;
            }
            next.clear();
            for so_far in now.iter() {
                for here in keepers {
                    let share = so_far.share * here.share;
                    // Further loci and the sex only make it rarer, and so do the keepers that follow here.
                    if latest.saturating_add(self.seasons(share)) >= run.limit {
                        break;
                    }
                    next.push(Child { code: so_far.code + here.code, share });
                }
            }
            std::mem::swap(now, next);
            self.work += now.len();
            if now.len() > MOST_HEADS {
                return Err(Cut);
            }
        }
        Ok(())
    }

    /// Enters the young as kinds that can be had.
    fn keep(&mut self, run: &mut Run, pair: Pair<'_>) -> Result<(), Cut> {
        let young = std::mem::take(&mut run.young);
        let (unlinked, linked) = self.kinds.unlinked_and_linked();
        for sex in [Sex::Female, Sex::Male] {
            let free = [Child { code: 0, share: self.kinds.share_of(sex) }];
            let here = match linked {
                Some(locus) => &pair.give(unlinked.len(), locus, sex).keepers[..],
                None => &free[..],
            };
            let maturity = self.maturity(sex);
            for child in &young.now {
                for last in here {
                    let share = child.share * last.share;
                    let seasons = self.seasons(share);
                    let hatched = pair.season.saturating_add(seasons - 1);
                    let ready = hatched.saturating_add(maturity);
                    if ready.saturating_add(1) < run.limit {
                        run.offer(child.code + last.code, sex, ready, pair.origin(seasons, share))?;
                    }
                }
            }
        }
        run.young = young;
        Ok(())
    }
}

/// A kind whose least time is known, and the numbers of its genotypes.
struct Settled {
    id: u32,
    numbers: Vec<u8>,
}

#[derive(Clone, Copy)]
struct Pair<'a> {
    sire: &'a Settled,
    dam: &'a Settled,
    season: u64,
}

impl Pair<'_> {
    fn give(self, i: usize, locus: &KindLocus, sex: Sex) -> &Give {
        locus.give(self.sire.numbers[i], self.dam.numbers[i], sex)
    }

    fn origin(self, seasons: u64, share: f64) -> Origin {
        Origin::Step { sire: self.sire.id, dam: self.dam.id, season: self.season, seasons, share }
    }
}

/// The kinds of young of the pair at hand.
#[derive(Default)]
struct Young {
    now: Vec<Child>,
    next: Vec<Child>,
}

/// One search under way.
struct Run {
    nodes: Vec<Node>,
    by_kind: Table,
    waiting: BinaryHeap<Reverse<(u64, u32)>>,
    young: Young,
    limit: u64, // only what takes less is of interest
    goal: Option<Origin>,
}

impl Run {
    fn new(kinds: &Kinds, limit: u64) -> Run {
        Run {
            nodes: Vec::new(),
            by_kind: Table::new(kinds.count().saturating_mul(2)),
            waiting: BinaryHeap::new(),
            young: Young::default(),
            limit,
            goal: None,
        }
    }

    /// A way to have a kind; kept if it is sooner than the one known.
    fn offer(&mut self, code: u64, sex: Sex, ready: u64, origin: Origin) -> Result<(), Cut> {
        let slot = self.by_kind.slot(code * 2 + u64::from(sex == Sex::Male));
        if *slot == NOBODY {
            let Some(id) = u32::try_from(self.nodes.len()).ok().filter(|_| self.nodes.len() < MOST_NODES) else {
                return Err(Cut);
            };
            *slot = id;
            self.nodes.push(Node { code, sex, origin, ready, settled: false });
            self.waiting.push(Reverse((ready, id)));
            return Ok(());
        }
        let id = *slot;
        let node = &mut self.nodes[id as usize];
        if ready < node.ready {
            node.ready = ready;
            node.origin = origin;
            self.waiting.push(Reverse((ready, id)));
        }
        Ok(())
    }
}

/// Kind and sex to node.
enum Table {
    Dense(Vec<u32>),
    Sparse(HashMap<u64, u32>),
}

impl Table {
    fn new(n: u64) -> Table {
        match usize::try_from(n) {
            Ok(small) if n <= MOST_IN_TABLE => Table::Dense(vec![NOBODY; small]),
            _ => Table::Sparse(HashMap::new()),
        }
    }

    fn slot(&mut self, key: u64) -> &mut u32 {
        match self {
            // A key is below the number of kinds and sexes, which fits the table.
            Table::Dense(table) => &mut table[usize::try_from(key).unwrap_or(0)],
            Table::Sparse(map) => map.entry(key).or_insert(NOBODY),
        }
    }
}
