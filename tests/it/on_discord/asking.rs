//! A member asks: by mention, reply, direct message, command and menu.

use serde_json::json;

use super::mention;
use crate::platform::bot::Bot;
use crate::platform::events::Said;
use crate::platform::{BOT, CHANNEL, MAREN, Platform, SERVER, TJARK, is_id, text};

#[tokio::test(flavor = "multi_thread")]
async fn a_mention_is_answered_with_the_odds_and_a_reply_goes_on() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let asked = platform.says(MAREN, &mention("1.0 pastel het clown x 0.1 clown, 7 eggs?"));
    let answer = platform.answer_to(asked).await;
    assert!(text(&answer).contains("♂ Pastel, het Clown × ♀ Clown, 7 eggs"), "{}", text(&answer));
    assert!(text(&answer).contains("**1/4** · 25 %"), "{}", text(&answer));
    let follow_up = platform.replies(MAREN, &answer, "and with 9 eggs?");
    let answer = platform.answer_to(follow_up).await;
    assert!(text(&answer).contains("9 eggs"), "{}", text(&answer));
    // Another member may go on from it as well.
    let follow_up = platform.replies(TJARK, &answer, "swap them");
    let answer = platform.answer_to(follow_up).await;
    assert!(text(&answer).contains("♂ Clown × ♀ Pastel") || text(&answer).contains("♀ Pastel"), "{}", text(&answer));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_talk_by_mentions_goes_on_without_a_reply() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(asked).await;
    let asked = platform.says(MAREN, &mention("and with 9 eggs?"));
    assert!(text(&platform.answer_to(asked).await).contains("9 eggs"));
    // Nobody else's talk is gone on from.
    let asked = platform.says(TJARK, &mention("and with 9 eggs?"));
    assert!(!text(&platform.answer_to(asked).await).contains("Clown ×"));
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
async fn a_question_back_is_answered_by_a_reply() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let asked = platform.says(MAREN, &mention("axanthic pied x normal"));
    let answer = platform.answer_to(asked).await;
    assert!(text(&answer).contains("Which line"), "{}", text(&answer));
    let reply = platform.replies(MAREN, &answer, "vpi");
    assert!(text(&platform.answer_to(reply).await).contains("het Axanthic (VPI)"));
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
    assert_eq!(answer["private"], false, "odds are for everybody");
    let token =
        platform.command(MAREN, None, "ask", &json!([{"name": "question", "type": 3, "value": "pied x het pied"}]));
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("Piebald"));
    let token = platform.command(MAREN, Some(SERVER), "help", &json!([]));
    let answer = platform.answer_to_interaction(&token).await;
    assert_eq!(answer["private"], true);
    assert!(text(&answer["message"]).lines().count() <= 15, "one screen");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn genes_are_completed_in_a_pairing() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let typed = json!([{"name": "pairing", "type": 3, "value": "pastel x orange dr", "focused": true}]);
    let token = platform.types(MAREN, "odds", &typed);
    let answer = platform.answer_to_interaction(&token).await;
    let choices: Vec<&str> =
        answer["message"]["choices"].as_array().expect("choices").iter().filter_map(|c| c["value"].as_str()).collect();
    assert!(choices.contains(&"pastel x orange dream"), "{choices:?}");
    assert!(choices.len() <= 25);
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn the_menu_reads_anybodys_message_and_answers_privately() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let written = platform.says(TJARK, "thinking of 1.0 pied x 0.1 het pied this year, what do you think?");
    let token = platform.picks(MAREN, "Odds of this message", written);
    let answer = platform.answer_to_interaction(&token).await;
    assert!(text(&answer["message"]).contains("♂ Piebald × ♀"), "{answer}");
    assert_eq!(answer["private"], true);
    let talk = platform.says(TJARK, "she refused again, third week");
    let token = platform.picks(MAREN, "Odds of this message", talk);
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("no pairing in that message"));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn an_edited_question_changes_its_answer_and_adds_none() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(asked).await;
    platform.edits(asked, &mention("het pied x pied"));
    let changed = platform.until_answer(asked, |m| text(m).contains("Piebald")).await;
    assert!(!text(&changed).contains("Clown"));
    platform.edits(asked, &mention("never mind, thanks"));
    platform.until_answer(asked, |m| text(m).contains("was edited")).await;
    assert_eq!(platform.answers_to(asked), 1, "an edit adds no answer");
    // A message that asked nothing is not answered because it is edited.
    let other = platform.says(MAREN, "good morning");
    platform.edits(other, &mention("het clown x clown"));
    platform.still().await;
    assert_eq!(platform.answers_to(other), 0);
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn an_edited_question_changes_its_letter_where_that_stands() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    let letter = |name: &'static str| {
        let platform = platform.clone();
        async move {
            platform
                .until("a letter", crate::platform::WAIT, |s| {
                    let here = |m: &&serde_json::Value| is_id(&m["channel_id"], crate::platform::DIRECT);
                    s.messages.values().filter(here).find(|m| text(m).contains(name)).cloned()
                })
                .await
        }
    };
    let asked = platform.says(MAREN, &mention("add a ball python: 0.1 clown named Juno"));
    let first = letter("Saved Juno").await;
    bot.says("answered a question").await;
    platform.edits(asked, &mention("add a ball python: 0.1 clown het pied named Juno"));
    let changed = letter("saved before").await;
    assert_eq!(first["id"], changed["id"], "changed in its place");
    assert_eq!(platform.answers_to(asked), 0, "nothing in the channel");
    // The letter is the member's own: it stays where the question is deleted.
    platform.deletes(asked);
    let other = platform.says(TJARK, &mention("het clown x clown"));
    platform.answer_to(other).await;
    letter("saved before").await;
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_deleted_question_takes_its_answer_along() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(asked).await;
    platform.deletes(asked);
    platform
        .until("the answer to go", crate::platform::WAIT, |s| {
            s.messages.values().all(|m| !is_id(&m["author"]["id"], BOT)).then_some(())
        })
        .await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_thread_and_a_spoken_name_in_the_middle_are_heard() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let asked =
        platform.says_in(CHANNEL, Some(SERVER), MAREN, &format!("hey <@!{BOT}> het clown x clown?"), &Said::default());
    assert!(text(&platform.answer_to(asked).await).contains("Clown"));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn only_the_least_intents_are_asked_for() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    assert_eq!(platform.with(|s| s.intents), 1 | 1 << 9 | 1 << 12, "servers, their messages, direct messages");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_plan_is_for_who_asked_alone() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let plan = "what is the way to a clown pied? plan the project for me, starting from a pastel het clown and a pied";
    let token = platform.command(MAREN, Some(SERVER), "ask", &json!([{"name": "question", "type": 3, "value": plan}]));
    let answer = platform.answer_to_interaction(&token).await;
    let asked = platform.says(MAREN, &mention(plan));
    let letter = platform.until("a letter", crate::platform::WAIT, |s| {
        s.messages.values().find(|m| is_id(&m["channel_id"], crate::platform::DIRECT)).cloned()
    });
    let letter = letter.await;
    assert_eq!(platform.answers_to(asked), 0, "a plan is not shown in the channel");
    assert!(!text(&letter).is_empty());
    println!("{} {answer}", text(&letter));
    platform.is_content();
}
