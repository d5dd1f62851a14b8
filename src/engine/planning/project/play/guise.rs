//! What a keeper believes of an animal, in few numbers: per locus a level, which is a distribution over its genotypes.
//!
//! Young are judged by their parents' guises and their looks, parents by what their young showed. Levels are rounded to
//! sixteenths, so that few guises arise and what was decided for one herd serves all that look alike; loci, and animals
//! but parents and young, are judged by themselves. A policy sees guises; what hatches comes from the true genotypes.

use std::sync::Arc;

use rustc_hash::FxHashMap;

use super::super::super::kinds::{KindLocus, Kinds};
use super::super::lines::mixed;
use super::super::merit::Merit;
use crate::engine::inheritance::locus::Sex;

/// A guise by its number, which follows from what is believed alone: every thread gives the same one the same number, in
/// whatever order they are met.
pub(super) type GuiseId = u64;

/// Chances of genotypes at one locus, by number, in sixteenths that sum to 16.
type Level = Vec<(u8, u8)>;

/// Sixteenths of a whole.
const WHOLE: u8 = 16;
/// The most kinds that one guise is weighed as; the least likely beyond are left out.
const MOST_CASES: usize = 16;

/// What one guise is.
struct Guise {
    levels: Arc<[u8]>,        // one a locus
    cases: Arc<[(u64, f64)]>, // the kinds that it may be
}

/// All guises that have been met.
pub(super) struct Guises<'a> {
    kinds: &'a Kinds,
    levels: Vec<Vec<Level>>, // of each locus
    level_numbers: Vec<FxHashMap<Level, u8>>,
    numbers: FxHashMap<Arc<[u8]>, GuiseId>, // by a level a locus
    known: FxHashMap<GuiseId, Guise>,
    young: FxHashMap<(GuiseId, GuiseId, u64, bool), GuiseId>,
}

impl<'a> Guises<'a> {
    pub(super) fn new(kinds: &'a Kinds) -> Guises<'a> {
        let n = kinds.loci().len();
        Guises {
            kinds,
            levels: vec![Vec::new(); n],
            level_numbers: vec![FxHashMap::default(); n],
            numbers: FxHashMap::default(),
            known: FxHashMap::default(),
            young: FxHashMap::default(),
        }
    }

    /// The kinds that an animal of this guise may be, with their chances.
    pub(super) fn cases(&self, guise: GuiseId) -> Arc<[(u64, f64)]> {
        Arc::clone(&self.known[&guise].cases)
    }

    /// Whether an animal of the first guise is at least as good as one of the second: at every locus the chance of at least
    /// each genotype is no smaller.
    pub(super) fn stands_in(&self, merit: &Merit, first: GuiseId, second: GuiseId) -> bool {
        let both = self.known[&first].levels.iter().zip(self.known[&second].levels.iter()).enumerate();
        first == second
            || both.into_iter().all(|(locus, (a, b))| {
                let [a, b] = [a, b].map(|level| &self.levels[locus][usize::from(*level)]);
                let reaches = |level: &Level, least: u8| {
                    let good = level.iter().filter(|(number, _)| merit.at_least_at(locus, *number, least));
                    good.map(|(_, share)| share).sum::<u8>()
                };
                b.iter().all(|(least, _)| reaches(a, *least) >= reaches(b, *least))
            })
    }

    /// Whether only one kind is possible.
    pub(super) fn is_sure(&self, guise: GuiseId) -> bool {
        self.known[&guise].cases.len() == 1
    }

    /// An animal whose kind is known.
    pub(super) fn of_kind(&mut self, kind: u64) -> GuiseId {
        let sure: Vec<Vec<(u8, f64)>> = self.kinds.numbers(kind).map(|number| vec![(number, 1.0)]).collect();
        self.of(&sure)
    }

    /// An animal with these chances at each locus.
    pub(super) fn of(&mut self, chances: &[Vec<(u8, f64)>]) -> GuiseId {
        let levels: Vec<u8> = chances.iter().enumerate().map(|(locus, chances)| self.level(locus, chances)).collect();
        self.guise(levels)
    }

    /// A young of two guises with this look.
    pub(super) fn of_young(&mut self, sire: GuiseId, dam: GuiseId, kind: u64, sex: Sex) -> GuiseId {
        let key = (sire, dam, self.kinds.look(kind), sex == Sex::Male);
        if let Some(known) = self.young.get(&key) {
            return *known;
        }
        let (sires, dams) = (Arc::clone(&self.known[&sire].levels), Arc::clone(&self.known[&dam].levels));
        let mut levels = Vec::with_capacity(sires.len());
        let kinds = self.kinds;
        for (i, locus) in kinds.loci().iter().enumerate() {
            let look = locus.look(locus.number(kind));
            let mut chances: Vec<(u8, f64)> = Vec::new();
            for &(s, of_sire) in &self.levels[i][usize::from(sires[i])] {
                for &(d, of_dam) in &self.levels[i][usize::from(dams[i])] {
                    for child in &locus.give(s, d, sex).keepers {
                        let number = locus.number(child.code);
                        if locus.look(number) == look {
                            add(&mut chances, narrow(number), f64::from(of_sire) * f64::from(of_dam) * child.share);
                        }
                    }
                }
            }
            // A parent was thought to be what it is not: the young is what it is seen to be, as far as that can be told.
            if chances.is_empty() {
                chances.push((narrow(locus.number(kind)), 1.0));
            }
            levels.push(self.level(i, &chances));
        }
        let guise = self.guise(levels);
        self.young.insert(key, guise);
        guise
    }

    /// The parents after a clutch with these young.
    pub(super) fn seen(&mut self, sire: GuiseId, dam: GuiseId, young: &[(u64, Sex)]) -> [GuiseId; 2] {
        if young.is_empty() || self.is_sure(sire) && self.is_sure(dam) {
            return [sire, dam];
        }
        let mut both = [self.known[&sire].levels.to_vec(), self.known[&dam].levels.to_vec()];
        let kinds = self.kinds;
        for (i, locus) in kinds.loci().iter().enumerate() {
            let [of_sire, of_dam] =
                [&self.levels[i][usize::from(both[0][i])], &self.levels[i][usize::from(both[1][i])]];
            if of_sire.len() == 1 && of_dam.len() == 1 {
                continue;
            }
            let (mut sires, mut dams) = (Vec::new(), Vec::new());
            for &(s, of_s) in of_sire {
                for &(d, of_d) in of_dam {
                    let weight = f64::from(of_s) * f64::from(of_d) * likelihood(locus, s, d, young);
                    add(&mut sires, s, weight);
                    add(&mut dams, d, weight);
                }
            }
            if sires.iter().map(|(_, weight)| weight).sum::<f64>() > 0.0 {
                both[0][i] = self.level(i, &sires);
                both[1][i] = self.level(i, &dams);
            }
        }
        both.map(|levels| self.guise(levels))
    }

    fn guise(&mut self, levels: Vec<u8>) -> GuiseId {
        if let Some(known) = self.numbers.get(&levels[..]) {
            return *known;
        }
        let parts = levels.iter().zip(&self.levels).flat_map(|(level, here)| &here[usize::from(*level)]);
        let mut number = parts.fold(0, |so_far, part| mixed(so_far, u64::from(part.0) << 8 | u64::from(part.1)));
        // Two guises with one number are next to impossible; the second one takes the next.
        while self.known.contains_key(&number) {
            number = number.wrapping_add(1);
        }
        let cases = self.cases_of(&levels);
        let levels: Arc<[u8]> = levels.into();
        self.known.insert(number, Guise { levels: Arc::clone(&levels), cases });
        self.numbers.insert(levels, number);
        number
    }

    fn cases_of(&self, levels: &[u8]) -> Arc<[(u64, f64)]> {
        let mut cases = vec![(0u64, 1.0)];
        for (i, locus) in self.kinds.loci().iter().enumerate() {
            let here = &self.levels[i][usize::from(levels[i])];
            let joined = cases.iter().flat_map(|(code, chance)| {
                here.iter().map(move |(number, share)| {
                    (code + u64::from(*number) * locus.stride, chance * f64::from(*share) / f64::from(WHOLE))
                })
            });
            cases = joined.collect();
            cases.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
            cases.truncate(MOST_CASES);
        }
        cases.into()
    }

    /// The number of a level, rounded.
    fn level(&mut self, locus: usize, chances: &[(u8, f64)]) -> u8 {
        let level = rounded(chances);
        if let Some(known) = self.level_numbers[locus].get(&level) {
            return *known;
        }
        // More levels than fit are never met: sixteenths of few genotypes. The last one stands for what is beyond.
        let number = u8::try_from(self.levels[locus].len()).unwrap_or(u8::MAX);
        if usize::from(number) == self.levels[locus].len() {
            self.levels[locus].push(level.clone());
            self.level_numbers[locus].insert(level, number);
        }
        number
    }
}

/// The chance of what was seen of all young of two genotypes at a locus.
fn likelihood(locus: &KindLocus, sire: u8, dam: u8, young: &[(u64, Sex)]) -> f64 {
    let one = |(kind, sex): &(u64, Sex)| {
        let look = locus.look(locus.number(*kind));
        let alike = locus.give(sire, dam, *sex).keepers.iter().filter(|c| locus.look(locus.number(c.code)) == look);
        alike.map(|child| child.share).sum::<f64>()
    };
    young.iter().map(one).product()
}

fn add(chances: &mut Vec<(u8, f64)>, number: u8, weight: f64) {
    match chances.iter_mut().find(|known| known.0 == number) {
        Some(known) => known.1 += weight,
        None => chances.push((number, weight)),
    }
}

/// In sixteenths, in the order of the numbers; what is possible keeps a sixteenth unless it is next to impossible.
fn rounded(chances: &[(u8, f64)]) -> Level {
    const NEXT_TO_NOTHING: f64 = 0.01;
    let sum: f64 = chances.iter().map(|(_, chance)| chance).sum();
    let mut parts: Vec<(u8, f64)> =
        chances.iter().map(|(n, c)| (*n, c / sum)).filter(|(_, share)| *share > NEXT_TO_NOTHING).collect();
    parts.sort_by_key(|(number, _)| *number);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // within 1 and 16
    let mut level: Level = parts.iter().map(|(n, share)| (*n, ((share * 16.0).round() as u8).max(1))).collect();
    // What rounding gave or took goes to the likeliest.
    if let Some(most) = (0..level.len()).max_by_key(|i| (level[*i].1, usize::MAX - i)) {
        let others: u8 = level.iter().enumerate().filter(|(i, _)| *i != most).map(|(_, (_, n))| n).sum();
        level[most].1 = WHOLE.saturating_sub(others).max(1);
    }
    level
}

fn narrow(number: usize) -> u8 {
    // At most MOST_GENOTYPES genotypes a locus.
    u8::try_from(number).unwrap_or(u8::MAX)
}
