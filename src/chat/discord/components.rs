//! What stands under an answer: the next useful steps, readings to choose from, pages. Only drawn here; `presses` acts.

use serde_json::{Value, json};

use super::kept::turns::Source;
use super::limits;
use super::press::{Press, Verb};
use super::turns::Turn;
use crate::reply::Kind;

/// Looks of a button, as the platform numbers them.
mod style {
    pub(super) const FIRST: u64 = 1;
    pub(super) const PLAIN: u64 = 2;
    pub(super) const DANGER: u64 = 4;
}

fn button(press: Press, label: &str, style: u64, on: bool) -> Value {
    json!({
        "type": 2, "style": style, "label": limits::clip(label, limits::BUTTON_LABEL), "custom_id": press.to_string(),
        "disabled": !on,
    })
}

fn row(parts: Vec<Value>) -> Value {
    Value::Object([("type".to_owned(), 1.into()), ("components".to_owned(), parts.into())].into_iter().collect())
}

/// A select of words. The first [`limits::OPTIONS`] fit; the rest can be typed.
#[must_use]
pub fn select(press: Press, placeholder: &str, options: &[(String, String)], chosen: Option<&str>) -> Value {
    let options: Vec<Value> = options
        .iter()
        .take(limits::OPTIONS)
        .map(|(label, value)| {
            json!({"label": limits::clip(label, limits::OPTION_TEXT), "value": value, "default": chosen == Some(value)})
        })
        .collect();
    row(vec![json!({
        "type": 3, "custom_id": press.to_string(), "options": options,
        "placeholder": limits::clip(placeholder, limits::PLACEHOLDER), "min_values": 1, "max_values": 1,
    })])
}

/// A select of the server's channels for writing.
#[must_use]
pub fn channels(press: Press, placeholder: &str, chosen: &[u64]) -> Value {
    let chosen: Vec<Value> =
        chosen.iter().take(limits::OPTIONS).map(|id| json!({"id": id.to_string(), "type": "channel"})).collect();
    row(vec![json!({
        "type": 8, "custom_id": press.to_string(), "placeholder": limits::clip(placeholder, limits::PLACEHOLDER),
        "channel_types": [0, 5], "min_values": 0, "max_values": limits::OPTIONS, "default_values": chosen,
    })])
}

/// Buttons in a row: what it asks for, its label.
#[must_use]
pub fn buttons(parts: &[(Press, &str)]) -> Value {
    let drawn = parts.iter().map(|(press, label)| {
        let look = if matches!(press.verb, Verb::Reset | Verb::Forget) { style::DANGER } else { style::PLAIN };
        button(*press, label, look, true)
    });
    row(drawn.collect())
}

/// First, previous, next, last, for page `n` of `of`; `verb` turns them, of the answer `source`.
#[must_use]
pub fn pages(verb: Verb, source: Source, n: usize, of: usize) -> Value {
    let at = |to: usize, place: u32| Press {
        verb,
        source,
        // Two buttons can lead to one page, and no id may stand twice: the place is kept in the upper bits.
        n: place << 16 | u32::try_from(to.min(of - 1)).unwrap_or(0) & 0xffff,
    };
    let turned = [
        (at(0, 0), "First", n > 0),
        (at(n.saturating_sub(1), 1), "Previous", n > 0),
        (at(n + 1, 2), "Next", n + 1 < of),
        (at(of - 1, 3), "Last", n + 1 < of),
    ];
    row(turned.map(|(press, label, on)| button(press, label, style::PLAIN, on)).to_vec())
}

/// The page that a press of [`pages`] leads to.
#[must_use]
pub fn page(press: Press) -> usize {
    (press.n & 0xffff) as usize
}

/// Everything under an answer.
#[must_use]
pub fn under(turn: &Turn, source: Source, page: usize, of: usize, private: bool) -> Vec<Value> {
    let mut rows = Vec::new();
    if let ([(word, _)], Some(Kind::Question)) = (&turn.thread.choices[..], turn.reply.as_ref().map(|r| r.kind))
        && !turn.thread.asked.is_empty()
    {
        // What was shown is done by a word; pressing says it.
        rows.push(buttons(&[(Press::under(Verb::Pick, source), &format!("Yes: {word}"))]));
    } else if !turn.thread.choices.is_empty() {
        let options: Vec<(String, String)> =
            turn.thread.choices.iter().enumerate().map(|(n, (label, _))| (label.clone(), n.to_string())).collect();
        rows.push(select(Press::under(Verb::Pick, source), "Which one is it?", &options, None));
    }
    if turn.odds {
        rows.push(row(vec![
            button(Press::under(Verb::Eggs, source), "Clutch size", style::FIRST, true),
            button(Press::under(Verb::Swap, source), "Swap the sexes", style::PLAIN, true),
            button(Press::under(Verb::All, source), "All kinds", style::PLAIN, true),
            button(Press::under(Verb::How, source), "How was this worked out?", style::PLAIN, true),
            button(Press::under(Verb::Save, source), "Save this pairing", style::PLAIN, true),
        ]));
        let mut second = vec![button(Press::under(Verb::Draw, source), "Draw it", style::PLAIN, true)];
        if private {
            second.push(button(Press::under(Verb::Share, source), "Share here", style::PLAIN, true));
        }
        rows.push(row(second));
    }
    if turn.publishable {
        rows.push(buttons(&[(Press::under(Verb::Publicise, source), "Show to everybody here")]));
    }
    if turn.season && private {
        rows.push(row(vec![button(Press::under(Verb::Share, source), "Share here", style::PLAIN, true)]));
    }
    if turn.erase {
        rows.push(buttons(&[(Press::under(Verb::Forget, 0), "Erase everything")]));
    }
    if let Some(offer) = turn.reply.as_ref().and_then(|r| r.offer.as_ref()) {
        let press = Press { verb: Verb::Remind, source: offer.about, n: offer.days_before };
        rows.push(row(vec![button(press, &offer.label, style::FIRST, true)]));
    }
    if let Some(animal) = turn.animal {
        rows.push(of_animal(animal.bits(), private));
    }
    if of > 1 && !turn.thread.last.is_empty() {
        rows.push(pages(Verb::Page, source, page, of));
    }
    rows
}

/// What can be done with one of the asker's animals. `hidden` says that only they see it, so that it can be shown.
fn of_animal(id: u64, hidden: bool) -> Value {
    let about = |verb| Press { verb, source: id, n: 0 };
    let mut parts = vec![
        (about(Verb::Correct), "Correct"),
        (about(Verb::Weigh), "Weigh"),
        (Press::under(Verb::Herd, 0), "All my animals"),
    ];
    if hidden {
        parts.push((about(Verb::Show), "Share here"));
    }
    buttons(&parts)
}

/// A form with one input for words.
#[must_use]
pub fn words_form(press: Press, title: &str, label: &str, placeholder: &str, long: bool) -> Value {
    json!({
        "title": limits::clip(title, limits::FORM_TITLE), "custom_id": press.to_string(),
        "components": [{"type": 1, "components": [{
            "type": 4, "custom_id": "words", "style": if long { 2 } else { 1 },
            "label": limits::clip(label, limits::FORM_TITLE),
            "placeholder": limits::clip(placeholder, limits::INPUT_PLACEHOLDER),
            "min_length": 1, "max_length": if long { 2000 } else { 200 }, "required": true,
        }]}],
    })
}

/// One input of a form.
#[derive(Debug, Clone, Copy)]
pub struct Input<'a> {
    /// Its id in the form.
    pub id: &'a str,
    /// What is to be typed.
    pub label: &'a str,
    /// An example, shown while it is empty.
    pub hint: &'a str,
    /// Characters at most.
    pub most: usize,
    /// What stands in it.
    pub value: &'a str,
    /// Several lines.
    pub long: bool,
}

/// A form with several inputs. All may be left empty: what is wrong with that is said with the draft given back.
#[must_use]
pub fn editor_form(press: Press, title: &str, inputs: &[Input<'_>]) -> Value {
    let rows = inputs.iter().map(|input| {
        let mut drawn = json!({
            "type": 4, "custom_id": input.id, "style": if input.long { 2 } else { 1 },
            "label": limits::clip(input.label, limits::FORM_TITLE),
            "placeholder": limits::clip(input.hint, limits::INPUT_PLACEHOLDER),
            "max_length": input.most.min(limits::INPUT_VALUE), "required": false,
        });
        if !input.value.is_empty() {
            drawn["value"] = limits::clip(input.value, input.most.min(limits::INPUT_VALUE)).into();
        }
        json!({"type": 1, "components": [drawn]})
    });
    json!({
        "title": limits::clip(title, limits::FORM_TITLE), "custom_id": press.to_string(),
        "components": rows.collect::<Vec<_>>(),
    })
}

/// The form that asks for a clutch size.
#[must_use]
pub fn eggs_form(source: Source) -> Value {
    json!({
        "title": "Clutch size", "custom_id": Press::under(Verb::Eggs, source).to_string(),
        "components": [{"type": 1, "components": [{
            "type": 4, "custom_id": "eggs", "style": 1, "label": "Eggs in the clutch, 1 to 60", "placeholder": "7",
            "min_length": 1, "max_length": 20, "required": true,
        }]}],
    })
}

/// The form in which erasing is confirmed by typing the word.
#[must_use]
pub fn forget_form(word: &str) -> Value {
    json!({
        "title": "Erase everything of yours", "custom_id": Press::under(Verb::Forget, 0).to_string(),
        "components": [{"type": 1, "components": [{
            "type": 4, "custom_id": "word", "style": 1, "label": limits::clip(&format!("Type \"{word}\" to erase"), limits::FORM_TITLE),
            "min_length": 1, "max_length": 20, "required": true,
        }]}],
    })
}
