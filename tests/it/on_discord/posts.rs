//! What becomes of pinned explanations: each loss is logged once, shown once to those who look after the server, and
//! nobody is told unasked.

use serde_json::{Value, json};

use super::pressed;
use crate::platform::bot::Bot;
use crate::platform::{BOT, CHANNEL, Fault, MAREN, OTHER_CHANNEL, Platform, SERVER, component, is_id, text};

const MANY: [(&str, &str); 1] = [("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")];

async fn pins(platform: &Platform, topic: &str) -> Value {
    let options = if topic.is_empty() { json!([]) } else { json!([{"name": "topic", "type": 3, "value": topic}]) };
    let token = platform.command(MAREN, Some(SERVER), "pins", &options);
    platform.answer_to_interaction(&token).await["message"].clone()
}

/// The only message of the program's that is pinned.
fn pinned(platform: &Platform) -> Value {
    let ours = |m: &&Value| is_id(&m["author"]["id"], BOT) && m["pinned"] == true;
    platform.with(|s| s.messages.values().find(ours).cloned()).expect("one is pinned")
}

fn role(permissions: u64) -> Value {
    json!({"guild_id": SERVER.to_string(), "role": {"id": SERVER.to_string(), "name": "@everyone", "color": 0, "colors": {"primary_color": 0, "secondary_color": null, "tertiary_color": null},
        "hoist": false, "position": 0, "permissions": permissions.to_string(), "managed": false, "mentionable": false,
        "flags": 0, "icon": null, "unicode_emoji": null}})
}

#[tokio::test(flavor = "multi_thread")]
async fn a_deleted_channel_is_noticed_and_told_once() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &MANY).await;
    assert!(text(&pins(&platform, "possible het").await).contains("Posted and pinned"));
    let channel = json!({"id": CHANNEL.to_string(), "type": 0, "name": "general", "guild_id": SERVER.to_string(),
        "position": 0, "permission_overwrites": [], "nsfw": false});
    platform.event("CHANNEL_DELETE", &channel, Some(SERVER));
    bot.says("posts of ours were deleted").await;
    platform.event("CHANNEL_DELETE", &channel, Some(SERVER));
    let panel = pins(&platform, "").await;
    assert!(text(&panel).contains("was deleted"), "{panel}");
    assert_eq!(panel["components"], json!([]), "nothing is left to press");
    let again = pins(&platform, "").await;
    assert!(!text(&again).contains("was deleted"), "told once: {again}");
    assert_eq!(bot.log().matches("posts of ours were deleted").count(), 1, "{}", bot.log());
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn posts_deleted_in_bulk_or_with_a_thread_are_noticed() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &MANY).await;
    pins(&platform, "possible het").await;
    let id = pinned(&platform)["id"].clone();
    let gone = json!({"ids": [id], "channel_id": CHANNEL.to_string(), "guild_id": SERVER.to_string()});
    platform.event("MESSAGE_DELETE_BULK", &gone, Some(SERVER));
    bot.says("posts of ours were deleted").await;
    assert!(text(&pins(&platform, "").await).contains("was deleted"));
    pins(&platform, "double het").await;
    let thread = json!({"id": CHANNEL.to_string(), "guild_id": SERVER.to_string(), "parent_id": OTHER_CHANNEL.to_string(),
        "type": 11});
    platform.event("THREAD_DELETE", &thread, Some(SERVER));
    bot.says_times("posts of ours were deleted", 2).await;
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lost_permission_is_noticed_once_and_so_is_its_return() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &MANY).await;
    pins(&platform, "possible het").await;
    platform.event("GUILD_ROLE_UPDATE", &role(0), Some(SERVER));
    bot.says("can no longer be reached").await;
    platform.event("GUILD_ROLE_UPDATE", &role(1), Some(SERVER));
    let panel = pins(&platform, "").await;
    assert!(text(&panel).contains("View Channel"), "what to grant is said: {panel}");
    assert!(text(&pins(&platform, "").await).contains("View Channel"), "as long as it lasts");
    platform.event("GUILD_ROLE_UPDATE", &role(2_252_074_691_709_952), Some(SERVER));
    bot.says("can be reached again").await;
    assert!(text(&pins(&platform, "").await).contains("· pinned"));
    assert_eq!(bot.log().matches("can no longer be reached").count(), 1, "{}", bot.log());
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn what_a_look_finds_is_told_and_not_warned_of_again_and_again() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &MANY).await;
    pins(&platform, "possible het").await;
    let panel = pins(&platform, "").await;
    platform.plan("GET", "/messages/", Fault::Status(403, 50001), 2);
    for _ in 0..2 {
        let told = pressed(&platform, MAREN, &panel, "Bring all up to date").await;
        assert!(text(&told["message"]).contains("can no longer reach it"), "{told}");
    }
    assert_eq!(bot.log().matches("can no longer be reached").count(), 1, "{}", bot.log());
    // It can be reached again, and somebody has unpinned it meanwhile.
    let id = pinned(&platform)["id"].as_str().and_then(|id| id.parse::<u64>().ok()).expect("an id");
    pressed(&platform, MAREN, &panel, "Bring all up to date").await;
    platform.with(|s| s.messages.get_mut(&id).expect("the post")["pinned"] = false.into());
    let told = pressed(&platform, MAREN, &panel, "Bring all up to date").await;
    assert!(text(&told["message"]).contains("somebody unpinned it"), "{told}");
    assert!(text(&pins(&platform, "").await).contains("· not pinned"), "told once");
    // A post that is gone is found to be gone.
    platform.with(|s| s.messages.remove(&id));
    let told = pressed(&platform, MAREN, &panel, "Bring all up to date").await;
    assert!(text(&told["message"]).contains("was deleted"), "{told}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_channel_that_vanished_while_nobody_listened_is_noticed_at_the_next_login() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &MANY).await;
    pins(&platform, "possible het").await;
    drop(bot);
    let post = pinned(&platform);
    platform.with(|s| s.messages.retain(|_, m| m["id"] != post["id"]));
    platform.with(|s| s.special = json!({"channels": []}));
    let next = Bot::ready(&platform, &MANY).await;
    next.says("a post of ours is gone").await;
    let panel = pins(&platform, "").await;
    assert!(text(&panel).contains("was deleted"), "{panel}");
    assert!(panel["components"].as_array().is_none_or(Vec::is_empty));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_post_is_replaced_only_where_it_still_stands() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &MANY).await;
    pins(&platform, "possible het").await;
    let panel = pins(&platform, "").await;
    let select = component(&panel, "unpin");
    let row = panel["components"].as_array().expect("rows").iter().map(|row| &row["components"][0]);
    let value = row.clone().find(|c| c["custom_id"] == select.as_str()).map(|c| c["options"][0]["value"].clone());
    let value = value.and_then(|v| v.as_str().map(str::to_owned)).expect("a post");
    let id = pinned(&platform)["id"].as_str().and_then(|id| id.parse::<u64>().ok()).expect("an id");
    platform.deletes(id);
    let token = platform.chooses(MAREN, &panel, &select, &[&value]);
    let told = platform.answer_to_interaction(&token).await;
    let said = text(&told["message"]);
    assert!(said.contains("code 410"), "{said}");
    platform.is_content();
}
