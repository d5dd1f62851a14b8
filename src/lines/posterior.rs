//! The kind `posterior`: what every animal carries, given everything.

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::{Map, Value};

use super::animals::{Animals, sex};
use super::parts::{Loci, Ordered, Senseless, chance, field, list, object, to_line, whole, write_figure};
use crate::engine::inheritance::genotype::Genome;
use crate::engine::inheritance::locus::{AlleleId, Sex};
use crate::engine::odds::{Odds, none, sure};
use crate::engine::pedigree::descent::AnimalId;
use crate::engine::pedigree::evidence::{EvidenceError, weigh};
use crate::engine::pedigree::records::{Animal, Clutch, Frequencies, Place, RecordError, Records, Seen, Sires, Young};

/// The most young of one kind.
const MOST_YOUNG: u32 = 1_000_000;

#[derive(Serialize)]
struct Answer<'a> {
    id: &'a Value,
    posterior: Ordered<&'a str, Ordered<&'a str, Ordered<String, Value>>>,
    /// Of chances that were estimated, because the relatives are too entangled for an exact sum.
    #[serde(skip_serializing_if = "Ordered::is_empty")]
    standard_error: Ordered<&'a str, Ordered<&'a str, f64>>,
}

#[derive(Serialize)]
struct Impossible<'a> {
    id: &'a Value,
    impossible: bool,
}

/// Answers a request of this kind.
pub(super) fn answer(id: &Value, request: &Map<String, Value>) -> Result<String, Senseless> {
    let loci = Loci::read(request)?;
    let animals = Animals::read(request)?;
    let records = records(&loci, &animals, request)?;
    let posterior = match weigh(&loci.genetics, &records) {
        Ok(posterior) => posterior,
        Err(EvidenceError::Impossible) => return Ok(to_line(&Impossible { id, impossible: true })),
        Err(EvidenceError::Record(error)) => return Err(explain(&loci, &animals, &error)),
        Err(error) => return Err(Senseless::new("animals", error)),
    };
    let at_locus = |animal, locus| {
        let chances = posterior.of(animal, locus).iter();
        Ordered(chances.map(|(g, chance)| (loci.write_genotype(locus, *g), write_figure(chance))).collect())
    };
    let of_animal = |animal| Ordered(loci.ids().map(|locus| (loci.name(locus), at_locus(animal, locus))).collect());
    let errors_of = |animal| {
        let errors = loci.ids().filter_map(|id| Some((loci.name(id), posterior.standard_error(animal, id)?)));
        Ordered(errors.collect::<Vec<_>>())
    };
    let ids = || (0..records.animals.len()).map(AnimalId);
    let errors = ids().map(|a| (animals.name(a), errors_of(a))).filter(|(_, errors)| !errors.is_empty());
    Ok(to_line(&Answer {
        id,
        posterior: Ordered(ids().map(|a| (animals.name(a), of_animal(a))).collect()),
        standard_error: Ordered(errors.collect()),
    }))
}

fn records(loci: &Loci, animals: &Animals, request: &Map<String, Value>) -> Result<Records, Senseless> {
    let mut records = Records { frequencies: frequencies(loci, request)?, ..Records::default() };
    for (i, fields) in animals.fields.iter().enumerate() {
        let at = format!("animals: {}", animals.name(AnimalId(i)));
        let mut beliefs = Genome::wild();
        if let Some(genotype) = field(fields, "genotype") {
            let at = format!("{at}: genotype");
            for (name, value) in object(genotype, &at)? {
                let locus = loci.find(name, &at)?;
                beliefs.set(locus, loci.belief(locus, &[Sex::Male, Sex::Female], value, &format!("{at}: {name}"))?);
            }
        }
        records.animals.push(Animal {
            sex: sex(fields, &at)?,
            sires: sires(animals, fields, &at)?,
            dam: animals.one(fields, "dam", &at)?,
            beliefs,
            seen: seen(loci, fields, &at)?,
        });
    }
    let clutches = field(request, "clutches").map_or(Ok(&[][..]), |value| list(value, "clutches"))?;
    for (i, value) in clutches.iter().enumerate() {
        let at = format!("clutches: number {}", i + 1);
        let fields = object(value, &at)?;
        let mut clutch =
            Clutch { sires: sires(animals, fields, &at)?, dam: animals.one(fields, "dam", &at)?, ..Clutch::default() };
        let young = field(fields, "young").map_or(Ok(&[][..]), |value| list(value, &format!("{at}: young")))?;
        for (j, value) in young.iter().enumerate() {
            let at = format!("{at}: young: number {}", j + 1);
            let fields = object(value, &at)?;
            let at_count = format!("{at}: count");
            let count = field(fields, "count").map_or(Ok(1), |value| whole(value, &at_count))?;
            let count = u32::try_from(count).ok().filter(|&count| count <= MOST_YOUNG);
            let count = count.ok_or_else(|| Senseless::new(at_count, format!("at most {MOST_YOUNG}")))?;
            clutch.young.push(Young { seen: seen(loci, fields, &at)?, sex: sex(fields, &at)?, count });
        }
        records.clutches.push(clutch);
    }
    Ok(records)
}

/// One sire, or several with chances.
fn sires(animals: &Animals, fields: &Map<String, Value>, at: &str) -> Result<Sires, Senseless> {
    let at = format!("{at}: sire");
    match field(fields, "sire") {
        None => Ok(Vec::new()),
        Some(Value::String(name)) => Ok(vec![(animals.find(name, &at)?, sure())]),
        Some(Value::Object(chances)) => {
            let mut sires = Vec::new();
            for (name, value) in chances {
                sires.push((animals.find(name, &at)?, chance(value, &format!("{at}: {name}"))?));
            }
            if sires.iter().map(|(_, chance)| chance).sum::<Odds>() != sure() {
                return Err(Senseless::new(at, "the chances do not add up to 1"));
            }
            Ok(sires)
        }
        Some(_) => Err(Senseless::new(at, "an animal, or an object of animals and chances, is needed")),
    }
}

fn seen(loci: &Loci, fields: &Map<String, Value>, at: &str) -> Result<Seen, Senseless> {
    let mut seen = Seen::new();
    if let Some(look) = field(fields, "look") {
        let at = format!("{at}: look");
        for (name, value) in object(look, &at)? {
            let locus = loci.find(name, &at)?;
            seen.insert(locus, vec![loci.look(locus, value, &format!("{at}: {name}"))?]);
        }
    }
    Ok(seen)
}

/// Per locus the chances of alleles; the wild one may be named if the sum is 1.
fn frequencies(loci: &Loci, request: &Map<String, Value>) -> Result<Frequencies, Senseless> {
    let mut frequencies = Frequencies::new();
    let Some(given) = field(request, "frequency") else { return Ok(frequencies) };
    for (name, value) in object(given, "frequency")? {
        let locus = loci.find(name, "frequency")?;
        let at = format!("frequency: {name}");
        let mut alleles = BTreeMap::new();
        for (allele, value) in object(value, &at)? {
            alleles.insert(loci.find_allele(locus, allele, &at)?, chance(value, &format!("{at}: {allele}"))?);
        }
        let sum: Odds = alleles.values().sum();
        let wild = alleles.remove(&AlleleId::WILD);
        if sum > sure() || wild.is_some() && sum != sure() {
            return Err(Senseless::new(at, "the chances do not add up to 1"));
        }
        alleles.retain(|_, chance| *chance > none());
        frequencies.insert(locus, alleles);
    }
    Ok(frequencies)
}

fn explain(loci: &Loci, animals: &Animals, error: &RecordError) -> Senseless {
    let animal = |id: AnimalId| format!("animals: {}", animals.name(id));
    let place = |place: &Place| match place {
        Place::Animal(id) => animal(*id),
        Place::Clutch(at) => format!("clutches: number {}", at + 1),
    };
    match error {
        RecordError::Descent(error) => animals.explain(error),
        RecordError::Unknown { clutch, .. } => Senseless::new(format!("clutches: number {}", clutch + 1), error),
        RecordError::SireChances { place: at, .. } => {
            Senseless::new(format!("{}: sire", place(at)), "the chances do not add up to 1")
        }
        RecordError::SireTwice { place: at, sire } => {
            Senseless::new(format!("{}: sire", place(at)), format!("{:?} is named twice", animals.name(*sire)))
        }
        RecordError::TwoBroods { animal: id } => Senseless::new(animal(*id), "it has parents in two places"),
        RecordError::NotAFounder { animal: id } => {
            Senseless::new(format!("{}: genotype", animal(*id)), "an animal with a parent has none, it follows")
        }
        RecordError::Genotype { animal: id, locus, genotype, .. } => Senseless::new(
            format!("{}: genotype: {}", animal(*id), loci.name(*locus)),
            format!("{:?} does not go with the sex of the animal", loci.write_genotype(*locus, *genotype)),
        ),
        RecordError::Look { place: at, locus } => {
            Senseless::new(format!("{}: look: {}", place(at), loci.name(*locus)), "no animal looks like this")
        }
        RecordError::Frequency { locus } => {
            Senseless::new(format!("frequency: {}", loci.name(*locus)), "the chances do not add up to 1")
        }
    }
}

#[cfg(test)]
mod tests {
    use serde_json::Value;

    use crate::lines::engine::answer;

    #[track_caller]
    fn check(request: &str, expected: &str) {
        let value = |line: &str| serde_json::from_str::<Value>(line).unwrap();
        assert_eq!(value(&answer(request)), value(expected));
    }

    #[test]
    fn normal_young_speak_against_a_carrier() {
        check(
            r#"{"id":"p1","kind":"posterior","loci":[{"id":"a","alleles":["+","a"],"dominance":"recessive"}],"animals":[{"id":"S","genotype":{"a":{"+/a":"3/5","+/+":"2/5"}}},{"id":"D","genotype":{"a":"a/a"}},{"id":"k","sire":"S","dam":"D","look":{"a":"+"}}],"clutches":[{"sire":"S","dam":"D","young":[{"look":{"a":"+"},"count":2}]}]}"#,
            r#"{"id":"p1","posterior":{"S":{"a":{"+/+":"16/19","+/a":"3/19"}},"D":{"a":{"a/a":"1"}},"k":{"a":{"+/a":"1"}}}}"#,
        );
    }

    #[test]
    fn unknown_founders_come_from_the_population() {
        check(
            r#"{"id":"p2","kind":"posterior","loci":[{"id":"t","alleles":["+","t","u"],"dominance":"recessive"}],"frequency":{"t":{"t":"1/5","u":"1/10"}},"animals":[{"id":"S","look":{"t":"+"}},{"id":"D","genotype":{"t":"t/u"}},{"id":"k","sire":"S","dam":"D","look":{"t":"+"}}]}"#,
            r#"{"id":"p2","posterior":{"S":{"t":{"+/+":"7/10","+/t":"1/5","+/u":"1/10"}},"D":{"t":{"t/u":"1"}},"k":{"t":{"+/t":"1/2","+/u":"1/2"}}}}"#,
        );
    }
}
