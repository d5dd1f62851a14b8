//! `hatchward read --json` and `hatchward odds --json`: what the reader made of a text, and the exact odds of it.

use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use crate::conversation::assumed;
use crate::conversation::odds::{offspring, wanted};
use crate::engine::inheritance::clutch::Chances;
use crate::engine::inheritance::locus::AlleleId;
use crate::engine::odds::{none, sure};
use crate::reading::requests::{Animal, Choice, Pairing, Question, Reading, SexSaid, Side};
use crate::reading::{Context, Reader};
use crate::species::{Catalogue, GeneId, Species, SpeciesId};

/// The longest text of a line, in characters.
const MAX_TEXT: usize = 8_000;

#[derive(Debug, Deserialize)]
struct Asked {
    #[serde(default)]
    id: Value,
    text: String,
    #[serde(default)]
    species: Option<String>,
}

#[derive(Debug, Serialize)]
struct Gene<'a> {
    #[serde(rename = "gene")]
    id: &'a str,
    copies: u8,
    #[serde(skip_serializing_if = "Option::is_none")]
    chance: Option<String>,
}

#[derive(Debug, Serialize)]
struct Parent<'a> {
    sex: &'static str,
    name: Option<&'a str>,
    genes: Vec<Gene<'a>>,
}

#[derive(Debug, Serialize)]
struct Answer<'a> {
    id: Value,
    species: Option<&'a str>,
    intent: &'static str,
    parents: Vec<Parent<'a>>,
    target: Option<Parent<'a>>,
    clutch_size: Option<u32>,
    clutches: Option<u32>,
    questions: Vec<Value>,
    assumed: Vec<String>,
    unread: Vec<String>,
}

/// Answers one line of `read --json`.
#[must_use]
pub fn read(reader: &Reader, catalogue: &Catalogue, line: &str) -> String {
    let (id, reading) = match parse(reader, catalogue, line) {
        Ok(parsed) => parsed,
        Err(error) => return error,
    };
    let species = reading.species.map(|s| catalogue.get(s));
    let parents = species.map_or_else(Vec::new, |s| {
        let both = reading.pairing.parents.iter().chain(reading.compare.iter().flat_map(|p: &Pairing| &p.parents));
        both.map(|p| parent(s, p)).collect()
    });
    let answer = Answer {
        id,
        species: species.map(Species::key),
        intent: reading.intent.id(),
        parents,
        target: species.and_then(|s| target(s, &reading)),
        clutch_size: reading.pairing.clutch_size,
        clutches: reading.pairing.clutches,
        questions: questions(catalogue, &reading),
        assumed: species.map_or_else(Vec::new, |s| reading.assumed.iter().map(|a| assumed(catalogue, s, a)).collect()),
        unread: reading.unread.clone(),
    };
    serde_json::to_string(&answer).unwrap_or_else(|e| error(&Value::Null, &e.to_string()))
}

/// Outcomes of one line at most.
const MAX_OUTCOMES: usize = 4_096;

/// Answers one line of `odds --json`: every outcome per egg, exact, most likely first, or the questions.
#[must_use]
pub fn odds(reader: &Reader, catalogue: &Catalogue, line: &str) -> String {
    let (id, reading) = match parse(reader, catalogue, line) {
        Ok(parsed) => parsed,
        Err(error) => return error,
    };
    let (Some(species), true) = (reading.species.map(|s| catalogue.get(s)), reading.questions.is_empty()) else {
        return json!({"id": id, "questions": questions(catalogue, &reading)}).to_string();
    };
    // Shares are summed over the sexes, where it does not matter on which chromosome a gene sits.
    let Some(young) = offspring(species, &reading.pairing.parents, false, Side::X) else {
        return error(&id, "text: no pairing of two animals was read");
    };
    let mut left = sure();
    let mut outcomes = Vec::new();
    for outcome in young.outcomes().take(MAX_OUTCOMES) {
        left -= &outcome.probability;
        let mut genes: Vec<(&str, u8)> = Vec::new();
        for (locus, genotype) in &outcome.genotypes {
            let at = species.loci().get(usize::from(locus.0)).map_or(&[][..], |l| l.genes.as_slice());
            for (n, gene) in (1..).zip(at) {
                let copies = genotype.copies_of(AlleleId(n));
                if copies > 0 {
                    genes.push((&species.gene(*gene).entry.id, copies));
                }
            }
        }
        genes.sort_unstable();
        let genes: Vec<Value> =
            genes.into_iter().map(|(gene, copies)| json!({"gene": gene, "copies": copies})).collect();
        outcomes.push(json!({"genes": genes, "probability": outcome.probability.to_string()}));
    }
    let pairing = &reading.pairing;
    let hit = pairing.target.as_ref().zip(pairing.clutch_size).and_then(|(target, n)| {
        let chances = Chances::of(&young, &wanted(species, target)).ok()?;
        Some(chances.at_least_one(u64::from(n)).ok()?.to_string())
    });
    let mut answer = json!({"id": id, "outcomes": outcomes, "at_least_one": hit});
    let lost = young.lost();
    left -= &lost;
    if let Some(object) = answer.as_object_mut() {
        if left > none() {
            object.insert("truncated".to_owned(), json!(left.to_string()));
        }
        if lost > none() {
            object.insert("lost".to_owned(), json!(lost.to_string()));
        }
    }
    answer.to_string()
}

fn parse(reader: &Reader, catalogue: &Catalogue, line: &str) -> Result<(Value, Reading), String> {
    let value: Value = serde_json::from_str(line).map_err(|e| error(&Value::Null, &format!("not JSON: {e}")))?;
    let id = value.get("id").cloned().unwrap_or(Value::Null);
    let asked: Asked = serde_json::from_value(value).map_err(|e| error(&id, &format!("not a request: {e}")))?;
    if asked.text.chars().count() > MAX_TEXT {
        return Err(error(&id, &format!("text: longer than {MAX_TEXT} characters")));
    }
    let species = match &asked.species {
        None => None,
        Some(name) => Some(
            catalogue.by_name(name).ok_or_else(|| error(&id, &format!("species: {name:?} is not in the catalogue")))?,
        ),
    };
    Ok((asked.id, reader.read(catalogue, &asked.text, Context { species, ..Context::default() })))
}

/// The answer to a line that makes no sense.
#[must_use]
pub fn error(id: &Value, what: &str) -> String {
    json!({"id": id, "error": what}).to_string()
}

fn sex(sex: SexSaid) -> &'static str {
    match sex {
        SexSaid::Male => "male",
        SexSaid::Female => "female",
        SexSaid::Unknown => "unknown",
    }
}

fn parent<'a>(species: &'a Species, animal: &'a Animal) -> Parent<'a> {
    let genes = animal.genes.iter().map(|c| Gene {
        id: &species.gene(c.gene).entry.id,
        copies: c.copies,
        chance: Some(c.chance.to_string()),
    });
    Parent { sex: sex(animal.sex), name: None, genes: genes.collect() }
}

fn target<'a>(species: &'a Species, reading: &Reading) -> Option<Parent<'a>> {
    let target = reading.pairing.target.as_ref()?;
    let genes =
        target.genes.iter().map(|(g, copies)| Gene { id: &species.gene(*g).entry.id, copies: *copies, chance: None });
    Some(Parent { sex: sex(target.sex), name: None, genes: genes.collect() })
}

fn questions(catalogue: &Catalogue, reading: &Reading) -> Vec<Value> {
    let readings =
        |q: &Question| -> Vec<String> { q.readings.iter().map(|c| choice(catalogue, reading.species, c)).collect() };
    reading.questions.iter().map(|q| json!({"about": q.about, "readings": readings(q)})).collect()
}

fn choice(catalogue: &Catalogue, species: Option<SpeciesId>, choice: &Choice) -> String {
    let id = |g: GeneId| species.map_or_else(String::new, |s| catalogue.get(s).gene(g).entry.id.clone());
    match choice {
        Choice::Genes(name, genes) => match (&genes[..], species.map(|s| catalogue.get(s))) {
            ([(g, copies)], Some(s))
                if s.gene(*g).bare_copies() == *copies || *copies == 1 && s.gene(*g).is_recessive() =>
            {
                id(*g)
            }
            ([(g, copies)], Some(_)) => format!("{}*{copies}", id(*g)),
            (_, Some(s)) => coined(s, name, genes),
            _ => name.clone(),
        },
        Choice::Chance(_, _, chance) => chance.to_string(),
        Choice::Species(s) => catalogue.get(*s).key().to_owned(),
        Choice::OnParent(parent, _) => format!("parent {}", parent + 1),
        Choice::Words(words) => words.clone(),
    }
}

/// `pair:id` or `combo:id` where the genes have a name of their own, else the genes one by one.
fn coined(species: &Species, name: &str, genes: &[(GeneId, u8)]) -> String {
    let file = species.file();
    if let Some(pair) = file.allele_pair.iter().find(|p| {
        p.name == name
            || genes.len() == 2 && genes.iter().all(|(g, n)| *n == 1 && p.alleles.contains(&species.gene(*g).entry.id))
    }) {
        return format!("pair:{}", pair.id);
    }
    if let Some(combo) = file.combo.iter().find(|c| c.name == name) {
        return format!("combo:{}", combo.id);
    }
    genes.iter().map(|(g, n)| format!("{}*{n}", species.gene(*g).entry.id)).collect::<Vec<_>>().join(" ")
}
