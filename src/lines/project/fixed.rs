//! The forecast of a fixed plan.

use std::collections::{HashMap, HashSet};

use serde::Serialize;
use serde_json::{Map, Value};

use super::super::herd::{Listed, animals, goal, maturity, seasons, sex};
use super::super::parts::{Loci, Senseless, clutch, field, list, needed, object, text, to_line, whole};
use crate::engine::inheritance::locus::{LocusId, Look, Sex};
use crate::engine::planning::Animal;
use crate::engine::planning::project::fixed::{Entry, Fits, FixedPlan, Group, PlanStep, Simulation, forecast};

/// The most runs of one request.
const MOST_REPLICATES: u64 = 1_000_000;
/// The most steps of a plan, and entries of a step.
const MOST_STEPS: usize = 1000;
/// Females that a male serves if nothing is said.
pub(super) const FEMALES_PER_MALE: u32 = 5;

#[derive(Serialize)]
struct Answer<'a> {
    id: &'a Value,
    by_season: Vec<f64>,
    /// Whether the chances are exact but for rounding.
    exact: bool,
}

pub(super) fn answer(id: &Value, request: &Map<String, Value>, plan: &Value) -> Result<String, Senseless> {
    let loci = Loci::read(request)?;
    let listed = animals(&loci, needed(request, "animals")?, "animals", &mut HashSet::new())?;
    let mut names = Names::read(&listed, plan)?;
    let steps = list(plan, "plan")?.iter().enumerate();
    let steps: Result<Vec<_>, _> = steps.map(|(i, step)| read_step(&loci, &listed, &mut names, i, step)).collect();
    let fixed = FixedPlan {
        genetics: &loci.genetics,
        animals: listed.iter().map(|l| Animal { genome: l.genome.clone(), sex: l.sex, ready: l.ready }).collect(),
        n_names: names.keepers.len(),
        steps: steps?,
        goal: goal(&loci, request)?,
        seasons: seasons(needed(request, "seasons")?, "seasons")?,
        maturity: maturity(request)?,
        clutch: clutch(needed(request, "clutch")?)?,
        females_per_male: field(request, "females_per_male")
            .map_or(Ok(FEMALES_PER_MALE), |v| seasons(v, "females_per_male"))?,
    };
    let mut simulation = Simulation::default();
    if let Some(replicates) = field(request, "replicates") {
        let replicates = whole(replicates, "replicates")?.clamp(1, MOST_REPLICATES);
        // Fewer than the usual number would only be less sure.
        simulation.replicates = simulation.replicates.max(u32::try_from(replicates).unwrap_or(u32::MAX));
    }
    let by_season = forecast(&fixed, simulation).map_err(|error| Senseless::new("the project", error))?;
    Ok(to_line(&Answer { id, by_season: by_season.chances, exact: by_season.exact }))
}

/// Who a group is.
struct Names<'a> {
    animals: HashMap<&'a str, usize>,
    keepers: HashMap<&'a str, usize>,
}

impl<'a> Names<'a> {
    fn read(listed: &[Listed<'a>], plan: &'a Value) -> Result<Names<'a>, Senseless> {
        let animals: HashMap<_, _> = listed.iter().enumerate().map(|(i, l)| (l.id, i)).collect();
        let mut keepers = HashMap::new();
        let steps = list(plan, "plan")?;
        if steps.len() > MOST_STEPS {
            return Err(Senseless::new("plan", format!("at most {MOST_STEPS} steps")));
        }
        for (i, step) in steps.iter().enumerate() {
            let at = format!("plan: number {}", i + 1);
            let Some(keep) = field(object(step, &at)?, "keep") else { continue };
            for entry in list(keep, &format!("{at}: keep"))? {
                let at = format!("{at}: keep");
                let name = field(object(entry, &at)?, "as");
                let name = text(name.ok_or_else(|| Senseless::new(&at, "\"as\" is missing"))?, &at)?;
                if animals.contains_key(name) {
                    return Err(Senseless::new(at, format!("{name:?} is an animal already")));
                }
                let next = keepers.len();
                keepers.entry(name).or_insert(next);
            }
        }
        Ok(Names { animals, keepers })
    }

    fn group(&self, listed: &[Listed<'_>], value: &Value, sex: Sex, at: &str) -> Result<Group, Senseless> {
        let name = text(value, at)?;
        if let Some(&keepers) = self.keepers.get(name) {
            return Ok(Group::Keepers(keepers));
        }
        let Some(&animal) = self.animals.get(name) else {
            return Err(Senseless::new(at, format!("there is neither an animal nor a keeper {name:?}")));
        };
        match (listed.get(animal).map(|l| l.sex), sex) {
            (Some(Sex::Female), Sex::Male) => Err(Senseless::new(at, format!("{name} is a female"))),
            (Some(Sex::Male), Sex::Female) => Err(Senseless::new(at, format!("{name} is a male"))),
            _ => Ok(Group::Animal(animal)),
        }
    }
}

fn read_step(
    loci: &Loci,
    listed: &[Listed<'_>],
    names: &mut Names<'_>,
    i: usize,
    step: &Value,
) -> Result<PlanStep, Senseless> {
    let at = format!("plan: number {}", i + 1);
    let fields = object(step, &at)?;
    let group = |name: &str, sex| {
        let value = field(fields, name).ok_or_else(|| Senseless::new(&at, format!("{name:?} is missing")))?;
        names.group(listed, value, sex, &format!("{at}: {name}"))
    };
    let (sire, dam) = (group("sire", Sex::Male)?, group("dam", Sex::Female)?);
    let mut keep = Vec::new();
    for entry in field(fields, "keep").map_or(Ok(&[][..]), |keep| list(keep, &at))? {
        keep.push(read_entry(loci, names, entry, &format!("{at}: keep"))?);
        if keep.len() > MOST_STEPS {
            return Err(Senseless::new(at, format!("at most {MOST_STEPS} keepers")));
        }
    }
    Ok(PlanStep { sire, dam, keep })
}

fn read_entry(loci: &Loci, names: &Names<'_>, entry: &Value, at: &str) -> Result<Entry, Senseless> {
    let fields = object(entry, at)?;
    // `Names::read` has looked at all of them.
    let name = field(fields, "as").and_then(Value::as_str).and_then(|name| names.keepers.get(name));
    let count = field(fields, "count").map_or(Ok(1), |v| seasons(v, &format!("{at}: count")))?;
    let fits = match (field(fields, "genotype"), field(fields, "look")) {
        (Some(_), Some(_)) => return Err(Senseless::new(at, "one of \"genotype\" and \"look\" is enough")),
        (genotype, None) => Fits::Genotypes(read_genotypes(loci, genotype, at)?),
        (None, Some(look)) => Fits::Looks(read_looks(loci, look, at)?),
    };
    Ok(Entry {
        name: name.copied().unwrap_or(0),
        sex: field(fields, "sex").map(|v| sex(v, at)).transpose()?,
        count,
        fits,
    })
}

fn read_genotypes(
    loci: &Loci,
    value: Option<&Value>,
    at: &str,
) -> Result<Vec<(LocusId, crate::engine::inheritance::genotype::Genotype)>, Senseless> {
    let Some(value) = value else {
        return Ok(Vec::new());
    };
    let at = format!("{at}: genotype");
    let listed = object(value, &at)?.iter();
    listed
        .map(|(name, genotype)| {
            let id = loci.find(name, &at)?;
            Ok((id, loci.genotype(id, genotype, &format!("{at}: {name}"))?))
        })
        .collect()
}

/// Looks by locus.
pub(super) fn read_looks(loci: &Loci, value: &Value, at: &str) -> Result<Vec<(LocusId, Look)>, Senseless> {
    let at = format!("{at}: look");
    let listed = object(value, &at)?.iter();
    listed
        .map(|(name, look)| {
            let id = loci.find(name, &at)?;
            Ok((id, loci.look(id, look, &format!("{at}: {name}"))?))
        })
        .collect()
}
