//! The kind `cross`: outcomes, looks, and what a clutch gives.

use serde::Serialize;
use serde_json::{Map, Value};

use super::parts::{
    Loci, Ordered, Senseless, by_locus, chance, clutch, field, list, needed, sex_word, to_line, whole, write_figure,
    write_whole,
};
use crate::engine::inheritance::clutch::{Chances, ClutchError, ClutchSize, per_egg};
use crate::engine::inheritance::cross::{Offspring, cross};
use crate::engine::inheritance::locus::Sex;
use crate::engine::inheritance::outcomes::{LookOutcome, Outcome};
use crate::engine::odds::{Odds, none, odds, sure};

/// The most outcomes and looks of one answer.
const MOST_OUTCOMES: u64 = 4096;

#[derive(Serialize)]
struct Answer<'a> {
    id: &'a Value,
    lost: String,
    count: Value,
    outcomes: Vec<OutcomeLine<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    truncated: Option<String>,
    looks: Vec<LookLine<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    per_egg: Option<String>,
    #[serde(flatten)]
    clutch: Option<ClutchLine>,
}

#[derive(Serialize)]
struct OutcomeLine<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    sex: Option<&'static str>,
    genotype: Ordered<&'a str, String>,
    probability: String,
}

#[derive(Serialize)]
struct LookLine<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    sex: Option<&'static str>,
    look: Ordered<&'a str, String>,
    probability: String,
    genotypes: Ordered<&'a str, Ordered<String, String>>,
}

#[derive(Serialize)]
struct ClutchLine {
    at_least_one: Value,
    expected: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    one_of_each: Option<Value>,
    reach: String,
    eggs_for: Vec<Value>,
    clutches_for: Vec<Value>,
}

/// Answers a request of this kind.
pub(super) fn answer(id: &Value, request: &Map<String, Value>) -> Result<String, Senseless> {
    let loci = Loci::read(request)?;
    let sire = loci.genome(needed(request, "sire")?, Sex::Male, "sire")?;
    let dam = loci.genome(needed(request, "dam")?, Sex::Female, "dam")?;
    let top = field(request, "top").map_or(Ok(MOST_OUTCOMES), |v| whole(v, "top"))?.min(MOST_OUTCOMES);
    let top = usize::try_from(top).unwrap_or(usize::MAX);
    let wanted = field(request, "want").map(|want| loci.wanted(want, "want")).transpose()?;
    let laying = field(request, "clutch").map(clutch).transpose()?;
    let levels = match field(request, "levels") {
        Some(levels) => list(levels, "levels")?.iter().map(|v| chance(v, "levels")).collect::<Result<Vec<_>, _>>()?,
        None => vec![odds(9, 10), odds(19, 20), odds(99, 100)],
    };

    let offspring = cross(&loci.genetics, &sire, &dam).map_err(|error| Senseless::new("sire and dam", error))?;
    let (outcomes, truncated) = list_outcomes(&loci, &offspring, top);
    let looks = offspring.looks().take(top).map(|look| look_line(&loci, look)).collect();
    let mut answer = Answer {
        id,
        lost: offspring.lost().to_string(),
        count: write_whole(&offspring.n_outcomes()),
        outcomes,
        truncated,
        looks,
        per_egg: None,
        clutch: None,
    };
    if let Some(wanted) = &wanted {
        let refused = |error: ClutchError| Senseless::new("want", error);
        answer.per_egg = Some(per_egg(&offspring, wanted).map_err(refused)?.to_string());
        if let Some(laying) = &laying {
            let chances = Chances::of(&offspring, wanted).map_err(refused)?;
            answer.clutch = Some(clutch_line(&chances, laying, &levels).map_err(refused)?);
        }
    }
    Ok(to_line(&answer))
}

/// The likeliest outcomes, and the share left out if they are not all.
fn list_outcomes<'a>(loci: &'a Loci, offspring: &Offspring, top: usize) -> (Vec<OutcomeLine<'a>>, Option<String>) {
    let mut listed = none();
    let mut best = offspring.outcomes();
    let outcomes = best.by_ref().take(top).map(|outcome| {
        listed += &outcome.probability;
        outcome_line(loci, outcome)
    });
    let outcomes = outcomes.collect();
    let cut = best.next().is_some();
    (outcomes, cut.then(|| (sure() - offspring.lost() - listed).to_string()))
}

fn outcome_line(loci: &Loci, outcome: Outcome) -> OutcomeLine<'_> {
    OutcomeLine {
        sex: outcome.sex.map(sex_word),
        genotype: by_locus(loci, outcome.genotypes, |id, genotype| loci.write_genotype(id, genotype)),
        probability: outcome.probability.to_string(),
    }
}

fn look_line(loci: &Loci, outcome: LookOutcome) -> LookLine<'_> {
    LookLine {
        sex: outcome.sex.map(sex_word),
        look: by_locus(loci, outcome.looks, |id, look| loci.write_look(id, look)),
        probability: outcome.probability.to_string(),
        genotypes: by_locus(loci, outcome.genotypes, |id, genotypes| {
            let chances = genotypes.iter().map(|(g, chance)| (loci.write_genotype(id, *g), chance.to_string()));
            Ordered(chances.collect())
        }),
    }
}

fn clutch_line(chances: &Chances, size: &ClutchSize, levels: &[Odds]) -> Result<ClutchLine, ClutchError> {
    let in_clutch = chances.in_clutch(size)?;
    // Eggs laid: an egg has to hatch first. A mean counts hatchlings.
    let laid = match size {
        ClutchSize::Eggs { hatch, .. } | ClutchSize::Spread { hatch, .. } => chances.hatching(hatch)?,
        ClutchSize::Poisson { .. } => chances.clone(),
    };
    let or_null = |n: Option<_>| n.map_or(Value::Null, |n| write_whole(&n));
    let mut clutches_for = Vec::new();
    for level in levels {
        clutches_for.push(or_null(chances.clutches_for_any_level(level, size)?));
    }
    Ok(ClutchLine {
        at_least_one: write_figure(&in_clutch.at_least_one),
        expected: in_clutch.expected.to_string(),
        one_of_each: in_clutch.one_of_each.as_ref().map(write_figure),
        reach: laid.reach().to_string(),
        eggs_for: levels.iter().map(|level| or_null(laid.eggs_for_any_level(level))).collect(),
        clutches_for,
    })
}
