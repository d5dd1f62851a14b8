//! Whatever is typed: no panic, a reply within its length that steers no terminal and calls nobody; and signs that look
//! alike are read alike.
//!
//! The short form runs with the other tests; `HATCHWARD_CASES=100000 cargo test --release --test it anything` is the long one.

use std::sync::OnceLock;

use hatchward::conversation::Talk;
use hatchward::reading::requests::{Carried, Reading, Unclear};
use hatchward::reading::{Context, Reader};
use hatchward::reply::{LONG, Reply, SHORT};
use hatchward::species::{Catalogue, GeneId};
use proptest::prelude::*;
use serde_json::Value;

use crate::member::Chat;

/// Words that mean much to the reader.
const TRADE: [&str; 64] = [
    "het",
    "x",
    "clown",
    "super",
    "dh",
    "66%",
    "poss",
    "1.0",
    "0.1",
    "pied",
    "axanthic",
    "snow",
    "bel",
    "from",
    "odds on",
    "7 eggs",
    "her mom was",
    "visual",
    "both",
    "and",
    "to",
    ",",
    "\n",
    "vs",
    "line",
    "2x",
    "killer",
    "1.1",
    "normal",
    "mojave",
    "lesser",
    "banana",
    "mm",
    "spider",
    "is it safe",
    "square it",
    "why no",
    "how many eggs",
    "best",
    "can",
    "without",
    "swap",
    "all kinds",
    "how did you get 1/4?",
    "the first",
    "vpi",
    "corn snake",
    "boa",
    "leopard gecko",
    "hognose",
    "champagne",
    "900g",
    "14 months",
    "3 clutches",
    "90% sure",
    "?",
    "(",
    ")",
    "❤️🐍",
    "male",
    "motley",
    "90",
    "1/0",
    "99999999999999999999",
];

/// One message of any kind: any signs, signs that print, words of the trade with anything between them.
fn message() -> impl Strategy<Value = String> {
    let word = prop_oneof![
        6 => proptest::sample::select(&TRADE[..]).prop_map(str::to_owned),
        1 => "\\PC{0,12}",
        1 => any::<char>().prop_map(String::from),
    ];
    prop_oneof![
        2 => any::<String>(),
        2 => "\\PC{0,400}",
        1 => "[\\u{0}-\\u{20}\\u{7f}-\\u{a0}\\u{300}-\\u{36f}\\u{200b}-\\u{206f}\\u{feff}\\u{e0000}-\\u{e007f}a-z0-9]{0,200}",
        6 => proptest::collection::vec((word, prop_oneof![9 => Just(" "), 1 => Just("")]), 0..30)
            .prop_map(|words| words.into_iter().flat_map(|(word, blank)| [word, blank.to_owned()]).collect()),
        1 => ("\\PC{1,8}", 1_usize..900).prop_map(|(part, n)| part.repeat(n)),
    ]
}

/// What must hold of every reply.
fn holds(said: &str, reply: &Reply) -> Result<(), TestCaseError> {
    let text = reply.text();
    let n = text.chars().count();
    prop_assert!(n <= LONG, "{n} characters for {said:?}:\n{text}");
    prop_assert!(!text.trim().is_empty(), "an empty reply to {said:?}");
    prop_assert!(!text.contains("```") && !text.contains("@everyone") && !text.contains("<@"), "{said:?}:\n{text}");
    let steers = |c: char| c.is_control() && c != '\n' || ('\u{202a}'..='\u{202e}').contains(&c) || c == '\u{200b}';
    prop_assert!(!text.contains(steers), "{said:?}:\n{text:?}");
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: crate::cases(64), ..ProptestConfig::default() })]

    #[test]
    fn any_talk_gets_replies_within_their_length(said in proptest::collection::vec(message(), 1..4)) {
        let chat = Chat::new();
        let mut talk = Talk::new(&chat.catalogue, &chat.reader, None);
        for (k, said) in said.iter().enumerate() {
            if let Some(reply) = talk.turn(said) {
                holds(said, &reply)?;
                // Only what goes on from a reply can have asked for more.
                let n = reply.length();
                // An explanation is a text with an example below it.
                let explains = reply.notes.iter().any(|n| n.contains("See also: ") || n.contains("How this is known: "));
                prop_assert!(k > 0 || explains || n <= SHORT || said.contains("all kinds"), "{n} characters for {said:?}:\n{}", reply.text());
            }
        }
    }

    #[test]
    fn signs_that_look_alike_are_read_alike(at in any::<proptest::sample::Index>(), change in 0..CHANGES.len() - 1, places in any::<u64>()) {
        let text = at.get(corpus());
        let (name, changed) = CHANGES[change];
        let changed = changed(text, places);
        prop_assert!(same(text, &changed), "{name} should not change how this is read:\n{text:?}\n{changed:?}\n{:?}\n{:?}", core(text), core(&changed));
    }
}

/// One way of writing the same thing; the number says at which places, where it need not be done everywhere.
type Change = fn(&str, u64) -> String;

/// Ways of writing the same thing.
const CHANGES: [(&str, Change); 8] = [
    ("full width", |text, _| text.chars().map(full_width).collect()),
    ("capitals", |text, _| text.chars().map(|c| c.to_ascii_uppercase()).collect()),
    ("small letters", |text, _| text.chars().map(|c| c.to_ascii_lowercase()).collect()),
    ("accents", |text, places| sprinkle(text, places, '\u{301}', |c| "aeiouAEIOU".contains(c))),
    ("zero-width signs", |text, places| sprinkle(text, places, '\u{200b}', char::is_alphanumeric)),
    ("soft hyphens", |text, places| sprinkle(text, places, '\u{ad}', char::is_alphabetic)),
    ("smart quotes", |text, places| {
        let quote = if places.is_multiple_of(2) { '\u{2019}' } else { '\u{2018}' };
        text.chars().map(|c| if c == '\'' { quote } else { c }).collect()
    }),
    // Not among the random changes: known to go wrong.
    ("accents on small words", |text, places| sprinkle(text, places, '\u{301}', |c| "aeiouAEIOU".contains(c))),
];

fn full_width(c: char) -> char {
    match c {
        '!'..='~' if c.is_alphanumeric() => char::from_u32(u32::from(c) + 0xfee0).unwrap_or(c),
        c => c,
    }
}

/// Puts a sign behind some of the letters that may carry it.
fn sprinkle(text: &str, places: u64, sign: char, carries: impl Fn(char) -> bool) -> String {
    let mut out = String::new();
    for (i, c) in text.chars().enumerate() {
        out.push(c);
        if carries(c) && places >> (i % 64) & 1 == 1 {
            out.push(sign);
        }
    }
    out
}

/// Pairing messages of the labelled corpus, without those that spell a word with signs of another script.
fn corpus() -> &'static [String] {
    static TEXTS: OnceLock<Vec<String>> = OnceLock::new();
    TEXTS.get_or_init(|| {
        let file = include_str!("../corpus/ball_python_pairings.jsonl");
        let lines = file.lines().filter_map(|line| serde_json::from_str::<Value>(line).ok());
        lines.filter_map(|case| case["text"].as_str().map(str::to_owned)).filter(|t| t.is_ascii()).collect()
    })
}

/// What is read of genes and questions: what an answer hangs on.
type Core = (Vec<Vec<Carried>>, Option<Vec<(GeneId, u8)>>, Vec<Unclear>, Option<u32>);

fn core(text: &str) -> Core {
    let (catalogue, reader): (&Catalogue, &Reader) = (&Chat::new().catalogue, &Chat::new().reader);
    let reading: Reading = reader.read(catalogue, text, Context::default());
    let parents = reading.pairing.parents.iter().map(|p| p.genes.clone()).collect();
    let target = reading.pairing.target.map(|t| t.genes);
    (parents, target, reading.questions.iter().map(|q| q.kind).collect(), reading.pairing.clutch_size)
}

fn same(text: &str, changed: &str) -> bool {
    core(text) == core(changed)
}

/// Every change on every message of the corpus: none is read differently.
#[test]
fn the_whole_corpus_is_read_alike_in_every_hand() {
    for text in corpus() {
        for (name, change) in CHANGES {
            let changed = change(text, 0x5555_5555_5555_5555);
            assert!(same(text, &changed), "{name} should not change how {text:?} is read: {changed:?}");
        }
    }
}

#[test]
fn a_message_about_another_species_is_no_edit_of_the_last() {
    // Found by the long run: a gene number of the one species was looked up in the other.
    let chat = Chat::new();
    for said in [
        ["clown x het clown", "visual x poss is it safe boa het"],
        ["clown x het clown", "boa het"],
        ["clown x het clown", "make her het kahl albino, boa"],
        ["her mom was a clown, 5 normals from a clown", "and 3 more, boa"],
        ["clown bel how did you get 1/4? 1.1 ", "visual x poss is it safe boa het "],
    ] {
        let mut talk = Talk::new(&chat.catalogue, &chat.reader, None);
        for message in said {
            let _ = talk.turn(message);
        }
    }
}
