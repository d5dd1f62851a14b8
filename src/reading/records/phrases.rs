//! The phrases of records, from `config/words/records.toml`.

use std::collections::HashSet;
use std::sync::OnceLock;

use regex::Regex;
use serde::Deserialize;

/// The lists as they are written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    add: Vec<String>,
    weigh: Vec<String>,
    lock: Vec<String>,
    introduced: Vec<String>,
    separated: Vec<String>,
    building: Vec<String>,
    follicles: Vec<String>,
    ovulation: Vec<String>,
    prelay_shed: Vec<String>,
    gravid: Vec<String>,
    ate: Vec<String>,
    refused: Vec<String>,
    laid: Vec<String>,
    slugged_out: Vec<String>,
    litter: Vec<String>,
    hatched: Vec<String>,
    sold: Vec<String>,
    died: Vec<String>,
    for_sale: Vec<String>,
    resting: Vec<String>,
    growing: Vec<String>,
    active: Vec<String>,
    remove: Vec<String>,
    rename: Vec<String>,
    prove: Vec<String>,
    undo: Vec<String>,
    changed: Vec<String>,
    forget: Vec<String>,
    export: Vec<String>,
    import: Vec<String>,
    all_pairings: Vec<String>,
    what_if: Vec<String>,
    list: Vec<String>,
    card: Vec<String>,
    share: Vec<String>,
    goal: Vec<String>,
    note: Vec<String>,
    tag: Vec<String>,
    calendar_out: Vec<String>,
    hatches: Vec<String>,
    lays: Vec<String>,
    sheds: Vec<String>,
    ovulates: Vec<String>,
    pips: Vec<String>,
    pipped: Vec<String>,
    out_of_egg: Vec<String>,
    eats: Vec<String>,
    eggs: Vec<String>,
    cools: Vec<String>,
    late: Vec<String>,
    again: Vec<String>,
    whole_year: Vec<String>,
    coming_up: Vec<String>,
    species_calendar: Vec<String>,
    use_mine: Vec<String>,
    use_default: Vec<String>,
    own_numbers: Vec<String>,
    remind: Vec<String>,
    filler: Vec<String>,
    female_pronouns: Vec<String>,
    male_pronouns: Vec<String>,
    other_pronouns: Vec<String>,
}

macro_rules! phrases {
    ($($kind:ident),* $(,)?) => {
        /// A pattern a list, made when the first record is read.
        #[derive(Debug)]
        pub(super) struct Phrases {
            $(pub(super) $kind: Regex,)*
            /// Words that carry nothing.
            pub(super) filler: HashSet<String>,
        }

        impl Phrases {
            fn new(text: &str) -> Option<Self> {
                let file: File = toml::from_str(text).ok()?;
                Some(Self { $($kind: pattern(&file.$kind)?,)* filler: file.filler.into_iter().collect() })
            }
        }
    };
}
phrases!(
    add,
    weigh,
    lock,
    introduced,
    separated,
    building,
    follicles,
    ovulation,
    prelay_shed,
    gravid,
    ate,
    refused,
    laid,
    slugged_out,
    litter,
    hatched,
    sold,
    died,
    for_sale,
    resting,
    growing,
    active,
    remove,
    rename,
    prove,
    undo,
    changed,
    forget,
    export,
    import,
    all_pairings,
    what_if,
    list,
    card,
    share,
    goal,
    note,
    tag,
    calendar_out,
    hatches,
    lays,
    sheds,
    ovulates,
    pips,
    pipped,
    out_of_egg,
    eats,
    eggs,
    cools,
    late,
    again,
    whole_year,
    coming_up,
    species_calendar,
    use_mine,
    use_default,
    own_numbers,
    remind,
    female_pronouns,
    male_pronouns,
    other_pronouns,
);

impl Phrases {
    /// The phrases that come with the program. A broken file of our own is found by the tests; without it no record is read.
    pub(super) fn get() -> Option<&'static Self> {
        static PHRASES: OnceLock<Option<Phrases>> = OnceLock::new();
        PHRASES.get_or_init(|| Self::new(include_str!("../../../config/words/records.toml"))).as_ref()
    }
}

/// What may stand before a phrase that begins a message.
const LEAD: &str = r"^[\s\W]*(?:(?:please|pls|plz|hey|hi|ok|okay|oh|bitte|por favor|can you|could you|can i|could i|i want to|id like to|i would like to|lets|now|and|also|so|then|hatchward)\b[\s,]*)*";

fn pattern(phrases: &[String]) -> Option<Regex> {
    let body = |p: &str| regex::escape(p).replace(' ', r"\s+").replace('\'', "'?");
    let mut starts: Vec<&str> = phrases.iter().filter_map(|p| p.strip_prefix('^')).collect();
    let mut inside: Vec<&str> = phrases.iter().map(String::as_str).filter(|p| !p.starts_with('^')).collect();
    for list in [&mut starts, &mut inside] {
        list.sort_by_key(|p| std::cmp::Reverse(p.len()));
    }
    let join = |list: &[&str]| list.iter().map(|p| body(p)).collect::<Vec<_>>().join("|");
    let starts = (!starts.is_empty()).then(|| format!("(?:{LEAD})(?:{})", join(&starts)));
    let inside = (!inside.is_empty()).then(|| format!(r"\b(?:{})", join(&inside)));
    let both = [starts, inside].into_iter().flatten().collect::<Vec<_>>().join("|");
    Regex::new(&format!(r"(?:{both})(?:\b|$)")).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_file_is_sound() {
        let phrases = Phrases::get().expect("config/words/records.toml parses");
        assert!(phrases.add.is_match("please add a clown"));
        assert!(!phrases.add.is_match("in addition"));
        assert!(phrases.lock.is_match("rusty locked with nova"));
        assert!(!phrases.undo.is_match("i cannot undo this"));
        assert!(phrases.ovulation.is_match("she ov'd today"));
    }
}
