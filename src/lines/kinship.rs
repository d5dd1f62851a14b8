//! The kind `kinship`: inbreeding of animals, kinship of pairs.

use serde::Serialize;
use serde_json::{Map, Value};

use super::animals::{Animals, sex};
use super::parts::{Ordered, Senseless, field, list, to_line};
use crate::engine::odds::none;
use crate::engine::pedigree::descent::{AnimalId, Descent, Parents};
use crate::engine::pedigree::kinship::{KinshipError, relate};

#[derive(Serialize)]
struct Answer<'a> {
    id: &'a Value,
    inbreeding: Ordered<&'a str, String>,
    kinship: Vec<String>,
}

/// Answers a request of this kind.
pub(super) fn answer(id: &Value, request: &Map<String, Value>) -> Result<String, Senseless> {
    let animals = Animals::read(request)?;
    let mut parents = Vec::new();
    let mut sexes = Vec::new();
    for (i, fields) in animals.fields.iter().enumerate() {
        let at = format!("animals: {}", animals.name(AnimalId(i)));
        let sire = animals.one(fields, "sire", &at)?;
        let dam = animals.one(fields, "dam", &at)?;
        parents.push(Parents { sires: sire.into_iter().collect(), dam });
        sexes.push(sex(fields, &at)?);
    }
    let mut pairs = Vec::new();
    let listed = field(request, "pairs").map_or(Ok(&[][..]), |value| list(value, "pairs"))?;
    for (i, pair) in listed.iter().enumerate() {
        let at = format!("pairs: number {}", i + 1);
        let [a, b] = list(pair, &at)? else {
            return Err(Senseless::new(at, "two animals are needed"));
        };
        let one = |value: &Value| animals.find(super::parts::text(value, &at)?, &at);
        pairs.push((one(a)?, one(b)?));
    }
    let descent = Descent::new(parents, &sexes).map_err(|error| animals.explain(&error))?;
    let kinship = relate(&descent, &pairs).map_err(|error| match error {
        KinshipError::UncertainSire { animal } | KinshipError::Unknown { animal } => {
            Senseless::new(format!("animals: {}", animals.name(animal)), error)
        }
        error => Senseless::new("animals", error),
    })?;
    let inbred = kinship.inbreeding.iter().enumerate().filter(|(_, f)| **f > none());
    let answer = Answer {
        id,
        inbreeding: Ordered(inbred.map(|(i, f)| (animals.name(AnimalId(i)), f.to_string())).collect()),
        kinship: kinship.of_pairs.iter().map(ToString::to_string).collect(),
    };
    Ok(to_line(&answer))
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
    fn inbreeding_and_pairs() {
        check(
            r#"{"id":"k1","kind":"kinship","animals":[{"id":"K","sire":"H","dam":"D"},{"id":"A"},{"id":"B"},{"id":"C","sire":"A","dam":"B"},{"id":"D","sire":"A"},{"id":"G","sire":"C","dam":"D"},{"id":"H","sire":"A","dam":"G"}],"pairs":[["K","H"]]}"#,
            r#"{"id":"k1","inbreeding":{"G":"1/8","H":"1/4","K":"9/32"},"kinship":["29/64"]}"#,
        );
        check(
            r#"{"id":"k2","kind":"kinship","animals":[{"id":"A"},{"id":"B"},{"id":"C","sire":"A","dam":"B"},{"id":"D","sire":"A","dam":"B"},{"id":"E","sire":"C","dam":"U"},{"id":"U"},{"id":"V"},{"id":"F","sire":"C","dam":"V"},{"id":"G","sire":"E","dam":"D"},{"id":"H","sire":"G","dam":"F"}],"pairs":[["G","C"],["H","F"]]}"#,
            r#"{"id":"k2","inbreeding":{"G":"1/8","H":"1/8"},"kinship":["1/4","5/16"]}"#,
        );
        check(
            r#"{"kind":"kinship","animals":[{"id":"A"}],"pairs":[["A","A"]]}"#,
            r#"{"id":null,"inbreeding":{},"kinship":["1/2"]}"#,
        );
    }

    #[test]
    fn what_makes_no_sense_is_named() {
        for (fields, expected) in [
            (r#""pairs":[]"#, "animals: missing"),
            (r#""animals":[{"sire":"A"}]"#, "animals: number 1: \"id\" is missing"),
            (r#""animals":[{"id":"A"},{"id":"A"}]"#, "animals: two of the id \"A\""),
            (r#""animals":[{"id":"A","sire":"B"}]"#, "animals: A: sire: there is no animal \"B\""),
            (r#""animals":[{"id":"A","sire":{"B":1}}]"#, "animals: A: sire: a text"),
            (r#""animals":[{"id":"A","sire":"A"}]"#, "animals: A: it is among its own ancestors"),
            (
                r#""animals":[{"id":"A","sire":"B"},{"id":"B","sire":"C"},{"id":"C","sire":"A"}]"#,
                "animals: A: it is among its own ancestors, through B, C",
            ),
            (
                r#""animals":[{"id":"A"},{"id":"B","sire":"A","dam":"A"}]"#,
                "animals: B: dam: \"A\" cannot be, it is male",
            ),
            (
                r#""animals":[{"id":"A"},{"id":"B","sire":"A"},{"id":"C","dam":"A"}]"#,
                "animals: C: dam: \"A\" cannot be, it is male",
            ),
            (
                r#""animals":[{"id":"A","sex":"female"},{"id":"B","sire":"A"}]"#,
                "animals: B: sire: \"A\" cannot be, it is female",
            ),
            (r#""animals":[{"id":"A","sex":"both"}]"#, "animals: A: sex: \"male\" or"),
            (r#""animals":[{"id":"A"}],"pairs":[["A"]]"#, "pairs: number 1: two animals"),
            (r#""animals":[{"id":"A"}],"pairs":[["A","B"]]"#, "pairs: number 1: there is no animal \"B\""),
        ] {
            let answered = answer(&format!(r#"{{"id":1,"kind":"kinship",{fields}}}"#));
            let answered: Value = serde_json::from_str(&answered).unwrap();
            let error = answered["error"].as_str().unwrap_or("(answered)");
            assert!(error.contains(expected), "{fields}\n gave {error}\n expected {expected}");
        }
    }
}
