//! Who can go to whom: every way to pair the ready females that is not plainly worse than another.

use super::{Code, Told, is_male, kind, wait};

/// The most ways to pair that are looked at.
const MOST_WAYS: usize = 4096;

impl Told<'_> {
    /// Ways to pair; `may_rest` says whether young of no use could do harm (by filling tubs).
    pub(super) fn pairings(&mut self, animals: &[Code], left: u32, may_rest: bool) -> Vec<Vec<(Code, Code)>> {
        let ready = |male: bool| animals.iter().copied().filter(move |a| is_male(*a) == male && wait(*a) == 0);
        let females = counted(ready(false));
        let males = counted(ready(true));
        let n_females: usize = females.iter().map(|(_, n)| n).sum();
        let each = self.rules.females_per_male as usize;
        let scarce = n_females > each;
        let options: Vec<(Code, usize)> = males
            .iter()
            .filter(|(male, _)| {
                // With room for all females, a male that another beats is never needed.
                let beaten = |other: Code| other != *male && self.beats(other, *male);
                scarce
                    || !males
                        .iter()
                        .any(|(other, _)| beaten(*other) && (!beats_back(self, *male, *other) || other < male))
            })
            .map(|(male, n)| (*male, n * each))
            .collect();
        let mut groups = Vec::new();
        for (female, n) in females {
            let useful: Vec<usize> =
                (0..options.len()).filter(|&i| each > 0 && self.is_useful(options[i].0, female, left)).collect();
            if !useful.is_empty() {
                groups.push((female, n, useful));
            }
        }
        let mut room: Vec<usize> = options.iter().map(|(_, room)| *room).collect();
        let mut found = Vec::new();
        let ways = Ways { groups: &groups, options: &options, may_rest: may_rest || scarce };
        ways.fill(0, 0, 0, &mut room, &mut Vec::new(), &mut found);
        found
    }

    /// Whether a pair can give the goal or a young of use.
    fn is_useful(&mut self, male: Code, female: Code, left: u32) -> bool {
        let litter = self.litter(kind(male), kind(female));
        let next = left.saturating_sub(1);
        let rules = self.rules;
        litter.goal > 0.0
            || litter
                .young
                .iter()
                .any(|young| self.is_in_time(super::code(young.sex, rules.wait(young.sex), young.code), next))
    }
}

fn beats_back(told: &Told<'_>, a: Code, b: Code) -> bool {
    told.beats(a, b)
}

/// Sorted animals, each once with its number.
fn counted(animals: impl Iterator<Item = Code>) -> Vec<(Code, usize)> {
    let mut found: Vec<(Code, usize)> = Vec::new();
    for animal in animals {
        match found.last_mut() {
            Some((known, n)) if *known == animal => *n += 1,
            _ => found.push((animal, 1)),
        }
    }
    found
}

struct Ways<'a> {
    /// Females of one kind, how many, and which males are of use to them.
    groups: &'a [(Code, usize, Vec<usize>)],
    options: &'a [(Code, usize)],
    may_rest: bool,
}

impl Ways<'_> {
    /// Pairs the females of a group from the `placed`-th on with males from the `from`-th useful on.
    fn fill(
        &self,
        group: usize,
        placed: usize,
        from: usize,
        room: &mut Vec<usize>,
        pairs: &mut Vec<(Code, Code)>,
        found: &mut Vec<Vec<(Code, Code)>>,
    ) {
        if found.len() >= MOST_WAYS {
            return;
        }
        let Some((female, n, useful)) = self.groups.get(group) else {
            found.push(pairs.clone());
            return;
        };
        if placed == *n {
            return self.fill(group + 1, 0, 0, room, pairs, found);
        }
        for (place, &male) in useful.iter().enumerate().skip(from) {
            if room[male] > 0 {
                room[male] -= 1;
                pairs.push((self.options[male].0, *female));
                self.fill(group, placed + 1, place, room, pairs, found);
                pairs.pop();
                room[male] += 1;
            }
        }
        if self.may_rest {
            self.fill(group + 1, 0, 0, room, pairs, found);
        }
    }
}
