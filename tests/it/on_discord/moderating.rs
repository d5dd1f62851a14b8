//! Those who look after a server: joining, settings, leaving.

use serde_json::{Value, json};

use super::mention;
use crate::platform::bot::Bot;
use crate::platform::events::Said;
use crate::platform::{CHANNEL, DIRECT, MAREN, OTHER_CHANNEL, Platform, SERVER, TJARK, WAIT, component, is_id, text};

const MANAGE_SERVER: u64 = 1 << 5;
const NEW_SERVER: u64 = 110_000_000_000_000_001;

/// The panel, opened by somebody who may.
async fn panel(platform: &Platform) -> Value {
    let token = platform.command(MAREN, Some(SERVER), "settings", &json!([]));
    let answer = platform.answer_to_interaction(&token).await;
    assert_eq!(answer["private"], true);
    answer["message"].clone()
}

async fn choose(platform: &Platform, panel: &Value, name: &str, values: &[&str]) -> Value {
    let token = platform.chooses(MAREN, panel, &component(panel, name), values);
    let answer = platform.answer_to_interaction(&token).await;
    answer["message"].clone()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_new_server_is_greeted_once_and_never_after_a_restart() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    platform.server(NEW_SERVER, "2026-11-25T00:00:00+00:00", &json!({}));
    let hello =
        platform.until("a hello", WAIT, |s| s.messages.values().find(|m| text(m).contains("Hello")).cloned()).await;
    assert!(text(&hello).chars().count() <= 600, "{}", text(&hello).chars().count());
    assert_eq!(hello["channel_id"], (NEW_SERVER + 51).to_string(), "where the server wants notices");
    // An outage is no leaving and no joining.
    platform.event("GUILD_DELETE", &json!({"id": NEW_SERVER.to_string(), "unavailable": true}), Some(NEW_SERVER));
    platform.server(NEW_SERVER, "2026-11-25T00:00:00+00:00", &json!({}));
    drop(bot);
    let again = Bot::ready(&platform, &[("HATCHWARD_DISCORD_CATCH_UP_MINUTES", "0")]).await;
    platform.server(NEW_SERVER, "2026-11-25T00:00:00+00:00", &json!({}));
    platform.still().await;
    let hellos = |p: &Platform| p.with(|s| s.messages.values().filter(|m| text(m).contains("Hello")).count());
    assert_eq!(hellos(&platform), 1, "only the new server, and only once");
    // Where nothing may be written, nothing is; and a server that comes back is greeted anew.
    let closed = json!({"roles": [{"id": (NEW_SERVER + 1).to_string(), "name": "@everyone", "color": 0, "hoist": false, "colors": {"primary_color": 0, "secondary_color": null, "tertiary_color": null},
        "position": 0, "permissions": "0", "managed": false, "mentionable": false, "flags": 0}]});
    platform.server(NEW_SERVER + 1, "2026-11-25T00:00:00+00:00", &closed);
    platform.removes(NEW_SERVER);
    again.says("left a server").await;
    platform.with(|s| s.nonces.clear());
    platform.server(NEW_SERVER, "2026-11-25T00:00:00+00:00", &json!({}));
    platform
        .until("another hello", WAIT, |s| {
            (s.messages.values().filter(|m| text(m).contains("Hello")).count() == 2).then_some(())
        })
        .await;
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn only_those_who_manage_the_server_change_its_settings() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let opened = panel(&platform).await;
    // The platform hides the command; the program checks it all the same, at every use.
    platform.with(|s| s.permissions = Some(1 << 11));
    let token = platform.command(TJARK, Some(SERVER), "settings", &json!([]));
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("code 403"));
    let token = platform.chooses(TJARK, &opened, &component(&opened, "mentions"), &["off"]);
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("code 403"));
    let token = platform.presses(TJARK, &opened, &component(&opened, "Reset"));
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("code 403"));
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(asked).await;
    let token = platform.command(TJARK, None, "settings", &json!([]));
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("belong to a server"));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn settings_are_chosen_kept_noted_and_reset() {
    let platform = Platform::start().await;
    platform.with(|s| s.permissions = Some(MANAGE_SERVER));
    let bot = Bot::ready(&platform, &[]).await;
    let opened = panel(&platform).await;
    // Everywhere: without a species, this is asked about.
    let species = choose(&platform, &opened, "species", &["corn_snake"]).await;
    assert!(text(&species).contains("Corn snake"), "{species}");
    let asked = platform.says(MAREN, &mention("het amel x amel"));
    let answer = text(&platform.answer_to(asked).await);
    assert!(answer.contains("**Corn snake"), "{answer}");
    let other = OTHER_CHANNEL.to_string();
    let token = platform.component(
        MAREN,
        &opened,
        &json!({"custom_id": component(&opened, "channels"), "component_type": 8, "values": [other],
            "resolved": {"channels": {other.clone(): {"id": other, "type": 0, "name": "pairings", "permissions": "0"}}}}),
    );
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("<#200000000000000002>"));
    let silent = platform.says(MAREN, &mention("het amel x amel"));
    let heard = platform.says_in(OTHER_CHANNEL, Some(SERVER), MAREN, &mention("het amel x amel"), &Said::default());
    platform.answer_to(heard).await;
    assert_eq!(platform.answers_to(silent), 0, "not in this channel");
    // Another process reads the same settings.
    drop(bot);
    let _next = Bot::ready(&platform, &[("HATCHWARD_DISCORD_CATCH_UP_MINUTES", "0")]).await;
    let silent = platform.says(MAREN, &mention("het amel x amel"));
    platform.still().await;
    assert_eq!(platform.answers_to(silent), 0);
    let opened = panel(&platform).await;
    let token = platform.presses(MAREN, &opened, &component(&opened, "Who changed"));
    let changes = platform.answer_to_interaction(&token).await;
    let changes = text(&changes["message"]);
    assert!(
        changes.contains("species: none → corn\\_snake") && changes.contains("channels: none → 200000000000000002"),
        "{changes}"
    );
    assert!(changes.contains(&format!("<@{MAREN}>")), "{changes}");
    let token = platform.presses(MAREN, &opened, &component(&opened, "Reset"));
    assert!(text(&platform.answer_to_interaction(&token).await["message"]).contains("everywhere"));
    let heard = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(heard).await;
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn mentions_can_be_off_or_answered_by_letter_and_a_server_can_be_quiet() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let opened = panel(&platform).await;
    choose(&platform, &opened, "mentions", &["off"]).await;
    let silent = platform.says(MAREN, &mention("het clown x clown"));
    let token = platform.command(
        MAREN,
        Some(SERVER),
        "odds",
        &json!([{"name": "pairing", "type": 3, "value": "het clown x clown"}]),
    );
    assert_eq!(platform.answer_to_interaction(&token).await["private"], false, "commands still work");
    assert_eq!(platform.answers_to(silent), 0);
    choose(&platform, &opened, "mentions", &["react"]).await;
    platform.says(MAREN, &mention("het clown x clown"));
    let letter = |s: &mut crate::platform::State| {
        s.messages.values().find(|m| is_id(&m["channel_id"], DIRECT) && text(m).contains("Clown")).cloned()
    };
    platform.until("a letter", WAIT, letter).await;
    platform
        .until("a sign", WAIT, |s| {
            s.requests.iter().any(|r| r.method == "PUT" && r.path.contains("reactions")).then_some(())
        })
        .await;
    choose(&platform, &opened, "mentions", &["on"]).await;
    choose(&platform, &opened, "quiet", &["private"]).await;
    let token = platform.command(
        MAREN,
        Some(SERVER),
        "odds",
        &json!([{"name": "pairing", "type": 3, "value": "het pied x pied"}]),
    );
    assert_eq!(platform.answer_to_interaction(&token).await["private"], true);
    let asked = platform.says(MAREN, &mention("het pied x pied"));
    platform
        .until("a letter", WAIT, |s| {
            s.messages.values().find(|m| is_id(&m["channel_id"], DIRECT) && text(m).contains("Piebald")).cloned()
        })
        .await;
    assert_eq!(platform.answers_to(asked), 0, "nothing in the channel");
    assert_ne!(CHANNEL, DIRECT);
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn the_panel_ticks_off_what_the_bot_may_do_and_how_much_it_is_used() {
    let platform = Platform::start().await;
    platform.with(|s| s.special = json!({"roles": [{"id": SERVER.to_string(), "name": "@everyone", "color": 0,
        "colors": {"primary_color": 0, "secondary_color": null, "tertiary_color": null}, "hoist": false, "position": 0,
        "permissions": (1_u64 << 10 | 1 << 11 | 1 << 16).to_string(), "managed": false, "mentionable": false, "flags": 0}]}));
    let bot = Bot::ready(&platform, &[]).await;
    for who in [MAREN, TJARK, MAREN] {
        let asked = platform.says(who, &mention("het clown x clown"));
        platform.answer_to(asked).await;
    }
    bot.says_times("answered a question", 3).await;
    let opened = panel(&platform).await;
    let said = text(&opened);
    assert!(said.contains("✓ Send Messages") && said.contains("✗ Embed Links, to draw an answer as a card"), "{said}");
    let token = platform.presses(MAREN, &opened, &component(&opened, "How much"));
    let used = text(&platform.answer_to_interaction(&token).await["message"]);
    assert!(used.contains("3 times in the last week") && used.contains("to 2 members"), "{used}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_language_is_chosen_on_the_second_page() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let opened = panel(&platform).await;
    let token = platform.presses(MAREN, &opened, &component(&opened, "More"));
    let second = platform.answer_to_interaction(&token).await["message"].clone();
    let english = choose(&platform, &second, "locale", &["en"]).await;
    assert!(text(&english).contains("**Language** · English"), "{english}");
    platform.is_content();
}

/// What is kept of a server: rows in each of its tables.
async fn kept_of(pool: &sqlx::PgPool, server: u64) -> Vec<i64> {
    let mut found = Vec::new();
    for table in ["discord_server", "discord_server_change", "discord_words", "discord_post", "discord_draft"] {
        let query = format!("select count(*) from {table} where guild_id = {server}");
        found.push(sqlx::query_scalar(&query).fetch_one(pool).await.expect("a count"));
    }
    found
}

#[tokio::test(flavor = "multi_thread")]
async fn a_servers_settings_are_erased_after_the_grace_and_not_before() {
    let platform = Platform::start().await;
    let Some(database) = platform.database.clone() else { return };
    let bot = Bot::ready(&platform, &[]).await;
    platform.server(NEW_SERVER, "2026-11-25T00:00:00+00:00", &json!({}));
    platform.until("a hello", WAIT, |s| s.messages.values().find(|m| text(m).contains("Hello")).cloned()).await;
    let short = json!([{"name": "short", "type": 1, "options": [
        {"name": "word", "type": 3, "value": "QZ"}, {"name": "means", "type": 3, "value": "desert ghost"}]}]);
    let write = json!([{"name": "write", "type": 1, "options": [{"name": "topic", "type": 3, "value": "het"}]}]);
    let pin = json!([{"name": "topic", "type": 3, "value": "het"}]);
    for server in [SERVER, NEW_SERVER] {
        for (name, options) in [("words", &short), ("words", &write), ("pins", &pin)] {
            let token = platform.command(MAREN, Some(server), name, options);
            platform.answer_to_interaction(&token).await;
        }
    }
    let pool = sqlx::PgPool::connect(&database).await.expect("the database");
    for server in [SERVER, NEW_SERVER] {
        let change = "insert into discord_server_change (guild_id, member_id, setting, before, after) values ($1, 1, 'species', '', 'boa')";
        sqlx::query(change).bind(server.cast_signed()).execute(&pool).await.expect("a change");
    }
    platform.removes(NEW_SERVER);
    bot.says("left a server").await;
    drop(bot);
    // The grace is 30 days where nothing else is set; what is kept of other servers is not touched.
    for (days, left) in [(29, [1; 5]), (31, [0; 5])] {
        let aged = format!(
            "update discord_server set removed_at = now() - interval '{days} days' where removed_at is not null"
        );
        sqlx::query(&aged).execute(&pool).await.expect("aged");
        let bot = Bot::ready(&platform, &[("HATCHWARD_DISCORD_CATCH_UP_MINUTES", "0")]).await;
        bot.says("erased what was over its time").await;
        assert_eq!(kept_of(&pool, NEW_SERVER).await, left, "{days} days after it was left");
        assert_eq!(kept_of(&pool, SERVER).await, [1; 5]);
    }
    platform.is_content();
}
