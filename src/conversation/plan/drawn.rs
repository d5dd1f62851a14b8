//! A plan as a picture: its phases downwards in time, and plans side by side.

use super::phases::{animal, count, pairings, parent};
use super::{Frame, Laid};
use crate::conversation::labels;
use crate::engine::inheritance::locus::Sex;
use crate::engine::planning::route::{Keep, Step};
use crate::reply::picture::{Curve, Curves, Drawing, Phase, Plan, millionths};
use crate::species::Species;

/// The plan from phase to phase; `bought` says what could be bought, and what it saves.
pub(super) fn phases(
    species: &Species,
    laid: &Laid,
    frame: &Frame<'_>,
    title: &str,
    bought: &[String],
    done: Option<&[f64]>,
) -> Drawing {
    let mut together = pairings(&laid.route.steps);
    together.sort_by_key(|steps| (steps[0].season, steps[0].seasons));
    Drawing::Plan(Plan {
        title: title.to_owned(),
        start: laid.to_buy().iter().map(|kind| kind.words(species)).collect(),
        phases: together.iter().map(|steps| phase(species, laid, steps)).collect(),
        purchases: bought.to_vec(),
        first_year: (frame.first_year > 0).then_some(frame.first_year),
        done: done.unwrap_or_default().iter().map(|chance| millionths(*chance)).collect(),
    })
}

/// Plans side by side: what each is called, and its chances.
pub(super) fn side_by_side(frame: &Frame<'_>, title: &str, plans: &[(String, Vec<f64>)]) -> Drawing {
    let curve = |(name, done): &(String, Vec<f64>)| Curve {
        name: name.clone(),
        done: done.iter().map(|chance| millionths(*chance)).collect(),
    };
    Drawing::Curves(Curves {
        title: title.to_owned(),
        first_year: (frame.first_year > 0).then_some(frame.first_year),
        plans: plans.iter().map(curve).collect(),
    })
}

fn phase(species: &Species, laid: &Laid, together: &[&Step]) -> Phase {
    let step = together[0];
    let season = |n: u64| u32::try_from(n).unwrap_or(u32::MAX);
    let odds = format!("{} of its eggs, {}", labels::fraction(&step.per_egg), count(step.clutches, "clutch"));
    let keep = together
        .iter()
        .map(|step| match &step.keep {
            Keep::Goal => format!("the goal: {odds}"),
            Keep::Keeper { sex, genotypes } => {
                format!("keep {}: {odds}", animal(species, &laid.world.genetics, *sex, genotypes))
            }
        })
        .collect();
    Phase {
        from: season(step.season + 1),
        to: season(step.season + step.seasons),
        pairing: format!(
            "{} × {}",
            parent(species, &laid.world, &laid.kinds, &step.sire, Sex::Male),
            parent(species, &laid.world, &laid.kinds, &step.dam, Sex::Female)
        ),
        keep,
    }
}
