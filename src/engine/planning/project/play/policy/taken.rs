//! What a herd is taken for, and the hope in it.

use std::sync::Arc;

use super::super::super::hope::{AtHand, First, in_time};
use super::super::super::lines::Line;
use super::super::super::merit::NEVER;
use super::super::guise::GuiseId;
use super::{Class, Policy};
use crate::engine::inheritance::locus::Sex;

/// Up to so many cases of what the animals may be together are told apart.
const MOST_DRAWN: usize = 8;

/// The most hopes that are remembered.
const MOST_KNOWN: usize = 1 << 16;

/// What an animal is taken for: one kind, or each that its guise may be with its chance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum Taken {
    Kind(u64),
    Guise(GuiseId),
}

/// A herd and what its animals are taken for, all together, with the chances.
pub(super) struct Drawn<'h> {
    pub(super) herd: &'h [Class],
    pub(super) cases: Vec<(f64, Vec<Taken>)>,
}

/// What a pair can bring: the chance that no goal comes, and of each kind the chance that none as good comes.
pub(super) struct Brings {
    goal: f64,
    young: Vec<(Sex, u64, f64)>,
}

/// What a herd is taken for, as a question: male, seasons until ready, line; and this season's pairs with the line of their
/// young, where they are settled.
pub(super) type Case = (u32, Box<[(bool, Taken, u8, Line)]>, Option<Box<[(Taken, Taken, Line)]>>);

impl Policy<'_, '_> {
    /// The hope if the herd is what it is taken for; `mates` are this season's pairs, where they are settled.
    pub(super) fn hope_of(
        &mut self,
        herd: &[Class],
        taken: &[Taken],
        left: u32,
        mates: Option<&[(usize, usize)]>,
    ) -> f64 {
        let mut here = Vec::with_capacity(herd.len());
        for (class, taken) in herd.iter().zip(taken) {
            if self.leads_on(*taken, class.ready, left) {
                here.push((class.male, *taken, class.ready, class.line));
            }
        }
        here.sort_unstable();
        let pairs = mates.map(|mates| {
            let lines = self.mind.lines();
            let pair = |(a, b): &(usize, usize)| (taken[*a], taken[*b], lines.of_young(herd[*a].line, herd[*b].line));
            let mut pairs: Vec<(Taken, Taken, Line)> = mates.iter().map(pair).collect();
            pairs.sort_unstable();
            pairs.into_boxed_slice()
        });
        let case = (left, here.into_boxed_slice(), pairs);
        if let Some(known) = self.mind.cases.get(&case) {
            return *known;
        }
        let mut at_hand = Vec::with_capacity(case.1.len());
        for (male, taken, ready, line) in &case.1 {
            let sex = if *male { Sex::Male } else { Sex::Female };
            let kinds = self.kinds(*taken);
            let of_use = kinds.iter().filter(|(kind, _)| self.leads_on(Taken::Kind(*kind), *ready, left));
            at_hand.extend(of_use.map(|&(kind, chance)| AtHand {
                sex,
                kind,
                ready: u32::from(*ready),
                chance,
                line: *line,
            }));
        }
        let first = case.2.as_ref().map(|pairs| self.first(left, pairs));
        let hope = self.mind.hoping.hope(&at_hand, left, first.as_ref()).iter().sum();
        // Memory stays bounded: a herd that comes again is thought about again.
        if self.mind.cases.len() >= MOST_KNOWN {
            self.mind.cases.clear();
        }
        self.mind.cases.insert(case, hope);
        hope
    }

    /// What a season with these pairs brings.
    fn first(&mut self, left: u32, pairs: &[(Taken, Taken, Line)]) -> First {
        let mut none = 1.0;
        let mut young: Vec<(Sex, u64, Line, f64)> = Vec::new();
        for (male, female, line) in pairs {
            let brings = self.brings(*male, *female);
            none *= brings.goal;
            for (sex, kind, missed) in &brings.young {
                if !self.mind.hoping.is_of_use(*sex, *kind, left) {
                    continue;
                }
                match young.iter_mut().find(|known| (known.0, known.1, known.2) == (*sex, *kind, *line)) {
                    Some(known) => known.3 *= missed,
                    None => young.push((*sex, *kind, *line, *missed)),
                }
            }
        }
        for (_, _, _, missed) in &mut young {
            *missed = 1.0 - *missed;
        }
        First { goal: 1.0 - none, young }
    }

    fn brings(&mut self, sire: Taken, dam: Taken) -> Arc<Brings> {
        if let Some(known) = self.mind.brings.get(&(sire, dam)) {
            return Arc::clone(known);
        }
        // The chance that there is one, over what the parents may be.
        let (mut goal, mut young) = (0.0, Vec::<(Sex, u64, f64)>::new());
        for (s, of_s) in self.kinds(sire).iter() {
            for (d, of_d) in self.kinds(dam).iter() {
                let prospects = self.mind.hoping.prospects(*s, *d);
                goal += of_s * of_d * (1.0 - prospects.goal);
                for one in &prospects.young {
                    let some = of_s * of_d * (1.0 - one.none);
                    match young.iter_mut().find(|known| known.0 == one.sex && known.1 == one.kind) {
                        Some(known) => known.2 += some,
                        None => young.push((one.sex, one.kind, some)),
                    }
                }
            }
        }
        let young = young.into_iter().map(|(sex, kind, some)| (sex, kind, 1.0 - some)).collect();
        let brings = Arc::new(Brings { goal: 1.0 - goal, young });
        self.mind.brings.insert((sire, dam), Arc::clone(&brings));
        brings
    }

    fn kinds(&self, taken: Taken) -> Arc<[(u64, f64)]> {
        match taken {
            Taken::Kind(kind) => Arc::from([(kind, 1.0)]),
            Taken::Guise(guise) => self.guises.cases(guise),
        }
    }

    /// What the animals may be, all together; too many cases are not told apart, and each animal stands for itself.
    pub(super) fn drawn<'h>(&self, herd: &'h [Class]) -> Drawn<'h> {
        let mut all: Vec<(f64, Vec<Taken>)> = vec![(1.0, Vec::with_capacity(herd.len()))];
        for class in herd {
            let own = self.guises.cases(class.guise);
            if all.len() * own.len() > MOST_DRAWN {
                let as_they_seem = herd.iter().map(|class| Taken::Guise(class.guise)).collect();
                return Drawn { herd, cases: vec![(1.0, as_they_seem)] };
            }
            let with = |(chance, taken): &(f64, Vec<Taken>), (kind, of_own): &(u64, f64)| {
                (chance * of_own, taken.iter().copied().chain([Taken::Kind(*kind)]).collect())
            };
            all = all.iter().flat_map(|case| own.iter().map(move |kind| with(case, kind))).collect();
        }
        Drawn { herd, cases: all }
    }

    pub(super) fn leads_on(&self, taken: Taken, ready: u8, left: u32) -> bool {
        let leads = |kind: u64| {
            let crossings = self.rules.merit.crossings(usize::try_from(kind).unwrap_or(0));
            crossings != NEVER && in_time(self.rules.maturity, u32::from(ready), crossings, left)
        };
        match taken {
            Taken::Kind(kind) => leads(kind),
            Taken::Guise(guise) => self.guises.cases(guise).iter().any(|(kind, _)| leads(*kind)),
        }
    }
}
