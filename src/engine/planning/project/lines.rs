//! Who is related to whom, by lines: a founder is a line of its own, and all young of two lines are one line.
//!
//! Two animals of one line are taken for full siblings, and a parent's line for the parent itself, so two animals are never
//! closer than they are taken for. Lines are all that decisions know of descent: herds that differ in nothing else are thought
//! about once.

use rustc_hash::FxHashMap;

/// Which relatives are not paired.
#[derive(Debug, Clone, PartialEq)]
pub struct Kinship {
    /// The closest kinship that is paired, between 0 and 1: 1/4 is that of full siblings.
    pub limit: f64,
    /// The kinship of any two of the animals, by their places; those left out are not related.
    pub between: Vec<Vec<f64>>,
}

/// A line by its number, which follows from its parents alone. Where nobody watches, all animals are of line 0.
pub(in crate::engine::planning) type Line = u64;

/// All lines that have been met, where somebody watches.
#[derive(Default)]
pub(in crate::engine::planning) struct Lines<'a> {
    watched: Option<&'a Kinship>,
    bred: FxHashMap<Line, Bred>,
    known: FxHashMap<(Line, Line), f64>,
}

/// The parents of a line, and how many crossings it is from the founders.
#[derive(Clone, Copy)]
struct Bred {
    parents: [Line; 2],
    depth: u32,
}

impl<'a> Lines<'a> {
    pub(super) fn new(watched: Option<&'a Kinship>) -> Lines<'a> {
        Lines { watched, ..Lines::default() }
    }

    /// The line of a founder.
    pub(super) fn of_founder(&self, place: usize) -> Line {
        if self.watched.is_some() { place as u64 + 1 } else { 0 }
    }

    /// The line of the young of two lines.
    pub(in crate::engine::planning) fn of_young(&mut self, a: Line, b: Line) -> Line {
        if self.watched.is_none() {
            return 0;
        }
        let parents = [a.min(b), a.max(b)];
        // Founders have the smallest numbers.
        let line = mixed(mixed(1, parents[0]), parents[1]) | 1 << 63;
        let depth = 1 + self.depth(a).max(self.depth(b));
        self.bred.entry(line).or_insert(Bred { parents, depth });
        line
    }

    /// Whether two animals of these lines may be paired.
    pub(in crate::engine::planning) fn may_pair(&mut self, a: Line, b: Line) -> bool {
        // Sums of halves are exact; what was told in decimals may be off by a rounding.
        const ROUNDING: f64 = 1e-9;
        self.watched.is_none_or(|watched| self.between(a, b) <= watched.limit + ROUNDING)
    }

    fn depth(&self, line: Line) -> u32 {
        self.bred.get(&line).map_or(0, |bred| bred.depth)
    }

    /// The kinship of two animals of these lines.
    fn between(&mut self, a: Line, b: Line) -> f64 {
        match self.bred.get(&a) {
            Some(Bred { parents: [sire, dam], .. }) if a == b => {
                let (sire, dam) = (*sire, *dam);
                (self.kinship(sire, sire) + self.kinship(dam, dam)) / 4.0 + self.kinship(sire, dam) / 2.0
            }
            _ => self.kinship(a, b),
        }
    }

    /// The same where one line is one animal.
    fn kinship(&mut self, a: Line, b: Line) -> f64 {
        let key = (a.min(b), a.max(b));
        if let Some(known) = self.known.get(&key) {
            return *known;
        }
        // The younger one is no ancestor of the other.
        let (young, other) = if self.depth(a) >= self.depth(b) { (a, b) } else { (b, a) };
        let kinship = match self.bred.get(&young).copied() {
            Some(Bred { parents: [sire, dam], .. }) if young == other => f64::midpoint(1.0, self.kinship(sire, dam)),
            Some(Bred { parents: [sire, dam], .. }) => {
                f64::midpoint(self.kinship(sire, other), self.kinship(dam, other))
            }
            None => self.of_founders(a, b),
        };
        self.known.insert(key, kinship);
        kinship
    }

    fn of_founders(&self, a: Line, b: Line) -> f64 {
        let place = |line: Line| usize::try_from(line).ok()?.checked_sub(1);
        let known = self.watched.zip(place(a)).zip(place(b));
        let between = known.and_then(|((watched, a), b)| watched.between.get(a)?.get(b).copied());
        between.unwrap_or(if a == b { 0.5 } else { 0.0 })
    }
}

/// A number with one more part in it.
pub(super) fn mixed(number: u64, part: u64) -> u64 {
    let mixed = (number ^ part).wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    mixed ^ mixed >> 32
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Kinship of usual relatives: Lynch & Walsh 1998, Genetics and Analysis of Quantitative Traits, table 7.1, from memory.
    #[test]
    fn usual_relatives_are_as_close_as_they_should_be() {
        let kinship = Kinship { limit: 0.125, between: Vec::new() };
        let mut lines = Lines::new(Some(&kinship));
        let [a, b, c, d] = [0, 1, 2, 3].map(|place| lines.of_founder(place));
        let (ab, ac, cd) = (lines.of_young(a, b), lines.of_young(c, a), lines.of_young(c, d));
        let (abcd, abac) = (lines.of_young(ab, cd), lines.of_young(ac, ab));
        for (one, other, kinship) in [
            (a, b, 0.0),
            (a, ab, 0.25),   // parent and young
            (ab, ab, 0.25),  // full siblings
            (ab, ac, 0.125), // half siblings
            (ab, cd, 0.0),
            (a, abcd, 0.125),     // grandparent
            (ab, abcd, 0.25),     // parent, or the parent's full sibling taken for it
            (abac, abac, 0.3125), // full siblings of half siblings
        ] {
            assert!((lines.between(one, other) - kinship).abs() < 1e-12, "{one} {other}: {kinship}");
            assert_eq!(lines.may_pair(other, one), kinship <= 0.125);
        }
    }

    #[test]
    fn founders_are_as_close_as_they_are_said_to_be() {
        let between = vec![vec![0.5, 0.25, 0.0], vec![0.25, 0.5, 0.0], vec![0.0, 0.0, 0.5]];
        let kinship = Kinship { limit: 0.0, between };
        let mut lines = Lines::new(Some(&kinship));
        let [a, sister, c] = [0, 1, 2].map(|place| lines.of_founder(place));
        let young = lines.of_young(a, c);
        assert!(!lines.may_pair(a, sister) && lines.may_pair(a, c) && !lines.may_pair(sister, young));
        assert_eq!(Lines::new(None).of_founder(1), 0);
    }
}
