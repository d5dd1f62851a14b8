//! The engine's JSON lines under damage: every line in gives one line of JSON out.

use hatchward::lines::engine::answer;
use proptest::prelude::*;
use serde_json::Value;

const REQUEST: &str = r#"{"id":"x","kind":"cross","sex":"XY","loci":[{"id":"a","alleles":["+","a"],"dominance":"recessive","lethal":["a/a"]},{"id":"n","alleles":["+","n"],"dominance":"incomplete","sex_link":"3/20"}],"sire":{"a":{"+/a":"2/5","+/+":"3/5"},"n":"+|n"},"dam":{"a":"+/a"},"want":{"n":["+/n"]},"clutch":{"eggs":3,"hatch":"4/5","take":0.9},"levels":["1/5","3/10"],"top":3}"#;

fn check(line: &str) {
    let answered = answer(line);
    assert!(!answered.contains('\n'), "{answered}");
    let answered: Value = serde_json::from_str(&answered).unwrap();
    assert!(answered["lost"].is_string() != answered["error"].is_string(), "{answered}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn a_damaged_line_is_answered(
        changes in prop::collection::vec((0..REQUEST.len(), prop::sample::select(b"0123456789/|-+.eax,:\"{}[] ".to_vec())), 0..4),
        cut in prop::option::weighted(0.1, 0..REQUEST.len()),
    ) {
        let mut bytes = REQUEST.as_bytes().to_vec();
        for (at, byte) in changes {
            bytes[at] = byte;
        }
        bytes.truncate(cut.unwrap_or(bytes.len()));
        check(&String::from_utf8(bytes).unwrap());
    }

    #[test]
    fn any_text_is_answered(line in "\\PC{0,80}") {
        check(&line);
    }
}

#[test]
fn an_unharmed_line_is_answered_in_full() {
    let answered: Value = serde_json::from_str(&answer(REQUEST)).unwrap();
    assert_eq!(answered["error"], Value::Null);
    assert_eq!(answered["lost"], "1/10");
}
