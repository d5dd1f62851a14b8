//! Values of records in cells, exact and for people: the field's value in its row's JSON form, and the text of it.

use serde_json::{Map, Value, json};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Holds {
    /// Text as it is.
    Text,
    /// A whole number.
    Number,
    /// "yes" or "no".
    Flag,
    /// Words with ";" between them.
    Words,
    /// "clown*2; piebald*1=2/3 inferred".
    Genes,
    /// "1.2.0 clown*2 + 0.0.1 + 0.0.3 ?": no sign that a gene or a chance has.
    Young,
    /// Its own JSON form: limits of a goal and possible fathers are for the program to read back.
    Object,
}

/// The text of a field; empty for one that is empty.
pub(super) fn text(value: &Value, holds: Holds) -> String {
    let items = |value: &Value| value.as_array().cloned().unwrap_or_default();
    match (value, holds) {
        (Value::Null, _) => String::new(),
        (Value::Bool(flag), _) => if *flag { "yes" } else { "no" }.to_owned(),
        (Value::String(text), _) => text.clone(),
        (list, Holds::Words) => {
            items(list).iter().filter_map(Value::as_str).map(escaped).collect::<Vec<_>>().join("; ")
        }
        (list, Holds::Genes) => items(list).iter().map(gene).collect::<Vec<_>>().join("; "),
        (list, Holds::Young) => items(list).iter().map(young).collect::<Vec<_>>().join(" + "),
        (other, _) => other.to_string(),
    }
}

/// A field from its text.
pub(super) fn value(text: &str, holds: Holds) -> Result<Value, String> {
    let list = |parts: Result<Vec<Value>, String>| parts.map(Value::Array);
    match holds {
        Holds::Words => list(Ok(split(text).into_iter().map(Value::String).collect())),
        Holds::Genes => list(genes_of(text)),
        Holds::Young => list(text.split('+').map(str::trim).filter(|part| !part.is_empty()).map(young_of).collect()),
        _ if text.is_empty() => Ok(Value::Null),
        Holds::Text => Ok(Value::String(text.to_owned())),
        Holds::Object => match serde_json::from_str(text) {
            Ok(object @ Value::Object(_)) => Ok(object),
            _ => Err(format!("{text:?} is not in the form in which it was written")),
        },
        Holds::Number => {
            // A spreadsheet may write a whole number with an empty fraction.
            let plain = text.trim().trim_end_matches(".0");
            plain.parse::<i64>().map(Value::from).map_err(|_| format!("{text:?} is no whole number"))
        }
        Holds::Flag => match text.trim().to_lowercase().as_str() {
            "yes" | "true" | "1" => Ok(Value::Bool(true)),
            "no" | "false" | "0" => Ok(Value::Bool(false)),
            _ => Err(format!("{text:?} is neither yes nor no")),
        },
    }
}

fn escaped(word: &str) -> String {
    word.replace('\\', "\\\\").replace(';', "\\;")
}

fn split(text: &str) -> Vec<String> {
    let mut out = vec![String::new()];
    let mut signs = text.chars();
    while let Some(sign) = signs.next() {
        match (sign, out.last_mut()) {
            (';', _) => out.push(String::new()),
            ('\\', Some(word)) => word.extend(signs.next()),
            (sign, Some(word)) => word.push(sign),
            _ => {}
        }
    }
    out.into_iter().map(|word| word.trim().to_owned()).filter(|word| !word.is_empty()).collect()
}

fn gene(belief: &Value) -> String {
    let field = |name: &str| belief.get(name).and_then(Value::as_str).unwrap_or_default();
    let copies = belief.get("copies").and_then(Value::as_u64).unwrap_or(0);
    let mut out = format!("{}*{copies}", field("gene"));
    if field("chance") != "1" {
        out = format!("{out}={}", field("chance"));
    }
    if field("basis") != "stated" {
        out = format!("{out} {}", field("basis"));
    }
    if !field("side").is_empty() {
        out = format!("{out} on {}", field("side"));
    }
    out
}

fn genes_of(text: &str) -> Result<Vec<Value>, String> {
    text.split(';').map(str::trim).filter(|part| !part.is_empty()).map(gene_of).collect()
}

fn gene_of(part: &str) -> Result<Value, String> {
    let bad = || format!("{part:?} is no gene record like \"clown*1=2/3 inferred\"");
    let mut words = part.split_whitespace();
    let (gene, rest) = words.next().and_then(|w| w.split_once('*')).ok_or_else(bad)?;
    let (copies, chance) = rest.split_once('=').unwrap_or((rest, "1"));
    let copies: u8 = copies.parse().map_err(|_| bad())?;
    if gene.is_empty() || !(1..=2).contains(&copies) {
        return Err(bad());
    }
    let mut fields = Map::new();
    fields.insert("gene".to_owned(), json!(gene));
    fields.insert("copies".to_owned(), json!(copies));
    fields.insert("chance".to_owned(), json!(chance));
    fields.insert("basis".to_owned(), json!("stated"));
    while let Some(word) = words.next() {
        match word {
            "inferred" | "proven" | "stated" => fields.insert("basis".to_owned(), json!(word)),
            "on" => fields.insert("side".to_owned(), json!(words.next().ok_or_else(bad)?)),
            _ => return Err(bad()),
        };
    }
    Ok(Value::Object(fields))
}

fn young(young: &Value) -> String {
    let n = |name: &str| young.get(name).and_then(Value::as_u64).unwrap_or(0);
    let untold = young.get("untold").and_then(Value::as_bool).unwrap_or(false);
    let genes = if untold { "?".to_owned() } else { text(young.get("genes").unwrap_or(&Value::Null), Holds::Genes) };
    format!("{}.{}.{} {genes}", n("males"), n("females"), n("unsexed")).trim_end().to_owned()
}

fn young_of(part: &str) -> Result<Value, String> {
    let bad = || format!("{part:?} is no count of young like \"1.2.0 clown*2\"");
    let (counts, genes) = part.split_once(' ').unwrap_or((part, ""));
    let counts: Vec<u8> = counts.split('.').map(str::parse).collect::<Result<_, _>>().map_err(|_| bad())?;
    let [males, females, unsexed] = counts[..] else { return Err(bad()) };
    let untold = genes.trim() == "?";
    let genes = if untold { Vec::new() } else { genes_of(genes)? };
    Ok(json!({ "males": males, "females": females, "unsexed": unsexed, "genes": genes, "untold": untold }))
}
