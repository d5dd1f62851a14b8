//! One season's decision: purchases and pairs, or whom to hold.

use std::collections::{HashMap, HashSet};
use std::time::{Duration, Instant};

use serde::Serialize;
use serde_json::{Map, Value};

use super::super::herd::{Listed, animals, goal, maturity, money, price, seasons, tell};
use super::super::parts::{Loci, Senseless, clutch, field, list, needed, object, text, to_line, whole};
use super::fixed::{FEMALES_PER_MALE, read_looks};
use crate::engine::planning::Animal;
use crate::engine::planning::project::decide::{self, Depth, Member, Objective, Project, SeenClutch, SeenYoung, Who};
use crate::engine::planning::route::Offer;

/// Time for an answer if nothing is said, and the most of it.
const USUAL_MS: u64 = 10_000;
const MOST_MS: u64 = 600_000;
/// What is kept back for reading and writing.
const SPARE: f64 = 0.9;

#[derive(Serialize)]
#[expect(clippy::struct_field_names)] // the field is called what the page of the format calls it
struct Season<'a> {
    id: &'a Value,
    buy: Vec<&'a str>,
    pair: Vec<[&'a str; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    by_season: Option<Vec<f64>>,
    /// Whether everything was looked at.
    exact: bool,
}

#[derive(Serialize)]
struct Held<'a> {
    id: &'a Value,
    keep: Vec<&'a str>,
}

pub(super) fn answer(id: &Value, request: &Map<String, Value>) -> Result<String, Senseless> {
    let start = Instant::now();
    let ms = field(request, "ms").map_or(Ok(USUAL_MS), |v| whole(v, "ms"))?.min(MOST_MS);
    let most = Duration::from_millis(ms.max(1)).mul_f64(SPARE);
    let mut allowance = || 1.0 - start.elapsed().as_secs_f64() / most.as_secs_f64();
    let loci = Loci::read(request)?;
    let mut seen = HashSet::new();
    let mut listed = animals(&loci, needed(request, "animals")?, "animals", &mut seen)?;
    let young = field(request, "young").map(|young| animals(&loci, young, "young", &mut seen)).transpose()?;
    let is_holding = young.is_some();
    listed.extend(young.unwrap_or_default());
    let on_sale = field(request, "buy").map_or(Ok(Vec::new()), |buy| animals(&loci, buy, "buy", &mut seen))?;
    let by_id: HashMap<&str, usize> = listed.iter().enumerate().map(|(i, l)| (l.id, i)).collect();
    let objective = match field(request, "objective").map(Value::as_str) {
        None | Some(Some("chance")) => Objective::Chance,
        Some(Some("seasons")) => Objective::Seasons,
        Some(_) => return Err(Senseless::new("objective", "\"chance\" or \"seasons\" is needed")),
    };
    let animal = |l: &Listed<'_>| Animal { genome: l.genome.clone(), sex: l.sex, ready: l.ready };
    let offer = |l: &Listed<'_>| Ok(Offer { animal: animal(l), price: price(l)? });
    let mut members = Vec::with_capacity(listed.len());
    for l in &listed {
        members.push(member(&loci, &by_id, l, animal(l))?);
    }
    let project = Project {
        genetics: &loci.genetics,
        tell: tell(request)?,
        animals: members,
        clutches: field(request, "clutches").map_or(Ok(Vec::new()), |v| clutches(&loci, &by_id, v))?,
        offers: on_sale.iter().map(offer).collect::<Result<_, _>>()?,
        budget: field(request, "budget").map(|v| money(v, "budget")).transpose()?,
        goal: goal(&loci, request)?,
        seasons: seasons(needed(request, "seasons")?, "seasons")?,
        maturity: maturity(request)?,
        clutch: clutch(needed(request, "clutch")?)?,
        females_per_male: field(request, "females_per_male")
            .map_or(Ok(FEMALES_PER_MALE), |v| seasons(v, "females_per_male"))?,
        space: usize::try_from(whole(needed(request, "space")?, "space")?).unwrap_or(usize::MAX),
        objective,
    };
    let senseless = |error| Senseless::new("the project", error);
    if is_holding {
        let kept = decide::hold(&project, &mut allowance).map_err(senseless)?;
        let keep = kept.iter().filter_map(|i| Some(listed.get(*i)?.id)).collect();
        return Ok(to_line(&Held { id, keep }));
    }
    let decision = decide::season(&project, &mut allowance).map_err(senseless)?;
    let name = |who: &Who| match *who {
        Who::Animal(i) => listed.get(i).map_or("", |l| l.id),
        Who::Offer(i) => on_sale.get(i).map_or("", |l| l.id),
    };
    let forecast = field(request, "forecast").is_some_and(|wanted| *wanted == Value::Bool(true));
    Ok(to_line(&Season {
        id,
        buy: decision.buy.iter().map(|i| name(&Who::Offer(*i))).collect(),
        pair: decision.pairs.iter().map(|(male, female)| [name(male), name(female)]).collect(),
        by_season: forecast.then_some(decision.by_season),
        exact: decision.depth == Depth::Exact,
    }))
}

fn member(loci: &Loci, by_id: &HashMap<&str, usize>, listed: &Listed<'_>, animal: Animal) -> Result<Member, Senseless> {
    let parent = |name: &str| {
        let at = format!("{}: {name}", listed.id);
        field(listed.fields, name).map(|value| find(by_id, value, &at)).transpose()
    };
    let (sire, dam) = (parent("sire")?, parent("dam")?);
    if (sire.is_some() || dam.is_some()) && field(listed.fields, "genotype").is_some() {
        return Err(Senseless::new(listed.id, "an animal with a parent has no \"genotype\" of its own"));
    }
    let look = field(listed.fields, "look").map_or(Ok(Vec::new()), |look| read_looks(loci, look, listed.id))?;
    let gone = field(listed.fields, "gone").is_some_and(|gone| *gone == Value::Bool(true));
    Ok(Member { animal, sire, dam, look, gone })
}

fn find(by_id: &HashMap<&str, usize>, value: &Value, at: &str) -> Result<usize, Senseless> {
    let id = text(value, at)?;
    by_id.get(id).copied().ok_or_else(|| Senseless::new(at, format!("there is no animal {id:?}")))
}

fn clutches(loci: &Loci, by_id: &HashMap<&str, usize>, value: &Value) -> Result<Vec<SeenClutch>, Senseless> {
    let mut seen = Vec::new();
    for (i, value) in list(value, "clutches")?.iter().enumerate() {
        let at = format!("clutches: number {}", i + 1);
        let fields = object(value, &at)?;
        let parent = |name: &str| {
            let value = field(fields, name).ok_or_else(|| Senseless::new(&at, format!("{name:?} is missing")))?;
            find(by_id, value, &format!("{at}: {name}"))
        };
        let (sire, dam) = (parent("sire")?, parent("dam")?);
        let mut young = Vec::new();
        let listed = field(fields, "young").map_or(Ok(&[][..]), |v| list(v, &at))?;
        for value in listed {
            let fields = object(value, &at)?;
            young.push(SeenYoung {
                look: field(fields, "look").map_or(Ok(Vec::new()), |look| read_looks(loci, look, &at))?,
                sex: field(fields, "sex").map(|v| super::super::herd::sex(v, &at)).transpose()?,
                count: field(fields, "count").map_or(Ok(1), |v| seasons(v, &format!("{at}: count")))?,
            });
        }
        seen.push(SeenClutch { sire, dam, young });
    }
    Ok(seen)
}
