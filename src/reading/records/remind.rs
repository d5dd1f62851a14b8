//! Reminders: set, listed, put off, changed, let go.
//!
//!   "remind me on 12 May at 18:00 to weigh Nala", "every Sunday at 18:00 weigh the girls"    set
//!   "remind me 3 days before Nala is due"                                                    set by a date of an animal
//!   "my reminders"                                                                           listed
//!   "snooze it 2 days", "put reminder 2 off until Friday"                                    put off
//!   "move reminder 2 to friday 10:00", "change reminder 2 to say feed"                       changed
//!   "remove reminder 2", "cancel the reminder about the girls", "delete all reminders"       let go

use std::ops::Range;
use std::sync::OnceLock;

use regex::Regex;
use serde::Deserialize;

use super::Record;
use super::amounts::pattern;
use super::message::{Called, Msg};
use crate::reading::ahead::{self, Ahead, When};
use crate::reading::day_words;
use crate::reading::flat::Flat;

/// What is told or asked of reminders.
#[derive(Debug, Clone, PartialEq)]
pub enum RemindSaid {
    /// A new one.
    Set {
        /// What to say; empty where nothing is left beside the moment.
        what: String,
        /// When.
        ahead: Ahead,
        /// Whose date it hangs on.
        who: Option<Called>,
    },
    /// All of them are asked for.
    List,
    /// One or all are let go.
    Remove(Which),
    /// One comes later, its rule stays.
    Snooze(Which, Ahead),
    /// One has another moment.
    Move(Which, Ahead),
    /// One has other words.
    Reword(Which, String),
}

/// Which reminder is meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Which {
    /// The one told or set last.
    Last,
    /// By its number.
    Number(i32),
    /// All.
    All,
    /// By words of its text.
    About(String),
}

#[derive(Debug, Deserialize)]
struct File {
    remind: Vec<String>,
    list: Vec<String>,
    remove: Vec<String>,
    snooze: Vec<String>,
    #[serde(rename = "move")]
    shift: Vec<String>,
    say: Vec<String>,
    it: Vec<String>,
    all: Vec<String>,
    reminder: Vec<String>,
    joining: Vec<String>,
}

struct Words {
    remind: Regex,
    list: Regex,
    remove: Regex,
    snooze: Regex,
    shift: Regex,
    say: Regex,
    it: Regex,
    all: Regex,
    numbered: Regex,
    reminder: Regex,
    joining: Regex,
}

/// What may stand before it.
const LEAD: &str = r"^\W*(?:(?:please|pls|plz|hey|hi|ok|okay|oh|and|also|now|bitte|por favor|can you|could you|will you|would you|hatchward)\b[\s,]*)*";

impl Words {
    fn get() -> Option<&'static Self> {
        static WORDS: OnceLock<Option<Words>> = OnceLock::new();
        // A broken word file of our own is found by the tests; without it no reminder is read.
        WORDS.get_or_init(|| Self::new(include_str!("../../../config/words/reminders.toml"))).as_ref()
    }

    fn new(text: &str) -> Option<Self> {
        let file: File = toml::from_str(text).ok()?;
        // Many leave the apostrophe out.
        let either = |words: &[String]| day_words::either(words.iter()).replace('\'', "'?");
        let re = |text: String| Regex::new(&text).ok();
        let (it, all, reminder) = (either(&file.it), either(&file.all), either(&file.reminder));
        Some(Self {
            remind: re(format!(r"\b{}\b", either(&file.remind)))?,
            list: re(format!(r"{LEAD}(?:(?:list|show|show me)\s+)?{}\W*$", either(&file.list)))?,
            remove: re(format!(r"{LEAD}{}\b", either(&file.remove)))?,
            snooze: re(format!(r"{LEAD}{}\b", either(&file.snooze)))?,
            shift: re(format!(r"{LEAD}{}\b", either(&file.shift)))?,
            say: re(format!(r"\b(?:to\s+)?{}\b\s*:?", either(&file.say)))?,
            it: re(format!(r"^\W*(?:{it}|(?:the\s+|my\s+)?{reminder})\b"))?,
            all: re(format!(r"^\W*{all}\b(?:\s+(?:of\s+)?(?:my|the)\b)?(?:\s+{reminder}\b)?\W*$"))?,
            numbered: re(format!(
                r"^\W*(?:the\s+|my\s+)?(?:{reminder}\s*(?:no\.?|number|nr\.?|#)?\s*(\d{{1,6}})|(?:no\.?|number|nr\.?)\s*(\d{{1,6}}))\b"
            ))?,
            reminder: re(format!(r"\b{reminder}\b"))?,
            joining: re(format!(r"^[\s,:;.\-\u{{2013}}]*(?:{}\b[\s,:;]*)+", either(&file.joining)))?,
        })
    }
}

/// Reads a message about reminders.
pub(super) fn remind(msg: &Msg<'_>) -> Option<Record> {
    let words = Words::get()?;
    let text = msg.text();
    if words.list.is_match(text) {
        return Some(Record::Remind(RemindSaid::List));
    }
    let said =
        gone(msg, words).or_else(|| put_off(msg, words)).or_else(|| changed(msg, words)).or_else(|| set(msg, words))?;
    Some(Record::Remind(said))
}

/// Which reminder a message names at its start (behind the verb), and where the rest of it begins.
fn which(words: &Words, text: &str) -> Option<(Which, usize)> {
    if words.all.is_match(text) {
        return words.reminder.is_match(text).then_some((Which::All, text.len()));
    }
    if let Some(hit) = words.numbered.captures(text) {
        let n = hit.get(1).or_else(|| hit.get(2))?.as_str().parse().ok()?;
        return Some((Which::Number(n), hit.get(0)?.end()));
    }
    let about = pattern!(
        r"^\W*(?:the\s+|my\s+|meine\s+|die\s+)?(?:reminder|reminders|erinnerung|recordatorio)\s+(?:about|of|for|to|that says|an|de)\s+(\S.*)$"
    )?;
    if let Some(hit) = about.captures(text) {
        let words = hit.get(1)?;
        return Some((Which::About(words.as_str().trim_end_matches(['.', '!', '?', ' ']).to_owned()), words.end()));
    }
    // "the weigh reminder".
    let named = pattern!(r"^\W*(?:the|my|die|meine|el|mi)\s+(\S.{0,60}?)\s+(?:reminder|erinnerung|recordatorio)\b")?;
    if let Some(hit) = named.captures(text) {
        return Some((Which::About(hit.get(1)?.as_str().to_owned()), hit.get(0)?.end()));
    }
    let hit = words.it.find(text)?;
    Some((Which::Last, hit.end()))
}

fn gone(msg: &Msg<'_>, words: &Words) -> Option<RemindSaid> {
    let text = msg.text();
    let rest = text.get(words.remove.find(text)?.end()..)?;
    // "Remove Nala" is about an animal: only what is called a reminder is one.
    if !words.reminder.is_match(rest) {
        return None;
    }
    which(words, rest).map(|(which, _)| RemindSaid::Remove(which))
}

fn put_off(msg: &Msg<'_>, words: &Words) -> Option<RemindSaid> {
    let text = msg.text();
    // "Put reminder 2 off until Friday."
    let split = pattern!(r"^\W*(?:please\s+)?put\s+(.{1,80}?)\s+off\b")?;
    let (which_text, from) = match (words.snooze.find(text), split.captures(text)) {
        (_, Some(hit)) => (hit.get(1)?.as_str().to_owned(), hit.get(0)?.end()),
        (Some(hit), None) => (text.get(hit.end()..)?.to_owned(), hit.end()),
        (None, None) => return None,
    };
    let again = words.snooze.find(text).is_some_and(|m| m.as_str().trim_end().ends_with("again"));
    let (which, used) = match which(words, &which_text) {
        Some(found) => found,
        None => (Which::Last, 0),
    };
    let from = if split.is_match(text) { from } else { from + used };
    let mut flat = part(msg, from..text.len());
    let ahead = read_span(&mut flat, msg);
    // "Again" alone, or with other words behind it, is no reminder that is put off.
    let plain = left(words, &flat).is_empty();
    let says_it = !again && words.snooze.find(text).is_some_and(|m| m.as_str().trim().ends_with("snooze"));
    ((!ahead.is_empty() && plain) || says_it).then_some(RemindSaid::Snooze(which, ahead))
}

/// A moment, where a bare span ("2 days", "for 2 days", "until friday") is one, too.
fn read_span(flat: &mut Flat, msg: &Msg<'_>) -> Ahead {
    let text = flat.text().to_owned();
    let bare = pattern!(r"^\W*(?:for|by|um|por)?\s*((?:\d{1,4}|an?|one|two|three|ein|eine|einen|un|una)\s+[a-z]+)\W*$");
    if let Some(hit) = bare.and_then(|p| p.captures(&text)) {
        let mut span = Flat::new(&format!("in {}", &hit[1]));
        let ahead = ahead::take(&mut span, msg.known.today);
        if !ahead.is_empty() {
            flat.take(0..text.len());
            return ahead;
        }
    }
    if let Some(until) = pattern!(r"^\W*(?:until|till|til|bis|hasta|to|auf|a)\b").and_then(|p| p.find(&text)) {
        flat.take(until.range());
    }
    ahead::take(flat, msg.known.today)
}

fn changed(msg: &Msg<'_>, words: &Words) -> Option<RemindSaid> {
    let text = msg.text();
    let verb = words.shift.find(text)?;
    let (which, used) = which(words, text.get(verb.end()..)?)?;
    // "Change it to a male" is about an animal.
    if which == Which::Last && !words.reminder.is_match(text) {
        return None;
    }
    let from = verb.end() + used;
    let rest = text.get(from..)?;
    let lead = rest.len() - rest.trim_start().len();
    if let Some(say) = words.say.find(rest).filter(|m| m.start() <= lead + 3) {
        let what = msg.flat.typed(from + say.end()..text.len()).trim().trim_matches(['"', '\u{201c}', '\u{201d}']);
        return (!what.is_empty()).then(|| RemindSaid::Reword(which, what.to_owned()));
    }
    let mut flat = part(msg, from..text.len());
    let ahead = read_span(&mut flat, msg);
    (!ahead.is_empty()).then_some(RemindSaid::Move(which, ahead))
}

/// A part of a message.
fn part(msg: &Msg<'_>, place: Range<usize>) -> Flat {
    Flat::new(msg.flat.typed(place))
}

fn set(msg: &Msg<'_>, words: &Words) -> Option<RemindSaid> {
    let text = msg.text();
    let lead = words.remind.find(text);
    // Without the word only what begins with "every" and has an hour is one.
    let starts = pattern!(format!(r"{LEAD}(?:every|each|jede[nrsm]?|alle|cada)\s+\S"))?.is_match(text);
    if lead.is_none() && !starts || lead.is_none() && msg.question {
        return None;
    }
    let mut flat = msg.flat.clone();
    if let Some(lead) = &lead {
        flat.take(lead.range());
    }
    let ahead = ahead::take(&mut flat, msg.known.today);
    if lead.is_none() && (!matches!(ahead.when, Some(When::Every { .. })) || ahead.at.is_none()) {
        return None;
    }
    let who = match &ahead.when {
        Some(When::Due { place, .. }) => Some(whose(msg, place.clone())),
        _ => None,
    };
    Some(RemindSaid::Set { what: left(words, &flat), ahead, who })
}

/// Whom a name before "is due" means.
fn whose(msg: &Msg<'_>, place: Range<usize>) -> Called {
    let inside = |m: &&super::message::Mention| place.start <= m.place.start && m.place.end <= place.end + 2;
    if let Some(mention) = msg.mentions.iter().find(inside) {
        return mention.called.clone();
    }
    let typed = msg.flat.typed(place).trim().trim_end_matches("'s").trim();
    match typed.to_lowercase().as_str() {
        "she" | "her" | "it" | "he" => msg.pronoun().unwrap_or(Called::Last),
        _ => Called::Name(typed.to_owned()),
    }
}

/// What to say: what is left when the moment is gone, without the words that joined them.
fn left(words: &Words, flat: &Flat) -> String {
    let whole = flat.left();
    let mut out = whole.split_whitespace().collect::<Vec<_>>().join(" ");
    loop {
        let lower = Flat::new(&out);
        let head = words.joining.find(lower.text()).map_or(0, |m| m.end());
        let next = lower.typed(head..lower.text().len()).trim().to_owned();
        let tail = pattern!(
            r"[\s,;:]+(?:and|to|that|of|on|at|and then|please|bitte|por favor|und|y|until|from|starting)[\s,;:.!?]*$"
        )
        .and_then(|p| p.find(&next.to_lowercase()).map(|m| m.start()));
        let next = match tail {
            Some(at) if next.is_char_boundary(at) => next[..at].to_owned(),
            _ => next,
        };
        let next = next.trim_matches([' ', ',', ':', ';', '.', '!', '?', '-', '\u{2013}']).to_owned();
        if next == out || next.is_empty() {
            return next;
        }
        out = next;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Reader;
    use crate::reading::records::message::{Known, Names};
    use crate::species::Catalogue;

    fn ahead(ahead: &Ahead) -> &'static str {
        match ahead.when {
            Some(When::In(..)) => "in",
            Some(When::Day(_)) => "day",
            Some(When::Every { .. }) => "every",
            Some(When::Due { .. }) => "due",
            None if ahead.at.is_some() => "hour",
            None => "-",
        }
    }

    #[test]
    fn what_is_said_of_reminders() {
        let catalogue = Catalogue::builtin().expect("the catalogue is sound");
        let reader = Reader::new(&catalogue).expect("the words are sound");
        let names = Names::new(["Nala", "Biscuit"]);
        let known = Known { species: None, names: &names, today: jiff::civil::date(2026, 11, 25) };
        let cases = [
            ("remind me on 12 May at 18:00 to weigh Nala", "set day: weigh Nala"),
            ("remind me to weigh Nala on 12 May at 18:00", "set day: weigh Nala"),
            ("Remind me in 10 days", "set in: "),
            ("remind me in 10 days to candle the eggs", "set in: candle the eggs"),
            ("every Sunday at 18:00 weigh the girls", "set every: weigh the girls"),
            ("remind me every 2 weeks to change the water", "set every: change the water"),
            ("remind me every spring to cool the room", "set every: cool the room"),
            ("remind me 3 days before Nala is due", "set due Nala: "),
            ("remind me a week before Nala's eggs hatch to set up tubs", "set due Nala: set up tubs"),
            ("remind me to feed Biscuit", "set -: feed Biscuit"),
            ("remind me at 18:00 to feed Biscuit", "set hour: feed Biscuit"),
            ("please remind me tomorrow: order rats", "set day: order rats"),
            ("Erinnere mich am 12.5. um 18 Uhr daran, Nala zu wiegen", "set day: Nala zu wiegen"),
            ("recuérdame mañana a las 9:00 pesar a Nala", "set day: pesar a Nala"),
            ("my reminders", "list"),
            ("show me my reminders", "list"),
            ("what reminders do I have?", "list"),
            ("remove reminder 2", "remove Number(2)"),
            ("delete all my reminders", "remove All"),
            ("cancel the reminder about the girls", "remove About(\"the girls\")"),
            ("cancel the weigh reminder", "remove About(\"weigh\")"),
            ("snooze it 2 days", "snooze Last in"),
            ("snooze 1 hour", "snooze Last in"),
            ("snooze", "snooze Last -"),
            ("snooze reminder 3 for 2 days", "snooze Number(3) in"),
            ("put reminder 2 off until Friday", "snooze Number(2) day"),
            ("remind me again in 2 days", "snooze Last in"),
            ("move reminder 2 to friday at 10:00", "move Number(2) day"),
            ("change reminder 2 to every monday at 9:00", "move Number(2) every"),
            ("change reminder 2 to say feed Nala", "reword Number(2): feed Nala"),
            // What is no reminder.
            ("remove Nala", "-"),
            ("every pastel is het", "-"),
            ("change it to male", "-"),
            ("again with 7 eggs", "-"),
            ("every Sunday I weigh them", "-"),
        ];
        for (said, heard) in cases {
            let msg = Msg::new(&reader, &catalogue, known, said).expect("a message");
            let read = match remind(&msg) {
                Some(Record::Remind(said)) => match said {
                    RemindSaid::Set { what, ahead: a, who } => {
                        let who = who.map_or_else(String::new, |w| match w {
                            Called::Name(name) => format!(" {name}"),
                            other => format!(" {other:?}"),
                        });
                        format!("set {}{who}: {what}", ahead(&a))
                    }
                    RemindSaid::List => "list".to_owned(),
                    RemindSaid::Remove(which) => format!("remove {which:?}"),
                    RemindSaid::Snooze(which, a) => format!("snooze {which:?} {}", ahead(&a)),
                    RemindSaid::Move(which, a) => format!("move {which:?} {}", ahead(&a)),
                    RemindSaid::Reword(which, what) => format!("reword {which:?}: {what}"),
                },
                _ => "-".to_owned(),
            };
            assert_eq!(read, heard, "{said:?}");
        }
    }
}
