//! The platform misbehaves: it slows down, breaks, loses answers, drops lines and forgets sessions.

use std::time::Duration;

use serde_json::json;

use super::mention;
use crate::platform::bot::Bot;
use crate::platform::gateway::Order;
use crate::platform::{Fault, MAREN, Platform, SERVER, TJARK, text};

#[tokio::test(flavor = "multi_thread")]
async fn a_wait_that_the_platform_asks_for_is_kept() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    let wait = Duration::from_millis(600);
    platform.plan("POST", "/messages", Fault::Slow { wait, everywhere: false }, 1);
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(asked).await;
    let tries = platform.requests("POST", "/messages");
    assert_eq!(tries.len(), 2);
    assert!(tries[1].at - tries[0].at >= wait, "{:?}", tries[1].at - tries[0].at);
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wait_everywhere_holds_all_back_and_does_not_end_in_a_burst() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_SERVER_QUESTIONS", "1000")]).await;
    platform.plan("POST", "/messages", Fault::Slow { wait: Duration::from_millis(500), everywhere: true }, 1);
    let asked: Vec<u64> = (0..30).map(|n| platform.says(MAREN + 10 + n, &mention("het clown x clown"))).collect();
    for message in &asked {
        platform.answer_to(*message).await;
    }
    let slowed = platform.with(|s| s.requests.iter().filter(|r| r.status == 429).count());
    assert_eq!(slowed, 1, "nobody runs into the closed door again");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_broken_platform_is_asked_again_and_answers_are_not_doubled() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    platform.plan("POST", "/messages", Fault::Status(502, 0), 2);
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(asked).await;
    platform.plan("POST", "/messages", Fault::LoseAnswer, 2);
    let lost = platform.says(TJARK, &mention("het pied x pied"));
    platform.answer_to(lost).await;
    platform.still().await;
    assert_eq!((platform.answers_to(asked), platform.answers_to(lost)), (1, 1));
    assert!(platform.requests("POST", "/messages").len() >= 6, "it was tried again");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_first_answer_that_got_lost_is_not_given_twice() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    platform.plan("POST", "/callback", Fault::LoseAnswer, 1);
    let options = json!([{"name": "pairing", "type": 3, "value": "het clown x clown"}]);
    let token = platform.command(MAREN, Some(SERVER), "odds", &options);
    platform.answer_to_interaction(&token).await;
    bot.says("answered a question").await;
    assert!(!bot.log().contains("could not be answered"), "{}", bot.log());
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_request_that_hangs_is_given_up_and_made_again() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    platform.plan("POST", "/messages", Fault::Late(Duration::from_mins(1)), 1);
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(asked).await;
    // A first answer to an interaction must be there in three seconds, whatever hangs.
    platform.plan("POST", "/callback", Fault::Late(Duration::from_mins(1)), 1);
    let options = json!([{"name": "pairing", "type": 3, "value": "het clown x clown"}]);
    let begun = std::time::Instant::now();
    let token = platform.command(MAREN, Some(SERVER), "odds", &options);
    let answer = platform.answer_to_interaction(&token).await;
    assert!(text(&answer["message"]).contains("Clown"), "{answer}");
    assert!(begun.elapsed() < Duration::from_secs(3), "after that the platform takes no answer");
    assert_eq!(platform.answers_to(asked), 1);
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn what_takes_a_while_is_announced_and_told_in_the_same_place() {
    let platform = Platform::start().await;
    let Some(database) = platform.database.clone() else { return };
    let bot = Bot::ready(&platform, &[]).await;
    let pool = sqlx::PgPool::connect(&database).await.expect("the database");
    // Somebody holds the collection for a moment: nobody can look anything up in it.
    let mut held = pool.begin().await.expect("a transaction");
    sqlx::query("lock table keeper in access exclusive mode").execute(&mut *held).await.expect("a lock");
    let options = json!([{"name": "question", "type": 3, "value": "list my animals"}]);
    let token = platform.command(MAREN, Some(SERVER), "ask", &options);
    let announced =
        platform.until("an announcement", Duration::from_secs(3), |s| s.interactions.get(&token).cloned()).await;
    assert_eq!((&announced["type"], &announced["private"]), (&json!(5), &json!(true)), "soon, and for who asked alone");
    held.rollback().await.expect("it is let go");
    let answer = platform.answer_to_interaction(&token).await;
    assert!(text(&answer["message"]).contains("collection is empty"), "{answer}");
    bot.says("answered a question").await;
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_refused_line_is_resumed_and_nothing_is_lost() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[]).await;
    platform.order(&Order::Tell(json!({"op": 7, "d": null, "s": null, "t": null})));
    platform.back(1, 1, Duration::from_secs(10)).await;
    platform.order(&Order::Close(4000));
    let asked = platform.says(MAREN, &mention("het clown x clown"));
    assert!(text(&platform.answer_to(asked).await).contains("**1/2** · 50 %"));
    platform.back(1, 2, Duration::from_secs(10)).await;
    platform.still().await;
    assert_eq!(platform.answers_to(asked), 1, "what a resume says again is not answered again");
}

#[tokio::test(flavor = "multi_thread")]
async fn mentions_missed_without_a_resume_are_read_back() {
    let platform = Platform::start().await;
    let bot = Bot::ready(&platform, &[]).await;
    let before = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(before).await;
    // The session is forgotten: nothing that is said now is ever told.
    let missed = platform.missed(MAREN, &mention("het pied x pied"));
    let talk = platform.missed(TJARK, "lovely animal");
    platform.tell_all(&json!({"op": 9, "d": false, "s": null, "t": null}));
    platform.forget_sessions();
    platform.back(2, 0, Duration::from_secs(25)).await;
    assert!(text(&platform.answer_to(missed).await).contains("Piebald"));
    bot.says("answered what was asked while the line was down").await;
    platform.still().await;
    assert_eq!((platform.answers_to(before), platform.answers_to(talk)), (1, 0));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_missed_heartbeat_leads_to_a_new_login_that_reads_back() {
    let platform = Platform::start_with(Duration::from_millis(800), 1).await;
    let _bot = Bot::ready(&platform, &[]).await;
    platform.with(|s| s.deaf = true);
    // The line is dead without a word: wait until the program has noticed.
    platform
        .until("a goodbye", Duration::from_secs(15), |s| s.sessions.values().all(|x| !x.is_open()).then_some(()))
        .await;
    platform.with(|s| s.deaf = false);
    let missed = platform.missed(MAREN, &mention("het clown x clown"));
    platform.back(2, 0, Duration::from_secs(25)).await;
    assert!(text(&platform.answer_to(missed).await).contains("Clown"));
    assert_eq!(platform.with(|s| s.resumes), 0, "the library never resumes after a missed heartbeat");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_was_asked_during_a_restart_is_answered_once() {
    let platform = Platform::start().await;
    let mut bot = Bot::ready(&platform, &[]).await;
    let before = platform.says(MAREN, &mention("het clown x clown"));
    platform.answer_to(before).await;
    bot.signal("TERM");
    assert_eq!(bot.ended(Duration::from_secs(10)).await.code(), Some(0), "{}", bot.log());
    platform.forget_sessions();
    let meanwhile = platform.missed(MAREN, &mention("het pied x pied"));
    let _next = Bot::ready(&platform, &[]).await;
    assert!(text(&platform.answer_to(meanwhile).await).contains("Piebald"));
    platform.still().await;
    assert_eq!((platform.answers_to(before), platform.answers_to(meanwhile)), (1, 1));
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn lines_that_are_closed_for_good_end_the_program_with_a_reason() {
    for (code, exit, words) in [
        (4004, 78, "refuses the token"),
        (4014, 78, "message-content intent"),
        (4010, 78, "does not take these shards"),
        (4011, 78, "too many servers"),
        (4003, 75, "lost the login"),
        (4013, 1, "does not know the intents"),
    ] {
        let platform = Platform::start().await;
        platform.with(|s| s.refuse_identify = vec![code; 3]);
        println!("closed with {code}");
        let mut bot = Bot::start(&platform, &[]);
        let ended = bot.ended(Duration::from_secs(30)).await;
        assert_eq!(ended.code(), Some(exit), "{code}: {}", bot.log());
        assert!(bot.log().contains(words), "{code}: {}", bot.log());
    }
}
