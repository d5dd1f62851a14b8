//! The engine against a slow, obvious twin: every parent, every gamete, every young, counted one by one.

use std::collections::BTreeMap;

use hatchward::engine::inheritance::clutch::{Chances, ClutchSize, Figure, Wanted, per_egg};
use hatchward::engine::inheritance::cross::{Offspring, cross};
use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Look, Mode, Sex, SexLink, SexSystem};
use hatchward::engine::odds::{Odds, none, odds, sure};
use num_traits::pow;
use proptest::prelude::*;

/// All weights of the twin are whole numbers: of a belief, of a locus's young, of the share of males.
const BELIEF: u64 = 6;
const YOUNG: u64 = 80;
const MALES: u64 = 20;

#[derive(Debug)]
struct Case {
    genetics: Genetics,
    /// Per locus: the recombination in twentieths, if it is the linked one; 0 also where only the X carries it.
    linked: Vec<Option<(u64, bool)>>,
    males: Option<u64>,
    parents: [Vec<Vec<(Genotype, u64)>>; 2],
    wanted: Wanted,
}

/// Choices from a list of bytes, so that a failing case shrinks.
struct Dice<'a>(std::slice::Iter<'a, u8>);

impl Dice<'_> {
    fn below(&mut self, n: u8) -> u8 {
        self.0.next().map_or(0, |byte| byte % n)
    }
}

fn case(bytes: &[u8]) -> Case {
    let mut dice = Dice(bytes.iter());
    let n_loci = 1 + dice.below(4);
    let linked_at = dice.below(8);
    let (system, hetero, males) = match dice.below(4) {
        0 => (Some(SexSystem::Xy), Some(Sex::Male), Some(MALES / 2)),
        1 => (Some(SexSystem::Zw), Some(Sex::Female), Some(MALES / 2)),
        2 => (Some(SexSystem::Chance { male: odds(3, 20) }), None, Some(3)),
        _ => (None, None, None),
    };
    let mut loci = Vec::new();
    let mut linked = Vec::new();
    let mut parents = [Vec::new(), Vec::new()];
    let mut wanted = Wanted::any();
    for i in 0..n_loci {
        let modes = [Mode::Recessive, Mode::IncompleteDominant, Mode::Dominant];
        let n_alleles = 2 + dice.below(2);
        let mut locus = if dice.below(4) == 0 {
            Locus::series(n_alleles.into())
        } else {
            Locus::trade(&(1..n_alleles).map(|_| modes[usize::from(dice.below(3))]).collect::<Vec<_>>())
        };
        let link = (linked_at == i && hetero.is_some()).then(|| (u64::from(dice.below(11)), dice.below(3) == 0));
        if let Some((r, only_x)) = link {
            let r = Odds::new(r.into(), 20.into());
            locus = locus.with_sex_link(if only_x { SexLink::OnlyX } else { SexLink::Recombining(r) });
        }
        let genotype = |sex: Sex, dice: &mut Dice| {
            let (a, b) = (AlleleId(dice.below(n_alleles)), AlleleId(dice.below(n_alleles)));
            match link {
                Some((_, only_x)) if hetero == Some(sex) => Genotype::sided(a, if only_x { AlleleId::NONE } else { b }),
                _ => Genotype::pair(a, b),
            }
        };
        for _ in 0..dice.below(2) {
            locus = locus.with_lethal(genotype(Sex::Male, &mut dice)).with_lethal(genotype(Sex::Female, &mut dice));
        }
        for (parent, sex) in parents.iter_mut().zip([Sex::Male, Sex::Female]) {
            let first = u64::from(1 + dice.below(6));
            parent.push(vec![(genotype(sex, &mut dice), first), (genotype(sex, &mut dice), BELIEF - first)]);
        }
        if dice.below(3) > 0 {
            let counting: Vec<_> =
                (0..6).map(|k| genotype(if k % 2 == 0 { Sex::Male } else { Sex::Female }, &mut dice)).collect();
            wanted = wanted.with(LocusId(i.into()), counting);
        }
        loci.push(locus);
        linked.push(link);
    }
    if males.is_some() {
        wanted = match dice.below(4) {
            0 => wanted.of_sex(Sex::Male),
            1 => wanted.of_sex(Sex::Female),
            _ => wanted,
        };
    }
    Case { genetics: Genetics::new(loci, system).unwrap(), linked, males, parents, wanted }
}

impl Case {
    fn genome(&self, parent: usize) -> Genome {
        let believe = |weights: &Vec<(Genotype, u64)>| {
            Belief::mix(weights.iter().map(|(g, w)| (*g, Odds::new((*w).into(), BELIEF.into())))).unwrap()
        };
        (0..).map(LocusId).zip(self.parents[parent].iter().map(believe)).collect()
    }

    fn offspring(&self) -> Offspring {
        cross(&self.genetics, &self.genome(0), &self.genome(1)).unwrap()
    }

    /// Whether outcomes are told apart by sex.
    fn sexed_outcomes(&self) -> bool {
        self.linked.iter().any(Option::is_some)
    }

    /// The young of two known parents at one locus, weights in `YOUNG`ths.
    fn at_locus(&self, i: usize, sire: Genotype, dam: Genotype) -> Vec<(Option<Sex>, Genotype, u64)> {
        let ((s1, s2), (d1, d2)) = (sire.alleles(), dam.alleles());
        let Some((r, only_x)) = self.linked[i] else {
            let meet = |s, d| (None, Genotype::pair(s, d), YOUNG / 4);
            return vec![meet(s1, d1), meet(s1, d2), meet(s2, d1), meet(s2, d2)];
        };
        let hetero = self.genetics.heterogametic().unwrap();
        let (homo, (x, y), others) =
            if hetero == Sex::Male { (Sex::Female, (s1, s2), [d1, d2]) } else { (Sex::Male, (d1, d2), [s1, s2]) };
        let mut young = Vec::new();
        for other in others {
            let (kept, swapped) = if only_x { (20, 0) } else { (20 - r, r) };
            young.push((Some(homo), Genotype::pair(x, other), kept));
            young.push((Some(hetero), Genotype::sided(other, y), kept));
            if swapped > 0 {
                young.push((Some(homo), Genotype::pair(y, other), swapped));
                young.push((Some(hetero), Genotype::sided(other, x), swapped));
            }
        }
        young
    }

    fn live(&self, genotypes: &[Genotype]) -> bool {
        self.genetics.loci().iter().zip(genotypes).all(|(locus, g)| !locus.is_lethal(*g))
    }

    fn counts(&self, sex: Option<Sex>, genotypes: &[Genotype]) -> bool {
        let fits = (0..).map(LocusId).zip(genotypes).all(|(id, g)| self.wanted.counts(id, *g));
        fits && self.live(genotypes) && (self.wanted.sex().is_none() || self.wanted.sex() == sex)
    }

    /// Every young of two known parents, lethals included, with sex where anything is known of it.
    fn all_young(&self, sire: &[Genotype], dam: &[Genotype]) -> Vec<(Option<Sex>, Vec<Genotype>, Odds)> {
        let mut all = vec![(None, Vec::new(), 1u64)];
        for i in 0..sire.len() {
            let here = self.at_locus(i, sire[i], dam[i]);
            all = all
                .iter()
                .flat_map(|(sex, genotypes, weight)| {
                    here.iter().map(move |(s, g, w)| {
                        (sex.or(*s), genotypes.iter().copied().chain([*g]).collect::<Vec<_>>(), weight * w)
                    })
                })
                .collect();
        }
        let over = pow(num_bigint::BigInt::from(YOUNG), sire.len());
        let exact = |weight: u64, males: u64| Odds::new((weight * males).into(), &over * MALES);
        all.into_iter()
            .flat_map(|(sex, genotypes, weight)| match (sex, self.males) {
                (None, Some(males)) => vec![
                    (Some(Sex::Male), genotypes.clone(), exact(weight, males)),
                    (Some(Sex::Female), genotypes, exact(weight, MALES - males)),
                ],
                _ => vec![(sex, genotypes, exact(weight, MALES))],
            })
            .collect()
    }

    /// Every pair of parents that may be before us.
    fn all_parents(&self) -> Vec<([Vec<Genotype>; 2], Odds)> {
        let mut all = vec![([Vec::new(), Vec::new()], sure())];
        for parent in 0..2 {
            for weights in &self.parents[parent] {
                let mut next = Vec::new();
                for (pair, weight) in &all {
                    for (genotype, w) in weights.iter().filter(|(_, w)| *w > 0) {
                        let mut pair: [Vec<Genotype>; 2] = pair.clone();
                        pair[parent].push(*genotype);
                        next.push((pair, weight * Odds::new((*w).into(), BELIEF.into())));
                    }
                }
                all = next;
            }
        }
        all
    }
}

type Kinds<K> = BTreeMap<(Option<Sex>, Vec<K>), Odds>;

fn check(bytes: &[u8]) {
    let case = case(bytes);
    let offspring = case.offspring();
    let size = ClutchSize::Eggs { eggs: 3, hatch: odds(4, 5), take: odds(2, 3) };
    let mut outcomes: Kinds<Genotype> = BTreeMap::new();
    let mut lost = none();
    let (mut one, mut each, mut clutch, mut each_in_clutch, mut per, mut reach) =
        (none(), none(), none(), none(), none(), none());
    let mut distribution = vec![none(); 4];
    for ([sire, dam], weight) in case.all_parents() {
        let (mut any, mut male) = (none(), none());
        for (sex, genotypes, w) in case.all_young(&sire, &dam) {
            if case.counts(sex, &genotypes) {
                any += &w;
                if sex == Some(Sex::Male) {
                    male += &w;
                }
            }
            if case.live(&genotypes) {
                let sex = sex.filter(|_| case.sexed_outcomes());
                *outcomes.entry((sex, genotypes)).or_insert_with(none) += &weight * w;
            } else {
                lost += &weight * w;
            }
        }
        let missed = |q: &Odds| pow(sure() - q, 3);
        let hatched = odds(4, 5);
        let female = &any - &male;
        let both = |any: &Odds, male: &Odds, female: &Odds| sure() - missed(male) - missed(female) + missed(any);
        one += &weight * (sure() - missed(&any));
        each += &weight * both(&any, &male, &female);
        clutch += &weight * odds(2, 3) * (sure() - missed(&(&any * &hatched)));
        each_in_clutch += &weight * odds(2, 3) * both(&(&any * &hatched), &(&male * &hatched), &(&female * &hatched));
        for (k, ways) in [1, 3, 3, 1].into_iter().enumerate() {
            distribution[k] += &weight * odds(ways, 1) * pow(any.clone(), k) * pow(sure() - &any, 3 - k);
        }
        if any > none() {
            reach += &weight;
        }
        per += weight * any;
    }

    assert_eq!(offspring.lost(), lost);
    check_outcomes(&offspring, &outcomes);
    check_looks(&case, &offspring, &outcomes);

    let chances = Chances::of(&offspring, &case.wanted).unwrap();
    assert_eq!(chances.cases().map(|case| case.weight).sum::<Odds>(), sure());
    assert_eq!(per_egg(&offspring, &case.wanted), Ok(per.clone()));
    assert_eq!(chances.per_egg(), per);
    assert_eq!(chances.at_least_one(3), Ok(one));
    assert_eq!(chances.distribution(3), Ok(distribution));
    assert_eq!(chances.reach(), reach);
    let sexed = case.males.is_some();
    assert_eq!(chances.one_of_each(3), Ok(sexed.then_some(each)));
    let in_clutch = chances.in_clutch(&size).unwrap();
    assert_eq!(in_clutch.at_least_one, Figure::Exact(clutch.clone()));
    assert_eq!(in_clutch.one_of_each, sexed.then_some(Figure::Exact(each_in_clutch)));
    assert_eq!(in_clutch.expected, per * odds(8, 5));
    // One clutch is enough for exactly its own chance.
    if clutch > none() && clutch < reach {
        assert_eq!(chances.clutches_for(&clutch, &size), Ok(Some(1)));
        assert_eq!(chances.clutches_for(&(clutch + Odds::new(1.into(), pow(10.into(), 40))), &size), Ok(Some(2)));
    }
}

fn check_outcomes(offspring: &Offspring, outcomes: &Kinds<Genotype>) {
    let found: Vec<_> = offspring.outcomes().collect();
    assert!(found.is_sorted_by(|a, b| a.probability >= b.probability), "outcomes fall");
    assert_eq!(offspring.n_outcomes(), found.len().into());
    assert_eq!(found.iter().map(|o| o.probability.clone()).sum::<Odds>() + offspring.lost(), sure());
    let listed: Kinds<Genotype> = found
        .into_iter()
        .map(|o| ((o.sex, o.genotypes.into_iter().map(|(_, g)| g).collect()), o.probability))
        .collect();
    assert_eq!(&listed, outcomes);
}

fn check_looks(case: &Case, offspring: &Offspring, outcomes: &Kinds<Genotype>) {
    let look = |genotypes: &[Genotype]| -> Vec<Look> {
        case.genetics.loci().iter().zip(genotypes).map(|(locus, g)| locus.look_of(*g)).collect()
    };
    let mut looks: Kinds<Look> = BTreeMap::new();
    for ((sex, genotypes), weight) in outcomes {
        *looks.entry((*sex, look(genotypes))).or_insert_with(none) += weight;
    }
    let found: Vec<_> = offspring.looks().collect();
    assert!(found.is_sorted_by(|a, b| a.probability >= b.probability), "looks fall");
    assert_eq!(offspring.n_looks(), found.len().into());
    assert_eq!(found.len(), looks.len());
    for kind in found {
        let key = (kind.sex, kind.looks.iter().map(|(_, look)| *look).collect::<Vec<_>>());
        assert_eq!(looks.get(&key), Some(&kind.probability));
        for (i, id) in (0..key.1.len()).zip((0..).map(LocusId)) {
            let mut given: BTreeMap<Genotype, Odds> = BTreeMap::new();
            for ((sex, genotypes), weight) in outcomes {
                if (*sex, look(genotypes)) == key {
                    *given.entry(genotypes[i]).or_insert_with(none) += weight / &kind.probability;
                }
            }
            let found = kind.genotypes.iter().find(|(locus, _)| *locus == id);
            match found {
                None => assert_eq!(given.len(), 1),
                Some((_, found)) => {
                    assert_eq!(found.iter().cloned().collect::<BTreeMap<_, _>>(), given);
                }
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(crate::cases(48)))]

    #[test]
    fn the_engine_agrees_with_counting_everything(bytes in prop::collection::vec(any::<u8>(), 140)) {
        check(&bytes);
    }

    #[test]
    fn swapping_the_parents_changes_nothing_at_autosomal_loci(bytes in prop::collection::vec(any::<u8>(), 140)) {
        let case = case(&bytes);
        if !case.sexed_outcomes() {
            let (sire, dam) = (case.genome(0), case.genome(1));
            let one_way = cross(&case.genetics, &sire, &dam).unwrap();
            let other_way = cross(&case.genetics, &dam, &sire).unwrap();
            prop_assert!(one_way.outcomes().eq(other_way.outcomes()));
            prop_assert!(one_way.looks().eq(other_way.looks()));
            let chances = |offspring: &Offspring| Chances::of(offspring, &case.wanted).unwrap();
            prop_assert_eq!(chances(&one_way), chances(&other_way));
        }
    }
}
