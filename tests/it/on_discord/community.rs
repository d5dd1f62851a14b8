//! A community: explanations that are posted and pinned, its own words, and the words of somebody's message.

use serde_json::{Value, json};

use super::{mention, pressed};
use crate::platform::bot::Bot;
use crate::platform::{BOT, CHANNEL, Fault, MAREN, Platform, SERVER, TJARK, WAIT, component, is_id, text};

/// What the program answers to /pins.
async fn pins(platform: &Platform, who: u64, topic: &str) -> Value {
    let options = if topic.is_empty() { json!([]) } else { json!([{"name": "topic", "type": 3, "value": topic}]) };
    let token = platform.command(who, Some(SERVER), "pins", &options);
    let answer = platform.answer_to_interaction(&token).await;
    assert_eq!(answer["private"], true, "what moderators do is shown to them alone");
    answer["message"].clone()
}

/// What the program answers to a part of /words.
async fn words(platform: &Platform, who: u64, part: &str, options: &Value) -> Value {
    let token = platform.command(who, Some(SERVER), "words", &json!([{"name": part, "type": 1, "options": options}]));
    platform.answer_to_interaction(&token).await
}

/// Posts of the program in the usual channel that nobody asked for by a message or command.
fn posts(platform: &Platform) -> Vec<Value> {
    platform.with(|s| {
        let ours = |m: &&Value| {
            is_id(&m["author"]["id"], BOT) && is_id(&m["channel_id"], CHANNEL) && m["flags"].as_u64() == Some(0)
        };
        s.messages.values().filter(ours).cloned().collect()
    })
}

/// Writes a topic for the server and publishes it.
async fn publish(platform: &Platform, topic: &str, words: &str) -> Value {
    let editor = self::words(platform, MAREN, "write", &json!([{"name": "topic", "type": 3, "value": topic}])).await;
    let id = editor["message"]["custom_id"].as_str().expect("an id").to_owned();
    let sent = platform.submits(MAREN, &id, &[("words", words)], None);
    let shown = platform.answer_to_interaction(&sent).await;
    pressed(platform, MAREN, &shown["message"], "Publish").await
}

#[tokio::test(flavor = "multi_thread")]
async fn a_topic_is_posted_pinned_edited_in_place_replaced_and_unpinned() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    assert!(text(&pins(&platform, MAREN, "possible het").await).contains("Posted and pinned"));
    let [post] = &posts(&platform)[..] else { panic!("one post") };
    assert!(post["pinned"] == true && text(post).contains("66"), "{post}");
    // Nothing has changed: nothing is edited, also not after a restart.
    drop(bot);
    let _next = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let panel = pins(&platform, MAREN, "").await;
    let told = pressed(&platform, MAREN, &panel, "Bring all up to date").await;
    assert!(text(&told["message"]).contains("0 changed"), "{told}");
    assert_eq!(platform.requests("PATCH", "/channels/").len(), 0, "no needless edit");
    // The community's own words reach the post by themselves.
    let published = publish(&platform, "possible het", "Maybe it carries the gene, maybe not.").await;
    assert!(text(&published["message"]).contains("Published as version"), "{published}");
    platform
        .until("the post to change in place", WAIT, |s| {
            s.messages.values().any(|m| m["id"] == post["id"] && text(m).contains("maybe not")).then_some(())
        })
        .await;
    assert_eq!(posts(&platform).len(), 1, "edited in place, not posted again");
    // Another topic takes its place.
    let chosen = panel_choice(&platform, "Put another topic").await;
    let form = platform.answer_to_interaction(&chosen).await["message"].clone();
    let id = form["custom_id"].as_str().expect("an id").to_owned();
    let sent = platform.submits(MAREN, &id, &[("words", "double het")], None);
    assert!(text(&platform.answer_to_interaction(&sent).await["message"]).contains("Replaced"));
    assert!(posts(&platform).iter().all(|p| text(p).contains("1/16")), "{:?}", posts(&platform));
    let chosen = panel_choice(&platform, "Unpin one").await;
    assert!(text(&platform.answer_to_interaction(&chosen).await["message"]).contains("Unpinned"));
    assert!(posts(&platform).iter().all(|p| p["pinned"] == false));
    platform.is_content();
}

/// Chooses the first post in a select of the panel.
async fn panel_choice(platform: &Platform, select: &str) -> String {
    let panel = pins(platform, MAREN, "").await;
    let parts = panel["components"].as_array().expect("rows").iter().map(|row| row["components"][0].clone());
    let wanted = parts.into_iter().find(|p| p["placeholder"].as_str().is_some_and(|t| t.contains(select)));
    let wanted = wanted.unwrap_or_else(|| panic!("no {select}: {panel}"));
    let value = wanted["options"][0]["value"].as_str().expect("a post").to_owned();
    platform.chooses(MAREN, &panel, wanted["custom_id"].as_str().expect("an id"), &[&value])
}

#[tokio::test(flavor = "multi_thread")]
async fn refusals_and_limits_of_pins_are_said_with_what_to_do() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    platform.plan("PUT", "/pins/", Fault::Status(403, 50013), 1);
    assert!(text(&pins(&platform, MAREN, "het").await).contains("\"Pin Messages\""));
    platform.plan("PUT", "/pins/", Fault::Status(400, 30003), 1);
    assert!(text(&pins(&platform, MAREN, "het").await).contains("250"));
    platform.plan("POST", "/messages", Fault::Status(403, 50001), 1);
    assert!(text(&pins(&platform, MAREN, "het").await).contains("\"Send Messages\""));
    assert!(text(&pins(&platform, MAREN, "the weather of tomorrow in Bremen").await).contains("no topic"));
    for topic in ["het", "visual", "double het", "proving out", "slugs"] {
        assert!(text(&pins(&platform, MAREN, topic).await).contains("Posted and pinned"), "{topic}");
    }
    assert!(text(&pins(&platform, MAREN, "quarantine").await).contains("all I pin in one"));
    // A post that somebody deletes is noticed, and said once.
    let pinned = posts(&platform).into_iter().find(|p| p["pinned"] == true).expect("one");
    platform.deletes(pinned["id"].as_str().and_then(|id| id.parse().ok()).expect("an id"));
    bot.says("posts of ours were deleted").await;
    assert!(text(&pins(&platform, MAREN, "quarantine").await).contains("Posted and pinned"));
    assert_eq!(bot.log().matches("posts of ours were deleted").count(), 1);
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_start_here_answers_privately_whoever_chooses() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    assert!(text(&pins(&platform, MAREN, "het, possible het, quarantine").await).contains("Posted and pinned"));
    let [post] = &posts(&platform)[..] else { panic!("one post") };
    assert!(text(post).contains("Start here"), "{post}");
    let values: Vec<&str> = post["components"][0]["components"][0]["options"]
        .as_array()
        .expect("topics")
        .iter()
        .filter_map(|o| o["value"].as_str())
        .collect();
    assert_eq!(values, ["het", "possible_het", "quarantine"]);
    platform.with(|s| s.permissions = Some(0));
    let token = platform.chooses(TJARK, post, &component(post, "topic"), &["possible_het"]);
    let answer = platform.answer_to_interaction(&token).await;
    assert!(answer["private"] == true && text(&answer["message"]).contains("66"), "{answer}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn only_moderators_post_and_word() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    pins(&platform, MAREN, "het").await;
    let panel = pins(&platform, MAREN, "").await;
    let editor = words(&platform, MAREN, "write", &json!([{"name": "topic", "type": 3, "value": "het"}])).await;
    // The platform hides the commands; the program checks all the same, at every press.
    platform.with(|s| s.permissions = Some(1 << 11));
    assert!(text(&pins(&platform, TJARK, "visual").await).contains("code 403"));
    let refresh = pressed(&platform, TJARK, &panel, "Bring all").await;
    assert!(text(&refresh["message"]).contains("code 403"), "{refresh}");
    let id = editor["message"]["custom_id"].as_str().expect("an id").to_owned();
    let sent = platform.submits(TJARK, &id, &[("words", "mine now")], None);
    assert!(text(&platform.answer_to_interaction(&sent).await["message"]).contains("code 403"));
    for (part, options) in [
        ("write", json!([{"name": "topic", "type": 3, "value": "het"}])),
        (
            "short",
            json!([{"name": "word", "type": 3, "value": "DG"}, {"name": "means", "type": 3, "value": "desert ghost"}]),
        ),
        ("caution", json!([{"name": "gene", "type": 3, "value": "spider"}])),
        ("list", json!([])),
        ("revert", json!([{"name": "topic", "type": 3, "value": "het"}, {"name": "version", "type": 4, "value": 1}])),
        ("remove", json!([{"name": "name", "type": 3, "value": "het"}])),
    ] {
        let told = words(&platform, TJARK, part, &options).await;
        assert!(text(&told["message"]).contains("code 403") && told["private"] == true, "{part}: {told}");
    }
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_text_is_drafted_refused_given_back_published_and_reverted() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let write = json!([{"name": "topic", "type": 3, "value": "het"}]);
    let editor = words(&platform, MAREN, "write", &write).await;
    assert_eq!(editor["type"], 9);
    let input = &editor["message"]["components"][2]["components"][0];
    assert!(input["max_length"] == 4000 && input["value"].as_str().is_some_and(|v| v.contains("het")), "{editor}");
    let id = editor["message"]["custom_id"].as_str().expect("an id").to_owned();
    for (typed, why) in [
        ("Ask @everyone about it.", "call people"),
        ("Read https://example.org first.", "link"),
        ("||hidden|| words", "mark-up"),
        ("a hid\u{200b}den sign", "unseen sign"),
        ("It is {nothing} of all.", "no figure"),
        (" ", "nothing is written"),
        (&"too long ".repeat(500), "4500 characters, 4000 are allowed"),
    ] {
        let sent = platform.submits(MAREN, &id, &[("words", typed)], None);
        let refused = platform.answer_to_interaction(&sent).await;
        assert!(text(&refused["message"]).contains(why), "{typed:?}: {refused}");
        assert_eq!(refused["private"], true);
        // The draft is behind the button, as it was typed.
        let again = pressed(&platform, MAREN, &refused["message"], "Edit again").await;
        let kept = again["message"]["components"][2]["components"][0]["value"].as_str().unwrap_or_default();
        // A form takes 4,000 characters; the file beside it takes all.
        let typed_there: String = typed.chars().take(3900).collect();
        assert!(kept.trim().starts_with(typed_there.trim()), "nothing typed is lost: {kept:?}");
        let file = platform.content(&refused["message"]["attachments"][0]);
        assert_eq!(String::from_utf8(file).expect("text"), typed);
    }
    let sent = platform.submits(MAREN, &id, &[("words", "In our group a het is a hidden carrier.")], None);
    let shown = platform.answer_to_interaction(&sent).await;
    assert!(text(&shown["message"]).contains("hidden carrier"), "{shown}");
    let hears = |wanted: bool| {
        let platform = platform.clone();
        async move {
            let asked = platform.says(TJARK, &mention("what does het mean?"));
            let answer = platform.answer_to(asked).await;
            assert_eq!(text(&answer).contains("hidden carrier"), wanted, "{}", text(&answer));
        }
    };
    hears(false).await;
    let published = pressed(&platform, MAREN, &shown["message"], "Publish").await;
    assert!(text(&published["message"]).contains("version 1"), "{published}");
    hears(true).await;
    let twice = pressed(&platform, MAREN, &shown["message"], "Publish").await;
    assert!(text(&twice["message"]).contains("code 410"), "published once: {twice}");
    assert!(text(&publish(&platform, "het", "Another wording.").await["message"]).contains("version 2"));
    hears(false).await;
    let list = words(&platform, MAREN, "list", &json!([])).await;
    let list = text(&list["message"]);
    assert!(list.contains("version 2") && list.contains(&format!("<@{MAREN}>")), "{list}");
    let revert = json!([{"name": "topic", "type": 3, "value": "het"}, {"name": "version", "type": 4, "value": 1}]);
    assert!(text(&words(&platform, MAREN, "revert", &revert).await["message"]).contains("version 3"));
    hears(true).await;
    words(&platform, MAREN, "remove", &json!([{"name": "name", "type": 3, "value": "het"}])).await;
    hears(false).await;
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_short_name_holds_in_its_server_alone_and_clashes_are_said() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let short = |word: &str, means: &str| json!([{"name": "word", "type": 3, "value": word}, {"name": "means", "type": 3, "value": means}]);
    for (word, means) in [("pied", "clown"), ("female", "clown"), ("QZ", "made of cheese")] {
        let told = words(&platform, MAREN, "short", &short(word, means)).await;
        assert!(text(&told["message"]).contains("Nothing was changed"), "{word}: {told}");
    }
    let told = words(&platform, MAREN, "short", &short("QZ", "desert ghost")).await;
    assert!(text(&told["message"]).contains("now means desert ghost"), "{told}");
    drop(bot);
    let _next = Bot::ready(&platform, &[("HATCHWARD_DISCORD_CATCH_UP_MINUTES", "0")]).await;
    let asked = platform.says(TJARK, &mention("ball python: het qz x qz"));
    let answer = text(&platform.answer_to(asked).await);
    assert!(
        answer.contains("Desert Ghost") && answer.to_lowercase().contains("qz"),
        "it says what it took the word for: {answer}"
    );
    let elsewhere = platform.whispers(TJARK, "ball python: het qz x qz");
    assert!(!text(&platform.answer_to(elsewhere).await).contains("Desert Ghost"));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn the_words_of_anybodys_message_are_explained_privately() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let written = platform.says(TJARK, "looking for a 66% het clown, ball python, proven breeder, dh welcome");
    let token = platform.picks(MAREN, "Explain the words", written);
    let answer = platform.answer_to_interaction(&token).await;
    assert!(answer["private"] == true && text(&answer["message"]).contains("Clown: Recessive"), "{answer}");
    let token = platform.chooses(MAREN, &answer["message"], &component(&answer["message"], "pick"), &["0"]);
    let more = platform.answer_to_interaction(&token).await;
    assert!(text(&more["message"]).lines().count() > 3, "{more}");
    let talk = platform.says(TJARK, "lovely weather today");
    let token = platform.picks(MAREN, "Explain the words", talk);
    let told = platform.answer_to_interaction(&token).await;
    assert!(text(&told["message"]).contains("no word in that message"), "{told}");
    platform.is_content();
}
