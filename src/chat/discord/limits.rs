//! The platform's limits: the one place that knows them. Texts are clipped here, and every body is checked here before
//! it leaves.
//!
//! In: texts and JSON bodies. Out: clipped texts; [`Breach`]es. Never: the network, a sentence to a member.
//! Invariant: a body that [`check`] passes is not refused for its size or shape. "Characters" are Unicode code points.
//! Source of the numbers: the platform's documentation (discord/discord-api-docs, 2026-08-06).

use serde_json::Value;

/// Content of a message.
pub const CONTENT: usize = 2000;
/// Embeds of a message.
pub const EMBEDS: usize = 10;
/// Title of an embed; also the name of a field and of an author.
pub const EMBED_TITLE: usize = 256;
/// Description of an embed.
pub const EMBED_DESCRIPTION: usize = 4096;
/// Fields of an embed.
pub const EMBED_FIELDS: usize = 25;
/// Value of a field.
pub const FIELD_VALUE: usize = 1024;
/// Footer of an embed.
pub const EMBED_FOOTER: usize = 2048;
/// All texts of all embeds of a message.
pub const EMBEDS_IN_ALL: usize = 6000;
/// Rows of components of a message.
pub const ROWS: usize = 5;
/// Buttons in a row.
pub const BUTTONS: usize = 5;
/// Label of a button.
pub const BUTTON_LABEL: usize = 80;
/// Address of a link button.
pub const BUTTON_URL: usize = 512;
/// Our own id of a component or form.
pub const CUSTOM_ID: usize = 100;
/// Options of a select, choices of an autocompletion.
pub const OPTIONS: usize = 25;
/// Label, value or description of an option; name or value of a choice.
pub const OPTION_TEXT: usize = 100;
/// Placeholder of a select.
pub const PLACEHOLDER: usize = 150;
/// Title of a form; label of an input.
pub const FORM_TITLE: usize = 45;
/// Inputs of a form.
pub const FORM_INPUTS: usize = 5;
/// Placeholder of an input.
pub const INPUT_PLACEHOLDER: usize = 100;
/// Text of an input.
pub const INPUT_VALUE: usize = 4000;
/// Files of a message.
pub const FILES: usize = 10;
/// Description ("alt text") of a file.
pub const FILE_DESCRIPTION: usize = 1024;
/// Bytes of a file.
pub const FILE_BYTES: usize = 10 * 1024 * 1024;
/// A nonce.
pub const NONCE: usize = 25;
/// Name of a command or option.
pub const COMMAND_NAME: usize = 32;
/// Description of a command or option.
pub const COMMAND_DESCRIPTION: usize = 100;
/// Everything said in one command: names, descriptions, values.
pub const COMMAND_IN_ALL: usize = 8000;
/// Slash commands of an application.
pub const COMMANDS: usize = 100;
/// Menu commands of one kind.
pub const MENU_COMMANDS: usize = 15;

/// Flag of a message: only the asker sees it.
pub const EPHEMERAL: u64 = 1 << 6;
/// Flag of a message: new-style components, which this program does not send.
const COMPONENTS_V2: u64 = 1 << 15;

/// Code points of a text, as the platform counts them.
#[must_use]
pub fn length(text: &str) -> usize {
    text.chars().count()
}

/// The text within `most` characters; what does not fit ends in "…", never in the middle of a number or an escape.
#[must_use]
pub fn clip(text: &str, most: usize) -> String {
    if length(text) <= most {
        return text.to_owned();
    }
    let Some(room) = most.checked_sub(1) else { return String::new() };
    let kept: Vec<char> = text.chars().take(room).collect();
    let next_in_number = text.chars().nth(room).is_some_and(|c| c.is_ascii_digit() || ".,/%".contains(c));
    let mut end = kept.len();
    if next_in_number {
        while end > 0 && (kept[end - 1].is_ascii_digit() || ".,/ ".contains(kept[end - 1])) {
            end -= 1;
        }
    }
    while end > 0 && (kept[end - 1] == '\\' || kept[end - 1].is_whitespace()) {
        end -= 1;
    }
    // A text that is one long number is cut after all: it has no better place.
    let end = if end == 0 { kept.len() } else { end };
    let mut out: String = kept[..end].iter().collect();
    out.push('…');
    out
}

/// Lines within `most` characters: those that fit, and how many more there are. A line is never cut.
#[must_use]
pub fn lines(lines: &[String], most: usize) -> String {
    let whole = lines.join("\n");
    if length(&whole) <= most {
        return whole;
    }
    let (mut out, mut told) = (String::new(), 0);
    let rest = |told: usize| format!("-# and {} more", lines.len() - told);
    for line in lines {
        if length(&out) + length(line) + 1 + length(&rest(told)) > most {
            break;
        }
        out.push_str(line);
        out.push('\n');
        told += 1;
    }
    out.push_str(&rest(told));
    clip(&out, most)
}

/// Something about a body that the platform would refuse.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Breach {
    /// Where in the body: "embeds.0.title".
    pub place: String,
    /// "257 characters, at most 256".
    pub what: String,
}

/// What a body is meant for: the rules differ a little.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A new message, or the message in an answer to an interaction.
    Message,
    /// An edit, which may leave everything out.
    Edit,
    /// A form.
    Form,
    /// The list of commands.
    Commands,
    /// Choices of an autocompletion.
    Choices,
}

/// What the platform would refuse in this body; empty means that it passes.
#[must_use]
pub fn check(kind: Kind, body: &Value) -> Vec<Breach> {
    let mut found = Found(Vec::new());
    match kind {
        Kind::Message | Kind::Edit => message(kind, body, &mut found),
        Kind::Form => form(body, &mut found),
        Kind::Commands => commands(body, &mut found),
        Kind::Choices => choices("choices", &body["choices"], &mut found),
    }
    found.0
}

struct Found(Vec<Breach>);

impl Found {
    fn say(&mut self, place: &str, what: impl Into<String>) {
        self.0.push(Breach { place: place.to_owned(), what: what.into() });
    }

    fn text(&mut self, place: &str, value: &Value, least: usize, most: usize) -> usize {
        let Some(text) = value.as_str() else { return 0 };
        // The platform measures embeds without surrounding blanks; with them is the stricter reading.
        let n = length(text);
        if n > most {
            self.say(place, format!("{n} characters, at most {most}"));
        }
        if length(text.trim()) < least {
            self.say(place, format!("{n} characters, at least {least}"));
        }
        n
    }

    fn count(&mut self, place: &str, list: &[Value], most: usize) {
        if list.len() > most {
            self.say(place, format!("{} entries, at most {most}", list.len()));
        }
    }
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn message(kind: Kind, body: &Value, found: &mut Found) {
    found.text("content", &body["content"], 0, CONTENT);
    found.text("nonce", &body["nonce"], 0, NONCE);
    if body["nonce"].is_string() && body["enforce_nonce"] != true {
        found.say("nonce", "is there without enforce_nonce");
    }
    // Absent means that everything in the text pings.
    if body["allowed_mentions"]["parse"].as_array().is_none_or(|p| !p.is_empty()) {
        found.say("allowed_mentions", "does not forbid every mention");
    }
    if !list(&body["allowed_mentions"]["roles"]).is_empty() {
        found.say("allowed_mentions", "names roles");
    }
    // A reminder names its one owner, to whom it is addressed.
    let addressed = |id: &Value| {
        let id = id.as_str().filter(|id| id.parse::<u64>().is_ok());
        id.is_some_and(|id| body["content"].as_str().is_some_and(|text| text.starts_with(&format!("<@{id}> "))))
    };
    let fine = match list(&body["allowed_mentions"]["users"]) {
        [] => true,
        [owner] => addressed(owner),
        _ => false,
    };
    if !fine {
        found.say("allowed_mentions", "names somebody beside the one whom it is addressed to");
    }
    if body["allowed_mentions"]["replied_user"] == true {
        found.say("allowed_mentions", "pings the person replied to");
    }
    if body["flags"].as_u64().unwrap_or(0) & COMPONENTS_V2 != 0 {
        found.say("flags", "new-style components are not sent");
    }
    let embeds = list(&body["embeds"]);
    found.count("embeds", embeds, EMBEDS);
    let in_all: usize = embeds.iter().enumerate().map(|(n, embed)| self::embed(n, embed, found)).sum();
    if in_all > EMBEDS_IN_ALL {
        found.say("embeds", format!("{in_all} characters in all, at most {EMBEDS_IN_ALL}"));
    }
    let files = list(&body["attachments"]);
    found.count("attachments", files, FILES);
    for (n, file) in files.iter().enumerate() {
        found.text(&format!("attachments.{n}.description"), &file["description"], 0, FILE_DESCRIPTION);
        let plain = |c: char| c.is_ascii_alphanumeric() || "._-".contains(c);
        if file["filename"].as_str().is_some_and(|name| !name.chars().all(plain)) {
            found.say(&format!("attachments.{n}.filename"), "holds more than letters, digits and . _ -");
        }
    }
    components(&body["components"], found);
    let empty =
        |v: &Value| v.is_null() || v.as_str().is_some_and(|t| t.trim().is_empty()) || v == &Value::Array(vec![]);
    if kind == Kind::Message && ["content", "embeds", "components", "attachments"].iter().all(|k| empty(&body[*k])) {
        found.say("content", "the message is empty");
    }
}

fn embed(n: usize, embed: &Value, found: &mut Found) -> usize {
    let at = |name: &str| format!("embeds.{n}.{name}");
    let mut all = found.text(&at("title"), &embed["title"], 0, EMBED_TITLE)
        + found.text(&at("description"), &embed["description"], 0, EMBED_DESCRIPTION)
        + found.text(&at("footer.text"), &embed["footer"]["text"], 1, EMBED_FOOTER)
        + found.text(&at("author.name"), &embed["author"]["name"], 1, EMBED_TITLE);
    let fields = list(&embed["fields"]);
    found.count(&at("fields"), fields, EMBED_FIELDS);
    for (k, field) in fields.iter().enumerate() {
        all += found.text(&at(&format!("fields.{k}.name")), &field["name"], 1, EMBED_TITLE)
            + found.text(&at(&format!("fields.{k}.value")), &field["value"], 1, FIELD_VALUE);
    }
    all
}

/// Kinds of components as the platform numbers them.
mod component {
    pub(super) const ROW: u64 = 1;
    pub(super) const BUTTON: u64 = 2;
    pub(super) const INPUT: u64 = 4;
    pub(super) const LINK: u64 = 5;
    pub(super) const SELECTS: [u64; 5] = [3, 5, 6, 7, 8];
}

fn components(rows: &Value, found: &mut Found) {
    let rows = list(rows);
    found.count("components", rows, ROWS);
    let mut ids: Vec<&str> = Vec::new();
    for (r, row) in rows.iter().enumerate() {
        let at = format!("components.{r}");
        if row["type"] != component::ROW {
            found.say(&at, "is not a row");
            continue;
        }
        let parts = list(&row["components"]);
        let buttons = parts.iter().all(|c| c["type"] == component::BUTTON);
        if parts.is_empty() || buttons && parts.len() > BUTTONS || !buttons && parts.len() != 1 {
            found.say(&at, "a row holds one to five buttons or one select");
        }
        for (c, part) in parts.iter().enumerate() {
            let at = format!("{at}.components.{c}");
            if let Some(id) = part["custom_id"].as_str() {
                found.text(&at, &part["custom_id"], 1, CUSTOM_ID);
                if ids.contains(&id) {
                    found.say(&at, "its custom_id is there twice");
                }
                ids.push(id);
            }
            match part["type"].as_u64() {
                Some(component::BUTTON) => {
                    found.text(&at, &part["label"], 0, BUTTON_LABEL);
                    let link = part["style"] == component::LINK;
                    if link != part["url"].is_string() || link == part["custom_id"].is_string() {
                        found.say(&at, "a link has an address, any other button an id");
                    }
                    found.text(&at, &part["url"], 1, BUTTON_URL);
                }
                Some(kind) if component::SELECTS.contains(&kind) => select(&at, kind, part, found),
                _ => found.say(&at, "is no kind of component that a message takes"),
            }
        }
    }
}

fn select(at: &str, kind: u64, select: &Value, found: &mut Found) {
    found.text(at, &select["placeholder"], 0, PLACEHOLDER);
    if !select["custom_id"].is_string() {
        found.say(at, "a select has an id");
    }
    if kind != component::SELECTS[0] {
        return;
    }
    let options = list(&select["options"]);
    if options.is_empty() || options.len() > OPTIONS {
        found.say(at, format!("{} options, 1 to {OPTIONS}", options.len()));
    }
    let mut values: Vec<&str> = Vec::new();
    for option in options {
        found.text(at, &option["label"], 1, OPTION_TEXT);
        found.text(at, &option["value"], 1, OPTION_TEXT);
        found.text(at, &option["description"], 1, OPTION_TEXT);
        let value = option["value"].as_str().unwrap_or_default();
        if values.contains(&value) {
            found.say(at, "a value is there twice");
        }
        values.push(value);
    }
}

fn form(body: &Value, found: &mut Found) {
    found.text("title", &body["title"], 1, FORM_TITLE);
    found.text("custom_id", &body["custom_id"], 1, CUSTOM_ID);
    let rows = list(&body["components"]);
    if rows.is_empty() || rows.len() > FORM_INPUTS {
        found.say("components", format!("{} inputs, 1 to {FORM_INPUTS}", rows.len()));
    }
    for (n, row) in rows.iter().enumerate() {
        let at = format!("components.{n}");
        let [input] = list(&row["components"]) else {
            found.say(&at, "a row of a form holds one input");
            continue;
        };
        if input["type"] != component::INPUT {
            found.say(&at, "is no input");
        }
        found.text(&at, &input["label"], 1, FORM_TITLE);
        found.text(&at, &input["custom_id"], 1, CUSTOM_ID);
        found.text(&at, &input["placeholder"], 0, INPUT_PLACEHOLDER);
        found.text(&at, &input["value"], 0, INPUT_VALUE);
    }
}

fn choices(at: &str, list_of: &Value, found: &mut Found) {
    let choices = list(list_of);
    found.count(at, choices, OPTIONS);
    for choice in choices {
        found.text(at, &choice["name"], 1, OPTION_TEXT);
        found.text(at, &choice["value"], 0, OPTION_TEXT);
    }
}

fn commands(body: &Value, found: &mut Found) {
    let all = list(body);
    let of_kind = |kind: u64| all.iter().filter(|c| c["type"].as_u64().unwrap_or(1) == kind).count();
    for (kind, most) in [(1, COMMANDS), (2, MENU_COMMANDS), (3, MENU_COMMANDS)] {
        if of_kind(kind) > most {
            found.say("commands", format!("{} of kind {kind}, at most {most}", of_kind(kind)));
        }
    }
    let mut names: Vec<(u64, &str)> = Vec::new();
    for command in all {
        let kind = command["type"].as_u64().unwrap_or(1);
        let name = command["name"].as_str().unwrap_or_default();
        if names.contains(&(kind, name)) {
            found.say(name, "is there twice");
        }
        names.push((kind, name));
        let said = self::command(command, kind == 1, found);
        if said > COMMAND_IN_ALL {
            found.say(name, format!("{said} characters in all, at most {COMMAND_IN_ALL}"));
        }
    }
}

/// Checks a command or an option, and counts its characters.
fn command(command: &Value, slash: bool, found: &mut Found) -> usize {
    let name = command["name"].as_str().unwrap_or_default();
    let mut said = found.text(name, &command["name"], 1, COMMAND_NAME);
    let fits = |c: char| c.is_lowercase() || c.is_numeric() || "-_'".contains(c);
    if slash && !name.chars().all(fits) {
        found.say(name, "holds more than lower-case letters, digits and - _ '");
    }
    if slash {
        said += found.text(name, &command["description"], 1, COMMAND_DESCRIPTION);
    } else if command["description"].as_str().is_some_and(|d| !d.is_empty()) {
        found.say(name, "a menu command has no description");
    }
    let options = list(&command["options"]);
    found.count(name, options, OPTIONS);
    let mut optional = false;
    for option in options {
        let required = option["required"] == true;
        if required && optional {
            found.say(name, "a required option stands behind an optional one");
        }
        optional |= !required;
        said += self::command(option, true, found);
        choices(name, &option["choices"], found);
        said += list(&option["choices"])
            .iter()
            .flat_map(|c| [&c["name"], &c["value"]])
            .filter_map(|v| v.as_str().map(length))
            .sum::<usize>();
    }
    said
}
