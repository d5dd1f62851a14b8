//! Evidence and relationship in JSON lines: what the format says at its corners, and every damage answered.

use hatchward::lines::engine::answer;
use proptest::prelude::*;
use serde_json::{Value, json};

const POSTERIOR: &str = r#"{"id":"x","kind":"posterior","sex":"XY","loci":[{"id":"a","alleles":["+","a","b"],"dominance":"recessive","lethal":["b/b"]},{"id":"n","alleles":["+","n"],"dominance":"incomplete","sex_link":"3/20"}],"frequency":{"a":{"a":"1/20","b":0.1}},"animals":[{"id":"S","genotype":{"a":{"+/a":"3/5","+/+":"2/5"},"n":"+|n"}},{"id":"T","sex":"male"},{"id":"D","look":{"a":"a","n":"+"}},{"id":"k","sire":{"S":"9/10","T":"1/10"},"dam":"D","look":{"a":"+"}},{"id":"m","sire":"S","dam":"k"}],"clutches":[{"sire":{"S":"1/2","T":"1/2"},"dam":"D","young":[{"look":{"a":"+","n":"+/n"},"sex":"male","count":3},{"look":{"n":"+"}}]}]}"#;
const KINSHIP: &str = r#"{"id":"x","kind":"kinship","animals":[{"id":"K","sire":"H","dam":"D"},{"id":"A"},{"id":"B"},{"id":"C","sire":"A","dam":"B"},{"id":"D","sire":"A"},{"id":"G","sire":"C","dam":"D"},{"id":"H","sire":"A","dam":"G"}],"pairs":[["K","H"],["G","G"]]}"#;

fn ask(line: &str) -> Value {
    let answered = answer(line);
    assert!(!answered.contains('\n'), "{answered}");
    serde_json::from_str(&answered).unwrap()
}

fn check(line: &str) {
    let answered = ask(line);
    let kinds = ["posterior", "impossible", "inbreeding", "lost", "error", "pareto", "by_season", "keep", "pair"];
    assert!(kinds.iter().any(|kind| !answered[kind].is_null()), "{answered}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn a_damaged_line_is_answered(
        request in prop::sample::select(vec![POSTERIOR, KINSHIP]),
        changes in prop::collection::vec((any::<prop::sample::Index>(), prop::sample::select(b"0123456789/|-+.eabnSTDkm,:\"{}[] ".to_vec())), 0..4),
        cut in prop::option::weighted(0.1, any::<prop::sample::Index>()),
    ) {
        let mut bytes = request.as_bytes().to_vec();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        bytes.truncate(cut.map_or(bytes.len(), |cut| cut.index(bytes.len())));
        check(&String::from_utf8(bytes).unwrap());
    }
}

/// A posterior of one recessive locus "a".
fn posterior(fields: &str) -> Value {
    let locus = r#"{"id":"a","alleles":["+","a"],"dominance":"recessive"}"#;
    ask(&format!(r#"{{"id":1,"kind":"posterior","loci":[{locus}],{fields}}}"#))
}

#[test]
fn unharmed_lines_are_answered_in_full() {
    let answered = ask(POSTERIOR);
    assert_eq!(answered["error"], Value::Null);
    assert_eq!(answered["posterior"].as_object().unwrap().len(), 5);
    assert_eq!(answered["posterior"]["D"]["a"], json!({"a/a": "1"}));
    assert_eq!(ask(KINSHIP)["kinship"], json!(["29/64", "9/16"]));
}

#[test]
fn one_parent_only_is_paired_with_a_new_unknown_founder_each_time() {
    // Two visuals of one sure carrier: each had a dam of its own, so the dams say nothing of one another.
    let answered = posterior(
        r#""frequency":{"a":{"a":"1/2"}},"animals":[{"id":"S","genotype":{"a":{"+/a":"1/2","+/+":"1/2"}}},{"id":"k","sire":"S","look":{"a":"+"}},{"id":"l","sire":"S","look":{"a":"+"}}]"#,
    );
    // A carrier has a normal young of an unknown dam with 3/4: (3/4)^2 against 1.
    assert_eq!(answered["posterior"]["S"]["a"], json!({"+/+": "16/25", "+/a": "9/25"}));
}

#[test]
fn a_clutch_has_one_unknown_founder() {
    let answered = posterior(
        r#""frequency":{"a":{"a":"1/2"}},"animals":[{"id":"S","genotype":{"a":{"+/a":"1/2","+/+":"1/2"}}}],"clutches":[{"sire":"S","young":[{"look":{"a":"+"},"count":2}]}]"#,
    );
    // Clear, het and visual dams leave (1, 3/4, 1/2)^2 with 1/4, 1/2, 1/4: 19/32 against 1.
    assert_eq!(answered["posterior"]["S"]["a"], json!({"+/+": "32/51", "+/a": "19/51"}));
}

#[test]
fn loci_that_a_founder_does_not_list_are_of_the_population() {
    let answered = posterior(r#""frequency":{"a":{"a":"1/4"}},"animals":[{"id":"S"},{"id":"T","genotype":{}}]"#);
    let population = json!({"+/+": "9/16", "+/a": "3/8", "a/a": "1/16"});
    assert_eq!(answered["posterior"], json!({"S": {"a": population}, "T": {"a": population}}));
    assert_eq!(posterior(r#""animals":[{"id":"S"}]"#)["posterior"]["S"]["a"], json!({"+/+": "1"}));
    // The wild allele may be listed too.
    let answered = posterior(r#""frequency":{"a":{"a":"1/4","+":"3/4"}},"animals":[{"id":"S"}]"#);
    assert_eq!(answered["posterior"]["S"]["a"], population);
}

#[test]
fn contradictory_evidence_is_impossible() {
    let answered = posterior(
        r#""animals":[{"id":"S","genotype":{"a":"+/a"}},{"id":"D"},{"id":"k","sire":"S","dam":"D","look":{"a":"a"}}]"#,
    );
    assert_eq!((&answered["impossible"], &answered["id"]), (&json!(true), &json!(1)));
    assert_eq!(posterior(r#""animals":[{"id":"S","look":{"a":"a"}}]"#)["impossible"], json!(true));
}

#[test]
fn young_that_count_nothing_say_nothing() {
    let answered = posterior(
        r#""animals":[{"id":"S"},{"id":"D"}],"clutches":[{"sire":"S","dam":"D","young":[{"look":{"a":"a"},"count":0}]},{"sire":"S","dam":"D"},{"young":[{}]}]"#,
    );
    assert_eq!(answered["posterior"]["S"]["a"], json!({"+/+": "1"}));
}

#[test]
fn the_sex_of_an_animal_shows_in_its_genotype() {
    let linked = |sex: &str, fields: &str| {
        let locus = r#"{"id":"n","alleles":["+","n"],"dominance":"incomplete","sex_link":"1/10"}"#;
        ask(&format!(r#"{{"id":1,"kind":"posterior","sex":"{sex}","loci":[{locus}],{fields}}}"#))
    };
    // Nothing known of the sex: half and half. A stated genotype can tell it, and so can being a dam.
    let unknown = linked("XY", r#""frequency":{"n":{"n":"1/2"}},"animals":[{"id":"S"}]"#);
    let expected =
        json!({"+/+": "1/8", "+/n": "1/4", "n/n": "1/8", "+|+": "1/8", "+|n": "1/8", "n|+": "1/8", "n|n": "1/8"});
    assert_eq!(unknown["posterior"]["S"]["n"], expected);
    let told = linked("XY", r#""animals":[{"id":"S","genotype":{"n":{"+|n":"1/3","n/n":"2/3"}}}]"#);
    assert_eq!(told["posterior"]["S"]["n"], json!({"n/n": "2/3", "+|n": "1/3"}));
    let dam = linked("ZW", r#""animals":[{"id":"D"},{"id":"k","dam":"D","sex":"male"}]"#);
    assert_eq!(dam["posterior"]["D"]["n"], json!({"+|+": "1"}));
    assert_eq!(dam["posterior"]["k"]["n"], json!({"+/+": "1"}));
    // A sire with the allele on the Y: his sons have it with 9/10, his daughters with 1/10.
    let young = linked(
        "XY",
        r#""animals":[{"id":"S","genotype":{"n":"+|n"}},{"id":"D"},{"id":"k","sire":"S","dam":"D","look":{"n":"+/n"}}]"#,
    );
    assert_eq!(young["posterior"]["k"]["n"], json!({"+|n": "9/10", "+/n": "1/10"}));
}

#[test]
fn looks_are_written_in_any_order_and_must_exist() {
    let t = |look: &str| {
        let locus = r#"{"id":"t","alleles":["+","t","u"],"dominance":"recessive"}"#;
        let animal = format!(r#"{{"id":"S","look":{{"t":"{look}"}}}}"#);
        ask(&format!(
            r#"{{"id":1,"kind":"posterior","loci":[{locus}],"frequency":{{"t":{{"t":"1/5","u":"1/10"}}}},"animals":[{animal}]}}"#
        ))
    };
    assert_eq!(t("t/u")["posterior"]["S"]["t"], json!({"t/u": "1"}));
    assert_eq!(t("u/t")["posterior"]["S"]["t"], json!({"t/u": "1"}));
    for wrong in ["+/t", "t/t", "", "t/u/+", "v", "t|u"] {
        let error = t(wrong)["error"].as_str().unwrap_or("(answered)").to_owned();
        assert!(error.starts_with("animals: S: look: t: "), "{wrong:?} gave {error}");
    }
}

#[test]
fn what_makes_no_sense_is_named() {
    for (fields, expected) in [
        (r#""clutches":[]"#, "animals: missing"),
        (r#""animals":{}"#, "animals: a JSON array"),
        (r#""animals":[{"id":"S"},{"id":"S"}]"#, "animals: two of the id \"S\""),
        (r#""animals":[{"id":"k","sire":"S"}]"#, "animals: k: sire: there is no animal \"S\""),
        (r#""animals":[{"id":"S"},{"id":"k","sire":{"S":"1/2"}}]"#, "animals: k: sire: the chances do not add up to 1"),
        (r#""animals":[{"id":"S"},{"id":"k","sire":{}}]"#, "animals: k: sire: the chances do not add up to 1"),
        (r#""animals":[{"id":"S"},{"id":"k","sire":{"S":"3/2"}}]"#, "animals: k: sire: S: a chance lies within"),
        (r#""animals":[{"id":"S"},{"id":"k","sire":["S"]}]"#, "animals: k: sire: an animal, or an object"),
        (r#""animals":[{"id":"S"},{"id":"k","dam":{"S":1}}]"#, "animals: k: dam: a text"),
        (r#""animals":[{"id":"k","dam":"k"}]"#, "animals: k: it is among its own ancestors"),
        (
            r#""animals":[{"id":"k","sire":{"l":"1/2","S":"1/2"}},{"id":"l","sire":"k"},{"id":"S"}]"#,
            "animals: k: it is among its own ancestors, through l",
        ),
        (r#""animals":[{"id":"S","sex":"male"},{"id":"k","dam":"S"}]"#, "animals: k: dam: \"S\" cannot be, it is male"),
        (
            r#""animals":[{"id":"S"}],"clutches":[{"sire":"S"},{"dam":"S"}]"#,
            "clutches: number 2: dam: \"S\" cannot be, it is male",
        ),
        (r#""animals":[{"id":"S","genotype":{"b":"+/+"}}]"#, "animals: S: genotype: there is no locus \"b\""),
        (
            r#""animals":[{"id":"S","genotype":{"a":"b/+"}}]"#,
            "animals: S: genotype: a: \"b/+\": \"b\" is not an allele",
        ),
        (r#""animals":[{"id":"S","genotype":{"a":{"+/a":"1/2"}}}]"#, "animals: S: genotype: a: the chances do not add"),
        (
            r#""animals":[{"id":"S"},{"id":"k","sire":"S","genotype":{"a":"+/+"}}]"#,
            "animals: k: genotype: an animal with a parent has none",
        ),
        (r#""animals":[{"id":"S","look":{"b":"+"}}]"#, "animals: S: look: there is no locus \"b\""),
        (r#""animals":[{"id":"S","look":"+"}]"#, "animals: S: look: a JSON object"),
        (r#""animals":[{"id":"S","sex":"none"}]"#, "animals: S: sex: "),
        (r#""animals":[],"clutches":[{"sire":"S"}]"#, "clutches: number 1: sire: there is no animal \"S\""),
        (r#""animals":[],"clutches":[{"young":[{"count":-1}]}]"#, "clutches: number 1: young: number 1: count: "),
        (
            r#""animals":[],"clutches":[{"young":[{"count":1e9}]}]"#,
            "clutches: number 1: young: number 1: count: at most",
        ),
        (r#""animals":[],"clutches":[{"young":{}}]"#, "clutches: number 1: young: a JSON array"),
        (r#""animals":[],"frequency":{"b":{}}"#, "frequency: there is no locus \"b\""),
        (r#""animals":[],"frequency":{"a":{"b":0}}"#, "frequency: a: \"b\" is not an allele"),
        (r#""animals":[],"frequency":{"a":{"a":2}}"#, "frequency: a: a: a chance lies within"),
        (r#""animals":[],"frequency":{"a":{"a":"1/2","+":"1/3"}}"#, "frequency: a: the chances do not add up to 1"),
    ] {
        let answered = posterior(fields);
        let error = answered["error"].as_str().unwrap_or("(answered)");
        assert!(error.contains(expected), "{fields}\n gave {error}\n expected {expected}");
        assert_eq!(answered["id"], json!(1));
    }
}

/// Every kind of request that could take for ever is answered, if only by a refusal.
#[test]
fn requests_of_any_size_are_answered() {
    let many: Vec<String> = (1..=254).map(|i| format!("\"{i}\"")).collect();
    let locus = format!(r#"{{"id":"a","alleles":["+",{}],"dominance":"recessive"}}"#, many.join(","));
    let all: Vec<String> = (1..=254).map(|i| format!("\"{i}\":\"1/300\"")).collect();
    let line = format!(
        r#"{{"kind":"posterior","loci":[{locus}],"frequency":{{"a":{{{}}}}},"animals":[{{"id":"S"}}]}}"#,
        all.join(",")
    );
    assert!(ask(&line)["error"].as_str().unwrap().starts_with("animals: too many animals"));
    // Everybody with everybody, and all look normal: far too entangled to sum, so it is estimated, and says how well.
    let mut animals: Vec<String> = (0..20).map(|i| format!(r#"{{"id":"{i}"}}"#)).collect();
    for i in 20..200 {
        let (sire, dam) = ((i * 7) % 10 * 2 + (i / 20 - 1) * 20, (i * 3) % 10 * 2 + 1 + (i / 20 - 1) * 20);
        animals.push(format!(r#"{{"id":"{i}","sire":"{sire}","dam":"{dam}","look":{{"a":"+"}}}}"#));
    }
    let locus = r#"{"id":"a","alleles":["+","a","b","c"],"dominance":"recessive"}"#;
    let line = format!(
        r#"{{"kind":"posterior","loci":[{locus}],"frequency":{{"a":{{"a":"1/3","b":"1/5","c":"1/9"}}}},"animals":[{}]}}"#,
        animals.join(",")
    );
    let answered = ask(&line);
    let worst = answered["standard_error"].as_object().unwrap().values().map(|e| e["a"].as_f64().unwrap());
    assert!(worst.fold(0.0, f64::max) < 0.1, "{answered}");
}
