//! The engine in JSON lines: a request carries its loci, sexes and animals; no catalogue and no text is involved.
//!
//! In: a line `{"id":…, "kind":"cross", …}`. Out: a line `{"id":…, …}`, or `{"id":…, "error":"what and where"}`.

use std::io::{self, BufRead, Write};

use serde::Serialize;
use serde_json::{Map, Value};

use super::parts::Senseless;
use super::{cross, kinship, posterior, project, route};

/// The kinds of requests that are answered.
const KINDS: [&str; 5] = ["cross", "posterior", "kinship", "route", "project"];

/// Answers one request line with one line, without the line break. Never fails: what makes no sense gets an answer
/// that says so, with `"id":null` if not even the id could be read.
#[must_use]
pub fn answer(line: &str) -> String {
    let request = match serde_json::from_str::<Value>(line) {
        Ok(Value::Object(request)) => request,
        Ok(_) => return refuse(&Value::Null, "the line: a JSON object is needed"),
        Err(error) => return refuse(&Value::Null, &format!("the line: not JSON: {error}")),
    };
    let id = request.get("id").unwrap_or(&Value::Null);
    match answer_request(id, &request) {
        Ok(answer) => answer,
        Err(senseless) => refuse(id, &senseless.to_string()),
    }
}

/// Answers every line of `input` until it ends, each before the next is read.
///
/// # Errors
/// Only those of reading and writing; a line that is not UTF-8 is answered like any other that makes no sense.
pub fn answer_all(mut input: impl BufRead, mut output: impl Write) -> io::Result<()> {
    let mut line = Vec::new();
    while input.read_until(b'\n', &mut line)? > 0 {
        let answer = match std::str::from_utf8(&line) {
            Ok(text) => answer(text),
            Err(error) => refuse(&Value::Null, &format!("the line: {error}")),
        };
        writeln!(output, "{answer}")?;
        output.flush()?;
        line.clear();
    }
    Ok(())
}

fn answer_request(id: &Value, request: &Map<String, Value>) -> Result<String, Senseless> {
    match request.get("kind").and_then(Value::as_str) {
        Some("cross") => cross::answer(id, request),
        Some("posterior") => posterior::answer(id, request),
        Some("kinship") => kinship::answer(id, request),
        Some("project") => project::answer(id, request),
        Some("route") => route::answer(id, request),
        Some(other) => Err(Senseless::new("kind", format!("{other:?} is not known, known: {}", KINDS.join(", ")))),
        None => Err(Senseless::new("kind", format!("a word is needed, known: {}", KINDS.join(", ")))),
    }
}

fn refuse(id: &Value, error: &str) -> String {
    #[derive(Serialize)]
    struct Refusal<'a> {
        id: &'a Value,
        error: &'a str,
    }
    super::parts::to_line(&Refusal { id, error })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(line: &str) -> Value {
        serde_json::from_str(line).unwrap()
    }

    #[track_caller]
    fn check(request: &str, expected: &str) {
        assert_eq!(value(&answer(request)), value(expected));
    }

    /// A cross at one locus of two alleles; `fields` are the rest of the request.
    fn ask(locus: &str, fields: &str) -> Value {
        let locus = format!(r#"{{"id":"a","alleles":["+","a"],{locus}}}"#);
        value(&answer(&format!(r#"{{"id":7,"kind":"cross","loci":[{locus}],{fields}}}"#)))
    }

    #[test]
    fn an_uncertain_sire_and_a_clutch() {
        check(
            r#"{"id":"c1","kind":"cross","sex":"XY","loci":[{"id":"a","alleles":["+","a"],"dominance":"recessive"},{"id":"p","alleles":["+","p"],"dominance":"incomplete"}],"sire":{"a":{"+/a":"2/5","+/+":"3/5"},"p":"+/p"},"dam":{"a":"a/a"},"want":{"a":["a/a"],"p":["+/p"]},"clutch":{"eggs":3,"hatch":"4/5"},"levels":["1/5","3/10","2/5"]}"#,
            r#"{"id":"c1","lost":"0","count":4,"outcomes":[{"genotype":{"a":"+/a","p":"+/+"},"probability":"2/5"},{"genotype":{"a":"+/a","p":"+/p"},"probability":"2/5"},{"genotype":{"a":"a/a","p":"+/+"},"probability":"1/10"},{"genotype":{"a":"a/a","p":"+/p"},"probability":"1/10"}],"looks":[{"look":{"a":"+","p":"+"},"probability":"2/5","genotypes":{}},{"look":{"a":"+","p":"+/p"},"probability":"2/5","genotypes":{}},{"look":{"a":"a","p":"+"},"probability":"1/10","genotypes":{}},{"look":{"a":"a","p":"+/p"},"probability":"1/10","genotypes":{}}],"per_egg":"1/10","at_least_one":"122/625","expected":"6/25","one_of_each":"27/1250","reach":"2/5","eggs_for":[4,7,null],"clutches_for":[2,3,null]}"#,
        );
    }

    #[test]
    fn a_partly_sex_linked_locus() {
        check(
            r#"{"id":"c2","kind":"cross","sex":"XY","loci":[{"id":"n","alleles":["+","n"],"dominance":"incomplete","sex_link":"3/20"}],"sire":{"n":"+|n"},"dam":{},"want":{"n":["+/n"]},"clutch":{"eggs":4},"top":3}"#,
            r#"{"id":"c2","lost":"0","count":4,"outcomes":[{"sex":"female","genotype":{"n":"+/+"},"probability":"17/40"},{"sex":"male","genotype":{"n":"+|n"},"probability":"17/40"},{"sex":"female","genotype":{"n":"+/n"},"probability":"3/40"}],"truncated":"3/40","looks":[{"sex":"female","look":{"n":"+"},"probability":"17/40","genotypes":{}},{"sex":"male","look":{"n":"+/n"},"probability":"17/40","genotypes":{}},{"sex":"female","look":{"n":"+/n"},"probability":"3/40","genotypes":{}}],"per_egg":"3/40","at_least_one":"685839/2560000","expected":"3/10","one_of_each":"0","reach":"1","eggs_for":[30,39,60],"clutches_for":[8,10,15]}"#,
        );
    }

    #[test]
    fn numbers_are_decimal_text() {
        let answered = ask(
            r#""dominance":"recessive""#,
            r#""sire":{"a":{"+/a":0.1,"a/+":"2e-1","+/+":"7/10"}},"dam":{"a":"a/a"},"want":{"a":["a/a"]}"#,
        );
        assert_eq!(answered["id"], 7);
        assert_eq!(answered["per_egg"], "3/20");
    }

    #[test]
    fn an_allele_alone_on_the_x_shows() {
        let answered = ask(
            r#""dominance":"recessive","sex_link":"x""#,
            r#""sex":"ZW","sire":{"a":"+/a"},"dam":{},"want":{"a":["a|-"]},"clutch":{"eggs":1},"levels":["1/4"]"#,
        );
        assert_eq!(answered["count"], 4);
        let female = &answered["looks"][2];
        assert_eq!((&female["sex"], &female["look"]["a"]), (&value("\"female\""), &value("\"a\"")));
        let males = &answered["looks"][0];
        assert_eq!(males["genotypes"], value(r#"{"a":{"+/+":"1/2","+/a":"1/2"}}"#));
        assert_eq!(answered["per_egg"], "1/4");
        assert_eq!(answered["one_of_each"], "0");
        assert_eq!(answered["eggs_for"], value("[1]"));
    }

    #[test]
    fn lethals_are_lost_and_the_rest_is_not_rescaled() {
        let answered = ask(
            r#""dominance":"dominant","lethal":["a/a"]"#,
            r#""sire":{"a":"+/a"},"dam":{"a":"+/a"},"want":{"a":["a/a","+/a"]},"clutch":{"mean":2},"top":1"#,
        );
        assert_eq!(answered["lost"], "1/4");
        assert_eq!(answered["count"], 2);
        assert_eq!(answered["truncated"], "1/4");
        assert_eq!(answered["per_egg"], "1/2");
        assert_eq!(answered["expected"], "1");
        let at_least_one = answered["at_least_one"].as_f64().unwrap();
        assert!((at_least_one - (1.0 - (-1f64).exp())).abs() < 1e-12);
        assert_eq!(answered.get("one_of_each"), None);
    }

    #[test]
    fn very_many_eggs_are_answered_in_rounded_numbers() {
        let answered = ask(
            r#""dominance":"recessive""#,
            r#""sire":{"a":"+/a"},"dam":{"a":"+/a"},"want":{"a":["a/a"]},"clutch":{"eggs":1000000,"hatch":"1/1000000"}"#,
        );
        let at_least_one = answered["at_least_one"].as_f64().unwrap();
        // The limit is 1 - exp(-1/4), computed; the difference to it is below 1e-6.
        assert!((at_least_one - 0.221_199_216_9).abs() < 1e-6, "{at_least_one}");
        assert_eq!(answered["clutches_for"], value("[10,12,19]"));
    }

    #[test]
    fn nothing_listed_and_nothing_asked() {
        check(
            r#"{"kind":"cross","loci":[],"sire":{},"dam":{}}"#,
            r#"{"id":null,"lost":"0","count":1,"outcomes":[{"genotype":{},"probability":"1"}],
                "looks":[{"look":{},"probability":"1","genotypes":{}}]}"#,
        );
    }

    const LOCUS: &str = r#"{"id":"a","alleles":["+","a"],"dominance":"recessive"}"#;

    /// A cross of the request id 1, the rest of the fields given.
    fn cross(rest: &str) -> String {
        format!(r#"{{"id":1,"kind":"cross",{rest}}}"#)
    }

    fn one(rest: &str) -> String {
        cross(&format!(r#""loci":[{LOCUS}],{rest}"#))
    }

    fn of_loci(loci: &str) -> String {
        cross(&format!(r#""loci":[{loci}],"sire":{{}},"dam":{{}}"#))
    }

    #[track_caller]
    fn check_refused<const N: usize>(cases: [(String, &str); N]) {
        for (request, expected) in cases {
            let answered = value(&answer(&request));
            let error = answered["error"].as_str().unwrap_or("(answered)");
            assert!(error.contains(expected), "{request}\n gave {error}\n expected {expected}");
            assert_eq!(answered["id"].is_null(), !request.contains("\"id\":1"), "{request}");
        }
    }

    #[test]
    fn a_request_that_makes_no_sense_is_told_where() {
        check_refused([
            (String::new(), "the line: not JSON"),
            ("[]".to_owned(), "the line: a JSON object"),
            (r#"{"id":1}"#.to_owned(), "kind: a word"),
            (r#"{"id":1,"kind":"divide"}"#.to_owned(), "kind: \"divide\" is not known, known: cross"),
            (cross(r#""sire":{},"dam":{}"#), "loci: missing"),
            (one(r#""dam":{}"#), "sire: missing"),
            (one(r#""sire":{},"dam":[]"#), "dam: a JSON object"),
            (one(r#""sire":{"b":"+/+"},"dam":{}"#), "sire: there is no locus \"b\""),
            (one(r#""sire":{"a":"+/b"},"dam":{}"#), "sire: a: \"+/b\": \"b\" is not an allele"),
            (one(r#""sire":{"a":"a"},"dam":{}"#), "sire: a: \"a\" is not a genotype"),
            (one(r#""sire":{"a":"+/a/a"},"dam":{}"#), "sire: a:"),
            (one(r#""sire":{"a":"+|a"},"dam":{}"#), "sire: a: \"+|a\": a genotype is written \"x/y\""),
            (one(r#""sire":{"a":3},"dam":{}"#), "sire: a: a genotype, or"),
            (one(r#""sire":{},"dam":{"a":{"+/a":"1/2"}}"#), "dam: a: the chances do not add up to 1"),
            (one(r#""sire":{},"dam":{"a":{}}"#), "dam: a: the chances do not add up to 1"),
            (one(r#""sire":{},"dam":{"a":{"+/a":"3/2","+/+":"-1/2"}}"#), "a chance lies within 0 and 1"),
            (one(r#""sire":{},"dam":{"a":{"+/a":"half"}}"#), "dam: a: +/a: \"half\" is not a number"),
            (one(r#""sire":{},"dam":{},"sex":"XX""#), "sex: "),
            (one(r#""sire":{},"dam":{},"sex":{"male":2}"#), "sex: male: a chance"),
            (one(r#""sire":{},"dam":{},"want":{"b":[]}"#), "want: there is no locus"),
            (one(r#""sire":{},"dam":{},"want":{"a":["a|-"]}"#), "want: a: \"a|-\""),
            (one(r#""sire":{},"dam":{},"want":{"a":"a/a"}"#), "want: a: a JSON array"),
            (one(r#""sire":{},"dam":{},"clutch":{}"#), "clutch: one of"),
            (one(r#""sire":{},"dam":{},"clutch":{"eggs":1,"mean":1}"#), "clutch: one of"),
            (one(r#""sire":{},"dam":{},"clutch":{"eggs":1.5}"#), "clutch: eggs: a whole number"),
            (one(r#""sire":{},"dam":{},"clutch":{"eggs":-1}"#), "clutch: eggs: a whole number"),
            (one(r#""sire":{},"dam":{},"clutch":{"eggs":1,"take":"11/10"}"#), "clutch: take: a chance"),
            (one(r#""sire":{},"dam":{},"clutch":{"mean":-1}"#), "clutch: mean: a mean"),
            (one(r#""sire":{},"dam":{},"levels":[2]"#), "levels: a chance"),
            (one(r#""sire":{},"dam":{},"top":"x""#), "top: \"x\" is not a number"),
        ]);
    }

    #[test]
    fn loci_that_make_no_sense_are_named() {
        check_refused([
            (of_loci(&format!("{LOCUS},{LOCUS}")), "loci: two of the id \"a\""),
            (of_loci("3"), "loci: number 1: a JSON object"),
            (of_loci(r#"{"alleles":[]}"#), "loci: number 1: \"id\" is missing"),
            (of_loci(r#"{"id":"a","dominance":"recessive"}"#), "loci: a: \"alleles\" is missing"),
            (of_loci(r#"{"id":"a","alleles":[],"dominance":"recessive"}"#), "loci: a: 1 to 255 alleles"),
            (of_loci(r#"{"id":"a","alleles":["+","+"],"dominance":"recessive"}"#), "loci: a: two alleles \"+\""),
            (of_loci(r#"{"id":"a","alleles":["+","-"],"dominance":"recessive"}"#), "loci: a: \"-\" cannot name"),
            (of_loci(r#"{"id":"a","alleles":["+"],"dominance":"odd"}"#), "loci: a: dominance: "),
            (of_loci(r#"{"id":"a","alleles":["+"],"dominance":"series","lethal":["+|+"]}"#), "loci: a: no animal"),
        ]);
    }

    #[test]
    fn sides_that_make_no_sense_are_named() {
        let linked = r#"{"id":"a","alleles":["+","a"],"dominance":"recessive","sex_link":"1/20"}"#;
        check_refused([
            (of_loci(linked), "loci: a: a sex link takes"),
            (
                cross(&format!(
                    r#""sex":"XY","loci":[{linked},{}],"sire":{{}},"dam":{{}}"#,
                    linked.replace("\"a\"", "\"b\"")
                )),
                "loci: b: a second sex-linked locus",
            ),
            (
                cross(&format!(r#""sex":"XY","loci":[{linked}],"sire":{{"a":"+/a"}},"dam":{{}}"#)),
                "sire: a: \"+/a\": a genotype is written \"x|y\" here",
            ),
            (
                cross(&format!(r#""sex":"XY","loci":[{linked}],"sire":{{"a":"a|-"}},"dam":{{}}"#)),
                "sire: a: \"a|-\": a genotype has an allele on both sides",
            ),
            (
                cross(&format!(
                    r#""sex":"XY","loci":[{}],"sire":{{"a":"a|+"}},"dam":{{}}"#,
                    linked.replace("1/20", "x")
                )),
                "sire: a: \"a|+\": a genotype has no allele on the Y",
            ),
            (
                cross(&format!(r#""sex":"XY","loci":[{}],"sire":{{}},"dam":{{}}"#, linked.replace("1/20", "3/5"))),
                "loci: a: sex_link: a recombination lies within 0 and 1/2",
            ),
        ]);
    }

    #[test]
    fn every_line_gets_a_line() {
        let mut output = Vec::new();
        answer_all(b"\n\xff\n{\"kind\":\"cross\",\"id\":[1]}\r\n{}".as_slice(), &mut output).unwrap();
        let output = String::from_utf8(output).unwrap();
        let ids: Vec<Value> = output.lines().map(|line| value(line)["id"].clone()).collect();
        assert_eq!(ids, [value("null"), value("null"), value("[1]"), value("null")]);
        assert!(output.lines().all(|line| value(line)["error"].is_string()));
    }
}
