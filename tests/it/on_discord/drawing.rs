//! The worst replies, drawn: within the platform's limits, with nothing cut in a number, no fence open, nobody pinged.

use hatchward::chat::discord::deliver::{self, Look, dress};
use hatchward::chat::discord::embeds::{Pages, escape};
use hatchward::chat::discord::kept::pairings::Saved;
use hatchward::chat::discord::kept::posts::{Post, Trouble};
use hatchward::chat::discord::kept::servers::{Change, Manner};
use hatchward::chat::discord::limits::{self, Kind};
use hatchward::chat::discord::press::{Press, Verb};
use hatchward::chat::discord::rest::Outgoing;
use hatchward::chat::discord::turns::{Thread, Turn};
use hatchward::chat::discord::{animals, commands, components, kept, posts, saved, sentences, settings_panel, words};
use hatchward::collection::animal::{Animal, AnimalId, Number};
use hatchward::collection::herd::Herd;
use hatchward::collection::name::Name;
use hatchward::conversation::Talk;
use hatchward::explanations::own::draft::{Draft, Rules};
use hatchward::explanations::own::history::By;
use hatchward::explanations::own::{Own, TakenOver};
use hatchward::reply::{Grid, Reply, Row};
use hatchward::species::GeneId;
use hatchward::species::show::Entry;
use proptest::prelude::*;
use serde_json::Value;

use crate::member::Chat;
use crate::platform::schema;

/// Text as bad as it gets: mark-up, mentions, links, fences, direction marks, piles of accents, emoji, long numbers.
fn nasty() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => "\\PC{0,60}",
        2 => "[*_~`|<>\\[\\]()#@\\\\:/ -]{0,40}",
        1 => Just("@everyone @here <@123456789012345678> <@&123456789012345678> <#1>".to_owned()),
        1 => Just("```\nopen fence".to_owned()),
        1 => Just("[click](https://example.org) https://example.org/a_b_c <https://example.org>".to_owned()),
        1 => Just("a\u{0301}\u{0302}\u{0303}\u{0304}\u{202e}\u{200b}\u{feff}".to_owned()),
        1 => "[0-9]{0,300}",
        1 => "[a-z]{1500,2500}",
        1 => Just("\n\n\n# heading\n> quote\n- list".to_owned()),
        1 => Just("🐍🏳️‍🌈👩‍👩‍👧".to_owned()),
    ]
}

fn rows() -> impl Strategy<Value = Vec<Row>> {
    let row = (nasty(), nasty(), nasty(), proptest::option::of(nasty()))
        .prop_map(|(fraction, percent, kind, in_clutch)| Row { fraction, percent, kind, in_clutch });
    proptest::collection::vec(row, 0..40)
}

fn grid() -> impl Strategy<Value = Grid> {
    let cells = proptest::collection::vec(nasty(), 0..5);
    let lines = proptest::collection::vec((nasty(), cells), 0..5);
    (proptest::collection::vec(nasty(), 0..5), lines).prop_map(|(top, lines)| Grid { top, lines })
}

fn reply() -> impl Strategy<Value = Reply> {
    let several = || proptest::collection::vec(nasty(), 0..12);
    (
        (several(), nasty(), several(), several()),
        (proptest::option::of(grid()), rows(), proptest::option::of(nasty())),
        (several(), several(), several()),
    )
        .prop_map(|((cautions, understood, answer, choices), (grid, rows, rest), (notes, assumed, unread))| {
            Reply {
                cautions,
                understood,
                answer,
                choices,
                grid,
                rows,
                rest,
                notes,
                assumed,
                unread,
                ..Reply::default()
            }
        })
}

/// Signs of mark-up that are left after the escaped ones.
fn bare(text: &str, signs: &[char]) -> Option<char> {
    let mut escaped = false;
    for c in text.chars() {
        if !escaped && signs.contains(&c) {
            return Some(c);
        }
        escaped = !escaped && c == '\\';
    }
    None
}

/// A herd whose names, origins and notes are these.
fn herd(texts: &[String]) -> Herd {
    let mut herd = Herd::empty();
    for (n, text) in (1..).zip(texts) {
        let mut animal = Animal::new(
            AnimalId::of_bits(u64::MAX - n),
            Number(i32::MAX - i32::try_from(n).expect("few")),
            "ball_python".to_owned(),
        );
        animal.name = Name::new(text).ok();
        animal.sire_out = Some(text.clone());
        animal.notes = Some(text.clone());
        animal.tags = vec![text.clone(); 3];
        herd.animals.push(animal);
    }
    herd
}

/// Words of a server with these titles and texts, where they may be written.
fn own(texts: &[String]) -> Own {
    let mut own = Own::default();
    for (n, text) in texts.iter().enumerate() {
        let draft = Draft { title: Some(text.clone()), text: text.clone(), ..Draft::default() };
        if let Ok(wording) = draft.check(Rules { links: true }, []) {
            for version in 0..7 {
                let _ = own.write(&format!("topic_{n}"), wording.clone(), By { author: u64::MAX, at_unix_s: version });
            }
        }
    }
    for species in Chat::new().catalogue.species() {
        for gene in species.genes() {
            let _ = own.say_always(species.key(), &gene.entry.id);
        }
    }
    own
}

/// Posts about these, in every state.
fn posts(texts: &[String]) -> Vec<Post> {
    let states = [Trouble::None, Trouble::Gone, Trouble::Refused, Trouble::Unpinned];
    let post = |(n, text): (usize, &String)| Post {
        id: i64::try_from(n).expect("few"),
        server: u64::MAX,
        channel: u64::MAX,
        message: u64::MAX - n as u64,
        topics: vec![text.clone()],
        mark: String::new(),
        pinned: n % 2 == 0,
        trouble: states[n % states.len()],
    };
    texts.iter().enumerate().map(post).collect()
}

/// A list passes, and calls nobody.
fn list_passes(message: &Outgoing) -> Result<(), TestCaseError> {
    let body = message.body();
    passes(Kind::Message, &body, "message_create")?;
    let said = body["embeds"][0]["description"].as_str().unwrap_or_default();
    prop_assert!(!said.contains("@everyone") || said.contains("\\@everyone"), "{}", said);
    prop_assert_eq!(said.matches("```").count(), 0, "{}", said);
    Ok(())
}

fn passes(kind: Kind, body: &Value, name: &str) -> Result<(), TestCaseError> {
    prop_assert_eq!(limits::check(kind, body), vec![]);
    let form = || schema::check("callback", &serde_json::json!({"type": 9, "data": body}));
    let wrong = if kind == Kind::Form { form() } else { schema::check(name, body) };
    prop_assert_eq!(wrong, Vec::<String>::new());
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(crate::cases(96)))]

    #[test]
    fn the_worst_replies_fit_the_platform(reply in reply(), choices in proptest::collection::vec((nasty(), nasty()), 0..60),
                                          private: bool, plain: bool, odds: bool, page in 0..9_usize) {
        let choices = choices.into_iter().map(|(l, r)| (format!("x{l}"), r)).collect();
        let last = if odds { "kept".to_owned() } else { String::new() };
        let thread = Thread { last, choices, ..Thread::default() };
        let turn = Turn { reply: Some(reply.clone()), thread, odds, private, ..Turn::default() };
        let message = dress(&turn, u64::MAX, Look { page, private, plain });
        let body = message.body();
        if Pages::of(&reply).is_empty() && !odds && turn.thread.choices.is_empty() {
            return Ok(());
        }
        passes(Kind::Edit, &body, "message_create")?;
        // In all its pages every line of the reply is there, and none has an open fence.
        let pages = Pages::of(&reply);
        for n in 0..pages.len() {
            let text = if plain { pages.content(n) } else { pages.embed(n)["description"].as_str().unwrap_or_default().to_owned() };
            prop_assert_eq!(text.matches("```").count() % 2, 0, "an open fence: {}", text);
            prop_assert!(!text.contains("@everyone") || text.contains("\\@everyone"));
            prop_assert!(!text.contains("<@1"), "{}", text);
        }
        prop_assert_eq!(body["allowed_mentions"]["parse"].as_array().map(Vec::len), Some(0));
    }

    #[test]
    fn the_worst_lists_fit_the_platform(texts in proptest::collection::vec(nasty(), 0..60), page in 0..9_usize) {
        let catalogue = &Chat::new().catalogue;
        list_passes(&animals::list(catalogue, &herd(&texts), page))?;
        let pairing = |(n, text): (usize, &String)| Saved { id: i64::try_from(n).expect("few"), request: format!("x{text}") };
        let pairings: Vec<Saved> = texts.iter().enumerate().map(pairing).collect();
        if !pairings.is_empty() {
            list_passes(&saved::list(&pairings, page))?;
        }
        list_passes(&posts::listed(&self::posts(&texts), |post| format!("x{}", post.topics[0]), None))?;
        list_passes(&words::listed(&own(&texts), |_, gene| gene.to_owned()))?;
        let manner = Manner { channels: vec![u64::MAX; 25], species: texts.first().cloned().unwrap_or_default(), ..Manner::default() };
        for part in 0..2 {
            list_passes(&settings_panel::panel(catalogue, &manner, Some(0), part))?;
        }
        let change = |text: &String| Change {
            member: u64::MAX, at: i64::MAX, setting: "species".to_owned(), before: text.clone(), after: text.clone(),
        };
        list_passes(&settings_panel::changed(&texts.iter().map(change).collect::<Vec<_>>()))?;
        let over = TakenOver { topics: texts.clone(), aliases: texts.clone(), cautions: texts.clone(), same: 7 };
        for reply in [sentences::words_bring(&over, &texts), sentences::words_bring_nothing(&over, &texts),
                      sentences::words_taken_over(&over), sentences::draft_refused(&texts.join("\n"))] {
            list_passes(&deliver::bare(&reply, true))?;
        }
    }

    #[test]
    fn the_worst_drafts_fit_a_form(title in nasty(), questions in nasty(), body in proptest::collection::vec(nasty(), 0..6)) {
        let draft = kept::words::Draft {
            id: u64::MAX, server: 1, member: 1, topic: title.clone(), title, questions, body: body.join("\n"),
        };
        let form = words::editor::form(&draft);
        passes(Kind::Form, &form, "modal")?;
        let said = format!("x{}", draft.body);
        passes(Kind::Form, &components::words_form(Press::under(Verb::Add, u64::MAX), &said, &said, &said, true), "modal")?;
    }

    #[test]
    fn nothing_that_is_typed_becomes_mark_up(text in nasty()) {
        let drawn = escape(&text);
        prop_assert_eq!(bare(&drawn, &['*', '_', '~', '`', '|', '<', '>', '[', ']', '@']), None, "{}", drawn);
        let links = drawn.match_indices("://").filter(|(at, _)| !drawn[..*at].ends_with('\\')).count();
        prop_assert_eq!(links, 0, "{}", drawn);
        prop_assert!(!drawn.starts_with(['#', '-', '+']), "{}", drawn);
        prop_assert!(!drawn.chars().any(|c| c.is_control() || ('\u{202a}'..='\u{202e}').contains(&c)), "{}", drawn);
    }

    #[test]
    fn a_clipped_text_fits_and_ends_in_no_number(text in nasty(), most in 0..80_usize) {
        let cut = limits::clip(&text, most);
        prop_assert!(limits::length(&cut) <= most);
        if cut != text && limits::length(&cut) > 1 {
            let before = cut.chars().rev().nth(1).unwrap_or(' ');
            let after = text.chars().nth(limits::length(&cut) - 1).unwrap_or(' ');
            let whole_number = text.chars().all(|c| c.is_ascii_digit());
            prop_assert!(whole_number || !(before.is_ascii_digit() && after.is_ascii_digit()), "{:?} to {:?}", text, cut);
        }
    }
}

#[test]
fn every_topic_and_every_card_fits_the_platform() {
    let chat = Chat::new();
    let talk = Talk::new(&chat.catalogue, &chat.reader, None);
    let desk = talk.desk().expect("explanations");
    let topics = desk.spoken.topics().map(|topic| (topic.id.clone(), desk.topic(topic)));
    let cards = chat.catalogue.species().iter().flat_map(|species| {
        let genes = (0..).take(species.genes().len()).map(|g| Entry::Gene(GeneId(g)));
        let entries = genes.chain((0..species.file().combo.len()).map(Entry::Combo));
        entries.map(|entry| (format!("{entry:?} of {}", species.key()), desk.card(species, entry)))
    });
    let mut n = 0;
    for (what, reply) in topics.chain(cards) {
        for plain in [false, true] {
            let turn = Turn { reply: Some(reply.clone()), ..Turn::default() };
            let body = dress(&turn, 1, Look { plain, ..Look::default() }).body();
            assert_eq!(limits::check(Kind::Message, &body), [], "{what}");
            assert_eq!(schema::check("message_create", &body), Vec::<String>::new(), "{what}");
        }
        n += 1;
    }
    assert!(n > 300, "{n} of them");
}

#[test]
fn the_commands_fit_and_their_hash_is_steady() {
    let options = commands::options();
    let all = commands::definitions(&options);
    assert_eq!(limits::check(Kind::Commands, &all), []);
    assert_eq!(schema::check("commands", &all), Vec::<String>::new());
    assert_eq!(commands::hash(&all), commands::hash(&commands::definitions(&commands::options())));
    let mut changed = all.clone();
    changed[0]["description"] = "something else".into();
    assert_ne!(commands::hash(&all), commands::hash(&changed));
}

#[test]
fn forms_pages_and_sentences_fit() {
    let form = components::eggs_form(u64::MAX);
    assert_eq!(limits::check(Kind::Form, &form), []);
    assert_eq!(schema::check("callback", &serde_json::json!({"type": 9, "data": form})), Vec::<String>::new());
    for (page, of) in [(0, 2), (1, 2), (3, 7), (0, 60_000)] {
        let row = components::pages(Verb::Page, u64::MAX, page, of);
        let ids: Vec<&str> =
            row["components"].as_array().expect("buttons").iter().filter_map(|b| b["custom_id"].as_str()).collect();
        let to: Vec<usize> = ids.iter().map(|id| components::page(id.parse::<Press>().expect("one of ours"))).collect();
        assert_eq!(to, [0, page.saturating_sub(1), (page + 1).min(of - 1), of - 1]);
        assert!(ids.iter().enumerate().all(|(n, id)| !ids[..n].contains(id)), "{ids:?}");
    }
    let hello = Pages::of(&sentences::hello());
    assert!(hello.len() == 1 && limits::length(&hello.content(0)) <= 600, "{}", limits::length(&hello.content(0)));
    let help = Pages::of(&sentences::help());
    assert!(help.len() == 1 && help.content(0).lines().count() <= 14, "one screen");
}

#[test]
fn the_checks_are_not_blind() {
    use serde_json::json;
    let mentions = json!({"parse": []});
    for (kind, body, why) in [
        (Kind::Message, json!({"content": "x".repeat(2001), "allowed_mentions": mentions}), "content"),
        (Kind::Message, json!({"content": "x"}), "allowed_mentions"),
        (Kind::Message, json!({"content": "x", "allowed_mentions": {"parse": ["users"]}}), "allowed_mentions"),
        (Kind::Message, json!({"content": "x", "allowed_mentions": {"parse": [], "users": ["7"]}}), "allowed_mentions"),
        (
            Kind::Message,
            json!({"content": "<@7> x", "allowed_mentions": {"parse": [], "users": ["7", "8"]}}),
            "allowed_mentions",
        ),
        (Kind::Message, json!({"content": " ", "allowed_mentions": mentions}), "content"),
        (
            Kind::Message,
            json!({"embeds": [{"title": "x".repeat(257)}], "allowed_mentions": mentions}),
            "embeds.0.title",
        ),
        (
            Kind::Message,
            json!({"embeds": vec![json!({"description": "x".repeat(1000)}); 7], "allowed_mentions": mentions}),
            "embeds",
        ),
        (
            Kind::Message,
            json!({"embeds": [{"fields": [{"name": "", "value": "x"}]}], "allowed_mentions": mentions}),
            "embeds.0.fields.0.name",
        ),
        (Kind::Message, json!({"content": "x", "nonce": "1", "allowed_mentions": mentions}), "nonce"),
        (Kind::Message, json!({"content": "x", "flags": 1 << 15, "allowed_mentions": mentions}), "flags"),
        (
            Kind::Message,
            json!({"content": "x", "components": vec![json!({"type": 1, "components": []}); 6], "allowed_mentions": mentions}),
            "components",
        ),
        (Kind::Form, json!({"title": "x".repeat(46), "custom_id": "x", "components": []}), "title"),
        (Kind::Commands, json!([{"name": "Odds", "description": "x"}]), "Odds"),
        (Kind::Commands, json!([{"name": "odds", "description": ""}]), "odds"),
        (Kind::Choices, json!({"choices": vec![json!({"name": "x", "value": "x"}); 26]}), "choices"),
    ] {
        let found = limits::check(kind, &body);
        assert!(found.iter().any(|b| b.place == why), "{why} should be found in {body}: {found:?}");
    }
}
