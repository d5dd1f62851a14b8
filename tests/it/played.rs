//! Projects under the policy that is proposed, run after run, against exact dynamic programming on tiny herds.

use std::collections::HashMap;

use hatchward::engine::odds::none;
use hatchward::engine::planning::project::decide::Objective;
use hatchward::engine::planning::project::play::{Played, Runs, Story, play};
use proptest::strategy::{Strategy as _, ValueTree as _};
use proptest::test_runner::TestRunner;

use super::projects::{Beast, Now, World, any_world};

const RUNS: Runs = Runs { replicates: 20_000, seed: 7, threads: 1 };

fn played(world: &World, here: &[Beast], runs: Runs) -> Story {
    let genetics = world.genetics();
    let project = world.project(&genetics, world.seasons, 0, here);
    let question = Played {
        genetics: &genetics,
        tell: project.tell,
        animals: project.animals.into_iter().map(|member| member.animal).collect(),
        goal: project.goal,
        seasons: world.seasons,
        maturity: world.maturity,
        clutch: project.clutch,
        rest: none(),
        females_per_male: world.females_per_male,
        clutches: None,
        space: world.space,
    };
    play(&question, runs, &mut |_| true).unwrap()
}

/// Tiny worlds without purchases in which the goal is within reach.
fn worlds() -> Vec<(World, Vec<Beast>, Vec<f64>)> {
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
    for (world, here, best) in worlds() {
        let story = played(&world, &here, RUNS);
        let share = story.done.iter().sum::<f64>() / best.iter().sum::<f64>();
        println!("{share:.4} {best:.3?} {:.3?} {world:?} {here:?}", story.done);
        shares.push(share);
    }
    let mean = shares.iter().sum::<f64>() / shares.len() as f64;
    let worst = shares.iter().copied().fold(f64::INFINITY, f64::min);
    println!("mean {mean:.4} worst {worst:.4}");
    assert!(mean >= 0.99 && worst >= 0.95, "mean {mean}, worst {worst} of the best value");
}
