//! Clashes: the fewest records that cannot all be true.
//!
//! In: records that contradict each other. Out: [`Clash`], facts of which at least one is wrong. Nothing is changed.
//! Start at [`clash`].
//!
//! Every fact can be taken back by itself: a look not seen, a founder of any genotype, a parent that is somebody else.
//! A set of facts clashes if nothing fits them with all others taken back.

use std::collections::BTreeSet;

use num_bigint::BigInt;

use super::descent::AnimalId;
use super::evidence::EvidenceError;
use super::genotypes::NoNetwork;
use super::network::Network;
use super::order::Plan;
use super::records::{Animal, Clutch, Families, Place, Records, Sires};
use super::{elimination, evidence};
use crate::engine::inheritance::genotype::{Belief, Genome};
use crate::engine::inheritance::locus::{Genetics, LocusId, Sex};
use crate::engine::odds::{Odds, sure};

/// So many times it is tried whether some facts can all be true; beyond, sets of facts are no longer made smaller.
const MOST_TRIES: usize = 400;
/// The most elementary steps of one such try.
const MOST_STEPS: f64 = 2_000_000.0;

/// So many sets of facts are looked at for one that hits all that must be hit.
const MOST_LOOKS: usize = 200_000;

/// One thing that the records say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fact {
    /// What an animal looks like at a locus.
    Look {
        /// Whose look.
        animal: AnimalId,
        /// Where.
        locus: LocusId,
    },
    /// What the young of one kind in a clutch look like at a locus.
    YoungLook {
        /// The clutch, by its position.
        clutch: usize,
        /// The kind, by its position in the clutch.
        young: usize,
        /// Where.
        locus: LocusId,
    },
    /// What is believed of a founder at a locus: what was stated, or else that it comes from the population.
    Founder {
        /// Who.
        animal: AnimalId,
        /// Where.
        locus: LocusId,
    },
    /// Who the sire is, or that he is an unknown animal of the population.
    Sire(Place),
    /// Who the dam is, or that she is an unknown animal of the population.
    Dam(Place),
    /// The stated sex of an animal.
    Sex(AnimalId),
    /// The sex of the young of one kind in a clutch.
    YoungSex {
        /// The clutch, by its position.
        clutch: usize,
        /// The kind, by its position in the clutch.
        young: usize,
    },
}

impl Fact {
    fn move_to(&mut self, locus: LocusId) {
        if let Fact::Look { locus: at, .. } | Fact::YoungLook { locus: at, .. } | Fact::Founder { locus: at, .. } = self
        {
            *at = locus;
        }
    }
}

/// Facts that cannot all be true. If any one of them is taken back the others can, unless `smallest` is false.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clash {
    /// The facts, in order.
    pub facts: Vec<Fact>,
    /// Whether it is known that no smaller set of facts clashes; if not, there was no time to look for one.
    pub smallest: bool,
}

/// The fewest facts that contradict each other; `None` if all can be true (or it would take too long to tell).
///
/// # Errors
/// [`EvidenceError::Record`] for records that make no sense.
pub fn clash(genetics: &Genetics, records: &Records) -> Result<Option<Clash>, EvidenceError> {
    Families::new(genetics, records)?;
    if possible(genetics, records) {
        return Ok(None);
    }
    let mut clashes = Vec::new();
    for locus in (0..).map(LocusId).take(genetics.loci().len()) {
        let Some((only, at)) = at_locus(genetics, records, locus) else { continue };
        if !possible(&only, &at) {
            let mut clash = Problem::new(&only, &at).solve();
            for fact in &mut clash.facts {
                fact.move_to(locus);
            }
            clashes.push(clash);
        }
    }
    // Loci hang together only by uncertain sires.
    let mut sires = records.animals.iter().map(|animal| &animal.sires);
    if clashes.is_empty() || sires.any(|s| s.len() > 1) || records.clutches.iter().any(|clutch| clutch.sires.len() > 1)
    {
        clashes.push(Problem::new(genetics, records).solve());
    }
    let smallest = clashes.iter().all(|clash| clash.smallest);
    let least = clashes.into_iter().min_by_key(|clash| clash.facts.len());
    Ok(least.map(|clash| Clash { smallest, ..clash }))
}

/// Whether some genotypes fit the records; `true` also if that would take too long to tell.
fn possible(genetics: &Genetics, records: &Records) -> bool {
    let Ok(families) = Families::new(genetics, records) else { return true };
    let mut network = match Network::new(&families) {
        Ok(network) => network,
        Err(NoNetwork::Contradiction) => return false,
        Err(NoNetwork::TooLarge) => return true,
    };
    let plan = Plan::new(&network.sizes, &network.scopes(), MOST_STEPS);
    if plan.cost() > MOST_STEPS {
        return true;
    }
    let tables = network.tables::<bool>(&plan);
    let parts = plan.parts();
    let of_parts = evidence::tables_of(&tables, &parts, network.sizes.len());
    parts
        .iter()
        .zip(of_parts)
        .all(|(part, tables)| elimination::shares(&network.sizes, &plan, &part.order, &tables).is_some())
}

/// The same records at one locus, which is the only one.
fn at_locus(genetics: &Genetics, records: &Records, locus: LocusId) -> Option<(Genetics, Records)> {
    let here = LocusId(0);
    let sex = genetics.sex().cloned();
    let only = Genetics::new(vec![genetics.locus(locus)?.clone()], sex).ok()?;
    let mut at = records.clone();
    at.frequencies = records.frequencies.get(&locus).map(|own| (here, own.clone())).into_iter().collect();
    for animal in &mut at.animals {
        animal.seen = animal.seen.remove(&locus).map(|looks| (here, looks)).into_iter().collect();
        animal.beliefs = animal.beliefs.remove(locus).map(|belief| (here, belief)).into_iter().collect();
    }
    for young in at.clutches.iter_mut().flat_map(|clutch| &mut clutch.young) {
        young.seen = young.seen.remove(&locus).map(|looks| (here, looks)).into_iter().collect();
    }
    Some((only, at))
}

/// The facts of contradictory records.
struct Problem<'a> {
    genetics: &'a Genetics,
    records: &'a Records,
    facts: Vec<Fact>,
    tries: usize,
}

/// Everything that the records say and that can be taken back.
#[must_use]
pub fn facts(genetics: &Genetics, records: &Records) -> Vec<Fact> {
    let mut facts = Vec::new();
    let loci: Vec<LocusId> = (0..).map(LocusId).take(genetics.loci().len()).collect();
    let sexed = genetics.linked().is_some();
    let in_clutch: BTreeSet<AnimalId> = records.clutches.iter().flat_map(|c| c.named.iter().copied()).collect();
    for (id, animal) in (0..).map(AnimalId).zip(&records.animals) {
        facts.extend(animal.seen.keys().map(|&locus| Fact::Look { animal: id, locus }));
        if !animal.sires.is_empty() || animal.dam.is_some() {
            facts.extend([Fact::Sire(Place::Animal(id)), Fact::Dam(Place::Animal(id))]);
        } else if !in_clutch.contains(&id) {
            facts.extend(loci.iter().map(|&locus| Fact::Founder { animal: id, locus }));
        }
        if sexed && animal.sex.is_some() {
            facts.push(Fact::Sex(id));
        }
    }
    for (at, clutch) in records.clutches.iter().enumerate() {
        facts.extend([Fact::Sire(Place::Clutch(at)), Fact::Dam(Place::Clutch(at))]);
        for (k, young) in clutch.young.iter().enumerate().filter(|(_, young)| young.count > 0) {
            facts.extend(young.seen.keys().map(|&locus| Fact::YoungLook { clutch: at, young: k, locus }));
            if sexed && young.sex.is_some() {
                facts.push(Fact::YoungSex { clutch: at, young: k });
            }
        }
    }
    facts
}

impl<'a> Problem<'a> {
    fn new(genetics: &'a Genetics, records: &'a Records) -> Problem<'a> {
        Problem { genetics, records, facts: facts(genetics, records), tries: 0 }
    }

    fn solve(mut self) -> Clash {
        let all: Vec<Fact> = self.facts.clone();
        let core = self.explain(&mut Vec::new(), true, &all);
        let (mut facts, smallest) = match self.smallest(core.len()) {
            Some(facts) => (facts, true),
            None => (core, false),
        };
        facts.sort_unstable();
        Clash { facts, smallest }
    }

    /// Whether these facts clash. After very many tries, that they do not is taken for granted.
    fn clashes(&mut self, facts: &[Fact]) -> bool {
        if self.tries >= MOST_TRIES {
            return false;
        }
        self.tries += 1;
        !possible(self.genetics, &with_only(self.genetics, self.records, facts))
    }

    /// The facts of `of` that are needed to clash with `given`, which do not clash alone (divide and conquer:
    /// `QuickXplain`, Junker 2004, AAAI 167-172; citation from memory).
    fn explain(&mut self, given: &mut Vec<Fact>, unchanged: bool, of: &[Fact]) -> Vec<Fact> {
        if !unchanged && self.clashes(given) {
            return Vec::new();
        }
        if of.len() <= 1 {
            return of.to_vec();
        }
        let (first, second) = of.split_at(of.len() / 2);
        let n = given.len();
        given.extend(first);
        let needed = self.explain(given, false, second);
        given.truncate(n);
        given.extend(&needed);
        let mut all = self.explain(given, needed.is_empty(), first);
        given.truncate(n);
        all.extend(needed);
        all
    }

    /// A smallest set of facts that clash, of at most `most` facts; `None` if it takes too many tries.
    ///
    /// Every set of facts without which the others can be true must be hit; the smallest set that hits all those found
    /// so far either clashes, or leads to a further one (Ignatiev et al. 2015, CP, LNCS 9255:173-182; citation from
    /// memory).
    fn smallest(&mut self, most: usize) -> Option<Vec<Fact>> {
        let mut to_hit: Vec<Vec<Fact>> = Vec::new();
        loop {
            let hitting = hit(&to_hit, most)?;
            if self.clashes(&hitting) {
                return Some(hitting);
            }
            if self.tries >= MOST_TRIES {
                return None;
            }
            let others: Vec<Fact> = self.facts.iter().copied().filter(|fact| !hitting.contains(fact)).collect();
            let kept: Vec<Fact> = hitting;
            let correction = self.correct(&kept, false, &others);
            if correction.is_empty() {
                return None;
            }
            to_hit.push(correction);
        }
    }

    /// A least set of facts of `of` without which `kept` and the rest of `of` can be true (`FastDiag`: Felfernig,
    /// Schubert and Zehentner 2012, AI EDAM 26:53-62; citation from memory).
    fn correct(&mut self, kept: &[Fact], changed: bool, of: &[Fact]) -> Vec<Fact> {
        let all: Vec<Fact> = kept.iter().chain(of).copied().collect();
        if changed && !self.clashes(&all) {
            return Vec::new();
        }
        if of.len() <= 1 {
            return of.to_vec();
        }
        let (first, second) = of.split_at(of.len() / 2);
        // What must go from the second half if all of the first has gone; then what must go from the first.
        let from_second = self.correct(kept, true, second);
        let mut more: Vec<Fact> = kept.to_vec();
        more.extend(second.iter().filter(|fact| !from_second.contains(fact)));
        let mut from_first = self.correct(&more, !from_second.is_empty(), first);
        from_first.extend(from_second);
        from_first
    }
}

/// The records with only these facts: all others are taken back, so looks were not seen, founders may have any
/// genotype, and parents are somebody else, who is added after the animals that there are.
#[must_use]
pub fn with_only(genetics: &Genetics, records: &Records, facts: &[Fact]) -> Records {
    let facts: BTreeSet<Fact> = facts.iter().copied().collect();
    let mut records = records.clone();
    let n = records.animals.len();
    for (id, animal) in (0..).map(AnimalId).zip(&mut records.animals) {
        animal.seen.retain(|&locus, _| facts.contains(&Fact::Look { animal: id, locus }));
        animal.sex = animal.sex.filter(|_| genetics.linked().is_none() || facts.contains(&Fact::Sex(id)));
    }
    for (at, clutch) in records.clutches.iter_mut().enumerate() {
        for (k, young) in clutch.young.iter_mut().enumerate() {
            young.seen.retain(|&locus, _| facts.contains(&Fact::YoungLook { clutch: at, young: k, locus }));
            young.sex = young.sex.filter(|_| facts.contains(&Fact::YoungSex { clutch: at, young: k }));
        }
    }
    // Somebody else, of whom nothing is known, for every parent that is taken back.
    let mut others: Vec<Sex> = Vec::new();
    let mut orphans = BTreeSet::new();
    let mut take_back = |place: Place, sires: &mut Sires, dam: &mut Option<AnimalId>| {
        let mut somebody = |sex| {
            others.push(sex);
            AnimalId(n + others.len() - 1)
        };
        let gone = (!facts.contains(&Fact::Sire(place)), !facts.contains(&Fact::Dam(place)));
        if let (Place::Animal(id), (true, true)) = (place, gone) {
            orphans.insert(id);
            (*sires, *dam) = (Vec::new(), None);
            return;
        }
        if gone.0 {
            *sires = vec![(somebody(Sex::Male), sure())];
        }
        if gone.1 {
            *dam = Some(somebody(Sex::Female));
        }
    };
    for (id, animal) in (0..).map(AnimalId).zip(&mut records.animals) {
        if !animal.sires.is_empty() || animal.dam.is_some() {
            take_back(Place::Animal(id), &mut animal.sires, &mut animal.dam);
        }
    }
    for (at, clutch) in records.clutches.iter_mut().enumerate() {
        let Clutch { sires, dam, .. } = clutch;
        take_back(Place::Clutch(at), sires, dam);
    }
    records.animals.extend(others.iter().map(|&sex| Animal { sex: Some(sex), ..Animal::default() }));
    free_founders(genetics, &mut records, n, &facts, &orphans);
    records
}

/// Lets founders have any genotype where what was said of them is taken back; animals from the `n`th on are anybody.
fn free_founders(
    genetics: &Genetics,
    records: &mut Records,
    n: usize,
    facts: &BTreeSet<Fact>,
    orphans: &BTreeSet<AnimalId>,
) {
    let in_clutch: BTreeSet<AnimalId> = records.clutches.iter().flat_map(|c| c.named.iter().copied()).collect();
    let mut sexes: Vec<Option<Sex>> = records.animals.iter().map(|animal| animal.sex).collect();
    let parents = records.animals.iter().map(|animal| (&animal.sires, animal.dam));
    let parents = parents.chain(records.clutches.iter().map(|clutch| (&clutch.sires, clutch.dam)));
    for (sires, dam) in parents {
        let roles = sires.iter().map(|(sire, _)| (*sire, Sex::Male)).chain(dam.map(|dam| (dam, Sex::Female)));
        for (parent, sex) in roles {
            if let Some(known) = sexes.get_mut(parent.0) {
                *known = known.or(Some(sex));
            }
        }
    }
    let loci: Vec<LocusId> = (0..).map(LocusId).take(genetics.loci().len()).collect();
    for (id, animal) in (0..).map(AnimalId).zip(&mut records.animals) {
        if !animal.sires.is_empty() || animal.dam.is_some() || in_clutch.contains(&id) {
            continue;
        }
        let anybody = id.0 >= n || orphans.contains(&id);
        for &locus in &loci {
            if anybody || !facts.contains(&Fact::Founder { animal: id, locus }) {
                free(genetics, &mut animal.beliefs, locus, sexes[id.0]);
            }
        }
    }
}

fn free(genetics: &Genetics, beliefs: &mut Genome, locus: LocusId, sex: Option<Sex>) {
    let fits = |g: &_| match sex {
        Some(sex) => genetics.check(locus, sex, *g).is_ok(),
        None => true,
    };
    let all: Vec<_> = genetics.genotypes(locus).filter(fits).collect();
    let each = Odds::new(BigInt::from(1), BigInt::from(all.len().max(1)));
    if let Ok(belief) = Belief::mix(all.into_iter().map(|genotype| (genotype, each.clone()))) {
        beliefs.set(locus, belief);
    }
}

/// A smallest set of at most `most` facts with one of each of these sets.
fn hit(sets: &[Vec<Fact>], most: usize) -> Option<Vec<Fact>> {
    let mut looks = MOST_LOOKS;
    (0..=most).find_map(|size| hit_with(sets, size, &mut Vec::new(), &mut looks))
}

fn hit_with(sets: &[Vec<Fact>], left: usize, chosen: &mut Vec<Fact>, looks: &mut usize) -> Option<Vec<Fact>> {
    *looks = looks.checked_sub(1)?;
    let Some(open) = sets.iter().find(|set| !set.iter().any(|fact| chosen.contains(fact))) else {
        return Some(chosen.clone());
    };
    if left == 0 {
        return None;
    }
    for &fact in open {
        chosen.push(fact);
        let found = hit_with(sets, left - 1, chosen, looks);
        chosen.pop();
        if found.is_some() {
            return found;
        }
    }
    None
}
