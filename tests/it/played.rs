//! Projects under the policy that is proposed, run after run, against exact dynamic programming on tiny herds.

use std::collections::HashMap;
use std::sync::LazyLock;

use hatchward::engine::inheritance::genotype::Genotype;
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, LocusId};
use hatchward::engine::odds::none;
use hatchward::engine::planning::project::decide::{self, Depth, Objective};
use hatchward::engine::planning::project::play::{Kinship, Played, Runs, Story, play};
use hatchward::engine::planning::{Maturity, Tell};
use proptest::strategy::{Strategy as _, ValueTree as _};
use proptest::test_runner::TestRunner;

use super::projects::{Beast, Now, World, any_world};

const RUNS: Runs = Runs { replicates: 20_000, seed: 7, threads: 1 };

fn question<'a>(world: &World, genetics: &'a Genetics, here: &[Beast]) -> Played<'a> {
    let project = world.project(genetics, world.seasons, 0, here);
    Played {
        genetics,
        tell: project.tell,
        animals: project.animals.into_iter().map(|member| member.animal).collect(),
        goal: project.goal,
        both_sexes: false,
        seasons: world.seasons,
        maturity: world.maturity,
        clutch: project.clutch,
        rest: none(),
        females_per_male: world.females_per_male,
        clutches: None,
        space: world.space,
        females_alike: 4,
        on_the_way: Vec::new(),
        kinship: None,
    }
}

fn played(world: &World, here: &[Beast], runs: Runs) -> Story {
    let genetics = world.genetics();
    play(&question(world, &genetics, here), runs, &|_| true).unwrap()
}

/// A world, who is there at first, and the best chances to be done by each season.
type Tiny = (World, Vec<Beast>, Vec<f64>);

/// Tiny worlds without purchases in which the goal is within reach; their best values take most of the time, so all tests
/// share them.
static WORLDS: LazyLock<Vec<Tiny>> = LazyLock::new(worlds);

fn worlds() -> Vec<Tiny> {
    let mut found = Vec::new();
    for (genes, eggs, seasons, n) in [(1, 3, 6, 20), (2, 2, 5, 20)] {
        let mut runner = TestRunner::deterministic();
        let before = found.len();
        while found.len() < before + n {
            let (mut world, here) = any_world(genes, eggs, seasons).new_tree(&mut runner).unwrap().current();
            world.offers.clear();
            world.objective = Objective::Seasons;
            world.seasons = seasons;
            let now = Now { left: world.seasons, sold: 0, here: here.clone() };
            let best = world.best(&now, &mut HashMap::new());
            if best.last().is_some_and(|chance| *chance > 0.05) {
                found.push((world, here, best));
            }
        }
    }
    found
}

#[test]
fn the_policy_comes_near_the_best_there_is() {
    let mut shares = Vec::new();
    for (world, here, best) in &*WORLDS {
        let story = played(world, here, RUNS);
        let share = story.done.iter().sum::<f64>() / best.iter().sum::<f64>();
        shares.push(share);
    }
    let mean = shares.iter().sum::<f64>() / shares.len() as f64;
    let worst = shares.iter().copied().fold(f64::INFINITY, f64::min);
    assert!(mean >= 0.99 && worst >= 0.95, "mean {mean}, worst {worst} of the best value");
}

#[test]
fn the_same_story_is_told_on_any_number_of_threads() {
    for (world, here, _) in WORLDS.iter().step_by(9) {
        let runs = Runs { replicates: 500, ..RUNS };
        assert_eq!(played(world, here, runs), played(world, here, Runs { threads: 3, ..runs }));
    }
}

#[test]
fn what_is_cut_short_says_how_many_runs_it_rests_on() {
    let (world, here, _) = &WORLDS[0];
    let genetics = world.genetics();
    let question = question(world, &genetics, here);
    let story = play(&question, RUNS, &|played| played < 100).unwrap();
    assert!((100..RUNS.replicates).contains(&story.replicates), "{}", story.replicates);
    assert_eq!(play(&question, RUNS, &|_| false).unwrap().replicates, 0);
}

/// Where only looks are seen, the twin is the exact decision over every case of every animal (`hidden_projects`).
#[test]
fn possible_hets_are_proven_where_that_pays() {
    let mut shares = Vec::new();
    for (world, here, _) in &*WORLDS {
        let genetics = world.genetics();
        let mut project = world.project(&genetics, world.seasons, 0, here);
        project.tell = Tell::Look;
        let best = decide::season(&project, &mut || 1.0).unwrap();
        assert_eq!(best.depth, Depth::Exact);
        let mut unseen = question(world, &genetics, here);
        unseen.tell = Tell::Look;
        let story = play(&unseen, RUNS, &|_| true).unwrap();
        let sum = best.by_season.iter().sum::<f64>();
        let share = story.done.iter().sum::<f64>() / sum;
        // Three standard errors of a share, in every season.
        assert!(share <= 1.0 + 3.0 * story.error() * best.by_season.len() as f64 / sum, "{share} of {best:?}");
        shares.push(share);
    }
    let mean = shares.iter().sum::<f64>() / shares.len() as f64;
    let worst = shares.iter().copied().fold(f64::INFINITY, f64::min);
    assert!(mean >= 0.99 && worst >= 0.95, "mean {mean}, worst {worst} of the best value");
}

/// A world of ball python numbers (common practice, no source) with two recessives and so many visible genes.
fn breeder(visible: usize) -> World {
    World {
        one_is_enough: [vec![false; 2], vec![true; visible]].concat(),
        eggs: 6,
        hatch: (4, 5),
        maturity: Maturity { female: 3, male: 2 },
        space: 12,
        females_per_male: 3,
        objective: Objective::Seasons,
        offers: Vec::new(),
        budget: 0,
        seasons: 8,
    }
}

/// Two visuals of either recessive, unrelated, a male and a female of each pair.
fn two_pairs<'a>(world: &World, genetics: &'a Genetics, n: usize, limit: Option<f64>) -> Played<'a> {
    let here: Vec<Beast> = [(true, [2, 0]), (false, [0, 2]), (true, [0, 2]), (false, [2, 0])]
        .into_iter()
        .take(n)
        .map(|(male, copies)| (male, copies.to_vec(), 0))
        .collect();
    let mut project = question(world, genetics, &here);
    (project.tell, project.space) = (Tell::Look, 12);
    project.kinship = limit.map(|limit| Kinship { limit, between: Vec::new() });
    project
}

#[test]
fn relatives_beyond_the_limit_are_not_paired_and_a_second_pair_of_founders_is_used() {
    let world = breeder(0);
    let genetics = world.genetics();
    let runs = Runs { replicates: 100, ..RUNS };
    let chance = |n, limit| {
        let story = play(&two_pairs(&world, &genetics, n, limit), runs, &|_| true).unwrap();
        story.done.last().copied().unwrap()
    };
    // All young of one pair are siblings, or young of those that are there.
    assert!(chance(2, None) > 0.8 && chance(2, Some(0.25)) > 0.8);
    assert!(chance(2, Some(0.125)) <= 0.0);
    // With two pairs the double hets of either have mates that are no relatives.
    let (free, half_siblings, unrelated) = (chance(4, None), chance(4, Some(0.125)), chance(4, Some(0.0)));
    assert!(free > 0.8 && half_siblings > 0.7 && unrelated > 0.7, "{free} {half_siblings} {unrelated}");
    assert!(free >= half_siblings - 0.1 && half_siblings >= unrelated - 0.1, "{free} {half_siblings} {unrelated}");
    // Founders that are siblings are no way out.
    let mut siblings = two_pairs(&world, &genetics, 4, Some(0.0));
    siblings.kinship = Some(Kinship { limit: 0.0, between: vec![vec![0.25; 4]; 4] });
    assert_eq!(play(&siblings, runs, &|_| true).unwrap().done.last(), Some(&0.0));
}

#[test]
fn a_pair_takes_one_of_either_sex() {
    let (world, here, _) = &WORLDS[0];
    let genetics = world.genetics();
    let mut pair = question(world, &genetics, here);
    pair.both_sexes = true;
    let runs = Runs { replicates: 2_000, ..RUNS };
    let (both, one) = (play(&pair, runs, &|_| true).unwrap(), played(world, here, runs));
    // The first of either is there no later than the pair, and now and then the other sex comes first alone.
    assert!(both.done.iter().zip(&one.done).all(|(both, one)| both <= one));
    assert!(both.done.last() < one.done.last() && both.done.last() > Some(&0.0), "{both:?} {one:?}");
}

/// Two recessives and two visible genes are 81 kinds: only those on the plan's way are hoped for.
#[test]
fn a_wide_goal_is_played_out_on_the_way_of_a_plan() {
    let world = breeder(2);
    let genetics = world.genetics();
    let here = [(true, vec![2, 0, 1, 0], 0), (false, vec![0, 2, 0, 1], 0)];
    let mut project = question(&world, &genetics, &here);
    project.tell = Tell::Look;
    let het = Genotype::pair(AlleleId::WILD, AlleleId(1));
    project.on_the_way = vec![(0..4).map(|id| (LocusId(id), het)).collect()];
    let runs = Runs { replicates: 40, ..RUNS };
    let story = play(&project, runs, &|_| true).unwrap();
    // Females grow up for three seasons, so nobody is done in the first three; most are after eight.
    assert!(story.done[2] <= 0.0 && story.done.last() > Some(&0.6), "{story:?}");
}
