//! Evidence against a slow, obvious twin: every father, every genotype of everybody, weighed one by one.

use std::collections::BTreeMap;

use hatchward::engine::inheritance::clutch::Figure;
use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Look, Mode, Sex, SexLink, SexSystem};
use hatchward::engine::odds::{Odds, odds, sure, to_f64};
use hatchward::engine::pedigree::descent::AnimalId;
use hatchward::engine::pedigree::evidence::{EvidenceError, Posterior, weigh};
use hatchward::engine::pedigree::records::{Animal, Clutch, Records, Seen, Young};
use proptest::prelude::*;

/// Choices from a list of bytes, so that a failing case shrinks.
struct Dice<'a>(std::slice::Iter<'a, u8>);

impl Dice<'_> {
    fn below(&mut self, n: usize) -> usize {
        self.0.next().map_or(0, |byte| usize::from(*byte) % n)
    }

    fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == n - 1
    }
}

/// A collection, and the same once more for the twin: every unknown parent is somebody there.
#[derive(Debug)]
pub(crate) struct Case {
    pub(crate) genetics: Genetics,
    pub(crate) records: Records,
    /// The animals, then the unknown parents; parents come before their young.
    people: Vec<Person>,
    /// In the order of the animals' positions among `people`; what the twin calls them.
    broods: Vec<Brood>,
}

#[derive(Debug, Clone)]
struct Person {
    sex: Option<Sex>,
    brood: Option<usize>,
    beliefs: Genome,
    seen: Seen,
}

#[derive(Debug, Clone)]
struct Brood {
    sires: Vec<(usize, f64)>,
    dam: usize,
    young: Vec<Young>,
}

/// Gametes, written down from the rules: the sex chromosome that comes along, the allele, the chance.
fn gametes(genetics: &Genetics, id: LocusId, parent: Sex, genotype: Genotype) -> Vec<(Option<char>, AlleleId, f64)> {
    let (a, b) = genotype.alleles();
    if !genetics.is_sided(id, parent) {
        return vec![(None, a, 0.5), (None, b, 0.5)];
    }
    match genetics.locus(id).unwrap().sex_link().unwrap() {
        SexLink::OnlyX => vec![(Some('X'), a, 0.5), (Some('Y'), AlleleId::NONE, 0.5)],
        SexLink::Recombining(r) => {
            let (r, k) = (to_f64(r) / 2.0, (1.0 - to_f64(r)) / 2.0);
            vec![(Some('X'), a, k), (Some('X'), b, r), (Some('Y'), b, k), (Some('Y'), a, r)]
        }
    }
}

/// All eggs of two genotypes that are not lost; the same genotype may come several times.
fn eggs(genetics: &Genetics, id: LocusId, sire: Genotype, dam: Genotype) -> Vec<(Genotype, f64)> {
    let mut all = Vec::new();
    for (s_chromosome, s, p) in gametes(genetics, id, Sex::Male, sire) {
        for (d_chromosome, d, q) in gametes(genetics, id, Sex::Female, dam) {
            let genotype = match (s_chromosome, d_chromosome) {
                (Some('Y'), _) => Genotype::sided(d, s),
                (_, Some('Y')) => Genotype::sided(s, d),
                _ => Genotype::pair(s, d),
            };
            if !genetics.locus(id).unwrap().is_lethal(genotype) {
                all.push((genotype, p * q));
            }
        }
    }
    all
}

fn fits_sex(genetics: &Genetics, id: LocusId, sex: Option<Sex>, genotype: Genotype) -> bool {
    sex.is_none_or(|sex| genetics.is_sided(id, sex) == genotype.is_sided())
}

fn fits(genetics: &Genetics, id: LocusId, sex: Option<Sex>, seen: &Seen, genotype: Genotype) -> bool {
    let locus = genetics.locus(id).unwrap();
    fits_sex(genetics, id, sex, genotype)
        && !locus.is_lethal(genotype)
        && seen.get(&id).is_none_or(|looks| looks.contains(&locus.look_of(genotype)))
}

fn random_locus(dice: &mut Dice, n_alleles: usize, sexed: bool) -> Locus {
    let modes = [Mode::Recessive, Mode::IncompleteDominant, Mode::Dominant];
    let mut locus = match dice.below(3) {
        0 => Locus::series(n_alleles),
        1 => Locus::trade(&vec![Mode::Recessive; n_alleles - 1]),
        _ => Locus::trade(&(1..n_alleles).map(|_| modes[dice.below(3)]).collect::<Vec<_>>()),
    };
    if sexed {
        locus = locus.with_sex_link(match dice.below(3) {
            0 => SexLink::OnlyX,
            _ => SexLink::Recombining(Odds::new(dice.below(6).into(), 12.into())),
        });
    }
    if dice.one_in(4) {
        let top = AlleleId(u8::try_from(n_alleles - 1).unwrap());
        locus = locus.with_lethal(Genotype::pair(top, top));
    }
    locus
}

pub(crate) fn case(bytes: &[u8]) -> Case {
    let mut dice = Dice(bytes.iter());
    let system = [SexSystem::Xy, SexSystem::Zw][dice.below(2)].clone();
    let n_animals = 3 + dice.below(4);
    let n_loci = 1 + dice.below(3);
    let linked_at = dice.below(4);
    let loci = (0..n_loci).map(|i| {
        let n_alleles = if n_animals < 5 && dice.one_in(2) { 3 } else { 2 };
        random_locus(&mut dice, n_alleles, i == linked_at)
    });
    let genetics = Genetics::new(loci.collect(), Some(system)).unwrap();
    let mut records = Records::default();
    for i in 0..n_loci {
        if dice.below(2) == 0 {
            let id = LocusId(u16::try_from(i).unwrap());
            let chances = (1..genetics.locus(id).unwrap().n_alleles())
                .map(|a| (AlleleId(u8::try_from(a).unwrap()), odds(i64::try_from(dice.below(4)).unwrap(), 10)));
            records.frequencies.insert(id, chances.collect());
        }
    }
    let mut people: Vec<Person> = Vec::new();
    let mut broods: Vec<Brood> = Vec::new();
    for i in 0..n_animals {
        let males: Vec<usize> = (0..i).filter(|&p| people[p].sex == Some(Sex::Male)).collect();
        let females: Vec<usize> = (0..i).filter(|&p| people[p].sex == Some(Sex::Female)).collect();
        // A parent has a stated sex here; unknown sexes are left to those without young.
        let sex = [Some(Sex::Male), Some(Sex::Female), Some(Sex::Male), Some(Sex::Female), None][dice.below(5)];
        let mut animal = Animal { sex, ..Animal::default() };
        if i >= 2 && dice.below(8) > 0 {
            parents(&mut dice, &males, &females, &mut animal.sires, &mut animal.dam);
        }
        let founder = animal.sires.is_empty() && animal.dam.is_none();
        if founder {
            for id in (0..n_loci).map(|l| LocusId(u16::try_from(l).unwrap())) {
                if dice.below(3) > 0 {
                    let options: Vec<Genotype> =
                        genetics.genotypes(id).filter(|g| fits_sex(&genetics, id, sex, *g)).collect();
                    let mut pick = || options[dice.below(options.len())];
                    let mixed = [(pick(), odds(1, 2)), (pick(), odds(1, 3)), (options[0], odds(1, 6))];
                    animal.beliefs.set(id, Belief::mix(mixed).unwrap());
                }
            }
        }
        people.push(Person { sex, brood: None, beliefs: animal.beliefs.clone(), seen: Seen::new() });
        records.animals.push(animal);
    }
    for _ in 0..dice.below(3) {
        let of = |sex| (0..n_animals).filter(|&p| records.animals[p].sex == Some(sex)).collect::<Vec<_>>();
        let mut clutch = Clutch::default();
        parents(&mut dice, &of(Sex::Male), &of(Sex::Female), &mut clutch.sires, &mut clutch.dam);
        for _ in 0..dice.below(3) {
            let sex = [None, None, Some(Sex::Male), Some(Sex::Female)][dice.below(4)];
            let count = u32::try_from(dice.below(4)).unwrap();
            clutch.young.push(Young { seen: looks(&mut dice, &genetics), sex, count });
        }
        records.clutches.push(clutch);
    }
    for (animal, person) in records.animals.iter_mut().zip(&mut people) {
        if dice.below(3) > 0 {
            animal.seen = looks(&mut dice, &genetics);
            person.seen = animal.seen.clone();
        }
    }
    twin(&records, &mut people, &mut broods);
    Case { genetics, records, people, broods }
}

/// One sire, several, or none; a dam or none.
fn parents(
    dice: &mut Dice,
    males: &[usize],
    females: &[usize],
    sires: &mut Vec<(AnimalId, Odds)>,
    dam: &mut Option<AnimalId>,
) {
    if !males.is_empty() && dice.below(10) > 0 {
        let first = males[dice.below(males.len())];
        sires.push((AnimalId(first), sure()));
        let others: Vec<usize> = males.iter().copied().filter(|&male| male != first).collect();
        if !others.is_empty() && dice.below(3) > 0 {
            let second = others[dice.below(others.len())];
            *sires = vec![(AnimalId(first), odds(2, 3)), (AnimalId(second), odds(1, 3))];
        }
    }
    if !females.is_empty() && dice.below(10) > 0 {
        *dam = Some(AnimalId(females[dice.below(females.len())]));
    }
}

/// Something that is seen: mostly common looks, so that not everything contradicts everything.
fn looks(dice: &mut Dice, genetics: &Genetics) -> Seen {
    let mut seen = Seen::new();
    for id in (0..genetics.loci().len()).map(|l| LocusId(u16::try_from(l).unwrap())) {
        let locus = genetics.locus(id).unwrap();
        let all: Vec<Look> = genetics.genotypes(id).map(|g| locus.look_of(g)).collect();
        match dice.below(6) {
            0 | 1 => {}
            2 | 3 => drop(seen.insert(id, vec![Look::WILD])),
            4 => drop(seen.insert(id, vec![all[dice.below(all.len())]])),
            _ => drop(seen.insert(id, vec![all[dice.below(all.len())], all[dice.below(all.len())]])),
        }
    }
    seen
}

/// Writes every unknown parent down as somebody.
fn twin(records: &Records, people: &mut Vec<Person>, broods: &mut Vec<Brood>) {
    let mut add = |sires: &[(AnimalId, Odds)], dam: Option<AnimalId>, young: &[Young], people: &mut Vec<Person>| {
        let mut unknown = |sex| {
            people.push(Person { sex: Some(sex), brood: None, beliefs: Genome::wild(), seen: Seen::new() });
            people.len() - 1
        };
        let mut sires: Vec<(usize, f64)> = sires.iter().map(|(sire, chance)| (sire.0, to_f64(chance))).collect();
        if sires.is_empty() {
            sires.push((unknown(Sex::Male), 1.0));
        }
        let dam = dam.map_or_else(|| unknown(Sex::Female), |dam| dam.0);
        broods.push(Brood { sires, dam, young: young.to_vec() });
        broods.len() - 1
    };
    for (i, animal) in records.animals.iter().enumerate() {
        if !animal.sires.is_empty() || animal.dam.is_some() {
            people[i].brood = Some(add(&animal.sires, animal.dam, &[], people));
        }
    }
    for clutch in &records.clutches {
        add(&clutch.sires, clutch.dam, &clutch.young, people);
    }
}

impl Case {
    /// What a founder may be.
    fn prior(&self, id: LocusId, person: &Person) -> Vec<(Genotype, f64)> {
        if let Some(belief) = person.beliefs.get(id) {
            return belief.genotypes().map(|(g, w)| (g, to_f64(w))).collect();
        }
        let n = self.genetics.locus(id).unwrap().n_alleles();
        let given = self.records.frequencies.get(&id).cloned().unwrap_or_default();
        let chance = |a: AlleleId| match given.get(&a) {
            Some(chance) => to_f64(chance),
            None if a == AlleleId::WILD => 1.0 - given.values().map(to_f64).sum::<f64>(),
            None => 0.0,
        };
        let alleles: Vec<AlleleId> = (0..n).map(|a| AlleleId(u8::try_from(a).unwrap())).collect();
        let mut all = Vec::new();
        for sex in [Sex::Male, Sex::Female] {
            for &a in &alleles {
                for &b in &alleles {
                    let only_x = self.genetics.locus(id).unwrap().sex_link() == Some(&SexLink::OnlyX);
                    match self.genetics.is_sided(id, sex) {
                        true if only_x => all.push((Genotype::sided(a, AlleleId::NONE), chance(a) * chance(b) / 2.0)),
                        true => all.push((Genotype::sided(a, b), chance(a) * chance(b) / 2.0)),
                        false => all.push((Genotype::pair(a, b), chance(a) * chance(b) / 2.0)),
                    }
                }
            }
        }
        all
    }

    /// Adds up the weights of all genotypes of everybody at a locus, for these fathers; `chosen` are those before.
    fn enumerate(
        &self,
        id: LocusId,
        order: &[usize],
        fathers: &[usize],
        chosen: &mut Vec<Option<Genotype>>,
        weight: f64,
        sums: &mut Sums,
    ) {
        let Some((&who, rest)) = order.split_first() else {
            let weight = self.broods.iter().zip(fathers).fold(weight, |weight, (brood, &father)| {
                let (sire, dam) = (chosen[brood.sires[father].0].unwrap(), chosen[brood.dam].unwrap());
                brood.young.iter().fold(weight, |weight, young| {
                    let seen = eggs(&self.genetics, id, sire, dam).into_iter();
                    let seen = seen.filter(|(g, _)| fits(&self.genetics, id, young.sex, &young.seen, *g));
                    weight * seen.map(|(_, p)| p).sum::<f64>().powi(i32::try_from(young.count).unwrap())
                })
            });
            sums.total += weight;
            for (i, sum) in sums.of.iter_mut().enumerate() {
                *sum.entry(chosen[i].unwrap()).or_insert(0.0) += weight;
            }
            return;
        };
        let person = &self.people[who];
        let options = match person.brood {
            None => self.prior(id, person),
            Some(b) => {
                let brood = &self.broods[b];
                let (sire, dam) = (chosen[brood.sires[fathers[b]].0].unwrap(), chosen[brood.dam].unwrap());
                eggs(&self.genetics, id, sire, dam)
            }
        };
        let mut merged: BTreeMap<Genotype, f64> = BTreeMap::new();
        for (genotype, p) in options {
            if p > 0.0 && fits(&self.genetics, id, person.sex, &person.seen, genotype) {
                *merged.entry(genotype).or_insert(0.0) += p;
            }
        }
        for (genotype, p) in merged {
            chosen[who] = Some(genotype);
            self.enumerate(id, rest, fathers, chosen, weight * p, sums);
        }
        chosen[who] = None;
    }

    /// Per animal, per locus: the chance of each genotype. `None` if nothing is possible.
    fn slowly(&self) -> Option<Vec<Vec<BTreeMap<Genotype, f64>>>> {
        // Unknown parents before the animals, animals in their order.
        let n = self.records.animals.len();
        let order: Vec<usize> = (n..self.people.len()).chain(0..n).collect();
        let ids: Vec<LocusId> = (0..self.genetics.loci().len()).map(|l| LocusId(u16::try_from(l).unwrap())).collect();
        let mut all = vec![vec![BTreeMap::new(); ids.len()]; n];
        let mut total = 0.0;
        let n_cases: usize = self.broods.iter().map(|brood| brood.sires.len()).product();
        for mut case in 0..n_cases {
            let mut prior = 1.0;
            let mut fathers = Vec::new();
            for brood in &self.broods {
                let father = case % brood.sires.len();
                case /= brood.sires.len();
                prior *= brood.sires[father].1;
                fathers.push(father);
            }
            let sums: Vec<Sums> = ids
                .iter()
                .map(|&id| {
                    let mut sums = Sums { total: 0.0, of: vec![BTreeMap::new(); n] };
                    self.enumerate(id, &order, &fathers, &mut vec![None; self.people.len()], 1.0, &mut sums);
                    sums
                })
                .collect();
            let weight = prior * sums.iter().map(|s| s.total).product::<f64>();
            total += weight;
            if weight > 0.0 {
                for (l, sums) in sums.iter().enumerate() {
                    for (animal, of) in sums.of.iter().enumerate() {
                        for (&genotype, w) in of {
                            *all[animal][l].entry(genotype).or_insert(0.0) += weight * w / sums.total;
                        }
                    }
                }
            }
        }
        for chances in all.iter_mut().flatten() {
            for chance in chances.values_mut() {
                *chance /= total;
            }
        }
        (total > 0.0).then_some(all)
    }

    fn quickly(&self) -> Result<Posterior, EvidenceError> {
        weigh(&self.genetics, &self.records)
    }
}

struct Sums {
    total: f64,
    of: Vec<BTreeMap<Genotype, f64>>,
}

fn check(bytes: &[u8]) {
    let case = case(bytes);
    match (case.slowly(), case.quickly()) {
        (None, found) => assert_eq!(found, Err(EvidenceError::Impossible), "{case:#?}"),
        (Some(slow), Ok(quick)) => {
            for (animal, loci) in slow.iter().enumerate() {
                for (l, expected) in loci.iter().enumerate() {
                    let found = quick.of(AnimalId(animal), LocusId(u16::try_from(l).unwrap()));
                    let chances: BTreeMap<Genotype, f64> = found.iter().map(|(g, c)| (*g, c.to_f64())).collect();
                    for (g, chance) in expected {
                        let found = chances.get(g).copied().unwrap_or(0.0);
                        assert!(
                            (found - chance).abs() < 1e-9,
                            "animal {animal} locus {l} {g}: {found} {chance}\n{case:#?}"
                        );
                    }
                    let sum: f64 = chances.values().sum();
                    assert!((sum - 1.0).abs() < 1e-9, "animal {animal} locus {l} sums to {sum}");
                    assert!(found.iter().all(|(_, c)| matches!(c, Figure::Exact(_))), "small collections are exact");
                }
            }
        }
        (Some(_), Err(error)) => panic!("{error}\n{case:#?}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(crate::cases(256)))]

    #[test]
    fn evidence_agrees_with_weighing_everything(bytes in prop::collection::vec(any::<u8>(), 200)) {
        check(&bytes);
    }
}

/// The same collection with everything listed in another order; where each animal went.
fn shuffled(records: &Records, mut key: u64) -> (Records, Vec<AnimalId>) {
    let mut order = |n: usize| {
        let mut all: Vec<usize> = (0..n).collect();
        for i in (1..n).rev() {
            key = key.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            all.swap(i, usize::try_from(key >> 33).unwrap() % (i + 1));
        }
        all
    };
    let animals = order(records.animals.len());
    let mut moved = vec![AnimalId(0); animals.len()];
    for (new, &old) in animals.iter().enumerate() {
        moved[old] = AnimalId(new);
    }
    let mut again = records.clone();
    again.animals = animals.iter().map(|&old| records.animals[old].clone()).collect();
    again.clutches = order(records.clutches.len()).iter().map(|&old| records.clutches[old].clone()).collect();
    for clutch in &mut again.clutches {
        clutch.young = order(clutch.young.len()).iter().map(|&old| clutch.young[old].clone()).collect();
        clutch.dam = clutch.dam.map(|dam| moved[dam.0]);
        clutch.sires = clutch.sires.iter().rev().map(|(sire, p)| (moved[sire.0], p.clone())).collect();
    }
    for animal in &mut again.animals {
        animal.dam = animal.dam.map(|dam| moved[dam.0]);
        animal.sires = animal.sires.iter().rev().map(|(sire, p)| (moved[sire.0], p.clone())).collect();
    }
    (again, moved)
}

/// The same genotypes with the same chances: to the last part where they are exact, to rounding where they are not.
fn is_same(one: &[(Genotype, Figure)], other: &[(Genotype, Figure)]) -> bool {
    let same = |((a, one), (b, other)): (&(Genotype, Figure), &(Genotype, Figure))| {
        let chances = match (one, other) {
            (Figure::Exact(one), Figure::Exact(other)) => one == other,
            (Figure::Rounded(one), Figure::Rounded(other)) => (one - other).abs() < 1e-12,
            _ => false,
        };
        a == b && chances
    };
    one.len() == other.len() && one.iter().zip(other).all(same)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(crate::cases(256)))]

    #[test]
    fn the_order_of_the_evidence_does_not_matter(
        bytes in prop::collection::vec(any::<u8>(), 200),
        key in any::<u64>(),
    ) {
        let case = case(&bytes);
        let (again, moved) = shuffled(&case.records, key);
        match (case.quickly(), weigh(&case.genetics, &again)) {
            (Ok(one), Ok(other)) => {
                for (animal, &new) in moved.iter().enumerate() {
                    for locus in (0..one.n_loci()).map(LocusId) {
                        let (one, other) = (one.of(AnimalId(animal), locus), other.of(new, locus));
                        prop_assert!(is_same(one, other), "{one:?}\n{other:?}");
                    }
                }
            }
            (one, other) => prop_assert_eq!(one.err(), other.err()),
        }
    }

    #[test]
    fn a_normal_looking_young_never_raises_a_parents_chance(bytes in prop::collection::vec(any::<u8>(), 200)) {
        let case = case(&bytes);
        let Ok(before) = case.quickly() else { return Ok(()) };
        let recessive = |locus: &Locus, allele| {
            let het = Genotype::pair(AlleleId::WILD, allele);
            locus.lethal().is_empty() && locus.sex_link().is_none() && locus.look_of(het).is_wild()
        };
        for (at, clutch) in case.records.clutches.iter().enumerate() {
            // Of one of several sires it may well say that another one is the likelier carrier.
            let ([(sire, _)], Some(dam)) = (&clutch.sires[..], clutch.dam) else { continue };
            for locus in (0..before.n_loci()).map(LocusId) {
                let here = case.genetics.locus(locus).unwrap();
                let allele = AlleleId(1);
                if !recessive(here, allele) {
                    continue;
                }
                let mut records = case.records.clone();
                let seen = [(locus, vec![Look::WILD])].into();
                records.clutches[at].young.push(Young { seen, sex: None, count: 1 });
                let Ok(after) = weigh(&case.genetics, &records) else { continue };
                for parent in [*sire, dam] {
                    let carries = |posterior: &Posterior| match posterior.carries(parent, locus, allele) {
                        Figure::Exact(odds) => odds,
                        Figure::Rounded(_) => panic!("small collections are exact"),
                    };
                    if here.n_alleles() == 2 {
                        prop_assert!(carries(&after) <= carries(&before));
                    }
                }
            }
        }
    }
}

#[test]
fn the_cases_are_not_all_alike() {
    let mut state = 1u64;
    let mut counts = [0; 4];
    for _ in 0..300 {
        let bytes: Vec<u8> = (0..200)
            .map(|_| {
                state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                (state >> 56) as u8
            })
            .collect();
        let case = case(&bytes);
        let possible = case.quickly().is_ok();
        counts[0] += usize::from(possible);
        counts[1] += usize::from(possible && case.broods.iter().any(|brood| brood.sires.len() > 1));
        counts[2] += usize::from(possible && case.genetics.linked().is_some());
        counts[3] += usize::from(possible && case.people.iter().filter(|person| person.brood.is_some()).count() > 2);
    }
    assert!(counts.iter().all(|&n| n > 40), "{counts:?}");
}
