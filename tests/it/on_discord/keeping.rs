//! A keeper's own animals: told by direct message, mention and command, shown to them alone, and erased with all else.

use serde_json::{Value, json};

use super::{mention, pressed};
use crate::platform::bot::Bot;
use crate::platform::{DIRECT, Fault, MAREN, Platform, SERVER, TJARK, WAIT, component, is_id, text};

/// Says something by direct message, and gives the answer.
async fn whispered(platform: &Platform, words: &str) -> Value {
    let asked = platform.whispers(MAREN, words);
    platform.answer_to(asked).await
}

/// What a member hears to /ask: the text, and whether only they see it.
async fn asked(platform: &Platform, who: u64, words: &str) -> Value {
    let options = json!([{"name": "question", "type": 3, "value": words}]);
    let token = platform.command(who, Some(SERVER), "ask", &options);
    platform.answer_to_interaction(&token).await
}

async fn collection(platform: &Platform, who: u64) -> Value {
    let token = platform.command(who, Some(SERVER), "collection", &json!([]));
    platform.answer_to_interaction(&token).await
}

#[tokio::test(flavor = "multi_thread")]
async fn animals_are_told_and_spoken_of_by_direct_message() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let saved = whispered(&platform, "add a ball python: 2022 female pastel het clown named Juno, 1400g").await;
    assert!(text(&saved).contains("Saved Juno"), "{}", text(&saved));
    let saved = whispered(&platform, "add a ball python: 1.0 clown named Duke").await;
    assert!(text(&saved).contains("Duke"), "{}", text(&saved));
    // A pronoun, the talk going on, and a question about two of them by name.
    let weighed = whispered(&platform, "he weighs 900 g").await;
    assert!(text(&weighed).contains("Duke") && text(&weighed).contains("900 g"), "{}", text(&weighed));
    let odds = whispered(&platform, "odds on a clown if I put Duke on Juno").await;
    assert!(text(&odds).contains("Duke × Juno") && text(&odds).contains("1/2 per egg"), "{}", text(&odds));
    let more = whispered(&platform, "and in 7 eggs?").await;
    assert!(text(&more).contains("99.2 %"), "{}", text(&more));
    // The buttons under odds by name work on the genes.
    let how = pressed(&platform, MAREN, &odds, "How was").await;
    assert!(text(&how["message"]).contains("1/2"), "{how}");
    let undone = whispered(&platform, "undo").await;
    assert!(text(&undone).contains("Taken back"), "{}", text(&undone));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_asked_back_is_answered_after_a_restart_and_then_forgotten() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    whispered(&platform, "add a ball python: 0.1 clown named Juno").await;
    // A bare number beside a name may be kilos, so it is asked.
    let back = whispered(&platform, "Juno 1.4").await;
    assert!(text(&back).contains("1.4 kg?"), "{}", text(&back));
    drop(bot);
    let _next = Bot::ready(&platform, &[("HATCHWARD_DISCORD_CATCH_UP_MINUTES", "0")]).await;
    let reply = platform.says_in(
        DIRECT,
        None,
        MAREN,
        "yes",
        &crate::platform::events::Said {
            reply_to: back["id"].as_str().and_then(|i| i.parse().ok()),
            ..Default::default()
        },
    );
    let answer = platform.answer_to(reply).await;
    assert!(text(&answer).contains("1,400 g"), "{}", text(&answer));
    let Some(database) = &platform.database else { return };
    let pool = sqlx::PgPool::connect(database).await.expect("the database");
    let waiting: i64 = sqlx::query_scalar("select count(*) from discord_turn where asked <> '{}'")
        .fetch_one(&pool)
        .await
        .expect("a count");
    assert_eq!(waiting, 0, "what was typed is erased with its answer");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn in_a_server_only_the_keeper_sees_their_animals() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let saved = asked(&platform, MAREN, "add a ball python: 0.1 pastel het clown named Juno").await;
    assert_eq!(saved["private"], true);
    assert!(text(&saved["message"]).contains("Saved Juno"), "{saved}");
    // A mention is answered by direct message, with a sign in the channel and no word.
    let said = platform.says(MAREN, &mention("Juno weighs 1500 g"));
    let letter = platform
        .until("a letter", WAIT, |s| {
            s.messages.values().find(|m| is_id(&m["channel_id"], DIRECT) && text(m).contains("1,500 g")).cloned()
        })
        .await;
    platform.still().await;
    assert_eq!(platform.answers_to(said), 0, "nothing in the channel");
    assert!(text(&letter).contains("Juno"));
    // A name alone is told to be one only by the collection; the answer is private all the same.
    let card = asked(&platform, MAREN, "Juno").await;
    assert!(card["private"] == true && text(&card["message"]).contains("Juno (#1)"), "{card}");
    // Another member has no such animal, and sees nothing of it.
    let theirs = asked(&platform, TJARK, "Juno").await;
    assert!(!text(&theirs["message"]).contains("Clown"), "{theirs}");
    let list = collection(&platform, TJARK).await;
    assert!(text(&list["message"]).contains("no animals with me yet") && list["private"] == true, "{list}");
    // A press on somebody else's animal finds nothing in one's own.
    let token = platform.presses(TJARK, &card["message"], &component(&card["message"], "Share"));
    let stranger = platform.answer_to_interaction(&token).await;
    assert!(stranger["private"] == true && text(&stranger["message"]).contains("no such animal"), "{stranger}");
    // Shared by its owner, everybody sees the card and nobody gets its buttons.
    let shared = pressed(&platform, MAREN, &card["message"], "Share").await;
    assert_eq!(shared["private"], false);
    assert!(text(&shared["message"]).contains("Juno (#1)"), "{shared}");
    assert_eq!(shared["message"]["components"], json!([]));
    assert!(!bot.log().contains("Juno"), "names of animals are not logged");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_closed_door_is_said_without_a_word_of_what_was_behind_it() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    platform.with(|s| s.closed_direct = true);
    let said = platform.says(MAREN, &mention("add a ball python: 0.1 pastel het clown named Juno"));
    let told = platform.answer_to(said).await;
    assert!(text(&told).contains("no direct messages") && !text(&told).contains("Juno"), "{}", text(&told));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn the_list_has_pages_forms_and_completion() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let panel = platform.command(MAREN, Some(SERVER), "settings", &json!([]));
    let panel = platform.answer_to_interaction(&panel).await["message"].clone();
    let token = platform.chooses(MAREN, &panel, &component(&panel, "species"), &["ball_python"]);
    platform.answer_to_interaction(&token).await;
    let empty = collection(&platform, MAREN).await;
    let form = pressed(&platform, MAREN, &empty["message"], "Add animals").await;
    assert_eq!(form["type"], 9);
    let id = form["message"]["custom_id"].as_str().expect("an id").to_owned();
    let lines: Vec<String> = (1..=12).map(|n| format!("1.0 pastel het clown named Birch{n}, hatched 2023")).collect();
    let sent = platform.submits(MAREN, &id, &[("words", &lines.join("\n"))], None);
    let sent = platform.answer_to_interaction(&sent).await;
    assert!(sent["private"] == true && text(&sent["message"]).contains("I read 12 animals"), "{sent}");
    // Many at once are shown first.
    let sent = pressed(&platform, MAREN, &sent["message"], "Yes").await;
    assert!(text(&sent["message"]).contains("12 animals"), "{sent}");
    let first = collection(&platform, MAREN).await;
    assert!(text(&first["message"]).contains("Your animals (12)"), "{first}");
    assert!(text(&first["message"]).contains("page 1 of 2"), "{first}");
    let next = pressed(&platform, MAREN, &first["message"], "Next").await;
    assert!(next["type"] == 7 && text(&next["message"]).contains("Birch12"), "{next}");
    // One of them: shown in the place of the list, corrected and weighed by forms.
    let one =
        next["message"]["components"][0]["components"][0]["options"][0]["value"].as_str().expect("one").to_owned();
    let token = platform.chooses(MAREN, &next["message"], &component(&next["message"], "animal"), &[&one]);
    let card = platform.answer_to_interaction(&token).await["message"].clone();
    assert!(text(&card).contains("Birch11 (#11)"), "{card}");
    for (button, typed, heard) in [("Weigh", "900 g", "900 g"), ("Correct", "female, het pied", "het Piebald")] {
        let form = pressed(&platform, MAREN, &card, button).await;
        let id = form["message"]["custom_id"].as_str().expect("an id").to_owned();
        let sent = platform.submits(MAREN, &id, &[("words", typed)], None);
        let sent = platform.answer_to_interaction(&sent).await;
        assert!(text(&sent["message"]).contains(heard) && sent["private"] == true, "{button}: {sent}");
    }
    let typed = json!([{"name": "animal", "type": 3, "value": "birch1", "focused": true}]);
    let token = platform.types(MAREN, "collection", &typed);
    let choices = platform.answer_to_interaction(&token).await["message"]["choices"].clone();
    assert_eq!(choices.as_array().map(Vec::len), Some(4), "Birch1, 10, 11, 12: {choices}");
    let in_words = json!([{"name": "question", "type": 3, "value": "odds if I put Birch1", "focused": true}]);
    let token = platform.types(MAREN, "ask", &in_words);
    let texts = platform.answer_to_interaction(&token).await["message"]["choices"].to_string();
    assert!(texts.contains("odds if I put Birch12"), "{texts}");
    let token = platform.types(TJARK, "collection", &typed);
    assert_eq!(platform.answer_to_interaction(&token).await["message"]["choices"], json!([]), "nobody else's");
    let code = choices[0]["value"].clone();
    let options = json!([{"name": "animal", "type": 3, "value": code}]);
    let token = platform.command(MAREN, Some(SERVER), "collection", &options);
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("Birch1 (#1)"));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_shown_first_is_done_by_a_button_once() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    for name in ["Ash", "Birch", "Cedar"] {
        asked(&platform, MAREN, &format!("add a ball python: 0.1 clown named {name}")).await;
    }
    let shown = asked(&platform, MAREN, "remove all females").await;
    let before = collection(&platform, MAREN).await;
    assert!(text(&before["message"]).contains("Your animals (3)"), "shown, not done: {shown}");
    let done = pressed(&platform, MAREN, &shown["message"], "Yes").await;
    assert!(done["private"] == true && done["type"] == 7, "{done}");
    let after = collection(&platform, MAREN).await;
    assert!(text(&after["message"]).contains("no animals with me yet"), "{done} {after}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_message_that_comes_twice_is_saved_once() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let said = platform.whispers(MAREN, "add a ball python: 0.1 clown named Juno");
    platform.answer_to(said).await;
    // The same message, edited: what is kept is not doubled, and the answer says so.
    platform.edits(said, "add a ball python: 0.1 clown het pied named Juno");
    let changed = platform.until_answer(said, |m| text(m).contains("saved before")).await;
    assert!(text(&changed).contains("Nothing was saved twice"), "{changed}");
    let list = collection(&platform, MAREN).await;
    assert!(text(&list["message"]).contains("Your animals (1)"), "{list}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_slow_answer_is_announced_in_time_and_stays_private() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    // The first try at an answer gets lost on its way; the interaction is answered all the same, once.
    platform.plan("POST", "/callback", Fault::Status(500, 0), 1);
    let saved = asked(&platform, MAREN, "add a ball python: 0.1 clown named Juno").await;
    assert!(saved["private"] == true && text(&saved["message"]).contains("Saved Juno"), "{saved}");
    let list = collection(&platform, MAREN).await;
    assert!(text(&list["message"]).contains("Your animals (1)"), "{list}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn words_and_genes_are_explained_and_completed() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let typed = json!([{"name": "topic", "type": 3, "value": "poss", "focused": true}]);
    let token = platform.types(MAREN, "explain", &typed);
    let choices = platform.answer_to_interaction(&token).await["message"]["choices"].clone();
    let first = choices[0]["value"].as_str().expect("a topic").to_owned();
    assert!(first.to_lowercase().contains("possible"), "{choices}");
    for (topic, heard) in [(first.as_str(), "66"), ("Piebald · Ball python", "Piebald"), ("66 het", "66 %")] {
        let options = json!([{"name": "topic", "type": 3, "value": topic}]);
        let token = platform.command(MAREN, Some(SERVER), "explain", &options);
        let answer = platform.answer_to_interaction(&token).await;
        assert!(text(&answer["message"]).contains(heard) && answer["private"] == false, "{topic}: {answer}");
    }
    // A word with several meanings is asked about, and a choice answers it.
    let token =
        platform.command(MAREN, Some(SERVER), "explain", &json!([{"name": "topic", "type": 3, "value": "hypo"}]));
    let offered = platform.answer_to_interaction(&token).await["message"].clone();
    let token = platform.chooses(MAREN, &offered, &component(&offered, "pick"), &["0"]);
    let chosen = platform.answer_to_interaction(&token).await;
    assert!(
        !text(&chosen["message"]).contains("code 410") && text(&chosen["message"]).contains("Hypo (Ball python)"),
        "{offered} {chosen}"
    );
    // The odds of before can still be gone on from.
    let odds = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(odds).await;
    let meant = platform.says(MAREN, &mention("what does 66 het mean?"));
    platform.answer_to(meant).await;
    let more = platform.says(MAREN, &mention("and with 9 eggs?"));
    assert!(text(&platform.answer_to(more).await).contains("9 eggs"));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_season_is_planned_in_private_gone_on_from_and_shared() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    for told in [
        "add a ball python: 1.0 het clown het pied named Duke, hatched 2021, 900g",
        "add a ball python: 0.1 clown het pied named Nova, hatched 2021, 1600g",
        "add a ball python: 0.1 pied named Olive, hatched 2021, 1600g",
        "goal: clown pied ball python",
    ] {
        let saved = whispered(&platform, told).await;
        assert!(text(&saved).contains("Saved"), "{}", text(&saved));
    }
    let season = asked(&platform, MAREN, "what should I pair next?").await;
    assert_eq!(season["private"], true);
    assert!(text(&season["message"]).contains("1. Duke × Nova: Clown, Piebald 1/8 per egg"), "{season}");
    let one = asked(&platform, MAREN, "only one clutch this year").await;
    assert!(one["private"] == true && text(&one["message"]).contains("at most 1 clutch"), "{one}");
    assert!(!text(&one["message"]).contains("2. "), "{one}");
    let shared = pressed(&platform, MAREN, &one["message"], "Share").await;
    assert!(shared["private"] == false && text(&shared["message"]).contains("1. Duke × Nova"), "{shared}");
    let why = asked(&platform, MAREN, "why not Duke x Olive?").await;
    assert!(text(&why["message"]).contains("the pairings advised do more within the limit"), "{why}");
    // What others see changes nothing of the keeper's.
    let done = asked(&platform, MAREN, "do it").await;
    assert!(text(&done["message"]).contains("introduced Duke × Nova"), "{done}");
    platform.is_content();
}
