//! The season's pairings for a whole collection: against brute force, against exact values, and in order.

use std::collections::HashMap;

use hatchward::engine::inheritance::clutch::{ClutchSize, Wanted};
use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, Sex, SexSystem};
use hatchward::engine::odds::odds;
use hatchward::engine::planning::holdback::hold;
use hatchward::engine::planning::project::decide::{Objective, Project};
use hatchward::engine::planning::season::assign::{BARRED, assign};
use hatchward::engine::planning::season::{Advice, Aim, Candidate, Limits, Pairing, Room, advise};
use hatchward::engine::planning::{Animal, Maturity, Tell};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use super::projects::{Beast, Now, World, any_world};

/// The greatest sum by trying everything.
fn greatest(worth: &[Vec<i64>], serves: &mut [u32], female: usize, most: usize) -> i64 {
    if female == worth[0].len() {
        return 0;
    }
    let mut best = greatest(worth, serves, female + 1, most);
    for male in 0..worth.len() {
        if most > 0 && serves[male] > 0 && worth[male][female] != BARRED {
            serves[male] -= 1;
            best = best.max(worth[male][female] + greatest(worth, serves, female + 1, most - 1));
            serves[male] += 1;
        }
    }
    best
}

fn sum(worth: &[Vec<i64>], with: &[Option<usize>]) -> i64 {
    with.iter().enumerate().filter_map(|(female, male)| male.map(|male| worth[male][female])).sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(crate::cases(200)))]

    #[test]
    fn no_assignment_is_better(
        worth in (1usize..=6, 1usize..=8).prop_flat_map(|(males, females)| {
            let one = prop_oneof![1 => Just(BARRED), 4 => -5i64..40];
            prop::collection::vec(prop::collection::vec(one, females), males)
        }),
        mut serves in prop::collection::vec(0u32..4, 6),
        most in 0usize..9,
    ) {
        serves.truncate(worth.len());
        let with = assign(&worth, &serves, most);
        prop_assert!(with.iter().flatten().count() <= most);
        for (male, most) in serves.iter().enumerate() {
            prop_assert!(with.iter().filter(|m| **m == Some(male)).count() <= *most as usize);
        }
        prop_assert!(with.iter().enumerate().all(|(f, m)| m.is_none_or(|m| worth[m][f] != BARRED)));
        prop_assert_eq!(sum(&worth, &with), greatest(&worth, &mut serves.clone(), 0, most));
    }
}

fn pair(n: u8) -> Genotype {
    Genotype::pair(AlleleId(u8::from(n == 2)), AlleleId(u8::from(n > 0)))
}

fn recessives(n: usize) -> Genetics {
    Genetics::new(vec![Locus::trade(&[Mode::Recessive]); n], Some(SexSystem::Xy)).unwrap()
}

/// Visual at all these.
fn visual(loci: impl IntoIterator<Item = u16>) -> Wanted {
    loci.into_iter().fold(Wanted::any(), |goal, id| goal.with(LocusId(id), [pair(2)]))
}

fn aim(goal: Wanted, weight: f64) -> Aim {
    Aim { goal, seasons: 8, objective: Objective::Seasons, weight, without: Vec::new() }
}

fn animal(sex: Sex, copies: &[u8], ready: u32) -> Candidate {
    let genome: Genome = (0..).map(LocusId).zip(copies.iter().map(|n| Belief::sure(pair(*n)))).collect();
    Candidate { animal: Animal { genome, sex, ready }, serves: if sex == Sex::Male { 3 } else { 1 } }
}

fn male(copies: &[u8]) -> Candidate {
    animal(Sex::Male, copies, 0)
}

fn female(copies: &[u8]) -> Candidate {
    animal(Sex::Female, copies, 0)
}

fn possible(sex: Sex, chance: (i64, i64)) -> Candidate {
    let belief = [(pair(1), odds(chance.0, chance.1)), (pair(0), odds(chance.1 - chance.0, chance.1))];
    let genome = Genome::wild().with(LocusId(0), Belief::mix(belief).unwrap());
    Candidate { animal: Animal { genome, sex, ready: 0 }, serves: if sex == Sex::Male { 3 } else { 1 } }
}

fn room<'a>(
    genetics: &'a Genetics,
    animals: Vec<Candidate>,
    aims: Vec<Aim>,
    may: &'a dyn Fn(usize, usize) -> bool,
) -> Room<'a> {
    Room {
        genetics,
        tell: Tell::Look,
        animals,
        aims,
        may,
        maturity: Maturity { female: 3, male: 2 },
        clutch: ClutchSize::Eggs { eggs: 6, hatch: odds(9, 10), take: odds(3, 4) },
        females_per_male: 5,
    }
}

fn advised(room: &Room<'_>, pairings: Option<usize>) -> Advice {
    let advice = advise(std::slice::from_ref(room), Limits { pairings }, &mut || true).unwrap();
    assert!(advice.complete);
    advice
}

fn pairs(advice: &Advice) -> Vec<(usize, usize)> {
    advice.chosen.iter().map(|chosen| (chosen.pairing.sire, chosen.pairing.dam)).collect()
}

const ANYBODY: &dyn Fn(usize, usize) -> bool = &|_, _| true;

#[test]
fn the_pair_that_makes_the_goal_comes_first() {
    let genetics = recessives(2);
    let animals = vec![
        male(&[2, 1]),   // 0 visual het for the other
        female(&[2, 2]), // 1 the goal itself
        female(&[1, 1]), // 2 double het
        female(&[0, 0]), // 3 normal
    ];
    let room = room(&genetics, animals, vec![aim(visual([0, 1]), 1.0)], ANYBODY);
    let advice = advised(&room, None);
    assert_eq!(pairs(&advice)[..2], [(0, 1), (0, 2)]);
    assert!(advice.exact);
    // With one clutch only the best is left.
    assert_eq!(pairs(&advised(&room, Some(1))), [(0, 1)]);
    let worth = |dam| advice.worth_of(Pairing { room: 0, sire: 0, dam }).unwrap();
    assert!(worth(1) > worth(2) && worth(2) > worth(3));
}

#[test]
fn two_that_serve_the_same_need_are_worth_less_than_twice_one() {
    let genetics = recessives(1);
    let alone = room(&genetics, vec![male(&[2]), female(&[1])], vec![aim(visual([0]), 1.0)], ANYBODY);
    let both = room(&genetics, vec![male(&[2]), female(&[1]), female(&[1])], vec![aim(visual([0]), 1.0)], ANYBODY);
    let (alone, both) = (advised(&alone, None), advised(&both, None));
    assert!(both.chosen[0].worth < alone.chosen[0].worth);
    assert_eq!(both.chosen.len(), 2);
}

#[test]
fn pairings_that_are_only_worth_something_together_are_found() {
    // A deadline that only both first rounds of this season can meet: one gives the male, the other the female.
    let genetics = recessives(2);
    let animals = vec![male(&[2, 0]), female(&[0, 2]), male(&[0, 2]), female(&[2, 0])];
    let goal = Aim { seasons: 4, objective: Objective::Chance, ..aim(visual([0, 1]), 1.0) };
    let room = room(&genetics, animals, vec![goal], ANYBODY);
    assert_eq!(advised(&room, None).chosen.len(), 2);
}

#[test]
fn a_pairing_that_proves_a_possible_carrier_is_worth_more() {
    let genetics = recessives(1);
    let animals = vec![male(&[2]), possible(Sex::Female, (2, 3)), male(&[0])];
    let room = room(&genetics, animals, vec![aim(visual([0]), 1.0)], ANYBODY);
    let advice = advised(&room, None);
    assert_eq!(pairs(&advice), [(0, 1)]);
    let [of_sire, of_dam] = advice.chosen[0].proves;
    assert!(of_sire == 0.0);
    // Carrier 2/3, clutch 3/4, at least one visual among six eggs of which each hatches with 9/10 and shows with 1/2.
    let expected = 2.0 / 3.0 * 0.75 * (1.0 - (1.0f64 - 0.45).powi(6));
    assert!((of_dam - expected).abs() < 1e-9, "{of_dam} instead of {expected}");
}

#[test]
fn what_may_not_be_is_not_chosen() {
    let genetics = recessives(1);
    let animals = || vec![male(&[2]), male(&[1]), female(&[1])];
    let aims = || vec![aim(visual([0]), 1.0)];
    let barred = |sire: usize, _: usize| sire != 0;
    let barred = room(&genetics, animals(), aims(), &barred);
    assert_eq!(pairs(&advised(&barred, None)), [(1, 2)]);
    assert_eq!(advised(&barred, None).worth_of(Pairing { room: 0, sire: 0, dam: 2 }), None);
    let mut rests = animals();
    rests[2].serves = 0;
    assert_eq!(pairs(&advised(&room(&genetics, rests, aims(), ANYBODY), None)), []);
    let mut without = aims();
    without[0].without = vec![0];
    assert_eq!(pairs(&advised(&room(&genetics, animals(), without, ANYBODY), None)), [(1, 2)]);
}

#[test]
fn near_ties_are_shown() {
    let genetics = recessives(1);
    let animals = vec![male(&[2]), male(&[2]), female(&[1])];
    let room = room(&genetics, animals, vec![aim(visual([0]), 1.0)], ANYBODY);
    let advice = advised(&room, None);
    assert_eq!(pairs(&advice), [(0, 2)]);
    assert_eq!(advice.chosen[0].nearly.iter().map(|(sire, _)| *sire).collect::<Vec<_>>(), [1]);
}

#[test]
fn a_gene_that_nobody_has_does_not_stop_the_rest() {
    let genetics = recessives(2);
    let animals = vec![male(&[2, 0]), female(&[1, 0])];
    let room = room(&genetics, animals, vec![aim(visual([0, 1]), 1.0)], ANYBODY);
    let advice = advised(&room, None);
    assert_eq!(advice.missing, [[[LocusId(1)]]]);
    assert_eq!(pairs(&advice), [(0, 1)]);
}

#[test]
fn rooms_share_the_pairings_of_a_season() {
    let genetics = recessives(1);
    let animals = || vec![male(&[2]), female(&[1])];
    let rooms = [
        room(&genetics, animals(), vec![aim(visual([0]), 1.0)], ANYBODY),
        room(&genetics, animals(), vec![aim(visual([0]), 2.0)], ANYBODY),
    ];
    let advice = |pairings| advise(&rooms, Limits { pairings }, &mut || true).unwrap();
    assert_eq!(advice(None).chosen.len(), 2);
    let one = advice(Some(1));
    assert_eq!(one.chosen.iter().map(|c| c.pairing.room).collect::<Vec<_>>(), [1]);
}

#[test]
fn nobody_to_pair_is_no_fault() {
    let genetics = recessives(1);
    for animals in [vec![], vec![male(&[2])], vec![female(&[2]), female(&[1])], vec![animal(Sex::Female, &[1], 2)]] {
        let room = room(&genetics, animals, vec![aim(visual([0]), 1.0)], ANYBODY);
        assert_eq!(advised(&room, None).chosen.len(), 0);
    }
}

#[test]
fn a_stopped_search_gives_what_it_has() {
    let genetics = recessives(1);
    let room = room(&genetics, vec![male(&[2]), female(&[1])], vec![aim(visual([0]), 1.0)], ANYBODY);
    let advice = advise(&[room], Limits::default(), &mut || false).unwrap();
    assert!(!advice.complete);
}

#[test]
fn of_two_young_that_do_the_same_one_is_kept() {
    let genetics = recessives(1);
    let young = |sex, copies: &[u8]| animal(sex, copies, if sex == Sex::Male { 2 } else { 3 });
    let animals = vec![
        male(&[1]),               // 0 the old male
        female(&[1]),             // 1 the old female
        young(Sex::Male, &[2]),   // 2 a visual son
        young(Sex::Male, &[2]),   // 3 another
        young(Sex::Female, &[0]), // 4 a daughter without the gene
        young(Sex::Female, &[2]), // 5 a visual daughter
    ];
    let goal = Aim { objective: Objective::Seasons, ..aim(visual([0]).of_sex(Sex::Female), 1.0) };
    let room = room(&genetics, animals, vec![goal], ANYBODY);
    let kept = hold(&room, None, &mut || true).unwrap();
    assert!(kept.kept[0] && kept.kept[1] && kept.kept[2] && kept.kept[5], "{kept:?}");
    assert!(!kept.needed[3] && !kept.needed[4], "{kept:?}");
    // With room for three the pair and one more stay.
    let three = hold(&room, Some(3), &mut || true).unwrap();
    assert_eq!(three.kept.iter().filter(|k| **k).count(), 3);
    assert!(three.kept[0] && three.kept[1], "{three:?}");
}

fn any_candidate() -> impl Strategy<Value = (bool, Vec<u8>, u32)> {
    (any::<bool>(), prop::collection::vec(0u8..3, 2), prop_oneof![4 => Just(0u32), 1 => Just(1)])
}

fn built(all: &[(bool, Vec<u8>, u32)]) -> Vec<Candidate> {
    let of = |(is_male, copies, ready): &(bool, Vec<u8>, u32)| {
        animal(if *is_male { Sex::Male } else { Sex::Female }, copies, *ready)
    };
    all.iter().map(of).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(crate::cases(40)))]

    #[test]
    fn a_better_gene_never_lowers_the_worth_of_an_animal(
        all in prop::collection::vec(any_candidate(), 2..6),
        (who, locus) in (any::<prop::sample::Index>(), 0usize..2),
        look in any::<bool>(),
    ) {
        let genetics = recessives(2);
        let who = who.index(all.len());
        prop_assume!(all[who].1[locus] < 2);
        // A goal that lacks a gene is another goal: both are here from the start.
        let all: Vec<_> = all.into_iter().chain([(true, vec![1, 1], 0)]).collect();
        let mut better = all.clone();
        better[who].1[locus] += 1;
        let worth = |all: &[(bool, Vec<u8>, u32)]| {
            let tell = if look { Tell::Look } else { Tell::Genotype };
            let room = Room { tell, ..room(&genetics, built(all), vec![aim(visual([0, 1]), 1.0)], ANYBODY) };
            hold(&room, None, &mut || true).unwrap().worth[who]
        };
        let (before, after) = (worth(&all), worth(&better));
        // Where only looks are told, which of alike young is kept is guessed at, and the guess costs a little order.
        let slack = if look { 0.01 } else { 1e-9 };
        prop_assert!(after >= before - slack, "{before} became {after}");
    }

    #[test]
    fn relaxing_a_limit_never_lowers_the_total(
        all in prop::collection::vec(any_candidate(), 2..6),
        most in 0usize..3,
        barred in any::<prop::sample::Index>(),
        serves in 0u32..2,
    ) {
        let genetics = recessives(2);
        let aims = || vec![aim(visual([0, 1]), 1.0), aim(visual([1]), 0.5)];
        let barred = barred.index(all.len());
        let strict = |sire: usize, dam: usize| sire != barred && dam != barred;
        let total = |may: &dyn Fn(usize, usize) -> bool, most, fewer: u32| {
            let mut animals = built(&all);
            for candidate in animals.iter_mut().filter(|c| c.animal.sex == Sex::Male) {
                candidate.serves -= fewer;
            }
            let advice = advised(&room(&genetics, animals, aims(), may), most);
            assert!(advice.exact);
            advice.total
        };
        let free = total(ANYBODY, None, 0);
        for limited in [total(&strict, None, 0), total(ANYBODY, Some(most), 0), total(ANYBODY, None, 2 + serves)] {
            prop_assert!(limited <= free + 1e-12, "{limited} of {free}");
        }
        prop_assert!(total(ANYBODY, Some(most), 0) <= total(ANYBODY, Some(most + 1), 0) + 1e-12);
    }
}

/// The season's pairings, and the holding, of a project of one goal.
fn season_of(project: &Project<'_>) -> (Vec<(usize, usize)>, Vec<usize>) {
    let males = project.females_per_male;
    let room = Room {
        genetics: project.genetics,
        tell: Tell::Genotype,
        animals: project
            .animals
            .iter()
            .map(|member| Candidate {
                serves: if member.animal.sex == Sex::Male { males } else { 1 },
                animal: member.animal.clone(),
            })
            .collect(),
        aims: vec![Aim {
            goal: project.goal.clone(),
            seasons: project.seasons,
            objective: project.objective,
            weight: 1.0,
            without: Vec::new(),
        }],
        may: ANYBODY,
        maturity: project.maturity,
        clutch: project.clutch.clone(),
        females_per_male: males,
    };
    let kept = hold(&room, Some(project.space), &mut || true).unwrap();
    let kept = (0..project.animals.len()).filter(|i| kept.kept[*i]).collect();
    (pairs(&advised(&room, None)), kept)
}

/// The exact value of doing what the season's advice says, in every state that it can reach.
fn of_advice(world: &World, genetics: &Genetics, now: &Now, memo: &mut HashMap<Now, Vec<f64>>) -> Vec<f64> {
    if now.left == 0 {
        return Vec::new();
    }
    if let Some(known) = memo.get(now) {
        return known.clone();
    }
    let (pairs, _) = season_of(&world.project(genetics, now.left, 0, &now.here));
    let value = world.after(now, 0, &now.here, &pairs, &mut |older, shown, _| {
        let mut all: Vec<Beast> = older.into_iter().chain(shown).collect();
        if all.len() > world.space {
            let (_, kept) = season_of(&world.project(genetics, now.left - 1, 0, &all));
            all = kept.into_iter().map(|i| all[i].clone()).collect();
        }
        all.sort();
        of_advice(world, genetics, &Now { left: now.left - 1, sold: 0, here: all }, memo)
    });
    memo.insert(now.clone(), value.clone());
    value
}

/// Exact dynamic programming over everything gives the best there is; the season's advice must come near.
#[test]
fn the_advice_is_worth_nearly_the_best_there_is() {
    let mut runner = TestRunner::deterministic();
    let mut shares = Vec::new();
    for (loci, eggs, n) in [(1usize, 2u64, 40), (2, 1, 40)] {
        let strategy = any_world(loci, eggs, 4);
        for _ in 0..n {
            let (world, here) = strategy.new_tree(&mut runner).unwrap().current();
            let world = World { offers: Vec::new(), ..world };
            let now = Now { left: world.seasons, sold: 0, here };
            let best = world.score(&world.best(&now, &mut HashMap::new()));
            if best > 1e-9 {
                let genetics = world.genetics();
                let found = world.score(&of_advice(&world, &genetics, &now, &mut HashMap::new()));
                assert!(found <= best + 1e-9);
                shares.push((found / best, world, now));
            }
        }
    }
    let mean = shares.iter().map(|(share, ..)| share).sum::<f64>() / shares.len() as f64;
    let worst = shares.iter().min_by(|a, b| a.0.total_cmp(&b.0)).expect("some project can be done");
    println!("{} projects: mean {mean:.4} of the best, worst {:.4}", shares.len(), worst.0);
    assert!(shares.len() >= 30, "only {} projects", shares.len());
    assert!(mean >= 0.95, "the mean is {mean} of the best; the worst is {worst:?}");
}

/// A room as they are: visuals, hets, possible hets at four genes, one male to four females, a fifth not grown.
fn large(n: u8) -> Vec<Candidate> {
    let one = |i: u8| {
        let mut candidate =
            animal(if i.is_multiple_of(5) { Sex::Male } else { Sex::Female }, &[], u32::from(i % 5 == 4));
        let genome = &mut candidate.animal.genome;
        genome.set(LocusId((i % 4).into()), Belief::sure(pair(1 + u8::from(i.is_multiple_of(3)))));
        let second = LocusId(((i / 4 + i) % 4).into());
        if i % 4 == 1 {
            genome.set(second, Belief::mix([(pair(1), odds(2, 3)), (pair(0), odds(1, 3))]).unwrap());
        } else if i.is_multiple_of(2) {
            genome.set(second, Belief::sure(pair(1)));
        }
        candidate
    };
    (0..n).map(one).collect()
}

#[test]
fn a_large_room_keeps_every_limit() {
    let genetics = recessives(4);
    let aims = vec![aim(visual([0, 1]), 1.0), aim(visual([2, 3]), 0.5)];
    let may = |sire: usize, dam: usize| !(sire * 31 + dam).is_multiple_of(13);
    let room = room(&genetics, large(40), aims, &may);
    let advice = advised(&room, Some(12));
    assert!(!advice.exact && advice.chosen.len() == 12, "{:?}", advice.chosen.len());
    for chosen in &advice.chosen {
        let Pairing { sire, dam, .. } = chosen.pairing;
        let (male, female) = (&room.animals[sire].animal, &room.animals[dam].animal);
        assert!(male.sex == Sex::Male && female.sex == Sex::Female && male.ready == 0 && female.ready == 0);
        assert!(may(sire, dam) && chosen.worth > 0.0);
        let alike = |other: &&hatchward::engine::planning::season::Chosen| other.pairing.dam == dam;
        assert_eq!(advice.chosen.iter().filter(alike).count(), 1);
        assert!(advice.chosen.iter().filter(|other| other.pairing.sire == sire).count() <= 3);
        // What is kept of the search says the same as the search.
        assert!((advice.worth_of(chosen.pairing).unwrap() - chosen.worth).abs() < 1e-9);
    }
    assert!(advice.chosen.windows(2).all(|two| two[0].worth >= two[1].worth));
}

#[test]
fn a_goal_of_many_genes_is_looked_at_in_groups() {
    let genetics = recessives(4);
    let animals = vec![male(&[2, 1, 0, 1]), female(&[1, 2, 1, 0]), female(&[0, 0, 2, 1]), female(&[0, 0, 0, 0])];
    let room = room(&genetics, animals, vec![aim(visual([0, 1, 2, 3]), 1.0)], ANYBODY);
    let advice = advised(&room, Some(2));
    let mut dams: Vec<usize> = pairs(&advice).into_iter().map(|(_, dam)| dam).collect();
    dams.sort_unstable();
    assert_eq!(dams, [1, 2]);
}
