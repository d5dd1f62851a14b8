//! Reminders on the stand-in: by direct message, in their channel where direct messages are closed, kept where that is
//! closed too; told at least once whatever is killed or away.

use std::time::{Duration, Instant};

use serde_json::{Value, json};
use sqlx::PgPool;

use super::deliveries::{self, Size};
use crate::platform::bot::Bot;
use crate::platform::{CHANNEL, DIRECT, Fault, MAREN, Platform, SERVER, TJARK, WAIT, component, is_id, text};
use crate::store::line::Line;
use crate::store::server::Server;

/// Waits for a message with these words that answers nobody.
async fn comes(platform: &Platform, words: &str) -> Value {
    platform
        .until(words, WAIT, |s| {
            s.messages.values().find(|m| m["message_reference"].is_null() && text(m).contains(words)).cloned()
        })
        .await
}

/// A database in which Maren is known and nothing is set; nothing where no server is installed.
async fn database(platform: &Platform) -> Option<PgPool> {
    let pool = PgPool::connect(platform.database.as_ref()?).await.expect("the database");
    sqlx::query("insert into keeper (platform, user_id) values ('discord', $1) on conflict do nothing")
        .bind(MAREN.to_string())
        .execute(&pool)
        .await
        .expect("a keeper");
    Some(pool)
}

/// A reminder of Maren's that was due so many minutes ago, set in the usual channel.
async fn was_due(pool: &PgPool, number: i32, what: &str, minutes_ago: i32) {
    was_set(pool, number, what, minutes_ago, Some(CHANNEL)).await;
}

/// Set in this channel, or by direct message.
async fn was_set(pool: &PgPool, number: i32, what: &str, minutes_ago: i32, channel: Option<u64>) {
    sqlx::query(
        "with new as (
             insert into reminder (keeper_id, id, version, number, what, zone, next_at, channel)
             select id, nextval('record_id'), 1, $2, $3, 'Europe/Berlin', now() - make_interval(mins => $4), $5
             from keeper where user_id = $1 returning keeper_id, id, next_at
         )
         insert into due (keeper_id, reminder_id, due_at) select keeper_id, id, next_at from new",
    )
    .bind(MAREN.to_string())
    .bind(number)
    .bind(what)
    .bind(minutes_ago)
    .bind(channel.map(|c| c.to_string()))
    .execute(pool)
    .await
    .expect("a reminder");
}

/// Waits until every moment is in this state.
async fn until_all(pool: &PgPool, state: &str) {
    let end = Instant::now() + WAIT;
    loop {
        let others: i64 = sqlx::query_scalar("select count(*) from due where state <> $1")
            .bind(state)
            .fetch_one(pool)
            .await
            .expect("a count");
        if others == 0 {
            return;
        }
        assert!(Instant::now() < end, "{others} are not {state}");
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

/// What was sent to a channel, as bodies.
fn sent_to(platform: &Platform, channel: u64) -> Vec<Value> {
    platform.requests("POST", &format!("/channels/{channel}/messages")).into_iter().map(|r| r.body).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_reminder_is_set_and_told_by_direct_message() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let asked = platform.whispers(MAREN, "remind me in 2 seconds to candle the eggs");
    let heard = platform.answer_to(asked).await;
    assert!(text(&heard).contains("By whose clock?"), "{}", text(&heard));
    // It waits while something else is talked of, and is not said again.
    let asked = platform.whispers(MAREN, "het clown x clown");
    let heard = platform.answer_to(asked).await;
    assert!(text(&heard).contains("1/2") && text(&heard).contains("reminder is not set yet"), "{}", text(&heard));
    let asked = platform.whispers(MAREN, "my time zone is Berlin");
    let heard = platform.answer_to(asked).await;
    assert!(text(&heard).contains("Saved as reminder 1: candle the eggs"), "{}", text(&heard));
    assert!(text(&heard).contains("<t:"), "{}", text(&heard));
    comes(&platform, "Reminder 1: candle the eggs").await;
    platform.is_content();
}

/// Twenty seconds, because fourteen processes of the real program have to start. The claims of the killed end at once here;
/// `HATCHWARD_REMINDERS=10000x50` is the long form, in which each holds for its forty seconds; with `HATCHWARD_OVER=60`
/// they fall due over so many seconds, to see how late they are.
#[tokio::test(flavor = "multi_thread")]
async fn none_is_lost_whatever_is_killed() {
    let Some(server) = Server::start() else { return };
    let platform = deliveries::start(&server).await;
    let long = std::env::var("HATCHWARD_REMINDERS").ok();
    let (reminders, kills) = match long.as_deref().and_then(|l| l.split_once('x')) {
        Some((n, kills)) => (n.parse().expect("a number"), kills.parse().expect("a number")),
        None => (1000, 10),
    };
    let over = std::env::var("HATCHWARD_OVER").map_or(0, |s| s.parse().expect("seconds"));
    let size = Size { reminders, over: Duration::from_secs(over), kills, claims_end: long.is_none() };
    let told = deliveries::run(&platform, size).await;
    told.show("killed");
    assert!(told.lost.is_empty(), "lost: {:?}", told.lost);
    assert_eq!(told.said_twice, 0, "what comes twice comes under its own number, so that the platform drops it");
    assert!(told.apart < Duration::from_mins(3), "the platform has forgotten the number after {:?}", told.apart);
    platform.is_content();
}

/// `HATCHWARD_AWAY=60` cuts the database off for a minute.
#[tokio::test(flavor = "multi_thread")]
async fn none_is_lost_while_the_database_is_away() {
    let Some(server) = Server::start() else { return };
    let mut platform = deliveries::start(&server).await;
    let name = server.fresh();
    let line = Line::to(&server);
    let away: u64 = std::env::var("HATCHWARD_AWAY").map_or(3, |s| s.parse().expect("seconds"));
    let size = Size {
        reminders: i32::try_from(away * 20 + 100).expect("a count"),
        over: Duration::from_secs(away + 5),
        kills: 0,
        claims_end: false,
    };
    // What the test itself looks into is not behind the line.
    let pool = deliveries::fill(&server.url("hatchward", &name), size).await;
    platform.database = Some(line.url("hatchward", &name));
    let begun = Instant::now();
    let processes: Vec<Bot> = (0..deliveries::PROCESSES).map(|n| deliveries::process(&platform, n)).collect();
    platform.until("the first of them", WAIT, |s| (s.nonces.len() > 10).then_some(())).await;
    line.cut();
    tokio::time::sleep(Duration::from_secs(away)).await;
    let before = platform.with(|s| s.nonces.len());
    line.mend();
    deliveries::until_told(&platform, &pool).await;
    drop(processes);
    let due: Vec<(String, f64)> = sqlx::query_as("select what, extract(epoch from next_at)::float8 from reminder")
        .fetch_all(&pool)
        .await
        .expect("what was due");
    let told = deliveries::judge(&platform, size, &due, begun);
    told.show("away");
    assert!(before < due.len(), "some fell due while it was away");
    assert!(told.lost.is_empty(), "lost: {:?}", told.lost);
    assert_eq!(told.said_twice, 0);
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn closed_direct_messages_lead_to_the_channel_and_ping_the_owner_alone() {
    let platform = Platform::start().await;
    let Some(_) = platform.database else { return };
    let _bot = Bot::ready(&platform, &[]).await;
    let pool = database(&platform).await.expect("a database");
    platform.with(|s| s.closed_direct = true);
    was_due(&pool, 1, "feed @everyone and <@400000000000000002>", 0).await;
    let told = comes(&platform, "Reminder 1: feed").await;
    assert!(is_id(&told["channel_id"], CHANNEL), "{told}");
    assert!(text(&told).starts_with(&format!("<@{MAREN}> ")), "{}", text(&told));
    until_all(&pool, "told").await;
    let [body] = &sent_to(&platform, CHANNEL)[..] else { panic!("one message") };
    assert_eq!(body["allowed_mentions"]["parse"], json!([]));
    assert_eq!(body["allowed_mentions"]["users"], json!([MAREN.to_string()]));
    // By direct message nobody is pinged.
    platform.with(|s| s.closed_direct = false);
    was_due(&pool, 2, "clean", 0).await;
    let told = comes(&platform, "Reminder 2: clean").await;
    assert!(is_id(&told["channel_id"], DIRECT) && !text(&told).contains("<@"), "{told}");
    let bodies = sent_to(&platform, DIRECT);
    assert!(bodies.iter().all(|b| b["allowed_mentions"]["users"].is_null()), "{bodies:?}");
    // What was set by direct message is not for those who read in the channel, also where it is told with others.
    platform.with(|s| s.closed_direct = true);
    was_due(&pool, 3, "mist", 26 * 60).await;
    was_set(&pool, 4, "a private affair", 26 * 60 + 1, None).await;
    comes(&platform, "Reminder 3: mist").await;
    platform.still().await;
    assert!(!sent_to(&platform, CHANNEL).iter().any(|b| b.to_string().contains("private affair")));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn what_can_be_told_nowhere_is_kept_and_shown_at_the_next_visit() {
    let platform = Platform::start().await;
    let Some(_) = platform.database else { return };
    let free = std::net::TcpListener::bind("127.0.0.1:0").and_then(|l| l.local_addr()).expect("a free port");
    let _bot = Bot::ready(&platform, &[("HATCHWARD_HEALTH_LISTEN", &free.to_string())]).await;
    let pool = database(&platform).await.expect("a database");
    platform.with(|s| s.closed_direct = true);
    // The channel lets the bot no longer write.
    platform.plan("POST", &format!("/channels/{CHANNEL}/messages"), Fault::Status(403, 50_013), 1);
    was_due(&pool, 1, "weigh the girls", 0).await;
    until_all(&pool, "missed").await;
    platform.with(|s| s.closed_direct = false);
    let asked = platform.whispers(MAREN, "my reminders");
    let heard = platform.answer_to(asked).await;
    assert!(text(&heard).contains("Not delivered: reminder 1, weigh the girls (was due"), "{}", text(&heard));
    let asked = platform.whispers(MAREN, "list my animals");
    let heard = platform.answer_to(asked).await;
    assert!(!text(&heard).contains("Not delivered"), "it is said once: {}", text(&heard));
    // In time, late, and what failed before, as the operator sees them.
    was_due(&pool, 2, "feed", 0).await;
    was_due(&pool, 3, "clean", 2).await;
    comes(&platform, "Reminder 3: clean").await;
    until_all(&pool, "told").await;
    let mut numbers = String::new();
    let wanted = [
        "hatchward_reminders_total{kind=\"sent\"} 2",
        "hatchward_reminders_total{kind=\"late\"} 1",
        "hatchward_reminders_total{kind=\"failed\"} 1",
        "hatchward_reminders_due 0",
    ];
    let end = Instant::now() + WAIT;
    while !wanted.iter().all(|line| numbers.contains(line)) {
        assert!(Instant::now() < end, "{wanted:?} are not in\n{numbers}");
        let answer = reqwest::get(format!("http://{free}/metrics")).await.expect("an answer");
        numbers = answer.text().await.expect("text");
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn what_may_pass_is_tried_again_and_never_told_to_others() {
    let platform = Platform::start().await;
    let Some(_) = platform.database else { return };
    let _bot = Bot::ready(&platform, &[]).await;
    let pool = database(&platform).await.expect("a database");
    let direct = format!("/channels/{DIRECT}/messages");
    for (n, fault) in (1..).zip([
        Fault::Status(500, 0),
        Fault::Slow { wait: Duration::from_millis(300), everywhere: false },
        Fault::LoseAnswer,
        // Of the kinds of refusal that are none of a closed door.
        Fault::Status(403, 20_026),
        Fault::Status(400, 50_035),
        Fault::Status(404, 10_003),
    ]) {
        platform.plan("POST", &direct, fault, 1);
        was_due(&pool, n, "feed", 0).await;
        let words = format!("Reminder {n}: feed");
        let end = Instant::now() + WAIT;
        while !platform.with(|s| s.messages.values().any(|m| text(m).contains(&words))) {
            assert!(Instant::now() < end, "{fault:?}: it is not tried again");
            // The pause before the next attempt is over at once.
            sqlx::query("update due set claimed_until = now() where claimed_until < now() + interval '25 seconds'")
                .execute(&pool)
                .await
                .expect("the pause ends");
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        until_all(&pool, "told").await;
    }
    assert_eq!(sent_to(&platform, CHANNEL), Vec::<Value>::new());
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_late_says_so_and_what_is_old_comes_as_one() {
    let platform = Platform::start().await;
    let Some(_) = platform.database else { return };
    // The tables are there before the program.
    let bot = Bot::ready(&platform, &[]).await;
    let pool = database(&platform).await.expect("a database");
    drop(bot);
    was_due(&pool, 1, "mist", 0).await;
    was_due(&pool, 2, "feed", 3 * 60).await;
    for n in 3..=42 {
        was_due(&pool, n, &format!("note {n}. {}", "of a long night ".repeat(12)), 26 * 60 + n).await;
    }
    let _bot = Bot::start(&platform, &[("HATCHWARD_DISCORD_SHARDS", "0/1")]);
    until_all(&pool, "told").await;
    let told = platform.with(|s| s.messages.values().map(text).collect::<Vec<_>>());
    let of = |words: &str| told.iter().filter(|t| t.contains(words)).collect::<Vec<_>>();
    assert!(of("Reminder 1: mist").iter().all(|t| !t.contains("was due")), "{told:?}");
    let late = of("Reminder 2: feed (was due ");
    assert_eq!(late.len(), 1, "{told:?}");
    assert!(!late[0].contains("waited while"), "it comes by itself: {late:?}");
    // Forty long ones are more than one message holds; each is in one of them.
    let digests = of("reminders waited while I could not tell them");
    assert!((2..=10).contains(&digests.len()), "{digests:?}");
    for n in 3..=42 {
        assert_eq!(of(&format!("note {n}.")).len(), 1, "note {n}: {told:?}");
    }
    platform.is_content();
}

/// What a member hears to a command.
async fn commanded(platform: &Platform, who: u64, name: &str, options: &Value) -> Value {
    let token = platform.command(who, Some(SERVER), name, options);
    platform.answer_to_interaction(&token).await
}

fn remind(about: &str, clock: &str) -> Value {
    let both = [("about", about), ("clock", clock)];
    both.iter()
        .filter(|o| !o.1.is_empty())
        .map(|(name, value)| json!({"name": name, "type": 3, "value": value}))
        .collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn at_set_up_it_is_said_whether_direct_messages_arrive() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let set = commanded(&platform, MAREN, "remind", &remind("in 10 days to candle the eggs", "Europe/Berlin")).await;
    let heard = text(&set["message"]);
    assert!(set["private"] == true && heard.contains("Saved as reminder 1: candle the eggs"), "{set}");
    assert!(heard.contains("your time zone is Berlin") && heard.contains("<t:"), "{heard}");
    assert!(heard.contains("I have just sent you this by direct message"), "{heard}");
    let letter = comes(&platform, "Saved as reminder 1: candle the eggs").await;
    assert!(platform.with(|s| s.messages.values().any(|m| is_id(&m["channel_id"], DIRECT))), "{letter}");
    // Closed, it says so and what happens then; a channel for direct messages opens all the same.
    platform.with(|s| s.closed_direct = true);
    let set = commanded(&platform, MAREN, "remind", &remind("in 11 days to candle them again", "")).await;
    let heard = text(&set["message"]);
    assert!(heard.contains("Saved as reminder 2"), "{heard}");
    assert!(heard.contains("direct messages are closed to me") && heard.contains("comes in this channel"), "{heard}");
    // Not to be tried now: nothing is claimed.
    platform.with(|s| s.closed_direct = false);
    platform.plan("POST", &format!("/channels/{DIRECT}/messages"), Fault::Late(Duration::from_secs(4)), 1);
    let set = commanded(&platform, MAREN, "remind", &remind("in 12 days to candle once more", "")).await;
    let heard = text(&set["message"]);
    assert!(heard.contains("Saved as reminder 3") && heard.contains("could not be tried just now"), "{heard}");
    // Listed, and a clock alone.
    let list = commanded(&platform, MAREN, "remind", &json!([])).await;
    assert!(text(&list["message"]).contains("3 reminders"), "{list}");
    let moved = commanded(&platform, MAREN, "remind", &remind("", "Sydney")).await;
    assert!(text(&moved["message"]).contains("your time zone is Sydney"), "{moved}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn zones_are_completed_by_the_names_people_know() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    for (typed, first) in [("berl", "Europe/Berlin"), ("germ", "Europe/Berlin"), ("", ""), ("xyzzy", "")] {
        let options = json!([{"name": "clock", "type": 3, "value": typed, "focused": true}]);
        let token = platform.types(MAREN, "remind", &options);
        let answer = platform.answer_to_interaction(&token).await;
        let choices = answer["message"]["choices"].as_array().cloned().unwrap_or_default();
        assert!(choices.len() <= 25, "{typed:?}: {} choices", choices.len());
        assert!(first.is_empty() || choices[0]["value"] == first, "{typed:?}: {answer}");
        assert!(choices.is_empty() == (typed == "xyzzy"), "{typed:?}: {answer}");
    }
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sign_offers_a_reminder_with_a_button() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    for words in ["my time zone is Berlin", "add a ball python: 0.1 normal named Biscuit, 1800 g"] {
        let asked = platform.whispers(MAREN, words);
        platform.answer_to(asked).await;
    }
    let asked = platform.whispers(MAREN, "Biscuit had her pre lay shed today");
    let shed = platform.answer_to(asked).await;
    assert!(text(&shed).contains("Eggs: "), "{}", text(&shed));
    let button = component(&shed, "Remind me on");
    // It works after a restart, and what it sets is told by its moment.
    drop(bot);
    let _next = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let token = platform.presses(MAREN, &shed, &button);
    let set = platform.answer_to_interaction(&token).await;
    assert!(set["private"] == true && text(&set["message"]).contains("Saved as reminder 1: Biscuit"), "{set}");
    assert!(text(&set["message"]).contains("<t:"), "{set}");
    // A second press sets no second one, and one of somebody else finds no such animal of theirs.
    let token = platform.presses(MAREN, &shed, &button);
    let again = platform.answer_to_interaction(&token).await;
    assert!(again["private"] == true && text(&again["message"]).contains("set already"), "{again}");
    let token = platform.presses(TJARK, &shed, &button);
    let theirs = platform.answer_to_interaction(&token).await;
    assert!(theirs["private"] == true && text(&theirs["message"]).contains("no such animal"), "{theirs}");
    platform.is_content();
}
