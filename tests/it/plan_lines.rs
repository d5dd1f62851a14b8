//! Plans in JSON lines: whole answers, and requests that make no sense.

use hatchward::lines::engine::answer;
use serde_json::Value;

fn value(line: &str) -> Value {
    serde_json::from_str(line).unwrap()
}

/// The answer holds everything expected; it may hold more.
#[track_caller]
fn check(request: &str, expected: &str) {
    let (answered, expected) = (value(&answer(request)), value(expected));
    assert!(holds(&answered, &expected), "{answered}\n instead of\n{expected}");
}

fn holds(answered: &Value, expected: &Value) -> bool {
    match (answered, expected) {
        (Value::Object(a), Value::Object(e)) => e.iter().all(|(k, v)| a.get(k).is_some_and(|a| holds(a, v))),
        (Value::Array(a), Value::Array(e)) => a.len() == e.len() && a.iter().zip(e).all(|(a, e)| holds(a, e)),
        _ => answered == expected,
    }
}

const BOUGHT_OR_BRED: &str = r#"{"id":"r1","kind":"route","loci":[{"id":"a","alleles":["+","a"],"dominance":"recessive"}],"tell":"genotype","animals":[{"id":"M","sex":"male","genotype":{"a":"a/a"}},{"id":"F","sex":"female","ready":1}],"goal":{"a":["a/a"]},"goal_sex":"female","maturity":{"female":2,"male":1},"clutch":{"eggs":3},"confidence":"4/5","buy":[{"id":"B","sex":"female","genotype":{"a":"+/a"},"price":250}]}"#;

#[test]
fn a_route_bred_and_a_route_bought() {
    check(
        BOUGHT_OR_BRED,
        r#"{"id":"r1","generations":1,"pareto":[{"price":"0","seasons":5,"buy":[],"steps":[{"sire":{"a":"a/a"},"dam":{"a":"+/+"},"season":1,"seasons":1,"keep":{"sex":"female","genotype":{"a":"+/a"}}},{"sire":{"a":"a/a"},"dam":{"a":"+/a"},"season":3,"seasons":2,"keep":"goal"}]},{"price":"250","seasons":2,"buy":["B"],"steps":[{"sire":{"a":"a/a"},"dam":{"a":"+/a"},"season":0,"seasons":2,"keep":"goal"}]}]}"#,
    );
}

#[test]
fn a_route_by_looks() {
    check(
        r#"{"id":"r2","kind":"route","loci":[{"id":"a","alleles":["+","a"],"dominance":"recessive"},{"id":"p","alleles":["+","p"],"dominance":"incomplete"}],"tell":"look","animals":[{"id":"M","sex":"male","genotype":{"a":"a/a","p":"+/p"}},{"id":"F","sex":"female"}],"goal":{"a":["a/a"],"p":["p/p"]},"maturity":{"female":2,"male":2},"clutch":{"eggs":10,"hatch":"4/5"},"clutches":2,"confidence":"4/5"}"#,
        r#"{"id":"r2","generations":2,"pareto":[{"price":"0","seasons":3,"buy":[],"steps":[{"sire":{"a":"a/a","p":"+/p"},"dam":{"a":"+/+","p":"+/+"},"season":0,"seasons":1,"keep":{"sex":"female","genotype":{"a":"+/a","p":"+/p"}}},{"sire":{"a":"a/a","p":"+/p"},"dam":{"a":"+/a","p":"+/p"},"season":2,"seasons":1,"keep":"goal"}]}]}"#,
    );
}

const FIXED: &str = r#"{"id":"j2","kind":"project","loci":[{"id":"a","alleles":["+","a"],"dominance":"recessive"}],"animals":[{"id":"M","sex":"male","ready":0,"genotype":{"a":"a/a"}},{"id":"F","sex":"female","ready":0,"genotype":{"a":"+/+"}}],"plan":[{"sire":"M","dam":"F","keep":[{"as":"d","sex":"female","count":1,"genotype":{"a":"+/a"}}]},{"sire":"M","dam":"d"}],"goal":{"a":["a/a"]},"seasons":5,"maturity":{"female":2,"male":1},"clutch":{"eggs":2},"females_per_male":5}"#;

#[test]
fn a_fixed_plan() {
    // A daughter among two young 3/4, two seasons to grow, then a visual among two young 3/4.
    check(FIXED, r#"{"id":"j2","by_season":[0.0,0.0,0.5625,0.84375,0.94921875],"exact":true}"#);
}

const PAIRING: &str = r#"{"id":"j1","kind":"project","loci":[{"id":"a","alleles":["+","a"],"dominance":"recessive"}],"tell":"genotype","animals":[{"id":"M","sex":"male","ready":0,"genotype":{"a":"+/a"}},{"id":"F","sex":"female","ready":0,"genotype":{"a":"+/a"}},{"id":"G","sex":"female","ready":1,"genotype":{"a":"+/+"}}],"goal":{"a":["a/a"]},"seasons":2,"maturity":{"female":2,"male":1},"clutch":{"eggs":1},"space":3,"females_per_male":2,"objective":"chance","forecast":true}"#;
const HOLDING: &str = r#"{"id":"j1b","kind":"project","loci":[{"id":"a","alleles":["+","a"],"dominance":"recessive"}],"tell":"genotype","animals":[{"id":"M","sex":"male","ready":0,"genotype":{"a":"+/a"}},{"id":"F","sex":"female","ready":0,"genotype":{"a":"+/a"}},{"id":"G","sex":"female","ready":0,"genotype":{"a":"+/+"}}],"young":[{"id":"y1","sex":"female","ready":1,"genotype":{"a":"+/a"}}],"goal":{"a":["a/a"]},"seasons":1,"maturity":{"female":2,"male":1},"clutch":{"eggs":1},"space":3,"females_per_male":2,"objective":"chance"}"#;

#[test]
fn a_season_and_whom_to_hold() {
    check(PAIRING, r#"{"id":"j1","buy":[],"pair":[["M","F"]],"by_season":[0.25,0.4375]}"#);
    // The daughter would be ready too late.
    check(HOLDING, r#"{"id":"j1b","keep":["M","F","G"]}"#);
}
