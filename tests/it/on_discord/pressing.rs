//! Buttons, selects, forms and pages: what a press does, to whom, and how often.

use serde_json::{Value, json};

use super::{mention, pressed};
use crate::platform::bot::Bot;
use crate::platform::{Fault, MAREN, Platform, SERVER, TJARK, WAIT, component, text};

/// Asks by mention, and gives the answer as it stands in the channel.
async fn answered(platform: &Platform, words: &str) -> Value {
    let asked = platform.says(MAREN, &mention(words));
    platform.answer_to(asked).await
}

/// The message after a press has changed it.
fn with_change(message: &Value, answer: &Value) -> Value {
    let mut message = message.clone();
    for part in ["embeds", "components", "content"] {
        message[part] = answer["message"][part].clone();
    }
    message
}

#[tokio::test(flavor = "multi_thread")]
async fn who_asked_changes_the_answer_where_it_stands() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let answer = answered(&platform, "1.0 pastel x 0.1 clown").await;
    let swapped = pressed(&platform, MAREN, &answer, "Swap").await;
    assert_eq!(swapped["type"], 7, "in its place");
    assert!(
        text(&swapped["message"]).contains("♂ Clown") || text(&swapped["message"]).contains("♀ Pastel"),
        "{swapped}"
    );
    // The fresh buttons stand for the fresh answer.
    let message = with_change(&answer, &swapped);
    let again = pressed(&platform, MAREN, &message, "Swap").await;
    assert!(text(&again["message"]).contains("♂ Pastel"), "{again}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn an_answer_is_drawn_and_the_picture_is_said_in_words() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let answer = answered(&platform, "1.0 pastel het clown x 0.1 clown, 7 eggs").await;
    let drawn = pressed(&platform, MAREN, &answer, "Draw").await;
    let message = &drawn["message"];
    assert!(text(message).contains("7 eggs"), "the odds stand beside it: {drawn}");
    let picture = &message["attachments"][0];
    assert_eq!(picture["filename"], "picture.png", "{drawn}");
    let words = picture["description"].as_str().unwrap_or_default();
    assert!(words.contains("An average clutch of 7 eggs") && words.contains("25 %"), "{words}");
    platform.is_content();
}

/// The answer stands in the channel, and the program does not know it yet: the platform says so only much later.
#[tokio::test(flavor = "multi_thread")]
async fn a_press_and_a_reply_within_the_moment_of_the_answer_are_answered() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let late = Fault::AnswerLate(std::time::Duration::from_secs(4));
    platform.plan("POST", "/messages", late, 1);
    let answer = answered(&platform, "1.0 pastel x 0.1 clown").await;
    let reply = platform.replies(TJARK, &answer, "and with 9 eggs?");
    assert!(text(&platform.answer_to(reply).await).contains("9 eggs"));
    let swapped = pressed(&platform, MAREN, &answer, "Swap").await;
    assert_eq!(swapped["type"], 7, "its buttons stand for it already: {swapped}");
    platform.plan("POST", "/messages", late, 1);
    let question = answered(&platform, "axanthic pied x normal").await;
    let token = platform.chooses(MAREN, &question, &component(&question, "pick"), &["1"]);
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("het Axanthic (TSK)"));
    // An edit waits for the answer that it changes.
    platform.plan("POST", "/messages", late, 1);
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(asked).await;
    platform.edits(asked, &mention("het pied x pied"));
    platform.until_answer(asked, |m| text(m).contains("Piebald")).await;
    assert_eq!(platform.answers_to(asked), 1);
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn an_answer_that_could_not_be_shown_leaves_the_old_buttons_working() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    let answer = answered(&platform, "1.0 pastel x 0.1 clown").await;
    platform.plan("POST", "/callback", Fault::Status(404, 10062), 1);
    platform.presses(MAREN, &answer, &component(&answer, "Swap"));
    bot.says("a question could not be answered").await;
    let swapped = pressed(&platform, MAREN, &answer, "Swap").await;
    assert_eq!(swapped["type"], 7, "{swapped}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_second_press_does_nothing_twice() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let answer = answered(&platform, "1.0 pastel x 0.1 clown").await;
    pressed(&platform, MAREN, &answer, "Swap").await;
    let token = platform.presses(MAREN, &answer, &component(&answer, "Swap"));
    let second = platform.until("an acknowledgement", WAIT, |s| s.interactions.get(&token).cloned()).await;
    assert_eq!(second["type"], 6, "it is taken, and nothing is changed");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn anybody_else_gets_an_answer_of_their_own() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let answer = answered(&platform, "1.0 pastel x 0.1 clown").await;
    let theirs = pressed(&platform, TJARK, &answer, "Swap").await;
    assert_eq!((&theirs["type"], &theirs["private"]), (&json!(4), &json!(true)));
    // The asker's own press still works.
    assert_eq!(pressed(&platform, MAREN, &answer, "Swap").await["type"], 7);
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_clutch_size_is_given_in_a_form() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let answer = answered(&platform, "het clown x clown").await;
    let form = pressed(&platform, MAREN, &answer, "Clutch size").await;
    assert_eq!(form["type"], 9);
    let id = form["message"]["custom_id"].as_str().expect("an id").to_owned();
    let wrong = platform.submits(MAREN, &id, &[("eggs", "lots")], Some(&answer));
    let wrong = platform.answer_to_interaction(&wrong).await;
    assert!(text(&wrong["message"]).contains("1 to 60 eggs") && wrong["private"] == true, "{wrong}");
    let sent = platform.submits(MAREN, &id, &[("eggs", "9")], Some(&answer));
    let sent = platform.answer_to_interaction(&sent).await;
    assert_eq!(sent["type"], 7);
    assert!(text(&sent["message"]).contains("9 eggs"), "{sent}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_question_back_is_answered_by_choosing() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let answer = answered(&platform, "axanthic pied x normal").await;
    let select = component(&answer, "pick");
    let token = platform.chooses(MAREN, &answer, &select, &["1"]);
    let chosen = platform.answer_to_interaction(&token).await;
    assert!(text(&chosen["message"]).contains("het Axanthic (TSK)"), "{chosen}");
    assert_eq!(chosen["type"], 7);
    // A value that is none of them is told so.
    let token = platform.chooses(TJARK, &answer, &select, &["99"]);
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("code 410"));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn buttons_work_after_a_restart_and_from_another_process() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    let answer = answered(&platform, "1.0 pastel het clown x 0.1 clown, 7 eggs?").await;
    bot.signal("KILL");
    drop(bot);
    let _other = Bot::ready(&platform, &[("HATCHWARD_LOG_LEVEL", "debug")]).await;
    let swapped = pressed(&platform, MAREN, &answer, "Swap").await;
    assert_eq!(swapped["type"], 7, "it still knows who asked");
    assert!(text(&swapped["message"]).contains("7 eggs"), "{swapped}");
    let reply = platform.replies(MAREN, &answer, "and with 4 eggs?");
    assert!(text(&platform.answer_to(reply).await).contains("4 eggs"));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_too_old_is_read_back_from_its_own_text() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let mut answer = answered(&platform, "1.0 pastel x 0.1 clown").await;
    // The record is gone: the id in the button stands for nothing any more.
    let swap = "hw1:swap:123456789:0";
    let token = platform.presses(MAREN, &answer, swap);
    let fresh = platform.answer_to_interaction(&token).await;
    assert!(text(&fresh["message"]).contains('×') && fresh["private"] == true, "{fresh}");
    // Its buttons work.
    let again = pressed(&platform, MAREN, &fresh["message"], "Swap").await;
    assert!(text(&again["message"]).contains('×'));
    // Where the text is gone too, it says so.
    answer["embeds"] = json!([]);
    let token = platform.presses(MAREN, &answer, swap);
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("code 410"));
    for strange in ["hw0:swap:1:0", "delete everything", "hw1:swap:1", "hw1:swap:99999999999999999999999:0"] {
        let token = platform.presses(TJARK, &answer, strange);
        assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("code 404"), "{strange}");
    }
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn all_kinds_and_how_it_was_worked_out() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let answer = answered(&platform, "pastel enchi het clown het pied x pastel enchi het clown het pied").await;
    let all = pressed(&platform, MAREN, &answer, "All kinds").await;
    assert_eq!(all["type"], 7);
    assert!(text(&all["message"]).lines().count() >= text(&answer).lines().count(), "{all}");
    let message = with_change(&answer, &all);
    let how = pressed(&platform, MAREN, &message, "How was").await;
    assert_eq!(how["private"], true, "the working is for who asked for it");
    assert!(text(&how["message"]).contains("hands on one of its two copies"), "{how}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_private_answer_is_shared_only_on_request() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let written = platform.says(TJARK, "1.0 pied x 0.1 het pied");
    let token = platform.picks(MAREN, "Odds of this message", written);
    let private = platform.answer_to_interaction(&token).await;
    assert_eq!(private["private"], true);
    let shared = pressed(&platform, MAREN, &private["message"], "Share").await;
    assert_eq!(shared["private"], false);
    assert!(text(&shared["message"]).contains("Piebald"));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn pairings_are_saved_listed_in_pages_opened_and_removed() {
    let platform = Platform::start().await;
    let more = [("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "500")];
    let _bot = Bot::ready(&platform, &more).await;
    let list = |page: &Value| text(page);
    let token = platform.command(MAREN, Some(SERVER), "pairings", &json!([]));
    assert!(list(&platform.answer_to_interaction(&token).await["message"]).contains("saved no pairing"));
    let mut last = Value::Null;
    for eggs in 1..=12 {
        last = answered(&platform, &format!("het clown x clown, {eggs} eggs")).await;
        let saved = pressed(&platform, MAREN, &last, "Save").await;
        assert!(text(&saved["message"]).contains("Saved:") && saved["private"] == true, "{saved}");
    }
    let twice = pressed(&platform, MAREN, &last, "Save").await;
    assert!(text(&twice["message"]).contains("already"), "{twice}");
    let token = platform.command(MAREN, Some(SERVER), "pairings", &json!([]));
    let page = platform.answer_to_interaction(&token).await;
    assert_eq!(page["private"], true);
    assert!(list(&page["message"]).contains("page 1 of 2"), "{page}");
    let next = pressed(&platform, MAREN, &page["message"], "Next").await;
    assert!(list(&next["message"]).contains("page 2 of 2") && list(&next["message"]).contains("12. "), "{next}");
    let opened =
        next["message"]["components"][0]["components"][0]["options"][0]["value"].as_str().expect("one").to_owned();
    let token = platform.chooses(MAREN, &next["message"], &component(&next["message"], "open"), &[&opened]);
    let odds = platform.answer_to_interaction(&token).await;
    assert!(text(&odds["message"]).contains("eggs") && odds["private"] == true, "{odds}");
    // Nobody opens or removes what another saved.
    let token = platform.chooses(TJARK, &next["message"], &component(&next["message"], "open"), &[&opened]);
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("code 410"));
    let token = platform.chooses(TJARK, &next["message"], &component(&next["message"], "remove"), &[&opened]);
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("saved no pairing"));
    let token = platform.chooses(MAREN, &next["message"], &component(&next["message"], "remove"), &[&opened]);
    assert!(list(&platform.answer_to_interaction(&token).await["message"]).contains("page 1 of 2"));
    let token = platform.command(TJARK, Some(SERVER), "pairings", &json!([]));
    assert!(list(&platform.answer_to_interaction(&token).await["message"]).contains("saved no pairing"));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn everything_of_a_member_is_erased_from_every_table() {
    let Some(server) = crate::store::server::shared() else { return };
    let mut platform = Platform::start().await;
    let database = server.fresh();
    platform.database = Some(server.url("hatchward", &database));
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let panel = platform.command(MAREN, Some(SERVER), "settings", &json!([]));
    let panel = platform.answer_to_interaction(&panel).await["message"].clone();
    let token = platform.chooses(MAREN, &panel, &component(&panel, "mentions"), &["on"]);
    platform.answer_to_interaction(&token).await;
    let token = platform.chooses(MAREN, &panel, &component(&panel, "species"), &["boa"]);
    platform.answer_to_interaction(&token).await;
    // A text of the server's that they wrote: it stays, and nobody knows any more by whom.
    let write = json!([{"name": "write", "type": 1, "options": [{"name": "topic", "type": 3, "value": "het"}]}]);
    for publish in [true, false] {
        let token = platform.command(MAREN, Some(SERVER), "words", &write);
        let editor = platform.answer_to_interaction(&token).await["message"].clone();
        let id = editor["custom_id"].as_str().expect("an id").to_owned();
        let sent = platform.submits(MAREN, &id, &[("words", "A het carries a gene unseen.")], None);
        let shown = platform.answer_to_interaction(&sent).await["message"].clone();
        if publish {
            pressed(&platform, MAREN, &shown, "Publish").await;
        }
    }
    let answer = answered(&platform, "ball python: het clown x clown").await;
    pressed(&platform, MAREN, &answer, "Save").await;
    let animal = platform.whispers(MAREN, "add a ball python: 0.1 clown named Juno, 900 g");
    assert!(text(&platform.answer_to(animal).await).contains("Saved Juno"));
    let theirs = platform.says_in(
        crate::platform::DIRECT + 5,
        None,
        TJARK,
        "add a ball python: 0.1 pied named Willow",
        &crate::platform::events::Said::default(),
    );
    platform.answer_to(theirs).await;
    let other = platform.says(TJARK, &mention("ball python: het pied x pied"));
    let other = platform.answer_to(other).await;
    let token = platform.command(MAREN, None, "forget", &json!([]));
    let offer = platform.answer_to_interaction(&token).await["message"].clone();
    assert!(text(&offer).contains("1 saved pairings") && text(&offer).contains("2 records of your animals"), "{offer}");
    let form = pressed(&platform, MAREN, &offer, "Erase everything").await;
    let id = form["message"]["custom_id"].as_str().expect("an id").to_owned();
    let token = platform.submits(MAREN, &id, &[("word", "erse")], None);
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("nothing was erased"));
    let token = platform.submits(MAREN, &id, &[("word", "Erase")], None);
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("is erased"));
    // Every number and text of every table, as the catalogue of the database lists them. The claims of the last two forms
    // are newer than the erasing, and hold nothing but ids for their answers.
    let pool = sqlx::PgPool::connect(platform.database.as_deref().expect("a server")).await.expect("the database");
    let columns: Vec<(String, String)> = sqlx::query_as(
        "select table_name::text, column_name::text from information_schema.columns
         where table_schema = 'public' and data_type in ('bigint', 'text', 'jsonb', 'numeric', 'ARRAY')",
    )
    .fetch_all(&pool)
    .await
    .expect("the columns");
    assert!(columns.len() > 20, "{columns:?}");
    for (table, column) in columns {
        let found: i64 =
            sqlx::query_scalar(&format!("select count(*) from {table} where \"{column}\"::text like '%{MAREN}%'"))
                .fetch_one(&pool)
                .await
                .expect("a count");
        assert_eq!(found, 0, "{table}.{column} still holds the member");
    }
    // Nothing of anybody else went along.
    let token = platform.command(TJARK, Some(SERVER), "collection", &json!([]));
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("Willow"));
    let token = platform.presses(TJARK, &other, &component(&other, "Swap"));
    assert_eq!(platform.answer_to_interaction(&token).await["type"], 7);
    platform.is_content();
}
