//! Everything that people and platforms do wrong: each has a clear outcome, and nothing crashes.

use serde_json::json;

use super::mention;
use crate::platform::bot::Bot;
use crate::platform::events::Said;
use crate::platform::{BOT, CHANNEL, DIRECT, Fault, MAREN, Platform, SERVER, TJARK, is_id, text};

/// After all of it the program still answers.
async fn alive(platform: &Platform) {
    let asked = platform.says(TJARK, &mention("het clown x clown"));
    assert!(text(&platform.answer_to(asked).await).contains("Clown"));
    platform.is_content();
}

/// What comes of it.
#[derive(Debug, Clone, Copy)]
enum Outcome {
    /// No answer.
    Silence,
    /// An answer that holds these words.
    Says(&'static str),
}

/// Every kind of bad input with its outcome, said to one program one after the other, by a keeper whose record must be
/// there at the end.
#[tokio::test(flavor = "multi_thread")]
async fn each_kind_of_bad_input_has_its_outcome() {
    use Outcome::{Says, Silence};
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let saved = platform.whispers(MAREN, "add a ball python: 0.1 clown named Juno");
    assert!(text(&platform.answer_to(saved).await).contains("Saved Juno"));
    let plain = Said::default;
    let crowd = (0..50).map(|n| format!("<@{}>", 500_000_000_000_000_000_u64 + n)).collect::<Vec<_>>().join(" ");
    let odds = "het clown x clown";
    for (what, server, words, said, outcome) in [
        ("a bot", true, mention(odds), Said { bot: true, ..plain() }, Silence),
        ("a webhook", true, mention(odds), Said { webhook: true, ..plain() }, Silence),
        ("2,000 characters of noise", true, mention(&"x".repeat(1976)), plain(), Says("heard no question")),
        ("50 mentions", true, mention(&format!("{crowd} {odds}")), plain(), Says("Clown")),
        ("a code block", true, format!("```\n{}\n```", mention(odds)), plain(), Silence),
        ("a question beside a code block", true, mention(&format!("{odds} ```x pied```")), plain(), Says("Clown × ")),
        ("spoilers", true, mention("||het clown|| x ||clown||, 7 eggs"), plain(), Says("7 eggs")),
        ("a quoted mention", true, format!("> {}", mention(odds)), plain(), Silence),
        ("a quote and words", true, format!("> pied x pied\n{}", mention(odds)), plain(), Says("Clown")),
        ("a forwarded mention", true, mention(odds), Said { forwarded: true, ..plain() }, Silence),
        ("a forwarded letter", false, odds.to_owned(), Said { forwarded: true, ..plain() }, Says("words only")),
        ("emoji of a server", true, mention("<:clown:123456789012345678>"), plain(), Says("words only")),
        ("a sticker", false, String::new(), Said { sticker: true, ..plain() }, Says("words only")),
        ("a picture", false, String::new(), Said { picture: true, ..plain() }, Says("words only")),
        ("a role of that number", true, format!("<@&{BOT}> {odds}"), plain(), Silence),
        ("a name that calls all", true, mention("add a ball python: 0.1 clown named @everyone"), plain(), Silence),
    ] {
        let (channel, server) = if server { (CHANNEL, Some(SERVER)) } else { (DIRECT, None) };
        let asked = platform.says_in(channel, server, MAREN, &words, &said);
        match outcome {
            Says(words) => {
                let answer = text(&platform.answer_to(asked).await);
                assert!(answer.contains(words), "{what}: {answer}");
                assert!(answer.chars().count() <= 2000, "{what}: {} characters", answer.chars().count());
            }
            Silence => {
                // What is asked after it is answered, and nothing came of it meanwhile.
                alive(&platform).await;
                assert_eq!(platform.answers_to(asked), 0, "{what}");
            }
        }
    }
    let token = platform.command(MAREN, Some(SERVER), "collection", &json!([]));
    let list = text(&platform.answer_to_interaction(&token).await["message"]);
    assert!(list.contains("Juno"), "no record is lost: {list}");
    assert!(!bot.log().contains("panicked") && !bot.log().contains("\"WARN\""), "{}", bot.log());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_talk_outlives_lost_permissions_closed_doors_and_deleted_answers() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let asked = platform.says(MAREN, &mention("1.0 pastel x 0.1 clown"));
    let answer = platform.answer_to(asked).await;
    // The server takes the permission to write away in the middle of the talk.
    platform.plan("POST", "/messages", Fault::Status(403, 50013), 2);
    let refused = platform.replies(MAREN, &answer, "and in 9 eggs?");
    bot.says_times("the answer may not be given there", 1).await;
    assert_eq!(platform.answers_to(refused), 0);
    // Commands and buttons need no permission of the channel.
    let swapped = platform.presses(MAREN, &answer, &crate::platform::component(&answer, "Swap"));
    assert_eq!(platform.answer_to_interaction(&swapped).await["type"], 7);
    // Given back, the talk goes on.
    let more = platform.replies(MAREN, &answer, "and in 5 eggs?");
    assert!(text(&platform.answer_to(more).await).contains("5 eggs"));
    // A member closes their direct messages: what they told is saved all the same, and where it is shown is said.
    platform.with(|s| s.closed_direct = true);
    let told = platform.says(MAREN, &mention("add a ball python: 0.1 clown named Juno"));
    assert!(text(&platform.answer_to(told).await).contains("/ask"));
    bot.says_times("the answer may not be given there", 2).await;
    let token = platform.command(MAREN, Some(SERVER), "collection", &json!([]));
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("Juno"));
    platform.with(|s| s.closed_direct = false);
    // A button of an answer that a moderator has deleted meanwhile, and a reply to it.
    let asked = platform.says(TJARK, &mention("het pied x pied"));
    let answer = platform.answer_to(asked).await;
    platform.deletes(answer["id"].as_str().and_then(|id| id.parse().ok()).expect("an id"));
    let pressed = platform.presses(TJARK, &answer, &crate::platform::component(&answer, "Swap"));
    assert!(text(&platform.answer_to_interaction(&pressed).await["message"]).contains('×'));
    alive(&platform).await;
    assert!(!bot.log().contains("panicked"), "{}", bot.log());
}

#[tokio::test(flavor = "multi_thread")]
async fn bots_webhooks_and_talk_among_others_are_not_answered() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    let words = mention("het clown x clown");
    let mut silent = vec![
        platform.says_in(CHANNEL, Some(SERVER), MAREN, &words, &Said { bot: true, ..Said::default() }),
        platform.says_in(CHANNEL, Some(SERVER), MAREN, &words, &Said { webhook: true, ..Said::default() }),
        platform.says_in(CHANNEL, Some(SERVER), BOT, &words, &Said { bot: true, ..Said::default() }),
        platform.says(MAREN, "het clown x clown, what do I get?"),
        platform.says(MAREN, &format!("`<@{BOT}> het clown x clown`")),
        platform.says(MAREN, &format!("> <@{BOT}> het clown x clown")),
        platform.says(MAREN, &format!("<@&{BOT}> het clown x clown")),
    ];
    // A reply to the bot that only says thanks wants no answer.
    let asked = platform.says(TJARK, &mention("pied x het pied"));
    let answer = platform.answer_to(asked).await;
    silent.push(platform.replies(TJARK, &answer, "thanks a lot!"));
    platform.still().await;
    for message in silent {
        assert_eq!(platform.answers_to(message), 0, "{:?}", platform.with(|s| s.messages[&message]["content"].clone()));
    }
    alive(&platform).await;
    drop(bot);
}

#[tokio::test(flavor = "multi_thread")]
async fn noise_is_answered_shortly_and_pings_nobody() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let crowd = (0..50).map(|n| format!("<@{}>", 500_000_000_000_000_000_u64 + n)).collect::<Vec<_>>().join(" ");
    for noise in [
        "x".repeat(1970),
        "z\u{0335}\u{0321}\u{0353}\u{0489}a\u{034d}".repeat(180),
        "\u{202e}nwolc x nwolc teh\u{202c}".to_owned(),
        "@everyone @here <@1> <@&2> het clown x clown".to_owned(),
        crowd,
        "```\nhet clown x clown\n``` ||@everyone|| ~~**__*".to_owned(),
        "'; drop table discord_turn; -- <script>alert(1)</script>".to_owned(),
        "🐍".repeat(400),
        "het \"@everyone\" x [click](https://example.org) clown".to_owned(),
        "<:clown:123456789012345678> <:pied:123456789012345678>".to_owned(),
        String::new(),
    ] {
        let asked = platform.says(MAREN, &mention(&noise));
        let answer = platform.answer_to(asked).await;
        assert!(!text(&answer).trim().is_empty());
        assert!(!text(&answer).contains("@everyone") || text(&answer).contains("\\@everyone"), "{}", text(&answer));
    }
    alive(&platform).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn stickers_pictures_and_forwarded_messages_hold_no_words() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    for said in [
        Said { sticker: true, ..Said::default() },
        Said { picture: true, ..Said::default() },
        Said { forwarded: true, ..Said::default() },
    ] {
        let words = if said.forwarded { "het clown x clown" } else { "" };
        let asked = platform.says_in(DIRECT, None, MAREN, words, &said);
        let answer = platform.answer_to(asked).await;
        assert!(text(&answer).contains("words only"), "{}", text(&answer));
    }
    let asked =
        platform.says_in(CHANNEL, Some(SERVER), MAREN, &mention("x"), &Said { forwarded: true, ..Said::default() });
    platform.still().await;
    assert_eq!(platform.answers_to(asked), 0, "a forwarded mention was meant for others");
    alive(&platform).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_picture_beside_a_question_does_not_hide_it_and_a_deleted_answer_is_not_missed() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    let said = Said { picture: true, ..Said::default() };
    let asked = platform.says_in(CHANNEL, Some(SERVER), MAREN, &mention("het clown x clown"), &said);
    let answer = platform.answer_to(asked).await;
    assert!(text(&answer).contains("Clown"), "{}", text(&answer));
    // A moderator deletes the answer, and the question is edited after that.
    platform.deletes(answer["id"].as_str().and_then(|id| id.parse().ok()).expect("an id"));
    platform.edits(asked, &mention("het pied x pied"));
    bot.says("the place of the answer is gone").await;
    platform.still().await;
    assert_eq!(platform.answers_to(asked), 0, "an edit adds no answer");
    // A press that was on its way to it is still answered.
    let token = platform.presses(TJARK, &answer, &crate::platform::component(&answer, "Swap"));
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains('×'));
    alive(&platform).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_quoted_question_is_answered_by_its_own_words() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let asked = platform.says(MAREN, &format!("> het pied x pied\n<@{BOT}> het clown x clown ||7 eggs||"));
    let answer = text(&platform.answer_to(asked).await);
    assert!(answer.contains("Clown") && answer.contains("7 eggs") && !answer.contains("Piebald"), "{answer}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn options_of_the_wrong_type_and_unknown_commands_are_told_so() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    for (name, options) in [
        ("odds", json!([{"name": "pairing", "type": 4, "value": 7}])),
        ("odds", json!([])),
        (
            "odds",
            json!([{"name": "pairing", "type": 3, "value": "het clown x clown"}, {"name": "eggs", "type": 3, "value": "x"}]),
        ),
        ("no-such-command", json!([])),
    ] {
        let token = platform.command(MAREN, Some(SERVER), name, &options);
        let answer = platform.answer_to_interaction(&token).await;
        assert!(text(&answer["message"]).contains("code 400"), "{name} {options}: {answer}");
        assert_eq!(answer["private"], true);
    }
    assert!(!bot.log().contains("panicked"));
    alive(&platform).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lost_permission_is_noted_once_and_nothing_is_lost() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    platform.plan("POST", "/messages", Fault::Status(403, 50013), 2);
    platform.says(MAREN, &mention("het clown x clown"));
    bot.says("the answer may not be given there").await;
    platform.plan("POST", "/messages", Fault::Status(403, 50001), 1);
    platform.says(MAREN, &mention("het pied x pied"));
    platform.plan("POST", "/messages", Fault::Status(404, 10003), 1);
    platform.says(MAREN, &mention("het albino x albino"));
    bot.says("the place of the answer is gone").await;
    assert_eq!(bot.log().matches("may not be given there").count(), 2, "{}", bot.log());
    alive(&platform).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn where_cards_are_not_allowed_the_answer_is_plain_text() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    platform.with(|s| s.no_embeds = true);
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    let answer = platform.answer_to(asked).await;
    assert!(answer["content"].as_str().is_some_and(|c| c.contains("**1/2** · 50 %")), "{answer}");
    assert_eq!(answer["embeds"], json!([]));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_closed_door_for_direct_messages_is_no_fault() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    platform.with(|s| s.closed_direct = true);
    platform.whispers(MAREN, "het clown x clown");
    bot.says("the answer may not be given there").await;
    alive(&platform).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_member_who_asks_too_much_is_told_once_and_others_are_answered() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "3")]).await;
    for n in 1..=8 {
        let asked = platform.says(MAREN, &mention(&format!("het clown x clown, {n} eggs")));
        if n <= 3 {
            platform.answer_to(asked).await;
        }
    }
    platform.still().await;
    let told = platform.with(|s| s.messages.values().filter(|m| text(m).contains("code 429")).count());
    assert_eq!(told, 1, "the wait is said once");
    let private =
        platform.with(|s| s.messages.values().any(|m| text(m).contains("code 429") && is_id(&m["channel_id"], DIRECT)));
    assert!(private, "and privately");
    alive(&platform).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn blocked_members_and_servers_are_not_answered() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_BLOCKED", &MAREN.to_string())]).await;
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    platform.still().await;
    assert_eq!(platform.answers_to(asked), 0);
    alive(&platform).await;
}
