//! Bodies against the platform's own published description: the whole of it where it lies beside the repository or
//! `HATCHWARD_PLATFORM_SCHEMA` names the file, else an excerpt with the bodies that the program sends.
//!
//! The description declares three leniencies, which are kept here: unions mean "one of these", ids may be numbers, numbers
//! may be strings of digits.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use serde_json::Value;

fn described() -> &'static Value {
    static DESCRIBED: OnceLock<Value> = OnceLock::new();
    DESCRIBED.get_or_init(|| {
        let mut excerpt: Value =
            serde_json::from_str(include_str!("../../fixtures/discord_bodies.json")).expect("the excerpt is JSON");
        if let Some(whole) = whole() {
            excerpt["schemas"] = whole["components"]["schemas"].clone();
        }
        excerpt
    })
}

/// The whole description, where it is at hand.
fn whole() -> Option<Value> {
    let named = std::env::var_os("HATCHWARD_PLATFORM_SCHEMA").map(PathBuf::from);
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/discord/openapi.json");
    let path = named.or_else(|| beside.exists().then_some(beside))?;
    let text = std::fs::read_to_string(path).expect("the description can be read");
    Some(serde_json::from_str(&text).expect("the description is JSON"))
}

/// What the description refuses in a body of this kind.
pub(crate) fn check(name: &str, body: &Value) -> Vec<String> {
    let described = described();
    let mut wrong = Vec::new();
    assert!(!described["bodies"][name].is_null(), "there is no body called {name:?}");
    judge(described, &described["bodies"][name], body, name, &mut wrong);
    wrong
}

fn judge(described: &Value, schema: &Value, body: &Value, at: &str, wrong: &mut Vec<String>) {
    if let Some(name) = schema["$ref"].as_str() {
        let name = name.rsplit('/').next().expect("a name");
        judge(described, &described["schemas"][name], body, at, wrong);
        return;
    }
    if !fits_type(&schema["type"], body) {
        wrong.push(format!("{at}: {body} is no {}", schema["type"]));
        return;
    }
    if body.is_null() && !schema["type"].is_null() {
        return;
    }
    if !schema["const"].is_null() && !alike(&schema["const"], body) {
        wrong.push(format!("{at}: {body} is not {}", schema["const"]));
    }
    if let Some(known) = schema["enum"].as_array()
        && !known.iter().any(|k| alike(k, body))
    {
        wrong.push(format!("{at}: {body} is none of {known:?}"));
    }
    bounds(schema, body, at, wrong);
    for part in schema["allOf"].as_array().into_iter().flatten() {
        judge(described, part, body, at, wrong);
    }
    for union in ["anyOf", "oneOf"] {
        let Some(parts) = schema[union].as_array() else { continue };
        let mut best: Option<Vec<String>> = None;
        for part in parts {
            let mut found = Vec::new();
            judge(described, part, body, at, &mut found);
            if best.as_ref().is_none_or(|b| found.len() < b.len()) {
                best = Some(found);
            }
        }
        wrong.extend(best.unwrap_or_default());
    }
    if let Some(object) = body.as_object() {
        for needed in schema["required"].as_array().into_iter().flatten() {
            if !object.contains_key(needed.as_str().expect("a name")) {
                wrong.push(format!("{at}: {needed} is missing"));
            }
        }
        for (name, value) in object {
            let known = &schema["properties"][name];
            let at = format!("{at}.{name}");
            if !known.is_null() {
                judge(described, known, value, &at, wrong);
            } else if schema["additionalProperties"] == false {
                wrong.push(format!("{at}: is not known"));
            } else if schema["additionalProperties"].is_object() {
                judge(described, &schema["additionalProperties"], value, &at, wrong);
            }
        }
    }
    if let Some(items) = body.as_array() {
        for (n, item) in items.iter().enumerate() {
            judge(described, &schema["items"], item, &format!("{at}.{n}"), wrong);
        }
        let twice = items.iter().enumerate().any(|(n, item)| items[..n].contains(item));
        if schema["uniqueItems"] == true && twice {
            wrong.push(format!("{at}: an entry is there twice"));
        }
    }
}

fn bounds(schema: &Value, body: &Value, at: &str, wrong: &mut Vec<String>) {
    let bound = |name: &str| schema[name].as_u64();
    if let Some(text) = body.as_str() {
        let n = text.chars().count() as u64;
        if bound("maxLength").is_some_and(|most| n > most) || bound("minLength").is_some_and(|least| n < least) {
            wrong.push(format!("{at}: {n} characters"));
        }
        if schema["pattern"].as_str().is_some_and(|p| regex::Regex::new(p).is_ok_and(|p| !p.is_match(text))) {
            wrong.push(format!("{at}: {text:?} does not match {}", schema["pattern"]));
        }
    }
    if let Some(items) = body.as_array() {
        let n = items.len() as u64;
        if bound("maxItems").is_some_and(|most| n > most) || bound("minItems").is_some_and(|least| n < least) {
            wrong.push(format!("{at}: {n} entries"));
        }
    }
    if let Some(n) = body.as_f64() {
        let limit = |name: &str| schema[name].as_f64();
        if limit("maximum").is_some_and(|most| n > most) || limit("minimum").is_some_and(|least| n < least) {
            wrong.push(format!("{at}: {n} is out of range"));
        }
    }
}

fn fits_type(wanted: &Value, body: &Value) -> bool {
    let one = |name: &str| match name {
        "null" => body.is_null(),
        "boolean" => body.is_boolean(),
        // Ids may be numbers.
        "string" => body.is_string() || body.is_u64(),
        "integer" => body.is_i64() || body.is_u64() || digits(body),
        "number" => body.is_number() || digits(body),
        "array" => body.is_array(),
        "object" => body.is_object(),
        _ => true,
    };
    match wanted {
        Value::String(name) => one(name),
        Value::Array(names) => names.iter().filter_map(Value::as_str).any(one),
        _ => true,
    }
}

fn digits(body: &Value) -> bool {
    body.as_str().is_some_and(|t| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit()))
}

fn alike(known: &Value, body: &Value) -> bool {
    known == body || known.to_string().trim_matches('"') == body.to_string().trim_matches('"')
}

#[test]
fn the_description_is_not_blind() {
    use serde_json::json;
    let fine = json!({"content": "odds", "embeds": [], "allowed_mentions": {"parse": []}, "nonce": "1", "enforce_nonce": true});
    assert_eq!(check("message_create", &fine), Vec::<String>::new());
    for (wrong, why) in [
        (json!({"embeds": [{"title": "x".repeat(257)}]}), "a title of 257"),
        (
            json!({"components": [{"type": 1, "components": [{"type": 3, "custom_id": "x", "options": [{"label": "x"}]}]}]}),
            "an option without a value",
        ),
        (json!({"content": 7.5}), "no text"),
        (json!({"allowed_mentions": {"parse": ["anybody"]}}), "an unknown kind of mention"),
    ] {
        assert!(!check("message_create", &wrong).is_empty(), "{why} passed: {wrong}");
    }
    assert!(!check("callback", &json!({"type": 5, "data": {"flags": "x"}})).is_empty());
}

#[test]
fn the_excerpt_is_true_to_the_whole() {
    let Some(whole) = whole() else { return };
    let excerpt: Value =
        serde_json::from_str(include_str!("../../fixtures/discord_bodies.json")).expect("the excerpt is JSON");
    for (name, schema) in excerpt["schemas"].as_object().expect("schemas") {
        assert!(judged_alike(schema, &whole["components"]["schemas"][name]), "{name} is another in the whole");
    }
}

/// Whether everything that the excerpt says stands in the whole: the excerpt leaves out what nobody is judged by.
fn judged_alike(excerpt: &Value, whole: &Value) -> bool {
    match (excerpt, whole) {
        (Value::Object(part), Value::Object(all)) => {
            part.iter().all(|(key, value)| all.get(key).is_some_and(|known| judged_alike(value, known)))
        }
        (Value::Array(part), Value::Array(all)) => {
            part.iter().all(|value| all.iter().any(|known| judged_alike(value, known)))
        }
        (part, all) => part == all,
    }
}
