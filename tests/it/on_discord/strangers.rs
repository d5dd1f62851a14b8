//! Nothing of one keeper reaches another: every message that one was shown, every button and select under it, every form,
//! every command, pressed and sent by somebody else.

use serde_json::{Value, json};

use super::pressed;
use crate::platform::bot::Bot;
use crate::platform::{MAREN, Platform, SERVER, TJARK, text};

/// Words that stand only in what belongs to the keeper.
const THEIRS: [&str; 4] = ["Ysolde", "Wulfric", "Quillon", "13 eggs"];

async fn asks(platform: &Platform, who: u64, words: &str) -> Value {
    let options = json!([{"name": "question", "type": 3, "value": words}]);
    let token = platform.command(who, Some(SERVER), "ask", &options);
    platform.answer_to_interaction(&token).await["message"].clone()
}

async fn sends(platform: &Platform, who: u64, command: &str) -> Value {
    let token = platform.command(who, Some(SERVER), command, &json!([]));
    platform.answer_to_interaction(&token).await["message"].clone()
}

#[tokio::test(flavor = "multi_thread")]
async fn nothing_of_one_keeper_reaches_another_by_any_button_form_or_command() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "500")]).await;
    for animal in ["0.1 pastel het clown named Ysolde", "1.0 clown named Wulfric", "0.1 pied named Brunhild"] {
        asks(&platform, MAREN, &format!("add a ball python: {animal}")).await;
    }
    let odds = asks(&platform, MAREN, "ball python: het clown x clown, 13 eggs").await;
    pressed(&platform, MAREN, &odds, "Save").await;
    let sheet = "name,species,sex,genes\nQuillon,ball python,female,pied\n";
    let file = platform.keep("herd.csv", sheet.into());
    let options = json!([{"name": "file", "type": 11, "value": file["id"]}]);
    let preview = platform.command_with(MAREN, "collection", &options, &file);
    let mut shown = vec![platform.answer_to_interaction(&preview).await["message"].clone()];
    for words in ["Ysolde", "list my animals", "remove all females", "Ysolde 1.4", "odds if I put Wulfric on Ysolde"] {
        shown.push(asks(&platform, MAREN, words).await);
    }
    for command in ["collection", "pairings", "forget"] {
        shown.push(sends(&platform, MAREN, command).await);
    }
    let mut answers: Vec<(String, Value)> = Vec::new();
    for message in &shown {
        let parts =
            message["components"].as_array().into_iter().flatten().filter_map(|row| row["components"].as_array());
        for part in parts.flatten() {
            let id = part["custom_id"].as_str().expect("an id");
            let values: Vec<&str> =
                part["options"].as_array().into_iter().flatten().filter_map(|o| o["value"].as_str()).collect();
            // What is "shared" is shown to all on purpose, by its owner; a stranger's press shares nothing.
            let token = if values.is_empty() {
                platform.presses(TJARK, message, id)
            } else {
                platform.chooses(TJARK, message, id, &values[..1])
            };
            let answer =
                platform.until("an answer", crate::platform::WAIT, |s| s.interactions.get(&token).cloned()).await;
            if answer["type"] == 9 {
                let form = answer["message"]["custom_id"].as_str().expect("an id");
                let typed = if form.contains("forget") { "erase" } else { "7" };
                let sent = platform.submits(TJARK, form, &[("words", typed)], Some(message));
                answers.push((format!("form {form}"), platform.answer_to_interaction(&sent).await));
            } else {
                // The platform shows a private message to its owner alone, so a list may be drawn anew for who presses; it is
                // then theirs.
                answers.push((id.to_owned(), answer));
            }
        }
    }
    for command in ["collection", "pairings", "forget", "help"] {
        answers.push((command.to_owned(), json!({"message": sends(&platform, TJARK, command).await})));
    }
    for words in [
        "Ysolde",
        "Wulfric",
        "list my animals",
        "export",
        "undo",
        "odds if I put Wulfric on Ysolde",
        "what changed this week",
    ] {
        answers.push((words.to_owned(), json!({"message": asks(&platform, TJARK, words).await})));
    }
    let typed = json!([{"name": "animal", "type": 3, "value": "Ys", "focused": true}]);
    let token = platform.types(TJARK, "collection", &typed);
    assert_eq!(platform.answer_to_interaction(&token).await["message"]["choices"], json!([]));
    assert!(answers.len() >= 25, "{} were tried", answers.len());
    for (what, answer) in &answers {
        let said = text(&answer["message"]);
        for word in THEIRS {
            // A name that they typed themselves is said back to them as not known.
            let echoed = what.contains(word) && !said.contains("Clown") && !said.contains('♀');
            // The genes of odds are no secret: the request under a button stands in the message that was pressed.
            let request = word == "13 eggs" || echoed;
            assert!(request || !said.contains(word), "{what} tells a stranger of {word}: {said}");
        }
        // A picture of odds is what their text is: the genes under a button, without a name.
        let files = answer["message"]["attachments"].as_array().cloned().unwrap_or_default();
        for file in files {
            let words = file["description"].as_str().unwrap_or_default();
            let picture = what.contains(":draw:") && file["filename"] == "picture.png";
            assert!(
                picture && !THEIRS.iter().any(|w| *w != "13 eggs" && words.contains(w)),
                "{what} hands over {file}"
            );
        }
    }
    // Nothing of theirs was changed either.
    let list = text(&sends(&platform, MAREN, "collection").await);
    assert!(list.contains("Ysolde") && list.contains("Wulfric") && !list.contains("Quillon"), "{list}");
    assert!(text(&sends(&platform, MAREN, "pairings").await).contains("13 eggs"));
    assert!(!bot.log().contains("panicked"), "{}", bot.log());
    platform.is_content();
}
