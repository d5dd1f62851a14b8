//! A keeper hands a file in and gets one out: shown first, saved on a press, private, and fetched from nowhere else.

use serde_json::{Value, json};

use super::{mention, pressed};
use crate::platform::bot::Bot;
use crate::platform::events::Said;
use crate::platform::{CHANNEL, DIRECT, MAREN, Platform, SERVER, TJARK, WAIT, component, is_id, text};

const SHEET: &str = "name,species,sex,genes,hatched,weight\n\
                     Juno,ball python,female,pastel het clown,2022,1400 g\n\
                     Duke,ball python,male,clown,2021,900 g\n\
                     Odd,unicorn,female,clown,2020,800 g\n";

/// A member hands a file in with /collection.
async fn handed_in(platform: &Platform, who: u64, file: &Value) -> Value {
    let options = json!([{"name": "file", "type": 11, "value": file["id"]}]);
    let token = platform.command_with(who, "collection", &options, file);
    platform.answer_to_interaction(&token).await
}

/// A member sends a file by direct message, with these words.
fn letter(platform: &Platform, words: &str, files: Vec<Value>) -> u64 {
    platform.says_in(DIRECT, None, MAREN, words, &Said { files, ..Said::default() })
}

async fn animals(platform: &Platform, who: u64) -> String {
    let token = platform.command(who, Some(SERVER), "collection", &json!([]));
    text(&platform.answer_to_interaction(&token).await["message"])
}

async fn asked(platform: &Platform, who: u64, words: &str) -> Value {
    let options = json!([{"name": "question", "type": 3, "value": words}]);
    let token = platform.command(who, Some(SERVER), "ask", &options);
    platform.answer_to_interaction(&token).await
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sheet_is_shown_first_and_saved_by_a_press_once() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let file = platform.keep("herd.csv", SHEET.into());
    let shown = handed_in(&platform, MAREN, &file).await;
    assert_eq!(shown["private"], true, "what is in a file is its owner's own");
    let said = text(&shown["message"]);
    assert!(said.contains("I read 2 new animals") && said.contains("line 4") && said.contains("unicorn"), "{said}");
    assert!(animals(&platform, MAREN).await.contains("no animals with me yet"), "shown, not saved");
    // Nobody else saves it, for themselves or for its owner.
    let token = platform.presses(TJARK, &shown["message"], &component(&shown["message"], "Yes"));
    let theirs = platform.answer_to_interaction(&token).await;
    assert!(!text(&theirs["message"]).contains("Saved"), "{theirs}");
    // It waits through a restart.
    drop(bot);
    let bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let saved = pressed(&platform, MAREN, &shown["message"], "Yes").await;
    assert!(saved["private"] == true && text(&saved["message"]).contains("2 animals"), "{saved}");
    assert!(animals(&platform, MAREN).await.contains("Your animals (2)"));
    assert!(animals(&platform, TJARK).await.contains("no animals with me yet"));
    let token = platform.presses(MAREN, &shown["message"], &component(&shown["message"], "Yes"));
    platform.until("an acknowledgement", WAIT, |s| s.interactions.get(&token).cloned()).await;
    assert!(animals(&platform, MAREN).await.contains("Your animals (2)"), "a second press saves nothing");
    // The same file again changes nothing.
    let again = handed_in(&platform, MAREN, &file).await;
    assert!(text(&again["message"]).contains("Nothing was changed"), "{again}");
    assert!(!bot.log().contains("Juno"), "nothing of a file is logged");
    let Some(database) = &platform.database else { return };
    let pool = sqlx::PgPool::connect(database).await.expect("the database");
    let kept: i64 = sqlx::query_scalar("select count(*) from discord_upload").fetch_one(&pool).await.expect("a count");
    assert_eq!(kept, 0, "a file is kept only until it is taken in");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_file_by_direct_message_is_asked_about_shown_and_saved_in_words() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    // 3/4 and 5/6 are two days each, depending on who writes.
    let sheet =
        "name,species,sex,genes,hatched\nJuno,ball python,female,clown,3/4/2022\nDuke,ball python,male,pied,5/6/2021\n";
    let sent = letter(&platform, "", vec![platform.keep("herd.csv", sheet.into())]);
    let back = platform.answer_to(sent).await;
    assert!(text(&back).contains("What comes first?"), "{}", text(&back));
    let token = platform.chooses(MAREN, &back, &component(&back, "pick"), &["0"]);
    let shown = platform.answer_to_interaction(&token).await["message"].clone();
    assert!(text(&shown).contains("I read 2 new animals"), "{shown}");
    let word = platform.whispers(MAREN, "save");
    assert!(text(&platform.answer_to(word).await).contains("2 animals"));
    let card = platform.whispers(MAREN, "Juno");
    assert!(text(&platform.answer_to(card).await).contains("3 April 2022"), "the day came first");
    // A question with a file beside it is answered as the question it is; other words beside a file are none.
    let more = platform.keep("more.csv", SHEET.replace("Duke", "Rook").into());
    let odds = letter(&platform, "het clown x clown in 6 eggs?", vec![more.clone()]);
    assert!(text(&platform.answer_to(odds).await).contains("6 eggs"));
    let words = letter(&platform, "here is my collection", vec![more]);
    assert!(text(&platform.answer_to(words).await).contains("Rook"));
    // Anything but the word saves nothing.
    let other = platform.whispers(MAREN, "het pied x pied");
    platform.answer_to(other).await;
    assert!(animals(&platform, MAREN).await.contains("Your animals (2)"));
    // The word alone says how a file is handed in.
    let alone = platform.whispers(MAREN, "import");
    assert!(text(&platform.answer_to(alone).await).contains("attach it"));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_message_that_is_too_long_for_one_comes_as_a_file_and_is_read_as_words() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let lines: Vec<String> =
        (1..=40).map(|n| format!("ball python: 1.0 pastel het clown named Birch{n}, hatched 2023, 900 g")).collect();
    let words = format!("add these:\n{}", lines.join("\n"));
    assert!(words.chars().count() > 2000, "the platform makes a file of it");
    let sent = letter(&platform, "", vec![platform.keep("message.txt", words.into())]);
    let shown = platform.answer_to(sent).await;
    assert!(text(&shown).contains("I read 40 animals"), "{}", text(&shown));
    let token = platform.presses(MAREN, &shown, &component(&shown, "Yes"));
    platform.answer_to_interaction(&token).await;
    assert!(animals(&platform, MAREN).await.contains("Your animals (40)"));
    // A table in it is a table.
    let sent = letter(&platform, "", vec![platform.keep("message.txt", SHEET.into())]);
    assert!(text(&platform.answer_to(sent).await).contains("I read 2 new animals"));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_file_beside_a_mention_is_answered_by_letter_alone() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let said = Said { files: vec![platform.keep("herd.csv", SHEET.into())], ..Said::default() };
    let sent = platform.says_in(CHANNEL, Some(SERVER), MAREN, &mention("import this please"), &said);
    platform
        .until("a letter", WAIT, |s| {
            s.messages.values().find(|m| is_id(&m["channel_id"], DIRECT) && text(m).contains("Juno")).cloned()
        })
        .await;
    assert_eq!(platform.answers_to(sent), 0, "nothing in the channel");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_copy_is_handed_over_privately_and_comes_in_again() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let shown = handed_in(&platform, MAREN, &platform.keep("herd.csv", SHEET.into())).await;
    pressed(&platform, MAREN, &shown["message"], "Yes").await;
    for (words, end) in [("export everything as json", "json"), ("export", "zip"), ("export as a sheet", "csv")] {
        let copy = asked(&platform, MAREN, words).await;
        assert_eq!(copy["private"], true, "{words}");
        let file = copy["message"]["attachments"][0].clone();
        let name = file["filename"].as_str().unwrap_or_default().to_owned();
        assert!(name.starts_with("collection-") && name.ends_with(end), "{words}: {copy}");
        assert!(!platform.content(&file).is_empty());
        // The same comes in again as nothing new; to somebody else it is all new.
        let back = handed_in(&platform, MAREN, &file).await;
        assert!(text(&back["message"]).contains("Nothing"), "{words}: {back}");
        let theirs = handed_in(&platform, TJARK, &file).await;
        assert!(text(&theirs["message"]).contains("2 new animals"), "{words}: {theirs}");
    }
    // By mention the copy goes by letter, and never into the channel.
    let said = platform.says(MAREN, &mention("export everything as json"));
    let letter = platform
        .until("a letter", WAIT, |s| {
            let file = |m: &&Value| is_id(&m["channel_id"], DIRECT) && !m["attachments"][0].is_null();
            s.messages.values().find(file).cloned()
        })
        .await;
    let json: Value = serde_json::from_slice(&platform.content(&letter["attachments"][0])).expect("JSON");
    assert!(json.to_string().contains("Juno"));
    assert_eq!(platform.answers_to(said), 0);
    assert!(text(&asked(&platform, TJARK, "export").await["message"]).contains("empty"), "nothing of anybody else");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn files_that_cannot_be_taken_are_refused_with_what_to_do() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let changed = |key: &str, value: Value| {
        let mut file = platform.keep("herd.csv", SHEET.into());
        file[key] = value;
        file
    };
    let most = 10 * 1024 * 1024;
    let foreign = "http://169.254.169.254/attachments/1/2/herd.csv";
    for (file, why) in [
        (platform.keep("herd.csv", Vec::new()), "empty"),
        (platform.keep("herd.xlsx", b"\xd0\xcf\x11\xe0 old workbook".to_vec()), "CSV"),
        (platform.keep("herd.json", b"{\"nothing\": true}".to_vec()), "no JSON of a collection"),
        (platform.keep("herd.zip", b"PK\x03\x04 broken".to_vec()), "zip file cannot be opened"),
        (platform.keep("herd.csv", b"a,b\n1,2\n".to_vec()), "Nothing was saved"),
        (platform.keep("herd.csv", format!("name,sex\n{}", "x,male\n".repeat(6000)).into()), "5000 is the most"),
        (changed("size", (most + 1).into()), "larger than 10 MiB"),
        // Its size is told small, and it is not.
        (
            {
                let mut file = platform.keep("herd.csv", vec![b'x'; most + 1]);
                file["size"] = 10.into();
                file
            },
            "larger than 10 MiB",
        ),
        (changed("url", foreign.into()), "from no other address"),
        (changed("url", "https://example.org/attachments/1/2/herd.csv".into()), "from no other address"),
        (changed("url", format!("{}/api/v10/users/@me", platform.api).into()), "from no other address"),
        (changed("url", format!("{}/attachments/1/2/gone.csv", platform.api).into()), "could not fetch"),
    ] {
        let told = handed_in(&platform, MAREN, &file).await;
        assert!(text(&told["message"]).contains(why), "{why}: {told}");
        assert_eq!(told["private"], true, "{why}");
        assert_eq!(told["message"]["components"], json!([]), "there is nothing to press: {why}");
    }
    assert!(platform.with(|s| s.fetched.iter().all(|path| !path.contains("169.254"))));
    assert!(animals(&platform, MAREN).await.contains("no animals with me yet"));
    assert!(!bot.log().contains("panicked") && !bot.log().contains("169.254"), "{}", bot.log());
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_file_that_waits_is_erased_with_all_else_of_its_owner_and_after_a_day() {
    let platform = Platform::start().await;
    let Some(database) = platform.database.clone() else { return };
    let bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let shown = handed_in(&platform, MAREN, &platform.keep("herd.csv", SHEET.into())).await;
    handed_in(&platform, TJARK, &platform.keep("herd.csv", SHEET.into())).await;
    let pool = sqlx::PgPool::connect(&database).await.expect("the database");
    let kept = async || -> i64 {
        sqlx::query_scalar("select count(*) from discord_upload").fetch_one(&pool).await.expect("a count")
    };
    assert_eq!(kept().await, 2);
    sqlx::query("select erase_person('discord', $1)").bind(MAREN.to_string()).execute(&pool).await.expect("erased");
    assert_eq!(kept().await, 1, "only the other's is left");
    let gone = pressed(&platform, MAREN, &shown["message"], "Yes").await;
    assert!(text(&gone["message"]).contains("code 410"), "{gone}");
    sqlx::query("update discord_upload set kept_at = now() - interval '25 hours'").execute(&pool).await.expect("aged");
    drop(bot);
    let next = Bot::ready(&platform, &[]).await;
    next.says("erased what was over its time").await;
    assert_eq!(kept().await, 0, "nobody came back to it for a day");
    platform.is_content();
}
