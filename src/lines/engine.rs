//! `hatchward engine --json`: questions to the engine that carry everything they need.
//!
//! In: one request a line. Out: one answer a line. Start at [`answer`]. Never: the species catalogue, a database, free text.
//! Not here: the mathematics (`engine`). Chances are read as decimal text, so `0.9` is exactly 9/10.

use num_bigint::BigUint;
use serde_json::{Map, Number, Value, json};

use crate::engine::inheritance::clutch::{self, Chances, ClutchSize, Figure, Wanted};
use crate::engine::inheritance::cross::{self, Offspring};
use crate::engine::inheritance::genotype::{Belief, Genome, Genotype};
use crate::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Look, Mode, Sex, SexLink, SexSystem};
use crate::engine::odds::{self, Odds};

/// The kinds of request this program knows.
const KINDS: [&str; 1] = ["cross"];
/// The most loci of a request: every answered row names them all.
const MAX_LOCI: usize = 256;
/// The most rows of a list.
const MAX_TOP: usize = 4096;
/// The most levels of certainty.
const MAX_LEVELS: usize = 1000;
/// The most eggs of a clutch.
const MAX_EGGS: u32 = 10_000;

/// Why a request makes no sense: what, and where in it.
#[derive(Debug)]
struct Senseless(String);

type Sense<T> = Result<T, Senseless>;

fn senseless<T>(at: &str, what: impl std::fmt::Display) -> Sense<T> {
    Err(Senseless(format!("{at}: {what}")))
}

/// Answers one line: an object with the request's `id`, and `error` (what and where) if the request makes no sense.
#[must_use]
pub fn answer(line: &str) -> String {
    let request = match serde_json::from_str::<Value>(line) {
        Ok(Value::Object(request)) => request,
        Ok(_) => return json!({"id": null, "error": "the line is not a JSON object"}).to_string(),
        Err(error) => return json!({"id": null, "error": format!("the line is not JSON: {error}")}).to_string(),
    };
    let id = request.get("id").cloned().unwrap_or(Value::Null);
    let answered = match request.get("kind").and_then(Value::as_str) {
        Some("cross") => cross_of(&request),
        Some(other) => senseless("kind", format!("there is no {other:?} here, only {}", KINDS.join(", "))),
        None => senseless("kind", format!("missing, or not a text; there is {}", KINDS.join(", "))),
    };
    let mut said = Map::new();
    said.insert("id".to_owned(), id);
    match answered {
        Ok(fields) => said.extend(fields),
        Err(Senseless(what)) => {
            said.insert("error".to_owned(), Value::String(what));
        }
    }
    Value::Object(said).to_string()
}

/// The loci of a request, with the names that the engine does without.
struct Species {
    genetics: Genetics,
    names: Vec<Names>,
}

struct Names {
    locus: String,
    alleles: Vec<String>,
}

impl Names {
    fn allele(&self, name: &str) -> Option<AlleleId> {
        let index = self.alleles.iter().position(|allele| allele == name)?;
        u8::try_from(index).ok().map(AlleleId)
    }

    fn say(&self, allele: AlleleId) -> &str {
        self.alleles.get(usize::from(allele.0)).map_or("-", String::as_str)
    }

    fn genotype(&self, text: &str, at: &str) -> Sense<Genotype> {
        let allele = |name: &str| {
            let unknown = || Senseless(format!("{at}: there is no allele {name:?} at locus {:?}", self.locus));
            self.allele(name).ok_or_else(unknown)
        };
        if let Some((x, y)) = text.split_once('|') {
            let y = if y == "-" { AlleleId::NONE } else { allele(y)? };
            return Ok(Genotype::sided(allele(x)?, y));
        }
        match text.split_once('/') {
            Some((a, b)) => Ok(Genotype::pair(allele(a)?, allele(b)?)),
            None => senseless(at, format!("{text:?} is not two alleles")),
        }
    }

    fn say_genotype(&self, genotype: Genotype) -> String {
        let (first, second) = genotype.alleles();
        format!("{}{}{}", self.say(first), if genotype.is_sided() { "|" } else { "/" }, self.say(second))
    }

    fn say_look(&self, look: Look) -> String {
        look.alleles().map(|allele| self.say(allele)).collect::<Vec<_>>().join("/")
    }
}

impl Species {
    fn read(request: &Map<String, Value>) -> Sense<Self> {
        let listed = array(request.get("loci"), "loci")?;
        if listed.len() > MAX_LOCI {
            return senseless("loci", format!("{} of them, at most {MAX_LOCI} are possible", listed.len()));
        }
        let (mut loci, mut names) = (Vec::new(), Vec::<Names>::new());
        for (index, value) in listed.iter().enumerate() {
            let (locus, named) = read_locus(value, &format!("loci[{index}]"))?;
            if names.iter().any(|other| other.locus == named.locus) {
                return senseless("loci", format!("two of them have the id {:?}", named.locus));
            }
            loci.push(locus);
            names.push(named);
        }
        let sex = request.get("sex").map(|value| read_sex(value, "sex")).transpose()?;
        // The engine's errors number the loci; the request named them.
        match Genetics::new(loci, sex) {
            Ok(genetics) => Ok(Self { genetics, names }),
            Err(error) => senseless("loci", format!("{error} (counted from 0)")),
        }
    }

    fn locus(&self, id: &str, at: &str) -> Sense<(LocusId, &Names)> {
        let found = self.genetics.ids().map(|(id, _)| id).zip(&self.names).find(|(_, names)| names.locus == id);
        found.ok_or_else(|| Senseless(format!("{at}: there is no locus {id:?}")))
    }

    /// Each locus with its names.
    fn named(&self) -> impl Iterator<Item = (LocusId, &Names)> {
        self.genetics.ids().map(|(id, _)| id).zip(&self.names)
    }

    fn genome(&self, value: Option<&Value>, sex: Sex, at: &str) -> Sense<Genome> {
        let mut genome = Genome::default();
        // Rows tell the sexes apart wherever a sex-linked locus exists, carried or not.
        if let Some(linked) = self.genetics.sex_linked() {
            genome.set(linked, Belief::sure(self.genetics.wild(linked, sex)));
        }
        for (name, value) in object(value, at)? {
            let at = format!("{at}.{name}");
            let (id, names) = self.locus(name, &at)?;
            let fitting = |text: &str| {
                let genotype = names.genotype(text, &at)?;
                if self.genetics.fits(id, sex, genotype) {
                    return Ok(genotype);
                }
                let parent = if sex == Sex::Male { "male" } else { "female" };
                senseless(&at, format!("a {parent} cannot be {text:?} at locus {name:?}"))
            };
            let belief = match value {
                Value::String(text) => Belief::sure(fitting(text)?),
                Value::Object(chances) => {
                    let mut mix = Vec::new();
                    for (text, chance) in chances {
                        mix.push((fitting(text)?, chance_of(chance, &format!("{at}.{text}"))?));
                    }
                    Belief::mix(mix).or_else(|error| senseless(&at, error))?
                }
                _ => return senseless(&at, "neither a genotype nor chances of genotypes"),
            };
            genome.set(id, belief);
        }
        Ok(genome)
    }

    fn wanted(&self, value: &Value) -> Sense<Wanted> {
        let mut wanted = Wanted::any();
        for (name, value) in object(Some(value), "want")? {
            let at = format!("want.{name}");
            let (id, names) = self.locus(name, &at)?;
            let mut genotypes = Vec::new();
            for value in array(Some(value), &at)? {
                let text = text_of(value, &at)?;
                let genotype = names.genotype(text, &at)?;
                if ![Sex::Male, Sex::Female].into_iter().any(|sex| self.genetics.fits(id, sex, genotype)) {
                    return senseless(&at, format!("nobody can be {text:?} at locus {name:?}"));
                }
                genotypes.push(genotype);
            }
            wanted = wanted.with(id, genotypes);
        }
        Ok(wanted)
    }
}

fn read_locus(value: &Value, at: &str) -> Sense<(Locus, Names)> {
    let fields = object(Some(value), at)?;
    let id = text_of(fields.get("id").unwrap_or(&Value::Null), &format!("{at}.id"))?;
    let at = format!("locus {id:?}");
    let mut names = Names { locus: id.to_owned(), alleles: Vec::new() };
    for value in array(fields.get("alleles"), &format!("{at}, alleles"))? {
        let allele = text_of(value, &format!("{at}, alleles"))?;
        if allele.is_empty() || allele == "-" || allele.contains(['/', '|']) {
            return senseless(&at, format!("{allele:?} cannot be the name of an allele"));
        }
        if names.allele(allele).is_some() {
            return senseless(&at, format!("two alleles are called {allele:?}"));
        }
        names.alleles.push(allele.to_owned());
        if names.alleles.len() > Locus::MAX_ALLELES {
            return senseless(&at, format!("more than {} alleles", Locus::MAX_ALLELES));
        }
    }
    let Some(others) = names.alleles.len().checked_sub(1) else {
        return senseless(&at, "no alleles, where the first is the wild one");
    };
    let dominance = fields.get("dominance").unwrap_or(&Value::Null);
    let mut locus = match text_of(dominance, &format!("{at}, dominance"))? {
        "recessive" => Locus::trade(&vec![Mode::Recessive; others]),
        "dominant" => Locus::trade(&vec![Mode::Dominant; others]),
        "incomplete" => Locus::trade(&vec![Mode::IncompleteDominant; others]),
        "series" => Locus::series(u8::try_from(names.alleles.len()).unwrap_or(u8::MAX)),
        other => {
            return senseless(&at, format!("dominance {other:?} is none of recessive, dominant, incomplete, series"));
        }
    };
    if let Some(lethal) = fields.get("lethal").filter(|value| !value.is_null()) {
        let at = format!("{at}, lethal");
        for value in array(Some(lethal), &at)? {
            locus = locus.with_lethal(names.genotype(text_of(value, &at)?, &at)?);
        }
    }
    if let Some(link) = fields.get("sex_link").filter(|value| !value.is_null()) {
        let link = match link.as_str() {
            Some("x") => SexLink::OnlyX,
            _ => SexLink::Recombining(number(link, &format!("{at}, sex_link"))?),
        };
        locus = locus.with_sex_link(link);
    }
    Ok((locus, names))
}

fn read_sex(value: &Value, at: &str) -> Sense<SexSystem> {
    match value {
        Value::String(text) if text == "XY" => Ok(SexSystem::Xy),
        Value::String(text) if text == "ZW" => Ok(SexSystem::Zw),
        Value::Object(fields) => {
            let male = fields.get("male").unwrap_or(&Value::Null);
            Ok(SexSystem::Chance { male: chance_of(male, &format!("{at}.male"))? })
        }
        _ => senseless(at, "none of \"XY\", \"ZW\", {\"male\": chance}"),
    }
}

fn read_clutch(value: &Value) -> Sense<ClutchSize> {
    let fields = object(Some(value), "clutch")?;
    let or_sure = |name: &str| match fields.get(name) {
        Some(value) => chance_of(value, &format!("clutch.{name}")),
        None => Ok(odds::sure()),
    };
    let take = or_sure("take")?;
    match (fields.get("eggs"), fields.get("mean")) {
        (Some(eggs), None) => {
            let eggs = whole(eggs, u64::from(MAX_EGGS), "clutch.eggs")?;
            let eggs = u32::try_from(eggs).unwrap_or(MAX_EGGS);
            Ok(ClutchSize::Eggs { eggs, hatch: or_sure("hatch")?, take })
        }
        (None, Some(mean)) => {
            let mean = number(mean, "clutch.mean")?;
            if mean < odds::none() || mean > Odds::from_integer(MAX_EGGS.into()) {
                return senseless("clutch.mean", format!("{mean} is not within 0 and {MAX_EGGS}"));
            }
            Ok(ClutchSize::Poisson { mean, take })
        }
        (Some(_), Some(_)) => senseless("clutch", "either eggs or mean, not both"),
        (None, None) => senseless("clutch", "neither eggs nor mean"),
    }
}

fn cross_of(request: &Map<String, Value>) -> Sense<Map<String, Value>> {
    let species = Species::read(request)?;
    let sire = species.genome(request.get("sire"), Sex::Male, "sire")?;
    let dam = species.genome(request.get("dam"), Sex::Female, "dam")?;
    let given = |name: &str| request.get(name).filter(|value| !value.is_null());
    let top = match given("top") {
        Some(value) => usize::try_from(whole(value, MAX_TOP as u64, "top")?).unwrap_or(MAX_TOP),
        None => MAX_TOP,
    };
    let wanted = given("want").map(|value| species.wanted(value)).transpose()?;
    let size = given("clutch").map(read_clutch).transpose()?;
    let levels = match given("levels") {
        None => vec![odds::odds(9, 10), odds::odds(19, 20), odds::odds(99, 100)],
        Some(value) => {
            let listed = array(Some(value), "levels")?;
            if listed.len() > MAX_LEVELS {
                return senseless("levels", format!("{} of them, at most {MAX_LEVELS} are possible", listed.len()));
            }
            listed.iter().map(|value| chance_of(value, "levels")).collect::<Sense<_>>()?
        }
    };
    let offspring = match cross::cross(&species.genetics, &sire, &dam) {
        Ok(offspring) => offspring,
        Err(error) => return senseless("sire or dam", error),
    };

    let mut said = Map::new();
    let mut say = |name: &str, value: Value| said.insert(name.to_owned(), value);
    let lost = offspring.lost();
    say("lost", exact(&lost));
    say("count", counted(&offspring.n_outcomes()));
    let (rows, shown) = outcome_rows(&species, &offspring, top);
    say("outcomes", Value::Array(rows));
    let left = odds::sure() - &lost - shown;
    if left != odds::none() {
        say("truncated", exact(&left));
    }
    say("looks", Value::Array(offspring.looks().take(top).map(|row| look_row(&species, &row)).collect()));
    let Some(wanted) = wanted else { return Ok(said) };
    say("per_egg", exact(&clutch::per_egg(&offspring, &wanted)));
    let Some(size) = size else { return Ok(said) };
    let chances = match Chances::of(&offspring, &wanted) {
        Ok(chances) => chances,
        Err(error) => return senseless("sire and dam", error),
    };
    say("at_least_one", figure(&chances.at_least_one_in(&size)));
    say("expected", exact(&chances.expected_in(&size)));
    if let Some(both) = chances.one_of_each_in(&size) {
        say("one_of_each", figure(&both));
    }
    say("reach", exact(&chances.reach_in(&size)));
    say("eggs_for", levels.iter().map(|level| Value::from(chances.eggs_for_in(level, &size))).collect());
    say("clutches_for", levels.iter().map(|level| Value::from(chances.clutches_for(level, &size))).collect());
    Ok(said)
}

/// The first rows and the sum of their chances.
fn outcome_rows(species: &Species, offspring: &Offspring, top: usize) -> (Vec<Value>, Odds) {
    let mut shown = odds::none();
    let rows = offspring.outcomes().take(top).map(|outcome| {
        shown += &outcome.probability;
        let mut genotypes = Map::new();
        for (id, names) in species.named() {
            let found = outcome.genotypes.iter().find(|(locus, _)| *locus == id);
            let genotype = found.map_or(Genotype::WILD, |(_, genotype)| *genotype);
            genotypes.insert(names.locus.clone(), names.say_genotype(genotype).into());
        }
        row(outcome.sex, [("genotype", Value::Object(genotypes)), ("probability", exact(&outcome.probability))])
    });
    let rows = rows.collect();
    (rows, shown)
}

fn look_row(species: &Species, row_of: &crate::engine::inheritance::outcomes::LookRow) -> Value {
    let (mut looks, mut hidden) = (Map::new(), Map::new());
    for (id, names) in species.named() {
        let found = row_of.looks.iter().find(|(locus, _)| *locus == id);
        let look = found.map_or(Look::WILD, |(_, look)| *look);
        looks.insert(names.locus.clone(), names.say_look(look).into());
        let carried = row_of.genotypes.iter().find(|(locus, genotypes)| *locus == id && genotypes.len() > 1);
        if let Some((_, genotypes)) = carried {
            let chances = genotypes.iter().map(|(genotype, chance)| (names.say_genotype(*genotype), exact(chance)));
            hidden.insert(names.locus.clone(), Value::Object(chances.collect()));
        }
    }
    row(
        row_of.sex,
        [
            ("look", Value::Object(looks)),
            ("probability", exact(&row_of.probability)),
            ("genotypes", Value::Object(hidden)),
        ],
    )
}

fn row<const N: usize>(sex: Option<Sex>, fields: [(&str, Value); N]) -> Value {
    let sex = sex.map(|sex| ("sex", Value::from(if sex == Sex::Male { "male" } else { "female" })));
    Value::Object(sex.into_iter().chain(fields).map(|(name, value)| (name.to_owned(), value)).collect())
}

fn exact(odds: &Odds) -> Value {
    Value::String(odds.to_string())
}

fn figure(figure: &Figure) -> Value {
    match figure {
        Figure::Exact(odds) => exact(odds),
        Figure::Rounded(number) => Value::from(*number),
    }
}

/// A whole number of any size as a JSON number.
fn counted(n: &BigUint) -> Value {
    let text = n.to_string();
    text.parse::<Number>().map_or(Value::String(text), Value::Number)
}

fn object<'a>(value: Option<&'a Value>, at: &str) -> Sense<&'a Map<String, Value>> {
    match value {
        Some(Value::Object(fields)) => Ok(fields),
        Some(_) => senseless(at, "not an object"),
        None => senseless(at, "missing"),
    }
}

fn array<'a>(value: Option<&'a Value>, at: &str) -> Sense<&'a [Value]> {
    match value {
        Some(Value::Array(items)) => Ok(items),
        Some(_) => senseless(at, "not a list"),
        None => senseless(at, "missing"),
    }
}

fn text_of<'a>(value: &'a Value, at: &str) -> Sense<&'a str> {
    value.as_str().ok_or_else(|| Senseless(format!("{at}: missing, or not a text")))
}

/// A fraction or a decimal, as text or as a JSON number; exact.
fn number(value: &Value, at: &str) -> Sense<Odds> {
    let read = match value {
        Value::String(text) => odds::parse(text),
        Value::Number(number) => odds::parse(&number.to_string()),
        _ => None,
    };
    read.ok_or_else(|| Senseless(format!("{at}: {value} is not a number or a fraction")))
}

fn chance_of(value: &Value, at: &str) -> Sense<Odds> {
    let chance = number(value, at)?;
    if odds::is_chance(&chance) { Ok(chance) } else { senseless(at, format!("{chance} is not within 0 and 1")) }
}

fn whole(value: &Value, most: u64, at: &str) -> Sense<u64> {
    let number = value.as_u64().filter(|n| *n <= most);
    number.ok_or_else(|| Senseless(format!("{at}: {value} is not a whole number from 0 to {most}")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(text: &str) -> Value {
        serde_json::from_str(text).expect("JSON")
    }

    #[test]
    fn mixes_over_an_uncertain_sire() {
        let asked = r#"{"id":"c1","kind":"cross","sex":"XY","loci":[{"id":"a","alleles":["+","a"],"dominance":"recessive"},{"id":"p","alleles":["+","p"],"dominance":"incomplete"}],"sire":{"a":{"+/a":"2/5","+/+":"3/5"},"p":"+/p"},"dam":{"a":"a/a"},"want":{"a":["a/a"],"p":["+/p"]},"clutch":{"eggs":3,"hatch":"4/5"},"levels":["1/5","3/10","2/5"]}"#;
        let expected = r#"{"id":"c1","lost":"0","count":4,"outcomes":[{"genotype":{"a":"+/a","p":"+/+"},"probability":"2/5"},{"genotype":{"a":"+/a","p":"+/p"},"probability":"2/5"},{"genotype":{"a":"a/a","p":"+/+"},"probability":"1/10"},{"genotype":{"a":"a/a","p":"+/p"},"probability":"1/10"}],"looks":[{"look":{"a":"+","p":"+"},"probability":"2/5","genotypes":{}},{"look":{"a":"+","p":"+/p"},"probability":"2/5","genotypes":{}},{"look":{"a":"a","p":"+"},"probability":"1/10","genotypes":{}},{"look":{"a":"a","p":"+/p"},"probability":"1/10","genotypes":{}}],"per_egg":"1/10","at_least_one":"122/625","expected":"6/25","one_of_each":"27/1250","reach":"2/5","eggs_for":[4,7,null],"clutches_for":[2,3,null]}"#;
        assert_eq!(value(&answer(asked)), value(expected));
    }

    #[test]
    fn keeps_the_sides_of_a_sex_linked_locus() {
        let asked = r#"{"id":"c2","kind":"cross","sex":"XY","loci":[{"id":"n","alleles":["+","n"],"dominance":"incomplete","sex_link":"3/20"}],"sire":{"n":"+|n"},"dam":{},"want":{"n":["+/n"]},"clutch":{"eggs":4},"top":3}"#;
        let expected = r#"{"id":"c2","lost":"0","count":4,"outcomes":[{"sex":"female","genotype":{"n":"+/+"},"probability":"17/40"},{"sex":"male","genotype":{"n":"+|n"},"probability":"17/40"},{"sex":"female","genotype":{"n":"+/n"},"probability":"3/40"}],"truncated":"3/40","looks":[{"sex":"female","look":{"n":"+"},"probability":"17/40","genotypes":{}},{"sex":"male","look":{"n":"+/n"},"probability":"17/40","genotypes":{}},{"sex":"female","look":{"n":"+/n"},"probability":"3/40","genotypes":{}}],"per_egg":"3/40","at_least_one":"685839/2560000","expected":"3/10","one_of_each":"0","reach":"1","eggs_for":[30,39,60],"clutches_for":[8,10,15]}"#;
        assert_eq!(value(&answer(asked)), value(expected));
    }

    #[test]
    fn eggs_lost_and_missing_alleles() {
        let asked = r#"{"id":1,"kind":"cross","sex":"ZW","loci":[{"id":"y","alleles":["+","y"],"dominance":"dominant","lethal":["y/y"]},{"id":"w","alleles":["+","w"],"dominance":"recessive","sex_link":"x"}],"sire":{"y":"+/y","w":"+/w"},"dam":{"y":"y/+"},"want":{"w":["w|-"]}}"#;
        let said = value(&answer(asked));
        assert_eq!(said["lost"], "1/4");
        assert_eq!(said["count"], json!(8));
        assert_eq!(said["per_egg"], "3/16");
        let looks = said["looks"].as_array().expect("a list");
        let daughters = looks.iter().find(|row| row["look"]["w"] == "w").expect("a daughter that shows it");
        assert_eq!(daughters["sex"], "female");
        assert!(looks.iter().all(|row| row["sex"] == "female" || row["look"]["w"] == "+"));
    }

    #[test]
    fn says_what_makes_no_sense_and_where() {
        let locus = r#"{"id":"a","alleles":["+","a"],"dominance":"recessive"}"#;
        let linked = r#"{"id":"b","alleles":["+","b"],"dominance":"dominant","sex_link":"1/20"}"#;
        let cases = [
            ("nonsense".to_owned(), "JSON"),
            ("[1]".to_owned(), "object"),
            (r#"{"id":"z"}"#.to_owned(), "kind"),
            (r#"{"id":"z","kind":"weather"}"#.to_owned(), "cross"),
            (r#"{"id":"z","kind":"cross","sire":{},"dam":{}}"#.to_owned(), "loci"),
            (format!(r#"{{"kind":"cross","loci":[{locus},{locus}],"sire":{{}},"dam":{{}}}}"#), "two of them"),
            (format!(r#"{{"kind":"cross","loci":[{locus}],"sire":{{}}}}"#), "dam: missing"),
            (format!(r#"{{"kind":"cross","loci":[{locus}],"sire":{{"a":"+/q"}},"dam":{{}}}}"#), "no allele \"q\""),
            (format!(r#"{{"kind":"cross","loci":[{locus}],"sire":{{"c":"+/a"}},"dam":{{}}}}"#), "no locus \"c\""),
            (format!(r#"{{"kind":"cross","loci":[{locus}],"sire":{{"a":"+|a"}},"dam":{{}}}}"#), "sire.a"),
            (
                format!(r#"{{"kind":"cross","loci":[{locus}],"sire":{{"a":{{"+/a":0.9}}}},"dam":{{}}}}"#),
                "add up to 9/10",
            ),
            (format!(r#"{{"kind":"cross","loci":[{linked}],"sire":{{}},"dam":{{}}}}"#), "sex-linked"),
            (
                format!(r#"{{"kind":"cross","sex":"XY","loci":[{linked}],"sire":{{"b":"+/b"}},"dam":{{}}}}"#),
                "a male cannot",
            ),
            (
                format!(r#"{{"kind":"cross","sex":"XY","loci":[{linked}],"sire":{{}},"dam":{{"b":"+|b"}}}}"#),
                "a female cannot",
            ),
            (format!(r#"{{"kind":"cross","sex":"UV","loci":[{locus}],"sire":{{}},"dam":{{}}}}"#), "sex"),
            (format!(r#"{{"kind":"cross","loci":[{locus}],"sire":{{}},"dam":{{}},"top":4097}}"#), "top"),
            (
                format!(r#"{{"kind":"cross","loci":[{locus}],"sire":{{}},"dam":{{}},"clutch":{{"eggs":-1}}}}"#),
                "clutch.eggs",
            ),
            (format!(r#"{{"kind":"cross","loci":[{locus}],"sire":{{}},"dam":{{}},"levels":["3/2"]}}"#), "levels"),
        ];
        for (asked, what) in cases {
            let said = value(&answer(&asked));
            let error = said["error"].as_str().unwrap_or_default();
            assert!(error.contains(what), "{asked} gave {said}");
        }
        assert_eq!(value(&answer("nonsense"))["id"], Value::Null);
        assert_eq!(value(&answer(r#"{"id":["z"],"kind":3}"#))["id"], json!(["z"]));
    }

    #[test]
    fn large_requests_are_answered_or_refused() {
        let loci: Vec<Value> =
            (0..200).map(|i| json!({"id": format!("l{i}"), "alleles": ["+", "a"], "dominance": "recessive"})).collect();
        let het: Map<String, Value> = (0..200).map(|i| (format!("l{i}"), json!("+/a"))).collect();
        let want: Map<String, Value> = (0..200).map(|i| (format!("l{i}"), json!(["a/a"]))).collect();
        let asked = json!({"id": 1, "kind": "cross", "loci": loci, "sire": het, "dam": het, "top": 2, "want": want,
            "clutch": {"eggs": 9000}});
        let said = value(&answer(&asked.to_string()));
        assert_eq!(said["count"].to_string(), num_bigint::BigUint::from(3_u8).pow(200).to_string());
        assert_eq!(said["outcomes"].as_array().map(Vec::len), Some(2));
        assert_eq!(said["eggs_for"], json!([null, null, null]), "beyond any number of eggs");
        assert!(said["at_least_one"].as_f64().is_some_and(|chance| chance > 0.0 && chance < 1e-100));
    }
}
