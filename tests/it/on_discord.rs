//! The real program on a stand-in of the platform: what members see.

use std::time::Duration;

use serde_json::json;

use crate::platform::bot::Bot;
use crate::platform::gateway::Order;
use crate::platform::{BOT, MAREN, Platform, SERVER, text};

fn mention(words: &str) -> String {
    format!("<@{BOT}> {words}")
}

#[tokio::test(flavor = "multi_thread")]
async fn a_mention_is_answered_with_the_odds() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let asked = platform.says(MAREN, &mention("1.0 pastel het clown x 0.1 clown, 7 eggs?"));
    let answer = platform.answer_to(asked).await;
    assert!(text(&answer).contains("♂ Pastel, het Clown × ♀ Clown, 7 eggs"), "{}", text(&answer));
    assert!(text(&answer).contains("**1/4** · 25 %"), "{}", text(&answer));
    let follow_up = platform.replies(MAREN, &answer, "and with 9 eggs?");
    let answer = platform.answer_to(follow_up).await;
    assert!(text(&answer).contains("9 eggs"), "{}", text(&answer));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_direct_message_is_answered_without_being_named() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let asked = platform.whispers(MAREN, "odds on a clown pied from dh clown pied x dh clown pied");
    let answer = platform.answer_to(asked).await;
    assert!(text(&answer).contains("1/16 per egg"), "{}", text(&answer));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_command_takes_free_text() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let options = json!([{"name": "pairing", "type": 3, "value": "het clown x het clown"}, {"name": "eggs", "type": 4, "value": 6}]);
    let token = platform.command(MAREN, Some(SERVER), "odds", &options);
    let answer = platform.answer_to_interaction(&token).await;
    assert!(text(&answer["message"]).contains("66 % het Clown"), "{answer}");
    assert_eq!(answer["private"], false);
    let token = platform.command(MAREN, Some(SERVER), "help", &json!([]));
    let answer = platform.answer_to_interaction(&token).await;
    assert_eq!(answer["private"], true);
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_dropped_line_is_resumed_and_what_was_said_meanwhile_is_answered() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    platform.order(&Order::Tell(json!({"op": 7, "d": null, "s": null, "t": null})));
    platform.back(1, 1, Duration::from_secs(10)).await;
    platform.order(&Order::Close(4000));
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    let answer = platform.answer_to(asked).await;
    assert!(text(&answer).contains("**1/2** · 50 %"), "{}", text(&answer));
    platform.back(1, 2, Duration::from_secs(10)).await;
    drop(bot);
}

#[tokio::test(flavor = "multi_thread")]
async fn told_to_stop_it_leaves_the_line_and_ends_well() {
    let platform = Platform::start().await;
    let mut bot = Bot::ready(&platform, &[]).await;
    bot.signal("TERM");
    let status = bot.ended(Duration::from_secs(10)).await;
    assert_eq!(status.code(), Some(0), "{}", bot.log());
}
