//! The kind `route`: the least-time plans for each amount of money.

use std::collections::HashSet;
use std::time::{Duration, Instant};

use serde::Serialize;
use serde_json::{Map, Value};

use super::herd::{Listed, animals, goal, maturity, money, price, tell};
use super::parts::{Loci, Ordered, Senseless, by_locus, chance, clutch, field, needed, sex_word, to_line, whole};
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::LocusId;
use crate::engine::odds::odds;
use crate::engine::planning::Animal;
use crate::engine::planning::route::{self, Keep, Offer, Problem, Route, Step};

/// A search that takes longer is answered with what it has found.
const MOST_TIME: Duration = Duration::from_secs(10);

#[derive(Serialize)]
struct Answer<'a> {
    id: &'a Value,
    generations: Option<u64>,
    pareto: Vec<RouteLine<'a>>,
    /// Whether better plans may exist because the search was cut.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    cut: bool,
    /// The loci at which a wanted allele is missing.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    missing: Vec<&'a str>,
}

#[derive(Serialize)]
struct RouteLine<'a> {
    price: String,
    seasons: u64,
    buy: Vec<&'a str>,
    steps: Vec<StepLine<'a>>,
}

#[derive(Serialize)]
struct StepLine<'a> {
    sire: Ordered<&'a str, String>,
    dam: Ordered<&'a str, String>,
    season: u64,
    seasons: u64,
    clutches: u64,
    per_egg: String,
    keep: KeepLine<'a>,
}

#[derive(Serialize)]
#[serde(untagged)]
enum KeepLine<'a> {
    Keeper { sex: &'static str, genotype: Ordered<&'a str, String> },
    Goal(&'static str),
}

/// Answers a request of this kind.
pub(super) fn answer(id: &Value, request: &Map<String, Value>) -> Result<String, Senseless> {
    let loci = Loci::read(request)?;
    let mut seen = HashSet::new();
    let owned = animals(&loci, needed(request, "animals")?, "animals", &mut seen)?;
    let on_sale = field(request, "buy").map_or(Ok(Vec::new()), |buy| animals(&loci, buy, "buy", &mut seen))?;
    let confidence = field(request, "confidence").map_or(Ok(odds(9, 10)), |v| chance(v, "confidence"))?;
    let clutches = field(request, "clutches").map_or(Ok(1), |v| whole(v, "clutches"))?;
    let animal = |listed: &Listed<'_>| Animal { genome: listed.genome.clone(), sex: listed.sex, ready: listed.ready };
    let offer = |listed: &Listed<'_>| Ok(Offer { animal: animal(listed), price: price(listed)? });
    let problem = Problem {
        genetics: &loci.genetics,
        tell: tell(request)?,
        animals: owned.iter().map(animal).collect(),
        offers: on_sale.iter().map(offer).collect::<Result<_, _>>()?,
        goal: goal(&loci, request)?,
        maturity: maturity(request)?,
        clutch: clutch(needed(request, "clutch")?)?,
        clutches,
        confidence,
        budget: field(request, "budget").map(|v| money(v, "budget")).transpose()?,
    };
    let until = Instant::now() + MOST_TIME;
    let routes = route::plan(&problem, &mut || Instant::now() < until);
    let routes = routes.map_err(|error| Senseless::new("the plan", describe(&error, &owned, &on_sale)))?;
    if !routes.complete && routes.pareto.is_empty() {
        return Err(Senseless::new("goal", "too many loci differ for a search of all crossings; ask for fewer"));
    }
    Ok(to_line(&Answer {
        id,
        generations: routes.generations,
        pareto: routes.pareto.iter().map(|route| route_line(&loci, &on_sale, route)).collect(),
        cut: !routes.complete,
        missing: routes.missing.iter().map(|id| loci.name(*id)).collect(),
    }))
}

/// The error, with the animal's id in place of its number.
fn describe(error: &route::RouteError, owned: &[Listed<'_>], on_sale: &[Listed<'_>]) -> String {
    use route::{KindError, RouteError};
    match error {
        RouteError::Kinds(KindError::Uncertain { animal, .. }) => {
            let id = owned.iter().chain(on_sale).nth(*animal).map_or("", |listed| listed.id);
            format!("{id}: one certain genotype a locus is needed")
        }
        other => other.to_string(),
    }
}

fn route_line<'a>(loci: &'a Loci, on_sale: &[Listed<'a>], route: &Route) -> RouteLine<'a> {
    RouteLine {
        price: route.price.to_string(),
        seasons: route.seasons,
        buy: route.buy.iter().filter_map(|i| Some(on_sale.get(*i)?.id)).collect(),
        steps: route.steps.iter().map(|step| step_line(loci, step)).collect(),
    }
}

fn step_line<'a>(loci: &'a Loci, step: &Step) -> StepLine<'a> {
    let write = |genotypes: &[(LocusId, Genotype)]| {
        by_locus(loci, genotypes.iter().copied(), |id, genotype| loci.write_genotype(id, genotype))
    };
    StepLine {
        sire: write(&step.sire.genotypes),
        dam: write(&step.dam.genotypes),
        season: step.season,
        seasons: step.seasons,
        clutches: step.clutches,
        per_egg: step.per_egg.to_string(),
        keep: match &step.keep {
            Keep::Keeper { sex, genotypes } => KeepLine::Keeper { sex: sex_word(*sex), genotype: write(genotypes) },
            Keep::Goal => KeepLine::Goal("goal"),
        },
    }
}
