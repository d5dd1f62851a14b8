//! The operator: start, stop, shards, health, and what is never in the log.

use std::time::Duration;

use serde_json::json;

use super::mention;
use crate::platform::bot::Bot;
use crate::platform::{BOT, Fault, MAREN, Platform, SERVER, TJARK, TOKEN, text};

/// A server on the second of two shards: (id >> 22) % 2 == 1.
const ODD_SERVER: u64 = (100_000_000_000_000_001_u64 >> 22 | 1) << 22;
/// One on the first.
const EVEN_SERVER: u64 = ((100_000_000_000_000_001_u64 >> 22) & !1) << 22;

#[tokio::test(flavor = "multi_thread")]
async fn told_to_stop_it_finishes_its_answer_closes_the_line_and_ends_well() {
    let platform = Platform::start().await;
    let mut bot = Bot::ready(&platform, &[]).await;
    platform.plan("POST", "/messages", Fault::Late(Duration::from_millis(1200)), 1);
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    platform.arrived("POST", "/messages").await;
    bot.signal("TERM");
    bot.says("stopping").await;
    let late = platform.says(TJARK, &mention("het pied x pied"));
    let status = bot.ended(Duration::from_secs(10)).await;
    assert_eq!(status.code(), Some(0), "{}", bot.log());
    assert_eq!(platform.answers_to(asked), 1, "the answer in flight was finished");
    assert_eq!(platform.answers_to(late), 0, "nothing new was begun");
    // The next process answers it.
    platform.forget_sessions();
    let _next = Bot::ready(&platform, &[]).await;
    platform.until_answer(late, |m| text(m).contains("Piebald")).await;
    assert_eq!(platform.answers_to(asked), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_second_signal_ends_at_once() {
    let platform = Platform::start().await;
    let mut bot = Bot::ready(&platform, &[("HATCHWARD_STOP_GRACE_SECONDS", "30")]).await;
    platform.plan("POST", "/messages", Fault::Late(Duration::from_secs(20)), 1);
    platform.says(MAREN, &mention("het clown x clown"));
    platform.arrived("POST", "/messages").await;
    bot.signal("TERM");
    bot.says("stopping").await;
    bot.signal("TERM");
    assert_eq!(bot.ended(Duration::from_secs(5)).await.code(), Some(0), "{}", bot.log());
}

#[tokio::test(flavor = "multi_thread")]
async fn an_answer_that_was_killed_in_the_middle_is_given_by_the_next_process() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    platform.plan("POST", "/messages", Fault::Late(Duration::from_secs(30)), 1);
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    platform.arrived("POST", "/messages").await;
    bot.signal("KILL");
    drop(bot);
    // Its claim is free again after twenty seconds, and its lease too.
    tokio::time::sleep(Duration::from_secs(21)).await;
    platform.forget_sessions();
    let _next = Bot::ready(&platform, &[]).await;
    platform.until_answer(asked, |m| text(m).contains("Clown")).await;
    platform.still().await;
    assert_eq!(platform.answers_to(asked), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn faults_at_the_start_have_their_own_exit_codes_and_one_line() {
    let platform = Platform::start().await;
    for (more, code, words) in [
        (vec![("DISCORD_TOKEN", "")], 78, "there is no token"),
        (vec![("DISCORD_TOKEN", "MTA.wrong.token")], 78, "refuses the token"),
        (vec![("DATABASE_URL", "postgres://nobody@127.0.0.1:9/none")], 75, "DATABASE_URL"),
        (vec![("DATABASE_URL", "not an address")], 78, "DATABASE_URL"),
        (vec![("HATCHWARD_DISCORD_SHARDS", "3-1/2")], 78, "HATCHWARD_DISCORD_SHARDS"),
        (vec![("HATCHWARD_DISCORD_API", "http://127.0.0.1:9")], 75, "cannot be reached"),
    ] {
        let mut bot = Bot::start(&platform, &more);
        let ended = bot.ended(Duration::from_secs(30)).await;
        assert_eq!(ended.code(), Some(code), "{more:?}: {}", bot.log());
        let said = bot.log();
        assert!(said.contains(words), "{more:?}: {said}");
        assert!(!said.contains("MTA.wrong.token") && !said.contains("panicked"), "{said}");
    }
    let mut usage = Bot::run(&["serve", "--no-such-option"], &platform, &[]);
    assert_eq!(usage.ended(Duration::from_secs(10)).await.code(), Some(2));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_doctor_looks_at_everything_and_says_what_to_do() {
    let platform = Platform::start().await;
    let mut fine = Bot::run(&["doctor"], &platform, &[]);
    assert_eq!(fine.ended(Duration::from_secs(30)).await.code(), Some(0), "{}", fine.log());
    for words in [
        "settings: read",
        "database: reached",
        "clock: within",
        "token: accepted",
        "permissions=2252074691709952",
        "\"Embed Links\"",
    ] {
        assert!(fine.log().contains(words), "{words:?} is not in\n{}", fine.log());
    }
    for (more, code, words) in [
        (("DISCORD_TOKEN", "MTA.wrong.token"), 78, "refuses the token"),
        (("DATABASE_URL", "postgres://nobody@127.0.0.1:9/none"), 75, "WRONG  database"),
        (("HATCHWARD_DISCORD_MESSAGE_CONTENT", "true"), 78, "not switched on in the developer portal"),
        (("HATCHWARD_LOG_FORMAT", "xml"), 78, "write \"auto\", \"text\" or \"json\""),
    ] {
        let mut bot = Bot::run(&["doctor"], &platform, &[more]);
        assert_eq!(bot.ended(Duration::from_secs(30)).await.code(), Some(code), "{more:?}: {}", bot.log());
        assert!(bot.log().contains(words), "{more:?}: {}", bot.log());
    }
    let mut check = Bot::run(&["config", "check"], &platform, &[]);
    assert_eq!(check.ended(Duration::from_secs(10)).await.code(), Some(0));
    assert!(
        check.log().contains("discord.shards = \"auto\"") && check.log().contains("token: given"),
        "{}",
        check.log()
    );
    assert!(!check.log().contains(TOKEN));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_token_in_a_file_is_read() {
    let platform = Platform::start().await;
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("token");
    std::fs::write(&file, format!("{TOKEN}\n")).expect("a file");
    let path = file.display().to_string();
    let _bot = Bot::ready(&platform, &[("DISCORD_TOKEN", ""), ("DISCORD_TOKEN_FILE", &path)]).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn commands_are_registered_once_and_again_only_when_they_changed() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    bot.says("registered the commands").await;
    let registered = platform.requests("PUT", "/commands");
    assert_eq!(registered.len(), 1);
    assert_eq!(registered[0].path, format!("/applications/{BOT}/commands"));
    let names: Vec<&str> =
        registered[0].body.as_array().expect("a list").iter().filter_map(|c| c["name"].as_str()).collect();
    assert_eq!(
        names,
        [
            "odds",
            "ask",
            "explain",
            "collection",
            "remind",
            "pairings",
            "forget",
            "settings",
            "pins",
            "words",
            "help",
            "Odds of this message",
            "Explain the words",
        ]
    );
    let settings = registered[0].body.as_array().and_then(|l| l.iter().find(|c| c["name"] == "settings")).expect("it");
    assert_eq!(settings["default_member_permissions"], "32", "hidden from those who may not");
    drop(bot);
    let again = Bot::ready(&platform, &[]).await;
    platform.still().await;
    assert_eq!(platform.requests("PUT", "/commands").len(), 1, "{}", again.log());
    drop(again);
    let test = Bot::ready(&platform, &[("HATCHWARD_DISCORD_TEST_SERVER", &SERVER.to_string())]).await;
    test.says("registered the commands").await;
    assert_eq!(platform.requests("PUT", &format!("/guilds/{SERVER}/commands")).len(), 1);
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn two_processes_with_shards_of_their_own_share_one_database() {
    let platform = Platform::start_with(Duration::from_secs(41), 1).await;
    let first = Bot::start(&platform, &[("HATCHWARD_DISCORD_SHARDS", "0/2")]);
    let second = Bot::start(&platform, &[("HATCHWARD_DISCORD_SHARDS", "1/2")]);
    first.says("logged in").await;
    second.says("logged in").await;
    let mut logins = platform.with(|s| s.identifies.clone());
    logins.sort_unstable();
    assert_eq!(logins, [(0, 2), (1, 2)], "a range includes its end, and nothing beyond");
    let even = platform.says_in(
        CHANNEL_A,
        Some(EVEN_SERVER),
        MAREN,
        &mention("het clown x clown"),
        &crate::platform::events::Said::default(),
    );
    let odd = platform.says_in(
        CHANNEL_B,
        Some(ODD_SERVER),
        MAREN,
        &mention("het pied x pied"),
        &crate::platform::events::Said::default(),
    );
    platform.answer_to(even).await;
    let answer = platform.answer_to(odd).await;
    first.says("answered a question").await;
    second.says("answered a question").await;
    // A button of one process's answer works in the other: the platform may tell either of them.
    let token = platform.presses(MAREN, &answer, &crate::platform::component(&answer, "Swap"));
    assert_eq!(platform.answer_to_interaction(&token).await["type"], 7);
    // Direct messages come on the first shard.
    let direct = platform.whispers(TJARK, "het clown x clown");
    platform.answer_to(direct).await;
    assert_eq!(platform.answers_to(direct), 1);
    platform.is_content();
}

const CHANNEL_A: u64 = 210_000_000_000_000_001;
const CHANNEL_B: u64 = 210_000_000_000_000_002;

#[tokio::test(flavor = "multi_thread")]
async fn a_second_copy_waits_says_who_runs_the_shards_and_can_take_them_over() {
    let platform = Platform::start().await;
    let mut first = Bot::ready(&platform, &[]).await;
    let second = Bot::start(&platform, &[]);
    second.says("waiting for another process to let its shards go").await;
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(asked).await;
    platform.still().await;
    assert_eq!(platform.answers_to(asked), 1);
    drop(second);
    let third = Bot::run(&["serve", "--take-over"], &platform, &[]);
    third.says("logged in").await;
    let ended = first.ended(Duration::from_secs(15)).await;
    assert_eq!(ended.code(), Some(75), "{}", first.log());
    assert!(first.log().contains("another process took these shards over"), "{}", first.log());
    let asked = platform.says(MAREN, &mention("het pied x pied"));
    platform.answer_to(asked).await;
    platform.still().await;
    assert_eq!(platform.answers_to(asked), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn health_and_numbers_are_served_where_the_operator_wants() {
    let platform = Platform::start().await;
    let free = std::net::TcpListener::bind("127.0.0.1:0").and_then(|l| l.local_addr()).expect("a free port");
    let bot = Bot::ready(&platform, &[("HATCHWARD_HEALTH_LISTEN", &free.to_string())]).await;
    let get = |path: &'static str| {
        let address = format!("http://{free}{path}");
        async move {
            let answer = reqwest::get(&address).await.expect("an answer");
            (answer.status().as_u16(), answer.text().await.expect("a text"))
        }
    };
    assert_eq!(get("/healthz").await.0, 200);
    let listen = free.to_string();
    let mut asked = Bot::run(&["health"], &platform, &[("HATCHWARD_HEALTH_LISTEN", &listen)]);
    assert_eq!(asked.ended(Duration::from_secs(10)).await.code(), Some(0), "{}", asked.log());
    let mut nobody = Bot::run(&["health"], &platform, &[("HATCHWARD_HEALTH_LISTEN", "127.0.0.1:9")]);
    assert_eq!(nobody.ended(Duration::from_secs(10)).await.code(), Some(1));
    assert_eq!(get("/readyz").await, (200, "ready\n".to_owned()));
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(asked).await;
    bot.says("answered a question").await;
    let (status, numbers) = get("/metrics").await;
    assert_eq!(status, 200);
    for line in [
        "hatchward_questions_total{kind=\"message\",outcome=\"answered\"} 1",
        "hatchward_shards_connected 1",
        "hatchward_answer_seconds_bucket",
        "hatchward_logins_left",
        "hatchward_memory_bytes",
    ] {
        assert!(numbers.contains(line), "{line} is not in\n{numbers}");
    }
    assert!(!numbers.contains(&MAREN.to_string()) && !numbers.contains("clown"), "no ids, no words");
}

#[tokio::test(flavor = "multi_thread")]
async fn neither_words_nor_tokens_nor_ids_are_in_the_log() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[("HATCHWARD_LOG_LEVEL", "trace")]).await;
    let asked = platform.says(MAREN, &mention("het clown x clown xylophonist"));
    platform.answer_to(asked).await;
    let token = platform.command(
        MAREN,
        Some(SERVER),
        "ask",
        &json!([{"name": "question", "type": 3, "value": "pied x xylophonist"}]),
    );
    platform.answer_to_interaction(&token).await;
    platform.plan("POST", "/callback", Fault::Status(500, 0), 9);
    platform.command(
        MAREN,
        Some(SERVER),
        "ask",
        &json!([{"name": "question", "type": 3, "value": "pied x xylophonist"}]),
    );
    platform.event("MESSAGE_CREATE", &json!({"content": "xylophonist", "id": "no id"}), Some(SERVER));
    bot.says("could not be answered").await;
    let log = bot.log();
    for never in ["xylophonist", "clown", TOKEN, "interaction-token", &MAREN.to_string(), &SERVER.to_string()] {
        assert!(!log.contains(never), "{never:?} is in the log:\n{log}");
    }
    assert!(log.contains("answered a question"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_database_that_goes_away_does_not_stop_the_odds() {
    // A server of its own, because it is stopped.
    let Some(server) = crate::store::server::Server::start() else { return };
    let mut platform = Platform::start().await;
    platform.database = Some(server.url("hatchward", &server.fresh()));
    let bot = Bot::ready(&platform, &[]).await;
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    let answer = platform.answer_to(asked).await;
    server.down();
    let asked = platform.says(TJARK, &mention("het pied x pied"));
    let second = platform.answer_to(asked).await;
    assert!(text(&second).contains("Piebald"));
    bot.says("the database is away").await;
    // What needs records says so, soon enough for the platform.
    let token = platform.command(MAREN, Some(SERVER), "pairings", &json!([]));
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("code 503"));
    // A button still works: it is read back from the answer's own text.
    let token = platform.presses(MAREN, &answer, &crate::platform::component(&answer, "Swap"));
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains('×'));
    server.up();
    bot.says("the database is back").await;
    let asked = platform.says(MAREN, &mention("het albino x albino"));
    platform.answer_to(asked).await;
    assert_eq!(platform.answers_to(asked), 1);
    platform.is_content();
}
