//! The animals of a request: ids, parents, sexes; and errors of pedigrees, told with those ids.

use std::collections::HashMap;

use serde_json::{Map, Value};

use super::parts::{Senseless, field, list, needed, object, text};
use crate::engine::inheritance::locus::Sex;
use crate::engine::pedigree::descent::{AnimalId, DescentError};

/// The most animals of one request.
pub(super) const MOST_ANIMALS: usize = 20_000;

/// The animals of a request, in the order given.
pub(super) struct Animals<'a> {
    pub(super) fields: Vec<&'a Map<String, Value>>,
    names: Vec<&'a str>,
    by_name: HashMap<&'a str, AnimalId>,
}

impl<'a> Animals<'a> {
    pub(super) fn read(request: &'a Map<String, Value>) -> Result<Animals<'a>, Senseless> {
        let listed = list(needed(request, "animals")?, "animals")?;
        if listed.len() > MOST_ANIMALS {
            return Err(Senseless::new("animals", format!("at most {MOST_ANIMALS}")));
        }
        let mut animals = Animals { fields: Vec::new(), names: Vec::new(), by_name: HashMap::new() };
        for (i, value) in listed.iter().enumerate() {
            let at = format!("animals: number {}", i + 1);
            let fields = object(value, &at)?;
            let name = fields.get("id").ok_or_else(|| Senseless::new(&at, "\"id\" is missing"))?;
            let name = text(name, &format!("{at}: id"))?;
            if animals.by_name.insert(name, AnimalId(i)).is_some() {
                return Err(Senseless::new("animals", format!("two of the id {name:?}")));
            }
            animals.fields.push(fields);
            animals.names.push(name);
        }
        Ok(animals)
    }

    pub(super) fn name(&self, id: AnimalId) -> &'a str {
        self.names.get(id.0).copied().unwrap_or("")
    }

    pub(super) fn find(&self, name: &str, at: &str) -> Result<AnimalId, Senseless> {
        self.by_name.get(name).copied().ok_or_else(|| Senseless::new(at, format!("there is no animal {name:?}")))
    }

    /// The animal in a field, if there is one.
    pub(super) fn one(&self, fields: &Map<String, Value>, name: &str, at: &str) -> Result<Option<AnimalId>, Senseless> {
        let at = format!("{at}: {name}");
        field(fields, name).map(|value| self.find(text(value, &at)?, &at)).transpose()
    }

    /// What is wrong with a pedigree; animals beyond those listed are clutches.
    pub(super) fn explain(&self, error: &DescentError) -> Senseless {
        let at = |id: AnimalId| match self.names.get(id.0) {
            Some(name) => format!("animals: {name}"),
            None => format!("clutches: number {}", id.0 - self.names.len() + 1),
        };
        match error {
            DescentError::Unknown { animal, parent } => {
                Senseless::new(at(*animal), format!("there is no animal {}", parent.0))
            }
            DescentError::Role { animal, role, young } => {
                let (role, lack) = match role {
                    Sex::Male => ("sire", "it is female"),
                    Sex::Female => ("dam", "it is male"),
                };
                Senseless::new(format!("{}: {role}", at(*young)), format!("{:?} cannot be, {lack}", self.name(*animal)))
            }
            DescentError::Cycle { animal, through } => {
                let round: Vec<&str> = through.iter().map(|&id| self.name(id)).collect();
                let through = if round.is_empty() { String::new() } else { format!(", through {}", round.join(", ")) };
                Senseless::new(at(*animal), format!("it is among its own ancestors{through}"))
            }
        }
    }
}

/// `"male"` or `"female"`, or nothing.
pub(super) fn sex(fields: &Map<String, Value>, at: &str) -> Result<Option<Sex>, Senseless> {
    match field(fields, "sex").map(Value::as_str) {
        None => Ok(None),
        Some(Some("male")) => Ok(Some(Sex::Male)),
        Some(Some("female")) => Ok(Some(Sex::Female)),
        Some(_) => Err(Senseless::new(format!("{at}: sex"), "\"male\" or \"female\" is needed")),
    }
}
