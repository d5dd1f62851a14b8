//! What requests for plans share: animals at hand and on sale, goals, seasons, money.

use std::collections::HashSet;

use serde_json::{Map, Value};

use super::parts::{Loci, Senseless, field, list, needed, number, object, text, whole};
use crate::engine::inheritance::clutch::Wanted;
use crate::engine::inheritance::genotype::Genome;
use crate::engine::inheritance::locus::Sex;
use crate::engine::odds::{Odds, none};
use crate::engine::planning::{Maturity, Tell};

/// The most animals of one request.
const MOST_ANIMALS: usize = 20_000;
/// The most seasons until anything.
const MOST_SEASONS: u32 = 1_000_000;

/// An animal as it stands in the request.
pub(super) struct Listed<'a> {
    pub(super) id: &'a str,
    pub(super) sex: Sex,
    pub(super) ready: u32,
    pub(super) genome: Genome,
    pub(super) fields: &'a Map<String, Value>,
}

/// Animals, each of an id of its own; `seen` holds the ids so far.
pub(super) fn animals<'a>(
    loci: &Loci,
    value: &'a Value,
    name: &str,
    seen: &mut HashSet<&'a str>,
) -> Result<Vec<Listed<'a>>, Senseless> {
    let listed = list(value, name)?;
    if listed.len() > MOST_ANIMALS {
        return Err(Senseless::new(name, format!("at most {MOST_ANIMALS}")));
    }
    let mut animals = Vec::with_capacity(listed.len());
    for (i, value) in listed.iter().enumerate() {
        let at = format!("{name}: number {}", i + 1);
        let fields = object(value, &at)?;
        let id = field(fields, "id").ok_or_else(|| Senseless::new(&at, "\"id\" is missing"))?;
        let id = text(id, &format!("{at}: id"))?;
        let at = format!("{name}: {id}");
        if !seen.insert(id) {
            return Err(Senseless::new(at, "a second animal of this id"));
        }
        let sex = sex(field(fields, "sex").ok_or_else(|| Senseless::new(&at, "\"sex\" is missing"))?, &at)?;
        let ready = field(fields, "ready").map_or(Ok(0), |v| seasons(v, &format!("{at}: ready")))?;
        let genome = match field(fields, "genotype") {
            Some(genotype) => loci.genome(genotype, sex, &at)?,
            None => Genome::wild(),
        };
        animals.push(Listed { id, sex, ready, genome, fields });
    }
    Ok(animals)
}

pub(super) fn sex(value: &Value, at: &str) -> Result<Sex, Senseless> {
    match value.as_str() {
        Some("male") => Ok(Sex::Male),
        Some("female") => Ok(Sex::Female),
        _ => Err(Senseless::new(at, "sex: \"male\" or \"female\" is needed")),
    }
}

pub(super) fn seasons(value: &Value, at: &str) -> Result<u32, Senseless> {
    let seasons = u32::try_from(whole(value, at)?).ok().filter(|n| *n <= MOST_SEASONS);
    seasons.ok_or_else(|| Senseless::new(at, format!("at most {MOST_SEASONS} seasons")))
}

/// How genotypes are told; by genotype if nothing is said.
pub(super) fn tell(request: &Map<String, Value>) -> Result<Tell, Senseless> {
    match field(request, "tell").map(Value::as_str) {
        None | Some(Some("genotype")) => Ok(Tell::Genotype),
        Some(Some("look")) => Ok(Tell::Look),
        Some(_) => Err(Senseless::new("tell", "\"genotype\" or \"look\" is needed")),
    }
}

/// The goal, of `goal_sex` if there is one.
pub(super) fn goal(loci: &Loci, request: &Map<String, Value>) -> Result<Wanted, Senseless> {
    let wanted = loci.wanted(needed(request, "goal")?, "goal")?;
    match field(request, "goal_sex") {
        Some(value) => Ok(wanted.of_sex(sex(value, "goal_sex")?)),
        None => Ok(wanted),
    }
}

pub(super) fn maturity(request: &Map<String, Value>) -> Result<Maturity, Senseless> {
    let map = object(needed(request, "maturity")?, "maturity")?;
    let of = |name: &str| {
        let at = format!("maturity: {name}");
        seasons(field(map, name).ok_or_else(|| Senseless::new(&at, "missing"))?, &at)
    };
    Ok(Maturity { female: of("female")?, male: of("male")? })
}

/// An amount of money, not below 0.
pub(super) fn money(value: &Value, at: &str) -> Result<Odds, Senseless> {
    let money = number(value, at)?;
    if money < none() {
        return Err(Senseless::new(at, "money is not below 0"));
    }
    Ok(money)
}

/// The price of an animal on sale.
pub(super) fn price(listed: &Listed<'_>) -> Result<Odds, Senseless> {
    let at = format!("buy: {}: price", listed.id);
    money(field(listed.fields, "price").ok_or_else(|| Senseless::new(&at, "missing"))?, &at)
}
