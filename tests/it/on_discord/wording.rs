//! A community's own words: titles and questions of its own topics, links by setting, files, cautions that are always said,
//! and explanations that are shown to everybody.

use serde_json::{Value, json};

use super::{mention, pressed};
use crate::platform::bot::Bot;
use crate::platform::{MAREN, Platform, SERVER, TJARK, component, text};

const MANY: [(&str, &str); 1] = [("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "200")];

/// What the program answers to a part of /words.
async fn words(platform: &Platform, part: &str, options: &Value) -> Value {
    let token = platform.command(MAREN, Some(SERVER), "words", &json!([{"name": part, "type": 1, "options": options}]));
    platform.answer_to_interaction(&token).await
}

fn option(name: &str, value: &str) -> Value {
    json!([{"name": name, "type": 3, "value": value}])
}

/// The editor of a topic: its id and its inputs.
async fn editor(platform: &Platform, topic: &str) -> (String, Value) {
    let editor = words(platform, "write", &option("topic", topic)).await;
    (editor["message"]["custom_id"].as_str().expect("an id").to_owned(), editor["message"]["components"].clone())
}

/// Fills the editor in; what is shown then.
async fn fills(platform: &Platform, topic: &str, inputs: &[(&str, &str)]) -> Value {
    let (id, _) = editor(platform, topic).await;
    let sent = platform.submits(MAREN, &id, inputs, None);
    platform.answer_to_interaction(&sent).await
}

async fn publish(platform: &Platform, topic: &str, inputs: &[(&str, &str)]) -> String {
    let shown = fills(platform, topic, inputs).await;
    text(&pressed(platform, MAREN, &shown["message"], "Publish").await["message"])
}

async fn hears(platform: &Platform, question: &str) -> String {
    let asked = platform.says(TJARK, &mention(question));
    text(&platform.answer_to(asked).await)
}

/// The file that /words list hands out.
async fn file(platform: &Platform) -> Value {
    words(platform, "list", &json!([])).await["message"]["attachments"][0].clone()
}

async fn hands_in(platform: &Platform, who: u64, file: &Value) -> Value {
    let options =
        json!([{"name": "import", "type": 1, "options": [{"name": "file", "type": 11, "value": file["id"]}]}]);
    let token = platform.command_with(who, "words", &options, file);
    platform.answer_to_interaction(&token).await
}

#[tokio::test(flavor = "multi_thread")]
async fn a_topic_of_its_own_has_a_title_and_questions_that_lead_to_it() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &MANY).await;
    let (_, inputs) = editor(&platform, "Our holdback swap").await;
    let values: Vec<Value> =
        inputs.as_array().expect("rows").iter().map(|r| r["components"][0]["value"].clone()).collect();
    assert_eq!(values, [json!("Our holdback swap"), json!(null), json!(null)], "it is called as it was begun");
    let typed = [
        ("title", "The autumn swap"),
        ("questions", "when is the swap\nhow does the swap work"),
        ("words", "In October everybody brings the holdbacks that they have no room for."),
    ];
    let shown = fills(&platform, "Our holdback swap", &typed).await;
    let said = text(&shown["message"]);
    assert!(said.contains("The autumn swap") && said.contains("when is the swap; how does the swap work"), "{said}");
    assert!(text(&pressed(&platform, MAREN, &shown["message"], "Publish").await["message"]).contains("version 1"));
    for question in ["explain the autumn swap", "how does the swap work?", "explain when is the swap"] {
        assert!(hears(&platform, question).await.contains("In October"), "{question}");
    }
    // It is completed by its title, edited with all three, and pinned like any other.
    let typing = json!([{"name": "topic", "type": 3, "value": "autu", "focused": true}]);
    let token = platform.types(MAREN, "explain", &typing);
    assert!(platform.answer_to_interaction(&token).await["message"]["choices"].to_string().contains("The autumn swap"));
    let (_, inputs) = editor(&platform, "Our holdback swap").await;
    assert!(inputs.to_string().contains("how does the swap work"), "{inputs}");
    let pins = platform.command(MAREN, Some(SERVER), "pins", &option("topic", "The autumn swap"));
    assert!(text(&platform.answer_to_interaction(&pins).await["message"]).contains("Posted and pinned"));
    // A built-in topic keeps its title where none is given, and what is wrong with a title is said with the draft.
    assert!(publish(&platform, "het", &[("title", ""), ("words", "A carrier.")]).await.contains("version 1"));
    let refused =
        fills(&platform, "het", &[("title", "@everyone"), ("questions", "x\n\n<@1>"), ("words", "Fine.")]).await;
    let said = text(&refused["message"]);
    assert!(said.contains("title: ") && said.contains("questions: "), "{said}");
    let again = pressed(&platform, MAREN, &refused["message"], "Edit again").await;
    assert!(again["message"]["components"].to_string().contains("@everyone"), "the draft is given back: {again}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn links_are_written_only_where_the_server_allows_them() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &MANY).await;
    let linked = [("words", "Our rules stand at https://example.org/rules today.")];
    assert!(text(&fills(&platform, "het", &linked).await["message"]).contains("link, which is not allowed"));
    let opened = platform.command(MAREN, Some(SERVER), "settings", &json!([]));
    let opened = platform.answer_to_interaction(&opened).await["message"].clone();
    let second = pressed(&platform, MAREN, &opened, "More").await["message"].clone();
    let token = platform.chooses(MAREN, &second, &component(&second, "links"), &["links"]);
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("plain https links"));
    assert!(publish(&platform, "het", &linked).await.contains("version 1"));
    // What leads away in other ways stays refused.
    for typed in ["See http://example.org now.", "[here](https://example.org)", "https://me@example.org"] {
        assert!(
            text(&fills(&platform, "het", &[("words", typed)]).await["message"]).contains("cannot be published"),
            "{typed}"
        );
    }
    let answer = hears(&platform, "what does het mean?").await;
    assert!(answer.contains(" https://example.org/rules today"), "it is a link: {answer}");
    let echoed =
        hears(&platform, "het https://example.org/rules x clown hidden\u{200b} https\u{200b}://example.org").await;
    assert!(!echoed.contains(" https://"), "what a member types is none: {echoed}");
    let token = platform.chooses(MAREN, &second, &component(&second, "links"), &["none"]);
    platform.answer_to_interaction(&token).await;
    assert!(text(&fills(&platform, "visual", &linked).await["message"]).contains("link, which is not allowed"));
    let token = platform.presses(MAREN, &opened, &component(&opened, "Who changed"));
    let changes = text(&platform.answer_to_interaction(&token).await["message"]);
    assert!(changes.contains("links: false → true") && changes.contains("links: true → false"), "{changes}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn words_go_out_as_a_file_and_come_in_from_one() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &MANY).await;
    let short =
        json!([{"name": "word", "type": 3, "value": "QZ"}, {"name": "means", "type": 3, "value": "desert ghost"}]);
    words(&platform, "short", &short).await;
    publish(&platform, "het", &[("words", "In our group a het is a hidden carrier.")]).await;
    publish(&platform, "Our swap", &[("questions", "when is the swap"), ("words", "In October.")]).await;
    words(&platform, "caution", &option("gene", "Spider · Ball python")).await;
    let kept = file(&platform).await;
    let content = String::from_utf8(platform.content(&kept)).expect("text");
    assert!(
        content.contains("hidden carrier") && content.contains("spider") && content.contains("when is the swap"),
        "{content}"
    );
    let same = hands_in(&platform, MAREN, &kept).await;
    assert!(text(&same["message"]).contains("is the same here already"), "{same}");
    // Everything is changed or taken away, and comes back.
    for name in ["QZ", "Our swap", "Spider"] {
        words(&platform, "remove", &option("name", name)).await;
    }
    publish(&platform, "het", &[("words", "Something else.")]).await;
    let shown = hands_in(&platform, MAREN, &kept).await;
    let said = text(&shown["message"]);
    assert!(
        shown["private"] == true && said.contains("2 texts") && said.contains("QZ") && said.contains("spider"),
        "{said}"
    );
    assert!(hears(&platform, "what does het mean?").await.contains("Something else"), "shown, not taken over");
    platform.with(|s| s.permissions = Some(1 << 11));
    let refused = pressed(&platform, TJARK, &shown["message"], "Take it over").await;
    assert!(text(&refused["message"]).contains("code 403"), "{refused}");
    assert!(text(&hands_in(&platform, TJARK, &kept).await["message"]).contains("code 403"));
    platform.with(|s| s.permissions = None);
    let other = pressed(&platform, TJARK, &shown["message"], "Take it over").await;
    assert!(text(&other["message"]).contains("code 410"), "only who handed it in: {other}");
    let taken = pressed(&platform, MAREN, &shown["message"], "Take it over").await;
    assert!(text(&taken["message"]).contains("Taken over"), "{taken}");
    assert!(hears(&platform, "what does het mean?").await.contains("hidden carrier"));
    assert!(hears(&platform, "explain when is the swap").await.contains("In October"));
    let again = pressed(&platform, MAREN, &shown["message"], "Take it over").await;
    assert!(text(&again["message"]).contains("code 410"), "once: {again}");
    // Whoever a file names as an author: it was taken over by who took it over.
    let forged =
        platform.keep("words.toml", content.replace(&MAREN.to_string(), "777").replace("hidden", "secret").into());
    let shown = hands_in(&platform, MAREN, &forged).await;
    pressed(&platform, MAREN, &shown["message"], "Take it over").await;
    let list = words(&platform, "list", &json!([])).await;
    assert!(!text(&list["message"]).contains("<@777>"), "{list}");
    // Good lines come in, the rest is named with its line.
    let mixed = "hatchward_words = 1\n\n[[alias]]\nword = \"QY\"\nmeans = \"clown\"\nspecies = \"ball_python\"\n\n\
                 [[alias]]\nword = \"female\"\nmeans = \"clown\"\nspecies = \"ball_python\"\n\n\
                 [[topic]]\nid = \"visual\"\nversion = 1\nauthor = \"1\"\nat_unix_s = 1\ntext = \"Ask @everyone.\"\n";
    let shown = hands_in(&platform, MAREN, &platform.keep("words.toml", mixed.into())).await;
    let said = text(&shown["message"]);
    assert!(said.contains("QY") && said.contains("words.toml:8") && said.contains("words.toml:13"), "{said}");
    for (bad, why) in [("hatchward_words = 9", "only 1 is known"), ("nonsense", "Left out"), ("", "Left out")] {
        let told = hands_in(&platform, MAREN, &platform.keep("words.toml", bad.into())).await;
        assert!(text(&told["message"]).contains(why) && told["message"]["components"] == json!([]), "{bad:?}: {told}");
    }
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_caution_that_is_always_said_stands_first_and_in_full() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &MANY).await;
    // Champagne and Woma are noted in small only; here it is to be said.
    let crowded = "spider champagne het clown x woma hidden gene woma super pastel het clown, ball python";
    let before = hears(&platform, crowded).await;
    for (gene, why) in [("Clown", "nothing against"), ("blorpfish", "no gene called")] {
        let told = words(&platform, "caution", &option("gene", gene)).await;
        assert!(text(&told["message"]).contains(why), "{gene}: {told}");
    }
    let told = words(&platform, "caution", &option("gene", "Woma")).await;
    assert!(text(&told["message"]).contains("Woma is said in full and first"), "{told}");
    let after = hears(&platform, crowded).await;
    let first = after.lines().find(|line| line.starts_with("**Caution:**")).unwrap_or_default().to_owned();
    assert!(first.contains("Woma"), "first and in full:\n{after}\nbefore:\n{before}");
    let odds = |said: &str| said.lines().filter(|l| l.contains(" · ")).map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(odds(&before), odds(&after), "what is said first changes no odds");
    let list = words(&platform, "list", &json!([])).await;
    assert!(text(&list["message"]).contains("cautions of Woma"), "{list}");
    words(&platform, "remove", &option("name", "Woma")).await;
    assert_eq!(hears(&platform, crowded).await, before);
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_private_explanation_is_shown_to_everybody_by_moderators_alone() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &MANY).await;
    let written = platform.says(TJARK, "looking for a 66% het clown, ball python, proven breeder, dh welcome");
    let token = platform.picks(MAREN, "Explain the words", written);
    let private = platform.answer_to_interaction(&token).await;
    assert_eq!(private["private"], true);
    let shown = &private["message"];
    // Whoever the press comes from: it is checked then, not when the button was drawn.
    platform.with(|s| s.permissions = Some(1 << 11));
    let refused = pressed(&platform, TJARK, shown, "Show to everybody").await;
    assert!(refused["private"] == true && text(&refused["message"]).contains("code 403"), "{refused}");
    // A member is not even offered it.
    let token = platform.picks(TJARK, "Explain the words", written);
    let theirs = platform.answer_to_interaction(&token).await;
    assert!(!theirs["message"]["components"].to_string().contains("Show to everybody"), "{theirs}");
    platform.with(|s| s.permissions = Some(1 << 13));
    // Also after a restart: what is shown is what stood there.
    drop(bot);
    let _next = Bot::ready(&platform, &[("HATCHWARD_DISCORD_CATCH_UP_MINUTES", "0")]).await;
    let public = pressed(&platform, MAREN, shown, "Show to everybody").await;
    assert_eq!((&public["type"], &public["private"]), (&json!(4), &json!(false)));
    assert_eq!(text(&public["message"]), text(shown));
    platform.is_content();
}
