//! What an operator may set: the documented file, the environment, and every fault with its place and remedy.

use std::collections::BTreeMap;
use std::time::Duration;

use hatchward::settings::{Fault, Secret, Settings, SettingsError, Shards, keys, secret};
use proptest::prelude::*;

const DOCUMENTED: &str = include_str!("../../config/hatchward.toml");

fn faults(text: &str) -> Vec<Fault> {
    let mut found = Vec::new();
    Settings::default().take_file("hatchward.toml", text, &mut found);
    found
}

#[test]
fn the_documented_file_shows_every_key_with_its_default() {
    let mut settings = Settings { answers_days: 999, blocked: vec![7], listen: None, ..Settings::default() };
    let mut found = Vec::new();
    settings.take_file("hatchward.toml", DOCUMENTED, &mut found);
    assert_eq!((found, settings), (Vec::new(), Settings::default()));
    for key in keys() {
        let (section, name) = key.name.split_once('.').expect("section and key");
        let inside =
            DOCUMENTED.split(&format!("[{section}]")).nth(1).and_then(|t| t.split("\n[").next()).expect("its section");
        let at = inside.find(&format!("\n{name} = ")).unwrap_or_else(|| panic!("{} is not documented", key.name));
        let above = inside[..at].lines().rev().take_while(|l| !l.is_empty());
        assert!(above.take(2).any(|l| l.starts_with('#')), "{} has no word of explanation", key.name);
    }
}

#[test]
fn a_fault_names_file_line_value_and_remedy() {
    for (text, wanted) in [
        (
            "[discord]\nshards = \"0-9/4\"",
            "hatchward.toml:2: discord.shards = \"0-9/4\": shards run from 0 to 3; write \"auto\", or first-last/total such as \"0-3/8\"",
        ),
        (
            "[discord]\n\nshard = 1",
            "hatchward.toml:3: discord.shard: there is no such key; did you mean discord.shards?",
        ),
        (
            "[kitchen]\nsink = 1",
            "hatchward.toml:2: kitchen.sink: there is no such key; config/hatchward.toml shows them all",
        ),
        (
            "[limits]\nmember_questions = 0",
            "hatchward.toml:2: limits.member_questions = 0: write a whole number from 1 to 1000",
        ),
        (
            "[limits]\nblocked = [\"x\"]",
            "hatchward.toml:2: limits.blocked = [\"x\"]: write the id as the platform shows it: digits only, such as \"123456789012345678\"",
        ),
        (
            "[discord]\napi = \"ftp://x\"",
            "hatchward.toml:2: discord.api = \"ftp://x\": write a base address such as \"http://127.0.0.1:8080\", without a path",
        ),
        (
            "[health]\nlisten = 7",
            "hatchward.toml:2: health.listen = 7: write an address and a port, such as \"127.0.0.1:9464\", or \"\" for none",
        ),
        ("shards = 1", "hatchward.toml:1: shards: every key stands in a section, such as [discord]"),
        ("[log]\nlevel = \"\"", "hatchward.toml:2: log.level = \"\": write \"error\", \"warn\", \"info\" or \"debug\""),
        (
            "[discord]\nmessage_content = 1.5",
            "hatchward.toml:2: discord.message_content = 1.5: write one value, or a list of them",
        ),
    ] {
        assert_eq!(faults(text).iter().map(ToString::to_string).collect::<Vec<_>>(), [wanted], "{text}");
    }
    let broken = faults("[discord\nshards = 1");
    assert!(broken[0].place == "hatchward.toml:1" && broken[0].remedy.contains("TOML"), "{broken:?}");
    assert_eq!(faults("[discord]\nshards = \"x\"\nmessage_content = 3").len(), 2, "all faults at once");
}

#[test]
fn the_environment_wins_and_its_faults_are_named() {
    let environment = |pairs: &[(&str, &str)]| -> BTreeMap<String, String> {
        pairs.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned())).collect()
    };
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("mine.toml");
    std::fs::write(&file, "[discord]\nshards = \"0/2\"\nanswers_days = 7").expect("a file");
    let set = environment(&[("HATCHWARD_DISCORD_SHARDS", "1/2"), ("HATCHWARD_DISCORD_API", "http://127.0.0.1:1/")]);
    let settings = Settings::load(Some(&file), &set).expect("no fault");
    assert_eq!(settings.shards, Shards::Range { first: 1, last: 1, total: 2 });
    assert_eq!((settings.answers_days, settings.api.as_deref()), (7, Some("http://127.0.0.1:1")));
    assert_eq!(settings.stop, Duration::from_secs(8));
    let wrong =
        Settings::load(Some(&file), &environment(&[("HATCHWARD_DISCORD_GRACE_DAYS", "soon")])).expect_err("a fault");
    assert_eq!(
        wrong.to_string(),
        "the environment: HATCHWARD_DISCORD_GRACE_DAYS=\"soon\": write a whole number from 0 to 365"
    );
    let named = Settings::load(None, &environment(&[("HATCHWARD_CONFIG", "/no/such/file")])).expect_err("a fault");
    assert!(matches!(named, SettingsError::Unreadable { .. }), "{named}");
}

#[test]
fn secrets_come_from_the_environment_or_a_file_and_are_never_shown() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("token");
    std::fs::write(&file, "very-secret\n").expect("a file");
    let set = |name: &str, value: &str| BTreeMap::from([(name.to_owned(), value.to_owned())]);
    let path = file.display().to_string();
    assert_eq!(secret(&set("T_FILE", &path), "T"), Ok(Some(Secret::new("very-secret"))));
    assert_eq!(secret(&set("T", "  "), "T"), Ok(None));
    let (_, remedy) = secret(&set("T_FILE", "/no/such/file"), "T").expect_err("a fault");
    assert!(remedy.contains("name a readable file"), "{remedy}");
    let (written, _) = secret(&set("T", "very secret"), "T").expect_err("a fault");
    assert_eq!(written, "T", "the secret is not repeated");
    let settings = Settings { token: Some(Secret::new("very-secret")), ..Settings::default() };
    assert!(!format!("{settings:?}").contains("very-secret"));
}

proptest! {
    #[test]
    fn any_text_is_refused_without_a_panic(text in "\\PC{0,200}") {
        faults(&text);
    }

    #[test]
    fn shards_and_their_text_are_inverse(first in 0..50_u32, more in 0..50_u32, rest in 1..50_u32) {
        let shards = Shards::Range { first, last: first + more, total: first + more + rest };
        prop_assert_eq!(shards.to_string().parse(), Ok(shards));
    }
}
